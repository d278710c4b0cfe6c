//! The panel of the guided job, one step at a time: what to do, what must be seen, a caution, and
//! whether the engine stands as the step asks.

use std::collections::BTreeMap;

use egui::{Button, ComboBox, DragValue, Label, ProgressBar, RichText, ScrollArea, Ui};

use super::by_hand;
use super::by_hand::{Hand, HandResponse};
use crate::description::typed;
use crate::drawing::Role;
use crate::output::as_built;
use crate::phasing::Phasing;
use crate::procedures::job::{Blank, NotIn, Step, StepCheck, TakeOver, Walkthrough, Way, reckon};
use crate::window::app::theme::{Palette, strong};
use crate::window::panes::number_field::number_field;
use crate::window::panes::widgets;
use crate::window::session::bench::Bench;
use crate::words::{capitalised, number};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum GuideResponse {
    /// Tick this step off and go on.
    Tick,
    /// Go to another step.
    GoTo(usize),
    /// Show the place on the model.
    Show,
    /// Look at a witness of the step, by its place among them.
    Look(usize),
    /// Do something with a part.
    Hand(HandResponse),
    /// Begin, or go on: `apart`, with in what the steps done say, or with the engine as it stands.
    Begin { apart: bool },
    /// Go another way through the job.
    Go(Way),
    /// Take the tick of the step at hand back.
    Undo,
    /// Take what was measured over into the description.
    TakeOver,
    /// Forget every tick.
    BeginAgain,
}

/// What was measured at the step at hand, by the names of its blanks, in the file's units.
pub(super) type Readings = BTreeMap<String, f64>;

/// Before anything is done on the bench: how the job begins, and the engine as it stands where that
/// is preferred.
pub(super) fn start(
    ui: &mut Ui,
    walkthrough: &Walkthrough,
    phasing: &Phasing,
) -> Option<GuideResponse> {
    let done = walkthrough.done();
    let mut response = way_shown(ui, walkthrough.progress().way());
    ui.separator();
    let title = if done == 0 {
        "The job begins as on the bench"
    } else {
        "The job goes on"
    };
    ui.add(Label::new(RichText::new(title).heading()).wrap());
    let not_in = walkthrough.not_in_by_progress(phasing);
    widgets::wrapped(ui, &begins_with(phasing, &not_in, done));
    if let Some(built) = as_built::built(phasing) {
        widgets::caution(
            ui,
            &format!("The engine on the model is not as drawn. {built}"),
        );
    }
    ui.add_space(4.0);
    let is_as_drawn = phasing.assembly().is_as_drawn();
    let (apart, whole) = match (done, is_as_drawn) {
        (0, true) => ("Begin", "Go through it with the engine whole"),
        (0, false) => ("Begin from as drawn", "Go on with it as built"),
        (_, true) => ("Go on where it was left", "Go on with the engine whole"),
        (_, false) => (
            "Go on where it was left, as drawn",
            "Go on with it as built",
        ),
    };
    let begin = Button::new(RichText::new(apart).strong());
    let pressed = ui.add(begin).on_hover_text("Ctrl+Enter").clicked();
    let keyed = ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
    if pressed || keyed {
        response = Some(GuideResponse::Begin { apart: true });
    }
    if ui
        .button(whole)
        .on_hover_text("Nothing is taken out; steps are right where the engine stands so already")
        .clicked()
    {
        response = Some(GuideResponse::Begin { apart: false });
    }
    response
}

/// What of the engine is in as the job begins or goes on.
fn begins_with(phasing: &Phasing, not_in: &NotIn, done: usize) -> String {
    let engine = phasing.engine();
    let steps = match done {
        0 => String::new(),
        1 => "One step is done. ".to_owned(),
        done => format!("{done} steps are done. "),
    };
    let Some(words) = not_in.words(engine) else {
        return format!("{steps}Everything is in.");
    };
    let by_hand = "Each is put in by your hand at its own step, and can go in wrong, as it can on the bench. The model shows it so; nothing is \
        right before it was touched.";
    format!("{steps}{words} {by_hand}")
}

