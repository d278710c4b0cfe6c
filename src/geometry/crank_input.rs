//! Barring the engine over by hand: the arithmetic of the hand, without a screen.
//!
//! The crank's position is its whole turn in degrees, in the running direction, from No. 1's firing
//! TDC; it may be negative and may pass any number of turns. A pointer's clock angle about the
//! crank's axis knows only where it is on the circle, so it is followed by its smaller way round
//! from one look to the next. Catches are the places where a hand would feel the engine stop of
//! itself: dead centres, and where the dots meet.

use crate::angle::{CrankTurn, Direction, wrap, wrap_signed};
use crate::laws::gear_train;
use crate::phasing::Phasing;

/// Within this of a catch the hand is held there: wide enough to be felt, narrow enough not to be
/// in the way.
pub const CATCH_WITHIN_DEG: f64 = 1.5;
/// Two places nearer than this are one.
const SAME_DEG: f64 = 1e-6;

/// RestAngles in the cycle of 720° that the crank is turned to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RestAngles(Vec<f64>);

impl RestAngles {
    /// Any places, degrees in any cycle.
    pub fn new(degrees: impl IntoIterator<Item = f64>) -> Self {
        let mut places: Vec<f64> = degrees
            .into_iter()
            .map(|degrees| wrap(degrees, 720.0))
            .collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|next, before| *next - *before < SAME_DEG);
        Self(places)
    }

    /// The dead centres of every cylinder.
    pub fn dead_centres(phasing: &Phasing) -> Self {
        let down = phasing.slider().down_stroke_deg();
        Self::new(phasing.cylinders().iter().flat_map(|cylinder| {
            let fires = cylinder.fires.degrees();
            [fires, fires + down, fires + 360.0, fires + 360.0 + down]
        }))
    }

    /// Dead centres, and where the dots meet.
    pub fn detents(phasing: &Phasing) -> Self {
        let dots = phasing.engine().metric().cam_drive.marks_meet_at;
        Self::new(Self::dead_centres(phasing).0.into_iter().chain([dots]))
    }

    /// In degrees, 0 ≤ p < 720, rising.
    pub fn degrees(&self) -> &[f64] {
        &self.0
    }

    /// The first place past `turned_deg`, in whole turns of the crank.
    pub fn next(&self, turned_deg: f64) -> Option<f64> {
        let ways = self
            .0
            .iter()
            .map(|place| wrap(place - turned_deg, 720.0))
            .map(|way| if way < SAME_DEG { 720.0 } else { way });
        ways.min_by(f64::total_cmp).map(|way| turned_deg + way)
    }

    /// The last place before `turned_deg`.
    pub fn last(&self, turned_deg: f64) -> Option<f64> {
        let ways = self
            .0
            .iter()
            .map(|place| wrap(turned_deg - place, 720.0))
            .map(|way| if way < SAME_DEG { 720.0 } else { way });
        ways.min_by(f64::total_cmp).map(|way| turned_deg - way)
    }

    /// Where a hand at `free_deg` comes to rest: at a catch if one is near, else where it is.
    pub fn held(&self, free_deg: f64) -> f64 {
        let off = |place: &f64| wrap_signed(place - free_deg, 720.0);
        let nearest = self
            .0
            .iter()
            .map(off)
            .min_by(|one, other| one.abs().total_cmp(&other.abs()));
        match nearest {
            Some(off) if off.abs() <= CATCH_WITHIN_DEG => free_deg + off,
            _ => free_deg,
        }
    }
}

/// A hand on the rim: follows a pointer round the crank's axis, past full turns, both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grip {
    direction: Direction,
    clock_deg: f64,
    /// Where the crank would be if nothing held it.
    free_deg: f64,
}

impl Grip {
    /// Takes hold with the pointer at a clock angle, seen from the front, of a crank that runs in
    /// `direction`.
    pub fn on(direction: Direction, clock_deg: f64, turned_deg: f64) -> Self {
        Self {
            direction,
            clock_deg,
            free_deg: turned_deg,
        }
    }

    /// The pointer has moved; gives where the crank is turned to.
    pub fn follow(&mut self, clock_deg: f64) -> f64 {
        self.free_deg += self.direction.sign() * wrap_signed(clock_deg - self.clock_deg, 360.0);
        self.clock_deg = clock_deg;
        self.free_deg
    }
}

/// Which side the slack of the drive lies on.
///
/// A crank turned back leaves the play of gears and chain on the wrong side: what is read then is
/// late by it. Turned on again far enough, the slack lies where it runs.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slack {
    /// How far it must still be turned on.
    to_take_up_deg: f64,
}

impl Slack {
    /// What is turned on to take up slack where the description gives no backlash: common practice,
    /// no source.
    const USUAL_DEG: f64 = 5.0;

    /// The crank was turned by `turn`.
    pub fn turned(&mut self, phasing: &Phasing, turn: CrankTurn) {
        let play = gear_train::crank_play(&phasing.engine().metric().cam_drive)
            .map_or(0.0, CrankTurn::degrees);
        let all = f64::max(play, Self::USUAL_DEG);
        self.to_take_up_deg = match turn.degrees() {
            back if back < 0.0 => all,
            on => f64::max(0.0, self.to_take_up_deg - on),
        };
    }

