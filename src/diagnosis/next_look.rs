//! What to look at next: the looks that would best split what still fits.
//!
//! Every look that can be had at the stage that the build has got to is tried: each valve at each dead
//! centre, at the timing marks, and where one tooth of the cam makes the difference; the rotor by
//! the clock and by tower; the thumb over the plug holes; the dots counted; the leads traced; and a
//! light on each lead.
//! The crank is turned on, forwards, from where it last stood, so it is known on which turn it then
//! is.
//!
//! An answer leaves every fit that could give it, a fit near a change of a valve both; of two looks
//! the better is the one after which fewer fits are to be expected, all taken as equally likely: Σ
//! n² / Σ n over its answers of n fits each.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the fits and marks of one search"
)]

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};

use super::evidence::{DistributorSetting, Evidence, turned_on};
use super::fit::Fit;
use super::observations::{
    CRANK_WITHIN_DEG, ROTOR_WITHIN_DEG, RotorObservation, SPARK_WITHIN_DEG, ValveObservation,
    ValveState,
};
use super::stage::Sight;
use crate::angle::{Clock, CrankAngle, RotorTurn, rounded, wrap};
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;
use crate::laws::{Lobes, SliderCrank, gear_train, ignition};
use crate::words::{degrees, tooth_off};

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
    /// The same in words.
    pub look: String,
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
    /// The dot of a camshaft, counted from 0.
    Dots(usize),
    /// A lobe, and the follower on it.
    Lobe(u8, Valve),
    /// The rotor, by the clock.
    RotorClock,
    /// The rotor, by the tower it points at.
    RotorTower,
    /// The slot of the geared shaft, with the distributor lifted off.
    Slot,
    /// The leads, traced from tower to plug.
    Leads,
    /// The leads, traced from the coils' terminals to the plugs.
    CoilLeads,
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
            Self::Dots(_) => "dots of the cam drive".into(),
            Self::Lobe(cylinder, valve) => format!("{} lobe of No. {cylinder}", valve.word()),
            Self::RotorClock => "rotor by the clock".into(),
            Self::RotorTower => "rotor by tower".into(),
            Self::Slot => "slot of the distributor's shaft".into(),
            Self::Leads => "leads, traced from tower to plug".into(),
            Self::CoilLeads => "leads, traced from the coils to the plugs".into(),
            Self::Thumb => "compression by the thumb".into(),
            Self::Spark(cylinder) => format!("spark of No. {cylinder}"),
        }
    }

    /// The same on an engine: of several camshafts with the name of the one looked at.
    pub(super) fn on(self, engine: &Engine) -> String {
        match self {
            Self::Dots(camshaft) if engine.has_several_camshafts() => {
                format!("dot of the {}", engine.camshaft_name(camshaft))
            }
            at => at.words(),
        }
    }

    fn kind(self) -> u8 {
        match self {
            Self::Valve(..) | Self::Lobe(..) | Self::Dots(_) => 0,
            Self::RotorClock | Self::RotorTower => 1,
            Self::Slot => 5,
            Self::Leads | Self::CoilLeads => 2,
            Self::Thumb => 3,
            Self::Spark(_) => 4,
        }
    }

    /// How much work it is beside turning the crank.
    fn work(self) -> u32 {
        match self {
            Self::Valve(..)
            | Self::Lobe(..)
            | Self::Dots(_)
            | Self::RotorClock
            | Self::RotorTower
            | Self::Leads
            | Self::CoilLeads => 0,
            Self::Thumb | Self::Slot => 1,
            Self::Spark(_) => 2,
        }
    }
}

impl Look {
    /// How many fits each answer would leave.
    pub fn splits(&self) -> Vec<usize> {
        self.answers.iter().map(|(_, left)| *left).collect()
    }

