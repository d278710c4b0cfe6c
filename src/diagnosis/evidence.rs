//! How well what was seen agrees with one way of putting the engine together.
//!
//! For each thing seen: how far it lies outside what this way would show, as a share of how well it
//! could be read: 0 is agreement, up to 1 is within the reading, over 1 is a misfit. The
//! crank's own uncertainty counts in full for valves and compression and by half for the rotor,
//! which turns half as fast; what play the cam drive has is added to it.
//!
//! - A valve seen open disagrees by how far the crank is from where the valve leaves its seat; one
//!   seen closed by how far it is from where the valve passes the lift its events are quoted at.
//!   Between the two a builder may see either.
//! - Compression felt: the piston rising on its compression stroke with both valves closed.
//! - The rotor, by the clock or by a tower; by a tower, up to midway to its neighbours.
//! - A spark by a timing light is read on the crank's mark, which cannot tell the turn, so a
//!   reading within half a turn of TDC agrees with a spark a whole turn away too: allowed, but
//!   counted as one at the very edge of the reading.

use serde::Serialize;

use super::observations::{
    CRANK_WITHIN_DEG, Light, Observation, Observations, ROTOR_WITHIN_DEG, RotorObservation,
    SparkObservation, ValveObservation, ValveState,
};
use crate::angle::{Clock, CrankAngle, CrankTurn, Direction, RotorTurn, wrap, wrap_signed};
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::ignition::CapAngles;
use crate::laws::{Lobes, SliderCrank, Stroke, gear_train, ignition};

/// Added to every width, so that a reading of no width still allows for the rounding of sums of
/// degrees.
const ROUNDING_DEG: f64 = 1e-6;
/// A misfit counts as this many times what could be read at the most: one wrong entry must not
/// outweigh all the others.
const FARTHEST: f64 = 20.0;

/// Which turn of the crank: the one about No. 1's firing TDC, or the one about its overlap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Revolution {
    /// Within 180° of No. 1's firing TDC.
    Firing,
    /// Within 180° of No. 1's overlap TDC.
    Overlap,
}

impl Revolution {
    /// The revolution that a crank angle lies in.
    pub fn of(crank: CrankAngle) -> Self {
        if crank.degrees() < 180.0 || crank.degrees() >= 540.0 {
            Self::Firing
        } else {
            Self::Overlap
        }
    }
}

/// How far a way of putting the engine together disagrees with what was seen.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Score {
    /// Things seen that are not explained.
    pub(super) misfits: u32,
    /// The squares of the shares, added up.
    pub(super) cost: f64,
}

impl Score {
    pub(super) fn add(&mut self, share: f64) {
        self.misfits += u32::from(share > 1.0);
        self.cost += share.min(FARTHEST).powi(2);
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            misfits: self.misfits + other.misfits,
            cost: self.cost + other.cost,
        }
    }

    pub(super) fn better_than(self, other: Self) -> bool {
        (self.misfits, self.cost) < (other.misfits, other.cost)
    }
}

/// How the distributor stands in one way of putting the engine together.
#[derive(Clone, Copy, Debug)]
pub(super) struct DistributorSetting<'a> {
    /// How far rotor and trigger stand ahead of as drawn, by teeth of cam and drive.
    pub(super) teeth_out: RotorTurn,
    /// Leads from No. 1's tower in the rotor's direction.
    pub(super) leads: &'a [u8],
}

/// An engine and what was seen of it, with what every way of putting it together has in common.
pub(super) struct Evidence<'a> {
    pub(super) engine: &'a Engine,
    pub(super) seen: &'a Observations,
    lobes: Lobes,
    down_stroke_deg: f64,
    play_deg: f64,
    /// Firing angle by cylinder number less one.
    fires: Vec<CrankAngle>,
    /// The cap with no tooth out, the body turned as the sightings say; None without a distributor.
    cap: Option<CapAngles>,
    /// Each sighting's crank angle on one of the two turns.
    base: Vec<CrankAngle>,
    /// Where each run of sightings that were turned on from one another begins; the last item is
    /// their number.
    runs: Vec<usize>,
}

