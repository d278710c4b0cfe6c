//! Values from outside: each with the text it was taken from. Where that says 'from memory', the
//! text was not at hand; 'common practice, no source' is what builders hold to be so.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use approx::assert_abs_diff_eq;
use common::{at, bench, drawn, engine, laid_out, scene_drawn, scene_engine};
use dotwise::angle::{CrankTurn, Direction};
use dotwise::description::{
    Coupling, Description, DriveKind, DrivenBy, EventsForm, Exhaust, Hand, Helix, Intake, Valve,
};
use dotwise::engine::Assembly;
use dotwise::engine::{Engine, scenes};
use dotwise::laws::{Lobe, SliderCrank, firing, gear_train, ignition};
use dotwise::phasing::{Card, DeadCentre, Phasing, Stroke};

// ---- crank, rod and piston

#[test]
fn an_offset_slider_crank_has_the_published_reach_and_stroke() {
    // r 30, l 50, e 10: longest and shortest reach 79.37 and 17.32, stroke 62.05. GATE Mechanical
    // 2025, question 60.
    for offset in [10.0, -10.0] {
        let slider = SliderCrank::new(60.0, 50.0, offset);
        let longest = slider.pin_height_mm(slider.tdc_deg());
        assert_abs_diff_eq!(longest, 79.37, epsilon = 0.005);
        assert_abs_diff_eq!(longest - slider.travel_mm(), 17.32, epsilon = 0.005);
        assert_abs_diff_eq!(slider.travel_mm(), 62.05, epsilon = 0.005);
    }
}

#[test]
fn a_static_timing_sheet_gives_the_same_drop() {
    // Stroke 6.0 in, rod 12.0 in, 19° before TDC: 0.2032 in, further places cut off. TM
    // 5-6115-593-34, static timing sheet (bore, stroke and rod from memory).
    let drop_in = SliderCrank::new(6.0 * 25.4, 12.0 * 25.4, 0.0).drop_mm(-19.0) / 25.4;
    assert_eq!((drop_in * 1e4).floor() / 1e4, 0.2032);
}

#[test]
fn a_textbook_crank_has_its_pin_where_the_textbook_has_it() {
    // Crank 4.30 cm, rod 16.6 cm, 20° after TDC: pin 20.58 cm from the crank centre, 0.32 cm below
    // TDC. Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine, example 2-1, from
    // memory.
    let slider = SliderCrank::new(86.0, 166.0, 0.0);
    assert_abs_diff_eq!(slider.pin_height_mm(20.0) / 10.0, 20.58, epsilon = 0.005);
    assert_abs_diff_eq!(slider.drop_mm(20.0) / 10.0, 0.32, epsilon = 0.005);
}

#[test]
fn dead_centres_with_an_offset_stand_where_crank_and_rod_are_in_line() {
    // Söylemez, Mechanisms, §7.2: TDC at asin(e / (l + r)), BDC at 180° + asin(e / (l − r)).
    let (radius, rod, pin_y) = (45.0, 140.0, 10.0);
    let slider = SliderCrank::new(2.0 * radius, rod, -pin_y);
    assert_abs_diff_eq!(
        slider.tdc_deg(),
        (pin_y / (rod + radius)).asin().to_degrees(),
        epsilon = 1e-12
    );
    assert_abs_diff_eq!(
        slider.tdc_deg() + slider.down_stroke_deg(),
        180.0 + (pin_y / (rod - radius)).asin().to_degrees(),
        epsilon = 1e-12
    );
    // In line the pin is as far as crank and rod reach.
    assert_abs_diff_eq!(
        slider.pin_height_mm(slider.tdc_deg()).hypot(pin_y),
        rod + radius,
        epsilon = 1e-9
    );
}

#[test]
fn equal_drops_stand_equally_either_side_of_tdc_and_an_offset_moves_their_middle_a_little() {
    // A stop met at 36.75° and 35.25°: TDC midway, 36° each; common practice, no source. It holds
    // without offset.
    let middle = |pin_offset: f64, drop: f64| {
        let slider = SliderCrank::new(90.0, 140.0, pin_offset);
        let [after, before] = [false, true].map(|before| {
            slider
                .degrees_for_drop(drop, before)
                .expect("within the stroke")
        });
        (after - before) / 2.0
    };
    assert_abs_diff_eq!(middle(0.0, 10.0), 0.0, epsilon = 1e-9);
    // r 45, l 140, stop 10 mm down: e 1.5 gives 0.027°, e 10 gives 0.177°. Reckoned apart from this
    // program.
    assert_abs_diff_eq!(middle(1.5, 10.0).abs(), 0.027, epsilon = 5e-4);
    assert_abs_diff_eq!(middle(10.0, 10.0).abs(), 0.177, epsilon = 5e-4);
}

// ---- firing

/// Firing angles by cylinder number.
fn fires(description: &Description) -> Vec<(u32, f64)> {
    let angles = firing::firing_angles(description).expect("a crank that gives the order");
    description
        .firing_order
        .iter()
        .copied()
        .zip(angles)
        .collect()
}

