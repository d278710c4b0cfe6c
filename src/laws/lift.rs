//! The valves' lift, from the events and the lift law.
//!
//! Lift law Polynomial (single dwell, symmetric 3-4-5-6): L = 64 h [x (1 − x)]³, x from 0 to 1 over
//! the seat duration D. Events quoted at a lift c are where the law reaches c, so D = D_c / √(1 −
//! (c/h)^⅓), about the same centre. Source: R. L. Norton, *Design of Machinery*, single-dwell
//! polynomial (from memory); worked back from the boundary conditions.
//!
//! Where a second pair of events fixes the ramps, the exponent is what both pairs give
//! ([`ramps`](super::ramps)), and the seat duration too.
//!
//! A lobe as measured follows no law but its own points ([`MeasuredLift`]): it need not be alike on
//! both sides, its centre is the middle of equal lifts at half its height, and its events are where
//! it leaves its seat and is back on it.
//!
//! A valve is open while it is off its seat, its lift over 0, at whatever lift the events are
//! quoted. That is the same as being within half of D of the lobe's centre, and compared so it is
//! exact at the seats.

use crate::angle::{wrap, wrap_signed};
use crate::description::{AlsoAt, Events, LiftPoint, NoEvents, Valve, Valves};

use super::measured_lift::MeasuredLift;
use super::ramps::{self, NoRamps, Over, Ramps};

/// The lifts at which cam cards usually quote their events: at the seat (advertised), at 1 mm, at
/// 0.050 in. Common practice, no source.
pub(crate) const USUALLY_QUOTED_AT_MM: [f64; 3] = [0.0, 1.0, 1.27];

/// A valve that is off its seat by less is taken for open by one hand and for closed by the next:
/// common practice, no source.
pub(crate) const TOLD_BY_EYE_MM: f64 = 0.10;

/// The two lobes of a cylinder, the same for every cylinder.
#[derive(Clone, Debug, PartialEq)]
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
            intake: Lobe::of(valves, Valve::Intake),
            exhaust: Lobe::of(valves, Valve::Exhaust),
        }
    }

    /// The lobes that a card's events and lifts make, also where they were measured besides; the
    /// lobe as measured where there is no card.
    pub fn on_card(valves: &Valves) -> Self {
        let [intake, exhaust] = Valve::BOTH
            .map(|valve| Lobe::on_card(valves, valve).unwrap_or_else(|| Lobe::of(valves, valve)));
        Self { intake, exhaust }
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
#[derive(Clone, Debug, PartialEq)]
pub struct Lobe {
    centre_deg: f64,
    quoted_deg: f64,
    seat_deg: f64,
    lift_mm: f64,
    quoted_at_mm: f64,
    /// What is left at the valve with its lash set; 0 where none is stated.
    gap_mm: f64,
    shape: Shape,
}

/// What a lobe's lift between its seats follows.
#[derive(Clone, Debug, PartialEq)]
enum Shape {
    /// A law, alike on both sides of the centre.
    Law(Law),
    /// Points that were measured.
    Measured(Measured),
}

/// How a lobe's lift runs between its seats.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Law {
    /// h (1 − u²)³: the single-dwell polynomial, taken where nothing else is known.
    Polynomial,
    /// h (1 − u²)ⁿ, its exponent from two pairs of events.
    Power(f64),
}

/// A lobe as measured, at the valve.
#[derive(Clone, Debug, PartialEq)]
struct Measured {
    curve: MeasuredLift,
    /// From where it leaves its seat: where it passes [`TOLD_BY_EYE_MM`] whether or not the lash is
    /// set, and comes back to it.
    told_open_deg: (f64, f64),
}

impl Measured {
    /// The curve through a description's points, at the valve; None where they hold no lobe: no
    /// [`Engine`](crate::engine::Engine) has such.
    fn of(lifts: &[LiftPoint], ratio: f64, gap_mm: f64) -> Option<Self> {
        let at_the_valve: Vec<(f64, f64)> = lifts
            .iter()
            .map(|LiftPoint(deg, lift)| (*deg, lift * ratio))
            .collect();
        let curve = MeasuredLift::through(&at_the_valve)?;
        let middle = curve.seat_duration_deg() / 2.0;
        Some(Self {
            told_open_deg: curve
                .passes(TOLD_BY_EYE_MM + gap_mm)
                .unwrap_or((middle, middle)),
            curve,
        })
    }
}

