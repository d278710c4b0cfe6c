//! The cylinders, of glass, each with its piece of the head.

use glam::{DAffine3, DQuat, DVec3};

use crate::geometry::layout::Measures;
use crate::geometry::solids::{Finish, Solids};

/// How a barrel is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BarrelForm {
    /// Cut open towards the front, the right and above.
    pub cut: bool,
    /// Its wall without thickness: where the processor draws, that is seen through at half the
    /// cost.
    pub thin: bool,
}

/// The barrel of a cylinder of a bank, its bore's axis through the origin.
pub fn barrel(measures: &Measures, bank_deg: f64, form: BarrelForm) -> Solids {
    /// The angle that is cut out, about the bore's axis.
    const OPENED_DEG: f64 = 130.0;
    let mut solids = Solids::new(Finish::Glass);
    let (inner, outer) = (measures.bore_mm / 2.0, measures.barrel_mm());
    let (foot, deck) = (measures.foot_mm, measures.deck_mm);
    // Cut open, it needs its inside.
    let whole = vec![
        (inner, deck),
        (inner, foot),
        (outer, foot),
        (outer, deck),
        (inner, deck),
    ];
    let wall = if form.thin && !form.cut {
        vec![(outer, foot), (outer, deck)]
    } else {
        whole
    };
    // The bore's own z runs out along it.
    let turned = DQuat::from_rotation_z(-bank_deg.to_radians())
        * DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2);
    solids.at(DAffine3::from_quat(turned));
    let open = turned.inverse() * DVec3::new(1.0, 0.5, 0.8);
    let open_deg = open.y.atan2(open.x).to_degrees();
    let (from_deg, sweep_deg) = if form.cut {
        (open_deg + OPENED_DEG / 2.0, 360.0 - OPENED_DEG)
    } else {
        (0.0, 360.0)
    };
    solids.turned_part(&wall, from_deg, sweep_deg);
    // Head: a plate over the bore.
    // Just under the valves' faces, which would otherwise lie in its own.
    let face = deck - 0.006 * measures.bore_mm;
    let head = [
        (0.0, face),
        (outer, face),
        (outer, deck + measures.wall_mm * 1.5),
        (0.0, deck + measures.wall_mm * 1.5),
    ];
    solids.turned_part(&head, from_deg, sweep_deg);
    solids
}
