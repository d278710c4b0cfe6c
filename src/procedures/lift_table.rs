//! A table of lifts read with a degree wheel and a dial: a file of rows, as a spreadsheet saves it.
//!
//! The first row names the columns, in any order: the crank's degrees, the intake's lift, the
//! exhaust's, or one of these two. Degrees count from No. 1's overlap TDC, negative before it; a
//! heading with the word `firing` says that they count from its firing TDC, 0 to 720. A heading may
//! say the unit of its lifts, `(mm)`, `(in)` or `(thou)`; without one they are in the description's.
//! Columns are parted by semicolons, tabs or commas, whichever the first row has; between semicolons
//! or tabs a decimal comma is read as a point. A line that begins with `#` is passed over.
//!
//! The rows are split here and not by the package `csv`: it tells where a record stands in a file,
//! and not where a field does, which every finding has to point at.

use std::ops::Range;

use crate::laws::APART_DEG;
use crate::source::{Fault, Finding, faults};
use crate::words::{Units, closest, counted, degrees, number, visible};

faults! {
    /// What is wrong with a table of lifts.
    pub enum TableFault {
        NoHeading, NoCrankColumn, NoLiftColumn, ColumnTwice, UnknownColumn, UnknownUnit,
        OtherDegrees, NotANumber, OutOfRange, TooManyValues, DoesNotRise, NoCrankAngle, NoReading,
        TooManyRows, TooFewReadings, GapTooWide, NotFromTheSeat, NoLobe, LobeElsewhere,
    }
}

/// Rows at most: two turns of the crank by a third of a degree.
const MOST_ROWS: usize = 2160;
/// A dial that was set to 0 on the base circle reads less by no more than this: common practice, no
/// source.
const LEAST_LIFT_MM: f64 = -0.5;

/// One lift, as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftReading {
    /// The line of the file, counted from 1.
    pub line: usize,
    /// The cylinder's phase: 0 at firing TDC, 360 at overlap TDC.
    pub phase_deg: f64,
    /// Where the description's lifts are measured.
    pub lift_mm: f64,
}

/// The readings of a table, each valve's in rising degrees.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LiftTable {
    /// The intake valve's; none where it has no column.
    pub intake: Option<Vec<LiftReading>>,
    /// The exhaust valve's.
    pub exhaust: Option<Vec<LiftReading>>,
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Column {
    /// Crank degrees, so far from firing TDC at their 0.
    Crank {
        from_deg: f64,
    },
    Intake {
        millimetres: f64,
    },
    Exhaust {
        millimetres: f64,
    },
    /// Remarks.
    PassedOver,
    /// What a finding was made of.
    Unknown,
}

impl Column {
    fn name(self) -> &'static str {
        match self {
            Self::Crank { .. } => "crank degrees",
            Self::Intake { .. } => "intake lift",
            Self::Exhaust { .. } => "exhaust lift",
            Self::PassedOver | Self::Unknown => "remarks",
        }
    }

    fn is_like(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }
}

/// A value of a row, and its bytes in the text.
#[derive(Clone, Debug, PartialEq)]
struct Cell<'a> {
    text: &'a str,
    span: Range<usize>,
}

