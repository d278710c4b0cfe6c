//! The cam drive: gears in mesh, or wheels with their chain or belt, laid out so that the dots meet
//! where they are said to.
//!
//! Each wheel carries its phase: where tooth 0 stands at θ = 0, such that the dots meet at
//! `marks_meet_at` (the cam wheel's dot between the crank wheel's two) and every tooth falls into a
//! gap at every angle.

use glam::DVec2;

use super::crank::{Measures, bank_angles};
use super::valve_gear::{LEAST_BASE, ROCKER_RATIO, cam_at_deg};
use crate::description::{Description, DriveKind, MarkOn, ValveGear};
use crate::geometry::clock::towards;
use crate::geometry::lobe_outline::LobeOutline;
use crate::geometry::teeth::{Loop, LoopKind, nearest_tooth_deg};
use crate::laws::{Lobe, gear_train};

/// The module of gears that are given none, chosen for a camshaft well clear of the throws, over
/// the throw's radius and teeth.
const CAM_CLEARANCE: f64 = 1.9;

/// A wheel of the cam drive: a gear, a sprocket or a belt pulley.
#[derive(Clone, Debug, PartialEq)]
pub struct Wheel {
    /// What it is called.
    pub role: WheelRole,
    /// How many teeth it has.
    pub teeth: u32,
    /// Its axis.
    pub centre: DVec2,
    /// Its pitch circle.
    pub pitch_radius_mm: f64,
    /// Where tooth 0 stands at θ = 0 as drawn, clock degrees; tooth 1 is the next clockwise.
    pub tooth_deg: f64,
    /// Degrees it turns clockwise for a degree of the crank in its running direction.
    pub clockwise_per_crank: f64,
    /// The teeth that carry a dot.
    pub dots: Vec<u32>,
}

impl Wheel {
    /// Where its first dot stands at θ = 0 as drawn, clock degrees; None for a wheel without dots.
    pub fn dot_deg(&self) -> Option<f64> {
        self.dots
            .first()
            .map(|&tooth| self.tooth_deg + 360.0 * f64::from(tooth) / f64::from(self.teeth))
    }
}

/// Which wheel of the cam drive it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WheelRole {
    /// On the crankshaft.
    Crank,
    /// Between crank and cam, counted from the crank: 1 is the first.
    Idler(u32),
    /// On a camshaft: an index into [`Layout::cams`](super::Layout::cams).
    Cam(usize),
}

/// A loop of chain or toothed belt over the crank's wheel and one camshaft's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopPlace {
    /// The camshaft it drives: an index into [`Layout::cams`](super::Layout::cams).
    pub cam: usize,
    /// Its shape.
    pub path: Loop,
    /// The middle of its width along the shaft.
    pub z_mm: f64,
}

/// The cam drive while it is laid out.
pub(super) struct Drive {
    pub(super) cam_centres: Vec<DVec2>,
    pub(super) wheels: Vec<Wheel>,
    pub(super) module_mm: f64,
    pub(super) loops: Vec<Loop>,
}

impl Drive {
    pub(super) fn new(description: &Description, measures: &Measures, gear: ValveGear) -> Self {
        let banks = bank_angles(description);
        let lobe =
            |lobe: Lobe| LobeOutline::new(&lobe, LEAST_BASE * measures.bore_mm).base_radius_mm();
        let base =
            lobe(Lobe::intake(&description.valves)).max(lobe(Lobe::exhaust(&description.valves)));
        let directions: Vec<f64> = match gear {
            ValveGear::PushRod => vec![cam_at_deg(description, &banks)],
            ValveGear::Overhead => banks,
        };
        let wanted = match gear {
            ValveGear::PushRod => CAM_CLEARANCE * measures.throw_mm + base / ROCKER_RATIO,
            ValveGear::Overhead => measures.stem_mm + 0.08 * measures.bore_mm + base,
        };
        match description.cam_drive.kind {
            DriveKind::Gears => Self::gears(description, directions[0], wanted),
            DriveKind::Chain | DriveKind::Belt => {
                Self::looped(description, &directions, wanted, gear)
            }
        }
    }

    fn gears(description: &Description, cam_at: f64, wanted_mm: f64) -> Self {
        let drive = &description.cam_drive;
        let module_mm = drive
            .module
            .unwrap_or(2.0 * wanted_mm / gear_train::teeth_between(&description.cam_drive));
        let crank = description.crankshaft.rotation;
        let line = towards(cam_at);
        let mut wheels: Vec<Wheel> = Vec::new();
        let all = std::iter::once(drive.crank_teeth)
            .chain(drive.idler_teeth.iter().copied())
            .chain([drive.cam_teeth]);
        let last = drive.idler_teeth.len() + 1;
        let (mut along, mut clockwise) = (0.0, crank.sign());
        // Whether the wheel before turns a gap to the next at the meeting of the marks: the crank's
        // wheel does.
        let mut gap_before = true;
        for (index, teeth) in all.enumerate() {
            let pitch_radius_mm = module_mm * f64::from(teeth) / 2.0;
            let pitch_deg = 360.0 / f64::from(teeth);
            let role = match index {
                0 => WheelRole::Crank,
                _ if index == last => WheelRole::Cam(0),
                _ => WheelRole::Idler(index as u32),
            };
            let (at_meeting, dots) = if let Some(before) = wheels.last() {
                along += before.pitch_radius_mm + pitch_radius_mm;
                clockwise *= -f64::from(before.teeth) / f64::from(teeth);
                let faces_back = cam_at + 180.0;
                if gap_before {
                    (faces_back, vec![0])
                } else {
                    (faces_back + pitch_deg / 2.0, vec![0, teeth - 1])
                }
            } else {
                (cam_at + pitch_deg / 2.0, vec![0, teeth - 1])
            };
            // Half a turn on from a tooth stands a tooth where their number is even, else a gap;
            // and the same from a gap.
            gap_before = if index == 0 {
                true
            } else {
                (teeth % 2 == 0) != gap_before
            };
            let marked = !matches!(role, WheelRole::Idler(which) if !description.marks.iter().any(|mark| mark.on == MarkOn::Idler(which)));
            wheels.push(Wheel {
                role,
                teeth,
                centre: line * along,
                pitch_radius_mm,
                tooth_deg: at_meeting - clockwise * drive.marks_meet_at,
                clockwise_per_crank: clockwise,
                dots: if marked { dots } else { Vec::new() },
            });
        }
        Self {
            cam_centres: vec![line * along],
            wheels,
            module_mm,
            loops: Vec::new(),
        }
    }

