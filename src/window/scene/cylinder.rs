//! The cylinders, of glass, each with its piece of the head; cut open where the user wants it.

use bevy::prelude::*;
use glam::{DAffine3, DQuat, DVec3};

use super::materials::Colour;
use super::mesh::{PartMesh, unit};
use super::part::{PartKind, PartSpawner};
use super::parts_shown::Shown;
use crate::geometry::layout::Measures;
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
        let mesh = spawner.mesh(barrel(&layout.measures, cylinder.bank_deg, cut, thin));
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

/// The barrel of a cylinder of a bank, its bore's axis through the origin. `thin` leaves its wall
/// without thickness.
fn barrel(measures: &Measures, bank_deg: f64, cut: bool, thin: bool) -> PartMesh {
    /// The angle that is cut out, about the bore's axis.
    const OPENED_DEG: f64 = 130.0;
    let mut mesh = PartMesh::new(Colour([1.0; 4]));
    let (inner, outer) = (
        measures.bore_mm / 2.0,
        measures.bore_mm / 2.0 + measures.wall_mm,
    );
    let (foot, deck) = (measures.foot_mm, measures.deck_mm);
    // Where the processor draws, a wall without thickness is seen through at half the cost. Cut
    // open, it needs its inside.
    let whole = vec![
        (inner, deck),
        (inner, foot),
        (outer, foot),
        (outer, deck),
        (inner, deck),
    ];
    let wall = if thin && !cut {
        vec![(outer, foot), (outer, deck)]
    } else {
        whole
    };
    // The bore's own z runs out along it.
    let turned = DQuat::from_rotation_z(-bank_deg.to_radians())
        * DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2);
    mesh.at(DAffine3::from_quat(turned));
    // Cut open towards the front, the right and above.
    let open = turned.inverse() * DVec3::new(1.0, 0.5, 0.8);
    let open_deg = open.y.atan2(open.x).to_degrees();
    let (from_deg, sweep_deg) = if cut {
        (open_deg + OPENED_DEG / 2.0, 360.0 - OPENED_DEG)
    } else {
        (0.0, 360.0)
    };
    mesh.turned_part(&wall, from_deg, sweep_deg);
    // Head: a plate over the bore.
    // Just under the valves' faces, which would otherwise lie in its own.
    let face = deck - 0.006 * measures.bore_mm;
    let head = [
        (0.0, face),
        (outer, face),
        (outer, deck + measures.wall_mm * 1.5),
        (0.0, deck + measures.wall_mm * 1.5),
    ];
    mesh.turned_part(&head, from_deg, sweep_deg);
    mesh
}
