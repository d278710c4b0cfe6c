//! What a description implies, for every crank angle.
//!
//! [`Phasing`] is built once from an [`Engine`] and an [`Assembly`] (how it was put together; as
//! drawn by default); [`Phasing::at`] then tells where everything stands, by a handful of
//! multiplications and without touching the heap.
//!
//! The crank angle θ counts in the running direction, 0 ≤ θ < 720; 0 is No. 1 at TDC firing, 360
//! No. 1 at TDC on overlap.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a cylinder, and a firing angle and a lead for each"
)]

mod card;
mod clearance;
mod reading;

use std::iter;
use std::sync::{Arc, OnceLock};

use arrayvec::ArrayVec;

pub use card::{Card, LinksBetweenMarks, PointerMark};
pub use clearance::{ByTeeth, ValveClearance};
pub use reading::{CylinderReading, NextEvent, NextSpark, READING, Reading, RotorReading};

pub use crate::laws::{DEAD_CENTRE_WITHIN_DEG, DeadCentre, Stroke};

use crate::angle::{
    CamAngle, CamTurn, Clock, CrankAngle, CrankTurn, Direction, RotorTurn, wrap, wrap_signed,
};
use crate::description::fields::{MOST_CAMSHAFTS, MOST_CYLINDERS, MOST_MARKS};
use crate::description::{Description, Mark, MarkOn, Valve};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::CapAngles;
use crate::laws::{Lobe, Lobes, OpenTogether, SliderCrank, gear_train, ignition};

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
    /// When its plug gets its spark, as built and with the leads as plugged, the engine at rest; of
    /// sparks every turn the useful one, the nearest to its firing TDC.
    pub spark: CrankAngle,
    /// When its plug gets the spark that is wasted, where it sparks every turn.
    pub wasted_spark: Option<CrankAngle>,
    /// How far ahead of the card its intake and its exhaust valve stand, as built.
    valves_ahead: [CrankTurn; 2],
    /// Sine and cosine of what its throw's angle past its bore differs from θ by.
    throw_past_bore: (f64, f64),
}

impl CylinderPhasing {
    /// How far ahead of the card one of its valves stands, as built: by the teeth that its camshaft
    /// is out, and by that camshaft's trim.
    pub fn ahead(&self, valve: Valve) -> CrankTurn {
        let [intake, exhaust] = self.valves_ahead;
        match valve {
            Valve::Intake => intake,
            Valve::Exhaust => exhaust,
        }
    }
}

/// A mark, as it turns.
#[derive(Clone, Copy, Debug, PartialEq)]
struct PlacedMark {
    /// Where it stands at crank angle 0, as built.
    at_zero_deg: f64,
    /// Clock degrees it turns, clockwise, for each crank degree.
    per_crank: f64,
    /// Where the pointer stands at which it is read.
    pointer: Option<Clock>,
}

/// A description, and how it was put together, worked out for every crank angle.
#[derive(Clone, Debug)]
pub struct Phasing {
    engine: Arc<Engine>,
    assembly: Assembly,
    slider: SliderCrank,
    lobes: Lobes,
    /// How far ahead of the crank each camshaft's wheel stands, as built.
    cams_ahead: ArrayVec<CamTurn, MOST_CAMSHAFTS>,
    cam_direction: Direction,
    cylinders: ArrayVec<CylinderPhasing, MOST_CYLINDERS>,
    /// Cylinder numbers as their leads are plugged, in the engine's lead order.
    leads: ArrayVec<u8, MOST_CYLINDERS>,
    cap: Option<CapAngles>,
    marks: ArrayVec<PlacedMark, MOST_MARKS>,
    /// Worked out when it is first asked for: a panel asks in every frame.
    clearance: OnceLock<ValveClearance>,
    /// The same of the two valves of a cylinder.
    open_together: OnceLock<Option<OpenTogether>>,
    /// By the engine's second ignition, worked out when it is first asked for.
    second_ignition: OnceLock<Option<Box<Self>>>,
}