fn intervals(description: &Description) -> Vec<f64> {
    firing::intervals(&firing::firing_angles(description).expect("a crank that gives the order"))
}

fn inline_six() -> Description {
    laid_out(
        &[
            (0.0, &[1]),
            (240.0, &[2]),
            (120.0, &[3]),
            (120.0, &[4]),
            (240.0, &[5]),
            (0.0, &[6]),
        ],
        &[(0.0, &[1, 2, 3, 4, 5, 6])],
        &[1, 5, 3, 6, 2, 4],
    )
}

#[test]
fn the_handbooks_firing_orders_can_be_given_and_are_even() {
    // FAA-H-8083-32, powerplant handbook, chapter 1: inline six 1-5-3-6-2-4; flat four 1-4-2-3 and
    // 1-3-2-4; flat six 1-4-5-2-3-6. The throws are the usual ones for each, common practice, no
    // source.
    assert_eq!(intervals(&inline_six()), [120.0; 6]);
    for order in [[1, 4, 2, 3], [1, 3, 2, 4]] {
        let throws: [(f64, &[u32]); 4] = [(0.0, &[1]), (180.0, &[2]), (180.0, &[3]), (0.0, &[4])];
        assert_eq!(
            intervals(&laid_out(
                &throws,
                &[(90.0, &[1, 3]), (270.0, &[2, 4])],
                &order
            )),
            [180.0; 4]
        );
    }
    assert_eq!(intervals(scene_engine("flat_six").written()), [120.0; 6]);
}

#[test]
fn an_inline_five_fires_every_144_degrees() {
    // 1-2-4-5-3, throws at 72° steps; common practice, no source.
    let five = scene_engine("five");
    assert_eq!(five.firing_order(), [1, 2, 4, 5, 3]);
    assert_eq!(intervals(five.written()), [144.0; 5]);
    for throw in &five.written().crankshaft.throws {
        assert_eq!(throw.angle.rem_euclid(72.0), 0.0);
    }
}

#[test]
fn with_no_1_on_power_a_1_3_4_2_has_3_on_compression_4_on_intake_and_2_on_exhaust() {
    // Common practice, no source.
    let reading = at(&drawn(bench()), 90.0);
    let strokes: Vec<Stroke> = reading
        .cylinders
        .iter()
        .map(|cylinder| cylinder.stroke)
        .collect();
    assert_eq!(
        strokes,
        [
            Stroke::Power,
            Stroke::Exhaust,
            Stroke::Compression,
            Stroke::Intake
        ]
    );
}

#[test]
fn the_running_mates_of_a_six_are_1_6_and_5_2_and_3_4() {
    // Inline six 1-5-3-6-2-4; at TDC together, one firing, one on overlap; common practice, no
    // source.
    let six = engine(inline_six());
    for (one, other) in [(1, 6), (5, 2), (3, 4)] {
        assert_eq!(six.running_mate(one), Some(other));
        assert_eq!(six.running_mate(other), Some(one));
        let phasing = Phasing::as_drawn(&six);
        let reading = phasing.at(phasing.cylinder(one).expect("a cylinder").fires);
        assert_eq!(
            reading
                .cylinder(one)
                .and_then(|cylinder| cylinder.dead_centre),
            Some(DeadCentre::FiringTdc)
        );
        assert_eq!(
            reading
                .cylinder(other)
                .and_then(|cylinder| cylinder.dead_centre),
            Some(DeadCentre::OverlapTdc)
        );
    }
}

#[test]
fn a_cross_plane_eight_fires_every_90_degrees() {
    // 90° V8, 1-8-4-3-6-5-7-2, odd numbers left, throws 0-90-270-180 along the shaft; common
    // practice, no source. Left is the driver's, looking forwards: seen from the front it is the
    // bank on the right.
    let eight = laid_out(
        &[
            (0.0, &[1, 2]),
            (90.0, &[3, 4]),
            (270.0, &[5, 6]),
            (180.0, &[7, 8]),
        ],
        &[(45.0, &[1, 3, 5, 7]), (-45.0, &[2, 4, 6, 8])],
        &[1, 8, 4, 3, 6, 5, 7, 2],
    );
    assert_eq!(intervals(&eight), [90.0; 8]);
}

#[test]
fn a_90_degree_vee_six_fires_unevenly_on_shared_pins_and_evenly_on_split_ones() {
    // Three shared pins: 90 and 150 in turn; pins split by 30°: even 120; common practice, no
    // source.
    let left_and_right: [(f64, &[u32]); 2] = [(-45.0, &[1, 3, 5]), (45.0, &[2, 4, 6])];
    let shared = laid_out(
        &[(0.0, &[1, 2]), (120.0, &[3, 4]), (240.0, &[5, 6])],
        &left_and_right,
        &[1, 2, 3, 4, 5, 6],
    );
    let mut turns = intervals(&shared);
    if turns[0] > turns[1] {
        turns.rotate_left(1);
    }
    assert_eq!(turns, [90.0, 150.0, 90.0, 150.0, 90.0, 150.0]);
    let split = laid_out(
        &[
            (0.0, &[1]),
            (-30.0, &[2]),
            (120.0, &[3]),
            (90.0, &[4]),
            (240.0, &[5]),
            (210.0, &[6]),
        ],
        &left_and_right,
        &[1, 2, 3, 4, 5, 6],
    );
    assert_eq!(intervals(&split), [120.0; 6]);
}

