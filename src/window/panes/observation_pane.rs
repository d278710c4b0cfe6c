//! The panes for what was seen on the engine, and for the proof that it is as drawn.

use bevy::prelude::*;
use bevy::winit::EventLoopProxyWrapper;
use egui::Ui;

use super::observation_panel;
use super::observation_panel::ObservationEdit;
use super::observation_session::ObservationSession;
use super::proof_panel;
use super::proof_panel::ProofEdit;
use super::widgets::{now_and_then, wrapped};
use super::{AddPane, NextPane, Pane, Slot, always};
use crate::angle::CrankAngle;
use crate::diagnosis::observations::Observation;
use crate::document::unsaved::Unsaved;
use crate::document::workspace::Notice;
use crate::engine::Assembly;
use crate::window::app::dialogs;
use crate::window::app::schedule::FrameSet;
use crate::window::input::crank::CrankInput;
use crate::window::panes::document::{self, OpenDocument};
use crate::window::panes::file_menu;
use crate::window::session::bench::Bench;
use crate::window::session::build_stage::BuildStage;
use crate::window::session::storage::StateFolder;

const OBSERVED: &str = "What do you see?";

/// Adds the pane, with nothing seen yet, and that of the proof from there.
pub(crate) struct ObservationPlugin;

impl Plugin for ObservationPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Startup, begin).add_systems(
            Update,
            keep_unsaved
                .after(document::follow_outside)
                .in_set(FrameSet::External),
        );
        app.init_resource::<BuildStage>();
        app.add_pane(Pane {
            title: OBSERVED,
            slot: Slot::Right,
            there: always,
            show,
        });
        app.add_pane(Pane {
            title: "Proof",
            slot: Slot::Right,
            there: always,
            show: show_proof,
        });
    }
}

fn begin(
    bench: Res<Bench>,
    proxy: Option<Res<EventLoopProxyWrapper>>,
    state: Option<Res<StateFolder>>,
    mut commands: Commands,
) {
    let mut session = ObservationSession::new(bench.engine(), dialogs::wake(proxy.as_deref()));
    session.unsaved = state.and_then(|state| Unsaved::new(state.0.clone()).ok());
    commands.insert_resource(session);
}

/// Keeps what was observed while it is unsaved, and offers what was left on the engine's file.
fn keep_unsaved(mut session: ResMut<ObservationSession>, open: Option<ResMut<OpenDocument>>) {
    let Some(mut open) = open else { return };
    let session = session.bypass_change_detection();
    let files = &open.0;
    session.engine_is_of(&files.kept_under());
    session.keep_unsaved();
    if files.is_closing() {
        // Waits until what was changed last is written.
        session.unsaved = None;
    }
    if session.offered.is_some() && !std::mem::replace(&mut session.told, true) {
        open.0.notify(Notice::Done(
            "Sightings of this engine were not saved and were kept: see What do you see?".into(),
        ));
    }
}

/// What stands over both panes: what a file did, and what was left unsaved, until that is decided.
/// The rest is shown by `show`.
fn shown(ui: &mut Ui, world: &mut World, show: fn(&mut Ui, &mut World, &mut ObservationSession)) {
    if !world.contains_resource::<ObservationSession>() {
        return;
    }
    world.resource_scope(|world, mut session: Mut<ObservationSession>| {
        session.refresh(
            world.resource::<Bench>().engine(),
            world.resource::<BuildStage>(),
        );
        now_and_then(ui, session.notice().is_some(), |ui| {
            session.notice().inspect(|notice| wrapped(ui, notice));
        });
        if let Some((_, age)) = &session.offered {
            // Nothing else can be entered until this is decided.
            if let Some(take_up) = observation_panel::kept(ui, *age) {
                session.decide(take_up);
                ui.ctx().request_repaint();
            }
            return;
        }
        show(ui, world, &mut session);
    });
}

/// Turns the model's crank on to a place, put together so where an assembly is given.
fn pose(world: &mut World, assembly: Option<&Assembly>, crank: CrankAngle) {
    world.resource_scope(|world, mut input: Mut<CrankInput>| {
        let mut bench = world.resource_mut::<Bench>();
        input.stop(&bench);
        if let Some(assembly) = assembly {
            bench.set_assembly(assembly);
        }
        bench.turn_on_to(crank);
    });
}

fn show_proof(ui: &mut Ui, world: &mut World) {
    shown(ui, world, |ui, world, session| {
        let mut seen = session.observations().clone();
        let drawn = world.resource::<Bench>().as_drawn();
        match proof_panel::panel(ui, drawn, session.proof(), &seen) {
            Some(ProofEdit::Right(look)) => {
                look.enter(&mut seen);
                session.set(seen);
                ui.ctx().request_repaint();
            }
            Some(ProofEdit::EnterAt(crank_deg)) => {
                let last = seen.sightings.last();
                if last.is_none_or(|last| last.crank.to_bits() != crank_deg.to_bits()) {
                    seen.sightings.push(Observation {
                        turned_on: last.is_some(),
                        ..Observation::at(crank_deg)
                    });
                }
                session.set(seen);
                world.insert_resource(NextPane(OBSERVED));
                ui.ctx().request_repaint();
            }
            Some(ProofEdit::TurnTo(crank)) => pose(world, None, crank),
            Some(ProofEdit::Record) => session.choose_record(),
            None => {}
        }
    });
}

fn show(ui: &mut Ui, world: &mut World) {
    shown(ui, world, |ui, world, session| {
        let bench = world.resource::<Bench>();
        let edit = observation_panel::panel(
            ui,
            bench.engine(),
            session.observations(),
            (bench.crank(), &world.resource::<BuildStage>().sights()),
            session.outcome(),
        );
        if let Some(typing) = &mut session.typing
            && let Some(path) = file_menu::path(ui, typing)
        {
            session.typed(path);
        }
        match edit {
            Some(ObservationEdit::Observed(observations)) => {
                session.set(observations);
                ui.ctx().request_repaint();
            }
            Some(ObservationEdit::Begun(observations, crank)) => {
                session.set(observations);
                pose(world, None, crank);
                ui.ctx().request_repaint();
            }
            Some(ObservationEdit::Open) => session.choose_file_to_open(),
            Some(ObservationEdit::Save) => session.choose_file_to_save(),
            Some(ObservationEdit::Pose(assembly, crank)) => pose(world, Some(&assembly), crank),
            None => {}
        }
    });
}
