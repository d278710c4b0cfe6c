//! What the builder sees: the `*.seen.ron` file.
//!
//! An [`Observation`] is what could be seen without moving the crank. The crank's own marks cannot
//! tell which of its two turns it is on, so each sighting may have been made on either; only where
//! the builder turned the crank forwards from the sighting before, by less than a turn, and says so
//! (`turned_on`), is it known which turn the one is on as the other is. (Not even then where the
//! two marks are one within their reading: the crank may have gone all but a turn, or hardly
//! moved.)
//!
//! Each thing seen has its `within`: how well it could be read. Nothing inside it rules anything
//! out.
//!
//! This file holds the fields; [`fields`] their ranges, [`check`] what cannot have been seen on
//! this engine, [`read()`] both together.

pub mod check;
pub mod fields;
mod read;

pub use read::{ReadObservations, read};

use serde::{Deserialize, Serialize};

use crate::description::Valve;
use crate::description::walk::{Walk, part};

/// How well a crank mark can be read without a degree wheel. Common practice, no source.
pub const CRANK_WITHIN_DEG: f64 = 3.0;
/// How well a rotor's direction can be judged by eye, rotor degrees. Common practice, no source.
pub const ROTOR_WITHIN_DEG: f64 = 8.0;
/// How well a timing light or a lamp can be read on a pulley, crank degrees. Common practice, no
/// source.
pub const SPARK_WITHIN_DEG: f64 = 2.0;

part! {
    /// A whole file of sightings.
    pub struct Observations {
        /// The version of this format: 1.
        pub format: u32,
        /// What was seen, each at one place of the crank.
        pub sightings: Vec<Observation>,
        /// Cylinder numbers as their leads are plugged, from No. 1's tower in the rotor's
        /// direction: where they were traced. Without it they are taken as drawn, and what was seen
        /// may tell otherwise.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub leads: Option<Vec<u32>>,
        /// Degrees by which the distributor's body is turned against the rotor's rotation from
        /// where it is drawn.
        #[serde(default, skip_serializing_if = "crate::description::is_zero")]
        pub body_turn: f64,
    }
}

impl Default for Observations {
    fn default() -> Self {
        Self {
            format: 1,
            sightings: Vec::new(),
            leads: None,
            body_turn: 0.0,
        }
    }
}

part! {
    /// What was seen at one place of the crank.
    pub struct Observation {
        /// Degrees past No. 1's TDC mark by the crank's own marks, 0 to 360.
        pub crank: f64,
        /// How well that could be read.
        #[serde(default = "crank_within", skip_serializing_if = "is_crank_within")]
        pub within: f64,
        /// The crank was turned forwards to here from the sighting before, by less than a turn.
        #[serde(default, skip_serializing_if = "is_false")]
        pub turned_on: bool,
        /// What the valves did.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub valves: Vec<ValveObservation>,
        /// Where the rotor pointed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rotor: Option<RotorObservation>,
        /// Cylinders that pushed the thumb off the plug hole as the crank was turned forwards to
        /// here.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub compression_felt: Vec<u32>,
        /// Teeth, counted at the marks, by which the cam's dot stands ahead (+) or behind (−).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub cam_teeth_off: Option<i32>,
        /// When one plug got its spark.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub spark: Option<SparkObservation>,
    }
}

impl Observation {
    /// Nothing seen yet, with the crank at this mark.
    pub fn at(crank: f64) -> Self {
        Self {
            crank,
            within: CRANK_WITHIN_DEG,
            turned_on: false,
            valves: Vec::new(),
            rotor: None,
            compression_felt: Vec::new(),
            cam_teeth_off: None,
            spark: None,
        }
    }

    /// Whether it holds anything but a crank mark.
    pub fn is_empty(&self) -> bool {
        self.valves.is_empty()
            && self.rotor.is_none()
            && self.compression_felt.is_empty()
            && self.cam_teeth_off.is_none()
            && self.spark.is_none()
    }
}

part! {
    /// A valve that was looked at.
    #[derive(Copy, Eq)]
    pub struct ValveObservation {
        /// Its cylinder.
        pub cylinder: u32,
        /// Which of the two.
        pub valve: Valve,
        /// What it did.
        pub is: ValveState,
    }
}

/// What a valve does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum ValveState {
    /// Off its seat.
    Open,
    /// On its seat.
    Closed,
}

impl Walk for ValveState {}

impl ValveState {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Closed => "closed",
        }
    }
}

part! {
    /// Where the rotor pointed: by the clock, or by the tower it pointed at.
    #[derive(Copy, Default)]
    pub struct RotorObservation {
        /// Clock degrees, looking down on the cap.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub clock: Option<f64>,
        /// The cylinder whose tower, as drawn, it pointed at.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub tower: Option<u32>,
        /// How well that could be judged, rotor degrees; by a tower, as far as midway to its
        /// neighbours where it is not given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub within: Option<f64>,
    }
}

part! {
    /// When a plug got its spark.
    #[derive(Copy)]
    pub struct SparkObservation {
        /// The plug's cylinder.
        pub cylinder: u32,
        /// Crank degrees before that cylinder's own firing TDC, with the weights and the capsule at
        /// rest; negative, after.
        pub btdc: f64,
        /// How well that could be read.
        #[serde(default = "spark_within", skip_serializing_if = "is_spark_within")]
        pub within: f64,
        /// What it was seen by.
        #[serde(default, skip_serializing_if = "Light::is_lamp")]
        pub by: Light,
    }
}

/// What a spark was seen by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Light {
    /// A lamp on the lead, the crank turned by hand with that cylinder's valves in view: the turn
    /// is known.
    #[default]
    Lamp,
    /// A timing light: it shows the crank's mark, and the mark cannot tell the turn. 8° before TDC
    /// may be 352° after.
    Strobe,
}

impl Walk for Light {}

impl Light {
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde hands fields over by reference"
    )]
    fn is_lamp(&self) -> bool {
        *self == Self::Lamp
    }
}

fn crank_within() -> f64 {
    CRANK_WITHIN_DEG
}

fn spark_within() -> f64 {
    SPARK_WITHIN_DEG
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn is_false(value: &bool) -> bool {
    !*value
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn is_crank_within(value: &f64) -> bool {
    value.to_bits() == CRANK_WITHIN_DEG.to_bits()
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn is_spark_within(value: &f64) -> bool {
    value.to_bits() == SPARK_WITHIN_DEG.to_bits()
}
