//! The marks the builder can see.

use serde::{Deserialize, Serialize};

use super::walk::{Item, Place, Walk, part};

part! {
    /// A mark the builder can see.
    pub struct Mark {
        /// The part it is on.
        pub on: MarkOn,
        /// What it looks like.
        pub name: String,
        /// Clock degrees, seen from the front, at No. 1 firing TDC.
        pub at: f64,
    }
}

/// The part that carries a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum MarkOn {
    /// The crankshaft, its gear, pulley or flywheel.
    Crankshaft,
    /// The camshaft or its gear.
    Camshaft,
    /// An idler gear, counted from the crank: 1 is the first.
    Idler(u32),
}

impl Walk for MarkOn {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        if let Self::Idler(which) = self {
            which.walk(at, visit);
        }
    }
}
