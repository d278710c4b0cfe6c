//! Valves, and what carries the lobes' lift to them: followers, push rods and rockers, or tappets
//! under a high camshaft.
//!
//! Valves are drawn with their true lift, to the same scale as all else.

use bevy::prelude::*;
use glam::{DVec2, DVec3};

use super::materials::{BRIGHT, EXHAUST, GEAR, INTAKE, IRON, STEEL};
use super::mesh::{PartMesh, along, circle, clockwise, strap, unit};
use super::part::{PartKind, PartSpawner};
use crate::geometry::Layout;
use crate::geometry::follower_pose::FollowerPose;
use crate::geometry::layout::{CylinderPlace, ValvePlace, ValveTrain, towards};
use crate::geometry::lobe_outline::LobeOutline;
use crate::geometry::pose::{RockerPose, ValvePose};
use crate::laws::follower::FollowerShape;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The valves and what moves them.
pub(crate) struct ValveGearPlugin;

impl Plugin for ValveGearPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// Which valve: its cylinder, and whether it is the exhaust valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct ValveId {
    number: u8,
    exhaust: bool,
}

/// A part that a valve's lift moves.
#[derive(Component)]
struct ValveGearPart {
    valve: ValveId,
    role: Role,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Role {
    /// Drawn about the end of its stem, its head straight down.
    Valve,
    /// Drawn about its face, its body straight up.
    Follower,
    /// Drawn from its lower end, already leaning as it does.
    PushRod,
    /// Drawn about its pivot, level.
    Rocker,
}

impl ValveId {
    const BOTH: [bool; 2] = [false, true];

    fn of(exhaust: bool, cylinder: &CylinderPlace) -> (Self, &ValvePlace) {
        let place = if exhaust {
            &cylinder.exhaust
        } else {
            &cylinder.intake
        };
        (
            Self {
                number: cylinder.number,
                exhaust,
            },
            place,
        )
    }

    fn word(self) -> &'static str {
        if self.exhaust { "exhaust" } else { "intake" }
    }

    fn lobe(self, layout: &Layout) -> &LobeOutline {
        if self.exhaust {
            &layout.exhaust_lobe
        } else {
            &layout.intake_lobe
        }
    }

    fn pose(self, layout: &Layout, cylinder: &CylinderPlace, lift_mm: f64) -> ValvePose {
        let place = if self.exhaust {
            &cylinder.exhaust
        } else {
            &cylinder.intake
        };
        ValvePose::at(
            layout,
            cylinder,
            place,
            self.lobe(layout).base_radius_mm() * layout.lobe_scale,
            lift_mm,
        )
    }
}

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let valves = ValveId::BOTH.map(|exhaust| spawner.mesh(valve(&layout, exhaust)));
    let followers = ValveId::BOTH.map(|exhaust| spawner.mesh(follower(&layout, exhaust)));
    for cylinder in &layout.cylinders {
        for exhaust in ValveId::BOTH {
            let (id, place) = ValveId::of(exhaust, cylinder);
            let name = |part: &str| format!("{part}, No. {} {}", id.number, id.word());
            let pick = usize::from(exhaust);
            spawner
                .spawn(
                    PartKind::Valves,
                    id.number,
                    name("Valve"),
                    valves[pick].clone(),
                )
                .insert(ValveGearPart {
                    valve: id,
                    role: Role::Valve,
                });
            spawner
                .spawn(
                    PartKind::ValveGear,
                    id.number,
                    name("Follower"),
                    followers[pick].clone(),
                )
                .insert(ValveGearPart {
                    valve: id,
                    role: Role::Follower,
                });
            let rest = id.pose(&layout, cylinder, 0.0);
            if let Some(rocker_pose) = rest.rocker {
                let push_rod = push_rod(&layout, place, &rest, &rocker_pose);
                let mesh = spawner.mesh(push_rod);
                spawner
                    .spawn(PartKind::ValveGear, id.number, name("Push rod"), mesh)
                    .insert(ValveGearPart {
                        valve: id,
                        role: Role::PushRod,
                    });
                let rocker = rocker(&layout, cylinder, &rest, &rocker_pose);
                let mesh = spawner.mesh(rocker);
                spawner
                    .spawn(PartKind::ValveGear, id.number, name("Rocker"), mesh)
                    .insert(ValveGearPart {
                        valve: id,
                        role: Role::Rocker,
                    });
            }
        }
    }
}

