//! Where things stand: a cylinder on compression, a stroke, the rotor, a dead centre.

#![expect(
    clippy::indexing_slicing,
    reason = "towers and choices are counted by their own indices"
)]

use super::chance::Chance;
use super::question::{Answer, Question, QuestionKind};
use super::wording::{WORDS, filled};
use crate::angle::{CrankAngle, CrankTurn, Direction};
use crate::laws::ValveReading;
use crate::phasing::{CylinderPhasing, CylinderReading, DeadCentre, Phasing, Reading, Stroke};
use crate::procedures::LooksAt;
use crate::words::{Units, cylinders, length};

/// How far the crank stands, at the least, from an angle where the answer changes: more than one
/// misjudges on a model.
const CLEAR_OF_A_CHANGE_DEG: f64 = 8.0;
/// How far either side of a dead centre its valves tell which one it is: seen on a small drawing too.
pub(crate) const EITHER_SIDE_DEG: f64 = 20.0;

/// Whole crank degrees at which each of these cylinders is clear of a dead centre.
fn clear_angles<'a>(
    phasing: &'a Phasing,
    cylinders: &'a [CylinderPhasing],
) -> impl Iterator<Item = CrankAngle> + 'a {
    let down = phasing.slider().down_stroke_deg();
    let ends = Stroke::ALL.map(|stroke| CrankAngle::new(stroke.begins_deg(down)));
    let clear = move |phase: CrankAngle| {
        ends.iter()
            .all(|end| phase.nearest_to(*end).degrees().abs() >= CLEAR_OF_A_CHANGE_DEG)
    };
    (0..720)
        .map(|degree| CrankAngle::new(f64::from(degree)))
        .filter(move |crank| {
            cylinders
                .iter()
                .all(|cylinder| clear(phasing.phase_of(cylinder, *crank)))
        })
}

fn every_cylinder(phasing: &Phasing) -> Vec<Answer> {
    phasing
        .cylinders()
        .iter()
        .map(|cylinder| Answer::Cylinder(cylinder.number))
        .collect()
}

/// A question's words about one cylinder.
fn of_cylinder(words: &str, number: u8) -> String {
    filled(words, &[("cylinder", &number.to_string())])
}

/// How far past a firing TDC, or before it, whichever is nearer: `8° before`, `90° past`.
fn about_firing_tdc(past: CrankAngle) -> String {
    let deg = CrankAngle::new(0.0).nearest_to(past).degrees().round();
    let words = match deg {
        0.0 => WORDS.at,
        deg if deg < 0.0 => WORDS.before,
        _ => WORDS.past,
    };
    filled(words, &[("deg", &format!("{:.0}", deg.abs()))])
}

/// Where a cylinder stands, and what stroke that is.
fn stands(cylinder: &CylinderReading) -> String {
    let way = match cylinder.stroke {
        Stroke::Power | Stroke::Intake => WORDS.going_down,
        Stroke::Exhaust | Stroke::Compression => WORDS.coming_up,
    };
    let open = usize::from(cylinder.intake.open) + 2 * usize::from(cylinder.exhaust.open);
    filled(
        WORDS.standing,
        &[
            ("cylinder", &cylinder.number.to_string()),
            ("place", &about_firing_tdc(cylinder.phase)),
            ("way", way),
            ("valves", WORDS.valves[open]),
            ("stroke", cylinder.stroke.word()),
        ],
    )
}

pub(super) fn on_compression(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let angles: Vec<_> = clear_angles(drawn, drawn.cylinders())
        .filter(|crank| drawn.at(*crank).on_compression().next().is_some())
        .collect();
    let crank = chance.pick(&angles)?;
    let reading = drawn.at(crank);
    let right: Vec<usize> = reading
        .on_compression()
        .map(|number| usize::from(number) - 1)
        .collect();
    let coming = reading.cylinders.iter();
    let coming = coming.filter(|cylinder| cylinder.stroke == Stroke::Compression);
    let mut reason: Vec<String> = coming.map(stands).collect();
    // Whoever named another learns what that one does.
    let others = [Stroke::Power, Stroke::Exhaust, Stroke::Intake]
        .into_iter()
        .filter_map(|stroke| on_stroke(&reading, stroke));
    reason.push(others.collect::<Vec<_>>().join(" "));
    reason.retain(|line| !line.is_empty());
    let text = if right.len() > 1 {
        WORDS.one_on_compression
    } else {
        WORDS.on_compression
    };
    Some(Question {
        kind: QuestionKind::OnCompression,
        text: text.into(),
        crank,
        assembly: drawn.assembly().clone(),
        choices: every_cylinder(drawn),
        right,
        reason: reason.join("\n"),
        looks_at: LooksAt::Whole,
    })
}

