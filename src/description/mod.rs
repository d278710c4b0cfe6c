//! The description as the builder writes it: plain data, in the file's own units, not yet checked.
//!
//! Every field of `*.ron` stands here once. Reading is serde's work; whether the numbers make an
//! engine is asked in [`check`](crate::engine::check); what they imply is worked out in
//! [`phasing`](crate::phasing).

pub mod fields;

use serde::{Deserialize, Serialize};

use crate::angle::Direction;
use crate::words::Units;

/// A whole engine description.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Description {
    /// The version of this format: 1.
    pub format: u32,
    /// What the builder calls the engine.
    pub name: String,
    /// Anything worth keeping with it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// What the lengths are given in.
    #[serde(default)]
    pub units: Units,
    /// The crank and its throws.
    pub crankshaft: Crankshaft,
    /// The rows of cylinders.
    pub banks: Vec<Bank>,
    /// Cylinder bore.
    pub bore: f64,
    /// Connecting rod, centre to centre.
    pub rod_length: f64,
    /// Gudgeon pin offset, towards the major thrust side.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub pin_offset: f64,
    /// Cylinder numbers in the order they fire, No. 1 first.
    pub firing_order: Vec<u32>,
    /// Crank degrees at which each cylinder of the firing order fires, where the order alone is
    /// ambiguous.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub firing_angles: Option<Vec<f64>>,
    /// What drives the camshaft.
    pub cam_drive: CamDrive,
    /// The valve events.
    pub valves: Valves,
    /// The distributor, where the engine has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distributor: Option<Distributor>,
    /// When the sparks come.
    pub ignition: Ignition,
    /// What was measured between valves and piston.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Clearance>,
    /// The marks the builder can see.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Mark>,
    /// Pulley diameter, for laying out timing marks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulley_diameter: Option<f64>,
    /// The builder's own lines for the assembly sheet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<BuilderStep>,
}

/// The crankshaft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crankshaft {
    /// Which way it runs, seen from the front.
    #[serde(default)]
    pub rotation: Direction,
    /// Twice the throw radius.
    pub stroke: f64,
    /// The throws, front to back.
    pub throws: Vec<Throw>,
}

/// One throw of the crank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Throw {
    /// Degrees clockwise from No. 1's throw, seen from the front.
    pub angle: f64,
    /// The cylinders whose rods share it.
    pub cylinders: Vec<u32>,
}

/// A row of cylinders.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bank {
    /// The cylinders' axis in clock degrees seen from the front; 0 is straight up.
    pub angle: f64,
    /// Its cylinders.
    pub cylinders: Vec<u32>,
}

/// What drives the camshaft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CamDrive {
    /// Gears, chain or belt.
    pub kind: DriveKind,
    /// Teeth on the crank's gear or sprocket.
    pub crank_teeth: u32,
    /// Teeth on the camshaft's: twice the crank's.
    pub cam_teeth: u32,
    /// Teeth of each idler gear between them, crank first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub idler_teeth: Vec<u32>,
    /// Crank degrees at which the timing marks come together.
    #[serde(default)]
    pub marks_meet_at: f64,
    /// Gears: pitch diameter over teeth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub module: Option<f64>,
    /// Play at the pitch circle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub backlash: Option<f64>,
    /// Where the camshaft lies from the crankshaft, in clock degrees seen from the front. For the
    /// model only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cam_at: Option<f64>,
}

/// How the crank drives the camshaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum DriveKind {
    /// Gear on gear: the camshaft turns against the crank, unless an idler turns it about.
    Gears,
    /// A roller chain: the camshaft turns with the crank.
    Chain,
    /// A toothed belt: the camshaft turns with the crank.
    Belt,
}

/// The valve events and the lobes that give them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Valves {
    /// The intake valve's events and lift.
    pub intake: Intake,
    /// The exhaust valve's events and lift.
    pub exhaust: Exhaust,
    /// The lift at which the four events are quoted; 0 is at the seat.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub quoted_at: f64,
    /// The lift law.
    #[serde(default)]
    pub lobe: LiftLaw,
    /// How lobe and valve are joined. For the model only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gear: Option<ValveGear>,
}

