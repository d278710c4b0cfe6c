//! What stands over every page and answer about an engine: how it was put together, and whether valves meet
//! pistons.

use crate::diagnosis::fault;
use crate::diagnosis::verdict::{clearance_sentence, valve_to_valve};
use crate::phasing::{Phasing, ValveClearance};

/// What is other than as drawn, in a sentence; None where nothing is.
pub(crate) fn built(phasing: &Phasing) -> Option<String> {
    let assembly = phasing.assembly();
    (!assembly.is_as_drawn()).then(|| {
        format!(
            "As built, not as drawn: {}",
            fault::describe(phasing.engine(), assembly)
        )
    })
}

/// Whether valves meet pistons, in a sentence; None where the engine is as drawn and they keep
/// clear.
pub(super) fn clearance(phasing: &Phasing) -> Option<String> {
    let keep_clear = || {
        (!phasing.assembly().is_as_drawn())
            .then(|| "Valves keep clear of the pistons as built.".to_owned())
    };
    let pistons = clearance_sentence(phasing).or_else(keep_clear);
    joined(pistons, valves_may_meet(phasing))
}

/// The same without its figures.
pub(super) fn clearance_in_short(phasing: &Phasing) -> Option<String> {
    clearance(phasing).map(|sentence| match sentence.split_once(": ") {
        Some((verdict, _)) => format!("{verdict}."),
        None => sentence,
    })
}

/// The danger that stands over every answer about an engine: valves meet pistons, have too little
/// room, or a camshaft is out and nobody knows. With the camshaft as drawn, what was not stated or
/// measured is no more of a danger than it was.
pub(crate) fn danger(phasing: &Phasing) -> Option<String> {
    let is_unknown = matches!(
        phasing.valve_clearance(),
        ValveClearance::NotMeasured | ValveClearance::LiftNotStated { .. }
    );
    let pistons = clearance_sentence(phasing)
        .filter(|_| !(phasing.assembly().cams().are_right() && is_unknown));
    joined(pistons, valves_may_meet(phasing))
}

/// That the two valves of a cylinder may meet, where they may.
fn valves_may_meet(phasing: &Phasing) -> Option<String> {
    let keep_clear = phasing.valves_keep_clear_of_one_another()?;
    valve_to_valve(phasing).filter(|_| !keep_clear)
}

fn joined(one: Option<String>, other: Option<String>) -> Option<String> {
    match (one, other) {
        (Some(one), Some(other)) => Some(format!("{one} {other}")),
        (one, other) => one.or(other),
    }
}

/// What comes before any step that turns the crank; None where no valve meets its piston.
pub(crate) fn first(phasing: &Phasing) -> Option<String> {
    let engine = phasing.engine();
    let cams = phasing.assembly().cams();
    let names: Vec<&str> = cams
        .out()
        .map(|(out, _)| engine.camshaft_name(out))
        .collect();
    let first = match &names[..] {
        [] => {
            "Valves meet pistons as drawn already: find out why first, by the drops measured at TDC and by the cam card.".to_owned()
        }
        _ if !engine.has_several_camshafts() => "The camshaft is put right first.".to_owned(),
        [one] => format!("The {one} is put right first."),
        several => format!("The {} are put right first.", several.join(" and the ")),
    };
    phasing.valve_clearance().meets().then_some(first)
}

/// What is said in place of steps that turn the crank, where valves meet pistons.
pub(crate) fn instead_of_steps(phasing: &Phasing) -> Option<String> {
    first(phasing).map(|first| {
        format!(
            "{first} No step that turns the crank is given until then: it does not go past the place where a valve meets its piston, \
             neither by hand nor by the starter."
        )
    })
}
