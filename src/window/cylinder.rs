//! The cylinders, of glass, with the face of the head; cut open where the user wants them so.

use bevy::prelude::*;
use glam::{DAffine3, DQuat, DVec3};

use super::Steps;
use super::bench::another_build;
use super::metal::Colour;
use super::part::{Fitting, Kind};
use super::parts_shown::Shown;
use super::solid::Solid;
use crate::model::Layout;

/// Puts the cylinders there.
pub struct CylinderPlugin;

impl Plugin for CylinderPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Shown>();
        app.add_systems(Update, fit.in_set(Steps::Fit).run_if(another_build));
        app.add_systems(Update, cut.in_set(Steps::Fit).after(fit).run_if(resource_changed::<Shown>));
    }
}

/// All barrels, and whether they are cut open.
#[derive(Component)]
struct Barrels {
    cut: bool,
}

fn fit(mut fitting: Fitting, shown: Res<Shown>) {
    put(&mut fitting, shown.cut_away);
}

fn cut(mut fitting: Fitting, mut commands: Commands, shown: Res<Shown>, barrels: Query<(Entity, &Barrels)>) {
    let Some((entity, _)) = barrels.iter().find(|(_, barrels)| barrels.cut != shown.cut_away) else { return };
    commands.entity(entity).despawn();
    put(&mut fitting, shown.cut_away);
}

fn put(fitting: &mut Fitting, cut: bool) {
    let layout = fitting.bench.layout().clone();
    let glass = fitting.metals.glass.clone();
    let mesh = fitting.mesh(barrels(&layout, cut));
    fitting.fit_of(Kind::Cylinders, 0, "Cylinders", mesh, glass).insert(Barrels { cut });
}

/// All barrels in one mesh: they never move.
fn barrels(layout: &Layout, cut: bool) -> Solid {
    /// How much of the round is taken out.
    const OPENED_DEG: f64 = 130.0;
    let measures = &layout.measures;
    let mut solid = Solid::new(Colour([1.0; 4]));
    let (inner, outer) = (measures.bore_mm / 2.0, measures.bore_mm / 2.0 + measures.wall_mm);
    let (foot, deck) = (measures.foot_mm, measures.deck_mm);
    let wall = [(inner, deck), (inner, foot), (outer, foot), (outer, deck), (inner, deck)];
    for cylinder in &layout.cylinders {
        // The bore's own z runs out along it.
        let turned = DQuat::from_rotation_z(-cylinder.bank_deg.to_radians()) * DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2);
        solid.at(DAffine3::from_rotation_translation(turned, DVec3::new(0.0, 0.0, cylinder.z_mm)));
        // Cut open towards the front, the right and above.
        let open = turned.inverse() * DVec3::new(1.0, 0.5, 0.8);
        let open_deg = open.y.atan2(open.x).to_degrees();
        let (from_deg, sweep_deg) = if cut { (open_deg + OPENED_DEG / 2.0, 360.0 - OPENED_DEG) } else { (0.0, 360.0) };
        solid.turned_part(&wall, from_deg, sweep_deg);
        // Head: a plate over the bore.
        solid.turned_part(
            &[(0.0, deck), (outer, deck), (outer, deck + measures.wall_mm * 1.5), (0.0, deck + measures.wall_mm * 1.5)],
            from_deg,
            sweep_deg,
        );
    }
    solid
}
