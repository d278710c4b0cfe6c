//! The cam drive: gears in mesh, or wheels with their chain or belt, laid out so that the dots meet
//! where they are said to.
//!
//! Each wheel carries its phase: where tooth 0 stands at θ = 0, such that the dots meet at
//! `marks_meet_at` (the cam wheel's dot between the crank wheel's two) and every tooth falls into a
//! gap at every angle.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a bank and a cam wheel, and a loop for each camshaft"
)]

use glam::DVec2;

use super::crank::{Measures, bank_angles};
use super::low_camshaft::LowCamshaft;
use super::valve_gear::{
    Drawn, LobeMeasures, beside_mm, drawn_camshafts, follower, over_centre_mm,
};
use crate::angle::{wrap, wrap_signed};
use crate::description::{Description, DriveKind, Mark, MarkOn, ValveGear};
use crate::geometry::clock::towards;
use crate::geometry::teeth::{Loop, LoopKind, meshed_turn_deg, nearest_tooth_deg};
use crate::laws::chain_run::{self, ChainRun};
use crate::laws::gear_train;

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
    /// Which side of the direction to the camshaft the crank pulls: +1 the one clockwise from it,
    /// −1 the other.
    pub tight_side: f64,
}

/// The tensioner on a loop's slack run: a blade that lies along it from outside.
#[derive(Clone, Debug, PartialEq)]
pub struct Tensioner {
    /// The blade's outline, seen from the front.
    pub blade: Vec<DVec2>,
    /// Where it is held.
    pub pivot: DVec2,
    /// How thick the blade is.
    pub thick_mm: f64,
}

impl LoopPlace {
    /// The ends of a straight run, at the crank's wheel and at the camshaft's: the tight one or the
    /// slack.
    pub fn run(&self, tight: bool) -> [DVec2; 2] {
        self.path
            .run(self.tight_side * if tight { 1.0 } else { -1.0 })
    }

    /// Outwards from one of the runs.
    fn outwards(&self, tight: bool) -> DVec2 {
        let [from, to] = self.run(tight);
        let along = (to - from).normalize_or_zero();
        let away = along.perp();
        let middle = DVec2::midpoint(from, to) - self.path.driven_centre() / 2.0;
        if away.dot(middle) < 0.0 { -away } else { away }
    }

    /// The middle of a run, and outwards from it.
    pub fn beside(&self, tight: bool) -> (DVec2, DVec2) {
        let [from, to] = self.run(tight);
        (DVec2::midpoint(from, to), self.outwards(tight))
    }

    /// The tensioner.
    pub fn tensioner(&self) -> Tensioner {
        /// Points of its back: enough that it looks bent.
        const POINTS: usize = 12;
        let [from, to] = self.run(false);
        let out = self.outwards(false);
        let pitch = self.path.driver.pitch_mm;
        let clear = match self.path.driver.kind {
            LoopKind::Chain => self.path.driver.roller_radius_mm() * 1.15,
            LoopKind::Belt => 0.28 * pitch,
        };
        let thick_mm = 0.35 * pitch;
        let (near, far) = (0.2, 0.8);
        let on = |part: f64| from + (to - from) * part;
        // Its face lies along the run; its back is bowed outwards.
        let face = [on(near) + out * clear, on(far) + out * clear];
        let back = (0..=POINTS).rev().map(|index| {
            let part = index as f64 / POINTS as f64;
            let bow = 1.0 + 3.0 * 4.0 * part * (1.0 - part);
            on(near + (far - near) * part) + out * (clear + thick_mm * bow)
        });
        Tensioner {
            blade: face.into_iter().chain(back).collect(),
            pivot: on(near) + out * (clear + thick_mm * 1.2),
            thick_mm,
        }
    }
}

