//! The pistons and their rods.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::materials::{ALLOY, BRIGHT, DARK, ROD, STEEL};
use super::mesh::{PartMesh, along, circle, clockwise, strap, unit};
use super::part::{PartKind, PartSpawner};
use crate::geometry::layout::Measures;
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
    let piston = spawner.mesh(piston(&layout.measures));
    let rod = spawner.mesh(rod(&layout.measures));
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
            *place = Transform::from_translation(unit(pose.gudgeon.extend(cylinder.z_mm)))
                .with_rotation(clockwise(cylinder.bank_deg));
        }
    }
    for (mut place, rod) in &mut rods {
        if let Some((pose, cylinder)) = pose(rod.0) {
            *place = Transform::from_translation(unit(pose.crankpin.extend(cylinder.z_mm)))
                .with_rotation(clockwise(pose.rod_deg));
        }
    }
}

fn piston(measures: &Measures) -> PartMesh {
    let radius = measures.bore_mm / 2.0 * 0.985;
    let (crown, skirt) = (measures.crown_mm, measures.skirt_mm);
    let mut mesh = PartMesh::new(ALLOY);
    // The axis of what is turned lies along the bore.
    mesh.at(along(DVec3::ZERO, DVec3::Y));
    let groove = 0.05 * measures.bore_mm;
    let mut profile = vec![(radius * 0.9, -skirt), (radius, -skirt), (radius, 0.0)];
    for ring in [3.0, 2.0, 1.0] {
        let top = crown - ring * 1.6 * groove;
        profile.extend([
            (radius, top - groove * 0.8),
            (radius * 0.96, top - groove * 0.8),
            (radius * 0.96, top),
            (radius, top),
        ]);
    }
    profile.extend([
        (radius, crown - groove * 0.3),
        (radius * 0.96, crown),
        (0.0, crown),
    ]);
    mesh.turned(&profile);
    // The inside, seen from below.
    mesh.turned(&[
        (0.0, crown * 0.55),
        (radius * 0.9, crown * 0.55),
        (radius * 0.9, -skirt),
    ]);
    mesh.colour(DARK);
    for ring in [3.0, 2.0, 1.0] {
        let top = crown - ring * 1.6 * groove;
        mesh.turned(&[
            (radius * 1.005, top - groove * 0.75),
            (radius * 1.005, top - groove * 0.05),
        ]);
    }
    mesh.colour(BRIGHT).to(DVec3::ZERO).tube(
        measures.gudgeon_mm * 0.55,
        measures.gudgeon_mm,
        (-radius * 0.97, radius * 0.97),
    );
    mesh
}

fn rod(measures: &Measures) -> PartMesh {
    let half = measures.rod_width_mm / 2.0;
    let (big, small) = (measures.pin_mm * 1.38, measures.gudgeon_mm * 1.55);
    let little_end = DVec2::new(0.0, measures.rod_mm);
    let mut mesh = PartMesh::new(ROD);
    let (inner, outer) = (measures.pin_mm * 1.02, measures.gudgeon_mm * 1.02);
    mesh.prism(
        &circle(DVec2::ZERO, big),
        &[circle(DVec2::ZERO, inner)],
        (-half, half),
    );
    mesh.prism(
        &circle(little_end, small),
        &[circle(little_end, outer)],
        (-half, half),
    );
    // The shank, narrower than the eyes, from eye to eye.
    let from = DVec2::new(0.0, big * 0.92);
    let to = DVec2::new(0.0, measures.rod_mm - small * 0.92);
    let (wide, narrow) = (big * 0.62, small * 0.72);
    let shank = [
        from + DVec2::new(-wide, 0.0),
        to + DVec2::new(-narrow, 0.0),
        to + DVec2::new(narrow, 0.0),
        from + DVec2::new(wide, 0.0),
    ];
    mesh.prism(&shank, &[], (-half * 0.35, half * 0.35));
    for side in [-1.0, 1.0] {
        let rib = strap(
            from + DVec2::new(side * wide * 0.82, 0.0),
            half * 0.3,
            to + DVec2::new(side * narrow * 0.78, 0.0),
            half * 0.26,
        );
        mesh.prism(&rib, &[], (-half * 0.8, half * 0.8));
    }
    // Cap bolts.
    mesh.colour(STEEL);
    for side in [-1.0, 1.0] {
        mesh.at(along(DVec3::new(side * big * 0.98, 0.0, 0.0), DVec3::Y))
            .bar(measures.pin_mm * 0.24, (-big * 0.62, big * 0.62));
    }
    mesh
}