#[test]
fn a_45_degree_vee_twin_on_one_pin_fires_at_315_and_405() {
    // Common practice, no source. Which comes first depends on which cylinder is No. 1.
    let twin = |first: f64, second: f64| {
        laid_out(&[(0.0, &[1, 2])], &[(first, &[1]), (second, &[2])], &[1, 2])
    };
    assert_eq!(intervals(&twin(22.5, -22.5)), [315.0, 405.0]);
    // The other way round the order alone would let No. 2 fire after 45°: here the angles must be
    // given.
    let mut other = twin(-22.5, 22.5);
    other.firing_angles = Some(vec![0.0, 405.0]);
    assert_eq!(intervals(&other), [405.0, 315.0]);
}

#[test]
fn a_cylinder_comes_to_tdc_by_its_bank_and_throw_less_those_of_no_1() {
    // s (γ₂ − γ₁ − (β₂ − β₁)): −45 − 45 − (100 − 30) = −160, and 160 the other way round.
    let mut d = laid_out(
        &[(30.0, &[1]), (100.0, &[2])],
        &[(45.0, &[1]), (-45.0, &[2])],
        &[1, 2],
    );
    assert_eq!(firing::tdc_of(&d, 2), Some(200.0));
    d.crankshaft.rotation = Some(Direction::CounterClockwise);
    assert_eq!(firing::tdc_of(&d, 2), Some(160.0));
    // A hundred-millionth of a degree before the whole turn is rounding, and is none.
    let d = laid_out(&[(0.0, &[1]), (1e-8, &[2])], &[(0.0, &[1, 2])], &[1, 2]);
    assert_eq!(firing::tdc_of(&d, 2), Some(0.0));
    assert_eq!(firing::tdc_of(&d, 3), None);
}

#[test]
fn given_firing_angles_must_each_be_a_tdc_of_their_cylinder_and_come_in_turn() {
    use firing::CannotFire::{NotItsTdc, OutOfTurn};
    let given = |order: [u32; 4], angles: [f64; 4]| {
        let mut d = bench();
        d.firing_order = order.to_vec();
        d.firing_angles = Some(angles.to_vec());
        firing::firing_angles(&d)
    };
    let order = [1, 3, 4, 2];
    // Half a degree off is how a mark is read; what counts is the TDC itself.
    let right = Ok(vec![0.0, 180.0, 360.0, 540.0]);
    assert_eq!(given(order, [0.0, 180.4, 359.6, 540.0]), right);
    let off = NotItsTdc {
        index: 1,
        nearest_deg: 180.0,
    };
    assert_eq!(given(order, [0.0, 180.6, 360.0, 540.0]), Err(off));
    assert!(matches!(
        given(order, [0.0, f64::NAN, 360.0, 540.0]),
        Err(NotItsTdc { index: 1, .. })
    ));
    for (angles, index) in [
        ([360.0, 540.0, 0.0, 180.0], 0),
        ([0.0, 540.0, 360.0, 180.0], 2),
        ([0.0, 180.0, 360.0, 900.0], 3),
        ([0.0, 180.0, 720.0, 540.0], 2),
    ] {
        assert_eq!(given(order, angles), Err(OutOfTurn { index }), "{angles:?}");
    }
    // Two may fire together.
    let together = [0.0, 180.0, 180.0, 360.0];
    assert_eq!(given([1, 3, 2, 4], together), Ok(together.to_vec()));
}

#[test]
fn the_intervals_of_every_scene_sum_to_720() {
    for scene in &scenes::SCENES {
        assert_abs_diff_eq!(
            intervals(scene.engine().written()).iter().sum::<f64>(),
            720.0,
            epsilon = 1e-9
        );
    }
}

#[test]
fn a_rotation_named_from_the_other_end_has_the_opposite_name() {
    // DIN 73021 looks from the end opposite the power output, as here; ISO 1204:1990 as makers use
    // it from the driving end: the two call the same rotation by opposite names. So the same engine
    // described from behind (mirrored) reads the same.
    let five = scene_engine("five").written().clone();
    let mut from_behind = five.clone();
    from_behind.crankshaft.rotation = Some(Direction::CounterClockwise);
    from_behind
        .crankshaft
        .throws
        .iter_mut()
        .for_each(|throw| throw.angle = -throw.angle);
    assert_eq!(fires(&five), fires(&from_behind));
    // And a direction taken from the wrong end gives another engine: one that cannot give the
    // order.
    let mut wrong_end = five;
    wrong_end.crankshaft.rotation = Some(Direction::CounterClockwise);
    assert!(firing::firing_angles(&wrong_end).is_err());
}

