//! The graphics adapter, a card or the processor in its place, and bevy set up to suit it.

use std::panic::{AssertUnwindSafe, catch_unwind};

use bevy::app::PluginGroupBuilder;
use bevy::ecs::schedule::SingleThreadedExecutor;
use bevy::log::LogPlugin;
use bevy::pbr::PbrPlugin;
use bevy::prelude::*;
use bevy::render::batching::gpu_preprocessing::{GpuPreprocessingMode, GpuPreprocessingSupport};
use bevy::render::renderer::{RenderAdapterInfo, initialize_renderer};
use bevy::render::settings::{Backends, RenderCreation, RenderResources, WgpuSettings};
use bevy::render::{RenderApp, RenderPlugin, RenderStartup, init_gpu_resource};

use super::drawing_errors::DrawingErrorsPlugin;
use super::error::Error;

/// The graphics adapter, asked for before bevy's plugins are added: how they are set up depends on
/// it.
pub(crate) struct Adapter {
    /// The adapter with its device and queue.
    pub(crate) resources: RenderResources,
    /// Whether it draws with the processor.
    pub(crate) in_software: bool,
    pub(crate) name: String,
}

/// How the adapter draws, for whatever depends on it.
#[derive(Resource, Clone, Copy, Debug)]
pub(crate) struct RendererKind {
    /// Whether it draws with the processor.
    pub(crate) in_software: bool,
}

/// Finds a graphics adapter.
///
/// # Errors
/// Where there is none.
pub(crate) fn adapter() -> Result<Adapter, Error> {
    let settings = WgpuSettings::default();
    let backends = settings.backends.unwrap_or(Backends::all());
    let resources = without_panic(|| bevy::tasks::block_on(initialize_renderer(backends, None, &settings))).ok_or_else(|| {
        Error::NoWindow("no graphics adapter can be had (on Debian and Ubuntu, mesa-vulkan-drivers draws in software)".to_owned())
    })?;
    let RenderAdapterInfo(info) = &resources.2;
    let in_software = format!("{:?}", info.device_type) == "Cpu";
    let name = info.name.clone();
    Ok(Adapter {
        in_software,
        name,
        resources,
    })
}

/// Calls what panics where the machine lacks what it needs; gives None then, and prints nothing.
pub(crate) fn without_panic<T>(what: impl FnOnce() -> T) -> Option<T> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let done = catch_unwind(AssertUnwindSafe(what));
    std::panic::set_hook(hook);
    done.ok()
}

/// bevy logs errors alone: its log is for developers, and the window itself tells the user.
fn quiet_log() -> LogPlugin {
    LogPlugin {
        level: bevy::log::Level::ERROR,
        filter: "error,wgpu=off,wgpu_hal=off,naga=off,bevy_log=off".to_owned(),
        ..default()
    }
}

/// Where the transforms of meshes are computed: on the graphics card, or, where the processor draws
/// anyway, on the processor at once, which is several times faster there.
fn pbr_plugin(in_software: bool) -> PbrPlugin {
    PbrPlugin {
        use_gpu_instance_buffer_builder: !in_software,
        ..default()
    }
}

/// The other half of [`pbr_plugin`]: bevy sorts opaque meshes by what the adapter can preprocess,
/// and one that draws in software says that it can; meshes whose transforms the processor computes
/// would then be left out.
fn limit_preprocessing(app: &mut App, in_software: bool) {
    if !in_software {
        return;
    }
    let on_the_processor = |mut support: ResMut<GpuPreprocessingSupport>| {
        support.max_supported_mode = GpuPreprocessingMode::None;
    };
    if let Some(render_app) = app.get_sub_app_mut(RenderApp) {
        render_app.add_systems(
            RenderStartup,
            on_the_processor.after(init_gpu_resource::<GpuPreprocessingSupport>),
        );
    }
}

/// Gives every schedule the single-threaded executor: of hundreds of systems most have nothing to
/// do, and handing each to another thread takes longer than running it. To be added last, so that
/// it finds every schedule.
pub(crate) struct SingleThreadedPlugin;

impl Plugin for SingleThreadedPlugin {
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
pub(crate) fn bevy_plugins(adapter: Adapter, window: WindowPlugin) -> PluginGroupBuilder {
    DefaultPlugins
        .set(RenderPlugin {
            render_creation: RenderCreation::Manual(adapter.resources),
            // A part that is still waiting for its shader would be missing until something moves,
            // and from a picture for good.
            synchronous_pipeline_compilation: true,
            ..default()
        })
        .set(pbr_plugin(adapter.in_software))
        .set(quiet_log())
        .set(window)
}

/// What depends on the adapter, to be added after bevy's plugins.
pub(crate) fn configure(app: &mut App, in_software: bool) {
    app.add_plugins(DrawingErrorsPlugin);
    limit_preprocessing(app, in_software);
    app.insert_resource(RendererKind { in_software });
}
