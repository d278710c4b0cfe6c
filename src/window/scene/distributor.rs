//! The distributor: body, shaft and drive, the glass cap with its numbered towers, the rotor, and
//! the sparks. It can be lifted out, and turns as its drive does while it is seated again.
//!
//! Seen from above, clock 0 of the cap lies towards the rear of the engine and 90 to the right.

use bevy::prelude::*;
use bevy::window::RequestRedraw;
use glam::{DAffine3, DQuat, DVec2, DVec3};

use super::materials::{BODY, BRASS, Colour, MARK, ROTOR, SPARK, STEEL, TOWER};
use super::mesh::{PartMesh, along, clockwise, length, strap, unit};
use super::part::{PartKind, PartSpawner};
use crate::geometry::Layout;
use crate::geometry::layout::{DistributorPlace, HelicalGear, HelicalPair, towards};
use crate::geometry::teeth::turned;
use crate::phasing::Phasing;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The distributor, and the sparks.
pub(crate) struct DistributorPlugin;

impl Plugin for DistributorPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, advance_seating.in_set(FrameSet::Input));
        app.add_systems(
            Update,
            (turn, turn_shaft, lift, lay_aside, spark).in_set(FrameSet::Move),
        );
    }
}

/// What is lifted out with the distributor, and where it is while that is seated.
#[derive(Component)]
pub(crate) struct LiftsOut(pub Vec3);

/// The rotor, drawn with its tip at clock 0 of the cap. While its drive is out of the engine, the
/// pointer turns it.
#[derive(Component)]
pub(crate) struct OnRotor;

/// The rotor where it would point as drawn.
#[derive(Component)]
struct OnGhostRotor;

/// The geared shaft that a tongue stands in: it stays in mesh while the distributor is lifted off.
#[derive(Component)]
struct OnGearedShaft;

/// A spark: at the cap's towers or at a plug.
#[derive(Component)]
pub(crate) enum Spark {
    /// From the rotor's tip to a tower.
    Cap,
    /// In a cylinder.
    Plug,
    /// In a cylinder on its overlap, where it is wasted.
    WastedAtPlug,
}

/// The radius, over the cap's, at which rotor tip and towers' electrodes face one another.
const ELECTRODES: f64 = 0.66;

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let glow = spawner.materials.glow.clone();
    let spark = spawner.mesh(star(layout.measures.bore_mm * 0.07));
    let spawn_spark = |spawner: &mut PartSpawner, at: Spark| {
        spawner
            .spawn_of(
                PartKind::Distributor,
                0,
                "Spark",
                spark.clone(),
                glow.clone(),
            )
            .insert((at, Visibility::Hidden));
    };
    spawn_spark(&mut spawner, Spark::Plug);
    spawn_spark(&mut spawner, Spark::WastedAtPlug);
    let mesh = spawner.mesh(plugs(&layout));
    spawner.spawn(PartKind::Valves, 0, "Spark plugs", mesh);
    let Some(place) = layout.distributor else {
        return;
    };
    spawn_spark(&mut spawner, Spark::Cap);
    let towers = tower_degrees(spawner.bench.phasing());
    let tip_deg = spawner
        .bench
        .engine()
        .metric()
        .distributor
        .as_ref()
        .and_then(|distributor| distributor.tip_width);
    spawn_distributor(&mut spawner, &place, &towers, tip_deg);
    if !spawner.bench.assembly().is_as_drawn() {
        spawn_ghosts(&mut spawner, &place, &towers, tip_deg);
    }
}

fn tower_degrees(phasing: &Phasing) -> Vec<f64> {
    phasing
        .towers()
        .iter()
        .map(|tower| tower.degrees())
        .collect()
}

