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

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the ways and sightings of one search"
)]

use std::cmp::Ordering;
use std::collections::{BTreeSet, HashMap};

use super::evidence::{DistributorSetting, Evidence, Revolution, Score};
use super::fit::{Fit, body_stands, misfits};
use super::hypotheses::{Space, cam_faults};
use super::next_look;
use super::next_look::Look;
use super::observations::{Observation, Observations};
use super::remedy;
use super::stage::Sight;
use crate::description::Valve;
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;

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
    /// Whether it is proved that nothing is out: as drawn is the one way left, and the body stands
    /// where it is drawn, to within what a light reads.
    pub fn is_right(&self) -> bool {
        self.explained && matches!(&self.fits[..], [only] if as_drawn(only))
    }

    /// What the diagnosis comes to: how many ways are left, and, where that is more than one, what
    /// to look at.
    ///
    /// ```
    /// use dotwise::diagnosis::{diagnose, observations};
    /// use dotwise::engine::scenes::BENCH;
    /// let engine = BENCH.engine();
    /// let seen = "(format: 1, sightings: [(crank: 0.0, valves: [(cylinder: 1, valve: Exhaust, is: Closed)])])";
    /// let seen = observations::read(seen, &engine).sightings.expect("it can be seen on it");
    /// let found = diagnose(&engine, &seen);
    /// assert!(found.headline().starts_with("Nothing is proved: "));
    /// assert!(!found.is_right());
    /// ```
    pub fn headline(&self) -> String {
        let standing = self.standing();
        if !self.explained || self.fits.len() < 2 {
            return standing;
        }
        let next = self.tell_apart.first().map_or_else(
            || "No look that can be taken here tells them apart.".to_owned(),
            |look| format!("Next: {}.", look.to_do()),
        );
        format!("{standing} {next}")
    }

    /// How many ways are left, without what to look at next.
    pub fn standing(&self) -> String {
        let tried = self.tried;
        match &self.fits[..] {
            _ if !self.explained => format!(
                "None of {tried} ways of putting it together explains everything seen. The nearest:"
            ),
            [only] if as_drawn(only) => format!(
                "Everything is as drawn: of {tried} ways of putting it together no other explains everything seen."
            ),
            [_] => {
                format!("One of {tried} ways of putting it together explains everything seen.")
            }
            several => {
                let (proved, drawn) = if several.first().is_some_and(as_drawn) {
                    ("Nothing is proved", ", as drawn among them")
                } else {
                    ("Something is out, and what is not proved", "")
                };
                format!(
                    "{proved}: {} of {tried} ways of putting it together explain everything seen{drawn}.",
                    several.len()
                )
            }
        }
    }
}

