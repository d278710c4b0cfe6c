//! The flywheel at the rear, where it carries a mark: its rim with the marks, and beside it the
//! pointers at which they are read.

use super::pulley::mark;
use crate::geometry::layout::{FlywheelPlace, towards};
use crate::geometry::solids::{Finish, Solids, circle};

/// A plate that joins a heavy rim, and on the rim a painted line across for each mark; as it stands
/// at θ = 0.
pub fn flywheel(place: &FlywheelPlace) -> Solids {
    let (outer, half, z) = (place.radius_mm, place.width_mm / 2.0, place.z_mm);
    let (inner, broken) = (outer * 0.84, outer * 0.01);
    let mut solids = Solids::new(Finish::Forged);
    solids.turned(&[
        (0.0, z - half * 0.5),
        (inner, z - half * 0.5),
        (inner, z - half),
        (outer - broken, z - half),
        (outer, z - half + broken),
        (outer, z + half - broken),
        (outer - broken, z + half),
        (inner, z + half),
        (inner, z + half * 0.3),
        (0.0, z + half * 0.3),
    ]);
    for &(mark_deg, _) in &place.marks {
        let [paint, ground] = mark(mark_deg, inner, outer);
        solids
            .finish(Finish::MarkGround)
            .prism(&ground, &[], (z - half - 0.2, z + half + 0.2));
        solids
            .finish(Finish::Mark)
            .prism(&paint, &[], (z - half - 0.5, z + half + 0.5));
    }
    solids
}

/// A pointer over the rim for each place at which a mark is read, on a stalk to the case.
pub fn pointers(place: &FlywheelPlace) -> Solids {
    let mut solids = Solids::new(Finish::Pointer);
    for &(_, pointer_deg) in &place.marks {
        let direction = towards(pointer_deg);
        let across = direction.perp();
        let (tip, tail) = (place.radius_mm * 1.03, place.radius_mm * 1.17);
        let wide = place.radius_mm * 0.045;
        let arrow = [
            direction * tip,
            direction * tail + across * wide,
            direction * tail - across * wide,
        ];
        let thick = place.width_mm * 0.15;
        solids.prism(&arrow, &[], (place.z_mm - thick, place.z_mm + thick));
        solids.prism(
            &circle(direction * tail * 0.98, wide * 0.5),
            &[],
            (place.z_mm, place.z_mm + place.width_mm * 1.4),
        );
    }
    solids
}
