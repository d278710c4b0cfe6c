//! The checks by two turns, the cover, and the record.

use super::bench::{ANY_TIME, Bench, CLOSED, COVER_OFF, MANUAL_FIRST, NEVER_FORCE, PROVED};
use super::step::{Condition, Step};
use crate::angle::CrankAngle;
use crate::description::job_steps::sets_a_spark;
use crate::description::{DriveKind, job_steps as keys};
use crate::diagnosis::stage::Stage;
use crate::laws::gear_train;
use crate::procedures::valve_setting::ValveSetting;

pub(super) fn two_turns(on: Bench<'_>) -> Step {
    let drawn = on.drawn;
    let mut must_be_seen = vec!["The crank goes round twice without a stop.".to_owned()];
    let turns = gear_train::turns_between_meetings(&drawn.engine().metric().cam_drive);
    let out_of_sight = drawn.engine().written().cam_drive_lies_in_the_case();
    if !out_of_sight {
        must_be_seen.push(marks_come_back(turns));
    }
    if let Some(rotor) = drawn.at(CrankAngle::new(0.0)).rotor {
        must_be_seen.push(format!(
            "The rotor has gone round once and stands at No. {}'s tower again.",
            rotor.tower
        ));
    }
    must_be_seen.push("Both valves of No. 1 are shut again.".into());
    let action = "Turn the crank on to No. 1 firing TDC. From there turn it two whole turns by hand, slowly, in the running direction, back to the same place.";
    Step {
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: CrankAngle::new(0.0),
        right: Condition::TwoTurns,
        ..Step::new(&keys::TWO_TURNS, COVER_OFF, action)
    }
}

/// What the marks show after two turns, where the marks of the cam drive meet every so many.
fn marks_come_back(turns: u64) -> String {
    if turns > 2 {
        format!(
            "The crank's and the cam's marks come back to where they were; the idler's does not, until {turns} turns."
        )
    } else {
        "The marks come back to where they were, on the very tooth.".into()
    }
}

pub(super) fn cover_on(on: Bench<'_>) -> Step {
    let out_of_sight = on.d().cam_drive_lies_in_the_case();
    let (looked, action) = if out_of_sight {
        (
            "Everything at the front of the case is tight and locked, and nothing is left out.",
            "Look over the front of the case a last time. Then put on what covers it, and the crank's pulley.",
        )
    } else {
        (
            "Everything behind it is tight and locked, nothing lies in it, and the marks were seen to meet.",
            "Look behind the cover a last time. Then close the cam drive up, and put the crank's pulley on.",
        )
    };
    let mut must_be_seen = vec![looked.to_owned()];
    if on.d().cam_drive.kind != DriveKind::Gears && !out_of_sight {
        must_be_seen.push("The tensioner is released, or set to the maker's tension.".to_owned());
    }
    must_be_seen.push(PROVED.to_owned());
    must_be_seen.push("The pulley is on its key, and its mark stands where it did.".to_owned());
    Step {
        must_be_seen,
        caution: Some(MANUAL_FIRST),
        ..Step::new(&keys::COVER_ON, COVER_OFF, action)
    }
}

pub(super) fn last_turns(on: Bench<'_>) -> Step {
    let hydraulic = ValveSetting::of(on.engine()).preload_turns.is_some();
    let mut must_be_seen = vec!["The crank goes round twice without a stop.".to_owned()];
    if let Some(rotor) = on.drawn.at(CrankAngle::new(0.0)).rotor {
        must_be_seen.push(format!("The rotor stands at No. {}'s tower.", rotor.tower));
    }
    must_be_seen.push(if !on.all_is_out() {
        "Both valves of No. 1 are shut.".to_owned()
    } else if hydraulic {
        "Both valves of No. 1 are shut, and each lifter has come up to its own rocker.".to_owned()
    } else {
        "Both valves of No. 1 are shut, and their gaps are what was set.".to_owned()
    });
    Step {
        must_be_seen,
        caution: Some(NEVER_FORCE),
        right: Condition::TwoTurns,
        stage: Stage::CoverOn,
        ..Step::new(
            &keys::LAST_TURNS,
            ANY_TIME,
            "With the plugs out and the ignition off, turn the crank on to No. 1 firing TDC, and from there two whole turns by hand, back to the same place.",
        )
    }
}

pub(super) fn record() -> Step {
    Step {
        must_be_seen: vec![
            "Every step above is ticked, or it is written beside it why not.".into(),
            "What was measured stands in the build file or on the sheet, with the date.".into(),
            "The proof leaves nothing but as drawn of what can be told now, and the closing record is filled: the window's Proof, or `dotwise prove -o`.".into(),
        ],
        ..Step::new(
            &keys::RECORD,
            CLOSED,
            "Sign the sheet and keep it with the engine. What was measured can go into the description: `dotwise job --take-over`.",
        )
    }
}

pub(super) fn first_start(on: Bench<'_>) -> Step {
    let mut must_be_seen = vec![
        "Cranked with the plugs out, oil comes up at the rockers or the gauge before it is ever fired.".to_owned(),
        "It fires on the first turns, without a kick back or a spit: with either, stop, and go back to the witnesses of firing TDC.".to_owned(),
        "Nothing leaks, and nothing knocks.".to_owned(),
    ];
    if sets_a_spark(on.d()) {
        must_be_seen.push("A timing light shows the spark where it was set.".to_owned());
    }
    must_be_seen.push(
        "Cold again, head nuts and valves are gone over as the maker's manual asks.".to_owned(),
    );
    Step {
        must_be_seen,
        caution: Some(
            "Hands, hair and sleeves clear of fan, belts and flywheel; out of doors or with the exhaust led out; a fire extinguisher within reach. \
             Follow the maker's manual, and have somebody with you.",
        ),
        stage: Stage::Fired,
        ..Step::new(
            &keys::FIRST_START,
            &[Stage::Fired],
            "Only with the record signed: fill oil and coolant, prime the oil, connect the battery, and start it.",
        )
    }
}
