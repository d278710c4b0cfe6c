//! How well what was seen agrees with one way of putting the engine together.
//!
//! For each thing seen: how far it lies outside what this way would show, as a share of how well it
//! could be read: 0 is agreement, up to 1 is within the reading, over 1 is a misfit. The
//! crank's own uncertainty counts in full for valves and compression and by half for the rotor,
//! which turns half as fast; what play the cam drive has is added to it.
//!
//! - A valve seen open disagrees by how far the crank is from where the valve leaves its seat; one
//!   seen closed by how far it is from where the valve is a tenth of a millimetre off it, over and
//!   above the gap where lash is stated: nobody knows whether it was set. Between the two a builder
//!   may see either.
//! - Compression felt: the piston rising on its compression stroke with both valves closed.
//! - The rotor, by the clock or by a tower; by a tower, up to midway to its neighbours.
//! - The slot of a geared shaft, the distributor lifted off: a central one looks alike half a turn on.
//! - A spark by a timing light is read on the crank's mark, which cannot tell the turn, so a
//!   reading within half a turn of TDC agrees with a spark a whole turn away too: allowed, but
//!   counted as one at the very edge of the reading. A plug that sparks every turn sparks at both:
//!   no light tells firing from overlap by it.

#![expect(
    clippy::indexing_slicing,
    reason = "a number on this engine, and indices of its own sightings and towers"
)]

use serde::Serialize;

use super::observations::{
    CRANK_WITHIN_DEG, Light, Observation, Observations, ROTOR_WITHIN_DEG, RotorObservation,
    SlotObservation, SparkObservation, ValveObservation, ValveState,
};
use crate::angle::{Clock, CrankAngle, CrankTurn, Direction, RotorTurn, wrap, wrap_signed};
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::{CapAngles, DriveOut};
use crate::laws::{Lobe, Lobes, SliderCrank, Stroke, gear_train, ignition};

