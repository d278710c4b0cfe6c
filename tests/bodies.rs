//! No two bodies of the model meet that should not, asked of what the model draws: every solid of
//! every part, posed over two turns.
//!
//! Everything but the rotor turns about the engine's z or slides across it, so where a solid lies
//! along z never changes: each is cut into slabs, convex outlines over a stretch of z, and two meet
//! where stretches overlap and so do outlines (the separating axis theorem: convex outlines are
//! apart where along some side's normal they are). Slabs take up a little more than their solid.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::sync::Arc;

use common::{bench, engine};
use dotwise::angle::Direction;
use dotwise::description::{
    Bank, Case, Description, DriveKind, DrivenBy, Exhaust, Intake, Throw, Valve,
};
use dotwise::engine::arrangement::{Arrangement, EngineChoice};
use dotwise::engine::{Engine, scenes};
use dotwise::geometry::bodies::cylinder::{BarrelForm, barrel};
use dotwise::geometry::bodies::{
    Place, cam_drive, camshaft, crankcase, crankshaft, distributor, flywheel, piston, pulley,
    valve_gear,
};
use dotwise::geometry::layout::{WheelRole, towards};
use dotwise::geometry::solids::{Finish, Shape, Solid, Solids};
use dotwise::geometry::{Layout, Pose};
use dotwise::phasing::Phasing;
use glam::{DVec2, DVec3};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::{Config, TestRunner};

/// Bodies may come so near, or into one another, and not be said to meet: what slabs take up beyond
/// their solids, and rounding.
const MAY_TOUCH_MM: f64 = 0.05;

/// A convex outline over a stretch of z, in its body's own frame.
struct Slab {
    outline: Vec<DVec2>,
    z: (f64, f64),
}

impl Slab {
    /// A circle round it.
    fn circle(&self) -> (DVec2, f64) {
        let (least, most) = self
            .outline
            .iter()
            .fold((DVec2::MAX, DVec2::MIN), |(least, most), corner| {
                (least.min(*corner), most.max(*corner))
            });
        let centre = (least + most) / 2.0;
        let far = self.outline.iter().map(|corner| corner.distance(centre));
        (centre, far.fold(0.0, f64::max))
    }
}

/// What a body is, as far as it matters for what it may touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Crank,
    Pin,
    Rod(u8),
    Piston(u8),
    Barrel(u8),
    Camshaft(usize),
    Lobe(u8, Valve),
    Valve(u8, Valve),
    Spring(u8, Valve),
    Follower(u8, Valve),
    PushRod(u8, Valve),
    Rocker(u8, Valve),
    Wheel(WheelName),
    Loop(usize),
    Tensioner(usize),
    Pulley,
    Pointer,
    Flywheel,
    FlywheelPointers,
    DistributorBody,
    DistributorShaft,
    DriveHousing,
    DriverGear,
    Plugs,
    Heads,
    Guides,
    HeadShafts,
    Case,
    Bearings,
    TappetGuides,
    Boss,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum WheelName {
    Crank,
    Idler(u32),
    Cam(usize),
}

/// How a body moves.
#[derive(Clone, Copy, Debug)]
enum Moves {
    Not,
    WithTheCrank,
    WithCamshaft(usize),
    Rod,
    Piston,
    Valve,
    Spring,
    Follower,
    PushRod,
    Rocker,
}

struct Body {
    what: What,
    moves: Moves,
    cylinder: u8,
    valve: Valve,
    slabs: Vec<Slab>,
    z: (f64, f64),
}

impl Body {
    fn new(what: What, moves: Moves, slabs: Vec<Slab>) -> Self {
        let z = slabs
            .iter()
            .fold((f64::MAX, f64::MIN), |(least, most), slab| {
                (least.min(slab.z.0), most.max(slab.z.1))
            });
        Self {
            what,
            moves,
            cylinder: 0,
            valve: Valve::Intake,
            slabs,
            z,
        }
    }

    fn of(mut self, cylinder: u8, valve: Valve) -> Self {
        (self.cylinder, self.valve) = (cylinder, valve);
        self
    }

