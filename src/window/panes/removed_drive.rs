//! The panel for the distributor's drive: lifted out, its rotor turned, seated again.

use bevy::prelude::*;
use egui::{Label, RichText, Ui};

use super::number_field::number_field;
use crate::angle::Clock;
use crate::description::typed;
use crate::window::scene::camera::SetView;
use crate::window::session::bench::Bench;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum DriveResponse {
    Lift,
    /// Hold the rotor so.
    Hold(Clock),
    /// Let the drive down into the engine.
    Seat,
}

/// Does with the drive what the user asked for.
pub(crate) fn apply(world: &mut World, response: DriveResponse) {
    let mut bench = world.resource_mut::<Bench>();
    match response {
        DriveResponse::Lift => {
            bench.lift_drive();
            world.write_message(SetView::Drive);
        }
        DriveResponse::Hold(at) => bench.hold_rotor(at),
        DriveResponse::Seat => bench.seat_drive(),
    }
}

/// The drive seated, out of the engine with its rotor `held` at a position, or on its way down
/// while `is_seating`. It can be let down where `may_be_seated` says so.
pub(crate) fn panel(
    ui: &mut Ui,
    held: Option<Clock>,
    is_seating: bool,
    may_be_seated: bool,
) -> Option<DriveResponse> {
    if is_seating {
        ui.label("The drive is going down…");
        return None;
    }
    let Some(held) = held else {
        return ui
            .button("Hold the distributor over its hole")
            .clicked()
            .then_some(DriveResponse::Lift);
    };
    let mut response = None;
    ui.horizontal_wrapped(|ui| {
        let mut degrees = held.degrees().round();
        let label = ui.label("Rotor held at");
        let field = egui::DragValue::new(&mut degrees)
            .range(-360.0..=720.0)
            .speed(0.5)
            .suffix("° on the cap's clock")
            .fixed_decimals(0);
        let read = |text: &str| typed::degrees(text, None);
        let beyond = |value| typed::out_of(-360.0..=720.0, "°", value);
        let field = number_field(ui, true, field, &read, &beyond);
        if field.labelled_by(label.id).changed() {
            response = Some(DriveResponse::Hold(Clock::new(degrees)));
        }
    });
    ui.horizontal(|ui| {
        for (words, by) in [("−5°", -5.0), ("−1°", -1.0), ("+1°", 1.0), ("+5°", 5.0)] {
            if ui.small_button(words).clicked() {
                response = Some(DriveResponse::Hold(Clock::new(held.degrees() + by)));
            }
        }
    });
    ui.add(
        Label::new(
            RichText::new(
                "Or take hold of the rotor and turn it, on the model or in \"Cap from above\".",
            )
            .weak(),
        )
        .wrap(),
    );
    if may_be_seated
        && ui
            .button("Let the drive down")
            .on_hover_text("It takes hold on the tooth nearest to where the rotor is held")
            .clicked()
    {
        response = Some(DriveResponse::Seat);
    }
    response
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    fn clicked(held: Option<Clock>, label: &str) -> Option<DriveResponse> {
        let received = Cell::new(None);
        let mut harness = Harness::new_ui(|ui| {
            if let Some(response) = panel(ui, held, false, true) {
                received.set(Some(response));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        received.get()
    }

    #[test]
    fn it_is_lifted_out_turned_and_let_down() {
        assert_eq!(
            clicked(None, "Hold the distributor over its hole"),
            Some(DriveResponse::Lift)
        );
        let held = Some(Clock::new(49.0));
        assert_eq!(
            clicked(held, "+5°"),
            Some(DriveResponse::Hold(Clock::new(54.0)))
        );
        assert_eq!(
            clicked(held, "−1°"),
            Some(DriveResponse::Hold(Clock::new(48.0)))
        );
        assert_eq!(
            clicked(held, "Let the drive down"),
            Some(DriveResponse::Seat)
        );
    }

    #[test]
    fn nothing_can_be_done_to_it_on_its_way() {
        let harness = Harness::new_ui(|ui| {
            panel(ui, Some(Clock::new(49.0)), true, true);
        });
        assert!(harness.query_by_label("Let the drive down").is_none());
    }
}
