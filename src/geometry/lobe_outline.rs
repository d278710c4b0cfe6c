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
//! Under a roller or a finger it is the curve that lies the follower's radius inside its centre's
//! path ([`follower`]); what swings makes its two flanks unlike.
//!
//! Millimetres about the cam's centre, x right and y up, the nose straight up, corners clockwise.
//! The lobe is drawn with the lift at the valve: as if nothing between them changed it. The nose is
//! the lobe's centre; a lobe that is not alike on both sides is cut for one direction of its shaft.
//!
//! A lobe as measured is cut smoothed: its lift's slope steps a little at every point that was read
//! ([`Lobe::acceleration_mm_per_deg2`]), and an outline would have a corner there that no lobe has.
//! Each lift is the mean of those within `SMOOTHED_DEG` either side, the nearer weighing more; the
//! model's valves move by the lifts as measured.

use glam::DVec2;

use crate::angle::{Direction, wrap_signed};
use crate::laws::Lobe;
use crate::laws::follower::{self, FollowerShape, RolledLobe};

/// Crank degrees to either side over which the outline of a lobe as measured is smoothed: as far
/// apart as a lobe is usually read, so that one point's slip is drawn out and its nose is hardly
/// lowered.
const SMOOTHED_DEG: f64 = 15.0;
/// The lifts that are averaged, on either side.
const SMOOTHED_BY: i32 = 10;

/// One lobe as a body.
#[derive(Clone, Debug, PartialEq)]
pub struct LobeOutline {
    lobe: Lobe,
    base_radius_mm: f64,
    follower: FollowerShape,
    /// +1 for a shaft that turns clockwise, seen from the front.
    turns: f64,
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
            lobe: lobe.clone(),
            base_radius_mm,
            follower: FollowerShape::Flat,
            turns: Direction::Clockwise.sign(),
        }
    }

    /// The lobe under a follower, on the smallest base circle that looks right and can be ground for
    /// it.
    pub fn under(lobe: &Lobe, least_base_mm: f64, follower: FollowerShape) -> Self {
        if follower == FollowerShape::Flat {
            return Self::new(lobe, least_base_mm);
        }
        let mut outline = Self {
            lobe: lobe.clone(),
            base_radius_mm: least_base_mm,
            follower,
            turns: Direction::Clockwise.sign(),
        };
        outline.base_radius_mm = least_base_mm_of(&outline);
        outline
    }

    /// The same lobe for a shaft that turns this way, seen from the front; clockwise otherwise.
    #[must_use]
    pub fn turning(self, direction: Direction) -> Self {
        Self {
            turns: direction.sign(),
            ..self
        }
    }

    /// The valve's phase with the follower at a clock angle from the nose.
    fn phase_at(&self, clock_deg: f64) -> f64 {
        // The nose has gone on past what stands behind it.
        self.lobe.centre_deg() - 2.0 * self.turns * clock_deg
    }

    /// What rides on it.
    pub fn follower(&self) -> FollowerShape {
        self.follower
    }

    /// The lift with the follower at a clock angle from the nose.
    fn lift_at(&self, clock_deg: f64) -> f64 {
        cut(&self.lobe, self.phase_at(clock_deg)).lift_mm
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
        wrap_signed(phase_deg - self.lobe.centre_deg(), 720.0) / 2.0
    }

    /// From the cam's centre to the follower's face with the nose `past_deg` cam degrees past it,
    /// negative before it.
    pub fn reach_mm(&self, past_deg: f64) -> f64 {
        self.base_radius_mm + cut(&self.lobe, self.lobe.centre_deg() + 2.0 * past_deg).lift_mm
    }

    /// How far to the side of the cam's centre the outline touches a flat follower at the most: its
    /// face must be wider.
    pub fn widest_touch_mm(&self) -> f64 {
        (0..360)
            .map(|deg| self.slope_mm(f64::from(deg)).abs())
            .fold(0.0, f64::max)
    }

    /// The lift's slope by cam radians, with the follower at a clock angle from the nose: positive
    /// where the lift is more on clockwise.
    fn slope_mm(&self, clock_deg: f64) -> f64 {
        // Millimetres a crank degree, twice as many a cam degree, made a radian's worth.
        let slope = cut(&self.lobe, self.phase_at(clock_deg)).slope;
        (-2.0 * self.turns * slope).to_degrees()
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
        if self.follower != FollowerShape::Flat {
            let rolled = RolledLobe {
                follower: self.follower,
                base_radius_mm: self.base_radius_mm,
                lift_mm: &|clock_deg| self.lift_at(clock_deg),
            };
            return rolled.touches_at(clock_deg);
        }
        let (sin, cos) = clock_deg.to_radians().sin_cos();
        let (towards, along) = (DVec2::new(sin, cos), DVec2::new(cos, -sin));
        towards * (self.base_radius_mm + self.lift_at(clock_deg)) + along * self.slope_mm(clock_deg)
    }
}

