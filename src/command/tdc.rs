//! `dotwise tdc`: true TDC from two positive-stop readings, and how wide the top looks.

use super::answer::{Answer, Error, Terminal};
use super::input::{AsBuiltArgs, EngineArg, degrees as parse_degrees, measure};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::tdc::{Stop, Top};
use crate::procedures::{self, tdc};
use crate::words::{degrees, length, number};

#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("how").required(true).args(["stop", "by_eye"])))]
pub(super) struct Args {
    /// The degree wheel at the stop, turning one way and the other; its numbers rise as the crank
    /// turns on.
    #[arg(long, num_args = 2, value_names = ["A", "B"], allow_negative_numbers = true, value_parser = parse_degrees)]
    stop: Option<Vec<f64>>,
    /// How wide the top looks to a dial that shows nothing under so many millimetres; needs ENGINE.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = measure)]
    by_eye: Option<f64>,
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

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let engine = self.engine.as_ref().map(|engine| EngineArg {
            engine: engine.clone(),
            as_built: self.as_built.clone(),
        });
        let phasing = engine.map(|engine| engine.phasing(terminal)).transpose()?;
        if let Some(&[a, b]) = self.stop.as_deref() {
            return self.stop_answer(a, b, phasing.as_ref(), terminal.out);
        }
        let drop_mm = self.by_eye.unwrap_or_default();
        let Some(phasing) = phasing else {
            return Err(Error::line(
                "how wide the top looks depends on crank and rod",
                "name the ENGINE, as in `dotwise tdc --by-eye 0.01 bench_four`",
            ));
        };
        let top = tdc::by_eye(phasing.slider(), drop_mm).ok_or_else(|| {
            let travel = phasing.slider().travel_mm();
            Error::line(
                format!(
                    "a dial cannot show the piston {} mm down",
                    number(drop_mm, 3)
                ),
                format!("it goes from 0 to {} mm", number(travel, 1)),
            )
        })?;
        if self.json {
            return Answer::json(&top);
        }
        Ok(Answer::text(top_text(&phasing, top, terminal.out)))
    }

    fn stop_answer(
        &self,
        a: f64,
        b: f64,
        phasing: Option<&Phasing>,
        style: TerminalStyle,
    ) -> Result<Answer, Error> {
        let stop = tdc::stop(a, b, phasing.map(Phasing::slider)).map_err(|error| {
            let hint = match error {
                procedures::Error::SameStop { .. } => {
                    "turn the crank back from the stop, all the way round to it from the other side, and read again"
                }
                _ => "screw the stop further in or out, so that it holds the piston nearer the top",
            };
            Error::line(error.to_string(), hint)
        })?;
        if self.json {
            return Answer::json(&stop);
        }
        Ok(Answer::text(stop_text(&stop, phasing, style)))
    }
}

fn stop_text(stop: &Stop, phasing: Option<&Phasing>, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    out.headline(format!(
        "TDC is where the wheel, as it stands, reads {}.",
        degrees(stop.tdc_deg)
    ));
    out.paragraph(format!(
        "The readings are {} apart over the top, {} either side of midway. Take the stop out, turn the crank forwards to {}, and \
         without moving the crank set the wheel to 0 there.",
        degrees(stop.apart_deg),
        degrees(stop.apart_deg / 2.0),
        degrees(stop.tdc_deg)
    ));
    out.paragraph(midway(stop, phasing));
    out.paragraph(
        "This is TDC of one of the two turns: whether firing or overlap, the valves tell (`dotwise dropin`).",
    );
    out.caution(format!(
        "Turn gently to the stop and never by the starter. {TURNING_CAUTION}"
    ));
    out.finish()
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

fn top_text(phasing: &Phasing, top: Top, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    out.strong(format!(
        "{}: to a dial that shows nothing under {} mm the top is {}° wide.",
        phasing.engine().name(),
        number(top.by_eye_mm, 3),
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
