//! The open file: a menu, what state it is in, and what must be asked before anything is lost.

use std::path::PathBuf;

use egui::{
    Button, Id, Key, KeyboardShortcut, Label, Modal, Modifiers, RichText, ScrollArea, TextEdit, Ui,
};

use crate::document::workspace::{Action, Notice, Question, Reply, Workspace};
use crate::document::{DiskState, Resolution};
use crate::drawing::Role;
use crate::engine::scenes::SCENES;
use crate::window::app::dialogs::TypedPath;
use crate::window::app::theme::Palette;
use crate::window::panes::form::finding_shown;
use crate::window::session::export::ExportKind;
use crate::words;

const NEW: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::N);
const OPEN: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::O);
const SAVE: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::S);
const SAVE_AS: KeyboardShortcut =
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::S);
const PRINT: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::P);
const UNDO: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::Z);
const REDO: KeyboardShortcut =
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
const CLOSE: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::Q);
const REDO_TOO: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::Y);

/// What the user asked for in the bar.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum BarChoice {
    Action(Action),
    /// Make something of the engine for elsewhere.
    Export(ExportKind),
}

/// The menus, and what is done with the description; the file's name stands at the bar's end
/// ([`name`]), for it is as wide as it is long.
pub(super) fn bar(ui: &mut Ui, workspace: &Workspace) -> Option<BarChoice> {
    let mut choice = from_the_keyboard(ui);
    ui.menu_button("File", |ui| choice = menu(ui, workspace).or(choice.take()));
    let mut action = None;
    ui.menu_button("Engines", |ui| action = engines(ui))
        .response
        .on_hover_text("The built-in engines");
    let document = &workspace.document;
    if ui
        .add_enabled(document.is_dirty(), Button::new("Save"))
        .on_hover_text(ui.ctx().format_shortcut(&SAVE))
        .clicked()
    {
        action = Some(Action::Save);
    }
    action = edits(ui, workspace).or(action);
    action.map(BarChoice::Action).or(choice)
}

/// The file's name, cut short where there is no room for it.
pub(super) fn name(ui: &mut Ui, workspace: &Workspace) {
    let document = &workspace.document;
    let dirty = if document.is_dirty() {
        " • not saved"
    } else {
        ""
    };
    ui.add(Label::new(format!("{}{dirty}", document.title())).truncate());
}

fn edits(ui: &mut Ui, workspace: &Workspace) -> Option<Action> {
    let undo = ui
        .add_enabled(workspace.document.can_undo(), Button::new("Undo"))
        .on_hover_text(format!(
            "Undo the last change of the description ({})",
            ui.ctx().format_shortcut(&UNDO)
        ));
    let redo = ui
        .add_enabled(workspace.document.can_redo(), Button::new("Redo"))
        .on_hover_text(ui.ctx().format_shortcut(&REDO));
    if undo.clicked() {
        Some(Action::Undo)
    } else {
        redo.clicked().then_some(Action::Redo)
    }
}

fn menu(ui: &mut Ui, workspace: &Workspace) -> Option<BarChoice> {
    let mut choice = None;
    let row = |ui: &mut Ui, words: &str, keys: Option<&KeyboardShortcut>, can: bool| {
        let keys = keys.map_or(String::new(), |keys| ui.ctx().format_shortcut(keys));
        let button = ui.add_enabled(can, Button::new(words).shortcut_text(keys));
        if button.clicked() {
            ui.close();
        }
        button
    };
    let actions = [
        ("New…", NEW, Action::New, true),
        ("Open…", OPEN, Action::Open, true),
        ("Save", SAVE, Action::Save, workspace.document.is_dirty()),
        ("Save as…", SAVE_AS, Action::SaveAs, true),
    ];
    for (words, keys, action, can) in actions {
        if row(ui, words, Some(&keys), can).clicked() {
            choice = Some(BarChoice::Action(action));
        }
    }
    ui.separator();
    for kind in ExportKind::ALL {
        let keys = (kind == ExportKind::Sheets).then_some(&PRINT);
        let button = row(ui, kind.word(), keys, true).on_hover_text(kind.what());
        if button.clicked() {
            choice = Some(BarChoice::Export(kind));
        }
    }
    ui.separator();
    if row(ui, "Close", Some(&CLOSE), true).clicked() {
        choice = Some(BarChoice::Action(Action::Close));
    }
    choice
}