/// Which cylinders are on a stroke, in a sentence; None where none is.
fn on_stroke(reading: &Reading, stroke: Stroke) -> Option<String> {
    let those = reading.cylinders.iter();
    let those = those.filter(|cylinder| cylinder.stroke == stroke);
    let those: Vec<u8> = those.map(|cylinder| cylinder.number).collect();
    (!those.is_empty()).then(|| {
        let put_in = [("stroke", stroke.word()), ("cylinders", &cylinders(&those))];
        filled(WORDS.on_stroke, &put_in)
    })
}

pub(super) fn stroke_of(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let cylinder = chance.pick(drawn.cylinders())?;
    let crank = chance.pick(&clear_angles(drawn, &[cylinder]).collect::<Vec<_>>())?;
    let reading = drawn.at(crank);
    let stood = reading.cylinder(cylinder.number)?;
    let right = Stroke::ALL
        .iter()
        .position(|stroke| *stroke == stood.stroke)?;
    Some(Question {
        kind: QuestionKind::StrokeOf,
        text: of_cylinder(WORDS.stroke_of, cylinder.number),
        crank,
        assembly: drawn.assembly().clone(),
        choices: Stroke::ALL.map(Answer::Stroke).into(),
        right: vec![right],
        reason: stands(stood),
        looks_at: LooksAt::Valves(cylinder.number),
    })
}

/// Hundredths of a degree: what is drawn by them is drawn alike by the handout's script.
fn hundredths(degrees: f64) -> i64 {
    (degrees * 100.0).round() as i64
}

/// How near a tower the rotor points at it and at no other, hundredths of a degree: a third of the
/// way to the nearest other one. One for each tower.
pub(crate) fn tower_reach(built: &Phasing) -> Vec<i64> {
    let towers = built.towers();
    let gap = |one: usize, other: usize| {
        (one != other).then(|| {
            let gap = towers[one].past(towers[other], Direction::Clockwise);
            hundredths(gap).abs()
        })
    };
    let nearest = |one: usize| (0..towers.len()).filter_map(|other| gap(one, other)).min();
    (0..towers.len())
        .map(|one| nearest(one).unwrap_or(18_000) / 3)
        .collect()
}

pub(super) fn rotor_points(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let reach = tower_reach(drawn);
    let angles: Vec<_> = (0..720)
        .map(|degree| CrankAngle::new(f64::from(degree)))
        .filter(|crank| {
            drawn
                .at(*crank)
                .rotor
                .is_some_and(|rotor| hundredths(rotor.past_deg).abs() <= reach[rotor.tower_index])
        })
        .collect();
    let crank = chance.pick(&angles)?;
    let rotor = drawn.at(crank).rotor?;
    let served = drawn.cylinder(rotor.tower)?;
    let past = (hundredths(rotor.past_deg) as f64 / 100.0).round();
    let by_its_tower = match past {
        0.0 => WORDS.rotor_at,
        past if past < 0.0 => WORDS.rotor_before,
        _ => WORDS.rotor_past,
    };
    let by_its_tower = filled(by_its_tower, &[("deg", &format!("{:.0}", past.abs()))]);
    let reason = filled(
        WORDS.rotor,
        &[
            ("place", &about_firing_tdc(drawn.phase_of(served, crank))),
            ("rotor", &by_its_tower),
            ("cylinder", &rotor.tower.to_string()),
        ],
    );
    Some(Question {
        kind: QuestionKind::RotorPoints,
        text: filled(WORDS.rotor_points, &[("crank", &about_firing_tdc(crank))]),
        crank,
        assembly: drawn.assembly().clone(),
        choices: every_cylinder(drawn),
        right: vec![usize::from(rotor.tower).checked_sub(1)?],
        reason,
        looks_at: LooksAt::Cap,
    })
}

