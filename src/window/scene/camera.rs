//! The eye: orbit, pan, zoom, and the set views.

use std::f32::consts::FRAC_PI_2;

use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::light::ShadowFilteringMethod;
use bevy::prelude::*;
use bevy::window::RequestRedraw;
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

/// The eye and its set views.
pub struct CameraPlugin;

impl Plugin for CameraPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins(PanOrbitCameraPlugin);
        app.add_message::<SetView>().init_resource::<Taken>();
        app.add_systems(Startup, open_eye);
        app.add_systems(
            Update,
            (look, close_to_panels)
                .chain()
                .in_set(FrameSet::Camera)
                .before(PanOrbitCameraSystemSet),
        );
        app.add_systems(PostUpdate, settle.after(PanOrbitCameraSystemSet));
    }
}

/// A set view.
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

/// From where a picture is taken: what the eye looks at, from how far, and from where: yaw about
/// the vertical from the front, and pitch upwards, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    focus: Vec3,
    radius: f32,
    yaw: f32,
    pitch: f32,
}

impl SetView {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Whole, Self::Front, Self::Cap, Self::Drive, Self::Side];

    /// The key that each of them is on, in their order.
    pub const KEYS: [KeyCode; 5] = [
        KeyCode::F1,
        KeyCode::F2,
        KeyCode::F3,
        KeyCode::F4,
        KeyCode::F5,
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
    pub fn is_there(self, layout: &Layout) -> bool {
        !matches!(self, Self::Cap | Self::Drive) || layout.distributor.is_some()
    }

    /// Where the eye stands for a picture of this width over its height, with the distributor
    /// lifted so far.
    pub fn place(self, layout: &Layout, aspect: f32, lifted_mm: f64) -> Place {
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
                let home = distributor.ends();
                let lifted: Vec<_> = home
                    .iter()
                    .map(|point| *point + DVec3::Y * distributor.lift_mm)
                    .collect();
                // From where nothing stands before it.
                let behind = layout
                    .cylinders
                    .iter()
                    .all(|cylinder| distributor.cap.z < cylinder.z_mm);
                ([home, lifted].concat(), if behind { 2.2 } else { 0.9 }, 0.2)
            }
            (Self::Cap | Self::Drive, None) => (layout.ends(), 0.0, DOWN),
            (Self::Side, _) => (layout.ends(), FRAC_PI_2, 0.0),
        };
        let axes =
            DMat3::from_rotation_y(f64::from(yaw)) * DMat3::from_rotation_x(-f64::from(pitch));
        let stand = framing::frame(
            &points,
            axes,
            FieldOfView {
                up: f64::from(OPENING),
                aspect: f64::from(aspect),
            },
        );
        Place {
            focus: unit(stand.target),
            radius: length(stand.away_mm),
            yaw,
            pitch,
        }
    }
}

impl Place {
    /// Whether the eye still stands there.
    fn is_of(&self, eye: &PanOrbitCamera) -> bool {
        let near = |one: f32, other: f32| (one - other).abs() < 1e-4;
        near(eye.target_yaw, self.yaw)
            && near(eye.target_pitch, self.pitch)
            && near(eye.target_radius, self.radius)
            && eye.target_focus.distance(self.focus) < 1e-4
    }

    /// The camera's own.
    pub fn transform(&self) -> Transform {
        let rotation = Quat::from_euler(EulerRot::YXZ, self.yaw, -self.pitch, 0.0);
        Transform::from_translation(self.focus + rotation * Vec3::Z * self.radius)
            .with_rotation(rotation)
    }
}

/// The eye's opening, from top to bottom of the picture: narrow, so that wheels look round and
/// shafts straight.
const OPENING: f32 = 0.42;

/// The eye's lens.
pub fn lens() -> Projection {
    Projection::Perspective(PerspectiveProjection {
        fov: OPENING,
        near: 0.5,
        far: 400.0,
        ..default()
    })
}

