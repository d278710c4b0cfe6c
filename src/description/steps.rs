//! The builder's own steps: where they come in the job, and how their fasteners are tightened.

use serde::{Deserialize, Serialize};

use super::walk::{Item, Place, Walk, part};

part! {
    /// A step of the builder's own, for the job and the assembly sheet.
    pub struct BuilderStep {
        /// What to do.
        #[serde(rename = "do")]
        pub action: String,
        /// How tight.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub torque: Option<Torque>,
        /// The torques it is tightened in, one pass after another, in the torque's unit; the last is
        /// the torque.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub passes: Vec<f64>,
        /// Degrees that each fastener is turned on after the last pass.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub angle: Option<f64>,
        /// The step of the job after which it comes, by its key or its title; at the end where none
        /// is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub after: Option<String>,
        /// The fasteners, numbered from 1, in the order in which they are tightened.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub sequence: Vec<u32>,
        /// Where the fasteners lie, looking on the part: row under row, each from left to right, by
        /// their numbers; 0 is a place without one.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub rows: Vec<Vec<i32>>,
    }
}

impl BuilderStep {
    /// A step with nothing but what to do.
    pub fn new(action: impl Into<String>) -> Self {
        Self {
            action: action.into(),
            torque: None,
            passes: Vec::new(),
            angle: None,
            after: None,
            sequence: Vec::new(),
            rows: Vec::new(),
        }
    }

    /// The fasteners in the order in which they are tightened; where only their places are given, by
    /// their numbers.
    pub fn order(&self) -> Vec<u32> {
        if !self.sequence.is_empty() {
            return self.sequence.clone();
        }
        let mut numbers: Vec<u32> = self.in_rows().collect();
        numbers.sort_unstable();
        numbers
    }

    /// The fasteners that have a place in a row.
    pub fn in_rows(&self) -> impl Iterator<Item = u32> {
        self.places()
            .into_iter()
            .flatten()
            .filter(|&number| number > 0)
    }

    /// Where the fasteners lie, row under row; 0 is a place without one.
    pub fn places(&self) -> Vec<Vec<u32>> {
        let number = |number: &i32| u32::try_from(*number).unwrap_or(0);
        let rows = self.rows.iter();
        rows.map(|row| row.iter().map(number).collect()).collect()
    }
}

/// A tightening torque.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Torque {
    /// N·m.
    NewtonMetres(f64),
    /// lbf·ft.
    PoundFeet(f64),
    /// lbf·in.
    PoundInches(f64),
}

impl Torque {
    /// One pound-force foot in newton metres: 0.453 592 37 kg × 9.806 65 m/s² × 0.3048 m, exact by
    /// definition.
    const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;
    /// A twelfth of that.
    const NEWTON_METRES_PER_POUND_INCH: f64 = Self::NEWTON_METRES_PER_POUND_FOOT / 12.0;

    /// In N·m.
    pub fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetres(value) => value,
            Self::PoundFeet(value) => value * Self::NEWTON_METRES_PER_POUND_FOOT,
            Self::PoundInches(value) => value * Self::NEWTON_METRES_PER_POUND_INCH,
        }
    }

    /// In each unit: as it was written, then in N·m, lbf·ft and lbf·in without that one.
    pub fn in_every_unit(self) -> [Self; 3] {
        let metres = self.newton_metres();
        let newton_metres = Self::NewtonMetres(metres);
        let pound_feet = Self::PoundFeet(metres / Self::NEWTON_METRES_PER_POUND_FOOT);
        let pound_inches = Self::PoundInches(metres / Self::NEWTON_METRES_PER_POUND_INCH);
        match self {
            Self::NewtonMetres(_) => [self, pound_feet, pound_inches],
            Self::PoundFeet(_) => [self, newton_metres, pound_inches],
            Self::PoundInches(_) => [self, newton_metres, pound_feet],
        }
    }

    /// Another torque in the same unit.
    pub fn of_as_much(self, value: f64) -> Self {
        match self {
            Self::NewtonMetres(_) => Self::NewtonMetres(value),
            Self::PoundFeet(_) => Self::PoundFeet(value),
            Self::PoundInches(_) => Self::PoundInches(value),
        }
    }

    /// The number as it was written.
    pub fn value(self) -> f64 {
        let (Self::NewtonMetres(value) | Self::PoundFeet(value) | Self::PoundInches(value)) = self;
        value
    }

    /// The unit's sign.
    pub fn unit(self) -> &'static str {
        match self {
            Self::NewtonMetres(_) => "N·m",
            Self::PoundFeet(_) => "lbf·ft",
            Self::PoundInches(_) => "lbf·in",
        }
    }
}

impl Walk for Torque {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Number(self.newton_metres()));
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    #[test]
    fn a_torque_is_said_first_in_the_unit_it_was_written_in() {
        // 1 lbf·ft = 12 lbf·in = 1.355818 N·m.
        let [written, first, second] = Torque::PoundInches(120.0).in_every_unit();
        assert_eq!(written, Torque::PoundInches(120.0));
        assert_eq!(
            [written, first, second].map(Torque::unit),
            ["lbf·in", "N·m", "lbf·ft"]
        );
        assert_abs_diff_eq!(first.value(), 13.558, epsilon = 1e-3);
        assert_abs_diff_eq!(second.value(), 10.0, epsilon = 1e-9);
        let [written, first, second] = Torque::PoundFeet(20.0).in_every_unit();
        assert_eq!(
            [written, first, second].map(Torque::unit),
            ["lbf·ft", "N·m", "lbf·in"]
        );
        assert_abs_diff_eq!(second.value(), 240.0, epsilon = 1e-9);
        assert_eq!(Torque::NewtonMetres(11.0).in_every_unit()[0].value(), 11.0);
    }
}
