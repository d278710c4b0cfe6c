//! What pointer and keys do to the engine.

pub(crate) mod crank;
pub(crate) mod full_screen;
