//! `dotwise degree`: lobe centres from a degree wheel, against the card.

use std::path::PathBuf;

use super::answer::{Answer, Error, Terminal};
use super::degree_table::Page;
use super::input::{EngineArg, Length, degrees as parse_degrees, length as length_given};
use super::output::OutputArg;
use super::{degree_table, degreed};
use crate::description::Valve;
use crate::engine::{Engine, Subject};
use crate::laws::Lobes;
use crate::output::paper::Paper;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::procedures::degreeing;
use crate::procedures::degreeing::{Degreed, EventReadings, Found, degree};
use crate::words::{degrees, length, number};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Where the intake valve came to the lift and back to it, degrees after No. 1's overlap TDC;
    /// negative before it.
    #[arg(long, num_args = 2, value_names = ["OPEN", "CLOSE"], required_unless_present = "table", allow_negative_numbers = true, value_parser = parse_degrees)]
    intake: Option<Vec<f64>>,
    /// The same for the exhaust valve: it opens well before that TDC.
    #[arg(long, num_args = 2, value_names = ["OPEN", "CLOSE"], allow_negative_numbers = true, value_parser = parse_degrees)]
    exhaust: Option<Vec<f64>>,
    /// The lift at which they were read, as in 1mm or 0.050in; a plain number is in the file's
    /// units. At the valve, or at the tappet where the file measures its lifts there.
    #[arg(long, value_name = "LIFT", required_unless_present = "table", allow_negative_numbers = true, value_parser = length_given)]
    at: Option<Length>,
    /// Whole lobes instead, read every few degrees: a file of rows, the first naming its columns, as
    /// in `crank;intake lift (mm);exhaust lift (mm)`, in any order, parted by commas, semicolons or
    /// tabs. Degrees count from No. 1's overlap TDC, negative before it; from its firing TDC, 0 to
    /// 720, where their heading says `firing`. `-` for standard input.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["intake", "exhaust", "at"])]
    table: Option<String>,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
    /// Draw the lobes of the table over those of the card: the file's ending, .pdf, .svg or .html,
    /// says what is written; `-` is standard output.
    #[arg(short, long, value_name = "FILE", requires = "table")]
    output: Option<PathBuf>,
    /// Replace the file if it is there.
    #[arg(long, requires = "output")]
    force: bool,
    /// Its paper.
    #[arg(long, value_name = "PAPER", value_enum, ignore_case = true, default_value_t = Paper::A4, requires = "output")]
    paper: Paper,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        if let Some(table) = &self.table {
            if table == "-" && self.engine.engine == "-" {
                return Err(Error::line(
                    "standard input cannot hold both the engine and the table",
                    "name a file for one of them",
                ));
            }
            let phasing = self.engine.phasing(terminal)?;
            let page = self.output.as_ref().map(|output| Page {
                output: OutputArg {
                    output: output.clone(),
                    force: self.force,
                    json: self.json,
                },
                paper: self.paper,
            });
            return degree_table::answer(&phasing, table, self.json, page, terminal);
        }
        if self.output.is_some() {
            // clap lets `requires` go where what is required is ruled out by another option.
            return Err(Error::line(
                "-o draws whole lobes, and two readings of a valve are none",
                "give the lobes read every few degrees with --table, or leave out -o",
            ));
        }
        let (Some(intake), Some(at)) = (&self.intake, self.at) else {
            return Err(Error::line(
                "--intake and --at, or --table, are wanted",
                "`dotwise degree --help` says what each is",
            ));
        };
        let phasing = self.engine.phasing(terminal)?;
        let engine = phasing.engine();
        let units = engine.written().units;
        let lift_mm = at.millimetres(units);
        let given = |valve, given: &[f64]| readings(engine, valve, given, lift_mm);
        let intake = given(Valve::Intake, intake)?;
        let exhaust = self
            .exhaust
            .as_deref()
            .map(|exhaust| given(Valve::Exhaust, exhaust))
            .transpose()?;
        let Some(found) = degree(engine, intake, exhaust, lift_mm) else {
            let lift = |valve| full_lift(engine, valve);
            let least = match exhaust {
                Some(_) => lift(Valve::Intake).min(lift(Valve::Exhaust)),
                None => lift(Valve::Intake),
            };
            return Err(Error::line(
                format!(
                    "--at {} {}: the valve never passes that lift",
                    number(lift_mm / units.millimetres(), 3),
                    units.short()
                ),
                format!(
                    "give a lift from 0 to under {} {}, the full lift",
                    number(least, 3),
                    units.short()
                ),
            ));
        };
        let text = || text(engine, &found, terminal.out);
        let subjects = &[Subject::Valves, Subject::Play];
        let answer = Answer::about(&phasing, subjects, terminal, self.json, || &found, text)?;
        Ok(answer.not_right(found.found != Found::Right || !degreed::doubts(&found).is_empty()))
    }
}

/// A valve's full lift by its card, in the file's units, where lifts are measured.
fn full_lift(engine: &Engine, valve: Valve) -> f64 {
    let valves = &engine.metric().valves;
    let lift_mm = Lobes::on_card(valves).lobe(valve).full_lift_mm() / valves.ratio();
    lift_mm / engine.written().units.millimetres()
}

/// The two readings of a valve.
fn readings(
    engine: &Engine,
    valve: Valve,
    given: &[f64],
    lift_mm: f64,
) -> Result<EventReadings, Error> {
    const MOST_DEG: f64 = 720.0;
    let option = format!("--{}", valve.word());
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
    degreeing::readings(engine, valve, opens_deg, closes_deg, lift_mm)
        .map_err(|error| Error::line(error.to_string(), error.remedy()))
}

fn text(engine: &Engine, found: &Degreed, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    degreed::headline(engine, found, &mut out);
    read_at(engine, found, &mut out);
    degreed::centres(found, &mut out);
    out.line("");
    degreed::verdict(engine, found, &mut out);
    out.turning_caution();
    out.finish()
}

/// The lift that was read at.
fn read_at(engine: &Engine, found: &Degreed, out: &mut TextWriter) {
    let (valves, units) = (&engine.metric().valves, engine.written().units);
    let at_the_valve = length(found.lift_at_valve_mm, units);
    out.line(if valves.is_at_tappet() {
        let at_the_tappet = length(found.lift_at_valve_mm / valves.ratio(), units);
        format!("  read at {at_the_tappet} at the tappet, {at_the_valve} at the valve")
    } else {
        format!("  read at {at_the_valve} at the valve")
    });
}