    fn place(&self, layout: &Layout, pose: &Pose) -> Place {
        let about_z = |degrees: f64| Place::new(DVec2::ZERO, 0.0, degrees);
        let index = usize::from(self.cylinder).wrapping_sub(1);
        let own = layout.cylinders.get(index).zip(pose.cylinders.get(index));
        let valve = |place: fn(&Layout, &_, Valve, f64) -> Place| {
            let (cylinder, pose) = own.expect("a cylinder");
            let lift_mm = match self.valve {
                Valve::Intake => pose.intake_mm,
                Valve::Exhaust => pose.exhaust_mm,
            };
            place(layout, cylinder, self.valve, lift_mm)
        };
        match self.moves {
            Moves::Not => about_z(0.0),
            Moves::WithTheCrank => about_z(pose.throw_one_deg),
            Moves::WithCamshaft(index) => {
                let cam = &layout.cams[index];
                Place::new(cam.centre, 0.0, pose.cams_clockwise_deg[cam.camshaft])
            }
            Moves::Rod => {
                let (cylinder, pose) = own.expect("a cylinder");
                piston::rod_place(cylinder, pose)
            }
            Moves::Piston => {
                let (cylinder, pose) = own.expect("a cylinder");
                piston::piston_place(cylinder, pose)
            }
            Moves::Valve => valve(valve_gear::valve_place),
            Moves::Spring => valve(valve_gear::spring_place),
            Moves::Follower => valve(valve_gear::follower_place),
            Moves::PushRod => valve(valve_gear::push_rod_place),
            Moves::Rocker => valve(|layout, cylinder, valve, lift_mm| {
                valve_gear::rocker_place(layout, cylinder, valve, lift_mm).expect("a rocker")
            }),
        }
    }
}

/// The convex hull of some points.
fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let half = |points: Vec<DVec2>| {
        let mut kept: Vec<DVec2> = Vec::new();
        for point in points {
            while kept.len() > 1 {
                let (before, last) = (kept[kept.len() - 2], kept[kept.len() - 1]);
                if (last - before).perp_dot(point - last) < 0.0 {
                    break;
                }
                kept.pop();
            }
            kept.push(point);
        }
        kept.pop();
        kept
    };
    let mut all = half(points.clone());
    points.reverse();
    all.extend(half(points));
    all
}

/// Quads round a ring.
fn ring(centre: DVec2, inner: f64, outer: f64) -> Vec<Vec<DVec2>> {
    const QUADS: u32 = 48;
    let on = |step: u32, radius: f64| {
        centre + DVec2::from_angle(TAU * f64::from(step) / f64::from(QUADS)) * radius
    };
    (0..QUADS)
        .map(|step| {
            vec![
                on(step, inner),
                on(step, outer),
                on(step + 1, outer),
                on(step + 1, inner),
            ]
        })
        .collect()
}

fn disc(centre: DVec2, radius: f64) -> Vec<DVec2> {
    const CORNERS: u32 = 32;
    (0..CORNERS)
        .map(|step| centre + DVec2::from_angle(TAU * f64::from(step) / f64::from(CORNERS)) * radius)
        .collect()
}

/// The radius of a circle that an outline is; None where it is none.
fn circle(outline: &[DVec2]) -> Option<(DVec2, f64)> {
    let centre = outline.iter().sum::<DVec2>() / outline.len() as f64;
    let radius = outline[0].distance(centre);
    let round = outline
        .iter()
        .all(|corner| (corner.distance(centre) - radius).abs() < 1e-6 * radius);
    (round && outline.len() > 8).then_some((centre, radius))
}

/// A solid in slabs.
fn slabs(solid: &Solid) -> Vec<Slab> {
    let axis = solid.at.matrix3.z_axis;
    let to = |point: DVec3| solid.at.transform_point3(point);
    match &solid.shape {
        Shape::Prism {
            outline, holes, z, ..
        } if axis.z > 0.999 => {
            let shift = to(DVec3::ZERO).z;
            let z = (z.0 + shift, z.1 + shift);
            let flat = |points: &[DVec2]| -> Vec<DVec2> {
                points
                    .iter()
                    .map(|point| to(point.extend(0.0)).truncate())
                    .collect()
            };
            let round = holes
                .first()
                .filter(|_| holes.len() == 1)
                .and_then(|hole| circle(&flat(hole)).zip(circle(&flat(outline))));
            let outlines = match round {
                Some(((_, inner), (centre, outer))) => ring(centre, inner, outer),
                None => vec![hull(flat(outline))],
            };
            outlines
                .into_iter()
                .map(|outline| Slab { outline, z })
                .collect()
        }
        // Square to z: what turns about an upright shaft takes up all it goes round.
        Shape::Prism { outline, z, .. } => {
            let widest = outline
                .iter()
                .map(|corner| corner.length())
                .fold(0.0, f64::max);
            let oblong = outline.len() == 4;
            let corners: Vec<DVec3> = if oblong {
                outline
                    .iter()
                    .flat_map(|corner| [to(corner.extend(z.0)), to(corner.extend(z.1))])
                    .collect()
            } else {
                [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)]
                    .iter()
                    .flat_map(|&(x, y)| {
                        let corner = DVec2::new(x, y) * widest;
                        [to(corner.extend(z.0)), to(corner.extend(z.1))]
                    })
                    .collect()
            };
            let along = corners.iter().map(|corner| corner.z);
            vec![Slab {
                z: (
                    along.clone().fold(f64::MAX, f64::min),
                    along.fold(f64::MIN, f64::max),
                ),
                outline: hull(corners.iter().map(|corner| corner.truncate()).collect()),
            }]
        }
        Shape::Twisted { outline, half, .. } => {
            let widest = outline
                .iter()
                .map(|corner| corner.length())
                .fold(0.0, f64::max);
            let profile = [(0.0, -half), (widest, -half), (widest, *half), (0.0, *half)];
            revolved(solid, &profile)
        }
        Shape::Turned { profile, .. } => revolved(solid, profile),
        Shape::Shell { line, z } => line
            .windows(2)
            .map(|pair| {
                let thick = (pair[1] - pair[0]).perp().normalize_or_zero() * 0.01;
                Slab {
                    outline: vec![pair[0], pair[1], pair[1] + thick, pair[0] + thick],
                    z: *z,
                }
            })
            .collect(),
    }
}

