//! Dropping the distributor in: where the crank stands, where the rotor points before the drive
//! goes in, and where it ends.
//!
//! The crank stands at No. 1's **firing** TDC. Its own marks cannot tell that from overlap, so
//! several witnesses that do not depend on one another are compared: the cam's mark, No. 1's own
//! valves, its running mate's, the thumb, the rotor. For each: what it shows at firing TDC and what
//! on overlap, whether the two differ on this engine at all, and what it shows as built.
//!
//! A helical drive turns the rotor as it seats by travel × tan(helix) / pitch radius, so the rotor
//! starts that far back.

use serde::Serialize;

use crate::angle::{Clock, CrankAngle, wrap_signed};
use crate::description::{Coupling, Distributor, MarkOn};
use crate::diagnosis::{Revolution, hypotheses, remedy};
use crate::engine::{Assembly, Engine};
use crate::laws::{gear_train, ignition};
use crate::phasing::{CylinderReading, DeadCentre, Phasing, Reading};
use crate::words::{degrees, number, serialize_rounded};

/// A crank this far from its mark, in degrees, still stands there for a builder without a degree
/// wheel. Common practice, no source.
const MARK_WITHIN_DEG: f64 = 3.0;

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
    /// What tells firing TDC from overlap.
    pub witnesses: Vec<Witness>,
    /// How many of the witnesses tell firing from overlap on this engine.
    #[serde(skip)]
    pub telling: usize,
    /// Whether all that tell say firing TDC, as built.
    pub agreed: bool,
}

/// The drive seated in another position than drawn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OtherWay {
    /// Teeth of its own drive ahead.
    pub drive_teeth: i32,
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

/// Something that is not the crank's own mark and tells its two turns apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Witness {
    /// What to look at.
    #[serde(rename = "look_at")]
    pub name: String,
    /// What it shows at No. 1's firing TDC, as drawn.
    pub firing: String,
    /// What it shows on overlap, as drawn.
    pub overlap: String,
    /// Whether the two differ on this engine.
    pub tells: bool,
    /// What it shows as built, the crank at No. 1's firing TDC.
    #[serde(rename = "as_built")]
    pub now: String,
    /// Which that is; None where it is neither.
    #[serde(rename = "says")]
    pub revolution: Option<Revolution>,
}

/// Everything for dropping the distributor in as it is drawn; the witnesses show what they do
/// as built. None for an engine without a distributor.
pub fn dropin(phasing: &Phasing) -> Option<DropIn> {
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
    let witnesses = witnesses(phasing);
    Some(DropIn {
        rotor_start: ignition::entry_start(distributor, rotor_end),
        rotor_end,
        turns_on_entry_deg: ignition::turns_on_entry_deg(distributor),
        degrees_per_tooth: ignition::rotor_tooth(distributor).degrees(),
        coupling: distributor.coupling,
        teeth: other_ways(engine, distributor),
        leads,
        telling: witnesses.iter().filter(|witness| witness.tells).count(),
        agreed: witnesses
            .iter()
            .filter(|witness| witness.tells)
            .all(|witness| witness.revolution == Some(Revolution::Firing)),
        witnesses,
    })
}

/// The nearest positions it seats in either side of as drawn.
fn other_ways(engine: &Engine, distributor: &Distributor) -> Vec<OtherWay> {
    let nearest: Vec<i32> = match distributor.coupling {
        Coupling::Gear => vec![-1, 1],
        Coupling::OffsetTongue | Coupling::CentralTongue => hypotheses::drive_ways(distributor)
            .into_iter()
            .filter(|way| *way != 0)
            .collect(),
    };
    let way = |drive_teeth| {
        let assembly = Assembly {
            drive_teeth,
            ..Assembly::default()
        };
        let body_turn_deg = remedy::correcting_body_turn(engine, &assembly)?;
        Some(OtherWay {
            drive_teeth,
            body_turn_deg,
            within_clamp: remedy::within_clamp(distributor, body_turn_deg),
        })
    };
    nearest.into_iter().filter_map(way).collect()
}

