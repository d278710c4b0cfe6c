//! Leads on the terminals of coils: which of them are where they give the sparks as drawn.
//!
//! A terminal gives the sparks of the cylinder it is drawn for. Another cylinder's lead on it does
//! no harm where that cylinder is to spark at the same times: the two of a coil, which spark every
//! turn and fire 360° apart.

use crate::angle::wrap_signed;
use crate::engine::Engine;
use crate::phasing::TOGETHER_DEG;

/// Whether a cylinder's plug sparks as drawn with its lead on the terminal drawn for another.
fn sparks_alike(engine: &Engine, one: u8, other: u8) -> bool {
    let cycle_deg = if engine.sparks_every_turn() {
        360.0
    } else {
        720.0
    };
    let fires = engine.fires_deg(one).zip(engine.fires_deg(other));
    fires.is_some_and(|(one, other)| wrap_signed(one - other, cycle_deg).abs() < TOGETHER_DEG)
}

/// Leads as they are plugged with what does no harm put back: what is left apart from the lead order
/// gives other sparks than drawn.
pub(super) fn settled(engine: &Engine, leads: &[u8]) -> Vec<u8> {
    let order = engine.lead_order();
    let alike = |one: u8, other: u8| sparks_alike(engine, one, other);
    // A lead on a terminal of its own kind goes to its own; the others keep to their kind's.
    let at_home = |lead: u8| {
        let plugged = leads.iter().zip(order).find(|(other, _)| **other == lead);
        plugged.is_some_and(|(_, &terminal)| alike(lead, terminal))
    };
    let mut strangers: Vec<(u8, u8)> = leads
        .iter()
        .zip(order)
        .map(|(&lead, &terminal)| (lead, terminal))
        .filter(|(lead, _)| !at_home(*lead))
        .collect();
    // Of one kind they do no harm among themselves: in the lead order.
    strangers.sort_by_key(|(lead, _)| order.iter().position(|other| other == lead));
    order
        .iter()
        .map(|&terminal| {
            if at_home(terminal) {
                return terminal;
            }
            let next = strangers.iter().position(|(_, at)| alike(*at, terminal));
            next.map_or(terminal, |index| strangers.remove(index).0)
        })
        .collect()
}

/// The cylinders whose leads are changed over where it does no harm; empty where none are.
pub(super) fn harmless(engine: &Engine, leads: &[u8]) -> Vec<u8> {
    let order = engine.lead_order();
    if engine.coils().is_empty() || leads.len() != order.len() || settled(engine, leads) != order {
        return Vec::new();
    }
    let elsewhere = leads.iter().zip(order);
    let mut numbers: Vec<u8> = elsewhere
        .filter(|(lead, terminal)| lead != terminal)
        .map(|(lead, _)| *lead)
        .collect();
    numbers.sort_unstable();
    numbers
}

/// Two coils that stand in one another's place, by their places among the engine's coils, and
/// nothing else: `leads` are settled.
pub(super) fn coils_changed_over(engine: &Engine, leads: &[u8]) -> Option<(usize, usize)> {
    let coils = engine.coils();
    let mut pairs = (0..coils.len()).flat_map(|one| (one + 1..coils.len()).map(move |b| (one, b)));
    pairs.find(|&(one, other)| {
        with_coils_changed(engine, one, other).is_some_and(|changed| {
            settled(engine, &changed) == leads && changed != engine.lead_order()
        })
    })
}

/// The leads as drawn with those of two coils of as many leads changed over.
pub(super) fn with_coils_changed(engine: &Engine, one: usize, other: usize) -> Option<Vec<u8>> {
    let mut coils = engine.coils().to_vec();
    let alike = coils.get(one)?.len() == coils.get(other)?.len();
    coils.swap(one, other);
    alike.then(|| coils.concat())
}

