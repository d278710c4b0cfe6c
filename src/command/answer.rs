//! What a command answers, and why it could not.

use std::fmt;

use serde::Serialize;

use crate::engine::Subject;
use crate::output::terminal::TerminalStyle;
use crate::output::{self, json, text};
use crate::phasing::{Phasing, READING, Reading};
use crate::source::{Finding, Report};
use crate::words::{COLUMNS, counted, folded, visible, visible_lines};

/// How texts may be styled on the two standard streams.
#[derive(Clone, Copy, Debug, Default)]
pub struct Terminal {
    /// Standard output.
    pub out: TerminalStyle,
    /// Standard error.
    pub err: TerminalStyle,
}

/// The whole answer of a command.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// For standard output.
    pub out: Vec<u8>,
    /// For standard error, beside it.
    pub err: String,
    /// The answer means 'not right': exit 1.
    pub not_right: bool,
    /// Standard output gets a file, byte for byte.
    pub(super) is_file: bool,
}

impl Answer {
    /// A text that means all is well.
    pub(super) fn text(out: impl Into<String>) -> Self {
        Self {
            out: out.into().into_bytes(),
            ..Self::default()
        }
    }

    /// A file, byte for byte.
    pub(super) fn file(out: Vec<u8>) -> Self {
        Self {
            out,
            is_file: true,
            ..Self::default()
        }
    }

    /// One JSON document.
    pub(super) fn json<T: Serialize>(value: &T) -> Result<Self, Error> {
        json::document(value).map(Self::text).map_err(|error| {
            Error::line(
                format!("the answer cannot be written as JSON: {error}"),
                "leave out --json, and tell the makers of Dotwise",
            )
        })
    }

    /// The same with nothing unseen in its texts. Every answer leaves through here.
    pub(super) fn visible(self, terminal: Terminal) -> Self {
        let out = match str::from_utf8(&self.out) {
            Ok(text) if !self.is_file => visible_lines(text, terminal.out.colour)
                .into_owned()
                .into_bytes(),
            _ => self.out,
        };
        Self {
            out,
            err: visible_lines(&self.err, terminal.err.colour).into_owned(),
            ..self
        }
    }

    /// What is known about these subjects on an engine as built: as JSON where `json`, else as
    /// text, with what it rests on under it and, over it, whether valves meet pistons. Where they
    /// do the answer means 'not right'.
    pub(super) fn about<T: Serialize>(
        phasing: &Phasing,
        subjects: &[Subject],
        terminal: Terminal,
        json: bool,
        record: impl FnOnce() -> T,
        text: impl FnOnce() -> String,
    ) -> Result<Self, Error> {
        if json {
            let basis = json::Basis::of(phasing, subjects);
            let meets = phasing.valve_clearance().meets();
            return Ok(Self::json(&basis.under(record()))?.not_right(meets));
        }
        Ok(Self::text_about(phasing, subjects, terminal, text()))
    }

    /// The same as text.
    pub(super) fn text_about(
        phasing: &Phasing,
        subjects: &[Subject],
        terminal: Terminal,
        text: String,
    ) -> Self {
        let rests_on = phasing.engine().rests_on(subjects);
        let text = [
            text::as_built(phasing, terminal.out),
            text,
            text::rests_on(&rests_on, terminal.out),
        ];
        Self::text(text.concat()).not_right(phasing.valve_clearance().meets())
    }

    /// The same of an answer that needs no engine.
    pub(super) fn without_engine<T: Serialize>(
        rests_on: &[String],
        terminal: Terminal,
        json: bool,
        record: impl FnOnce() -> T,
        text: impl FnOnce() -> String,
    ) -> Result<Self, Error> {
        if json {
            let basis = json::Basis::without_engine(rests_on.to_vec());
            return Self::json(&basis.under(record()));
        }
        Ok(Self::text(text() + &text::rests_on(rests_on, terminal.out)))
    }

