//! Chains and belts as they are set: links counted between the marks, the tight and the slack side,
//! and slack as play.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use approx::assert_abs_diff_eq;
use common::{dotwise, engine, scene_engine, text_of, unfolded};
use dotwise::angle::{CrankAngle, Direction};
use dotwise::description::{CountedOn, Description, DriveKind};
use dotwise::drawing::View as _;
use dotwise::drawing::gear_face::GearFace;
use dotwise::engine::{Assembly, Engine, Subject, read};
use dotwise::geometry::Layout;
use dotwise::geometry::layout::{WheelRole, clock_of};
use dotwise::geometry::pose::Pose;
use dotwise::laws::gear_train;
use dotwise::phasing::{Card, Phasing};
use dotwise::procedures::job::Job;
use dotwise::source;
use glam::DVec2;
use serde_json::Value;

/// The three with its chain, set by counting links.
fn counted(links: u32, counted_on: Option<CountedOn>, rotation: Direction) -> Description {
    let mut description = scene_engine("three").written().clone();
    let drive = &mut description.cam_drive;
    (drive.links_between_marks, drive.counted_on) = (Some(links), counted_on);
    description.crankshaft.rotation = Some(rotation);
    // Straight up over the crank, away from it.
    description.marks[1].at = 0.0;
    description
}

#[test]
fn the_tight_run_is_the_one_that_moves_towards_the_crank() {
    for rotation in [Direction::Clockwise, Direction::CounterClockwise] {
        let engine = engine(counted(30, None, rotation));
        let layout = Layout::of(&engine);
        let place = layout.loops.first().expect("a chain");
        let [at_crank, at_cam] = place.run(true);
        // The rollers near the run's middle, before and after a little more crank.
        let phasing = Phasing::as_drawn(&engine);
        let rollers = |turned: f64| {
            let crank = Pose::at(&phasing, turned).wheel_deg(&layout, 0, turned, &phasing);
            place.path.rollers(crank)
        };
        let middle = at_crank.midpoint(at_cam);
        let (before, after) = (rollers(0.0), rollers(1.0));
        let near = (0..before.len())
            .min_by(|&one, &other| {
                let off = |index: usize| before[index].0.distance(middle);
                off(one).total_cmp(&off(other))
            })
            .expect("a roller");
        let moved = after[near].0 - before[near].0;
        assert!(moved.dot(at_crank - at_cam) > 0.0, "{rotation:?}");
        // And the tensioner lies outside the other run, clear of every roller.
        let tensioner = place.tensioner();
        let radius = place.path.driver.roller_radius_mm();
        for corner in &tensioner.blade {
            for (roller, _) in &before {
                assert!(corner.distance(*roller) > radius, "{corner} in {roller}");
            }
        }
        let side = |point: DVec2| point.perp_dot(place.path.driven_centre()).signum();
        assert_ne!(side(middle), side(tensioner.pivot));
    }
}

/// Pins between two points of the chain on one side of the line of centres, counted one by one.
fn pins_between(layout: &Layout, phasing: &Phasing, turned: f64, side: f64) -> f64 {
    let place = layout.loops.first().expect("a chain");
    let pose = Pose::at(phasing, turned);
    // Where the wheels' dots stand, as places along the loop's own line.
    let line = place.path.path(64);
    let dot = |index: usize| {
        let wheel = &layout.wheels[index];
        let tooth = f64::from(wheel.dots[0]) * 360.0 / f64::from(wheel.teeth);
        let at = (pose.wheel_deg(layout, index, turned, phasing) + tooth).to_radians();
        wheel.centre + DVec2::new(at.sin(), at.cos()) * wheel.pitch_radius_mm
    };
    let on_line = |point: DVec2| {
        (0..line.len())
            .min_by(|&one, &other| {
                line[one]
                    .distance(point)
                    .total_cmp(&line[other].distance(point))
            })
            .expect("a point")
    };
    let (crank, cam) = (on_line(dot(0)), on_line(dot(1)));
    // Clockwise round the loop from the crank's dot is the anticlockwise side of the line of
    // centres, up to the camshaft.
    let on = if side > 0.0 {
        (crank + line.len() - cam) % line.len()
    } else {
        (cam + line.len() - crank) % line.len()
    };
    on as f64 / 64.0
}

#[test]
fn the_model_has_as_many_links_between_its_dots_as_are_stated() {
    for rotation in [Direction::Clockwise, Direction::CounterClockwise] {
        for counted_on in [None, Some(CountedOn::SlackSide)] {
            for links in [38, 44, 51, 60] {
                let engine = engine(counted(links, counted_on, rotation));
                let (layout, phasing) = (Layout::of(&engine), Phasing::as_drawn(&engine));
                let tight = rotation.sign();
                let side = if counted_on.is_some() { -tight } else { tight };
                let pins = pins_between(&layout, &phasing, 0.0, side);
                assert!(
                    (pins - f64::from(links)).abs() < 0.1,
                    "{rotation:?} {counted_on:?}: {pins} for {links}"
                );
                // A camshaft's wheel put in a tooth behind has a link more there, as is said.
                let behind = Assembly {
                    cam_teeth: -1,
                    ..Assembly::default()
                };
                let more = Phasing::as_built(&engine, &behind);
                let more = pins_between(&layout, &more, 0.0, side) - f64::from(links);
                let wanted = if counted_on.is_some() { -1.0 } else { 1.0 };
                assert!((more - wanted).abs() < 0.1, "{more}");
                // The camshaft's dot stands where its mark is described, to half a tooth.
                let wheel = &layout.wheels[1];
                assert_eq!(wheel.role, WheelRole::Cam(0));
                let dot = wheel.dot_deg().expect("a dot");
                let off = common::apart(dot, 0.0);
                assert!(off <= 180.0 / f64::from(wheel.teeth) + 1e-6, "{off}");
            }
        }
    }
}

