//! The looks that could be taken for a proof, and what each of them rules out.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the looks, cases and groups of one search"
)]

use std::collections::HashMap;

use super::look::ProofLook;
use crate::angle::{CrankAngle, RotorTurn, wrap};
use crate::description::Valve;
use crate::diagnosis::diagnose::as_drawn;
use crate::diagnosis::evidence::{DistributorSetting, Evidence, turned_on};
use crate::diagnosis::fit::Fit;
use crate::diagnosis::hypotheses::leads_of;
use crate::diagnosis::next_look::{LookAt, marks, shows};
use crate::diagnosis::observations::{
    CRANK_WITHIN_DEG, CamTeethOff, Light, Observation, RotorObservation, SPARK_WITHIN_DEG,
    SlotObservation, SparkObservation, ValveObservation, ValveState,
};
use crate::diagnosis::stage::Sight;
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;
use crate::words::{before_tdc, cylinders, degrees};

/// A look that could be taken, and which of the groups it looks at it rules out.
pub(super) struct Candidate {
    /// How far the crank is turned on for it from where it stood.
    pub(super) turned_on_deg: f64,
    pub(super) look: ProofLook,
    pub(super) rules_out: Ruled,
}

/// What a look rules out, by what it depends on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Ruled {
    /// For each way the camshafts stand, on this turn and on the other.
    Cams(Vec<[bool; 2]>),
    /// For each way the distributor stands, on this turn and on the other.
    Rotor(Vec<[bool; 2]>),
    /// For each way the leads go.
    Leads(Vec<bool>),
    /// For each way the distributor stands, for each way the leads go.
    Sparks(Vec<Vec<bool>>),
}

/// A way of putting the engine together on one turn of the crank, by its groups.
#[derive(Clone, Copy)]
pub(super) struct Case {
    pub(super) way: usize,
    pub(super) other_turn: usize,
    pub(super) cams: usize,
    pub(super) rotor: usize,
    pub(super) leads: usize,
}

impl Ruled {
    pub(super) fn out(&self, case: Case) -> bool {
        match self {
            Self::Cams(cams) => cams[case.cams][case.other_turn],
            Self::Rotor(rotor) => rotor[case.rotor][case.other_turn],
            Self::Leads(leads) => leads[case.leads],
            Self::Sparks(sparks) => sparks[case.rotor][case.leads],
        }
    }
}

/// How the distributor stands: its rotor by the teeth out, its shaft by how it went together.
#[derive(Clone, Copy)]
pub(super) struct RotorStands {
    pub(super) teeth_out: RotorTurn,
    /// One way of the camshafts and the drive by which it stands so.
    pub(super) cams: CamTeeth,
    pub(super) drive: DriveOut,
}

pub(super) struct Search<'a> {
    pub(super) evidence: &'a Evidence<'a>,
    pub(super) fits: &'a [Fit],
    /// How far the distributor's body may stand turned, rotor degrees either way.
    pub(super) body_deg: f64,
    /// Whether marks between teeth come before dead centres.
    pub(super) finer: bool,
    pub(super) cams: Vec<CamTeeth>,
    pub(super) rotors: Vec<RotorStands>,
    pub(super) leads: Vec<&'a [u8]>,
    /// Every case but as drawn.
    pub(super) cases: Vec<Case>,
    /// Where the crank stands at the outset, on this turn and on the other.
    pub(super) start: [CrankAngle; 2],
    /// The turn on which it stands as drawn.
    pub(super) drawn_turn: usize,
    pub(super) candidates: Vec<Candidate>,
}

/// The index of a value among those met before, or of itself as the next.
pub(super) fn group<K: std::hash::Hash + Eq, V>(
    met: &mut HashMap<K, usize>,
    all: &mut Vec<V>,
    key: K,
    value: V,
) -> usize {
    *met.entry(key).or_insert_with(|| {
        all.push(value);
        all.len() - 1
    })
}

