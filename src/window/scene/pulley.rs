//! The pulley at the front: an open rim, so that the wheels behind it are seen, with its timing
//! mark, and the fixed pointer.

use bevy::prelude::*;
use glam::DVec3;

use super::materials::{MARK, POINTER, PULLEY};
use super::mesh::{PartMesh, circle, clockwise};
use super::part::{PartKind, PartSpawner};
use crate::geometry::Layout;
use crate::geometry::layout::{Wheel, towards};
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The pulley and its timing pointer.
pub(crate) struct PulleyPlugin;

impl Plugin for PulleyPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// The pulley, drawn as it stands at θ = 0. Dragging it turns the engine.
#[derive(Component)]
pub(crate) struct Pulley;

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let mesh = spawner.mesh(rim(&layout));
    spawner
        .spawn(
            PartKind::Pulley,
            0,
            "Pulley: drag it to turn the engine",
            mesh,
        )
        .insert(Pulley);
    let mesh = spawner.mesh(pointer(&layout));
    spawner.spawn(
        PartKind::Pulley,
        0,
        "Timing pointer, fixed to the front cover",
        mesh,
    );
}

fn turn(bench: Res<Bench>, mut pulleys: Query<&mut Transform, With<Pulley>>) {
    for mut pulley in &mut pulleys {
        pulley.rotation = clockwise(bench.pose().crank_clockwise_deg);
    }
}

/// The rim's inner radius over its outer.
const OPEN: f64 = 0.86;

fn rim(layout: &Layout) -> PartMesh {
    let pulley = &layout.pulley;
    let (outer, inner) = (pulley.radius_mm, pulley.radius_mm * OPEN);
    let half = pulley.width_mm / 2.0;
    let z = pulley.z_mm;
    let mut mesh = PartMesh::new(PULLEY);
    let lip = outer * 0.05;
    // A vee for the belt in the rim.
    mesh.turned(&[
        (inner, z + half),
        (inner, z - half),
        (outer, z - half),
        (outer, z - half * 0.75),
        (outer - lip, z),
        (outer, z + half * 0.75),
        (outer, z + half),
        (inner, z + half),
    ]);
    let hub = layout.nose_mm * 1.3;
    mesh.tube(0.0, hub, (z - half * 0.8, layout.front_z_mm));
    // The dots on the crank's wheel stand midway between spokes, so that they are seen through the
    // pulley.
    let clear = layout
        .wheels
        .first()
        .and_then(Wheel::dot_deg)
        .unwrap_or(pulley.mark_deg);
    for spoke in 0..3 {
        let direction = towards(clear + 60.0 + 120.0 * f64::from(spoke));
        let side = direction.perp() * outer * 0.035;
        let (from, to) = (direction * hub * 0.9, direction * inner * 1.01);
        mesh.prism(
            &[from - side, to - side, to + side, from + side],
            &[],
            (z - half * 0.35, z + half * 0.1),
        );
    }
    // The mark: a notch filled with paint, over the front face and the lip.
    let direction = towards(pulley.mark_deg);
    let side = direction.perp() * outer * 0.012;
    let mark = [
        direction * inner - side,
        direction * (outer * 1.004) - side,
        direction * (outer * 1.004) + side,
        direction * inner + side,
    ];
    mesh.colour(MARK)
        .prism(&mark, &[], (z + half * 0.7, z + half + 0.4));
    mesh.prism(&mark, &[], (z - half, z - half * 0.7));
    mesh
}

fn pointer(layout: &Layout) -> PartMesh {
    let pulley = &layout.pulley;
    let direction = towards(pulley.pointer_deg);
    let across = direction.perp();
    let (tip, tail) = (pulley.radius_mm * 1.03, pulley.radius_mm * 1.24);
    let wide = pulley.radius_mm * 0.06;
    let arrow = [
        direction * tip,
        direction * tail + across * wide,
        direction * tail - across * wide,
    ];
    let mut mesh = PartMesh::new(POINTER);
    mesh.prism(
        &arrow,
        &[],
        (
            pulley.z_mm - pulley.width_mm * 0.15,
            pulley.z_mm + pulley.width_mm * 0.15,
        ),
    );
    // Its stalk from the cover.
    let foot = direction * tail * 0.98;
    mesh.to(DVec3::ZERO).prism(
        &circle(foot, wide * 0.5),
        &[],
        (layout.drive_z_mm, pulley.z_mm),
    );
    mesh
}
