//! Where everything stands at this crank angle, in words that someone building their first engine
//! can compare with the engine on the bench.

use egui::{Grid, RichText, TextStyle, Ui};

use super::widgets::{
    caution, now_and_then, rests_on, room_for, section, stroke_badge, turning_caution,
};
use crate::angle::CrankAngle;
use crate::laws::ValveReading;
use crate::output::{as_built, text};
use crate::phasing::{CylinderReading, NextEvent, Phasing, READING, Reading, Stroke};
use crate::window::app::theme::strong;
use crate::words;
use crate::words::Units;
use crate::words::{by_the_tdc_mark, degrees};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum ReadoutResponse {
    /// Turn the crank there.
    TurnTo(CrankAngle),
    /// Follow this cylinder in the views that show one.
    Follow(u8),
}

/// The reading. `followed` is the cylinder that the other views show.
pub(super) fn panel(
    ui: &mut Ui,
    phasing: &Phasing,
    reading: &Reading,
    followed: u8,
) -> Option<ReadoutResponse> {
    let engine = phasing.engine();
    let danger = as_built::danger(phasing);
    now_and_then(ui, danger.is_some(), |ui| {
        caution(ui, &danger.unwrap_or_default());
    });
    room_for(ui, 2, &TextStyle::Heading, |ui| {
        ui.add(egui::Label::new(strong(ui.ctx(), text::stands(reading)).heading()).wrap());
    });
    room_for(ui, 2, &TextStyle::Body, |ui| {
        ui.label(stand_of_shafts(phasing, reading));
    });
    room_for(ui, 4, &TextStyle::Body, |ui| compression(ui, reading));
    let mut response = None;
    let units = if engine.written().units == Units::Inches {
        "Cylinders, lengths in inches"
    } else {
        "Cylinders, lengths in mm"
    };
    response = section(ui, units, |ui| {
        cylinders(ui, engine.written().units, reading, followed)
    })
    .flatten()
    .or(response);
    response = section(ui, "What comes next", |ui| coming(ui, reading))
        .flatten()
        .or(response);
    if let Some(rotor) = rotor_words(reading) {
        section(ui, "Rotor, looking down on the cap", |ui| ui.label(rotor));
    }
    if !reading.marks.is_empty() {
        section(ui, "Marks, seen from the front", |ui| {
            marks(ui, phasing, reading);
        });
    }
    rests_on(ui, engine, READING, None);
    turning_caution(ui);
    response
}

/// Crank and camshaft, and what the crank's own mark shows: it cannot tell one turn from the other.
fn stand_of_shafts(phasing: &Phasing, reading: &Reading) -> String {
    let crank = reading.crank.degrees();
    let turn = if crank < 360.0 { "first" } else { "second" };
    let cams = if phasing.engine().has_several_camshafts() {
        text::cams(phasing, reading)
    } else {
        format!("camshaft {}", degrees(reading.cam.degrees()))
    };
    format!(
        "Crank {} ({turn} turn: {}), {}.",
        degrees(crank),
        by_the_tdc_mark(crank),
        cams
    )
}

fn compression(ui: &mut Ui, reading: &Reading) {
    let on: Vec<u8> = reading.on_compression().collect();
    let felt: Vec<u8> = reading
        .cylinders
        .iter()
        .filter(|c| c.pushes_the_thumb())
        .map(|c| c.number)
        .collect();
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        stroke_badge(ui, Stroke::Compression);
        ui.label(strong(
            ui.ctx(),
            format!("On compression: {}.", words::cylinders(&on)),
        ));
    });
    let thumb = match (on.is_empty(), felt.is_empty()) {
        (true, _) => return,
        (false, true) => {
            "The intake valve is still open: a thumb over the plug hole feels nothing yet."
                .to_owned()
        }
        (false, false) => format!(
            "A thumb over the plug hole of {} is pushed off as you turn forwards.",
            words::cylinders(&felt)
        ),
    };
    ui.add(egui::Label::new(thumb).wrap());
}

fn cylinders(
    ui: &mut Ui,
    units: Units,
    reading: &Reading,
    followed: u8,
) -> Option<ReadoutResponse> {
    let mut response = None;
    Grid::new("cylinders")
        .num_columns(5)
        .spacing([5.0, 3.0])
        .striped(true)
        .show(ui, |ui| {
            ui.spacing_mut().button_padding.x = 3.0;
            for title in ["No.", "Stroke", "Down", "Intake", "Exhaust"] {
                ui.label(RichText::new(title).small().weak());
            }
            ui.end_row();
            for cylinder in &reading.cylinders {
                response = cylinder_row(ui, units, cylinder, followed).or(response);
                ui.end_row();
            }
        });
    response
}

