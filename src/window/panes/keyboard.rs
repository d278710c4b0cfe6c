//! The keyboard among the panes: an open menu or list is walked by the arrow keys, and what has the
//! keyboard has a ring round it, which nothing under the pointer has.

use egui::{
    Context, FocusDirection, Id, Key, LayerId, Modifiers, Order, Popup, Stroke, StrokeKind,
    WidgetRect,
};

use crate::window::app::theme::Palette;

/// A menu that is open, and what had the keyboard before it was.
#[derive(Clone, Debug, Default)]
struct Walked {
    opened_by: Option<Id>,
    items: Vec<Id>,
    /// Enter was pressed on one of them: the menu is done. The space bar leaves it open.
    is_done: bool,
}

fn walked_id() -> Id {
    Id::new("menu walked")
}

/// Lets the keys go through the menu or list that is open, and back to what opened it once it is
/// closed. To be called before the panes are shown.
pub(super) fn walk_menus(ctx: &Context) {
    let key = walked_id();
    let walked: Option<Walked> = ctx.data(|data| data.get_temp(key));
    if walked.as_ref().is_some_and(|walked| walked.is_done) {
        Popup::close_all(ctx);
    }
    let focused = ctx.memory(egui::Memory::focused);
    if !Popup::is_any_open(ctx) {
        if let Some(walked) = walked {
            let was_within = focused.is_none_or(|id| walked.items.contains(&id));
            if let Some(opener) = walked.opened_by.filter(|_| was_within) {
                ctx.memory_mut(|memory| memory.request_focus(opener));
            }
            ctx.data_mut(|data| data.remove::<Walked>(key));
        }
        return;
    }
    let items = items(ctx);
    let Some(first) = items.first().copied() else {
        // It was opened in the frame before, and is known in the next.
        ctx.request_repaint();
        return;
    };
    let is_new = walked.is_none();
    let opened_by = walked.map_or(focused, |walked| walked.opened_by);
    let at = focused.and_then(|id| items.iter().position(|item| *item == id));
    let to = if is_new && at.is_none() && focused.is_some() {
        Some(first)
    } else {
        asked(ctx, &items, at)
    };
    // Whether or not one was asked for, no arrow leads out of the menu.
    ctx.memory_mut(|memory| {
        memory.move_focus(FocusDirection::None);
        if let Some(id) = to {
            memory.request_focus(id);
        }
    });
    let is_done = at.is_some() && ctx.input(|input| input.key_pressed(Key::Enter));
    if is_done {
        ctx.request_repaint();
    }
    let walked = Walked {
        opened_by,
        items,
        is_done,
    };
    ctx.data_mut(|data| data.insert_temp(key, walked));
}

/// The item that a key asks for.
fn asked(ctx: &Context, items: &[Id], at: Option<usize>) -> Option<Id> {
    let last = items.len().checked_sub(1)?;
    let next = at.map_or(0, |at| if at == last { 0 } else { at + 1 });
    let previous = at.map_or(last, |at| at.checked_sub(1).unwrap_or(last));
    let to = ctx.input_mut(|input| {
        let mut pressed = |with, key| input.consume_key(with, key);
        // Shift first: a key is taken with whatever else is held.
        if pressed(Modifiers::SHIFT, Key::Tab) || pressed(Modifiers::NONE, Key::ArrowUp) {
            Some(previous)
        } else if pressed(Modifiers::NONE, Key::Tab) || pressed(Modifiers::NONE, Key::ArrowDown) {
            Some(next)
        } else if pressed(Modifiers::NONE, Key::Home) {
            Some(0)
        } else {
            pressed(Modifiers::NONE, Key::End).then_some(last)
        }
    })?;
    items.get(to).copied()
}

/// What can have the keyboard in the menu that lies on top, from the top down; the menu itself can
/// too, and is not among them.
fn items(ctx: &Context) -> Vec<Id> {
    let layers: Vec<LayerId> = ctx.memory(|memory| memory.layer_ids().collect());
    let of = |layer: LayerId| {
        // What egui calls a menu's own area, which can have the keyboard too.
        let area = layer.id.with("move");
        ctx.viewport(|viewport| {
            let widgets = viewport.prev_pass.widgets.get_layer(layer);
            let can = widgets.filter(|widget| {
                widget.enabled && widget.sense.is_focusable() && widget.id != area
            });
            can.copied().collect::<Vec<WidgetRect>>()
        })
    };
    let open = layers.into_iter().rev();
    let mut items = open
        .filter(|layer| layer.order == Order::Foreground)
        .map(of)
        .find(|items| !items.is_empty())
        .unwrap_or_default();
    items.sort_by(|one, other| {
        let key = |widget: &WidgetRect| (widget.rect.top(), widget.rect.left());
        let (one, other) = (key(one), key(other));
        one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1))
    });
    items.into_iter().map(|widget| widget.id).collect()
}

