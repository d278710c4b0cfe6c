//! What tells No. 1's firing TDC from its overlap, of what can be seen at this stage.
//!
//! The crank's own marks cannot tell its two turns apart; neither can its throws nor the flywheel.
//! Several witnesses that do not depend on one another are compared: the cam's mark, No. 1's own
//! valves or, with the case open, its lobes and the followers on them, its running mate's, the
//! thumb, the rotor. For each: what it shows at firing TDC and what on overlap, whether the two
//! differ on this engine at all, and what it shows as built.

use serde::{Serialize, Serializer};

use crate::angle::{Clock, CrankAngle, Direction, wrap, wrap_signed};
use crate::description::Valve;
use crate::diagnosis::Revolution;
use crate::diagnosis::stage::{Sight, Stage};
use crate::laws::{gear_train, ignition};
use crate::phasing::{CylinderReading, DeadCentre, Phasing, Reading};
use crate::procedures::looks_at::LooksAt;
use crate::words::{Units, capitalised, degrees, joined, length, past};

/// A crank this far from its mark, in degrees, still stands there for a builder without a degree
/// wheel. Common practice, no source.
const MARK_WITHIN_DEG: f64 = 3.0;
/// Witnesses that tell, at least, before firing TDC is believed. Common practice, no source.
pub const FEWEST: usize = 3;

/// Something that is not the crank's own mark and tells its two turns apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Witness {
    /// What to look at.
    #[serde(rename = "look_at")]
    pub name: String,
    /// What must be in sight or reach for it.
    #[serde(skip)]
    pub sight: Sight,
    /// The part that it is seen at.
    #[serde(skip)]
    pub looks_at: LooksAt,
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

impl Witness {
    /// What it must show at No. 1's firing TDC, as a sentence.
    pub fn must_show(&self) -> String {
        format!("{}: {}.", capitalised(&self.name), self.firing)
    }
}

/// The witnesses of a stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Witnesses {
    /// Those that can be had now.
    #[serde(rename = "witnesses")]
    pub here: Vec<Witness>,
    /// Those that tell and cannot be had now.
    #[serde(rename = "wait", skip_serializing_if = "Vec::is_empty")]
    pub waiting: Vec<Waiting>,
}

/// A witness that tells and cannot be had yet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Waiting {
    /// What to look at.
    #[serde(rename = "look_at")]
    pub name: String,
    /// The stage nearest to this one that has it; None where the part is not in yet.
    #[serde(serialize_with = "word")]
    pub stage: Option<Stage>,
}

fn word<S: Serializer>(stage: &Option<Stage>, serializer: S) -> Result<S::Ok, S::Error> {
    stage.map(Stage::word).serialize(serializer)
}

impl Witnesses {
    /// How many of those that can be had tell firing from overlap on this engine.
    pub fn telling(&self) -> usize {
        self.here.iter().filter(|witness| witness.tells).count()
    }

    /// Whether all of them that tell say firing, as built.
    pub fn agreed(&self) -> bool {
        let mut telling = self.here.iter().filter(|witness| witness.tells);
        telling.all(|witness| witness.revolution == Some(Revolution::Firing))
    }

    /// Where fewer can be had than are needed, which wait for which stage, in a sentence or two.
    pub fn too_few(&self) -> Option<String> {
        let telling = self.telling();
        if telling >= FEWEST {
            return None;
        }
        let waiting: Vec<String> = self
            .waiting
            .iter()
            .map(|Waiting { name, stage }| match stage {
                Some(stage) => format!("{name}, {}", stage.phrase()),
                None => format!("{name}, when it is in"),
            })
            .collect();
        let waiting = if waiting.is_empty() {
            "No other is to be had: have somebody look with you.".to_owned()
        } else {
            format!(
                "{}. Look again then, before anything is closed on it.",
                capitalised(&format!("what waits: {}", joined(&waiting, "; ")))
            )
        };
        let have = match telling {
            0 => "None that tells can".to_owned(),
            1 => "Only one that tells can".to_owned(),
            _ => "Only two that tell can".to_owned(),
        };
        Some(format!(
            "{have} be had at this stage, and at least three are needed. {waiting}"
        ))
    }
}

