//! `dotwise lash`: the fewest crank positions at which every valve can be set.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees as parse_degrees};
use serde::Serialize;

use crate::angle::CrankAngle;
use crate::engine::Subject;
use crate::output::as_built;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::text::at_dead_centre;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, Lash, NeverFree, lash};
use crate::procedures::valve_setting::ValveSetting;
use crate::words::{by_the_tdc_mark, cylinders, degrees};

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
        let setting = ValveSetting::of(phasing.engine());
        let text = || {
            if let Some(first) = as_built::first(&phasing) {
                let mut out = TextWriter::new(terminal.out);
                out.paragraph(format!(
                    "{first} No plan is given that turns the crank past there."
                ));
                return out.finish();
            }
            text(&phasing, &found, &setting, self.margin, terminal.out)
        };
        let subjects = &[Subject::Valves, Subject::Setting];
        let record = || Record {
            lash: &found,
            setting,
        };
        let answer = Answer::about(&phasing, subjects, terminal, self.json, record, text)?;
        Ok(answer.not_right(!found.never.is_empty()))
    }
}

/// The answer for a program.
#[derive(Serialize)]
struct Record<'a> {
    #[serde(flatten)]
    lash: &'a Lash,
    #[serde(flatten)]
    setting: ValveSetting,
}

fn text(
    phasing: &Phasing,
    found: &Lash,
    setting: &ValveSetting,
    margin_deg: f64,
    style: TerminalStyle,
) -> String {
    let mut out = TextWriter::new(style);
    let (name, margin) = (phasing.engine().name(), degrees(margin_deg));
    let stops = match found.stops.len() {
        0 => {
            out.headline(format!(
                "{name}: no valve is ever off its lobe by {margin} on both sides."
            ));
            out.caution(format!(
                "Give a smaller --margin than {margin}, and ask the engine maker's manual how the valves are set."
            ));
            return out.finish();
        }
        1 => "one stop".to_owned(),
        count => format!("{count} stops"),
    };
    out.headline(format!(
        "{name}: {stops}, each valve off its lobe by {margin} or more on both sides. Fewer will not do."
    ));
    out.turning_caution();
    let engine = phasing.engine();
    out.line("");
    out.paragraph(setting.asked(engine));
    out.paragraph(setting.how(engine));
    out.caution(setting.caution());
    let set = setting.verb();
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
                out.line(format!("     {set} {what} of {}", cylinders(numbers)));
            }
        }
    }
    for NeverFree { cylinder, valve } in &found.never {
        out.caution(format!(
            "The {} valve of No. {cylinder} is nowhere off its lobe by {} on both sides: give a smaller --margin, and ask the engine maker's \
             manual how it is set.",
            valve.word(),
            margin
        ));
    }
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
    let mark = by_the_tdc_mark(crank.by_the_mark());
    if bottom.is_empty() {
        mark
    } else {
        format!("{} at BDC, {mark}", cylinders(&bottom))
    }
}
