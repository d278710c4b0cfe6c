//! A cam lobe's outline: what a flat follower must ride on to give a lift law.
//!
//! A flat follower, square to its own travel, touches the lobe where the outline's tangent lies
//! along its face. With h(ψ) the distance from the cam's centre to that face when the lobe is
//! turned ψ from the nose, the outline is the envelope of the faces: point = h n + h′ t, n the
//! direction to the follower and t a quarter turn on from it; h = base + lift(2 ψ), for the cam
//! turns at half the crank's speed. The outline bends by h + h″ (its radius of curvature): it is a
//! lobe only where that is over zero everywhere, and so the base circle is chosen. Source: support
//! function of a convex curve, worked out here; flat-faced follower, R. L. Norton, *Design of
//! Machinery* (from memory).
//!
//! Millimetres about the cam's centre, x right and y up, the nose straight up, corners clockwise.
//! The lobe is drawn with the lift at the valve: as if nothing between them changed it.

use glam::DVec2;

use crate::laws::Lobe;

/// One lobe as a body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LobeOutline {
    lobe: Lobe,
    base_radius_mm: f64,
}

impl LobeOutline {
    /// The lobe on the smallest base circle that looks right: `least_base_mm` or more, and the nose
    /// nowhere sharper than a sixth of the base.
    pub fn new(lobe: &Lobe, least_base_mm: f64) -> Self {
        /// Of the base radius, the sharpest that the outline may bend: about what a ground nose
        /// has, common practice, no source.
        const SHARPEST: f64 = 1.0 / 6.0;
        // base + (lift + lift″) ≥ base / 6 everywhere.
        let base_radius_mm = (-least_bend_mm(lobe) / (1.0 - SHARPEST)).max(least_base_mm);
        Self {
            lobe: *lobe,
            base_radius_mm,
        }
    }

    /// The base circle, on which the follower rests while the valve is shut.
    pub fn base_radius_mm(&self) -> f64 {
        self.base_radius_mm
    }

    /// From the cam's centre to the nose.
    pub fn nose_radius_mm(&self) -> f64 {
        self.base_radius_mm + self.lobe.full_lift_mm()
    }

    /// Cam degrees by which the nose is past the follower, at a valve's phase (crank degrees): 0 at
    /// full lift, −180 ≤ d < 180.
    pub fn nose_past_follower_deg(&self, phase_deg: f64) -> f64 {
        crate::angle::wrap_signed(phase_deg - self.lobe.centre_deg(), 720.0) / 2.0
    }

    /// From the cam's centre to the follower's face with the nose `past_deg` cam degrees past it
    /// (or before it: both sides are alike).
    pub fn reach_mm(&self, past_deg: f64) -> f64 {
        self.base_radius_mm + self.lobe.lift_mm(self.lobe.centre_deg() + 2.0 * past_deg)
    }

    /// How far to the side of the cam's centre the outline touches a flat follower at the most: its
    /// face must be wider.
    pub fn widest_touch_mm(&self) -> f64 {
        (0..360)
            .map(|deg| self.slope_mm(f64::from(deg)).abs())
            .fold(0.0, f64::max)
    }

    /// The lift's slope by cam radians, with the follower at a clock angle from the nose.
    fn slope_mm(&self, clock_deg: f64) -> f64 {
        // Millimetres a crank degree, twice as many a cam degree, made a radian's worth.
        (2.0 * self
            .lobe
            .velocity_mm_per_deg(self.lobe.centre_deg() + 2.0 * clock_deg))
        .to_degrees()
    }

    /// The outline in `points` points, eight at least, more of them where it bends most.
    pub fn outline(&self, points: usize) -> Vec<DVec2> {
        let points = points.max(8);
        (0..points)
            .map(|index| self.touches_at(360.0 * index as f64 / points as f64))
            .collect()
    }

    /// Where the outline touches a follower that stands at clock angle `clock_deg` from the nose.
    pub fn touches_at(&self, clock_deg: f64) -> DVec2 {
        let (sin, cos) = clock_deg.to_radians().sin_cos();
        let (towards, along) = (DVec2::new(sin, cos), DVec2::new(cos, -sin));
        let slope = self
            .lobe
            .velocity_mm_per_deg(self.lobe.centre_deg() + 2.0 * clock_deg);
        // Millimetres a crank degree, twice as many a cam degree, made a radian's worth.
        towards * self.reach_mm(clock_deg) + along * (2.0 * slope).to_degrees()
    }
}

/// The least of lift + lift″ over the lobe, the second derivative by cam radians. Never over zero:
/// it is zero on the base circle.
fn least_bend_mm(lobe: &Lobe) -> f64 {
    /// Over half a lobe the bend has one dip, at the nose or near it; this many looks find it to a
    /// thousandth.
    const LOOKS: u32 = 720;
    let half = lobe.seat_duration_deg() / 2.0;
    let crank_deg_per_cam_radian = 2.0_f64.to_degrees();
    (0..=LOOKS)
        .map(|index| {
            let phase = lobe.centre_deg() + half * f64::from(index) / f64::from(LOOKS);
            lobe.lift_mm(phase)
                + crank_deg_per_cam_radian.powi(2) * lobe.acceleration_mm_per_deg2(phase)
        })
        .fold(0.0, f64::min)
}