/// The current step of the job, and whether the engine stands as it asks.
pub(super) fn panel(
    ui: &mut Ui,
    (walkthrough, bench): (&Walkthrough, &Bench),
    readings: &mut Readings,
    verdict: &StepCheck,
    hand: Hand,
) -> Option<GuideResponse> {
    let steps = walkthrough.job().steps.len();
    let Some(step) = walkthrough.step() else {
        ui.label("This engine has no job to be guided through.");
        return None;
    };
    let done = walkthrough.done();
    ui.add(
        ProgressBar::new(done as f32 / steps.max(1) as f32)
            .corner_radius(3.0)
            .text(format!("{done} of {steps} steps done")),
    );
    let mut response = None;
    if done == steps {
        let words = walkthrough.done_words(bench.phasing());
        ui.add(Label::new(RichText::new(words).strong()).wrap());
        if ui.button("Begin again").clicked() {
            response = Some(GuideResponse::BeginAgain);
        }
    }
    // Over all that is longer at one step and shorter at another, so that they stay in their place.
    response = go_on(ui, walkthrough, step, verdict).or(response);
    response = others(ui, walkthrough, step).or(response);
    ui.separator();
    from_the_top(ui, walkthrough);
    step_shown(ui, walkthrough, step);
    verdict_shown(ui, walkthrough, step, verdict);
    let by_hand = by_hand::panel(ui, step, bench, hand);
    response = by_hand.map(GuideResponse::Hand).or(response);
    // Under what is done by hand, so that this does not move under the pointer.
    if let Some(danger) = as_built::danger(bench.phasing()) {
        widgets::caution(ui, &danger);
    }
    response = witnesses(ui, walkthrough, step).or(response);
    must_be_seen(ui, step);
    measured(ui, bench.phasing(), step, readings);
    ui.separator();
    response = list(ui, walkthrough).or(response);
    response = way_shown(ui, walkthrough.progress().way()).or(response);
    let keys = "By keys: Ctrl+Enter ticks. Ctrl with a comma or a full stop turns the wheel, the shaft or the rotor in hand, or takes the next \
        lead; Ctrl+I puts it in. Ctrl+L looks at the next witness.";
    ui.add(Label::new(RichText::new(keys).weak()).wrap());
    response
}

/// A step that is taken up is shown from its top.
fn from_the_top(ui: &mut Ui, walkthrough: &Walkthrough) {
    let id = ui.id().with("the step on top");
    let before = ui.data(|data| data.get_temp::<usize>(id));
    ui.data_mut(|data| data.insert_temp(id, walkthrough.at()));
    if before.is_some_and(|before| before != walkthrough.at()) {
        widgets::bring_into_view(ui, ui.min_rect());
    }
}

/// What must be looked at on the model, by name: a press brings the eye there.
fn witnesses(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step) -> Option<GuideResponse> {
    if step.witnesses.is_empty() {
        return None;
    }
    let needed = match step.looks_needed() {
        needed if needed == step.witnesses.len() => "all of these".to_owned(),
        needed => format!("{needed} of these"),
    };
    ui.add(
        Label::new(strong(
            ui.ctx(),
            format!("Look at {needed}, the crank at the place:"),
        ))
        .wrap(),
    );
    let mut response = None;
    for (index, witness) in step.witnesses.iter().enumerate() {
        let looked = walkthrough.state().looked_at.contains(&witness.name);
        ui.horizontal_top(|ui| {
            ui.label(if looked { "☑" } else { "☐" });
            let look = ui.button("Look");
            let name = format!("Look at {}", witness.name);
            look.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, &name));
            let hover = format!("{name}; Ctrl+L looks at the next");
            if look.on_hover_text(hover).clicked() {
                response = Some(GuideResponse::Look(index));
            }
            ui.add(Label::new(witness.must_show()).wrap());
        });
    }
    response.or_else(|| {
        let looked = &walkthrough.state().looked_at;
        let mut witnesses = step.witnesses.iter();
        let next = witnesses.position(|witness| !looked.contains(&witness.name))?;
        let key = |input: &mut egui::InputState| {
            input.consume_key(egui::Modifiers::COMMAND, egui::Key::L)
        };
        ui.input_mut(key).then_some(GuideResponse::Look(next))
    })
}

/// Which way through the job is gone.
fn way_shown(ui: &mut Ui, now: Way) -> Option<GuideResponse> {
    let mut way = now;
    ui.horizontal(|ui| {
        let label = ui.label("It is");
        let choice = ComboBox::from_id_salt("way")
            .selected_text(now.what())
            .show_ui(ui, |ui| {
                for other in Way::ALL {
                    ui.selectable_value(&mut way, other, other.what());
                }
            });
        choice.response.labelled_by(label.id);
    });
    (way != now).then_some(GuideResponse::Go(way))
}

