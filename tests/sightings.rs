//! Files of sightings: one that is whole, and the same broken in one place, with the wording of
//! what is then found.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use common::scene_engine;
use dotwise::diagnosis::observations;
use dotwise::diagnosis::observations::CRANK_WITHIN_DEG;
use dotwise::engine::scenes::BENCH;

/// Every field there is.
const WHOLE: &str = "(
    format: 1,
    sightings: [
        (
            crank: 0.0,
            within: 3.0,
            valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)],
            rotor: (clock: 72.0, within: 8.0),
            compression_felt: [1],
            cam_teeth_off: -1,
            spark: (cylinder: 1, btdc: 35.0, within: 2.0),
        ),
        (crank: 90.0, turned_on: true, rotor: (tower: 3), spark: (cylinder: 2, btdc: 35.0, by: Strobe)),
    ],
    leads: [1, 3, 4, 2],
    body_turn: 0.0,
)";

/// WHOLE with one thing changed.
fn broken(from: &str, to: &str) -> String {
    assert!(WHOLE.contains(from), "{from}");
    WHOLE.replacen(from, to, 1)
}

#[test]
fn a_whole_file_is_read_and_written_and_read_again_as_the_same() {
    let read = observations::read(WHOLE, &BENCH.engine());
    assert_eq!(read.findings, []);
    let seen = read.sightings.expect("all of it can be seen");
    assert_eq!(seen.sightings[1].within, CRANK_WITHIN_DEG);
    let text = dotwise::source::write(&seen).expect("written");
    assert_eq!(
        observations::read(&text, &BENCH.engine()).sightings,
        Some(seen),
        "{text}"
    );
}

#[test]
fn a_file_broken_in_one_place_says_what_and_where() {
    let cases = [
        (
            "crank: 0.0",
            "crank: 800.0",
            "OutOfRange",
            "sightings[0].crank",
            "`crank` is 800; 0 to 360 is allowed",
        ),
        (
            "crank: 0.0",
            "crank: NaN",
            "NotANumber",
            "sightings[0].crank",
            "`crank` is NaN; 0 to 360 is allowed",
        ),
        (
            "within: 3.0",
            "within: -1.0",
            "OutOfRange",
            "sightings[0].within",
            "`within` is −1; 0 to 45 is allowed",
        ),
        (
            "(cylinder: 1, valve: Exhaust, is: Closed)",
            "(cylinder: 2, valve: Intake, is: Closed), (cylinder: 2, valve: Intake, is: Open)",
            "ValveBothWays",
            "sightings[0].valves[2]",
            "the intake valve of No. 2 is open here and closed above, at the same crank mark",
        ),
        (
            "cylinder: 1, valve: Exhaust",
            "cylinder: 5, valve: Exhaust",
            "NoSuchCylinder",
            "sightings[0].valves[1].cylinder",
            "a valve of No. 5; this engine has 4, numbered 1 to 4",
        ),
        (
            "tower: 3",
            "tower: 0",
            "NoSuchCylinder",
            "sightings[1].rotor.tower",
            "the tower of No. 0; this engine has 4, numbered 1 to 4",
        ),
        (
            "felt: [1]",
            "felt: [7]",
            "NoSuchCylinder",
            "sightings[0].compression_felt[0]",
            "compression in No. 7; this engine has 4, numbered 1 to 4",
        ),
        (
            "(tower: 3)",
            "(tower: 3, clock: 4.0)",
            "RotorHow",
            "sightings[1].rotor",
            "the rotor is given both by the clock and by a tower",
        ),
        (
            "(tower: 3)",
            "(within: 4.0)",
            "RotorHow",
            "sightings[1].rotor",
            "the rotor is given neither by the clock nor by a tower",
        ),
        (
            "off: -1",
            "off: 50",
            "OutOfRange",
            "sightings[0].cam_teeth_off",
            "`cam_teeth_off` is 50; −49 to 49 is allowed",
        ),
        (
            "btdc: 35.0, within",
            "btdc: 400.0, within",
            "OutOfRange",
            "sightings[0].spark.btdc",
            "`btdc` is 400; −360 to 360 is allowed",
        ),
        (
            "[1, 3, 4, 2]",
            "[1, 3, 3, 2]",
            "LeadsAreNotTheCylinders",
            "leads",
            "leads 1, 3, 3, 2 do not name each of the 4 cylinders once",
        ),
        (
            "body_turn: 0.0",
            "body_turn: 200.0",
            "OutOfRange",
            "body_turn",
            "`body_turn` is 200; −180 to 180 is allowed",
        ),
        (
            "format: 1",
            "format: 2",
            "OutOfRange",
            "format",
            "`format` is 2; 1 is the only one so far",
        ),
        (
            "rotor: (clock",
            "roter: (clock",
            "UnknownField",
            "",
            "`roter` is not a field of this part",
        ),
        (
            "is: Closed",
            "is: Shut",
            "UnknownWord",
            "",
            "`Shut` is not one of the words allowed here",
        ),
        (
            "is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)",
            "is: Open)",
            "FeltThroughAnOpenValve",
            "sightings[0].compression_felt[0]",
            "compression was felt in No. 1, whose intake valve was seen open",
        ),
    ];
    for (from, to, name, place, message) in cases {
        let text = broken(from, to);
        let read = observations::read(&text, &BENCH.engine());
        let found: Vec<_> = read
            .findings
            .iter()
            .map(|finding| {
                (
                    finding.name,
                    finding.place.as_str(),
                    finding.message.as_str(),
                )
            })
            .collect();
        assert_eq!(found, [(name, place, message)], "{to}");
        assert_eq!(
            read.sightings.is_some(),
            !read.findings[0].is_error(),
            "{to}"
        );
        assert!(
            read.findings[0].span.is_some(),
            "{to} has a place in the text"
        );
        assert!(
            !read.findings[0].why.is_empty() && !read.findings[0].fix.is_empty(),
            "{to}"
        );
    }
}

