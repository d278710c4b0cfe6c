//! `dotwise sheet`: what goes to the bench, as SVG, PDF or HTML.

use std::ops::RangeInclusive;
use std::path::PathBuf;

use super::answer::{Answer, Error, Terminal};
use super::build_file::BuildFile;
use super::input::{EngineArg, Length, length as length_given};
use super::output::OutputArg;
use super::stage::StageArgs;
use crate::description::fields::{self, Field};
use crate::output::paper::Paper;
use crate::output::sheet::{self, SheetOptions, SheetPart, wheel};
use crate::words::{counted, size};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// The file: its ending, .pdf, .svg or .html, says what is written; of several pages as SVG each
    /// is a file of its own, sheet-1.svg and on; standard output, a pipe or a device gets SVG, page
    /// under page.
    #[command(flatten)]
    output: OutputArg,
    /// The paper.
    #[arg(long, value_name = "PAPER", value_enum, ignore_case = true, default_value_t = Paper::A4)]
    paper: Paper,
    /// These parts and no others; without it the whole folder, under a page of contents.
    #[arg(long, visible_alias = "part", value_name = "PART", value_enum, num_args = 1.., value_delimiter = ',')]
    only: Vec<SheetPart>,
    #[command(flatten)]
    in_sight: StageArgs,
    /// The degree wheel's diameter, as in 180mm or 7in; a plain number is in the file's units. With
    /// `--only strip`, the pulley's.
    #[arg(long, value_name = "LENGTH", value_parser = length_given, allow_negative_numbers = true)]
    diameter: Option<Length>,
    /// The build file, `NAME.build.ron`: the assembly sheet is filled in as far as it says.
    #[arg(long, value_name = "FILE")]
    build: Option<PathBuf>,
}

impl Args {
    /// What --diameter may be: a pulley's where a strip is asked for and no wheel, else the wheel's.
    fn diameters_mm(&self) -> RangeInclusive<f64> {
        let asked = |part| self.only.contains(&part);
        let pulley = fields::field("pulley_diameter").and_then(Field::range);
        match pulley {
            Some(pulley) if asked(SheetPart::Strip) && !asked(SheetPart::Wheel) => {
                pulley.least..=pulley.most
            }
            _ => wheel::RANGE_MM,
        }
    }

    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        self.output.page_format()?;
        let phasing = self.engine.phasing(terminal)?;
        let units = phasing.engine().written().units;
        let diameter_mm = self.diameter.map(|diameter| diameter.millimetres(units));
        if let Some(diameter_mm) = diameter_mm
            && !self.diameters_mm().contains(&diameter_mm)
        {
            let (least, most) = self.diameters_mm().into_inner();
            return Err(Error::line(
                format!(
                    "--diameter {}: {} to {} is allowed",
                    size(diameter_mm, units),
                    size(least, units),
                    size(most, units)
                ),
                "give the diameter as in 180mm or 7in; a plain number is in the file's units",
            ));
        }
        let build = self.build.as_deref();
        let kept = build.map(|path| BuildFile::read(path, phasing.engine(), false, terminal));
        let kept = kept.transpose()?;
        let wanted = SheetOptions {
            progress: kept.as_ref().map(|kept| kept.progress.clone()),
            paper: self.paper,
            only: self.only.clone(),
            diameter_mm,
            stage: self.in_sight.stage(phasing.engine())?,
            without: self.in_sight.without.clone(),
        };
        let pages = sheet::pages(&phasing, &wanted)?;
        let title = format!("{}, on paper", phasing.engine().name());
        let across = diameter_mm.map_or(String::new(), |diameter_mm| {
            format!(", diameter {}", size(diameter_mm, units))
        });
        let what = counted(pages.len(), "page", "pages") + &across;
        let subjects = wanted.subjects();
        let answer = self
            .output
            .write_pages(&phasing, &subjects, terminal, &title, &pages, &what)?;
        Ok(match kept {
            None => answer,
            Some(kept) => Answer {
                err: kept.warnings + &answer.err,
                ..answer
            },
        })
    }
}
