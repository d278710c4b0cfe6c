//! The file at hand in the window: its bar along the top, its fields on the right, what must be
//! asked over everything, files dropped on the window, and the closing of it.

use std::path::PathBuf;
use std::sync::Arc;

use bevy::prelude::*;
use bevy::window::{FileDragAndDrop, PrimaryWindow, WindowCloseRequested};
use bevy::winit::EventLoopProxyWrapper;
use egui::{Id, Modal, Ui};

use super::file_menu;
use super::file_menu::MenuResponse;
use super::{AddPane, Pane, Slot, always};
use super::{appearance, editor, new_engine};
use crate::angle::CrankAngle;
use crate::document::Document;
use crate::document::workspace::{Action, Workspace};
use crate::engine::Assembly;
use crate::engine::scenes;
use crate::window::app::dialogs;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, Opened};
use crate::window::session::storage::Files;

/// Lays the file that the window was opened with on the desk.
pub struct DocumentPlugin {
    /// What the window was opened with.
    pub opened: Opened,
}

impl Plugin for DocumentPlugin {
    fn build(&self, app: &mut App) {
        app.insert_resource(First(self.opened.clone()));
        app.add_systems(Startup, lay_out);
        app.add_systems(Update, (outside, title).chain().in_set(FrameSet::External));
        app.add_pane(Pane {
            title: "File",
            slot: Slot::Top,
            there: always,
            show: bar,
        });
        app.add_pane(Pane {
            title: "Engine",
            slot: Slot::Right,
            there: always,
            show: fields,
        });
    }
}

#[derive(Resource)]
struct First(Opened);

/// The file at hand.
#[derive(Resource)]
pub struct OpenDocument(pub Files);

fn lay_out(first: Res<First>, proxy: Option<Res<EventLoopProxyWrapper>>, mut commands: Commands) {
    let wake = dialogs::wake(proxy.as_deref());
    if let Some(document) = document(&first.0) {
        commands.insert_resource(OpenDocument(Files::new(Workspace::with(document), wake)));
    }
    commands.remove_resource::<First>();
}

/// The document behind the engine that was opened: the file, the built-in engine's text, or work
/// without a file.
fn document(opened: &Opened) -> Option<Document> {
    let from_file = opened
        .named
        .as_ref()
        .map(PathBuf::from)
        .filter(|path| path.is_file());
    if let Some(path) = from_file
        && let Ok(text) = std::fs::read_to_string(&path)
        && let Ok(document) = Document::open(Some(path.canonicalize().unwrap_or(path)), &text)
    {
        return Some(document);
    }
    let name = opened.named.as_deref().unwrap_or(scenes::BENCH.name);
    if let Some(document) =
        scenes::find(name).and_then(|scene| Document::open(None, scene.text).ok())
    {
        return Some(document);
    }
    Document::new(opened.engine.written().clone()).ok()
}

/// What comes from outside: the disk, dialogs, dropped files, the wish to close.
fn outside(
    mut desk: ResMut<OpenDocument>,
    mut bench: ResMut<Bench>,
    mut dropped: MessageReader<FileDragAndDrop>,
    mut closing: MessageReader<WindowCloseRequested>,
    mut exit: MessageWriter<AppExit>,
    mut laid: Local<u32>,
) {
    let files = &mut desk.bypass_change_detection().0;
    let mut news = files.take_news();
    for drop in dropped.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = drop {
            files.act(Action::OpenFile(path_buf.clone()));
            news = true;
        }
    }
    if closing.read().count() > 0 {
        files.act(Action::Close);
        news = true;
    }
    if files.is_closing() {
        exit.write(AppExit::Success);
    }
    let desk_now = files.workspace();
    let (engine, another) = (desk_now.document.engine(), *laid != desk_now.laid());
    *laid = desk_now.laid();
    if !Arc::ptr_eq(engine, bench.engine()) && (another || **engine != **bench.engine()) {
        bench.set_engine(engine);
        if another {
            // Another engine is met as drawn, No. 1 at firing TDC.
            bench.set_assembly(&Assembly::default());
            bench.turn_on_to(CrankAngle::new(0.0));
        }
    }
    if news {
        desk.set_changed();
    }
}

/// The window is called by what lies on the desk.
fn title(desk: Res<OpenDocument>, mut windows: Query<&mut Window, With<PrimaryWindow>>) {
    let document = &desk.0.workspace().document;
    let title = format!(
        "{}{} — Dotwise",
        document.title(),
        if document.is_dirty() {
            " • not saved"
        } else {
            ""
        }
    );
    if let Ok(mut window) = windows.single_mut()
        && window.title != title
    {
        window.title = title;
    }
}

/// The bar, what there is to tell, and what must be asked.
fn bar(ui: &mut Ui, world: &mut World) {
    let mut dress = *world.resource::<WindowTheme>();
    let Some(mut desk) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut desk.bypass_change_detection().0;
    let wish = ui
        .horizontal_wrapped(|ui| {
            let wish = file_menu::bar(ui, files.workspace());
            ui.separator();
            if let Some(theme) = appearance::menu(ui, dress.0) {
                dress.0 = theme;
            }
            wish
        })
        .inner;
    let told = if file_menu::has_notices(files.workspace()) {
        file_menu::notices(ui, files.workspace())
    } else {
        None
    };
    let wish = match told {
        Some(MenuResponse::Action(wish)) => Some(wish),
        Some(MenuResponse::Dismiss) => {
            files.dismiss_notice();
            wish
        }
        None => wish,
    };
    asked(ui, files);
    if let Some(wish) = wish {
        files.act(wish);
    }
    world.resource_mut::<WindowTheme>().set_if_neq(dress);
}

/// Questions over everything: unsaved work, a path, a new engine.
fn asked(ui: &mut Ui, files: &mut Files) {
    if let Some(reply) = file_menu::question(ui, files.workspace()) {
        files.reply(reply);
    }
    if let Some(typing) = &mut files.typing
        && let Some(path) = file_menu::path(ui, typing)
    {
        files.typed(path);
    }
    let Some(choosing) = &mut files.choosing else {
        return;
    };
    let shown = Modal::new(Id::new("a new engine")).show(ui.ctx(), |ui| {
        ui.set_width(480.0);
        new_engine::panel(ui, choosing)
    });
    match shown.inner {
        Some(new_engine::NewEngineResponse::Begin(description)) => files.begin(Some(*description)),
        Some(new_engine::NewEngineResponse::Cancel) => files.begin(None),
        None if shown.should_close() => files.begin(None),
        None => {}
    }
}

/// The fields of the description.
fn fields(ui: &mut Ui, world: &mut World) {
    let now_s = world.resource::<Time<Real>>().elapsed_secs_f64();
    let Some(mut desk) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut desk.bypass_change_detection().0;
    let document = &files.workspace().document;
    if let Some(edit) = editor::panel(ui, document.description(), document.findings()) {
        files.edit(edit.description, &edit.place, now_s);
        ui.ctx().request_repaint();
    }
}
