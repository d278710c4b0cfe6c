//! The map of keys, on F1: every key that the window has, by what it does.

use bevy::prelude::*;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Grid, Id, Key, Modal, Modifiers, ScrollArea, Ui};

use crate::window::app::schedule::PanelSet;
use crate::window::app::theme::{Theme, strong};

const KEY: Key = Key::F1;

/// The map of keys.
pub(crate) struct KeyMapPlugin;

impl Plugin for KeyMapPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<KeyMap>();
        app.add_systems(EguiPrimaryContextPass, show.in_set(PanelSet::OverEngine));
    }
}

/// Whether the map is shown.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct KeyMap {
    pub(crate) shown: bool,
}

/// Keys and what they do, part by part.
const PARTS: [(&str, &[(&str, &str)]); 5] = [
    (
        "The crank",
        &[
            (
                "→ ↑ and ← ↓",
                "Turn it 1° on, or back; with Shift 10°, with Ctrl 0.1°",
            ),
            (
                "Page Up, Page Down",
                "To the next dead centre, or the one before",
            ),
            ("Space", "Let it run slowly, or stop it"),
        ],
    ),
    (
        "The view",
        &[
            ("F2 to F6", "Whole, Front, Cap, Drive, Side"),
            ("F9", "Fold the panes away, or bring them back"),
            ("F11", "The whole screen, or a window again"),
            ("Escape", "Close an enlarged view"),
        ],
    ),
    (
        "Panes and menus",
        &[
            ("Alt+1 to Alt+9", "Choose a pane by its place"),
            (
                "Tab, Shift+Tab",
                "To the next control, or the one before: a ring shows where",
            ),
            (
                "Arrow keys",
                "From control to control, once one has the ring",
            ),
            ("Enter, Space", "Press it; open a menu or a list"),
            ("↓ ↑ in a menu", "Go through it; Enter takes, Escape closes"),
            ("Escape", "Give the keys back to the crank"),
            ("F1", "This map"),
        ],
    ),
    (
        "The file",
        &[
            ("Ctrl+N, Ctrl+O", "New, Open"),
            ("Ctrl+S, Ctrl+Shift+S", "Save, Save as"),
            ("Ctrl+P", "Print the sheets, as PDF"),
            (
                "Ctrl+Z, Ctrl+Shift+Z",
                "Undo and redo a change of the description",
            ),
            ("Ctrl+Q", "Close the window"),
        ],
    ),
    (
        "In a pane",
        &[
            ("Ctrl+F", "Engine: find a field"),
            ("Ctrl+Enter", "Guided job: begin; tick the step"),
            (
                "Ctrl+, and Ctrl+.",
                "Guided job: turn the wheel, the shaft or the rotor in hand; take the next lead",
            ),
            (
                "Ctrl+I",
                "Guided job: put in what is in hand, or take it out",
            ),
            ("Ctrl+L", "Guided job: look at the next witness"),
            (
                "1 to 9, A, Q",
                "Questions: answer, show the answer, ask another",
            ),
        ],
    ),
];

fn show(mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>, mut map: ResMut<KeyMap>) {
    let Ok(mut context) = contexts.single_mut() else {
        return;
    };
    let ctx = context.get_mut();
    let mut shown = map.shown;
    if ctx.input_mut(|input| input.consume_key(Modifiers::NONE, KEY)) {
        shown = !shown;
    }
    if shown {
        let modal = Modal::new(Id::new("map of keys")).show(ctx, panel);
        shown = !modal.inner && !modal.should_close();
    }
    map.set_if_neq(KeyMap { shown });
}

/// The map; true to close it.
fn panel(ui: &mut Ui) -> bool {
    let room = ui.ctx().content_rect().size();
    let times = Theme::of(ui.ctx()).type_size.times();
    ui.set_width(f32::min(600.0 * times, room.x * 0.9));
    ui.heading("Keys");
    ScrollArea::vertical()
        .max_height(room.y * 0.8)
        .auto_shrink([false, true])
        .show(ui, |ui| {
            for (title, rows) in PARTS {
                ui.add_space(4.0);
                ui.label(strong(ui.ctx(), title));
                let grid = Grid::new(title)
                    .num_columns(2)
                    .min_col_width(160.0 * times)
                    .min_row_height(0.0)
                    .spacing([12.0, 3.0]);
                grid.show(ui, |ui| {
                    for (keys, what) in rows {
                        ui.monospace(*keys);
                        ui.add(egui::Label::new(*what).wrap());
                        ui.end_row();
                    }
                });
            }
        });
    ui.add_space(6.0);
    let close = ui.button("Close").on_hover_text("Escape, or F1 again");
    if ui.memory(|memory| memory.focused().is_none()) {
        close.request_focus();
    }
    close.clicked()
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::window::scene::camera::SetView;

    #[test]
    fn the_map_names_every_set_view_on_its_key_and_is_closed() {
        let mut harness = Harness::builder()
            .with_size([900.0, 900.0])
            .build_ui_state(|ui, closed: &mut bool| *closed |= panel(ui), false);
        harness.get_by_label(&SetView::ALL.map(SetView::word).join(", "));
        harness.get_by_label("F2 to F6");
        assert_eq!(
            (SetView::KEYS[0], SetView::KEYS[4]),
            (KeyCode::F2, KeyCode::F6)
        );
        harness.get_by_label("Close").click();
        harness.run();
        assert!(*harness.state());
    }
}