// ---- valve timing

/// The bench engine with events opens BTDC, closes ABDC, opens BBDC, closes ATDC.
fn with_events(events: [f64; 4]) -> Description {
    let mut description = bench();
    description.valves.intake = Intake::angles(events[0], events[1], 9.0);
    description.valves.exhaust = Exhaust::angles(events[2], events[3], 9.0);
    description
}

/// Its card, the same in whatever form the events are written.
fn card(events: [f64; 4]) -> Card {
    let description = with_events(events);
    let card = Card::of(&drawn(description.clone()));
    for form in EventsForm::ALL {
        let mut other = description.clone();
        other.valves = description.valves.in_form(form).expect("any form");
        assert_eq!(other.valves.form(Valve::Intake), Ok(form));
        assert_eq!(Card::of(&drawn(other)), card, "as {}", form.word());
    }
    card
}

#[test]
fn a_cam_card_is_read_as_a_trade_article_reads_it() {
    // 31/63/77/29: durations 274 and 286, centres 106 and 114; hence separation 110, overlap 60, 4°
    // advanced. A trade article on reading cam cards, 2023.
    let card = card([31.0, 63.0, 77.0, 29.0]);
    assert_eq!(
        (card.intake_duration_deg, card.exhaust_duration_deg),
        (274.0, 286.0)
    );
    assert_eq!(
        (card.intake_centre_deg, card.exhaust_centre_deg),
        (106.0, 114.0)
    );
    assert_eq!(
        (
            card.separation_cam_deg,
            card.overlap_deg,
            card.ground_advance_deg
        ),
        (110.0, 60.0, 4.0)
    );
}

#[test]
fn advancing_a_cam_moves_all_events_and_leaves_separation_and_overlap() {
    // 20/60/60/20: 260/260; 5° advanced 25-55/65-15; 5° retarded 15-65/55-25. Trade forum, common
    // practice.
    let straight = card([20.0, 60.0, 60.0, 20.0]);
    assert_eq!(
        (
            straight.intake_duration_deg,
            straight.exhaust_duration_deg,
            straight.ground_advance_deg
        ),
        (260.0, 260.0, 0.0)
    );
    for (events, advance) in [
        ([25.0, 55.0, 65.0, 15.0], 5.0),
        ([15.0, 65.0, 55.0, 25.0], -5.0),
    ] {
        let moved = card(events);
        assert_eq!(
            (moved.intake_duration_deg, moved.exhaust_duration_deg),
            (260.0, 260.0)
        );
        assert_eq!(
            (moved.separation_cam_deg, moved.overlap_deg),
            (straight.separation_cam_deg, straight.overlap_deg)
        );
        assert_eq!(moved.ground_advance_deg, advance);
    }
}

#[test]
fn a_cam_put_in_a_tooth_advanced_opens_where_a_card_so_much_advanced_says() {
    // The same row asked of a camshaft that is moved, not of one that is ground so: 72 teeth make
    // 10° of crank a tooth.
    let mut description = with_events([20.0, 60.0, 60.0, 20.0]);
    (
        description.cam_drive.crank_teeth,
        description.cam_drive.cam_teeth,
    ) = (36, 72);
    let moved = Phasing::as_built(
        &engine(description),
        &Assembly {
            cam_teeth: 1,
            ..Assembly::default()
        },
    );
    let ground = drawn(with_events([30.0, 50.0, 70.0, 10.0]));
    for degrees in 0..720 {
        let [one, other] =
            [&moved, &ground].map(|phasing| at(phasing, f64::from(degrees) + 0.5).cylinders[0]);
        assert_eq!(
            (one.intake.open, one.exhaust.open),
            (other.intake.open, other.exhaust.open),
            "{degrees}"
        );
        assert_abs_diff_eq!(one.intake.lift_mm, other.intake.lift_mm, epsilon = 1e-9);
    }
}

#[test]
fn overlap_is_opening_and_closing_added() {
    // 28 and 45: 73. TM 9-8000, Principles of Automotive Vehicles, figures 2-54 and 2-55. The other
    // two events are free there.
    assert_eq!(card([28.0, 60.0, 60.0, 45.0]).overlap_deg, 73.0);
    // −15/35/40/10: the inlet opens after TDC, overlap −5. Rathbun, Gas, Gasoline and Oil Engines
    // handbook, §138.
    let late = card([-15.0, 35.0, 40.0, 10.0]);
    assert_eq!(late.overlap_deg, -5.0);
    let reading = at(&drawn(with_events([-15.0, 35.0, 40.0, 10.0])), 372.0).cylinders[0];
    assert!(
        reading.sealed(),
        "both shut between the exhaust's closing and the inlet's opening"
    );
}