/// Reads a table. Lifts without a unit are in `units`; none is more than `most_mm`.
///
/// # Errors
/// Everything found, in the order of the text.
pub fn read(text: &str, units: Units, most_mm: f64) -> Result<LiftTable, Vec<Finding>> {
    let mut lines = rows(text);
    let Some((_, heading)) = lines.next() else {
        return Err(vec![
            Finding::error(TableFault::NoHeading, "")
                .message("the table is empty")
                .why("its first row says which column is which")
                .fix(START_LIKE_THIS)
                .at(0..0),
        ]);
    };
    let parted_by = parted_by(heading.text);
    let cells = split(&heading, parted_by);
    let mut findings = Vec::new();
    let columns: Vec<Column> = cells
        .iter()
        .map(|cell| {
            column(cell, units).unwrap_or_else(|finding| {
                findings.push(*finding);
                Column::Unknown
            })
        })
        .collect();
    findings.extend(missing_or_twice(&columns, &cells, &heading));
    if !findings.is_empty() {
        return Err(findings);
    }
    let rows: Vec<_> = lines.collect();
    if let Some((_, beyond)) = rows.get(MOST_ROWS) {
        return Err(vec![
            Finding::error(TableFault::TooManyRows, "")
                .message(format!(
                    "{} rows of readings; at most {MOST_ROWS} are read",
                    rows.len()
                ))
                .why("more say nothing more of a lobe")
                .fix("leave rows out: one every 2° to 5° is plenty")
                .at(beyond.span.clone()),
        ]);
    }
    let mut reader = RowReader {
        columns: &columns,
        decimal_comma: parted_by != ',',
        units,
        most_mm,
        before: None,
        table: LiftTable {
            intake: columns
                .iter()
                .any(|column| matches!(column, Column::Intake { .. }))
                .then(Vec::new),
            exhaust: columns
                .iter()
                .any(|column| matches!(column, Column::Exhaust { .. }))
                .then(Vec::new),
        },
        findings,
    };
    for (line, row) in &rows {
        reader.row(*line, row, &split(row, parted_by));
    }
    if rows.is_empty() {
        reader.findings.push(
            Finding::error(TableFault::NoReading, "")
                .message("there is a heading and no row of readings under it")
                .why("a lobe is drawn through its readings")
                .fix("write a row for each crank angle that was read")
                .at(heading.span),
        );
    }
    if reader.findings.is_empty() {
        Ok(reader.table)
    } else {
        Err(reader.findings)
    }
}

const START_LIKE_THIS: &str =
    "begin with a row such as: crank (deg after overlap TDC), intake lift (mm), exhaust lift (mm)";

/// The lines that hold something, each with its number, without the blanks at its ends.
fn rows(text: &str) -> impl Iterator<Item = (usize, Cell<'_>)> {
    let mut at = 0;
    text.split_inclusive('\n')
        .enumerate()
        .map(move |(index, line)| {
            let start = at + (line.len() - line.trim_start().len());
            at += line.len();
            let text = line.trim();
            let span = start..start + text.len();
            (index + 1, Cell { text, span })
        })
        .filter(|(_, line)| !line.text.is_empty() && !line.text.starts_with('#'))
}

/// What parts the columns of a table that begins with this row.
fn parted_by(heading: &str) -> char {
    [';', '\t']
        .into_iter()
        .find(|mark| heading.contains(*mark))
        .unwrap_or(',')
}

/// The values of a row: what stands in quotation marks is one, whatever it holds.
fn split<'a>(row: &Cell<'a>, parted_by: char) -> Vec<Cell<'a>> {
    let mut quoted = false;
    let pieces = row.text.split(|letter: char| {
        quoted ^= letter == '"';
        letter == parted_by && !quoted
    });
    let mut at = row.span.start;
    pieces
        .map(|piece| {
            let bare = piece.trim_matches(|letter: char| letter.is_whitespace() || letter == '"');
            let lead = piece.find(bare).unwrap_or(0);
            let start = at + lead;
            at += piece.len() + parted_by.len_utf8();
            Cell {
                text: bare,
                span: start..start + bare.len(),
            }
        })
        .collect()
}

