//! Every field of a description, each once: its path, what it holds, its legal range, its default
//! and the words for it.
//!
//! A row feeds the check, its message, the editor's field and the tests. Lengths are in millimetres
//! here; a file in inches is held to the same lengths. The ends of the ranges are generous (a model
//! engine, a ship's engine): they keep out slips of the pen, not unusual engines.

use super::Description;
use super::walk::{Item, Place, Walk};
use crate::words::Units;

/// What a number counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A length, in the file's units in the file and in millimetres in the table.
    Length,
    /// Degrees.
    Degrees,
    /// Teeth on a wheel.
    Teeth,
    /// Turns a minute.
    Rpm,
    /// Kilopascals.
    Kilopascals,
    /// Torque, in newton metres in the table.
    Torque,
    /// A bare count.
    Count,
}

/// The legal range of a number.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    /// What the number counts.
    pub unit: Unit,
    /// The least allowed.
    pub least: f64,
    /// The most allowed.
    pub most: f64,
}

/// What a field holds.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number.
    Number(Range),
    /// One of these words.
    Word(&'static [&'static str]),
    /// One of these words, one or all of which take a number.
    WordWithNumber(&'static [&'static str], Range),
    /// Text in quotation marks.
    Text,
    /// `true` or `false`.
    YesOrNo,
    /// The number of a cylinder.
    Cylinder,
    /// A part with fields of its own.
    Part,
    /// A list.
    List {
        /// What each item is.
        of: Items,
        /// Items at most.
        most: usize,
        /// What the items are called together.
        called: &'static str,
    },
}

/// What each item of a list is.
#[derive(Clone, Copy, Debug)]
pub enum Items {
    /// A number.
    Numbers(Range),
    /// The number of a cylinder.
    Cylinders,
    /// A part with fields of its own.
    Parts,
}

/// What holds where a field is left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Absent {
    /// It cannot be left out.
    Required,
    /// Nothing: no such part, an empty list, an empty text, a number not known.
    Nothing,
    /// This number.
    Value(f64),
    /// This word.
    Word(&'static str),
    /// What is worked out from other fields, as said here.
    WorkedOut(&'static str),
}

/// One field of a file.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Its path in the file; `[]` stands for any item of a list.
    pub path: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// What holds where it is left out.
    pub absent: Absent,
    /// What the editor calls it; blank where the editor shows its fields alone.
    pub label: &'static str,
    /// What it is; of a list of numbers, what each is.
    pub what: &'static str,
}

/// Cylinders at most.
pub const MOST_CYLINDERS: usize = 24;
/// Marks at most.
pub const MOST_MARKS: usize = 24;
pub(crate) const MOST_IDLERS: usize = 4;
/// Points of an advance curve at most.
const MOST_POINTS: usize = 100;
/// The builder's own lines for the sheet at most.
const MOST_STEPS: usize = 200;

use Absent::{Nothing, Required, Value, Word, WorkedOut};
use Items::{Cylinders, Numbers, Parts};
use Unit::{Count, Degrees, Kilopascals, Length, Rpm, Teeth, Torque};

/// Which way a shaft turns.
const DIRECTIONS: &[&str] = &["Clockwise", "CounterClockwise"];

