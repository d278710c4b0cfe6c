//! What several panes show: wrapped text, the caution about turning, a stroke's badge, the leads.

use egui::{
    Button, CollapsingHeader, Frame, Label, Rect, Response, RichText, Sense, TextStyle, Ui,
    WidgetInfo, WidgetType, vec2,
};
use glam::DVec2;

pub(super) use super::leads::lead_grid;

use super::flat_view;
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::drawing::{Anchor, Drawing, Pen, Role, strokes};
use crate::engine::{Engine, Subject};
use crate::phasing::Stroke;
use crate::window::app::theme::{Palette, strong};

/// Says to a screen reader what `ui` is: a part of the window with this name.
pub(crate) fn region(ui: &Ui, name: &str) {
    ui.ctx().accesskit_node_builder(ui.unique_id(), |node| {
        node.set_role(egui::accesskit::Role::Region);
        node.set_label(name);
    });
}

/// Has a screen reader say what is shown here whenever it changes.
pub(crate) fn said_when_it_changes(response: &Response) {
    response.ctx.accesskit_node_builder(response.id, |node| {
        node.set_live(egui::accesskit::Live::Polite);
    });
}

/// Text as wide as the panel, on as many lines as it needs.
pub(crate) fn wrapped(ui: &mut Ui, words: &str) {
    ui.add(Label::new(words).wrap());
}

/// What is shown now and then: whatever stands below it is known as the same thing either way, and
/// keeps the keyboard and the pointer.
pub(crate) fn now_and_then<R>(
    ui: &mut Ui,
    shown: bool,
    add: impl FnOnce(&mut Ui) -> R,
) -> Option<R> {
    if shown {
        return Some(ui.vertical(add).inner);
    }
    ui.skip_ahead_auto_ids(1);
    None
}

/// Text that is now shorter and now longer, with room for so many lines: what stands below it stays
/// in its place.
pub(crate) fn room_for<R>(
    ui: &mut Ui,
    lines: u8,
    style: &TextStyle,
    add: impl FnOnce(&mut Ui) -> R,
) -> R {
    ui.scope(|ui| {
        ui.set_min_height(f32::from(lines) * ui.text_style_height(style));
        add(ui)
    })
    .inner
}

/// One of several texts, with room for the longest of them: nothing around it moves when another
/// takes its place.
pub(crate) fn one_of(ui: &mut Ui, shown: RichText, others: &[&str]) -> Response {
    let wide = ui.available_width();
    let font = TextStyle::Body.resolve(ui.style());
    let ink = egui::Color32::PLACEHOLDER;
    let painter = ui.painter().clone();
    let high = |text: &str| {
        let laid = painter.layout(text.to_owned(), font.clone(), ink, wide);
        laid.size().y
    };
    let highest = others
        .iter()
        .copied()
        .chain([shown.text()])
        .map(high)
        .fold(0.0, f32::max);
    ui.scope(|ui| {
        ui.set_min_size(vec2(wide, highest));
        ui.add(Label::new(shown).wrap())
    })
    .inner
}

/// A button as wide as it would be with any of the words it may have.
pub(crate) fn button_of(ui: &mut Ui, shown: &str, others: &[&str]) -> Response {
    let font = TextStyle::Button.resolve(ui.style());
    let wide = |words: &str| {
        let ink = egui::Color32::PLACEHOLDER;
        let laid = ui
            .painter()
            .layout_no_wrap(words.to_owned(), font.clone(), ink);
        laid.size().x
    };
    let widest = others.iter().copied().chain([shown]).map(wide);
    let widest = widest.fold(0.0, f32::max) + 2.0 * ui.spacing().button_padding.x;
    ui.add(Button::new(shown).min_size(vec2(widest, 0.0)))
}

/// Scrolls the pane until this part of it is seen.
pub(crate) fn bring_into_view(ui: &Ui, rect: Rect) {
    ui.scroll_to_rect(rect, None);
    let frame = ui.ctx().cumulative_pass_nr();
    ui.data_mut(|data| data.insert_temp(brought_id(), frame));
}

