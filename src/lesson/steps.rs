//! The steps of the guided job, written out for one engine.

use super::job::{Right, Step, rotor_start};
use crate::angle::CrankAngle;
use crate::engine::description::{Coupling, Distributor, DriveKind, MarkOn};
use crate::phasing::{DeadCentre, Phasing, Stroke, gear_train, spark};

const BEFORE_TURNING: &str = "Ignition off and the battery's earth lead off before the crank is turned by hand. Plugs out. \
                              Keep fingers clear of gears, chain and belt. The engine maker's manual and a qualified mechanic come before this program.";
const NEVER_FORCE: &str = "Never force a crank that stops: back off and look. A valve may be on a piston.";
const RUNNING_WAY: &str =
    "Come to the place in the running direction; if you pass it, go back well past and come up again, so that slack lies where it runs.";
const STILL: &str = "The crank must not move while the drive goes in. Fingers clear of the gears.";

/// Every step of the job.
pub(super) fn all(drawn: &Phasing) -> Vec<Step> {
    let mut steps = vec![marks(drawn), overlap(drawn), firing_tdc(drawn)];
    if let Some(distributor) = &drawn.engine().metric().distributor {
        steps.extend(rotor_held(drawn, distributor));
        steps.extend(rotor_home(drawn, distributor));
    }
    steps.push(two_turns(drawn));
    if drawn.engine().metric().distributor.is_some() {
        steps.extend((0..drawn.engine().cylinder_count()).map(|index| lead(drawn, index)));
    }
    steps
}

fn drive_words(kind: DriveKind) -> (&'static str, &'static str) {
    match kind {
        DriveKind::Gears => ("gear", "mesh the cam gear with the crank's"),
        DriveKind::Chain => ("sprocket", "lay the chain on both sprockets"),
        DriveKind::Belt => ("pulley", "lay the belt on both pulleys, its driving side taut"),
    }
}

fn marks(drawn: &Phasing) -> Step {
    let drive = &drawn.engine().metric().cam_drive;
    let (wheel, lay) = drive_words(drive.kind);
    let at = CrankAngle::new(drive.marks_meet_at);
    let mut must_be_seen = vec![format!("The cam {wheel}'s mark stands against the crank {wheel}'s, on the very tooth.")];
    let by_mark = at.by_the_mark();
    must_be_seen.push(if by_mark < 0.5 || by_mark > 359.5 {
        "The crank is then at No. 1's top dead centre by its own mark.".into()
    } else {
        format!("The crank is then {by_mark:.0}° past No. 1's top dead centre by its own mark, and not at it.")
    });
    must_be_seen.push(format!(
        "One tooth of the cam {wheel} is {:.1}° of crank: a tooth out is far more than an eye can miss.",
        gear_train::crank_per_cam_tooth(drive).degrees()
    ));
    let turns = gear_train::turns_between_meetings(drive);
    if turns > 2 {
        must_be_seen.push(format!("The idler carries a mark too: once they have parted, all of them meet again only after {turns} turns."));
    }
    Step {
        key: "marks-meet".into(),
        title: "Set the cam to the crank by the marks".into(),
        action: format!("Turn the crank until its mark comes to the cam {wheel}'s, and {lay} so that the marks meet."),
        must_be_seen,
        caution: Some(BEFORE_TURNING),
        crank: at,
        right: Right::MarksMeet(at),
    }
}

fn pulley_mark(drawn: &Phasing) -> Option<String> {
    let marks = &drawn.engine().metric().marks;
    let (index, mark) = marks.iter().enumerate().find(|(_, mark)| mark.on == MarkOn::Crankshaft)?;
    let clock = drawn.at(CrankAngle::new(0.0)).marks.get(index)?.degrees();
    Some(format!("The {} stands at {clock:.0}°, clockwise from straight up seen from the front.", mark.name))
}