impl<'a> Evidence<'a> {
    pub(super) fn of(engine: &'a Engine, seen: &'a Observations) -> Self {
        let description = engine.metric();
        let mut fires = vec![CrankAngle::new(0.0); engine.cylinder_count()];
        for (&number, &angle) in engine.firing_order().iter().zip(engine.firing_angles()) {
            fires[usize::from(number) - 1] = CrankAngle::new(angle);
        }
        let cap = description.distributor.as_ref().map(|distributor| {
            let body_turn = RotorTurn::new(seen.body_turn);
            CapAngles::of(
                distributor,
                &description.ignition,
                RotorTurn::new(0.0),
                body_turn,
            )
        });
        let mut base: Vec<CrankAngle> = Vec::with_capacity(seen.sightings.len());
        let mut runs = Vec::new();
        for (i, sighting) in seen.sightings.iter().enumerate() {
            let angle = match base.last() {
                Some(&before)
                    if sighting.turned_on && turn_is_known(&seen.sightings[i - 1], sighting) =>
                {
                    turned_on(before, sighting.crank)
                }
                _ => {
                    runs.push(i);
                    CrankAngle::new(wrap(sighting.crank, 360.0))
                }
            };
            base.push(angle);
        }
        runs.push(base.len());
        Self {
            engine,
            seen,
            lobes: Lobes::of(&description.valves),
            down_stroke_deg: SliderCrank::of(description).down_stroke_deg(),
            play_deg: gear_train::crank_play(&description.cam_drive)
                .map_or(0.0, CrankTurn::degrees),
            fires,
            cap,
            base,
            runs,
        }
    }

    /// The runs of sightings: within each, one sighting's turn of the crank gives the others'.
    pub(super) fn runs(&self) -> impl Iterator<Item = std::ops::Range<usize>> {
        self.runs.windows(2).map(|pair| pair[0]..pair[1])
    }

    /// Where the crank stood at a sighting, on one turn or on the other.
    pub(super) fn crank(&self, sighting: usize, other_turn: bool) -> CrankAngle {
        let base = self.base[sighting];
        if other_turn {
            CrankAngle::new(base.degrees() + 360.0)
        } else {
            base
        }
    }

    /// How far teeth of cam and drive put the rotor ahead; zero without a distributor.
    pub(super) fn teeth_out(&self, cam_teeth: i32, drive_teeth: i32) -> RotorTurn {
        ignition::teeth_out(self.engine.metric(), cam_teeth, drive_teeth)
    }

    fn width(&self, within: f64) -> f64 {
        within + self.play_deg + ROUNDING_DEG
    }

    fn fires(&self, cylinder: u32) -> CrankAngle {
        let index = (cylinder as usize).checked_sub(1);
        let fires = index.and_then(|index| self.fires.get(index));
        fires.copied().unwrap_or(CrankAngle::new(0.0))
    }

    /// Crank degrees to the nearest event of a valve as quoted: positive while it is open, negative
    /// while it is closed.
    pub(super) fn open_by_deg(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        cylinder: u32,
        valve: Valve,
    ) -> f64 {
        let cam_ahead = gear_train::cam_ahead(&self.engine.metric().cam_drive, cam_teeth);
        let phase = self.fires(cylinder).on_to(crank) + cam_ahead.at_crank();
        self.lobes.lobe(valve).open_by_deg(phase.degrees())
    }

    /// How far a valve's state lies outside what would be seen, as a share of what could be read.
    pub(super) fn valve(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        within: f64,
        seen: &ValveObservation,
    ) -> f64 {
        let open_by = self.open_by_deg(cam_teeth, crank, seen.cylinder, seen.valve);
        let lobe = self.lobes.lobe(seen.valve);
        let outside = match seen.is {
            // From its seat to the quoted lift a builder may call it open too.
            ValveState::Open => -open_by - (lobe.seat_duration_deg() - lobe.duration_deg()) / 2.0,
            ValveState::Closed => open_by,
        };
        outside.max(0.0) / self.width(within)
    }

