//! True top dead centre: from a positive stop, and how wide the top looks to a dial.
//!
//! With a stop in the plug hole the crank is turned each way until the piston touches it, and the
//! degree wheel read at both: TDC is midway. With an offset pin the piston goes down a little
//! faster on one side than on the other, so midway is off by half the difference of the two sides:
//! a few hundredths of a degree.
//!
//! Near TDC the piston hardly moves. That is why TDC is taken midway between equal drops on either
//! side, never where the piston looks highest.

use serde::Serialize;

use super::error::Error;
use crate::angle::wrap_signed;
use crate::laws::SliderCrank;
use crate::words::{serialize_rounded, serialize_rounded_option};

/// Top dead centre by two readings of a positive stop, on the wheel as it stands; the wheel's
/// numbers rise as the crank turns on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stop {
    /// What the wheel reads at true TDC: −180 ≤ t < 180.
    #[serde(serialize_with = "serialize_rounded")]
    pub tdc_deg: f64,
    /// By how much midway between the readings comes after true TDC.
    #[serde(serialize_with = "serialize_rounded")]
    pub midpoint_error_deg: f64,
    /// Crank degrees between the readings, over the top.
    #[serde(serialize_with = "serialize_rounded")]
    pub apart_deg: f64,
    /// How far down the stop holds the piston, where the engine is known.
    #[serde(serialize_with = "serialize_rounded_option")]
    pub stop_mm: Option<f64>,
    /// Midway is nearer to half a turn on the wheel than to its 0: with the wheel set about right
    /// these are readings either side of the bottom, not of the top.
    pub straddles_bdc: bool,
}

/// TDC from two readings of a positive stop, one turning each way; with `slider`, what an offset
/// pin makes of midway.
///
/// # Errors
/// Where the readings are the same, so near together that the stop held the piston at its very top,
/// or half a turn apart.
///
/// ```
/// use dotwise::procedures::tdc;
/// // 36.75° and 35.25° either side: TDC midway, 36° each. Common practice, no source.
/// assert_eq!(tdc::stop(36.75, -35.25, None).unwrap().tdc_deg, 0.75);
/// // On a wheel that counts to 360, 345 is 15 before.
/// assert_eq!(tdc::stop(21.0, 345.0, None).unwrap().tdc_deg, 3.0);
/// assert!(tdc::stop(21.0, 381.0, None).is_err());
/// ```
pub fn stop(a_deg: f64, b_deg: f64, slider: Option<&SliderCrank>) -> Result<Stop, Error> {
    /// Nearer than a wheel can be read.
    const SAME_DEG: f64 = 1e-6;
    /// Nearer together, an error of a degree in reading is a fifth of the way: the piston hardly
    /// moves there. Common practice, no source.
    const LEAST_APART_DEG: f64 = 10.0;
    let turn = wrap_signed(b_deg - a_deg, 360.0);
    if turn.abs() < SAME_DEG {
        return Err(Error::SameStop { reading_deg: a_deg });
    }
    if turn.abs() < LEAST_APART_DEG {
        return Err(Error::StopTooNear {
            apart_deg: turn.abs(),
        });
    }
    if 180.0 - turn.abs() < SAME_DEG {
        return Err(Error::HalfATurnApart { a_deg, b_deg });
    }
    let midway = a_deg + turn / 2.0;
    let apart_deg = turn.abs();
    let held = slider.and_then(|slider| held_at(slider, apart_deg));
    let midpoint_error_deg = held.map_or(0.0, |(_, error)| error);
    let tdc_deg = wrap_signed(midway - midpoint_error_deg, 360.0);
    Ok(Stop {
        tdc_deg,
        midpoint_error_deg,
        apart_deg,
        stop_mm: held.map(|(mm, _)| mm),
        straddles_bdc: tdc_deg.abs() > 90.0,
    })
}

/// The drop at which the two sides are so far apart, and how far midway comes after TDC there.
fn held_at(slider: &SliderCrank, apart_deg: f64) -> Option<(f64, f64)> {
    let sides = |drop_mm| {
        Some((
            slider.degrees_for_drop(drop_mm, true)?,
            slider.degrees_for_drop(drop_mm, false)?,
        ))
    };
    let (mut over, mut under) = (0.0, slider.travel_mm());
    for _ in 0..60 {
        let middle = (over + under) / 2.0;
        let (before, after) = sides(middle)?;
        if before + after < apart_deg {
            over = middle;
        } else {
            under = middle;
        }
    }
    let drop_mm = (over + under) / 2.0;
    let (before, after) = sides(drop_mm)?;
    Some((drop_mm, (after - before) / 2.0))
}