impl Phasing {
    /// The engine put together as drawn.
    pub fn as_drawn(engine: &Arc<Engine>) -> Self {
        Self::as_built(engine, &Assembly::default())
    }

    /// The same by the engine's second ignition, as drawn on the camshaft as built; None where it
    /// has one, or where this is the second.
    pub fn by_second_ignition(&self) -> Option<&Self> {
        let second = self.second_ignition.get_or_init(|| {
            let engine = self.engine.by_second_ignition()?;
            let assembly = Assembly::default().with_cams(self.assembly.cams());
            Some(Box::new(Self::as_built(&engine, &assembly)))
        });
        second.as_deref()
    }

    /// The engine put together as `assembly` says. An assembly is checked against its engine before
    /// it comes here ([`Assembly::check`]); leads that are not on it are taken as drawn.
    pub fn as_built(engine: &Arc<Engine>, assembly: &Assembly) -> Self {
        let description = engine.metric();
        let slider = SliderCrank::of(description);
        let cams = assembly.cams();
        let cams_ahead = (0..engine.camshaft_count().min(MOST_CAMSHAFTS))
            .map(|camshaft| gear_train::cam_ahead(&description.cam_drive, cams.of(camshaft)))
            .collect();
        let body_turn = RotorTurn::new(assembly.body_turn_deg);
        let teeth_out = ignition::teeth_out(description, cams, assembly.drive_out());
        let advance = ignition::advance(&description.ignition, teeth_out, body_turn);

        let (order, lead_order) = (engine.firing_order(), engine.lead_order());
        let leads: ArrayVec<u8, _> = match &assembly.leads {
            Some(leads) if leads.len() == order.len() => leads.iter().copied().collect(),
            _ => lead_order.iter().copied().collect(),
        };
        let cylinder = |(order_index, &number): (usize, &u8)| {
            let fire_deg = engine.firing_angles()[order_index];
            // The spark of the tower or terminal that this cylinder's lead is plugged into.
            let mut plugged = leads.iter().zip(lead_order);
            let drawn_for = plugged.find(|(lead, _)| **lead == number);
            let drawn_for = drawn_for.map_or(number, |(_, drawn_for)| *drawn_for);
            let tower_fires_deg = engine.fires_deg(drawn_for).unwrap_or(fire_deg);
            let fires = CrankAngle::new(fire_deg);
            let sparks = ignition::spark_at(tower_fires_deg, advance);
            let (spark, wasted_spark) = if engine.sparks_every_turn() {
                let useful = ignition::useful_spark(sparks, fires);
                (useful, Some(useful + CrankTurn::new(360.0)))
            } else {
                (sparks, None)
            };
            CylinderPhasing {
                number,
                fires,
                order_index,
                bank: Clock::new(engine.bank_deg(number)),
                throw_deg: engine.throw_deg(number) - engine.throw_deg(1),
                spark,
                wasted_spark,
                valves_ahead: Valve::BOTH.map(|valve| {
                    let camshaft = engine.camshaft_of(number, valve);
                    gear_train::valves_ahead(description, camshaft, cams)
                }),
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
            cams_ahead,
            cam_direction: gear_train::cam_direction(
                &description.cam_drive,
                description.crankshaft.rotation(),
            ),
            cylinders,
            leads,
            cap,
            marks: description
                .marks
                .iter()
                .map(|mark| PlacedMark::of(mark, description, cams))
                .take(MOST_MARKS)
                .collect(),
            clearance: OnceLock::new(),
            open_together: OnceLock::new(),
            second_ignition: OnceLock::new(),
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

    /// How far ahead of the crank the wheel of a camshaft, counted from 0, stands: zero as drawn.
    pub fn cam_ahead(&self, camshaft: usize) -> CamTurn {
        self.cams_ahead
            .get(camshaft)
            .copied()
            .unwrap_or(CamTurn::new(0.0))
    }

    /// How far ahead of the card No. 1's valves of one kind stand, as built.
    pub fn number_one_ahead(&self, valve: Valve) -> CrankTurn {
        self.cylinders[0].ahead(valve)
    }

    /// How far ahead of the card a cylinder's valve stands as drawn: by trim alone.
    pub fn trimmed(&self, cylinder: &CylinderPhasing, valve: Valve) -> CrankTurn {
        let camshaft = self.engine.camshaft_of(cylinder.number, valve);
        gear_train::valves_ahead(self.engine.metric(), camshaft, CamTeeth::default())
    }

    /// The same of No. 1's.
    pub fn number_one_trimmed(&self, valve: Valve) -> CrankTurn {
        self.trimmed(&self.cylinders[0], valve)
    }

    /// How much earlier than as drawn No. 1's valves of one kind open and close, as built.
    pub fn number_one_early(&self, valve: Valve) -> CrankTurn {
        let camshaft = self.engine.camshaft_of(self.cylinders[0].number, valve);
        self.cam_ahead(camshaft).at_crank()
    }

    /// Which way the camshaft turns, seen from the front.
    pub fn cam_direction(&self) -> Direction {
        self.cam_direction
    }

    /// Which way the crankshaft turns, seen from the front.
    pub fn crank_direction(&self) -> Direction {
        self.engine.metric().crankshaft.rotation()
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
    /// direction, or at the coils' terminals, one coil after another.
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

    /// The phase at which a valve's lobe stands: its cylinder's, moved by the teeth that the
    /// camshaft which works it is out and by its trim. −720 < α < 1440.
    pub fn valve_phase_deg(
        &self,
        cylinder: &CylinderPhasing,
        valve: Valve,
        phase: CrankAngle,
    ) -> f64 {
        phase.degrees() + cylinder.ahead(valve).degrees()
    }

    /// Crank degrees before its own firing TDC at which a cylinder's plug gets its spark, as built
    /// and as plugged: −360 ≤ b < 360, negative after.
    pub fn spark_btdc_deg(&self, cylinder: &CylinderPhasing) -> f64 {
        ignition::before_tdc_deg(cylinder.spark, cylinder.fires)
    }

    /// The cylinder whose plug gets its wasted spark together with the next one; None where there is
    /// none.
    pub fn wasted_beside(&self, reading: &Reading) -> Option<u8> {
        let next = reading.next_spark;
        let at = (reading.crank + next.after).degrees();
        let beside = |cylinder: &&CylinderPhasing| {
            cylinder.number != next.cylinder
                && cylinder.wasted_spark.is_some_and(|wasted| {
                    wrap_signed(wasted.degrees() - at, 720.0).abs() < TOGETHER_DEG
                })
        };
        self.cylinders
            .iter()
            .find(beside)
            .map(|cylinder| cylinder.number)
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
        let mut firing = nothing;
        let mut spark = NextSpark {
            cylinder: first,
            after: nothing.after,
            wasted: false,
        };

        let mut cylinders = ArrayVec::new();
        for cylinder in &self.cylinders {
            let phase = self.phase_of(cylinder, crank);
            let phase_deg = phase.degrees();
            let [intake_ahead, exhaust_ahead] = cylinder.valves_ahead;
            let (c_sin, c_cos) = cylinder.throw_past_bore;
            let reading = CylinderReading {
                number: cylinder.number,
                phase,
                stroke: Stroke::at(phase_deg, down),
                dead_centre: DeadCentre::at(phase_deg, down),
                piston_drop_mm: self
                    .slider
                    .drop_at(sin * c_cos + cos * c_sin, cos * c_cos - sin * c_sin),
                intake: self.lobes.intake.at(phase_deg + intake_ahead.degrees()),
                exhaust: self.lobes.exhaust.at(phase_deg + exhaust_ahead.degrees()),
            };
            cylinders.push(reading);
            keep_earlier(&mut firing, cylinder.number, 720.0 - phase_deg);
            let useful = iter::once((cylinder.spark, false));
            let wasted = cylinder.wasted_spark.map(|at| (at, true));
            for (at, wasted) in useful.chain(wasted) {
                let next = NextSpark {
                    cylinder: cylinder.number,
                    after: CrankTurn::new(after(crank_deg, at.degrees())),
                    wasted,
                };
                spark = spark.or_earlier(next);
            }
        }
        Reading {
            crank,
            cam: CamAngle::new(crank_deg / 2.0 + self.cam_ahead(0).degrees()),
            cams: self
                .cams_ahead
                .iter()
                .map(|ahead| CamAngle::new(crank_deg / 2.0 + ahead.degrees()))
                .collect(),
            cylinders,
            next_firing_tdc: firing,
            next_spark: spark,
            rotor: self.rotor_at(crank),
            marks: self.marks.iter().map(|mark| mark.at(crank_deg)).collect(),
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

    /// How far one of the description's marks is past its pointer in a reading, in the mark's own
    /// direction: −180 ≤ d < 180. None for a mark that is read at no pointer.
    pub fn past_pointer_deg(&self, mark: usize, reading: &Reading) -> Option<f64> {
        let placed = self.marks.get(mark)?;
        let clock = reading.marks.get(mark)?;
        Some(clock.past(placed.pointer?, placed.direction()))
    }

    /// The crank angle at which one of the description's marks first comes to its pointer, from
    /// No. 1's firing TDC on, as built; None for a mark that is read at no pointer, or that does not
    /// come to it in two turns.
    pub fn at_pointer(&self, mark: usize) -> Option<CrankAngle> {
        let placed = self.marks.get(mark)?;
        let on = placed.pointer?.degrees() - placed.at_zero_deg;
        let turn = wrap(on * placed.per_crank.signum(), 360.0) / placed.per_crank.abs();
        // A slow idler's comes there only in a later cycle.
        (turn < 720.0).then(|| CrankAngle::new(turn))
    }
}

impl PlacedMark {
    fn of(mark: &Mark, description: &Description, cams: CamTeeth) -> Self {
        let drive = &description.cam_drive;
        let crank = description.crankshaft.rotation();
        let (per_crank, ahead) = match mark.on {
            MarkOn::Crankshaft | MarkOn::Flywheel => (crank.sign(), 0.0),
            MarkOn::Camshaft | MarkOn::CamshaftNumber(_) => {
                let teeth = cams.of(mark.on.camshaft().unwrap_or(0));
                let cam_ahead = gear_train::cam_ahead(drive, teeth);
                let cam = gear_train::cam_direction(drive, crank).sign();
                (cam / 2.0, cam * cam_ahead.degrees())
            }
            MarkOn::Idler(which) => {
                let teeth = drive
                    .idler_teeth
                    .get(which.saturating_sub(1) as usize)
                    .copied()
                    .unwrap_or(drive.crank_teeth);
                let about = if which % 2 == 1 { -1.0 } else { 1.0 };
                // An idler's place comes round only after several cycles: this is where it stands
                // in the first.
                let ratio = f64::from(drive.crank_teeth) / f64::from(teeth);
                (about * crank.sign() * ratio, 0.0)
            }
        };
        Self {
            at_zero_deg: mark.at + ahead,
            per_crank,
            pointer: mark.pointer_at().map(Clock::new),
        }
    }

    fn at(&self, crank_deg: f64) -> Clock {
        Clock::new(self.at_zero_deg + self.per_crank * crank_deg)
    }

    fn direction(&self) -> Direction {
        if self.per_crank < 0.0 {
            Direction::CounterClockwise
        } else {
            Direction::Clockwise
        }
    }
}

/// Sparks nearer than this are together: over the rounding of sums of degrees.
pub(crate) const TOGETHER_DEG: f64 = 1e-6;

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
