//! Degreeing the camshaft: lobe centres from two readings at equal lift.
//!
//! A symmetric lobe is midway between the two crank angles at which it holds its valve at the same
//! lift, whichever lift that is. Readings count from No. 1's overlap TDC, after it positive; the
//! intake's centre comes out after TDC, the exhaust's before it. Against the card, advance is card
//! − measured for the intake, measured − card for the exhaust, in crank degrees.
//!
//! A camshaft a tooth out takes both lobes along, by whole teeth of its wheel. Whole teeth are named
//! only where they leave no more than a quarter of a tooth, at each lobe that was read, and the
//! lobes agree; what is left is a key, a chain or belt, the grinding or the reading, and is taken out
//! at the camshaft by half as many degrees. Lobes that agree, and whose mean is within what a wheel
//! reads, stand right.
//!
//! Readings as another wheel or a cam card would have them are recognised by the lobe that they then
//! fit, and said how to write.

use serde::Serialize;

use super::error::Error;
pub use super::event_readings::EventReadings;
use crate::angle::CrankTurn;
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::gear_train::CamTeeth;
use crate::laws::{Lobe, Lobes, MeasuredLift, gear_train};
use crate::words::{serialize_rounded, serialize_rounded_option};

/// A lobe that agrees with its card to within this is right: what a degree wheel reads. Crank
/// degrees. Common practice, no source.
pub const RIGHT_WITHIN_DEG: f64 = 2.0;
/// Two lobes that lie apart by more do not agree: a reading at each end of both. Common practice, no
/// source.
const AGREE_WITHIN_DEG: f64 = 4.0;
/// A share of a tooth: what lies farther from whole teeth is no tooth.
const OF_A_TOOTH: f64 = 0.25;
/// A lobe that is not quite the lift law still lies within this at usual lifts. Common practice, no
/// source.
pub const LOBE_WITHIN_DEG: f64 = 15.0;
/// Readings whose duration is farther out than this are not of this lobe at this lift. Common
/// practice, no source.
const DURATION_WITHIN_DEG: f64 = 75.0;
/// Teeth that a camshaft may be out, as the diagnosis tries; and where its teeth are many, so many
/// crank degrees. Common practice, no source.
const MOST_TEETH: f64 = 4.0;
const MOST_OUT_DEG: f64 = 75.0;

/// What the readings come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// It stands where its card has it.
    Right,
    /// It is whole teeth out, both lobes alike, and what is left is no more than a reading.
    Teeth,
    /// It is out by what no whole teeth explain.
    NoTooth,
    /// Intake and exhaust lobe are not out alike: the camshaft's place explains neither.
    LobesDisagree,
}

/// Where the camshaft stands by the readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Degreed {
    /// The intake lobe's centre, crank degrees after TDC, where it was read.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub intake_centre_deg: Option<f64>,
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
    /// What the card has for the intake's and the exhaust's centre, each on its own side of TDC.
    #[serde(skip)]
    pub card_deg: [f64; 2],
    /// The intake's and the exhaust's own.
    #[serde(skip)]
    pub by_valve_deg: [Option<f64>; 2],
    /// Whole teeth of the cam wheel in that.
    pub cam_teeth: i32,
    /// What is left over.
    #[serde(serialize_with = "serialize_rounded")]
    pub rest_deg: f64,
    /// What backlash could account for, either way; where it is given.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub backlash_crank_deg: Option<f64>,
    /// What that comes to.
    pub found: Found,
    /// The lift of the readings, at the valve, millimetres; of lobes read as a whole, half the
    /// height of the first.
    #[serde(serialize_with = "serialize_rounded")]
    pub lift_at_valve_mm: f64,
    /// Of an engine with several camshafts, each that works a valve of No. 1 that was read, by the
    /// readings of its own. Where there are two, the figures above are those of the valve that was
    /// read, and the intake's where both were.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub camshafts: Vec<DegreedCamshaft>,
    /// How much longer the intake's and the exhaust's were open at that lift than the description's
    /// lobe has it.
    #[serde(skip)]
    pub longer_deg: [Option<f64>; 2],
}

