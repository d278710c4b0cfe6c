//! The tables of fields against what serde reads and what the checks allow.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::collections::BTreeSet;
use std::fmt::Debug;

use common::{done, dotwise};
use dotwise::angle::CrankAngle;
use dotwise::description::Description;
use dotwise::description::fields::{self, Absent, Field, Kind};
use dotwise::diagnosis::observations::fields as seen_fields;
use dotwise::diagnosis::{Observations, observations};
use dotwise::engine::{Engine, read, scenes};
use dotwise::phasing::{Card, Phasing};
use dotwise::procedures::dropin::dropin;
use dotwise::source::{self, Spans};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Every field of a description once, but for those that stand in another's place.
const ENGINE: &str = r#"(
    format: 1, name: "Whole", notes: "Every field.", units: Millimetres, case: Split,
    oil_pump: DrivenBy(DistributorDrive),
    bore: 82.0, rod_length: 135.0, pin_offset: 1.0, pulley_diameter: 160.0,
    crankshaft: (rotation: CounterClockwise, stroke: 80.0, throws: [(angle: 0.0, cylinders: [1])]),
    banks: [(angle: 0.0, cylinders: [1])], firing_order: [1], firing_angles: [0.0],
    cam_drive: (
        kind: Gears, crank_teeth: 25, cam_teeth: 50, idler_teeth: [30], marks_meet_at: 10.0,
        module: 2.0, pitch: 9.525, links_between_marks: 20, counted_on: SlackSide, backlash: 0.05,
        cam_at: 180.0,
    ),
    camshafts: [(name: "cam", works: [Intake, Exhaust], banks: [1], cam_teeth: 50, trim: 0.5)],
    valves: (
        intake: (
            opens_btdc: 12.0, closes_abdc: 52.0, lift: 9.5, quoted_at: 0.2,
            also_at: (lift: 1.27, opens_btdc: -3.0, closes_abdc: 37.0),
        ),
        exhaust: (
            opens_bbdc: 52.0, closes_atdc: 12.0, lift: 9.0, quoted_at: 0.2,
            also_at: (lift: 1.27, opens_bbdc: 37.0, closes_atdc: -3.0),
        ),
        quoted_at: 1.0, measured_at: Tappet, rocker_ratio: 1.4, lobe: Polynomial, gear: PushRod,
        follower: (kind: Finger, radius: 9.0, length: 30.0),
        lash: (intake: 0.15, exhaust: 0.2, at: Hot), adjusters: Shim,
    ),
    distributor: (
        driven_by: Camshaft, camshaft: "cam", driver_teeth: 13, driven_teeth: 13, coupling: OffsetTongue, shaft: Plain, slot_at: 20.0,
        rotation: CounterClockwise, number_one_at: 45.0, offset: 4.0, turns_on_entry: -28.0,
        helix: (angle: 45.0, hand: Right, travel: 11.0, pitch_diameter: 26.0),
        body_range: 15.0, tip_width: 9.0, tower_width: 6.0,
    ),
    ignition: (
        static_advance: 8.0, sparks: EveryOtherTurn,
        centrifugal: [(rpm: 800.0, advance: 0.0)], vacuum: [(kpa: 10.0, advance: 0.0)],
    ),
    second_ignition: (
        distributor: (driven_by: Camshaft, driver_teeth: 13, driven_teeth: 13, number_one_at: 45.0),
        ignition: (static_advance: 8.0),
    ),
    clearance: (intake_drop: 4.1, exhaust_drop: 4.6, valve_angle: 5.0, valves_touch_at: 6.0),
    marks: [(on: Idler(1), name: "dot", at: 0.0, pointer_at: 90.0)],
    steps: [(
        do: "Nuts", torque: NewtonMetres(11.0), passes: [5.0, 11.0], angle: 90.0, after: "cam in", sequence: [2, 1],
        rows: [[1, 2]],
    )],
)"#;

