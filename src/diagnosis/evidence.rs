//! How well what was seen agrees with one way of putting the engine together.
//!
//! Each thing seen is asked how far it lies outside what this way would show, as a share of how
//! well it could be read: 0 is agreement, up to 1 is within the reading, over 1 is a misfit. The
//! crank's own uncertainty counts in full for valves and compression and by half for the rotor,
//! which turns half as fast; what play the cam drive has is added to it.
//!
//! - A valve seen open disagrees by how far the crank is from where the valve leaves its seat; one
//!   seen closed by how far it is from where the valve passes the lift its events are quoted at.
//!   Between the two an eye may say either.
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
use crate::angle::{CrankAngle, wrap, wrap_signed};
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::{Lobe, SliderCrank, gear_train, ignition};

/// Added to every width so that a reading of no width still has room for the rounding of sums of
/// degrees.
const ROUNDING_DEG: f64 = 1e-6;
/// A misfit farther off than this many times what could be read is no farther off for that: one
/// slip of the pen must not drown the rest.
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
    /// The half that a crank angle lies in.
    pub fn of(crank: CrankAngle) -> Self {
        if crank.degrees() < 180.0 || crank.degrees() >= 540.0 {
            Self::Firing
        } else {
            Self::Overlap
        }
    }
}

/// What disagreements come to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Score {
    /// Things seen that are not explained.
    pub misfits: u32,
    /// The squares of the shares, added up.
    pub cost: f64,
}

impl Score {
    pub fn add(&mut self, share: f64) {
        self.misfits += u32::from(share > 1.0);
        self.cost += share.min(FARTHEST).powi(2);
    }

    pub fn plus(self, other: Self) -> Self {
        Self {
            misfits: self.misfits + other.misfits,
            cost: self.cost + other.cost,
        }
    }

    pub fn better_than(self, other: Self) -> bool {
        (self.misfits, self.cost) < (other.misfits, other.cost)
    }
}

/// How the distributor stands in one way of putting the engine together.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DistributorSetting<'a> {
    /// Rotor degrees by which rotor and trigger stand ahead of as drawn, by teeth.
    pub teeth_out_deg: f64,
    /// Leads from No. 1's tower in the rotor's direction.
    pub leads: &'a [u8],
}

/// An engine and what was seen of it, ready to be asked many times.
pub(crate) struct Evidence<'a> {
    pub engine: &'a Engine,
    pub seen: &'a Observations,
    intake: Lobe,
    exhaust: Lobe,
    down_stroke_deg: f64,
    cam_tooth_crank_deg: f64,
    play_deg: f64,
    /// Firing angle by cylinder number less one.
    fires: Vec<f64>,
    /// Each sighting's crank angle on one of the two turns.
    base: Vec<CrankAngle>,
    /// Where each run of sightings that were turned on from one another begins; the last item is
    /// their number.
    runs: Vec<usize>,
}

