//! The camera: orbit, pan, zoom, and the set views.

use std::f32::consts::FRAC_PI_2;

use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::ecs::system::SystemParam;
use bevy::light::ShadowFilteringMethod;
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, RequestRedraw};
use bevy_panorbit_camera::{PanOrbitCamera, PanOrbitCameraPlugin, PanOrbitCameraSystemSet};
use glam::{DMat3, DVec3};

use super::mesh::{length, unit};
use crate::geometry::Layout;
use crate::geometry::framing;
use crate::geometry::framing::FieldOfView;
use crate::window::app::off_screen::Canvas;
use crate::window::app::renderer::RendererKind;
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::session::bench::Bench;

/// The camera and its set views.
pub(crate) struct CameraPlugin;

impl Plugin for CameraPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins(PanOrbitCameraPlugin);
        app.add_message::<SetView>().init_resource::<ChosenView>();
        app.add_systems(Startup, spawn_camera);
        app.add_systems(
            Update,
            (apply_view, keep_to_viewport)
                .chain()
                .in_set(FrameSet::Camera)
                .before(PanOrbitCameraSystemSet),
        );
        app.add_systems(PostUpdate, redraw_after_move.after(PanOrbitCameraSystemSet));
    }
}

/// A camera pose that is chosen by its name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Message)]
pub enum SetView {
    /// The whole engine, from the front, a little from above and the side.
    #[default]
    Whole,
    /// Straight at the front: timing wheels and pulley.
    Front,
    /// Down on the distributor's cap.
    Cap,
    /// The distributor and its drive, from the side, with room to lift it out.
    Drive,
    /// Straight from the side: pistons and valves.
    Side,
}

/// Where the camera is and where it looks: the point it looks at, how far it is from there, and in
/// which direction: yaw about the vertical from the front, and pitch upwards, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CameraPose {
    focus: Vec3,
    radius: f32,
    yaw: f32,
    pitch: f32,
}

impl SetView {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Whole, Self::Front, Self::Cap, Self::Drive, Self::Side];

    /// The key that each of them is on, in their order.
    pub(crate) const KEYS: [KeyCode; 5] = [
        KeyCode::F2,
        KeyCode::F3,
        KeyCode::F4,
        KeyCode::F5,
        KeyCode::F6,
    ];

    /// Its name in the window and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Self::Whole => "Whole",
            Self::Front => "Front",
            Self::Cap => "Cap",
            Self::Drive => "Drive",
            Self::Side => "Side",
        }
    }

    /// Whether this engine has what it looks at.
    pub(crate) fn is_there(self, layout: &Layout) -> bool {
        !matches!(self, Self::Cap | Self::Drive) || layout.distributor.is_some()
    }

    /// The camera pose that shows it in a picture of this `aspect`, its width over its height, with
    /// the distributor lifted by `lifted_mm`.
    pub(crate) fn pose(self, layout: &Layout, aspect: f32, lifted_mm: f64) -> CameraPose {
        const DOWN: f32 = FRAC_PI_2 - 0.001;
        let (points, yaw, pitch) = match (self, &layout.distributor) {
            (Self::Whole, _) => (layout.ends(), 0.62, 0.38),
            (Self::Front, _) => (layout.front_ends(), 0.0, 0.0),
            (Self::Cap, Some(distributor)) => {
                let lifted = |point: DVec3| point + DVec3::Y * lifted_mm;
                (
                    distributor.cap_ends().into_iter().map(lifted).collect(),
                    0.0,
                    DOWN,
                )
            }
            (Self::Drive, Some(distributor)) => {
                let seated = distributor.ends();
                let lifted: Vec<_> = seated
                    .iter()
                    .map(|point| *point + DVec3::Y * distributor.lift_mm)
                    .collect();
                // From the side on which nothing hides it.
                let behind = layout
                    .cylinders
                    .iter()
                    .all(|cylinder| distributor.cap.z < cylinder.z_mm);
                (
                    [seated, lifted].concat(),
                    if behind { 2.2 } else { 0.9 },
                    0.2,
                )
            }
            (Self::Cap | Self::Drive, None) => (layout.ends(), 0.0, DOWN),
            (Self::Side, _) => (layout.ends(), FRAC_PI_2, 0.0),
        };
        let axes =
            DMat3::from_rotation_y(f64::from(yaw)) * DMat3::from_rotation_x(-f64::from(pitch));
        let position = framing::frame(
            &points,
            axes,
            FieldOfView {
                up: f64::from(FIELD_OF_VIEW),
                aspect: f64::from(aspect),
            },
        );
        CameraPose {
            focus: unit(position.target),
            radius: length(position.away_mm),
            yaw,
            pitch,
        }
    }
}

impl CameraPose {
    /// Whether a camera still has it.
    fn is_of(&self, camera: &PanOrbitCamera) -> bool {
        let near = |one: f32, other: f32| (one - other).abs() < 1e-4;
        near(camera.target_yaw, self.yaw)
            && near(camera.target_pitch, self.pitch)
            && near(camera.target_radius, self.radius)
            && camera.target_focus.distance(self.focus) < 1e-4
    }

    pub(crate) fn transform(&self) -> Transform {
        let rotation = Quat::from_euler(EulerRot::YXZ, self.yaw, -self.pitch, 0.0);
        Transform::from_translation(self.focus + rotation * Vec3::Z * self.radius)
            .with_rotation(rotation)
    }
}

/// The camera's field of view from top to bottom of the picture, radians: narrow, so that wheels
/// look round and shafts straight.
const FIELD_OF_VIEW: f32 = 0.42;

