//! Why the window or a picture cannot be had.

/// Why the window or a picture cannot be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Error {
    /// There is no display or no graphics adapter; says why, as part of a sentence.
    NoWindow(String),
    /// The graphics adapter gave no picture.
    NoPicture,
    /// There is no pane of that title: what was asked for, and the titles there are.
    NoPane(String, Vec<&'static str>),
    /// The picture could not be encoded as PNG; says why.
    Png(String),
}

impl std::error::Error for Error {}

impl std::fmt::Display for Error {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoWindow(why) => write!(to, "{why}"),
            Self::NoPicture => write!(to, "the graphics adapter gave no picture"),
            Self::NoPane(asked, titles) => {
                write!(
                    to,
                    "there is no pane {asked}: it must be {}",
                    titles.join(", ")
                )
            }
            Self::Png(why) => write!(to, "the picture could not be written as PNG: {why}"),
        }
    }
}
