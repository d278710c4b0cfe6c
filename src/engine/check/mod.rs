//! What an engine cannot be ([`errors`]), and what should be looked at again ([`warnings`]).
//!
//! One function, one fault; each answers with what was found and what is allowed. They are asked in
//! the order in which one needs the other: numbers first, then which cylinders there are, then what
//! the crank and the cam make of them.

mod crank;
mod cylinders;
mod drive;
mod fault;
mod ignition;
mod numbers;
mod valves;

pub use fault::DescriptionFault;

use crate::description::Description;
use crate::source::Finding;

pub(super) use numbers::out_of_range;

/// Everything for which the file cannot be used.
pub(super) fn errors(description: &Description) -> Vec<Finding> {
    let d = description;
    let too_many = numbers::too_many(d);
    if !too_many.is_empty() {
        // A list that long would only be found fault with item by item.
        return too_many;
    }
    let mut findings = numbers::out_of_range(d);
    findings.extend(numbers::idler_that_is_not_there(d));
    let cylinders_wrong = cylinders::not_the_same_everywhere(d);
    findings.extend(drive::not_two_to_one(d));
    findings.extend(crank::rod_too_short(d));
    findings.extend(valves::never_or_always_open(d));
    findings.extend(valves::quoted_over_the_lift(d));
    if cylinders_wrong.is_empty() && findings.is_empty() {
        findings.extend(crank::cannot_give_the_order(d));
    }
    findings.extend(cylinders_wrong);
    findings
}

/// Everything that makes an engine worth a second look; its lengths in millimetres.
pub(super) fn warnings(metric: &Description, firing_angles: &[f64]) -> Vec<Finding> {
    let d = metric;
    let mut findings = Vec::new();
    findings.extend(crank::number_one_throw_not_zero(d));
    findings.extend(crank::uneven_firing(firing_angles));
    findings.extend(drive::idler_hides_the_marks(d));
    findings.extend(drive::idlers_without_gears(d));
    findings.extend(valves::far_from_common_practice(d));
    findings.extend(valves::little_clearance(d));
    findings.extend(ignition::rotor_misses_tower(d));
    findings.extend(ignition::curve_runs_back(d));
    findings.extend(ignition::half_turn_is_no_whole_teeth(d));
    findings
}
