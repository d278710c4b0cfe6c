//! Valves with their springs, and what carries the lobes' lift to them: followers, push rods and
//! rockers, or tappets under a high camshaft.
//!
//! Valves are drawn with their true lift, to the same scale as all else.

use glam::{DVec2, DVec3};

use super::Place;
use crate::description::Valve;
use crate::geometry::Layout;
use crate::geometry::follower_pose::FollowerPose;
use crate::geometry::layout::{CylinderPlace, ValvePlace, ValveTrain, towards};
use crate::geometry::lobe_outline::LobeOutline;
use crate::geometry::pose::ValvePose;
use crate::geometry::solids::{Finish, Solids, along, circle, oblong, strap};
use crate::laws::follower::FollowerShape;

/// A valve stem's radius, over the bore.
pub(super) const STEM: f64 = 0.035;
/// A spring's outer radius, over the bore.
pub(super) const SPRING: f64 = 0.095;
/// From the deck to where a spring stands, over the bore.
pub(super) const SPRING_SEAT: f64 = 0.3;
/// From the stem's end down to the spring's collar, over the bore.
const COLLAR: f64 = 0.15;
/// Half the width of a rocker's arm along its shaft, over the bore.
const HALF_ARM: f64 = 0.05;
/// A rocker's radius about its shaft, over the bore.
const ROCKER_BOSS: f64 = 0.075;
/// The radius of the shaft that rockers turn on, over the bore.
pub(super) const ROCKER_SHAFT: f64 = 0.045;
/// A push rod's radius, over the bore.
const PUSH_ROD: f64 = 0.035;
/// The radius of a tappet's barrel, over the bore.
pub(super) const BARREL: f64 = 0.062;

/// A valve of a cylinder as it is placed.
pub fn place_of(cylinder: &CylinderPlace, valve: Valve) -> &ValvePlace {
    match valve {
        Valve::Intake => &cylinder.intake,
        Valve::Exhaust => &cylinder.exhaust,
    }
}

fn lobe(layout: &Layout, valve: Valve) -> &LobeOutline {
    match valve {
        Valve::Intake => &layout.intake_lobe,
        Valve::Exhaust => &layout.exhaust_lobe,
    }
}

/// The base circle of a valve's lobe, as it stands in the engine.
fn base_mm(layout: &Layout, valve: Valve) -> f64 {
    lobe(layout, valve).base_radius_mm() * layout.lobe_scale
}

/// A valve with what moves it, `lift_mm` off its seat.
fn pose(layout: &Layout, cylinder: &CylinderPlace, valve: Valve, lift_mm: f64) -> ValvePose {
    let place = place_of(cylinder, valve);
    ValvePose::at(layout, cylinder, place, base_mm(layout, valve), lift_mm)
}

/// Whether the follower slides with its push rod as one.
pub fn moves_with_its_push_rod(layout: &Layout) -> bool {
    let slides = !matches!(layout.follower, FollowerShape::Finger { .. });
    slides && matches!(layout.train, ValveTrain::PushRod { .. })
}

/// Where a valve stands, `lift_mm` off its seat.
pub fn valve_place(layout: &Layout, cylinder: &CylinderPlace, valve: Valve, lift_mm: f64) -> Place {
    let stem = pose(layout, cylinder, valve, lift_mm).stem;
    Place::new(stem, place_of(cylinder, valve).z_mm, cylinder.bank_deg)
}

/// Where a valve's spring stands, and how far it is pressed.
pub fn spring_place(
    layout: &Layout,
    cylinder: &CylinderPlace,
    valve: Valve,
    lift_mm: f64,
) -> Place {
    let measures = &layout.measures;
    let place = place_of(cylinder, valve);
    let seat = towards(cylinder.bank_deg) * (measures.deck_mm + SPRING_SEAT * measures.bore_mm)
        + towards(cylinder.bank_deg + 90.0) * place.beside_mm;
    let long = spring_mm(layout);
    Place {
        stretched: ((long - lift_mm) / long).max(0.1),
        ..Place::new(seat, place.z_mm, cylinder.bank_deg)
    }
}

