//! `dotwise speed`: how fast the window draws here.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::window::Opened;
use crate::window::frame_rate::{Cost, Speed, measure};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// Frames of each scene.
    #[arg(long, value_name = "N", default_value_t = 120, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    frames: u32,
    /// At 1920 by 1080 instead of 1280 by 720.
    #[arg(long)]
    large: bool,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Record {
    adapter: String,
    width: u32,
    height: u32,
    frames: u32,
    empty_ms: f64,
    engine_ms: f64,
    ratio: f64,
    empty_with_panels_ms: f64,
    engine_with_panels_ms: f64,
    ratio_with_panels: f64,
    empty_first_ms: f64,
    engine_first_ms: f64,
    first_ratio: f64,
    empty_frames_a_second: f64,
    engine_frames_a_second: f64,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let opened = Opened {
            engine: phasing.engine().clone(),
            assembly: phasing.assembly().clone(),
            named: None,
        };
        let size = if self.large {
            (1920, 1080)
        } else {
            (1280, 720)
        };
        let speed = measure(&opened, self.frames as usize, size).map_err(|error| {
            Error::line(
                error.to_string(),
                "every other command does without a graphics adapter",
            )
        })?;
        let record = self.record(&speed, size);
        if self.json {
            Answer::json(&record)
        } else {
            Ok(Answer::text(words(&record)))
        }
    }

    fn record(&self, speed: &Speed, (width, height): (u32, u32)) -> Record {
        let ms = |cost: Cost| cost.median.as_secs_f64() * 1e3;
        let first = |cost: Cost| cost.first.as_secs_f64() * 1e3;
        Record {
            adapter: speed.adapter.clone(),
            width,
            height,
            frames: self.frames,
            empty_ms: ms(speed.empty),
            engine_ms: ms(speed.engine),
            ratio: ms(speed.engine) / ms(speed.empty),
            empty_with_panels_ms: ms(speed.empty_with_panels),
            engine_with_panels_ms: ms(speed.engine_with_panels),
            ratio_with_panels: ms(speed.engine_with_panels) / ms(speed.empty_with_panels),
            empty_first_ms: first(speed.empty_with_panels),
            engine_first_ms: first(speed.engine_with_panels),
            first_ratio: first(speed.engine_with_panels) / first(speed.empty_with_panels),
            empty_frames_a_second: speed.empty_a_second,
            engine_frames_a_second: speed.engine_a_second,
        }
    }
}

fn words(record: &Record) -> String {
    format!(
        "{} at {} × {}, {} frames of each, off screen, median frame:\n\
         a box and a label          {:8.2} ms\n\
         the engine and a label     {:8.2} ms   {:.2} × the box\n\
         a box and all panels       {:8.2} ms\n\
         the engine and all panels  {:8.2} ms   {:.2} × the box\n\
         First picture: {:.0} ms, the box's {:.0} ms: {:.2} ×\n\
         Running, none waited for: {:.0} frames a second, the box {:.0}\n",
        record.adapter,
        record.width,
        record.height,
        record.frames,
        record.empty_ms,
        record.engine_ms,
        record.ratio,
        record.empty_with_panels_ms,
        record.engine_with_panels_ms,
        record.ratio_with_panels,
        record.engine_first_ms,
        record.empty_first_ms,
        record.first_ratio,
        record.engine_frames_a_second,
        record.empty_frames_a_second,
    )
}
