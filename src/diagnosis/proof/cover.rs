//! The fewest of the looks that rule out everything but as drawn: a least cover of a set, by search up
//! to a few and one after another beyond, and what none of them rules out.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the looks, cases and groups of one search"
)]

use std::collections::{BTreeSet, HashMap, HashSet};

use fixedbitset::FixedBitSet;

use super::look::ProofLook;
use super::search::{Candidate, Case, Ruled, Search, group};
use crate::diagnosis::stage::{Sight, Stage};
use crate::engine::Assembly;

/// So many looks at most are searched for one by one.
pub const EXACT: usize = 5;
/// Steps of the search after which the list that was found without it is taken.
const MOST_STEPS: usize = 300_000;
/// Lists of as few looks that are compared by how far they turn the crank.
const MOST_ALIKE: usize = 300;

impl Search<'_> {
    /// The cases that no look rules out.
    pub(super) fn hidden(&self) -> Vec<Case> {
        let ruled_out = RuledOut::of(self);
        let cases = self.cases.iter().copied();
        cases
            .filter(|case| ruled_out.sets_of(*case).all(FixedBitSet::is_clear))
            .collect()
    }

    /// The ways that are hidden here, each with the nearest stage at which a look rules it out.
    pub(super) fn seen_at_another(
        &self,
        hidden: &[Case],
        stage: Stage,
    ) -> Vec<(Assembly, Option<Stage>)> {
        let mut found: Vec<(Assembly, Option<Stage>)> = Vec::new();
        let mut last_way = None;
        let others: Vec<(Stage, Vec<Case>)> = Stage::ALL
            .into_iter()
            .filter(|other| *other != stage && !hidden.is_empty())
            .map(|other| {
                let mut search = Search::new(self.evidence, self.fits, self.body_deg);
                search.try_every_look(other.sights());
                if other.sights().contains(&Sight::Thumb) {
                    search.try_every_thumb();
                }
                (other, search.hidden())
            })
            .collect();
        let nearest_first = |other: &Stage| (other.stages_from(stage), *other < stage);
        for case in hidden {
            if last_way.replace(case.way) == Some(case.way) {
                continue;
            }
            let seen = |still: &[Case]| still.iter().all(|other| other.way != case.way);
            let at = others
                .iter()
                .filter(|(_, still)| seen(still))
                .map(|(other, _)| *other)
                .min_by_key(nearest_first);
            found.push((self.fits[case.way].assembly.clone(), at));
        }
        found
    }

    /// The fewest candidates that rule out every case that can be, and whether it is known that
    /// fewer will not do.
    pub(super) fn fewest(&self) -> (Vec<usize>, bool) {
        let ruled_out = RuledOut::of(self);
        let alike: HashSet<[usize; 4]> =
            self.cases.iter().map(|case| ruled_out.key(*case)).collect();
        let mut met: HashSet<FixedBitSet> = HashSet::new();
        for key in alike {
            let mut by = FixedBitSet::with_capacity(self.candidates.len());
            key.iter()
                .for_each(|&set| by.union_with(&ruled_out.sets[set]));
            if !by.is_clear() {
                met.insert(by);
            }
        }
        let mut cases: Vec<FixedBitSet> = met.into_iter().collect();
        cases.sort_by_cached_key(|by| (by.count_ones(..), by.ones().collect::<Vec<usize>>()));
        // Who rules out the harder case rules out the easier.
        let mut hardest: Vec<FixedBitSet> = Vec::new();
        for case in cases {
            if !hardest.iter().any(|harder| harder.is_subset(&case)) {
                hardest.push(case);
            }
        }
        let all: Vec<usize> = (0..hardest.len()).collect();
        for most in 0..=EXACT {
            let mut cover = Cover {
                cases: &hardest,
                looks: self.candidates.len(),
                steps: 0,
                found: Vec::new(),
            };
            cover.search(&all, most, &mut Vec::new());
            if !cover.found.is_empty() {
                let least_turned = |chosen: &Vec<usize>| {
                    let marks: BTreeSet<u64> = chosen
                        .iter()
                        .map(|&look| self.candidates[look].turned_on_deg.to_bits())
                        .collect();
                    (marks.len(), marks.last().copied(), chosen.clone())
                };
                let best = cover.found.into_iter().min_by_key(least_turned);
                return (best.unwrap_or_default(), true);
            }
            if cover.steps >= MOST_STEPS {
                break;
            }
        }
        (greedy(&hardest, self.candidates.len()), false)
    }

    /// The looks chosen, in the order in which they are taken, each with how many ways it leaves.
    pub(super) fn in_order(&self, chosen: &[usize]) -> Vec<ProofLook> {
        let mut chosen: Vec<&Candidate> = chosen.iter().map(|&i| &self.candidates[i]).collect();
        // Sparks last: for them the crank is turned on without a halt, or cranked.
        chosen.sort_by(|one, other| {
            let sparks = one
                .look
                .light()
                .is_some()
                .cmp(&other.look.light().is_some());
            let turned = one.turned_on_deg.total_cmp(&other.turned_on_deg);
            sparks.then(turned).then(one.look.at.cmp(&other.look.at))
        });
        let mut left = self.cases.clone();
        let looks = chosen.into_iter().map(|candidate| {
            left.retain(|case| !candidate.rules_out.out(*case));
            let ways: BTreeSet<usize> = left.iter().map(|case| case.way).collect();
            ProofLook {
                leaves: ways.len() + 1,
                ..candidate.look.clone()
            }
        });
        looks.collect()
    }
}

