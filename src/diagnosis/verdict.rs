//! What an engine put together so will do, in words and numbers.

use super::remedy::{SPARK_RIGHT_WITHIN_DEG, within_clamp};
use crate::angle::{CrankTurn, wrap_signed};
use crate::engine::Assembly;
use crate::laws::clearance;
use crate::phasing::Phasing;
use crate::words::{before_tdc, cylinders, degrees, number};

/// Before an engine is turned by hand at all.
pub const TURNING_CAUTION: &str = "Before turning by hand: ignition off, battery disconnected, fingers clear of gears and belts. \
     Never force a crank that stops: back off and look, a valve may be on a piston. The engine maker's manual and a qualified \
     mechanic come before this program.";

/// The kinds of verdict, from good to bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VerdictKind {
    /// As drawn.
    AsDrawn,
    /// Parts of the distributor are out, and the body or the leads bring every spark where it is
    /// drawn.
    MadeRight,
    /// It will run badly, or not at all.
    RunsBadly,
    /// Do not turn it by the starter: valves may meet pistons.
    DoNotTurn,
}

/// What an engine put together so will do.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Which kind it is.
    pub kind: VerdictKind,
    /// The verdict in a sentence.
    pub sentence: String,
    /// What follows, a line each, with its numbers.
    pub consequences: Vec<String>,
    /// What to take care of, where something must be.
    pub caution: Option<&'static str>,
}

/// Judges an engine as it was put together.
///
/// ```
/// use dotwise::engine::Assembly;
/// use dotwise::diagnosis::verdict;
/// use dotwise::diagnosis::verdict::VerdictKind;
/// use dotwise::engine::scenes::BENCH;
/// use dotwise::phasing::Phasing;
/// // A drive one tooth behind and the body turned one tooth on are as good as drawn.
/// let tooth = 360.0 / 13.0;
/// let corrected = Assembly { drive_teeth: -1, body_turn_deg: tooth, ..Assembly::default() };
/// assert_eq!(verdict::of(&Phasing::as_built(&BENCH.engine(), &corrected)).kind, VerdictKind::MadeRight);
/// let not = Assembly { drive_teeth: -1, ..Assembly::default() };
/// assert_eq!(verdict::of(&Phasing::as_built(&BENCH.engine(), &not)).kind, VerdictKind::RunsBadly);
/// ```
pub fn of(phasing: &Phasing) -> Verdict {
    let sparks = Sparks::of(phasing);
    let clearance = ClearanceState::of(phasing);
    let clamp = beyond_the_clamp(phasing);
    let (kind, sentence) = match do_not_turn(phasing.assembly(), clearance) {
        Some(sentence) => (VerdictKind::DoNotTurn, sentence),
        None => runs(phasing, &sparks, clamp.is_some()),
    };
    let lines = [events(phasing), sparks.line(), clearance.line(), clamp];
    let good = matches!(kind, VerdictKind::AsDrawn | VerdictKind::MadeRight);
    Verdict {
        kind,
        sentence: sentence.to_owned(),
        consequences: lines.into_iter().flatten().collect(),
        caution: (!good).then_some(TURNING_CAUTION),
    }
}

/// Why it must not be turned by the starter, where it must not.
fn do_not_turn(assembly: &Assembly, clearance: ClearanceState) -> Option<&'static str> {
    match clearance {
        ClearanceState::Meets { .. } if assembly.cam_teeth == 0 => {
            Some("Do not turn it by the starter: as described, valves and pistons meet.")
        }
        ClearanceState::Meets { .. } => {
            Some("Do not turn it by the starter: valves and pistons meet.")
        }
        ClearanceState::Little { .. } if assembly.cam_teeth != 0 => {
            Some("Do not turn it by the starter: valves may meet pistons.")
        }
        ClearanceState::NotMeasured if assembly.cam_teeth != 0 => Some(
            "Do not turn it by the starter: the camshaft is out, no clearance was measured, and valves may meet pistons.",
        ),
        _ => None,
    }
}

