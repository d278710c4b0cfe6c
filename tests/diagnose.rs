//! Diagnoses worked by hand on the bench four (25 and 50 teeth: one cam tooth is 14.4° of crank; a
//! 13-tooth drive on the camshaft: one tooth is 27.692° of rotor, 55.385° of crank, arithmetic),
//! what would put them right, and what to look at next.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use common::{dotwise, scene_engine};
use dotwise::description::Coupling;
use dotwise::description::Description;
use dotwise::description::Valve;
use dotwise::diagnosis::diagnose;
use dotwise::diagnosis::next_look::{Look, LookAt};
use dotwise::diagnosis::observations;
use dotwise::diagnosis::observations::{
    Observation, Observations, RotorObservation, ValveObservation, ValveState,
};
use dotwise::diagnosis::stage::Stage;
use dotwise::diagnosis::verdict;
use dotwise::diagnosis::verdict::VerdictKind;
use dotwise::diagnosis::{Diagnosis, Revolution, fault, remedy};
use dotwise::engine::Assembly;
use dotwise::engine::Engine;
use dotwise::engine::scenes;
use dotwise::engine::scenes::BENCH;
use dotwise::phasing::Phasing;

fn seen(engine: &Engine, sightings: &str) -> Observations {
    let text = format!("(format: 1, {sightings})");
    let read = observations::read(&text, engine);
    assert!(
        read.findings.iter().all(|finding| !finding.is_error()),
        "{:?}",
        read.findings
    );
    read.sightings.expect("they can be seen")
}

fn on_the_bench(sightings: &str) -> Diagnosis {
    let engine = BENCH.engine();
    diagnose(&engine, &seen(&engine, sightings))
}

fn best(found: &Diagnosis) -> (i32, i32, Option<Vec<u8>>, u32) {
    assert!(found.explained, "{:?}", found.fits.first());
    let fit = &found.fits[0];
    (
        fit.assembly.cam_teeth,
        fit.assembly.drive_teeth,
        fit.assembly.leads.clone(),
        fit.faults,
    )
}

const SHUT: &str =
    "valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)]";
const OFF_THEIR_SEATS: &str =
    "valves: [(cylinder: 1, valve: Intake, is: Open), (cylinder: 1, valve: Exhaust, is: Open)]";

#[test]
fn hand_worked_cases_come_out() {
    type Case<'a> = (&'a str, String, (i32, i32, Option<Vec<u8>>, u32));
    let cases: [Case<'_>; 9] = [
        // Drawn: 45 + 4 = 49° at firing TDC.
        ("as drawn", format!("sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0))]"), (0, 0, None, 0)),
        // On the other turn the rotor stands at 229°, and that is no fault.
        ("the other turn", format!("sightings: [(crank: 0.0, {OFF_THEIR_SEATS}, rotor: (clock: 229.0))]"), (0, 0, None, 0)),
        // 49 + 27.7 = 76.7°.
        ("a tooth ahead", format!("sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 76.0))]"), (0, 1, None, 1)),
        // Half a turn out is 6½ teeth of 13: six ahead are 49 + 166.2 = 215.2°.
        ("six teeth ahead", format!("sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 215.0, within: 5.0))]"), (0, 6, None, 1)),
        // Counted at the marks, with the rotor where it is drawn but for the 7.2° the camshaft
        // takes it back.
        ("the cam a tooth behind", format!("sightings: [(crank: 0.0, cam_teeth_off: -1, {SHUT}, rotor: (clock: 42.0))]"), (-1, 0, None, 1)),
        // The drive let down by the rotor with the cam behind: 49 − 7.2 + 27.7 = 69.5°. Two parts,
        // two faults.
        ("both out", format!("sightings: [(crank: 0.0, cam_teeth_off: -1, {SHUT}, rotor: (clock: 70.0))]"), (-1, 1, None, 2)),
        // Sparks right in 1 and 4, and a whole turn out in 3 and 2: those leads are changed over.
        (
            "two leads changed over",
            format!(
                "sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0), spark: (cylinder: 1, btdc: 8.0)),
                 (crank: 180.0, spark: (cylinder: 3, btdc: -352.0)), (crank: 181.0, spark: (cylinder: 2, btdc: -352.0))]"
            ),
            (0, 0, Some(vec![1, 2, 4, 3]), 1),
        ),
        // Every spark 180° late, the rotor as drawn: each lead one tower on.
        (
            "leads one tower on",
            format!(
                "sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0), spark: (cylinder: 1, btdc: -172.0)),
                 (crank: 0.0, spark: (cylinder: 3, btdc: -172.0))]"
            ),
            (0, 0, Some(vec![2, 1, 3, 4]), 1),
        ),
        // No. 1's exhaust is drawn to close 12° after TDC; a tooth ahead it closes 2.4° before it.
        // Seen closed 1° after overlap TDC it is a tooth or more ahead; the rotor, 45 + 4 + 180.5 +
        // 7.2 = 236.7°, says one.
        (
            "the cam ahead by its valves",
            "sightings: [(crank: 1.0, valves: [(cylinder: 1, valve: Exhaust, is: Closed), (cylinder: 1, valve: Intake, is: Open)],
              rotor: (clock: 236.7, within: 2.0))]"
                .into(),
            (1, 0, None, 1),
        ),
    ];
    for (name, sightings, answer) in cases {
        let found = on_the_bench(&sightings);
        assert_eq!(best(&found), answer, "{name}");
    }
}

