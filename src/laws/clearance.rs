//! Clearance between the valves and the piston as the crank goes round.
//!
//! With the drop measured at TDC (the valve pushed from its seat by hand until it touches the
//! piston), gap(α) = drop_TDC + drop(α) / cos(valve angle) − lift(α). Common practice, no source:
//! at least 2.0 mm (0.080 in) at the intake and 2.5 mm (0.100 in) at the exhaust; with the camshaft
//! advanced the intake has less, with it retarded the exhaust.

use arrayvec::ArrayVec;
use serde::Serialize;

use crate::angle::{CrankAngle, CrankTurn};
use crate::description::fields::MOST_CAMSHAFTS;
use crate::description::{Clearance, Description, Valve};
use crate::words::{Units, serialize_rounded};

use super::gear_train::{self, CamTeeth};
use super::lift::TOLD_BY_EYE_MM;
use super::{Lobe, Lobes, SliderCrank};

/// The least gap that common practice asks for at a valve, no source: a round figure to whoever
/// measures in these units, so that what is asked for and what is judged by are one.
///
/// ```
/// use dotwise::{description::Valve, laws::clearance::least_allowed_mm, words::{Units, length}};
/// let least = |units| length(least_allowed_mm(Valve::Exhaust, units), units);
/// assert_eq!(least(Units::Millimetres), "2.50 mm");
/// assert_eq!(least(Units::Inches), "0.100 in");
/// ```
pub fn least_allowed_mm(valve: Valve, units: Units) -> f64 {
    let least = match (valve, units) {
        (Valve::Intake, Units::Millimetres) => 2.0,
        (Valve::Exhaust, Units::Millimetres) => 2.5,
        (Valve::Intake, Units::Inches) => 0.080,
        (Valve::Exhaust, Units::Inches) => 0.100,
    };
    least * units.millimetres()
}

/// The nearest one valve comes to the piston. Negative: they meet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// The clearance between valve and piston there.
    #[serde(serialize_with = "serialize_rounded")]
    pub gap_mm: f64,
    /// Where, in the cylinder's own phase: No. 1's crank angle.
    #[serde(rename = "crank_deg")]
    pub crank: CrankAngle,
}

/// The nearest both valves come.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LeastGaps {
    /// The intake valve.
    pub intake: Gap,
    /// The exhaust valve.
    pub exhaust: Gap,
}

impl LeastGaps {
    /// The smaller of the two.
    pub(crate) fn least_mm(&self) -> f64 {
        self.intake.gap_mm.min(self.exhaust.gap_mm)
    }

    /// Whether a valve meets its piston.
    pub fn meets(&self) -> bool {
        self.least_mm() <= 0.0
    }

    /// One of the two.
    pub fn of(&self, valve: Valve) -> Gap {
        match valve {
            Valve::Intake => self.intake,
            Valve::Exhaust => self.exhaust,
        }
    }

    /// Whether both are what common practice asks for, of who measures in these units.
    pub fn is_enough(&self, units: Units) -> bool {
        Valve::BOTH
            .into_iter()
            .all(|valve| self.of(valve).gap_mm >= least_allowed_mm(valve, units))
    }
}

/// The two valves of a cylinder while both are off their seats: where the higher is open farthest.
///
/// Pushed down alike they touch at a lift that can be measured. The farther the one is open, the less
/// the other must be to touch it, so while neither is open so far they cannot meet; beyond that,
/// whether they do depends on their heads and is not known. One that is off its seat by less than a
/// hand or an eye can tell is on it: beside a valve on its seat the other opens in every turn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OpenTogether {
    /// How far the higher is open.
    #[serde(serialize_with = "serialize_rounded")]
    pub higher_mm: f64,
    /// How far the other then is.
    #[serde(serialize_with = "serialize_rounded")]
    pub lower_mm: f64,
    /// Where, in the cylinder's own phase: No. 1's crank angle.
    #[serde(rename = "crank_deg")]
    pub crank: CrankAngle,
}