/// The cam drive while it is laid out.
pub(super) struct Drive {
    pub(super) cam_centres: Vec<DVec2>,
    /// The camshafts drawn, in the order of their centres.
    pub(super) drawn: Vec<Drawn>,
    pub(super) wheels: Vec<Wheel>,
    pub(super) module_mm: f64,
    pub(super) loops: Vec<Loop>,
}

impl Drive {
    pub(super) fn new(description: &Description, measures: &Measures, gear: ValveGear) -> Self {
        let banks = bank_angles(description);
        let follower = follower(description, measures, gear);
        let lobes = LobeMeasures::of(description, measures, gear);
        let wanted = match gear {
            ValveGear::PushRod => CAM_CLEARANCE * measures.throw_mm + lobes.base_mm,
            ValveGear::Overhead => {
                let carried = match follower.radius_mm() {
                    None => 0.08 * measures.bore_mm,
                    Some(radius_mm) => radius_mm + over_centre_mm(follower, measures),
                };
                let over_the_valves_mm = measures.stem_mm + carried + lobes.base_mm;
                let drive = &description.cam_drive;
                drive
                    .module_mm()
                    .filter(|_| drive.kind == DriveKind::Gears)
                    .map_or(over_the_valves_mm, |module| {
                        module * gear_train::teeth_between(drive) / 2.0
                    })
            }
        };
        let drawn = drawn_camshafts(description, gear);
        // Each camshaft's direction from the crank's, and how far off it is wanted.
        let places: Vec<(f64, f64)> = match gear {
            ValveGear::PushRod => {
                let low = LowCamshaft {
                    description,
                    measures,
                    banks: &banks,
                    lobes,
                };
                let (first, away_mm) = low.place(wanted);
                low_camshafts_deg(first, &banks, drawn.len())
                    .into_iter()
                    .map(|towards_deg| (towards_deg, away_mm))
                    .collect()
            }
            ValveGear::Overhead => drawn
                .iter()
                .enumerate()
                .map(|(index, own)| {
                    let beside = beside_mm(&drawn, index, measures.bore_mm);
                    let bank = own.bank.map_or(0.0, |bank| banks[bank]);
                    let turned = beside.atan2(wanted).to_degrees();
                    (bank + turned, beside.hypot(wanted))
                })
                .collect(),
        };
        match description.cam_drive.kind {
            DriveKind::Gears => Self::gears(description, &places, drawn),
            DriveKind::Chain | DriveKind::Belt => {
                let away_mm = places.first().map_or(wanted, |place| place.1);
                Self::looped(description, &places, away_mm, gear, drawn)
            }
        }
    }

    /// Gears: the crank's wheel, then the idlers and the cam wheel towards each camshaft.
    fn gears(description: &Description, places: &[(f64, f64)], drawn: Vec<Drawn>) -> Self {
        let mut drive = Self::gears_towards(description, places[0].0, places[0].1);
        for (cam, own) in drawn.iter().enumerate().skip(1) {
            let towards_deg = places[cam].0;
            drive.add_gears(description, cam, own.camshaft, towards_deg);
        }
        drive.drawn = drawn;
        drive
    }

    /// The idlers and the cam wheel towards one more camshaft, in mesh with the crank's wheel as
    /// that stands.
    fn add_gears(&mut self, description: &Description, cam: usize, camshaft: usize, at_deg: f64) {
        let drive = &description.cam_drive;
        let line = towards(at_deg);
        let mut before = self.wheels[0].clone();
        let idlers = drive.idler_teeth.iter().zip(1u32..);
        let rest = idlers
            .map(|(&teeth, which)| (teeth, WheelRole::Idler(which)))
            .chain([(drive.cam_teeth, WheelRole::Cam(cam))]);
        let mut along = 0.0;
        for (teeth, role) in rest {
            let pitch_radius_mm = self.module_mm * f64::from(teeth) / 2.0;
            along += before.pitch_radius_mm + pitch_radius_mm;
            let turn = meshed_turn_deg(before.teeth, teeth, at_deg, before.tooth_deg);
            let mut wheel = Wheel {
                role,
                teeth,
                centre: line * along,
                pitch_radius_mm,
                tooth_deg: turn,
                clockwise_per_crank: -before.clockwise_per_crank * f64::from(before.teeth)
                    / f64::from(teeth),
                dots: Vec::new(),
            };
            if matches!(role, WheelRole::Cam(_)) {
                wheel.dots = described_dot(description, camshaft, &wheel);
            }
            before = wheel.clone();
            self.wheels.push(wheel);
        }
        self.cam_centres.push(line * along);
    }

