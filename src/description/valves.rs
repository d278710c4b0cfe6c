//! The valve events and the lobes that give them.

use serde::{Deserialize, Serialize};

use super::valve::Valve;
use super::valve_forms::{CamCard, Exhaust, Intake};
use super::valve_lash::{Adjusters, ValveLash};
use super::walk::{Walk, part};

part! {
    /// The valve events and the lobes that give them. Events, whatever form they are written in,
    /// are told by [`Valves::events`].
    pub struct Valves {
        /// The intake valve's events and lift, where they are not on a card.
        #[serde(default, skip_serializing_if = "Intake::is_blank")]
        pub intake: Intake,
        /// The exhaust valve's events and lift, where they are not on a card.
        #[serde(default, skip_serializing_if = "Exhaust::is_blank")]
        pub exhaust: Exhaust,
        /// Both valves' events and lifts as one cam card gives them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub card: Option<CamCard>,
        /// The lift at which the events are quoted, of a valve that has none of its own; 0 is at
        /// the seat, and taken where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub quoted_at: Option<f64>,
        /// Where lifts and events were measured; at the valve where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub measured_at: Option<MeasuredAt>,
        /// How far the valve moves for each length its tappet moves.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rocker_ratio: Option<f64>,
        /// The gaps that are set at the valves.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub lash: Option<ValveLash>,
        /// What they are set by; screws where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub adjusters: Option<Adjusters>,
        /// The lift law.
        #[serde(default)]
        pub lobe: LiftLaw,
        /// How lobe and valve are joined. For the model only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub gear: Option<ValveGear>,
        /// What rides on the lobes. For the model only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub follower: Option<Follower>,
    }
}

impl Valves {
    /// The lift at which a valve's events are quoted, where it was measured; None where nothing is
    /// stated.
    pub fn quoted_at(&self, valve: Valve) -> Option<f64> {
        let own = match valve {
            Valve::Intake => self.intake.quoted_at,
            Valve::Exhaust => self.exhaust.quoted_at,
        };
        own.or(self.quoted_at)
    }

    /// Whether it is stated of both valves at which lift their events are quoted; of a lobe as
    /// measured it is not asked.
    pub fn is_quoted_lift_stated(&self) -> bool {
        Valve::BOTH
            .into_iter()
            .all(|valve| self.lifts(valve).is_some() || self.quoted_at(valve).is_some())
    }

    /// What the valves are set by.
    pub fn adjusters(&self) -> Adjusters {
        self.adjusters.unwrap_or_default()
    }

    /// The gap that is left at a valve while it is shut; None where it is not stated, and with
    /// hydraulic lifters, which have none.
    pub fn gap(&self, valve: Valve) -> Option<f64> {
        let lash = self.lash.as_ref()?;
        if let Adjusters::Hydraulic { .. } = self.adjusters() {
            return None;
        }
        Some(match valve {
            Valve::Intake => lash.intake,
            Valve::Exhaust => lash.exhaust,
        })
    }

    /// Whether lifts are the tappet's.
    pub fn is_at_tappet(&self) -> bool {
        self.measured_at == Some(MeasuredAt::Tappet)
    }

    /// What a length measured is multiplied by to be the valve's.
    pub fn ratio(&self) -> f64 {
        match self.measured_at {
            Some(MeasuredAt::Tappet) => self.rocker_ratio.unwrap_or(1.0),
            Some(MeasuredAt::Valve) | None => 1.0,
        }
    }
}

/// Where lifts, and the lift at which events are quoted, were measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum MeasuredAt {
    /// At the valve.
    Valve,
    /// At the tappet or its push rod: the valve moves the rocker's ratio as far.
    Tappet,
}

impl Walk for MeasuredAt {}

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

part! {
    /// What rides on a lobe.
    pub struct Follower {
        /// Flat, a roller, or a finger.
        pub kind: FollowerKind,
        /// A roller's radius, or that of a finger's pad or roller.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub radius: Option<f64>,
        /// From a finger's pivot to the centre of its pad or roller.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub length: Option<f64>,
    }
}

/// What rides on a lobe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum FollowerKind {
    /// A flat face, as of a plain tappet.
    Flat,
    /// A roller in a tappet that slides straight up.
    Roller,
    /// A finger with a pad or a roller, that swings about its pivot.
    Finger,
}

impl Walk for FollowerKind {}
