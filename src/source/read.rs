//! Any RON document read, with a finding for everything that is wrong with it.

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
