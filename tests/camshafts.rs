//! Several camshafts: each valve moves with the camshaft that works it and with no other, and what
//! is out is found by the camshaft's name.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::sync::Arc;
use std::time::{Duration, Instant};

use common::{at, bench, dotwise, engine, every_valve, program, scene_engine, text_of, unfolded};
use dotwise::angle::CrankAngle;
use dotwise::description::{
    Camshaft, Description, Distributor, DriveKind, DrivenBy, Intake, Mark, MarkOn, Valve, Valves,
};
use dotwise::diagnosis::observations::{
    self, Light, Observation, Observations, RotorObservation, SparkObservation,
};
use dotwise::diagnosis::stage::Stage;
use dotwise::diagnosis::{Diagnosis, diagnose, verdict};
use dotwise::engine::{Assembly, Engine, Subject, scenes};
use dotwise::geometry::layout::WheelRole;
use dotwise::geometry::{Layout, Pose};
use dotwise::laws::Lobe;
use dotwise::laws::gear_train::CamTeeth;
use dotwise::output::sheet::{self, SheetOptions, SheetPart};
use dotwise::phasing::Phasing;
use dotwise::procedures::degreeing::{EventReadings, Found, degree};
use dotwise::procedures::lift_table;
use dotwise::procedures::read_lobes::ReadLobes;
use dotwise::source;
use dotwise::words::Units;
use proptest::prelude::*;
use proptest::sample::select;

fn camshaft(name: &str, works: &[Valve], banks: &[u32]) -> Camshaft {
    Camshaft {
        name: name.into(),
        works: works.to_vec(),
        banks: banks.to_vec(),
        cam_teeth: None,
        trim: None,
    }
}

/// The bench engine under two camshafts on a chain.
fn twin() -> Description {
    let mut d = bench();
    d.cam_drive.kind = DriveKind::Chain;
    (d.cam_drive.module, d.cam_drive.backlash, d.cam_drive.cam_at) = (None, None, None);
    d.camshafts = vec![
        camshaft("intake cam", &[Valve::Intake], &[]),
        camshaft("exhaust cam", &[Valve::Exhaust], &[]),
    ];
    d
}

/// The cross-plane eight with two camshafts over each bank.
fn four_cams() -> Description {
    let mut d = scene_engine("vee_eight").written().clone();
    d.cam_drive.kind = DriveKind::Chain;
    (d.cam_drive.module, d.cam_drive.backlash, d.cam_drive.cam_at) = (None, None, None);
    d.valves.gear = None;
    d.camshafts = vec![
        camshaft("left inlet", &[Valve::Intake], &[1]),
        camshaft("left outlet", &[Valve::Exhaust], &[1]),
        camshaft("right inlet", &[Valve::Intake], &[2]),
        camshaft("right outlet", &[Valve::Exhaust], &[2]),
    ];
    d
}

fn cams(teeth: &[i32]) -> CamTeeth {
    let each = teeth.iter().enumerate();
    each.fold(CamTeeth::default(), |cams, (camshaft, teeth)| {
        cams.with(camshaft, *teeth)
    })
}

fn built(engine: &Arc<Engine>, teeth: &[i32]) -> Phasing {
    Phasing::as_built(engine, &Assembly::default().with_cams(cams(teeth)))
}

/// What a builder sees of an engine at these angles, each turned on to from the one before: every
/// valve, and the rotor.
fn seen(phasing: &Phasing, cranks: &[f64]) -> Observations {
    let sightings = cranks.iter().enumerate().map(|(index, crank)| {
        let reading = phasing.at(CrankAngle::new(*crank));
        Observation {
            valves: every_valve(&reading),
            turned_on: index > 0,
            within: 1.0,
            rotor: reading.rotor.map(|rotor| RotorObservation {
                clock: Some(rotor.clock.degrees()),
                tower: None,
                within: Some(4.0),
            }),
            ..Observation::at(CrankAngle::new(*crank).by_the_mark())
        }
    });
    Observations {
        sightings: sightings.collect(),
        leads: phasing.engine().metric().distributor.as_ref().map(|_| {
            let leads = phasing.leads().iter();
            leads.map(|lead| u32::from(*lead)).collect()
        }),
        ..Observations::default()
    }
}

/// Every 8° over both turns: a valve changes its state between two of them wherever it does.
fn all_round() -> Vec<f64> {
    (0..90).map(|step| f64::from(step) * 8.0 + 3.0).collect()
}

fn found(engine: &Arc<Engine>, teeth: &[i32]) -> Diagnosis {
    diagnose(engine, &seen(&built(engine, teeth), &all_round()))
}

/// Which camshaft of one, two or four works a valve, by the list alone.
fn works(d: &Description, cylinder: u32, valve: Valve) -> usize {
    let bank = d
        .banks
        .iter()
        .position(|bank| bank.cylinders.contains(&cylinder))
        .expect("a bank") as u32
        + 1;
    match d.camshafts.len() {
        0 => 0,
        _ => d
            .camshafts
            .iter()
            .position(|camshaft| {
                camshaft.works.contains(&valve)
                    && (camshaft.banks.is_empty() || camshaft.banks.contains(&bank))
            })
            .expect("a camshaft"),
    }
}

