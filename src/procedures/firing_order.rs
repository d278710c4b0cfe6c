//! The firing order of an engine without papers, from where compression was felt.
//!
//! The crank is turned on by hand over two turns, a thumb over each plug hole in turn, and the
//! crank angle noted at which each cylinder pushes it off. The cylinders in the order of those
//! angles, No. 1 first, are the firing order. A thumb is no dial: each angle is good to about ten
//! degrees, so intervals that are even within that are taken as even.
//!
//! Most engines fire evenly, or in intervals that repeat (a 90° vee-six: 90, 150, 90, 150, …), and
//! two cylinders may fire as far apart as they like. Others have throws at even steps, of which some
//! are passed over (a three at 180°, 180°, 360°; a four with throws a quarter of a turn apart).
//! Where one reading alone keeps the rest from being even, it is that reading that does not fit;
//! what fits none of these no crank of so many cylinders gives.
//!
//! ```
//! use dotwise::procedures::firing_order::{FeltCompression, order};
//! let felt = [(1, 0.0), (2, 540.0), (3, 180.0), (4, 360.0)].map(|(cylinder, crank_deg)| FeltCompression { cylinder, crank_deg });
//! let found = order(&felt).expect("a four-stroke engine");
//! assert_eq!(found.firing_order, [1, 3, 4, 2]);
//! assert_eq!(found.intervals_deg, [180.0, 180.0, 180.0, 180.0]);
//! ```

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the readings of one list"
)]

use serde::Serialize;

use super::error::Error;
use crate::angle::{wrap, wrap_signed};
use crate::description::fields::MOST_CYLINDERS;
use crate::words::serialize_rounded_list;

/// How far a reading by the thumb may be out. Common practice, no source.
const THUMB_WITHIN_DEG: f64 = 10.0;
/// Steps of the cycle that throws and banks make on engines that are built: common practice, no
/// source.
const STEPS_DEG: [f64; 6] = [180.0, 120.0, 90.0, 72.0, 60.0, 45.0];

/// Where compression was felt in one cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeltCompression {
    /// The number on it.
    pub cylinder: u8,
    /// Crank degrees, turned on over two turns.
    pub crank_deg: f64,
}

/// A firing order found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Order {
    /// Cylinders as they fire, No. 1 first.
    pub firing_order: Vec<u8>,
    /// Crank degrees after each to the next; they sum to 720.
    #[serde(serialize_with = "serialize_rounded_list")]
    pub intervals_deg: Vec<f64>,
    /// Whether they were taken as even.
    #[serde(skip)]
    pub even: bool,
    /// The most a reading lies from where even intervals have it; 0 for uneven ones.
    #[serde(skip)]
    pub farthest_deg: f64,
}

/// The firing order that the readings give.
///
/// # Errors
/// The first reading that fits no four-stroke engine.
pub fn order(felt: &[FeltCompression]) -> Result<Order, Error> {
    let turned = in_turn(felt)?;
    let first = turned.first().map_or(0.0, |felt| felt.crank_deg);
    let firing_order = turned.iter().map(|felt| felt.cylinder).collect();
    let at: Vec<f64> = turned
        .iter()
        .map(|felt| wrap(felt.crank_deg - first, 720.0))
        .collect();

    let even = 720.0 / at.len() as f64;
    let off = off_even(&at, even);
    let farthest_deg = off.iter().map(|off| off.abs()).fold(0.0, f64::max);
    // Half an interval is the middle of the next one's place, however many cylinders there are.
    if farthest_deg <= THUMB_WITHIN_DEG.min(even / 4.0) {
        return Ok(Order {
            firing_order,
            intervals_deg: vec![even; at.len()],
            even: true,
            farthest_deg,
        });
    }
    let intervals_deg = crate::laws::firing::intervals(&at);
    let mistyped = stand_apart(&at, even);
    // Each of two readings may be out.
    let too_near = (2.0 * THUMB_WITHIN_DEG).min(even / 2.0);
    if let Some(index) = intervals_deg
        .iter()
        .position(|interval| *interval < too_near)
    {
        let pair = [index, (index + 1) % turned.len()];
        let reading = |index: usize| (turned[index].cylinder, turned[index].crank_deg);
        let would_be = mistyped.iter().find(|apart| pair.contains(&apart.index));
        return Err(Error::Together {
            one: reading(pair[0]),
            other: reading(pair[1]),
            would_be: would_be.map(|apart| {
                let at = wrap(apart.would_be_deg + first, 720.0);
                (turned[apart.index].cylinder, at)
            }),
        });
    }
    if !repeats(&intervals_deg) {
        if let [only] = mistyped[..] {
            return Err(Error::StandsApart {
                cylinder: turned[only.index].cylinder,
                crank_deg: turned[only.index].crank_deg,
                would_be_deg: wrap(only.would_be_deg + first, 720.0),
            });
        }
        if !STEPS_DEG.iter().any(|step| stands_at_steps(&at, *step)) {
            return Err(Error::NoCrank {
                order: firing_order,
                intervals_deg,
            });
        }
    }
    Ok(Order {
        firing_order,
        intervals_deg,
        even: false,
        farthest_deg: 0.0,
    })
}

