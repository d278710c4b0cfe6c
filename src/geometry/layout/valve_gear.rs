//! The camshaft's place and the valve gear: over the valves, or low in the block with push rods.

use glam::DVec2;

use super::crank::{Measures, bank_angles};
use crate::description::{Description, DriveKind, MarkOn, ValveGear};
use crate::geometry::clock::towards;
use crate::laws::gear_train;

/// The valves either side of the middle of the bore along the shaft, over the bore.
pub(super) const VALVE_APART: f64 = 0.25;
/// A rocker's valve arm over its push rod arm: common practice, no source.
pub(super) const ROCKER_RATIO: f64 = 1.6;
/// A lobe's base circle at the least, over the bore: stouter than the camshaft itself.
pub(super) const LEAST_BASE: f64 = 0.14;

/// One valve, and what moves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValvePlace {
    /// Where along the shaft valve, push rod and lobe lie.
    pub z_mm: f64,
    /// Where along the shaft its lobe lies.
    pub lobe_z_mm: f64,
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

/// A camshaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CamPlace {
    /// Its axis.
    pub centre: DVec2,
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

/// How lobe and valve are joined: as the description says, else over the valves for a belt, or a
/// chain on one bank.
pub(super) fn valve_gear(description: &Description, measures: &Measures) -> ValveGear {
    let drive = &description.cam_drive;
    let one_bank = bank_angles(description).len() == 1;
    let wanted = description.valves.gear.unwrap_or(match drive.kind {
        DriveKind::Belt => ValveGear::Overhead,
        DriveKind::Chain if one_bank => ValveGear::Overhead,
        _ => ValveGear::PushRod,
    });
    // Gears whose module is given reach as far as they reach, and to one camshaft.
    let reach = drive
        .module
        .map(|module| module * gear_train::teeth_between(drive) / 2.0);
    match (drive.kind, reach) {
        (DriveKind::Gears, Some(reach)) if reach < measures.stem_mm => ValveGear::PushRod,
        (DriveKind::Gears, _) if !one_bank => ValveGear::PushRod,
        _ => wanted,
    }
}

/// Where lobes lie either side of the middle of the bore: clear of the webs where the camshaft lies
/// low.
pub(super) fn lobe_apart(gear: ValveGear, measures: &Measures) -> f64 {
    match gear {
        ValveGear::PushRod => 0.36 * measures.bore_mm,
        ValveGear::Overhead => VALVE_APART * measures.bore_mm,
    }
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

/// Where a low camshaft lies from the crank: as the description says; else where its mark needs it,
/// if that is clear of the bores; else beside a single bank, in the middle of a wide vee, under a
/// flat engine.
pub(super) fn cam_at_deg(description: &Description, banks: &[f64]) -> f64 {
    if let Some(given) = description.cam_drive.cam_at {
        return given;
    }
    let apart = |clock: f64| {
        banks
            .iter()
            .map(|bank| crate::angle::wrap_signed(clock - bank, 360.0).abs())
            .fold(360.0, f64::min)
    };
    let mark = description
        .marks
        .iter()
        .find(|mark| mark.on == MarkOn::Camshaft);
    if let Some(mark) = mark {
        let direction =
            gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation);
        let dot = mark.at + direction.sign() * description.cam_drive.marks_meet_at / 2.0;
        if apart(dot + 180.0) > 35.0 {
            return dot + 180.0;
        }
    }
    let (least, most) = banks
        .iter()
        .map(|bank| crate::angle::wrap_signed(bank - banks[0], 360.0))
        .fold((0.0, 0.0), |(least, most), off| {
            (f64::min(least, off), f64::max(most, off))
        });
    let wide = most - least;
    let middle = banks[0] + (least + most) / 2.0;
    if (80.0..150.0).contains(&wide) {
        middle
    } else if wide >= 150.0 {
        // Of the two middles of a flat engine, the lower.
        if towards(middle).y > 0.0 {
            middle + 180.0
        } else {
            middle
        }
    } else {
        banks[0] + most + 60.0
    }
}
