//! The commands for building and measuring, run as a builder runs them, on every built-in engine:
//! what they print fits a terminal of 80 columns, and what they give a program has its keys.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::io::Write as _;
use std::process::{Output, Stdio};

use common::program;
use dotwise::engine::scenes::SCENES;
use dotwise::laws::ignition;
use serde_json::Value;

/// What the program answers, with this to read on standard input.
fn dotwise(arguments: &[&str], input: &str) -> Output {
    let mut child = program(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // One that needs no input may be gone before it is written.
    let _ = child
        .stdin
        .take()
        .expect("a pipe")
        .write_all(input.as_bytes());
    child.wait_with_output().expect("the program ends")
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {output:?}"))
}

fn fits_a_terminal(output: &Output) {
    for line in text(output).lines() {
        assert!(line.chars().count() <= 80, "over 80 columns: {line}");
        assert_eq!(line, line.trim_end(), "blanks at a line's end");
    }
    assert!(!text(output).contains("NaN"), "{}", text(output));
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .unwrap_or_else(|| panic!("an object: {value}"))
        .keys()
        .map(String::as_str)
        .collect()
}

fn has_keys(value: &Value, wanted: &[&str]) {
    for key in wanted {
        assert!(
            value.get(key).is_some(),
            "{key} is missing among {:?}",
            keys(value)
        );
    }
}

/// No. 1's two valves shut at its TDC mark: seen on any engine as drawn.
const SHUT: &str = "(format: 1, sightings: [(crank: 0.0, valves: [
    (cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)])])";

#[test]
fn diagnose_answers_on_every_engine_with_all_its_keys() {
    for scene in SCENES {
        let told = dotwise(&["diagnose", scene.name, "-"], SHUT);
        assert_eq!(
            told.status.code(),
            Some(0),
            "{}: {}",
            scene.name,
            text(&told)
        );
        assert!(
            text(&told).contains("Everything is as drawn."),
            "{}",
            text(&told)
        );
        fits_a_terminal(&told);

        let answer = json(&dotwise(&["diagnose", scene.name, "-", "--json"], SHUT));
        has_keys(&answer, &["tried", "fits", "tell_apart"]);
        let engine = scene.engine();
        let distributor = engine.metric().distributor.is_some();
        let fits = answer["fits"].as_array().expect("a list");
        assert!(!fits.is_empty(), "{}", scene.name);
        for fit in fits {
            has_keys(
                fit,
                &[
                    "cam_teeth",
                    "drive_teeth",
                    "leads",
                    "faults",
                    "spark_btdc_deg",
                    "turns",
                    "misfits",
                    "says",
                    "mend",
                ],
            );
            assert_eq!(fit["leads"].is_null(), !distributor);
            assert_eq!(fit["turns"].as_array().map(Vec::len), Some(1));
            let sparks = fit["spark_btdc_deg"].as_object().expect("an object");
            assert_eq!(sparks.len(), engine.cylinder_count());
            assert!(
                sparks
                    .values()
                    .all(|spark| (-360.0..=360.0).contains(&spark.as_f64().expect("a number")))
            );
        }
        for look in answer["tell_apart"].as_array().expect("a list") {
            has_keys(look, &["crank", "look", "splits", "says"]);
            let crank = look["crank"].as_f64().expect("a number");
            assert!((0.0..360.0).contains(&crank), "{look}");
        }
    }
}