impl<'a> Search<'a> {
    pub(super) fn new(evidence: &'a Evidence<'a>, fits: &'a [Fit], body_deg: f64) -> Self {
        let last = evidence.seen.sightings.len().checked_sub(1);
        let start = [false, true].map(|other| match last {
            Some(last) => evidence.crank(last, other),
            None => CrankAngle::new(if other { 360.0 } else { 0.0 }),
        });
        let (mut cams, mut rotors, mut leads) = (Vec::new(), Vec::new(), Vec::new());
        let (mut met_cams, mut met_rotors, mut met_leads) =
            (HashMap::new(), HashMap::new(), HashMap::new());
        let mut turns_of: HashMap<(usize, usize), [bool; 2]> = HashMap::new();
        let (mut cases, mut drawn_turn) = (Vec::new(), 0);
        for (way, fit) in fits.iter().enumerate() {
            let out = fit.assembly.cams();
            let drive = fit.assembly.drive_out();
            let teeth_out = evidence.teeth_out(out, drive);
            let own_leads = leads_of(evidence.engine, &fit.assembly);
            let mut case = Case {
                way,
                other_turn: 0,
                cams: group(&mut met_cams, &mut cams, out, out),
                rotor: group(
                    &mut met_rotors,
                    &mut rotors,
                    (teeth_out.degrees().to_bits(), drive.half_turn),
                    RotorStands {
                        teeth_out,
                        cams: out,
                        drive,
                    },
                ),
                leads: group(&mut met_leads, &mut leads, own_leads, own_leads),
            };
            let turns = *turns_of
                .entry((case.cams, case.rotor))
                .or_insert_with(|| evidence.last_turns(out, drive));
            if as_drawn(fit) {
                drawn_turn = usize::from(!turns[0]);
                continue;
            }
            for other_turn in [0, 1] {
                if turns[other_turn] {
                    case.other_turn = other_turn;
                    cases.push(case);
                }
            }
        }
        Self {
            evidence,
            fits,
            body_deg,
            finer: false,
            cams,
            rotors,
            leads,
            cases,
            start,
            drawn_turn,
            candidates: Vec::new(),
        }
    }

    /// The crank at a mark, turned on to it from the outset, on one turn or on the other.
    pub(super) fn at(&self, mark_deg: f64, other_turn: usize) -> CrankAngle {
        turned_on(self.start[other_turn], mark_deg)
    }

    /// How well the crank's mark is read there: as it was, where it stands, else as a mark is read.
    fn within(&self, mark_deg: f64) -> f64 {
        match self.evidence.seen.sightings.last() {
            Some(last) if mark_deg.to_bits() == self.start[0].by_the_mark().to_bits() => {
                last.within
            }
            _ => CRANK_WITHIN_DEG,
        }
    }

    pub(super) fn try_every_look(&mut self, sights: &[Sight]) {
        let engine = self.evidence.engine;
        let may = |sight| sights.contains(&sight);
        let order = engine.firing_order().to_vec();
        if may(Sight::Dots) {
            self.try_dots();
        }
        for mark_deg in self.marks() {
            for &cylinder in &order {
                for valve in Valve::BOTH {
                    if may(Sight::Valves) {
                        self.try_valve(mark_deg, LookAt::Valve(cylinder, valve));
                    }
                    if may(Sight::Lobes) {
                        self.try_valve(mark_deg, LookAt::Lobe(cylinder, valve));
                    }
                }
            }
            if may(Sight::Rotor) && engine.metric().distributor.is_some() {
                self.try_rotor(mark_deg);
                self.try_slot(mark_deg);
            }
        }
        if may(Sight::Leads) && self.leads.len() > 1 {
            self.try_leads();
        }
        for (sight, by) in [(Sight::Lamp, Light::Lamp), (Sight::Strobe, Light::Strobe)] {
            if may(sight) {
                for &cylinder in &order {
                    self.try_spark(cylinder, by);
                }
            }
        }
    }

    /// The thumb at every mark: only where something hides without it, for a thumb that is not pushed
    /// off is no answer that can be entered.
    pub(super) fn try_every_thumb(&mut self) {
        let order = self.evidence.engine.firing_order().to_vec();
        for mark_deg in self.marks() {
            self.try_thumb(mark_deg, &order);
        }
    }

    /// The marks looks are taken at, those first that are found without a degree wheel; each so far
    /// from every other that turning on from one to the next tells the turn.
    fn marks(&self) -> Vec<f64> {
        let (dead_centres, between_teeth) = marks(self.evidence, self.fits);
        let (first, then) = if self.finer {
            (between_teeth, dead_centres)
        } else {
            (dead_centres, between_teeth)
        };
        let start = self.start[0].by_the_mark();
        let begun = !self.evidence.seen.sightings.is_empty();
        let mut kept: Vec<f64> = if begun { vec![start] } else { Vec::new() };
        for mark in first.into_iter().chain(then) {
            let tells = |other: &f64| {
                let on = wrap(mark - other, 360.0);
                on.min(360.0 - on) > CRANK_WITHIN_DEG + self.within(*other)
            };
            if kept.iter().all(tells) {
                kept.push(mark);
            }
        }
        kept
    }

