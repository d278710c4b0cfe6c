//! Every text answer of every command: no line over 80 columns, and lengths in the file's units.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use clap::CommandFactory as _;
use common::{dotwise, laid_out, scene_engine};
use dotwise::command::CommandLine;
use dotwise::description::{Description, Mark, MarkOn};
use dotwise::engine::scenes::{self, SCENES};
use dotwise::laws::ValveReading;
use dotwise::output::text;
use dotwise::source;
use dotwise::words::{COLUMNS, Units};

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("made");
    folder
}

/// A file of the tests' own.
fn file(name: &str, text: &str) -> String {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("columns_and_units");
    fs::create_dir_all(&folder).expect("made");
    let path = folder.join(name);
    fs::write(&path, text).expect("written");
    path.to_string_lossy().into_owned()
}

/// A four with cylinders at every 30°, its firing order mixed up, twenty-four cylinders, a name
/// and marks of 200 characters without a blank.
fn long() -> Description {
    let pins: Vec<(f64, [u32; 1])> = (0..24)
        .map(|i| (f64::from(i) * 30.0 % 360.0, [i + 1]))
        .collect();
    let rows: Vec<(f64, &[u32])> = pins.iter().map(|(at, own)| (*at, &own[..])).collect();
    let all: Vec<u32> = (1..=24).collect();
    // Each at its first TDC after the one before it: two turns of twelve throws, one and one.
    let order: Vec<u32> = (0..12_u32)
        .map(|i| 1 + (12 - i) % 12)
        .chain((0..12).map(|i| 13 + (12 - i) % 12))
        .collect();
    let mut d = laid_out(&rows, &[(0.0, &all)], &order);
    d.name = "Nameless".repeat(25);
    d.marks = vec![Mark {
        on: MarkOn::Crankshaft,
        name: "notch".repeat(40),
        at: 0.0,
        pointer_at: None,
    }];
    d.clearance.as_mut().expect("measured").intake_drop = 1.9;
    d
}

fn written(description: &Description) -> String {
    source::write(description).expect("written")
}

/// In inches, with whatever is said of clearance, tappets and quoted lifts.
fn engines_in(units: Units) -> Vec<(String, String)> {
    let bench = scene_engine("bench_four").written().in_units(units);
    let mut little = bench.clone();
    little.clearance.as_mut().expect("measured").intake_drop *= 0.4;
    let mut at_tappet = bench.clone();
    at_tappet.valves.quoted_at = Some(1.27 / units.millimetres());
    at_tappet.valves.measured_at = Some(dotwise::description::MeasuredAt::Tappet);
    at_tappet.valves.rocker_ratio = Some(1.2);
    let mut not_stated = little.clone();
    not_stated.valves.quoted_at = None;
    let mut out_of_range = bench.clone();
    out_of_range.bore = 1e5;
    let all = [
        ("bench", bench),
        ("little", little),
        ("tappet", at_tappet),
        ("not_stated", not_stated),
        ("out_of_range", out_of_range),
    ];
    all.map(|(name, d)| (name.to_owned(), written(&d))).to_vec()
}

const SEEN: &str = "(format: 1, sightings: [(crank: 0.0, valves: [(cylinder: 1, valve: Intake, is: Open)], \
     rotor: (clock: 20.0), spark: (cylinder: 1, btdc: -47.0))])";

