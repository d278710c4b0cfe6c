//! The flat views from outside: what is drawn stands where the reading has it, and a drag turns the
//! crank as far as the hand went.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use approx::assert_abs_diff_eq;
use common::{apart, scene_drawn, scene_engine, text_box, text_of};
use dotwise::angle::{Clock, CrankAngle, Direction};
use dotwise::drawing::cap::Cap;
use dotwise::drawing::degree_wheel::DegreeWheel;
use dotwise::drawing::gear_face::GearFace;
use dotwise::drawing::lift_curves::LiftCurves;
use dotwise::drawing::stroke_ribbon::StrokeRibbon;
use dotwise::drawing::{Anchor, Drawing, Item, Role, View, clock_of, on_clock, section};
use dotwise::engine::Assembly;
use dotwise::engine::scenes;
use dotwise::phasing::Phasing;
use glam::DVec2;

fn every() -> impl Iterator<Item = Phasing> {
    scenes::SCENES
        .iter()
        .map(|scene| Phasing::as_drawn(&scene.engine()))
}

/// The line of a role that is drawn last.
fn line_of(drawing: &Drawing, role: Role) -> (DVec2, DVec2) {
    let line = drawing.items.iter().rev().find_map(|item| match item {
        Item::Path {
            points,
            closed: false,
            pen,
        } if pen.role == role && points.len() == 2 => Some((points[0], points[1])),
        _ => None,
    });
    line.unwrap_or_else(|| panic!("a line of {role:?}"))
}

#[test]
fn a_rotor_points_where_the_reading_has_it_and_turns_the_crank_twice_as_far_as_it_is_dragged() {
    for scene in ["bench_four", "anticlockwise", "flat_four"] {
        let phasing = scene_drawn(scene);
        let cap = Cap::new(&phasing).expect("a cap");
        let middle = cap.still().size / 2.0;
        for crank in [0.0, 123.0, 500.0] {
            let reading = phasing.at(CrankAngle::new(crank));
            let clock = reading.rotor.expect("a rotor").clock.degrees();
            let (_, end) = line_of(&cap.moving(&reading), Role::Rotor);
            assert!(
                apart(clock_of(middle, end), clock) < 1e-9,
                "{scene} at {crank}°"
            );
            // Ten degrees on in the rotor's own direction.
            let sign = phasing
                .engine()
                .metric()
                .distributor
                .as_ref()
                .expect("one")
                .rotation()
                .sign();
            let turn = cap
                .drag(
                    on_clock(middle, 15.0, clock),
                    on_clock(middle, 15.0, clock),
                    on_clock(middle, 12.0, clock + sign * 10.0),
                )
                .expect("a hold");
            assert_abs_diff_eq!(turn.degrees(), 20.0, epsilon = 1e-9);
        }
        assert!(
            cap.drag(DVec2::ZERO, DVec2::ZERO, DVec2::ONE).is_none(),
            "nothing to hold in the corner"
        );
    }
}

#[test]
fn the_wheels_hand_points_at_the_phase_and_follows_the_pointer() {
    for scene in ["bench_four", "anticlockwise", "vee_eight"] {
        let phasing = scene_drawn(scene);
        for cylinder in [1, 2] {
            let wheel = DegreeWheel::new(&phasing, cylinder).expect("a wheel");
            let middle = wheel.still().size / 2.0;
            let sign = phasing.crank_direction().sign();
            let reading = phasing.at(CrankAngle::new(401.5));
            let (_, end) = line_of(&wheel.moving(&reading), Role::Now);
            let phase = reading.cylinder(cylinder).expect("it").phase.degrees();
            assert!(
                apart(sign * clock_of(middle, end), phase) < 1e-9,
                "{scene} No. {cylinder}"
            );
            let there = wheel
                .crank_pointed_at(&reading, on_clock(middle, 40.0, sign * (phase + 33.0)))
                .expect("on the wheel");
            assert_abs_diff_eq!(
                there.degrees(),
                CrankAngle::new(401.5 + 33.0).degrees(),
                epsilon = 1e-9
            );
        }
    }
    assert!(DegreeWheel::new(&scene_drawn("single"), 2).is_none());
}

