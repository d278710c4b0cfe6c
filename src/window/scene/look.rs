//! The camera goes to a part of the engine when it is asked to, with room round it; from then on it
//! is the user's again.

use std::f32::consts::FRAC_PI_2;

use bevy::prelude::*;
use bevy_panorbit_camera::{PanOrbitCamera, PanOrbitCameraSystemSet};
use glam::{DMat3, DVec2, DVec3};

use super::units::{length, unit};
use crate::description::Valve;
use crate::geometry::Layout;
use crate::geometry::framing::{FieldOfView, frame};
use crate::geometry::layout::{CylinderPlace, ValveTrain, WheelRole, towards};
use crate::procedures::LooksAt;
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::session::bench::Bench;

/// Takes the camera where it is asked to.
pub(crate) struct LookPlugin;

impl Plugin for LookPlugin {
    fn build(&self, app: &mut App) {
        app.add_message::<LookAt>();
        app.add_systems(
            Update,
            look.in_set(FrameSet::Camera)
                .before(PanOrbitCameraSystemSet),
        );
    }
}

/// The camera is asked to go to a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Message)]
pub(crate) struct LookAt(pub(crate) LooksAt);

/// What must be in the picture, and from where it is seen: yaw about the vertical from the front,
/// and pitch upwards, radians.
struct View {
    points: Vec<DVec3>,
    yaw: f32,
    pitch: f32,
}

fn look(
    mut asked: MessageReader<LookAt>,
    bench: Res<Bench>,
    viewport: Res<EngineViewport>,
    mut cameras: Query<(&mut PanOrbitCamera, &Projection)>,
    mut waiting: Local<Option<LookAt>>,
) {
    if let Some(last) = asked.read().last() {
        *waiting = Some(*last);
    }
    let (Ok((mut camera, Projection::Perspective(lens))), true) =
        (cameras.single_mut(), viewport.is_known())
    else {
        return;
    };
    let Some(LookAt(part)) = waiting.take() else {
        return;
    };
    let view = view(part, &bench);
    let axes = DMat3::from_rotation_y(f64::from(view.yaw))
        * DMat3::from_rotation_x(-f64::from(view.pitch));
    let position = frame(
        &with_room(&view.points),
        axes,
        FieldOfView {
            up: f64::from(lens.fov),
            aspect: f64::from(viewport.aspect()),
        },
    );
    camera.target_focus = unit(position.target);
    camera.target_yaw = view.yaw;
    camera.target_pitch = view.pitch;
    camera.target_radius = length(position.away_mm);
    camera.force_update = true;
}

/// The points moved out from their middle, so that there is room round them.
fn with_room(points: &[DVec3]) -> Vec<DVec3> {
    const ROOM: f64 = 1.3;
    let middle = points.iter().sum::<DVec3>() / points.len().max(1) as f64;
    let moved = points.iter().map(|point| middle + (*point - middle) * ROOM);
    moved.collect()
}

fn view(part: LooksAt, bench: &Bench) -> View {
    let layout = bench.layout();
    let of = |points, yaw, pitch| View { points, yaw, pitch };
    // Without the distributor there is no cap to look at, but where it will stand.
    let part = match part {
        LooksAt::Cap if bench.distributor_is_aside() => LooksAt::Drive,
        part => part,
    };
    match (part, &layout.distributor) {
        (LooksAt::Crank, _) => of(crank(layout), 0.9, 0.3),
        (LooksAt::CamDrive, _) => of(wheels(bench), 0.0, 0.12),
        (LooksAt::Camshaft, _) => of(camshafts(bench), 0.7, 0.25),
        (LooksAt::CrankMark, _) => of(pulley(layout), 0.0, 0.05),
        (LooksAt::Cylinder(number), _) => match layout.cylinder(number) {
            Some(place) => of(cylinder(layout, place), side_of(place), 0.25),
            None => of(layout.ends(), 0.62, 0.38),
        },
        (LooksAt::Valves(number), _) => match layout.cylinder(number) {
            Some(place) => of(valves(bench, place), side_of(place), 0.3),
            None => of(layout.ends(), 0.62, 0.38),
        },
        (LooksAt::Drive, Some(place)) => {
            let up = DVec3::Y * place.lift_mm;
            let lifted = place.ends().into_iter().map(|point| point + up);
            // From the side on which nothing hides it, and down on it, so that its rotor is seen.
            let mut cylinders = layout.cylinders.iter();
            let behind = cylinders.all(|cylinder| place.cap.z < cylinder.z_mm);
            let points = place.ends().into_iter().chain(lifted).collect();
            of(points, if behind { 2.2 } else { 0.9 }, 0.75)
        }
        (LooksAt::Cap, Some(place)) => {
            let up = DVec3::Y * bench.lifted_mm();
            let points = place.cap_ends().into_iter().map(|point| point + up);
            of(points.collect(), 0.0, FRAC_PI_2 - 0.001)
        }
        (LooksAt::Whole | LooksAt::Drive | LooksAt::Cap, _) => of(layout.ends(), 0.62, 0.38),
    }
}

