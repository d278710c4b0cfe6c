//! Everything that is written out: for a person, for a program, for a spreadsheet.
//!
//! | room | writes |
//! | --- | --- |
//! | [`text`] | a reading, a table, a card, for a terminal of 80 columns |
//! | [`json`] | the same for a program |
//! | [`csv`] | the table for a spreadsheet |
//! | [`ink`] | colour in a terminal that has it |

pub mod csv;
pub mod ink;
pub mod json;
pub mod text;
