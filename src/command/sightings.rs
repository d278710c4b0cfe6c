//! What was seen on an engine: the SEEN of a command, and the leads and body turn given beside it.

use std::sync::Arc;

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, Source};
use crate::diagnosis::SUBJECTS;
use crate::diagnosis::observations::{self, Observations};
use crate::engine::Engine;

/// An engine and what was seen on it.
pub(super) struct Sightings {
    pub(super) engine: Arc<Engine>,
    pub(super) seen: Observations,
    /// What an answer about them rests on.
    pub(super) rests_on: Vec<String>,
    /// What was found in the text of sightings, as it is shown.
    warnings: String,
}

impl Sightings {
    /// Those of a file, or of standard input for `-`; none where no file is named. What teeth are
    /// out is for the `command` to find.
    pub(super) fn of(
        command: &str,
        engine: &EngineArg,
        seen: Option<&str>,
        terminal: Terminal,
    ) -> Result<Self, Error> {
        if seen == Some("-") && engine.engine == "-" {
            return Err(Error::line(
                "standard input cannot hold both the engine and what was seen",
                "name a file for one of them",
            ));
        }
        if engine.as_built.moves_teeth() {
            return Err(Error::line(
                format!("teeth out are what `{command}` is to find"),
                "leave out --cam-teeth, --drive-teeth and --tongue-half-turn; teeth counted at the marks go in the file as `cam_teeth_off`",
            ));
        }
        let as_built = &engine.as_built;
        let phasing = engine.phasing(terminal)?;
        let (engine, built) = (Arc::clone(phasing.engine()), phasing.assembly());
        let (mut seen, mut rests_on, warnings) = match seen {
            None => (Observations::default(), Vec::new(), String::new()),
            Some(path) => {
                let source = Source::open(path)?;
                let read = observations::read(&source.text, &engine);
                let Some(seen) = read.sightings else {
                    return Err(source.refused(&read.findings, read.more, terminal));
                };
                let warnings = source.report(&read.findings, read.more, terminal.err.colour);
                (seen, read.rests_on, warnings)
            }
        };
        if let Some(leads) = &as_built.leads {
            seen.leads = Some(leads.iter().copied().map(u32::from).collect());
        }
        if built.body_turn_deg != 0.0 {
            seen.body_turn = built.body_turn_deg;
        }
        rests_on.extend(engine.rests_on(SUBJECTS));
        Ok(Self {
            engine,
            seen,
            rests_on,
            warnings,
        })
    }

    /// Says beside what the answer rests on what was taken for the distributor's body or its clamp.
    pub(super) fn also_rests_on(&mut self, said: Option<String>) {
        self.rests_on.extend(said);
    }

    /// The answer with what was found in the text of sightings beside it.
    pub(super) fn beside(self, answer: Answer) -> Answer {
        Answer {
            err: self.warnings,
            ..answer
        }
    }
}
