//! Degrees, kept apart by the shaft they belong to.
//!
//! Three shafts turn in a four-stroke engine's timing: the crankshaft, whose cycle is two turns
//! (720°), and the camshaft and distributor, whose cycle is one turn (360°) at half the crank's
//! speed. A *position* in the cycle is an [`Angle`], a *difference* between two positions is a
//! [`Turn`], and neither of one shaft can be added to those of another: only
//! [`Turn::at_half_speed`] and its counterparts cross from shaft to shaft, and they are where the
//! 2:1 stands.
//!
//! A [`Clock`] is what a builder sees: degrees clockwise from straight up (the engine, seen from
//! the front, the end away from the flywheel) or from the builder's own reference (the distributor,
//! looking down on its cap).
//!
//! ```
//! use dotwise::angle::{CrankAngle, CrankTurn};
//! let overlap = CrankAngle::new(0.0) + CrankTurn::new(-360.0);
//! assert_eq!(overlap.degrees(), 360.0);
//! assert_eq!(CrankTurn::new(720.0).at_half_speed::<dotwise::angle::Cam>().degrees(), 360.0);
//! ```
//!
//! Crank and cam degrees do not mix:
//!
//! ```compile_fail
//! use dotwise::angle::{CamTurn, CrankAngle};
//! let _ = CrankAngle::new(0.0) + CamTurn::new(10.0);
//! ```

use std::marker::PhantomData;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

use serde::{Deserialize, Serialize, Serializer};

/// A shaft: its angles are of another type than every other shaft's.
pub trait Shaft: Copy {
    /// Degrees after which the shaft, and everything timed by it, stands the same again.
    const CYCLE: f64;
}

/// A shaft that turns once for two turns of the crankshaft.
pub trait HalfSpeed: Shaft {}

/// The crankshaft: its cycle is two turns.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Crank;
/// The camshaft: one turn a cycle.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Cam;
/// The distributor's shaft and the rotor on it: one turn a cycle.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Rotor;

impl Shaft for Crank {
    const CYCLE: f64 = 720.0;
}
impl Shaft for Cam {
    const CYCLE: f64 = 360.0;
}
impl Shaft for Rotor {
    const CYCLE: f64 = 360.0;
}
impl HalfSpeed for Cam {}
impl HalfSpeed for Rotor {}

/// A position in a shaft's cycle, in degrees, 0 ≤ a < [`Shaft::CYCLE`], counted in the running
/// direction. Zero is No. 1 at TDC firing.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Angle<S>(f64, PhantomData<S>);

/// A signed difference between two positions of one shaft, in degrees, positive in the running
/// direction.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Turn<S>(f64, PhantomData<S>);

/// Where the crank stands in its cycle of 720°.
pub type CrankAngle = Angle<Crank>;
/// How far the crank turns.
pub type CrankTurn = Turn<Crank>;
/// Where the camshaft stands in its cycle of 360°.
pub type CamAngle = Angle<Cam>;
/// How far the camshaft turns.
pub type CamTurn = Turn<Cam>;
/// How far the rotor turns.
pub type RotorTurn = Turn<Rotor>;

/// Brings `degrees` into 0 ≤ a < `cycle`.
///
/// A position must never stand on its own end: what is short of it by less than the rounding of a
/// few sums is at the start.
pub(crate) fn wrap(degrees: f64, cycle: f64) -> f64 {
    const ROUNDING_DEG: f64 = 1e-9;
    // Most angles are less than a cycle out: those need no division.
    let wrapped = if (0.0..cycle).contains(&degrees) {
        degrees
    } else if (-cycle..0.0).contains(&degrees) {
        degrees + cycle
    } else {
        degrees.rem_euclid(cycle)
    };
    if wrapped > cycle - ROUNDING_DEG {
        0.0
    } else {
        wrapped
    }
}

/// Brings `degrees` into −`cycle`/2 ≤ a < `cycle`/2.
pub(crate) fn wrap_signed(degrees: f64, cycle: f64) -> f64 {
    let half = cycle / 2.0;
    wrap(degrees + half, cycle) - half
}

/// A figure as other programs are given it, in degrees or millimetres: without the rounding of its
/// last few bits, and without a negative zero.
pub fn rounded(figure: f64) -> f64 {
    const PLACES: f64 = 1e9;
    let rounded = (figure * PLACES).round() / PLACES;
    if rounded == 0.0 { 0.0 } else { rounded }
}

impl<S> Serialize for Angle<S> {
    fn serialize<Z: Serializer>(&self, serializer: Z) -> Result<Z::Ok, Z::Error> {
        serializer.serialize_f64(rounded(self.0))
    }
}
impl<S> Serialize for Turn<S> {
    fn serialize<Z: Serializer>(&self, serializer: Z) -> Result<Z::Ok, Z::Error> {
        serializer.serialize_f64(rounded(self.0))
    }
}
impl Serialize for Clock {
    fn serialize<Z: Serializer>(&self, serializer: Z) -> Result<Z::Ok, Z::Error> {
        serializer.serialize_f64(rounded(self.0))
    }
}

impl<S: Shaft> Angle<S> {
    /// The position `degrees` into the cycle; whole cycles are taken off.
    pub fn new(degrees: f64) -> Self {
        Self(wrap(degrees, S::CYCLE), PhantomData)
    }

    /// A position already known to lie in the cycle: no division on the way. Only sums of two
    /// positions come here.
    pub(crate) fn within(degrees: f64) -> Self {
        debug_assert!(
            (0.0..S::CYCLE).contains(&degrees),
            "{degrees} is not in the cycle"
        );
        Self(degrees, PhantomData)
    }

