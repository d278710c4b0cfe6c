//! The gap that is left at a valve, and what it is set by.

use serde::{Deserialize, Serialize};

use super::walk::{Item, Place, Walk, part};

part! {
    /// The gaps that are set at the valves, with the valve shut.
    pub struct ValveLash {
        /// At the intake valves, measured at the valve.
        pub intake: f64,
        /// At the exhaust valves, measured at the valve.
        pub exhaust: f64,
        /// Whether the engine is cold or hot when they are set.
        pub at: LashAt,
    }
}

/// Whether the engine is cold or hot when its valves are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum LashAt {
    /// Stone cold.
    Cold,
    /// At running temperature.
    Hot,
}

impl LashAt {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Cold => "cold",
            Self::Hot => "hot",
        }
    }
}

impl Walk for LashAt {}

/// What the gap at a valve is set by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Adjusters {
    /// A screw with its locknut.
    #[default]
    Screw,
    /// A shim of the right thickness.
    Shim,
    /// A lifter that oil keeps free of play: no gap, but so many turns past zero lash.
    Hydraulic {
        /// Turns of the adjuster past zero lash.
        preload_turns: f64,
    },
}

impl Adjusters {
    /// Their word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Screw => "screw",
            Self::Shim => "shim",
            Self::Hydraulic { .. } => "hydraulic",
        }
    }
}

impl Walk for Adjusters {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        if let Self::Hydraulic { preload_turns } = self {
            at.field("preload_turns", |at| preload_turns.walk(at, visit));
        }
    }

    fn walk_mut(&mut self, at: &mut Place, visit: &mut dyn FnMut(&Place, &mut f64)) {
        if let Self::Hydraulic { preload_turns } = self {
            at.field("preload_turns", |at| preload_turns.walk_mut(at, visit));
        }
    }
}
