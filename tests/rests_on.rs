//! What an answer takes for granted is said with it, and nothing that does not bear on it; the lift
//! at which events are quoted, and where it was measured, count.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::path::Path;

use common::dotwise;
use dotwise::angle::CrankAngle;
use dotwise::description::{
    Bank, Description, DriveKind, Exhaust, Intake, MeasuredAt, Throw, Valve,
};
use dotwise::diagnosis::observations::{Observation, ValveObservation, ValveState};
use dotwise::diagnosis::{Observations, diagnose};
use dotwise::engine::Engine;
use dotwise::engine::scenes;
use dotwise::phasing::{Phasing, ValveClearance};
use dotwise::procedures::dropin::dropin;
use dotwise::procedures::job::Job;
use dotwise::source;

/// The bench four with a camshaft of 284°, drops that leave room for some of the lifts at which such
/// events are quoted, and a change.
fn changed(change: impl FnOnce(&mut Description)) -> Description {
    let mut d = scenes::find("bench_four")
        .expect("a scene")
        .engine()
        .written()
        .clone();
    d.valves.intake = Intake::angles(32.0, 72.0, 9.5);
    d.valves.exhaust = Exhaust::angles(72.0, 32.0, 9.0);
    change(&mut d);
    d
}

fn phasing(d: &Description) -> Phasing {
    Phasing::as_drawn(&Engine::new(d.clone()).expect("an engine").0)
}

fn file(name: &str, d: &Description) -> String {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, source::write(d).expect("written")).expect("written");
    path.to_string_lossy().into_owned()
}

fn said(arguments: &[&str]) -> (String, i32) {
    let answer = dotwise(arguments);
    let text = String::from_utf8_lossy(&answer.stdout).into_owned();
    (text, answer.status.code().expect("ends"))
}

#[test]
fn no_room_is_called_enough_where_the_lift_of_the_events_is_not_stated() {
    let intake = |d: &Description| {
        let gaps = phasing(d).least_gaps().expect("measured");
        gaps.intake.gap_mm
    };
    let at_seat = changed(|d| d.valves.quoted_at = Some(0.0));
    let at_half = changed(|d| d.valves.quoted_at = Some(0.5));
    let unknown = changed(|d| d.valves.quoted_at = None);
    // The same figures quoted at half a millimetre stand for a lobe that comes far nearer.
    assert!(intake(&at_half) < intake(&at_seat) - 1.0);
    assert_eq!(intake(&unknown), intake(&at_seat));

    let ValveClearance::LiftNotStated {
        at_seat: seat,
        least,
        quoted_at_mm,
    } = phasing(&unknown).valve_clearance()
    else {
        panic!("{:?}", phasing(&unknown).valve_clearance())
    };
    assert_eq!(quoted_at_mm, 1.27);
    assert!(least.intake.gap_mm < seat.intake.gap_mm);
    let worst = changed(|d| d.valves.quoted_at = Some(1.27));
    assert!((intake(&worst) - least.intake.gap_mm).abs() < 1e-9);

    let path = file("lift_not_stated.ron", &unknown);
    let (text, code) = said(&["clearance", &path]);
    assert!(!text.contains("enough"), "{text}");
    assert!(
        text.contains("1.27 mm") && text.contains("quoted_at"),
        "{text}"
    );
    assert_eq!(code, 1, "{text}");
    let (text, _) = said(&["check", &path]);
    assert!(text.contains("QuotedLiftNotStated"), "{text}");
}