#[test]
fn a_valve_within_its_reading_of_opening_rules_nothing_out() {
    // The intake opens 12° before overlap TDC: at 348° by the mark. Read within 3° it may be seen
    // open at 346° and closed at 350°.
    for (crank, is) in [(346.0, "Open"), (350.0, "Closed")] {
        let valves = format!(
            "(cylinder: 1, valve: Intake, is: {is}), (cylinder: 1, valve: Exhaust, is: Open)"
        );
        let found = on_the_bench(&format!(
            "sightings: [(crank: {crank:?}, valves: [{valves}], cam_teeth_off: 0)]"
        ));
        assert!(found.explained && found.fits[0].faults == 0, "{crank}");
    }
    // Read within 1° they rule it out.
    let valves = "(cylinder: 1, valve: Intake, is: Open), (cylinder: 1, valve: Exhaust, is: Open)";
    let found = on_the_bench(&format!(
        "sightings: [(crank: 346.0, within: 1.0, valves: [{valves}], cam_teeth_off: 0)]"
    ));
    assert!(!found.explained);
}

#[test]
fn a_timing_light_cannot_tell_the_turn_and_a_lamp_can() {
    // Half a turn round with the leads every spark comes 352° after TDC, and the light's mark shows
    // 8° before it.
    let half_round = Some(vec![4, 2, 1, 3]);
    let fits = |by: &str| {
        on_the_bench(&format!(
            "sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0, within: 3.0), spark: (cylinder: 1, btdc: 8.0, by: {by}))]"
        ))
        .fits
    };
    assert!(
        fits("Strobe")
            .iter()
            .any(|fit| fit.assembly.leads == half_round)
    );
    assert!(
        fits("Lamp")
            .iter()
            .all(|fit| fit.assembly.leads != half_round)
    );
    assert_eq!(
        fits("Strobe")[0].faults,
        0,
        "and as drawn is still the likeliest"
    );
}

#[test]
fn the_turn_of_each_sighting_is_told() {
    let found = on_the_bench(&format!(
        "sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0)), (crank: 0.0, {OFF_THEIR_SEATS}), (crank: 200.0, turned_on: true, rotor: (clock: 329.0))]"
    ));
    // 200° on from overlap TDC is 560°: 45 + 4 + 280 = 329°, and within 180° of firing again.
    assert_eq!(
        found.fits[0].turns,
        [Revolution::Firing, Revolution::Overlap, Revolution::Firing]
    );
    assert_eq!(best(&found), (0, 0, None, 0));
}

#[test]
fn traced_leads_and_a_body_that_was_turned_are_taken_as_they_were_seen() {
    let sparks = "spark: (cylinder: 1, btdc: 8.0), rotor: (clock: 21.3, within: 4.0)";
    // A tooth behind and the body turned a tooth's worth against the rotor: every spark as drawn.
    let found = on_the_bench(&format!(
        "sightings: [(crank: 0.0, {SHUT}, cam_teeth_off: 0, {sparks})], leads: [1, 3, 4, 2], body_turn: 27.7"
    ));
    assert_eq!(best(&found), (0, -1, None, 1));
    let engine = BENCH.engine();
    // Beyond the clamp's 15° it cannot stay so: that comes last at any stage.
    for stage in [Stage::CoverOff, Stage::CoverOn] {
        assert_eq!(
            found.fits[0].remedies(&engine, stage),
            [
                "Lift the drive and drop it one tooth ahead (27.7° of rotor), and turn the body 27.7° clockwise, with the rotor's rotation",
                "or leave it: the body, turned 27.7° anticlockwise, against the rotor's rotation, brings every spark where it is drawn, \
                 beyond the clamp's 15°",
            ]
        );
    }
    let traced = on_the_bench(&format!(
        "sightings: [(crank: 0.0, {SHUT}, rotor: (clock: 49.0))], leads: [3, 4, 2, 1]"
    ));
    assert_eq!(best(&traced), (0, 0, Some(vec![3, 4, 2, 1]), 1));
    assert!(
        traced
            .fits
            .iter()
            .all(|fit| fit.assembly.leads == Some(vec![3, 4, 2, 1]))
    );
}

