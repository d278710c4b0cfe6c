//! `dotwise fields`: every field of a description, what it is and how it is found on an engine.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use crate::description::fields::{Absent, FIELDS, Field, Items, Kind, Range, Unit};
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::words::{Units, closest, joined, number};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A part of a description, such as `valves`, or one field, such as `valves.intake.lift`.
    #[arg(value_name = "PART")]
    part: Option<String>,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// A field, for a program. What does not belong to its kind is null.
#[derive(Serialize)]
struct FieldRecord {
    path: &'static str,
    holds: &'static str,
    unit: Option<&'static str>,
    least: Option<f64>,
    most: Option<f64>,
    /// Of a length, whose range is in millimetres.
    least_in: Option<f64>,
    most_in: Option<f64>,
    words: &'static [&'static str],
    items_at_most: Option<usize>,
    characters_at_most: Option<usize>,
    required: bool,
    default: Option<String>,
    what: &'static str,
    found: &'static str,
}

impl FieldRecord {
    fn of(field: &Field) -> Self {
        let range = field.range();
        let inches = range.filter(|range| range.unit == Unit::Length);
        let (holds, words, items_at_most, characters_at_most): (_, &[&str], _, _) = match field.kind
        {
            Kind::Number(_) => ("number", &[], None, None),
            Kind::Word(words) => ("word", words, None, None),
            Kind::WordWithNumber(words, _) => ("word_with_number", words, None, None),
            Kind::Text { most } => ("text", &[], None, Some(most)),
            Kind::YesOrNo => ("yes_or_no", &[], None, None),
            Kind::Cylinder => ("cylinder", &[], None, None),
            Kind::Part => ("part", &[], None, None),
            Kind::List { of, most, .. } => (
                match of {
                    Items::Numbers(_) => "list_of_numbers",
                    Items::Cylinders => "list_of_cylinders",
                    Items::Words(_) => "list_of_words",
                    Items::Lists => "list_of_lists",
                    Items::Parts => "list_of_parts",
                },
                match of {
                    Items::Words(words) => words,
                    Items::Numbers(_) | Items::Cylinders | Items::Parts | Items::Lists => &[],
                },
                Some(most),
                None,
            ),
        };
        Self {
            path: field.path,
            holds,
            unit: range
                .map(|range| range.suffix(Units::Millimetres).trim())
                .filter(|unit| !unit.is_empty()),
            least: range.map(|range| range.least),
            most: range.map(|range| range.most),
            least_in: inches.map(|range| range.least_in(Units::Inches)),
            most_in: inches.map(|range| range.most_in(Units::Inches)),
            words,
            items_at_most,
            characters_at_most,
            required: field.absent == Absent::Required,
            default: default(field),
            what: field.what,
            found: field.found,
        }
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let fields = match &self.part {
            None => FIELDS.iter().collect(),
            Some(part) => part_of(part)?,
        };
        if self.json {
            let records: Vec<_> = fields.into_iter().map(FieldRecord::of).collect();
            return Answer::json(&records);
        }
        Ok(Answer::text(text(&fields, terminal.out)))
    }
}

/// A path as it is asked for: without the numbers of items.
fn bare(path: &str) -> String {
    let pieces = path.trim().split('[');
    pieces
        .map(|piece| piece.split_once(']').map_or(piece, |(_, rest)| rest))
        .collect()
}

/// The field of that path and those within it.
fn part_of(part: &str) -> Result<Vec<&'static Field>, Error> {
    let wanted = bare(part);
    let within = format!("{wanted}.");
    let fields: Vec<&Field> = FIELDS
        .iter()
        .filter(|field| {
            let path = bare(field.path);
            path == wanted || path.starts_with(&within)
        })
        .collect();
    if !fields.is_empty() {
        return Ok(fields);
    }
    let fix = nearest(&wanted).map_or_else(
        || "`dotwise fields` lists them all".to_owned(),
        |path| format!("`{path}` was probably meant; `dotwise fields` lists them all"),
    );
    Err(Error::line(format!("{part}: there is no such field"), fix))
}

