//! The bench: the engine, how it was put together, and how far the crank has been turned.
//!
//! Everything the window shows is made from this one resource. It changes through its methods
//! alone, and each of them computes phasing and reading anew: what is shown is never a step behind.

use std::sync::Arc;

use bevy::prelude::*;
use glam::DVec3;

use super::apart::{Apart, teeth_on};
use crate::angle::{CamAngle, Clock, CrankAngle, CrankTurn, Direction};
use crate::engine::Assembly;
use crate::engine::{Engine, Ignitions};
use crate::geometry::crank_input::{Slack, StopAngles};
use crate::geometry::layout::WheelRole;
use crate::geometry::{Layout, Pose};
use crate::laws::ignition;
use crate::phasing::{Phasing, Reading};
use crate::procedures::job::NotIn;
use crate::procedures::meshing::{lay_cam_in, mesh_shaft};
use crate::procedures::{RemovedDrive, Seating, dropin, seat_drive};
use crate::source::Severity;

/// What the window is opened with.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The engine.
    pub engine: Arc<Engine>,
    /// How it was put together.
    pub assembly: Assembly,
    /// The path or the built-in engine's name that the user gave; None where neither was given.
    pub named: Option<String>,
}

/// The engine on the bench.
#[derive(Resource, Debug)]
pub(crate) struct Bench {
    /// The engine by the ignition that it is described with first.
    described: Arc<Engine>,
    phasing: Phasing,
    as_drawn: Phasing,
    layout: Arc<Layout>,
    turned_deg: f64,
    reading: Reading,
    pose: Pose,
    dead_centres: StopAngles,
    detents: StopAngles,
    slack: Slack,
    followed: u8,
    generation: u32,
    /// Rises whenever the crank is set to a place, and not turned there.
    poses: u32,
    drive: Drive,
    apart: Apart,
}

/// How the engine stands on the bench: what undo comes back to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BenchState {
    assembly: Assembly,
    drive: Drive,
    apart: Apart,
    turned_deg: f64,
}

impl BenchState {
    /// Whether every part is in or out, and held, as in `other`, wherever the crank stands.
    pub(crate) fn is_put_together_as(&self, other: &Self) -> bool {
        self.assembly == other.assembly && self.drive == other.drive && self.apart == other.apart
    }

