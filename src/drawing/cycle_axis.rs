//! An axis of crank degrees, 0 to 720 from left to right, as drawings of the whole cycle share it.

use glam::DVec2;

use super::{Anchor, Drawing, Role};
use crate::angle::{CrankAngle, CrankTurn};

/// Where the axis starts and ends on the drawing.
#[derive(Clone, Copy, Debug)]
pub(super) struct CycleAxis {
    pub left_mm: f64,
    pub right_mm: f64,
}

impl CycleAxis {
    /// How far beyond its ends the axis may still be pointed at.
    const BEYOND_MM: f64 = 3.0;

    pub(super) fn x_of(self, crank_deg: f64) -> f64 {
        self.left_mm + crank_deg * (self.right_mm - self.left_mm) / 720.0
    }

    /// The crank angle at a place on the axis; None beyond its ends.
    pub(super) fn crank_at(self, x: f64) -> Option<CrankAngle> {
        let reach = self.left_mm - Self::BEYOND_MM..=self.right_mm + Self::BEYOND_MM;
        let crank = (x - self.left_mm) * 720.0 / (self.right_mm - self.left_mm);
        // The axis ends where it begins: its end is the last of the cycle, not the first.
        reach
            .contains(&x)
            .then(|| CrankAngle::new(crank.clamp(0.0, 719.99)))
    }

    /// How far the crank turns when the pointer is drawn along the axis.
    pub(super) fn drag(self, from: DVec2, to: DVec2) -> CrankTurn {
        CrankTurn::new((to.x - from.x) * 720.0 / (self.right_mm - self.left_mm))
    }

    /// Every 90° of the axis as its number from 0 to 8 and its place; every other one is named at
    /// height `y`: drawn small, all of them would run into one another.
    pub(super) fn quarters(
        self,
        drawing: &mut Drawing,
        y: f64,
        line: impl Fn(&mut Drawing, u32, f64),
    ) {
        for quarter in 0..=8_u32 {
            let x = self.x_of(f64::from(quarter) * 90.0);
            line(drawing, quarter, x);
            if quarter % 2 == 0 {
                let anchor = if quarter == 8 {
                    Anchor::End
                } else {
                    Anchor::Middle
                };
                let name = format!("{}°", quarter * 90);
                drawing.text(DVec2::new(x, y), name, 3.4, anchor, Role::Main);
            }
        }
    }
}

/// A span of crank degrees as one or two spans within the cycle.
pub(super) fn spans(from_deg: f64, length_deg: f64) -> impl Iterator<Item = (f64, f64)> {
    let from = CrankAngle::new(from_deg).degrees();
    let to = from + length_deg.min(720.0);
    [(from, to.min(720.0)), (0.0, to - 720.0)]
        .into_iter()
        .filter(|(from, to)| to - from > 1e-9)
}