#[test]
fn everything_wrong_is_found_at_once() {
    let text = broken("crank: 0.0", "crank: -20.0")
        .replace("tower: 3", "tower: 9")
        .replace("[1, 3, 4, 2]", "[]");
    let names: Vec<_> = observations::read(&text, &BENCH.engine())
        .findings
        .iter()
        .map(|finding| finding.name)
        .collect();
    assert_eq!(
        names,
        ["OutOfRange", "NoSuchCylinder", "LeadsAreNotTheCylinders"]
    );
}

#[test]
fn an_empty_list_tells_nothing() {
    let read = observations::read("(format: 1, sightings: [])", &BENCH.engine());
    assert_eq!(
        (read.findings[0].name, read.findings[0].message.as_str()),
        ("NothingSeen", "the list of sightings is empty")
    );
    assert!(read.sightings.is_none());
}

#[test]
fn sightings_that_disagree_are_pointed_at_and_still_used() {
    let text = WHOLE.replace(
        "cylinder: 2, btdc: 35.0",
        "cylinder: 1, btdc: 8.0, within: 1.0",
    );
    let read = observations::read(&text, &BENCH.engine());
    assert_eq!(
        read.findings
            .iter()
            .map(|finding| finding.name)
            .collect::<Vec<_>>(),
        ["SparksDisagree"]
    );
    assert!(read.sightings.is_some());
}

#[test]
fn an_engine_without_a_distributor_has_no_rotor_to_see() {
    let single = scene_engine("single");
    let read = observations::read(
        "(format: 1, sightings: [(crank: 0.0, rotor: (clock: 3.0))], leads: [1], body_turn: 2.0)",
        &single,
    );
    let places: Vec<_> = read
        .findings
        .iter()
        .map(|finding| (finding.name, finding.place.as_str()))
        .collect();
    assert_eq!(
        places,
        [
            ("NoDistributor", "sightings[0].rotor"),
            ("NoDistributor", "leads"),
            ("NoDistributor", "body_turn")
        ]
    );
}

#[test]
fn no_text_ends_the_program() {
    for text in [
        "",
        "(",
        "(format: 1)",
        "(format: 1, sightings: [()])",
        "\u{0}",
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 99999999999)])",
    ] {
        let read = observations::read(text, &BENCH.engine());
        assert!(
            read.sightings.is_none() && !read.findings.is_empty(),
            "{text:?}"
        );
    }
}
