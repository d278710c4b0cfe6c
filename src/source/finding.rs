//! What is wrong with a description, where, why it matters, and what would put it right.
//!
//! Every check answers with findings, all at once. A finding knows its *place*
//! (`valves.intake.lift`), which the text resolves to a line and column and the window to the field
//! it stands beside.

#![expect(
    clippy::indexing_slicing,
    reason = "two counts, asked for by a yes or no"
)]

use std::fmt::Write as _;
use std::ops::Range;

use codespan_reporting::diagnostic::{Diagnostic, Label};
use codespan_reporting::term::{self, Config, DisplayStyle};
use serde::Serialize;

use super::quoted_line::QuotedLine;
use crate::words::{COLUMNS, folded, visible};

/// What the mark that is put before a note leaves of 80 columns.
const NOTE_COLUMNS: usize = 72;

/// Whether the file can be used in spite of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Usable, but look again.
    Warning,
    /// The file cannot be used.
    Error,
}

/// The faults that one part of the program looks for, by their names. The macro `faults!` writes
/// the list and the names from one row, and a [`Finding`] takes no other name: so a test can ask
/// for all.
pub trait Fault: Copy + Sized + 'static {
    /// Every one of them.
    const ALL: &'static [Self];

    /// Its name, such as `RotorMissesTower`.
    fn name(self) -> &'static str;
}

/// An enum of faults, to be written where [`Fault`] is imported: its names, once each.
macro_rules! faults {
    ($(#[$about:meta])* $seen:vis enum $faults:ident { $($fault:ident),* $(,)? }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[allow(missing_docs, reason = "the message of its finding says what each is")]
        $seen enum $faults { $($fault),* }

        impl Fault for $faults {
            const ALL: &'static [Self] = &[$(Self::$fault),*];

            fn name(self) -> &'static str {
                match self { $(Self::$fault => stringify!($fault)),* }
            }
        }
    };
}

pub(crate) use faults;

faults! {
    /// What is wrong with a text, whatever it describes.
    pub enum TextFault {
        FileTooLarge, NestedTooDeep, NotRon, WrongKind, DecimalComma, UnknownField, UnknownWord,
        MissingField, FieldTwice,
    }
}

/// Findings told of one text at most. Whoever has these to mend starts with them.
pub const MOST_FINDINGS: usize = 50;

/// Keeps the first [`MOST_FINDINGS`], errors before warnings, in the order they stand in; gives how
/// many more there were.
pub(crate) fn keep_first(findings: &mut Vec<Finding>) -> usize {
    let more = findings.len().saturating_sub(MOST_FINDINGS);
    if more > 0 {
        let errors = findings.iter().filter(|finding| finding.is_error()).count();
        let mut room = [
            MOST_FINDINGS.min(errors),
            MOST_FINDINGS.saturating_sub(errors),
        ];
        findings.retain(|finding| {
            let room = &mut room[usize::from(!finding.is_error())];
            let kept = *room > 0;
            *room -= usize::from(kept);
            kept
        });
    }
    more
}

/// One thing found wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Whether the file can still be used.
    pub severity: Severity,
    /// The fault's own name, such as `RotorMissesTower`.
    pub name: &'static str,
    /// Where in the description: `crankshaft.throws[1].angle`; empty for the file as a whole.
    pub place: String,
    /// What is wrong: the value, and what is allowed.
    pub message: String,
    /// Why it matters on the engine.
    pub why: String,
    /// What would put it right.
    #[serde(rename = "mend")]
    pub fix: String,
    /// Bytes of the text it points at, where there is a text.
    #[serde(skip)]
    pub span: Option<Range<usize>>,
}

impl Finding {
    /// A finding that makes the file unusable.
    pub fn error(fault: impl Fault, place: impl Into<String>) -> Self {
        Self::new(Severity::Error, fault.name(), place.into())
    }

    /// A finding that asks for a second look.
    pub fn warning(fault: impl Fault, place: impl Into<String>) -> Self {
        Self::new(Severity::Warning, fault.name(), place.into())
    }