/// A valve's events, in whatever form they are written, and where they follow from its lobe as
/// measured: where that leaves its seat and is back on it. None of valves that no engine has.
pub(crate) fn events(valves: &Valves, valve: Valve) -> Option<Events> {
    match valves.events(valve) {
        Ok(events) => Some(events),
        Err(NoEvents::Measured) => {
            let points: Vec<(f64, f64)> = valves
                .lifts(valve)?
                .iter()
                .map(|LiftPoint(deg, lift)| (*deg, *lift))
                .collect();
            let curve = MeasuredLift::through(&points)?;
            let opens = wrap_signed(curve.leaves_seat_deg(), 720.0);
            let duration = curve.seat_duration_deg();
            // Counted over the TDC between the two: phases from −360, and on past 360.
            let centre = wrap_signed(curve.centre_deg() - 360.0, 720.0);
            let (opens_before, closes_after) = match valve {
                Valve::Intake => {
                    let before = wrap_signed(360.0 - opens, 720.0);
                    (before, duration - 180.0 - before)
                }
                Valve::Exhaust => {
                    let before = wrap_signed(180.0 - opens, 720.0);
                    (before, duration - 180.0 - before)
                }
            };
            Some(Events {
                opens_before,
                closes_after,
                duration,
                centre: match valve {
                    Valve::Intake => centre,
                    Valve::Exhaust => 0.0 - centre,
                },
                lift: curve.full_lift_mm(),
                quoted_at: 0.0,
                also_at: None,
            })
        }
        Err(_) => None,
    }
}

impl Law {
    /// How much of the square of the seat duration it is over a share of full lift.
    fn squared_part_over(&self, share: f64) -> f64 {
        match self {
            Self::Polynomial => 1.0 - share.cbrt(),
            Self::Power(exponent) => ramps::squared_part_over(share, *exponent),
        }
    }
}

/// The law of a valve's lobe from both pairs of its events, `events` in one unit of length; None
/// where there is no second pair.
///
/// # Errors
/// Where no law gives both pairs: no [`Engine`](crate::engine::Engine) has such.
pub(crate) fn fitted_ramps(events: &Events) -> Option<Result<Ramps, NoRamps>> {
    let AlsoAt { lift, duration, .. } = events.also_at?;
    let quoted = Over {
        lift: events.quoted_at,
        duration_deg: events.duration,
    };
    let other = Over {
        lift,
        duration_deg: duration,
    };
    Some(ramps::fitted(events.lift, quoted, other))
}

impl Lobe {
    /// A lobe that has its valve over `quoted_at_mm` from phase `opens_deg` to phase `closes_deg`
    /// (the larger), and full lift midway.
    pub fn between(opens_deg: f64, closes_deg: f64, lift_mm: f64, quoted_at_mm: f64) -> Self {
        let quoted_deg = closes_deg - opens_deg;
        let part = Law::Polynomial.squared_part_over(quoted_at_mm / lift_mm);
        let seat_deg = quoted_deg / part.sqrt();
        Self {
            centre_deg: wrap((opens_deg + closes_deg) / 2.0, 720.0),
            quoted_deg,
            seat_deg,
            lift_mm,
            quoted_at_mm,
            gap_mm: 0.0,
            shape: Shape::Law(Law::Polynomial),
        }
    }

    /// A valve's lobe: the intake's from its opening before overlap TDC to its closing after the
    /// BDC that follows, the exhaust's from its opening before the power stroke's BDC to its
    /// closing after overlap TDC.
    ///
    /// Where it was measured, its own points make it. Of valves that no engine has, their events not
    /// stated whole, one that never opens.
    pub fn of(valves: &Valves, valve: Valve) -> Self {
        match valves.lifts(valve) {
            Some(lifts) => {
                let gap_mm = valves.gap(valve).unwrap_or(0.0);
                Measured::of(lifts, valves.ratio(), gap_mm)
                    .map(|measured| Self::measured(measured, gap_mm))
            }
            None => Self::on_card(valves, valve),
        }
        .unwrap_or_else(Self::shut)
    }

