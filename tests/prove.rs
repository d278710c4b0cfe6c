//! The looks that prove an engine: nothing that could have gone wrong comes through them, and who
//! finds every one of them right has as drawn diagnosed.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use common::{apart, done, dotwise, scene_engine, unfolded};
use dotwise::angle::CrankAngle;
use dotwise::description::Valve;
use dotwise::diagnosis::diagnose;
use dotwise::diagnosis::hypotheses::Space;
use dotwise::diagnosis::observations::{CamTeethOff, Observation, Observations, ValveState};
use dotwise::diagnosis::proof::prove;
use dotwise::diagnosis::stage::{Sight, Stage};
use dotwise::engine::{Assembly, Engine, scenes};
use dotwise::phasing::Phasing;

/// Where the crank stands at each sighting, turned on from the first.
fn cranks(seen: &Observations, other_turn: bool) -> Vec<CrankAngle> {
    let mut crank = if other_turn { 360.0 } else { 0.0 };
    let mut mark = 0.0;
    let places = seen.sightings.iter().map(|sighting| {
        crank += (sighting.crank - mark).rem_euclid(360.0);
        mark = sighting.crank;
        CrankAngle::new(crank)
    });
    places.collect()
}

/// Where the slot of a geared shaft, which the camshaft turns, stands, by the teeth out.
fn slot_deg(built: &Phasing, crank: CrankAngle) -> Option<f64> {
    let (drawn, assembly) = (built.engine().metric(), built.assembly());
    let distributor = drawn.distributor.as_ref()?;
    let teeth = |out: i32, wheel: u32| f64::from(out) * 360.0 / f64::from(wheel);
    let turned = crank.degrees() / 2.0
        + teeth(assembly.drive_teeth, distributor.driven_teeth)
        + teeth(assembly.cam_teeth, drawn.cam_drive.cam_teeth);
    Some(distributor.slot_at? + distributor.rotation().sign() * turned)
}

/// Whether an engine built so shows something at this sighting that nobody can take for what was
/// entered: reckoned from its readings, and not by the diagnosis.
fn shows_otherwise(built: &Phasing, sighting: &Observation, crank: CrankAngle) -> bool {
    let reading = built.at(crank);
    let valves = sighting.valves.iter().any(|seen| {
        let cylinder = reading.cylinder(seen.cylinder as u8).expect("a cylinder");
        let valve = match seen.valve {
            Valve::Intake => cylinder.intake,
            Valve::Exhaust => cylinder.exhaust,
        };
        match seen.is {
            ValveState::Open => !valve.open,
            // A tenth of a millimetre is what an eye tells: common practice, no source.
            ValveState::Closed => valve.lift_mm > 0.10,
        }
    });
    let thumb = sighting.compression_felt.iter().any(|&felt| {
        let cylinder = reading.cylinder(felt as u8).expect("a cylinder");
        !cylinder.pushes_the_thumb()
    });
    let rotor = sighting.rotor.zip(reading.rotor).is_some_and(|(seen, is)| {
        let clock = seen
            .clock
            .is_some_and(|clock| apart(clock, is.clock.degrees()) > 8.0);
        let tower = seen.tower.is_some_and(|tower| {
            let order = built.engine().firing_order();
            order[is.tower_index] != tower as u8
        });
        clock || tower
    });
    let slot = sighting.slot.is_some_and(|seen| {
        let is = slot_deg(built, crank).expect("a slot");
        // A central slot looks alike half a turn on.
        apart(2.0 * seen.clock, 2.0 * is) / 2.0 > 8.0
    });
    let spark = sighting.spark.is_some_and(|seen| {
        let cylinder = built.cylinder(seen.cylinder as u8).expect("a cylinder");
        (built.spark_btdc_deg(cylinder) - seen.btdc).abs() > 2.0
    });
    let dots = match &sighting.cam_teeth_off {
        None => false,
        Some(CamTeethOff::Every(_)) => !built.assembly().cams().are_right(),
        Some(CamTeethOff::Named(named)) => named.keys().any(|name| {
            let camshaft = built.engine().camshaft_named(name).expect("a camshaft");
            built.assembly().cams().of(camshaft) != 0
        }),
    };
    valves || thumb || rotor || slot || spark || dots
}

