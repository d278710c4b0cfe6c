//! Readings for a program: as JSON. Lengths are millimetres, angles degrees.

use serde::Serialize;

use crate::phasing::{CylinderReading, NextEvent, Phasing, Reading, RotorReading};
use crate::source::{Finding, Report};

/// A number without the rounding of the last few bits, and without a negative zero.
pub fn rounded(value: f64) -> f64 {
    const PLACES: f64 = 1e9;
    let tidied = (value * PLACES).round() / PLACES;
    if tidied == 0.0 { 0.0 } else { tidied }
}

/// A whole JSON document with a newline at its end.
///
/// # Errors
/// Where a value has no JSON; none of ours has such.
pub fn document<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(value).map(|text| text + "\n")
}

#[derive(Serialize)]
struct Cylinder {
    number: u8,
    phase_deg: f64,
    stroke: &'static str,
    dead_centre: Option<&'static str>,
    piston_drop_mm: f64,
    intake_lift_mm: f64,
    exhaust_lift_mm: f64,
    intake_open: bool,
    exhaust_open: bool,
    sealed: bool,
}

impl Cylinder {
    fn of(cylinder: &CylinderReading) -> Self {
        Self {
            number: cylinder.number,
            phase_deg: rounded(cylinder.phase.degrees()),
            stroke: cylinder.stroke.word(),
            dead_centre: cylinder.dead_centre.map(crate::phasing::DeadCentre::key),
            piston_drop_mm: rounded(cylinder.piston_drop_mm),
            intake_lift_mm: rounded(cylinder.intake.lift_mm),
            exhaust_lift_mm: rounded(cylinder.exhaust.lift_mm),
            intake_open: cylinder.intake.open,
            exhaust_open: cylinder.exhaust.open,
            sealed: cylinder.sealed(),
        }
    }
}

#[derive(Serialize)]
struct Next {
    cylinder: u8,
    in_deg: f64,
}

impl Next {
    fn of(coming: NextEvent) -> Self {
        Self {
            cylinder: coming.cylinder,
            in_deg: rounded(coming.after.degrees()),
        }
    }
}

#[derive(Serialize)]
struct Rotor {
    clock_deg: f64,
    tower: u8,
    past_deg: f64,
}

impl Rotor {
    fn of(rotor: &RotorReading) -> Self {
        Self {
            clock_deg: rounded(rotor.clock.degrees()),
            tower: rotor.tower,
            past_deg: rounded(rotor.past_deg),
        }
    }
}

#[derive(Serialize)]
struct Mark<'a> {
    name: &'a str,
    clock_deg: f64,
}

/// A reading as `at --json` and `table --json` give it.
#[derive(Serialize)]
pub struct ReadingRecord<'a> {
    engine: &'a str,
    crank_deg: f64,
    cam_deg: f64,
    cylinders: Vec<Cylinder>,
    on_compression: Vec<u8>,
    next_firing_tdc: Next,
    next_spark: Next,
    rotor: Option<Rotor>,
    marks: Vec<Mark<'a>>,
}

impl<'a> ReadingRecord<'a> {
    /// The record of a reading of this phasing.
    pub fn of(phasing: &'a Phasing, reading: &Reading) -> Self {
        let names = phasing
            .engine()
            .written()
            .marks
            .iter()
            .map(|mark| mark.name.as_str());
        Self {
            engine: phasing.engine().name(),
            crank_deg: rounded(reading.crank.degrees()),
            cam_deg: rounded(reading.cam.degrees()),
            cylinders: reading.cylinders.iter().map(Cylinder::of).collect(),
            on_compression: reading.on_compression().collect(),
            next_firing_tdc: Next::of(reading.next_firing_tdc),
            next_spark: Next::of(reading.next_spark),
            rotor: reading.rotor.as_ref().map(Rotor::of),
            marks: names
                .zip(&reading.marks)
                .map(|(name, clock)| Mark {
                    name,
                    clock_deg: rounded(clock.degrees()),
                })
                .collect(),
        }
    }
}

/// A finding with its place in the text.
#[derive(Serialize)]
pub(crate) struct FindingRecord<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    line: Option<usize>,
    column: Option<usize>,
    text: Option<&'a str>,
}

/// The findings of a report.
pub(crate) fn findings<'a>(report: &Report<'a>) -> Vec<FindingRecord<'a>> {
    report
        .findings
        .iter()
        .map(|finding| {
            let (line, column) = report.line_and_column(finding).unzip();
            let text = finding.span.clone().and_then(|span| report.text.get(span));
            FindingRecord {
                finding,
                line,
                column,
                text,
            }
        })
        .collect()
}