/// Whether nothing is out: no fault, and the body where it is drawn.
pub(super) fn as_drawn(fit: &Fit) -> bool {
    fit.faults == 0 && fit.assembly.body_turn_deg.abs() <= remedy::BODY_RIGHT_WITHIN_DEG
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
///
/// What to look at next is what could be seen where the last sighting was made; where that does not
/// say its stage, what can be seen with the cover on or off, and with a light once one was used.
pub fn diagnose(engine: &Engine, seen: &Observations) -> Diagnosis {
    let last = seen.sightings.last().and_then(|sighting| sighting.stage);
    let sights = last.map_or_else(
        || {
            let lit = seen
                .sightings
                .iter()
                .any(|sighting| sighting.spark.is_some());
            let light: &[Sight] = if lit {
                &[Sight::Lamp, Sight::Strobe]
            } else {
                &[]
            };
            [
                &[Sight::Valves, Sight::Thumb, Sight::Rotor, Sight::Leads],
                light,
            ]
            .concat()
        },
        |stage| stage.sights().to_vec(),
    );
    diagnose_by(engine, seen, &sights)
}

/// The same where these can be looked at next.
pub fn diagnose_by(engine: &Engine, seen: &Observations, sights: &[Sight]) -> Diagnosis {
    let evidence = Evidence::of(engine, seen);
    let Tried {
        tried,
        explained,
        fits,
    } = try_all(&evidence);
    let tell_apart = if explained {
        next_look::looks(&evidence, &fits, sights)
    } else {
        Vec::new()
    };
    Diagnosis {
        tried,
        explained,
        fits,
        tell_apart,
    }
}

/// What comes of trying every way.
pub(super) struct Tried {
    /// How many ways there are.
    pub(super) tried: usize,
    /// Whether anything explains everything seen.
    pub(super) explained: bool,
    /// What explains it, best first; where nothing does, the nearest.
    pub(super) fits: Vec<Fit>,
}

/// Tries every way the parts could have been put together.
pub(super) fn try_all(evidence: &Evidence<'_>) -> Tried {
    let space = Space::of(evidence.engine, evidence.seen);
    let mut candidates = scored(&space, evidence);
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
        .map(|candidate| fit(&space, evidence, candidate, !explained))
        .collect();
    Tried {
        tried: space.count(),
        explained,
        fits,
    }
}

fn alike(one: &Candidate, other: &Candidate) -> Ordering {
    let key = |candidate: &Candidate| candidate.score.cost + candidate.unlikely;
    let by_cost = key(one).total_cmp(&key(other));
    by_cost.then((one.cam, one.leads, one.drive).cmp(&(other.cam, other.leads, other.drive)))
}

fn scored(space: &Space, evidence: &Evidence<'_>) -> Vec<Candidate> {
    let metric = evidence.engine.metric();
    let distributor = metric.distributor.as_ref();
    let wheel = distributor.map_or(0, |distributor| distributor.driven_teeth.cast_signed());
    let count = evidence.engine.camshaft_count();
    let driving = metric.driving_camshaft();
    let own = CamSide::of(space, evidence);
    let mut candidates = Vec::with_capacity(space.count());
    let mut cam_side: Vec<[Score; 2]> = Vec::with_capacity(evidence.seen.sightings.len());
    let mut rotor_sides: HashMap<u64, RotorSide> = HashMap::new();
    for (cam, &cams) in space.cams.iter().enumerate() {
        own.scores(cams, &mut cam_side);
        let counted = evidence.counted(cams);
        let cam_faults = cam_faults(evidence.engine, cams);
        let more_cam_teeth: u32 = if cams.all_out_alike(count) {
            more_than_one(cams.of(0), 0)
        } else {
            cams.out().map(|(_, teeth)| more_than_one(teeth, 0)).sum()
        };
        for (drive, &drive_out) in space.drive.iter().enumerate() {
            // Whatever the distributor shows depends on its own camshaft's teeth alone.
            let turned_by = driving.map_or(0, |camshaft| cams.of(camshaft));
            let key = u64::from(turned_by.cast_unsigned()) << 32 | drive as u64;
            let rotor_side = rotor_sides
                .entry(key)
                .or_insert_with(|| RotorSide::of(space, evidence, cams, drive_out));
            let (on_turns, other_turn) = best_turns(evidence, &cam_side, &rotor_side.rotor);
            let score = counted.plus(on_turns);
            let more_teeth = more_cam_teeth + more_than_one(drive_out.teeth, wheel);
            for (leads, (_, lead_faults)) in space.leads.iter().enumerate() {
                candidates.push(Candidate {
                    cam,
                    drive,
                    leads,
                    faults: cam_faults + drive_out.faults() + lead_faults,
                    score: score.plus(rotor_side.sparks[leads]),
                    other_turn,
                    unlikely: TOOTH_COST * f64::from(more_teeth),
                });
            }
        }
    }
    candidates
}

/// How well what the rotor and the sparks did agrees with the distributor standing so far ahead.
struct RotorSide {
    /// Of each sighting's rotor, the crank on this turn and on the other.
    rotor: Vec<[Score; 2]>,
    /// Of all the sparks, for each way the leads could go.
    sparks: Vec<Score>,
}

impl RotorSide {
    fn of(space: &Space, evidence: &Evidence<'_>, cams: CamTeeth, drive: DriveOut) -> Self {
        let teeth_out = evidence.teeth_out(cams, drive);
        let sightings = evidence.seen.sightings.iter().enumerate();
        let rotor = sightings.map(|(i, sighting)| {
            [false, true]
                .map(|other| evidence.rotor_side(cams, drive, evidence.crank(i, other), sighting))
        });
        let sparks = space
            .leads
            .iter()
            .map(|(leads, _)| evidence.sparks(DistributorSetting { teeth_out, leads }));
        Self {
            rotor: rotor.collect(),
            sparks: sparks.collect(),
        }
    }
}

/// What each camshaft by itself shows, for each of its teeth: so that ways in which several stand
/// out are put together from it, and no valve is reckoned twice.
struct CamSide<'a> {
    evidence: &'a Evidence<'a>,
    /// Of each camshaft by its teeth out, and of each sighting, the crank on this turn and on the
    /// other.
    valves: Vec<HashMap<i32, Vec<[Score; 2]>>>,
    /// Of each sighting, each cylinder in which compression was felt.
    felt: Vec<Vec<Felt>>,
}

