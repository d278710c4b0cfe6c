//! When the sparks come.

use super::walk::part;

part! {
    /// When the sparks come.
    pub struct Ignition {
        /// Crank degrees before TDC with the engine at rest.
        pub static_advance: f64,
        /// The bob-weights' advance, crank degrees, by engine speed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub centrifugal: Vec<CentrifugalPoint>,
        /// The capsule's advance, crank degrees, by depression.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub vacuum: Vec<VacuumPoint>,
    }
}

part! {
    /// A point of the centrifugal curve.
    pub struct CentrifugalPoint {
        /// Engine speed.
        pub rpm: f64,
        /// Crank degrees.
        pub advance: f64,
    }
}

part! {
    /// A point of the vacuum curve.
    pub struct VacuumPoint {
        /// Depression in the manifold.
        pub kpa: f64,
        /// Crank degrees.
        pub advance: f64,
    }
}
