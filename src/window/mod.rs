//! The window: the animated engine and the panels beside it. It alone knows bevy and egui.
//!
//! [`session::bench`] holds the engine and how far it is turned; everything shown is made from it.
//! One plugin for each thing on the screen; the order within a frame stands in [`app::schedule`].
//! Each of the rooms uses only those before it.

mod app;
mod session;

pub mod scene;

mod input;

mod panes;

mod lessons;

mod open;

pub mod frame_rate;
pub mod picture;

pub use app::renderer::NoWindow;
pub use open::open;
pub use session::bench::{Bench, Opened};
