//! The camshaft: laid in, set to the crank by the marks, its end play; the case closed and the heads
//! on, before it or after it.

use super::bench::{BEFORE_IT_RUNS, Bench, COVER_OFF, MANUAL_FIRST, NEVER_FORCE, PROVED};
use super::blank::Blank;
use super::step::{Condition, Step};
use crate::angle::CrankAngle;
use crate::description::{CamDrive, DriveKind, ValveGear, job_steps as keys};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::engine::Engine;
use crate::laws::{chain_run, gear_train};
use crate::procedures::dropin::marks_meet_on_overlap;
use crate::words::{by_the_tdc_mark, capitalised, degrees};

pub(super) fn steps(on: Bench<'_>) -> Vec<Step> {
    let case = on.case_opens().then(|| case_closed(on));
    let heads = on.all_is_out().then(|| heads_on(on));
    let mut cam = Vec::new();
    if on.all_is_out() {
        cam.push(cam_in(on));
    }
    // In a split case that stayed closed the cam drive is out of reach.
    if on.cam_drive_is_reached() {
        cam.extend([marks(on), end_play(on)]);
    }
    let mut steps: Vec<Step> = if on.d().has_overhead_camshafts() {
        // It lies in the head, and goes in when that is on.
        case.into_iter().chain(heads).chain(cam).collect()
    } else {
        cam.into_iter().chain(case).chain(heads).collect()
    };
    steps.push(turns_free());
    steps
}

fn cam_in(on: Bench<'_>) -> Step {
    let several = on.engine().has_several_camshafts();
    let gears = on.d().cam_drive.kind == DriveKind::Gears;
    let cam = if several {
        "each camshaft"
    } else {
        "the camshaft"
    };
    let action = if on.cam_lies_in_the_case() && gears {
        format!(
            "Oil the lobes, and lay {cam} into the half in which the crank lies, its gear into the crank's by the dots."
        )
    } else if on.cam_lies_in_the_case() {
        format!("Oil the lobes, and lay {cam} into the half in which the crank lies.")
    } else {
        format!(
            "Oil the lobes, and put {cam} in its bearings; slide it, and let no lobe strike a bearing."
        )
    };
    Step {
        must_be_seen: vec![
            "It lies down in every bearing and turns by hand with no tight place.".into(),
            "Its followers are in, where they cannot be put in later.".into(),
        ],
        caution: Some(if on.d().has_overhead_camshafts() {
            "Stand the crank so that no piston is near its top: a camshaft that is turned opens valves. Coat lobes and followers with the maker's \
             assembly lubricant. Fingers clear of the wheels."
        } else {
            "Lobes and followers run dry in the first seconds: coat both with the maker's assembly lubricant. Fingers clear of the gears."
        }),
        ..Step::new(&keys::CAM_IN, on.while_the_cam_goes_in(), action)
    }
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

fn marks(on: Bench<'_>) -> Step {
    let drawn = on.drawn;
    let drive = &drawn.engine().metric().cam_drive;
    let (wheel, lay) = drive_words(drive.kind);
    let at = CrankAngle::new(drive.marks_meet_at());
    let several = drawn.engine().has_several_camshafts();
    let mut must_be_seen = match chain_run::count_words(drive) {
        _ if several => each_cams_mark(drawn.engine(), wheel),
        None => vec![format!(
            "The cam {wheel}'s mark stands against the crank {wheel}'s, on the very tooth."
        )],
        Some(_) => Vec::new(),
    };
    must_be_seen.extend(chain_run::count_words(drive).map(|count| count_the_links(drive, &count)));
    let by_mark = at.by_the_mark();
    must_be_seen.extend(marks_meet_on_overlap(drawn.engine()));
    must_be_seen.push(if !(0.5..=359.5).contains(&by_mark) {
        "The crank is then at No. 1's top dead centre by its own mark.".into()
    } else {
        format!(
            "The crank is then {}, and not at it.",
            by_the_tdc_mark(by_mark)
        )
    });
    must_be_seen.push(format!(
        "One tooth of the cam {wheel} is {} of crank. Count the teeth to the marks, and do not go by eye.",
        degrees(gear_train::crank_per_cam_tooth(drive).degrees())
    ));
    let turns = gear_train::turns_between_meetings(drive);
    if turns > 2 {
        must_be_seen.push(format!("The idler carries a mark too: once they have parted, all of them meet again only after {turns} turns."));
    }
    let action = if several {
        format!(
            "Bring the crank and every camshaft to their marks, and {} so that all of them stand at their marks together. \
                 Do not turn the crank on while one camshaft is out of mesh, or out.",
            lay_on_every(drive.kind)
        )
    } else if drive.links_between_marks.is_some() && drive.kind != DriveKind::Gears {
        format!("Bring the crank and the cam {wheel} to their marks, and {lay}, counting.")
    } else {
        format!(
            "Turn the crank until its mark comes to the cam {wheel}'s, and {lay} so that the marks meet."
        )
    };
    Step {
        must_be_seen,
        caution: Some(TURNING_CAUTION),
        crank: at,
        right: Condition::MarksMeet(at),
        ..Step::new(&keys::MARKS_MEET, on.while_the_cam_goes_in(), action)
    }
}

/// The mark of each of several camshafts, where the marks meet.
fn each_cams_mark(engine: &Engine, wheel: &str) -> Vec<String> {
    let marks = &engine.written().marks;
    let names = engine.camshaft_names().enumerate();
    names
        .map(|(camshaft, name)| {
            let mut own = marks.iter().filter(|mark| mark.on.camshaft() == Some(camshaft));
            let named = own.next().map_or(String::new(), |mark| format!(", the {},", mark.name));
            format!("The mark on the {wheel} of the {name}{named} stands where it is drawn, on the very tooth.")
        })
        .collect()
}

/// How the drive of several camshafts is put on.
fn lay_on_every(kind: DriveKind) -> &'static str {
    match kind {
        DriveKind::Gears => "mesh every cam gear",
        DriveKind::Chain => "lay the chain on every sprocket",
        DriveKind::Belt => "lay the belt on every pulley, its driving side taut",
    }
}

