//! The whole job: its steps by engine and way, the builder's own among them, and the build file
//! written, read and taken back.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::path::Path;

use common::{done, dotwise, path_in, scene_engine, unfolded};
use dotwise::description::job_steps::{self, JOB_STEPS};
use dotwise::diagnosis::stage::Stage;
use dotwise::engine::{read, scenes};
use dotwise::phasing::Phasing;
use dotwise::procedures::job::{Condition, Job, Progress, Step, Way};
use serde_json::Value;

fn job(scene: &str, way: Way) -> Job {
    Job::by(&Phasing::as_drawn(&scene_engine(scene)), way)
}

fn keys(job: &Job) -> String {
    let keys: Vec<&str> = job.steps.iter().map(|step| step.key.as_str()).collect();
    keys.join(" ")
}

/// The job of a description in a scene's words with some of them others.
fn job_of(scene: &str, from: &str, to: &str) -> Job {
    let text = scenes::find(scene).expect("a scene").text;
    assert!(text.contains(from), "{from}");
    let read = read::engine(&text.replacen(from, to, 1));
    Job::of(&Phasing::as_drawn(
        &read.engine.unwrap_or_else(|| panic!("{:?}", read.findings)),
    ))
}

#[test]
fn a_split_four_an_engine_of_two_camshafts_and_a_magneto_twin_have_these_steps() {
    assert_eq!(
        keys(&job("flat_four", Way::NewBuild)),
        "bearings rod-caps crank-turns cam-wheel cam-dot cam-in marks-meet cam-end-play case-closed heads-on turns-free tdc-stop \
         cam-degreed clearance-drop clearance-clay overlap-tdc firing-tdc thrust-washers rotor-start rotor-home body-clamped \
         rotor-turns two-turns cover-on points-gap spark-set spark-next lead-1 lead-4 lead-2 lead-3 valves-in-1+3-ex-1+4 \
         valves-in-2+4-ex-2+3 last-turns record first-start"
    );
    // A tongue on a plain shaft has no gear that goes in with the distributor.
    assert_eq!(
        keys(&job("twin_cam_four", Way::NewBuild)),
        "bearings rod-caps crank-turns cam-wheel cam-dot heads-on cam-in marks-meet cam-end-play turns-free tdc-stop cam-degreed \
         clearance-drop clearance-clay overlap-tdc firing-tdc rotor-start rotor-home body-clamped rotor-turns two-turns cover-on \
         points-gap spark-set spark-next lead-1 lead-3 lead-4 lead-2 valves-in-1+2-ex-1+3 valves-in-3+4-ex-2+4 last-turns record first-start"
    );
    assert_eq!(
        keys(&job("crank_magneto", Way::NewBuild)),
        "bearings rod-caps crank-turns cam-wheel cam-dot cam-in marks-meet cam-end-play case-closed heads-on turns-free tdc-stop \
         cam-degreed clearance-drop clearance-clay overlap-tdc firing-tdc two-turns cover-on points-gap spark-set valves-in-1-ex-1 \
         last-turns record first-start"
    );
}

#[test]
fn an_engine_opened_at_the_front_keeps_its_distributor_its_leads_and_its_valves() {
    assert_eq!(
        keys(&job("flat_four", Way::FrontOpened)),
        "turns-free tdc-stop cam-degreed overlap-tdc firing-tdc rotor-there two-turns cover-on spark-set \
         spark-next last-turns record first-start"
    );
    // One that was stripped has its parts laid out first, and every step of a new build.
    for scene in &scenes::SCENES {
        let (new, stripped) = (
            job(scene.name, Way::NewBuild),
            job(scene.name, Way::Stripped),
        );
        assert_eq!(keys(&stripped), format!("own-places {}", keys(&new)));
    }
}

#[test]
fn on_every_way_through_every_scene_steps_come_in_the_order_of_the_stages_and_are_whole() {
    for scene in &scenes::SCENES {
        for way in Way::ALL {
            let job = job(scene.name, way);
            let place = |step: &Step| format!("{} {way:?} {}", scene.name, step.key);
            for pair in job.steps.windows(2) {
                assert!(pair[0].stage <= pair[1].stage, "{}", place(&pair[1]));
            }
            for (index, step) in job.steps.iter().enumerate() {
                assert!(step.stages.contains(&step.stage), "{}", place(step));
                assert!(!step.action.is_empty(), "{}", place(step));
                let twice = job.steps[..index].iter().any(|one| one.key == step.key);
                assert!(!twice, "{} stands twice", place(step));
                // The case is open only where its halves come apart and are apart.
                let split = job.steps.iter().any(|step| step.key == "case-closed");
                assert!(split || step.stage != Stage::CaseOpen, "{}", place(step));
            }
        }
    }
}

