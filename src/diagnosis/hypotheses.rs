//! Every way the parts could have been put together.
//!
//! The cam wheel out by up to four teeth either way, of several camshafts each on its own, any two
//! at once, or all of them alike; the distributor's drive by every
//! tooth it has or, for a tongue, every way it seats, and each with every tooth of the shaft under it
//! where that is geared; the leads moved round by any number of towers, or any two of them changed
//! over; on coils any two that are not harmless, or those of two whole coils. Ways that put the
//! rotor in the same place are one: with a central slot, half a turn of the shaft and half a turn of
//! the tongue. What was counted or traced is not guessed at: counted
//! cam teeth are tried even beyond that, and traced leads are the only ones tried.
//!
//! Faults are counted by part: teeth out are one fault for each wheel however many they are, and one
//! where every one of several camshafts is out alike (the crank's wheel stands so in the drive);
//! leads moved round one, two leads changed over one. The other turn of the crank is no fault.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the leads of one list"
)]

use std::collections::BTreeSet;

use super::coil_leads;
use super::observations::Observations;
use crate::description::{Coupling, Distributor};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;

/// Teeth of the cam wheel tried either way.
const CAM_TEETH: i32 = 4;

/// How leads as plugged differ from leads as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LeadsFault {
    /// As drawn.
    AsDrawn,
    /// Every lead stands so many towers on in the rotor's direction; negative, back.
    MovedRound(i32),
    /// Two leads stand in one another's towers.
    ChangedOver(u8, u8),
    /// The leads of two coils stand on one another's terminals: which, of the engine's coils.
    CoilsChangedOver(usize, usize),
    /// Otherwise mixed up: the fewest changes of two leads, or moves of all of them, that
    /// would put it right.
    Mixed(u32),
}

impl LeadsFault {
    /// How `leads` differ from the firing order, both from No. 1's tower in the rotor's direction
    /// and of the same cylinders.
    pub(super) fn of(order: &[u8], leads: &[u8]) -> Self {
        if leads == order || leads.len() != order.len() {
            return Self::AsDrawn;
        }
        let moved: Vec<usize> = (0..order.len())
            .filter(|&tower| leads[tower] != order[tower])
            .collect();
        if let [one, other] = moved[..] {
            let (one, other) = (order[one], order[other]);
            return Self::ChangedOver(one.min(other), one.max(other));
        }
        let count = order.len() as i32;
        let shortest = |towers: i32| {
            if towers * 2 > count {
                towers - count
            } else {
                towers
            }
        };
        if let Some(towers) = (1..count).find(|&towers| moved_round(order, towers) == leads) {
            return Self::MovedRound(shortest(towers));
        }
        // Changes that bring each lead to its tower, from as drawn or from moved round by some.
        let changes = (0..count).map(|towers| {
            u32::from(towers != 0) + self::changes(&moved_round(order, towers), leads)
        });
        Self::Mixed(changes.min().unwrap_or(0))
    }

    /// How leads as plugged differ from as drawn: round the cap, or on the coils, where what is
    /// harmless is as drawn.
    pub(super) fn on(engine: &Engine, leads: &[u8]) -> Self {
        let order = engine.lead_order();
        if engine.coils().is_empty() || leads.len() != order.len() {
            return Self::of(order, leads);
        }
        let settled = coil_leads::settled(engine, leads);
        let moved = settled
            .iter()
            .zip(order)
            .filter(|(one, other)| one != other);
        let moved: Vec<u8> = moved.map(|(lead, _)| *lead).collect();
        match moved[..] {
            [] => Self::AsDrawn,
            [one, other] => Self::ChangedOver(one.min(other), one.max(other)),
            _ => coil_leads::coils_changed_over(engine, &settled).map_or_else(
                || Self::Mixed(coil_leads::changes(engine, &settled)),
                |(one, other)| Self::CoilsChangedOver(one, other),
            ),
        }
    }

    fn faults(self) -> u32 {
        match self {
            Self::AsDrawn => 0,
            Self::MovedRound(_) | Self::ChangedOver(..) | Self::CoilsChangedOver(..) => 1,
            Self::Mixed(faults) => faults,
        }
    }
}

/// Leads as plugged, in the engine's lead order.
pub(super) fn leads_of<'a>(engine: &'a Engine, assembly: &'a Assembly) -> &'a [u8] {
    assembly.leads.as_deref().unwrap_or(engine.lead_order())
}

/// Leads in this order, every one moved `towers` on in the rotor's direction.
pub fn moved_round(order: &[u8], towers: i32) -> Vec<u8> {
    let mut leads = order.to_vec();
    if !leads.is_empty() {
        let count = leads.len();
        leads.rotate_right(towers.rem_euclid(count as i32) as usize);
    }
    leads
}

