//! A number that is dragged or typed. What is typed and cannot be taken as it is, is answered at the
//! field, over whatever stands below it, so that nothing moves.

use std::cell::RefCell;

use egui::{DragValue, Id, Label, Response, RichText, Tooltip, Ui};

use crate::drawing::Role;
use crate::window::app::theme::Palette;

/// Shows `field`, greyed where it is not `given`: `read` takes what was typed or says what is wanted,
/// `beyond` says what stands in the way of a number that was read.
pub(crate) fn number_field(
    ui: &mut Ui,
    given: bool,
    field: DragValue<'_>,
    read: &dyn Fn(&str) -> Result<f64, String>,
    beyond: &dyn Fn(f64) -> Option<String>,
) -> Response {
    let heard = RefCell::new(None);
    let field = field.custom_parser(|text| {
        let value = read(text);
        let taken = value.as_ref().ok().copied();
        heard.replace(Some(value));
        taken
    });
    let response = ui.add_enabled(given, field);
    let answer = heard.into_inner().map(|heard| match heard {
        Ok(value) => beyond(value),
        // What is still being typed may yet become a number.
        Err(_) if response.has_focus() => None,
        Err(wanted) => Some(wanted),
    });
    tell(&response, answer);
    response
}

/// Tells at a field what is answered to what was typed there (`answer`, where something was typed in
/// this frame; None within it where all is well). It stays until something else is pressed or typed.
pub(super) fn tell(response: &Response, answer: Option<Option<String>>) {
    let ctx = &response.ctx;
    let id = response.id.with("answer");
    let kept: Option<String> = ctx.data(|data| data.get_temp(id));
    let told = match answer {
        Some(answer) => answer,
        None if ctx.input(|input| input.pointer.any_pressed()) || is_elsewhere(response) => None,
        None => kept.clone(),
    };
    if told != kept {
        ctx.data_mut(|data| match &told {
            Some(told) => {
                data.insert_temp(id, told.clone());
            }
            None => data.remove::<String>(id),
        });
    }
    if let Some(told) = told {
        show(response, id, &told);
    }
}

/// Whether another field has the keyboard.
fn is_elsewhere(response: &Response) -> bool {
    let focused = response.ctx.memory(egui::Memory::focused);
    focused.is_some_and(|focused| focused != response.id)
}

fn show(response: &Response, id: Id, told: &str) {
    let ctx = response.ctx.clone();
    let ink = Palette::of(&ctx).ink(Role::Caution);
    Tooltip::always_open(ctx, response.layer_id, id, response).show(|ui| {
        ui.add(Label::new(RichText::new(told).color(ink)).wrap());
    });
}

#[cfg(test)]
mod tests {
    use egui::Key;
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::description::typed;

    /// Types into a field of 1 to 400 teeth and presses Enter.
    fn typed_into(text: &str) -> Harness<'static, f64> {
        let show = |ui: &mut Ui, value: &mut f64| {
            let label = ui.label("Teeth");
            let read = |text: &str| {
                typed::into_field(
                    "cam_drive.crank_teeth",
                    crate::words::Units::Millimetres,
                    text,
                )
            };
            let beyond = |value| typed::out_of(1.0..=400.0, " teeth", value);
            let field = DragValue::new(value).range(1.0..=400.0);
            number_field(ui, true, field, &read, &beyond).labelled_by(label.id);
        };
        let mut harness = Harness::new_ui_state(show, 25.0);
        harness.get_by_label("Teeth").click();
        harness.run();
        harness.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
        harness.get_by_label("Teeth").type_text(text);
        harness.run();
        harness.key_press(Key::Enter);
        harness.run();
        harness
    }

    #[test]
    fn a_number_with_its_unit_is_taken_and_nothing_is_said() {
        let harness = typed_into("46 teeth");
        assert_eq!(*harness.state(), 46.0);
        assert!(harness.query_by_label_contains("most").is_none());
    }

    #[test]
    fn a_number_that_is_too_large_is_answered_with_the_largest() {
        let mut harness = typed_into("4600 teeth");
        assert_eq!(*harness.state(), 400.0);
        harness.get_by_label("400 teeth at the most");
        // It goes when something else is pressed.
        harness.hover_at(egui::pos2(200.0, 200.0));
        harness.drag_at(egui::pos2(200.0, 200.0));
        harness.run();
        harness.drop_at(egui::pos2(200.0, 200.0));
        harness.run();
        assert!(harness.query_by_label("400 teeth at the most").is_none());
    }

    #[test]
    fn what_is_no_number_is_answered_and_changes_nothing() {
        let harness = typed_into("many");
        assert_eq!(*harness.state(), 25.0);
        harness.get_by_label("A number is wanted, such as 8 or 8.5");
    }
}
