//! From a text to an engine, with everything that is wrong found at once.
//!
//! RON's reader stops at the first thing it cannot follow. A field it does not know is taken out of the text and the
//! reading begun again, so that all of them are found in one run; the numbers are then checked together.

use std::sync::Arc;

use ron::error::{Error as RonError, Position, SpannedError};
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

use super::locate::Places;
use super::{Description, Engine, Finding};

/// The largest file that is read. A description is a page; this is a book.
pub const LARGEST_BYTES: usize = 1 << 20;

/// What reading a text came to.
#[derive(Clone, Debug)]
pub struct Read {
    /// The engine, where the text describes one.
    pub engine: Option<Arc<Engine>>,
    /// What the text says, where it could be followed, whether or not it makes an engine.
    pub description: Option<Description>,
    /// Everything found, in the order of the text.
    pub findings: Vec<Finding>,
}

impl Read {
    /// Whether the text could be followed as RON at all, whatever it says.
    pub fn is_ron(&self) -> bool {
        let beyond = ["NotRon", "NestedTooDeep", "FileTooLarge"];
        !self.findings.iter().any(|finding| beyond.contains(&finding.name))
    }
}

/// Reads a description and checks it.
///
/// ```
/// use dotwise::engine::read;
/// let read = read::engine("(format: 1, nmae: \"Slip of the pen\")");
/// assert!(read.engine.is_none());
/// assert_eq!(read.findings[0].name, "UnknownField");
/// assert!(read.findings[0].mend.contains("`name`"));
/// ```
pub fn engine(text: &str) -> Read {
    let (description, mut findings) = ron::<Description>(text);
    let mut engine = None;
    if let Some(description) = &description {
        match Engine::new(description.clone()) {
            Ok((good, warnings)) => {
                findings.extend(warnings);
                // A field that is not known is an error even where the rest would make an engine.
                engine = findings.iter().all(|finding| !finding.is_error()).then_some(good);
            }
            Err(errors) => findings.extend(errors),
        }
    }
    place(text, &mut findings);
    Read { engine, description, findings }
}

/// Gives each finding the bytes its place has in the text, and puts them in the order of the text.
pub fn place(text: &str, findings: &mut [Finding]) {
    let places = Places::of(text);
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
            *span = span.start..text[span.start..].find('\n').map_or(text.len(), |line| span.start + line);
        }
    }
    findings.sort_by_key(|finding| finding.span.as_ref().map_or(usize::MAX, |span| span.start));
}

/// How RON is read and written here.
pub fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Reads any RON document, with a finding for everything its grammar or its fields have wrong.
pub fn ron<T: DeserializeOwned>(text: &str) -> (Option<T>, Vec<Finding>) {
    /// A text with more unknown fields than this is not a description with slips of the pen.
    const MOST_UNKNOWN: usize = 40;

    if text.len() > LARGEST_BYTES {
        return (None, vec![too_large(text.len() as u64)]);
    }
    let mut findings = Vec::new();
    let mut text = text.to_owned();
    loop {
        let error = match options().from_str::<T>(&text) {
            Ok(value) => return (Some(value), findings),
            Err(error) => error,
        };
        let start = byte_of(&text, error.span.start);
        let end = byte_of(&text, error.span.end).max(start);
        let unknown = matches!(error.code, RonError::NoSuchStructField { .. });
        let spot = Places::of(&text).named_at(if unknown { end.saturating_sub(1).max(start) } else { start }).cloned();
        match spot {
            Some(spot) if unknown && findings.len() < MOST_UNKNOWN => {
                findings.push(grammar(&error).at(spot.name.clone()));
                blank_out(&mut text, spot.name.start, spot.value.end);
            }
            _ => {
                let end = text[start..].find('\n').map_or(end, |line| end.min(start + line));
                findings.push(grammar(&error).at(start..end));
                return (None, findings);
            }
        }
    }
}

/// A finding for a file too large to be a description.
pub fn too_large(bytes: u64) -> Finding {
    Finding::error("FileTooLarge", "")
        .message(format!("the file has {bytes} bytes; at most {LARGEST_BYTES} are read"))
        .why("an engine description is a page of text, so this is some other file")
        .mend("name the description itself; `dotwise scenes bench_four` prints one to start from")
}

