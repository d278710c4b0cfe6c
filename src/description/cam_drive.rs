//! The drive from the crankshaft to the camshaft.

use serde::{Deserialize, Serialize};

use super::walk::{Walk, part};

part! {
    /// What drives the camshaft.
    pub struct CamDrive {
        /// Gears, chain or belt.
        pub kind: DriveKind,
        /// Teeth on the crank's gear or sprocket.
        pub crank_teeth: u32,
        /// Teeth on the camshaft's: twice the crank's.
        pub cam_teeth: u32,
        /// Teeth of each idler gear between them, crank first.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub idler_teeth: Vec<u32>,
        /// Crank degrees at which the timing marks come together.
        #[serde(default)]
        pub marks_meet_at: f64,
        /// Gears: pitch diameter over teeth.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub module: Option<f64>,
        /// Play at the pitch circle.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub backlash: Option<f64>,
        /// Where the camshaft lies from the crankshaft, in clock degrees seen from the front. For
        /// the model only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub cam_at: Option<f64>,
    }
}

/// How the crank drives the camshaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum DriveKind {
    /// Gear on gear: the camshaft turns against the crank, unless an idler turns it about.
    Gears,
    /// A roller chain: the camshaft turns with the crank.
    Chain,
    /// A toothed belt: the camshaft turns with the crank.
    Belt,
}

impl Walk for DriveKind {}
