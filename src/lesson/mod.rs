//! Learning at the bench: the guided job, questions with their answers, and a new engine to start
//! from.
//!
//! | room | what it knows |
//! | --- | --- |
//! | [`job`] | the job as steps, each right only at its own place, and how far the builder has come |
//! | [`walk`] | one builder's way through the job |
//! | [`questions`] | questions made from the engine, the answer always worked out by the library |
//! | [`new_engine`] | a description from a layout, with the firing orders its crank can give |

pub mod job;
pub mod new_engine;
pub mod questions;

mod steps;
pub mod walk;
