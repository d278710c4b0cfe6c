//! Everything that is written out: for a person, for a program, for a spreadsheet, for the bench
//! and the club.

pub(crate) mod as_built;
pub mod csv;
mod error;
pub mod file;
pub mod fonts;
pub mod handout;
pub mod html;
pub mod json;
pub mod paper;
pub mod pdf;
pub mod sheet;
pub mod svg;
pub mod terminal;
pub mod text;

pub use error::Error;
