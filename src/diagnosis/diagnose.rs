//! What was put together wrong, from what can be seen.
//!
//! Every way in [`Space`] is asked how well it agrees with everything seen, each sighting on
//! whichever turn of the crank suits it best. The ways that explain everything are the fits: fewest
//! faults first, then the best agreement, and between those that agree alike the likelier (a tooth
//! before three teeth). Where none explains everything, the nearest are given with what each leaves
//! unexplained.
//!
//! ```
//! use dotwise::diagnosis::diagnose::diagnose;
//! use dotwise::diagnosis::observations;
//! use dotwise::engine::scenes::BENCH;
//! let engine = BENCH.engine();
//! // At No. 1's TDC mark both its valves are shut, and the rotor is a tooth short of where it should be.
//! let seen = "(format: 1, sightings: [(
//!     crank: 0.0, rotor: (clock: 21.0),
//!     valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)],
//! )])";
//! let seen = observations::read(seen, &engine).sightings.expect("they can be seen on it");
//! let found = diagnose(&engine, &seen);
//! assert_eq!(found.fits[0].assembly.drive_teeth, -1);
//! assert_eq!(found.fits[0].says(&engine), "The distributor drive is one tooth behind.");
//! ```

use std::cmp::Ordering;
use std::fmt;

use super::evidence::{DistributorSetting, Evidence, Revolution, Score};
use super::hypotheses::Space;
use super::next_look;
use super::next_look::Look;
use super::observations::{Observations, RotorObservation, SparkObservation};
use super::{fault, remedy};
use crate::angle::wrap_signed;
use crate::engine::Assembly;
use crate::engine::Engine;
use crate::words::before_tdc;
use crate::words::{degrees, number};

/// How many of the nearest are given where nothing fits.
const NEAREST: usize = 5;
/// What one more tooth out costs between ways that agree alike: under what any reading can tell, so
/// it settles ties only.
const TOOTH_COST: f64 = 0.02;

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnosis {
    /// How many ways of putting the engine together were tried.
    pub tried: usize,
    /// Whether anything explains everything seen.
    pub explained: bool,
    /// What explains it, best first; where nothing does, the nearest.
    pub fits: Vec<Fit>,
    /// What to look at next, best first; empty where there is nothing left to tell apart.
    pub tell_apart: Vec<Look>,
}

impl Diagnosis {
    /// Whether the best answer is that nothing is out: no fault, and the body where it is drawn, to
    /// within what a light reads.
    pub fn is_right(&self) -> bool {
        let right = |fit: &Fit| {
            fit.faults == 0 && fit.assembly.body_turn_deg.abs() <= remedy::BODY_RIGHT_WITHIN_DEG
        };
        self.explained && self.fits.first().is_some_and(right)
    }
}

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
    pub says: String,
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sighting {}: {}", self.sighting + 1, self.says)
    }
}

impl Fit {
    /// What is out, in one sentence.
    pub fn says(&self, engine: &Engine) -> String {
        fault::says(engine, &self.assembly)
    }

    /// What would put it right, least work first.
    pub fn mend(&self, engine: &Engine) -> Vec<String> {
        let mut lines: Vec<String> = self
            .body_stands_deg
            .iter()
            .map(|&turn| remedy::body_that_stands_elsewhere(engine, turn))
            .collect();
        lines.extend(remedy::lines(engine, &self.assembly));
        lines
    }

    /// Leads from No. 1's tower in the rotor's direction.
    pub fn leads<'a>(&'a self, engine: &'a Engine) -> &'a [u8] {
        self.assembly
            .leads
            .as_deref()
            .unwrap_or(engine.firing_order())
    }
}

/// A way that was tried, small enough to keep all of them.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    cam: usize,
    drive: usize,
    leads: usize,
    faults: u32,
    tally: Score,
    /// For each run of sightings, whether the crank was on the other turn: bit by bit.
    other_turn: u128,
    /// What tells apart ways that agree alike.
    unlikely: f64,
}

/// Tries every way the parts could have been put together. Observations are checked before they come
/// here ([`observations::read`](super::observations::read())); whatever the engine has not is not
/// counted.
pub fn diagnose(engine: &Engine, seen: &Observations) -> Diagnosis {
    let space = Space::of(engine, seen);
    let evidence = Evidence::of(engine, seen);
    let mut candidates = try_all(&space, &evidence);
    let explained = candidates
        .iter()
        .any(|candidate| candidate.tally.misfits == 0);
    if explained {
        candidates.retain(|candidate| candidate.tally.misfits == 0);
        candidates.sort_by(|one, other| {
            one.faults
                .cmp(&other.faults)
                .then_with(|| alike(one, other))
        });
    } else {
        let by = |one: &Candidate, other: &Candidate| {
            let misfits = one.tally.misfits.cmp(&other.tally.misfits);
            misfits
                .then(one.faults.cmp(&other.faults))
                .then_with(|| alike(one, other))
        };
        if candidates.len() > NEAREST {
            candidates.select_nth_unstable_by(NEAREST, by);
            candidates.truncate(NEAREST);
        }
        candidates.sort_by(by);
    }
    let fits: Vec<Fit> = candidates
        .iter()
        .map(|candidate| fit(&space, &evidence, candidate, !explained))
        .collect();
    let tell_apart = if explained {
        next_look::looks(&evidence, &fits)
    } else {
        Vec::new()
    };
    Diagnosis {
        tried: space.count(),
        explained,
        fits,
        tell_apart,
    }
}

