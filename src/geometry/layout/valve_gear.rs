//! The camshaft's place and the valve gear: over the valves, or low in the block with push rods.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a bank and a camshaft"
)]

use glam::DVec2;

use super::crank::{Measures, bank_angles};
use crate::description::{Description, DriveKind, FollowerKind, Valve, ValveGear};
use crate::geometry::clock::towards;
use crate::geometry::lobe_outline::LobeOutline;
use crate::laws::follower::FollowerShape;
use crate::laws::{Lobe, gear_train};

/// The valves either side of the middle of the bore along the shaft, over the bore.
pub(super) const VALVE_APART: f64 = 0.265;
/// A rocker's valve arm over its push rod arm: common practice, no source.
pub(super) const ROCKER_RATIO: f64 = 1.6;
/// A lobe's base circle at the least, over the bore: stouter than the camshaft itself.
pub(super) const LEAST_BASE: f64 = 0.14;

/// One valve, and what moves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValvePlace {
    /// Where along the shaft valve, push rod and lobe lie.
    pub z_mm: f64,
    /// Where along the shaft its lobe lies, and its push rod.
    pub lobe_z_mm: f64,
    /// How far its rocker's pivot lies over the stem's end with the valve shut.
    pub rocker_up_mm: f64,
    /// How far beside the bore's axis it stands, clockwise positive: under its own camshaft, where
    /// two lie over a head.
    pub beside_mm: f64,
    /// Which of the camshafts moves it: an index into [`Layout::cams`](super::Layout::cams).
    pub cam: usize,
    /// Where its lobe's nose points at θ = 0 as drawn, clock degrees.
    pub nose_deg: f64,
}

/// One cylinder, with its valves.
#[derive(Clone, Debug, PartialEq)]
pub struct CylinderPlace {
    /// Its number.
    pub number: u8,
    /// The middle of its bore along the shaft.
    pub z_mm: f64,
    /// The clock position its bore points to.
    pub bank_deg: f64,
    /// Its intake valve.
    pub intake: ValvePlace,
    /// Its exhaust valve.
    pub exhaust: ValvePlace,
}

/// A camshaft as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CamPlace {
    /// Which of the description's it is, counted from 0: the one it has over the valves of a vee is
    /// drawn over each bank.
    pub camshaft: usize,
    /// Its axis.
    pub centre: DVec2,
    /// The shaft's radius between its lobes.
    pub radius_mm: f64,
    /// From the middle of the front wheel back.
    pub front_z_mm: f64,
    /// Its rear end.
    pub rear_z_mm: f64,
}

/// How lobe and valve are joined, with its measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ValveTrain {
    /// Follower, push rod and rocker.
    PushRod {
        /// The rocker's valve arm over its push rod arm: the lobe lifts the valve's lift over this.
        ratio: f64,
        /// The valve arm, from the rocker's pivot across the bore.
        valve_arm_mm: f64,
    },
    /// The lobe stands on the valve's tappet.
    Overhead,
}

impl ValveTrain {
    /// The valve's lift over the lobe's.
    pub fn ratio(self) -> f64 {
        match self {
            Self::PushRod { ratio, .. } => ratio,
            Self::Overhead => 1.0,
        }
    }
}

/// A camshaft to be drawn: its place among the description's, and the bank that it lies over,
/// counted from 0 in [`bank_angles`]; a low one lies over none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Drawn {
    pub(super) camshaft: usize,
    pub(super) bank: Option<usize>,
}

/// The camshafts to be drawn: low ones as they are described, over the valves one for each bank
/// over which it works.
pub(super) fn drawn_camshafts(description: &Description, gear: ValveGear) -> Vec<Drawn> {
    let count = description.camshaft_count();
    match gear {
        ValveGear::PushRod => (0..count)
            .map(|camshaft| Drawn {
                camshaft,
                bank: None,
            })
            .collect(),
        ValveGear::Overhead => {
            let banks = bank_angles(description);
            let over = |bank: usize| {
                let angle = banks[bank];
                let works = move |camshaft: usize| {
                    let mut rows = description.banks.iter();
                    rows.any(|row| {
                        row.angle == angle
                            && row.cylinders.iter().any(|&cylinder| {
                                Valve::BOTH.into_iter().any(|valve| {
                                    description.camshaft_of(cylinder, valve) == camshaft
                                })
                            })
                    })
                };
                (0..count)
                    .filter(move |camshaft| works(*camshaft))
                    .map(move |camshaft| Drawn {
                        camshaft,
                        bank: Some(bank),
                    })
            };
            (0..banks.len()).flat_map(over).collect()
        }
    }
}

