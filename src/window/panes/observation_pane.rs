//! What was seen on the engine, what it comes to, and the file it is kept in.
//!
//! The diagnosis is worked out on another thread, and only when the observations or the engine have
//! changed; the window goes on meanwhile, and is woken when it is there.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use bevy::prelude::*;
use bevy::winit::EventLoopProxyWrapper;
use egui::Ui;

use super::observation_panel;
use super::observation_panel::{ObservationEdit, Outcome};
use super::widgets::wrapped;
use super::{AddPane, Pane, Slot, always};
use crate::diagnosis::{Diagnosis, Observations, diagnose, observations};
use crate::document::{Saved, read_text};
use crate::engine::Engine;
use crate::output::file;
use crate::source::Finding;
use crate::window::app::dialogs;
use crate::window::app::dialogs::{Dialog, DialogResult, TypedPath, Wake};
use crate::window::input::crank::CrankInput;
use crate::window::panes::file_menu;
use crate::window::session::bench::Bench;

/// The kind of file that observations are kept in, as the dialogs name it.
const KIND: (&str, &[&str]) = ("Sightings", &["ron"]);

/// Adds the pane, with nothing seen yet.
pub(crate) struct ObservationPlugin;

impl Plugin for ObservationPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Startup, begin);
        app.add_pane(Pane {
            title: "What do you see?",
            slot: Slot::Right,
            there: always,
            show,
        });
    }
}

fn begin(bench: Res<Bench>, proxy: Option<Res<EventLoopProxyWrapper>>, mut commands: Commands) {
    commands.insert_resource(ObservationSession::new(
        bench.engine(),
        dialogs::wake(proxy.as_deref()),
    ));
}

fn show(ui: &mut Ui, world: &mut World) {
    if !world.contains_resource::<ObservationSession>() {
        return;
    }
    world.resource_scope(|world, mut session: Mut<ObservationSession>| {
        let bench = world.resource::<Bench>();
        session.refresh(bench.engine());
        if let Some(notice) = session.notice() {
            wrapped(ui, notice);
        }
        let edit = observation_panel::panel(
            ui,
            bench.engine(),
            session.observations(),
            bench.crank(),
            session.outcome(),
        );
        if let Some(typing) = &mut session.typing
            && let Some(path) = file_menu::path(ui, typing)
        {
            session.typed(path);
        }
        match edit {
            Some(ObservationEdit::Observed(observations)) => session.set(observations),
            Some(ObservationEdit::Open) => session.choose_file_to_open(),
            Some(ObservationEdit::Save) => session.choose_file_to_save(),
            Some(ObservationEdit::Pose(assembly, crank)) => {
                world.resource_scope(|world, mut input: Mut<CrankInput>| {
                    let mut bench = world.resource_mut::<Bench>();
                    input.stop(&bench);
                    bench.set_assembly(&assembly);
                    bench.turn_on_to(crank);
                });
            }
            None => {}
        }
    });
}

/// What the observations come to, as far as it is known.
enum Answer {
    Nothing,
    Wrong(Vec<Finding>),
    /// Pending of another thread, which puts its answer here.
    Pending(Arc<OnceLock<Diagnosis>>),
}

/// What was seen on the engine on the bench.
#[derive(Resource)]
pub(super) struct ObservationSession {
    engine: Arc<Engine>,
    observations: Observations,
    saved: Saved<Observations>,
    answer: Answer,
    dialog: Option<Dialog>,
    /// A path being typed, where no dialog could be had.
    pub typing: Option<TypedPath>,
    notice: Option<String>,
    wake: Wake,
}

impl ObservationSession {
    /// Nothing seen yet on this engine; `wake` draws the window anew from another thread.
    fn new(engine: &Arc<Engine>, wake: Wake) -> Self {
        let engine = Arc::clone(engine);
        Self {
            engine,
            observations: Observations::default(),
            saved: Saved::default(),
            answer: Answer::Nothing,
            dialog: None,
            typing: None,
            notice: None,
            wake,
        }
    }

    pub(super) fn observations(&self) -> &Observations {
        &self.observations
    }

