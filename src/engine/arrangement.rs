//! A new engine from its layout: cylinders, banks, a crank that suits them and the firing orders
//! that crank can give.
//!
//! Everything starts from the TDC each cylinder should have, modulo one turn. From it the throw
//! follows: a cylinder with bank angle γ and TDC t has its throw at β = γ − γ₁ − s t. Two cylinders
//! of a vee whose throws come out the same share a pin. A firing order is one choice, for each
//! cylinder, of the turn in which it fires; the crank can give those whose firings come one after
//! the other.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the cylinders of one list; `windows(2)` gives pairs"
)]

use serde::{Deserialize, Serialize};

use crate::angle::{Direction, wrap};
use crate::description::Description;
use crate::description::{
    Bank, CamDrive, Camshaft, CentrifugalPoint, Coupling, Crankshaft, Distributor, DriveKind,
    DrivenBy, Exhaust, Ignition, Intake, LiftLaw, Mark, MarkOn, MeasuredAt, Sparks, Throw, Valve,
    ValveGear, Valves,
};
use crate::laws::firing;
use crate::words::Units;

/// How the cylinders stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Arrangement {
    /// All in one row.
    Inline,
    /// Two rows face to face.
    Flat,
    /// Two rows at an angle.
    Vee,
}

impl Arrangement {
    /// Every layout.
    pub const ALL: [Self; 3] = [Self::Inline, Self::Flat, Self::Vee];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inline => "inline",
            Self::Flat => "flat",
            Self::Vee => "vee",
        }
    }

    /// The cylinder counts offered. A description may hold up to 24; more than twelve are written
    /// by hand.
    pub fn counts(self) -> &'static [u8] {
        match self {
            Self::Inline => &[1, 2, 3, 4, 5, 6, 7, 8],
            Self::Flat | Self::Vee => &[2, 4, 6, 8, 10, 12],
        }
    }
}

/// A side of the engine, seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// On the left hand of one who looks at the front; on the right of one who sits behind the
    /// engine.
    Left,
    /// On the right hand of one who looks at the front; on the left of one who sits behind the
    /// engine.
    Right,
}

/// What gives the sparks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum IgnitionChoice {
    /// A distributor.
    Distributor,
    /// Coils with leads of their own: one for each two cylinders that fire 360° apart, or for each.
    Coils,
    /// A magneto on the crank: sparks every turn.
    Magneto,
}

impl IgnitionChoice {
    /// Every choice.
    pub const ALL: [Self; 3] = [Self::Distributor, Self::Coils, Self::Magneto];

    /// In a few words, after `by`.
    pub fn words(self) -> &'static str {
        match self {
            Self::Distributor => "a distributor",
            Self::Coils => "coils at the plugs",
            Self::Magneto => "a magneto on the crank",
        }
    }
}

/// The least and the most angle between the rows of a vee, degrees.
pub const VEE_DEG: (f64, f64) = (5.0, 175.0);

/// What the builder says of the engine to begin with.
#[derive(Clone, Debug, PartialEq)]
pub struct EngineChoice {
    /// What to call it.
    pub name: String,
    /// How the cylinders stand.
    pub layout: Arrangement,
    /// How many there are.
    pub cylinders: u8,
    /// Degrees between the rows of a vee.
    pub vee_deg: f64,
    /// On which side a flat or vee engine has No. 1 and the other odd numbers.
    pub number_one_on: Side,
    /// Which way the crank turns, seen from the front.
    pub rotation: Direction,
    /// What gives the sparks.
    pub ignition: IgnitionChoice,
    /// Whether two camshafts lie over each head; else there is one camshaft.
    pub twin_camshafts: bool,
}

impl Default for EngineChoice {
    fn default() -> Self {
        Self {
            name: "New engine".into(),
            layout: Arrangement::Inline,
            cylinders: 4,
            vee_deg: 90.0,
            number_one_on: Side::Right,
            rotation: Direction::Clockwise,
            ignition: IgnitionChoice::Distributor,
            twin_camshafts: false,
        }
    }
}

/// A crank that suits a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct CrankChoice {
    /// In a builder's words.
    pub what: String,
    /// Its throws, front to back.
    pub throws: Vec<Throw>,
}

/// A firing order, and what lies between its firings.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderChoice {
    /// Cylinders in the order they fire.
    pub cylinders: Vec<u32>,
    /// Crank degrees after each firing, to the next.
    pub intervals_deg: Vec<f64>,
    /// The crank angle of each firing, where the order alone would be read as another.
    pub firing_angles: Option<Vec<f64>>,
}

