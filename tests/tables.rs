//! Tables of lifts: one for each fault, made from `tests/tables/valid.csv` by one slip, and beside each
//! the words in which it is told. Where the wording changes on purpose, the new words are in the
//! build folder's `tmp`, to be read and kept.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use common::dotwise;
use dotwise::engine::scenes;
use dotwise::procedures::lift_table::{self, TableFault};
use dotwise::procedures::read_lobes::ReadLobes;
use dotwise::source::{Fault, Finding, Report};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/tables")
}

fn table(name: &str) -> String {
    fs::read_to_string(folder().join(format!("{name}.csv"))).expect("text")
}

/// What is found in a table of the bench four's lobes.
fn found(text: &str) -> Result<ReadLobes, Vec<Finding>> {
    let engine = scenes::BENCH.engine();
    let metric = engine.metric();
    let table = lift_table::read(text, engine.written().units, metric.bore)?;
    ReadLobes::of(&engine, &table)
}

#[test]
fn each_fault_is_told_in_the_words_beside_its_table() {
    let mut otherwise = Vec::new();
    let mut have = BTreeSet::new();
    for entry in fs::read_dir(folder()).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        if path.extension().is_none_or(|ending| ending != "csv") || name == "valid" {
            continue;
        }
        let text = table(&name);
        let findings = found(&text).expect_err("a fault");
        assert!(
            findings.iter().any(|finding| finding.name == name),
            "{name}: {findings:#?}"
        );
        for finding in &findings {
            let told = [&finding.place, &finding.message, &finding.why, &finding.fix];
            let has_place = finding.span.is_some() || !told[0].is_empty();
            assert!(
                has_place && told[1..].iter().all(|text| !text.is_empty()),
                "{name}"
            );
        }
        let shown = Report {
            source: &format!("{name}.csv"),
            text: &text,
            findings: &findings,
        }
        .to_terminal(false);
        let pinned = folder().join(format!("{name}.txt"));
        if fs::read_to_string(&pinned).ok().as_deref() != Some(shown.as_str()) {
            let new = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.txt"));
            fs::write(new, &shown).expect("written");
            otherwise.push(format!("{name}:\n{shown}"));
        }
        have.insert(name);
    }
    assert!(
        otherwise.is_empty(),
        "told otherwise than pinned:\n{}",
        otherwise.join("\n")
    );
    let looked_for: BTreeSet<String> = TableFault::ALL
        .iter()
        .map(|fault| fault.name().to_owned())
        // A table too long to keep here: the reader's own test makes one.
        .filter(|name| name != "TooManyRows")
        .collect();
    assert_eq!(have, looked_for);
}

/// The valid table with something in it put otherwise, in a file of its own.
fn changed(change: impl Fn(String) -> String) -> tempfile::NamedTempFile {
    let file = tempfile::NamedTempFile::new().expect("a file");
    fs::write(file.path(), change(table("valid"))).expect("written");
    file
}

fn json(answer: &std::process::Output) -> serde_json::Value {
    serde_json::from_slice(&answer.stdout).expect("JSON")
}

fn degree(engine: &str, table: &Path, more: &[&str]) -> std::process::Output {
    let table = table.to_str().expect("a path");
    dotwise(&[&["degree", engine, "--table", table], more].concat())
}

