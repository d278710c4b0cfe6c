//! Where a command writes a file, and whether it may replace one.

use std::path::{Path, PathBuf};

use super::{Answer, Refusal};
use crate::output::file;
use crate::output::file::NotWritten;

/// The file a command writes.
#[derive(Clone, Debug, clap::Args)]
pub struct OutputArg {
    /// The file to write; `-` is standard output.
    #[arg(short, long, value_name = "FILE")]
    pub output: PathBuf,
    /// Replace the file if it is there.
    #[arg(long)]
    pub force: bool,
    /// Say what was written as one JSON document.
    #[arg(long)]
    pub json: bool,
}

#[derive(serde::Serialize)]
struct Written {
    file: String,
    what: String,
    bytes: usize,
}

impl OutputArg {
    /// Whether it goes to standard output.
    pub fn is_standard(&self) -> bool {
        self.output == Path::new("-")
    }

    /// The ending that says what to write, in small letters.
    pub fn ending(&self) -> Option<String> {
        Some(self.output.extension()?.to_str()?.to_ascii_lowercase())
    }

    /// Writes the file, whole or not at all, and says so in a line, or hands the bytes over for
    /// standard output.
    ///
    /// # Errors
    /// Where the file is there and was not to be replaced, or cannot be written.
    pub fn write(&self, bytes: Vec<u8>, what: &str) -> Result<Answer, Refusal> {
        if self.is_standard() && self.json {
            return Err(Refusal::line(
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
        file::whole(&self.output, &bytes, self.force).map_err(|error| {
            let mend = match &error {
                NotWritten::Exists(_) => "give --force to replace it, or another name",
                NotWritten::Failed(..) => "name a place that is there and may be written to",
            };
            Refusal::line(error.to_string(), mend)
        })?;
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
