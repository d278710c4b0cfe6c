//! The cylinders, of glass, with the face of the head.

use bevy::prelude::*;
use glam::{DAffine3, DQuat, DVec3};

use super::Steps;
use super::bench::another_build;
use super::metal::Colour;
use super::part::{Fitting, Kind};
use super::solid::Solid;
use crate::model::Layout;

/// Puts the cylinders there.
pub struct CylinderPlugin;

impl Plugin for CylinderPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Update, fit.in_set(Steps::Fit).run_if(another_build));
    }
}

fn fit(mut fitting: Fitting) {
    let layout = fitting.bench.layout().clone();
    let glass = fitting.metals.glass.clone();
    let mesh = fitting.mesh(barrels(&layout));
    fitting.fit_of(Kind::Cylinders, 0, "Cylinders", mesh, glass);
}

/// All barrels in one mesh: they never move.
fn barrels(layout: &Layout) -> Solid {
    let measures = &layout.measures;
    let mut solid = Solid::new(Colour([1.0; 4]));
    let (inner, outer) = (measures.bore_mm / 2.0, measures.bore_mm / 2.0 + measures.wall_mm);
    for cylinder in &layout.cylinders {
        // The bore's own z runs out along it.
        let turned = DQuat::from_rotation_z(-cylinder.bank_deg.to_radians()) * DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2);
        solid.at(DAffine3::from_rotation_translation(turned, DVec3::new(0.0, 0.0, cylinder.z_mm)));
        solid.tube(inner, outer, (measures.foot_mm, measures.deck_mm));
        // Head: a plate over the bore.
        solid.bar(outer, (measures.deck_mm, measures.deck_mm + measures.wall_mm * 1.5));
    }
    solid
}
