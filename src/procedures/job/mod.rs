//! The guided job: the engine put together in order, each step right only at its own place.
//!
//! A [`Job`] is made from a [`Phasing`](crate::phasing::Phasing) as drawn. Each [`Step`] says what
//! to do, what must be seen and, where it applies, a caution. It is ticked only when the engine
//! stands so: [`Walkthrough::check`] reads the phasing as built, at the crank angle the builder has turned
//! to, and answers what is still wrong in words that can be acted on. A [`Walkthrough`] is one
//! builder's way through it, a [`Progress`] what is kept of that in a file.

mod progress;
mod step;
mod steps;
mod walkthrough;

pub use progress::Progress;
pub use step::{Condition, EngineState, Step, StepCheck};
pub use steps::Job;
pub use walkthrough::Walkthrough;