/// The readings in the order in which the crank comes to them, No. 1's first: every cylinder once.
fn in_turn(felt: &[FeltCompression]) -> Result<Vec<FeltCompression>, Error> {
    if felt.is_empty() || felt.len() > MOST_CYLINDERS {
        return Err(Error::HowMany(felt.len()));
    }
    if let Some(out) = felt
        .iter()
        .find(|felt| !(0.0..=720.0).contains(&felt.crank_deg))
    {
        return Err(Error::OutOfRange(out.cylinder, out.crank_deg));
    }
    let mut turned = once_each(felt)?;
    let numbers = 1..=turned.len() as u8;
    if let Some(missing) = numbers
        .into_iter()
        .find(|number| turned.iter().all(|felt| felt.cylinder != *number))
    {
        return Err(Error::Missing(missing));
    }
    let number_one = turned.iter().find(|felt| felt.cylinder == 1);
    let first = number_one.map_or(0.0, |felt| felt.crank_deg);
    let after_first = |felt: &FeltCompression| wrap(felt.crank_deg - first, 720.0);
    turned.sort_by(|one, other| after_first(one).total_cmp(&after_first(other)));
    Ok(turned)
}

/// Each cylinder's reading once: a second that agrees with the first, two turns on, is the same.
fn once_each(felt: &[FeltCompression]) -> Result<Vec<FeltCompression>, Error> {
    let mut once: Vec<FeltCompression> = Vec::with_capacity(felt.len());
    for &felt in felt {
        match once.iter().find(|other| other.cylinder == felt.cylinder) {
            None => once.push(felt),
            Some(other)
                if wrap_signed(other.crank_deg - felt.crank_deg, 720.0).abs()
                    <= THUMB_WITHIN_DEG => {}
            Some(other) => {
                return Err(Error::Twice {
                    cylinder: felt.cylinder,
                    first_deg: other.crank_deg,
                    again_deg: felt.crank_deg,
                });
            }
        }
    }
    Ok(once)
}

/// How far each reading lies from the best even spacing, in turn.
fn off_even(at: &[f64], even: f64) -> Vec<f64> {
    let off: Vec<f64> = at
        .iter()
        .enumerate()
        .map(|(k, at)| at - k as f64 * even)
        .collect();
    let (least, most) = off
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), off| {
            (f64::min(least, *off), f64::max(most, *off))
        });
    off.iter().map(|off| off - (least + most) / 2.0).collect()
}

/// Whether the intervals come round after fewer than all of them, or there are but two.
fn repeats(intervals: &[f64]) -> bool {
    let count = intervals.len();
    count <= 2
        || (1..count)
            .filter(|period| count.is_multiple_of(*period))
            .any(|period| {
                (0..count).all(|k| {
                    (intervals[k] - intervals[(k + period) % count]).abs() <= 2.0 * THUMB_WITHIN_DEG
                })
            })
}

