//! RON text: where each value stands in it, reading on past what is wrong, what was found, and a
//! changed value put back into the text. Nothing here knows an engine.

mod dialect;
mod finding;
mod read;
mod recovery;
mod rewrite;
mod spans;

pub(crate) use dialect::options;
pub use dialect::write;
pub(crate) use finding::faults;
pub use finding::{Fault, Finding, Report, Severity, TextFault};
pub use read::{LARGEST_BYTES, place, ron, too_large};
pub use recovery::{Recovered, recover};
pub use rewrite::rewrite;
pub use spans::Spans;