/// The looks that rule a case out, by what each depends on: cases are many, their groups few.
struct RuledOut {
    cams: Vec<[usize; 2]>,
    rotors: Vec<[usize; 2]>,
    leads: Vec<usize>,
    sparks: Vec<Vec<usize>>,
    /// Each set of looks once.
    sets: Vec<FixedBitSet>,
}

impl RuledOut {
    fn of(search: &Search<'_>) -> Self {
        let count = search.candidates.len();
        let (mut met, mut sets) = (HashMap::new(), vec![FixedBitSet::with_capacity(count)]);
        met.insert(sets[0].clone(), 0);
        let mut set_of = |out: &dyn Fn(&Ruled) -> bool| {
            let mut by = FixedBitSet::with_capacity(count);
            for (index, candidate) in search.candidates.iter().enumerate() {
                by.set(index, out(&candidate.rules_out));
            }
            group(&mut met, &mut sets, by.clone(), by)
        };
        let cams = (0..search.cams.len()).map(|cams| {
            [0, 1].map(|turn| set_of(&|ruled| matches!(ruled, Ruled::Cams(out) if out[cams][turn])))
        });
        let cams = cams.collect();
        let rotors = (0..search.rotors.len()).map(|rotor| {
            [0, 1]
                .map(|turn| set_of(&|ruled| matches!(ruled, Ruled::Rotor(out) if out[rotor][turn])))
        });
        let rotors = rotors.collect();
        let leads = (0..search.leads.len())
            .map(|leads| set_of(&|ruled| matches!(ruled, Ruled::Leads(out) if out[leads])));
        let leads: Vec<usize> = leads.collect();
        let looks_at_sparks =
            |candidate: &Candidate| matches!(candidate.rules_out, Ruled::Sparks(_));
        let sparks = if search.candidates.iter().any(looks_at_sparks) {
            let with_leads = |rotor: usize| {
                (0..leads.len())
                    .map(|leads| {
                        set_of(&|ruled| matches!(ruled, Ruled::Sparks(out) if out[rotor][leads]))
                    })
                    .collect()
            };
            (0..search.rotors.len()).map(with_leads).collect()
        } else {
            Vec::new()
        };
        Self {
            cams,
            rotors,
            leads,
            sparks,
            sets,
        }
    }

    /// The sets, by their places, that together rule a case out.
    fn key(&self, case: Case) -> [usize; 4] {
        let sparks = self.sparks.get(case.rotor);
        [
            self.cams[case.cams][case.other_turn],
            self.rotors[case.rotor][case.other_turn],
            self.leads[case.leads],
            sparks.map_or(0, |by_leads| by_leads[case.leads]),
        ]
    }

    fn sets_of(&self, case: Case) -> impl Iterator<Item = &FixedBitSet> {
        self.key(case).into_iter().map(|set| &self.sets[set])
    }
}

/// The search for the fewest looks.
struct Cover<'a> {
    cases: &'a [FixedBitSet],
    looks: usize,
    steps: usize,
    found: Vec<Vec<usize>>,
}

impl Cover<'_> {
    /// Every list of `most` looks more that rules out all of `left`.
    fn search(&mut self, left: &[usize], most: usize, chosen: &mut Vec<usize>) {
        if left.is_empty() {
            let mut found = chosen.clone();
            found.sort_unstable();
            if !self.found.contains(&found) {
                self.found.push(found);
            }
            return;
        }
        self.steps += 1;
        if most == 0 || self.steps >= MOST_STEPS || self.found.len() >= MOST_ALIKE {
            return;
        }
        let mut rules_out = vec![0; self.looks];
        for &case in left {
            self.cases[case]
                .ones()
                .for_each(|look| rules_out[look] += 1);
        }
        let best = rules_out.iter().copied().max().unwrap_or(0);
        if best * most < left.len() {
            return;
        }
        // The case that fewest looks rule out: one of those must be among them. It comes first, for
        // they are in that order.
        let cases = self.cases;
        for look in cases[left[0]].ones() {
            let rest: Vec<usize> = left
                .iter()
                .copied()
                .filter(|&case| !cases[case].contains(look))
                .collect();
            chosen.push(look);
            self.search(&rest, most - 1, chosen);
            chosen.pop();
        }
    }
}

/// Each next look the one that rules out most of what is left.
fn greedy(cases: &[FixedBitSet], looks: usize) -> Vec<usize> {
    let mut left: Vec<&FixedBitSet> = cases.iter().collect();
    let mut chosen = Vec::new();
    while !left.is_empty() {
        let rules_out = |look: usize| left.iter().filter(|case| case.contains(look)).count();
        let Some(best) = (0..looks).max_by_key(|&look| (rules_out(look), std::cmp::Reverse(look)))
        else {
            break;
        };
        chosen.push(best);
        left.retain(|case| !case.contains(best));
    }
    chosen
}
