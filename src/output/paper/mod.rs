//! The pages of a sheet: paper, margins, headings, lines of text, tables, boxes to tick, drawings.
//!
//! A page is a [`Drawing`](crate::drawing::Drawing) as large as its paper. Text that does not fit goes
//! on to the next page under the same heading.

mod boxes;
mod figures;
mod size;
mod table;
mod writer;

pub(crate) use boxes::{BOX, TICKED};
pub(crate) use figures::Beside;
pub use size::Paper;
pub(crate) use size::{FOOT_MM, SIDE_MM};
pub(crate) use writer::{Over, PLAIN_MM, PageWriter, is_said_over_the_page};
