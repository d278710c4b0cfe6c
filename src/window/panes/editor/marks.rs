//! The marks the builder can see.

use egui::Ui;

use super::super::form::Form;
use crate::description::{Description, Mark, MarkOn};

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.words(ui, "Where each stands with No. 1 at firing TDC, clockwise from straight up seen from the front");
    let parts: Vec<(MarkOn, String)> = [
        (MarkOn::Crankshaft, "crankshaft".to_owned()),
        (MarkOn::Flywheel, "flywheel".to_owned()),
        (MarkOn::Camshaft, "camshaft".to_owned()),
    ]
    .into_iter()
    .chain(
        d.camshafts
            .iter()
            .zip(1u32..)
            .map(|(camshaft, which)| (MarkOn::CamshaftNumber(which), camshaft.name.clone())),
    )
    .chain(
        (1..=d.cam_drive.idler_teeth.len() as u32)
            .map(|which| (MarkOn::Idler(which), format!("idler {which}"))),
    )
    .collect();
    form.rows(
        ui,
        "marks",
        &mut d.marks,
        |form, ui, here, mark| {
            form.text_cell(ui, &format!("{here}.name"), &mut mark.name, 86.0);
            let there = parts.iter().find(|(on, _)| *on == mark.on);
            let now = match (mark.on, there) {
                (_, None) => "none such".to_owned(),
                // A name may be long; the list has it.
                (MarkOn::CamshaftNumber(which), _) => format!("camshaft {which}"),
                (_, Some((_, words))) => words.clone(),
            };
            egui::ComboBox::from_id_salt(here)
                .selected_text(now)
                .show_ui(ui, |ui| {
                    for (on, words) in &parts {
                        if ui.selectable_value(&mut mark.on, *on, words).changed() {
                            form.note(&format!("{here}.on"));
                        }
                    }
                });
            form.cell(ui, &format!("{here}.at"), &mut mark.at);
            pointer(ui, form, here, mark);
        },
        |_| Mark {
            on: MarkOn::Crankshaft,
            name: "notch".into(),
            at: 0.0,
            pointer_at: None,
        },
    );
}

/// Whether a mark's pointer is described, and where it stands.
fn pointer(ui: &mut Ui, form: &mut Form, here: &str, mark: &mut Mark) {
    let place = format!("{here}.pointer_at");
    let mut given = mark.pointer_at.is_some();
    let usual = mark.at;
    if ui
        .checkbox(&mut given, "pointer")
        .on_hover_text("The pointer, line or window at which it is read, clockwise from straight up seen from the front")
        .changed()
    {
        mark.pointer_at = given.then_some(usual);
        form.note(&place);
    }
    if let Some(at) = &mut mark.pointer_at {
        form.cell(ui, &place, at);
    }
}