/// Each way in which a command is asked, its engine in place of `ENGINE`; `OUT` is a file.
fn ways(command: &str, seen: &str) -> Vec<Vec<String>> {
    let ways: &[&[&str]] = match command {
        "at" => &[
            &["ENGINE", "0", "123", "-8.37", "360", "719.99"],
            &[
                "ENGINE",
                "0",
                "360",
                "--cam-teeth",
                "4",
                "--drive-teeth",
                "-1",
            ],
        ],
        "table" => &[&["ENGINE", "--step", "7.77"]],
        "diagnose" => &[&["ENGINE", seen]],
        "prove" => &[
            &["ENGINE"],
            &["ENGINE", seen, "--stage", "fired"],
            &["ENGINE", "--stage", "case-open", "--without", "rotor,dots"],
        ],
        "degree" => &[
            &[
                "ENGINE",
                "--intake",
                "-10",
                "232",
                "--exhaust",
                "-232",
                "10",
                "--at",
                "0.02in",
            ],
            &["ENGINE", "--table", "tests/tables/valid.csv"],
            &["ENGINE", "--table", "tests/tables/DoesNotRise.csv"],
            &["ENGINE", "--table", "tests/tables/LobeElsewhere.csv"],
            &["ENGINE", "--intake", "-10", "232", "--at", "9"],
            &["ENGINE", "--intake", "-10", "232", "--at", "300mm"],
        ],
        "tdc" => &[
            &["--stop", "21", "-15", "ENGINE"],
            &["--by-eye", "0.01mm", "ENGINE"],
            &["--by-eye", "0.0005 in", "ENGINE"],
            &["--by-eye", "1000", "ENGINE"],
        ],
        "sheet" => &[
            &["ENGINE", "-o", "OUT.svg", "--diameter", "180mm"],
            &["ENGINE", "-o", "OUT.svg", "--diameter", "5mm"],
        ],
        "handout" => &[&["ENGINE", "-o", "OUT.html"]],
        "order" => &[&["--felt", "1=0", "3=180", "4=360", "2=540"]],
        "scenes" | "fields" => &[&[]],
        _ => &[
            &["ENGINE"],
            &["ENGINE", "--cam-teeth", "4"],
            &["ENGINE", "--cam-teeth", "-2", "--body-turn", "5"],
        ],
    };
    let mut ways: Vec<Vec<String>> = ways
        .iter()
        .map(|way| way.iter().map(|word| (*word).to_owned()).collect())
        .collect();
    ways.push(vec!["--help".to_owned()]);
    ways
}

/// Every command asked in each of its ways about an engine: what was asked, and both streams.
fn answers(engine: &str, seen: &str, out: &Path) -> Vec<(String, String)> {
    let line = CommandLine::command();
    let mut answers = Vec::new();
    for command in line.get_subcommands().map(clap::Command::get_name) {
        // These two draw with a graphics card.
        if matches!(command, "picture" | "speed") {
            continue;
        }
        for way in ways(command, seen) {
            let way: Vec<String> = way
                .iter()
                .map(|word| {
                    word.replace("ENGINE", engine)
                        .replace("OUT", &out.join(command).to_string_lossy())
                })
                .collect();
            let mut arguments = vec![command];
            arguments.extend(way.iter().map(String::as_str));
            let answer = dotwise(&arguments);
            assert!(
                matches!(answer.status.code(), Some(0..=2)),
                "{arguments:?}: {answer:?}"
            );
            let text = [answer.stdout, answer.stderr].concat();
            answers.push((arguments.join(" "), String::from_utf8(text).expect("text")));
            for word in way
                .iter()
                .filter(|word| word.ends_with("svg") || word.ends_with("html"))
            {
                let _ = fs::remove_file(word);
            }
        }
    }
    assert!(answers.len() > 30, "{}", answers.len());
    answers
}

#[test]
fn no_line_of_any_answer_is_longer_than_a_terminal_is_wide() {
    let seen = file("seen.ron", SEEN);
    let here = folder("columns_out");
    let mut engines: Vec<String> = SCENES.iter().map(|scene| scene.name.to_owned()).collect();
    engines.push(file("long.ron", &written(&long())));
    // Broken in a line that is far longer than a terminal is wide.
    let bench = scenes::BENCH
        .text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let bench: Vec<&str> = bench.split("//").take(1).collect();
    engines.push(file("one_line.ron", &bench.concat()));
    engines.push(file(
        "broken.ron",
        &written(&long())
            .replace("Nameless", "N\u{e4}meless\t")
            .replace('\n', " ")
            .replacen("stroke: 80.0", "stroke: -80.0, colour: \"blue\"", 1),
    ));
    for engine in &engines {
        if !engine.ends_with("broken.ron") {
            assert_ne!(
                dotwise(&["at", engine, "0"]).status.code(),
                Some(2),
                "{engine}"
            );
        }
        for (asked, text) in answers(engine, &seen, &here) {
            for line in text.lines() {
                let columns = line.chars().count();
                // A path is told whole, so that it can be opened: it is as long as the builder's.
                let told = line.contains("┌─") && line.contains(engine.as_str());
                assert!(
                    columns <= COLUMNS || told,
                    "{asked}: {columns} columns: {line}"
                );
            }
        }
    }
}

