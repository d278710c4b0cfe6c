//! From a text to an engine, with everything that is wrong found at once.
//!
//! `recover` reads on past slips of the pen, so that all of them are found in one run; the numbers
//! are then checked together.

use std::sync::Arc;

use super::{Engine, check};
use crate::description::Description;
use crate::source;
use crate::source::Finding;
use crate::source::{Recovered, recover};

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
    /// What was found, in the order of the text: [`source::MOST_FINDINGS`] of it at most.
    pub findings: Vec<Finding>,
    /// How many more findings there were.
    pub more: usize,
}

/// Reads a description and checks it.
///
/// ```
/// use dotwise::engine::read;
/// let read = read::engine("(format: 1, nmae: \"Slip of the pen\")");
/// assert!(read.engine.is_none());
/// assert_eq!(read.findings[0].name, "UnknownField");
/// assert!(read.findings[0].fix.contains("`name`"));
/// ```
pub fn engine(text: &str) -> Read {
    if text.len() > source::LARGEST_BYTES {
        return Read {
            engine: None,
            is_ron: false,
            description: None,
            findings: vec![source::too_large(text.len() as u64)],
            more: 0,
        };
    }
    let Recovered {
        value,
        guessed,
        mut findings,
        draft,
    } = recover::<Description>(text);
    let mut engine = None;
    if let Some(description) = &value {
        let mut checked = if guessed {
            // What stands on a guess says nothing of the rest: only numbers that were written are
            // looked at, each by itself.
            check::numbers(description)
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
        source::place(draft.text(), &mut checked);
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
    let more = source::keep_first(&mut findings);
    Read {
        engine,
        is_ron: value.is_some(),
        description: value.filter(|_| !guessed),
        findings,
        more,
    }
}
