//! The distributor: a rotor that does not reach its tower, curves that run back. Coils that cannot
//! give the sparks, and a shaft that does not belong to the drive.

#![expect(
    clippy::indexing_slicing,
    reason = "`windows(2)` gives pairs, and what is found in one has a next"
)]

use super::fault::DescriptionFault;
use crate::description::{Coupling, Description, Ignition, Shaft, Sparks};
use crate::laws::{firing, ignition};
use crate::source::Finding;
use crate::words::{degrees, joined, number};

/// A rotor that leaves its tower somewhere in the advance range. Centrifugal advance turns rotor
/// and trigger together; vacuum turns the trigger alone.
pub(super) fn rotor_misses_tower(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    let contact = ignition::contact_half_width_deg(distributor)?;
    let (least, most) = ignition::vacuum_extremes(&d.ignition);
    let registers =
        [least, most].map(|vacuum| ignition::register_deg(distributor, &d.ignition, vacuum));
    let worst = registers
        .into_iter()
        .max_by(|one, other| one.abs().total_cmp(&other.abs()))?;
    (worst.abs() >= contact).then(|| {
        let side = if worst < 0.0 { "short of" } else { "past" };
        Finding::warning(DescriptionFault::RotorMissesTower, if distributor.offset.is_some() { "distributor.offset" } else { "distributor.tip_width" })
            .message(format!(
                "at a spark the rotor can stand {:.1}° {side} its tower; tip and tower face one another only within {contact:.1}°",
                worst.abs()
            ))
            .why("the spark must jump the gap inside the cap, or goes to the neighbour")
            .fix(format!(
                "an offset near {:.1}° puts the middle of the range on the tower",
                (2.0 * d.ignition.static_advance + least + most) / 4.0
            ))
    })
}

/// A curve whose points do not rise: it cannot be read between them.
pub(super) fn curve_runs_back(d: &Description) -> Vec<Finding> {
    let Ignition {
        centrifugal,
        vacuum,
        ..
    } = &d.ignition;
    let engine_speeds = centrifugal
        .iter()
        .map(|point| (point.rpm, "rpm", point.rpm));
    let depressions = vacuum.iter().map(|point| {
        let (unit, written) = match (point.kpa, point.inhg) {
            (None, Some(inhg)) => ("inhg", inhg),
            (kpa, _) => ("kpa", kpa.unwrap_or(0.0)),
        };
        (point.depression_kpa(), unit, written)
    });
    let curves: [(&str, Vec<_>); 2] = [
        ("ignition.centrifugal", engine_speeds.collect()),
        ("ignition.vacuum", depressions.collect()),
    ];
    let back = |(place, at): (_, Vec<(f64, &str, f64)>)| {
        let pair = at.windows(2).position(|pair| pair[1].0 <= pair[0].0)?;
        let said = |index: usize| format!("{} {}", at[index].1, number(at[index].2, 3));
        Some((place, pair + 1, said(pair + 1), said(pair)))
    };
    curves
        .into_iter()
        .filter_map(back)
        .map(|(place, index, later, before)| {
            Finding::warning(DescriptionFault::CurveRunsBack, format!("{place}[{index}]"))
                .message(format!("{later} comes after {before}"))
                .why("between two points the advance is read on a straight line, from the lower to the higher")
                .fix("put the points in rising order, each once")
        })
        .collect()
}

/// A central tongue over an odd count of teeth: its other way of seating is no whole number of them.
pub(super) fn half_turn_is_no_whole_teeth(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    let odd = distributor.coupling() == Coupling::CentralTongue
        && distributor.shaft() == Shaft::Plain
        && distributor.driven_teeth % 2 == 1;
    odd.then(|| {
        Finding::warning(
            DescriptionFault::HalfTurnIsNoWholeTeeth,
            "distributor.driven_teeth",
        )
        .message(format!(
            "a central tongue goes home half a turn out too, which of {} teeth is no whole number",
            distributor.driven_teeth
        ))
        .why("teeth out are counted in whole teeth, so that way home cannot be set or found")
        .fix("give an even count; the rotor turns half as fast as the crank whatever it is")
    })
}

/// A coil without a lead, or with more than its two ends can hold.
pub(super) fn coil_of_none_or_many(d: &Description) -> Vec<Finding> {
    let coils = d.ignition.coils.iter().flatten().enumerate();
    coils
        .filter(|(_, coil)| !(1..=2).contains(&coil.len()))
        .map(|(index, coil)| {
            Finding::error(
                DescriptionFault::CoilOfNoneOrMany,
                format!("ignition.coils[{index}]"),
            )
            .message(format!("a coil with {} leads", coil.len()))
            .why("a coil's high-tension winding has two ends: one lead or two")
            .fix("write the cylinders that its leads go to, one or two")
        })
        .collect()
}

