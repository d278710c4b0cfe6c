//! The engine on the screen: a file for each of its parts, and the camera.

pub(crate) mod cam_drive;
pub(crate) mod camera;
pub(crate) mod camshaft;
pub(crate) mod crankcase;
pub(crate) mod crankshaft;
pub(crate) mod cylinder;
pub(crate) mod distributor;
pub(crate) mod flywheel;
pub(crate) mod lettering;
pub(crate) mod light;
pub(crate) mod look;
pub(crate) mod materials;
pub(crate) mod mesh;
pub(crate) mod part;
pub(crate) mod parts_shown;
pub(crate) mod piston;
pub(crate) mod pulley;
pub(crate) mod units;
pub(crate) mod valve_gear;

use bevy::prelude::*;
use bevy::window::RequestRedraw;

use self::light::Shadows;
use self::mesh::Fineness;
use self::part::{SharedMeshes, despawn_parts};
use self::parts_shown::Shown;
use super::app::egui_setup::WindowTheme;
use super::app::renderer::RendererKind;
use super::app::schedule::{self, FrameSet};
use super::session::bench::{Bench, generation_changed};

/// One plugin for each part of the engine, and the light on it.
pub(crate) fn plugin(app: &mut App) {
    app.add_plugins((
        base,
        (crankshaft::CrankshaftPlugin, crankcase::CrankcasePlugin),
        piston::PistonPlugin,
        cylinder::CylinderPlugin,
        camshaft::CamshaftPlugin,
        cam_drive::CamDrivePlugin,
        pulley::PulleyPlugin,
        flywheel::FlywheelPlugin,
        valve_gear::ValveGearPlugin,
        distributor::DistributorPlugin,
        lettering::LetteringPlugin,
        parts_shown::ShownPlugin,
    ));
}

/// What a scene needs before there is an engine in it: materials, light, the order of the systems.
pub(crate) fn base(app: &mut App) {
    schedule::order(app);
    app.configure_sets(Update, FrameSet::Move.run_if(resource_changed::<Bench>));
    app.init_resource::<SharedMeshes>();
    let in_software = app
        .world()
        .get_resource::<RendererKind>()
        .is_some_and(|renderer| renderer.in_software);
    // A picture asks for the fine ones, however long it takes.
    if !app.world().contains_resource::<Fineness>() {
        app.insert_resource(if in_software {
            Fineness::Coarse
        } else {
            Fineness::Fine
        });
    }
    app.add_plugins((materials::MaterialsPlugin, light::LightPlugin));
    app.add_systems(
        Update,
        despawn_parts
            .in_set(FrameSet::Despawn)
            .run_if(generation_changed),
    );
    app.add_systems(Last, redraw_after_change);
}

/// What a panel changed late in a frame is drawn in the next; new meshes take some more frames to
/// reach the renderer.
fn redraw_after_change(
    bench: Res<Bench>,
    shown: Option<Res<Shown>>,
    shadows: Res<Shadows>,
    theme: Option<Res<WindowTheme>>,
    mut seen: Local<Option<u32>>,
    mut frames_left: Local<u8>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let new_meshes = seen.replace(bench.generation()) != Some(bench.generation());
    if new_meshes
        || shadows.is_changed()
        || shown.is_some_and(|shown| shown.is_changed())
        || theme.is_some_and(|theme| theme.is_changed())
    {
        *frames_left = 5;
    } else if bench.is_changed() {
        *frames_left = (*frames_left).max(1);
    }
    if *frames_left > 0 {
        *frames_left -= 1;
        redraw.write(RequestRedraw);
    }
}
