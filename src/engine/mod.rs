//! The engine as its builder describes it.

pub mod arrangement;
mod assembly;
mod check;
pub mod read;
pub mod scenes;

use std::sync::Arc;

pub use assembly::Assembly;
pub use check::DescriptionFault;

use crate::description::Description;
use crate::laws::firing;
use crate::source::Finding;

/// A description that has passed every check that must be passed: an engine that can be turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Engine {
    written: Description,
    metric: Description,
    firing_order: Vec<u8>,
    firing_angles: Vec<f64>,
    throws: Vec<f64>,
    banks: Vec<f64>,
}

impl Engine {
    /// Checks a description. Gives the engine with the warnings, or the errors with the warnings
    /// that could be reached.
    ///
    /// # Errors
    /// Every finding, where at least one of them is an error.
    pub fn new(written: Description) -> Result<(Arc<Self>, Vec<Finding>), Vec<Finding>> {
        let findings = check::errors(&written);
        if !findings.is_empty() {
            return Err(findings);
        }
        let Ok(firing_angles) = firing::firing_angles(&written) else {
            // `check::errors` has just asked the same question; without an answer there is no
            // engine.
            return Err(check::errors(&written));
        };
        let count = written.cylinder_count() as u32;
        let throws = (1..=count).map(|number| {
            holding(&written.crankshaft.throws, number, |throw| &throw.cylinders)
                .map_or(0.0, |throw| throw.angle)
        });
        let banks = (1..=count).map(|number| {
            holding(&written.banks, number, |bank| &bank.cylinders).map_or(0.0, |bank| bank.angle)
        });
        let engine = Arc::new(Self {
            metric: written.in_millimetres(),
            firing_order: written
                .firing_order
                .iter()
                .map(|&number| number as u8)
                .collect(),
            firing_angles,
            throws: throws.collect(),
            banks: banks.collect(),
            written,
        });
        let warnings = check::warnings(&engine.metric, &engine.firing_angles);
        Ok((engine, warnings))
    }

    /// The description as written, in its own units.
    pub fn written(&self) -> &Description {
        &self.written
    }

    /// The same with every length in millimetres.
    pub fn metric(&self) -> &Description {
        &self.metric
    }

    /// What the builder calls it.
    pub fn name(&self) -> &str {
        &self.written.name
    }

    /// How many cylinders it has; they are numbered from 1.
    pub fn cylinder_count(&self) -> usize {
        self.firing_order.len()
    }

    /// Cylinder numbers in the order they fire, No. 1 first.
    pub fn firing_order(&self) -> &[u8] {
        &self.firing_order
    }

    /// The crank angle at which each cylinder of the firing order fires: from 0, rising, under 720.
    pub fn firing_angles(&self) -> &[f64] {
        &self.firing_angles
    }

    /// The clock angle of a cylinder's bore as written; 0 for a number not on this engine.
    pub fn bank_deg(&self, number: u8) -> f64 {
        usize::from(number)
            .checked_sub(1)
            .and_then(|index| self.banks.get(index))
            .copied()
            .unwrap_or(0.0)
    }

    /// The angle of a cylinder's throw as written; 0 for a number not on this engine.
    pub fn throw_deg(&self, number: u8) -> f64 {
        usize::from(number)
            .checked_sub(1)
            .and_then(|index| self.throws.get(index))
            .copied()
            .unwrap_or(0.0)
    }

    /// The cylinder at TDC together with this one, one firing and one on overlap; None where there
    /// is no such.
    pub fn running_mate(&self, number: u8) -> Option<u8> {
        let fires = |number: u8| {
            self.firing_order
                .iter()
                .position(|&other| other == number)
                .map(|index| self.firing_angles[index])
        };
        let own = fires(number)?;
        let apart = |other: u8| fires(other).map_or(f64::NAN, |fires| (fires - own).abs());
        self.firing_order
            .iter()
            .copied()
            .find(|&other| (apart(other) - 360.0).abs() < 1e-6)
    }
}

/// The throw or bank that holds a cylinder.
fn holding<T>(rows: &[T], number: u32, cylinders: impl Fn(&T) -> &Vec<u32>) -> Option<&T> {
    rows.iter().find(|row| cylinders(row).contains(&number))
}
