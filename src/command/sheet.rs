//! `dotwise sheet`: what goes to the bench, as SVG, PDF or HTML.

use super::answer::{Answer, Error, Terminal};
use super::input::{EngineArg, measure};
use super::output::OutputArg;
use crate::drawing::Drawing;
use crate::output::paper::Paper;
use crate::output::sheet::{self, SheetOptions, SheetPart, wheel};
use crate::output::{html, pdf, svg};
use crate::words::counted;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// The file: its ending, .pdf, .svg or .html, says what is written; standard output gets SVG.
    #[command(flatten)]
    output: OutputArg,
    /// The paper.
    #[arg(long, value_name = "PAPER", value_enum, ignore_case = true, default_value_t = Paper::A4)]
    paper: Paper,
    /// These parts and no others.
    #[arg(long, value_name = "PART", value_enum, num_args = 1.., value_delimiter = ',')]
    only: Vec<SheetPart>,
    /// The degree wheel's diameter in millimetres; with `--only strip`, the pulley's.
    #[arg(long, value_name = "MM", value_parser = measure, allow_negative_numbers = true)]
    diameter: Option<f64>,
}

/// What a sheet can be written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum FileFormat {
    Svg,
    Pdf,
    Html,
}

impl FileFormat {
    fn of(output: &OutputArg) -> Option<Self> {
        match output.ending().as_deref() {
            None if output.is_standard() => Some(Self::Svg),
            Some("svg") => Some(Self::Svg),
            Some("pdf") => Some(Self::Pdf),
            Some("html" | "htm") => Some(Self::Html),
            _ => None,
        }
    }
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let kind = FileFormat::of(&self.output).ok_or_else(|| {
            Error::line(
                format!(
                    "{}: its ending does not say what to write",
                    self.output.output.display()
                ),
                "end it in .pdf, .svg or .html",
            )
        })?;
        if let Some(diameter) = self.diameter
            && !wheel::RANGE_MM.contains(&diameter)
        {
            let (least, most) = (wheel::RANGE_MM.start(), wheel::RANGE_MM.end());
            return Err(Error::line(
                format!("--diameter {diameter}: {least} to {most} mm is allowed"),
                "give the diameter in millimetres",
            ));
        }
        let phasing = self.engine.phasing(terminal)?;
        let wanted = SheetOptions {
            paper: self.paper,
            only: self.only.clone(),
            diameter_mm: self.diameter,
        };
        let pages = sheet::pages(&phasing, &wanted)?;
        let title = format!("{}, on paper", phasing.engine().name());
        let bytes = match kind {
            FileFormat::Svg => {
                svg::document(&stacked(&title, &pages), svg::Colours::Paper).into_bytes()
            }
            FileFormat::Html => html::document(&title, &pages).into_bytes(),
            FileFormat::Pdf => pdf::document(&title, &pages)?,
        };
        self.output
            .write(bytes, &counted(pages.len(), "page", "pages"))
    }
}

/// Pages one under another, as one drawing: an SVG has but one.
fn stacked(title: &str, pages: &[Drawing]) -> Drawing {
    if let [page] = pages {
        return page.clone();
    }
    let wide = pages.iter().map(|page| page.size.x).fold(0.0, f64::max);
    let mut whole = Drawing::new(title, wide, pages.iter().map(|page| page.size.y).sum());
    let mut y = 0.0;
    for page in pages {
        whole.place(page, glam::DVec2::new(0.0, y), 1.0);
        y += page.size.y;
    }
    whole
}
