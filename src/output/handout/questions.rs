//! What the page needs to ask the questions of a code by itself: the words they are asked in, what the
//! rules in `quiz` go by, and how the engine looks with each fault. The answers are reckoned by its
//! script, from these and from the tables that turn the drawings.

use serde::Serialize;

use crate::engine::Engine;
use crate::phasing::Phasing;
use crate::quiz::looks::Looks;
use crate::quiz::wording::{WORDS, Wording};
use crate::quiz::{Answer, QuestionKind, Round, faults, standing};
use crate::words;

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
    words: &'static Wording,
    /// What is wrong, as it is asked about this engine.
    wrong: String,
    /// How far either side of a dead centre its valves are told.
    either_side: f64,
    /// How near each tower the rotor points at it, hundredths of a degree.
    reach: Vec<i64>,
    faults: Vec<Fault>,
    /// How the engine looks as it is drawn on this page.
    built: Looks,
    /// 1 where the rotor turns clockwise, −1 where it turns the other way.
    rotor: f64,
    every_turn: bool,
    /// What stands before the leads as they are plugged; empty without leads.
    leads: String,
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
                says: Answer::Built(assembly).words(engine),
                looks: Looks::of(&built),
                why: faults::fault_reason(&built)
                    .lines()
                    .map(str::to_owned)
                    .collect(),
            }
        };
        let distributor = engine.metric().distributor.as_ref();
        Self {
            kinds: Round::kinds(phasing).into_iter().map(key).collect(),
            words: &WORDS,
            wrong: faults::asks_what_is_wrong(engine),
            either_side: standing::EITHER_SIDE_DEG,
            reach: standing::tower_reach(phasing),
            faults: faults::faults_of(phasing)
                .0
                .into_iter()
                .map(fault)
                .collect(),
            built: Looks::of(phasing),
            rotor: distributor.map_or(1.0, |own| own.rotation().sign()),
            every_turn: engine.sparks_every_turn(),
            leads: plugged(distributor.is_some(), engine),
        }
    }
}

/// What stands before the leads as they are plugged, and the order they should be in; empty without
/// leads.
fn plugged(on_a_cap: bool, engine: &Engine) -> String {
    let places = if on_a_cap {
        "from No. 1's tower on, the way the rotor turns"
    } else if engine.has_leads() {
        "at the coils' terminals, one coil after another"
    } else {
        return String::new();
    };
    let order = words::joined(engine.lead_order(), "\u{2011}");
    format!("Leads, {places}: drawn {order}, plugged ")
}