    fn new(severity: Severity, name: &'static str, place: String) -> Self {
        Self {
            severity,
            name,
            place,
            message: String::new(),
            why: String::new(),
            fix: String::new(),
            span: None,
        }
    }

    /// What is wrong.
    #[must_use]
    pub fn message(mut self, message: impl Into<String>) -> Self {
        self.message = message.into();
        self
    }

    /// Why it matters.
    #[must_use]
    pub fn why(mut self, why: impl Into<String>) -> Self {
        self.why = why.into();
        self
    }

    /// What would put it right.
    #[must_use]
    pub fn fix(mut self, fix: impl Into<String>) -> Self {
        self.fix = fix.into();
        self
    }

    /// The bytes of the text it points at.
    #[must_use]
    pub fn at(mut self, span: Range<usize>) -> Self {
        self.span = Some(span);
        self
    }

    /// Whether it makes the file unusable.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }

    /// `marked`: where what it points at stands in the line that is shown.
    fn diagnostic(&self, marked: Option<&Range<usize>>) -> Diagnostic<()> {
        let (diagnostic, severity) = match self.severity {
            Severity::Error => (Diagnostic::error(), "error"),
            Severity::Warning => (Diagnostic::warning(), "warning"),
        };
        let before = format!("{severity}[{}]: ", self.name);
        let message = folded(&visible(&self.message), &before, "  ", COLUMNS);
        let mut notes = Vec::new();
        if !self.why.is_empty() {
            notes.push(format!("why: {}", self.why));
        }
        if !self.fix.is_empty() {
            notes.push(format!("fix: {}", self.fix));
        }
        diagnostic
            .with_code(self.name)
            .with_message(message.strip_prefix(&before).unwrap_or(&message))
            .with_labels(
                marked
                    .map(|marked| Label::primary((), marked.clone()))
                    .into_iter()
                    .collect(),
            )
            .with_notes(
                notes
                    .iter()
                    .map(|note| folded(&visible(note), "", "  ", NOTE_COLUMNS))
                    .collect(),
            )
    }
}

/// A text and everything found in it, ready to be shown.
#[derive(Clone, Debug)]
pub struct Report<'a> {
    /// What to call the text: a path, a scene's name, `standard input`.
    pub source: &'a str,
    /// The text itself.
    pub text: &'a str,
    /// What was found.
    pub findings: &'a [Finding],
}

impl Report<'_> {
    /// The findings with the lines they point at, for a terminal of 80 columns; `colour` adds ANSI
    /// colours.
    pub fn to_terminal(&self, colour: bool) -> String {
        let config = Config {
            display_style: DisplayStyle::Rich,
            ..Config::default()
        };
        let mut out = String::new();
        for finding in self.findings {
            let span = finding.span.as_ref();
            let line = QuotedLine::of(self.source, self.text, span.unwrap_or(&(0..0)));
            let diagnostic = finding.diagnostic(span.map(|_| &line.marked));
            let rendered = if colour {
                let mut buffer = term::termcolor::Buffer::ansi();
                term::emit_to_write_style(&mut buffer, &config, &line, &diagnostic)
                    .map(|()| String::from_utf8_lossy(buffer.as_slice()).into_owned())
            } else {
                term::emit_into_string(&config, &line, &diagnostic)
            };
            match rendered {
                Ok(text) => out.push_str(&text),
                Err(_) => {
                    let _ = writeln!(out, "{}: {}", finding.name, finding.message);
                }
            }
        }
        out
    }

    /// Line and column (from 1, the column in characters) of each finding that has a place in the
    /// text.
    pub fn line_and_column(&self, finding: &Finding) -> Option<(usize, usize)> {
        let start = finding.span.as_ref()?.start.min(self.text.len());
        let before = self.text.get(..start)?;
        let line = before.matches('\n').count() + 1;
        let column = before
            .rsplit('\n')
            .next()
            .unwrap_or_default()
            .chars()
            .count()
            + 1;
        Some((line, column))
    }
}
