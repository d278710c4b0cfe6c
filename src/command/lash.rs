//! `dotwise lash`: the fewest crank positions at which every valve can be set.

use std::fmt::Write as _;

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees as parse_degrees};
use crate::diagnosis::verdict;
use crate::output::json::rounded;
use crate::output::terminal::TerminalStyle;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, Lash, lash};
use crate::words::{COLUMNS, cylinders, degrees, folded};

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

#[derive(Serialize)]
struct LashRecord<'a> {
    stops: Vec<StopRecord<'a>>,
    never: Vec<NeverRecord>,
}

#[derive(Serialize)]
struct StopRecord<'a> {
    crank_deg: f64,
    intake: &'a [u8],
    exhaust: &'a [u8],
}

#[derive(Serialize)]
struct NeverRecord {
    cylinder: u8,
    valve: &'static str,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let found = lash(&phasing, self.margin);
        let answer = if self.json {
            let stops = found.stops.iter().map(|stop| StopRecord {
                crank_deg: rounded(stop.crank.degrees()),
                intake: &stop.intake,
                exhaust: &stop.exhaust,
            });
            let never = found.never.iter().map(|(cylinder, valve)| NeverRecord {
                cylinder: *cylinder,
                valve: valve.word(),
            });
            Answer::json(&LashRecord {
                stops: stops.collect(),
                never: never.collect(),
            })?
        } else {
            Answer::text(text(&phasing, &found, self.margin, terminal.out))
        };
        Ok(answer.not_right(!found.never.is_empty()))
    }
}

fn text(phasing: &Phasing, found: &Lash, margin_deg: f64, style: TerminalStyle) -> String {
    let mut out = String::new();
    let stops = match found.stops.len() {
        1 => "one stop".to_owned(),
        count => format!("{count} stops"),
    };
    let headline = format!(
        "{}: {stops}, each valve off its lobe by {} or more on both sides. Fewer will not do.",
        phasing.engine().name(),
        degrees(margin_deg)
    );
    let _ = writeln!(out, "{}", style.strong(&folded(&headline, "", "", COLUMNS)));
    let mut before = None;
    for (index, stop) in found.stops.iter().enumerate() {
        let on = match before {
            None => String::new(),
            Some(before) => format!(", {} on", degrees(stop.crank.degrees() - before)),
        };
        before = Some(stop.crank.degrees());
        let place = format!(
            "crank at {}{on}: {}",
            degrees(stop.crank.degrees()),
            place(phasing, stop.crank)
        );
        let _ = writeln!(
            out,
            "\n{}",
            folded(&place, &format!("{}. ", index + 1), "   ", COLUMNS)
        );
        for (what, numbers) in [("intake ", &stop.intake), ("exhaust", &stop.exhaust)] {
            if !numbers.is_empty() {
                let _ = writeln!(out, "     set {what} of {}", cylinders(numbers));
            }
        }
    }
    for (cylinder, valve) in &found.never {
        let line = format!(
            "The {} valve of No. {cylinder} is nowhere off its lobe by {} on both sides: give a smaller --margin, and ask the engine maker's \
             manual how it is set.",
            valve.word(),
            degrees(margin_deg)
        );
        let _ = writeln!(out, "\n{}", style.caution(&folded(&line, "", "", COLUMNS)));
    }
    let _ = writeln!(
        out,
        "\n{}",
        style.caution(&folded(verdict::TURNING_CAUTION, "", "", COLUMNS))
    );
    out
}

/// Where that is, as a builder finds it: by the cylinders at dead centre, or from the TDC before
/// it.
fn place(phasing: &Phasing, crank: crate::angle::CrankAngle) -> String {
    let reading = phasing.at(crank);
    let at = |dead_centre| {
        let there = reading
            .cylinders
            .iter()
            .filter(|cylinder| cylinder.dead_centre == Some(dead_centre));
        there.map(|cylinder| cylinder.number).collect::<Vec<u8>>()
    };
    let (firing, overlap, bottom) = (
        at(DeadCentre::FiringTdc),
        at(DeadCentre::OverlapTdc),
        at(DeadCentre::Bdc),
    );
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
