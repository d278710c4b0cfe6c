//! What to look at next: the looks that would best split what still fits.
//!
//! Every look that a builder can take with the case open or shut is tried: each valve at each dead
//! centre, at the timing marks, and where one tooth of the cam makes the difference; the rotor by
//! the clock and by tower; the thumb over the plug holes; the leads traced; a light on each lead.
//! The crank is turned on, forwards, from where it last stood, so it is known on which turn it then
//! is.
//!
//! An answer leaves every fit that could give it, a fit near a change of a valve both; of two looks
//! the better is the one after which fewer fits are to be expected, all taken as equally likely: Σ
//! n² / Σ n over its answers of n fits each.

use std::collections::{BTreeMap, BTreeSet};

use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::evidence::{DistributorSetting, Evidence, turned_on};
use super::fit::Fit;
use super::observations::{
    CRANK_WITHIN_DEG, ROTOR_WITHIN_DEG, RotorObservation, SPARK_WITHIN_DEG, ValveObservation,
    ValveState,
};
use crate::angle::{Clock, CrankAngle, RotorTurn, rounded, wrap};
use crate::description::Valve;
use crate::engine::Assembly;
use crate::laws::{Lobes, SliderCrank, gear_train};
use crate::words::degrees;

const MOST: usize = 5;
/// Of one kind at most: five valves that tell the same are one look.
const MOST_OF_A_KIND: usize = 2;

/// A look to take.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Where the crank stands for it, by its own marks.
    pub crank_deg: f64,
    /// The crank is turned on, forwards, to get there; else it stands where it stood last, or it
    /// does not matter.
    pub turn_on: bool,
    /// What to look at.
    pub at: LookAt,
    /// Each answer, and how many fits it would leave, the most first.
    pub answers: Vec<(String, usize)>,
    /// How many fits are to be expected after it.
    pub expected: f64,
}

/// What to look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LookAt {
    /// A valve.
    Valve(u8, Valve),
    /// The rotor, by the clock.
    RotorClock,
    /// The rotor, by the tower it points at.
    RotorTower,
    /// The leads, traced from tower to plug.
    Leads,
    /// The thumb over the plug holes.
    Thumb,
    /// The spark of a cylinder.
    Spark(u8),
}

impl LookAt {
    /// In a few words, as in the JSON.
    pub fn words(self) -> String {
        match self {
            Self::Valve(cylinder, valve) => format!("{} valve of No. {cylinder}", valve.word()),
            Self::RotorClock => "rotor by the clock".into(),
            Self::RotorTower => "rotor by tower".into(),
            Self::Leads => "leads, traced from tower to plug".into(),
            Self::Thumb => "compression by the thumb".into(),
            Self::Spark(cylinder) => format!("spark of No. {cylinder}"),
        }
    }

    fn kind(self) -> u8 {
        match self {
            Self::Valve(..) => 0,
            Self::RotorClock | Self::RotorTower => 1,
            Self::Leads => 2,
            Self::Thumb => 3,
            Self::Spark(_) => 4,
        }
    }

    /// How much work it is beside turning the crank.
    fn work(self) -> u32 {
        match self {
            Self::Valve(..) | Self::RotorClock | Self::RotorTower | Self::Leads => 0,
            Self::Thumb => 1,
            Self::Spark(_) => 2,
        }
    }
}

impl Look {
    /// How many fits each answer would leave.
    pub fn splits(&self) -> Vec<usize> {
        self.answers.iter().map(|(_, left)| *left).collect()
    }

