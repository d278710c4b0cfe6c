//! A flat follower on the lobe's outline, asked of parry2d: it stays in touch and is lifted by the
//! law at every angle.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use approx::assert_abs_diff_eq;
use dotwise::angle::Direction;
use dotwise::description::Valve;
use dotwise::engine::scenes;
use dotwise::geometry::lobe_outline::LobeOutline;
use dotwise::laws::Lobe;
use parry2d_f64::math::{Pose, Vector};
use parry2d_f64::query;
use parry2d_f64::shape::{ConvexPolygon, Cuboid};

fn lobes() -> Vec<Lobe> {
    vec![
        Lobe::between(348.0, 592.0, 9.5, 0.0),
        Lobe::between(128.0, 372.0, 9.0, 0.0),
        Lobe::between(358.0, 574.0, 9.4, 1.0),
        Lobe::between(300.0, 640.0, 14.0, 1.27),
        Lobe::between(340.0, 540.0, 12.0, 0.0),
        Lobe::between(360.0, 560.0, 0.5, 0.0),
    ]
}

#[test]
fn the_follower_rests_on_the_lobe_and_stands_at_the_lift_at_every_angle() {
    const HALF_FACE_MM: f64 = 60.0;
    const HALF_THICK_MM: f64 = 5.0;
    for lobe in lobes() {
        let body = LobeOutline::new(&lobe, 12.0);
        let corners: Vec<Vector> = body
            .outline(1440)
            .iter()
            .rev()
            .map(|point| Vector::new(point.x, point.y))
            .collect();
        // Taken as it is; that it is convex is asked by itself below.
        let cam =
            ConvexPolygon::from_convex_polyline_unmodified(corners).expect("a convex outline");
        let follower = Cuboid::new(Vector::new(HALF_FACE_MM, HALF_THICK_MM));
        for phase in (0..1440).map(|half_degrees| f64::from(half_degrees) / 2.0) {
            let past = body.nose_past_follower_deg(phase);
            // The cam turned clockwise until its nose is `past` the follower, which stands straight
            // up.
            let at_cam = Pose::new(Vector::new(0.0, 0.0), -past.to_radians());
            let face = body.base_radius_mm() + lobe.lift_mm(phase);
            let at_follower = Pose::new(Vector::new(0.0, face + HALF_THICK_MM + 0.5), 0.0);
            let gap =
                query::distance(&at_cam, &cam, &at_follower, &follower).expect("a distance") - 0.5;
            // Corners a quarter of a degree apart leave the chord's height between them, at most a
            // thousandth here.
            assert!(
                (-1e-6..2e-3).contains(&gap),
                "at {phase}° the follower stands {gap} mm off"
            );
        }
    }
}

/// The lobes of the engine with lobes as measured, which are not alike on both sides.
fn measured_lobes() -> [Lobe; 2] {
    let engine = scenes::find("measured_four").expect("a scene").engine();
    Valve::BOTH.map(|valve| Lobe::of(&engine.metric().valves, valve))
}

#[test]
fn a_lobe_as_measured_lifts_its_follower_within_a_tenth_of_what_was_read_whichever_way_it_turns() {
    for (lobe, direction) in measured_lobes().into_iter().flat_map(|lobe| {
        [Direction::Clockwise, Direction::CounterClockwise].map(|d| (lobe.clone(), d))
    }) {
        let body = LobeOutline::new(&lobe, 12.0).turning(direction);
        let corners = body.outline(1440);
        let mut most_mirrored = 0.0_f64;
        for phase in (0..720).map(f64::from) {
            // The shaft turned until its nose is `past` the follower, which stands straight up: how
            // high the outline comes there.
            let past = direction.sign() * body.nose_past_follower_deg(phase);
            let (sin, cos) = past.to_radians().sin_cos();
            let top = |past_sin: f64| {
                let heights = corners
                    .iter()
                    .map(|point| point.y * cos - point.x * past_sin);
                heights.fold(f64::NEG_INFINITY, f64::max) - body.base_radius_mm()
            };
            assert_abs_diff_eq!(top(sin), lobe.lift_mm(phase), epsilon = 0.1);
            most_mirrored = most_mirrored.max((top(-sin) - lobe.lift_mm(phase)).abs());
        }
        // Turned the other way it would lift otherwise: the check above can fail.
        assert!(most_mirrored > 0.15, "{most_mirrored}");
    }
}

#[test]
fn the_outline_bulges_everywhere() {
    for lobe in lobes().into_iter().chain(measured_lobes()) {
        let outline = LobeOutline::new(&lobe, 8.0).outline(2880);
        for index in 0..outline.len() {
            let [one, two, three] = [0, 1, 2].map(|next| outline[(index + next) % outline.len()]);
            assert!((two - one).perp_dot(three - two) < 0.0, "hollow at {two}");
        }
    }
}

#[test]
fn a_lobe_on_too_small_a_base_circle_is_not_convex() {
    // The same law on a base circle a third as large: the check above can fail.
    let lobe = Lobe::between(340.0, 540.0, 12.0, 0.0);
    let needed = LobeOutline::new(&lobe, 0.0).base_radius_mm();
    let bend = |base: f64| {
        base + lobe.full_lift_mm()
            - 24.0 * lobe.full_lift_mm() / (lobe.seat_duration_deg() / 2.0).to_radians().powi(2)
    };
    assert!(bend(needed) > 0.0 && bend(needed / 3.0) < 0.0);
}

#[test]
fn the_touching_point_runs_by_the_slope_of_the_lift_over_the_face() {
    // The point of touch stands off the follower's middle by the lift's slope: Norton, Design of
    // Machinery, from memory.
    let lobe = Lobe::between(348.0, 592.0, 9.5, 0.0);
    let body = LobeOutline::new(&lobe, 15.0);
    for clock in [-70.0_f64, -30.0, -5.0, 0.0, 12.0, 44.0] {
        let (sin, cos) = clock.to_radians().sin_cos();
        let touch = body.touches_at(clock);
        let off = touch.x * cos - touch.y * sin;
        let step = 1e-4_f64;
        let slope =
            (body.reach_mm(clock + step) - body.reach_mm(clock - step)) / (2.0 * step.to_radians());
        assert_abs_diff_eq!(off, slope, epsilon = 1e-5);
        assert_abs_diff_eq!(
            touch.x * sin + touch.y * cos,
            body.reach_mm(clock),
            epsilon = 1e-9
        );
    }
}
