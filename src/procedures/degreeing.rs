//! Degreeing the camshaft: lobe centres from two readings at equal lift.
//!
//! A symmetric lobe is midway between the two crank angles at which it holds its valve at the same
//! lift, whichever lift that is. Readings count from No. 1's overlap TDC, after it positive; the
//! intake's centre comes out after TDC, the exhaust's before it. Against the card, advance is card
//! − measured for the intake, measured − card for the exhaust, in crank degrees.

use serde::Serialize;

use crate::angle::CrankTurn;
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::{Lobes, gear_train};
use crate::words::{serialize_rounded, serialize_rounded_option};

/// What was read on the degree wheel for one valve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EventReadings {
    /// Where the valve came to the lift going up.
    pub opens_deg: f64,
    /// Where it came back to it.
    pub closes_deg: f64,
}

impl EventReadings {
    /// Midway between the two: the lobe's centre.
    pub fn centre_deg(self) -> f64 {
        (self.opens_deg + self.closes_deg) / 2.0
    }

    /// Crank degrees between.
    pub fn duration_deg(self) -> f64 {
        self.closes_deg - self.opens_deg
    }
}

/// Where the camshaft stands by the readings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Degreed {
    /// The intake lobe's centre, crank degrees after TDC.
    #[serde(serialize_with = "serialize_rounded")]
    pub intake_centre_deg: f64,
    /// The exhaust lobe's, before TDC, where it was read.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub exhaust_centre_deg: Option<f64>,
    /// Half their sum, in cam degrees.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub separation_deg: Option<f64>,
    /// Separation less intake centre: how far the camshaft stands ahead of straight up.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub advance_deg: Option<f64>,
    /// How far ahead of the card, crank degrees; the mean of both valves where both were read.
    #[serde(serialize_with = "serialize_rounded")]
    pub against_card_deg: f64,
    /// The intake's and the exhaust's own.
    #[serde(skip)]
    pub by_valve_deg: (f64, Option<f64>),
    /// Whole teeth of the cam wheel in that.
    pub cam_teeth: i32,
    /// What is left over.
    #[serde(serialize_with = "serialize_rounded")]
    pub rest_deg: f64,
    /// What backlash could account for, either way; where it is given.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub backlash_crank_deg: Option<f64>,
    /// How much longer each was open at that lift than the lift law has it.
    #[serde(skip)]
    pub longer_deg: (f64, Option<f64>),
}

/// The centre of a lobe on the card: intake after TDC, exhaust before it.
pub fn card_centre_deg(engine: &Engine, valve: Valve) -> f64 {
    let centre_deg = Lobes::of(&engine.metric().valves).lobe(valve).centre_deg();
    match valve {
        Valve::Intake => centre_deg - 360.0,
        Valve::Exhaust => 360.0 - centre_deg,
    }
}