/// What is turned, about z or about an axis square to it.
fn revolved(solid: &Solid, profile: &[(f64, f64)]) -> Vec<Slab> {
    /// Slices of a round that lies square to z.
    const SLICES: i32 = 10;
    let axis = solid.at.matrix3.z_axis;
    let origin = solid.at.translation;
    let inner = profile.iter().map(|point| point.0).fold(f64::MAX, f64::min);
    let outer = profile.iter().map(|point| point.0).fold(0.0, f64::max);
    let ends = profile
        .iter()
        .fold((f64::MAX, f64::MIN), |(least, most), point| {
            (least.min(point.1), most.max(point.1))
        });
    let hollow = inner > 0.0 && profile.first() == profile.last();
    if axis.z.abs() > 0.999 {
        let at = |along: f64| origin.z + along * axis.z;
        let between = |one: f64, other: f64| (at(one).min(at(other)), at(one).max(at(other)));
        if hollow {
            let z = between(ends.0, ends.1);
            return ring(origin.truncate(), inner, outer)
                .into_iter()
                .map(|outline| Slab { outline, z })
                .collect();
        }
        return profile
            .windows(2)
            .filter(|pair| (pair[0].1 - pair[1].1).abs() > 1e-9)
            .map(|pair| Slab {
                outline: disc(origin.truncate(), pair[0].0.max(pair[1].0)),
                z: between(pair[0].1, pair[1].1),
            })
            .collect();
    }
    assert!(
        axis.z.abs() < 1e-6,
        "an axis neither along z nor square to it"
    );
    let (along, across) = (axis.truncate(), axis.truncate().perp());
    let point = |up: f64, beside: f64| origin.truncate() + along * up + across * beside;
    let mut slabs = Vec::new();
    for slice in -SLICES..SLICES {
        let edge = |slice: i32| outer * f64::from(slice) / f64::from(SLICES);
        let (from, to) = (edge(slice), edge(slice + 1));
        let (near, far) = (from.abs().min(to.abs()), from.abs().max(to.abs()));
        let z = (origin.z + from, origin.z + to);
        let wide = |radius: f64, off: f64| (radius * radius - off * off).max(0.0).sqrt();
        if hollow {
            let (hole, wall) = (wide(inner, far), wide(outer, near));
            for side in [-1.0, 1.0] {
                slabs.push(Slab {
                    outline: vec![
                        point(ends.0, side * hole),
                        point(ends.0, side * wall),
                        point(ends.1, side * wall),
                        point(ends.1, side * hole),
                    ],
                    z,
                });
            }
            continue;
        }
        for pair in profile.windows(2) {
            let (one, other) = (wide(pair[0].0, near), wide(pair[1].0, near));
            if (pair[0].1 - pair[1].1).abs() < 1e-9 || one.max(other) < 1e-9 {
                continue;
            }
            slabs.push(Slab {
                outline: hull(vec![
                    point(pair[0].1, -one),
                    point(pair[0].1, one),
                    point(pair[1].1, other),
                    point(pair[1].1, -other),
                ]),
                z,
            });
        }
    }
    slabs
}

fn all_slabs<'a>(solids: impl IntoIterator<Item = &'a Solid>) -> Vec<Slab> {
    solids.into_iter().flat_map(slabs).collect()
}

