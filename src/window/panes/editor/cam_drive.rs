//! The drive from the crank to the camshafts, and the camshafts where there are several.

use egui::Ui;

use super::super::form::Form;
use crate::description::{Camshaft, CountedOn, Description, DriveKind, Valve};

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mm = d.units.millimetres();
    let drive = &mut d.cam_drive;
    let kinds = [
        (DriveKind::Gears, "gears"),
        (DriveKind::Chain, "chain"),
        (DriveKind::Belt, "belt"),
    ];
    form.choice(ui, "cam_drive.kind", &mut drive.kind, &kinds);
    // The cam turns at half speed: a change to one wheel that was right takes the other with it.
    let (crank_before, cam_before) = (drive.crank_teeth, drive.cam_teeth);
    let paired = crank_before.checked_mul(2) == Some(cam_before);
    form.teeth(ui, "cam_drive.crank_teeth", &mut drive.crank_teeth);
    form.teeth(ui, "cam_drive.cam_teeth", &mut drive.cam_teeth);
    if paired && drive.crank_teeth != crank_before {
        drive.cam_teeth = drive.crank_teeth.saturating_mul(2);
    } else if paired && drive.cam_teeth != cam_before && drive.cam_teeth.is_multiple_of(2) {
        drive.crank_teeth = drive.cam_teeth / 2;
    }
    form.numbers(ui, "cam_drive.idler_teeth", &mut drive.idler_teeth, ", ");
    form.optional(ui, "cam_drive.marks_meet_at", &mut drive.marks_meet_at, 0.0);
    let (gears, usual_pitch) = match drive.kind {
        DriveKind::Gears => (true, 8.0),
        DriveKind::Chain => (false, 9.525),
        DriveKind::Belt => (false, 8.0),
    };
    if !gears || drive.pitch.is_some() {
        form.optional(ui, "cam_drive.pitch", &mut drive.pitch, usual_pitch / mm);
    }
    if !gears || drive.links_between_marks.is_some() {
        form.optional_count(
            ui,
            "cam_drive.links_between_marks",
            &mut drive.links_between_marks,
            drive.cam_teeth,
        );
    }
    if drive.links_between_marks.is_some() || drive.counted_on.is_some() {
        let sides = [
            (None, "not given"),
            (Some(CountedOn::TightSide), "the tight side"),
            (Some(CountedOn::SlackSide), "the slack side"),
        ];
        form.choice(ui, "cam_drive.counted_on", &mut drive.counted_on, &sides);
    }
    let sized = drive.module.is_some() || drive.diametral_pitch.is_some();
    if (gears || sized) && drive.diametral_pitch.is_none() {
        form.optional(ui, "cam_drive.module", &mut drive.module, 2.0 / mm);
    }
    if (gears || sized) && drive.module.is_none() {
        let pitch = &mut drive.diametral_pitch;
        form.optional(ui, "cam_drive.diametral_pitch", pitch, 12.0);
    }
    form.optional(ui, "cam_drive.backlash", &mut drive.backlash, 0.05 / mm);
    form.optional(ui, "cam_drive.cam_at", &mut drive.cam_at, 0.0);
    form.found_only(ui, "cam_drive");
}

/// The camshafts, where there are several: a row each.
pub(super) fn camshafts(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let works: [(&[Valve], &str); 3] = [
        (&[Valve::Intake, Valve::Exhaust], "every valve"),
        (&[Valve::Intake], "intake valves"),
        (&[Valve::Exhaust], "exhaust valves"),
    ];
    form.words(ui, "Where there are several camshafts: the name of each, the valves it works, over which banks (every one where none is named), and how many cam degrees a vernier or an offset key sets it ahead of its wheel");
    form.rows(
        ui,
        "camshafts",
        &mut d.camshafts,
        |form, ui, here, camshaft| {
            form.text_cell(ui, &format!("{here}.name"), &mut camshaft.name, 76.0);
            let now = works
                .iter()
                .find(|(works, _)| *works == camshaft.works)
                .map_or("no valve", |(_, words)| words);
            egui::ComboBox::from_id_salt(here)
                .width(96.0)
                .selected_text(now)
                .show_ui(ui, |ui| {
                    for (works, words) in works {
                        let chosen = camshaft.works == works;
                        if ui.selectable_label(chosen, words).clicked() && !chosen {
                            camshaft.works = works.to_vec();
                            form.note(&format!("{here}.works"));
                        }
                    }
                });
            form.numbers_cell(ui, &format!("{here}.banks"), &mut camshaft.banks, 40.0);
            let mut trim = camshaft.trim();
            form.cell(ui, &format!("{here}.trim"), &mut trim);
            if trim.to_bits() != camshaft.trim().to_bits() {
                camshaft.trim = Some(trim);
            }
        },
        |last| Camshaft {
            name: if last.is_some() {
                "exhaust cam"
            } else {
                "intake cam"
            }
            .into(),
            works: vec![if last.is_some() {
                Valve::Exhaust
            } else {
                Valve::Intake
            }],
            banks: Vec::new(),
            cam_teeth: None,
            trim: None,
        },
    );
}