#[test]
fn a_drive_one_tooth_behind_is_found_with_what_would_mend_it() {
    // One tooth of a 13-tooth drive: 27.692° of rotor, 55.385° of crank (arithmetic); 8° before TDC
    // less that is 47.385° after.
    let seen = "(format: 1, sightings: [(crank: 0.0, within: 2.0,
        valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)],
        rotor: (clock: 22.0, within: 5.0), cam_teeth_off: 0, compression_felt: [1])], leads: [1, 3, 4, 2])";
    let told = dotwise(&["diagnose", "bench_four", "-", "--json"], seen);
    assert_eq!(told.status.code(), Some(1));
    let answer = json(&told);
    let fits = answer["fits"].as_array().expect("a list");
    assert_eq!(fits.len(), 1, "{answer}");
    let fit = &fits[0];
    assert_eq!(
        (&fit["cam_teeth"], &fit["drive_teeth"], &fit["faults"]),
        (&0.into(), &(-1).into(), &1.into())
    );
    assert_eq!(fit["leads"], serde_json::json!([1, 3, 4, 2]));
    assert_eq!(fit["turns"], serde_json::json!(["firing"]));
    assert_eq!(fit["misfits"], serde_json::json!([]));
    assert_eq!(fit["says"], "The distributor drive is one tooth behind.");
    for cylinder in ["1", "3", "4", "2"] {
        let spark = fit["spark_btdc_deg"][cylinder].as_f64().expect("a number");
        assert!((spark + 47.4).abs() < 0.05, "{spark}");
    }
    let mend: Vec<&str> = fit["mend"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert_eq!(
        mend,
        [
            "Lift the drive and drop it one tooth ahead (27.7° of rotor)",
            "or turn the body 27.7° anticlockwise, against the rotor's rotation, beyond the clamp's 15°"
        ]
    );
    assert_eq!(answer["tell_apart"], serde_json::json!([]));
}

#[test]
fn sightings_that_fit_nothing_get_the_nearest_with_what_they_leave_unexplained() {
    let seen = "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 0, rotor: (clock: 49.0),
        valves: [(cylinder: 1, valve: Intake, is: Open), (cylinder: 1, valve: Exhaust, is: Closed),
                 (cylinder: 4, valve: Intake, is: Open), (cylinder: 4, valve: Exhaust, is: Closed)]),
        (crank: 90.0, valves: [(cylinder: 1, valve: Intake, is: Open), (cylinder: 1, valve: Exhaust, is: Open)])])";
    let told = dotwise(&["diagnose", "bench_four", "-", "--json"], seen);
    assert_eq!(told.status.code(), Some(1));
    let answer = json(&told);
    assert_eq!(answer["explained"], false);
    let fits = answer["fits"].as_array().expect("a list");
    assert!(
        !fits.is_empty()
            && fits
                .iter()
                .all(|fit| !fit["misfits"].as_array().expect("a list").is_empty())
    );
    fits_a_terminal(&dotwise(&["diagnose", "bench_four", "-"], seen));
}

#[test]
fn sightings_of_what_the_engine_has_not_are_refused_with_their_places() {
    let seen = "(format: 1, sightings: [(crank: 800.0, rotor: (tower: 9))], leads: [1, 2])";
    let told = dotwise(&["diagnose", "bench_four", "-"], seen);
    assert_eq!((told.status.code(), told.stdout.len()), (Some(2), 0));
    let findings = String::from_utf8(told.stderr).expect("text");
    for name in ["OutOfRange", "NoSuchCylinder", "LeadsAreNotTheCylinders"] {
        assert!(findings.contains(name), "{findings}");
    }
    let both = dotwise(&["diagnose", "-", "-"], seen);
    assert_eq!(both.status.code(), Some(2));
}

