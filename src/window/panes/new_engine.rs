//! A new engine in under a minute: layout, cylinders, crank, firing order.

use egui::{ComboBox, Grid, Label, RichText, ScrollArea, TextEdit, Ui};

use crate::angle::Direction;
use crate::description::{Description, typed};
use crate::engine::arrangement::{
    Arrangement, EngineChoice, IgnitionChoice, OrderChoice, Side, VEE_DEG,
};
use crate::window::session::engine_choice::NewEngine;

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum NewEngineResponse {
    Begin(Box<Description>),
    Cancel,
}

pub(crate) fn panel(ui: &mut Ui, choosing: &mut NewEngine) -> Option<NewEngineResponse> {
    ui.heading("A new engine");
    let before = choosing.wanted.clone();
    Grid::new("new engine")
        .num_columns(2)
        .spacing([12.0, 8.0])
        .show(ui, |ui| {
            layout(ui, &mut choosing.wanted);
            turning(ui, &mut choosing.wanted);
        });
    let shape = |wanted: &EngineChoice| {
        (
            wanted.layout,
            wanted.cylinders,
            wanted.vee_deg,
            wanted.number_one_on,
            wanted.rotation,
        )
    };
    if shape(&before) != shape(&choosing.wanted) {
        choosing.work_out_cranks();
    }
    crank_and_order(ui, choosing);
    ui.add(Label::new("Bore, stroke, valve events and the rest start at common figures: put your engine's own in their place.").wrap());
    let mut response = None;
    ui.horizontal(|ui| {
        let description = choosing.description();
        if ui
            .add_enabled(
                description.is_some(),
                egui::Button::new(RichText::new("Begin with this engine").strong()),
            )
            .clicked()
        {
            response =
                description.map(|description| NewEngineResponse::Begin(Box::new(description)));
        }
        if ui.button("Cancel").clicked() {
            response = Some(NewEngineResponse::Cancel);
        }
    });
    response
}

fn layout(ui: &mut Ui, wanted: &mut EngineChoice) {
    let label = ui.label("Name");
    ui.add(TextEdit::singleline(&mut wanted.name).desired_width(220.0))
        .labelled_by(label.id);
    ui.end_row();
    ui.label("Cylinders stand");
    ui.horizontal(|ui| {
        for layout in Arrangement::ALL {
            ui.selectable_value(&mut wanted.layout, layout, layout.word());
        }
    });
    ui.end_row();
    ui.label("How many");
    let counts = wanted.layout.counts();
    if !counts.contains(&wanted.cylinders) {
        wanted.cylinders = counts
            .iter()
            .copied()
            .find(|count| *count >= wanted.cylinders)
            .or(counts.last().copied())
            .unwrap_or(1);
    }
    ui.horizontal(|ui| {
        for count in counts {
            ui.selectable_value(&mut wanted.cylinders, *count, count.to_string());
        }
    });
    ui.end_row();
    if wanted.layout == Arrangement::Vee {
        let label = ui.label("Between the rows");
        ui.horizontal(|ui| {
            ui.add(
                egui::DragValue::new(&mut wanted.vee_deg)
                    .range(VEE_DEG.0..=VEE_DEG.1)
                    .speed(0.5)
                    .suffix("°")
                    .custom_parser(|text| typed::degrees(text, None).ok()),
            )
            .labelled_by(label.id);
            for usual in [45.0, 60.0, 90.0, 120.0] {
                ui.selectable_value(&mut wanted.vee_deg, usual, format!("{usual:.0}°"));
            }
        });
        ui.end_row();
    }
}

fn turning(ui: &mut Ui, wanted: &mut EngineChoice) {
    ui.label("Seen from the front, it turns");
    ui.horizontal(|ui| {
        for direction in [Direction::Clockwise, Direction::CounterClockwise] {
            ui.selectable_value(&mut wanted.rotation, direction, direction.word());
        }
    });
    ui.end_row();
    if wanted.layout != Arrangement::Inline {
        ui.label("Seen from the front, No. 1 is on");
        ui.horizontal(|ui| {
            ui.selectable_value(&mut wanted.number_one_on, Side::Right, "the right");
            ui.selectable_value(&mut wanted.number_one_on, Side::Left, "the left");
        });
        ui.end_row();
    }
    ui.label("Camshafts");
    ui.horizontal(|ui| {
        ui.selectable_value(&mut wanted.twin_camshafts, false, "one");
        ui.selectable_value(&mut wanted.twin_camshafts, true, "two over each head");
    });
    ui.end_row();
    ui.label("Sparks come by");
    ui.horizontal(|ui| {
        for ignition in IgnitionChoice::ALL {
            ui.selectable_value(&mut wanted.ignition, ignition, ignition.words());
        }
    });
    ui.end_row();
}

