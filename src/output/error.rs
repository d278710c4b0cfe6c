//! Why something could not be written out.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why nothing was written.
#[derive(Debug)]
pub enum Error {
    /// The file is there already and was to be left alone.
    Exists(PathBuf),
    /// The path leads to a folder.
    Folder(PathBuf),
    /// The path is a link to the other, which is not there or leads back.
    LeadsNowhere(PathBuf, PathBuf),
    /// The file may not be written to.
    ReadOnly(PathBuf),
    /// The file has so many names, which a new file in its place would part.
    SeveralNames(PathBuf, u64),
    /// The file's owner or group cannot be given to a new file.
    OtherOwner(PathBuf),
    /// The folder that the file should stand in cannot be had.
    NoFolder(PathBuf, PathBuf, io::Error),
    /// The folder that the file should stand in may not be written to.
    FolderReadOnly(PathBuf, PathBuf),
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
            Self::Folder(_) => "name a file in it",
            Self::LeadsNowhere(..) => "mend or remove the link, or give another name",
            Self::ReadOnly(_) => "let it be written to with `chmod u+w`, or give another name",
            Self::SeveralNames(..) => "remove this name first, or give another name",
            Self::OtherOwner(_) => "remove it first, or give another name",
            Self::FolderReadOnly(..) => {
                "let it be written to with `chmod u+w`, or name another place"
            }
            Self::NotWritten(_, error) if is_full(error) => {
                "make room there, or name another place"
            }
            Self::NoFolder(..) | Self::NotWritten(..) => {
                "name a place that is there and may be written to"
            }
            Self::NoDistributor => "leave `cap` out of --only",
            Self::NoPulley => "give --diameter, as in 160mm, or pulley_diameter in the description",
            Self::Page(..) | Self::Pdf(_) => "tell the makers of Dotwise",
        }
    }
}

fn is_full(error: &io::Error) -> bool {
    use io::ErrorKind::{FileTooLarge, QuotaExceeded, StorageFull};
    matches!(error.kind(), FileTooLarge | QuotaExceeded | StorageFull)
}

impl fmt::Display for Error {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists(path) => {
                let path = path.display();
                write!(to, "{path} is there already and was left as it is")
            }
            Self::Folder(path) => write!(to, "{} is a folder", path.display()),
            Self::LeadsNowhere(path, next) => {
                let (path, next) = (path.display(), next.display());
                write!(to, "{path} is a link to {next}, and that leads nowhere")
            }
            Self::ReadOnly(path) => {
                write!(
                    to,
                    "{} may not be written to: it is read-only",
                    path.display()
                )
            }
            Self::SeveralNames(path, names) => {
                let path = path.display();
                write!(
                    to,
                    "{path} has {names} names (hard links), which a new file would part"
                )
            }
            Self::OtherOwner(path) => {
                let path = path.display();
                write!(
                    to,
                    "{path} belongs to another, and a new file in its place would not"
                )
            }
            Self::NoFolder(path, folder, error) => {
                let (path, folder) = (path.display(), folder.display());
                write!(
                    to,
                    "{path} could not be written: its folder {folder}: {error}"
                )
            }
            Self::FolderReadOnly(path, folder) => {
                let (path, folder) = (path.display(), folder.display());
                write!(
                    to,
                    "{path} could not be written: its folder {folder} is read-only"
                )
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
            Self::NoFolder(_, _, error) | Self::NotWritten(_, error) => Some(error),
            _ => None,
        }
    }
}
