//! The distributor: where the rotor points, where the towers stand, and when each lead gets its
//! spark.
//!
//! The shaft turns at half crank speed in its own direction s_d, looking down on the cap. At crank
//! angle θ the rotor stands at number_one_at + s_d (offset + θ/2 + teeth out); the tower of the
//! k-th cylinder to fire at number_one_at + s_d (fire_k / 2 − body turn). A body turned D degrees
//! against the rotor's rotation advances: towers and trigger both move to −D. The k-th spark comes
//! at fire_k − advance − 2 (teeth out + D), in crank degrees. Rotor and trigger turn together with
//! the centrifugal weights; vacuum turns the trigger alone and so moves the register.

#![expect(clippy::indexing_slicing, reason = "`windows(2)` gives pairs")]

use super::gear_train;
use super::gear_train::CamTeeth;
use crate::angle::{Clock, CrankAngle, CrankTurn, Direction, RotorTurn, wrap_signed};
use crate::description::{Coupling, Description, Distributor, Hand, Helix, Ignition};

/// What one tooth of the drive is worth on the rotor.
pub fn rotor_tooth(distributor: &Distributor) -> RotorTurn {
    RotorTurn::new(360.0 / f64::from(distributor.driven_teeth))
}

/// How a distributor's drive is out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DriveOut {
    /// Teeth by which its gear, or the geared shaft under its tongue, is ahead; negative, behind.
    pub teeth: i32,
    /// Whether its central tongue went home in a geared shaft half a turn out.
    pub half_turn: bool,
}

impl DriveOut {
    /// Whether the drive is as drawn.
    pub fn is_as_drawn(self) -> bool {
        self == Self::default()
    }

    /// How far it puts the rotor ahead.
    pub(crate) fn rotor(self, distributor: &Distributor) -> RotorTurn {
        let half_turn = if self.half_turn { 180.0 } else { 0.0 };
        rotor_tooth(distributor) * f64::from(self.teeth) + RotorTurn::new(half_turn)
    }

    /// The same rotor by the fewest faults, then teeth: with a central slot, half a turn of the shaft
    /// and half a turn of the tongue are one.
    pub fn simplest(self, distributor: &Distributor) -> Self {
        self.other_way(distributor)
            .filter(|other| {
                let key = |out: &Self| (out.faults(), out.teeth.unsigned_abs());
                key(other) < key(&self)
            })
            .unwrap_or(self)
    }

    /// The other way of putting the rotor in the same place: the tongue turned about, and the shaft
    /// half a turn on. None where no whole number of teeth does that.
    pub(crate) fn other_way(self, distributor: &Distributor) -> Option<Self> {
        let central = distributor.coupling() == Coupling::CentralTongue;
        let teeth = distributor.driven_teeth.cast_signed();
        (central && distributor.is_on_geared_shaft() && teeth % 2 == 0).then(|| Self {
            teeth: {
                let on = (self.teeth + teeth / 2).rem_euclid(teeth);
                if on * 2 > teeth { on - teeth } else { on }
            },
            half_turn: !self.half_turn,
        })
    }

    /// Its faults: the shaft or gear one, the tongue one.
    pub fn faults(self) -> u32 {
        u32::from(self.teeth != 0) + u32::from(self.half_turn)
    }
}

/// In how many positions the drive seats: at each of its teeth, or where its tongue allows.
pub fn ways_to_engage(distributor: &Distributor) -> u32 {
    match distributor.coupling() {
        Coupling::Gear => distributor.driven_teeth,
        Coupling::OffsetTongue => 1,
        Coupling::CentralTongue => 2,
    }
}

/// How far the rotor stands ahead with the cam wheels `cams` ahead and the distributor's drive out
/// so: only the camshaft that drives the distributor counts, and none where the crank does. Zero
/// without one.
pub(crate) fn teeth_out(description: &Description, cams: CamTeeth, drive: DriveOut) -> RotorTurn {
    let Some(distributor) = &description.distributor else {
        return RotorTurn::new(0.0);
    };
    let own = drive.rotor(distributor);
    match description.driving_camshaft() {
        Some(camshaft) => {
            own + gear_train::cam_ahead(&description.cam_drive, cams.of(camshaft)).at_rotor()
        }
        None => own,
    }
}

/// Rotor degrees past No. 1's tower at No. 1 firing TDC, as drawn.
pub fn offset(distributor: &Distributor, ignition: &Ignition) -> RotorTurn {
    RotorTurn::new(distributor.offset.unwrap_or(ignition.static_advance / 2.0))
}

