//! Setting the valves with the fewest turns of the crank.
//!
//! A valve may be set while it is off its lobe by a margin on both sides (default 20 crank
//! degrees): while the crank stands in an arc of 720° less the seat duration less both margins. The
//! fewest crank positions that stand in every valve's arc are found by trying: the set of settable
//! valves changes only at the ends of arcs, so one position between each two ends is enough. Of the
//! sets that are as small, the one with most positions at dead centres is taken, for a builder
//! finds those without a degree wheel, then the one that comes first.
//!
//! ```
//! use dotwise::procedures::lash::{DEFAULT_MARGIN_DEG, lash};
//! use dotwise::engine::scenes::BENCH;
//! use dotwise::phasing::Phasing;
//! // Four, 1-3-4-2. At No. 1 firing TDC intake 1, 2 and exhaust 1, 3; at No. 4's the rest: TM 5-3805-258-24-1, p. 4-28.
//! let lash = lash(&Phasing::as_drawn(&BENCH.engine()), DEFAULT_MARGIN_DEG);
//! assert_eq!((lash.stops[0].crank.degrees(), &lash.stops[0].intake[..], &lash.stops[0].exhaust[..]), (0.0, &[1, 2][..], &[1, 3][..]));
//! assert_eq!((lash.stops[1].crank.degrees(), &lash.stops[1].intake[..], &lash.stops[1].exhaust[..]), (360.0, &[3, 4][..], &[2, 4][..]));
//! ```

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the places of one round"
)]

use std::cmp::Ordering;

use serde::{Serialize, Serializer};

use crate::angle::{CrankAngle, wrap, wrap_signed};
use crate::description::Valve;
use crate::phasing::{CylinderPhasing, Phasing};

/// Crank degrees a valve is to be off its lobe on both sides. Common practice, no source.
pub const DEFAULT_MARGIN_DEG: f64 = 20.0;

/// A crank position, and the valves to set there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LashStop {
    /// Where the crank stands.
    #[serde(rename = "crank_deg")]
    pub crank: CrankAngle,
    /// The cylinders whose intake valve is set here, by number.
    pub intake: Vec<u8>,
    /// The cylinders whose exhaust valve is set here, by number.
    pub exhaust: Vec<u8>,
}

/// The fewest stops, in turning order.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Lash {
    /// Where to stop; each valve once, at the first stop that allows it.
    pub stops: Vec<LashStop>,
    /// Valves that are never off their lobe by so much.
    pub never: Vec<NeverFree>,
}

/// A valve that is nowhere off its lobe by the margin on both sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct NeverFree {
    /// Its cylinder's number.
    pub cylinder: u8,
    /// Which of the two.
    #[serde(serialize_with = "in_a_word")]
    pub valve: Valve,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn in_a_word<S: Serializer>(valve: &Valve, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(valve.word())
}

/// A valve's bit, and the middle and half-width of the arc in which it may be set.
struct Arc {
    number: u8,
    valve: Valve,
    middle_deg: f64,
    half_deg: f64,
}

impl Arc {
    fn of(phasing: &Phasing, cylinder: &CylinderPhasing, valve: Valve, margin_deg: f64) -> Self {
        let lobe = phasing.lobe(valve);
        // The lobe's middle, in crank degrees as built; that of its heel is half a cycle on.
        let middle = cylinder.fires.degrees() + lobe.middle_deg() - cylinder.ahead(valve).degrees();
        Self {
            number: cylinder.number,
            valve,
            middle_deg: wrap(middle + 360.0, 720.0),
            half_deg: 360.0 - lobe.seat_duration_deg() / 2.0 - margin_deg,
        }
    }

    fn holds(&self, crank_deg: f64) -> bool {
        wrap_signed(crank_deg - self.middle_deg, 720.0).abs() <= self.half_deg + 1e-9
    }
}

/// A place to stop at.
#[derive(Clone, Copy)]
struct Place {
    crank_deg: f64,
    valves: u64,
    /// How hard it is to find: 0 at top dead centre, 1 at bottom dead centre, 2 elsewhere.
    effort: u32,
}

