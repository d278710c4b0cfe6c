//! What drives the camshaft: gears in mesh, or wheels with their chain or belt, and the dots on
//! their teeth.

use glam::{DVec2, DVec3};

use crate::geometry::Layout;
use crate::geometry::layout::{LoopPlace, Wheel, WheelRole, towards};
use crate::geometry::solids::{Finish, Solids, circle, strap};
use crate::geometry::teeth::{Gear, LoopKind};

/// How many links of a chain are unlike: inner and outer take turns.
pub const UNLIKE_LINKS: usize = 2;

fn finish(role: WheelRole) -> Finish {
    match role {
        WheelRole::Crank => Finish::CrankWheel,
        WheelRole::Idler(_) => Finish::Idler,
        WheelRole::Cam(_) => Finish::CamWheel,
    }
}

/// A wheel about its own centre, tooth 0 straight up: a rim with teeth, a thinner web with holes, a
/// hub, the dots.
pub fn wheel(layout: &Layout, wheel: &Wheel) -> Solids {
    let (teeth, root) = outline(layout, wheel);
    let half = layout.wheel_width_mm / 2.0;
    let hub = f64::min(0.2 * layout.measures.bore_mm, root * 0.5);
    let rim = root - f64::max(0.10 * root, 2.2 * layout.module_mm);
    let mut solids = Solids::new(finish(wheel.role));
    if rim > hub * 1.7 {
        solids.prism(&teeth, &[circle(DVec2::ZERO, rim)], (-half, half));
        let (middle, hole) = ((rim + hub) / 2.0, (rim - hub) * 0.32);
        let holes: Vec<_> = (0..6)
            .map(|index| circle(towards(60.0 * f64::from(index) + 30.0) * middle, hole))
            .collect();
        solids.prism(
            &circle(DVec2::ZERO, rim * 1.005),
            &holes,
            (-half * 0.45, half * 0.45),
        );
        solids.broken_bar(hub, (-half * 1.05, half * 1.05), hub * 0.06);
    } else {
        solids.prism(&teeth, &[], (-half, half));
    }
    let pitch = 360.0 / f64::from(wheel.teeth);
    let size = dot_size(layout, wheel, root);
    for &tooth in &wheel.dots {
        let at = towards(f64::from(tooth) * pitch) * (root - size * 0.6);
        solids
            .finish(Finish::MarkGround)
            .to(at.extend(half))
            .bar(size * 1.45, (0.0, 0.25));
        solids
            .finish(Finish::Mark)
            .to(at.extend(half))
            .bar(size, (0.0, 0.6));
    }
    if let WheelRole::Idler(_) = wheel.role {
        axle(&mut solids, layout, hub);
    }
    solids
}

/// What an idler turns on: a stub axle with its washer and bolt.
fn axle(solids: &mut Solids, layout: &Layout, hub: f64) {
    let half = layout.wheel_width_mm / 2.0;
    let washer = hub * 0.72;
    solids.finish(Finish::Steel).to(DVec3::ZERO).broken_bar(
        washer,
        (half * 1.05, half * 1.2),
        washer * 0.1,
    );
    let bolt: Vec<DVec2> = (0..6)
        .map(|corner| towards(60.0 * f64::from(corner)) * washer * 0.6)
        .collect();
    solids
        .finish(Finish::Bright)
        .broken_prism(&bolt, &[], (half * 1.2, half * 1.5), washer * 0.06);
    // Back into the block.
    solids
        .finish(Finish::Steel)
        .bar(hub * 0.5, (-half * 1.9, -half * 1.05));
}

/// A dot's radius: as large as the teeth allow, so that it is seen from a distance.
fn dot_size(layout: &Layout, wheel: &Wheel, root: f64) -> f64 {
    let pitch = 360.0 / f64::from(wheel.teeth);
    f64::min(
        f64::max(1.1 * layout.module_mm, 0.026 * layout.measures.bore_mm),
        root * pitch.to_radians() * 0.46,
    )
}