/// Rotor degrees, clockwise positive looking down, gained as the distributor seats; zero for a drive
/// that does not turn, and for a tongue on a geared shaft: there the shaft turns as it goes in.
pub fn turns_on_entry_deg(distributor: &Distributor) -> f64 {
    if distributor.is_on_geared_shaft() {
        return 0.0;
    }
    drive_turns_deg(distributor)
}

/// Degrees, clockwise positive looking down, that a geared shaft under a tongue turns as it goes into
/// mesh; zero without such a shaft.
pub fn shaft_turns_on_entry_deg(distributor: &Distributor) -> f64 {
    if distributor.is_on_geared_shaft() {
        drive_turns_deg(distributor)
    } else {
        0.0
    }
}

fn drive_turns_deg(distributor: &Distributor) -> f64 {
    distributor
        .turns_on_entry
        .or_else(|| distributor.helix.as_ref().map(helix_turn_deg))
        .unwrap_or(0.0)
}

/// travel × tan(helix) / pitch radius, in degrees: clockwise, looking down as it goes down, for a
/// right-hand gear. Source: lead = π d / tan(helix angle), SDP/SI *Elements of Metric Gear
/// Technology*, §7.
pub fn helix_turn_deg(helix: &Helix) -> f64 {
    let turn = helix.travel * helix.angle.to_radians().tan() / (helix.pitch_diameter / 2.0);
    match helix.hand {
        Hand::Right => turn.to_degrees(),
        Hand::Left => -turn.to_degrees(),
    }
}

/// How far the rotor stands past its tower when that tower's spark comes, as drawn, with this much
/// vacuum advance.
pub fn register_deg(distributor: &Distributor, ignition: &Ignition, vacuum_deg: f64) -> f64 {
    offset(distributor, ignition).degrees() - (ignition.static_advance + vacuum_deg) / 2.0
}

/// Where the rotor must point before a drive goes in that is to end at `end`.
pub(crate) fn entry_start(distributor: &Distributor, end: Clock) -> Clock {
    Clock::new(end.degrees() - turns_on_entry_deg(distributor))
}

/// Where the slot of a geared shaft so many teeth ahead stands at a crank angle, looking down: it
/// turns with the rotor, and the tongue does not move it. None where its place is not described.
pub(crate) fn slot(
    distributor: &Distributor,
    crank: CrankAngle,
    shaft_ahead: RotorTurn,
) -> Option<Clock> {
    let at = distributor
        .slot_at
        .filter(|_| distributor.is_on_geared_shaft())?;
    let turned_deg = crank.degrees() / 2.0 + shaft_ahead.degrees();
    Some(Clock::new(at).turned(distributor.rotation(), turned_deg))
}

/// In how many ways about the shaft a slot looks alike: a central one two, half a turn apart.
pub(crate) fn slot_alike(distributor: &Distributor) -> f64 {
    match distributor.coupling() {
        Coupling::CentralTongue => 180.0,
        Coupling::Gear | Coupling::OffsetTongue => 360.0,
    }
}

/// Half the arc over which rotor tip and tower face one another, where both widths are given.
pub fn contact_half_width_deg(distributor: &Distributor) -> Option<f64> {
    Some((distributor.tip_width? + distributor.tower_width?) / 2.0)
}

/// Straight-line reading of a curve of (at, value) points, held level beyond its ends; 0 without
/// points.
fn interpolated(points: &[(f64, f64)], at: f64) -> f64 {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return 0.0;
    };
    if at <= first.0 {
        return first.1;
    }
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if at <= x1 {
            return if x1 > x0 {
                y0 + (y1 - y0) * (at - x0) / (x1 - x0)
            } else {
                y1
            };
        }
    }
    last.1
}

/// Centrifugal advance at an engine speed.
pub fn centrifugal(ignition: &Ignition, rpm: f64) -> CrankTurn {
    let points = ignition.centrifugal.iter();
    let points: Vec<_> = points.map(|point| (point.rpm, point.advance)).collect();
    CrankTurn::new(interpolated(&points, rpm))
}

/// Vacuum advance at a depression.
pub fn vacuum(ignition: &Ignition, kpa: f64) -> CrankTurn {
    let points = ignition.vacuum.iter();
    let points: Vec<_> = points
        .map(|point| (point.depression_kpa(), point.advance))
        .collect();
    CrankTurn::new(interpolated(&points, kpa))
}

