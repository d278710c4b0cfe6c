//! Ten questions by a code: whoever has the same engine and the same code is asked the same.
//!
//! Nine are about where things stand, of every kind that suits the engine in turn; the last is what
//! is wrong with it. An engine as drawn is put together for it in one of the ways that are asked
//! about; one that was built otherwise stays as it was built, for all ten.

use super::chance::Chance;
use super::faults::fault_question;
use super::make::question;
use super::question::{Question, QuestionKind};
use crate::phasing::Phasing;

/// Questions of a round.
const QUESTIONS: usize = 10;
/// So often is one drawn where each was asked already: a single has two dead centres.
const DRAWS: usize = 20;
/// So many kinds are tried: an engine of which nothing can be asked has no round.
const MOST_TRIED: usize = 100;

/// Ten questions.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// One after the other; the last is what is wrong.
    pub questions: Vec<Question>,
}

impl Round {
    /// The kinds of the first nine, of those that suit the engine.
    pub(crate) fn kinds(built: &Phasing) -> Vec<QuestionKind> {
        let asked_last = |kind: &QuestionKind| *kind == QuestionKind::WhatIsWrong;
        let kinds = QuestionKind::ALL.into_iter();
        kinds
            .filter(|kind| !asked_last(kind) && kind.suits(built.engine()))
            .collect()
    }

    /// The round of a code about an engine as built; None where nothing can be asked of it.
    pub fn by_code(built: &Phasing, code: &str) -> Option<Self> {
        let mut chance = Chance::by_code(code);
        let all = Self::kinds(built);
        let (mut kinds, mut questions) = (Vec::new(), Vec::<Question>::new());
        for _ in 0..MOST_TRIED {
            if questions.len() == QUESTIONS - 1 {
                break;
            }
            if kinds.is_empty() {
                kinds.clone_from(&all);
                chance.shuffle(&mut kinds);
            }
            let kind = kinds.pop()?;
            let asked = |new: &Question| {
                let same = |old: &Question| old.text == new.text && old.crank == new.crank;
                questions.iter().any(same)
            };
            let mut draws = (0..DRAWS).map(|_| question(built, kind, &[], &mut chance));
            // Where nothing but what was asked comes up, the next kind has its turn.
            let drawn = draws.find(|drawn| !drawn.as_ref().is_some_and(asked));
            questions.extend(drawn.flatten());
        }
        questions.push(fault_question(built, &[], &mut chance)?);
        (questions.len() == QUESTIONS).then_some(Self { questions })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::{BENCH, SCENES, find};

    #[test]
    fn every_scene_has_ten_questions_for_a_code_and_others_for_another() {
        for scene in SCENES {
            let built = Phasing::as_drawn(&scene.engine());
            let round = |code| Round::by_code(&built, code).expect("a round");
            assert_eq!(round("club"), round("CLUB "), "{}", scene.name);
            assert_ne!(round("club"), round("club 2"), "{}", scene.name);
            let kinds: Vec<_> = round("club").questions.iter().map(|q| q.kind).collect();
            assert_eq!(kinds.len(), QUESTIONS);
            assert_eq!(kinds.last(), Some(&QuestionKind::WhatIsWrong));
            for kind in Round::kinds(&built) {
                assert!(kinds.contains(&kind), "{}: {kind:?}", scene.name);
            }
        }
    }

    #[test]
    fn no_question_is_asked_twice() {
        for scene in SCENES {
            let built = Phasing::as_drawn(&scene.engine());
            for code in 0..40 {
                let questions = Round::by_code(&built, &code.to_string())
                    .expect("a round")
                    .questions;
                for (index, one) in questions.iter().enumerate() {
                    let twice =
                        |other: &Question| other.text == one.text && other.crank == one.crank;
                    assert!(
                        !questions.iter().skip(index + 1).any(twice),
                        "{}, {code}: {}",
                        scene.name,
                        one.text
                    );
                }
            }
        }
    }

    #[test]
    fn a_planted_fault_stays_for_all_ten_and_is_what_the_last_asks_about() {
        let planted = Assembly {
            drive_teeth: 2,
            ..Assembly::default()
        };
        let built = Phasing::as_built(&BENCH.engine(), &planted);
        for code in ["1", "2", "3"] {
            let questions = Round::by_code(&built, code).expect("a round").questions;
            assert!(
                questions
                    .iter()
                    .all(|question| question.assembly == planted)
            );
            let last = questions.last().expect("ten");
            assert_eq!(last.choices.len(), 4);
            assert_eq!(
                last.choices[last.right[0]],
                super::super::question::Answer::Built(planted.clone())
            );
        }
    }

    #[test]
    fn a_planted_fault_that_is_one_of_those_asked_about_is_not_offered_twice() {
        let engine = find("flat_four").expect("a scene").engine();
        for wrong in super::super::faults::faults(&engine).iter().skip(1) {
            let built = Phasing::as_built(&engine, wrong);
            let last = Round::by_code(&built, "x")
                .expect("a round")
                .questions
                .pop()
                .expect("ten");
            let same = last
                .choices
                .iter()
                .filter(|choice| **choice == super::super::question::Answer::Built(wrong.clone()));
            assert_eq!(same.count(), 1);
        }
    }
}
