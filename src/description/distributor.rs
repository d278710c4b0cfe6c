//! The distributor and its drive.

use serde::{Deserialize, Serialize};

use super::walk::{Walk, part};
use crate::angle::Direction;

part! {
    /// The distributor.
    pub struct Distributor {
        /// The shaft that drives it.
        pub driven_by: DrivenBy,
        /// The camshaft that drives it, by name; the first where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub camshaft: Option<String>,
        /// Teeth on the driving shaft.
        pub driver_teeth: u32,
        /// Teeth on the distributor's shaft.
        pub driven_teeth: u32,
        /// How the drive engages; by a gear where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub coupling: Option<Coupling>,
        /// How the shaft that a tongue goes into is driven; one that cannot be out of mesh where
        /// nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub shaft: Option<Shaft>,
        /// Clock degrees, looking down, at which the slot of a geared shaft stands at No. 1's firing
        /// TDC: of its narrow side, or of either end of a central one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub slot_at: Option<f64>,
        /// Which way the rotor turns, looking down on the cap; clockwise where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rotation: Option<Direction>,
        /// Clock degrees of No. 1's tower, looking down on the cap.
        pub number_one_at: f64,
        /// Rotor degrees past No. 1's tower at No. 1 firing TDC; half the static advance where it
        /// is not given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub offset: Option<f64>,
        /// Rotor degrees, clockwise positive, gained as a helical drive seats.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub turns_on_entry: Option<f64>,
        /// The helical drive itself, where `turns_on_entry` is to be worked out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub helix: Option<Helix>,
        /// How far the clamp lets the body turn either way.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub body_range: Option<f64>,
        /// Rotor tip, degrees as seen from the shaft.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub tip_width: Option<f64>,
        /// Tower electrode, degrees as seen from the shaft.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub tower_width: Option<f64>,
    }
}

impl Distributor {
    /// How the drive engages.
    pub fn coupling(&self) -> Coupling {
        self.coupling.unwrap_or_default()
    }

    /// How the shaft that a tongue goes into is driven.
    pub fn shaft(&self) -> Shaft {
        self.shaft.unwrap_or_default()
    }

    /// Whether a tongue goes into a shaft whose own gear can be out of mesh.
    pub fn is_on_geared_shaft(&self) -> bool {
        self.shaft() == Shaft::Geared && self.coupling() != Coupling::Gear
    }

    /// Which way the rotor turns, looking down on the cap.
    pub fn rotation(&self) -> Direction {
        self.rotation.unwrap_or_default()
    }
}

/// The shaft that drives the distributor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum DrivenBy {
    /// One to one from the camshaft.
    Camshaft,
    /// Two to one from the crankshaft.
    Crankshaft,
}

impl Walk for DrivenBy {}

/// How the distributor's drive engages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Coupling {
    /// A gear: it seats in as many ways as it has teeth.
    #[default]
    Gear,
    /// A tongue off the centre: it seats in one way only.
    OffsetTongue,
    /// A tongue on the centre: it seats in two ways, half a turn apart.
    CentralTongue,
}

impl Walk for Coupling {}

/// How the shaft that a tongue goes into is driven.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Shaft {
    /// By the camshaft's own end, or by gears that are not taken apart: it cannot be out.
    #[default]
    Plain,
    /// By a gear of its own: it can be drawn, and put back in mesh teeth out.
    Geared,
}

impl Walk for Shaft {}

part! {
    /// A helical distributor drive.
    pub struct Helix {
        /// Helix angle, from the shaft's own line.
        pub angle: f64,
        /// A right-hand gear turns the rotor clockwise as it goes down.
        pub hand: Hand,
        /// How far it slides in mesh before it seats.
        pub travel: f64,
        /// Pitch diameter of the distributor's gear.
        pub pitch_diameter: f64,
    }
}

/// The hand of a helix.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hand {
    /// Clockwise, looking down, as it goes down.
    Right,
    /// Anticlockwise, looking down, as it goes down.
    Left,
}

impl Walk for Hand {}
