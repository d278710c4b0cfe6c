//! The cylinders, of glass, each with its piece of the head; cut open where the user wants it.

use bevy::prelude::*;
use glam::DVec3;

use super::part::{PartKind, PartSpawner};
use super::parts_shown::Shown;
use super::units::unit;
use crate::geometry::bodies::cylinder::{BarrelForm, barrel};
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::generation_changed;

pub(crate) struct CylinderPlugin;

impl Plugin for CylinderPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Shown>();
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(
            Update,
            spawn_cut
                .in_set(FrameSet::Spawn)
                .after(spawn)
                .run_if(resource_changed::<Shown>),
        );
    }
}

/// A barrel, and whether it is cut open.
#[derive(Component)]
struct Barrel {
    cut: bool,
}

fn spawn(mut spawner: PartSpawner, shown: Res<Shown>) {
    spawn_barrels(&mut spawner, shown.cut_away);
}

fn spawn_cut(
    mut spawner: PartSpawner,
    mut commands: Commands,
    shown: Res<Shown>,
    barrels: Query<(Entity, &Barrel)>,
) {
    if barrels
        .iter()
        .all(|(_, barrel)| barrel.cut == shown.cut_away)
    {
        return;
    }
    barrels
        .iter()
        .for_each(|(entity, _)| commands.entity(entity).despawn());
    spawn_barrels(&mut spawner, shown.cut_away);
}

fn spawn_barrels(spawner: &mut PartSpawner, cut: bool) {
    let thin = spawner.renderer.in_software;
    let layout = spawner.bench.layout().clone();
    let glass = spawner.materials.glass.clone();
    for cylinder in &layout.cylinders {
        let form = BarrelForm { cut, thin };
        let mesh = spawner.body(&barrel(&layout.measures, cylinder.bank_deg, form));
        let place = Transform::from_translation(unit(DVec3::new(0.0, 0.0, cylinder.z_mm)));
        let name = format!("Cylinder {}", cylinder.number);
        spawner
            .spawn_of(
                PartKind::Cylinders,
                cylinder.number,
                name,
                mesh,
                glass.clone(),
            )
            .insert((Barrel { cut }, place));
    }
}