/// The fewest changes of two that make `from` into `to`: its length less its cycles.
fn changes(from: &[u8], to: &[u8]) -> u32 {
    let mut now = from.to_vec();
    let mut changes = 0;
    for tower in 0..now.len() {
        if now[tower] != to[tower]
            && let Some(other) = now.iter().position(|&lead| lead == to[tower])
        {
            now.swap(tower, other);
            changes += 1;
        }
    }
    changes
}

/// The faults of an assembly, counted by part.
pub fn faults(engine: &Engine, assembly: &Assembly) -> u32 {
    let leads = LeadsFault::on(engine, leads_of(engine, assembly)).faults();
    let drive = assembly.drive_out();
    let drive = match &engine.metric().distributor {
        Some(distributor) => drive.simplest(distributor),
        None => drive,
    };
    cam_faults(engine, assembly.cams()) + drive.faults() + leads
}

/// The faults of the camshafts, counted by wheel.
pub(super) fn cam_faults(engine: &Engine, cams: CamTeeth) -> u32 {
    if cams.all_out_alike(engine.camshaft_count()) {
        1
    } else {
        cams.out().count() as u32
    }
}

/// The ways the distributor's drive seats, as drawn first: each place of the rotor once, by the
/// fewest faults.
pub fn drive_ways(distributor: &Distributor) -> Vec<DriveOut> {
    let teeth = distributor.driven_teeth.cast_signed();
    let by_teeth = |teeth: i32| DriveOut {
        teeth,
        half_turn: false,
    };
    match distributor.coupling() {
        Coupling::OffsetTongue | Coupling::CentralTongue if !distributor.is_on_geared_shaft() => {
            // Half a turn of an odd count of teeth is no whole number of them: a description's
            // check says so.
            let other = (distributor.coupling() == Coupling::CentralTongue && teeth % 2 == 0)
                .then_some(teeth / 2);
            [0].into_iter().chain(other).map(by_teeth).collect()
        }
        coupling => {
            let mut ways: Vec<DriveOut> = (0..teeth)
                .map(|way| by_teeth(if way * 2 > teeth { way - teeth } else { way }))
                .collect();
            if coupling == Coupling::CentralTongue {
                let turned: Vec<DriveOut> = ways
                    .iter()
                    .map(|way| DriveOut {
                        half_turn: true,
                        ..*way
                    })
                    .collect();
                ways.extend(turned);
                ways.retain(|way| way.simplest(distributor) == *way);
            }
            ways.sort_by_key(|way| (way.faults(), way.teeth.abs(), way.teeth));
            ways
        }
    }
}

/// Everything that is tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Space {
    /// Each camshaft's teeth ahead, as drawn first.
    pub cams: Vec<CamTeeth>,
    /// How the drive is out, as drawn first.
    pub drive: Vec<DriveOut>,
    /// Leads in the engine's lead order, as drawn first, each with its faults. One, empty, without
    /// a distributor or coils.
    pub leads: Vec<(Vec<u8>, u32)>,
}

impl Space {
    /// What is tried for these sightings of this engine.
    pub fn of(engine: &Engine, seen: &Observations) -> Self {
        let cams = cams(engine, seen);
        let drive = match &engine.metric().distributor {
            Some(distributor) => drive_ways(distributor),
            None => vec![DriveOut::default()],
        };
        if !engine.has_leads() {
            return Self {
                cams,
                drive,
                leads: vec![(Vec::new(), 0)],
            };
        }
        let order = engine.lead_order();
        let ways = match &seen.leads {
            Some(traced) if traced.len() == order.len() => {
                vec![traced.iter().map(|&lead| lead as u8).collect()]
            }
            _ if engine.coils().is_empty() => cap_leads(order),
            _ => coil_leads_tried(engine),
        };
        let leads = ways
            .into_iter()
            .map(|leads| (LeadsFault::on(engine, &leads).faults(), leads))
            .map(|(faults, leads)| (leads, faults));
        Self {
            cams,
            drive,
            leads: leads.collect(),
        }
    }

    /// How many ways of putting the engine together that is.
    pub fn count(&self) -> usize {
        self.cams.len() * self.drive.len() * self.leads.len()
    }
}

/// Leads moved round the cap by any number of towers, or any two of them changed over.
fn cap_leads(order: &[u8]) -> Vec<Vec<u8>> {
    let mut ways: Vec<Vec<u8>> = (0..order.len())
        .map(|towers| moved_round(order, towers as i32))
        .collect();
    for leads in changed_over(order) {
        // Of two leads, moved round and changed over are the same.
        if !ways.contains(&leads) {
            ways.push(leads);
        }
    }
    ways
}

/// Leads with any two of them changed over.
fn changed_over(order: &[u8]) -> impl Iterator<Item = Vec<u8>> {
    let pairs = (0..order.len()).flat_map(|one| (one + 1..order.len()).map(move |b| (one, b)));
    pairs.map(|(one, other)| {
        let mut leads = order.to_vec();
        leads.swap(one, other);
        leads
    })
}