#[test]
fn wheels_are_as_large_as_the_pitch_makes_them() {
    let mut description = counted(31, None, Direction::Clockwise);
    description.cam_drive.pitch = Some(9.525);
    let layout = Layout::of(&engine(description));
    // 38 teeth on 9.525 mm: 115.34 mm of pitch diameter (ANSI tables, recomputed).
    assert_abs_diff_eq!(
        2.0 * layout.wheels[1].pitch_radius_mm,
        115.34,
        epsilon = 0.01
    );
    let [crank, cam] = [0, 1].map(|index| layout.wheels[index].centre);
    assert!(clock_of(cam - crank).abs() < 1e-6);
}

#[test]
fn slack_is_play_at_the_pitch_circle_and_its_worst_is_told_in_cam_and_crank_degrees() {
    // Worked by hand: 1 mm at a pitch radius of 57.67 mm is 0.9935° of cam, 1.987° of crank.
    let mut description = counted(31, None, Direction::Clockwise);
    (description.cam_drive.pitch, description.cam_drive.backlash) = (Some(9.525), Some(1.0));
    let engine = engine(description.clone());
    let play = gear_train::cam_play(&engine.metric().cam_drive).expect("play");
    assert_abs_diff_eq!(play.degrees(), 0.9935, epsilon = 2e-4);
    let card = Card::of(&Phasing::as_drawn(&engine));
    assert_abs_diff_eq!(card.slack_cam_deg.expect("slack"), 0.9935, epsilon = 2e-4);
    assert_abs_diff_eq!(
        card.backlash_crank_deg.expect("slack"),
        1.987,
        epsilon = 4e-4
    );
    // Without the pitch the wheels' size is not known, and the answer says that it did not reckon.
    description.cam_drive.pitch = None;
    let engine = common::engine(description);
    assert!(gear_train::cam_play(&engine.metric().cam_drive).is_none());
    let rests_on = engine.rests_on(&[Subject::Play]);
    assert!(
        rests_on.iter().any(|line| line.contains("cam_drive.pitch")),
        "{rests_on:?}"
    );
}

fn found(description: Description) -> Vec<String> {
    let (_, findings) = Engine::new(description).expect("an engine");
    findings
        .into_iter()
        .map(|finding| finding.name.to_owned())
        .collect()
}

#[test]
fn a_count_that_no_chain_on_these_wheels_can_have_is_found_and_one_that_can_is_not() {
    let said = |links: u32, pitch: Option<f64>| {
        let mut description = counted(links, None, Direction::Clockwise);
        description.cam_drive.pitch = pitch;
        description.valves.gear = Some(dotwise::description::ValveGear::Overhead);
        found(description).contains(&"LinksCannotBe".to_owned())
    };
    assert!(!said(31, None) && !said(31, Some(9.525)));
    assert!(said(12, None) && said(200, None));
    // With the pitch known, the camshaft's place over the valves narrows it: on a chain of 6 mm these
    // few links would put it among the pistons.
    assert!(!said(24, None) && said(24, Some(6.0)));
}

#[test]
fn idlers_on_a_chain_turn_nothing_about() {
    let mut description = counted(31, None, Direction::Clockwise);
    let before = Phasing::as_drawn(&engine(description.clone())).cam_direction();
    description.cam_drive.idler_teeth = vec![17];
    assert_eq!(
        Phasing::as_drawn(&engine(description)).cam_direction(),
        before
    );
}

#[test]
fn every_answer_says_how_many_links_and_what_one_more_is_worth() {
    let description = counted(31, None, Direction::Clockwise);
    let file = tempfile::NamedTempFile::with_suffix(".ron").expect("a file");
    std::fs::write(file.path(), source::write(&description).expect("written")).expect("written");
    let path = file.path().to_str().expect("a path");
    for command in ["check", "dropin"] {
        let out = dotwise(&[command, path]);
        let text = String::from_utf8_lossy(&out.stdout).replace("\n", " ");
        let text = unfolded(&text);
        assert!(text.contains("31 links on the tight side"), "{text}");
        assert!(
            text.contains("one more is a tooth behind, one fewer a tooth ahead, 18.95° of crank"),
            "{text}"
        );
        assert!(
            text.contains("`cam_drive.counted_on` is not stated"),
            "{text}"
        );
    }
    let check: Value =
        serde_json::from_slice(&dotwise(&["check", path, "--json"]).stdout).expect("JSON");
    let links = &check["summary"]["links_between_marks"];
    assert_eq!(
        (&links["links"], &links["on_tight_side"]),
        (&31.into(), &true.into())
    );
    let phasing = Phasing::as_drawn(&engine(description));
    let job = Job::of(&phasing);
    let first = job.step("marks-meet").expect("a step");
    assert!(first.must_be_seen[0].starts_with("31 links on the tight side, from the crank"));
    let face = text_of(&GearFace::new(&phasing).at(&phasing.at(CrankAngle::new(0.0))));
    assert!(
        face.contains("tight") && face.contains("slack, tensioner"),
        "{face}"
    );
}

#[test]
fn written_and_read_again_it_is_the_same_drive() {
    for counted_on in [None, Some(CountedOn::TightSide), Some(CountedOn::SlackSide)] {
        let mut description = counted(31, counted_on, Direction::Clockwise);
        description.cam_drive.pitch = Some(9.525);
        let text = source::write(&description).expect("written");
        assert_eq!(read::engine(&text).description, Some(description));
    }
    assert_eq!(
        scene_engine("three").written().cam_drive.kind,
        DriveKind::Chain
    );
}
