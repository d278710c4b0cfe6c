//! How an engine was put together: teeth out, the distributor's body turned, leads moved round.

use super::Engine;
use crate::description::fields::MOST_CAMSHAFTS;
use crate::description::{Coupling, Distributor, Shaft};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;
use crate::source::{Fault, Finding, faults};
use crate::words::{list, teeth as count_teeth};

faults! {
    /// What an engine cannot have.
    pub enum AssemblyFault { NoSuchCamshaft, TeethBeyondTheWheel, BodyTurnOutOfRange, NoDistributor, LeadsAreNotTheCylinders, NotWithThisTongue }
}

/// One way of putting an engine together. The default is as drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Assembly {
    /// Teeth by which the cam wheel is ahead of the crank: every event earlier by as many;
    /// negative, behind. Of several camshafts the first's.
    pub cam_teeth: i32,
    /// The same of the camshafts after the first; zero for those the engine has not.
    pub other_cam_teeth: [i32; MOST_CAMSHAFTS - 1],
    /// Teeth of its own drive by which the rotor is ahead; negative, behind.
    pub drive_teeth: i32,
    /// Whether a central tongue went home half a turn out in its geared shaft.
    pub tongue_half_turn: bool,
    /// Degrees by which the distributor's body is turned against the rotor's rotation (advance);
    /// negative, with it.
    pub body_turn_deg: f64,
    /// Cylinder numbers as their leads are plugged, from No. 1's tower (as drawn) in the rotor's
    /// direction, or at the coils' terminals, one coil after another; None as drawn.
    pub leads: Option<Vec<u8>>,
}

impl Assembly {
    /// Teeth by which each camshaft's wheel is ahead.
    pub fn cams(&self) -> CamTeeth {
        let others = self.other_cam_teeth.into_iter().enumerate();
        others.fold(
            CamTeeth::default().with(0, self.cam_teeth),
            |cams, (other, teeth)| cams.with(other + 1, teeth),
        )
    }

    /// Sets the teeth of each camshaft's wheel.
    pub fn set_cams(&mut self, cams: CamTeeth) {
        self.cam_teeth = cams.of(0);
        for (other, teeth) in self.other_cam_teeth.iter_mut().enumerate() {
            *teeth = cams.of(other + 1);
        }
    }

    /// The same with the camshafts' wheels so.
    #[must_use]
    pub fn with_cams(mut self, cams: CamTeeth) -> Self {
        self.set_cams(cams);
        self
    }

    /// Whether everything is as drawn.
    pub fn is_as_drawn(&self) -> bool {
        *self == Self::default()
    }

    /// How the distributor's drive is out.
    pub fn drive_out(&self) -> DriveOut {
        DriveOut {
            teeth: self.drive_teeth,
            half_turn: self.tongue_half_turn,
        }
    }

