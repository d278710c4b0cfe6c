//! Readings for a program: as JSON. Lengths are millimetres, angles degrees.

use std::io::{self, BufWriter, Write};

use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter};

use crate::angle::{CamAngle, Clock, CrankAngle, rounded};
use crate::description::Coupling;
use crate::engine::{Assembly, Engine, Subject};
use crate::laws::gear_train::CamTeeth;
use crate::phasing::{CylinderReading, NextEvent, NextSpark, Phasing, Reading, RotorReading};
use crate::source::{Finding, Report};
use crate::words::is_unseen;

/// A whole JSON document with a newline at its end.
///
/// # Errors
/// Where a value has no JSON; none of ours has such.
pub fn document<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    text(value, PrettyFormatter::new()).map(|text| text + "\n")
}

/// The same on one line, without a newline.
///
/// # Errors
/// Where a value has no JSON.
pub(crate) fn compact<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    text(value, CompactFormatter)
}

fn text<T: Serialize>(value: &T, layout: impl Formatter) -> Result<String, serde_json::Error> {
    let mut bytes = Vec::new();
    value.serialize(&mut Serializer::with_formatter(&mut bytes, Visible(layout)))?;
    // serde_json writes text and nothing else.
    Ok(String::from_utf8(bytes).unwrap_or_default())
}

/// A layout of JSON with whatever would not be seen in its texts as `\u` and a number: it says the
/// same, and can be shown.
struct Visible<F>(F);

impl<F: Formatter> Formatter for Visible<F> {
    fn write_string_fragment<W: ?Sized + Write>(
        &mut self,
        to: &mut W,
        fragment: &str,
    ) -> io::Result<()> {
        let mut rest = fragment;
        while let Some(at) = rest.find(is_unseen) {
            let (seen, unseen) = rest.split_at(at);
            to.write_all(seen.as_bytes())?;
            let mut letters = unseen.chars();
            for unit in letters.next().iter().flat_map(|letter| {
                let mut units = [0; 2];
                letter.encode_utf16(&mut units).to_vec()
            }) {
                write!(to, "\\u{unit:04x}")?;
            }
            rest = letters.as_str();
        }
        to.write_all(rest.as_bytes())
    }

    fn begin_array<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.begin_array(to)
    }

    fn end_array<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.end_array(to)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, to: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(to, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.end_array_value(to)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.begin_object(to)
    }

    fn end_object<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.end_object(to)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, to: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(to, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.begin_object_value(to)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, to: &mut W) -> io::Result<()> {
        self.0.end_object_value(to)
    }
}

/// Writes a whole JSON document with a newline at its end, as it is worked out.
///
/// # Errors
/// Where the system will not take it.
pub fn stream<T: Serialize>(value: &T, to: impl Write) -> io::Result<()> {
    let mut to = BufWriter::new(to);
    let layout = Visible(PrettyFormatter::new());
    value.serialize(&mut Serializer::with_formatter(&mut to, layout))?;
    to.write_all(b"\n")?;
    to.flush()
}

/// What answers about an engine as built rest on.
#[derive(Clone, Debug, Serialize)]
pub struct Basis {
    /// Whether the valves keep clear of the pistons: `enough`, `too_little`, `meets` or
    /// `not_known`.
    #[serde(skip_serializing_if = "Option::is_none")]
    valve_clearance: Option<&'static str>,
    /// What they take for granted, a sentence each.
    rests_on: Vec<String>,
}

impl Basis {
    /// What answers about these subjects rest on.
    pub fn of(phasing: &Phasing, subjects: &[Subject]) -> Self {
        Self {
            valve_clearance: Some(phasing.valve_clearance().word()),
            rests_on: phasing.engine().rests_on(subjects),
        }
    }

    /// What an answer that needs no engine rests on.
    pub fn without_engine(rests_on: Vec<String>) -> Self {
        Self {
            valve_clearance: None,
            rests_on,
        }
    }

    /// An answer with what it rests on.
    pub fn under<T: Serialize>(&self, answer: T) -> Resting<'_, T> {
        Resting {
            answer,
            basis: self,
        }
    }
}

/// An answer with what it rests on.
#[derive(Serialize)]
pub struct Resting<'a, T> {
    #[serde(flatten)]
    answer: T,
    #[serde(flatten)]
    basis: &'a Basis,
}

