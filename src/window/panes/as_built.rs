//! How the engine was put together, and what that does: teeth out, the body turned, leads moved
//! round. A change is shown on the model at once; what it means is said by the core alone.

use egui::{
    Align, Button, Frame, Grid, Layout, RichText, Slider, SliderClamping, Ui, WidgetInfo,
    WidgetType,
};

use super::widgets::{lead_grid, now_and_then, rests_on, section, wrapped};
use crate::description::fields::MOST_CAMSHAFTS;
use crate::description::typed;
use crate::description::{Coupling, Distributor, Valve};
use crate::diagnosis::Verdict;
use crate::diagnosis::verdict;
use crate::diagnosis::verdict::VerdictKind;
use crate::drawing::Role;
use crate::engine::{Assembly, Engine, Subject};
use crate::laws::clearance::{Gap, least_allowed_mm};
use crate::laws::ignition;
use crate::phasing::{Card, Phasing};
use crate::window::app::theme::{Palette, strong};
use crate::words;
use crate::words::{capitalised, degrees};

/// Where no clamp is described, the body's slider goes this far either way.
const BODY_SLIDER_DEG: f64 = 30.0;

/// What the pane speaks of.
const SUBJECTS: &[Subject] = &[
    Subject::Valves,
    Subject::Clearance,
    Subject::Rotor,
    Subject::Sparks,
    Subject::Play,
];

/// Shows the assembly and what it does; returns the assembly that the user changed it to.
pub(super) fn panel(ui: &mut Ui, phasing: &Phasing) -> Option<Assembly> {
    let (engine, assembly) = (phasing.engine(), phasing.assembly());
    let mut made = assembly.clone();
    judged(ui, &verdict::of(phasing));
    camshaft(ui, engine, &mut made);
    if let Some(distributor) = &engine.metric().distributor {
        drive(ui, engine, distributor, &mut made);
        body(ui, distributor, &mut made);
    }
    if engine.has_leads() {
        section(ui, "Leads", |ui| leads(ui, phasing, &mut made));
    }
    let drawn = assembly.is_as_drawn();
    if ui
        .add_enabled(!drawn, Button::new("Put back as drawn"))
        .clicked()
    {
        made = Assembly::default();
    }
    section(ui, "Valve events", |ui| events(ui, phasing));
    section(ui, "Sparks", |ui| sparks(ui, phasing));
    if engine.metric().clearance.is_some() {
        section(ui, "Room between valves and pistons", |ui| {
            clearance(ui, phasing);
        });
    }
    rests_on(ui, engine, SUBJECTS, None);
    (made != *assembly).then_some(made)
}

/// Lines of plain text that the verdict has room for; what is longer is scrolled.
const VERDICT_LINES: f32 = 10.0;

/// The verdict, what follows from it, and its caution: always as high, so that nothing below it
/// moves under the pointer because of what it did.
fn judged(ui: &mut Ui, verdict: &Verdict) {
    let palette = Palette::of(ui.ctx());
    let (fill, ink, edge) = match verdict.kind {
        VerdictKind::AsDrawn | VerdictKind::MadeRight => {
            (palette.field, palette.text, palette.line)
        }
        VerdictKind::RunsBadly | VerdictKind::DoNotTurn => (
            palette.caution_ground,
            palette.ink(Role::Caution),
            palette.ink(Role::Caution),
        ),
    };
    let frame = Frame::new()
        .fill(fill)
        .stroke(egui::Stroke::new(1.0, edge))
        .inner_margin(6)
        .corner_radius(4);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let height = VERDICT_LINES * ui.text_style_height(&egui::TextStyle::Body);
        let room = egui::ScrollArea::vertical()
            .id_salt("verdict")
            .max_height(height)
            .min_scrolled_height(height)
            .auto_shrink(false);
        room.show(ui, |ui| {
            let sentence = strong(ui.ctx(), &verdict.sentence).heading().color(ink);
            ui.add(egui::Label::new(sentence).wrap());
            verdict
                .consequences
                .iter()
                .for_each(|line| wrapped(ui, line));
            if let Some(caution) = verdict.caution {
                ui.add(egui::Label::new(RichText::new(caution).small().color(ink)).wrap());
            }
        });
    });
}

