//! Opening the window: whether there is a screen and something to draw with, and the app with its plugins.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use bevy::app::PluginGroupBuilder;
use bevy::camera::CameraOutputMode;
use bevy::camera::visibility::RenderLayers;
use bevy::ecs::schedule::SingleThreadedExecutor;
use bevy::log::LogPlugin;
use bevy::pbr::PbrPlugin;
use bevy::prelude::*;
use bevy::render::batching::gpu_preprocessing::{GpuPreprocessingMode, GpuPreprocessingSupport};
use bevy::render::render_resource::BlendState;
use bevy::render::renderer::{RenderAdapterInfo, initialize_renderer};
use bevy::render::settings::{Backends, RenderCreation, RenderResources, WgpuSettings};
use bevy::render::{RenderApp, RenderPlugin, RenderStartup, init_gpu_resource};
use bevy::window::{Monitor, PresentMode, PrimaryWindow, RequestRedraw, WindowResized, WindowResolution};
use bevy::winit::{UpdateMode, WinitSettings};
use bevy_egui::{
    EguiContext, EguiGlobalSettings, EguiInput, EguiPlugin, EguiPostUpdateSet, EguiPreUpdateSet, EguiPrimaryContextPass, EguiRenderOutput,
    PrimaryEguiContext,
};

use super::Steps;
use super::off_screen::Canvas;
use super::theme::Theme;
use super::{
    bench, cam_drive, camera, camshaft, crankshaft, cylinder, desk, distributor, hand, lessons, lettering, panes, parts_shown, piston,
    placed, pulley, seeing, stage, valve_gear,
};
use crate::build::Assembly;
use crate::engine::Engine;

/// What the window is opened with.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The engine.
    pub engine: Arc<Engine>,
    /// How it was put together.
    pub assembly: Assembly,
    /// What the user named it by: a path, a built-in engine's name, or nothing.
    pub named: Option<String>,
}

/// Why no window can be had, in half a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub String);

/// Opens the window and stays in it until it is closed.
///
/// # Errors
/// Where no display or no graphics adapter can be had.
pub fn open(opened: &Opened) -> Result<(), Refused> {
    display()?;
    let adapter = adapter()?;
    quietly(|| {
        let mut app = App::new();
        window_plugins(&mut app, adapter, opened);
        app
    })
    .ok_or_else(|| Refused("the window could not be opened on this display".to_owned()))?
    .run();
    Ok(())
}

/// What draws, asked for before anything is built: how it is best driven depends on it.
pub struct Adapter {
    /// Device, queue and the rest.
    pub resources: RenderResources,
    /// It draws with the processor.
    pub in_software: bool,
    /// What it calls itself.
    pub name: String,
}

/// How the adapter draws, for whatever depends on it.
#[derive(Resource, Clone, Copy, Debug)]
pub struct Draws {
    /// With the processor.
    pub in_software: bool,
}

/// Finds something to draw with.
///
/// # Errors
/// Where there is none.
pub fn adapter() -> Result<Adapter, Refused> {
    let settings = WgpuSettings::default();
    let backends = settings.backends.unwrap_or(Backends::all());
    let resources = quietly(|| bevy::tasks::block_on(initialize_renderer(backends, None, &settings))).ok_or_else(|| {
        Refused("no graphics adapter can be had (on Debian and Ubuntu, mesa-vulkan-drivers draws in software)".to_owned())
    })?;
    let RenderAdapterInfo(info) = &resources.2;
    let in_software = format!("{:?}", info.device_type) == "Cpu";
    let name = info.name.clone();
    Ok(Adapter { in_software, name, resources })
}

/// Does something that panics where the machine lacks what it needs; None then, and nothing is printed.
pub fn quietly<T>(what: impl FnOnce() -> T) -> Option<T> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let done = catch_unwind(AssertUnwindSafe(what));
    std::panic::set_hook(hook);
    done.ok()
}

/// Whether there is a display to open a window on.
#[cfg(all(unix, not(target_os = "macos")))]
fn display() -> Result<(), Refused> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    if set("DISPLAY") || (cfg!(feature = "wayland") && set("WAYLAND_DISPLAY")) {
        Ok(())
    } else {
        Err(Refused("no display (DISPLAY is not set)".to_owned()))
    }
}