fn spawn_distributor(
    spawner: &mut PartSpawner,
    place: &DistributorPlace,
    towers: &[f64],
    tip_deg: Option<f64>,
) {
    const KIND: PartKind = PartKind::Distributor;
    let mesh = spawner.mesh(body(place));
    spawner
        .spawn(KIND, 0, "Distributor body", mesh)
        .insert(LiftsOut(Vec3::ZERO));
    let mesh = spawner.mesh(tower_posts(place, towers));
    spawner
        .spawn(KIND, 0, "Cap towers", mesh)
        .insert(LiftsOut(Vec3::ZERO));
    let glass = spawner.materials.glass.clone();
    let mesh = spawner.mesh(cap(place));
    spawner
        .spawn_of(KIND, 0, "Distributor cap", mesh, glass)
        .insert(LiftsOut(Vec3::ZERO));
    let mut turning = rotor(place, tip_deg);
    shaft(&mut turning, place);
    let mesh = spawner.mesh(turning);
    let name = match &place.gears {
        Some(gears) if !place.tongue_over_gears => format!(
            "Rotor, with its shaft and drive of {} teeth",
            gears.driven.teeth
        ),
        _ => "Rotor, with its shaft and tongue".to_owned(),
    };
    spawner
        .spawn(KIND, 0, name, mesh)
        .insert((OnRotor, LiftsOut(unit(place.cap))));
    if let Some(gears) = place.gears.as_ref().filter(|_| place.tongue_over_gears) {
        let name = format!("Distributor's drive shaft, {} teeth", gears.driven.teeth);
        let mesh = spawner.mesh(geared_shaft(place, gears));
        spawner.spawn(KIND, 0, name, mesh).insert(OnGearedShaft);
    }
    if place.gears.is_none() {
        let mesh = spawner.mesh(housing(place));
        spawner.spawn(KIND, 0, "Housing of the distributor's drive", mesh);
    }
}

/// Towers and rotor as drawn, beside those of an engine that was put together otherwise.
fn spawn_ghosts(
    spawner: &mut PartSpawner,
    place: &DistributorPlace,
    towers: &[f64],
    tip_deg: Option<f64>,
) {
    let ghost = spawner.materials.ghost.clone();
    let drawn = tower_degrees(spawner.bench.as_drawn());
    if drawn != towers {
        let mesh = spawner.mesh(tower_posts(place, &drawn));
        spawner.spawn_of(
            PartKind::Distributor,
            0,
            "Towers as drawn",
            mesh,
            ghost.clone(),
        );
    }
    let mesh = spawner.mesh(rotor(place, tip_deg));
    spawner
        .spawn_of(PartKind::Distributor, 0, "Rotor as drawn", mesh, ghost)
        .insert(OnGhostRotor);
}

/// From the cap's plane, in which a view from above is one from the front, to the engine.
fn cap_frame(place: &DistributorPlace) -> DAffine3 {
    DAffine3::from_rotation_translation(
        DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2),
        place.cap,
    )
}

/// Where a clock position of the cap stands in the engine.
pub(crate) fn on_cap(
    place: &DistributorPlace,
    clock_deg: f64,
    radius_mm: f64,
    up_mm: f64,
) -> DVec3 {
    cap_frame(place).transform_point3((towards(clock_deg) * radius_mm).extend(up_mm))
}

/// What points to a clock position of the cap.
fn pointing(clock_deg: f64) -> Quat {
    Quat::from_rotation_x(-std::f32::consts::FRAC_PI_2) * clockwise(clock_deg)
}

/// Turns a geared shaft as its teeth have it, whichever way about the tongue is, and whether the
/// distributor is on it or not; drawn, it stands over its hole as it is held.
fn turn_shaft(bench: Res<Bench>, mut shafts: Query<&mut Transform, With<OnGearedShaft>>) {
    if shafts.is_empty() {
        return;
    }
    if let (Some(held), Some(place)) = (bench.apart().shaft(), bench.layout().distributor) {
        let up = DVec3::Y * bench.shaft_lifted_mm();
        for mut shaft in &mut shafts {
            *shaft = Transform::from_translation(unit(place.cap + up))
                .with_rotation(pointing(held.degrees()));
        }
        return;
    }
    let in_mesh = bench.phasing().at(bench.crank()).rotor;
    let (Some(place), Some(rotor)) = (bench.layout().distributor, in_mesh) else {
        return;
    };
    let turned = if bench.assembly().tongue_half_turn {
        180.0
    } else {
        0.0
    };
    for mut shaft in &mut shafts {
        *shaft = Transform::from_translation(unit(place.cap))
            .with_rotation(pointing(rotor.clock.degrees() + turned));
    }
}

fn turn(
    bench: Res<Bench>,
    mut rotors: Query<&mut Transform, With<OnRotor>>,
    mut ghosts: Query<&mut Transform, (With<OnGhostRotor>, Without<OnRotor>)>,
) {
    let (Some(place), Some(clock_deg)) = (bench.layout().distributor, bench.pose().rotor_deg)
    else {
        return;
    };
    for mut rotor in &mut rotors {
        rotor.rotation = pointing(clock_deg);
    }
    let drawn = bench.as_drawn().at(bench.crank()).rotor;
    for (mut ghost, rotor) in ghosts.iter_mut().zip(drawn.iter().cycle()) {
        *ghost = Transform::from_translation(unit(place.cap))
            .with_rotation(pointing(rotor.clock.degrees()));
    }
}