#[test]
fn from_spark_to_intake_opening_is_373_degrees() {
    // Spark 28° BTDC to intake opening 15° BTDC: 373°. FAA powerplant test item.
    let mut description = with_events([15.0, 60.0, 60.0, 20.0]);
    description.ignition.static_advance = 28.0;
    let phasing = drawn(description);
    let spark = phasing.cylinder(1).expect("No. 1").spark.degrees();
    assert_abs_diff_eq!(
        (phasing.intake().opens_deg() - spark).rem_euclid(720.0),
        373.0,
        epsilon = 1e-9
    );
}

// ---- the lift law

#[test]
fn the_single_dwell_polynomial_has_the_published_ordinates_and_peaks() {
    // x, s/h: .1 .046656, .2 .262144, .3 .592704, .4 .884736; peaks 3.43460 h/β, +19.2 and −24
    // h/β². Norton's example: rise 1 in in β/2 of 180°, 15 rad/s: 547 in/s². R. L. Norton, Design
    // of Machinery, single dwell 3-4-5-6, from memory.
    let lobe = Lobe::between(300.0, 500.0, 1.0, 0.0);
    for (x, lift) in [
        (0.1, 0.046_656),
        (0.2, 0.262_144),
        (0.3, 0.592_704),
        (0.4, 0.884_736),
        (0.5, 1.0),
    ] {
        assert_abs_diff_eq!(lobe.lift_mm(300.0 + 200.0 * x), lift, epsilon = 1e-9);
        assert_abs_diff_eq!(lobe.lift_mm(500.0 - 200.0 * x), lift, epsilon = 1e-9);
    }
    let over = |law: &dyn Fn(f64) -> f64| {
        (0..=200_000)
            .map(|index| law(300.0 + f64::from(index) / 1000.0))
            .fold(f64::MIN, f64::max)
    };
    let under = |law: &dyn Fn(f64) -> f64| -over(&|phase| -law(phase));
    assert_abs_diff_eq!(
        over(&|phase| lobe.velocity_mm_per_deg(phase)) * 200.0,
        3.43460,
        epsilon = 5e-6
    );
    let acceleration = |phase| lobe.acceleration_mm_per_deg2(phase) * 200.0 * 200.0;
    assert_abs_diff_eq!(over(&acceleration), 19.2, epsilon = 1e-5);
    assert_abs_diff_eq!(under(&acceleration), -24.0, epsilon = 1e-9);
    // The whole of rise and fall in 180° of cam at 15 rad/s.
    assert_abs_diff_eq!(
        24.0 / std::f64::consts::PI.powi(2) * 15.0_f64.powi(2),
        547.0,
        epsilon = 0.5
    );
    let half_turn_of_cam = Lobe::between(0.0, 360.0, 1.0, 0.0);
    let a_second = (15.0_f64.to_degrees() * 2.0).powi(2);
    assert_abs_diff_eq!(
        half_turn_of_cam.acceleration_mm_per_deg2(180.0) * a_second,
        -547.0,
        epsilon = 0.5
    );
}

#[test]
fn velocity_and_acceleration_are_the_slopes_of_lift_and_velocity() {
    let lobe = Lobe::between(348.0, 592.0, 9.5, 1.0);
    let step = 1e-4;
    for phase in (0..720).map(f64::from) {
        let slope =
            |law: &dyn Fn(f64) -> f64| (law(phase + step) - law(phase - step)) / (2.0 * step);
        assert_abs_diff_eq!(
            lobe.velocity_mm_per_deg(phase),
            slope(&|phase| lobe.lift_mm(phase)),
            epsilon = 1e-7
        );
        assert_abs_diff_eq!(
            lobe.acceleration_mm_per_deg2(phase),
            slope(&|phase| lobe.velocity_mm_per_deg(phase)),
            epsilon = 1e-6
        );
    }
}

#[test]
fn events_quoted_at_a_lift_are_where_the_law_comes_to_it() {
    let lobe = Lobe::between(358.0, 574.0, 9.4, 1.0);
    assert_abs_diff_eq!(lobe.lift_mm(358.0), 1.0, epsilon = 1e-9);
    assert_abs_diff_eq!(lobe.lift_mm(574.0), 1.0, epsilon = 1e-9);
    assert!(lobe.seat_duration_deg() > 216.0);
    // Open is off its seat, at whatever lift the events are quoted.
    let (leaves, seat_deg) = (lobe.leaves_seat_deg(), lobe.seat_duration_deg());
    let comes_back = leaves + seat_deg;
    assert!(
        !lobe.at(leaves - 0.01).open
            && lobe.at(leaves + 0.01).open
            && lobe.at(comes_back - 0.01).open
            && !lobe.at(comes_back + 0.01).open
    );
}

// ---- gears

