//! RON text: where each value stands in it, reading on past what is wrong, what was found, and a
//! changed value put back into the text. Nothing here knows an engine.

mod finding;
mod read;
mod recovery;
mod rewrite;
mod spans;

pub(crate) use finding::faults;
pub use finding::{Fault, Finding, Report, Severity, TextFault};
pub use read::{LARGEST_BYTES, closest, options, place, ron, too_large, write};
pub use recovery::{Recovered, recover};
pub use rewrite::rewrite;
pub use spans::Spans;
