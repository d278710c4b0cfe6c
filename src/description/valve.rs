//! Which of a cylinder's valves.

use serde::{Deserialize, Serialize};

use super::walk::Walk;

/// One of a cylinder's two valves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Valve {
    /// The intake valve.
    Intake,
    /// The exhaust valve.
    Exhaust,
}

impl Valve {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::Intake, Self::Exhaust];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Intake => "intake",
            Self::Exhaust => "exhaust",
        }
    }
}

impl Walk for Valve {}
