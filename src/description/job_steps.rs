//! The steps of the job on the bench by key and title: what a builder's own step may come after.
//!
//! What each step says is written by [`procedures::job`](crate::procedures::job); which of them an
//! engine has follows from its description alone.

use std::fmt::Display;

use super::{Case, Coupling, Description, OilPump, PumpDrive};
use crate::words::joined;

/// A step of the job.
#[derive(Clone, Copy, Debug)]
pub struct JobStep {
    /// The name it is kept under.
    pub key: &'static str,
    /// What it is, in a few words.
    pub title: &'static str,
    /// Whether an engine so described has it.
    pub(crate) is_on: fn(&Description) -> bool,
}

/// Declares the steps in the order of the bench, each under a name of its own.
macro_rules! job_steps {
    ($($name:ident: $key:literal, $title:literal, $is_on:expr;)*) => {
        $(#[allow(missing_docs, reason = "its title says what it is")]
        pub const $name: JobStep = JobStep { key: $key, title: $title, is_on: $is_on };)*

        /// Every step in the order of the bench. Several leads, coils or stops at which valves are
        /// set are one here.
        pub static JOB_STEPS: &[JobStep] = &[$($name),*];
    };
}

job_steps! {
    OWN_PLACES: "own-places", "Lay out each part by its own place", |_| true;
    BEARINGS: "bearings", "Seat each bearing in its place", |_| true;
    ROD_CAPS: "rod-caps", "Put each rod's own cap on it", |_| true;
    CRANK_TURNS: "crank-turns", "See that the crank turns freely", |_| true;
    CAM_WHEEL: "cam-wheel", "Tighten the cam wheel's bolts", |_| true;
    CAM_DOT: "cam-dot", "Find the cam's mark", |_| true;
    CAM_IN: "cam-in", "Cam in", |_| true;
    MARKS_MEET: "marks-meet", "Set the cam to the crank by the marks", |_| true;
    CAM_END_PLAY: "cam-end-play", "Measure the cam's end play", |_| true;
    CASE_CLOSED: "case-closed", "Close the case", is_split;
    HEADS_ON: "heads-on", "Fit pistons, cylinders and heads", |_| true;
    TURNS_FREE: "turns-free", "Turn twice by hand without a bind", |_| true;
    TDC_STOP: "tdc-stop", "Find true TDC with a stop", |_| true;
    CAM_DEGREED: "cam-degreed", "Degree the camshaft", |_| true;
    CLEARANCE_DROP: "clearance-drop", "Valves to pistons, by the valve's drop", |_| true;
    CLEARANCE_CLAY: "clearance-clay", "Valves to pistons, by clay", |_| true;
    OVERLAP_TDC: "overlap-tdc", "Meet the wrong top dead centre first", |_| true;
    FIRING_TDC: "firing-tdc", "Turn on to No. 1 firing TDC, and prove it three ways", |_| true;
    THRUST_WASHERS: "thrust-washers", "Stick the drive's thrust washers in place", has_geared_drive;
    PUMP_SLOT: "pump-slot", "Turn the oil pump's slot to where it must stand", drives_the_pump;
    SHAFT_MESH: "shaft-mesh", "Put the distributor's shaft in", is_on_geared_shaft;
    ROTOR_START: "rotor-start", "Find where the rotor must start", has_distributor;
    ROTOR_HOME: "rotor-home", "Let the drive down", has_distributor;
    BODY_CLAMPED: "body-clamped", "Clamp the distributor's body", has_distributor;
    ROTOR_TURNS: "rotor-turns", "Prove that the rotor turns with the crank", has_distributor;
    ROTOR_THERE: "rotor-there", "See that the rotor is where it was", has_distributor;
    TWO_TURNS: "two-turns", "Check by two turns of the crank", |_| true;
    COVER_ON: "cover-on", "Close the cam drive up", |_| true;
    POINTS_GAP: "points-gap", "Set the points before the timing", sets_a_spark;
    SPARK_SET: "spark-set", "Set the spark by a lamp", sets_a_spark;
    SPARK_NEXT: "spark-next", "Check the spark of the next cylinder", checks_the_next;
    LEADS: "leads", "Plug the leads", has_distributor;
    COILS: "coils", "Plug the coils' leads", has_coils;
    VALVES: "valves", "Set the valves", |_| true;
    LAST_TURNS: "last-turns", "Turn twice more, everything in its place", |_| true;
    RECORD: "record", "Keep the record", |_| true;
    FIRST_START: "first-start", "Start it for the first time", |_| true;
}