/// The same with those.
fn in_other_units() -> String {
    let valves = ENGINE.find("    valves: (\n").expect("valves");
    let quoted = ENGINE
        .find("        quoted_at: 1.0")
        .expect("where both are quoted");
    let duration_and_centre = "    valves: (
        intake: (
            duration: 244.0, centre: 110.0, lift: 9.5, quoted_at: 0.2,
            also_at: (lift: 1.27, duration: 214.0),
        ),
        exhaust: (
            duration: 244.0, centre: 110.0, lift: 9.0, quoted_at: 0.2,
            also_at: (lift: 1.27, duration: 214.0),
        ),
";
    let text = [&ENGINE[..valves], duration_and_centre, &ENGINE[quoted..]].concat();
    text.replace("module: 2.0", "diametral_pitch: 12.7")
        .replace("kpa: 10.0", "inhg: 3.0")
}

/// The same with coils in the distributor's place.
fn with_coils() -> String {
    without(ENGINE, "distributor").replace(
        "sparks: EveryOtherTurn,",
        "sparks: EveryOtherTurn, coils: [[1]],",
    )
}

/// The same with a cam card.
fn by_a_card() -> String {
    let valves = ENGINE.find("    valves: (\n").expect("valves");
    let quoted = ENGINE
        .find("        quoted_at: 1.0")
        .expect("where both are quoted");
    let card = "    valves: (
        card: (
            intake_duration: 244.0, exhaust_duration: 244.0, separation: 110.0,
            intake_centre: 110.0, intake_lift: 9.5, exhaust_lift: 9.0,
        ),
";
    let text = [&ENGINE[..valves], card, &ENGINE[quoted..]].concat();
    text.replace(
        "lash: (intake: 0.15, exhaust: 0.2, at: Hot), adjusters: Shim",
        "adjusters: Hydraulic(preload_turns: 0.75)",
    )
}

/// The same with lobes as measured.
fn as_measured() -> String {
    let valves = ENGINE.find("    valves: (\n").expect("valves");
    let quoted = ENGINE
        .find("        quoted_at: 1.0")
        .expect("where both are quoted");
    let lobes = "    valves: (
        intake: (lifts: [
            (340, 0), (355, 0.2), (370, 0.9), (385, 2.1), (400, 3.9), (415, 5.8), (430, 7.6), (445, 8.9), (460, 9.5),
            (475, 9.4), (490, 8.7), (505, 7.4), (520, 5.7), (535, 3.8), (550, 2), (565, 0.8), (580, 0.2), (595, 0),
        ]),
        exhaust: (lifts: [
            (120, 0), (135, 0.2), (150, 0.9), (165, 2.1), (180, 3.9), (195, 5.8), (210, 7.6), (225, 8.9), (240, 9.5),
            (255, 9.4), (270, 8.7), (285, 7.4), (300, 5.7), (315, 3.8), (330, 2), (345, 0.8), (360, 0.2), (375, 0),
        ]),
";
    [&ENGINE[..valves], lobes, &ENGINE[quoted..]].concat()
}

/// Every field of a file of sightings once.
const SEEN: &str = r"(
    format: 1, leads: [1, 3, 4, 2], body_turn: 5.0,
    sightings: [(
        crank: 10.0, within: 4.0, turned_on: true, stage: CoverOff,
        valves: [(cylinder: 1, valve: Intake, is: Open)],
        rotor: (clock: 50.0, tower: 1, within: 6.0),
        slot: (clock: 20.0, within: 6.0),
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
    // A second ignition has the fields of the first.
    let path = path.strip_prefix("second_ignition.").unwrap_or(&path);
    let row = |path: &str| rows.iter().find(|row| row.path == path);
    row(path).or_else(|| row(path.strip_suffix("[]")?))
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

fn every_row_is_reached(rows: &[Field], wholes: &[&str]) {
    let all: BTreeSet<&str> = rows.iter().map(|row| row.path).collect();
    let reached = wholes.iter().flat_map(|whole| rows_reached(rows, whole));
    assert_eq!(reached.collect::<BTreeSet<_>>(), all);
}

/// The first of the texts in which a row's field stands.
fn whole_of<'a>(row: &Field, wholes: &[&'a str]) -> &'a str {
    let place = first_place(row);
    let stands = |whole: &&&str| Spans::of(whole).exactly(&place).is_some();
    wholes.iter().find(stands).expect(&place)
}

