//! Drawing without a window: an app whose frames are asked for one by one and drawn into an image.
//! Pictures and measurements of speed are made with it.

use bevy::app::PluginsState;
use bevy::camera::RenderTarget;
use bevy::prelude::*;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::render_resource::{PollType, TextureFormat, TextureUsages};
use bevy::render::renderer::RenderDevice;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;

use super::renderer::{Adapter, SingleThreadedPlugin, bevy_plugins, configure};

/// The image that the app draws into.
#[derive(Resource, Clone, Debug)]
pub(crate) struct Canvas {
    image: Handle<Image>,
    pub(crate) size: UVec2,
}

impl Canvas {
    /// What a camera draws into.
    pub(crate) fn target(&self) -> RenderTarget {
        RenderTarget::Image(self.image.clone().into())
    }
}

/// The pictures that have been read from the canvas, in the order of their frames.
#[derive(Resource, Debug, Default)]
struct Pictures(Vec<Image>);

/// An app without a window, with a canvas of `size` in pixels: add plugins to it, then call
/// [`ready`]. Each of its frames is drawn before the next begins.
pub(crate) fn app(adapter: Adapter, size: UVec2) -> App {
    app_of(adapter, size, false)
}

/// The same, drawing one frame while the next is made, as the window does.
pub(crate) fn pipelined_app(adapter: Adapter, size: UVec2) -> App {
    app_of(adapter, size, true)
}

fn app_of(adapter: Adapter, size: UVec2, pipelined: bool) -> App {
    let in_software = adapter.in_software;
    let mut app = App::new();
    let no_window = WindowPlugin {
        primary_window: None,
        exit_condition: ExitCondition::DontExit,
        ..default()
    };
    let plugins = bevy_plugins(adapter, no_window).disable::<WinitPlugin>();
    app.add_plugins(if pipelined {
        plugins
    } else {
        plugins.disable::<PipelinedRenderingPlugin>()
    });
    configure(&mut app, in_software);
    let mut image = Image::new_target_texture(size.x, size.y, TextureFormat::Rgba8UnormSrgb, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    let image = app.world_mut().resource_mut::<Assets<Image>>().add(image);
    app.insert_resource(Canvas { image, size })
        .init_resource::<Pictures>();
    app
}

/// Finishes an app whose plugins are all added.
pub(crate) fn ready(app: &mut App) {
    app.add_plugins(SingleThreadedPlugin);
    while app.plugins_state() == PluginsState::Adding {
        bevy::tasks::tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
}

/// Draws one frame and waits until it is drawn.
pub(crate) fn step(app: &mut App) {
    app.update();
    wait(app);
}

/// Waits until everything submitted is drawn.
pub(crate) fn wait(app: &App) {
    if let Some(device) = app.world().get_resource::<RenderDevice>() {
        // An error here means a lost device: then no picture comes either.
        let _ = device.poll(PollType::wait_indefinitely());
    }
}

/// Has the canvas read as it is after the next frame: it arrives with one of the frames after that.
fn read_next_frame(app: &mut App) {
    let image = app.world().resource::<Canvas>().image.clone();
    app.world_mut().spawn(Screenshot::image(image)).observe(
        |captured: On<ScreenshotCaptured>, mut pictures: ResMut<Pictures>| {
            pictures.0.push(captured.image.clone());
        },
    );
}

/// Draws frames until so many pictures have arrived; false where the device gives no more.
fn arrive(app: &mut App, count: usize) -> bool {
    /// A picture takes three frames or so; a device that has given none after so many is lost.
    const MOST_FRAMES: usize = 200;
    (0..MOST_FRAMES).any(|_| {
        step(app);
        app.world().resource::<Pictures>().0.len() >= count
    })
}

/// Draws frames until the canvas has been read; gives its pixels, red, green, blue and opacity, row
/// by row from the top.
///
/// None where the device gave no picture.
pub(crate) fn picture(app: &mut App) -> Option<Vec<u8>> {
    app.world_mut().resource_mut::<Pictures>().0.clear();
    read_next_frame(app);
    if !arrive(app, 1) {
        return None;
    }
    app.world_mut().resource_mut::<Pictures>().0.pop()?.data
}

/// Draws frames for as long as one is asked for, as a window does, and gives the pixels of the last:
/// what stays on the screen. None where the device gave no picture, or no end came.
#[cfg(test)]
pub(crate) fn at_rest(app: &mut App) -> Option<Vec<u8>> {
    use bevy::window::RequestRedraw;
    const MOST_FRAMES: usize = 60;
    app.world_mut().resource_mut::<Pictures>().0.clear();
    for drawn in 1..=MOST_FRAMES {
        app.world_mut()
            .resource_mut::<Messages<RequestRedraw>>()
            .clear();
        read_next_frame(app);
        step(app);
        if app.world().resource::<Messages<RequestRedraw>>().is_empty() {
            // What is drawn until then is not read.
            let all = app.world().resource::<Pictures>().0.len() >= drawn || arrive(app, drawn);
            let pictures = std::mem::take(&mut app.world_mut().resource_mut::<Pictures>().0);
            return pictures.into_iter().nth(drawn - 1).filter(|_| all)?.data;
        }
    }
    None
}
