//! The camshafts: their lobes have the outlines that their lift law asks for.

use glam::{DVec2, DVec3};

use super::distributor;
use crate::description::DrivenBy;
use crate::geometry::Layout;
use crate::geometry::layout::ValvePlace;
use crate::geometry::lobe_outline::LobeOutline;
use crate::geometry::solids::{Finish, Solids};

/// A camshaft about its axis, as it stands at θ = 0 as drawn; nothing for one that is not there.
pub fn camshaft(layout: &Layout, index: usize) -> Solids {
    let mut solids = Solids::new(Finish::Camshaft);
    let Some(cam) = layout.cams.get(index) else {
        return solids;
    };
    let broken = 0.1 * cam.radius_mm;
    solids.broken_bar(
        cam.radius_mm,
        (cam.rear_z_mm, cam.front_z_mm + layout.wheel_width_mm * 0.6),
        broken,
    );
    for cylinder in &layout.cylinders {
        for (valve, outline, finish) in [
            (&cylinder.intake, &layout.intake_lobe, Finish::IntakeLobe),
            (&cylinder.exhaust, &layout.exhaust_lobe, Finish::ExhaustLobe),
        ] {
            if valve.cam == index {
                lobe(solids.finish(finish), layout, valve, outline);
            }
        }
    }
    if let Some(place) = layout
        .distributor
        .filter(|place| place.driven_by == DrivenBy::Camshaft && place.cam == index)
    {
        distributor::driver(&mut solids, &place, 0.0);
    }
    solids
}

fn lobe(solids: &mut Solids, layout: &Layout, valve: &ValvePlace, outline: &LobeOutline) {
    /// Corners of a lobe: where it is sharpest the angle between its sides is too small to see.
    const CORNERS: usize = 72;
    let turn = DVec2::from_angle(-valve.nose_deg.to_radians());
    let corners: Vec<DVec2> = outline
        .outline(CORNERS)
        .into_iter()
        .map(|corner| turn.rotate(corner) * layout.lobe_scale)
        .collect();
    let half = layout.lobe_width_mm / 2.0;
    solids.to(DVec3::ZERO).broken_prism(
        &corners,
        &[],
        (valve.lobe_z_mm - half, valve.lobe_z_mm + half),
        0.006 * layout.measures.bore_mm,
    );
}