impl OrderChoice {
    /// Whether all intervals are alike.
    pub fn is_even(&self) -> bool {
        self.unevenness_deg() < 0.2
    }

    fn unevenness_deg(&self) -> f64 {
        let fold =
            |start, pick: fn(f64, f64) -> f64| self.intervals_deg.iter().copied().fold(start, pick);
        fold(f64::NEG_INFINITY, f64::max) - fold(f64::INFINITY, f64::min)
    }

    /// `1-3-4-2`.
    pub fn dashed(&self) -> String {
        self.cylinders
            .iter()
            .map(u32::to_string)
            .collect::<Vec<_>>()
            .join("-")
    }
}

impl EngineChoice {
    /// The rows of cylinders. In a flat or vee engine the odd numbers stand in one row, the even in
    /// the other.
    pub fn banks(&self) -> Vec<Bank> {
        let count = u32::from(self.cylinders);
        let every_other = |first: u32| (first..=count).step_by(2).collect();
        let pair = |one: f64, other: f64| {
            vec![
                Bank {
                    angle: one,
                    cylinders: every_other(1),
                },
                Bank {
                    angle: other,
                    cylinders: every_other(2),
                },
            ]
        };
        match self.layout {
            Arrangement::Inline => vec![Bank {
                angle: 0.0,
                cylinders: (1..=count).collect(),
            }],
            Arrangement::Flat => pair(
                wrap(90.0 * self.side(), 360.0),
                wrap(-90.0 * self.side(), 360.0),
            ),
            Arrangement::Vee => pair(
                self.side() * self.vee_deg / 2.0,
                -self.side() * self.vee_deg / 2.0,
            ),
        }
    }

    /// Where the cam gear's dot faces the crank: the camshaft beside an upright row, in the valley of
    /// a vee, under a flat engine.
    fn cam_dot_deg(&self) -> f64 {
        match self.layout {
            Arrangement::Inline => 240.0,
            Arrangement::Flat => 0.0,
            Arrangement::Vee => 180.0,
        }
    }

    fn side(&self) -> f64 {
        match self.number_one_on {
            Side::Left => -1.0,
            Side::Right => 1.0,
        }
    }

    /// The cranks that suit, the evenest firing first; each can give at least one order.
    pub fn cranks(&self) -> Vec<CrankChoice> {
        let mut cranks: Vec<(f64, CrankChoice)> = Vec::new();
        for (kind, tdcs) in self.tdc_patterns() {
            let throws = self.throws_for(&tdcs);
            if cranks.iter().any(|(_, crank)| crank.throws == throws) {
                continue;
            }
            let angles = throws
                .iter()
                .map(|throw| format!("{:.0}°", throw.angle))
                .collect::<Vec<_>>()
                .join(", ");
            let orders = self.orders(&throws);
            let Some(best) = orders.first() else { continue };
            let even = if best.is_even() {
                "fires evenly"
            } else {
                "fires unevenly"
            };
            cranks.push((
                best.unevenness_deg(),
                CrankChoice {
                    what: format!("{kind}{angles}: {even}"),
                    throws,
                },
            ));
        }
        cranks.sort_by(|one, other| one.0.total_cmp(&other.0));
        cranks.into_iter().map(|(_, crank)| crank).collect()
    }

    /// Sets of TDCs worth trying, modulo one turn, by cylinder, with the words that go before the
    /// throws' angles.
    fn tdc_patterns(&self) -> Vec<(&'static str, Vec<f64>)> {
        let count = usize::from(self.cylinders);
        let both_ways = |tdcs: Vec<f64>| {
            [
                tdcs.clone(),
                tdcs.iter().map(|tdc| wrap(-tdc, 360.0)).collect(),
            ]
        };
        let mut patterns = Vec::new();
        match self.layout {
            Arrangement::Inline => {
                patterns.extend(both_ways(one_row(count)).map(|tdcs| ("throws at ", tdcs)));
                if count == 2 {
                    patterns.push(("throws at ", vec![0.0, 180.0]));
                }
            }
            Arrangement::Flat => {
                for pairs in both_ways(spread(count / 2, 720.0 / count as f64)) {
                    patterns.push((
                        "throws at ",
                        pairs.iter().flat_map(|&tdc| [tdc, tdc]).collect(),
                    ));
                }
                let shared = both_ways(one_row(count / 2));
                patterns.extend(shared.map(|odd| ("shared pins at ", beside(&odd, 180.0))));
            }
            Arrangement::Vee => {
                let half = count / 2;
                let pins = both_ways(one_row(half))
                    .into_iter()
                    .chain(both_ways(spread(half, 360.0 / half as f64)));
                let step = 720.0 / count as f64;
                // The even row's TDCs follow the odd row's by the vee where they share pins, else
                // by whole firing intervals.
                let split = (self.vee_deg / step).round().max(1.0) * step;
                let to_the_even_row = -self.rotation.sign() * self.side();
                for odd in pins {
                    patterns.push((
                        "shared pins at ",
                        beside(&odd, to_the_even_row * self.vee_deg),
                    ));
                    patterns.push(("split pins at ", beside(&odd, to_the_even_row * split)));
                }
            }
        }
        patterns
    }

