//! The engine as it was put together, rather than as it was drawn.

pub mod assembly;
pub mod clearance;

pub use assembly::Assembly;
