//! The guided job and the questions in the window: each has its pane on the right, and turns and
//! assembles the engine on the bench as it needs it.

mod guide;
pub(super) mod start;
mod teaching;

use std::path::{Path, PathBuf};

use bevy::picking::mesh_picking::ray_cast::MeshRayCast;
use bevy::prelude::*;
use bevy_panorbit_camera::PanOrbitCamera;
use egui::Ui;

use super::app::schedule::FrameSet;
use super::app::viewport::EngineViewport;
use super::panes::document::{self, OpenDocument};
use super::panes::observation_session::ObservationSession;
use super::panes::{AddPane, Pane, Panes, Slot, always};
use super::panes::{removed_drive, widgets};
use super::scene::parts_shown::{Names, part_along};
use super::session::bench::Bench;
use super::session::build_stage::BuildStage;
use super::session::open_question::OpenQuestion;
use super::session::storage::{Files, StateFolder};
use crate::angle::CrankAngle;
use crate::document::unsaved::Unsaved;
use crate::document::workspace::Notice;
use crate::engine::Assembly;
use crate::output::{as_built, file};
use crate::phasing::Phasing;
use crate::procedures::job::{Noted, Progress, TakeOver, Walkthrough, take_over};
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
                share_build,
                follow_bench,
            )
                .chain()
                .after(document::follow_outside)
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
    /// The engine's file, beside which the progress is written.
    file: Option<PathBuf>,
    generation: u32,
    /// What was measured at the step of this key, before it is ticked.
    readings: (String, guide::Readings),
    /// What was measured and is not in the description, worked out from so much.
    to_take_over: Option<(u32, Progress, TakeOver)>,
    /// Stage and sightings of the build file are still to be shown.
    is_new: bool,
    /// Keeps the progress where it cannot be written beside a file, and under which name.
    unsaved: Option<Unsaved<Progress>>,
    kept_under: PathBuf,
}

impl Guided {
    /// The job of the engine that is open, taken up where it was left.
    fn open(bench: &Bench, files: &Files, state: Option<&StateFolder>) -> Self {
        let file = files.workspace().document.path();
        let kept_under = files.kept_under().join("job");
        let mut unsaved = state.and_then(|state| Unsaved::new(state.0.clone()).ok());
        // What is kept elsewhere is newer than what stands beside the file: it could not be written.
        let progress = unsaved
            .as_mut()
            .and_then(|unsaved| unsaved.find(&kept_under, |text| Progress::read(text).ok()))
            .map(|(progress, _)| progress)
            .or_else(|| {
                let text = std::fs::read_to_string(Progress::find_beside(file?)?).ok()?;
                Progress::read(&text).ok()
            })
            .unwrap_or_else(|| Progress::none(bench.engine().name()));
        Self {
            walkthrough: Walkthrough::begin(bench.phasing(), progress, bench.crank()),
            file: file.map(Path::to_path_buf),
            generation: bench.generation(),
            readings: (String::new(), guide::Readings::new()),
            to_take_over: None,
            is_new: true,
            unsaved,
            kept_under,
        }
    }

    /// The readings of the step at hand: as they stand in the build file until they are changed.
    fn readings(&mut self) -> &mut guide::Readings {
        let step = self.walkthrough.step();
        let key = step.map_or(String::new(), |step| step.key.clone());
        if self.readings.0 != key {
            let done = step.and_then(|step| self.walkthrough.progress().entry(step));
            let readings = done.map_or_else(guide::Readings::new, |done| done.readings.clone());
            self.readings = (key, readings);
        }
        &mut self.readings.1
    }

    /// What was measured and is not in the description.
    fn measured_elsewhere(&mut self, phasing: &Phasing) -> &TakeOver {
        let progress = self.walkthrough.progress();
        let known = self
            .to_take_over
            .take()
            .filter(|(generation, of, _)| *generation == self.generation && of == progress);
        let known = known.unwrap_or_else(|| {
            let over = take_over(phasing, progress);
            (self.generation, progress.clone(), over)
        });
        &self.to_take_over.insert(known).2
    }