    /// The look in a sentence, with what each answer would leave.
    pub fn sentence(&self) -> String {
        const MOST_ANSWERS: usize = 4;
        let to_do = match self.at {
            LookAt::Leads => {
                "Trace the leads from No. 1's tower in the rotor's direction".to_owned()
            }
            LookAt::Spark(cylinder) => format!(
                "Put a light on the lead of No. {cylinder} and read its spark on the crank's mark"
            ),
            at => {
                let look = match at {
                    LookAt::Thumb => "feel for compression at each plug hole on the way".to_owned(),
                    LookAt::RotorTower => "see which tower the rotor points at".to_owned(),
                    LookAt::RotorClock => "see where the rotor points by the clock".to_owned(),
                    at => format!("look at the {}", at.words()),
                };
                if self.turn_on {
                    format!(
                        "Turn on, forwards, to {} by the mark (write `turned_on: true`) and {look}",
                        degrees(self.crank_deg)
                    )
                } else {
                    format!(
                        "With the crank where it was last seen, at {}, {look}",
                        degrees(self.crank_deg)
                    )
                }
            }
        };
        let mut answers: Vec<String> = self
            .answers
            .iter()
            .take(MOST_ANSWERS)
            .map(|(answer, left)| format!("{answer} leaves {left}"))
            .collect();
        if self.answers.len() > MOST_ANSWERS {
            let rest = &self.answers[MOST_ANSWERS..];
            let most = rest.iter().map(|(_, left)| *left).max().unwrap_or(0);
            answers.push(format!(
                "any of {} other answers at most {most}",
                rest.len()
            ));
        }
        format!("{to_do}: {}.", answers.join(", "))
    }
}

impl Serialize for Look {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Look", 4)?;
        fields.serialize_field("crank", &rounded(self.crank_deg))?;
        fields.serialize_field("look", &self.at.words())?;
        fields.serialize_field("splits", &self.splits())?;
        fields.serialize_field("says", &self.sentence())?;
        fields.end()
    }
}

/// On which turns the crank may have stood last, all that was seen explained: the one that
/// [`Evidence::crank`] gives, and the other.
type Turns = [bool; 2];

struct Search<'a> {
    evidence: &'a Evidence<'a>,
    fits: &'a [Fit],
    last: usize,
    last_mark: f64,
    last_within: f64,
    cam: BTreeMap<(i32, Turns), usize>,
    rotor: BTreeMap<(u64, Turns), usize>,
    looks: Vec<(u32, Look)>,
}

/// The looks that would best split `fits`, best first.
pub(super) fn looks(evidence: &Evidence<'_>, fits: &[Fit]) -> Vec<Look> {
    let Some(last) = evidence.seen.sightings.len().checked_sub(1) else {
        return Vec::new();
    };
    if fits.len() < 2 {
        return Vec::new();
    }
    let mut search = Search {
        evidence,
        fits,
        last,
        last_mark: evidence.crank(last, false).by_the_mark(),
        last_within: evidence.seen.sightings[last].within,
        cam: BTreeMap::new(),
        rotor: BTreeMap::new(),
        looks: Vec::new(),
    };
    let mut turns_of: BTreeMap<(i32, i32), Turns> = BTreeMap::new();
    for fit in fits {
        let teeth = (fit.assembly.cam_teeth, fit.assembly.drive_teeth);
        let turns = *turns_of
            .entry(teeth)
            .or_insert_with(|| evidence.last_turns(teeth.0, teeth.1));
        *search.cam.entry((teeth.0, turns)).or_default() += 1;
        let teeth_out = evidence.teeth_out(teeth.0, teeth.1);
        *search
            .rotor
            .entry((teeth_out.degrees().to_bits(), turns))
            .or_default() += 1;
    }
    let (dead_centres, tooth_marks) = marks(evidence, fits);
    search.try_marks(&[search.last_mark], 0);
    search.try_marks(&dead_centres, 1);
    search.try_marks(&tooth_marks, 2);
    if evidence.engine.metric().distributor.is_some() {
        if !search.rotor_was_read() {
            search.try_rotor_clock();
        }
        search.try_leads();
        search.try_sparks();
    }
    search.best()
}

