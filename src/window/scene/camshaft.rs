//! The camshaft: its lobes have the outlines that their lift law asks for.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::distributor;
use super::materials::{CAM, Colour, EXHAUST, INTAKE};
use super::mesh::{PartMesh, clockwise, unit};
use super::part::{PartKind, PartSpawner};
use crate::description::DrivenBy;
use crate::geometry::Layout;
use crate::geometry::layout::ValvePlace;
use crate::geometry::lobe_outline::LobeOutline;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};
use crate::words::capitalised;

pub(crate) struct CamshaftPlugin;

impl Plugin for CamshaftPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// A camshaft, drawn as it stands at θ = 0 as drawn: which of the description's, and which of the
/// layout's.
#[derive(Component)]
pub(crate) struct OnCamshaft(pub(crate) usize, usize);

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    for (index, cam) in layout.cams.iter().enumerate() {
        let mesh = spawner.mesh(body(&layout, index));
        let engine = spawner.bench.engine();
        let name = if engine.has_several_camshafts() {
            capitalised(engine.camshaft_name(cam.camshaft))
        } else if layout.cams.len() > 1 {
            format!("Camshaft {}", index + 1)
        } else {
            "Camshaft".to_owned()
        };
        let place = Transform::from_translation(unit(cam.centre.extend(0.0)));
        spawner
            .spawn(PartKind::Camshaft, 0, name, mesh)
            .insert((OnCamshaft(cam.camshaft, index), place));
    }
}

fn turn(bench: Res<Bench>, mut camshafts: Query<(&mut Transform, &OnCamshaft)>) {
    let layout = bench.layout();
    for (mut place, camshaft) in &mut camshafts {
        let Some(cam) = layout.cams.get(camshaft.1) else {
            continue;
        };
        let turned = bench.pose().cams_clockwise_deg.get(camshaft.0);
        let off = bench.cam_off_mm(camshaft.1);
        *place = Transform::from_translation(unit(cam.centre.extend(0.0) + off))
            .with_rotation(clockwise(turned.copied().unwrap_or_default()));
    }
}

/// The camshaft's colour, tinted with that of a valve.
fn tinted(valve: Colour) -> Colour {
    let mut colour = CAM.0;
    for (own, tint) in colour.iter_mut().zip(valve.0) {
        *own = *own * 0.45 + tint * 0.55;
    }
    Colour(colour)
}

fn body(layout: &Layout, index: usize) -> PartMesh {
    let mut mesh = PartMesh::new(CAM);
    let cam = &layout.cams[index];
    let base = f64::min(
        layout.intake_lobe.base_radius_mm(),
        layout.exhaust_lobe.base_radius_mm(),
    ) * layout.lobe_scale;
    mesh.bar(
        f64::min(base * 0.62, 0.13 * layout.measures.bore_mm),
        (cam.rear_z_mm, cam.front_z_mm + layout.wheel_width_mm * 0.6),
    );
    for cylinder in &layout.cylinders {
        for (valve, outline, colour) in [
            (&cylinder.intake, &layout.intake_lobe, INTAKE),
            (&cylinder.exhaust, &layout.exhaust_lobe, EXHAUST),
        ] {
            if valve.cam == index {
                lobe(mesh.colour(tinted(colour)), layout, valve, outline);
            }
        }
    }
    if let Some(place) = layout
        .distributor
        .filter(|place| place.driven_by == DrivenBy::Camshaft && place.cam == index)
    {
        distributor::driver(&mut mesh, &place, 0.0);
    }
    mesh
}

fn lobe(mesh: &mut PartMesh, layout: &Layout, valve: &ValvePlace, outline: &LobeOutline) {
    /// Corners of a lobe: where it is sharpest the angle between its sides is too small to see.
    const CORNERS: usize = 96;
    let turn = DVec2::from_angle(-valve.nose_deg.to_radians());
    let corners: Vec<DVec2> = outline
        .outline(CORNERS)
        .into_iter()
        .map(|corner| turn.rotate(corner) * layout.lobe_scale)
        .collect();
    let half = layout.lobe_width_mm / 2.0;
    mesh.to(DVec3::ZERO).prism(
        &corners,
        &[],
        (valve.lobe_z_mm - half, valve.lobe_z_mm + half),
    );
}
