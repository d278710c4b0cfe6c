//! `dotwise degree`: lobe centres from a degree wheel, against the card.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees as parse_degrees, measure};
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::gear_train;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::procedures::degreeing::{Degreed, EventReadings, card_centre_deg, degree};
use crate::words::{advance, advanced, degrees, number, teeth};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Where the intake valve came to the lift and back to it, degrees after No. 1's overlap TDC;
    /// negative before it.
    #[arg(long, num_args = 2, value_names = ["OPEN", "CLOSE"], required = true, allow_negative_numbers = true, value_parser = parse_degrees)]
    intake: Vec<f64>,
    /// The same for the exhaust valve: it opens well before that TDC.
    #[arg(long, num_args = 2, value_names = ["OPEN", "CLOSE"], allow_negative_numbers = true, value_parser = parse_degrees)]
    exhaust: Option<Vec<f64>>,
    /// The lift at which they were read, in the file's units.
    #[arg(long, value_name = "LIFT", allow_negative_numbers = true, value_parser = measure)]
    at: f64,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let engine = phasing.engine();
        let intake = readings("--intake", &self.intake)?;
        let exhaust = self
            .exhaust
            .as_deref()
            .map(|given| readings("--exhaust", given))
            .transpose()?;
        let units = engine.written().units;
        let Some(found) = degree(engine, intake, exhaust, self.at * units.millimetres()) else {
            let valves = &engine.written().valves;
            let least = if exhaust.is_some() {
                valves.intake.lift.min(valves.exhaust.lift)
            } else {
                valves.intake.lift
            };
            return Err(Error::line(
                format!(
                    "--at {} {}: the valve never passes that lift",
                    number(self.at, 3),
                    units.short()
                ),
                format!(
                    "give a lift from 0 to under {} {}, the full lift",
                    number(least, 3),
                    units.short()
                ),
            ));
        };
        let answer = if self.json {
            Answer::json(&found)?
        } else {
            Answer::text(text(engine, &found, terminal.out))
        };
        Ok(answer.not_right(found.cam_teeth != 0))
    }
}

/// Two readings in order.
fn readings(option: &str, given: &[f64]) -> Result<EventReadings, Error> {
    const MOST_DEG: f64 = 720.0;
    let &[opens_deg, closes_deg] = given else {
        return Err(Error::line(
            format!("{option} takes two readings"),
            "where the valve came to the lift, and where it came back to it",
        ));
    };
    let outside = given.iter().find(|reading| reading.abs() > MOST_DEG);
    if let Some(outside) = outside {
        return Err(Error::line(
            format!("{option} {}: −720° to 720° is allowed", degrees(*outside)),
            "count from No. 1's overlap TDC, negative before it",
        ));
    }
    if closes_deg <= opens_deg || closes_deg - opens_deg >= MOST_DEG {
        return Err(Error::line(
            format!(
                "{option} {} {}: the valve would close before it opens",
                degrees(opens_deg),
                degrees(closes_deg)
            ),
            "count both from No. 1's overlap TDC: before it negative, and on past 180° without starting again",
        ));
    }
    Ok(EventReadings {
        opens_deg,
        closes_deg,
    })
}

fn text(engine: &Engine, found: &Degreed, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    out.headline(match found.cam_teeth {
        0 => format!("{}: the camshaft is on its tooth.", engine.name()),
        count => format!(
            "{}: the camshaft is {} {}.",
            engine.name(),
            teeth(count),
            advanced(count > 0)
        ),
    });
    measured(engine, found, &mut out);
    let tooth = gear_train::crank_per_cam_tooth(&engine.metric().cam_drive).degrees();
    let whole = match found.cam_teeth {
        0 => "no whole tooth".to_owned(),
        count => teeth(count),
    };
    let mut said = format!(
        "Against the card it stands {}: {whole} (one is {} of crank), and {} besides.",
        way(found.against_card_deg),
        degrees(tooth),
        way(found.rest_deg)
    );
    match found.backlash_crank_deg {
        Some(play) if found.rest_deg.abs() <= play => {
            said += &format!(
                " Backlash alone, {} of crank, could account for the rest.",
                degrees(play)
            );
        }
        Some(play) => {
            said += &format!(
                " Backlash accounts for {} of crank at most: the rest is the wheel's key, the grinding or the reading.",
                degrees(play)
            );
        }
        None => {}
    }
    out.line("");
    out.paragraph(said);
    doubts(found).iter().for_each(|doubt| out.paragraph(doubt));
    out.turning_caution();
    out.finish()
}

/// What was measured, a line each, against the card.
fn measured(engine: &Engine, found: &Degreed, out: &mut TextWriter) {
    let mut row = |name: &str, measured: f64, side: &str, card: f64, ahead: f64| {
        out.line(format!(
            "  {name:<16} {:>7} {side}; card {}: {}",
            degrees(measured),
            degrees(card),
            way(ahead)
        ));
    };
    let [intake, exhaust] =
        [Valve::Intake, Valve::Exhaust].map(|valve| card_centre_deg(engine, valve));
    let centre = found.intake_centre_deg;
    row(
        "intake centre",
        centre,
        "after TDC ",
        intake,
        found.by_valve_deg.0,
    );
    if let (Some(centre), Some(ahead)) = (found.exhaust_centre_deg, found.by_valve_deg.1) {
        row("exhaust centre", centre, "before TDC", exhaust, ahead);
    }
    if let (Some(separation), Some(advance)) = (found.separation_deg, found.advance_deg) {
        out.line(format!(
            "  {:<16} {:>7} of cam; card {}",
            "separation",
            degrees(separation),
            degrees(f64::midpoint(intake, exhaust))
        ));
        out.line(format!(
            "  {:<16} {:>7} of crank against straight up",
            "advance",
            degrees(advance)
        ));
    }
}

/// How far early or late; 0° where it is too little to read.
fn way(deg: f64) -> String {
    if deg.abs() < 0.005 {
        "0°".to_owned()
    } else {
        advance(deg)
    }
}

/// What makes the readings doubtful.
fn doubts(found: &Degreed) -> Vec<String> {
    /// A reading on a degree wheel, both ends together. Common practice, no source.
    const READ_WITHIN_DEG: f64 = 4.0;
    /// A lobe that is not quite the lift law still lies within this at usual lifts. Common
    /// practice, no source.
    const LOBE_WITHIN_DEG: f64 = 15.0;
    let mut doubts = Vec::new();
    if let Some(exhaust) = found.by_valve_deg.1
        && (found.by_valve_deg.0 - exhaust).abs() > READ_WITHIN_DEG
    {
        doubts.push(
            "Intake and exhaust do not agree: read both again, taking up the slack in the running direction, or look for a camshaft that is \
             not the card's."
                .to_owned(),
        );
    }
    for (name, longer) in [
        ("intake", Some(found.longer_deg.0)),
        ("exhaust", found.longer_deg.1),
    ] {
        if let Some(longer) = longer.filter(|longer| longer.abs() > LOBE_WITHIN_DEG) {
            let way = if longer > 0.0 { "longer" } else { "shorter" };
            doubts.push(format!(
                "The {name} was over that lift for {} {way} than the description's lobe has it: check the lift and the dial.",
                degrees(longer.abs().round())
            ));
        }
    }
    doubts
}
