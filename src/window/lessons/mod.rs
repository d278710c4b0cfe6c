//! The guided job and the questions in the window: each has its pane on the right, and turns and
//! assembles the engine on the bench as it needs it.

mod guide;
mod teaching;

use std::path::{Path, PathBuf};

use bevy::picking::mesh_picking::ray_cast::MeshRayCast;
use bevy::prelude::*;
use bevy_panorbit_camera::PanOrbitCamera;
use egui::Ui;

use super::app::schedule::FrameSet;
use super::app::viewport::EngineViewport;
use super::panes::document::OpenDocument;
use super::panes::removed_drive;
use super::panes::{AddPane, Pane, Panes, Slot, always};
use super::scene::parts_shown::{Names, part_along};
use super::session::bench::Bench;
use super::session::open_question::OpenQuestion;
use crate::angle::CrankAngle;
use crate::document::workspace::Notice;
use crate::engine::Assembly;
use crate::output::file;
use crate::procedures::job::{Progress, Walkthrough};
use crate::quiz::{QuestionKind, Quiz};

/// The title of the questions' pane.
const QUESTIONS: &str = "Questions";

/// Guides through the job, and asks.
pub(crate) struct LessonsPlugin;

impl Plugin for LessonsPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Teaching>()
            .init_resource::<OpenQuestion>();
        app.add_systems(
            Update,
            (
                answered_on_the_model,
                keep_open_question,
                another_engine,
                follow_bench,
            )
                .chain()
                .in_set(FrameSet::External),
        );
        app.add_pane(Pane {
            title: "Guided job",
            slot: Slot::Right,
            there: always,
            show: guided,
        });
        app.add_pane(Pane {
            title: QUESTIONS,
            slot: Slot::Right,
            there: always,
            show: questions,
        });
    }
}

/// The guided job of the engine on the bench.
#[derive(Resource)]
struct Guided {
    walkthrough: Walkthrough,
    /// The engine's file, beside which the progress is kept.
    file: Option<PathBuf>,
    generation: u32,
}

/// The quiz, and how the engine stood before it.
#[derive(Resource)]
struct Teaching {
    kinds: Vec<QuestionKind>,
    quiz: Option<Quiz>,
    /// How the engine stood before the first question.
    before: Option<(CrankAngle, Assembly)>,
}

impl Default for Teaching {
    fn default() -> Self {
        Self {
            kinds: QuestionKind::ALL.to_vec(),
            quiz: None,
            before: None,
        }
    }
}

impl Teaching {
    fn open_question(&self) -> OpenQuestion {
        let open = self.quiz.as_ref().filter(|quiz| !quiz.is_shown());
        OpenQuestion(open.map(|quiz| quiz.question().kind))
    }
}

/// Says which question is open, so that nothing in the window gives its answer away.
fn keep_open_question(teaching: Res<Teaching>, mut open: ResMut<OpenQuestion>) {
    open.set_if_neq(teaching.open_question());
}

/// The progress kept beside an engine's file; none where there is no such, or it cannot be read.
fn kept(file: Option<&Path>, engine: &str) -> Progress {
    let text = file.and_then(|file| std::fs::read_to_string(Progress::beside(file)).ok());
    text.and_then(|text| Progress::read(&text).ok())
        .unwrap_or_else(|| Progress::none(engine))
}

/// Makes the walkthrough's engine the bench's. Another file begins another walkthrough; an edit
/// only makes the job anew.
fn another_engine(
    bench: Res<Bench>,
    open: Option<Res<OpenDocument>>,
    guided: Option<ResMut<Guided>>,
    mut shown: Local<Option<u32>>,
    mut commands: Commands,
) {
    let Some(open) = open else { return };
    let now = open.0.workspace().generation();
    let file = open.0.workspace().document.path();
    match guided {
        Some(mut guided) if *shown == Some(now) => {
            if guided.generation != bench.generation() {
                guided.walkthrough.engine_is(bench.phasing());
                guided.generation = bench.generation();
            }
            if guided.file.as_deref() != file {
                guided.file = file.map(Path::to_path_buf);
            }
        }
        _ => {
            let walkthrough = Walkthrough::begin(
                bench.phasing(),
                kept(file, bench.engine().name()),
                bench.crank(),
            );
            commands.insert_resource(Guided {
                walkthrough,
                file: file.map(Path::to_path_buf),
                generation: bench.generation(),
            });
            *shown = Some(now);
        }
    }
}

