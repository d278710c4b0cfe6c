//! Dropping the distributor in: where the crank stands, where the rotor points before the drive
//! goes in, and where it ends.
//!
//! The crank stands at No. 1's **firing** TDC. Its own marks cannot tell that from overlap, so
//! several witnesses that do not depend on one another are compared: the cam's mark, No. 1's own
//! valves, its running mate's, the thumb, the rotor. For each: what it shows at firing TDC and what
//! on overlap, whether the two differ on this engine at all, and what it shows as built.
//!
//! A helical drive turns the rotor as it seats by travel × tan(helix) / pitch radius, so the rotor
//! starts that far back. A tongue goes into a shaft; where that has a gear of its own the shaft goes
//! in first, turning so, and the distributor after it without a turn.

use serde::Serialize;

use super::witnesses::{Witnesses, witnesses};
use crate::angle::{Clock, CrankAngle, RotorTurn};
use crate::description::{Coupling, Distributor};
use crate::diagnosis::stage::{Sight, Stage};
use crate::diagnosis::{Revolution, hypotheses, remedy};
use crate::engine::{Assembly, Engine};
use crate::laws::ignition;
use crate::laws::ignition::DriveOut;
use crate::phasing::Phasing;
use crate::procedures::crank_marks::{CrankMark, crank_marks};
use crate::words::serialize_rounded;

/// Everything for dropping the distributor in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DropIn {
    /// Where the rotor points before the drive goes in, looking down on the cap.
    #[serde(rename = "rotor_start_clock_deg")]
    pub rotor_start: Clock,
    /// Where it must end, No. 1 at firing TDC.
    #[serde(rename = "rotor_end_clock_deg")]
    pub rotor_end: Clock,
    /// Rotor degrees, clockwise positive looking down, that it turns as it seats.
    #[serde(skip)]
    pub turns_on_entry_deg: f64,
    /// Rotor degrees a tooth of its drive.
    #[serde(serialize_with = "serialize_rounded")]
    pub degrees_per_tooth: f64,
    /// How the drive engages.
    #[serde(skip)]
    pub coupling: Coupling,
    /// The nearest other positions it seats in, and the body turn that would make each right.
    pub teeth: Vec<OtherWay>,
    /// Where each lead goes, from No. 1's tower in the rotor's direction.
    pub leads: Vec<Lead>,
    /// The geared shaft that goes in before the distributor; None without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft: Option<ShaftIn>,
    /// What tells firing TDC from overlap.
    #[serde(flatten)]
    pub witnesses: Witnesses,
    /// The crankshaft's own marks, No. 1 at TDC; absent where none of them is read at a
    /// pointer.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub crank_marks: Vec<CrankMark>,
    /// Whether all that tell say firing TDC, as built.
    pub agreed: bool,
}

/// The geared shaft that a tongue goes into.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ShaftIn {
    /// Where its slot points before it goes into mesh, looking down: its narrow side, or either end
    /// of a central one; None where the description does not say where it stands.
    #[serde(rename = "slot_start_clock_deg")]
    pub start: Option<Clock>,
    /// Where its slot must end, No. 1 at firing TDC.
    #[serde(rename = "slot_end_clock_deg")]
    pub end: Option<Clock>,
    /// Degrees, clockwise positive looking down, that it turns as it goes into mesh.
    #[serde(serialize_with = "serialize_rounded")]
    pub turns_on_entry_deg: f64,
}

impl ShaftIn {
    /// The shaft of this distributor; None without one.
    pub(crate) fn of(distributor: &Distributor) -> Option<Self> {
        if !distributor.is_on_geared_shaft() {
            return None;
        }
        let turns_on_entry_deg = ignition::shaft_turns_on_entry_deg(distributor);
        let end = ignition::slot(distributor, CrankAngle::new(0.0), RotorTurn::new(0.0));
        Some(Self {
            start: end.map(|end| Clock::new(end.degrees() - turns_on_entry_deg)),
            end,
            turns_on_entry_deg,
        })
    }
}

/// The drive seated in another position than drawn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OtherWay {
    /// Teeth of its own drive, or of the geared shaft under it, ahead.
    pub drive_teeth: i32,
    /// Its tongue half a turn out in that shaft.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub tongue_half_turn: bool,
    /// The body turned against the rotor's rotation that makes every spark right.
    #[serde(serialize_with = "serialize_rounded")]
    pub body_turn_deg: f64,
    /// Whether the clamp allows it; None where its range is not given.
    pub within_clamp: Option<bool>,
}