fn overlap(drawn: &Phasing) -> Step {
    let at = CrankAngle::new(360.0);
    let reading = drawn.at(at);
    let mut must_be_seen = Vec::new();
    if let Some(pulley) = pulley_mark(drawn) {
        must_be_seen.push(format!("{pulley} It stands so at both top dead centres and cannot tell them apart."));
    }
    if let Some(one) = reading.cylinder(1) {
        must_be_seen.push(if one.intake.lift_mm > 0.0 && one.exhaust.lift_mm > 0.0 {
            format!(
                "Both valves of No. 1 are off their seats, intake {:.2} mm and exhaust {:.2} mm: turn a little to and fro and they rock.",
                one.intake.lift_mm, one.exhaust.lift_mm
            )
        } else {
            "No. 1's exhaust valve closes just before here and its intake opens just after: turn to and fro and one follows the other."
                .into()
        });
    }
    if let Some(rotor) = reading.rotor {
        must_be_seen.push(format!("The rotor, if it is in, points half a turn away from No. 1, at No. {}'s tower.", rotor.tower));
    }
    Step {
        key: "overlap-tdc".into(),
        title: "Meet the wrong top dead centre first".into(),
        action: "Turn on to No. 1's top dead centre on overlap: the end of its exhaust stroke. Learn what it looks like, so that you \
                 never take it for the right one."
            .into(),
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: at,
        right: Right::NumberOneAt(DeadCentre::OverlapTdc),
    }
}

fn firing_tdc(drawn: &Phasing) -> Step {
    let at = CrankAngle::new(0.0);
    let reading = drawn.at(at);
    let mut must_be_seen = vec![
        "First proof: both valves of No. 1 are shut, and stay shut as you turn a little to and fro. A thumb over the plug hole was \
         pushed off on the way up."
            .to_owned(),
    ];
    let mate = drawn.engine().running_mate(1).and_then(|mate| reading.cylinder(mate).copied());
    must_be_seen.push(match (mate, other_stroke(drawn)) {
        (Some(mate), _) => format!(
            "Second proof: No. {}, at the top together with No. 1, is on overlap: its valves rock (intake {:.2} mm, exhaust {:.2} mm).",
            mate.number, mate.intake.lift_mm, mate.exhaust.lift_mm
        ),
        (None, Some((number, stroke))) => format!("Second proof: No. {number} is on its {} stroke.", stroke.word()),
        (None, None) => "Second proof: no valve moves within a quarter of a turn on; at overlap the intake opens straight away.".into(),
    });
    must_be_seen.push(match reading.rotor {
        Some(rotor) => format!(
            "Third proof: the rotor, if it is in, stands at No. {}'s tower ({:.1}° past it); else the cam's marks, or the stroke of a feeler in the plug hole, coming up with both valves shut.",
            rotor.tower, rotor.past_deg
        ),
        None => "Third proof: a feeler in the plug hole came up with both valves shut, and goes down again with both shut.".into(),
    });
    must_be_seen.extend(pulley_mark(drawn));
    Step {
        key: "firing-tdc".into(),
        title: "Turn on to No. 1 firing TDC, and prove it three ways".into(),
        action: "Turn on one more turn in the running direction, to the top of No. 1's compression stroke. Believe it only when all three \
                 proofs agree."
            .into(),
        must_be_seen,
        caution: Some(RUNNING_WAY),
        crank: at,
        right: Right::NumberOneAt(DeadCentre::FiringTdc),
    }
}

/// A cylinder well within a stroke while No. 1 is at firing TDC.
fn other_stroke(drawn: &Phasing) -> Option<(u8, Stroke)> {
    let reading = drawn.at(CrankAngle::new(0.0));
    reading.cylinders.iter().find(|cylinder| cylinder.number != 1 && cylinder.dead_centre.is_none()).map(|c| (c.number, c.stroke))
}

