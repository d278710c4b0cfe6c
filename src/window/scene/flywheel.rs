//! The flywheel at the rear, where it carries a mark: its rim with the marks, and beside it the
//! pointers at which they are read.

use bevy::prelude::*;

use super::materials::{FORGED, MARK, POINTER};
use super::mesh::{PartMesh, circle, clockwise};
use super::part::{PartKind, PartSpawner};
use crate::geometry::layout::{FlywheelPlace, towards};
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The flywheel and its pointers.
pub(crate) struct FlywheelPlugin;

impl Plugin for FlywheelPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// The flywheel, drawn as it stands at θ = 0.
#[derive(Component)]
struct Flywheel;

fn spawn(mut spawner: PartSpawner) {
    let Some(place) = spawner.bench.layout().flywheel.clone() else {
        return;
    };
    let mesh = spawner.mesh(wheel(&place));
    spawner
        .spawn(PartKind::Flywheel, 0, "Flywheel with its timing mark", mesh)
        .insert(Flywheel);
    let mesh = spawner.mesh(pointers(&place));
    spawner.spawn(
        PartKind::Flywheel,
        0,
        "Flywheel's timing pointer, fixed to the case",
        mesh,
    );
}

fn turn(bench: Res<Bench>, mut flywheels: Query<&mut Transform, With<Flywheel>>) {
    for mut flywheel in &mut flywheels {
        flywheel.rotation = clockwise(bench.pose().crank_clockwise_deg);
    }
}

/// A plate that joins a heavy rim, and on the rim a painted line across for each mark.
fn wheel(place: &FlywheelPlace) -> PartMesh {
    let (outer, half, z) = (place.radius_mm, place.width_mm / 2.0, place.z_mm);
    let inner = outer * 0.84;
    let mut mesh = PartMesh::new(FORGED);
    mesh.turned(&[
        (0.0, z - half * 0.5),
        (inner, z - half * 0.5),
        (inner, z - half),
        (outer, z - half),
        (outer, z + half),
        (inner, z + half),
        (inner, z + half * 0.3),
        (0.0, z + half * 0.3),
    ]);
    for &(mark_deg, _) in &place.marks {
        let direction = towards(mark_deg);
        let side = direction.perp() * outer * 0.012;
        let mark = [
            direction * inner - side,
            direction * (outer * 1.004) - side,
            direction * (outer * 1.004) + side,
            direction * inner + side,
        ];
        mesh.colour(MARK)
            .prism(&mark, &[], (z - half - 0.4, z + half + 0.4));
    }
    mesh
}

/// A pointer over the rim for each place at which a mark is read, on a stalk to the case.
fn pointers(place: &FlywheelPlace) -> PartMesh {
    let mut mesh = PartMesh::new(POINTER);
    for &(_, pointer_deg) in &place.marks {
        let direction = towards(pointer_deg);
        let across = direction.perp();
        let (tip, tail) = (place.radius_mm * 1.03, place.radius_mm * 1.17);
        let wide = place.radius_mm * 0.045;
        let arrow = [
            direction * tip,
            direction * tail + across * wide,
            direction * tail - across * wide,
        ];
        let thick = place.width_mm * 0.15;
        mesh.prism(&arrow, &[], (place.z_mm - thick, place.z_mm + thick));
        mesh.prism(
            &circle(direction * tail * 0.98, wide * 0.5),
            &[],
            (place.z_mm, place.z_mm + place.width_mm * 1.4),
        );
    }
    mesh
}
