//! When the sparks come.

use serde::{Deserialize, Serialize};

use super::walk::{Walk, part};

part! {
    /// When the sparks come.
    pub struct Ignition {
        /// Crank degrees before TDC with the engine at rest.
        pub static_advance: f64,
        /// How often each plug sparks; every other turn where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub sparks: Option<Sparks>,
        /// The coils, each with the cylinders whose leads are on its terminals; none, or one at the
        /// distributor, where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub coils: Option<Vec<Vec<u32>>>,
        /// The bob-weights' advance, crank degrees, by engine speed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub centrifugal: Vec<CentrifugalPoint>,
        /// The capsule's advance, crank degrees, by depression.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub vacuum: Vec<VacuumPoint>,
    }
}

impl Ignition {
    /// How often each plug sparks.
    pub fn sparks(&self) -> Sparks {
        self.sparks.unwrap_or_default()
    }
}

/// How often each plug sparks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sparks {
    /// Once in two turns of the crank: about its own firing TDC.
    #[default]
    EveryOtherTurn,
    /// Once a turn: about its overlap TDC too, where the spark is wasted. A magneto on the crank
    /// sparks so, and a coil that joins two plugs.
    EveryTurn,
}

impl Walk for Sparks {}

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
        /// Depression in the manifold, kPa; this or `inhg`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub kpa: Option<f64>,
        /// Depression in the manifold, inches of mercury; this or `kpa`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub inhg: Option<f64>,
        /// Crank degrees.
        pub advance: f64,
    }
}

impl VacuumPoint {
    /// Kilopascals in an inch of mercury, conventional, at 0 °C: NIST SP 811, appendix B, from
    /// memory.
    const KPA_PER_INHG: f64 = 3.386_389;

    /// Depression in the manifold, kPa, in whichever unit it is given; 0 where it is in neither,
    /// which no engine's is.
    pub fn depression_kpa(&self) -> f64 {
        let inhg = self.inhg.map(|inhg| inhg * Self::KPA_PER_INHG);
        self.kpa.or(inhg).unwrap_or(0.0)
    }
}
