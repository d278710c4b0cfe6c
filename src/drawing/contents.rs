//! What the things on a page are, for whoever has it read out: headings, text, tables, drawings.
//!
//! A drawing in the window is one picture with a title. A page is read: each run of its items plays
//! a part, and runs with one number belong together, over a page's end too.

use std::ops::Range;

/// A run of a page's items and the part it plays. What is in no run is furniture: rules, frames,
/// the page's foot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Content {
    /// Which of the page's items.
    pub items: Range<usize>,
    /// What they are.
    pub part: ContentPart,
    /// Runs of one number are one thing.
    pub number: usize,
}

/// What a run of items is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ContentPart {
    /// The heading of a part of the sheet, as it is written: a bookmark leads to it.
    Part(String),
    /// A heading within a part, as it is written.
    Heading(String),
    /// Text.
    Text,
    /// A cell of a table.
    Cell {
        /// Its row, counted from 0 within the table.
        row: usize,
        /// Its column, counted from 0.
        column: usize,
        /// Whether it heads its column or its row.
        heads: Option<Heads>,
    },
    /// A drawing, with a sentence of what it shows.
    Figure(String),
}

/// What a cell heads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heads {
    /// Its column.
    Column,
    /// Its row.
    Row,
}