/// What a heading says.
fn column(cell: &Cell, units: Units) -> Result<Column, Box<Finding>> {
    let small = cell.text.to_lowercase();
    let words: Vec<&str> = small
        .split(|letter: char| !letter.is_alphanumeric() && letter != '°')
        .filter(|word| !word.is_empty())
        .collect();
    let has = |wanted: &[&str]| words.iter().any(|word| wanted.contains(word));
    let found = |fault, message: String| {
        Finding::error(fault, "heading")
            .message(message)
            .at(cell.span.clone())
    };
    let quoted = visible(cell.text);
    let (intake, exhaust) = (has(&["intake", "inlet"]), has(&["exhaust"]));
    if intake || exhaust {
        if intake && exhaust {
            return Err(Box::new(
                found(
                    TableFault::UnknownColumn,
                    format!("`{quoted}` names both valves"),
                )
                .why("each valve's lifts have a column of their own")
                .fix("name one column `intake lift`, the other `exhaust lift`"),
            ));
        }
        let millimetres = unit_of(&small, &words, units).ok_or_else(|| {
            found(TableFault::UnknownUnit, format!("`{quoted}` is in a unit that is not known"))
                .why("a lift in the wrong unit is another lobe")
                .fix("write (mm), (in) or (thou) after the column's name, or nothing for the description's own unit")
        })?;
        return Ok(if intake {
            Column::Intake { millimetres }
        } else {
            Column::Exhaust { millimetres }
        });
    }
    if has(&[
        "crank",
        "crankshaft",
        "degree",
        "degrees",
        "deg",
        "angle",
        "wheel",
        "°",
        "cam",
    ]) {
        if has(&["cam", "camshaft"]) && !has(&["crank", "crankshaft"])
            || has(&["before", "btdc", "rad", "radians"])
        {
            return Err(Box::new(
                found(
                    TableFault::OtherDegrees,
                    format!("`{quoted}`: crank degrees after TDC are wanted"),
                )
                .why(
                    "degrees of the cam are half as many, and degrees before TDC run the other way",
                )
                .fix("write crank degrees after No. 1's overlap TDC, negative before it"),
            ));
        }
        let from_deg = if has(&["firing", "compression"]) {
            0.0
        } else {
            360.0
        };
        return Ok(Column::Crank { from_deg });
    }
    let is_remark = |word: &&str| word.starts_with("note") || word.starts_with("remark");
    if words.is_empty() || words.iter().any(is_remark) {
        return Ok(Column::PassedOver);
    }
    let meant = words
        .iter()
        .find_map(|word| closest(word, &["crank", "intake", "inlet", "exhaust", "degrees"]));
    let fix = meant.map_or_else(
        || {
            "name it `crank`, `intake lift` or `exhaust lift`, or `notes` to have it passed over"
                .to_owned()
        },
        |meant| format!("`{meant}` was probably meant"),
    );
    Err(Box::new(
        found(
            TableFault::UnknownColumn,
            format!("a column `{quoted}` is not known"),
        )
        .why("what is not known could be one of the valves' lifts, spelt otherwise")
        .fix(fix),
    ))
}

/// Millimetres in the unit of a heading's lifts; None where it is none that is known.
fn unit_of(heading: &str, words: &[&str], units: Units) -> Option<f64> {
    let millimetres = |word: &str| match word {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Some(1.0),
        "in" | "inch" | "inches" => Some(25.4),
        "thou" | "thousandths" | "mil" | "mils" => Some(0.0254),
        _ => None,
    };
    let bracketed = heading
        .split_once(['(', '['])
        .and_then(|(_, after)| after.split([')', ']']).next());
    match bracketed {
        Some(inside) => millimetres(inside.trim()),
        None => words
            .last()
            .and_then(|last| millimetres(last))
            .or_else(|| Some(units.millimetres())),
    }
}

/// Columns that are not there, or are there twice.
fn missing_or_twice(columns: &[Column], cells: &[Cell], heading: &Cell) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (index, (column, cell)) in columns.iter().zip(cells).enumerate() {
        let is_read = !matches!(column, Column::PassedOver | Column::Unknown);
        if is_read
            && columns
                .iter()
                .take(index)
                .any(|before| before.is_like(*column))
        {
            findings.push(
                Finding::error(TableFault::ColumnTwice, "heading")
                    .message(format!("two columns of {}", column.name()))
                    .why("only one of them can be right")
                    .fix("leave one out, or name it `notes`")
                    .at(cell.span.clone()),
            );
        }
    }
    if columns.contains(&Column::Unknown) {
        return findings;
    }
    let is_crank = |column: &Column| matches!(column, Column::Crank { .. });
    let is_lift =
        |column: &Column| matches!(column, Column::Intake { .. } | Column::Exhaust { .. });
    for (there, fault, message, why) in [
        (
            columns.iter().any(is_crank),
            TableFault::NoCrankColumn,
            "no column of crank degrees",
            "a lift says nothing without the angle it was read at",
        ),
        (
            columns.iter().any(is_lift),
            TableFault::NoLiftColumn,
            "no column of lifts",
            "a lobe is drawn through its lifts",
        ),
    ] {
        if !there {
            findings.push(
                Finding::error(fault, "heading")
                    .message(message)
                    .why(why)
                    .fix(START_LIKE_THIS)
                    .at(heading.span.clone()),
            );
        }
    }
    findings
}