/// What is measured at a step and written down, and what it comes to.
fn measured(ui: &mut Ui, phasing: &Phasing, step: &Step, readings: &mut Readings) {
    if step.write_down.is_empty() {
        return;
    }
    ui.label("What to write down:");
    for blank in &step.write_down {
        one_reading(ui, phasing, blank, readings);
    }
    let Some(reckoned) = reckon(step, phasing, readings) else {
        return;
    };
    let palette = Palette::of(ui.ctx());
    let ink = match reckoned.right {
        Some(true) => Role::Mark,
        Some(false) => Role::Caution,
        None => Role::Main,
    };
    for words in &reckoned.words {
        let words = RichText::new(words).color(palette.ink(ink));
        ui.add(Label::new(words).wrap());
    }
}

/// A blank: whether it was read, and what.
fn one_reading(ui: &mut Ui, phasing: &Phasing, blank: &Blank, readings: &mut Readings) {
    let units = phasing.engine().written().units;
    let allowed = blank.allowed(units);
    ui.horizontal_wrapped(|ui| {
        let was_read = readings.contains_key(blank.name);
        let mut read = was_read;
        let least = blank.range.least_in(units);
        let mut value = readings.get(blank.name).copied().unwrap_or(least.max(0.0));
        let tick = ui.checkbox(&mut read, blank.what).on_hover_text(&allowed);
        let digits = if value.abs() < 10.0 { 3 } else { 2 };
        let field = DragValue::new(&mut value)
            .clamp_existing_to_range(false)
            .range(least..=blank.range.most_in(units))
            .speed((blank.range.most_in(units) - least) / 500.0)
            .max_decimals(digits)
            .suffix(blank.range.suffix(units));
        let typed = |text: &str| typed::in_unit(&blank.range, None, units, text);
        let beyond = |value| typed::beyond(&blank.range, units, value);
        let field = if was_read {
            field
        } else {
            field.custom_formatter(|_, _| "not read".to_owned())
        };
        let response = number_field(ui, true, field, &typed, &beyond);
        response.widget_info(|| {
            egui::WidgetInfo::labeled(egui::WidgetType::DragValue, true, blank.what)
        });
        if tick.clicked() && !was_read {
            // What was read is still to be written: nothing is taken for it until then.
            response.request_focus();
        }
        if response.changed() {
            readings.insert(blank.name.to_owned(), value);
        } else if was_read && !read {
            readings.remove(blank.name);
        }
        response.on_hover_text(allowed);
    });
}

/// What to do, the caution first.
fn step_shown(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step) {
    let at = walkthrough.at();
    ui.add(Label::new(RichText::new(format!("{}. {}", at + 1, step.title)).heading()).wrap());
    if let Some(caution) = step.caution {
        widgets::caution(ui, &format!("Caution: {caution}"));
    }
    ui.add(Label::new(RichText::new(&step.action).strong()).wrap());
    if let Some(instead) = &step.instead {
        widgets::wrapped(ui, instead);
    }
    if let Some(tightening) = &step.tightening {
        widgets::wrapped(ui, &format!("Tighten to {}.", tightening.words()));
    }
}

/// What must be seen, but for the witnesses, which are looked at one by one.
fn must_be_seen(ui: &mut Ui, step: &Step) {
    let is_a_witness = |seen: &String| {
        let mut witnesses = step.witnesses.iter();
        witnesses.any(|witness| witness.must_show() == *seen)
    };
    if !step.must_be_seen.iter().all(is_a_witness) {
        ui.label("What must be seen:");
    }
    for seen in step.must_be_seen.iter().filter(|seen| !is_a_witness(seen)) {
        ui.horizontal_top(|ui| {
            ui.label("•");
            ui.add(Label::new(seen).wrap());
        });
    }
}

