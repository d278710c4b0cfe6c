//! One builder's way through the guided job: at which step, what was done to the engine, and what
//! is ticked.

use super::progress::{Noted, Progress};
use super::reckon::reckon;
use super::step::{EngineState, Step, StepCheck};
use super::steps::Job;
use super::way::Way;
use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::phasing::Phasing;

/// After a place was shown, the crank must be this far from it before coming there counts.
const AWAY_DEG: f64 = 20.0;

/// A way through the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Walkthrough {
    job: Job,
    progress: Progress,
    at: usize,
    state: EngineState,
    /// The place was shown, and the crank has not been away from it since.
    shown: bool,
}

impl Walkthrough {
    /// Begins, or goes on where the progress says, with the crank as it stands.
    pub fn begin(phasing: &Phasing, progress: Progress, crank: CrankAngle) -> Self {
        let job = Job::by(phasing, progress.way());
        let at = progress.next_open(&job).unwrap_or(0);
        Self {
            job,
            progress,
            at,
            state: EngineState {
                crank,
                rotor_held: None,
                turned: CrankTurn::new(0.0),
                slack_wrong: false,
            },
            shown: false,
        }
    }

    /// The job.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// What is ticked so far.
    pub fn progress(&self) -> &Progress {
        &self.progress
    }

    /// The number of the step at hand, from 0.
    pub fn at(&self) -> usize {
        self.at
    }

    /// The step at hand.
    pub fn step(&self) -> Option<&Step> {
        self.job.steps.get(self.at)
    }

    /// What was done to the engine.
    pub fn state(&self) -> &EngineState {
        &self.state
    }

    /// How many steps are ticked.
    pub fn done(&self) -> usize {
        self.job
            .steps
            .iter()
            .filter(|step| self.progress.has(step))
            .count()
    }

    /// The description was changed: the job is made anew, and steps whose place has moved are open
    /// again.
    pub fn engine_is(&mut self, phasing: &Phasing) {
        self.job = Job::by(phasing, self.progress.way());
        self.at = self.at.min(self.job.steps.len().saturating_sub(1));
    }

    /// Another way is gone: the step at hand stays at hand where that way has it too.
    pub fn go_by(&mut self, phasing: &Phasing, way: Way) {
        let key = self.step().map(|step| step.key.clone());
        self.progress.set_way(way);
        self.job = Job::by(phasing, way);
        let same = |step: &Step| Some(&step.key) == key.as_ref();
        let at = self.job.steps.iter().position(same);
        self.go_to(
            at.or_else(|| self.progress.next_open(&self.job))
                .unwrap_or(0),
        );
    }

    /// What is kept of it, to be changed: its notes, what was seen, how far the build has got.
    pub fn progress_mut(&mut self) -> &mut Progress {
        &mut self.progress
    }

    /// The crank was turned to here, the shorter way.
    pub fn turned_to(&mut self, crank: CrankAngle) {
        self.state.turned = self.state.turned + self.state.crank.nearest_to(crank);
        self.state.crank = crank;
        let away = self
            .step()
            .is_none_or(|step| crank.nearest_to(step.crank).degrees().abs() > AWAY_DEG);
        self.shown &= !away;
    }

    /// The model was set to the step's place to show it: that does not count as having turned
    /// there.
    pub fn was_shown(&mut self, crank: CrankAngle) {
        self.state.crank = crank;
        self.state.turned = CrankTurn::new(0.0);
        self.shown = true;
    }

    /// Whether the engine stands as the step at hand says.
    pub fn check(&self, phasing: &Phasing) -> StepCheck {
        let Some(step) = self.step() else {
            return StepCheck::NotYet("There is no such step.".into());
        };
        if self.shown && !step.is_by_hand() {
            return StepCheck::NotYet(
                "That was the place. Turn away from it, and come there yourself.".into(),
            );
        }
        step.check(phasing, &self.state)
    }

    /// Ticks the step at hand off and goes on to the next open one; false where it is not right
    /// yet, or where what was measured is not.
    pub fn tick(&mut self, phasing: &Phasing) -> bool {
        self.tick_noted(phasing, Noted::default())
    }

    /// The same, with the day and what was measured.
    pub fn tick_noted(&mut self, phasing: &Phasing, noted: Noted) -> bool {
        if !self.check(phasing).is_right() {
            return false;
        }
        let Some(step) = self.job.steps.get(self.at) else {
            return false;
        };
        // What was measured and is not right is not done.
        let reckoned = reckon(step, phasing, &noted.readings);
        if reckoned.is_some_and(|reckoned| reckoned.right == Some(false)) {
            return false;
        }
        self.progress.tick(step, noted);
        let later = self
            .job
            .steps
            .iter()
            .enumerate()
            .skip(self.at + 1)
            .find(|(_, step)| !self.progress.has(step));
        let next = later
            .map(|(index, _)| index)
            .or_else(|| self.progress.next_open(&self.job));
        self.go_to(next.unwrap_or(self.at));
        true
    }

    /// Takes the tick of a step back, and takes the step up; false where it was not ticked.
    pub fn undo(&mut self, index: usize) -> bool {
        let Some(step) = self.job.steps.get(index) else {
            return false;
        };
        let undone = self.progress.undo(step);
        if undone {
            self.go_to(index);
        }
        undone
    }

    /// Takes a step up, ticked or not.
    pub fn go_to(&mut self, index: usize) {
        if index < self.job.steps.len() {
            self.at = index;
            self.state.turned = CrankTurn::new(0.0);
            self.shown = false;
        }
    }

