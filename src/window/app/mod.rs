//! What every part of the window needs: the renderer, egui, the order within a frame, the theme,
//! the desktop's dialogs, and its screen reader.

pub(crate) mod dialogs;
pub(crate) mod drawing_errors;
pub(crate) mod egui_setup;
pub(crate) mod error;
pub(crate) mod off_screen;
pub(crate) mod panic;
pub(crate) mod renderer;
pub(crate) mod schedule;
pub(crate) mod screen_reader;
pub(crate) mod theme;
pub(crate) mod viewport;
