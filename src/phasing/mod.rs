//! What a description implies, for every crank angle.
//!
//! [`Phasing`] is built once from an [`Engine`] and an [`Assembly`] (how it was put together; as
//! drawn by default); [`Phasing::at`] then tells where everything stands, by a handful of
//! multiplications and without touching the heap.
//!
//! The crank angle θ counts in the running direction, 0 ≤ θ < 720; 0 is No. 1 at TDC firing, 360
//! No. 1 at TDC on overlap.

mod card;
mod clearance;
mod reading;

use std::sync::Arc;

use arrayvec::ArrayVec;

pub use card::Card;
pub use clearance::ByTeeth;
pub use reading::{CylinderReading, NextEvent, Reading, RotorReading};

pub use crate::laws::{DEAD_CENTRE_WITHIN_DEG, DeadCentre, Stroke};

use crate::angle::{CamAngle, CamTurn, Clock, CrankAngle, CrankTurn, Direction, RotorTurn};
use crate::description::fields::{MOST_CYLINDERS, MOST_MARKS};
use crate::description::{MarkOn, Valve};
use crate::engine::{Assembly, Engine};
use crate::laws::ignition::CapAngles;
use crate::laws::{Lobe, Lobes, SliderCrank, gear_train, ignition};

/// How one cylinder is phased.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CylinderPhasing {
    /// The number on it.
    pub number: u8,
    /// The crank angle at which it fires.
    pub fires: CrankAngle,
    /// Its place in the firing order: 0 is No. 1.
    pub order_index: usize,
    /// The clock angle of its bore, seen from the front.
    pub bank: Clock,
    /// Its throw, clockwise from No. 1's throw, seen from the front.
    pub throw_deg: f64,
    /// When its plug gets its spark, as built and with the leads as plugged, the engine at rest.
    pub spark: CrankAngle,
    /// Sine and cosine of what its throw's angle past its bore differs from θ by.
    throw_past_bore: (f64, f64),
}

/// A description, and how it was put together, worked out for every crank angle.
#[derive(Clone, Debug)]
pub struct Phasing {
    engine: Arc<Engine>,
    assembly: Assembly,
    slider: SliderCrank,
    lobes: Lobes,
    /// How far ahead of the crank the camshaft stands, as built.
    cam_ahead: CamTurn,
    cam_direction: Direction,
    cylinders: ArrayVec<CylinderPhasing, MOST_CYLINDERS>,
    /// Cylinder numbers as their leads are plugged, from No. 1's tower in the rotor's direction.
    leads: ArrayVec<u8, MOST_CYLINDERS>,
    cap: Option<CapAngles>,
    marks: ArrayVec<(MarkOn, f64), MOST_MARKS>,
}

impl Phasing {
    /// The engine put together as drawn.
    pub fn as_drawn(engine: &Arc<Engine>) -> Self {
        Self::as_built(engine, &Assembly::default())
    }

    /// The engine put together as `assembly` says. An assembly is checked against its engine before
    /// it comes here ([`Assembly::check`]); leads that are not on it are taken as drawn.
    pub fn as_built(engine: &Arc<Engine>, assembly: &Assembly) -> Self {
        let description = engine.metric();
        let slider = SliderCrank::of(description);
        let cam_ahead = gear_train::cam_ahead(&description.cam_drive, assembly.cam_teeth);
        let body_turn = RotorTurn::new(assembly.body_turn_deg);
        let teeth_out = ignition::teeth_out(description, assembly.cam_teeth, assembly.drive_teeth);
        let advance = ignition::advance(&description.ignition, teeth_out, body_turn);

        let order = engine.firing_order();
        let leads: ArrayVec<u8, _> = match &assembly.leads {
            Some(leads) if leads.len() == order.len() => leads.iter().copied().collect(),
            _ => order.iter().copied().collect(),
        };
        let cylinder = |(order_index, &number): (usize, &u8)| {
            let fire_deg = engine.firing_angles()[order_index];
            // The spark of the tower that this cylinder's lead is plugged into.
            let tower = leads.iter().position(|&lead| lead == number);
            let tower_fires_deg = engine.firing_angles()[tower.unwrap_or(order_index)];
            CylinderPhasing {
                number,
                fires: CrankAngle::new(fire_deg),
                order_index,
                bank: Clock::new(engine.bank_deg(number)),
                throw_deg: engine.throw_deg(number) - engine.throw_deg(1),
                spark: ignition::spark_at(tower_fires_deg, advance),
                throw_past_bore: (slider.tdc_deg() - fire_deg).to_radians().sin_cos(),
            }
        };
        let mut cylinders: ArrayVec<_, _> = order.iter().enumerate().map(cylinder).collect();
        cylinders.sort_by_key(|cylinder| cylinder.number);

        let cap = description.distributor.as_ref().map(|distributor| {
            CapAngles::of(distributor, &description.ignition, teeth_out, body_turn)
        });
        Self {
            slider,
            lobes: Lobes::of(&description.valves),
            cam_ahead,
            cam_direction: gear_train::cam_direction(
                &description.cam_drive,
                description.crankshaft.rotation,
            ),
            cylinders,
            leads,
            cap,
            marks: description
                .marks
                .iter()
                .map(|mark| (mark.on, mark.at))
                .take(MOST_MARKS)
                .collect(),
            engine: Arc::clone(engine),
            assembly: assembly.clone(),
        }
    }

