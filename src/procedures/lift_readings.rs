//! A lobe from its readings: which of them do not fit their neighbours, where the base circle ends,
//! and the curve through the rest.
//!
//! Each reading is laid against the cubic through the two before it and the two after it (beside the
//! table the valve is on its seat). What it is off by is compared with what half of all readings are
//! off by, and half of those about it: a reading that is off by more than `TIMES_THE_USUAL` as
//! much, and by no less than `LEAST_DOUBTFUL_MM`, is doubtful. The worst is named first and left
//! out, and the others are laid against their neighbours without it, so that one slip accuses no
//! other. Common practice, no source; how often it is right is measured in the tests.

#![expect(
    clippy::indexing_slicing,
    reason = "places were counted among these readings"
)]

use serde::{Serialize, Serializer};

use super::lift_table::{LiftReading, TableFault};
use crate::description::Valve;
use crate::laws::{LEAST_POINTS, LONGEST_GAP_DEG, MeasuredLift};
use crate::source::Finding;
use crate::words::{Units, counted, degrees, length, serialize_rounded};

/// A reading that is off by so many times what the others are is doubtful.
const TIMES_THE_USUAL: f64 = 5.0;
/// No reading that is off by less is doubtful: a dial and a wheel read by hand are.
const LEAST_DOUBTFUL_MM: f64 = 0.08;
/// Doubtful readings named at most: with more, it is not one slip or two.
const MOST_DOUBTFUL: usize = 5;
/// Readings to either side that say what is usual about a place.
const ABOUT: usize = 5;
/// A dial on the base circle reads within this: common practice, no source.
pub(super) const BASE_CIRCLE_WITHIN_MM: f64 = 0.03;

/// A reading that does not fit its neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Doubtful {
    /// The valve it was read at.
    #[serde(serialize_with = "in_small_letters")]
    pub valve: Valve,
    /// The line of the file.
    pub line: usize,
    /// The phase, 0 at firing TDC.
    #[serde(serialize_with = "serialize_rounded")]
    pub phase_deg: f64,
    /// What was read.
    #[serde(serialize_with = "serialize_rounded")]
    pub lift_mm: f64,
    /// What its neighbours make of it.
    #[serde(serialize_with = "serialize_rounded")]
    pub neighbours_mm: f64,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
fn in_small_letters<S: Serializer>(valve: &Valve, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(valve.word())
}

/// A lobe as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadLobe {
    /// The curve through the readings that fit.
    pub curve: MeasuredLift,
    /// Those that do not fit their neighbours, the worst first; left out of the curve.
    pub doubtful: Vec<Doubtful>,
    /// What half of the readings are off their neighbours by, or less.
    pub scatter_mm: f64,
}

impl ReadLobe {
    /// The lobe of one valve; lifts are told in `units`.
    ///
    /// # Errors
    /// Where the readings hold no whole lobe.
    pub fn of(valve: Valve, readings: &[LiftReading], units: Units) -> Result<Self, Vec<Finding>> {
        let word = valve.word();
        let (left_out, scatter_mm) = doubtful(valve, readings);
        let kept: Vec<LiftReading> = readings
            .iter()
            .filter(|reading| left_out.iter().all(|out| out.line != reading.line))
            .copied()
            .collect();
        let finding = |fault| Finding::error(fault, format!("{word} lift"));
        let is_lifted = |reading: &LiftReading| reading.lift_mm > BASE_CIRCLE_WITHIN_MM;
        let lifted = kept
            .iter()
            .position(is_lifted)
            .zip(kept.iter().rposition(is_lifted));
        let Some((first, last)) = lifted else {
            return Err(vec![
                finding(TableFault::NoLobe)
                    .message(format!("no {word} lift over 0 was read"))
                    .why("a lobe is drawn through the lifts it gives")
                    .fix("turn on until the valve opens, and read it to where it is shut again"),
            ]);
        };
        let mut findings = Vec::new();
        let ends = [
            (first.checked_sub(1), first, "begins", "before it opens"),
            (
                Some(last + 1).filter(|next| *next < kept.len()),
                last,
                "ends",
                "after it is shut",
            ),
        ];
        for (beyond, end, how, when) in ends {
            if beyond.is_none() {
                let reading = kept[end];
                findings.push(
                    finding(TableFault::NotFromTheSeat)
                        .message(format!(
                            "the {word} column {how} at {}, on line {}; 0 is wanted at both ends",
                            length(reading.lift_mm, units),
                            reading.line
                        ))
                        .why("where the valve leaves its seat and comes back to it is not known")
                        .fix(format!("read on {when}, until the dial stands at 0")),
                );
            }
        }
        let lobe = &kept[first.saturating_sub(1)..(last + 2).min(kept.len())];
        if lobe.len() < LEAST_POINTS {
            findings.push(
                finding(TableFault::TooFewReadings)
                    .message(format!(
                        "{} from seat to seat of the {word}; {LEAST_POINTS} at least are wanted",
                        counted(lobe.len(), "reading", "readings")
                    ))
                    .why("between readings far apart anything could be")
                    .fix("read every 5° or 10° of crank"),
            );
        }
        for pair in lobe.windows(2) {
            let apart = pair[1].phase_deg - pair[0].phase_deg;
            if apart > LONGEST_GAP_DEG {
                findings.push(
                    finding(TableFault::GapTooWide)
                        .message(format!(
                            "nothing was read of the {word} for {}, between lines {} and {}; {} at most is allowed",
                            degrees(apart),
                            pair[0].line,
                            pair[1].line,
                            degrees(LONGEST_GAP_DEG)
                        ))
                        .why("between readings far apart anything could be")
                        .fix("read the lift between, every 5° or 10° of crank"),
                );
            }
        }
        let points: Vec<(f64, f64)> = lobe
            .iter()
            .map(|reading| (reading.phase_deg, reading.lift_mm))
            .collect();
        match MeasuredLift::through(&points) {
            Some(curve) if findings.is_empty() => Ok(Self {
                curve,
                doubtful: left_out,
                scatter_mm,
            }),
            Some(_) => Err(findings),
            None if findings.is_empty() => Err(vec![
                finding(TableFault::NoLobe)
                    .message(format!("the {word} column holds no lobe"))
                    .why("it goes up from 0 once and comes down to it again within two turns")
                    .fix("look through the column once more"),
            ]),
            None => Err(findings),
        }
    }
}

