//! The camera: orbit, pan, zoom, and the set views.

use std::f32::consts::FRAC_PI_2;

use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::ecs::system::SystemParam;
use bevy::light::ShadowFilteringMethod;
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, RequestRedraw};
use bevy_panorbit_camera::{PanOrbitCamera, PanOrbitCameraPlugin, PanOrbitCameraSystemSet};
use glam::{DMat3, DVec3};

use super::units::{length, unit};
use crate::geometry::Layout;
use crate::geometry::framing;
use crate::geometry::framing::FieldOfView;
use crate::geometry::layout::DistributorPlace;
use crate::geometry::sight;
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
        app.add_systems(
            PostUpdate,
            (redraw_after_move, smooth_when_still).after(PanOrbitCameraSystemSet),
        );
    }
}

/// A camera pose that is chosen by its name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Message)]
pub enum SetView {
    /// The whole engine, from the front, a little from above, and from the side on which the
    /// distributor is seen.
    #[default]
    Whole,
    /// Straight at the front: timing wheels, pulley, and every cylinder's number. The pulley's rim
    /// is seen through.
    Front,
    /// Down on the distributor's cap.
    Cap,
    /// Down on the distributor and its drive, with room to lift it out: rotor and No. 1's tower are
    /// both seen.
    Drive,
    /// Straight from the side, that on which the distributor is seen: pistons and valves.
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
        let up = |points: Vec<DVec3>, by_mm: f64| {
            let lifted = points
                .into_iter()
                .map(move |point| point + DVec3::Y * by_mm);
            lifted.collect::<Vec<_>>()
        };
        let (points, direction) = match (self, &layout.distributor) {
            (Self::Whole, place) => (layout.ends(), whole_from(layout, place.as_ref())),
            (Self::Front, _) => (
                [layout.front_ends(), layout.cylinder_ends()].concat(),
                Direction::new(0.0, 0.0),
            ),
            (Self::Cap, Some(place)) => (
                up(place.cap_ends().to_vec(), lifted_mm),
                Direction::new(0.0, DOWN),
            ),
            (Self::Drive, Some(place)) => (
                [place.ends(), up(place.ends(), place.lift_mm)].concat(),
                drive_from(layout, place),
            ),
            (Self::Cap | Self::Drive, None) => (layout.ends(), Direction::new(0.0, DOWN)),
            (Self::Side, place) => (layout.ends(), side_from(layout, place.as_ref())),
        };
        let position = framing::frame(
            &points,
            direction.axes(),
            FieldOfView {
                up: f64::from(FIELD_OF_VIEW),
                aspect: f64::from(aspect),
            },
        );
        CameraPose {
            focus: unit(position.target),
            radius: length(position.away_mm),
            yaw: direction.yaw,
            pitch: direction.pitch,
        }
    }
}

/// Where a camera stands from what it looks at: yaw about the vertical from the front, and pitch
/// upwards, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Direction {
    yaw: f32,
    pitch: f32,
}

impl Direction {
    const fn new(yaw: f32, pitch: f32) -> Self {
        Self { yaw, pitch }
    }

    /// Right, up, and from what it looks at back to the camera.
    fn axes(self) -> DMat3 {
        DMat3::from_rotation_y(f64::from(self.yaw)) * DMat3::from_rotation_x(-f64::from(self.pitch))
    }
}

/// The first direction with the most of what is `seen`; `directions` are in order of how much they
/// are liked.
fn best(directions: &[Direction], seen: impl Fn(DVec3) -> f64) -> Direction {
    let mut best = (Direction::new(0.0, 0.0), f64::MIN);
    for direction in directions {
        let seen = seen(direction.axes().z_axis);
        if seen > best.1 {
            best = (*direction, seen);
        }
    }
    best.0
}

