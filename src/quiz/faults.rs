//! What is wrong: the faults that are asked about, and the question which of them it is.

#![expect(
    clippy::indexing_slicing,
    reason = "choices are indices of the faults in another order"
)]

use std::sync::Arc;

use super::chance::Chance;
use super::looks::Looks;
use super::question::{Answer, Question, QuestionKind};
use super::wording::{WORDS, filled};
use crate::angle::CrankAngle;
use crate::description::Coupling;
use crate::diagnosis::{fault, verdict};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::phasing::Phasing;
use crate::procedures::LooksAt;

/// A fault is not asked about again within so many questions about faults.
pub(super) const NOT_AGAIN_WITHIN: usize = 10;

/// Teeth that a wheel can be out in a question: what a diagnosis tells apart.
const MOST_TEETH_OUT: i32 = 4;

/// The faults that are asked about, as drawn among them: those this engine can have, each seen
/// apart from every other.
pub(super) fn faults(engine: &Arc<Engine>) -> Vec<Assembly> {
    let mut faults = vec![Assembly::default()];
    // A tooth either way; further out only until there are enough not to come again too soon.
    for teeth in 1..=MOST_TEETH_OUT {
        if teeth > 1 && faults.len() > NOT_AGAIN_WITHIN {
            break;
        }
        faults.extend(teeth_out(engine, teeth));
        if teeth == 1 {
            faults.extend(leads_moved(engine));
        }
    }
    faults.retain(|fault| fault.check(engine).is_empty());
    faults
}

/// Each wheel so many teeth out, either way; and a tongue the other way about, where that is one
/// tooth's worth of fault.
fn teeth_out(engine: &Engine, teeth: i32) -> Vec<Assembly> {
    let mut faults: Vec<Assembly> = (0..engine.camshaft_count())
        .flat_map(|camshaft| {
            [teeth, -teeth].map(|teeth| {
                Assembly::default().with_cams(CamTeeth::default().with(camshaft, teeth))
            })
        })
        .collect();
    let Some(distributor) = &engine.metric().distributor else {
        return faults;
    };
    let coupling = distributor.coupling();
    if coupling == Coupling::Gear || distributor.is_on_geared_shaft() {
        // Further than a quarter of its teeth out it is seen to be half a turn out, or nearly.
        if teeth == 1 || teeth.unsigned_abs() * 4 < distributor.driven_teeth {
            faults.extend([teeth, -teeth].map(|drive_teeth| Assembly {
                drive_teeth,
                ..Assembly::default()
            }));
        }
    }
    if coupling == Coupling::CentralTongue && teeth == 1 {
        faults.push(if distributor.is_on_geared_shaft() {
            Assembly {
                tongue_half_turn: true,
                ..Assembly::default()
            }
        } else {
            Assembly {
                drive_teeth: (distributor.driven_teeth / 2).cast_signed(),
                ..Assembly::default()
            }
        });
    }
    faults
}

/// Leads plugged one tower round, and two of them crossed; or two changed over between coils.
fn leads_moved(engine: &Engine) -> Vec<Assembly> {
    let plugged = |leads| Assembly {
        leads: Some(leads),
        ..Assembly::default()
    };
    if engine.metric().distributor.is_some() {
        let order = engine.firing_order();
        if order.len() <= 2 {
            return Vec::new();
        }
        let mut round = order.to_vec();
        round.rotate_left(1);
        let mut crossed = order.to_vec();
        crossed.swap(1, 2);
        return vec![plugged(round), plugged(crossed)];
    }
    // Between two coils, for on one coil it does no harm.
    let [one, other, ..] = engine.coils() else {
        return Vec::new();
    };
    let Some((one, other)) = one.first().zip(other.first()) else {
        return Vec::new();
    };
    let change = |&lead: &u8| match lead {
        lead if lead == *one => *other,
        lead if lead == *other => *one,
        lead => lead,
    };
    vec![plugged(engine.lead_order().iter().map(change).collect())]
}

