//! The strip along the bottom: where the crank stands, and the controls that turn it.

use bevy::prelude::*;
use egui::{RichText, Ui};

use super::{AddPane, Pane, Slot, always};
use crate::angle::CrankAngle;
use crate::drawing::Role;
use crate::window::app::theme::{Palette, Theme};
use crate::window::input::crank::CrankInput;
use crate::window::session::bench::Bench;
use crate::window::session::open_question::answers_may_be_seen;

/// The crank's strip of controls.
pub(crate) struct CrankStripPlugin;

impl Plugin for CrankStripPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<TypedDegrees>();
        app.add_pane(Pane {
            title: "Crank",
            slot: Slot::Bottom,
            there: always,
            show: strip,
        });
    }
}

/// The crank angle being typed.
#[derive(Resource, Default)]
struct TypedDegrees(String);

fn strip(ui: &mut Ui, world: &mut World) {
    // Without its camshaft no engine is on one turn or the other.
    let cam_is_out = world.resource::<Bench>().apart().has_cam_out();
    let by_the_mark = cam_is_out || !answers_may_be_seen(world);
    world.resource_scope(|world, mut input: Mut<CrankInput>| {
        world.resource_scope(|world, mut typed: Mut<TypedDegrees>| {
            let mut bench = world.resource_mut::<Bench>();
            let from_deg = bench.turned_deg();
            ui.horizontal_wrapped(|ui| {
                let bench = bench.bypass_change_detection();
                dead_centres(ui, &mut input, bench);
                ui.separator();
                angle(ui, &mut input, bench, &mut typed.0, by_the_mark);
                ui.separator();
                running(ui, &mut input, bench);
                undo(ui, &mut input, bench);
            });
            if bench.turned_deg() != from_deg {
                bench.set_changed();
            }
            slack(ui, &bench);
        });
    });
}

/// Buttons from dead centre to dead centre.
fn dead_centres(ui: &mut Ui, input: &mut CrankInput, bench: &mut Bench) {
    let button =
        |ui: &mut Ui, words: &str, key: &str| ui.button(words).on_hover_text(key).clicked();
    if button(ui, "◀ Previous dead centre", "Page Down")
        && let Some(to) = bench.dead_centres().previous(bench.turned_deg())
    {
        input.pose_to(bench, to);
    }
    if button(ui, "Next dead centre ▶", "Page Up")
        && let Some(to) = bench.dead_centres().next(bench.turned_deg())
    {
        input.pose_to(bench, to);
    }
}

/// Where the crank stands, and a field to type where it is to be turned to. While a question is open,
/// or the camshaft is out, the angle is shown `by_the_mark` alone.
fn angle(
    ui: &mut Ui,
    input: &mut CrankInput,
    bench: &mut Bench,
    typed: &mut String,
    by_the_mark: bool,
) {
    let (shown, hover) = match by_the_mark {
        true => (
            bench.crank().by_the_mark(),
            "Past No. 1's mark: it cannot tell the turn",
        ),
        false => (bench.crank().degrees(), "From No. 1's firing TDC"),
    };
    ui.label(RichText::new(format!("{shown:.1}°")).strong().monospace())
        .on_hover_text(hover);
    let field = egui::TextEdit::singleline(typed)
        .desired_width(62.0 * Theme::of(ui.ctx()).type_size.times())
        .hint_text("degrees");
    let entered = ui
        .add(field)
        .on_hover_text("Crank degrees from No. 1's firing TDC; Enter turns on to it");
    if entered.lost_focus()
        && ui.input(|input| input.key_pressed(egui::Key::Enter))
        && let Ok(degrees) = typed.trim().trim_end_matches('°').parse::<f64>()
        && degrees.is_finite()
    {
        let turn = bench.crank().on_to(CrankAngle::new(degrees));
        input.pose_to(bench, bench.turned_deg() + turn.degrees());
        typed.clear();
    }
}

/// Whether the crank turns by itself, how fast, and whether a drag stops at detents.
fn running(ui: &mut Ui, input: &mut CrankInput, bench: &Bench) {
    let words = if input.running { "Stop" } else { "Run slowly" };
    if ui.button(words).on_hover_text("Space").clicked() {
        input.toggle_running(bench);
    }
    ui.add(
        egui::Slider::new(&mut input.turns_a_minute, 0.5..=120.0)
            .logarithmic(true)
            .suffix(" rpm")
            .fixed_decimals(1),
    );
    ui.checkbox(&mut input.detents, "Detents")
        .on_hover_text("A drag stops lightly at dead centres and where the dots meet");
}

/// Undo and redo of turns.
fn undo(ui: &mut Ui, input: &mut CrankInput, bench: &mut Bench) {
    let button = |ui: &mut Ui, words: &str, hover: &str, enabled: bool| {
        ui.add_enabled(enabled, egui::Button::new(words))
            .on_hover_text(hover)
            .clicked()
    };
    let now_deg = bench.turned_deg();
    let can_undo = input.history.can_undo();
    let to = if button(
        ui,
        "Undo turn",
        "Back to where the crank stood before",
        can_undo,
    ) {
        input.history.undo(now_deg)
    } else if button(
        ui,
        "Redo turn",
        "On again to where it stood",
        input.history.can_redo(),
    ) {
        input.history.redo(now_deg)
    } else {
        None
    };
    if let Some(to) = to {
        input.running = false;
        bench.pose_to(to);
    }
}

/// Says when the slack lies on the wrong side.
fn slack(ui: &mut Ui, bench: &Bench) {
    let palette = Palette::of(ui.ctx());
    let words = if bench.slack().is_wrong() {
        let on = bench.slack().to_take_up().degrees();
        RichText::new(format!(
            "Turned back: the drive's slack now lies on the wrong side, and marks, valves and rotor read late by it. Turn on {on:.0}° in the running direction before you read."
        ))
        .color(palette.ink(Role::Caution))
    } else {
        RichText::new("Turned in the running direction: the slack lies where it runs. On a real engine: ignition off, battery off, never force a crank that stops.")
            .color(palette.faint)
    };
    ui.add(egui::Label::new(words).wrap());
}
