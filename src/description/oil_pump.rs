//! What turns the oil pump: it settles whether the distributor's drive goes home on the pump too.

use serde::{Deserialize, Serialize};

use super::walk::Walk;

/// How the oil pump is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum OilPump {
    /// By this.
    DrivenBy(PumpDrive),
}

impl OilPump {
    /// What turns it.
    pub fn drive(self) -> PumpDrive {
        let Self::DrivenBy(drive) = self;
        drive
    }
}

/// What the oil pump hangs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum PumpDrive {
    /// The foot of the distributor's drive, which goes into the pump's slot as it goes home.
    DistributorDrive,
    /// The camshaft.
    Camshaft,
    /// The crankshaft.
    Crankshaft,
}

impl Walk for OilPump {}