    /// The throws that give these TDCs; neighbours of a vee or flat engine on the same angle share
    /// one.
    fn throws_for(&self, tdcs: &[f64]) -> Vec<Throw> {
        let banks = self.banks();
        let bank = |number: u32| {
            banks
                .iter()
                .find(|bank| bank.cylinders.contains(&number))
                .map_or(0.0, |bank| bank.angle)
        };
        let mut throws: Vec<Throw> = Vec::new();
        for (number, tdc) in (1..).zip(tdcs) {
            let angle = tidy(bank(number) - bank(1) - self.rotation.sign() * tdc);
            match throws.last_mut() {
                Some(last)
                    if number % 2 == 0
                        && self.layout != Arrangement::Inline
                        && (last.angle - angle).abs() < 1e-6 =>
                {
                    last.cylinders.push(number);
                }
                _ => throws.push(Throw {
                    angle,
                    cylinders: vec![number],
                }),
            }
        }
        throws
    }

    /// The firing orders a crank can give, the evenest; numbers near together fire far apart first.
    pub fn orders(&self, throws: &[Throw]) -> Vec<OrderChoice> {
        /// More than this nobody reads through.
        const MOST: usize = 64;
        let count = usize::from(self.cylinders);
        let first = OrderChoice {
            cylinders: (1..=u32::from(self.cylinders)).collect(),
            intervals_deg: Vec::new(),
            firing_angles: None,
        };
        let mut trial = self.describe(throws, &first);
        let tdcs: Vec<f64> = (1..=count as u32)
            .map(|number| firing::tdc_of(&trial, number).unwrap_or(f64::NAN))
            .collect();
        let mut orders: Vec<OrderChoice> = Vec::new();
        for turns in 0..1_u32 << (count - 1) {
            let mut fires: Vec<(f64, u32)> = (0..count)
                .map(|index| {
                    let second = index > 0 && turns >> (index - 1) & 1 == 1;
                    (
                        tdcs[index] + if second { 360.0 } else { 0.0 },
                        index as u32 + 1,
                    )
                })
                .collect();
            fires.sort_by(|one, other| one.0.total_cmp(&other.0));
            trial.firing_order = fires.iter().map(|(_, number)| *number).collect();
            let angles: Vec<f64> = fires.iter().map(|(fire, _)| *fire).collect();
            if angles.windows(2).any(|pair| pair[1] - pair[0] < 1e-6) {
                continue;
            }
            let alone = firing::firing_angles(&trial);
            let clear = alone.is_ok_and(|alone| {
                alone
                    .iter()
                    .zip(&angles)
                    .all(|(one, other)| (one - other).abs() < 1e-6)
            });
            orders.push(OrderChoice {
                cylinders: trial.firing_order.clone(),
                intervals_deg: firing::intervals(&angles),
                firing_angles: (!clear).then_some(angles),
            });
        }
        let least = orders
            .iter()
            .map(OrderChoice::unevenness_deg)
            .fold(f64::INFINITY, f64::min);
        orders.retain(|order| order.unevenness_deg() < least + 1e-6);
        orders.sort_by_cached_key(|order| {
            (
                neighbours_in_turn(&order.cylinders),
                order.cylinders.clone(),
            )
        });
        orders.truncate(MOST);
        orders
    }

    /// The description, to be made the builder's own field by field. Its figures are common, and
    /// nobody's engine.
    pub fn describe(&self, throws: &[Throw], order: &OrderChoice) -> Description {
        let mut description = self.plain(throws, order);
        if self.twin_camshafts {
            description = self.with_twin_camshafts(description);
        }
        with_ignition(description, self.ignition)
    }

