//! The guided job and the questions in the window: each has its pane on the right, and turns and
//! assembles the engine on the bench as it needs it.

mod by_hand;
mod guide;
mod on_the_model;
pub(super) mod start;
mod teaching;

use std::path::{Path, PathBuf};

use bevy::picking::mesh_picking::ray_cast::MeshRayCast;
use bevy::prelude::*;
use bevy_panorbit_camera::PanOrbitCamera;
use egui::Ui;

use self::by_hand::{Hand, HandResponse};
use super::app::schedule::FrameSet;
use super::app::viewport::EngineViewport;
use super::panes::document::{self, OpenDocument};
use super::panes::observation_session::ObservationSession;
use super::panes::removed_drive;
use super::panes::{AddPane, Pane, Panes, Slot, always};
use super::scene::look::{LookAt, LookPlugin};
use super::scene::parts_shown::{Names, part_along};
use super::session::bench::{Bench, BenchState};
use super::session::build_stage::BuildStage;
use super::session::open_question::OpenQuestion;
use super::session::storage::{Files, StateFolder};
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::job_steps;
use crate::diagnosis::stage::Sight;
use crate::document::unsaved::Unsaved;
use crate::document::workspace::Notice;
use crate::engine::Assembly;
use crate::geometry::crank_input::Pace;
use crate::history::History;
use crate::output::file;
use crate::phasing::Phasing;
use crate::procedures::LooksAt;
use crate::procedures::job::{
    Hurried, NotIn, Noted, Progress, TakeOver, Walkthrough, Way, take_over,
};
use crate::quiz::{QuestionKind, Quiz};

/// The title of the guided job's pane.
const JOB: &str = "Guided job";
/// The title of the questions' pane.
const QUESTIONS: &str = "Questions";

/// Guides through the job, and asks.
pub(crate) struct LessonsPlugin;