/// Every field of a description, part by part.
#[rustfmt::skip]
pub static FIELDS: &[Field] = &[
    // The engine.
    number("format", (Count, 1.0, 1.0), Required, "", "the version of this format"),
    text("name", Required, "Name", "what the builder calls the engine"),
    text("notes", Nothing, "Notes", "anything worth keeping with it"),
    word("units", &["Millimetres", "Inches"], Word("Millimetres"), "Lengths in",
        "what the lengths are given in"),
    number("bore", (Length, 5.0, 2000.0), Required, "Bore", "the cylinder's bore"),
    number("rod_length", (Length, 5.0, 10_000.0), Required, "Rod, centre to centre",
        "the rod, centre to centre"),
    number("pin_offset", (Length, -100.0, 100.0), Value(0.0), "Gudgeon pin offset",
        "the gudgeon pin's offset"),
    number("pulley_diameter", (Length, 10.0, 10_000.0), Nothing, "Pulley diameter",
        "the pulley's diameter"),

    // The crankshaft.
    part("crankshaft", Required, "", "the crank and its throws"),
    word("crankshaft.rotation", DIRECTIONS, Word("Clockwise"), "Turns, from the front",
        "which way it runs, seen from the front"),
    number("crankshaft.stroke", (Length, 5.0, 4000.0), Required, "Stroke",
        "twice the throw radius"),
    list("crankshaft.throws", Parts, MOST_CYLINDERS, "throws", Required, "throw",
        "the throws, front to back"),
    number("crankshaft.throws[].angle", (Degrees, -360.0, 360.0), Required, "throw's angle",
        "the throw, clockwise from No. 1's"),
    list("crankshaft.throws[].cylinders", Cylinders, MOST_CYLINDERS, "cylinders", Required,
        "throw's cylinders", "the cylinders whose rods share it"),

    // Cylinders and firing.
    list("banks", Parts, MOST_CYLINDERS, "banks", Required, "bank", "the rows of cylinders"),
    number("banks[].angle", (Degrees, -360.0, 360.0), Required, "bank's angle",
        "the cylinders' axis, clock degrees from straight up"),
    list("banks[].cylinders", Cylinders, MOST_CYLINDERS, "cylinders", Required,
        "bank's cylinders", "its cylinders"),
    list("firing_order", Cylinders, MOST_CYLINDERS, "cylinders", Required, "Firing order",
        "the cylinders in the order they fire, No. 1 first"),
    list("firing_angles", numbers_of(Degrees, 0.0, 720.0), MOST_CYLINDERS, "firing angles",
        WorkedOut("each cylinder's first TDC after the firing before it"),
        "Firing angles given, where the order alone is ambiguous",
        "the crank angle at which a cylinder fires"),

    // The cam drive.
    part("cam_drive", Required, "", "what drives the camshaft"),
    word("cam_drive.kind", &["Gears", "Chain", "Belt"], Required, "Driven by",
        "gears, chain or belt"),
    number("cam_drive.crank_teeth", (Teeth, 6.0, 400.0), Required, "Crank's wheel",
        "teeth on the crank's wheel"),
    number("cam_drive.cam_teeth", (Teeth, 6.0, 400.0), Required, "Camshaft's wheel",
        "teeth on the camshaft's wheel"),
    list("cam_drive.idler_teeth", numbers_of(Teeth, 6.0, 400.0), MOST_IDLERS, "idler gears",
        Nothing, "Idlers, crank first", "teeth on the idler"),
    number("cam_drive.marks_meet_at", (Degrees, -720.0, 720.0), Value(0.0), "Marks meet at",
        "the crank angle at which the marks meet"),
    number("cam_drive.module", (Length, 0.1, 50.0), Nothing, "Module",
        "pitch diameter over teeth"),
    number("cam_drive.backlash", (Length, 0.0, 5.0), Nothing, "Backlash",
        "play at the pitch circle"),
    number("cam_drive.cam_at", (Degrees, -360.0, 360.0),
        WorkedOut("as its mark needs it, else beside the cylinders or in the valley of a wide vee"),
        "Camshaft lies at", "where the camshaft lies from the crankshaft"),

    // The valves.
    part("valves", Required, "", "the valve events"),
    part("valves.intake", Required, "", "the intake valve's events and lift"),
    number("valves.intake.opens_btdc", (Degrees, -180.0, 360.0), Required,
        "Intake opens, before TDC", "intake opening before TDC"),
    number("valves.intake.closes_abdc", (Degrees, -180.0, 360.0), Required,
        "Intake closes, after BDC", "intake closing after BDC"),
    number("valves.intake.lift", (Length, 0.1, 200.0), Required, "Intake lift",
        "full lift at the intake valve"),
    part("valves.exhaust", Required, "", "the exhaust valve's events and lift"),
    number("valves.exhaust.opens_bbdc", (Degrees, -180.0, 360.0), Required,
        "Exhaust opens, before BDC", "exhaust opening before BDC"),
    number("valves.exhaust.closes_atdc", (Degrees, -180.0, 360.0), Required,
        "Exhaust closes, after TDC", "exhaust closing after TDC"),
    number("valves.exhaust.lift", (Length, 0.1, 200.0), Required, "Exhaust lift",
        "full lift at the exhaust valve"),
    number("valves.quoted_at", (Length, 0.0, 50.0), Value(0.0), "Events quoted at a lift of",
        "the lift at which events are quoted"),
    word("valves.lobe", &["Polynomial"], Word("Polynomial"), "", "the lift law"),
    word("valves.gear", &["PushRod", "Overhead"],
        WorkedOut("overhead on a belt, or on a chain with one bank; else push rods"), "Valve gear",
        "how lobe and valve are joined"),

    // The distributor.
    part("distributor", Nothing, "The engine has a distributor", "the distributor"),
    word("distributor.driven_by", &["Camshaft", "Crankshaft"], Required, "Driven by",
        "the shaft that drives it"),
    number("distributor.driver_teeth", (Teeth, 6.0, 400.0), Required, "Teeth on that shaft",
        "teeth on the driving shaft"),
    number("distributor.driven_teeth", (Teeth, 6.0, 400.0), Required, "Teeth on the distributor",
        "teeth on the distributor's shaft"),
    word("distributor.coupling", &["Gear", "OffsetTongue", "CentralTongue"], Word("Gear"),
        "Takes hold by", "how the drive engages"),
    word("distributor.rotation", DIRECTIONS, Word("Clockwise"), "Rotor turns, from above",
        "which way the rotor turns, looking down on the cap"),
    number("distributor.number_one_at", (Degrees, -360.0, 360.0), Required, "No. 1's tower at",
        "No. 1's tower, clock degrees looking down on the cap"),
    number("distributor.offset", (Degrees, -180.0, 180.0), WorkedOut("half the static advance"),
        "Rotor past it at TDC", "rotor past No. 1's tower at its firing TDC"),
    number("distributor.turns_on_entry", (Degrees, -360.0, 360.0), Nothing,
        "Turns on going home", "rotor degrees gained as the drive slides home"),
    part("distributor.helix", Nothing, "Work that out from the drive's helix instead",
        "the helical drive, where `turns_on_entry` is to be worked out"),
    number("distributor.helix.angle", (Degrees, 0.0, 89.0), Required, "Helix angle",
        "the helix angle"),
    word("distributor.helix.hand", &["Right", "Left"], Required, "Hand of the helix",
        "a right-hand gear turns the rotor clockwise as it goes down"),
    number("distributor.helix.travel", (Length, 0.1, 500.0), Required, "Slides in mesh",
        "how far the drive slides in mesh"),
    number("distributor.helix.pitch_diameter", (Length, 1.0, 1000.0), Required,
        "Gear's pitch diameter", "pitch diameter of the distributor's gear"),
    number("distributor.body_range", (Degrees, 0.0, 180.0), Nothing, "Clamp lets it turn",
        "how far the clamp lets the body turn either way"),
    number("distributor.tip_width", (Degrees, 0.1, 90.0), Nothing, "Rotor tip's width",
        "the rotor tip, seen from the shaft"),
    number("distributor.tower_width", (Degrees, 0.1, 90.0), Nothing, "Tower's width",
        "the tower's electrode, seen from the shaft"),

    // The ignition.
    part("ignition", Required, "", "when the sparks come"),
    number("ignition.static_advance", (Degrees, -60.0, 90.0), Required, "Static advance",
        "advance at rest, before TDC"),
    list("ignition.centrifugal", Parts, MOST_POINTS, "points", Nothing, "centrifugal point",
        "the bob-weights' advance, by engine speed"),
    number("ignition.centrifugal[].rpm", (Rpm, 0.0, 30_000.0), Required, "engine speed",
        "engine speed"),
    number("ignition.centrifugal[].advance", (Degrees, -30.0, 90.0), Required,
        "centrifugal advance", "centrifugal advance"),
    list("ignition.vacuum", Parts, MOST_POINTS, "points", Nothing, "vacuum point",
        "the capsule's advance, by depression"),
    number("ignition.vacuum[].kpa", (Kilopascals, 0.0, 110.0), Required, "depression",
        "depression"),
    number("ignition.vacuum[].advance", (Degrees, -30.0, 90.0), Required, "vacuum advance",
        "vacuum advance"),

    // The clearance.
    part("clearance", Nothing, "Measured at TDC",
        "how far each valve could be pushed from its seat at TDC"),
    number("clearance.intake_drop", (Length, 0.01, 200.0), Required, "Intake could be pushed",
        "intake valve's drop to the piston at TDC"),
    number("clearance.exhaust_drop", (Length, 0.01, 200.0), Required, "Exhaust could be pushed",
        "exhaust valve's drop to the piston at TDC"),
    number("clearance.valve_angle", (Degrees, 0.0, 60.0), Value(0.0), "Valves lean by",
        "the valves' lean from the bore"),

    // The marks.
    list("marks", Parts, MOST_MARKS, "marks", Nothing, "mark", "the marks the builder can see"),
    field_of("marks[].on",
        Kind::WordWithNumber(
            &["Crankshaft", "Camshaft", "Idler"],
            Range { unit: Count, least: 1.0, most: MOST_IDLERS as f64 },
        ),
        Required, "", "the idler that carries the mark"),
    text("marks[].name", Required, "what it looks like", "what it looks like"),
    number("marks[].at", (Degrees, -360.0, 360.0), Required, "mark's place",
        "the mark's clock position at No. 1 firing TDC"),

    // The builder's own lines.
    list("steps", Parts, MOST_STEPS, "steps", Nothing, "line",
        "the builder's own lines for the assembly sheet"),
    text("steps[].do", Required, "what to do", "what to do"),
    field_of("steps[].torque",
        Kind::WordWithNumber(
            &["NewtonMetres", "PoundFeet"],
            Range { unit: Torque, least: 0.1, most: 10_000.0 },
        ),
        Nothing, "", "a tightening torque"),
];