#[test]
fn sparks_alone_unexplained_point_at_the_body() {
    // 20° before TDC instead of 8°: the body stands 6° against the rotor's rotation.
    let found = on_the_bench(&format!(
        "sightings: [(crank: 0.0, {SHUT}, cam_teeth_off: 0, rotor: (clock: 49.0, within: 5.0), spark: (cylinder: 1, btdc: 20.0))], leads: [1, 3, 4, 2]"
    ));
    assert!(!found.explained);
    assert_eq!(found.fits[0].body_stands_deg, Some(6.0));
    assert_eq!(
        found.fits[0].misfits[0].text,
        "the spark of No. 1 was seen 20° before TDC; it would come 8° before TDC"
    );
    assert_eq!(
        found.fits[0].remedies(&BENCH.engine(), Stage::CoverOff),
        [
            "If the body stands 6° anticlockwise, against the rotor's rotation from where it was taken to stand, that alone explains the sparks: \
          slacken the clamp and turn the body 6° clockwise, with the rotor's rotation"
        ]
    );
}

#[test]
fn what_is_out_is_said_and_mended_as_a_builder_would() {
    let eight = scene_engine("vee_eight");
    let three = scene_engine("three");
    let bench = BENCH.engine();
    let wrong = |cam_teeth, drive_teeth, body_turn_deg, leads: Option<&[u8]>| Assembly {
        cam_teeth,
        drive_teeth,
        body_turn_deg,
        tongue_half_turn: false,
        leads: leads.map(<[u8]>::to_vec),
        ..Assembly::default()
    };
    let cases: [(&Engine, Assembly, &str, &[&str]); 7] = [
        (
            &bench,
            wrong(0, 0, 0.0, None),
            "Everything is as drawn.",
            &[],
        ),
        (
            &bench,
            wrong(-1, 0, 0.0, None),
            "The camshaft is one tooth behind (retarded).",
            &[
                "Have the front cover off",
                "then turn the crank to 90° after No. 1's firing TDC, where every piston is at least 46.06 mm down and no valve can reach one; \
                 on the whole way there and back no valve is nearer to its piston than 4.03 mm",
                "then slide the cam gear out of mesh and put the wheel one tooth on (7.2° of the cam, 14.4° of the crank), and turn the \
                 crank gently back: the marks meet at No. 1's firing TDC; the rotor, driven by the camshaft, comes with it",
            ],
        ),
        (
            &bench,
            wrong(0, 0, 0.0, Some(&[1, 4, 3, 2])),
            "The leads of No. 3 and No. 4 are changed over.",
            &["Change over the leads of No. 3 and No. 4"],
        ),
        (
            // Two teeth of 13 behind are 55.4° of rotor: one tower (45°) back with the leads, and
            // the body 10.4° on.
            &eight,
            wrong(0, -2, 0.0, None),
            "The distributor drive is two teeth behind, its rotor 6.4° short of the tower of No. 2 where No. 1 fires.",
            &[
                "Lift the drive and drop it two teeth ahead (55.4° of rotor)",
                "or move every lead one tower back, against the rotor's direction: 8-4-3-6-5-7-2-1 from No. 1's tower, and turn the body 10.4° \
                 anticlockwise, against the rotor's rotation",
                "or turn the body 55.4° anticlockwise, against the rotor's rotation, beyond the clamp's 20°",
            ],
        ),
        (
            // The same made right with the leads already moved: only the body is left.
            &eight,
            wrong(0, -2, 0.0, Some(&[8, 4, 3, 6, 5, 7, 2, 1])),
            "The distributor drive is two teeth behind, its rotor 6.4° short of the tower of No. 2 where No. 1 fires, and the leads are \
             plugged one tower back, against the rotor's direction.",
            &[
                "Lift the drive and drop it two teeth ahead (55.4° of rotor), and move every lead one tower on, in the rotor's direction: \
                 1-8-4-3-6-5-7-2 from No. 1's tower",
                "or slacken the clamp and turn the body 10.4° anticlockwise, against the rotor's rotation",
            ],
        ),
        (
            // Three towers are a third of a turn apart: no moving of leads makes half a turn right.
            &three,
            wrong(0, 6, 0.0, None),
            "The distributor's tongue went home half a turn out.",
            &[
                "Lift the distributor, turn its rotor half a turn and let the tongue find its slot (180°)",
                "or turn the body 180° clockwise, with the rotor's rotation, beyond the clamp's 15°",
            ],
        ),
        (
            &bench,
            wrong(0, 0, -4.0, None),
            "The body stands turned 4° clockwise, with the rotor's rotation.",
            &["Slacken the clamp and turn the body 4° anticlockwise, against the rotor's rotation"],
        ),
    ];
    for (engine, assembly, says, mends) in cases {
        assert_eq!(fault::describe(engine, &assembly), says);
        assert_eq!(
            remedy::lines(engine, &assembly, Stage::CoverOff),
            mends,
            "{says}"
        );
    }
}