fn turn(bench: Res<Bench>, mut parts: Query<(&mut Transform, &ValveGearPart)>) {
    let layout = bench.layout();
    for (mut transform, part) in &mut parts {
        let index = usize::from(part.valve.number).wrapping_sub(1);
        let Some((cylinder, pose)) = layout
            .cylinders
            .get(index)
            .zip(bench.pose().cylinders.get(index))
        else {
            continue;
        };
        let (lift_mm, place) = if part.valve.exhaust {
            (pose.exhaust_mm, &cylinder.exhaust)
        } else {
            (pose.intake_mm, &cylinder.intake)
        };
        let pose = part.valve.pose(layout, cylinder, lift_mm);
        *transform = match (part.role, pose.rocker) {
            (Role::Valve, _) => upright(pose.stem, place.z_mm, cylinder.bank_deg),
            (Role::Follower, _) => {
                let base_mm = part.valve.lobe(layout).base_radius_mm() * layout.lobe_scale;
                let follower = FollowerPose::at(layout, place, pose.follower_deg, base_mm, lift_mm);
                upright(follower.at, place.lobe_z_mm, follower.up_deg)
            }
            (Role::PushRod, _) => {
                let foot = pose.face + towards(cylinder.bank_deg) * follower_length(layout);
                Transform::from_translation(unit(foot.extend(place.lobe_z_mm)))
            }
            (Role::Rocker, Some(rocker)) => {
                let arm = pose.stem - rocker.pivot;
                let across = arm.dot(towards(cylinder.bank_deg + 90.0));
                let tilt = (lift_mm / across).atan().to_degrees();
                upright(rocker.pivot, place.z_mm, cylinder.bank_deg + tilt)
            }
            (Role::Rocker, None) => continue,
        };
    }
}

fn upright(place: DVec2, z_mm: f64, up_deg: f64) -> Transform {
    Transform::from_translation(unit(place.extend(z_mm))).with_rotation(clockwise(up_deg))
}

/// From a follower's face to where the push rod stands in it; under a high camshaft, to the valve's
/// stem.
fn follower_length(layout: &Layout) -> f64 {
    let bore = layout.measures.bore_mm;
    match layout.follower {
        FollowerShape::Flat => 0.30 * bore,
        FollowerShape::Roller { radius_mm } => f64::max(0.30 * bore, 2.4 * radius_mm),
        FollowerShape::Finger { radius_mm, .. } => 2.0 * radius_mm + 0.04 * bore,
    }
}

/// From a roller's or pad's centre to the push rod, or to the stem of the valve under a high
/// camshaft.
fn over_centre(layout: &Layout, base_mm: f64, radius_mm: f64) -> f64 {
    match layout.train {
        ValveTrain::PushRod { .. } => follower_length(layout) - radius_mm,
        ValveTrain::Overhead => {
            let along_the_bore = |cylinder: &CylinderPlace| {
                let cam = layout.cams.get(cylinder.intake.cam)?;
                Some(cam.centre.dot(towards(cylinder.bank_deg)))
            };
            let away = layout
                .cylinders
                .first()
                .and_then(along_the_bore)
                .unwrap_or(0.0);

            away - base_mm - radius_mm - layout.measures.stem_mm
        }
    }
}