/// A cylinder in which compression was felt, the crank on this turn and on the other.
struct Felt {
    off_stroke_deg: [f64; 2],
    /// The camshafts that work its intake and its exhaust valve.
    worked_by: [usize; 2],
    /// How far off its seat each of them then is, by that camshaft's teeth out.
    off_seat_deg: [HashMap<i32, [f64; 2]>; 2],
}

impl<'a> CamSide<'a> {
    fn of(space: &Space, evidence: &'a Evidence<'a>) -> Self {
        let engine = evidence.engine;
        let sightings = || evidence.seen.sightings.iter().enumerate();
        let teeth_of = |camshaft: usize| {
            let teeth = space.cams.iter().map(move |cams| cams.of(camshaft));
            teeth.collect::<BTreeSet<i32>>().into_iter()
        };
        let valves = (0..engine.camshaft_count()).map(|camshaft| {
            let scores = |teeth: i32| {
                let scores = sightings().map(|(i, sighting)| {
                    [false, true].map(|other| {
                        evidence.valves_of(camshaft, teeth, evidence.crank(i, other), sighting)
                    })
                });
                (teeth, scores.collect())
            };
            teeth_of(camshaft).map(scores).collect()
        });
        let felt = |i: usize, cylinder: u32| {
            let both = [false, true].map(|other| evidence.crank(i, other));
            let worked_by = Valve::BOTH.map(|valve| engine.camshaft_of(cylinder as u8, valve));
            let [intake, exhaust] = worked_by;
            let off_seat = |camshaft: usize, valve: Valve| {
                let off = |teeth: i32| {
                    let cams = CamTeeth::default().with(camshaft, teeth);
                    let off =
                        both.map(|crank| evidence.off_seat_by_deg(cams, crank, cylinder, valve));
                    (teeth, off)
                };
                teeth_of(camshaft).map(off).collect()
            };
            Felt {
                off_stroke_deg: both.map(|crank| evidence.off_compression_deg(crank, cylinder)),
                worked_by,
                off_seat_deg: [
                    off_seat(intake, Valve::Intake),
                    off_seat(exhaust, Valve::Exhaust),
                ],
            }
        };
        let felt_at = |(i, sighting): (usize, &Observation)| {
            let cylinders = sighting.compression_felt.iter();
            cylinders.map(|&cylinder| felt(i, cylinder)).collect()
        };
        Self {
            evidence,
            valves: valves.collect(),
            felt: sightings().map(felt_at).collect(),
        }
    }

    /// The scores of the valves and compression of each sighting with the camshafts so.
    fn scores(&self, cams: CamTeeth, into: &mut Vec<[Score; 2]>) {
        into.clear();
        into.resize(self.felt.len(), [Score::default(); 2]);
        for (camshaft, by_teeth) in self.valves.iter().enumerate() {
            let Some(own) = by_teeth.get(&cams.of(camshaft)) else {
                continue;
            };
            for (sum, own) in into.iter_mut().zip(own) {
                for (sum, own) in sum.iter_mut().zip(own) {
                    *sum = sum.plus(*own);
                }
            }
        }
        for (i, felt) in self.felt.iter().enumerate() {
            let within = self.evidence.seen.sightings[i].within;
            for felt in felt {
                for other in [0, 1] {
                    let off_seat = [0, 1].map(|valve| {
                        let teeth = cams.of(felt.worked_by[valve]);
                        let off = felt.off_seat_deg[valve].get(&teeth);
                        off.map_or(0.0, |off| off[other])
                    });
                    into[i][other].add(self.evidence.compression_leaking(
                        felt.off_stroke_deg[other],
                        off_seat,
                        within,
                    ));
                }
            }
        }
    }
}

/// The score with each run of sightings on the turn of the crank that suits it best, and which runs
/// those are that were on the other turn: bit by bit.
fn best_turns(
    evidence: &Evidence<'_>,
    cam_side: &[[Score; 2]],
    rotor_side: &[[Score; 2]],
) -> (Score, u128) {
    let (mut score, mut other_turn) = (Score::default(), 0u128);
    for (bit, run) in evidence.runs().enumerate() {
        let on = |other: usize| {
            run.clone().fold(Score::default(), |sum, i| {
                sum.plus(cam_side[i][other]).plus(rotor_side[i][other])
            })
        };
        let (this, that) = (on(0), on(1));
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
    let as_drawn = leads.is_empty() || leads == evidence.engine.lead_order();
    let drive = space.drive[candidate.drive];
    let assembly = Assembly {
        drive_teeth: drive.teeth,
        tongue_half_turn: drive.half_turn,
        body_turn_deg: evidence.seen.body_turn,
        leads: (!as_drawn).then(|| leads.clone()),
        ..Assembly::default()
    }
    .with_cams(space.cams[candidate.cam]);
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