    /// The same with two camshafts over each head, on a chain: the intake's first.
    fn with_twin_camshafts(&self, mut description: Description) -> Description {
        description.cam_drive = CamDrive {
            kind: DriveKind::Chain,
            module: None,
            backlash: None,
            ..description.cam_drive
        };
        description.valves.gear = Some(ValveGear::Overhead);
        description
            .marks
            .retain(|mark| mark.on == MarkOn::Crankshaft);
        let heads = description.banks.len();
        for (index, bank) in description.banks.iter().enumerate() {
            for valve in Valve::BOTH {
                let (name, banks) = if heads == 1 {
                    (format!("{} cam", valve.word()), Vec::new())
                } else {
                    let number = index as u32 + 1;
                    (format!("bank {number} {} cam", valve.word()), vec![number])
                };
                description.marks.push(Mark {
                    on: MarkOn::CamshaftNumber(description.camshafts.len() as u32 + 1),
                    name: format!("{name} dot"),
                    at: wrap(bank.angle + 180.0, 360.0),
                    pointer_at: None,
                });
                description.camshafts.push(Camshaft {
                    name,
                    works: vec![valve],
                    banks,
                    cam_teeth: None,
                    trim: None,
                });
            }
        }
        description
    }

    /// With one camshaft, and without what only coils or a magneto say.
    fn plain(&self, throws: &[Throw], order: &OrderChoice) -> Description {
        let number_one = self.banks().first().map_or(0.0, |bank| bank.angle);
        Description {
            format: 1,
            name: self.name.clone(),
            notes: "Common figures to start from: put your own in their place.".into(),
            units: Units::Millimetres,
            case: None,
            crankshaft: Crankshaft {
                rotation: Some(self.rotation),
                stroke: 80.0,
                throws: throws.to_vec(),
            },
            banks: self.banks(),
            bore: 82.0,
            rod_length: 135.0,
            pin_offset: Some(0.0),
            firing_order: order.cylinders.clone(),
            firing_angles: order.firing_angles.clone(),
            camshafts: Vec::new(),
            cam_drive: CamDrive {
                kind: DriveKind::Gears,
                crank_teeth: 25,
                cam_teeth: 50,
                idler_teeth: Vec::new(),
                marks_meet_at: Some(0.0),
                module: Some(2.0),
                diametral_pitch: None,
                pitch: None,
                links_between_marks: None,
                counted_on: None,
                backlash: Some(0.05),
                cam_at: None,
            },
            valves: Valves {
                intake: Intake::angles(12.0, 52.0, 9.0),
                exhaust: Exhaust::angles(52.0, 12.0, 9.0),
                card: None,
                quoted_at: Some(0.0),
                measured_at: Some(MeasuredAt::Valve),
                rocker_ratio: None,
                lash: None,
                adjusters: None,
                lobe: LiftLaw::Polynomial,
                gear: None,
                follower: None,
            },
            distributor: (self.ignition == IgnitionChoice::Distributor).then(|| self.cap()),
            ignition: Ignition {
                static_advance: 8.0,
                sparks: None,
                coils: None,
                centrifugal: vec![
                    CentrifugalPoint {
                        rpm: 800.0,
                        advance: 0.0,
                    },
                    CentrifugalPoint {
                        rpm: 3200.0,
                        advance: 22.0,
                    },
                ],
                vacuum: Vec::new(),
            },
            second_ignition: None,
            clearance: None,
            marks: vec![
                Mark {
                    on: MarkOn::Crankshaft,
                    name: "pulley notch".into(),
                    at: number_one,
                    pointer_at: None,
                },
                Mark {
                    on: MarkOn::Camshaft,
                    name: "cam gear dot".into(),
                    at: self.cam_dot_deg(),
                    pointer_at: None,
                },
            ],
            pulley_diameter: None,
            oil_pump: None,
            steps: Vec::new(),
        }
    }

    fn cap(&self) -> Distributor {
        // Tip and tower together take no more than half of what lies between two towers, lest a
        // spark reach two leads.
        let room_deg = 360.0 / f64::from(self.cylinders) / 2.0;
        Distributor {
            body_range: Some(15.0),
            tip_width: Some(f64::min(9.0, (room_deg * 0.6).round())),
            tower_width: Some(f64::min(6.0, (room_deg * 0.4).round())),
            ..plain_distributor()
        }
    }
}

