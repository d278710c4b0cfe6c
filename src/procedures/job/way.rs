//! The ways through the job: which of its steps an engine needs.

use serde::{Deserialize, Serialize};

/// What is built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Way {
    /// A new build: everything is put in for the first time.
    #[default]
    NewBuild,
    /// An engine that was stripped: its own parts go back where they were.
    Stripped,
    /// An engine opened at the front alone: the cam drive was off, and everything else stayed in.
    FrontOpened,
}

impl Way {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::NewBuild, Self::Stripped, Self::FrontOpened];

    /// Its name, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::NewBuild => "new",
            Self::Stripped => "stripped",
            Self::FrontOpened => "front",
        }
    }

    /// What it is, in a few words.
    pub fn what(self) -> &'static str {
        match self {
            Self::NewBuild => "a new build",
            Self::Stripped => "an engine that was stripped",
            Self::FrontOpened => "an engine opened at the front alone",
        }
    }
}