#[test]
fn every_step_that_can_be_named_is_in_the_job_of_its_engine_and_every_step_can_be_named() {
    for scene in &scenes::SCENES {
        let engine = scene.engine();
        let all: Vec<Step> = Way::ALL
            .into_iter()
            .flat_map(|way| job(scene.name, way).steps)
            .filter(|step| !step.key.starts_with("own-step-"))
            .collect();
        for key in job_steps::keys(engine.written()) {
            let group = match key {
                "leads" => "lead-",
                "coils" => "coil-",
                "valves" => "valves-in-",
                key => key,
            };
            assert!(
                all.iter()
                    .any(|step| step.key == key || step.key.starts_with(group)),
                "{}: {key}",
                scene.name
            );
        }
        for step in &all {
            let key = job_steps::named(&step.key, engine.written());
            let known = key.as_deref() == Some(&*step.key);
            assert!(
                known || step.key.starts_with("valves-in-"),
                "{}: {}",
                scene.name,
                step.key
            );
        }
    }
    assert!(JOB_STEPS.len() > 30);
}

#[test]
fn nobody_is_told_to_lift_a_distributor_out_that_was_never_in() {
    for scene in &scenes::SCENES {
        for step in job(scene.name, Way::NewBuild).steps {
            if step.key == "rotor-home" {
                break;
            }
            let said = format!("{} {}", step.action, step.must_be_seen.join(" "));
            assert!(
                !said.to_lowercase().contains("lift the distributor"),
                "{}: {said}",
                scene.name
            );
        }
    }
}

#[test]
fn hydraulic_lifters_get_no_feeler_in_any_step() {
    for step in job("hydraulic_eight", Way::NewBuild).steps {
        if step.key == "points-gap" {
            continue;
        }
        let said = format!(
            "{} {} {}",
            step.action,
            step.must_be_seen.join(" "),
            step.instead.unwrap_or_default()
        );
        assert!(!said.contains("feeler"), "{}: {said}", step.key);
    }
}

#[test]
fn the_oil_pumps_slot_is_spoken_of_only_where_the_distributors_drive_turns_it() {
    let on = |drive: &str| {
        job_of(
            "flat_four",
            "case: Split,",
            &format!("case: Split, oil_pump: DrivenBy({drive}),"),
        )
    };
    let by_the_drive = on("DistributorDrive");
    assert!(by_the_drive.step("pump-slot").is_some());
    let home = by_the_drive.step("rotor-home").expect("the step");
    assert!(home.must_be_seen.join(" ").contains("home on the oil pump"));
    for other in [
        on("Camshaft"),
        on("Crankshaft"),
        job("flat_four", Way::NewBuild),
    ] {
        assert!(other.step("pump-slot").is_none());
        let said: Vec<String> = other
            .steps
            .iter()
            .map(|step| format!("{} {}", step.action, step.must_be_seen.join(" ")))
            .collect();
        assert!(!said.join(" ").contains("pump"));
    }
}

