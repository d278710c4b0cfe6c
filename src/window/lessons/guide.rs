//! The panel of the guided job, one step at a time: what to do, what must be seen, a caution, and
//! whether the engine stands as the step asks.

use egui::{Frame, Label, ProgressBar, RichText, ScrollArea, Ui};

use crate::drawing::Role;
use crate::procedures::job::{Condition, Step, StepCheck, Walkthrough};
use crate::window::app::theme::Palette;
use crate::window::panes::removed_drive;

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
    /// Forget every tick.
    BeginAgain,
}

/// The current step of the job, and whether the engine stands as it asks. `is_seating`: the
/// distributor's drive is on its way down.
pub(super) fn panel(
    ui: &mut Ui,
    walkthrough: &Walkthrough,
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
            .text(format!("{done} of {steps} steps done")),
    );
    let mut response = None;
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

fn step_shown(ui: &mut Ui, walkthrough: &Walkthrough, step: &Step) -> Option<GuideResponse> {
    let (at, steps) = (walkthrough.at(), walkthrough.job().steps.len());
    ui.add(Label::new(RichText::new(format!("{}. {}", at + 1, step.title)).heading()).wrap());
    if let Some(caution) = step.caution {
        caution_shown(ui, caution);
    }
    ui.add(Label::new(RichText::new(&step.action).strong()).wrap());
    ui.label("What must be seen:");
    for seen in &step.must_be_seen {
        ui.horizontal_top(|ui| {
            ui.label("•");
            ui.add(Label::new(seen).wrap());
        });
    }
    let mut response = None;
    ui.horizontal(|ui| {
        if ui.add_enabled(at > 0, egui::Button::new("Back")).clicked() {
            response = Some(GuideResponse::GoTo(at - 1));
        }
        if ui
            .add_enabled(at + 1 < steps, egui::Button::new("Skip"))
            .on_hover_text("Take up the next step and leave this one open")
            .clicked()
        {
            response = Some(GuideResponse::GoTo(at + 1));
        }
        if ui
            .button("Show me")
            .on_hover_text(
                "Sets the model to the place. It counts only once you have turned there yourself",
            )
            .clicked()
        {
            response = Some(GuideResponse::Show);
        }
    });
    response
}

/// A caution, in a frame of its own.
fn caution_shown(ui: &mut Ui, caution: &str) {
    let palette = Palette::of(ui.ctx());
    Frame::new()
        .fill(palette.caution_ground)
        .inner_margin(6)
        .corner_radius(4)
        .show(ui, |ui| {
            ui.add(
                Label::new(
                    RichText::new(format!("Caution: {caution}")).color(palette.ink(Role::Caution)),
                )
                .wrap(),
            );
        });
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
            let words = if ticked {
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
    let button = egui::Button::new(RichText::new("I have seen it: tick, and go on").strong());
    let pressed = ui
        .add_enabled(verdict.is_right(), button)
        .on_hover_text("Ctrl+Enter")
        .clicked();
    let keyed = verdict.is_right()
        && ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
    (pressed || keyed).then_some(GuideResponse::Tick)
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
            for (index, step) in walkthrough.job().steps.iter().enumerate() {
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
            if let Some(response) = panel(ui, walkthrough, &verdict, false) {
                received.set(Some(response));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        received.get()
    }

    const TICK: &str = "I have seen it: tick, and go on";

    #[test]
    fn a_step_can_be_ticked_only_where_it_is_right() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walkthrough =
            Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
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
        walkthrough.go_to(
            walkthrough
                .job()
                .steps
                .iter()
                .position(|step| step.key == "rotor-home")
                .expect("the step"),
        );
        assert_eq!(
            clicked(&walkthrough, &phasing, "Lift the distributor out"),
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
        let walkthrough = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        assert_eq!(
            clicked(
                &walkthrough,
                &phasing,
                "☐ 2. Meet the wrong top dead centre first"
            ),
            Some(GuideResponse::GoTo(1))
        );
        assert_eq!(
            clicked(&walkthrough, &phasing, "Show me"),
            Some(GuideResponse::Show)
        );
    }
}