#[test]
fn a_hunting_pair_repeats_after_the_published_turns() {
    // 10 × 30 every 3 turns of the pinion, 12 × 30 every 5, 11 × 30 every 30; turns = z₂ / gcd.
    // Machinery's Handbook, recomputed.
    for (pinion, wheel, turns) in [(10, 30, 3), (12, 30, 5), (11, 30, 30)] {
        assert_eq!(wheel / gear_train::gcd(pinion, wheel), turns);
    }
    // An exact 2:1 pair never hunts: its marks meet every two turns.
    let mut drive = bench().cam_drive;
    for crank_teeth in 6..=100 {
        (drive.crank_teeth, drive.cam_teeth) = (crank_teeth, 2 * crank_teeth);
        assert_eq!(gear_train::turns_between_meetings(&drive), 2);
    }
}

#[test]
fn an_idler_brings_its_mark_back_after_as_many_turns_as_counting_teeth_gives() {
    // Counted, not computed: turn by turn until crank, idler and cam all stand as they stood.
    let mut drive = bench().cam_drive;
    for (crank, idler) in [
        (24_u64, 31_u64),
        (24, 24),
        (24, 36),
        (25, 40),
        (20, 30),
        (18, 45),
        (21, 28),
    ] {
        (drive.crank_teeth, drive.cam_teeth, drive.idler_teeth) =
            (crank as u32, 2 * crank as u32, vec![idler as u32]);
        let counted = (1_u64..)
            .find(|turns| turns.is_multiple_of(2) && (turns * crank).is_multiple_of(idler))
            .expect("some time");
        assert_eq!(
            gear_train::turns_between_meetings(&drive),
            counted,
            "{crank} {idler}"
        );
    }
}

#[test]
fn gears_in_a_line_are_half_a_module_apart_for_each_tooth_and_an_idler_counts_twice() {
    let mut drive = bench().cam_drive;
    assert_abs_diff_eq!(gear_train::teeth_between(&drive), 25.0 + 50.0);
    drive.idler_teeth = vec![30, 17];
    assert_abs_diff_eq!(gear_train::teeth_between(&drive), 25.0 + 60.0 + 34.0 + 50.0);
}

#[test]
fn backlash_turns_the_cam_by_backlash_over_radius() {
    // Backlash 0.1 mm at radius 20 mm: 0.28648°. Arithmetic.
    let mut drive = bench().cam_drive;
    (
        drive.crank_teeth,
        drive.cam_teeth,
        drive.module,
        drive.backlash,
    ) = (10, 20, Some(2.0), Some(0.1));
    assert_abs_diff_eq!(
        gear_train::cam_play(&drive).expect("play").degrees(),
        0.286_48,
        epsilon = 5e-6
    );
    assert_abs_diff_eq!(
        gear_train::crank_play(&drive).expect("play").degrees(),
        0.572_96,
        epsilon = 5e-6
    );
}

#[test]
fn a_skew_drive_turns_the_rotor_by_travel_over_its_lead() {
    // Lead = π d / tan(helix); 12 mm of travel, 45°, radius 16 mm: 42.972°; 10, 45°, 15: 38.197°;
    // 20, 30°, 12: 55.133°. SDP/SI, Elements of Metric Gear Technology, §7.
    for (travel, angle, radius, turn) in [
        (12.0, 45.0_f64, 16.0, 42.972),
        (10.0, 45.0, 15.0, 38.197),
        (20.0, 30.0, 12.0, 55.133),
    ] {
        let helix = |hand| Helix {
            angle,
            hand,
            travel,
            pitch_diameter: 2.0 * radius,
        };
        assert_abs_diff_eq!(
            ignition::helix_turn_deg(&helix(Hand::Right)),
            turn,
            epsilon = 5e-4
        );
        assert_abs_diff_eq!(
            ignition::helix_turn_deg(&helix(Hand::Left)),
            -turn,
            epsilon = 5e-4
        );
        let lead = std::f64::consts::PI * 2.0 * radius / angle.to_radians().tan();
        assert_abs_diff_eq!(360.0 * travel / lead, turn, epsilon = 5e-4);
    }
}

#[test]
fn a_cam_turns_against_the_crank_for_gears_and_with_it_for_chain_belt_or_an_idler() {
    // Common practice, no source.
    let mut drive = bench().cam_drive;
    let way = |drive: &_| gear_train::cam_direction(drive, Direction::Clockwise);
    assert_eq!(way(&drive), Direction::CounterClockwise);
    drive.idler_teeth = vec![30];
    assert_eq!(way(&drive), Direction::Clockwise);
    drive.idler_teeth = vec![30, 30];
    assert_eq!(way(&drive), Direction::CounterClockwise);
    drive.idler_teeth.clear();
    for kind in [DriveKind::Chain, DriveKind::Belt] {
        drive.kind = kind;
        assert_eq!(way(&drive), Direction::Clockwise);
    }
}

// ---- distributor

#[test]
fn towers_stand_90_degrees_apart_for_four_and_45_for_eight() {
    // Within 2°: TM 5-4210-230-14&P-1.
    for (scene, apart) in [("bench_four", 90.0), ("vee_eight", 45.0)] {
        let phasing = scene_drawn(scene);
        let towers = phasing.towers();
        for (one, next) in towers.iter().zip(towers.iter().cycle().skip(1)) {
            assert_abs_diff_eq!(
                (next.degrees() - one.degrees()).rem_euclid(360.0),
                apart,
                epsilon = 1e-9
            );
        }
    }
}

