//! `--json` where there is no answer: one JSON document that says what is wrong, and exit 2.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::path::Path;

use clap::CommandFactory as _;
use common::dotwise;
use dotwise::command::CommandLine;
use serde_json::Value;

fn refusal(arguments: &[&str]) -> Value {
    let answer = dotwise(arguments);
    assert_eq!(answer.status.code(), Some(2), "{arguments:?}: {answer:?}");
    assert!(
        !answer.stderr.is_empty(),
        "{arguments:?}: no word for a person"
    );
    let json: Value = serde_json::from_slice(&answer.stdout)
        .unwrap_or_else(|error| panic!("{arguments:?}: {error}: {answer:?}"));
    for text in ["error", "fix"] {
        let said = json[text].as_str().unwrap_or_default();
        assert!(said.len() > 5, "{arguments:?}: {text}: {json}");
    }
    assert!(json["findings"].is_array(), "{arguments:?}: {json}");
    json
}

/// A broken description: two faults, in one that is RON.
fn broken() -> String {
    let text = dotwise::engine::scenes::BENCH.text;
    let text = text
        .replace("bore: 82.0", "bore: -82.0")
        .replace("stroke: 80.0", "strokes: 80.0");
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("json_refusal.ron");
    std::fs::write(&path, text).expect("written");
    path.to_string_lossy().into_owned()
}

/// What a command needs beside its engine.
fn more(command: &str) -> &'static [&'static str] {
    match command {
        "at" => &["0"],
        "degree" => &["--intake", "-5", "225", "--at", "1"],
        "tdc" => &["--by-eye", "0.01"],
        "diagnose" => &["nothing.seen.ron"],
        "sheet" => &["-o", "/dev/null/sheet.pdf"],
        "handout" => &["-o", "/dev/null/handout.html"],
        _ => &[],
    }
}

#[test]
fn every_command_that_gives_json_refuses_in_json() {
    let (broken, mut tried) = (broken(), 0);
    let line = CommandLine::command();
    for command in line.get_subcommands() {
        let gives_json = command
            .get_arguments()
            .any(|one| one.get_long() == Some("json"));
        let name = command.get_name();
        if !gives_json || name == "speed" {
            continue;
        }
        // What clap refuses.
        let usage = refusal(&[name, "--json", "--no-such-option"]);
        assert!(
            usage["error"]
                .as_str()
                .expect("words")
                .contains("--no-such-option"),
            "{usage}"
        );
        let takes_engine = command
            .get_positionals()
            .any(|one| one.get_id() == "engine");
        if !takes_engine {
            continue;
        }
        let with = |engine: &str| {
            let mut arguments = vec![name, engine, "--json"];
            arguments.extend(more(name));
            refusal(&arguments)
        };
        assert_eq!(with("not_there.ron")["findings"], Value::Array(Vec::new()));
        // `check` answers what is wrong with a file that can be read: that is its work.
        if name != "check" {
            let found = with(&broken);
            let names: Vec<_> = found["findings"]
                .as_array()
                .expect("a list")
                .iter()
                .collect();
            let own: Value = serde_json::from_slice(&dotwise(&["check", &broken, "--json"]).stdout)
                .expect("JSON");
            assert_eq!(own["findings"], found["findings"], "{name}: {names:?}");
            assert!(
                names
                    .iter()
                    .any(|one| one["place"] == "bore" && one["line"].is_number())
            );
        }
        tried += 1;
    }
    assert!(tried > 9, "{tried}");
}

#[test]
fn without_json_nothing_goes_to_standard_output() {
    for arguments in [
        &["at", "not_there", "0"][..],
        &["at"],
        &["at", "--", "--json"],
    ] {
        let answer = dotwise(arguments);
        assert_eq!(answer.status.code(), Some(2));
        assert!(answer.stdout.is_empty(), "{arguments:?}: {answer:?}");
    }
}

#[test]
fn an_assembly_that_cannot_be_is_refused_with_its_findings() {
    let json = refusal(&["at", "bench_four", "0", "--leads", "1,2", "--json"]);
    assert_eq!(
        json["findings"][0]["name"], "LeadsAreNotTheCylinders",
        "{json}"
    );
    let scene = refusal(&["scenes", "bench_fuor", "--json"]);
    assert!(
        scene["fix"]
            .as_str()
            .expect("words")
            .contains("`bench_four`"),
        "{scene}"
    );
}
