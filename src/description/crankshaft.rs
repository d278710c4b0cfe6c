//! The crankshaft and its throws.

use super::walk::part;
use crate::angle::Direction;

part! {
    /// The crankshaft.
    pub struct Crankshaft {
        /// Which way it runs, seen from the front; clockwise where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rotation: Option<Direction>,
        /// Twice the throw radius.
        pub stroke: f64,
        /// The throws, front to back.
        pub throws: Vec<Throw>,
    }
}

impl Crankshaft {
    /// Which way it runs, seen from the front.
    pub fn rotation(&self) -> Direction {
        self.rotation.unwrap_or_default()
    }
}

part! {
    /// One throw of the crank.
    pub struct Throw {
        /// Degrees clockwise from No. 1's throw, seen from the front.
        pub angle: f64,
        /// The cylinders whose rods share it.
        pub cylinders: Vec<u32>,
    }
}
