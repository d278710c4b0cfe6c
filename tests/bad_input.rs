//! Whatever it is given, the program says what is wrong in a line or two and leaves with 2; it
//! never panics, and never leaves half an answer.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Output, Stdio};

use common::{dotwise, program, unfolded, worked};
/// A file of this test's own.
fn file(name: &str, bytes: &[u8]) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, bytes).expect("written");
    path
}

/// Exit 2, nothing on standard output but the refusal as JSON where that was asked for, and on
/// standard error these words and no panic.
fn refused(output: &Output, words: &[&str]) {
    let err = String::from_utf8_lossy(&output.stderr);
    let err = unfolded(&err);
    assert_eq!(output.status.code(), Some(2), "{err}");
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap_or_default();
    assert!(
        output.stdout.is_empty() || json["error"].is_string(),
        "{}",
        String::from_utf8_lossy(&output.stdout)
    );
    assert!(!err.contains("panicked"), "{err}");
    for word in words {
        assert!(err.contains(word), "`{word}` is not said: {err}");
    }
}

/// Each command that takes an engine, asked with this one.
fn each_command(engine: &str) -> Vec<Output> {
    let ways: [&[&str]; 6] = [
        &["check", engine],
        &["check", engine, "--json"],
        &["at", engine, "0"],
        &["at", engine, "0", "--json"],
        &["table", engine, "--step", "30"],
        &["table", engine, "--step", "30", "--csv"],
    ];
    ways.iter().map(|args| dotwise(args)).collect()
}

#[test]
fn a_file_that_is_not_ron() {
    for (name, text) in [
        ("sentence.ron", "dear engine"),
        ("empty.ron", ""),
        ("json.ron", "{\"format\": 1}"),
        ("cut.ron", "(format: 1, name: \"x"),
    ] {
        let path = file(name, text.as_bytes());
        for output in each_command(&path.to_string_lossy()) {
            refused(&output, &["cannot be read here"]);
        }
    }
}

#[test]
fn a_file_that_is_not_utf_8() {
    let path = file("latin1.ron", b"(format: 1, name: \"m\xfcller\")");
    for output in each_command(&path.to_string_lossy()) {
        refused(&output, &["is not text", "UTF-8", "byte 21"]);
    }
}

#[test]
fn a_file_of_a_hundred_megabytes_is_refused_before_it_is_read() {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("huge.ron");
    // Sparse: its length alone is what matters.
    fs::File::create(&path)
        .and_then(|file| file.set_len(100 << 20))
        .expect("written");
    let (output, work) = worked(&["check", &path.to_string_lossy()]);
    refused(&output, &["104857600 bytes", "at most"]);
    assert!(work.as_secs() < 5, "{work:?}");
    fs::remove_file(path).expect("removed");
}

