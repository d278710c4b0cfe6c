//! The guided job: its steps, written out for one engine.

use super::progress::Progress;
use super::step::{Condition, Step};
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::{Coupling, Distributor, DriveKind, MarkOn};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::laws::gear_train;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::dropin::{DropIn, dropin, witnesses};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, Lash, LashStop, NeverFree, lash};
use crate::words::{cylinders, degrees};

const NEVER_FORCE: &str =
    "Never force a crank that stops: back off and look. A valve may be on a piston.";
const RUNNING_WAY: &str = "Come to the place in the running direction; if you pass it, go back well past and come up again, so that slack lies where it runs.";
const STILL: &str = "The crank must not move while the drive goes in. Fingers clear of the gears.";

/// The whole job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its steps, in the order they are done.
    pub steps: Vec<Step>,
}

impl Job {
    /// The job for an engine as drawn; how it was put together so far does not change what must be
    /// done.
    pub fn of(phasing: &Phasing) -> Self {
        Self {
            steps: all(&Phasing::as_drawn(phasing.engine())),
        }
    }

    /// The first step that is not done; None when the job is.
    pub(super) fn next_open(&self, progress: &Progress) -> Option<usize> {
        self.steps.iter().position(|step| !progress.has(step))
    }
}

fn all(drawn: &Phasing) -> Vec<Step> {
    let mut steps = vec![marks(drawn), overlap(drawn), firing_tdc(drawn)];
    if let (Some(drop), Some(distributor)) = (dropin(drawn), &drawn.engine().metric().distributor) {
        steps.push(rotor_held(&drop));
        steps.push(rotor_seated(drawn, &drop, distributor));
        steps.push(two_turns(drawn));
        steps.extend((0..drop.leads.len()).map(|index| lead(drawn, &drop, index, distributor)));
    } else {
        steps.push(two_turns(drawn));
    }
    let lash = lash(drawn, DEFAULT_MARGIN_DEG);
    steps.extend(
        lash.stops
            .iter()
            .enumerate()
            .map(|(index, stop)| valve_stop(&lash, index, stop)),
    );
    steps
}

fn drive_words(kind: DriveKind) -> (&'static str, &'static str) {
    match kind {
        DriveKind::Gears => ("gear", "mesh the cam gear with the crank's"),
        DriveKind::Chain => ("sprocket", "lay the chain on both sprockets"),
        DriveKind::Belt => (
            "pulley",
            "lay the belt on both pulleys, its driving side taut",
        ),
    }
}

fn marks(drawn: &Phasing) -> Step {
    let drive = &drawn.engine().metric().cam_drive;
    let (wheel, lay) = drive_words(drive.kind);
    let at = CrankAngle::new(drive.marks_meet_at);
    let mut must_be_seen = vec![format!(
        "The cam {wheel}'s mark stands against the crank {wheel}'s, on the very tooth."
    )];
    let by_mark = at.by_the_mark();
    must_be_seen.push(if !(0.5..=359.5).contains(&by_mark) {
        "The crank is then at No. 1's top dead centre by its own mark.".into()
    } else {
        format!("The crank is then {by_mark:.0}° past No. 1's top dead centre by its own mark, and not at it.")
    });
    must_be_seen.push(format!(
        "One tooth of the cam {wheel} is {:.1}° of crank. Count the teeth to the marks, and do not go by eye.",
        gear_train::crank_per_cam_tooth(drive).degrees()
    ));
    let turns = gear_train::turns_between_meetings(drive);
    if turns > 2 {
        must_be_seen.push(format!("The idler carries a mark too: once they have parted, all of them meet again only after {turns} turns."));
    }
    Step {
        key: "marks-meet".into(),
        title: "Set the cam to the crank by the marks".into(),
        action: format!(
            "Turn the crank until its mark comes to the cam {wheel}'s, and {lay} so that the marks meet."
        ),
        must_be_seen,
        caution: Some(TURNING_CAUTION),
        crank: at,
        right: Condition::MarksMeet(at),
    }
}

fn pulley_mark(drawn: &Phasing) -> Option<String> {
    let marks = &drawn.engine().metric().marks;
    let (index, mark) = marks
        .iter()
        .enumerate()
        .find(|(_, mark)| mark.on == MarkOn::Crankshaft)?;
    let clock = drawn.at(CrankAngle::new(0.0)).marks.get(index)?.degrees();
    Some(format!(
        "The {} stands at {clock:.0}°, clockwise from straight up seen from the front.",
        mark.name
    ))
}

