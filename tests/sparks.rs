//! Sparks without a distributor, or twice as many, and a tongue on a geared shaft: against values
//! from outside, against an independent reckoning, and by planting faults in engines by chance.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::sync::Arc;

use common::every_valve;
use dotwise::angle::{CrankAngle, Direction};
use dotwise::description::{Coupling, Description, Shaft, Sparks};
use dotwise::diagnosis::next_look::Look;
use dotwise::diagnosis::observations::{
    CamTeethOff, Light, Observation, RotorObservation, SlotObservation, SparkObservation,
};
use dotwise::diagnosis::verdict::VerdictKind;
use dotwise::diagnosis::{Observations, diagnose, fault, hypotheses, verdict};
use dotwise::engine::arrangement::{Arrangement, EngineChoice, IgnitionChoice};
use dotwise::engine::{Assembly, Engine, scenes};
use dotwise::laws::ignition;
use dotwise::phasing::Phasing;
use proptest::prelude::*;

/// An engine of an arrangement that fires in an order, its sparks so.
fn engine_of(
    layout: Arrangement,
    cylinders: u8,
    order: Option<&[u32]>,
    ignition: IgnitionChoice,
) -> Arc<Engine> {
    described(layout, cylinders, order, ignition)
        .map(|description| Engine::new(description).expect("an engine").0)
        .expect("such an order")
}

fn described(
    layout: Arrangement,
    cylinders: u8,
    order: Option<&[u32]>,
    ignition: IgnitionChoice,
) -> Option<Description> {
    let choice = EngineChoice {
        layout,
        cylinders,
        ignition,
        ..EngineChoice::default()
    };
    choice.cranks().iter().find_map(|crank| {
        let orders = choice.orders(&crank.throws);
        let fits = orders
            .iter()
            .find(|found| order.is_none_or(|wanted| found.cylinders == wanted));
        fits.map(|found| choice.describe(&crank.throws, found))
    })
}

/// The coils of an engine, each sorted, the first cylinder's first.
fn coils(engine: &Engine) -> Vec<Vec<u8>> {
    let mut coils: Vec<Vec<u8>> = engine.coils().to_vec();
    coils.iter_mut().for_each(|coil| coil.sort_unstable());
    coils.sort();
    coils
}

#[test]
fn coils_join_the_running_mates() {
    // Inline six 1-5-3-6-2-4: 1 and 6, 5 and 2, 3 and 4 (running mates; common practice, no
    // source; the order as in FAA-H-8083-32, chapter 1). Four 1-3-4-2: 1 and 4, 2 and 3 (common
    // practice, no source). Flat four 1-4-2-3 (the order as in FAA-H-8083-32, chapter 1): 1 and 2,
    // 3 and 4, every second of an order of four.
    type Case<'a> = (Arrangement, u8, &'a [u32], &'a [&'a [u8]]);
    let cases: [Case<'_>; 3] = [
        (
            Arrangement::Inline,
            6,
            &[1, 5, 3, 6, 2, 4],
            &[&[1, 6], &[2, 5], &[3, 4]],
        ),
        (Arrangement::Inline, 4, &[1, 3, 4, 2], &[&[1, 4], &[2, 3]]),
        (Arrangement::Flat, 4, &[1, 4, 2, 3], &[&[1, 2], &[3, 4]]),
    ];
    for (layout, cylinders, order, wanted) in cases {
        let engine = engine_of(layout, cylinders, Some(order), IgnitionChoice::Coils);
        assert_eq!(coils(&engine), wanted, "{order:?}");
        for coil in engine.coils() {
            let fires = |number| engine.fires_deg(number).expect("it fires");
            assert!(((fires(coil[0]) - fires(coil[1])).abs() - 360.0).abs() < 1e-9);
        }
    }
}

