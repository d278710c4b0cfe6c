//! Where every part of the engine stands.
//!
//! The description says what times the engine; a body needs more: how far apart the cylinders are, where the camshaft lies,
//! where the distributor stands. What the description gives is kept to the millimetre; the rest is drawn in sane proportion to
//! the bore, for an eye to follow and never for measuring.
//!
//! Millimetres, the crankshaft's axis at the origin. Seen from the front x runs right, y up, and z towards the eye: a throw
//! further back has a smaller z. Clock degrees run clockwise from straight up, so the clock position c points to
//! (sin c, cos c).
//!
//! The wheels of the cam drive carry their phase: where tooth 0 stands at θ = 0, such that the dots meet at `marks_meet_at`
//! (the cam wheel's dot between the crank wheel's two) and every tooth falls into a gap at every angle.

use glam::{DVec2, DVec3};

use crate::angle::Direction;
use crate::engine::Engine;
use crate::engine::description::{Description, DriveKind, DrivenBy, MarkOn, ValveGear};
use crate::phasing::{Lobe, SliderCrank, gear_train};

use super::lobe_outline::LobeOutline;
use super::teeth::{Loop, LoopKind, nearest_tooth_deg};

/// Cylinder wall, over the bore.
const WALL: f64 = 0.06;
/// From one bore to the next in the same bank, over the bore.
const BORE_PITCH: f64 = 1.2;
/// The piston's crown over its pin, over the bore.
const CROWN: f64 = 0.38;
/// The piston's skirt under its pin, over the bore.
const SKIRT: f64 = 0.30;
/// What stays between crown and head at top dead centre, over the bore.
const CHAMBER: f64 = 0.10;
/// The rod's width along the crankpin, over the bore.
const ROD_WIDTH: f64 = 0.22;
/// A web's width along the shaft, over the bore.
const WEB_WIDTH: f64 = 0.13;
/// A crankpin's radius, over the bore.
const PIN: f64 = 0.22;
/// A main journal's radius, over the bore.
const JOURNAL: f64 = 0.25;
/// The valves either side of the middle of the bore along the shaft, over the bore.
const VALVE_APART: f64 = 0.25;
/// A rocker's valve arm over its push rod arm: common practice, no source.
const ROCKER_RATIO: f64 = 1.6;
/// A lobe's base circle at the least, over the bore: stouter than the camshaft itself.
const LEAST_BASE: f64 = 0.14;
/// The module of gears that are given none, chosen for a camshaft well clear of the throws, over the throw's radius and teeth.
const CAM_CLEARANCE: f64 = 1.9;

/// The direction of a clock position.
pub fn towards(clock_deg: f64) -> DVec2 {
    let (sin, cos) = clock_deg.to_radians().sin_cos();
    DVec2::new(sin, cos)
}

/// The clock position a direction points to, 0 ≤ c < 360.
pub fn clock_of(direction: DVec2) -> f64 {
    crate::angle::wrap(direction.x.atan2(direction.y).to_degrees(), 360.0)
}

/// One throw of the crank.
#[derive(Clone, Debug, PartialEq)]
pub struct ThrowPlace {
    /// Clockwise from No. 1's throw, seen from the front.
    pub angle_deg: f64,
    /// The middle of its pin.
    pub z_mm: f64,
    /// How long its pin is, between the webs.
    pub pin_length_mm: f64,
}

/// One cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct CylinderPlace {
    /// Its number.
    pub number: u8,
    /// The middle of its bore along the shaft.
    pub z_mm: f64,
    /// The clock position its bore points to.
    pub bank_deg: f64,
    /// Its valves.
    pub intake: ValvePlace,
    /// Its valves.
    pub exhaust: ValvePlace,
}

/// One valve, and what moves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValvePlace {
    /// Where along the shaft valve, push rod and lobe lie.
    pub z_mm: f64,
    /// Where along the shaft its lobe lies.
    pub lobe_z_mm: f64,
    /// Which of the camshafts moves it: an index into [`Layout::cams`].
    pub cam: usize,
    /// Where its lobe's nose points at θ = 0 as drawn, clock degrees.
    pub nose_deg: f64,
}