#[test]
fn every_field_has_its_row_and_every_row_its_field() {
    every_row_is_reached(
        fields::FIELDS,
        &[
            ENGINE,
            &in_other_units(),
            &with_coils(),
            &by_a_card(),
            &as_measured(),
        ],
    );
    every_row_is_reached(seen_fields::FIELDS, &[SEEN]);
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

fn every_default_is_serdes<T>(rows: &[Field], wholes: &[&str], taken: fn(&T, &T, &str))
where
    T: DeserializeOwned + Serialize + PartialEq + Debug,
{
    for row in rows {
        let whole = whole_of(row, wholes);
        assert_eq!(source::ron::<T>(whole).1, []);
        let place = first_place(row);
        let (value, findings) = source::ron::<T>(&without(whole, &place));
        let written = |word: &str| source::ron::<T>(&with(whole, &place, word)).0.expect(word);
        if row.absent == Absent::Required {
            // Where only its place says what a value is, the whole of its brackets is found fault with.
            let in_brackets = place.ends_with(|last: char| last.is_ascii_digit());
            let told = findings[0].name == "MissingField"
                || in_brackets && findings[0].name == "WrongKind";
            assert!(told, "{place}: {findings:?}");
            continue;
        }
        assert_eq!(findings, [], "{place}");
        let value = value.expect("a value");
        match row.absent {
            Absent::Value(number) => taken(&value, &written(&format!("{number:?}")), &place),
            Absent::Word(word) => taken(&value, &written(word), &place),
            _ => {
                let text = source::write(&value).expect("written");
                assert_eq!(Spans::of(&text).exactly(&place), None, "{place}");
            }
        }
    }
}

#[test]
fn a_field_left_out_has_the_default_of_its_row() {
    every_default_is_serdes::<Description>(
        fields::FIELDS,
        &[
            ENGINE,
            &in_other_units(),
            &with_coils(),
            &by_a_card(),
            &as_measured(),
        ],
        answers_the_same,
    );
    every_default_is_serdes::<Observations>(seen_fields::FIELDS, &[SEEN], |one, other, place| {
        assert_eq!(one, other, "{place}");
    });
}

/// A description without a field answers as one that states the row's default.
fn answers_the_same(without: &Description, stated: &Description, place: &str) {
    let phasing = |description: &Description| {
        let (engine, _) = Engine::new(description.clone()).expect(place);
        Phasing::as_drawn(&engine)
    };
    let (without, stated) = (phasing(without), phasing(stated));
    assert_eq!(Card::of(&without), Card::of(&stated), "{place}");
    for crank in [0.0, 123.0, 345.6, 567.8] {
        let crank = CrankAngle::new(crank);
        assert_eq!(without.at(crank), stated.at(crank), "{place}");
    }
    assert_eq!(without.least_gaps(), stated.least_gaps(), "{place}");
    assert_eq!(dropin(&without), dropin(&stated), "{place}");
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
        let whole = whole_of(
            row,
            &[ENGINE, &in_other_units(), &by_a_card(), &as_measured()],
        )
        .to_owned();
        let text = with(&whole, &place, &written(row, number));
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
        let has_a_field = matches!(
            row.kind,
            Kind::Number(_) | Kind::List { .. } | Kind::Text { .. }
        );
        if has_a_field && row.path != "format" {
            assert!(!row.label.is_empty(), "{}", row.path);
        }
    }
}