/// The path that was probably meant: the likest, or the first whose last name is the likest.
fn nearest(wanted: &str) -> Option<String> {
    let paths: Vec<String> = FIELDS.iter().map(|field| bare(field.path)).collect();
    let last = |path: &str| path.rsplit('.').next().unwrap_or_default().to_owned();
    let names: Vec<String> = paths.iter().map(|path| last(path)).collect();
    let borrowed = |texts: &[String], wanted: &str| {
        let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
        closest(wanted, &texts).map(str::to_owned)
    };
    borrowed(&paths, wanted).or_else(|| {
        let name = borrowed(&names, &last(wanted))?;
        paths.into_iter().find(|path| last(path) == name)
    })
}

fn text(fields: &[&Field], style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    for (index, field) in fields.iter().enumerate() {
        if index > 0 {
            out.line("");
        }
        out.headline(field.path);
        let mut row = |name: &str, text: &str| {
            out.hanging(text, &format!("  {name:<9} "), "            ");
        };
        row("what", field.what);
        row("holds", &holds(field));
        let left_out = match field.absent {
            Absent::Required => "not allowed".to_owned(),
            Absent::Nothing => "nothing is taken in its place".to_owned(),
            Absent::Value(_) | Absent::Word(_) | Absent::WorkedOut(_) => {
                format!("{} is taken", default(field).unwrap_or_default())
            }
        };
        row("left out", &left_out);
        row("found", field.found);
    }
    out.finish()
}

/// What is taken where it is left out.
fn default(field: &Field) -> Option<String> {
    match field.absent {
        Absent::Required | Absent::Nothing => None,
        Absent::Value(value) => {
            let degrees = field.range().filter(|range| range.unit == Unit::Degrees);
            let unit = degrees.map_or("", |range| range.suffix(Units::Millimetres));
            Some(number(value, 4) + unit)
        }
        Absent::Word(word) => Some(word.to_owned()),
        Absent::WorkedOut(how) => Some(how.to_owned()),
    }
}

/// What may stand there.
fn holds(field: &Field) -> String {
    let one_of = |words: &[&str]| {
        let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
        joined(&quoted, ", ")
    };
    match field.kind {
        Kind::Number(range) => allowed(range),
        Kind::Word(words) => format!("one of {}", one_of(words)),
        Kind::WordWithNumber(words, range) => format!(
            "one of {}; with a number in brackets where it takes one, {}",
            one_of(words),
            allowed(range)
        ),
        Kind::Text { most } => format!("text in quotation marks, {most} characters at most"),
        Kind::YesOrNo => "`true` or `false`".to_owned(),
        Kind::Cylinder => "the number of a cylinder".to_owned(),
        Kind::Part => "a part in brackets, with the fields below".to_owned(),
        Kind::List { of, most, called } => {
            let each = match of {
                Items::Numbers(range) => format!("each {}", allowed(range)),
                Items::Cylinders => "by their numbers".to_owned(),
                Items::Words(words) => format!("each one of {}", one_of(words)),
                Items::Lists => "each a list of its own, as below".to_owned(),
                Items::Parts => "each in brackets, with the fields below".to_owned(),
            };
            format!("a list of {called}, {most} at most, {each}")
        }
    }
}

/// A number's range, of a length in both units.
fn allowed(range: Range) -> String {
    let within = |units: Units| {
        let unit = range.suffix(units);
        let (least, most) = (range.least_in(units), range.most_in(units));
        if least == most {
            return format!("{}{unit} and nothing else", number(least, 4));
        }
        format!("{}{unit} to {}{unit}", number(least, 4), number(most, 4))
    };
    match range.unit {
        Unit::Length => format!(
            "a length, {} ({})",
            within(Units::Millimetres),
            within(Units::Inches)
        ),
        _ => within(Units::Millimetres),
    }
}
