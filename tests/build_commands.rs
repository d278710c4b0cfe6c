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

use common::{program, unfolded};
use dotwise::description::Valve;
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
            Some(1),
            "{}: {}",
            scene.name,
            text(&told)
        );
        let said = text(&told).replace('\n', " ");
        assert!(said.contains("Nothing is proved: "), "{said}");
        assert!(said.contains("as drawn among them. Next: "), "{said}");
        fits_a_terminal(&told);

        let answer = json(&dotwise(&["diagnose", scene.name, "-", "--json"], SHUT));
        has_keys(
            &answer,
            &["tried", "headline", "fits", "tell_apart", "rests_on"],
        );
        let engine = scene.engine();
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
            assert_eq!(fit["leads"].is_null(), !engine.has_leads());
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
fn diagnose_says_what_it_rests_on() {
    let rests_on = |seen: &str, how: &[&str]| -> Vec<String> {
        let told = dotwise(
            &[&["diagnose", "flat_four", "-", "--json"], how].concat(),
            seen,
        );
        let answer = json(&told);
        let said = answer["rests_on"].as_array().expect("a list").iter();
        said.map(|one| one.as_str().expect("text").to_owned())
            .collect()
    };
    let within = |said: &[String]| said.iter().filter(|one| one.contains("`within`")).count();
    let seen = "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 0), (crank: 90.0, within: 2.0, rotor: (clock: 20.0)),
        (crank: 180.0, spark: (cylinder: 1, btdc: 8.0))])";
    for how in [&[][..], &["--all"]] {
        let said = rests_on(seen, how);
        assert!(
            said.contains(&"`within` is not stated for the crank mark in sightings 1, 3: read to within 3° was taken.".to_owned()),
            "{said:?}"
        );
        assert!(
            said.contains(
                &"`within` is not stated for the rotor in sighting 2: read to within 8° was taken."
                    .to_owned()
            ),
            "{said:?}"
        );
        assert!(
            said.contains(
                &"`within` is not stated for the spark in sighting 3: read to within 2° was taken."
                    .to_owned()
            ),
            "{said:?}"
        );
        assert!(
            said.iter().any(|one| one.contains("assumed law of lift")),
            "{said:?}"
        );
    }
    // Stated as what would be taken, it is stated.
    assert_eq!(
        within(&rests_on(
            "(format: 1, sightings: [(crank: 0.0, within: 3.0, cam_teeth_off: 0)])",
            &[]
        )),
        0
    );
    let told = dotwise(&["diagnose", "flat_four", "-"], seen);
    assert!(text(&told).contains("This rests on:"), "{}", text(&told));
    fits_a_terminal(&told);
}

