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

use std::collections::BTreeMap;
use std::fmt;

use serde::de::{self, MapAccess, Unexpected, Visitor};
use serde::{Deserialize, Deserializer, Serialize};

use crate::description::Valve;
use crate::description::walk::{Item, Place, Walk, part};
use crate::diagnosis::stage::Stage;
use crate::engine::Engine;

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
        /// How far the build had got.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub stage: Option<Stage>,
        /// What the valves did; with the case open, what the lobes did to the followers on them.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub valves: Vec<ValveObservation>,
        /// Where the rotor pointed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rotor: Option<RotorObservation>,
        /// Where the slot of a geared shaft stood, the distributor lifted off.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub slot: Option<SlotObservation>,
        /// Cylinders that pushed the thumb off the plug hole as the crank was turned forwards to
        /// here.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub compression_felt: Vec<u32>,
        /// Teeth, counted at the marks, by which the cam's dot stands ahead (+) or behind (−): of
        /// several camshafts every one's, or by name.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub cam_teeth_off: Option<CamTeethOff>,
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
            stage: None,
            valves: Vec::new(),
            rotor: None,
            slot: None,
            compression_felt: Vec::new(),
            cam_teeth_off: None,
            spark: None,
        }
    }

    /// Whether it holds anything but a crank mark.
    pub fn is_empty(&self) -> bool {
        self.valves.is_empty()
            && self.rotor.is_none()
            && self.slot.is_none()
            && self.compression_felt.is_empty()
            && self.cam_teeth_off.is_none()
            && self.spark.is_none()
    }
}

/// Teeth counted at the marks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum CamTeethOff {
    /// At the camshaft's dot; of several at every one's, all alike.
    Every(i32),
    /// At the dots of these camshafts, by their names.
    Named(BTreeMap<String, i32>),
}

impl CamTeethOff {
    /// Each camshaft whose dot was counted, from 0, with its teeth; names that no camshaft of this
    /// engine has are left out.
    pub fn counted(&self, engine: &Engine) -> Vec<(usize, i32)> {
        match self {
            Self::Every(teeth) => (0..engine.camshaft_count())
                .map(|camshaft| (camshaft, *teeth))
                .collect(),
            Self::Named(teeth) => {
                let known = teeth
                    .iter()
                    .filter_map(|(name, teeth)| Some((engine.camshaft_named(name)?, *teeth)));
                let mut known: Vec<_> = known.collect();
                known.sort_unstable();
                known
            }
        }
    }
}

impl Walk for CamTeethOff {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        match self {
            Self::Every(teeth) => teeth.walk(at, visit),
            Self::Named(all) => {
                visit(at, Item::List(all.len()));
                all.values().for_each(|teeth| teeth.walk(at, visit));
            }
        }
    }
}

impl<'de> Deserialize<'de> for CamTeethOff {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Counted;
        impl<'de> Visitor<'de> for Counted {
            type Value = CamTeethOff;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a whole number of teeth, or camshafts' names with theirs in braces")
            }

            fn visit_i64<E: de::Error>(self, teeth: i64) -> Result<Self::Value, E> {
                i32::try_from(teeth)
                    .map(CamTeethOff::Every)
                    .map_err(|_| E::invalid_value(Unexpected::Signed(teeth), &self))
            }

            fn visit_u64<E: de::Error>(self, teeth: u64) -> Result<Self::Value, E> {
                i32::try_from(teeth)
                    .map(CamTeethOff::Every)
                    .map_err(|_| E::invalid_value(Unexpected::Unsigned(teeth), &self))
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut named = BTreeMap::new();
                while let Some((name, teeth)) = map.next_entry::<String, i32>()? {
                    named.insert(name, teeth);
                }
                Ok(CamTeethOff::Named(named))
            }
        }
        deserializer.deserialize_any(Counted)
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
    /// Where the slot of a geared shaft stood, seen with the distributor lifted off.
    #[derive(Copy)]
    pub struct SlotObservation {
        /// Clock degrees, looking down, from the same mark as the cap's: its narrow side, or either
        /// end of a central one.
        pub clock: f64,
        /// How well that could be judged, degrees.
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
