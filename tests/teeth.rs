//! Teeth that mesh, asked of a general-purpose geometry library (parry2d), and gear figures from
//! tables.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::f64::consts::PI;

use approx::assert_abs_diff_eq;
use dotwise::geometry::teeth::{
    Gear, Loop, LoopKind, LoopWheel, PRESSURE_ANGLE_DEG, inv, meshed_turn_deg, nearest_tooth_deg,
};
use glam::DVec2;
use parry2d_f64::math::{Pose, Vector};
use parry2d_f64::query;
use parry2d_f64::shape::Polyline;

/// A closed outline as parry knows it.
fn closed(points: &[DVec2]) -> Polyline {
    let corners: Vec<Vector> = points
        .iter()
        .map(|point| Vector::new(point.x, point.y))
        .collect();
    let sides = (0..corners.len() as u32)
        .map(|index| [index, (index + 1) % corners.len() as u32])
        .collect();
    Polyline::new(corners, Some(sides))
}

/// How far apart two outlines are; zero where they touch or cross. Turns are clockwise degrees.
fn apart(
    one: &Polyline,
    one_turn: f64,
    other: &Polyline,
    other_centre: DVec2,
    other_turn: f64,
) -> f64 {
    let at_one = Pose::new(Vector::new(0.0, 0.0), -one_turn.to_radians());
    let at_other = Pose::new(
        Vector::new(other_centre.x, other_centre.y),
        -other_turn.to_radians(),
    );
    // Lines that cross are asked for by name: the distance alone takes some crossings for near
    // misses.
    if query::intersection_test(&at_one, one, &at_other, other).expect("two outlines may cross") {
        return 0.0;
    }
    query::distance(&at_one, one, &at_other, other).expect("two outlines have a distance")
}

/// Least and greatest distance of a pair in mesh while the driver turns by one tooth.
fn mesh(driver_teeth: u32, driven_teeth: u32, backlash_mm: f64, towards_deg: f64) -> (f64, f64) {
    const MODULE_MM: f64 = 2.0;
    const STEPS: u32 = 48;
    let [driver, driven] = [driver_teeth, driven_teeth].map(|teeth| Gear {
        teeth,
        module_mm: MODULE_MM,
        backlash_mm,
    });
    let (one, other) = (closed(&driver.outline(24)), closed(&driven.outline(24)));
    let (sin, cos) = towards_deg.to_radians().sin_cos();
    let centre = DVec2::new(sin, cos) * driver.centre_distance_mm(&driven);
    (0..STEPS).fold((f64::INFINITY, 0.0), |(least, most), step| {
        let turn = 17.0 + 360.0 / f64::from(driver_teeth) * f64::from(step) / f64::from(STEPS);
        let gap = apart(
            &one,
            turn,
            &other,
            centre,
            meshed_turn_deg(driver_teeth, driven_teeth, towards_deg, turn),
        );
        (f64::min(least, gap), f64::max(most, gap))
    })
}

#[test]
fn gears_in_mesh_never_overlap_and_always_nearly_touch_through_a_whole_tooth() {
    const BACKLASH_MM: f64 = 0.1;
    // Six on twelve are both so undercut that one pair of teeth lets go before the next takes hold,
    // as such gears do.
    let pairs = [
        (25, 50, 0.0, 0.02),
        (20, 60, 37.0, 0.02),
        (6, 12, 200.0, 0.2),
        (8, 40, -90.0, 0.02),
        (13, 13, 90.0, 0.02),
        (60, 120, 145.0, 0.02),
    ];
    for (driver, driven, towards, nearly) in pairs {
        let (least, most) = mesh(driver, driven, BACKLASH_MM, towards);
        // With a tooth midway in its gap each side has half the play, square to the flank; chords
        // lie under a hundredth inside.
        let side = BACKLASH_MM / 2.0 * PRESSURE_ANGLE_DEG.to_radians().cos();
        assert!(
            least > side - 0.005,
            "{driver} on {driven} come within {least} mm"
        );
        assert!(
            most < side + nearly,
            "{driver} on {driven} stand {most} mm apart"
        );
    }
}

#[test]
fn a_wheel_half_a_tooth_out_of_mesh_does_overlap() {
    // The same asked of a pair that is wrong: the check can fail.
    let gear = |teeth| Gear {
        teeth,
        module_mm: 2.0,
        backlash_mm: 0.1,
    };
    let (one, other) = (closed(&gear(25).outline(24)), closed(&gear(50).outline(24)));
    let centre = DVec2::new(0.0, gear(25).centre_distance_mm(&gear(50)));
    let wrong = meshed_turn_deg(25, 50, 0.0, 0.0) + 3.6;
    assert_eq!(apart(&one, 0.0, &other, centre, wrong), 0.0);
}