#[test]
fn the_cursor_stands_at_the_crank_angle_that_its_place_is_read_as() {
    let phasing = scene_drawn("five");
    let (curves, ribbon) = (
        LiftCurves::new(&phasing, 3).expect("curves"),
        StrokeRibbon::new(&phasing),
    );
    let views: [&dyn View; 2] = [&curves, &ribbon];
    for view in views {
        for crank in [0.0, 90.0, 359.5, 719.0] {
            let reading = phasing.at(CrankAngle::new(crank));
            let (start, end) = line_of(&view.moving(&reading), Role::Now);
            let read = view.crank_at((start + end) / 2.0).expect("on the axis");
            assert_abs_diff_eq!(read.degrees(), crank, epsilon = 1e-9);
        }
        let size = view.still().size;
        assert!(view.crank_at(DVec2::new(-1.0, size.y / 2.0)).is_none());
        // From one place to another on the axis is the turn between their angles.
        let (from, to) = (DVec2::new(30.0, 20.0), DVec2::new(80.0, 25.0));
        let turn = view.drag(from, from, to).expect("a hold");
        let expected = view.crank_at(to).expect("on it").degrees()
            - view.crank_at(from).expect("on it").degrees();
        assert_abs_diff_eq!(turn.degrees(), expected, epsilon = 1e-9);
    }
}

#[test]
fn the_ribbons_rows_are_the_cylinders_in_firing_order() {
    for phasing in every() {
        let ribbon = StrokeRibbon::new(&phasing);
        let mut rows: Vec<u8> = Vec::new();
        for y in 0..=(ribbon.still().size.y * 10.0) as u32 {
            rows.extend(ribbon.cylinder_at(DVec2::new(60.0, f64::from(y) / 10.0)));
        }
        rows.dedup();
        assert_eq!(
            rows,
            phasing.engine().firing_order(),
            "{}",
            phasing.engine().name()
        );
    }
}

#[test]
fn a_wheel_dragged_turns_the_crank_by_its_teeth() {
    for phasing in every() {
        let face = GearFace::new(&phasing);
        let drive = &phasing.engine().metric().cam_drive;
        // The crank's wheel has the drawing's first dashed circle, the last wheel its last.
        let pitches: Vec<(DVec2, f64)> = face
            .still()
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Circle {
                    centre,
                    radius,
                    pen,
                } if pen.dashed => Some((*centre, *radius)),
                _ => None,
            })
            .collect();
        let (centre, radius) = pitches[0];
        let turn = face
            .drag(
                on_clock(centre, radius * 0.5, 10.0),
                on_clock(centre, radius * 0.5, 10.0),
                on_clock(centre, radius * 0.5, 15.0),
            )
            .expect("a hold");
        assert_abs_diff_eq!(
            turn.degrees(),
            5.0 * phasing.crank_direction().sign(),
            epsilon = 1e-9
        );
        let (centre, radius) = *pitches.last().expect("a cam wheel");
        let turn = face
            .drag(
                on_clock(centre, radius * 0.5, 10.0),
                on_clock(centre, radius * 0.5, 10.0),
                on_clock(centre, radius * 0.5, 15.0),
            )
            .expect("a hold");
        let ratio = f64::from(drive.cam_teeth) / f64::from(drive.crank_teeth);
        assert_abs_diff_eq!(
            turn.degrees(),
            5.0 * ratio * phasing.cam_direction().sign(),
            epsilon = 1e-9
        );
    }
}

#[test]
fn everything_drawn_stays_on_its_drawing_at_every_crank_angle() {
    for phasing in every() {
        let mut views: Vec<Box<dyn View>> = vec![
            Box::new(GearFace::new(&phasing)),
            Box::new(DegreeWheel::new(&phasing, 1).expect("No. 1")),
            Box::new(LiftCurves::new(&phasing, 1).expect("No. 1")),
            Box::new(StrokeRibbon::new(&phasing)),
            Box::new(section::FromTheFront::new(&phasing)),
            Box::new(section::AlongTheCrank::new(&phasing)),
        ];
        views.extend(Cap::new(&phasing).map(|cap| Box::new(cap) as Box<dyn View>));
        for view in &views {
            for crank in (0..720).step_by(45) {
                let drawing = view.at(&phasing.at(CrankAngle::new(f64::from(crank))));
                for item in &drawing.items {
                    let (least, most) = match item {
                        Item::Path { points, .. } => {
                            let least = points.iter().copied().reduce(DVec2::min).expect("points");
                            (
                                least,
                                points.iter().copied().reduce(DVec2::max).expect("points"),
                            )
                        }
                        Item::Circle { centre, radius, .. } => (
                            *centre - DVec2::splat(*radius),
                            *centre + DVec2::splat(*radius),
                        ),
                        Item::Arc { .. } => continue,
                        Item::Text {
                            at,
                            size,
                            text,
                            bold,
                            anchor,
                            ..
                        } => {
                            let wide = dotwise::output::fonts::width(text, *bold) * size;
                            let left = match anchor {
                                Anchor::Start => 0.0,
                                Anchor::Middle => wide / 2.0,
                                Anchor::End => wide,
                            };
                            (
                                *at - DVec2::new(left, size * 0.4),
                                *at + DVec2::new(wide - left, size * 0.4),
                            )
                        }
                    };
                    let slack = 0.5;
                    assert!(least.is_finite() && most.is_finite(), "{}", drawing.title);
                    assert!(
                        least.min_element() > -slack && (most - drawing.size).max_element() < slack,
                        "{} at {crank}°: {item:?} on {}",
                        drawing.title,
                        drawing.size
                    );
                }
            }
        }
    }
}