/// The fewest crank positions at which every valve can be set, each valve off its lobe by at least
/// `margin_deg`.
pub fn lash(phasing: &Phasing, margin_deg: f64) -> Lash {
    let arcs = phasing.cylinders().iter().flat_map(|cylinder| {
        Valve::BOTH.map(|valve| Arc::of(phasing, cylinder, valve, margin_deg))
    });
    let (arcs, never): (Vec<Arc>, Vec<Arc>) = arcs.partition(|arc| arc.half_deg >= 0.0);
    let places = places(phasing, &arcs);
    let chosen = fewest(&places, arcs.len());
    let mut left = all(arcs.len());
    let mut stops = Vec::with_capacity(chosen.len());
    for place in chosen {
        let here = place.valves & left;
        left &= !here;
        let of = |valve| {
            let set = arcs
                .iter()
                .enumerate()
                .filter(|(bit, arc)| here >> bit & 1 == 1 && arc.valve == valve);
            set.map(|(_, arc)| arc.number).collect()
        };
        stops.push(LashStop {
            crank: CrankAngle::new(place.crank_deg),
            intake: of(Valve::Intake),
            exhaust: of(Valve::Exhaust),
        });
    }
    Lash {
        stops,
        never: never
            .iter()
            .map(|arc| NeverFree {
                cylinder: arc.number,
                valve: arc.valve,
            })
            .collect(),
    }
}

fn all(count: usize) -> u64 {
    if count >= 64 {
        u64::MAX
    } else {
        (1 << count) - 1
    }
}

/// Dead centres, and one place between each two ends of arcs; of places that allow the same valves,
/// the easiest to find, then the first.
fn places(phasing: &Phasing, arcs: &[Arc]) -> Vec<Place> {
    let valves = |crank_deg: f64| {
        arcs.iter()
            .enumerate()
            .filter(|(_, arc)| arc.holds(crank_deg))
            .fold(0, |set, (bit, _)| set | 1 << bit)
    };
    let down = phasing.slider().down_stroke_deg();
    let mut places: Vec<Place> = Vec::new();
    let mut put = |crank_deg: f64, effort| {
        let place = Place {
            crank_deg,
            valves: valves(crank_deg),
            effort,
        };
        if place.valves != 0 && places.iter().all(|other| other.valves != place.valves) {
            places.push(place);
        }
    };
    let mut tops: Vec<f64> = phasing
        .cylinders()
        .iter()
        .flat_map(|cylinder| [0.0, 360.0].map(|turn| wrap(cylinder.fires.degrees() + turn, 720.0)))
        .collect();
    tops.sort_by(f64::total_cmp);
    tops.iter().for_each(|&top| put(top, 0));
    let mut bottoms: Vec<f64> = tops.iter().map(|top| wrap(top + down, 720.0)).collect();
    bottoms.sort_by(f64::total_cmp);
    bottoms.iter().for_each(|&bottom| put(bottom, 1));
    let mut ends: Vec<f64> = arcs
        .iter()
        .flat_map(|arc| [-1.0, 1.0].map(|side| wrap(arc.middle_deg + side * arc.half_deg, 720.0)))
        .collect();
    ends.sort_by(f64::total_cmp);
    for (i, &end) in ends.iter().enumerate() {
        let next = if i + 1 < ends.len() {
            ends[i + 1]
        } else {
            ends[0] + 720.0
        };
        let middle = (end + next) / 2.0;
        // A whole degree where one lies between: it can be found on a degree wheel.
        let whole = middle.round();
        put(
            wrap(
                if whole > end && whole < next {
                    whole
                } else {
                    middle
                },
                720.0,
            ),
            2,
        );
        // An arc that is one point is met only at its end.
        put(end, 2);
    }
    places.sort_by(|one, other| one.crank_deg.total_cmp(&other.crank_deg));
    places
}

