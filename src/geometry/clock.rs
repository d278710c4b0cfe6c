//! Clock positions as directions: degrees clockwise from straight up, x right and y up.

use glam::DVec2;

use crate::angle::wrap;

/// The direction of a clock position, of length 1.
pub fn towards(clock_deg: f64) -> DVec2 {
    let (sin, cos) = clock_deg.to_radians().sin_cos();
    DVec2::new(sin, cos)
}

/// The clock position a direction points to, 0 ≤ c < 360.
pub fn clock_of(direction: DVec2) -> f64 {
    wrap(direction.x.atan2(direction.y).to_degrees(), 360.0)
}
