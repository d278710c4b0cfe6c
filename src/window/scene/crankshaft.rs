//! The crankshaft: main journals, crankpins, webs with their counterweights.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::clockwise;
use crate::geometry::bodies::crankshaft::crankshaft;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

pub(crate) struct CrankshaftPlugin;

impl Plugin for CrankshaftPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// The crankshaft, drawn as it stands with No. 1's throw straight up.
#[derive(Component)]
struct OnCrankshaft;

fn spawn(mut spawner: PartSpawner) {
    let body = crankshaft(spawner.bench.layout());
    let mesh = spawner.body(&body);
    spawner
        .spawn(PartKind::Crankshaft, 0, "Crankshaft", mesh)
        .insert(OnCrankshaft);
}

fn turn(bench: Res<Bench>, mut crankshafts: Query<&mut Transform, With<OnCrankshaft>>) {
    for mut crankshaft in &mut crankshafts {
        crankshaft.rotation = clockwise(bench.pose().throw_one_deg);
    }
}