/// To another step, to be shown this one's place, to take its tick back.
fn others(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step) -> Option<GuideResponse> {
    let (at, steps) = (walkthrough.at(), walkthrough.job().steps.len());
    let mut response = None;
    ui.horizontal_wrapped(|ui| {
        if ui.add_enabled(at > 0, Button::new("Back")).clicked() {
            response = Some(GuideResponse::GoTo(at - 1));
        }
        if ui
            .add_enabled(at + 1 < steps, Button::new("Skip"))
            .on_hover_text("Take up the next step and leave this one open")
            .clicked()
        {
            response = Some(GuideResponse::GoTo(at + 1));
        }
        let show = ui.add_enabled(!step.is_by_hand(), Button::new("Show me"));
        if show
            .on_hover_text(
                "Sets the model to the place. It counts only once you have turned there yourself",
            )
            .clicked()
        {
            response = Some(GuideResponse::Show);
        }
        let take_back = Button::new("Take it back");
        if ui
            .add_enabled(walkthrough.progress().has(step), take_back)
            .on_hover_text("The tick stays in the build file as undone")
            .clicked()
        {
            response = Some(GuideResponse::Undo);
        }
    });
    response
}

/// Whether the engine stands right, in room enough for the longest, so that nothing below moves with
/// it. A step that is done stays done however the engine stands since.
fn verdict_shown(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step, verdict: &StepCheck) {
    const LINES: f32 = 4.0;
    let palette = Palette::of(ui.ctx());
    let done = walkthrough.progress().entry(step);
    let (words, ink) = match (done, verdict) {
        (Some(done), StepCheck::NotYet(_)) => (
            format!(
                "{}. The engine stands elsewhere now; what is done stays done.",
                capitalised(&done.words())
            ),
            Role::Mark,
        ),
        (Some(done), StepCheck::Right) => (capitalised(&format!("{}.", done.words())), Role::Mark),
        (None, StepCheck::Right) if step.is_by_hand() => (
            "For you to see: the program cannot. Look at each thing below, then tick it by hand."
                .to_owned(),
            Role::Mark,
        ),
        (None, StepCheck::Right) => (
            "Right: the engine stands so. Look at each thing below before you go on.".to_owned(),
            Role::Mark,
        ),
        (None, StepCheck::NotYet(why)) => (format!("Not yet. {why}"), Role::Caution),
    };
    let lines = if step.is_by_hand() { 2.0 } else { LINES };
    let high = lines * ui.text_style_height(&egui::TextStyle::Body);
    let width = ui.available_width();
    ui.allocate_ui(egui::vec2(width, high), |ui| {
        ui.set_min_size(egui::vec2(width, high));
        let words = RichText::new(words).strong().color(palette.ink(ink));
        widgets::said_when_it_changes(&ui.add(Label::new(words).wrap()));
    });
}

/// The tick; for a step that is done, on to the next that is open.
fn go_on(
    ui: &mut Ui,
    walkthrough: &Walkthrough,
    step: &Step,
    verdict: &StepCheck,
) -> Option<GuideResponse> {
    let done = walkthrough.progress().has(step);
    let next = walkthrough.progress().next_open(walkthrough.job());
    let (button, can, does) = match next.filter(|_| done) {
        Some(next) => ("Go to the next open step", true, GuideResponse::GoTo(next)),
        None => (
            "I have seen it: tick, and go on",
            verdict.is_right() && !done,
            GuideResponse::Tick,
        ),
    };
    let wide = ui.available_width();
    let button = Button::new(RichText::new(button).strong()).min_size(egui::vec2(wide, 0.0));
    let pressed = ui
        .add_enabled(can, button)
        .on_hover_text("Ctrl+Enter")
        .clicked();
    let keyed =
        can && ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
    (pressed || keyed).then_some(does)
}

/// What was measured and is not in the description, before and after.
pub(super) fn measured_elsewhere(ui: &mut Ui, over: &TakeOver) -> Option<GuideResponse> {
    if over.changes.is_empty() && over.not_taken.is_empty() {
        return None;
    }
    ui.separator();
    ui.label("Measured, and not what the description has:");
    for change in &over.changes {
        let before = change
            .before
            .map_or("not stated".to_owned(), |before| number(before, 3));
        let after = number(change.after, 3);
        widgets::wrapped(ui, &format!("{}: {before}, measured {after}", change.path));
    }
    for why in &over.not_taken {
        widgets::wrapped(ui, why);
    }
    let take = Button::new("Take these over into the description");
    let hover = "It is a change like any other: Undo takes it back";
    (!over.changes.is_empty() && ui.add(take).on_hover_text(hover).clicked())
        .then_some(GuideResponse::TakeOver)
}