/// Draws a ring round what has the keyboard. To be called once everything is shown.
pub(super) fn ring_focus(ctx: &Context) {
    const APART: f32 = 2.0;
    const WIDE: f32 = 2.0;
    // A menu that was opened in this frame is walked from the next.
    if Popup::is_any_open(ctx) && !ctx.data(|data| data.get_temp::<Walked>(walked_id()).is_some()) {
        ctx.request_repaint();
    }
    let Some(id) = ctx.memory(egui::Memory::focused) else {
        return;
    };
    let found = ctx.viewport(|viewport| {
        let now = viewport.this_pass.widgets.get(id);
        now.or_else(|| viewport.prev_pass.widgets.get(id)).copied()
    });
    let Some(widget) = found.filter(|widget| widget.interact_rect.is_positive()) else {
        return;
    };
    let seen = widget.interact_rect.expand(APART + WIDE);
    let painter = ctx.layer_painter(widget.layer_id).with_clip_rect(seen);
    let ring = Stroke::new(WIDE, Palette::of(ctx).focus());
    let around = widget.rect.expand(APART);
    painter.rect_stroke(around, 4.0, ring, StrokeKind::Outside);
}

#[cfg(test)]
mod tests {
    use egui::Ui;
    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    use super::*;

    /// A menu of three, and a list of three, and what was chosen of either.
    fn panes(ui: &mut Ui, chosen: &mut Vec<&'static str>) {
        walk_menus(ui.ctx());
        ui.menu_button("Menu", |ui| {
            for item in ["One", "Two", "Three"] {
                if ui.button(item).clicked() {
                    chosen.push(item);
                    ui.close();
                }
            }
        });
        let mut listed = "Ash";
        egui::ComboBox::from_label("Wood")
            .selected_text(listed)
            .show_ui(ui, |ui| {
                for item in ["Ash", "Beech", "Oak"] {
                    if ui.selectable_value(&mut listed, item, item).clicked() {
                        chosen.push(item);
                    }
                }
            });
        let _ = ui.button("Below");
        ring_focus(ui.ctx());
    }

    fn press(harness: &mut Harness<'_, Vec<&'static str>>, keys: &[Key]) {
        for key in keys {
            harness.key_press(*key);
            harness.run();
        }
    }

    #[test]
    fn a_menu_is_opened_walked_and_closed_by_keys_and_gives_the_keyboard_back() {
        let mut harness = Harness::new_ui_state(panes, Vec::new());
        press(&mut harness, &[Key::Tab, Key::Enter]);
        assert!(harness.get_by_label("One").accesskit_node().is_focused());
        press(&mut harness, &[Key::ArrowDown, Key::ArrowDown]);
        assert!(harness.get_by_label("Three").accesskit_node().is_focused());
        // Round again, and not out of the menu.
        press(&mut harness, &[Key::ArrowDown, Key::ArrowDown, Key::Enter]);
        assert_eq!(harness.state(), &["Two"]);
        harness.run();
        assert!(harness.query_by_label("Two").is_none());
        assert!(harness.get_by_label("Menu").accesskit_node().is_focused());
        press(&mut harness, &[Key::Enter, Key::Escape]);
        harness.run();
        assert!(harness.query_by_label("Two").is_none());
        assert!(harness.get_by_label("Menu").accesskit_node().is_focused());
    }

    #[test]
    fn a_list_is_walked_as_a_menu_is() {
        let mut harness = Harness::new_ui_state(panes, Vec::new());
        press(&mut harness, &[Key::Tab, Key::Tab, Key::Enter]);
        press(&mut harness, &[Key::ArrowUp, Key::Enter]);
        assert_eq!(harness.state(), &["Oak"]);
        harness.run();
        assert!(harness.query_by_label("Beech").is_none(), "it is closed");
        assert!(harness.get_by_label("Wood").accesskit_node().is_focused());
    }
}
