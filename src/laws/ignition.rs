//! The distributor: where the rotor points, where the towers stand, and when each lead gets its
//! spark.
//!
//! The shaft turns at half crank speed in its own direction s_d, looking down on the cap. At crank
//! angle θ the rotor stands at number_one_at + s_d (offset + θ/2 + teeth out); the tower of the
//! k-th cylinder to fire at number_one_at + s_d (fire_k / 2 − body turn). A body turned D degrees
//! against the rotor's rotation advances: towers and trigger both move to −D. The k-th spark comes
//! at fire_k − advance − 2 (teeth out + D), in crank degrees. Rotor and trigger turn together with
//! the centrifugal weights; vacuum turns the trigger alone and so moves the register.

use super::gear_train;
use crate::angle::{Clock, CrankAngle, CrankTurn, Direction, RotorTurn, wrap_signed};
use crate::description::{Coupling, Description, Distributor, DrivenBy, Hand, Helix, Ignition};

/// What one tooth of the drive is worth on the rotor.
pub fn rotor_tooth(distributor: &Distributor) -> RotorTurn {
    RotorTurn::new(360.0 / f64::from(distributor.driven_teeth))
}

/// In how many positions the drive seats: at each of its teeth, or where its tongue allows.
pub fn ways_to_engage(distributor: &Distributor) -> u32 {
    match distributor.coupling {
        Coupling::Gear => distributor.driven_teeth,
        Coupling::OffsetTongue => 1,
        Coupling::CentralTongue => 2,
    }
}

/// How far the rotor stands ahead with the cam wheel `cam_teeth` ahead and the distributor's drive
/// `drive_teeth`: the camshaft counts only where it drives the distributor. Zero without one.
pub(crate) fn teeth_out(description: &Description, cam_teeth: i32, drive_teeth: i32) -> RotorTurn {
    let Some(distributor) = &description.distributor else {
        return RotorTurn::new(0.0);
    };
    let own = rotor_tooth(distributor) * f64::from(drive_teeth);
    match distributor.driven_by {
        DrivenBy::Camshaft => {
            own + gear_train::cam_ahead(&description.cam_drive, cam_teeth).at_rotor()
        }
        DrivenBy::Crankshaft => own,
    }
}

/// Rotor degrees past No. 1's tower at No. 1 firing TDC, as drawn.
pub fn offset(distributor: &Distributor, ignition: &Ignition) -> RotorTurn {
    RotorTurn::new(distributor.offset.unwrap_or(ignition.static_advance / 2.0))
}

/// Rotor degrees, clockwise positive looking down, gained as the drive seats; zero for a drive that
/// does not turn.
pub fn turns_on_entry_deg(distributor: &Distributor) -> f64 {
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
    let points: Vec<_> = points.map(|point| (point.kpa, point.advance)).collect();
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
            direction: distributor.rotation,
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
