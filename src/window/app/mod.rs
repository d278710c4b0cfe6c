//! What every part of the window needs: the renderer, egui, the order within a frame, the theme, and
//! the desktop's dialogs.

pub mod dialogs;
pub mod drawing_errors;
pub mod egui_setup;
pub mod off_screen;
pub mod renderer;
pub mod schedule;
pub mod theme;
pub mod viewport;
