//! The order of things within a frame.

use bevy::prelude::*;

/// The order of things within a frame's `Update`.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum FrameSet {
    /// What comes from outside is taken in: files, the watcher, a question's engine.
    External,
    /// Pointer and keys turn the engine.
    Input,
    /// The parts of an engine that has changed are despawned.
    Despawn,
    /// The parts of the new engine are spawned.
    Spawn,
    /// Parts are moved to where they are at this crank angle.
    Move,
    /// The camera moves.
    Camera,
}

/// The order in which egui's panels are shown, within `EguiPrimaryContextPass`.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum PanelSet {
    /// A theme that was chosen is applied.
    Theme,
    /// The panes are shown, and what they leave free is the engine's.
    Panes,
    /// What is shown over the engine, in what the panes leave free.
    OverEngine,
}

/// Puts the sets of a frame in their order.
pub(crate) fn order(app: &mut App) {
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
