//! What the readings of a step come to.

use std::collections::BTreeMap;

use super::step::Step;
use crate::angle::{CrankAngle, wrap_signed};
use crate::description::{Clearance, Coupling, Valve, job_steps as keys};
use crate::diagnosis::observations::ROTOR_WITHIN_DEG;
use crate::laws::clearance::{LeastGaps, least_allowed_mm};
use crate::laws::gear_train::CamTeeth;
use crate::laws::{Lobes, clearance, ignition};
use crate::phasing::Phasing;
use crate::procedures::degreeing::{self, Degreed, EventReadings, Found};
use crate::procedures::tdc;
use crate::words::{Units, advance, ahead, capitalised, degrees, from_nearest_tdc, length, teeth};

/// What readings come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reckoned {
    /// In words, a sentence each.
    pub words: Vec<String>,
    /// Whether it is as it should be; None where nothing can be said of that.
    pub right: Option<bool>,
}

impl Reckoned {
    fn new(right: Option<bool>, words: Vec<String>) -> Self {
        Self { words, right }
    }

    fn not(why: &crate::procedures::Error) -> Self {
        Self::new(
            Some(false),
            vec![sentence(&why.to_string()), sentence(&why.remedy())],
        )
    }
}

/// What these readings of a step come to on an engine as drawn, in its file's units; None where
/// there is nothing to reckon, or not enough was read.
pub fn reckon(
    step: &Step,
    phasing: &Phasing,
    readings: &BTreeMap<String, f64>,
) -> Option<Reckoned> {
    let drawn = &Phasing::as_drawn(phasing.engine());
    let units = drawn.engine().written().units;
    let degrees_of = |name: &str| readings.get(name).copied();
    let mm = |name: &str| Some(readings.get(name)? * units.millimetres());
    match step.key.as_str() {
        key if key == keys::TDC_STOP.key => {
            Some(true_tdc(drawn, degrees_of("a")?, degrees_of("b")?))
        }
        key if key == keys::CAM_DEGREED.key => cam(drawn, readings),
        key if key == keys::CLEARANCE_DROP.key => {
            Some(by_drop(drawn, mm("intake-drop")?, mm("exhaust-drop")?))
        }
        key if key == keys::CLEARANCE_CLAY.key => {
            by_clay(units, [mm("intake-clay"), mm("exhaust-clay")])
        }
        key if key == keys::SPARK_SET.key => Some(spark(drawn, degrees_of("spark")?)),
        key if key == keys::BODY_CLAMPED.key => rotor(drawn, degrees_of("rotor")?),
        _ => None,
    }
}

/// A sentence of words that are a line for the builder.
fn sentence(words: &str) -> String {
    // Some are written for the command of their own, and begin with its option.
    let words = words.trim_start_matches('-').trim_end_matches('.');
    format!("{}.", capitalised(words))
}

/// Where the rotor points at No. 1's firing TDC against where it is drawn; None without one.
fn rotor(drawn: &Phasing, clock_deg: f64) -> Option<Reckoned> {
    let is = drawn.at(CrankAngle::new(0.0)).rotor?.clock.degrees();
    let distributor = drawn.engine().metric().distributor.as_ref()?;
    let off = wrap_signed(clock_deg - is, 360.0);
    if off.abs() <= ROTOR_WITHIN_DEG {
        return Some(Reckoned::new(
            Some(true),
            vec![format!(
                "The rotor points where it must, at {}, as well as that can be read.",
                degrees(is)
            )],
        ));
    }
    let tooth = ignition::rotor_tooth(distributor).degrees();
    let teeth_out = (off * distributor.rotation().sign() / tooth).round() as i32;
    let how = match distributor.coupling() {
        Coupling::Gear if teeth_out != 0 => format!(
            ", which is {} of its drive {}: lift it and mesh it again",
            teeth(teeth_out),
            ahead(teeth_out > 0)
        ),
        _ => {
            ": see that the crank is at No. 1's firing TDC, and how the drive went home".to_owned()
        }
    };
    Some(Reckoned::new(
        Some(false),
        vec![format!(
            "The rotor must point at {} at No. 1's firing TDC; this is {} away{how}.",
            degrees(is),
            degrees(off.abs())
        )],
    ))
}