    /// What to do to take it, in words.
    pub fn to_do(&self) -> String {
        match self.at {
            LookAt::Leads => {
                "Trace the leads from No. 1's tower in the rotor's direction".to_owned()
            }
            LookAt::CoilLeads => {
                "Trace the leads from the coils' terminals, one coil after another as described"
                    .to_owned()
            }
            LookAt::Spark(cylinder) => format!(
                "Put a light on the lead of No. {cylinder} and read its spark on the crank's mark"
            ),
            at => {
                let look = match at {
                    LookAt::Thumb => "feel for compression at each plug hole on the way".to_owned(),
                    LookAt::RotorTower => "see which tower the rotor points at".to_owned(),
                    LookAt::Slot => {
                        "lift the distributor off and see where the slot of its shaft stands"
                            .to_owned()
                    }
                    LookAt::RotorClock => "see where the rotor points by the clock".to_owned(),
                    LookAt::Dots(_) => {
                        format!("count the teeth by which the {} is off", self.look)
                    }
                    _ => format!("look at the {}", self.look),
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
        }
    }

    /// The look in a sentence, with what each answer would leave.
    pub fn sentence(&self) -> String {
        const MOST_ANSWERS: usize = 4;
        let to_do = self.to_do();
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
        fields.serialize_field("look", &self.look)?;
        fields.serialize_field("splits", &self.splits())?;
        fields.serialize_field("says", &self.sentence())?;
        fields.end()
    }
}

/// On which turns the crank may have stood last, all that was seen explained: the one that
/// [`Evidence::crank`] gives, and the other.
type Turns = [bool; 2];

/// What a thumb over one plug hole would meet at a mark.
struct Thumb {
    off_stroke_deg: f64,
    /// The camshafts that work its intake and its exhaust valve.
    worked_by: [usize; 2],
    /// How far off its seat each then is, for that camshaft's teeth out in their order.
    off_seat_deg: [Vec<(i32, f64)>; 2],
}

impl Thumb {
    /// How far off its seat a valve, intake 0 and exhaust 1, is with the camshafts so.
    fn off(&self, valve: usize, cams: CamTeeth) -> f64 {
        let teeth = cams.of(self.worked_by[valve]);
        let own = &self.off_seat_deg[valve];
        let found = own.binary_search_by_key(&teeth, |(teeth, _)| *teeth);
        found.map_or(0.0, |found| own[found].1)
    }
}

struct Search<'a> {
    evidence: &'a Evidence<'a>,
    fits: &'a [Fit],
    sights: &'a [Sight],
    last: usize,
    last_mark: f64,
    last_within: f64,
    /// How many fits have the camshafts and the drive so, and on which turns the crank then is.
    ways: Vec<(CamTeeth, DriveOut, Turns, usize)>,
    /// How many fits have the camshafts so, and the crank then on these turns.
    cams: BTreeMap<(CamTeeth, Turns), usize>,
    /// How many have one camshaft's teeth so, for each camshaft.
    of_a_camshaft: Vec<BTreeMap<(i32, Turns), usize>>,
    rotor: BTreeMap<(u64, Turns), usize>,
    /// How many have the distributor so far ahead and the leads so.
    settings: BTreeMap<(u64, &'a [u8]), usize>,
    looks: Vec<(u32, Look)>,
}

/// The looks that would best split `fits`, best first, of those that can be taken at `sights`.
pub(super) fn looks(evidence: &Evidence<'_>, fits: &[Fit], sights: &[Sight]) -> Vec<Look> {
    let Some(last) = evidence.seen.sightings.len().checked_sub(1) else {
        return Vec::new();
    };
    if fits.len() < 2 {
        return Vec::new();
    }
    let mut search = Search {
        evidence,
        fits,
        sights,
        last,
        last_mark: evidence.crank(last, false).by_the_mark(),
        last_within: evidence.seen.sightings[last].within,
        ways: Vec::new(),
        cams: BTreeMap::new(),
        of_a_camshaft: vec![BTreeMap::new(); evidence.engine.camshaft_count()],
        rotor: BTreeMap::new(),
        settings: BTreeMap::new(),
        looks: Vec::new(),
    };
    // Ways that differ in their leads alone are alike to all but the leads.
    let mut ways: HashMap<(CamTeeth, DriveOut), HashMap<&[u8], usize>> = HashMap::new();
    for fit in fits {
        let way = (fit.assembly.cams(), fit.assembly.drive_out());
        let leads = ways.entry(way).or_default();
        *leads.entry(fit.leads(evidence.engine)).or_default() += 1;
    }
    for ((cams, drive), leads) in ways {
        let count: usize = leads.values().sum();
        let turns = evidence.last_turns(cams, drive);
        search.ways.push((cams, drive, turns, count));
        *search.cams.entry((cams, turns)).or_default() += count;
        for (camshaft, own) in search.of_a_camshaft.iter_mut().enumerate() {
            *own.entry((cams.of(camshaft), turns)).or_default() += count;
        }
        let teeth_out = evidence.teeth_out(cams, drive).degrees().to_bits();
        *search.rotor.entry((teeth_out, turns)).or_default() += count;
        for (leads, count) in leads {
            *search.settings.entry((teeth_out, leads)).or_default() += count;
        }
    }
    let (dead_centres, tooth_marks) = marks(evidence, fits);
    search.try_marks(&[search.last_mark], 0);
    search.try_marks(&dead_centres, 1);
    search.try_marks(&tooth_marks, 2);
    if search.may(Sight::Dots) {
        search.try_dots();
    }
    if evidence.engine.metric().distributor.is_some() && search.may(Sight::Rotor) {
        if !search.rotor_was_read() {
            search.try_rotor_clock();
        }
        search.try_slot();
    }
    if evidence.engine.has_leads() && search.may(Sight::Leads) {
        search.try_leads();
    }
    if evidence.engine.has_leads() && (search.may(Sight::Lamp) || search.may(Sight::Strobe)) {
        search.try_sparks();
    }
    search.best()
}

/// Marks a builder finds without a degree wheel (dead centres, and where the timing marks meet),
/// and marks midway between where one tooth of the cam and the next open or close a valve of No. 1.
pub(super) fn marks(evidence: &Evidence<'_>, fits: &[Fit]) -> (Vec<f64>, Vec<f64>) {
    let description = evidence.engine.metric();
    let down_stroke_deg = SliderCrank::of(description).down_stroke_deg();
    let whole = |degrees: f64| wrap(degrees.round(), 360.0) as u64;
    let mut dead: BTreeSet<u64> = BTreeSet::new();
    for fires in evidence.engine.firing_angles() {
        dead.extend([whole(*fires), whole(fires + down_stroke_deg)]);
    }
    dead.insert(whole(description.cam_drive.marks_meet_at()));
    let lobes = Lobes::of(&description.valves);
    let tooth = gear_train::crank_per_cam_tooth(&description.cam_drive).degrees();
    let mut between: BTreeSet<u64> = BTreeSet::new();
    for camshaft in 0..evidence.engine.camshaft_count() {
        let teeth: BTreeSet<i32> = fits
            .iter()
            .map(|fit| fit.assembly.cams().of(camshaft))
            .collect();
        let teeth: Vec<i32> = teeth.into_iter().collect();
        for valve in Valve::BOTH {
            // Of each kind, the valve of the first cylinder whose it works.
            let mut cylinders = 1..=evidence.engine.cylinder_count() as u8;
            let worked = |number: &u8| evidence.engine.camshaft_of(*number, valve) == camshaft;
            let Some(number) = cylinders.find(worked) else {
                continue;
            };
            let fires = evidence.fires(u32::from(number)).degrees();
            let trim = gear_train::valves_ahead(description, camshaft, CamTeeth::default());
            let lobe = lobes.lobe(valve);
            let half = lobe.told_open_deg() / 2.0;
            for pair in teeth.windows(2) {
                let middle = f64::from(pair[0] + pair[1]) / 2.0 * tooth + trim.degrees() - fires;
                between.extend([
                    whole(lobe.told_open_middle_deg() - half - middle),
                    whole(lobe.told_open_middle_deg() + half - middle),
                ]);
            }
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
                    if self.may(Sight::Valves) {
                        self.try_valve(mark, work, LookAt::Valve(cylinder, valve));
                    } else if self.may(Sight::Lobes) {
                        self.try_valve(mark, work, LookAt::Lobe(cylinder, valve));
                    }
                }
            }
            if self.may(Sight::Thumb) {
                self.try_thumb(mark, work, &order);
            }
            let again = mark.to_bits() == self.last_mark.to_bits() && self.rotor_was_read();
            let distributor = self.evidence.engine.metric().distributor.is_some();
            if distributor && !again && self.may(Sight::Rotor) {
                self.try_rotor_tower(mark, work, &order);
            }
        }
    }