    fn gears_towards(description: &Description, cam_at: f64, wanted_mm: f64) -> Self {
        let drive = &description.cam_drive;
        let teeth = gear_train::teeth_between(drive);
        let module_mm = drive
            .module_mm()
            .filter(|module| (module * teeth / 2.0 - wanted_mm).abs() < 1e-6)
            .unwrap_or(2.0 * wanted_mm / teeth);
        let crank = description.crankshaft.rotation();
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
                tooth_deg: at_meeting - clockwise * drive.marks_meet_at(),
                clockwise_per_crank: clockwise,
                dots: if marked { dots } else { Vec::new() },
            });
        }
        Self {
            cam_centres: vec![line * along],
            drawn: Vec::new(),
            wheels,
            module_mm,
            loops: Vec::new(),
        }
    }

    fn looped(
        description: &Description,
        places: &[(f64, f64)],
        wanted_mm: f64,
        gear: ValveGear,
        drawn: Vec<Drawn>,
    ) -> Self {
        let bore = description.bore;
        let two_over_a_head = (0..drawn.len()).any(|cam| beside_mm(&drawn, cam, bore) != 0.0);
        let drive = &description.cam_drive;
        let kind = if drive.kind == DriveKind::Chain {
            LoopKind::Chain
        } else {
            LoopKind::Belt
        };
        // Wheels that stand well apart, and no cam wheel larger than looks right over a head; nor, on
        // a rod of many bores, so small that the loop has thousands of teeth that nobody could count.
        let largest = match gear {
            ValveGear::PushRod => 0.56 * wanted_mm,
            // Side by side over one head.
            ValveGear::Overhead if two_over_a_head => {
                (0.23 * bore).clamp(wanted_mm / 400.0, 0.3 * wanted_mm)
            }
            ValveGear::Overhead => {
                (0.62 * description.bore).clamp(wanted_mm / 15.0, 0.3 * wanted_mm)
            }
        };
        let looks_right = std::f64::consts::TAU * largest / f64::from(drive.cam_teeth);
        let teeth = (drive.crank_teeth, drive.cam_teeth);
        let clockwise = description.crankshaft.rotation().sign();
        // Nor of links so small, or wheels so large, that nothing could be made out.
        // Side by side over one head, larger wheels would be in one another's way.
        let largest_times = if two_over_a_head { 1.05 } else { 2.5 };
        let given = drive
            .pitch
            .map(|pitch| pitch.clamp(0.4 * looks_right, largest_times * looks_right));
        let counted = CountedDots::pitch_mm(description, places[0].0, places[0].1, looks_right)
            .filter(|pitch_mm| *pitch_mm <= largest_times * looks_right);
        let pitches = [given, counted, Some(looks_right)];
        let mut pitches = pitches.into_iter().flatten();
        let first = |pitch_mm: f64| loop_on_dots(kind, teeth, pitch_mm, places[0].0, places[0].1);
        // So many links as are stated come before the size of a link that is.
        let fits = |pitch_mm: &f64| CountedDots::of(description, &first(*pitch_mm)).is_some();
        let pitch_mm = match drive.links_between_marks {
            Some(_) => pitches.clone().find(fits).or(pitches.next()),
            None => pitches.next(),
        }
        .unwrap_or(looks_right);
        let loops: Vec<_> = places
            .iter()
            .map(|&(towards_deg, apart_mm)| {
                loop_on_dots(kind, teeth, pitch_mm, towards_deg, apart_mm)
            })
            .collect();
        let cam_centres: Vec<_> = loops.iter().map(Loop::driven_centre).collect();
        let dots = CountedDots::of(description, &loops[0]);
        let mut wheels = vec![Wheel {
            role: WheelRole::Crank,
            teeth: drive.crank_teeth,
            centre: DVec2::ZERO,
            pitch_radius_mm: loops[0].driver.pitch_radius_mm(),
            tooth_deg: places[0].0 - clockwise * drive.marks_meet_at(),
            clockwise_per_crank: clockwise,
            dots: vec![dots.map_or(0, |dots| dots.crank)],
        }];
        for (cam, path) in loops.iter().enumerate() {
            // The first loop's dots meet on the line of centres; each other takes the crank's wheel
            // as that leaves it.
            let turn = path.meshed_turn_deg(places[0].0);
            let faces = path.towards_deg + 180.0;
            let mut wheel = Wheel {
                role: WheelRole::Cam(cam),
                teeth: drive.cam_teeth,
                centre: cam_centres[cam],
                pitch_radius_mm: path.driven.pitch_radius_mm(),
                tooth_deg: nearest_tooth_deg(drive.cam_teeth, turn, faces)
                    - clockwise / 2.0 * drive.marks_meet_at(),
                clockwise_per_crank: clockwise / 2.0,
                dots: if cam == 0 {
                    vec![dots.map_or(0, |dots| dots.cam)]
                } else {
                    Vec::new()
                },
            };
            if description.camshaft_count() > 1 && (cam > 0 || dots.is_none()) {
                wheel.dots = described_dot(description, drawn[cam].camshaft, &wheel);
            }
            wheels.push(wheel);
        }
        Self {
            cam_centres,
            drawn,
            wheels,
            module_mm: pitch_mm / std::f64::consts::PI,
            loops,
        }
    }
}

