//! The engine on the screen: a file for each part, and the camera.

pub mod cam_drive;
pub mod camera;
pub mod camshaft;
pub mod crankshaft;
pub mod cylinder;
pub mod distributor;
pub mod lettering;
pub mod light;
pub mod materials;
pub mod mesh;
pub mod part;
pub mod parts_shown;
pub mod piston;
pub mod pulley;
pub mod valve_gear;

use bevy::prelude::*;
use bevy::window::RequestRedraw;

use self::light::Shadows;
use self::part::{Shapes, clear_away};
use self::parts_shown::Shown;
use super::app::schedule::{self, FrameSet};
use super::session::bench::{Bench, another_build};

/// One plugin for each part of the engine, and the light on it.
pub fn plugin(app: &mut App) {
    app.add_plugins((
        empty,
        crankshaft::CrankshaftPlugin,
        piston::PistonPlugin,
        cylinder::CylinderPlugin,
        camshaft::CamshaftPlugin,
        cam_drive::CamDrivePlugin,
        pulley::PulleyPlugin,
        valve_gear::ValveGearPlugin,
        distributor::DistributorPlugin,
        lettering::LetteringPlugin,
    ));
}

/// Materials and light, no engine in it yet, and the clearing away for another engine.
pub fn empty(app: &mut App) {
    schedule::order(app);
    app.configure_sets(Update, FrameSet::Move.run_if(resource_changed::<Bench>));
    app.init_resource::<Shapes>();
    app.add_plugins((materials::MaterialsPlugin, light::LightPlugin));
    app.add_systems(
        Update,
        clear_away.in_set(FrameSet::Despawn).run_if(another_build),
    );
    app.add_systems(Last, draw_what_changed);
}

/// What a panel changed late in a frame is drawn in the next; new meshes take some frames more to
/// reach what draws.
fn draw_what_changed(
    bench: Res<Bench>,
    shown: Option<Res<Shown>>,
    shadows: Res<Shadows>,
    mut seen: Local<Option<u32>>,
    mut owed: Local<u8>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let another = seen.replace(bench.build()) != Some(bench.build());
    if another || shadows.is_changed() || shown.is_some_and(|shown| shown.is_changed()) {
        *owed = 5;
    } else if bench.is_changed() {
        *owed = (*owed).max(1);
    }
    if *owed > 0 {
        *owed -= 1;
        redraw.write(RequestRedraw);
    }
}