/// The centre of a lobe on the card: intake after TDC, exhaust before it.
pub fn card_centre_deg(engine: &Engine, valve: Valve) -> f64 {
    on_its_side(valve, drawn_centre_deg(engine, valve))
}

/// A phase on a valve's own side of overlap TDC: after it for the intake, before it for the exhaust.
fn on_its_side(valve: Valve, phase_deg: f64) -> f64 {
    match valve {
        Valve::Intake => phase_deg - 360.0,
        Valve::Exhaust => 360.0 - phase_deg,
    }
}

/// The phase at which No. 1's valve is fully open as drawn, its camshaft's trim in it.
fn drawn_centre_deg(engine: &Engine, valve: Valve) -> f64 {
    let lobes = Lobes::on_card(&engine.metric().valves);
    lobes.lobe(valve).centre_deg() - trim_deg(engine, valve)
}

/// How far ahead the trim of No. 1's camshaft has a valve as drawn, crank degrees.
pub(super) fn trim_deg(engine: &Engine, valve: Valve) -> f64 {
    let camshaft = engine.camshaft_of(1, valve);
    gear_train::valves_ahead(engine.metric(), camshaft, CamTeeth::default()).degrees()
}

/// One of several camshafts, by the readings of No. 1's valves that it works.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DegreedCamshaft {
    /// Its name.
    pub name: String,
    /// Which it is, counted from 0.
    #[serde(skip)]
    pub camshaft: usize,
    /// How far ahead of the card, crank degrees.
    #[serde(serialize_with = "serialize_rounded")]
    pub against_card_deg: f64,
    /// Whole teeth of its wheel in that.
    pub cam_teeth: i32,
    /// What is left over.
    #[serde(serialize_with = "serialize_rounded")]
    pub rest_deg: f64,
    /// What that comes to.
    pub found: Found,
}

impl DegreedCamshaft {
    /// `camshaft` by its lobes that were read, each so far ahead of the card; None where none was.
    fn of(
        engine: &Engine,
        camshaft: usize,
        lobes: [Option<f64>; 2],
        tooth_deg: f64,
        play_deg: f64,
    ) -> Option<Self> {
        let ahead_deg = mean(lobes)?;
        let teeth = (ahead_deg / tooth_deg).round();
        Some(Self {
            name: engine.camshaft_name(camshaft).to_owned(),
            camshaft,
            against_card_deg: ahead_deg,
            cam_teeth: teeth as i32,
            rest_deg: ahead_deg - teeth * tooth_deg,
            found: judged(lobes, tooth_deg, play_deg),
        })
    }
}

/// The mean of what was read.
fn mean(lobes: [Option<f64>; 2]) -> Option<f64> {
    match lobes {
        [Some(intake), Some(exhaust)] => Some(f64::midpoint(intake, exhaust)),
        [one, other] => one.or(other),
    }
}

/// What two camshafts that stand so come to together.
fn together(one: Found, other: Found) -> Found {
    match (one, other) {
        (Found::Right, Found::Right) => Found::Right,
        (Found::Right | Found::Teeth, Found::Right | Found::Teeth) => Found::Teeth,
        _ => Found::NoTooth,
    }
}