/// What tells No. 1's firing TDC from its overlap at a stage, without what is not in yet. What runs
/// between the halves of a split case is seen while they are apart, and not after.
pub fn witnesses(phasing: &Phasing, stage: Stage, without: &[Sight]) -> Witnesses {
    let in_the_case = phasing.engine().written().cam_drive_lies_in_the_case();
    let shut_in = (in_the_case && stage != Stage::CaseOpen).then_some(Sight::Dots);
    let mut sights = stage.sights_without(without);
    sights.retain(|sight| Some(*sight) != shut_in);
    let (here, elsewhere): (Vec<Witness>, Vec<Witness>) = all(phasing)
        .into_iter()
        .partition(|witness| sights.contains(&witness.sight));
    // Lobes and valves tell the same: who can see the one does not wait for the other.
    let (lobes, valves) = (
        sights.contains(&Sight::Lobes),
        sights.contains(&Sight::Valves),
    );
    let twice = |witness: &Witness| match witness.sight {
        Sight::Lobes => valves,
        Sight::Valves => lobes,
        _ => false,
    };
    let waiting = elsewhere
        .into_iter()
        // What is shut in the case does not come into sight again.
        .filter(|witness| Some(witness.sight) != shut_in)
        .filter(|witness| witness.tells && !twice(witness))
        .map(|witness| {
            let not_in_yet = stage.sights().contains(&witness.sight);
            let when = (!not_in_yet).then(|| stage.nearest_with(witness.sight));
            Waiting {
                name: witness.name,
                stage: when.flatten(),
            }
        })
        .collect();
    Witnesses { here, waiting }
}

/// Every one, at whatever stage it can be had.
fn all(phasing: &Phasing) -> Vec<Witness> {
    let drawn = Phasing::as_drawn(phasing.engine());
    let (firing, overlap) = (
        drawn.at(CrankAngle::new(0.0)),
        drawn.at(CrankAngle::new(360.0)),
    );
    let now = phasing.at(CrankAngle::new(0.0));
    let camshafts = 0..phasing.engine().camshaft_count();
    let mut witnesses: Vec<Witness> = camshafts
        .filter_map(|camshaft| cam_mark(phasing, camshaft, &firing, &overlap, &now))
        .collect();
    for sight in [Sight::Lobes, Sight::Valves] {
        let (told, laid_on) = told_by(sight);
        let name = format!("No. 1's own {told}{laid_on}");
        witnesses.extend(valves(phasing, 1, sight, &name));
        if let Some(mate) = phasing.engine().running_mate(1) {
            let name = format!("the {told} of its running mate, No. {mate}{laid_on}");
            witnesses.extend(valves(phasing, mate, sight, &name));
        } else if let Some(other) = telling_other(phasing, sight) {
            witnesses.push(other);
        }
    }
    witnesses.extend(throw(&drawn));
    witnesses.push(thumb(phasing));
    witnesses.extend(rotor(phasing, &firing, &overlap, &now));
    witnesses
}

/// What of a valve's drive is looked at, and how.
fn told_by(sight: Sight) -> (&'static str, &'static str) {
    if sight == Sight::Lobes {
        ("lobes", ", a follower laid on each by hand")
    } else {
        ("valves", "")
    }
}

/// No. 1's throw and counterweight: they stand alike on both turns, and a crank that is not there
/// is not at TDC at all.
fn throw(drawn: &Phasing) -> Option<Witness> {
    let one = drawn.cylinder(1)?;
    let at = |crank_deg: f64| {
        let clock = drawn.throw_clock(one, CrankAngle::new(crank_deg));
        degrees(clock.degrees())
    };
    let stands = format!(
        "the throw at {} seen from the front, its counterweight away from the bore",
        at(0.0)
    );
    Some(Witness {
        name: "No. 1's throw and its counterweight".into(),
        sight: Sight::Lobes,
        looks_at: LooksAt::Crank,
        firing: stands.clone(),
        overlap: "the same: it says TDC, and not which".into(),
        tells: false,
        now: stands,
        revolution: None,
    })
}

