//! Where a command writes a file, and whether it may replace one.

use std::path::{Path, PathBuf};

use super::answer::{Answer, Error, Terminal};
use crate::drawing::Drawing;
use crate::engine::Subject;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::output::{file, fonts, html, json, pdf, svg, text};
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
    /// Every file, where there are several; `file` is then the first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    files: Vec<String>,
    what: &'a str,
    bytes: usize,
}

/// Files, each with its bytes.
type Files = Vec<(PathBuf, Vec<u8>)>;

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

    /// Writes pages about an engine as built: one file, or, as SVG, which has but one page, a file for each
    /// page. A character that the type lacks is told.
    pub(super) fn write_pages(
        &self,
        phasing: &Phasing,
        subjects: &[Subject],
        terminal: Terminal,
        title: &str,
        pages: &[Drawing],
        what: &str,
    ) -> Result<Answer, Error> {
        let format = self.page_format()?;
        let files = if format == PageFormat::Svg && pages.len() > 1 && !self.is_stream() {
            let svg = |page: &Drawing| svg::document(page, svg::Colours::Paper).into_bytes();
            let numbers = 1..;
            numbers
                .zip(pages)
                .map(|(number, page)| (self.numbered(number), svg(page)))
                .collect()
        } else {
            vec![(self.output.clone(), format.document(title, pages)?)]
        };
        let answer = self.write_files(phasing, subjects, terminal, files, what)?;
        let missing = missing_signs(pages, format, terminal);
        Ok(Answer {
            err: missing + &answer.err,
            ..answer
        })
    }

    /// The file of a page, counted from 1: `sheet.svg` becomes `sheet-1.svg`.
    fn numbered(&self, number: usize) -> PathBuf {
        let stem = self.output.file_stem().unwrap_or_default();
        let mut name = stem.to_os_string();
        name.push(format!("-{number}."));
        name.push(self.output.extension().unwrap_or_default());
        self.output.with_file_name(name)
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
        let files = vec![(self.output.clone(), bytes)];
        self.write_files(phasing, subjects, terminal, files, what)
    }

    fn write_files(
        &self,
        phasing: &Phasing,
        subjects: &[Subject],
        terminal: Terminal,
        files: Files,
        what: &str,
    ) -> Result<Answer, Error> {
        let basis = json::Basis::of(phasing, subjects);
        let answer = self.write(&basis, files, what)?;
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

    fn write(&self, basis: &json::Basis, files: Files, what: &str) -> Result<Answer, Error> {
        if self.is_standard() && self.json {
            return Err(Error::line(
                "standard output cannot hold both the file and JSON about it",
                "name a file, or leave out --json",
            ));
        }
        if self.is_standard() {
            let bytes = files.into_iter().flat_map(|(_, bytes)| bytes);
            return Ok(Answer::file(bytes.collect()));
        }
        // Of several files none is written where one would be refused for standing there.
        if files.len() > 1 && !self.force {
            let there = files
                .iter()
                .find(|(path, _)| path.symlink_metadata().is_ok());
            if let Some((path, _)) = there {
                return Err(crate::output::Error::Exists(path.clone()).into());
            }
        }
        for (path, bytes) in &files {
            file::whole(path, bytes, self.force)?;
        }
        let bytes = files.iter().map(|(_, bytes)| bytes.len()).sum();
        let names: Vec<String> = files
            .iter()
            .map(|(path, _)| path.display().to_string())
            .collect();
        let (first, last) = match &names[..] {
            [first, .., last] => (first.clone(), Some(last.clone())),
            [only] => (only.clone(), None),
            [] => (self.output.display().to_string(), None),
        };
        if self.json {
            return Answer::json(&basis.under(Written {
                file: first,
                files: if last.is_some() { names } else { Vec::new() },
                what,
                bytes,
            }));
        }
        let to = last.map_or(String::new(), |last| format!(" to {last}"));
        let mut out = TextWriter::new(TerminalStyle::default());
        out.line(format!("{first}{to}: {what}, {} kB", bytes.div_ceil(1000)));
        Ok(Answer::text(out.finish()))
    }
}

/// The characters that the type of the pages has no sign for, and what stands there instead.
fn missing_signs(pages: &[Drawing], format: PageFormat, terminal: Terminal) -> String {
    let missing = fonts::missing(pages);
    if missing.is_empty() {
        return String::new();
    }
    let mut out = TextWriter::new(terminal.err);
    let told = |character: char| format!("{character} (U+{:04X})", u32::from(character));
    if format == PageFormat::Pdf {
        let mut fonts: Vec<(Option<String>, Vec<String>)> = Vec::new();
        for (character, font) in fonts::found_for(&missing) {
            match fonts.iter_mut().find(|(other, _)| *other == font) {
                Some((_, signs)) => signs.push(told(character)),
                None => fonts.push((font, vec![told(character)])),
            }
        }
        for (font, signs) in fonts {
            let signs = signs.join(", ");
            out.paragraph(match font {
                Some(font) => {
                    format!("note: the sheet's type has no sign for {signs}: taken from {font}.")
                }
                None => format!(
                    "warning: no font here has a sign for {signs}: an empty box stands in its place."
                ),
            });
        }
    } else {
        let all: Vec<String> = missing.into_iter().map(told).collect();
        out.paragraph(format!(
            "note: the sheet's type has no sign for {}; whatever shows the page takes a font of its own.",
            all.join(", ")
        ));
    }
    out.finish()
}