fn alike(one: &Candidate, other: &Candidate) -> Ordering {
    let key = |candidate: &Candidate| candidate.tally.cost + candidate.unlikely;
    let by_cost = key(one).total_cmp(&key(other));
    by_cost.then((one.cam, one.leads, one.drive).cmp(&(other.cam, other.leads, other.drive)))
}

fn try_all(space: &Space, evidence: &Evidence<'_>) -> Vec<Candidate> {
    let sightings = &evidence.seen.sightings;
    let teeth = evidence
        .engine
        .metric()
        .distributor
        .as_ref()
        .map_or(0, |distributor| distributor.driven_teeth as i32);
    let mut candidates = Vec::with_capacity(space.count());
    let mut cam_side: Vec<[Score; 2]> = Vec::with_capacity(sightings.len());
    for (cam, &cam_teeth) in space.cam_teeth.iter().enumerate() {
        let counted = evidence.counted(cam_teeth);
        cam_side.clear();
        cam_side.extend(sightings.iter().enumerate().map(|(i, sighting)| {
            [false, true].map(|other_turn| {
                evidence.cam_side(cam_teeth, evidence.crank(i, other_turn), sighting)
            })
        }));
        for (drive, &drive_teeth) in space.drive_teeth.iter().enumerate() {
            let teeth_out_deg = evidence.teeth_out_deg(cam_teeth, drive_teeth);
            let (mut tally, mut other_turn) = (counted, 0u128);
            for (bit, run) in evidence.runs().enumerate() {
                let on = |other: bool| {
                    run.clone().fold(Score::default(), |sum, i| {
                        let rotor = evidence.rotor_side(
                            teeth_out_deg,
                            evidence.crank(i, other),
                            &sightings[i],
                        );
                        sum.plus(cam_side[i][usize::from(other)]).plus(rotor)
                    })
                };
                let (this, that) = (on(false), on(true));
                let other = that.better_than(this);
                tally = tally.plus(if other { that } else { this });
                other_turn |= u128::from(other).checked_shl(bit as u32).unwrap_or(0);
            }
            for (leads, (order, lead_faults)) in space.leads.iter().enumerate() {
                candidates.push(Candidate {
                    cam,
                    drive,
                    leads,
                    faults: u32::from(cam_teeth != 0) + u32::from(drive_teeth != 0) + lead_faults,
                    tally: tally.plus(evidence.sparks(DistributorSetting {
                        teeth_out_deg,
                        leads: order,
                    })),
                    other_turn,
                    unlikely: TOOTH_COST
                        * (f64::from(more_than_one(cam_teeth, 0))
                            + f64::from(more_than_one(drive_teeth, teeth))),
                });
            }
        }
    }
    candidates
}

/// Teeth over the first. Revolution a turn is the commonest slip of all and counts as one tooth; a tooth
/// from it as two.
fn more_than_one(teeth: i32, wheel: i32) -> u32 {
    let from_drawn = teeth.unsigned_abs();
    let from_half = if wheel == 0 {
        u32::MAX
    } else {
        wheel.unsigned_abs().abs_diff(from_drawn.saturating_mul(2)) / 2 + 1
    };
    from_drawn.min(from_half).max(1) - 1
}

fn fit(space: &Space, evidence: &Evidence<'_>, candidate: &Candidate, with_misfits: bool) -> Fit {
    let (leads, _) = &space.leads[candidate.leads];
    let as_drawn = leads.is_empty() || leads == evidence.engine.firing_order();
    let assembly = Assembly {
        cam_teeth: space.cam_teeth[candidate.cam],
        drive_teeth: space.drive_teeth[candidate.drive],
        body_turn_deg: evidence.seen.body_turn,
        leads: (!as_drawn).then(|| leads.clone()),
    };
    let cranks = evidence.runs().enumerate().flat_map(|(bit, run)| {
        let other = candidate.other_turn.checked_shr(bit as u32).unwrap_or(0) & 1 == 1;
        run.map(move |i| (i, other))
    });
    let turns = cranks
        .map(|(i, other)| Revolution::of(evidence.crank(i, other)))
        .collect();
    let mut fit = Fit {
        assembly,
        faults: candidate.faults,
        turns,
        misfits: Vec::new(),
        body_stands_deg: None,
        cost: candidate.tally.cost,
    };
    if with_misfits {
        fit.misfits = misfits(evidence, &fit, leads);
        fit.body_stands_deg = body_stands(evidence, &fit, leads);
    }
    fit
}

