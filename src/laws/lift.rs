//! The valves' lift, from the events and the lift law.
//!
//! Lift law Polynomial (single dwell, symmetric 3-4-5-6): L = 64 h [x (1 − x)]³, x from 0 to 1 over
//! the seat duration D. Events quoted at a lift c are where the law reaches c, so D = D_c / √(1 −
//! (c/h)^⅓), about the same centre. Source: R. L. Norton, *Design of Machinery*, single-dwell
//! polynomial (from memory); worked back from the boundary conditions.
//!
//! A valve is open while its lift is over c. That is the same as being within half of D_c of the
//! lobe's centre, and compared so it is exact at the events.

use crate::angle::{wrap, wrap_signed};
use crate::description::{Valve, Valves};

/// The two lobes of a cylinder, the same for every cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lobes {
    /// The intake valve's.
    pub intake: Lobe,
    /// The exhaust valve's.
    pub exhaust: Lobe,
}

impl Lobes {
    /// The lobes that the events and lifts of a description make.
    pub fn of(valves: &Valves) -> Self {
        Self {
            intake: Lobe::intake(valves),
            exhaust: Lobe::exhaust(valves),
        }
    }

    /// The lobe of one of the valves.
    pub fn lobe(&self, valve: Valve) -> &Lobe {
        match valve {
            Valve::Intake => &self.intake,
            Valve::Exhaust => &self.exhaust,
        }
    }
}

/// One valve's motion against its own cylinder's phase α: 0 at firing TDC, 360 at overlap TDC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lobe {
    centre_deg: f64,
    open_deg: f64,
    seat_deg: f64,
    lift_mm: f64,
    quoted_at_mm: f64,
}

impl Lobe {
    /// A lobe that has its valve over `quoted_at_mm` from phase `opens_deg` to phase `closes_deg`
    /// (the larger), and full lift midway.
    pub fn between(opens_deg: f64, closes_deg: f64, lift_mm: f64, quoted_at_mm: f64) -> Self {
        let open_deg = closes_deg - opens_deg;
        let seat_deg = open_deg / (1.0 - (quoted_at_mm / lift_mm).cbrt()).sqrt();
        Self {
            centre_deg: wrap((opens_deg + closes_deg) / 2.0, 720.0),
            open_deg,
            seat_deg,
            lift_mm,
            quoted_at_mm,
        }
    }

    /// The intake valve's: from `opens_btdc` before overlap TDC to `closes_abdc` after the BDC that
    /// follows.
    pub fn intake(valves: &Valves) -> Self {
        let (opens, closes) = (
            360.0 - valves.intake.opens_btdc,
            540.0 + valves.intake.closes_abdc,
        );
        Self::between(opens, closes, valves.intake.lift, valves.quoted_at)
    }

    /// The exhaust valve's: from `opens_bbdc` before the power stroke's BDC to `closes_atdc` after
    /// overlap TDC.
    pub fn exhaust(valves: &Valves) -> Self {
        let (opens, closes) = (
            180.0 - valves.exhaust.opens_bbdc,
            360.0 + valves.exhaust.closes_atdc,
        );
        Self::between(opens, closes, valves.exhaust.lift, valves.quoted_at)
    }

    /// Phase of full lift, 0 ≤ α < 720.
    pub fn centre_deg(&self) -> f64 {
        self.centre_deg
    }

    /// Crank degrees between the events as quoted.
    pub fn duration_deg(&self) -> f64 {
        self.open_deg
    }

    /// Crank degrees from seat to seat.
    pub fn seat_duration_deg(&self) -> f64 {
        self.seat_deg
    }

    /// Full lift at the valve.
    pub fn full_lift_mm(&self) -> f64 {
        self.lift_mm
    }

    /// The lift over which the valve counts as open.
    pub fn quoted_at_mm(&self) -> f64 {
        self.quoted_at_mm
    }

    /// Phase at which the valve passes the quoted lift going up, 0 ≤ α < 720.
    pub fn opens_deg(&self) -> f64 {
        wrap(self.centre_deg - self.open_deg / 2.0, 720.0)
    }

