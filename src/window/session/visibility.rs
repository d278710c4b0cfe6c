//! What the window may show while a question is open: nothing that gives its answer away.

use bevy::prelude::*;

/// What may be shown. Whoever asks the questions sets it; without it everything may be.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visible {
    /// The panels, figures and marks that hold the answer to any question.
    pub answers: bool,
    /// The flat views, which name the strokes.
    pub views: bool,
}

impl Default for Visible {
    fn default() -> Self {
        Self {
            answers: true,
            views: true,
        }
    }
}

impl Visible {
    fn of(world: &World) -> Self {
        world.get_resource::<Self>().copied().unwrap_or_default()
    }
}

/// Whether no question is open whose answer the panels would give away.
pub fn answers_may_be_seen(world: &World) -> bool {
    Visible::of(world).answers
}

/// Whether the flat views may be seen: a fault is looked for in them, but the strokes they name
/// would give other answers away.
pub fn views_may_be_seen(world: &World) -> bool {
    Visible::of(world).views
}