#[test]
fn timing_marks_are_laid_out_by_circumference_times_degrees_over_360() {
    // TM 5-3895-382-24, table 13: one tooth of a 56-tooth cam gear (inferred) is 23, 35 and 37 mm
    // on pulleys of 203, 310, 327 mm.
    for (diameter, mark) in [(203.0, 23.0), (310.0, 35.0), (327.0, 37.0)] {
        let mut description = bench();
        (
            description.cam_drive.crank_teeth,
            description.cam_drive.cam_teeth,
        ) = (28, 56);
        description.pulley_diameter = Some(diameter);
        // As much static advance as one tooth is worth, so that the card lays out that arc.
        description.ignition.static_advance =
            gear_train::crank_per_cam_tooth(&description.cam_drive).degrees();
        let arc = Card::of(&drawn(description))
            .static_advance_on_pulley_mm
            .expect("a pulley");
        assert_abs_diff_eq!(arc, mark, epsilon = 0.7);
        assert_abs_diff_eq!(
            arc,
            std::f64::consts::PI * diameter * (720.0 / 56.0) / 360.0,
            epsilon = 1e-9
        );
    }
}

#[test]
fn one_tooth_of_a_13_tooth_drive_is_27_692_of_rotor_and_55_385_of_crank() {
    // Arithmetic: 360 / 13 and 720 / 13.
    let description = bench();
    let tooth = ignition::rotor_tooth(description.distributor.as_ref().expect("a distributor"));
    assert_abs_diff_eq!(tooth.degrees(), 27.692, epsilon = 5e-4);
    assert_abs_diff_eq!(tooth.at_crank().degrees(), 55.385, epsilon = 5e-4);
    let bench = engine(description);
    let [drawn, out] = [0, 1].map(|drive_teeth| {
        Phasing::as_built(
            &bench,
            &Assembly {
                drive_teeth,
                ..Assembly::default()
            },
        )
    });
    assert_abs_diff_eq!(
        out.spark_btdc_deg(&out.cylinders()[0]) - drawn.spark_btdc_deg(&drawn.cylinders()[0]),
        55.385,
        epsilon = 5e-4
    );
    assert_abs_diff_eq!(
        at(&out, 0.0).rotor.expect("a rotor").clock.degrees()
            - at(&drawn, 0.0).rotor.expect("a rotor").clock.degrees(),
        27.692,
        epsilon = 5e-4
    );
}

#[test]
fn at_firing_tdc_both_valves_are_shut_and_the_rotor_at_its_lead_and_at_overlap_neither() {
    // Common practice, no source; both valves off their seats a little at overlap TDC, the rotor
    // half a turn away.
    let (mut overlapping, mut rotors) = (0, 0);
    for scene in &scenes::SCENES {
        let phasing = Phasing::as_drawn(&scene.engine());
        let (firing, overlap) = (at(&phasing, 0.0), at(&phasing, 360.0));
        assert!(firing.cylinders[0].sealed(), "{}", scene.name);
        if Card::of(&phasing).overlap_deg > 0.0
            && Valve::BOTH
                .iter()
                .all(|valve| phasing.engine().metric().valves.quoted_at(*valve) == Some(0.0))
        {
            let [intake, exhaust] = [overlap.cylinders[0].intake, overlap.cylinders[0].exhaust];
            assert!(intake.open && exhaust.open, "{}", scene.name);
            assert!(
                intake.lift_mm < 0.25 * phasing.intake().full_lift_mm(),
                "a little: {}",
                scene.name
            );
            overlapping += 1;
        }
        if let (Some(at_firing), Some(at_overlap)) = (firing.rotor, overlap.rotor) {
            assert_eq!(at_firing.tower, 1, "{}", scene.name);
            let apart = (at_overlap.clock.degrees() - at_firing.clock.degrees()).rem_euclid(360.0);
            assert_abs_diff_eq!(apart, 180.0, epsilon = 1e-9);
            rotors += 1;
        }
    }
    assert!(overlapping >= 4 && rotors >= 8, "{overlapping} {rotors}");
}

#[test]
fn a_tongue_off_centre_goes_home_one_way_a_central_one_two_and_a_gear_as_many_as_its_teeth() {
    // Common practice, no source.
    let mut distributor = bench().distributor.expect("a distributor");
    for (coupling, ways) in [
        (Coupling::Gear, 13),
        (Coupling::OffsetTongue, 1),
        (Coupling::CentralTongue, 2),
    ] {
        distributor.coupling = Some(coupling);
        assert_eq!(ignition::ways_to_engage(&distributor), ways);
    }
}