/// The measures all cylinders share, along the bore from the crankshaft's axis and across it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Bore.
    pub bore_mm: f64,
    /// Thickness of the cylinder's wall.
    pub wall_mm: f64,
    /// The throw's radius.
    pub throw_mm: f64,
    /// The rod, centre to centre.
    pub rod_mm: f64,
    /// The crown over the gudgeon pin.
    pub crown_mm: f64,
    /// The skirt's end under the gudgeon pin.
    pub skirt_mm: f64,
    /// The gudgeon pin's radius.
    pub gudgeon_mm: f64,
    /// The crankpin's radius.
    pub pin_mm: f64,
    /// The main journals' radius.
    pub journal_mm: f64,
    /// The rod's width along the pin.
    pub rod_width_mm: f64,
    /// A web's width along the shaft.
    pub web_mm: f64,
    /// Where the cylinder ends towards the crank.
    pub foot_mm: f64,
    /// The face of the head, on which the valves sit.
    pub deck_mm: f64,
    /// Where the valves' stems end with the valves shut.
    pub stem_mm: f64,
    /// An intake valve's head, its radius.
    pub intake_head_mm: f64,
    /// An exhaust valve's head, its radius.
    pub exhaust_head_mm: f64,
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
        self.dots.first().map(|&tooth| self.tooth_deg + 360.0 * f64::from(tooth) / f64::from(self.teeth))
    }
}

/// Which wheel of the cam drive it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WheelRole {
    /// On the crankshaft.
    Crank,
    /// Between crank and cam, counted from the crank: 1 is the first.
    Idler(u32),
    /// On a camshaft: an index into [`Layout::cams`].
    Cam(usize),
}

/// A loop of chain or toothed belt over the crank's wheel and one camshaft's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopPlace {
    /// The camshaft it drives: an index into [`Layout::cams`].
    pub cam: usize,
    /// Its shape.
    pub path: Loop,
    /// The middle of its width along the shaft.
    pub z_mm: f64,
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

/// The distributor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DistributorPlace {
    /// The middle of the cap's underside; the shaft goes straight down from it, and the cap is looked at from above.
    /// Clock 0 of the cap points to the rear of the engine (−z), 90 to the right (+x).
    pub cap: DVec3,
    /// The cap's radius.
    pub radius_mm: f64,
    /// How far down its shaft goes.
    pub shaft_mm: f64,
}

/// The pulley at the front, with its timing mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulleyPlace {
    /// Its radius.
    pub radius_mm: f64,
    /// The middle of its width.
    pub z_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Where its mark stands at No. 1's TDC, clock degrees: there the pointer stands.
    pub mark_deg: f64,
}

/// The whole engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// What all cylinders share.
    pub measures: Measures,
    /// The throws, front to back.
    pub throws: Vec<ThrowPlace>,
    /// The cylinders, by number.
    pub cylinders: Vec<CylinderPlace>,
    /// The camshafts: one, or one a bank where they lie over the valves.
    pub cams: Vec<CamPlace>,
    /// How lobe and valve are joined.
    pub train: ValveTrain,
    /// The intake lobes, drawn with the lift at the valve.
    pub intake_lobe: LobeOutline,
    /// The exhaust lobes, drawn with the lift at the valve.
    pub exhaust_lobe: LobeOutline,
    /// The size of the lobes themselves over the outlines': the rocker makes up the rest.
    pub lobe_scale: f64,
    /// A lobe's or follower's width along the shaft.
    pub lobe_width_mm: f64,
    /// The wheels of the cam drive, the crank's first.
    pub wheels: Vec<Wheel>,
    /// Gears: pitch diameter over teeth, as given or as drawn.
    pub module_mm: f64,
    /// Gears: the play at the pitch circle.
    pub backlash_mm: f64,
    /// Chain or belt; empty for gears.
    pub loops: Vec<LoopPlace>,
    /// What drives the camshaft.
    pub drive: DriveKind,
    /// The middle of the cam drive's wheels along the shaft.
    pub drive_z_mm: f64,
    /// The wheels' width.
    pub wheel_width_mm: f64,
    /// The pulley.
    pub pulley: PulleyPlace,
    /// The distributor.
    pub distributor: Option<DistributorPlace>,
    /// The shaft's front end, at the pulley.
    pub front_z_mm: f64,
    /// The shaft's radius in front of the cam drive: slim, so that the dots on the crank's wheel are seen past it.
    pub nose_mm: f64,
    /// The shaft's rear end.
    pub rear_z_mm: f64,
    /// A ball around everything: its middle and radius.
    pub middle: DVec3,
    /// A ball around everything: its middle and radius.
    pub reach_mm: f64,
}