fn crank_and_order(ui: &mut Ui, choosing: &mut NewEngine) {
    ui.add_space(4.0);
    const ANY: &str = "any that suits";
    let now = choosing
        .crank
        .and_then(|crank| choosing.cranks.get(crank))
        .map_or(ANY, |crank| crank.what.as_str());
    let mut picked = choosing.crank;
    ui.horizontal(|ui| {
        ui.label("Crank");
        ComboBox::from_id_salt("crank")
            .width(300.0)
            .selected_text(now)
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut picked, None, ANY);
                for (index, crank) in choosing.cranks.iter().enumerate() {
                    ui.selectable_value(&mut picked, Some(index), &crank.what);
                }
            });
    });
    if picked != choosing.crank {
        choosing.crank = picked;
        choosing.work_out_orders();
    }
    ui.label("Firing orders that such a crank can give");
    ScrollArea::vertical()
        .id_salt("orders")
        .max_height(220.0)
        .auto_shrink([false, true])
        .show(ui, |ui| {
            for (index, (crank, order)) in choosing.orders.iter().enumerate() {
                let what = choosing
                    .cranks
                    .get(*crank)
                    .map_or("", |crank| crank.what.as_str());
                ui.selectable_value(&mut choosing.order, index, order_words(order))
                    .on_hover_text(what);
            }
        });
}

fn order_words(order: &OrderChoice) -> String {
    match order.intervals_deg.first() {
        Some(interval) if order.is_even() => format!("{}, every {interval:.0}°", order.dashed()),
        _ => {
            let intervals = order
                .intervals_deg
                .iter()
                .map(|interval| format!("{interval:.0}°"))
                .collect::<Vec<_>>()
                .join(", ");
            format!("{}, after {intervals}", order.dashed())
        }
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    #[test]
    fn a_flat_six_is_described_by_four_clicks() {
        let mut harness = Harness::builder().with_size([520.0, 700.0]).build_ui_state(
            |ui, (choosing, received): &mut (NewEngine, Option<NewEngineResponse>)| {
                if let Some(response) = panel(ui, choosing) {
                    *received = Some(response);
                }
            },
            (NewEngine::default(), None),
        );
        for label in [
            "flat",
            "6",
            "1-4-5-2-3-6, every 120°",
            "Begin with this engine",
        ] {
            harness.get_by_label(label).click();
            harness.run();
        }
        let Some(NewEngineResponse::Begin(description)) = &harness.state().1 else {
            panic!("nothing begun")
        };
        assert_eq!(description.firing_order, [1, 4, 5, 2, 3, 6]);
        assert_eq!(description.banks.len(), 2);
    }

    #[test]
    fn a_straight_six_begins_with_its_usual_order() {
        let mut choosing = NewEngine::default();
        choosing.wanted.cylinders = 6;
        choosing.work_out_cranks();
        assert!(choosing.orders.len() > 1);
        let description = choosing.description().expect("an engine");
        assert_eq!(description.firing_order, [1, 5, 3, 6, 2, 4]);
    }

    #[test]
    fn a_count_the_layout_has_not_goes_to_one_it_has() {
        let mut choosing = NewEngine::default();
        choosing.wanted.cylinders = 5;
        choosing.wanted.layout = Arrangement::Vee;
        let mut harness = Harness::new_ui_state(
            |ui, choosing: &mut NewEngine| {
                panel(ui, choosing);
            },
            choosing,
        );
        harness.run();
        assert_eq!(harness.state().wanted.cylinders, 6);
        assert_eq!(
            harness
                .state()
                .description()
                .expect("an engine")
                .firing_order
                .len(),
            6
        );
    }
}
