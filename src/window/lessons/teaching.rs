//! The panel of the questions, for one learner or a class: in large type, answered by mouse or
//! keyboard, the answer hidden until one is given or it is asked for.

use egui::{Button, Key, Label, RichText, Ui};

use crate::drawing::Role;
use crate::quiz::{Answer, QuestionKind, Quiz};
use crate::window::app::theme::Palette;
use crate::window::panes::widgets::{said_when_it_changes, stroke_badge};

#[derive(Clone, Debug, PartialEq)]
pub(super) enum QuizResponse {
    /// Begin, with these kinds of question.
    Begin(Vec<QuestionKind>),
    Answer(usize),
    Show,
    /// Go on to the next question.
    Next,
    Stop,
}

/// The choice of kinds, before the first question. `kinds` are those chosen so far and is changed
/// in place.
pub(super) fn begin(
    ui: &mut Ui,
    kinds: &mut Vec<QuestionKind>,
    suits: impl Fn(QuestionKind) -> bool,
) -> Option<QuizResponse> {
    ui.add(
        Label::new("Questions about this engine. The model stands as the question needs it; its answer is hidden until you give one.")
            .wrap(),
    );
    for kind in QuestionKind::ALL {
        let mut on = kinds.contains(&kind);
        if ui
            .add_enabled(suits(kind), egui::Checkbox::new(&mut on, kind.word()))
            .changed()
        {
            kinds.retain(|other| *other != kind);
            if on {
                kinds.push(kind);
            }
        }
    }
    let any = kinds.iter().any(|kind| suits(*kind));
    let pressed = ui
        .add_enabled(any, Button::new(RichText::new("Begin").heading()))
        .on_hover_text("Enter")
        .clicked();
    let keyed = any
        && !ui.ctx().egui_wants_keyboard_input()
        && ui.input(|input| input.key_pressed(Key::Enter));
    (pressed || keyed).then(|| QuizResponse::Begin(kinds.clone()))
}

/// A question, its choices, and its answer when it may be seen.
pub(super) fn panel(ui: &mut Ui, quiz: &Quiz) -> Option<QuizResponse> {
    let mut response = from_the_keyboard(ui, quiz);
    let score = quiz.score();
    ui.label(format!(
        "{} of {} right, {} in a row",
        score.right, score.asked, score.in_a_row
    ));
    ui.add(Label::new(RichText::new(&quiz.question().text).heading()).wrap());
    ui.add_space(4.0);
    for index in 0..quiz.question().choices.len() {
        if choice(ui, quiz, index) {
            response = Some(QuizResponse::Answer(index));
        }
    }
    ui.add_space(4.0);
    if quiz.is_shown() {
        outcome(ui, quiz);
    } else {
        ui.label(
            RichText::new(
                "Choose with the mouse, the number keys, or by clicking on the part of the model.",
            )
            .weak(),
        );
    }
    ui.horizontal_wrapped(|ui| {
        if ui
            .add_enabled(!quiz.is_shown(), Button::new("Show the answer (A)"))
            .clicked()
        {
            response = Some(QuizResponse::Show);
        }
        if ui.button("Next question (Q)").clicked() {
            response = Some(QuizResponse::Next);
        }
        if ui.button("Stop").clicked() {
            response = Some(QuizResponse::Stop);
        }
    });
    response
}

/// Number keys answer, A shows the answer, Q asks the next question; nothing while text is being
/// typed.
fn from_the_keyboard(ui: &Ui, quiz: &Quiz) -> Option<QuizResponse> {
    const DIGITS: [Key; 9] = [
        Key::Num1,
        Key::Num2,
        Key::Num3,
        Key::Num4,
        Key::Num5,
        Key::Num6,
        Key::Num7,
        Key::Num8,
        Key::Num9,
    ];
    if ui.ctx().egui_wants_keyboard_input() {
        return None;
    }
    ui.input(|input| {
        let digit = DIGITS.iter().position(|key| input.key_pressed(*key));
        match digit {
            Some(index) if index < quiz.question().choices.len() => {
                Some(QuizResponse::Answer(index))
            }
            _ if input.key_pressed(Key::A) => Some(QuizResponse::Show),
            _ if input.key_pressed(Key::Q) => Some(QuizResponse::Next),
            _ => None,
        }
    })
}

