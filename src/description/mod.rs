//! The description as the builder writes it: plain data, in the file's own units, not yet checked.
//!
//! Each part of the file has a module of its own. Reading is serde's work; whether the numbers make
//! an engine is asked in [`engine`](crate::engine); what they imply is worked out in
//! [`phasing`](crate::phasing). What each field holds, its range and its default are in the table
//! of [`fields`].

mod banks;
mod cam_drive;
mod clearance;
mod crankshaft;
mod distributor;
pub mod fields;
mod ignition;
mod marks;
mod steps;
mod units;
mod valves;
pub(crate) mod walk;

pub use banks::Bank;
pub use cam_drive::{CamDrive, DriveKind};
pub use clearance::Clearance;
pub use crankshaft::{Crankshaft, Throw};
pub use distributor::{Coupling, Distributor, DrivenBy, Hand, Helix};
pub use ignition::{CentrifugalPoint, Ignition, VacuumPoint};
pub use marks::{Mark, MarkOn};
pub use steps::{BuilderStep, Torque};
pub use valves::{Exhaust, Intake, LiftLaw, Valve, ValveGear, Valves};

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
        /// The crank and its throws.
        pub crankshaft: Crankshaft,
        /// The rows of cylinders.
        pub banks: Vec<Bank>,
        /// Cylinder bore.
        pub bore: f64,
        /// Connecting rod, centre to centre.
        pub rod_length: f64,
        /// Gudgeon pin offset, towards the major thrust side.
        #[serde(default, skip_serializing_if = "is_zero")]
        pub pin_offset: f64,
        /// Cylinder numbers in the order they fire, No. 1 first.
        pub firing_order: Vec<u32>,
        /// Crank degrees at which each cylinder of the firing order fires, where the order alone is
        /// ambiguous.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub firing_angles: Option<Vec<f64>>,
        /// What drives the camshaft.
        pub cam_drive: CamDrive,
        /// The valve events.
        pub valves: Valves,
        /// The distributor, where the engine has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub distributor: Option<Distributor>,
        /// When the sparks come.
        pub ignition: Ignition,
        /// What was measured between valves and piston.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub clearance: Option<Clearance>,
        /// The marks the builder can see.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub marks: Vec<Mark>,
        /// Pulley diameter, for laying out timing marks.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub pulley_diameter: Option<f64>,
        /// The builder's own lines for the assembly sheet.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub steps: Vec<BuilderStep>,
    }
}

impl Description {
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