/// Takes over where crank and rotor stand on the bench.
fn follow_bench(bench: Res<Bench>, guided: Option<ResMut<Guided>>) {
    let Some(mut guided) = guided else { return };
    if guided.walkthrough.state().crank != bench.crank() {
        guided.walkthrough.turned_to(bench.crank());
    }
    let wrong = bench.slack().is_wrong();
    if guided.walkthrough.state().slack_wrong != wrong {
        guided.walkthrough.slack_is(wrong);
    }
    let held = bench.drive_out().map(|out| out.rotor);
    if guided.walkthrough.state().rotor_held != held {
        guided.walkthrough.rotor_is_held(held);
    }
}

fn guided(ui: &mut Ui, world: &mut World) {
    if world.resource::<Teaching>().quiz.is_some() {
        ui.label("A question stands on the bench. Stop the questions to go on with the job.");
        return;
    }
    let Some(guided) = world.get_resource::<Guided>() else {
        return;
    };
    let bench = world.resource::<Bench>();
    let verdict = guided.walkthrough.check(bench.phasing());
    let Some(ask) = guide::panel(ui, &guided.walkthrough, &verdict, bench.is_seating()) else {
        return;
    };
    if let guide::GuideResponse::Drive(ask) = ask {
        removed_drive::apply(world, ask);
        return;
    }
    world.resource_scope(|world, mut guided: Mut<Guided>| {
        let mut bench = world.resource_mut::<Bench>();
        let walkthrough = &mut guided.walkthrough;
        match ask {
            guide::GuideResponse::GoTo(index) => walkthrough.go_to(index),
            guide::GuideResponse::Tick => {
                if walkthrough.tick(bench.phasing()) {
                    keep(&guided, world);
                }
            }
            guide::GuideResponse::BeginAgain => {
                walkthrough.begin_again();
                keep(&guided, world);
            }
            guide::GuideResponse::Show => {
                // What is right already needs no showing.
                if let Some(place) = walkthrough
                    .step()
                    .map(|step| step.crank)
                    .filter(|_| !verdict.is_right())
                {
                    bench.turn_on_to(place);
                    walkthrough.was_shown(bench.crank());
                }
            }
            guide::GuideResponse::Drive(_) => {}
        }
    });
    ui.ctx().request_repaint();
}

/// Keeps the progress beside the engine's file, where there is one.
fn keep(guided: &Guided, world: &mut World) {
    let Some(file) = &guided.file else { return };
    let text = guided
        .walkthrough
        .progress()
        .write()
        .map_err(|error| error.to_string());
    let kept = text.and_then(|text| {
        file::whole(&Progress::beside(file), text.as_bytes(), true)
            .map_err(|error| error.to_string())
    });
    if let (Err(why), Some(mut open)) = (kept, world.get_resource_mut::<OpenDocument>()) {
        open.0.notify(Notice::Failed(format!(
            "The progress of the job was not kept: {why}."
        )));
    }
}

fn questions(ui: &mut Ui, world: &mut World) {
    world.resource_scope(|world, mut teaching: Mut<Teaching>| {
        let teaching = &mut *teaching;
        let bench = world.resource::<Bench>();
        let ask = match &teaching.quiz {
            Some(quiz) => teaching::panel(ui, quiz),
            None => teaching::begin(ui, &mut teaching.kinds, |kind| kind.suits(bench.engine())),
        };
        if let Some(ask) = ask {
            teach(teaching, world, ask);
            world
                .resource_mut::<OpenQuestion>()
                .set_if_neq(teaching.open_question());
            ui.ctx().request_repaint();
        }
    });
}