impl Layout {
    /// Lays an engine out.
    pub fn of(engine: &Engine) -> Self {
        let description = engine.metric();
        let measures = measures(description);
        let (throws, cylinder_z) = along_the_crank(description, &measures);
        let first_web = throws.first().map_or(0.0, |throw| throw.z_mm + throw.pin_length_mm / 2.0 + measures.web_mm);
        let last_web = throws.last().map_or(0.0, |throw| throw.z_mm - throw.pin_length_mm / 2.0 - measures.web_mm);
        let half_bore = measures.bore_mm / 2.0 + measures.wall_mm;
        let front_bore = cylinder_z.iter().fold(f64::MIN, |most, z| most.max(z + half_bore)).max(first_web);
        let rear_bore = cylinder_z.iter().fold(f64::MAX, |least, z| least.min(z - half_bore)).min(last_web);

        let wheel_width_mm = 0.2 * measures.bore_mm;
        let drive_z_mm = front_bore + 0.12 * measures.bore_mm + wheel_width_mm / 2.0;
        let pulley_width = 0.22 * measures.bore_mm;
        let pulley_z = drive_z_mm + wheel_width_mm / 2.0 + 0.16 * measures.bore_mm + pulley_width / 2.0;

        let gear = valve_gear(description, &measures);
        let drive = Drive::new(description, &measures, gear);
        let banks = bank_angles(description);
        let cams: Vec<_> = drive
            .cam_centres
            .iter()
            .map(|&centre| CamPlace { centre, front_z_mm: drive_z_mm, rear_z_mm: rear_bore + 0.1 * measures.bore_mm })
            .collect();

        let (intake, exhaust) = (Lobe::intake(&description.valves), Lobe::exhaust(&description.valves));
        let train = train(gear, &measures, &cams, banks[0]);
        let scale = 1.0 / train.ratio();
        let least_base = LEAST_BASE * measures.bore_mm / scale;
        let cam_sign = gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation).sign();
        let lobe_width_mm = 0.13 * measures.bore_mm;

        let cylinders = (1..=engine.cylinder_count() as u8)
            .zip(cylinder_z)
            .map(|(number, z_mm)| {
                let bank_deg = engine.bank_deg(number);
                let cam = match gear {
                    ValveGear::PushRod => 0,
                    ValveGear::Overhead => banks.iter().position(|&bank| bank == bank_deg).unwrap_or(0),
                };
                let follower = match gear {
                    ValveGear::PushRod => bank_deg,
                    ValveGear::Overhead => bank_deg + 180.0,
                };
                let fires = engine.firing_order().iter().position(|&other| other == number).map_or(0.0, |i| engine.firing_angles()[i]);
                let valve = |lobe: &Lobe, side: f64| ValvePlace {
                    z_mm: z_mm + side * VALVE_APART * measures.bore_mm,
                    lobe_z_mm: z_mm + side * lobe_apart(gear, &measures),
                    cam,
                    nose_deg: follower - cam_sign * (fires + lobe.centre_deg()) / 2.0,
                };
                CylinderPlace { number, z_mm, bank_deg, intake: valve(&intake, 1.0), exhaust: valve(&exhaust, -1.0) }
            })
            .collect();

