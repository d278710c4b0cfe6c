//! A second ignition: the fields of the first once more.

use egui::Ui;

use super::super::form::Form;
use super::{distributor, ignition};
use crate::description::{Description, SecondIgnition};
use crate::engine::arrangement::plain_distributor;

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mut has = d.second_ignition.is_some();
    if form.whether(ui, SecondIgnition::PATH, &mut has) {
        d.second_ignition = has.then(|| SecondIgnition {
            distributor: Some(plain_distributor()),
            ignition: d.ignition.clone(),
        });
    }
    let Some(mut second) = d.by_second_ignition() else {
        return;
    };
    form.within(ui, SecondIgnition::PATH, |ui, form| {
        distributor::fields(ui, form, &mut second);
        ignition::fields(ui, form, &mut second);
    });
    d.second_ignition = Some(SecondIgnition {
        distributor: second.distributor,
        ignition: second.ignition,
    });
}