/// Every body of an engine.
fn bodies(layout: &Layout, made: Option<Case>) -> Vec<Body> {
    let mut all = Vec::new();
    let mut add = |what, moves, solids: &Solids| {
        all.push(Body::new(what, moves, all_slabs(solids.iter())));
    };
    for cylinder in &layout.cylinders {
        let form = BarrelForm {
            cut: false,
            thin: false,
        };
        let mut at = Solids::default();
        at.join(
            &barrel(&layout.measures, cylinder.bank_deg, form),
            DVec3::new(0.0, 0.0, cylinder.z_mm),
        );
        add(What::Barrel(cylinder.number), Moves::Not, &at);
    }
    for (index, wheel) in layout.wheels.iter().enumerate() {
        let mut at = Solids::default();
        at.join(
            &cam_drive::wheel(layout, wheel),
            wheel.centre.extend(layout.drive_z_mm),
        );
        let name = match wheel.role {
            WheelRole::Crank => WheelName::Crank,
            WheelRole::Idler(_) => WheelName::Idler(index as u32),
            WheelRole::Cam(cam) => WheelName::Cam(cam),
        };
        add(What::Wheel(name), Moves::Not, &at);
    }
    for place in &layout.loops {
        let mut at = Solids::default();
        at.join(
            &cam_drive::tensioner(layout, place),
            DVec3::new(0.0, 0.0, place.z_mm),
        );
        add(What::Tensioner(place.cam), Moves::Not, &at);
        let half = layout.wheel_width_mm / layout.loops.len() as f64 / 2.0 * 0.86;
        let mut links = Solids::default();
        for point in place.path.path(2) {
            links
                .to(point.extend(place.z_mm))
                .bar(place.path.driver.roller_radius_mm(), (-half, half));
        }
        add(What::Loop(place.cam), Moves::Not, &links);
    }
    add(What::Pulley, Moves::Not, &pulley::pulley(layout));
    add(What::Pointer, Moves::Not, &pulley::pointer(layout));
    if let Some(place) = &layout.flywheel {
        add(What::Flywheel, Moves::Not, &flywheel::flywheel(place));
        add(
            What::FlywheelPointers,
            Moves::Not,
            &flywheel::pointers(place),
        );
    }
    add(What::Plugs, Moves::Not, &distributor::plugs(layout));
    if let Some(place) = &layout.distributor {
        add(What::DistributorBody, Moves::Not, &distributor::body(place));
        add(
            What::Boss,
            Moves::Not,
            &crankcase::distributor_boss(layout, place),
        );
        let mut shaft = Solids::default();
        distributor::shaft(&mut shaft, place);
        let mut at = Solids::default();
        let upright = distributor::cap_frame(place);
        for solid in shaft.iter() {
            at.at(upright * solid.at);
            match &solid.shape {
                Shape::Turned { profile, .. } => at.turned(profile),
                Shape::Prism { outline, z, .. } => at.prism(outline, &[], *z),
                Shape::Twisted { outline, half, .. } => at.twisted(outline, *half, 0.0),
                Shape::Shell { .. } => continue,
            };
        }
        add(What::DistributorShaft, Moves::Not, &at);
        if place.gears.is_none() {
            add(What::DriveHousing, Moves::Not, &distributor::housing(place));
        }
    }
    add(
        What::Bearings,
        Moves::Not,
        &crankcase::main_bearings(layout, made),
    );
    add(
        What::TappetGuides,
        Moves::Not,
        &crankcase::tappet_guides(layout),
    );
    for part in crankcase::case(layout, made) {
        add(What::Case, Moves::Not, &part.glass);
        add(What::Case, Moves::Not, &part.flange);
    }
    for (what, own) in by_kind(&crankcase::heads(layout), |solid| {
        let hollow = matches!(&solid.shape, Shape::Turned { profile, .. } if profile[0].0 > 0.0);
        match solid.finish {
            Finish::Steel => What::HeadShafts,
            _ if hollow => What::Guides,
            _ => What::Heads,
        }
    }) {
        all.push(Body::new(what, Moves::Not, all_slabs(own)));
    }
    for (what, own) in by_kind(&crankshaft::crankshaft(layout), |solid| {
        let off = solid.at.translation.truncate().length();
        let turned = matches!(solid.shape, Shape::Turned { .. });
        match solid.shape {
            Shape::Twisted { .. } => What::DriverGear,
            _ if turned && off > 1e-6 => What::Pin,
            _ => What::Crank,
        }
    }) {
        all.push(Body::new(what, Moves::WithTheCrank, all_slabs(own)));
    }
    for index in 0..layout.cams.len() {
        let mut lobes: Vec<(u8, Valve)> = layout
            .cylinders
            .iter()
            .flat_map(|cylinder| Valve::BOTH.map(|valve| (cylinder, valve)))
            .filter(|(cylinder, valve)| valve_gear::place_of(cylinder, *valve).cam == index)
            .map(|(cylinder, valve)| (cylinder.number, valve))
            .collect();
        lobes.reverse();
        for solid in camshaft::camshaft(layout, index).iter() {
            let what = match (solid.finish, &solid.shape) {
                (Finish::IntakeLobe | Finish::ExhaustLobe, _) => {
                    let (number, valve) = lobes.pop().expect("a lobe");
                    What::Lobe(number, valve)
                }
                (_, Shape::Twisted { .. }) => What::DriverGear,
                _ => What::Camshaft(index),
            };
            all.push(Body::new(what, Moves::WithCamshaft(index), slabs(solid)));
        }
    }
    let (piston_body, rod) = (
        piston::piston(&layout.measures),
        piston::rod(&layout.measures),
    );
    for cylinder in &layout.cylinders {
        let number = cylinder.number;
        let mut add = |what, moves, valve, solids: &Solids| {
            if !solids.is_empty() {
                let body = Body::new(what, moves, all_slabs(solids.iter()));
                all.push(body.of(number, valve));
            }
        };
        let none = Valve::Intake;
        add(What::Piston(number), Moves::Piston, none, &piston_body);
        add(What::Rod(number), Moves::Rod, none, &rod);
        for valve in Valve::BOTH {
            add(
                What::Valve(number, valve),
                Moves::Valve,
                valve,
                &valve_gear::valve(layout, valve),
            );
            add(
                What::Spring(number, valve),
                Moves::Spring,
                valve,
                &valve_gear::spring(layout),
            );
            add(
                What::Follower(number, valve),
                Moves::Follower,
                valve,
                &valve_gear::follower(layout, cylinder, valve),
            );
            if !valve_gear::moves_with_its_push_rod(layout) {
                add(
                    What::PushRod(number, valve),
                    Moves::PushRod,
                    valve,
                    &valve_gear::push_rod(layout, cylinder, valve),
                );
            }
            add(
                What::Rocker(number, valve),
                Moves::Rocker,
                valve,
                &valve_gear::rocker(layout, cylinder, valve),
            );
        }
    }
    all
}

