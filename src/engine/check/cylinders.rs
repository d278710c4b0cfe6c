//! Each cylinder must stand once in the throws, once in the banks and once in the firing order.

#![expect(clippy::indexing_slicing, reason = "the index counts this list")]

use super::fault::DescriptionFault;
use crate::description::Description;
use crate::source::Finding;
use crate::words::list;

/// A cylinder missing, named twice, or numbered outside 1..N.
pub(super) fn not_the_same_everywhere(d: &Description) -> Vec<Finding> {
    let count = d.firing_order.len() as u32;
    if count == 0 {
        return vec![
            Finding::error(DescriptionFault::NoCylinders, "firing_order")
                .message("the firing order is empty")
                .why("an engine has at least one cylinder")
                .fix("write the cylinders in the order they fire, No. 1 first"),
        ];
    }
    let mut findings = Vec::new();
    if d.firing_order[0] != 1 && d.firing_order.contains(&1) {
        let start = d
            .firing_order
            .iter()
            .position(|&number| number == 1)
            .unwrap_or(0);
        let mut turned = d.firing_order.clone();
        turned.rotate_left(start);
        findings.push(
            Finding::error(DescriptionFault::OrderStartsElsewhere, "firing_order")
                .message(format!(
                    "the firing order starts with No. {}; it is written from No. 1 on",
                    d.firing_order[0]
                ))
                .why("crank degrees, towers and leads are all counted from No. 1")
                .fix(format!("the same order from No. 1 is {}", list(&turned))),
        );
    }
    let order = d
        .firing_order
        .iter()
        .enumerate()
        .map(|(i, &number)| (format!("firing_order[{i}]"), number))
        .collect::<Vec<_>>();
    let throws = d
        .crankshaft
        .throws
        .iter()
        .enumerate()
        .flat_map(|(i, throw)| listed(&format!("crankshaft.throws[{i}]"), &throw.cylinders));
    let banks = d
        .banks
        .iter()
        .enumerate()
        .flat_map(|(i, bank)| listed(&format!("banks[{i}]"), &bank.cylinders));
    findings.extend(once_each("firing_order", "the firing order", count, &order));
    findings.extend(once_each(
        "crankshaft.throws",
        "the throws",
        count,
        &throws.collect::<Vec<_>>(),
    ));
    findings.extend(once_each(
        "banks",
        "the banks",
        count,
        &banks.collect::<Vec<_>>(),
    ));
    if let Some(coils) = &d.ignition.coils {
        let terminals = coils.iter().enumerate().flat_map(|(i, coil)| {
            let numbered = coil.iter().enumerate();
            numbered.map(move |(j, &number)| (format!("ignition.coils[{i}][{j}]"), number))
        });
        findings.extend(once_each(
            "ignition.coils",
            "the coils",
            count,
            &terminals.collect::<Vec<_>>(),
        ));
    }
    if let Some(angles) = &d.firing_angles
        && angles.len() != d.firing_order.len()
    {
        findings.push(
            Finding::error(DescriptionFault::FiringAnglesDoNotMatch, "firing_angles")
                .message(format!(
                    "{} firing angles for {count} cylinders",
                    angles.len()
                ))
                .why("each cylinder of the firing order has its own, in the same order")
                .fix("give one for each, or leave `firing_angles` out"),
        );
    }
    findings
}

fn listed(place: &str, numbers: &[u32]) -> Vec<(String, u32)> {
    numbers
        .iter()
        .enumerate()
        .map(|(i, &number)| (format!("{place}.cylinders[{i}]"), number))
        .collect()
}

fn once_each(place: &str, what: &str, count: u32, numbers: &[(String, u32)]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, (place, number)) in numbers.iter().enumerate() {
        if !(1..=count).contains(number) {
            findings.push(
                Finding::error(DescriptionFault::NoSuchCylinder, place.as_str())
                    .message(format!("No. {number} in {what}; the firing order has {count}, numbered 1 to {count}"))
                    .why("cylinders are numbered from 1 without gaps")
                    .fix("number it as the engine does, or add it to the firing order"),
            );
        } else if numbers[..i].iter().any(|(_, earlier)| earlier == number) {
            findings.push(
                Finding::error(DescriptionFault::CylinderTwice, place.as_str())
                    .message(format!("No. {number} stands twice in {what}"))
                    .why("each cylinder has one throw, one bank and one turn to fire")
                    .fix("take out the one that is wrong"),
            );
        }
    }
    let missing: Vec<u32> = (1..=count)
        .filter(|number| numbers.iter().all(|(_, other)| other != number))
        .collect();
    if !missing.is_empty() {
        let (who, them) = if missing.len() == 1 {
            ("is", "it")
        } else {
            ("are", "them")
        };
        findings.push(
            Finding::error(DescriptionFault::CylinderMissing, place)
                .message(format!("No. {} {who} missing from {what}", list(&missing)))
                .why("each cylinder has one throw, one bank and one turn to fire")
                .fix(format!("add {them} where the engine has {them}")),
        );
    }
    findings
}
