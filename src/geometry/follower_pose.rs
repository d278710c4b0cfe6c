//! Where a follower stands on its lobe at a lift: what slides goes straight up, a finger swings about
//! its pivot. Millimetres and clock degrees, as in [`layout`](super::layout).

use glam::DVec2;

use super::clock::towards;
use super::layout::{Layout, ValvePlace};
use crate::laws::follower::FollowerShape;

/// A follower at a lift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FollowerPose {
    /// Where it is drawn about: a finger's pivot; else the point of the lobe's axis that it would
    /// touch were the lobe round there.
    pub at: DVec2,
    /// The clock direction that its own up points to.
    pub up_deg: f64,
    /// The centre of its roller or pad; of a flat face, its middle.
    pub centre: DVec2,
}

impl FollowerPose {
    /// The follower of a valve, away from its camshaft in the clock direction `follower_deg`, on a
    /// base circle of `base_mm`, with the valve `lift_mm` off its seat.
    pub fn at(
        layout: &Layout,
        valve: &ValvePlace,
        follower_deg: f64,
        base_mm: f64,
        lift_mm: f64,
    ) -> Self {
        let cam = layout
            .cams
            .get(valve.cam)
            .map_or(DVec2::ZERO, |cam| cam.centre);
        let (up, right) = (towards(follower_deg), towards(follower_deg + 90.0));
        let follower = layout.follower;
        let lift_mm = lift_mm * layout.lobe_scale;
        let centre = follower.centre_mm(base_mm, lift_mm);
        let in_engine = |point: DVec2| cam + right * point.x + up * point.y;
        let (at, swung_deg) = match follower {
            FollowerShape::Flat | FollowerShape::Roller { .. } => {
                (DVec2::new(0.0, base_mm + lift_mm), 0.0)
            }
            FollowerShape::Finger { radius_mm, arm_mm } => (
                DVec2::new(arm_mm, base_mm + radius_mm),
                follower.swung_deg(lift_mm),
            ),
        };
        Self {
            at: in_engine(at),
            up_deg: follower_deg + swung_deg,
            centre: in_engine(centre),
        }
    }
}
