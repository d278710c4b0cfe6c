//! The proof: how much of it there is, and the looks that are still to be taken, each to be entered
//! with one click where it is right.

use std::f32::consts::TAU;

use egui::{Button, Frame, Pos2, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, vec2};

use super::widgets::{caution, rests_on, section, turning_caution, wrapped};
use crate::angle::CrankAngle;
use crate::diagnosis::proof::{Proof, ProofLook, clamp_taken};
use crate::diagnosis::{Observations, SUBJECTS, fault};
use crate::drawing::Role;
use crate::engine::Engine;
use crate::output::as_built;
use crate::phasing::Phasing;
use crate::window::app::theme::{Palette, strong};
use crate::words::{capitalised, counted};

/// Ways that are not told apart here, told one by one.
const MOST_HIDDEN: usize = 5;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum ProofEdit {
    /// The look was taken, and it is right.
    Right(Box<ProofLook>),
    /// The look was taken, and it is not so, or not quite: it is entered by hand.
    EnterAt(f64),
    /// Turn the model there.
    TurnTo(CrankAngle),
    /// Write the closing record.
    Record,
}

/// The proof of an engine as far as it has got, once it is worked out, going on from what was seen.
/// Where valves meet pistons as drawn there is none, for no look may be taken that turns the crank.
pub(super) fn panel(
    ui: &mut Ui,
    drawn: &Phasing,
    proof: Option<&Proof>,
    seen: &Observations,
) -> Option<ProofEdit> {
    let engine = drawn.engine();
    if let Some(danger) = as_built::danger(drawn) {
        caution(ui, &danger);
    }
    if let Some(first) = as_built::instead_of_steps(drawn) {
        wrapped(ui, &first);
        return None;
    }
    wrapped(
        ui,
        "The fewest looks after which nothing but as drawn is left. Take each on your engine, and say whether it is so.",
    );
    turning_caution(ui);
    let Some(proof) = proof else {
        wrapped(ui, "Searching for the fewest looks…");
        return None;
    };
    ui.horizontal(|ui| {
        ring(ui, proof.done());
        ui.vertical(|ui| {
            ui.add(egui::Label::new(strong(ui.ctx(), headline(proof))).wrap());
            wrapped(ui, &left(proof, *seen != Observations::default()));
        });
    });
    let mut edit = None;
    for (index, look) in proof.looks.iter().enumerate() {
        ui.push_id(index, |ui| edit = one(ui, index, look).or(edit.take()));
    }
    hidden(ui, engine, proof);
    let clamp = clamp_taken(engine, seen, &proof.looks);
    rests_on(ui, engine, SUBJECTS, clamp);
    let record = ui.button("Write the closing record…").on_hover_text(
        "On paper: what was seen, the looks still to take, torques and readings, to be signed",
    );
    if record.clicked() {
        edit = Some(ProofEdit::Record);
    }
    edit
}

fn headline(proof: &Proof) -> String {
    let phrase = proof.stage.phrase();
    if !proof.can_be_right {
        return "What was seen rules out that all is as drawn.".to_owned();
    }
    match (proof.looks.len(), proof.cannot_tell_here.is_empty()) {
        (0, true) => "Proved: nothing but as drawn is left.".to_owned(),
        (0, false) => format!("All that can be told {phrase} is told."),
        (1, _) => format!("One look to go, {phrase}."),
        (count, _) => format!("{count} looks to go, {phrase}."),
    }
}

/// How many ways are left, of how many.
fn left(proof: &Proof, begun: bool) -> String {
    if !proof.can_be_right {
        return "What do you see? says what is out, and what would put it right.".to_owned();
    }
    let ways = capitalised(&counted(proof.ways, "way", "ways"));
    if begun {
        format!("{ways} of {} left, as drawn among them.", proof.tried)
    } else {
        format!("{ways} it could have gone together.")
    }
}

/// A look: where, at what, what is right, and what came of it.
fn one(ui: &mut Ui, index: usize, look: &ProofLook) -> Option<ProofEdit> {
    let palette = Palette::of(ui.ctx());
    let frame = Frame::new()
        .fill(palette.field)
        .stroke(Stroke::new(1.0, palette.line))
        .inner_margin(6)
        .corner_radius(4);
    let mut edit = None;
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let place = capitalised(&look.place_words());
        let words = format!("{}. {place}: {}", index + 1, look.look);
        ui.add(egui::Label::new(strong(ui.ctx(), words)).wrap());
        wrapped(ui, &format!("Right is: {}.", look.right));
        ui.horizontal_wrapped(|ui| {
            let show = format!("Show look {} on the model", index + 1);
            if look.turns_the_crank() && named(ui, "Show it", &show) {
                edit = Some(ProofEdit::TurnTo(look.crank));
            }
            // They are taken in this order: what the first shows may change the rest.
            if index > 0 {
                return;
            }
            if named(ui, "It is so", "The first look is right") {
                edit = Some(ProofEdit::Right(Box::new(look.clone())));
            }
            if look.turns_the_crank() && named(ui, "It is not", "Enter what the first look shows") {
                edit = Some(ProofEdit::EnterAt(look.crank_deg));
            }
        });
    });
    edit
}

/// A small button that a screen reader calls by a longer name; whether it was clicked.
fn named(ui: &mut Ui, words: &str, name: &str) -> bool {
    let response = ui.add(Button::new(words).small());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name));
    response.on_hover_text(name).clicked()
}