#[test]
fn backlash_lets_the_driven_wheel_turn_by_backlash_over_pitch_radius() {
    // Backlash 0.1 mm at radius 20 mm: 0.28648°. Arithmetic: 0.1 / 20 radians.
    let gear = Gear {
        teeth: 20,
        module_mm: 2.0,
        backlash_mm: 0.1,
    };
    assert_abs_diff_eq!((0.1_f64 / 20.0).to_degrees(), 0.28648, epsilon = 5e-6);
    let outline = closed(&gear.outline(60));
    let centre = DVec2::new(gear.centre_distance_mm(&gear), 0.0);
    let meshed = meshed_turn_deg(20, 20, 90.0, 5.0);
    let touches = |way: f64| {
        let (mut free, mut stuck) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = (free + stuck) / 2.0;
            if apart(&outline, 5.0, &outline, centre, meshed + way * middle) > 0.0 {
                free = middle;
            } else {
                stuck = middle;
            }
        }
        free
    };
    // Chords inside the flanks leave a little more than the true play.
    assert_abs_diff_eq!(touches(1.0) + touches(-1.0), 0.28648, epsilon = 0.01);
}

#[test]
fn the_involute_function_is_that_of_the_tables() {
    // Machinery's Handbook, involute function tables, and recomputed.
    for (degrees, value) in [
        (14.5_f64, 0.005_544_8),
        (20.0, 0.014_904_4),
        (25.0, 0.029_975_3),
        (30.0, 0.053_751_5),
    ] {
        assert_abs_diff_eq!(inv(degrees.to_radians()), value, epsilon = 5e-8);
    }
    assert_abs_diff_eq!(
        inv(23.870_760_965_4_f64.to_radians()),
        0.025_905_238_2,
        epsilon = 5e-11
    );
}

/// Length of the path of contact, and over the base pitch: the contact ratio, from the radii of the
/// gears as drawn.
fn contact(one: &Gear, other: &Gear) -> (f64, f64) {
    let (sin, cos) = PRESSURE_ANGLE_DEG.to_radians().sin_cos();
    let past =
        |gear: &Gear| (gear.outside_radius_mm().powi(2) - gear.base_radius_mm().powi(2)).sqrt();
    let path = past(one) + past(other) - one.centre_distance_mm(other) * sin;
    (path, path / (PI * one.module_mm * cos))
}

#[test]
fn the_contact_ratios_are_the_published_ones() {
    // Module 8, 20 and 60 teeth, 20°, addendum 1 module: path 39.459, ratio 1.6708. Machinery's
    // Handbook, and recomputed.
    let gear = |teeth, module_mm| Gear {
        teeth,
        module_mm,
        backlash_mm: 0.0,
    };
    let (path, ratio) = contact(&gear(20, 8.0), &gear(60, 8.0));
    assert_abs_diff_eq!(path, 39.459, epsilon = 5e-4);
    assert_abs_diff_eq!(ratio, 1.6708, epsilon = 5e-5);
    // Diametral pitch 6, 19 and 37 teeth, 20°: 1.62. R. L. Norton, Design of Machinery, from
    // memory.
    assert_abs_diff_eq!(
        contact(&gear(19, 25.4 / 6.0), &gear(37, 25.4 / 6.0)).1,
        1.62,
        epsilon = 0.005
    );
}

#[test]
fn opening_the_centres_gives_backlash_of_twice_the_opening_by_the_tangent() {
    // 2 Δa tan α, to first order: Machinery's Handbook, gearing, from memory.
    let gear = Gear {
        teeth: 30,
        module_mm: 2.0,
        backlash_mm: 0.0,
    };
    let outline = closed(&gear.outline(60));
    let opened = 0.05;
    let centre = DVec2::new(gear.centre_distance_mm(&gear) + opened, 0.0);
    let gap = apart(
        &outline,
        3.0,
        &outline,
        centre,
        meshed_turn_deg(30, 30, 90.0, 3.0),
    );
    let backlash = 2.0 * opened * PRESSURE_ANGLE_DEG.to_radians().tan();
    // Each side of a tooth midway in its gap has half of it, square to the flank.
    assert_abs_diff_eq!(
        gap,
        backlash / 2.0 * PRESSURE_ANGLE_DEG.to_radians().cos(),
        epsilon = 0.002
    );
}

#[test]
fn an_outline_has_its_teeth_in_clockwise_order_with_the_first_straight_up() {
    for teeth in [6, 13, 25, 50, 400] {
        let gear = Gear {
            teeth,
            module_mm: 1.5,
            backlash_mm: 0.05,
        };
        let outline = gear.outline(6);
        assert_eq!(outline.len() % teeth as usize, 0);
        let per_tooth = outline.len() / teeth as usize;
        let middle = outline[..per_tooth].iter().sum::<DVec2>() / per_tooth as f64;
        assert_abs_diff_eq!(middle.x, 0.0, epsilon = 1e-9);
        assert!(middle.y > 0.0);
        let area: f64 = outline
            .iter()
            .zip(outline.iter().cycle().skip(1))
            .map(|(one, next)| one.perp_dot(*next) / 2.0)
            .sum();
        assert!(area < 0.0, "clockwise with y up");
        for point in &outline {
            assert!(point.is_finite());
            assert!(
                point.length() <= gear.outside_radius_mm() + 1e-9
                    && point.length() >= gear.root_radius_mm() - 1e-9
            );
        }
    }
}

