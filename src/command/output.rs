//! Where a command writes a file, and whether it may replace one.

use std::path::{Path, PathBuf};

use super::answer::{Answer, Error, Terminal};
use crate::drawing::Drawing;
use crate::engine::Subject;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::{file, html, json, pdf, svg, text};
use crate::phasing::Phasing;

/// The file a command writes.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct OutputArg {
    /// The file to write; `-` is standard output.
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,
    /// Replace the file if it is there.
    #[arg(long)]
    pub(super) force: bool,
    /// Say what was written as one JSON document.
    #[arg(long)]
    pub(super) json: bool,
}

/// What pages can be written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PageFormat {
    Svg,
    Pdf,
    Html,
}

impl PageFormat {
    /// A file of these pages.
    pub(super) fn document(self, title: &str, pages: &[Drawing]) -> Result<Vec<u8>, Error> {
        Ok(match self {
            Self::Svg => svg::document(&stacked(title, pages), svg::Colours::Paper).into_bytes(),
            Self::Html => html::document(title, pages).into_bytes(),
            Self::Pdf => pdf::document(title, pages)?,
        })
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

#[derive(serde::Serialize)]
struct Written<'a> {
    file: String,
    what: &'a str,
    bytes: usize,
}

impl OutputArg {
    /// Whether it goes to standard output: its name is `-`, or one that the system has for it.
    pub(super) fn is_standard(&self) -> bool {
        const NAMES: [&str; 3] = ["/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"];
        self.output == Path::new("-")
            || self.force && NAMES.iter().any(|name| self.output == Path::new(name))
    }

    /// Whether it goes to what takes bytes as they come: standard output, a pipe, a device.
    pub(super) fn is_stream(&self) -> bool {
        let there = self.output.metadata();
        self.is_standard() || there.is_ok_and(|there| !there.is_file() && !there.is_dir())
    }

    /// The ending that says what to write, in small letters.
    pub(super) fn ending(&self) -> Option<String> {
        Some(self.output.extension()?.to_str()?.to_ascii_lowercase())
    }

    /// What pages are written as, by the file's ending; standard output, a pipe or a device gets
    /// SVG.
    pub(super) fn page_format(&self) -> Result<PageFormat, Error> {
        match self.ending().as_deref() {
            None if self.is_stream() => Ok(PageFormat::Svg),
            Some("svg") => Ok(PageFormat::Svg),
            Some("pdf") => Ok(PageFormat::Pdf),
            Some("html" | "htm") => Ok(PageFormat::Html),
            _ => Err(Error::line(
                format!(
                    "{}: its ending does not say what to write",
                    self.output.display()
                ),
                "end it in .pdf, .svg or .html",
            )),
        }
    }

    /// Writes a file about an engine as built, whole or not at all, and says so in a line, or hands
    /// the bytes over for standard output. Where valves meet pistons the answer means 'not right',
    /// and says why.
    pub(super) fn write_about(
        &self,
        phasing: &Phasing,
        subjects: &[Subject],
        terminal: Terminal,
        bytes: Vec<u8>,
        what: &str,
    ) -> Result<Answer, Error> {
        let basis = json::Basis::of(phasing, subjects);
        let answer = self.write(&basis, bytes, what)?;
        let meets = phasing.valve_clearance().meets();
        let as_built = |style| text::as_built(phasing, style);
        Ok(if self.is_standard() {
            let err = as_built(terminal.err);
            Answer { err, ..answer }
        } else if self.json {
            answer
        } else {
            let out = [as_built(terminal.out).into_bytes(), answer.out].concat();
            Answer { out, ..answer }
        }
        .not_right(meets))
    }

    fn written<'a>(&self, what: &'a str, bytes: usize) -> Written<'a> {
        Written {
            file: self.output.display().to_string(),
            what,
            bytes,
        }
    }

    fn write(&self, basis: &json::Basis, bytes: Vec<u8>, what: &str) -> Result<Answer, Error> {
        if self.is_standard() && self.json {
            return Err(Error::line(
                "standard output cannot hold both the file and JSON about it",
                "name a file, or leave out --json",
            ));
        }
        if self.is_standard() {
            return Ok(Answer::file(bytes));
        }
        file::whole(&self.output, &bytes, self.force)?;
        if self.json {
            return Answer::json(&basis.under(self.written(what, bytes.len())));
        }
        let mut out = TextWriter::new(TerminalStyle::default());
        out.line(format!(
            "{}: {what}, {} kB",
            self.output.display(),
            bytes.len().div_ceil(1000)
        ));
        Ok(Answer::text(out.finish()))
    }
}
