//! A value, and the file that holds it: reading its text, telling whether it was changed since, and
//! writing it back without losing the comments and the layout of that text.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::source;

/// Where a value was opened from or saved to last, and what was written there.
#[derive(Clone, Debug, PartialEq)]
pub struct Saved<T> {
    path: Option<PathBuf>,
    /// The text and the value that it says; None for work that no text holds yet.
    text: Option<(String, T)>,
}

impl<T> Default for Saved<T> {
    fn default() -> Self {
        Self {
            path: None,
            text: None,
        }
    }
}

impl<T: Serialize + DeserializeOwned + PartialEq> Saved<T> {
    /// A text that says `value`; `path` is the file it came from, where it came from one.
    pub fn new(path: Option<PathBuf>, text: String, value: T) -> Self {
        Self {
            path,
            text: Some((text, value)),
        }
    }

    /// The file.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// The same file now holds this text.
    pub fn set_text(&mut self, text: String, value: T) {
        self.text = Some((text, value));
    }

    /// Whether the file holds exactly this text.
    pub fn is_text(&self, text: &str) -> bool {
        self.text.as_ref().is_some_and(|(saved, _)| saved == text)
    }

    /// Whether `value` is another than the text says.
    pub fn is_changed(&self, value: &T) -> bool {
        self.text.as_ref().is_none_or(|(_, saved)| saved != value)
    }

    /// The text to save: the one it was opened from or saved as, with what `value` has otherwise.
    ///
    /// # Errors
    /// Where the value cannot be written as RON.
    pub fn rewrite(&self, value: &T) -> Result<String, ron::Error> {
        match &self.text {
            Some((text, _)) => source::rewrite(text, value),
            None => source::write(value),
        }
    }
}

/// The text of a file, no larger than a description or observations can be.
///
/// # Errors
/// Why there is none, in words.
pub fn read_text(path: &Path) -> Result<String, String> {
    source::file_text(path).map_err(|error| error.to_string())
}
