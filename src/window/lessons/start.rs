//! What a start without a file shows first: three doors, and a way to a file that is there.

use bevy::prelude::*;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Button, Id, Key, Label, Modal, RichText, Ui};

use super::QUESTIONS;
use crate::document::workspace::Action;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::schedule::PanelSet;
use crate::window::app::theme::TypeSize;
use crate::window::panes::NextPane;
use crate::window::panes::document::OpenDocument;

/// Shows the doors until one is taken.
pub(crate) struct StartPlugin;

impl Plugin for StartPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<DoorsShown>().add_systems(
            EguiPrimaryContextPass,
            show.in_set(PanelSet::OverEngine)
                .run_if(resource_exists::<DoorsShown>),
        );
    }
}

/// There while the doors are shown.
#[derive(Resource, Default)]
struct DoorsShown;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Door {
    BenchEngine,
    NewEngine,
    ClubEvening,
    File,
}

/// The doors with what lies behind each, in the order of their number keys.
const DOORS: [(Door, Key, &str, &str); 3] = [
    (
        Door::BenchEngine,
        Key::Num1,
        "Look at the bench engine",
        "A four that is built in. Turn it by its pulley, with the mouse wheel or with the arrow keys.",
    ),
    (
        Door::NewEngine,
        Key::Num2,
        "Describe my engine",
        "Its cylinders, crank and firing order first; every other figure can follow.",
    ),
    (
        Door::ClubEvening,
        Key::Num3,
        "The club evening",
        "Questions with hidden answers about the bench engine, in large type.",
    ),
];

fn show(world: &mut World) {
    let mut contexts = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let Ok(mut context) = contexts.single_mut(world) else {
        return;
    };
    let ctx = context.get_mut().clone();
    // What was kept when the program ended is asked about first, and is a beginning of its own.
    let asked = world
        .get_resource::<OpenDocument>()
        .is_some_and(|open| open.0.workspace().question().is_some());
    if asked {
        world.remove_resource::<DoorsShown>();
        return;
    }
    let shown = Modal::new(Id::new("doors")).show(&ctx, |ui| {
        ui.set_width(440.0);
        doors(ui)
    });
    let door = shown
        .inner
        .or(shown.should_close().then_some(Door::BenchEngine));
    if let Some(door) = door {
        world.remove_resource::<DoorsShown>();
        enter(world, door);
        ctx.request_repaint();
    }
}

/// The doors; gives the one that was taken, by the mouse or its number.
fn doors(ui: &mut Ui) -> Option<Door> {
    ui.heading("Where would you like to begin?");
    ui.add_space(8.0);
    let mut taken = None;
    for (number, (door, key, title, behind)) in (1..).zip(DOORS) {
        let title = RichText::new(format!("{number}  {title}")).heading();
        let button = Button::new(title).min_size(egui::vec2(ui.available_width(), 44.0));
        let keyed = ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, key));
        if ui.add(button).clicked() || keyed {
            taken = Some(door);
        }
        ui.add(Label::new(behind).wrap());
        ui.add_space(8.0);
    }
    ui.separator();
    ui.horizontal_wrapped(|ui| {
        ui.label("Have you described it already?");
        if ui.button("Open it…").clicked() {
            taken = Some(Door::File);
        }
    });
    taken
}

fn enter(world: &mut World, door: Door) {
    match door {
        Door::BenchEngine => {}
        Door::NewEngine => act(world, Action::New),
        Door::File => act(world, Action::Open),
        Door::ClubEvening => {
            world.resource_mut::<WindowTheme>().0.type_size = TypeSize::Room;
            world.insert_resource(NextPane(QUESTIONS));
        }
    }
}

fn act(world: &mut World, action: Action) {
    if let Some(mut open) = world.get_resource_mut::<OpenDocument>() {
        open.0.act(action);
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    fn harness() -> Harness<'static, Option<Door>> {
        Harness::new_ui_state(
            |ui: &mut Ui, taken: &mut Option<Door>| *taken = doors(ui).or(*taken),
            None,
        )
    }

    #[test]
    fn each_door_opens_by_a_click_and_by_its_number() {
        for (number, (door, key, title, _)) in (1..).zip(DOORS) {
            let mut clicked = harness();
            clicked.get_by_label(&format!("{number}  {title}")).click();
            clicked.run();
            assert_eq!(*clicked.state(), Some(door));
            let mut pressed = harness();
            pressed.key_press(key);
            pressed.run();
            assert_eq!(*pressed.state(), Some(door));
        }
    }

    #[test]
    fn a_file_that_is_there_already_can_be_opened_instead() {
        let mut harness = harness();
        harness.get_by_label("Open it…").click();
        harness.run();
        assert_eq!(*harness.state(), Some(Door::File));
        let mut idle = self::harness();
        idle.run();
        assert_eq!(*idle.state(), None, "none is taken by itself");
    }
}
