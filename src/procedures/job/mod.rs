//! The guided job: the engine put together in the order of the bench, each step right only at its
//! own place.
//!
//! A [`Job`] is made from a [`Phasing`](crate::phasing::Phasing) as drawn, for a [`Way`]: a new
//! build, an engine that was stripped, one opened at the front alone. Each [`Step`] says what to do,
//! what must be seen, what to write down ([`Blank`]) and, where it applies, a caution. It is ticked
//! only when the engine stands so: [`Walkthrough::check`] reads the phasing as built, at the crank
//! angle the builder has turned to, and answers what is still wrong in words that can be acted on.
//! What the program cannot see is ticked by hand, and said to be so. A [`Walkthrough`] is one
//! builder's way through it, a [`Progress`] what is kept of that in the build file; what was
//! measured is [`reckon`]ed with, and can be [taken over](take_over) into the description.

mod apart;
mod bench;
mod blank;
mod cam;
mod closing;
mod dead_centres;
mod distributor;
mod measured;
mod not_in;
mod own;
mod parts;
mod progress;
mod reckon;
mod spark;
mod step;
mod steps;
mod take_over;
mod valves;
mod walkthrough;
mod way;
mod written;

pub use blank::Blank;
pub use not_in::NotIn;
pub use progress::{Done, Noted, Progress};
pub use reckon::{Reckoned, reckon};
pub use step::{BY_HAND, Condition, EngineState, Hurried, Step, StepCheck, Tightening};
pub use steps::Job;
pub use take_over::{Change, TakeOver, take_over};
pub use walkthrough::Walkthrough;
pub use way::Way;
pub use written::ReadProgress;
