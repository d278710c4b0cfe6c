//! Valve events in every form in which a cam card gives them, and lobes whose ramps two pairs fix.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use approx::assert_abs_diff_eq;
use common::{done, scene_drawn, unfolded};
use dotwise::angle::CrankAngle;
use dotwise::description::Valve;
use dotwise::engine::{Engine, Subject, read, scenes};
use dotwise::phasing::{Card, Phasing, ValveClearance};
use dotwise::words::Units;

/// The bench four with these valves instead of its own.
fn with_valves(valves: &str) -> Phasing {
    let text = scenes::BENCH.text;
    let from = text.find("    valves: (").expect("its valves");
    let to = text.find("    distributor: (").expect("what follows");
    let text = [&text[..from], "    valves: ", valves, ",\n", &text[to..]].concat();
    let read = read::engine(&text);
    // Little clearance is another matter.
    Phasing::as_drawn(&read.engine.expect("an engine"))
}

fn intake_lift(phasing: &Phasing, degrees: f64) -> f64 {
    phasing.at(CrankAngle::new(degrees)).cylinders[0]
        .intake
        .lift_mm
}

#[test]
fn a_lobe_of_two_pairs_comes_to_both_lifts_where_the_card_says() {
    // 284° from 0.15 mm, 238° from 1.27 mm, about 106°; the exhaust by angles at the second lift.
    let phasing = with_valves(
        "(intake: (duration: 284, centre: 106, lift: 9.5, quoted_at: 0.15,
             also_at: (lift: 1.27, duration: 238)),
          exhaust: (opens_bbdc: 76, closes_atdc: 28, lift: 9, quoted_at: 0.15,
             also_at: (lift: 1.27, opens_bbdc: 49, closes_atdc: 1)))",
    );
    for (half, lift) in [(142.0, 0.15), (119.0, 1.27)] {
        for side in [-1.0, 1.0] {
            let at = intake_lift(&phasing, 360.0 + 106.0 + side * half);
            assert_abs_diff_eq!(at, lift, epsilon = 1e-6);
        }
    }
    let exhaust = |degrees: f64| {
        phasing.at(CrankAngle::new(degrees)).cylinders[0]
            .exhaust
            .lift_mm
    };
    for (degrees, lift) in [
        (180.0 - 76.0, 0.15),
        (360.0 + 28.0, 0.15),
        (180.0 - 49.0, 1.27),
        (360.0 + 1.0, 1.27),
    ] {
        assert_abs_diff_eq!(exhaust(degrees), lift, epsilon = 1e-6);
    }
    // The assumed law, fixed by the first pair alone, is elsewhere at the second.
    let assumed = with_valves(
        "(intake: (duration: 284, centre: 106, lift: 9.5, quoted_at: 0.15),
          exhaust: (opens_bbdc: 76, closes_atdc: 28, lift: 9, quoted_at: 0.15))",
    );
    assert!((intake_lift(&assumed, 466.0 - 119.0) - 1.27).abs() > 0.05);
}

#[test]
fn a_second_pair_measured_at_the_tappet_is_the_rockers_ratio_more_at_the_valve() {
    let phasing = with_valves(
        "(intake: (duration: 284, centre: 106, lift: 6, also_at: (lift: 1.0, duration: 220)),
          exhaust: (duration: 284, centre: 110, lift: 6),
          quoted_at: 0.1, measured_at: Tappet, rocker_ratio: 1.5)",
    );
    assert_abs_diff_eq!(intake_lift(&phasing, 466.0 - 142.0), 0.15, epsilon = 1e-6);
    assert_abs_diff_eq!(intake_lift(&phasing, 466.0 - 110.0), 1.5, epsilon = 1e-6);
    assert_abs_diff_eq!(intake_lift(&phasing, 466.0), 9.0, epsilon = 1e-12);
}

#[test]
fn each_valve_may_be_quoted_at_a_lift_of_its_own() {
    let phasing = with_valves(
        "(intake: (duration: 220, centre: 108, lift: 9.5, quoted_at: 1.0),
          exhaust: (duration: 268, centre: 112, lift: 9), quoted_at: 0.0)",
    );
    assert_eq!(phasing.intake().quoted_at_mm(), 1.0);
    assert_eq!(phasing.exhaust().quoted_at_mm(), 0.0);
    assert_abs_diff_eq!(intake_lift(&phasing, 468.0 + 110.0), 1.0, epsilon = 1e-9);
    let text = dotwise::output::text::card(
        &phasing,
        dotwise::output::terminal::TerminalStyle::default(),
    );
    assert!(text.contains("220°, at 1.00 mm lift"), "{text}");
    assert!(text.contains("268°, from seat to seat"), "{text}");
}

