//! The crank: a rod that can go round, and a firing order that its throws can give.

#![expect(clippy::indexing_slicing, reason = "the index was found in this list")]

use super::fault::DescriptionFault;
use crate::angle::{wrap, wrap_signed};
use crate::description::Description;
use crate::laws::firing::{self, CannotFire};
use crate::source::Finding;
use crate::words::{degrees, joined};

/// A rod not longer than the throw and the offset together.
pub(super) fn rod_too_short(d: &Description) -> Option<Finding> {
    /// A rod that is longer by less than this share of the throw would stand straight across the
    /// bore at the bottom and jam there.
    const MARGIN: f64 = 0.01;
    let throw = d.crankshaft.stroke / 2.0;
    let needed = throw + d.pin_offset().abs();
    (d.rod_length <= needed + MARGIN * throw).then(|| {
        let unit = d.units.short();
        Finding::error(DescriptionFault::RodTooShort, "rod_length")
            .message(format!(
                "the rod is {} {unit}; throw and pin offset together are {needed} {unit}",
                d.rod_length
            ))
            .why("the crank could not go round")
            .fix("measure the rod centre to centre, and the stroke as twice the throw")
    })
}

/// A firing order, or firing angles, that this crank cannot give.
pub(super) fn cannot_give_the_order(d: &Description) -> Option<Finding> {
    let cannot = firing::firing_angles(d).err()?;
    let (CannotFire::TooLate { index, .. }
    | CannotFire::NotItsTdc { index, .. }
    | CannotFire::OutOfTurn { index }) = cannot;
    let cylinder = d.firing_order.get(index)?;
    let given = d
        .firing_angles
        .as_ref()
        .and_then(|angles| angles.get(index))
        .copied()
        .unwrap_or_default();
    Some(match cannot {
        CannotFire::TooLate { at_deg, .. } => Finding::error(DescriptionFault::CrankCannotFireSo, format!("firing_order[{index}]"))
            .message(format!("No. {cylinder} would come to its turn only at {at_deg:.1}°; two turns are 720°"))
            .why("each cylinder must reach a TDC after the one before it, all within two turns of the crank")
            .fix("look again at the firing order, the throws' angles and which way the crank turns"),
        CannotFire::NotItsTdc { nearest_deg, .. } => Finding::error(DescriptionFault::NotItsTdc, format!("firing_angles[{index}]"))
            .message(format!("No. {cylinder} cannot fire at {given}°: the TDC nearest to that is at {nearest_deg:.1}°"))
            .why("the piston is where the crank's throws and the banks put it, whatever the list says")
            .fix("correct the angle, or the throw and bank of this cylinder"),
        CannotFire::OutOfTurn { .. } => Finding::error(DescriptionFault::FiringAngleOutOfTurn, format!("firing_angles[{index}]"))
            .message(format!("No. {cylinder} at {given}° does not come in its turn: angles rise from 0°, all under 720°"))
            .why("they are given in the order the cylinders fire, No. 1 at 0")
            .fix("put the angles in firing order"),
    })
}

/// No. 1's throw given an angle of its own.
pub(super) fn number_one_throw_not_zero(d: &Description) -> Option<Finding> {
    let index = d
        .crankshaft
        .throws
        .iter()
        .position(|throw| throw.cylinders.contains(&1))?;
    let angle = d.crankshaft.throws[index].angle;
    (angle != 0.0).then(|| {
        Finding::warning(
            DescriptionFault::NumberOneThrowNotZero,
            format!("crankshaft.throws[{index}].angle"),
        )
        .message(format!(
            "No. 1's throw is given as {angle}°; throws are counted from it, so it is 0°"
        ))
        .why("every other throw is taken as what it differs from this one")
        .fix(format!("take {angle}° off every throw"))
    })
}

/// Another set of firing angles that the crank gives this order, more even than these; none where
/// the description states its own.
fn more_even(d: &Description, firing_angles: &[f64]) -> Option<Vec<f64>> {
    /// So much more even is worth a word.
    const WORTH_DEG: f64 = 1.0;
    if d.firing_angles.is_some() {
        return None;
    }
    firing::all_firing_angles(d)
        .into_iter()
        .min_by(|one, other| firing::unevenness_deg(one).total_cmp(&firing::unevenness_deg(other)))
        .filter(|other| {
            firing::unevenness_deg(other) < firing::unevenness_deg(firing_angles) - WORTH_DEG
        })
}

/// Intervals that are not all the same.
pub(super) fn uneven_firing(d: &Description, firing_angles: &[f64]) -> Option<Finding> {
    /// Intervals this alike are even: written to a tenth of a degree, as builders write them.
    const EVEN_WITHIN_DEG: f64 = 0.2;
    let intervals = firing::intervals(firing_angles);
    let even = 720.0 / intervals.len() as f64;
    let uneven = intervals
        .iter()
        .any(|interval| (interval - even).abs() > EVEN_WITHIN_DEG);
    let apart = |fires: &[f64]| {
        let intervals = firing::intervals(fires);
        let list = intervals.iter().map(|interval| format!("{interval:.0}°"));
        list.collect::<Vec<_>>().join(", ")
    };
    uneven.then(|| {
        let found = Finding::warning(DescriptionFault::UnevenFiring, "firing_order");
        let why = "the towers stand as unevenly in the cap, and a light at one lead does not time the others";
        let now = apart(firing_angles);
        match more_even(d, firing_angles) {
            Some(other) => found
                .message(format!(
                    "the engine is taken to fire {now} apart; the same crank and order can also give {}",
                    apart(&other)
                ))
                .why(format!("the order alone does not say on which turn each fires, and {why}"))
                .fix(format!(
                    "write the angles that are your engine's: `firing_angles: [{}]` for the more even, `firing_angles: [{}]` for what was taken",
                    joined(&other, ", "),
                    joined(firing_angles, ", ")
                )),
            None => found
                .message(format!("the engine fires unevenly: {now} apart"))
                .why(why)
                .fix("nothing, where the crank is made so; else look again at throws, banks and order"),
        }
    })
}

/// Cylinders evenly all round one crankpin: a radial engine.
pub(super) fn radial(d: &Description) -> Option<Finding> {
    /// Fewer cylinders stand so in no radial.
    const FEWEST: usize = 3;
    /// How evenly they stand, degrees.
    const WITHIN_DEG: f64 = 1.0;
    let pin = d.crankshaft.throws.first()?.angle;
    let mut throws = d.crankshaft.throws.iter();
    if d.banks.len() < FEWEST || throws.any(|throw| wrap_signed(throw.angle - pin, 360.0) != 0.0) {
        return None;
    }
    let mut banks: Vec<f64> = d.banks.iter().map(|bank| wrap(bank.angle, 360.0)).collect();
    banks.sort_by(f64::total_cmp);
    let apart = 360.0 / banks.len() as f64;
    let first = *banks.first()?;
    let even = banks.iter().enumerate().all(|(index, bank)| {
        wrap_signed(bank - first - apart * index as f64, 360.0).abs() < WITHIN_DEG
    });
    even.then(|| {
        Finding::warning(DescriptionFault::RadialEngine, "banks")
            .message(format!(
                "{} rows of cylinders stand evenly round one crankpin, every {}: a radial engine, and radial engines are not described here",
                banks.len(),
                degrees(apart)
            ))
            .why("a radial's valves are worked by a cam ring that turns at a speed of its own, and its rods but one hang on the master rod: marks, teeth and piston drops here would be another engine's")
            .fix("go by the engine's own manual; nothing here holds for it but the firing order")
    })
}
