//! What goes to the bench, part by part.

pub mod assembly;
pub mod cap;
pub mod card;
pub mod gears;
pub mod strip;
pub mod valves;
pub mod wheel;

use super::paper::{Paper, Setting};
use crate::drawing::Drawing;
use crate::phasing::Phasing;

/// A part of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, clap::ValueEnum)]
pub enum SheetPart {
    /// The timing card: the engine in one table.
    Card,
    /// The job step by step, with boxes to tick and blanks to fill.
    Assembly,
    /// The timing marks, where they meet.
    Gears,
    /// The cap and its leads, from above.
    Cap,
    /// The valves in the fewest turns of the crank.
    Valves,
    /// A degree wheel at true size.
    Wheel,
    /// A degree strip to wrap round a pulley.
    Strip,
}

impl SheetPart {
    /// In the order they are set.
    pub const ALL: [Self; 7] = [
        Self::Card,
        Self::Assembly,
        Self::Gears,
        Self::Cap,
        Self::Valves,
        Self::Wheel,
        Self::Strip,
    ];
}

/// What is asked of a sheet.
#[derive(Clone, Debug, Default)]
pub struct SheetOptions {
    /// The paper.
    pub paper: Paper,
    /// The parts that were asked for by name; every part the engine has where none was.
    pub only: Vec<SheetPart>,
    /// The diameter of the degree wheel and, where the strip was asked for by name, of the pulley.
    pub diameter_mm: Option<f64>,
}

/// A part that was asked for and cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Absent {
    /// No distributor, no cap.
    NoDistributor,
    /// Nothing says how large the pulley is.
    NoPulley,
}

impl Absent {
    /// What is wrong, and what would mend it.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::NoDistributor => (
                "this engine has no distributor, so it has no cap to draw",
                "leave `cap` out of --only",
            ),
            Self::NoPulley => (
                "nothing says how large the pulley is, so there is no strip to lay round it",
                "give --diameter MM, or pulley_diameter in the description",
            ),
        }
    }
}

/// The pages.
///
/// # Errors
/// Where a part that was asked for by name cannot be had of this engine.
pub fn pages(phasing: &Phasing, wanted: &SheetOptions) -> Result<Vec<Drawing>, Absent> {
    let mut setting = Setting::new(phasing, wanted.paper);
    let named = |part| wanted.only.contains(&part);
    for part in SheetPart::ALL {
        if !(wanted.only.is_empty() || named(part)) {
            continue;
        }
        let set = match part {
            SheetPart::Card => card::set(&mut setting, phasing),
            SheetPart::Assembly => assembly::set(&mut setting, phasing),
            SheetPart::Gears => gears::set(&mut setting, phasing),
            SheetPart::Cap => cap::set(&mut setting, phasing),
            SheetPart::Valves => valves::set(&mut setting, phasing),
            SheetPart::Wheel => wheel::set(
                &mut setting,
                phasing,
                wanted.diameter_mm.unwrap_or(wheel::USUAL_MM),
            ),
            SheetPart::Strip => {
                let given = if named(SheetPart::Strip) {
                    wanted.diameter_mm
                } else {
                    None
                };
                strip::set(&mut setting, phasing, given)
            }
        };
        if let Err(absent) = set
            && named(part)
        {
            return Err(absent);
        }
    }
    Ok(setting.finish())
}
