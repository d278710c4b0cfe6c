//! The tables of fields against what serde reads and what the checks allow.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::collections::BTreeSet;
use std::fmt::Debug;

use dotwise::description::Description;
use dotwise::description::fields::{self, Absent, Field, Kind};
use dotwise::diagnosis::observations::fields as seen_fields;
use dotwise::diagnosis::{Observations, observations};
use dotwise::engine::{read, scenes};
use dotwise::source::{self, Spans};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Every field of a description once. It need not make an engine.
const ENGINE: &str = r#"(
    format: 1, name: "Whole", notes: "Every field.", units: Millimetres,
    bore: 82.0, rod_length: 135.0, pin_offset: 1.0, pulley_diameter: 160.0,
    crankshaft: (rotation: CounterClockwise, stroke: 80.0, throws: [(angle: 0.0, cylinders: [1])]),
    banks: [(angle: 0.0, cylinders: [1])], firing_order: [1], firing_angles: [0.0],
    cam_drive: (
        kind: Gears, crank_teeth: 25, cam_teeth: 50, idler_teeth: [30], marks_meet_at: 10.0,
        module: 2.0, backlash: 0.05, cam_at: 180.0,
    ),
    valves: (
        intake: (opens_btdc: 12.0, closes_abdc: 52.0, lift: 9.5),
        exhaust: (opens_bbdc: 52.0, closes_atdc: 12.0, lift: 9.0),
        quoted_at: 1.0, lobe: Polynomial, gear: PushRod,
    ),
    distributor: (
        driven_by: Camshaft, driver_teeth: 13, driven_teeth: 13, coupling: OffsetTongue,
        rotation: CounterClockwise, number_one_at: 45.0, offset: 4.0, turns_on_entry: -28.0,
        helix: (angle: 45.0, hand: Right, travel: 11.0, pitch_diameter: 26.0),
        body_range: 15.0, tip_width: 9.0, tower_width: 6.0,
    ),
    ignition: (
        static_advance: 8.0,
        centrifugal: [(rpm: 800.0, advance: 0.0)], vacuum: [(kpa: 10.0, advance: 0.0)],
    ),
    clearance: (intake_drop: 4.1, exhaust_drop: 4.6, valve_angle: 5.0),
    marks: [(on: Idler(1), name: "dot", at: 0.0)],
    steps: [(do: "Nuts", torque: NewtonMetres(11.0))],
)"#;

/// Every field of a file of sightings once.
const SEEN: &str = r"(
    format: 1, leads: [1, 3, 4, 2], body_turn: 5.0,
    sightings: [(
        crank: 10.0, within: 4.0, turned_on: true,
        valves: [(cylinder: 1, valve: Intake, is: Open)],
        rotor: (clock: 50.0, tower: 1, within: 6.0),
        compression_felt: [3], cam_teeth_off: 1,
        spark: (cylinder: 1, btdc: 8.0, within: 1.0, by: Strobe),
    )],
)";

/// The row of a place; an item of a list has its list's.
fn row<'a>(rows: &'a [Field], place: &str) -> Option<&'a Field> {
    let mut path = String::new();
    for (index, piece) in place.split(['[', ']']).enumerate() {
        path.push_str(if index % 2 == 0 { piece } else { "[]" });
    }
    let path = path.strip_suffix("[]").unwrap_or(&path);
    rows.iter().find(|row| row.path == path)
}

/// The first place in a whole text that a row stands for.
fn first_place(row: &Field) -> String {
    row.path.replace("[]", "[0]")
}

/// Every row that the places of a text lead to; each place has one.
fn rows_reached(rows: &[Field], text: &str) -> BTreeSet<&'static str> {
    let spans = Spans::of(text);
    let mut reached = BTreeSet::new();
    let mut open: Vec<&str> = spans.inside("");
    while let Some(place) = open.pop() {
        let row = row(rows, place).unwrap_or_else(|| panic!("{place} has no row"));
        reached.insert(row.path);
        if !matches!(row.kind, Kind::WordWithNumber(..)) {
            open.extend(spans.inside(place));
        }
    }
    reached
}

fn every_row_is_reached(rows: &[Field], whole: &str) {
    let all: BTreeSet<&str> = rows.iter().map(|row| row.path).collect();
    assert_eq!(rows_reached(rows, whole), all);
}

#[test]
fn every_field_has_its_row_and_every_row_its_field() {
    every_row_is_reached(fields::FIELDS, ENGINE);
    every_row_is_reached(seen_fields::FIELDS, SEEN);
    for scene in &scenes::SCENES {
        let written = source::write(scene.engine().written()).expect("written");
        rows_reached(fields::FIELDS, &written);
    }
}

/// A text with the value at a place replaced.
fn with(text: &str, place: &str, value: &str) -> String {
    let span = Spans::of(text).exactly(place).expect(place).value.clone();
    let mut text = text.to_owned();
    text.replace_range(span, value);
    text
}

