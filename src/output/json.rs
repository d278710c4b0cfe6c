//! Readings for a program: as JSON. Lengths are millimetres, angles degrees.

use serde::Serialize;

use crate::angle::{CamAngle, Clock, CrankAngle};
use crate::phasing::{CylinderReading, NextEvent, Phasing, Reading, RotorReading};
use crate::source::{Finding, Report};

/// A whole JSON document with a newline at its end.
///
/// # Errors
/// Where a value has no JSON; none of ours has such.
pub fn document<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(value).map(|text| text + "\n")
}

#[derive(Serialize)]
struct Mark<'a> {
    name: &'a str,
    clock_deg: Clock,
}

/// A reading with the names of its engine and marks, which the phasing knows.
#[derive(Serialize)]
pub struct ReadingRecord<'a> {
    engine: &'a str,
    crank_deg: CrankAngle,
    cam_deg: CamAngle,
    cylinders: &'a [CylinderReading],
    on_compression: Vec<u8>,
    next_firing_tdc: NextEvent,
    next_spark: NextEvent,
    rotor: Option<RotorReading>,
    marks: Vec<Mark<'a>>,
}

impl<'a> ReadingRecord<'a> {
    /// The record of a reading of this phasing.
    pub fn of(phasing: &'a Phasing, reading: &'a Reading) -> Self {
        let marks = phasing.engine().written().marks.iter();
        Self {
            engine: phasing.engine().name(),
            crank_deg: reading.crank,
            cam_deg: reading.cam,
            cylinders: &reading.cylinders,
            on_compression: reading.on_compression().collect(),
            next_firing_tdc: reading.next_firing_tdc,
            next_spark: reading.next_spark,
            rotor: reading.rotor,
            marks: marks
                .zip(&reading.marks)
                .map(|(mark, &clock_deg)| Mark {
                    name: &mark.name,
                    clock_deg,
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