/// How far a valve that is open is off its seat, in words; None of one that is shut, and `less`
/// where it is less than is told.
fn off_its_seat(valve: ValveReading, units: Units, less: &str) -> Option<String> {
    let told = length(valve.lift_mm, units);
    let is_told = told != length(0.0, units);
    valve
        .open
        .then(|| if is_told { told } else { less.to_owned() })
}

/// A valve a little to the side of a dead centre, in words.
fn beside(valve: ValveReading, units: Units) -> String {
    match off_its_seat(valve, units, "") {
        None => WORDS.shut.to_owned(),
        Some(lift) if lift.is_empty() => WORDS.just_open.to_owned(),
        Some(lift) => filled(WORDS.open, &[("lift", &lift)]),
    }
}

/// What tells firing from overlap at the whole crank degree nearest to where a cylinder stands, in
/// sentences.
fn tells_which(
    drawn: &Phasing,
    number: u8,
    crank: CrankAngle,
    which: DeadCentre,
) -> Option<String> {
    let units = drawn.engine().written().units;
    let read = |by: f64| drawn.at(CrankAngle::new(crank.degrees().round() + by));
    let here = read(0.0);
    let [intake, exhaust] = {
        let cylinder = here.cylinder(number)?;
        [cylinder.intake, cylinder.exhaust].map(|valve| off_its_seat(valve, units, WORDS.hardly))
    };
    let open = usize::from(intake.is_some()) + 2 * usize::from(exhaust.is_some());
    let put_in = [
        ("intake", intake.as_deref().unwrap_or_default()),
        ("exhaust", exhaust.as_deref().unwrap_or_default()),
    ];
    let mut said = vec![filled(WORDS.at_dead_centre[open], &put_in)];
    let before = read(-EITHER_SIDE_DEG).cylinder(number)?.exhaust;
    let after = read(EITHER_SIDE_DEG).cylinder(number)?.intake;
    let stay_shut = open == 0 && !before.open && !after.open;
    said.push(filled(
        if stay_shut {
            WORDS.stay_shut
        } else {
            WORDS.either_side
        },
        &[
            ("deg", &format!("{EITHER_SIDE_DEG}")),
            ("exhaust", &beside(before, units)),
            ("intake", &beside(after, units)),
        ],
    ));
    said.push(filled(WORDS.that_is, &[("which", which.word())]));
    said.extend(here.rotor.map(|rotor| {
        let words = if rotor.tower == number {
            WORDS.rotor_at_its_own
        } else {
            WORDS.rotor_elsewhere
        };
        filled(words, &[("tower", &rotor.tower.to_string())])
    }));
    said.push(WORDS.same_at_both.to_owned());
    if drawn.engine().sparks_every_turn() {
        said.push(WORDS.sparks_at_both.to_owned());
    }
    Some(said.join(" "))
}

pub(super) fn firing_or_overlap(drawn: &Phasing, chance: &mut Chance) -> Option<Question> {
    let cylinder = chance.pick(drawn.cylinders())?;
    let crank = cylinder.fires + CrankTurn::new(if chance.flip() { 360.0 } else { 0.0 });
    let reading = drawn.at(crank);
    let which = reading.cylinder(cylinder.number)?.dead_centre?;
    let choices = [DeadCentre::FiringTdc, DeadCentre::OverlapTdc];
    let right = choices.iter().position(|choice| *choice == which)?;
    Some(Question {
        kind: QuestionKind::FiringOrOverlap,
        text: of_cylinder(WORDS.firing_or_overlap, cylinder.number),
        crank,
        assembly: drawn.assembly().clone(),
        choices: choices.map(Answer::DeadCentre).into(),
        right: vec![right],
        reason: tells_which(drawn, cylinder.number, crank, which)?,
        looks_at: LooksAt::Valves(cylinder.number),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cylinder_stands_by_its_nearest_firing_tdc() {
        assert_eq!(about_firing_tdc(CrankAngle::new(712.0)), "8° before");
        assert_eq!(about_firing_tdc(CrankAngle::new(90.0)), "90° past");
        assert_eq!(about_firing_tdc(CrankAngle::new(0.0)), "at");
    }
}