/// Where the camshaft stands by readings of both valves at equal lift, measured where the
/// description measures its lifts. None where the lift is under 0 or one of the valves never comes
/// to it.
///
/// ```
/// use dotwise::procedures::degreeing::{EventReadings, degree};
/// use dotwise::engine::scenes::BENCH;
/// // 31/63/77/29: centres 106 and 114, separation 110, 4° advanced. A trade article on reading cam cards, 2023.
/// let intake = EventReadings { opens_deg: -31.0, closes_deg: 180.0 + 63.0 };
/// let exhaust = EventReadings { opens_deg: -180.0 - 77.0, closes_deg: 29.0 };
/// let degreed = degree(&BENCH.engine(), intake, Some(exhaust), 0.0).expect("a lift both come to");
/// assert_eq!(degreed.intake_centre_deg, Some(106.0));
/// assert_eq!(degreed.exhaust_centre_deg, Some(114.0));
/// assert_eq!((degreed.separation_deg, degreed.advance_deg), (Some(110.0), Some(4.0)));
/// ```
pub fn degree(
    engine: &Engine,
    intake: EventReadings,
    exhaust: Option<EventReadings>,
    lift_mm: f64,
) -> Option<Degreed> {
    let valves = &engine.metric().valves;
    let lobes = Lobes::on_card(valves);
    let lift_mm = lift_mm * valves.ratio();
    let longer_intake = intake.duration_deg() - lobes.intake.duration_over_deg(lift_mm)?;
    let longer_exhaust = match exhaust {
        Some(exhaust) => Some(exhaust.duration_deg() - lobes.exhaust.duration_over_deg(lift_mm)?),
        None => None,
    };
    let centres_deg = [
        Some(intake.centre_deg()),
        exhaust.map(EventReadings::centre_deg),
    ];
    let longer_deg = [Some(longer_intake), longer_exhaust];
    // A lobe that is not alike on both sides has another middle at another lift.
    let card_deg = Valve::BOTH.map(|valve| {
        let lobe = lobes.lobe(valve);
        on_its_side(
            valve,
            lobe.middle_over_deg(lift_mm).unwrap_or(lobe.centre_deg()) - trim_deg(engine, valve),
        )
    });
    Some(degreed(engine, centres_deg, card_deg, lift_mm, longer_deg))
}

/// Where the camshaft stands by lobes that were read from seat to seat, of one valve or of both,
/// where the description measures its lifts: each lobe's centre is the middle of equal lifts at half
/// its height. None where neither was read.
pub fn degree_lobes(engine: &Engine, lobes: [Option<&MeasuredLift>; 2]) -> Option<Degreed> {
    let first = lobes.into_iter().flatten().next()?;
    let valves = &engine.metric().valves;
    let card = Lobes::on_card(valves);
    let longer = |read: &MeasuredLift, card: &Lobe| {
        let half_mm = read.full_lift_mm() / 2.0;
        let wanted_deg = card.duration_over_deg(half_mm * valves.ratio())?;
        Some(read.duration_over_deg(half_mm)? - wanted_deg)
    };
    let [intake, exhaust] = lobes;
    Some(degreed(
        engine,
        lobes.map(|lobe| Some(lobe?.centre_deg() - 360.0)),
        Valve::BOTH.map(|valve| card_centre_deg(engine, valve)),
        first.full_lift_mm() / 2.0 * valves.ratio(),
        [
            intake.and_then(|read| longer(read, &card.intake)),
            exhaust.and_then(|read| longer(read, &card.exhaust)),
        ],
    ))
}

