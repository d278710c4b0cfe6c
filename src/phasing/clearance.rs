//! The least clearance between valves and piston of an engine as built, and for each tooth of the
//! cam out.

use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::Phasing;
use crate::angle::{CrankTurn, rounded};
use crate::laws::clearance::LeastGaps;
use crate::laws::{clearance, gear_train};

impl Phasing {
    /// The least gaps, with the camshaft `ahead` of where this phasing has it. None where no
    /// clearance was measured.
    pub fn least_gaps(&self, ahead: CrankTurn) -> Option<LeastGaps> {
        let measured = self.engine.metric().clearance.as_ref()?;
        let ahead = ahead + self.cam_ahead.at_crank();
        Some(clearance::least(measured, &self.slider, &self.lobes, ahead))
    }

    /// The least gaps for each tooth of the cam out, from four behind to four ahead of as
    /// drawn, whatever this phasing has. None where no clearance was measured.
    pub fn least_gaps_by_teeth(&self) -> Option<Vec<ByTeeth>> {
        let drive = &self.engine.metric().cam_drive;
        let built = self.assembly.cam_teeth;
        (-TEETH..=TEETH)
            .map(|cam_teeth| {
                self.least_gaps(gear_train::cam_ahead(drive, cam_teeth - built).at_crank())
                    .map(|least| ByTeeth { cam_teeth, least })
            })
            .collect()
    }
}

/// Cam teeth out that are worked out, either way.
const TEETH: i32 = 4;

/// The least gaps with the cam wheel out by so many teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByTeeth {
    /// Teeth ahead of as drawn; negative, behind.
    pub cam_teeth: i32,
    /// The nearest both valves then come.
    pub least: LeastGaps,
}

impl Serialize for ByTeeth {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("ByTeeth", 3)?;
        fields.serialize_field("cam_teeth", &self.cam_teeth)?;
        fields.serialize_field("intake_mm", &rounded(self.least.intake.gap_mm))?;
        fields.serialize_field("exhaust_mm", &rounded(self.least.exhaust.gap_mm))?;
        fields.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::BENCH;

    #[test]
    fn advancing_the_camshaft_eats_the_intakes_clearance_and_retarding_it_the_exhausts() {
        // Common practice, no source.
        let rows = Phasing::as_drawn(&BENCH.engine())
            .least_gaps_by_teeth()
            .expect("measured");
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
        let (drawn, built) = (
            Phasing::as_drawn(&engine).least_gaps_by_teeth(),
            built.least_gaps_by_teeth(),
        );
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
