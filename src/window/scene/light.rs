//! The light: where a graphics card draws, the key light throws shadows; and under every engine
//! lies the soft shade of what stands on a bench.
//!
//! The lights themselves stand in the shader of [`metal`](super::materials). A shadow is drawn by
//! drawing every part once more from where the light comes, which a card does in no time and a
//! processor does not: there it is off until it is asked for.

use bevy::light::{CascadeShadowConfigBuilder, DirectionalLightShadowMap, NotShadowCaster};
use bevy::prelude::*;
use glam::DVec3;

use super::materials::{Colour, KEY_LIGHT_FROM, PartMaterial, PartMaterials};
use super::mesh::{PartMesh, length};
use super::part::Shapes;
use crate::window::app::renderer::RendererKind;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, another_build};

/// The light, and the shade under the engine.
pub struct LightPlugin;

impl Plugin for LightPlugin {
    fn build(&self, app: &mut App) {
        let in_software = app
            .world()
            .get_resource::<RendererKind>()
            .is_none_or(|draws| draws.in_software);
        app.insert_resource(Shadows {
            thrown: !in_software,
        });
        app.insert_resource(DirectionalLightShadowMap {
            size: SHADOW_PIXELS,
        });
        app.add_systems(
            Update,
            throw
                .run_if(resource_changed::<Shadows>)
                .in_set(FrameSet::Spawn),
        );
        app.add_systems(Update, shade.run_if(another_build).in_set(FrameSet::Spawn));
        app.add_systems(Update, reach_as_far_as_the_eye.after(FrameSet::Camera));
    }
}

/// The side of the picture that the light sees, in pixels: an engine fills it, and its edges are
/// soft at any size.
const SHADOW_PIXELS: usize = 1024;

/// Whether parts throw shadows on one another.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shadows {
    /// They do.
    pub thrown: bool,
}

/// The key light, while it throws shadows.
#[derive(Component)]
struct KeyLight;

fn throw(
    shadows: Res<Shadows>,
    metals: Res<PartMaterials>,
    mut finishes: ResMut<Assets<PartMaterial>>,
    lights: Query<Entity, With<KeyLight>>,
    mut commands: Commands,
) {
    metals.catch_shadows(&mut finishes, shadows.thrown);
    lights
        .iter()
        .for_each(|light| commands.entity(light).despawn());
    if shadows.thrown {
        commands.spawn((
            KeyLight,
            DirectionalLight {
                shadow_maps_enabled: true,
                ..default()
            },
            Transform::from_translation(KEY_LIGHT_FROM).looking_at(Vec3::ZERO, Vec3::Y),
            cascade(1.0, 30.0),
        ));
    }
}

/// Shadows between so near and so far from the eye, in one piece: the eye's lens is narrow.
fn cascade(near: f32, far: f32) -> bevy::light::CascadeShadowConfig {
    CascadeShadowConfigBuilder {
        num_cascades: 1,
        minimum_distance: near,
        maximum_distance: far,
        ..default()
    }
    .build()
}

/// Shadows are drawn as finely as they can be: no nearer to the eye than the engine begins, no
/// further than it ends.
fn reach_as_far_as_the_eye(
    bench: Res<Bench>,
    eyes: Query<&Transform, (With<Camera3d>, Without<KeyLight>)>,
    mut lights: Query<&mut bevy::light::CascadeShadowConfig, With<KeyLight>>,
    mut last: Local<Option<(f32, f32)>>,
) {
    let (Ok(mut light), Some(eye)) = (lights.single_mut(), eyes.iter().next()) else {
        *last = None;
        return;
    };
    let layout = bench.layout();
    let (away, reach) = (
        eye.translation
            .distance(super::mesh::unit(layout.sphere_centre)),
        length(layout.sphere_radius_mm) * 1.6,
    );
    let wanted = (f32::max(away - reach, 0.1), away + reach);
    if last.replace(wanted) != Some(wanted) {
        *light = cascade(wanted.0, wanted.1);
    }
}

/// The shade under the engine.
#[derive(Component)]
struct Shade;

/// A round of dark that fades outwards, under the lowest of the engine: it says which way is down.
fn shade(
    bench: Res<Bench>,
    metals: Res<PartMaterials>,
    mut shapes: ResMut<Shapes>,
    mut meshes: ResMut<Assets<Mesh>>,
    old: Query<Entity, With<Shade>>,
    mut commands: Commands,
) {
    old.iter()
        .for_each(|shade| commands.entity(shade).despawn());
    let layout = bench.layout();
    let middle = DVec3::new(
        layout.sphere_centre.x,
        layout.lowest_mm(),
        layout.sphere_centre.z,
    );
    let (dark, clear) = (Colour([0.0, 0.0, 0.0, 0.34]), Colour([0.0, 0.0, 0.0, 0.0]));
    let mut solid = PartMesh::new(dark);
    let frame = glam::DAffine3::from_rotation_translation(
        glam::DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2),
        middle,
    );
    solid.at(frame).fading_round(
        (layout.front_z_mm - layout.rear_z_mm) * 0.58,
        layout.sphere_radius_mm * 0.42,
        dark,
        clear,
    );
    let mesh = shapes.of(solid, &mut meshes);
    commands.spawn((
        Shade,
        Mesh3d(mesh),
        MeshMaterial3d(metals.shade.clone()),
        NotShadowCaster,
    ));
}