/// Where the camshaft stands by the intake's and the exhaust's lobe centres, crank degrees after
/// overlap TDC, one at least.
fn degreed(
    engine: &Engine,
    centres_deg: [Option<f64>; 2],
    card_deg: [f64; 2],
    lift_at_valve_mm: f64,
    longer_deg: [Option<f64>; 2],
) -> Degreed {
    let description = engine.metric();
    let [intake_centre_deg, exhaust] = centres_deg;
    let exhaust_centre_deg = exhaust.map(|centre| 0.0 - centre);
    let both = intake_centre_deg.zip(exhaust_centre_deg);
    let separation_deg = both.map(|(intake, exhaust)| (intake + exhaust) / 2.0);
    let by_intake = intake_centre_deg.map(|intake| card_deg[0] - intake);
    let by_exhaust = exhaust_centre_deg.map(|exhaust| exhaust - card_deg[1]);
    let [intake_cam, exhaust_cam] = Valve::BOTH.map(|valve| engine.camshaft_of(1, valve));
    let against_card_deg = if intake_cam == exhaust_cam {
        mean([by_intake, by_exhaust])
    } else {
        by_intake.or(by_exhaust)
    };
    let against_card_deg = against_card_deg.unwrap_or(0.0);
    let tooth = gear_train::crank_per_cam_tooth(&description.cam_drive).degrees();
    let cam_teeth = (against_card_deg / tooth).round() as i32;
    let play = gear_train::crank_play(&description.cam_drive).map(CrankTurn::degrees);
    let read = if !engine.has_several_camshafts() {
        vec![]
    } else if intake_cam == exhaust_cam {
        vec![(intake_cam, [by_intake, by_exhaust])]
    } else {
        vec![
            (intake_cam, [by_intake, None]),
            (exhaust_cam, [None, by_exhaust]),
        ]
    };
    let camshafts: Vec<DegreedCamshaft> = read
        .into_iter()
        .filter_map(|(camshaft, lobes)| {
            DegreedCamshaft::of(engine, camshaft, lobes, tooth, play.unwrap_or(0.0))
        })
        .collect();
    let found = camshafts
        .iter()
        .map(|camshaft| camshaft.found)
        .reduce(together)
        .unwrap_or_else(|| judged([by_intake, by_exhaust], tooth, play.unwrap_or(0.0)));
    Degreed {
        intake_centre_deg,
        exhaust_centre_deg,
        separation_deg,
        advance_deg: both
            .zip(separation_deg)
            .map(|((intake, _), separation)| separation - intake),
        against_card_deg,
        card_deg,
        by_valve_deg: [by_intake, by_exhaust],
        cam_teeth,
        rest_deg: against_card_deg - f64::from(cam_teeth) * tooth,
        backlash_crank_deg: play,
        found,
        lift_at_valve_mm,
        camshafts,
        longer_deg,
    }
}

/// What lobes so far ahead of their card come to, with so many crank degrees for a tooth.
fn judged(lobes: [Option<f64>; 2], tooth_deg: f64, play_deg: f64) -> Found {
    let each = || lobes.iter().flatten();
    let mean_deg = each().sum::<f64>() / each().count().max(1) as f64;
    let apart_deg = match lobes {
        [Some(intake), Some(exhaust)] => (intake - exhaust).abs(),
        _ => 0.0,
    };
    let teeth = (mean_deg / tooth_deg).round();
    let left = |lobe: &f64| (lobe - teeth * tooth_deg).abs();
    let is_read = |deg: f64| deg.abs() <= RIGHT_WITHIN_DEG + play_deg;
    let agree = apart_deg <= AGREE_WITHIN_DEG + play_deg;
    if each().all(|lobe| is_read(*lobe)) || (agree && is_read(mean_deg)) {
        Found::Right
    } else if !agree {
        Found::LobesDisagree
    } else if teeth != 0.0 && each().all(|lobe| left(lobe) <= OF_A_TOOTH * tooth_deg) {
        Found::Teeth
    } else {
        Found::NoTooth
    }
}