#[test]
fn a_builders_own_step_comes_after_the_step_it_names_and_else_before_the_record() {
    let job = job_of(
        "flat_four",
        "pulley_diameter: 170.0,",
        "pulley_diameter: 170.0, steps: [
            (do: \"Case studs\", torque: NewtonMetres(25.0), passes: [10.0, 18.0, 25.0], angle: 90.0, after: \"Cam-In\", sequence: [4, 1, 2, 3]),
            (do: \"Case nuts\", after: \"cam in\"),
            (do: \"Cap clips\", after: \"leads\"),
            (do: \"Covers\", after: \"set the valves\"),
            (do: \"Oil\"),
            (do: \"Oil\"),
        ],",
    );
    let all = keys(&job);
    for wanted in [
        "cam-in own-step-case-studs own-step-case-nuts marks-meet",
        "lead-3 own-step-cap-clips valves-in-1+3-ex-1+4",
        "valves-in-2+4-ex-2+3 own-step-covers last-turns own-step-oil own-step-oil+ record",
    ] {
        assert!(all.contains(wanted), "{wanted} is not in {all}");
    }
    let studs = job.step("own-step-case-studs").expect("the step");
    assert_eq!(
        (studs.stage, &studs.right),
        (Stage::CaseOpen, &Condition::ByHand)
    );
    // 25 N·m over 1.355 817 948 is 18.44 lbf·ft, twelve times that 221.3 lbf·in.
    assert_eq!(
        studs.tightening.as_ref().expect("a torque").words(),
        "10, 18, then 25 N·m (18.4 lbf·ft, 221.3 lbf·in), then each 90° more; in the order 4, 1, 2, 3"
    );
}

#[test]
fn readings_are_reckoned_as_the_commands_of_their_own_reckon_them() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = folder.path().join("four.build.ron");
    let said = |step: &[&str]| {
        let build = build.to_str().expect("a path");
        let words = [&["job", "bench_four", "--build", build, "--done"], step].concat();
        let text = String::from_utf8(done(&words)).expect("text");
        unfolded(&text)
    };
    // Midway between 21 and −15.
    assert!(said(&["tdc-stop", "a=21", "b=-15"]).contains("where the wheel reads 3°"));
    // Midway between 20° and 196°, and between −202° and −26°.
    let cam = said(&[
        "cam-degreed",
        "lift=1",
        "intake-opens=20",
        "intake-closes=196",
        "exhaust-opens=-202",
        "exhaust-closes=-26",
    ]);
    assert!(
        cam.contains("The intake's lobe centre is 108° after TDC"),
        "{cam}"
    );
    assert!(cam.contains("The exhaust's is 114° before it"), "{cam}");
    let clay = said(&["clearance-clay", "intake-clay=1.5mm", "exhaust-clay=3"]);
    assert!(
        clay.contains("Under the intake: 1.50 mm, too little, for 2.00 mm is the least."),
        "{clay}"
    );
    assert!(
        clay.contains("Under the exhaust: 3.00 mm, enough"),
        "{clay}"
    );
    let build = build.to_str().expect("a path");
    let wrong = dotwise(&[
        "job",
        "bench_four",
        "--build",
        build,
        "--done",
        "spark-set",
        "spark=12",
    ]);
    let says = String::from_utf8(wrong.stderr).expect("text");
    let says = unfolded(&says);
    assert!(
        says.contains("4° advanced against the 8° before TDC"),
        "{says}"
    );
}

fn as_json(words: &[&str]) -> Value {
    serde_json::from_slice(&done(words)).expect("JSON")
}

#[test]
fn the_build_file_is_made_filled_taken_back_and_goes_on_with_the_next_step() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("four.build.ron");
    let build = path.to_str().expect("a path");
    let job = |words: &[&str]| {
        as_json(&[&["job", "flat_four", "--json", "--build", build], words].concat())
    };
    let first = job(&["--done", "bearings", "--on", "2026-11-26"]);
    assert_eq!(
        (&first["done"], &first["next"]),
        (&1.into(), &"rod-caps".into())
    );
    job(&[
        "--done",
        "cam-end-play",
        "end-play=0.1",
        "backlash=0.05",
        "--on",
        "2026-11-27",
    ]);
    job(&["--undo", "bearings"]);
    assert_eq!(
        fs::read_to_string(&path).expect("read"),
        r#"(
    format: 1,
    engine: "Flat four",
    way: NewBuild,
    stage: CaseOpen,
    done: [
        (step: "bearings", at: 0.0, on: "2026-11-26", by_hand: true, undone: true),
        (step: "cam-end-play", at: 0.0, on: "2026-11-27", readings: {"backlash": 0.05, "end-play": 0.1}, by_hand: true),
    ],
)
"#
    );
    let now = job(&[]);
    assert_eq!(
        (&now["done"], &now["next"]),
        (&1.into(), &"bearings".into())
    );
    let steps = now["steps"].as_array().expect("steps");
    let play = steps
        .iter()
        .find(|step| step["key"] == "cam-end-play")
        .expect("the step");
    assert_eq!(play["done"]["readings"]["backlash"], 0.05);
    let text = String::from_utf8(done(&["job", "flat_four", "--build", build])).expect("text");
    assert!(
        text.contains("done on 2026-11-27, ticked by hand: backlash 0.05 mm"),
        "{text}"
    );
    // On paper the sheet is filled in so far.
    let pages = folder.path().join("four.html");
    let pages = pages.to_str().expect("a path");
    done(&[
        "sheet",
        "flat_four",
        "--only",
        "assembly",
        "--build",
        build,
        "-o",
        pages,
    ]);
    let page = fs::read_to_string(pages).expect("read");
    assert!(page.contains("Done on 2026-11-27, ticked by hand.") && page.contains("0.05"));
}

/// What is said where the words cannot be answered.
fn refused(words: &[&str]) -> String {
    let output = dotwise(words);
    assert_eq!(output.status.code(), Some(2), "{words:?}");
    let text = String::from_utf8(output.stderr).expect("text");
    unfolded(&text)
}

#[test]
fn what_the_job_has_not_is_refused_with_what_it_has_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("four.build.ron");
    let build = path.to_str().expect("a path");
    let asked =
        |words: &[&str]| refused(&[&["job", "flat_four", "--build", build], words].concat());
    assert!(asked(&[]).contains("there is no such build file"));
    let step = asked(&["--done", "paint"]);
    assert!(
        step.contains("has no such step") && step.contains("name one of bearings, rod-caps,"),
        "{step}"
    );
    let reading = asked(&["--done", "tdc-stop", "c=2"]);
    assert!(reading.contains("name one of a, b"), "{reading}");
    let far = asked(&["--done", "crank-turns", "float=25"]);
    assert!(
        far.contains("float is 25 mm; 0.01 mm to 1.5 mm is plausible"),
        "{far}"
    );
    assert!(asked(&["--done", "crank-turns", "float=x"]).contains("it is no length"));
    assert!(asked(&["--undo", "bearings"]).contains("there is no such build file"));
    assert!(!path.exists());
}

#[test]
fn a_build_file_broken_in_one_place_says_what_and_where() {
    let engine = scene_engine("flat_four");
    let whole = r#"(format: 1, engine: "Flat four", way: NewBuild, stage: CoverOff, without: [Lamp],
        done: [(step: "tdc-stop", at: 0.0, on: "2026-11-26", readings: {"a": 21.0}, by_hand: true)],
        seen: (format: 1, sightings: [(crank: 0.0, compression_felt: [1])]), notes: "cold")"#;
    let read = Progress::read_of(whole, &engine);
    assert_eq!(read.findings, []);
    let progress = read.progress.expect("whole");
    let again = Progress::read(&progress.write().expect("written"));
    assert_eq!(again.as_ref(), Ok(&progress));
    for (from, to, name, place, fix) in [
        (
            "format: 1, engine",
            "format: 3, engine",
            "OutOfRange",
            "format",
            "begin the job again",
        ),
        (
            "2026-11-26",
            "26.11.2026",
            "NotADay",
            "done[0].on",
            "as in 2026-11-26",
        ),
        (
            "2026-11-26",
            "2026-02-30",
            "NotADay",
            "done[0].on",
            "as in 2026-11-26",
        ),
        (
            "21.0",
            "2100.0",
            "OutOfRange",
            "done[0].readings",
            "measure again",
        ),
        (
            "\"a\"",
            "\"c\"",
            "NoSuchReading",
            "done[0].readings",
            "name one of a, b",
        ),
        (
            "at: 0.0",
            "at: NaN",
            "NotANumber",
            "done[0].at",
            "do it again",
        ),
        (
            "crank: 0.0",
            "crank: 900.0",
            "OutOfRange",
            "seen.sightings[0].crank",
            "that is 180°",
        ),
        ("NewBuild", "Newbuild", "UnknownWord", "", "`NewBuild`"),
        ("notes", "note", "UnknownField", "", "notes"),
    ] {
        assert!(whole.contains(from), "{from}");
        let read = Progress::read_of(&whole.replacen(from, to, 1), &engine);
        assert!(read.progress.is_none(), "{to}");
        let found = &read.findings[0];
        assert_eq!(found.name, name, "{to}");
        assert!(
            found.place == place || place.is_empty(),
            "{to}: {}",
            found.place
        );
        assert!(found.fix.contains(fix), "{to}: {}", found.fix);
        assert!(found.span.is_some(), "{to} points nowhere");
    }
    // What the description may have had before it was changed is told, and kept.
    for (from, to, name) in [
        ("Flat four", "Round four", "AnotherEngine"),
        ("tdc-stop\"", "tdc-top\"", "NoSuchStep"),
    ] {
        let text = whole
            .replacen("readings: {\"a\": 21.0}, ", "", 1)
            .replacen(from, to, 1);
        let read = Progress::read_of(&text, &engine);
        assert!(read.progress.is_some(), "{to}");
        assert_eq!(read.findings[0].name, name, "{to}");
    }
}