/// The tooth of one of several cam wheels that carries the dot described for it: the nearest to
/// where that stands. None for a camshaft without a mark.
fn described_dot(description: &Description, camshaft: usize, wheel: &Wheel) -> Vec<u32> {
    let mut marks = description.marks.iter();
    let mark = marks.find(|mark| mark.on.camshaft() == Some(camshaft));
    let tooth = |mark: &Mark| {
        let past = wrap(mark.at - wheel.tooth_deg, 360.0) * f64::from(wheel.teeth) / 360.0;
        past.round() as u32 % wheel.teeth
    };
    mark.map(tooth).into_iter().collect()
}

/// Where low camshafts lie from the crank: one as it is described or beside the cylinders, two
/// either side of the first bank, more all round; wheels on one crank's gear then keep clear of one
/// another, and of the bores as well as may be.
fn low_camshafts_deg(first: f64, banks: &[f64], count: usize) -> Vec<f64> {
    if count <= 1 {
        return vec![first];
    }
    /// Wheels of twice the crank's teeth that all mesh with it are at least so far apart.
    const LEAST_APART_DEG: f64 = 84.0;
    let mirrored = 2.0 * banks[0] - first;
    if count == 2 && wrap_signed(mirrored - first, 360.0).abs() >= LEAST_APART_DEG {
        return vec![first, mirrored];
    }
    let round = |from: f64| (0..count).map(move |k| from + 360.0 / count as f64 * k as f64);
    let clear = |from: f64| {
        round(from)
            .flat_map(|at| {
                banks
                    .iter()
                    .map(move |bank| wrap_signed(at - bank, 360.0).abs())
            })
            .fold(360.0, f64::min)
    };
    let froms = (0..24).map(|step| banks[0] + 15.0 * f64::from(step));
    let from = froms
        .max_by(|one, other| clear(*one).total_cmp(&clear(*other)))
        .unwrap_or(first);
    round(from).collect()
}