#[test]
fn a_lift_measured_at_the_tappet_is_the_rockers_ratio_more_at_the_valve() {
    let at = |measured_at, ratio: Option<f64>| {
        changed(|d| {
            d.valves.quoted_at = Some(1.27);
            d.valves.measured_at = Some(measured_at);
            d.valves.rocker_ratio = ratio;
            (d.valves.intake.lift, d.valves.exhaust.lift) = (Some(6.0), Some(6.0));
        })
    };
    let (valve, tappet) = (
        at(MeasuredAt::Valve, None),
        at(MeasuredAt::Tappet, Some(1.5)),
    );
    let lift = |d: &Description, crank: f64| {
        phasing(d).at(CrankAngle::new(crank)).cylinders[0]
            .intake
            .lift_mm
    };
    // The lobe is the same, and every lift half as much again.
    for crank in [300.0, 360.0, 400.0, 470.0] {
        assert!(
            (lift(&tappet, crank) - 1.5 * lift(&valve, crank)).abs() < 1e-9,
            "{crank}"
        );
    }
    assert_eq!(phasing(&tappet).intake().full_lift_mm(), 9.0);
}

#[test]
fn a_valve_off_its_seat_is_open_though_it_has_not_come_to_the_quoted_lift() {
    let d = changed(|d| {
        (d.valves.intake.opens_btdc, d.valves.exhaust.closes_atdc) = (Some(4.0), Some(4.0));
        d.valves.quoted_at = Some(1.27);
    });
    let overlap = phasing(&d).at(CrankAngle::new(360.0)).cylinders[0];
    assert!(overlap.intake.open && overlap.exhaust.open && !overlap.sealed());
    assert!(overlap.intake.lift_mm > 1.27);
    let late = changed(|d| {
        (d.valves.intake.opens_btdc, d.valves.exhaust.closes_atdc) = (Some(-4.0), Some(-4.0));
        d.valves.quoted_at = Some(1.27);
    });
    let overlap = phasing(&late).at(CrankAngle::new(360.0)).cylinders[0];
    assert!(overlap.intake.lift_mm < 1.27 && overlap.intake.open && overlap.exhaust.open);
    let (text, _) = said(&["dropin", &file("late.ron", &late)]);
    assert!(text.contains("both off their seats"), "{text}");
}

#[test]
fn every_answer_says_what_it_rests_on_in_text_and_in_json_and_nothing_that_does_not_bear_on_it() {
    let d = changed(|d| {
        d.pin_offset = None;
        d.valves.quoted_at = None;
        d.distributor.as_mut().expect("one").rotation = None;
        d.cam_drive.marks_meet_at = None;
    });
    let path = file("unstated.ron", &d);
    let cases: [(&[&str], &[&str], &[&str]); 6] = [
        (
            &["at", "0"],
            &[
                "pin_offset",
                "valves.quoted_at",
                "distributor.rotation",
                "cam_drive.marks_meet_at",
            ],
            &["distributor.coupling"],
        ),
        (
            &["lash"],
            &["valves.quoted_at"],
            &["pin_offset", "distributor.rotation"],
        ),
        (&["dropin"], &["distributor.rotation"], &["pin_offset"]),
        (
            &["clearance"],
            &["pin_offset", "valves.quoted_at"],
            &["distributor.rotation", "marks_meet_at"],
        ),
        (
            &["tdc", "--by-eye", "0.01"],
            &["pin_offset"],
            &["quoted_at", "rotation"],
        ),
        (
            &["check"],
            &["distributor.rotation"],
            &["distributor.coupling"],
        ),
    ];
    for (command, rests, not) in cases {
        let mut arguments = vec![command[0], &path];
        arguments.extend(&command[1..]);
        let (text, _) = said(&arguments);
        let (_, foot) = text.split_once("This rests on:").expect(&text);
        let foot = foot.replace("\n    ", " ");
        arguments.push("--json");
        let (json, _) = said(&arguments);
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let record = if json.is_array() { &json[0] } else { &json };
        let lines: Vec<&str> = record["rests_on"]
            .as_array()
            .expect("an array")
            .iter()
            .map(|line| line.as_str().expect("a sentence"))
            .collect();
        for field in rests {
            let stands = |line: &&&str| line.contains(&format!("{field}`"));
            assert!(
                lines.iter().any(|line| stands(&line)),
                "{command:?}: no {field} in {lines:?}"
            );
            assert!(foot.contains(field), "{command:?}: no {field} in {foot}");
        }
        for field in not {
            assert!(!foot.contains(field), "{command:?}: {field} in {foot}");
        }
    }
}