    /// What they come to, as far as it is known.
    pub(super) fn outcome(&self) -> Outcome<'_> {
        match &self.answer {
            Answer::Nothing => Outcome::Nothing,
            Answer::Wrong(findings) => Outcome::Wrong(findings),
            Answer::Pending(diagnosis) => diagnosis.get().map_or(Outcome::Working, Outcome::Found),
        }
    }

    /// What a file did, or would not do.
    pub(super) fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
    }

    /// Takes what was seen, and begins to work out what it comes to.
    pub(super) fn set(&mut self, observations: Observations) {
        self.observations = observations;
        self.notice = None;
        self.diagnose();
    }

    /// Takes in the answer of a dialog; where there is another engine on the bench, the same
    /// observations are worked out for it.
    pub(super) fn refresh(&mut self, engine: &Arc<Engine>) {
        if !Arc::ptr_eq(&self.engine, engine) {
            self.engine = Arc::clone(engine);
            self.diagnose();
        }
        if let Some(answer) = self.dialog.as_ref().and_then(Dialog::answer) {
            let saving = self
                .dialog
                .take()
                .is_some_and(|dialog| dialog.is_for_saving());
            match answer {
                DialogResult::Path(path) => self.file(&path, saving, true),
                DialogResult::Cancelled => {}
                DialogResult::NoDialog => {
                    self.typing = Some(TypedPath {
                        path: self.suggested_name().display().to_string(),
                        saving,
                    });
                }
            }
        }
    }

    pub(super) fn choose_file_to_open(&mut self) {
        if self.dialog.is_none() {
            self.dialog = Some(Dialog::to_open("Open sightings", KIND, None, &self.wake));
        }
    }

    pub(super) fn choose_file_to_save(&mut self) {
        if self.dialog.is_none() {
            self.dialog = Some(Dialog::to_save(
                "Save the sightings as",
                KIND,
                &self.suggested_name(),
                &self.wake,
            ));
        }
    }

    /// A path was typed, or was not.
    pub(super) fn typed(&mut self, path: Option<PathBuf>) {
        if let (Some(typing), Some(path)) = (self.typing.take(), path) {
            self.file(&path, typing.saving, false);
        }
    }

    /// The name a file gets where the builder gives none.
    fn suggested_name(&self) -> PathBuf {
        let plain = |letter: char| {
            if letter.is_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '_'
            }
        };
        let name: String = self.engine.name().chars().map(plain).collect();
        PathBuf::from(format!("{name}.seen.ron"))
    }

    fn file(&mut self, path: &Path, saving: bool, may_replace: bool) {
        if saving {
            self.save(path, may_replace);
        } else {
            self.open(path);
        }
    }

    /// Reads observations. What cannot have been seen on this engine is taken all the same, with
    /// what is wrong with it; a text that holds no observations at all changes nothing but the
    /// notice.
    pub(super) fn open(&mut self, path: &Path) {
        let text = match read_text(path) {
            Ok(text) => text,
            Err(why) => {
                self.notice = Some(format!("{} could not be read: {why}.", path.display()));
                return;
            }
        };
        let read = observations::read(&text, &self.engine);
        match read.written {
            Some(written) => {
                self.saved = Saved::new(Some(path.to_path_buf()), text, written.clone());
                self.set(written);
            }
            None => {
                let first = read
                    .findings
                    .first()
                    .map_or(String::new(), |finding| format!(": {}", finding.message));
                self.notice = Some(format!("{} holds no sightings{first}.", path.display()));
            }
        }
    }

    /// Writes them, whole or not at all; what a file was opened or saved as keeps its comments.
    fn save(&mut self, path: &Path, may_replace: bool) {
        let text = self.saved.rewrite(&self.observations);
        let written = text.map_err(|error| error.to_string()).and_then(|text| {
            match file::whole(path, text.as_bytes(), may_replace) {
                Ok(()) => Ok(text),
                Err(error) => Err(error.to_string()),
            }
        });
        self.notice = Some(match written {
            Ok(text) => {
                let path = path.to_path_buf();
                let notice = format!("Saved as {}.", path.display());
                self.saved = Saved::new(Some(path), text, self.observations.clone());
                notice
            }
            Err(why) => format!("Not saved: {why}."),
        });
    }

    fn diagnose(&mut self) {
        self.answer = if self.observations.sightings.is_empty() {
            Answer::Nothing
        } else {
            let mut findings = observations::check::findings(&self.observations, &self.engine);
            findings.retain(Finding::is_error);
            if !findings.is_empty() {
                Answer::Wrong(findings)
            } else if self
                .observations
                .sightings
                .iter()
                .all(observations::Observation::is_empty)
            {
                // The crank's position alone says nothing: every assembly would fit.
                Answer::Nothing
            } else {
                Answer::Pending(self.spawn_diagnosis())
            }
        };
    }

    fn spawn_diagnosis(&self) -> Arc<OnceLock<Diagnosis>> {
        let answer = Arc::new(OnceLock::new());
        let (engine, observations, wake, place) = (
            Arc::clone(&self.engine),
            self.observations.clone(),
            Arc::clone(&self.wake),
            Arc::clone(&answer),
        );
        std::thread::spawn(move || {
            place.get_or_init(|| diagnose(&engine, &observations));
            wake();
        });
        answer
    }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;
    use crate::description::Valve;
    use crate::diagnosis::observations::{
        Observation, RotorObservation, ValveObservation, ValveState,
    };
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;

    fn session() -> ObservationSession {
        ObservationSession::new(&BENCH.engine(), Arc::new(|| ()))
    }

    fn rotor_at(tower: u32) -> Observations {
        let rotor = Some(RotorObservation {
            tower: Some(tower),
            ..RotorObservation::default()
        });
        Observations {
            sightings: vec![Observation {
                rotor,
                ..Observation::at(0.0)
            }],
            ..Observations::default()
        }
    }

    /// Waits for the answer, for ten seconds at most.
    fn waited(session: &ObservationSession) {
        let since = Instant::now();
        while matches!(session.outcome(), Outcome::Working)
            && since.elapsed() < Duration::from_secs(10)
        {
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    #[test]
    fn the_answer_comes_from_another_thread_and_is_the_librarys() {
        let mut session = session();
        session.set(rotor_at(1));
        waited(&session);
        let Outcome::Found(diagnosis) = session.outcome() else {
            panic!("an answer")
        };
        assert_eq!(diagnosis, &diagnose(&BENCH.engine(), &rotor_at(1)));
    }

    #[test]
    fn another_engine_has_the_same_sightings_held_against_it() {
        let mut session = session();
        session.set(rotor_at(4));
        waited(&session);
        session.refresh(&scenes::find("single").expect("a scene").engine());
        assert!(
            matches!(session.outcome(), Outcome::Wrong(_)),
            "a single has no No. 4"
        );
    }

    #[test]
    fn a_mark_alone_sets_nothing_going() {
        let mut session = session();
        session.set(Observations {
            sightings: vec![Observation::at(90.0)],
            ..Observations::default()
        });
        assert!(matches!(session.outcome(), Outcome::Nothing));
    }

    #[test]
    fn sightings_saved_and_opened_are_the_same() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.seen.ron");
        let mut kept = session();
        let mut sightings = rotor_at(3);
        sightings.sightings[0].valves = vec![ValveObservation {
            cylinder: 2,
            valve: Valve::Intake,
            is: ValveState::Open,
        }];
        sightings.body_turn = 4.5;
        kept.set(sightings.clone());
        kept.save(&path, false);
        assert_eq!(
            kept.notice(),
            Some(format!("Saved as {}.", path.display())).as_deref()
        );
        let mut opened = session();
        opened.open(&path);
        assert_eq!(opened.observations(), &sightings);
    }

    #[test]
    fn sightings_saved_over_their_file_keep_its_comments() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.seen.ron");
        let text = "(format: 1, sightings: [\n    // by torchlight\n    (crank: 0.0, cam_teeth_off: 1),\n])\n";
        std::fs::write(&path, text).expect("written");
        let mut session = session();
        session.open(&path);
        let mut observations = session.observations().clone();
        observations.sightings[0].cam_teeth_off = Some(2);
        session.set(observations);
        session.save(&path, true);
        assert_eq!(
            std::fs::read_to_string(&path).expect("read"),
            text.replace("cam_teeth_off: 1", "cam_teeth_off: 2")
        );
    }

    #[test]
    fn a_typed_path_never_writes_over_a_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("there.seen.ron");
        std::fs::write(&path, "already").expect("written");
        let mut session = session();
        session.set(rotor_at(1));
        session.typing = Some(TypedPath {
            path: String::new(),
            saving: true,
        });
        session.typed(Some(path.clone()));
        assert!(
            session
                .notice()
                .is_some_and(|notice| notice.starts_with("Not saved")),
            "{:?}",
            session.notice()
        );
        assert_eq!(std::fs::read_to_string(&path).expect("read"), "already");
    }

    #[test]
    fn a_file_that_is_not_there_or_holds_something_else_changes_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut session = session();
        session.set(rotor_at(1));
        session.open(&folder.path().join("absent.seen.ron"));
        assert!(
            session
                .notice()
                .is_some_and(|notice| notice.contains("could not be read"))
        );
        let path = folder.path().join("else.seen.ron");
        std::fs::write(&path, "not RON at all (").expect("written");
        session.open(&path);
        assert!(
            session
                .notice()
                .is_some_and(|notice| notice.contains("holds no sightings")),
            "{:?}",
            session.notice()
        );
        assert_eq!(session.observations(), &rotor_at(1));
    }
}
