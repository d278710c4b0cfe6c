//! Questions one after the other, and how they were answered.

use std::sync::Arc;

use super::chance::Chance;
use super::faults::NOT_AGAIN_WITHIN;
use super::question::{Question, QuestionKind};
use crate::engine::{Assembly, Engine};

/// How many questions were answered so far, and how many rightly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct QuizScore {
    /// Questions answered, or whose answer was asked for.
    pub asked: u32,
    /// Answered right at the first go.
    pub right: u32,
    /// Right answers one after the other, up to now.
    pub in_a_row: u32,
}

/// Questions one after the other.
#[derive(Clone, Debug)]
pub struct Quiz {
    engine: Arc<Engine>,
    kinds: Vec<QuestionKind>,
    chance: Chance,
    question: Question,
    given: Option<usize>,
    shown: bool,
    score: QuizScore,
    /// The engines as built that were asked about, the last of them last.
    lately: Vec<Assembly>,
}

impl Quiz {
    /// Begins with the first question. The same seed asks the same questions. Kinds that do not
    /// suit the engine are left out; None where none is left.
    pub fn begin(engine: &Arc<Engine>, kinds: &[QuestionKind], seed: u64) -> Option<Self> {
        let kinds: Vec<QuestionKind> = kinds
            .iter()
            .copied()
            .filter(|kind| kind.suits(engine))
            .collect();
        let mut chance = Chance::with_seed(seed);
        let question = Question::make(engine, chance.pick(&kinds)?, &mut chance)?;
        let lately = asked_about(&question).into_iter().collect();
        Some(Self {
            lately,
            engine: Arc::clone(engine),
            kinds,
            chance,
            question,
            given: None,
            shown: false,
            score: QuizScore::default(),
        })
    }

    /// The engine it asks about.
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engine
    }

    /// What is asked now.
    pub fn question(&self) -> &Question {
        &self.question
    }

    /// What was answered, if anything yet.
    pub fn given(&self) -> Option<usize> {
        self.given
    }

    /// Whether the answer may be seen.
    pub fn is_shown(&self) -> bool {
        self.shown
    }

    /// How many were answered so far, and how many rightly.
    pub fn score(&self) -> QuizScore {
        self.score
    }

    /// Answers; only the first answer to a question counts, and none once the answer is shown.
    pub fn answer(&mut self, choice: usize) {
        if self.shown || choice >= self.question.choices.len() {
            return;
        }
        self.given = Some(choice);
        self.close(self.question.is_right(choice));
    }

    /// Shows the answer without one being given: it counts as asked.
    pub fn show(&mut self) {
        if !self.shown {
            self.close(false);
        }
    }

    fn close(&mut self, right: bool) {
        self.shown = true;
        self.score.asked += 1;
        self.score.right += u32::from(right);
        self.score.in_a_row = if right { self.score.in_a_row + 1 } else { 0 };
    }

    /// Goes on to the next question. One that was not answered is not counted.
    pub fn next(&mut self) {
        if let Some(kind) = self.chance.pick(&self.kinds)
            && let Some(question) =
                Question::make_after(&self.engine, kind, &self.lately, &mut self.chance)
        {
            self.lately.extend(asked_about(&question));
            let over = self.lately.len().saturating_sub(NOT_AGAIN_WITHIN);
            self.lately.drain(..over);
            self.question = question;
            self.given = None;
            self.shown = false;
        }
    }
}

/// How the engine was built that a question asks about; None where it asks about none.
fn asked_about(question: &Question) -> Option<Assembly> {
    (question.kind == QuestionKind::WhatIsWrong).then(|| question.assembly.clone())
}

#[cfg(test)]
mod tests {
    use super::super::faults::faults;
    use super::*;
    use crate::engine::scenes::SCENES;

    #[test]
    fn no_fault_comes_again_within_ten_on_engines_that_can_have_so_many() {
        for scene in &SCENES {
            let engine = scene.engine();
            let all = faults(&engine).len();
            assert!(all >= 9, "{}: {all}", scene.name);
            let within = NOT_AGAIN_WITHIN.min(all);
            for seed in 0..4 {
                let kinds = [QuestionKind::WhatIsWrong];
                let mut quiz = Quiz::begin(&engine, &kinds, seed).expect("a quiz");
                let mut asked = vec![quiz.question().assembly.clone()];
                for _ in 0..30 {
                    quiz.next();
                    asked.push(quiz.question().assembly.clone());
                }
                for ten in asked.windows(within) {
                    let twice = (1..ten.len()).find(|index| ten[..*index].contains(&ten[*index]));
                    assert_eq!(twice, None, "{}: {ten:?}", scene.name);
                }
            }
        }
        assert!(faults(&SCENES[0].engine()).len() > NOT_AGAIN_WITHIN);
    }

    #[test]
    fn the_same_seed_asks_the_same_questions_and_another_asks_others() {
        let engine = SCENES[0].engine();
        let ask = |seed| {
            let mut quiz = Quiz::begin(&engine, &QuestionKind::ALL, seed).expect("a quiz");
            (0..20)
                .map(|_| {
                    quiz.next();
                    quiz.question().clone()
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(ask(3), ask(3));
        assert_ne!(ask(3), ask(4));
    }

    #[test]
    fn only_the_first_answer_counts_and_an_answer_asked_for_is_not_right() {
        let engine = SCENES[0].engine();
        let mut quiz = Quiz::begin(&engine, &[QuestionKind::StrokeOf], 5).expect("a quiz");
        assert!(!quiz.is_shown());
        let right = quiz.question().right[0];
        quiz.answer(99);
        assert!(!quiz.is_shown(), "a choice that is not there is no answer");
        quiz.answer(right);
        quiz.answer((right + 1) % 4);
        assert_eq!(
            (quiz.given(), quiz.score()),
            (
                Some(right),
                QuizScore {
                    asked: 1,
                    right: 1,
                    in_a_row: 1
                }
            )
        );
        quiz.next();
        quiz.show();
        quiz.answer(quiz.question().right[0]);
        assert_eq!(
            quiz.score(),
            QuizScore {
                asked: 2,
                right: 1,
                in_a_row: 0
            }
        );
    }

    #[test]
    fn a_single_cylinder_is_not_asked_which_cylinder() {
        let single = crate::engine::scenes::find("single")
            .expect("a scene")
            .engine();
        assert!(Quiz::begin(&single, &[QuestionKind::OnCompression], 1).is_none());
        assert!(Quiz::begin(&single, &QuestionKind::ALL, 1).is_some());
    }
}