/// Measurements of the flat four, its events at the lift at which they are quoted.
fn measured(folder: &Path, readings: &str) -> (String, String) {
    let engine = folder.join("four.ron");
    let text = scenes::find("flat_four").expect("a scene").text;
    fs::write(
        &engine,
        text.replacen("quoted_at: 0.0", "quoted_at: 1.0", 1),
    )
    .expect("written");
    let build = folder.join("four.build.ron");
    let done = format!("(format: 1, engine: \"Flat four\", done: [{readings}])");
    fs::write(&build, done).expect("written");
    let path = |path: &Path| path.to_str().expect("a path").to_owned();
    (path(&engine), path(&build))
}

#[test]
fn what_was_measured_is_taken_over_into_the_description_and_the_file_itself_only_where_it_is_named()
{
    let folder = tempfile::tempdir().expect("a folder");
    let (engine, build) = measured(
        folder.path(),
        r#"(step: "cam-end-play", at: 0.0, readings: {"backlash": 0.06}),
           (step: "clearance-drop", at: 0.0, readings: {"intake-drop": 4.2, "exhaust-drop": 4.6}),
           (step: "cam-degreed", at: 0.0, readings: {"lift": 1.0, "intake-opens": -9.0, "intake-closes": 229.0}),
           (step: "tdc-stop", at: 0.0, readings: {"a": 21.0, "b": -15.0})"#,
    );
    let before = fs::read_to_string(&engine).expect("read");
    let words = ["job", &engine, "--build", &build, "--take-over"];
    let over = as_json(&[&words[..], &["--json"]].concat());
    let changes: Vec<(&str, Value, f64)> = over["changes"]
        .as_array()
        .expect("changes")
        .iter()
        .map(|change| {
            let path = change["path"].as_str().expect("a path");
            (
                path,
                change["before"].clone(),
                change["after"].as_f64().expect("a number"),
            )
        })
        .collect();
    assert_eq!(
        changes,
        [
            ("cam_drive.backlash", 0.04.into(), 0.06),
            ("clearance.intake_drop", Value::Null, 4.2),
            ("clearance.exhaust_drop", Value::Null, 4.6),
            // 9° before TDC, and 229° after it is 49° after BDC; the card had 10° and 48°.
            ("valves.intake.opens_btdc", 10.0.into(), 9.0),
            ("valves.intake.closes_abdc", 48.0.into(), 49.0),
        ]
    );
    let text = String::from_utf8(done(&words)).expect("text");
    for wanted in [
        "backlash: 0.06",
        "intake_drop: 4.2",
        "opens_btdc: 9.0, closes_abdc: 49.0",
    ] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    assert_eq!(fs::read_to_string(&engine).expect("read"), before);
    assert!(refused(&[&words[..], &["-o", &build]].concat()).contains("is there already"));
    done(&[&words[..], &["-o", &engine]].concat());
    assert_eq!(fs::read_to_string(&engine).expect("read"), text);
}