/// What would put an assembly right, one way of bringing the sparks right each, without its `or`.
fn ways(engine: &Engine, assembly: &Assembly, stage: Stage) -> Vec<String> {
    let lines = remedy::lines(engine, assembly, stage);
    let ways = lines
        .iter()
        .map(|line| line.trim_start_matches("or ").to_lowercase());
    ways.collect()
}

#[test]
fn while_building_the_drive_is_lifted_first_and_with_everything_closed_last() {
    let eight = scene_engine("vee_eight");
    let out = Assembly {
        drive_teeth: -2,
        ..Assembly::default()
    };
    let building = ways(&eight, &out, Stage::CoverOff);
    let closed = ways(&eight, &out, Stage::CoverOn);
    assert!(building[0].starts_with("lift the drive"), "{building:?}");
    assert!(building[1].starts_with("move every lead"), "{building:?}");
    assert!(closed[0].starts_with("move every lead"), "{closed:?}");
    assert!(closed[1].starts_with("lift the drive"), "{closed:?}");
    // What the clamp does not reach is last at either stage.
    assert!(building[2].contains("beyond the clamp") && closed[2].contains("beyond the clamp"));
}

#[test]
fn a_body_turn_that_uses_up_the_clamp_comes_last_and_says_so() {
    // One tooth of 24 is 15° of rotor: a clamp of 17° reaches it, and leaves 2° to set with.
    let mut description = scene_engine("flat_four").written().clone();
    description.distributor.as_mut().expect("one").body_range = Some(17.0);
    let (engine, _) = Engine::new(description).expect("an engine");
    let out = Assembly {
        drive_teeth: 1,
        ..Assembly::default()
    };
    for stage in [Stage::CoverOff, Stage::CoverOn] {
        let ways = ways(&engine, &out, stage);
        assert!(ways[0].starts_with("lift the drive"), "{ways:?}");
        let last = ways.last().expect("a way");
        assert!(last.contains("turn the body 15°"), "{ways:?}");
        assert!(
            last.ends_with(
                "which uses up the clamp's 17°: 2° of it are left to set the ignition with"
            ),
            "{ways:?}"
        );
    }
    // With 30° there is room: closed, nothing is less work.
    let mut description = engine.written().clone();
    description.distributor.as_mut().expect("one").body_range = Some(30.0);
    let (engine, _) = Engine::new(description).expect("an engine");
    let ways = ways(&engine, &out, Stage::CoverOn);
    assert!(
        ways[0].starts_with("slacken the clamp and turn the body 15°"),
        "{ways:?}"
    );
    assert!(ways.iter().all(|way| !way.contains("uses up")));
}

