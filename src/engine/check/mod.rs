//! What an engine cannot be ([`errors`]), and what should be looked at again ([`warnings`]).
//!
//! One function, one fault; each answers with what was found and what is allowed. They are asked in
//! the order in which one needs the other: numbers first, then which cylinders there are, then what
//! the crank and the cam make of them.

mod camshafts;
mod crank;
mod cylinders;
mod drive;
mod fault;
mod ignition;
mod lobes;
mod numbers;
mod one_of_two;
mod steps;
mod valves;

pub use fault::DescriptionFault;

use crate::description::{Description, SecondIgnition};
use crate::source::Finding;
use crate::words::Units;

/// What is wrong with the numbers and the lists, each by itself.
pub(super) fn numbers(description: &Description) -> Vec<Finding> {
    let too_many = numbers::too_many(description);
    if too_many.is_empty() {
        numbers::out_of_range(description)
    } else {
        too_many
    }
}

/// Everything for which the file cannot be used.
pub(super) fn errors(description: &Description) -> Vec<Finding> {
    let d = description;
    let too_many = numbers::too_many(d);
    if !too_many.is_empty() {
        // A list that long would only be found fault with item by item.
        return too_many;
    }
    let mut findings = numbers::out_of_range(d);
    findings.extend(numbers::too_long(d));
    findings.extend(numbers::idler_that_is_not_there(d));
    findings.extend(one_of_two::both_or_neither(d));
    findings.extend(camshafts::not_told_apart(d));
    findings.extend(camshafts::work_what_is_there(d));
    findings.extend(camshafts::that_are_not_there(d));
    let cylinders_wrong = cylinders::not_the_same_everywhere(d);
    findings.extend(drive::not_two_to_one(d));
    findings.extend(ignition_errors(d));
    findings.extend(of_the_second(d, |second| {
        let mut findings = one_of_two::both_or_neither(second);
        findings.extend(camshafts::that_are_not_there(second));
        findings.extend(drive::not_two_to_one(second));
        findings.extend(ignition_errors(second));
        findings
    }));
    findings.extend(crank::rod_too_short(d));
    findings.extend(valves::not_in_one_form(d));
    findings.extend(valves::second_pair_not_whole(d));
    findings.extend(valves::no_such_ramps(d));
    findings.extend(lobes::no_whole_lobe(d));
    findings.extend(valves::never_or_always_open(d));
    findings.extend(valves::quoted_over_the_lift(d));
    findings.extend(valves::rocker_ratio_missing(d));
    findings.extend(valves::lash_with_hydraulic_lifters(d));
    findings.extend(valves::lash_over_the_lift(d));
    findings.extend(steps::passes_do_not_rise(d));
    findings.extend(steps::sequence_not_each_once(d));
    findings.extend(steps::rows_not_each_once(d));
    findings.extend(steps::after_no_step(d));
    if cylinders_wrong.is_empty() && findings.is_empty() {
        findings.extend(crank::cannot_give_the_order(d));
        findings.extend(ignition::coil_mates_not_a_turn_apart(d));
        findings.extend(of_the_second(d, ignition::coil_mates_not_a_turn_apart));
    }
    if cylinders_wrong.is_empty() {
        findings.extend(camshafts::each_valve_has_one(d));
    }
    findings.extend(cylinders_wrong);
    findings
}

/// What neither a first nor a second ignition can be.
fn ignition_errors(d: &Description) -> Vec<Finding> {
    let mut findings = ignition::coil_of_none_or_many(d);
    findings.extend(ignition::coil_of_two_sparks_every_turn(d));
    findings.extend(ignition::sparks_beside_the_cap(d));
    findings.extend(ignition::geared_shaft_without_tongue(d));
    findings
}

/// What makes either of them worth a second look.
fn ignition_warnings(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(ignition::rotor_misses_tower(d));
    findings.extend(ignition::curve_runs_back(d));
    findings.extend(ignition::half_turn_is_no_whole_teeth(d));
    findings.extend(ignition::slot_without_shaft(d));
    findings
}

/// What the checks find of a second ignition, each at its own place.
fn of_the_second(
    d: &Description,
    checks: impl Fn(&Description) -> Vec<Finding>,
) -> impl Iterator<Item = Finding> {
    let found = d.by_second_ignition().map(|second| checks(&second));
    found.into_iter().flatten().filter_map(|finding| {
        let own = ["distributor", "ignition"];
        own.iter()
            .any(|part| finding.place.starts_with(part))
            .then(|| Finding {
                place: format!("{}.{}", SecondIgnition::PATH, finding.place),
                ..finding
            })
    })
}

/// Everything that makes an engine worth a second look; its lengths in millimetres, to be said in
/// the file's `units`.
pub(super) fn warnings(metric: &Description, units: Units, firing_angles: &[f64]) -> Vec<Finding> {
    let d = metric;
    let mut findings = Vec::new();
    findings.extend(crank::number_one_throw_not_zero(d));
    findings.extend(crank::radial(d));
    findings.extend(crank::uneven_firing(d, firing_angles));
    findings.extend(drive::idler_hides_the_marks(d));
    findings.extend(drive::idlers_without_gears(d));
    findings.extend(drive::chain_field_on_gears(d));
    findings.extend(drive::links_cannot_be(d));
    findings.extend(drive::marks_do_not_meet(d));
    findings.extend(camshafts::named_for_nothing(d));
    findings.extend(drive::pointer_far_from_tdc(d, firing_angles));
    findings.extend(valves::quoted_lift_not_stated(d, units));
    findings.extend(valves::lobe_not_symmetric(d));
    findings.extend(lobes::doubtful(d, units));
    findings.extend(valves::follower_too_large(d, units));
    findings.extend(valves::far_from_common_practice(d));
    findings.extend(valves::little_clearance(d, units));
    findings.extend(ignition_warnings(d));
    findings.extend(of_the_second(d, ignition_warnings));
    findings.extend(steps::pump_without_its_drive(d));
    findings
}
