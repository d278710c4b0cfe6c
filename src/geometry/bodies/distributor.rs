//! The distributor: body, shaft and drive, the glass cap with its towers, the rotor; the plugs.
//!
//! Seen from above, clock 0 of the cap lies towards the rear of the engine and 90 to the right.

use glam::{DAffine3, DQuat, DVec2, DVec3};

use crate::geometry::Layout;
use crate::geometry::layout::{DistributorPlace, HelicalGear, HelicalPair, towards};
use crate::geometry::solids::{Finish, Solids, along, strap};
use crate::geometry::teeth::turned;

/// The radius, over the cap's, at which rotor tip and towers' electrodes face one another.
pub const ELECTRODES: f64 = 0.66;

/// From the cap's plane, in which a view from above is one from the front, to the engine.
pub fn cap_frame(place: &DistributorPlace) -> DAffine3 {
    DAffine3::from_rotation_translation(
        DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2),
        place.cap,
    )
}

/// A spark, drawn as a star.
pub fn spark(radius: f64) -> Solids {
    let mut solids = Solids::new(Finish::Spark);
    solids.ball(radius * 0.55);
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
        solids.at(along(DVec3::ZERO, direction)).turned(&[
            (0.0, -long),
            (radius * 0.22, 0.0),
            (0.0, long),
        ]);
    }
    solids
}

/// The spark plugs of all cylinders.
pub fn plugs(layout: &Layout) -> Solids {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let mut solids = Solids::new(Finish::Steel);
    for cylinder in &layout.cylinders {
        let direction = towards(cylinder.bank_deg).extend(0.0);
        let foot = direction * measures.deck_mm + DVec3::new(0.0, 0.0, cylinder.z_mm);
        solids
            .finish(Finish::Steel)
            .at(along(foot, direction))
            .turned(&[
                (0.0, -0.015 * bore),
                (0.05 * bore, -0.015 * bore),
                (0.05 * bore, 0.14 * bore),
                (0.085 * bore, 0.14 * bore),
                (0.085 * bore, 0.22 * bore),
                (0.05 * bore, 0.22 * bore),
            ]);
        solids.finish(Finish::Mark).turned(&[
            (0.045 * bore, 0.22 * bore),
            (0.035 * bore, 0.42 * bore),
            (0.0, 0.42 * bore),
        ]);
    }
    solids
}

/// The body's foot, over the cap's radius.
const BODY_FOOT: f64 = 1.3;

/// The body under the cap, in the engine.
pub fn body(place: &DistributorPlace) -> Solids {
    let radius = place.radius_mm;
    let mut solids = Solids::new(Finish::Body);
    solids.at(cap_frame(place));
    solids.turned(&[
        (0.0, -radius * BODY_FOOT),
        (radius * 0.42, -radius * BODY_FOOT),
        (radius * 0.42, -radius * 0.85),
        (radius * 0.55, -radius * 0.8),
        (radius * 0.86, -radius * 0.45),
        (radius * 0.86, -radius * 0.02),
        (radius * 0.80, 0.0),
        (0.0, 0.0),
    ]);
    solids
}

/// A gear of the drive about its own middle, along z.
fn gear(solids: &mut Solids, skew: &HelicalGear, turned_deg: f64, half: f64) {
    solids.twisted(
        &turned(&skew.outline(), turned_deg),
        half,
        skew.twist_deg_per_mm,
    );
}

/// The gear on the driving shaft, for a solids drawn with that shaft's own axis at the origin, as it
/// stands at θ = 0 turned back by `back_deg`. Nothing where the drive has no gears.
pub fn driver(solids: &mut Solids, place: &DistributorPlace, back_deg: f64) {
    let Some(gears) = &place.gears else { return };
    solids
        .finish(Finish::Brass)
        .to(DVec3::new(0.0, 0.0, place.driver.z));
    gear(
        solids,
        &gears.driver,
        gears.driver.tooth_deg - back_deg,
        gears.width_mm / 2.0,
    );
}

/// What turns with the rotor under it, added to it: the shaft, and at its foot the drive's gear or
/// tongue.
pub fn shaft(solids: &mut Solids, place: &DistributorPlace) {
    let (radius, foot) = (place.radius_mm, -place.shaft_mm);
    let thick = radius * 0.13;
    match &place.gears {
        Some(gears) if !place.tongue_over_gears => {
            let half = gears.width_mm / 2.0;
            solids
                .finish(Finish::Steel)
                .to(DVec3::ZERO)
                .bar(thick, (foot - half * 1.6, -radius * BODY_FOOT));
            solids.finish(Finish::Brass).to(DVec3::new(0.0, 0.0, foot));
            gear(solids, &gears.driven, gears.driven.tooth_deg, half);
        }
        _ => {
            let joint = joint_mm(place);
            solids
                .finish(Finish::Steel)
                .to(DVec3::ZERO)
                .bar(thick, (joint, -radius * BODY_FOOT));
            let blade = [(-1.6, -0.35), (-1.6, 0.35), (1.6, 0.35), (1.6, -0.35)]
                .map(|(x, y)| DVec2::new(x, y) * thick);
            solids.prism(&blade, &[], (joint - place.engages_mm, joint));
        }
    }
}

