//! The lengths of a description in other units.

use super::Description;
use super::fields::{self, Unit};
use super::walk::{Place, Walk};
use crate::words::Units;

impl Description {
    /// The same engine with every length in millimetres.
    #[must_use]
    pub fn in_millimetres(&self) -> Self {
        let mm = self.units.millimetres();
        self.with_lengths(Units::Millimetres, |length| length * mm)
    }

    /// The same engine with its lengths in other units, rounded to what can be measured: a micron,
    /// or a ten-thousandth of an inch.
    #[must_use]
    pub fn in_units(&self, units: Units) -> Self {
        let times = self.units.millimetres() / units.millimetres();
        let places: f64 = if units == Units::Inches { 1e4 } else { 1e3 };
        self.with_lengths(units, |length| (length * times * places).round() / places)
    }

    fn with_lengths(&self, units: Units, change: impl Fn(f64) -> f64) -> Self {
        let mut other = self.clone();
        other.units = units;
        other.walk_mut(&mut Place::default(), &mut |place, value| {
            let range = fields::field(&place.path).and_then(|field| field.range());
            if range.is_some_and(|range| range.unit == Unit::Length) {
                *value = change(*value);
            }
        });
        other
    }
}
