//! How the job begins: with the engine apart, and each part put in at its own step.

use super::not_in::NotIn;
use super::progress::Progress;
use super::step::Condition;
use super::steps::Job;
use super::way::Way;
use crate::description::job_steps as keys;
use crate::engine::Engine;

/// What is not in where these steps of a job are done: a part is in once its own step is.
pub(super) fn not_in_after(engine: &Engine, job: &Job, progress: &Progress) -> NotIn {
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
    NotIn {
        camshafts: if cam_is_out {
            (0..engine.camshaft_count()).collect()
        } else {
            Vec::new()
        },
        bearings: cam_is_out && all_is_out && to_do(keys::CAM_IN.key),
        shaft,
        distributor: distributor || shaft,
        leads,
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
            let first = not_in_after(&engine, &job, &progress);
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
            assert!(not_in_after(&engine, &job, &progress).is_nothing());
        }
    }

    #[test]
    fn a_part_is_in_once_its_own_step_is_done_and_out_again_once_that_is_taken_back() {
        let (engine, job, mut progress) = begun("bench_four", Way::NewBuild);
        let step = |key: &str| job.step(key).expect("the step");
        progress.tick(step("marks-meet"), Noted::default());
        progress.tick(step("lead-4"), Noted::default());
        let now = not_in_after(&engine, &job, &progress);
        assert_eq!(
            now.words(&engine).as_deref(),
            Some("Not in yet: the distributor and the leads of No. 1, No. 2 and No. 3.")
        );
        progress.tick(step("rotor-home"), Noted::default());
        assert!(!not_in_after(&engine, &job, &progress).distributor);
        // The camshaft does not come out past a drive that is in mesh with it.
        progress.undo(step("marks-meet"));
        let again = not_in_after(&engine, &job, &progress);
        assert!(again.distributor && !again.camshafts.is_empty());
    }

    #[test]
    fn a_camshaft_that_was_slid_in_is_in_its_bearings_and_not_yet_in_mesh() {
        let (engine, job, mut progress) = begun("twin_cam_four", Way::NewBuild);
        progress.tick(job.step("cam-in").expect("the step"), Noted::default());
        let now = not_in_after(&engine, &job, &progress);
        assert_eq!(now.camshafts, [0, 1]);
        assert!(!now.bearings);
    }

    #[test]
    fn an_engine_opened_at_the_front_keeps_its_distributor_and_its_leads() {
        let (engine, job, progress) = begun("bench_four", Way::FrontOpened);
        let begins = not_in_after(&engine, &job, &progress);
        assert_eq!(
            begins.words(&engine).as_deref(),
            Some("Not in yet: the camshaft's wheel.")
        );
        let (engine, job, progress) = begun("flat_four", Way::FrontOpened);
        assert!(
            not_in_after(&engine, &job, &progress).is_nothing(),
            "out of reach"
        );
    }
}