    /// The engine it was worked out from.
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engine
    }

    /// How it was put together.
    pub fn assembly(&self) -> &Assembly {
        &self.assembly
    }

    /// Crank, rod and piston, the same for every cylinder.
    pub fn slider(&self) -> &SliderCrank {
        &self.slider
    }

    /// The intake lobe against a cylinder's own phase, as drawn.
    pub fn intake(&self) -> &Lobe {
        &self.lobes.intake
    }

    /// The exhaust lobe against a cylinder's own phase, as drawn.
    pub fn exhaust(&self) -> &Lobe {
        &self.lobes.exhaust
    }

    /// The lobe of one of the valves against a cylinder's own phase, as drawn.
    pub(crate) fn lobe(&self, valve: Valve) -> &Lobe {
        self.lobes.lobe(valve)
    }

    /// How far ahead of the crank the camshaft stands: zero as drawn.
    pub fn cam_ahead(&self) -> CamTurn {
        self.cam_ahead
    }

    /// Which way the camshaft turns, seen from the front.
    pub fn cam_direction(&self) -> Direction {
        self.cam_direction
    }

    /// Which way the crankshaft turns, seen from the front.
    pub fn crank_direction(&self) -> Direction {
        self.engine.metric().crankshaft.rotation
    }

    /// The cylinders, by number.
    pub fn cylinders(&self) -> &[CylinderPhasing] {
        &self.cylinders
    }

    /// One cylinder; None for a number not on this engine.
    pub fn cylinder(&self, number: u8) -> Option<&CylinderPhasing> {
        self.cylinders.get(usize::from(number).checked_sub(1)?)
    }

    /// Cylinder numbers as their leads are plugged, from No. 1's tower (as drawn) in the rotor's
    /// direction.
    pub fn leads(&self) -> &[u8] {
        &self.leads
    }

    /// Where the towers stand, as built, looking down on the cap: one for each place in the firing
    /// order. Empty without a distributor.
    pub fn towers(&self) -> Vec<Clock> {
        self.cap
            .iter()
            .flat_map(|cap| {
                self.engine
                    .firing_angles()
                    .iter()
                    .map(|&fire| cap.tower(fire))
            })
            .collect()
    }

    /// Where a throw stands at crank angle `crank`, clock degrees seen from the front.
    pub fn throw_clock(&self, cylinder: &CylinderPhasing, crank: CrankAngle) -> Clock {
        let number_one = self
            .cylinders
            .first()
            .map_or(0.0, |first| first.bank.degrees());
        let turned = self.crank_direction().sign() * (crank.degrees() + self.slider.tdc_deg());
        Clock::new(number_one + cylinder.throw_deg + turned)
    }

    /// The phase of a cylinder at crank angle `crank`: 0 at its firing TDC.
    pub fn phase_of(&self, cylinder: &CylinderPhasing, crank: CrankAngle) -> CrankAngle {
        CrankAngle::within(cylinder.fires.on_to(crank).degrees())
    }

    /// A cylinder's valves' own phase: its phase moved by the teeth the cam is out. −720 < α <
    /// 1440.
    pub fn valve_phase_deg(&self, phase: CrankAngle) -> f64 {
        phase.degrees() + self.cam_ahead.at_crank().degrees()
    }

    /// Crank degrees before its own firing TDC at which a cylinder's plug gets its spark, as built
    /// and as plugged: −360 ≤ b < 360, negative after.
    pub fn spark_btdc_deg(&self, cylinder: &CylinderPhasing) -> f64 {
        ignition::before_tdc_deg(cylinder.spark, cylinder.fires)
    }

    /// Where everything stands at crank angle `crank`.
    ///
    /// ```
    /// use dotwise::angle::CrankAngle;
    /// use dotwise::engine::scenes;
    /// use dotwise::phasing::{Phasing, Stroke};
    /// let engine = scenes::find("bench_four").expect("a built-in scene").engine();
    /// let reading = Phasing::as_drawn(&engine).at(CrankAngle::new(123.0));
    /// assert_eq!(reading.on_compression().collect::<Vec<_>>(), [3]);
    /// assert_eq!(reading.next_firing_tdc.after.degrees(), 57.0);
    /// assert!(reading.cylinder(5).is_none());
    /// ```
    pub fn at(&self, crank: CrankAngle) -> Reading {
        let crank_deg = crank.degrees();
        let (sin, cos) = crank_deg.to_radians().sin_cos();
        let down = self.slider.down_stroke_deg();
        let first = self.cylinders[0].number;
        let nothing = NextEvent {
            cylinder: first,
            after: CrankTurn::new(720.0),
        };
        let (mut firing, mut spark) = (nothing, nothing);

        let mut cylinders = ArrayVec::new();
        for cylinder in &self.cylinders {
            let phase = self.phase_of(cylinder, crank);
            let (phase_deg, valve_deg) = (phase.degrees(), self.valve_phase_deg(phase));
            let (c_sin, c_cos) = cylinder.throw_past_bore;
            let reading = CylinderReading {
                number: cylinder.number,
                phase,
                stroke: Stroke::at(phase_deg, down),
                dead_centre: DeadCentre::at(phase_deg, down),
                piston_drop_mm: self
                    .slider
                    .drop_at(sin * c_cos + cos * c_sin, cos * c_cos - sin * c_sin),
                intake: self.lobes.intake.at(valve_deg),
                exhaust: self.lobes.exhaust.at(valve_deg),
            };
            cylinders.push(reading);
            keep_earlier(&mut firing, cylinder.number, 720.0 - phase_deg);
            keep_earlier(
                &mut spark,
                cylinder.number,
                after(crank_deg, cylinder.spark.degrees()),
            );
        }
        Reading {
            crank,
            cam: CamAngle::new(crank_deg / 2.0 + self.cam_ahead.degrees()),
            cylinders,
            next_firing_tdc: firing,
            next_spark: spark,
            rotor: self.rotor_at(crank),
            marks: self
                .marks
                .iter()
                .map(|mark| self.mark_at(*mark, crank_deg))
                .collect(),
        }
    }

    /// Where everything stands over two turns, from 0 by `step`.
    ///
    /// A step that is not a positive number gives nothing.
    pub fn sweep(&self, step: CrankTurn) -> impl Iterator<Item = Reading> {
        let step = step.degrees();
        let count = if step > 0.0 {
            ((720.0 - 1e-9) / step).floor() as u64 + 1
        } else {
            0
        };
        (0..count).map(move |index| self.at(CrankAngle::new(index as f64 * step)))
    }

    fn rotor_at(&self, crank: CrankAngle) -> Option<RotorReading> {
        let cap = self.cap.as_ref()?;
        Some(self.rotor_over_towers(cap, cap.rotor(crank), cap.past_number_one_deg(crank)))
    }

    /// Which way the rotor turns, looking down on the cap; None without a distributor.
    pub fn rotor_direction(&self) -> Option<Direction> {
        self.cap.as_ref().map(|cap| cap.direction)
    }

    /// The rotor where it is held in the hand, its drive out of the engine; None without a
    /// distributor.
    pub fn rotor_held(&self, clock: Clock) -> Option<RotorReading> {
        let cap = self.cap.as_ref()?;
        Some(self.rotor_over_towers(cap, clock, clock.past(cap.number_one, cap.direction)))
    }

    /// The rotor at `clock`, so far past No. 1's tower as drawn, in its own direction.
    fn rotor_over_towers(
        &self,
        cap: &CapAngles,
        clock: Clock,
        past_number_one_deg: f64,
    ) -> RotorReading {
        let mut nearest = (0, f64::INFINITY);
        for (index, fire) in self.engine.firing_angles().iter().enumerate() {
            let past = cap.past_tower_deg(past_number_one_deg, *fire);
            if past.abs() < f64::abs(nearest.1) {
                nearest = (index, past);
            }
        }
        let (tower_index, past_deg) = nearest;
        RotorReading {
            clock,
            tower_index,
            tower: self.leads[tower_index],
            past_deg,
        }
    }

    fn mark_at(&self, (on, at_deg): (MarkOn, f64), crank_deg: f64) -> Clock {
        let crank = self.crank_direction().sign();
        let turned = match on {
            MarkOn::Crankshaft => crank * crank_deg,
            MarkOn::Camshaft => {
                self.cam_direction.sign() * (crank_deg / 2.0 + self.cam_ahead.degrees())
            }
            MarkOn::Idler(which) => {
                let drive = &self.engine.metric().cam_drive;
                let teeth = drive
                    .idler_teeth
                    .get(which.saturating_sub(1) as usize)
                    .copied()
                    .unwrap_or(drive.crank_teeth);
                let about = if which % 2 == 1 { -1.0 } else { 1.0 };
                // An idler's place comes round only after several cycles: this is where it stands
                // in the first.
                about * crank * crank_deg * f64::from(drive.crank_teeth) / f64::from(teeth)
            }
        };
        Clock::new(at_deg + turned)
    }
}

/// How far on from `from` to `to`, both in the cycle: 0 < t ≤ 720. What happens now has happened.
fn after(from: f64, to: f64) -> f64 {
    let turn = to - from;
    if turn <= 1e-9 { turn + 720.0 } else { turn }
}

/// Keeps of two events of one kind the one that comes first.
fn keep_earlier(coming: &mut NextEvent, cylinder: u8, after_deg: f64) {
    if after_deg < coming.after.degrees() {
        *coming = NextEvent {
            cylinder,
            after: CrankTurn::new(after_deg),
        };
    }
}