        let pulley = PulleyPlace {
            radius_mm: description.pulley_diameter.map_or(measures.throw_mm * 2.0, |diameter| diameter / 2.0),
            z_mm: pulley_z,
            width_mm: pulley_width,
            mark_deg: description.marks.iter().find(|mark| mark.on == MarkOn::Crankshaft).map_or(engine.bank_deg(1), |mark| mark.at),
        };
        let front_z_mm = pulley_z + pulley_width / 2.0 + 0.1 * measures.bore_mm;
        let rear_z_mm = rear_bore - 0.25 * measures.bore_mm;
        let distributor = description
            .distributor
            .as_ref()
            .map(|distributor| distributor_place(distributor.driven_by, &measures, &banks, &cams, (front_bore, rear_bore), gear));

        let nose_mm = drive.wheels.first().map_or(measures.journal_mm, |wheel| measures.journal_mm.min(0.42 * wheel.pitch_radius_mm));
        let mut layout = Self {
            measures,
            throws,
            cylinders,
            cams,
            train,
            lobe_scale: scale,
            intake_lobe: LobeOutline::new(&intake, least_base),
            exhaust_lobe: LobeOutline::new(&exhaust, least_base),
            lobe_width_mm,
            loops: loops_along(&drive.loops, wheel_width_mm, drive_z_mm),
            module_mm: drive.module_mm,
            backlash_mm: description.cam_drive.backlash.unwrap_or(0.0),
            wheels: drive.wheels,
            drive: description.cam_drive.kind,
            drive_z_mm,
            wheel_width_mm,
            pulley,
            distributor,
            front_z_mm,
            nose_mm,
            rear_z_mm,
            middle: DVec3::ZERO,
            reach_mm: 0.0,
        };
        (layout.middle, layout.reach_mm) = layout.ball();
        layout
    }

    /// One cylinder; None for a number the engine has not.
    pub fn cylinder(&self, number: u8) -> Option<&CylinderPlace> {
        self.cylinders.get(usize::from(number).checked_sub(1)?)
    }

    /// The crank's wheel of the cam drive.
    pub fn crank_wheel(&self) -> Option<&Wheel> {
        self.wheels.first()
    }

    /// Points at the ends of everything, and the ball that holds them.
    fn ball(&self) -> (DVec3, f64) {
        let mut points = Vec::new();
        for cylinder in &self.cylinders {
            let over_cam = self.cams.get(cylinder.intake.cam).map_or(0.0, |cam| cam.centre.dot(towards(cylinder.bank_deg)));
            let end = towards(cylinder.bank_deg) * (f64::max(self.measures.stem_mm, over_cam) + 0.6 * self.measures.bore_mm);
            points.push(end.extend(cylinder.z_mm));
        }
        for wheel in &self.wheels {
            for clock in [0.0, 90.0, 180.0, 270.0] {
                points.push((wheel.centre + towards(clock) * wheel.pitch_radius_mm).extend(self.drive_z_mm));
            }
        }
        for z in [self.front_z_mm, self.rear_z_mm] {
            for clock in [0.0, 90.0, 180.0, 270.0] {
                points.push((towards(clock) * self.pulley.radius_mm).extend(z));
            }
        }
        if let Some(distributor) = &self.distributor {
            points.push(distributor.cap + DVec3::Y * distributor.radius_mm);
            points.push(distributor.cap + DVec3::X * distributor.radius_mm);
        }
        let (least, most) = points.iter().fold((DVec3::MAX, DVec3::MIN), |(least, most), point| (least.min(*point), most.max(*point)));
        let middle = (least + most) / 2.0;
        (middle, points.iter().fold(0.0, |reach, point| f64::max(reach, point.distance(middle))))
    }
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

