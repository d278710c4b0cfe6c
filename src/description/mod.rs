//! The description as the builder writes it: plain data, in the file's own units, not yet checked.
//!
//! Each part of the file has a module of its own. Reading is serde's work; whether the numbers make
//! an engine is asked in [`engine`](crate::engine); what they imply is worked out in
//! [`phasing`](crate::phasing). What each field holds, its range and its default are in the table
//! of [`fields`].

mod banks;
mod cam_drive;
pub(crate) mod camshafts;
mod case;
mod clearance;
mod crankshaft;
mod distributor;
pub mod fields;
mod ignition;
pub mod job_steps;
mod marks;
mod oil_pump;
mod second_ignition;
mod steps;
pub mod typed;
mod units;
mod valve;
mod valve_events;
mod valve_forms;
mod valve_lash;
mod valves;
pub(crate) mod walk;

pub use banks::Bank;
pub use cam_drive::{CamDrive, CountedOn, DriveKind};
pub use camshafts::Camshaft;
pub use case::Case;
pub use clearance::Clearance;
pub use crankshaft::{Crankshaft, Throw};
pub use distributor::{Coupling, Distributor, DrivenBy, Hand, Helix, Shaft};
pub use ignition::{CentrifugalPoint, Ignition, Sparks, VacuumPoint};
pub use marks::{Mark, MarkOn};
pub use oil_pump::{OilPump, PumpDrive};
pub use second_ignition::SecondIgnition;
pub use steps::{BuilderStep, Torque};
pub use valve::Valve;
pub use valve_events::{AlsoAt, Events, NoEvents};
pub use valve_forms::{
    CamCard, EventsForm, Exhaust, ExhaustAlsoAt, Intake, IntakeAlsoAt, LiftPoint,
};
pub use valve_lash::{Adjusters, LashAt, ValveLash};
pub use valves::{Follower, FollowerKind, LiftLaw, MeasuredAt, ValveGear, Valves};

use crate::words::Units;
use walk::part;

part! {
    /// A whole engine description.
    pub struct Description {
        /// The version of this format: 1.
        pub format: u32,
        /// What the builder calls the engine.
        pub name: String,
        /// Anything worth keeping with it.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub notes: String,
        /// What the lengths are given in.
        #[serde(default)]
        pub units: Units,
        /// How the case is made, where it is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub case: Option<Case>,
        /// What turns the oil pump, where it is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub oil_pump: Option<OilPump>,
        /// The crank and its throws.
        pub crankshaft: Crankshaft,
        /// The rows of cylinders.
        pub banks: Vec<Bank>,
        /// Cylinder bore.
        pub bore: f64,
        /// Connecting rod, centre to centre.
        pub rod_length: f64,
        /// Gudgeon pin offset, towards the major thrust side; none where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub pin_offset: Option<f64>,
        /// Cylinder numbers in the order they fire, No. 1 first.
        pub firing_order: Vec<u32>,
        /// Crank degrees at which each cylinder of the firing order fires, where the order alone is
        /// ambiguous.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub firing_angles: Option<Vec<f64>>,
        /// What drives the camshaft.
        pub cam_drive: CamDrive,
        /// The camshafts, where there are several; without them one works every valve.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub camshafts: Vec<Camshaft>,
        /// The valve events.
        pub valves: Valves,
        /// The distributor, where the engine has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub distributor: Option<Distributor>,
        /// When the sparks come.
        pub ignition: Ignition,
        /// What gives the second plugs their sparks, where each cylinder has two.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub second_ignition: Option<SecondIgnition>,
        /// What was measured between valves and piston.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub clearance: Option<Clearance>,
        /// The marks the builder can see.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub marks: Vec<Mark>,
        /// Pulley diameter, for laying out timing marks.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub pulley_diameter: Option<f64>,
        /// The builder's own steps, for the job and the assembly sheet.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub steps: Vec<BuilderStep>,
    }
}

impl Description {
    /// Gudgeon pin offset, towards the major thrust side.
    pub fn pin_offset(&self) -> f64 {
        self.pin_offset.unwrap_or(0.0)
    }

    /// Whether the camshafts are known to lie over the valves: where it is stated, and with a belt.
    pub(crate) fn has_overhead_camshafts(&self) -> bool {
        let by_a_belt = self.cam_drive.kind == DriveKind::Belt;
        self.valves
            .gear
            .map_or(by_a_belt, |gear| gear == ValveGear::Overhead)
    }

    /// Whether the cam drive is known to run between the halves of a split case: once that is closed
    /// it is out of sight and out of reach.
    pub fn cam_drive_lies_in_the_case(&self) -> bool {
        self.case == Some(Case::Split) && !self.has_overhead_camshafts()
    }

    /// How many cylinders the firing order names.
    pub fn cylinder_count(&self) -> usize {
        self.firing_order.len()
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
pub(crate) fn is_zero(value: &f64) -> bool {
    *value == 0.0
}