/// Turns a field and the comma after it into blanks, lines kept, so that every later place stays where it was.
fn blank_out(text: &mut String, start: usize, end: usize) {
    let after = text[end..].find(|character: char| !character.is_whitespace()).map(|gap| end + gap);
    let end = after.filter(|&after| text.as_bytes()[after] == b',').map_or(end, |comma| comma + 1);
    let blank: String = text[start..end].bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect();
    text.replace_range(start..end, &blank);
}

/// The byte at which RON says a line and column stand; both count from 1, columns in characters.
fn byte_of(text: &str, position: Position) -> usize {
    let line_start = match position.line {
        0 | 1 => 0,
        line => text.match_indices('\n').nth(line - 2).map_or(text.len(), |(at, _)| at + 1),
    };
    text[line_start..].char_indices().nth(position.col.saturating_sub(1)).map_or(text.len(), |(at, _)| line_start + at)
}

/// What RON's reader stumbled over, in a builder's words.
fn grammar(error: &SpannedError) -> Finding {
    match &error.code {
        RonError::NoSuchStructField { expected, found, .. } => Finding::error("UnknownField", "")
            .message(format!("`{found}` is not a field of this part"))
            .why("a field that is not read is a setting that does not hold")
            .mend(match closest(found, expected) {
                Some(meant) => format!("`{meant}` was probably meant"),
                None => format!("it may have {}", quoted(expected)),
            }),
        RonError::NoSuchEnumVariant { expected, found, .. } => Finding::error("UnknownWord", "")
            .message(format!("`{found}` is not one of the words allowed here"))
            .why("each choice has its own word")
            .mend(match closest(found, expected) {
                Some(meant) => format!("`{meant}` was probably meant; the words are {}", quoted(expected)),
                None => format!("the words are {}", quoted(expected)),
            }),
        RonError::MissingStructField { field, .. } => Finding::error("MissingField", "")
            .message(format!("`{field}` is missing from the part that ends here"))
            .why("the engine cannot be worked out without it")
            .mend(format!("add `{field}: …,`; `dotwise scenes bench_four` prints a whole description")),
        RonError::DuplicateStructField { field, .. } => Finding::error("FieldTwice", "")
            .message(format!("`{field}` is given twice"))
            .why("only one of them could hold")
            .mend("take one of them out"),
        RonError::ExceededRecursionLimit => Finding::error("NestedTooDeep", "")
            .message("brackets are nested too deep to be followed")
            .why("no description needs more than five levels")
            .mend("look for a bracket that is never closed"),
        code => Finding::error("NotRon", "")
            .message(format!("the text cannot be read here: {}", uncapitalised(&code.to_string())))
            .why("a description is written in RON: `(name: value, …)`, lists in [ ], texts in \" \"")
            .mend("look here, and just before, for a missing comma, bracket or quotation mark"),
    }
}

fn uncapitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map(|first| first.to_lowercase().chain(characters).collect()).unwrap_or_default()
}

fn quoted(words: &[&str]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// The word that was probably meant, where one is near enough.
pub fn closest<'a>(found: &str, words: &[&'a str]) -> Option<&'a str> {
    /// Under this two words are not alike: one slip in a short word scores about 0.7.
    const ALIKE: f64 = 0.6;
    let found = found.to_lowercase();
    words
        .iter()
        .map(|word| (strsim::normalized_damerau_levenshtein(&found, &word.to_lowercase()), *word))
        .filter(|(score, _)| *score >= ALIKE)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, word)| word)
}

/// Writes a description as RON, to be read again as the same engine.
///
/// # Errors
/// Where a value cannot be written; no description from [`ron`] has such.
pub fn write(description: &Description) -> Result<String, ron::Error> {
    let pretty = ron::ser::PrettyConfig::new().depth_limit(3).indentor("    ").struct_names(false);
    options().to_string_pretty(description, pretty).map(|text| text + "\n")
}