/// A reading without which the others stand at even places.
#[derive(Clone, Copy)]
struct Apart {
    /// Which, in turn.
    index: usize,
    /// Its own place among the others.
    would_be_deg: f64,
    /// The farthest that another lies from its even place.
    others_off_deg: f64,
}

/// The readings without any one of which the others stand at even places: the one first that leaves
/// the others nearest to theirs.
fn stand_apart(at: &[f64], even: f64) -> Vec<Apart> {
    let count = at.len();
    let candidates = (0..count).filter_map(|odd| {
        let others: Vec<f64> = (0..count).filter(|&k| k != odd).map(|k| at[k]).collect();
        let first = *others.first()?;
        let places: Vec<i64> = others
            .iter()
            .map(|at| ((at - first) / even).round() as i64)
            .collect();
        let off = |(at, place): (&f64, &i64)| (at - first - *place as f64 * even).abs();
        let others_off_deg = others.iter().zip(&places).map(off).fold(0.0, f64::max);
        let free = (0..count as i64).find(|place| !places.contains(place))?;
        let distinct = places.windows(2).all(|pair| pair[0] < pair[1])
            && places.last().is_some_and(|&last| last < count as i64);
        (others_off_deg <= THUMB_WITHIN_DEG && distinct).then_some(Apart {
            index: odd,
            would_be_deg: first + free as f64 * even,
            others_off_deg,
        })
    });
    let mut found: Vec<Apart> = candidates.collect();
    // Where it is all one, it is not the reading that the others are counted from.
    found.sort_by(|one, other| {
        let counted_from = (one.index == 0).cmp(&(other.index == 0));
        one.others_off_deg
            .total_cmp(&other.others_off_deg)
            .then(counted_from)
    });
    found
}

