//! `dotwise at`: where everything stands at each crank angle.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees};
use crate::angle::CrankAngle;
use crate::output::text;
use crate::phasing::READING;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Crank degrees after No. 1's firing TDC; 360 is its overlap.
    #[arg(value_name = "DEG", required = true, allow_negative_numbers = true, value_parser = degrees)]
    degrees: Vec<f64>,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let readings = self
            .degrees
            .iter()
            .map(|&degrees| phasing.at(CrankAngle::new(degrees)));
        if self.json {
            return Answer::readings(&phasing, readings);
        }
        let texts: Vec<String> = readings
            .map(|reading| text::reading(&phasing, &reading, terminal.out))
            .collect();
        let text = texts.join("\n");
        Ok(Answer::text_about(&phasing, READING, terminal, text))
    }
}
