//! The legal range of every number in a description, each once.
//!
//! A row feeds the check, its message, the editor's field and the tests. Lengths are in millimetres
//! here; a file in inches is held to the same lengths. The ends are generous (a model engine, a
//! ship's engine): they keep out slips of the pen, not unusual engines.

use super::Description;
use crate::words::Units;

/// What a number counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A length, in the file's units in the file and in millimetres in the row.
    Length,
    /// Degrees.
    Degrees,
    /// Teeth on a wheel.
    Teeth,
    /// Turns a minute.
    Rpm,
    /// Kilopascals.
    Kilopascals,
    /// Torque, in newton metres in the row.
    Torque,
    /// A bare count.
    Count,
}

/// The legal range of one number.
#[derive(Clone, Copy, Debug)]
pub struct Bound {
    /// Its place in the file; `[]` stands for any item of a list.
    pub field: &'static str,
    /// What it counts.
    pub unit: Unit,
    /// The least allowed.
    pub least: f64,
    /// The most allowed.
    pub most: f64,
    /// What the number is, in a builder's words.
    pub what: &'static str,
}

const fn row(field: &'static str, unit: Unit, least: f64, most: f64, what: &'static str) -> Bound {
    Bound {
        field,
        unit,
        least,
        most,
        what,
    }
}

/// Cylinders at most.
pub const MOST_CYLINDERS: usize = 24;
/// Marks at most.
pub const MOST_MARKS: usize = 24;
/// Idler gears at most.
pub const MOST_IDLERS: usize = 4;

/// Points of an advance curve at most.
pub const MOST_POINTS: usize = 100;
/// The builder's own lines for the sheet at most.
pub const MOST_STEPS: usize = 200;

use Unit::{Count, Degrees, Kilopascals, Length, Rpm, Teeth, Torque};