fn measures(description: &Description) -> Measures {
    let bore = description.bore;
    let slider = SliderCrank::new(description.crankshaft.stroke, description.rod_length, description.pin_offset);
    let top = slider.pin_height_mm(slider.tdc_deg());
    let bottom = top - slider.travel_mm();
    // A stroke much over the bore wants slimmer bearings, a short rod a shorter skirt.
    let room = f64::min(bore, 0.9 * description.rod_length);
    let pin_mm = f64::min(PIN * room, 0.45 * description.crankshaft.stroke);
    let crown_mm = CROWN * room;
    let deck_mm = top + crown_mm + CHAMBER * bore;
    Measures {
        bore_mm: bore,
        wall_mm: WALL * bore,
        throw_mm: slider.radius_mm(),
        rod_mm: description.rod_length,
        crown_mm,
        skirt_mm: SKIRT * room,
        gudgeon_mm: 0.11 * room,
        pin_mm,
        journal_mm: f64::min(JOURNAL * room, 0.55 * description.crankshaft.stroke),
        rod_width_mm: ROD_WIDTH * bore,
        web_mm: WEB_WIDTH * bore,
        foot_mm: f64::max(bottom - SKIRT * room + 0.12 * bore, 0.1 * bore),
        deck_mm,
        stem_mm: deck_mm + 0.75 * bore,
        intake_head_mm: 0.21 * bore,
        exhaust_head_mm: 0.18 * bore,
    }
}

/// The throws and where each cylinder's bore lies: as close as the bores of one bank and the webs of the crank allow.
fn along_the_crank(description: &Description, measures: &Measures) -> (Vec<ThrowPlace>, Vec<f64>) {
    let pitch = BORE_PITCH * measures.bore_mm;
    let bank_of = |number: u32| description.banks.iter().position(|bank| bank.cylinders.contains(&number)).unwrap_or(0);
    // Banks that stand at one angle are in each other's way.
    let angle_of = |number: u32| crate::angle::wrap(description.banks[bank_of(number)].angle, 360.0);
    let mut rearmost: Vec<(f64, f64)> = Vec::new();
    let mut throws = Vec::new();
    let mut cylinder_z = vec![0.0; description.cylinder_count()];
    let mut free_z = f64::INFINITY;
    let number_one = description.crankshaft.throws.iter().find(|throw| throw.cylinders.contains(&1)).map_or(0.0, |throw| throw.angle);
    for throw in &description.crankshaft.throws {
        let count = throw.cylinders.len().max(1) as f64;
        // Where two bores of one bank share a pin they need room beside one another on it.
        let shared = throw.cylinders.iter().enumerate().any(|(i, &a)| throw.cylinders[..i].iter().any(|&b| angle_of(a) == angle_of(b)));
        let step = if shared { pitch } else { measures.rod_width_mm * 1.04 };
        let pin_length_mm = (count - 1.0) * step + measures.rod_width_mm * 1.08;
        let whole = pin_length_mm + 2.0 * measures.web_mm;
        let mut z = if free_z.is_finite() { free_z - whole / 2.0 } else { 0.0 };
        let across = |index: usize| ((count - 1.0) / 2.0 - index as f64) * step;
        for (index, &number) in throw.cylinders.iter().enumerate() {
            for &(angle, last) in &rearmost {
                // Bores that lean less than a bore's width apart from one another meet at their feet.
                if angle == angle_of(number) {
                    z = f64::min(z, last - pitch - across(index));
                }
            }
        }
        for (index, &number) in throw.cylinders.iter().enumerate() {
            let own = z + across(index);
            if let Some(place) = cylinder_z.get_mut((number as usize).wrapping_sub(1)) {
                *place = own;
            }
            rearmost.retain(|(angle, _)| *angle != angle_of(number));
            rearmost.push((angle_of(number), own));
        }
        free_z = z - whole / 2.0 - 0.3 * measures.bore_mm;
        throws.push(ThrowPlace { angle_deg: throw.angle - number_one, z_mm: z, pin_length_mm });
    }
    // The middle of the engine at z = 0.
    let shift = throws.last().map_or(0.0, |last| last.z_mm / 2.0);
    throws.iter_mut().for_each(|throw| throw.z_mm -= shift);
    cylinder_z.iter_mut().for_each(|z| *z -= shift);
    (throws, cylinder_z)
}

/// The clock angles of the banks, as written, each once.
fn bank_angles(description: &Description) -> Vec<f64> {
    let mut angles: Vec<f64> = Vec::new();
    for bank in &description.banks {
        if !angles.contains(&bank.angle) {
            angles.push(bank.angle);
        }
    }
    if angles.is_empty() {
        angles.push(0.0);
    }
    angles
}