    /// Forgets every tick.
    pub fn begin_again(&mut self) {
        self.progress.clear();
        self.go_to(0);
    }

    /// Whether the slack lies on the wrong side.
    pub fn slack_is(&mut self, wrong: bool) {
        self.state.slack_wrong = wrong;
    }

    /// The rotor is held so, its drive out of the engine; None once it is seated.
    pub fn rotor_is_held(&mut self, at: Option<Clock>) {
        self.state.rotor_held = at;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes;
    use crate::procedures::job::Condition;
    use crate::procedures::{dropin, seat_drive};

    /// Turns to a place in the running direction, a little at a time.
    fn turn(walk: &mut Walkthrough, to: CrankAngle, at_least: f64) {
        let mut to_go = walk.state().crank.on_to(to).degrees();
        while to_go < at_least {
            to_go += 720.0;
        }
        let from = walk.state().crank;
        let steps = (to_go / 5.0).ceil() as u32;
        for index in 1..=steps {
            walk.turned_to(from + CrankTurn::new(to_go * f64::from(index) / f64::from(steps)));
        }
    }

    fn go_to(walk: &mut Walkthrough, key: &str) {
        let steps = &walk.job().steps;
        let at = steps.iter().position(|step| step.key == key);
        walk.go_to(at.expect("the step"));
    }

    /// Seats the drive from where its rotor is held.
    fn seat_it(walk: &mut Walkthrough, phasing: &Phasing) -> i32 {
        let held = walk.state().rotor_held.expect("held");
        walk.rotor_is_held(None);
        seat_drive(phasing, walk.state().crank, held)
            .expect("a distributor")
            .drive_teeth
    }

    #[test]
    fn the_whole_job_can_be_walked_through_on_every_scene_by_turning_forwards() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            let mut assembly = Assembly::default();
            let mut walk = Walkthrough::begin(
                &Phasing::as_drawn(&engine),
                Progress::none(engine.name()),
                CrankAngle::new(100.0),
            );
            for _ in 0..walk.job().steps.len() {
                let phasing = Phasing::as_built(&engine, &assembly);
                let step = walk.step().expect("a step").clone();
                if step.is_by_hand() {
                    assert!(walk.tick(&phasing), "{}: {}", scene.name, step.key);
                    continue;
                }
                turn(
                    &mut walk,
                    step.crank,
                    if step.right == Condition::TwoTurns {
                        700.0
                    } else {
                        0.0
                    },
                );
                match step.right {
                    Condition::RotorHeld(clock) => walk.rotor_is_held(Some(clock)),
                    Condition::RotorSeated(_) => {
                        assembly.drive_teeth = seat_it(&mut walk, &phasing);
                        assert_eq!(assembly.drive_teeth, 0, "{}", scene.name);
                    }
                    _ => {}
                }
                assert!(
                    walk.tick(&phasing),
                    "{}: {} {:?}",
                    scene.name,
                    step.key,
                    walk.check(&phasing)
                );
            }
            assert_eq!(walk.done(), walk.job().steps.len(), "{}", scene.name);
        }
    }

    #[test]
    fn a_place_that_was_shown_counts_only_after_turning_away_and_coming_back() {
        let engine = scenes::BENCH.engine();
        let phasing = Phasing::as_drawn(&engine);
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(100.0));
        go_to(&mut walk, "overlap-tdc");
        walk.was_shown(CrankAngle::new(360.0));
        assert!(!walk.tick(&phasing));
        walk.turned_to(CrankAngle::new(355.0));
        walk.turned_to(CrankAngle::new(360.0));
        assert!(
            !walk.check(&phasing).is_right(),
            "a nudge is not turning there"
        );
        walk.turned_to(CrankAngle::new(300.0));
        walk.turned_to(CrankAngle::new(360.0));
        assert!(walk.tick(&phasing));
    }

    #[test]
    fn a_step_that_is_not_right_is_not_ticked() {
        let engine = scenes::BENCH.engine();
        let phasing = Phasing::as_drawn(&engine);
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walk, "firing-tdc");
        walk.turned_to(CrankAngle::new(300.0));
        walk.turned_to(CrankAngle::new(360.0));
        assert!(!walk.tick(&phasing), "the wrong top dead centre");
        assert_eq!(walk.done(), 0);
    }

    #[test]
    fn a_drive_seated_a_tooth_out_is_not_ticked_and_can_be_tried_again() {
        let engine = scenes::find("helical_drop").expect("a scene").engine();
        let drawn = Phasing::as_drawn(&engine);
        let mut walk = Walkthrough::begin(&drawn, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walk, "rotor-home");
        // Held where it should end, as one does who forgets that the helix turns it.
        let end = drawn.at(CrankAngle::new(0.0)).rotor.expect("a rotor").clock;
        walk.rotor_is_held(Some(end));
        let teeth = seat_it(&mut walk, &drawn);
        assert_ne!(teeth, 0);
        let out = Phasing::as_built(
            &engine,
            &Assembly {
                drive_teeth: teeth,
                ..Assembly::default()
            },
        );
        assert!(!walk.tick(&out));
        walk.rotor_is_held(Some(dropin(&drawn).expect("a distributor").rotor_start));
        let teeth = seat_it(&mut walk, &out);
        assert!(walk.tick(&Phasing::as_built(
            &engine,
            &Assembly {
                drive_teeth: teeth,
                ..Assembly::default()
            }
        )));
    }
}