/// The whole engine: from the front, on the side on which the cap is seen, and from no higher than
/// that takes.
fn whole_from(layout: &Layout, place: Option<&DistributorPlace>) -> Direction {
    const DIRECTIONS: [Direction; 8] = [
        Direction::new(0.62, 0.38),
        Direction::new(-0.62, 0.38),
        Direction::new(0.62, 0.55),
        Direction::new(-0.62, 0.55),
        Direction::new(0.9, 0.55),
        Direction::new(-0.9, 0.55),
        Direction::new(0.9, 0.75),
        Direction::new(-0.9, 0.75),
    ];
    /// So much of a cap is as good as all of it.
    const ENOUGH: f64 = 0.7;
    best(&DIRECTIONS, |eye| {
        place.map_or(0.0, |place| sight::of_cap(layout, place, eye).min(ENOUGH))
    })
}

/// Straight from the side on which more of the cap is seen, or where it is seen from both, that on
/// which it stands.
fn side_from(layout: &Layout, place: Option<&DistributorPlace>) -> Direction {
    let sides = [FRAC_PI_2, -FRAC_PI_2].map(|yaw| Direction::new(yaw, 0.0));
    best(&sides, |eye| {
        place.map_or(0.0, |place| {
            sight::of_cap(layout, place, eye) + 0.01 * (eye.x * place.cap.x).signum()
        })
    })
}