/// A roller in a fork, the fork's foot on the push rod or the valve's stem. Drawn about where the
/// roller would touch a round lobe, up the way it is lifted.
fn roller_follower(layout: &Layout, base_mm: f64, radius_mm: f64) -> PartMesh {
    let bore = layout.measures.bore_mm;
    let half = layout.lobe_width_mm / 2.0;
    let top = radius_mm + over_centre(layout, base_mm, radius_mm);
    let foot = f64::min(radius_mm * 2.05, top - 0.02 * bore);
    let wide = f64::max(0.5 * radius_mm, 0.05 * bore);
    let mut mesh = PartMesh::new(GEAR);
    // Cheeks beside the lobe, a body over the roller.
    let cheek = [
        DVec2::new(-wide, radius_mm * 0.8),
        DVec2::new(wide, radius_mm * 0.8),
        DVec2::new(wide, top),
        DVec2::new(-wide, top),
    ];
    for side in [-1.0, 1.0] {
        let (near, far) = (side * half * 1.08, side * half * 1.4);
        mesh.prism(&cheek, &[], (near.min(far), near.max(far)));
    }
    let body = [
        DVec2::new(-wide, foot),
        DVec2::new(wide, foot),
        DVec2::new(wide, top),
        DVec2::new(-wide, top),
    ];
    mesh.prism(&body, &[], (-half * 1.4, half * 1.4));
    mesh.colour(BRIGHT).prism(
        &circle(DVec2::new(0.0, radius_mm), radius_mm),
        &[],
        (-half, half),
    );
    mesh.prism(
        &circle(DVec2::new(0.0, radius_mm), radius_mm * 0.3),
        &[],
        (-half * 1.45, half * 1.45),
    );
    mesh
}

/// A finger: two cheeks from its pivot to its roller, and over that a pad on the push rod or the
/// valve's stem. Drawn about its pivot, level.
fn finger(layout: &Layout, base_mm: f64, radius_mm: f64, arm_mm: f64) -> PartMesh {
    /// Points of the pad's round: enough that it looks round.
    const POINTS: i32 = 10;
    let bore = layout.measures.bore_mm;
    let half = layout.lobe_width_mm / 2.0;
    let over = over_centre(layout, base_mm, radius_mm);
    let roller = DVec2::new(-arm_mm, 0.0);
    let pivot_radius = f64::min(0.05 * bore, arm_mm * 0.3);
    let mut mesh = PartMesh::new(GEAR);
    for side in [-1.0, 1.0] {
        let (near, far) = (side * half * 1.08, side * half * 1.4);
        let z = (near.min(far), near.max(far));
        mesh.prism(
            &strap(DVec2::ZERO, pivot_radius * 1.4, roller, radius_mm * 0.6),
            &[],
            z,
        );
    }
    // What rests on the stem is round about the roller's centre: it touches however far it swings.
    let around = (-POINTS..=POINTS).map(|index| {
        let at = 50.0 * f64::from(index) / f64::from(POINTS);
        roller + towards(at) * over
    });
    let inner = (-POINTS..=POINTS).rev().map(|index| {
        let at = 50.0 * f64::from(index) / f64::from(POINTS);
        roller + towards(at) * f64::min(radius_mm * 1.03, over * 0.9)
    });
    let pad: Vec<DVec2> = around.chain(inner).collect();
    mesh.prism(&pad, &[], (-half * 1.4, half * 1.4));
    mesh.colour(BRIGHT)
        .prism(&circle(roller, radius_mm), &[], (-half, half));
    mesh.prism(
        &circle(roller, radius_mm * 0.3),
        &[],
        (-half * 1.45, half * 1.45),
    );
    mesh.colour(STEEL).prism(
        &circle(DVec2::ZERO, pivot_radius),
        &[],
        (-half * 1.6, half * 1.6),
    );
    mesh
}

fn valve(layout: &Layout, exhaust: bool) -> PartMesh {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let head = if exhaust {
        measures.exhaust_head_mm
    } else {
        measures.intake_head_mm
    };
    let stem = 0.035 * bore;
    let long = measures.stem_mm - measures.deck_mm;
    let mut mesh = PartMesh::new(if exhaust { EXHAUST } else { INTAKE });
    mesh.at(along(DVec3::ZERO, DVec3::Y));
    mesh.turned(&[
        (0.0, -long),
        (head, -long),
        (head, -long + 0.025 * bore),
        (head * 0.45, -long + 0.09 * bore),
        (stem, -long + 0.2 * bore),
        (stem, 0.0),
        (0.0, 0.0),
    ]);
    // The spring's collar near the top.
    let collar = 0.11 * bore;
    mesh.colour(STEEL).turned(&[
        (stem, -0.16 * bore),
        (collar, -0.13 * bore),
        (collar, -0.10 * bore),
        (stem, -0.07 * bore),
    ]);
    mesh
}