    fn try_dots(&mut self) {
        let engine = self.evidence.engine;
        let mark_deg = wrap(engine.metric().cam_drive.marks_meet_at(), 360.0);
        let right = "where they are drawn";
        if engine.has_several_camshafts() {
            for camshaft in 0..engine.camshaft_count() {
                let out = |cams: &CamTeeth| [cams.of(camshaft) != 0; 2];
                let name = engine.camshaft_name(camshaft);
                let seen = Observation {
                    cam_teeth_off: Some(CamTeethOff::Named([(name.to_owned(), 0)].into())),
                    ..Observation::at(mark_deg)
                };
                let rules_out = Ruled::Cams(self.cams.iter().map(out).collect());
                let at = LookAt::Dots(camshaft);
                self.keep(at, at.on(engine), right, seen, rules_out);
            }
        } else {
            let out = |cams: &CamTeeth| [!cams.are_right(); 2];
            let seen = Observation {
                cam_teeth_off: Some(CamTeethOff::Every(0)),
                ..Observation::at(mark_deg)
            };
            let rules_out = Ruled::Cams(self.cams.iter().map(out).collect());
            let look = LookAt::Dots(0).words();
            self.keep(LookAt::Dots(0), look, right, seen, rules_out);
        }
    }

    fn by_cams(&self, mark_deg: f64, out: impl Fn(CamTeeth, CrankAngle) -> bool) -> Ruled {
        let both = |cams: &CamTeeth| [0, 1].map(|turn| out(*cams, self.at(mark_deg, turn)));
        Ruled::Cams(self.cams.iter().map(both).collect())
    }

    fn try_valve(&mut self, mark_deg: f64, at: LookAt) {
        let (LookAt::Valve(cylinder, valve) | LookAt::Lobe(cylinder, valve)) = at else {
            return;
        };
        let within = self.within(mark_deg);
        let share = |cams, crank, is| {
            let seen = ValveObservation {
                cylinder: u32::from(cylinder),
                valve,
                is,
            };
            self.evidence.valve(cams, crank, within, &seen)
        };
        let drawn = self.at(mark_deg, self.drawn_turn);
        let could = [ValveState::Open, ValveState::Closed]
            .map(|is| (is, share(CamTeeth::default(), drawn, is) <= 1.0));
        let is = match could {
            [(is, true), (_, false)] | [(_, false), (is, true)] => is,
            _ => return,
        };
        let rules_out = self.by_cams(mark_deg, |cams, crank| share(cams, crank, is) > 1.0);
        let right = shows(at, is);
        let seen = Observation {
            valves: vec![ValveObservation {
                cylinder: u32::from(cylinder),
                valve,
                is,
            }],
            ..Observation::at(mark_deg)
        };
        self.keep(at, at.words(), &right, seen, rules_out);
    }

    fn try_thumb(&mut self, mark_deg: f64, order: &[u8]) {
        let within = self.within(mark_deg);
        let share = |cams, crank, cylinder: u8| {
            let cylinder = u32::from(cylinder);
            self.evidence.compression(cams, crank, within, cylinder)
        };
        let drawn = self.at(mark_deg, self.drawn_turn);
        let shares = order
            .iter()
            .map(|&cylinder| (cylinder, share(CamTeeth::default(), drawn, cylinder)));
        let shares: Vec<(u8, f64)> = shares.collect();
        // Where one is neither surely felt nor surely not, what is right cannot be said.
        if shares.iter().any(|(_, share)| (1e-9..=1.0).contains(share)) {
            return;
        }
        let felt = shares.iter().filter(|(_, share)| *share == 0.0);
        let felt: Vec<u8> = felt.map(|(cylinder, _)| *cylinder).collect();
        if felt.is_empty() {
            return;
        }
        let rules_out = self.by_cams(mark_deg, |cams, crank| {
            felt.iter()
                .any(|&cylinder| share(cams, crank, cylinder) > 1.0)
        });
        let seen = Observation {
            compression_felt: felt.iter().copied().map(u32::from).collect(),
            ..Observation::at(mark_deg)
        };
        let right = format!("pushed off by {}", cylinders(&felt));
        self.keep(
            LookAt::Thumb,
            LookAt::Thumb.words(),
            &right,
            seen,
            rules_out,
        );
    }

    fn try_rotor(&mut self, mark_deg: f64) {
        let evidence = self.evidence;
        let within = self.within(mark_deg);
        let drawn = self.at(mark_deg, self.drawn_turn);
        let as_drawn = RotorTurn::new(0.0);
        let by_tower = |&tower: &u8| RotorObservation {
            tower: Some(u32::from(tower)),
            ..RotorObservation::default()
        };
        let towers = evidence.engine.firing_order().iter().map(by_tower);
        let could: Vec<RotorObservation> = towers
            .filter(|seen| evidence.rotor(as_drawn, drawn, within, seen) <= 1.0)
            .collect();
        let clock = evidence.rotor_clock(as_drawn, drawn).map(|clock| {
            let clock_deg = clock.degrees().round();
            let seen = RotorObservation {
                clock: Some(clock_deg),
                ..RotorObservation::default()
            };
            (
                LookAt::RotorClock,
                seen,
                format!("at {}", degrees(clock_deg)),
            )
        });
        let tower = match could[..] {
            // The towers turn with the body.
            [one] if self.body_deg == 0.0 => one
                .tower
                .map(|tower| (LookAt::RotorTower, one, format!("at No. {tower}'s"))),
            _ => None,
        };
        for (at, seen, right) in tower.into_iter().chain(clock) {
            let out = |stands: &RotorStands| {
                [0, 1].map(|turn| {
                    evidence.rotor(stands.teeth_out, self.at(mark_deg, turn), within, &seen) > 1.0
                })
            };
            let rules_out = Ruled::Rotor(self.rotors.iter().map(out).collect());
            let seen = Observation {
                rotor: Some(seen),
                ..Observation::at(mark_deg)
            };
            self.keep(at, at.words(), &right, seen, rules_out);
        }
    }

