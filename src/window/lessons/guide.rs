//! The panel of the guided job, one step at a time: what to do, what must be seen, a caution, and
//! whether the engine stands as the step asks.

use std::collections::BTreeMap;

use egui::{Button, ComboBox, DragValue, Label, ProgressBar, RichText, ScrollArea, Ui};

use crate::drawing::Role;
use crate::phasing::Phasing;
use crate::procedures::job::{
    Blank, Condition, Step, StepCheck, TakeOver, Walkthrough, Way, reckon,
};
use crate::window::app::theme::Palette;
use crate::window::panes::{removed_drive, widgets};
use crate::words::{capitalised, number};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum GuideResponse {
    /// Tick this step off and go on.
    Tick,
    /// Go to another step.
    GoTo(usize),
    /// Show the place on the model.
    Show,
    /// Lift, turn or seat the distributor's drive.
    Drive(removed_drive::DriveResponse),
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

/// The current step of the job, and whether the engine stands as it asks. `is_seating`: the
/// distributor's drive is on its way down.
pub(super) fn panel(
    ui: &mut Ui,
    (walkthrough, phasing): (&Walkthrough, &Phasing),
    readings: &mut Readings,
    verdict: &StepCheck,
    is_seating: bool,
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
    let mut response = way_shown(ui, walkthrough.progress().way());
    if done == steps {
        ui.add(
            Label::new(RichText::new("The job is done: every step was seen to be right.").strong())
                .wrap(),
        );
        if ui.button("Begin again").clicked() {
            response = Some(GuideResponse::BeginAgain);
        }
    }
    ui.separator();
    response = step_shown(ui, walkthrough, step).or(response);
    measured(ui, phasing, step, readings);
    if matches!(
        step.right,
        Condition::RotorHeld(_) | Condition::RotorSeated(_)
    ) || walkthrough.state().rotor_held.is_some()
    {
        // Where the rotor must start is found before the drive is let down.
        let may_be_seated = !matches!(step.right, Condition::RotorHeld(_));
        response = removed_drive::panel(
            ui,
            walkthrough.state().rotor_held,
            is_seating,
            may_be_seated,
        )
        .map(GuideResponse::Drive)
        .or(response);
    }
    response = verdict_shown(ui, walkthrough, step, verdict).or(response);
    ui.separator();
    list(ui, walkthrough).or(response)
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
        let mut read = readings.contains_key(blank.name);
        let least = blank.range.least_in(units);
        let mut value = readings.get(blank.name).copied().unwrap_or(least.max(0.0));
        ui.checkbox(&mut read, blank.what).on_hover_text(&allowed);
        let digits = if value.abs() < 10.0 { 3 } else { 2 };
        let field = DragValue::new(&mut value)
            .clamp_existing_to_range(false)
            .range(least..=blank.range.most_in(units))
            .speed((blank.range.most_in(units) - least) / 500.0)
            .max_decimals(digits)
            .suffix(blank.range.suffix(units));
        let response = ui.add_enabled(read, field);
        response.widget_info(|| {
            egui::WidgetInfo::labeled(egui::WidgetType::DragValue, read, blank.what)
        });
        response.on_hover_text(allowed);
        if read {
            readings.insert(blank.name.to_owned(), value);
        } else {
            readings.remove(blank.name);
        }
    });
}

fn step_shown(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step) -> Option<GuideResponse> {
    let (at, steps) = (walkthrough.at(), walkthrough.job().steps.len());
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
    if !step.must_be_seen.is_empty() {
        ui.label("What must be seen:");
    }
    for seen in &step.must_be_seen {
        ui.horizontal_top(|ui| {
            ui.label("•");
            ui.add(Label::new(seen).wrap());
        });
    }
    let mut response = None;
    ui.horizontal(|ui| {
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
        if walkthrough.progress().has(step)
            && ui
                .button("Take it back")
                .on_hover_text("The tick stays in the build file as undone")
                .clicked()
        {
            response = Some(GuideResponse::Undo);
        }
    });
    response
}

