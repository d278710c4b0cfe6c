//! The crankshaft: main journals, crankpins, webs with their counterweights.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::distributor;
use super::materials::{BRIGHT, FORGED, STEEL};
use super::mesh::{PartMesh, clockwise, strap};
use super::part::{PartKind, PartSpawner};
use crate::description::DrivenBy;
use crate::geometry::Layout;
use crate::geometry::layout::towards;
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
    let mesh = body(spawner.bench.layout());
    let mesh = spawner.mesh(mesh);
    spawner
        .spawn(PartKind::Crankshaft, 0, "Crankshaft", mesh)
        .insert(OnCrankshaft);
}

fn turn(bench: Res<Bench>, mut crankshafts: Query<&mut Transform, With<OnCrankshaft>>) {
    for mut crankshaft in &mut crankshafts {
        crankshaft.rotation = clockwise(bench.pose().throw_one_deg);
    }
}

fn body(layout: &Layout) -> PartMesh {
    let measures = &layout.measures;
    let mut mesh = PartMesh::new(STEEL);
    // A little short of the pulley's nut, which covers its end.
    mesh.bar(layout.nose_mm, (layout.drive_z_mm, layout.front_z_mm - 1.0));
    let mut journal_front = layout.drive_z_mm - layout.wheel_width_mm / 2.0;
    for throw in &layout.throws {
        let half = throw.pin_length_mm / 2.0;
        let (front, rear) = (throw.z_mm + half, throw.z_mm - half);
        mesh.colour(STEEL).to(DVec3::ZERO).bar(
            measures.journal_mm,
            (front + measures.web_mm * 0.5, journal_front),
        );
        let pin = towards(throw.angle_deg) * measures.throw_mm;
        mesh.colour(BRIGHT).to(pin.extend(0.0)).bar(
            measures.pin_mm,
            (rear - measures.web_mm * 0.5, front + measures.web_mm * 0.5),
        );
        for (near, far) in [
            (front, front + measures.web_mm),
            (rear - measures.web_mm, rear),
        ] {
            mesh.colour(FORGED).to(DVec3::ZERO).prism(
                &web(layout, throw.angle_deg),
                &[],
                (near, far),
            );
        }
        journal_front = rear - measures.web_mm * 0.5;
    }
    mesh.colour(STEEL)
        .to(DVec3::ZERO)
        .bar(measures.journal_mm, (layout.rear_z_mm, journal_front));
    if let Some(place) = layout
        .distributor
        .filter(|place| place.driven_by == DrivenBy::Crankshaft)
    {
        let throw_one = layout.cylinder(1).map_or(0.0, |cylinder| cylinder.bank_deg);
        distributor::driver(&mut mesh, &place, throw_one);
    }
    mesh
}

/// A web about the shaft's axis: a strap to the pin, and across from it a counterweight.
fn web(layout: &Layout, angle_deg: f64) -> Vec<DVec2> {
    let measures = &layout.measures;
    let (pin_eye, shaft_eye) = (measures.pin_mm * 1.25, measures.journal_mm * 1.15);
    let heavy = f64::min(
        measures.throw_mm * 1.05 + measures.pin_mm * 0.4,
        measures.foot_of_counterweight_mm(),
    );
    let strap = strap(
        DVec2::ZERO,
        shaft_eye,
        DVec2::new(0.0, measures.throw_mm),
        pin_eye,
    );
    // The strap's corners above the axis, then the counterweight's fan below.
    let mut corners: Vec<DVec2> = strap.into_iter().filter(|corner| corner.y > 0.0).collect();
    corners.sort_by(|one, other| one.x.atan2(one.y).total_cmp(&other.x.atan2(other.y)));
    /// Half the fan, degrees: about what forged cranks have, common practice, no source.
    const FAN_DEG: f64 = 62.0;
    corners.extend(
        (0..=16)
            .map(|step| towards(180.0 - FAN_DEG + 2.0 * FAN_DEG * f64::from(step) / 16.0) * heavy),
    );
    let turn = DVec2::from_angle(-angle_deg.to_radians());
    corners
        .into_iter()
        .map(|corner| turn.rotate(corner))
        .collect()
}