/// Whether a number with this unit stands in a text.
fn has_unit(text: &str, unit: &str) -> bool {
    text.match_indices(unit).any(|(at, _)| {
        let before = text[..at].trim_end_matches(' ');
        let after = text[at + unit.len()..].chars().next();
        let word = after.is_some_and(char::is_alphanumeric);
        let figures = before.rsplit(' ').next().unwrap_or_default();
        // `No. 3 in 172°`: a length in inches is always told with decimals.
        let decimal = figures.trim_start_matches(['(', '−']);
        let number = decimal.parse::<f64>().is_ok() && (unit != "in" || decimal.contains('.'));
        number && !word
    })
}

#[test]
fn no_answer_about_an_engine_in_inches_says_millimetres_nor_the_other_way_round() {
    let seen = file("seen_units.ron", SEEN);
    let here = folder("units_out");
    for (units, other) in [(Units::Inches, "mm"), (Units::Millimetres, "in")] {
        let mut own = 0;
        for (name, text) in engines_in(units) {
            let engine = file(&format!("{name}_{}.ron", units.short()), &text);
            for (asked, text) in answers(&engine, &seen, &here) {
                // What is asked in general names both units: these are about no engine.
                if asked.ends_with("--help") || asked.starts_with("fields") {
                    continue;
                }
                own += usize::from(has_unit(&text, units.short()));
                let unfolded: Vec<&str> = text.split_whitespace().collect();
                // But for the example of how to write a length.
                let told = unfolded.join(" ").replace("180mm or 7in", "");
                assert!(!has_unit(&told, other), "{asked} says {other}: {text}");
            }
        }
        assert!(own > 20, "{own} answers have a length in {}", units.short());
    }
}

#[test]
fn common_practice_is_a_round_figure_in_either_unit_and_judged_by_it() {
    let says = |units: Units, intake_drop: f64| {
        let mut d = scene_engine("bench_four").written().in_units(units);
        d.clearance.as_mut().expect("measured").intake_drop = intake_drop;
        let engine = file(&format!("practice_{}.ron", units.short()), &written(&d));
        let text = |answer: std::process::Output| String::from_utf8(answer.stdout).expect("text");
        (
            text(dotwise(&["clearance", &engine])),
            text(dotwise(&["check", &engine])),
        )
    };
    let (clearance, check) = says(Units::Inches, 0.081);
    assert!(
        clearance.contains("0.078 in, 1.1° after overlap TDC: too little (0.080 in at least)"),
        "{clearance}"
    );
    assert!(
        clearance.contains("enough (0.100 in at least)"),
        "{clearance}"
    );
    assert!(check.contains("within 0.078 in of the piston"), "{check}");
    let (clearance, check) = says(Units::Millimetres, 1.9);
    assert!(
        clearance.contains("too little (2.00 mm at least)"),
        "{clearance}"
    );
    assert!(
        check.contains("2.00 mm at least is common practice"),
        "{check}"
    );
}

