//! What was seen on the engine, what it comes to, and the file it is kept in.
//!
//! The diagnosis is worked out on another thread, and only when the observations or the engine have
//! changed; the window goes on meanwhile, and is woken when it is there.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use bevy::prelude::Resource;

use super::observation_panel::Outcome;
use crate::diagnosis::proof::{Proof, prove};
use crate::diagnosis::{Diagnosis, Observations, diagnose_by, observations};
use crate::document::unsaved::Unsaved;
use crate::document::{Saved, read_text};
use crate::engine::Engine;
use crate::output::paper::Paper;
use crate::output::{file, pdf, sheet};
use crate::phasing::Phasing;
use crate::source;
use crate::source::Finding;
use crate::window::app::dialogs::{Dialog, DialogResult, TypedPath, Wake};
use crate::window::session::build_stage::BuildStage;

/// The kind of file that observations are kept in, as the dialogs name it.
const KIND: (&str, &[&str]) = ("Sightings", &["ron"]);
/// The kind of file that a closing record is.
const RECORD: (&str, &[&str]) = ("PDF", &["pdf"]);

/// What the observations come to, as far as it is known.
enum Answer {
    Nothing,
    Wrong(Vec<Finding>),
    /// Pending of another thread, which puts its answer here.
    Pending(Arc<OnceLock<Diagnosis>>),
}

/// What was seen on the engine on the bench.
#[derive(Resource)]
pub(crate) struct ObservationSession {
    engine: Arc<Engine>,
    observations: Observations,
    saved: Saved<Observations>,
    answer: Answer,
    /// The proof from here, put here by another thread; None where it cannot have been seen so.
    proof: Option<Arc<OnceLock<Proof>>>,
    stage: BuildStage,
    dialog: Option<Dialog>,
    /// Where the closing record is to be written is being asked.
    record: Option<Dialog>,
    /// A path being typed, where no dialog could be had.
    pub(super) typing: Option<TypedPath>,
    notice: Option<String>,
    wake: Wake,
    /// Keeps the observations while they are unsaved.
    pub(super) unsaved: Option<Unsaved<Observations>>,
    /// What the engine's own unsaved work is kept under.
    engine_place: PathBuf,
    /// Observations left unsaved earlier, how long ago, until the user has decided about them.
    pub(super) offered: Option<(Observations, Duration)>,
    /// Whether the window has said so.
    pub(super) told: bool,
}

impl ObservationSession {
    /// Nothing seen yet on this engine; `wake` draws the window anew from another thread.
    pub(super) fn new(engine: &Arc<Engine>, wake: Wake) -> Self {
        let engine = Arc::clone(engine);
        Self {
            engine,
            observations: Observations::default(),
            saved: Saved::default(),
            answer: Answer::Nothing,
            proof: None,
            stage: BuildStage::default(),
            dialog: None,
            record: None,
            typing: None,
            notice: None,
            wake,
            unsaved: None,
            engine_place: PathBuf::new(),
            offered: None,
            told: false,
        }
    }

    /// Whether there is something that no file holds.
    fn is_unsaved(&self) -> bool {
        self.observations != Observations::default() && self.saved.is_changed(&self.observations)
    }

    /// What these observations are kept under while they are unsaved: their own file, or the
    /// engine's where they have none.
    fn kept_under(&self) -> PathBuf {
        let own = self.saved.path().map(Path::to_path_buf);
        own.unwrap_or_else(|| self.engine_place.join("sightings"))
    }

    /// The engine's unsaved work is kept under this. Where it is another engine's, and nothing has
    /// been observed here, what was left on that one is offered.
    pub(super) fn engine_is_of(&mut self, place: &Path) {
        if self.engine_place != place {
            self.engine_place = place.to_path_buf();
            if self.observations == Observations::default() {
                self.offer_kept();
            }
        }
    }

    fn offer_kept(&mut self) {
        let place = self.kept_under();
        self.offered = self
            .unsaved
            .as_mut()
            .and_then(|unsaved| unsaved.find(&place, |text| source::ron(text).0))
            .filter(|(observations, _)| *observations != self.observations);
        self.told = false;
    }

    /// The user takes up what was left unsaved, or throws it away.
    pub(super) fn decide(&mut self, take_up: bool) {
        if let Some((observations, _)) = self.offered.take()
            && take_up
        {
            self.set(observations);
        }
    }

    /// Gives what is unsaved now to be kept, and what is saved or given up to be forgotten.
    pub(super) fn keep_unsaved(&mut self) {
        // What was found stays until the user has decided.
        if self.offered.is_some() {
            return;
        }
        let (place, is_unsaved) = (self.kept_under(), self.is_unsaved());
        if let Some(unsaved) = &mut self.unsaved {
            unsaved.set(
                &place,
                is_unsaved.then_some(&self.observations),
                source::write,
            );
        }
    }

    /// What was seen; None where nothing was.
    pub(crate) fn seen(&self) -> Option<&Observations> {
        let something = self.observations != Observations::default();
        something.then_some(&self.observations)
    }

    /// Takes up what a build file holds, where nothing else was seen or is offered.
    pub(crate) fn take_up(&mut self, seen: &Observations) {
        if self.seen().is_none() && self.offered.is_none() {
            self.set(seen.clone());
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
            Answer::Pending(diagnosis) => diagnosis.get().map_or(Outcome::Working, |found| {
                Outcome::Found(found, self.stage.stage)
            }),
        }
    }