impl<'a> Evidence<'a> {
    pub fn of(engine: &'a Engine, seen: &'a Observations) -> Self {
        let description = engine.metric();
        let slider = SliderCrank::new(
            description.crankshaft.stroke,
            description.rod_length,
            description.pin_offset,
        );
        let mut fires = vec![0.0; engine.cylinder_count()];
        for (&number, &angle) in engine.firing_order().iter().zip(engine.firing_angles()) {
            fires[usize::from(number) - 1] = angle;
        }
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
            intake: Lobe::intake(&description.valves),
            exhaust: Lobe::exhaust(&description.valves),
            down_stroke_deg: slider.down_stroke_deg(),
            cam_tooth_crank_deg: gear_train::crank_per_cam_tooth(&description.cam_drive).degrees(),
            play_deg: gear_train::crank_play(&description.cam_drive)
                .map_or(0.0, crate::angle::Turn::degrees),
            fires,
            base,
            runs,
        }
    }

    /// The runs of sightings whose turns hang together.
    pub fn runs(&self) -> impl Iterator<Item = std::ops::Range<usize>> {
        self.runs.windows(2).map(|pair| pair[0]..pair[1])
    }

    /// Where the crank stood at a sighting, on one turn or on the other.
    pub fn crank(&self, sighting: usize, other_turn: bool) -> CrankAngle {
        let base = self.base[sighting];
        if other_turn {
            CrankAngle::new(base.degrees() + 360.0)
        } else {
            base
        }
    }

    /// Rotor degrees by which teeth of cam and drive put the rotor ahead; 0 without a distributor.
    pub fn teeth_out_deg(&self, cam_teeth: i32, drive_teeth: i32) -> f64 {
        let description = self.engine.metric();
        let cam = gear_train::cam_tooth(&description.cam_drive) * f64::from(cam_teeth);
        description.distributor.as_ref().map_or(0.0, |distributor| {
            ignition::teeth_out(distributor, drive_teeth, cam).degrees()
        })
    }

    fn width(&self, within: f64) -> f64 {
        within + self.play_deg + ROUNDING_DEG
    }

    fn phase(&self, cylinder: u32, crank: CrankAngle) -> f64 {
        let fires = (cylinder as usize)
            .checked_sub(1)
            .and_then(|index| self.fires.get(index))
            .copied()
            .unwrap_or(0.0);
        wrap(crank.degrees() - fires, 720.0)
    }

    /// Degrees by which a valve is open over the lift its events are quoted at; negative: closed by
    /// so many.
    pub fn open_by_deg(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        cylinder: u32,
        valve: Valve,
    ) -> f64 {
        let phase = self.phase(cylinder, crank) + f64::from(cam_teeth) * self.cam_tooth_crank_deg;
        let lobe = self.lobe(valve);
        let event = lobe.to_nearest_event(phase).degrees();
        if lobe.at(wrap(phase, 720.0)).open {
            event
        } else {
            -event
        }
    }

    fn lobe(&self, valve: Valve) -> &Lobe {
        match valve {
            Valve::Intake => &self.intake,
            Valve::Exhaust => &self.exhaust,
        }
    }

    /// How far a valve's state lies outside what would be seen, as a share of what could be read.
    pub fn valve(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        within: f64,
        seen: &ValveObservation,
    ) -> f64 {
        let open_by = self.open_by_deg(cam_teeth, crank, seen.cylinder, seen.valve);
        let lobe = self.lobe(seen.valve);
        let outside = match seen.is {
            // From its seat to the quoted lift an eye may call it open too.
            ValveState::Open => -open_by - (lobe.seat_duration_deg() - lobe.duration_deg()) / 2.0,
            ValveState::Closed => open_by,
        };
        outside.max(0.0) / self.width(within)
    }

    /// The same for compression felt in a cylinder.
    pub fn compression(
        &self,
        cam_teeth: i32,
        crank: CrankAngle,
        within: f64,
        cylinder: u32,
    ) -> f64 {
        let phase = self.phase(cylinder, crank);
        let begins = 360.0 + self.down_stroke_deg;
        // Past firing TDC, or short of the stroke's beginning, whichever is nearer.
        let outside = if phase >= begins {
            0.0
        } else {
            phase.min(begins - phase)
        };
        let leaking = |valve| self.open_by_deg(cam_teeth, crank, cylinder, valve);
        let worst = outside
            .max(leaking(Valve::Intake))
            .max(leaking(Valve::Exhaust));
        worst.max(0.0) / self.width(within)
    }

    /// Rotor degrees in the rotor's own direction from No. 1's tower as drawn, with teeth out.
    fn rotor_deg(&self, teeth_out_deg: f64, crank: CrankAngle) -> f64 {
        let description = self.engine.metric();
        let offset = description.distributor.as_ref().map_or(0.0, |distributor| {
            ignition::offset(distributor, &description.ignition).degrees()
        });
        offset + crank.degrees() / 2.0 + teeth_out_deg
    }

    /// The rotor's clock degrees; None without a distributor.
    pub fn rotor_clock_deg(&self, teeth_out_deg: f64, crank: CrankAngle) -> Option<f64> {
        let distributor = self.engine.metric().distributor.as_ref()?;
        Some(wrap(
            distributor.number_one_at
                + distributor.rotation.sign() * self.rotor_deg(teeth_out_deg, crank),
            360.0,
        ))
    }

    /// How far the rotor stands past a tower, by its place in the firing order, and how far that
    /// tower's own ground reaches on that side: midway to its neighbour.
    pub fn past_tower(&self, teeth_out_deg: f64, crank: CrankAngle, tower: usize) -> (f64, f64) {
        let fires = self.engine.firing_angles();
        let body = self.seen.body_turn;
        let past = wrap_signed(
            self.rotor_deg(teeth_out_deg, crank) + body - fires[tower] / 2.0,
            360.0,
        );
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
        (past, gap / 4.0)
    }

    /// The same as [`valve`](Self::valve) for the rotor.
    pub fn rotor(
        &self,
        teeth_out_deg: f64,
        crank: CrankAngle,
        within: f64,
        seen: &RotorObservation,
    ) -> f64 {
        if self.engine.metric().distributor.is_none() {
            return 0.0;
        }
        let slack = self.width(within) / 2.0;
        if let Some(tower) = seen.tower.and_then(|number| self.tower_of(number)) {
            let (past, ground) = self.past_tower(teeth_out_deg, crank, tower);
            return past.abs() / (seen.within.unwrap_or(ground) + slack);
        }
        match (seen.clock, self.rotor_clock_deg(teeth_out_deg, crank)) {
            (Some(clock), Some(would)) => {
                wrap_signed(would - clock, 360.0).abs()
                    / (seen.within.unwrap_or(ROTOR_WITHIN_DEG) + slack)
            }
            _ => 0.0,
        }
    }

    /// The tower drawn for a cylinder, by its place in the firing order.
    pub fn tower_of(&self, number: u32) -> Option<usize> {
        self.engine
            .firing_order()
            .iter()
            .position(|&other| u32::from(other) == number)
    }

    /// Crank degrees before its own firing TDC at which a cylinder's plug gets its spark: −360 ≤ b
    /// < 360.
    pub fn spark_btdc_deg(&self, distribution: DistributorSetting<'_>, cylinder: u32) -> f64 {
        let order = self.engine.firing_order();
        let fires = self.engine.firing_angles();
        let own = self.tower_of(cylinder).unwrap_or(0);
        let leads = if distribution.leads.is_empty() {
            order
        } else {
            distribution.leads
        };
        let tower = leads
            .iter()
            .position(|&lead| u32::from(lead) == cylinder)
            .unwrap_or(own);
        let body = if self.engine.metric().distributor.is_some() {
            self.seen.body_turn
        } else {
            0.0
        };
        let advance = self.engine.metric().ignition.static_advance
            + 2.0 * (distribution.teeth_out_deg + body);
        wrap_signed(fires[own] - fires[tower] + advance, 720.0)
    }

    /// The same as [`valve`](Self::valve) for a spark; and whether it agrees only a whole turn
    /// away.
    pub fn spark(
        &self,
        distribution: DistributorSetting<'_>,
        seen: &SparkObservation,
    ) -> (f64, bool) {
        let would = self.spark_btdc_deg(distribution, seen.cylinder);
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

    /// What the valves and compression of one sighting come to.
    pub fn cam_side(&self, cam_teeth: i32, crank: CrankAngle, sighting: &Observation) -> Score {
        let mut tally = Score::default();
        for valve in &sighting.valves {
            tally.add(self.valve(cam_teeth, crank, sighting.within, valve));
        }
        for &cylinder in &sighting.compression_felt {
            tally.add(self.compression(cam_teeth, crank, sighting.within, cylinder));
        }
        tally
    }

    /// What the rotor of one sighting comes to.
    pub fn rotor_side(
        &self,
        teeth_out_deg: f64,
        crank: CrankAngle,
        sighting: &Observation,
    ) -> Score {
        let mut tally = Score::default();
        if let Some(rotor) = &sighting.rotor {
            tally.add(self.rotor(teeth_out_deg, crank, sighting.within, rotor));
        }
        tally
    }

    /// On which turns the crank may have stood at the last sighting: this one, the other.
    pub fn last_turns(&self, cam_teeth: i32, drive_teeth: i32) -> [bool; 2] {
        let teeth_out_deg = self.teeth_out_deg(cam_teeth, drive_teeth);
        let Some(run) = self.runs().last() else {
            return [true; 2];
        };
        let explains = |other_turn: bool| {
            run.clone().all(|i| {
                let (sighting, crank) = (&self.seen.sightings[i], self.crank(i, other_turn));
                let tally = self
                    .cam_side(cam_teeth, crank, sighting)
                    .plus(self.rotor_side(teeth_out_deg, crank, sighting));
                tally.misfits == 0
            })
        };
        [explains(false), explains(true)]
    }

    /// What the sparks of every sighting come to.
    pub fn sparks(&self, distribution: DistributorSetting<'_>) -> Score {
        let mut tally = Score::default();
        for seen in self
            .seen
            .sightings
            .iter()
            .filter_map(|sighting| sighting.spark.as_ref())
        {
            let (share, turn_away) = self.spark(distribution, seen);
            tally.add(share);
            tally.cost += f64::from(u8::from(turn_away));
        }
        tally
    }

    /// What the teeth counted come to. Whole teeth are counted, so one off is already a misfit.
    pub fn counted(&self, cam_teeth: i32) -> Score {
        let mut tally = Score::default();
        for counted in self
            .seen
            .sightings
            .iter()
            .filter_map(|sighting| sighting.cam_teeth_off)
        {
            tally.add(2.0 * f64::from(counted.abs_diff(cam_teeth)));
        }
        tally
    }

    /// How well a look that has not been taken yet could be read.
    pub fn next_width(&self) -> f64 {
        self.width(CRANK_WITHIN_DEG)
    }
}

/// Whether two marks lie far enough apart that turning on from one to the other by less than a turn
/// tells the turn: nearly the same mark may be a hardly moved crank, or nearly a whole turn.
fn turn_is_known(before: &Observation, after: &Observation) -> bool {
    let on = wrap(after.crank - before.crank, 360.0);
    on.min(360.0 - on) > before.within + after.within
}

/// Where the crank comes to from `before`, turned forwards by less than a turn to a mark.
pub(crate) fn turned_on(before: CrankAngle, mark_deg: f64) -> CrankAngle {
    CrankAngle::new(before.degrees() + wrap(mark_deg - before.by_the_mark(), 360.0))
}