/// That place for a cylinder whose intake and exhaust valve are so far ahead of the card; None where
/// they are never both off their seats.
pub fn open_together(lobes: &Lobes, ahead: [CrankTurn; 2]) -> Option<OpenTogether> {
    /// A lift changes by less than can be read in so little.
    const STEPS_A_DEGREE: u32 = 4;
    let [intake_ahead, exhaust_ahead] = ahead;
    let both = |step: u32| {
        let phase_deg = f64::from(step) / f64::from(STEPS_A_DEGREE);
        let intake = lobes.intake.lift_mm(phase_deg + intake_ahead.degrees());
        let exhaust = lobes.exhaust.lift_mm(phase_deg + exhaust_ahead.degrees());
        (intake.min(exhaust) > TOLD_BY_EYE_MM).then_some(OpenTogether {
            higher_mm: intake.max(exhaust),
            lower_mm: intake.min(exhaust),
            crank: CrankAngle::new(phase_deg),
        })
    };
    (0..720 * STEPS_A_DEGREE)
        .filter_map(both)
        .max_by(|one, other| one.higher_mm.total_cmp(&other.higher_mm))
}

/// How far ahead of the card the valves of one kind stand: one for each camshaft that works any.
pub type Ahead = ArrayVec<CrankTurn, MOST_CAMSHAFTS>;

/// The least gaps, from what was measured at TDC, with the intake valves, and the exhaust valves,
/// `ahead` of the card: of each kind, the least of those that its camshafts give.
pub fn least(
    measured: &Clearance,
    slider: &SliderCrank,
    lobes: &Lobes,
    [intake_ahead, exhaust_ahead]: &[Ahead; 2],
) -> LeastGaps {
    let slope = measured.valve_angle().to_radians().cos();
    let of = |lobe: &Lobe, drop_mm: f64, ahead: &Ahead| {
        let gaps = ahead.iter().map(|ahead| {
            least_of(&|phase| {
                drop_mm + slider.drop_mm(phase) / slope - lobe.lift_mm(phase + ahead.degrees())
            })
        });
        let least = gaps.min_by(|one, other| one.gap_mm.total_cmp(&other.gap_mm));
        // Every valve has a camshaft.
        least.unwrap_or(Gap {
            gap_mm: drop_mm,
            crank: CrankAngle::new(0.0),
        })
    };
    LeastGaps {
        intake: of(&lobes.intake, measured.intake_drop, intake_ahead),
        exhaust: of(&lobes.exhaust, measured.exhaust_drop, exhaust_ahead),
    }
}

/// How far ahead of the card the valves of each kind stand, intake first, with the camshafts' teeth
/// out and their trim, of an engine so described.
pub fn ahead(description: &Description, cams: CamTeeth) -> [Ahead; 2] {
    let mut ahead = [Ahead::new(), Ahead::new()];
    for (valve, of_a_kind) in Valve::BOTH.into_iter().zip(&mut ahead) {
        let mut camshafts = ArrayVec::<usize, MOST_CAMSHAFTS>::new();
        for &cylinder in &description.firing_order {
            let camshaft = description.camshaft_of(cylinder, valve);
            if !camshafts.contains(&camshaft) && camshafts.try_push(camshaft).is_ok() {
                of_a_kind.push(gear_train::valves_ahead(description, camshaft, cams));
            }
        }
    }
    ahead
}

/// The least of a smooth curve over the cycle: the least of coarse steps, then narrowed down by
/// thirds.
fn least_of(gap: &dyn Fn(f64) -> f64) -> Gap {
    /// Between the lift's and the piston's curves no two dips are nearer than this.
    const COARSE_DEG: f64 = 2.0;
    let coarse = (0..360).map(|index| f64::from(index) * COARSE_DEG);
    let nearest = coarse
        .min_by(|one, other| gap(*one).total_cmp(&gap(*other)))
        .unwrap_or(0.0);
    let (mut from, mut to) = (nearest - COARSE_DEG, nearest + COARSE_DEG);
    for _ in 0..60 {
        let third = (to - from) / 3.0;
        if gap(from + third) < gap(to - third) {
            to -= third;
        } else {
            from += third;
        }
    }
    let at = (from + to) / 2.0;
    Gap {
        gap_mm: gap(at),
        crank: CrankAngle::new(at),
    }
}