/// The readings of one valve, where they are of its lobe.
///
/// # Errors
/// Where they are written as a cam card has them, count from another zero or start again on the way,
/// with how to write them; and where they are of no lobe that could stand in this engine.
pub fn readings(
    engine: &Engine,
    valve: Valve,
    opens_deg: f64,
    closes_deg: f64,
    lift_mm: f64,
) -> Result<EventReadings, Error> {
    let read = EventReadings {
        opens_deg,
        closes_deg,
    };
    let metric = engine.metric();
    let lobes = Lobes::on_card(&metric.valves);
    let wanted = lobes.lobe(valve);
    let lift_mm = lift_mm * metric.valves.ratio();
    // A lift that the valve never comes to is said by `degree`.
    let Some(wanted_deg) = wanted.duration_over_deg(lift_mm) else {
        return Ok(read);
    };
    let centre_deg = drawn_centre_deg(engine, valve) - 360.0;
    let most_out_deg = most_out_deg(engine);
    let longer = |read: EventReadings| (read.duration_deg() - wanted_deg).abs();
    let out = |read: EventReadings| (read.centre_deg() - centre_deg).abs();
    let is_of_it =
        |read: EventReadings| longer(read) <= DURATION_WITHIN_DEG && out(read) <= most_out_deg;
    if is_of_it(read) {
        return Ok(read);
    }
    let card = match valve {
        Valve::Intake => EventReadings {
            opens_deg: 0.0 - opens_deg,
            closes_deg: 180.0 + closes_deg,
        },
        Valve::Exhaust => EventReadings {
            opens_deg: -180.0 - opens_deg,
            closes_deg,
        },
    };
    if is_of_it(card) {
        return Err(Error::LikeACard {
            valve,
            read,
            meant: card,
        });
    }
    let turned = |opens: f64, closes: f64| EventReadings {
        opens_deg: opens_deg + 360.0 * opens,
        closes_deg: closes_deg + 360.0 * closes,
    };
    // Both a turn out: a wheel zeroed at the other TDC.
    if let Some(meant) = [-1.0, 1.0]
        .map(|turn| turned(turn, turn))
        .into_iter()
        .find(|read| is_of_it(*read))
    {
        return Err(Error::OtherTdc { valve, read, meant });
    }
    // Each on the wheel's own figures, which start again every turn.
    let turns = || [-2.0, -1.0, 0.0, 1.0, 2.0].into_iter();
    let starts_again = turns()
        .flat_map(|opens| turns().map(move |closes| turned(opens, closes)))
        .filter(|read| is_of_it(*read))
        .min_by(|one, other| out(*one).total_cmp(&out(*other)));
    if let Some(meant) = starts_again {
        return Err(Error::StartsAgain { valve, read, meant });
    }
    if closes_deg <= opens_deg {
        return Err(Error::ClosesFirst { valve, read });
    }
    if longer(read) > DURATION_WITHIN_DEG {
        return Err(Error::NotThisLong {
            valve,
            read,
            wanted_deg,
        });
    }
    Err(Error::TooFarOut {
        valve,
        out_deg: out(read),
        most_deg: most_out_deg,
    })
}