/// A distributor to start from: on the camshaft, one to one, with nothing said that is not needed.
pub fn plain_distributor() -> Distributor {
    Distributor {
        driven_by: DrivenBy::Camshaft,
        camshaft: None,
        driver_teeth: 13,
        driven_teeth: 13,
        coupling: Some(Coupling::Gear),
        rotation: Some(Direction::Clockwise),
        number_one_at: 45.0,
        offset: None,
        turns_on_entry: None,
        helix: None,
        body_range: None,
        tip_width: None,
        tower_width: None,
        shaft: None,
        slot_at: None,
    }
}

/// How the sparks come by coils or a magneto: coils of two where cylinders fire 360° apart. Nothing is
/// changed where the crank cannot give the firing order, or there is a distributor.
fn with_ignition(mut description: Description, ignition: IgnitionChoice) -> Description {
    match ignition {
        IgnitionChoice::Distributor => {}
        IgnitionChoice::Magneto => description.ignition.sparks = Some(Sparks::EveryTurn),
        IgnitionChoice::Coils => {
            let coils = coils(&description);
            if coils.iter().any(|coil| coil.len() > 1) {
                description.ignition.sparks = Some(Sparks::EveryTurn);
            }
            description.ignition.coils = (!coils.is_empty()).then_some(coils);
        }
    }
    description
}

/// A coil for each two cylinders that fire 360° apart, and one for each that has no such mate.
fn coils(description: &Description) -> Vec<Vec<u32>> {
    let angles = firing::firing_angles(description).unwrap_or_default();
    let fires: Vec<(u32, f64)> = description
        .firing_order
        .iter()
        .copied()
        .zip(angles)
        .collect();
    let mut coils: Vec<Vec<u32>> = Vec::new();
    for &(number, own) in &fires {
        if coils.iter().any(|coil| coil.contains(&number)) {
            continue;
        }
        let mate = fires.iter().find(|(other, fires)| {
            firing::is_a_turn_apart(own, *fires) && !coils.iter().any(|coil| coil.contains(other))
        });
        coils.push(match mate {
            Some((mate, _)) => vec![number, *mate],
            None => vec![number],
        });
    }
    coils
}

/// The TDCs of a row of cylinders that fires evenly: an even row from four up is the same from
/// either end.
fn one_row(count: usize) -> Vec<f64> {
    let step = 720.0 / count.max(1) as f64;
    if count % 2 == 1 || count == 0 {
        return spread(count, step);
    }
    let front = spread(count / 2, step);
    front.iter().chain(front.iter().rev()).copied().collect()
}

/// `count` TDCs `step` apart, given out to the odd numbers going up and the even numbers coming
/// down, so that neighbours on the crank do not fire one after the other.
fn spread(count: usize, step: f64) -> Vec<f64> {
    let turn_of = |index: usize| {
        if index.is_multiple_of(2) {
            index / 2
        } else {
            count - index.div_ceil(2)
        }
    };
    (0..count)
        .map(|index| wrap(turn_of(index) as f64 * step, 360.0))
        .collect()
}

/// The odd row's TDCs with the even row's after them by `by_deg`, in the order of the numbers.
fn beside(odd: &[f64], by_deg: f64) -> Vec<f64> {
    odd.iter()
        .flat_map(|&tdc| [tdc, wrap(tdc + by_deg, 360.0)])
        .collect()
}

/// How often two neighbouring numbers fire one after the other.
fn neighbours_in_turn(order: &[u32]) -> usize {
    let next = order.iter().cycle().skip(1);
    order
        .iter()
        .zip(next)
        .filter(|(one, other)| one.abs_diff(**other) == 1)
        .count()
}