fn camshaft(ui: &mut Ui, engine: &Engine, made: &mut Assembly) {
    let tooth = 720.0 / f64::from(engine.metric().cam_drive.cam_teeth);
    let worth = format!("One tooth of the cam wheel is {} of crank.", degrees(tooth));
    // Each camshaft's own count within an assembly.
    const COUNTS: [fn(&mut Assembly) -> &mut i32; MOST_CAMSHAFTS] = [
        |made| &mut made.cam_teeth,
        |made| &mut made.other_cam_teeth[0],
        |made| &mut made.other_cam_teeth[1],
        |made| &mut made.other_cam_teeth[2],
    ];
    for (name, count) in engine.camshaft_names().zip(COUNTS) {
        teeth(ui, engine, &capitalised(name), &worth, made, count, 1);
    }
}

fn drive(ui: &mut Ui, engine: &Engine, distributor: &Distributor, made: &mut Assembly) {
    if distributor.is_on_geared_shaft() {
        shaft_and_tongue(ui, engine, distributor, made);
        return;
    }
    let ways = ignition::ways_to_engage(distributor);
    if ways <= 1 {
        ui.label("Distributor drive: its tongue goes home one way only.")
            .on_hover_text("The tongue lies off the centre");
        return;
    }
    let step = (distributor.driven_teeth / ways) as i32;
    let tooth = ignition::rotor_tooth(distributor).degrees();
    let worth = format!(
        "One step of the drive is {} of rotor.",
        degrees(tooth * f64::from(step))
    );
    teeth(
        ui,
        engine,
        "Distributor drive",
        &worth,
        made,
        |made| &mut made.drive_teeth,
        step,
    );
}

/// A geared shaft, and the tongue that goes into it.
fn shaft_and_tongue(ui: &mut Ui, engine: &Engine, distributor: &Distributor, made: &mut Assembly) {
    let tooth = degrees(ignition::rotor_tooth(distributor).degrees());
    teeth(
        ui,
        engine,
        "Distributor's shaft",
        &format!("One tooth of the shaft is {tooth} of rotor."),
        made,
        |made| &mut made.drive_teeth,
        1,
    );
    if distributor.coupling() == Coupling::CentralTongue {
        ui.checkbox(&mut made.tongue_half_turn, "Tongue home half a turn out")
            .on_hover_text("The tongue is on the centre: it goes into its slot two ways");
    } else {
        ui.label("Its tongue goes into the slot one way only.")
            .on_hover_text("The tongue lies off the centre");
    }
}

/// A count of teeth between two buttons. A step that the engine cannot take is greyed.
fn teeth(
    ui: &mut Ui,
    engine: &Engine,
    what: &str,
    worth: &str,
    made: &mut Assembly,
    of: fn(&mut Assembly) -> &mut i32,
    step: i32,
) {
    ui.horizontal(|ui| {
        let width = ui.spacing().interact_size.y * 5.2;
        ui.allocate_ui_with_layout(
            egui::vec2(width, ui.spacing().interact_size.y),
            Layout::left_to_right(Align::Center),
            |ui| {
                ui.set_min_width(width);
                ui.label(what).on_hover_text(worth);
            },
        );
        let back = step_button(
            ui,
            engine,
            made,
            of,
            -step,
            "−",
            &format!("{what}: a tooth back"),
        );
        let words = teeth_words(*of(made));
        let width = ui.spacing().interact_size.x * 4.2;
        ui.add_sized(
            [width, ui.spacing().interact_size.y],
            egui::Label::new(strong(ui.ctx(), words)),
        )
        .on_hover_text(worth);
        let ahead = step_button(
            ui,
            engine,
            made,
            of,
            step,
            "+",
            &format!("{what}: a tooth ahead"),
        );
        *of(made) += back + ahead;
    });
}

fn step_button(
    ui: &mut Ui,
    engine: &Engine,
    made: &Assembly,
    of: fn(&mut Assembly) -> &mut i32,
    step: i32,
    sign: &str,
    name: &str,
) -> i32 {
    let mut would_be = made.clone();
    *of(&mut would_be) += step;
    let response = ui.add_enabled(
        would_be.check(engine).is_empty(),
        Button::new(sign).min_size(ui.spacing().interact_size),
    );
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, response.enabled(), name));
    if response.on_hover_text(name).clicked() {
        step
    } else {
        0
    }
}

fn teeth_words(teeth: i32) -> String {
    let count = teeth.unsigned_abs();
    let noun = if count == 1 { "tooth" } else { "teeth" };
    match teeth {
        0 => "as drawn".to_owned(),
        1.. => format!("{count} {noun} ahead"),
        _ => format!("{count} {noun} behind"),
    }
}

