//! Texts from outside that would be obeyed by a terminal, turn the direction of writing or hide
//! themselves: whatever the command, they come out as marks. And where answers cannot be written.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use clap::CommandFactory as _;
use common::{dotwise, program, unfolded};
use dotwise::command::CommandLine;
use dotwise::engine::scenes;
use dotwise::words::is_unseen;

/// A terminal's title set, a bell, the cursor at the line's start, a null, writing turned round, an
/// invisible joint, a C1 control, a line of its own.
const IN_RON: &str =
    r"\u{1b}]0;owned\u{7}\r\u{0}\u{202e}\u{2060}\u{9b}31m\u{feff}\ndotwise: forged";

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("made");
    folder
}

fn file(folder: &Path, name: &str, text: impl AsRef<[u8]>) -> String {
    let path = folder.join(name);
    fs::write(&path, text).expect("written");
    path.to_string_lossy().into_owned()
}

fn bench() -> String {
    scenes::find("bench_four").expect("there").text.to_owned()
}

/// The bench four with such texts wherever it has one.
fn hostile() -> String {
    let text = bench();
    let name = text.find("name: \"").expect("a name") + "name: \"".len();
    let text = format!("{}{IN_RON}{}", &text[..name], &text[name..]);
    let marks = text.find("marks: [").expect("marks") + "marks: [".len();
    let text = format!(
        "{}(on: Crankshaft, name: \"={IN_RON}\", at: 5.0),{}",
        &text[..marks],
        &text[marks..]
    );
    let end = text.rfind(')').expect("an end");
    let steps = if text.contains("\n    steps:") {
        String::new()
    } else {
        format!("    steps: [(do: \"{IN_RON}\")],\n")
    };
    format!("{}{steps}{}", &text[..end], &text[end..])
}

fn assert_seen(what: &str, bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let unseen: Vec<char> = text
        .chars()
        .filter(|&character| is_unseen(character) && character != '\n')
        .collect();
    assert!(unseen.is_empty(), "{what}: {unseen:?} in {text}");
    assert!(
        !text.lines().any(|line| line.starts_with("dotwise: forged")),
        "{what}: a line of its own: {text}"
    );
}

/// What a command needs beside its engine, in each way that is to be tried; `OUT` is a file in the
/// test's folder. A command that is not here is tried with its engine alone.
fn ways(command: &str, seen: &str, order: &str) -> Vec<Vec<String>> {
    let ways: &[&[&str]] = match command {
        "at" => &[&["0"], &["0", "--json"]],
        "table" => &[
            &["--step", "90"],
            &["--step", "90", "--csv"],
            &["--step", "90", "--json"],
        ],
        "diagnose" => &[&[seen], &[seen, "--json"]],
        "degree" => &[&["--intake", "-5", "225", "--at", "1.27"]],
        "tdc" => &[&["--by-eye", "0.01"], &["--stop", "-20", "22"]],
        "order" => &[&[order]],
        "sheet" => &[&["-o", "OUT.svg"], &["-o", "OUT.html"], &["-o", "OUT.pdf"]],
        "handout" => &[&["-o", "OUT.html"]],
        _ => &[&[], &["--json"]],
    };
    ways.iter()
        .map(|way| way.iter().map(|word| (*word).to_owned()).collect())
        .collect()
}