#[test]
fn dropin_tells_every_engine_with_a_distributor_how_and_refuses_the_others() {
    let (mut told_how, mut refused) = (0, 0);
    for scene in SCENES {
        let told = dotwise(&["dropin", scene.name], "");
        let engine = scene.engine();
        let Some(distributor) = &engine.metric().distributor else {
            assert_eq!(
                (told.status.code(), told.stdout.len()),
                (Some(2), 0),
                "{}",
                scene.name
            );
            refused += 1;
            continue;
        };
        told_how += 1;
        assert_eq!(
            told.status.code(),
            Some(0),
            "{}: {}",
            scene.name,
            text(&told)
        );
        fits_a_terminal(&told);
        let answer = json(&dotwise(&["dropin", scene.name, "--json"], ""));
        has_keys(
            &answer,
            &[
                "rotor_start_clock_deg",
                "rotor_end_clock_deg",
                "degrees_per_tooth",
                "teeth",
                "leads",
            ],
        );
        let number = |key: &str| answer[key].as_f64().expect("a number");
        let tooth = 360.0 / f64::from(distributor.driven_teeth);
        assert!((number("degrees_per_tooth") - tooth).abs() < 1e-6);
        let ways = answer["teeth"].as_array().expect("a list");
        let one_way = ignition::ways_to_engage(distributor) == 1;
        assert_eq!(ways.is_empty(), one_way, "{}", scene.name);
        for way in ways {
            let teeth = way["drive_teeth"].as_f64().expect("a number");
            let body = way["body_turn_deg"].as_f64().expect("a number");
            assert!(
                ((body + teeth * tooth) / 360.0).fract().abs() < 1e-9,
                "teeth and body cancel: {way}"
            );
            let allowed = distributor.body_range.map(|range| body.abs() <= range);
            assert_eq!(way["within_clamp"].as_bool(), allowed, "{way}");
        }
        let leads = answer["leads"].as_array().expect("a list");
        let order: Vec<u64> = leads
            .iter()
            .filter_map(|lead| lead["cylinder"].as_u64())
            .collect();
        assert_eq!(
            order,
            engine
                .firing_order()
                .iter()
                .map(|&number| u64::from(number))
                .collect::<Vec<_>>()
        );
        assert!(leads.iter().all(|lead| lead["tower_clock_deg"].is_f64()));
        let telling = answer["witnesses"]
            .as_array()
            .expect("a list")
            .iter()
            .filter(|witness| witness["tells"] == true)
            .count();
        assert!(
            telling >= 3,
            "{}: {telling} witnesses tell firing from overlap",
            scene.name
        );
    }
    assert!(told_how > 0 && refused > 0, "{told_how} {refused}");
}

#[test]
fn the_rotor_of_the_bench_four_starts_as_far_back_as_its_drive_turns_it() {
    let answer = json(&dotwise(&["dropin", "bench_four", "--json"], ""));
    // No. 1's tower at 45°, 4° past it at TDC, 28° gained anticlockwise on the way home.
    assert_eq!(
        (
            answer["rotor_end_clock_deg"].as_f64(),
            answer["rotor_start_clock_deg"].as_f64()
        ),
        (Some(49.0), Some(77.0))
    );
    // One tooth of a 13-tooth drive: 27.692° (arithmetic).
    assert!((answer["degrees_per_tooth"].as_f64().expect("a number") - 27.692).abs() < 0.0005);
}

#[test]
fn witnesses_that_disagree_as_built_are_named() {
    let told = dotwise(&["dropin", "bench_four", "--drive-teeth", "-2"], "");
    assert_eq!(told.status.code(), Some(1));
    assert!(text(&told).contains("they do not agree"), "{}", text(&told));
    fits_a_terminal(&told);
}

#[test]
fn lash_sets_every_valve_of_every_engine_once_in_turning_order() {
    for scene in SCENES {
        let told = dotwise(&["lash", scene.name], "");
        assert_eq!(told.status.code(), Some(0), "{}", text(&told));
        fits_a_terminal(&told);
        let answer = json(&dotwise(&["lash", scene.name, "--json"], ""));
        let stops = answer["stops"].as_array().expect("a list");
        let cranks: Vec<f64> = stops
            .iter()
            .map(|stop| stop["crank_deg"].as_f64().expect("a number"))
            .collect();
        assert!(
            cranks.windows(2).all(|pair| pair[0] < pair[1]),
            "{cranks:?}"
        );
        for valve in ["intake", "exhaust"] {
            let mut set: Vec<u64> = stops
                .iter()
                .flat_map(|stop| stop[valve].as_array().expect("a list"))
                .filter_map(Value::as_u64)
                .collect();
            set.sort_unstable();
            assert_eq!(
                set,
                (1..=scene.engine().cylinder_count() as u64).collect::<Vec<_>>(),
                "{}",
                scene.name
            );
        }
    }
}

#[test]
fn lash_of_a_margin_that_no_valve_has_says_so() {
    let told = dotwise(&["lash", "bench_four", "--margin", "300"], "");
    assert_eq!(told.status.code(), Some(1));
    assert_eq!(
        dotwise(&["lash", "bench_four", "--margin", "-5"], "")
            .status
            .code(),
        Some(2)
    );
}

