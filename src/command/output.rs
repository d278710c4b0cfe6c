//! Where a command writes a file, and whether it may replace one.

use std::path::{Path, PathBuf};

use super::answer::{Answer, Error};
use crate::output::file;

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

#[derive(serde::Serialize)]
struct Written {
    file: String,
    what: String,
    bytes: usize,
}

impl OutputArg {
    /// Whether it goes to standard output.
    pub(super) fn is_standard(&self) -> bool {
        self.output == Path::new("-")
    }

    /// The ending that says what to write, in small letters.
    pub(super) fn ending(&self) -> Option<String> {
        Some(self.output.extension()?.to_str()?.to_ascii_lowercase())
    }

    /// Writes the file, whole or not at all, and says so in a line, or hands the bytes over for
    /// standard output.
    pub(super) fn write(&self, bytes: Vec<u8>, what: &str) -> Result<Answer, Error> {
        if self.is_standard() && self.json {
            return Err(Error::line(
                "standard output cannot hold both the file and JSON about it",
                "name a file, or leave out --json",
            ));
        }
        if self.is_standard() {
            return Ok(Answer {
                out: bytes,
                ..Answer::default()
            });
        }
        file::whole(&self.output, &bytes, self.force)?;
        if self.json {
            let file = self.output.display().to_string();
            return Answer::json(&Written {
                file,
                what: what.to_owned(),
                bytes: bytes.len(),
            });
        }
        Ok(Answer::text(format!(
            "{}: {what}, {} kB\n",
            self.output.display(),
            bytes.len().div_ceil(1000)
        )))
    }
}
