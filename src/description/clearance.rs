//! What was measured between valves and piston.

use super::walk::part;

part! {
    /// How far each valve could be pushed from its seat at TDC before it touched the piston.
    pub struct Clearance {
        /// Intake, measured along the valve.
        pub intake_drop: f64,
        /// Exhaust, measured along the valve.
        pub exhaust_drop: f64,
        /// The valves' lean from the bore's axis, degrees; none where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub valve_angle: Option<f64>,
        /// The lift at which the two valves of a cylinder touch, both pushed down alike.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub valves_touch_at: Option<f64>,
    }
}

impl Clearance {
    /// The valves' lean from the bore's axis, degrees.
    pub fn valve_angle(&self) -> f64 {
        self.valve_angle.unwrap_or(0.0)
    }
}
