//! Shadows: those that the key light throws, where a graphics card draws, and a soft shade under
//! the engine.
//!
//! The lights themselves are in the shader of [`materials`](super::materials). For shadows every
//! part is drawn once more from where the light comes, which a card does in no time and a processor
//! does not: there they are off until the user asks for them.

use bevy::light::{CascadeShadowConfigBuilder, DirectionalLightShadowMap, NotShadowCaster};
use bevy::prelude::*;
use glam::DVec3;

use super::materials::{Colour, KEY_LIGHT_FROM, PartMaterial, PartMaterials};
use super::mesh::PartMesh;
use super::part::SharedMeshes;
use super::units::length;
use crate::window::app::renderer::RendererKind;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The key light's shadows, and the shade under the engine.
pub(crate) struct LightPlugin;

impl Plugin for LightPlugin {
    fn build(&self, app: &mut App) {
        let in_software = app
            .world()
            .get_resource::<RendererKind>()
            .is_none_or(|renderer| renderer.in_software);
        app.insert_resource(Shadows {
            thrown: !in_software,
        });
        app.insert_resource(DirectionalLightShadowMap {
            size: SHADOW_PIXELS,
        });
        app.add_systems(
            Update,
            spawn_key_light
                .run_if(resource_changed::<Shadows>)
                .in_set(FrameSet::Spawn),
        );
        app.add_systems(
            Update,
            spawn_shade
                .run_if(generation_changed)
                .in_set(FrameSet::Spawn),
        );
        app.add_systems(Update, fit_shadow_range.after(FrameSet::Camera));
    }
}

/// The side of the shadow map, in pixels: an engine fills it, and its edges are soft at any size.
const SHADOW_PIXELS: usize = 1024;

/// Whether parts throw shadows on one another.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Shadows {
    pub(crate) thrown: bool,
}

/// The key light, while it throws shadows.
#[derive(Component)]
struct KeyLight;

fn spawn_key_light(
    shadows: Res<Shadows>,
    materials: Res<PartMaterials>,
    mut assets: ResMut<Assets<PartMaterial>>,
    lights: Query<Entity, With<KeyLight>>,
    mut commands: Commands,
) {
    materials.set_shadows(&mut assets, shadows.thrown);
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

/// Shadows from `near` to `far` from the camera, in one cascade: the field of view is narrow.
fn cascade(near: f32, far: f32) -> bevy::light::CascadeShadowConfig {
    CascadeShadowConfigBuilder {
        num_cascades: 1,
        minimum_distance: near,
        maximum_distance: far,
        ..default()
    }
    .build()
}

/// Keeps the range of the shadows to what the engine takes up as the camera sees it, so that they
/// are as fine as they can be.
fn fit_shadow_range(
    bench: Res<Bench>,
    cameras: Query<&Transform, (With<Camera3d>, Without<KeyLight>)>,
    mut lights: Query<&mut bevy::light::CascadeShadowConfig, With<KeyLight>>,
    mut last: Local<Option<(f32, f32)>>,
) {
    let (Ok(mut light), Some(camera)) = (lights.single_mut(), cameras.iter().next()) else {
        *last = None;
        return;
    };
    let layout = bench.layout();
    let (away, reach) = (
        camera
            .translation
            .distance(super::units::unit(layout.sphere_centre)),
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

/// A dark oval that fades outwards, under the lowest point of the engine: it shows which way is
/// down.
fn spawn_shade(
    bench: Res<Bench>,
    materials: Res<PartMaterials>,
    mut shared: ResMut<SharedMeshes>,
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
    let mut mesh = PartMesh::new(dark);
    let frame = glam::DAffine3::from_rotation_translation(
        glam::DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2),
        middle,
    );
    mesh.at(frame).fading_oval(
        (layout.front_z_mm - layout.rear_z_mm) * 0.58,
        layout.sphere_radius_mm * 0.42,
        dark,
        clear,
    );
    let mesh = shared.handle(mesh, &mut meshes);
    commands.spawn((
        Shade,
        Mesh3d(mesh),
        MeshMaterial3d(materials.shade.clone()),
        NotShadowCaster,
    ));
}