#[test]
fn no_word_on_the_wheels_lies_over_another_or_over_a_chain_or_is_cut_off() {
    for phasing in every() {
        let name = phasing.engine().name();
        let face = GearFace::new(&phasing);
        let loops: Vec<&Vec<DVec2>> = face
            .still()
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Path { points, pen, .. } if pen.role == Role::Metal => Some(points),
                _ => None,
            })
            .collect();
        for crank in (0..720).step_by(15) {
            let drawing = face.at(&phasing.at(CrankAngle::new(f64::from(crank))));
            let words: Vec<_> = drawing.items.iter().filter_map(text_box).collect();
            for (index, (one, text)) in words.iter().enumerate() {
                let at = format!("{name} at {crank}°: {text:?} at {one:?}");
                assert!(one[0] >= 0.5 && one[2] <= drawing.size.x - 0.5, "{at}");
                assert!(one[1] >= 0.0 && one[3] <= drawing.size.y, "{at}");
                assert!(!text.contains('…'), "{at}");
                for (other, over) in &words[..index] {
                    let apart = one[0] >= other[2]
                        || other[0] >= one[2]
                        || one[1] >= other[3]
                        || other[1] >= one[3];
                    assert!(apart, "{at} lies over {over:?}");
                }
                // Hubs are the discs of paper.
                for item in &drawing.items {
                    if let Item::Circle {
                        centre,
                        radius,
                        pen,
                    } = item
                        && pen.filled
                        && pen.role == Role::Paper
                    {
                        let nearest =
                            centre.clamp(DVec2::new(one[0], one[1]), DVec2::new(one[2], one[3]));
                        assert!(nearest.distance(*centre) > *radius, "{at} lies over a hub");
                    }
                }
                for point in loops.iter().copied().flatten() {
                    let clear = point.x < one[0]
                        || point.x > one[2]
                        || point.y < one[1]
                        || point.y > one[3];
                    assert!(clear, "{at} lies over a chain");
                }
            }
        }
        // Every run is named, or it is said on which side the slack one is.
        let said = text_of(face.still());
        let runs = loops.len() / 2;
        let is_told =
            said.matches("slack").count() == runs && said.matches("tight").count() == runs;
        let is_told_once = said.contains("seen from the crank") && said.contains("is slack");
        assert!(is_told || is_told_once, "{name}: {said}");
    }
}

#[test]
fn a_cam_put_in_a_tooth_out_shows_where_its_dot_was_drawn_and_one_as_drawn_shows_no_ghost() {
    for name in ["bench_four", "anticlockwise", "vee_eight", "five"] {
        let engine = scene_engine(name);
        let dots = |assembly: &Assembly, role: Role, crank: f64| -> Vec<DVec2> {
            let phasing = Phasing::as_built(&engine, assembly);
            let drawing = GearFace::new(&phasing).moving(&phasing.at(CrankAngle::new(crank)));
            let of = |item: &Item| match item {
                Item::Circle { centre, pen, .. } if pen.role == role => Some(*centre),
                _ => None,
            };
            drawing.items.iter().filter_map(of).collect()
        };
        let out = Assembly {
            cam_teeth: 1,
            ..Assembly::default()
        };
        for crank in [0.0, 77.0, 400.0] {
            assert!(
                dots(&Assembly::default(), Role::Ghost, crank).is_empty(),
                "{name}"
            );
            let ghosts = dots(&out, Role::Ghost, crank);
            let drawn = dots(&Assembly::default(), Role::Mark, crank);
            assert!(!ghosts.is_empty(), "{name}");
            for ghost in ghosts {
                assert!(
                    drawn.iter().any(|dot| (*dot - ghost).length() < 1e-9),
                    "{name} at {crank}: {ghost}"
                );
            }
        }
    }
}

