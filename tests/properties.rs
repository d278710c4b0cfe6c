//! What must hold of every engine, asked of engines made up by chance.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::sync::Arc;

use approx::assert_abs_diff_eq;
use common::{apart, at, bench, engine};
use dotwise::angle::{CrankAngle, CrankTurn, Direction};
use dotwise::description::Description;
use dotwise::description::{Bank, DriveKind, DrivenBy, Throw};
use dotwise::engine::Assembly;
use dotwise::engine::{Engine, read, scenes};
use dotwise::output::handout;
use dotwise::phasing::{DeadCentre, Phasing};
use dotwise::source::Report;
use dotwise::words::Units;
use proptest::prelude::*;
use proptest::sample::{Index, select};

/// An order in which so many cylinders may fire, No. 1 first.
fn order(cylinders: usize) -> impl Strategy<Value = Vec<u32>> {
    Just((2..=cylinders as u32).collect::<Vec<_>>())
        .prop_shuffle()
        .prop_map(|rest| std::iter::once(1).chain(rest).collect())
}

/// An even-firing engine: its throws are laid out so that its banks and order come out even.
fn even_engine() -> impl Strategy<Value = Description> {
    let layout = (1_usize..=12).prop_flat_map(order);
    let body = (
        any::<bool>(),
        40.0..160.0_f64,
        1.3..3.0_f64,
        -0.1..0.1_f64,
        select(vec![0.0, 45.0, 60.0, 90.0, 180.0]),
    );
    let valves = (
        -20.0..60.0_f64,
        20.0..90.0_f64,
        30.0..90.0_f64,
        -20.0..50.0_f64,
        4.0..14.0_f64,
        0.0..0.3_f64,
    );
    let drive = (
        6_u32..60,
        select(vec![DriveKind::Gears, DriveKind::Chain, DriveKind::Belt]),
        proptest::option::of(6_u32..40),
    );
    let cap = (
        any::<bool>(),
        any::<bool>(),
        6_u32..30,
        -360.0..360.0_f64,
        -10.0..30.0_f64,
    );
    (layout, body, valves, drive, cap).prop_map(|(order, body, valves, drive, cap)| {
        let mut d = bench();
        let (clockwise, stroke, rod_ratio, offset_ratio, between) = body;
        let way = |clockwise| {
            if clockwise {
                Direction::Clockwise
            } else {
                Direction::CounterClockwise
            }
        };
        d.crankshaft.rotation = way(clockwise);
        (d.crankshaft.stroke, d.rod_length, d.pin_offset) =
            (stroke, stroke * rod_ratio, stroke * offset_ratio);
        let apart = 720.0 / order.len() as f64;
        let bank = |number: u32| {
            if number.is_multiple_of(2) {
                between
            } else {
                0.0
            }
        };
        d.crankshaft.throws = order
            .iter()
            .enumerate()
            .map(|(index, &number)| {
                let fires = apart * index as f64;
                Throw {
                    angle: (bank(number) - d.crankshaft.rotation.sign() * fires) % 360.0,
                    cylinders: vec![number],
                }
            })
            .collect();
        d.banks = order
            .iter()
            .map(|&number| Bank {
                angle: bank(number),
                cylinders: vec![number],
            })
            .collect();
        d.firing_order = order;
        (d.valves.intake.opens_btdc, d.valves.intake.closes_abdc) = (valves.0, valves.1);
        (d.valves.exhaust.opens_bbdc, d.valves.exhaust.closes_atdc) = (valves.2, valves.3);
        (
            d.valves.intake.lift,
            d.valves.exhaust.lift,
            d.valves.quoted_at,
        ) = (valves.4, valves.4 * 0.9, valves.4 * valves.5);
        (
            d.cam_drive.crank_teeth,
            d.cam_drive.cam_teeth,
            d.cam_drive.kind,
        ) = (drive.0, 2 * drive.0, drive.1);
        d.cam_drive.idler_teeth = drive.2.into_iter().collect();
        let distributor = d.distributor.as_mut().expect("the bench engine has one");
        distributor.rotation = way(cap.0);
        (
            distributor.driven_by,
            distributor.driver_teeth,
            distributor.driven_teeth,
        ) = if cap.1 {
            (DrivenBy::Camshaft, cap.2, cap.2)
        } else {
            (DrivenBy::Crankshaft, cap.2, 2 * cap.2)
        };
        (distributor.number_one_at, distributor.offset) = (cap.3, None);
        d.ignition.static_advance = cap.4;
        d
    })
}

