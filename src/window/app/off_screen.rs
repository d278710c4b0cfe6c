//! Drawing without a window: an app that is stepped by hand and draws into an image. Pictures and
//! speed are made with it.

use bevy::app::PluginsState;
use bevy::camera::RenderTarget;
use bevy::prelude::*;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::render_resource::{PollType, TextureFormat, TextureUsages};
use bevy::render::renderer::RenderDevice;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;

use super::renderer::{Adapter, SingleThreaded, bevy_plugins, configure};

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
/// Each of its frames is drawn before the next begins.
pub fn app(adapter: Adapter, size: UVec2) -> App {
    app_of(adapter, size, false)
}

/// The same, drawing one frame while the next is made, as the window does.
pub fn running_app(adapter: Adapter, size: UVec2) -> App {
    app_of(adapter, size, true)
}

fn app_of(adapter: Adapter, size: UVec2, running: bool) -> App {
    let in_software = adapter.in_software;
    let mut app = App::new();
    let no_window = WindowPlugin {
        primary_window: None,
        exit_condition: ExitCondition::DontExit,
        ..default()
    };
    let plugins = bevy_plugins(adapter, no_window).disable::<WinitPlugin>();
    app.add_plugins(if running {
        plugins
    } else {
        plugins.disable::<PipelinedRenderingPlugin>()
    });
    configure(&mut app, in_software);
    let mut image = Image::new_target_texture(size.x, size.y, TextureFormat::Rgba8UnormSrgb, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    let image = app.world_mut().resource_mut::<Assets<Image>>().add(image);
    app.insert_resource(Canvas { image, size })
        .init_resource::<Taken>();
    app
}

/// Finishes an app: it can then be stepped.
pub fn ready(app: &mut App) {
    app.add_plugins(SingleThreaded);
    while app.plugins_state() == PluginsState::Adding {
        bevy::tasks::tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
}

/// Draws one frame and waits until it is drawn.
pub fn step(app: &mut App) {
    app.update();
    wait(app);
}

/// Waits until all that was sent off is drawn.
pub fn wait(app: &App) {
    if let Some(device) = app.world().get_resource::<RenderDevice>() {
        // An error here is the device's loss: the picture that never comes tells it.
        let _ = device.poll(PollType::wait_indefinitely());
    }
}

/// Draws frames until the canvas has been read; its pixels, red, green, blue and cover, row by row
/// from the top.
///
/// None where the device gave no picture.
pub fn picture(app: &mut App) -> Option<Vec<u8>> {
    /// A picture takes three frames or so; a device that has given none after so many is lost.
    const PATIENCE: usize = 200;
    let image = app.world().resource::<Canvas>().image.clone();
    app.world_mut().resource_mut::<Taken>().0 = None;
    app.world_mut().spawn(Screenshot::image(image)).observe(
        |captured: On<ScreenshotCaptured>, mut taken: ResMut<Taken>| {
            taken.0 = Some(captured.image.clone())
        },
    );
    for _ in 0..PATIENCE {
        step(app);
        if let Some(image) = app.world_mut().resource_mut::<Taken>().0.take() {
            return image.data;
        }
    }
    None
}