fn overlap(drawn: &Phasing) -> Step {
    let at = CrankAngle::new(360.0);
    let mut must_be_seen = Vec::new();
    if let Some(pulley) = pulley_mark(drawn) {
        must_be_seen.push(format!(
            "{pulley} It stands so at both top dead centres and cannot tell them apart."
        ));
    }
    must_be_seen.extend(
        witnesses(drawn)
            .iter()
            .filter(|witness| witness.tells)
            .map(|witness| seen(&witness.name, &witness.overlap)),
    );
    Step {
        key: "overlap-tdc".into(),
        title: "Meet the wrong top dead centre first".into(),
        action: "Turn on to No. 1's top dead centre on overlap: the end of its exhaust stroke. Learn what it looks like, so that you \
                 never take it for the right one."
            .into(),
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: at,
        right: Condition::NumberOneAt(DeadCentre::OverlapTdc),
    }
}

fn firing_tdc(drawn: &Phasing) -> Step {
    let at = CrankAngle::new(0.0);
    let witnesses = witnesses(drawn);
    // Those that cannot tell firing from overlap on this engine come last, and with what to do
    // about it.
    let (telling, not): (Vec<_>, Vec<_>) = witnesses.iter().partition(|witness| witness.tells);
    let mut must_be_seen: Vec<String> = telling
        .iter()
        .chain(&not)
        .map(|witness| seen(&witness.name, &witness.firing))
        .collect();
    must_be_seen.extend(pulley_mark(drawn));
    Step {
        key: "firing-tdc".into(),
        title: "Turn on to No. 1 firing TDC, and prove it three ways".into(),
        action: "Turn on one more turn in the running direction, to the top of No. 1's compression stroke. Believe it only when three \
                 of these agree."
            .into(),
        must_be_seen,
        caution: Some(RUNNING_WAY),
        crank: at,
        right: Condition::NumberOneAt(DeadCentre::FiringTdc),
    }
}

fn seen(name: &str, shows: &str) -> String {
    let mut letters = name.chars();
    let capital = letters
        .next()
        .map_or(String::new(), |first| first.to_uppercase().collect());
    format!("{capital}{}: {shows}.", letters.as_str())
}

fn rotor_held(drop: &DropIn) -> Step {
    let (start, end, turns) = (drop.rotor_start, drop.rotor_end, drop.turns_on_entry_deg);
    let mut must_be_seen = vec![format!(
        "The rotor points to {:.0}° on the cap's clock before the drive takes hold.",
        start.degrees()
    )];
    if turns == 0.0 {
        must_be_seen
            .push("This drive does not turn as it goes down: it starts where it ends.".into());
    } else {
        let way = if turns > 0.0 {
            "clockwise"
        } else {
            "anticlockwise"
        };
        must_be_seen.push(format!(
            "It will turn {:.0}° {way} on its way down and end at {:.0}°, so it must start that far back.",
            turns.abs(),
            end.degrees()
        ));
    }
    must_be_seen.push(match drop.coupling {
        Coupling::Gear => {
            format!("The next tooth either side is {:.1}° away: hold it nearer to this one than to its neighbours.", drop.degrees_per_tooth)
        }
        Coupling::OffsetTongue => "The tongue is off the centre: it goes home only one way.".into(),
        Coupling::CentralTongue => "The tongue is on the centre: it goes home half a turn out as readily as right.".into(),
    });
    Step {
        key: "rotor-start".into(),
        title: "Find where the rotor must start".into(),
        action: "Leave the crank at No. 1 firing TDC. Lift the distributor out, and turn its rotor to the place from which it will end at \
                 No. 1's tower."
            .into(),
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Condition::RotorHeld(start),
    }
}

fn rotor_seated(drawn: &Phasing, drop: &DropIn, distributor: &Distributor) -> Step {
    let past = drawn
        .at(CrankAngle::new(0.0))
        .rotor
        .map_or(0.0, |rotor| rotor.past_deg);
    let mut must_be_seen = vec![format!(
        "The rotor ends at {:.0}° on the cap's clock: {past:.1}° past No. 1's tower.",
        drop.rotor_end.degrees()
    )];
    if let Some(range) = distributor.body_range {
        must_be_seen.push(format!("The clamp lets the body turn {range:.0}° either way; what is left over a tooth is taken up there."));
    }
    Step {
        key: "rotor-home".into(),
        title: "Let the drive down".into(),
        action: "Let the distributor down without turning the crank, and see where the rotor ends. If it is a tooth out, lift it and try \
                 again: do not turn the crank to meet it."
            .into(),
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Condition::RotorSeated(drop.rotor_end),
    }
}