/// Lifts the distributor by as much as its drive is out.
fn lift(bench: Res<Bench>, mut lifted: Query<(&mut Transform, &LiftsOut)>) {
    let up = length(bench.lifted_mm());
    for (mut transform, seated) in &mut lifted {
        let to = seated.0 + Vec3::Y * up;
        if transform.translation != to {
            transform.translation = to;
        }
    }
}

/// A distributor that lies beside the engine is not on it.
fn lay_aside(
    bench: Res<Bench>,
    mut lifted: Query<&mut Visibility, With<LiftsOut>>,
    mut ghosts: Query<&mut Visibility, (With<OnGhostRotor>, Without<LiftsOut>)>,
) {
    if !bench.distributor_is_aside() {
        return;
    }
    for mut visibility in lifted.iter_mut().chain(ghosts.iter_mut()) {
        if *visibility != Visibility::Hidden {
            *visibility = Visibility::Hidden;
        }
    }
}

/// Moves a drive that is being seated on down.
fn advance_seating(
    time: Res<Time<Real>>,
    mut bench: ResMut<Bench>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if bench.is_seating() {
        // As for a running engine: after a pause it does not jump.
        bench.advance_seating(f64::min(time.delta_secs_f64(), 0.1));
        redraw.write(RequestRedraw);
    }
}

fn spark(bench: Res<Bench>, mut sparks: Query<(&mut Transform, &mut Visibility, &Spark)>) {
    let layout = bench.layout();
    for (mut transform, mut visibility, spark) in &mut sparks {
        let sparking = match spark {
            Spark::WastedAtPlug => bench.pose().wasting,
            Spark::Cap | Spark::Plug => bench.pose().sparking,
        };
        let place = sparking.and_then(|number| match spark {
            Spark::Plug | Spark::WastedAtPlug => layout.cylinder(number).map(|cylinder| {
                let tip = layout.measures.deck_mm - layout.measures.bore_mm * 0.02;
                (towards(cylinder.bank_deg) * tip).extend(cylinder.z_mm)
            }),
            Spark::Cap => layout.distributor.as_ref().and_then(|place| {
                // It jumps from the rotor's tip to the tower nearest to that.
                let clock = bench.pose().rotor_deg?;
                Some(on_cap(
                    place,
                    clock,
                    place.radius_mm * (ELECTRODES + 0.02),
                    place.radius_mm * 0.22,
                ))
            }),
        });
        let shown = if place.is_some() {
            Visibility::Inherited
        } else {
            Visibility::Hidden
        };
        if *visibility != shown {
            *visibility = shown;
        }
        if let Some(place) = place {
            transform.translation = unit(place);
            // Into burnt gas it jumps without lighting anything: half as large.
            let wasted = matches!(spark, Spark::WastedAtPlug);
            transform.scale = Vec3::splat(if wasted { 0.5 } else { 1.0 });
        }
    }
}

fn star(radius: f64) -> PartMesh {
    let mut mesh = PartMesh::new(SPARK);
    mesh.ball(radius * 0.55);
    for (index, direction) in [
        DVec3::X,
        DVec3::Y,
        DVec3::Z,
        DVec3::new(1.0, 1.0, 0.5),
        DVec3::new(-1.0, 1.0, -0.5),
        DVec3::new(0.5, -1.0, 1.0),
    ]
    .into_iter()
    .enumerate()
    {
        let long = radius * if index % 2 == 0 { 1.9 } else { 1.5 };
        mesh.at(along(DVec3::ZERO, direction)).turned(&[
            (0.0, -long),
            (radius * 0.22, 0.0),
            (0.0, long),
        ]);
    }
    mesh
}

fn plugs(layout: &Layout) -> PartMesh {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let mut mesh = PartMesh::new(STEEL);
    for cylinder in &layout.cylinders {
        let direction = towards(cylinder.bank_deg).extend(0.0);
        let foot = direction * measures.deck_mm + DVec3::new(0.0, 0.0, cylinder.z_mm);
        mesh.colour(STEEL).at(along(foot, direction)).turned(&[
            (0.0, -0.015 * bore),
            (0.05 * bore, -0.015 * bore),
            (0.05 * bore, 0.14 * bore),
            (0.085 * bore, 0.14 * bore),
            (0.085 * bore, 0.22 * bore),
            (0.05 * bore, 0.22 * bore),
        ]);
        mesh.colour(MARK).turned(&[
            (0.045 * bore, 0.22 * bore),
            (0.035 * bore, 0.42 * bore),
            (0.0, 0.42 * bore),
        ]);
    }
    mesh
}

