//! The drive from crank to camshaft: ratio, sense, what a tooth is worth, and when the marks meet.
//!
//! The camshaft turns at half speed, against the crank for gears and with it for a chain or belt;
//! each idler between gears turns it about. One tooth of the cam wheel is 360 / Z cam degrees, 720
//! / Z crank degrees. Marks on crank and cam wheel meet every two turns; an idler Z_i that carries
//! a mark brings all of them together only every lcm(2, Z_i / gcd(Z_i, Z_crank)) turns. Backlash b
//! at the pitch radius ρ lets the cam stand anywhere within b / ρ radians. Source of the hunting
//! count: turns of the pinion = z₂ / gcd(z₁, z₂), *Machinery's Handbook*, hunting tooth ratios
//! (from memory).

use crate::angle::{CamTurn, CrankTurn, Direction};
use crate::description::{CamDrive, DriveKind};

/// Which way the camshaft turns, seen from the front.
pub fn cam_direction(drive: &CamDrive, crank: Direction) -> Direction {
    let turned_about = match drive.kind {
        DriveKind::Gears => drive.idler_teeth.len().is_multiple_of(2),
        DriveKind::Chain | DriveKind::Belt => false,
    };
    if turned_about {
        crank.reversed()
    } else {
        crank
    }
}

/// Crank wheel, twice the idlers, cam wheel: gears whose shafts stand in a line are half a module
/// for each of these apart.
pub fn teeth_between(drive: &CamDrive) -> f64 {
    let idlers: f64 = drive
        .idler_teeth
        .iter()
        .map(|&teeth| f64::from(teeth))
        .sum();
    f64::from(drive.crank_teeth) + 2.0 * idlers + f64::from(drive.cam_teeth)
}

/// What one tooth of the cam wheel is worth on the camshaft.
pub fn cam_tooth(drive: &CamDrive) -> CamTurn {
    CamTurn::new(360.0 / f64::from(drive.cam_teeth))
}

/// What one tooth of the cam wheel is worth on the crank.
pub fn crank_per_cam_tooth(drive: &CamDrive) -> CrankTurn {
    cam_tooth(drive).at_crank()
}

/// How far ahead of the crank the camshaft stands with its wheel `teeth` ahead of as drawn.
pub(crate) fn cam_ahead(drive: &CamDrive, teeth: i32) -> CamTurn {
    cam_tooth(drive) * f64::from(teeth)
}

/// Turns of the crank from one meeting of the marks to the next; `drive` of gears, its idlers taken
/// to carry marks.
pub fn turns_between_meetings(drive: &CamDrive) -> u64 {
    if drive.kind != DriveKind::Gears {
        return 2;
    }
    let crank = u64::from(drive.crank_teeth);
    drive.idler_teeth.iter().fold(2, |turns, &idler| {
        let idler = u64::from(idler);
        lcm(turns, idler / gcd(idler, crank).max(1))
    })
}

/// The play of the camshaft that backlash allows; needs the module and the backlash. Lengths in
/// millimetres.
pub fn cam_play(drive: &CamDrive) -> Option<CamTurn> {
    let pitch_radius_mm = drive.module? * f64::from(drive.cam_teeth) / 2.0;
    Some(CamTurn::new(
        (drive.backlash? / pitch_radius_mm).to_degrees(),
    ))
}

/// The same play read on the crank.
pub fn crank_play(drive: &CamDrive) -> Option<CrankTurn> {
    cam_play(drive).map(CamTurn::at_crank)
}

/// Greatest common divisor.
pub fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn lcm(a: u64, b: u64) -> u64 {
    a / gcd(a, b).max(1) * b
}
