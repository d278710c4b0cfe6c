//! The camshafts, where there are several: which valves each works.
//!
//! Without a list there is one camshaft, and it works every valve. Every camshaft's wheel turns
//! 2:1 with the crank's one wheel, so all of them have the same teeth.

use super::walk::part;
use super::{Description, DrivenBy, Valve};
use crate::angle::CamTurn;

part! {
    /// One of the camshafts.
    pub struct Camshaft {
        /// What the builder calls it.
        pub name: String,
        /// The kinds of valve it works.
        pub works: Vec<Valve>,
        /// The banks over which it works them, counted from 1 in the order of `banks`; every bank
        /// where none is named.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub banks: Vec<u32>,
        /// Teeth on its wheel; as `cam_drive.cam_teeth` where it is not stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub cam_teeth: Option<u32>,
        /// Cam degrees by which a vernier or an offset key sets it ahead of its wheel; negative,
        /// behind; none where nothing is stated.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub trim: Option<f64>,
    }
}

impl Camshaft {
    /// Cam degrees by which it is set ahead of its wheel.
    pub fn trim(&self) -> f64 {
        self.trim.unwrap_or(0.0)
    }

    /// Whether it works this kind of valve over the bank that is counted so from 0.
    pub fn works_over(&self, bank: usize, valve: Valve) -> bool {
        let named = |named: &u32| usize::try_from(*named).is_ok_and(|named| named == bank + 1);
        self.works.contains(&valve) && (self.banks.is_empty() || self.banks.iter().any(named))
    }
}

impl Description {
    /// How many camshafts the engine has: one where none are listed.
    pub fn camshaft_count(&self) -> usize {
        self.camshafts.len().max(1)
    }

    /// The camshaft that works a valve, counted from 0.
    pub fn camshaft_of(&self, cylinder: u32, valve: Valve) -> usize {
        let bank = self.bank_of(cylinder);
        let mut camshafts = self.camshafts.iter();
        let found = camshafts.position(|camshaft| camshaft.works_over(bank, valve));
        found.unwrap_or(0)
    }

    /// The bank that a cylinder stands in, counted from 0.
    pub fn bank_of(&self, cylinder: u32) -> usize {
        let mut banks = self.banks.iter();
        let found = banks.position(|bank| bank.cylinders.contains(&cylinder));
        found.unwrap_or(0)
    }

    /// How far a camshaft, counted from 0, is set ahead of its wheel as drawn.
    pub fn trim_of(&self, camshaft: usize) -> CamTurn {
        CamTurn::new(self.camshafts.get(camshaft).map_or(0.0, Camshaft::trim))
    }

    /// The camshaft that drives the distributor, counted from 0; None where none does.
    pub fn driving_camshaft(&self) -> Option<usize> {
        let distributor = self.distributor.as_ref()?;
        if distributor.driven_by == DrivenBy::Crankshaft {
            return None;
        }
        let named = distributor.camshaft.as_ref().and_then(|name| {
            let mut camshafts = self.camshafts.iter();
            camshafts.position(|camshaft| same_name(&camshaft.name, name))
        });
        Some(named.unwrap_or(0))
    }
}

/// Whether two names of camshafts are one: letters' case and the blanks about them tell nothing
/// apart.
pub(crate) fn same_name(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}