#[test]
fn a_camshaft_that_stands_wrong_is_not_taken_over_as_a_property_of_the_engine() {
    let folder = tempfile::tempdir().expect("a folder");
    // A tooth of 60 is 12° of crank.
    let (engine, build) = measured(
        folder.path(),
        r#"(step: "cam-degreed", at: 0.0, readings: {"lift": 1.0, "intake-opens": -22.0, "intake-closes": 216.0})"#,
    );
    let over = as_json(&["job", &engine, "--build", &build, "--take-over", "--json"]);
    assert_eq!(over["changes"], serde_json::json!([]));
    let why = over["not_taken"][0].as_str().expect("why");
    assert!(why.contains("does not stand right"), "{why}");
}

#[test]
fn the_steps_of_a_stage_can_be_asked_for_alone() {
    let keys = |stage: &str| -> Vec<String> {
        let job = as_json(&["job", "flat_four", "--stage", stage, "--json"]);
        let steps = job["steps"].as_array().expect("steps").iter();
        steps
            .map(|step| step["key"].as_str().expect("a key").to_owned())
            .collect()
    };
    assert_eq!(
        keys("case-open").last().map(String::as_str),
        Some("case-closed")
    );
    assert!(keys("fired").contains(&"spark-set".to_owned()));
    assert!(!keys("fired").contains(&"marks-meet".to_owned()));
}