    /// Whether something can be seen or reached.
    fn may(&self, sight: Sight) -> bool {
        self.sights.contains(&sight)
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

    /// The dots, each camshaft's, where they were not counted yet.
    fn try_dots(&mut self) {
        let engine = self.evidence.engine;
        let mut sightings = self.evidence.seen.sightings.iter();
        if sightings.any(|sighting| sighting.cam_teeth_off.is_some()) {
            return;
        }
        let mark = wrap(engine.metric().cam_drive.marks_meet_at(), 360.0);
        for camshaft in 0..engine.camshaft_count() {
            let mut left: BTreeMap<i32, usize> = BTreeMap::new();
            for (&(teeth, _), &count) in &self.of_a_camshaft[camshaft] {
                *left.entry(teeth).or_default() += count;
            }
            let answers = left
                .into_iter()
                .map(|(teeth, left)| (tooth_off(teeth), left));
            let answers = answers.collect();
            self.keep(mark, 1, LookAt::Dots(camshaft), answers);
        }
    }

    /// A valve, or the lobe that works it.
    fn try_valve(&mut self, mark: f64, work: u32, at: LookAt) {
        let (LookAt::Valve(cylinder, valve) | LookAt::Lobe(cylinder, valve)) = at else {
            return;
        };
        let states = [ValveState::Closed, ValveState::Open];
        let mut left = [0; 2];
        let camshaft = self.evidence.engine.camshaft_of(cylinder, valve);
        for (&(teeth, turns), &count) in &self.of_a_camshaft[camshaft] {
            let cams = CamTeeth::default().with(camshaft, teeth);
            for (left, is) in left.iter_mut().zip(states) {
                let seen = ValveObservation {
                    cylinder: u32::from(cylinder),
                    valve,
                    is,
                };
                let could =
                    |crank| self.evidence.valve(cams, crank, self.within(mark), &seen) <= 1.0;
                if self.then(turns, mark).any(could) {
                    *left += count;
                }
            }
        }
        let answers = states
            .iter()
            .zip(left)
            .map(|(is, left)| (shows(at, *is), left))
            .collect();
        self.keep(mark, work, at, answers);
    }

    fn try_thumb(&mut self, mark: f64, work: u32, order: &[u8]) {
        let shares = self.thumb_shares(mark, order);
        let share = |cams: CamTeeth, other_turn: bool, cylinder: u8| {
            shares[usize::from(other_turn)]
                .get(usize::from(cylinder) - 1)
                .map_or(0.0, |thumb| {
                    let off = |valve: usize| thumb.off(valve, cams);
                    self.evidence.compression_leaking(
                        thumb.off_stroke_deg,
                        [off(0), off(1)],
                        self.within(mark),
                    )
                })
        };
        // Which of the turns it may then be on.
        let turns_of = |turns: Turns| [false, true].into_iter().zip(turns).filter(|(_, may)| *may);
        let mut felt: BTreeSet<Vec<u8>> = BTreeSet::new();
        let mut seen: HashSet<u32> = HashSet::new();
        for &(cams, turns) in self.cams.keys() {
            for (other_turn, _) in turns_of(turns) {
                let pushes = |cylinder: &u8| share(cams, other_turn, *cylinder) == 0.0;
                let bits = order
                    .iter()
                    .filter(|cylinder| pushes(cylinder))
                    .fold(0, |bits, cylinder| bits | 1u32 << cylinder);
                if seen.insert(bits) {
                    let own = order.iter().copied();
                    felt.insert(own.filter(|cylinder| bits >> cylinder & 1 == 1).collect());
                }
            }
        }
        let answers = felt.iter().map(|felt| {
            let could = self.cams.iter().filter(|((cams, turns), _)| {
                turns_of(*turns).any(|(other_turn, _)| {
                    felt.iter()
                        .all(|&cylinder| share(*cams, other_turn, cylinder) <= 1.0)
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

    /// What a thumb over each plug hole would meet, by number, the crank turned on to a mark from
    /// one turn and from the other.
    fn thumb_shares(&self, mark: f64, order: &[u8]) -> [Vec<Thumb>; 2] {
        let engine = self.evidence.engine;
        [false, true].map(|other_turn| {
            let crank = turned_on(self.evidence.crank(self.last, other_turn), mark);
            let thumb = |number: u8| {
                let worked_by = Valve::BOTH.map(|valve| engine.camshaft_of(number, valve));
                let [intake, exhaust] = worked_by;
                let off_seat = |camshaft: usize, valve: Valve| {
                    let own = self.of_a_camshaft[camshaft].keys().map(|(teeth, _)| *teeth);
                    let off = |teeth: i32| {
                        let cams = CamTeeth::default().with(camshaft, teeth);
                        let cylinder = u32::from(number);
                        let off = self.evidence.off_seat_by_deg(cams, crank, cylinder, valve);
                        (teeth, off)
                    };
                    let mut off: Vec<(i32, f64)> = own.map(off).collect();
                    off.dedup_by_key(|(teeth, _)| *teeth);
                    off
                };
                Thumb {
                    off_stroke_deg: self.evidence.off_compression_deg(crank, u32::from(number)),
                    worked_by,
                    off_seat_deg: [
                        off_seat(intake, Valve::Intake),
                        off_seat(exhaust, Valve::Exhaust),
                    ],
                }
            };
            (1..=order.len() as u8).map(thumb).collect()
        })
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

    /// The slot of a geared shaft whose place is described, where it was not looked at yet.
    fn try_slot(&mut self) {
        let sightings = &self.evidence.seen.sightings;
        let distributor = self.evidence.engine.metric().distributor.as_ref();
        let seen = sightings.iter().any(|sighting| sighting.slot.is_some());
        let Some(distributor) = distributor.filter(|_| !seen) else {
            return;
        };
        let alike = ignition::slot_alike(distributor);
        // A slot that looks alike half a turn on is told by the end in the first half.
        let ends = (360.0 / alike).round() as usize;
        let mut bins = vec![0; 360 / ends];
        for &(cams, drive, turns, count) in &self.ways {
            let cranks = self.then(turns, self.last_mark);
            let clocks = cranks.filter_map(|crank| self.evidence.slot_clock(cams, drive, crank));
            // On either turn a central slot may stand the same: that is one answer.
            let places: BTreeSet<usize> = clocks
                .map(|slot| wrap(slot.degrees(), alike).round() as usize % bins.len())
                .collect();
            for place in places {
                if let Some(bin) = bins.get_mut(place) {
                    *bin += count;
                }
            }
        }
        let width = ROTOR_WITHIN_DEG + self.evidence.next_width() / 2.0;
        let answers = clusters(&bins, width)
            .into_iter()
            .map(|(at, left)| (format!("about {at}°"), left))
            .collect();
        self.keep(self.last_mark, 0, LookAt::Slot, answers);
    }

    fn try_leads(&mut self) {
        if self.evidence.seen.leads.is_some() {
            return;
        }
        let mut ways: BTreeMap<&[u8], usize> = BTreeMap::new();
        for (&(_, leads), count) in &self.settings {
            *ways.entry(leads).or_default() += count;
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
        let look = if self.evidence.engine.coils().is_empty() {
            LookAt::Leads
        } else {
            LookAt::CoilLeads
        };
        self.keep(self.last_mark, 0, look, answers);
    }

    fn try_sparks(&mut self) {
        for &cylinder in self.evidence.engine.firing_order() {
            let mut bins = vec![0; 360];
            for (&(teeth_out, leads), count) in &self.settings {
                let setting = DistributorSetting {
                    teeth_out: RotorTurn::new(f64::from_bits(teeth_out)),
                    leads,
                };
                let btdc = self.evidence.spark_btdc_deg(setting, u32::from(cylinder));
                bins[(wrap(btdc, 360.0).round() as usize) % 360] += count;
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
            look: at.on(self.evidence.engine),
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
        let mut of_a_kind = [0; 6];
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

/// What a valve, or the lobe that works it, shows in a state, in words.
pub(super) fn shows(at: LookAt, is: ValveState) -> String {
    match (at, is) {
        (LookAt::Lobe(..), ValveState::Open) => "under its follower, and lifting it".to_owned(),
        (LookAt::Lobe(..), ValveState::Closed) => "away from its follower".to_owned(),
        (_, is) => is.word().to_owned(),
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