/// How an engine that may be turned will run.
fn runs(phasing: &Phasing, sparks: &Sparks, beyond_the_clamp: bool) -> (VerdictKind, &'static str) {
    let assembly = phasing.assembly();
    if assembly.is_as_drawn() {
        return (VerdictKind::AsDrawn, "As drawn.");
    }
    if assembly.cam_teeth != 0 || !sparks.all_right() {
        return (VerdictKind::RunsBadly, sparks.runs());
    }
    if super::hypotheses::faults(phasing.engine(), assembly) == 0 {
        let sentence = "As drawn, to within what a timing light can read.";
        return (VerdictKind::AsDrawn, sentence);
    }
    let sentence = if beyond_the_clamp {
        "Out, and it would be made right so, if the clamp let the body turn so far."
    } else if assembly.body_turn_deg == 0.0 {
        "Out, but made right by the leads: every spark comes where it is drawn."
    } else {
        "Out, but made right by the body: every spark comes where it is drawn."
    };
    (VerdictKind::MadeRight, sentence)
}

/// A line where the body stands turned further than its clamp allows.
fn beyond_the_clamp(phasing: &Phasing) -> Option<String> {
    let distributor = phasing.engine().metric().distributor.as_ref()?;
    let body_turn_deg = phasing.assembly().body_turn_deg;
    (within_clamp(distributor, body_turn_deg) == Some(false)).then(|| {
        format!(
            "The clamp lets the body turn {} either way; {} is beyond it.",
            degrees(distributor.body_range.unwrap_or_default()),
            degrees(body_turn_deg.abs())
        )
    })
}

/// The events moved, where they are.
fn events(phasing: &Phasing) -> Option<String> {
    let moved = phasing.cam_ahead().at_crank().degrees();
    if moved == 0.0 {
        return None;
    }
    let (side, loser) = if moved > 0.0 {
        ("earlier", "intake")
    } else {
        ("later", "exhaust")
    };
    let card = crate::phasing::Card::of(phasing);
    let event = |btdc: f64| {
        if btdc < 0.0 {
            format!("{} after TDC", degrees(-btdc))
        } else {
            format!("{} before TDC", degrees(btdc))
        }
    };
    Some(format!(
        "Every valve event comes {} of crank {side}: the intake opens {} instead of {}; it is the {loser} valve that loses room.",
        degrees(moved.abs()),
        event(card.intake_opens_btdc_deg + moved),
        event(card.intake_opens_btdc_deg)
    ))
}

/// Where the sparks come against as drawn.
struct Sparks {
    /// Cylinder, before its TDC as built, and how much earlier than as drawn.
    each: Vec<(u8, f64, f64)>,
}

impl Sparks {
    fn of(phasing: &Phasing) -> Self {
        let drawn = Phasing::as_built(phasing.engine(), &Assembly::default());
        let each = phasing
            .cylinders()
            .iter()
            .zip(drawn.cylinders())
            .map(|(built, as_drawn)| {
                let (now, then) = (
                    phasing.spark_btdc_deg(built),
                    drawn.spark_btdc_deg(as_drawn),
                );
                (built.number, now, wrap_signed(now - then, 720.0))
            });
        Self {
            each: each.collect(),
        }
    }

    fn all_right(&self) -> bool {
        self.each
            .iter()
            .all(|(_, _, early)| early.abs() <= SPARK_RIGHT_WITHIN_DEG)
    }

    /// The farthest that any spark is from as drawn, crank degrees.
    fn farthest_deg(&self) -> f64 {
        self.each
            .iter()
            .map(|(_, _, early)| early.abs())
            .fold(0.0, f64::max)
    }

    fn line(&self) -> Option<String> {
        let off = |early: f64| match early {
            early if early.abs() > 360.0 - SPARK_RIGHT_WITHIN_DEG => "a whole turn out".to_owned(),
            early if early > 0.0 => format!("{}° early", number(early, 1)),
            early => format!("{}° late", number(-early, 1)),
        };
        let wrong: Vec<_> = self
            .each
            .iter()
            .filter(|(_, _, early)| early.abs() > SPARK_RIGHT_WITHIN_DEG)
            .collect();
        let (_, btdc, early) = *wrong.first()?;
        let alike = wrong
            .iter()
            .all(|(_, _, other)| (other - early).abs() < 0.05);
        if alike && wrong.len() == self.each.len() {
            return Some(format!(
                "Every spark comes {}: {}.",
                off(*early),
                before_tdc(*btdc)
            ));
        }
        let who: Vec<u8> = wrong.iter().map(|(cylinder, _, _)| *cylinder).collect();
        if alike {
            return Some(format!(
                "The sparks of {} come {}.",
                cylinders(&who),
                off(*early)
            ));
        }
        let list: Vec<String> = wrong
            .iter()
            .map(|(cylinder, _, early)| format!("No. {cylinder} {}", off(*early)))
            .collect();
        Some(format!("Sparks: {}.", list.join(", ")))
    }