/// A row of any kind.
pub(crate) const fn field_of(
    path: &'static str,
    kind: Kind,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    Field {
        path,
        kind,
        absent,
        label,
        what,
    }
}

/// A row for a number.
pub(crate) const fn number(
    path: &'static str,
    (unit, least, most): (Unit, f64, f64),
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    let range = Range { unit, least, most };
    field_of(path, Kind::Number(range), absent, label, what)
}

/// A row for a word.
pub(crate) const fn word(
    path: &'static str,
    words: &'static [&'static str],
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Word(words), absent, label, what)
}

/// A row for a list.
pub(crate) const fn list(
    path: &'static str,
    of: Items,
    most: usize,
    called: &'static str,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::List { of, most, called }, absent, label, what)
}

/// A row for a part.
pub(crate) const fn part(
    path: &'static str,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Part, absent, label, what)
}

const fn text(
    path: &'static str,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Text, absent, label, what)
}

const fn numbers_of(unit: Unit, least: f64, most: f64) -> Items {
    Numbers(Range { unit, least, most })
}

/// The row of a description's field by its path, such as `crankshaft.throws[].angle`; for an item
/// of a list that has no row of its own, the list's.
pub fn field(path: &str) -> Option<&'static Field> {
    find(FIELDS, path)
}

/// The row of a description's field by its place in a file, such as `crankshaft.throws[2].angle`.
pub fn field_at(place: &str) -> Option<&'static Field> {
    let mut path = String::with_capacity(place.len());
    let mut inside = false;
    for character in place.chars() {
        match character {
            '[' => inside = true,
            ']' => inside = false,
            _ if inside => continue,
            _ => {}
        }
        path.push(character);
    }
    field(&path)
}

