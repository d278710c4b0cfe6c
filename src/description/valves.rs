//! The valve events and the lobes that give them.

use serde::{Deserialize, Serialize};

use super::walk::{Walk, part};

part! {
    /// The valve events and the lobes that give them.
    pub struct Valves {
        /// The intake valve's events and lift.
        pub intake: Intake,
        /// The exhaust valve's events and lift.
        pub exhaust: Exhaust,
        /// The lift at which the four events are quoted; 0 is at the seat.
        #[serde(default, skip_serializing_if = "super::is_zero")]
        pub quoted_at: f64,
        /// The lift law.
        #[serde(default)]
        pub lobe: LiftLaw,
        /// How lobe and valve are joined. For the model only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub gear: Option<ValveGear>,
    }
}

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

part! {
    /// The intake valve.
    pub struct Intake {
        /// Crank degrees before top dead centre at which it opens.
        pub opens_btdc: f64,
        /// Crank degrees after bottom dead centre at which it closes.
        pub closes_abdc: f64,
        /// Full lift at the valve.
        pub lift: f64,
    }
}

part! {
    /// The exhaust valve.
    pub struct Exhaust {
        /// Crank degrees before bottom dead centre at which it opens.
        pub opens_bbdc: f64,
        /// Crank degrees after top dead centre at which it closes.
        pub closes_atdc: f64,
        /// Full lift at the valve.
        pub lift: f64,
    }
}

/// The law by which a lobe lifts its valve.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum LiftLaw {
    /// Single dwell, symmetric 3-4-5-6 polynomial.
    #[default]
    Polynomial,
}

impl Walk for LiftLaw {}

/// How a lobe reaches its valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ValveGear {
    /// The camshaft lies low; follower, push rod and rocker carry the lift up.
    PushRod,
    /// The camshaft lies over the valves.
    Overhead,
}

impl Walk for ValveGear {}
