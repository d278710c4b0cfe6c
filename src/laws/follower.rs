//! The follower that rides on a lobe, and the outline that a lobe must have under it.
//!
//! A round follower (a roller, or a finger's pad) touches the lobe at the distance of its own radius
//! from its centre. Seen from the camshaft the centre runs along the **pitch curve**; the lobe is
//! the curve that lies the follower's radius inside it, along its normal. It is a lobe only where
//! the pitch curve bulges by more than that radius: else the follower's circle would cut off what it
//! rode on a moment before (undercut). Source: pitch curve and cam contour of a roller follower,
//! radius of curvature of the pitch curve, R. L. Norton, *Design of Machinery* (from memory); the
//! normals are found by differences here, so that a follower that swings is served as one that
//! slides.
//!
//! In the follower's frame up is away from the camshaft's centre and right a quarter turn clockwise
//! from that. A finger swings about a pivot beside the lobe: its pad's centre is level with the
//! pivot while the valve is shut. Millimetres.

use glam::DVec2;

/// What rides on a lobe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FollowerShape {
    /// A flat face square to its travel.
    Flat,
    /// A roller, or a pad of this radius, that slides straight up.
    Roller {
        /// Its radius.
        radius_mm: f64,
    },
    /// A roller or pad at the end of a finger, its pivot to the right.
    Finger {
        /// The roller's or pad's radius.
        radius_mm: f64,
        /// From the pivot to its centre.
        arm_mm: f64,
    },
}

/// Of the base radius, the sharpest that a lobe's nose may bend: about what a ground nose has,
/// common practice, no source.
const SHARPEST: f64 = 1.0 / 6.0;

impl FollowerShape {
    /// The radius of what touches the lobe; None for a flat face.
    pub fn radius_mm(self) -> Option<f64> {
        match self {
            Self::Flat => None,
            Self::Roller { radius_mm } | Self::Finger { radius_mm, .. } => Some(radius_mm),
        }
    }

    /// The same follower, all of it so much larger.
    #[must_use]
    pub fn scaled(self, by: f64) -> Self {
        match self {
            Self::Flat => self,
            Self::Roller { radius_mm } => Self::Roller {
                radius_mm: radius_mm * by,
            },
            Self::Finger { radius_mm, arm_mm } => Self::Finger {
                radius_mm: radius_mm * by,
                arm_mm: arm_mm * by,
            },
        }
    }

    /// Degrees by which a finger has swung to lift its pad by `lift_mm`; 0 for what slides.
    pub fn swung_deg(self, lift_mm: f64) -> f64 {
        match self {
            Self::Finger { arm_mm, .. } => (lift_mm / arm_mm).clamp(-1.0, 1.0).asin().to_degrees(),
            Self::Flat | Self::Roller { .. } => 0.0,
        }
    }

    /// The centre of what touches the lobe, in the follower's frame from the camshaft's centre; of a
    /// flat face, its middle.
    pub fn centre_mm(self, base_radius_mm: f64, lift_mm: f64) -> DVec2 {
        let up = base_radius_mm + self.radius_mm().unwrap_or(0.0) + lift_mm;
        let aside = match self {
            Self::Finger { arm_mm, .. } => {
                arm_mm * (1.0 - self.swung_deg(lift_mm).to_radians().cos())
            }
            Self::Flat | Self::Roller { .. } => 0.0,
        };
        DVec2::new(aside, up)
    }
}

/// A lobe under a round follower: the lift with the follower at a clock angle from its nose.
pub struct RolledLobe<'a> {
    /// What rides on it.
    pub follower: FollowerShape,
    /// The circle on which that rests while the valve is shut.
    pub base_radius_mm: f64,
    /// The lift, by the follower's clock degrees from the nose.
    pub lift_mm: &'a dyn Fn(f64) -> f64,
}

impl RolledLobe<'_> {
    /// Clock degrees over which differences are taken: small beside a lobe, large beside rounding.
    const STEP_DEG: f64 = 0.05;

    /// The follower's centre with it at a clock angle from the nose, the nose straight up.
    fn centre(&self, clock_deg: f64) -> DVec2 {
        let centre = self
            .follower
            .centre_mm(self.base_radius_mm, (self.lift_mm)(clock_deg));
        DVec2::from_angle(-clock_deg.to_radians()).rotate(centre)
    }

    /// Along the pitch curve, clockwise.
    fn along(&self, clock_deg: f64) -> DVec2 {
        self.centre(clock_deg + Self::STEP_DEG) - self.centre(clock_deg - Self::STEP_DEG)
    }

    /// Where the lobe is touched.
    pub fn touches_at(&self, clock_deg: f64) -> DVec2 {
        let outwards = self.along(clock_deg).perp().normalize_or_zero();
        self.centre(clock_deg) - outwards * self.follower.radius_mm().unwrap_or(0.0)
    }

    /// How much the pitch curve bends there: one over its radius of curvature, positive where it
    /// bulges.
    pub fn bend_per_mm(&self, clock_deg: f64) -> f64 {
        let (before, after) = (
            self.along(clock_deg - Self::STEP_DEG),
            self.along(clock_deg + Self::STEP_DEG),
        );
        // Clockwise the way turns to the right.
        let turned = -before.angle_to(after);
        turned / self.along(clock_deg).length()
    }

    /// Whether the lobe can be ground: nowhere undercut, its nose nowhere too sharp.
    pub fn can_be_ground(&self) -> bool {
        /// Looks round the lobe: a bend changes little from one to the next.
        const LOOKS: u32 = 360;
        let least = self.follower.radius_mm().unwrap_or(0.0) + self.base_radius_mm * SHARPEST;
        (0..LOOKS).all(|index| {
            let bend = self.bend_per_mm(360.0 * f64::from(index) / f64::from(LOOKS));
            bend <= 0.0 || bend * least <= 1.0
        })
    }
}