/// The fewest places that hold every valve between them; of those, the ones with the least effort,
/// then those that come first.
fn fewest(places: &[Place], count: usize) -> Vec<Place> {
    // A place that holds no more than another and is no easier to find is never needed.
    let needed: Vec<Place> = places
        .iter()
        .enumerate()
        .filter(|(i, place)| {
            !places.iter().enumerate().any(|(j, other)| {
                let within = place.valves & !other.valves == 0 && other.effort <= place.effort;
                within
                    && i != &j
                    && (place.valves != other.valves || other.effort < place.effort || j < *i)
            })
        })
        .map(|(_, place)| *place)
        .collect();
    // Whatever is chosen, one of the places of this valve is: the circle is cut open at each.
    let of_valve = |bit: usize| {
        let held = move |place: &&Place| place.valves >> bit & 1 == 1;
        needed
            .iter()
            .enumerate()
            .filter(move |(_, place)| held(place))
    };
    let Some(rarest) = (0..count).min_by_key(|&bit| of_valve(bit).count()) else {
        return Vec::new();
    };
    let best = of_valve(rarest)
        .filter_map(|(first, _)| fewest_from(&needed, first, count))
        .min_by(|one, other| one.0.compare(&other.0));
    let mut chosen = best.map_or_else(Vec::new, |(_, chosen)| chosen);
    chosen.sort_by(|one, other| one.crank_deg.total_cmp(&other.crank_deg));
    chosen
}

/// What a choice of places costs: their number, then how much effort they ask for, then how late.
#[derive(Clone, Copy)]
struct Cost {
    stops: u32,
    effort: u32,
    crank_deg: f64,
}

impl Cost {
    fn with(self, place: &Place) -> Self {
        Self {
            stops: self.stops + 1,
            effort: self.effort + place.effort,
            crank_deg: self.crank_deg + place.crank_deg,
        }
    }

    fn compare(&self, other: &Self) -> Ordering {
        (self.stops, self.effort)
            .cmp(&(other.stops, other.effort))
            .then(self.crank_deg.total_cmp(&other.crank_deg))
    }
}

/// The cheapest choice that has the place `first` in it, on the circle cut open there.
///
/// A valve's places follow one another round the circle, so a choice holds every valve where no
/// valve's places lie all between two neighbours of the choice: the cheapest is a shortest path.
fn fewest_from(places: &[Place], first: usize, count: usize) -> Option<(Cost, Vec<Place>)> {
    let round: Vec<&Place> = (0..places.len())
        .map(|step| &places[(first + step) % places.len()])
        .collect();
    // The first and the last place of each valve that `first` does not hold.
    let spans: Vec<(usize, usize)> = (0..count)
        .filter(|bit| round[0].valves >> bit & 1 == 0)
        .map(|bit| {
            let holds = |place: &&Place| place.valves >> bit & 1 == 1;
            Some((
                round.iter().position(holds)?,
                round.iter().rposition(holds)?,
            ))
        })
        .collect::<Option<_>>()?;
    // From a place the next must come before any valve is passed over.
    let latest = |from: usize| {
        let after = spans.iter().filter(|(start, _)| *start > from);
        after.map(|(_, end)| *end).min()
    };
    let start = Cost {
        stops: 0,
        effort: 0,
        crank_deg: 0.0,
    };
    let mut best: Vec<Option<(Cost, usize)>> = vec![None; round.len()];
    best[0] = Some((start.with(round[0]), 0));
    let mut whole: Option<(Cost, usize)> = None;
    for from in 0..round.len() {
        let Some((cost, _)) = best[from] else {
            continue;
        };
        let Some(latest) = latest(from) else {
            if whole.is_none_or(|(least, _)| cost.compare(&least).is_lt()) {
                whole = Some((cost, from));
            }
            continue;
        };
        for next in from + 1..=latest {
            let cost = cost.with(round[next]);
            if best[next].is_none_or(|(least, _)| cost.compare(&least).is_lt()) {
                best[next] = Some((cost, from));
            }
        }
    }
    let (cost, mut at) = whole?;
    let mut chosen = vec![*round[at]];
    while at != 0 {
        at = best[at]?.1;
        chosen.push(*round[at]);
    }
    Some((cost, chosen))
}
