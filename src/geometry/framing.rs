//! How far off a camera must stand to have all of something in its picture, and what it must look
//! at to have it in the middle.
//!
//! A camera at distance D from what it looks at, along its own line, sees a point that lies x to
//! the right, y up and z towards it where |x| ≤ (D − z) tan a and |y| ≤ (D − z) tan b, a and b half
//! its field of view across and up. So D is the largest of |x| / tan a + z and |y| / tan b + z.

use glam::{DMat3, DVec2, DVec3};

/// How much a camera sees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldOfView {
    /// From top to bottom of the picture, radians.
    pub up: f64,
    /// The picture's width over its height.
    pub aspect: f64,
}

impl FieldOfView {
    /// The tangents of half the angle, across and up.
    fn tangents(self) -> DVec2 {
        let up = (self.up / 2.0).tan();
        DVec2::new(up * self.aspect.max(0.01), up)
    }
}

/// Where a camera stands: it looks at `target` from so far off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CameraPosition {
    /// The point in the middle of the picture.
    pub target: DVec3,
    /// From there to the camera, millimetres.
    pub away_mm: f64,
}

/// The nearest a camera can stand and see every point with a little margin, its axes (right, up,
/// and from what it looks at back to itself) being the columns of `axes`. Without points it looks
/// at the origin.
pub fn frame(points: &[DVec3], axes: DMat3, view: FieldOfView) -> CameraPosition {
    /// What the points may fill of the picture.
    const FILLED: f64 = 0.94;
    /// Looking elsewhere moves near points more than far ones: a few rounds bring the middle to
    /// rest.
    const ROUNDS: usize = 8;
    let tangents = view.tangents() * FILLED;
    let own: Vec<DVec3> = points
        .iter()
        .map(|point| axes.transpose() * *point)
        .collect();
    let (least, most) = own
        .iter()
        .fold((DVec3::MAX, DVec3::MIN), |(least, most), point| {
            (least.min(*point), most.max(*point))
        });
    let mut target = if own.is_empty() {
        DVec3::ZERO
    } else {
        (least + most) / 2.0
    };
    let mut away_mm = 1.0;
    for _ in 0..ROUNDS {
        let beside = |point: &DVec3| *point - target;
        let needed =
            |off: DVec3| f64::max(off.x.abs() / tangents.x, off.y.abs() / tangents.y) + off.z;
        away_mm = own
            .iter()
            .map(|point| needed(beside(point)))
            .fold(1.0, f64::max);
        let seen = own.iter().map(|point| {
            let off = beside(point);
            off.truncate() / (away_mm - off.z).max(1e-9)
        });
        let (left, right) = seen.fold((DVec2::MAX, DVec2::MIN), |(least, most), at| {
            (least.min(at), most.max(at))
        });
        if own.is_empty() {
            break;
        }
        target += ((left + right) / 2.0 * away_mm).extend(0.0);
    }
    CameraPosition {
        target: axes * target,
        away_mm,
    }
}

