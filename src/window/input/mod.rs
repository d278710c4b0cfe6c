//! What pointer and keys do to the engine.

pub(crate) mod crank;