/// Added to every width, so that a reading of no width still allows for the rounding of sums of
/// degrees.
const ROUNDING_DEG: f64 = 1e-6;
/// A valve called open that has hardly left its seat, or closed that has nearly left what a hand can
/// tell, agrees: with this share at the most.
const EITHER_WAY: f64 = 0.5;
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
    /// Leads in the engine's lead order; empty where there are none to plug.
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
    /// The teeth counted at each sighting, each with its camshaft, from 0.
    pub(super) counted: Vec<Vec<(usize, i32)>>,
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
            counted: seen
                .sightings
                .iter()
                .map(|sighting| {
                    let counted = sighting.cam_teeth_off.as_ref();
                    counted.map_or_else(Vec::new, |counted| counted.counted(engine))
                })
                .collect(),
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

    /// How far teeth of the cams, and the drive out so, put the rotor ahead; zero without a
    /// distributor.
    pub(super) fn teeth_out(&self, cams: CamTeeth, drive: DriveOut) -> RotorTurn {
        ignition::teeth_out(self.engine.metric(), cams, drive)
    }

    fn width(&self, within: f64) -> f64 {
        within + self.play_deg + ROUNDING_DEG
    }

    pub(super) fn fires(&self, cylinder: u32) -> CrankAngle {
        let index = (cylinder as usize).checked_sub(1);
        let fires = index.and_then(|index| self.fires.get(index));
        fires.copied().unwrap_or(CrankAngle::new(0.0))
    }

    /// A valve's lobe, and the phase at which it stands.
    fn lobe_at(
        &self,
        cams: CamTeeth,
        crank: CrankAngle,
        cylinder: u32,
        valve: Valve,
    ) -> (&Lobe, f64) {
        let camshaft = self.engine.camshaft_of(cylinder as u8, valve);
        let ahead = gear_train::valves_ahead(self.engine.metric(), camshaft, cams);
        let phase = self.fires(cylinder).on_to(crank) + ahead;
        (self.lobes.lobe(valve), phase.degrees())
    }

    /// Crank degrees to where a valve leaves its seat or comes back to it: positive while it is off
    /// its seat, negative while it is closed.
    pub(super) fn off_seat_by_deg(
        &self,
        cams: CamTeeth,
        crank: CrankAngle,
        cylinder: u32,
        valve: Valve,
    ) -> f64 {
        let (lobe, phase_deg) = self.lobe_at(cams, crank, cylinder, valve);
        -lobe.off_lobe_deg(phase_deg)
    }

    /// How far a valve's state lies outside what would be seen, as a share of what could be read.
    pub(super) fn valve(
        &self,
        cams: CamTeeth,
        crank: CrankAngle,
        within: f64,
        seen: &ValveObservation,
    ) -> f64 {
        let (lobe, phase_deg) = self.lobe_at(cams, crank, seen.cylinder, seen.valve);
        let (off_lobe, told_open) = (
            lobe.off_lobe_deg(phase_deg),
            lobe.told_open_by_deg(phase_deg),
        );
        let (outside, inside) = match seen.is {
            ValveState::Open => (off_lobe, -told_open),
            ValveState::Closed => (told_open, -off_lobe),
        };
        // Between the two, by how far it is from where everybody would call it so.
        let either_deg = (lobe.seat_duration_deg() - lobe.told_open_deg()) / 2.0;
        let either = EITHER_WAY * (inside / either_deg).clamp(0.0, 1.0);
        either.max(outside / self.width(within))
    }

    /// The same for compression felt in a cylinder.
    pub(super) fn compression(
        &self,
        cams: CamTeeth,
        crank: CrankAngle,
        within: f64,
        cylinder: u32,
    ) -> f64 {
        let leaking = |valve| self.off_seat_by_deg(cams, crank, cylinder, valve);
        self.compression_leaking(
            self.off_compression_deg(crank, cylinder),
            [leaking(Valve::Intake), leaking(Valve::Exhaust)],
            within,
        )
    }

    /// Crank degrees past firing TDC, or short of the compression stroke's beginning, whichever is
    /// nearer; 0 on that stroke.
    pub(super) fn off_compression_deg(&self, crank: CrankAngle, cylinder: u32) -> f64 {
        let phase = self.fires(cylinder).on_to(crank).degrees();
        let begins = Stroke::Compression.begins_deg(self.down_stroke_deg);
        if phase >= begins {
            0.0
        } else {
            phase.min(begins - phase)
        }
    }

    /// The same as [`compression`](Self::compression), of a cylinder that stands so far off its
    /// compression stroke, its intake and its exhaust valve so far off their seats.
    pub(super) fn compression_leaking(
        &self,
        off_stroke_deg: f64,
        [intake_deg, exhaust_deg]: [f64; 2],
        within: f64,
    ) -> f64 {
        let farthest = off_stroke_deg.max(intake_deg).max(exhaust_deg);
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

    /// The slot of the geared shaft with the cam wheel and the shaft out so; None where its place is
    /// not described.
    pub(super) fn slot_clock(
        &self,
        cams: CamTeeth,
        drive: DriveOut,
        crank: CrankAngle,
    ) -> Option<Clock> {
        let distributor = self.engine.metric().distributor.as_ref()?;
        let shaft = DriveOut {
            half_turn: false,
            ..drive
        };
        ignition::slot(distributor, crank, self.teeth_out(cams, shaft))
    }

    /// The same as [`valve`](Self::valve) for that slot.
    pub(super) fn slot(
        &self,
        cams: CamTeeth,
        drive: DriveOut,
        crank: CrankAngle,
        within: f64,
        seen: &SlotObservation,
    ) -> f64 {
        let distributor = self.engine.metric().distributor.as_ref();
        let would = self.slot_clock(cams, drive, crank);
        let Some((distributor, would)) = distributor.zip(would) else {
            return 0.0;
        };
        let alike = ignition::slot_alike(distributor);
        wrap_signed(would.degrees() - seen.clock, alike).abs()
            / (seen.within.unwrap_or(ROTOR_WITHIN_DEG) + self.width(within) / 2.0)
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
        let order = self.engine.lead_order();
        let mut plugged = setting.leads.iter().zip(order);
        let drawn_for = plugged.find(|(lead, _)| u32::from(**lead) == cylinder);
        let drawn_for = drawn_for.map_or(cylinder, |(_, drawn_for)| u32::from(*drawn_for));
        let body_turn = self.cap.map_or(RotorTurn::new(0.0), |cap| cap.body_turn);
        let ignition = &self.engine.metric().ignition;
        let advance = ignition::advance(ignition, setting.teeth_out, body_turn);
        let spark = ignition::spark_at(self.fires(drawn_for).degrees(), advance);
        let fires = self.fires(cylinder);
        let spark = if self.engine.sparks_every_turn() {
            ignition::useful_spark(spark, fires)
        } else {
            spark
        };
        ignition::before_tdc_deg(spark, fires)
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
        if self.engine.sparks_every_turn() {
            // It sparks at both: neither lamp nor light can tell which was seen.
            return (wrap_signed(would - seen.btdc, 360.0).abs() / width, false);
        }
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
        cams: CamTeeth,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let mut score = (0..self.engine.camshaft_count())
            .map(|camshaft| self.valves_of(camshaft, cams.of(camshaft), crank, sighting))
            .fold(Score::default(), Score::plus);
        for &cylinder in &sighting.compression_felt {
            score.add(self.compression(cams, crank, sighting.within, cylinder));
        }
        score
    }

    /// The score of those valves of one sighting that one camshaft works, counted from 0.
    pub(super) fn valves_of(
        &self,
        camshaft: usize,
        teeth: i32,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let cams = CamTeeth::default().with(camshaft, teeth);
        let mut score = Score::default();
        let own = sighting
            .valves
            .iter()
            .filter(|valve| self.engine.camshaft_of(valve.cylinder as u8, valve.valve) == camshaft);
        for valve in own {
            score.add(self.valve(cams, crank, sighting.within, valve));
        }
        score
    }

    /// The score of the rotor, and of the slot under it, of one sighting.
    pub(super) fn rotor_side(
        &self,
        cams: CamTeeth,
        drive: DriveOut,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let mut score = Score::default();
        if let Some(rotor) = &sighting.rotor {
            let teeth_out = self.teeth_out(cams, drive);
            score.add(self.rotor(teeth_out, crank, sighting.within, rotor));
        }
        if let Some(slot) = &sighting.slot {
            score.add(self.slot(cams, drive, crank, sighting.within, slot));
        }
        score
    }

    /// On which turns the crank may have stood at the last sighting: this one, the other.
    pub(super) fn last_turns(&self, cams: CamTeeth, drive: DriveOut) -> [bool; 2] {
        let Some(run) = self.runs().last() else {
            return [true; 2];
        };
        let explains = |other_turn: bool| {
            run.clone().all(|i| {
                let (sighting, crank) = (&self.seen.sightings[i], self.crank(i, other_turn));
                let score = self
                    .cam_side(cams, crank, sighting)
                    .plus(self.rotor_side(cams, drive, crank, sighting));
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
    pub(super) fn counted(&self, cams: CamTeeth) -> Score {
        let mut score = Score::default();
        for (camshaft, counted) in self.counted.iter().flatten() {
            score.add(2.0 * f64::from(counted.abs_diff(cams.of(*camshaft))));
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