    /// The lobe through measured points.
    fn measured(measured: Measured, gap_mm: f64) -> Self {
        let curve = &measured.curve;
        Self {
            centre_deg: curve.centre_deg(),
            quoted_deg: curve.seat_duration_deg(),
            seat_deg: curve.seat_duration_deg(),
            lift_mm: curve.full_lift_mm(),
            quoted_at_mm: 0.0,
            gap_mm,
            shape: Shape::Measured(measured),
        }
    }

    /// The lobe that a card's events make, whether or not it was measured too; None where there is
    /// no card.
    pub(crate) fn on_card(valves: &Valves, valve: Valve) -> Option<Self> {
        let events = valves.events_on_card(valve).ok()?;
        let (opens, closes) = match valve {
            Valve::Intake => (360.0 - events.opens_before, 540.0 + events.closes_after),
            Valve::Exhaust => (180.0 - events.opens_before, 360.0 + events.closes_after),
        };
        let ratio = valves.ratio();
        let polynomial = Self {
            gap_mm: valves.gap(valve).unwrap_or(0.0),
            ..Self::between(opens, closes, events.lift * ratio, events.quoted_at * ratio)
        };
        Some(match fitted_ramps(&events) {
            Some(Ok(ramps)) => Self {
                seat_deg: ramps.seat_deg,
                shape: Shape::Law(Law::Power(ramps.exponent)),
                ..polynomial
            },
            Some(Err(_)) | None => polynomial,
        })
    }

    /// A lobe that lifts nothing.
    fn shut() -> Self {
        Self {
            centre_deg: 0.0,
            quoted_deg: 0.0,
            seat_deg: f64::MIN_POSITIVE,
            lift_mm: 0.0,
            quoted_at_mm: 0.0,
            gap_mm: 0.0,
            shape: Shape::Law(Law::Polynomial),
        }
    }

    /// The exponent of its law, where two pairs of events fix it.
    pub fn fitted_exponent(&self) -> Option<f64> {
        match self.shape {
            Shape::Law(Law::Power(exponent)) => Some(exponent),
            Shape::Law(Law::Polynomial) | Shape::Measured(_) => None,
        }
    }

    /// The curve through its points, at the valve, where it was measured.
    pub fn as_measured(&self) -> Option<&MeasuredLift> {
        match &self.shape {
            Shape::Measured(measured) => Some(&measured.curve),
            Shape::Law(_) => None,
        }
    }

    /// Phase of full lift; of a lobe as measured the middle of equal lifts at half its height.
    /// 0 ≤ α < 720.
    pub fn centre_deg(&self) -> f64 {
        self.centre_deg
    }

    /// Crank degrees between the events as quoted.
    pub fn duration_deg(&self) -> f64 {
        self.quoted_deg
    }

    /// Crank degrees from seat to seat.
    pub fn seat_duration_deg(&self) -> f64 {
        self.seat_deg
    }

    /// Full lift at the valve.
    pub fn full_lift_mm(&self) -> f64 {
        self.lift_mm
    }

    /// The lift at which the events are quoted.
    pub fn quoted_at_mm(&self) -> f64 {
        self.quoted_at_mm
    }

    /// Phase midway between where it leaves its seat and where it is back on it, 0 ≤ α < 720: its
    /// centre, but for a lobe as measured that is not alike on both sides.
    pub fn middle_deg(&self) -> f64 {
        self.as_measured().map_or(self.centre_deg, |curve| {
            wrap(
                curve.leaves_seat_deg() + curve.seat_duration_deg() / 2.0,
                720.0,
            )
        })
    }

    /// The lift at the valve with its lash set, at full lift: the valve lifts by max(0, L − g).
    pub fn full_lift_with_lash_mm(&self) -> f64 {
        (self.lift_mm - self.gap_mm).max(0.0)
    }

    /// Crank degrees for which the valve is off its seat with its lash set.
    pub fn open_with_lash_deg(&self) -> f64 {
        self.duration_over_deg(self.gap_mm).unwrap_or(0.0)
    }

    /// Phase at which the valve leaves its seat, 0 ≤ α < 720.
    pub fn leaves_seat_deg(&self) -> f64 {
        wrap(self.middle_deg() - self.seat_deg / 2.0, 720.0)
    }

    /// Phase at which the valve passes the quoted lift going up, 0 ≤ α < 720.
    pub fn opens_deg(&self) -> f64 {
        wrap(self.middle_deg() - self.quoted_deg / 2.0, 720.0)
    }

