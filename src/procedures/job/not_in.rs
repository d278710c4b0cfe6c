//! What of the engine is not in yet.

use crate::diagnosis::stage::Sight;
use crate::engine::Engine;
use crate::words::{capitalised, cylinders};

/// What of an engine is not in yet. The default is an engine that is whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NotIn {
    /// The camshafts that are out of mesh, counted from 0 as they are described.
    pub camshafts: Vec<usize>,
    /// Those camshafts are out of their bearings too: they move no valve.
    pub bearings: bool,
    /// The geared shaft under the distributor is drawn.
    pub shaft: bool,
    /// The distributor is out.
    pub distributor: bool,
    /// The cylinders whose leads are on nothing yet, by number.
    pub leads: Vec<u8>,
}

impl NotIn {
    /// Whether everything is in.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    /// What cannot be looked at for want of it.
    pub fn sights(&self) -> Vec<Sight> {
        let mut sights = Vec::new();
        if !self.camshafts.is_empty() {
            sights.extend([Sight::Dots, Sight::Lobes, Sight::Valves, Sight::Thumb]);
        }
        if self.distributor {
            sights.extend([Sight::Rotor, Sight::Lamp]);
        }
        if !self.leads.is_empty() {
            sights.push(Sight::Leads);
        }
        if self.distributor || !self.leads.is_empty() {
            sights.push(Sight::Strobe);
        }
        sights
    }

    /// What is out, in a sentence; None where nothing is.
    pub fn words(&self, engine: &Engine) -> Option<String> {
        let mut out = Vec::new();
        let names = self.camshafts.iter().map(|&camshaft| {
            let name = if engine.has_several_camshafts() {
                engine.camshaft_name(camshaft)
            } else {
                "camshaft"
            };
            let wheel = if self.bearings { "" } else { "'s wheel" };
            format!("the {name}{wheel}")
        });
        out.extend(names);
        if self.distributor {
            out.push("the distributor".to_owned());
        }
        if self.shaft {
            out.push("the distributor's shaft".to_owned());
        }
        if self.leads.len() == engine.cylinder_count() {
            out.push("every lead".to_owned());
        } else if !self.leads.is_empty() {
            let lead = if self.leads.len() == 1 {
                "lead"
            } else {
                "leads"
            };
            out.push(format!("the {lead} of {}", cylinders(&self.leads)));
        }
        let (last, others) = out.split_last()?;
        let listed = if others.is_empty() {
            last.clone()
        } else {
            format!("{} and {last}", others.join(", "))
        };
        Some(format!("Not in yet: {}.", listed.trim()))
    }

    /// What must be done about camshafts that are out of their bearings; None where all are in.
    pub(super) fn camshaft_out_of_its_bearings(&self, engine: &Engine) -> Option<String> {
        if self.camshafts.is_empty() || !self.bearings {
            return None;
        }
        let cam = if engine.has_several_camshafts() {
            "A camshaft"
        } else {
            "The camshaft"
        };
        Some(format!(
            "{cam} is still out on the model: put it in there too."
        ))
    }

    /// The first camshaft that is out, and what must be done about it before anything is timed by
    /// it; None where all are in.
    pub(super) fn camshaft(&self, engine: &Engine) -> Option<String> {
        let name = engine.camshaft_name(*self.camshafts.first()?);
        let name = if engine.has_several_camshafts() {
            format!("the {name}")
        } else {
            "the camshaft".to_owned()
        };
        let stands = if self.bearings {
            "is not in"
        } else {
            "is not in mesh"
        };
        Some(format!(
            "{} {stands}: until it is, nothing tells the crank's two turns apart. Lay its wheel in first.",
            capitalised(&name)
        ))
    }
}
