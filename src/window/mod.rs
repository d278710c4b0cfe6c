//! The window: the animated engine and the panels beside it. It alone knows bevy and egui.

pub mod dialog;
pub mod files;
pub mod flat;
pub mod flat_views;
pub mod panel;
pub mod seeing;
pub mod theme;
pub mod watcher;
