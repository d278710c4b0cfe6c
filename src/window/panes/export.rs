//! Sheets, handout and picture from the file menu: what dialogs and threads answered is taken in,
//! and the picture is taken.

use bevy::prelude::*;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::RequestRedraw;
use bevy::winit::EventLoopProxyWrapper;

use super::document::{OpenDocument, follow_outside};
use crate::window::app::dialogs;
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::session::bench::Bench;
use crate::window::session::export::Export;

/// What is made of the engine for elsewhere.
pub(crate) struct ExportPlugin;

impl Plugin for ExportPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Startup, begin).add_systems(
            Update,
            (take_news, take_picture)
                .chain()
                .after(follow_outside)
                .in_set(FrameSet::External),
        );
    }
}

fn begin(proxy: Option<Res<EventLoopProxyWrapper>>, mut commands: Commands) {
    commands.insert_resource(Export::new(dialogs::wake(proxy.as_deref())));
}

fn take_news(mut export: ResMut<Export>, bench: Res<Bench>, open: Option<ResMut<OpenDocument>>) {
    let notice = export.bypass_change_detection().take_news(bench.phasing());
    if let (Some(notice), Some(mut open)) = (notice, open) {
        open.0.notify(notice);
    }
}

/// Takes the picture that is wanted, of the frame that is drawn now.
fn take_picture(
    mut export: ResMut<Export>,
    mut commands: Commands,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if export.bypass_change_detection().begin_picture() {
        commands
            .spawn(Screenshot::primary_window())
            .observe(pictured);
    }
    if export.is_taking() {
        redraw.write(RequestRedraw);
    }
}

fn pictured(
    captured: On<ScreenshotCaptured>,
    mut export: ResMut<Export>,
    viewport: Res<EngineViewport>,
) {
    let pixels = viewport.pixels();
    let part = viewport.middle().map_or(URect::EMPTY, |middle| {
        let corner = |at: egui::Pos2| Vec2::new(at.x, at.y) * pixels;
        let (from, to) = (corner(middle.min).ceil(), corner(middle.max).floor());
        URect::from_corners(
            from.max(Vec2::ZERO).as_uvec2(),
            to.max(Vec2::ZERO).as_uvec2(),
        )
    });
    export.pictured(captured.image.clone(), part);
}