/// The corners of a box about a point.
fn about(middle: DVec3, half: DVec3) -> impl Iterator<Item = DVec3> {
    let sides = [-1.0, 1.0];
    sides.into_iter().flat_map(move |x| {
        sides.into_iter().flat_map(move |y| {
            sides
                .into_iter()
                .map(move |z| middle + half * DVec3::new(x, y, z))
        })
    })
}

fn crank(layout: &Layout) -> Vec<DVec3> {
    let reach = layout.measures.throw_mm * 1.8;
    let (front, rear) = (layout.front_z_mm, layout.rear_z_mm);
    let half = DVec3::new(reach, reach, (front - rear).abs() / 2.0);
    about(DVec3::new(0.0, 0.0, (front + rear) / 2.0), half).collect()
}

/// Every wheel of the cam drive where it is drawn.
fn wheels(bench: &Bench) -> Vec<DVec3> {
    let layout = bench.layout();
    let wheels = layout.wheels.iter().enumerate();
    let ends = wheels.flat_map(|(index, wheel)| {
        let reach = wheel.pitch_radius_mm + 2.0 * layout.module_mm;
        let middle = wheel.centre.extend(layout.drive_z_mm) + bench.wheel_off_mm(index);
        let in_place = wheel.centre.extend(layout.drive_z_mm);
        let half = DVec3::new(reach, reach, 0.0);
        let is_cam = matches!(wheel.role, WheelRole::Cam(_));
        let also = is_cam.then(|| about(in_place, half));
        about(middle, half).chain(also.into_iter().flatten())
    });
    ends.collect()
}

fn camshafts(bench: &Bench) -> Vec<DVec3> {
    let layout = bench.layout();
    let reach = layout.intake_lobe.nose_radius_mm() * layout.lobe_scale * 1.3;
    let cams = layout.cams.iter().enumerate();
    let ends = cams.flat_map(|(index, cam)| {
        let long = (cam.front_z_mm - cam.rear_z_mm) / 2.0;
        let middle = cam.centre.extend(cam.rear_z_mm + long) + bench.cam_off_mm(index);
        about(middle, DVec3::new(reach, reach, long.abs()))
    });
    ends.chain(wheels(bench)).collect()
}

fn pulley(layout: &Layout) -> Vec<DVec3> {
    let reach = layout.pulley.radius_mm * 1.25;
    let middle = DVec3::new(0.0, 0.0, layout.pulley.z_mm);
    about(middle, DVec3::new(reach, reach, 0.0)).collect()
}

/// The side from which a cylinder is seen: its own, a little from the front, so that those before it
/// do not hide it.
fn side_of(place: &CylinderPlace) -> f32 {
    let out = towards(place.bank_deg);
    if out.x < -0.2 { -1.0 } else { 1.0 }
}

/// Points up a cylinder's bore from one distance to another.
fn along_the_bore(layout: &Layout, place: &CylinderPlace, from_to: [f64; 2]) -> Vec<DVec3> {
    let (bore, wide) = (towards(place.bank_deg), towards(place.bank_deg + 90.0));
    let reach = layout.measures.bore_mm * 0.62;
    let ends = from_to.into_iter().flat_map(|up| {
        [-reach, reach].into_iter().flat_map(move |aside| {
            [-reach, reach].into_iter().map(move |on| {
                let flat: DVec2 = bore * up + wide * aside;
                flat.extend(place.z_mm + on)
            })
        })
    });
    ends.collect()
}

fn cylinder(layout: &Layout, place: &CylinderPlace) -> Vec<DVec3> {
    let measures = &layout.measures;
    along_the_bore(
        layout,
        place,
        [0.0, measures.stem_mm + 0.3 * measures.bore_mm],
    )
}

/// A cylinder's valves and its piston's crown under them, and the lobes that work them.
fn valves(bench: &Bench, place: &CylinderPlace) -> Vec<DVec3> {
    let layout = bench.layout();
    let measures = &layout.measures;
    let lobes = Valve::BOTH.map(|valve| match valve {
        Valve::Intake => &place.intake,
        Valve::Exhaust => &place.exhaust,
    });
    let lobes = lobes.into_iter().filter_map(|valve| {
        let cam = layout.cams.get(valve.cam)?;
        Some(cam.centre.extend(valve.lobe_z_mm))
    });
    let low = measures.deck_mm - 0.5 * measures.bore_mm;
    let high = measures.stem_mm + 0.3 * measures.bore_mm;
    let lobe_is_near = layout.train == ValveTrain::Overhead;
    let own = along_the_bore(layout, place, [low, high]).into_iter();
    own.chain(lobes.filter(|_| lobe_is_near)).collect()
}