fn follower(layout: &Layout, exhaust: bool) -> PartMesh {
    let lobe = if exhaust {
        &layout.exhaust_lobe
    } else {
        &layout.intake_lobe
    };
    let base_mm = lobe.base_radius_mm() * layout.lobe_scale;
    match layout.follower {
        FollowerShape::Flat => {}
        FollowerShape::Roller { radius_mm } => return roller_follower(layout, base_mm, radius_mm),
        FollowerShape::Finger { radius_mm, arm_mm } => {
            return finger(layout, base_mm, radius_mm, arm_mm);
        }
    }
    let bore = layout.measures.bore_mm;
    let face = f64::max(
        lobe.widest_touch_mm() * layout.lobe_scale * 1.08,
        0.1 * bore,
    );
    let mut mesh = PartMesh::new(GEAR);
    mesh.at(along(DVec3::ZERO, DVec3::Y));
    match layout.train {
        ValveTrain::PushRod { .. } => {
            let (barrel, long) = (0.075 * bore, follower_length(layout));
            mesh.turned(&[
                (0.0, 0.0),
                (face, 0.0),
                (face, 0.03 * bore),
                (barrel, 0.07 * bore),
                (barrel, long),
                (0.0, long),
            ]);
        }
        ValveTrain::Overhead => {
            let base = lobe.base_radius_mm() * layout.lobe_scale;
            let away = layout
                .cylinders
                .first()
                .and_then(|first| {
                    let cam = layout.cams.get(first.intake.cam)?;
                    Some(cam.centre.dot(towards(first.bank_deg)))
                })
                .unwrap_or(0.0);
            let thick = f64::max(away - base - layout.measures.stem_mm, 0.02 * bore);
            // An upturned cup over the stem; up is from the lobe to the valve.
            let depth = thick + 0.14 * bore;
            mesh.turned(&[
                (0.0, 0.0),
                (face, 0.0),
                (face, depth),
                (face * 0.88, depth),
                (face * 0.88, thick),
                (0.0, thick),
            ]);
        }
    }
    mesh
}

fn push_rod(
    layout: &Layout,
    place: &ValvePlace,
    rest: &ValvePose,
    rocker: &RockerPose,
) -> PartMesh {
    let foot =
        (rest.face + towards(rest.follower_deg) * follower_length(layout)).extend(place.lobe_z_mm);
    let way = rocker.rod_top.extend(place.z_mm) - foot;
    let bore = layout.measures.bore_mm;
    let mut mesh = PartMesh::new(BRIGHT);
    mesh.at(along(DVec3::ZERO, way))
        .bar(0.035 * bore, (0.0, way.length()));
    mesh.to(way).ball(0.055 * bore);
    mesh
}

fn rocker(
    layout: &Layout,
    cylinder: &CylinderPlace,
    rest: &ValvePose,
    rocker: &RockerPose,
) -> PartMesh {
    let bore = layout.measures.bore_mm;
    let across = towards(cylinder.bank_deg + 90.0);
    let (to_valve, to_rod) = (
        (rest.stem - rocker.pivot).dot(across),
        (rocker.rod_top - rocker.pivot).dot(across),
    );
    let lift = 0.055 * bore;
    let pivot = DVec2::new(0.0, lift);
    let half = 0.065 * bore;
    let mut mesh = PartMesh::new(IRON);
    for end in [to_valve, to_rod] {
        mesh.prism(
            &strap(pivot, 0.09 * bore, DVec2::new(end, lift), 0.055 * bore),
            &[],
            (-half, half),
        );
    }
    mesh.colour(BRIGHT)
        .to(pivot.extend(0.0))
        .bar(0.05 * bore, (-half * 1.6, half * 1.6));
    mesh
}
