//! When each cylinder fires, from the crank's own geometry and not from the order alone.
//!
//! With No. 1's throw at 0, a cylinder of bank angle γ and throw β comes to TDC at s (γ − γ₁ − β),
//! modulo 360. No. 1 fires at 0; each next in the order at its first TDC strictly after the one
//! before; all must fall under 720. Where the order alone is ambiguous (two TDCs would serve), the
//! description gives the angles and each must be a TDC.

use std::fmt;

use super::stroke::DEAD_CENTRE_WITHIN_DEG;
use crate::angle::wrap;
use crate::description::{Bank, Description, Throw};

/// Two crank angles this close are one: far over the rounding of sums of degrees, far under
/// anything on an engine.
const SAME_DEG: f64 = 1e-6;

/// Why a crank cannot give a firing order.
#[derive(Clone, Debug, PartialEq)]
pub enum CannotFire {
    /// The order runs over 720°: this cylinder, the k-th to fire, would come only at this angle.
    TooLate {
        /// Its index in the firing order.
        index: usize,
        /// The crank angle at which its turn would come.
        at_deg: f64,
    },
    /// The given firing angle is not a TDC of this cylinder.
    NotItsTdc {
        /// Its index in the firing order.
        index: usize,
        /// The TDC nearest to the given angle.
        nearest_deg: f64,
    },
    /// The given firing angle does not come after the one before it, or not under 720.
    OutOfTurn {
        /// Its index in the firing order.
        index: usize,
    },
}

impl fmt::Display for CannotFire {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Self::TooLate { index, .. }
        | Self::NotItsTdc { index, .. }
        | Self::OutOfTurn { index }) = self;
        write!(f, "firing {} of the order: ", index + 1)?;
        match self {
            Self::TooLate { at_deg, .. } => write!(f, "its turn comes only at {at_deg}°"),
            Self::NotItsTdc { nearest_deg, .. } => {
                write!(f, "not its TDC; the nearest is {nearest_deg}°")
            }
            Self::OutOfTurn { .. } => f.write_str("not after the one before it, or not under 720°"),
        }
    }
}

impl std::error::Error for CannotFire {}

/// The TDC of `cylinder`, 0 ≤ t < 360 after No. 1's. None for a cylinder that has no throw or bank.
pub fn tdc_of(description: &Description, cylinder: u32) -> Option<f64> {
    let throw = |number| {
        let holds = |throw: &&Throw| throw.cylinders.contains(&number);
        let mut throws = description.crankshaft.throws.iter();
        throws.find(holds).map(|throw| throw.angle)
    };
    let bank = |number| {
        let holds = |bank: &&Bank| bank.cylinders.contains(&number);
        description.banks.iter().find(holds).map(|bank| bank.angle)
    };
    let sign = description.crankshaft.rotation().sign();
    let after = sign * (bank(cylinder)? - bank(1)? - (throw(cylinder)? - throw(1)?));
    let tdc = wrap(after, 360.0);
    // 359.9999999 is 0 that went through a subtraction.
    Some(if 360.0 - tdc < SAME_DEG {
        0.0
    } else {
        (tdc * 1e9).round() / 1e9
    })
}

/// The firing angle of each cylinder in the firing order, and the first cylinder that cannot fire
/// in its turn.
pub fn firing_angles(description: &Description) -> Result<Vec<f64>, CannotFire> {
    let mut fires: Vec<f64> = Vec::with_capacity(description.firing_order.len());
    for (index, &cylinder) in description.firing_order.iter().enumerate() {
        let tdc = tdc_of(description, cylinder).unwrap_or(f64::NAN);
        let before = fires.last().copied();
        let fire = match description
            .firing_angles
            .as_ref()
            .and_then(|angles| angles.get(index))
        {
            Some(&given) => {
                let nearest = tdc + 360.0 * ((given - tdc) / 360.0).round();
                let off = (given - nearest).abs();
                if off.is_nan() || off > DEAD_CENTRE_WITHIN_DEG {
                    return Err(CannotFire::NotItsTdc {
                        index,
                        nearest_deg: nearest,
                    });
                }
                // Two cylinders may be given the same angle: they fire together.
                let early = nearest < before.unwrap_or(0.0) - SAME_DEG;
                let first_late = index == 0 && nearest > SAME_DEG;
                if early || first_late || nearest >= 720.0 - SAME_DEG {
                    return Err(CannotFire::OutOfTurn { index });
                }
                nearest
            }
            None => match before {
                None => 0.0,
                Some(before) => {
                    let turns = ((before - tdc + SAME_DEG) / 360.0).floor() + 1.0;
                    tdc + 360.0 * turns.max(0.0)
                }
            },
        };
        if fire.is_nan() || fire >= 720.0 - SAME_DEG {
            return Err(CannotFire::TooLate {
                index,
                at_deg: fire,
            });
        }
        fires.push(fire);
    }
    Ok(fires)
}

/// Every set of firing angles that this crank can give this order: from some cylinder of the order
/// on, each fires a turn later than it could.
pub(crate) fn all_firing_angles(description: &Description) -> Vec<Vec<f64>> {
    let order = &description.firing_order;
    let tdcs: Vec<f64> = order
        .iter()
        .map(|&cylinder| tdc_of(description, cylinder).unwrap_or(f64::NAN))
        .collect();
    let with_second_turn_from = |second: usize| -> Vec<f64> {
        let turn = |index: usize| if index >= second { 360.0 } else { 0.0 };
        let fires = tdcs.iter().enumerate();
        fires.map(|(index, tdc)| tdc + turn(index)).collect()
    };
    let rises = |fires: &Vec<f64>| {
        fires
            .iter()
            .zip(fires.iter().skip(1))
            .all(|(one, next)| next - one > SAME_DEG)
    };
    (1..=order.len())
        .map(with_second_turn_from)
        .filter(rises)
        .collect()
}

/// Whether two firings are a whole turn apart: one cylinder fires while the other is on overlap, and
/// one coil can serve both.
pub(crate) fn is_a_turn_apart(one_deg: f64, other_deg: f64) -> bool {
    ((one_deg - other_deg).abs() - 360.0).abs() < SAME_DEG
}

/// How far the longest interval is over the shortest.
pub(crate) fn unevenness_deg(fires: &[f64]) -> f64 {
    let intervals = intervals(fires);
    let longest = intervals.iter().copied().fold(0.0, f64::max);
    longest - intervals.iter().copied().fold(720.0, f64::min)
}

/// The interval after each firing, in firing order: they sum to 720.
pub fn intervals(fires: &[f64]) -> Vec<f64> {
    let next = fires
        .iter()
        .skip(1)
        .copied()
        .chain(fires.first().map(|first| first + 720.0));
    fires
        .iter()
        .zip(next)
        .map(|(fire, next)| next - fire)
        .collect()
}
