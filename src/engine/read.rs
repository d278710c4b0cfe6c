//! From a text to an engine, with everything that is wrong found at once.
//!
//! `follow` reads on past slips of the pen, so that all of them are found in one run; the numbers
//! are then checked together.

use std::sync::Arc;

use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

use super::follow::{Followed, follow};
use super::locate::Places;
use super::{Description, Engine, Finding, check};

/// The largest file that is read. A description is a page; this is a book.
pub const LARGEST_BYTES: usize = 1 << 20;

/// What reading a text came to.
#[derive(Clone, Debug)]
pub struct Read {
    /// The engine, where the text describes one.
    pub engine: Option<Arc<Engine>>,
    /// Whether the text could be followed to its end as RON, whatever it says.
    pub is_ron: bool,
    /// What the text says, where it could be followed without a guess, whether or not it makes an
    /// engine.
    pub description: Option<Description>,
    /// Everything found, in the order of the text.
    pub findings: Vec<Finding>,
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
    if text.len() > LARGEST_BYTES {
        return Read {
            engine: None,
            is_ron: false,
            description: None,
            findings: vec![too_large(text.len() as u64)],
        };
    }
    let Followed {
        value,
        guessed,
        mut findings,
        draft,
    } = follow::<Description>(text);
    let mut engine = None;
    if let Some(description) = &value {
        let mut checked = if guessed {
            // What stands on a guess says nothing of the rest: only numbers that were written are
            // looked at, each by itself.
            check::each_number(description)
        } else {
            match Engine::new(description.clone()) {
                Ok((good, warnings)) => {
                    // A field that is not known is an error even where the rest would make an
                    // engine.
                    engine = findings.is_empty().then_some(good);
                    warnings
                }
                Err(errors) => errors,
            }
        };
        place(draft.text(), &mut checked);
        checked.retain(|finding| {
            finding
                .span
                .as_ref()
                .is_none_or(|span| !guessed || !draft.is_put_in(span.start))
        });
        for finding in &mut checked {
            finding.span = finding.span.as_ref().map(|span| draft.written_range(span));
        }
        findings.extend(checked);
    }
    findings.sort_by_key(|finding| finding.span.as_ref().map_or(usize::MAX, |span| span.start));
    Read {
        engine,
        is_ron: value.is_some(),
        description: value.filter(|_| !guessed),
        findings,
    }
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
            *span = span.start
                ..text[span.start..]
                    .find('\n')
                    .map_or(text.len(), |line| span.start + line);
        }
    }
    findings.sort_by_key(|finding| finding.span.as_ref().map_or(usize::MAX, |span| span.start));
}

/// How RON is read and written here.
pub fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Reads any RON document, with a finding for everything its grammar or its fields have wrong. A
/// value that would stand on a guess is none.
pub fn ron<T: DeserializeOwned>(text: &str) -> (Option<T>, Vec<Finding>) {
    if text.len() > LARGEST_BYTES {
        return (None, vec![too_large(text.len() as u64)]);
    }
    let followed = follow::<T>(text);
    (
        followed.value.filter(|_| !followed.guessed),
        followed.findings,
    )
}

/// A finding for a file too large to be a description.
pub fn too_large(bytes: u64) -> Finding {
    Finding::error("FileTooLarge", "")
        .message(format!(
            "the file has {bytes} bytes; at most {LARGEST_BYTES} are read"
        ))
        .why("an engine description is a page of text, so this is some other file")
        .mend("name the description itself; `dotwise scenes bench_four` prints one to start from")
}

/// The word that was probably meant, where one is near enough.
pub fn closest<'a>(found: &str, words: &[&'a str]) -> Option<&'a str> {
    /// Under this two words are not alike: one slip in a short word scores about 0.7.
    const ALIKE: f64 = 0.6;
    let found = found.to_lowercase();
    words
        .iter()
        .map(|word| {
            (
                strsim::normalized_damerau_levenshtein(&found, &word.to_lowercase()),
                *word,
            )
        })
        .filter(|(score, _)| *score >= ALIKE)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, word)| word)
}

/// Writes a description as RON, to be read again as the same engine.
///
/// # Errors
/// Where a value cannot be written; no description from [`ron()`] has such.
pub fn write(description: &Description) -> Result<String, ron::Error> {
    let pretty = ron::ser::PrettyConfig::new()
        .depth_limit(3)
        .indentor("    ")
        .struct_names(false);
    options()
        .to_string_pretty(description, pretty)
        .map(|text| text + "\n")
}