#[test]
fn no_command_lets_an_unseen_character_out() {
    let here = folder("hostile_text");
    let seen = file(
        &here,
        "seen\u{1b}]0;x\u{7}\u{202e}.ron",
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 0)])",
    );
    let engines = [
        file(&here, "engine\u{1b}[31m\u{202e}\r\u{200b}.ron", hostile()),
        file(
            &here,
            "broken\u{1b}[31m\u{202e}\ndotwise: forged.ron",
            hostile().replace("bore:", "bore\u{202e}\u{1b}\u{9b}: \u{7}"),
        ),
        file(
            &here,
            "wrong\u{1b}[8m.ron",
            hostile().replace("bore: 82.0", "bore: \"\u{202e}\u{1b}[2J\u{85}\""),
        ),
        here.join("not there\u{1b}[31m\u{202e}\r\ndotwise: forged")
            .to_string_lossy()
            .into_owned(),
    ];
    let mut tried = 0;
    let line = CommandLine::command();
    for command in line.get_subcommands().filter(|command| {
        command
            .get_positionals()
            .any(|argument| argument.get_id() == "engine")
    }) {
        // These two draw with a graphics card and write no texts of the engine's.
        if matches!(command.get_name(), "picture" | "speed") {
            continue;
        }
        for (index, engine) in engines.iter().enumerate() {
            for (way, more) in ways(command.get_name(), &seen, "1,3,4,2")
                .into_iter()
                .enumerate()
            {
                let out = here.join(format!("{}{index}{way}\u{202e}", command.get_name()));
                let more: Vec<String> = more
                    .iter()
                    .map(|word| word.replace("OUT", &out.to_string_lossy()))
                    .collect();
                let mut arguments = vec![command.get_name(), engine];
                arguments.extend(more.iter().map(String::as_str));
                let answer = dotwise(&arguments);
                let code = answer.status.code();
                assert!(matches!(code, Some(0..=2)), "{arguments:?}: {code:?}");
                assert_seen(&format!("{arguments:?} out"), &answer.stdout);
                assert_seen(&format!("{arguments:?} err"), &answer.stderr);
                if index == 0 {
                    assert_ne!(
                        code,
                        Some(2),
                        "{arguments:?}: {}",
                        String::from_utf8_lossy(&answer.stderr)
                    );
                }
                for word in more
                    .iter()
                    .filter(|word| word.ends_with("svg") || word.ends_with("html"))
                {
                    if index == 0 {
                        // Of several pages as SVG each is a file of its own.
                        let first = word.replace(".svg", "-1.svg");
                        let page = fs::read(word).or_else(|_| fs::read(first));
                        assert_seen(word, &page.expect("written"));
                    }
                }
                tried += 1;
            }
        }
    }
    assert!(tried > 40, "{tried}");
    let usage = dotwise(&["at", "bench_four", "\u{1b}]0;x\u{7}\u{202e}"]);
    assert_eq!(usage.status.code(), Some(2));
    assert_seen("usage", &usage.stderr);
}

#[test]
fn with_colours_on_a_terminal_s_other_orders_are_still_shown_as_marks() {
    let here = folder("hostile_colour");
    let engine = file(&here, "engine.ron", hostile());
    let answer = program(&["at", &engine, "0"])
        .env_remove("NO_COLOR")
        .env("CLICOLOR_FORCE", "1")
        .output()
        .expect("runs");
    let text = String::from_utf8(answer.stdout).expect("text");
    assert!(text.contains("\u{1b}[1m"), "colours: {text:?}");
    assert!(
        text.contains("<U+001B>]0;owned<U+0007><U+000D><U+0000><U+202E>"),
        "{text:?}"
    );
}

