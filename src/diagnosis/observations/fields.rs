//! Every field of a file of sightings, each once, as those of a description.

use std::ops::RangeInclusive;

use super::{CRANK_WITHIN_DEG, SPARK_WITHIN_DEG};
use crate::description::fields::Absent::{Nothing, Required, Value, Word, WorkedOut};
use crate::description::fields::Items::{Cylinders, Parts};
use crate::description::fields::Unit::{Count, Degrees, Teeth};
use crate::description::fields::{
    Field, Kind, MOST_CYLINDERS, field_of, find, list, number, part, word,
};
use crate::engine::Engine;

/// Sightings at most: more than any builder takes, and few enough to be tried at once.
const MOST_SIGHTINGS: usize = 100;
/// The path of the teeth counted at the cam's dot: their range is that of the wheel itself.
const CAM_TEETH_OFF: &str = "sightings[].cam_teeth_off";

/// Every field of a file of sightings.
#[rustfmt::skip]
pub static FIELDS: &[Field] = &[
    number("format", (Count, 1.0, 1.0), Required, "", "the version of this format"),
    list("leads", Cylinders, MOST_CYLINDERS, "leads", WorkedOut("as drawn, or as what was seen tells"),
        "Leads traced from tower to plug",
        "cylinders as their leads are plugged, from No. 1's tower in the rotor's direction; on \
        coils, at their terminals, one coil after another"),
    number("body_turn", (Degrees, -180.0, 180.0), Value(0.0), "Body turned",
        "the body's turn against the rotor's rotation"),

    // One place of the crank.
    list("sightings", Parts, MOST_SIGHTINGS, "sightings", Required, "",
        "what was seen, each at one place of the crank"),
    number("sightings[].crank", (Degrees, 0.0, 360.0), Required, "Past No. 1's TDC mark",
        "degrees past No. 1's TDC mark by the crank's own marks"),
    number("sightings[].within", (Degrees, 0.0, 45.0), Value(CRANK_WITHIN_DEG), "give or take",
        "how well the crank's mark could be read"),
    field_of("sightings[].turned_on", Kind::YesOrNo, Word("false"),
        "turned forwards to here from the one before",
        "whether the crank was turned forwards to here from the sighting before"),
    word("sightings[].stage", &["CaseOpen", "CoverOff", "CoverOn", "Fired"], Nothing,
        "Seen at this stage", "how far the build had got"),
    list("sightings[].compression_felt", Cylinders, MOST_CYLINDERS, "cylinders", Nothing,
        "Thumb pushed off", "cylinders that pushed the thumb off the plug hole"),
    number(CAM_TEETH_OFF, (Teeth, -399.0, 399.0), Nothing, "Cam's dot counted",
        "teeth the cam's dot stands ahead or behind; of several camshafts every one's, or by name"),

    // A valve.
    list("sightings[].valves", Parts, 2 * MOST_CYLINDERS, "valves", Nothing, "Valves",
        "what the valves did"),
    field_of("sightings[].valves[].cylinder", Kind::Cylinder, Required, "", "its cylinder"),
    word("sightings[].valves[].valve", &["Intake", "Exhaust"], Required, "", "which of the two"),
    word("sightings[].valves[].is", &["Open", "Closed"], Required, "", "what it did"),

    // The rotor.
    part("sightings[].rotor", Nothing, "", "where the rotor pointed, by the clock or by a tower"),
    number("sightings[].rotor.clock", (Degrees, -360.0, 360.0), Nothing, "or at",
        "the rotor's clock degrees on the cap"),
    field_of("sightings[].rotor.tower", Kind::Cylinder, Nothing, "Rotor at tower",
        "the cylinder whose tower, as drawn, it pointed at"),
    number("sightings[].rotor.within", (Degrees, 0.0, 90.0),
        WorkedOut("8° by the clock; by a tower, midway to its neighbours"), "",
        "how well the rotor could be judged"),

    // The slot.
    part("sightings[].slot", Nothing, "Slot of the shaft",
        "where the slot of a geared shaft stood, the distributor lifted off"),
    number("sightings[].slot.clock", (Degrees, -360.0, 360.0), Required, "at",
        "the slot's clock degrees, looking down: its narrow side, or either end of a central one"),
    number("sightings[].slot.within", (Degrees, 0.0, 90.0), WorkedOut("8°"), "",
        "how well the slot could be judged"),

    // A spark.
    part("sightings[].spark", Nothing, "Spark seen at", "when one plug got its spark"),
    field_of("sightings[].spark.cylinder", Kind::Cylinder, Required, "", "the plug's cylinder"),
    number("sightings[].spark.btdc", (Degrees, -360.0, 360.0), Required, "",
        "crank degrees before that cylinder's firing TDC"),
    number("sightings[].spark.within", (Degrees, 0.0, 45.0), Value(SPARK_WITHIN_DEG), "",
        "how well the spark could be read"),
    word("sightings[].spark.by", &["Lamp", "Strobe"], Word("Lamp"), "by a lamp",
        "what it was seen by"),
];

/// The row of a field by its path, such as `sightings[].rotor.clock`.
pub(super) fn field(path: &str) -> Option<&'static Field> {
    find(FIELDS, path)
}

/// What a number may be on this engine, by its path, such as `sightings[].rotor.clock`. Teeth
/// counted are fewer than the camshaft's wheel has; a path without a number has no bounds.
pub fn range_of(path: &str, engine: &Engine) -> RangeInclusive<f64> {
    if path == CAM_TEETH_OFF {
        let most = f64::from(engine.metric().cam_drive.cam_teeth) - 1.0;
        return -most..=most;
    }
    field(path)
        .and_then(Field::range)
        .map_or(f64::MIN..=f64::MAX, |range| range.least..=range.most)
}
