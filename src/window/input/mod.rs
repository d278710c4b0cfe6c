//! The crank by hand.

pub mod crank;