#[test]
fn what_is_measured_and_is_not_right_is_not_ticked() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = folder.path().join("flat_four.build.ron");
    let build = build.to_str().expect("a path");
    let done = |words: &[&str]| {
        let arguments = [&["job", "flat_four", "--build", build, "--done"], words].concat();
        dotwise(&arguments)
    };
    for wrong in [
        &["clearance-clay", "intake-clay=0"][..],
        // The flat four's rotor points at 64° at No. 1's firing TDC; this is half a turn away.
        &["body-clamped", "rotor=244"],
        &["spark-set", "spark=20"],
    ] {
        let answer = done(wrong);
        assert_eq!(answer.status.code(), Some(2), "{wrong:?}");
        let says = String::from_utf8(answer.stderr).expect("text");
        assert!(says.contains("not done"), "{says}");
        assert!(!Path::new(build).exists(), "nothing was written");
    }
    assert_eq!(done(&["body-clamped", "rotor=62"]).status.code(), Some(0));
    // Little room is for the builder and the maker's manual to judge.
    assert_eq!(
        done(&["clearance-clay", "intake-clay=1.2"]).status.code(),
        Some(0)
    );
}

#[test]
fn steps_done_before_their_turn_and_taken_back_after_it_are_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = folder.path().join("flat_four.build.ron");
    let build = build.to_str().expect("a path");
    let says = |words: &[&str]| {
        let arguments = [&["job", "flat_four", "--build", build], words].concat();
        let text = String::from_utf8(done(&arguments)).expect("text");
        unfolded(&text)
    };
    let early = says(&["--done", "case-closed"]);
    assert!(
        early.contains("Not done, and they come before it: bearings, "),
        "{early}"
    );
    assert!(early.contains("marks-meet"), "{early}");
    for key in ["bearings", "rod-caps"] {
        says(&["--done", key]);
    }
    let back = says(&["--undo", "bearings"]);
    assert!(
        back.contains("still ticked: rod-caps, case-closed"),
        "{back}"
    );
}

#[test]
fn the_closing_record_has_what_was_measured() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| path_in(&folder, name);
    let (build, record) = (path("flat_four.build.ron"), path("record.svg"));
    done(&[
        "job",
        "flat_four",
        "--build",
        &build,
        "--done",
        "tdc-stop",
        "a=21",
        "b=-15",
    ]);
    done(&["prove", "flat_four", "--build", &build, "-o", &record]);
    let svg = fs::read_to_string(&record).expect("read");
    assert!(svg.contains("a 21°, b −15°"), "{svg}");
    assert!(
        svg.contains("True TDC is where the wheel reads 3°"),
        "{svg}"
    );
}

#[test]
fn an_engine_opened_at_its_front_alone_has_no_cam_drive_to_set_in_a_case_that_stayed_closed() {
    assert!(
        job("flat_four", Way::FrontOpened)
            .step("marks-meet")
            .is_none()
    );
    assert!(
        job("bench_four", Way::FrontOpened)
            .step("marks-meet")
            .is_some()
    );
}

#[test]
fn a_camshaft_over_the_valves_goes_in_when_the_head_is_on_whatever_the_case_is() {
    for (scene, from, to, before) in [
        ("twin_cam_four", "", "", "heads-on"),
        // A split case is closed before the heads go on.
        (
            "flat_four",
            "quoted_at",
            "gear: Overhead, quoted_at",
            "case-closed",
        ),
    ] {
        let job = job_of(scene, from, to);
        let place = |key: &str| {
            let at = job.steps.iter().position(|step| step.key == key);
            at.unwrap_or_else(|| panic!("{scene} has {key}"))
        };
        assert!(place(before) <= place("heads-on"), "{scene}");
        assert!(place("heads-on") < place("cam-in"), "{scene}");
        assert!(job.steps.is_sorted_by_key(|step| step.stage), "{scene}");
    }
    let low = job("flat_four", Way::NewBuild);
    let place = |key: &str| low.steps.iter().position(|step| step.key == key);
    assert!(place("cam-in") < place("case-closed") && place("case-closed") < place("heads-on"));
}

