//! Work at the bench: the distributor dropped in, the valves set, the camshaft degreed, true TDC
//! and the firing order found, and the whole job step by step.

pub mod crank_marks;
pub mod degreeing;
pub mod dropin;
mod error;
mod event_readings;
pub mod firing_order;
pub mod job;
pub mod lash;
pub mod lift_readings;
pub mod lift_table;
mod looks_at;
pub mod meshing;
pub mod read_lobes;
pub mod seating;
pub mod static_timing;
pub mod tdc;
pub mod valve_setting;
pub mod witnesses;

pub use dropin::{DropIn, dropin, dropin_at};
pub use error::Error;
pub use lash::{Lash, lash};
pub use looks_at::LooksAt;
pub use seating::{RemovedDrive, Seating, seat_drive};
pub use static_timing::{StaticTiming, static_timing, static_timing_at};