/// Where a follower stands, with the push rod that it moves with.
pub fn follower_place(
    layout: &Layout,
    cylinder: &CylinderPlace,
    valve: Valve,
    lift_mm: f64,
) -> Place {
    let place = place_of(cylinder, valve);
    let follower_deg = pose(layout, cylinder, valve, lift_mm).follower_deg;
    let base_mm = base_mm(layout, valve);
    let follower = FollowerPose::at(layout, place, follower_deg, base_mm, lift_mm);
    Place::new(follower.at, place.lobe_z_mm, follower.up_deg)
}

/// Where the push rod over a finger stands.
pub fn push_rod_place(
    layout: &Layout,
    cylinder: &CylinderPlace,
    valve: Valve,
    lift_mm: f64,
) -> Place {
    let pose = pose(layout, cylinder, valve, lift_mm);
    let foot = pose.face + towards(cylinder.bank_deg) * layout.follower_length_mm;
    let z_mm = place_of(cylinder, valve).lobe_z_mm;
    Place::new(foot, z_mm, cylinder.bank_deg)
}

/// Where a rocker stands; None under a high camshaft.
pub fn rocker_place(
    layout: &Layout,
    cylinder: &CylinderPlace,
    valve: Valve,
    lift_mm: f64,
) -> Option<Place> {
    let pose = pose(layout, cylinder, valve, lift_mm);
    let rocker = pose.rocker?;
    let across = (pose.stem - rocker.pivot).dot(towards(cylinder.bank_deg + 90.0));
    let tilt = (lift_mm / across).atan().to_degrees();
    let z_mm = place_of(cylinder, valve).z_mm;
    Some(Place::new(rocker.pivot, z_mm, cylinder.bank_deg + tilt))
}

/// A valve about the end of its stem, its head straight down, with the spring's collar.
pub fn valve(layout: &Layout, valve: Valve) -> Solids {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let (head, finish) = match valve {
        Valve::Intake => (measures.intake_head_mm, Finish::Intake),
        Valve::Exhaust => (measures.exhaust_head_mm, Finish::Exhaust),
    };
    let stem = STEM * bore;
    let long = measures.stem_mm - measures.deck_mm;
    let mut solids = Solids::new(finish);
    solids.at(along(DVec3::ZERO, DVec3::Y));
    solids.turned(&[
        (0.0, -long),
        (head, -long),
        (head, -long + 0.025 * bore),
        (head * 0.45, -long + 0.09 * bore),
        (stem, -long + 0.2 * bore),
        (stem, 0.0),
        (0.0, 0.0),
    ]);
    let collar = SPRING * bore * 1.12;
    solids.finish(Finish::Steel).turned(&[
        (stem, -COLLAR * bore),
        (collar, -COLLAR * bore),
        (collar, -0.12 * bore),
        (stem, -0.07 * bore),
    ]);
    solids
}

/// A spring's length with its valve shut.
fn spring_mm(layout: &Layout) -> f64 {
    let measures = &layout.measures;
    measures.stem_mm - measures.deck_mm - (SPRING_SEAT + COLLAR) * measures.bore_mm
}

/// A spring about where it stands, straight up: its coils as rings.
pub fn spring(layout: &Layout) -> Solids {
    const COILS: u32 = 5;
    let bore = layout.measures.bore_mm;
    let (outer, wire) = (SPRING * bore, 0.014 * bore);
    let long = spring_mm(layout);
    let mut solids = Solids::new(Finish::Dark);
    solids.at(along(DVec3::ZERO, DVec3::Y));
    for coil in 0..COILS {
        let part = f64::from(coil) / f64::from(COILS - 1);
        let up = wire + (long - 2.0 * wire) * part;
        let middle = outer - wire;
        // Seen from outside alone.
        solids.turned(&[(middle, up - wire), (outer, up), (middle, up + wire)]);
    }
    solids
}

/// What rides on a valve's lobe, drawn about its face (a finger about its pivot), up the way it is
/// lifted; with the push rod where the two move as one.
pub fn follower(layout: &Layout, cylinder: &CylinderPlace, valve: Valve) -> Solids {
    let base = base_mm(layout, valve);
    let mut solids = match (layout.follower, layout.train) {
        (FollowerShape::Flat, ValveTrain::PushRod { .. }) => tappet(layout, valve),
        (FollowerShape::Flat, ValveTrain::Overhead) => bucket(layout, valve),
        (FollowerShape::Roller { radius_mm }, _) => roller_follower(layout, base, radius_mm),
        (FollowerShape::Finger { radius_mm, arm_mm }, _) => finger(layout, base, radius_mm, arm_mm),
    };
    if moves_with_its_push_rod(layout) {
        let foot = DVec3::new(0.0, layout.follower_length_mm, 0.0);
        solids.join(&push_rod(layout, cylinder, valve), foot);
    }
    solids
}

