//! Two plugs a cylinder: a second ignition beside the first, with a rotor or coils of its own.

use super::walk::part;
use super::{Description, Distributor, Ignition};

part! {
    /// What gives the second plugs their sparks.
    pub struct SecondIgnition {
        /// Its distributor, where it has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub distributor: Option<Distributor>,
        /// When its sparks come.
        pub ignition: Ignition,
    }
}

impl SecondIgnition {
    /// Its path in a description.
    pub const PATH: &'static str = "second_ignition";
}

impl Description {
    /// The same without its second ignition.
    #[must_use]
    pub fn by_first_ignition(&self) -> Self {
        Self {
            second_ignition: None,
            ..self.clone()
        }
    }

    /// The same with the second ignition in the first's place and none beside it, where there is
    /// one.
    pub fn by_second_ignition(&self) -> Option<Self> {
        let second = self.second_ignition.clone()?;
        Some(Self {
            distributor: second.distributor,
            ignition: second.ignition,
            ..self.by_first_ignition()
        })
    }
}