/// The bench four with its marks meeting on No. 1's overlap: the dot where it then stands.
fn dots_on_overlap() -> Description {
    changed(|d| {
        d.cam_drive.marks_meet_at = Some(360.0);
        d.marks[1].at = 60.0;
    })
}

#[test]
fn dots_that_meet_on_overlap_are_said_to_before_the_distributor_is_touched() {
    let d = dots_on_overlap();
    let path = file("overlap.ron", &d);
    let (text, _) = said(&["dropin", &path]);
    let words = text.replace('\n', " ");
    let (said_at, first_step) = (
        words.find("marks together means No. 4 fires").expect(&text),
        words.find("1. ").expect(&text),
    );
    assert!(said_at < first_step, "{text}");
    // The job does not say to turn on to where the crank stands.
    let job = Job::of(&phasing(&d));
    let [marks, overlap] = ["marks-meet", "overlap-tdc"].map(|key| {
        let step = job.steps.iter().find(|step| step.key == key);
        step.expect("a step")
    });
    assert!(
        marks
            .must_be_seen
            .iter()
            .any(|seen| seen.contains("One more turn"))
    );
    assert!(
        overlap.action.starts_with("The crank stands at"),
        "{}",
        overlap.action
    );
    // Where they meet on the firing turn nothing is said.
    let (text, _) = said(&["dropin", "bench_four"]);
    assert!(!text.contains("OVERLAP"), "{text}");
}

#[test]
fn a_dot_half_a_turn_from_where_the_marks_meet_is_found_with_both_places_where_it_could_be() {
    let findings = |d: &Description| {
        let (_, findings) = Engine::new(d.clone()).expect("an engine");
        findings
            .into_iter()
            .find(|finding| finding.name == "MarksDoNotMeet")
    };
    assert_eq!(findings(&changed(|_| ())), None);
    assert_eq!(findings(&dots_on_overlap()), None);
    let moved = findings(&changed(|d| d.marks[1].at -= 180.0)).expect("found");
    assert!(
        moved.fix.contains("240") && moved.fix.contains("marks_meet_at: 360"),
        "{}",
        moved.fix
    );
    // Within half a tooth of 7.2° it agrees.
    assert_eq!(findings(&changed(|d| d.marks[1].at += 3.5)), None);
    assert!(findings(&changed(|d| d.marks[1].at += 3.7)).is_some());
    // The marks of a chain may stand links apart.
    let chain = |d: &mut Description| {
        d.cam_drive.kind = DriveKind::Chain;
        d.marks[1].at -= 180.0;
    };
    assert_eq!(findings(&changed(chain)), None);
    // A dot of the crank's own wheel tells the same where the file does not say how the shafts lie.
    let by_the_crank = |at: f64| {
        changed(|d| {
            d.cam_drive.cam_at = None;
            d.marks[0].at = 60.0;
            d.marks[1].at = at;
        })
    };
    assert_eq!(findings(&by_the_crank(240.0)), None);
    assert!(findings(&by_the_crank(60.0)).is_some());
}