/// Does what the user asked for, and sets the engine up for the current question.
fn teach(teaching: &mut Teaching, world: &mut World, ask: teaching::QuizResponse) {
    let seed = world.resource::<Time<Real>>().elapsed().as_nanos() as u64;
    let mut bench = world.resource_mut::<Bench>();
    match (ask, &mut teaching.quiz) {
        (teaching::QuizResponse::Begin(kinds), quiz) => {
            *quiz = Quiz::begin(bench.engine(), &kinds, seed);
            teaching.before = Some((bench.crank(), bench.assembly().clone()));
            pose(teaching, &mut bench);
        }
        (teaching::QuizResponse::Answer(choice), Some(quiz)) => quiz.answer(choice),
        (teaching::QuizResponse::Show, Some(quiz)) => quiz.show(),
        (teaching::QuizResponse::Next, Some(quiz)) => {
            quiz.next();
            pose(teaching, &mut bench);
        }
        (teaching::QuizResponse::Stop, _) => stop(teaching, &mut bench),
        (_, None) => {}
    }
}

fn pose(teaching: &Teaching, bench: &mut Bench) {
    if let Some(quiz) = &teaching.quiz {
        bench.set_assembly(&quiz.question().assembly);
        bench.turn_on_to(quiz.question().crank);
    }
}

/// The engine goes back to how it stood.
fn stop(teaching: &mut Teaching, bench: &mut Bench) {
    teaching.quiz = None;
    if let Some((crank, assembly)) = teaching.before.take() {
        if assembly.check(bench.engine()).is_empty() {
            bench.set_assembly(&assembly);
        }
        bench.turn_on_to(crank);
    }
}

/// A click on a part of the model answers with its cylinder; another engine on the bench ends the
/// questions.
fn answered_on_the_model(
    buttons: Res<ButtonInput<MouseButton>>,
    cameras: Query<(&Camera, &GlobalTransform), With<PanOrbitCamera>>,
    parts: Names,
    viewport: Res<EngineViewport>,
    panes: Res<Panes>,
    bench: Res<Bench>,
    mut rays: MeshRayCast,
    mut teaching: ResMut<Teaching>,
    mut pressed_at: Local<Option<Vec2>>,
) {
    /// A press that moves further than this turns the camera or the engine, and is no answer.
    const STILL_PX: f32 = 4.0;
    if teaching
        .quiz
        .as_ref()
        .is_some_and(|quiz| **quiz.engine() != **bench.engine())
    {
        teaching.quiz = None;
        teaching.before = None;
    }
    if buttons.just_pressed(MouseButton::Left) {
        *pressed_at = viewport.pointer();
    }
    if !buttons.just_released(MouseButton::Left) || panes.chosen() != Some(QUESTIONS) {
        return;
    }
    let (Some(from), Some(at), Ok((camera, at_camera))) =
        (pressed_at.take(), viewport.pointer(), cameras.single())
    else {
        return;
    };
    if from.distance(at) > STILL_PX || teaching.quiz.is_none() {
        return;
    }
    let Ok(ray) = camera.viewport_to_world(at_camera, at / viewport.pixels()) else {
        return;
    };
    let cylinder = part_along(ray, &mut rays, &parts).map(|(_, part)| part.cylinder);
    if let (Some(cylinder), Some(quiz)) = (cylinder, &mut teaching.quiz)
        && let Some(choice) = quiz.question().choice_of_cylinder(cylinder)
    {
        quiz.answer(choice);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::BENCH;
    use crate::window::session::open_question::answers_may_be_seen;

    #[test]
    fn no_ghost_gives_away_what_is_wrong_until_the_answer_is_shown() {
        let mut app = App::new();
        app.init_resource::<Teaching>()
            .init_resource::<OpenQuestion>()
            .add_systems(Update, keep_open_question);
        let mut shown = |change: fn(&mut Teaching)| {
            change(&mut app.world_mut().resource_mut::<Teaching>());
            app.update();
            answers_may_be_seen(app.world())
        };
        assert!(shown(|_| ()));
        assert!(!shown(|teaching| teaching.quiz =
            Quiz::begin(&BENCH.engine(), &[QuestionKind::WhatIsWrong], 3)));
        assert!(shown(|teaching| teaching
            .quiz
            .as_mut()
            .into_iter()
            .for_each(Quiz::show)));
        assert!(!shown(|teaching| teaching
            .quiz
            .as_mut()
            .into_iter()
            .for_each(Quiz::next)));
        assert!(shown(|teaching| teaching.quiz = None));
    }
}