/// How far beside the bores' axes a camshaft over the valves lies, clockwise positive: over its own
/// row of valves where two lie over a head.
pub(super) fn beside_mm(drawn: &[Drawn], index: usize, bore_mm: f64) -> f64 {
    /// Half of what lies between two camshafts, over the bore: valves under them stay in it.
    const HALF_APART: f64 = 0.27;
    let bank = drawn[index].bank;
    if bank.is_none() {
        return 0.0;
    }
    let over = || drawn.iter().filter(|other| other.bank == bank);
    let place = drawn[..index]
        .iter()
        .filter(|other| other.bank == bank)
        .count();
    (place as f64 - (over().count() as f64 - 1.0) / 2.0) * 2.0 * HALF_APART * bore_mm
}

/// How lobe and valve are joined: as the description says, else over the valves for a belt, or a
/// chain on one bank.
pub(super) fn valve_gear(description: &Description, measures: &Measures) -> ValveGear {
    let drive = &description.cam_drive;
    let one_bank = bank_angles(description).len() == 1;
    let several = description.camshaft_count() > 1;
    let wanted = description.valves.gear.unwrap_or(match drive.kind {
        DriveKind::Chain if several => ValveGear::Overhead,
        DriveKind::Belt => ValveGear::Overhead,
        DriveKind::Chain if one_bank => ValveGear::Overhead,
        _ => ValveGear::PushRod,
    });
    // Gears whose module is given reach as far as they reach, and to one camshaft.
    let reach = drive
        .module_mm()
        .map(|module| module * gear_train::teeth_between(drive) / 2.0);
    match (drive.kind, reach) {
        (DriveKind::Gears, Some(reach)) if reach < measures.stem_mm => ValveGear::PushRod,
        (DriveKind::Gears, _) if !one_bank || several => ValveGear::PushRod,
        // A chain or belt to several camshafts runs to the heads.
        _ if several => ValveGear::Overhead,
        _ => wanted,
    }
}

/// A lobe's base circle over the bore at the least, under a roller or a finger: what looks usual.
const LEAST_BASE_ROLLED: f64 = 0.19;
/// A roller's or pad's radius over the bore, where it is not described.
const FOLLOWER_RADIUS: f64 = 0.1;
/// A finger's length over the bore, where it is not described.
const FINGER: f64 = 0.3;

/// What rides on the lobes, as large as it is: as the description says, else flat tappets under push
/// rods and fingers under a camshaft over the valves, where a flat tappet of usual size would ask
/// for a lobe of unusual size.
pub(super) fn follower(
    description: &Description,
    measures: &Measures,
    gear: ValveGear,
) -> FollowerShape {
    let written = description.valves.follower.as_ref();
    let kind = written.map_or(
        match gear {
            ValveGear::PushRod => FollowerKind::Flat,
            ValveGear::Overhead => FollowerKind::Finger,
        },
        |follower| follower.kind,
    );
    let bore = measures.bore_mm;
    // No roller so large that nothing else had room.
    let radius_mm = written
        .and_then(|follower| follower.radius)
        .unwrap_or(FOLLOWER_RADIUS * bore)
        .min(0.3 * bore);
    match kind {
        FollowerKind::Flat => FollowerShape::Flat,
        FollowerKind::Roller => FollowerShape::Roller { radius_mm },
        FollowerKind::Finger => {
            let written = written.and_then(|follower| follower.length);
            let lift = |valve| Lobe::of(&description.valves, valve).full_lift_mm();
            let most_lift_mm = f64::max(lift(Valve::Intake), lift(Valve::Exhaust));
            // A finger too short for the lift could not swing so far.
            let arm_mm = written
                .unwrap_or(FINGER * bore)
                .min(4.0 * bore)
                .max(1.6 * most_lift_mm)
                .max(1.2 * radius_mm);
            FollowerShape::Finger { radius_mm, arm_mm }
        }
    }
}

/// From the centre of a roller or pad to the stem or push rod that it lifts, at the least: so far
/// that the roller is clear of it.
pub(super) fn over_centre_mm(follower: FollowerShape, measures: &Measures) -> f64 {
    follower.radius_mm().unwrap_or(0.0) + 0.04 * measures.bore_mm
}