    fn looped(
        description: &Description,
        directions: &[f64],
        wanted_mm: f64,
        gear: ValveGear,
    ) -> Self {
        let drive = &description.cam_drive;
        let kind = if drive.kind == DriveKind::Chain {
            LoopKind::Chain
        } else {
            LoopKind::Belt
        };
        // Wheels that stand well apart, and no cam wheel larger than looks right over a head.
        let largest = match gear {
            ValveGear::PushRod => 0.56 * wanted_mm,
            ValveGear::Overhead => f64::min(0.3 * wanted_mm, 0.62 * description.bore),
        };
        let pitch_mm = std::f64::consts::TAU * largest / f64::from(drive.cam_teeth);
        let teeth = (drive.crank_teeth, drive.cam_teeth);
        let clockwise = description.crankshaft.rotation.sign();
        let loops: Vec<_> = directions
            .iter()
            .map(|&towards_deg| loop_on_dots(kind, teeth, pitch_mm, towards_deg, wanted_mm))
            .collect();
        let cam_centres: Vec<_> = loops.iter().map(Loop::driven_centre).collect();
        let mut wheels = vec![Wheel {
            role: WheelRole::Crank,
            teeth: drive.crank_teeth,
            centre: DVec2::ZERO,
            pitch_radius_mm: loops[0].driver.pitch_radius_mm(),
            tooth_deg: directions[0] - clockwise * drive.marks_meet_at,
            clockwise_per_crank: clockwise,
            dots: vec![0],
        }];
        for (cam, path) in loops.iter().enumerate() {
            // The first loop's dots meet on the line of centres; each other takes the crank's wheel
            // as that leaves it.
            let turn = path.meshed_turn_deg(directions[0]);
            let faces = path.towards_deg + 180.0;
            wheels.push(Wheel {
                role: WheelRole::Cam(cam),
                teeth: drive.cam_teeth,
                centre: cam_centres[cam],
                pitch_radius_mm: path.driven.pitch_radius_mm(),
                tooth_deg: nearest_tooth_deg(drive.cam_teeth, turn, faces)
                    - clockwise / 2.0 * drive.marks_meet_at,
                clockwise_per_crank: clockwise / 2.0,
                dots: if cam == 0 { vec![0] } else { Vec::new() },
            });
        }
        Self {
            cam_centres,
            wheels,
            module_mm: pitch_mm / std::f64::consts::PI,
            loops,
        }
    }
}

/// A loop whose wheels' dots meet on the line of centres, the shafts about `wanted_mm` apart.
///
/// With a tooth of the driver on that line the driven's stands there too only at certain distances,
/// a little under a pitch apart: the nearest is taken.
pub(super) fn loop_on_dots(
    kind: LoopKind,
    teeth: (u32, u32),
    pitch_mm: f64,
    towards_deg: f64,
    wanted_mm: f64,
) -> Loop {
    let mut path = Loop::new(kind, teeth, pitch_mm, towards_deg, wanted_mm);
    let about = path.centres_mm;
    let teeth_off = |path: &Loop| {
        (path.meshed_turn_deg(towards_deg) - towards_deg - 180.0) * f64::from(teeth.1) / 360.0
    };
    let wanted = teeth_off(&path).round();
    // A longer span takes the driven wheel back.
    let (mut near, mut far) = (about - pitch_mm, about + pitch_mm);
    for _ in 0..60 {
        path.centres_mm = (near + far) / 2.0;
        if teeth_off(&path) > wanted {
            near = path.centres_mm;
        } else {
            far = path.centres_mm;
        }
    }
    // Half the loop counts half the driver's teeth, less half the driven's, less the whole teeth.
    path.pitches = (f64::from(teeth.0) - f64::from(teeth.1) - 2.0 * wanted).max(0.0) as u32;
    path
}

/// Loops on one crank wheel run beside one another.
pub(super) fn loops_along(loops: &[Loop], wheel_width_mm: f64, drive_z_mm: f64) -> Vec<LoopPlace> {
    let step = wheel_width_mm / loops.len().max(1) as f64;
    let beside = |cam: usize| (cam as f64 - (loops.len() as f64 - 1.0) / 2.0) * step;
    loops
        .iter()
        .enumerate()
        .map(|(cam, &path)| LoopPlace {
            cam,
            path,
            z_mm: drive_z_mm + beside(cam),
        })
        .collect()
}
