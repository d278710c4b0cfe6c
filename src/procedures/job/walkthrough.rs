//! One builder's way through the guided job: at which step, what was done to the engine, and what
//! is ticked.

use super::apart::not_in_after;
use super::not_in::NotIn;
use super::progress::{Noted, Progress};
use super::reckon::reckon;
use super::step::{EngineState, Hurried, Step, StepCheck};
use super::steps::Job;
use super::way::Way;
use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::description::job_steps as keys;
use crate::phasing::Phasing;
use crate::words::joined;

/// After a place was shown, the crank must be this far from it before coming there counts.
const AWAY_DEG: f64 = 20.0;
/// What was looked at holds while the crank stays as near as its mark can be read to.
const LOOK_HOLDS_DEG: f64 = 3.0;

/// A way through the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Walkthrough {
    job: Job,
    progress: Progress,
    at: usize,
    state: EngineState,
    /// The place that was shown, while the crank has not been away from it since.
    shown: Option<CrankAngle>,
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
            state: EngineState::at(crank),
            shown: None,
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

    /// The crank was turned to here by hand, the shorter way.
    pub fn turned_to(&mut self, crank: CrankAngle) {
        self.state.turned = self.state.turned + self.state.crank.nearest_to(crank);
        self.stands_at(crank);
    }

    /// The crank came here, but not by a hand that turns it slowly: what was turned is counted anew.
    pub fn hurried_to(&mut self, crank: CrankAngle, how: Hurried) {
        self.state.turned = CrankTurn::new(0.0);
        self.state.hurried = Some(how);
        self.stands_at(crank);
    }

    fn stands_at(&mut self, crank: CrankAngle) {
        if self.state.crank.nearest_to(crank).degrees().abs() > LOOK_HOLDS_DEG {
            self.state.looked_at.clear();
        }
        self.state.crank = crank;
        let away = |place: CrankAngle| place.nearest_to(crank).degrees().abs() > AWAY_DEG;
        self.shown = self.shown.filter(|place| !away(*place));
    }

    /// The model was set to the step's place to show it: that does not count as having turned
    /// there.
    pub fn was_shown(&mut self, crank: CrankAngle) {
        self.hurried_to(crank, Hurried::Set);
        self.shown = Some(crank);
    }

    /// A witness of the step at hand was looked at, with the crank where it stands.
    pub fn looked_at(&mut self, witness: &str) {
        if !self.state.looked_at.iter().any(|looked| looked == witness) {
            self.state.looked_at.push(witness.to_owned());
        }
    }

    /// This is not in yet.
    pub fn is_not_in(&mut self, not_in: NotIn) {
        self.state.not_in = not_in;
    }

    /// What is not in yet by what is ticked: a part is in once its own step is done.
    pub fn not_in_by_progress(&self, phasing: &Phasing) -> NotIn {
        not_in_after(phasing.engine(), &self.job, &self.progress)
    }

    /// Whether the engine stands as the step at hand says.
    pub fn check(&self, phasing: &Phasing) -> StepCheck {
        let Some(step) = self.step() else {
            return StepCheck::NotYet("There is no such step.".into());
        };
        if let (Some(place), false) = (self.shown, step.is_by_hand()) {
            let to_go = AWAY_DEG - place.nearest_to(self.state.crank).degrees().abs();
            return StepCheck::NotYet(format!(
                "That was the place. Turn {:.0}° or more away from it ({:.0}° to go), and come there yourself.",
                AWAY_DEG,
                to_go.max(1.0).ceil()
            ));
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

    /// What may be said of a job whose every step is ticked: how many of them the program saw, and
    /// which were measured and found wanting.
    pub fn done_words(&self, phasing: &Phasing) -> String {
        let steps = &self.job.steps;
        let by_hand = steps.iter().filter(|step| step.is_by_hand()).count();
        let mut words = format!(
            "Every step is ticked. {} of {} were ticked by hand: the program cannot see them.",
            by_hand,
            steps.len()
        );
        let wanting = steps.iter().enumerate().filter(|(_, step)| {
            let done = self.progress.entry(step);
            let reckoned = done.and_then(|done| reckon(step, phasing, &done.readings));
            let clears = [keys::CLEARANCE_DROP.key, keys::CLEARANCE_CLAY.key];
            let is_wanting = |right: Option<bool>| match right {
                Some(right) => !right,
                // Less than common practice, which the maker's manual may be content with.
                None => clears.contains(&step.key.as_str()),
            };
            reckoned.is_some_and(|reckoned| is_wanting(reckoned.right))
        });
        let wanting: Vec<String> = wanting
            .map(|(index, step)| format!("{}. {}", index + 1, step.title))
            .collect();
        if !wanting.is_empty() {
            words.push_str(&format!(
                " Not as it should be by what was measured: {}. See to it before the engine is turned by its starter.",
                joined(&wanting, "; ")
            ));
        }
        words
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
            self.state.hurried = None;
            self.state.looked_at.clear();
            self.shown = None;
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
                    match step.right {
                        Condition::TwoTurns => 700.0,
                        Condition::OneTurn => 340.0,
                        _ => 0.0,
                    },
                );
                for witness in &step.witnesses {
                    walk.looked_at(&witness.name);
                }
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
        // It says how far is away.
        walk.turned_to(CrankAngle::new(345.0));
        let StepCheck::NotYet(why) = walk.check(&phasing) else {
            panic!("not away yet")
        };
        assert!(why.contains("20° or more away from it (5° to go)"), "{why}");
        walk.turned_to(CrankAngle::new(300.0));
        walk.turned_to(CrankAngle::new(360.0));
        assert!(walk.tick(&phasing));
    }

    #[test]
    fn two_turns_are_counted_by_hand_and_anew_after_the_crank_was_set_or_hurried() {
        let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
        go_to(&mut walk, "two-turns");
        turn(&mut walk, CrankAngle::new(0.0), 700.0);
        assert!(walk.check(&phasing).is_right());
        for (how, says) in [
            (Hurried::Set, "the crank was not turned"),
            (Hurried::TooFast, "too fast"),
        ] {
            go_to(&mut walk, "two-turns");
            turn(&mut walk, CrankAngle::new(180.0), 0.0);
            walk.hurried_to(CrankAngle::new(0.0), how);
            let StepCheck::NotYet(why) = walk.check(&phasing) else {
                panic!("{how:?}")
            };
            assert!(
                why.contains("0° turned by hand") && why.contains(says),
                "{why}"
            );
            turn(&mut walk, CrankAngle::new(0.0), 700.0);
            assert!(walk.check(&phasing).is_right(), "{how:?}");
        }
    }

    #[test]
    fn firing_tdc_is_believed_only_once_three_witnesses_were_looked_at_and_all_say_so() {
        let engine = scenes::BENCH.engine();
        let phasing = Phasing::as_drawn(&engine);
        let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(300.0));
        go_to(&mut walk, "firing-tdc");
        walk.turned_to(CrankAngle::new(710.0));
        walk.turned_to(CrankAngle::new(0.0));
        let witnesses = walk.step().expect("a step").witnesses.iter();
        let names: Vec<String> = witnesses.map(|witness| witness.name.clone()).collect();
        assert!(names.len() >= 3, "{names:?}");
        assert!(
            !names.iter().any(|name| name.contains("rotor")),
            "the distributor is not in yet: {names:?}"
        );
        for (looked, name) in names.iter().take(3).enumerate() {
            let StepCheck::NotYet(why) = walk.check(&phasing) else {
                panic!("after {looked}")
            };
            assert!(why.contains(&format!("{looked} of 3 looked at")), "{why}");
            walk.looked_at(name);
            walk.looked_at(name);
        }
        assert!(walk.check(&phasing).is_right());
        // Looked at elsewhere, they are to be looked at again.
        walk.turned_to(CrankAngle::new(10.0));
        walk.turned_to(CrankAngle::new(0.0));
        assert!(!walk.check(&phasing).is_right());
        // With the cam two teeth out a witness says so.
        let out = Phasing::as_built(
            &engine,
            &Assembly {
                cam_teeth: 2,
                ..Assembly::default()
            },
        );
        names.iter().for_each(|name| walk.looked_at(name));
        let StepCheck::NotYet(why) = walk.check(&out) else {
            panic!("two teeth out")
        };
        assert!(why.contains(" must show "), "{why}");
    }

    #[test]
    fn nothing_is_right_before_it_is_in() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            let phasing = Phasing::as_drawn(&engine);
            let mut walk = Walkthrough::begin(&phasing, Progress::none("x"), CrankAngle::new(0.0));
            let begins = walk.not_in_by_progress(&phasing);
            walk.is_not_in(begins.clone());
            for index in 0..walk.job().steps.len() {
                walk.go_to(index);
                let step = walk.step().expect("a step").clone();
                walk.turned_to(step.crank);
                let check = walk.check(&phasing);
                assert_eq!(
                    check.is_right(),
                    step.is_by_hand() && step.key != keys::CAM_IN.key,
                    "{}: {}",
                    scene.name,
                    step.key
                );
            }
            // With the camshaft in, what hangs on the other parts still is not.
            walk.is_not_in(NotIn {
                camshafts: Vec::new(),
                bearings: false,
                ..begins
            });
            for index in 0..walk.job().steps.len() {
                walk.go_to(index);
                let step = walk.step().expect("a step").clone();
                walk.turned_to(step.crank);
                let untouched = matches!(
                    step.right,
                    Condition::ShaftMeshed
                        | Condition::RotorHeld(_)
                        | Condition::RotorSeated(_)
                        | Condition::Lead { .. }
                        | Condition::CoilPlugged { .. }
                );
                let right = walk.check(&phasing).is_right();
                assert!(!(untouched && right), "{}: {}", scene.name, step.key);
            }
        }
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