/// Everything a way leaves unexplained, sighting by sighting.
fn misfits(evidence: &Evidence<'_>, fit: &Fit, leads: &[u8]) -> Vec<Misfit> {
    let assembly = &fit.assembly;
    let teeth_out_deg = evidence.teeth_out_deg(assembly.cam_teeth, assembly.drive_teeth);
    let distribution = DistributorSetting {
        teeth_out_deg,
        leads,
    };
    let mut misfits = Vec::new();
    for (sighting, seen) in evidence.seen.sightings.iter().enumerate() {
        let base = evidence.crank(sighting, false);
        let crank = evidence.crank(sighting, Revolution::of(base) != fit.turns[sighting]);
        let mut put = |says: String| misfits.push(Misfit { sighting, says });
        for valve in seen
            .valves
            .iter()
            .filter(|valve| evidence.valve(assembly.cam_teeth, crank, seen.within, valve) > 1.0)
        {
            let off = evidence.open_by_deg(assembly.cam_teeth, crank, valve.cylinder, valve.valve);
            let would = if off > 0.0 { "open" } else { "closed" };
            put(format!(
                "the {} valve of No. {} was seen {}; it would be {would}, {} from the nearest change",
                valve.valve.word(),
                valve.cylinder,
                valve.is.word(),
                degrees(off.abs().round())
            ));
        }
        for &cylinder in seen.compression_felt.iter().filter(|&&cylinder| {
            evidence.compression(assembly.cam_teeth, crank, seen.within, cylinder) > 1.0
        }) {
            put(format!(
                "compression was felt in No. {cylinder}; there would be none to feel"
            ));
        }
        if let Some(rotor) = &seen.rotor
            && evidence.rotor(teeth_out_deg, crank, seen.within, rotor) > 1.0
        {
            put(rotor_misfit(evidence, teeth_out_deg, crank, rotor));
        }
        if let Some(counted) = seen
            .cam_teeth_off
            .filter(|&counted| counted != assembly.cam_teeth)
        {
            put(format!(
                "the cam's dot was counted {counted} teeth off; it would be {} off",
                assembly.cam_teeth
            )
            .replace('-', "−"));
        }
        if let Some(spark) = &seen.spark
            && evidence.spark(distribution, spark).0 > 1.0
        {
            let would = evidence.spark_btdc_deg(distribution, spark.cylinder);
            put(format!(
                "the spark of No. {} was seen {}; it would come {}",
                spark.cylinder,
                before_tdc(spark.btdc),
                before_tdc(would)
            ));
        }
    }
    misfits
}

/// Where the body would have to stand to explain sparks that are unexplained, where nothing else is
/// and all are out by as much.
fn body_stands(evidence: &Evidence<'_>, fit: &Fit, leads: &[u8]) -> Option<f64> {
    let distributor = evidence.engine.metric().distributor.as_ref()?;
    let teeth_out_deg = evidence.teeth_out_deg(fit.assembly.cam_teeth, fit.assembly.drive_teeth);
    let distribution = DistributorSetting {
        teeth_out_deg,
        leads,
    };
    let sparks: Vec<_> = evidence
        .seen
        .sightings
        .iter()
        .filter_map(|sighting| sighting.spark.as_ref())
        .collect();
    let missed = sparks
        .iter()
        .filter(|spark| evidence.spark(distribution, spark).0 > 1.0)
        .count();
    let early = |spark: &SparkObservation| {
        wrap_signed(
            spark.btdc - evidence.spark_btdc_deg(distribution, spark.cylinder),
            360.0,
        )
    };
    let first = early(sparks.first()?);
    let alike = sparks
        .iter()
        .all(|spark| (early(spark) - first).abs() <= spark.within + sparks[0].within);
    let turn = first / 2.0;
    let reached = remedy::reaches(distributor, evidence.seen.body_turn + turn);
    (missed > 0 && missed == fit.misfits.len() && alike && reached).then_some(turn)
}

fn rotor_misfit(
    evidence: &Evidence<'_>,
    teeth_out_deg: f64,
    crank: crate::angle::CrankAngle,
    rotor: &RotorObservation,
) -> String {
    let would = evidence
        .rotor_clock_deg(teeth_out_deg, crank)
        .unwrap_or_default();
    match (
        rotor.clock,
        rotor
            .tower
            .and_then(|number| evidence.tower_of(number).map(|tower| (number, tower))),
    ) {
        (_, Some((number_on_it, tower))) => {
            let (past, _) = evidence.past_tower(teeth_out_deg, crank, tower);
            let side = if past < 0.0 { "short of" } else { "past" };
            format!(
                "the rotor was seen at the tower of No. {number_on_it}; it would stand {}° {side} it",
                number(past.abs(), 1)
            )
        }
        (clock, None) => {
            let clock = clock.unwrap_or_default();
            let off = wrap_signed(would - clock, 360.0).abs();
            format!(
                "the rotor was seen at {}; it would stand at {}°, {}° away",
                degrees(clock),
                number(would, 1),
                number(off, 1)
            )
        }
    }
}