fn choice(ui: &mut Ui, quiz: &Quiz, index: usize) -> bool {
    let question = quiz.question();
    let Some(answer) = question.choices.get(index) else {
        return false;
    };
    let palette = Palette::of(ui.ctx());
    let words_of = answer.words(quiz.engine());
    let (right, given) = (question.is_right(index), quiz.given() == Some(index));
    let words = match (quiz.is_shown(), right, given) {
        (true, true, _) => RichText::new(format!("{}. {}  ✔ right", index + 1, words_of))
            .strong()
            .color(palette.ink(Role::Mark)),
        (true, false, true) => RichText::new(format!("{}. {}  ✖ your answer", index + 1, words_of))
            .color(palette.ink(Role::Now)),
        _ => RichText::new(format!("{}. {}", index + 1, words_of)),
    };
    ui.horizontal(|ui| {
        if let Answer::Stroke(stroke) = answer {
            stroke_badge(ui, *stroke);
        }
        // Once the answer is shown a press does nothing; the words stay as plain as they were.
        ui.add(Button::new(words).wrap().min_size(egui::vec2(200.0, 30.0)))
            .clicked()
            && !quiz.is_shown()
    })
    .inner
}

fn outcome(ui: &mut Ui, quiz: &Quiz) {
    let palette = Palette::of(ui.ctx());
    let (words, role) = match quiz.given() {
        Some(given) if quiz.question().is_right(given) => ("Right.", Role::Mark),
        Some(_) => ("Not right.", Role::Now),
        None => ("The answer:", Role::Main),
    };
    let said = ui.label(RichText::new(words).heading().color(palette.ink(role)));
    said_when_it_changes(&said);
    ui.add(Label::new(&quiz.question().reason).wrap());
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::scenes;

    fn quiz(kind: QuestionKind) -> Quiz {
        Quiz::begin(&scenes::BENCH.engine(), &[kind], 11).expect("a quiz")
    }

    fn harness(quiz: Quiz) -> Harness<'static, (Quiz, Option<QuizResponse>)> {
        Harness::builder().with_size([420.0, 700.0]).build_ui_state(
            |ui, (quiz, received)| {
                if let Some(response) = panel(ui, quiz) {
                    *received = Some(response);
                }
            },
            (quiz, None),
        )
    }

    #[test]
    fn the_reason_is_hidden_until_an_answer_is_given() {
        let mut quiz = quiz(QuestionKind::StrokeOf);
        let reason = quiz.question().reason.clone();
        assert!(harness(quiz.clone()).query_by_label(&reason).is_none());
        quiz.answer(quiz.question().right[0]);
        let shown = harness(quiz);
        shown.get_by_label(&reason);
        shown.get_by_label("Right.");
    }

    #[test]
    fn a_choice_is_clicked_or_given_by_its_number() {
        let mut harness = harness(quiz(QuestionKind::StrokeOf));
        harness.get_by_label("3. intake").click();
        harness.run();
        assert_eq!(harness.state().1, Some(QuizResponse::Answer(2)));
        harness.key_press(Key::Num2);
        harness.run();
        assert_eq!(harness.state().1, Some(QuizResponse::Answer(1)));
        harness.key_press(Key::Q);
        harness.run();
        assert_eq!(harness.state().1, Some(QuizResponse::Next));
        harness.key_press(Key::A);
        harness.run();
        assert_eq!(harness.state().1, Some(QuizResponse::Show));
    }

    #[test]
    fn a_number_without_a_choice_answers_nothing() {
        let mut harness = harness(quiz(QuestionKind::FiringOrOverlap));
        harness.key_press(Key::Num7);
        harness.run();
        assert_eq!(harness.state().1, None);
    }

    #[test]
    fn kinds_that_do_not_suit_cannot_be_begun_with() {
        let mut harness = Harness::builder().build_ui_state(
            |ui, (kinds, received): &mut (Vec<QuestionKind>, Option<QuizResponse>)| {
                if let Some(response) = begin(ui, kinds, |kind| kind == QuestionKind::StrokeOf) {
                    *received = Some(response);
                }
            },
            (vec![QuestionKind::StrokeOf], None),
        );
        harness.get_by_label("Begin").click();
        harness.run();
        assert_eq!(
            harness.state().1,
            Some(QuizResponse::Begin(vec![QuestionKind::StrokeOf]))
        );
        harness.state_mut().1 = None;
        harness.key_press(Key::Enter);
        harness.run();
        assert_eq!(
            harness.state().1,
            Some(QuizResponse::Begin(vec![QuestionKind::StrokeOf])),
            "from the keyboard too"
        );
    }
}
