//! The panels hung up in their places: each asks its panel, and makes the edit that comes back.

use bevy::prelude::*;
use egui::Ui;

use super::bench::Bench;
use super::flat_views::{self, FlatViews};
use super::hand::Hand;
use super::lessons::{answers_may_be_seen, views_may_be_seen};
use super::panel::{as_built, reading};
use super::panes::{AddPane, Pane, Slot};

/// Hangs the panels up.
pub struct PlacedPlugin;

impl Plugin for PlacedPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Views>();
        app.add_pane(Pane { title: "Reading", slot: Slot::Right, there: answers_may_be_seen, show: reading });
        app.add_pane(Pane { title: "As built", slot: Slot::Right, there: answers_may_be_seen, show: as_built });
        app.add_pane(Pane { title: "Views", slot: Slot::Left, there: views_may_be_seen, show: views });
        app.add_pane(Pane { title: "Enlarged view", slot: Slot::Middle, there: is_enlarged, show: enlarged });
    }
}

/// The flat views and what is enlarged of them.
#[derive(Resource, Default)]
pub struct Views(FlatViews);

fn reading(ui: &mut Ui, world: &mut World) {
    let bench = world.resource::<Bench>();
    match reading::panel(ui, bench.engine(), bench.reading(), bench.followed()) {
        Some(reading::Ask::TurnTo(crank)) => turn(world, |bench| bench.turn_on_to(crank)),
        Some(reading::Ask::Follow(number)) => world.resource_mut::<Bench>().follow(number),
        None => {}
    }
}

fn as_built(ui: &mut Ui, world: &mut World) {
    if let Some(assembly) = as_built::panel(ui, world.resource::<Bench>().phasing()) {
        world.resource_mut::<Bench>().set_assembly(&assembly);
    }
}

fn views(ui: &mut Ui, world: &mut World) {
    world.resource_scope(|world, mut views: Mut<Views>| {
        let bench = world.resource::<Bench>();
        let ask = views.0.column(ui, bench.phasing(), bench.reading(), bench.followed());
        answer(world, ask);
    });
}

fn is_enlarged(world: &World) -> bool {
    world.resource::<Views>().0.enlarged().is_some()
}

fn enlarged(ui: &mut Ui, world: &mut World) {
    world.resource_scope(|world, mut views: Mut<Views>| {
        let bench = world.resource::<Bench>();
        let ask = views.0.middle(ui, bench.phasing(), bench.reading(), bench.followed());
        answer(world, ask);
    });
}

fn answer(world: &mut World, ask: Option<flat_views::Ask>) {
    match ask {
        Some(flat_views::Ask::TurnTo(crank)) => turn(world, |bench| bench.turn_nearest_to(crank)),
        Some(flat_views::Ask::TurnBy(by)) => turn(world, |bench| bench.turn_by(by)),
        None => {}
    }
}

/// Turns the engine from a panel: undo comes back to where it stood.
fn turn(world: &mut World, turn: impl FnOnce(&mut Bench)) {
    world.resource_scope(|world, mut hand: Mut<Hand>| {
        let mut bench = world.resource_mut::<Bench>();
        hand.leave(&bench);
        hand.run(false);
        turn(&mut bench);
    });
}