/// What every camera on the engine has: the window's, and a picture's.
///
/// `smooth` edges cost a graphics card nothing; drawn by the processor they cost as much as all the
/// rest.
pub(crate) fn camera_bundle(smooth: bool) -> impl Bundle {
    (
        Camera3d::default(),
        Projection::Perspective(PerspectiveProjection {
            fov: FIELD_OF_VIEW,
            near: 0.5,
            far: 400.0,
            ..default()
        }),
        Tonemapping::None,
        ShadowFilteringMethod::Hardware2x2,
        if smooth { Msaa::Sample4 } else { Msaa::Off },
    )
}

fn spawn_camera(
    mut commands: Commands,
    bench: Res<Bench>,
    canvas: Option<Res<Canvas>>,
    renderer: Res<RendererKind>,
) {
    let CameraPose {
        focus,
        radius,
        yaw,
        pitch,
    } = SetView::Whole.pose(bench.layout(), 1.3, 0.0);
    let mut camera = commands.spawn((
        camera_bundle(!renderer.in_software),
        PanOrbitCamera {
            focus,
            radius: Some(radius),
            yaw: Some(yaw),
            pitch: Some(pitch),
            // Smoothing would go on drawing after the pointer has stopped.
            orbit_smoothness: 0.0,
            pan_smoothness: 0.0,
            zoom_smoothness: 0.0,
            // The left button turns the engine where it lies on the pulley; elsewhere it orbits.
            button_orbit: MouseButton::Left,
            button_pan: MouseButton::Right,
            zoom_lower_limit: 0.5,
            zoom_upper_limit: Some(200.0),
            modifier_pan: None,
            ..default()
        },
    ));
    if let Some(canvas) = canvas {
        camera.insert(canvas.target());
    }
}

/// The set view that was chosen last, and the camera pose it gave.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
struct ChosenView {
    view: SetView,
    pose: Option<CameraPose>,
    aspect: f32,
    reach_mm: f64,
}

/// Moves the camera to the set view that was asked for; and to the one chosen last, again, for
/// another engine, or where the viewport changed its shape and the user has not moved the camera
/// since.
fn apply_view(
    mut views: MessageReader<SetView>,
    bench: Res<Bench>,
    viewport: Res<EngineViewport>,
    mut chosen: ResMut<ChosenView>,
    mut cameras: Query<&mut PanOrbitCamera>,
) {
    let (Ok(mut camera), true) = (cameras.single_mut(), viewport.is_known()) else {
        return;
    };
    let (aspect, reach_mm) = (viewport.aspect(), bench.layout().sphere_radius_mm);
    let asked = views.read().last().copied();
    let another = chosen.reach_mm != reach_mm;
    let reshaped = chosen.aspect != aspect && chosen.pose.is_some_and(|pose| pose.is_of(&camera));
    if asked.is_none() && !another && !reshaped {
        return;
    }
    let view = asked.unwrap_or(if another { SetView::Whole } else { chosen.view });
    let pose = view.pose(bench.layout(), aspect, bench.lifted_mm());
    camera.target_focus = pose.focus;
    camera.target_yaw = pose.yaw;
    camera.target_pitch = pose.pitch;
    camera.target_radius = pose.radius;
    camera.force_update = true;
    *chosen = ChosenView {
        view,
        pose: Some(pose),
        aspect,
        reach_mm,
    };
}

/// Draws the engine in what the panels leave free, and keeps the camera still while the pointer is
/// on a panel or drags something.
fn keep_to_viewport(
    viewport: Res<EngineViewport>,
    keys: Res<ButtonInput<KeyCode>>,
    mut cameras: Query<(&mut PanOrbitCamera, &mut Camera)>,
) {
    // The wheel turns the engine; with Ctrl it brings the camera nearer.
    let zoom = if keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]) {
        1.0
    } else {
        0.0
    };
    for (mut orbit, mut camera) in &mut cameras {
        if orbit.zoom_sensitivity != zoom {
            orbit.zoom_sensitivity = zoom;
        }
        let enabled = viewport.camera_may_move();
        if orbit.enabled != enabled {
            orbit.enabled = enabled;
        }
        let wanted = viewport.of_camera();
        let same = match (&camera.viewport, &wanted) {
            (Some(one), Some(other)) => {
                one.physical_position == other.physical_position
                    && one.physical_size == other.physical_size
            }
            (None, None) => true,
            _ => false,
        };
        if !same {
            camera.viewport = wanted;
        }
    }
}

/// A moved camera is drawn from once more, so that names and labels move with it.
fn redraw_after_move(
    cameras: Query<(), (With<PanOrbitCamera>, Changed<Transform>)>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if !cameras.is_empty() {
        redraw.write(RequestRedraw);
    }
}

/// The line of sight through the pointer.
#[derive(SystemParam)]
pub(crate) struct PointerRay<'w, 's> {
    windows: Query<'w, 's, &'static Window, With<PrimaryWindow>>,
    cameras: Query<'w, 's, (&'static Camera, &'static GlobalTransform), With<PanOrbitCamera>>,
}

impl PointerRay<'_, '_> {
    /// From the camera into the scene; None where the pointer is outside the window.
    pub(crate) fn ray(&self) -> Option<Ray3d> {
        let pointer = self.windows.single().ok()?.cursor_position()?;
        let (camera, transform) = self.cameras.single().ok()?;
        camera.viewport_to_world(transform, pointer).ok()
    }

    pub(crate) fn camera(&self) -> Option<Transform> {
        let (_, transform) = self.cameras.single().ok()?;
        Some(transform.compute_transform())
    }
}
