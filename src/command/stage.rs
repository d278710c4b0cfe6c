//! How far the build has got: `--stage` and `--without` of every command that names what to look at.

use clap::ValueEnum;
use clap::builder::PossibleValue;

use super::answer::Error;
use crate::description::Case;
use crate::diagnosis::stage::{Sight, Stage};
use crate::engine::Engine;

/// The heading that these stand under.
const IN_SIGHT: &str = "What can be seen and reached";

#[derive(Clone, Debug, clap::Args)]
pub(super) struct StageArgs {
    /// How far the build has got [default: cover-off].
    #[arg(long, help_heading = IN_SIGHT, value_name = "STAGE", value_enum)]
    stage: Option<Stage>,
    /// What is not in yet, or cannot be reached.
    #[arg(long, help_heading = IN_SIGHT, value_name = "LIST", value_enum, value_delimiter = ',')]
    pub(super) without: Vec<Sight>,
}

impl StageArgs {
    /// The stage, of an engine that comes through it.
    pub(super) fn stage(&self, engine: &Engine) -> Result<Stage, Error> {
        let stage = self.stage.unwrap_or_default();
        if stage == Stage::CaseOpen && engine.written().case == Some(Case::OneBlock) {
            return Err(Error::line(
                format!(
                    "--stage case-open: the case of {} is one block, in which crank and camshaft never lie open",
                    engine.name()
                ),
                "leave it out for the stage with the cover off; before the head is on, with `--without valves,thumb`",
            ));
        }
        Ok(stage)
    }

    /// Whether either was given.
    pub(super) fn is_given(&self) -> bool {
        self.stage.is_some() || !self.without.is_empty()
    }

    /// What can be seen and reached.
    pub(super) fn sights(&self, engine: &Engine) -> Result<Vec<Sight>, Error> {
        Ok(self.stage(engine)?.sights_without(&self.without))
    }
}

impl ValueEnum for Stage {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.word()).help(self.what()))
    }
}

impl ValueEnum for Sight {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.word()))
    }
}