/// A body's solids, kind by kind.
fn by_kind(solids: &Solids, kind: impl Fn(&Solid) -> What) -> BTreeMap<What, Vec<&Solid>> {
    let mut kinds: BTreeMap<What, Vec<&Solid>> = BTreeMap::new();
    for solid in solids.iter() {
        kinds.entry(kind(solid)).or_default().push(solid);
    }
    kinds
}

/// Whether two bodies are joined, bear on one another, or run one in the other.
fn may_touch(one: What, other: What) -> bool {
    use What::{
        Barrel, Bearings, Boss, Camshaft, Case, Crank, DistributorBody, DistributorShaft,
        DriveHousing, DriverGear, Flywheel, Follower, Guides, HeadShafts, Heads, Lobe, Loop, Pin,
        Piston, Plugs, Pulley, PushRod, Rocker, Rod, Spring, TappetGuides, Tensioner, Wheel,
    };
    let (one, other) = (one.min(other), one.max(other));
    match (one, other) {
        // One forging; what is keyed or bolted to it.
        (Crank | Pin | DriverGear, Crank | Pin | DriverGear) => true,
        (Crank, Wheel(WheelName::Crank) | Pulley | Flywheel) => true,
        (Camshaft(_) | Lobe(..), Camshaft(_) | Lobe(..) | DriverGear) => true,
        (Camshaft(one), Wheel(WheelName::Cam(other))) => one == other,
        (Pin, Rod(_)) => true,
        (Rod(one), Piston(other)) | (Piston(one), Barrel(other)) => one == other,
        // What a valve may do to its own piston is the engine's matter, and told elsewhere.
        (Piston(one), What::Valve(other, _)) => one == other,
        (Barrel(one), What::Valve(other, _)) => one == other,
        (Barrel(_), Plugs | Heads | Case) => true,
        (Lobe(one, valve), Follower(other, its)) => (one, valve) == (other, its),
        (
            What::Valve(one, valve),
            Spring(other, its) | Follower(other, its) | Rocker(other, its),
        )
        | (Spring(one, valve), Follower(other, its))
        | (Follower(one, valve), PushRod(other, its) | Rocker(other, its))
        | (PushRod(one, valve), Rocker(other, its)) => (one, valve) == (other, its),
        (What::Valve(..) | Spring(..), Guides) => true,
        (Follower(..) | Rocker(..), HeadShafts) => true,
        (Heads | Guides | HeadShafts, Heads | Guides | HeadShafts) => true,
        (Follower(..), TappetGuides) => true,
        // Through the case's roof, and at its rim.
        (Follower(..) | PushRod(..), Case) | (Case, TappetGuides | Bearings | Case) => true,
        (DistributorBody | DistributorShaft | DriveHousing | DriverGear, Case) => true,
        // In mesh: tests/teeth.rs.
        (Wheel(_), Wheel(_)) | (Wheel(_), Loop(_)) | (Loop(_), Tensioner(_)) => true,
        (Loop(_), Loop(_)) => true,
        (
            DistributorBody | DistributorShaft | DriveHousing | DriverGear,
            DistributorBody | DistributorShaft | DriveHousing | DriverGear | Boss,
        ) => true,
        _ => false,
    }
}