    /// Whether both have the same parts out, so that they differ in how these are held alone.
    pub(crate) fn has_out_what(&self, other: &Self) -> bool {
        let drive = match (self.drive, other.drive) {
            (Drive::Out(_), Drive::Out(_)) => true,
            (one, other) => one == other,
        };
        drive && self.assembly == other.assembly && self.apart.not_in() == other.apart.not_in()
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Drive {
    Seated,
    /// Not in, and not over its hole either.
    Aside,
    /// Lifted out, with its rotor held there.
    Out(Clock),
    /// On its way down; 1 is seated.
    Seating(Seating, f64),
}

/// Seconds that a drive takes to be seated: slow enough that it is seen to turn.
const SEATING_S: f64 = 1.6;

impl Bench {
    /// An engine put together as `assembly` says, No. 1 at firing TDC.
    pub(crate) fn new(engine: &Arc<Engine>, assembly: &Assembly) -> Self {
        let as_drawn = Phasing::as_drawn(engine);
        let phasing = Phasing::as_built(engine, assembly);
        Self {
            layout: Arc::new(Layout::of(engine)),
            turned_deg: 0.0,
            reading: phasing.at(CrankAngle::new(0.0)),
            pose: Pose::at(&phasing, 0.0),
            dead_centres: StopAngles::dead_centres(&phasing),
            detents: StopAngles::detents(&phasing),
            slack: Slack::default(),
            followed: 1,
            generation: 0,
            poses: 0,
            drive: Drive::Seated,
            apart: Apart::default(),
            phasing,
            as_drawn,
            described: engine
                .by_first_ignition()
                .unwrap_or_else(|| Arc::clone(engine)),
        }
    }

    /// The engine as it was put on the bench: by its first ignition, whichever is shown.
    pub(crate) fn described(&self) -> &Arc<Engine> {
        &self.described
    }

    pub(crate) fn engine(&self) -> &Arc<Engine> {
        self.phasing.engine()
    }

    pub(crate) fn assembly(&self) -> &Assembly {
        self.phasing.assembly()
    }

    /// What engine and assembly imply.
    pub(crate) fn phasing(&self) -> &Phasing {
        &self.phasing
    }

    /// What the engine implies where it is put together as drawn.
    pub(crate) fn as_drawn(&self) -> &Phasing {
        &self.as_drawn
    }

    pub(crate) fn layout(&self) -> &Arc<Layout> {
        &self.layout
    }

    /// Where the moving parts stand now.
    pub(crate) fn pose(&self) -> &Pose {
        &self.pose
    }

    pub(crate) fn reading(&self) -> &Reading {
        &self.reading
    }

    /// Where the crank stands in its cycle.
    pub(crate) fn crank(&self) -> CrankAngle {
        CrankAngle::new(self.turned_deg)
    }

    /// The crank's whole turn in degrees, in its running direction, from No. 1's firing TDC; over
    /// any number of turns.
    pub(crate) fn turned_deg(&self) -> f64 {
        self.turned_deg
    }

    /// The cylinder that views of one cylinder show.
    pub(crate) fn followed(&self) -> u8 {
        self.followed
    }

    /// The dead centres of every cylinder.
    pub(crate) fn dead_centres(&self) -> &StopAngles {
        &self.dead_centres
    }

    /// Where a drag of the crank is stopped.
    pub(crate) fn detents(&self) -> &StopAngles {
        &self.detents
    }

    /// Which side the slack of the drive lies on.
    pub(crate) fn slack(&self) -> &Slack {
        &self.slack
    }

    /// A number that rises whenever the engine or its assembly changes.
    pub(crate) fn generation(&self) -> u32 {
        self.generation
    }

    /// The distributor's drive, where it is out of the engine.
    pub(crate) fn drive_out(&self) -> Option<RemovedDrive> {
        match self.drive {
            Drive::Seated | Drive::Aside => None,
            Drive::Out(rotor) => Some(RemovedDrive::held(rotor)),
            Drive::Seating(way, down) => Some(way.at(down)),
        }
    }

    /// How far up the distributor is.
    pub(crate) fn lifted_mm(&self) -> f64 {
        self.layout
            .distributor
            .zip(self.drive_out())
            .map_or(0.0, |(place, out)| place.height_mm(out.down))
    }

    /// Where the rotor of a drive that is out is held; None while it is seated or being seated.
    pub(crate) fn rotor_held(&self) -> Option<Clock> {
        if let Drive::Out(rotor) = self.drive {
            Some(rotor)
        } else {
            None
        }
    }

    /// Whether the drive is being seated.
    pub(crate) fn is_seating(&self) -> bool {
        matches!(self.drive, Drive::Seating(..))
    }

    /// Whether the distributor lies beside the engine, neither in nor over its hole.
    pub(crate) fn distributor_is_aside(&self) -> bool {
        self.drive == Drive::Aside
    }

    /// Lifts the distributor out, its rotor turning back as far as it turned on its way in; or holds one over its hole that
    /// lay beside the engine, its rotor pointing wherever.
    pub(crate) fn lift_drive(&mut self) {
        /// Near to no start: neither a tooth nor a quarter turn away.
        const WHEREVER_DEG: f64 = 130.0;
        let held = if self.distributor_is_aside() {
            dropin(&self.as_drawn)
                .zip(self.phasing.rotor_direction())
                .map(|(drop, direction)| drop.rotor_start.turned(direction, WHEREVER_DEG))
        } else {
            let distributor = self.engine().metric().distributor.as_ref();
            let ends = self.reading.rotor.map(|rotor| rotor.clock);
            ends.zip(distributor)
                .map(|(ends, distributor)| ignition::entry_start(distributor, ends))
        };
        if let Some(held) = held.filter(|_| self.apart.shaft().is_none()) {
            self.drive = Drive::Out(held);
            self.place(self.turned_deg);
        }
    }

    /// Turns the rotor of a drive that is out, and of no other.
    pub(crate) fn hold_rotor(&mut self, at: Clock) {
        if let Drive::Out(_) = self.drive {
            self.drive = Drive::Out(at);
            self.place(self.turned_deg);
        }
    }

    /// Begins to seat a drive from where its rotor is held;
    /// [`advance_seating`](Self::advance_seating) goes on.
    pub(crate) fn seat_drive(&mut self) {
        if let Some(way) = self
            .rotor_held()
            .and_then(|held| seat_drive(&self.phasing, self.crank(), held))
        {
            self.drive = Drive::Seating(way, 0.0);
        }
    }

    /// Seats a drive on by so many seconds. Once seated, it is on the tooth that it engaged.
    pub(crate) fn advance_seating(&mut self, seconds: f64) {
        let Drive::Seating(way, down) = self.drive else {
            return;
        };
        let down = down + seconds / SEATING_S;
        if down < 1.0 {
            self.drive = Drive::Seating(way, down);
            self.place(self.turned_deg);
        } else {
            let assembly = Assembly {
                drive_teeth: way.drive_teeth,
                tongue_half_turn: way.tongue_half_turn,
                ..self.assembly().clone()
            };
            self.drive = Drive::Seated;
            self.rebuild(&assembly);
        }
    }

    /// What is not in, and how it is held.
    pub(crate) fn apart(&self) -> &Apart {
        &self.apart
    }

    /// What is not in yet.
    pub(crate) fn not_in(&self) -> NotIn {
        NotIn {
            distributor: self.distributor_is_aside(),
            ..self.apart.not_in()
        }
    }

    /// Takes the engine apart: what is in is as `assembly` has it, the rest lies as it may.
    pub(crate) fn take_apart(&mut self, assembly: &Assembly, not_in: &NotIn) {
        self.apart = Apart::begins(self.engine(), &self.as_drawn, not_in);
        self.drive = if not_in.distributor && self.phasing.rotor_direction().is_some() {
            Drive::Aside
        } else {
            Drive::Seated
        };
        let mut assembly = assembly.clone();
        let mut cams = assembly.cams();
        for &camshaft in &not_in.camshafts {
            cams = cams.with(camshaft, 0);
        }
        assembly.set_cams(cams);
        if not_in.distributor {
            assembly.tongue_half_turn = false;
        }
        if not_in.shaft || not_in.distributor && !self.has_geared_shaft() {
            assembly.drive_teeth = 0;
        }
        self.rebuild(&assembly);
    }

    fn has_geared_shaft(&self) -> bool {
        let distributor = self.engine().metric().distributor.as_ref();
        distributor.is_some_and(crate::description::Distributor::is_on_geared_shaft)
    }

    /// Turns a camshaft that is out, and no other, to where it is held then.
    pub(crate) fn hold_cam(&mut self, camshaft: usize, at: CamAngle) {
        if self.apart.cam(camshaft).is_some() {
            self.apart.hold_cam(camshaft, Some(at));
            self.place(self.turned_deg);
        }
    }

    /// Turns a camshaft that is out on by teeth of its wheel; negative, back.
    pub(crate) fn turn_cam(&mut self, camshaft: usize, teeth: i32) {
        if let Some(held) = self.apart.cam(camshaft) {
            self.hold_cam(camshaft, teeth_on(self.engine(), held, teeth));
        }
    }

    /// Lays a camshaft in that is out, on the tooth nearest to how it is held. Where nothing else
    /// tells the crank's two turns apart, it does from now on.
    pub(crate) fn lay_cam_in(&mut self, camshaft: usize) {
        let Some(held) = self.apart.cam(camshaft) else {
            return;
        };
        let others = 0..self.engine().camshaft_count();
        let mut others = others.filter(|other| *other != camshaft);
        let by_the_rotor = self.drive == Drive::Seated
            && self.phasing.rotor_direction().is_some()
            && self.engine().metric().driving_camshaft().is_none();
        let known = by_the_rotor || others.any(|other| self.apart.cam(other).is_none());
        let way = lay_cam_in(self.engine(), self.crank(), held, known);
        self.apart.hold_cam(camshaft, None);
        if way.crank.degrees() != 0.0 {
            self.turned_deg += way.crank.degrees();
            self.poses += 1;
        }
        let cams = self.assembly().cams().with(camshaft, way.teeth);
        let assembly = self.assembly().clone().with_cams(cams);
        self.rebuild(&assembly);
    }

    /// Puts the camshafts that are out of their bearings into them, out of mesh as they are.
    pub(crate) fn slide_cams_in(&mut self) {
        self.apart.out_of_bearings(false);
        self.place(self.turned_deg);
    }

    /// Takes a camshaft out as it stands, `of_its_bearings` or its wheel alone. Out of its bearings
    /// it takes the distributor that it drives along.
    pub(crate) fn take_cam_out(&mut self, camshaft: usize, of_its_bearings: bool) {
        let stands = self.reading.cams.get(camshaft).copied();
        if self.apart.cam(camshaft).is_some() || stands.is_none() {
            return;
        }
        self.apart.hold_cam(camshaft, stands);
        self.apart.out_of_bearings(of_its_bearings);
        let cams = self.assembly().cams().with(camshaft, 0);
        let mut assembly = self.assembly().clone().with_cams(cams);
        if of_its_bearings && self.engine().metric().driving_camshaft() == Some(camshaft) {
            self.drive = Drive::Aside;
            assembly.tongue_half_turn = false;
            if !self.has_geared_shaft() {
                assembly.drive_teeth = 0;
            }
        }
        self.rebuild(&assembly);
    }

    /// Turns a geared shaft that is drawn by so many degrees, clockwise looking down.
    pub(crate) fn turn_shaft(&mut self, clockwise_deg: f64) {
        if let Some(held) = self.apart.shaft() {
            let held = held.turned(Direction::Clockwise, clockwise_deg);
            self.apart.hold_shaft(Some(held));
            self.place(self.turned_deg);
        }
    }

    /// Lets a geared shaft into mesh that is drawn, on the tooth nearest to how it is held.
    pub(crate) fn mesh_shaft(&mut self) {
        let as_drawn = Assembly {
            drive_teeth: 0,
            tongue_half_turn: false,
            ..self.assembly().clone()
        };
        let drawn = Phasing::as_built(self.engine(), &as_drawn)
            .at(self.crank())
            .rotor;
        let held = self.apart.shaft().zip(drawn);
        let teeth = held.and_then(|(held, drawn)| mesh_shaft(self.engine(), held, drawn.clock));
        if let Some(drive_teeth) = teeth {
            self.apart.hold_shaft(None);
            self.rebuild(&Assembly {
                drive_teeth,
                ..as_drawn
            });
        }
    }

    /// Draws the geared shaft as it stands, the distributor off it.
    pub(crate) fn draw_shaft(&mut self) {
        let assembly = Assembly {
            tongue_half_turn: false,
            ..self.assembly().clone()
        };
        let stands = Phasing::as_built(self.engine(), &assembly)
            .at(self.crank())
            .rotor;
        let distributor = self.engine().metric().distributor.as_ref();
        let distributor = distributor.filter(|_| self.has_geared_shaft());
        let Some((stands, distributor)) = stands.zip(distributor) else {
            return;
        };
        // It turns back as it comes out of mesh.
        let turns = ignition::shaft_turns_on_entry_deg(distributor);
        let held = Clock::new(stands.clock.degrees() - turns);
        self.apart.hold_shaft(Some(held));
        self.drive = Drive::Aside;
        self.rebuild(&Assembly {
            drive_teeth: 0,
            ..assembly
        });
    }

    /// Where the slot of a geared shaft that is drawn stands, in words.
    pub(crate) fn slot_words(&self, held: Clock) -> String {
        let drop = dropin(&self.as_drawn);
        let shaft = drop.as_ref().and_then(|drop| drop.shaft);
        let end = shaft.and_then(|shaft| shaft.end);
        let seated = drop.as_ref().map(|drop| drop.rotor_end);
        let Some((end, seated)) = end.zip(seated) else {
            return format!("its tongue's rotor would point to {:.0}°", held.degrees());
        };
        let slot = Clock::new(end.degrees() + held.degrees() - seated.degrees());
        format!("its slot at {:.0}° on the cap's clock", slot.degrees())
    }

    /// Degrees of rotor a tooth of the distributor's drive; 0 without one.
    pub(crate) fn rotor_tooth_deg(&self) -> f64 {
        let distributor = self.engine().metric().distributor.as_ref();
        distributor.map_or(0.0, |distributor| {
            ignition::rotor_tooth(distributor).degrees()
        })
    }

    /// How far the geared shaft is drawn up.
    pub(crate) fn shaft_lifted_mm(&self) -> f64 {
        let place = self
            .layout
            .distributor
            .filter(|_| self.apart.shaft().is_some());
        place.map_or(0.0, |place| place.lift_mm * 0.5)
    }

    /// Plugs a cylinder's lead into the tower or terminal of that place among the leads; one that is
    /// there comes off.
    pub(crate) fn plug(&mut self, lead: u8, tower: usize) {
        let mut leads = self.phasing.leads().to_vec();
        let (Some(was), Some(there)) = (
            leads.iter().position(|other| *other == lead),
            leads.get(tower).copied(),
        ) else {
            return;
        };
        // Its own place is kept for the other, which is on nothing then.
        leads.swap(was, tower);
        if there != lead {
            self.apart.lead_is(there, false);
        }
        self.apart.lead_is(lead, true);
        let drawn = leads == self.engine().lead_order();
        let assembly = Assembly {
            leads: (!drawn).then_some(leads),
            ..self.assembly().clone()
        };
        self.rebuild(&assembly);
    }

    /// Pulls a cylinder's lead off.
    pub(crate) fn unplug(&mut self, lead: u8) {
        self.apart.lead_is(lead, false);
        let assembly = self.assembly().clone();
        self.rebuild(&assembly);
    }

    /// The lead in each tower, or on each terminal; None where that is empty.
    pub(crate) fn plugged(&self) -> impl Iterator<Item = Option<u8>> {
        let off = self.apart.leads_off();
        let leads = self.phasing.leads().iter();
        leads.map(move |lead| Some(*lead).filter(|lead| !off.contains(lead)))
    }

    /// How far from its place one of the layout's camshafts is, millimetres.
    pub(crate) fn cam_off_mm(&self, cam: usize) -> DVec3 {
        self.apart.cam_off_mm(&self.layout, cam)
    }

    /// How far from its place one of the cam drive's wheels is, millimetres.
    pub(crate) fn wheel_off_mm(&self, wheel: usize) -> DVec3 {
        self.apart.wheel_off_mm(&self.layout, wheel)
    }

    /// The clock position of tooth 0 of one of the cam drive's wheels.
    pub(crate) fn wheel_deg(&self, index: usize) -> f64 {
        let in_mesh = || {
            self.pose
                .wheel_deg(&self.layout, index, self.turned_deg, &self.phasing)
        };
        let Some(wheel) = self.layout.wheels.get(index) else {
            return 0.0;
        };
        let WheelRole::Cam(cam) = wheel.role else {
            return in_mesh();
        };
        let camshaft = self.layout.cams.get(cam).map_or(0, |cam| cam.camshaft);
        let turned = self.pose.cams_clockwise_deg.get(camshaft);
        match turned.filter(|_| self.apart.cam(camshaft).is_some()) {
            Some(turned) => wheel.tooth_deg + turned,
            None => in_mesh(),
        }
    }

    /// How it stands, for [`put_back`](Self::put_back).
    pub(crate) fn state(&self) -> BenchState {
        BenchState {
            assembly: self.assembly().clone(),
            drive: self.drive,
            apart: self.apart.clone(),
            turned_deg: self.turned_deg,
        }
    }

    /// Puts everything back as it stood, where this engine can stand so.
    pub(crate) fn put_back(&mut self, state: &BenchState) {
        let can =
            state.assembly.check(self.engine()).is_empty() && state.apart.suits(self.engine());
        if can {
            self.apart = state.apart.clone();
            self.drive = match state.drive {
                Drive::Seating(way, _) => Drive::Out(way.at(0.0).rotor),
                drive => drive,
            };
            self.turned_deg = state.turned_deg;
            self.poses += 1;
            self.rebuild(&state.assembly);
        }
    }

    /// Puts another engine on the bench, the crank where it is; by its second ignition where that
    /// is shown and it has one. An assembly that is an error on the new engine goes back to as
    /// drawn.
    pub(crate) fn set_engine(&mut self, engine: &Arc<Engine>) {
        let second = self.engine().ignitions() == Ignitions::SecondOfTwo;
        let shown = second.then(|| engine.by_second_ignition()).flatten();
        self.replace(shown.as_ref().unwrap_or(engine));
        self.described = Arc::clone(engine);
    }

    /// Shows the first or the second of two ignitions, as drawn on the camshafts as built.
    pub(crate) fn show_ignition(&mut self, second: bool) {
        let described = Arc::clone(&self.described);
        let shown = if second {
            described.by_second_ignition()
        } else {
            Some(Arc::clone(&described))
        };
        if let Some(shown) = shown
            && shown.ignitions() != self.engine().ignitions()
        {
            let cams = self.assembly().cams();
            self.replace(&shown);
            self.described = described;
            self.rebuild(&Assembly::default().with_cams(cams));
        }
    }

    fn replace(&mut self, engine: &Arc<Engine>) {
        let assembly = self.assembly().clone();
        let cannot = assembly
            .check(engine)
            .iter()
            .any(|finding| finding.severity == Severity::Error);
        let kept = if cannot {
            Assembly::default()
        } else {
            assembly
        };
        let next = Self {
            followed: self.followed,
            generation: self.generation + 1,
            poses: self.poses,
            slack: self.slack,
            ..Self::new(engine, &kept)
        };
        // What is apart stays so, where the other engine has it too.
        let still = self.apart.suits(engine) && !cannot;
        let aside = self.distributor_is_aside() && engine.metric().distributor.is_some();
        let apart = std::mem::take(&mut self.apart);
        let turned_deg = self.turned_deg;
        *self = next;
        if still {
            self.apart = apart;
            self.drive = if aside { Drive::Aside } else { Drive::Seated };
        }
        if usize::from(self.followed) > engine.cylinder_count() {
            self.followed = 1;
        }
        self.place(turned_deg);
    }

    /// Puts the whole engine together another way, every part of it in and the crank where it is.
    /// The assembly must have passed [`Assembly::check`].
    pub(crate) fn set_assembly(&mut self, assembly: &Assembly) {
        self.drive = Drive::Seated;
        self.apart = Apart::default();
        self.rebuild(assembly);
    }

    fn rebuild(&mut self, assembly: &Assembly) {
        self.phasing = Phasing::as_built(&Arc::clone(self.engine()), assembly);
        self.detents = StopAngles::detents(&self.phasing);
        self.generation += 1;
        self.place(self.turned_deg);
    }

    /// Turns the crank to `turned_deg`, in whole turns from No. 1's firing TDC. What is not finite
    /// leaves it where it is, and so does a drive that is being seated: the crank must not move
    /// then.
    pub(crate) fn turn_to(&mut self, turned_deg: f64) {
        if turned_deg.is_finite() && turned_deg != self.turned_deg && !self.is_seating() {
            self.slack
                .turned(&self.phasing, CrankTurn::new(turned_deg - self.turned_deg));
            self.place(turned_deg);
        }
    }

    pub(crate) fn turn_by(&mut self, turn: CrankTurn) {
        self.turn_to(self.turned_deg + turn.degrees());
    }

    /// Sets the crank to `turned_deg`, as [`turn_to`](Self::turn_to) does, but not by turning it.
    pub(crate) fn pose_to(&mut self, turned_deg: f64) {
        self.poses += 1;
        self.turn_to(turned_deg);
    }

    /// How often the crank was set to a place so far, and not turned there.
    pub(crate) fn poses(&self) -> u32 {
        self.poses
    }

    /// Sets the crank to an angle in the cycle, on in its running direction.
    pub(crate) fn turn_on_to(&mut self, crank: CrankAngle) {
        self.pose_to(self.turned_deg + self.crank().on_to(crank).degrees());
    }

    /// Sets the crank to an angle in the cycle, the shorter way.
    pub(crate) fn turn_nearest_to(&mut self, crank: CrankAngle) {
        self.pose_to(self.turned_deg + self.crank().nearest_to(crank).degrees());
    }

    /// Follows a cylinder; a number not on this engine changes nothing.
    pub(crate) fn follow(&mut self, number: u8) {
        if self.phasing.cylinder(number).is_some() {
            self.followed = number;
        }
    }

    fn place(&mut self, turned_deg: f64) {
        self.turned_deg = turned_deg;
        self.reading = self.phasing.at(self.crank());
        self.pose = Pose::at(&self.phasing, turned_deg);
        self.apart
            .stands(&self.phasing, &mut self.reading, &mut self.pose);
        if self.distributor_is_aside() {
            self.reading.rotor = None;
            self.pose.rotor_deg = None;
            self.pose.sparking = None;
            self.pose.wasting = None;
        }
        if let Some(out) = self.drive_out() {
            self.reading.rotor = self.phasing.rotor_held(out.rotor);
            self.pose = self.pose.clone().with_drive_out(&out);
        }
    }
}

/// A run condition: the engine or its assembly has changed since the system last ran, or it has not
/// run yet.
pub(crate) fn generation_changed(bench: Res<Bench>, mut seen: Local<Option<u32>>) -> bool {
    seen.replace(bench.generation()) != Some(bench.generation())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;

    #[test]
    fn a_turn_brings_reading_and_pose_along() {
        let mut bench = Bench::new(&BENCH.engine(), &Assembly::default());
        bench.turn_by(CrankTurn::new(180.0));
        assert_eq!(bench.reading(), &bench.phasing().at(CrankAngle::new(180.0)));
        bench.turn_on_to(CrankAngle::new(90.0));
        assert_eq!(bench.turned_deg(), 810.0);
        bench.turn_to(f64::NAN);
        assert_eq!(bench.turned_deg(), 810.0);
    }

    #[test]
    fn a_drive_lifted_out_turns_back_keeps_its_rotor_and_seats_on_the_tooth_it_engages() {
        let mut bench = Bench::new(&BENCH.engine(), &Assembly::default());
        let rotor = |bench: &Bench| bench.reading().rotor.expect("a rotor").clock.degrees();
        assert_eq!(rotor(&bench), 49.0);
        bench.lift_drive();
        assert_eq!(rotor(&bench), 77.0, "as far as it turned on its way in");
        bench.turn_to(360.0);
        assert_eq!(
            (rotor(&bench), bench.pose().rotor_deg, bench.pose().sparking),
            (77.0, Some(77.0), None)
        );
        bench.seat_drive();
        bench.turn_to(100.0);
        assert_eq!(
            bench.turned_deg(),
            360.0,
            "the crank must not move while the drive goes in"
        );
        for _ in 0..40 {
            bench.advance_seating(0.05);
        }
        assert_eq!(bench.drive_out(), None);
        // At 77° the drive of the bench four starts for No. 1's firing TDC, but this was overlap:
        // six of thirteen teeth out.
        assert_eq!(bench.assembly().drive_teeth.abs(), 6);
        assert_eq!(
            rotor(&bench),
            bench
                .phasing()
                .at(CrankAngle::new(360.0))
                .rotor
                .expect("a rotor")
                .clock
                .degrees()
        );
    }

    /// An engine of which nothing is in that the job puts in.
    fn apart(scene: &str) -> Bench {
        let engine = scenes::find(scene).expect("a scene").engine();
        let mut bench = Bench::new(&engine, &Assembly::default());
        let all: Vec<u8> = engine.lead_order().to_vec();
        bench.take_apart(
            &Assembly::default(),
            &NotIn {
                camshafts: (0..engine.camshaft_count()).collect(),
                bearings: true,
                shaft: bench.has_geared_shaft(),
                distributor: engine.metric().distributor.is_some(),
                leads: if engine.has_leads() { all } else { Vec::new() },
            },
        );
        bench
    }

    #[test]
    fn an_engine_that_is_apart_works_no_valve_and_turns_no_camshaft_and_sparks_nowhere() {
        for scene in &scenes::SCENES {
            let mut bench = apart(scene.name);
            let held = bench.pose().cams_clockwise_deg.clone();
            for turned in [0.0, 100.0, 352.0, 500.0, 712.0] {
                bench.turn_to(turned);
                let mut cylinders = bench.reading().cylinders.iter();
                let shut = crate::phasing::CylinderReading::sealed;
                assert!(cylinders.all(shut), "{}", scene.name);
                let pose = bench.pose();
                assert!(pose.cylinders.iter().all(|one| one.intake_mm == 0.0));
                assert_eq!(pose.cams_clockwise_deg, held, "{}", scene.name);
                assert_eq!((pose.rotor_deg, pose.sparking), (None, None));
            }
            assert!(bench.plugged().all(|lead| lead.is_none()) || !bench.engine().has_leads());
        }
    }

    #[test]
    fn a_camshaft_goes_in_on_the_tooth_it_is_held_at_and_comes_out_as_it_stands() {
        for scene in ["flat_four", "bench_four", "vee_eight", "marks_off_tdc"] {
            let mut bench = apart(scene);
            let meet = bench.engine().metric().cam_drive.marks_meet_at();
            bench.turn_to(meet);
            bench.turn_cam(0, 6);
            bench.lay_cam_in(0);
            // Held four teeth behind, and turned six on.
            assert_eq!(bench.assembly().cam_teeth, 2, "{scene}");
            assert!(!bench.apart().has_cam_out());
            assert_eq!(bench.reading().cam, bench.phasing().at(bench.crank()).cam);
            bench.take_cam_out(0, true);
            assert!(bench.apart().has_cam_out() && bench.assembly().cams().are_right());
            bench.turn_cam(0, -2);
            bench.lay_cam_in(0);
            assert!(bench.assembly().cams().are_right(), "{scene}");
        }
    }

    #[test]
    fn with_its_wheel_alone_off_a_camshaft_holds_valves_and_rotor_where_it_stands() {
        let mut bench = Bench::new(&BENCH.engine(), &Assembly::default());
        bench.take_apart(
            &Assembly::default(),
            &NotIn {
                camshafts: vec![0],
                ..NotIn::default()
            },
        );
        // Four teeth of fifty behind, 28.8° of camshaft and of rotor: where the crank 57.6° before
        // No. 1's firing TDC would have them.
        let there = bench.as_drawn().at(CrankAngle::new(-57.6));
        for turned in [0.0, 200.0] {
            bench.turn_to(turned);
            let stands = bench.reading();
            for (cylinder, own) in stands.cylinders.iter().zip(&there.cylinders) {
                assert_eq!(cylinder.intake.open, own.intake.open);
                assert_eq!(cylinder.exhaust.open, own.exhaust.open);
            }
            let rotor = stands.rotor.expect("a rotor").clock.degrees();
            approx::assert_abs_diff_eq!(rotor, 49.0 - 28.8, epsilon = 1e-6);
        }
        bench.turn_to(720.0 - 57.6);
        bench.lay_cam_in(0);
        assert!(bench.assembly().is_as_drawn());
    }

    #[test]
    fn with_the_camshaft_out_a_turn_of_the_crank_more_makes_no_difference() {
        let mut bench = apart("flat_four");
        let meet = bench.engine().metric().cam_drive.marks_meet_at();
        bench.turn_to(meet + 360.0);
        bench.turn_cam(0, 4);
        bench.lay_cam_in(0);
        assert!(bench.assembly().is_as_drawn(), "{:?}", bench.assembly());
        assert_eq!(bench.crank(), CrankAngle::new(meet));
    }

    #[test]
    fn a_lead_goes_into_the_tower_it_is_plugged_into_and_another_comes_off_for_it() {
        let mut bench = apart("flat_four");
        let plugged = |bench: &Bench| bench.plugged().collect::<Vec<_>>();
        bench.plug(3, 0);
        assert_eq!(plugged(&bench), [Some(3), None, None, None]);
        bench.plug(1, 0);
        assert_eq!(plugged(&bench), [Some(1), None, None, None]);
        assert_eq!(bench.apart().leads_off(), [2, 3, 4]);
        for (place, lead) in bench.engine().lead_order().to_vec().into_iter().enumerate() {
            bench.plug(lead, place);
        }
        assert!(bench.apart().leads_off().is_empty() && bench.assembly().leads.is_none());
        bench.unplug(2);
        assert_eq!(bench.not_in().leads, [2]);
    }

    #[test]
    fn a_geared_shaft_is_drawn_turned_and_meshed_again() {
        let mut bench = apart("tongue_and_shaft");
        let meet = bench.engine().metric().cam_drive.marks_meet_at();
        bench.turn_to(meet);
        bench.turn_cam(0, 4);
        bench.lay_cam_in(0);
        bench.turn_to(720.0);
        bench.lift_drive();
        assert!(bench.distributor_is_aside(), "its shaft is not in");
        bench.mesh_shaft();
        assert_eq!(bench.assembly().drive_teeth, 3, "as it lay");
        bench.draw_shaft();
        let tooth = bench.rotor_tooth_deg()
            * bench
                .phasing()
                .rotor_direction()
                .map_or(1.0, Direction::sign);
        bench.turn_shaft(-3.0 * tooth);
        bench.mesh_shaft();
        assert_eq!(bench.assembly().drive_teeth, 0);
        bench.lift_drive();
        assert!(bench.drive_out().is_some());
    }

    #[test]
    fn undo_puts_a_part_back_out_and_redo_in() {
        let mut bench = apart("flat_four");
        let out = bench.state();
        bench.lay_cam_in(0);
        bench.plug(1, 2);
        let within = bench.state();
        assert_ne!(within, out);
        bench.put_back(&out);
        assert_eq!(bench.state(), out);
        assert!(bench.apart().has_cam_out());
        bench.put_back(&within);
        assert_eq!(bench.state(), within);
        // Another engine that cannot stand so is left as it is.
        bench.set_engine(&scenes::find("single").expect("a scene").engine());
        let single = bench.state();
        bench.put_back(&within);
        assert_eq!(bench.state(), single);
    }

    #[test]
    fn another_engine_keeps_the_crank_and_what_of_the_assembly_it_can_have() {
        let mut bench = Bench::new(&BENCH.engine(), &Assembly::default());
        bench.set_assembly(&Assembly {
            cam_teeth: 1,
            leads: Some(vec![3, 4, 2, 1]),
            ..Assembly::default()
        });
        bench.turn_to(400.0);
        bench.follow(4);
        let before = bench.generation();
        bench.set_engine(&scenes::find("single").expect("a scene").engine());
        assert!(bench.assembly().is_as_drawn());
        assert_eq!((bench.turned_deg(), bench.followed()), (400.0, 1));
        assert_ne!(bench.generation(), before);
    }
}