/// Reads rows one after the other.
struct RowReader<'a> {
    columns: &'a [Column],
    decimal_comma: bool,
    units: Units,
    most_mm: f64,
    /// The degrees of the row before, as written, and its line.
    before: Option<(f64, usize)>,
    table: LiftTable,
    findings: Vec<Finding>,
}

impl RowReader<'_> {
    fn row(&mut self, line: usize, row: &Cell, cells: &[Cell]) {
        let filled = cells.iter().rposition(|cell| !cell.text.is_empty());
        let count = filled.map_or(0, |last| last + 1);
        if count > self.columns.len() {
            let fix = if self.decimal_comma {
                "give every value a column that the first row names"
            } else {
                "write decimals with a point, or part the columns by semicolons"
            };
            self.findings.push(
                Finding::error(TableFault::TooManyValues, format!("line {line}"))
                    .message(format!(
                        "{count} values; the first row names {}",
                        counted(self.columns.len(), "column", "columns")
                    ))
                    .why("with one value too many nobody knows which is which")
                    .fix(fix)
                    .at(row.span.clone()),
            );
            return;
        }
        let mut crank = None;
        let mut lifts = [None; 2];
        let columns = self.columns;
        for (column, cell) in columns.iter().zip(cells) {
            match *column {
                Column::Crank { from_deg } => {
                    let (least, most) = if from_deg == 0.0 {
                        (0.0, 720.0)
                    } else {
                        (-360.0, 360.0)
                    };
                    let read = self.number(line, *column, cell, (least, most), 1.0);
                    crank = read.map(|deg| (deg, deg + from_deg));
                    if let Some(deg) = read {
                        self.rises(line, cell, deg);
                    }
                    if cell.text.is_empty() {
                        self.no_crank_angle(line, row);
                    }
                }
                Column::Intake { millimetres } => {
                    lifts[0] = self.lift(line, *column, cell, millimetres);
                }
                Column::Exhaust { millimetres } => {
                    lifts[1] = self.lift(line, *column, cell, millimetres);
                }
                Column::PassedOver | Column::Unknown => {}
            }
        }
        let crank_at = columns
            .iter()
            .position(|column| matches!(column, Column::Crank { .. }));
        if crank_at.is_some_and(|at| at >= cells.len()) {
            self.no_crank_angle(line, row);
        }
        let Some((_, phase_deg)) = crank else {
            return;
        };
        let [intake, exhaust] = lifts;
        for (valve, lift) in [
            (&mut self.table.intake, intake),
            (&mut self.table.exhaust, exhaust),
        ] {
            if let (Some(readings), Some(lift_mm)) = (valve, lift) {
                readings.push(LiftReading {
                    line,
                    phase_deg,
                    lift_mm,
                });
            }
        }
    }

    fn lift(&mut self, line: usize, column: Column, cell: &Cell, millimetres: f64) -> Option<f64> {
        let range = (LEAST_LIFT_MM / millimetres, self.most_mm / millimetres);
        let read = self.number(line, column, cell, range, millimetres)?;
        Some(read * millimetres)
    }

    /// The number of a cell, where one is read there and it is in its range.
    fn number(
        &mut self,
        line: usize,
        column: Column,
        cell: &Cell,
        (least, most): (f64, f64),
        millimetres: f64,
    ) -> Option<f64> {
        if matches!(cell.text, "" | "-" | "–" | "—") {
            return None;
        }
        let place = format!("line {line}, {}", column.name());
        let is_crank = matches!(column, Column::Crank { .. });
        let mut plain = cell.text.replace('\u{2212}', "-");
        if is_crank {
            plain = plain.trim_end_matches(['°', ' ']).to_owned();
        }
        if self.decimal_comma && !plain.contains('.') {
            plain = plain.replacen(',', ".", 1);
        }
        let is_plain = |letter: char| letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+');
        let value = plain
            .chars()
            .all(is_plain)
            .then(|| plain.parse::<f64>().ok())
            .flatten();
        let unit = if is_crank {
            "°"
        } else if millimetres == 1.0 {
            " mm"
        } else if millimetres == 25.4 {
            " in"
        } else {
            " thou"
        };
        let Some(value) = value else {
            let shown: String = visible(cell.text).chars().take(40).collect();
            self.findings.push(
                Finding::error(TableFault::NotANumber, place)
                    .message(format!("`{shown}` is not a number"))
                    .why("a reading is a plain number")
                    .fix("write digits and one point, as in 4.53; leave the place empty where nothing was read")
                    .at(cell.span.clone()),
            );
            return None;
        };
        if (least..=most).contains(&value) {
            return Some(value);
        }
        let (why, fix) = if is_crank && most == 360.0 {
            (
                "degrees count from No. 1's overlap TDC, negative before it".to_owned(),
                "count so, or write `crank (deg after firing TDC)` where they count from firing TDC"
                    .to_owned(),
            )
        } else if is_crank {
            (
                "degrees count from No. 1's firing TDC, over two turns".to_owned(),
                "count so, or from overlap TDC with that word in the heading".to_owned(),
            )
        } else {
            let given = number(self.most_mm / self.units.millimetres(), 3);
            (
                format!(
                    "no valve lifts farther than its cylinder is wide ({given} {})",
                    self.units.short()
                ),
                "look for the point, and for the unit in the heading".to_owned(),
            )
        };
        self.findings.push(
            Finding::error(TableFault::OutOfRange, place)
                .message(format!(
                    "{}{unit}; {}{unit} to {}{unit} is allowed",
                    number(value, 3),
                    number(least, 3),
                    number(most, 3)
                ))
                .why(why)
                .fix(fix)
                .at(cell.span.clone()),
        );
        None
    }

    fn rises(&mut self, line: usize, cell: &Cell, deg: f64) {
        if let Some((before, there)) = self.before
            && deg - before < APART_DEG
        {
            self.findings.push(
                Finding::error(
                    TableFault::DoesNotRise,
                    format!("line {line}, crank degrees"),
                )
                .message(format!(
                    "{} comes after {} on line {there}; rows go on in rising degrees",
                    degrees(deg),
                    degrees(before)
                ))
                .why("one of the two is mistyped, or a row stands in another's place")
                .fix("read both again, and put the rows in order")
                .at(cell.span.clone()),
            );
        }
        self.before = Some((deg, line));
    }

    fn no_crank_angle(&mut self, line: usize, row: &Cell) {
        self.findings.push(
            Finding::error(TableFault::NoCrankAngle, format!("line {line}"))
                .message("no crank degrees in this row")
                .why("a lift says nothing without the angle it was read at")
                .fix("write the degrees, or leave the row out")
                .at(row.span.clone()),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(line: usize, phase_deg: f64, lift_mm: f64) -> LiftReading {
        LiftReading {
            line,
            phase_deg,
            lift_mm,
        }
    }

    fn names(text: &str) -> Vec<&'static str> {
        let found = read(text, Units::Millimetres, 82.0).expect_err("something");
        found.iter().map(|finding| finding.name).collect()
    }

    #[test]
    fn columns_in_any_order_and_parted_by_any_mark_are_the_same_table() {
        let plain = "crank,intake lift,exhaust lift\n-10,0.12,1\n-5,0.3,\n";
        let wanted = LiftTable {
            intake: Some(vec![reading(2, 350.0, 0.12), reading(3, 355.0, 0.3)]),
            exhaust: Some(vec![reading(2, 350.0, 1.0)]),
        };
        for text in [
            plain,
            "\n# at the bench\n",
            "Exhaust lift (mm); crank (deg after overlap TDC); Inlet (mm)\r\n1; −10°; 0,12\r\n; -5; 0,3\r\n",
            "crank\tnotes\tintake_lift_mm\texhaust mm\n-10\tslow\t0.12\t1\n-5\t\t.3",
            "\"crank, degrees\",\"intake, lift\",exhaust\n\"-10\",\"0.12\",1\n-5,0.3,-\n",
            "crank degrees after firing TDC,intake,exhaust\n350,0.12,1.0\n355,0.30\n",
        ] {
            if text.contains('#') {
                let commented = text.to_owned() + plain;
                let lines = |table: LiftTable| table.intake.expect("a column").len();
                let table = read(&commented, Units::Millimetres, 82.0).expect("a table");
                assert_eq!(lines(table), 2);
            } else {
                let table = read(text, Units::Millimetres, 82.0);
                assert_eq!(table.as_ref(), Ok(&wanted), "{text}");
            }
        }
    }

    #[test]
    fn lifts_are_in_the_unit_of_their_heading_or_else_in_the_descriptions() {
        for (heading, units, wanted) in [
            ("intake", Units::Millimetres, 2.0),
            ("intake", Units::Inches, 50.8),
            ("intake (mm)", Units::Inches, 2.0),
            ("intake lift (in)", Units::Millimetres, 50.8),
            ("intake lift in", Units::Millimetres, 50.8),
            ("intake lift [thou]", Units::Millimetres, 0.0508),
        ] {
            let table = read(&format!("crank,{heading}\n0,2\n"), units, 82.0).expect(heading);
            let lift = table.intake.expect("a column")[0].lift_mm;
            assert!((lift - wanted).abs() < 1e-12, "{heading}: {lift}");
        }
    }

    #[test]
    fn everything_wrong_is_found_at_once_and_points_at_its_value() {
        let text = "crank,intake,exhaust\n-10,0.1,O.4\n-20,900,0\n1,2,3,4\nx,1,1\n,2,2\n500,0,0\n";
        let found = read(text, Units::Millimetres, 82.0).expect_err("something");
        let told: Vec<(&str, &str)> = found
            .iter()
            .map(|finding| (finding.name, &text[finding.span.clone().expect("a place")]))
            .collect();
        assert_eq!(
            told,
            [
                ("NotANumber", "O.4"),
                ("DoesNotRise", "-20"),
                ("OutOfRange", "900"),
                ("TooManyValues", "1,2,3,4"),
                ("NotANumber", "x"),
                ("NoCrankAngle", ",2,2"),
                ("OutOfRange", "500"),
            ]
        );
        for finding in &found {
            assert!(!finding.why.is_empty() && !finding.fix.is_empty());
        }
    }

    #[test]
    fn a_heading_that_says_too_little_or_something_else_is_refused() {
        for (text, wanted) in [
            ("", &["NoHeading"][..]),
            ("crank,intake\n", &["NoReading"]),
            ("-10,0.1\n", &["UnknownColumn", "UnknownColumn"]),
            ("intake,exhaust\n1,2\n", &["NoCrankColumn"]),
            ("crank,notes\n1,2\n", &["NoLiftColumn"]),
            ("crank,intake,intake\n", &["ColumnTwice"]),
            ("crank,intak\n", &["UnknownColumn"]),
            ("crank,intake (cm)\n", &["UnknownUnit"]),
            ("cam degrees,intake\n", &["OtherDegrees"]),
            ("crank BTDC,intake\n", &["OtherDegrees"]),
            ("crank,intake and exhaust\n", &["UnknownColumn"]),
        ] {
            assert_eq!(names(text), wanted, "{text:?}");
        }
        let long = "crank,intake\n".to_owned() + &"1,2\n".repeat(MOST_ROWS + 1);
        assert_eq!(names(&long), ["TooManyRows"]);
    }

    #[test]
    fn what_reads_as_a_number_elsewhere_and_is_none_is_refused() {
        for value in ["inf", "NaN", "1e3", "0x10", "1.2.3", "--1", "1 2"] {
            let text = format!("crank,intake\n0,{value}\n");
            assert_eq!(names(&text), ["NotANumber"], "{value}");
        }
        // With semicolons only one comma is a decimal one.
        assert_eq!(names("crank;intake\n0;1,2,3\n"), ["NotANumber"]);
        assert_eq!(names("crank;intake\n0;1.2,3\n"), ["NotANumber"]);
    }
}