#[test]
fn coils_across_the_running_mates_are_refused_with_the_partner_that_fits() {
    // Running mates of the inline six: 1 and 6, 5 and 2 (common practice, no source).
    let mut description = described(
        Arrangement::Inline,
        6,
        Some(&[1, 5, 3, 6, 2, 4]),
        IgnitionChoice::Coils,
    )
    .expect("a six");
    description.ignition.coils = Some(vec![vec![1, 5], vec![6, 2], vec![3, 4]]);
    let findings = Engine::new(description).expect_err("refused");
    let said: Vec<String> = findings
        .iter()
        .map(|finding| format!("{}: {} / {}", finding.place, finding.message, finding.fix))
        .collect();
    assert_eq!(
        said,
        [
            "ignition.coils[0]: No. 1 fires at 0° and No. 5 at 120°: 120° apart on one coil / No. 1 goes with No. 6; No. 5 goes with No. 2",
            "ignition.coils[1]: No. 6 fires at 360° and No. 2 at 480°: 120° apart on one coil / No. 6 goes with No. 1; No. 2 goes with No. 5",
        ]
    );
}

#[test]
fn a_tooth_of_the_shaft_is_so_much_rotor_and_a_tongue_half_a_turn() {
    // 360° / 11 teeth = 32.727° of rotor, twice that at the crank; half a turn 180° (arithmetic).
    let engine = scenes::find("tongue_and_shaft").expect("a scene").engine();
    let rotor = |drive_teeth: i32, tongue_half_turn: bool| {
        let built = Phasing::as_built(
            &engine,
            &Assembly {
                drive_teeth,
                tongue_half_turn,
                ..Assembly::default()
            },
        );
        let clock = built.at(CrankAngle::new(0.0)).rotor.expect("a rotor").clock;
        let spark = built.spark_btdc_deg(built.cylinder(1).expect("No. 1"));
        (clock, spark)
    };
    let (drawn, drawn_btdc) = rotor(0, false);
    for (teeth, half, ahead) in [(1, false, 32.727), (0, true, 180.0), (-1, true, 147.273)] {
        let (clock, btdc) = rotor(teeth, half);
        let moved = clock.past(drawn, Direction::CounterClockwise);
        assert!(((moved - ahead).abs() % 360.0) < 0.001, "{moved}");
        let early = (btdc - drawn_btdc - 2.0 * ahead).rem_euclid(720.0);
        assert!(early.min(720.0 - early) < 0.002, "{early}");
    }
}

#[test]
fn leads_changed_over_on_one_coil_do_no_harm_and_between_coils_they_do() {
    let engine = engine_of(
        Arrangement::Inline,
        4,
        Some(&[1, 3, 4, 2]),
        IgnitionChoice::Coils,
    );
    assert_eq!(engine.lead_order(), [1, 4, 3, 2]);
    let built = |leads: &[u8]| Assembly {
        leads: Some(leads.to_vec()),
        ..Assembly::default()
    };
    let verdict = |assembly: &Assembly| verdict::of(&Phasing::as_built(&engine, assembly));
    let harmless = built(&[4, 1, 3, 2]);
    assert_eq!(hypotheses::faults(&engine, &harmless), 0);
    assert_eq!(verdict(&harmless).kind, VerdictKind::AsDrawn);
    assert_eq!(
        fault::describe(&engine, &harmless),
        "The leads of No. 1 and No. 4 are changed over where it does no harm: their plugs spark together."
    );
    let wrong = built(&[3, 4, 1, 2]);
    assert_eq!(hypotheses::faults(&engine, &wrong), 1);
    assert_eq!(verdict(&wrong).kind, VerdictKind::RunsBadly);
    assert_eq!(
        fault::describe(&engine, &wrong),
        "The leads of No. 1 and No. 3 are changed over."
    );
    let coils = built(&[2, 3, 1, 4]);
    assert_eq!(
        fault::describe(&engine, &coils),
        "The coils of No. 1 and No. 4 and of No. 3 and No. 2 are changed over."
    );
}