/// A text with the field at a place left out.
fn without(text: &str, place: &str) -> String {
    let spans = Spans::of(text);
    let span = spans.exactly(place).expect(place);
    let rest = text[span.value.end..].trim_start();
    format!(
        "{}{}",
        &text[..span.name.start],
        rest.strip_prefix(',').unwrap_or(rest)
    )
}

fn every_default_is_serdes<T>(rows: &[Field], whole: &str)
where
    T: DeserializeOwned + Serialize + PartialEq + Debug,
{
    assert_eq!(source::ron::<T>(whole).1, []);
    for row in rows {
        let place = first_place(row);
        let (value, findings) = source::ron::<T>(&without(whole, &place));
        let written = |word: &str| source::ron::<T>(&with(whole, &place, word)).0.expect(word);
        if row.absent == Absent::Required {
            assert_eq!(findings[0].name, "MissingField", "{place}: {findings:?}");
            continue;
        }
        assert_eq!(findings, [], "{place}");
        let value = value.expect("a value");
        match row.absent {
            Absent::Value(number) => assert_eq!(value, written(&format!("{number:?}")), "{place}"),
            Absent::Word(word) => assert_eq!(value, written(word), "{place}"),
            _ => {
                let text = source::write(&value).expect("written");
                assert_eq!(Spans::of(&text).exactly(&place), None, "{place}");
            }
        }
    }
}

#[test]
fn a_field_left_out_has_the_default_of_its_row() {
    every_default_is_serdes::<Description>(fields::FIELDS, ENGINE);
    every_default_is_serdes::<Observations>(seen_fields::FIELDS, SEEN);
}

fn every_word_is_read<T: DeserializeOwned>(rows: &[Field], whole: &str) {
    for row in rows {
        if let Kind::Word(words) | Kind::WordWithNumber(words, _) = row.kind {
            let (_, findings) = source::ron::<T>(&with(whole, &first_place(row), "Qqqqqqq"));
            let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
            let said = &findings[0].fix;
            assert!(
                said.ends_with(&format!("the words are {}", quoted.join(", "))),
                "{said}"
            );
        }
    }
}

#[test]
fn the_words_of_a_row_are_those_that_are_read() {
    every_word_is_read::<Description>(fields::FIELDS, ENGINE);
    every_word_is_read::<Observations>(seen_fields::FIELDS, SEEN);
}

/// A number as it is written at a place that may want a word before it.
fn written(row: &Field, number: f64) -> String {
    match row.kind {
        Kind::WordWithNumber(words, _) => {
            let word = words
                .iter()
                .find(|word| ["Idler", "NewtonMetres"].contains(word));
            format!("{}({number})", word.expect("a word with a number"))
        }
        Kind::List { .. } => format!("[{number}]"),
        _ => number.to_string(),
    }
}

#[test]
fn the_ends_of_every_range_are_allowed_and_nothing_beyond_them() {
    let refused = |row: &Field, number: f64| {
        let place = first_place(row);
        let text = with(ENGINE, &place, &written(row, number));
        read::engine(&text)
            .findings
            .iter()
            .any(|finding| finding.name == "OutOfRange" && finding.place.starts_with(&place))
    };
    for row in fields::FIELDS {
        let Some(range) = row.range() else { continue };
        for (number, beyond) in [(range.least, -1.0), (range.most, 1.0)] {
            assert!(!refused(row, number), "{} {number}", row.path);
            assert!(refused(row, number + beyond), "{} {number}", row.path);
        }
    }
}

#[test]
fn the_ends_of_every_range_of_a_sighting_are_allowed_and_nothing_beyond_them() {
    let engine = scenes::BENCH.engine();
    let refused = |row: &Field, number: f64| {
        let place = first_place(row);
        let text = with(SEEN, &place, &written(row, number));
        observations::read(&text, &engine)
            .findings
            .iter()
            .any(|finding| finding.name == "OutOfRange" && finding.place == place)
    };
    for row in seen_fields::FIELDS
        .iter()
        .filter(|row| row.range().is_some())
    {
        let range = seen_fields::range_of(row.path, &engine);
        for (number, beyond) in [(*range.start(), -1.0), (*range.end(), 1.0)] {
            assert!(!refused(row, number), "{} {number}", row.path);
            assert!(refused(row, number + beyond), "{} {number}", row.path);
        }
    }
}

#[test]
fn every_number_that_the_editor_shows_has_a_label() {
    for row in fields::FIELDS {
        let has_a_field = matches!(row.kind, Kind::Number(_) | Kind::List { .. } | Kind::Text);
        if has_a_field && row.path != "format" {
            assert!(!row.label.is_empty(), "{}", row.path);
        }
    }
}
