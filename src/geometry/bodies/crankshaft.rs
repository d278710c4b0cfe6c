//! The crankshaft: main journals, crankpins, webs with their counterweights.

use glam::{DVec2, DVec3};

use super::distributor;
use crate::description::DrivenBy;
use crate::geometry::Layout;
use crate::geometry::layout::towards;
use crate::geometry::solids::{Finish, Solids, strap};

/// Half the fan of a counterweight, degrees: about what forged cranks have, common practice, no
/// source.
const FAN_DEG: f64 = 62.0;

/// The crankshaft about its axis, with No. 1's throw straight up.
pub fn crankshaft(layout: &Layout) -> Solids {
    let measures = &layout.measures;
    let broken = 0.012 * measures.bore_mm;
    let mut solids = Solids::new(Finish::Bright);
    // A little short of the pulley's nut, which covers its end.
    solids.bar(layout.nose_mm, (layout.drive_z_mm, layout.front_z_mm - 1.0));
    let mut journal_front = layout.drive_z_mm - layout.wheel_width_mm / 2.0;
    for throw in &layout.throws {
        let half = throw.pin_length_mm / 2.0;
        let (front, rear) = (throw.z_mm + half, throw.z_mm - half);
        solids.finish(Finish::Bright).to(DVec3::ZERO).bar(
            measures.journal_mm,
            (front + measures.web_mm * 0.5, journal_front),
        );
        let pin = towards(throw.angle_deg) * measures.throw_mm;
        solids.to(pin.extend(0.0)).bar(
            measures.pin_mm,
            (rear - measures.web_mm * 0.5, front + measures.web_mm * 0.5),
        );
        for z in [
            (front, front + measures.web_mm),
            (rear - measures.web_mm, rear),
        ] {
            solids.finish(Finish::Forged).to(DVec3::ZERO);
            for outline in web(layout, throw.angle_deg) {
                solids.broken_prism(&outline, &[], z, broken);
            }
        }
        journal_front = rear - measures.web_mm * 0.5;
    }
    solids.finish(Finish::Bright).to(DVec3::ZERO).broken_bar(
        measures.journal_mm,
        (layout.rear_z_mm, journal_front),
        broken,
    );
    if let Some(place) = layout
        .distributor
        .filter(|place| place.driven_by == DrivenBy::Crankshaft)
    {
        let throw_one = layout.cylinder(1).map_or(0.0, |cylinder| cylinder.bank_deg);
        distributor::driver(&mut solids, &place, throw_one);
    }
    solids
}

/// A web about the shaft's axis: a strap to the pin, and across from it a counterweight.
fn web(layout: &Layout, angle_deg: f64) -> [Vec<DVec2>; 2] {
    let measures = &layout.measures;
    let (pin_eye, shaft_eye) = (measures.pin_mm * 1.25, measures.journal_mm * 1.15);
    let heavy = measures.counterweight_mm();
    let turn = DVec2::from_angle(-angle_deg.to_radians());
    let turned = |corners: Vec<DVec2>| -> Vec<DVec2> {
        corners
            .into_iter()
            .map(|corner| turn.rotate(corner))
            .collect()
    };
    let to_the_pin = strap(
        DVec2::ZERO,
        shaft_eye,
        DVec2::new(0.0, measures.throw_mm),
        pin_eye,
    );
    let fan = (0..=24)
        .map(|step| towards(180.0 - FAN_DEG + 2.0 * FAN_DEG * f64::from(step) / 24.0) * heavy);
    // Its shoulders stand beside the shaft.
    let shoulder = DVec2::new(shaft_eye * 0.98, 0.0);
    let counterweight = std::iter::once(shoulder)
        .chain(fan)
        .chain([-shoulder])
        .collect();
    [turned(to_the_pin), turned(counterweight)]
}
