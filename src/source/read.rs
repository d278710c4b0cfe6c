//! Any RON document read, with a finding for everything that is wrong with it.

use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde::de::DeserializeOwned;

use super::recovery::recover;
use super::spans::Spans;
use super::{Finding, TextFault};

/// The largest file that is read: a description is a page of text, a few thousand bytes.
pub const LARGEST_BYTES: usize = 1 << 20;

/// Reads any RON document, with a finding for everything its grammar or its fields have wrong. A
/// value that would stand on a guess is none.
pub fn ron<T: DeserializeOwned>(text: &str) -> (Option<T>, Vec<Finding>) {
    if text.len() > LARGEST_BYTES {
        return (None, vec![too_large(text.len() as u64)]);
    }
    let followed = recover::<T>(text);
    (
        followed.value.filter(|_| !followed.guessed),
        followed.findings,
    )
}

/// Why a file gives no text.
#[derive(Debug)]
pub enum Unreadable {
    /// The system would not read it.
    Io(io::Error),
    /// It is longer than is read: so many bytes where that is known.
    TooLarge(Option<u64>),
    /// It is text in UTF-16, as some editors save it.
    Utf16,
    /// The byte, counted from 1, that is no UTF-8.
    NotText(usize),
}

impl Unreadable {
    /// What would put it right.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::Io(_) => "name a file that can be read",
            Self::TooLarge(_) => {
                "name the description itself; `dotwise scenes bench_four` prints one to start from"
            }
            Self::Utf16 => "save it as UTF-8 in your editor",
            Self::NotText(_) => "save it as UTF-8 in your editor, or name the description itself",
        }
    }
}

impl fmt::Display for Unreadable {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io(error) => write!(to, "{error}"),
            Self::TooLarge(Some(bytes)) => to.write_str(&too_large(*bytes).message),
            Self::TooLarge(None) => write!(
                to,
                "it goes on after {LARGEST_BYTES} bytes; at most {LARGEST_BYTES} are read"
            ),
            Self::Utf16 => to.write_str("it is text in UTF-16, and not in UTF-8"),
            Self::NotText(byte) => write!(to, "it is not text: byte {byte} is not UTF-8"),
        }
    }
}

impl std::error::Error for Unreadable {}

/// The text that a reader gives, without the byte order mark that some editors put before it. No
/// more is read than a description can have, however much there is.
///
/// # Errors
/// Where it cannot be read, is too long, or is no text in UTF-8.
pub fn text(reader: impl Read) -> Result<String, Unreadable> {
    let mut bytes = Vec::new();
    reader
        .take(LARGEST_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(Unreadable::Io)?;
    if bytes.len() > LARGEST_BYTES {
        return Err(Unreadable::TooLarge(None));
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Unreadable::Utf16);
    }
    let mut text = String::from_utf8(bytes)
        .map_err(|error| Unreadable::NotText(error.utf8_error().valid_up_to() + 1))?;
    if text.starts_with('\u{feff}') {
        text.remove(0);
    }
    Ok(text)
}

/// The [`text`] of a file.
///
/// # Errors
/// As for [`text`].
pub fn file_text(path: &Path) -> Result<String, Unreadable> {
    text(File::open(path).map_err(Unreadable::Io)?).map_err(|error| match error {
        Unreadable::TooLarge(_) => {
            // What has no end, such as a device, has no length either.
            let length = path.metadata().ok().filter(std::fs::Metadata::is_file);
            Unreadable::TooLarge(length.map(|file| file.len()))
        }
        other => other,
    })
}

/// A finding for a file too large to be a description.
pub fn too_large(bytes: u64) -> Finding {
    Finding::error(TextFault::FileTooLarge, "")
        .message(format!(
            "the file has {bytes} bytes; at most {LARGEST_BYTES} are read"
        ))
        .why("an engine description is a page of text, so this is some other file")
        .fix("name the description itself; `dotwise scenes bench_four` prints one to start from")
}

/// Gives each finding the bytes its place has in the text, and puts them in the order of the text.
pub fn place(text: &str, findings: &mut [Finding]) {
    let places = Spans::of(text);
    for finding in findings.iter_mut().filter(|finding| finding.span.is_none()) {
        finding.span = places.find(&finding.place).map(|spot| {
            // A value that runs over lines is pointed at by its name.
            if text[spot.value.clone()].contains('\n') {
                spot.name.start..spot.name.end.min(spot.name.start + 40)
            } else {
                spot.value.clone()
            }
        });
        if let Some(span) = &mut finding.span
            && (text.get(span.clone()).is_none() || text[span.clone()].contains('\n'))
        {
            *span = span.start
                ..text[span.start..]
                    .find('\n')
                    .map_or(text.len(), |line| span.start + line);
        }
    }
    findings.sort_by_key(|finding| finding.span.as_ref().map_or(usize::MAX, |span| span.start));
}
