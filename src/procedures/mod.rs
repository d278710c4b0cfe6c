//! Work at the bench: the distributor dropped in, the valves set, the camshaft degreed, true TDC
//! and the firing order found, and the whole job step by step.

pub mod degreeing;
pub mod dropin;
mod error;
pub mod firing_order;
pub mod job;
pub mod lash;
pub mod seating;
pub mod tdc;

pub use dropin::{DropIn, dropin};
pub use error::Error;
pub use lash::{Lash, lash};
pub use seating::{RemovedDrive, Seating, seat_drive};