/// A tower and the lead that goes in it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Lead {
    /// Where the tower stands, looking down on the cap.
    #[serde(rename = "tower_clock_deg")]
    pub tower: Clock,
    /// The plug the lead goes to.
    pub cylinder: u8,
}

/// Everything for dropping the distributor in as it is drawn, with the cam drive's cover off and
/// everything else in; the witnesses show what they do as built. None for an engine without a
/// distributor.
pub fn dropin(phasing: &Phasing) -> Option<DropIn> {
    dropin_at(phasing, Stage::default(), &[])
}

/// The same by the witnesses of a stage, without what is not in yet.
pub fn dropin_at(phasing: &Phasing, stage: Stage, without: &[Sight]) -> Option<DropIn> {
    let engine = phasing.engine();
    let distributor = engine.metric().distributor.as_ref()?;
    let drawn = Phasing::as_drawn(engine);
    let rotor_end = drawn.at(CrankAngle::new(0.0)).rotor?.clock;
    let towers = drawn.towers();
    let leads = towers
        .iter()
        .zip(drawn.leads())
        .map(|(&tower, &cylinder)| Lead { tower, cylinder })
        .collect();
    let witnesses = witnesses(phasing, stage, without);
    Some(DropIn {
        crank_marks: pointed_at(&drawn),
        rotor_start: ignition::entry_start(distributor, rotor_end),
        rotor_end,
        turns_on_entry_deg: ignition::turns_on_entry_deg(distributor),
        degrees_per_tooth: ignition::rotor_tooth(distributor).degrees(),
        coupling: distributor.coupling(),
        shaft: ShaftIn::of(distributor),
        teeth: other_ways(engine, distributor),
        leads,
        agreed: witnesses.agreed(),
        witnesses,
    })
}

/// The crankshaft's own marks, No. 1 at TDC, where one of them is read at a pointer.
pub(super) fn pointed_at(drawn: &Phasing) -> Vec<CrankMark> {
    let mut crank_marks = crank_marks(drawn);
    if crank_marks.iter().all(|mark| mark.pointer.is_none()) {
        crank_marks.clear();
    }
    crank_marks
}

/// The nearest positions it seats in either side of as drawn.
fn other_ways(engine: &Engine, distributor: &Distributor) -> Vec<OtherWay> {
    let a_tooth_either_way = [-1, 1].map(|teeth| DriveOut {
        teeth,
        half_turn: false,
    });
    let nearest: Vec<DriveOut> = match distributor.coupling() {
        Coupling::Gear => a_tooth_either_way.into(),
        coupling if distributor.is_on_geared_shaft() => {
            let turned = (coupling == Coupling::CentralTongue).then_some(DriveOut {
                teeth: 0,
                half_turn: true,
            });
            a_tooth_either_way.into_iter().chain(turned).collect()
        }
        Coupling::OffsetTongue | Coupling::CentralTongue => hypotheses::drive_ways(distributor)
            .into_iter()
            .filter(|way| !way.is_as_drawn())
            .collect(),
    };
    let way = |out: DriveOut| {
        let assembly = Assembly {
            drive_teeth: out.teeth,
            tongue_half_turn: out.half_turn,
            ..Assembly::default()
        };
        let body_turn_deg = remedy::correcting_body_turn(engine, &assembly)?;
        Some(OtherWay {
            drive_teeth: out.teeth,
            tongue_half_turn: out.half_turn,
            body_turn_deg,
            within_clamp: remedy::within_clamp(distributor, body_turn_deg),
        })
    };
    nearest.into_iter().filter_map(way).collect()
}

/// What must be said where the marks of the cam drive come together on the turn of No. 1's overlap;
/// None where they do on the turn of its firing TDC.
pub fn marks_meet_on_overlap(engine: &Engine) -> Option<String> {
    let meet = CrankAngle::new(engine.metric().cam_drive.marks_meet_at());
    if Revolution::of(meet) == Revolution::Firing {
        return None;
    }
    let fires = engine
        .running_mate(1)
        .map_or("No. 1 is then on overlap".to_owned(), |mate| {
            format!("marks together means No. {mate} fires, and No. 1 is on overlap")
        });
    Some(format!(
        "On this engine the cam drive's marks come together on the turn of No. 1's OVERLAP: {fires}. One more turn of the crank to No. 1's firing TDC, before the distributor is touched."
    ))
}
