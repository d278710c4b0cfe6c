//! Drawing without a window: an app that is stepped by hand and draws into an image. Pictures and speed are made with it.

use bevy::app::PluginsState;
use bevy::camera::RenderTarget;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::render_resource::{PollType, TextureFormat, TextureUsages};
use bevy::render::renderer::RenderDevice;
use bevy::render::settings::RenderCreation;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;

use super::shell::{Adapter, Draws, meshes_placed, place_meshes, quiet_log};

/// The image that is drawn into.
#[derive(Resource, Clone, Debug)]
pub struct Canvas {
    image: Handle<Image>,
    /// Width and height, pixels.
    pub size: UVec2,
}

impl Canvas {
    /// What a camera draws into.
    pub fn target(&self) -> RenderTarget {
        RenderTarget::Image(self.image.clone().into())
    }
}

/// The last picture taken.
#[derive(Resource, Debug, Default)]
struct Taken(Option<Image>);

/// An app without a window, with a canvas of `size`, not yet finished: add to it, then [`ready`].
pub fn app(adapter: Adapter, size: UVec2) -> App {
    let in_software = adapter.in_software;
    let mut app = App::new();
    app.add_plugins(
        DefaultPlugins
            .set(RenderPlugin {
                render_creation: RenderCreation::Manual(adapter.resources),
                // A picture must not be taken before the shaders are there.
                synchronous_pipeline_compilation: true,
                ..default()
            })
            .set(meshes_placed(in_software))
            .set(quiet_log())
            .set(WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() })
            .disable::<WinitPlugin>()
            .disable::<PipelinedRenderingPlugin>(),
    );
    place_meshes(&mut app, in_software);
    app.insert_resource(Draws { in_software });
    let mut image = Image::new_target_texture(size.x, size.y, TextureFormat::Rgba8UnormSrgb, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    let image = app.world_mut().resource_mut::<Assets<Image>>().add(image);
    app.insert_resource(Canvas { image, size }).init_resource::<Taken>();
    app
}

/// Finishes an app: it can then be stepped.
pub fn ready(app: &mut App) {
    while app.plugins_state() == PluginsState::Adding {
        bevy::tasks::tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
}

/// Draws one frame and waits until it is drawn.
pub fn step(app: &mut App) {
    app.update();
    if let Some(device) = app.world().get_resource::<RenderDevice>() {
        // An error here is the device's loss: the picture that never comes tells it.
        let _ = device.poll(PollType::wait_indefinitely());
    }
}

/// Draws frames until the canvas has been read; its pixels, red, green, blue and cover, row by row from the top.
///
/// None where the device gave no picture.
pub fn picture(app: &mut App) -> Option<Vec<u8>> {
    /// A picture takes three frames or so; a device that has given none after so many is lost.
    const PATIENCE: usize = 200;
    let image = app.world().resource::<Canvas>().image.clone();
    app.world_mut().resource_mut::<Taken>().0 = None;
    app.world_mut()
        .spawn(Screenshot::image(image))
        .observe(|captured: On<ScreenshotCaptured>, mut taken: ResMut<Taken>| taken.0 = Some(captured.image.clone()));
    for _ in 0..PATIENCE {
        step(app);
        if let Some(image) = app.world_mut().resource_mut::<Taken>().0.take() {
            return image.data;
        }
    }
    None
}