/// The built-in engines, with what there is to learn from each.
fn engines(ui: &mut Ui) -> Option<Action> {
    let mut action = None;
    ScrollArea::vertical().max_height(520.0).show(ui, |ui| {
        for scene in &SCENES {
            let words = scene.name.replace('_', " ");
            let engine = ui.add(Button::new(format!("{words}: {}", scene.teaches)));
            if engine.gained_focus() {
                engine.scroll_to_me(None);
            }
            if engine.clicked() {
                action = Some(Action::OpenScene(scene.name));
                ui.close();
            }
        }
    });
    action
}

fn from_the_keyboard(ui: &Ui) -> Option<BarChoice> {
    if ui.input_mut(|input| input.consume_shortcut(&PRINT)) {
        return Some(BarChoice::Export(ExportKind::Sheets));
    }
    let rows = [
        (SAVE_AS, Action::SaveAs),
        (REDO, Action::Redo),
        (REDO_TOO, Action::Redo),
        (NEW, Action::New),
        (OPEN, Action::Open),
        (SAVE, Action::Save),
        (CLOSE, Action::Close),
        (UNDO, Action::Undo),
    ];
    // While a text is typed its own undo holds.
    let typing = ui.ctx().text_edit_focused();
    let edits = |action: &Action| matches!(action, Action::Undo | Action::Redo);
    rows.into_iter()
        .filter(|(_, action)| !(typing && edits(action)))
        .find(|(keys, _)| ui.input_mut(|input| input.consume_shortcut(keys)))
        .map(|row| BarChoice::Action(row.1))
}

/// What the user answered to a notice.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum MenuResponse {
    Action(Action),
    /// Take the message away: it has been read.
    Dismiss,
}

/// Whether [`notices`] has anything to show.
pub(super) fn has_notices(workspace: &Workspace) -> bool {
    workspace.notice().is_some() || *workspace.document.disk() != DiskState::Unchanged
}

/// Notices: what another editor did to the file, and how the last saving or opening went.
pub(super) fn notices(ui: &mut Ui, workspace: &Workspace) -> Option<MenuResponse> {
    let disk = disk(ui, workspace);
    let Some(notice) = workspace.notice() else {
        return disk;
    };
    let palette = Palette::of(ui.ctx());
    let (words, role) = match notice {
        Notice::Done(words) => (words.clone(), Role::Mark),
        Notice::Failed(words) => (words.clone(), Role::Now),
        Notice::NotAnEngine(path, _) => (
            format!(
                "{} was not opened: it is no engine as it is.",
                path.display()
            ),
            Role::Now,
        ),
    };
    let mut response = None;
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(words).strong().color(palette.ink(role)));
        if ui
            .small_button("Close")
            .on_hover_text("Take this line away")
            .clicked()
        {
            response = Some(MenuResponse::Dismiss);
        }
    });
    if let Notice::NotAnEngine(_, findings) = notice {
        found(ui, findings);
    }
    disk.or(response)
}

fn disk(ui: &mut Ui, workspace: &Workspace) -> Option<MenuResponse> {
    let palette = Palette::of(ui.ctx());
    let line = |ui: &mut Ui, words: String| {
        ui.add(Label::new(RichText::new(words).strong().color(palette.ink(Role::Now))).wrap());
    };
    let title = workspace.document.title();
    match workspace.document.disk() {
        DiskState::Unchanged => {}
        DiskState::Deleted => line(
            ui,
            format!("{title} is gone from the disk: save, or the work is lost."),
        ),
        DiskState::Broken(findings) => {
            line(
                ui,
                format!(
                    "{title} was changed by another editor and cannot be used as it is: the last good engine stays."
                ),
            );
            found(ui, findings);
        }
        DiskState::Conflict(_) => {
            line(
                ui,
                format!("{title} was changed by another editor, and here too. Which is to stay?"),
            );
            let mut response = None;
            ui.horizontal(|ui| {
                for (words, resolution) in [
                    ("Keep what is here", Resolution::Mine),
                    ("Take the file's", Resolution::OnDisk),
                ] {
                    if ui.button(words).clicked() {
                        response = Some(MenuResponse::Action(Action::Resolve(resolution)));
                    }
                }
            });
            return response;
        }
    }
    None
}

