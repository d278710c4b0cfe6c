//! Numbers that are none, or outside their legal range; lists that are too long.

use super::fault::DescriptionFault;
use crate::description::Description;
use crate::description::MarkOn;
use crate::description::fields;
use crate::description::fields::{
    MOST_CYLINDERS, MOST_IDLERS, MOST_MARKS, MOST_POINTS, MOST_STEPS,
};
use crate::source::Finding;

/// A number that is not finite, or outside its row in [`bounds`].
pub fn out_of_range(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (place, value) in fields::numbers(d) {
        let Some(bound) = fields::bound_of(&place) else {
            continue;
        };
        let (least, most, unit) = (
            bound.least_in(d.units),
            bound.most_in(d.units),
            bound.suffix(d.units),
        );
        if (least..=most).contains(&value) {
            continue;
        }
        let name = place.rsplit('.').next().unwrap_or(&place);
        let (message, why) = if value.is_finite() {
            (
                if least == most {
                    format!(
                        "`{name}` is {}{unit}; only {}{unit} is known",
                        short(value),
                        short(least)
                    )
                } else {
                    format!(
                        "`{name}` is {}{unit}; {}{unit} to {}{unit} is allowed",
                        short(value),
                        short(least),
                        short(most)
                    )
                },
                format!(
                    "it is {}: outside this no engine can be drawn from it",
                    bound.what
                ),
            )
        } else {
            (
                format!("`{name}` is {value}, which is no number to measure by"),
                format!(
                    "it is {}, and everything after it would be no number either",
                    bound.what
                ),
            )
        };
        findings.push(
            Finding::error(
                if value.is_finite() {
                    DescriptionFault::OutOfRange
                } else {
                    DescriptionFault::NotANumber
                },
                place.as_str(),
            )
            .message(message)
            .why(why)
            .mend(if bound.least == bound.most {
                format!("write {}", short(least))
            } else {
                format!(
                    "measure again, and check the unit: {}",
                    if unit.is_empty() {
                        "a count"
                    } else {
                        unit.trim()
                    }
                )
            }),
        );
    }
    findings
}

/// A number without needless places.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text
        .trim_end_matches('0')
        .trim_end_matches('.')
        .replace('-', "−");
    if text == "−0" { "0".into() } else { text }
}

/// Lists longer than anything on an engine.
pub fn too_many(d: &Description) -> Vec<Finding> {
    let mut lists = vec![
        (
            "firing_order".to_owned(),
            d.firing_order.len(),
            MOST_CYLINDERS,
            "cylinders",
        ),
        (
            "firing_angles".to_owned(),
            d.firing_angles.as_ref().map_or(0, Vec::len),
            MOST_CYLINDERS,
            "firing angles",
        ),
        (
            "crankshaft.throws".to_owned(),
            d.crankshaft.throws.len(),
            MOST_CYLINDERS,
            "throws",
        ),
        ("banks".to_owned(), d.banks.len(), MOST_CYLINDERS, "banks"),
        ("marks".to_owned(), d.marks.len(), MOST_MARKS, "marks"),
        (
            "cam_drive.idler_teeth".to_owned(),
            d.cam_drive.idler_teeth.len(),
            MOST_IDLERS,
            "idler gears",
        ),
        (
            "ignition.centrifugal".to_owned(),
            d.ignition.centrifugal.len(),
            MOST_POINTS,
            "points",
        ),
        (
            "ignition.vacuum".to_owned(),
            d.ignition.vacuum.len(),
            MOST_POINTS,
            "points",
        ),
        ("steps".to_owned(), d.steps.len(), MOST_STEPS, "steps"),
    ];
    let in_throws = d
        .crankshaft
        .throws
        .iter()
        .enumerate()
        .map(|(i, throw)| (format!("crankshaft.throws[{i}]"), throw.cylinders.len()));
    let in_banks = d
        .banks
        .iter()
        .enumerate()
        .map(|(i, bank)| (format!("banks[{i}]"), bank.cylinders.len()));
    lists.extend(in_throws.chain(in_banks).map(|(part, count)| {
        (
            format!("{part}.cylinders"),
            count,
            MOST_CYLINDERS,
            "cylinders",
        )
    }));
    let over = lists
        .into_iter()
        .filter(|(_, count, most, _)| count > most)
        .take(MOST_CYLINDERS);
    over.map(|(place, count, most, what)| {
        Finding::error(DescriptionFault::TooMany, place)
            .message(format!("{count} {what}; at most {most} are allowed"))
            .why("more than that cannot be shown or tried")
            .mend(format!("leave {most}"))
    })
    .collect()
}

/// A mark on an idler that the drive has not.
pub fn idler_that_is_not_there(d: &Description) -> Vec<Finding> {
    let idlers = d.cam_drive.idler_teeth.len();
    let mut findings = Vec::new();
    for (i, mark) in d.marks.iter().enumerate() {
        if let MarkOn::Idler(which) = mark.on
            && (1..=MOST_IDLERS as u32).contains(&which)
            && which as usize > idlers
        {
            findings.push(
                Finding::error(DescriptionFault::NoSuchIdler, format!("marks[{i}].on"))
                    .message(format!(
                        "the mark is on idler {which}, and the drive has {idlers}"
                    ))
                    .why("idlers are counted from the crank, in the order of `idler_teeth`")
                    .mend("name an idler the drive has, or add it to `idler_teeth`"),
            );
        }
    }
    findings
}
