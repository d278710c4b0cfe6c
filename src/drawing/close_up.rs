//! A part of a drawing, drawn larger: whatever reaches out of it is cut off along its edge. Words are
//! left out, for they would be cut in two.

use std::iter;

use glam::DVec2;

use super::{Drawing, Item, Pen, on_clock};

/// The part of a drawing from one corner to the other, `scale` times its size.
pub(super) fn close_up(drawing: &Drawing, from: DVec2, to: DVec2, scale: f64) -> Drawing {
    let size = (to - from) * scale;
    let mut part = Drawing::new(drawing.title.clone(), size.x, size.y);
    for item in &drawing.items {
        let cut = match item {
            Item::Path {
                points,
                closed,
                pen,
            } => cut(points, *closed, *pen, from, to),
            Item::Circle {
                centre,
                radius,
                pen,
            } => cut(&rim(*centre, *radius, 0.0, 360.0), true, *pen, from, to),
            Item::Arc {
                centre,
                radius,
                from_deg,
                sweep_deg,
                pen,
            } => {
                let points = rim(*centre, *radius, *from_deg, *sweep_deg);
                cut(&points, false, *pen, from, to)
            }
            Item::Text { .. } => Vec::new(),
        };
        let larger = cut.into_iter();
        part.items
            .extend(larger.map(|item| item.placed(-from * scale, scale)));
    }
    part
}

/// Points along a circle's rim.
fn rim(centre: DVec2, radius: f64, from_deg: f64, sweep_deg: f64) -> Vec<DVec2> {
    let steps = (sweep_deg.abs() / 3.0).ceil().max(2.0);
    (0..=steps as u32)
        .map(|step| {
            on_clock(
                centre,
                radius,
                from_deg + sweep_deg * f64::from(step) / steps,
            )
        })
        .collect()
}

/// What of an outline or a line lies within: the area, and the line round it without what is only
/// the edge.
fn cut(points: &[DVec2], closed: bool, pen: Pen, from: DVec2, to: DVec2) -> Vec<Item> {
    let mut items = Vec::new();
    if closed && pen.filled {
        let points = area_within(points, from, to);
        let pen = Pen { width: 0.0, ..pen };
        items.extend((points.len() > 2).then_some(Item::Path {
            points,
            closed,
            pen,
        }));
    }
    if pen.width > 0.0 {
        let back = points.first().filter(|_| closed);
        let next = points.iter().skip(1).chain(back);
        let mut lines: Vec<Vec<DVec2>> = Vec::new();
        for line in points
            .iter()
            .zip(next)
            .filter_map(|(one, other)| line_within(*one, *other, from, to))
        {
            match lines.last_mut() {
                Some(before) if is_one(before.last(), line.first()) => before.extend(line.get(1)),
                _ => lines.push(line),
            }
        }
        items.extend(lines.into_iter().map(|points| Item::Path {
            points,
            closed: false,
            pen: Pen {
                filled: false,
                ..pen
            },
        }));
    }
    items
}

/// Whether a line goes on where the one before it ends.
fn is_one(end: Option<&DVec2>, start: Option<&DVec2>) -> bool {
    const APART_MM: f64 = 1e-9;
    end.zip(start)
        .is_some_and(|(end, start)| end.distance(*start) < APART_MM)
}

/// An area cut to a rectangle, side by side (Sutherland and Hodgman 1974).
fn area_within(points: &[DVec2], from: DVec2, to: DVec2) -> Vec<DVec2> {
    let sides = [
        (DVec2::X, from.x),
        (-DVec2::X, -to.x),
        (DVec2::Y, from.y),
        (-DVec2::Y, -to.y),
    ];
    let mut kept = points.to_vec();
    for (inwards, least) in sides {
        let next = kept.iter().skip(1).chain(kept.first());
        let mut within = Vec::with_capacity(kept.len());
        for (one, other) in kept.iter().zip(next) {
            let (a, b) = (inwards.dot(*one) - least, inwards.dot(*other) - least);
            if a >= 0.0 {
                within.push(*one);
            }
            if (a >= 0.0) != (b >= 0.0) {
                within.push(one.lerp(*other, a / (a - b)));
            }
        }
        kept = within;
    }
    kept
}

/// A line cut to a rectangle (Liang and Barsky 1984).
fn line_within(one: DVec2, other: DVec2, from: DVec2, to: DVec2) -> Option<Vec<DVec2>> {
    let along = other - one;
    let (mut start, mut end) = (0.0_f64, 1.0_f64);
    let both = [along.x, along.y].into_iter().zip([one.x, one.y]);
    let limits = iter::zip([from.x, from.y], [to.x, to.y]);
    for ((step, at), (least, most)) in both.zip(limits) {
        if step == 0.0 {
            if at < least || at > most {
                return None;
            }
            continue;
        }
        let (enters, leaves) = ((least - at) / step, (most - at) / step);
        start = start.max(enters.min(leaves));
        end = end.min(enters.max(leaves));
    }
    (start < end).then(|| vec![one + along * start, one + along * end])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Role;

    #[test]
    fn what_reaches_out_is_cut_at_the_edge_and_what_is_within_is_larger() {
        let mut drawing = Drawing::new("", 100.0, 100.0);
        let pen = Pen::line(Role::Main, 0.3);
        drawing.line(DVec2::new(0.0, 15.0), DVec2::new(100.0, 15.0), pen);
        drawing.line(DVec2::new(0.0, 50.0), DVec2::new(100.0, 50.0), pen);
        drawing.rectangle(DVec2::new(5.0, 5.0), DVec2::new(15.0, 15.0), pen);
        let part = close_up(&drawing, DVec2::splat(10.0), DVec2::splat(20.0), 4.0);
        let paths: Vec<&Vec<DVec2>> = part
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Path { points, .. } => Some(points),
                _ => None,
            })
            .collect();
        assert_eq!(part.size, DVec2::splat(40.0));
        assert_eq!(*paths[0], [DVec2::new(0.0, 20.0), DVec2::new(40.0, 20.0)]);
        assert_eq!(paths.len(), 2, "the other line is not in it");
        // The edge of the picture is no part of the outline.
        let corners = [(20.0, 0.0), (20.0, 20.0), (0.0, 20.0)].map(DVec2::from);
        assert_eq!(paths[1].len(), 3);
        for (point, corner) in paths[1].iter().zip(corners) {
            assert!(point.distance(corner) < 1e-9, "{paths:?}");
        }
    }

    #[test]
    fn an_area_is_filled_to_the_edge_and_its_line_does_not_run_along_it() {
        let mut drawing = Drawing::new("", 100.0, 100.0);
        let (one, other) = (DVec2::splat(5.0), DVec2::splat(15.0));
        drawing.rectangle(one, other, Pen::both(Role::Metal, 0.5));
        let part = close_up(&drawing, DVec2::splat(10.0), DVec2::splat(20.0), 1.0);
        let [
            Item::Path {
                points: area,
                closed: true,
                pen: fill,
            },
            Item::Path {
                points: line,
                closed: false,
                pen,
            },
        ] = &part.items[..]
        else {
            panic!("{:?}", part.items)
        };
        assert!(fill.filled && fill.width == 0.0 && !pen.filled && pen.width > 0.0);
        assert!(area.len() >= 4);
        assert_eq!(line.len(), 3);
    }
}
