//! Where every part of the engine stands.
//!
//! The description says what times the engine; a body needs more: how far apart the cylinders are,
//! where the camshaft lies, where the distributor stands. What the description gives is kept to the
//! millimetre; the rest is drawn in sane proportion to the bore, to be looked at and never
//! measured.
//!
//! Millimetres, the crankshaft's axis at the origin. Seen from the front x runs right, y up, and z
//! towards the viewer: a throw further back has a smaller z. Clock degrees run clockwise from
//! straight up, so the clock position c points to (sin c, cos c).
//!
//! | file | what it knows |
//! | --- | --- |
//! | `crank` | the bore's proportions, the throws and bores along the shaft |
//! | `cam_drive` | the wheels and their phase, chain and belt |
//! | `valve_gear` | camshafts over the valves, and what joins lobe and valve |
//! | `low_camshaft` | the place of a camshaft low in the block |
//! | `lobes` | where its lobes and push rods lie along it |
//! | `distributor_drive` | the distributor's place, and its drive |
//! | `engine` | the whole, and how far it reaches |

mod cam_drive;
mod crank;
mod distributor_drive;
mod engine;
mod lobes;
mod low_camshaft;
mod valve_gear;

pub use cam_drive::{LoopPlace, Tensioner, Wheel, WheelRole};
pub use crank::{Measures, ThrowPlace};
pub use distributor_drive::{DistributorPlace, HelicalGear, HelicalPair};
pub use engine::{FlywheelPlace, Layout, PulleyPlace};
pub(crate) use valve_gear::push_rod_beside_mm;
pub use valve_gear::{CamPlace, CylinderPlace, ValvePlace, ValveTrain};

pub use super::clock::{clock_of, towards};