/// The teeth with the dots, where these are set by counting the links between them.
#[derive(Clone, Copy, Debug)]
struct CountedDots {
    crank: u32,
    cam: u32,
}

impl CountedDots {
    /// Where the camshaft's dot is wanted, degrees from the line of centres towards the side on
    /// which links are counted: as it is described, else straight away from the crank.
    fn cam_wanted_deg(description: &Description, towards_deg: f64) -> f64 {
        chain_run::cam_mark_deg(description, towards_deg).unwrap_or(0.0)
    }

    /// The pitch at which so many links lie between dots that stand as wanted, the centres
    /// `centres_mm` apart; None where none is stated, or where such wheels would look odd.
    fn pitch_mm(
        description: &Description,
        towards_deg: f64,
        centres_mm: f64,
        looks_right_mm: f64,
    ) -> Option<f64> {
        let drive = &description.cam_drive;
        let links = f64::from(drive.links_between_marks?);
        let cam_deg = Self::cam_wanted_deg(description, towards_deg);
        // The crank's dot straight away from the camshaft.
        let between = |centres: f64| ChainRun::new(drive, centres).links(180.0, cam_deg);
        let (mut near, mut far) = (chain_run::nearest_centres(drive), 200.0);
        for _ in 0..60 {
            let middle = (near + far) / 2.0;
            if between(middle) < links {
                near = middle;
            } else {
                far = middle;
            }
        }
        let pitch_mm = centres_mm / ((near + far) / 2.0);
        (0.4..2.5)
            .contains(&(pitch_mm / looks_right_mm))
            .then_some(pitch_mm)
    }

    /// The pair of teeth with the stated links between them, the camshaft's nearest to where its
    /// dot is wanted and the crank's nearest to straight away from the camshaft. None where none is
    /// stated, or no such pair lies under the chain.
    fn of(description: &Description, path: &Loop) -> Option<Self> {
        let drive = &description.cam_drive;
        let links = f64::from(drive.links_between_marks?);
        let run = ChainRun::new(drive, path.centres_mm / path.driver.pitch_mm);
        let side = chain_run::counting_side(description);
        let wanted = Self::cam_wanted_deg(description, path.towards_deg);
        // A tooth's degrees from the line of centres where the dots meet: the crank's tooth 0
        // stands on it, and the camshaft's faces the crank.
        let at = |tooth: u32, of: u32| side * 360.0 * f64::from(tooth) / f64::from(of);
        let off = |one: f64, other: f64| crate::angle::wrap_signed(one - other, 360.0).abs();
        let (crank_teeth, cam_teeth) = (drive.crank_teeth, drive.cam_teeth);
        let mut best: Option<(f64, Self)> = None;
        for cam in 0..cam_teeth {
            let cam_deg = 180.0 + at(cam, cam_teeth);
            if !run.lies_on_cam(cam_deg) {
                continue;
            }
            for crank in 0..crank_teeth {
                let crank_deg = at(crank, crank_teeth);
                // Whole links lie between teeth: what is left over is the rounding of the mesh.
                if !run.lies_on_crank(crank_deg)
                    || (run.links(crank_deg, cam_deg) - links).abs() > 0.25
                {
                    continue;
                }
                let cost = off(cam_deg, wanted) + off(crank_deg, 180.0);
                if best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, Self { crank, cam }));
                }
            }
        }
        best.map(|(_, dots)| dots)
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
pub(super) fn loops_along(
    loops: &[Loop],
    wheel_width_mm: f64,
    drive_z_mm: f64,
    tight_side: f64,
) -> Vec<LoopPlace> {
    let step = wheel_width_mm / loops.len().max(1) as f64;
    let beside = |cam: usize| (cam as f64 - (loops.len() as f64 - 1.0) / 2.0) * step;
    loops
        .iter()
        .enumerate()
        .map(|(cam, &path)| LoopPlace {
            cam,
            path,
            z_mm: drive_z_mm + beside(cam),
            tight_side,
        })
        .collect()
}