    /// One JSON document of readings.
    pub(super) fn readings(
        phasing: &Phasing,
        readings: impl Iterator<Item = Reading>,
    ) -> Result<Self, Error> {
        let readings: Vec<Reading> = readings.collect();
        let basis = json::Basis::of(phasing, READING);
        let records: Vec<_> = readings
            .iter()
            .map(|reading| basis.under(json::ReadingRecord::of(phasing, reading)))
            .collect();
        Ok(Self::json(&records)?.not_right(phasing.valve_clearance().meets()))
    }

    /// The same, meaning 'not right' where `wrong`.
    #[must_use]
    pub(super) fn not_right(self, wrong: bool) -> Self {
        Self {
            not_right: wrong || self.not_right,
            ..self
        }
    }
}

/// Why the input could not be used. Shown, it is the whole text for standard error, with its line
/// ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Error {
    text: String,
    what: String,
    fix: String,
    /// What was found in a text, where that is why.
    found: Option<Box<Found>>,
}

/// A text and what was found in it.
#[derive(Clone, Debug, PartialEq)]
struct Found {
    name: String,
    text: String,
    findings: Vec<Finding>,
    more: usize,
}

/// Why the input could not be used, for a program.
#[derive(Serialize)]
struct ErrorRecord<'a> {
    error: &'a str,
    fix: &'a str,
    findings: Vec<json::FindingRecord<'a>>,
    more_findings: usize,
}

impl Error {
    /// The same with nothing unseen in what is shown. Every refusal leaves through here.
    pub(super) fn visible(self, terminal: Terminal) -> Self {
        let text = visible_lines(&self.text, terminal.err.colour).into_owned();
        Self { text, ..self }
    }

    /// What is wrong, and what would put it right, each on lines of its own.
    pub(super) fn line(what: impl Into<String>, fix: impl Into<String>) -> Self {
        let (what, fix) = (what.into(), fix.into());
        let line = |text: &str, first: &str, rest: &str| {
            folded(&visible(text), first, rest, COLUMNS) + "\n"
        };
        Self {
            text: line(&what, "dotwise: ", "  ") + &line(&fix, "  fix: ", "    "),
            what,
            fix,
            found: None,
        }
    }

    /// A text that cannot be used for what was found in it; `more` findings there were, and `shown`
    /// all of them.
    pub(super) fn in_text(report: &Report<'_>, more: usize, shown: String) -> Self {
        let (name, count) = (report.source, report.findings.len() + more);
        let (what, fix) = match report.findings {
            [one] if more == 0 => (format!("{name}: {}", one.message), one.fix.clone()),
            _ => (
                format!("{name}: {}", counted(count, "error", "errors")),
                "correct each as its finding says".to_owned(),
            ),
        };
        Self {
            text: shown,
            what,
            fix,
            found: Some(Box::new(Found {
                name: name.to_owned(),
                text: report.text.to_owned(),
                findings: report.findings.to_vec(),
                more,
            })),
        }
    }

    /// The same, each finding told on a line and not where it stands in the text: what is wrong is
    /// not written there.
    pub(super) fn beside_the_text(self) -> Self {
        let findings = self.found.iter().flat_map(|found| &found.findings);
        let lines = findings.map(|finding| {
            Self::line(
                format!("{}: {}", finding.place, finding.message),
                &finding.fix,
            )
            .text
        });
        Self {
            text: lines.collect(),
            ..self
        }
    }

    /// For a program, as one JSON document.
    pub fn document(&self) -> String {
        let found = self.found.as_deref();
        let record = ErrorRecord {
            error: &self.what,
            fix: &self.fix,
            findings: found.map_or_else(Vec::new, |found| {
                json::findings(&Report {
                    source: &found.name,
                    text: &found.text,
                    findings: &found.findings,
                })
            }),
            more_findings: found.map_or(0, |found| found.more),
        };
        // Texts and numbers have their JSON.
        json::document(&record).unwrap_or_default()
    }
}

impl fmt::Display for Error {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.text)
    }
}

impl std::error::Error for Error {}

impl From<output::Error> for Error {
    fn from(error: output::Error) -> Self {
        Self::line(error.to_string(), error.remedy())
    }
}