/// How lobe and valve are joined: as the description says, else over the valves for a belt, or a chain on one bank.
fn valve_gear(description: &Description, measures: &Measures) -> ValveGear {
    let drive = &description.cam_drive;
    let one_bank = bank_angles(description).len() == 1;
    let wanted = description.valves.gear.unwrap_or(match drive.kind {
        DriveKind::Belt => ValveGear::Overhead,
        DriveKind::Chain if one_bank => ValveGear::Overhead,
        _ => ValveGear::PushRod,
    });
    // Gears whose module is given reach as far as they reach, and to one camshaft.
    let reach = drive.module.map(|module| module * teeth_between(description) / 2.0);
    match (drive.kind, reach) {
        (DriveKind::Gears, Some(reach)) if reach < measures.stem_mm => ValveGear::PushRod,
        (DriveKind::Gears, _) if !one_bank => ValveGear::PushRod,
        _ => wanted,
    }
}

/// Crank wheel + twice the idlers + cam wheel: the distance of the shafts over half a module.
fn teeth_between(description: &Description) -> f64 {
    let drive = &description.cam_drive;
    f64::from(drive.crank_teeth) + f64::from(drive.cam_teeth) + 2.0 * drive.idler_teeth.iter().map(|&teeth| f64::from(teeth)).sum::<f64>()
}

/// Where lobes lie either side of the middle of the bore: clear of the webs where the camshaft lies low.
fn lobe_apart(gear: ValveGear, measures: &Measures) -> f64 {
    match gear {
        ValveGear::PushRod => 0.36 * measures.bore_mm,
        ValveGear::Overhead => VALVE_APART * measures.bore_mm,
    }
}

fn train(gear: ValveGear, measures: &Measures, cams: &[CamPlace], bank_deg: f64) -> ValveTrain {
    match gear {
        ValveGear::Overhead => ValveTrain::Overhead,
        ValveGear::PushRod => {
            let beside = push_rod_beside_mm(measures, cams[0].centre, bank_deg).abs();
            ValveTrain::PushRod { ratio: ROCKER_RATIO, valve_arm_mm: beside * ROCKER_RATIO / (1.0 + ROCKER_RATIO) }
        }
    }
}

/// How far beside the bore's axis, clockwise positive, the push rods' upper ends stand: over the camshaft, but clear of the
/// cylinder.
pub fn push_rod_beside_mm(measures: &Measures, cam: DVec2, bank_deg: f64) -> f64 {
    let beside = cam.dot(towards(bank_deg + 90.0));
    let least = measures.bore_mm / 2.0 + measures.wall_mm + 0.06 * measures.bore_mm;
    let sign = if beside < 0.0 { -1.0 } else { 1.0 };
    sign * beside.abs().max(least)
}

/// Where a low camshaft lies from the crank: as the description says; else where its mark needs it, if that is clear of the
/// bores; else beside a single bank, in the middle of a wide vee, under a flat engine.
fn cam_at_deg(description: &Description, banks: &[f64]) -> f64 {
    if let Some(given) = description.cam_drive.cam_at {
        return given;
    }
    let apart = |clock: f64| banks.iter().map(|bank| crate::angle::wrap_signed(clock - bank, 360.0).abs()).fold(360.0, f64::min);
    let mark = description.marks.iter().find(|mark| mark.on == MarkOn::Camshaft);
    if let Some(mark) = mark {
        let direction = gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation);
        let dot = mark.at + direction.sign() * description.cam_drive.marks_meet_at / 2.0;
        if apart(dot + 180.0) > 35.0 {
            return dot + 180.0;
        }
    }
    let (least, most) = banks
        .iter()
        .map(|bank| crate::angle::wrap_signed(bank - banks[0], 360.0))
        .fold((0.0, 0.0), |(least, most), off| (f64::min(least, off), f64::max(most, off)));
    let wide = most - least;
    let middle = banks[0] + (least + most) / 2.0;
    if (80.0..150.0).contains(&wide) {
        middle
    } else if wide >= 150.0 {
        // Of the two middles of a flat engine, the lower.
        if towards(middle).y > 0.0 { middle + 180.0 } else { middle }
    } else {
        banks[0] + most + 60.0
    }
}