fn body(ui: &mut Ui, distributor: &Distributor, made: &mut Assembly) {
    let range = distributor.body_range.unwrap_or(BODY_SLIDER_DEG);
    ui.horizontal(|ui| {
        let label = ui.label("Body turned").on_hover_text(
            "Against the rotor's rotation advances the spark; with it, shown negative, retards it",
        );
        let slider = Slider::new(&mut made.body_turn_deg, -range..=range)
            .clamping(SliderClamping::Never)
            .suffix("°")
            .fixed_decimals(1)
            .custom_parser(|text| typed::degrees(text, None).ok());
        ui.add(slider.step_by(0.5)).labelled_by(label.id);
    });
    made.body_turn_deg = made.body_turn_deg.clamp(-180.0, 180.0);
    let is_beyond = made.body_turn_deg.abs() > range + 1e-9 && distributor.body_range.is_some();
    now_and_then(ui, is_beyond, |ui| {
        let words = format!(
            "Beyond the clamp: it lets the body turn {} either way.",
            degrees(range)
        );
        ui.colored_label(Palette::of(ui.ctx()).ink(Role::Caution), words);
    });
}

/// The leads from No. 1's tower round in the rotor's direction, or coil by coil. To plug a lead elsewhere swaps it
/// with the one there.
fn leads(ui: &mut Ui, phasing: &Phasing, made: &mut Assembly) {
    let engine = phasing.engine();
    let order = engine.lead_order();
    let before = phasing.leads().to_vec();
    ui.label(if engine.coils().is_empty() {
        "From No. 1's tower, the way the rotor turns:"
    } else {
        "At the coils' terminals, one coil after another:"
    });
    let mut plugged = lead_grid(ui, engine, &before).unwrap_or_else(|| before.clone());
    if engine.coils().is_empty() {
        all_round(ui, &mut plugged);
    }
    if plugged != before {
        made.leads = (plugged != order).then_some(plugged);
    }
}

/// Moves every lead round the cap.
fn all_round(ui: &mut Ui, plugged: &mut [u8]) {
    ui.horizontal_wrapped(|ui| {
        if ui
            .button("All one tower on")
            .on_hover_text("Every lead to the next tower in the rotor's direction")
            .clicked()
        {
            plugged.rotate_right(1);
        }
        if ui
            .button("All one tower back")
            .on_hover_text("Every lead to the tower before")
            .clicked()
        {
            plugged.rotate_left(1);
        }
    });
}

/// Degrees this side of a dead centre or the other: `12° before TDC`.
fn side_of(value: f64, dead_centre: &str) -> String {
    let side = if value < -0.005 { "after" } else { "before" };
    format!("{} {side} {dead_centre}", degrees(value.abs()))
}

fn events(ui: &mut Ui, phasing: &Phasing) {
    let card = Card::of(phasing);
    let several = phasing.engine().has_several_camshafts();
    let words = |what: &str, earlier: f64| match earlier {
        0.0 => format!("{what} as drawn."),
        earlier if earlier > 0.0 => {
            format!("{what} {} of crank earlier than drawn.", degrees(earlier))
        }
        later => format!("{what} {} of crank later than drawn.", degrees(-later)),
    };
    let [intake, exhaust] = Valve::BOTH.map(|valve| phasing.number_one_early(valve).degrees());
    if several {
        ui.label(words("No. 1's intake comes", intake));
        ui.label(words("No. 1's exhaust comes", exhaust));
    } else if intake == 0.0 {
        ui.label("As drawn.");
    } else {
        ui.label(words("Every one comes", intake));
    }
    let rows = [
        ("Intake opens", card.intake_opens_btdc_deg, intake, "TDC"),
        ("Intake shuts", -card.intake_closes_abdc_deg, intake, "BDC"),
        ("Exhaust opens", card.exhaust_opens_bbdc_deg, exhaust, "BDC"),
        (
            "Exhaust shuts",
            -card.exhaust_closes_atdc_deg,
            exhaust,
            "TDC",
        ),
    ];
    Grid::new("valve events")
        .num_columns(3)
        .spacing([10.0, 2.0])
        .show(ui, |ui| {
            ["", "as built", "as drawn"]
                .into_iter()
                .for_each(|title| drop(ui.label(RichText::new(title).small().weak())));
            ui.end_row();
            for (event, before, earlier, dead_centre) in rows {
                ui.label(event);
                ui.label(strong(ui.ctx(), side_of(before + earlier, dead_centre)));
                ui.label(RichText::new(side_of(before, dead_centre)).small().weak());
                ui.end_row();
            }
        });
}