/// Every step, ticked or open.
fn list(ui: &mut Ui, walkthrough: &Walkthrough) -> Option<GuideResponse> {
    let mut response = None;
    let id = ui.id().with("the step last shown");
    let came = ui.data(|data| data.get_temp::<usize>(id)) != Some(walkthrough.at());
    ui.data_mut(|data| data.insert_temp(id, walkthrough.at()));
    ScrollArea::vertical()
        .id_salt("all steps")
        .max_height(220.0)
        .auto_shrink([false, true])
        .show(ui, |ui| {
            let mut stage = None;
            for (index, step) in walkthrough.job().steps.iter().enumerate() {
                if stage.replace(step.stage) != Some(step.stage) {
                    ui.weak(capitalised(step.stage.phrase()));
                }
                let sign = if walkthrough.progress().has(step) {
                    "☑"
                } else {
                    "☐"
                };
                let row = ui.selectable_label(
                    index == walkthrough.at(),
                    format!("{sign} {}. {}", index + 1, step.title),
                );
                if came && index == walkthrough.at() {
                    row.scroll_to_me(Some(egui::Align::Center));
                }
                if row.clicked() {
                    response = Some(GuideResponse::GoTo(index));
                }
            }
        });
    response
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::angle::CrankAngle;
    use crate::engine::{Assembly, scenes};
    use crate::procedures::job::Progress;
    use crate::window::panes::removed_drive::DriveResponse;

    fn bench() -> Bench {
        Bench::new(&scenes::BENCH.engine(), &Assembly::default())
    }

    fn clicked(walkthrough: &Walkthrough, bench: &Bench, label: &str) -> Option<GuideResponse> {
        let received = Cell::new(None);
        let verdict = walkthrough.check(bench.phasing());
        let mut harness = Harness::builder().with_size([360.0, 900.0]).build_ui(|ui| {
            let readings = &mut Readings::new();
            let shown = (walkthrough, bench);
            let response = panel(ui, shown, readings, &verdict, Hand::default());
            if let Some(response) = response {
                received.set(Some(response));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        received.get()
    }

    fn begun(bench: &Bench) -> Walkthrough {
        Walkthrough::begin(bench.phasing(), Progress::none("x"), CrankAngle::new(0.0))
    }

    fn go_to(walkthrough: &mut Walkthrough, key: &str) {
        let steps = &walkthrough.job().steps;
        let at = steps.iter().position(|step| step.key == key);
        walkthrough.go_to(at.expect("the step"));
    }

    const TICK: &str = "I have seen it: tick, and go on";

    #[test]
    fn a_step_can_be_ticked_only_where_it_is_right() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        go_to(&mut walkthrough, "marks-meet");
        assert_eq!(
            clicked(&walkthrough, &bench, TICK),
            Some(GuideResponse::Tick)
        );
        walkthrough.turned_to(CrankAngle::new(90.0));
        assert_eq!(clicked(&walkthrough, &bench, TICK), None);
    }

    #[test]
    fn the_distributor_can_be_lifted_out_and_let_down_where_a_step_needs_it() {
        let mut bench = bench();
        let mut walkthrough = begun(&bench);
        go_to(&mut walkthrough, "rotor-home");
        let drive = |does| Some(GuideResponse::Hand(HandResponse::Drive(does)));
        assert_eq!(
            clicked(&walkthrough, &bench, "Hold the distributor over its hole"),
            drive(DriveResponse::Lift)
        );
        bench.lift_drive();
        assert_eq!(
            clicked(&walkthrough, &bench, "Let the drive down"),
            drive(DriveResponse::Seat)
        );
    }

    #[test]
    fn a_witness_is_looked_at_by_name_and_stands_once_in_the_list() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        go_to(&mut walkthrough, "firing-tdc");
        let first = walkthrough.step().expect("a step").witnesses[1].clone();
        let look = format!("Look at {}", first.name);
        assert_eq!(
            clicked(&walkthrough, &bench, &look),
            Some(GuideResponse::Look(1))
        );
        let verdict = walkthrough.check(bench.phasing());
        let harness = Harness::builder().with_size([360.0, 900.0]).build_ui(|ui| {
            let shown = (&walkthrough, &bench);
            panel(ui, shown, &mut Readings::new(), &verdict, Hand::default());
        });
        harness.get_by_label(&first.must_show());
        harness.get_by_label_contains("0 of 3 looked at");
    }

    #[test]
    fn a_step_that_is_done_stays_done_wherever_the_engine_stands_and_leads_on() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        go_to(&mut walkthrough, "marks-meet");
        assert!(walkthrough.tick(bench.phasing()));
        go_to(&mut walkthrough, "marks-meet");
        walkthrough.turned_to(CrankAngle::new(90.0));
        let next = "Go to the next open step";
        assert_eq!(
            clicked(&walkthrough, &bench, next),
            Some(GuideResponse::GoTo(0))
        );
        let verdict = walkthrough.check(bench.phasing());
        assert!(!verdict.is_right());
        let harness = Harness::builder().with_size([360.0, 900.0]).build_ui(|ui| {
            let shown = (&walkthrough, &bench);
            panel(ui, shown, &mut Readings::new(), &verdict, Hand::default());
        });
        assert!(harness.query_by_label_contains("Not yet.").is_none());
        harness.get_by_label_contains("what is done stays done");
    }

    #[test]
    fn the_job_begins_apart_or_with_the_engine_as_it_was_built() {
        let mut bench = bench();
        let walkthrough = begun(&bench);
        let press = |bench: &Bench, label: &str| {
            let mut harness = Harness::new_ui_state(
                |ui, received: &mut Option<GuideResponse>| {
                    *received = start(ui, &walkthrough, bench.phasing()).or(*received);
                },
                None,
            );
            harness.get_by_label(label).click();
            harness.run();
            *harness.state()
        };
        let apart = Some(GuideResponse::Begin { apart: true });
        assert_eq!(press(&bench, "Begin"), apart);
        bench.set_assembly(&Assembly {
            cam_teeth: 1,
            ..Assembly::default()
        });
        assert_eq!(press(&bench, "Begin from as drawn"), apart);
        assert_eq!(
            press(&bench, "Go on with it as built"),
            Some(GuideResponse::Begin { apart: false })
        );
    }

    #[test]
    fn another_step_can_be_taken_up_from_the_list() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        assert_eq!(
            clicked(&walkthrough, &bench, "☐ 2. Put each rod's own cap on it"),
            Some(GuideResponse::GoTo(1))
        );
        go_to(&mut walkthrough, "overlap-tdc");
        assert_eq!(
            clicked(&walkthrough, &bench, "Show me"),
            Some(GuideResponse::Show)
        );
    }

    #[test]
    fn what_is_measured_is_entered_at_its_step_and_what_it_comes_to_is_said() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        go_to(&mut walkthrough, "tdc-stop");
        // Stopped 21° after and 15° before the wheel's zero: true TDC is 3° past it.
        let readings = Readings::from([("a".to_owned(), 21.0), ("b".to_owned(), -15.0)]);
        let show = |ui: &mut Ui, readings: &mut Readings| {
            let verdict = walkthrough.check(bench.phasing());
            let shown = (&walkthrough, &bench);
            panel(ui, shown, readings, &verdict, Hand::default());
        };
        let mut harness = Harness::builder()
            .with_size([360.0, 1200.0])
            .build_ui_state(show, readings);
        harness.get_by_label_contains("True TDC is where the wheel reads 3°");
        let first = walkthrough.step().expect("a step").write_down[0].what;
        harness
            .get_by_role_and_label(egui::accesskit::Role::CheckBox, first)
            .click();
        harness.run();
        assert!(
            !harness.state().contains_key("a"),
            "it is not read any more"
        );
        let reckoned = harness.query_by_label_contains("True TDC is where");
        assert!(reckoned.is_none());
    }

    #[test]
    fn another_way_is_gone_and_a_tick_is_taken_back() {
        let bench = bench();
        let mut walkthrough = begun(&bench);
        assert!(
            walkthrough.tick(bench.phasing()),
            "the first is for the builder to see"
        );
        walkthrough.go_to(0);
        assert_eq!(
            clicked(&walkthrough, &bench, "Take it back"),
            Some(GuideResponse::Undo)
        );
        assert!(walkthrough.undo(0));
        assert_eq!(walkthrough.done(), 0);
        assert_eq!(walkthrough.progress().done().len(), 1, "kept as undone");
    }
}
