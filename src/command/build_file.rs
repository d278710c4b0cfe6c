//! The build file of a command: what was done and measured so far.

use std::path::Path;
use std::sync::Arc;

use super::answer::{Error, Terminal};
use super::input::Source;
use crate::engine::Engine;
use crate::procedures::job::Progress;

/// A build file as it was read, or none.
pub(super) struct BuildFile {
    pub(super) progress: Progress,
    /// What was found in it, as it is shown.
    pub(super) warnings: String,
}

impl BuildFile {
    pub(super) fn none(engine: &Engine) -> Self {
        Self {
            progress: Progress::none(engine.name()),
            warnings: String::new(),
        }
    }

    /// Reads it or, where it is not there yet, the steps as they were kept before there were build
    /// files; where neither is, nothing is done yet, if it `may_be_new`.
    pub(super) fn read(
        path: &Path,
        engine: &Arc<Engine>,
        may_be_new: bool,
        terminal: Terminal,
    ) -> Result<Self, Error> {
        let is_new = path.to_str() != Some("-") && !path.exists();
        let old = is_new.then(|| path.with_extension("").with_extension("job.ron"));
        let from = match old {
            None => path.to_path_buf(),
            Some(old) if old.is_file() => old,
            Some(_) if may_be_new => return Ok(Self::none(engine)),
            Some(_) => {
                return Err(Error::line(
                    format!("{}: there is no such build file", path.display()),
                    "`--done KEY` begins one",
                ));
            }
        };
        let source = Source::open(&from.to_string_lossy())?;
        let read = Progress::read_of(&source.text, engine);
        match read.progress {
            None => Err(source.refused(&read.findings, read.more, terminal)),
            Some(progress) => Ok(Self {
                progress,
                warnings: source.report(&read.findings, read.more, terminal.err.colour),
            }),
        }
    }
}