/// Every row.
pub const BOUNDS: [Bound; 45] = [
    row("format", Count, 1.0, 1.0, "the version of this format"),
    row(
        "crankshaft.stroke",
        Length,
        5.0,
        4000.0,
        "twice the throw radius",
    ),
    row(
        "crankshaft.throws[].angle",
        Degrees,
        -360.0,
        360.0,
        "the throw, clockwise from No. 1's",
    ),
    row(
        "banks[].angle",
        Degrees,
        -360.0,
        360.0,
        "the cylinders' axis, clock degrees from straight up",
    ),
    row("bore", Length, 5.0, 2000.0, "the cylinder's bore"),
    row(
        "rod_length",
        Length,
        5.0,
        10_000.0,
        "the rod, centre to centre",
    ),
    row(
        "pin_offset",
        Length,
        -100.0,
        100.0,
        "the gudgeon pin's offset",
    ),
    row(
        "firing_angles[]",
        Degrees,
        0.0,
        720.0,
        "the crank angle at which a cylinder fires",
    ),
    row(
        "cam_drive.crank_teeth",
        Teeth,
        6.0,
        400.0,
        "teeth on the crank's wheel",
    ),
    row(
        "cam_drive.cam_teeth",
        Teeth,
        6.0,
        400.0,
        "teeth on the camshaft's wheel",
    ),
    row(
        "cam_drive.idler_teeth[]",
        Teeth,
        6.0,
        400.0,
        "teeth on the idler",
    ),
    row(
        "cam_drive.marks_meet_at",
        Degrees,
        -720.0,
        720.0,
        "the crank angle at which the marks meet",
    ),
    row(
        "cam_drive.module",
        Length,
        0.1,
        50.0,
        "pitch diameter over teeth",
    ),
    row(
        "cam_drive.backlash",
        Length,
        0.0,
        5.0,
        "play at the pitch circle",
    ),
    row(
        "cam_drive.cam_at",
        Degrees,
        -360.0,
        360.0,
        "where the camshaft lies from the crankshaft",
    ),
    row(
        "valves.intake.opens_btdc",
        Degrees,
        -180.0,
        360.0,
        "intake opening before TDC",
    ),
    row(
        "valves.intake.closes_abdc",
        Degrees,
        -180.0,
        360.0,
        "intake closing after BDC",
    ),
    row(
        "valves.intake.lift",
        Length,
        0.1,
        200.0,
        "full lift at the intake valve",
    ),
    row(
        "valves.exhaust.opens_bbdc",
        Degrees,
        -180.0,
        360.0,
        "exhaust opening before BDC",
    ),
    row(
        "valves.exhaust.closes_atdc",
        Degrees,
        -180.0,
        360.0,
        "exhaust closing after TDC",
    ),
    row(
        "valves.exhaust.lift",
        Length,
        0.1,
        200.0,
        "full lift at the exhaust valve",
    ),
    row(
        "valves.quoted_at",
        Length,
        0.0,
        50.0,
        "the lift at which events are quoted",
    ),
    row(
        "distributor.driver_teeth",
        Teeth,
        6.0,
        400.0,
        "teeth on the driving shaft",
    ),
    row(
        "distributor.driven_teeth",
        Teeth,
        6.0,
        400.0,
        "teeth on the distributor's shaft",
    ),
    row(
        "distributor.number_one_at",
        Degrees,
        -360.0,
        360.0,
        "No. 1's tower, clock degrees looking down on the cap",
    ),
    row(
        "distributor.offset",
        Degrees,
        -180.0,
        180.0,
        "rotor past No. 1's tower at its firing TDC",
    ),
    row(
        "distributor.turns_on_entry",
        Degrees,
        -360.0,
        360.0,
        "rotor degrees gained as the drive slides home",
    ),
    row(
        "distributor.helix.angle",
        Degrees,
        0.0,
        89.0,
        "the helix angle",
    ),
    row(
        "distributor.helix.travel",
        Length,
        0.1,
        500.0,
        "how far the drive slides in mesh",
    ),
    row(
        "distributor.helix.pitch_diameter",
        Length,
        1.0,
        1000.0,
        "pitch diameter of the distributor's gear",
    ),
    row(
        "distributor.body_range",
        Degrees,
        0.0,
        180.0,
        "how far the clamp lets the body turn either way",
    ),
    row(
        "distributor.tip_width",
        Degrees,
        0.1,
        90.0,
        "the rotor tip, seen from the shaft",
    ),
    row(
        "distributor.tower_width",
        Degrees,
        0.1,
        90.0,
        "the tower's electrode, seen from the shaft",
    ),
    row(
        "ignition.static_advance",
        Degrees,
        -60.0,
        90.0,
        "advance at rest, before TDC",
    ),
    row(
        "ignition.centrifugal[].rpm",
        Rpm,
        0.0,
        30_000.0,
        "engine speed",
    ),
    row(
        "ignition.centrifugal[].advance",
        Degrees,
        -30.0,
        90.0,
        "centrifugal advance",
    ),
    row(
        "ignition.vacuum[].kpa",
        Kilopascals,
        0.0,
        110.0,
        "depression",
    ),
    row(
        "ignition.vacuum[].advance",
        Degrees,
        -30.0,
        90.0,
        "vacuum advance",
    ),
    row(
        "clearance.intake_drop",
        Length,
        0.01,
        200.0,
        "intake valve's drop to the piston at TDC",
    ),
    row(
        "clearance.exhaust_drop",
        Length,
        0.01,
        200.0,
        "exhaust valve's drop to the piston at TDC",
    ),
    row(
        "clearance.valve_angle",
        Degrees,
        0.0,
        60.0,
        "the valves' lean from the bore",
    ),
    row(
        "marks[].at",
        Degrees,
        -360.0,
        360.0,
        "the mark's clock position at No. 1 firing TDC",
    ),
    row(
        "pulley_diameter",
        Length,
        10.0,
        10_000.0,
        "the pulley's diameter",
    ),
    row(
        "steps[].torque",
        Torque,
        0.1,
        10_000.0,
        "a tightening torque",
    ),
    row(
        "marks[].on",
        Count,
        1.0,
        4.0,
        "the idler that carries the mark",
    ),
];

/// The row for a place in the file, such as `crankshaft.throws[2].angle`.
pub fn bound_of(place: &str) -> Option<&'static Bound> {
    let mut field = String::with_capacity(place.len());
    let mut inside = false;
    for character in place.chars() {
        match character {
            '[' => inside = true,
            ']' => inside = false,
            _ if inside => continue,
            _ => {}
        }
        field.push(character);
    }
    BOUNDS.iter().find(|bound| bound.field == field)
}