fn sparks(ui: &mut Ui, phasing: &Phasing) {
    let drawn = phasing.engine().metric().ignition.static_advance;
    ui.label(format!(
        "At rest, before each cylinder's own firing TDC. Drawn: {}.",
        side_of(drawn, "TDC")
    ));
    if phasing.engine().sparks_every_turn() {
        ui.label("Each comes again on overlap, a turn on, and is wasted there.");
    }
    let caution = Palette::of(ui.ctx()).ink(Role::Caution);
    Grid::new("sparks")
        .num_columns(2)
        .spacing([10.0, 2.0])
        .show(ui, |ui| {
            for cylinder in phasing.cylinders() {
                let btdc = phasing.spark_btdc_deg(cylinder);
                let words = RichText::new(side_of(btdc, "TDC"));
                ui.label(format!("No. {}", cylinder.number));
                ui.label(if (btdc - drawn).abs() < 0.05 {
                    words
                } else {
                    words.strong().color(caution)
                });
                ui.end_row();
            }
        });
}

fn clearance(ui: &mut Ui, phasing: &Phasing) {
    let Some(gaps) = phasing.least_gaps() else {
        return;
    };
    let units = phasing.engine().written().units;
    let least_mm = |valve| least_allowed_mm(valve, units);
    for (name, valve) in [("Intake", Valve::Intake), ("Exhaust", Valve::Exhaust)] {
        gap_line(ui, phasing, name, gaps.of(valve), least_mm(valve));
    }
    let [intake, exhaust] = Valve::BOTH.map(|valve| words::length(least_mm(valve), units));
    ui.label(RichText::new(format!("Common practice: {intake} at the intake, {exhaust} at the exhaust. The engine maker's figure comes first.")).small());
}