fn true_tdc(drawn: &Phasing, a_deg: f64, b_deg: f64) -> Reckoned {
    let stop = match tdc::stop(a_deg, b_deg, Some(drawn.slider())) {
        Ok(stop) => stop,
        Err(why) => return Reckoned::not(&why),
    };
    if stop.straddles_bdc {
        return Reckoned::new(
            Some(false),
            vec![format!(
                "Midway is {} on the wheel: these are readings either side of the bottom. Set the wheel about right at the top, and read again.",
                degrees(stop.tdc_deg)
            )],
        );
    }
    let mut words = vec![format!(
        "True TDC is where the wheel reads {}: bring the crank there, and move the wheel or its pointer until it reads 0.",
        degrees(stop.tdc_deg)
    )];
    if stop.tdc_deg.abs() < 0.05 {
        words = vec!["True TDC is where the wheel reads 0: it is set.".to_owned()];
    }
    Reckoned::new(None, words)
}

/// Where the camshaft stands by the readings; None where the intake was not read, or the lift.
pub(super) fn degreed(
    drawn: &Phasing,
    readings: &BTreeMap<String, f64>,
) -> Option<Result<Degreed, crate::procedures::Error>> {
    let engine = drawn.engine();
    let lift_mm = readings.get("lift")? * engine.written().units.millimetres();
    let pair = |valve: Valve| {
        let read = |end: &str| readings.get(&format!("{}-{end}", valve.word())).copied();
        Some((read("opens")?, read("closes")?))
    };
    let of = |valve: Valve, (opens, closes): (f64, f64)| -> Result<EventReadings, _> {
        degreeing::readings(engine, valve, opens, closes, lift_mm)
    };
    let intake = match of(Valve::Intake, pair(Valve::Intake)?) {
        Ok(intake) => intake,
        Err(why) => return Some(Err(why)),
    };
    let exhaust = match pair(Valve::Exhaust)
        .map(|read| of(Valve::Exhaust, read))
        .transpose()
    {
        Ok(exhaust) => exhaust,
        Err(why) => return Some(Err(why)),
    };
    degreeing::degree(engine, intake, exhaust, lift_mm).map(Ok)
}

fn cam(drawn: &Phasing, readings: &BTreeMap<String, f64>) -> Option<Reckoned> {
    let found = match degreed(drawn, readings)? {
        Ok(found) => found,
        Err(why) => return Some(Reckoned::not(&why)),
    };
    let mut words = Vec::new();
    words.extend(found.intake_centre_deg.map(|centre| {
        format!(
            "The intake's lobe centre is {} after TDC; the card has {}.",
            degrees(centre),
            degrees(found.card_deg[0])
        )
    }));
    words.extend(found.exhaust_centre_deg.map(|centre| {
        format!(
            "The exhaust's is {} before it; the card has {}.",
            degrees(centre),
            degrees(found.card_deg[1])
        )
    }));
    words.push(match found.found {
        Found::Right => "The camshaft stands where its card has it.".to_owned(),
        Found::Teeth => format!(
            "The camshaft is {} {}, {} of crank: mesh it again.",
            teeth(found.cam_teeth),
            ahead(found.cam_teeth > 0),
            degrees(found.against_card_deg.abs())
        ),
        Found::NoTooth => format!(
            "The camshaft is {} of crank against its card, which no whole teeth explain: look at its key, dowel or offset bush. `dotwise degree` says more.",
            advance(found.against_card_deg)
        ),
        Found::LobesDisagree => {
            "Intake and exhaust are not out alike: read both again, for the camshaft's place explains neither.".to_owned()
        }
    });
    // What no tooth explains is for the builder and the maker's manual to judge.
    let right = match found.found {
        Found::Right => Some(true),
        Found::Teeth => Some(false),
        _ => None,
    };
    Some(Reckoned::new(right, words))
}

