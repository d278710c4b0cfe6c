//! What is measured at a step and written down.

use crate::description::fields::{Range, Unit};
use crate::words::{Units, number};

/// A blank for what is measured at a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blank {
    /// What it is called, as it is typed.
    pub name: &'static str,
    /// What it is.
    pub what: &'static str,
    /// What is plausible: what lies outside is a slip of the pen.
    pub range: Range,
    /// The field of the description that it can be taken over into, alone or with others.
    pub field: Option<&'static str>,
}

impl Blank {
    pub(super) fn length(name: &'static str, what: &'static str, least: f64, most: f64) -> Self {
        Self::new(Unit::Length, name, what, least, most)
    }

    pub(super) fn degrees(name: &'static str, what: &'static str, least: f64, most: f64) -> Self {
        Self::new(Unit::Degrees, name, what, least, most)
    }

    fn new(unit: Unit, name: &'static str, what: &'static str, least: f64, most: f64) -> Self {
        Self {
            name,
            what,
            range: Range { unit, least, most },
            field: None,
        }
    }

    pub(super) fn into_field(self, field: &'static str) -> Self {
        Self {
            field: Some(field),
            ..self
        }
    }

    /// Whether a reading in these units is plausible.
    pub fn holds(&self, reading: f64, units: Units) -> bool {
        (self.range.least_in(units)..=self.range.most_in(units)).contains(&reading)
    }

    /// What is plausible, in words: `0.02 mm to 1 mm`.
    pub fn allowed(&self, units: Units) -> String {
        format!(
            "{} to {}",
            self.told(self.range.least_in(units), units),
            self.told(self.range.most_in(units), units)
        )
    }

    /// A reading in these units, with its unit.
    pub fn told(&self, reading: f64, units: Units) -> String {
        let places = match self.range.unit {
            Unit::Length if units == Units::Inches => 4,
            Unit::Length => 3,
            _ => 2,
        };
        number(reading, places) + self.range.suffix(units)
    }
}
