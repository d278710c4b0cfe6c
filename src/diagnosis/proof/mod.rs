//! The proof that everything is as drawn: the fewest looks after which nothing else is left.
//!
//! A case is a way of putting the engine together that still explains everything seen, on one of the
//! turns of the crank that the last sighting leaves. A look is proposed only where an engine as
//! drawn leaves no doubt of what is seen there; what is then seen rules out every case that could
//! not show it, by the tolerances of `evidence`, which are a diagnosis's own: who
//! enters these looks as sightings has as drawn diagnosed. One thing it does not believe that a
//! diagnosis does: that the distributor's body was never turned. A spark set by a lamp comes where it
//! should whatever else is out, as far as the clamp lets the body make up for it. The crank is turned on from look to look,
//! forwards, by less than a turn in all.
//!
//! The fewest looks that rule out every case are a least cover of a set. Up to [`EXACT`] of them are
//! found by search, so that no shorter list would do; beyond, each next look is the one that rules
//! out most of what is left, and the list is at most 1 + ln n times as long as the shortest, n the
//! cases (V. Chvátal, *A greedy heuristic for the set-covering problem*, 1979, from memory).

mod body;
mod cover;
mod look;
mod search;

pub use body::{body_not_turned, clamp_taken};
pub use cover::EXACT;
pub use look::ProofLook;

use body::{body_may_be_turned_deg, by_any_body};
use search::Search;

use super::diagnose::{Tried, as_drawn, try_all};
use super::evidence::Evidence;
use super::observations::Observations;
use super::stage::{Sight, Stage};
use crate::engine::{Assembly, Engine};

/// Looks at most, those that tell the last few ways apart included.
const MOST_LOOKS: usize = 24;

/// The looks that prove an engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// What could be seen for it.
    pub stage: Stage,
    /// Ways of putting the engine together, whatever was seen.
    pub tried: usize,
    /// Ways of putting the engine together that explain what was seen before, as drawn among them.
    pub ways: usize,
    /// Whether as drawn is among them: if it is not, no look can prove it.
    pub can_be_right: bool,
    /// Where something was seen before: the ways besides as drawn that explain it.
    pub left: Vec<Assembly>,
    /// The looks, in the order in which they are taken.
    pub looks: Vec<ProofLook>,
    /// Whether no shorter list would do.
    pub shortest: bool,
    /// Ways besides as drawn that none of these looks rules out, each with the nearest stage at which
    /// one can; of two as near, the later.
    pub cannot_tell_here: Vec<(Assembly, Option<Stage>)>,
}

impl Proof {
    /// What is seen on an engine that is right, entered as sightings after those of `before`.
    pub fn as_sightings(&self, before: &Observations) -> Observations {
        let mut all = before.clone();
        self.looks.iter().for_each(|look| look.enter(&mut all));
        all
    }

    /// How much of the proof there is: 0 with nothing seen, 1 where nothing but as drawn is left;
    /// by the doublings that the ways ruled out are of those left.
    pub fn done(&self) -> f64 {
        if self.tried < 2 {
            return 1.0;
        }
        let left = (self.ways.max(1) as f64).ln() / (self.tried as f64).ln();
        (1.0 - left).clamp(0.0, 1.0)
    }
}

/// The fewest looks that prove an engine right at this stage, without what is not in yet, going on
/// from what was seen. Observations are checked before they come here
/// ([`observations::read`](super::observations::read())).
pub fn prove(engine: &Engine, seen: &Observations, stage: Stage, without: &[Sight]) -> Proof {
    let mut proof = in_one_go(engine, seen, (stage, without), false);
    let mut was_added_to = false;
    // Among the few that hide, looks at other marks may still tell.
    while !proof.cannot_tell_here.is_empty() && proof.looks.len() < MOST_LOOKS {
        let (lit, others): (Vec<ProofLook>, Vec<ProofLook>) = std::mem::take(&mut proof.looks)
            .into_iter()
            .partition(|look| look.light().is_some());
        let mut all = seen.clone();
        lit.iter()
            .chain(&others)
            .for_each(|look| look.enter(&mut all));
        let more = in_one_go(engine, &all, (stage, without), true);
        let (no_more, hidden) = (more.looks.is_empty(), more.cannot_tell_here);
        proof.looks = others.into_iter().chain(more.looks).chain(lit).collect();
        if no_more {
            break;
        }
        proof.cannot_tell_here = hidden;
        proof.shortest = false;
        was_added_to = true;
    }
    // Sparks come last, and what is left after each look is by those before it.
    if was_added_to && proof.looks.iter().any(|look| look.light().is_some()) {
        let mut after = seen.clone();
        for look in &mut proof.looks {
            look.enter(&mut after);
            look.leaves = ways_left(engine, &after);
        }
    }
    proof
}

/// Ways of putting the engine together that explain what was seen, by any turn of the body.
fn ways_left(engine: &Engine, seen: &Observations) -> usize {
    let body_deg = body_may_be_turned_deg(engine, seen);
    let seen = by_any_body(engine, seen, body_deg);
    try_all(&Evidence::of(engine, &seen)).fits.len()
}

/// The fewest looks found at once; with `finer`, marks between teeth come before dead centres that
/// lie beside them.
fn in_one_go(
    engine: &Engine,
    seen: &Observations,
    (stage, without): (Stage, &[Sight]),
    finer: bool,
) -> Proof {
    let body_deg = body_may_be_turned_deg(engine, seen);
    let seen = &by_any_body(engine, seen, body_deg);
    let evidence = Evidence::of(engine, seen);
    let Tried {
        tried,
        explained,
        fits,
    } = try_all(&evidence);
    let sights = stage.sights_without(without);
    let mut search = Search::new(&evidence, &fits, body_deg);
    search.finer = finer;
    search.try_every_look(&sights);
    if sights.contains(&Sight::Thumb) && !search.hidden().is_empty() {
        search.try_every_thumb();
    }
    let can_be_right = explained && fits.iter().any(as_drawn);
    let mut proof = Proof {
        stage,
        tried,
        ways: fits.len(),
        can_be_right,
        left: Vec::new(),
        looks: Vec::new(),
        shortest: true,
        cannot_tell_here: Vec::new(),
    };
    if explained && !seen.sightings.is_empty() {
        let others = fits.iter().filter(|fit| !as_drawn(fit));
        proof.left = others.map(|fit| fit.assembly.clone()).collect();
    }
    if !can_be_right {
        return proof;
    }
    let hidden = search.hidden();
    proof.cannot_tell_here = search.seen_at_another(&hidden, stage);
    let (chosen, shortest) = search.fewest();
    proof.shortest = shortest;
    proof.looks = search.in_order(&chosen);
    proof
}
