//! The camshaft: its lobes have the outlines that their lift law asks for.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::distributor;
use super::materials::{CAM, EXHAUST, INTAKE};
use super::mesh::{PartMesh, clockwise, unit};
use super::part::{PartKind, PartSpawner};
use crate::description::DrivenBy;
use crate::geometry::Layout;
use crate::geometry::layout::ValvePlace;
use crate::geometry::lobe_outline::LobeOutline;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, another_build};

/// Puts the camshafts there and turns them.
pub struct CamshaftPlugin;

impl Plugin for CamshaftPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Update, fit.in_set(FrameSet::Spawn).run_if(another_build));
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// What turns with a camshaft, drawn as it stands at θ = 0 as drawn.
#[derive(Component)]
pub struct OnCamshaft;

fn fit(mut fitting: PartSpawner) {
    let layout = fitting.bench.layout().clone();
    for (index, cam) in layout.cams.iter().enumerate() {
        let mesh = fitting.mesh(body(&layout, index));
        let called = if layout.cams.len() > 1 {
            format!("Camshaft {}", index + 1)
        } else {
            "Camshaft".to_owned()
        };
        let place = Transform::from_translation(unit(cam.centre.extend(0.0)));
        fitting
            .fit(PartKind::Camshaft, 0, called, mesh)
            .insert((OnCamshaft, place));
    }
}

fn turn(bench: Res<Bench>, mut camshafts: Query<&mut Transform, With<OnCamshaft>>) {
    for mut camshaft in &mut camshafts {
        camshaft.rotation = clockwise(bench.pose().cam_clockwise_deg);
    }
}

/// A colour for metal that is tinted with a valve's.
fn tinted(valve: super::materials::Colour) -> super::materials::Colour {
    let mut colour = CAM.0;
    for (own, tint) in colour.iter_mut().zip(valve.0) {
        *own = *own * 0.45 + tint * 0.55;
    }
    super::materials::Colour(colour)
}

fn body(layout: &Layout, index: usize) -> PartMesh {
    let mut solid = PartMesh::new(CAM);
    let cam = &layout.cams[index];
    let base = f64::min(
        layout.intake_lobe.base_radius_mm(),
        layout.exhaust_lobe.base_radius_mm(),
    ) * layout.lobe_scale;
    solid.bar(
        f64::min(base * 0.62, 0.13 * layout.measures.bore_mm),
        (cam.rear_z_mm, cam.front_z_mm + layout.wheel_width_mm * 0.6),
    );
    for cylinder in &layout.cylinders {
        for (valve, outline, colour) in [
            (&cylinder.intake, &layout.intake_lobe, INTAKE),
            (&cylinder.exhaust, &layout.exhaust_lobe, EXHAUST),
        ] {
            if valve.cam == index {
                lobe(solid.colour(tinted(colour)), layout, valve, outline);
            }
        }
    }
    if let (0, Some(place)) = (
        index,
        layout
            .distributor
            .filter(|place| place.driven_by == DrivenBy::Camshaft),
    ) {
        distributor::driver(&mut solid, &place, 0.0);
    }
    solid
}

fn lobe(solid: &mut PartMesh, layout: &Layout, valve: &ValvePlace, outline: &LobeOutline) {
    /// Corners of a lobe: at its sharpest they turn by less than the eye sees.
    const CORNERS: usize = 96;
    let turn = DVec2::from_angle(-valve.nose_deg.to_radians());
    let corners: Vec<DVec2> = outline
        .outline(CORNERS)
        .into_iter()
        .map(|corner| turn.rotate(corner) * layout.lobe_scale)
        .collect();
    let half = layout.lobe_width_mm / 2.0;
    solid.to(DVec3::ZERO).prism(
        &corners,
        &[],
        (valve.lobe_z_mm - half, valve.lobe_z_mm + half),
    );
}