/// How wide the top looks to a dial that shows nothing under `drop_mm`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Top {
    /// The least drop of the piston that the dial shows.
    pub by_eye_mm: f64,
    /// Crank degrees before TDC at which it first looks still.
    #[serde(serialize_with = "serialize_rounded")]
    pub before_deg: f64,
    /// Crank degrees after TDC to which it looks still.
    #[serde(serialize_with = "serialize_rounded")]
    pub after_deg: f64,
}

/// The width of the top to a dial that shows nothing under `drop_mm`; None where the piston never
/// goes so low, or for a drop under 0.
pub fn by_eye(slider: &SliderCrank, drop_mm: f64) -> Option<Top> {
    Some(Top {
        by_eye_mm: drop_mm,
        before_deg: slider.degrees_for_drop(drop_mm, true)?,
        after_deg: slider.degrees_for_drop(drop_mm, false)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn midway_between_the_stops_is_off_by_so_much_with_an_offset_pin() {
        // r 45, l 140, stop 10 mm down: e 1.5 gives 0.027°, e 10 gives 0.177°. Recomputed from
        // Söylemez, Mechanisms, §7.2.
        for (offset_mm, published) in [(1.5, 0.027), (10.0, 0.177), (0.0, 0.0)] {
            for side in [1.0, -1.0] {
                let slider = SliderCrank::new(90.0, 140.0, side * offset_mm);
                let before = slider.degrees_for_drop(10.0, true).expect("10 mm down");
                let after = slider.degrees_for_drop(10.0, false).expect("10 mm down");
                // A wheel set 4° wrong, read turning back and turning on.
                let found = stop(4.0 + after, 4.0 - before, Some(&slider)).expect("two readings");
                assert_abs_diff_eq!(found.midpoint_error_deg.abs(), published, epsilon = 0.0005);
                assert_abs_diff_eq!(found.tdc_deg, 4.0, epsilon = 1e-9);
                assert_abs_diff_eq!(found.stop_mm.expect("an engine"), 10.0, epsilon = 1e-6);
                assert_abs_diff_eq!(
                    (after - before) / 2.0,
                    found.midpoint_error_deg,
                    epsilon = 1e-6
                );
            }
        }
    }

    #[test]
    fn the_readings_may_come_in_either_order_and_on_any_turn_of_the_wheel() {
        for (a, b) in [(21.0, -15.0), (-15.0, 21.0), (21.0, 345.0), (381.0, -15.0)] {
            assert_abs_diff_eq!(
                stop(a, b, None).expect("two readings").tdc_deg,
                3.0,
                epsilon = 1e-9
            );
        }
        assert_eq!(
            stop(90.0, -90.0, None),
            Err(Error::HalfATurnApart {
                a_deg: 90.0,
                b_deg: -90.0
            })
        );
    }

    #[test]
    fn readings_so_near_that_the_stop_held_the_top_are_refused() {
        let near = |a, b| stop(a, b, None).expect_err("too near").to_string();
        assert!(near(2.0, -1.0).contains("3° apart"), "{}", near(2.0, -1.0));
        assert!(near(359.0, 5.0).contains("6° apart"));
        assert!(stop(5.0, -5.0, None).is_ok());
    }

    #[test]
    fn a_pair_either_side_of_the_bottom_is_told() {
        let straddles = |a, b| stop(a, b, None).expect("two readings").straddles_bdc;
        assert!(straddles(150.0, 210.0));
        assert!(straddles(170.0, -150.0));
        assert!(!straddles(21.0, -15.0));
        assert!(!straddles(60.0, -100.0));
    }

    #[test]
    fn the_top_looks_wider_to_a_coarser_dial() {
        let slider = SliderCrank::new(80.0, 135.0, 0.0);
        let (fine, coarse) = (
            by_eye(&slider, 0.01).expect("a width"),
            by_eye(&slider, 0.05).expect("a width"),
        );
        assert!(fine.after_deg < coarse.after_deg);
        assert_abs_diff_eq!(slider.drop_mm(coarse.after_deg), 0.05, epsilon = 1e-9);
        assert_eq!(by_eye(&slider, 81.0), None);
    }
}