/// The dots alone, larger, with a line to the wheel's centre: shown over the wheel as built.
pub fn dots_as_drawn(layout: &Layout, wheel: &Wheel) -> Solids {
    let (_, root) = outline(layout, wheel);
    let half = layout.wheel_width_mm / 2.0;
    let size = dot_size(layout, wheel, root);
    let mut solids = Solids::new(Finish::Mark);
    for &tooth in &wheel.dots {
        let at = towards(f64::from(tooth) * 360.0 / f64::from(wheel.teeth)) * (root - size * 0.6);
        solids.to(DVec3::ZERO).prism(
            &circle(at, size * 1.8),
            &[circle(at, size * 1.3)],
            (half + 0.3, half + 1.2),
        );
        solids.prism(
            &strap(DVec2::ZERO, size * 0.3, at * 0.9, size * 0.3),
            &[],
            (half + 0.3, half + 0.9),
        );
    }
    solids
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

/// Half of what a loop takes up along the shaft.
fn half_width_mm(layout: &Layout) -> f64 {
    layout.wheel_width_mm / layout.loops.len().max(1) as f64 / 2.0 * 0.86
}

/// The blade that keeps the slack run from hanging, and the pin it is held on; z from the middle of
/// its loop.
pub fn tensioner(layout: &Layout, place: &LoopPlace) -> Solids {
    let half = half_width_mm(layout);
    let tensioner = place.tensioner();
    let mut solids = Solids::new(Finish::Body);
    solids.prism(&tensioner.blade, &[], (-half * 0.8, half * 0.8));
    solids.finish(Finish::Steel).prism(
        &circle(tensioner.pivot, tensioner.thick_mm * 0.6),
        &[],
        (-half, half),
    );
    solids
}

/// What of a loop looks the same however far it has run: a belt's band; nothing of a chain. z from
/// the middle of its loop.
pub fn band(layout: &Layout, place: &LoopPlace) -> Solids {
    let mut solids = Solids::new(Finish::Dark);
    if place.path.driver.kind == LoopKind::Chain {
        return solids;
    }
    let path = place.path.path(2);
    let half = half_width_mm(layout);
    let thick = 0.22 * place.path.driver.pitch_mm;
    let count = path.len();
    let at = |index: usize| path.get(index % count).copied().unwrap_or_default();
    let out = |index: usize| {
        let way = at(index + 1) - at(index + count - 1);
        way.perp().normalize_or_zero()
    };
    let outer: Vec<DVec2> = (0..count)
        .map(|index| at(index) + out(index) * thick)
        .collect();
    solids.prism(&outer, &[path], (-half, half));
    solids
}

/// A link of a chain, which of the unlike ones is told by its index: a roller, and the plates from
/// it to the next, which lies to the right; or a belt's tooth, the outside of the loop straight up.
pub fn link(layout: &Layout, place: &LoopPlace, index: usize) -> Solids {
    let half = half_width_mm(layout);
    let pitch = place.path.driver.pitch_mm;
    let mut solids = Solids::new(Finish::Steel);
    match place.path.driver.kind {
        LoopKind::Chain => {
            let roller = place.path.driver.roller_radius_mm();
            // Between its plates: without ends.
            solids
                .finish(Finish::Bright)
                .turned(&[(roller, -half * 0.6), (roller, half * 0.6)]);
            let (near, far) = if index.is_multiple_of(UNLIKE_LINKS) {
                (0.62, 0.78)
            } else {
                (0.8, 0.96)
            };
            let plate = plate(pitch, roller * 0.95);
            solids.finish(Finish::Steel);
            for side in [-1.0, 1.0] {
                let (one, other) = (side * half * near, side * half * far);
                solids.prism(&plate, &[], (one.min(other), one.max(other)));
            }
        }
        LoopKind::Belt => {
            let tooth = [(-0.26, 0.0), (0.26, 0.0), (0.16, -0.26), (-0.16, -0.26)]
                .map(|(x, y)| DVec2::new(x, y) * pitch);
            solids
                .finish(Finish::Dark)
                .prism(&tooth, &[], (-half, half));
        }
    }
    solids
}

/// A chain's plate: an eye round either pin, and a waist between them.
fn plate(pitch: f64, eye: f64) -> Vec<DVec2> {
    /// Points of half an eye: there are many plates, and they are small.
    const POINTS: i32 = 3;
    let half_eye = |x: f64, from_deg: f64| {
        (0..=POINTS).map(move |step| {
            DVec2::new(x, 0.0)
                + towards(from_deg + 200.0 * f64::from(step) / f64::from(POINTS)) * eye
        })
    };
    let waist = DVec2::new(pitch / 2.0, eye * 0.72);
    half_eye(pitch, -10.0)
        .chain([DVec2::new(waist.x, -waist.y)])
        .chain(half_eye(0.0, 170.0))
        .chain([waist])
        .collect()
}
