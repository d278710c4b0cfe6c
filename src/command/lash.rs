//! `dotwise lash`: the fewest crank positions at which every valve can be set.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees as parse_degrees};
use crate::angle::CrankAngle;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::text::at_dead_centre;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, Lash, NeverFree, lash};
use crate::words::{cylinders, degrees};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Crank degrees a valve is to be off its lobe on both sides.
    #[arg(long, value_name = "DEG", allow_negative_numbers = true, default_value_t = DEFAULT_MARGIN_DEG, value_parser = margin)]
    margin: f64,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// A margin: 0 to under half a cycle.
fn margin(text: &str) -> Result<f64, String> {
    match parse_degrees(text)? {
        value if (0.0..360.0).contains(&value) => Ok(value),
        _ => Err("the margin is 0° to under 360°; 20° is usual".into()),
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let found = lash(&phasing, self.margin);
        let answer = if self.json {
            Answer::json(&found)?
        } else {
            Answer::text(text(&phasing, &found, self.margin, terminal.out))
        };
        Ok(answer.not_right(!found.never.is_empty()))
    }
}

fn text(phasing: &Phasing, found: &Lash, margin_deg: f64, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    let stops = match found.stops.len() {
        1 => "one stop".to_owned(),
        count => format!("{count} stops"),
    };
    out.strong(format!(
        "{}: {stops}, each valve off its lobe by {} or more on both sides. Fewer will not do.",
        phasing.engine().name(),
        degrees(margin_deg)
    ));
    let mut before = None;
    for (index, stop) in found.stops.iter().enumerate() {
        let crank = stop.crank.degrees();
        let on = before.replace(crank).map_or(String::new(), |before| {
            format!(", {} on", degrees(crank - before))
        });
        let place = place(phasing, stop.crank);
        out.line("");
        out.hanging(
            format!("crank at {}{on}: {place}", degrees(crank)),
            &format!("{}. ", index + 1),
            "   ",
        );
        for (what, numbers) in [("intake ", &stop.intake), ("exhaust", &stop.exhaust)] {
            if !numbers.is_empty() {
                out.line(format!("     set {what} of {}", cylinders(numbers)));
            }
        }
    }
    for NeverFree { cylinder, valve } in &found.never {
        out.caution(format!(
            "The {} valve of No. {cylinder} is nowhere off its lobe by {} on both sides: give a smaller --margin, and ask the engine maker's \
             manual how it is set.",
            valve.word(),
            degrees(margin_deg)
        ));
    }
    out.turning_caution();
    out.finish()
}

/// Where that is, as a builder finds it: by the cylinders at dead centre, or from the TDC before
/// it.
fn place(phasing: &Phasing, crank: CrankAngle) -> String {
    let reading = phasing.at(crank);
    let [firing, overlap, bottom] = [
        DeadCentre::FiringTdc,
        DeadCentre::OverlapTdc,
        DeadCentre::Bdc,
    ]
    .map(|dead_centre| at_dead_centre(&reading, dead_centre));
    if !firing.is_empty() {
        let mate = if overlap.is_empty() {
            String::new()
        } else {
            format!(", {} on overlap", cylinders(&overlap))
        };
        return format!("{} at firing TDC{mate}", cylinders(&firing));
    }
    if !overlap.is_empty() {
        return format!("{} at TDC on overlap", cylinders(&overlap));
    }
    let mark = format!("{} past No. 1's TDC mark", degrees(crank.by_the_mark()));
    if bottom.is_empty() {
        mark
    } else {
        format!("{} at BDC, {mark}", cylinders(&bottom))
    }
}
