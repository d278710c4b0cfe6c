//! The panels beside the engine: each a function of what it shows that returns the edit the user made.
//!
//! | panel | what it shows | what it returns |
//! | --- | --- | --- |
//! | [`reading`] | where everything stands | a place to turn to, a cylinder to follow |
//! | [`as_built`] | how it was put together, and what comes of it | the assembly made of it |
//!
//! None of them works anything out: the numbers come from the library, the words from here or from it. Placing a panel, and
//! doing what it returns, is the shell's work.

pub mod as_built;
pub mod reading;

use egui::{Align2, CollapsingHeader, Pos2, Rect, RichText, Sense, Stroke as Line, TextStyle, Ui, WidgetInfo, WidgetType, vec2};

use super::flat;
use super::theme::{Palette, hatch_of, letter, role_of};
use crate::phasing::Stroke;

/// A part of a panel that can be folded away.
pub fn section<R>(ui: &mut Ui, title: &str, add: impl FnOnce(&mut Ui) -> R) -> Option<R> {
    let header = CollapsingHeader::new(RichText::new(title).strong()).default_open(true);
    header.show_unindented(ui, add).body_returned
}

/// A stroke's letter on its ink and hatch: told apart without colour.
pub fn stroke_badge(ui: &mut Ui, stroke: Stroke) {
    let side = ui.text_style_height(&TextStyle::Body) + 4.0;
    let (rect, response) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, stroke.word()));
    if ui.is_rect_visible(rect) {
        paint_badge(ui, rect, stroke);
    }
    response.on_hover_text(format!("{}: the {} stroke", letter(stroke), stroke.word()));
}

fn paint_badge(ui: &Ui, rect: Rect, stroke: Stroke) {
    let palette = Palette::of(ui.ctx());
    let painter = ui.painter_at(rect.expand(1.0));
    let (ink, role) = (palette.stroke_ink(stroke), role_of(stroke));
    painter.rect_filled(rect, 2.0, palette.area(role));
    let corners: [Pos2; 4] = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
    if let Some(hatch) = hatch_of(role) {
        flat::hatch(&painter, &corners, hatch, ink);
    }
    painter.rect_stroke(rect, 2.0, Line::new(1.0, ink), egui::StrokeKind::Inside);
    let font = TextStyle::Button.resolve(ui.style());
    let galley = painter.layout_no_wrap(letter(stroke).to_owned(), font, palette.text);
    let plate = Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size() + vec2(3.0, -3.0));
    painter.rect_filled(plate, 2.0, palette.area(role));
    painter.galley(Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size()).min, galley, palette.text);
}
