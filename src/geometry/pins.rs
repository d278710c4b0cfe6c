//! Where a cylinder's crankpin and gudgeon pin stand: the one place that says so, for every
//! drawing.

use glam::DVec2;

use super::clock::towards;
use crate::angle::Direction;
use crate::laws::SliderCrank;

/// The two pins in the cylinder's own frame, millimetres from the crankshaft's axis: y up the bore,
/// x across it, to the side that lies clockwise of it seen from the front.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pins {
    /// The crankpin.
    pub crankpin: DVec2,
    /// The gudgeon pin.
    pub gudgeon: DVec2,
}

impl Pins {
    /// The pins with the throw `throw_deg` clockwise past the bore, in an engine whose crank turns
    /// in this direction: the pin offset lies on the side the crankpin swings to after TDC.
    pub fn at(slider: &SliderCrank, direction: Direction, throw_deg: f64) -> Self {
        let sign = direction.sign();
        Self {
            crankpin: towards(throw_deg) * slider.radius_mm(),
            gudgeon: DVec2::new(
                sign * slider.pin_y_mm(),
                slider.pin_height_mm(sign * throw_deg),
            ),
        }
    }
}