fn found(ui: &mut Ui, findings: &[crate::source::Finding]) {
    ScrollArea::vertical()
        .id_salt("findings in the file")
        .max_height(140.0)
        .show(ui, |ui| {
            for finding in findings {
                if !finding.place.is_empty() {
                    ui.label(RichText::new(&finding.place).monospace().small());
                }
                finding_shown(ui, finding);
            }
        });
}

/// What must be answered before anything goes on.
pub(super) fn question(ui: &Ui, workspace: &Workspace) -> Option<Reply> {
    let question = workspace.question()?;
    let mut reply = None;
    let shown = Modal::new(Id::new("question about the file")).show(ui.ctx(), |ui| {
        ui.set_max_width(420.0);
        let (words, choices): (String, &[(&str, Reply)]) = match question {
            Question::Unsaved(_) => (
                format!(
                    "{} has changes that are not saved.",
                    workspace.document.title()
                ),
                &[
                    ("Save them", Reply::Save),
                    ("Throw them away", Reply::Discard),
                    ("Stay here", Reply::Cancel),
                ],
            ),
            Question::Replace(path) => (
                format!(
                    "{} is there already, and is not what was opened here. Replace it?",
                    path.display()
                ),
                &[("Replace it", Reply::Save), ("Leave it", Reply::Cancel)],
            ),
            Question::Kept(_, age) => (
                format!(
                    "{} was left with changes that were not saved, {}. They were kept.",
                    workspace.document.title(),
                    words::ago(*age)
                ),
                &[
                    ("Go on with them", Reply::Save),
                    ("Throw them away", Reply::Discard),
                    ("Not now", Reply::Cancel),
                ],
            ),
        };
        ui.add(Label::new(RichText::new(words).heading()).wrap());
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            let buttons: Vec<_> = choices.iter().map(|(words, _)| ui.button(*words)).collect();
            for (button, (_, choice)) in buttons.iter().zip(choices) {
                if button.clicked() {
                    reply = Some(*choice);
                }
            }
            // Enter takes the choice that loses nothing, wherever the keyboard was before.
            if !matches!(question, Question::Replace(_))
                && let Some(first) = buttons.first()
                && !buttons.iter().any(egui::Response::has_focus)
            {
                first.request_focus();
            }
        });
    });
    reply.or(shown.should_close().then_some(Reply::Cancel))
}

