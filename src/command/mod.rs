//! The command line: one file a command.
//!
//! Each command reads its input, asks the library and gives an [`Answer`]; nothing is written
//! before the answer is whole. `--json` on any command prints one JSON document and nothing else on
//! standard output, also where there is no answer: then what is wrong and what would mend it. Exit
//! status: 0 done; 1 done, and the answer means 'not right'; 2 the input
//! could not be used.

mod answer;
mod build_file;
mod examples;
mod input;
mod line;
mod output;
mod sightings;
mod stage;
mod usage;

mod at;
mod check;
mod clearance;
mod completions;
mod degree;
mod degree_table;
mod degreed;
mod diagnose;
mod dropin;
mod fields;
mod handout;
mod job;
mod job_record;
mod job_text;
mod lash;
mod man;
mod order;
#[cfg(feature = "window")]
mod picture;
mod prove;
mod scenes;
mod serve;
mod sheet;
#[cfg(feature = "window")]
mod speed;
mod table;
mod tdc;

pub use answer::{Answer, Error, Terminal};
pub use line::CommandLine;
pub use usage::{asks_for_json, usage, usage_document};
