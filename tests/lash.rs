//! Setting the valves: the tables of known engines, and that fewer stops will not do, reckoned
//! another way.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use common::scene_drawn;
use dotwise::angle::CrankAngle;
use dotwise::engine::Assembly;
use dotwise::engine::scenes;
use dotwise::phasing::Phasing;
use dotwise::procedures::lash::{DEFAULT_MARGIN_DEG, lash};

#[test]
fn the_tables_of_known_engines_come_out() {
    type Stops<'a> = &'a [(f64, &'a [u8], &'a [u8])];
    let cases: [(&str, Stops<'_>); 2] = [
        // Four 1-3-4-2: TM 5-3805-258-24-1, p. 4-28.
        (
            "bench_four",
            &[(0.0, &[1, 2], &[1, 3]), (360.0, &[3, 4], &[2, 4])],
        ),
        // Six 1-5-3-6-2-4: common practice in makers' manuals; the rest at No. 6.
        (
            "inline_six",
            &[
                (0.0, &[1, 2, 4], &[1, 3, 5]),
                (360.0, &[3, 5, 6], &[2, 4, 6]),
            ],
        ),
    ];
    for (scene, stops) in cases {
        let found = lash(&scene_drawn(scene), DEFAULT_MARGIN_DEG);
        let found: Vec<_> = found
            .stops
            .iter()
            .map(|stop| (stop.crank.degrees(), &stop.intake[..], &stop.exhaust[..]))
            .collect();
        assert_eq!(found, stops, "{scene}");
    }
}

/// The fewest stops by another road. Each valve's chance is an arc of the circle of 720°. Some
/// fewest set stops where arcs end, so begin at the end of each arc in turn; from there cut the
/// circle open and always stop at the latest moment that loses no valve. Arcs found by walking the
/// reading, a tenth of a degree at a time.
fn fewest_by_walking(phasing: &Phasing, margin_deg: f64) -> usize {
    const STEPS: usize = 7200;
    let step = |index: usize| CrankAngle::new(index as f64 * 0.1);
    let margin = (margin_deg * 10.0).round() as usize;
    let mut arcs: Vec<Vec<bool>> = Vec::new();
    for cylinder in 0..phasing.cylinders().len() {
        for intake in [true, false] {
            let off = |index: usize| {
                let reading = phasing.at(step(index % STEPS));
                let valve = if intake {
                    reading.cylinders[cylinder].intake
                } else {
                    reading.cylinders[cylinder].exhaust
                };
                valve.lift_mm == 0.0
            };
            let still: Vec<bool> = (0..STEPS).map(off).collect();
            let set = (0..STEPS).map(|at| {
                (0..=2 * margin)
                    .step_by(5)
                    .all(|off| still[(at + STEPS + off - margin) % STEPS])
            });
            arcs.push(set.collect());
        }
    }
    let ends = |arc: &Vec<bool>| (0..STEPS).find(|&at| arc[at] && !arc[(at + 1) % STEPS]);
    let starts: Vec<usize> = arcs.iter().filter_map(ends).collect();
    let cover = |first: usize| {
        let mut left: Vec<&Vec<bool>> = arcs.iter().filter(|arc| !arc[first]).collect();
        let mut stops = 1;
        let mut at = first;
        while !left.is_empty() {
            // The first chance to end after here.
            let on = left
                .iter()
                .filter_map(|arc| {
                    (1..STEPS).find(|&on| arc[(at + on) % STEPS] && !arc[(at + on + 1) % STEPS])
                })
                .min();
            at = (at + on.expect("every valve has its chance")) % STEPS;
            left.retain(|arc| !arc[at]);
            stops += 1;
        }
        stops
    };
    starts
        .iter()
        .map(|&first| cover(first))
        .min()
        .expect("valves")
}

#[test]
fn fewer_stops_will_not_do() {
    for scene in scenes::SCENES {
        let engine = scene.engine();
        for margin in [DEFAULT_MARGIN_DEG, 60.0] {
            for cam_teeth in [0, 1] {
                let phasing = Phasing::as_built(
                    &engine,
                    &Assembly {
                        cam_teeth,
                        ..Assembly::default()
                    },
                );
                let found = lash(&phasing, margin);
                assert!(found.never.is_empty());
                assert_eq!(
                    found.stops.len(),
                    fewest_by_walking(&phasing, margin),
                    "{} at {margin}",
                    scene.name
                );
                // And each valve is off its lobe by the margin where it is set.
                for stop in &found.stops {
                    for off in [-margin, 0.0, margin] {
                        let reading = phasing.at(CrankAngle::new(stop.crank.degrees() + off));
                        let still = |number: &u8| *reading.cylinder(*number).expect("a cylinder");
                        assert!(
                            stop.intake
                                .iter()
                                .all(|number| still(number).intake.lift_mm < 1e-9),
                            "{} {stop:?}",
                            scene.name
                        );
                        assert!(
                            stop.exhaust
                                .iter()
                                .all(|number| still(number).exhaust.lift_mm < 1e-9),
                            "{} {stop:?}",
                            scene.name
                        );
                    }
                }
            }
        }
    }
}

/// An engine of so many cylinders in line that fires at even intervals.
fn long_engine(count: u32) -> std::sync::Arc<dotwise::engine::Engine> {
    let mut description = scenes::BENCH.engine().written().clone();
    let step = 720.0 / f64::from(count);
    description.crankshaft.throws = (0..count)
        .map(|place| dotwise::description::Throw {
            angle: (-step * f64::from(place)).rem_euclid(360.0),
            cylinders: vec![place + 1],
        })
        .collect();
    description.banks[0].cylinders = (1..=count).collect();
    description.firing_order = (1..=count).collect();
    let engine = dotwise::engine::Engine::new(description);
    engine.expect("an engine").0
}

#[test]
fn the_longest_engine_is_answered_at_any_margin_in_fifty_milliseconds() {
    for count in [18, 21, 24] {
        let phasing = Phasing::as_drawn(&long_engine(count));
        for margin in [20.0, 90.0, 180.0, 217.0] {
            let taken = (0..5).map(|_| {
                let start = std::time::Instant::now();
                let found = lash(&phasing, margin);
                assert!(found.never.is_empty() && !found.stops.is_empty());
                start.elapsed()
            });
            // The quickest of five: a busy machine slows each.
            let least = taken.min().expect("five");
            assert!(least.as_millis() < 50, "{count} at {margin}°: {least:?}");
        }
    }
}

#[test]
fn fewer_stops_will_not_do_on_long_engines_either() {
    for (count, margin) in [(9, 60.0), (18, 180.0), (24, 200.0)] {
        let phasing = Phasing::as_drawn(&long_engine(count));
        assert_eq!(
            lash(&phasing, margin).stops.len(),
            fewest_by_walking(&phasing, margin),
            "{count} at {margin}°"
        );
    }
}