    /// Phase at which it passes the quoted lift coming down, 0 ≤ α < 720.
    pub fn closes_deg(&self) -> f64 {
        wrap(self.middle_deg() + self.quoted_deg / 2.0, 720.0)
    }

    /// Lift and openness at phase `phase_deg`, −720 < α < 1440.
    pub fn at(&self, phase_deg: f64) -> ValveReading {
        match &self.shape {
            Shape::Law(law) => {
                let off = self.off_centre(phase_deg);
                ValveReading {
                    lift_mm: self.lift_off_centre(off, *law),
                    open: off < self.seat_deg / 2.0,
                }
            }
            Shape::Measured(measured) => {
                let lift_mm = measured.curve.off_seat_mm(phase_deg);
                ValveReading {
                    lift_mm: lift_mm.unwrap_or(0.0),
                    open: lift_mm.is_some(),
                }
            }
        }
    }

    /// Lift at phase `phase_deg`, any angle.
    pub fn lift_mm(&self, phase_deg: f64) -> f64 {
        match &self.shape {
            Shape::Law(law) => {
                self.lift_off_centre(wrap_signed(phase_deg - self.centre_deg, 720.0).abs(), *law)
            }
            Shape::Measured(measured) => measured.curve.lift_mm(phase_deg),
        }
    }

    /// The most lift from one phase to another, at most a whole cycle from it, either way.
    pub(crate) fn most_lift_mm(&self, from_deg: f64, to_deg: f64) -> f64 {
        let (first, last) = (from_deg.min(to_deg), from_deg.max(to_deg));
        if let Shape::Measured(measured) = &self.shape {
            return measured.curve.most_lift_mm(first, last);
        }
        let centre = first + wrap(self.centre_deg - first, 720.0);
        if centre <= last {
            self.lift_mm
        } else {
            self.lift_mm(first).max(self.lift_mm(last))
        }
    }

    /// The slope of the lift, millimetres a crank degree, positive while opening.
    pub fn velocity_mm_per_deg(&self, phase_deg: f64) -> f64 {
        let law = match &self.shape {
            Shape::Law(law) => *law,
            Shape::Measured(measured) => return measured.curve.velocity_mm_per_deg(phase_deg),
        };
        let off = wrap_signed(phase_deg - self.centre_deg, 720.0);
        if off.abs() * 2.0 >= self.seat_deg {
            return 0.0;
        }
        match law {
            Law::Polynomial => {
                let x = off / self.seat_deg + 0.5;
                let hump = x * (1.0 - x);
                192.0 * self.lift_mm * hump * hump * (1.0 - 2.0 * x) / self.seat_deg
            }
            Law::Power(n) => {
                let u = 2.0 * off / self.seat_deg;
                -4.0 * n * self.lift_mm * u * (1.0 - u * u).powf(n - 1.0) / self.seat_deg
            }
        }
    }

    /// How the slope changes, millimetres a crank degree squared: nothing off the lobe, and most of
    /// all downwards at full lift. At the seats it goes to nothing where the exponent is over 2, and
    /// without end where it is under. Of a lobe as measured it steps at the points.
    pub fn acceleration_mm_per_deg2(&self, phase_deg: f64) -> f64 {
        let law = match &self.shape {
            Shape::Law(law) => *law,
            Shape::Measured(measured) => return measured.curve.acceleration_mm_per_deg2(phase_deg),
        };
        let u = 2.0 * wrap_signed(phase_deg - self.centre_deg, 720.0) / self.seat_deg;
        if u.abs() >= 1.0 {
            return 0.0;
        }
        let hump = 1.0 - u * u;
        let squared = self.seat_deg * self.seat_deg;
        match law {
            Law::Polynomial => 24.0 * self.lift_mm * hump * (5.0 * u * u - 1.0) / squared,
            Law::Power(n) => {
                let bend = (2.0 * n - 1.0) * u * u - 1.0;
                8.0 * n * self.lift_mm * hump.powf(n - 2.0) * bend / squared
            }
        }
    }

    /// Crank degrees at this phase to where the lift passes [`TOLD_BY_EYE_MM`] whether or not the
    /// lash is set: positive while it is over it, so that anybody calls the valve open; negative
    /// under it.
    pub(crate) fn told_open_by_deg(&self, phase_deg: f64) -> f64 {
        if let Shape::Measured(measured) = &self.shape {
            let (up, down) = measured.told_open_deg;
            return -outside(measured.curve.past_seat_deg(phase_deg), up, down);
        }
        self.told_open_deg() / 2.0 - wrap_signed(phase_deg - self.centre_deg, 720.0).abs()
    }