/// Whether every reading stands at a place of its own, these steps apart.
fn stands_at_steps(at: &[f64], step: f64) -> bool {
    let places: Vec<i64> = at.iter().map(|at| (at / step).round() as i64).collect();
    let near = at.iter().zip(&places);
    let near = near.map(|(at, place)| (at - *place as f64 * step).abs());
    near.into_iter().all(|off| off <= THUMB_WITHIN_DEG)
        && places.windows(2).all(|pair| pair[0] < pair[1])
        && places.last().is_none_or(|last| *last as f64 * step < 720.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn felt(readings: &[(u8, f64)]) -> Vec<FeltCompression> {
        readings
            .iter()
            .map(|&(cylinder, crank_deg)| FeltCompression {
                cylinder,
                crank_deg,
            })
            .collect()
    }

    #[test]
    fn readings_by_the_thumb_give_the_orders_of_known_engines() {
        // FAA-H-8083-32, chapter 1 (six, flat four); common practice, no source (five, eight,
        // vee-six, twin).
        type Case<'a> = (&'a [(u8, f64)], &'a [u8], &'a [f64]);
        let cases: [Case<'_>; 6] = [
            (
                &[
                    (1, 5.0),
                    (2, 486.0),
                    (3, 236.0),
                    (4, 601.0),
                    (5, 118.0),
                    (6, 367.0),
                ],
                &[1, 5, 3, 6, 2, 4],
                &[120.0; 6],
            ),
            (
                &[(1, 20.0), (2, 384.0), (3, 556.0), (4, 200.0)],
                &[1, 4, 2, 3],
                &[180.0; 4],
            ),
            (
                &[(1, 0.0), (2, 144.0), (3, 576.0), (4, 288.0), (5, 432.0)],
                &[1, 2, 4, 5, 3],
                &[144.0; 5],
            ),
            (
                &[
                    (1, 700.0),
                    (2, 612.0),
                    (3, 250.0),
                    (4, 160.0),
                    (5, 430.0),
                    (6, 338.0),
                    (7, 520.0),
                    (8, 72.0),
                ],
                &[1, 8, 4, 3, 6, 5, 7, 2],
                &[90.0; 8],
            ),
            (
                &[
                    (1, 0.0),
                    (2, 90.0),
                    (3, 240.0),
                    (4, 330.0),
                    (5, 480.0),
                    (6, 570.0),
                ],
                &[1, 2, 3, 4, 5, 6],
                &[90.0, 150.0, 90.0, 150.0, 90.0, 150.0],
            ),
            (&[(1, 0.0), (2, 315.0)], &[1, 2], &[315.0, 405.0]),
        ];
        for (readings, firing_order, intervals) in cases {
            let found = order(&felt(readings)).expect("an engine");
            assert_eq!(found.firing_order, firing_order);
            assert_eq!(found.intervals_deg, intervals);
            assert_eq!(found.intervals_deg.iter().sum::<f64>(), 720.0);
        }
    }

    #[test]
    fn the_reading_that_fits_no_four_stroke_is_named() {
        let cases: [(&[(u8, f64)], &str); 10] = [
            (&[], "There is no reading."),
            (
                &[(1, 0.0), (2, 800.0)],
                "No. 2 at 800°: a crank angle within two turns is 0° to 720°.",
            ),
            (
                &[(1, 0.0), (1, 360.0), (2, 180.0)],
                "No. 1 was felt at 0° and again at 360°: a four-stroke's cylinder compresses once in two turns.",
            ),
            (
                &[(1, 0.0), (3, 180.0)],
                "No. 2 is missing: cylinders are numbered from 1 without gaps.",
            ),
            (
                &[(1, 0.0), (3, 180.0), (4, 300.0), (2, 540.0)],
                "No. 4 at 300° does not fit: the others are even, and would have it at about 360°.",
            ),
            (
                &[(1, 0.0), (3, 180.0), (4, 183.0), (2, 540.0)],
                "No. 3 at 180° and No. 4 at 183° are too near together for a thumb to tell which comes first. No. 4 looks mistyped: at about \
                 360° it would be even with the others.",
            ),
            (
                // 540 written as 350: 10° and 360° apart.
                &[(1, 0.0), (3, 180.0), (4, 360.0), (2, 350.0)],
                "No. 2 at 350° and No. 4 at 360° are too near together for a thumb to tell which comes first. No. 2 looks mistyped: at about \
                 540° it would be even with the others.",
            ),
            (
                &[(1, 0.0), (2, 10.0)],
                "No. 1 at 0° and No. 2 at 10° are too near together for a thumb to tell which comes first. No. 2 looks mistyped: at about \
                 360° it would be even with the others.",
            ),
            (
                &[(1, 0.0), (3, 200.0), (4, 310.0), (2, 550.0)],
                "No. 1, 3, 4, 2 at intervals of 200°, 110°, 240°, 170°: no crank of 4 cylinders gives that. One or more of the figures are \
                 mistyped.",
            ),
            (
                &[(1, f64::NAN)],
                "No. 1 at NaN°: a crank angle within two turns is 0° to 720°.",
            ),
        ];
        for (readings, text) in cases {
            assert_eq!(
                order(&felt(readings)).expect_err("no engine").to_string(),
                text
            );
        }
    }

    #[test]
    fn the_same_cylinder_felt_again_two_turns_on_is_no_contradiction() {
        assert_eq!(
            order(&felt(&[(1, 2.0), (2, 360.0), (1, 718.0)]))
                .expect("a twin")
                .firing_order,
            [1, 2]
        );
    }

    #[test]
    fn a_four_with_throws_a_quarter_of_a_turn_apart_is_an_engine() {
        // A crossplane four in line: 270, 180, 90, 180. Common practice, no source.
        assert_eq!(
            order(&felt(&[(1, 3.0), (3, 268.0), (2, 452.0), (4, 541.0)]))
                .expect("a four")
                .firing_order,
            [1, 3, 2, 4]
        );
    }

    #[test]
    fn three_that_fire_half_a_turn_apart_and_rest_are_an_engine() {
        // A three with a 180° crank: common practice, no source.
        assert_eq!(
            order(&felt(&[(1, 0.0), (2, 180.0), (3, 360.0)]))
                .expect("a three")
                .intervals_deg,
            [180.0, 180.0, 360.0]
        );
    }
}