/// An engine by chance with coils, or with a magneto on its crank.
fn without_distributor() -> impl Strategy<Value = Arc<Engine>> {
    let layout = prop_oneof![Just(Arrangement::Inline), Just(Arrangement::Flat)];
    let ignition = prop_oneof![Just(IgnitionChoice::Coils), Just(IgnitionChoice::Magneto)];
    (layout, 0..6usize, ignition, -4.0..24.0f64).prop_map(|(layout, count, ignition, advance)| {
        let counts = layout.counts();
        let cylinders = counts[count % counts.len()];
        let mut description =
            described(layout, cylinders, None, ignition).expect("an order of that many");
        description.ignition.static_advance = advance;
        Engine::new(description).expect("an engine").0
    })
}

/// A four whose tongue goes into a geared shaft.
fn on_geared_shaft() -> impl Strategy<Value = Arc<Engine>> {
    (9..17u32, any::<bool>(), any::<bool>(), 0.0..360.0f64).prop_map(
        |(teeth, central, clockwise, slot_at)| {
            let scene = scenes::find("tongue_and_shaft").expect("a scene");
            let mut description = scene.engine().written().clone();
            let distributor = description.distributor.as_mut().expect("a distributor");
            (distributor.driver_teeth, distributor.driven_teeth) = (teeth, teeth);
            distributor.coupling = Some(if central {
                Coupling::CentralTongue
            } else {
                Coupling::OffsetTongue
            });
            distributor.shaft = Some(Shaft::Geared);
            distributor.slot_at = Some(slot_at);
            distributor.rotation = Some(if clockwise {
                Direction::Clockwise
            } else {
                Direction::CounterClockwise
            });
            Engine::new(description).expect("an engine").0
        },
    )
}

/// What is seen of an engine so built with the crank at an angle: every valve, a plug's spark, and of
/// a distributor its rotor and, lifted off, its slot.
fn seen(built: &Phasing, crank_deg: f64, plug: u8, turned_on: bool) -> Observation {
    let reading = built.at(CrankAngle::new(crank_deg));
    let mut sighting = Observation::at(crank_deg.rem_euclid(360.0));
    sighting.within = 1.0;
    sighting.turned_on = turned_on;
    sighting.valves = every_valve(&reading);
    sighting.rotor = reading.rotor.map(|rotor| RotorObservation {
        clock: Some(rotor.clock.degrees()),
        within: Some(3.0),
        ..RotorObservation::default()
    });
    sighting.slot = slot_of(built, crank_deg);
    let cylinder = built.cylinder(plug).expect("the plug's cylinder");
    sighting.spark = Some(SparkObservation {
        cylinder: u32::from(plug),
        btdc: built.spark_btdc_deg(cylinder),
        within: 2.0,
        by: Light::Strobe,
    });
    sighting
}

/// Where the slot of the shaft stands, reckoned from the description alone.
fn slot_of(built: &Phasing, crank_deg: f64) -> Option<SlotObservation> {
    let distributor = built.engine().metric().distributor.as_ref()?;
    let slot_at = distributor.slot_at?;
    let sign = match distributor.rotation() {
        Direction::Clockwise => 1.0,
        Direction::CounterClockwise => -1.0,
    };
    let teeth = f64::from(built.assembly().drive_teeth) * 360.0
        / f64::from(distributor.driven_teeth)
        + built.cam_ahead(0).degrees();
    let clock = (slot_at + sign * (crank_deg / 2.0 + teeth)).rem_euclid(360.0);
    Some(SlotObservation {
        clock,
        within: Some(3.0),
    })
}

