//! What the builder has seen, what it comes to, and the file it is kept in.
//!
//! Observations are worked through on another thread, and only when they, or the engine, are others
//! than before; the window goes on meanwhile, and is woken when the answer is there.

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
use crate::engine::Engine;
use crate::output::file;
use crate::source::Finding;
use crate::source::LARGEST_BYTES;
use crate::window::app::dialogs;
use crate::window::app::dialogs::{Dialog, DialogResult, TypedPath, Wake};
use crate::window::input::crank::CrankInput;
use crate::window::panes::file_menu;
use crate::window::session::bench::Bench;

/// The kind of file that sightings are kept in.
const KIND: (&str, &[&str]) = ("Observations", &["ron"]);

/// Hangs the panel up, with nothing seen yet.
pub struct ObservationPlugin;

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
    commands.insert_resource(ObservationSession::on(
        bench.engine(),
        dialogs::wake(proxy.as_deref()),
    ));
}

fn show(ui: &mut Ui, world: &mut World) {
    if !world.contains_resource::<ObservationSession>() {
        return;
    }
    world.resource_scope(|world, mut seeing: Mut<ObservationSession>| {
        let bench = world.resource::<Bench>();
        seeing.keep_up(bench.engine());
        if let Some(notice) = seeing.notice() {
            wrapped(ui, notice);
        }
        let edit = observation_panel::panel(
            ui,
            bench.engine(),
            seeing.seen(),
            bench.crank(),
            seeing.outcome(),
        );
        if let Some(typing) = &mut seeing.typing
            && let Some(path) = file_menu::path(ui, typing)
        {
            seeing.typed(path);
        }
        match edit {
            Some(ObservationEdit::Seen(seen)) => seeing.see(seen),
            Some(ObservationEdit::Open) => seeing.ask_which_to_open(),
            Some(ObservationEdit::Save) => seeing.ask_where_to_save(),
            Some(ObservationEdit::Pose(assembly, crank)) => {
                world.resource_scope(|world, mut input: Mut<CrankInput>| {
                    let mut bench = world.resource_mut::<Bench>();
                    input.stop(&bench);
                    bench.set_assembly(&assembly);
                    bench.turn_on_to(crank);
                })
            }
            None => {}
        }
    });
}

/// How far the answer is.
enum Stage {
    Nothing,
    Wrong(Vec<Finding>),
    /// Asked of another thread, which puts its answer here.
    Asked(Arc<OnceLock<Diagnosis>>),
}

/// What was seen on the engine on the bench.
#[derive(Resource)]
pub struct ObservationSession {
    engine: Arc<Engine>,
    seen: Observations,
    stage: Stage,
    dialog: Option<Dialog>,
    /// A path being typed, where no dialog could be had.
    pub typing: Option<TypedPath>,
    notice: Option<String>,
    wake: Wake,
}

impl ObservationSession {
    /// Nothing seen yet on this engine; `wake` draws the window anew from another thread.
    pub fn on(engine: &Arc<Engine>, wake: Wake) -> Self {
        let engine = Arc::clone(engine);
        Self {
            engine,
            seen: Observations::default(),
            stage: Stage::Nothing,
            dialog: None,
            typing: None,
            notice: None,
            wake,
        }
    }

    /// The sightings.
    pub fn seen(&self) -> &Observations {
        &self.seen
    }

    /// What they come to, as far as it is known.
    pub fn outcome(&self) -> Outcome<'_> {
        match &self.stage {
            Stage::Nothing => Outcome::Nothing,
            Stage::Wrong(findings) => Outcome::Wrong(findings),
            Stage::Asked(answer) => answer.get().map_or(Outcome::Working, Outcome::Found),
        }
    }

    /// What a file did, or would not do.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
    }

    /// Takes sightings, and sets about them.
    pub fn see(&mut self, seen: Observations) {
        self.seen = seen;
        self.notice = None;
        self.work();
    }

    /// Takes in what a dialog has to say. Another engine on the bench: the same sightings are held
    /// against it.
    pub fn keep_up(&mut self, engine: &Arc<Engine>) {
        if !Arc::ptr_eq(&self.engine, engine) {
            self.engine = Arc::clone(engine);
            self.work();
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
                        path: self.suggested().display().to_string(),
                        saving,
                    })
                }
            }
        }
    }

    /// Asks which file to read.
    pub fn ask_which_to_open(&mut self) {
        if self.dialog.is_none() {
            self.dialog = Some(Dialog::to_open("Open sightings", KIND, None, &self.wake));
        }
    }

    /// Asks where to keep them.
    pub fn ask_where_to_save(&mut self) {
        if self.dialog.is_none() {
            self.dialog = Some(Dialog::to_save(
                "Save the sightings as",
                KIND,
                &self.suggested(),
                &self.wake,
            ));
        }
    }

    /// A path was typed, or was not.
    pub fn typed(&mut self, path: Option<PathBuf>) {
        if let (Some(typing), Some(path)) = (self.typing.take(), path) {
            self.file(&path, typing.saving, false);
        }
    }

    /// The name a file gets where the builder gives none.
    fn suggested(&self) -> PathBuf {
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

    /// Reads sightings. What cannot have been seen on this engine is taken in all the same, with
    /// what is wrong with it; a text that is no sightings at all changes nothing but the notice.
    pub fn open(&mut self, path: &Path) {
        let text = match text_of(path) {
            Ok(text) => text,
            Err(why) => {
                self.notice = Some(format!("{} could not be read: {why}.", path.display()));
                return;
            }
        };
        let read = observations::read(&text, &self.engine);
        match read.written {
            Some(written) => self.see(written),
            None => {
                let first = read
                    .findings
                    .first()
                    .map_or(String::new(), |finding| format!(": {}", finding.message));
                self.notice = Some(format!("{} holds no sightings{first}.", path.display()));
            }
        }
    }

    /// Writes them, whole or not at all.
    pub fn save(&mut self, path: &Path, may_replace: bool) {
        let text = observations::write(&self.seen).map_err(|error| error.to_string());
        let written = text.and_then(|text| {
            file::whole(path, text.as_bytes(), may_replace).map_err(|error| error.to_string())
        });
        self.notice = Some(match written {
            Ok(()) => format!("Saved as {}.", path.display()),
            Err(why) => format!("Not saved: {why}."),
        });
    }

    fn work(&mut self) {
        self.stage = if self.seen == Observations::default() || self.seen.sightings.is_empty() {
            Stage::Nothing
        } else {
            let mut findings = observations::check::findings(&self.seen, &self.engine);
            findings.retain(Finding::is_error);
            if !findings.is_empty() {
                Stage::Wrong(findings)
            } else if self
                .seen
                .sightings
                .iter()
                .all(observations::Observation::is_empty)
            {
                // A mark alone tells nothing: every way there is would fit.
                Stage::Nothing
            } else {
                Stage::Asked(self.set_about())
            }
        };
    }

    fn set_about(&self) -> Arc<OnceLock<Diagnosis>> {
        let answer = Arc::new(OnceLock::new());
        let (engine, seen, wake, place) = (
            Arc::clone(&self.engine),
            self.seen.clone(),
            Arc::clone(&self.wake),
            Arc::clone(&answer),
        );
        std::thread::spawn(move || {
            place.get_or_init(|| diagnose(&engine, &seen));
            wake();
        });
        answer
    }
}