#[test]
fn putting_a_cam_right_says_how() {
    let mends = |scene: &str, change: &dyn Fn(&mut Description), cam_teeth: i32, stage| {
        let mut description = scene_engine(scene).written().clone();
        change(&mut description);
        let (engine, _) = Engine::new(description).expect("an engine");
        let out = Assembly {
            cam_teeth,
            ..Assembly::default()
        };
        remedy::lines(&engine, &out, stage).join("; ")
    };
    let asked = |scene, cam_teeth, stage| mends(scene, &|_| (), cam_teeth, stage);
    // On a split case it cannot be done with the case closed; where that is not stated, both are
    // said; and nothing of it on one block.
    for stage in [Stage::CoverOff, Stage::CoverOn] {
        let split = asked("flat_four", 1, stage);
        assert!(
            split.contains("with a split case closed it cannot be done"),
            "{split}"
        );
        assert!(!split.contains("front cover"), "{split}");
        let neither = asked("vee_eight", 1, stage);
        assert!(
            neither.contains("front cover") && neither.contains("split case"),
            "{neither}"
        );
        let block = asked("bench_four", 1, stage);
        assert!(
            block.contains("front cover") && !block.contains("split"),
            "{block}"
        );
    }
    // The camshaft is held where a chain or belt comes off, and not where gears slide.
    for (scene, held) in [("four_1243", true), ("five", true), ("bench_four", false)] {
        let told = asked(scene, 1, Stage::CoverOff);
        assert_eq!(
            told.contains("hold the camshaft, which its valve springs turn"),
            held,
            "{told}"
        );
    }
    // Which way and by how much the crank is turned, counted from where the marks meet.
    let off_tdc = asked("marks_off_tdc", 1, Stage::CoverOff);
    assert!(
        off_tdc
            .contains("turn the crank to 90° before No. 1's firing TDC, 68° back from where the marks belong together"),
        "{off_tdc}"
    );
    // Where on the marks' far side a valve meets its piston, the crank goes the other way.
    let back = mends(
        "bench_four",
        &|d| d.clearance.as_mut().expect("measured").intake_drop = 3.5,
        3,
        Stage::CoverOff,
    );
    assert!(back.contains("90° before No. 1's firing TDC"), "{back}");
    let barred = asked("bench_four", 4, Stage::CoverOff);
    assert!(
        barred.contains("come to it from the side where the crank turns freely"),
        "{barred}"
    );
    let unmeasured = asked("five", 1, Stage::CoverOff);
    assert!(unmeasured.contains("was not measured"), "{unmeasured}");
}

#[test]
fn what_proves_nothing_is_not_called_as_drawn() {
    let engine = BENCH.engine();
    let one = seen(
        &engine,
        "sightings: [(crank: 0.0, valves: [(cylinder: 1, valve: Intake, is: Closed)])]",
    );
    let found = diagnose(&engine, &one);
    assert_eq!(found.fits.len(), found.tried, "every way fits");
    let headline = found.headline();
    assert!(
        headline.starts_with("Nothing is proved: 1170 of 1170 ways") && headline.contains("Next: "),
        "{headline}"
    );
    assert!(
        headline.contains(&found.tell_apart[0].to_do()),
        "{headline}"
    );
    assert!(!found.is_right());
    // As drawn the one way left.
    let all = seen(
        &engine,
        &format!(
            "sightings: [(crank: 0.0, cam_teeth_off: 0, {SHUT}, rotor: (clock: 49.0))], leads: [1, 3, 4, 2]"
        ),
    );
    let found = diagnose(&engine, &all);
    assert!(found.is_right(), "{}", found.headline());
    assert!(
        found
            .headline()
            .starts_with("Everything is as drawn: of 117 ways"),
        "{}",
        found.headline()
    );
}

#[test]
fn a_light_is_proposed_only_once_one_was_used() {
    let looks = |spark: &str| {
        let found = on_the_bench(&format!("sightings: [(crank: 0.0, {SHUT}{spark})]"));
        let lights = found
            .tell_apart
            .iter()
            .filter(|look| matches!(look.at, LookAt::Spark(_)));
        lights.count()
    };
    assert_eq!(looks(""), 0);
    assert!(looks(", spark: (cylinder: 1, btdc: 8.0)") > 0);
}