#[test]
fn json_says_exactly_what_the_file_does() {
    let here = folder("hostile_json");
    let engine = file(&here, "engine.ron", hostile());
    let answer = dotwise(&["at", &engine, "0", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
    let name = json.to_string();
    assert!(name.contains("\u{202e}\u{2060}\u{9b}31m\u{feff}"), "{name}");
}

#[test]
fn a_byte_order_mark_is_read_past_and_utf_16_is_named() {
    let here = folder("byte_order");
    let marked = file(&here, "marked.ron", format!("\u{feff}{}", bench()));
    let answer = dotwise(&["check", &marked]);
    assert_eq!(answer.status.code(), Some(0), "{answer:?}");
    let broken = file(&here, "broken.ron", "\u{feff}(formt: 1)");
    let answer = dotwise(&["check", &broken, "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&answer.stdout).unwrap_or_default();
    if !json.is_null() {
        assert_eq!(json["findings"][0]["column"], 2, "{json}");
    } else {
        let err = String::from_utf8_lossy(&answer.stderr);
        assert!(err.contains(":1:2"), "{err}");
    }
    let seen = file(
        &here,
        "seen.ron",
        "\u{feff}(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 0)])",
    );
    let answer = dotwise(&["diagnose", "bench_four", &seen]);
    assert_ne!(answer.status.code(), Some(2), "{answer:?}");
    let wide: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(bench().encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let wide = file(&here, "wide.ron", wide);
    let answer = dotwise(&["check", &wide]);
    let err = String::from_utf8_lossy(&answer.stderr);
    assert_eq!(answer.status.code(), Some(2));
    assert!(
        err.contains("UTF-16") && err.contains("fix: save it as UTF-8"),
        "{err}"
    );
}

#[test]
fn a_reader_that_has_seen_enough_ends_it_quietly() {
    for arguments in [
        &["table", "vee_eight", "--step", "0.1", "--csv"][..],
        &["table", "vee_eight", "--step", "0.1"],
        &["table", "vee_eight", "--step", "0.1", "--json"],
    ] {
        let mut child = program(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("runs");
        let mut first = [0; 10];
        let mut out = child.stdout.take().expect("a pipe");
        out.read_exact(&mut first).expect("some of it");
        drop(out);
        let answer = child.wait_with_output().expect("ends");
        assert_eq!(answer.status.code(), Some(0), "{answer:?}");
        assert!(answer.stderr.is_empty(), "{answer:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_standard_output_is_said() {
    for arguments in [
        &["check", "bench_four"][..],
        &["at", "bench_four", "0", "--json"],
        &["sheet", "bench_four", "-o", "-"],
        &["scenes"],
        &["--help"],
    ] {
        let full = fs::File::options()
            .write(true)
            .open("/dev/full")
            .expect("there");
        let answer = program(arguments).stdout(full).output().expect("runs");
        let err = String::from_utf8_lossy(&answer.stderr);
        assert_eq!(answer.status.code(), Some(2), "{arguments:?}: {err}");
        assert!(!err.is_empty(), "{arguments:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn what_has_no_end_is_refused_at_once() {
    let answer = dotwise(&["check", "/dev/zero"]);
    let err = String::from_utf8_lossy(&answer.stderr);
    assert_eq!(answer.status.code(), Some(2), "{err}");
    assert!(err.contains("at most 1048576 are read"), "{err}");
}

#[test]
fn a_number_beyond_all_measure_is_said_in_a_few_figures() {
    let here = folder("beyond_measure");
    for written in ["1e308", "-1e308", "1e999", "inf", "NaN"] {
        let engine = file(
            &here,
            "engine.ron",
            bench().replace("bore: 82.0", &format!("bore: {written}")),
        );
        let answer = dotwise(&["check", &engine]);
        let out = String::from_utf8_lossy(&answer.stdout);
        assert_eq!(answer.status.code(), Some(1), "{out}");
        let said: String = out
            .lines()
            .filter(|line| line.starts_with("error"))
            .collect();
        assert!(!said.contains("inf"), "{said}");
        let digits = said.split(|character: char| !character.is_ascii_digit());
        assert!(digits.map(str::len).max() < Some(20), "{said}");
    }
}

#[test]
fn a_value_of_the_wrong_kind_is_found_under_its_field() {
    let here = folder("wrong_kind");
    let engine = file(
        &here,
        "engine.ron",
        bench().replacen("lift: 9.5", "lift: \"much\"", 1),
    );
    let json = dotwise(&["check", &engine, "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let found = json["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .find(|found| found["name"] == "WrongKind")
        .unwrap_or_else(|| panic!("{json}"));
    assert_eq!(found["place"], "valves.intake.lift");
    assert!(
        found["message"]
            .as_str()
            .expect("words")
            .contains("`valves.intake.lift`")
    );
}

#[test]
fn degrees_may_begin_with_their_point_and_are_held_to_their_range() {
    let answer = dotwise(&["lash", "bench_four", "--margin", ".5"]);
    assert_eq!(answer.status.code(), Some(0), "{answer:?}");
    assert_eq!(dotwise(&["at", "bench_four", "-.5"]).status.code(), Some(0));
    for margin in ["-.5", "360"] {
        let answer = dotwise(&["lash", "bench_four", "--margin", margin]);
        let err = String::from_utf8_lossy(&answer.stderr);
        assert_eq!(answer.status.code(), Some(2));
        let err = unfolded(&err);
        assert!(err.contains("0° to under 360°"), "{err}");
    }
    let answer = dotwise(&["lash", "bench_four", "--margin", "359.9"]);
    assert_eq!(answer.status.code(), Some(1));
    assert!(
        String::from_utf8_lossy(&answer.stdout).contains("no valve is ever off its lobe by 359.9°")
    );
}
