//! `dotwise handout`: the engine as one HTML file, for a phone at the club.

use super::input::EngineArg;
use super::output::OutputArg;
use super::{Answer, Refusal, Terminal};
use crate::output::handout;

/// What `handout` is asked.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The engine.
    #[command(flatten)]
    pub engine: EngineArg,
    /// The file.
    #[command(flatten)]
    pub output: OutputArg,
    /// Hide the answers until they are asked for.
    #[arg(long)]
    pub quiz: bool,
}

impl Args {
    /// Writes the handout.
    ///
    /// # Errors
    /// Where the engine cannot be used, or the file cannot be written.
    pub fn run(&self, terminal: Terminal) -> Result<Answer, Refusal> {
        if !self.output.is_standard()
            && !matches!(self.output.ending().as_deref(), Some("html" | "htm"))
        {
            let what = format!("{}: a handout is HTML", self.output.output.display());
            return Err(Refusal::line(what, "end it in .html"));
        }
        let phasing = self.engine.phasing(terminal)?;
        let page = handout::document(&phasing, self.quiz).map_err(|error| {
            Refusal::line(
                format!("the handout cannot be written: {error}"),
                "tell the makers of Dotwise",
            )
        })?;
        self.output.write(page.into_bytes(), "1 page")
    }
}
