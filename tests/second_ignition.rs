//! Two plugs a cylinder: each ignition is asked about by itself, as though it were the only one.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs;
use std::sync::Arc;

use common::{done, dotwise};
use dotwise::description::{Description, SecondIgnition};
use dotwise::engine::{Engine, Ignitions, read, scenes};
use serde_json::Value;

const SCENE: &str = "two_plug_four";

fn described() -> Description {
    let scene = scenes::find(SCENE).expect("a scene").engine();
    scene.written().clone()
}

/// The scene's second ignition as the one ignition of an engine of the same name.
fn second_alone() -> Description {
    let mut alone = described().by_second_ignition().expect("two ignitions");
    alone.name += ", second ignition";
    alone
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_slice(&done(arguments)).expect("JSON")
}

#[test]
fn asked_about_the_second_ignition_every_command_answers_as_of_an_engine_that_has_it_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let alone = folder.path().join("alone.ron");
    let text = dotwise::source::write(&second_alone()).expect("written");
    fs::write(&alone, text).expect("written");
    let alone = alone.to_str().expect("a path");
    let commands: [&[&str]; 5] = [
        &["at", "0", "12.5", "359", "700"],
        &["dropin"],
        &["lash"],
        &["clearance"],
        &["prove"],
    ];
    for words in commands {
        let (command, rest) = words.split_first().expect("a command");
        let [mut of_two, mut of_one] = [SCENE, alone].map(|engine| {
            let mut arguments = vec![*command, engine];
            arguments.extend(rest);
            arguments.push("--json");
            if engine == SCENE {
                arguments.push("--second-ignition");
            }
            let answer = dotwise(&arguments);
            serde_json::from_slice::<Value>(&answer.stdout).expect("JSON")
        });
        // What an answer rests on says which of two it is about, and nothing else differs.
        for answer in [&mut of_two, &mut of_one] {
            without_basis(answer);
        }
        assert_eq!(of_two, of_one, "{command}");
    }
}

/// Takes `rests_on` out, wherever it stands.
fn without_basis(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(without_basis),
        Value::Object(fields) => {
            fields.remove("rests_on");
            fields.values_mut().for_each(without_basis);
        }
        _ => {}
    }
}

#[test]
fn a_reading_says_what_both_ignitions_do_next() {
    let first = &json(&["at", SCENE, "340", "--json"])[0];
    let second = &json(&["at", SCENE, "340", "--second-ignition", "--json"])[0];
    assert_eq!(first["second_ignition"]["next_spark"], second["next_spark"]);
    assert_eq!(first["second_ignition"]["rotor"], second["rotor"]);
    assert_eq!(second["second_ignition"], Value::Null);
    // No. 4 fires at 360°: 10° of static advance by the one, 8° by the other.
    assert_eq!(first["next_spark"]["in_deg"], 10.0);
    assert_eq!(second["next_spark"]["in_deg"], 12.0);
    let text = String::from_utf8(done(&["at", SCENE, "340"])).expect("text");
    assert!(
        text.contains("Second ignition's next spark: No. 4, in 12°"),
        "{text}"
    );
}

#[test]
fn each_answer_says_which_of_the_two_it_is_about() {
    for (flag, says) in [
        (None, "this is about the first"),
        (Some("--second-ignition"), "this is about the second"),
    ] {
        let mut arguments = vec!["dropin", SCENE];
        arguments.extend(flag);
        let text = String::from_utf8(done(&arguments)).expect("text");
        assert!(text.replace("\n", " ").contains(says), "{text}");
    }
    let valves_only = String::from_utf8(done(&["clearance", SCENE])).expect("text");
    assert!(!valves_only.contains("two ignitions"), "{valves_only}");
}

#[test]
fn a_camshaft_out_takes_both_ignitions_along() {
    let drawn = json(&["at", SCENE, "340", "--json"]);
    let built = json(&["at", SCENE, "340", "--cam-teeth", "-1", "--json"]);
    let spark =
        |answer: &Value, path: &str| answer[0].pointer(path).and_then(Value::as_f64).expect(path);
    // One tooth of 52 is 720/52 degrees of crank.
    for path in ["/next_spark/in_deg", "/second_ignition/next_spark/in_deg"] {
        let later = spark(&built, path) - spark(&drawn, path);
        assert!((later - 720.0 / 52.0).abs() < 1e-6, "{path}: {later}");
    }
}

#[test]
fn what_is_wrong_with_a_second_ignition_is_found_at_its_own_place() {
    let text = scenes::find(SCENE).expect("a scene").text;
    let second = text.find("second_ignition").expect("a second");
    let wrong = |from: &str, to: &str| {
        let (before, after) = text.split_at(second);
        let broken = format!("{before}{}", after.replacen(from, to, 1));
        assert_ne!(broken, text, "{from}");
        read::engine(&broken)
    };
    let cases = [
        (
            "driven_teeth: 14",
            "driven_teeth: 15",
            "DistributorDriveNotTwoToOne",
            "second_ignition.distributor",
        ),
        (
            "number_one_at: 310.0",
            "number_one_at: 3100.0",
            "OutOfRange",
            "second_ignition.distributor.number_one_at",
        ),
        (
            "static_advance: 8.0",
            "static_advance: 8.0, coils: [[]]",
            "CoilOfNoneOrMany",
            "second_ignition.ignition.coils[0]",
        ),
        (
            "offset: 4.0",
            "offset: 40.0",
            "RotorMissesTower",
            "second_ignition.distributor.offset",
        ),
        (
            "rpm: 3000",
            "rpm: 300",
            "CurveRunsBack",
            "second_ignition.ignition.centrifugal[1]",
        ),
        ("driven_by", "drivn_by", "UnknownField", ""),
    ];
    for (from, to, name, place) in cases {
        let read = wrong(from, to);
        let found = read.findings.iter().find(|finding| finding.name == name);
        let found = found.unwrap_or_else(|| panic!("{name}: {:?}", read.findings));
        assert!(found.place.starts_with(place), "{name}: {}", found.place);
        let span = found.span.clone().expect("a place in the text");
        assert!(
            span.start >= second,
            "{name} points before the second ignition"
        );
    }
}

#[test]
fn an_engine_with_one_ignition_has_no_second_to_ask_about() {
    let answer = dotwise(&["at", "bench_four", "0", "--second-ignition"]);
    assert_eq!(answer.status.code(), Some(2));
    let says = String::from_utf8(answer.stderr).expect("text");
    assert!(says.contains("the engine has one ignition"), "{says}");

    let engine = scenes::find(SCENE).expect("a scene").engine();
    assert_eq!(engine.ignitions(), Ignitions::FirstOfTwo);
    let second = engine.by_second_ignition().expect("a second");
    assert_eq!(second.ignitions(), Ignitions::SecondOfTwo);
    assert_eq!(second.by_second_ignition(), None);
    // The file stays what the builder wrote, whichever is asked about.
    assert_eq!(second.written(), engine.written());
    assert_eq!(second.by_first_ignition(), Some(engine));
}

#[test]
fn two_sets_of_coils_are_two_ignitions_as_well() {
    let twin = scenes::find("wasted_spark_twin").expect("a scene").engine();
    let mut described = twin.written().clone();
    described.second_ignition = Some(SecondIgnition {
        distributor: None,
        ignition: described.ignition.clone(),
    });
    let (engine, _) = Engine::new(described).expect("an engine");
    let second: Arc<Engine> = engine.by_second_ignition().expect("a second");
    assert_eq!(second.coils(), engine.coils());
    assert!(!second.coils().is_empty());
}