/// How a chain or belt is laid on where the links between the marks are stated.
fn count_the_links(drive: &CamDrive, count: &str) -> String {
    let (one, _) = chain_run::link_words(drive.kind);
    let (wheel, _) = drive_words(drive.kind);
    format!(
        "{}, from the crank {wheel}'s mark to the cam {wheel}'s: the {one} on the crank {wheel}'s mark is 0. Miscounted, {}. \
         The slack lies on the side of the tensioner, and none on the other.",
        capitalised(count),
        chain_run::miscounted_words(drive)
    )
}

fn end_play(on: Bench<'_>) -> Step {
    let gears = on.d().cam_drive.kind == DriveKind::Gears;
    let play = if gears {
        "backlash of the cam drive, by a dial on a tooth of the cam gear, the crank held"
    } else {
        "how far a tooth of the camshaft's wheel moves with the crank held, by a dial"
    };
    Step {
        must_be_seen: vec![
            "The end play is within what the maker's manual allows.".into(),
            "The marks still meet.".into(),
        ],
        write_down: vec![
            Blank::length(
                "end-play",
                "camshaft end play, by a dial on its end while it is pushed to and fro",
                0.01,
                1.5,
            ),
            Blank::length("backlash", play, 0.0, 5.0).into_field("cam_drive.backlash"),
        ],
        ..Step::new(
            &keys::CAM_END_PLAY,
            on.while_the_cam_goes_in(),
            "Push the camshaft to and fro along its axis with a dial on its end, and rock its wheel with the crank held.",
        )
    }
}

fn case_closed(on: Bench<'_>) -> Step {
    // With the camshaft in the head there is nothing yet that a look could prove.
    let proved = on.cam_lies_in_the_case().then(|| PROVED.to_owned());
    let mut must_be_seen = vec![
            "The halves meet all round under their own weight, before any nut is turned: nothing lies between them, and no bearing is off its \
             dowel."
                .into(),
            "The rods stand up through their holes and are caught nowhere.".into(),
            "The crank turns as freely after each pass as before it.".into(),
        ];
    must_be_seen.extend(proved);
    Step {
        must_be_seen,
        caution: Some(MANUAL_FIRST),
        ..Step::new(
            &keys::CASE_CLOSED,
            on.early(),
            "Coat the joint as the maker says, lower the other half on, and tighten the studs in the maker's sequence and passes, turning the \
             crank after each.",
        )
    }
}

fn heads_on(on: Bench<'_>) -> Step {
    let valve_gear = match on.d().valves.gear {
        Some(ValveGear::PushRod) => "Each push rod stands in its follower and under its rocker.",
        _ if on.d().has_overhead_camshafts() => {
            "Each follower stands on its valve, and every shim lies where it was measured."
        }
        _ => "Push rods, rockers or followers stand each in its own place.",
    };
    Step {
        must_be_seen: vec![
            "Each piston's arrow or notch points where the manual says, and its rings' gaps stand apart.".into(),
            "Each gasket lies the right way up, and no oil or water hole is covered.".into(),
            valve_gear.into(),
        ],
        caution: Some(
            "Do not turn the crank while a head goes on: a valve that stands open can meet a piston. Take every torque from the maker's manual.",
        ),
        ..Step::new(
            &keys::HEADS_ON,
            COVER_OFF,
            "Oil the bores, fit the pistons with the cylinders, and the heads with their valve gear; tighten them in the maker's order and passes.",
        )
    }
}

fn turns_free() -> Step {
    Step {
        must_be_seen: vec![
            "It goes round with no bind and no place where it stops.".into(),
            "A place that is tight once in two turns is the camshaft's; once in each turn, the crank's.".into(),
        ],
        caution: Some(NEVER_FORCE),
        ..Step::new(
            &keys::TURNS_FREE,
            BEFORE_IT_RUNS,
            "Turn the crank two whole turns by hand, slowly, in the running direction, feeling for a bind.",
        )
    }
}
