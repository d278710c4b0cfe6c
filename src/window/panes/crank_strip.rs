//! The strip along the bottom: where the crank stands, and the controls that turn it.

use bevy::prelude::*;
use egui::{RichText, Ui};

use super::number_field::tell;
use super::widgets::{button_of, one_of};
use super::{AddPane, Pane, Slot, always};
use crate::angle::CrankAngle;
use crate::description::typed;
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
    // What does not fit in a row wraps, and widens nothing below it.
    ui.set_max_width(ui.available_width());
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
                ui.separator();
                // Last, for it is as wide as its number is long.
                speed(ui, &mut input);
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
    // As long, whatever it is: what stands after it stays in its place.
    let figures = RichText::new(format!("{shown:>5.1}°"));
    let label = ui.label(figures.strong().monospace()).on_hover_text(hover);
    let field = egui::TextEdit::singleline(typed)
        .desired_width(62.0 * Theme::of(ui.ctx()).type_size.times())
        .hint_text("degrees");
    let entered = ui.add(field).labelled_by(label.id).on_hover_text(
        "Crank degrees from No. 1's firing TDC, such as 172.5 or 8 btdc; Enter turns on to it",
    );
    let is_entered = entered.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
    let answer = (is_entered && !typed.trim().is_empty())
        .then(|| typed::degrees(typed, Some(typed::Side::ATDC)));
    if let Some(Ok(degrees)) = answer {
        let turn = bench.crank().on_to(CrankAngle::new(degrees));
        input.pose_to(bench, bench.turned_deg() + turn.degrees());
        typed.clear();
    }
    let said = answer.map(Result::err);
    if matches!(said, Some(Some(_))) {
        entered.request_focus();
    }
    let said = said.or_else(|| entered.changed().then_some(None));
    tell(&entered, said);
}

/// Whether the crank turns by itself, and whether a drag stops at detents.
fn running(ui: &mut Ui, input: &mut CrankInput, bench: &Bench) {
    const WORDS: [&str; 2] = ["Run slowly", "Stop"];
    let words = WORDS[usize::from(input.running)];
    let button = button_of(ui, words, &WORDS);
    if button.on_hover_text("Space").clicked() {
        input.toggle_running(bench);
    }
    ui.checkbox(&mut input.detents, "Detents")
        .on_hover_text("A drag stops lightly at dead centres and where the dots meet");
}

/// How fast a crank that turns by itself does.
fn speed(ui: &mut Ui, input: &mut CrankInput) {
    // A slider is several widgets, and does not go to the next row by itself.
    let value_wide = 80.0 * Theme::of(ui.ctx()).type_size.times();
    if ui.available_size_before_wrap().x < ui.spacing().slider_width + value_wide {
        ui.end_row();
    }
    let hover = "How fast it turns by itself";
    let slider = egui::Slider::new(&mut input.turns_a_minute, 0.5..=120.0)
        .logarithmic(true)
        .suffix(" rpm")
        .fixed_decimals(1);
    let slider = ui.add(slider);
    ui.ctx()
        .accesskit_node_builder(slider.id, |node| node.set_label(hover));
    slider.on_hover_text(hover);
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

/// Says when the slack lies on the wrong side; with as much room when it does not.
fn slack(ui: &mut Ui, bench: &Bench) {
    const RIGHT: &str = "Turned in the running direction: the slack lies where it runs. On a real engine: ignition off, battery off, never force a crank that stops.";
    let palette = Palette::of(ui.ctx());
    let wrong = |on: f64| {
        format!(
            "Turned back: the drive's slack now lies on the wrong side, and marks, valves and rotor read late by it. Turn on {on:.0}° in the running direction before you read."
        )
    };
    let longest = wrong(99.0);
    let words = if bench.slack().is_wrong() {
        RichText::new(wrong(bench.slack().to_take_up().degrees())).color(palette.ink(Role::Caution))
    } else {
        RichText::new(RIGHT).color(palette.faint)
    };
    one_of(ui, words, &[RIGHT, &longest]);
}

#[cfg(test)]
mod tests {
    use egui::Key;
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::BENCH;

    /// The strip over the bench four, as wide as a small window.
    fn harness() -> Harness<'static, World> {
        let mut world = World::new();
        world.insert_resource(Bench::new(&BENCH.engine(), &Assembly::default()));
        world.init_resource::<CrankInput>();
        world.init_resource::<TypedDegrees>();
        world.init_resource::<crate::window::session::open_question::OpenQuestion>();
        let show = |ui: &mut Ui, world: &mut World| {
            strip(ui, world);
            ui.label("Below the strip");
        };
        let mut harness = Harness::builder()
            .with_size([900.0, 200.0])
            .build_ui_state(show, world);
        harness.run();
        harness
    }

    fn crank(harness: &Harness<'_, World>) -> f64 {
        harness.state().resource::<Bench>().crank().degrees()
    }

    fn enter(harness: &mut Harness<'_, World>, text: &str) {
        let field = egui::accesskit::Role::TextInput;
        harness.get_by_role(field).click();
        harness.run();
        harness.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
        harness.get_by_role(field).type_text(text);
        harness.run();
        harness.key_press(Key::Enter);
        harness.run();
    }

    #[test]
    fn an_angle_is_typed_as_a_builder_writes_it_and_what_is_not_one_is_answered() {
        let mut harness = harness();
        for (text, deg) in [("172,5", 172.5), ("8 btdc", 712.0), ("90°", 90.0)] {
            enter(&mut harness, text);
            assert_eq!(crank(&harness), deg, "{text}");
        }
        enter(&mut harness, "top");
        assert_eq!(crank(&harness), 90.0);
        harness.get_by_label("A number is wanted, such as 8 or 8.5");
    }

    #[test]
    fn in_a_narrow_window_no_control_is_beyond_its_edge() {
        for wide in [560.0, 700.0, 853.0, 900.0, 1000.0] {
            let mut harness = harness();
            harness.set_size(egui::vec2(wide, 300.0));
            harness.run();
            let spin = egui::accesskit::Role::SpinButton;
            let speed = harness.get_all_by_role(spin).last().expect("a value");
            assert!(speed.rect().right() <= wide, "{wide}: {:?}", speed.rect());
            let slack = harness.get_by_label_contains("Turned in the running");
            assert!(slack.rect().right() <= wide, "{wide}: {:?}", slack.rect());
        }
    }

    #[test]
    fn no_control_moves_for_a_longer_angle_for_running_or_for_slack_on_the_wrong_side() {
        let mut harness = harness();
        let labels = [
            "Next dead centre ▶",
            "Detents",
            "Undo turn",
            "Redo turn",
            "Below the strip",
        ];
        let places =
            |harness: &Harness<'_, World>| labels.map(|label| harness.get_by_label(label).rect());
        let before = places(&harness);
        harness.state_mut().resource_mut::<Bench>().turn_to(712.5);
        harness.state_mut().resource_mut::<CrankInput>().running = true;
        harness.run();
        assert_eq!(places(&harness), before);
        harness.state_mut().resource_mut::<Bench>().turn_to(600.0);
        harness.run();
        harness.get_by_label_contains("Turned back");
        assert_eq!(places(&harness), before);
    }
}
