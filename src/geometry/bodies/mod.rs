//! The parts of the engine as solids, a file for each: what the model draws, and what is held apart.
//!
//! Each is drawn about what it turns about or slides with; [`Place`] says where that stands at a
//! crank angle.
//!
//! | file | what it knows |
//! | --- | --- |
//! | `crankshaft`, `piston`, `cylinder`, `camshaft` | the part of that name |
//! | `cam_drive`, `pulley`, `flywheel`, `valve_gear`, `distributor` | the part of that name |
//! | `crankcase` | what holds them: case, main bearings, heads, rocker shafts, guides |

pub mod cam_drive;
pub mod camshaft;
pub mod crankcase;
pub mod crankshaft;
pub mod cylinder;
pub mod distributor;
pub mod flywheel;
pub mod piston;
pub mod pulley;
pub mod valve_gear;

use glam::{DVec2, DVec3};

/// Where a part stands that turns about the engine's z and slides across it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Its own origin.
    pub at: DVec3,
    /// How far it has turned clockwise, degrees.
    pub clockwise_deg: f64,
    /// How long it is along its own y, over as drawn: of a spring that is pressed, under 1.
    pub stretched: f64,
}

impl Place {
    /// At a point seen from the front, so far along the shaft, turned so far clockwise.
    pub fn new(at: DVec2, z_mm: f64, clockwise_deg: f64) -> Self {
        Self {
            at: at.extend(z_mm),
            clockwise_deg,
            stretched: 1.0,
        }
    }
}