    /// Crank degrees for which anybody calls the valve open.
    pub(crate) fn told_open_deg(&self) -> f64 {
        match &self.shape {
            Shape::Measured(measured) => measured.told_open_deg.1 - measured.told_open_deg.0,
            Shape::Law(_) => self
                .duration_over_deg(TOLD_BY_EYE_MM + self.gap_mm)
                .unwrap_or(0.0),
        }
    }

    /// The phase midway through that, 0 ≤ α < 720.
    pub(crate) fn told_open_middle_deg(&self) -> f64 {
        match &self.shape {
            Shape::Measured(measured) => {
                let (up, down) = measured.told_open_deg;
                let middle = f64::midpoint(up, down);
                wrap(measured.curve.leaves_seat_deg() + middle, 720.0)
            }
            Shape::Law(_) => self.centre_deg,
        }
    }

    /// Crank degrees at this phase from the nearest end of the lobe, seat to seat: positive off the
    /// lobe, negative on it.
    pub(crate) fn off_lobe_deg(&self, phase_deg: f64) -> f64 {
        if let Shape::Measured(measured) = &self.shape {
            return outside(measured.curve.past_seat_deg(phase_deg), 0.0, self.seat_deg);
        }
        wrap_signed(phase_deg - self.centre_deg, 720.0).abs() - self.seat_deg / 2.0
    }

    /// Crank degrees for which it holds its valve over a lift; None where it never comes to it.
    pub(crate) fn duration_over_deg(&self, lift_mm: f64) -> Option<f64> {
        let law = match &self.shape {
            Shape::Law(law) => law,
            Shape::Measured(measured) => return measured.curve.duration_over_deg(lift_mm),
        };
        let share = lift_mm / self.lift_mm;
        (0.0..1.0)
            .contains(&share)
            .then(|| self.seat_deg * law.squared_part_over(share).sqrt())
    }

    /// The phase midway between where it passes a lift and where it is back at it, 0 ≤ α < 720; None
    /// where it never comes to it.
    pub(crate) fn middle_over_deg(&self, lift_mm: f64) -> Option<f64> {
        match &self.shape {
            Shape::Law(_) => Some(self.centre_deg),
            Shape::Measured(measured) => {
                let (up, down) = measured.curve.passes(lift_mm)?;
                let middle = f64::midpoint(up, down);
                Some(wrap(measured.curve.leaves_seat_deg() + middle, 720.0))
            }
        }
    }

    /// Distance from the centre without a division: at most two cycles away.
    fn off_centre(&self, phase_deg: f64) -> f64 {
        let mut off = (phase_deg - self.centre_deg).abs();
        if off >= 720.0 {
            off -= 720.0;
        }
        if off > 360.0 { 720.0 - off } else { off }
    }

    /// With u the distance from the centre over half the seat duration, 4 x (1 − x) = 1 − u², so
    /// L = h (1 − u²)ⁿ.
    fn lift_off_centre(&self, off: f64, law: Law) -> f64 {
        let u = 2.0 * off / self.seat_deg;
        let hump = 1.0 - u * u;
        if hump <= 0.0 {
            return 0.0;
        }
        match law {
            Law::Polynomial => self.lift_mm * hump * hump * hump,
            Law::Power(exponent) => self.lift_mm * hump.powf(exponent),
        }
    }
}

/// How far an angle, 0 ≤ a < 720, lies outside an arc of the cycle that begins and ends within it:
/// negative inside.
fn outside(at_deg: f64, from_deg: f64, to_deg: f64) -> f64 {
    if (from_deg..=to_deg).contains(&at_deg) {
        -(at_deg - from_deg).min(to_deg - at_deg)
    } else {
        let (before, after) = (from_deg - at_deg, at_deg - to_deg);
        // Ahead of the arc, or behind it; round the end of the cycle the other is nearer.
        before.rem_euclid(720.0).min(after.rem_euclid(720.0))
    }
}

/// One valve at one crank angle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ValveReading {
    /// Lift at the valve.
    pub lift_mm: f64,
    /// Off its seat.
    pub open: bool,
}