/// The cam drive while it is laid out.
struct Drive {
    cam_centres: Vec<DVec2>,
    wheels: Vec<Wheel>,
    module_mm: f64,
    loops: Vec<Loop>,
}

impl Drive {
    fn new(description: &Description, measures: &Measures, gear: ValveGear) -> Self {
        let banks = bank_angles(description);
        let lobe = |lobe: Lobe| LobeOutline::new(&lobe, LEAST_BASE * measures.bore_mm).base_radius_mm();
        let base = lobe(Lobe::intake(&description.valves)).max(lobe(Lobe::exhaust(&description.valves)));
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
            DriveKind::Chain | DriveKind::Belt => Self::looped(description, &directions, wanted, gear),
        }
    }

    fn gears(description: &Description, cam_at: f64, wanted_mm: f64) -> Self {
        let drive = &description.cam_drive;
        let module_mm = drive.module.unwrap_or(2.0 * wanted_mm / teeth_between(description));
        let crank = description.crankshaft.rotation;
        let line = towards(cam_at);
        let mut wheels: Vec<Wheel> = Vec::new();
        let all = std::iter::once(drive.crank_teeth).chain(drive.idler_teeth.iter().copied()).chain([drive.cam_teeth]);
        let last = drive.idler_teeth.len() + 1;
        let (mut along, mut clockwise) = (0.0, crank.sign());
        // Whether the wheel before turns a gap to the next at the meeting of the marks: the crank's wheel does.
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
                if gap_before { (faces_back, vec![0]) } else { (faces_back + pitch_deg / 2.0, vec![0, teeth - 1]) }
            } else {
                (cam_at + pitch_deg / 2.0, vec![0, teeth - 1])
            };
            // Half a turn on from a tooth stands a tooth where their number is even, else a gap; and the same from a gap.
            gap_before = if index == 0 { true } else { (teeth % 2 == 0) != gap_before };
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
        Self { cam_centres: vec![line * along], wheels, module_mm, loops: Vec::new() }
    }

    fn looped(description: &Description, directions: &[f64], wanted_mm: f64, gear: ValveGear) -> Self {
        let drive = &description.cam_drive;
        let kind = if drive.kind == DriveKind::Chain { LoopKind::Chain } else { LoopKind::Belt };
        // Wheels that stand well apart, and no cam wheel larger than looks right over a head.
        let largest = match gear {
            ValveGear::PushRod => 0.56 * wanted_mm,
            ValveGear::Overhead => f64::min(0.3 * wanted_mm, 0.62 * description.bore),
        };
        let pitch_mm = std::f64::consts::TAU * largest / f64::from(drive.cam_teeth);
        let teeth = (drive.crank_teeth, drive.cam_teeth);
        let clockwise = description.crankshaft.rotation.sign();
        let loops: Vec<_> = directions.iter().map(|&towards_deg| loop_on_dots(kind, teeth, pitch_mm, towards_deg, wanted_mm)).collect();
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
            // The first loop's dots meet on the line of centres; each other takes the crank's wheel as that leaves it.
            let turn = path.meshed_turn_deg(directions[0]);
            let faces = path.towards_deg + 180.0;
            wheels.push(Wheel {
                role: WheelRole::Cam(cam),
                teeth: drive.cam_teeth,
                centre: cam_centres[cam],
                pitch_radius_mm: path.driven.pitch_radius_mm(),
                tooth_deg: nearest_tooth_deg(drive.cam_teeth, turn, faces) - clockwise / 2.0 * drive.marks_meet_at,
                clockwise_per_crank: clockwise / 2.0,
                dots: if cam == 0 { vec![0] } else { Vec::new() },
            });
        }
        Self { cam_centres, wheels, module_mm: pitch_mm / std::f64::consts::PI, loops }
    }
}

