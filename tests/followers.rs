//! Rollers and fingers on the outlines cut for them, asked of parry2d: they touch their lobe at every
//! angle, and nothing of the one is in the other.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use common::engine;
use dotwise::angle::Direction;
use dotwise::description::{Description, Follower, FollowerKind, ValveGear};
use dotwise::engine::{Engine, read, scenes};
use dotwise::geometry::Layout;
use dotwise::geometry::follower_pose::FollowerPose;
use dotwise::geometry::layout::ValveTrain;
use dotwise::geometry::lobe_outline::LobeOutline;
use dotwise::geometry::pose::Pose;
use dotwise::laws::Lobe;
use dotwise::laws::follower::FollowerShape;
use dotwise::phasing::Phasing;
use dotwise::source;
use glam::DVec2;
use parry2d_f64::math::Vector;
use parry2d_f64::query::PointQuery as _;
use parry2d_f64::shape::Polyline;

/// A closed outline for parry2d.
fn closed(corners: &[DVec2]) -> Polyline {
    let points: Vec<Vector> = corners
        .iter()
        .chain(corners.first())
        .map(|corner| Vector::new(corner.x, corner.y))
        .collect();
    Polyline::new(points, None)
}

fn turned(point: DVec2, clockwise_deg: f64) -> DVec2 {
    DVec2::from_angle(-clockwise_deg.to_radians()).rotate(point)
}

fn shapes() -> [FollowerShape; 4] {
    [
        FollowerShape::Roller { radius_mm: 4.0 },
        FollowerShape::Roller { radius_mm: 12.0 },
        FollowerShape::Finger {
            radius_mm: 9.0,
            arm_mm: 26.0,
        },
        FollowerShape::Finger {
            radius_mm: 20.0,
            arm_mm: 45.0,
        },
    ]
}

#[test]
fn a_round_follower_touches_its_lobe_at_the_lift_of_the_law_whichever_way_the_shaft_turns() {
    let lobes = [
        Lobe::between(348.0, 592.0, 9.5, 0.0),
        Lobe::between(358.0, 574.0, 9.4, 1.0),
        Lobe::between(340.0, 540.0, 12.0, 0.0),
        Lobe::between(360.0, 560.0, 0.5, 0.0),
    ];
    for (lobe, follower) in lobes
        .iter()
        .flat_map(|lobe| shapes().map(|follower| (lobe, follower)))
    {
        for direction in [Direction::Clockwise, Direction::CounterClockwise] {
            let body = LobeOutline::under(lobe, 14.0, follower).turning(direction);
            let outline = closed(&body.outline(2880));
            let radius_mm = follower.radius_mm().expect("it is round");
            for phase in (0..720).map(f64::from) {
                let past = direction.sign() * body.nose_past_follower_deg(phase);
                let centre = follower.centre_mm(body.base_radius_mm(), lobe.lift_mm(phase));
                // Seen from the lobe, whose nose has gone on clockwise by that.
                let seen = turned(centre, -past);
                let apart = outline.distance_to_local_point(Vector::new(seen.x, seen.y), false);
                let gap = apart - radius_mm;
                assert!(
                    (-2e-3..2e-3).contains(&gap),
                    "{follower:?} at {phase}°: {gap} mm off"
                );
            }
        }
    }
}

#[test]
fn a_lobe_turned_over_does_not_fit_a_finger() {
    // The check above can fail: what swings makes the flanks unlike.
    let lobe = Lobe::between(348.0, 592.0, 9.5, 0.0);
    let follower = FollowerShape::Finger {
        radius_mm: 9.0,
        arm_mm: 26.0,
    };
    let body = LobeOutline::under(&lobe, 14.0, follower);
    let over: Vec<DVec2> = body
        .outline(2880)
        .iter()
        .map(|corner| DVec2::new(-corner.x, corner.y))
        .collect();
    let wrong = closed(&over);
    let worst = (0..720).map(f64::from).fold(0.0, |worst: f64, phase| {
        let centre = follower.centre_mm(body.base_radius_mm(), lobe.lift_mm(phase));
        let seen = turned(centre, -body.nose_past_follower_deg(phase));
        let apart = wrong.distance_to_local_point(Vector::new(seen.x, seen.y), false);
        worst.max((apart - 9.0).abs())
    });
    assert!(worst > 0.05, "{worst}");
}

/// Every built-in engine, with the follower that is described for it and with each kind.
fn every_engine() -> Vec<(String, Description)> {
    let kinds = [
        None,
        Some(FollowerKind::Flat),
        Some(FollowerKind::Roller),
        Some(FollowerKind::Finger),
    ];
    scenes::SCENES
        .iter()
        .flat_map(|scene| {
            kinds.map(|kind| {
                let mut description = scene.engine().written().clone();
                if let Some(kind) = kind {
                    description.valves.follower = Some(Follower {
                        kind,
                        radius: None,
                        length: None,
                    });
                }
                (format!("{} {kind:?}", scene.name), description)
            })
        })
        .collect()
}