/// A flat tappet: its foot no wider along the camshaft than its lobe, so that its neighbours pass.
fn tappet(layout: &Layout, valve: Valve) -> Solids {
    let bore = layout.measures.bore_mm;
    let [intake, exhaust] = layout.flat_face_mm;
    let face = match valve {
        Valve::Intake => intake,
        Valve::Exhaust => exhaust,
    };
    let (barrel, long) = (BARREL * bore, layout.follower_length_mm);
    let half = layout.lobe_width_mm / 2.0;
    let mut solids = Solids::new(Finish::ValveGear);
    let foot = [
        DVec2::new(-face, 0.0),
        DVec2::new(-face, 0.03 * bore),
        DVec2::new(-barrel, 0.07 * bore),
        DVec2::new(barrel, 0.07 * bore),
        DVec2::new(face, 0.03 * bore),
        DVec2::new(face, 0.0),
    ];
    solids.prism(&foot, &[], (-half, half));
    solids
        .at(along(DVec3::ZERO, DVec3::Y))
        .bar(barrel, (0.05 * bore, long));
    solids
}

/// An upturned cup over the valve's stem; up is from the lobe to the valve.
fn bucket(layout: &Layout, valve: Valve) -> Solids {
    let bore = layout.measures.bore_mm;
    let face = f64::max(
        lobe(layout, valve).widest_touch_mm() * layout.lobe_scale * 1.08,
        0.12 * bore,
    );
    let away = layout
        .cylinders
        .first()
        .and_then(|first| {
            let cam = layout.cams.get(first.intake.cam)?;
            Some(cam.centre.dot(towards(first.bank_deg)))
        })
        .unwrap_or(0.0);
    let thick = f64::max(
        away - base_mm(layout, valve) - layout.measures.stem_mm,
        0.02 * bore,
    );
    let depth = thick + 0.14 * bore;
    let mut solids = Solids::new(Finish::ValveGear);
    solids.at(along(DVec3::ZERO, DVec3::Y)).turned(&[
        (0.0, 0.0),
        (face * 0.97, 0.0),
        (face, face * 0.03),
        (face, depth),
        (face * 0.88, depth),
        (face * 0.88, thick),
        (0.0, thick),
    ]);
    solids
}