/// The most the vacuum capsule moves the trigger, either way from rest.
pub fn vacuum_extremes(ignition: &Ignition) -> (f64, f64) {
    ignition
        .vacuum
        .iter()
        .map(|point| point.advance)
        .fold((0.0, 0.0), |(least, most), advance| {
            (f64::min(least, advance), f64::max(most, advance))
        })
}

/// Crank degrees laid out on a pulley's rim: π × diameter × degrees / 360. Source: TM
/// 5-3895-382-24, table 13.
pub(crate) fn on_pulley_mm(diameter_mm: f64, crank_deg: f64) -> f64 {
    std::f64::consts::PI * diameter_mm * crank_deg / 360.0
}

/// Crank degrees before the firing TDC of the cylinder that a tower is drawn for, at which that
/// tower gets its spark, the engine at rest.
pub(crate) fn advance(
    ignition: &Ignition,
    teeth_out: RotorTurn,
    body_turn: RotorTurn,
) -> CrankTurn {
    CrankTurn::new(ignition.static_advance) + (teeth_out + body_turn).at_crank()
}

/// When the tower drawn for the cylinder that fires at `tower_fires_deg` gets its spark, with this
/// [`advance`].
pub(crate) fn spark_at(tower_fires_deg: f64, advance: CrankTurn) -> CrankAngle {
    CrankAngle::new(tower_fires_deg) - advance
}

/// Of the sparks a turn apart that a plug gets, the useful one: the nearest to its own firing TDC,
/// −180 ≤ b < 180 before it. The other, a turn on, is wasted.
pub(crate) fn useful_spark(spark: CrankAngle, fires: CrankAngle) -> CrankAngle {
    fires - CrankTurn::new(wrap_signed(before_tdc_deg(spark, fires), 360.0))
}

/// Crank degrees before its own firing TDC at which a cylinder gets a spark: −360 ≤ b < 360,
/// negative after it.
pub(crate) fn before_tdc_deg(spark: CrankAngle, fires: CrankAngle) -> f64 {
    spark.nearest_to(fires).degrees()
}

/// Where the body would have to stand for the cylinder that fires at `own_fires_deg`, its lead in
/// the tower drawn for the one that fires at `tower_fires_deg`, to get its spark as drawn:
/// [`spark_at`] the other way round.
pub(crate) fn body_turn_for(
    own_fires_deg: f64,
    tower_fires_deg: f64,
    teeth_out: RotorTurn,
) -> RotorTurn {
    let towers_apart = (tower_fires_deg - own_fires_deg) / 2.0;
    RotorTurn::new(wrap_signed(towers_apart - teeth_out.degrees(), 360.0))
}

/// A cap: its towers, and the rotor's way over them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CapAngles {
    pub number_one: Clock,
    pub direction: Direction,
    /// Rotor past No. 1's tower as drawn, at θ = 0, as built.
    pub ahead: RotorTurn,
    /// The body turned against the rotor's rotation.
    pub body_turn: RotorTurn,
}

impl CapAngles {
    /// The cap with the rotor ahead by `teeth_out` and the body turned.
    pub(crate) fn of(
        distributor: &Distributor,
        ignition: &Ignition,
        teeth_out: RotorTurn,
        body_turn: RotorTurn,
    ) -> Self {
        Self {
            number_one: Clock::new(distributor.number_one_at),
            direction: distributor.rotation(),
            ahead: offset(distributor, ignition) + teeth_out,
            body_turn,
        }
    }

    /// The tower of the cylinder that fires at `fire_deg`.
    pub(crate) fn tower(&self, fire_deg: f64) -> Clock {
        self.number_one
            .turned(self.direction, fire_deg / 2.0 - self.body_turn.degrees())
    }

    /// Rotor degrees, in its own direction, past No. 1's tower as drawn.
    pub(crate) fn past_number_one_deg(&self, crank: CrankAngle) -> f64 {
        self.ahead.degrees() + crank.degrees() / 2.0
    }

    /// The rotor, looking down on the cap.
    pub(crate) fn rotor(&self, crank: CrankAngle) -> Clock {
        self.number_one
            .turned(self.direction, self.past_number_one_deg(crank))
    }

    /// How far a rotor so far past No. 1's tower as drawn stands past the tower, as built, of the
    /// cylinder that fires at `fire_deg`: −180 ≤ d < 180.
    pub(crate) fn past_tower_deg(&self, past_number_one_deg: f64, fire_deg: f64) -> f64 {
        wrap_signed(
            past_number_one_deg + self.body_turn.degrees() - fire_deg / 2.0,
            360.0,
        )
    }
}