/// One of a cylinder's two valves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Valve {
    /// The intake valve.
    Intake,
    /// The exhaust valve.
    Exhaust,
}

impl Valve {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::Intake, Self::Exhaust];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Intake => "intake",
            Self::Exhaust => "exhaust",
        }
    }
}

/// The intake valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Intake {
    /// Crank degrees before top dead centre at which it opens.
    pub opens_btdc: f64,
    /// Crank degrees after bottom dead centre at which it closes.
    pub closes_abdc: f64,
    /// Full lift at the valve.
    pub lift: f64,
}

/// The exhaust valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exhaust {
    /// Crank degrees before bottom dead centre at which it opens.
    pub opens_bbdc: f64,
    /// Crank degrees after top dead centre at which it closes.
    pub closes_atdc: f64,
    /// Full lift at the valve.
    pub lift: f64,
}

/// The law by which a lobe lifts its valve.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum LiftLaw {
    /// Single dwell, symmetric 3-4-5-6 polynomial.
    #[default]
    Polynomial,
}

/// How a lobe reaches its valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ValveGear {
    /// The camshaft lies low; follower, push rod and rocker carry the lift up.
    PushRod,
    /// The camshaft lies over the valves.
    Overhead,
}

/// The distributor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Distributor {
    /// The shaft that drives it.
    pub driven_by: DrivenBy,
    /// Teeth on the driving shaft.
    pub driver_teeth: u32,
    /// Teeth on the distributor's shaft.
    pub driven_teeth: u32,
    /// How the drive takes hold.
    #[serde(default)]
    pub coupling: Coupling,
    /// Which way the rotor turns, looking down on the cap.
    #[serde(default)]
    pub rotation: Direction,
    /// Clock degrees of No. 1's tower, looking down on the cap.
    pub number_one_at: f64,
    /// Rotor degrees past No. 1's tower at No. 1 firing TDC; half the static advance where it is
    /// not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<f64>,
    /// Rotor degrees, clockwise positive, gained as a helical drive slides home.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turns_on_entry: Option<f64>,
    /// The helical drive itself, where `turns_on_entry` is to be worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub helix: Option<Helix>,
    /// How far the clamp lets the body turn either way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub body_range: Option<f64>,
    /// Rotor tip, degrees as seen from the shaft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip_width: Option<f64>,
    /// Tower electrode, degrees as seen from the shaft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tower_width: Option<f64>,
}

/// The shaft that drives the distributor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum DrivenBy {
    /// One to one from the camshaft.
    Camshaft,
    /// Two to one from the crankshaft.
    Crankshaft,
}

/// How the distributor's drive takes hold.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Coupling {
    /// A gear: as many ways home as it has teeth.
    #[default]
    Gear,
    /// A tongue off the centre: one way home.
    OffsetTongue,
    /// A tongue on the centre: two ways home, half a turn apart.
    CentralTongue,
}

/// A helical distributor drive.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Helix {
    /// Helix angle, from the shaft's own line.
    pub angle: f64,
    /// A right-hand gear turns the rotor clockwise as it goes down.
    pub hand: Hand,
    /// How far it slides in mesh on the way home.
    pub travel: f64,
    /// Pitch diameter of the distributor's gear.
    pub pitch_diameter: f64,
}

/// The hand of a helix.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hand {
    /// Clockwise, looking down, as it goes down.
    Right,
    /// Anticlockwise, looking down, as it goes down.
    Left,
}

/// When the sparks come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ignition {
    /// Crank degrees before TDC with the engine at rest.
    pub static_advance: f64,
    /// The bob-weights' advance, crank degrees, by engine speed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub centrifugal: Vec<CentrifugalPoint>,
    /// The capsule's advance, crank degrees, by depression.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub vacuum: Vec<VacuumPoint>,
}

/// A point of the centrifugal curve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CentrifugalPoint {
    /// Engine speed.
    pub rpm: f64,
    /// Crank degrees.
    pub advance: f64,
}

/// A point of the vacuum curve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VacuumPoint {
    /// Depression in the manifold.
    pub kpa: f64,
    /// Crank degrees.
    pub advance: f64,
}