/// The readings that do not fit their neighbours, the worst first, and what half of the others are
/// off by at most.
fn doubtful(valve: Valve, readings: &[LiftReading]) -> (Vec<Doubtful>, f64) {
    let mut kept: Vec<LiftReading> = readings.to_vec();
    let mut found = Vec::new();
    loop {
        let off: Vec<(f64, f64)> = (0..kept.len()).map(|index| fitted(&kept, index)).collect();
        let sizes: Vec<f64> = off.iter().map(|(_, off)| off.abs()).collect();
        let usual = median(sizes.iter().copied());
        let share = |index: usize| {
            // Farther than the two on each side, which what is wrong here puts out themselves.
            let before = index.saturating_sub(2 + ABOUT)..index.saturating_sub(2);
            let after = (index + 3).min(sizes.len())..(index + 3 + ABOUT).min(sizes.len());
            let about = sizes[before].iter().chain(&sizes[after]).copied();
            let allowed = TIMES_THE_USUAL * usual.max(median(about));
            sizes[index] / allowed.max(LEAST_DOUBTFUL_MM)
        };
        let worst = (0..kept.len())
            .map(|index| (index, share(index)))
            .max_by(|(_, one), (_, other)| one.total_cmp(other))
            .filter(|(_, share)| *share > 1.0);
        let Some((index, _)) = worst.filter(|_| found.len() < MOST_DOUBTFUL) else {
            return (found, usual);
        };
        let reading = kept.remove(index);
        found.push(Doubtful {
            valve,
            line: reading.line,
            phase_deg: reading.phase_deg,
            lift_mm: reading.lift_mm,
            neighbours_mm: off[index].0,
        });
    }
}

/// What a reading's neighbours make of it, and what it is off that by, brought to what one reading
/// is off by where they all are alike.
fn fitted(readings: &[LiftReading], index: usize) -> (f64, f64) {
    let here = readings[index];
    let spacing = |one: usize, other: usize| {
        let pair = readings.get(one).zip(readings.get(other));
        pair.map_or(1.0, |(one, other)| (other.phase_deg - one.phase_deg).abs())
    };
    let count = readings.len();
    // Beside the table the valve is on its seat.
    let at = |place: isize| {
        let beyond =
            |end: LiftReading, steps: f64, spacing: f64| (end.phase_deg + steps * spacing, 0.0);
        match usize::try_from(place) {
            Ok(inside) if inside < count => (readings[inside].phase_deg, readings[inside].lift_mm),
            Ok(after) => beyond(
                readings[count - 1],
                (after - (count - 1)) as f64,
                spacing(count.saturating_sub(2), count - 1),
            ),
            Err(_) => beyond(readings[0], place as f64, spacing(0, 1)),
        }
    };
    let middle = index as isize;
    let around = [middle - 2, middle - 1, middle + 1, middle + 2].map(at);
    let weight = |which: usize| -> f64 {
        around
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != which)
            .map(|(_, (deg, _))| (here.phase_deg - deg) / (around[which].0 - deg))
            .product()
    };
    let weights = [0, 1, 2, 3].map(weight);
    let neighbours: f64 = weights
        .iter()
        .zip(around)
        .map(|(weight, (_, lift))| weight * lift)
        .sum();
    // Readings that are each off by as much are off such a cubic by this many times it; evenly
    // spaced, by 1.4 times.
    let times = (1.0 + weights.iter().map(|weight| weight * weight).sum::<f64>()).sqrt();
    let evenly = (1.0_f64 + 34.0 / 36.0).sqrt();
    (neighbours, (here.lift_mm - neighbours) * evenly / times)
}

