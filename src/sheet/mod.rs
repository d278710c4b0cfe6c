//! Everything that is written out: for a person, for a program, for a spreadsheet, for the bench
//! and the club.
//!
//! | room | writes |
//! | --- | --- |
//! | [`text`] | a reading, a table, a card, for a terminal of 80 columns |
//! | [`json`] | the same for a program |
//! | [`csv`] | the table for a spreadsheet |
//! | [`ink`] | colour in a terminal that has it |
//! | [`part`] | what goes to the bench, part by part |
//! | [`paper`] | setting its pages |
//! | [`svg`] | a drawing as SVG |
//! | [`pdf`] | pages as PDF |
//! | [`html`] | pages as HTML |
//! | [`handout`] | the engine as a page that turns |
//! | [`type_face`] | the type, and how wide a text stands in it |
//! | [`mod@write`] | a file: whole or not at all |

pub mod csv;
pub mod handout;
pub mod html;
pub mod ink;
pub mod json;
pub mod paper;
pub mod part;
pub mod pdf;
pub mod svg;
pub mod text;
pub mod type_face;
pub mod write;