#[test]
fn an_order_that_two_turns_of_the_crank_can_give_is_shown_both_ways() {
    // A narrow twin: rods on one pin, 50° between the bores.
    let twin = changed(|d| {
        d.crankshaft.throws = vec![Throw {
            angle: 0.0,
            cylinders: vec![1, 2],
        }];
        d.banks = vec![
            Bank {
                angle: 0.0,
                cylinders: vec![1],
            },
            Bank {
                angle: 50.0,
                cylinders: vec![2],
            },
        ];
        d.firing_order = vec![1, 2];
    });
    let warned = |d: &Description| {
        let (_, findings) = Engine::new(d.clone()).expect("an engine");
        findings
            .into_iter()
            .find(|finding| finding.name == "UnevenFiring")
            .expect("uneven")
    };
    let found = warned(&twin);
    assert!(
        found.message.contains("50°, 670°") && found.message.contains("410°, 310°"),
        "{}",
        found.message
    );
    assert!(
        found.fix.contains("firing_angles: [0, 410]") && found.fix.contains("[0, 50]"),
        "{}",
        found.fix
    );
    // Stated, it is the builder's own affair.
    let stated = changed(|d| {
        (d.crankshaft.throws, d.banks, d.firing_order) = (
            twin.crankshaft.throws.clone(),
            twin.banks.clone(),
            vec![1, 2],
        );
        d.firing_angles = Some(vec![0.0, 50.0]);
    });
    assert!(!warned(&stated).fix.contains("firing_angles"));
    // Whichever it is, the rotor ends where the witness of the rotor says.
    for d in [&twin, &stated] {
        let found = dropin(&phasing(d)).expect("a distributor");
        let witness = found.witnesses.here.last().expect("the rotor");
        let (text, _) = said(&["dropin", &file("twin.ron", d)]);
        let end = witness.firing.trim_start_matches("at ");
        assert!(
            text.replace("\n   ", "").matches(end).count() >= 2,
            "{end}: {text}"
        );
    }
}

#[test]
fn a_valve_hardly_off_its_seat_may_be_called_open_or_closed_and_one_well_off_it_may_not() {
    let engine = Engine::new(changed(|_| ())).expect("an engine").0;
    let phasing = Phasing::as_drawn(&engine);
    let explained = |crank_deg: f64, is: ValveState| {
        let seen = Observations {
            sightings: vec![Observation {
                within: 0.0,
                valves: vec![ValveObservation {
                    cylinder: 1,
                    valve: Valve::Intake,
                    is,
                }],
                cam_teeth_off: Some(dotwise::diagnosis::observations::CamTeethOff::Every(0)),
                ..Observation::at(crank_deg)
            }],
            ..Observations::default()
        };
        let found = diagnose(&engine, &seen);
        found.explained && found.fits.iter().any(|fit| fit.assembly.is_as_drawn())
    };
    // The intake leaves its seat 32° before overlap TDC: the crank mark says 328°.
    let lift = |crank: f64| {
        phasing.at(CrankAngle::new(crank)).cylinders[0]
            .intake
            .lift_mm
    };
    let (shut, hardly, open) = (320.0, 333.0, 355.0);
    assert_eq!(lift(shut), 0.0);
    assert!(
        lift(hardly) > 0.0 && lift(hardly) < 0.10,
        "{}",
        lift(hardly)
    );
    assert!(lift(open) > 0.10, "{}", lift(open));
    for (crank, as_open, as_closed) in [
        (hardly, true, true),
        (open, true, false),
        (shut, false, true),
    ] {
        // On the firing turn the intake is shut at any of these: only what is open there tells.
        assert_eq!(explained(crank, ValveState::Open), as_open, "{crank}");
        if as_closed {
            assert!(explained(crank, ValveState::Closed), "{crank}");
        }
    }
}

#[test]
fn an_answer_that_needs_no_engine_says_what_it_rests_on_too() {
    let (text, _) = said(&["tdc", "--stop", "-20", "22"]);
    assert!(text.contains("pins were taken to have no offset"), "{text}");
    let json = |arguments: &[&str]| {
        let (json, _) = said(arguments);
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        json["rests_on"].as_array().expect("an array").len()
    };
    assert_eq!(json(&["tdc", "--stop", "-20", "22", "--json"]), 1);
    assert_eq!(
        json(&[
            "order", "--felt", "1=0", "3=180", "4=360", "2=540", "--json"
        ]),
        0
    );
}
