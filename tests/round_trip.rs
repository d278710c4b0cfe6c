//! A wrong assembly, sightings taken from it with errors inside what could be read, and the
//! diagnosis of them.
//!
//! The builder of these tests does as the program says: begins at No. 1's TDC mark, then turns on,
//! forwards, to the first mark at which `tell_apart` has a valve to look at. At each of four crank
//! positions every valve is looked at, the rotor is read by the clock, and one plug's spark is read
//! with a lamp; where leads are changed over, one of the plugs is one of theirs, for a builder puts
//! the light on the plug that misfires.
//!
//! What is asked: the assembly is always among the fits; and it stands first in at least 99 of 100,
//! the rest being true ties, which are counted here as narrowly as can be: another assembly with no
//! more faults that explains all that was seen, and whose every valve and spark reading lies within
//! the errors of the truth's.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::sync::Arc;

use common::every_valve;
use dotwise::angle::CrankAngle;
use dotwise::description::{EventsForm, Valve};
use dotwise::diagnosis::diagnose;
use dotwise::diagnosis::hypotheses::{drive_ways, faults, moved_round};
use dotwise::diagnosis::next_look::LookAt;
use dotwise::diagnosis::observations::{
    Light, Observation, Observations, RotorObservation, SparkObservation,
};
use dotwise::engine::Assembly;
use dotwise::engine::Engine;
use dotwise::engine::scenes::SCENES;
use dotwise::laws::ignition::DriveOut;
use dotwise::phasing::Phasing;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// What is chosen at random for one round.
#[derive(Clone, Debug)]
struct Round {
    scene: usize,
    cam_teeth: i32,
    drive: prop::sample::Index,
    leads: prop::sample::Index,
    leads_wrong: bool,
    drive_wrong: bool,
    /// Shares of each reading's `within` by which it is off, −1 to 1.
    errors: Vec<f64>,
    crank_within: f64,
    rotor_within: f64,
    events_moved: f64,
}

fn rounds() -> impl Strategy<Value = Round> {
    let with_distributor: Vec<usize> = (0..SCENES.len())
        .filter(|&index| SCENES[index].engine().metric().distributor.is_some())
        // Four sightings tell one camshaft's teeth; of several each needs its own
        // (tests/camshafts.rs).
        .filter(|&index| !SCENES[index].engine().has_several_camshafts())
        .collect();
    (
        prop::sample::select(with_distributor),
        prop_oneof![Just(0), -4..=4],
        any::<(prop::sample::Index, prop::sample::Index)>(),
        any::<(bool, bool)>(),
        prop::collection::vec(-1.0..=1.0f64, 12),
        1.0..=3.0f64,
        2.0..=6.0f64,
        -4.0..=4.0f64,
    )
        .prop_map(
            |(
                scene,
                cam_teeth,
                (drive, leads),
                (leads_wrong, drive_wrong),
                errors,
                crank_within,
                rotor_within,
                events_moved,
            )| Round {
                scene,
                cam_teeth,
                drive,
                leads,
                leads_wrong,
                drive_wrong,
                errors,
                crank_within,
                rotor_within,
                events_moved,
            },
        )
}

impl Round {
    /// A scene with its events moved a little.
    fn engine(&self) -> Arc<Engine> {
        let mut description = SCENES[self.scene].engine().written().clone();
        // Events that are written, in whatever form, can be angles; a lobe as measured is moved whole.
        match description.valves.in_form(EventsForm::Angles) {
            Some(angles) => description.valves = angles,
            None => {
                let lifts = description.valves.intake.lifts.iter_mut().flatten();
                lifts.for_each(|point| point.0 -= self.events_moved);
            }
        }
        let (intake, exhaust) = (
            &mut description.valves.intake.opens_btdc,
            &mut description.valves.exhaust.closes_atdc,
        );
        *intake = intake.map(|opens| opens + self.events_moved);
        *exhaust = exhaust.map(|closes| closes - self.events_moved);
        Engine::new(description).expect("still an engine").0
    }