    /// Degrees into the cycle, 0 ≤ a < [`Shaft::CYCLE`].
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// How far the shaft must turn on, in its running direction, to come to `other`: 0 ≤ t <
    /// [`Shaft::CYCLE`].
    pub fn on_to(self, other: Self) -> Turn<S> {
        Turn::new(wrap(other.0 - self.0, S::CYCLE))
    }

    /// The shorter way to `other`, back or on: −[`Shaft::CYCLE`]/2 ≤ t < [`Shaft::CYCLE`]/2.
    pub fn nearest_to(self, other: Self) -> Turn<S> {
        Turn::new(wrap_signed(other.0 - self.0, S::CYCLE))
    }
}

impl<S> Turn<S> {
    /// A turn of `degrees`, positive in the running direction.
    pub const fn new(degrees: f64) -> Self {
        Self(degrees, PhantomData)
    }

    /// Signed degrees.
    pub fn degrees(self) -> f64 {
        self.0
    }
}

impl Turn<Crank> {
    /// What a half-speed shaft turns while the crank turns this far: half.
    pub fn at_half_speed<H: HalfSpeed>(self) -> Turn<H> {
        Turn::new(self.0 / 2.0)
    }
}

impl<H: HalfSpeed> Turn<H> {
    /// What the crank turns while this half-speed shaft turns this far: twice.
    pub fn at_crank(self) -> Turn<Crank> {
        Turn::new(self.0 * 2.0)
    }
}

impl Turn<Cam> {
    /// The turn of a rotor that the camshaft drives one to one.
    pub fn at_rotor(self) -> Turn<Rotor> {
        Turn::new(self.0)
    }
}

impl Angle<Crank> {
    /// Where the camshaft stands, as drawn, when the crank stands here.
    pub fn at_cam(self) -> Angle<Cam> {
        Angle::within(self.0 / 2.0)
    }

    /// How far past No. 1's dead-centre mark the crank stands by its own marks, 0 ≤ a < 360: they
    /// cannot tell the turn.
    pub fn by_the_mark(self) -> f64 {
        if self.0 >= 360.0 {
            self.0 - 360.0
        } else {
            self.0
        }
    }
}

impl<S: Shaft> Add<Turn<S>> for Angle<S> {
    type Output = Self;
    fn add(self, turn: Turn<S>) -> Self {
        Self::new(self.0 + turn.0)
    }
}
impl<S: Shaft> Sub<Turn<S>> for Angle<S> {
    type Output = Self;
    fn sub(self, turn: Turn<S>) -> Self {
        Self::new(self.0 - turn.0)
    }
}
impl<S: Shaft> AddAssign<Turn<S>> for Angle<S> {
    fn add_assign(&mut self, turn: Turn<S>) {
        *self = *self + turn;
    }
}
impl<S> Add for Turn<S> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}
impl<S> Sub for Turn<S> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.0 - other.0)
    }
}
impl<S> Neg for Turn<S> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.0)
    }
}
impl<S> Mul<f64> for Turn<S> {
    type Output = Self;
    fn mul(self, times: f64) -> Self {
        Self::new(self.0 * times)
    }
}

/// Which way a shaft turns, looking at its face.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Direction {
    /// With the clock: the sign s = +1.
    #[default]
    Clockwise,
    /// Against the clock: the sign s = −1.
    CounterClockwise,
}

impl Direction {
    /// +1 clockwise, −1 counter-clockwise.
    pub fn sign(self) -> f64 {
        match self {
            Self::Clockwise => 1.0,
            Self::CounterClockwise => -1.0,
        }
    }

    /// The other way.
    #[must_use]
    pub fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }

    /// The word a builder uses.
    pub fn word(self) -> &'static str {
        match self {
            Self::Clockwise => "clockwise",
            Self::CounterClockwise => "anticlockwise",
        }
    }
}

/// Clock degrees, 0 ≤ c < 360, clockwise from straight up or from the builder's reference.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Clock(f64);

impl Clock {
    /// The clock position `degrees` clockwise from the reference; whole turns are taken off.
    pub fn new(degrees: f64) -> Self {
        Self(wrap(degrees, 360.0))
    }

    /// Degrees clockwise from the reference, 0 ≤ c < 360.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// The clock position after turning `degrees` in `direction`.
    #[must_use]
    pub fn turned(self, direction: Direction, degrees: f64) -> Self {
        Self::new(self.0 + direction.sign() * degrees)
    }

    /// How far this position lies past `other`, in `direction`: −180 ≤ d < 180.
    pub fn past(self, other: Self, direction: Direction) -> f64 {
        wrap_signed(direction.sign() * (self.0 - other.0), 360.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_never_stands_on_the_end_of_its_cycle() {
        for degrees in [720.0, -1e-18, -720.0, 1440.0, 719.999_999_999_999_9] {
            assert_eq!(CrankAngle::new(degrees).degrees(), 0.0, "{degrees}");
        }
    }

    #[test]
    fn the_way_on_is_never_backwards_and_the_nearest_way_never_over_half_a_cycle() {
        let (here, there) = (CrankAngle::new(700.0), CrankAngle::new(20.0));
        assert_eq!(here.on_to(there).degrees(), 40.0);
        assert_eq!(there.on_to(here).degrees(), 680.0);
        assert_eq!(there.nearest_to(here).degrees(), -40.0);
    }

    #[test]
    fn a_rotor_past_its_tower_is_past_in_its_own_direction() {
        let (rotor, tower) = (Clock::new(10.0), Clock::new(350.0));
        assert_eq!(rotor.past(tower, Direction::Clockwise), 20.0);
        assert_eq!(rotor.past(tower, Direction::CounterClockwise), -20.0);
    }
}