fn gap_line(ui: &mut Ui, phasing: &Phasing, valve: &str, gap: Gap, least_mm: f64) {
    let units = phasing.engine().written().units;
    let at = side_of(360.0 - gap.crank.degrees(), "overlap TDC");
    let palette = Palette::of(ui.ctx());
    let words = if gap.gap_mm <= 0.0 {
        strong(
            ui.ctx(),
            format!("{valve}: the valve meets the piston, {at}."),
        )
        .color(palette.ink(Role::Caution))
    } else if gap.gap_mm < least_mm {
        RichText::new(format!(
            "{valve}: only {} left, {at}.",
            words::length(gap.gap_mm, units)
        ))
        .color(palette.ink(Role::Caution))
    } else {
        RichText::new(format!(
            "{valve}: {} at the least, {at}.",
            words::length(gap.gap_mm, units)
        ))
    };
    ui.add(egui::Label::new(words).wrap());
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    use super::*;
    use crate::engine::scenes;
    use crate::window::app::theme::Theme;

    fn built(scene: &str, assembly: &Assembly) -> Phasing {
        Phasing::as_built(&scenes::find(scene).expect("a scene").engine(), assembly)
    }

    /// Shows the panel, clicks, and gives the assembly that came of it.
    fn made(scene: &str, assembly: &Assembly, click: &str) -> Option<Assembly> {
        let phasing = built(scene, assembly);
        let made = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([360.0, 1400.0])
            .build_ui(|ui| {
                if let Some(assembly) = panel(ui, &phasing) {
                    made.replace(Some(assembly));
                }
            });
        harness.get_by_label(click).click();
        harness.run();
        drop(harness);
        made.into_inner()
    }

    #[test]
    fn the_camshaft_goes_a_tooth_back_and_a_tooth_ahead() {
        let drawn = Assembly::default();
        assert_eq!(
            made("bench_four", &drawn, "Camshaft: a tooth back"),
            Some(Assembly {
                cam_teeth: -1,
                ..drawn.clone()
            })
        );
        assert_eq!(
            made("bench_four", &drawn, "Camshaft: a tooth ahead"),
            Some(Assembly {
                cam_teeth: 1,
                ..drawn
            })
        );
    }

    #[test]
    fn the_drive_goes_by_its_own_teeth() {
        let drawn = Assembly::default();
        assert_eq!(
            made("bench_four", &drawn, "Distributor drive: a tooth ahead"),
            Some(Assembly {
                drive_teeth: 1,
                ..drawn
            })
        );
    }

    #[test]
    fn a_geared_shaft_and_the_tongue_in_it_are_set_apart() {
        let drawn = Assembly::default();
        let shaft = made(
            "tongue_and_shaft",
            &drawn,
            "Distributor's shaft: a tooth back",
        );
        assert_eq!(shaft.map(|made| made.drive_teeth), Some(-1));
        let tongue = made("tongue_and_shaft", &drawn, "Tongue home half a turn out");
        assert_eq!(tongue.map(|made| made.tongue_half_turn), Some(true));
    }

    #[test]
    fn everything_can_be_put_back_as_drawn() {
        let out = Assembly {
            cam_teeth: 2,
            drive_teeth: -1,
            tongue_half_turn: false,
            body_turn_deg: 5.0,
            leads: Some(vec![3, 4, 2, 1]),
            ..Assembly::default()
        };
        assert_eq!(
            made("bench_four", &out, "Put back as drawn"),
            Some(Assembly::default())
        );
    }

    #[test]
    fn all_leads_move_one_tower_on_and_back_again() {
        let on = made("bench_four", &Assembly::default(), "All one tower on").expect("an edit");
        assert_eq!(on.leads, Some(vec![2, 1, 3, 4]));
        assert_eq!(
            made("bench_four", &on, "All one tower back"),
            Some(Assembly::default())
        );
    }

    #[test]
    fn a_lead_plugged_elsewhere_changes_places_with_the_one_there() {
        let phasing = built("bench_four", &Assembly::default());
        let made = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([360.0, 1400.0])
            .build_ui(|ui| {
                if let Some(assembly) = panel(ui, &phasing) {
                    made.replace(Some(assembly));
                }
            });
        harness
            .get_by_label("Tower drawn for No. 1: lead of No. 1")
            .click();
        harness.run();
        harness.get_by_label("No. 4's lead").click();
        harness.run();
        drop(harness);
        assert_eq!(
            made.into_inner()
                .and_then(|assembly: Assembly| assembly.leads),
            Some(vec![4, 3, 1, 2])
        );
    }

    #[test]
    fn a_step_beyond_the_wheel_cannot_be_taken() {
        let phasing = built(
            "bench_four",
            &Assembly {
                cam_teeth: 49,
                ..Assembly::default()
            },
        );
        let harness = Harness::builder()
            .with_size([360.0, 1400.0])
            .build_ui(|ui| {
                panel(ui, &phasing);
            });
        assert!(
            harness
                .get_by_label("Camshaft: a tooth ahead")
                .accesskit_node()
                .is_disabled()
        );
        assert!(
            !harness
                .get_by_label("Camshaft: a tooth back")
                .accesskit_node()
                .is_disabled()
        );
    }

    #[test]
    fn a_tooth_ahead_brings_every_event_earlier_and_moves_the_spark() {
        // One tooth of 50 is 14.4° of crank; the camshaft drives the distributor, so the spark
        // comes 14.4° earlier too.
        let phasing = built(
            "bench_four",
            &Assembly {
                cam_teeth: 1,
                ..Assembly::default()
            },
        );
        let harness = Harness::builder()
            .with_size([360.0, 1400.0])
            .build_ui(|ui| {
                panel(ui, &phasing);
            });
        harness.get_by_label("Every one comes 14.4° of crank earlier than drawn.");
        assert_eq!(harness.get_all_by_label("26.4° before TDC").count(), 1);
        harness.get_by_label("2.4° before TDC");
        assert_eq!(harness.get_all_by_label("22.4° before TDC").count(), 4);
    }

    #[test]
    fn an_off_centre_tongue_is_said_to_go_home_one_way() {
        let one_way = |scene: &&scenes::Scene| {
            scene
                .engine()
                .metric()
                .distributor
                .as_ref()
                .is_some_and(|distributor| ignition::ways_to_engage(distributor) == 1)
        };
        let scene = scenes::SCENES.iter().find(one_way).expect("such a scene");
        let phasing = Phasing::as_drawn(&scene.engine());
        let harness = Harness::builder()
            .with_size([360.0, 1400.0])
            .build_ui(|ui| {
                panel(ui, &phasing);
            });
        harness.get_by_label_contains("one way only");
        assert!(
            harness
                .query_by_label("Distributor drive: a tooth ahead")
                .is_none()
        );
    }

    #[test]
    fn nothing_is_wider_than_its_pane() {
        for scene in &scenes::SCENES {
            let phasing = Phasing::as_built(
                &scene.engine(),
                &Assembly {
                    cam_teeth: -2,
                    ..Assembly::default()
                },
            );
            let wide = RefCell::new(0.0);
            let _ = Harness::builder()
                .with_size([340.0, 1400.0])
                .build_ui(|ui| {
                    Theme::default().apply(ui.ctx());
                    panel(ui, &phasing);
                    wide.replace(ui.min_rect().width());
                });
            assert!((100.0..=340.0).contains(&wide.take()), "{}", scene.name);
        }
    }
}
