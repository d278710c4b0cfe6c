//! How fast the window draws on this machine: the engine turning, compared with a box in the same
//! light, without and with all the panels.
//!
//! Off screen, and each frame waited for, so that no display's refresh rate hides what a frame
//! costs.

use std::time::{Duration, Instant};

use bevy::prelude::*;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};

use glam::DVec3;

use super::app::egui_setup::egui_plugins;
use super::app::error::Error;
use super::app::off_screen;
use super::app::renderer::adapter;
use super::app::viewport::EngineViewport;
use super::open::panel_plugins;
use super::scene;
use super::scene::camera;
use super::scene::materials::PartMaterials;
use super::scene::mesh::{Fineness, PartMesh};
use super::scene::units::{UNIT_MM, clockwise};
use super::session::bench::{Bench, Opened};
use crate::angle::CrankTurn;
use crate::geometry::solids::{Finish, Solids};

/// How long the frames of one scene take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cost {
    /// The median of all frames.
    pub median: Duration,
    /// From the start of the app to the first frame drawn.
    pub first: Duration,
}

/// What was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Speed {
    /// The adapter's name.
    pub adapter: String,
    /// A box and a label.
    pub empty: Cost,
    /// The engine and a label.
    pub engine: Cost,
    /// A box and all panels.
    pub empty_with_panels: Cost,
    /// The engine and all panels.
    pub engine_with_panels: Cost,
    /// Frames a second of a box and a label, none of them waited for.
    pub empty_a_second: f64,
    /// Frames a second of the engine and a label.
    pub engine_a_second: f64,
}

/// Draws `frames` frames of each scene at `size` and gives what they cost. Box and engine take
/// turns, frame by frame, so that whatever else the machine does falls on both alike.
///
/// # Errors
/// Where no adapter can be had.
pub fn measure(opened: &Opened, frames: usize, size: (u32, u32)) -> Result<Speed, Error> {
    let size = UVec2::new(size.0, size.1);
    let (empty, engine, _) = pair(opened, frames, size, false)?;
    let (empty_with_panels, engine_with_panels, adapter) = pair(opened, frames, size, true)?;
    let empty_a_second = a_second(opened, frames, size, false)?;
    let engine_a_second = a_second(opened, frames, size, true)?;
    Ok(Speed {
        adapter,
        empty,
        engine,
        empty_with_panels,
        engine_with_panels,
        empty_a_second,
        engine_a_second,
    })
}

/// Frames a second of a scene with a label, one drawn while the next is made.
fn a_second(opened: &Opened, frames: usize, size: UVec2, engine: bool) -> Result<f64, Error> {
    let mut app = off_screen::pipelined_app(adapter()?, size);
    add_scene(&mut app, opened, engine, false);
    off_screen::ready(&mut app);
    let mut draw = |count: usize| {
        for _ in 0..count {
            app.world_mut()
                .resource_mut::<Bench>()
                .turn_by(CrankTurn::new(2.0));
            app.update();
        }
        off_screen::wait(&app);
    };
    draw(WARM_UP);
    let started = Instant::now();
    draw(frames.max(1));
    Ok(frames.max(1) as f64 / started.elapsed().as_secs_f64())
}

/// The box's cost and the engine's, and what drew them.
fn pair(
    opened: &Opened,
    frames: usize,
    size: UVec2,
    panels: bool,
) -> Result<(Cost, Cost, String), Error> {
    let (mut empty, empty_first, _) = set_up(opened, size, false, panels)?;
    let (mut engine, engine_first, name) = set_up(opened, size, true, panels)?;
    let count = frames.max(1);
    let (mut of_empty, mut of_engine) = (Vec::with_capacity(count), Vec::with_capacity(count));
    for frame in 0..count + WARM_UP {
        let (box_took, engine_took) = (timed(&mut empty), timed(&mut engine));
        if frame >= WARM_UP {
            of_empty.push(box_took);
            of_engine.push(engine_took);
        }
    }
    let median = |times: &mut Vec<Duration>| {
        times.sort_unstable();
        times[times.len() / 2]
    };
    let empty = Cost {
        median: median(&mut of_empty),
        first: empty_first,
    };
    let engine = Cost {
        median: median(&mut of_engine),
        first: engine_first,
    };
    Ok((empty, engine, name))
}

/// A scene ready to be stepped, with its first frame drawn; how long that took, and what draws it.
fn set_up(
    opened: &Opened,
    size: UVec2,
    engine: bool,
    panels: bool,
) -> Result<(App, Duration, String), Error> {
    let started = Instant::now();
    let adapter = adapter()?;
    let name = adapter.name.clone();
    let mut app = off_screen::app(adapter, size);
    add_scene(&mut app, opened, engine, panels);
    off_screen::ready(&mut app);
    off_screen::step(&mut app);
    Ok((app, started.elapsed(), name))
}

/// Puts a scene in an app: the engine or a box, with a label or all panels.
fn add_scene(app: &mut App, opened: &Opened, engine: bool, panels: bool) {
    app.insert_resource(Bench::new(&opened.engine, &opened.assembly));
    app.add_plugins(egui_plugins);
    if engine {
        app.add_plugins(scene::plugin);
    } else {
        app.add_plugins(scene::base);
        app.add_systems(Startup, spawn_box);
        app.add_systems(Update, turn_box);
    }
    app.add_plugins(camera::CameraPlugin);
    if panels {
        app.add_plugins(panel_plugins);
    } else {
        app.init_resource::<EngineViewport>();
        app.add_systems(EguiPrimaryContextPass, label);
    }
}

/// Turns a scene's engine a little and draws it.
fn timed(app: &mut App) -> Duration {
    app.world_mut()
        .resource_mut::<Bench>()
        .turn_by(CrankTurn::new(2.0));
    let started = Instant::now();
    off_screen::step(app);
    started.elapsed()
}

/// Frames that are not counted, in which everything that is made only once is made.
const WARM_UP: usize = 10;

#[derive(Component)]
struct TestBox;

fn spawn_box(
    mut commands: Commands,
    mut meshes: ResMut<Assets<Mesh>>,
    materials: Res<PartMaterials>,
) {
    let mut body = Solids::new(Finish::Steel);
    body.block(DVec3::splat(2.0 * UNIT_MM));
    let mesh = PartMesh::of(&body, Fineness::Fine);
    commands.spawn((
        TestBox,
        Mesh3d(meshes.add(mesh.mesh())),
        MeshMaterial3d(materials.opaque.clone()),
    ));
}

fn turn_box(bench: Res<Bench>, mut boxes: Query<&mut Transform, With<TestBox>>) {
    for mut place in &mut boxes {
        place.rotation = clockwise(bench.turned_deg());
    }
}

fn label(mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>) {
    if let Ok(mut context) = contexts.single_mut() {
        egui::Area::new("label".into()).show(context.get_mut(), |ui| ui.label("One label"));
    }
}