#[test]
fn a_stream_without_end_is_refused_too() {
    let mut child = program(&["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("runs");
    let mut input = child.stdin.take().expect("a pipe");
    let feeding = std::thread::spawn(move || {
        let block = vec![b' '; 1 << 16];
        // The program goes away before it has read all of this.
        for _ in 0..2000 {
            if input.write_all(&block).is_err() {
                return;
            }
        }
    });
    let output = child.wait_with_output().expect("ends");
    feeding.join().expect("ends");
    refused(&output, &["at most"]);
}

#[test]
fn brackets_nested_without_end() {
    for (name, text) in [
        ("round.ron", "(".repeat(200_000)),
        ("square.ron", format!("(format: {}", "[".repeat(200_000))),
        ("named.ron", "(a:".repeat(60_000)),
    ] {
        let path = file(name, text.as_bytes());
        refused(
            &dotwise(&["check", &path.to_string_lossy()]),
            &["nested too deep"],
        );
    }
}

#[test]
fn lists_without_end_are_told_in_one_line_and_quickly() {
    let scene =
        fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenes/single.ron"))
            .expect("a scene");
    let many = (1..100_000)
        .map(|number| number.to_string())
        .collect::<Vec<_>>()
        .join(",");
    for (name, text) in [
        (
            "order.ron",
            scene.replace("firing_order: [1]", &format!("firing_order: [{many}]")),
        ),
        (
            "throw.ron",
            scene.replace(
                "(angle: 0.0, cylinders: [1]),",
                &format!("(angle: 0.0, cylinders: [{many}]),"),
            ),
        ),
        (
            "marks.ron",
            scene.replace(
                "marks: [",
                &format!(
                    "marks: [{}",
                    "(on: Camshaft, name: \"d\", at: 999.0),".repeat(10_000)
                ),
            ),
        ),
    ] {
        let path = file(name, text.as_bytes());
        let (output, work) = worked(&["at", &path.to_string_lossy(), "0"]);
        refused(&output, &["at most 24 are allowed"]);
        assert!(
            output.stderr.len() < 20_000,
            "{name}: {} bytes said",
            output.stderr.len()
        );
        assert!(work.as_secs() < 20, "{name} took {work:?}");
    }
}

#[test]
fn a_file_that_is_absent_and_a_folder() {
    refused(
        &dotwise(&["check", "no/such/engine.ron"]),
        &["no/such/engine.ron", "no such file"],
    );
    refused(
        &dotwise(&["at", env!("CARGO_TARGET_TMPDIR"), "0"]),
        &["it is a folder"],
    );
    refused(&dotwise(&["check", ""]), &[]);
}

#[test]
fn a_scene_name_that_is_nearly_right_is_answered_with_the_right_one() {
    for (said, meant) in [
        ("bench-four", "bench_four"),
        ("vee_eigth", "vee_eight"),
        ("Single", "single"),
    ] {
        refused(&dotwise(&["at", said, "0"]), &[meant, "probably meant"]);
        refused(&dotwise(&["scenes", said]), &[meant, "probably meant"]);
    }
    refused(&dotwise(&["at", "zzzz", "0"]), &["dotwise scenes"]);
}

#[test]
fn an_angle_that_is_not_a_number() {
    for angle in ["abc", "", "1,5", "NaN", "inf", "1e400", "12x", "0x10"] {
        refused(&dotwise(&["at", "single", angle]), &["DEG"]);
        refused(&dotwise(&["table", "single", "--step", angle]), &["--step"]);
    }
    for step in ["0", "-5", "721", "0.001"] {
        refused(&dotwise(&["table", "single", "--step", step]), &["--step"]);
    }
    refused(&dotwise(&["at", "single"]), &["DEG"]);
}

#[test]
fn negative_angles_are_plain_arguments() {
    for args in [
        &["at", "single", "-15"][..],
        &["at", "single", "-15.5", "-360", "720"],
        &[
            "at",
            "bench_four",
            "0",
            "--body-turn",
            "-3",
            "--cam-teeth",
            "-1",
        ],
    ] {
        let output = dotwise(args);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{args:?}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
    }
}

#[test]
fn an_assembly_the_engine_cannot_have() {
    refused(
        &dotwise(&["at", "single", "0", "--drive-teeth", "1"]),
        &["no distributor"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--cam-teeth", "50"]),
        &["--cam-teeth"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--cam-teeth", "2147483648"]),
        &["--cam-teeth"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--cam-teeth", "-2147483648"]),
        &["--cam-teeth"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--drive-teeth", "-2147483648"]),
        &["--drive-teeth"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--body-turn", "999"]),
        &["--body-turn"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--leads", "1,3,4,4"]),
        &["--leads"],
    );
    refused(
        &dotwise(&["at", "bench_four", "0", "--leads", "1,3,x"]),
        &["--leads"],
    );
}

#[test]
fn a_broken_description_is_found_fault_with_and_leaves_with_1_and_is_no_engine_elsewhere() {
    let broken = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/broken/RodTooShort.ron");
    let check = dotwise(&["check", &broken.to_string_lossy()]);
    assert_eq!(check.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&check.stdout).contains("RodTooShort"));
    refused(
        &dotwise(&["at", &broken.to_string_lossy(), "0"]),
        &["RodTooShort"],
    );
    let json = dotwise(&["check", &broken.to_string_lossy(), "--json"]);
    assert_eq!(json.status.code(), Some(1));
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("one JSON document");
    assert_eq!(json["findings"][0]["name"], "RodTooShort");
    assert_eq!(json["findings"][0]["line"], 13);
}

#[test]
fn words_that_are_no_command() {
    refused(&dotwise(&["chekc", "single"]), &[]);
    refused(&dotwise(&["at", "single", "0", "--jsno"]), &["--json"]);
}

/// A list of so many items that the whole text is just under a million bytes.
fn a_million(head: &str, item: &str, tail: &str) -> String {
    let count = (1_000_000 - head.len() - tail.len()) / item.len();
    format!("{head}{}{tail}", item.repeat(count))
}

#[test]
fn a_million_bytes_of_mistakes_are_answered_at_once_and_briefly() {
    let sightings = [
        (
            "(format: 1, sightings: [(crank: 0, compression_felt: [",
            "0,",
            "])])",
        ),
        (
            "(format: 1, sightings: [",
            "(crank: 999, within: -1),",
            "])",
        ),
        (
            "(format: 1, sightings: [(crank: 0, valves: [",
            "(cylinder: 9, valve: Intake, is: Open),",
            "])])",
        ),
        (
            "(format: 1, sightings: [(crank: 0, cam_teeth_off: 0)], leads: [",
            "9,",
            "])",
        ),
    ];
    let descriptions = [
        ("(format: 1, name: \"x\", firing_order: [", "-1,", "])"),
        ("(format: 1, name: \"x\", firing_order: [", "1,", "])"),
        (
            "(format: 1, name: \"x\", marks: [",
            "(on: Crankshaft, name: \"a\", at: 9999),",
            "])",
        ),
        ("", "(", ""),
        ("", "[", ""),
        ("", "\"", ""),
        ("", "7", ""),
        ("(", "f: 1,", ")"),
        ("(", "name: \"a\",", ")"),
        ("(", "a", ": 1)"),
        ("(units: ", "A", ")"),
        ("(format: 1, name: \"x\", firing_angles: [", "-1,", "])"),
    ];
    let asked = sightings
        .map(|text| (text, vec!["diagnose", "bench_four"]))
        .into_iter()
        .chain(descriptions.map(|text| (text, vec!["check"])));
    for (index, ((head, item, tail), mut arguments)) in asked.enumerate() {
        let path = file(
            &format!("million_{index}.ron"),
            a_million(head, item, tail).as_bytes(),
        );
        let path = path.to_string_lossy();
        arguments.push(&path);
        let (output, work) = worked(&arguments);
        let code = output.status.code();
        assert!(matches!(code, Some(1 | 2)), "{arguments:?}: {code:?}");
        let said = output.stdout.len() + output.stderr.len();
        assert!(said < 20_000, "{arguments:?}: {said} bytes");
        // Here nothing is optimized for speed.
        assert!(work.as_secs_f64() < 3.0, "{arguments:?}: {work:?}");
    }
}

#[test]
fn a_million_bytes_by_chance_are_answered_at_once() {
    let mut chance = fastrand::Rng::with_seed(4);
    let bytes: Vec<u8> = (0..1_000_000).map(|_| chance.u8(..)).collect();
    let letters: Vec<u8> = (0..1_000_000).map(|_| chance.u8(32..127)).collect();
    let mut fields = String::from("(");
    while fields.len() < 1_000_000 {
        fields += &format!("u{}: 1,", fields.len());
    }
    fields.push(')');
    for (name, bytes) in [
        ("bytes", bytes),
        ("letters", letters),
        ("fields", fields.into_bytes()),
    ] {
        let path = file(&format!("chance_{name}.ron"), &bytes);
        let (output, work) = worked(&["check", &path.to_string_lossy()]);
        refused(&output, &[]);
        assert!(
            output.stderr.len() < 20_000,
            "{name}: {} bytes",
            output.stderr.len()
        );
        // Here nothing is optimized for speed.
        assert!(work.as_secs_f64() < 3.0, "{name}: {work:?}");
    }
}

#[test]
fn a_list_of_bad_numbers_is_one_finding_though_another_field_is_missing() {
    let scene = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes/single.ron");
    let scene = fs::read_to_string(scene).expect("a scene");
    let list = format!(
        "firing_order: [1], firing_angles: [{}]",
        "-1,".repeat(346_000)
    );
    let text = scene
        .replace("firing_order: [1]", &list)
        .replace("    bore: 84.0,\n", "");
    assert!(!text.contains("bore:"));
    let path = file("bad_numbers.ron", text.as_bytes());
    let (output, work) = worked(&["check", &path.to_string_lossy(), "--json"]);
    assert!(work.as_secs_f64() < 3.0, "{work:?}");
    assert!(output.stdout.len() < 5_000, "{} bytes", output.stdout.len());
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let names: Vec<&str> = json["findings"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|finding| finding["name"].as_str().expect("a name"))
        .collect();
    assert_eq!(names, ["TooMany", "MissingField"]);
    assert_eq!(json["more_findings"], 0);
}

#[test]
fn fifty_findings_are_told_and_how_many_more_there_were() {
    let scene = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes/bench_four.ron");
    let scene = fs::read_to_string(scene).expect("a scene");
    let points = "(rpm: -1.0, advance: 999.0),".repeat(100);
    let (before, rest) = scene.split_once("centrifugal: [").expect("a curve");
    let after = rest.split_once(']').expect("its end").1;
    let path = file(
        "many_findings.ron",
        format!("{before}centrifugal: [{points}]{after}").as_bytes(),
    );
    let path = path.to_string_lossy();
    let json = dotwise(&["check", &path, "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(json["findings"].as_array().expect("a list").len(), 50);
    assert_eq!(json["more_findings"], 150);
    let text = dotwise(&["check", &path]);
    let text = String::from_utf8_lossy(&text.stdout);
    // Where the lines fold hangs on how long the path is.
    let words: Vec<&str> = text.split_whitespace().collect();
    let words = words.join(" ");
    assert!(
        words.contains("150 more findings") && words.contains("and 150 more."),
        "{text}"
    );
    refused(&dotwise(&["at", &path, "0"]), &["150 more findings"]);
}