/// The first mark on a camshaft, counted from 0: half a turn away on overlap.
fn cam_mark(
    phasing: &Phasing,
    camshaft: usize,
    firing: &Reading,
    overlap: &Reading,
    now: &Reading,
) -> Option<Witness> {
    let marks = &phasing.engine().written().marks;
    let (index, mark) = marks
        .iter()
        .enumerate()
        .find(|(_, mark)| mark.on.camshaft() == Some(camshaft))?;
    let at = |reading: &Reading| {
        reading
            .marks
            .get(index)
            .map_or(f64::NAN, |clock| clock.degrees())
    };
    let half_a_tooth = gear_train::cam_tooth(&phasing.engine().metric().cam_drive).degrees() / 2.0;
    let laid_open = if phasing.engine().written().cam_drive_lies_in_the_case() {
        "case open"
    } else {
        "front cover off"
    };
    Some(Witness {
        name: format!("the {} ({laid_open})", mark.name),
        sight: Sight::Dots,
        looks_at: LooksAt::CamDrive,
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

/// A cylinder's two valves, or the lobes that work them, at No. 1's TDC mark: shut at its own firing
/// TDC, both off their seats a little on its own overlap.
fn valves(phasing: &Phasing, cylinder: u8, sight: Sight, name: &str) -> Option<Witness> {
    let drawn = Phasing::as_drawn(phasing.engine());
    let at = |phasing: &Phasing, crank_deg: f64| {
        let reading = phasing.at(CrankAngle::new(crank_deg));
        reading.cylinder(cylinder).copied()
    };
    let units = phasing.engine().written().units;
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
        Some(DeadCentre::FiringTdc) if sight == Sight::Lobes => {
            "; rocked 20° each way neither follower moves"
        }
        Some(DeadCentre::OverlapTdc) if sight == Sight::Lobes => {
            "; rock the crank: one follower sinks as the other rises"
        }
        Some(DeadCentre::FiringTdc) if tells => "; rocked 20° each way neither moves",
        Some(DeadCentre::FiringTdc) => "; rock the crank 20° each way: neither moves",
        Some(DeadCentre::OverlapTdc) => "; rock the crank: one closes as the other opens",
        _ => "",
    };
    let words = |phasing: &Phasing, one: CylinderReading| match sight {
        Sight::Lobes => lobes_in_words(phasing, one),
        _ => in_words(one, units),
    };
    Some(Witness {
        name: name.to_owned(),
        sight,
        looks_at: if sight == Sight::Lobes {
            LooksAt::Camshaft
        } else {
            LooksAt::Valves(cylinder)
        },
        firing: format!("{}{}", words(&drawn, firing), hint(firing)),
        overlap: format!("{}{}", words(&drawn, overlap), hint(overlap)),
        tells,
        now: words(phasing, now),
        revolution,
    })
}

/// What a cylinder's two lobes do to their followers, and how many cam degrees those that do nothing
/// are from their flanks.
fn lobes_in_words(phasing: &Phasing, one: CylinderReading) -> String {
    let lobe = |valve: Valve| {
        let reading = match valve {
            Valve::Intake => one.intake,
            Valve::Exhaust => one.exhaust,
        };
        let own = phasing.lobe(valve);
        let ahead = phasing
            .cylinder(one.number)
            .map_or(0.0, |cylinder| cylinder.ahead(valve).degrees());
        let phase_deg = one.phase.degrees() + ahead;
        let to_come = wrap(own.leaves_seat_deg() - phase_deg, 720.0) / 2.0;
        let past = wrap(
            phase_deg - own.leaves_seat_deg() - own.seat_duration_deg(),
            720.0,
        ) / 2.0;
        let name = valve.word();
        if reading.open && own.velocity_mm_per_deg(phase_deg) >= 0.0 {
            format!("the {name} lobe lifts its follower, rising")
        } else if reading.open {
            format!("the {name} lobe lifts its follower, sinking")
        } else if past < to_come {
            format!(
                "the {name} lobe points away, {} of cam past its flank",
                degrees(past)
            )
        } else {
            format!(
                "the {name} lobe points away, {} of cam before its flank",
                degrees(to_come)
            )
        }
    };
    Valve::BOTH.map(lobe).join("; ")
}

fn in_words(cylinder: CylinderReading, units: Units) -> String {
    let lift = |mm: f64| length(mm, units);
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
fn telling_other(phasing: &Phasing, sight: Sight) -> Option<Witness> {
    let others = phasing.engine().firing_order().iter().skip(1);
    let (told, laid_on) = told_by(sight);
    others
        .filter_map(|&number| {
            let name = format!("the {told} of No. {number}{laid_on}");
            valves(phasing, number, sight, &name)
        })
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
    let (firing, overlap, now) = (
        pushed(&drawn, 0.0),
        pushed(&drawn, 360.0),
        pushed(phasing, 0.0),
    );
    let (off, not) = ("pushed off", "not pushed");
    Witness {
        name: "the thumb over No. 1's plug hole, turning forwards to the mark".into(),
        sight: Sight::Thumb,
        looks_at: LooksAt::Cylinder(1),
        firing: if firing {
            format!("{off} as the mark comes up")
        } else {
            format!("{not}: on this engine a valve is still open there")
        },
        overlap: if overlap {
            format!("{off} here too")
        } else {
            format!("{not}: the exhaust valve lets it out")
        },
        tells: firing && !overlap,
        now: if now { off } else { not }.into(),
        revolution: now.then_some(Revolution::Firing),
    }
}

/// Where the rotor points, and how far that is past No. 1's own tower, which on an uneven cap need not
/// be the nearest: `49°, 4° past No. 1's tower`.
pub(crate) fn by_number_one(clock: Clock, tower: Clock, direction: Direction) -> String {
    let past_deg = clock.past(tower, direction);
    format!(
        "{}, {} No. 1's tower",
        degrees(clock.degrees()),
        past(past_deg, 2)
    )
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
    let tower = *Phasing::as_drawn(phasing.engine()).towers().first()?;
    let at_firing = by_number_one(firing.clock, tower, phasing.rotor_direction()?);
    Some(Witness {
        name: "the rotor, once the distributor is in".into(),
        sight: Sight::Rotor,
        looks_at: LooksAt::Cap,
        firing: format!("at {at_firing}"),
        overlap: format!("at {}, half a turn away", degrees(overlap.clock.degrees())),
        tells: true,
        now: format!("at {}", degrees(now.clock.degrees())),
        revolution: which(
            now.clock.degrees(),
            firing.clock.degrees(),
            overlap.clock.degrees(),
            tooth / 2.0,
        ),
    })
}
