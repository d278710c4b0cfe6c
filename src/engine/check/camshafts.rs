//! Several camshafts: each with a name of its own, and every valve worked by exactly one.

use super::fault::DescriptionFault;
use crate::description::camshafts::same_name;
use crate::description::{Description, DrivenBy, Valve};
use crate::source::Finding;
use crate::words::{cylinders, list};

/// Camshafts without a name, or with another's.
pub(super) fn not_told_apart(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, camshaft) in d.camshafts.iter().enumerate() {
        let place = format!("camshafts[{i}].name");
        let fault = Finding::error(DescriptionFault::CamshaftsNotToldApart, place);
        let fault = if camshaft.name.trim().is_empty() {
            fault.message(format!("camshaft {} has no name", i + 1))
        } else if let Some(first) = d
            .camshafts
            .iter()
            .take(i)
            .position(|other| same_name(&other.name, &camshaft.name))
        {
            fault.message(format!(
                "camshaft {} is called `{}`, and so is camshaft {}",
                i + 1,
                camshaft.name.trim(),
                first + 1
            ))
        } else {
            continue;
        };
        findings.push(
            fault
                .why("what is out is told by the camshaft's name")
                .fix("give each a name of its own, such as intake cam and exhaust cam"),
        );
    }
    findings
}

/// Camshafts that work no valve, or one over a bank that is not there.
pub(super) fn work_what_is_there(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    let count = d.banks.len();
    for (i, camshaft) in d.camshafts.iter().enumerate() {
        if camshaft.works.is_empty() {
            let place = format!("camshafts[{i}].works");
            findings.push(
                Finding::error(DescriptionFault::CamshaftWorksNothing, place)
                    .message(format!("the {} works no valve", camshaft.name))
                    .why("a camshaft is there for its valves")
                    .fix("write `works: [Intake]`, `[Exhaust]` or both"),
            );
        }
        for (j, &bank) in camshaft.banks.iter().enumerate() {
            if bank == 0 || bank as usize > count {
                let place = format!("camshafts[{i}].banks[{j}]");
                findings.push(
                    Finding::error(DescriptionFault::NoSuchBank, place)
                        .message(format!(
                            "the {} works valves over bank {bank}; this engine has {count}",
                            camshaft.name
                        ))
                        .why("banks are counted from 1, in the order of `banks`")
                        .fix("give the number of a bank that is there, or leave `banks` out: it then works over every one"),
                );
            }
        }
    }
    findings
}

/// Valves that no camshaft works, and valves that two do; no more of either than one finding for
/// each kind of valve, which names the cylinders.
pub(super) fn each_valve_has_one(d: &Description) -> Vec<Finding> {
    if d.camshafts.is_empty() {
        return Vec::new();
    }
    let mut findings = Vec::new();
    let mut numbers = d.firing_order.clone();
    numbers.sort_unstable();
    for valve in Valve::BOTH {
        let (mut without, mut twice) = (Vec::new(), Vec::new());
        let mut two = Vec::new();
        for &number in &numbers {
            let bank = d.bank_of(number);
            let mut works = d
                .camshafts
                .iter()
                .filter(|camshaft| camshaft.works_over(bank, valve));
            match (works.next(), works.next()) {
                (None, _) => without.push(number as u8),
                (Some(one), Some(other)) => {
                    twice.push(number as u8);
                    if two.is_empty() {
                        two = vec![one.name.trim(), other.name.trim()];
                    }
                }
                (Some(_), None) => {}
            }
        }
        let word = valve.word();
        if !without.is_empty() {
            findings.push(
                Finding::error(DescriptionFault::ValveWithoutCamshaft, "camshafts")
                    .message(format!(
                        "no camshaft works the {word} valve of {}",
                        cylinders(&without)
                    ))
                    .why("nobody can say when it opens")
                    .fix(format!(
                        "add the kind to a camshaft's `works`, or its bank to `banks`: `works: [{}]`",
                        if valve == Valve::Intake { "Intake" } else { "Exhaust" }
                    )),
            );
        }
        if !twice.is_empty() {
            findings.push(
                Finding::error(DescriptionFault::ValveOnTwoCamshafts, "camshafts")
                    .message(format!(
                        "the {word} valve of {} is worked by two camshafts: {}",
                        cylinders(&twice),
                        list(&two)
                    ))
                    .why("a valve follows one lobe, and nobody can say which")
                    .fix(
                        "take the kind out of one camshaft's `works`, or give each its own `banks`",
                    ),
            );
        }
    }
    findings
}

/// Camshafts that a mark or the distributor names and the engine has not.
pub(super) fn that_are_not_there(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    let count = d.camshaft_count();
    for (i, mark) in d.marks.iter().enumerate() {
        if let Some(camshaft) = mark.on.camshaft()
            && camshaft >= count
        {
            findings.push(
                Finding::error(DescriptionFault::NoSuchCamshaft, format!("marks[{i}].on"))
                    .message(format!(
                        "the mark is on camshaft {}, and the engine has {count}",
                        camshaft + 1
                    ))
                    .why("camshafts are counted from 1, in the order of `camshafts`")
                    .fix("name a camshaft that is there, or add it to `camshafts`"),
            );
        }
    }
    if let Some(name) = d
        .distributor
        .as_ref()
        .and_then(|distributor| distributor.camshaft.as_ref())
        && !d
            .camshafts
            .iter()
            .any(|camshaft| same_name(&camshaft.name, name))
    {
        let names: Vec<&str> = d
            .camshafts
            .iter()
            .map(|camshaft| camshaft.name.trim())
            .collect();
        let fix = if names.is_empty() {
            "leave it out: the engine has one camshaft".to_owned()
        } else {
            format!("name one of {}", list(&names))
        };
        findings.push(
            Finding::error(DescriptionFault::NoSuchCamshaft, "distributor.camshaft")
                .message(format!("no camshaft is called `{}`", name.trim()))
                .why("the rotor moves with the camshaft that drives it")
                .fix(fix),
        );
    }
    findings
}

/// A camshaft named as the distributor's driver, where the crankshaft drives it.
pub(super) fn named_for_nothing(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    let name = distributor.camshaft.as_ref()?;
    (distributor.driven_by == DrivenBy::Crankshaft).then(|| {
        Finding::warning(
            DescriptionFault::CamshaftDrivesNothing,
            "distributor.camshaft",
        )
        .message(format!(
            "the {} is named, and the crankshaft drives the distributor",
            name.trim()
        ))
        .why("the rotor then moves with no camshaft")
        .fix("leave it out, or write `driven_by: Camshaft`")
    })
}
