//! What is at hand stays in its place: where something appears or goes above the widget that has
//! the keyboard, or that the pointer is on, the pane scrolls by as much.
//!
//! A pane tells what came of a change only in the frame after it; so the widget is found again by
//! what it was in the frame before.

use egui::scroll_area::ScrollAreaOutput;
use egui::{Context, Id, LayerId, Rect, Ui, Vec2, WidgetRect};

use super::widgets::{bring_into_view, was_brought_into_view};

/// A widget at hand, and where it stood.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Held {
    id: Id,
    /// Below the top of what is scrolled.
    below_top: f32,
    size: Vec2,
}

/// Holds what is at hand where it is. `top` is where what is scrolled begins, on the screen.
pub(super) fn hold_still<R>(ui: &Ui, shown: &mut ScrollAreaOutput<R>, top: f32) {
    let ctx = ui.ctx();
    let key = shown.id.with("held");
    let before: Option<Held> = ctx.data(|data| data.get_temp(key));
    let found = before.and_then(|held| Some((held, widget(ctx, held.id)?)));
    if let Some((held, now)) = found
        && now.rect.size() == held.size
        && !was_brought_into_view(ui)
    {
        let moved = now.rect.top() - top - held.below_top;
        if moved.abs() > 0.5 {
            shown.state.offset.y = (shown.state.offset.y + moved).max(0.0);
            shown.state.store(ctx, shown.id);
            ctx.request_repaint();
        }
    }
    let now = at_hand(ctx, ui.layer_id(), shown.inner_rect).map(|at_hand| Held {
        id: at_hand.id,
        below_top: at_hand.rect.top() - top,
        size: at_hand.rect.size(),
    });
    ctx.data_mut(|data| match now {
        Some(held) => {
            data.insert_temp(key, held);
        }
        None => data.remove::<Held>(key),
    });
}

fn widget(ctx: &Context, id: Id) -> Option<WidgetRect> {
    ctx.viewport(|viewport| viewport.this_pass.widgets.get(id).copied())
}

/// The widget that has the keyboard; where none has, the one under the pointer. What fills the pane
/// or lies beside what is scrolled is not in anyone's hand.
fn at_hand(ctx: &Context, layer: LayerId, pane: Rect) -> Option<WidgetRect> {
    let within = |widget: &WidgetRect| {
        widget.layer_id == layer
            && widget.sense.interactive()
            && pane.x_range().contains(widget.rect.center().x)
            && widget.rect.height() < pane.height()
    };
    let focused = ctx.memory(egui::Memory::focused);
    let focused = focused.and_then(|id| widget(ctx, id)).filter(within);
    if focused.is_some() {
        return focused;
    }
    let at = ctx.input(|input| input.pointer.latest_pos())?;
    ctx.viewport(|viewport| {
        let widgets = viewport.this_pass.widgets.get_layer(layer);
        let under = |widget: &&WidgetRect| within(widget) && widget.interact_rect.contains(at);
        widgets.filter(under).last().copied()
    })
}

/// Scrolls the pane to the widget that has just got the keyboard, where it is one of the pane's.
pub(super) fn follow_focus(ui: &Ui) {
    let ctx = ui.ctx();
    let key = Id::new("focus followed");
    let focused = ctx.memory(egui::Memory::focused);
    let Some(id) = focused else {
        ctx.data_mut(|data| data.remove::<Id>(key));
        return;
    };
    let followed: Option<Id> = ctx.data(|data| data.get_temp(key));
    if followed == Some(id) {
        return;
    }
    let Some(widget) = widget(ctx, id).filter(|widget| widget.layer_id == ui.layer_id()) else {
        return;
    };
    if ui.min_rect().intersects(widget.rect) {
        bring_into_view(ui, widget.rect.expand(8.0));
        ctx.data_mut(|data| data.insert_temp(key, id));
    }
}

#[cfg(test)]
mod tests {
    use egui::{Key, ScrollArea};
    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    use super::super::widgets::now_and_then;
    use super::*;

    /// A pane in which a press of a button brings four lines above it.
    fn pane(ui: &mut Ui, pressed: &mut bool) {
        let mut shown = ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            let top = ui.max_rect().top();
            now_and_then(ui, *pressed, |ui| {
                (0..4).for_each(|_| drop(ui.label("Something is wrong here.")));
            });
            for number in 0..40 {
                *pressed |= ui.button(format!("Button {number}")).clicked();
            }
            follow_focus(ui);
            top
        });
        let top = shown.inner;
        hold_still(ui, &mut shown, top);
    }

    fn harness() -> Harness<'static, bool> {
        Harness::builder()
            .with_size([300.0, 300.0])
            .build_ui_state(pane, false)
    }

    #[test]
    fn a_button_stays_under_the_pointer_when_its_press_brings_something_above_it() {
        let mut harness = harness();
        let at = harness.get_by_label("Button 3").rect().center();
        harness.hover_at(at);
        harness.run();
        harness.drag_at(at);
        harness.run();
        harness.drop_at(at);
        harness.run();
        assert!(*harness.state(), "it was pressed");
        let now = harness.get_by_label("Button 3").rect().center();
        assert!((now - at).length() < 1.0, "{at:?} {now:?}");
    }

    #[test]
    fn the_pane_scrolls_to_the_button_that_gets_the_keyboard() {
        let mut harness = harness();
        assert!(harness.get_by_label("Button 25").rect().top() > 300.0);
        for _ in 0..26 {
            harness.key_press(Key::Tab);
            harness.run();
        }
        let button = harness.get_by_label("Button 25");
        assert!(button.accesskit_node().is_focused());
        let rect = button.rect();
        assert!(rect.top() >= 0.0 && rect.bottom() <= 300.0, "{rect:?}");
    }
}