fn has_distributor(d: &Description) -> bool {
    d.distributor.is_some()
}

/// Whether the case parts along the crankshaft.
pub(crate) fn is_split(d: &Description) -> bool {
    d.case == Some(Case::Split)
}

fn is_on_geared_shaft(d: &Description) -> bool {
    let distributor = d.distributor.as_ref();
    distributor.is_some_and(super::Distributor::is_on_geared_shaft)
}

/// Whether a gear is let down with the distributor or under it: it runs on thrust washers.
fn has_geared_drive(d: &Description) -> bool {
    let distributor = d.distributor.as_ref();
    distributor.is_some_and(|distributor| {
        distributor.coupling() == Coupling::Gear || distributor.is_on_geared_shaft()
    })
}

/// Whether the distributor's drive turns the oil pump.
pub(crate) fn drives_the_pump(d: &Description) -> bool {
    let by_the_drive = d.oil_pump.map(OilPump::drive) == Some(PumpDrive::DistributorDrive);
    by_the_drive && has_distributor(d)
}

/// Whether there is a spark to set: a distributor's, or one whose coils or times are described.
pub(crate) fn sets_a_spark(d: &Description) -> bool {
    has_distributor(d) || d.ignition.sparks.is_some() || d.ignition.coils.is_some()
}

fn checks_the_next(d: &Description) -> bool {
    has_distributor(d) && d.cylinder_count() > 1
}

fn has_coils(d: &Description) -> bool {
    !has_distributor(d)
        && d.ignition
            .coils
            .as_ref()
            .is_some_and(|coils| !coils.is_empty())
}

/// The key of a cylinder's lead.
pub(crate) fn lead_key(cylinder: impl Display) -> String {
    format!("lead-{cylinder}")
}

/// The key of a coil's leads.
pub(crate) fn coil_key(cylinders: &[impl Display]) -> String {
    format!("coil-{}", joined(cylinders, "+"))
}

/// A name as it is compared: case, hyphens and blanks aside.
fn bare(name: &str) -> String {
    let letters = name.chars().filter(|letter| letter.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

/// The key of the step that a builder names by its key or its title; None where an engine so
/// described has no such step.
///
/// ```
/// use dotwise::description::job_steps::named;
/// use dotwise::engine::scenes::BENCH;
/// let bench = BENCH.engine();
/// assert_eq!(named("Cam in", bench.written()).as_deref(), Some("cam-in"));
/// assert_eq!(named("LEAD 3", bench.written()).as_deref(), Some("lead-3"));
/// assert_eq!(named("the paint", bench.written()), None);
/// ```
pub fn named(name: &str, d: &Description) -> Option<String> {
    let wanted = bare(name);
    let mut fixed = JOB_STEPS.iter().filter(|step| (step.is_on)(d));
    let is_it = |step: &&JobStep| bare(step.key) == wanted || bare(step.title) == wanted;
    if let Some(step) = fixed.find(is_it) {
        return Some(step.key.to_owned());
    }
    each_key(d).into_iter().find(|key| bare(key) == wanted)
}

/// The keys that can be named on an engine so described, in the order of the bench; each lead and
/// coil can be named too.
pub fn keys(d: &Description) -> Vec<&'static str> {
    let there = JOB_STEPS.iter().filter(|step| (step.is_on)(d));
    there.map(|step| step.key).collect()
}

/// The key of each lead, or of each coil.
fn each_key(d: &Description) -> Vec<String> {
    if has_distributor(d) {
        return d.firing_order.iter().map(lead_key).collect();
    }
    let coils = d.ignition.coils.iter().flatten();
    coils.map(|coil| coil_key(coil)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_and_title_stands_once_and_neither_is_taken_for_another() {
        for (index, step) in JOB_STEPS.iter().enumerate() {
            for earlier in &JOB_STEPS[..index] {
                for (one, other) in [
                    (step.key, earlier.key),
                    (step.title, earlier.title),
                    (step.key, earlier.title),
                    (step.title, earlier.key),
                ] {
                    assert_ne!(bare(one), bare(other));
                }
            }
        }
    }
}
