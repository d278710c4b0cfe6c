//! A question of a kind, drawn by chance.

use std::sync::Arc;

use super::chance::Chance;
use super::faults::fault_question;
use super::question::{Question, QuestionKind};
use super::standing::{firing_or_overlap, on_compression, rotor_points, stroke_of};
use crate::engine::{Assembly, Engine};
use crate::phasing::Phasing;

impl Question {
    /// Makes a question of a kind; None where the engine does not suit it.
    pub fn make(engine: &Arc<Engine>, kind: QuestionKind, chance: &mut Chance) -> Option<Self> {
        Self::make_after(engine, kind, &[], chance)
    }

    /// The same, after these faults were asked about lately.
    pub(super) fn make_after(
        engine: &Arc<Engine>,
        kind: QuestionKind,
        lately: &[Assembly],
        chance: &mut Chance,
    ) -> Option<Self> {
        if !kind.suits(engine) {
            return None;
        }
        question(&Phasing::as_drawn(engine), kind, lately, chance)
    }
}

/// A question about an engine as built, after these faults were asked about lately.
pub(super) fn question(
    built: &Phasing,
    kind: QuestionKind,
    lately: &[Assembly],
    chance: &mut Chance,
) -> Option<Question> {
    match kind {
        QuestionKind::OnCompression => on_compression(built, chance),
        QuestionKind::StrokeOf => stroke_of(built, chance),
        QuestionKind::RotorPoints => rotor_points(built, chance),
        QuestionKind::FiringOrOverlap => firing_or_overlap(built, chance),
        QuestionKind::WhatIsWrong => fault_question(built, lately, chance),
    }
}

#[cfg(test)]
mod tests {
    use super::super::faults::faults;
    use super::super::question::Answer;
    use super::*;
    use crate::angle::{Clock, CrankAngle, CrankTurn, Direction};
    use crate::diagnosis::observations::CamTeethOff;
    use crate::engine::scenes::SCENES;
    use crate::phasing::{DeadCentre, Stroke};

