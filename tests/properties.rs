//! What must hold of every engine, asked of engines made up by chance.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::sync::Arc;

use approx::assert_abs_diff_eq;
use clap::Parser as _;
use common::{apart, at, bench, engine, text_of, unfolded};
use dotwise::angle::{CrankAngle, CrankTurn, Direction};
use dotwise::command::{CommandLine, Terminal};
use dotwise::description::Description;
use dotwise::description::fields::{self, Unit};
use dotwise::description::{Bank, Clearance, DriveKind, DrivenBy, Exhaust, Intake, Throw};
use dotwise::drawing::cap::Cap;
use dotwise::drawing::degree_wheel::DegreeWheel;
use dotwise::drawing::gear_face::GearFace;
use dotwise::drawing::lift_curves::LiftCurves;
use dotwise::drawing::stroke_ribbon::StrokeRibbon;
use dotwise::drawing::{View, section};
use dotwise::engine::Assembly;
use dotwise::engine::{Engine, read, scenes};
use dotwise::laws::gear_train::CamTeeth;
use dotwise::output::{handout, svg};
use dotwise::phasing::{DeadCentre, Phasing};
use dotwise::source::Report;
use dotwise::words::Units;
use proptest::prelude::*;
use proptest::sample::{Index, select};

/// An order in which so many cylinders may fire, No. 1 first.
fn order(cylinders: usize) -> impl Strategy<Value = Vec<u32>> {
    Just((2..=cylinders as u32).collect::<Vec<_>>())
        .prop_shuffle()
        .prop_map(|rest| std::iter::once(1).chain(rest).collect())
}

/// An even-firing engine: its throws are laid out so that its banks and order come out even.
fn even_engine() -> impl Strategy<Value = Description> {
    let layout = (1_usize..=12).prop_flat_map(order);
    let body = (
        any::<bool>(),
        40.0..160.0_f64,
        1.3..3.0_f64,
        -0.1..0.1_f64,
        select(vec![0.0, 45.0, 60.0, 90.0, 180.0]),
    );
    let valves = (
        -20.0..60.0_f64,
        20.0..90.0_f64,
        30.0..90.0_f64,
        -20.0..50.0_f64,
        4.0..14.0_f64,
        0.0..0.3_f64,
    );
    let drive = (
        6_u32..60,
        select(vec![DriveKind::Gears, DriveKind::Chain, DriveKind::Belt]),
        proptest::option::of(6_u32..40),
    );
    let cap = (
        any::<bool>(),
        any::<bool>(),
        6_u32..30,
        -360.0..360.0_f64,
        -10.0..30.0_f64,
    );
    (layout, body, valves, drive, cap).prop_map(|(order, body, valves, drive, cap)| {
        let mut d = bench();
        let (clockwise, stroke, rod_ratio, offset_ratio, between) = body;
        let way = |clockwise| {
            if clockwise {
                Direction::Clockwise
            } else {
                Direction::CounterClockwise
            }
        };
        d.crankshaft.rotation = Some(way(clockwise));
        (d.crankshaft.stroke, d.rod_length, d.pin_offset) =
            (stroke, stroke * rod_ratio, Some(stroke * offset_ratio));
        let apart = 720.0 / order.len() as f64;
        let bank = |number: u32| {
            if number.is_multiple_of(2) {
                between
            } else {
                0.0
            }
        };
        d.crankshaft.throws = order
            .iter()
            .enumerate()
            .map(|(index, &number)| {
                let fires = apart * index as f64;
                Throw {
                    angle: (bank(number) - d.crankshaft.rotation().sign() * fires) % 360.0,
                    cylinders: vec![number],
                }
            })
            .collect();
        d.banks = order
            .iter()
            .map(|&number| Bank {
                angle: bank(number),
                cylinders: vec![number],
            })
            .collect();
        d.firing_order = order;
        d.valves.intake = Intake::angles(valves.0, valves.1, valves.4);
        d.valves.exhaust = Exhaust::angles(valves.2, valves.3, valves.4 * 0.9);
        d.valves.quoted_at = Some(valves.4 * valves.5);
        (
            d.cam_drive.crank_teeth,
            d.cam_drive.cam_teeth,
            d.cam_drive.kind,
        ) = (drive.0, 2 * drive.0, drive.1);
        d.cam_drive.idler_teeth = drive.2.into_iter().collect();
        let distributor = d.distributor.as_mut().expect("the bench engine has one");
        distributor.rotation = Some(way(cap.0));
        (
            distributor.driven_by,
            distributor.driver_teeth,
            distributor.driven_teeth,
        ) = if cap.1 {
            (DrivenBy::Camshaft, cap.2, cap.2)
        } else {
            (DrivenBy::Crankshaft, cap.2, 2 * cap.2)
        };
        (distributor.number_one_at, distributor.offset) = (cap.3, None);
        d.ignition.static_advance = cap.4;
        d
    })
}

