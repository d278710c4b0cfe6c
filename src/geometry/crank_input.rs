//! Turning the crank by hand: drags, detents, undo of turns, and the slack that turning back
//! leaves.
//!
//! The crank's position is its whole turn in degrees, in the running direction, from No. 1's firing
//! TDC; it may be negative and may pass any number of turns.
//!
//! - A *drag* follows a pointer round an axis. The pointer's clock angle is known only within one
//!   turn, so each move counts as the shorter way round from the last one.
//! - A *detent* is an angle at which a drag that comes near is stopped: a dead centre, or where the
//!   timing marks meet.
//! - *Slack* is the play of gears or chain between crank and camshaft. It is taken up on one side
//!   while the crank turns in its running direction, and on the other after it was turned back.

use crate::angle::{CrankTurn, Direction, wrap, wrap_signed};
use crate::laws::gear_train;
use crate::phasing::Phasing;

/// A drag this near to a detent, either way, is stopped at it: wide enough to be felt, narrow
/// enough not to be in the way.
const DETENT_WITHIN_DEG: f64 = 1.5;
/// Two angles nearer than this are one.
const SAME_DEG: f64 = 1e-6;

/// Angles in the cycle of 720° at which the crank can be stopped: degrees, 0 ≤ angle < 720, rising,
/// each once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StopAngles(Vec<f64>);

impl StopAngles {
    fn new(degrees: impl IntoIterator<Item = f64>) -> Self {
        let mut angles: Vec<f64> = degrees
            .into_iter()
            .map(|degrees| wrap(degrees, 720.0))
            .collect();
        angles.sort_by(f64::total_cmp);
        angles.dedup_by(|next, before| *next - *before < SAME_DEG);
        Self(angles)
    }

    /// The dead centres of every cylinder.
    pub fn dead_centres(phasing: &Phasing) -> Self {
        let down = phasing.slider().down_stroke_deg();
        Self::new(phasing.cylinders().iter().flat_map(|cylinder| {
            let fires = cylinder.fires.degrees();
            [fires, fires + down, fires + 360.0, fires + 360.0 + down]
        }))
    }

    /// The detents: dead centres, and where the timing marks meet.
    pub fn detents(phasing: &Phasing) -> Self {
        let marks = phasing.engine().metric().cam_drive.marks_meet_at();
        Self::new(Self::dead_centres(phasing).0.into_iter().chain([marks]))
    }

    /// The first of them past `turned_deg`, as a whole turn; None where there are none.
    pub fn next(&self, turned_deg: f64) -> Option<f64> {
        self.nearest_way(|angle| angle - turned_deg)
            .map(|way| turned_deg + way)
    }

    /// The last of them before `turned_deg`, as a whole turn; None where there are none.
    pub fn previous(&self, turned_deg: f64) -> Option<f64> {
        self.nearest_way(|angle| turned_deg - angle)
            .map(|way| turned_deg - way)
    }

    /// The shortest of the ways, each over 0 and at most a cycle.
    fn nearest_way(&self, way: impl Fn(f64) -> f64) -> Option<f64> {
        let ways = self.0.iter().map(|angle| wrap(way(*angle), 720.0));
        ways.map(|way| if way < SAME_DEG { 720.0 } else { way })
            .min_by(f64::total_cmp)
    }

    /// Where a drag to `free_deg` turns the crank: to the nearest of them where that is within
    /// 1.5°, else to `free_deg`.
    pub fn snap(&self, free_deg: f64) -> f64 {
        let off = |angle: &f64| wrap_signed(angle - free_deg, 720.0);
        let nearest = self
            .0
            .iter()
            .map(off)
            .min_by(|one, other| one.abs().total_cmp(&other.abs()));
        match nearest {
            Some(off) if off.abs() <= DETENT_WITHIN_DEG => free_deg + off,
            _ => free_deg,
        }
    }
}

/// A drag in progress: follows a pointer round an axis, past full turns, both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drag {
    direction: Direction,
    clock_deg: f64,
    /// Where what is dragged would be without detents.
    free_deg: f64,
}

impl Drag {
    /// Begins with the pointer at `clock_deg`, degrees clockwise as seen along the axis, and what
    /// is dragged at `from_deg`; in `direction` its angle rises.
    pub fn new(direction: Direction, clock_deg: f64, from_deg: f64) -> Self {
        Self {
            direction,
            clock_deg,
            free_deg: from_deg,
        }
    }