/// Every way the parts could have gone together but as drawn.
fn wrong_ways(engine: &Engine) -> Vec<Assembly> {
    let space = Space::of(engine, &Observations::default());
    let mut ways = Vec::new();
    for &cams in &space.cams {
        for drive in &space.drive {
            for (leads, _) in &space.leads {
                let drawn = leads.is_empty() || leads == engine.lead_order();
                let way = Assembly {
                    drive_teeth: drive.teeth,
                    tongue_half_turn: drive.half_turn,
                    leads: (!drawn).then(|| leads.clone()),
                    ..Assembly::default()
                };
                ways.push(way.with_cams(cams));
            }
        }
    }
    ways.retain(|way| !way.is_as_drawn());
    ways
}

/// Puts every one of these through the looks of a stage: how many were not caught on some turn of
/// the crank.
fn not_caught(engine: &Arc<Engine>, stage: Stage, ways: &[Assembly]) -> usize {
    let proof = prove(engine, &Observations::default(), stage, &[]);
    let right = proof.as_sightings(&Observations::default());
    let drawn = Phasing::as_drawn(engine);
    assert!(
        right
            .sightings
            .iter()
            .zip(cranks(&right, false))
            .all(|(sighting, crank)| { !shows_otherwise(&drawn, sighting, crank) }),
        "{right:?}"
    );
    let escapes = |way: &&Assembly| {
        let hidden = proof
            .cannot_tell_here
            .iter()
            .any(|(hidden, _)| hidden == *way);
        let leads_seen = right.leads.is_some() && way.leads.is_some();
        let built = Phasing::as_built(engine, way);
        !hidden
            && !leads_seen
            && [false, true].iter().any(|&other_turn| {
                let mut looks = right.sightings.iter().zip(cranks(&right, other_turn));
                !looks.any(|(sighting, crank)| shows_otherwise(&built, sighting, crank))
            })
    };
    ways.iter().filter(escapes).count()
}

#[test]
fn no_way_of_going_wrong_comes_through_the_looks() {
    for scene in ["bench_four", "flat_four", "vee_eight"] {
        let engine = scene_engine(scene);
        let ways = wrong_ways(&engine);
        assert!(ways.len() > 1_000, "{scene}");
        for stage in Stage::ALL {
            assert_eq!(
                not_caught(&engine, stage, &ways),
                0,
                "{scene} {}",
                stage.word()
            );
        }
    }
    for scene in scenes::SCENES {
        let engine = scene.engine();
        let mut ways = wrong_ways(&engine);
        let few = ways.len().min(300);
        fastrand::Rng::with_seed(7).shuffle(&mut ways);
        assert_eq!(
            not_caught(&engine, Stage::CoverOff, &ways[..few]),
            0,
            "{}",
            scene.name
        );
    }
}

#[test]
fn who_finds_every_look_right_has_as_drawn_diagnosed() {
    for scene in scenes::SCENES {
        let engine = scene.engine();
        let without: [&[Sight]; 3] = [&[], &[Sight::Leads], &[Sight::Leads, Sight::Rotor]];
        for (stage, without) in Stage::ALL
            .into_iter()
            .flat_map(|stage| without.map(|without| (stage, without)))
        {
            let proof = prove(&engine, &Observations::default(), stage, without);
            let seen = proof.as_sightings(&Observations::default());
            let found = diagnose(&engine, &seen);
            let left = found.fits.len();
            let name = scene.name;
            assert!(found.explained, "{name} {}: {seen:?}", stage.word());
            let most = proof.cannot_tell_here.len() + 1;
            // With the cover on a proof allows for a body that was turned, and a diagnosis believes
            // what is stated of it.
            if stage.is_closed() {
                assert!(left <= most, "{name} {}: {seen:?}", stage.word());
            } else {
                assert_eq!(left, most, "{name} {}: {seen:?}", stage.word());
            }
            if most == 1 {
                assert!(found.is_right(), "{name}");
            }
            // Asked again with those looks seen, the proof has no more ways left than it said.
            let again = prove(&engine, &seen, stage, without);
            assert!(again.can_be_right, "{name} {}", stage.word());
            assert_eq!(again.ways, most, "{name} {}", stage.word());
        }
    }
}

