//! How long a builder waits: the whole space of an eight with a 24-tooth drive (20 ms at most), and
//! the valves' stops (5 ms).
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a bench may stop"
)]

use std::sync::Arc;

use dotwise::description::{Camshaft, DrivenBy, Valve, ValveGear};
use dotwise::diagnosis::diagnose;
use dotwise::diagnosis::observations::{
    Observation, Observations, RotorObservation, SparkObservation, ValveObservation, ValveState,
};
use dotwise::diagnosis::proof::prove;
use dotwise::diagnosis::stage::Stage;
use dotwise::engine::{Assembly, Engine, scenes};
use dotwise::phasing::Phasing;
use dotwise::procedures::dropin;
use dotwise::procedures::lash::{DEFAULT_MARGIN_DEG, lash};

fn main() {
    divan::main();
}

/// The cross-plane eight with a distributor of 24 teeth on the crankshaft.
fn eight() -> Arc<Engine> {
    let mut description = scenes::find("vee_eight")
        .expect("a scene")
        .engine()
        .written()
        .clone();
    let distributor = description.distributor.as_mut().expect("a distributor");
    (
        distributor.driven_by,
        distributor.driver_teeth,
        distributor.driven_teeth,
    ) = (DrivenBy::Crankshaft, 12, 24);
    Engine::new(description).expect("an engine").0
}

/// Four places of the crank: every valve, the rotor and a spark at each.
fn everything_seen(engine: &Arc<Engine>) -> Observations {
    let phasing = Phasing::as_built(
        engine,
        &Assembly {
            cam_teeth: 1,
            drive_teeth: -2,
            ..Assembly::default()
        },
    );
    let sightings = [0.0, 95.0, 185.0, 470.0].map(|crank| {
        let crank = dotwise::angle::CrankAngle::new(crank);
        let reading = phasing.at(crank);
        let state = |open| {
            if open {
                ValveState::Open
            } else {
                ValveState::Closed
            }
        };
        let valves = reading.cylinders.iter().flat_map(|cylinder| {
            let both = [
                (Valve::Intake, cylinder.intake.open),
                (Valve::Exhaust, cylinder.exhaust.open),
            ];
            both.map(|(valve, open)| ValveObservation {
                cylinder: u32::from(cylinder.number),
                valve,
                is: state(open),
            })
        });
        Observation {
            valves: valves.collect(),
            rotor: reading.rotor.map(|rotor| RotorObservation {
                clock: Some(rotor.clock.degrees()),
                ..RotorObservation::default()
            }),
            spark: Some(SparkObservation {
                cylinder: 1,
                btdc: phasing.spark_btdc_deg(&phasing.cylinders()[0]),
                within: 2.0,
                by: dotwise::diagnosis::observations::Light::Strobe,
            }),
            ..Observation::at(crank.by_the_mark())
        }
    });
    Observations {
        sightings: sightings.to_vec(),
        ..Observations::default()
    }
}

/// Little seen: thousands of ways fit, and the next look must split them.
fn little_seen() -> Observations {
    let valves = vec![ValveObservation {
        cylinder: 1,
        valve: Valve::Intake,
        is: ValveState::Closed,
    }];
    Observations {
        sightings: vec![Observation {
            valves,
            ..Observation::at(0.0)
        }],
        ..Observations::default()
    }
}

#[divan::bench]
fn diagnose_an_eight_from_four_sightings(bencher: divan::Bencher<'_, '_>) {
    let engine = eight();
    let seen = everything_seen(&engine);
    bencher.bench(|| diagnose(&engine, divan::black_box(&seen)));
}

#[divan::bench]
fn diagnose_an_eight_from_one_valve(bencher: divan::Bencher<'_, '_>) {
    let engine = eight();
    let seen = little_seen();
    bencher.bench(|| diagnose(&engine, divan::black_box(&seen)));
}

/// The whole space of a four with two camshafts (20 ms at most), little seen and much.
#[divan::bench(args = [false, true])]
fn diagnose_a_four_with_two_camshafts(bencher: divan::Bencher<'_, '_>, much: bool) {
    let engine = scenes::find("twin_cam_four").expect("a scene").engine();
    let seen = if much {
        everything_seen(&engine)
    } else {
        little_seen()
    };
    bencher.bench(|| diagnose(&engine, divan::black_box(&seen)));
}

/// An eight with two camshafts over each bank.
fn eight_with_four_camshafts() -> Arc<Engine> {
    let scene = scenes::find("vee_eight").expect("a scene");
    let mut description = scene.engine().written().clone();
    let over = |bank: u32| {
        Valve::BOTH.map(|valve| Camshaft {
            name: format!("{} {bank}", valve.word()),
            works: vec![valve],
            banks: vec![bank],
            cam_teeth: None,
            trim: None,
        })
    };
    description.camshafts = [over(1), over(2)].concat();
    description.valves.gear = Some(ValveGear::Overhead);
    description.marks.clear();
    Engine::new(description).expect("an engine").0
}

/// The whole space of four camshafts (200 ms at most), little seen and much.
#[divan::bench(args = [false, true])]
fn diagnose_an_eight_with_four_camshafts(bencher: divan::Bencher<'_, '_>, much: bool) {
    let engine = eight_with_four_camshafts();
    let seen = if much {
        everything_seen(&engine)
    } else {
        little_seen()
    };
    bencher.bench(|| diagnose(&engine, divan::black_box(&seen)));
}

/// The looks that prove an engine (500 ms at most).
#[divan::bench(args = ["bench_four", "vee_eight", "twin_cam_four"])]
fn prove_it(bencher: divan::Bencher<'_, '_>, scene: &str) {
    let engine = scenes::find(scene).expect("a scene").engine();
    let nothing = Observations::default();
    bencher.bench(|| prove(&engine, divan::black_box(&nothing), Stage::CoverOff, &[]));
}

#[divan::bench(args = ["bench_four", "vee_six_90", "vee_eight"])]
fn set_the_valves(bencher: divan::Bencher<'_, '_>, scene: &str) {
    let phasing = Phasing::as_drawn(&scenes::find(scene).expect("a scene").engine());
    bencher.bench(|| lash(divan::black_box(&phasing), DEFAULT_MARGIN_DEG));
}

#[divan::bench]
fn drop_the_distributor_in(bencher: divan::Bencher<'_, '_>) {
    let phasing = Phasing::as_drawn(&eight());
    bencher.bench(|| dropin(divan::black_box(&phasing)));
}

#[divan::bench]
fn clearance_by_teeth(bencher: divan::Bencher<'_, '_>) {
    let phasing = Phasing::as_drawn(&eight());
    bencher.bench(|| divan::black_box(&phasing).least_gaps_by_teeth());
}
