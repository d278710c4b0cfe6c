//! The drive from the crankshaft to the camshaft.

use serde::{Deserialize, Serialize};

use super::walk::{Walk, part};
use crate::words::Units;

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
        /// Crank degrees at which the timing marks come together; 0 where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub marks_meet_at: Option<f64>,
        /// Gears: pitch diameter over teeth; this or `diametral_pitch`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub module: Option<f64>,
        /// Gears: teeth over pitch diameter in inches; this or `module`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub diametral_pitch: Option<f64>,
        /// Chain or belt: from pin to pin, or from tooth to tooth of the belt.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub pitch: Option<f64>,
        /// Chain or belt: its links, or the belt's teeth, from the crank wheel's mark to the
        /// camshaft wheel's, where it is laid on by counting.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub links_between_marks: Option<u32>,
        /// On which side these are counted; on the tight one where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub counted_on: Option<CountedOn>,
        /// Play at the pitch circle; a chain's or belt's slack is its play.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub backlash: Option<f64>,
        /// Where the camshaft lies from the crankshaft, in clock degrees seen from the front. For
        /// the model only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub cam_at: Option<f64>,
    }
}

impl CamDrive {
    /// Crank degrees at which the timing marks come together.
    pub fn marks_meet_at(&self) -> f64 {
        self.marks_meet_at.unwrap_or(0.0)
    }

    /// The side on which the links between the marks are counted.
    pub fn counted_on(&self) -> CountedOn {
        self.counted_on.unwrap_or(CountedOn::TightSide)
    }

    /// Gears: pitch diameter over teeth in whichever way it is given, of a drive with its lengths
    /// in millimetres.
    pub fn module_mm(&self) -> Option<f64> {
        let inch = Units::Inches.millimetres();
        self.module
            .or_else(|| self.diametral_pitch.map(|pitch| inch / pitch))
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

/// The side of a chain or belt on which links are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum CountedOn {
    /// The side that the crank pulls: straight, without a tensioner.
    TightSide,
    /// The side with the tensioner.
    SlackSide,
}

impl Walk for CountedOn {}
