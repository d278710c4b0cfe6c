//! `dotwise table`: where everything stands over two turns of the crank.

use super::input::{EngineArg, degrees};
use super::{Answer, Refusal, Terminal};
use crate::angle::CrankTurn;
use crate::output::{csv, json, text};

/// The finest step: 72,000 readings.
const LEAST_STEP_DEG: f64 = 0.01;

/// What `table` is asked.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The engine.
    #[command(flatten)]
    pub engine: EngineArg,
    /// Crank degrees from row to row, 0.01 to 720.
    #[arg(long, value_name = "DEG", default_value_t = 30.0, allow_negative_numbers = true, value_parser = degrees)]
    pub step: f64,
    /// For a spreadsheet.
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// One JSON document instead of text.
    #[arg(long)]
    pub json: bool,
}

impl Args {
    /// Reads the engine over 720°.
    ///
    /// # Errors
    /// Where the engine or the step cannot be used.
    pub fn run(&self, terminal: Terminal) -> Result<Answer, Refusal> {
        if !(LEAST_STEP_DEG..=720.0).contains(&self.step) {
            return Err(Refusal::line(
                format!("--step {}: {LEAST_STEP_DEG} to 720 is allowed", self.step),
                "give the crank degrees from one row to the next, as in --step 30",
            ));
        }
        let phasing = self.engine.phasing(terminal)?;
        let readings = phasing.sweep(CrankTurn::new(self.step));
        if self.json {
            let readings: Vec<_> = readings.collect();
            return Answer::json(
                &readings
                    .iter()
                    .map(|reading| json::ReadingRecord::of(&phasing, reading))
                    .collect::<Vec<_>>(),
            );
        }
        if self.csv {
            return csv::table(&phasing, readings)
                .map(Answer::text)
                .map_err(|error| Refusal(format!("the table cannot be written: {error}\n")));
        }
        Ok(Answer::text(text::table(&phasing, readings, terminal.out)))
    }
}