/// How far each valve could be pushed from its seat at TDC before it touched the piston.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clearance {
    /// Intake, measured along the valve.
    pub intake_drop: f64,
    /// Exhaust, measured along the valve.
    pub exhaust_drop: f64,
    /// The valves' lean from the bore's axis, degrees.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub valve_angle: f64,
}

/// A mark the builder can see.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// The part it is on.
    pub on: MarkOn,
    /// What it looks like.
    pub name: String,
    /// Clock degrees, seen from the front, at No. 1 firing TDC.
    pub at: f64,
}

/// The part that carries a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum MarkOn {
    /// The crankshaft, its gear, pulley or flywheel.
    Crankshaft,
    /// The camshaft or its gear.
    Camshaft,
    /// An idler gear, counted from the crank: 1 is the first.
    Idler(u32),
}

/// A line of the builder's own for the assembly sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BuilderStep {
    /// What to do.
    #[serde(rename = "do")]
    pub action: String,
    /// How tight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torque: Option<Torque>,
}

/// A tightening torque.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Torque {
    /// N·m.
    NewtonMetres(f64),
    /// lbf·ft.
    PoundFeet(f64),
}

impl Torque {
    /// One pound-force foot in newton metres: 0.453 592 37 kg × 9.806 65 m/s² × 0.3048 m, exact by
    /// definition.
    const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;

    /// In N·m.
    pub fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetres(value) => value,
            Self::PoundFeet(value) => value * Self::NEWTON_METRES_PER_POUND_FOOT,
        }
    }

    /// In lbf·ft.
    pub fn pound_feet(self) -> f64 {
        self.newton_metres() / Self::NEWTON_METRES_PER_POUND_FOOT
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

impl Description {
    /// The same engine with every length in millimetres.
    #[must_use]
    pub fn in_millimetres(&self) -> Self {
        let mut metric = self.clone();
        let mm = self.units.millimetres();
        metric.units = Units::Millimetres;
        for (_, length) in metric.lengths_mut() {
            *length *= mm;
        }
        metric
    }

    /// The same engine with its lengths in other units, rounded to what can be measured: a micron,
    /// or a ten-thousandth.
    #[must_use]
    pub fn in_units(&self, units: Units) -> Self {
        let mut other = self.clone();
        let times = self.units.millimetres() / units.millimetres();
        let places: f64 = if units == Units::Inches { 1e4 } else { 1e3 };
        other.units = units;
        for (_, length) in other.lengths_mut() {
            *length = (*length * times * places).round() / places;
        }
        other
    }

    /// Every length, by the place it stands in the file.
    pub(crate) fn lengths_mut(&mut self) -> Vec<(&'static str, &mut f64)> {
        let mut lengths = vec![
            ("crankshaft.stroke", &mut self.crankshaft.stroke),
            ("bore", &mut self.bore),
            ("rod_length", &mut self.rod_length),
            ("pin_offset", &mut self.pin_offset),
            ("valves.intake.lift", &mut self.valves.intake.lift),
            ("valves.exhaust.lift", &mut self.valves.exhaust.lift),
            ("valves.quoted_at", &mut self.valves.quoted_at),
        ];
        lengths.extend(
            self.cam_drive
                .module
                .as_mut()
                .map(|module| ("cam_drive.module", module)),
        );
        lengths.extend(
            self.cam_drive
                .backlash
                .as_mut()
                .map(|backlash| ("cam_drive.backlash", backlash)),
        );
        if let Some(helix) = self
            .distributor
            .as_mut()
            .and_then(|distributor| distributor.helix.as_mut())
        {
            lengths.push(("distributor.helix.travel", &mut helix.travel));
            lengths.push((
                "distributor.helix.pitch_diameter",
                &mut helix.pitch_diameter,
            ));
        }
        if let Some(clearance) = self.clearance.as_mut() {
            lengths.push(("clearance.intake_drop", &mut clearance.intake_drop));
            lengths.push(("clearance.exhaust_drop", &mut clearance.exhaust_drop));
        }
        lengths.extend(
            self.pulley_diameter
                .as_mut()
                .map(|diameter| ("pulley_diameter", diameter)),
        );
        lengths
    }

    /// How many cylinders the firing order names.
    pub fn cylinder_count(&self) -> usize {
        self.firing_order.len()
    }
}