fn verdict_shown(
    ui: &mut Ui,
    walkthrough: &Walkthrough,
    step: &Step,
    verdict: &StepCheck,
) -> Option<GuideResponse> {
    let palette = Palette::of(ui.ctx());
    let ticked = walkthrough.progress().has(step);
    match verdict {
        StepCheck::Right => {
            let words = if step.is_by_hand() {
                if ticked {
                    "Ticked by hand: the program cannot see this."
                } else {
                    "For you to see: the program cannot. Look at each thing above, then tick it by hand."
                }
            } else if ticked {
                "Right, and ticked."
            } else {
                "Right: the engine stands so. Look at each thing above before you go on."
            };
            ui.add(Label::new(RichText::new(words).strong().color(palette.ink(Role::Mark))).wrap());
        }
        StepCheck::NotYet(why) => {
            ui.add(
                Label::new(
                    RichText::new(format!("Not yet. {why}")).color(palette.ink(Role::Caution)),
                )
                .wrap(),
            );
        }
    }
    let button = Button::new(RichText::new("I have seen it: tick, and go on").strong());
    let pressed = ui
        .add_enabled(verdict.is_right(), button)
        .on_hover_text("Ctrl+Enter")
        .clicked();
    let keyed = verdict.is_right()
        && ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
    (pressed || keyed).then_some(GuideResponse::Tick)
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
    use crate::angle::{Clock, CrankAngle};
    use crate::engine::scenes;
    use crate::phasing::Phasing;
    use crate::procedures::job::Progress;

    fn clicked(walkthrough: &Walkthrough, phasing: &Phasing, label: &str) -> Option<GuideResponse> {
        let received = Cell::new(None);
        let verdict = walkthrough.check(phasing);
        let mut harness = Harness::builder().with_size([360.0, 900.0]).build_ui(|ui| {
            let readings = &mut Readings::new();
            let response = panel(ui, (walkthrough, phasing), readings, &verdict, false);
            if let Some(response) = response {
                received.set(Some(response));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        received.get()
    }

    fn go_to(walkthrough: &mut Walkthrough, key: &str) {
        let steps = &walkthrough.job().steps;
        let at = steps.iter().position(|step| step.key == key);
        walkthrough.go_to(at.expect("the step"));
    }

    const TICK: &str = "I have seen it: tick, and go on";

    #[test]
    fn a_step_can_be_ticked_only_where_it_is_right() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walkthrough, "marks-meet");
        assert_eq!(
            clicked(&walkthrough, &phasing, TICK),
            Some(GuideResponse::Tick)
        );
        walkthrough.turned_to(CrankAngle::new(90.0));
        assert_eq!(clicked(&walkthrough, &phasing, TICK), None);
    }

    #[test]
    fn the_distributor_can_be_lifted_out_where_a_step_needs_it() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walkthrough, "rotor-home");
        assert_eq!(
            clicked(&walkthrough, &phasing, "Hold the distributor over its hole"),
            Some(GuideResponse::Drive(removed_drive::DriveResponse::Lift))
        );
        walkthrough.rotor_is_held(Some(Clock::new(49.0)));
        assert_eq!(
            clicked(&walkthrough, &phasing, "Let the drive down"),
            Some(GuideResponse::Drive(removed_drive::DriveResponse::Seat))
        );
    }

    #[test]
    fn another_step_can_be_taken_up_from_the_list() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        assert_eq!(
            clicked(&walkthrough, &phasing, "☐ 2. Put each rod's own cap on it"),
            Some(GuideResponse::GoTo(1))
        );
        go_to(&mut walkthrough, "overlap-tdc");
        assert_eq!(
            clicked(&walkthrough, &phasing, "Show me"),
            Some(GuideResponse::Show)
        );
    }

    #[test]
    fn what_is_measured_is_entered_at_its_step_and_what_it_comes_to_is_said() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walkthrough, "tdc-stop");
        // Stopped 21° after and 15° before the wheel's zero: true TDC is 3° past it.
        let readings = Readings::from([("a".to_owned(), 21.0), ("b".to_owned(), -15.0)]);
        let show = |ui: &mut Ui, readings: &mut Readings| {
            let verdict = walkthrough.check(&phasing);
            panel(ui, (&walkthrough, &phasing), readings, &verdict, false);
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
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        assert!(
            walkthrough.tick(&phasing),
            "the first is for the builder to see"
        );
        walkthrough.go_to(0);
        assert_eq!(
            clicked(&walkthrough, &phasing, "Take it back"),
            Some(GuideResponse::Undo)
        );
        assert!(walkthrough.undo(0));
        assert_eq!(walkthrough.done(), 0);
        assert_eq!(walkthrough.progress().done().len(), 1, "kept as undone");
    }
}