#[test]
fn a_rotor_that_stands_or_is_held_elsewhere_shows_where_it_was_drawn() {
    let engine = scene_engine("flat_four");
    let ghosts = |assembly: &Assembly, held: Option<f64>| {
        let phasing = Phasing::as_built(&engine, assembly);
        let mut reading = phasing.at(CrankAngle::new(50.0));
        if let Some(held) = held {
            reading.rotor = phasing.rotor_held(Clock::new(held));
        }
        let drawing = Cap::new(&phasing).expect("a cap").moving(&reading);
        let tip = |points: &[DVec2]| {
            points
                .iter()
                .copied()
                .max_by(|a, b| reach(*a).total_cmp(&reach(*b)))
                .expect("points")
        };
        let of = |item: &Item| match item {
            Item::Path { points, pen, .. } if pen.role == Role::Ghost => {
                Some(clock_of(DVec2::splat(50.0), tip(points)))
            }
            _ => None,
        };
        drawing.items.iter().filter_map(of).collect::<Vec<_>>()
    };
    let drawn = Phasing::as_drawn(&engine)
        .at(CrankAngle::new(50.0))
        .rotor
        .expect("a rotor")
        .clock;
    assert!(ghosts(&Assembly::default(), None).is_empty());
    assert!(ghosts(&Assembly::default(), Some(drawn.degrees())).is_empty());
    for shown in [
        ghosts(
            &Assembly {
                drive_teeth: 1,
                ..Assembly::default()
            },
            None,
        ),
        ghosts(&Assembly::default(), Some(200.0)),
    ] {
        let [clock] = shown[..] else {
            panic!("one ghost, and {shown:?}")
        };
        assert!(
            Clock::new(clock).past(drawn, Direction::Clockwise).abs() < 6.0,
            "{clock} for {drawn:?}"
        );
    }
}

/// How far from the cap's middle.
fn reach(point: DVec2) -> f64 {
    (point - DVec2::splat(50.0)).length()
}

#[test]
fn a_camshaft_that_is_out_is_turned_by_its_own_wheel_and_turns_no_crank() {
    for phasing in every() {
        let name = phasing.engine().name();
        let camshafts: Vec<usize> = (0..phasing.engine().camshaft_count()).collect();
        let face = GearFace::with_cams_out(&phasing, &camshafts);
        let grid = || {
            let points = 0..=100;
            points
                .clone()
                .flat_map(move |x| (0..=100).map(move |y| DVec2::new(f64::from(x), f64::from(y))))
        };
        let by_the_crank = grid().filter(|at| face.drag(*at, *at, *at).is_some());
        assert!(by_the_crank.count() > 20, "{name}: the crank is still held");
        for camshaft in camshafts {
            let held: Vec<DVec2> = grid()
                .filter(|at| {
                    let cam = face.drag_cam(*at, *at, *at);
                    cam.is_some_and(|(which, _)| which == camshaft)
                })
                .collect();
            assert!(held.len() > 20, "{name}: {camshaft} is not held");
            let middle = held.iter().sum::<DVec2>() / held.len() as f64;
            assert!(face.drag(middle, middle, middle).is_none(), "{name}");
            // A quarter turn clockwise.
            let (from, to) = (middle - DVec2::Y * 5.0, middle + DVec2::X * 5.0);
            let (_, turn) = face.drag_cam(middle, from, to).expect("a camshaft");
            let wanted = 90.0 * phasing.cam_direction().sign();
            assert!((turn.degrees() - wanted).abs() < 8.0, "{name}: {turn:?}");
        }
    }
}

#[test]
fn a_wheel_that_is_out_of_mesh_is_drawn_clear_of_the_wheel_it_meshes_with() {
    let phasing = scene_drawn("bench_four");
    let reading = phasing.at(CrankAngle::new(0.0));
    let nearest = |face: &GearFace| {
        let drawing = face.at(&reading);
        let wheels: Vec<&Vec<DVec2>> = drawing
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Path { points, pen, .. } if pen.role == Role::Metal && points.len() > 100 => {
                    Some(points)
                }
                _ => None,
            })
            .collect();
        let [one, other] = wheels[..] else {
            panic!("two wheels, not {}", wheels.len())
        };
        let apart = one
            .iter()
            .flat_map(|a| other.iter().map(|b| a.distance(*b)));
        apart.fold(f64::MAX, f64::min)
    };
    let tooth = nearest(&GearFace::new(&phasing));
    let out = nearest(&GearFace::with_cams_out(&phasing, &[0]));
    assert!(tooth < 1.0 && out > 2.0, "{tooth} in mesh, {out} out");
}
