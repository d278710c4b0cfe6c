//! What goes to the bench, part by part.

mod assembly;
mod cap;
mod card;
mod contents;
mod gears;
mod lobes;
mod measure;
mod options;
mod pages;
mod record;
mod strip;
mod valves;
pub mod wheel;

pub use lobes::{SUBJECTS as LOBES, lobes};
pub use options::{SheetOptions, SheetPart};
pub use pages::pages;
pub use record::{SUBJECTS as RECORD, record};
