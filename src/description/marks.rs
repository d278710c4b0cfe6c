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
        /// Where the pointer, line or window stands at which it is read: clock degrees, seen from
        /// the front.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub pointer_at: Option<f64>,
    }
}

impl Mark {
    /// Where the pointer stands at which it is read, clock degrees seen from the front. A
    /// flywheel's, where it is not stated, stands where the mark does at No. 1's TDC; any other
    /// mark has none then.
    pub fn pointer_at(&self) -> Option<f64> {
        self.pointer_at
            .or_else(|| (self.on == MarkOn::Flywheel).then_some(self.at))
    }

    /// Whether it is the crankshaft's: it comes round at every turn and tells no firing from
    /// overlap.
    pub fn turns_with_the_crank(&self) -> bool {
        matches!(self.on, MarkOn::Crankshaft | MarkOn::Flywheel)
    }
}

/// The part that carries a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum MarkOn {
    /// The crankshaft, its gear or pulley.
    Crankshaft,
    /// The flywheel at the crankshaft's rear end, seen through its window or from behind.
    Flywheel,
    /// The camshaft or its gear; of several the first.
    Camshaft,
    /// One of several camshafts or its gear, counted from 1 in the order of `camshafts`.
    CamshaftNumber(u32),
    /// An idler gear, counted from the crank: 1 is the first.
    Idler(u32),
}

impl Walk for MarkOn {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        if let Self::Idler(which) | Self::CamshaftNumber(which) = self {
            which.walk(at, visit);
        }
    }
}

impl MarkOn {
    /// The camshaft that carries it, counted from 0; None where none does.
    pub fn camshaft(self) -> Option<usize> {
        match self {
            Self::Camshaft => Some(0),
            Self::CamshaftNumber(which) => usize::try_from(which).ok()?.checked_sub(1),
            Self::Crankshaft | Self::Flywheel | Self::Idler(_) => None,
        }
    }
}