/// The smallest base circle, `least_mm` or more, on which a lobe of this lift can be ground for a
/// round follower.
pub fn least_base_mm(follower: FollowerShape, least_mm: f64, lift_mm: &dyn Fn(f64) -> f64) -> f64 {
    /// Steps of a twentieth: enough for any lobe, and no more than that.
    const STEPS: i32 = 120;
    let ground = |base_radius_mm: &f64| {
        RolledLobe {
            follower,
            base_radius_mm: *base_radius_mm,
            lift_mm,
        }
        .can_be_ground()
    };
    let bases = (0..STEPS).map(|step| least_mm * 1.05_f64.powi(step));
    let largest = least_mm * 1.05_f64.powi(STEPS);
    bases.into_iter().find(ground).unwrap_or(largest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::laws::Lobe;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_pitch_curve_bends_as_the_textbooks_formula_says() {
        // ρ = (R² + s′²)^1.5 / (R² + 2 s′² − R s″), R = base + roller + s (Norton, Design of
        // Machinery, from memory): an outside value for the differences taken here.
        let lobe = Lobe::between(348.0, 592.0, 9.5, 0.0);
        let (base, roller) = (16.0, 9.0);
        let phase = |clock: f64| lobe.centre_deg() - 2.0 * clock;
        let lift = |clock: f64| lobe.lift_mm(phase(clock));
        let rolled = RolledLobe {
            follower: FollowerShape::Roller { radius_mm: roller },
            base_radius_mm: base,
            lift_mm: &lift,
        };
        let radian = 2.0_f64.to_degrees();
        for clock in [
            -150.0, -57.0, -40.0, -20.0, -5.0, 0.0, 11.0, 33.0, 50.0, 90.0,
        ] {
            let s = lift(clock);
            let slope = -lobe.velocity_mm_per_deg(phase(clock)) * radian;
            let bend = lobe.acceleration_mm_per_deg2(phase(clock)) * radian * radian;
            let r = base + roller + s;
            let by_formula =
                (r * r + 2.0 * slope * slope - r * bend) / (r * r + slope * slope).powf(1.5);
            assert_abs_diff_eq!(rolled.bend_per_mm(clock), by_formula, epsilon = 2e-4);
        }
    }

    #[test]
    fn a_follower_on_a_round_lobe_touches_it_all_round() {
        for follower in [
            FollowerShape::Roller { radius_mm: 8.0 },
            FollowerShape::Finger {
                radius_mm: 8.0,
                arm_mm: 30.0,
            },
        ] {
            let rolled = RolledLobe {
                follower,
                base_radius_mm: 15.0,
                lift_mm: &|_| 0.0,
            };
            for clock in (0..360).step_by(30).map(f64::from) {
                assert_abs_diff_eq!(rolled.touches_at(clock).length(), 15.0, epsilon = 1e-6);
                assert_abs_diff_eq!(rolled.bend_per_mm(clock), 1.0 / 23.0, epsilon = 1e-6);
            }
        }
    }

    #[test]
    fn a_larger_roller_needs_a_larger_base_circle_and_too_small_a_one_is_undercut() {
        let lobe = Lobe::between(348.0, 592.0, 9.5, 0.0);
        let lift = |clock: f64| lobe.lift_mm(lobe.centre_deg() - 2.0 * clock);
        let base = |radius_mm: f64| least_base_mm(FollowerShape::Roller { radius_mm }, 8.0, &lift);
        assert!(base(8.0) < base(16.0) && base(16.0) < base(30.0));
        let on = |base_radius_mm: f64| {
            RolledLobe {
                follower: FollowerShape::Roller { radius_mm: 16.0 },
                base_radius_mm,
                lift_mm: &lift,
            }
            .can_be_ground()
        };
        assert!(on(base(16.0)) && !on(base(16.0) * 0.7));
    }
}
