//! The laws of the engine: pure functions of parts of a description.

pub mod chain_run;
pub mod clearance;
pub mod firing;
pub mod follower;
pub mod gear_train;
pub mod ignition;
mod lift;
mod measured_lift;
pub(crate) mod ramps;
mod slider_crank;
mod stroke;
pub mod wheel_move;

pub use clearance::OpenTogether;
pub use lift::{Lobe, Lobes, ValveReading};
pub(crate) use lift::{USUALLY_QUOTED_AT_MM, events, fitted_ramps};
pub(crate) use measured_lift::{APART_DEG, DIP_MM, LEAST_POINTS, LONGEST_GAP_DEG};
pub use measured_lift::{Dip, GreatestRate, MeasuredLift};
pub use slider_crank::SliderCrank;
pub use stroke::{DEAD_CENTRE_WITHIN_DEG, DeadCentre, Stroke};
