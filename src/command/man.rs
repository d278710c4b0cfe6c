//! `dotwise man`: a page of the manual for the program and for each of its commands, made for
//! whoever packs the program.

use std::path::PathBuf;

use super::answer::{Answer, Error};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The folder that the pages are written into.
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

impl Args {
    /// Writes `dotwise.1` and a page for each command of `line`.
    pub(super) fn run(&self, line: clap::Command) -> Result<Answer, Error> {
        clap_mangen::generate_to(line, &self.folder).map_err(|error| {
            Error::line(
                format!(
                    "{}: the manual cannot be written: {error}",
                    self.folder.display()
                ),
                "name a folder that is there and may be written",
            )
        })?;
        Ok(Answer::default())
    }
}
