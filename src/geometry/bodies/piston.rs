//! The pistons and their rods.

use glam::{DVec2, DVec3};

use super::Place;
use crate::geometry::layout::{CylinderPlace, Measures};
use crate::geometry::pose::CylinderPose;
use crate::geometry::solids::{Finish, Solids, along, circle, oblong};

/// A piston about its gudgeon pin, its crown straight up.
pub fn piston(measures: &Measures) -> Solids {
    let radius = measures.bore_mm / 2.0 * 0.985;
    let (crown, skirt) = (measures.crown_mm, measures.skirt_mm);
    let mut solids = Solids::new(Finish::Alloy);
    // The axis of what is turned lies along the bore.
    solids.at(along(DVec3::ZERO, DVec3::Y));
    let groove = 0.05 * measures.bore_mm;
    let mut profile = vec![(radius * 0.9, -skirt), (radius, -skirt), (radius, 0.0)];
    for ring in [3.0, 2.0, 1.0] {
        let top = crown - ring * 1.6 * groove;
        profile.extend([
            (radius, top - groove * 0.8),
            (radius * 0.96, top - groove * 0.8),
            (radius * 0.96, top),
            (radius, top),
        ]);
    }
    profile.extend([
        (radius, crown - groove * 0.3),
        (radius * 0.97, crown),
        (0.0, crown),
    ]);
    solids.turned(&profile);
    // The inside, seen from below.
    solids.turned(&[
        (0.0, crown * 0.55),
        (radius * 0.9, crown * 0.55),
        (radius * 0.9, -skirt),
    ]);
    solids.finish(Finish::Dark);
    for ring in [3.0, 2.0, 1.0] {
        let top = crown - ring * 1.6 * groove;
        solids.turned(&[
            (radius * 1.005, top - groove * 0.75),
            (radius * 1.005, top - groove * 0.05),
        ]);
    }
    solids.finish(Finish::Bright).to(DVec3::ZERO).tube(
        measures.gudgeon_mm * 0.55,
        measures.gudgeon_mm,
        (-radius * 0.97, radius * 0.97),
    );
    solids
}

/// A rod about its big end, its small end straight up: two eyes, and between them a shank like an I.
pub fn rod(measures: &Measures) -> Solids {
    let half = measures.rod_width_mm / 2.0;
    let (big, small) = (measures.big_end_mm(), measures.small_end_mm());
    let broken = 0.08 * half;
    let little_end = DVec2::new(0.0, measures.rod_mm);
    let mut solids = Solids::new(Finish::Rod);
    let (inner, outer) = (measures.pin_mm * 1.02, measures.gudgeon_mm * 1.02);
    solids.broken_prism(
        &circle(DVec2::ZERO, big),
        &[circle(DVec2::ZERO, inner)],
        (-half, half),
        broken,
    );
    solids.broken_prism(
        &circle(little_end, small),
        &[circle(little_end, outer)],
        (-half, half),
        broken,
    );
    let from = big * 0.9;
    let to = measures.rod_mm - small * 0.9;
    let (wide, narrow) = measures.shank_mm();
    // The middle of the I, and its two flanges, each a body of its own width: no two faces lie in
    // one plane.
    let flange = f64::min(0.3 * narrow, 0.06 * measures.bore_mm);
    let middle = [
        DVec2::new(-wide + flange / 2.0, from),
        DVec2::new(-narrow + flange / 2.0, to),
        DVec2::new(narrow - flange / 2.0, to),
        DVec2::new(wide - flange / 2.0, from),
    ];
    solids.prism(&middle, &[], (-half * 0.35, half * 0.35));
    for side in [-1.0, 1.0] {
        let rib = [
            DVec2::new(side * (wide - flange), from),
            DVec2::new(side * (narrow - flange), to),
            DVec2::new(side * narrow, to),
            DVec2::new(side * wide, from),
        ];
        solids.prism(&rib, &[], (-half * 0.85, half * 0.85));
    }
    // The cap's parting line, and its bolts beside the pin.
    let pin = measures.pin_mm;
    solids.finish(Finish::Dark);
    for side in [-1.0, 1.0] {
        let (near, far) = (side * pin * 1.02, side * big * 1.004);
        solids.prism(
            &oblong(
                DVec2::new(near.min(far), -0.012 * pin),
                DVec2::new(near.max(far), 0.012 * pin),
            ),
            &[],
            (-half * 1.004, half * 1.004),
        );
    }
    solids.finish(Finish::Bright);
    for side in [-1.0, 1.0] {
        solids
            .at(along(DVec3::new(side * pin * 1.19, 0.0, 0.0), DVec3::Y))
            .bar(pin * 0.15, (-pin * 0.66, pin * 0.66));
    }
    solids
}

/// Where a cylinder's piston stands.
pub fn piston_place(cylinder: &CylinderPlace, pose: &CylinderPose) -> Place {
    Place::new(pose.gudgeon, cylinder.z_mm, cylinder.bank_deg)
}

/// Where a cylinder's rod stands.
pub fn rod_place(cylinder: &CylinderPlace, pose: &CylinderPose) -> Place {
    Place::new(pose.crankpin, cylinder.z_mm, pose.rod_deg)
}
