//! The engine as its builder describes it.

pub mod arrangement;
mod assembly;
mod check;
pub mod read;
mod rests_on;
pub mod scenes;

use std::sync::Arc;

pub use assembly::{Assembly, AssemblyFault};
pub use check::DescriptionFault;
pub use rests_on::Subject;

use crate::description::{Description, Sparks, Valve};
use crate::laws::firing;
use crate::source::Finding;

/// A description that has passed every check that must be passed: an engine that can be turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Engine {
    written: Description,
    /// With the ignition that is asked about as the first and only one.
    metric: Description,
    name: String,
    ignitions: Ignitions,
    firing_order: Vec<u8>,
    firing_angles: Vec<f64>,
    coils: Vec<Vec<u8>>,
    /// The coils' cylinders one after another; the firing order without coils.
    lead_order: Vec<u8>,
    throws: Vec<f64>,
    banks: Vec<f64>,
    /// The camshafts that work each cylinder's intake and exhaust valve.
    worked_by: Vec<[usize; 2]>,
}

/// How many ignitions an engine has, and which of them is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ignitions {
    /// It has one.
    One,
    /// The first of two.
    FirstOfTwo,
    /// The second of two.
    SecondOfTwo,
}

/// The coils' cylinders, and the cylinders in the order of their leads.
fn coils_and_leads(d: &Description, firing_order: &[u8]) -> (Vec<Vec<u8>>, Vec<u8>) {
    let coils = d.ignition.coils.iter().flatten();
    let coils: Vec<Vec<u8>> = coils
        .map(|coil| coil.iter().map(|&number| number as u8).collect())
        .collect();
    let leads = if coils.is_empty() {
        firing_order.to_vec()
    } else {
        coils.concat()
    };
    (coils, leads)
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
        let numbers = |cylinders: &[u32]| cylinders.iter().map(|&number| number as u8).collect();
        let firing_order: Vec<u8> = numbers(&written.firing_order);
        let metric = written.in_millimetres();
        let (coils, lead_order) = coils_and_leads(&metric, &firing_order);
        let mut engine = Self {
            name: written.name.clone(),
            ignitions: if written.second_ignition.is_some() {
                Ignitions::FirstOfTwo
            } else {
                Ignitions::One
            },
            metric,
            firing_order,
            coils,
            lead_order,
            firing_angles,
            throws: throws.collect(),
            banks: banks.collect(),
            worked_by: (1..=count)
                .map(|number| Valve::BOTH.map(|valve| written.camshaft_of(number, valve)))
                .collect(),
            written,
        };
        let warnings = check::warnings(&engine.metric, engine.written.units, &engine.firing_angles);
        engine.metric = engine.metric.by_first_ignition();
        Ok((Arc::new(engine), warnings))
    }

    /// The same engine with its second ignition in the first's place, where it has two: the
    /// distributor, the sparks and the leads are then the second's.
    pub fn by_second_ignition(&self) -> Option<Arc<Self>> {
        if self.ignitions != Ignitions::FirstOfTwo {
            return None;
        }
        let metric = self.written.by_second_ignition()?.in_millimetres();
        let (coils, lead_order) = coils_and_leads(&metric, &self.firing_order);
        Some(Arc::new(Self {
            metric,
            name: format!("{}, second ignition", self.written.name),
            ignitions: Ignitions::SecondOfTwo,
            coils,
            lead_order,
            ..self.clone()
        }))
    }

    /// The same engine with the ignition that it is described with first.
    pub fn by_first_ignition(&self) -> Option<Arc<Self>> {
        if self.ignitions != Ignitions::SecondOfTwo {
            return None;
        }
        Self::new(self.written.clone())
            .ok()
            .map(|(engine, _)| engine)
    }

    /// How many ignitions it has, and which of them this is.
    pub fn ignitions(&self) -> Ignitions {
        self.ignitions
    }

    /// The description as written, in its own units.
    pub fn written(&self) -> &Description {
        &self.written
    }

    /// The same with every length in millimetres.
    pub fn metric(&self) -> &Description {
        &self.metric
    }

    /// What the builder calls it; of the second of two ignitions with that said after it.
    pub fn name(&self) -> &str {
        &self.name
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

    /// The crank angle at which a cylinder fires; None for a number not on this engine.
    pub fn fires_deg(&self, number: u8) -> Option<f64> {
        let mut fires = self.firing_order.iter().zip(&self.firing_angles);
        fires
            .find(|(other, _)| **other == number)
            .map(|(_, fires)| *fires)
    }

    /// The coils of an engine without a distributor, each with the cylinders whose leads are on its
    /// terminals; empty where none are described.
    pub fn coils(&self) -> &[Vec<u8>] {
        &self.coils
    }

    /// Whether leads can be plugged otherwise than drawn: there is a cap, or there are coils.
    pub fn has_leads(&self) -> bool {
        self.metric.distributor.is_some() || !self.coils.is_empty()
    }

    /// Cylinder numbers as their leads are drawn: from No. 1's tower in the rotor's direction, or at
    /// the coils' terminals, one coil after another.
    pub fn lead_order(&self) -> &[u8] {
        &self.lead_order
    }

    /// Whether each plug sparks once a turn, on overlap too.
    pub fn sparks_every_turn(&self) -> bool {
        self.metric.ignition.sparks() == Sparks::EveryTurn
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

    /// How many camshafts it has.
    pub fn camshaft_count(&self) -> usize {
        self.written.camshaft_count()
    }

    /// Whether it has more than one camshaft, so that each is told by its name.
    pub fn has_several_camshafts(&self) -> bool {
        self.camshaft_count() > 1
    }

    /// What a camshaft, counted from 0, is called within a sentence, after `the`: of several by its
    /// name.
    pub fn camshaft_name(&self, camshaft: usize) -> &str {
        match self.written.camshafts.get(camshaft) {
            Some(described) if self.has_several_camshafts() => described.name.trim(),
            _ => "camshaft",
        }
    }

    /// The camshafts' names, in the order of the description; one, `camshaft`, where there is one.
    pub fn camshaft_names(&self) -> impl Iterator<Item = &str> {
        (0..self.camshaft_count()).map(|camshaft| self.camshaft_name(camshaft))
    }

    /// The camshaft that works a cylinder's valve, counted from 0.
    pub fn camshaft_of(&self, number: u8, valve: Valve) -> usize {
        let index = usize::from(number).checked_sub(1);
        let works = index.and_then(|index| self.worked_by.get(index));
        works.map_or(0, |[intake, exhaust]| match valve {
            Valve::Intake => *intake,
            Valve::Exhaust => *exhaust,
        })
    }

    /// The camshaft of that name, or the one whose name begins so where no other's does.
    pub fn camshaft_named(&self, name: &str) -> Option<usize> {
        let wanted = name.trim().to_lowercase();
        let names: Vec<String> = self.camshaft_names().map(str::to_lowercase).collect();
        if let Some(same) = names.iter().position(|name| *name == wanted) {
            return Some(same);
        }
        let mut begins = names
            .iter()
            .enumerate()
            .filter(|(_, name)| !wanted.is_empty() && name.starts_with(&wanted));
        match (begins.next(), begins.next()) {
            (Some((only, _)), None) => Some(only),
            _ => None,
        }
    }

    /// The cylinder at TDC together with this one, one firing and one on overlap; None where there
    /// is no such.
    pub fn running_mate(&self, number: u8) -> Option<u8> {
        let own = self.fires_deg(number)?;
        let mut others = self.firing_order.iter().zip(&self.firing_angles);
        others
            .find(|(_, fires)| firing::is_a_turn_apart(own, **fires))
            .map(|(other, _)| *other)
    }
}

/// The throw or bank that holds a cylinder.
fn holding<T>(rows: &[T], number: u32, cylinders: impl Fn(&T) -> &Vec<u32>) -> Option<&T> {
    rows.iter().find(|row| cylinders(row).contains(&number))
}