/// Whether there is a display to open a window on: elsewhere there is, or the window says otherwise.
#[cfg(not(all(unix, not(target_os = "macos"))))]
fn display() -> Result<(), Refused> {
    Ok(())
}

/// What bevy has to say is for whoever develops this; a builder is told in the window.
fn quiet_log() -> LogPlugin {
    LogPlugin { level: bevy::log::Level::ERROR, filter: "error,wgpu=off,wgpu_hal=off,naga=off,bevy_log=off".to_owned(), ..default() }
}

/// Where meshes' places are worked out: on the graphics card, or, where the processor draws anyway, on the processor at once,
/// which is several times faster there.
fn meshes_placed(in_software: bool) -> PbrPlugin {
    PbrPlugin { use_gpu_instance_buffer_builder: !in_software, ..default() }
}

/// The other half of [`meshes_placed`]: bevy sorts opaque meshes by what the adapter could do, and one that draws in software
/// says that it could; then meshes placed by the processor would be left out.
fn place_meshes(app: &mut App, in_software: bool) {
    if !in_software {
        return;
    }
    let on_the_processor = |mut support: ResMut<GpuPreprocessingSupport>| support.max_supported_mode = GpuPreprocessingMode::None;
    if let Some(render_app) = app.get_sub_app_mut(RenderApp) {
        render_app.add_systems(RenderStartup, on_the_processor.after(init_gpu_resource::<GpuPreprocessingSupport>));
    }
}

/// Runs every schedule's systems one after another: there are hundreds, most of them have nothing to do, and handing each to
/// another thread takes longer than doing it. Added last, so that it finds every schedule.
pub struct OneAfterAnother;

impl Plugin for OneAfterAnother {
    fn build(&self, _: &mut App) {}

    fn finish(&self, app: &mut App) {
        for sub_app in app.sub_apps_mut().iter_mut() {
            if let Some(mut schedules) = sub_app.world_mut().get_resource_mut::<Schedules>() {
                schedules.iter_mut().for_each(|(_, schedule)| {
                    schedule.set_executor(SingleThreadedExecutor::new());
                });
            }
        }
    }
}

/// bevy's own plugins, on this adapter, for a window or for none.
pub fn bevy_plugins(adapter: Adapter, window: WindowPlugin) -> PluginGroupBuilder {
    DefaultPlugins
        .set(RenderPlugin {
            render_creation: RenderCreation::Manual(adapter.resources),
            // A part that is still waiting for its shader would be missing until something moves, and from a picture for good.
            synchronous_pipeline_compilation: true,
            ..default()
        })
        .set(meshes_placed(adapter.in_software))
        .set(quiet_log())
        .set(window)
}

/// What every app of ours is told of the adapter, once bevy's plugins are in it.
pub fn told_of(app: &mut App, in_software: bool) {
    place_meshes(app, in_software);
    app.insert_resource(Draws { in_software });
}

fn window_plugins(app: &mut App, adapter: Adapter, opened: &Opened) {
    let window = Window {
        title: format!("{} — Dotwise", opened.engine.name()),
        resolution: WindowResolution::new(1280, 720),
        present_mode: PresentMode::AutoVsync,
        ..default()
    };
    let in_software = adapter.in_software;
    app.add_plugins(bevy_plugins(adapter, WindowPlugin { primary_window: Some(window), close_when_requested: false, ..default() }));
    told_of(app, in_software);
    // Nothing is drawn at rest: only input, or a system that asks for it, draws.
    let still = UpdateMode::Reactive {
        wait: std::time::Duration::from_secs(3600),
        react_to_device_events: false,
        react_to_user_events: true,
        react_to_window_events: true,
    };
    app.insert_resource(WinitSettings { focused_mode: still, unfocused_mode: still });
    app.add_systems(Update, fit_the_screen.before(Steps::Outside));
    app.insert_resource(bench::Bench::new(&opened.engine, &opened.assembly));
    app.add_plugins((egui_plugins, engine_plugins, camera::CameraPlugin, panel_plugins));
    app.add_plugins((desk::DeskPlugin { opened: opened.clone() }, lessons::LessonsPlugin, OneAfterAnother));
}