/// The least gaps that drops at TDC leave.
fn gaps(drawn: &Phasing, intake_drop: f64, exhaust_drop: f64) -> LeastGaps {
    let metric = drawn.engine().metric();
    let valve_angle = metric
        .clearance
        .as_ref()
        .and_then(|measured| measured.valve_angle);
    let measured = Clearance {
        intake_drop,
        exhaust_drop,
        valve_angle,
        valves_touch_at: None,
    };
    let ahead = clearance::ahead(metric, CamTeeth::default());
    clearance::least(
        &measured,
        drawn.slider(),
        &Lobes::of(&metric.valves),
        &ahead,
    )
}

fn by_drop(drawn: &Phasing, intake_mm: f64, exhaust_mm: f64) -> Reckoned {
    let units = drawn.engine().written().units;
    let gaps = gaps(drawn, intake_mm, exhaust_mm);
    let words = Valve::BOTH.map(|valve| {
        let gap = gaps.of(valve);
        format!(
            "The {} comes nearest {}: {}.",
            valve.word(),
            from_nearest_tdc(gap.crank.degrees(), 1),
            judged(valve, gap.gap_mm, units)
        )
    });
    let mut words = words.to_vec();
    words.push(
        "Reckoned with the lift that the description has, without lash: prove it by clay."
            .to_owned(),
    );
    // The maker's manual may be content with less than common practice.
    let right = if gaps.meets() {
        Some(false)
    } else {
        gaps.is_enough(units).then_some(true)
    };
    Reckoned::new(right, words)
}

/// A gap, and whether common practice has it for enough.
fn judged(valve: Valve, gap_mm: f64, units: Units) -> String {
    let least_mm = least_allowed_mm(valve, units);
    let (gap, least) = (length(gap_mm, units), length(least_mm, units));
    if gap_mm <= 0.0 {
        format!("{gap}, so they MEET: do not turn it on")
    } else if gap_mm < least_mm {
        format!("{gap}, too little, for {least} is the least")
    } else {
        format!("{gap}, enough, for {least} is the least")
    }
}

fn by_clay(units: Units, thickness_mm: [Option<f64>; 2]) -> Option<Reckoned> {
    let read: Vec<(Valve, f64)> = Valve::BOTH
        .into_iter()
        .zip(thickness_mm)
        .filter_map(|(valve, mm)| Some((valve, mm?)))
        .collect();
    let enough = |(valve, mm): &(Valve, f64)| *mm >= least_allowed_mm(*valve, units);
    // The maker's manual may be content with less than common practice.
    let right = if read.iter().any(|(_, mm)| *mm <= 0.0) {
        Some(false)
    } else {
        read.iter().all(enough).then_some(true)
    };
    let words: Vec<String> = read
        .iter()
        .map(|(valve, mm)| {
            format!(
                "Under the {}: {}.",
                valve.word(),
                judged(*valve, *mm, units)
            )
        })
        .collect();
    (!words.is_empty()).then(|| Reckoned::new(right, words))
}

fn spark(drawn: &Phasing, btdc_deg: f64) -> Reckoned {
    /// How well a lamp is read on a pulley. Common practice, no source.
    const WITHIN_DEG: f64 = 2.0;
    let wanted_deg = drawn.engine().metric().ignition.static_advance;
    let early_deg = btdc_deg - wanted_deg;
    let right = early_deg.abs() <= WITHIN_DEG;
    let words = if right {
        format!(
            "The spark comes where it should, {} before TDC, within 2°.",
            degrees(wanted_deg)
        )
    } else {
        format!(
            "The spark comes {} against the {} before TDC that it should: set it again.",
            advance(early_deg),
            degrees(wanted_deg)
        )
    };
    Reckoned::new(Some(right), vec![words])
}
