//! What can be seen and reached at each stage of the build: every command that names what to look
//! at keeps to it, and says what waits.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;

use common::{done, dotwise, path_in, unfolded};
use dotwise::diagnosis::stage::{Sight, Stage};
use dotwise::engine::scenes::SCENES;
use dotwise::phasing::Phasing;
use dotwise::procedures::witnesses::{FEWEST, witnesses};
use serde_json::Value;

fn json(arguments: &[&str]) -> Value {
    let answer = dotwise(arguments);
    serde_json::from_slice(&answer.stdout).expect("JSON")
}

fn text(arguments: &[&str]) -> String {
    let text = String::from_utf8(dotwise(arguments).stdout).expect("text");
    unfolded(&text)
}

#[test]
fn with_the_case_open_lobes_stand_for_valves_and_say_how_far_they_are_past_their_flanks() {
    let says = text(&["dropin", "flat_four", "--stage", "case-open"]);
    // The flat four's card: intake closes 48° after BDC, exhaust opens 48° before it. At No. 1's
    // firing TDC that is 180° − 48° of crank from either flank: 66° of cam.
    assert!(
        says.contains("the intake lobe points away, 66° of cam past its flank"),
        "{says}"
    );
    assert!(
        says.contains("the exhaust lobe points away, 66° of cam before its flank"),
        "{says}"
    );
    assert!(
        says.contains("the intake lobe lifts its follower, rising; the exhaust lobe lifts its follower, sinking"),
        "{says}"
    );
    assert!(
        says.contains("No. 1's throw and its counterweight"),
        "{says}"
    );
    for absent in ["No. 1's own valves", "The thumb over"] {
        assert!(!says.contains(absent), "{absent}: {says}");
    }
}

#[test]
fn at_every_stage_of_every_engine_those_that_tell_say_firing_or_it_is_said_what_waits() {
    for scene in &SCENES {
        let drawn = Phasing::as_drawn(&scene.engine());
        for stage in Stage::ALL {
            let found = witnesses(&drawn, stage, &[]);
            assert!(found.agreed(), "{} {stage:?}", scene.name);
            let in_sight = |sight: Sight| stage.sights().contains(&sight);
            assert!(found.here.iter().all(|witness| in_sight(witness.sight)));
            for waiting in &found.waiting {
                let when = waiting.stage.expect("nothing is left out");
                assert_ne!(when, stage, "{}", waiting.name);
            }
            // What is shut in a split case is neither here nor waited for.
            let marks = drawn.engine().written().marks.iter();
            let dots = marks.filter(|mark| mark.on.camshaft().is_some());
            let mut dots = dots.map(|mark| format!("the {} (", mark.name));
            let shut_in = drawn.engine().written().cam_drive_lies_in_the_case();
            if shut_in && stage != Stage::CaseOpen {
                let here = found.here.iter().map(|witness| &witness.name);
                let waits = found.waiting.iter().map(|waiting| &waiting.name);
                let named: Vec<&String> = here.chain(waits).collect();
                let is_dot = |dot: String| named.iter().any(|name| name.starts_with(&dot));
                assert!(!dots.any(is_dot), "{} {stage:?}: {named:?}", scene.name);
            } else if stage == Stage::CoverOff || shut_in {
                let here = |dot: String| found.here.iter().any(|one| one.name.starts_with(&dot));
                assert!(dots.any(here), "{} {stage:?}", scene.name);
            }
            let enough = found.telling() >= FEWEST;
            assert_eq!(
                found.too_few().is_none(),
                enough,
                "{} {stage:?}",
                scene.name
            );
        }
    }
}

#[test]
fn where_fewer_than_three_can_be_had_it_is_said_which_wait_for_which_stage() {
    let arguments = [
        "dropin",
        "bench_four",
        "--stage",
        "cover-on",
        "--without",
        "valves,rotor",
    ];
    let says = text(&arguments);
    assert!(
        says.contains("Only one that tells can be had at this stage"),
        "{says}"
    );
    assert!(says.contains("with the cover off"), "{says}");
    assert!(says.contains("No. 1's own valves, when it is in"), "{says}");
    let found = json(&[&arguments[..], &["--json"]].concat());
    let names: Vec<&str> = found["wait"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|waiting| waiting["look_at"].as_str().expect("a name"))
        .collect();
    assert!(
        names.iter().any(|name| name.contains("cam gear dot")),
        "{names:?}"
    );
    // With three or more nothing is said to be too few.
    assert!(!text(&["dropin", "bench_four"]).contains("at least three are needed"));
}

