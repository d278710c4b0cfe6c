//! What was put together wrong, by what can be seen; what an engine put together so will do; and
//! what would put it right.

mod coil_leads;
mod diagnose;
mod evidence;
pub mod fault;
mod fit;
pub mod hypotheses;
pub mod next_look;
pub mod observations;
pub mod proof;
pub mod remedy;
pub mod stage;
pub mod verdict;

use crate::engine::Subject;

pub use diagnose::{Diagnosis, diagnose, diagnose_by};
pub use evidence::Revolution;
pub use fit::{Fit, Misfit};
pub use observations::Observations;
pub use verdict::Verdict;

/// What a diagnosis and a proof speak of.
pub const SUBJECTS: &[Subject] = &[
    Subject::Valves,
    Subject::Rotor,
    Subject::Sparks,
    Subject::Play,
];
