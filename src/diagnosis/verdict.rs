//! What an engine put together so will do, in words and numbers.

use super::remedy::{SPARK_RIGHT_WITHIN_DEG, within_clamp};
use crate::angle::wrap_signed;
use crate::description::Valve;
use crate::engine::Assembly;
use crate::laws::clearance;
use crate::laws::clearance::{Gap, LeastGaps};
use crate::phasing::{Phasing, ValveClearance};
use crate::words::{before_tdc, cylinders, degrees, from_nearest_tdc, length, number};

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
    let clearance = phasing.valve_clearance();
    let clamp = beyond_the_clamp(phasing);
    let (kind, sentence) = match do_not_turn(phasing, clearance) {
        Some(sentence) => (VerdictKind::DoNotTurn, sentence),
        None => {
            let (kind, sentence) = runs(phasing, &sparks, clamp.is_some());
            (kind, sentence.to_owned())
        }
    };
    let room = match clearance {
        // Said by the sentence where it matters, and else by the checks.
        ValveClearance::NotMeasured => None,
        _ => clearance_sentence(phasing),
    };
    let lines = [sparks.line(), room, valve_to_valve(phasing), clamp];
    let good = matches!(kind, VerdictKind::AsDrawn | VerdictKind::MadeRight);
    Verdict {
        kind,
        sentence,
        consequences: events(phasing)
            .into_iter()
            .chain(lines.into_iter().flatten())
            .collect(),
        caution: (!good).then_some(TURNING_CAUTION),
    }
}

/// Why it must not be turned by the starter, where it must not.
fn do_not_turn(phasing: &Phasing, clearance: ValveClearance) -> Option<String> {
    let out = !phasing.assembly().cams().are_right();
    let a_camshaft = if phasing.engine().has_several_camshafts() {
        "a camshaft"
    } else {
        "the camshaft"
    };
    let why = match clearance {
        ValveClearance::Meets(_) if out => "valves and pistons meet.".to_owned(),
        ValveClearance::Meets(_) => "as described, valves and pistons meet.".to_owned(),
        ValveClearance::Little(_) if out => "valves may meet pistons.".to_owned(),
        ValveClearance::NotMeasured if out => {
            format!("{a_camshaft} is out, no clearance was measured, and valves may meet pistons.")
        }
        ValveClearance::LiftNotStated { .. } if out => format!(
            "{a_camshaft} is out, the lift at which its events are quoted is not stated, and valves may meet pistons."
        ),
        _ if out && phasing.valves_keep_clear_of_one_another() == Some(false) => {
            "the two valves of a cylinder may meet.".to_owned()
        }
        _ => return None,
    };
    Some(format!("Do not turn it by the starter: {why}"))
}

