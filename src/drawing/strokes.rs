//! The four strokes as they look in every drawing: a letter each, and a role whose areas are
//! hatched as well as tinted, so that they are told apart without colour.

use super::Role;
use crate::phasing::Stroke;

/// The role that carries a stroke's colour.
pub fn role(stroke: Stroke) -> Role {
    match stroke {
        Stroke::Power => Role::Power,
        Stroke::Exhaust => Role::Exhaust,
        Stroke::Intake => Role::Intake,
        Stroke::Compression => Role::Compression,
    }
}

/// The letter that stands for a stroke.
pub fn letter(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Power => "P",
        Stroke::Exhaust => "E",
        Stroke::Intake => "I",
        Stroke::Compression => "C",
    }
}