/// An engine, even or one of the built-in, uneven ones among them.
fn any_engine() -> impl Strategy<Value = Arc<Engine>> {
    let scene = any::<Index>().prop_map(|index| index.get(&scenes::SCENES).engine());
    prop_oneof![2 => even_engine().prop_map(engine), 1 => scene]
}

/// A crank angle that binary fractions hold exactly, so that whole cycles can be added without
/// rounding.
fn exact_angle() -> impl Strategy<Value = f64> {
    (0_u32..720 * 64).prop_map(|sixty_fourths| f64::from(sixty_fourths) / 64.0)
}

/// Seen in a mirror: rotation and every clock angle the other way.
fn mirrored(description: &Description) -> Description {
    let mut d = description.clone();
    d.crankshaft.rotation = Some(d.crankshaft.rotation().reversed());
    d.crankshaft
        .throws
        .iter_mut()
        .for_each(|throw| throw.angle = -throw.angle);
    d.banks.iter_mut().for_each(|bank| bank.angle = -bank.angle);
    for mark in &mut d.marks {
        mark.at = -mark.at;
        mark.pointer_at = mark.pointer_at.map(|pointer| -pointer);
    }
    if let Some(distributor) = &mut d.distributor {
        distributor.rotation = Some(distributor.rotation().reversed());
        distributor.number_one_at = -distributor.number_one_at;
        distributor.turns_on_entry = distributor.turns_on_entry.map(|turn| -turn);
    }
    d
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn every_reading_comes_again_after_720_degrees(engine in any_engine(), degrees in exact_angle(), cycles in -4_i32..5) {
        let phasing = Phasing::as_drawn(&engine);
        prop_assert_eq!(at(&phasing, degrees), at(&phasing, degrees + 720.0 * f64::from(cycles)));
    }

    #[test]
    fn an_even_engine_fires_exactly_one_cylinder_each_720_over_n(description in even_engine()) {
        let phasing = Phasing::as_drawn(&engine(description));
        let count = phasing.cylinders().len();
        let interval = 720.0 / count as f64;
        let firing = |degrees: f64| {
            at(&phasing, degrees).cylinders.iter().filter(|c| c.dead_centre == Some(DeadCentre::FiringTdc)).map(|c| c.number).collect::<Vec<_>>()
        };
        for (index, &number) in phasing.engine().firing_order().iter().enumerate() {
            let fires = interval * index as f64;
            prop_assert_eq!(firing(fires), vec![number]);
            prop_assert_eq!(firing(fires + interval / 2.0), Vec::<u8>::new());
            let reading = at(&phasing, fires + 1.0);
            prop_assert!((reading.next_firing_tdc.after.degrees() - (interval - 1.0)).abs() < 1e-6);
        }
    }

    #[test]
    fn pistons_and_valves_stay_within_their_ways(engine in any_engine(), degrees in 0.0..720.0_f64, cam_teeth in -5_i32..6) {
        let phasing = Phasing::as_built(&engine, &Assembly { cam_teeth, ..Assembly::default() });
        let travel = phasing.slider().travel_mm();
        prop_assert!(travel >= engine.metric().crankshaft.stroke - 1e-9);
        for cylinder in &at(&phasing, degrees).cylinders {
            prop_assert!((-1e-9..=travel + 1e-9).contains(&cylinder.piston_drop_mm), "{}", cylinder.piston_drop_mm);
            for (valve, lobe) in [(cylinder.intake, phasing.intake()), (cylinder.exhaust, phasing.exhaust())] {
                prop_assert!((0.0..=lobe.full_lift_mm()).contains(&valve.lift_mm));
                // Open and the lift tell the same, but for rounding at the seat itself.
                if valve.lift_mm > 1e-12 || !valve.open {
                    prop_assert_eq!(valve.open, valve.lift_mm > 1e-12);
                }
            }
        }
    }

    #[test]
    fn cam_teeth_move_every_valve_by_so_much_crank_and_a_whole_wheel_is_none(
        engine in any_engine(), degrees in 0.0..720.0_f64, teeth in 1_u32..12,
    ) {
        let cam_teeth = engine.metric().cam_drive.cam_teeth;
        prop_assume!(teeth < cam_teeth);
        let built = |teeth: i32| {
            let all = CamTeeth::alike(engine.camshaft_count(), teeth);
            Phasing::as_built(&engine, &Assembly::default().with_cams(all))
        };
        let (drawn, ahead, round) = (built(0), built(teeth as i32), built(teeth as i32 - cam_teeth as i32));
        let turn = f64::from(teeth) * 720.0 / f64::from(cam_teeth);
        for (index, cylinder) in at(&ahead, degrees).cylinders.iter().enumerate() {
            let later = at(&drawn, degrees + turn).cylinders[index];
            prop_assert!((cylinder.intake.lift_mm - later.intake.lift_mm).abs() < 1e-6);
            prop_assert!((cylinder.exhaust.lift_mm - later.exhaust.lift_mm).abs() < 1e-6);
            prop_assert!((cylinder.intake.lift_mm - at(&round, degrees).cylinders[index].intake.lift_mm).abs() < 1e-6);
            // The pistons know nothing of the cam.
            prop_assert_eq!(cylinder.piston_drop_mm, at(&drawn, degrees).cylinders[index].piston_drop_mm);
        }
    }

    #[test]
    fn teeth_there_and_back_cancel(engine in any_engine(), teeth in -9_i32..10) {
        prop_assume!(engine.metric().distributor.is_some());
        let wheel = engine.metric().cam_drive.cam_teeth as i32;
        prop_assume!(teeth.abs() < wheel);
        let sparks = |assembly: &Assembly| {
            let phasing = Phasing::as_built(&engine, assembly);
            let btdc: Vec<f64> = phasing.cylinders().iter().map(|cylinder| phasing.spark_btdc_deg(cylinder)).collect();
            btdc
        };
        let drawn = sparks(&Assembly::default());
        let driven = f64::from(engine.metric().distributor.as_ref().expect("asked above").driven_teeth);
        // A drive so many teeth ahead, and the body turned back by as much.
        prop_assume!(f64::from(teeth.abs()) < driven);
        let body_turn_deg = -f64::from(teeth) * 360.0 / driven;
        for (one, other) in sparks(&Assembly { drive_teeth: teeth, body_turn_deg, ..Assembly::default() }).iter().zip(&drawn) {
            prop_assert!(apart(one / 2.0, other / 2.0) < 1e-6);
        }
        // The cam ahead by so many, and ahead by as many again the other way.
        let there = Phasing::as_built(&engine, &Assembly { cam_teeth: teeth, ..Assembly::default() });
        let back = Phasing::as_built(&engine, &Assembly { cam_teeth: -teeth, ..Assembly::default() });
        prop_assert!((there.cam_ahead(0) + back.cam_ahead(0)).degrees().abs() < 1e-9);
    }

    #[test]
    fn as_drawn_no_witness_of_firing_tdc_contradicts_another_or_itself(engine in any_engine()) {
        use dotwise::diagnosis::Revolution;
        use dotwise::procedures::dropin::dropin;

        let Some(found) = dropin(&Phasing::as_drawn(&engine)) else {
            return Ok(());
        };
        prop_assert!(found.agreed);
        for witness in &found.witnesses.here {
            if witness.tells {
                prop_assert_eq!(witness.revolution, Some(Revolution::Firing), "{:?}", witness);
                prop_assert!(witness.firing != witness.overlap, "{:?}", witness);
            }
            prop_assert!(witness.firing.starts_with(&witness.now), "{:?}", witness);
        }
    }

    #[test]
    fn an_engine_in_a_mirror_reads_the_same_strokes(engine in any_engine(), degrees in 0.0..720.0_f64) {
        let other = Engine::new(mirrored(engine.written())).expect("an engine in a mirror is one").0;
        prop_assert_eq!(engine.firing_angles(), other.firing_angles());
        let (one, other) = (at(&Phasing::as_drawn(&engine), degrees), at(&Phasing::as_drawn(&other), degrees));
        prop_assert_eq!(&one.cylinders, &other.cylinders);
        prop_assert_eq!(one.next_spark, other.next_spark);
        prop_assert_eq!(one.rotor.is_some(), other.rotor.is_some());
        if let (Some(one), Some(other)) = (one.rotor, other.rotor) {
            prop_assert!(apart(one.clock.degrees(), -other.clock.degrees()) < 1e-9);
            prop_assert!((one.past_deg.abs() - other.past_deg.abs()).abs() < 1e-9);
        }
        prop_assert_eq!(one.marks.len(), other.marks.len());
        for (one, other) in one.marks.iter().zip(&other.marks) {
            prop_assert!(apart(one.degrees(), -other.degrees()) < 1e-9);
        }
    }

    #[test]
    fn a_description_written_and_read_again_is_the_same_engine(description in even_engine()) {
        let text = dotwise::source::write(&description).expect("written");
        let again = read::engine(&text);
        prop_assert_eq!(again.description.as_ref(), Some(&description), "{}", text);
        prop_assert_eq!(again.engine.expect("an engine"), engine(description));
    }

    #[test]
    fn what_comes_next_does_come_and_the_rotor_is_never_nearer_to_another_tower(engine in any_engine(), degrees in 0.0..720.0_f64) {
        let phasing = Phasing::as_drawn(&engine);
        let reading = at(&phasing, degrees);
        for coming in [reading.next_firing_tdc.after, reading.next_spark.after] {
            prop_assert!(coming.degrees() > 0.0 && coming.degrees() <= 720.0);
        }
        let there = phasing.at(CrankAngle::new(degrees) + reading.next_firing_tdc.after);
        let cylinder = there.cylinder(reading.next_firing_tdc.cylinder).expect("a cylinder");
        prop_assert_eq!(cylinder.dead_centre, Some(DeadCentre::FiringTdc));
        if let Some(rotor) = reading.rotor {
            let towers = phasing.towers();
            let nearest = towers.iter().map(|tower| apart(rotor.clock.degrees(), tower.degrees())).fold(f64::MAX, f64::min);
            prop_assert!((rotor.past_deg.abs() - nearest).abs() < 1e-9);
            prop_assert!((apart(rotor.clock.degrees(), towers[rotor.tower_index].degrees()) - nearest).abs() < 1e-9);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_description_spoilt_anyhow_is_answered_and_never_a_panic(
        scene in any::<Index>(),
        spoils in prop::collection::vec((any::<Index>(), 0_usize..40, "[-a-zA-Z0-9_:;,.(){}\\[\\]\"'#/*\\\\ \n\t°é−😀]{0,6}"), 1..8),
    ) {
        let mut text = scene.get(&scenes::SCENES).text.to_owned();
        for (place, length, put) in spoils {
            let boundary = |mut at: usize, text: &str| {
                while !text.is_char_boundary(at) {
                    at -= 1;
                }
                at
            };
            let start = boundary(place.index(text.len() + 1), &text);
            let end = boundary((start + length).min(text.len()), &text).max(start);
            text.replace_range(start..end, &put);
        }
        let answer = read::engine(&text);
        prop_assert!(answer.engine.is_some() || answer.findings.iter().any(dotwise::source::Finding::is_error));
        let shown = Report { source: "spoilt.ron", text: &text, findings: &answer.findings }.to_terminal(true);
        prop_assert_eq!(answer.findings.is_empty(), shown.is_empty());
        for finding in &answer.findings {
            let span = finding.span.clone().unwrap_or(0..0);
            prop_assert!(text.get(span).is_some(), "{:?}", finding);
        }
    }

    #[test]
    fn any_text_at_all_is_answered_and_never_a_panic(text in "\\PC{0,200}") {
        let answer = read::engine(&text);
        prop_assert!(answer.engine.is_none());
        let _ = Report { source: "any.ron", text: &text, findings: &answer.findings }.to_terminal(false);
    }
}

/// Every optional part in a description, so that each of its numbers can be led to its ends, and
/// its lengths in these units.
fn complete(mut d: Description, units: Units) -> Description {
    let mm = d.units.millimetres();
    d.cam_drive.module.get_or_insert(2.0 / mm);
    d.cam_drive.backlash.get_or_insert(0.05 / mm);
    d.cam_drive.cam_at.get_or_insert(40.0);
    d.pulley_diameter.get_or_insert(160.0 / mm);
    d.clearance.get_or_insert(Clearance {
        intake_drop: 4.1 / mm,
        exhaust_drop: 4.6 / mm,
        valve_angle: Some(10.0),
        valves_touch_at: None,
    });
    if let Some(distributor) = &mut d.distributor {
        distributor.offset.get_or_insert(4.0);
        distributor.body_range.get_or_insert(15.0);
        distributor.tip_width.get_or_insert(9.0);
        distributor.tower_width.get_or_insert(6.0);
    }
    if d.units == units {
        return d;
    }
    let lengths: Vec<(String, f64)> = fields::numbers(&d)
        .into_iter()
        .filter(|(place, _)| {
            let row = fields::field_at(place).and_then(fields::Field::range);
            row.is_some_and(|range| range.unit == Unit::Length)
        })
        .collect();
    let by = d.units.millimetres() / units.millimetres();
    d.units = units;
    let mut tree = serde_json::to_value(&d).expect("a tree");
    for (place, value) in lengths {
        set(&mut tree, &place, value * by);
    }
    serde_json::from_value(tree).expect("a description")
}

/// Sets a number in a description's tree by its place in the file.
fn set(tree: &mut serde_json::Value, place: &str, value: f64) {
    let place = place.replace('[', ".").replace(']', "");
    let (part, name) = place.rsplit_once('.').unwrap_or(("", &place));
    let pointer = part.split('.').filter(|name| !name.is_empty());
    let pointer: String = pointer.map(|name| format!("/{name}")).collect();
    let part = tree.pointer_mut(&pointer).expect("its part");
    match name.parse::<usize>() {
        Ok(index) => part[index] = value.into(),
        // What is at its default is not written, and so put in.
        Err(_) => part[name] = value.into(),
    }
}

/// The engine with the number at `place` led from where it is to `wanted`, or as near to that as
/// any engine has it.
fn led_to(description: Description, place: &str, wanted: f64) -> Description {
    let with = |value: f64| {
        let mut tree = serde_json::to_value(&description).expect("a tree");
        set(&mut tree, place, value);
        let led = serde_json::from_value::<Description>(tree).expect("a description");
        Engine::new(led.clone()).is_ok().then_some(led)
    };
    if let Some(there) = with(wanted) {
        return there;
    }
    let numbers = fields::numbers(&description);
    let held = numbers.iter().find(|(other, _)| other == place);
    let (mut held, mut refused) = (held.expect("its number").1, wanted);
    let mut nearest = None;
    for _ in 0..60 {
        let middle = f64::midpoint(held, refused);
        match with(middle) {
            Some(led) => (held, nearest) = (middle, Some(led)),
            None => refused = middle,
        }
    }
    nearest.unwrap_or(description)
}

/// Where in its range a number is led to.
#[derive(Clone, Copy, Debug)]
enum End {
    Least,
    Most,
    InsideLeast,
    InsideMost,
    Zero,
    HairOverZero,
}

const ENDS: [End; 6] = [
    End::Least,
    End::Most,
    End::InsideLeast,
    End::InsideMost,
    End::Zero,
    End::HairOverZero,
];

/// An engine some of whose numbers stand at the ends of what is allowed, or as near as any engine
/// has them; its wheels too may be the smallest and the largest.
fn extreme_engine() -> impl Strategy<Value = Description> {
    let scene =
        any::<Index>().prop_map(|index| index.get(&scenes::SCENES).engine().written().clone());
    let base = prop_oneof![even_engine(), scene];
    let units = select(vec![Units::Millimetres, Units::Inches]);
    let ends = prop::collection::vec((any::<Index>(), select(ENDS.to_vec())), 1..12);
    let teeth = proptest::option::of(select(vec![6_u32, 7, 199, 200]));
    (base, units, ends, teeth).prop_map(|(base, units, ends, teeth)| {
        let mut d = complete(base, units);
        if let Some(teeth) = teeth {
            (d.cam_drive.crank_teeth, d.cam_drive.cam_teeth) = (teeth, 2 * teeth);
        }
        for (place, end) in ends {
            let numbers = fields::numbers(&d);
            let rows: Vec<_> = numbers
                .iter()
                .filter_map(|(place, _)| Some((place, fields::field_at(place)?.range()?)))
                .filter(|(_, range)| {
                    !matches!(range.unit, Unit::Teeth | Unit::Count | Unit::Torque)
                })
                .collect();
            let (place, range) = place.get(&rows);
            let (least, most) = (range.least_in(units), range.most_in(units));
            let hair = (most - least) * 1e-12;
            let wanted = match end {
                End::Least => least,
                End::Most => most,
                End::InsideLeast => least + hair,
                End::InsideMost => most - hair,
                End::Zero => 0.0_f64.clamp(least, most),
                End::HairOverZero => 1e-300_f64.clamp(least, most),
            };
            d = led_to(d.clone(), place, wanted);
        }
        d
    })
}

/// Every answer that a command gives on an engine, and every view, each by its name.
fn answers(description: &Description, folder: &std::path::Path) -> Vec<(String, String)> {
    let text = dotwise::source::write(description).expect("written");
    let path = folder.join("extreme.ron");
    std::fs::write(&path, text).expect("written");
    let engine = path.to_str().expect("a name");
    let both: [&[&str]; 9] = [
        &["at", engine, "0", "123.4", "-359.999", "719.999"],
        &["check", engine],
        &["table", engine, "--step", "45"],
        &["tdc", "--stop", "21", "-15", engine],
        &["tdc", "--by-eye", "0.02", engine],
        &["dropin", engine],
        &["lash", engine],
        &["clearance", engine],
        &[
            "degree",
            engine,
            "--intake",
            "0",
            "200",
            "--exhaust",
            "-210",
            "-10",
            "--at",
            "0.05",
        ],
    ];
    let mut commands: Vec<Vec<&str>> = Vec::new();
    for command in both {
        commands.push(command.to_vec());
        commands.push([command, &["--json"]].concat());
    }
    commands.push(vec!["table", engine, "--step", "45", "--csv"]);
    commands.push(vec!["sheet", engine, "-o", "-"]);
    commands.push(vec!["handout", engine, "-o", "-"]);
    let mut answers = Vec::new();
    for command in commands {
        let name = command.join(" ");
        let started = std::time::Instant::now();
        let line =
            CommandLine::try_parse_from(std::iter::once("dotwise").chain(command)).expect(&name);
        let answer = match line.run(Terminal::default()) {
            Ok(answer) => String::from_utf8(answer.out).expect("text") + &answer.err,
            // Some things cannot be asked of some engines; what is said then is looked at too.
            Err(error) => error.to_string(),
        };
        let taken = started.elapsed();
        assert!(taken.as_secs() < 10, "{name}: {taken:?}");
        answers.push((name, answer));
    }
    let phasing = Phasing::as_drawn(&common::engine(description.clone()));
    let reading = phasing.at(CrankAngle::new(123.4));
    let first = phasing.engine().firing_order()[0];
    let wheel = DegreeWheel::new(&phasing, first).expect("a wheel");
    let curves = LiftCurves::new(&phasing, first).expect("curves");
    let (gears, ribbon) = (GearFace::new(&phasing), StrokeRibbon::new(&phasing));
    let cap = Cap::new(&phasing);
    let (front, along) = (
        section::FromTheFront::new(&phasing),
        section::AlongTheCrank::new(&phasing),
    );
    let mut views: Vec<(&str, &dyn View)> = vec![
        ("wheel", &wheel),
        ("curves", &curves),
        ("gears", &gears),
        ("ribbon", &ribbon),
        ("front", &front),
        ("along", &along),
    ];
    views.extend(cap.as_ref().map(|cap| ("cap", cap as &dyn View)));
    for (name, view) in views {
        answers.push((
            name.to_owned(),
            svg::document(&view.at(&reading), svg::Colours::Paper),
        ));
    }
    answers
}

/// A number token that is none: NaN, an infinity, or a null where JSON should have a measure.
fn no_number(answer: &str) -> Option<&str> {
    let wrong = ["NaN", "inf", "-inf", "Infinity", "−inf", "∞"];
    let is_apart = |letter: char| !(letter.is_alphanumeric() || "_-−∞.".contains(letter));
    let token = answer.split(is_apart).find(|token| wrong.contains(token));
    // What an engine without a distributor has not.
    let answer = [
        "rotor_tooth",
        "register",
        "register_range",
        "contact_within",
        "rotor_start_clock",
        "rotor_end_clock",
    ]
    .iter()
    .fold(answer.to_owned(), |answer, name| {
        answer.replace(&format!("\"{name}_deg\": null"), "")
    });
    // The gap where none is stated.
    let answer = ["intake", "exhaust"].iter().fold(answer, |answer, valve| {
        answer.replace(&format!("\"{valve}_gap_mm\": null"), "")
    });
    token.or_else(|| {
        let measures = [
            "_deg\": null",
            "_mm\": null",
            "_deg\":null",
            "_mm\":null",
            "[null",
            ",null",
        ];
        measures
            .into_iter()
            .find(|measure| answer.contains(measure))
    })
}

#[test]
fn what_is_no_number_is_found_in_an_answer_and_words_are_not_taken_for_it() {
    for wrong in [
        "x=\"NaN\"",
        "−inf mm",
        "M1 -inf,2",
        "\"gap_mm\": null",
        "[null,1]",
    ] {
        assert!(no_number(wrong).is_some(), "{wrong}");
    }
    for right in [
        "an infinite loop",
        "info",
        "\"rotor\": null",
        "\"register_deg\": null",
    ] {
        assert_eq!(no_number(right), None, "{right}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn at_the_ends_of_what_is_allowed_every_answer_is_made_of_numbers_and_bounded(description in extreme_engine()) {
        let folder = tempfile::tempdir().expect("a folder");
        for (name, answer) in answers(&description, folder.path()) {
            prop_assert!(answer.len() < 8_000_000, "{}: {} bytes", name, answer.len());
            if let Some(token) = no_number(&answer) {
                let at = answer.find(token).unwrap_or(0);
                let from = answer.floor_char_boundary(at.saturating_sub(120));
                let to = answer.ceil_char_boundary((at + 120).min(answer.len()));
                prop_assert!(false, "{name}: {token} in …{}…", &answer[from..to]);
            }
        }
    }
}

#[test]
fn a_sweep_comes_round_once() {
    let phasing = Phasing::as_drawn(&engine(bench()));
    for (step, rows) in [
        (0.1, 7200),
        (1.0, 720),
        (7.0, 103),
        (719.0, 2),
        (720.0, 1),
        (1000.0, 1),
    ] {
        assert_eq!(phasing.sweep(CrankTurn::new(step)).count(), rows, "{step}");
    }
    for step in [0.0, -1.0, f64::NAN] {
        assert_eq!(phasing.sweep(CrankTurn::new(step)).count(), 0);
    }
    assert_abs_diff_eq!(
        phasing
            .sweep(CrankTurn::new(0.1))
            .last()
            .expect("a row")
            .crank
            .degrees(),
        719.9,
        epsilon = 1e-9
    );
}

#[test]
fn nothing_is_written_as_standing_on_the_end_of_its_cycle() {
    // Sums of thirteenths of a turn come out a hair short of whole turns: written to nine places
    // they must be 0, not 360.
    for scene in &scenes::SCENES {
        let engine = scene.engine();
        let teeth = engine
            .metric()
            .distributor
            .as_ref()
            .map_or(1, |distributor| distributor.driven_teeth as i32);
        for drive_teeth in 0..teeth {
            let phasing = Phasing::as_built(
                &engine,
                &Assembly {
                    drive_teeth,
                    ..Assembly::default()
                },
            );
            for reading in phasing.sweep(CrankTurn::new(720.0 / f64::from(teeth) / 4.0)) {
                let text = serde_json::to_value(dotwise::output::json::ReadingRecord::of(
                    &phasing, &reading,
                ))
                .expect("JSON");
                let below = |value: &serde_json::Value, most: f64| {
                    let value = value.as_f64().expect("a number");
                    assert!(
                        (0.0..most).contains(&value),
                        "{} {drive_teeth} at {}: {value}",
                        scene.name,
                        reading.crank.degrees()
                    );
                };
                below(&text["crank_deg"], 720.0);
                below(&text["cam_deg"], 360.0);
                text["cylinders"]
                    .as_array()
                    .expect("a list")
                    .iter()
                    .for_each(|cylinder| below(&cylinder["phase_deg"], 720.0));
                text["marks"]
                    .as_array()
                    .expect("a list")
                    .iter()
                    .for_each(|mark| below(&mark["clock_deg"], 360.0));
                if text["rotor"].is_object() {
                    below(&text["rotor"]["clock_deg"], 360.0);
                }
            }
        }
    }
}

#[test]
fn the_steepest_lobes_allowed_are_written_out_in_bounded_size_and_without_a_number_that_is_none() {
    for kind in [DriveKind::Gears, DriveKind::Chain, DriveKind::Belt] {
        let mut description = bench();
        description.cam_drive.kind = kind;
        description.valves.intake = Intake::angles(0.0, -120.0, 200.0);
        let (engine, _) = Engine::new(description).expect("an engine");
        let page = handout::document(&Phasing::as_drawn(&engine), false).expect("a page");
        assert!(page.len() < 1_000_000, "{kind:?}: {} bytes", page.len());
        assert!(!page.contains("NaN") && !page.contains("inf,"), "{kind:?}");
    }
    let mut shorter = bench();
    shorter.valves.intake = Intake::angles(0.1, -180.0, 9.5);
    let findings = Engine::new(shorter).expect_err("no engine");
    assert_eq!(findings[0].name, "DurationImpossible");
}

#[test]
fn a_rod_as_long_as_throw_and_offset_to_the_last_bit_is_too_short() {
    let mut description = bench();
    description.units = Units::Inches;
    description.crankshaft.stroke = 0.416;
    description.rod_length = 0.328;
    description.pin_offset = Some(0.12);
    let findings = Engine::new(description).expect_err("no engine");
    assert!(
        findings.iter().any(|finding| finding.name == "RodTooShort"),
        "{findings:?}"
    );
}

#[test]
fn a_belt_up_a_very_long_rod_of_a_small_bore_is_drawn_in_bounded_size() {
    let mut description = bench();
    description.cam_drive.kind = DriveKind::Belt;
    (
        description.cam_drive.crank_teeth,
        description.cam_drive.cam_teeth,
    ) = (199, 398);
    (description.bore, description.rod_length) = (5.0, 10_000.0);
    let phasing = Phasing::as_drawn(&engine(description));
    let drawing = GearFace::new(&phasing).at(&phasing.at(CrankAngle::new(0.0)));
    let size = svg::document(&drawing, svg::Colours::Paper).len();
    assert!(size < 4_000_000, "{size} bytes");
}

/// An engine whose clearance was measured, with as much room as chance gives it, and at a lift that
/// the file states or does not.
fn measured_engine() -> impl Strategy<Value = Description> {
    (even_engine(), 0.5..9.0_f64, 0.5..9.0_f64, any::<bool>()).prop_map(
        |(mut d, intake_drop, exhaust_drop, stated)| {
            d.clearance = Some(Clearance {
                intake_drop,
                exhaust_drop,
                valve_angle: Some(10.0),
                valves_touch_at: None,
            });
            if !stated {
                d.valves.quoted_at = None;
            }
            d
        },
    )
}

/// What a command says in this process, and whether it means 'not right'.
fn said(arguments: &[&str]) -> (String, bool) {
    let arguments = std::iter::once("dotwise").chain(arguments.iter().copied());
    let line = CommandLine::try_parse_from(arguments).expect("a command line");
    let answer = line.run(Terminal::default()).expect("an answer");
    (
        String::from_utf8(answer.out).expect("text"),
        answer.not_right,
    )
}

/// What an answer says of valves and pistons, in its own words.
fn verdict_words(answer: &str) -> &'static str {
    let words = unfolded(answer);
    let words = words.replace("WHETHER VALVES MEET PISTONS", "WHETHER VALVES MEET");
    let verdicts = [
        ("VALVES MEET PISTONS as", "meets"),
        (
            "TOO LITTLE ROOM between valves and pistons as",
            "too_little",
        ),
        ("WHETHER VALVES MEET as", "not_known"),
    ];
    let mut said = verdicts
        .into_iter()
        .filter(|(says, _)| words.contains(says))
        .map(|(_, verdict)| verdict);
    let verdict = said.next().unwrap_or("enough");
    assert_eq!(said.next(), None, "two verdicts in one answer: {answer}");
    verdict
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, ..ProptestConfig::default() })]

    #[test]
    fn least_clearance_readings_verdict_sheets_and_handout_agree_for_every_assembly_of_up_to_four_teeth(
        description in measured_engine(), degrees in 0_u32..720,
    ) {
        use dotwise::description::Valve;
        use dotwise::diagnosis::verdict::{self, VerdictKind};
        use dotwise::laws::clearance::least_allowed_mm;
        use dotwise::output::sheet::{self, SheetOptions};

        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("engine.ron");
        std::fs::write(&path, dotwise::source::write(&description).expect("written")).expect("written");
        let file = path.to_str().expect("a path");
        let stated = description.valves.quoted_at.is_some();
        let engine = engine(description);
        prop_assume!(engine.metric().cam_drive.cam_teeth > 4);
        let units = engine.written().units;
        for cam_teeth in -4_i32..=4 {
            let phasing = Phasing::as_built(&engine, &Assembly { cam_teeth, ..Assembly::default() });
            // By the readings alone.
            let mut least = [f64::INFINITY; 2];
            for reading in phasing.sweep(CrankTurn::new(0.25)) {
                for cylinder in &reading.cylinders {
                    for (least, valve) in least.iter_mut().zip(Valve::BOTH) {
                        *least = least.min(phasing.gap_mm(cylinder, valve).expect("measured"));
                    }
                }
            }
            let room = least.into_iter().zip(Valve::BOTH);
            // So near to a limit that a quarter of a degree decides it, nothing is asked.
            let near = |limit: f64, gap: f64| (gap - limit).abs() < 0.01;
            if room.clone().any(|(gap, valve)| near(0.0, gap) || near(least_allowed_mm(valve, units), gap)) {
                continue;
            }
            let meets = least.iter().any(|gap| *gap <= 0.0);
            let enough = room.clone().all(|(gap, valve)| gap >= least_allowed_mm(valve, units));
            let expected = match (meets, stated, enough) {
                (true, ..) => "meets",
                (false, false, _) => "not_known",
                (false, true, true) => "enough",
                (false, true, false) => "too_little",
            };

            let teeth = cam_teeth.to_string();
            let (json, not_right) = said(&["clearance", file, "--cam-teeth", &teeth, "--json"]);
            let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
            for (gap, name) in least.iter().zip(["intake", "exhaust"]) {
                let told = json[name]["gap_mm"].as_f64().expect("a number");
                prop_assert!(told <= gap + 1e-6 && told > gap - 0.01, "{}: {} is said, {} is read", name, told, gap);
            }
            prop_assert_eq!(&json["valve_clearance"], expected);
            prop_assert!(not_right || !meets);

            let (at, not_right) = said(&["at", file, &degrees.to_string(), "--cam-teeth", &teeth]);
            let reading = phasing.at(CrankAngle::new(f64::from(degrees)));
            let gaps = reading.cylinders.iter().flat_map(|cylinder| Valve::BOTH.map(|valve| (phasing.gap_mm(cylinder, valve).expect("measured"), valve)));
            let (inside, little) = gaps.fold((0, 0), |(inside, little), (gap, valve)| match gap {
                gap if gap <= 0.0 => (inside + 1, little),
                gap if gap < least_allowed_mm(valve, units) => (inside, little + 1),
                _ => (inside, little),
            });
            prop_assert_eq!(at.matches("VALVE IN THE PISTON").count(), inside, "{}", at);
            prop_assert_eq!(at.matches("little room:").count(), little, "{}", at);
            prop_assert_eq!(not_right, meets);
            if cam_teeth != 0 || stated {
                prop_assert_eq!(verdict_words(&at), expected, "{}", at);
            }

            let verdict = verdict::of(&phasing);
            let all = [verdict.sentence.clone(), verdict.consequences.join(" ")].join(" ");
            prop_assert_eq!(verdict_words(&all), expected, "{}", all);
            prop_assert_eq!(verdict.sentence.contains("pistons meet"), meets, "{}", verdict.sentence);
            let must_stand = meets || cam_teeth != 0 && expected != "enough";
            prop_assert_eq!(verdict.kind == VerdictKind::DoNotTurn, must_stand, "{:?}", verdict);

            for page in sheet::pages(&phasing, &SheetOptions::default()).expect("pages") {
                let text = text_of(&page);
                prop_assert_eq!(verdict_words(&text), expected, "{}", text);
                if meets {
                    prop_assert!(!text.contains("without a stop") && !text.contains("Turn on") && !text.contains("Turn the crank"), "{}", text);
                }
            }
            let page = handout::document(&phasing, false).expect("a page");
            prop_assert_eq!(verdict_words(&page), expected);
            prop_assert_eq!(page.contains("VALVE IN THE PISTON"), meets);
        }
    }
}