/// Asks for a path. Gives the path, or None inside where it was called off.
pub(crate) fn path(ui: &Ui, typing: &mut TypedPath) -> Option<Option<PathBuf>> {
    let mut chosen = None;
    let shown = Modal::new(Id::new("a path typed by hand")).show(ui.ctx(), |ui| {
        ui.set_max_width(460.0);
        ui.heading(if typing.saving { "Save as" } else { "Open" });
        ui.add(Label::new("No file dialog came up on this desktop: type the path. A file dropped on the window is opened too.").wrap());
        let label = ui.label("Path");
        let field = ui.add(TextEdit::singleline(&mut typing.path).desired_width(440.0)).labelled_by(label.id);
        if !field.has_focus() && !field.lost_focus() {
            field.request_focus();
        }
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        ui.horizontal(|ui| {
            let words = if typing.saving { "Save" } else { "Open" };
            let can = !typing.path.trim().is_empty();
            if (ui.add_enabled(can, Button::new(words)).clicked() || entered) && can {
                chosen = Some(Some(PathBuf::from(typing.path.trim())));
            }
            if ui.button("Cancel").clicked() {
                chosen = Some(None);
            }
        });
    });
    chosen.or(shown.should_close().then_some(None))
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::description::Description;
    use crate::document::Document;
    use crate::engine::scenes::BENCH;

    fn workspace() -> Workspace {
        Workspace::new(
            Document::open(Some("/bench/four.ron".into()), BENCH.text).expect("an engine"),
        )
    }

    fn edited() -> Workspace {
        let mut workspace = workspace();
        let description = Description {
            bore: 84.0,
            ..workspace.document.description().clone()
        };
        workspace.document.edit(description, "bore", 0.0);
        workspace
    }

    struct Shown {
        workspace: Workspace,
        action: Option<BarChoice>,
        response: Option<MenuResponse>,
        reply: Option<Reply>,
    }

    fn harness(workspace: Workspace) -> Harness<'static, Shown> {
        Harness::builder().with_size([900.0, 700.0]).build_ui_state(
            |ui, shown: &mut Shown| {
                ui.horizontal(|ui| {
                    shown.action = bar(ui, &shown.workspace).or(shown.action.take());
                    name(ui, &shown.workspace);
                });
                shown.response = notices(ui, &shown.workspace).or(shown.response.take());
                shown.reply = question(ui, &shown.workspace).or(shown.reply.take());
            },
            Shown {
                workspace,
                action: None,
                response: None,
                reply: None,
            },
        )
    }

    fn did(action: Action) -> Option<BarChoice> {
        Some(BarChoice::Action(action))
    }

    #[test]
    fn sheets_handout_and_picture_are_in_the_file_menu() {
        for kind in ExportKind::ALL {
            let mut harness = harness(workspace());
            harness.get_by_label("File").click();
            harness.run();
            harness.get_by_label_contains(kind.word()).click();
            harness.run();
            assert_eq!(harness.state().action, Some(BarChoice::Export(kind)));
        }
    }

    #[test]
    fn a_message_that_was_read_is_closed() {
        let mut workspace = workspace();
        workspace.notify(Notice::Done("It is done.".into()));
        let mut harness = harness(workspace);
        harness.get_by_label("Close").click();
        harness.run();
        assert_eq!(harness.state().response, Some(MenuResponse::Dismiss));
    }

    #[test]
    fn saving_is_offered_only_where_there_is_something_to_save() {
        let mut clean = harness(workspace());
        clean.get_by_label("Save").click();
        clean.run();
        assert_eq!(clean.state().action, None);
        let mut dirty = harness(edited());
        dirty.get_by_label("four.ron • not saved");
        dirty.get_by_label("Save").click();
        dirty.run();
        assert_eq!(dirty.state().action, did(Action::Save));
    }

    #[test]
    fn the_keyboard_saves_undoes_and_saves_as() {
        let rows = [
            (Modifiers::COMMAND, Key::S, Action::Save),
            (
                Modifiers::COMMAND.plus(Modifiers::SHIFT),
                Key::S,
                Action::SaveAs,
            ),
            (Modifiers::COMMAND, Key::Z, Action::Undo),
            (Modifiers::COMMAND, Key::O, Action::Open),
        ];
        for (modifiers, key, action) in rows {
            let mut harness = harness(edited());
            harness.key_press_modifiers(modifiers, key);
            harness.run();
            assert_eq!(harness.state().action, did(action));
        }
    }

    #[test]
    fn a_built_in_engine_is_opened_by_what_it_teaches() {
        let mut harness = harness(workspace());
        harness.get_by_label("Engines").click();
        harness.run();
        harness.get_by_label_contains("flat four").click();
        harness.run();
        assert_eq!(harness.state().action, did(Action::OpenScene("flat_four")));
    }

    #[test]
    fn unsaved_work_is_asked_about_in_so_many_words() {
        for (label, reply) in [
            ("Save them", Reply::Save),
            ("Throw them away", Reply::Discard),
            ("Stay here", Reply::Cancel),
        ] {
            let mut workspace = edited();
            workspace.act(Action::Close);
            let mut harness = harness(workspace);
            harness.get_by_label("four.ron has changes that are not saved.");
            harness.get_by_label(label).click();
            harness.run();
            assert_eq!(harness.state().reply, Some(reply));
        }
    }

    #[test]
    fn a_broken_file_shows_its_findings_over_the_last_good_engine() {
        let mut workspace = workspace();
        workspace
            .document
            .disk_changed(Some(&BENCH.text.replace("bore: 82.0", "bore: -1.0")));
        let harness = harness(workspace);
        harness.get_by_label("four.ron was changed by another editor and cannot be used as it is: the last good engine stays.");
        harness.get_by_label("bore");
    }

    #[test]
    fn changes_on_both_sides_are_resolved_by_a_click() {
        let mut workspace = edited();
        workspace
            .document
            .disk_changed(Some(&BENCH.text.replace("bore: 82.0", "bore: 90.0")));
        let mut harness = harness(workspace);
        harness.get_by_label("Take the file's").click();
        harness.run();
        assert_eq!(
            harness.state().response,
            Some(MenuResponse::Action(Action::Resolve(Resolution::OnDisk)))
        );
    }
}