/// How an engine that may be turned will run.
fn runs(phasing: &Phasing, sparks: &Sparks, beyond_the_clamp: bool) -> (VerdictKind, &'static str) {
    let assembly = phasing.assembly();
    if assembly.is_as_drawn() {
        return (VerdictKind::AsDrawn, "As drawn.");
    }
    if !assembly.cams().are_right() || !sparks.all_right() {
        return (VerdictKind::RunsBadly, sparks.runs());
    }
    if super::hypotheses::faults(phasing.engine(), assembly) == 0 {
        let moved = assembly.body_turn_deg != 0.0;
        let sentence = if !moved && assembly.leads.is_some() && !phasing.engine().coils().is_empty()
        {
            "As good as drawn: leads changed over on one coil do no harm, both its plugs spark together."
        } else {
            "As drawn, to within what a timing light can read."
        };
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

/// Whether the two valves of a cylinder can meet, in a sentence; None where the lift at which they
/// touch was not measured.
pub fn valve_to_valve(phasing: &Phasing) -> Option<String> {
    let keep_clear = phasing.valves_keep_clear_of_one_another()?;
    let engine = phasing.engine();
    let (units, measured) = (engine.written().units, engine.metric().clearance.as_ref()?);
    let touch = length(measured.valves_touch_at?, units);
    let Some(together) = phasing.open_together() else {
        return Some("The two valves of a cylinder are never off their seats together.".to_owned());
    };
    let (higher, lower) = (
        length(together.higher_mm, units),
        length(together.lower_mm, units),
    );
    Some(if keep_clear {
        format!(
            "The two valves of a cylinder keep clear of one another: with both off their seats neither is more than {higher} open, and alike they \
             touch at {touch}."
        )
    } else {
        format!(
            "WHETHER THE TWO VALVES OF A CYLINDER MEET IS NOT KNOWN: {} one is {higher} open beside {lower} of the other, and alike they touch at \
             {touch}. Turn by hand only, gently, and never past where it stops.",
            from_nearest_tdc(together.crank.degrees(), 1)
        )
    })
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

/// The events moved, where they are: a line for each camshaft that is out.
fn events(phasing: &Phasing) -> Vec<String> {
    let out = phasing.assembly().cams().out();
    out.filter_map(|(camshaft, _)| events_of(phasing, camshaft))
        .collect()
}

fn events_of(phasing: &Phasing, camshaft: usize) -> Option<String> {
    let moved = phasing.cam_ahead(camshaft).at_crank().degrees();
    if moved == 0.0 {
        return None;
    }
    let (side, loser) = if moved > 0.0 {
        ("earlier", Valve::Intake)
    } else {
        ("later", Valve::Exhaust)
    };
    let engine = phasing.engine();
    let card = crate::phasing::Card::of(phasing);
    let event = |btdc: f64| {
        if btdc < 0.0 {
            format!("{} after TDC", degrees(-btdc))
        } else {
            format!("{} before TDC", degrees(btdc))
        }
    };
    let intake = format!(
        "the intake opens {} instead of {}",
        event(card.intake_opens_btdc_deg + moved),
        event(card.intake_opens_btdc_deg)
    );
    let by = degrees(moved.abs());
    if !engine.has_several_camshafts() {
        return Some(format!(
            "Every valve event comes {by} of crank {side}: {intake}; it is the {} valve that loses room.",
            loser.word()
        ));
    }
    let works = |valve: Valve| {
        let mut cylinders = phasing.cylinders().iter();
        cylinders.any(|cylinder| engine.camshaft_of(cylinder.number, valve) == camshaft)
    };
    let event = if works(Valve::Intake) {
        intake
    } else {
        format!(
            "the exhaust closes {} instead of {}",
            event(-card.exhaust_closes_atdc_deg + moved),
            event(-card.exhaust_closes_atdc_deg)
        )
    };
    let room = if works(loser) {
        format!("; it is the {} valve that loses room", loser.word())
    } else {
        String::new()
    };
    Some(format!(
        "Every valve event of the {} comes {by} of crank {side}: {event}{room}.",
        engine.camshaft_name(camshaft)
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
                // Sparks every turn come again a turn on.
                let again_deg = if phasing.engine().sparks_every_turn() {
                    360.0
                } else {
                    720.0
                };
                (built.number, now, wrap_signed(now - then, again_deg))
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

/// Whether valves keep clear of the pistons, in a sentence; None where they do.
pub fn clearance_sentence(phasing: &Phasing) -> Option<String> {
    let units = phasing.engine().written().units;
    let as_built = if phasing.assembly().is_as_drawn() {
        "as described"
    } else {
        "as built"
    };
    let room = |gap: &Gap, least_mm: f64| {
        let place = from_nearest_tdc(gap.crank.degrees(), 1);
        if gap.gap_mm <= 0.0 {
            format!("meets by {}, {place}", length(-gap.gap_mm, units))
        } else {
            format!(
                "{} at the least, {place} ({} is common practice)",
                length(gap.gap_mm, units),
                length(least_mm, units)
            )
        }
    };
    let both = |gaps: &LeastGaps| {
        format!(
            "intake {}; exhaust {}",
            room(
                &gaps.intake,
                clearance::least_allowed_mm(Valve::Intake, units)
            ),
            room(
                &gaps.exhaust,
                clearance::least_allowed_mm(Valve::Exhaust, units)
            )
        )
    };
    match phasing.valve_clearance() {
        ValveClearance::Enough(_) => None,
        ValveClearance::Meets(gaps) => Some(format!(
            "VALVES MEET PISTONS {as_built}: {}. Do not turn the crank past there, by hand or by the starter.",
            both(&gaps)
        )),
        ValveClearance::Little(gaps) => Some(format!(
            "TOO LITTLE ROOM between valves and pistons {as_built}: {}. Not by the starter.",
            both(&gaps)
        )),
        ValveClearance::NotMeasured => Some(format!(
            "WHETHER VALVES MEET PISTONS {as_built} IS NOT KNOWN: no clearance was measured. Turn by hand only, and never past where it stops."
        )),
        ValveClearance::LiftNotStated {
            at_seat,
            least,
            quoted_at_mm,
        } => Some(format!(
            "WHETHER VALVES MEET PISTONS {as_built} IS NOT KNOWN: the file does not say at which lift its events are quoted. At the seat: {}. At {}: {}. Look on the cam card and state `quoted_at`.",
            both(&at_seat),
            length(quoted_at_mm, units),
            both(&least)
        )),
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