/// A coil whose two cylinders do not fire 360° apart, with the partner that would fit. The crank
/// gives the firing order by now.
pub(super) fn coil_mates_not_a_turn_apart(d: &Description) -> Vec<Finding> {
    let Ok(angles) = firing::firing_angles(d) else {
        return Vec::new();
    };
    let fires = |number: u32| {
        let mut all = d.firing_order.iter().zip(&angles);
        all.find(|(other, _)| **other == number)
            .map(|(_, fires)| *fires)
    };
    let partner = |number: u32| {
        let own = fires(number)?;
        let mut all = d.firing_order.iter().zip(&angles);
        all.find(|(_, fires)| firing::is_a_turn_apart(own, **fires))
            .map(|(other, _)| *other)
    };
    let coils = d.ignition.coils.iter().flatten().enumerate();
    coils
        .filter_map(|(index, coil)| {
            let &[one, other] = coil.as_slice() else {
                return None;
            };
            let (one_deg, other_deg) = (fires(one)?, fires(other)?);
            if firing::is_a_turn_apart(one_deg, other_deg) {
                return None;
            }
            let goes_with = |number| match partner(number) {
                Some(partner) => format!("No. {number} goes with No. {partner}"),
                None => format!("No. {number} needs a coil of its own, for no cylinder fires 360° from it"),
            };
            Some(
                Finding::error(
                    DescriptionFault::CoilMatesNotATurnApart,
                    format!("ignition.coils[{index}]"),
                )
                .message(format!(
                    "No. {one} fires at {} and No. {other} at {}: {} apart on one coil",
                    degrees(one_deg),
                    degrees(other_deg),
                    degrees((one_deg - other_deg).abs())
                ))
                .why("a coil of two sparks both its plugs together; only where they fire 360° apart is the one firing and the other on overlap")
                .fix(format!("{}; {}", goes_with(one), goes_with(other))),
            )
        })
        .collect()
}

/// A coil of two said to spark every other turn.
pub(super) fn coil_of_two_sparks_every_turn(d: &Description) -> Option<Finding> {
    let mut coils = d.ignition.coils.iter().flatten();
    let pair = coils.find(|coil| coil.len() == 2)?;
    (d.ignition.sparks() == Sparks::EveryOtherTurn).then(|| {
        let place = if d.ignition.sparks.is_some() {
            "ignition.sparks"
        } else {
            "ignition.coils"
        };
        Finding::error(DescriptionFault::CoilOfTwoSparksEveryTurn, place)
            .message(format!(
                "a coil joins No. {}, and each plug is to spark every other turn",
                joined(pair, " and No. ")
            ))
            .why("both plugs of a coil spark whenever either should: each once a turn, on overlap too")
            .fix("write `sparks: EveryTurn`, or give each cylinder a coil of its own")
    })
}

/// Coils, or sparks every turn, on an engine with a distributor.
pub(super) fn sparks_beside_the_cap(d: &Description) -> Vec<Finding> {
    if d.distributor.is_none() {
        return Vec::new();
    }
    let mut findings = Vec::new();
    if d.ignition.coils.is_some() {
        findings.push(
            Finding::error(DescriptionFault::SparksBesideTheCap, "ignition.coils")
                .message("coils with leads of their own are given, and a distributor")
                .why("a distributor sends the sparks of one coil to all the plugs: either it or the coils have the leads")
                .fix("leave out `coils`, or the distributor"),
        );
    }
    if d.ignition.sparks() == Sparks::EveryTurn {
        findings.push(
            Finding::error(DescriptionFault::SparksBesideTheCap, "ignition.sparks")
                .message("each plug is to spark every turn, and there is a distributor")
                .why("its rotor comes to each tower once in two turns, so each plug sparks every other turn")
                .fix("leave out `sparks`, or the distributor where a magneto on the crank or coils give the sparks"),
        );
    }
    findings
}

/// A geared shaft under a distributor that has no tongue to go into it.
pub(super) fn geared_shaft_without_tongue(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    (distributor.shaft() == Shaft::Geared && distributor.coupling() == Coupling::Gear).then(|| {
        Finding::error(
            DescriptionFault::GearedShaftWithoutTongue,
            "distributor.shaft",
        )
        .message("the shaft is geared, and the distributor has a gear of its own and no tongue")
        .why("a distributor with its own gear meshes by it: there is no shaft between that could be teeth out beside it")
        .fix("leave out `shaft`, or write `coupling: OffsetTongue` or `CentralTongue`")
    })
}

/// A slot's place without a geared shaft that has the slot.
pub(super) fn slot_without_shaft(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    (distributor.slot_at.is_some() && distributor.shaft() == Shaft::Plain).then(|| {
        Finding::warning(DescriptionFault::SlotWithoutShaft, "distributor.slot_at")
            .message("where the slot stands is given, and no geared shaft")
            .why("a slot is looked at to see whether its shaft is teeth out; a plain shaft cannot be")
            .fix("leave out `slot_at`, or write `shaft: Geared`")
    })
}