    fn assembly(&self, engine: &Engine) -> Assembly {
        let distributor = engine
            .metric()
            .distributor
            .as_ref()
            .expect("one with a distributor");
        let ways = drive_ways(distributor);
        let order = engine.firing_order();
        let mut leads = order.to_vec();
        if self.leads_wrong && order.len() > 1 {
            let pairs: Vec<(usize, usize)> = (0..order.len())
                .flat_map(|one| (one + 1..order.len()).map(move |other| (one, other)))
                .collect();
            let choice = self.leads.index(order.len() - 1 + pairs.len());
            match choice.checked_sub(order.len() - 1) {
                None => leads = moved_round(order, choice as i32 + 1),
                Some(pair) => leads.swap(pairs[pair].0, pairs[pair].1),
            }
        }
        let drive = if self.drive_wrong {
            *self.drive.get(&ways)
        } else {
            DriveOut::default()
        };
        Assembly {
            cam_teeth: self.cam_teeth,
            drive_teeth: drive.teeth,
            tongue_half_turn: drive.half_turn,
            body_turn_deg: 0.0,
            leads: (leads != order).then_some(leads),
            ..Assembly::default()
        }
    }

    /// The plugs that the lamp goes on, one at each position.
    fn plugs(&self, engine: &Engine, assembly: &Assembly) -> Vec<u8> {
        let order = engine.firing_order();
        let mut plugs: Vec<u8> = order.to_vec();
        if let Some(leads) = &assembly.leads {
            let moved = |number: &u8| {
                order.iter().position(|one| one == number)
                    != leads.iter().position(|one| one == number)
            };
            plugs.sort_by_key(|number| !moved(number));
        }
        (0..4).map(|nth| plugs[nth % plugs.len()]).collect()
    }

    /// What is seen at one place of the crank.
    fn sighting(
        &self,
        phasing: &Phasing,
        crank: CrankAngle,
        nth: usize,
        plug: u8,
        by: Light,
    ) -> Observation {
        let reading = phasing.at(crank);
        let error = |which: usize| self.errors[nth * 3 + which];
        let rotor = reading.rotor.expect("one with a distributor");
        let own = phasing.cylinder(plug).expect("its own plug");
        let mark = crank.by_the_mark() + error(0) * self.crank_within;
        Observation {
            crank: mark.rem_euclid(360.0),
            within: self.crank_within,
            stage: None,
            turned_on: false,
            valves: every_valve(&reading),
            rotor: Some(RotorObservation {
                clock: Some(rotor.clock.degrees() + error(1) * self.rotor_within),
                tower: None,
                within: Some(self.rotor_within),
            }),
            slot: None,
            compression_felt: Vec::new(),
            cam_teeth_off: None,
            spark: Some(SparkObservation {
                cylinder: u32::from(plug),
                btdc: (phasing.spark_btdc_deg(own) + error(2) * 2.0).clamp(-360.0, 360.0),
                within: 2.0,
                by,
            }),
        }
    }
}

/// How a round came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    First,
    Tie,
    Behind,
    Missing,
}

fn play(round: &Round, by: Light) -> (Outcome, String) {
    let engine = round.engine();
    let truth = round.assembly(&engine);
    let phasing = Phasing::as_built(&engine, &truth);
    let plugs = round.plugs(&engine, &truth);
    let mut seen = Observations::default();
    // The crank begins on either turn: the builder cannot know.
    let mut crank = CrankAngle::new(if round.errors[11] > 0.0 { 0.0 } else { 360.0 });
    let mut found = None;
    for (nth, &plug) in plugs.iter().enumerate() {
        seen.sightings
            .push(round.sighting(&phasing, crank, nth, plug, by));
        let diagnosis = diagnose(&engine, &seen);
        // On, by the mark, to where the next look is; by a quarter turn where nothing is left to
        // tell apart.
        let next = diagnosis
            .tell_apart
            .iter()
            .find(|look| matches!(look.at, LookAt::Valve(..)) && look.turn_on);
        let on = next.map_or(90.0, |look| {
            (look.crank_deg - crank.by_the_mark()).rem_euclid(360.0)
        });
        crank = CrankAngle::new(crank.degrees() + on);
        found = Some(diagnosis);
    }
    let found = found.expect("four positions");
    let same = |assembly: &Assembly| {
        (assembly.cam_teeth, assembly.drive_out(), &assembly.leads)
            == (truth.cam_teeth, truth.drive_out(), &truth.leads)
    };
    let place = found.fits.iter().position(|fit| same(&fit.assembly));
    let told = format!(
        "{} {truth:?}: place {place:?} of {}; first {:?}; {round:?}",
        engine.name(),
        found.fits.len(),
        found.fits.first()
    );
    let outcome = match place {
        None => Outcome::Missing,
        Some(_) if !found.explained => Outcome::Missing,
        Some(0) => Outcome::First,
        Some(_)
            if faults(&engine, &found.fits[0].assembly) <= faults(&engine, &truth)
                && alike(&engine, &phasing, &found.fits[0].assembly, round) =>
        {
            Outcome::Tie
        }
        Some(_) => Outcome::Behind,
    };
    (outcome, told)
}