/// The text of a file no larger than sightings can be.
fn text_of(path: &Path) -> Result<String, String> {
    let length = std::fs::metadata(path)
        .map_err(|error| error.to_string())?
        .len();
    if length > LARGEST_BYTES as u64 {
        return Err(format!("it has {length} bytes, and is some other file"));
    }
    std::fs::read_to_string(path).map_err(|error| error.to_string())
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

    fn seeing() -> ObservationSession {
        ObservationSession::on(&BENCH.engine(), Arc::new(|| ()))
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
    fn waited(seeing: &ObservationSession) {
        let since = Instant::now();
        while matches!(seeing.outcome(), Outcome::Working)
            && since.elapsed() < Duration::from_secs(10)
        {
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    #[test]
    fn the_answer_comes_from_another_thread_and_is_the_librarys() {
        let mut seeing = seeing();
        seeing.see(rotor_at(1));
        waited(&seeing);
        let Outcome::Found(diagnosis) = seeing.outcome() else {
            panic!("an answer")
        };
        assert_eq!(diagnosis, &diagnose(&BENCH.engine(), &rotor_at(1)));
    }

    #[test]
    fn another_engine_has_the_same_sightings_held_against_it() {
        let mut seeing = seeing();
        seeing.see(rotor_at(4));
        waited(&seeing);
        seeing.keep_up(&scenes::find("single").expect("a scene").engine());
        assert!(
            matches!(seeing.outcome(), Outcome::Wrong(_)),
            "a single has no No. 4"
        );
    }

    #[test]
    fn a_mark_alone_sets_nothing_going() {
        let mut seeing = seeing();
        seeing.see(Observations {
            sightings: vec![Observation::at(90.0)],
            ..Observations::default()
        });
        assert!(matches!(seeing.outcome(), Outcome::Nothing));
    }

    #[test]
    fn sightings_saved_and_opened_are_the_same() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.seen.ron");
        let mut kept = seeing();
        let mut sightings = rotor_at(3);
        sightings.sightings[0].valves = vec![ValveObservation {
            cylinder: 2,
            valve: Valve::Intake,
            is: ValveState::Open,
        }];
        sightings.body_turn = 4.5;
        kept.see(sightings.clone());
        kept.save(&path, false);
        assert_eq!(
            kept.notice(),
            Some(format!("Saved as {}.", path.display())).as_deref()
        );
        let mut opened = seeing();
        opened.open(&path);
        assert_eq!(opened.seen(), &sightings);
    }

    #[test]
    fn a_typed_path_never_writes_over_a_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("there.seen.ron");
        std::fs::write(&path, "already").expect("written");
        let mut seeing = seeing();
        seeing.see(rotor_at(1));
        seeing.typing = Some(TypedPath {
            path: String::new(),
            saving: true,
        });
        seeing.typed(Some(path.clone()));
        assert!(
            seeing
                .notice()
                .is_some_and(|notice| notice.starts_with("Not saved")),
            "{:?}",
            seeing.notice()
        );
        assert_eq!(std::fs::read_to_string(&path).expect("read"), "already");
    }

    #[test]
    fn a_file_that_is_not_there_or_holds_something_else_changes_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut seeing = seeing();
        seeing.see(rotor_at(1));
        seeing.open(&folder.path().join("absent.seen.ron"));
        assert!(
            seeing
                .notice()
                .is_some_and(|notice| notice.contains("could not be read"))
        );
        let path = folder.path().join("else.seen.ron");
        std::fs::write(&path, "not RON at all (").expect("written");
        seeing.open(&path);
        assert!(
            seeing
                .notice()
                .is_some_and(|notice| notice.contains("holds no sightings")),
            "{:?}",
            seeing.notice()
        );
        assert_eq!(seeing.seen(), &rotor_at(1));
    }
}