/// The distributor's drive: down on it far enough to see rotor and No. 1's tower, from a side on
/// which nothing stands before them.
fn drive_from(layout: &Layout, place: &DistributorPlace) -> Direction {
    const PITCH: f32 = 0.62;
    const YAWS: [f32; 10] = [0.9, -0.9, 1.4, -1.4, 0.4, -0.4, 2.2, -2.2, 2.7, -2.7];
    best(&YAWS.map(|yaw| Direction::new(yaw, PITCH)), |eye| {
        let (rotor, tower, drive) = sight::of_drive(layout, place, eye);
        let part = |seen: bool, worth: f64| if seen { worth } else { 0.0 };
        part(rotor, 4.0) + part(tower, 2.0) + part(drive, 1.0)
    })
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
/// rest, and only what stands still has them ([`smooth_when_still`]).
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

/// Where the processor draws, what moves has plain edges; once it stands still it is drawn once more
/// with smooth ones.
fn smooth_when_still(
    bench: Res<Bench>,
    renderer: Res<RendererKind>,
    mut cameras: Query<(Ref<Transform>, &mut Msaa), With<PanOrbitCamera>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if !renderer.in_software {
        return;
    }
    for (place, mut edges) in &mut cameras {
        let moves = bench.is_changed() || place.is_changed();
        let wanted = if moves { Msaa::Off } else { Msaa::Sample4 };
        if moves {
            redraw.write(RequestRedraw);
        }
        if *edges != wanted {
            *edges = wanted;
        }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::CrankTurn;
    use crate::engine::Assembly;
    use crate::engine::scenes::SCENES;
    use crate::window::app::{off_screen, renderer};
    use crate::window::scene;

    /// How far from the middle of the picture it is seen, 1 being the edge.
    fn off_middle(pose: &CameraPose, aspect: f32, point: DVec3) -> f32 {
        let camera = pose.transform();
        let seen = camera.rotation.inverse() * (unit(point) - camera.translation);
        assert!(seen.z < 0.0, "behind the camera");
        let up = (FIELD_OF_VIEW / 2.0).tan();
        let (x, y) = (seen.x / -seen.z, seen.y / -seen.z);
        f32::max(x.abs() / (up * aspect), y.abs() / up)
    }

    /// What a view is for, in an engine that has it.
    fn what_it_is_for(view: SetView, layout: &Layout) -> Vec<DVec3> {
        let place = layout.distributor.as_ref();
        match view {
            SetView::Whole | SetView::Side => layout.ends(),
            SetView::Front => [layout.front_ends(), layout.cylinder_ends()].concat(),
            SetView::Cap => place.map_or(Vec::new(), DistributorPlace::cap_ends),
            SetView::Drive => place.map_or(Vec::new(), |place| {
                let lifted = place.ends().into_iter();
                let lifted = lifted.map(|point| point + DVec3::Y * place.lift_mm);
                place.ends().into_iter().chain(lifted).collect()
            }),
        }
    }

    #[test]
    fn what_a_view_is_for_lies_within_its_picture() {
        for scene in &SCENES {
            let layout = Layout::of(&scene.engine());
            for view in SetView::ALL {
                for aspect in [0.6, 1.0, 1.78, 3.0] {
                    let pose = view.pose(&layout, aspect, 0.0);
                    for point in what_it_is_for(view, &layout) {
                        let off = off_middle(&pose, aspect, point);
                        assert!(off < 1.0, "{}, {view:?} at {aspect}: {off}", scene.name);
                    }
                }
            }
        }
    }

    #[test]
    fn a_lifted_cap_is_followed_by_its_view() {
        let layout = Layout::of(&SCENES[0].engine());
        let place = layout.distributor.expect("a distributor");
        let pose = SetView::Cap.pose(&layout, 1.0, place.lift_mm);
        for point in place.cap_ends() {
            let off = off_middle(&pose, 1.0, point + DVec3::Y * place.lift_mm);
            assert!(off < 1.0, "{off}");
        }
    }

    #[test]
    fn the_whole_engine_is_looked_at_from_where_wheels_and_cap_are_seen() {
        for scene in &SCENES {
            let layout = Layout::of(&scene.engine());
            let Some(place) = &layout.distributor else {
                continue;
            };
            let eye = whole_from(&layout, Some(place)).axes().z_axis;
            assert!(eye.z > 0.5, "{}: the wheels face away", scene.name);
            let cap = sight::of_cap(&layout, place, eye);
            assert!(cap >= 0.5, "{}: {cap} of the cap", scene.name);
        }
    }

    #[test]
    fn the_side_is_looked_at_from_where_the_more_of_the_cap_is_seen() {
        let mut eyes = Vec::new();
        for scene in &SCENES {
            let layout = Layout::of(&scene.engine());
            let Some(place) = &layout.distributor else {
                continue;
            };
            let eye = side_from(&layout, Some(place)).axes().z_axis;
            let (cap, across) = (
                sight::of_cap(&layout, place, eye),
                sight::of_cap(&layout, place, -eye),
            );
            assert!(cap >= across, "{}: {cap} under {across}", scene.name);
            eyes.push(eye.x > 0.0);
        }
        assert!(eyes.contains(&true) && eyes.contains(&false));
    }

    #[test]
    fn the_drive_is_looked_down_on_from_where_rotor_and_tower_are_seen() {
        for scene in &SCENES {
            let layout = Layout::of(&scene.engine());
            let Some(place) = &layout.distributor else {
                continue;
            };
            let eye = drive_from(&layout, place).axes().z_axis;
            let (rotor, tower, _) = sight::of_drive(&layout, place, eye);
            assert!(rotor && tower, "{}: {rotor} {tower}", scene.name);
            assert!(eye.y > 0.5, "{}", scene.name);
        }
    }

    #[test]
    fn what_turns_has_plain_edges_where_the_processor_draws_and_what_stands_has_smooth_ones() {
        let adapter =
            renderer::adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
        let in_software = adapter.in_software;
        let mut app = off_screen::app(adapter, UVec2::new(64, 64));
        app.insert_resource(Bench::new(&SCENES[0].engine(), &Assembly::default()))
            .insert_resource(EngineViewport::all_free())
            .add_plugins((scene::plugin, CameraPlugin));
        off_screen::ready(&mut app);
        let edges = |app: &mut App| {
            let mut cameras = app.world_mut().query::<(&PanOrbitCamera, &Msaa)>();
            *cameras.single(app.world()).expect("a camera").1
        };
        (0..8).for_each(|_| off_screen::step(&mut app));
        assert_eq!(edges(&mut app), Msaa::Sample4, "at rest");
        app.world_mut()
            .resource_mut::<Bench>()
            .turn_by(CrankTurn::new(2.0));
        off_screen::step(&mut app);
        let turning = if in_software {
            Msaa::Off
        } else {
            Msaa::Sample4
        };
        assert_eq!(edges(&mut app), turning, "turning");
        off_screen::step(&mut app);
        assert_eq!(edges(&mut app), Msaa::Sample4, "at rest again");
    }
}