    /// The proof as far as it has got, once it is worked out; it is begun when it is first asked
    /// for.
    pub(super) fn proof(&mut self) -> Option<&Proof> {
        if self.proof.is_none() && !matches!(self.answer, Answer::Wrong(_)) {
            let answer = Arc::new(OnceLock::new());
            let (engine, observations, stage) = (
                Arc::clone(&self.engine),
                self.observations.clone(),
                self.stage.clone(),
            );
            let (wake, place) = (Arc::clone(&self.wake), Arc::clone(&answer));
            std::thread::spawn(move || {
                place.get_or_init(|| prove(&engine, &observations, stage.stage, &stage.without));
                wake();
            });
            self.proof = Some(answer);
        }
        self.proof.as_ref().and_then(|proof| proof.get())
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
    pub(super) fn refresh(&mut self, engine: &Arc<Engine>, stage: &BuildStage) {
        if !Arc::ptr_eq(&self.engine, engine) || self.stage != *stage {
            self.engine = Arc::clone(engine);
            self.stage = stage.clone();
            self.diagnose();
        }
        if let Some(answer) = self.record.as_ref().and_then(Dialog::answer) {
            self.record = None;
            match answer {
                DialogResult::Path(path) => self.write_record(&path, true),
                DialogResult::Cancelled => {}
                // It stands beside whatever the window was begun in, and never over a file.
                DialogResult::NoDialog => self.write_record(&self.record_name(), false),
            }
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

    pub(super) fn choose_record(&mut self) {
        if self.record.is_none() {
            let name = self.record_name();
            let title = "Write the closing record as";
            self.record = Some(Dialog::to_save(title, RECORD, &name, &self.wake));
        }
    }

    fn record_name(&self) -> PathBuf {
        self.suggested_name()
            .with_extension("")
            .with_extension("record.pdf")
    }

    /// Writes the closing record, filled from what was seen.
    fn write_record(&mut self, path: &Path, may_replace: bool) {
        let Some(proof) = self.proof().cloned() else {
            return;
        };
        let found = match &self.answer {
            Answer::Pending(diagnosis) => diagnosis.get(),
            Answer::Nothing | Answer::Wrong(_) => None,
        };
        let drawn = Phasing::as_drawn(&self.engine);
        let pages = sheet::record(
            &drawn,
            &proof,
            &self.observations,
            found,
            None,
            Paper::default(),
        );
        let title = format!("{}, closing record", self.engine.name());
        let written = pdf::document(&title, &pages)
            .map_err(|error| error.to_string())
            .and_then(|bytes| {
                file::whole(path, &bytes, may_replace).map_err(|error| error.to_string())
            });
        self.notice = Some(match written {
            Ok(()) => format!("The closing record is in {}.", path.display()),
            Err(why) => format!("Not written: {why}."),
        });
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
                // What is unsaved here is found again with its own file.
                if let Some(unsaved) = &mut self.unsaved {
                    unsaved.leave();
                }
                self.saved = Saved::new(Some(path.to_path_buf()), text, written.clone());
                self.set(written);
                self.offer_kept();
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
        self.proof = None;
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
        let (engine, observations, wake, place, sights) = (
            Arc::clone(&self.engine),
            self.observations.clone(),
            Arc::clone(&self.wake),
            Arc::clone(&answer),
            self.stage.sights(),
        );
        std::thread::spawn(move || {
            place.get_or_init(|| diagnose_by(&engine, &observations, &sights));
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
    use crate::diagnosis::observations::CamTeethOff;
    use crate::diagnosis::observations::{
        Observation, RotorObservation, ValveObservation, ValveState,
    };
    use crate::document::unsaved::UnsavedWork;
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
        let Outcome::Found(diagnosis, _) = session.outcome() else {
            panic!("an answer")
        };
        let sights = BuildStage::default().sights();
        assert_eq!(
            diagnosis,
            &diagnose_by(&BENCH.engine(), &rotor_at(1), &sights)
        );
    }

    #[test]
    fn another_engine_has_the_same_sightings_held_against_it() {
        let mut session = session();
        session.set(rotor_at(4));
        waited(&session);
        let single = scenes::find("single").expect("a scene").engine();
        session.refresh(&single, &BuildStage::default());
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
    fn unsaved_sightings_outlive_the_session_until_they_are_saved_or_thrown_away() {
        let folder = tempfile::tempdir().expect("a folder");
        let work = UnsavedWork::within(folder.path().join("state"));
        let begun = || {
            let mut session = session();
            session.unsaved = Unsaved::new(work.clone()).ok();
            session.engine_is_of(Path::new("/bench/four.ron"));
            session
        };
        let mut lost = begun();
        lost.set(rotor_at(3));
        lost.keep_unsaved();
        drop(lost);

        // Found again, and left undecided.
        let mut found = begun();
        let offered = found.offered.as_ref().map(|(found, _)| found);
        assert_eq!(offered, Some(&rotor_at(3)));
        found.keep_unsaved();
        drop(found);

        // Taken up, changed, and saved: nothing is left.
        let path = folder.path().join("four.seen.ron");
        let mut found = begun();
        found.decide(true);
        assert_eq!(found.observations(), &rotor_at(3));
        found.save(&path, false);
        found.keep_unsaved();
        drop(found);
        assert!(begun().offered.is_none());

        // Opened from their own file and changed, they are found with that file.
        let mut changed = begun();
        changed.open(&path);
        changed.set(rotor_at(4));
        changed.keep_unsaved();
        drop(changed);
        let mut again = begun();
        assert!(again.offered.is_none());
        again.open(&path);
        assert_eq!(again.observations(), &rotor_at(3));
        let offered = again.offered.as_ref().map(|(found, _)| found);
        assert_eq!(offered, Some(&rotor_at(4)));

        // Thrown away, they are gone.
        again.decide(false);
        again.keep_unsaved();
        drop(again);
        let mut again = begun();
        again.open(&path);
        assert!(again.offered.is_none());
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
        observations.sightings[0].cam_teeth_off = Some(CamTeethOff::Every(2));
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