fn cylinder_row(
    ui: &mut Ui,
    units: Units,
    cylinder: &CylinderReading,
    followed: u8,
) -> Option<ReadoutResponse> {
    let number = cylinder.number;
    let chosen = ui
        .selectable_label(number == followed, format!(" {number} "))
        .on_hover_text(format!(
            "Follow No. {number} in the degree wheel and the lift curves"
        ));
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        stroke_badge(ui, cylinder.stroke);
        let words = cylinder.dead_centre.map_or_else(
            || RichText::new(cylinder.stroke.word()),
            |at| RichText::new(at.word()).strong(),
        );
        ui.label(words).on_hover_text(text::piston(cylinder));
    });
    let down = words::length(cylinder.piston_drop_mm, units);
    ui.label(brief(cylinder.piston_drop_mm, units))
        .on_hover_text(format!(
            "The piston stands {down} below the top of its stroke"
        ));
    valve(ui, units, cylinder.intake);
    valve(ui, units, cylinder.exhaust);
    chosen.clicked().then_some(ReadoutResponse::Follow(number))
}

fn valve(ui: &mut Ui, units: Units, valve: ValveReading) {
    let lift = brief(valve.lift_mm, units);
    let words = match valve.open {
        // Off its seat by less than the table's last place.
        true if lift.parse() == Ok(0.0) => RichText::new("just open").strong(),
        true => RichText::new(format!("open {lift}")).strong(),
        false => RichText::new("shut").weak(),
    };
    ui.label(words).on_hover_text(text::valve(valve, units));
}

/// A length as short as a table's column wants it; the whole of it is in the hover.
fn brief(mm: f64, units: Units) -> String {
    let places = if units == Units::Inches { 3 } else { 1 };
    format!("{:.places$}", mm / units.millimetres())
}

fn coming(ui: &mut Ui, reading: &Reading) -> Option<ReadoutResponse> {
    let firing = one_coming(
        ui,
        reading,
        &reading.next_firing_tdc,
        "reaches its firing TDC",
    );
    let spark = reading.next_spark;
    let what = if spark.wasted {
        "gets its wasted spark"
    } else {
        "gets its spark"
    };
    let spark = NextEvent {
        cylinder: spark.cylinder,
        after: spark.after,
    };
    firing.or(one_coming(ui, reading, &spark, what))
}

fn one_coming(
    ui: &mut Ui,
    reading: &Reading,
    coming: &NextEvent,
    what: &str,
) -> Option<ReadoutResponse> {
    let words = format!(
        "No. {} {what} in {}",
        coming.cylinder,
        degrees(coming.after.degrees())
    );
    ui.button(words)
        .on_hover_text("Turn on to it, in the running direction")
        .clicked()
        .then(|| ReadoutResponse::TurnTo(reading.crank + coming.after))
}

