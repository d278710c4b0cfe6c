//! The camshaft: its lobes have the outlines that their lift law asks for.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::{clockwise, unit};
use crate::geometry::bodies::camshaft::camshaft;
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
        let mesh = spawner.body(&camshaft(&layout, index));
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