#[derive(Serialize)]
struct Mark<'a> {
    name: &'a str,
    clock_deg: Clock,
    #[serde(skip_serializing_if = "Option::is_none")]
    pointer_clock_deg: Option<Clock>,
    #[serde(skip_serializing_if = "Option::is_none")]
    past_pointer_deg: Option<f64>,
}

#[derive(Serialize)]
struct Camshaft<'a> {
    name: &'a str,
    cam_deg: CamAngle,
}

/// Each camshaft by its name, where there are several.
fn camshafts<'a>(phasing: &'a Phasing, reading: &Reading) -> Vec<Camshaft<'a>> {
    if !phasing.engine().has_several_camshafts() {
        return Vec::new();
    }
    let names = phasing.engine().camshaft_names();
    names
        .zip(&reading.cams)
        .map(|(name, &cam_deg)| Camshaft { name, cam_deg })
        .collect()
}

/// Teeth out of each camshaft by its name, where there are several.
pub(crate) fn cam_teeth_by_name(
    engine: &Engine,
    cams: CamTeeth,
) -> Option<serde_json::Map<String, serde_json::Value>> {
    engine.has_several_camshafts().then(|| {
        let names = engine.camshaft_names().enumerate();
        names
            .map(|(camshaft, name)| (name.to_owned(), cams.of(camshaft).into()))
            .collect()
    })
}

/// Whether the tongue went home half a turn out; None where none on this engine can.
pub(crate) fn tongue_half_turn(engine: &Engine, assembly: &Assembly) -> Option<bool> {
    let distributor = engine.metric().distributor.as_ref()?;
    let can = distributor.is_on_geared_shaft() && distributor.coupling() == Coupling::CentralTongue;
    can.then_some(assembly.tongue_half_turn)
}

/// A reading with the names of its engine and marks, which the phasing knows.
#[derive(Serialize)]
pub struct ReadingRecord<'a> {
    engine: &'a str,
    crank_deg: CrankAngle,
    cam_deg: CamAngle,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    camshafts: Vec<Camshaft<'a>>,
    cylinders: &'a [CylinderReading],
    on_compression: Vec<u8>,
    next_firing_tdc: NextEvent,
    next_spark: NextSpark,
    rotor: Option<RotorReading>,
    /// The second ignition's, where the engine has two and this is about the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    second_ignition: Option<SecondIgnition>,
    marks: Vec<Mark<'a>>,
}

/// What the second of two ignitions does next.
#[derive(Clone, Debug, Serialize)]
struct SecondIgnition {
    next_spark: NextSpark,
    rotor: Option<RotorReading>,
}

impl<'a> ReadingRecord<'a> {
    /// The record of a reading of this phasing.
    pub fn of(phasing: &'a Phasing, reading: &'a Reading) -> Self {
        let marks = phasing.engine().written().marks.iter();
        Self {
            engine: phasing.engine().name(),
            crank_deg: reading.crank,
            cam_deg: reading.cam,
            camshafts: camshafts(phasing, reading),
            cylinders: &reading.cylinders,
            on_compression: reading.on_compression().collect(),
            next_firing_tdc: reading.next_firing_tdc,
            next_spark: reading.next_spark,
            rotor: reading.rotor,
            second_ignition: phasing.by_second_ignition().map(|second| {
                let reading = second.at(reading.crank);
                SecondIgnition {
                    next_spark: reading.next_spark,
                    rotor: reading.rotor,
                }
            }),
            marks: marks
                .zip(&reading.marks)
                .enumerate()
                .map(|(index, (mark, &clock_deg))| Mark {
                    name: &mark.name,
                    clock_deg,
                    pointer_clock_deg: mark.pointer_at().map(Clock::new),
                    past_pointer_deg: phasing.past_pointer_deg(index, reading).map(rounded),
                })
                .collect(),
        }
    }
}

/// Bytes of the text that a finding carries at most; its line and column say where the rest is.
const LONGEST_TEXT: usize = 200;

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
            let text = text.map(|text| &text[..text.floor_char_boundary(LONGEST_TEXT)]);
            FindingRecord {
                finding,
                line,
                column,
                text,
            }
        })
        .collect()
}