/// The faults that are asked about on an engine as built, and which of them it has. As drawn, it may
/// have any.
pub(crate) fn faults_of(built: &Phasing) -> (Vec<Assembly>, Option<usize>) {
    let engine = built.engine();
    let mut faults = faults(engine);
    if built.assembly().is_as_drawn() {
        return (faults, None);
    }
    let planted = Looks::of(built);
    let same = |fault: &Assembly| Looks::of(&Phasing::as_built(engine, fault)) == planted;
    let known = faults.iter().position(same);
    // Out twice, and so that nothing shows of it.
    if known == Some(0) {
        return (faults, None);
    }
    let index = known.unwrap_or_else(|| {
        faults.push(built.assembly().clone());
        faults.len() - 1
    });
    (faults, Some(index))
}

/// What is wrong with an engine as built; with one as drawn, once it is built in some way.
/// Of those that were asked about `lately` none is drawn again, but where there are too few others.
pub(super) fn fault_question(
    built: &Phasing,
    lately: &[Assembly],
    chance: &mut Chance,
) -> Option<Question> {
    const CHOICES: usize = 4;
    let engine = built.engine();
    let (faults, planted) = faults_of(built);
    // Where there are fewer than would do, the one that was asked about longest ago comes again.
    let most = NOT_AGAIN_WITHIN.min(faults.len()) - 1;
    let lately: Vec<&Assembly> = lately.iter().rev().take(most).collect();
    let fresh: Vec<usize> = (0..faults.len())
        .filter(|index| !lately.contains(&&faults[*index]))
        .collect();
    let wrong = match planted {
        Some(planted) => planted,
        None => chance.pick(&fresh)?,
    };
    let mut others: Vec<usize> = (1..faults.len()).filter(|index| *index != wrong).collect();
    chance.shuffle(&mut others);
    // "Nothing" is always among the choices, so that the list never gives it away.
    let mut shown: Vec<usize> = [wrong]
        .into_iter()
        .chain((wrong != 0).then_some(0))
        .chain(others)
        .take(CHOICES)
        .collect();
    chance.shuffle(&mut shown);
    let assembly = if planted.is_some() {
        built.assembly().clone()
    } else {
        faults[wrong].clone()
    };
    let crank = CrankAngle::new(chance.below(72) as f64 * 10.0);
    Some(Question {
        kind: QuestionKind::WhatIsWrong,
        text: asks_what_is_wrong(engine),
        crank,
        right: shown
            .iter()
            .enumerate()
            .filter(|(_, index)| **index == wrong)
            .map(|(place, _)| place)
            .collect(),
        reason: fault_reason(&Phasing::as_built(engine, &assembly)),
        choices: shown
            .into_iter()
            .map(|index| Answer::Built(faults[index].clone()))
            .collect(),
        assembly,
        looks_at: LooksAt::Whole,
    })
}

/// The question what is wrong, as it is asked about this engine.
pub(crate) fn asks_what_is_wrong(engine: &Engine) -> String {
    filled(
        WORDS.what_is_wrong,
        &[("parts", what_there_is_to_look_at(engine))],
    )
}

/// What a fault can be seen by on this engine.
fn what_there_is_to_look_at(engine: &Engine) -> &'static str {
    match (engine.metric().distributor.is_some(), engine.has_leads()) {
        (true, _) => "marks, valves, rotor and leads",
        (false, true) => "marks, valves and leads",
        (false, false) => "marks and valves",
    }
}

/// What is wrong, and what comes of it.
pub(crate) fn fault_reason(built: &Phasing) -> String {
    let verdict = verdict::of(built);
    let lines = [
        fault::describe(built.engine(), built.assembly()),
        verdict.sentence,
    ]
    .into_iter()
    .chain(verdict.consequences);
    lines.collect::<Vec<_>>().join("\n")
}
