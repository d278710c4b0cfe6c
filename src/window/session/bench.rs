//! The bench: the engine, how it was put together, and how far the crank has been turned.
//!
//! Everything the window shows is made from this one resource. It changes through its methods
//! alone, and each of them computes phasing and reading anew: what is shown is never a step behind.

use std::sync::Arc;

use bevy::prelude::*;

use crate::angle::{Clock, CrankAngle, CrankTurn};
use crate::engine::Assembly;
use crate::engine::{Engine, Ignitions};
use crate::geometry::crank_input::{Slack, StopAngles};
use crate::geometry::{Layout, Pose};
use crate::phasing::{Phasing, Reading};
use crate::procedures::{RemovedDrive, Seating, seat_drive};
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
    drive: Drive,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Drive {
    Seated,
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
            drive: Drive::Seated,
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
            Drive::Seated => None,
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

    /// Lifts the distributor out, its rotor pointing where it does.
    pub(crate) fn lift_drive(&mut self) {
        if let Some(rotor) = self.reading.rotor {
            self.drive = Drive::Out(rotor.clock);
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
            self.set_assembly(&assembly);
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
            self.set_assembly(&Assembly::default().with_cams(cams));
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
            slack: self.slack,
            ..Self::new(engine, &kept)
        };
        let turned_deg = self.turned_deg;
        *self = next;
        if usize::from(self.followed) > engine.cylinder_count() {
            self.followed = 1;
        }
        self.place(turned_deg);
    }

    /// Puts the engine together another way, its drive seated and the crank where it is. The
    /// assembly must have passed [`Assembly::check`].
    pub(crate) fn set_assembly(&mut self, assembly: &Assembly) {
        self.drive = Drive::Seated;
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

    /// Turns the crank on in its running direction to an angle in the cycle.
    pub(crate) fn turn_on_to(&mut self, crank: CrankAngle) {
        self.turn_by(self.crank().on_to(crank));
    }

    /// Turns the crank the shorter way to an angle in the cycle.
    pub(crate) fn turn_nearest_to(&mut self, crank: CrankAngle) {
        self.turn_by(self.crank().nearest_to(crank));
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
    fn a_drive_lifted_out_keeps_its_rotor_while_the_crank_turns_and_seats_on_the_tooth_it_engages()
    {
        let mut bench = Bench::new(&BENCH.engine(), &Assembly::default());
        let rotor = |bench: &Bench| bench.reading().rotor.expect("a rotor").clock.degrees();
        bench.lift_drive();
        assert_eq!(rotor(&bench), 49.0);
        bench.turn_to(360.0);
        assert_eq!(
            (rotor(&bench), bench.pose().rotor_deg, bench.pose().sparking),
            (49.0, Some(49.0), None)
        );
        bench.hold_rotor(Clock::new(77.0));
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
