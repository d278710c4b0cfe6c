//! The laws of the engine: pure functions of parts of a description.

pub mod clearance;
pub mod firing;
pub mod gear_train;
pub mod ignition;
mod lift;
mod slider_crank;
mod stroke;

pub use lift::{Lobe, Lobes, ValveReading};
pub use slider_crank::SliderCrank;
pub use stroke::{DEAD_CENTRE_WITHIN_DEG, DeadCentre, Stroke};
