//! The distributor's drive in the hands: lifted out, its rotor turned, let down.

use bevy::prelude::*;
use egui::{Label, RichText, Ui};

use crate::angle::Clock;
use crate::window::scene::camera::SetView;
use crate::window::session::bench::Bench;

/// What the hands did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DriveResponse {
    /// Lift the distributor out.
    Lift,
    /// Hold the rotor so.
    Hold(Clock),
    /// Let the drive down.
    LetDown,
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
        DriveResponse::LetDown => bench.seat_drive(),
    }
}

/// The drive at home, in the hand with its rotor `held`, or `sinking` home. It can be let down
/// where `may_go_down` says so.
pub fn panel(
    ui: &mut Ui,
    held: Option<Clock>,
    sinking: bool,
    may_go_down: bool,
) -> Option<DriveResponse> {
    if sinking {
        ui.label("The drive is going down…");
        return None;
    }
    let Some(held) = held else {
        return ui
            .button("Lift the distributor out")
            .clicked()
            .then_some(DriveResponse::Lift);
    };
    let mut ask = None;
    ui.horizontal_wrapped(|ui| {
        let mut degrees = held.degrees().round();
        let label = ui.label("Rotor held at");
        let field = egui::DragValue::new(&mut degrees)
            .range(-360.0..=720.0)
            .speed(0.5)
            .suffix("° on the cap's clock")
            .fixed_decimals(0);
        if ui.add(field).labelled_by(label.id).changed() {
            ask = Some(DriveResponse::Hold(Clock::new(degrees)));
        }
    });
    ui.horizontal(|ui| {
        for (words, by) in [("−5°", -5.0), ("−1°", -1.0), ("+1°", 1.0), ("+5°", 5.0)] {
            if ui.small_button(words).clicked() {
                ask = Some(DriveResponse::Hold(Clock::new(held.degrees() + by)));
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
    if may_go_down
        && ui
            .button("Let the drive down")
            .on_hover_text("It takes hold on the tooth nearest to where the rotor is held")
            .clicked()
    {
        ask = Some(DriveResponse::LetDown);
    }
    ask
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    fn clicked(held: Option<Clock>, label: &str) -> Option<DriveResponse> {
        let asked = Cell::new(None);
        let mut harness = Harness::new_ui(|ui| {
            if let Some(ask) = panel(ui, held, false, true) {
                asked.set(Some(ask));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        asked.get()
    }

    #[test]
    fn it_is_lifted_out_turned_and_let_down() {
        assert_eq!(
            clicked(None, "Lift the distributor out"),
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
            Some(DriveResponse::LetDown)
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