/// Sightings of an engine so built: a place for each of its plugs, turned on from one to the next.
fn all_seen(engine: &Arc<Engine>, truth: &Assembly, from_deg: f64) -> Observations {
    let built = Phasing::as_built(engine, truth);
    let step = 97.0;
    let sightings = (0..engine.cylinder_count().max(4)).map(|nth| {
        let plug = engine.firing_order()[nth % engine.cylinder_count()];
        seen(&built, from_deg + step * nth as f64, plug, nth > 0)
    });
    Observations {
        sightings: sightings.collect(),
        ..Observations::default()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn the_next_spark_is_the_first_of_all_reckoned_from_the_description(engine in without_distributor(), crank in 0.0..720.0f64) {
        let d = engine.metric();
        let every_turn = d.ignition.sparks() == Sparks::EveryTurn;
        // Each plug at its firing TDC less the advance, and a turn on where it sparks every turn.
        let sparks = engine.firing_order().iter().zip(engine.firing_angles()).flat_map(|(&number, &fires)| {
            let own = fires - d.ignition.static_advance;
            [(number, own, false), (number, own + 360.0, true)]
        });
        let coming = sparks
            .filter(|(_, _, wasted)| every_turn || !wasted)
            .map(|(number, at, wasted)| (number, (at - crank).rem_euclid(720.0), wasted))
            .map(|(number, after, wasted)| (number, if after < 1e-9 { 720.0 } else { after }, wasted))
            .collect::<Vec<_>>();
        let first = coming.iter().map(|spark| spark.1).fold(f64::MAX, f64::min);
        let together: Vec<_> = coming.iter().filter(|spark| spark.1 - first < 1e-6).collect();
        let next = Phasing::as_drawn(&engine).at(CrankAngle::new(crank)).next_spark;
        prop_assert!((next.after.degrees() - first).abs() < 1e-6, "{next:?} {coming:?}");
        prop_assert!(together.iter().any(|spark| (spark.0, spark.2) == (next.cylinder, next.wasted)), "{next:?} {together:?}");
        // Of those that come together a useful one is named.
        prop_assert_eq!(next.wasted, together.iter().all(|spark| spark.2));
    }

    #[test]
    fn leads_planted_on_coils_are_found(engine in without_distributor(), way in any::<prop::sample::Index>(), from in 0.0..360.0f64) {
        prop_assume!(engine.has_leads());
        let order = engine.lead_order().to_vec();
        let pairs: Vec<(usize, usize)> = (0..order.len()).flat_map(|one| (one + 1..order.len()).map(move |other| (one, other))).collect();
        prop_assume!(!pairs.is_empty());
        let (one, other) = *way.get(&pairs);
        let mut leads = order;
        leads.swap(one, other);
        let truth = Assembly { leads: Some(leads), ..Assembly::default() };
        let found = diagnose(&engine, &all_seen(&engine, &truth, from));
        prop_assert!(found.explained);
        let best = &found.fits[0];
        // The fewest faults that explain it are those planted, and their sparks the same.
        prop_assert_eq!(best.faults, hypotheses::faults(&engine, &truth));
        let sparks = |assembly: &Assembly| {
            let built = Phasing::as_built(&engine, assembly);
            built.cylinders().iter().map(|one| built.spark_btdc_deg(one)).collect::<Vec<f64>>()
        };
        for (found, planted) in sparks(&best.assembly).into_iter().zip(sparks(&truth)) {
            prop_assert!((found - planted).abs() < 1e-6);
        }
        let harmless = best.faults == 0;
        let said = fault::describe(&engine, &truth);
        prop_assert_eq!(harmless, said.contains("does no harm"), "{}", said);
        prop_assert_eq!(harmless, verdict::of(&Phasing::as_built(&engine, &truth)).kind == VerdictKind::AsDrawn);
    }

    #[test]
    fn a_shaft_and_a_tongue_planted_out_are_found(engine in on_geared_shaft(), teeth in -3..=3i32, half in any::<bool>(), from in 0.0..360.0f64) {
        let distributor = engine.metric().distributor.as_ref().expect("a distributor");
        let central = distributor.coupling() == Coupling::CentralTongue;
        let truth = Assembly { drive_teeth: teeth, tongue_half_turn: half && central, ..Assembly::default() };
        prop_assert!(truth.check(&engine).is_empty());
        let found = diagnose(&engine, &all_seen(&engine, &truth, from));
        prop_assert!(found.explained);
        let best = &found.fits[0].assembly;
        prop_assert_eq!(best.drive_out().simplest(distributor), truth.drive_out().simplest(distributor), "{:?}", best);
        prop_assert_eq!(found.fits[0].faults, hypotheses::faults(&engine, &truth));
        // What is named puts the rotor where it was seen.
        let rotor = |assembly: &Assembly| Phasing::as_built(&engine, assembly).at(CrankAngle::new(0.0)).rotor.expect("a rotor").clock;
        prop_assert!(rotor(best).past(rotor(&truth), Direction::Clockwise).abs() < 1e-6);
    }

    #[test]
    fn each_place_of_the_rotor_is_tried_once(engine in on_geared_shaft()) {
        let distributor = engine.metric().distributor.as_ref().expect("a distributor");
        let ways = hypotheses::drive_ways(distributor);
        let teeth = distributor.driven_teeth as usize;
        let central = distributor.coupling() == Coupling::CentralTongue;
        prop_assert_eq!(ways.len(), if central && teeth % 2 == 1 { 2 * teeth } else { teeth });
        prop_assert!(ways[0].is_as_drawn());
        let tooth = ignition::rotor_tooth(distributor).degrees();
        let mut places: Vec<f64> = ways.iter().map(|way| (f64::from(way.teeth) * tooth + if way.half_turn { 180.0 } else { 0.0 }).rem_euclid(360.0)).map(|place| if place > 359.999 { 0.0 } else { place }).collect();
        places.sort_by(f64::total_cmp);
        for pair in places.windows(2) {
            prop_assert!(pair[1] - pair[0] > 1.0, "{places:?}");
        }
    }
}

#[test]
fn what_a_rotor_cannot_part_the_slot_does() {
    // Of seven teeth three ahead is 154.3° of rotor, the tongue alone 180°: by a coarse look at the
    // rotor either; the slot stands where it should in the one and 154.3° on in the other.
    let scene = scenes::find("tongue_and_shaft").expect("a scene");
    let mut description = scene.engine().written().clone();
    let distributor = description.distributor.as_mut().expect("a distributor");
    (distributor.driver_teeth, distributor.driven_teeth) = (7, 7);
    let engine = Engine::new(description).expect("an engine").0;
    let truth = Assembly {
        tongue_half_turn: true,
        ..Assembly::default()
    };
    let built = Phasing::as_built(&engine, &truth);
    let mut sighting = seen(&built, 30.0, 1, false);
    (sighting.slot, sighting.spark) = (None, None);
    sighting.cam_teeth_off = Some(CamTeethOff::Every(0));
    sighting.rotor = sighting.rotor.map(|rotor| RotorObservation {
        within: Some(27.0),
        ..rotor
    });
    let mut observations = Observations {
        sightings: vec![sighting],
        leads: Some(
            engine
                .firing_order()
                .iter()
                .map(|&n| u32::from(n))
                .collect(),
        ),
        ..Observations::default()
    };
    let about = |observations: &Observations| {
        let found = diagnose(&engine, observations);
        let drives: Vec<(i32, bool)> = found
            .fits
            .iter()
            .filter(|fit| fit.assembly.cam_teeth == 0)
            .map(|fit| (fit.assembly.drive_teeth, fit.assembly.tongue_half_turn))
            .collect();
        let looks: Vec<String> = found.tell_apart.iter().map(Look::to_do).collect();
        (drives, looks)
    };
    let (drives, looks) = about(&observations);
    assert!(
        drives.contains(&(0, true)) && drives.contains(&(3, false)),
        "{drives:?}"
    );
    assert!(
        looks.iter().any(|look| look
            .contains("lift the distributor off and see where the slot of its shaft stands")),
        "{looks:?}"
    );
    observations.sightings[0].slot = slot_of(&built, 30.0);
    let (drives, _) = about(&observations);
    assert!(
        drives.contains(&(0, true)) && !drives.contains(&(3, false)),
        "{drives:?}"
    );
}