/// The body's foot, over the cap's radius.
const BODY_FOOT: f64 = 1.3;

fn body(place: &DistributorPlace) -> PartMesh {
    let radius = place.radius_mm;
    let mut mesh = PartMesh::new(BODY);
    mesh.at(cap_frame(place));
    mesh.turned(&[
        (0.0, -radius * BODY_FOOT),
        (radius * 0.42, -radius * BODY_FOOT),
        (radius * 0.42, -radius * 0.85),
        (radius * 0.55, -radius * 0.8),
        (radius * 0.86, -radius * 0.45),
        (radius * 0.86, -radius * 0.02),
        (radius * 0.80, 0.0),
        (0.0, 0.0),
    ]);
    mesh
}

/// A gear of the drive about its own middle, along z.
fn gear(mesh: &mut PartMesh, skew: &HelicalGear, turned_deg: f64, half: f64) {
    mesh.twisted(
        &turned(&skew.outline(), turned_deg),
        half,
        skew.twist_deg_per_mm,
    );
}

/// The gear on the driving shaft, for a mesh drawn with that shaft's own axis at the origin, as it
/// stands at θ = 0 turned back by `back_deg`. Nothing where the drive has no gears.
pub(crate) fn driver(mesh: &mut PartMesh, place: &DistributorPlace, back_deg: f64) {
    let Some(gears) = &place.gears else { return };
    mesh.colour(BRASS).to(DVec3::new(0.0, 0.0, place.driver.z));
    gear(
        mesh,
        &gears.driver,
        gears.driver.tooth_deg - back_deg,
        gears.width_mm / 2.0,
    );
}

/// What turns with the rotor under it: the shaft, and at its foot the drive's gear or tongue.
fn shaft(mesh: &mut PartMesh, place: &DistributorPlace) {
    let (radius, foot) = (place.radius_mm, -place.shaft_mm);
    let thick = radius * 0.13;
    match &place.gears {
        Some(gears) if !place.tongue_over_gears => {
            let half = gears.width_mm / 2.0;
            mesh.colour(STEEL)
                .to(DVec3::ZERO)
                .bar(thick, (foot - half * 1.6, -radius * BODY_FOOT));
            mesh.colour(BRASS).to(DVec3::new(0.0, 0.0, foot));
            gear(mesh, &gears.driven, gears.driven.tooth_deg, half);
        }
        _ => {
            let joint = joint_mm(place);
            mesh.colour(STEEL)
                .to(DVec3::ZERO)
                .bar(thick, (joint, -radius * BODY_FOOT));
            let blade = [(-1.6, -0.35), (-1.6, 0.35), (1.6, 0.35), (1.6, -0.35)]
                .map(|(x, y)| DVec2::new(x, y) * thick);
            mesh.prism(&blade, &[], (joint - place.engages_mm, joint));
        }
    }
}

/// A geared shaft about the middle of the cap's underside: its gear, and over it the slot in which the
/// tongue stands.
fn geared_shaft(place: &DistributorPlace, gears: &HelicalPair) -> PartMesh {
    let (radius, foot, joint) = (place.radius_mm, -place.shaft_mm, joint_mm(place));
    let (thick, half) = (radius * 0.13, gears.width_mm / 2.0);
    let slot = joint - place.engages_mm * 1.2;
    let mut mesh = PartMesh::new(STEEL);
    mesh.to(DVec3::ZERO).bar(thick, (foot - half * 1.6, slot));
    dog(&mut mesh, thick, (slot, joint));
    mesh.colour(BRASS).to(DVec3::new(0.0, 0.0, foot));
    gear(&mut mesh, &gears.driven, gears.driven.tooth_deg, half);
    mesh
}

/// A dog with its slot, as two halves.
fn dog(mesh: &mut PartMesh, thick: f64, from_to: (f64, f64)) {
    for side in [-1.0, 1.0] {
        let half = [(-2.2, 0.42), (-2.2, 1.9), (2.2, 1.9), (2.2, 0.42)]
            .map(|(x, y)| DVec2::new(x, y * side) * thick);
        mesh.colour(BRASS).prism(&half, &[], from_to);
    }
}

/// Where a tongue's shaft ends over its slot, up from the cap's underside.
fn joint_mm(place: &DistributorPlace) -> f64 {
    f64::min(
        place.joint_mm - place.shaft_mm,
        -place.radius_mm * (BODY_FOOT + 0.1),
    )
}