#[test]
fn a_step_ticked_again_with_nothing_else_measured_is_written_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = folder.path().join("flat_four.build.ron");
    let build = build.to_str().expect("a path");
    let tick = |words: &[&str]| {
        let arguments = [&["job", "flat_four", "--build", build, "--done"], words].concat();
        done(&arguments);
        let text = fs::read_to_string(build).expect("read");
        text.matches("tdc-stop").count()
    };
    assert_eq!(tick(&["tdc-stop", "a=21", "b=-15"]), 1);
    assert_eq!(tick(&["tdc-stop", "a=21", "b=-15"]), 1);
    assert_eq!(
        tick(&["tdc-stop", "a=22", "b=-15"]),
        2,
        "the first is kept as undone"
    );
}

#[test]
fn no_step_asks_for_what_cannot_be_seen_when_it_comes() {
    let mut shut_in = 0;
    for scene in &scenes::SCENES {
        let engine = scene.engine();
        let marks = engine.written().marks.iter();
        let dots = marks.filter(|mark| mark.on.camshaft().is_some());
        let dots: Vec<String> = dots.map(|mark| mark.name.clone()).collect();
        for way in Way::ALL {
            let job = job(scene.name, way);
            let closed = job.steps.iter().position(|step| step.key == "case-closed");
            if !engine.written().cam_drive_lies_in_the_case() {
                continue;
            }
            shut_in += 1;
            // Where the case is not opened, what lies in it is not seen at all.
            let open_till = closed.unwrap_or(0);
            for step in job.steps.iter().skip(open_till) {
                let said = format!("{} {}", step.action, step.must_be_seen.join(" "));
                for dot in &dots {
                    let named = said.to_lowercase().contains(&dot.to_lowercase());
                    assert!(!named, "{} {way:?}: {}: {said}", scene.name, step.key);
                }
                assert!(
                    !said.contains("marks come back") && !said.contains("marks were seen"),
                    "{} {way:?}: {}: {said}",
                    scene.name,
                    step.key
                );
            }
        }
    }
    assert!(shut_in >= 6, "{shut_in}");
}

#[test]
fn at_a_stage_the_dead_centres_are_told_by_what_can_be_seen_then() {
    let told = |stage: Stage| {
        let phasing = Phasing::as_drawn(&scene_engine("bench_four"));
        let job = Job::at(&phasing, Way::NewBuild, stage);
        let seen = ["overlap-tdc", "firing-tdc"].map(|key| {
            let step = job.step(key).expect("the step");
            step.must_be_seen.join(" ")
        });
        seen.join(" ")
    };
    assert!(told(Stage::CoverOff).contains("The cam gear dot (front cover off)"));
    let closed = told(Stage::CoverOn);
    assert!(
        !closed.contains("cover off") && !closed.contains("gear dot"),
        "{closed}"
    );
    assert!(closed.contains("No. 1's own valves"), "{closed}");
    // The command asks for the stage it is given.
    let text = unfolded(
        &String::from_utf8(done(&["job", "bench_four", "--stage", "cover-on"])).expect("text"),
    );
    assert!(
        text.contains("Turn on to No. 1 firing TDC") && !text.contains("(front cover off)"),
        "{text}"
    );
    let text = unfolded(&String::from_utf8(done(&["job", "bench_four"])).expect("text"));
    assert!(text.contains("(front cover off)"), "{text}");
}

#[test]
fn a_step_that_says_where_its_fasteners_lie_is_tightened_by_their_numbers_pass_by_pass() {
    let bench = job("bench_four", Way::NewBuild);
    assert!(
        bench
            .step("own-step-distributor-clamp")
            .is_some_and(|step| {
                let tightening = step.tightening.as_ref().expect("a torque");
                tightening.in_passes().is_empty() && tightening.sequence.is_empty()
            })
    );
    let job = job_of(
        "bench_four",
        "steps: [",
        "steps: [(do: \"Head bolts\", torque: PoundFeet(60.0), passes: [20.0, 40.0, 60.0], angle: 90.0, rows: [[3, 1, 0], [0, 2, 4]]),",
    );
    let step = job.step("own-step-head-bolts").expect("the step");
    let tightening = step.tightening.as_ref().expect("a torque");
    assert_eq!(tightening.sequence, [1, 2, 3, 4]);
    // 1 lbf·ft is 1.355 817 948 N·m, exact by definition, and 12 lbf·in.
    assert_eq!(
        tightening.in_passes(),
        [
            "20 lbf·ft (27.1 N·m, 240 lbf·in)",
            "40 lbf·ft (54.2 N·m, 480 lbf·in)",
            "60 lbf·ft (81.3 N·m, 720 lbf·in)",
            "each 90° more",
        ]
    );
}