/// An angle from 0 under 360, rid of the last digits of rounding.
fn tidy(angle: f64) -> f64 {
    wrap((angle * 1e6).round() / 1e6, 360.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Engine;

    fn wanted(layout: Arrangement, cylinders: u8) -> EngineChoice {
        EngineChoice {
            layout,
            cylinders,
            ..EngineChoice::default()
        }
    }

    #[test]
    fn every_layout_offered_makes_an_engine_with_every_crank_and_order_offered() {
        for layout in Arrangement::ALL {
            for &cylinders in layout.counts() {
                for rotation in [Direction::Clockwise, Direction::CounterClockwise] {
                    for vee_deg in [45.0, 60.0, 72.0, 90.0, 120.0] {
                        let wanted = EngineChoice {
                            rotation,
                            vee_deg,
                            ..wanted(layout, cylinders)
                        };
                        let cranks = wanted.cranks();
                        assert!(!cranks.is_empty(), "{wanted:?}");
                        for crank in cranks {
                            let orders = wanted.orders(&crank.throws);
                            assert!(!orders.is_empty(), "{wanted:?} {crank:?}");
                            for order in orders.iter().take(8) {
                                let made = Engine::new(wanted.describe(&crank.throws, order));
                                let (_, warnings) = made.unwrap_or_else(|errors| {
                                    panic!("{wanted:?} {crank:?} {order:?}: {errors:?}")
                                });
                                let uneven = warnings
                                    .iter()
                                    .any(|finding| finding.name == "UnevenFiring");
                                assert_eq!(uneven, !order.is_even(), "{crank:?} {order:?}");
                                assert!(
                                    warnings
                                        .iter()
                                        .all(|finding| finding.name == "UnevenFiring"),
                                    "{warnings:?}"
                                );
                            }
                        }
                        if layout != Arrangement::Inline {
                            continue;
                        }
                        break;
                    }
                }
            }
        }
    }

    fn offers(wanted: &EngineChoice, order: &[u32]) -> bool {
        wanted.cranks().iter().any(|crank| {
            wanted
                .orders(&crank.throws)
                .iter()
                .any(|offered| offered.cylinders == order)
        })
    }

    /// FAA-H-8083-32 powerplant handbook, chapter 1, for the six and the flat engines; the others
    /// are common practice, no source.
    #[test]
    fn the_usual_orders_are_among_those_offered() {
        let rows: [(Arrangement, &[u32]); 11] = [
            (Arrangement::Inline, &[1, 3, 2]),
            (Arrangement::Inline, &[1, 2, 3]),
            (Arrangement::Inline, &[1, 3, 4, 2]),
            (Arrangement::Inline, &[1, 2, 4, 3]),
            (Arrangement::Inline, &[1, 2, 4, 5, 3]),
            (Arrangement::Inline, &[1, 5, 3, 6, 2, 4]),
            (Arrangement::Flat, &[1, 4, 2, 3]),
            (Arrangement::Flat, &[1, 3, 2, 4]),
            (Arrangement::Flat, &[1, 4, 5, 2, 3, 6]),
            (Arrangement::Vee, &[1, 8, 4, 3, 6, 5, 7, 2]),
            (Arrangement::Inline, &[1, 2]),
        ];
        for (layout, order) in rows {
            assert!(
                offers(&wanted(layout, order.len() as u8), order),
                "{layout:?} {order:?}"
            );
        }
    }

    #[test]
    fn an_order_the_crank_cannot_give_is_not_offered() {
        assert!(!offers(&wanted(Arrangement::Inline, 4), &[1, 4, 3, 2]));
        assert!(!offers(
            &wanted(Arrangement::Inline, 6),
            &[1, 6, 2, 5, 3, 4]
        ));
    }

    #[test]
    fn a_vee_twin_on_one_pin_fires_unevenly_and_says_so() {
        let wanted = EngineChoice {
            vee_deg: 45.0,
            ..wanted(Arrangement::Vee, 2)
        };
        let cranks = wanted.cranks();
        let shared = cranks
            .iter()
            .find(|crank| crank.throws.len() == 1)
            .expect("one pin");
        let orders = wanted.orders(&shared.throws);
        // 45° vee-twin on one pin: 315 and 405 in turn. Common practice, no source.
        let mut intervals = orders[0].intervals_deg.clone();
        intervals.sort_by(f64::total_cmp);
        assert_eq!(intervals, [315.0, 405.0]);
        assert!(shared.what.contains("unevenly"), "{}", shared.what);
        let (engine, _) =
            Engine::new(wanted.describe(&shared.throws, &orders[0])).expect("an engine");
        assert_eq!(
            firing::intervals(engine.firing_angles()),
            orders[0].intervals_deg
        );
    }

    #[test]
    fn the_evenest_crank_is_offered_first() {
        // A 90° vee-six on shared pins fires 90 and 150 in turn; with its pins split by 30° every
        // 120. Common practice, no source.
        let wanted = wanted(Arrangement::Vee, 6);
        let cranks = wanted.cranks();
        assert!(wanted.orders(&cranks[0].throws)[0].is_even());
        let angles: Vec<f64> = cranks[0].throws.iter().map(|throw| throw.angle).collect();
        let split = (angles[1] - angles[0]).rem_euclid(360.0);
        assert!(
            (split - 330.0).abs() < 1e-9 || (split - 30.0).abs() < 1e-9,
            "{angles:?}"
        );
    }
}
