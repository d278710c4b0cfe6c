//! The command line: one file a command.
//!
//! Each command reads its input, asks the library and gives an [`Answer`]; nothing is written
//! before the answer is whole. `--json` on any command prints one JSON document and nothing else on
//! standard output. Exit status: 0 done; 1 done, and the answer means 'not right'; 2 the input
//! could not be used.

mod answer;
mod input;
mod line;
mod output;

mod at;
mod check;
mod clearance;
mod degree;
mod diagnose;
mod dropin;
mod handout;
mod lash;
mod order;
#[cfg(feature = "window")]
mod picture;
mod scenes;
mod sheet;
#[cfg(feature = "window")]
mod speed;
mod table;
mod tdc;

pub use answer::{Answer, Error, Terminal};
pub use line::CommandLine;
