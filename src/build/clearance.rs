//! Room between the valves and the piston as the crank goes round.
//!
//! With the drop measured at TDC (the valve pushed from its seat by hand until it touches the
//! piston), gap(α) = drop_TDC + drop(α) / cos(valve angle) − lift(α). Common practice, no source:
//! at least 2.0 mm at the intake and 2.5 mm at the exhaust; advancing the camshaft eats the
//! intake's, retarding it the exhaust's.

use crate::angle::{CrankAngle, CrankTurn};
use crate::phasing::{Lobe, Phasing};

/// Least intake gap, common practice, no source.
pub const LEAST_INTAKE_MM: f64 = 2.0;
/// Least exhaust gap, common practice, no source.
pub const LEAST_EXHAUST_MM: f64 = 2.5;

/// The nearest one valve comes to the piston. Negative: they meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// How near.
    pub gap_mm: f64,
    /// Where, in the cylinder's own phase: No. 1's crank angle.
    pub crank: CrankAngle,
}

/// The nearest both valves come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastGaps {
    /// The intake valve.
    pub intake: Gap,
    /// The exhaust valve.
    pub exhaust: Gap,
}

/// The least gaps, with the camshaft `ahead` of where this phasing has it. None where no clearance
/// was measured.
pub fn least(phasing: &Phasing, ahead: CrankTurn) -> Option<LeastGaps> {
    let clearance = phasing.engine().metric().clearance.as_ref()?;
    let slope = clearance.valve_angle.to_radians().cos();
    let ahead = ahead + phasing.cam_ahead().at_crank();
    let of = |lobe: &Lobe, drop_mm: f64| {
        least_of(&|phase| {
            drop_mm + phasing.slider().drop_mm(phase) / slope
                - lobe.lift_mm(phase + ahead.degrees())
        })
    };
    Some(LeastGaps {
        intake: of(phasing.intake(), clearance.intake_drop),
        exhaust: of(phasing.exhaust(), clearance.exhaust_drop),
    })
}

/// The least of a smooth curve over the cycle: the least of a coarse walk, then closed in on by
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
            to -= third
        } else {
            from += third
        }
    }
    let at = (from + to) / 2.0;
    Gap {
        gap_mm: gap(at),
        crank: CrankAngle::new(at),
    }
}

/// Cam teeth out that are asked after, either way.
pub const TEETH: i32 = 4;

/// The least gaps with the cam wheel out by so many teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByTeeth {
    /// Teeth ahead of as drawn; negative, behind.
    pub cam_teeth: i32,
    /// The nearest both valves then come.
    pub least: LeastGaps,
}

/// The least gaps for each tooth of the cam out, from [`TEETH`] behind to as many ahead of as
/// drawn, whatever this phasing has. None where no clearance was measured.
pub fn by_teeth(phasing: &Phasing) -> Option<Vec<ByTeeth>> {
    let tooth =
        crate::phasing::gear_train::crank_per_cam_tooth(&phasing.engine().metric().cam_drive);
    let built = phasing.assembly().cam_teeth;
    (-TEETH..=TEETH)
        .map(|cam_teeth| {
            least(phasing, tooth * f64::from(cam_teeth - built))
                .map(|least| ByTeeth { cam_teeth, least })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::build::Assembly;
    use crate::engine::scenes::BENCH;

    #[test]
    fn advancing_the_camshaft_eats_the_intakes_room_and_retarding_it_the_exhausts() {
        // Common practice, no source.
        let rows = by_teeth(&Phasing::as_drawn(&BENCH.engine())).expect("measured");
        for pair in rows.windows(2) {
            assert!(
                pair[1].least.intake.gap_mm <= pair[0].least.intake.gap_mm,
                "{pair:?}"
            );
            assert!(
                pair[1].least.exhaust.gap_mm >= pair[0].least.exhaust.gap_mm,
                "{pair:?}"
            );
        }
        assert!(rows[8].least.intake.gap_mm < rows[0].least.intake.gap_mm - 1.0);
    }

    #[test]
    fn teeth_are_counted_from_as_drawn_whatever_was_built() {
        let engine = BENCH.engine();
        let built = Phasing::as_built(
            &engine,
            &Assembly {
                cam_teeth: 2,
                ..Assembly::default()
            },
        );
        let (drawn, built) = (by_teeth(&Phasing::as_drawn(&engine)), by_teeth(&built));
        for (drawn, built) in drawn
            .expect("measured")
            .iter()
            .zip(built.expect("measured"))
        {
            approx::assert_abs_diff_eq!(
                drawn.least.intake.gap_mm,
                built.least.intake.gap_mm,
                epsilon = 1e-9
            );
            approx::assert_abs_diff_eq!(
                drawn.least.exhaust.gap_mm,
                built.least.exhaust.gap_mm,
                epsilon = 1e-9
            );
        }
    }
}
