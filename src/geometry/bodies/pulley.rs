//! The pulley at the front: an open rim, so that the wheels behind it are seen, with its timing
//! mark, and the fixed pointer.

use glam::{DVec2, DVec3};

use crate::geometry::Layout;
use crate::geometry::layout::{Wheel, towards};
use crate::geometry::solids::{Finish, Solids, circle};

/// The rim's inner radius over its outer.
const OPEN: f64 = 0.86;
/// Half of a mark's width over the radius of what carries it: wide enough to aim at from across the
/// bench.
pub(super) const MARK: f64 = 0.017;

/// A mark painted across a rim, on dark ground: its outline, and its ground's.
pub(super) fn mark(mark_deg: f64, inner: f64, outer: f64) -> [Vec<DVec2>; 2] {
    let direction = towards(mark_deg);
    let across = |half: f64| {
        let side = direction.perp() * outer * half;
        vec![
            direction * inner - side,
            direction * (outer * 1.004) - side,
            direction * (outer * 1.004) + side,
            direction * inner + side,
        ]
    };
    [across(MARK), across(MARK * 2.4)]
}

/// The pulley about its axis, as it stands at θ = 0.
pub fn pulley(layout: &Layout) -> Solids {
    let pulley = &layout.pulley;
    let (outer, inner) = (pulley.radius_mm, pulley.radius_mm * OPEN);
    let half = pulley.width_mm / 2.0;
    let z = pulley.z_mm;
    let mut solids = Solids::new(Finish::Pulley);
    let (lip, broken) = (outer * 0.05, outer * 0.008);
    // A vee for the belt in the rim.
    solids.turned(&[
        (inner, z + half),
        (inner, z - half),
        (outer - broken, z - half),
        (outer, z - half + broken),
        (outer, z - half * 0.75),
        (outer - lip, z),
        (outer, z + half * 0.75),
        (outer, z + half - broken),
        (outer - broken, z + half),
        (inner, z + half),
    ]);
    let hub = layout.nose_mm * 1.3;
    solids.tube(0.0, hub, (z - half * 0.8, layout.front_z_mm));
    // The dots on the crank's wheel stand midway between spokes, so that they are seen through the
    // pulley.
    let clear = layout
        .wheels
        .first()
        .and_then(Wheel::dot_deg)
        .unwrap_or(pulley.mark_deg);
    for spoke in 0..3 {
        let direction = towards(clear + 60.0 + 120.0 * f64::from(spoke));
        let side = direction.perp() * outer * 0.035;
        let (from, to) = (direction * hub * 0.9, direction * inner * 1.01);
        solids.prism(
            &[from - side, to - side, to + side, from + side],
            &[],
            (z - half * 0.35, z + half * 0.1),
        );
    }
    // The mark: a notch filled with paint, over the front face and the lip.
    let [paint, ground] = mark(pulley.mark_deg, inner, outer);
    solids
        .finish(Finish::MarkGround)
        .prism(&ground, &[], (z + half * 0.7, z + half + 0.2));
    solids
        .finish(Finish::Mark)
        .prism(&paint, &[], (z + half * 0.7, z + half + 0.5));
    solids.prism(&paint, &[], (z - half, z - half * 0.7));
    solids
}

/// The timing pointer, fixed to the front cover.
pub fn pointer(layout: &Layout) -> Solids {
    let pulley = &layout.pulley;
    let direction = towards(pulley.pointer_deg);
    let across = direction.perp();
    let (tip, tail) = (pulley.radius_mm * 1.03, pulley.radius_mm * 1.24);
    let wide = pulley.radius_mm * 0.06;
    let arrow = [
        direction * tip,
        direction * tail + across * wide,
        direction * tail - across * wide,
    ];
    let mut solids = Solids::new(Finish::Pointer);
    solids.prism(
        &arrow,
        &[],
        (
            pulley.z_mm - pulley.width_mm * 0.15,
            pulley.z_mm + pulley.width_mm * 0.15,
        ),
    );
    // Its stalk from the cover, which lies before the wheels.
    let foot = direction * tail * 0.98;
    let cover = layout.drive_z_mm + layout.wheel_width_mm * 0.75;
    solids
        .to(DVec3::ZERO)
        .prism(&circle(foot, wide * 0.5), &[], (cover, pulley.z_mm));
    solids
}