#[test]
fn the_correcting_body_turn_brings_every_spark_where_it_is_drawn() {
    let mut geared = 0;
    for scene in scenes::SCENES {
        let engine = scene.engine();
        let Some(distributor) = &engine.metric().distributor else {
            continue;
        };
        geared += i32::from(distributor.coupling() == Coupling::Gear);
        let teeth = if distributor.coupling() == Coupling::Gear {
            3
        } else {
            0
        };
        for drive_teeth in -teeth..=teeth {
            for cam_teeth in [0, 2] {
                let out = Assembly {
                    cam_teeth,
                    drive_teeth,
                    ..Assembly::default()
                };
                let body_turn_deg = remedy::correcting_body_turn(&engine, &out)
                    .expect("teeth alone are always made right by the body");
                let mended = Phasing::as_built(
                    &engine,
                    &Assembly {
                        body_turn_deg,
                        ..out
                    },
                );
                for cylinder in mended.cylinders() {
                    let off =
                        mended.spark_btdc_deg(cylinder) - engine.metric().ignition.static_advance;
                    assert!(
                        off.abs() < 1e-6,
                        "{} {drive_teeth} {cam_teeth}: {off}",
                        scene.name
                    );
                }
            }
        }
    }
    assert!(geared >= 8, "{geared} scenes with a geared distributor");
}

/// What a look's answer would be written as.
fn with_answer(seen: &Observations, look: &Look, answer: &str) -> Option<Observations> {
    let mut seen = seen.clone();
    if look.turn_on {
        seen.sightings.push(Observation {
            turned_on: true,
            ..Observation::at(look.crank_deg)
        });
    }
    let last = seen.sightings.last_mut()?;
    match look.at {
        LookAt::Valve(cylinder, valve) => {
            let is = if answer == "open" {
                ValveState::Open
            } else {
                ValveState::Closed
            };
            last.valves.push(ValveObservation {
                cylinder: u32::from(cylinder),
                valve,
                is,
            });
        }
        LookAt::RotorTower => {
            let tower = answer
                .trim_start_matches("No. ")
                .trim_end_matches("'s")
                .parse()
                .ok()?;
            last.rotor = Some(RotorObservation {
                tower: Some(tower),
                ..RotorObservation::default()
            });
        }
        LookAt::Leads => {
            seen.leads = Some(
                answer
                    .split('-')
                    .filter_map(|lead| lead.parse().ok())
                    .collect(),
            );
        }
        _ => return None,
    }
    Some(seen)
}

#[test]
fn each_answer_to_a_look_leaves_as_many_fits_as_it_was_said_to() {
    let mut asked = 0;
    for scene in scenes::SCENES {
        let engine = scene.engine();
        for first in [
            format!("(crank: 0.0, {SHUT})"),
            "(crank: 40.0, compression_felt: [1])".to_owned(),
            "(crank: 0.0, cam_teeth_off: 0)".into(),
        ] {
            let seen = seen(&engine, &format!("sightings: [{first}]"));
            let found = diagnose(&engine, &seen);
            for look in &found.tell_apart {
                for (answer, left) in &look.answers {
                    let Some(next) = with_answer(&seen, look, answer) else {
                        continue;
                    };
                    let after = diagnose(&engine, &next);
                    assert!(after.explained, "{}: {look:?} {answer}", scene.name);
                    assert_eq!(
                        after.fits.len(),
                        *left,
                        "{}: {} {answer}",
                        scene.name,
                        look.sentence()
                    );
                    asked += 1;
                }
            }
        }
    }
    assert!(asked > 100, "{asked} answers");
}

#[test]
fn looks_are_best_first_and_each_splits_what_is_left() {
    let found = on_the_bench(&format!("sightings: [(crank: 0.0, {SHUT})]"));
    assert!(!found.tell_apart.is_empty());
    assert!(
        found
            .tell_apart
            .windows(2)
            .all(|pair| pair[0].expected <= pair[1].expected)
    );
    for look in &found.tell_apart {
        assert!(
            look.answers.len() >= 2
                && look
                    .answers
                    .iter()
                    .any(|(_, left)| *left < found.fits.len()),
            "{look:?}"
        );
    }
}