/// Where the camshaft stands by readings of both valves at equal lift. None where the lift is under
/// 0 or one of the valves never comes to it.
///
/// ```
/// use dotwise::procedures::degreeing::{EventReadings, degree};
/// use dotwise::engine::scenes::BENCH;
/// // 31/63/77/29: centres 106 and 114, separation 110, 4° advanced. A trade article on reading cam cards, 2023.
/// let intake = EventReadings { opens_deg: -31.0, closes_deg: 180.0 + 63.0 };
/// let exhaust = EventReadings { opens_deg: -180.0 - 77.0, closes_deg: 29.0 };
/// let degreed = degree(&BENCH.engine(), intake, Some(exhaust), 0.0).expect("a lift both come to");
/// assert_eq!(degreed.intake_centre_deg, 106.0);
/// assert_eq!(degreed.exhaust_centre_deg, Some(114.0));
/// assert_eq!((degreed.separation_deg, degreed.advance_deg), (Some(110.0), Some(4.0)));
/// ```
pub fn degree(
    engine: &Engine,
    intake: EventReadings,
    exhaust: Option<EventReadings>,
    lift_mm: f64,
) -> Option<Degreed> {
    let description = engine.metric();
    let lobes = Lobes::of(&description.valves);
    let longer_intake = intake.duration_deg() - lobes.intake.duration_over_deg(lift_mm)?;
    let longer_exhaust = match exhaust {
        Some(exhaust) => Some(exhaust.duration_deg() - lobes.exhaust.duration_over_deg(lift_mm)?),
        None => None,
    };
    let intake_centre_deg = intake.centre_deg();
    let exhaust_centre_deg = exhaust.map(|exhaust| 0.0 - exhaust.centre_deg());
    let separation_deg = exhaust_centre_deg.map(|exhaust| (intake_centre_deg + exhaust) / 2.0);
    let by_intake = card_centre_deg(engine, Valve::Intake) - intake_centre_deg;
    let by_exhaust =
        exhaust_centre_deg.map(|exhaust| exhaust - card_centre_deg(engine, Valve::Exhaust));
    let against_card_deg = by_exhaust.map_or(by_intake, |exhaust| (by_intake + exhaust) / 2.0);
    let tooth = gear_train::crank_per_cam_tooth(&description.cam_drive).degrees();
    let cam_teeth = (against_card_deg / tooth).round() as i32;
    Some(Degreed {
        intake_centre_deg,
        exhaust_centre_deg,
        separation_deg,
        advance_deg: separation_deg.map(|separation| separation - intake_centre_deg),
        against_card_deg,
        by_valve_deg: (by_intake, by_exhaust),
        cam_teeth,
        rest_deg: against_card_deg - f64::from(cam_teeth) * tooth,
        backlash_crank_deg: gear_train::crank_play(&description.cam_drive).map(CrankTurn::degrees),
        longer_deg: (longer_intake, longer_exhaust),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::CrankAngle;
    use crate::engine::Assembly;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;
    use crate::phasing::Phasing;
    use approx::assert_abs_diff_eq;

    fn read(opens_deg: f64, closes_deg: f64) -> EventReadings {
        EventReadings {
            opens_deg,
            closes_deg,
        }
    }

    /// An engine with these four events, in the order of a cam card.
    fn with_events(events: [f64; 4]) -> std::sync::Arc<Engine> {
        let mut description = BENCH.engine().written().clone();
        (
            description.valves.intake.opens_btdc,
            description.valves.intake.closes_abdc,
        ) = (events[0], events[1]);
        (
            description.valves.exhaust.opens_bbdc,
            description.valves.exhaust.closes_atdc,
        ) = (events[2], events[3]);
        Engine::new(description).expect("an engine").0
    }

    #[test]
    fn five_degrees_either_way_are_found_against_the_card() {
        // 20/60/60/20; 5° advanced 25-55/65-15; 5° retarded 15-65/55-25; separation unchanged.
        // Trade forum, common practice.
        let engine = with_events([20.0, 60.0, 60.0, 20.0]);
        for (advance, [io, ic, eo, ec]) in [
            (0.0, [20.0, 60.0, 60.0, 20.0]),
            (5.0, [25.0, 55.0, 65.0, 15.0]),
            (-5.0, [15.0, 65.0, 55.0, 25.0]),
        ] {
            let degreed = degree(
                &engine,
                read(-io, 180.0 + ic),
                Some(read(-180.0 - eo, ec)),
                0.0,
            )
            .expect("read");
            assert_abs_diff_eq!(degreed.against_card_deg, advance, epsilon = 1e-9);
            assert_abs_diff_eq!(degreed.separation_deg.expect("both"), 110.0, epsilon = 1e-9);
            assert_abs_diff_eq!(degreed.longer_deg.0, 0.0, epsilon = 1e-9);
        }
    }

    #[test]
    fn readings_taken_at_any_lift_from_an_engine_a_tooth_out_find_the_tooth() {
        for scene in scenes::SCENES {
            let engine = scene.engine();
            for cam_teeth in [-2, -1, 0, 1, 3] {
                let phasing = Phasing::as_built(
                    &engine,
                    &Assembly {
                        cam_teeth,
                        ..Assembly::default()
                    },
                );
                for lift_mm in [0.5, 1.27, 4.0] {
                    // Walked, as on the bench: where No. 1's valve comes to the lift going up, and
                    // back to it.
                    let walk = |intake: bool| {
                        let lift = |deg: f64| {
                            let one = *phasing.at(CrankAngle::new(deg)).cylinder(1).expect("No. 1");
                            if intake {
                                one.intake.lift_mm
                            } else {
                                one.exhaust.lift_mm
                            }
                        };
                        let from = if intake { 180.0 } else { 0.0 };
                        let steps: Vec<f64> =
                            (0..7200).map(|step| from + f64::from(step) * 0.1).collect();
                        let up = steps
                            .windows(2)
                            .find(|pair| lift(pair[0]) < lift_mm && lift(pair[1]) >= lift_mm)
                            .expect("up")[1];
                        let down = steps
                            .windows(2)
                            .find(|pair| lift(pair[0]) >= lift_mm && lift(pair[1]) < lift_mm)
                            .expect("down")[0];
                        read(up - 360.0, down - 360.0)
                    };
                    let degreed =
                        degree(&engine, walk(true), Some(walk(false)), lift_mm).expect("read");
                    assert_eq!(
                        degreed.cam_teeth, cam_teeth,
                        "{} at {lift_mm} mm: {degreed:?}",
                        scene.name
                    );
                    assert_abs_diff_eq!(degreed.rest_deg, 0.0, epsilon = 0.11);
                    assert_abs_diff_eq!(degreed.longer_deg.0, 0.0, epsilon = 0.21);
                }
            }
        }
    }

    #[test]
    fn a_lift_that_a_valve_never_comes_to_gives_nothing() {
        assert_eq!(degree(&BENCH.engine(), read(-12.0, 232.0), None, 9.6), None);
        assert_eq!(
            degree(&BENCH.engine(), read(-12.0, 232.0), None, -0.1),
            None
        );
    }

    #[test]
    fn backlash_of_a_tenth_at_twenty_millimetres_is_so_much_of_the_camshaft() {
        // Backlash 0.1 mm at radius 20 mm: 0.28648°; twice that in crank degrees. Recomputed.
        let mut description = BENCH.engine().written().clone();
        description.cam_drive.crank_teeth = 20;
        description.cam_drive.cam_teeth = 40;
        (description.cam_drive.module, description.cam_drive.backlash) = (Some(1.0), Some(0.1));
        let engine = Engine::new(description).expect("an engine").0;
        let degreed = degree(&engine, read(-12.0, 232.0), None, 0.0).expect("read");
        assert_abs_diff_eq!(
            degreed.backlash_crank_deg.expect("given"),
            2.0 * 0.28648,
            epsilon = 1e-5
        );
    }
}