/// What no look here can tell from as drawn.
fn hidden(ui: &mut Ui, engine: &Engine, proof: &Proof) {
    if proof.cannot_tell_here.is_empty() {
        return;
    }
    section(ui, "Not told apart at this stage", |ui| {
        for (assembly, stage) in proof.cannot_tell_here.iter().take(MOST_HIDDEN) {
            let when = stage.map_or("No look tells it apart.".to_owned(), |stage| {
                format!("It shows {}.", stage.phrase())
            });
            wrapped(ui, &format!("{} {when}", fault::describe(engine, assembly)));
        }
        let more = proof.cannot_tell_here.len().saturating_sub(MOST_HIDDEN);
        if more > 0 {
            wrapped(ui, &format!("And {more} more."));
        }
    });
}

/// A ring that is as full as `done`, of 0 to 1, with the share in figures within it.
fn ring(ui: &mut Ui, done: f64) {
    const SIDE: f32 = 56.0;
    const WIDE: f32 = 8.0;
    const STEPS: f64 = 64.0;
    let (rect, response) = ui.allocate_exact_size(vec2(SIDE, SIDE), Sense::hover());
    // Full only where nothing else is left.
    let percent = (done * 100.0).floor();
    let name = format!("Proved: {percent} %");
    response.widget_info(|| WidgetInfo::labeled(WidgetType::ProgressIndicator, true, &name));
    if !ui.is_rect_visible(rect) {
        return;
    }
    let palette = Palette::of(ui.ctx());
    let (middle, radius) = (rect.center(), (SIDE - WIDE) / 2.0);
    let painter = ui.painter();
    painter.circle_stroke(middle, radius, Stroke::new(WIDE, palette.line));
    let at = |step: usize| {
        let share = (step as f64 / STEPS).min(done) as f32;
        let (sin, cos) = (share * TAU).sin_cos();
        Pos2::new(middle.x + radius * sin, middle.y - radius * cos)
    };
    let points: Vec<Pos2> = (0..=(done * STEPS).ceil() as usize).map(at).collect();
    if points.len() > 1 {
        let pen = Stroke::new(WIDE, palette.ink(Role::Now));
        painter.add(Shape::line(points, pen));
    }
    painter.text(
        middle,
        egui::Align2::CENTER_CENTER,
        format!("{percent} %"),
        egui::TextStyle::Small.resolve(ui.style()),
        ui.visuals().strong_text_color(),
    );
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::diagnosis::proof::prove;
    use crate::diagnosis::stage::Stage;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;
    use crate::window::app::theme::Theme;

    fn clicked(proof: &Proof, label: &str) -> Option<ProofEdit> {
        let drawn = Phasing::as_drawn(&BENCH.engine());
        let edit = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([380.0, 1400.0])
            .build_ui(|ui| {
                let nothing = Observations::default();
                if let Some(made) = panel(ui, &drawn, Some(proof), &nothing) {
                    edit.replace(Some(made));
                }
            });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        edit.into_inner()
    }

    #[test]
    fn the_looks_entered_as_right_one_after_another_fill_the_ring() {
        let engine = BENCH.engine();
        let mut seen = Observations::default();
        let mut done = Vec::new();
        for _ in 0..8 {
            let proof = prove(&engine, &seen, Stage::CoverOff, &[]);
            done.push(proof.done());
            if proof.looks.is_empty() {
                assert_eq!(proof.ways, 1);
                break;
            }
            let Some(ProofEdit::Right(look)) = clicked(&proof, "The first look is right") else {
                panic!("the first look is entered")
            };
            look.enter(&mut seen);
        }
        assert!(done.first().is_some_and(|done| *done == 0.0), "{done:?}");
        assert!(done.last().is_some_and(|done| *done == 1.0), "{done:?}");
        assert!(done.is_sorted(), "{done:?}");
    }

    #[test]
    fn a_look_is_shown_on_the_model_on_the_turn_it_belongs_to() {
        let nothing = Observations::default();
        let proof = prove(&BENCH.engine(), &nothing, Stage::CoverOff, &[]);
        let first = proof.looks.first().expect("a look");
        assert_eq!(
            clicked(&proof, "Show look 1 on the model"),
            Some(ProofEdit::TurnTo(first.crank))
        );
        assert_eq!(
            clicked(&proof, "Enter what the first look shows"),
            Some(ProofEdit::EnterAt(first.crank_deg))
        );
    }

    #[test]
    fn nothing_is_wider_than_its_pane() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            for stage in Stage::ALL {
                let proof = prove(&engine, &Observations::default(), stage, &[]);
                let wide = RefCell::new(0.0);
                let _ = Harness::builder()
                    .with_size([340.0, 1400.0])
                    .build_ui(|ui| {
                        Theme::default().apply(ui.ctx());
                        let drawn = Phasing::as_drawn(&engine);
                        panel(ui, &drawn, Some(&proof), &Observations::default());
                        wide.replace(ui.min_rect().width());
                    });
                assert!((100.0..=340.0).contains(&wide.take()), "{}", scene.name);
            }
        }
    }

    #[test]
    fn where_valves_meet_pistons_as_drawn_no_look_turns_the_crank() {
        let mut described = BENCH.engine().written().clone();
        if let Some(measured) = &mut described.clearance {
            measured.intake_drop = 0.05;
        }
        let (engine, _) = Engine::new(described).expect("an engine");
        let drawn = Phasing::as_drawn(&engine);
        assert!(drawn.valve_clearance().meets());
        let nothing = Observations::default();
        let proof = prove(&engine, &nothing, Stage::CoverOff, &[]);
        let harness = Harness::builder()
            .with_size([380.0, 900.0])
            .build_ui(|ui| drop(panel(ui, &drawn, Some(&proof), &nothing)));
        harness.get_by_label_contains("No step that turns the crank is given");
        assert!(harness.query_by_label("The first look is right").is_none());
        assert!(harness.query_by_label("Show look 1 on the model").is_none());
    }
}
