//! From where the distributor is seen: whether a cylinder, or another tower of the cap, stands
//! before what one wants to see.
//!
//! A direction is where the eye is: from what is looked at to the eye, of length 1. The eye is taken
//! to be far off. A cylinder counts with its valve gear, as a round bar from its foot to the
//! rockers; glass or not, nothing is read through it.

use glam::DVec3;

use super::clock::towards;
use super::layout::{DistributorPlace, Layout};

/// How far over the cap's underside its towers end, over its radius.
const TOWER_TOP: f64 = 0.86;
/// How far from the cap's middle its towers stand, over its radius.
const TOWER_OUT: f64 = 0.8;

/// A place over the cap: its radius and height over the cap's radius. Clock 0 lies to the rear.
fn over_cap(place: &DistributorPlace, clock_deg: f64, out: f64, up: f64) -> DVec3 {
    let across = towards(clock_deg) * out;
    place.cap + DVec3::new(across.x, up, -across.y) * place.radius_mm
}

/// Whether an eye in this direction sees `point` past a round bar from `one` end to the `other`.
fn clear_of(point: DVec3, eye: DVec3, (one, other): (DVec3, DVec3), radius_mm: f64) -> bool {
    /// Places along the bar that are looked at: its radius is much more than they are apart.
    const PLACES: u32 = 12;
    (0..=PLACES).all(|step| {
        let off = one.lerp(other, f64::from(step) / f64::from(PLACES)) - point;
        let along = off.dot(eye);
        along <= 0.0 || (off - eye * along).length() > radius_mm
    })
}

/// Whether no cylinder stands before `point`.
fn clear_of_cylinders(layout: &Layout, point: DVec3, eye: DVec3) -> bool {
    let measures = &layout.measures;
    let radius_mm = measures.bore_mm / 2.0 + measures.wall_mm;
    let end_mm = measures.stem_mm + 0.15 * measures.bore_mm;
    layout.cylinders.iter().all(|cylinder| {
        let at = |up: f64| (towards(cylinder.bank_deg) * up).extend(cylinder.z_mm);
        clear_of(point, eye, (at(measures.foot_mm), at(end_mm)), radius_mm)
    })
}

/// How much of the cap is seen past the cylinders, 0 to 1.
pub fn of_cap(layout: &Layout, place: &DistributorPlace, eye: DVec3) -> f64 {
    const PLACES: u32 = 12;
    let seen = (0..PLACES).filter(|step| {
        let clock_deg = 360.0 * f64::from(*step) / f64::from(PLACES);
        clear_of_cylinders(layout, over_cap(place, clock_deg, 0.9, 0.4), eye)
    });
    seen.count() as f64 / f64::from(PLACES)
}

/// Whether the rotor is seen past the cylinders, the tower of No. 1's lead as drawn past cylinders
/// and the other towers, and the drive past the cylinders. Towers are taken to stand evenly.
pub fn of_drive(layout: &Layout, place: &DistributorPlace, eye: DVec3) -> (bool, bool, bool) {
    let rotor = (0..4).all(|quarter| {
        clear_of_cylinders(
            layout,
            over_cap(place, 90.0 * f64::from(quarter), 0.5, 0.2),
            eye,
        )
    });
    let top = over_cap(place, place.number_one_deg, TOWER_OUT, TOWER_TOP);
    let count = layout.cylinders.len().max(1);
    let step_deg = 360.0 / count as f64;
    let past_towers = (1..count).all(|other| {
        let clock_deg = place.number_one_deg + step_deg * other as f64;
        let at = |up: f64| over_cap(place, clock_deg, TOWER_OUT, up);
        clear_of(
            top,
            eye,
            (at(0.42), at(TOWER_TOP)),
            f64::min(0.15, TOWER_OUT * step_deg.to_radians() * 0.3) * place.radius_mm,
        )
    });
    (
        rotor,
        past_towers && clear_of_cylinders(layout, top, eye),
        clear_of_cylinders(layout, place.driver, eye),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::{BENCH, SCENES};

    #[test]
    fn a_cap_is_hidden_from_across_the_engine_and_seen_from_its_own_side_and_from_above() {
        // Its distributor stands beside the row.
        let mut scenes = SCENES.iter();
        let scene = scenes.find(|scene| scene.name == "hidden_marks");
        let layout = Layout::of(&scene.expect("the scene").engine());
        let place = layout.distributor.expect("a distributor");
        let own_side = DVec3::X * place.cap.x.signum();
        assert_eq!(of_cap(&layout, &place, own_side), 1.0);
        assert_eq!(of_cap(&layout, &place, DVec3::Y), 1.0);
        assert!(of_cap(&layout, &place, -own_side) < 0.5);
    }

    #[test]
    fn the_tower_of_number_one_is_hidden_behind_the_one_across_from_it_and_not_from_above() {
        let layout = Layout::of(&BENCH.engine());
        let place = layout.distributor.expect("a distributor");
        let level = towards(place.number_one_deg + 180.0);
        let across = DVec3::new(level.x, 0.0, -level.y);
        assert!(!of_drive(&layout, &place, across).1);
        assert!(of_drive(&layout, &place, DVec3::Y).1);
    }
}
