//! Why something could not be written out.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why nothing was written.
#[derive(Debug)]
pub enum Error {
    /// The file is there already and was to be left alone.
    Exists(PathBuf),
    /// The system would not write the file.
    NotWritten(PathBuf, io::Error),
    /// A cap was asked for by name, and the engine has no distributor.
    NoDistributor,
    /// A strip was asked for by name, and nothing says how large the pulley is.
    NoPulley,
    /// A page's SVG, counted from 0, could not be read back: a fault of the program.
    Page(usize, String),
    /// The pages could not be put together as PDF: a fault of the program.
    Pdf(String),
}

impl Error {
    /// What would put it right, for who gave the command line.
    pub(crate) fn remedy(&self) -> &'static str {
        match self {
            Self::Exists(_) => "give --force to replace it, or another name",
            Self::NotWritten(..) => "name a place that is there and may be written to",
            Self::NoDistributor => "leave `cap` out of --only",
            Self::NoPulley => "give --diameter MM, or pulley_diameter in the description",
            Self::Page(..) | Self::Pdf(_) => "tell the makers of Dotwise",
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists(path) => {
                let path = path.display();
                write!(to, "{path} is there already and was left as it is")
            }
            Self::NotWritten(path, error) => {
                write!(to, "{} could not be written: {error}", path.display())
            }
            Self::NoDistributor => {
                to.write_str("this engine has no distributor, so it has no cap to draw")
            }
            Self::NoPulley => to.write_str(
                "nothing says how large the pulley is, so there is no strip to lay round it",
            ),
            Self::Page(page, why) => write!(to, "page {} could not be drawn: {why}", page + 1),
            Self::Pdf(why) => write!(to, "the PDF could not be put together: {why}"),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::NotWritten(_, error) => Some(error),
            _ => None,
        }
    }
}
