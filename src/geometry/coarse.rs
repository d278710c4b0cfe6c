//! Outlines with fewer corners, for where every corner costs: each corner that is left out lies
//! within a tolerance of the line that takes its place.
//!
//! Source: Douglas and Peucker, *Algorithms for the reduction of the number of points required to
//! represent a digitized line*, 1973 (from memory).

use glam::DVec2;

/// A closed outline with no corner that is needed less than this.
pub fn outline(corners: &[DVec2], tolerance_mm: f64) -> Vec<DVec2> {
    // Cut at the corner farthest from the first, so that both ends of either half stay.
    let Some((first, farthest)) = corners.first().zip(farthest_from_first(corners)) else {
        return corners.to_vec();
    };
    let there = corners.get(..=farthest).unwrap_or_default();
    let mut back = corners.get(farthest..).unwrap_or_default().to_vec();
    back.push(*first);
    let mut left: Vec<DVec2> = line(there, tolerance_mm);
    left.pop();
    left.extend(line(&back, tolerance_mm));
    left.pop();
    // Less than a triangle encloses nothing.
    if left.len() < 3 {
        corners.to_vec()
    } else {
        left
    }
}

fn farthest_from_first(corners: &[DVec2]) -> Option<usize> {
    let first = corners.first()?;
    let away = |index: &usize| corners.get(*index).map_or(0.0, |at| at.distance(*first));
    (1..corners.len()).max_by(|one, other| away(one).total_cmp(&away(other)))
}

/// A line from its first point to its last, with no point between that is needed less than this.
pub fn line(points: &[DVec2], tolerance_mm: f64) -> Vec<DVec2> {
    let (Some(&from), Some(&to)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    let off = |at: DVec2| {
        let along = to - from;
        let part = ((at - from).dot(along) / along.length_squared().max(1e-18)).clamp(0.0, 1.0);
        at.distance(from + along * part)
    };
    let farthest = (1..points.len().saturating_sub(1))
        .map(|index| (index, points.get(index).map_or(0.0, |at| off(*at))))
        .max_by(|one, other| one.1.total_cmp(&other.1));
    match farthest {
        Some((index, off)) if off > tolerance_mm => {
            let mut left = line(points.get(..=index).unwrap_or_default(), tolerance_mm);
            left.pop();
            left.extend(line(points.get(index..).unwrap_or_default(), tolerance_mm));
            left
        }
        _ if points.len() < 2 => vec![from],
        _ => vec![from, to],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::clock::towards;

    fn round(radius: f64, sides: u32) -> Vec<DVec2> {
        (0..sides)
            .map(|step| towards(360.0 * f64::from(step) / f64::from(sides)) * radius)
            .collect()
    }

    #[test]
    fn a_circle_keeps_no_more_corners_than_its_tolerance_asks_for_and_stays_round() {
        let fine = round(50.0, 128);
        let coarse = outline(&fine, 0.3);
        assert!((16..=64).contains(&coarse.len()), "{}", coarse.len());
        for pair in coarse.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            assert!(50.0 - middle.length() < 0.31, "{middle}");
        }
        assert_eq!(outline(&fine, 0.0), fine);
    }

    #[test]
    fn a_square_keeps_its_corners_and_nothing_on_its_sides() {
        let corners = [
            (0.0, 0.0),
            (5.0, 0.0),
            (10.0, 0.0),
            (10.0, 10.0),
            (4.0, 10.0),
            (0.0, 10.0),
        ];
        let corners = corners.map(|(x, y)| DVec2::new(x, y));
        let left = outline(&corners, 0.1);
        let kept = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        assert_eq!(left, kept.map(|(x, y)| DVec2::new(x, y)));
    }

    #[test]
    fn what_is_too_small_to_be_made_coarser_stays_as_it_is() {
        let small = round(0.1, 8);
        assert_eq!(outline(&small, 5.0), small);
        assert_eq!(outline(&[], 1.0), Vec::new());
        assert_eq!(line(&[DVec2::X], 1.0), vec![DVec2::X]);
    }
}
