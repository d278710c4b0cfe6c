//! Every way the parts could have been put together.
//!
//! The cam wheel out by up to four teeth either way; the distributor's drive by every
//! tooth it has or, for a tongue, every way it seats; the leads moved round by any number of
//! towers, or any two of them changed over. What was counted or traced is not guessed at: counted
//! cam teeth are tried even beyond that, and traced leads are the only ones tried.
//!
//! Faults are counted by part: teeth out are one fault for each wheel however many they are, leads
//! moved round one, two leads changed over one. The other turn of the crank is no fault.

use super::observations::Observations;
use crate::description::{Coupling, Distributor};
use crate::engine::{Assembly, Engine};

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

    fn faults(self) -> u32 {
        match self {
            Self::AsDrawn => 0,
            Self::MovedRound(_) | Self::ChangedOver(..) => 1,
            Self::Mixed(faults) => faults,
        }
    }
}

/// Leads as plugged, from No. 1's tower in the rotor's direction.
pub(super) fn leads_of<'a>(engine: &'a Engine, assembly: &'a Assembly) -> &'a [u8] {
    assembly.leads.as_deref().unwrap_or(engine.firing_order())
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
    let leads = LeadsFault::of(engine.firing_order(), leads_of(engine, assembly)).faults();
    u32::from(assembly.cam_teeth != 0) + u32::from(assembly.drive_teeth != 0) + leads
}

/// The ways the distributor's drive seats, as teeth ahead, as drawn first.
pub fn drive_ways(distributor: &Distributor) -> Vec<i32> {
    let teeth = distributor.driven_teeth as i32;
    match distributor.coupling {
        Coupling::Gear => {
            let mut ways: Vec<i32> = (0..teeth)
                .map(|way| if way * 2 > teeth { way - teeth } else { way })
                .collect();
            ways.sort_by_key(|way| (way.abs(), *way));
            ways
        }
        Coupling::OffsetTongue => vec![0],
        // Half a turn of an odd count of teeth is no whole number of them: a description's check
        // says so.
        Coupling::CentralTongue if teeth % 2 == 0 => vec![0, teeth / 2],
        Coupling::CentralTongue => vec![0],
    }
}

/// Everything that is tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Space {
    /// Cam teeth ahead, as drawn first.
    pub cam_teeth: Vec<i32>,
    /// Drive teeth ahead, as drawn first.
    pub drive_teeth: Vec<i32>,
    /// Leads from No. 1's tower in the rotor's direction, as drawn first, each with its faults.
    /// One, empty, without a distributor.
    pub leads: Vec<(Vec<u8>, u32)>,
}

impl Space {
    /// What is tried for these sightings of this engine.
    pub fn of(engine: &Engine, seen: &Observations) -> Self {
        let mut cam_teeth: Vec<i32> = (-CAM_TEETH..=CAM_TEETH).collect();
        cam_teeth.extend(
            seen.sightings
                .iter()
                .filter_map(|sighting| sighting.cam_teeth_off),
        );
        cam_teeth.sort_by_key(|teeth| (teeth.unsigned_abs(), *teeth));
        cam_teeth.dedup();
        let Some(distributor) = &engine.metric().distributor else {
            return Self {
                cam_teeth,
                drive_teeth: vec![0],
                leads: vec![(Vec::new(), 0)],
            };
        };
        let order = engine.firing_order();
        let mut ways: Vec<Vec<u8>> = Vec::new();
        match &seen.leads {
            Some(traced) if traced.len() == order.len() => {
                ways.push(traced.iter().map(|&lead| lead as u8).collect());
            }
            _ => {
                ways.extend((0..order.len()).map(|towers| moved_round(order, towers as i32)));
                for one in 0..order.len() {
                    for other in one + 1..order.len() {
                        let mut leads = order.to_vec();
                        leads.swap(one, other);
                        // Of two leads, moved round and changed over are the same.
                        if !ways.contains(&leads) {
                            ways.push(leads);
                        }
                    }
                }
            }
        }
        let leads = ways
            .into_iter()
            .map(|leads| (LeadsFault::of(order, &leads).faults(), leads))
            .map(|(faults, leads)| (leads, faults));
        Self {
            cam_teeth,
            drive_teeth: drive_ways(distributor),
            leads: leads.collect(),
        }
    }

    /// How many ways of putting the engine together that is.
    pub fn count(&self) -> usize {
        self.cam_teeth.len() * self.drive_teeth.len() * self.leads.len()
    }
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
            drive_ways(engine.metric().distributor.as_ref().expect("a distributor"))
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
