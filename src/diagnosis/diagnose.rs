//! What was put together wrong, from what can be seen.
//!
//! Every way in [`Space`] is scored by how well it agrees with everything seen, each sighting on
//! whichever turn of the crank suits it best. The ways that explain everything are the fits: fewest
//! faults first, then the best agreement, and between those that agree alike the likelier (a tooth
//! before three teeth). Where none explains everything, the nearest are given with what each leaves
//! unexplained.
//!
//! ```
//! use dotwise::diagnosis::diagnose;
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
//! assert_eq!(found.fits[0].describe(&engine), "The distributor drive is one tooth behind.");
//! ```

use std::cmp::Ordering;

use super::evidence::{DistributorSetting, Evidence, Revolution, Score};
use super::fit::{Fit, body_stands, misfits};
use super::hypotheses::Space;
use super::next_look;
use super::next_look::Look;
use super::observations::Observations;
use super::remedy;
use crate::angle::RotorTurn;
use crate::engine::{Assembly, Engine};

/// How many of the nearest are given where nothing fits.
const NEAREST: usize = 5;
/// What one more tooth out costs between ways that agree alike: under what any reading can tell, so
/// it settles ties only.
const TOOTH_COST: f64 = 0.02;

/// The answer of a diagnosis.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnosis {
    /// How many ways of putting the engine together were tried.
    pub tried: usize,
    /// Whether anything explains everything seen.
    pub explained: bool,
    /// What explains it, best first; where nothing does, the nearest.
    pub fits: Vec<Fit>,
    /// What to look at next, best first; empty where only one way is left.
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

/// A way that was tried, small enough to keep all of them.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    cam: usize,
    drive: usize,
    leads: usize,
    faults: u32,
    score: Score,
    /// For each run of sightings, whether the crank was on the other turn: bit by bit.
    other_turn: u128,
    /// What tells apart ways that agree alike.
    unlikely: f64,
}

/// Tries every way the parts could have been put together. Observations are checked before they
/// come here ([`observations::read`](super::observations::read())); of parts that are not on the
/// engine nothing is counted.
pub fn diagnose(engine: &Engine, seen: &Observations) -> Diagnosis {
    let space = Space::of(engine, seen);
    let evidence = Evidence::of(engine, seen);
    let mut candidates = try_all(&space, &evidence);
    let explained = candidates
        .iter()
        .any(|candidate| candidate.score.misfits == 0);
    if explained {
        candidates.retain(|candidate| candidate.score.misfits == 0);
        candidates.sort_by(|one, other| {
            one.faults
                .cmp(&other.faults)
                .then_with(|| alike(one, other))
        });
    } else {
        let by = |one: &Candidate, other: &Candidate| {
            let misfits = one.score.misfits.cmp(&other.score.misfits);
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
    let key = |candidate: &Candidate| candidate.score.cost + candidate.unlikely;
    let by_cost = key(one).total_cmp(&key(other));
    by_cost.then((one.cam, one.leads, one.drive).cmp(&(other.cam, other.leads, other.drive)))
}

fn try_all(space: &Space, evidence: &Evidence<'_>) -> Vec<Candidate> {
    let sightings = &evidence.seen.sightings;
    let distributor = evidence.engine.metric().distributor.as_ref();
    let wheel = distributor.map_or(0, |distributor| distributor.driven_teeth.cast_signed());
    let mut candidates = Vec::with_capacity(space.count());
    let mut cam_side: Vec<[Score; 2]> = Vec::with_capacity(sightings.len());
    for (cam, &cam_teeth) in space.cam_teeth.iter().enumerate() {
        cam_side.clear();
        cam_side.extend(sightings.iter().enumerate().map(|(i, sighting)| {
            [false, true].map(|other_turn| {
                evidence.cam_side(cam_teeth, evidence.crank(i, other_turn), sighting)
            })
        }));
        for (drive, &drive_teeth) in space.drive_teeth.iter().enumerate() {
            let teeth_out = evidence.teeth_out(cam_teeth, drive_teeth);
            let (on_turns, other_turn) = best_turns(evidence, &cam_side, teeth_out);
            let score = evidence.counted(cam_teeth).plus(on_turns);
            let more_teeth = more_than_one(cam_teeth, 0) + more_than_one(drive_teeth, wheel);
            for (leads, (order, lead_faults)) in space.leads.iter().enumerate() {
                let setting = DistributorSetting {
                    teeth_out,
                    leads: order,
                };
                candidates.push(Candidate {
                    cam,
                    drive,
                    leads,
                    faults: u32::from(cam_teeth != 0) + u32::from(drive_teeth != 0) + lead_faults,
                    score: score.plus(evidence.sparks(setting)),
                    other_turn,
                    unlikely: TOOTH_COST * f64::from(more_teeth),
                });
            }
        }
    }
    candidates
}

/// The score with each run of sightings on the turn of the crank that suits it best, and which runs
/// those are that were on the other turn: bit by bit.
fn best_turns(
    evidence: &Evidence<'_>,
    cam_side: &[[Score; 2]],
    teeth_out: RotorTurn,
) -> (Score, u128) {
    let (mut score, mut other_turn) = (Score::default(), 0u128);
    for (bit, run) in evidence.runs().enumerate() {
        let on = |other: bool| {
            run.clone().fold(Score::default(), |sum, i| {
                let sighting = &evidence.seen.sightings[i];
                let rotor = evidence.rotor_side(teeth_out, evidence.crank(i, other), sighting);
                sum.plus(cam_side[i][usize::from(other)]).plus(rotor)
            })
        };
        let (this, that) = (on(false), on(true));
        let other = that.better_than(this);
        score = score.plus(if other { that } else { this });
        other_turn |= u128::from(other).checked_shl(bit as u32).unwrap_or(0);
    }
    (score, other_turn)
}

/// Teeth over the first. Half a turn is the commonest slip of all and counts as one tooth; a tooth
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
        cost: candidate.score.cost,
    };
    if with_misfits {
        fit.misfits = misfits(evidence, &fit, leads);
        fit.body_stands_deg = body_stands(evidence, &fit, leads);
    }
    fit
}