#[test]
fn a_tooth_of_few_stays_whole_however_much_backlash_is_asked() {
    let gear = Gear {
        teeth: 6,
        module_mm: 0.5,
        backlash_mm: 5.0,
    };
    let outline = gear.outline(8);
    let per_tooth = outline.len() / 6;
    for (left, right) in outline[..per_tooth / 2]
        .iter()
        .zip(outline[per_tooth / 2..per_tooth].iter().rev())
    {
        assert!(
            left.x <= right.x + 1e-12,
            "a flank crosses its tooth at {left}"
        );
    }
}

#[test]
fn a_dot_stands_on_the_tooth_nearest_to_it() {
    assert_abs_diff_eq!(nearest_tooth_deg(36, 3.0, 47.0), 43.0, epsilon = 1e-9);
    assert_abs_diff_eq!(nearest_tooth_deg(36, 3.0, -3.0), -7.0, epsilon = 1e-9);
}

#[test]
fn rollers_lie_in_the_seats_of_both_wheels_all_the_way_round() {
    for (kind, teeth, pitch, towards) in [
        (LoopKind::Chain, (23, 46), 9.525, 0.0),
        (LoopKind::Belt, (24, 48), 9.525, 20.0),
        (LoopKind::Belt, (17, 34), 8.0, 250.0),
    ] {
        let path = Loop::new(kind, teeth, pitch, towards, 170.0);
        if kind == LoopKind::Chain {
            assert_eq!(
                path.pitches % 2,
                0,
                "a chain joins only with an even number of links"
            );
        }
        for step in 0..24 {
            let turn = 11.0 + 360.0 / f64::from(teeth.0) * f64::from(step) / 24.0;
            let rollers = path.rollers(turn);
            assert_eq!(rollers.len(), path.pitches as usize);
            let on = |wheel: &LoopWheel, centre: DVec2, wheel_turn: f64| {
                let mut seated = 0;
                for (roller, _) in &rollers {
                    let arm = *roller - centre;
                    if (arm.length() - wheel.pitch_radius_mm()).abs() > 1e-6 {
                        continue;
                    }
                    let clock = arm.x.atan2(arm.y).to_degrees();
                    let gaps = (clock - wheel_turn) * f64::from(wheel.teeth) / 360.0 - 0.5;
                    assert_abs_diff_eq!(gaps, gaps.round(), epsilon = 1e-6);
                    seated += 1;
                }
                seated
            };
            assert!(
                on(&path.driver, DVec2::ZERO, turn) >= teeth.0 / 3,
                "few rollers on the driver"
            );
            assert!(
                on(
                    &path.driven,
                    path.driven_centre(),
                    path.meshed_turn_deg(turn)
                ) >= teeth.1 / 2,
                "few on the driven"
            );
        }
    }
}

#[test]
fn a_loop_keeps_its_rollers_a_pitch_apart() {
    for (kind, teeth) in [
        (LoopKind::Chain, (20, 40)),
        (LoopKind::Belt, (22, 44)),
        (LoopKind::Chain, (6, 12)),
    ] {
        let path = Loop::new(kind, teeth, 8.0, 30.0, 60.0);
        let rollers = path.rollers(5.0);
        let mut off = 0.0_f64;
        for (one, next) in rollers.iter().zip(rollers.iter().cycle().skip(1)) {
            off = off.max((one.0.distance(next.0) - 8.0).abs());
        }
        // Where a straight span meets a wheel the link turns the corner: a small part of a pitch is
        // lost to the eye.
        assert!(off < 0.4, "{kind:?} {teeth:?} is {off} mm out");
        let driven = path.meshed_turn_deg(365.0) - path.meshed_turn_deg(5.0);
        assert_abs_diff_eq!(driven, 180.0, epsilon = 1e-9);
    }
}

#[test]
fn sprockets_and_pulleys_have_their_teeth_and_leave_room_for_what_lies_in_them() {
    for kind in [LoopKind::Chain, LoopKind::Belt] {
        for teeth in [6, 17, 23, 46, 400] {
            let wheel = LoopWheel {
                kind,
                teeth,
                pitch_mm: 9.525,
            };
            let outline = wheel.outline();
            assert_eq!(outline.len() % teeth as usize, 0);
            let mut last = f64::NEG_INFINITY;
            for point in &outline[..outline.len() / teeth as usize] {
                let clock = point.x.atan2(point.y);
                assert!(
                    clock > last - 1e-9,
                    "{kind:?} {teeth}: the outline runs back"
                );
                last = clock;
                let seat = DVec2::new(
                    -(PI / f64::from(teeth)).sin(),
                    (PI / f64::from(teeth)).cos(),
                ) * wheel.pitch_radius_mm();
                if kind == LoopKind::Chain {
                    assert!(
                        point.distance(seat) >= wheel.roller_radius_mm(),
                        "a roller is in the metal"
                    );
                }
            }
        }
    }
}
