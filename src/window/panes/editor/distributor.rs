//! The distributor and its drive.

use egui::Ui;

use super::super::form::Form;
use crate::description::{
    Camshaft, Coupling, Description, Distributor, DrivenBy, Hand, Helix, Shaft,
};
use crate::engine::arrangement::plain_distributor;
use crate::words::Units;

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mut has = d.distributor.is_some();
    if form.whether(ui, "distributor", &mut has) {
        d.distributor = has.then(plain_distributor);
    }
    let Some(distributor) = &mut d.distributor else {
        return;
    };
    distributor_drive(ui, form, distributor, &d.camshafts);
    form.direction(ui, "distributor.rotation", &mut distributor.rotation);
    form.number(
        ui,
        "distributor.number_one_at",
        &mut distributor.number_one_at,
    );
    let half_advance = d.ignition.static_advance / 2.0;
    form.optional(
        ui,
        "distributor.offset",
        &mut distributor.offset,
        half_advance,
    );
    turn_on_entry(ui, form, distributor, d.units);
    form.optional(
        ui,
        "distributor.body_range",
        &mut distributor.body_range,
        15.0,
    );
    form.optional(ui, "distributor.tip_width", &mut distributor.tip_width, 9.0);
    form.optional(
        ui,
        "distributor.tower_width",
        &mut distributor.tower_width,
        6.0,
    );
    form.found_only(ui, "distributor");
}

fn distributor_drive(
    ui: &mut Ui,
    form: &mut Form,
    distributor: &mut Distributor,
    camshafts: &[Camshaft],
) {
    let shafts = [
        (DrivenBy::Camshaft, "the camshaft"),
        (DrivenBy::Crankshaft, "the crankshaft"),
    ];
    form.choice(
        ui,
        "distributor.driven_by",
        &mut distributor.driven_by,
        &shafts,
    );
    if distributor.camshaft.is_some() || camshafts.len() > 1 {
        let named = |name: &String| {
            let mut all = camshafts.iter();
            all.position(|camshaft| camshaft.name == *name)
        };
        let before = distributor.camshaft.as_ref().map(named);
        let mut now = before;
        let mut choices = vec![(None, "not stated: the first")];
        let all = camshafts.iter().enumerate();
        choices.extend(all.map(|(index, camshaft)| (Some(Some(index)), camshaft.name.as_str())));
        form.choice(ui, "distributor.camshaft", &mut now, &choices);
        if now != before {
            let chosen = now.flatten().and_then(|index| camshafts.get(index));
            distributor.camshaft = chosen.map(|camshaft| camshaft.name.clone());
        }
    }
    let times = match distributor.driven_by {
        DrivenBy::Camshaft => 1,
        DrivenBy::Crankshaft => 2,
    };
    let (driver_before, driven_before) = (distributor.driver_teeth, distributor.driven_teeth);
    let paired = driver_before.checked_mul(times) == Some(driven_before);
    form.teeth(
        ui,
        "distributor.driver_teeth",
        &mut distributor.driver_teeth,
    );
    form.teeth(
        ui,
        "distributor.driven_teeth",
        &mut distributor.driven_teeth,
    );
    if paired && distributor.driver_teeth != driver_before {
        distributor.driven_teeth = distributor.driver_teeth.saturating_mul(times);
    } else if paired
        && distributor.driven_teeth != driven_before
        && distributor.driven_teeth.is_multiple_of(times)
    {
        distributor.driver_teeth = distributor.driven_teeth / times;
    }
    let couplings = [
        (None, "not stated: a gear"),
        (Some(Coupling::Gear), "a gear"),
        (Some(Coupling::OffsetTongue), "a tongue off the centre"),
        (Some(Coupling::CentralTongue), "a tongue on the centre"),
    ];
    form.choice(
        ui,
        "distributor.coupling",
        &mut distributor.coupling,
        &couplings,
    );
    if distributor.coupling() != Coupling::Gear || distributor.shaft.is_some() {
        form.choice(
            ui,
            "distributor.shaft",
            &mut distributor.shaft,
            &[
                (None, "not stated: plain"),
                (Some(Shaft::Plain), "plain, cannot be out of mesh"),
                (Some(Shaft::Geared), "with a gear of its own"),
            ],
        );
    }
    if distributor.is_on_geared_shaft() || distributor.slot_at.is_some() {
        form.optional(ui, "distributor.slot_at", &mut distributor.slot_at, 0.0);
    }
}

/// How the rotor turns as the drive seats: measured, or from the helix.
fn turn_on_entry(ui: &mut Ui, form: &mut Form, distributor: &mut Distributor, units: Units) {
    form.optional(
        ui,
        "distributor.turns_on_entry",
        &mut distributor.turns_on_entry,
        0.0,
    );
    let mut has = distributor.helix.is_some();
    if form.whether(ui, "distributor.helix", &mut has) {
        let mm = units.millimetres();
        distributor.helix = has.then_some(Helix {
            angle: 45.0,
            hand: Hand::Right,
            travel: 11.0 / mm,
            pitch_diameter: 26.0 / mm,
        });
        if has {
            distributor.turns_on_entry = None;
        }
    }
    if let Some(helix) = &mut distributor.helix {
        form.number(ui, "distributor.helix.angle", &mut helix.angle);
        form.choice(
            ui,
            "distributor.helix.hand",
            &mut helix.hand,
            &[(Hand::Right, "right"), (Hand::Left, "left")],
        );
        form.number(ui, "distributor.helix.travel", &mut helix.travel);
        form.number(
            ui,
            "distributor.helix.pitch_diameter",
            &mut helix.pitch_diameter,
        );
        form.found_only(ui, "distributor.helix");
    }
}