/// Everything that tells No. 1's firing TDC from its overlap.
pub fn witnesses(phasing: &Phasing) -> Vec<Witness> {
    let drawn = Phasing::as_drawn(phasing.engine());
    let (firing, overlap) = (
        drawn.at(CrankAngle::new(0.0)),
        drawn.at(CrankAngle::new(360.0)),
    );
    let now = phasing.at(CrankAngle::new(0.0));
    let mut witnesses = Vec::new();
    witnesses.extend(cam_mark(phasing, &firing, &overlap, &now));
    witnesses.extend(valves(phasing, 1, "No. 1's own valves"));
    if let Some(mate) = phasing.engine().running_mate(1) {
        witnesses.extend(valves(
            phasing,
            mate,
            &format!("the valves of its running mate, No. {mate}"),
        ));
    } else if let Some(other) = telling_other(phasing) {
        witnesses.push(other);
    }
    witnesses.push(thumb(phasing));
    witnesses.extend(rotor(phasing, &firing, &overlap, &now));
    witnesses
}

/// The first mark on the camshaft: half a turn away on overlap.
fn cam_mark(
    phasing: &Phasing,
    firing: &Reading,
    overlap: &Reading,
    now: &Reading,
) -> Option<Witness> {
    let marks = &phasing.engine().written().marks;
    let (index, mark) = marks
        .iter()
        .enumerate()
        .find(|(_, mark)| mark.on == MarkOn::Camshaft)?;
    let at = |reading: &Reading| {
        reading
            .marks
            .get(index)
            .map_or(f64::NAN, |clock| clock.degrees())
    };
    let half_a_tooth = gear_train::cam_tooth(&phasing.engine().metric().cam_drive).degrees() / 2.0;
    Some(Witness {
        name: format!("the {} (front cover off)", mark.name),
        firing: format!("at {} seen from the front", degrees(at(firing))),
        overlap: format!("at {}, half a turn away", degrees(at(overlap))),
        tells: true,
        revolution: which(at(now), at(firing), at(overlap), half_a_tooth),
        now: format!("at {}", degrees(at(now))),
    })
}

/// Which of two clock positions something stands at, to within so many degrees; None for neither.
fn which(now: f64, firing: f64, overlap: f64, within_deg: f64) -> Option<Revolution> {
    let near = |to: f64| wrap_signed(now - to, 360.0).abs() < within_deg;
    if near(firing) {
        Some(Revolution::Firing)
    } else {
        near(overlap).then_some(Revolution::Overlap)
    }
}

/// A cylinder's two valves at No. 1's TDC mark: shut at its own firing TDC, both off their seats a
/// little on its own overlap.
fn valves(phasing: &Phasing, cylinder: u8, name: &str) -> Option<Witness> {
    let drawn = Phasing::as_drawn(phasing.engine());
    let at = |phasing: &Phasing, crank_deg: f64| {
        let reading = phasing.at(CrankAngle::new(crank_deg));
        reading.cylinder(cylinder).copied()
    };
    let states = |one: CylinderReading| (one.intake.open, one.exhaust.open);
    let (firing, overlap, now) = (at(&drawn, 0.0)?, at(&drawn, 360.0)?, at(phasing, 0.0)?);
    // The two differ only where the crank, anywhere within its mark's reading, shows other states
    // on the one turn than on the other.
    let steady = |crank_deg: f64, there: CylinderReading| {
        [-MARK_WITHIN_DEG, MARK_WITHIN_DEG]
            .iter()
            .all(|off| at(&drawn, crank_deg + off).map(states) == Some(states(there)))
    };
    let tells = states(firing) != states(overlap) && steady(0.0, firing) && steady(360.0, overlap);
    let revolution = if states(now) == states(firing) {
        Some(Revolution::Firing)
    } else {
        (states(now) == states(overlap)).then_some(Revolution::Overlap)
    };
    // Shut at its own firing TDC, and barely open on its own overlap: what is too little to see,
    // rocking the crank shows.
    let hint = |one: CylinderReading| match one.dead_centre {
        Some(DeadCentre::FiringTdc) if tells => "; rocked 20° each way neither moves",
        Some(DeadCentre::FiringTdc) => "; rock the crank 20° each way: neither moves",
        Some(DeadCentre::OverlapTdc) => "; rock the crank: one closes as the other opens",
        _ => "",
    };
    Some(Witness {
        name: name.to_owned(),
        firing: format!("{}{}", in_words(firing), hint(firing)),
        overlap: format!("{}{}", in_words(overlap), hint(overlap)),
        tells,
        now: in_words(now),
        revolution,
    })
}