/// From a roller's or pad's centre to the push rod, or to the stem of the valve under a high
/// camshaft.
fn over_centre(layout: &Layout, base_mm: f64, radius_mm: f64) -> f64 {
    match layout.train {
        ValveTrain::PushRod { .. } => layout.follower_length_mm - radius_mm,
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
fn roller_follower(layout: &Layout, base_mm: f64, radius_mm: f64) -> Solids {
    let bore = layout.measures.bore_mm;
    let half = layout.lobe_width_mm / 2.0;
    let top = radius_mm + over_centre(layout, base_mm, radius_mm);
    let foot = f64::min(radius_mm * 2.05, top - 0.02 * bore);
    let wide = f64::max(0.5 * radius_mm, 0.05 * bore);
    let cheeks = half * 1.1;
    let mut solids = Solids::new(Finish::ValveGear);
    // Cheeks beside the roller, a body over it.
    let cheek = oblong(DVec2::new(-wide, radius_mm * 0.8), DVec2::new(wide, top));
    for side in [-1.0, 1.0] {
        let (near, far) = (side * half * 0.82, side * cheeks);
        solids.prism(&cheek, &[], (near.min(far), near.max(far)));
    }
    let body = oblong(DVec2::new(-wide, foot), DVec2::new(wide, top));
    solids.broken_prism(&body, &[], (-cheeks, cheeks), 0.006 * bore);
    solids.finish(Finish::Bright).prism(
        &circle(DVec2::new(0.0, radius_mm), radius_mm),
        &[],
        (-half * 0.78, half * 0.78),
    );
    solids.prism(
        &circle(DVec2::new(0.0, radius_mm), radius_mm * 0.3),
        &[],
        (-cheeks * 1.02, cheeks * 1.02),
    );
    solids
}

/// A finger: two cheeks from its pivot to its roller, and over that a pad on the push rod or the
/// valve's stem. Drawn about its pivot, level.
fn finger(layout: &Layout, base_mm: f64, radius_mm: f64, arm_mm: f64) -> Solids {
    /// Points of the pad's round: enough that it looks round.
    const POINTS: i32 = 10;
    let bore = layout.measures.bore_mm;
    let half = layout.lobe_width_mm / 2.0;
    let over = over_centre(layout, base_mm, radius_mm);
    let roller = DVec2::new(-arm_mm, 0.0);
    let pivot_radius = f64::min(0.05 * bore, arm_mm * 0.3);
    let mut solids = Solids::new(Finish::ValveGear);
    for side in [-1.0, 1.0] {
        let (near, far) = (side * half * 0.82, side * half * 1.1);
        let z = (near.min(far), near.max(far));
        solids.prism(
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
    solids.prism(&pad, &[], (-half * 1.1, half * 1.1));
    solids.finish(Finish::Bright).prism(
        &circle(roller, radius_mm),
        &[],
        (-half * 0.78, half * 0.78),
    );
    solids.prism(
        &circle(roller, radius_mm * 0.3),
        &[],
        (-half * 1.13, half * 1.13),
    );
    solids.finish(Finish::Steel).prism(
        &circle(DVec2::ZERO, pivot_radius),
        &[],
        (-half * 1.3, half * 1.3),
    );
    solids
}

/// A push rod about its lower end, the bore straight up.
pub fn push_rod(layout: &Layout, cylinder: &CylinderPlace, valve: Valve) -> Solids {
    let bore = layout.measures.bore_mm;
    let mut solids = Solids::new(Finish::Bright);
    let rest = pose(layout, cylinder, valve, 0.0);
    let Some(rocker) = rest.rocker else {
        return solids;
    };
    let (up, across) = (
        towards(cylinder.bank_deg),
        towards(cylinder.bank_deg + 90.0),
    );
    let foot = rest.face + up * layout.follower_length_mm;
    let way = rocker.rod_top - foot;
    let way = DVec2::new(way.dot(across), way.dot(up)).extend(0.0);
    // Its ball stands in the rocker's cup.
    let ball = 0.05 * bore;
    solids
        .at(along(DVec3::ZERO, way))
        .bar(PUSH_ROD * bore, (0.0, way.length() - ball));
    solids.to(way - DVec3::Y * ball).ball(ball);
    solids
}

/// A rocker about its pivot, level: an arm to the valve, an arm to the push rod, and between them a
/// tube on the rockers' shaft, as long as the two are apart. Nothing under a high camshaft.
pub fn rocker(layout: &Layout, cylinder: &CylinderPlace, valve: Valve) -> Solids {
    let bore = layout.measures.bore_mm;
    let mut solids = Solids::new(Finish::Iron);
    let place = place_of(cylinder, valve);
    let rest = pose(layout, cylinder, valve, 0.0);
    let Some(rocker) = rest.rocker else {
        return solids;
    };
    let across = towards(cylinder.bank_deg + 90.0);
    let to_valve = (rest.stem - rocker.pivot).dot(across);
    let to_rod = (rocker.rod_top - rocker.pivot).dot(across);
    let end = 0.05 * bore;
    // The arms' ends lie on the stem and on the push rod.
    let up = end - place.rocker_up_mm;
    let half = HALF_ARM * bore;
    let rod_z = place.lobe_z_mm - place.z_mm;
    for (along, z) in [(to_valve, 0.0), (to_rod, rod_z)] {
        solids.prism(
            &strap(DVec2::ZERO, ROCKER_BOSS * bore, DVec2::new(along, up), end),
            &[],
            (z - half, z + half),
        );
    }
    solids.bar(
        ROCKER_BOSS * bore * 0.97,
        (rod_z.min(0.0) - half * 1.25, rod_z.max(0.0) + half * 1.25),
    );
    // The adjuster's screw over the push rod.
    solids
        .finish(Finish::Bright)
        .at(along(DVec3::new(to_rod, up, rod_z), DVec3::Y))
        .bar(0.025 * bore, (0.0, end * 1.7));
    solids
}