fn two_turns(drawn: &Phasing) -> Step {
    let mut must_be_seen = vec!["The crank goes round twice without a stop.".to_owned()];
    let turns = gear_train::turns_between_meetings(&drawn.engine().metric().cam_drive);
    must_be_seen.push(if turns > 2 {
        format!("The crank's and the cam's marks come back to where they were; the idler's does not, until {turns} turns.")
    } else {
        "The marks come back to where they were, on the very tooth.".into()
    });
    if let Some(rotor) = drawn.at(CrankAngle::new(0.0)).rotor {
        must_be_seen.push(format!(
            "The rotor has gone round once and stands at No. {}'s tower again.",
            rotor.tower
        ));
    }
    must_be_seen.push("Both valves of No. 1 are shut again.".into());
    Step {
        key: "two-turns".into(),
        title: "Check by two turns of the crank".into(),
        action: "Turn the crank two whole turns by hand, slowly, in the running direction, back to No. 1 firing TDC.".into(),
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: CrankAngle::new(0.0),
        right: Condition::TwoTurns,
    }
}

fn lead(drawn: &Phasing, drop: &DropIn, index: usize, distributor: &Distributor) -> Step {
    let crank = CrankAngle::new(drawn.engine().firing_angles()[index]);
    let (tower, cylinder) = (
        drop.leads[index].tower.degrees(),
        drop.leads[index].cylinder,
    );
    let direction = distributor.rotation.word();
    let action = if index == 0 {
        "With No. 1 at firing TDC, plug No. 1's lead into the tower at the rotor.".to_owned()
    } else {
        let on = drawn.engine().firing_angles()[index] - drawn.engine().firing_angles()[index - 1];
        format!(
            "Turn on {on:.0}° to No. {cylinder}'s firing TDC, and plug its lead into the tower at the rotor."
        )
    };
    Step {
        key: format!("lead-{cylinder}"),
        title: format!(
            "Lead {} of {}: No. {cylinder}",
            index + 1,
            drawn.engine().cylinder_count()
        ),
        action,
        must_be_seen: vec![
            format!("The rotor points at the tower at {tower:.0}° on the cap's clock."),
            format!("No. {cylinder}'s valves are both shut."),
            format!(
                "Towers are counted {direction}, the way the rotor turns, and not round the cap as the cylinders stand."
            ),
        ],
        caution: None,
        crank,
        right: Condition::Lead {
            cylinder,
            tower_index: index,
        },
    }
}

fn valve_stop(lash: &Lash, index: usize, stop: &LashStop) -> Step {
    let LashStop {
        crank,
        intake,
        exhaust,
    } = stop;
    let valves = [("intake", intake), ("exhaust", exhaust)];
    let words = valves
        .iter()
        .filter(|(_, numbers)| !numbers.is_empty())
        .map(|(word, numbers)| format!("{word} of {}", cylinders(numbers)));
    let words = words.collect::<Vec<_>>().join(", ");
    let mut must_be_seen = vec![
        "A feeler of the maker's clearance goes in with a light drag at each of these, and the next size up does not.".to_owned(),
        format!("Each of them is off its lobe by {} of crank at least, on both sides.", degrees(DEFAULT_MARGIN_DEG)),
    ];
    if let (Some(NeverFree { cylinder, valve }), true) =
        (lash.never.first(), index + 1 == lash.stops.len())
    {
        must_be_seen.push(format!("No. {cylinder}'s {} is never that far off its lobe: set it midway, where it is furthest.", valve.word()));
    }
    let list = |numbers: &[u8]| {
        numbers
            .iter()
            .map(u8::to_string)
            .collect::<Vec<_>>()
            .join("+")
    };
    Step {
        key: format!("valves-in-{}-ex-{}", list(intake), list(exhaust)),
        title: format!("Set the valves: stop {} of {}", index + 1, lash.stops.len()),
        action: format!(
            "Turn on until the crank stands at {}, and set the {words}.",
            degrees(crank.degrees())
        ),
        must_be_seen,
        caution: Some("Use the clearance the engine maker's manual gives, hot or cold as it says."),
        crank: *crank,
        right: Condition::ValvesFree {
            intake: intake.clone(),
            exhaust: exhaust.clone(),
            margin: CrankTurn::new(DEFAULT_MARGIN_DEG),
        },
    }
}
