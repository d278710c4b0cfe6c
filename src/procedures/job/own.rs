//! The builder's own steps, each after the step of the job that it names.

use super::bench::ANY_TIME;
use super::step::{Condition, Step, Tightening};
use crate::angle::CrankAngle;
use crate::description::{BuilderStep, Description, job_steps as keys};
use crate::diagnosis::stage::Stage;

/// Puts the builder's own steps among the others: each after the one it names, and those that name
/// none before the record. One whose step this way leaves out is left out with it.
pub(super) fn place(steps: &mut Vec<Step>, d: &Description) {
    let mut taken: Vec<String> = Vec::new();
    for own in &d.steps {
        let mut key = key_of(own);
        while taken.contains(&key) {
            key.push('+');
        }
        taken.push(key.clone());
        let at = match &own.after {
            None => end_of(steps),
            Some(after) => match keys::named(after, d).and_then(|key| place_of(steps, &key)) {
                Some(at) => at,
                None => continue,
            },
        };
        // Those that were put there before it stay before it.
        let later = steps
            .iter()
            .skip(at)
            .take_while(|step| own.after.is_some() && step.key.starts_with(OWN) && step.key != key);
        let at = at + later.count();
        let step = written(
            own,
            key,
            at.checked_sub(1).and_then(|before| steps.get(before)),
        );
        steps.insert(at, step);
    }
}

/// How the keys of a builder's own steps begin.
const OWN: &str = "own-step-";

/// The key of a builder's own step: what it says, in letters that can be typed.
fn key_of(own: &BuilderStep) -> String {
    const MOST: usize = 40;
    let mut key = OWN.to_owned();
    for letter in own.action.chars().take(MOST) {
        if letter.is_alphanumeric() {
            key.extend(letter.to_lowercase());
        } else if !key.ends_with('-') {
            key.push('-');
        }
    }
    key.trim_end_matches('-').to_owned()
}

/// Before the record.
fn end_of(steps: &[Step]) -> usize {
    let record = steps.iter().position(|step| step.key == keys::RECORD.key);
    record.unwrap_or(steps.len())
}

/// The place after the last step of this key; several leads, coils or stops are one.
fn place_of(steps: &[Step], key: &str) -> Option<usize> {
    let is_it = |step: &Step| {
        step.key == key
            || key == keys::LEADS.key && step.key.starts_with("lead-")
            || key == keys::COILS.key && step.key.starts_with("coil-")
            || key == keys::VALVES.key && step.key.starts_with("valves-in-")
    };
    steps.iter().rposition(is_it).map(|at| at + 1)
}

/// The step as it stands in the job, at the stages of the one before it.
fn written(own: &BuilderStep, key: String, before: Option<&Step>) -> Step {
    let tightening = Tightening {
        torque: own.torque,
        passes: own.passes.clone(),
        angle_deg: own.angle,
        sequence: own.order(),
        rows: own.places(),
    };
    Step {
        key,
        title: own.action.clone(),
        action: "Your own step.".to_owned(),
        must_be_seen: Vec::new(),
        instead: None,
        write_down: Vec::new(),
        caution: None,
        tightening: (!tightening.words().is_empty()).then_some(tightening),
        stage: before.map_or(Stage::CoverOn, |before| before.stage),
        stages: before.map_or(ANY_TIME, |before| before.stages),
        crank: before.map_or(CrankAngle::new(0.0), |before| before.crank),
        right: Condition::ByHand,
        witnesses: Vec::new(),
    }
}
