//! Where the timing marks come together, drawn large: a window for each two wheels whose marks do, or,
//! where none do, one for each mark; every mark named as it is described.

use std::collections::BTreeMap;

use glam::DVec2;

use super::close_up::close_up;
use super::free_place::wrapped;
use super::gear_face::{GearFace, MarkPlace};
use super::{Anchor, Drawing, Pen, Role, View as _};
use crate::phasing::Reading;

/// How wide all windows are together, how far apart, and how high.
const WIDE_MM: f64 = 78.0;
const GAP_MM: f64 = 3.0;
const HIGH_MM: f64 = 58.0;
/// The names' size, and from line to line.
const SIZE_MM: f64 = 3.0;
const LINE_MM: f64 = 4.6;
/// Marks farther from one another, on the whole drawing, do not meet in one place.
const NEAR_MM: f64 = 26.0;
/// Windows side by side, at most: of more, none would show anything.
const MOST: usize = 2;
/// What a window shows of the whole drawing round a mark alone, from top to bottom.
const ALONE_MM: f64 = 24.0;
/// What a window shows of the whole drawing, from top to bottom.
const SHOWS_MM: std::ops::RangeInclusive<f64> = 14.0..=34.0;

/// The windows; None where there is no mark, or more than can be shown.
pub fn meeting(face: &GearFace, reading: &Reading) -> Option<Drawing> {
    let placed = face.placed(reading);
    let places = places(&placed);
    if places.is_empty() || places.len() > MOST {
        return None;
    }
    let mut whole = face.still().clone();
    whole.items.extend(face.moving(reading).items);
    let count = places.len() as f64;
    let wide = (WIDE_MM - GAP_MM * (count - 1.0)) / count;
    let windows: Vec<Drawing> = places
        .into_iter()
        .map(|ends| window(&whole, &placed, ends, wide))
        .collect();
    let high = windows.iter().map(|window| window.size.y);
    let mut drawing = Drawing::new(whole.title.clone(), WIDE_MM, high.fold(0.0, f64::max));
    for (index, window) in windows.iter().enumerate() {
        let left = index as f64 * (wide + GAP_MM);
        drawing.place(window, DVec2::new(left, 0.0), 1.0);
    }
    Some(drawing)
}

/// The places to show, each between two marks: the nearest of each two wheels, or each mark alone.
fn places(placed: &[MarkPlace]) -> Vec<(DVec2, DVec2)> {
    let mut nearest: BTreeMap<(usize, usize), (DVec2, DVec2)> = BTreeMap::new();
    for (index, one) in placed.iter().enumerate() {
        let others = placed.iter().skip(index + 1);
        for other in others.filter(|other| other.wheel != one.wheel) {
            let apart = one.at.distance(other.at);
            let pair = nearest.entry((one.wheel, other.wheel));
            let pair = pair.or_insert((one.at, other.at));
            if apart < pair.0.distance(pair.1) {
                *pair = (one.at, other.at);
            }
        }
    }
    nearest.retain(|_, (one, other)| one.distance(*other) < NEAR_MM);
    if nearest.is_empty() {
        return placed.iter().map(|mark| (mark.at, mark.at)).collect();
    }
    nearest.into_values().collect()
}

/// One window, its marks' names under it with a line to each.
fn window(whole: &Drawing, placed: &[MarkPlace], ends: (DVec2, DVec2), wide: f64) -> Drawing {
    let (one, other) = ends;
    let apart = (one - other).abs();
    let high = f64::max(apart.y, apart.x * HIGH_MM / wide) * 1.5;
    let high = high
        .max(if one == other {
            ALONE_MM
        } else {
            one.distance(other) * 1.5
        })
        .clamp(*SHOWS_MM.start(), *SHOWS_MM.end());
    let half = DVec2::new(high * wide / HIGH_MM, high) / 2.0;
    let middle = one.midpoint(other);
    let (from, to) = (middle - half, middle + half);
    let scale = HIGH_MM / high;
    let mut drawing = close_up(whole, from, to, scale);
    let corner = DVec2::new(wide, HIGH_MM);
    drawing.rectangle(DVec2::ZERO, corner, Pen::line(Role::Main, 0.4));
    // Marks of one name, a wheel's two dots, have their words once.
    let mut shown: Vec<(&str, Vec<DVec2>)> = Vec::new();
    for mark in placed {
        if !(mark.at.cmpgt(from).all() && mark.at.cmplt(to).all()) {
            continue;
        }
        match shown.iter_mut().find(|(name, _)| *name == mark.name) {
            Some((_, places)) => places.push(mark.at),
            None => shown.push((&mark.name, vec![mark.at])),
        }
    }
    // The leftmost lowest: no line to a mark then crosses another's words.
    let left_of = |places: &[DVec2]| places.iter().map(|at| at.x).fold(f64::MAX, f64::min);
    shown.sort_by(|(_, one), (_, other)| left_of(other).total_cmp(&left_of(one)));
    let count = shown.len();
    let mut below_mm = 0.0;
    for (index, (name, places)) in shown.into_iter().enumerate() {
        let left = 1.0 + 3.0 * (count - index) as f64;
        let first = HIGH_MM + LINE_MM * 0.8 + below_mm;
        let below = DVec2::new(left - 1.2, first);
        let edge = DVec2::new(below.x, HIGH_MM);
        for place in places {
            let to_mark = vec![below, edge, (place - from) * scale];
            drawing.open(to_mark.clone(), Pen::line(Role::Paper, 1.0));
            drawing.open(to_mark, Pen::line(Role::Main, 0.25));
        }
        for line in wrapped(name, SIZE_MM, wide - left) {
            let at = DVec2::new(left, HIGH_MM + LINE_MM * 0.8 + below_mm);
            drawing.text(at, line, SIZE_MM, Anchor::Start, Role::Main);
            below_mm += LINE_MM;
        }
    }
    drawing.size.y = HIGH_MM + below_mm + LINE_MM * 0.4;
    drawing
}