/// Whether another assembly's every event, rotor and spark lies so near the truth's that the
/// readings could not part them: within twice what could be read, once for each side.
fn alike(engine: &Arc<Engine>, truth: &Phasing, other: &Assembly, round: &Round) -> bool {
    let other = Phasing::as_built(engine, other);
    let off = |degrees: f64, cycle: f64| (degrees + cycle / 2.0).rem_euclid(cycle) - cycle / 2.0;
    // A valve's state tells no more than where it is a tenth of a millimetre off its seat.
    let by_eye = Valve::BOTH.map(|valve| {
        let lobe = match valve {
            Valve::Intake => truth.intake(),
            Valve::Exhaust => truth.exhaust(),
        };
        let share: f64 = 0.10 / lobe.full_lift_mm();
        lobe.seat_duration_deg() * (1.0 - (1.0 - share.cbrt()).sqrt()) / 2.0
    });
    let events = (0..engine.camshaft_count()).all(|camshaft| {
        let [other, truth] = [&other, truth].map(|phasing| phasing.cam_ahead(camshaft));
        (other.at_crank().degrees() - truth.at_crank().degrees()).abs()
            <= 2.0 * round.crank_within + by_eye[0].max(by_eye[1])
    });
    let zero = CrankAngle::new(0.0);
    let rotor = match (other.at(zero).rotor, truth.at(zero).rotor) {
        (Some(other), Some(truth)) => {
            off(other.clock.degrees() - truth.clock.degrees(), 360.0).abs()
                <= 2.0 * round.rotor_within + round.crank_within
        }
        _ => true,
    };
    let sparks = truth
        .cylinders()
        .iter()
        .zip(other.cylinders())
        .all(|(one, two)| {
            off(truth.spark_btdc_deg(one) - other.spark_btdc_deg(two), 720.0).abs() <= 4.0
        });
    events && rotor && sparks
}