#[test]
fn a_four_is_proved_in_five_looks_and_an_eight_in_seven_at_once() {
    for (scene, most) in [("flat_four", 5), ("bench_four", 5), ("vee_eight", 7)] {
        let engine = scene_engine(scene);
        let begun = Instant::now();
        let proof = prove(&engine, &Observations::default(), Stage::CoverOff, &[]);
        assert!(begun.elapsed().as_secs_f64() < 0.5, "{:?}", begun.elapsed());
        assert!(proof.looks.len() <= most && proof.shortest, "{proof:?}");
        assert_eq!(proof.looks.last().map(|look| look.leaves), Some(1));
        assert_eq!(proof.cannot_tell_here, []);
    }
}

#[test]
fn what_is_not_in_yet_is_not_looked_at_and_what_then_hides_is_named_with_its_stage() {
    let engine = scene_engine("bench_four");
    let without = [Sight::Rotor, Sight::Leads];
    let proof = prove(&engine, &Observations::default(), Stage::CoverOff, &without);
    assert!(proof.looks.iter().all(|look| !look.look.contains("rotor")));
    // A cam wheel out is seen at its dots; a drive out and leads out are not seen here.
    let (assembly, _) = proof.cannot_tell_here.first().expect("something hides");
    assert!(assembly.cams().are_right());
    let open = prove(&engine, &Observations::default(), Stage::CaseOpen, &[]);
    assert!(
        open.cannot_tell_here.iter().all(|(assembly, stage)| {
            assembly.leads.is_some() && *stage == Some(Stage::CoverOff)
        })
    );
}

#[test]
fn what_was_seen_goes_before_and_a_fault_seen_leaves_nothing_to_prove() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        fs::write(&path, text).expect("written");
        path.to_string_lossy().into_owned()
    };
    let dots = write(
        "dots.seen.ron",
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 0)])",
    );
    let json = done(&["prove", "bench_four", &dots, "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json).expect("JSON");
    assert_eq!(json["ways"], 130);
    assert_eq!(json["left"].as_array().map(Vec::len), Some(129));
    assert_eq!(json["looks"].as_array().map(Vec::len), Some(2));

    let out = write(
        "out.seen.ron",
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: 1)])",
    );
    let answer = dotwise(&["prove", "bench_four", &out]);
    assert_eq!(answer.status.code(), Some(1));
    let text = String::from_utf8_lossy(&answer.stdout).replace('\n', " ");
    assert!(text.contains("No look can prove it"), "{text}");
    for refused in [
        &["prove", "bench_four", "--cam-teeth", "1"][..],
        &["prove", "bench_four", "--stage", "shut"],
        &["prove", "bench_four", "--without", "engine"],
        &["prove", "-", "-"],
        &["prove", "tongue_and_shaft", "--tongue-half-turn"],
        &["diagnose", "tongue_and_shaft", &dots, "--tongue-half-turn"],
    ] {
        assert_eq!(dotwise(refused).status.code(), Some(2), "{refused:?}");
    }
}

#[test]
fn a_camshaft_a_tooth_out_that_the_body_was_turned_to_make_up_for_is_not_proved_by_a_lamp() {
    // The lamp was set to light at 8°, so it does, whatever is out within the clamp's reach. What
    // else can be seen with the cover on is left out here: a lamp alone proves no camshaft.
    let engine = scene_engine("vee_eight");
    let without = [Sight::Valves, Sight::Thumb, Sight::Rotor];
    let proof = prove(&engine, &Observations::default(), Stage::CoverOn, &without);
    let tooth_behind = proof.cannot_tell_here.iter().find(|(assembly, _)| {
        assembly.cam_teeth == -1 && assembly.drive_teeth == 0 && assembly.leads.is_none()
    });
    let shows = tooth_behind.map(|(_, stage)| stage.is_some());
    assert_eq!(shows, Some(true), "{:?}", proof.cannot_tell_here);

    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("lit.seen.ron");
    let lit = "(format: 1, leads: [1, 8, 4, 3, 6, 5, 7, 2], sightings: [(crank: 0.0, spark: (cylinder: 1, btdc: 8.0))])";
    let order: Vec<String> = engine.lead_order().iter().map(u8::to_string).collect();
    let lit = lit.replace("1, 8, 4, 3, 6, 5, 7, 2", &order.join(", "));
    fs::write(&path, lit).expect("written");
    let path = path.to_str().expect("a path");
    let left = |more: &[&str]| -> serde_json::Value {
        let arguments = ["prove", "vee_eight", path, "--stage", "cover-on", "--json"];
        let answer = dotwise(&[&arguments[..], more].concat());
        serde_json::from_slice::<serde_json::Value>(&answer.stdout).expect("JSON")["ways"].clone()
    };
    assert!(
        left(&[]).as_u64().is_some_and(|ways| ways > 1),
        "{}",
        left(&[])
    );
    // Where the body's turn is stated, a lamp tells: here it would light with the drive as drawn.
    assert!(left(&["--body-turn", "0.5"]).as_u64() < left(&[]).as_u64());
}