#[test]
fn a_table_of_the_cards_own_lobes_is_found_right_and_told_as_the_card_has_it() {
    let valid = folder().join("valid.csv");
    let told = degree("bench_four", &valid, &[]);
    assert_eq!(
        told.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let answer = json(&degree("bench_four", &valid, &["--json"]));
    let number = |pointer: &str| {
        let value = answer
            .pointer(pointer)
            .unwrap_or_else(|| panic!("{pointer}"));
        value
            .as_f64()
            .unwrap_or_else(|| panic!("{pointer}: {value}"))
    };
    // The bench four: 12/52/52/12 at the seat, 9.5 and 9.0 mm. Durations by the law's own form,
    // D √(1 − (c/h)^⅓); peak velocity 3.43460 h/D.
    for (valve, full) in [("intake", 9.5), ("exhaust", 9.0)] {
        let of = |key: &str| number(&format!("/{valve}/{key}"));
        let over = |lift: f64| 244.0 * (1.0 - (lift / full).cbrt()).sqrt();
        assert!((of("centre_deg") - 110.0).abs() < 0.1);
        assert!((of("full_lift_mm") - full).abs() < 0.011);
        assert!((of("durations/0/duration_deg") - over(1.0)).abs() < 0.7);
        assert!((of("durations/1/duration_deg") - over(1.27)).abs() < 0.7);
        assert!((of("greatest_rate_mm_per_deg").abs() - 3.4346 * full / 244.0).abs() < 0.004);
        assert!(of("from_card/more_mm").abs() < 0.06);
        assert!(of("scatter_mm") < 0.02);
    }
    assert_eq!(answer["found"], "right");
    assert_eq!(answer["cam_teeth"], 0);
    assert!((number("/separation_deg") - 110.0).abs() < 0.1);
    assert_eq!(answer["doubtful"], serde_json::json!([]));
}

#[test]
fn a_mistyped_reading_is_named_by_its_row_and_left_out() {
    let file = changed(|text| text.replace("\n60,5.47,", "\n60,7.47,"));
    let told = degree("bench_four", file.path(), &[]);
    assert_eq!(told.status.code(), Some(1));
    let said = String::from_utf8_lossy(&told.stdout).into_owned();
    assert!(said.contains("Line 34: intake lift 7.47 mm"), "{said}");
    let doubtful = &json(&degree("bench_four", file.path(), &["--json"]))["doubtful"][0];
    assert_eq!(
        (&doubtful["line"], &doubtful["valve"]),
        (&34.into(), &"intake".into())
    );
    let neighbours = doubtful["neighbours_mm"].as_f64().expect("a number");
    assert!((neighbours - 5.47).abs() < 0.05, "{neighbours}");
}

#[test]
fn a_table_from_an_engine_a_tooth_late_finds_the_tooth() {
    // 14.4° of crank a tooth, with decimal commas between semicolons.
    let late = |text: String| {
        let rows = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| {
                let (crank, lifts) = line.split_once(',').expect("columns");
                let crank = crank
                    .parse::<f64>()
                    .map_or(crank.to_owned(), |deg| format!("{:.1}", deg + 14.4));
                format!("{crank},{lifts}")
                    .replace(',', ";")
                    .replace('.', ",")
            });
        rows.collect::<Vec<_>>().join("\r\n")
    };
    let file = changed(late);
    let told = degree("bench_four", file.path(), &["--json"]);
    assert_eq!(told.status.code(), Some(1));
    let answer = json(&told);
    assert_eq!(
        (&answer["cam_teeth"], &answer["found"]),
        (&(-1).into(), &"teeth".into())
    );
    assert!(answer["rest_deg"].as_f64().expect("a number").abs() < 0.1);
}

#[test]
fn one_valve_alone_is_enough_and_inches_are_inches() {
    let inches = |text: String| {
        let rows = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .skip(1)
            .map(|line| {
                let mut values = line.split(',');
                let (crank, exhaust) = (values.next().expect("crank"), values.nth(1).expect("it"));
                let lift: f64 = exhaust.parse().expect("a number");
                format!("{:.4},{crank}", lift / 25.4)
            });
        let rows: Vec<String> = rows.collect();
        format!("exhaust lift (in),wheel\n{}\n", rows.join("\n"))
    };
    let file = changed(inches);
    let answer = json(&degree("bench_four", file.path(), &["--json"]));
    assert!(answer["intake_centre_deg"].is_null() && answer["intake"].is_null());
    let full = answer["exhaust"]["full_lift_mm"]
        .as_f64()
        .expect("a number");
    assert!((full - 9.0).abs() < 0.012, "{full}");
}

