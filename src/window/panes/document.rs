//! The open file in the window: its bar along the top, its fields on the right, the questions shown
//! over everything, files dropped on the window, and closing it.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use bevy::prelude::*;
use bevy::window::{FileDragAndDrop, PrimaryWindow, WindowCloseRequested};
use bevy::winit::EventLoopProxyWrapper;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Align2, Area, Frame, Id, Modal, Order, Ui, vec2};

use super::appearance::LookChoice;
use super::file_menu;
use super::file_menu::{BarChoice, MenuResponse};
use super::key_map::KeyMap;
use super::{AddPane, Pane, Panes, Slot, always};
use super::{appearance, editor, new_engine, stage_menu};
use crate::angle::CrankAngle;
use crate::document::workspace::{Action, Workspace};
use crate::document::{Document, read_text};
use crate::engine::scenes;
use crate::engine::{Assembly, Ignitions};
use crate::window::app::dialogs;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::schedule::{FrameSet, PanelSet};
use crate::window::app::viewport::EngineViewport;
use crate::window::input::full_screen;
use crate::window::session::bench::{Bench, Opened};
use crate::window::session::build_stage::BuildStage;
use crate::window::session::export::{Export, ExportKind};
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
            (follow_outside, title, fold)
                .chain()
                .in_set(FrameSet::External),
        );
        app.add_systems(EguiPrimaryContextPass, notices.in_set(PanelSet::OverEngine));
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

/// The bar, and the questions over everything.
fn bar(ui: &mut Ui, world: &mut World) {
    let theme = *world.resource::<WindowTheme>();
    let shown = world.resource::<Bench>().engine().ignitions();
    let stage = world.resource::<BuildStage>().clone();
    let case = world.resource::<Bench>().engine().written().case;
    let (mut second, mut staged, mut look) = (None, None, None);
    let Some(mut open) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut open.bypass_change_detection().0;
    let choice = ui
        .horizontal_wrapped(|ui| {
            let choice = file_menu::bar(ui, files.workspace());
            ui.separator();
            look = appearance::menu(ui, theme.0);
            second = ignitions(ui, shown);
            ui.separator();
            staged = stage_menu::menu(ui, &stage, case);
            ui.separator();
            file_menu::name(ui, files.workspace());
            choice
        })
        .inner;
    questions(ui, files);
    match choice {
        Some(BarChoice::Action(action)) => files.act(action),
        Some(BarChoice::Export(kind)) => export(world, kind),
        None => {}
    }
    ask_for_a_path(ui, world);
    if let Some(look) = look {
        change_look(world, look);
    }
    if let Some(staged) = staged {
        *world.resource_mut::<BuildStage>() = staged;
    }
    if let Some(second) = second {
        world.resource_mut::<Bench>().show_ignition(second);
    }
}

fn change_look(world: &mut World, choice: LookChoice) {
    match choice {
        LookChoice::Theme(theme) => {
            world
                .resource_mut::<WindowTheme>()
                .set_if_neq(WindowTheme(theme));
        }
        LookChoice::FullScreen => {
            let mut windows = world.query_filtered::<&mut Window, With<PrimaryWindow>>();
            if let Ok(mut window) = windows.single_mut(world) {
                full_screen::toggle(&mut window);
            }
        }
        LookChoice::Fold => world.insert_resource(FoldAsked),
        LookChoice::Keys => world.resource_mut::<KeyMap>().shown = true,
    }
}

/// The panes are to be folded away, or back: they are being shown now, and cannot be.
#[derive(Resource)]
struct FoldAsked;

/// Folds the panes where that was asked for.
fn fold(asked: Option<Res<FoldAsked>>, mut panes: ResMut<Panes>, mut commands: Commands) {
    if asked.is_some() {
        let folded = panes.are_folded();
        panes.fold(!folded);
        commands.remove_resource::<FoldAsked>();
    }
}

/// Asks where sheets, handout or picture are to be written.
fn export(world: &mut World, kind: ExportKind) {
    let Some(open) = world.get_resource::<OpenDocument>() else {
        return;
    };
    let document = &open.0.workspace().document;
    // What has no file is suggested by its name.
    let beside = document.path().map_or_else(
        || PathBuf::from(document.title().replace(['/', '\\', ' '], "_")),
        Path::to_path_buf,
    );
    if let Some(mut export) = world.get_resource_mut::<Export>() {
        export.choose(kind, &beside);
    }
}

/// Asks for a path by hand, where there was no dialog to ask with.
fn ask_for_a_path(ui: &Ui, world: &mut World) {
    if !world.contains_resource::<Export>() {
        return;
    }
    world.resource_scope(|world, mut export: Mut<Export>| {
        let export = export.bypass_change_detection();
        if let Some((_, typing)) = &mut export.typing
            && let Some(path) = file_menu::path(ui, typing)
        {
            export.typed(world.resource::<Bench>().phasing(), path);
        }
    });
}

/// What a file did, or would not do: over the foot of the engine, so that no pane moves for it.
fn notices(world: &mut World) {
    const WIDEST: f32 = 560.0;
    let mut contexts = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let Ok(mut context) = contexts.single_mut(world) else {
        return;
    };
    let ctx = context.get_mut().clone();
    let is_taking = world
        .get_resource::<Export>()
        .is_some_and(Export::is_taking);
    let (Some(room), false) = (world.resource::<EngineViewport>().middle(), is_taking) else {
        return;
    };
    let Some(mut open) = world.get_resource_mut::<OpenDocument>() else {
        return;
    };
    let files = &mut open.bypass_change_detection().0;
    if !file_menu::has_notices(files.workspace()) {
        return;
    }
    let shown = Area::new(Id::new("notices"))
        .fixed_pos(room.left_bottom() + vec2(8.0, -8.0))
        .pivot(Align2::LEFT_BOTTOM)
        .order(Order::Middle)
        .show(&ctx, |ui| {
            Frame::popup(ui.style()).show(ui, |ui| {
                ui.set_width(WIDEST.min(room.width() - 40.0).max(120.0));
                file_menu::notices(ui, files.workspace())
            })
        });
    match shown.inner.inner {
        Some(MenuResponse::Action(action)) => files.act(action),
        Some(MenuResponse::Dismiss) => files.dismiss_notice(),
        None => return,
    }
    ctx.request_repaint();
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
