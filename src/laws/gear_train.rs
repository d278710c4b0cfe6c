//! The drive from crank to camshaft: ratio, sense, what a tooth is worth, and when the marks meet.
//!
//! The camshaft turns at half speed, against the crank for gears and with it for a chain or belt;
//! each idler between gears turns it about. One tooth of the cam wheel is 360 / Z cam degrees, 720
//! / Z crank degrees. Marks on crank and cam wheel meet every two turns; an idler Z_i that carries
//! a mark brings all of them together only every lcm(2, Z_i / gcd(Z_i, Z_crank)) turns. Backlash b
//! at the pitch radius ρ lets the cam stand anywhere within b / ρ radians;
//! so does the slack of a chain or belt, as far as its tensioner lets it move. Source of the hunting
//! count: turns of the pinion = z₂ / gcd(z₁, z₂), *Machinery's Handbook*, hunting tooth ratios
//! (from memory).

use super::chain_run::pitch_radius_mm;
use crate::angle::{CamTurn, CrankTurn, Direction, wrap_signed};
use crate::description::fields::MOST_CAMSHAFTS;
use crate::description::{CamDrive, Description, DriveKind};

/// Teeth by which the wheel of each camshaft is ahead of as drawn, in the order of the description;
/// negative, behind. An engine with one camshaft has its teeth first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CamTeeth([i32; MOST_CAMSHAFTS]);

impl CamTeeth {
    /// So many for each of `count` camshafts.
    pub fn alike(count: usize, teeth: i32) -> Self {
        let mut all = [0; MOST_CAMSHAFTS];
        all.iter_mut().take(count).for_each(|own| *own = teeth);
        Self(all)
    }

    /// Those of one camshaft, counted from 0.
    pub fn of(self, camshaft: usize) -> i32 {
        self.0.get(camshaft).copied().unwrap_or(0)
    }

    /// The same with other teeth for one camshaft, counted from 0.
    #[must_use]
    pub fn with(mut self, camshaft: usize, teeth: i32) -> Self {
        if let Some(own) = self.0.get_mut(camshaft) {
            *own = teeth;
        }
        self
    }

    /// Whether no camshaft is out.
    pub fn are_right(self) -> bool {
        self == Self::default()
    }

    /// The camshafts that are out, counted from 0, each with its teeth.
    pub fn out(self) -> impl Iterator<Item = (usize, i32)> {
        self.0
            .into_iter()
            .enumerate()
            .filter(|(_, teeth)| *teeth != 0)
    }

    /// Whether every one of `count` camshafts is out by as much, and there are several: the crank's
    /// wheel stands so in the drive.
    pub fn all_out_alike(self, count: usize) -> bool {
        count > 1 && !self.are_right() && self == Self::alike(count, self.of(0))
    }
}

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

/// How far ahead of the card the valves that a camshaft works stand, by its teeth out and its trim:
/// −360° ≤ t < 360° where it is trimmed.
pub(crate) fn valves_ahead(
    description: &Description,
    camshaft: usize,
    cams: CamTeeth,
) -> CrankTurn {
    let teeth = cam_ahead(&description.cam_drive, cams.of(camshaft));
    let trim = description.trim_of(camshaft);
    if trim.degrees() == 0.0 {
        return teeth.at_crank();
    }
    CrankTurn::new(wrap_signed((teeth + trim).at_crank().degrees(), 720.0))
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

/// The pitch radius of the camshaft's wheel: from the module, or a chain's or belt's pitch. Lengths
/// in millimetres.
pub fn cam_pitch_radius_mm(drive: &CamDrive) -> Option<f64> {
    let on_pitch = drive.pitch.filter(|_| drive.kind != DriveKind::Gears);
    on_pitch
        .map(|pitch| pitch_radius_mm(drive.kind, pitch, drive.cam_teeth))
        .or_else(|| Some(drive.module_mm()? * f64::from(drive.cam_teeth) / 2.0))
}

/// The play of the camshaft that backlash, or the slack of a chain or belt, allows; needs the
/// module or the pitch, and the backlash. Lengths in millimetres.
pub fn cam_play(drive: &CamDrive) -> Option<CamTurn> {
    let pitch_radius_mm = cam_pitch_radius_mm(drive)?;
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