/// The least base circle of the lobes under a follower.
pub(super) fn least_base_mm(follower: FollowerShape, measures: &Measures) -> f64 {
    let part = match follower {
        FollowerShape::Flat => LEAST_BASE,
        FollowerShape::Roller { .. } | FollowerShape::Finger { .. } => LEAST_BASE_ROLLED,
    };
    part * measures.bore_mm
}

/// How large the lobes are, as they stand in the engine, and what rides on them.
#[derive(Clone, Copy, Debug)]
pub(super) struct LobeMeasures {
    /// The base circle of the larger lobe.
    pub(super) base_mm: f64,
    /// From the shaft's axis to the higher nose.
    pub(super) nose_mm: f64,
    /// Half of what a follower takes up across its travel.
    pub(super) half_follower_mm: f64,
    /// From a follower's face to where its push rod stands in it.
    pub(super) follower_mm: f64,
}

/// From a follower's face to where the push rod stands in it; under a high camshaft, to the valve's
/// stem.
pub(super) fn follower_length_mm(follower: FollowerShape, measures: &Measures) -> f64 {
    let bore = measures.bore_mm;
    match follower {
        FollowerShape::Flat => 0.30 * bore,
        FollowerShape::Roller { radius_mm } => f64::max(0.30 * bore, 2.4 * radius_mm),
        FollowerShape::Finger { radius_mm, .. } => 2.0 * radius_mm + 0.04 * bore,
    }
}

impl LobeMeasures {
    pub(super) fn of(description: &Description, measures: &Measures, gear: ValveGear) -> Self {
        let follower = follower(description, measures, gear);
        let ratio = match gear {
            ValveGear::PushRod => ROCKER_RATIO,
            ValveGear::Overhead => 1.0,
        };
        let outlines = Valve::BOTH.map(|valve| {
            LobeOutline::under(
                &Lobe::of(&description.valves, valve),
                least_base_mm(follower, measures) * ratio,
                follower.scaled(ratio),
            )
        });
        let most =
            |of: &dyn Fn(&LobeOutline) -> f64| outlines.iter().map(of).fold(0.0, f64::max) / ratio;
        let half_follower_mm = match follower {
            FollowerShape::Flat => most(&|lobe| flat_face_mm(lobe, measures, ratio) * ratio),
            FollowerShape::Roller { radius_mm } | FollowerShape::Finger { radius_mm, .. } => {
                f64::max(radius_mm, 0.05 * measures.bore_mm)
            }
        };
        Self {
            base_mm: most(&LobeOutline::base_radius_mm),
            nose_mm: most(&LobeOutline::nose_radius_mm),
            half_follower_mm,
            follower_mm: follower_length_mm(follower, measures),
        }
    }
}

/// Half the width of a flat follower's face, as it stands in the engine: a little wider than the
/// lobe touches it.
pub(super) fn flat_face_mm(lobe: &LobeOutline, measures: &Measures, ratio: f64) -> f64 {
    f64::max(
        lobe.widest_touch_mm() * 1.08 / ratio,
        0.08 * measures.bore_mm,
    )
}

pub(super) fn train(
    gear: ValveGear,
    measures: &Measures,
    cams: &[CamPlace],
    bank_deg: f64,
) -> ValveTrain {
    match gear {
        ValveGear::Overhead => ValveTrain::Overhead,
        ValveGear::PushRod => {
            let beside = push_rod_beside_mm(measures, cams[0].centre, bank_deg).abs();
            ValveTrain::PushRod {
                ratio: ROCKER_RATIO,
                valve_arm_mm: beside * ROCKER_RATIO / (1.0 + ROCKER_RATIO),
            }
        }
    }
}

/// How far beside the bore's axis, clockwise positive, the push rods' upper ends stand: over the
/// camshaft, but clear of the cylinder.
pub(crate) fn push_rod_beside_mm(measures: &Measures, cam: DVec2, bank_deg: f64) -> f64 {
    let beside = cam.dot(towards(bank_deg + 90.0));
    let least = measures.bore_mm / 2.0 + measures.wall_mm + 0.06 * measures.bore_mm;
    let sign = if beside < 0.0 { -1.0 } else { 1.0 };
    sign * beside.abs().max(least)
}
