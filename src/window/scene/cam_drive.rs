//! What drives the camshaft: gears in mesh, or wheels with their chain or belt, and the dots on
//! their teeth.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::part::{InWith, PartKind, PartSpawner};
use super::units::{clockwise, unit};
use crate::description::DriveKind;
use crate::geometry::Layout;
use crate::geometry::bodies::cam_drive::{self, UNLIKE_LINKS};
use crate::geometry::layout::{Wheel, WheelRole, clock_of};
use crate::geometry::teeth::LoopKind;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};
use crate::words::capitalised;

/// The wheels of the cam drive, and its chain or belt.
pub(crate) struct CamDrivePlugin;

impl Plugin for CamDrivePlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, (turn_wheels, run_loops).in_set(FrameSet::Move));
    }
}

/// A wheel: its index among the layout's. Drawn with tooth 0 straight up.
#[derive(Component)]
pub(crate) struct OnWheel(pub(crate) usize);

/// The dots of a wheel where they would stand as drawn.
#[derive(Component)]
struct OnGhostWheel(usize);

/// A link of a chain or a tooth of a belt: which loop, and which link.
#[derive(Component)]
struct Link {
    of: usize,
    index: usize,
}

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    for (index, wheel) in layout.wheels.iter().enumerate() {
        let mesh = spawner.body(&cam_drive::wheel(&layout, wheel));
        let place = Transform::from_translation(unit(wheel.centre.extend(layout.drive_z_mm)));
        spawner
            .spawn(
                PartKind::CamDrive,
                0,
                wheel_name(&spawner, &layout, wheel),
                mesh,
            )
            .insert((OnWheel(index), place));
        if matches!(wheel.role, WheelRole::Cam(_))
            && is_out(&spawner, &layout, wheel)
            && !wheel.dots.is_empty()
        {
            let ghost = spawner.materials.ghost.clone();
            let mesh = spawner.body(&cam_drive::dots_as_drawn(&layout, wheel));
            spawner
                .spawn_of(
                    PartKind::CamDrive,
                    0,
                    "Where the dot stands as drawn",
                    mesh,
                    ghost,
                )
                .insert((OnGhostWheel(index), place));
        }
    }
    for (of, place) in layout.loops.iter().enumerate() {
        let camshaft = layout.cams.get(place.cam).map_or(0, |cam| cam.camshaft);
        let on = InWith::Camshaft(camshaft);
        let word = if place.path.driver.kind == LoopKind::Chain {
            "Timing chain: tight on the side that the crank pulls"
        } else {
            "Timing belt: tight on the side that the crank pulls"
        };
        let band = cam_drive::band(&layout, place);
        if !band.is_empty() {
            let mesh = spawner.body(&band);
            spawner.spawn(PartKind::CamDrive, 0, word, mesh).insert((
                on,
                Transform::from_translation(unit(DVec3::new(0.0, 0.0, place.z_mm))),
            ));
        }
        let mesh = spawner.body(&cam_drive::tensioner(&layout, place));
        spawner
            .spawn(
                PartKind::CamDrive,
                0,
                "Tensioner, on the slack run; the other run is the tight one",
                mesh,
            )
            .insert(Transform::from_translation(unit(DVec3::new(
                0.0, 0.0, place.z_mm,
            ))));
        let links: [_; UNLIKE_LINKS] =
            std::array::from_fn(|index| spawner.body(&cam_drive::link(&layout, place, index)));
        for (index, mesh) in (0..place.path.pitches as usize).zip(links.iter().cycle()) {
            spawner
                .spawn(PartKind::CamDrive, 0, word, mesh.clone())
                .insert((on, Link { of, index }));
        }
    }
}

/// Whether the camshaft of a cam wheel is out.
fn is_out(spawner: &PartSpawner, layout: &Layout, wheel: &Wheel) -> bool {
    let WheelRole::Cam(cam) = wheel.role else {
        return false;
    };
    let camshaft = layout.cams.get(cam).map_or(0, |cam| cam.camshaft);
    spawner.bench.assembly().cams().of(camshaft) != 0
}

fn turn_wheels(
    bench: Res<Bench>,
    mut wheels: Query<(&mut Transform, &OnWheel)>,
    mut ghosts: Query<(&mut Transform, &OnGhostWheel), Without<OnWheel>>,
) {
    for (mut place, wheel) in &mut ghosts {
        place.rotation = clockwise(bench.pose().wheel_deg(
            bench.layout(),
            wheel.0,
            bench.turned_deg(),
            bench.as_drawn(),
        ));
    }
    let layout = bench.layout();
    for (mut place, wheel) in &mut wheels {
        let Some(centre) = layout.wheels.get(wheel.0).map(|wheel| wheel.centre) else {
            continue;
        };
        let stands = centre.extend(layout.drive_z_mm) + bench.wheel_off_mm(wheel.0);
        *place = Transform::from_translation(unit(stands))
            .with_rotation(clockwise(bench.wheel_deg(wheel.0)));
    }
}

fn run_loops(
    bench: Res<Bench>,
    mut links: Query<(&mut Transform, &Link)>,
    mut rollers: Local<Vec<Vec<(DVec2, f64)>>>,
) {
    if bench.layout().loops.is_empty() {
        return;
    }
    let crank = bench
        .pose()
        .wheel_deg(bench.layout(), 0, bench.turned_deg(), bench.phasing());
    *rollers = bench
        .layout()
        .loops
        .iter()
        .map(|place| place.path.rollers(crank))
        .collect();
    for (mut transform, link) in &mut links {
        let place = bench.layout().loops.get(link.of).zip(rollers.get(link.of));
        let Some((place, rollers)) = place else {
            continue;
        };
        let next = rollers.get((link.index + 1) % rollers.len().max(1));
        let Some((&(at, out_deg), &(next, _))) = rollers.get(link.index).zip(next) else {
            continue;
        };
        // A chain's plates lie from pin to pin, a belt's tooth stands square to the belt.
        let up_deg = match place.path.driver.kind {
            LoopKind::Chain => clock_of(next - at) - 90.0,
            LoopKind::Belt => out_deg,
        };
        *transform = Transform::from_translation(unit(at.extend(place.z_mm)))
            .with_rotation(clockwise(up_deg));
    }
}

fn wheel_name(spawner: &PartSpawner, layout: &Layout, wheel: &Wheel) -> String {
    let kind = match layout.drive {
        DriveKind::Gears => "gear",
        DriveKind::Chain => "sprocket",
        DriveKind::Belt => "belt wheel",
    };
    let teeth = wheel.teeth;
    let engine = spawner.bench.engine();
    match wheel.role {
        WheelRole::Cam(cam) if engine.has_several_camshafts() => {
            let camshaft = layout.cams.get(cam).map_or(0, |cam| cam.camshaft);
            let name = capitalised(engine.camshaft_name(camshaft));
            format!("{name}: {kind}, {teeth} teeth")
        }
        WheelRole::Crank => format!("Crank {kind}, {teeth} teeth"),
        WheelRole::Idler(which) => format!("Idler {which}, {teeth} teeth"),
        WheelRole::Cam(0) => format!("Cam {kind}, {teeth} teeth"),
        WheelRole::Cam(which) => format!("Cam {kind} {}, {teeth} teeth", which + 1),
    }
}