fn any_description() -> impl Strategy<Value = Description> {
    let trims = prop::collection::vec(-6.0..6.0_f64, 4);
    (
        0..3_usize,
        trims,
        any::<bool>(),
        select(vec![25_u32, 18, 21]),
    )
        .prop_map(|(which, trims, by_the_last, teeth)| {
            let mut d = match which {
                0 => bench(),
                1 => twin(),
                _ => four_cams(),
            };
            (d.cam_drive.crank_teeth, d.cam_drive.cam_teeth) = (teeth, 2 * teeth);
            for (camshaft, trim) in d.camshafts.iter_mut().zip(trims) {
                camshaft.trim = Some(trim);
            }
            let last = d.camshafts.last().map(|last| last.name.clone());
            if let (true, Some(distributor)) = (by_the_last, d.distributor.as_mut()) {
                distributor.driven_by = DrivenBy::Camshaft;
                distributor.driven_teeth = distributor.driver_teeth;
                distributor.camshaft = last;
            }
            d
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_valve_stands_where_its_own_camshafts_teeth_and_trim_bring_it(
        description in any_description(), teeth in prop::collection::vec(-5_i32..6, 4), degrees in 0.0..720.0_f64,
    ) {
        let engine = engine(description);
        let d = engine.metric();
        let count = d.camshafts.len().max(1);
        let phasing = built(&engine, &teeth[..count]);
        let reading = at(&phasing, degrees);
        for (index, number) in engine.firing_order().iter().enumerate() {
            let fires = engine.firing_angles()[index];
            let cylinder = reading.cylinder(*number).expect("a cylinder");
            for valve in Valve::BOTH {
                // Every event earlier by 720 / Z for a tooth ahead, and by twice the cam degrees of trim.
                let own = works(d, u32::from(*number), valve);
                let trim = d.camshafts.get(own).map_or(0.0, |camshaft| camshaft.trim.unwrap_or(0.0));
                let early = f64::from(teeth[own]) * 720.0 / f64::from(d.cam_drive.cam_teeth) + 2.0 * trim;
                let lift = Lobe::of(&d.valves, valve).lift_mm(degrees - fires + early);
                let read = match valve { Valve::Intake => cylinder.intake, Valve::Exhaust => cylinder.exhaust };
                prop_assert!((read.lift_mm - lift).abs() < 1e-6, "No. {number} {valve:?}: {} and {lift}", read.lift_mm);
            }
        }
        for (own, cam) in reading.cams.iter().enumerate() {
            let stands = degrees / 2.0 + f64::from(teeth[own]) * 360.0 / f64::from(d.cam_drive.cam_teeth);
            prop_assert!((stands - cam.degrees() + 180.0).rem_euclid(360.0) - 180.0 < 1e-9);
        }
    }

    #[test]
    fn the_rotor_goes_with_the_camshaft_that_drives_it_and_with_no_other(
        description in any_description(), teeth in prop::collection::vec(-5_i32..6, 4),
    ) {
        let engine = engine(description);
        let d = engine.metric();
        let Some(distributor) = &d.distributor else { return Ok(()) };
        let driving = match (distributor.driven_by, &distributor.camshaft) {
            (DrivenBy::Crankshaft, _) => None,
            (DrivenBy::Camshaft, None) => Some(0),
            (DrivenBy::Camshaft, Some(name)) => d.camshafts.iter().position(|camshaft| camshaft.name == *name),
        };
        let count = d.camshafts.len().max(1);
        let rotor = |teeth: &[i32]| at(&built(&engine, teeth), 0.0).rotor.expect("a rotor").clock.degrees();
        let moved = rotor(&teeth[..count]) - rotor(&[]);
        let tooth = 360.0 / f64::from(d.cam_drive.cam_teeth);
        let wanted = driving.map_or(0.0, |own| f64::from(teeth[own]) * tooth * distributor.rotation().sign());
        prop_assert!(((moved - wanted + 180.0).rem_euclid(360.0) - 180.0).abs() < 1e-9, "{moved} {wanted}");
    }

    #[test]
    fn the_least_room_is_what_trying_every_cylinder_gives(
        description in any_description(), teeth in prop::collection::vec(-2_i32..3, 4),
    ) {
        let engine = engine(description);
        let count = engine.camshaft_count();
        let phasing = built(&engine, &teeth[..count]);
        let Some(least) = phasing.least_gaps() else { return Ok(()) };
        let mut tried = [f64::INFINITY; 2];
        for step in 0..2880 {
            for cylinder in &at(&phasing, f64::from(step) / 4.0).cylinders {
                for (own, valve) in tried.iter_mut().zip(Valve::BOTH) {
                    *own = own.min(phasing.gap_mm(cylinder, valve).expect("measured"));
                }
            }
        }
        for (tried, valve) in tried.iter().zip(Valve::BOTH) {
            let least = least.of(valve).gap_mm;
            prop_assert!(least <= tried + 1e-9 && tried - least < 0.02, "{valve:?}: {least} {tried}");
        }
    }
}

#[test]
fn one_camshaft_written_out_is_the_one_that_needs_no_writing() {
    let mut listed = bench();
    listed.camshafts = vec![camshaft("only", &[Valve::Intake, Valve::Exhaust], &[])];
    let (plain, listed) = (engine(bench()), engine(listed));
    for teeth in [-3, 0, 1] {
        let (one, other) = (built(&plain, &[teeth]), built(&listed, &[teeth]));
        for crank in [0.0, 111.0, 400.0] {
            assert_eq!(at(&one, crank), at(&other, crank));
        }
        assert_eq!(one.valve_clearance(), other.valve_clearance());
        assert_eq!(verdict::of(&one), verdict::of(&other));
    }
    let look = seen(&built(&plain, &[1]), &[0.0, 95.0]);
    assert_eq!(diagnose(&plain, &look), diagnose(&listed, &look));
}

#[test]
fn each_camshaft_out_alone_is_found_by_its_name() {
    for description in [twin(), four_cams()] {
        let engine = engine(description);
        for own in 0..engine.camshaft_count() {
            for teeth in [-4, -1, 1, 2] {
                let mut out = vec![0; 4];
                out[own] = teeth;
                let found = found(&engine, &out);
                let best = &found.fits[0];
                assert!(found.explained);
                assert_eq!(
                    best.assembly.cams(),
                    cams(&out),
                    "{}",
                    best.describe(&engine)
                );
                assert_eq!(best.faults, 1);
                let name = engine.camshaft_name(own);
                assert!(best.describe(&engine).contains(name), "{name}");
                let mend = best.remedies(&engine, Stage::CoverOff).join("; ");
                assert!(mend.contains(name), "{mend}");
                for other in engine.camshaft_names().filter(|other| *other != name) {
                    assert!(!mend.contains(&format!("the {other}")), "{mend}");
                }
            }
        }
    }
}

#[test]
fn two_camshafts_out_at_once_are_found() {
    let engine = engine(four_cams());
    for out in [[1, -1, 0, 0], [2, 0, 1, 0], [0, -3, 0, 4], [0, 0, -1, -1]] {
        let found = found(&engine, &out);
        assert_eq!(found.fits[0].assembly.cams(), cams(&out), "{out:?}");
        assert_eq!(found.fits[0].faults, 2);
    }
}

#[test]
fn all_camshafts_out_alike_are_one_fault_of_the_crank_wheels_place() {
    for (description, count) in [(twin(), 2), (four_cams(), 4)] {
        let engine = engine(description);
        let found = found(&engine, &vec![-1; count]);
        let best = &found.fits[0];
        assert_eq!(best.assembly.cams(), CamTeeth::alike(count, -1));
        assert_eq!(best.faults, 1);
        assert!(
            best.describe(&engine)
                .starts_with("Every camshaft is one tooth behind")
        );
    }
}

#[test]
fn as_drawn_is_found_to_be_as_drawn() {
    for description in [twin(), four_cams()] {
        let engine = engine(description);
        let found = found(&engine, &[]);
        assert!(found.fits[0].assembly.is_as_drawn());
        assert!(found.is_right(), "{}", found.headline());
    }
}

#[test]
fn teeth_counted_by_name_rule_out_every_other_count_at_that_camshaft() {
    let engine = engine(twin());
    let text = r#"(format: 1, sightings: [(crank: 0.0, cam_teeth_off: {"exhaust cam": -1})])"#;
    let seen = observations::read(text, &engine);
    assert_eq!(seen.findings, []);
    let found = diagnose(&engine, &seen.sightings.expect("usable"));
    assert!(found.explained);
    for fit in &found.fits {
        assert_eq!(fit.assembly.cams().of(1), -1);
    }
    assert!(found.fits.iter().any(|fit| fit.assembly.cams().of(0) == 0));
    assert!(found.fits.iter().any(|fit| fit.assembly.cams().of(0) == 2));
    // A plain number is every dot's.
    let seen = observations::read(
        "(format: 1, sightings: [(crank: 0.0, cam_teeth_off: -1)])",
        &engine,
    );
    let found = diagnose(&engine, &seen.sightings.expect("usable"));
    assert!(
        found
            .fits
            .iter()
            .all(|fit| fit.assembly.cams() == CamTeeth::alike(2, -1))
    );
}

#[test]
fn a_name_that_no_camshaft_has_is_told_with_those_that_are_there() {
    let engine = engine(twin());
    let text = r#"(format: 1, sightings: [(crank: 0.0, cam_teeth_off: {"inlet": -1})])"#;
    let read = observations::read(text, &engine);
    assert!(read.sightings.is_none());
    assert_eq!(read.findings[0].name, "NoSuchCamshaft");
    assert_eq!(read.findings[0].fix, "it has: intake cam, exhaust cam");
    // The beginning of one name alone is enough; of two it is not.
    assert_eq!(engine.camshaft_named("EXH"), Some(1));
    assert_eq!(engine.camshaft_named(""), None);
    let four = common::engine(four_cams());
    assert_eq!(four.camshaft_named("left"), None);
    assert_eq!(four.camshaft_named("left o"), Some(1));
}

#[test]
fn sightings_by_name_written_and_read_again_are_the_same() {
    let engine = engine(twin());
    let text = r#"(format: 1, sightings: [(crank: 0.0, cam_teeth_off: {"exhaust cam": -1, "intake cam": 2})])"#;
    let seen = observations::read(text, &engine).sightings.expect("usable");
    let again = source::write(&seen).expect("written");
    assert_eq!(
        observations::read(&again, &engine).sightings,
        Some(seen),
        "{again}"
    );
}

#[test]
fn a_twin_cam_four_is_diagnosed_while_nobody_waits_and_a_four_cam_eight_soon_after() {
    // The tests are built with little optimization: benches/ has the figures that are promised.
    let twin = scene_engine("twin_cam_four");
    let eight = engine(four_cams());
    for (engine, most_ms) in [(twin, 250), (eight, 2500)] {
        for cranks in [vec![0.0], vec![0.0, 95.0, 185.0, 470.0]] {
            let mut seen = seen(&built(&engine, &[1, -1]), &cranks);
            seen.leads = None;
            let begun = Instant::now();
            let found = diagnose(&engine, &seen);
            let took = begun.elapsed();
            assert!(found.explained);
            assert!(
                took < Duration::from_millis(most_ms),
                "{} in {took:?}",
                engine.name()
            );
        }
    }
}

#[test]
fn a_spark_and_a_light_are_explained_by_the_camshaft_that_drives_the_distributor() {
    let engine = scene_engine("twin_cam_four");
    // The exhaust cam drives it: one tooth of 42 is 17.14° of crank.
    let late = built(&engine, &[0, -1]);
    let spark = late.spark_btdc_deg(&late.cylinders()[0]);
    assert!((spark - (10.0 - 720.0 / 42.0)).abs() < 1e-9, "{spark}");
    let mut seen = seen(&late, &[0.0, 100.0]);
    seen.sightings[0].spark = Some(SparkObservation {
        cylinder: 1,
        btdc: spark,
        within: 2.0,
        by: Light::Lamp,
    });
    let found = diagnose(&engine, &seen);
    assert_eq!(found.fits[0].assembly.cams(), cams(&[0, -1]));
    let other = built(&engine, &[1, 0]);
    assert!((other.spark_btdc_deg(&other.cylinders()[0]) - 10.0).abs() < 1e-9);
}

#[test]
fn degreeing_tells_each_camshaft_by_its_own_valve() {
    let engine = engine(twin());
    for (intake_teeth, exhaust_teeth) in [(0, 0), (1, 0), (0, -2), (2, -1)] {
        let tooth = 720.0 / 50.0;
        // The card's events, each earlier by its own camshaft's teeth.
        let (intake, exhaust) = (
            f64::from(intake_teeth) * tooth,
            f64::from(exhaust_teeth) * tooth,
        );
        let intake = EventReadings {
            opens_deg: -12.0 - intake,
            closes_deg: 232.0 - intake,
        };
        let exhaust = EventReadings {
            opens_deg: -232.0 - exhaust,
            closes_deg: 12.0 - exhaust,
        };
        let degreed = degree(&engine, intake, Some(exhaust), 0.0).expect("a lift both come to");
        let teeth: Vec<i32> = degreed.camshafts.iter().map(|own| own.cam_teeth).collect();
        assert_eq!(teeth, [intake_teeth, exhaust_teeth]);
        let right = intake_teeth == 0 && exhaust_teeth == 0;
        assert_eq!(degreed.found == Found::Right, right);
        // A camshaft whose valve was not read is not spoken of.
        let alone = degree(&engine, intake, None, 0.0).expect("a lift it comes to");
        assert_eq!(alone.camshafts.len(), 1);
    }
}

#[test]
fn degreeing_an_engine_with_a_camshaft_for_each_bank_speaks_of_the_one_over_number_one() {
    let mut d = four_cams();
    let both = [Valve::Intake, Valve::Exhaust];
    // No. 1 stands in the first bank, whose camshaft is the second described.
    d.camshafts = vec![
        camshaft("right cam", &both, &[2]),
        camshaft("left cam", &both, &[1]),
    ];
    let (engine, _) = Engine::new(d).expect("an engine");
    let tooth = 720.0 / f64::from(engine.metric().cam_drive.cam_teeth);
    let late = |opens: f64, closes: f64| EventReadings {
        opens_deg: opens + tooth,
        closes_deg: closes + tooth,
    };
    let intake = late(-20.0, 240.0);
    for exhaust in [None, Some(late(-242.0, 22.0))] {
        let found = degree(&engine, intake, exhaust, 0.0).expect("a lift both come to");
        let told: Vec<(&str, i32)> = found
            .camshafts
            .iter()
            .map(|own| (own.name.as_str(), own.cam_teeth))
            .collect();
        assert_eq!(told, [("left cam", -1)]);
        assert_eq!(found.camshafts[0].camshaft, 1);
        assert_eq!(found.found, Found::Teeth);
    }
}

#[test]
fn a_lobe_read_on_a_trimmed_camshaft_and_written_down_stands_where_it_was_read() {
    let mut d = twin();
    d.camshafts[0].trim = Some(4.0);
    let (engine, _) = Engine::new(d.clone()).expect("an engine");
    let drawn = Phasing::as_drawn(&engine);
    let rows = (-50..=270).step_by(5).map(|after_overlap| {
        let crank = CrankAngle::new(360.0 + f64::from(after_overlap));
        let lift = drawn.at(crank).cylinders[0].intake.lift_mm;
        format!("{after_overlap},{lift:.4}\n")
    });
    let table = format!("crank,intake lift\n{}", rows.collect::<String>());
    let read = lift_table::read(&table, Units::Millimetres, 50.0).expect("a table");
    let lobes = ReadLobes::of(&engine, &read).expect("a lobe");
    assert_eq!(lobes.degreed.found, Found::Right);
    let written = format!("({})", lobes.as_written(&engine).join(""));
    d.valves.intake = Intake {
        lifts: source::ron::<Valves>(&written)
            .0
            .expect("lines of a description")
            .intake
            .lifts,
        ..Intake::default()
    };
    let (again, _) = Engine::new(d).expect("an engine");
    let again = Phasing::as_drawn(&again);
    for crank in (330..620)
        .step_by(7)
        .map(|crank| CrankAngle::new(f64::from(crank)))
    {
        let [was, is] =
            [&drawn, &again].map(|phasing| phasing.at(crank).cylinders[0].intake.lift_mm);
        assert!((was - is).abs() < 0.05, "{crank:?}: {was} {is}");
    }
}

#[test]
fn a_mark_on_the_first_camshaft_by_its_number_is_the_camshafts_mark() {
    let told = says(&["dropin", "twin_cam_four"]);
    assert!(
        told.contains("The intake sprocket dot (front cover off)"),
        "{told}"
    );
    let with = |on: &str, links: &str| {
        let text = scenes::find("twin_cam_four").expect("a scene").text;
        let drive = "cam_drive: (";
        assert!(text.contains(drive) && text.contains("CamshaftNumber(1)"));
        let text = text
            .replace(drive, &format!("{drive}links_between_marks: {links}, "))
            .replace("CamshaftNumber(1)", on);
        let read = dotwise::engine::read::engine(&text);
        let named = |name: &str| read.findings.iter().any(|finding| finding.name == name);
        named("LinksCannotBe")
    };
    assert!(with("Camshaft", "8") && with("CamshaftNumber(1)", "8"));
    assert_eq!(with("Camshaft", "30"), with("CamshaftNumber(1)", "30"));
}

/// A command's answer on one line: where it folds is not what is asked.
fn says_in_a_line(arguments: &[&str]) -> String {
    let text = says(arguments);
    unfolded(&text)
}

#[test]
fn the_table_for_a_spreadsheet_ends_with_every_camshafts_degrees_where_there_are_several() {
    let rows = |scene: &str| -> Vec<Vec<String>> {
        let moved = ["table", scene, "--csv", "--cam-teeth", "0"];
        let text = says(&moved);
        let cells = |row: &str| row.split(',').map(str::to_owned).collect();
        text.lines().map(cells).collect()
    };
    let twin = rows("twin_cam_four");
    let columns = twin[0].len();
    assert_eq!(
        twin[0][columns - 2..],
        ["intake cam camshaft_deg", "exhaust cam camshaft_deg"]
    );
    assert!(twin.iter().all(|row| row.len() == columns));
    assert_eq!(twin[2][columns - 2..], ["15", "15"]);
    let moved = says(&[
        "table",
        "twin_cam_four",
        "--csv",
        "--cam-teeth",
        "exhaust=-1",
    ]);
    let row = moved
        .lines()
        .find(|row| row.starts_with("Twin-cam four,30,"));
    // A tooth of 42 on the camshaft: 360° / 42 = 8.571428571°.
    assert!(row.expect("a row").ends_with(",15,6.428571429"), "{row:?}");
    assert!(
        !rows("bench_four")[0]
            .iter()
            .any(|name| name.contains("camshaft_deg"))
    );
}

#[test]
fn the_camshaft_that_comes_first_is_named_where_there_are_several() {
    let first = |moved: &[&str]| {
        let mut arguments = vec!["lash", "twin_cam_four"];
        arguments.extend(moved);
        says_in_a_line(&arguments)
    };
    let one = first(&["--cam-teeth", "exhaust cam=-4"]);
    assert!(one.contains("The exhaust cam is put right first."), "{one}");
    let both = first(&[
        "--cam-teeth",
        "intake cam=4",
        "--cam-teeth",
        "exhaust cam=-4",
    ]);
    assert!(
        both.contains("The intake cam and the exhaust cam are put right first."),
        "{both}"
    );
    let single = says_in_a_line(&["lash", "bench_four", "--cam-teeth", "4"]);
    assert!(
        single.contains("The camshaft is put right first."),
        "{single}"
    );
}

#[test]
fn what_makes_a_reading_doubtful_stands_by_the_camshaft_that_was_read() {
    // The card has 252°; the intake was read over 280°.
    let told = says_in_a_line(&[
        "degree",
        "twin_cam_four",
        "--intake",
        "-32",
        "248",
        "--exhaust",
        "-234",
        "18",
        "--at",
        "0",
    ]);
    let at = |words: &str| {
        told.find(words)
            .unwrap_or_else(|| panic!("{words:?} in {told}"))
    };
    assert!(at("The intake was over that lift for 28° longer") < at("Exhaust cam:"));
    assert!(at("Intake cam:") < at("The intake was over that lift"));
}

#[test]
fn the_card_of_an_engine_with_several_camshafts_tells_the_room_with_each_out_alone() {
    let text = |teeth: &[i32]| {
        let phasing = built(&scene_engine("twin_cam_four"), teeth);
        let only = SheetOptions {
            only: vec![SheetPart::Card],
            ..SheetOptions::default()
        };
        let pages = sheet::pages(&phasing, &only).expect("pages");
        pages.iter().map(text_of).collect::<Vec<_>>().join("\n")
    };
    let drawn = text(&[0, 0]);
    for own in ["intake cam", "exhaust cam"] {
        assert!(
            drawn.contains(&format!("The {own} alone, the others as drawn:")),
            "{drawn}"
        );
    }
    // Out alone, a camshaft is marked in its own table and in no other; both, in neither.
    assert_eq!(text(&[0, -3]).matches(", as built").count(), 1);
    assert_eq!(text(&[1, -1]).matches(", as built").count(), 0);
    assert_eq!(text(&[1, 1]).matches(", as built").count(), 1);
}

fn says(arguments: &[&str]) -> String {
    let output = program(arguments).output().expect("it ran");
    let all = [output.stdout, output.stderr].concat();
    String::from_utf8(all).expect("text")
}

#[test]
fn the_command_line_moves_every_camshaft_or_one_by_its_name() {
    let says = says_in_a_line;
    let all = says(&["at", "twin_cam_four", "0", "--cam-teeth", "-1"]);
    assert!(all.contains("Every camshaft is one tooth behind"), "{all}");
    let one = says(&["at", "twin_cam_four", "0", "--cam-teeth", "exhaust=-1"]);
    assert!(one.contains("The exhaust cam is one tooth behind"), "{one}");
    let both = says(&[
        "at",
        "twin_cam_four",
        "0",
        "--cam-teeth",
        "2",
        "--cam-teeth",
        "exhaust cam=-1",
    ]);
    assert!(
        both.contains("The intake cam is two teeth ahead (advanced), and the exhaust cam is one tooth behind (retarded)."),
        "{both}"
    );
    let wrong = says(&["at", "twin_cam_four", "0", "--cam-teeth", "rear=1"]);
    assert!(
        wrong.contains("called `rear`") && wrong.contains("intake cam, exhaust cam"),
        "{wrong}"
    );
    let single = says(&["at", "bench_four", "0", "--cam-teeth", "exhaust=1"]);
    assert!(single.contains("it has one camshaft"), "{single}");
}

#[test]
fn json_names_each_camshaft_where_there_are_several_and_only_there() {
    let json = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_str(&says(arguments)).expect("JSON")
    };
    let twin = json(&[
        "at",
        "twin_cam_four",
        "0",
        "--cam-teeth",
        "exhaust=-1",
        "--json",
    ]);
    assert_eq!(twin[0]["camshafts"][1]["name"], "exhaust cam");
    let cam = twin[0]["camshafts"][1]["cam_deg"]
        .as_f64()
        .expect("a number");
    assert!((cam - (360.0 - 360.0 / 42.0)).abs() < 1e-6);
    assert!(json(&["at", "bench_four", "0", "--json"])[0]["camshafts"].is_null());
    let clearance = json(&["clearance", "twin_cam_four", "--json"]);
    assert_eq!(clearance["by_camshaft"][0]["name"], "intake cam");
    // The intake's camshaft moves the intake valves alone.
    let rows = clearance["by_camshaft"][0]["by_teeth"]
        .as_array()
        .expect("rows");
    assert!(
        rows.iter()
            .all(|row| row["exhaust_mm"] == rows[0]["exhaust_mm"])
    );
    assert!(
        rows.iter()
            .any(|row| row["intake_mm"] != rows[0]["intake_mm"])
    );
    assert!(json(&["clearance", "bench_four", "--json"])["by_camshaft"].is_null());
}

#[test]
fn in_the_model_every_camshaft_has_its_wheel_and_nothing_lies_in_anothers_place() {
    for (description, wanted) in [(twin(), 2), (four_cams(), 4)] {
        let engine = engine(description);
        let layout = Layout::of(&engine);
        let described: Vec<usize> = layout.cams.iter().map(|cam| cam.camshaft).collect();
        assert_eq!(described, (0..wanted).collect::<Vec<_>>());
        let wheels: Vec<_> = layout
            .wheels
            .iter()
            .filter(|wheel| matches!(wheel.role, WheelRole::Cam(_)))
            .collect();
        assert_eq!(wheels.len(), wanted);
        for (index, one) in layout.wheels.iter().enumerate() {
            for other in &layout.wheels[index + 1..] {
                let apart = one.centre.distance(other.centre);
                assert!(
                    apart > one.pitch_radius_mm + other.pitch_radius_mm,
                    "{:?} and {:?}: {apart}",
                    one.role,
                    other.role
                );
            }
        }
        // Every chain passes the other camshafts by.
        for place in &layout.loops {
            let path = place.path.path(2);
            for (index, cam) in layout.cams.iter().enumerate() {
                if index == place.cam {
                    continue;
                }
                let nearest = path.iter().map(|point| point.distance(cam.centre));
                let nearest = nearest.fold(f64::INFINITY, f64::min);
                assert!(
                    nearest > 0.13 * layout.measures.bore_mm,
                    "{index}: {nearest}"
                );
            }
        }
        for cylinder in &layout.cylinders {
            for (valve, place) in Valve::BOTH
                .into_iter()
                .zip([&cylinder.intake, &cylinder.exhaust])
            {
                let cam = layout.cams[place.cam];
                assert_eq!(cam.camshaft, engine.camshaft_of(cylinder.number, valve));
                // The valve stands in its bore, under its camshaft.
                let across = dotwise::geometry::layout::towards(cylinder.bank_deg + 90.0);
                assert!(
                    (cam.centre.dot(across) - place.beside_mm).abs()
                        < 0.02 * layout.measures.bore_mm
                );
                let head = layout
                    .measures
                    .intake_head_mm
                    .max(layout.measures.exhaust_head_mm);
                assert!(place.beside_mm.abs() + head < layout.measures.bore_mm / 2.0);
            }
            assert!(
                (cylinder.intake.beside_mm - cylinder.exhaust.beside_mm).abs()
                    > layout.measures.intake_head_mm + layout.measures.exhaust_head_mm
            );
        }
    }
}

#[test]
fn in_the_model_each_camshaft_turns_by_its_own_teeth_and_stays_in_step_with_its_chain() {
    let engine = engine(four_cams());
    let layout = Layout::of(&engine);
    let out = [1, 0, -2, 3];
    let phasing = built(&engine, &out);
    for turned in [0.0, 123.4, 700.0, -50.0] {
        let (drawn, pose) = (
            Pose::at(&Phasing::as_drawn(&engine), turned),
            Pose::at(&phasing, turned),
        );
        let tooth = 360.0 / f64::from(engine.metric().cam_drive.cam_teeth);
        for (own, teeth) in out.iter().enumerate() {
            let moved = pose.cams_clockwise_deg[own] - drawn.cams_clockwise_deg[own];
            let wanted = phasing.cam_direction().sign() * f64::from(*teeth) * tooth;
            assert!((moved - wanted).abs() < 1e-9);
        }
        let crank = pose.wheel_deg(&layout, 0, turned, &phasing);
        for (index, wheel) in layout.wheels.iter().enumerate() {
            let WheelRole::Cam(cam) = wheel.role else {
                continue;
            };
            let path = &layout.loops[cam].path;
            let off = (pose.wheel_deg(&layout, index, turned, &phasing)
                - path.meshed_turn_deg(crank))
                / tooth;
            assert!((off - off.round()).abs() < 1e-6, "{off}");
        }
    }
}

#[test]
fn geared_camshafts_mesh_with_the_cranks_gear_and_keep_clear_of_one_another() {
    let mut d = twin();
    d.cam_drive.kind = DriveKind::Gears;
    let engine = engine(d);
    let layout = Layout::of(&engine);
    let [crank, one, other] = &layout.wheels[..] else {
        panic!("{:?}", layout.wheels);
    };
    for cam in [one, other] {
        let apart = cam.centre.distance(crank.centre);
        assert!((apart - crank.pitch_radius_mm - cam.pitch_radius_mm).abs() < 1e-9);
    }
    assert!(one.centre.distance(other.centre) > 2.0 * one.pitch_radius_mm + 2.0 * layout.module_mm);
    // A gap of each faces a tooth of the crank's, or a tooth a gap.
    let phasing = Phasing::as_drawn(&engine);
    for turned in [0.0, 77.0, 300.0] {
        let pose = Pose::at(&phasing, turned);
        let driver = pose.wheel_deg(&layout, 0, turned, &phasing);
        for (index, cam) in [one, other].into_iter().enumerate() {
            let towards = dotwise::geometry::layout::clock_of(cam.centre);
            let own = pose.wheel_deg(&layout, index + 1, turned, &phasing);
            let meshed =
                dotwise::geometry::teeth::meshed_turn_deg(crank.teeth, cam.teeth, towards, driver);
            let off = (own - meshed) * f64::from(cam.teeth) / 360.0;
            assert!((off - off.round()).abs() < 1e-6, "{off}");
        }
    }
}

#[test]
fn a_mark_on_a_camshaft_moves_with_its_own_teeth() {
    let mut d = twin();
    d.marks = vec![
        Mark {
            on: MarkOn::Camshaft,
            name: "first".into(),
            at: 180.0,
            pointer_at: None,
        },
        Mark {
            on: MarkOn::CamshaftNumber(2),
            name: "second".into(),
            at: 180.0,
            pointer_at: None,
        },
    ];
    let engine = engine(d);
    let reading = at(&built(&engine, &[0, 2]), 0.0);
    assert!((reading.marks[0].degrees() - 180.0).abs() < 1e-9);
    assert!((reading.marks[1].degrees() - (180.0 + 2.0 * 7.2)).abs() < 1e-9);
}

#[test]
fn a_distributor_may_be_driven_by_any_camshaft_and_by_none_that_is_not_there() {
    let mut d = twin();
    let drive = |d: &mut Description, name: &str| {
        let distributor: &mut Distributor = d.distributor.as_mut().expect("one");
        distributor.camshaft = Some(name.into());
    };
    drive(&mut d, "Exhaust Cam");
    assert!(Engine::new(d.clone()).is_ok());
    drive(&mut d, "other cam");
    let findings = Engine::new(d).expect_err("no such camshaft");
    assert_eq!(findings[0].place, "distributor.camshaft");
    assert_eq!(findings[0].fix, "name one of intake cam, exhaust cam");
}

#[test]
fn more_camshafts_than_lie_over_two_banks_are_too_many() {
    let mut d = twin();
    d.camshafts = (0..5)
        .map(|number| camshaft(&format!("cam {number}"), &[Valve::Intake], &[]))
        .collect();
    let findings = Engine::new(d).expect_err("too many");
    assert_eq!(findings[0].message, "5 camshafts; at most 4 are allowed");
}

#[test]
fn valve_against_valve_is_said_where_the_lift_at_which_they_touch_was_measured() {
    // The twin-cam four's valves touch at 5 mm, pushed down alike. While both are off their seats
    // neither is more than 5 mm open as drawn; with the intake cam three teeth ahead the intake is.
    let says = |cam_teeth: &str| {
        let answer = dotwise(&["clearance", "twin_cam_four", "--cam-teeth", cam_teeth]);
        let text = String::from_utf8(answer.stdout).expect("text");
        (answer.status.code(), unfolded(&text))
    };
    let (code, drawn) = says("0");
    assert_eq!(code, Some(0));
    assert!(drawn.contains("keep clear of one another"), "{drawn}");
    let (code, out) = says("intake cam=3");
    assert_eq!(code, Some(1));
    assert!(
        out.contains("WHETHER THE TWO VALVES OF A CYLINDER MEET IS NOT KNOWN"),
        "{out}"
    );

    // The same by the readings, which know nothing of it.
    let engine = scenes::find("twin_cam_four").expect("a scene").engine();
    for teeth in -4..=4 {
        let cams = CamTeeth::default().with(0, teeth);
        let built = Phasing::as_built(&engine, &Assembly::default().with_cams(cams));
        let highest = (0..7200)
            .filter_map(|step| {
                let reading = built.at(CrankAngle::new(f64::from(step) / 10.0));
                let one = reading.cylinder(1).copied().expect("No. 1");
                let (intake, exhaust) = (one.intake.lift_mm, one.exhaust.lift_mm);
                (intake.min(exhaust) > 0.1).then_some(intake.max(exhaust))
            })
            .fold(0.0, f64::max);
        assert_eq!(
            built.valves_keep_clear_of_one_another(),
            Some(highest < 5.0),
            "{teeth} teeth: {highest}"
        );
        let found = built
            .open_together()
            .map_or(0.0, |together| together.higher_mm);
        assert!(
            (found - highest).abs() < 0.1,
            "{teeth} teeth: {found} and {highest}"
        );
    }

    // Where it was not measured, that it was not looked at is said.
    let mut described = engine.written().clone();
    if let Some(measured) = &mut described.clearance {
        measured.valves_touch_at = None;
    }
    let (engine, _) = Engine::new(described).expect("an engine");
    let drawn = Phasing::as_drawn(&engine);
    assert_eq!(drawn.valves_keep_clear_of_one_another(), None);
    let rests = engine.rests_on(&[Subject::Clearance]);
    assert!(
        rests
            .iter()
            .any(|line| line.contains("Valve against valve was not looked at"))
    );
}
