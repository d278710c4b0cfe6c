//! What was measured between valves and piston.

use super::walk::part;

part! {
    /// How far each valve could be pushed from its seat at TDC before it touched the piston.
    pub struct Clearance {
        /// Intake, measured along the valve.
        pub intake_drop: f64,
        /// Exhaust, measured along the valve.
        pub exhaust_drop: f64,
        /// The valves' lean from the bore's axis, degrees.
        #[serde(default, skip_serializing_if = "super::is_zero")]
        pub valve_angle: f64,
    }
}
