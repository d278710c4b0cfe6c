//! The panes that show the engine on the bench: each shows its panel, and makes the edit that comes
//! back.

use bevy::prelude::*;
use egui::Ui;

use super::flat_views;
use super::flat_views::{FlatViews, Out, ViewKind};
use super::widgets::{now_and_then, wrapped};
use super::{AddPane, Pane, Slot};
use super::{as_built, readout, removed_drive};
use crate::angle::Rotor;
use crate::drawing::Role;
use crate::output::as_built::built;
use crate::window::app::theme::{Palette, strong};
use crate::window::input::crank::CrankInput;
use crate::window::session::bench::Bench;
use crate::window::session::open_question::{answers_may_be_seen, views_may_be_seen};

/// Adds the panes that show the engine on the bench.
pub(crate) struct PlacementPlugin;

impl Plugin for PlacementPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<ViewsPane>();
        app.add_pane(Pane {
            title: "Reading",
            slot: Slot::Right,
            there: answers_may_be_seen,
            show: reading,
        });
        app.add_pane(Pane {
            title: "As built",
            slot: Slot::Right,
            there: answers_may_be_seen,
            show: as_built,
        });
        app.add_pane(Pane {
            title: "Views",
            slot: Slot::Left,
            there: views_may_be_seen,
            show: views,
        });
        app.add_pane(Pane {
            title: "Enlarged view",
            slot: Slot::Middle,
            there: is_enlarged,
            show: enlarged,
        });
    }
}

/// The flat views and what is enlarged of them.
#[derive(Resource, Default)]
struct ViewsPane(FlatViews);

fn reading(ui: &mut Ui, world: &mut World) {
    drive_is_out(ui, world);
    not_in_yet(ui, world);
    let bench = world.resource::<Bench>();
    if bench.apart().has_cam_out() {
        wrapped(
            ui,
            "With a camshaft out there are no strokes: a piston at the top is neither at its firing TDC nor on overlap, and no valve is \
             worked. Lay it in, and everything is told here again.",
        );
        return;
    }
    let built = built(bench.phasing());
    now_and_then(ui, built.is_some(), |ui| {
        let ink = Palette::of(ui.ctx()).ink(Role::Caution);
        let built = strong(ui.ctx(), built.unwrap_or_default()).color(ink);
        ui.add(egui::Label::new(built).wrap());
    });
    match readout::panel(ui, bench.phasing(), bench.reading(), bench.followed()) {
        Some(readout::ReadoutResponse::TurnTo(crank)) => {
            turn(world, |bench| bench.turn_on_to(crank));
        }
        Some(readout::ReadoutResponse::Follow(number)) => {
            world.resource_mut::<Bench>().follow(number);
        }
        None => {}
    }
}

/// While the distributor is out of the engine, says so first, with what can be done about it.
fn drive_is_out(ui: &mut Ui, world: &mut World) {
    let is_out = world.resource::<Bench>().drive_out().is_some();
    now_and_then(ui, is_out, |ui| {
        let words = "The distributor is out: its rotor stands as it is held, and nothing sparks.";
        ui.add(egui::Label::new(strong(ui.ctx(), words)).wrap());
        drive(ui, world);
        ui.separator();
    });
}

/// While the guided job has parts of the engine out, says which, and offers to put them in.
fn not_in_yet(ui: &mut Ui, world: &mut World) {
    let mut bench = world.resource_mut::<Bench>();
    let Some(words) = bench.not_in().words(bench.engine()) else {
        return;
    };
    ui.add(egui::Label::new(strong(ui.ctx(), format!("The guided job is on. {words}"))).wrap());
    let put_in = ui.button("Put everything in");
    if put_in
        .on_hover_text("As it was put together last")
        .clicked()
    {
        let assembly = bench.assembly().clone();
        bench.set_assembly(&assembly);
    }
    ui.separator();
}

/// What can be done with the distributor's drive.
fn drive(ui: &mut Ui, world: &mut World) {
    let bench = world.resource::<Bench>();
    if let Some(response) = removed_drive::panel(ui, bench.rotor_held(), bench.is_seating(), true) {
        removed_drive::apply(world, response);
    }
}

fn as_built(ui: &mut Ui, world: &mut World) {
    drive_is_out(ui, world);
    not_in_yet(ui, world);
    if let Some(assembly) = as_built::panel(ui, world.resource::<Bench>().phasing()) {
        world.resource_mut::<Bench>().set_assembly(&assembly);
    }
    let bench = world.resource::<Bench>();
    if bench.drive_out().is_none() && bench.reading().rotor.is_some() {
        ui.separator();
        drive(ui, world);
    }
}

fn views(ui: &mut Ui, world: &mut World) {
    world.resource_scope(|world, mut views: Mut<ViewsPane>| {
        let bench = world.resource::<Bench>();
        views.0.show_ghosts(answers_may_be_seen(world));
        views.0.is_out(out(bench));
        let response = views
            .0
            .show_column(ui, bench.phasing(), bench.reading(), bench.followed());
        apply(world, response);
    });
}

/// What a flat view shows as out.
fn out(bench: &Bench) -> Out {
    let not_in = bench.not_in();
    Out {
        leads: not_in.leads,
        camshafts: not_in.camshafts,
    }
}

fn is_enlarged(world: &World) -> bool {
    world.resource::<ViewsPane>().0.enlarged().is_some()
}

fn enlarged(ui: &mut Ui, world: &mut World) {
    world.resource_scope(|world, mut views: Mut<ViewsPane>| {
        let bench = world.resource::<Bench>();
        views.0.show_ghosts(answers_may_be_seen(world));
        views.0.is_out(out(bench));
        let response =
            views
                .0
                .show_enlarged(ui, bench.phasing(), bench.reading(), bench.followed());
        apply(world, response);
    });
}

fn apply(world: &mut World, response: Option<(ViewKind, flat_views::ViewResponse)>) {
    let Some((view, response)) = response else {
        return;
    };
    let bench = world.resource::<Bench>();
    if let (ViewKind::Cap, Some(held)) = (view, bench.rotor_held()) {
        // With the drive out, a drag turns the rotor alone, and not the crank by it.
        if let (flat_views::ViewResponse::TurnBy(by), Some(direction)) =
            (response, bench.phasing().rotor_direction())
        {
            let at = held.turned(direction, by.at_half_speed::<Rotor>().degrees());
            world.resource_mut::<Bench>().hold_rotor(at);
        }
        return;
    }
    match response {
        flat_views::ViewResponse::TurnTo(crank) => {
            turn(world, |bench| bench.turn_nearest_to(crank));
        }
        flat_views::ViewResponse::TurnBy(by) => turn(world, |bench| bench.turn_by(by)),
        flat_views::ViewResponse::Cam(camshaft, by) => {
            let mut bench = world.resource_mut::<Bench>();
            if let Some(held) = bench.apart().cam(camshaft) {
                bench.hold_cam(camshaft, held + by);
            }
        }
    }
}

/// Turns the engine from a panel: undo comes back to where it stood.
fn turn(world: &mut World, turn: impl FnOnce(&mut Bench)) {
    world.resource_scope(|world, mut input: Mut<CrankInput>| {
        let mut bench = world.resource_mut::<Bench>();
        input.stop(&bench);
        turn(&mut bench);
    });
}