fn rotor_words(reading: &Reading) -> Option<String> {
    let words = text::rotor(reading)?;
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

fn marks(ui: &mut Ui, phasing: &Phasing, reading: &Reading) {
    let marks = phasing.engine().written().marks.iter().enumerate();
    for ((index, mark), clock) in marks.zip(&reading.marks) {
        let pointer = text::by_the_pointer(phasing, index, reading);
        let pointer = pointer.map_or(String::new(), |by| format!("; {by}"));
        ui.label(format!(
            "{}: at {}, {}{pointer}",
            mark.name,
            degrees(clock.degrees()),
            o_clock(clock.degrees())
        ));
    }
}

/// The hour of a clock position: half an hour is fifteen degrees.
fn o_clock(clock_deg: f64) -> String {
    let half_hours = (clock_deg / 15.0).round() as u32 % 24;
    let hour = if half_hours < 2 { 12 } else { half_hours / 2 };
    if half_hours.is_multiple_of(2) {
        format!("{hour} o'clock")
    } else {
        format!("half past {hour}")
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::scenes;
    use crate::phasing::Phasing;
    use crate::window::app::theme::Theme;

    /// Shows the reading of a scene at an angle, clicks what is labelled so, and gives what was
    /// asked for.
    fn response_to(scene: &str, crank_deg: f64, click: &str) -> Option<ReadoutResponse> {
        let engine = scenes::find(scene).expect("a scene").engine();
        let reading = Phasing::as_drawn(&engine).at(CrankAngle::new(crank_deg));
        let received = Cell::new(None);
        let mut harness = Harness::builder().with_size([360.0, 700.0]).build_ui(|ui| {
            if let Some(response) = panel(ui, &Phasing::as_drawn(&engine), &reading, 1) {
                received.set(Some(response));
            }
        });
        harness.get_by_label(click).click();
        harness.run();
        drop(harness);
        received.get()
    }

    #[test]
    fn the_next_firing_tdc_can_be_turned_to() {
        let response = response_to("bench_four", 123.0, "No. 3 reaches its firing TDC in 57°");
        assert_eq!(
            response,
            Some(ReadoutResponse::TurnTo(CrankAngle::new(180.0)))
        );
    }

    #[test]
    fn the_next_spark_can_be_turned_to() {
        let response = response_to("bench_four", 123.0, "No. 3 gets its spark in 49°");
        assert_eq!(
            response,
            Some(ReadoutResponse::TurnTo(CrankAngle::new(172.0)))
        );
    }

    #[test]
    fn a_cylinder_can_be_followed_by_its_number() {
        assert_eq!(
            response_to("bench_four", 123.0, " 4 "),
            Some(ReadoutResponse::Follow(4))
        );
    }

    #[test]
    fn at_firing_tdc_the_panel_says_so_and_the_rotor_is_at_its_tower() {
        let engine = scenes::BENCH.engine();
        let reading = Phasing::as_drawn(&engine).at(CrankAngle::new(0.0));
        let harness = Harness::builder().with_size([360.0, 700.0]).build_ui(|ui| {
            panel(ui, &Phasing::as_drawn(&engine), &reading, 1);
        });
        harness.get_by_label("No. 1 at TDC, end of compression (firing). No. 3 next, in 180°.");
        harness.get_by_label("TDC firing");
        harness.get_by_label("TDC overlap");
        harness.get_by_label("Rotor at 49° on the cap, 4° past the tower of No. 1.");
        harness.get_by_label("pulley notch: at 0°, 12 o'clock");
    }

    #[test]
    fn an_engine_without_a_distributor_shows_no_rotor() {
        let bare = scenes::SCENES
            .iter()
            .find(|scene| scene.engine().written().distributor.is_none());
        let engine = bare.expect("a scene without a distributor").engine();
        let reading = Phasing::as_drawn(&engine).at(CrankAngle::new(0.0));
        let harness = Harness::new_ui(|ui| {
            panel(ui, &Phasing::as_drawn(&engine), &reading, 1);
        });
        assert!(harness.query_by_label_contains("on the cap").is_none());
    }

    #[test]
    fn nothing_is_wider_than_its_pane() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            for crank in [0.0, 123.0, 260.0] {
                let reading = Phasing::as_drawn(&engine).at(CrankAngle::new(crank));
                let wide = Cell::new(0.0);
                let _ = Harness::builder().with_size([340.0, 900.0]).build_ui(|ui| {
                    Theme::default().apply(ui.ctx());
                    panel(ui, &Phasing::as_drawn(&engine), &reading, 1);
                    wide.set(ui.min_rect().width());
                });
                assert!(
                    wide.get() <= 340.0,
                    "{} at {crank}: {}",
                    scene.name,
                    wide.get()
                );
            }
        }
    }

    #[test]
    fn what_comes_next_can_be_pressed_again_and_again_in_one_place() {
        for scene in &scenes::SCENES {
            let phasing = Phasing::as_drawn(&scene.engine());
            let show = |ui: &mut Ui, crank: &mut f64| {
                Theme::default().apply(ui.ctx());
                let reading = phasing.at(CrankAngle::new(*crank));
                panel(ui, &phasing, &reading, 1);
            };
            let mut harness = Harness::builder()
                .with_size([350.0, 900.0])
                .build_ui_state(show, 0.0);
            harness.run();
            let place =
                |harness: &Harness<'_, f64>| harness.get_by_label("What comes next").rect().top();
            let first = place(&harness);
            for crank in (0..72).map(|step| f64::from(step) * 10.0) {
                *harness.state_mut() = crank;
                harness.run();
                let now = place(&harness);
                assert_eq!(now, first, "{} at {crank}", scene.name);
            }
        }
    }

    #[test]
    fn clock_positions_are_said_by_the_hour() {
        assert_eq!(
            [
                "12 o'clock",
                "half past 12",
                "3 o'clock",
                "half past 11",
                "12 o'clock"
            ],
            [0.0, 15.0, 92.0, 345.0, 355.0]
                .map(o_clock)
                .each_ref()
                .map(String::as_str)
        );
    }
}
