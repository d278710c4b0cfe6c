//! The open file in the window: its bar along the top, its fields on the right, the questions shown
//! over everything, files dropped on the window, and closing it.

use std::path::PathBuf;
use std::sync::Arc;

use bevy::prelude::*;
use bevy::window::{FileDragAndDrop, PrimaryWindow, WindowCloseRequested};
use bevy::winit::EventLoopProxyWrapper;
use egui::{Id, Modal, Ui};

use super::file_menu;
use super::file_menu::MenuResponse;
use super::{AddPane, Pane, Slot, always};
use super::{appearance, editor, new_engine, stage_menu};
use crate::angle::CrankAngle;
use crate::document::workspace::{Action, Workspace};
use crate::document::{Document, read_text};
use crate::engine::scenes;
use crate::engine::{Assembly, Ignitions};
use crate::window::app::dialogs;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, Opened};
use crate::window::session::build_stage::BuildStage;
use crate::window::session::storage::{Files, StateFolder};

/// Opens the file that the window was started with, and shows it.
pub(crate) struct DocumentPlugin {
    /// What the window was opened with.
    pub(crate) opened: Opened,
}

impl Plugin for DocumentPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<BuildStage>();
        app.insert_resource(OpenedWith(self.opened.clone()));
        app.add_systems(Startup, open_first);
        app.add_systems(
            Update,
            (follow_outside, title).chain().in_set(FrameSet::External),
        );
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
struct OpenedWith(Opened);

#[derive(Resource)]
pub(crate) struct OpenDocument(pub(crate) Files);

fn open_first(
    first: Res<OpenedWith>,
    state: Option<Res<StateFolder>>,
    proxy: Option<Res<EventLoopProxyWrapper>>,
    mut commands: Commands,
) {
    let wake = dialogs::wake(proxy.as_deref());
    if let Some(document) = document(&first.0) {
        let files = Files::new(Workspace::new(document), wake);
        commands.insert_resource(OpenDocument(match state {
            Some(state) => files.keeping(state.0.clone()),
            None => files,
        }));
    }
    commands.remove_resource::<OpenedWith>();
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
        && let Ok(text) = read_text(&path)
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

/// Takes in what comes from outside: the disk, dialogs, dropped files, the closing of the window.
pub(crate) fn follow_outside(
    mut open: ResMut<OpenDocument>,
    mut bench: ResMut<Bench>,
    mut dropped: MessageReader<FileDragAndDrop>,
    mut closing: MessageReader<WindowCloseRequested>,
    mut exit: MessageWriter<AppExit>,
    mut shown: Local<u32>,
) {
    let files = &mut open.bypass_change_detection().0;
    let mut news = files.take_news();
    files.keep_unsaved();
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
        files.keep_unsaved();
        exit.write(AppExit::Success);
    }
    let workspace = files.workspace();
    let (engine, another) = (
        workspace.document.engine(),
        *shown != workspace.generation(),
    );
    *shown = workspace.generation();
    if !Arc::ptr_eq(engine, bench.described()) && (another || **engine != **bench.described()) {
        bench.set_engine(engine);
        if another {
            // Another engine is shown as drawn, No. 1 at firing TDC.
            bench.set_assembly(&Assembly::default());
            bench.turn_on_to(CrankAngle::new(0.0));
        }
    }
    if news {
        open.set_changed();
    }
}

/// Names the window after the open file.
fn title(open: Res<OpenDocument>, mut windows: Query<&mut Window, With<PrimaryWindow>>) {
    let document = &open.0.workspace().document;
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

/// The bar, the notices under it, and the questions over everything.
fn bar(ui: &mut Ui, world: &mut World) {
    let mut theme = *world.resource::<WindowTheme>();
    let shown = world.resource::<Bench>().engine().ignitions();
    let stage = world.resource::<BuildStage>().clone();
    let case = world.resource::<Bench>().engine().written().case;
    let (mut second, mut staged) = (None, None);
    let Some(mut open) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut open.bypass_change_detection().0;
    let action = ui
        .horizontal_wrapped(|ui| {
            let action = file_menu::bar(ui, files.workspace());
            ui.separator();
            if let Some(chosen) = appearance::menu(ui, theme.0) {
                theme.0 = chosen;
            }
            second = ignitions(ui, shown);
            ui.separator();
            staged = stage_menu::menu(ui, &stage, case);
            action
        })
        .inner;
    let response = if file_menu::has_notices(files.workspace()) {
        file_menu::notices(ui, files.workspace())
    } else {
        None
    };
    let action = match response {
        Some(MenuResponse::Action(action)) => Some(action),
        Some(MenuResponse::Dismiss) => {
            files.dismiss_notice();
            action
        }
        None => action,
    };
    questions(ui, files);
    if let Some(action) = action {
        files.act(action);
    }
    world.resource_mut::<WindowTheme>().set_if_neq(theme);
    if let Some(staged) = staged {
        *world.resource_mut::<BuildStage>() = staged;
    }
    if let Some(second) = second {
        world.resource_mut::<Bench>().show_ignition(second);
    }
}

/// Of an engine with two ignitions, which is shown; true where the second is asked for.
fn ignitions(ui: &mut Ui, shown: Ignitions) -> Option<bool> {
    if shown == Ignitions::One {
        return None;
    }
    ui.separator();
    ui.label("Ignition");
    let mut asked = None;
    for (words, which) in [
        ("first", Ignitions::FirstOfTwo),
        ("second", Ignitions::SecondOfTwo),
    ] {
        let choice = ui
            .selectable_label(shown == which, words)
            .on_hover_text("Each cylinder has two plugs: each ignition has a distributor or coils, sparks and leads of its own");
        if choice.clicked() && shown != which {
            asked = Some(which == Ignitions::SecondOfTwo);
        }
    }
    asked
}

/// Questions over everything: unsaved work, a path, a new engine.
fn questions(ui: &mut Ui, files: &mut Files) {
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

fn fields(ui: &mut Ui, world: &mut World) {
    let now_s = world.resource::<Time<Real>>().elapsed_secs_f64();
    let Some(mut open) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut open.bypass_change_detection().0;
    let document = &files.workspace().document;
    if let Some(edit) = editor::panel(ui, document.description(), document.findings()) {
        files.edit(edit.description, &edit.place, now_s);
        ui.ctx().request_repaint();
    }
}
