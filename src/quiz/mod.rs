//! Questions made from the engine, for one learner or a class.
//!
//! A [`Question`] puts the engine at a crank angle, as built in some way, and asks what stands
//! where. Its key is read from the [`Reading`](crate::phasing::Reading) at that angle, never
//! written down beside the question; its reason is made from the same numbers. Chance comes from a
//! seed, so that a lesson can be held again. No question stands so near to a change that the
//! other answer could be seen in the model as well.
//!
//! A [`Quiz`] asks one after the other, hides the answer until it is given or asked for, and keeps
//! the [`QuizScore`]; a [`Round`] is ten of them by a code.

mod chance;
pub(crate) mod faults;
pub(crate) mod looks;
mod make;
mod question;
mod round;
mod series;
pub(crate) mod standing;
pub(crate) mod wording;

pub use chance::Chance;
pub use question::{Answer, Question, QuestionKind};
pub use round::Round;
pub use series::{Quiz, QuizScore};
