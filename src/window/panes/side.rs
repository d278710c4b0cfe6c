//! A pane at one side of the window: as wide as is usual, or as it was drawn by hand. Nothing within
//! makes it wider.

use egui::{CursorIcon, Id, Panel, Rangef, Rect, ScrollArea, Sense, Ui, UiBuilder, vec2};

use super::steady::{follow_focus, hold_still};

/// The side of the window at which a pane stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Side {
    Left,
    Right,
}

/// How wide a pane is, points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wide {
    /// Until it is drawn wider or narrower.
    pub(super) usual: f32,
    pub(super) least: f32,
    pub(super) most: f32,
}

/// Shows a pane; `drawn` is how wide it was drawn by hand. Its edge is dragged, and a double click
/// there makes it as wide as is usual.
pub(super) fn pane(
    ui: &mut Ui,
    side: Side,
    wide: Wide,
    drawn: &mut Option<f32>,
    add: impl FnOnce(&mut Ui),
) {
    let within = |points: f32| points.min(wide.most).max(wide.least);
    let now = within(drawn.unwrap_or(wide.usual)).round();
    let panel = match side {
        Side::Left => Panel::left("left panes"),
        Side::Right => Panel::right("right panes"),
    };
    let shown = panel.resizable(false).exact_size(now).show(ui, add);
    let rect = shown.response.rect;
    let (edge, line) = match side {
        Side::Left => (rect.right(), rect.right() - 0.5),
        Side::Right => (rect.left(), rect.left() + 0.5),
    };
    // It is for the pointer alone, and does not take the keyboard.
    let grip = Rect::from_x_y_ranges(Rangef::new(edge - 3.0, edge + 3.0), rect.y_range());
    let grip = ui
        .interact(
            grip,
            Id::new(("edge of a pane", side)),
            Sense::CLICK | Sense::DRAG,
        )
        .on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    if grip.hovered() || grip.dragged() {
        let pen = ui.visuals().widgets.hovered.bg_stroke;
        ui.painter().vline(line, rect.y_range(), pen);
    }
    if let Some(at) = grip.interact_pointer_pos().filter(|_| grip.dragged()) {
        let points = match side {
            Side::Left => at.x - rect.left(),
            Side::Right => rect.right() - at.x,
        };
        *drawn = Some(within(points).round());
    }
    if grip.double_clicked() {
        *drawn = None;
    }
}

/// What a pane shows under its title, scrolled where it is too long, and never wider than the pane.
pub(super) fn scrolled(ui: &mut Ui, salt: &str, add: impl FnOnce(&mut Ui)) {
    let mut shown = ScrollArea::vertical()
        .id_salt(salt)
        .auto_shrink(false)
        .show(ui, |ui| {
            let room = ui.available_rect_before_wrap();
            let mut within = ui.new_child(UiBuilder::new().max_rect(room));
            add(&mut within);
            let high = within.min_rect().height();
            follow_focus(&within);
            ui.allocate_space(vec2(room.width(), high));
            room.top()
        });
    let top = shown.inner;
    hold_still(ui, &mut shown, top);
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    const WIDE: Wide = Wide {
        usual: 300.0,
        least: 200.0,
        most: 500.0,
    };

    /// A pane on the right with a button, a line that is far too long for it, and how wide it was
    /// drawn.
    fn shown(ui: &mut Ui, drawn: &mut Option<f32>) {
        pane(ui, Side::Right, WIDE, drawn, |ui| {
            scrolled(ui, "pane", |ui| {
                let _ = ui.button("First");
                ui.add(egui::Label::new("too long ".repeat(90)).extend());
                let _ = ui.button("Last");
            });
        });
    }

    fn harness() -> Harness<'static, Option<f32>> {
        Harness::builder()
            .with_size([1000.0, 400.0])
            .build_ui_state(shown, None)
    }

    #[test]
    fn a_line_that_is_too_long_does_not_make_a_pane_wider() {
        let mut harness = harness();
        harness.run();
        let left = harness.get_by_label("First").rect().left();
        assert!((700.0..720.0).contains(&left), "{left}");
        assert_eq!(*harness.state(), None);
    }

    #[test]
    fn a_pane_is_drawn_wider_by_its_edge_and_no_wider_than_it_may_be() {
        let mut harness = harness();
        let mut draw = |to: f32| {
            // The harness leaves 8 points free all round.
            let from = 992.0 - harness.state().unwrap_or(WIDE.usual);
            harness.hover_at(egui::pos2(from, 200.0));
            harness.run();
            harness.drag_at(egui::pos2(from, 200.0));
            harness.run();
            harness.hover_at(egui::pos2(to, 200.0));
            harness.run();
            harness.drop_at(egui::pos2(to, 200.0));
            harness.run();
            *harness.state()
        };
        assert_eq!(draw(592.0), Some(400.0));
        assert_eq!(draw(100.0), Some(500.0));
        assert_eq!(draw(990.0), Some(200.0));
    }
}