/// A window that is larger than the screen it opens on is made as large as that. Once: what the user makes of it then stays.
fn fit_the_screen(monitors: Query<&Monitor>, mut windows: Query<&mut Window, With<PrimaryWindow>>, mut done: Local<bool>) {
    let (false, Ok(mut window)) = (*done, windows.single_mut()) else { return };
    let largest = monitors.iter().map(Monitor::physical_size).reduce(UVec2::max);
    let Some(screen) = largest else { return };
    *done = true;
    let (wide, high) = (window.physical_width().min(screen.x), window.physical_height().min(screen.y));
    if (wide, high) != (window.physical_width(), window.physical_height()) {
        window.resolution.set_physical_resolution(wide, high);
    }
}

/// What shows panels, and none yet.
pub fn egui_plugins(app: &mut App) {
    app.add_plugins(EguiPlugin::default());
    app.world_mut().resource_mut::<EguiGlobalSettings>().auto_create_primary_context = false;
    app.init_resource::<Dress>().init_resource::<ClearColor>();
    app.add_systems(Startup, egui_camera);
    app.add_systems(PreUpdate, drop_unchanged_modifiers.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass));
    app.add_systems(EguiPrimaryContextPass, dress.before(panes::show));
    let letters = draw_new_letters.after(EguiPostUpdateSet::ProcessOutput).before(EguiPostUpdateSet::PostProcessOutput);
    app.add_systems(PostUpdate, (letters, draw_after_resize));
}

/// Every panel in its place, and the hand.
pub fn panel_plugins(app: &mut App) {
    app.add_plugins((panes::PanesPlugin, hand::HandPlugin, placed::PlacedPlugin, seeing::SeeingPlugin, parts_shown::PartsShownPlugin));
}

/// One plugin for each part of the engine, and the light on it.
pub fn engine_plugins(app: &mut App) {
    app.add_plugins((
        stage::StagePlugin,
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

/// The panels have a camera of their own, over the whole window; the engine's draws only where they leave room.
fn egui_camera(mut commands: Commands, canvas: Option<Res<Canvas>>) {
    let mut camera = commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        RenderLayers::none(),
        Msaa::Off,
        Camera {
            order: 1,
            output_mode: CameraOutputMode::Write { blend_state: Some(BlendState::ALPHA_BLENDING), clear_color: ClearColorConfig::None },
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..default()
        },
    ));
    if let Some(canvas) = canvas {
        camera.insert(canvas.target());
    }
}

/// Every frame egui is handed the modifier keys as news, and for any news it asks for another frame: so it would draw for ever.
/// Only those that changed are left to it.
fn drop_unchanged_modifiers(mut inputs: Query<&mut EguiInput>, mut last: Local<Option<egui::Modifiers>>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            egui::Event::ModifiersChanged(modifiers) => last.replace(*modifiers) != Some(*modifiers),
            _ => true,
        });
    }
}

/// Letters that are new on the screen reach what draws them only a frame later: that frame is asked for, or they would be
/// missing until something else moved.
fn draw_new_letters(output: Query<&EguiRenderOutput>, mut redraw: MessageWriter<RequestRedraw>) {
    if output.iter().any(|output| !output.textures_delta.set.is_empty()) {
        redraw.write(RequestRedraw);
    }
}

/// A window of another size is drawn until what stands in it has found its place: the panels a frame later, the engine between
/// them a frame after that.
fn draw_after_resize(mut resized: MessageReader<WindowResized>, mut left: Local<u8>, mut redraw: MessageWriter<RequestRedraw>) {
    const FRAMES: u8 = 3;
    if resized.read().count() > 0 {
        *left = FRAMES;
    }
    if *left > 0 {
        *left -= 1;
        redraw.write(RequestRedraw);
    }
}

/// What the window looks like now.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dress(pub Theme);

/// Puts the window's look on, and behind the engine what goes with it.
fn dress(
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
    dress: Res<Dress>,
    mut worn: Local<Option<Dress>>,
    mut behind: ResMut<ClearColor>,
) {
    let Ok(mut context) = contexts.single_mut() else { return };
    if worn.replace(*dress) != Some(*dress) {
        dress.0.put_on(context.get_mut());
        let backdrop = dress.0.palette().backdrop;
        behind.0 = Color::srgb_u8(backdrop.r(), backdrop.g(), backdrop.b());
    }
}
