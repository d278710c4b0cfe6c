//! A question, what can be answered, and what is right.

use crate::angle::CrankAngle;
use crate::diagnosis::fault;
use crate::engine::{Assembly, Engine};
use crate::phasing::{DeadCentre, Stroke};
use crate::procedures::LooksAt;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum QuestionKind {
    /// A cylinder on its compression stroke.
    OnCompression,
    /// The stroke of one cylinder.
    StrokeOf,
    /// The lead that the rotor serves.
    RotorPoints,
    /// Which top dead centre this is.
    FiringOrOverlap,
    /// The fault of an engine put together with one, or with none.
    WhatIsWrong,
}

impl QuestionKind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::OnCompression,
        Self::StrokeOf,
        Self::RotorPoints,
        Self::FiringOrOverlap,
        Self::WhatIsWrong,
    ];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::OnCompression => "on compression",
            Self::StrokeOf => "the four strokes",
            Self::RotorPoints => "where the rotor points",
            Self::FiringOrOverlap => "firing or overlap",
            Self::WhatIsWrong => "what is wrong",
        }
    }

    /// Whether it can be asked of this engine.
    pub fn suits(self, engine: &Engine) -> bool {
        match self {
            Self::OnCompression => engine.cylinder_count() > 1,
            Self::RotorPoints => {
                engine.cylinder_count() > 1 && engine.metric().distributor.is_some()
            }
            Self::StrokeOf | Self::FiringOrOverlap | Self::WhatIsWrong => true,
        }
    }
}

/// What can be answered: by choosing, or by clicking on that part of the model.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// A cylinder, or the lead that goes to it.
    Cylinder(u8),
    /// A stroke.
    Stroke(Stroke),
    /// A dead centre.
    DeadCentre(DeadCentre),
    /// A way of putting the engine together.
    Built(Assembly),
}

impl Answer {
    /// In words.
    pub fn words(&self, engine: &Engine) -> String {
        match self {
            Self::Cylinder(number) => format!("No. {number}"),
            Self::Stroke(stroke) => stroke.word().to_owned(),
            Self::DeadCentre(which) => which.word().to_owned(),
            Self::Built(assembly) if assembly.is_as_drawn() => {
                "Nothing is wrong, everything is as drawn".to_owned()
            }
            Self::Built(assembly) => fault::describe(engine, assembly)
                .trim_end_matches('.')
                .to_owned(),
        }
    }
}

/// One question.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What kind it is.
    pub kind: QuestionKind,
    /// What is asked.
    pub text: String,
    /// Where the crank stands.
    pub crank: CrankAngle,
    /// How the engine was put together.
    pub assembly: Assembly,
    /// What can be answered.
    pub choices: Vec<Answer>,
    /// Which of them are right; never empty.
    pub right: Vec<usize>,
    /// Why.
    pub reason: String,
    /// The part at which it is answered.
    pub looks_at: LooksAt,
}

impl Question {
    /// Whether a choice is right.
    pub fn is_right(&self, choice: usize) -> bool {
        self.right.contains(&choice)
    }

    /// The choice that a click on a cylinder, or on its lead, stands for.
    pub fn choice_of_cylinder(&self, number: u8) -> Option<usize> {
        self.choices
            .iter()
            .position(|choice| *choice == Answer::Cylinder(number))
    }
}