/// Leads on the coils: as drawn, any two changed over, those of any two coils; each way that gives
/// other sparks once.
fn coil_leads_tried(engine: &Engine) -> Vec<Vec<u8>> {
    let order = engine.lead_order();
    let mut ways = vec![order.to_vec()];
    let coils = engine.coils().len();
    let pairs = (0..coils).flat_map(|one| (one + 1..coils).map(move |other| (one, other)));
    let coils_changed =
        pairs.filter_map(|(one, other)| coil_leads::with_coils_changed(engine, one, other));
    for leads in changed_over(order).chain(coils_changed) {
        let leads = coil_leads::settled(engine, &leads);
        if !ways.contains(&leads) {
            ways.push(leads);
        }
    }
    ways
}

/// Every way the cam wheels could stand, as drawn first.
fn cams(engine: &Engine, seen: &Observations) -> Vec<CamTeeth> {
    let count = engine.camshaft_count();
    let counted: Vec<Vec<(usize, i32)>> = seen
        .sightings
        .iter()
        .filter_map(|sighting| sighting.cam_teeth_off.as_ref())
        .map(|counted| counted.counted(engine))
        .collect();
    let counted_at = |camshaft: usize| {
        let own = counted
            .iter()
            .flatten()
            .filter(move |(of, _)| *of == camshaft);
        own.map(|(_, teeth)| *teeth).collect::<BTreeSet<i32>>()
    };
    // Together with another's, teeth counted beyond those tried only where every count agrees.
    let ways = |camshaft: usize| {
        let own = counted_at(camshaft);
        let agreed = own.into_iter().collect::<Vec<_>>();
        let agreed = if agreed.len() == 1 {
            agreed
        } else {
            Vec::new()
        };
        (-CAM_TEETH..=CAM_TEETH).chain(agreed).collect::<Vec<_>>()
    };
    let mut cams: Vec<CamTeeth> = Vec::new();
    for one in 0..count {
        let alone = |teeth: i32| CamTeeth::default().with(one, teeth);
        cams.extend(counted_at(one).into_iter().map(alone));
        for alone in ways(one).into_iter().map(alone) {
            cams.push(alone);
            for other in one + 1..count {
                let both = |teeth: i32| alone.with(other, teeth);
                cams.extend(ways(other).into_iter().map(both));
            }
        }
    }
    cams.extend((-CAM_TEETH..=CAM_TEETH).map(|teeth| CamTeeth::alike(count, teeth)));
    // What was counted at once, at however many.
    cams.extend(counted.iter().map(|counted| {
        let every = counted.iter();
        every.fold(CamTeeth::default(), |cams, (camshaft, teeth)| {
            cams.with(*camshaft, *teeth)
        })
    }));
    cams.sort_by_cached_key(|cams| {
        let teeth: u64 = cams
            .out()
            .map(|(_, teeth)| u64::from(teeth.unsigned_abs()))
            .sum();
        (cam_faults(engine, *cams), teeth, *cams)
    });
    cams.dedup();
    cams
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes;

    #[test]
    fn leads_are_described_as_a_builder_would_describe_them() {
        let order = [1, 3, 4, 2];
        let cases: [(&[u8], LeadsFault); 6] = [
            (&[1, 3, 4, 2], LeadsFault::AsDrawn),
            (&[2, 1, 3, 4], LeadsFault::MovedRound(1)),
            (&[3, 4, 2, 1], LeadsFault::MovedRound(-1)),
            (&[4, 2, 1, 3], LeadsFault::MovedRound(2)),
            (&[1, 4, 3, 2], LeadsFault::ChangedOver(3, 4)),
            (&[3, 1, 4, 2], LeadsFault::ChangedOver(1, 3)),
        ];
        for (leads, fault) in cases {
            assert_eq!(LeadsFault::of(&order, leads), fault, "{leads:?}");
        }
        // Three leads each in the next one's tower: two changes.
        assert_eq!(LeadsFault::of(&order, &[4, 1, 3, 2]), LeadsFault::Mixed(2));
    }

    #[test]
    fn every_tooth_of_a_gear_and_every_way_of_a_tongue_is_tried() {
        let ways = |scene| {
            let engine = scenes::find(scene).expect("a scene").engine();
            let ways = drive_ways(engine.metric().distributor.as_ref().expect("a distributor"));
            assert!(ways.iter().all(|way| !way.half_turn), "{scene}");
            ways.iter().map(|way| way.teeth).collect::<Vec<i32>>()
        };
        assert_eq!(
            ways("bench_four"),
            [0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5, -6, 6]
        );
        assert_eq!(ways("flat_four").len(), 24);
        assert_eq!(ways("three"), [0, 6]);
        assert_eq!(ways("parallel_twin"), [0]);
    }

    #[test]
    fn the_space_of_an_eight_holds_every_pair_of_leads_and_every_way_round() {
        let engine = scenes::find("vee_eight").expect("a scene").engine();
        let space = Space::of(&engine, &Observations::default());
        assert_eq!(space.leads.len(), 8 + 28);
        assert_eq!(space.count(), 9 * 13 * 36);
    }
}