#[test]
fn what_the_lift_rests_on_is_the_assumed_law_or_both_pairs() {
    let says = |phasing: &Phasing| phasing.engine().rests_on(&[Subject::Valves]).join(" ");
    let fitted = says(&with_valves(
        "(intake: (duration: 284, centre: 106, lift: 9.5, also_at: (lift: 1.27, duration: 230)),
          exhaust: (duration: 284, centre: 106, lift: 9.5, also_at: (lift: 1.27, duration: 230)),
          quoted_at: 0.15, measured_at: Valve)",
    ));
    assert!(!fitted.contains("assumed"), "{fitted}");
    for valve in ["intake", "exhaust"] {
        let words = format!(
            "How far the {valve} valve is off its seat follows a law of lift fitted to its events at 0.15 mm and at 1.27 mm"
        );
        assert!(fitted.contains(&words), "{fitted}");
    }
    let one = says(&with_valves(
        "(intake: (duration: 284, centre: 106, lift: 9.5, also_at: (lift: 1.27, duration: 230)),
          exhaust: (duration: 284, centre: 106, lift: 9.5), quoted_at: 0.15, measured_at: Valve)",
    ));
    assert!(
        one.contains("the exhaust valve is off its seat between its events follows an assumed")
    );
    assert!(one.contains("the intake valve is off its seat follows a law of lift fitted"));
}

#[test]
fn clearance_is_not_known_while_one_valves_lift_of_events_is_not_stated() {
    let open = scenes::BENCH.text.replace("quoted_at: 0.0,", "");
    let own = |text: &str| {
        let engine = read::engine(text).engine.expect("an engine");
        Phasing::as_drawn(&engine).valve_clearance()
    };
    let not_stated = |clearance| matches!(clearance, ValveClearance::LiftNotStated { .. });
    assert!(not_stated(own(&open)));
    let intake = open.replace("closes_abdc: 52.0,", "closes_abdc: 52.0, quoted_at: 0.0,");
    assert_ne!(intake, open);
    assert!(not_stated(own(&intake)));
    let both = intake.replace("closes_atdc: 12.0,", "closes_atdc: 12.0, quoted_at: 0.0,");
    assert!(!not_stated(own(&both)));
}

#[test]
fn a_card_is_told_as_four_angles_with_durations_centres_and_separation() {
    let text = String::from_utf8(done(&["check", "hydraulic_eight"])).expect("text");
    let text = unfolded(&text);
    // 206 and 212 about 107 and 2 × 111 − 107 = 115: opens 103 − 107, closes 103 + 107 − 180 and so
    // on. Arithmetic of the card.
    for words in [
        "intake opens 4° ATDC, closes 30° ABDC: 206°, at 0.050 in lift",
        "exhaust opens 41° BBDC, closes 9° BTDC: 212°, at 0.050 in lift",
        "intake 107° ATDC, exhaust 115° BTDC",
        "separation 111° of cam",
        "0.75 turns past zero lash",
        "360° after No. 1's firing TDC",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn an_eight_whose_dots_meet_on_overlap_is_the_same_in_millimetres_and_by_angles() {
    let drawn = scene_drawn("hydraulic_eight");
    let written = drawn.engine().written();
    let mut by_angles = written.in_units(Units::Millimetres);
    let angles = by_angles
        .valves
        .in_form(dotwise::description::EventsForm::Angles);
    by_angles.valves = angles.expect("any form can be angles");
    let other = Phasing::as_drawn(&Engine::new(by_angles).expect("an engine").0);
    let (card, card_of_other) = (Card::of(&drawn), Card::of(&other));
    assert_eq!(
        card.intake_opens_btdc_deg,
        card_of_other.intake_opens_btdc_deg
    );
    assert_eq!(card.separation_cam_deg, card_of_other.separation_cam_deg);
    for crank in [0.0, 100.0, 360.0, 555.5] {
        let [one, two] = [&drawn, &other].map(|phasing| phasing.at(CrankAngle::new(crank)));
        for (one, two) in one.cylinders.iter().zip(&two.cylinders) {
            // A micron of rounding in the units.
            assert_abs_diff_eq!(one.intake.lift_mm, two.intake.lift_mm, epsilon = 2e-3);
            assert_eq!(one.intake.open, two.intake.open);
        }
    }
    let at_overlap = drawn.at(CrankAngle::new(360.0));
    let [intake, exhaust] = Valve::BOTH.map(|valve| match valve {
        Valve::Intake => at_overlap.cylinders[0].intake,
        Valve::Exhaust => at_overlap.cylinders[0].exhaust,
    });
    assert!(intake.open && exhaust.open);
}
