//! No. 1's two top dead centres: the wrong one first, then the right one by its witnesses.

use super::bench::{ANY_TIME, Bench, NEVER_FORCE, RUNNING_WAY};
use super::step::{Condition, Step};
use crate::angle::CrankAngle;
use crate::description::job_steps as keys;
use crate::phasing::{DEAD_CENTRE_WITHIN_DEG, DeadCentre};
use crate::procedures::crank_marks::{CrankMark, crank_marks, two_ends};
use crate::procedures::witnesses::witnesses;
use crate::words::capitalised;

pub(super) fn overlap(on: Bench<'_>) -> Step {
    let drawn = on.drawn;
    let at = CrankAngle::new(360.0);
    let mut must_be_seen = Vec::new();
    let marks = crank_marks(drawn);
    if !marks.is_empty() {
        let shows: Vec<String> = marks.iter().map(CrankMark::shows).collect();
        let (shows, stands) = (
            shows.join(" "),
            if marks.len() == 1 {
                "It stands"
            } else {
                "They stand"
            },
        );
        let on_the_pulley = marks.iter().any(|mark| !mark.on_flywheel) && !on.stage.is_closed();
        let pushed_on = if on_the_pulley {
            " A mark on the pulley is read with the pulley pushed on its key."
        } else {
            ""
        };
        must_be_seen.push(format!(
            "{shows} {stands} so at both top dead centres and cannot tell them apart.{pushed_on}"
        ));
    }
    must_be_seen.extend(
        witnesses(drawn, on.stage, on.not_to_be_looked_at())
            .here
            .iter()
            .filter(|witness| witness.tells)
            .map(|witness| format!("{}: {}.", capitalised(&witness.name), witness.overlap)),
    );
    // Where the marks meet there, the crank stands there already.
    let meet = CrankAngle::new(drawn.engine().metric().cam_drive.marks_meet_at());
    let come = if at.nearest_to(meet).degrees().abs() < DEAD_CENTRE_WITHIN_DEG {
        "The crank stands at No. 1's top dead centre on overlap already, for here the marks meet on it"
    } else {
        "Turn on to No. 1's top dead centre on overlap"
    };
    let action = format!(
        "{come}: the end of its exhaust stroke. Learn what it looks like, so that you never take it for the right one."
    );
    Step {
        must_be_seen,
        caution: Some(NEVER_FORCE),
        crank: at,
        right: Condition::NumberOneAt(DeadCentre::OverlapTdc),
        ..Step::new(&keys::OVERLAP_TDC, ANY_TIME, action)
    }
}

pub(super) fn firing(on: Bench<'_>) -> Step {
    let drawn = on.drawn;
    let at = CrankAngle::new(0.0);
    let witnesses = witnesses(drawn, on.stage, on.not_to_be_looked_at()).here;
    // Those that cannot tell firing from overlap on this engine come last, and with what to do
    // about it.
    let (telling, not): (Vec<_>, Vec<_>) = witnesses.iter().partition(|witness| witness.tells);
    let mut must_be_seen: Vec<String> = telling
        .iter()
        .chain(&not)
        .map(|witness| witness.must_show())
        .collect();
    let marks = crank_marks(drawn);
    must_be_seen.extend(marks.iter().map(CrankMark::shows));
    must_be_seen.extend(two_ends(&marks).map(str::to_owned));
    let (agree, alone) = match telling.len() {
        0 | 1 => ("all of these say so", true),
        2 => ("both that tell agree", true),
        _ => ("three of these agree", false),
    };
    if alone {
        must_be_seen.push(
            "Fewer than three that tell the two top dead centres apart can be had now: have somebody look with you.".to_owned(),
        );
    }
    let action = format!(
        "Turn on one more turn in the running direction, to the top of No. 1's compression stroke. Believe it only when {agree}."
    );
    Step {
        must_be_seen,
        caution: Some(RUNNING_WAY),
        crank: at,
        right: Condition::NumberOneAt(DeadCentre::FiringTdc),
        witnesses: telling.into_iter().cloned().collect(),
        ..Step::new(&keys::FIRING_TDC, ANY_TIME, action)
    }
}