#[test]
fn with_everything_closed_what_leaves_it_closed_comes_first() {
    let seen = "(format: 1, sightings: [(crank: 0.0, within: 2.0, cam_teeth_off: 0,
        valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)],
        rotor: (tower: 2, within: 9.0))], leads: [1, 8, 4, 3, 6, 5, 7, 2])";
    let first = |how: &[&str]| {
        let told = dotwise(
            &[&["diagnose", "vee_eight", "-", "--json"], how].concat(),
            seen,
        );
        let answer = json(&told);
        assert_eq!(answer["fits"][0]["drive_teeth"], -2, "{answer}");
        answer["fits"][0]["mend"][0]
            .as_str()
            .expect("text")
            .to_owned()
    };
    assert!(first(&[]).starts_with("Lift the drive"), "{}", first(&[]));
    assert!(
        first(&["--closed"]).starts_with("Move every lead"),
        "{}",
        first(&["--closed"])
    );
    let told = dotwise(&["diagnose", "vee_eight", "-", "--closed"], seen);
    assert!(
        text(&told).contains("remedy  Move every lead"),
        "{}",
        text(&told)
    );
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
fn dropin_tells_every_engine_how_and_of_one_without_a_distributor_the_timing() {
    let (mut told_how, mut without) = (0, 0);
    for scene in SCENES {
        let told = dotwise(&["dropin", scene.name], "");
        let engine = scene.engine();
        let Some(distributor) = &engine.metric().distributor else {
            let words = text(&told);
            assert_eq!(told.status.code(), Some(0), "{}: {words}", scene.name);
            fits_a_terminal(&told);
            for part in ["rotor", "cap", "tower"] {
                let mut spoken = words.split(|letter: char| !letter.is_alphabetic());
                let name = scene.name;
                assert!(!spoken.any(|word| word == part), "{name}: {part}: {words}");
            }
            let answer = json(&dotwise(&["dropin", scene.name, "--json"], ""));
            for key in [
                "rotor_start_clock_deg",
                "rotor_end_clock_deg",
                "degrees_per_tooth",
            ] {
                assert_eq!(answer.get(key), Some(&serde_json::Value::Null), "{key}");
            }
            for key in ["teeth", "leads"] {
                assert_eq!(answer[key], serde_json::json!([]), "{key}");
            }
            let every_turn = engine.sparks_every_turn();
            assert_eq!(answer["sparks_every_turn"], every_turn);
            let cannot_tell = unfolded(&words).contains("neither lamp nor light can tell");
            assert_eq!(cannot_tell, every_turn, "{words}");
            without += 1;
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
            let half_turn = way["tongue_half_turn"].as_bool() == Some(true);
            let tongue = if half_turn { 180.0 } else { 0.0 };
            assert!(
                ((body + teeth * tooth + tongue) / 360.0).fract().abs() < 1e-9,
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
    assert!(told_how > 0 && without > 2, "{told_how} {without}");
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
        let [intake, exhaust] =
            Valve::BOTH.map(|valve| valves.events_on_card(valve).expect("events"));
        let at = intake.quoted_at.to_string();
        let events = [
            0.0 - intake.opens_before,
            180.0 + intake.closes_after,
            -180.0 - exhaust.opens_before,
            exhaust.closes_after,
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
            "700",
            "719",
            "--at",
            "0.5",
        ][..],
        &["degree", "bench_four", "--intake", "12", "52", "--at", "0"],
        &[
            "degree",
            "bench_four",
            "--intake",
            "230",
            "-10",
            "--at",
            "1",
        ],
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

/// What `degree` says of the bench four's lobes read so late, and its exit status.
fn degreed(late_intake: f64, late_exhaust: f64) -> (String, Option<i32>) {
    let [io, ic, eo, ec] = [
        late_intake - 12.0,
        late_intake + 232.0,
        late_exhaust - 232.0,
        late_exhaust + 12.0,
    ]
    .map(|reading| reading.to_string());
    let told = dotwise(
        &[
            "degree",
            "bench_four",
            "--intake",
            &io,
            &ic,
            "--exhaust",
            &eo,
            &ec,
            "--at",
            "0",
        ],
        "",
    );
    fits_a_terminal(&told);
    (text(&told).replace('\n', " "), told.status.code())
}

#[test]
fn degree_names_whole_teeth_only_where_they_explain_the_readings() {
    // 14.4° a tooth on the bench four's 50.
    let (said, status) = degreed(14.4, 14.4);
    assert_eq!(status, Some(1));
    assert!(
        said.contains("the camshaft is one tooth retarded."),
        "{said}"
    );
    assert!(said.contains("put the wheel one tooth on"), "{said}");

    let (said, status) = degreed(6.0, 6.0);
    assert_eq!(status, Some(1));
    assert!(
        said.contains("the camshaft is 6° late, and no tooth explains it."),
        "{said}"
    );
    assert!(
        said.contains("not a tooth, but the wheel's key, the grinding or the reading"),
        "{said}"
    );
    // Gears have no chain to stretch.
    assert!(!said.contains("stretched"), "{said}");
    assert!(
        said.contains("turn the camshaft 3° on, with its rotation, which is 6° at the crank, by an offset key, an offset bush or a vernier wheel"),
        "{said}"
    );
    assert!(!said.contains("one tooth retarded"), "{said}");

    // Within what a wheel reads in the mean, and the lobes within 4° of one another: nothing is out.
    let (said, status) = degreed(-2.5, 1.0);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("stands where its card has it"), "{said}");
    assert!(!said.contains("offset key"), "{said}");

    // One lobe right and the other 16° late.
    let (said, status) = degreed(0.0, 16.0);
    assert_eq!(status, Some(1));
    assert!(
        said.contains("intake and exhaust are not out alike"),
        "{said}"
    );
    assert!(
        said.contains("The intake lobe is right, the exhaust lobe 16° late"),
        "{said}"
    );
    assert!(!said.contains("tooth retarded"), "{said}");

    let (said, status) = degreed(0.0, 0.0);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("stands where its card has it"), "{said}");
    assert!(said.contains("read at 0.00 mm at the valve"), "{said}");
}

#[test]
fn readings_that_look_like_something_else_are_answered_with_how_to_write_them() {
    for (given, looks_like, write) in [
        (
            ["12", "52"],
            "looks like a cam card's events",
            "--intake -12 232",
        ),
        (
            ["348", "592"],
            "a wheel that was zeroed at No. 1's firing TDC",
            "--intake -12 232",
        ),
        (
            ["348", "232"],
            "figures start again after a turn",
            "--intake -12 232",
        ),
        (["700", "719"], "19° long", "check the lift"),
    ] {
        let told = dotwise(
            &[
                "degree",
                "bench_four",
                "--intake",
                given[0],
                given[1],
                "--at",
                "0",
            ],
            "",
        );
        let said = String::from_utf8_lossy(&told.stderr).into_owned();
        assert_eq!(
            (told.status.code(), told.stdout.len()),
            (Some(2), 0),
            "{said}"
        );
        let said = unfolded(&said);
        assert!(said.contains(looks_like) && said.contains(write), "{said}");
    }
}

#[test]
fn the_example_of_degree_in_the_help_ends_without_a_complaint() {
    let help = text(&dotwise(&["--help"], ""));
    let line = help
        .lines()
        .find(|line| line.contains("dotwise degree mine.ron"))
        .expect("the example");
    let arguments: Vec<&str> = line
        .split_whitespace()
        .skip(1)
        .map(|word| {
            if word == "mine.ron" {
                "bench_four"
            } else {
                word
            }
        })
        .collect();
    let told = dotwise(&arguments, "");
    assert_eq!(told.status.code(), Some(0), "{}", text(&told));
    assert!(!text(&told).contains("check the lift"), "{}", text(&told));
}

#[test]
fn a_stop_at_the_very_top_is_refused_and_one_across_the_bottom_is_told() {
    for wrong in [["2", "-1"], ["0.5", "-0.5"], ["359", "4"]] {
        let told = dotwise(&["tdc", "--stop", wrong[0], wrong[1], "bench_four"], "");
        assert_eq!((told.status.code(), told.stdout.len()), (Some(2), 0));
        let said = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(
            said.contains("midway is a guess") && said.contains("screw the stop further in"),
            "{said}"
        );
    }
    let told = dotwise(&["tdc", "--stop", "150", "210"], "");
    assert_eq!(told.status.code(), Some(1));
    assert!(
        text(&told).contains("either side of 180°"),
        "{}",
        text(&told)
    );
    assert!(!text(&told).contains('−'), "{}", text(&told));
    fits_a_terminal(&told);
    let answer = json(&dotwise(&["tdc", "--stop", "150", "210", "--json"], ""));
    assert_eq!(answer["straddles_bdc"], true);
    let answer = json(&dotwise(&["tdc", "--stop", "21", "-15", "--json"], ""));
    assert_eq!(answer["straddles_bdc"], false);
}

#[test]
fn a_rotor_far_out_is_also_said_by_the_tower_it_stands_at() {
    // 45 + 4 + 6 × 27.69 = 215.2°; No. 4's tower stands at 225°.
    let told = text(&dotwise(
        &["at", "bench_four", "0", "--drive-teeth", "6"],
        "",
    ))
    .replace('\n', " ");
    assert!(
        told.contains(
            "six teeth ahead, its rotor 9.8° short of the tower of No. 4 where No. 1 fires."
        ),
        "{told}"
    );
    let near = text(&dotwise(
        &["at", "bench_four", "0", "--drive-teeth", "1"],
        "",
    ));
    assert!(near.contains("one tooth ahead."), "{near}");
}

#[test]
fn what_did_not_move_is_not_said_to_come_earlier() {
    let check = |how: &[&str]| {
        text(&dotwise(&[&["check", "bench_four"], how].concat(), "")).replace('\n', " ")
    };
    assert!(!check(&["--drive-teeth", "1"]).contains("valves as built"));
    assert!(check(&["--cam-teeth", "1"]).contains("14.4° earlier than as drawn, at the crank"));
    assert!(check(&["--cam-teeth", "-1"]).contains("14.4° later than as drawn, at the crank"));
    assert!(check(&["--drive-teeth", "-1"]).contains("each 47.4° after TDC"));
    // Intervals that come round again are said once.
    assert!(
        check(&[]).contains("intervals        180° each"),
        "{}",
        check(&[])
    );
    for (scene, intervals) in [
        ("vee_six_90", "90°, 150°, and so on in turn"),
        ("vee_twin_45", "315°, 405°"),
        ("single", "720°"),
    ] {
        let said = text(&dotwise(&["check", scene], ""));
        assert!(
            said.contains(&format!("intervals        {intervals}\n")),
            "{said}"
        );
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
    // 540 written as 350: 10° and 360° apart, which no crank of four cylinders gives.
    let told = dotwise(&["order", "--felt", "1=0", "3=180", "4=360", "2=350"], "");
    assert_eq!((told.status.code(), told.stdout.len()), (Some(2), 0));
    assert!(
        unfolded(&String::from_utf8_lossy(&told.stderr))
            .contains("No. 2 looks mistyped: at about 540° it would be even with the others"),
        "{told:?}"
    );
    for wrong in [
        &["order"][..],
        &["order", "--felt", "1=0", "3=200", "4=310", "2=550"],
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