#[test]
fn clearance_answers_where_it_was_measured_and_says_how_to_where_it_was_not() {
    let (mut answered, mut refused) = (0, 0);
    for scene in SCENES {
        let told = dotwise(&["clearance", scene.name], "");
        if scene.engine().metric().clearance.is_none() {
            assert_eq!(
                (told.status.code(), told.stdout.len()),
                (Some(2), 0),
                "{}",
                scene.name
            );
            refused += 1;
            continue;
        }
        answered += 1;
        fits_a_terminal(&told);
        let answer = json(&dotwise(&["clearance", scene.name, "--json"], ""));
        let least = |valve: &str| answer[valve]["gap_mm"].as_f64().expect("a number");
        assert!(answer["intake"]["crank_deg"].is_f64() && answer["exhaust"]["crank_deg"].is_f64());
        assert_eq!(
            told.status.code(),
            Some(i32::from(least("intake") < 2.0 || least("exhaust") < 2.5)),
            "{}",
            scene.name
        );
        let rows = answer["by_teeth"].as_array().expect("a list");
        let drawn = rows
            .iter()
            .find(|row| row["cam_teeth"] == 0)
            .expect("as drawn among them");
        assert!((drawn["intake_mm"].as_f64().expect("a number") - least("intake")).abs() < 1e-9);
        assert!(rows.iter().any(|row| row["cam_teeth"] == -1));
        assert!((drawn["exhaust_mm"].as_f64().expect("a number") - least("exhaust")).abs() < 1e-9);
    }
    assert!(answered > 0 && refused > 0, "{answered} {refused}");
}

#[test]
fn tdc_takes_negative_readings_and_an_engine() {
    // 36.75° and 35.25° either side: TDC midway, 36° each. Common practice, no source.
    let answer = json(&dotwise(
        &["tdc", "--stop", "36.75", "-35.25", "--json"],
        "",
    ));
    assert_eq!(
        (
            answer["tdc_deg"].as_f64(),
            answer["midpoint_error_deg"].as_f64()
        ),
        (Some(0.75), Some(0.0))
    );
    let answer = json(&dotwise(&["tdc", "--stop", "21", "-15", "--json"], ""));
    assert_eq!(answer["tdc_deg"].as_f64(), Some(3.0));
    for scene in SCENES {
        let told = dotwise(&["tdc", "--stop", "21", "-15", scene.name], "");
        assert_eq!(told.status.code(), Some(0), "{}", scene.name);
        fits_a_terminal(&told);
        let told = dotwise(&["tdc", "--by-eye", "0.02", scene.name], "");
        assert_eq!(told.status.code(), Some(0), "{}", scene.name);
        fits_a_terminal(&told);
    }
    for wrong in [
        &["tdc"][..],
        &["tdc", "--stop", "21"],
        &["tdc", "--stop", "21", "21"],
        &["tdc", "--by-eye", "0.02"],
        &["tdc", "--stop", "NaN", "3"],
    ] {
        assert_eq!(dotwise(wrong, "").status.code(), Some(2), "{wrong:?}");
    }
    assert_eq!(
        dotwise(&["tdc", "--by-eye", "-1", "bench_four"], "")
            .status
            .code(),
        Some(2)
    );
}

