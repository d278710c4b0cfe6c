//! The pistons and their rods.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::placed;
use crate::geometry::bodies::piston::{piston, piston_place, rod, rod_place};
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

pub(crate) struct PistonPlugin;

impl Plugin for PistonPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// The piston of a cylinder, drawn about its gudgeon pin with its crown straight up.
#[derive(Component)]
struct Piston(u8);

/// The rod of a cylinder, drawn about its big end with its small end straight up.
#[derive(Component)]
struct Rod(u8);

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let piston = spawner.body(&piston(&layout.measures));
    let rod = spawner.body(&rod(&layout.measures));
    for cylinder in &layout.cylinders {
        let number = cylinder.number;
        spawner
            .spawn(
                PartKind::Pistons,
                number,
                format!("Piston {number}"),
                piston.clone(),
            )
            .insert(Piston(number));
        spawner
            .spawn(PartKind::Rods, number, format!("Rod {number}"), rod.clone())
            .insert(Rod(number));
    }
}

fn turn(
    bench: Res<Bench>,
    mut pistons: Query<(&mut Transform, &Piston)>,
    mut rods: Query<(&mut Transform, &Rod), Without<Piston>>,
) {
    let pose = |number: u8| {
        bench
            .pose()
            .cylinders
            .get(usize::from(number).wrapping_sub(1))
            .zip(bench.layout().cylinder(number))
    };
    for (mut place, piston) in &mut pistons {
        if let Some((pose, cylinder)) = pose(piston.0) {
            *place = placed(piston_place(cylinder, pose));
        }
    }
    for (mut place, rod) in &mut rods {
        if let Some((pose, cylinder)) = pose(rod.0) {
            *place = placed(rod_place(cylinder, pose));
        }
    }
}
