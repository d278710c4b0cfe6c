//! What was put together wrong, by what can be seen; what an engine put together so will do; and
//! what would put it right.

mod diagnose;
mod evidence;
pub mod fault;
mod fit;
pub mod hypotheses;
pub mod next_look;
pub mod observations;
pub mod remedy;
pub mod verdict;

pub use diagnose::{Diagnosis, diagnose};
pub use evidence::Revolution;
pub use fit::{Fit, Misfit};
pub use observations::Observations;
pub use verdict::Verdict;
