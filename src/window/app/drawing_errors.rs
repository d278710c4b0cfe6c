//! A drawing error never ends the program: every viewport is cut to its window as that is in the
//! frame, and a frame that cannot be drawn is dropped and drawn again.
//!
//! The pass that copies a camera's picture to its window takes the camera's viewport as a scissor
//! rectangle as it stands (bevy 0.19, `bevy_core_pipeline/src/upscaling/node.rs`, line 96), and
//! `camera_system` cuts the viewport to the window only in a frame in which the window is said to
//! have changed its size. The engine's viewport is what the panels leave free, and is known a frame
//! later: from a larger window than there still is, it reached the pass uncut, wgpu refused the
//! frame, and bevy's own answer to any drawing error is to quit.

use bevy::camera::NormalizedRenderTarget;
use bevy::diagnostic::FrameCount;
use bevy::prelude::*;
use bevy::render::camera::ExtractedCamera;
use bevy::render::error_handler::{ErrorType, RenderError, RenderErrorHandler, RenderErrorPolicy};
use bevy::render::view::{ExtractedView, ExtractedWindows};
use bevy::render::{Render, RenderApp, RenderSystems};
use bevy::window::RequestRedraw;

use super::panic;

/// Cuts viewports to their windows, and keeps the program running after a drawing error.
pub(crate) struct DrawingErrorsPlugin;

impl Plugin for DrawingErrorsPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<DroppedFrames>()
            .insert_resource(RenderErrorHandler(drop_frame));
        if let Some(render_app) = app.get_sub_app_mut(RenderApp) {
            render_app.add_systems(
                Render,
                cut_to_window
                    .after(RenderSystems::ExtractCommands)
                    .before(RenderSystems::CreateViews),
            );
        }
    }
}

/// Cuts every camera's target and viewport to the size that its window has in this frame.
fn cut_to_window(
    windows: Res<ExtractedWindows>,
    mut cameras: Query<(&mut ExtractedCamera, &mut ExtractedView)>,
) {
    for (mut camera, mut view) in &mut cameras {
        let Some(NormalizedRenderTarget::Window(window)) = &camera.target else {
            continue;
        };
        let Some(window) = windows.get(&window.entity()) else {
            continue;
        };
        let size = UVec2::new(window.physical_width, window.physical_height);
        camera.physical_target_size = Some(size);
        let (from, size) = match &mut camera.viewport {
            Some(viewport) => {
                viewport.clamp_to_size(size);
                (viewport.physical_position, viewport.physical_size)
            }
            None => (UVec2::ZERO, size),
        };
        camera.physical_viewport_size = Some(size);
        view.viewport = UVec4::new(from.x, from.y, size.x, size.y);
    }
}

/// Frames that could not be drawn.
#[derive(Resource, Debug, Default)]
struct DroppedFrames {
    /// The last one's number.
    last: u32,
    /// How many in a row.
    in_a_row: u32,
}

/// A dropped frame is drawn again at once, up to so many in a row; after that only the next input
/// draws again, so that a lasting fault does not keep the processor busy.
const MOST_AT_ONCE: u32 = 20;

/// Drops the frame. A device that is lost cannot be made anew under bevy (see `panic`).
fn drop_frame(error: &RenderError, main: &mut World, _: &mut World) -> RenderErrorPolicy {
    let now = main.resource::<FrameCount>().0;
    let mut dropped = main.resource_mut::<DroppedFrames>();
    let follows = now.wrapping_sub(dropped.last) <= 3;
    dropped.in_a_row = if follows { dropped.in_a_row + 1 } else { 1 };
    dropped.last = now;
    if dropped.in_a_row <= MOST_AT_ONCE {
        main.write_message(RequestRedraw);
    }
    match error.ty {
        ErrorType::DeviceLost => panic::begin_anew(),
        ErrorType::OutOfMemory | ErrorType::Validation | ErrorType::Internal => {
            RenderErrorPolicy::Ignore
        }
    }
}