#[test]
fn every_roller_and_finger_of_the_model_rides_on_its_lobe_over_two_turns() {
    let mut round = 0;
    for (name, description) in every_engine() {
        let engine = engine(description);
        let layout = Layout::of(&engine);
        let Some(radius_mm) = layout.follower.radius_mm() else {
            continue;
        };
        round += 1;
        let phasing = Phasing::as_drawn(&engine);
        // A lobe as measured is cut smoothed, and its valve moves as read: tests/lobes.rs holds it to
        // a tenth.
        let is_measured = phasing.intake().as_measured().is_some();
        let most_mm = if is_measured { 0.1 } else { 0.02 };
        let outlines = [&layout.intake_lobe, &layout.exhaust_lobe].map(|lobe| {
            let corners = lobe.outline(720);
            let scaled: Vec<DVec2> = corners.iter().map(|c| *c * layout.lobe_scale).collect();
            (closed(&scaled), lobe.base_radius_mm() * layout.lobe_scale)
        });
        for turned_deg in (0..720).step_by(9).map(f64::from) {
            let pose = Pose::at(&phasing, turned_deg);
            for (place, cylinder) in layout.cylinders.iter().zip(&pose.cylinders) {
                let valves = [
                    (&place.intake, cylinder.intake_mm),
                    (&place.exhaust, cylinder.exhaust_mm),
                ];
                for ((valve, lift_mm), (outline, base_mm)) in valves.into_iter().zip(&outlines) {
                    let follower_deg = match layout.train {
                        ValveTrain::PushRod { .. } => place.bank_deg,
                        ValveTrain::Overhead => place.bank_deg + 180.0,
                    };
                    let follower =
                        FollowerPose::at(&layout, valve, follower_deg, *base_mm, lift_mm);
                    let cam = &layout.cams[valve.cam];
                    let seen = turned(
                        follower.centre - cam.centre,
                        -(valve.nose_deg + pose.cams_clockwise_deg[cam.camshaft]),
                    );
                    let apart = outline.distance_to_local_point(Vector::new(seen.x, seen.y), false);
                    let gap = apart - radius_mm;
                    assert!(
                        gap.abs() < most_mm,
                        "{name}, No. {} at {turned_deg}°: {gap} mm off",
                        place.number
                    );
                }
            }
        }
    }
    assert!(round > 32, "{round}");
}

#[test]
fn a_camshaft_over_the_valves_has_lobes_of_usual_size() {
    let mut overhead = 0;
    for scene in &scenes::SCENES {
        let layout = Layout::of(&scene.engine());
        if layout.train != ValveTrain::Overhead {
            assert_eq!(layout.follower, FollowerShape::Flat, "{}", scene.name);
            continue;
        }
        overhead += 1;
        assert!(matches!(layout.follower, FollowerShape::Finger { .. }));
        let bore = layout.measures.bore_mm;
        for lobe in [&layout.intake_lobe, &layout.exhaust_lobe] {
            // Base circles of 28 to 40 mm on a bore of 80 are common: common practice, no source.
            let part = lobe.base_radius_mm() / bore;
            assert!(
                (0.15..0.30).contains(&part),
                "{}: {part} of the bore",
                scene.name
            );
        }
    }
    assert!(overhead >= 2, "{overhead}");
}

fn with(kind: FollowerKind, radius: Option<f64>) -> Description {
    let mut description = scenes::BENCH.engine().written().clone();
    description.valves.gear = Some(ValveGear::PushRod);
    description.valves.follower = Some(Follower {
        kind,
        radius,
        length: None,
    });
    description
}

#[test]
fn a_roller_too_large_for_its_lobe_is_found_and_one_of_usual_size_is_not() {
    let found = |radius| {
        let (_, findings) = Engine::new(with(FollowerKind::Roller, Some(radius))).expect("one");
        findings
            .iter()
            .any(|finding| finding.name == "FollowerTooLarge")
    };
    assert!(!found(9.0) && !found(12.0));
    assert!(found(60.0));
}

#[test]
fn written_and_read_again_it_is_the_same_follower() {
    for kind in [
        FollowerKind::Flat,
        FollowerKind::Roller,
        FollowerKind::Finger,
    ] {
        for radius in [None, Some(9.0)] {
            let description = with(kind, radius);
            let text = source::write(&description).expect("written");
            assert_eq!(read::engine(&text).description, Some(description));
        }
    }
}