/// An engine, even or one of the built-in, uneven ones among them.
fn any_engine() -> impl Strategy<Value = Arc<Engine>> {
    let scene = any::<Index>().prop_map(|index| index.get(&scenes::SCENES).engine());
    prop_oneof![2 => even_engine().prop_map(engine), 1 => scene]
}

/// A crank angle that binary fractions hold exactly, so that whole cycles can be added without
/// rounding.
fn exact_angle() -> impl Strategy<Value = f64> {
    (0_u32..720 * 64).prop_map(|sixty_fourths| f64::from(sixty_fourths) / 64.0)
}

/// Seen in a mirror: rotation and every clock angle the other way.
fn mirrored(description: &Description) -> Description {
    let mut d = description.clone();
    d.crankshaft.rotation = d.crankshaft.rotation.reversed();
    d.crankshaft
        .throws
        .iter_mut()
        .for_each(|throw| throw.angle = -throw.angle);
    d.banks.iter_mut().for_each(|bank| bank.angle = -bank.angle);
    d.marks.iter_mut().for_each(|mark| mark.at = -mark.at);
    if let Some(distributor) = &mut d.distributor {
        distributor.rotation = distributor.rotation.reversed();
        distributor.number_one_at = -distributor.number_one_at;
        distributor.turns_on_entry = distributor.turns_on_entry.map(|turn| -turn);
    }
    d
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn every_reading_comes_again_after_720_degrees(engine in any_engine(), degrees in exact_angle(), cycles in -4_i32..5) {
        let phasing = Phasing::as_drawn(&engine);
        prop_assert_eq!(at(&phasing, degrees), at(&phasing, degrees + 720.0 * f64::from(cycles)));
    }

    #[test]
    fn an_even_engine_fires_exactly_one_cylinder_each_720_over_n(description in even_engine()) {
        let phasing = Phasing::as_drawn(&engine(description));
        let count = phasing.cylinders().len();
        let interval = 720.0 / count as f64;
        let firing = |degrees: f64| {
            at(&phasing, degrees).cylinders.iter().filter(|c| c.dead_centre == Some(DeadCentre::FiringTdc)).map(|c| c.number).collect::<Vec<_>>()
        };
        for (index, &number) in phasing.engine().firing_order().iter().enumerate() {
            let fires = interval * index as f64;
            prop_assert_eq!(firing(fires), vec![number]);
            prop_assert_eq!(firing(fires + interval / 2.0), Vec::<u8>::new());
            let reading = at(&phasing, fires + 1.0);
            prop_assert!((reading.next_firing_tdc.after.degrees() - (interval - 1.0)).abs() < 1e-6);
        }
    }

    #[test]
    fn pistons_and_valves_stay_within_their_ways(engine in any_engine(), degrees in 0.0..720.0_f64, cam_teeth in -5_i32..6) {
        let phasing = Phasing::as_built(&engine, &Assembly { cam_teeth, ..Assembly::default() });
        let travel = phasing.slider().travel_mm();
        prop_assert!(travel >= engine.metric().crankshaft.stroke - 1e-9);
        for cylinder in &at(&phasing, degrees).cylinders {
            prop_assert!((-1e-9..=travel + 1e-9).contains(&cylinder.piston_drop_mm), "{}", cylinder.piston_drop_mm);
            for (valve, lobe) in [(cylinder.intake, phasing.intake()), (cylinder.exhaust, phasing.exhaust())] {
                prop_assert!((0.0..=lobe.full_lift_mm()).contains(&valve.lift_mm));
                // Open and the lift tell the same, but for rounding at the event itself.
                if (valve.lift_mm - lobe.quoted_at_mm()).abs() > 1e-6 {
                    prop_assert_eq!(valve.open, valve.lift_mm > lobe.quoted_at_mm());
                }
            }
        }
    }

    #[test]
    fn cam_teeth_move_every_valve_by_so_much_crank_and_a_whole_wheel_is_none(
        engine in any_engine(), degrees in 0.0..720.0_f64, teeth in 1_u32..12,
    ) {
        let cam_teeth = engine.metric().cam_drive.cam_teeth;
        prop_assume!(teeth < cam_teeth);
        let built = |cam_teeth: i32| Phasing::as_built(&engine, &Assembly { cam_teeth, ..Assembly::default() });
        let (drawn, ahead, round) = (built(0), built(teeth as i32), built(teeth as i32 - cam_teeth as i32));
        let turn = f64::from(teeth) * 720.0 / f64::from(cam_teeth);
        for (index, cylinder) in at(&ahead, degrees).cylinders.iter().enumerate() {
            let later = at(&drawn, degrees + turn).cylinders[index];
            prop_assert!((cylinder.intake.lift_mm - later.intake.lift_mm).abs() < 1e-6);
            prop_assert!((cylinder.exhaust.lift_mm - later.exhaust.lift_mm).abs() < 1e-6);
            prop_assert!((cylinder.intake.lift_mm - at(&round, degrees).cylinders[index].intake.lift_mm).abs() < 1e-6);
            // The pistons know nothing of the cam.
            prop_assert_eq!(cylinder.piston_drop_mm, at(&drawn, degrees).cylinders[index].piston_drop_mm);
        }
    }

    #[test]
    fn teeth_there_and_back_cancel(engine in any_engine(), teeth in -9_i32..10) {
        prop_assume!(engine.metric().distributor.is_some());
        let wheel = engine.metric().cam_drive.cam_teeth as i32;
        prop_assume!(teeth.abs() < wheel);
        let sparks = |assembly: &Assembly| {
            let phasing = Phasing::as_built(&engine, assembly);
            let btdc: Vec<f64> = phasing.cylinders().iter().map(|cylinder| phasing.spark_btdc_deg(cylinder)).collect();
            btdc
        };
        let drawn = sparks(&Assembly::default());
        let driven = f64::from(engine.metric().distributor.as_ref().expect("asked above").driven_teeth);
        // A drive so many teeth ahead, and the body turned back by as much.
        prop_assume!(f64::from(teeth.abs()) < driven);
        let body_turn_deg = -f64::from(teeth) * 360.0 / driven;
        for (one, other) in sparks(&Assembly { drive_teeth: teeth, body_turn_deg, ..Assembly::default() }).iter().zip(&drawn) {
            prop_assert!(apart(one / 2.0, other / 2.0) < 1e-6);
        }
        // The cam ahead by so many, and ahead by as many again the other way.
        let there = Phasing::as_built(&engine, &Assembly { cam_teeth: teeth, ..Assembly::default() });
        let back = Phasing::as_built(&engine, &Assembly { cam_teeth: -teeth, ..Assembly::default() });
        prop_assert!((there.cam_ahead() + back.cam_ahead()).degrees().abs() < 1e-9);
    }

    #[test]
    fn an_engine_in_a_mirror_reads_the_same_strokes(engine in any_engine(), degrees in 0.0..720.0_f64) {
        let other = Engine::new(mirrored(engine.written())).expect("an engine in a mirror is one").0;
        prop_assert_eq!(engine.firing_angles(), other.firing_angles());
        let (one, other) = (at(&Phasing::as_drawn(&engine), degrees), at(&Phasing::as_drawn(&other), degrees));
        prop_assert_eq!(&one.cylinders, &other.cylinders);
        prop_assert_eq!(one.next_spark, other.next_spark);
        prop_assert_eq!(one.rotor.is_some(), other.rotor.is_some());
        if let (Some(one), Some(other)) = (one.rotor, other.rotor) {
            prop_assert!(apart(one.clock.degrees(), -other.clock.degrees()) < 1e-9);
            prop_assert!((one.past_deg.abs() - other.past_deg.abs()).abs() < 1e-9);
        }
        prop_assert_eq!(one.marks.len(), other.marks.len());
        for (one, other) in one.marks.iter().zip(&other.marks) {
            prop_assert!(apart(one.degrees(), -other.degrees()) < 1e-9);
        }
    }

    #[test]
    fn a_description_written_and_read_again_is_the_same_engine(description in even_engine()) {
        let text = dotwise::source::write(&description).expect("written");
        let again = read::engine(&text);
        prop_assert_eq!(again.description.as_ref(), Some(&description), "{}", text);
        prop_assert_eq!(again.engine.expect("an engine"), engine(description));
    }

    #[test]
    fn what_comes_next_does_come_and_the_rotor_is_never_nearer_to_another_tower(engine in any_engine(), degrees in 0.0..720.0_f64) {
        let phasing = Phasing::as_drawn(&engine);
        let reading = at(&phasing, degrees);
        for coming in [reading.next_firing_tdc, reading.next_spark] {
            prop_assert!(coming.after.degrees() > 0.0 && coming.after.degrees() <= 720.0);
        }
        let there = phasing.at(CrankAngle::new(degrees) + reading.next_firing_tdc.after);
        let cylinder = there.cylinder(reading.next_firing_tdc.cylinder).expect("a cylinder");
        prop_assert_eq!(cylinder.dead_centre, Some(DeadCentre::FiringTdc));
        if let Some(rotor) = reading.rotor {
            let towers = phasing.towers();
            let nearest = towers.iter().map(|tower| apart(rotor.clock.degrees(), tower.degrees())).fold(f64::MAX, f64::min);
            prop_assert!((rotor.past_deg.abs() - nearest).abs() < 1e-9);
            prop_assert!((apart(rotor.clock.degrees(), towers[rotor.tower_index].degrees()) - nearest).abs() < 1e-9);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_description_spoilt_anyhow_is_answered_and_never_a_panic(
        scene in any::<Index>(),
        spoils in prop::collection::vec((any::<Index>(), 0_usize..40, "[-a-zA-Z0-9_:;,.(){}\\[\\]\"'#/*\\\\ \n\t°é−😀]{0,6}"), 1..8),
    ) {
        let mut text = scene.get(&scenes::SCENES).text.to_owned();
        for (place, length, put) in spoils {
            let boundary = |mut at: usize, text: &str| {
                while !text.is_char_boundary(at) {
                    at -= 1;
                }
                at
            };
            let start = boundary(place.index(text.len() + 1), &text);
            let end = boundary((start + length).min(text.len()), &text).max(start);
            text.replace_range(start..end, &put);
        }
        let answer = read::engine(&text);
        prop_assert!(answer.engine.is_some() || answer.findings.iter().any(dotwise::source::Finding::is_error));
        let shown = Report { source: "spoilt.ron", text: &text, findings: &answer.findings }.to_terminal(true);
        prop_assert_eq!(answer.findings.is_empty(), shown.is_empty());
        for finding in &answer.findings {
            let span = finding.span.clone().unwrap_or(0..0);
            prop_assert!(text.get(span).is_some(), "{:?}", finding);
        }
    }

    #[test]
    fn any_text_at_all_is_answered_and_never_a_panic(text in "\\PC{0,200}") {
        let answer = read::engine(&text);
        prop_assert!(answer.engine.is_none());
        let _ = Report { source: "any.ron", text: &text, findings: &answer.findings }.to_terminal(false);
    }
}

#[test]
fn a_sweep_comes_round_once() {
    let phasing = Phasing::as_drawn(&engine(bench()));
    for (step, rows) in [
        (0.1, 7200),
        (1.0, 720),
        (7.0, 103),
        (719.0, 2),
        (720.0, 1),
        (1000.0, 1),
    ] {
        assert_eq!(phasing.sweep(CrankTurn::new(step)).count(), rows, "{step}");
    }
    for step in [0.0, -1.0, f64::NAN] {
        assert_eq!(phasing.sweep(CrankTurn::new(step)).count(), 0);
    }
    assert_abs_diff_eq!(
        phasing
            .sweep(CrankTurn::new(0.1))
            .last()
            .expect("a row")
            .crank
            .degrees(),
        719.9,
        epsilon = 1e-9
    );
}

#[test]
fn nothing_is_written_as_standing_on_the_end_of_its_cycle() {
    // Sums of thirteenths of a turn come out a hair short of whole turns: written to nine places
    // they must be 0, not 360.
    for scene in &scenes::SCENES {
        let engine = scene.engine();
        let teeth = engine
            .metric()
            .distributor
            .as_ref()
            .map_or(1, |distributor| distributor.driven_teeth as i32);
        for drive_teeth in 0..teeth {
            let phasing = Phasing::as_built(
                &engine,
                &Assembly {
                    drive_teeth,
                    ..Assembly::default()
                },
            );
            for reading in phasing.sweep(CrankTurn::new(720.0 / f64::from(teeth) / 4.0)) {
                let text = serde_json::to_value(dotwise::output::json::ReadingRecord::of(
                    &phasing, &reading,
                ))
                .expect("JSON");
                let below = |value: &serde_json::Value, most: f64| {
                    let value = value.as_f64().expect("a number");
                    assert!(
                        (0.0..most).contains(&value),
                        "{} {drive_teeth} at {}: {value}",
                        scene.name,
                        reading.crank.degrees()
                    );
                };
                below(&text["crank_deg"], 720.0);
                below(&text["cam_deg"], 360.0);
                text["cylinders"]
                    .as_array()
                    .expect("a list")
                    .iter()
                    .for_each(|cylinder| below(&cylinder["phase_deg"], 720.0));
                text["marks"]
                    .as_array()
                    .expect("a list")
                    .iter()
                    .for_each(|mark| below(&mark["clock_deg"], 360.0));
                if text["rotor"].is_object() {
                    below(&text["rotor"]["clock_deg"], 360.0);
                }
            }
        }
    }
}

#[test]
fn the_steepest_lobes_allowed_are_written_out_in_bounded_size_and_without_a_number_that_is_none() {
    for kind in [DriveKind::Gears, DriveKind::Chain, DriveKind::Belt] {
        let mut description = bench();
        description.cam_drive.kind = kind;
        description.valves.intake.opens_btdc = 0.0;
        description.valves.intake.closes_abdc = -120.0;
        description.valves.intake.lift = 200.0;
        let (engine, _) = Engine::new(description).expect("an engine");
        let page = handout::document(&Phasing::as_drawn(&engine), false).expect("a page");
        assert!(page.len() < 1_000_000, "{kind:?}: {} bytes", page.len());
        assert!(!page.contains("NaN") && !page.contains("inf,"), "{kind:?}");
    }
    let mut shorter = bench();
    shorter.valves.intake.opens_btdc = 0.1;
    shorter.valves.intake.closes_abdc = -180.0;
    let findings = Engine::new(shorter).expect_err("no engine");
    assert_eq!(findings[0].name, "DurationImpossible");
}

#[test]
fn a_rod_as_long_as_throw_and_offset_to_the_last_bit_is_too_short() {
    let mut description = bench();
    description.units = Units::Inches;
    description.crankshaft.stroke = 0.416;
    description.rod_length = 0.328;
    description.pin_offset = 0.12;
    let findings = Engine::new(description).expect_err("no engine");
    assert!(
        findings.iter().any(|finding| finding.name == "RodTooShort"),
        "{findings:?}"
    );
}
