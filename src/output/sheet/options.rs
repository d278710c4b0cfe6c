//! What may be asked of a sheet.

use crate::output::paper::Paper;

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
