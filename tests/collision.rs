//! Where valves meet pistons, every answer about the engine so says it, and none tells anyone to
//! turn the crank past the place.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use clap::CommandFactory as _;
use common::{bench, dotwise, drawn, engine, program, scene_engine, text_of};
use dotwise::command::CommandLine;
use dotwise::diagnosis::verdict::TURNING_CAUTION;
use dotwise::drawing::Drawing;
use dotwise::engine::Assembly;
use dotwise::output::handout;
use dotwise::output::paper::Paper;
use dotwise::output::sheet::{self, SheetOptions, SheetPart};
use dotwise::phasing::Phasing;

/// As many teeth as bring the bench four's intake valves 1.60 mm into its pistons.
const MEETS: &[&str] = &["--cam-teeth", "4"];

fn built(cam_teeth: i32, drive_teeth: i32) -> Phasing {
    let assembly = Assembly {
        cam_teeth,
        drive_teeth,
        ..Assembly::default()
    };
    Phasing::as_built(&scene_engine("bench_four"), &assembly)
}

fn pages(phasing: &Phasing, only: &[SheetPart]) -> Vec<Drawing> {
    let wanted = SheetOptions {
        only: only.to_vec(),
        ..SheetOptions::default()
    };
    sheet::pages(phasing, &wanted).expect("pages")
}

fn whole_text(phasing: &Phasing, only: &[SheetPart]) -> String {
    let texts: Vec<String> = pages(phasing, only).iter().map(text_of).collect();
    texts.join(" ")
}

#[test]
fn every_command_that_takes_an_assembly_says_that_valves_meet_and_leaves_with_1() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (sheet, page) = (file("x.pdf"), file("x.html"));
    // What a command needs beside its engine; one that is not here needs nothing.
    let needs: BTreeMap<&str, Vec<&str>> = BTreeMap::from([
        ("at", vec!["123"]),
        ("degree", vec!["--intake", "-5", "225", "--at", "1.27"]),
        ("tdc", vec!["--stop", "-20", "22"]),
        ("table", vec!["--step", "90"]),
        ("sheet", vec!["-o", &sheet, "--force"]),
        ("handout", vec!["-o", &page, "--force"]),
    ]);
    let line = CommandLine::command();
    let commands: Vec<&str> = line
        .get_subcommands()
        .filter(|command| {
            let takes = |id: &str| {
                command
                    .get_arguments()
                    .any(|argument| argument.get_id() == id)
            };
            takes("engine") && takes("cam_teeth")
        })
        .map(clap::Command::get_name)
        // These two draw with a graphics card and write no texts.
        .filter(|name| !matches!(*name, "picture" | "speed"))
        .collect();
    assert!(commands.len() >= 8, "{commands:?}");
    // What is out is what it is to find: it takes none.
    let find = ["diagnose", "prove"];
    for command in find {
        let refused = dotwise(&[command, "bench_four", "seen.ron", "--cam-teeth", "4"]);
        assert_eq!(refused.status.code(), Some(2), "{refused:?}");
    }
    for command in commands.into_iter().filter(|name| !find.contains(name)) {
        let mut arguments = vec![command, "bench_four"];
        arguments.extend(needs.get(command).into_iter().flatten());
        arguments.extend(MEETS);
        let answer = dotwise(&arguments);
        let out = String::from_utf8_lossy(&answer.stdout).into_owned();
        let err = String::from_utf8_lossy(&answer.stderr).into_owned();
        assert_eq!(answer.status.code(), Some(1), "{arguments:?}: {out}{err}");
        assert!(
            out.contains("VALVES MEET PISTONS as built"),
            "{arguments:?}: {out}{err}"
        );
    }
}

