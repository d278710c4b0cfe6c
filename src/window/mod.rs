//! The window: the animated engine and the panels beside it. It alone knows bevy and egui.
//!
//! [`bench`] holds the engine and how far it is turned; everything shown is made from it. One
//! plugin for each thing on the screen. The order within a frame stands in [`Steps`].

pub mod adapter;
pub mod bench;
pub mod cam_drive;
pub mod camera;
pub mod camshaft;
pub mod crankshaft;
pub mod cylinder;
pub mod desk;
pub mod dialog;
pub mod distributor;
pub mod drawing_errors;
pub mod files;
pub mod flat;
pub mod flat_views;
pub mod hand;
pub mod lessons;
pub mod lettering;
pub mod light;
pub mod metal;
pub mod middle;
pub mod off_screen;
pub mod overlay;
pub mod panel;
pub mod panes;
pub mod part;
pub mod parts_shown;
pub mod picture;
pub mod piston;
pub mod placed;
pub mod pulley;
pub mod seeing;
pub mod shell;
pub mod solid;
pub mod speed;
pub mod stage;
pub mod theme;
pub mod valve_gear;
pub mod watcher;

use bevy::prelude::*;

pub use adapter::Refused;
pub use bench::{Bench, Opened};
pub use shell::open;

/// The order of things within a frame's `Update`.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Steps {
    /// What comes from outside: files, a watcher, a lesson's pose.
    Outside,
    /// The hand turns the engine.
    Hand,
    /// Parts of an engine that is gone are taken away.
    Clear,
    /// Parts of the engine that came are put there.
    Fit,
    /// Parts are moved to where they stand.
    Turn,
    /// The eye moves.
    Eye,
}
