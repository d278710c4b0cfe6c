//! The crank by hand.

pub(crate) mod crank;
