//! The builder's own lines for the sheet.

use egui::Ui;

use super::super::form::Form;
use crate::description::{BuilderStep, Description, Torque, fields};

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.rows(
        ui,
        "steps",
        &mut d.steps,
        |form, ui, here, step| {
            form.text_cell(ui, &format!("{here}.do"), &mut step.action, 150.0);
            torque(ui, form, here, &mut step.torque);
        },
        |_| BuilderStep::new("What to do"),
    );
    if !d.steps.is_empty() {
        let words = "How a step's fasteners lie, their passes, angle and sequence are written in the file itself.";
        ui.add(egui::Label::new(egui::RichText::new(words).weak()).wrap());
    }
}

fn torque(ui: &mut Ui, form: &mut Form, here: &str, torque: &mut Option<Torque>) {
    let unit = torque.map_or("no torque", Torque::unit);
    let place = format!("{here}.torque");
    let range = fields::field_at(&place)
        .and_then(fields::Field::range)
        .map_or(0.0..=f64::MAX, |range| range.least..=range.most);
    if let Some(
        Torque::NewtonMetres(value) | Torque::PoundFeet(value) | Torque::PoundInches(value),
    ) = torque
    {
        let field = ui
            .push_id(&place, |ui| {
                ui.add(
                    egui::DragValue::new(value)
                        .speed(0.2)
                        .range(range.clone())
                        .max_decimals(1),
                )
            })
            .inner;
        if field.changed() {
            form.note(&place);
        }
    }
    let tenths = |value: f64| (value * 10.0).round() / 10.0;
    let now = torque.map_or(20.0, Torque::newton_metres);
    let mut choices = vec![(None, "no torque")];
    for torque in Torque::NewtonMetres(now).in_every_unit() {
        let rounded = match torque {
            Torque::NewtonMetres(value) => Torque::NewtonMetres(tenths(value)),
            Torque::PoundFeet(value) => Torque::PoundFeet(tenths(value)),
            Torque::PoundInches(value) => Torque::PoundInches(tenths(value)),
        };
        choices.push((Some(rounded), torque.unit()));
    }
    egui::ComboBox::from_id_salt((here, "unit"))
        .selected_text(unit)
        .show_ui(ui, |ui| {
            for (choice, words) in choices {
                if ui.selectable_label(words == unit, words).clicked() && words != unit {
                    *torque = choice;
                    form.note(&place);
                }
            }
        });
}
