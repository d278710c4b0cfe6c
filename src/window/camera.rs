//! The eye: orbit, pan, zoom, and the set views.

use bevy::camera::Viewport;
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use bevy::window::RequestRedraw;
use bevy_panorbit_camera::{PanOrbitCamera, PanOrbitCameraPlugin, PanOrbitCameraSystemSet};
use glam::DVec3;

use super::Steps;
use super::bench::Bench;
use super::middle::Middle;
use super::off_screen::Canvas;
use super::shell::Draws;
use super::solid::{length, unit};
use crate::model::Layout;

/// The eye and its set views.
pub struct CameraPlugin;

impl Plugin for CameraPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins(PanOrbitCameraPlugin);
        app.add_message::<Look>();
        app.add_systems(Startup, open_eye);
        app.add_systems(Update, (look, look_at_another_engine, close_to_panels).chain().in_set(Steps::Eye).before(PanOrbitCameraSystemSet));
        app.add_systems(PostUpdate, settle.after(PanOrbitCameraSystemSet));
    }
}

/// A set view.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Message)]
pub enum Look {
    /// The whole engine, from the front, a little from above and the side.
    #[default]
    Whole,
    /// Straight at the front: timing wheels and pulley.
    Front,
    /// Down on the distributor's cap.
    Cap,
    /// Straight from the side: pistons and valves.
    Side,
}

impl Look {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Whole, Self::Front, Self::Cap, Self::Side];

    /// Its name in the window and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Self::Whole => "Whole",
            Self::Front => "Front",
            Self::Cap => "Cap",
            Self::Side => "Side",
        }
    }

    /// What is looked at, how far around it must be seen, and from where: yaw about the vertical from the front, and pitch
    /// upwards, radians.
    pub fn stand(self, layout: &Layout) -> (DVec3, f64, f32, f32) {
        let front = DVec3::new(0.0, 0.0, layout.pulley.z_mm);
        match self {
            Self::Whole => (layout.middle, layout.reach_mm * 0.92, 0.62, 0.38),
            Self::Front => {
                let wheels = layout.wheels.iter().flat_map(|wheel| {
                    let reach = wheel.pitch_radius_mm * 1.12;
                    [wheel.centre - reach, wheel.centre + reach]
                });
                let pulley = layout.pulley.radius_mm * 1.28;
                let (least, most) = wheels
                    .chain([glam::DVec2::splat(-pulley), glam::DVec2::splat(pulley)])
                    .fold((glam::DVec2::MAX, glam::DVec2::MIN), |(least, most), point| (least.min(point), most.max(point)));
                let middle = (least + most) / 2.0;
                (middle.extend(front.z), (most - least).max_element() / 2.0 * 1.06, 0.0, 0.0)
            }
            Self::Cap => match &layout.distributor {
                Some(distributor) => (distributor.cap, distributor.radius_mm * 1.7, 0.0, std::f32::consts::FRAC_PI_2 - 0.001),
                None => (layout.middle, layout.reach_mm, 0.0, std::f32::consts::FRAC_PI_2 - 0.001),
            },
            Self::Side => (layout.middle, layout.reach_mm * 0.95, std::f32::consts::FRAC_PI_2, 0.0),
        }
    }

    /// The camera's place for a picture of this width over its height.
    pub fn transform(self, layout: &Layout, aspect: f32) -> Transform {
        let (middle, reach, yaw, pitch) = self.stand(layout);
        let away = distance(reach, aspect);
        let rotation = Quat::from_euler(EulerRot::YXZ, yaw, -pitch, 0.0);
        Transform::from_translation(unit(middle) + rotation * Vec3::Z * away).with_rotation(rotation)
    }
}

/// The eye's opening, from top to bottom of the picture: narrow, so that wheels look round and shafts straight.
const OPENING: f32 = 0.42;

/// How far off an eye sees all of `reach_mm` around what it looks at.
fn distance(reach_mm: f64, aspect: f32) -> f32 {
    let half = OPENING / 2.0;
    let narrow = if aspect < 1.0 { (half.tan() * aspect).atan() } else { half };
    length(reach_mm) / narrow.sin() * 1.02
}

/// The eye's lens.
pub fn lens() -> Projection {
    Projection::Perspective(PerspectiveProjection { fov: OPENING, near: 0.5, far: 400.0, ..default() })
}

/// What an eye of any kind has: the window's, and the picture's.
///
/// Smooth edges cost a graphics card nothing; drawn by the processor they cost as much as all the rest.
pub fn film(smooth: bool) -> impl Bundle {
    (Camera3d::default(), lens(), Tonemapping::None, if smooth { Msaa::Sample4 } else { Msaa::Off })
}

fn open_eye(mut commands: Commands, bench: Res<Bench>, canvas: Option<Res<Canvas>>, draws: Res<Draws>) {
    let (middle, reach, yaw, pitch) = Look::Whole.stand(bench.layout());
    let mut eye = commands.spawn((
        film(!draws.in_software),
        PanOrbitCamera {
            focus: unit(middle),
            radius: Some(distance(reach, 1.3)),
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

fn look(mut looks: MessageReader<Look>, bench: Res<Bench>, middle: Res<Middle>, mut eyes: Query<&mut PanOrbitCamera>) {
    for look in looks.read() {
        for mut eye in &mut eyes {
            stand(*look, &bench, middle.aspect(), &mut eye);
        }
    }
}

fn stand(look: Look, bench: &Bench, aspect: f32, eye: &mut PanOrbitCamera) {
    let (middle, reach, yaw, pitch) = look.stand(bench.layout());
    eye.target_focus = unit(middle);
    eye.target_yaw = yaw;
    eye.target_pitch = pitch;
    eye.target_radius = distance(reach, aspect);
    eye.force_update = true;
}

/// Another engine of another size is stood back from.
fn look_at_another_engine(bench: Res<Bench>, middle: Res<Middle>, mut last: Local<Option<f64>>, mut eyes: Query<&mut PanOrbitCamera>) {
    let reach = bench.layout().reach_mm;
    if last.replace(reach) != Some(reach) && middle.is_known() {
        for mut eye in &mut eyes {
            stand(Look::Whole, &bench, middle.aspect(), &mut eye);
        }
    } else if !middle.is_known() {
        *last = None;
    }
}

/// While the pointer is on a panel, or its drag began there, the eye keeps still; and what the panels leave free is where it draws.
fn close_to_panels(middle: Res<Middle>, keys: Res<ButtonInput<KeyCode>>, mut eyes: Query<(&mut PanOrbitCamera, &mut Camera)>) {
    // The wheel turns the engine; with Ctrl it brings the eye nearer.
    let zoom = if keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]) { 1.0 } else { 0.0 };
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
            (Some(one), Some(other)) => one.physical_position == other.physical_position && one.physical_size == other.physical_size,
            (None, None) => true,
            _ => false,
        };
        if !same {
            camera.viewport = viewport;
        }
    }
}

/// A moved eye is drawn once more, so that names and labels follow it.
fn settle(eyes: Query<(), (With<PanOrbitCamera>, Changed<Transform>)>, mut redraw: MessageWriter<RequestRedraw>) {
    if !eyes.is_empty() {
        redraw.write(RequestRedraw);
    }
}

/// A part of a window, for a camera.
pub fn viewport(from: UVec2, size: UVec2) -> Option<Viewport> {
    (size.x > 0 && size.y > 0).then(|| Viewport { physical_position: from, physical_size: size, ..default() })
}