/// Marks a builder finds without a degree wheel (dead centres, and where the timing marks meet),
/// and marks midway between where one tooth of the cam and the next open or close a valve of No. 1.
fn marks(evidence: &Evidence<'_>, fits: &[Fit]) -> (Vec<f64>, Vec<f64>) {
    let description = evidence.engine.metric();
    let down_stroke_deg = SliderCrank::of(description).down_stroke_deg();
    let whole = |degrees: f64| wrap(degrees.round(), 360.0) as u64;
    let mut dead: BTreeSet<u64> = BTreeSet::new();
    for fires in evidence.engine.firing_angles() {
        dead.extend([whole(*fires), whole(fires + down_stroke_deg)]);
    }
    dead.insert(whole(description.cam_drive.marks_meet_at));
    let lobes = Lobes::of(&description.valves);
    let tooth = gear_train::crank_per_cam_tooth(&description.cam_drive).degrees();
    let teeth: BTreeSet<i32> = fits.iter().map(|fit| fit.assembly.cam_teeth).collect();
    let teeth: Vec<i32> = teeth.into_iter().collect();
    let mut between: BTreeSet<u64> = BTreeSet::new();
    for pair in teeth.windows(2) {
        let middle = f64::from(pair[0] + pair[1]) / 2.0 * tooth;
        for lobe in [lobes.intake, lobes.exhaust] {
            between.extend([
                whole(lobe.opens_deg() - middle),
                whole(lobe.closes_deg() - middle),
            ]);
        }
    }
    let marks = |set: BTreeSet<u64>| set.into_iter().map(|degrees| degrees as f64).collect();
    (marks(dead), marks(between))
}

