//! The distributor: a rotor that does not reach its tower, curves that run back.

use super::fault::DescriptionFault;
use crate::description::{Coupling, Description, Ignition};
use crate::laws::ignition;
use crate::source::Finding;

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
    let curves = [
        (
            "ignition.centrifugal",
            "rpm",
            centrifugal
                .iter()
                .map(|point| point.rpm)
                .collect::<Vec<_>>(),
        ),
        (
            "ignition.vacuum",
            "kpa",
            vacuum.iter().map(|point| point.kpa).collect(),
        ),
    ];
    let back = |at: &Vec<f64>| at.windows(2).position(|pair| pair[1] <= pair[0]);
    curves
        .into_iter()
        .filter_map(|(place, axis, at)| back(&at).map(|index| (place, axis, at, index)))
        .map(|(place, axis, at, index)| {
            Finding::warning(DescriptionFault::CurveRunsBack, format!("{place}[{}]", index + 1))
                .message(format!("{axis} {} comes after {axis} {}", at[index + 1], at[index]))
                .why("between two points the advance is read on a straight line, from the lower to the higher")
                .fix("put the points in rising order, each once")
        })
        .collect()
}

/// A central tongue over an odd count of teeth: its other way of seating is no whole number of them.
pub(super) fn half_turn_is_no_whole_teeth(d: &Description) -> Option<Finding> {
    let distributor = d.distributor.as_ref()?;
    let odd = distributor.coupling == Coupling::CentralTongue && distributor.driven_teeth % 2 == 1;
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
