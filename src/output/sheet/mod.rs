//! What goes to the bench, part by part.

mod assembly;
mod cap;
mod card;
mod gears;
mod options;
mod pages;
mod strip;
mod valves;
pub mod wheel;

pub use options::{SheetOptions, SheetPart};
pub use pages::pages;