impl Search<'_> {
    /// Valves, thumb and rotor by tower with the crank turned on to each of these marks.
    fn try_marks(&mut self, marks: &[f64], work: u32) {
        for &mark in marks {
            if !self.tells_the_turn(mark) {
                continue;
            }
            let order = self.evidence.engine.firing_order().to_vec();
            for &cylinder in &order {
                for valve in Valve::BOTH {
                    self.try_valve(mark, work, cylinder, valve);
                }
            }
            self.try_thumb(mark, work, &order);
            let again = mark.to_bits() == self.last_mark.to_bits() && self.rotor_was_read();
            if self.evidence.engine.metric().distributor.is_some() && !again {
                self.try_rotor_tower(mark, work, &order);
            }
        }
    }

    /// Whether a mark is the one where the crank stands, or so far from it that turning on to it
    /// tells which turn the crank is on.
    fn tells_the_turn(&self, mark: f64) -> bool {
        let on = wrap(mark - self.last_mark, 360.0);
        on == 0.0 || on.min(360.0 - on) > self.last_within + CRANK_WITHIN_DEG
    }

    /// How well the crank's mark is read there: as it was, where it stands, else as a mark is read.
    fn within(&self, mark: f64) -> f64 {
        if mark.to_bits() == self.last_mark.to_bits() {
            self.last_within
        } else {
            CRANK_WITHIN_DEG
        }
    }

    /// Whether the rotor was already read where the crank stands: it is not read twice there.
    fn rotor_was_read(&self) -> bool {
        self.evidence
            .seen
            .sightings
            .get(self.last)
            .is_some_and(|sighting| sighting.rotor.is_some())
    }

    /// Where the crank may then stand, turned on to a mark from where it may have stood last.
    fn then(&self, turns: Turns, mark: f64) -> impl Iterator<Item = CrankAngle> {
        let from = [false, true].map(|other_turn| self.evidence.crank(self.last, other_turn));
        from.into_iter()
            .zip(turns)
            .filter(|(_, may)| *may)
            .map(move |(from, _)| turned_on(from, mark))
    }

    fn try_valve(&mut self, mark: f64, work: u32, cylinder: u8, valve: Valve) {
        let states = [ValveState::Closed, ValveState::Open];
        let mut left = [0; 2];
        for (&(cam_teeth, turns), &count) in &self.cam {
            for (left, is) in left.iter_mut().zip(states) {
                let seen = ValveObservation {
                    cylinder: u32::from(cylinder),
                    valve,
                    is,
                };
                let could = |crank| {
                    self.evidence
                        .valve(cam_teeth, crank, self.within(mark), &seen)
                        <= 1.0
                };
                if self.then(turns, mark).any(could) {
                    *left += count;
                }
            }
        }
        let answers = states
            .iter()
            .zip(left)
            .map(|(is, left)| (is.word().to_owned(), left))
            .collect();
        self.keep(mark, work, LookAt::Valve(cylinder, valve), answers);
    }

    fn try_thumb(&mut self, mark: f64, work: u32, order: &[u8]) {
        let share = |cam_teeth: i32, crank: CrankAngle, cylinder: u8| {
            self.evidence
                .compression(cam_teeth, crank, self.within(mark), u32::from(cylinder))
        };
        let mut felt: BTreeSet<Vec<u8>> = BTreeSet::new();
        for &(cam_teeth, turns) in self.cam.keys() {
            felt.extend(self.then(turns, mark).map(|crank| {
                order
                    .iter()
                    .copied()
                    .filter(|&cylinder| share(cam_teeth, crank, cylinder) == 0.0)
                    .collect::<Vec<u8>>()
            }));
        }
        let answers = felt.iter().map(|felt| {
            let could = self.cam.iter().filter(|((cam_teeth, turns), _)| {
                self.then(*turns, mark).any(|crank| {
                    felt.iter()
                        .all(|&cylinder| share(*cam_teeth, crank, cylinder) <= 1.0)
                })
            });
            let words = if felt.is_empty() {
                "none".to_owned()
            } else {
                crate::words::cylinders(felt)
            };
            (words, could.map(|(_, count)| count).sum())
        });
        let answers = answers.collect();
        self.keep(mark, work, LookAt::Thumb, answers);
    }

    fn try_rotor_tower(&mut self, mark: f64, work: u32, order: &[u8]) {
        let answers = order.iter().map(|&tower| {
            let seen = RotorObservation {
                tower: Some(u32::from(tower)),
                ..RotorObservation::default()
            };
            let could = self.rotor.iter().filter(|((teeth_out, turns), _)| {
                let teeth_out = RotorTurn::new(f64::from_bits(*teeth_out));
                self.then(*turns, mark).any(|crank| {
                    self.evidence
                        .rotor(teeth_out, crank, self.within(mark), &seen)
                        <= 1.0
                })
            });
            (
                format!("No. {tower}'s"),
                could.map(|(_, count)| count).sum(),
            )
        });
        let answers = answers.collect();
        self.keep(mark, work, LookAt::RotorTower, answers);
    }

    fn try_rotor_clock(&mut self) {
        let mut bins = vec![0; 360];
        for (&(teeth_out, turns), &count) in &self.rotor {
            let teeth_out = RotorTurn::new(f64::from_bits(teeth_out));
            for crank in self.then(turns, self.last_mark) {
                let clock = self.evidence.rotor_clock(teeth_out, crank);
                let clock_deg = clock.map_or(0.0, Clock::degrees);
                bins[(clock_deg.round() as usize) % 360] += count;
            }
        }
        let width = ROTOR_WITHIN_DEG + self.evidence.next_width() / 2.0;
        let answers = clusters(&bins, width)
            .into_iter()
            .map(|(at, left)| (format!("about {at}°"), left))
            .collect();
        self.keep(self.last_mark, 0, LookAt::RotorClock, answers);
    }

    fn try_leads(&mut self) {
        if self.evidence.seen.leads.is_some() {
            return;
        }
        let mut ways: BTreeMap<&[u8], usize> = BTreeMap::new();
        for fit in self.fits {
            *ways.entry(fit.leads(self.evidence.engine)).or_default() += 1;
        }
        let list = |leads: &[u8]| {
            leads
                .iter()
                .map(u8::to_string)
                .collect::<Vec<_>>()
                .join("-")
        };
        let answers = ways
            .into_iter()
            .map(|(leads, left)| (list(leads), left))
            .collect();
        self.keep(self.last_mark, 0, LookAt::Leads, answers);
    }

    fn try_sparks(&mut self) {
        for &cylinder in self.evidence.engine.firing_order() {
            let mut bins = vec![0; 360];
            for fit in self.fits {
                let Assembly {
                    cam_teeth,
                    drive_teeth,
                    ..
                } = fit.assembly;
                let setting = DistributorSetting {
                    teeth_out: self.evidence.teeth_out(cam_teeth, drive_teeth),
                    leads: fit.leads(self.evidence.engine),
                };
                let btdc = self.evidence.spark_btdc_deg(setting, u32::from(cylinder));
                bins[(wrap(btdc, 360.0).round() as usize) % 360] += 1;
            }
            let reading = |at: usize| {
                if at > 180 {
                    format!("{}° after TDC", 360 - at)
                } else {
                    format!("{at}° before TDC")
                }
            };
            let answers = clusters(&bins, SPARK_WITHIN_DEG)
                .into_iter()
                .map(|(at, left)| (reading(at), left))
                .collect();
            self.keep(self.last_mark, 0, LookAt::Spark(cylinder), answers);
        }
    }

    /// Keeps a look, where some answer to it would rule a fit out.
    fn keep(&mut self, mark: f64, work: u32, at: LookAt, mut answers: Vec<(String, usize)>) {
        answers.retain(|(_, left)| *left > 0);
        if answers.len() < 2 || answers.iter().all(|(_, left)| *left == self.fits.len()) {
            return;
        }
        answers.sort_by_key(|(_, left)| std::cmp::Reverse(*left));
        let sum: usize = answers.iter().map(|(_, left)| left).sum();
        let squares: f64 = answers.iter().map(|(_, left)| (*left as f64).powi(2)).sum();
        let turn_on = mark.to_bits() != self.last_mark.to_bits();
        let look = Look {
            crank_deg: mark,
            turn_on,
            at,
            answers,
            expected: squares / sum as f64,
        };
        self.looks.push((work + at.work(), look));
    }

    fn best(mut self) -> Vec<Look> {
        self.looks.sort_by(|(work, look), (other_work, other)| {
            look.expected
                .total_cmp(&other.expected)
                .then(work.cmp(other_work))
                .then(look.at.cmp(&other.at))
        });
        let mut of_a_kind = [0; 5];
        let mut best: Vec<Look> = Vec::new();
        for (_, look) in self.looks {
            let kind = &mut of_a_kind[usize::from(look.at.kind())];
            if best.len() < MOST
                && *kind < MOST_OF_A_KIND
                && best.iter().all(|other| other.at != look.at)
            {
                *kind += 1;
                best.push(look);
            }
        }
        best
    }
}