/// What an eye of any kind has: the window's, and the picture's.
///
/// Smooth edges cost a graphics card nothing; drawn by the processor they cost as much as all the
/// rest.
pub fn film(smooth: bool) -> impl Bundle {
    (
        Camera3d::default(),
        lens(),
        Tonemapping::None,
        ShadowFilteringMethod::Hardware2x2,
        if smooth { Msaa::Sample4 } else { Msaa::Off },
    )
}

fn open_eye(
    mut commands: Commands,
    bench: Res<Bench>,
    canvas: Option<Res<Canvas>>,
    draws: Res<RendererKind>,
) {
    let Place {
        focus,
        radius,
        yaw,
        pitch,
    } = SetView::Whole.place(bench.layout(), 1.3, 0.0);
    let mut eye = commands.spawn((
        film(!draws.in_software),
        PanOrbitCamera {
            focus,
            radius: Some(radius),
            yaw: Some(yaw),
            pitch: Some(pitch),
            // Smoothness would go on drawing after the hand has stopped.
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
        eye.insert(canvas.target());
    }
}

/// The set view that was taken last, and where the eye was put for it.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
struct Taken {
    look: SetView,
    place: Option<Place>,
    aspect: f32,
    reach_mm: f64,
}

/// A set view is taken up; and taken up anew for another engine, or where the panels leave the
/// engine other room, unless the user has moved the eye since.
fn look(
    mut looks: MessageReader<SetView>,
    bench: Res<Bench>,
    middle: Res<EngineViewport>,
    mut taken: ResMut<Taken>,
    mut eyes: Query<&mut PanOrbitCamera>,
) {
    let (Ok(mut eye), true) = (eyes.single_mut(), middle.is_known()) else {
        return;
    };
    let (aspect, reach_mm) = (middle.aspect(), bench.layout().sphere_radius_mm);
    let asked = looks.read().last().copied();
    let another = taken.reach_mm != reach_mm;
    let follows = taken.aspect != aspect && taken.place.is_some_and(|place| place.is_of(&eye));
    if asked.is_none() && !another && !follows {
        return;
    }
    let look = asked.unwrap_or(if another { SetView::Whole } else { taken.look });
    let place = look.place(bench.layout(), aspect, bench.lifted_mm());
    eye.target_focus = place.focus;
    eye.target_yaw = place.yaw;
    eye.target_pitch = place.pitch;
    eye.target_radius = place.radius;
    eye.force_update = true;
    *taken = Taken {
        look,
        place: Some(place),
        aspect,
        reach_mm,
    };
}

/// While the pointer is on a panel, or its drag began there, the eye keeps still; and what the
/// panels leave free is where it draws.
fn close_to_panels(
    middle: Res<EngineViewport>,
    keys: Res<ButtonInput<KeyCode>>,
    mut eyes: Query<(&mut PanOrbitCamera, &mut Camera)>,
) {
    // The wheel turns the engine; with Ctrl it brings the eye nearer.
    let zoom = if keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]) {
        1.0
    } else {
        0.0
    };
    for (mut eye, mut camera) in &mut eyes {
        if eye.zoom_sensitivity != zoom {
            eye.zoom_sensitivity = zoom;
        }
        let open = middle.eye_may_move();
        if eye.enabled != open {
            eye.enabled = open;
        }
        let viewport = middle.viewport();
        let same = match (&camera.viewport, &viewport) {
            (Some(one), Some(other)) => {
                one.physical_position == other.physical_position
                    && one.physical_size == other.physical_size
            }
            (None, None) => true,
            _ => false,
        };
        if !same {
            camera.viewport = viewport;
        }
    }
}

/// A moved eye is drawn once more, so that names and labels follow it.
fn settle(
    eyes: Query<(), (With<PanOrbitCamera>, Changed<Transform>)>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if !eyes.is_empty() {
        redraw.write(RequestRedraw);
    }
}
