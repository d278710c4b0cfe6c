//! Marks on the flywheel: where they stand, where they are read, and what is said of them.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use approx::assert_abs_diff_eq;
use common::{dotwise, engine};
use dotwise::angle::{CrankAngle, Direction};
use dotwise::description::{Description, Mark, MarkOn};
use dotwise::drawing::View as _;
use dotwise::drawing::gear_face::GearFace;
use dotwise::engine::{Engine, Subject, read, scenes};
use dotwise::geometry::Layout;
use dotwise::geometry::layout::DistributorPlace;
use dotwise::phasing::Phasing;
use dotwise::source;
use serde_json::Value;

fn mark(on: MarkOn, name: &str, at: f64, pointer_at: Option<f64>) -> Mark {
    Mark {
        on,
        name: name.to_owned(),
        at,
        pointer_at,
    }
}

/// The bench four with these marks more.
fn bench_with(marks: &[Mark]) -> Description {
    let mut description = scenes::BENCH.engine().written().clone();
    description.marks.extend_from_slice(marks);
    description
}

#[test]
fn a_flywheels_mark_turns_with_the_crank_and_is_read_by_its_own_pointer() {
    // Worked by hand: seen from the front, a dot 20° short of the pointer in the way the crank turns
    // comes to it with 20° more of crank, and a turn later again.
    for (rotation, at) in [
        (Direction::Clockwise, 70.0),
        (Direction::CounterClockwise, 110.0),
    ] {
        let mut description = bench_with(&[mark(MarkOn::Flywheel, "F", at, Some(90.0))]);
        description.crankshaft.rotation = Some(rotation);
        let phasing = Phasing::as_drawn(&engine(description));
        for (crank, past) in [(0.0, -20.0), (20.0, 0.0), (50.0, 30.0), (380.0, 0.0)] {
            let reading = phasing.at(CrankAngle::new(crank));
            assert_abs_diff_eq!(
                phasing.past_pointer_deg(2, &reading).expect("a pointer"),
                past,
                epsilon = 1e-9
            );
        }
        let comes = phasing.at_pointer(2).expect("it comes there").degrees();
        assert_abs_diff_eq!(comes, 20.0, epsilon = 1e-9);
    }
}

#[test]
fn a_pointer_that_is_not_described_stands_at_the_flywheels_mark_and_the_answer_says_so() {
    let of = |pointer_at| {
        let marks = [mark(MarkOn::Flywheel, "rim dot", 180.0, pointer_at)];
        engine(bench_with(&marks))
    };
    let says = |engine: &Engine| {
        let on = engine.rests_on(&[Subject::Marks]);
        on.iter().any(|line| line.contains("pointer_at"))
    };
    let engine = of(None);
    let phasing = Phasing::as_drawn(&engine);
    let reading = phasing.at(CrankAngle::new(0.0));
    assert_eq!(phasing.past_pointer_deg(2, &reading), Some(0.0));
    assert!(says(&engine) && !says(&of(Some(180.0))) && !says(&scenes::BENCH.engine()));
    // The crank's and the camshaft's marks have no pointer until one is described.
    assert_eq!(phasing.past_pointer_deg(0, &reading), None);
    assert_eq!(phasing.past_pointer_deg(1, &reading), None);
}

#[test]
fn a_camshafts_mark_read_at_a_line_on_the_case_comes_to_it_once_in_two_turns() {
    let mut description = bench_with(&[]);
    // It turns anticlockwise at half speed: 90° of cam on to the line is 180° of crank.
    description.marks[1].pointer_at = Some(150.0);
    let phasing = Phasing::as_drawn(&engine(description));
    let comes = phasing.at_pointer(1).expect("it comes there").degrees();
    assert_abs_diff_eq!(comes, 180.0, epsilon = 1e-9);
}

fn file(description: &Description) -> tempfile::NamedTempFile {
    let file = tempfile::NamedTempFile::with_suffix(".ron").expect("a file");
    std::fs::write(file.path(), source::write(description).expect("written")).expect("written");
    file
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_slice(&dotwise(arguments).stdout).expect("JSON")
}

#[test]
fn every_answer_has_the_flywheels_mark_beside_the_pulleys() {
    let file = file(&bench_with(&[mark(
        MarkOn::Flywheel,
        "F",
        98.0,
        Some(90.0),
    )]));
    let path = file.path().to_str().expect("a path");
    let at = json(&["at", path, "352", "--json"]);
    let marks = at[0]["marks"].as_array().expect("marks");
    assert_eq!(marks[2]["clock_deg"], 90.0);
    assert_eq!(marks[2]["pointer_clock_deg"], 90.0);
    assert_eq!(marks[2]["past_pointer_deg"], 0.0);
    assert!(marks[0].get("past_pointer_deg").is_none());
    let check = json(&["check", path, "--json"]);
    assert_eq!(
        check["summary"]["pointer_marks"][0]["comes_there_at_deg"],
        352.0
    );
    let drop = json(&["dropin", path, "--json"]);
    let marks = drop["crank_marks"].as_array().expect("the crank's marks");
    assert_eq!(marks.len(), 2);
    assert_eq!(marks[1]["past_pointer_deg"], 8.0);
    let plain = json(&["dropin", "bench_four", "--json"]);
    assert!(plain.get("crank_marks").is_none());
    for command in ["check", "dropin"] {
        let out = dotwise(&[command, path]);
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        assert!(text.contains("pointer") && text.contains(" F"), "{text}");
    }
    let out = dotwise(&["table", path, "--csv", "--step", "90"]);
    let table = String::from_utf8_lossy(&out.stdout).into_owned();
    let (head, first) = table.split_once("\n").expect("rows");
    assert!(head.ends_with("F past_pointer_deg"), "{head}");
    assert!(
        first.lines().next().expect("a row").ends_with(",8"),
        "{first}"
    );
}

#[test]
fn written_and_read_again_it_is_the_same_mark() {
    for pointer_at in [None, Some(-30.0)] {
        let description = bench_with(&[mark(MarkOn::Flywheel, "F", 98.0, pointer_at)]);
        let text = source::write(&description).expect("written");
        assert_eq!(text.contains("pointer_at"), pointer_at.is_some());
        assert_eq!(read::engine(&text).description, Some(description));
    }
}

#[test]
fn a_flywheel_is_drawn_where_it_carries_a_mark_behind_all_that_turns_before_it() {
    assert!(Layout::of(&scenes::BENCH.engine()).flywheel.is_none());
    for scene in &scenes::SCENES {
        let mut description = scene.engine().written().clone();
        description
            .marks
            .push(mark(MarkOn::Flywheel, "rim dot", 180.0, None));
        let engine = engine(description);
        let layout = Layout::of(&engine);
        let flywheel = layout.flywheel.as_ref().expect("a flywheel");
        let front = flywheel.z_mm + flywheel.width_mm / 2.0;
        assert!(layout.cams.iter().all(|cam| cam.rear_z_mm > front));
        let mut ends = layout.distributor.iter().flat_map(DistributorPlace::ends);
        assert!(ends.all(|end| end.z > front), "{}", scene.name);
        assert_abs_diff_eq!(layout.rear_z_mm, flywheel.rear_z_mm());
        // The flat view says what the ring is, and names the mark.
        let phasing = Phasing::as_drawn(&engine);
        let face = GearFace::new(&phasing).at(&phasing.at(CrankAngle::new(0.0)));
        let words = common::text_of(&face);
        for word in ["rim dot", "flywheel, behind"] {
            assert!(words.contains(word), "{}: {words}", scene.name);
        }
    }
}