impl Bound {
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

/// Every number of a description with its place in the file, in the file's units (torques in newton
/// metres).
pub fn numbers(description: &Description) -> Vec<(String, f64)> {
    let d = description;
    let mut numbers: Vec<(String, f64)> = vec![("format".into(), f64::from(d.format))];
    let mut put = |place: &str, value: f64| numbers.push((place.to_owned(), value));
    put("crankshaft.stroke", d.crankshaft.stroke);
    for (i, throw) in d.crankshaft.throws.iter().enumerate() {
        put(&format!("crankshaft.throws[{i}].angle"), throw.angle);
    }
    for (i, bank) in d.banks.iter().enumerate() {
        put(&format!("banks[{i}].angle"), bank.angle);
    }
    put("bore", d.bore);
    put("rod_length", d.rod_length);
    put("pin_offset", d.pin_offset);
    for (i, angle) in d.firing_angles.iter().flatten().enumerate() {
        put(&format!("firing_angles[{i}]"), *angle);
    }
    let drive = &d.cam_drive;
    put("cam_drive.crank_teeth", f64::from(drive.crank_teeth));
    put("cam_drive.cam_teeth", f64::from(drive.cam_teeth));
    for (i, teeth) in drive.idler_teeth.iter().enumerate() {
        put(&format!("cam_drive.idler_teeth[{i}]"), f64::from(*teeth));
    }
    put("cam_drive.marks_meet_at", drive.marks_meet_at);
    let optional = [
        ("cam_drive.module", drive.module),
        ("cam_drive.backlash", drive.backlash),
        ("cam_drive.cam_at", drive.cam_at),
    ];
    optional
        .iter()
        .for_each(|(place, value)| value.iter().for_each(|value| put(place, *value)));
    put("valves.intake.opens_btdc", d.valves.intake.opens_btdc);
    put("valves.intake.closes_abdc", d.valves.intake.closes_abdc);
    put("valves.intake.lift", d.valves.intake.lift);
    put("valves.exhaust.opens_bbdc", d.valves.exhaust.opens_bbdc);
    put("valves.exhaust.closes_atdc", d.valves.exhaust.closes_atdc);
    put("valves.exhaust.lift", d.valves.exhaust.lift);
    put("valves.quoted_at", d.valves.quoted_at);
    if let Some(distributor) = &d.distributor {
        put(
            "distributor.driver_teeth",
            f64::from(distributor.driver_teeth),
        );
        put(
            "distributor.driven_teeth",
            f64::from(distributor.driven_teeth),
        );
        put("distributor.number_one_at", distributor.number_one_at);
        let optional = [
            ("distributor.offset", distributor.offset),
            ("distributor.turns_on_entry", distributor.turns_on_entry),
            ("distributor.body_range", distributor.body_range),
            ("distributor.tip_width", distributor.tip_width),
            ("distributor.tower_width", distributor.tower_width),
        ];
        optional
            .iter()
            .for_each(|(place, value)| value.iter().for_each(|value| put(place, *value)));
        if let Some(helix) = &distributor.helix {
            put("distributor.helix.angle", helix.angle);
            put("distributor.helix.travel", helix.travel);
            put("distributor.helix.pitch_diameter", helix.pitch_diameter);
        }
    }
    put("ignition.static_advance", d.ignition.static_advance);
    for (i, point) in d.ignition.centrifugal.iter().enumerate() {
        put(&format!("ignition.centrifugal[{i}].rpm"), point.rpm);
        put(&format!("ignition.centrifugal[{i}].advance"), point.advance);
    }
    for (i, point) in d.ignition.vacuum.iter().enumerate() {
        put(&format!("ignition.vacuum[{i}].kpa"), point.kpa);
        put(&format!("ignition.vacuum[{i}].advance"), point.advance);
    }
    if let Some(clearance) = &d.clearance {
        put("clearance.intake_drop", clearance.intake_drop);
        put("clearance.exhaust_drop", clearance.exhaust_drop);
        put("clearance.valve_angle", clearance.valve_angle);
    }
    for (i, mark) in d.marks.iter().enumerate() {
        put(&format!("marks[{i}].at"), mark.at);
        if let super::MarkOn::Idler(which) = mark.on {
            put(&format!("marks[{i}].on"), f64::from(which));
        }
    }
    d.pulley_diameter
        .iter()
        .for_each(|diameter| put("pulley_diameter", *diameter));
    for (i, step) in d.steps.iter().enumerate() {
        step.torque
            .iter()
            .for_each(|torque| put(&format!("steps[{i}].torque"), torque.newton_metres()));
    }
    numbers
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_once() {
        for (i, bound) in BOUNDS.iter().enumerate() {
            assert!(bound.least <= bound.most, "{}", bound.field);
            assert!(
                BOUNDS[..i]
                    .iter()
                    .all(|earlier| earlier.field != bound.field),
                "{} stands twice",
                bound.field
            );
        }
    }

    #[test]
    fn a_place_in_a_list_finds_its_row() {
        assert_eq!(
            bound_of("crankshaft.throws[12].angle").map(|bound| bound.field),
            Some("crankshaft.throws[].angle")
        );
        assert!(bound_of("crankshaft.colour").is_none());
    }
}
