//! One way of putting the engine together, against what was seen: what it explains, and what it
//! leaves unexplained.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the sightings of one diagnosis"
)]

use std::fmt;

use super::evidence::{DistributorSetting, Evidence, Revolution};
use super::hypotheses::leads_of;
use super::observations::{Observation, SparkObservation};
use super::stage::Stage;
use super::{fault, remedy};
use crate::angle::{Clock, CrankAngle, Direction, RotorTurn, wrap_signed};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::words::{before_tdc, degrees, number};

/// One way of putting the engine together, against what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The way.
    pub assembly: Assembly,
    /// Its faults, counted by part.
    pub faults: u32,
    /// The turn of the crank on which each sighting was made.
    pub turns: Vec<Revolution>,
    /// What it leaves unexplained.
    pub misfits: Vec<Misfit>,
    /// Where only sparks are unexplained, and all by as much: how far the body would have to stand
    /// turned on from where the file has it, rotor degrees against the rotor's rotation.
    pub body_stands_deg: Option<f64>,
    /// How far it is from agreeing outright: the squares of each thing's share of its reading,
    /// added up.
    pub cost: f64,
}

/// Something seen that a way of putting the engine together does not explain.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// Which sighting, 0 for the first.
    pub sighting: usize,
    /// What was seen and what it would be.
    pub text: String,
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sighting {}: {}", self.sighting + 1, self.text)
    }
}

impl Fit {
    /// What is out, in one sentence.
    pub fn describe(&self, engine: &Engine) -> String {
        fault::describe(engine, &self.assembly)
    }

    /// What would put it right, in the order in which it is done at this stage.
    pub fn remedies(&self, engine: &Engine, stage: Stage) -> Vec<String> {
        let mut lines: Vec<String> = self
            .body_stands_deg
            .iter()
            .map(|&turn| remedy::body_that_stands_elsewhere(engine, turn))
            .collect();
        lines.extend(remedy::lines(engine, &self.assembly, stage));
        lines
    }

    /// Leads in the engine's lead order.
    pub fn leads<'a>(&'a self, engine: &'a Engine) -> &'a [u8] {
        leads_of(engine, &self.assembly)
    }
}

/// Everything a way leaves unexplained, sighting by sighting.
pub(super) fn misfits(evidence: &Evidence<'_>, fit: &Fit, leads: &[u8]) -> Vec<Misfit> {
    let assembly = &fit.assembly;
    let setting = DistributorSetting {
        teeth_out: evidence.teeth_out(assembly.cams(), assembly.drive_out()),
        leads,
    };
    let sightings = evidence.seen.sightings.iter().enumerate();
    let all = sightings.flat_map(|(sighting, seen)| {
        let base = evidence.crank(sighting, false);
        let crank = evidence.crank(sighting, Revolution::of(base) != fit.turns[sighting]);
        let mut texts = valve_misfits(evidence, assembly.cams(), crank, seen);
        texts.extend(rotor_misfit(evidence, setting.teeth_out, crank, seen));
        texts.extend(slot_misfit(evidence, assembly, crank, seen));
        texts.extend(counted_misfits(evidence, assembly.cams(), sighting));
        texts.extend(spark_misfit(evidence, setting, seen));
        let misfit = move |text| Misfit { sighting, text };
        texts.into_iter().map(misfit)
    });
    all.collect()
}

/// The valves and the compression of a sighting that are not explained.
fn valve_misfits(
    evidence: &Evidence<'_>,
    cams: CamTeeth,
    crank: CrankAngle,
    seen: &Observation,
) -> Vec<String> {
    let missed = seen
        .valves
        .iter()
        .filter(|valve| evidence.valve(cams, crank, seen.within, valve) > 1.0);
    let valves = missed.map(|valve| {
        let off = evidence.off_seat_by_deg(cams, crank, valve.cylinder, valve.valve);
        let would = if off > 0.0 { "open" } else { "closed" };
        format!(
            "the {} valve of No. {} was seen {}; it would be {would}, {} from the nearest change",
            valve.valve.word(),
            valve.cylinder,
            valve.is.word(),
            degrees(off.abs().round())
        )
    });
    let missed = seen
        .compression_felt
        .iter()
        .filter(|&&cylinder| evidence.compression(cams, crank, seen.within, cylinder) > 1.0);
    let compression = missed.map(|cylinder| {
        format!("compression was felt in No. {cylinder}; there would be none to feel")
    });
    valves.chain(compression).collect()
}

