//! Places and lengths of the engine in the window's units.

use bevy::prelude::*;
use glam::DVec3;

use crate::geometry::bodies::Place;

/// The window's unit in millimetres: a decimetre, so that bevy's defaults suit an engine's size.
pub(crate) const UNIT_MM: f64 = 100.0;

/// A length or place of the engine, in the window's units.
pub(crate) fn unit(mm: DVec3) -> Vec3 {
    (mm / UNIT_MM).as_vec3()
}

/// A length of the engine, in the window's units.
pub(crate) fn length(mm: f64) -> f32 {
    (mm / UNIT_MM) as f32
}

/// Turned clockwise, seen from the front.
pub(crate) fn clockwise(degrees: f64) -> Quat {
    // Whole turns come off in f64: an f32 after a thousand turns has lost the tenths of a degree.
    Quat::from_rotation_z(-(degrees.rem_euclid(360.0).to_radians()) as f32)
}

/// Where a part of the engine stands, in the window's units.
pub(crate) fn placed(place: Place) -> Transform {
    Transform {
        translation: unit(place.at),
        rotation: clockwise(place.clockwise_deg),
        scale: Vec3::new(1.0, place.stretched as f32, 1.0),
    }
}