#[test]
fn a_table_with_other_readings_or_that_is_not_there_is_refused() {
    let valid = folder().join("valid.csv");
    for more in [&["--at", "1"][..], &["--intake", "-10", "232"]] {
        assert_eq!(
            degree("bench_four", &valid, more).status.code(),
            Some(2),
            "{more:?}"
        );
    }
    let gone = degree("bench_four", &folder().join("gone.csv"), &["--json"]);
    assert_eq!(gone.status.code(), Some(2));
    assert!(
        json(&gone)["error"]
            .as_str()
            .expect("text")
            .contains("no such file")
    );
    let both = dotwise(&["degree", "-", "--table", "-"]);
    assert_eq!(both.status.code(), Some(2));
}

#[test]
fn the_lobes_of_a_table_are_drawn_over_the_cards_with_where_they_are_farthest_from_them() {
    let written = tempfile::tempdir().expect("a folder");
    let at = |name: &str| {
        written
            .path()
            .join(name)
            .to_str()
            .expect("a path")
            .to_owned()
    };
    // Every reading 14° later: about a tooth of the bench four's 14.4°.
    let late = changed(|text| {
        let later = |line: &str| match line.split_once(',') {
            Some((deg, rest)) if !line.starts_with(['c', '#']) => {
                format!("{},{rest}", deg.parse::<f64>().expect("degrees") + 14.0)
            }
            _ => line.to_owned(),
        };
        text.lines().map(later).collect::<Vec<_>>().join("\n")
    });
    let told = degree(
        "bench_four",
        late.path(),
        &["-o", &at("late.svg"), "--json"],
    );
    // As without -o: the camshaft is not right.
    assert_eq!(told.status.code(), Some(1));
    assert_eq!(json(&told)["what"], "lobes as read, 1 page");
    assert!(
        json(&told)["rests_on"]
            .to_string()
            .contains("assumed law of lift")
    );
    let svg = fs::read_to_string(at("late.svg")).expect("an SVG");
    let farthest = &json(&degree("bench_four", late.path(), &["--json"]))["intake"]["from_card"];
    let more = farthest["more_mm"].as_f64().expect("a number");
    assert!(more > 1.0, "{more}");
    for says in [
        "Bench four",
        "The camshaft is one tooth retarded.",
        "Before turning by hand",
        "This rests on",
        "lift as measured",
        "by the card",
        &format!("{more:.2} mm more than its card at most"),
    ] {
        assert!(svg.contains(says), "{says:?} is not in the SVG");
    }
    // Each reading off the seat has its ring: 2 × 23, and the ends on it.
    assert!(
        svg.matches("<circle").count() > 46,
        "{}",
        svg.matches("<circle").count()
    );
    let right = degree(
        "bench_four",
        &folder().join("valid.csv"),
        &["-o", &at("right.pdf")],
    );
    assert_eq!(right.status.code(), Some(0));
    assert!(
        fs::read(at("right.pdf"))
            .expect("a PDF")
            .starts_with(b"%PDF")
    );

    let before = fs::read_dir(written.path()).expect("listed").count();
    for (arguments, says) in [
        (vec!["-o", &at("not there/a.svg")], "could not be written"),
        (vec!["-o", &at("a.doc")], ".pdf, .svg or .html"),
        (vec!["-o", &at("right.pdf")], "is there already"),
        (vec!["--force"], "--output"),
    ] {
        let refused = degree("bench_four", late.path(), &arguments);
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains(says), "{arguments:?}: {said}");
    }
    let two_readings = [
        "degree",
        "bench_four",
        "--intake",
        "-12",
        "232",
        "--at",
        "0",
        "-o",
        &at("b.svg"),
    ];
    let refused = dotwise(&two_readings);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--table"));
    assert_eq!(
        fs::read_dir(written.path()).expect("listed").count(),
        before
    );
}