    /// The same for compression felt in a cylinder.
    pub(super) fn compression(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        within: f64,
        cylinder: u32,
    ) -> f64 {
        let phase = self.fires(cylinder).on_to(crank).degrees();
        let begins = Stroke::Compression.begins_deg(self.down_stroke_deg);
        // Past firing TDC, or short of the stroke's beginning, whichever is nearer.
        let outside = if phase >= begins {
            0.0
        } else {
            phase.min(begins - phase)
        };
        let leaking = |valve| self.open_by_deg(cam_teeth, crank, cylinder, valve);
        let farthest = outside
            .max(leaking(Valve::Intake))
            .max(leaking(Valve::Exhaust));
        farthest.max(0.0) / self.width(within)
    }

    /// The cap with the rotor ahead by `teeth_out`; None without a distributor.
    fn cap(&self, teeth_out: RotorTurn) -> Option<CapAngles> {
        let cap = self.cap?;
        Some(CapAngles {
            ahead: cap.ahead + teeth_out,
            ..cap
        })
    }

    /// The rotor, looking down on the cap; None without a distributor.
    pub(super) fn rotor_clock(&self, teeth_out: RotorTurn, crank: CrankAngle) -> Option<Clock> {
        Some(self.cap(teeth_out)?.rotor(crank))
    }

    /// How far the rotor stands past a tower, by its place in the firing order, and how far it is
    /// from that tower to midway to its neighbour on that side; None without a distributor.
    pub(super) fn past_tower(
        &self,
        teeth_out: RotorTurn,
        crank: CrankAngle,
        tower: usize,
    ) -> Option<(f64, f64)> {
        let fires = self.engine.firing_angles();
        let cap = self.cap(teeth_out)?;
        let past = cap.past_tower_deg(cap.past_number_one_deg(crank), fires[tower]);
        let count = fires.len();
        let neighbour = if past >= 0.0 {
            (tower + 1) % count
        } else {
            (tower + count - 1) % count
        };
        let gap = if past >= 0.0 {
            fires[neighbour] - fires[tower]
        } else {
            fires[tower] - fires[neighbour]
        };
        let gap = if count == 1 { 720.0 } else { wrap(gap, 720.0) };
        Some((past, gap / 4.0))
    }

    /// The same as [`valve`](Self::valve) for the rotor.
    pub(super) fn rotor(
        &self,
        teeth_out: RotorTurn,
        crank: CrankAngle,
        within: f64,
        seen: &RotorObservation,
    ) -> f64 {
        let slack = self.width(within) / 2.0;
        if let Some(tower) = seen.tower.and_then(|number| self.tower_of(number)) {
            let past = self.past_tower(teeth_out, crank, tower);
            return past.map_or(0.0, |(past, midway)| {
                past.abs() / (seen.within.unwrap_or(midway) + slack)
            });
        }
        match (seen.clock, self.rotor_clock(teeth_out, crank)) {
            (Some(clock), Some(would)) => {
                would.past(Clock::new(clock), Direction::Clockwise).abs()
                    / (seen.within.unwrap_or(ROTOR_WITHIN_DEG) + slack)
            }
            _ => 0.0,
        }
    }

    /// The tower drawn for a cylinder, by its place in the firing order.
    pub(super) fn tower_of(&self, number: u32) -> Option<usize> {
        self.engine
            .firing_order()
            .iter()
            .position(|&other| u32::from(other) == number)
    }

    /// Crank degrees before its own firing TDC at which a cylinder's plug gets its spark: −360 ≤ b
    /// < 360.
    pub(super) fn spark_btdc_deg(&self, setting: DistributorSetting<'_>, cylinder: u32) -> f64 {
        let order = self.engine.firing_order();
        let leads = if setting.leads.is_empty() {
            order
        } else {
            setting.leads
        };
        let tower = leads.iter().position(|&lead| u32::from(lead) == cylinder);
        let tower = tower.or_else(|| self.tower_of(cylinder)).unwrap_or(0);
        let body_turn = self.cap.map_or(RotorTurn::new(0.0), |cap| cap.body_turn);
        let ignition = &self.engine.metric().ignition;
        let advance = ignition::advance(ignition, setting.teeth_out, body_turn);
        let spark = ignition::spark_at(self.engine.firing_angles()[tower], advance);
        ignition::before_tdc_deg(spark, self.fires(cylinder))
    }

