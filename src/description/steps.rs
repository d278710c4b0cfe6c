//! The builder's own lines for the assembly sheet.

use serde::{Deserialize, Serialize};

use super::walk::{Item, Place, Walk, part};

part! {
    /// A line of the builder's own for the assembly sheet.
    pub struct BuilderStep {
        /// What to do.
        #[serde(rename = "do")]
        pub action: String,
        /// How tight.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub torque: Option<Torque>,
    }
}

/// A tightening torque.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Torque {
    /// N·m.
    NewtonMetres(f64),
    /// lbf·ft.
    PoundFeet(f64),
}

impl Torque {
    /// One pound-force foot in newton metres: 0.453 592 37 kg × 9.806 65 m/s² × 0.3048 m, exact by
    /// definition.
    const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;

    /// In N·m.
    pub fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetres(value) => value,
            Self::PoundFeet(value) => value * Self::NEWTON_METRES_PER_POUND_FOOT,
        }
    }

    /// In lbf·ft.
    pub fn pound_feet(self) -> f64 {
        self.newton_metres() / Self::NEWTON_METRES_PER_POUND_FOOT
    }
}

impl Walk for Torque {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Number(self.newton_metres()));
    }
}