/// The middle one; 0 of none.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lobe drawn up by chance, read every so many degrees with a dial that is off by a little:
    /// another each time, the same for the same seed.
    fn made_up(chance: &mut fastrand::Rng) -> Vec<LiftReading> {
        let mut between = |least: f64, most: f64| least + (most - least) * chance.f64();
        let (lasts, full, sharpness) =
            (between(200.0, 320.0), between(5.0, 14.0), between(2.2, 5.0));
        let (skew, centre, ramp) = (between(0.9, 1.1), between(455.0, 478.0), between(0.0, 0.25));
        let noise = [0.0, 0.01, 0.02, 0.02][(between(0.0, 4.0) as usize).min(3)];
        let step = [2.0, 2.5, 4.0, 5.0, 5.0, 5.0, 10.0][(between(0.0, 7.0) as usize).min(6)];
        let (up, down) = (lasts / 2.0 * skew, lasts / 2.0 * (2.0 - skew));
        let lift = |deg: f64| {
            let off = if deg < centre {
                (centre - deg) / up
            } else {
                (deg - centre) / down
            };
            // The lobe proper, and a ramp that takes up the lash at its foot.
            let main = (1.0 - off * off).max(0.0).powf(sharpness) * full;
            main + ramp * (1.0 - (off * off).powi(6)).max(0.0)
        };
        let from = ((centre - up) / step).floor() * step - 2.0 * step;
        let count = ((up + down) / step) as usize + 5;
        (0..count)
            .map(|index| {
                let phase_deg = from + step * index as f64;
                let read = lift(phase_deg) + between(-noise, noise);
                LiftReading {
                    line: index + 2,
                    phase_deg,
                    lift_mm: (read * 100.0).round() / 100.0,
                }
            })
            .collect()
    }

    const TABLES: u64 = 1000;

    #[test]
    fn of_a_thousand_clean_tables_that_scatter_hardly_any_has_a_reading_called_doubtful() {
        let accused = (0..TABLES)
            .filter(|seed| {
                let readings = made_up(&mut fastrand::Rng::with_seed(*seed));
                !doubtful(Valve::Intake, &readings).0.is_empty()
            })
            .count();
        println!("clean tables with a reading called doubtful: {accused} of {TABLES}");
        assert!(accused <= 5, "{accused} of {TABLES}");
    }

    #[test]
    fn of_a_thousand_tables_with_a_digit_mistyped_nearly_every_one_names_that_row_and_no_other() {
        // By how much the digit puts the reading out: how many there were, how many were named
        // first, how many had another row accused as well.
        let mut small = [0_u32; 3];
        let mut large = [0_u32; 3];
        for seed in 0..TABLES {
            let mut chance = fastrand::Rng::with_seed(seed ^ 0xd191);
            let mut readings = made_up(&mut chance);
            let wrong = loop {
                let index = chance.usize(..readings.len());
                let mut digits: Vec<u8> = format!("{:.2}", readings[index].lift_mm.abs()).into();
                let place = chance.usize(..digits.len());
                if digits[place] != b'.' {
                    digits[place] = b'0' + chance.u8(..10);
                }
                let typed: f64 = str::from_utf8(&digits)
                    .expect("digits")
                    .parse()
                    .expect("a number");
                // What scatters by 0.02 mm cannot tell a tenth from a reading.
                if (typed - readings[index].lift_mm).abs() > 0.095 {
                    let off = (typed - readings[index].lift_mm).abs();
                    readings[index].lift_mm = typed;
                    break (readings[index].line, off);
                }
            };
            let found = doubtful(Valve::Intake, &readings).0;
            let tally = if wrong.1 < 0.195 {
                &mut small
            } else {
                &mut large
            };
            tally[0] += 1;
            tally[1] += u32::from(found.first().is_some_and(|first| first.line == wrong.0));
            tally[2] += u32::from(found.iter().any(|other| other.line != wrong.0));
        }
        println!("a tenth out: {small:?}, two tenths or more: {large:?}");
        assert!(
            large[0] > 800 && large[1] * 1000 >= large[0] * 990,
            "{large:?}"
        );
        assert!(
            small[0] > 30 && small[1] * 100 >= small[0] * 80,
            "{small:?}"
        );
        assert!(large[2] + small[2] <= 10, "{large:?} {small:?}");
    }
}