/// How far two convex outlines lie one in the other; negative where they are apart.
fn overlap(one: &[DVec2], other: &[DVec2]) -> f64 {
    let mut least = f64::MAX;
    for outline in [one, other] {
        for index in 0..outline.len() {
            let side = outline[(index + 1) % outline.len()] - outline[index];
            let normal = side.perp().normalize_or_zero();
            if normal == DVec2::ZERO {
                continue;
            }
            let span = |points: &[DVec2]| {
                points
                    .iter()
                    .fold((f64::MAX, f64::MIN), |(low, high), point| {
                        let along = point.dot(normal);
                        (low.min(along), high.max(along))
                    })
            };
            let ((low, high), (its_low, its_high)) = (span(one), span(other));
            least = least.min(f64::min(high - its_low, its_high - low));
            if least <= 0.0 {
                return least;
            }
        }
    }
    least
}

fn moved_to(point: DVec2, place: &Place) -> DVec2 {
    let turn = DVec2::from_angle(-place.clockwise_deg.to_radians());
    turn.rotate(DVec2::new(point.x, point.y * place.stretched)) + place.at.truncate()
}

fn posed(slab: &Slab, place: &Place) -> Vec<DVec2> {
    let corners = slab.outline.iter();
    corners.map(|corner| moved_to(*corner, place)).collect()
}

/// What meets in an engine over two turns, and how far at the worst.
fn meetings(engine: &Arc<Engine>, step_deg: f64) -> BTreeMap<(String, String), f64> {
    let layout = Layout::of(engine);
    let phasing = Phasing::as_drawn(engine);
    let bodies = bodies(&layout, engine.metric().case);
    // Where along z bodies lie is the same at every angle.
    let first = Pose::at(&phasing, 0.0);
    let shifts: Vec<f64> = bodies
        .iter()
        .map(|body| body.place(&layout, &first).at.z)
        .collect();
    let beside = |one: (f64, f64), other: (f64, f64)| {
        one.1 - MAY_TOUCH_MM > other.0 && other.1 - MAY_TOUCH_MM > one.0
    };
    let moved = |z: (f64, f64), by: f64| (z.0 + by, z.1 + by);
    let still = |body: &Body| matches!(body.moves, Moves::Not);
    let mut pairs = Vec::new();
    for (index, one) in bodies.iter().enumerate() {
        for (earlier, other) in bodies[..index].iter().enumerate() {
            if may_touch(one.what, other.what)
                || !beside(moved(one.z, shifts[index]), moved(other.z, shifts[earlier]))
            {
                continue;
            }
            let mut own = Vec::new();
            for (slab, of_one) in one.slabs.iter().enumerate() {
                for (its, of_other) in other.slabs.iter().enumerate() {
                    if beside(
                        moved(of_one.z, shifts[index]),
                        moved(of_other.z, shifts[earlier]),
                    ) {
                        own.push((slab, its));
                    }
                }
            }
            if !own.is_empty() {
                pairs.push((index, earlier, own));
            }
        }
    }
    let circles: Vec<Vec<(DVec2, f64)>> = bodies
        .iter()
        .map(|body| body.slabs.iter().map(Slab::circle).collect())
        .collect();
    let mut found: BTreeMap<(What, What), f64> = BTreeMap::new();
    let steps = (720.0 / step_deg) as u32;
    for step in 0..steps {
        let pose = Pose::at(&phasing, f64::from(step) * step_deg);
        let places: Vec<Place> = bodies
            .iter()
            .map(|body| body.place(&layout, &pose))
            .collect();
        let round: Vec<Vec<(DVec2, f64)>> = circles
            .iter()
            .zip(&places)
            .map(|(own, place)| {
                own.iter()
                    .map(|(centre, radius)| (moved_to(*centre, place), *radius))
                    .collect()
            })
            .collect();
        for (one, other, slabs) in &pairs {
            let (own, its) = (&bodies[*one], &bodies[*other]);
            if step > 0 && still(own) && still(its) {
                continue;
            }
            for &(slab, its_slab) in slabs {
                let ((at, reach), (its_at, its_reach)) =
                    (round[*one][slab], round[*other][its_slab]);
                if at.distance_squared(its_at) > (reach + its_reach).powi(2) {
                    continue;
                }
                let deep = overlap(
                    &posed(&own.slabs[slab], &places[*one]),
                    &posed(&its.slabs[its_slab], &places[*other]),
                );
                if deep > MAY_TOUCH_MM {
                    let key = (own.what.min(its.what), own.what.max(its.what));
                    let worst = found.entry(key).or_insert(0.0);
                    *worst = worst.max(deep);
                }
            }
        }
    }
    found
        .into_iter()
        .map(|((one, other), deep)| ((format!("{one:?}"), format!("{other:?}")), deep))
        .collect()
}

