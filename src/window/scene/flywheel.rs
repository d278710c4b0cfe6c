//! The flywheel at the rear, where it carries a mark: its rim with the marks, and beside it the
//! pointers at which they are read.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::clockwise;
use crate::geometry::bodies::flywheel::{flywheel, pointers};
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
    let mesh = spawner.body(&flywheel(&place));
    spawner
        .spawn(PartKind::Flywheel, 0, "Flywheel with its timing mark", mesh)
        .insert(Flywheel);
    let mesh = spawner.body(&pointers(&place));
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
