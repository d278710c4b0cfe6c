//! Clearance between the valves and the piston as the crank goes round.
//!
//! With the drop measured at TDC (the valve pushed from its seat by hand until it touches the
//! piston), gap(α) = drop_TDC + drop(α) / cos(valve angle) − lift(α). Common practice, no source:
//! at least 2.0 mm at the intake and 2.5 mm at the exhaust; with the camshaft advanced the
//! intake has less, with it retarded the exhaust.

use serde::Serialize;

use crate::angle::{CrankAngle, CrankTurn};
use crate::description::Clearance;
use crate::words::serialize_rounded;

use super::{Lobe, Lobes, SliderCrank};

/// Least intake gap, common practice, no source.
pub const LEAST_INTAKE_MM: f64 = 2.0;
/// Least exhaust gap, common practice, no source.
pub const LEAST_EXHAUST_MM: f64 = 2.5;

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

/// The least gaps, from what was measured at TDC, with the camshaft `ahead` of as drawn.
pub fn least(
    measured: &Clearance,
    slider: &SliderCrank,
    lobes: &Lobes,
    ahead: CrankTurn,
) -> LeastGaps {
    let slope = measured.valve_angle.to_radians().cos();
    let of = |lobe: &Lobe, drop_mm: f64| {
        least_of(&|phase| {
            drop_mm + slider.drop_mm(phase) / slope - lobe.lift_mm(phase + ahead.degrees())
        })
    };
    LeastGaps {
        intake: of(&lobes.intake, measured.intake_drop),
        exhaust: of(&lobes.exhaust, measured.exhaust_drop),
    }
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
