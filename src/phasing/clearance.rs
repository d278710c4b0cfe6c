//! The least clearance between valves and piston of an engine as built, and for each tooth of the
//! cam out.

use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::{CylinderReading, Phasing};
use crate::angle::{CrankTurn, rounded};
use crate::description::Valve;
use crate::laws::OpenTogether;
use crate::laws::clearance::LeastGaps;
use crate::laws::gear_train::CamTeeth;
use crate::laws::{Lobes, USUALLY_QUOTED_AT_MM, clearance};

/// Whether the valves keep clear of the pistons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ValveClearance {
    /// No clearance was measured.
    NotMeasured,
    /// The file does not say at which lift its events are quoted: it depends on that.
    LiftNotStated {
        /// The least gaps with the events taken at the seat.
        at_seat: LeastGaps,
        /// The least gaps of those that the usual lifts give.
        least: LeastGaps,
        /// The lift that gives them.
        quoted_at_mm: f64,
    },
    /// As much as common practice asks for.
    Enough(LeastGaps),
    /// Less than common practice asks for.
    Little(LeastGaps),
    /// They meet.
    Meets(LeastGaps),
}

impl ValveClearance {
    /// The verdict in a word, for a program.
    pub fn word(&self) -> &'static str {
        match self {
            Self::NotMeasured | Self::LiftNotStated { .. } => "not_known",
            Self::Enough(_) => "enough",
            Self::Little(_) => "too_little",
            Self::Meets(_) => "meets",
        }
    }

    /// Whether a valve meets its piston.
    pub fn meets(&self) -> bool {
        matches!(self, Self::Meets(_))
    }

    /// Whether it is known that they keep clear by as much as common practice asks for.
    pub fn is_enough(&self) -> bool {
        matches!(self, Self::Enough(_))
    }
}

impl Phasing {
    /// Whether the valves keep clear of the pistons, as built.
    pub fn valve_clearance(&self) -> ValveClearance {
        *self.clearance.get_or_init(|| self.judged_clearance())
    }

    fn judged_clearance(&self) -> ValveClearance {
        let Some(gaps) = self.least_gaps() else {
            return ValveClearance::NotMeasured;
        };
        if gaps.meets() {
            return ValveClearance::Meets(gaps);
        }
        let valves = &self.engine.metric().valves;
        if !valves.is_quoted_lift_stated()
            && let Some((quoted_at_mm, least)) = self.least_of_usual_lifts()
        {
            return ValveClearance::LiftNotStated {
                at_seat: gaps,
                least,
                quoted_at_mm,
            };
        }
        if gaps.is_enough(self.engine.written().units) {
            ValveClearance::Enough(gaps)
        } else {
            ValveClearance::Little(gaps)
        }
    }

    /// Of the lifts at which events are usually quoted, the one that leaves the least room, and
    /// what it leaves. None where no clearance was measured.
    fn least_of_usual_lifts(&self) -> Option<(f64, LeastGaps)> {
        let measured = self.engine.metric().clearance.as_ref()?;
        let ahead = clearance::ahead(self.engine.metric(), self.assembly.cams());
        let with = |quoted_at_mm: f64| {
            let mut valves = self.engine.metric().valves.clone();
            valves.quoted_at = Some(quoted_at_mm / valves.ratio());
            let least = clearance::least(measured, &self.slider, &Lobes::of(&valves), &ahead);
            (quoted_at_mm, least)
        };
        let full_lift = self
            .intake()
            .full_lift_mm()
            .min(self.exhaust().full_lift_mm());
        USUALLY_QUOTED_AT_MM
            .into_iter()
            .filter(|lift| *lift < full_lift)
            .map(with)
            .min_by(|(_, one), (_, other)| one.least_mm().total_cmp(&other.least_mm()))
    }

    /// The two valves of a cylinder while both are off their seats, as built: where the higher is
    /// open farthest, of the cylinder in which it is. None where they never are.
    pub fn open_together(&self) -> Option<OpenTogether> {
        *self
            .open_together
            .get_or_init(|| self.open_together_farthest())
    }

    fn open_together_farthest(&self) -> Option<OpenTogether> {
        let mut ahead: Vec<[CrankTurn; 2]> = Vec::new();
        for cylinder in self.cylinders() {
            let own = Valve::BOTH.map(|valve| cylinder.ahead(valve));
            if !ahead.contains(&own) {
                ahead.push(own);
            }
        }
        let together = ahead
            .into_iter()
            .filter_map(|ahead| clearance::open_together(&self.lobes, ahead));
        together.max_by(|one, other| one.higher_mm.total_cmp(&other.higher_mm))
    }

    /// Whether it is known that the two valves of a cylinder keep clear of one another, as built:
    /// by the lift at which they touch, pushed down alike. None where that was not measured.
    pub fn valves_keep_clear_of_one_another(&self) -> Option<bool> {
        let touch_mm = self.engine.metric().clearance.as_ref()?.valves_touch_at?;
        let together = self.open_together();
        Some(together.is_none_or(|together| together.higher_mm < touch_mm))
    }

    /// How far a valve is from its piston at a reading of this phasing, without lash; negative
    /// where they meet. None where no clearance was measured.
    pub fn gap_mm(&self, cylinder: &CylinderReading, valve: Valve) -> Option<f64> {
        let measured = self.engine.metric().clearance.as_ref()?;
        let (drop_mm, lift_mm) = match valve {
            Valve::Intake => (measured.intake_drop, cylinder.intake.lift_mm),
            Valve::Exhaust => (measured.exhaust_drop, cylinder.exhaust.lift_mm),
        };
        let slope = measured.valve_angle().to_radians().cos();
        Some(drop_mm + cylinder.piston_drop_mm / slope - lift_mm)
    }

    /// The least gaps, as built. None where no clearance was measured.
    pub fn least_gaps(&self) -> Option<LeastGaps> {
        self.least_gaps_with(self.assembly.cams())
    }

    /// The least gaps with the camshafts' wheels out by so many teeth, whatever this phasing has.
    /// None where no clearance was measured.
    pub fn least_gaps_with(&self, cams: CamTeeth) -> Option<LeastGaps> {
        let metric = self.engine.metric();
        let measured = metric.clearance.as_ref()?;
        let ahead = clearance::ahead(metric, cams);
        Some(clearance::least(
            measured,
            &self.slider,
            &self.lobes,
            &ahead,
        ))
    }

    /// The least gaps for each tooth of the cam out, from four behind to four ahead of as
    /// drawn, whatever this phasing has; of several camshafts, all moved together. None where no
    /// clearance was measured.
    pub fn least_gaps_by_teeth(&self) -> Option<Vec<ByTeeth>> {
        let count = self.engine.camshaft_count();
        self.by_teeth(|cam_teeth| CamTeeth::alike(count, cam_teeth))
    }

    /// The same with one camshaft moved, counted from 0, and the others as drawn.
    pub fn least_gaps_by_teeth_of(&self, camshaft: usize) -> Option<Vec<ByTeeth>> {
        self.by_teeth(|cam_teeth| CamTeeth::default().with(camshaft, cam_teeth))
    }

    fn by_teeth(&self, cams: impl Fn(i32) -> CamTeeth) -> Option<Vec<ByTeeth>> {
        (-TEETH..=TEETH)
            .map(|cam_teeth| {
                self.least_gaps_with(cams(cam_teeth))
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
