//! A look of a proof: where the crank stands, what is looked at, what is right, and what is then
//! entered.

use crate::angle::CrankAngle;
use crate::diagnosis::next_look::LookAt;
use crate::diagnosis::observations::{CamTeethOff, Light, Observation, Observations};
use crate::words::by_the_tdc_mark;

/// A look, and what is seen where everything is as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofLook {
    /// Where the crank stands for it, by its own marks.
    pub crank_deg: f64,
    /// The same on the turn that it is on as drawn.
    pub crank: CrankAngle,
    /// What to look at.
    pub at: LookAt,
    /// The same in words.
    pub look: String,
    /// What is seen when it is right, in words.
    pub right: String,
    /// Ways of putting the engine together that are left after it, as drawn among them.
    pub leaves: usize,
    /// What is entered when it is right, with the crank there.
    pub(super) seen: Observation,
    /// The leads that are entered when it is right.
    pub(super) leads: Option<Vec<u32>>,
}

impl ProofLook {
    /// Where the crank stands for it, in words.
    pub fn place_words(&self) -> String {
        match self.at {
            LookAt::Leads | LookAt::CoilLeads => "wherever it stands".to_owned(),
            LookAt::Spark(_) => "last, once all above is right".to_owned(),
            LookAt::Dots(_) => "where the marks meet".to_owned(),
            _ => by_the_tdc_mark(self.crank_deg),
        }
    }

    /// Whether the crank is turned to a place for it.
    pub fn turns_the_crank(&self) -> bool {
        !matches!(
            self.at,
            LookAt::Leads | LookAt::CoilLeads | LookAt::Spark(_)
        )
    }

    /// What a spark is seen by; None of any other look.
    pub fn light(&self) -> Option<Light> {
        self.seen.spark.map(|spark| spark.by)
    }

    /// Enters it, seen to be right, after what was seen before.
    pub fn enter(&self, all: &mut Observations) {
        if let Some(leads) = &self.leads {
            all.leads = Some(leads.clone());
            return;
        }
        let seen = self.seen.clone();
        // A spark is seen with the crank turning: it tells no place and no turn.
        if seen.spark.is_some() {
            all.sightings.push(seen);
            return;
        }
        let last = all.sightings.last_mut();
        match last.filter(|last| last.crank.to_bits() == self.crank_deg.to_bits()) {
            Some(last) => {
                last.valves.extend(seen.valves);
                last.compression_felt.extend(seen.compression_felt);
                last.rotor = last.rotor.or(seen.rotor);
                last.slot = last.slot.or(seen.slot);
                match (&mut last.cam_teeth_off, seen.cam_teeth_off) {
                    (Some(CamTeethOff::Named(known)), Some(CamTeethOff::Named(more))) => {
                        known.extend(more);
                    }
                    (known, more) => *known = more.or(known.take()),
                }
            }
            None => all.sightings.push(Observation {
                turned_on: !all.sightings.is_empty(),
                ..seen
            }),
        }
    }
}