    /// Phase at which it passes the quoted lift coming down, 0 ≤ α < 720.
    pub fn closes_deg(&self) -> f64 {
        wrap(self.centre_deg + self.open_deg / 2.0, 720.0)
    }

    /// Lift and openness at phase `phase_deg`, −720 < α < 1440.
    pub fn at(&self, phase_deg: f64) -> ValveReading {
        let off = self.off_centre(phase_deg);
        ValveReading {
            lift_mm: self.lift_off_centre(off),
            open: off < self.open_deg / 2.0,
        }
    }

    /// Lift at phase `phase_deg`, any angle.
    pub fn lift_mm(&self, phase_deg: f64) -> f64 {
        self.lift_off_centre(wrap_signed(phase_deg - self.centre_deg, 720.0).abs())
    }

    /// The slope of the lift, millimetres a crank degree, positive while opening.
    pub fn velocity_mm_per_deg(&self, phase_deg: f64) -> f64 {
        let off = wrap_signed(phase_deg - self.centre_deg, 720.0);
        if off.abs() * 2.0 >= self.seat_deg {
            return 0.0;
        }
        let x = off / self.seat_deg + 0.5;
        let hump = x * (1.0 - x);
        192.0 * self.lift_mm * hump * hump * (1.0 - 2.0 * x) / self.seat_deg
    }

    /// How the slope changes, millimetres a crank degree squared: nothing at the seats, and most of
    /// all downwards at full lift.
    pub fn acceleration_mm_per_deg2(&self, phase_deg: f64) -> f64 {
        let u = 2.0 * wrap_signed(phase_deg - self.centre_deg, 720.0) / self.seat_deg;
        if u.abs() >= 1.0 {
            return 0.0;
        }
        24.0 * self.lift_mm * (1.0 - u * u) * (5.0 * u * u - 1.0) / (self.seat_deg * self.seat_deg)
    }

    /// Crank degrees at this phase to the nearest event as quoted (opening or closing): positive
    /// while the valve is open, negative while it is closed.
    pub(crate) fn open_by_deg(&self, phase_deg: f64) -> f64 {
        self.open_deg / 2.0 - wrap_signed(phase_deg - self.centre_deg, 720.0).abs()
    }

    /// Crank degrees at this phase from the nearest end of the lobe, seat to seat: positive off the
    /// lobe, negative on it.
    pub(crate) fn off_lobe_deg(&self, phase_deg: f64) -> f64 {
        wrap_signed(phase_deg - self.centre_deg, 720.0).abs() - self.seat_deg / 2.0
    }

    /// Crank degrees for which it holds its valve over a lift; None where it never comes to it.
    pub(crate) fn duration_over_deg(&self, lift_mm: f64) -> Option<f64> {
        // L = h (1 − u²)³, u the distance from the centre over half the seat duration.
        let share = lift_mm / self.lift_mm;
        (0.0..1.0)
            .contains(&share)
            .then(|| self.seat_deg * (1.0 - share.cbrt()).sqrt())
    }

    /// Distance from the centre without a division: at most two cycles away.
    fn off_centre(&self, phase_deg: f64) -> f64 {
        let mut off = (phase_deg - self.centre_deg).abs();
        if off >= 720.0 {
            off -= 720.0;
        }
        if off > 360.0 { 720.0 - off } else { off }
    }

    /// With u the distance from the centre over half the seat duration, x (1 − x) = (1 − u²)/4, so
    /// L = h (1 − u²)³.
    fn lift_off_centre(&self, off: f64) -> f64 {
        let u = 2.0 * off / self.seat_deg;
        let hump = 1.0 - u * u;
        if hump <= 0.0 {
            0.0
        } else {
            self.lift_mm * hump * hump * hump
        }
    }
}

/// One valve at one crank angle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ValveReading {
    /// Lift at the valve.
    pub lift_mm: f64,
    /// Over the lift at which the events are quoted.
    pub open: bool,
}