fn play_all(count: usize, seed: u8, by: Light) -> [usize; 4] {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[seed; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let strategy = rounds();
    let mut outcomes = [0; 4];
    for _ in 0..count {
        let round = strategy.new_tree(&mut runner).expect("a round").current();
        let (outcome, told) = play(&round, by);
        assert_ne!(
            outcome,
            Outcome::Missing,
            "the truth is not among the fits: {told}"
        );
        if outcome != Outcome::First {
            println!("{outcome:?}: {told}\n");
        }
        outcomes[outcome as usize] += 1;
    }
    println!(
        "{by:?}: first {}, true ties {}, behind {}, missing {} of {count}",
        outcomes[0], outcomes[1], outcomes[2], outcomes[3]
    );
    outcomes
}

#[test]
fn a_wrong_assembly_is_found_from_four_sightings() {
    let count = 1000;
    let [first, ties, ..] = play_all(count, 7, Light::Lamp);
    assert!(first * 100 >= count * 99, "first in {first} of {count}");
    assert_eq!(first + ties, count, "the rest are true ties");
}

#[test]
fn a_wrong_assembly_is_found_by_a_timing_light_too_unless_its_mark_hides_a_whole_turn() {
    // The mark cannot tell 8° before TDC from 352° after, so a rotor half round with the leads half
    // round may pass for the rotor alone.
    let count = 1000;
    let [first, ties, behind, _] = play_all(count, 7, Light::Strobe);
    assert!(
        first * 100 >= count * 95,
        "first in {first}, {ties} ties and {behind} behind of {count}"
    );
}

/// What a builder sees who looks at this and that: of each thing that could be seen, sometimes.
fn glimpses() -> impl Strategy<Value = (Round, Vec<Glimpse>, f64, bool)> {
    let glimpse = (
        0.0..720.0f64,
        any::<u64>(),
        any::<u8>(),
        prop::collection::vec(-1.0..=1.0f64, 3),
        any::<bool>(),
    )
        .prop_map(|(crank, valves, things, errors, turned_on)| Glimpse {
            crank,
            valves,
            things,
            errors,
            turned_on,
        });
    (
        rounds(),
        prop::collection::vec(glimpse, 1..6),
        prop_oneof![Just(0.0), -15.0..=15.0f64],
        any::<bool>(),
    )
}

#[derive(Clone, Debug)]
struct Glimpse {
    /// How far on from the last.
    crank: f64,
    valves: u64,
    things: u8,
    errors: Vec<f64>,
    turned_on: bool,
}

impl Glimpse {
    fn sighting(&self, round: &Round, phasing: &Phasing, crank: CrankAngle) -> Observation {
        let whole = Round {
            errors: self.errors.clone(),
            ..round.clone()
        };
        let plugs = phasing.cylinders().len();
        let plug = phasing.cylinders()[usize::from(self.things >> 4) % plugs].number;
        let mut seen = whole.sighting(phasing, crank, 0, plug, Light::Strobe);
        let mut bit = 0;
        seen.valves.retain(|_| {
            bit += 1;
            self.valves >> (bit % 64) & 1 == 1
        });
        let has = |bit: u8| self.things >> bit & 1 == 1;
        let reading = phasing.at(crank);
        if has(0) {
            // By the tower it is nearest to.
            let tower = reading.rotor.expect("one with a distributor").tower_index;
            let number = phasing.engine().firing_order()[tower];
            seen.rotor = Some(RotorObservation {
                clock: None,
                tower: Some(u32::from(number)),
                within: None,
            });
        } else if has(1) {
            seen.rotor = None;
        }
        if has(2) {
            let felt = reading
                .cylinders
                .iter()
                .filter(|cylinder| cylinder.pushes_the_thumb());
            seen.compression_felt = felt.map(|cylinder| u32::from(cylinder.number)).collect();
        }
        if let Some(spark) = &mut seen.spark {
            // By a timing light, as its mark shows it: within half a turn of TDC.
            spark.btdc = (spark.btdc + 180.0).rem_euclid(360.0) - 180.0;
        }
        if has(3) {
            seen.spark = None;
        }
        seen
    }
}

#[test]
fn whatever_is_seen_the_truth_is_among_the_fits() {
    let mut runner = TestRunner::new_with_rng(
        Config::default(),
        TestRng::from_seed(RngAlgorithm::ChaCha, &[3; 32]),
    );
    let strategy = glimpses();
    for _ in 0..400 {
        let (round, glimpses, body_turn_deg, traced) =
            strategy.new_tree(&mut runner).expect("a round").current();
        let engine = round.engine();
        let truth = Assembly {
            body_turn_deg,
            ..round.assembly(&engine)
        };
        let phasing = Phasing::as_built(&engine, &truth);
        let leads = traced.then(|| {
            phasing
                .leads()
                .iter()
                .map(|&lead| u32::from(lead))
                .collect()
        });
        let mut seen = Observations {
            leads,
            body_turn: body_turn_deg,
            ..Observations::default()
        };
        let mut crank = CrankAngle::new(0.0);
        for glimpse in &glimpses {
            crank = CrankAngle::new(crank.degrees() + glimpse.crank);
            let mut sighting = glimpse.sighting(&round, &phasing, crank);
            sighting.turned_on = glimpse.turned_on && glimpse.crank < 360.0;
            seen.sightings.push(sighting);
        }
        let found = diagnose(&engine, &seen);
        let among = found.fits.iter().any(|fit| fit.assembly == truth);
        assert!(
            found.explained && among,
            "{}: {truth:?} is not among {} fits of {seen:#?}",
            engine.name(),
            found.fits.len()
        );
        let in_order = found
            .fits
            .windows(2)
            .all(|pair| pair[0].faults <= pair[1].faults);
        assert!(in_order, "fewest faults first");
        for fit in &found.fits {
            assert_eq!(fit.faults, faults(&engine, &fit.assembly));
        }
        for look in &found.tell_apart {
            assert!(
                look.splits().iter().all(|left| *left <= found.fits.len()),
                "{look:?}"
            );
        }
    }
}

#[test]
#[ignore = "the same over many more rounds; run it with --ignored in a release build"]
fn a_wrong_assembly_is_found_from_four_sightings_in_thousands_of_rounds() {
    let count = 5000;
    let [first, ties, ..] = play_all(count, 11, Light::Lamp);
    assert!(first * 100 >= count * 99, "first in {first} of {count}");
    assert_eq!(first + ties, count, "the rest are true ties");
}