/// Runs of filled bins round the circle, parted by gaps that readings good to `width` cannot
/// bridge: where each is fullest, and how much it holds.
fn clusters(bins: &[usize], width: f64) -> Vec<(usize, usize)> {
    let gap = (2.0 * width).ceil() as usize;
    let filled: Vec<usize> = (0..bins.len()).filter(|&bin| bins[bin] > 0).collect();
    let Some(&first) = filled.first() else {
        return Vec::new();
    };
    // Begin after a gap, so that no run is cut by the end of the circle.
    let after_a_gap = |index: usize| {
        let before = if index == 0 {
            filled[filled.len() - 1] as i64 - bins.len() as i64
        } else {
            filled[index - 1] as i64
        };
        filled[index] as i64 - before > gap as i64
    };
    let start = (0..filled.len()).find(|&index| after_a_gap(index));
    let Some(start) = start else {
        return vec![(first, bins.iter().sum())];
    };
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for step in 0..filled.len() {
        let index = (start + step) % filled.len();
        if after_a_gap(index) || runs.is_empty() {
            runs.push(Vec::new());
        }
        if let Some(run) = runs.last_mut() {
            run.push(filled[index]);
        }
    }
    let fullest = |run: &Vec<usize>| {
        run.iter()
            .copied()
            .max_by_key(|&bin| (bins[bin], std::cmp::Reverse(bin)))
            .unwrap_or(first)
    };
    runs.iter()
        .map(|run| (fullest(run), run.iter().map(|&bin| bins[bin]).sum()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_that_overlap_are_one_answer_even_round_the_end_of_the_circle() {
        let mut bins = vec![0; 360];
        (bins[358], bins[2], bins[40], bins[100]) = (1, 2, 4, 8);
        assert_eq!(clusters(&bins, 8.0), [(40, 4), (100, 8), (2, 3)]);
        assert_eq!(clusters(&bins, 150.0), [(2, 15)]);
    }
}
