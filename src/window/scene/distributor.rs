//! The distributor: body, shaft and drive, the glass cap with its numbered towers, the rotor, and
//! the sparks. It can be lifted out, and turns as its drive does while it is seated again.
//!
//! Seen from above, clock 0 of the cap lies towards the rear of the engine and 90 to the right.

use bevy::prelude::*;
use bevy::window::RequestRedraw;
use glam::DVec3;

use super::part::{InWith, PartKind, PartSpawner};
use super::units::{clockwise, length, unit};
use crate::geometry::bodies::distributor::{
    self as bodies, ELECTRODES, cap_frame, geared_shaft, housing, rotor, shaft, tower_posts,
};
use crate::geometry::layout::{DistributorPlace, towards};
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
            (turn, turn_shaft, lift, spark).in_set(FrameSet::Move),
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

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let glow = spawner.materials.glow.clone();
    let spark = spawner.body(&bodies::spark(layout.measures.bore_mm * 0.07));
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
    let mesh = spawner.body(&bodies::plugs(&layout));
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
    let mesh = spawner.body(&bodies::body(place));
    spawner
        .spawn(KIND, 0, "Distributor body", mesh)
        .insert((LiftsOut(Vec3::ZERO), InWith::Distributor));
    let mesh = spawner.body(&tower_posts(place, towers));
    spawner
        .spawn(KIND, 0, "Cap towers", mesh)
        .insert((LiftsOut(Vec3::ZERO), InWith::Distributor));
    let glass = spawner.materials.glass.clone();
    let mesh = spawner.body(&bodies::cap(place));
    spawner
        .spawn_of(KIND, 0, "Distributor cap", mesh, glass)
        .insert((LiftsOut(Vec3::ZERO), InWith::Distributor));
    let mut turning = rotor(place, tip_deg);
    shaft(&mut turning, place);
    let mesh = spawner.body(&turning);
    let name = match &place.gears {
        Some(gears) if !place.tongue_over_gears => format!(
            "Rotor, with its shaft and drive of {} teeth",
            gears.driven.teeth
        ),
        _ => "Rotor, with its shaft and tongue".to_owned(),
    };
    spawner.spawn(KIND, 0, name, mesh).insert((
        OnRotor,
        LiftsOut(unit(place.cap)),
        InWith::Distributor,
    ));
    if let Some(gears) = place.gears.as_ref().filter(|_| place.tongue_over_gears) {
        let name = format!("Distributor's drive shaft, {} teeth", gears.driven.teeth);
        let mesh = spawner.body(&geared_shaft(place, gears));
        spawner.spawn(KIND, 0, name, mesh).insert(OnGearedShaft);
    }
    if place.gears.is_none() {
        let mesh = spawner.body(&housing(place));
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
        let mesh = spawner.body(&tower_posts(place, &drawn));
        spawner.spawn_of(
            PartKind::Distributor,
            0,
            "Towers as drawn",
            mesh,
            ghost.clone(),
        );
    }
    let mesh = spawner.body(&rotor(place, tip_deg));
    spawner
        .spawn_of(PartKind::Distributor, 0, "Rotor as drawn", mesh, ghost)
        .insert((OnGhostRotor, InWith::Distributor));
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