    /// Whether the slack lies on the wrong side.
    pub fn is_wrong(&self) -> bool {
        self.to_take_up_deg > 0.0
    }

    /// Degrees to turn on until it lies right.
    pub fn to_take_up(&self) -> CrankTurn {
        CrankTurn::new(self.to_take_up_deg)
    }
}

/// Where the crank has stood, for undo.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rests {
    back: Vec<f64>,
    on: Vec<f64>,
}

impl Rests {
    /// More than anyone goes back.
    const MOST: usize = 500;

    /// The crank is about to be turned away from here.
    pub fn leave(&mut self, turned_deg: f64) {
        if self.back.last() == Some(&turned_deg) {
            return;
        }
        if self.back.len() == Self::MOST {
            self.back.remove(0);
        }
        self.back.push(turned_deg);
        self.on.clear();
    }

    /// Whether there is anywhere to go back to.
    pub fn can_undo(&self) -> bool {
        !self.back.is_empty()
    }

    /// Whether there is anything to do again.
    pub fn can_redo(&self) -> bool {
        !self.on.is_empty()
    }

    /// Where it stood before.
    pub fn undo(&mut self, turned_deg: f64) -> Option<f64> {
        while let Some(back) = self.back.pop() {
            if back != turned_deg {
                self.on.push(turned_deg);
                return Some(back);
            }
        }
        None
    }

    /// Where it stood before the last undo.
    pub fn redo(&mut self, turned_deg: f64) -> Option<f64> {
        let on = self.on.pop()?;
        self.back.push(turned_deg);
        Some(on)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_pointer_led_round_three_times_turns_the_crank_three_times_and_back() {
        for direction in [Direction::Clockwise, Direction::CounterClockwise] {
            let mut grip = Grip::on(direction, 350.0, 10.0);
            let mut turned = 10.0;
            for step in 1..=108 {
                turned = grip.follow((350.0 + f64::from(step) * 10.0) % 360.0);
            }
            assert_abs_diff_eq!(turned, 10.0 + direction.sign() * 1080.0, epsilon = 1e-9);
            for step in (0..108).rev() {
                turned = grip.follow((350.0 + f64::from(step) * 10.0) % 360.0);
            }
            assert_abs_diff_eq!(turned, 10.0, epsilon = 1e-9);
        }
    }

    #[test]
    fn next_and_last_dead_centre_never_stay_where_they_are() {
        let places = RestAngles::dead_centres(&Phasing::as_drawn(&BENCH.engine()));
        assert_eq!(places.degrees(), [0.0, 180.0, 360.0, 540.0]);
        for (from, next, last) in [
            (0.0, 180.0, -180.0),
            (-10.0, 0.0, -180.0),
            (725.0, 900.0, 720.0),
            (1440.0, 1620.0, 1260.0),
        ] {
            assert_abs_diff_eq!(places.next(from).expect("places"), next, epsilon = 1e-9);
            assert_abs_diff_eq!(places.last(from).expect("places"), last, epsilon = 1e-9);
        }
        assert_eq!(RestAngles::new([]).next(0.0), None);
    }

    #[test]
    fn a_catch_holds_near_it_and_lets_go_further_off() {
        let engine = scenes::find("marks_off_tdc").expect("a scene").engine();
        let catches = RestAngles::detents(&Phasing::as_drawn(&engine));
        assert_abs_diff_eq!(catches.held(721.4), 720.0, epsilon = 1e-9);
        assert_abs_diff_eq!(catches.held(-23.0), -22.0, epsilon = 1e-9);
        assert_eq!(catches.held(721.6), 721.6);
        assert_eq!(catches.held(-23.6), -23.6);
    }

    #[test]
    fn slack_lies_wrong_after_turning_back_until_it_is_taken_up() {
        let phasing = Phasing::as_drawn(&BENCH.engine());
        let mut slack = Slack::default();
        slack.turned(&phasing, CrankTurn::new(30.0));
        assert!(!slack.is_wrong());
        slack.turned(&phasing, CrankTurn::new(-0.1));
        assert!(slack.is_wrong());
        slack.turned(&phasing, CrankTurn::new(3.0));
        assert_abs_diff_eq!(slack.to_take_up().degrees(), 2.0);
        slack.turned(&phasing, CrankTurn::new(2.5));
        assert!(!slack.is_wrong());
    }

    #[test]
    fn turns_can_be_undone_and_done_again() {
        let mut rests = Rests::default();
        rests.leave(0.0);
        rests.leave(10.0);
        assert_eq!(rests.undo(20.0), Some(10.0));
        assert_eq!(rests.undo(10.0), Some(0.0));
        assert_eq!(rests.undo(0.0), None);
        assert_eq!(rests.redo(0.0), Some(10.0));
        assert_eq!(rests.redo(10.0), Some(20.0));
        assert_eq!(rests.redo(20.0), None);
    }
}