    /// Writes the progress beside the engine's file; what cannot be written there is kept like any
    /// unsaved work, and why is given.
    fn keep(&mut self) -> Result<(), String> {
        let progress = self.walkthrough.progress();
        let written = match &self.file {
            None => Ok(false),
            Some(engine) => progress
                .write()
                .map_err(|error| error.to_string())
                .and_then(|text| {
                    file::whole(&Progress::beside(engine), text.as_bytes(), true)
                        .map_err(|error| error.to_string())
                })
                .map(|()| true),
        };
        if let Some(unsaved) = &mut self.unsaved {
            let is_unsaved = written != Ok(true) && !progress.is_empty();
            let now = is_unsaved.then_some(progress);
            unsaved.set(&self.kept_under, now, Progress::write);
        }
        written.map(drop)
    }
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

/// Makes the walkthrough's engine the bench's. Another file begins another walkthrough; an edit
/// only makes the job anew.
fn another_engine(
    bench: Res<Bench>,
    open: Option<ResMut<OpenDocument>>,
    guided: Option<ResMut<Guided>>,
    state: Option<Res<StateFolder>>,
    mut shown: Local<Option<u32>>,
    mut commands: Commands,
) {
    let Some(mut open) = open else { return };
    let open = open.bypass_change_detection();
    let now = open.0.workspace().generation();
    match guided {
        Some(mut guided) if *shown == Some(now) => {
            if guided.generation != bench.generation() {
                guided.walkthrough.engine_is(bench.phasing());
                guided.generation = bench.generation();
            }
            let file = open.0.workspace().document.path();
            if guided.file.as_deref() != file {
                guided.file = file.map(Path::to_path_buf);
                // An engine saved for the first time, or elsewhere, takes its progress along.
                if !guided.walkthrough.progress().is_empty() {
                    let kept = guided.keep();
                    notify(open, kept);
                }
            }
            if open.0.is_closing() {
                // Waits until what was done last is written.
                guided.unsaved = None;
            }
        }
        _ => {
            commands.insert_resource(Guided::open(&bench, &open.0, state.as_deref()));
            *shown = Some(now);
        }
    }
}

/// Stage and sightings are the build file's too: they are shown when it is opened, and written with
/// what was done. Nothing is written before a step is done.
fn share_build(
    buttons: Res<ButtonInput<MouseButton>>,
    guided: Option<ResMut<Guided>>,
    session: Option<ResMut<ObservationSession>>,
    mut stage: ResMut<BuildStage>,
    open: Option<ResMut<OpenDocument>>,
) {
    let (Some(mut guided), Some(mut session), Some(mut open)) = (guided, session, open) else {
        return;
    };
    let (guided, session) = (
        guided.bypass_change_detection(),
        session.bypass_change_detection(),
    );
    if std::mem::take(&mut guided.is_new) {
        let progress = guided.walkthrough.progress();
        if let Some(reached) = progress.stage() {
            let without = progress.without().to_vec();
            stage.set_if_neq(BuildStage {
                stage: reached,
                without,
            });
        }
        if let Some(seen) = progress.seen() {
            session.take_up(seen);
        }
        return;
    }
    let progress = guided.walkthrough.progress();
    // Not while a number is being dragged.
    if progress.done().is_empty() || buttons.pressed(MouseButton::Left) {
        return;
    }
    let seen = session.seen();
    let same = progress.stage() == Some(stage.stage)
        && progress.without() == stage.without
        && progress.seen() == seen;
    if same {
        return;
    }
    let seen = seen.cloned();
    let progress = guided.walkthrough.progress_mut();
    progress.set_stage(stage.stage);
    progress.set_without(stage.without.clone());
    progress.set_seen(seen);
    let kept = guided.keep();
    notify(open.bypass_change_detection(), kept);
}

/// Says why the progress was not written beside the engine's file.
fn notify(open: &mut OpenDocument, kept: Result<(), String>) {
    if let Err(why) = kept {
        open.0.notify(Notice::Failed(format!(
            "The progress of the job was not written beside the engine's file, and is kept for the next time: {why}."
        )));
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
    if !world.contains_resource::<Guided>() {
        return;
    }
    let (ask, verdict) = world.resource_scope(|world, mut guided: Mut<Guided>| {
        let bench = world.resource::<Bench>();
        if let Some(danger) = as_built::danger(bench.phasing()) {
            widgets::caution(ui, &danger);
        }
        let verdict = guided.walkthrough.check(bench.phasing());
        let guided = guided.bypass_change_detection();
        let mut readings = std::mem::take(guided.readings());
        let job = (&guided.walkthrough, bench.phasing());
        let ask = guide::panel(ui, job, &mut readings, &verdict, bench.is_seating());
        *guided.readings() = readings;
        let over = guided.measured_elsewhere(world.resource::<Bench>().phasing());
        let ask = guide::measured_elsewhere(ui, over).or(ask);
        (ask, verdict)
    });
    let Some(ask) = ask else {
        return;
    };
    if let guide::GuideResponse::Drive(ask) = ask {
        removed_drive::apply(world, ask);
        return;
    }
    world.resource_scope(|world, mut guided: Mut<Guided>| {
        let readings = guided.readings().clone();
        let mut bench = world.resource_mut::<Bench>();
        let walkthrough = &mut guided.walkthrough;
        match ask {
            guide::GuideResponse::GoTo(index) => walkthrough.go_to(index),
            guide::GuideResponse::Tick => {
                let noted = Noted {
                    on: Some(jiff::ZonedDateTime::now().date().to_string()),
                    readings: readings.clone(),
                    by_hand: false,
                };
                if walkthrough.tick_noted(bench.phasing(), noted) {
                    // The stage moves on with the job.
                    if let Some(next) = walkthrough.step().map(|step| step.stage) {
                        world.resource_mut::<BuildStage>().stage = next;
                    }
                    keep(&mut guided, world);
                }
            }
            guide::GuideResponse::Undo => {
                let at = walkthrough.at();
                if walkthrough.undo(at) {
                    keep(&mut guided, world);
                }
            }
            guide::GuideResponse::Go(way) => {
                walkthrough.go_by(bench.phasing(), way);
                keep(&mut guided, world);
            }
            guide::GuideResponse::BeginAgain => {
                walkthrough.begin_again();
                keep(&mut guided, world);
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
            guide::GuideResponse::TakeOver => {
                let over = guided.measured_elsewhere(bench.phasing());
                let description = over.description.clone();
                let place = over.changes.first().map_or("", |change| change.path);
                let now_s = world.resource::<Time<Real>>().elapsed_secs_f64();
                if let Some(mut open) = world.get_resource_mut::<OpenDocument>() {
                    open.0.edit(description, place, now_s);
                }
            }
            guide::GuideResponse::Drive(_) => {}
        }
    });
    ui.ctx().request_repaint();
}

/// Keeps what was done.
fn keep(guided: &mut Guided, world: &mut World) {
    let kept = guided.keep();
    if let Some(mut open) = world.get_resource_mut::<OpenDocument>() {
        notify(&mut open, kept);
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
    use std::sync::Arc;

    use super::*;
    use crate::document::Document;
    use crate::document::unsaved::UnsavedWork;
    use crate::document::workspace::Workspace;
    use crate::engine::scenes::BENCH;
    use crate::window::session::open_question::answers_may_be_seen;

    #[test]
    fn progress_that_no_file_holds_is_taken_up_again_and_goes_along_when_the_engine_is_saved() {
        let folder = tempfile::tempdir().expect("a folder");
        let state = StateFolder(UnsavedWork::within(folder.path().join("state")));
        let document = Document::open(None, BENCH.text).expect("an engine");
        let files = Files::new(Workspace::new(document), Arc::new(|| ()));
        let bench = Bench::new(&BENCH.engine(), &Assembly::default());
        let open = || Guided::open(&bench, &files, Some(&state));

        let mut guided = open();
        assert!(guided.walkthrough.progress().is_empty());
        assert!(
            guided.walkthrough.tick(bench.phasing()),
            "right as it opens"
        );
        assert_eq!(guided.keep(), Ok(()));
        drop(guided);

        let mut guided = open();
        assert_eq!(guided.walkthrough.done(), 1, "lost");
        let file = folder.path().join("four.ron");
        guided.file = Some(file.clone());
        assert_eq!(guided.keep(), Ok(()));
        drop(guided);
        assert!(Progress::beside(&file).is_file());
        assert_eq!(open().walkthrough.done(), 0, "kept twice");
    }

    #[test]
    fn progress_that_cannot_be_written_beside_its_file_is_kept_and_why_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        let state = StateFolder(UnsavedWork::within(folder.path().join("state")));
        let document = Document::open(None, BENCH.text).expect("an engine");
        let files = Files::new(Workspace::new(document), Arc::new(|| ()));
        let bench = Bench::new(&BENCH.engine(), &Assembly::default());
        let mut guided = Guided::open(&bench, &files, Some(&state));
        guided.file = Some(folder.path().join("no such folder/four.ron"));
        assert!(guided.walkthrough.tick(bench.phasing()));
        assert!(guided.keep().is_err());
        drop(guided);
        assert_eq!(
            Guided::open(&bench, &files, Some(&state))
                .walkthrough
                .done(),
            1
        );
    }

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
