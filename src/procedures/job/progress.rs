//! The build file: how far the builder has come, what was done when, and what was measured.
//!
//! It is kept beside the engine's file (`flat_four.build.ron` for `flat_four.ron`). A step that was
//! undone is kept as undone. Where the description has since moved the place of a step, the step is
//! open again. The older form, `flat_four.job.ron`, held the steps alone: it is read where there is
//! no build file.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::step::Step;
use super::steps::Job;
use super::way::Way;
use crate::diagnosis::Observations;
use crate::diagnosis::stage::{Sight, Stage};
use crate::source;

/// How far the builder has come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Progress {
    /// The version of this format: 1.
    pub(super) format: u32,
    /// The name of the engine it belongs to.
    pub(super) engine: String,
    /// What is built.
    #[serde(default)]
    pub(super) way: Way,
    /// How far the build has got; not stated before anything is done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) stage: Option<Stage>,
    /// What is not in yet, or cannot be seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) without: Vec<Sight>,
    /// What was done, in the order it was done.
    #[serde(default)]
    pub(super) done: Vec<Done>,
    /// What was seen, as in a file of sightings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) seen: Option<Observations>,
    /// Anything worth keeping with it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(super) notes: String,
}

/// A step that was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Done {
    /// The step's key.
    pub step: String,
    /// The place at which it was right, degrees; 0 where it has none.
    pub at: f64,
    /// The day, as `2026-11-26`, where it was noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// What was measured, by the names of the step's blanks, in the units of the description.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub readings: BTreeMap<String, f64>,
    /// Ticked by hand, and not because the engine was seen to stand so.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_hand: bool,
    /// Taken back since.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub undone: bool,
}

impl Done {
    /// When and how it was done: `done on 2026-11-26, ticked by hand`.
    pub fn words(&self) -> String {
        let on = self
            .on
            .as_ref()
            .map_or(String::new(), |on| format!(" on {on}"));
        let by_hand = if self.by_hand { ", ticked by hand" } else { "" };
        format!("done{on}{by_hand}")
    }
}

/// What is noted with a step when it is ticked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Noted {
    /// The day, as `2026-11-26`.
    pub on: Option<String>,
    /// What was measured, by the names of the step's blanks, in the units of the description.
    pub readings: BTreeMap<String, f64>,
    /// Ticked by hand, though the step can be seen on the model.
    pub by_hand: bool,
}

impl Progress {
    /// Nothing done yet, of a new build.
    pub fn none(engine: &str) -> Self {
        Self {
            format: 1,
            engine: engine.to_owned(),
            way: Way::default(),
            stage: None,
            without: Vec::new(),
            done: Vec::new(),
            seen: None,
            notes: String::new(),
        }
    }

    /// Whether nothing is in it that is worth keeping.
    pub fn is_empty(&self) -> bool {
        self.done.is_empty()
            && self.seen.is_none()
            && self.notes.is_empty()
            && self.without.is_empty()
            && self.stage.is_none()
            && self.way == Way::default()
    }

    /// The engine it was written for.
    pub fn engine(&self) -> &str {
        &self.engine
    }

    /// What is built.
    pub fn way(&self) -> Way {
        self.way
    }

    /// Another way is gone.
    pub fn set_way(&mut self, way: Way) {
        self.way = way;
    }

    /// How far the build has got, where it is stated.
    pub fn stage(&self) -> Option<Stage> {
        self.stage
    }

    /// The build has got so far.
    pub fn set_stage(&mut self, stage: Stage) {
        self.stage = Some(stage);
    }

    /// What is not in yet, or cannot be seen.
    pub fn without(&self) -> &[Sight] {
        &self.without
    }

    /// This is not in yet, or cannot be seen.
    pub fn set_without(&mut self, without: Vec<Sight>) {
        self.without = without;
    }

    /// What was seen.
    pub fn seen(&self) -> Option<&Observations> {
        self.seen.as_ref()
    }

    /// This was seen.
    pub fn set_seen(&mut self, seen: Option<Observations>) {
        self.seen = seen;
    }

    /// Anything worth keeping with it.
    pub fn notes(&self) -> &str {
        &self.notes
    }

    /// Other notes.
    pub fn set_notes(&mut self, notes: String) {
        self.notes = notes;
    }

    /// Everything that was done, what was undone since too, in the order it was done.
    pub fn done(&self) -> &[Done] {
        &self.done
    }

    /// How a step was done, where it is done and still belongs there.
    pub fn entry(&self, step: &Step) -> Option<&Done> {
        let last = self.done.iter().rfind(|done| done.step == step.key)?;
        (!last.undone && (last.at - step.place_deg()).abs() < 1e-3).then_some(last)
    }

    /// Whether a step is done, at the place where it still belongs.
    pub fn has(&self, step: &Step) -> bool {
        self.entry(step).is_some()
    }

    /// Ticks a step off; what was noted of it before, and was something else, is kept as undone.
    pub fn tick(&mut self, step: &Step, noted: Noted) {
        // Ticked again with nothing else measured, it is done as it was.
        if self
            .entry(step)
            .is_some_and(|done| done.readings == noted.readings)
        {
            return;
        }
        self.undo(step);
        self.done.push(Done {
            step: step.key.clone(),
            at: step.place_deg(),
            on: noted.on,
            readings: noted.readings,
            by_hand: noted.by_hand || step.is_by_hand(),
            undone: false,
        });
        self.stage = self.stage.max(Some(step.stage));
    }

    /// The first step of a job that is not done; None when the job is.
    pub fn next_open(&self, job: &Job) -> Option<usize> {
        job.steps.iter().position(|step| !self.has(step))
    }