#[test]
fn degree_answers_on_every_engine_and_finds_a_tooth() {
    for scene in SCENES {
        let valves = &scene.engine().written().valves.clone();
        let at = valves.quoted_at.to_string();
        let events = [
            0.0 - valves.intake.opens_btdc,
            180.0 + valves.intake.closes_abdc,
            -180.0 - valves.exhaust.opens_bbdc,
            valves.exhaust.closes_atdc,
        ];
        let tooth = 720.0 / f64::from(scene.engine().metric().cam_drive.cam_teeth);
        for (teeth, status) in [(0.0, 0), (1.0, 1), (-2.0, 1)] {
            let [io, ic, eo, ec] = events.map(|event| (event - teeth * tooth).to_string());
            let arguments = [
                "degree",
                scene.name,
                "--intake",
                &io,
                &ic,
                "--exhaust",
                &eo,
                &ec,
                "--at",
                &at,
            ];
            let told = dotwise(&arguments, "");
            assert_eq!(
                told.status.code(),
                Some(status),
                "{}: {}",
                scene.name,
                String::from_utf8_lossy(&told.stderr)
            );
            fits_a_terminal(&told);
            let answer = json(&dotwise(&[&arguments[..], &["--json"]].concat(), ""));
            has_keys(
                &answer,
                &[
                    "intake_centre_deg",
                    "exhaust_centre_deg",
                    "separation_deg",
                    "advance_deg",
                    "against_card_deg",
                    "cam_teeth",
                    "rest_deg",
                    "backlash_crank_deg",
                ],
            );
            assert_eq!(answer["cam_teeth"].as_f64(), Some(teeth), "{}", scene.name);
            assert!(answer["rest_deg"].as_f64().expect("a number").abs() < 1e-6);
        }
        let alone = json(&dotwise(
            &[
                "degree", scene.name, "--intake", "-10", "230", "--at", &at, "--json",
            ],
            "",
        ));
        assert!(
            alone["exhaust_centre_deg"].is_null()
                && alone["separation_deg"].is_null()
                && alone["advance_deg"].is_null()
        );
    }
    for wrong in [
        &[
            "degree",
            "bench_four",
            "--intake",
            "230",
            "-10",
            "--at",
            "1",
        ][..],
        &[
            "degree",
            "bench_four",
            "--intake",
            "-10",
            "230",
            "--at",
            "40",
        ],
        &["degree", "bench_four", "--intake", "-10", "230"],
        &[
            "degree",
            "bench_four",
            "--intake",
            "-1000",
            "230",
            "--at",
            "1",
        ],
    ] {
        assert_eq!(dotwise(wrong, "").status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn order_gives_back_the_order_of_every_engine_from_where_each_compresses() {
    for scene in SCENES {
        let engine = scene.engine();
        let felt: Vec<String> = engine
            .firing_order()
            .iter()
            .zip(engine.firing_angles())
            .map(|(number, fires)| format!("{number}={fires}"))
            .collect();
        let arguments: Vec<&str> = ["order", "--felt"]
            .into_iter()
            .chain(felt.iter().map(String::as_str))
            .collect();
        let told = dotwise(&arguments, "");
        assert_eq!(
            told.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&told.stderr)
        );
        fits_a_terminal(&told);
        let answer = json(&dotwise(&[&arguments[..], &["--json"]].concat(), ""));
        let order: Vec<u64> = answer["firing_order"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(Value::as_u64)
            .collect();
        assert_eq!(
            order,
            engine
                .firing_order()
                .iter()
                .map(|&number| u64::from(number))
                .collect::<Vec<_>>()
        );
        let sum: f64 = answer["intervals_deg"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(Value::as_f64)
            .sum();
        assert!((sum - 720.0).abs() < 1e-6);
    }
    let told = dotwise(&["order", "--felt", "1=0", "3=180", "4=300", "2=540"], "");
    assert_eq!((told.status.code(), told.stdout.len()), (Some(2), 0));
    assert!(
        String::from_utf8_lossy(&told.stderr).contains("No. 4 at 300° does not fit"),
        "{told:?}"
    );
    for wrong in [
        &["order"][..],
        &["order", "--felt"],
        &["order", "--felt", "1"],
        &["order", "--felt", "1=x"],
        &["order", "--felt", "999=1"],
    ] {
        assert_eq!(dotwise(wrong, "").status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn the_story_in_the_readme_is_what_the_program_says() {
    let readme = include_str!("../README.md");
    let block = |opening: &str| {
        let from = readme.find(opening).expect("the block") + opening.len();
        &readme[from..from + readme[from..].find("```").expect("its end")]
    };
    let seen = block("`wrong_rotor.seen.ron`:\n\n```ron\n");
    let told = dotwise(&["diagnose", "bench_four", "-"], seen);
    assert_eq!(
        text(&told),
        block("$ dotwise diagnose bench_four wrong_rotor.seen.ron\n")
    );
    // Mended, the rotor ends at 49° and the spark comes as drawn.
    let mended = seen
        .replace("clock: 22.0", "clock: 49.0")
        .replace("btdc: -47.0", "btdc: 8.0");
    let told = dotwise(&["diagnose", "bench_four", "-"], &mended);
    assert_eq!(told.status.code(), Some(0));
    assert!(text(&told).contains("Everything is as drawn."));
}
