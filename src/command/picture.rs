//! `dotwise picture`: a picture of the engine, or an animated one, drawn without a window.

use std::path::{Path, PathBuf};

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, degrees};
use crate::output::{file, text};
use crate::window::picture::{Picture, png};
use crate::window::{self, Opened, SetView};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Crank degrees after No. 1's firing TDC.
    #[arg(long, value_name = "DEG", allow_negative_numbers = true, default_value_t = 0.0, value_parser = degrees)]
    at: f64,
    /// From where it is looked at.
    #[arg(long, value_name = "NAME", default_value = "whole", value_parser = look)]
    view: SetView,
    /// The window with all its panes, the one of this title on the right, as in --pane Reading.
    #[arg(long, value_name = "TITLE")]
    pane: Option<String>,
    /// An animated picture: the crank turned on this far from --at.
    #[arg(long, value_name = "DEG", value_parser = degrees)]
    turn: Option<f64>,
    /// Crank degrees from frame to frame of an animated picture.
    #[arg(long, value_name = "DEG", default_value_t = 5.0, value_parser = degrees, requires = "turn")]
    step: f64,
    /// Width and height in pixels.
    #[arg(long, value_name = "WxH", default_value = "1280x720", value_parser = size)]
    size: (u32, u32),
    /// The PNG file to write; `-` for standard output.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Replace the file where it is there already.
    #[arg(long)]
    force: bool,
}

/// More frames than this would take an hour to draw in software and a gigabyte to hold.
const MOST_FRAMES: f64 = 1440.0;

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let picture = Picture {
            view: self.view,
            pane: self.pane.clone(),
            size: self.size,
            turned_deg: self.frames()?,
            frames_a_second: 20,
        };
        let opened = Opened {
            engine: phasing.engine().clone(),
            assembly: phasing.assembly().clone(),
            named: Some(self.engine.engine.clone()),
        };
        let bytes = png(&opened, &picture).map_err(|error| {
            let mend = match error {
                window::Error::NoPane(..) => "give a title as it stands in the window",
                _ => "`dotwise sheet` draws the flat views without a graphics adapter",
            };
            Error::line(error.to_string(), mend)
        })?;
        // The picture says nothing: whether valves meet pistons stands beside it.
        let beside = Answer {
            err: text::as_built(&phasing, terminal.err),
            ..Answer::default()
        }
        .not_right(phasing.valve_clearance().meets());
        if self.output == Path::new("-") {
            return Ok(Answer {
                err: beside.err,
                ..Answer::file(bytes)
            }
            .not_right(beside.not_right));
        }
        file::whole(&self.output, &bytes, self.force)?;
        Ok(beside)
    }

    fn frames(&self) -> Result<Vec<f64>, Error> {
        let Some(turn) = self.turn else {
            return Ok(vec![self.at]);
        };
        let count = (turn / self.step).round();
        if !(1.0..=MOST_FRAMES).contains(&count) {
            return Err(Error::line(
                format!(
                    "--turn {turn} by --step {} is {count} pictures: 1 to {MOST_FRAMES} are allowed",
                    self.step
                ),
                "give a turn and a step of the same sign, such as --turn 720 --step 5",
            ));
        }
        // The last would be the first again where the turn is a whole cycle.
        Ok((0..count as u32)
            .map(|index| self.at + f64::from(index) * self.step)
            .collect())
    }
}

fn look(text: &str) -> Result<SetView, String> {
    let named = |look: &SetView| look.word().eq_ignore_ascii_case(text);
    SetView::ALL
        .into_iter()
        .find(named)
        .ok_or_else(|| "it must be whole, front, cap, drive or side".to_owned())
}

fn size(text: &str) -> Result<(u32, u32), String> {
    const RANGE: std::ops::RangeInclusive<u32> = 16..=8192;
    let sides = text
        .split_once(['x', '×'])
        .and_then(|(width, height)| Some((width.parse().ok()?, height.parse().ok()?)));
    sides
        .filter(|(width, height)| RANGE.contains(width) && RANGE.contains(height))
        .ok_or_else(|| {
            "it must be width x height in pixels, each 16 to 8192, as in 1280x720".to_owned()
        })
}