/// A loop whose wheels' dots meet on the line of centres, the shafts about `wanted_mm` apart.
///
/// With a tooth of the driver on that line the driven's stands there too only at certain distances, a little under a pitch
/// apart: the nearest is taken.
fn loop_on_dots(kind: LoopKind, teeth: (u32, u32), pitch_mm: f64, towards_deg: f64, wanted_mm: f64) -> Loop {
    let mut path = Loop::new(kind, teeth, pitch_mm, towards_deg, wanted_mm);
    let about = path.centres_mm;
    let teeth_off = |path: &Loop| (path.meshed_turn_deg(towards_deg) - towards_deg - 180.0) * f64::from(teeth.1) / 360.0;
    let wanted = teeth_off(&path).round();
    // A longer span takes the driven wheel back.
    let (mut near, mut far) = (about - pitch_mm, about + pitch_mm);
    for _ in 0..60 {
        path.centres_mm = (near + far) / 2.0;
        if teeth_off(&path) > wanted { near = path.centres_mm } else { far = path.centres_mm }
    }
    // Half the loop counts half the driver's teeth, less half the driven's, less the whole teeth.
    path.pitches = (f64::from(teeth.0) - f64::from(teeth.1) - 2.0 * wanted).max(0.0) as u32;
    path
}

/// Loops on one crank wheel run beside one another.
fn loops_along(loops: &[Loop], wheel_width_mm: f64, drive_z_mm: f64) -> Vec<LoopPlace> {
    let step = wheel_width_mm / loops.len().max(1) as f64;
    let beside = |cam: usize| (cam as f64 - (loops.len() as f64 - 1.0) / 2.0) * step;
    loops.iter().enumerate().map(|(cam, &path)| LoopPlace { cam, path, z_mm: drive_z_mm + beside(cam) }).collect()
}

fn distributor_place(
    driven_by: DrivenBy,
    measures: &Measures,
    banks: &[f64],
    cams: &[CamPlace],
    (front, rear): (f64, f64),
    gear: ValveGear,
) -> DistributorPlace {
    let radius_mm = f64::max(0.42 * measures.bore_mm, 26.0);
    let one_bank = banks.len() == 1;
    let (axis_x, foot_y) = match (driven_by, gear) {
        (DrivenBy::Camshaft, ValveGear::PushRod) => (cams[0].centre.x, cams[0].centre.y),
        _ => (0.0, 0.0),
    };
    if one_bank {
        // Beside the block, outside the push rods, a third of the way back, the cap at the height of the head.
        let side = if axis_x < 0.0 { -1.0 } else { 1.0 };
        let clear = measures.bore_mm / 2.0 + measures.wall_mm + radius_mm + 0.2 * measures.bore_mm;
        let x = f64::max(clear, axis_x.abs() + radius_mm + 0.25 * measures.bore_mm);
        let up = towards(banks[0]).y.abs();
        let y = f64::max(up * measures.deck_mm, foot_y + 1.1 * measures.bore_mm);
        let z = front - 0.3 * (front - rear);
        return DistributorPlace { cap: DVec3::new(side * x, y, z), radius_mm, shaft_mm: y - foot_y };
    }
    // Behind the last cylinder, upright over the shafts.
    let y = f64::max(foot_y.max(0.0) + 0.9 * measures.bore_mm, 1.25 * measures.bore_mm);
    DistributorPlace { cap: DVec3::new(axis_x, y, rear - radius_mm * 1.1), radius_mm, shaft_mm: y - foot_y }
}

/// The direction a wheel turns for a crank that runs in `crank`.
pub fn wheel_direction(wheel: &Wheel) -> Direction {
    if wheel.clockwise_per_crank < 0.0 { Direction::CounterClockwise } else { Direction::Clockwise }
}

impl Measures {
    /// How far a counterweight may reach from the shaft's axis: clear of a piston's skirt at bottom dead centre.
    pub fn foot_of_counterweight_mm(&self) -> f64 {
        f64::max(self.rod_mm - self.throw_mm - self.skirt_mm - 0.04 * self.bore_mm, self.journal_mm * 1.3)
    }
}
