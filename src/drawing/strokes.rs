//! The four strokes as they look in every drawing: a letter and a hatch each, so that they are told apart without colour.

use glam::DVec2;

use super::{Drawing, Pen, Role};
use crate::phasing::Stroke;

/// The role that carries a stroke's ink.
pub fn role(stroke: Stroke) -> Role {
    match stroke {
        Stroke::Power => Role::Power,
        Stroke::Exhaust => Role::Exhaust,
        Stroke::Intake => Role::Intake,
        Stroke::Compression => Role::Compression,
    }
}

/// The letter that stands for a stroke.
pub fn letter(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Power => "P",
        Stroke::Exhaust => "E",
        Stroke::Intake => "I",
        Stroke::Compression => "C",
    }
}

/// A stroke over a rectangle: its tint and its hatch. Power is crossed, compression leans right, exhaust leans left, intake is
/// left plain.
pub fn hatched(drawing: &mut Drawing, stroke: Stroke, from: DVec2, to: DVec2) {
    drawing.rectangle(from, to, Pen::fill(role(stroke)));
    let lean = match stroke {
        Stroke::Power => [Some(1.0), Some(-1.0)],
        Stroke::Compression => [Some(1.0), None],
        Stroke::Exhaust => [Some(-1.0), None],
        Stroke::Intake => [None, None],
    };
    for lean in lean.into_iter().flatten() {
        hatch(drawing, from, to, lean, Pen::line(role(stroke), 0.13));
    }
}

/// Lines at 45° across a rectangle, leaning right for a `lean` of 1 and left for −1.
fn hatch(drawing: &mut Drawing, from: DVec2, to: DVec2, lean: f64, pen: Pen) {
    /// Between lines, along the rectangle.
    const APART_MM: f64 = 2.2;
    let height = to.y - from.y;
    // Each line starts on the bottom edge (or beyond its end) and rises by the height over as much width; cut to the rectangle.
    let first = from.x - height + APART_MM / 2.0;
    let count = ((to.x - first) / APART_MM).ceil().max(0.0) as usize;
    for index in 0..count {
        let start = first + index as f64 * APART_MM;
        let (left, right) = (start.max(from.x), (start + height).min(to.x));
        if right - left < 1e-6 {
            continue;
        }
        let rise = |x: f64| if lean > 0.0 { to.y - (x - start) } else { from.y + (x - start) };
        drawing.line(DVec2::new(left, rise(left)), DVec2::new(right, rise(right)), pen);
    }
}