fn rotor_misfit(
    evidence: &Evidence<'_>,
    teeth_out: RotorTurn,
    crank: CrankAngle,
    seen: &Observation,
) -> Option<String> {
    let rotor = seen.rotor.as_ref()?;
    if evidence.rotor(teeth_out, crank, seen.within, rotor) <= 1.0 {
        return None;
    }
    if let Some(number_on_it) = rotor.tower
        && let Some(tower) = evidence.tower_of(number_on_it)
    {
        let (past, _) = evidence.past_tower(teeth_out, crank, tower)?;
        let side = if past < 0.0 { "short of" } else { "past" };
        return Some(format!(
            "the rotor was seen at the tower of No. {number_on_it}; it would stand {}° {side} it",
            number(past.abs(), 1)
        ));
    }
    let clock = rotor.clock.unwrap_or_default();
    let would = evidence.rotor_clock(teeth_out, crank)?;
    let off = would.past(Clock::new(clock), Direction::Clockwise).abs();
    Some(format!(
        "the rotor was seen at {}; it would stand at {}°, {}° away",
        degrees(clock),
        number(would.degrees(), 1),
        number(off, 1)
    ))
}

fn slot_misfit(
    evidence: &Evidence<'_>,
    assembly: &Assembly,
    crank: CrankAngle,
    seen: &Observation,
) -> Option<String> {
    let slot = seen.slot.as_ref()?;
    let (cams, drive) = (assembly.cams(), assembly.drive_out());
    if evidence.slot(cams, drive, crank, seen.within, slot) <= 1.0 {
        return None;
    }
    let would = evidence.slot_clock(cams, drive, crank)?;
    Some(format!(
        "the slot of the shaft was seen at {}; it would stand at {}°",
        degrees(slot.clock),
        number(would.degrees(), 1)
    ))
}

fn counted_misfits(evidence: &Evidence<'_>, cams: CamTeeth, sighting: usize) -> Vec<String> {
    let engine = evidence.engine;
    let counted = evidence.counted[sighting].iter();
    let missed = counted.filter(|(camshaft, counted)| cams.of(*camshaft) != *counted);
    let misfit = |(camshaft, counted): &(usize, i32)| {
        let dot = if engine.has_several_camshafts() {
            format!("the {}'s dot", engine.camshaft_name(*camshaft))
        } else {
            "the cam's dot".to_owned()
        };
        let would = cams.of(*camshaft);
        let text = format!("was counted {counted} teeth off; it would be {would} off");
        format!("{dot} {}", text.replace('-', "−"))
    };
    missed.map(misfit).collect()
}

fn spark_misfit(
    evidence: &Evidence<'_>,
    setting: DistributorSetting<'_>,
    seen: &Observation,
) -> Option<String> {
    let spark = seen.spark.as_ref()?;
    if evidence.spark(setting, spark).0 <= 1.0 {
        return None;
    }
    Some(format!(
        "the spark of No. {} was seen {}; it would come {}",
        spark.cylinder,
        before_tdc(spark.btdc),
        before_tdc(evidence.spark_btdc_deg(setting, spark.cylinder))
    ))
}

/// Where the body would have to stand to explain sparks that are unexplained, where nothing else is
/// and all are out by as much.
pub(super) fn body_stands(evidence: &Evidence<'_>, fit: &Fit, leads: &[u8]) -> Option<f64> {
    let distributor = evidence.engine.metric().distributor.as_ref()?;
    let setting = DistributorSetting {
        teeth_out: evidence.teeth_out(fit.assembly.cams(), fit.assembly.drive_out()),
        leads,
    };
    let sightings = evidence.seen.sightings.iter();
    let sparks: Vec<_> = sightings
        .filter_map(|sighting| sighting.spark.as_ref())
        .collect();
    let missed = sparks
        .iter()
        .filter(|spark| evidence.spark(setting, spark).0 > 1.0)
        .count();
    let early = |spark: &SparkObservation| {
        let would = evidence.spark_btdc_deg(setting, spark.cylinder);
        wrap_signed(spark.btdc - would, 360.0)
    };
    let first = early(sparks.first()?);
    let alike = sparks
        .iter()
        .all(|spark| (early(spark) - first).abs() <= spark.within + sparks[0].within);
    let turn = first / 2.0;
    let reached = remedy::reaches(distributor, evidence.seen.body_turn + turn);
    (missed > 0 && missed == fit.misfits.len() && alike && reached).then_some(turn)
}
