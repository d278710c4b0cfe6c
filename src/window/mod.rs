//! The window: the animated engine and the panels beside it. It alone knows bevy and egui.
//!
//! `session::bench` holds the engine and how far it is turned; everything shown is made from it.
//! One plugin for each thing on the screen; the order within a frame is that of `app::schedule`.
//! Each of the rooms uses only those before it.

#![allow(
    clippy::indexing_slicing,
    reason = "what is drawn is laid out from lengths known beside it; what comes from outside is read in the core"
)]
#![allow(
    clippy::too_many_arguments,
    reason = "a bevy system names each thing it reads or writes as an argument"
)]

mod app;
mod session;

mod scene;

mod input;

mod panes;

mod lessons;

mod open;

pub mod frame_rate;
pub mod picture;

pub use app::error::Error;
pub use open::open;
pub use scene::camera::SetView;
pub use session::bench::Opened;