    /// The slot of a geared shaft, with the distributor lifted off.
    fn try_slot(&mut self, mark_deg: f64) {
        let evidence = self.evidence;
        let within = self.within(mark_deg);
        let drawn = self.at(mark_deg, self.drawn_turn);
        let as_drawn = (CamTeeth::default(), DriveOut::default());
        let Some(clock) = evidence.slot_clock(as_drawn.0, as_drawn.1, drawn) else {
            return;
        };
        let seen = SlotObservation {
            clock: clock.degrees().round(),
            within: None,
        };
        let out = |stands: &RotorStands| {
            [0, 1].map(|turn| {
                let crank = self.at(mark_deg, turn);
                evidence.slot(stands.cams, stands.drive, crank, within, &seen) > 1.0
            })
        };
        let rules_out = Ruled::Rotor(self.rotors.iter().map(out).collect());
        let right = format!("at {}", degrees(seen.clock));
        let seen = Observation {
            slot: Some(seen),
            ..Observation::at(mark_deg)
        };
        let at = LookAt::Slot;
        self.keep(at, at.words(), &right, seen, rules_out);
    }

    fn try_leads(&mut self) {
        let engine = self.evidence.engine;
        let order = engine.lead_order();
        let rules_out = Ruled::Leads(self.leads.iter().map(|leads| *leads != order).collect());
        let right: Vec<String> = order.iter().map(u8::to_string).collect();
        let seen = Observation::at(self.start[0].by_the_mark());
        let at = if engine.coils().is_empty() {
            LookAt::Leads
        } else {
            LookAt::CoilLeads
        };
        self.keep(at, at.words(), &right.join("-"), seen, rules_out);
    }

    fn try_spark(&mut self, cylinder: u8, by: Light) {
        let evidence = self.evidence;
        let setting = |teeth_out, leads| DistributorSetting { teeth_out, leads };
        let drawn = setting(RotorTurn::new(0.0), evidence.engine.lead_order());
        let seen = SparkObservation {
            cylinder: u32::from(cylinder),
            btdc: evidence.spark_btdc_deg(drawn, u32::from(cylinder)),
            within: SPARK_WITHIN_DEG,
            by,
        };
        // What a turn of the body could have made up for is not ruled out.
        let made_up_for = SparkObservation {
            within: seen.within + 2.0 * self.body_deg,
            ..seen
        };
        let out = |stands: &RotorStands| {
            let leads = self.leads.iter();
            leads
                .map(|leads| {
                    evidence
                        .spark(setting(stands.teeth_out, leads), &made_up_for)
                        .0
                        > 1.0
                })
                .collect()
        };
        let rules_out = Ruled::Sparks(self.rotors.iter().map(out).collect());
        let right = before_tdc(seen.btdc);
        let seen = Observation {
            spark: Some(seen),
            ..Observation::at(self.start[0].by_the_mark())
        };
        let at = LookAt::Spark(cylinder);
        let light = match by {
            Light::Lamp => "a lamp over the points",
            Light::Strobe => "a timing light",
        };
        let look = format!("{} by {light}", at.words());
        self.keep(at, look, &right, seen, rules_out);
    }

    /// Keeps a look that rules something out; of those that rule out the same, the first.
    fn keep(&mut self, at: LookAt, look: String, right: &str, seen: Observation, rules_out: Ruled) {
        let known = |other: &Candidate| other.rules_out == rules_out;
        if self.candidates.iter().any(known) {
            return;
        }
        let crank_deg = seen.crank;
        let leads = matches!(at, LookAt::Leads | LookAt::CoilLeads).then(|| {
            let order = self.evidence.engine.lead_order().iter();
            order.copied().map(u32::from).collect()
        });
        self.candidates.push(Candidate {
            turned_on_deg: wrap(crank_deg - self.start[0].by_the_mark(), 360.0),
            look: ProofLook {
                crank_deg,
                crank: self.at(crank_deg, self.drawn_turn),
                at,
                look,
                right: right.to_owned(),
                leaves: 0,
                seen,
                leads,
            },
            rules_out,
        });
    }
}
