//! `dotwise table`: where everything stands over two turns of the crank.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees};
use crate::angle::CrankTurn;
use crate::output::{csv, text};
use crate::phasing::READING;

/// The finest step: 72,000 readings.
const LEAST_STEP_DEG: f64 = 0.01;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Crank degrees from row to row, 0.01 to 720.
    #[arg(long, value_name = "DEG", default_value_t = 30.0, allow_negative_numbers = true, value_parser = degrees)]
    step: f64,
    /// For a spreadsheet.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        if !(LEAST_STEP_DEG..=720.0).contains(&self.step) {
            return Err(Error::line(
                format!("--step {}: {LEAST_STEP_DEG} to 720 is allowed", self.step),
                "give the crank degrees from one row to the next, as in --step 30",
            ));
        }
        let phasing = self.engine.phasing(terminal)?;
        let readings = phasing.sweep(CrankTurn::new(self.step));
        if self.json {
            return Answer::readings(&phasing, readings);
        }
        if self.csv {
            let table = csv::table(&phasing, readings).map_err(|error| {
                Error::line(
                    format!("the table cannot be written: {error}"),
                    "leave out --csv, and tell the makers of Dotwise",
                )
            })?;
            // A table for a program holds nothing but the table.
            return Ok(Answer {
                err: text::as_built(&phasing, terminal.err),
                ..Answer::text(table).not_right(phasing.valve_clearance().meets())
            });
        }
        let text = text::table(&phasing, readings, terminal.out);
        Ok(Answer::text_about(&phasing, READING, terminal, text))
    }
}
