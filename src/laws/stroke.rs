//! The four strokes and the dead centres between them, by the cylinder's own phase: 0 at its firing
//! TDC.
//!
//! From top to bottom dead centre the crank turns B degrees ([`SliderCrank::down_stroke_deg`]), 180
//! without a pin offset, so the strokes begin at 0, B, 360 and 360 + B.
//!
//! [`SliderCrank::down_stroke_deg`]: super::SliderCrank::down_stroke_deg

use serde::Serialize;

/// A piston this near an end of its way stands at dead centre: about what a pointer and a pulley
/// mark can be read to.
pub const DEAD_CENTRE_WITHIN_DEG: f64 = 0.5;

/// The four strokes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stroke {
    /// From firing TDC to BDC.
    Power,
    /// From that BDC to overlap TDC.
    Exhaust,
    /// From overlap TDC to BDC.
    Intake,
    /// From that BDC to firing TDC.
    Compression,
}

impl Stroke {
    /// In the order they come, from firing TDC.
    pub const ALL: [Self; 4] = [Self::Power, Self::Exhaust, Self::Intake, Self::Compression];

    /// The stroke at a phase, 0 ≤ α < 720.
    pub(crate) fn at(phase_deg: f64, down_stroke_deg: f64) -> Self {
        let later = [Self::Compression, Self::Intake, Self::Exhaust];
        let begun = |stroke: &Self| phase_deg >= stroke.begins_deg(down_stroke_deg);
        later.into_iter().find(begun).unwrap_or(Self::Power)
    }

    /// The phase at which it begins, the dead centre before it.
    pub(crate) fn begins_deg(self, down_stroke_deg: f64) -> f64 {
        match self {
            Self::Power => 0.0,
            Self::Exhaust => down_stroke_deg,
            Self::Intake => 360.0,
            Self::Compression => 360.0 + down_stroke_deg,
        }
    }

    /// Its name, as in the JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Exhaust => "exhaust",
            Self::Intake => "intake",
            Self::Compression => "compression",
        }
    }
}

/// A piston at one end of its way, to within [`DEAD_CENTRE_WITHIN_DEG`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DeadCentre {
    /// Top, the end of compression: the cylinder fires.
    FiringTdc,
    /// Top, exhaust closing and intake opening.
    OverlapTdc,
    /// Bottom.
    Bdc,
}

impl DeadCentre {
    /// The dead centre at a phase, 0 ≤ α < 720.
    pub(crate) fn at(phase_deg: f64, down_stroke_deg: f64) -> Option<Self> {
        let near = |at: f64| (phase_deg - at).abs() <= DEAD_CENTRE_WITHIN_DEG;
        if near(0.0) || near(720.0) {
            Some(Self::FiringTdc)
        } else if near(360.0) {
            Some(Self::OverlapTdc)
        } else if near(down_stroke_deg) || near(360.0 + down_stroke_deg) {
            Some(Self::Bdc)
        } else {
            None
        }
    }

    /// Its name in the JSON.
    pub fn key(self) -> &'static str {
        match self {
            Self::FiringTdc => "firing_tdc",
            Self::OverlapTdc => "overlap_tdc",
            Self::Bdc => "bdc",
        }
    }

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::FiringTdc => "TDC firing",
            Self::OverlapTdc => "TDC overlap",
            Self::Bdc => "BDC",
        }
    }
}
