//! `dotwise tdc`: true TDC from two positive-stop readings, and how wide the top looks.

use super::answer::{Answer, Error, Terminal};
use super::input::{
    AsBuiltArgs, EngineArg, Length, degrees as parse_degrees, length as length_given,
};
use crate::angle::wrap_signed;
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::engine::Subject;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::tdc;
use crate::procedures::tdc::{Stop, Top};
use crate::words::{Units, degrees, length, number};

#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("how").required(true).args(["stop", "by_eye"])))]
pub(super) struct Args {
    /// The degree wheel at the stop, turning one way and the other; its numbers rise as the crank
    /// turns on.
    #[arg(long, num_args = 2, value_names = ["A", "B"], allow_negative_numbers = true, value_parser = parse_degrees)]
    stop: Option<Vec<f64>>,
    /// How wide the top looks to a dial that shows nothing under this length, as in 0.01mm or
    /// 0.0005in; a plain number is in the file's units. Needs ENGINE.
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = length_given)]
    by_eye: Option<Length>,
    /// A file, `-` for standard input, or the name of a built-in engine.
    #[arg(value_name = "ENGINE")]
    engine: Option<String>,
    /// How it was put together.
    #[command(flatten)]
    as_built: AsBuiltArgs,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// What the answers speak of.
const PISTONS: &[Subject] = &[Subject::Pistons];

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let engine = self.engine.as_ref().map(|engine| EngineArg {
            engine: engine.clone(),
            second_ignition: false,
            as_built: self.as_built.clone(),
        });
        let phasing = engine.map(|engine| engine.phasing(terminal)).transpose()?;
        if let Some(&[a, b]) = self.stop.as_deref() {
            return self.stop_answer(a, b, phasing.as_ref(), terminal);
        }
        let (Some(phasing), Some(by_eye)) = (phasing, self.by_eye) else {
            return Err(Error::line(
                "how wide the top looks depends on crank and rod",
                "name the ENGINE, as in `dotwise tdc --by-eye 0.01 bench_four`",
            ));
        };
        let units = phasing.engine().written().units;
        let drop_mm = by_eye.millimetres(units);
        let top = tdc::by_eye(phasing.slider(), drop_mm).ok_or_else(|| {
            let travel = phasing.slider().travel_mm();
            Error::line(
                format!(
                    "a dial cannot show the piston {} down",
                    fine(drop_mm, units)
                ),
                format!("it goes from 0 to {}", length(travel, units)),
            )
        })?;
        let text = || top_text(&phasing, top, terminal.out);
        Answer::about(&phasing, PISTONS, terminal, self.json, || &top, text)
    }

    fn stop_answer(
        &self,
        a: f64,
        b: f64,
        phasing: Option<&Phasing>,
        terminal: Terminal,
    ) -> Result<Answer, Error> {
        let stop = tdc::stop(a, b, phasing.map(Phasing::slider))
            .map_err(|error| Error::line(error.to_string(), error.remedy()))?;
        let text = || stop_text(&stop, phasing, terminal.out);
        let answer = match phasing {
            Some(phasing) => Answer::about(phasing, PISTONS, terminal, self.json, || &stop, text)?,
            None => {
                let rests_on = [
                    "No engine was named: its gudgeon pins were taken to have no offset."
                        .to_owned(),
                ];
                Answer::without_engine(&rests_on, terminal, self.json, || &stop, text)?
            }
        };
        Ok(answer.not_right(stop.straddles_bdc))
    }
}

fn stop_text(stop: &Stop, phasing: Option<&Phasing>, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    if stop.straddles_bdc {
        let bottom = on_the_wheel(stop.tdc_deg);
        let top = on_the_wheel(stop.tdc_deg + 180.0);
        out.headline(format!(
            "These readings lie either side of {bottom}: on a wheel set about right, 0 near the top, that is BDC."
        ));
        out.paragraph(format!(
            "TDC would then be near {top}. A stop meets the piston on either side of its top: turn the crank back from the stop past \
             the bottom and up to it from the other side, or set the wheel near 0 first. Where the wheel was put on anyhow, what \
             follows holds."
        ));
        out.line("");
    }
    out.headline(format!(
        "TDC is where the wheel, as it stands, reads {}.",
        on_the_wheel(stop.tdc_deg)
    ));
    out.caution(format!(
        "Turn gently to the stop and never by the starter. {TURNING_CAUTION}"
    ));
    out.line("");
    out.paragraph(format!(
        "The readings are {} apart over the top, {} either side of midway. Take the stop out, turn the crank forwards to {}, and \
         without moving the crank set the wheel to 0 there.",
        degrees(stop.apart_deg),
        degrees(stop.apart_deg / 2.0),
        on_the_wheel(stop.tdc_deg)
    ));
    out.paragraph(midway(stop, phasing));
    out.paragraph(
        "This is TDC of one of the two turns: whether firing or overlap, the valves tell (`dotwise dropin`).",
    );
    out.finish()
}

/// A figure on a wheel that counts either way from 0.
fn on_the_wheel(deg: f64) -> String {
    degrees(0.0 - wrap_signed(0.0 - deg, 360.0))
}

/// How far midway between the readings is from TDC.
fn midway(stop: &Stop, phasing: Option<&Phasing>) -> String {
    let (Some(phasing), Some(mm)) = (phasing, stop.stop_mm) else {
        return "With an offset gudgeon pin midway is off by a few hundredths of a degree; name the ENGINE and it is taken off."
            .to_owned();
    };
    let at = format!(
        "The stop held the piston {} below its top.",
        length(mm, phasing.engine().written().units)
    );
    let error = stop.midpoint_error_deg;
    if error.abs() < 5e-4 {
        return format!("{at} The pin is not offset so far that midway would be out.");
    }
    format!(
        "{at} With the gudgeon pin offset, midway is {}° {}; that is taken off above.",
        number(error.abs(), 3),
        if error > 0.0 { "late" } else { "early" }
    )
}

/// A length as it was given: some dials show less than a length is written to.
fn fine(mm: f64, units: Units) -> String {
    format!("{} {}", number(mm / units.millimetres(), 5), units.short())
}

fn top_text(phasing: &Phasing, top: Top, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    out.headline(format!(
        "{}: to a dial that shows nothing under {} the top is {}° wide.",
        phasing.engine().name(),
        fine(top.by_eye_mm, phasing.engine().written().units),
        number(top.before_deg + top.after_deg, 1)
    ));
    out.paragraph(format!(
        "From {}° before TDC to {}° after it the piston stands within that of its top, so \"highest\" cannot be seen. Take equal drops \
         either side and halve, or use a positive stop (`dotwise tdc --stop A B`).",
        number(top.before_deg, 1),
        number(top.after_deg, 1)
    ));
    out.finish()
}