/// A geared shaft about the middle of the cap's underside: its gear, and over it the slot in which the
/// tongue stands.
pub fn geared_shaft(place: &DistributorPlace, gears: &HelicalPair) -> Solids {
    let (radius, foot, joint) = (place.radius_mm, -place.shaft_mm, joint_mm(place));
    let (thick, half) = (radius * 0.13, gears.width_mm / 2.0);
    let slot = joint - place.engages_mm * 1.2;
    let mut solids = Solids::new(Finish::Steel);
    solids.to(DVec3::ZERO).bar(thick, (foot - half * 1.6, slot));
    dog(&mut solids, thick, (slot, joint));
    solids.finish(Finish::Brass).to(DVec3::new(0.0, 0.0, foot));
    gear(&mut solids, &gears.driven, gears.driven.tooth_deg, half);
    solids
}

/// A dog with its slot, as two halves.
fn dog(solids: &mut Solids, thick: f64, from_to: (f64, f64)) {
    for side in [-1.0, 1.0] {
        let half = [(-2.2, 0.42), (-2.2, 1.9), (2.2, 1.9), (2.2, 0.42)]
            .map(|(x, y)| DVec2::new(x, y * side) * thick);
        solids.finish(Finish::Brass).prism(&half, &[], from_to);
    }
}

/// Where a tongue's shaft ends over its slot, up from the cap's underside.
fn joint_mm(place: &DistributorPlace) -> f64 {
    f64::min(
        place.joint_mm - place.shaft_mm,
        -place.radius_mm * (BODY_FOOT + 0.1),
    )
}

/// Under a tongue: a closed housing round the driving shaft, with the slot on top.
pub fn housing(place: &DistributorPlace) -> Solids {
    let (radius, joint) = (place.radius_mm, joint_mm(place));
    let mut solids = Solids::new(Finish::Body);
    solids.at(cap_frame(place));
    dog(
        &mut solids,
        radius * 0.13,
        (joint - place.engages_mm * 1.2, joint),
    );
    // From the slot down, and where it stands beside the shaft an arm to that.
    let inner = place.driver_radius_mm + 0.02 * radius;
    let outer = inner + 0.14 * radius;
    let beside = place.driver - DVec3::new(place.cap.x, place.driver.y, place.driver.z);
    let stands_beside = beside.length() > inner;
    let foot = if stands_beside {
        -place.shaft_mm - radius * 0.3
    } else {
        inner + 0.04 * radius - place.shaft_mm
    };
    solids
        .finish(Finish::Body)
        .bar(radius * 0.36, (foot, joint - place.engages_mm * 1.2));
    if stands_beside {
        let from = DVec3::new(place.cap.x, place.driver.y, place.driver.z);
        let long = beside.length() - inner - 0.04 * radius;
        solids
            .at(along(from, beside))
            .bar(radius * 0.24, (0.0, long));
    }
    solids
        .to(place.driver)
        .tube(inner, outer, (-radius * 0.25, radius * 0.25));
    solids
}

/// The towers and their electrodes, at these clock positions of the cap.
pub fn tower_posts(place: &DistributorPlace, towers: &[f64]) -> Solids {
    let radius = place.radius_mm;
    let frame = cap_frame(place);
    let mut solids = Solids::new(Finish::Tower);
    let post = f64::min(
        0.15 * radius,
        radius * ELECTRODES * std::f64::consts::TAU / towers.len().max(1) as f64 * 0.36,
    );
    for &tower in towers {
        let at = towards(tower) * radius * 0.8;
        solids
            .finish(Finish::Tower)
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
        solids.finish(Finish::Brass).at(frame).prism(
            &strap(inner, post * 0.3, at, post * 0.3),
            &[],
            (radius * 0.16, radius * 0.28),
        );
    }
    solids.finish(Finish::Tower).at(frame).turned(&[
        (0.17 * radius, 0.45 * radius),
        (0.17 * radius, 0.8 * radius),
        (0.0, 0.8 * radius),
    ]);
    solids
}

/// The cap, of glass.
pub fn cap(place: &DistributorPlace) -> Solids {
    let radius = place.radius_mm;
    let mut solids = Solids::new(Finish::CapGlass);
    solids.at(cap_frame(place)).turned(&[
        (radius, 0.0),
        (radius, radius * 0.30),
        (radius * 0.93, radius * 0.44),
        (radius * 0.55, radius * 0.5),
        (0.0, radius * 0.5),
    ]);
    solids
}

/// The rotor about the middle of the cap's underside, its tip at clock 0.
pub fn rotor(place: &DistributorPlace, tip_deg: Option<f64>) -> Solids {
    let radius = place.radius_mm;
    let mut solids = Solids::new(Finish::Rotor);
    let (near, far) = (radius * 0.10, radius * 0.30);
    let tip = DVec2::new(0.0, radius * (ELECTRODES - 0.08));
    solids.prism(
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
    solids
        .finish(Finish::Brass)
        .prism(&blade, &[], (far * 0.85, far * 1.12));
    // A tail, so that the tip cannot be taken for the other end.
    solids.finish(Finish::Rotor).prism(
        &strap(
            DVec2::ZERO,
            radius * 0.2,
            DVec2::new(0.0, -radius * 0.2),
            radius * 0.12,
        ),
        &[],
        (near, far * 0.9),
    );
    solids
}
