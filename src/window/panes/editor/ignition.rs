//! When the sparks come, and the coils.

use egui::Ui;

use super::super::form::Form;
use crate::description::{CentrifugalPoint, Description, Sparks, VacuumPoint};

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let ignition = &mut d.ignition;
    form.number(ui, "ignition.static_advance", &mut ignition.static_advance);
    // With a distributor neither is asked for, only shown where it is given and wrong.
    if d.distributor.is_none() || ignition.sparks.is_some() {
        form.choice(
            ui,
            "ignition.sparks",
            &mut ignition.sparks,
            &[
                (None, "not stated: every other turn"),
                (Some(Sparks::EveryOtherTurn), "every other turn"),
                (Some(Sparks::EveryTurn), "every turn, on overlap too"),
            ],
        );
    }
    if d.distributor.is_none() || ignition.coils.is_some() {
        coils(ui, form, &mut ignition.coils, &d.firing_order);
    }
    form.words(ui, "Centrifugal advance, by engine speed, in crank degrees");
    form.rows(
        ui,
        "ignition.centrifugal",
        &mut ignition.centrifugal,
        |form, ui, here, point| {
            form.cell(ui, &format!("{here}.rpm"), &mut point.rpm);
            form.cell(ui, &format!("{here}.advance"), &mut point.advance);
        },
        |last| {
            last.map_or(
                CentrifugalPoint {
                    rpm: 800.0,
                    advance: 0.0,
                },
                |last| CentrifugalPoint {
                    rpm: last.rpm + 500.0,
                    ..last.clone()
                },
            )
        },
    );
    form.words(ui, "Vacuum advance, by depression, in crank degrees");
    form.rows(
        ui,
        "ignition.vacuum",
        &mut ignition.vacuum,
        |form, ui, here, point| {
            match (&mut point.kpa, &mut point.inhg) {
                (None, Some(inhg)) => form.cell(ui, &format!("{here}.inhg"), inhg),
                (kpa, _) => form.cell(ui, &format!("{here}.kpa"), kpa.get_or_insert(0.0)),
            }
            form.cell(ui, &format!("{here}.advance"), &mut point.advance);
        },
        |last| {
            last.map_or(
                VacuumPoint {
                    kpa: Some(10.0),
                    inhg: None,
                    advance: 0.0,
                },
                |last| VacuumPoint {
                    kpa: last.kpa.map(|kpa| kpa + 10.0),
                    inhg: last.inhg.map(|inhg| inhg + 3.0),
                    ..last.clone()
                },
            )
        },
    );
}

/// The coils and the cylinders on them; taken out to the last, none are described.
fn coils(ui: &mut Ui, form: &mut Form, coils: &mut Option<Vec<Vec<u32>>>, order: &[u32]) {
    form.words(
        ui,
        "Coils with leads of their own, and the cylinders on each",
    );
    let mut rows = coils.clone().unwrap_or_default();
    form.rows(
        ui,
        "ignition.coils",
        &mut rows,
        |form, ui, here, coil| {
            ui.label("No.");
            form.numbers_cell(ui, here, coil, 90.0);
        },
        |_| Vec::new(),
    );
    // A coil that was just added takes the first cylinder that has none.
    if let Some((last, before)) = rows.split_last_mut()
        && last.is_empty()
    {
        let free = order
            .iter()
            .find(|number| !before.iter().any(|coil| coil.contains(number)));
        last.extend(free);
    }
    *coils = (!rows.is_empty()).then_some(rows);
}