/// Moves what would be drawn over one another apart: places in a picture, each with half its side,
/// the picture's middle at the origin and its corner at `corner`. What stands at one place goes into
/// a row from left to right, in the order it is given; what stands in the picture stays in it.
pub fn kept_apart(places: &mut [(DVec2, f64)], corner: DVec2) {
    /// Each round takes a row of many a little further apart; what is left over after so many
    /// is too little to see.
    const ROUNDS: usize = 200;
    /// Room between two, over the sum of their halves.
    const ROOM: f64 = 1.06;
    /// How much of what is wanted is done in a round.
    const STEP: f64 = 0.6;
    let nudge = places
        .iter()
        .fold(0.0, |most, place| f64::max(most, place.1))
        * 1e-3;
    let inside: Vec<bool> = places
        .iter()
        .map(|place| place.0.abs().cmplt(corner).all())
        .collect();
    let keep_inside = |index: usize, place: &mut (DVec2, f64)| {
        if inside.get(index).copied().unwrap_or_default() {
            let most = (corner - place.1).max(DVec2::ZERO);
            place.0 = place.0.clamp(-most, most);
        }
    };
    for (index, place) in places.iter_mut().enumerate() {
        place.0.x += nudge * index as f64;
        keep_inside(index, place);
    }
    let mut pushes = vec![DVec2::ZERO; places.len()];
    for round in 0..ROUNDS {
        pushes.fill(DVec2::ZERO);
        let mut overlap = false;
        for (index, one) in places.iter().enumerate() {
            for (before, other) in places.iter().enumerate().take(index) {
                let off = one.0 - other.0;
                let wanted = (one.1 + other.1) * ROOM;
                let short = wanted - off.length();
                if short > wanted * 1e-3 {
                    overlap = true;
                    let by = off.normalize_or(DVec2::X) * (short / 2.0);
                    for (which, way) in [(index, by), (before, -by)] {
                        pushes
                            .get_mut(which)
                            .into_iter()
                            .for_each(|push| *push += way);
                    }
                }
            }
        }
        if !overlap {
            return;
        }
        // All at once, so that a row keeps its order. What stands at one place is apart at the first
        // stroke; later ones are shorter, or many together would swing to and fro.
        let step = if round == 0 { 1.0 } else { STEP };
        for (index, (place, push)) in places.iter_mut().zip(&pushes).enumerate() {
            place.0 += *push * step;
            keep_inside(index, place);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::SCENES;
    use crate::geometry::Layout;

    fn from_the_side() -> DMat3 {
        DMat3::from_rotation_y(0.62) * DMat3::from_rotation_x(-0.38)
    }

    #[test]
    fn every_engine_is_seen_whole_and_fills_its_picture_one_way_at_least() {
        for scene in &SCENES {
            let points = Layout::of(&scene.engine()).ends();
            for aspect in [0.5, 1.0, 1.78, 3.0] {
                let view = FieldOfView { up: 0.42, aspect };
                let camera = frame(&points, from_the_side(), view);
                let half = DVec2::new((0.21_f64).tan() * aspect, (0.21_f64).tan());
                let mut fullest = 0.0;
                for point in &points {
                    let off = from_the_side().transpose() * (*point - camera.target);
                    let at = off.truncate() / (camera.away_mm - off.z) / half;
                    assert!(
                        at.abs().max_element() <= 1.0,
                        "{} at {aspect}: {at}",
                        scene.name
                    );
                    fullest = f64::max(fullest, at.abs().max_element());
                }
                assert!(fullest > 0.9, "{} at {aspect}: {fullest}", scene.name);
            }
        }
    }

    #[test]
    fn one_point_or_none_is_looked_at_from_somewhere() {
        let view = FieldOfView {
            up: 0.42,
            aspect: 1.0,
        };
        let one = frame(&[DVec3::new(3.0, 4.0, 5.0)], from_the_side(), view);
        assert!(
            (one.target - DVec3::new(3.0, 4.0, 5.0)).length() < 1e-9 && one.away_mm.is_finite()
        );
        assert_eq!(frame(&[], from_the_side(), view).target, DVec3::ZERO);
    }

    #[test]
    fn what_stands_at_one_place_is_set_in_a_row_in_its_order() {
        let mut places = [(DVec2::new(0.1, 0.2), 0.02); 8];
        kept_apart(&mut places, DVec2::ONE);
        for pair in places.windows(2) {
            let off = pair[1].0 - pair[0].0;
            assert!(off.length() >= 0.039, "{places:?}");
            assert!(off.x > 0.0 && off.y.abs() < 1e-9, "{places:?}");
        }
        let middle = places.iter().map(|place| place.0.x).sum::<f64>() / 8.0;
        assert!((middle - 0.1).abs() < 1e-3, "{middle}");
    }

    #[test]
    fn what_is_apart_already_stays_where_it_is() {
        let apart = [(DVec2::ZERO, 0.02), (DVec2::new(0.0, 0.05), 0.02)];
        let mut places = apart;
        kept_apart(&mut places, DVec2::ONE);
        for (place, before) in places.iter().zip(apart) {
            assert!((place.0 - before.0).length() < 1e-4);
        }
    }

    #[test]
    fn what_stands_at_the_pictures_edge_is_set_apart_within_it() {
        let corner = DVec2::new(0.3, 0.2);
        let mut places = [(DVec2::new(0.0, 0.199), 0.02); 5];
        kept_apart(&mut places, corner);
        for (index, (at, half)) in places.iter().enumerate() {
            assert!((at.abs() + *half).cmple(corner + 1e-9).all(), "{at}");
            for (other, _) in &places[index + 1..] {
                assert!(at.distance(*other) > 0.039, "{places:?}");
            }
        }
    }
}
