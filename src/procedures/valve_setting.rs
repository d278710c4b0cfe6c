//! What each valve is set to, and how that is done.
//!
//! With screws or shims a gap is left at each shut valve, cold or hot as the maker says. A shim is
//! reckoned from what was found: new shim = old shim + gap found − gap asked. With hydraulic
//! lifters there is no gap: the adjuster is turned down to zero lash, where the play is just gone,
//! and then by the preload. Common practice, no source.

use serde::{Serialize, Serializer};

use crate::description::{Adjusters, LashAt, Valve};
use crate::engine::Engine;
use crate::words::{length, number, serialize_rounded_option};

/// What is asked for at the valves of an engine.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ValveSetting {
    /// The gap at each intake valve; None where it is not stated, and with hydraulic lifters.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub intake_gap_mm: Option<f64>,
    /// The gap at each exhaust valve; None where it is not stated, and with hydraulic lifters.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub exhaust_gap_mm: Option<f64>,
    /// Whether the engine is cold or hot then.
    #[serde(serialize_with = "as_its_word")]
    pub at: Option<LashAt>,
    /// What they are set by.
    #[serde(serialize_with = "by_their_word")]
    pub adjusters: Adjusters,
    /// Turns past zero lash, with hydraulic lifters.
    pub preload_turns: Option<f64>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    clippy::ref_option,
    reason = "serde hands fields over by reference"
)]
fn as_its_word<S: Serializer>(at: &Option<LashAt>, serializer: S) -> Result<S::Ok, S::Error> {
    at.map(LashAt::word).serialize(serializer)
}

fn by_their_word<S: Serializer>(adjusters: &Adjusters, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(adjusters.word())
}

/// A number of turns, as a builder says it.
fn turns_of(turns: f64) -> String {
    match number(turns, 3).as_str() {
        "1" => "1 turn".to_owned(),
        turns => format!("{turns} turns"),
    }
}

/// Where an adjuster is left, so many turns past zero lash.
pub(crate) fn past_zero_lash(turns: f64) -> String {
    if turns > 0.0 {
        format!("{} past zero lash", turns_of(turns))
    } else {
        "to zero lash".to_owned()
    }
}

impl ValveSetting {
    /// What an engine's description asks for.
    pub fn of(engine: &Engine) -> Self {
        let valves = &engine.metric().valves;
        let lash = valves.lash.as_ref();
        let adjusters = valves.adjusters();
        Self {
            intake_gap_mm: valves.gap(Valve::Intake),
            exhaust_gap_mm: valves.gap(Valve::Exhaust),
            at: lash.map(|lash| lash.at),
            adjusters,
            preload_turns: match adjusters {
                Adjusters::Hydraulic { preload_turns } => Some(preload_turns),
                Adjusters::Screw | Adjusters::Shim => None,
            },
        }
    }

    /// What is asked for, or where to look for it, in a sentence or two.
    pub fn asked(&self, engine: &Engine) -> String {
        let units = engine.written().units;
        if let Some(turns) = self.preload_turns {
            return format!(
                "The lifters are hydraulic: there is no gap to set or to measure. Each is set {}.",
                past_zero_lash(turns)
            );
        }
        let (Some(intake), Some(exhaust), Some(at)) =
            (self.intake_gap_mm, self.exhaust_gap_mm, self.at)
        else {
            return "The gap is not stated in the description. Take it, and whether it is set hot or cold, from the engine maker's manual or \
                a plate on the engine, and write it there: `lash: (intake: …, exhaust: …, at: Cold)` among the valves."
                .to_owned();
        };
        let (intake, exhaust, at) = (length(intake, units), length(exhaust, units), at.word());
        if intake == exhaust {
            format!("The gap asked for is {intake} at every valve, set {at}.")
        } else {
            format!(
                "The gap asked for is {intake} at the intake valves and {exhaust} at the exhaust valves, set {at}."
            )
        }
    }

    /// What must be found at each valve of a stop, and how it is come to.
    pub fn how(&self, engine: &Engine) -> String {
        let units = engine.written().units;
        match self.adjusters {
            Adjusters::Hydraulic { .. } => {
                let then = match self.preload_turns {
                    Some(turns) if turns > 0.0 => format!("Then turn it {} more.", turns_of(turns)),
                    _ => "Leave it there.".to_owned(),
                };
                format!(
                    "At each valve turn the adjuster down until the play is just gone and the lifter is not pressed in: that is zero lash. {then}"
                )
            }
            Adjusters::Shim => {
                "At each valve measure the gap and note it with the shim that is in: new shim = old shim + gap found − gap asked. With the new \
                 shims in, turn the crank twice round and measure again."
                    .to_owned()
            }
            Adjusters::Screw => match (self.intake_gap_mm, self.exhaust_gap_mm) {
                (Some(intake), Some(exhaust)) => {
                    let (intake, exhaust) = (length(intake, units), length(exhaust, units));
                    let feeler = if intake == exhaust {
                        format!("A feeler of {intake}")
                    } else {
                        format!("A feeler of {intake} at an intake, of {exhaust} at an exhaust,")
                    };
                    format!(
                        "{feeler} goes in with a light drag, and the next size up does not. Hold the screw while its locknut goes tight, and try again."
                    )
                }
                _ => "A feeler of that gap goes in with a light drag at each valve, and the next size up does not. Hold the screw while its locknut \
                    goes tight, and try again."
                    .to_owned(),
            },
        }
    }

    /// What is done to a valve at its stop.
    pub fn verb(&self) -> &'static str {
        match self.adjusters {
            Adjusters::Shim => "measure",
            Adjusters::Screw | Adjusters::Hydraulic { .. } => "set",
        }
    }

    /// What to beware of.
    pub fn caution(&self) -> &'static str {
        match (self.adjusters, self.at) {
            (Adjusters::Hydraulic { .. }, _) => {
                "A lifter full of oil cannot give way: it may hold its valve open, on the piston, once it is set. Let it bleed down, for as long \
                 as the engine maker's manual says, before the crank is turned on; and that manual comes before these figures."
            }
            (_, Some(LashAt::Hot)) => {
                "The engine is hot when they are set: hands and sleeves clear of hot parts. The engine maker's manual comes before these figures."
            }
            (_, Some(LashAt::Cold)) => {
                "The engine is stone cold when they are set. The engine maker's manual comes before these figures."
            }
            (_, None) => {
                "Set none by a guess: a gap that is too small holds its valve off the seat, and the valve burns."
            }
        }
    }
}
