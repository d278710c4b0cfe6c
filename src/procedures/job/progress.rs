//! How far the builder has come: the steps done, each with the place at which it was right.
//!
//! It is kept beside the engine's file (`flat_four.job.ron` for `flat_four.ron`). Where the
//! description has since moved that place, the step is open again.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::step::Step;
use crate::engine::DescriptionFault;
use crate::source;
use crate::source::Finding;

/// How far the builder has come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Progress {
    /// The version of this format: 1.
    format: u32,
    /// The name of the engine it belongs to.
    engine: String,
    #[serde(default)]
    done: Vec<Done>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Done {
    /// The step's key.
    step: String,
    /// The place at which it was right, degrees.
    at: f64,
}

impl Progress {
    /// Nothing done yet.
    pub fn none(engine: &str) -> Self {
        Self {
            format: 1,
            engine: engine.to_owned(),
            done: Vec::new(),
        }
    }

    /// Whether a step is done, at the place where it still belongs.
    pub fn has(&self, step: &Step) -> bool {
        self.done
            .iter()
            .any(|done| done.step == step.key && (done.at - step.place_deg()).abs() < 1e-3)
    }

    pub(super) fn tick(&mut self, step: &Step) {
        self.open(step);
        self.done.push(Done {
            step: step.key.clone(),
            at: step.place_deg(),
        });
    }

    pub(super) fn clear(&mut self) {
        self.done.clear();
    }

    fn open(&mut self, step: &Step) {
        self.done.retain(|done| done.step != step.key);
    }

    /// Where the progress of an engine's file is kept.
    pub fn beside(engine: &Path) -> PathBuf {
        engine.with_extension("job.ron")
    }

    /// Reads it.
    ///
    /// # Errors
    /// With what is wrong with the text.
    pub fn read(text: &str) -> Result<Self, Vec<Finding>> {
        match source::ron::<Self>(text) {
            (Some(progress), findings) if findings.is_empty() && progress.format == 1 => {
                Ok(progress)
            }
            (Some(progress), findings) if findings.is_empty() => Err(vec![
                Finding::error(DescriptionFault::OutOfRange, "format")
                    .message(format!("`format` is {}; 1 is allowed", progress.format))
                    .why("another version of this program wrote it")
                    .fix("begin the job again, or open it with the program that wrote it"),
            ]),
            (_, findings) => Err(findings),
        }
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
    use crate::procedures::job::Job;

    #[test]
    fn progress_written_and_read_again_is_the_same_and_a_moved_step_is_open_again() {
        let phasing = Phasing::as_drawn(&scenes::find("marks_off_tdc").expect("a scene").engine());
        let job = Job::of(&phasing);
        let mut progress = Progress::none("Marks off TDC");
        job.steps
            .iter()
            .take(2)
            .for_each(|step| progress.tick(step));
        let again = Progress::read(&progress.write().expect("written")).expect("read");
        assert_eq!(again, progress);
        assert_eq!(job.next_open(&again), Some(2));

        let mut description = phasing.engine().written().clone();
        description.cam_drive.marks_meet_at += 10.0;
        let (moved, _) = Engine::new(description).expect("an engine");
        assert_eq!(
            Job::of(&Phasing::as_drawn(&moved)).next_open(&again),
            Some(0)
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
            Path::new("/b/flat.job.ron")
        );
    }
}
