//! The order of things within a frame.

use bevy::prelude::*;

/// The order of things within a frame's `Update`.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Steps {
    /// What comes from outside: files, a watcher, a lesson's pose.
    Outside,
    /// The hand turns the engine.
    Hand,
    /// Parts of an engine that is gone are taken away.
    Clear,
    /// Parts of the engine that came are put there.
    Fit,
    /// Parts are moved to where they stand.
    Turn,
    /// The eye moves.
    Eye,
}

/// Puts a frame's steps in their order.
pub fn order(app: &mut App) {
    app.configure_sets(
        Update,
        (
            Steps::Outside,
            Steps::Hand,
            Steps::Clear,
            Steps::Fit,
            Steps::Turn,
            Steps::Eye,
        )
            .chain(),
    );
}