    /// The pointer has moved to `clock_deg`; gives the angle to which it drags, detents aside.
    pub fn to(&mut self, clock_deg: f64) -> f64 {
        self.free_deg += self.direction.sign() * wrap_signed(clock_deg - self.clock_deg, 360.0);
        self.clock_deg = clock_deg;
        self.free_deg
    }
}

/// Whether the crank is turned as slowly as by a hand that feels for a bind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pace {
    /// What was turned lately, over what a slow hand would have.
    ahead_deg: f64,
}

impl Pace {
    /// As fast as a hand that feels for a bind: half a turn in a second. Common practice, no source.
    const SLOWLY_DEG_S: f64 = 180.0;
    /// A quick pull within so much is still felt: a quarter turn.
    const PULL_DEG: f64 = 90.0;

    /// The crank was turned by `turn` in the seconds since this was last asked; whether that was
    /// slowly.
    ///
    /// ```
    /// use dotwise::angle::CrankTurn;
    /// use dotwise::geometry::crank_input::Pace;
    /// let mut pace = Pace::default();
    /// assert!((0..60).all(|_| pace.turned(CrankTurn::new(2.0), 0.016)));
    /// assert!((0..60).any(|_| !pace.turned(CrankTurn::new(10.0), 0.016)));
    /// ```
    pub fn turned(&mut self, turn: CrankTurn, seconds: f64) -> bool {
        let rested = self.ahead_deg - Self::SLOWLY_DEG_S * seconds.max(0.0);
        self.ahead_deg = f64::max(rested, 0.0) + turn.degrees().abs();
        let slowly = self.ahead_deg <= Self::PULL_DEG;
        if !slowly {
            // What was too fast once is not held against what comes after it.
            self.ahead_deg = Self::PULL_DEG;
        }
        slowly
    }
}

/// On which side the slack of the cam drive lies.
///
/// While it lies on the wrong side, after the crank was turned back, what is read of camshaft and
/// distributor is late by it. Turned on again far enough, the crank takes it up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slack {
    to_take_up_deg: f64,
}

impl Slack {
    /// What is turned on to take up slack where the description gives no backlash, or less: common
    /// practice, no source.
    const USUAL_DEG: f64 = 5.0;

    /// The crank was turned by `turn`, positive in its running direction.
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

    /// How far the crank must be turned on until the slack lies right; 0 where it does.
    pub fn to_take_up(&self) -> CrankTurn {
        CrankTurn::new(self.to_take_up_deg)
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
            let mut drag = Drag::new(direction, 350.0, 10.0);
            let mut turned = 10.0;
            for step in 1..=108 {
                turned = drag.to((350.0 + f64::from(step) * 10.0) % 360.0);
            }
            assert_abs_diff_eq!(turned, 10.0 + direction.sign() * 1080.0, epsilon = 1e-9);
            for step in (0..108).rev() {
                turned = drag.to((350.0 + f64::from(step) * 10.0) % 360.0);
            }
            assert_abs_diff_eq!(turned, 10.0, epsilon = 1e-9);
        }
    }

    #[test]
    fn next_and_previous_dead_centre_never_stay_where_they_are() {
        let places = StopAngles::dead_centres(&Phasing::as_drawn(&BENCH.engine()));
        assert_eq!(places.0, [0.0, 180.0, 360.0, 540.0]);
        for (from, next, previous) in [
            (0.0, 180.0, -180.0),
            (-10.0, 0.0, -180.0),
            (725.0, 900.0, 720.0),
            (1440.0, 1620.0, 1260.0),
        ] {
            assert_abs_diff_eq!(places.next(from).expect("places"), next, epsilon = 1e-9);
            assert_abs_diff_eq!(
                places.previous(from).expect("places"),
                previous,
                epsilon = 1e-9
            );
        }
        assert_eq!(StopAngles::new([]).next(0.0), None);
    }

    #[test]
    fn a_detent_stops_a_drag_near_it_and_none_further_off() {
        let engine = scenes::find("marks_off_tdc").expect("a scene").engine();
        let detents = StopAngles::detents(&Phasing::as_drawn(&engine));
        assert_abs_diff_eq!(detents.snap(721.4), 720.0, epsilon = 1e-9);
        assert_abs_diff_eq!(detents.snap(-23.0), -22.0, epsilon = 1e-9);
        assert_eq!(detents.snap(721.6), 721.6);
        assert_eq!(detents.snap(-23.6), -23.6);
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
}
