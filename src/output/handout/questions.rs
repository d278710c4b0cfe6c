//! What the page needs to ask the questions of a code by itself: the words they are asked in, what the
//! rules in `quiz` go by, and how the engine looks with each fault. The answers are reckoned by its
//! script, from these and from the tables that turn the drawings.

use serde::Serialize;

use crate::phasing::Phasing;
use crate::quiz::looks::Looks;
use crate::quiz::{self, QuestionKind, Round, wording};

/// The question's words, for each kind.
#[derive(Serialize)]
struct Asks {
    compression: &'static str,
    compressions: &'static str,
    stroke: &'static str,
    rotor: &'static str,
    dead_centre: &'static str,
    wrong: String,
}

/// A way of putting the engine together.
#[derive(Serialize)]
struct Fault {
    says: String,
    looks: Looks,
    /// What comes of it, a paragraph each.
    why: Vec<String>,
}

#[derive(Serialize)]
pub(super) struct Questions {
    /// The kinds of all but the last, in the order they are drawn from.
    kinds: Vec<&'static str>,
    asks: Asks,
    /// How near each tower the rotor points at it, hundredths of a degree.
    reach: Vec<i64>,
    faults: Vec<Fault>,
    /// How the engine looks as it is drawn on this page.
    built: Looks,
    /// 1 where the rotor turns clockwise, −1 where it turns the other way.
    rotor: f64,
    every_turn: bool,
    /// What stands before the leads as they are plugged; empty without leads.
    leads: &'static str,
}

/// A kind as the script calls it.
fn key(kind: QuestionKind) -> &'static str {
    match kind {
        QuestionKind::OnCompression => "compression",
        QuestionKind::StrokeOf => "stroke",
        QuestionKind::RotorPoints => "rotor",
        QuestionKind::FiringOrOverlap => "dead_centre",
        QuestionKind::WhatIsWrong => "wrong",
    }
}

impl Questions {
    pub(super) fn of(phasing: &Phasing) -> Self {
        let engine = phasing.engine();
        let fault = |assembly| {
            let built = Phasing::as_built(engine, &assembly);
            Fault {
                says: quiz::Answer::Built(assembly).words(engine),
                looks: Looks::of(&built),
                why: quiz::fault_reason(&built)
                    .lines()
                    .map(str::to_owned)
                    .collect(),
            }
        };
        let distributor = engine.metric().distributor.as_ref();
        Self {
            kinds: Round::kinds(phasing).into_iter().map(key).collect(),
            asks: Asks {
                compression: wording::ON_COMPRESSION,
                compressions: wording::ONE_ON_COMPRESSION,
                stroke: wording::STROKE_OF,
                rotor: wording::ROTOR_POINTS,
                dead_centre: wording::FIRING_OR_OVERLAP,
                wrong: quiz::asks_what_is_wrong(engine),
            },
            reach: quiz::tower_reach(phasing),
            faults: quiz::faults_of(phasing).0.into_iter().map(fault).collect(),
            built: Looks::of(phasing),
            rotor: distributor.map_or(1.0, |own| own.rotation().sign()),
            every_turn: engine.sparks_every_turn(),
            leads: match (distributor.is_some(), engine.has_leads()) {
                (true, _) => {
                    "Leads as plugged, from No. 1's tower (as drawn) in the rotor's direction: "
                }
                (false, true) => {
                    "Leads as plugged, at the coils' terminals, one coil after another: "
                }
                (false, false) => "",
            },
        }
    }
}