#[test]
fn a_diagnosis_by_a_spark_or_a_tower_says_that_the_body_was_taken_never_to_be_turned() {
    let folder = tempfile::tempdir().expect("a folder");
    let says = |arguments: &[&str]| -> bool {
        let answer = dotwise(&[arguments, &["--json"]].concat());
        let json: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
        json["rests_on"]
            .to_string()
            .contains("never to have been turned")
    };
    let seen = |name: &str, text: &str| -> String {
        let path = folder.path().join(name);
        fs::write(&path, text).expect("written");
        path.to_string_lossy().into_owned()
    };
    let spark = seen(
        "spark.ron",
        "(format: 1, sightings: [(crank: 0.0, spark: (cylinder: 1, btdc: 8.0))])",
    );
    let tower = seen(
        "tower.ron",
        "(format: 1, sightings: [(crank: 0.0, rotor: (tower: 1))])",
    );
    let clock = seen(
        "clock.ron",
        "(format: 1, sightings: [(crank: 0.0, rotor: (clock: 49.0))])",
    );
    let turned = seen(
        "turned.ron",
        "(format: 1, body_turn: 2.0, sightings: [(crank: 0.0, rotor: (tower: 1))])",
    );
    assert!(says(&["diagnose", "bench_four", &spark]));
    assert!(says(&["diagnose", "bench_four", &tower]));
    assert!(!says(&["diagnose", "bench_four", &clock]));
    assert!(!says(&["diagnose", "bench_four", &turned]));
    // No distributor, no body.
    let magneto = seen(
        "magneto.ron",
        "(format: 1, sightings: [(crank: 0.0, spark: (cylinder: 1, btdc: 22.0))])",
    );
    assert!(!says(&["diagnose", "crank_magneto", &magneto]));
}

#[test]
fn what_hides_is_told_with_the_nearest_stage_at_which_it_shows() {
    let engine = scene_engine("twin_cam_four");
    let proof = prove(&engine, &Observations::default(), Stage::CoverOn, &[]);
    assert!(!proof.cannot_tell_here.is_empty());
    for (assembly, stage) in &proof.cannot_tell_here {
        assert!(!assembly.cams().are_right(), "{assembly:?}");
        // Its dot is in sight with the cover off too: nobody opens the case for it.
        assert_eq!(*stage, Some(Stage::CoverOff), "{assembly:?}");
    }
}

#[test]
fn a_look_that_leaves_as_many_ways_says_what_it_tells_and_every_right_reads_after_right_is() {
    let says = |arguments: &[&str]| -> String {
        let text = String::from_utf8(dotwise(arguments).stdout).expect("text");
        unfolded(&text)
    };
    let open = says(&["prove", "flat_four", "--stage", "case-open"]);
    assert!(
        open.contains("That tells which turn of the crank this is; 240 ways are left as before."),
        "{open}"
    );
    let on = says(&["prove", "twin_cam_four", "--stage", "cover-on"]);
    assert!(on.contains("right is pushed off by No. 3."), "{on}");
    assert!(!on.contains("as before"), "{on}");
}

#[test]
fn the_sample_in_the_help_is_a_file_of_sightings_as_it_is_shown() {
    let help = String::from_utf8(dotwise(&["diagnose", "--help"]).stdout).expect("text");
    let from = help.find("(format: 1").expect("a sample");
    let to = help.find("Without a distributor").expect("its end");
    let sample = help[from..to].trim();
    assert!(sample.contains(r#"{"exhaust cam": -1}"#), "{sample}");
    let read = dotwise::diagnosis::observations::read(sample, &scene_engine("bench_four"));
    let written = read.written.expect("it can be followed");
    assert_eq!(written.sightings.len(), 2);
    // A slot is seen on a geared shaft alone; nothing else is wrong.
    let others: Vec<_> = read
        .findings
        .iter()
        .filter(|finding| finding.is_error() && !finding.place.contains("slot"))
        .collect();
    assert!(others.is_empty(), "{others:?}");
}