    fn questions(kind: QuestionKind, each: usize) -> Vec<(Arc<Engine>, Question)> {
        let all: Vec<_> = SCENES
            .iter()
            .filter(move |scene| kind.suits(&scene.engine()))
            .flat_map(move |scene| {
                let engine = scene.engine();
                let mut chance = Chance::with_seed(7);
                (0..each)
                    .map(move |_| {
                        (
                            Arc::clone(&engine),
                            Question::make(&engine, kind, &mut chance).expect("a question"),
                        )
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        assert!(all.len() >= each, "no scene suits {kind:?}");
        all
    }

    #[test]
    fn a_cylinder_marked_right_for_compression_is_the_one_that_fires_within_half_a_turn() {
        for (engine, question) in questions(QuestionKind::OnCompression, 40) {
            for (choice, answer) in question.choices.iter().enumerate() {
                let Answer::Cylinder(number) = answer else {
                    panic!("{answer:?}")
                };
                let index = engine
                    .firing_order()
                    .iter()
                    .position(|other| other == number)
                    .expect("in the order");
                let to_go =
                    (engine.firing_angles()[index] - question.crank.degrees()).rem_euclid(720.0);
                assert_eq!(
                    question.is_right(choice),
                    to_go < 180.0,
                    "{}: No. {number} at {:?}",
                    engine.name(),
                    question.crank
                );
            }
            assert!(!question.right.is_empty());
        }
    }

    #[test]
    fn the_stroke_marked_right_is_what_the_piston_and_the_valves_say() {
        for (engine, question) in questions(QuestionKind::StrokeOf, 40) {
            let number: u8 = question
                .text
                .trim_end_matches(" on?")
                .rsplit(' ')
                .next()
                .and_then(|word| word.parse().ok())
                .expect("a number");
            let phasing = Phasing::as_drawn(&engine);
            let ahead = phasing.at(question.crank + CrankTurn::new(1.0));
            let (now, soon) = (phasing.at(question.crank), ahead);
            let (now, soon) = (
                now.cylinder(number).expect("there"),
                soon.cylinder(number).expect("there"),
            );
            let down = soon.piston_drop_mm > now.piston_drop_mm;
            let second_turn = (180.0..540.0).contains(&now.phase.degrees());
            let stroke = match (down, second_turn) {
                (true, false) => Stroke::Power,
                (false, true) => Stroke::Exhaust,
                (true, true) => Stroke::Intake,
                (false, false) => Stroke::Compression,
            };
            assert_eq!(
                question.choices[question.right[0]],
                Answer::Stroke(stroke),
                "{} {}",
                engine.name(),
                question.text
            );
        }
    }

    #[test]
    fn the_lead_marked_right_is_the_tower_the_rotor_is_nearest_to() {
        for (engine, question) in questions(QuestionKind::RotorPoints, 40) {
            let phasing = Phasing::as_drawn(&engine);
            let rotor = phasing.at(question.crank).rotor.expect("a rotor").clock;
            let apart = |tower: Clock| tower.past(rotor, Direction::Clockwise).abs();
            let nearest = phasing
                .towers()
                .iter()
                .enumerate()
                .min_by(|one, other| apart(*one.1).total_cmp(&apart(*other.1)))
                .expect("towers")
                .0;
            let served = phasing.leads()[nearest];
            assert_eq!(
                question.choices[question.right[0]],
                Answer::Cylinder(served),
                "{}",
                engine.name()
            );
        }
    }

    #[test]
    fn firing_is_told_from_overlap_by_the_valves_a_little_either_side() {
        for (engine, question) in questions(QuestionKind::FiringOrOverlap, 40) {
            let number: u8 = question.text[4..]
                .split(' ')
                .next()
                .and_then(|word| word.parse().ok())
                .expect("a number");
            let phasing = Phasing::as_drawn(&engine);
            let shut = [-30.0, 30.0].iter().all(|by| {
                phasing
                    .at(question.crank + CrankTurn::new(*by))
                    .cylinder(number)
                    .expect("there")
                    .sealed()
            });
            let wanted = if shut {
                DeadCentre::FiringTdc
            } else {
                DeadCentre::OverlapTdc
            };
            assert_eq!(
                question.choices[question.right[0]],
                Answer::DeadCentre(wanted),
                "{}",
                engine.name()
            );
        }
    }

    #[test]
    fn the_fault_marked_right_is_the_one_built_and_no_other_choice_looks_like_it() {
        /// Everything that can be seen of how an engine was put together.
        fn seen(engine: &Arc<Engine>, assembly: &Assembly) -> String {
            let built = Phasing::as_built(engine, assembly);
            let rotor = built
                .at(CrankAngle::new(0.0))
                .rotor
                .map(|rotor| rotor.clock.degrees().round());
            let towers: Vec<_> = built
                .towers()
                .iter()
                .map(|tower| tower.degrees().round())
                .collect();
            format!(
                "{:?} {rotor:?} {towers:?} {:?}",
                built.assembly().cams(),
                built.leads()
            )
        }
        for (engine, question) in questions(QuestionKind::WhatIsWrong, 40) {
            let right = question.right[0];
            assert_eq!(
                question.choices[right],
                Answer::Built(question.assembly.clone())
            );
            assert!(
                question
                    .choices
                    .contains(&Answer::Built(Assembly::default())),
                "nothing wrong can always be chosen"
            );
            for (index, choice) in question.choices.iter().enumerate() {
                let Answer::Built(assembly) = choice else {
                    panic!("{choice:?}")
                };
                assert_eq!(
                    seen(&engine, assembly) == seen(&engine, &question.assembly),
                    index == right,
                    "{}",
                    engine.name()
                );
            }
        }
    }

    #[test]
    fn a_diagnosis_from_what_can_be_seen_finds_the_fault_that_is_marked_right() {
        use crate::description::Valve;
        use crate::diagnosis::diagnose;
        use crate::diagnosis::observations::{
            Observation, Observations, RotorObservation, ValveObservation, ValveState,
        };
        for (engine, question) in questions(QuestionKind::WhatIsWrong, 12) {
            let built = Phasing::as_built(&engine, &question.assembly);
            let reading = built.at(CrankAngle::new(0.0));
            let seen_valve =
                |cylinder: &crate::phasing::CylinderReading, valve, open| ValveObservation {
                    cylinder: u32::from(cylinder.number),
                    valve,
                    is: if open {
                        ValveState::Open
                    } else {
                        ValveState::Closed
                    },
                };
            let valves = reading.cylinders.iter().flat_map(|cylinder| {
                [
                    seen_valve(cylinder, Valve::Intake, cylinder.intake.open),
                    seen_valve(cylinder, Valve::Exhaust, cylinder.exhaust.open),
                ]
            });
            let sighting = Observation {
                valves: valves.collect(),
                rotor: reading.rotor.map(|rotor| RotorObservation {
                    clock: Some(rotor.clock.degrees()),
                    tower: None,
                    within: None,
                }),
                cam_teeth_off: Some(CamTeethOff::Named(
                    engine
                        .camshaft_names()
                        .enumerate()
                        .map(|(camshaft, name)| {
                            (name.to_owned(), question.assembly.cams().of(camshaft))
                        })
                        .collect(),
                )),
                ..Observation::at(0.0)
            };
            let leads = engine
                .metric()
                .distributor
                .as_ref()
                .map(|_| built.leads().iter().map(|lead| u32::from(*lead)).collect());
            let found = diagnose(
                &engine,
                &Observations {
                    format: 1,
                    sightings: vec![sighting],
                    leads,
                    body_turn: 0.0,
                },
            );
            let best = found.fits.first().expect("a fit");
            let leads_as =
                |assembly: &Assembly| Phasing::as_built(&engine, assembly).leads().to_vec();
            assert_eq!(
                (
                    best.assembly.cams(),
                    best.assembly.drive_teeth,
                    leads_as(&best.assembly)
                ),
                (
                    question.assembly.cams(),
                    question.assembly.drive_teeth,
                    leads_as(&question.assembly)
                ),
                "{}: {:?}",
                engine.name(),
                question.assembly
            );
        }
    }

    #[test]
    fn every_kind_of_fault_and_none_at_all_comes_up() {
        let engine = SCENES[0].engine();
        let mut chance = Chance::with_seed(1);
        let mut built: Vec<Assembly> = Vec::new();
        for _ in 0..200 {
            let question = Question::make(&engine, QuestionKind::WhatIsWrong, &mut chance)
                .expect("a question");
            if !built.contains(&question.assembly) {
                built.push(question.assembly);
            }
        }
        assert_eq!(built.len(), faults(&engine).len());
    }

    #[test]
    fn no_question_counts_on_past_a_tdc_that_is_nearer_before() {
        for kind in QuestionKind::ALL {
            for (engine, question) in questions(kind, 60) {
                let said = format!("{} {}", question.text, question.reason);
                for past in said
                    .split("° past")
                    .collect::<Vec<_>>()
                    .split_last()
                    .map_or(&[][..], |(_, before)| before)
                {
                    let number: String = past
                        .chars()
                        .rev()
                        .take_while(char::is_ascii_digit)
                        .collect();
                    let number: String = number.chars().rev().collect();
                    let deg: f64 = number.parse().unwrap_or(0.0);
                    assert!(deg <= 360.0, "{}: {said}", engine.name());
                }
            }
        }
    }
}
