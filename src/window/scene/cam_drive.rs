//! What drives the camshaft: gears in mesh, or wheels with their chain or belt, and the dots on
//! their teeth.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::materials::{
    BODY, CAM_WHEEL, CRANK_WHEEL, Colour, DARK, IDLER, MARK, MARK_GROUND, STEEL,
};
use super::mesh::{PartMesh, circle, clockwise, strap, unit};
use super::part::{PartKind, PartSpawner};
use crate::description::DriveKind;
use crate::geometry::Layout;
use crate::geometry::layout::{LoopPlace, Wheel, WheelRole, towards};
use crate::geometry::teeth::{Gear, LoopKind};
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
        app.add_systems(
            Update,
            (turn_wheels, run_loops, take_loops_off).in_set(FrameSet::Move),
        );
    }
}

/// A wheel: its index among the layout's. Drawn with tooth 0 straight up.
#[derive(Component)]
pub(crate) struct OnWheel(pub(crate) usize);

/// What of a chain or belt is there only while the camshaft is in whose wheel it runs on.
#[derive(Component)]
struct OnLoop(usize);

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
        let mesh = spawner.mesh(body(&layout, wheel));
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
            let mesh = spawner.mesh(dots_as_drawn(&layout, wheel));
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
        let word = if place.path.driver.kind == LoopKind::Chain {
            "Timing chain: tight on the side that the crank pulls"
        } else {
            "Timing belt: tight on the side that the crank pulls"
        };
        let strand = spawner.mesh(strand(&layout, place));
        spawner.spawn(PartKind::CamDrive, 0, word, strand).insert((
            OnLoop(of),
            Transform::from_translation(unit(DVec3::new(0.0, 0.0, place.z_mm))),
        ));
        let mesh = spawner.mesh(tensioner(&layout, place));
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
        let link = spawner.mesh(link(&layout, place));
        for index in 0..place.path.pitches as usize {
            spawner
                .spawn(PartKind::CamDrive, 0, word, link.clone())
                .insert((OnLoop(of), Link { of, index }));
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

/// A chain or belt is off while its camshaft is out.
fn take_loops_off(bench: Res<Bench>, mut parts: Query<(&mut Visibility, &OnLoop)>) {
    let layout = bench.layout();
    for (mut visibility, part) in &mut parts {
        let cam = layout
            .loops
            .get(part.0)
            .and_then(|place| layout.cams.get(place.cam));
        let off = cam.is_some_and(|cam| bench.apart().cam(cam.camshaft).is_some());
        if off && *visibility != Visibility::Hidden {
            *visibility = Visibility::Hidden;
        }
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
        let Some(&(at, out_deg)) = rollers
            .get(link.of)
            .and_then(|rollers| rollers.get(link.index))
        else {
            continue;
        };
        let z_mm = bench.layout().loops[link.of].z_mm;
        *transform =
            Transform::from_translation(unit(at.extend(z_mm))).with_rotation(clockwise(out_deg));
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

fn colour(role: WheelRole) -> Colour {
    match role {
        WheelRole::Crank => CRANK_WHEEL,
        WheelRole::Idler(_) => IDLER,
        WheelRole::Cam(_) => CAM_WHEEL,
    }
}

/// A wheel about its own centre, tooth 0 straight up: a rim with teeth, a thinner web with holes, a
/// hub, the dots.
fn body(layout: &Layout, wheel: &Wheel) -> PartMesh {
    let (teeth, root) = outline(layout, wheel);
    let half = layout.wheel_width_mm / 2.0;
    let hub = f64::min(0.2 * layout.measures.bore_mm, root * 0.5);
    let rim = root - f64::max(0.10 * root, 2.2 * layout.module_mm);
    let mut mesh = PartMesh::new(colour(wheel.role));
    if rim > hub * 1.7 {
        mesh.prism(&teeth, &[circle(DVec2::ZERO, rim)], (-half, half));
        let (middle, hole) = ((rim + hub) / 2.0, (rim - hub) * 0.32);
        let holes: Vec<_> = (0..6)
            .map(|index| circle(towards(60.0 * f64::from(index) + 30.0) * middle, hole))
            .collect();
        mesh.prism(
            &circle(DVec2::ZERO, rim * 1.005),
            &holes,
            (-half * 0.45, half * 0.45),
        );
        mesh.tube(0.0, hub, (-half * 1.05, half * 1.05));
    } else {
        mesh.prism(&teeth, &[], (-half, half));
    }
    let pitch = 360.0 / f64::from(wheel.teeth);
    let size = dot_size(layout, wheel, root);
    for &tooth in &wheel.dots {
        let at = towards(f64::from(tooth) * pitch) * (root - size * 0.35);
        mesh.colour(MARK_GROUND)
            .to(at.extend(half))
            .bar(size * 1.35, (0.0, 0.25));
        mesh.colour(MARK).to(at.extend(half)).bar(size, (0.0, 0.6));
    }
    mesh
}

/// A dot's radius: as large as the teeth allow, so that it is seen from a distance.
fn dot_size(layout: &Layout, wheel: &Wheel, root: f64) -> f64 {
    let pitch = 360.0 / f64::from(wheel.teeth);
    f64::min(
        f64::max(0.9 * layout.module_mm, 0.018 * layout.measures.bore_mm),
        root * pitch.to_radians() * 0.42,
    )
}

/// The dots alone, larger, with a line to the wheel's centre: shown over the wheel as built.
fn dots_as_drawn(layout: &Layout, wheel: &Wheel) -> PartMesh {
    let (_, root) = outline(layout, wheel);
    let half = layout.wheel_width_mm / 2.0;
    let size = dot_size(layout, wheel, root);
    let mut mesh = PartMesh::new(MARK);
    for &tooth in &wheel.dots {
        let at = towards(f64::from(tooth) * 360.0 / f64::from(wheel.teeth)) * (root - size * 0.35);
        mesh.to(DVec3::ZERO).prism(
            &circle(at, size * 1.7),
            &[circle(at, size * 1.2)],
            (half + 0.3, half + 1.2),
        );
        mesh.prism(
            &strap(DVec2::ZERO, size * 0.3, at * 0.9, size * 0.3),
            &[],
            (half + 0.3, half + 0.9),
        );
    }
    mesh
}

/// The toothed outline and the radius under its teeth.
fn outline(layout: &Layout, wheel: &Wheel) -> (Vec<DVec2>, f64) {
    let on_loop = layout.loops.first().map(|place| match wheel.role {
        WheelRole::Crank => place.path.driver,
        _ => place.path.driven,
    });
    match on_loop {
        Some(wheel) => (
            wheel.outline(),
            wheel.outside_radius_mm() - 0.6 * wheel.pitch_mm,
        ),
        None => {
            let gear = Gear {
                teeth: wheel.teeth,
                module_mm: layout.module_mm,
                backlash_mm: layout.backlash_mm,
            };
            (gear.outline(4), gear.root_radius_mm())
        }
    }
}

/// The blade that keeps the slack run from hanging, and the pin it is held on.
fn tensioner(layout: &Layout, place: &LoopPlace) -> PartMesh {
    let half = layout.wheel_width_mm / layout.loops.len() as f64 / 2.0 * 0.86;
    let tensioner = place.tensioner();
    let mut mesh = PartMesh::new(BODY);
    mesh.prism(&tensioner.blade, &[], (-half * 0.8, half * 0.8));
    mesh.colour(STEEL).prism(
        &circle(tensioner.pivot, tensioner.thick_mm * 0.6),
        &[],
        (-half, half),
    );
    mesh
}

/// What of a loop looks the same however far it has run: a belt's band, or a chain's side plates
/// as thin lines.
fn strand(layout: &Layout, place: &LoopPlace) -> PartMesh {
    let path = place.path.path(2);
    let half = layout.wheel_width_mm / layout.loops.len() as f64 / 2.0 * 0.86;
    let thick = match place.path.driver.kind {
        LoopKind::Chain => (
            -0.10 * place.path.driver.pitch_mm,
            0.10 * place.path.driver.pitch_mm,
        ),
        LoopKind::Belt => (0.0, 0.22 * place.path.driver.pitch_mm),
    };
    let mut mesh = PartMesh::new(DARK);
    let count = path.len();
    let out = |index: usize| {
        let way = path[(index + 1) % count] - path[(index + count - 1) % count];
        way.perp().normalize_or_zero()
    };
    let outer: Vec<DVec2> = (0..count)
        .map(|index| path[index] + out(index) * thick.1)
        .collect();
    let inner: Vec<DVec2> = (0..count)
        .map(|index| path[index] + out(index) * thick.0)
        .collect();
    let sides: &[(f64, f64)] = match place.path.driver.kind {
        LoopKind::Chain => &[(0.62, 0.9), (-0.9, -0.62)],
        LoopKind::Belt => &[(-1.0, 1.0)],
    };
    for &(near, far) in sides {
        mesh.prism(
            &outer,
            std::slice::from_ref(&inner),
            (half * near, half * far),
        );
    }
    mesh
}

/// A chain's roller, or a belt's tooth: the outside of the loop is straight up.
fn link(layout: &Layout, place: &LoopPlace) -> PartMesh {
    let half = layout.wheel_width_mm / layout.loops.len() as f64 / 2.0 * 0.86;
    let pitch = place.path.driver.pitch_mm;
    let mut mesh = PartMesh::new(STEEL);
    match place.path.driver.kind {
        LoopKind::Chain => {
            mesh.bar(place.path.driver.roller_radius_mm(), (-half, half));
        }
        LoopKind::Belt => {
            let tooth = [(-0.26, 0.0), (0.26, 0.0), (0.16, -0.26), (-0.16, -0.26)]
                .map(|(x, y)| DVec2::new(x, y) * pitch);
            mesh.colour(DARK).prism(&tooth, &[], (-half, half));
        }
    }
    mesh
}
