//! What stands where, at one crank angle. Everything that is shown, printed or drawn is made from a
//! reading or a row of them.

use arrayvec::ArrayVec;
use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::TOGETHER_DEG;
use crate::angle::{CamAngle, Clock, CrankAngle, CrankTurn, rounded};
use crate::description::fields::{MOST_CAMSHAFTS, MOST_CYLINDERS, MOST_MARKS};
use crate::engine::Subject;
use crate::laws::{DeadCentre, Stroke, ValveReading};
use crate::words::serialize_rounded;

/// What a reading speaks of.
pub const READING: &[Subject] = &[
    Subject::Pistons,
    Subject::Valves,
    Subject::Marks,
    Subject::Rotor,
    Subject::Sparks,
];

/// One cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CylinderReading {
    /// The number on it.
    pub number: u8,
    /// Its own phase: 0 at its firing TDC.
    pub phase: CrankAngle,
    /// The stroke its piston is on.
    pub stroke: Stroke,
    /// The end of the stroke it stands at, to within half a degree.
    pub dead_centre: Option<DeadCentre>,
    /// How far the piston stands below its top dead centre.
    pub piston_drop_mm: f64,
    /// Its intake valve.
    pub intake: ValveReading,
    /// Its exhaust valve.
    pub exhaust: ValveReading,
}

impl CylinderReading {
    /// Both valves closed: a thumb over the plug hole feels compression only then.
    pub fn sealed(&self) -> bool {
        !self.intake.open && !self.exhaust.open
    }

    /// Rising and sealed: a thumb over the plug hole is pushed off as the crank turns forwards.
    pub fn pushes_the_thumb(&self) -> bool {
        self.stroke == Stroke::Compression && self.sealed()
    }
}

impl Serialize for CylinderReading {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("CylinderReading", 10)?;
        fields.serialize_field("number", &self.number)?;
        fields.serialize_field("phase_deg", &self.phase)?;
        fields.serialize_field("stroke", &self.stroke)?;
        fields.serialize_field("dead_centre", &self.dead_centre)?;
        fields.serialize_field("piston_drop_mm", &rounded(self.piston_drop_mm))?;
        fields.serialize_field("intake_lift_mm", &rounded(self.intake.lift_mm))?;
        fields.serialize_field("exhaust_lift_mm", &rounded(self.exhaust.lift_mm))?;
        fields.serialize_field("intake_open", &self.intake.open)?;
        fields.serialize_field("exhaust_open", &self.exhaust.open)?;
        fields.serialize_field("sealed", &self.sealed())?;
        fields.end()
    }
}

/// Something that comes next as the crank turns on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NextEvent {
    /// The cylinder it comes to.
    pub cylinder: u8,
    /// How far on: 0 < t ≤ 720.
    #[serde(rename = "in_deg")]
    pub after: CrankTurn,
}

/// The plug that sparks next as the crank turns on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NextSpark {
    /// Its cylinder.
    pub cylinder: u8,
    /// How far on: 0 < t ≤ 720.
    #[serde(rename = "in_deg")]
    pub after: CrankTurn,
    /// Whether it is the spark on overlap of a plug that sparks every turn.
    pub wasted: bool,
}

impl NextSpark {
    /// The earlier of two sparks; of two together, the useful one.
    pub(super) fn or_earlier(self, other: Self) -> Self {
        let on = other.after.degrees() - self.after.degrees();
        let with_it = on.abs() <= TOGETHER_DEG && self.wasted && !other.wasted;
        let earlier = on < 0.0 && !(on >= -TOGETHER_DEG && other.wasted && !self.wasted);
        if earlier || with_it { other } else { self }
    }
}

/// The rotor, and the tower it is nearest to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RotorReading {
    /// Where the rotor points, looking down on the cap.
    #[serde(rename = "clock_deg")]
    pub clock: Clock,
    /// The nearest tower's place among the firing order, 0 for No. 1's as drawn.
    #[serde(skip)]
    pub tower_index: usize,
    /// The cylinder whose lead stands in that tower.
    pub tower: u8,
    /// How far past it, in the rotor's own direction: −180 ≤ d < 180.
    #[serde(serialize_with = "serialize_rounded")]
    pub past_deg: f64,
}

/// Everything at one crank angle.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The crank: 0 is No. 1 at TDC firing.
    pub crank: CrankAngle,
    /// The camshaft, as built; of several the first. It is where its wheel stands: a trim moves
    /// its lobes and no mark.
    pub cam: CamAngle,
    /// Every camshaft, in the order of the description.
    pub cams: ArrayVec<CamAngle, MOST_CAMSHAFTS>,
    /// The cylinders, by number.
    pub cylinders: ArrayVec<CylinderReading, MOST_CYLINDERS>,
    /// The cylinder that comes to firing TDC next, after this crank angle.
    pub next_firing_tdc: NextEvent,
    /// The plug that sparks next, after this crank angle, with the engine at rest.
    pub next_spark: NextSpark,
    /// The rotor, where there is a distributor.
    pub rotor: Option<RotorReading>,
    /// Where each of the description's marks stands, in its order, seen from the front.
    pub marks: ArrayVec<Clock, MOST_MARKS>,
}

impl Reading {
    /// The cylinders on their compression stroke.
    pub fn on_compression(&self) -> impl Iterator<Item = u8> {
        self.cylinders
            .iter()
            .filter(|cylinder| cylinder.stroke == Stroke::Compression)
            .map(|cylinder| cylinder.number)
    }

    /// One cylinder, by its number; None for a number not on this engine.
    pub fn cylinder(&self, number: u8) -> Option<&CylinderReading> {
        self.cylinders.get(usize::from(number).checked_sub(1)?)
    }
}
