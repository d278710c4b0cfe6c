//! What of the engine is not in yet: the job begins with it apart, and each part is put in at its
//! own step.

use super::progress::Progress;
use super::step::Condition;
use super::steps::Job;
use super::way::Way;
use crate::description::job_steps as keys;
use crate::diagnosis::stage::Sight;
use crate::engine::Engine;
use crate::words::{capitalised, cylinders};

/// What of an engine is not in yet. The default is an engine that is whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NotIn {
    /// The camshafts that are out of mesh, counted from 0 as they are described.
    pub camshafts: Vec<usize>,
    /// Those camshafts are out of their bearings too: they move no valve.
    pub bearings: bool,
    /// The geared shaft under the distributor is drawn.
    pub shaft: bool,
    /// The distributor is out.
    pub distributor: bool,
    /// The cylinders whose leads are on nothing yet, by number.
    pub leads: Vec<u8>,
}

impl NotIn {
    /// What is not in where these steps of a job are done: a part is in once its own step is.
    pub fn after(engine: &Engine, job: &Job, progress: &Progress) -> Self {
        let to_do = |key: &str| job.step(key).is_some_and(|step| !progress.has(step));
        let leads = job.steps.iter().filter(|step| !progress.has(step));
        let leads = leads.flat_map(|step| match &step.right {
            Condition::Lead { cylinder, .. } => vec![*cylinder],
            Condition::CoilPlugged { cylinders, .. } => cylinders.clone(),
            _ => Vec::new(),
        });
        let mut leads: Vec<u8> = leads.collect();
        leads.sort_unstable();
        let cam_is_out = to_do(keys::MARKS_MEET.key);
        // A camshaft cannot go in past a distributor's drive that is in mesh with it.
        let drives_it = engine.metric().driving_camshaft().is_some();
        let all_is_out = progress.way() != Way::FrontOpened;
        let goes_after = all_is_out && cam_is_out && drives_it;
        let distributor =
            to_do(keys::ROTOR_HOME.key) || goes_after && job.step(keys::ROTOR_HOME.key).is_some();
        let shaft =
            to_do(keys::SHAFT_MESH.key) || goes_after && job.step(keys::SHAFT_MESH.key).is_some();
        Self {
            camshafts: if cam_is_out {
                (0..engine.camshaft_count()).collect()
            } else {
                Vec::new()
            },
            bearings: cam_is_out && all_is_out,
            shaft,
            distributor: distributor || shaft,
            leads,
        }
    }

    /// Whether everything is in.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    /// What cannot be looked at for want of it.
    pub fn sights(&self) -> Vec<Sight> {
        let mut sights = Vec::new();
        if !self.camshafts.is_empty() {
            sights.extend([Sight::Dots, Sight::Lobes, Sight::Valves, Sight::Thumb]);
        }
        if self.distributor {
            sights.extend([Sight::Rotor, Sight::Lamp]);
        }
        if !self.leads.is_empty() {
            sights.push(Sight::Leads);
        }
        if self.distributor || !self.leads.is_empty() {
            sights.push(Sight::Strobe);
        }
        sights
    }

    /// What is out, in a sentence; None where nothing is.
    pub fn words(&self, engine: &Engine) -> Option<String> {
        let mut out = Vec::new();
        let names = self.camshafts.iter().map(|&camshaft| {
            let name = if engine.has_several_camshafts() {
                engine.camshaft_name(camshaft)
            } else {
                "camshaft"
            };
            let wheel = if self.bearings { "" } else { "'s wheel" };
            format!("the {name}{wheel}")
        });
        out.extend(names);
        if self.distributor {
            out.push("the distributor".to_owned());
        }
        if self.shaft {
            out.push("the distributor's shaft".to_owned());
        }
        if self.leads.len() == engine.cylinder_count() {
            out.push("every lead".to_owned());
        } else if !self.leads.is_empty() {
            let lead = if self.leads.len() == 1 {
                "lead"
            } else {
                "leads"
            };
            out.push(format!("the {lead} of {}", cylinders(&self.leads)));
        }
        let (last, others) = out.split_last()?;
        let listed = if others.is_empty() {
            last.clone()
        } else {
            format!("{} and {last}", others.join(", "))
        };
        Some(format!("Not in yet: {}.", listed.trim()))
    }

    /// The first camshaft that is out, and what must be done about it before anything is timed by
    /// it; None where all are in.
    pub(super) fn camshaft(&self, engine: &Engine) -> Option<String> {
        let name = engine.camshaft_name(*self.camshafts.first()?);
        let name = if engine.has_several_camshafts() {
            format!("the {name}")
        } else {
            "the camshaft".to_owned()
        };
        Some(format!(
            "{} is not in: until it is, nothing tells the crank's two turns apart. Lay its wheel in first.",
            capitalised(&name)
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;
    use crate::engine::scenes::SCENES;
    use crate::phasing::Phasing;
    use crate::procedures::job::Noted;

    fn begun(scene: &str, way: Way) -> (std::sync::Arc<Engine>, Job, Progress) {
        let engine = scenes::find(scene).expect("a scene").engine();
        let mut progress = Progress::none(engine.name());
        progress.set_way(way);
        let job = Job::by(&Phasing::as_drawn(&engine), way);
        (engine, job, progress)
    }

    #[test]
    fn a_new_build_begins_with_camshafts_distributor_and_leads_out_and_ends_with_all_of_it_in() {
        for scene in &SCENES {
            let (engine, job, mut progress) = begun(scene.name, Way::NewBuild);
            let first = NotIn::after(&engine, &job, &progress);
            assert_eq!(first.camshafts.len(), engine.camshaft_count());
            let has_distributor = engine.metric().distributor.is_some();
            assert_eq!(first.distributor, has_distributor, "{}", scene.name);
            assert_eq!(
                first.leads.len(),
                if engine.has_leads() {
                    engine.cylinder_count()
                } else {
                    0
                },
                "{}",
                scene.name
            );
            for step in &job.steps {
                progress.tick(step, Noted::default());
            }
            assert!(NotIn::after(&engine, &job, &progress).is_nothing());
        }
    }

    #[test]
    fn a_part_is_in_once_its_own_step_is_done_and_out_again_once_that_is_taken_back() {
        let (engine, job, mut progress) = begun("bench_four", Way::NewBuild);
        let step = |key: &str| job.step(key).expect("the step");
        progress.tick(step("marks-meet"), Noted::default());
        progress.tick(step("lead-4"), Noted::default());
        let now = NotIn::after(&engine, &job, &progress);
        assert_eq!(
            now.words(&engine).as_deref(),
            Some("Not in yet: the distributor and the leads of No. 1, No. 2 and No. 3.")
        );
        progress.tick(step("rotor-home"), Noted::default());
        assert!(!NotIn::after(&engine, &job, &progress).distributor);
        // The camshaft does not come out past a drive that is in mesh with it.
        progress.undo(step("marks-meet"));
        let again = NotIn::after(&engine, &job, &progress);
        assert!(again.distributor && !again.camshafts.is_empty());
    }

    #[test]
    fn an_engine_opened_at_the_front_keeps_its_distributor_and_its_leads() {
        let (engine, job, progress) = begun("bench_four", Way::FrontOpened);
        let begins = NotIn::after(&engine, &job, &progress);
        assert_eq!(
            begins.words(&engine).as_deref(),
            Some("Not in yet: the camshaft's wheel.")
        );
        let (engine, job, progress) = begun("flat_four", Way::FrontOpened);
        assert!(
            NotIn::after(&engine, &job, &progress).is_nothing(),
            "out of reach"
        );
    }
}