#[test]
fn vacuum_in_inches_of_mercury_and_gears_by_diametral_pitch_are_the_same_engine() {
    // 1 inHg, conventional, is 3.386389 kPa (NIST SP 811, appendix B, from memory); a module of
    // 2 mm is a diametral pitch of 12.7.
    let engine = |text: &str| {
        let (description, findings) = source::ron::<Description>(text);
        assert_eq!(findings, []);
        Engine::new(description.expect("read"))
            .expect("an engine")
            .0
    };
    let metric = ENGINE.replace(
        "vacuum: [(kpa: 10.0, advance: 0.0)]",
        "vacuum: [(kpa: 10.159167, advance: 0.0), (kpa: 33.86389, advance: 10.0)]",
    );
    let other = in_other_units().replace(
        "vacuum: [(inhg: 3.0, advance: 0.0)]",
        "vacuum: [(inhg: 3.0, advance: 0.0), (kpa: 33.86389, advance: 10.0)]",
    );
    let (metric, other) = (engine(&metric), engine(&other));
    let ignition = |engine: &Engine, kpa: f64| {
        dotwise::laws::ignition::vacuum(&engine.metric().ignition, kpa).degrees()
    };
    for kpa in [0.0, 10.0, 12.0, 20.0, 30.0, 40.0] {
        approx::assert_abs_diff_eq!(
            ignition(&metric, kpa),
            ignition(&other, kpa),
            epsilon = 1e-9
        );
    }
    assert!(ignition(&other, 20.0) > 1.0);
    let card = |engine| Card::of(&Phasing::as_drawn(engine)).backlash_crank_deg;
    assert!(card(&metric).is_some());
    assert_eq!(card(&metric), card(&other));
}

#[test]
fn the_command_tells_every_field_with_its_range_default_and_how_it_is_found() {
    let text = String::from_utf8(done(&["fields"])).expect("text");
    let json: serde_json::Value =
        serde_json::from_slice(&done(&["fields", "--json"])).expect("JSON");
    let records = json.as_array().expect("a list");
    assert_eq!(records.len(), fields::FIELDS.len());
    for (row, record) in fields::FIELDS.iter().zip(records) {
        assert!(text.lines().any(|line| line == row.path), "{}", row.path);
        assert_eq!(record["path"], row.path);
        assert_eq!(record["found"], row.found);
        assert_eq!(
            record["least"].as_f64(),
            row.range().map(|range| range.least)
        );
    }
}

#[test]
fn a_part_or_one_field_can_be_asked_for_and_the_nearest_is_named() {
    let text = |part: &str| String::from_utf8(done(&["fields", part])).expect("text");
    let lift = text("valves.intake.lift");
    assert!(lift.starts_with("valves.intake.lift\n"), "{lift}");
    assert!(
        lift.contains("a length, 0.1 mm to 200 mm (0.0039 in to 7.874 in)"),
        "{lift}"
    );
    let left_out = "left out  from `card`, where that is given";
    assert!(lift.contains(left_out), "{lift}");
    let valves = text("valves");
    let inside = |row: &&Field| row.path == "valves" || row.path.starts_with("valves.");
    let rows = fields::FIELDS.iter().filter(inside).count();
    assert_eq!(valves.matches("\n  found  ").count(), rows, "{valves}");
    assert_eq!(
        text("crankshaft.throws[2].angle"),
        text("crankshaft.throws[].angle")
    );
    for (wrong, meant) in [
        ("valvs", "`valves`"),
        ("cam_drive.backlach", "`cam_drive.backlash`"),
        ("backlash", "`cam_drive.backlash`"),
        ("lift", "`valves.intake.lift`"),
    ] {
        let answer = dotwise(&["fields", wrong]);
        let err = String::from_utf8_lossy(&answer.stderr);
        assert_eq!(answer.status.code(), Some(2));
        assert!(err.contains(meant), "{wrong}: {err}");
    }
    assert_eq!(
        dotwise(&["fields", "qqqqqqqqqqqqqq"]).status.code(),
        Some(2)
    );
}