#[test]
fn teeth_out_and_body_turned_cancel_in_the_spark_but_not_under_the_rotor() {
    // Arithmetic: a tooth of the drive ahead is 27.692° of rotor; the body turned as far with the
    // rotation retards as much.
    let bench = engine(bench());
    let tooth = 360.0 / 13.0;
    let lived_with = Phasing::as_built(
        &bench,
        &Assembly {
            drive_teeth: 1,
            body_turn_deg: -tooth,
            ..Assembly::default()
        },
    );
    let drawn = Phasing::as_drawn(&bench);
    for (one, other) in lived_with.cylinders().iter().zip(drawn.cylinders()) {
        assert_abs_diff_eq!(one.spark.degrees(), other.spark.degrees(), epsilon = 1e-9);
    }
    assert_abs_diff_eq!(
        at(&lived_with, 100.0).rotor.expect("a rotor").past_deg,
        at(&drawn, 100.0).rotor.expect("a rotor").past_deg,
        epsilon = 1e-9
    );
}

#[test]
fn a_cam_tooth_out_moves_the_sparks_only_where_the_camshaft_drives_the_distributor() {
    // Common practice, no source.
    for (driven_by, driver_teeth, moved) in [
        (DrivenBy::Camshaft, 13, true),
        (DrivenBy::Crankshaft, 13, false),
    ] {
        let mut description = bench();
        let distributor = description.distributor.as_mut().expect("a distributor");
        distributor.driven_by = driven_by;
        (distributor.driver_teeth, distributor.driven_teeth) =
            (driver_teeth, if moved { 13 } else { 26 });
        let engine = engine(description);
        let out = Phasing::as_built(
            &engine,
            &Assembly {
                cam_teeth: 1,
                ..Assembly::default()
            },
        );
        let advanced = out.spark_btdc_deg(&out.cylinders()[0]) - 8.0;
        // One tooth of 50: 14.4° of crank.
        assert_abs_diff_eq!(advanced, if moved { 14.4 } else { 0.0 }, epsilon = 1e-9);
    }
}

#[test]
fn centrifugal_advance_leaves_the_rotors_register_and_vacuum_moves_it_by_half() {
    // Rotor and trigger turn together on the weights' shaft; the capsule turns the trigger alone.
    // Common practice, no source.
    let description = bench();
    let distributor = description.distributor.as_ref().expect("a distributor");
    assert_abs_diff_eq!(
        ignition::register_deg(distributor, &description.ignition, 0.0),
        0.0,
        epsilon = 1e-12
    );
    assert_abs_diff_eq!(
        ignition::register_deg(distributor, &description.ignition, 10.0),
        -5.0,
        epsilon = 1e-12
    );
    assert_abs_diff_eq!(
        ignition::centrifugal(&description.ignition, 2000.0).degrees(),
        11.0,
        epsilon = 1e-12
    );
    assert_abs_diff_eq!(
        ignition::vacuum(&description.ignition, 25.0).degrees(),
        5.0,
        epsilon = 1e-12
    );
}

#[test]
fn the_example_of_a_reading_comes_out_as_it_is_printed() {
    // The bench four at 123°, worked by hand: No. 3 at 57° before its firing TDC, its spark 8°
    // before that; rotor 45 + 4 + 61.5 on the clock, 24.5° short of the tower at 135.
    let phasing = drawn(bench());
    let reading = at(&phasing, 123.0);
    assert_eq!(reading.on_compression().collect::<Vec<_>>(), [3]);
    assert_eq!(
        (
            reading.next_firing_tdc.cylinder,
            reading.next_firing_tdc.after
        ),
        (3, CrankTurn::new(57.0))
    );
    assert_eq!(
        (reading.next_spark.cylinder, reading.next_spark.after),
        (3, CrankTurn::new(49.0))
    );
    let rotor = reading.rotor.expect("a rotor");
    assert_eq!(
        (rotor.clock.degrees(), rotor.tower, rotor.past_deg),
        (110.5, 3, -24.5)
    );
    // By the closed form with stroke 80, rod 135: 175 − (40 cos 123° + √(135² − (40 sin 123°)²)).
    let (sin, cos) = 123.0_f64.to_radians().sin_cos();
    assert_abs_diff_eq!(
        reading.cylinders[0].piston_drop_mm,
        175.0 - 40.0 * cos - (135.0_f64.powi(2) - (40.0 * sin).powi(2)).sqrt(),
        epsilon = 1e-9
    );
}

#[test]
fn given_firing_angles_settle_an_order_that_is_ambiguous() {
    // A big-bang twin, both pistons together, may fire a turn apart or at once. Common practice, no
    // source.
    let mut twin = laid_out(&[(0.0, &[1, 2])], &[(0.0, &[1, 2])], &[1, 2]);
    assert_eq!(intervals(&twin), [360.0, 360.0]);
    twin.firing_angles = Some(vec![0.0, 0.0]);
    assert_eq!(intervals(&twin), [0.0, 720.0]);
    twin.firing_angles = Some(vec![0.0, 90.0]);
    assert!(Engine::new(twin).is_err());
}