/// One line for each two that meet.
fn told(name: &str, found: &BTreeMap<(String, String), f64>) -> String {
    found
        .iter()
        .map(|((one, other), deep)| format!("{name}: {one} and {other}, {deep:.2} mm\n"))
        .collect()
}

/// Asks the same of many, on every processor.
fn asked_of_all<T: Sync, A: Send>(all: &[T], ask: impl Fn(&T) -> A + Sync) -> Vec<A> {
    let processors = std::thread::available_parallelism().map_or(1, usize::from);
    let share = all.len().div_ceil(processors).max(1);
    std::thread::scope(|scope| {
        let ask = &ask;
        let threads: Vec<_> = all
            .chunks(share)
            .map(|own| scope.spawn(move || own.iter().map(ask).collect::<Vec<_>>()))
            .collect();
        let answers = threads
            .into_iter()
            .flat_map(|thread| thread.join().unwrap());
        answers.collect()
    })
}

#[test]
fn no_two_bodies_of_a_built_in_engine_meet_over_two_turns() {
    let mut all = String::new();
    let scenes: Vec<_> = scenes::SCENES.iter().collect();
    for told in asked_of_all(&scenes, |scene| {
        told(scene.name, &meetings(&scene.engine(), 6.0))
    }) {
        all.push_str(&told);
    }
    assert!(all.is_empty(), "{all}");
}

/// An engine made up by chance, such as could be built: its camshaft where the layout puts it.
fn chance_engine() -> impl Strategy<Value = Description> {
    let order = (1_usize..=12).prop_flat_map(|count| {
        Just((2..=count as u32).collect::<Vec<_>>())
            .prop_shuffle()
            .prop_map(|rest| std::iter::once(1).chain(rest).collect::<Vec<_>>())
    });
    let body = (
        any::<bool>(),
        50.0..110.0_f64,
        0.7..1.3_f64,
        1.6..2.2_f64,
        select(vec![0.0, 45.0, 60.0, 90.0, 180.0]),
    );
    let valves = (0.0..40.0_f64, 40.0..80.0_f64, 6.0..11.0_f64);
    let drive = (
        14_u32..40,
        select(vec![DriveKind::Gears, DriveKind::Chain, DriveKind::Belt]),
        proptest::option::of(14_u32..40),
    );
    let cap = (any::<bool>(), any::<bool>(), 8_u32..20, any::<bool>());
    (order, body, valves, drive, cap).prop_map(|(order, body, valves, drive, cap)| {
        let mut d = bench();
        let (clockwise, bore, stroke, rod, between) = body;
        let way = |clockwise| {
            if clockwise {
                Direction::Clockwise
            } else {
                Direction::CounterClockwise
            }
        };
        d.crankshaft.rotation = Some(way(clockwise));
        d.bore = bore;
        (d.crankshaft.stroke, d.rod_length) = (bore * stroke, bore * stroke * rod);
        let apart = 720.0 / order.len() as f64;
        let bank = |number: u32| {
            if number.is_multiple_of(2) {
                between
            } else {
                0.0
            }
        };
        let fires = |number: u32| {
            let at = order.iter().position(|other| *other == number);
            apart * at.expect("it fires") as f64
        };
        let numbers = 1..=order.len() as u32;
        d.crankshaft.throws = numbers
            .clone()
            .map(|number| Throw {
                angle: (bank(number) - d.crankshaft.rotation().sign() * fires(number)) % 360.0,
                cylinders: vec![number],
            })
            .collect();
        d.banks = numbers
            .map(|number| Bank {
                angle: bank(number),
                cylinders: vec![number],
            })
            .collect();
        d.firing_order = order;
        let lift = valves.2 * bore / 80.0;
        d.valves.intake = Intake::angles(valves.0, valves.1, lift);
        d.valves.exhaust = Exhaust::angles(valves.1, valves.0, lift * 0.95);
        d.clearance = None;
        d.marks.clear();
        d.steps.clear();
        d.pulley_diameter = None;
        (
            d.cam_drive.crank_teeth,
            d.cam_drive.cam_teeth,
            d.cam_drive.kind,
        ) = (drive.0, 2 * drive.0, drive.1);
        (d.cam_drive.cam_at, d.cam_drive.module) = (None, None);
        d.cam_drive.idler_teeth = drive
            .2
            .into_iter()
            .filter(|_| drive.1 == DriveKind::Gears)
            .collect();
        let distributor = d.distributor.as_mut().expect("the bench engine has one");
        distributor.rotation = Some(way(cap.0));
        (
            distributor.driven_by,
            distributor.driver_teeth,
            distributor.driven_teeth,
        ) = if cap.1 {
            (DrivenBy::Camshaft, cap.2, cap.2)
        } else {
            (DrivenBy::Crankshaft, cap.2, 2 * cap.2)
        };
        distributor.offset = None;
        if cap.3 {
            distributor.turns_on_entry = None;
        }
        d
    })
}

