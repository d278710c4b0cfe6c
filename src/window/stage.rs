//! The light on the bench and what stands behind the engine.

use bevy::prelude::*;

use super::Steps;
use super::bench::{Bench, another_build};
use super::metal::Metals;
use super::part::clear_away;

/// Light, materials, and the clearing of the bench for another engine.
pub struct StagePlugin;

impl Plugin for StagePlugin {
    fn build(&self, app: &mut App) {
        order(app);
        app.init_resource::<Metals>();
        app.insert_resource(GlobalAmbientLight { brightness: 320.0, ..default() });
        app.add_systems(Startup, light);
        app.add_systems(Update, clear_away.in_set(Steps::Clear).run_if(another_build));
    }
}

/// The order of steps within a frame.
pub fn order(app: &mut App) {
    app.configure_sets(
        Update,
        (Steps::Outside, Steps::Hand, Steps::Clear, Steps::Fit, Steps::Turn.run_if(resource_changed::<Bench>), Steps::Eye).chain(),
    );
}

/// A key light from above the front left, and a fill from the right: edges stand out without shadows.
pub fn light(mut commands: Commands) {
    let from = |place: Vec3| Transform::from_translation(place).looking_at(Vec3::ZERO, Vec3::Y);
    commands.spawn((DirectionalLight { illuminance: 7_500.0, shadow_maps_enabled: false, ..default() }, from(Vec3::new(-4.0, 7.0, 6.0))));
    commands.spawn((
        DirectionalLight { illuminance: 2_200.0, color: Color::srgb(0.82, 0.9, 1.0), shadow_maps_enabled: false, ..default() },
        from(Vec3::new(6.0, 1.0, 3.0)),
    ));
    commands.spawn((DirectionalLight { illuminance: 1_400.0, shadow_maps_enabled: false, ..default() }, from(Vec3::new(0.0, -5.0, -3.0))));
}