fn in_words(cylinder: CylinderReading) -> String {
    let lift = |mm: f64| format!("{} mm", number(mm, 2));
    match (cylinder.intake.open, cylinder.exhaust.open) {
        (false, false) => "both shut".into(),
        (true, true) => {
            format!(
                "both off their seats (intake {}, exhaust {})",
                lift(cylinder.intake.lift_mm),
                lift(cylinder.exhaust.lift_mm)
            )
        }
        (true, false) => format!(
            "intake open {}, exhaust shut",
            lift(cylinder.intake.lift_mm)
        ),
        (false, true) => format!(
            "exhaust open {}, intake shut",
            lift(cylinder.exhaust.lift_mm)
        ),
    }
}

/// For an engine without a running mate to No. 1: the cylinder whose valves tell the turns apart
/// most plainly.
fn telling_other(phasing: &Phasing) -> Option<Witness> {
    let others = phasing.engine().firing_order().iter().skip(1);
    others
        .filter_map(|&number| valves(phasing, number, &format!("the valves of No. {number}")))
        .find(|witness| witness.tells)
}

/// The thumb over No. 1's plug hole, a little before the mark.
fn thumb(phasing: &Phasing) -> Witness {
    /// Late enough for any intake valve to be shut, early enough for the piston still to push.
    const BEFORE_DEG: f64 = 30.0;
    let pushed = |phasing: &Phasing, tdc: f64| {
        phasing
            .at(CrankAngle::new(tdc - BEFORE_DEG))
            .cylinder(1)
            .is_some_and(CylinderReading::pushes_the_thumb)
    };
    let drawn = Phasing::as_drawn(phasing.engine());
    Witness {
        name: "the thumb over No. 1's plug hole, turning forwards to the mark".into(),
        firing: "pushed off as the mark comes up".into(),
        overlap: "not pushed: the exhaust valve lets it out".into(),
        tells: pushed(&drawn, 0.0) && !pushed(&drawn, 360.0),
        now: if pushed(phasing, 0.0) {
            "pushed off".into()
        } else {
            "not pushed".into()
        },
        revolution: pushed(phasing, 0.0).then_some(Revolution::Firing),
    }
}

/// The rotor, where the distributor is already in.
fn rotor(phasing: &Phasing, firing: &Reading, overlap: &Reading, now: &Reading) -> Option<Witness> {
    let tooth = phasing
        .engine()
        .metric()
        .distributor
        .as_ref()
        .map(|distributor| ignition::rotor_tooth(distributor).degrees())?;
    let (firing, overlap, now) = (firing.rotor?, overlap.rotor?, now.rotor?);
    let off = if firing.past_deg < 0.0 {
        "short of"
    } else {
        "past"
    };
    Some(Witness {
        name: "the rotor, once the distributor is in".into(),
        firing: format!(
            "at {}°, {}° {off} No. 1's tower",
            number(firing.clock.degrees(), 1),
            number(firing.past_deg.abs(), 1)
        ),
        overlap: format!(
            "at {}°, half a turn away",
            number(overlap.clock.degrees(), 1)
        ),
        tells: true,
        now: format!("at {}°", number(now.clock.degrees(), 1)),
        revolution: which(
            now.clock.degrees(),
            firing.clock.degrees(),
            overlap.clock.degrees(),
            tooth / 2.0,
        ),
    })
}