/// Under a tongue: a closed housing on the driving shaft, with the slot on top.
fn housing(place: &DistributorPlace) -> PartMesh {
    let (radius, joint) = (place.radius_mm, joint_mm(place));
    let mut mesh = PartMesh::new(BODY);
    mesh.at(cap_frame(place));
    dog(
        &mut mesh,
        radius * 0.13,
        (joint - place.engages_mm * 1.2, joint),
    );
    mesh.colour(BODY).bar(
        radius * 0.36,
        (
            -place.shaft_mm - radius * 0.3,
            joint - place.engages_mm * 1.2,
        ),
    );
    // From there an arm to the driving shaft.
    let across = place.driver - DVec3::new(place.cap.x, place.driver.y, place.driver.z);
    if across.length() > radius * 0.3 {
        let from = DVec3::new(place.cap.x, place.driver.y, place.driver.z);
        mesh.at(along(from, across))
            .bar(radius * 0.24, (0.0, across.length()));
    }
    mesh.to(place.driver)
        .tube(radius * 0.2, radius * 0.36, (-radius * 0.25, radius * 0.25));
    mesh
}

fn tower_posts(place: &DistributorPlace, towers: &[f64]) -> PartMesh {
    let radius = place.radius_mm;
    let frame = cap_frame(place);
    let mut mesh = PartMesh::new(TOWER);
    let post = f64::min(
        0.15 * radius,
        radius * ELECTRODES * std::f64::consts::TAU / towers.len().max(1) as f64 * 0.36,
    );
    for &tower in towers {
        let at = towards(tower) * radius * 0.8;
        mesh.colour(TOWER)
            .at(frame * DAffine3::from_translation(at.extend(0.0)))
            .turned(&[
                (post, radius * 0.42),
                (post, radius * 0.78),
                (post * 0.6, radius * 0.86),
                (post * 0.45, radius * 0.86),
                (post * 0.45, radius * 0.7),
                (0.0, radius * 0.7),
            ]);
        // The electrode that the rotor's tip goes by.
        let inner = towards(tower) * radius * (ELECTRODES + 0.05);
        mesh.colour(BRASS).at(frame).prism(
            &strap(inner, post * 0.3, at, post * 0.3),
            &[],
            (radius * 0.16, radius * 0.28),
        );
    }
    mesh.colour(TOWER).at(frame).turned(&[
        (0.17 * radius, 0.45 * radius),
        (0.17 * radius, 0.8 * radius),
        (0.0, 0.8 * radius),
    ]);
    mesh
}

fn cap(place: &DistributorPlace) -> PartMesh {
    let radius = place.radius_mm;
    let mut mesh = PartMesh::new(Colour([1.0, 0.93, 0.85, 1.0]));
    mesh.at(cap_frame(place)).turned(&[
        (radius, 0.0),
        (radius, radius * 0.30),
        (radius * 0.93, radius * 0.44),
        (radius * 0.55, radius * 0.5),
        (0.0, radius * 0.5),
    ]);
    mesh
}

/// The rotor about the middle of the cap's underside, its tip at clock 0.
fn rotor(place: &DistributorPlace, tip_deg: Option<f64>) -> PartMesh {
    let radius = place.radius_mm;
    let mut mesh = PartMesh::new(ROTOR);
    let (near, far) = (radius * 0.10, radius * 0.30);
    let tip = DVec2::new(0.0, radius * (ELECTRODES - 0.08));
    mesh.prism(
        &strap(DVec2::ZERO, radius * 0.2, tip, radius * 0.1),
        &[],
        (near, far),
    );
    // The brass of the tip, as wide as it is.
    let half = tip_deg.unwrap_or(9.0) / 2.0;
    let (inner, outer) = (radius * 0.15, radius * ELECTRODES);
    let arc = (0..=8).map(|step| towards(-half + 2.0 * half * f64::from(step) / 8.0) * outer);
    let blade: Vec<DVec2> = [DVec2::new(-radius * 0.05, inner)]
        .into_iter()
        .chain(arc)
        .chain([DVec2::new(radius * 0.05, inner)])
        .collect();
    mesh.colour(BRASS)
        .prism(&blade, &[], (far * 0.85, far * 1.12));
    // A tail, so that the tip cannot be taken for the other end.
    mesh.colour(ROTOR).prism(
        &strap(
            DVec2::ZERO,
            radius * 0.2,
            DVec2::new(0.0, -radius * 0.2),
            radius * 0.12,
        ),
        &[],
        (near, far * 0.9),
    );
    mesh
}