    /// What this engine cannot have: a distributor's fault without a distributor, leads that are
    /// not its cylinders, more teeth out than the wheel has.
    pub fn check(&self, engine: &Engine) -> Vec<Finding> {
        let mut findings = Vec::new();
        let description = engine.metric();
        let cam_teeth = description.cam_drive.cam_teeth;
        let (count, several) = (engine.camshaft_count(), engine.has_several_camshafts());
        for (camshaft, out) in self.cams().out() {
            if camshaft >= count {
                findings.push(
                    Finding::error(AssemblyFault::NoSuchCamshaft, "--cam-teeth")
                        .message(format!(
                            "camshaft {} is not on this engine: it has {count}",
                            camshaft + 1
                        ))
                        .why("what is not there cannot be out")
                        .fix("leave its teeth out, or describe it under `camshafts`"),
                );
                continue;
            }
            if out.unsigned_abs() < cam_teeth {
                continue;
            }
            let wheel = if several {
                format!("the wheel of the {}", engine.camshaft_name(camshaft))
            } else {
                "the cam wheel".to_owned()
            };
            findings.push(
                Finding::error(AssemblyFault::TeethBeyondTheWheel, "--cam-teeth")
                    .message(format!(
                        "{wheel} cannot be {out} teeth out: it has {cam_teeth}"
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
        let drive_or_body = !self.drive_out().is_as_drawn() || self.body_turn_deg != 0.0;
        match &description.distributor {
            None if !engine.coils().is_empty() && drive_or_body => findings.push(
                Finding::error(AssemblyFault::NoDistributor, "distributor")
                    .message("this engine has no distributor, so its drive and body cannot be out")
                    .why("the description has no `distributor`; its sparks come from `coils`")
                    .fix("leave out --drive-teeth, --tongue-half-turn and --body-turn: only leads can be out"),
            ),
            None if engine.coils().is_empty() && (drive_or_body || self.leads.is_some()) => findings.push(
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
            Some(distributor) => findings.extend(self.tongue(distributor)),
            None => {}
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
                        .why(if engine.coils().is_empty() {
                            "each tower holds one lead and each plug has one"
                        } else {
                            "each terminal holds one lead and each plug has one"
                        })
                        .fix(format!(
                            "as drawn they go {}, {}",
                            list(engine.lead_order()),
                            if engine.coils().is_empty() {
                                "from No. 1's tower in the rotor's direction"
                            } else {
                                "at the coils' terminals, one coil after another"
                            }
                        )),
                );
            }
        }
        findings
    }

    /// What a tongue does not allow.
    fn tongue(&self, distributor: &Distributor) -> Option<Finding> {
        let teeth = distributor.driven_teeth;
        let is_half = self.drive_teeth.unsigned_abs() * 2 == teeth;
        let cannot_be = |place: &str, message: String, why: &str, fix: String| {
            Some(
                Finding::error(AssemblyFault::NotWithThisTongue, place)
                    .message(message)
                    .why(why)
                    .fix(fix),
            )
        };
        let geared = "or describe `shaft: Geared` where the tongue's shaft has a gear of its own";
        match (distributor.coupling(), distributor.shaft()) {
            (coupling, Shaft::Plain) if self.tongue_half_turn => {
                let central = coupling == Coupling::CentralTongue && teeth.is_multiple_of(2);
                cannot_be(
                    "--tongue-half-turn",
                    "there is no central tongue on a geared shaft to go home half a turn out"
                        .into(),
                    "beside teeth out of its shaft, only a central tongue can be half a turn out",
                    if central {
                        format!(
                            "on a plain shaft the tongue's other way is --drive-teeth {}",
                            teeth / 2
                        )
                    } else {
                        "leave it out".into()
                    },
                )
            }
            (Coupling::OffsetTongue, Shaft::Geared) if self.tongue_half_turn => cannot_be(
                "--tongue-half-turn",
                "a tongue off the centre cannot go home half a turn out".into(),
                "it goes into its slot one way only; what can be out is its shaft",
                "leave it out, and give the shaft's teeth as --drive-teeth".into(),
            ),
            (Coupling::OffsetTongue, Shaft::Plain) if self.drive_teeth != 0 => cannot_be(
                "--drive-teeth",
                "the drive cannot be teeth out: its tongue is off the centre, on a plain shaft"
                    .into(),
                "such a tongue goes home one way only, and a plain shaft cannot be out of mesh",
                format!("leave it out, {geared}"),
            ),
            (Coupling::CentralTongue, Shaft::Plain) if self.drive_teeth != 0 && !is_half => {
                cannot_be(
                    "--drive-teeth",
                    format!(
                        "the drive cannot be {} out: its tongue is central, on a plain shaft",
                        count_teeth(self.drive_teeth)
                    ),
                    "such a tongue goes home two ways, half a turn apart, and a plain shaft cannot be out of mesh",
                    if teeth.is_multiple_of(2) {
                        format!(
                            "give half the teeth, {}, for the other way, {geared}",
                            teeth / 2
                        )
                    } else {
                        format!("leave it out, {geared}")
                    },
                )
            }
            _ => None,
        }
    }
}