#[test]
fn verdicts_go_from_as_drawn_to_do_not_turn_it() {
    let kind =
        |assembly: Assembly| verdict::of(&Phasing::as_built(&BENCH.engine(), &assembly)).kind;
    let out = Assembly::default;
    assert_eq!(kind(out()), VerdictKind::AsDrawn);
    assert_eq!(
        kind(Assembly {
            body_turn_deg: 0.5,
            ..out()
        }),
        VerdictKind::AsDrawn
    );
    assert_eq!(
        kind(Assembly {
            drive_teeth: 1,
            body_turn_deg: -27.7,
            ..out()
        }),
        VerdictKind::MadeRight
    );
    assert_eq!(
        kind(Assembly {
            drive_teeth: 1,
            ..out()
        }),
        VerdictKind::RunsBadly
    );
    assert_eq!(
        kind(Assembly {
            cam_teeth: 1,
            drive_teeth: 0,
            ..out()
        }),
        VerdictKind::RunsBadly
    );
    // Three teeth ahead leave the intake 0.3 mm, four meet the piston (`dotwise clearance
    // bench_four`).
    assert_eq!(
        kind(Assembly {
            cam_teeth: 3,
            ..out()
        }),
        VerdictKind::DoNotTurn
    );
    assert_eq!(
        kind(Assembly {
            cam_teeth: 4,
            ..out()
        }),
        VerdictKind::DoNotTurn
    );
    let unmeasured = scene_engine("five");
    let verdict = verdict::of(&Phasing::as_built(
        &unmeasured,
        &Assembly {
            cam_teeth: -1,
            ..out()
        },
    ));
    assert_eq!(verdict.kind, VerdictKind::DoNotTurn, "{verdict:?}");
    assert!(verdict.caution.is_some());
}

#[test]
fn sightings_still_being_written_end_nothing() {
    let odd = |crank: f64| Observation {
        valves: vec![ValveObservation {
            cylinder: 0,
            valve: Valve::Intake,
            is: ValveState::Open,
        }],
        rotor: Some(RotorObservation {
            clock: None,
            tower: Some(99),
            within: Some(f64::NAN),
        }),
        compression_felt: vec![0, 77],
        cam_teeth_off: Some(observations::CamTeethOff::Every(i32::MIN)),
        within: -1.0,
        ..Observation::at(crank)
    };
    for scene in scenes::SCENES {
        let engine = scene.engine();
        for seen in [
            Observations::default(),
            Observations {
                sightings: vec![odd(f64::NAN), odd(1e300)],
                body_turn: f64::INFINITY,
                ..Observations::default()
            },
            Observations {
                sightings: vec![Observation::at(0.0); 200],
                leads: Some(vec![1; 40]),
                ..Observations::default()
            },
            Observations {
                sightings: vec![Observation::at(0.0)],
                leads: Some(vec![9; engine.cylinder_count()]),
                ..Observations::default()
            },
        ] {
            let found = diagnose(&engine, &seen);
            for fit in found.fits.iter().take(3) {
                assert!(!fit.describe(&engine).is_empty());
                let _ = fit.remedies(&engine, Stage::CoverOn);
            }
        }
    }
}

/// A file of one sighting that tells nothing: every way fits.
fn nothing_told(name: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, "(format: 1, sightings: [(crank: 0.0)])").expect("written");
    path.to_string_lossy().into_owned()
}

#[test]
fn of_very_many_ways_the_first_thousand_are_given_and_all_of_them_where_asked() {
    let seen = nothing_told("nothing_told.seen.ron");
    let some = dotwise(&["diagnose", "vee_eight", &seen, "--json"]);
    let all = dotwise(&["diagnose", "vee_eight", &seen, "--json", "--all"]);
    let read = |output: &std::process::Output| -> serde_json::Value {
        serde_json::from_slice(&output.stdout).expect("one JSON document")
    };
    let (some_ways, all_ways) = (read(&some), read(&all));
    let fits = |ways: &serde_json::Value| ways["fits"].as_array().expect("a list").clone();
    let count = all_ways["fits_in_all"].as_u64().expect("a count") as usize;
    assert!(count > 1000, "{count}");
    assert_eq!(some_ways["fits_in_all"], all_ways["fits_in_all"]);
    assert_eq!(
        (fits(&some_ways).len(), fits(&all_ways).len()),
        (1000, count)
    );
    assert_eq!(fits(&some_ways)[..], fits(&all_ways)[..1000]);
    assert_eq!(some_ways["tell_apart"], all_ways["tell_apart"]);
    assert_eq!(some.status.code(), all.status.code());
    assert!(some.stdout.len() < 2_000_000, "{} bytes", some.stdout.len());
    let text = dotwise(&["diagnose", "vee_eight", &seen]);
    let text = String::from_utf8_lossy(&text.stdout).replace('\n', " ");
    assert!(
        text.contains(&format!(
            "{count} of {count} ways of putting it together explain everything"
        )),
        "{text}"
    );
    assert!(text.contains("--json --all gives them all"), "{text}");
    assert_eq!(
        dotwise(&["diagnose", "vee_eight", &seen, "--all"])
            .status
            .code(),
        Some(2)
    );
}