#[test]
fn what_to_look_at_next_is_what_can_be_had_at_the_stage() {
    let folder = tempfile::tempdir().expect("a folder");
    let seen = folder.path().join("bench.seen.ron");
    fs::write(
        &seen,
        "(format: 1, sightings: [(crank: 0.0, valves: [(cylinder: 1, valve: Intake, is: Closed)])])",
    )
    .expect("written");
    let seen = seen.to_str().expect("a path");
    let looks = |stage: &[&str]| -> Vec<String> {
        let found = json(&[&["diagnose", "flat_four", seen, "--json"], stage].concat());
        let looks = found["tell_apart"].as_array().expect("a list").clone();
        let look = |look: &Value| look["look"].as_str().expect("words").to_owned();
        looks.iter().map(look).collect()
    };
    let any = |looks: &[String], what: &str| looks.iter().any(|look| look.contains(what));
    let closed = looks(&["--stage", "cover-on"]);
    assert!(!closed.is_empty() && !any(&closed, "dots"), "{closed:?}");
    assert!(any(&looks(&["--stage", "cover-off"]), "dots"));
    let open = looks(&["--stage", "case-open"]);
    assert!(any(&open, "lobe") && !any(&open, "valve of"), "{open:?}");
    assert!(!any(&open, "leads") && !any(&open, "thumb"), "{open:?}");
    let without = looks(&["--stage", "cover-off", "--without", "rotor,leads"]);
    assert!(
        !any(&without, "rotor") && !any(&without, "leads"),
        "{without:?}"
    );
    assert!(any(&looks(&["--stage", "fired"]), "spark of"));
    // Without a stage, no dots and no light are supposed to be in sight.
    let plain = looks(&[]);
    assert!(
        !any(&plain, "dots") && !any(&plain, "spark of"),
        "{plain:?}"
    );
}

#[test]
fn a_sighting_says_its_stage_and_cannot_hold_what_cannot_be_seen_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let diagnose = |sighting: &str| {
        let seen = folder.path().join("one.seen.ron");
        fs::write(&seen, format!("(format: 1, sightings: [({sighting})])")).expect("written");
        dotwise(&["diagnose", "flat_four", seen.to_str().expect("a path")])
    };
    for (sighting, place, when) in [
        (
            "crank: 330.0, stage: CaseOpen, compression_felt: [1]",
            "sightings[0].compression_felt",
            "with the cover off",
        ),
        (
            "crank: 0.0, stage: CoverOn, cam_teeth_off: 0",
            "sightings[0].cam_teeth_off",
            "with the cover off",
        ),
        (
            "crank: 0.0, stage: CoverOff, spark: (cylinder: 1, btdc: 8.0)",
            "sightings[0].spark",
            "with the cover on",
        ),
    ] {
        let answer = diagnose(sighting);
        assert_eq!(answer.status.code(), Some(2), "{sighting}");
        let says = String::from_utf8(answer.stderr).expect("text");
        let says = unfolded(&says);
        assert!(
            says.contains("NotInSight") && says.contains(when),
            "{place}: {says}"
        );
    }
    let right =
        diagnose("crank: 0.0, stage: CaseOpen, valves: [(cylinder: 1, valve: Intake, is: Closed)]");
    assert_eq!(right.status.code(), Some(1), "several ways are left");
    let says = String::from_utf8(right.stdout).expect("text");
    assert!(
        says.contains("lobe of"),
        "the next look is had with the case open: {says}"
    );
}

#[test]
fn the_closing_record_is_printed_empty_and_filled_from_what_was_seen() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| path_in(&folder, name);
    let words = |file: &str| {
        let svg = fs::read_to_string(file).expect("read");
        svg.replace("</text>", " ")
    };
    let empty = path("empty.svg");
    done(&["prove", "bench_four", "-o", &empty]);
    let says = words(&empty);
    for what in [
        "Closing record",
        "second pair of eyes",
        "Looks to take, in this order",
        "Verdict",
        "Torques",
        "Signed",
    ] {
        assert!(says.contains(what), "{what}");
    }
    assert!(!says.contains("What was seen"), "nothing was");

    let seen = path("bench.seen.ron");
    fs::write(
        &seen,
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 1)])",
    )
    .expect("written");
    let filled = path("filled.svg");
    let answer = dotwise(&["prove", "bench_four", &seen, "-o", &filled]);
    assert_eq!(
        answer.status.code(),
        Some(1),
        "it cannot be proved any more"
    );
    let says = words(&filled);
    assert!(says.contains("one tooth ahead"), "{says}");
    assert!(!says.contains("Looks to take"), "there are none");

    // A file that is there stays, and an ending that says nothing is refused.
    let again = dotwise(&["prove", "bench_four", "-o", &empty]);
    assert_eq!(again.status.code(), Some(2));
    let odd = dotwise(&["prove", "bench_four", "-o", &path("record.txt")]);
    assert_eq!(odd.status.code(), Some(2));
}

#[test]
fn a_case_in_one_block_is_never_open_and_what_to_ask_instead_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("block.ron");
    let text = SCENES[0].text;
    let text = if text.contains("case:") {
        text.replace("case: Split", "case: OneBlock")
    } else {
        text.replacen("format: 1,", "format: 1, case: OneBlock,", 1)
    };
    fs::write(&file, text).expect("written");
    let file = file.to_str().expect("a path");
    for command in ["dropin", "prove"] {
        let answer = dotwise(&[command, file, "--stage", "case-open"]);
        assert_eq!(answer.status.code(), Some(2), "{command}");
        let says = String::from_utf8(answer.stderr).expect("text");
        assert!(says.contains("is one block"), "{says}");
        assert_ne!(
            dotwise(&[command, file]).status.code(),
            Some(2),
            "{command}"
        );
    }
}