/// The fewest changes of two leads that put `leads`, settled, right: those that put two right at
/// once first.
pub(super) fn changes(engine: &Engine, leads: &[u8]) -> u32 {
    let order = engine.lead_order();
    let mut now: Vec<(u8, u8)> = leads.iter().copied().zip(order.iter().copied()).collect();
    let mut changes = 0;
    for both_right in [true, false] {
        while let Some((one, other)) = change(engine, &now, both_right) {
            let leads = (now.get(one).copied(), now.get(other).copied());
            let (Some((one_lead, one_at)), Some((other_lead, other_at))) = leads else {
                break;
            };
            for (index, lead, at) in [(one, other_lead, one_at), (other, one_lead, other_at)] {
                if let Some(place) = now.get_mut(index) {
                    *place = (lead, at);
                }
            }
            changes += 1;
        }
    }
    changes
}

/// Two leads whose change puts the first right, or both.
fn change(engine: &Engine, now: &[(u8, u8)], both_right: bool) -> Option<(usize, usize)> {
    let wrong = |(lead, at): (u8, u8)| !sparks_alike(engine, lead, at);
    let places = || {
        now.iter()
            .copied()
            .enumerate()
            .filter(|(_, place)| wrong(*place))
    };
    places().find_map(|(one, (one_lead, one_at))| {
        let other = places().find(|(_, (other_lead, other_at))| {
            sparks_alike(engine, one_lead, *other_at)
                && (!both_right || sparks_alike(engine, *other_lead, one_at))
        });
        other.map(|(other, _)| (one, other))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::arrangement::{EngineChoice, IgnitionChoice};
    use std::sync::Arc;

    /// An inline engine with coils of two and that of its firing orders which counts lowest.
    fn with_coils(cylinders: u8) -> Arc<Engine> {
        let choice = EngineChoice {
            cylinders,
            ignition: IgnitionChoice::Coils,
            ..EngineChoice::default()
        };
        let crank = choice.cranks().remove(0);
        let orders = choice.orders(&crank.throws).into_iter();
        let order = orders
            .min_by_key(|order| order.cylinders.clone())
            .expect("an order");
        Engine::new(choice.describe(&crank.throws, &order))
            .expect("an engine")
            .0
    }

    #[test]
    fn leads_changed_over_on_one_coil_are_settled_and_between_coils_are_not() {
        let engine = with_coils(4);
        let order = engine.lead_order();
        assert_eq!(order, [1, 4, 2, 3]);
        assert_eq!(settled(&engine, &[4, 1, 2, 3]), order);
        assert_eq!(harmless(&engine, &[4, 1, 2, 3]), [1, 4]);
        assert_eq!(harmless(&engine, &[4, 1, 3, 2]), [1, 2, 3, 4]);
        assert!(harmless(&engine, order).is_empty());
        assert_eq!(settled(&engine, &[2, 4, 1, 3]), [2, 4, 1, 3]);
        assert!(harmless(&engine, &[2, 4, 1, 3]).is_empty());
        // No. 2 on the first coil, whichever terminal it is on: the other lead is No. 4's.
        assert_eq!(settled(&engine, &[4, 2, 1, 3]), [2, 4, 1, 3]);
        assert_eq!(changes(&engine, &[2, 4, 1, 3]), 1);
        assert_eq!(coils_changed_over(&engine, &[2, 4, 1, 3]), None);
        let coils = settled(&engine, &[2, 3, 1, 4]);
        assert_eq!(coils_changed_over(&engine, &coils), Some((0, 1)));
        assert_eq!(settled(&engine, &[3, 2, 4, 1]), coils);
        assert_eq!(changes(&engine, &coils), 2);
    }

    #[test]
    fn three_coils_whose_leads_went_round_take_as_many_changes_as_leads_but_one() {
        let engine = with_coils(6);
        let order = engine.lead_order().to_vec();
        let mut leads = order.clone();
        (leads[0], leads[2], leads[4]) = (order[2], order[4], order[0]);
        assert_eq!(changes(&engine, &settled(&engine, &leads)), 2);
        assert_eq!(changes(&engine, &order), 0);
    }
}