/// A lobe at a phase, as it is cut.
struct Cut {
    lift_mm: f64,
    /// Millimetres a crank degree.
    slope: f64,
    /// Millimetres a crank degree squared.
    bend: f64,
}

/// How the lobe is cut at a phase: by its law, or smoothed where it was measured.
fn cut(lobe: &Lobe, phase_deg: f64) -> Cut {
    let Some(curve) = lobe.as_measured() else {
        return Cut {
            lift_mm: lobe.lift_mm(phase_deg),
            slope: lobe.velocity_mm_per_deg(phase_deg),
            bend: lobe.acceleration_mm_per_deg2(phase_deg),
        };
    };
    let (mut cut, mut weights) = (
        Cut {
            lift_mm: 0.0,
            slope: 0.0,
            bend: 0.0,
        },
        0.0,
    );
    for step in -SMOOTHED_BY..=SMOOTHED_BY {
        // The weight (1 − v²)³ and its slope go to 0 at the ends, so nothing jumps.
        let v = f64::from(step) / f64::from(SMOOTHED_BY);
        let hump = 1.0 - v * v;
        let weight = hump * hump * hump;
        let weight_slope = -6.0 * v * hump * hump / SMOOTHED_DEG;
        let at = phase_deg + v * SMOOTHED_DEG;
        let slope = curve.velocity_mm_per_deg(at);
        cut.lift_mm += weight * curve.lift_mm(at);
        cut.slope += weight * slope;
        // Of the two ways to bend a mean, the one that asks nothing of the points' own bends.
        cut.bend -= weight_slope * slope;
        weights += weight;
    }
    Cut {
        lift_mm: cut.lift_mm / weights,
        slope: cut.slope / weights,
        bend: cut.bend / weights,
    }
}

fn least_base_mm_of(outline: &LobeOutline) -> f64 {
    let lift = |clock_deg: f64| outline.lift_at(clock_deg);
    follower::least_base_mm(outline.follower, outline.base_radius_mm, &lift)
}

/// The least of lift + lift″ over the lobe, the second derivative by cam radians. Never over zero:
/// it is zero on the base circle.
fn least_bend_mm(lobe: &Lobe) -> f64 {
    /// A law's bend has one dip in half a lobe, at the nose or near it; this many looks find it to a
    /// thousandth. A lobe as measured is looked over from end to end.
    const LOOKS: i32 = 720;
    let (reach, from) = match lobe.as_measured() {
        Some(_) => (lobe.seat_duration_deg(), -LOOKS),
        None => (lobe.seat_duration_deg() / 2.0, 0),
    };
    let crank_deg_per_cam_radian = 2.0_f64.to_degrees();
    (from..=LOOKS)
        .map(|index| {
            let phase = lobe.centre_deg() + reach * f64::from(index) / f64::from(LOOKS);
            let cut = cut(lobe, phase);
            cut.lift_mm + crank_deg_per_cam_radian.powi(2) * cut.bend
        })
        .fold(0.0, f64::min)
}