/// Whether a part of a pane was brought into view in this frame or the one before.
pub(super) fn was_brought_into_view(ui: &Ui) -> bool {
    let brought: Option<u64> = ui.data(|data| data.get_temp(brought_id()));
    brought.is_some_and(|frame| frame + 1 >= ui.ctx().cumulative_pass_nr())
}

fn brought_id() -> egui::Id {
    egui::Id::new("brought into view")
}

/// The caution about turning an engine by hand, folded to a line until it is opened.
pub(super) fn turning_caution(ui: &mut Ui) {
    let palette = Palette::of(ui.ctx());
    let title =
        RichText::new("Before you turn an engine by hand").color(palette.ink(Role::Caution));
    CollapsingHeader::new(title).show_unindented(ui, |ui| {
        let frame = Frame::new()
            .fill(palette.caution_ground)
            .inner_margin(6)
            .corner_radius(4);
        frame.show(ui, |ui| wrapped(ui, TURNING_CAUTION));
    });
}

/// What needs care, in a frame of its own.
pub(crate) fn caution(ui: &mut Ui, words: &str) {
    let palette = Palette::of(ui.ctx());
    Frame::new()
        .fill(palette.caution_ground)
        .inner_margin(6)
        .corner_radius(4)
        .show(ui, |ui| {
            let words = RichText::new(words).color(palette.ink(Role::Caution));
            ui.add(Label::new(words).wrap());
        });
}

/// What a panel takes for granted, and what else its answer does, folded to a line until it is
/// opened.
pub(super) fn rests_on(ui: &mut Ui, engine: &Engine, subjects: &[Subject], also: Option<String>) {
    CollapsingHeader::new(strong(ui.ctx(), "What this rests on")).show_unindented(ui, |ui| {
        for sentence in engine.rests_on(subjects).into_iter().chain(also) {
            wrapped(ui, &sentence);
        }
    });
}

/// A part of a panel that can be folded away.
pub(super) fn section<R>(ui: &mut Ui, title: &str, add: impl FnOnce(&mut Ui) -> R) -> Option<R> {
    let header = CollapsingHeader::new(strong(ui.ctx(), title)).default_open(true);
    header.show_unindented(ui, add).body_returned
}

/// A stroke's letter on its colour and hatch, so that it is known without colour.
pub(crate) fn stroke_badge(ui: &mut Ui, stroke: Stroke) {
    let side = ui.text_style_height(&TextStyle::Body) + 4.0;
    let (rect, response) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, stroke.word()));
    if ui.is_rect_visible(rect) {
        paint_badge(ui, rect, stroke);
    }
    response.on_hover_text(format!(
        "{}: the {} stroke",
        strokes::letter(stroke),
        stroke.word()
    ));
}

fn paint_badge(ui: &Ui, rect: Rect, stroke: Stroke) {
    const SIDE_MM: f64 = 6.0;
    let mut badge = Drawing::new(stroke.word(), SIDE_MM, SIDE_MM);
    let (corner, middle) = (DVec2::splat(SIDE_MM), DVec2::splat(SIDE_MM / 2.0));
    badge.rectangle(DVec2::ZERO, corner, Pen::both(strokes::role(stroke), 0.3));
    badge.circle(middle, 2.1, Pen::fill(Role::Paper));
    badge.bold(
        middle,
        strokes::letter(stroke),
        3.6,
        Anchor::Middle,
        Role::Main,
    );
    flat_view::paint(
        &ui.painter_at(rect.expand(1.0)),
        &flat_view::Placement::within(rect, badge.size),
        &badge,
        &Palette::of(ui.ctx()),
    );
}

#[cfg(test)]
mod tests {
    use egui::accesskit::{Live, Role as Node};
    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    use super::*;

    #[test]
    fn a_screen_reader_finds_a_pane_by_its_name_with_what_is_in_it_and_is_told_what_changes() {
        let harness = Harness::new_ui(|ui| {
            ui.vertical(|ui| {
                region(ui, "Reading");
                said_when_it_changes(&ui.label("Crank at 45°"));
            });
            ui.label("Beside it");
        });
        let pane = harness.get_by_role_and_label(Node::Region, "Reading");
        let said = pane.get_by_label("Crank at 45°");
        assert_eq!(said.accesskit_node().live(), Live::Polite);
        assert!(pane.query_by_label("Beside it").is_none());
    }
}
