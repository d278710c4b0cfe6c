//! `dotwise at`: where everything stands at each crank angle.

use super::input::{EngineArg, degrees};
use super::{Answer, Refusal, Terminal};
use crate::angle::CrankAngle;
use crate::output::{json, text};

/// What `at` is asked.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The engine.
    #[command(flatten)]
    pub engine: EngineArg,
    /// Crank degrees after No. 1's firing TDC; 360 is its overlap.
    #[arg(value_name = "DEG", required = true, allow_negative_numbers = true, value_parser = degrees)]
    pub degrees: Vec<f64>,
    /// One JSON document instead of text.
    #[arg(long)]
    pub json: bool,
}

impl Args {
    /// Reads the engine at each angle.
    ///
    /// # Errors
    /// Where the engine cannot be used.
    pub fn run(&self, terminal: Terminal) -> Result<Answer, Refusal> {
        let phasing = self.engine.phasing(terminal)?;
        let readings = self
            .degrees
            .iter()
            .map(|&degrees| phasing.at(CrankAngle::new(degrees)));
        if self.json {
            let readings: Vec<_> = readings.collect();
            return Answer::json(
                &readings
                    .iter()
                    .map(|reading| json::ReadingRecord::of(&phasing, reading))
                    .collect::<Vec<_>>(),
            );
        }
        let texts: Vec<String> = readings
            .map(|reading| text::reading(&phasing, &reading, terminal.out))
            .collect();
        Ok(Answer::text(texts.join("\n")))
    }
}
