//! What may be asked of a sheet.

use super::record;
use crate::diagnosis::stage::{Sight, Stage};
use crate::engine::Subject;
use crate::output::paper::Paper;
use crate::procedures::job::Progress;

/// A part of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, clap::ValueEnum)]
pub enum SheetPart {
    /// The timing card: the engine in one table.
    Card,
    /// The job step by step, with boxes to tick and blanks to fill.
    Assembly,
    /// TDC by the stop, and the camshaft as specified beside as measured.
    Measure,
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
    /// The closing record: the looks that prove it, torques, readings and signatures, to be filled in.
    Record,
}

impl SheetPart {
    /// In the order they are set.
    pub const ALL: [Self; 9] = [
        Self::Card,
        Self::Assembly,
        Self::Measure,
        Self::Gears,
        Self::Cap,
        Self::Valves,
        Self::Wheel,
        Self::Strip,
        Self::Record,
    ];

    /// What its pages speak of, the verdict over them apart.
    pub fn subjects(self) -> &'static [Subject] {
        use Subject::{
            Clearance, Drive, Marks, Pistons, Play, Rotor, Setting, Sparks, Turning, Valves,
        };
        match self {
            Self::Card => &[Valves, Clearance, Marks, Rotor, Sparks, Play],
            Self::Assembly => &[
                Pistons, Valves, Setting, Clearance, Marks, Rotor, Drive, Sparks,
            ],
            Self::Measure => &[Pistons, Valves, Play],
            Self::Gears => &[Marks, Play],
            Self::Cap => &[Rotor, Drive],
            Self::Valves => &[Valves, Setting, Clearance],
            Self::Wheel => &[Pistons, Valves, Turning],
            Self::Strip => &[Turning],
            Self::Record => record::SUBJECTS,
        }
    }
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
    /// How far the build has got: the assembly sheet is filled in so far.
    pub progress: Option<Progress>,
    /// The stage whose witnesses of No. 1's firing TDC are named.
    pub stage: Stage,
    /// What is not in yet, or cannot be reached.
    pub without: Vec<Sight>,
}

impl SheetOptions {
    /// Whether a part is asked for, by its name or with all the others.
    pub fn wants(&self, part: SheetPart) -> bool {
        self.only.is_empty() || self.only.contains(&part)
    }

    /// Whether it is everything for one engine, under a page of contents.
    pub fn is_folder(&self) -> bool {
        self.only.is_empty()
    }

    /// What the pages asked for speak of.
    pub fn subjects(&self) -> Vec<Subject> {
        SheetPart::ALL
            .into_iter()
            .filter(|part| self.wants(*part))
            .flat_map(|part| part.subjects().iter().copied())
            .collect()
    }
}