impl Plugin for LessonsPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Teaching>()
            .init_resource::<OpenQuestion>();
        app.add_plugins(LookPlugin);
        app.add_systems(Update, put_in_on_the_model.in_set(FrameSet::Input));
        app.add_systems(
            Update,
            (
                answered_on_the_model,
                keep_open_question,
                another_engine,
                share_build,
                follow_bench,
                remember,
            )
                .chain()
                .after(document::follow_outside)
                .in_set(FrameSet::External),
        );
        app.add_pane(Pane {
            title: JOB,
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
    /// The job is on: begun, or gone on with, since the engine was opened.
    begun: bool,
    /// How the bench stood before each thing that was done by hand, and how it stood last.
    history: History<BenchState>,
    stood: Option<BenchState>,
    /// When a step was ticked last, seconds since the window opened.
    ticked_s: Option<f64>,
    /// The cylinder whose lead is in hand.
    lead: Option<u8>,
    /// What the pointer has hold of on the model.
    held: Option<on_the_model::Held>,
    /// The part that the eye was brought to.
    eye: Option<LooksAt>,
    pace: Pace,
    /// How often the crank had been set to a place when it was looked at last.
    poses: u32,
    /// What was not in when the stage was told so last.
    told_not_in: NotIn,
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
            begun: false,
            history: History::default(),
            stood: None,
            ticked_s: None,
            lead: None,
            held: None,
            eye: None,
            pace: Pace::default(),
            poses: bench.poses(),
            told_not_in: NotIn::default(),
            is_new: true,
            unsaved,
            kept_under,
        }
    }

    /// Whether a camshaft that is taken out comes out of its bearings, or its wheel alone.
    fn comes_out_of_its_bearings(&self) -> bool {
        let progress = self.walkthrough.progress();
        let mut steps = self.walkthrough.job().steps.iter();
        let slid_in = steps.any(|step| step.key == job_steps::CAM_IN.key && progress.has(step));
        progress.way() != Way::FrontOpened && !slid_in
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
    before: Option<BenchState>,
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

/// Takes over where crank and rotor stand on the bench, and what is not in.
fn follow_bench(
    bench: Res<Bench>,
    time: Res<Time<Real>>,
    mut stage: ResMut<BuildStage>,
    guided: Option<ResMut<Guided>>,
) {
    let Some(mut guided) = guided else { return };
    let guided = &mut *guided.bypass_change_detection();
    let (from, to) = (guided.walkthrough.state().crank, bench.crank());
    let turn = from.nearest_to(to);
    let was_set = guided.poses != bench.poses();
    guided.poses = bench.poses();
    let turned = if was_set { CrankTurn::new(0.0) } else { turn };
    let slowly = guided.pace.turned(turned, time.delta_secs_f64());
    if was_set {
        guided.walkthrough.hurried_to(to, Hurried::Set);
    } else if from != to && !slowly {
        guided.walkthrough.hurried_to(to, Hurried::TooFast);
    } else if from != to {
        guided.walkthrough.turned_to(to);
    }
    guided.walkthrough.slack_is(bench.slack().is_wrong());
    let held = bench.drive_out().map(|out| out.rotor);
    guided.walkthrough.rotor_is_held(held);
    let not_in = bench.not_in();
    if guided.walkthrough.state().not_in != not_in {
        guided.walkthrough.is_not_in(not_in.clone());
    }
    if guided.told_not_in != not_in {
        let before = std::mem::replace(&mut guided.told_not_in, not_in).sights();
        let now = without(&stage, &before, &guided.told_not_in.sights());
        stage.set_if_neq(now);
    }
}

/// The stage once this cannot be looked at for want of a part, and `before` that could not: what has
/// gone in can be looked at again.
fn without(stage: &BuildStage, before: &[Sight], now: &[Sight]) -> BuildStage {
    let mut stage = stage.clone();
    let has_gone_in = |sight: &Sight| before.contains(sight) && !now.contains(sight);
    stage.without.retain(|sight| !has_gone_in(sight));
    for sight in now {
        if stage.stage.sights().contains(sight) && !stage.without.contains(sight) {
            stage.without.push(*sight);
        }
    }
    stage
}

/// While the job is on, parts are taken hold of on the model.
fn put_in_on_the_model(
    panes: Res<Panes>,
    guided: Option<ResMut<Guided>>,
    mut pointer: on_the_model::Pointer,
    mut viewport: ResMut<EngineViewport>,
    mut bench: ResMut<Bench>,
) {
    let Some(mut guided) = guided else { return };
    let guided = guided.bypass_change_detection();
    if !guided.begun || panes.chosen() != Some(JOB) {
        return;
    }
    let before = bench.state();
    // Only what is done changes the bench.
    let bench_now = bench.bypass_change_detection();
    let viewport = viewport.bypass_change_detection();
    let held = &mut guided.held;
    let does = on_the_model::follow(held, &mut pointer, viewport, bench_now, guided.lead);
    if let Some(does) = does {
        by_hand(guided, &mut bench, does);
    } else if bench.state() != before {
        bench.set_changed();
    }
}

/// Does with a part what the user asked for; undo comes back to how the bench stood.
fn by_hand(guided: &mut Guided, bench: &mut Bench, does: HandResponse) {
    // What is done with a press is undone by itself.
    guided.history.separate();
    match does {
        HandResponse::TurnCam(camshaft, teeth) => bench.turn_cam(camshaft, teeth),
        HandResponse::LayCamIn(camshaft) => bench.lay_cam_in(camshaft),
        HandResponse::SlideCamsIn => bench.slide_cams_in(),
        HandResponse::TakeCamOut(camshaft) => {
            bench.take_cam_out(camshaft, guided.comes_out_of_its_bearings());
        }
        HandResponse::TurnShaft(clockwise_deg) => bench.turn_shaft(clockwise_deg),
        HandResponse::MeshShaft => bench.mesh_shaft(),
        HandResponse::DrawShaft => bench.draw_shaft(),
        HandResponse::Take(lead) => guided.lead = Some(lead),
        HandResponse::Plug(lead, place) => {
            bench.plug(lead, place);
            guided.lead = None;
        }
        HandResponse::Unplug(lead) => bench.unplug(lead),
        HandResponse::Undo => {
            if let Some(state) = guided.history.undo(bench.state()) {
                bench.put_back(&state);
            }
            guided.stood = Some(bench.state());
        }
        HandResponse::Redo => {
            if let Some(state) = guided.history.redo(bench.state()) {
                bench.put_back(&state);
            }
            guided.stood = Some(bench.state());
        }
        // Lifted, held and let down by the pane's own hand, which all of them share.
        HandResponse::Drive(_) => {}
    }
}

/// Keeps how the bench stood before something was put in, taken out, or held otherwise, wherever in
/// the window that was done.
fn remember(
    bench: Res<Bench>,
    time: Res<Time<Real>>,
    buttons: Option<Res<ButtonInput<MouseButton>>>,
    teaching: Option<Res<Teaching>>,
    guided: Option<ResMut<Guided>>,
) {
    let Some(mut guided) = guided else { return };
    let guided = guided.bypass_change_detection();
    // A drag is one change, made when it ends; so is a drive that goes down.
    let is_dragged = buttons.is_some_and(|buttons| buttons.pressed(MouseButton::Left));
    let is_asked = teaching.is_some_and(|teaching| teaching.quiz.is_some());
    if !guided.begun || is_dragged || is_asked || bench.is_seating() {
        return;
    }
    let now = bench.state();
    if let Some(before) = &mut guided.stood
        && !now.is_put_together_as(before)
    {
        let now_s = time.elapsed_secs_f64();
        if now.has_out_what(before) {
            guided.history.push_joined(before.clone(), "held", now_s);
        } else {
            guided.history.push(before.clone());
        }
    }
    guided.stood = Some(now);
}

fn guided(ui: &mut Ui, world: &mut World) {
    if world.resource::<Teaching>().quiz.is_some() {
        ui.label("A question stands on the bench. Stop the questions to go on with the job.");
        return;
    }
    if !world.contains_resource::<Guided>() {
        return;
    }
    let ask = world.resource_scope(|world, mut guided: Mut<Guided>| {
        let bench = world.resource::<Bench>();
        let guided = guided.bypass_change_detection();
        if !guided.begun {
            return guide::start(ui, &guided.walkthrough, bench.phasing());
        }
        let verdict = guided.walkthrough.check(bench.phasing());
        let mut readings = std::mem::take(guided.readings());
        let hand = Hand {
            lead: guided.lead,
            can_undo: guided.history.can_undo(),
            can_redo: guided.history.can_redo(),
        };
        let job = (&guided.walkthrough, bench);
        let ask = guide::panel(ui, job, &mut readings, &verdict, hand);
        *guided.readings() = readings;
        let over = guided.measured_elsewhere(world.resource::<Bench>().phasing());
        let ask = guide::measured_elsewhere(ui, over).or(ask);
        bring_the_eye(guided, world);
        ask
    });
    let Some(ask) = ask else {
        return;
    };
    world.resource_scope(|world, mut guided: Mut<Guided>| act(&mut guided, world, ask));
    ui.ctx().request_repaint();
}

/// Brings the eye to the part that the step at hand is about, once: from then on it is the user's,
/// until a step is about another part.
fn bring_the_eye(guided: &mut Guided, world: &mut World) {
    let Some(step) = guided.walkthrough.step() else {
        return;
    };
    let part = step.looks_at();
    if guided.eye != Some(part) {
        guided.eye = Some(part);
        world.write_message(LookAt(part));
    }
}

/// Does what the user asked for in the job's pane.
fn act(guided: &mut Guided, world: &mut World, ask: guide::GuideResponse) {
    match ask {
        guide::GuideResponse::GoTo(index) => guided.walkthrough.go_to(index),
        guide::GuideResponse::Tick => tick(guided, world),
        guide::GuideResponse::Undo => {
            let at = guided.walkthrough.at();
            if guided.walkthrough.undo(at) {
                keep(guided, world);
            }
        }
        guide::GuideResponse::Go(way) => {
            let bench = world.resource::<Bench>();
            guided.walkthrough.go_by(bench.phasing(), way);
            // Another way has other parts out.
            guided.begun = false;
            keep(guided, world);
        }
        guide::GuideResponse::BeginAgain => {
            guided.walkthrough.begin_again();
            guided.begun = false;
            keep(guided, world);
        }
        guide::GuideResponse::Begin { apart } => begin(guided, world, apart),
        guide::GuideResponse::Show => show(guided, world),
        guide::GuideResponse::Look(index) => look(guided, world, index),
        guide::GuideResponse::Hand(HandResponse::Drive(does)) => {
            removed_drive::apply(world, does);
        }
        guide::GuideResponse::Hand(does) => {
            by_hand(guided, &mut world.resource_mut::<Bench>(), does);
        }
        guide::GuideResponse::TakeOver => take_measured_over(guided, world),
    }
}

/// Ticks the step at hand off; the stage moves on with the job. A press that follows the last tick at
/// once was meant for that: the next step has not been read.
fn tick(guided: &mut Guided, world: &mut World) {
    const READ_S: f64 = 0.5;
    let now_s = world.resource::<Time<Real>>().elapsed_secs_f64();
    if guided.ticked_s.is_some_and(|at_s| now_s - at_s < READ_S) {
        return;
    }
    let noted = Noted {
        on: Some(jiff::ZonedDateTime::now().date().to_string()),
        readings: guided.readings().clone(),
        by_hand: false,
    };
    let phasing = world.resource::<Bench>().phasing();
    if !guided.walkthrough.tick_noted(phasing, noted) {
        return;
    }
    guided.ticked_s = Some(now_s);
    if let Some(next) = guided.walkthrough.step().map(|step| step.stage) {
        let sights = guided.told_not_in.sights();
        let mut stage = world.resource_mut::<BuildStage>();
        stage.stage = next;
        let now = without(&stage, &[], &sights);
        stage.set_if_neq(now);
    }
    keep(guided, world);
}

/// Takes the engine apart as far as the steps done say, the crank well before the place where the
/// marks meet; or goes on with it as it stands.
fn begin(guided: &mut Guided, world: &mut World, apart: bool) {
    /// Far enough from any mark for none to be right by chance.
    const BEFORE_DEG: f64 = 100.0;
    guided.begun = true;
    guided.stood = None;
    guided.eye = None;
    let mut bench = world.resource_mut::<Bench>();
    if !apart {
        return;
    }
    guided.stood = Some(bench.state());
    let not_in = guided.walkthrough.not_in_by_progress(bench.phasing());
    bench.take_apart(&Assembly::default(), &not_in);
    if !not_in.camshafts.is_empty() {
        let meet = bench.engine().metric().cam_drive.marks_meet_at();
        bench.turn_on_to(CrankAngle::new(meet) - CrankTurn::new(BEFORE_DEG));
    }
}

/// Sets the model to the step's place; what is right already needs no showing.
fn show(guided: &mut Guided, world: &mut World) {
    let mut bench = world.resource_mut::<Bench>();
    let walkthrough = &mut guided.walkthrough;
    let is_right = walkthrough.check(bench.phasing()).is_right();
    let place = walkthrough.step().map(|step| step.crank);
    if let Some(place) = place.filter(|_| !is_right) {
        bench.turn_on_to(place);
        walkthrough.was_shown(bench.crank());
        guided.poses = bench.poses();
        guided.eye = None;
    }
}

/// Looks at a witness of the step at hand: the eye goes to where it is seen.
fn look(guided: &mut Guided, world: &mut World, index: usize) {
    let step = guided.walkthrough.step();
    let witness = step.and_then(|step| step.witnesses.get(index));
    if let Some((name, at)) = witness.map(|witness| (witness.name.clone(), witness.looks_at)) {
        guided.walkthrough.looked_at(&name);
        world.write_message(LookAt(at));
    }
}

/// What was measured goes into the description.
fn take_measured_over(guided: &mut Guided, world: &mut World) {
    let over = guided.measured_elsewhere(world.resource::<Bench>().phasing());
    let description = over.description.clone();
    let place = over.changes.first().map_or("", |change| change.path);
    let now_s = world.resource::<Time<Real>>().elapsed_secs_f64();
    if let Some(mut open) = world.get_resource_mut::<OpenDocument>() {
        open.0.edit(description, place, now_s);
    }
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
            teaching.before = Some(bench.state());
            pose(teaching, &mut bench);
            aim(teaching, world);
        }
        (teaching::QuizResponse::Answer(choice), Some(quiz)) => quiz.answer(choice),
        (teaching::QuizResponse::Show, Some(quiz)) => quiz.show(),
        (teaching::QuizResponse::Next, Some(quiz)) => {
            quiz.next();
            pose(teaching, &mut bench);
            aim(teaching, world);
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
    if let Some(before) = teaching.before.take() {
        bench.put_back(&before);
    }
}

/// Brings the eye to where a question is answered.
fn aim(teaching: &Teaching, world: &mut World) {
    if let Some(quiz) = &teaching.quiz {
        let part = quiz.question().looks_at;
        world.write_message(LookAt(part));
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

    use bevy::ecs::system::RunSystemOnce;

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
    fn a_job_begun_apart_is_right_only_once_a_part_is_put_in_right_and_undo_takes_it_out_again() {
        let document = Document::open(None, BENCH.text).expect("an engine");
        let files = Files::new(Workspace::new(document), Arc::new(|| ()));
        let out = Assembly {
            cam_teeth: 1,
            ..Assembly::default()
        };
        let bench = Bench::new(&BENCH.engine(), &out);
        let mut world = World::new();
        world.insert_resource(Guided::open(&bench, &files, None));
        world.insert_resource(bench);
        world.init_resource::<BuildStage>();
        world.init_resource::<Time<Real>>();
        world.init_resource::<Messages<LookAt>>();
        let does = |world: &mut World, ask| {
            world.resource_scope(|world, mut guided: Mut<Guided>| act(&mut guided, world, ask));
            world.run_system_once(follow_bench).expect("run");
            world.run_system_once(remember).expect("run");
        };
        let hand = |does| guide::GuideResponse::Hand(does);
        let is_right = |world: &World| {
            let walkthrough = &world.resource::<Guided>().walkthrough;
            walkthrough
                .check(world.resource::<Bench>().phasing())
                .is_right()
        };
        let cam_is_out = |world: &World| world.resource::<Bench>().apart().has_cam_out();
        let no_dots = |world: &World| {
            world
                .resource::<BuildStage>()
                .without
                .contains(&Sight::Dots)
        };

        does(&mut world, guide::GuideResponse::Begin { apart: true });
        assert!(world.resource::<Bench>().assembly().is_as_drawn());
        assert!(cam_is_out(&world) && no_dots(&world));
        let steps = &world.resource::<Guided>().walkthrough.job().steps;
        let marks = steps.iter().position(|step| step.key == "marks-meet");
        does(
            &mut world,
            guide::GuideResponse::GoTo(marks.expect("the step")),
        );
        world
            .resource_mut::<Bench>()
            .turn_on_to(CrankAngle::new(0.0));
        world.run_system_once(remember).expect("run");
        does(&mut world, hand(HandResponse::LayCamIn(0)));
        assert!(!is_right(&world) && !cam_is_out(&world), "four teeth out");
        assert!(!no_dots(&world));
        does(&mut world, hand(HandResponse::Undo));
        assert!(cam_is_out(&world));
        does(&mut world, hand(HandResponse::TurnCam(0, 4)));
        does(&mut world, hand(HandResponse::LayCamIn(0)));
        assert!(is_right(&world));
        does(&mut world, guide::GuideResponse::Tick);
        assert_eq!(world.resource::<Guided>().walkthrough.done(), 1);
        // Undone and made again, it stands as it did.
        does(&mut world, hand(HandResponse::Undo));
        assert!(cam_is_out(&world));
        does(&mut world, hand(HandResponse::Redo));
        assert!(!cam_is_out(&world) && world.resource::<Bench>().assembly().is_as_drawn());
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
