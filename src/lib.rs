//! Dotwise: learn, check and teach the timing of a four-stroke engine before the case is closed.
//!
//! A description of the engine, in RON, goes one way through:
//!
//! ```text
//! text ──> Engine ──────> Phasing ──────> Reading ──> command, sheet, window
//! (RON)    what the file   what it implies  what stands
//!          says, checked   for every angle  where at θ
//! ```
//!
//! Each room uses only those before it in the list below; DEVELOPERS.md says what each is for.

// No input may end the program: each exception says why its index is there. Tests may stop.
#![cfg_attr(not(test), warn(clippy::indexing_slicing))]

pub mod angle;
pub mod words;

pub mod history;

pub mod source;

pub mod description;

pub mod laws;

pub mod engine;

pub mod phasing;

pub mod diagnosis;

pub mod procedures;

pub mod quiz;

pub mod geometry;

pub mod drawing;

pub mod output;

pub mod document;

#[cfg(feature = "window")]
pub mod window;

pub mod command;