    /// How it will run, by the spark that is farthest out. The limits are common practice, no
    /// source.
    fn runs(&self) -> &'static str {
        const PLAYS_UP_DEG: f64 = 10.0;
        const STARTS_DEG: f64 = 40.0;
        // At the starter's speed a spark so much too early finds the piston still well on its way
        // up.
        const KICKS_BACK_DEG: f64 = 20.0;
        let farthest = self.farthest_deg();
        let kicks_back = self
            .each
            .iter()
            .any(|(_, _, early)| (KICKS_BACK_DEG..180.0).contains(early));
        let some_right = self
            .each
            .iter()
            .any(|(_, _, early)| early.abs() <= PLAYS_UP_DEG);
        if farthest <= SPARK_RIGHT_WITHIN_DEG {
            "It will run badly: the sparks are right and the valves are not."
        } else if farthest <= PLAYS_UP_DEG {
            "It will run, and not well: set the timing."
        } else if farthest <= STARTS_DEG && kicks_back {
            "It will run badly, and may kick back: do not work the starter with it so."
        } else if farthest <= STARTS_DEG {
            "It will run badly."
        } else if some_right && kicks_back {
            "It will run badly, on some cylinders only, and may kick back or spit: do not work the starter with it so."
        } else if some_right {
            "It will run badly, on some cylinders only, and may spit back through the carburettor."
        } else {
            "It will not run, and may kick back or spit: do not work the starter with it so."
        }
    }
}

/// The clearance between valves and pistons.
#[derive(Clone, Copy, Debug, PartialEq)]
enum ClearanceState {
    NotMeasured,
    Enough,
    /// Less than common practice asks for.
    Little {
        intake_mm: f64,
        exhaust_mm: f64,
    },
    /// None at all.
    Meets {
        intake_mm: f64,
        exhaust_mm: f64,
    },
}

impl ClearanceState {
    fn of(phasing: &Phasing) -> Self {
        let Some(least) = phasing.least_gaps(CrankTurn::new(0.0)) else {
            return Self::NotMeasured;
        };
        let (intake_mm, exhaust_mm) = (least.intake.gap_mm, least.exhaust.gap_mm);
        if intake_mm <= 0.0 || exhaust_mm <= 0.0 {
            Self::Meets {
                intake_mm,
                exhaust_mm,
            }
        } else if intake_mm < clearance::LEAST_INTAKE_MM || exhaust_mm < clearance::LEAST_EXHAUST_MM
        {
            Self::Little {
                intake_mm,
                exhaust_mm,
            }
        } else {
            Self::Enough
        }
    }

    fn line(self) -> Option<String> {
        let (least_intake, least_exhaust) =
            (clearance::LEAST_INTAKE_MM, clearance::LEAST_EXHAUST_MM);
        let gap = |mm: f64| {
            if mm <= 0.0 {
                format!("meets the piston by {:.2} mm", -mm)
            } else {
                format!("{mm:.2} mm")
            }
        };
        match self {
            Self::NotMeasured | Self::Enough => None,
            Self::Little {
                intake_mm,
                exhaust_mm,
            }
            | Self::Meets {
                intake_mm,
                exhaust_mm,
            } => Some(format!(
                "Least room over the piston: intake {}, exhaust {}; {least_intake:.1} and {least_exhaust:.1} mm at least is common practice.",
                gap(intake_mm),
                gap(exhaust_mm)
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;

    #[test]
    fn a_spark_far_too_early_is_said_to_kick_back_and_a_late_one_is_not() {
        // One tooth of the flat four's 24 is 15° of rotor, 30° of crank: 38° before TDC instead of
        // 8°.
        let engine = scenes::find("flat_four").expect("a scene").engine();
        let says = |drive_teeth: i32| {
            of(&Phasing::as_built(
                &engine,
                &Assembly {
                    drive_teeth,
                    ..Assembly::default()
                },
            ))
            .sentence
        };
        assert_eq!(
            says(1),
            "It will run badly, and may kick back: do not work the starter with it so."
        );
        assert_eq!(says(-1), "It will run badly.");
    }
}
