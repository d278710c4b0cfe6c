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
//! The rooms, in reading order: [`angle`] (degrees, kept apart by shaft), [`engine`] (the
//! description and its findings), [`phasing`] (what it implies), [`build`] (as built rather than as
//! drawn), [`model`] (the parts as bodies), [`drawing`] (flat views), [`sheet`] (everything written
//! out), [`command`] (one file a command).

pub mod angle;
pub mod build;
pub mod command;
pub mod document;
pub mod drawing;
pub mod engine;
pub mod lesson;
pub mod model;
pub mod phasing;
pub mod sheet;
#[cfg(feature = "window")]
pub mod window;