#[test]
fn a_length_is_taken_in_the_unit_after_it_and_else_in_the_file_s() {
    let inches = file("plain_in.ron", &engines_in(Units::Inches)[0].1);
    let mm = file("plain_mm.ron", &engines_in(Units::Millimetres)[0].1);
    let by_eye = |engine: &str, given: &str| {
        let answer = dotwise(&["tdc", "--by-eye", given, engine, "--json"]);
        let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
        json["by_eye_mm"]
            .as_f64()
            .unwrap_or_else(|| panic!("{given}: {json}"))
    };
    for (engine, given, want) in [
        (&mm, "0.01", 0.01),
        (&mm, "0.001in", 0.0254),
        (&mm, "0.01 MM", 0.01),
        (&inches, "0.001", 0.0254),
        (&inches, "0.001 in", 0.0254),
        (&inches, "0.01mm", 0.01),
    ] {
        approx::assert_abs_diff_eq!(by_eye(engine, given), want, epsilon = 1e-12);
    }
    let text = dotwise(&["tdc", "--by-eye", "0.001", &inches]).stdout;
    let text = String::from_utf8(text).expect("text");
    assert!(text.contains("nothing under 0.001 in "), "{text}");
    for wrong in ["0.01cm", "mm", "1 2mm", "NaNmm", "1e12in"] {
        let answer = dotwise(&["tdc", "--by-eye", wrong, &mm]);
        assert_eq!(answer.status.code(), Some(2), "{wrong}");
    }
    // The lobe of the bench four is symmetric: at any lift its centre is 110°.
    let at = |engine: &str, given: &str| {
        let answer = dotwise(&[
            "degree", engine, "--intake", "-10", "230", "--at", given, "--json",
        ]);
        let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
        assert!(json["intake_centre_deg"].is_number(), "{json}");
        json.to_string()
    };
    assert_eq!(at(&mm, "1.27"), at(&mm, "0.05in"));
    assert_eq!(at(&inches, "0.05"), at(&inches, "1.27mm"));
    let sheet = |engine: &str, given: &str| {
        let out = folder("diameter").join("wheel.svg");
        let out = out.to_string_lossy();
        let arguments = [
            "sheet",
            engine,
            "--only",
            "wheel",
            "--diameter",
            given,
            "-o",
            &out,
        ];
        String::from_utf8(dotwise(&arguments).stdout).expect("text")
    };
    assert!(
        sheet(&inches, "7").contains("diameter 7 in"),
        "{}",
        sheet(&inches, "7")
    );
    assert!(sheet(&inches, "180mm").contains("diameter 7.087 in"));
    assert!(sheet(&mm, "7in").contains("diameter 177.8 mm"));
}

#[test]
fn a_valve_off_its_seat_by_less_than_is_told_is_just_open() {
    let told = |lift_mm: f64, units| {
        let valve = ValveReading {
            lift_mm,
            open: lift_mm > 0.0,
        };
        text::valve(valve, units)
    };
    assert_eq!(told(0.004, Units::Millimetres), "just open");
    assert_eq!(told(0.006, Units::Millimetres), "open 0.01 mm");
    assert_eq!(told(0.01, Units::Inches), "just open");
    assert_eq!(told(0.02, Units::Inches), "open 0.001 in");
    assert_eq!(told(0.0, Units::Inches), "shut");
}

#[test]
fn a_table_has_a_column_for_the_rotor_where_there_is_one() {
    let table = |engine: &str| {
        let answer = dotwise(&["table", engine, "--step", "90"]);
        String::from_utf8(answer.stdout).expect("text")
    };
    let magneto = table("crank_magneto");
    assert!(
        !magneto.contains("rotor") && !magneto.contains("none"),
        "{magneto}"
    );
    assert!(magneto.contains("P   No. 1 in 338°, wasted"), "{magneto}");
    assert!(table("bench_four").contains("rotor      next spark"));
}

#[test]
fn leads_given_as_they_are_drawn_are_not_as_built() {
    let told = |leads: &str| {
        let answer = dotwise(&["at", "bench_four", "0", "--leads", leads]);
        String::from_utf8(answer.stdout).expect("text")
    };
    assert!(!told("1,3,4,2").contains("As built"), "{}", told("1,3,4,2"));
    assert!(told("1,2,4,3").contains("As built"));
    // Given to a proof they are still traced: no look is needed at them.
    let looks = |more: &[&str]| {
        let answer = dotwise(&[&["prove", "bench_four", "--json"], more].concat());
        let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
        json["looks"].to_string().contains("leads, traced")
    };
    assert!(looks(&[]) && !looks(&["--leads", "1,3,4,2"]));
}
