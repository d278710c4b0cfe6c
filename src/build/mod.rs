//! The engine as it was put together, rather than as it was drawn: told from what can be seen,
//! judged, and put right.
//!
//! | room | what it knows |
//! | --- | --- |
//! | [`assembly`] | one way of putting an engine together |
//! | [`verdict`] | what an engine put together so will do |
//! | [`fault`] | what is out, in a sentence |
//! | [`mend`] | what would put it right, least work first |
//! | [`sightings`] | what the builder sees: the `*.seen.ron` file |
//! | [`hypotheses`] | every way the parts could have gone together |
//! | [`mod@diagnose`] | which of them explain what was seen |
//! | [`tell_apart`] | what to look at next |
//! | [`mod@dropin`] | dropping the distributor in |
//! | [`mod@let_down`] | letting its drive down: on which tooth it takes hold |
//! | [`mod@lash`] | setting the valves with the fewest stops |
//! | [`clearance`] | room between valves and piston |
//! | [`tdc`] | true top dead centre |
//! | [`degree`] | lobe centres from a degree wheel |
//! | [`order`] | the firing order of an engine without papers |

pub mod assembly;
pub mod clearance;
pub mod degree;
pub mod diagnose;
pub mod dropin;
mod evidence;
pub mod fault;
pub mod hypotheses;
pub mod lash;
pub mod let_down;
pub mod mend;
pub mod order;
pub mod sightings;
pub mod tdc;
pub mod tell_apart;
pub mod verdict;

pub use assembly::Assembly;
pub use diagnose::{Diagnosis, Fit, diagnose};
pub use dropin::{DropIn, dropin};
pub use evidence::Half;
pub use lash::{Lash, lash};
pub use let_down::{DriveOut, LetDown, let_down};
pub use sightings::Sightings;
pub use verdict::Verdict;