    /// The same as [`valve`](Self::valve) for a spark; and whether it agrees only a whole turn
    /// away.
    pub(super) fn spark(
        &self,
        setting: DistributorSetting<'_>,
        seen: &SparkObservation,
    ) -> (f64, bool) {
        let would = self.spark_btdc_deg(setting, seen.cylinder);
        let width = seen.within + ROUNDING_DEG;
        let as_said = wrap_signed(would - seen.btdc, 720.0).abs() / width;
        let by_the_mark = wrap_signed(would - seen.btdc, 360.0).abs() / width;
        let mark_only = seen.by == Light::Strobe && seen.btdc.abs() <= 180.0;
        if mark_only && as_said > 1.0 && by_the_mark < as_said {
            (by_the_mark, true)
        } else {
            (as_said, false)
        }
    }

    /// The score of the valves and compression of one sighting.
    pub(super) fn cam_side(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let mut score = Score::default();
        for valve in &sighting.valves {
            score.add(self.valve(cam_teeth, crank, sighting.within, valve));
        }
        for &cylinder in &sighting.compression_felt {
            score.add(self.compression(cam_teeth, crank, sighting.within, cylinder));
        }
        score
    }

    /// The score of the rotor of one sighting.
    pub(super) fn rotor_side(
        &self,
        teeth_out: RotorTurn,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let mut score = Score::default();
        if let Some(rotor) = &sighting.rotor {
            score.add(self.rotor(teeth_out, crank, sighting.within, rotor));
        }
        score
    }

    /// On which turns the crank may have stood at the last sighting: this one, the other.
    pub(super) fn last_turns(&self, cam_teeth: i32, drive_teeth: i32) -> [bool; 2] {
        let teeth_out = self.teeth_out(cam_teeth, drive_teeth);
        let Some(run) = self.runs().last() else {
            return [true; 2];
        };
        let explains = |other_turn: bool| {
            run.clone().all(|i| {
                let (sighting, crank) = (&self.seen.sightings[i], self.crank(i, other_turn));
                let score = self
                    .cam_side(cam_teeth, crank, sighting)
                    .plus(self.rotor_side(teeth_out, crank, sighting));
                score.misfits == 0
            })
        };
        [explains(false), explains(true)]
    }

    /// The score of the sparks of every sighting.
    pub(super) fn sparks(&self, setting: DistributorSetting<'_>) -> Score {
        let mut score = Score::default();
        for seen in self
            .seen
            .sightings
            .iter()
            .filter_map(|sighting| sighting.spark.as_ref())
        {
            let (share, turn_away) = self.spark(setting, seen);
            score.add(share);
            score.cost += f64::from(u8::from(turn_away));
        }
        score
    }

    /// The score of the teeth counted. Whole teeth are counted, so one off is already a misfit.
    pub(super) fn counted(&self, cam_teeth: i32) -> Score {
        let mut score = Score::default();
        for counted in self
            .seen
            .sightings
            .iter()
            .filter_map(|sighting| sighting.cam_teeth_off)
        {
            score.add(2.0 * f64::from(counted.abs_diff(cam_teeth)));
        }
        score
    }

    /// How well a look that has not been taken yet could be read.
    pub(super) fn next_width(&self) -> f64 {
        self.width(CRANK_WITHIN_DEG)
    }
}

/// Whether two marks lie far enough apart that turning on from one to the other by less than a turn
/// tells the turn: nearly the same mark may be a hardly moved crank, or nearly a whole turn.
fn turn_is_known(before: &Observation, after: &Observation) -> bool {
    let on = wrap(after.crank - before.crank, 360.0);
    on.min(360.0 - on) > before.within + after.within
}

/// Where the crank stands once turned forwards from `before`, by less than a turn, to a mark.
pub(super) fn turned_on(before: CrankAngle, mark_deg: f64) -> CrankAngle {
    CrankAngle::new(before.degrees() + wrap(mark_deg - before.by_the_mark(), 360.0))
}
