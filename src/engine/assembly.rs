//! How an engine was put together: teeth out, the distributor's body turned, leads moved round.

use super::Engine;
use crate::source::{Fault, Finding, faults};
use crate::words::list;

faults! {
    /// What an engine cannot have.
    enum AssemblyFault { TeethBeyondTheWheel, BodyTurnOutOfRange, NoDistributor, LeadsAreNotTheCylinders }
}

/// One way of putting an engine together. The default is as drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Assembly {
    /// Teeth by which the cam wheel is ahead of the crank: every event earlier by as many;
    /// negative, behind.
    pub cam_teeth: i32,
    /// Teeth of its own drive by which the rotor is ahead; negative, behind.
    pub drive_teeth: i32,
    /// Degrees by which the distributor's body is turned against the rotor's rotation (advance);
    /// negative, with it.
    pub body_turn_deg: f64,
    /// Cylinder numbers as their leads are plugged, from No. 1's tower (as drawn) in the rotor's
    /// direction; None as drawn.
    pub leads: Option<Vec<u8>>,
}

impl Assembly {
    /// Whether everything is as drawn.
    pub fn is_as_drawn(&self) -> bool {
        *self == Self::default()
    }

    /// What this engine cannot have: a distributor's fault without a distributor, leads that are
    /// not its cylinders, more teeth out than the wheel has.
    pub fn check(&self, engine: &Engine) -> Vec<Finding> {
        let mut findings = Vec::new();
        let description = engine.metric();
        let cam_teeth = description.cam_drive.cam_teeth;
        if self.cam_teeth.unsigned_abs() >= cam_teeth {
            findings.push(
                Finding::error(AssemblyFault::TeethBeyondTheWheel, "--cam-teeth")
                    .message(format!(
                        "the cam wheel cannot be {} teeth out: it has {cam_teeth}",
                        self.cam_teeth
                    ))
                    .why("a whole turn of the wheel out is not out at all")
                    .fix(format!("give a number between −{0} and {0}", cam_teeth - 1)),
            );
        }
        if !self.body_turn_deg.is_finite() || self.body_turn_deg.abs() > 180.0 {
            findings.push(
                Finding::error(AssemblyFault::BodyTurnOutOfRange, "--body-turn")
                    .message(format!(
                        "the body cannot be turned {}°: −180° to 180° is allowed",
                        self.body_turn_deg
                    ))
                    .why("half a turn either way is every place the body can stand")
                    .fix("give the turn against the rotor's rotation, negative with it"),
            );
        }
        match &description.distributor {
            None if self.drive_teeth != 0 || self.body_turn_deg != 0.0 || self.leads.is_some() => findings.push(
                Finding::error(AssemblyFault::NoDistributor, "distributor")
                    .message("this engine has no distributor, so its drive, body and leads cannot be out")
                    .why("the description has no `distributor`")
                    .fix("leave out --drive-teeth, --body-turn and --leads, or describe the distributor"),
            ),
            Some(distributor) if self.drive_teeth.unsigned_abs() >= distributor.driven_teeth => findings.push(
                Finding::error(AssemblyFault::TeethBeyondTheWheel, "--drive-teeth")
                    .message(format!("the drive cannot be {} teeth out: it has {}", self.drive_teeth, distributor.driven_teeth))
                    .why("a whole turn of the drive out is not out at all")
                    .fix(format!("give a number between −{0} and {0}", distributor.driven_teeth - 1)),
            ),
            _ => {}
        }
        if let Some(leads) = &self.leads {
            let (mut given, mut wanted) = (leads.clone(), engine.firing_order().to_vec());
            given.sort_unstable();
            wanted.sort_unstable();
            if given != wanted {
                findings.push(
                    Finding::error(AssemblyFault::LeadsAreNotTheCylinders, "--leads")
                        .message(format!(
                            "leads {} do not name each of the {} cylinders once",
                            list(leads),
                            wanted.len()
                        ))
                        .why("each tower holds one lead and each plug has one")
                        .fix(format!(
                            "as drawn they go {}, from No. 1's tower in the rotor's direction",
                            list(engine.firing_order())
                        )),
                );
            }
        }
        findings
    }
}