#[test]
fn no_two_bodies_of_an_engine_made_up_by_chance_meet() {
    let mut runner = TestRunner::new_with_rng(
        Config::with_cases(200),
        proptest::test_runner::TestRng::deterministic_rng(
            proptest::test_runner::RngAlgorithm::ChaCha,
        ),
    );
    let strategy = chance_engine();
    let descriptions: Vec<Description> = (0..200)
        .map(|_| {
            let tree = strategy.new_tree(&mut runner).expect("an engine");
            tree.current()
        })
        .collect();
    let all_found = asked_of_all(&descriptions, |description| {
        let name = format!(
            "{} cylinders, {:?} at {:?}",
            description.cylinder_count(),
            description.cam_drive.kind,
            description.banks.last().map(|bank| bank.angle),
        );
        (name, meetings(&engine(description.clone()), 10.0))
    });
    let (mut kinds, mut engines, mut all) = (BTreeMap::new(), 0, String::new());
    for (name, found) in all_found {
        engines += u32::from(!found.is_empty());
        for (one, other) in found.keys() {
            let kind = |name: &str| name.split('(').next().unwrap_or(name).to_owned();
            *kinds.entry((kind(one), kind(other))).or_insert(0) += 1;
        }
        if all.lines().count() < 400 {
            all.push_str(&told(&name, &found));
        }
    }
    assert!(engines == 0, "{engines} engines: {kinds:#?}\n{all}");
}

#[test]
fn no_two_bodies_of_an_engine_begun_anew_meet() {
    let mut all = String::new();
    for (layout, cylinders, vee_deg) in [
        (Arrangement::Vee, 6, 60.0),
        (Arrangement::Vee, 6, 90.0),
        (Arrangement::Vee, 8, 90.0),
        (Arrangement::Vee, 12, 60.0),
        (Arrangement::Vee, 2, 45.0),
        (Arrangement::Vee, 4, 72.0),
        (Arrangement::Flat, 2, 90.0),
        (Arrangement::Flat, 4, 90.0),
        (Arrangement::Flat, 6, 90.0),
        (Arrangement::Inline, 1, 90.0),
        (Arrangement::Inline, 6, 90.0),
    ] {
        let choice = EngineChoice {
            layout,
            cylinders,
            vee_deg,
            ..EngineChoice::default()
        };
        for crank in choice.cranks() {
            let order = choice.orders(&crank.throws).remove(0);
            let description = choice.describe(&crank.throws, &order);
            let name = format!("{layout:?} {cylinders} at {vee_deg}, {}", crank.what);
            all.push_str(&told(&name, &meetings(&engine(description), 10.0)));
        }
    }
    assert!(all.is_empty(), "{all}");
}

#[test]
fn a_body_moved_into_another_is_found_to_meet_it() {
    let layout = Layout::of(&scenes::BENCH.engine());
    let at = |up: f64| {
        let mut bar = Solids::default();
        bar.to((towards(0.0) * up).extend(layout.throws[0].z_mm))
            .bar(layout.measures.journal_mm, (-1.0, 1.0));
        all_slabs(bar.iter())
    };
    let deep = |up: f64| {
        at(0.0)
            .iter()
            .zip(&at(up))
            .map(|(one, other)| overlap(&one.outline, &other.outline))
            .fold(f64::MIN, f64::max)
    };
    let across = 2.0 * layout.measures.journal_mm;
    assert!(deep(across * 1.01) <= 0.0);
    assert!((deep(across * 0.9) - 0.1 * across).abs() < 0.02 * across);
}
