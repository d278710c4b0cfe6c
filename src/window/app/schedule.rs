//! The order of things within a frame.

use bevy::prelude::*;

/// The order of things within a frame's `Update`.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FrameSet {
    /// What comes from outside: files, a watcher, a lesson's pose.
    External,
    /// The hand turns the engine.
    Input,
    /// Parts of an engine that is gone are taken away.
    Despawn,
    /// Parts of the engine that came are put there.
    Spawn,
    /// Parts are moved to where they stand.
    Move,
    /// The eye moves.
    Camera,
}

/// Puts a frame's steps in their order.
pub fn order(app: &mut App) {
    app.configure_sets(
        Update,
        (
            FrameSet::External,
            FrameSet::Input,
            FrameSet::Despawn,
            FrameSet::Spawn,
            FrameSet::Move,
            FrameSet::Camera,
        )
            .chain(),
    );
}
