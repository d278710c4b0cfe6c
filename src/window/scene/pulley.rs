//! The pulley at the front: an open rim, so that the wheels behind it are seen, with its timing
//! mark, and the fixed pointer.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::clockwise;
use crate::geometry::bodies::pulley::{pointer, pulley};
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
    let mesh = spawner.body(&pulley(&layout));
    spawner
        .spawn(
            PartKind::Pulley,
            0,
            "Pulley: drag it to turn the engine",
            mesh,
        )
        .insert(Pulley);
    let mesh = spawner.body(&pointer(&layout));
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