#[test]
fn a_sheet_and_a_handout_on_standard_output_say_it_beside_the_file() {
    for (command, begins) in [("sheet", "<svg"), ("handout", "<!DOCTYPE html>")] {
        let answer = dotwise(&[command, "bench_four", "-o", "-", "--cam-teeth", "4"]);
        let (out, err) = (
            String::from_utf8_lossy(&answer.stdout),
            String::from_utf8_lossy(&answer.stderr),
        );
        assert!(out.contains(begins), "{command}: {}", &out[..80]);
        assert!(!out.starts_with("As built"), "the file and nothing else");
        assert!(err.contains("VALVES MEET PISTONS as built"), "{err}");
        assert_eq!(answer.status.code(), Some(1));
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("x.html");
    let path = path.to_str().expect("a path");
    let answer = dotwise(&[
        "handout",
        "bench_four",
        "-o",
        path,
        "--json",
        "--cam-teeth",
        "4",
    ]);
    let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
    assert_eq!(json["valve_clearance"], "meets");
    assert!(
        json["rests_on"]
            .as_array()
            .is_some_and(|list| !list.is_empty())
    );
    assert_eq!(answer.status.code(), Some(1));
}

#[test]
fn no_page_of_an_engine_whose_valves_meet_tells_anyone_to_turn_the_crank() {
    let phasing = built(4, 0);
    for page in pages(&phasing, &[]) {
        let text = text_of(&page);
        assert!(text.contains("The camshaft is four teeth ahead"), "{text}");
        assert!(text.contains("VALVES MEET PISTONS as built"), "{text}");
        for turns in [
            "Turn the crank",
            "Turn on",
            "Turn in",
            "turn on",
            "without a stop",
            "two whole turns",
            "Stop 1",
        ] {
            assert!(!text.contains(turns), "{turns:?} in: {text}");
        }
    }
    for part in [
        SheetPart::Assembly,
        SheetPart::Valves,
        SheetPart::Cap,
        SheetPart::Gears,
    ] {
        let text = whole_text(&phasing, &[part]);
        assert!(
            text.contains("The camshaft is put right first."),
            "{part:?}: {text}"
        );
    }
    // Meeting as drawn, there is no camshaft to put right.
    let mut description = bench();
    description
        .clearance
        .as_mut()
        .expect("measured")
        .intake_drop = 0.01;
    description.valves.intake.opens_btdc = Some(40.0);
    let text = whole_text(&drawn(description), &[SheetPart::Assembly]);
    assert!(text.contains("VALVES MEET PISTONS as described"), "{text}");
    assert!(
        text.contains("Valves meet pistons as drawn already: find out why first"),
        "{text}"
    );
    assert!(!text.contains("without a stop"), "{text}");
}

#[test]
fn tiles_of_a_large_wheel_each_carry_the_verdict() {
    let wanted = SheetOptions {
        only: vec![SheetPart::Wheel],
        diameter_mm: Some(300.0),
        ..SheetOptions::default()
    };
    let pages = sheet::pages(&built(4, 0), &wanted).expect("pages");
    assert_eq!(pages.len(), 5);
    for page in &pages {
        assert!(text_of(page).contains("VALVES MEET PISTONS as built"));
    }
}

#[test]
fn what_is_not_known_is_not_called_enough() {
    let mut not_stated = bench();
    not_stated.valves.quoted_at = None;
    let mut not_measured = bench();
    not_measured.clearance = None;
    for (description, why) in [
        (
            not_stated,
            "does not say at which lift its events are quoted",
        ),
        (not_measured, "no clearance was measured"),
    ] {
        let phasing = drawn(description);
        for part in [SheetPart::Card, SheetPart::Assembly, SheetPart::Valves] {
            for page in pages(&phasing, &[part]) {
                let text = text_of(&page);
                assert!(
                    text.contains("WHETHER VALVES MEET PISTONS as described IS NOT KNOWN"),
                    "{text}"
                );
                assert!(text.contains(why), "{text}");
                assert!(
                    !text.contains("enough") && !text.contains("keep clear"),
                    "{text}"
                );
            }
        }
        let page = handout::document(&phasing, false).expect("a page");
        assert!(page.contains("IS NOT KNOWN") && page.contains(why));
        assert!(!page.contains("keep clear"));
    }
}

#[test]
fn one_engine_has_one_set_of_numbers_as_built_beside_as_drawn() {
    // A drive three teeth behind and the cam two teeth ahead: 49° − 3 × 360 / 13 + 2 × 7.2°.
    let phasing = built(2, -3);
    let [card, assembly, gears, cap] = [
        SheetPart::Card,
        SheetPart::Assembly,
        SheetPart::Gears,
        SheetPart::Cap,
    ]
    .map(|part| whole_text(&phasing, &[part]));
    // The rotor at No. 1's firing TDC, and before it is let down, 28° back.
    let ends = 49.0 - 3.0 * 360.0 / 13.0 + 2.0 * 7.2 + 360.0;
    let [ends, starts] = [ends, ends + 28.0].map(|deg: f64| dotwise::words::degrees(deg % 360.0));
    for text in [&assembly, &cap] {
        assert!(text.contains(&ends), "{ends} in: {text}");
        assert!(text.contains(&starts), "{starts} in: {text}");
    }
    assert!(
        cap.contains(&format!("ends at {ends} (as drawn 49°)")),
        "{cap}"
    );
    assert!(
        cap.contains(&format!("rotor at {starts} (as drawn 77°)")),
        "{cap}"
    );
    assert!(
        assembly.contains("Assembly sheet: steps and figures as drawn"),
        "{assembly}"
    );
    // Two cam teeth are 28.8° of crank: the intake opens at 12° + 28.8° before TDC.
    assert!(
        card.contains("opens 40.8° BTDC, closes 23.2° ABDC: 244°"),
        "{card}"
    );
    assert!(card.contains("opens 12° BTDC, closes 52° ABDC"), "{card}");
    assert!(
        card.contains("intake as built") && card.contains("intake as drawn"),
        "{card}"
    );
    assert!(card.contains("2 advanced, as built"), "{card}");
    assert!(card.contains("28.8° earlier than as drawn"), "{card}");
    assert!(
        gears.contains("stands at 225.6° there; as drawn at 240°"),
        "{gears}"
    );
    let page = handout::document(&phasing, false).expect("a page");
    assert!(
        page.contains(&format!("at {ends}, ")),
        "the handout's rotor"
    );
}

#[test]
fn clearance_rows_are_counted_from_as_drawn_whatever_was_built() {
    let rows = |phasing: &Phasing| {
        let card = whole_text(phasing, &[SheetPart::Card]);
        let from = card.find("cam teeth out").expect("its table");
        card[from..].replace(", as built", "")
    };
    let (drawn, built) = (rows(&built(0, 0)), rows(&built(-1, 0)));
    let row = |text: &str, name: &str| {
        let at = text
            .find(name)
            .unwrap_or_else(|| panic!("{name} in {text}"));
        text[at..]
            .split("mm")
            .take(2)
            .collect::<Vec<_>>()
            .join("mm")
    };
    for name in [
        "2 retarded",
        "1 retarded",
        "as drawn",
        "1 advanced",
        "2 advanced",
    ] {
        assert_eq!(row(&drawn, name), row(&built, name));
    }
}

#[test]
fn a_sign_is_a_word_and_nothing_is_none() {
    for (cam_teeth, drive_teeth) in [(-2, 0), (0, 2), (1, -1), (-2, 3)] {
        let phasing = built(cam_teeth, drive_teeth);
        let page = handout::document(&phasing, false).expect("a page");
        let says = page
            .split("<script type")
            .next()
            .expect("its text")
            .to_owned();
        for text in [whole_text(&phasing, &[]), says] {
            for wrong in [
                "° earlier",
                "° later",
                "° before",
                "° after",
                "° past",
                "° short",
                "° ATDC",
                "° BTDC",
                "° ABDC",
                "° BBDC",
            ] {
                for (at, _) in text.match_indices(wrong) {
                    let figure: String = text[..at]
                        .chars()
                        .rev()
                        .take_while(|letter| letter.is_ascii_digit() || ".−-".contains(*letter))
                        .collect();
                    let figure: String = figure.chars().rev().collect();
                    assert!(
                        !figure.starts_with(['−', '-']) && figure != "0",
                        "{figure}{wrong}"
                    );
                }
            }
        }
    }
    let card = whole_text(&built(0, 2), &[SheetPart::Card]);
    assert!(!card.contains("valves as built"), "none are moved: {card}");
}

#[test]
fn a_place_has_the_same_words_on_every_page_and_command() {
    // The marks meet at 338°.
    let phasing = Phasing::as_drawn(&scene_engine("marks_off_tdc"));
    let text = whole_text(&phasing, &[]);
    assert!(!text.contains("338° past"), "{text}");
    assert!(text.contains("22° before No. 1's TDC mark"), "{text}");
    assert!(text.contains("22° before No. 1's firing TDC"), "{text}");
    // A rotor between whole degrees: with half of 7° static advance it stands 3.5° past its tower.
    let mut description = bench();
    description.ignition.static_advance = 7.0;
    description.distributor.as_mut().expect("there").offset = None;
    let engine = engine(description.clone());
    let phasing = Phasing::as_drawn(&engine);
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("engine.ron");
    std::fs::write(
        &file,
        dotwise::source::write(&description).expect("written"),
    )
    .expect("written");
    let file = file.to_str().expect("a path");
    let command = |arguments: &[&str]| {
        String::from_utf8(dotwise(arguments).stdout)
            .expect("text")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    for text in [
        whole_text(&phasing, &[SheetPart::Assembly]),
        whole_text(&phasing, &[SheetPart::Cap]),
        command(&["at", file, "0"]),
        command(&["dropin", file]),
    ] {
        assert!(
            text.contains("48.5°") && !text.contains("48°") && !text.contains("49°"),
            "{text}"
        );
    }
    let page = handout::document(&phasing, false).expect("a page");
    assert!(page.contains("at 48.5°, 3.5° past the tower of No. 1"));
}

#[test]
fn a_caution_stands_before_its_step_and_how_to_turn_over_every_page_with_steps() {
    let phasing = built(0, 0);
    for part in [
        SheetPart::Assembly,
        SheetPart::Valves,
        SheetPart::Cap,
        SheetPart::Gears,
    ] {
        for page in pages(&phasing, &[part]) {
            let text = text_of(&page);
            let caution = text
                .find(TURNING_CAUTION)
                .unwrap_or_else(|| panic!("{text}"));
            let first = [
                "1. ",
                "Looking down",
                "from the front, the crank where",
                "Each valve is set",
            ]
            .into_iter()
            .filter_map(|begins| text.find(begins))
            .min();
            assert!(first.is_none_or(|first| caution < first), "{text}");
        }
    }
    let text = whole_text(&phasing, &[SheetPart::Assembly]);
    let still = text
        .find("The crank must not move while the drive goes in")
        .expect("said");
    assert!(
        still
            < text
                .find("Find where the rotor must start")
                .expect("a step")
    );
    let page = handout::document(&phasing, false).expect("a page");
    assert!(page.contains(TURNING_CAUTION));
}

#[test]
fn every_part_and_the_handout_list_what_they_rest_on() {
    let mut description = bench();
    description.crankshaft.rotation = None;
    description.distributor.as_mut().expect("there").rotation = None;
    description.cam_drive.marks_meet_at = None;
    let phasing = drawn(description);
    for part in SheetPart::ALL {
        for sentence in phasing.engine().rests_on(part.subjects()) {
            let text = whole_text(&phasing, &[part]);
            assert!(
                text.contains("This rests on: ") && text.contains(&sentence),
                "{part:?}: {sentence} in {text}"
            );
        }
        assert!(
            !phasing.engine().rests_on(part.subjects()).is_empty(),
            "{part:?}"
        );
    }
    let page = handout::document(&phasing, false).expect("a page");
    for sentence in phasing.engine().rests_on(handout::SUBJECTS) {
        let sentence = sentence.replace('\'', "&#39;");
        assert!(page.contains(&format!("<li>{sentence}</li>")), "{sentence}");
    }
    // Nothing that does not bear on the page.
    let strip = whole_text(&phasing, &[SheetPart::Strip]);
    assert!(
        !strip.contains("law of lift") && !strip.contains("marks_meet_at"),
        "{strip}"
    );
}

#[test]
fn the_long_head_of_a_bad_assembly_leaves_every_page_whole() {
    let mut not_stated = bench();
    not_stated.valves.quoted_at = None;
    let assembly = Assembly {
        cam_teeth: 1,
        drive_teeth: -3,
        tongue_half_turn: false,
        body_turn_deg: 11.5,
        leads: Some(vec![4, 3, 1, 2]),
        ..Assembly::default()
    };
    let engines = [
        built(4, -1),
        drawn(not_stated.clone()),
        Phasing::as_built(&engine(not_stated), &assembly),
    ];
    for phasing in &engines {
        for paper in [Paper::A4, Paper::Letter] {
            let wanted = SheetOptions {
                paper,
                ..SheetOptions::default()
            };
            for page in sheet::pages(phasing, &wanted).expect("pages") {
                common::nothing_overlaps_or_leaves(&page);
            }
        }
    }
}

#[test]
fn clearance_at_a_lift_that_is_not_stated_is_not_called_enough() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("engine.ron");
    let mut description = bench();
    description.valves.quoted_at = None;
    std::fs::write(
        &file,
        dotwise::source::write(&description).expect("written"),
    )
    .expect("written");
    let answer = dotwise(&["clearance", file.to_str().expect("a path")]);
    let text = String::from_utf8_lossy(&answer.stdout);
    assert!(!text.contains("enough"), "{text}");
    assert!(
        text.contains("WHETHER VALVES MEET PISTONS as described IS NOT KNOWN"),
        "{text}"
    );
    assert_eq!(answer.status.code(), Some(1));
}

#[test]
fn where_no_window_can_be_had_the_reading_in_its_place_says_so_too() {
    let arguments = [&["bench_four"], MEETS].concat();
    let answer = program(&arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .expect("runs");
    let text = String::from_utf8_lossy(&answer.stdout);
    assert!(text.contains("VALVES MEET PISTONS as built"), "{text}");
    assert!(text.contains("This rests on:"), "{text}");
    assert_eq!(answer.status.code(), Some(1), "{text}");
}

#[test]
fn what_turns_the_crank_is_told_with_its_caution_first() {
    let seen = Path::new(env!("CARGO_TARGET_TMPDIR")).join("a_tooth_out.seen.ron");
    fs::write(
        &seen,
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 1)])",
    )
    .expect("written");
    let seen = seen.to_string_lossy();
    for command in [
        &["dropin", "bench_four"][..],
        &["lash", "bench_four"],
        &["tdc", "--stop", "21", "-15", "bench_four"],
        &["diagnose", "bench_four", &seen],
        &["prove", "bench_four"],
    ] {
        let answer = dotwise(command);
        let text = String::from_utf8_lossy(&answer.stdout).replace('\n', " ");
        let caution = text.find("Before turning by hand").expect(&text);
        let first = ["1. ", "Take the stop out"]
            .iter()
            .filter_map(|step| text.find(step))
            .min();
        assert!(caution < first.expect(&text), "{command:?}: {text}");
    }
}
