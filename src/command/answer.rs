//! What a command answers, and why it could not.

use std::fmt;

use serde::Serialize;

use crate::output::terminal::TerminalStyle;
use crate::output::{self, json};

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
}

impl Answer {
    /// A text that means all is well.
    pub(super) fn text(out: impl Into<String>) -> Self {
        Self {
            out: out.into().into_bytes(),
            ..Self::default()
        }
    }

    /// One JSON document.
    pub(super) fn json<T: Serialize>(value: &T) -> Result<Self, Error> {
        json::document(value)
            .map(Self::text)
            .map_err(|error| Error(format!("the answer cannot be written as JSON: {error}\n")))
    }

    /// The same, meaning 'not right' where `wrong`.
    #[must_use]
    pub(super) fn not_right(self, wrong: bool) -> Self {
        Self {
            not_right: wrong,
            ..self
        }
    }
}

/// Why the input could not be used: the whole text for standard error, with its line ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Error(pub(super) String);

impl Error {
    /// What is wrong, and what would put it right.
    pub(super) fn line(what: impl AsRef<str>, fix: impl AsRef<str>) -> Self {
        Self(format!(
            "dotwise: {}\n  fix: {}\n",
            what.as_ref(),
            fix.as_ref()
        ))
    }
}

impl fmt::Display for Error {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.0)
    }
}

impl std::error::Error for Error {}

impl From<output::Error> for Error {
    fn from(error: output::Error) -> Self {
        Self::line(error.to_string(), error.remedy())
    }
}