/// How far from its card a lobe's centre is looked for, crank degrees.
pub(super) fn most_out_deg(engine: &Engine) -> f64 {
    let tooth = gear_train::crank_per_cam_tooth(&engine.metric().cam_drive).degrees();
    (MOST_TEETH * tooth).clamp(MOST_OUT_DEG, 180.0) + OF_A_TOOTH * tooth
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
        ) = (Some(events[0]), Some(events[1]));
        (
            description.valves.exhaust.opens_bbdc,
            description.valves.exhaust.closes_atdc,
        ) = (Some(events[2]), Some(events[3]));
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
            assert_abs_diff_eq!(degreed.longer_deg[0].expect("read"), 0.0, epsilon = 1e-9);
        }
    }

    #[test]
    fn readings_taken_at_any_lift_from_an_engine_a_tooth_out_find_the_tooth() {
        for scene in scenes::SCENES {
            // A card beside lobes as measured is what they are not.
            let mut description = scene.engine().written().clone();
            let is_measured = description.valves.intake.lifts.is_some();
            description.valves.card = description.valves.card.filter(|_| !is_measured);
            let engine = Engine::new(description).expect("an engine").0;
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
                    let at = lift_mm / engine.metric().valves.ratio();
                    let degreed = degree(&engine, walk(true), Some(walk(false)), at).expect("read");
                    assert_eq!(
                        degreed.cam_teeth, cam_teeth,
                        "{} at {lift_mm} mm: {degreed:?}",
                        scene.name
                    );
                    assert_abs_diff_eq!(degreed.rest_deg, 0.0, epsilon = 0.11);
                    assert_abs_diff_eq!(degreed.longer_deg[0].expect("read"), 0.0, epsilon = 0.21);
                }
            }
        }
    }

    #[test]
    fn whole_teeth_are_named_where_they_explain_both_lobes_to_a_quarter_of_a_tooth() {
        // The bench four: 14.4° a tooth, 3.6° a quarter; centres 110° and 110°; play 0.11°.
        let engine = BENCH.engine();
        let found = |late_intake: f64, late_exhaust: f64| {
            let intake = read(-12.0 + late_intake, 232.0 + late_intake);
            let exhaust = read(-232.0 + late_exhaust, 12.0 + late_exhaust);
            degree(&engine, intake, Some(exhaust), 0.0)
                .expect("read")
                .found
        };
        for (intake, exhaust, wanted) in [
            (0.0, 0.0, Found::Right),
            (1.9, -1.9, Found::Right),
            // The mean is 0.75°, and the lobes are within 4° of one another.
            (-2.5, 1.0, Found::Right),
            (3.9, 0.1, Found::Right),
            (4.5, 0.0, Found::LobesDisagree),
            (2.5, 2.0, Found::NoTooth),
            (3.0, 3.0, Found::NoTooth),
            (7.2, 7.2, Found::NoTooth),
            (10.5, 10.5, Found::NoTooth),
            (11.0, 11.0, Found::Teeth),
            (14.4, 14.4, Found::Teeth),
            (-28.8, -28.8, Found::Teeth),
            (18.5, 17.5, Found::NoTooth),
            (0.0, 16.0, Found::LobesDisagree),
            (16.0, 0.0, Found::LobesDisagree),
        ] {
            assert_eq!(found(intake, exhaust), wanted, "{intake} {exhaust}");
        }
    }

    #[test]
    fn readings_as_another_wheel_or_a_card_has_them_are_said_how_to_write() {
        let engine = BENCH.engine();
        let meant = |valve, opens, closes| match readings(&engine, valve, opens, closes, 0.0) {
            Ok(read) => (read, "as they stand"),
            Err(Error::LikeACard { meant, .. }) => (meant, "a card"),
            Err(Error::OtherTdc { meant, .. }) => (meant, "the other TDC"),
            Err(Error::StartsAgain { meant, .. }) => (meant, "starting again"),
            Err(other) => panic!("{other}"),
        };
        for (opens, closes, how) in [
            (-12.0, 232.0, "as they stand"),
            (12.0, 52.0, "a card"),
            (348.0, 592.0, "the other TDC"),
            (348.0, 232.0, "starting again"),
        ] {
            assert_eq!(
                meant(Valve::Intake, opens, closes),
                (read(-12.0, 232.0), how)
            );
        }
        for (opens, closes, how) in [
            (-232.0, 12.0, "as they stand"),
            (52.0, 12.0, "a card"),
            (128.0, 372.0, "the other TDC"),
            (128.0, 12.0, "starting again"),
        ] {
            assert_eq!(
                meant(Valve::Exhaust, opens, closes),
                (read(-232.0, 12.0), how)
            );
        }
    }

    #[test]
    fn readings_of_no_lobe_are_refused() {
        let engine = BENCH.engine();
        let told = |opens, closes| {
            readings(&engine, Valve::Intake, opens, closes, 0.0)
                .expect_err("no lobe")
                .to_string()
        };
        assert!(
            told(700.0, 719.0).contains("19° long"),
            "{}",
            told(700.0, 719.0)
        );
        assert!(
            told(90.0, 334.0).contains("102° from"),
            "{}",
            told(90.0, 334.0)
        );
        assert!(told(100.0, 50.0).contains("close before it opens"));
    }

    #[test]
    fn a_lift_is_measured_where_the_description_measures_its_lifts() {
        let mut description = BENCH.engine().written().clone();
        let (intake, exhaust) = (
            &mut description.valves.intake,
            &mut description.valves.exhaust,
        );
        (intake.lift, exhaust.lift) = (Some(6.0), Some(6.0));
        description.valves.measured_at = Some(crate::description::MeasuredAt::Tappet);
        description.valves.rocker_ratio = Some(1.5);
        let engine = Engine::new(description).expect("an engine").0;
        // 6 mm at the tappet are 9 mm at the valve.
        let degreed = degree(&engine, read(-12.0, 232.0), None, 1.0).expect("under full lift");
        assert_abs_diff_eq!(degreed.lift_at_valve_mm, 1.5, epsilon = 1e-12);
        assert_eq!(degree(&engine, read(-12.0, 232.0), None, 6.1), None);
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