fn rotor_held(drawn: &Phasing, distributor: &Distributor) -> Option<Step> {
    let start = rotor_start(drawn)?;
    let end = drawn.at(CrankAngle::new(0.0)).rotor?.clock;
    let turns = spark::turns_on_entry_deg(distributor);
    let mut must_be_seen = vec![format!("The rotor points to {:.0}° on the cap's clock before the drive takes hold.", start.degrees())];
    if turns == 0.0 {
        must_be_seen.push("This drive does not turn as it goes down: it starts where it ends.".into());
    } else {
        let way = if turns > 0.0 { "clockwise" } else { "anticlockwise" };
        must_be_seen.push(format!(
            "It will turn {:.0}° {way} on its way down and end at {:.0}°, so it must start that far back.",
            turns.abs(),
            end.degrees()
        ));
    }
    must_be_seen.push(match distributor.coupling {
        Coupling::Gear => format!(
            "The next tooth either side is {:.1}° away: hold it nearer to this one than to its neighbours.",
            spark::rotor_tooth(distributor).degrees()
        ),
        Coupling::OffsetTongue => "The tongue is off the centre: it goes home only one way.".into(),
        Coupling::CentralTongue => "The tongue is on the centre: it goes home half a turn out as readily as right.".into(),
    });
    Some(Step {
        key: "rotor-start".into(),
        title: "Find where the rotor must start".into(),
        action: "Leave the crank at No. 1 firing TDC. Lift the distributor out, and turn its rotor to the place from which it will end at \
                 No. 1's tower."
            .into(),
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Right::RotorHeld(start),
    })
}

fn rotor_home(drawn: &Phasing, distributor: &Distributor) -> Option<Step> {
    let rotor = drawn.at(CrankAngle::new(0.0)).rotor?;
    let mut must_be_seen =
        vec![format!("The rotor ends at {:.0}° on the cap's clock: {:.1}° past No. 1's tower.", rotor.clock.degrees(), rotor.past_deg)];
    if let Some(range) = distributor.body_range {
        must_be_seen.push(format!("The clamp lets the body turn {range:.0}° either way; what is left over a tooth is taken up there."));
    }
    Some(Step {
        key: "rotor-home".into(),
        title: "Let the drive down".into(),
        action: "Let the distributor down without turning the crank, and see where the rotor ends. If it is a tooth out, lift it and try \
                 again: do not turn the crank to meet it."
            .into(),
        must_be_seen,
        caution: Some(STILL),
        crank: CrankAngle::new(0.0),
        right: Right::RotorHome(rotor.clock),
    })
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
        must_be_seen.push(format!("The rotor has gone round once and stands at No. {}'s tower again.", rotor.tower));
    }
    must_be_seen.push("Both valves of No. 1 are shut again.".into());
    Step {
        key: "two-turns".into(),
        title: "Check by two turns of the crank".into(),
        action: "Turn the crank two whole turns by hand, slowly, in the running direction, back to No. 1 firing TDC.".into(),
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: CrankAngle::new(0.0),
        right: Right::TwoTurns,
    }
}

fn lead(drawn: &Phasing, index: usize) -> Step {
    let cylinder = drawn.engine().firing_order()[index];
    let crank = CrankAngle::new(drawn.engine().firing_angles()[index]);
    let tower = drawn.towers().get(index).map_or(0.0, |tower| tower.degrees());
    let direction = drawn.engine().metric().distributor.as_ref().map_or("clockwise", |distributor| distributor.rotation.word());
    let action = if index == 0 {
        "With No. 1 at firing TDC, plug No. 1's lead into the tower at the rotor.".to_owned()
    } else {
        let on = drawn.engine().firing_angles()[index] - drawn.engine().firing_angles()[index - 1];
        format!("Turn on {on:.0}° to No. {cylinder}'s firing TDC, and plug its lead into the tower at the rotor.")
    };
    Step {
        key: format!("lead-{cylinder}"),
        title: format!("Lead {} of {}: No. {cylinder}", index + 1, drawn.engine().cylinder_count()),
        action,
        must_be_seen: vec![
            format!("The rotor points at the tower at {tower:.0}° on the cap's clock."),
            format!("No. {cylinder}'s valves are both shut."),
            format!("Towers are counted {direction}, the way the rotor turns, and not round the cap as the cylinders stand."),
        ],
        caution: None,
        crank,
        right: Right::Lead { cylinder, tower_index: index },
    }
}
