//! RON text: where each value stands in it, reading on past what is wrong, what was found, and a
//! changed value put back into the text. Nothing here knows an engine.

mod dialect;
mod finding;
mod quoted_line;
mod read;
mod recovery;
mod rewrite;
mod spans;

pub(crate) use dialect::options;
pub use dialect::write;
pub use finding::{Fault, Finding, MOST_FINDINGS, Report, Severity, TextFault};
pub(crate) use finding::{faults, keep_first};
pub use read::{LARGEST_BYTES, Unreadable, file_text, place, ron, text, too_large};
pub use recovery::{Recovered, recover};
pub use rewrite::rewrite;
pub use spans::Spans;