    /// Takes a step back; false where it was not done.
    pub fn undo(&mut self, step: &Step) -> bool {
        let last = self.done.iter_mut().rfind(|done| done.step == step.key);
        let Some(last) = last.filter(|last| !last.undone) else {
            return false;
        };
        last.undone = true;
        true
    }

    /// Takes every step back.
    pub(super) fn clear(&mut self) {
        self.done.iter_mut().for_each(|done| done.undone = true);
        self.stage = None;
    }

    /// Where the build file of an engine's file is kept.
    pub fn beside(engine: &Path) -> PathBuf {
        engine.with_extension("build.ron")
    }

    /// The engine's file that a build file stands beside, by their names; None of a file that has
    /// no build file's name.
    pub fn engine_beside(build_file: &Path) -> Option<PathBuf> {
        let name = build_file.file_name()?.to_str()?;
        let stem = name.strip_suffix(".build.ron")?;
        Some(build_file.with_file_name(format!("{stem}.ron")))
    }

    /// The build file of an engine's file or, where there is none, the steps as they were kept
    /// before there were build files.
    pub fn find_beside(engine: &Path) -> Option<PathBuf> {
        let old = || engine.with_extension("job.ron");
        let mut kept = [Self::beside(engine), old()].into_iter();
        kept.find(|path| path.is_file())
    }

    /// Writes it.
    ///
    /// # Errors
    /// Where it cannot be written as RON.
    pub fn write(&self) -> Result<String, ron::Error> {
        source::options()
            .to_string_pretty(
                self,
                ron::ser::PrettyConfig::new()
                    .depth_limit(2)
                    .struct_names(false),
            )
            .map(|text| text + "\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Engine, scenes};
    use crate::phasing::Phasing;

    fn today() -> Noted {
        Noted {
            on: Some("2026-11-26".into()),
            ..Noted::default()
        }
    }

    #[test]
    fn progress_written_and_read_again_is_the_same_and_a_moved_step_is_open_again() {
        let phasing = Phasing::as_drawn(&scenes::find("marks_off_tdc").expect("a scene").engine());
        let job = Job::of(&phasing);
        let mut progress = Progress::none("Marks off TDC");
        let marks = job
            .steps
            .iter()
            .position(|step| step.key == "marks-meet")
            .expect("the step");
        job.steps
            .iter()
            .take(marks + 1)
            .for_each(|step| progress.tick(step, today()));
        progress.set_without(vec![Sight::Lamp]);
        progress.set_notes("Cold shed.".into());
        let again = Progress::read(&progress.write().expect("written")).expect("read");
        assert_eq!(again, progress);
        assert_eq!(again.next_open(&job), Some(marks + 1));

        let mut description = phasing.engine().written().clone();
        description.cam_drive.marks_meet_at = Some(description.cam_drive.marks_meet_at() + 10.0);
        let (moved, _) = Engine::new(description).expect("an engine");
        assert_eq!(
            again.next_open(&Job::of(&Phasing::as_drawn(&moved))),
            Some(marks),
            "what is ticked by hand has no place that could move"
        );
    }

    #[test]
    fn a_step_that_is_undone_stays_in_the_file_as_undone_and_can_be_done_again() {
        let job = Job::of(&Phasing::as_drawn(&scenes::BENCH.engine()));
        let step = job.step("tdc-stop").expect("the step");
        let mut progress = Progress::none("Bench four");
        let noted = |a: f64| Noted {
            readings: BTreeMap::from([("a".to_owned(), a)]),
            ..today()
        };
        progress.tick(step, noted(21.0));
        assert!(progress.undo(step) && !progress.undo(step) && !progress.has(step));
        progress.tick(step, noted(22.0));
        let again = Progress::read(&progress.write().expect("written")).expect("read");
        let kept: Vec<_> = again
            .done()
            .iter()
            .map(|done| (done.readings["a"], done.undone))
            .collect();
        assert_eq!(kept, [(21.0, true), (22.0, false)]);
        assert_eq!(again.entry(step).expect("done").readings["a"], 22.0);
    }

    #[test]
    fn the_steps_kept_before_there_were_build_files_are_read_where_there_is_no_build_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let engine = folder.path().join("four.ron");
        assert_eq!(Progress::find_beside(&engine), None);
        let old = folder.path().join("four.job.ron");
        let text = "(format: 1, engine: \"Bench four\", done: [(step: \"marks-meet\", at: 0.0)])";
        std::fs::write(&old, text).expect("written");
        assert_eq!(Progress::find_beside(&engine), Some(old));
        assert_eq!(
            Progress::engine_beside(&Progress::beside(&engine)),
            Some(engine.clone())
        );
        assert_eq!(Progress::engine_beside(&engine), None);
        let job = Job::of(&Phasing::as_drawn(&scenes::BENCH.engine()));
        let progress = Progress::read(text).expect("read");
        assert!(progress.has(job.step("marks-meet").expect("the step")));
        std::fs::write(Progress::beside(&engine), text).expect("written");
        assert_eq!(
            Progress::find_beside(&engine),
            Some(folder.path().join("four.build.ron"))
        );
    }

    #[test]
    fn progress_of_another_version_or_with_a_slip_is_refused_with_a_reason() {
        assert_eq!(
            Progress::read("(format: 2, engine: \"x\")").expect_err("refused")[0].name,
            "OutOfRange"
        );
        assert_eq!(
            Progress::read("(format: 1, engin: \"x\")").expect_err("refused")[0].name,
            "UnknownField"
        );
        assert_eq!(
            Progress::beside(Path::new("/b/flat.ron")),
            Path::new("/b/flat.build.ron")
        );
    }
}
