//! `dotwise handout`: the engine as one HTML file, for a phone at the club.

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use super::output::OutputArg;
use crate::output::handout;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// The file.
    #[command(flatten)]
    output: OutputArg,
    /// Hide the answers until they are asked for.
    #[arg(long)]
    quiz: bool,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        if !self.output.is_stream()
            && !matches!(self.output.ending().as_deref(), Some("html" | "htm"))
        {
            let what = format!("{}: a handout is HTML", self.output.output.display());
            return Err(Error::line(what, "end it in .html"));
        }
        let phasing = self.engine.phasing(terminal)?;
        let page = handout::document(&phasing, self.quiz).map_err(|error| {
            Error::line(
                format!("the handout cannot be written: {error}"),
                "tell the makers of Dotwise",
            )
        })?;
        let (subjects, bytes) = (handout::SUBJECTS, page.into_bytes());
        self.output
            .write_about(&phasing, subjects, terminal, bytes, "1 page")
    }
}
