//! The forms in which a file can have a valve's events; [`Valves::events`](super::Valves::events)
//! tells what they come to.

use serde::{Deserialize, Serialize};

use super::valve::Valve;
use super::walk::{Item, Place, Walk, part};

part! {
    /// The intake valve, in one of its forms: two angles, duration and centre, or its lobe as
    /// measured.
    #[derive(Default)]
    pub struct Intake {
        /// Crank degrees before top dead centre at which it opens.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub opens_btdc: Option<f64>,
        /// Crank degrees after bottom dead centre at which it closes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub closes_abdc: Option<f64>,
        /// Crank degrees from opening to closing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub duration: Option<f64>,
        /// Crank degrees after top dead centre at which it is fully open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub centre: Option<f64>,
        /// Full lift, where it was measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub lift: Option<f64>,
        /// The lift at which its events are quoted, where not both valves' are quoted alike.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub quoted_at: Option<f64>,
        /// Its events at another lift, which fix the ramps.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub also_at: Option<IntakeAlsoAt>,
        /// Its lobe as measured, from seat to seat; goes before the events of any card, which then
        /// stand beside it to be compared.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub lifts: Option<Vec<LiftPoint>>,
    }
}

part! {
    /// The exhaust valve, in one of its forms: two angles, duration and centre, or its lobe as
    /// measured.
    #[derive(Default)]
    pub struct Exhaust {
        /// Crank degrees before bottom dead centre at which it opens.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub opens_bbdc: Option<f64>,
        /// Crank degrees after top dead centre at which it closes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub closes_atdc: Option<f64>,
        /// Crank degrees from opening to closing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub duration: Option<f64>,
        /// Crank degrees before top dead centre at which it is fully open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub centre: Option<f64>,
        /// Full lift, where it was measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub lift: Option<f64>,
        /// The lift at which its events are quoted, where not both valves' are quoted alike.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub quoted_at: Option<f64>,
        /// Its events at another lift, which fix the ramps.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub also_at: Option<ExhaustAlsoAt>,
        /// Its lobe as measured, from seat to seat; goes before the events of any card, which then
        /// stand beside it to be compared.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub lifts: Option<Vec<LiftPoint>>,
    }
}

part! {
    /// The intake valve's events at another lift: both angles, or the duration.
    pub struct IntakeAlsoAt {
        /// The lift, where it was measured.
        pub lift: f64,
        /// Crank degrees before top dead centre at which the valve passes it going up.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub opens_btdc: Option<f64>,
        /// Crank degrees after bottom dead centre at which the valve comes back to it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub closes_abdc: Option<f64>,
        /// Crank degrees from the one to the other.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub duration: Option<f64>,
    }
}

part! {
    /// The exhaust valve's events at another lift: both angles, or the duration.
    pub struct ExhaustAlsoAt {
        /// The lift, where it was measured.
        pub lift: f64,
        /// Crank degrees before bottom dead centre at which the valve passes it going up.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub opens_bbdc: Option<f64>,
        /// Crank degrees after top dead centre at which the valve comes back to it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub closes_atdc: Option<f64>,
        /// Crank degrees from the one to the other.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub duration: Option<f64>,
    }
}

part! {
    /// Both valves' events and lifts as a cam card gives them.
    #[derive(Default)]
    pub struct CamCard {
        /// Crank degrees for which the intake is open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub intake_duration: Option<f64>,
        /// Crank degrees for which the exhaust is open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub exhaust_duration: Option<f64>,
        /// Cam degrees between the lobes' centres.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub separation: Option<f64>,
        /// Crank degrees after top dead centre at which the intake is fully open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub intake_centre: Option<f64>,
        /// The intake's full lift, where it was measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub intake_lift: Option<f64>,
        /// The exhaust's full lift, where it was measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub exhaust_lift: Option<f64>,
    }
}

/// One lift of a lobe as measured: crank degrees past the cylinder's own firing TDC (360 is its
/// overlap TDC), and the lift there, where it was measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LiftPoint(pub f64, pub f64);

impl Walk for LiftPoint {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        at.field("0", |at| self.0.walk(at, visit));
        at.field("1", |at| self.1.walk(at, visit));
    }

    fn walk_mut(&mut self, at: &mut Place, visit: &mut dyn FnMut(&Place, &mut f64)) {
        at.field("0", |at| self.0.walk_mut(at, visit));
        at.field("1", |at| self.1.walk_mut(at, visit));
    }
}

impl Intake {
    /// Events as two angles, as most manuals have them.
    pub fn angles(opens_btdc: f64, closes_abdc: f64, lift: f64) -> Self {
        Self {
            opens_btdc: Some(opens_btdc),
            closes_abdc: Some(closes_abdc),
            lift: Some(lift),
            ..Self::default()
        }
    }

    /// Whether nothing of it is written.
    pub fn is_blank(&self) -> bool {
        *self == Self::default()
    }

    /// Whether nothing of it is written but its lobe as measured.
    pub(super) fn has_no_events(&self) -> bool {
        let events = Self {
            lifts: None,
            ..self.clone()
        };
        events.is_blank()
    }
}

impl Exhaust {
    /// Events as two angles, as most manuals have them.
    pub fn angles(opens_bbdc: f64, closes_atdc: f64, lift: f64) -> Self {
        Self {
            opens_bbdc: Some(opens_bbdc),
            closes_atdc: Some(closes_atdc),
            lift: Some(lift),
            ..Self::default()
        }
    }

    /// Whether nothing of it is written.
    pub fn is_blank(&self) -> bool {
        *self == Self::default()
    }

    /// Whether nothing of it is written but its lobe as measured.
    pub(super) fn has_no_events(&self) -> bool {
        let events = Self {
            lifts: None,
            ..self.clone()
        };
        events.is_blank()
    }
}

/// A form in which a valve's events are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EventsForm {
    /// The two angles, and the lift.
    Angles,
    /// Duration, centre and lift.
    Duration,
    /// Both valves at once, as a cam card gives them.
    Card,
    /// The lobe as measured, from which the events follow.
    Measured,
}

impl EventsForm {
    /// Those in which events are written, the plainest first.
    pub const ALL: [Self; 3] = [Self::Angles, Self::Duration, Self::Card];

    /// How it is written for one of the valves.
    pub fn example(self, valve: Valve) -> &'static str {
        match (self, valve) {
            (Self::Angles, Valve::Intake) => "intake: (opens_btdc: …, closes_abdc: …, lift: …)",
            (Self::Angles, Valve::Exhaust) => "exhaust: (opens_bbdc: …, closes_atdc: …, lift: …)",
            (Self::Duration, Valve::Intake) => "intake: (duration: …, centre: …, lift: …)",
            (Self::Duration, Valve::Exhaust) => "exhaust: (duration: …, centre: …, lift: …)",
            (Self::Measured, Valve::Intake) => "intake: (lifts: [(…, 0), (…, …), …])",
            (Self::Measured, Valve::Exhaust) => "exhaust: (lifts: [(…, 0), (…, …), …])",
            (Self::Card, _) => {
                "card: (intake_duration: …, exhaust_duration: …, separation: …, intake_centre: …, \
                 intake_lift: …, exhaust_lift: …)"
            }
        }
    }

    /// What it is called.
    pub fn word(self) -> &'static str {
        match self {
            Self::Angles => "two angles",
            Self::Duration => "duration and centre",
            Self::Card => "a cam card",
            Self::Measured => "a lobe as measured",
        }
    }
}
