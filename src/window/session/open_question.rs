//! Whether a question is open whose answer the window would give away.

use bevy::prelude::*;

use crate::quiz::QuestionKind;

/// The kind of the question that is asked and whose answer has not been shown yet; None where there
/// is no such question.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct OpenQuestion(pub(crate) Option<QuestionKind>);

fn open_question(world: &World) -> Option<QuestionKind> {
    world.get_resource::<OpenQuestion>()?.0
}

/// Whether the panels may show where everything stands.
pub(crate) fn answers_may_be_seen(world: &World) -> bool {
    open_question(world).is_none()
}

/// Whether the flat views may be seen: a fault is looked for in them, but the strokes they name
/// would give other answers away.
pub(crate) fn views_may_be_seen(world: &World) -> bool {
    matches!(open_question(world), None | Some(QuestionKind::WhatIsWrong))
}