/// The row of a path in any table.
pub(crate) fn find(fields: &'static [Field], path: &str) -> Option<&'static Field> {
    let path = path.strip_suffix("[]").unwrap_or(path);
    fields.iter().find(|field| field.path == path)
}

/// Every number of a description with its place in the file, in the file's units (torques in newton
/// metres); the numbers of cylinders are left out.
pub fn numbers(description: &Description) -> Vec<(String, f64)> {
    let mut numbers = Vec::new();
    description.walk(&mut Place::default(), &mut |place, item| {
        if let Item::Number(value) = item
            && field(&place.path).is_some_and(|field| field.range().is_some())
        {
            numbers.push((place.written.clone(), value));
        }
    });
    numbers
}

impl Field {
    /// The range of its number, or of each of its numbers, where it has any.
    pub fn range(&self) -> Option<&Range> {
        match &self.kind {
            Kind::Number(range)
            | Kind::WordWithNumber(_, range)
            | Kind::List {
                of: Numbers(range), ..
            } => Some(range),
            _ => None,
        }
    }
}

impl Range {
    /// The least allowed, in the file's units.
    pub fn least_in(&self, units: Units) -> f64 {
        self.in_units(self.least, units)
    }

    /// The most allowed, in the file's units.
    pub fn most_in(&self, units: Units) -> f64 {
        self.in_units(self.most, units)
    }

    fn in_units(&self, value: f64, units: Units) -> f64 {
        if self.unit == Length {
            value / units.millimetres()
        } else {
            value
        }
    }

    /// The unit's sign as it follows a number, blank where there is none.
    pub fn suffix(&self, units: Units) -> &'static str {
        match self.unit {
            Length if units == Units::Inches => " in",
            Length => " mm",
            Degrees => "°",
            Teeth => " teeth",
            Rpm => " rpm",
            Kilopascals => " kPa",
            Torque => " N·m",
            Count => "",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_once() {
        for (i, field) in FIELDS.iter().enumerate() {
            if let Some(range) = field.range() {
                assert!(range.least <= range.most, "{}", field.path);
            }
            assert!(
                FIELDS[..i].iter().all(|earlier| earlier.path != field.path),
                "{} stands twice",
                field.path
            );
        }
    }

    #[test]
    fn a_place_in_a_list_finds_its_row() {
        assert_eq!(
            field_at("crankshaft.throws[12].angle").map(|field| field.path),
            Some("crankshaft.throws[].angle")
        );
        assert_eq!(
            field_at("firing_angles[3]").map(|field| field.path),
            Some("firing_angles")
        );
        assert!(field_at("crankshaft.colour").is_none());
    }
}
