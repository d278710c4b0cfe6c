//! The builder's own steps: where they come, and how their fasteners are tightened.

use super::fault::DescriptionFault;
use crate::description::{Description, OilPump, PumpDrive, job_steps};
use crate::source::Finding;
use crate::words::{joined, number};

/// A step that is to come after one that the job has not.
pub(super) fn after_no_step(d: &Description) -> Vec<Finding> {
    let named = d.steps.iter().enumerate().filter_map(|(i, step)| {
        let after = step.after.as_deref()?;
        job_steps::named(after, d).is_none().then_some((i, after))
    });
    named
        .map(|(i, after)| {
            Finding::error(DescriptionFault::NoSuchStep, format!("steps[{i}].after"))
                .message(format!("the job of this engine has no step `{after}`"))
                .why("the step has no place in the list without one that it follows")
                .fix(format!(
                    "leave `after` out, or name one of {}",
                    joined(&job_steps::keys(d), ", ")
                ))
        })
        .collect()
}

/// Passes that do not rise to the torque.
pub(super) fn passes_do_not_rise(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, step) in d.steps.iter().enumerate() {
        let Some(&last) = step.passes.last() else {
            continue;
        };
        let place = format!("steps[{i}].passes");
        let Some(torque) = step.torque else {
            findings.push(
                Finding::error(DescriptionFault::PassesWithoutTorque, place)
                    .message("passes are given, and no torque")
                    .why("they are in the torque's unit, and end at it")
                    .fix(format!(
                        "write `torque: NewtonMetres({0})`, `PoundFeet({0})` or `PoundInches({0})`, as the manual has it",
                        number(last, 1)
                    )),
            );
            continue;
        };
        let rise = step.passes.windows(2).all(|pair| match pair {
            [one, next] => one < next,
            _ => true,
        });
        if !rise || last != torque.value() {
            findings.push(
                Finding::error(DescriptionFault::PassesDoNotRise, place)
                    .message(format!(
                        "the passes are {}, and the torque is {} {}",
                        joined(
                            &step.passes.iter().map(|pass| number(*pass, 1)).collect::<Vec<_>>(),
                            ", "
                        ),
                        number(torque.value(), 1),
                        torque.unit()
                    ))
                    .why("each pass is tighter than the one before, and the last is the torque itself")
                    .fix(format!(
                        "write them rising, in {}, and {} as the last",
                        torque.unit(),
                        number(torque.value(), 1)
                    )),
            );
        }
    }
    findings
}

/// A sequence that does not name each fastener once.
pub(super) fn sequence_not_each_once(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, step) in d.steps.iter().enumerate() {
        let count = step.sequence.len() as u32;
        let mut sorted = step.sequence.clone();
        sorted.sort_unstable();
        if sorted.into_iter().eq(1..=count) {
            continue;
        }
        findings.push(
            Finding::error(
                DescriptionFault::SequenceNotEachOnce,
                format!("steps[{i}].sequence"),
            )
            .message(format!(
                "`sequence` is {}: {count} fasteners are numbered 1 to {count}, each once",
                joined(&step.sequence, ", ")
            ))
            .why("a fastener that is passed over, or tightened twice, leaves the joint uneven")
            .fix("number the fasteners from 1 on a sketch, and write each number once, in the order they are tightened"),
        );
    }
    findings
}

/// Rows in which not every fastener has one place.
pub(super) fn rows_not_each_once(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, step) in d.steps.iter().enumerate() {
        if step.rows.is_empty() {
            continue;
        }
        let mut placed: Vec<u32> = step.in_rows().collect();
        placed.sort_unstable();
        let count = match step.sequence.len() {
            0 => placed.len() as u32,
            count => count as u32,
        };
        if count > 0 && placed.iter().copied().eq(1..=count) {
            continue;
        }
        let found = match placed.len() {
            0 => "none".to_owned(),
            _ => joined(&placed, ", "),
        };
        let wanted = match count {
            0 => "each fastener".to_owned(),
            _ => format!("1 to {count}, each once"),
        };
        findings.push(
            Finding::error(DescriptionFault::RowsNotEachOnce, format!("steps[{i}].rows"))
                .message(format!("`rows` has places for {found}: it must have {wanted}"))
                .why("a fastener that the drawing leaves out, or has twice, is passed over or tightened twice")
                .fix("write each number once, in the place where the fastener lies, and 0 where there is none"),
        );
    }
    findings
}

/// An oil pump on a drive that is not described.
pub(super) fn pump_without_its_drive(d: &Description) -> Option<Finding> {
    let on_the_drive = d.oil_pump.map(OilPump::drive) == Some(PumpDrive::DistributorDrive);
    (on_the_drive && d.distributor.is_none()).then(|| {
        Finding::warning(DescriptionFault::PumpWithoutItsDrive, "oil_pump")
            .message("the distributor's drive turns the oil pump, and no distributor is described")
            .why("the job then cannot say when the drive goes into the pump's slot: without it the engine runs without oil pressure")
            .fix("describe the distributor, or write what else turns the pump: `DrivenBy(Camshaft)`, `DrivenBy(Crankshaft)`")
    })
}
