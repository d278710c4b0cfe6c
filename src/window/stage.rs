//! The bench itself: the order of steps within a frame, materials, and clearing away for another
//! engine.

use bevy::prelude::*;
use bevy::window::RequestRedraw;

use super::Steps;
use super::bench::{Bench, another_build};
use super::light::{LightPlugin, Shadows};
use super::metal::MetalPlugin;
use super::part::{Shapes, clear_away};
use super::parts_shown::Shown;

/// Materials, and the clearing of the bench for another engine.
pub struct StagePlugin;

impl Plugin for StagePlugin {
    fn build(&self, app: &mut App) {
        order(app);
        app.add_plugins((MetalPlugin, LightPlugin))
            .init_resource::<Shapes>();
        app.add_systems(
            Update,
            clear_away.in_set(Steps::Clear).run_if(another_build),
        );
        app.add_systems(Last, draw_what_changed);
    }
}

/// What a panel changed late in a frame is drawn in the next; new meshes take some frames more to
/// reach what draws.
fn draw_what_changed(
    bench: Res<Bench>,
    shown: Option<Res<Shown>>,
    shadows: Res<Shadows>,
    mut seen: Local<Option<u32>>,
    mut owed: Local<u8>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let another = seen.replace(bench.build()) != Some(bench.build());
    if another || shadows.is_changed() || shown.is_some_and(|shown| shown.is_changed()) {
        *owed = 5;
    } else if bench.is_changed() {
        *owed = (*owed).max(1);
    }
    if *owed > 0 {
        *owed -= 1;
        redraw.write(RequestRedraw);
    }
}

/// The order of steps within a frame.
pub fn order(app: &mut App) {
    app.configure_sets(
        Update,
        (
            Steps::Outside,
            Steps::Hand,
            Steps::Clear,
            Steps::Fit,
            Steps::Turn.run_if(resource_changed::<Bench>),
            Steps::Eye,
        )
            .chain(),
    );
}
