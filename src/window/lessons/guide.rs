//! One step of the guided job at a time: what to do, what must be seen, a caution, and whether it
//! is right yet.

use egui::{Frame, Label, ProgressBar, RichText, ScrollArea, Ui};

use crate::drawing::Role;
use crate::procedures::job::progress::Walkthrough;
use crate::procedures::job::{Condition, Step, StepCheck};
use crate::window::app::theme::Palette;
use crate::window::panes::removed_drive;

/// What the builder's hands did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GuideResponse {
    /// Tick this step off and go on.
    Tick,
    /// Take up another step.
    GoTo(usize),
    /// Show the place on the model.
    Show,
    /// Take hold of the distributor's drive.
    Drive(removed_drive::DriveResponse),
    /// Forget every tick.
    BeginAgain,
}

/// The job at the step at hand, with what the library says of how the engine stands. `sinking`: the
/// drive is on its way home.
pub fn panel(
    ui: &mut Ui,
    walk: &Walkthrough,
    verdict: &StepCheck,
    sinking: bool,
) -> Option<GuideResponse> {
    let steps = walk.job().steps.len();
    let Some(step) = walk.step() else {
        ui.label("This engine has no job to be guided through.");
        return None;
    };
    let done = walk.done();
    ui.add(
        ProgressBar::new(done as f32 / steps.max(1) as f32)
            .text(format!("{done} of {steps} steps done")),
    );
    let mut ask = None;
    if done == steps {
        ui.add(
            Label::new(RichText::new("The job is done: every step was seen to be right.").strong())
                .wrap(),
        );
        if ui.button("Begin again").clicked() {
            ask = Some(GuideResponse::BeginAgain);
        }
    }
    ui.separator();
    ask = step_shown(ui, walk, step).or(ask);
    if matches!(
        step.right,
        Condition::RotorHeld(_) | Condition::RotorHome(_)
    ) || walk.stand().rotor_held.is_some()
    {
        // Where the rotor must start is found before the drive is let down.
        let may_go_down = !matches!(step.right, Condition::RotorHeld(_));
        ask = removed_drive::panel(ui, walk.stand().rotor_held, sinking, may_go_down)
            .map(GuideResponse::Drive)
            .or(ask);
    }
    ask = verdict_shown(ui, walk, step, verdict).or(ask);
    ui.separator();
    list(ui, walk).or(ask)
}

fn step_shown(ui: &mut Ui, walk: &Walkthrough, step: &Step) -> Option<GuideResponse> {
    let (at, steps) = (walk.at(), walk.job().steps.len());
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
    let mut ask = None;
    ui.horizontal(|ui| {
        if ui.add_enabled(at > 0, egui::Button::new("Back")).clicked() {
            ask = Some(GuideResponse::GoTo(at - 1));
        }
        if ui
            .add_enabled(at + 1 < steps, egui::Button::new("Skip"))
            .on_hover_text("Take up the next step and leave this one open")
            .clicked()
        {
            ask = Some(GuideResponse::GoTo(at + 1));
        }
        if ui
            .button("Show me")
            .on_hover_text(
                "Sets the model to the place. It counts only once you have turned there yourself",
            )
            .clicked()
        {
            ask = Some(GuideResponse::Show);
        }
    });
    ask
}

/// A caution, set off from what is round it.
pub fn caution_shown(ui: &mut Ui, caution: &str) {
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
    walk: &Walkthrough,
    step: &Step,
    verdict: &StepCheck,
) -> Option<GuideResponse> {
    let palette = Palette::of(ui.ctx());
    let ticked = walk.progress().has(step);
    match verdict {
        StepCheck::Condition => {
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
fn list(ui: &mut Ui, walk: &Walkthrough) -> Option<GuideResponse> {
    let mut ask = None;
    let id = ui.id().with("the step last shown");
    let came = ui.data(|data| data.get_temp::<usize>(id)) != Some(walk.at());
    ui.data_mut(|data| data.insert_temp(id, walk.at()));
    ScrollArea::vertical()
        .id_salt("all steps")
        .max_height(220.0)
        .auto_shrink([false, true])
        .show(ui, |ui| {
            for (index, step) in walk.job().steps.iter().enumerate() {
                let sign = if walk.progress().has(step) {
                    "☑"
                } else {
                    "☐"
                };
                let row = ui.selectable_label(
                    index == walk.at(),
                    format!("{sign} {}. {}", index + 1, step.title),
                );
                if came && index == walk.at() {
                    row.scroll_to_me(Some(egui::Align::Center));
                }
                if row.clicked() {
                    ask = Some(GuideResponse::GoTo(index));
                }
            }
        });
    ask
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

    fn clicked(walk: &Walkthrough, phasing: &Phasing, label: &str) -> Option<GuideResponse> {
        let asked = Cell::new(None);
        let verdict = walk.verdict(phasing);
        let mut harness = Harness::builder().with_size([360.0, 900.0]).build_ui(|ui| {
            if let Some(ask) = panel(ui, walk, &verdict, false) {
                asked.set(Some(ask));
            }
        });
        harness.get_by_label(label).click();
        harness.run();
        drop(harness);
        asked.get()
    }

    const TICK: &str = "I have seen it: tick, and go on";

    #[test]
    fn a_step_can_be_ticked_only_where_it_is_right() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        assert_eq!(clicked(&walk, &phasing, TICK), Some(GuideResponse::Tick));
        walk.turned_to(CrankAngle::new(90.0));
        assert_eq!(clicked(&walk, &phasing, TICK), None);
    }

    #[test]
    fn the_distributor_can_be_lifted_out_where_a_step_needs_it() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        walk.go_to(
            walk.job()
                .steps
                .iter()
                .position(|step| step.key == "rotor-home")
                .expect("the step"),
        );
        assert_eq!(
            clicked(&walk, &phasing, "Lift the distributor out"),
            Some(GuideResponse::Drive(removed_drive::DriveResponse::Lift))
        );
        walk.rotor_is_held(Some(Clock::new(49.0)));
        assert_eq!(
            clicked(&walk, &phasing, "Let the drive down"),
            Some(GuideResponse::Drive(removed_drive::DriveResponse::LetDown))
        );
    }

    #[test]
    fn another_step_can_be_taken_up_from_the_list() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        assert_eq!(
            clicked(&walk, &phasing, "☐ 2. Meet the wrong top dead centre first"),
            Some(GuideResponse::GoTo(1))
        );
        assert_eq!(
            clicked(&walk, &phasing, "Show me"),
            Some(GuideResponse::Show)
        );
    }
}
