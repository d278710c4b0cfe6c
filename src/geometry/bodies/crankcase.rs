//! What holds the engine: the case, of glass and cut open on the near side, its main bearings, the
//! heads with what stands on them, the tappets' guides, the distributor's boss.
//!
//! None of it moves. The case's walls are seen from inside alone, so that whatever side one looks
//! from nothing of it stands before what runs in it.

use glam::{DAffine3, DQuat, DVec2, DVec3};

use super::valve_gear::{BARREL, ROCKER_SHAFT, SPRING, SPRING_SEAT, STEM, place_of};
use crate::description::{Case, Valve};
use crate::geometry::Layout;
use crate::geometry::follower_pose::FollowerPose;
use crate::geometry::layout::{
    CamPlace, CylinderPlace, DistributorPlace, ValvePlace, ValveTrain, clock_of, towards,
};
use crate::geometry::lobe_outline::LobeOutline;
use crate::geometry::pose::ValvePose;
use crate::geometry::solids::{Finish, Solids, circle, circle_sides, oblong};
use crate::laws::follower::FollowerShape;

/// How far the case stands off what turns in it, over the bore.
const CASE_CLEAR: f64 = 0.1;
/// A main bearing's outer radius over its journal's.
const BEARING: f64 = 1.38;
/// The widest a main bearing is drawn, over the bore.
const BEARING_WIDTH: f64 = 0.22;
/// A post's radius, over the bore.
const POST: f64 = 0.04;

/// A part of the case, with its name.
#[derive(Clone, Debug)]
pub struct CasePart {
    /// Its name.
    pub name: &'static str,
    /// Its walls, of glass.
    pub glass: Solids,
    /// The flange along its edge.
    pub flange: Solids,
}

/// The case: two halves where it is split, else one.
pub fn case(layout: &Layout, made: Option<Case>) -> Vec<CasePart> {
    let outline = case_outline(layout);
    let (front, rear) = case_ends(layout);
    let first_bank = layout
        .cylinders
        .first()
        .map_or(0.0, |cylinder| cylinder.bank_deg);
    let normal = towards(first_bank);
    let bore = layout.measures.bore_mm;
    let gap = 0.012 * bore;
    let names = if normal.x.abs() > normal.y.abs() {
        if normal.x > 0.0 {
            ["Crankcase, right half", "Crankcase, left half"]
        } else {
            ["Crankcase, left half", "Crankcase, right half"]
        }
    } else {
        ["Crankcase, upper half", "Crankcase, lower half"]
    };
    let part = |name, side: f64| {
        let line = beyond(&outline, normal * side, gap);
        let mut glass = Solids::new(Finish::Glass);
        for wall in walls(layout, &line) {
            glass.shell(&wall, (rear, front));
        }
        let mut flange = Solids::new(Finish::Alloy);
        for end in [line.first(), line.last()].into_iter().flatten() {
            // Inwards from the wall, and away from the parting line.
            let out = (*end - normal * end.dot(normal)).normalize_or_zero();
            let (deep, thick) = (0.05 * bore, 0.028 * bore);
            let corners = [
                *end - out * deep * 0.2,
                *end + out * deep,
                *end + out * deep + normal * side * thick,
                *end - out * deep * 0.2 + normal * side * thick,
            ];
            flange.prism(&corners, &[], (rear, front));
        }
        CasePart {
            name,
            glass,
            flange,
        }
    };
    if made == Some(Case::Split) {
        return vec![part(names[0], 1.0), part(names[1], -1.0)];
    }
    let mut closed = outline;
    closed.extend(closed.first().copied());
    let mut glass = Solids::new(Finish::Glass);
    for wall in walls(layout, &closed) {
        glass.shell(&wall, (rear, front));
    }
    vec![CasePart {
        name: "Crankcase",
        glass,
        flange: Solids::new(Finish::Alloy),
    }]
}

/// From the front end of the case to its rear end.
fn case_ends(layout: &Layout) -> (f64, f64) {
    let bore = layout.measures.bore_mm;
    let front = layout.drive_z_mm - layout.wheel_width_mm / 2.0 - 0.04 * bore;
    let last_web = layout.throws.last().map_or(0.0, |throw| {
        throw.z_mm - throw.pin_length_mm / 2.0 - layout.measures.web_mm
    });
    let rear = layout
        .cylinders
        .iter()
        .map(|cylinder| cylinder.z_mm - layout.measures.barrel_mm())
        .fold(last_web, f64::min);
    (front, rear - 0.2 * bore)
}

/// The case seen from the front, clockwise: round the crank, out to the barrels' feet, and round a
/// low camshaft where that does not lie beyond them.
fn case_outline(layout: &Layout) -> Vec<DVec2> {
    let measures = &layout.measures;
    let clear = CASE_CLEAR * measures.bore_mm;
    let mut points = circle(DVec2::ZERO, measures.crank_reach_mm() + clear);
    let mut feet = Vec::new();
    for bank_deg in banks(layout) {
        let (up, across) = (towards(bank_deg), towards(bank_deg + 90.0));
        let wide = across * (measures.barrel_mm() + 0.3 * clear);
        let foot = up * face_mm(layout);
        feet.push([foot - wide, foot + wide]);
    }
    points.extend(feet.iter().flatten());
    let mut with_cams = points.clone();
    for cam in low_cams(layout) {
        with_cams.extend(circle(cam.centre, nose_mm(layout) + clear));
    }
    let whole = hull(with_cams);
    let closes = |[left, right]: &[DVec2; 2]| {
        let mut pairs = whole.iter().zip(whole.iter().cycle().skip(1));
        pairs.any(|(from, to)| from == left && to == right)
    };
    if feet.iter().all(closes) {
        whole
    } else {
        hull(points)
    }
}

/// The camshafts that lie low.
fn low_cams(layout: &Layout) -> &[CamPlace] {
    match layout.train {
        ValveTrain::PushRod { .. } => &layout.cams,
        ValveTrain::Overhead => &[],
    }
}

/// From a camshaft's axis to its highest nose.
fn nose_mm(layout: &Layout) -> f64 {
    let noses = [&layout.intake_lobe, &layout.exhaust_lobe];
    let noses = noses.map(LobeOutline::nose_radius_mm);
    noses.into_iter().fold(0.0, f64::max) * layout.lobe_scale
}

/// How far along a bank's bores its barrels stand in the case.
fn face_mm(layout: &Layout) -> f64 {
    layout.measures.foot_mm + 0.12 * layout.measures.bore_mm
}

/// The walls along a line of the case's outline: all of it but where it lies over a bank's bores, or
/// a camshaft beyond it passes.
fn walls(layout: &Layout, line: &[DVec2]) -> Vec<Vec<DVec2>> {
    /// Looks along a piece of wall.
    const ALONG: u32 = 8;
    let over_bores = |from: DVec2, to: DVec2| {
        (1..ALONG).any(|step| {
            let point = from.lerp(to, f64::from(step) / f64::from(ALONG));
            banks(layout).into_iter().any(|bank_deg| {
                point.dot(towards(bank_deg)) > 0.5 * face_mm(layout)
                    && point.dot(towards(bank_deg + 90.0)).abs() < layout.measures.barrel_mm()
            })
        })
    };
    let by_a_camshaft = |from: DVec2, to: DVec2| {
        low_cams(layout).iter().any(|cam| {
            let way = to - from;
            let part = (cam.centre - from).dot(way) / way.length_squared().max(1e-9);
            let nearest = from + way * part.clamp(0.0, 1.0);
            nearest.distance(cam.centre) < nose_mm(layout) + 0.02 * layout.measures.bore_mm
        })
    };
    let mut walls: Vec<Vec<DVec2>> = Vec::new();
    let mut wall: Vec<DVec2> = Vec::new();
    for &point in line {
        let leaves_out = |last: &DVec2| over_bores(*last, point) || by_a_camshaft(*last, point);
        if wall.last().is_some_and(leaves_out) {
            walls.push(std::mem::take(&mut wall));
        }
        wall.push(point);
    }
    walls.push(wall);
    walls
}

/// The banks of an engine, each once.
fn banks(layout: &Layout) -> Vec<f64> {
    let mut banks: Vec<f64> = Vec::new();
    for cylinder in &layout.cylinders {
        if !banks.contains(&cylinder.bank_deg) {
            banks.push(cylinder.bank_deg);
        }
    }
    banks
}

/// The outermost of these points, clockwise.
fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut kept: Vec<DVec2> = Vec::new();
        for point in points {
            while let &[.., before, last] = kept.as_slice() {
                if (last - before).perp_dot(point - last) < 0.0 {
                    break;
                }
                kept.pop();
            }
            kept.push(point);
        }
        kept.pop();
        kept
    };
    let mut upper = half(&mut points.iter().copied());
    upper.extend(half(&mut points.iter().rev().copied()));
    upper
}

/// What of a closed outline lies beyond a line through the origin, so far off it, from end to end.
fn beyond(outline: &[DVec2], normal: DVec2, off: f64) -> Vec<DVec2> {
    let inside = |point: &DVec2| point.dot(normal) > off;
    let count = outline.len();
    let pairs: Vec<(DVec2, DVec2)> = outline
        .iter()
        .copied()
        .zip(outline.iter().copied().cycle().skip(1))
        .collect();
    let enters = pairs
        .iter()
        .position(|(from, to)| !inside(from) && inside(to))
        .unwrap_or(0);
    let crossing = |from: DVec2, to: DVec2| {
        let (one, other) = (from.dot(normal) - off, to.dot(normal) - off);
        from.lerp(to, one / (one - other))
    };
    let mut line = Vec::new();
    for (from, to) in pairs.iter().cycle().skip(enters).take(count) {
        match (inside(from), inside(to)) {
            (false, true) => line.extend([crossing(*from, *to), *to]),
            (true, true) => line.push(*to),
            (true, false) => line.push(crossing(*from, *to)),
            (false, false) => {}
        }
    }
    line
}

/// The main bearings: a ring round every journal, and from it arms to the rails that run along the
/// case, or to the flange of one that parts.
pub fn main_bearings(layout: &Layout, made: Option<Case>) -> Solids {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let splits = made == Some(Case::Split);
    let reach = measures.crank_reach_mm() + 0.045 * bore;
    let arms = arm_directions(layout, splits);
    let mut solids = Solids::new(Finish::Iron);
    let places = bearing_places(layout);
    for &(z, half) in &places {
        let ring = measures.journal_mm * BEARING;
        solids.finish(Finish::Iron).to(DVec3::ZERO).broken_prism(
            &circle(DVec2::ZERO, ring),
            &[circle(DVec2::ZERO, measures.journal_mm * 1.06)],
            (z - half, z + half),
            0.01 * bore,
        );
        // The shells.
        solids.finish(Finish::Brass).tube(
            measures.journal_mm * 1.005,
            measures.journal_mm * 1.06,
            (z - half * 1.02, z + half * 1.02),
        );
        for &arm in &arms {
            let (along, side) = (towards(arm), towards(arm + 90.0) * 0.07 * bore);
            let (from, to) = (along * ring * 0.96, along * reach);
            solids.finish(Finish::Iron).broken_prism(
                &[from - side, to - side * 0.7, to + side * 0.7, from + side],
                &[],
                (z - half * 0.6, z + half * 0.6),
                0.008 * bore,
            );
        }
    }
    let ends = places
        .iter()
        .flat_map(|(z, half)| [z - half, z + half])
        .fold((f64::MAX, f64::MIN), |(least, most), z| {
            (least.min(z), most.max(z))
        });
    if places.len() > 1 && !splits {
        for &arm in &arms {
            let side = towards(arm + 90.0) * 0.05 * bore;
            let (near, far) = (towards(arm) * reach, towards(arm) * (reach + 0.03 * bore));
            solids.prism(
                &[near - side, far - side, far + side, near + side],
                &[],
                ends,
            );
        }
    }
    solids
}

/// The clock directions of a bearing's arms, clear of a low camshaft: away from the cylinders, or
/// along the plane in which the case parts.
fn arm_directions(layout: &Layout, splits: bool) -> Vec<f64> {
    let mean: DVec2 = banks(layout).into_iter().map(towards).sum();
    let low = matches!(layout.train, ValveTrain::PushRod { .. });
    let cams = || layout.cams.iter().filter(|_| low);
    let away = if mean.length() > 0.1 {
        clock_of(-mean)
    } else {
        // A flat engine: the side that the camshaft is not on.
        let square = banks(layout).first().map_or(180.0, |bank| bank + 90.0);
        cams().next().map_or(square, |cam| clock_of(-cam.centre))
    };
    let first_bank = banks(layout).first().copied().unwrap_or(0.0);
    let mut arms = if splits {
        vec![first_bank - 90.0, first_bank + 90.0]
    } else {
        // Clear of the skirts of cylinders that lie flat.
        let spread = if mean.length() > 0.6 * banks(layout).len() as f64 {
            48.0
        } else {
            22.0
        };
        vec![away - spread, away + spread]
    };
    arms.retain(|arm| cams().all(|cam| towards(*arm).dot(cam.centre.normalize_or_zero()) < 0.64));
    arms
}

/// The middle of each main bearing along the shaft, and half its width: before the first throw,
/// between each two, behind the last.
fn bearing_places(layout: &Layout) -> Vec<(f64, f64)> {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let ends = |index: usize| {
        let throw = layout.throws.get(index)?;
        let half = throw.pin_length_mm / 2.0 + measures.web_mm;
        Some((throw.z_mm + half, throw.z_mm - half))
    };
    let mut places = Vec::new();
    let half = BEARING_WIDTH * bore / 2.0;
    let clear = 0.025 * bore;
    if let Some((front, _)) = ends(0) {
        places.push((front + clear + half, half));
    }
    for index in 1..layout.throws.len() {
        if let (Some((_, before)), Some((after, _))) = (ends(index - 1), ends(index)) {
            let half = half.min((before - after) / 2.0 - clear);
            places.push(((before + after) / 2.0, half));
        }
    }
    if let Some((_, rear)) = ends(layout.throws.len().wrapping_sub(1)) {
        let room = (rear - clear - layout.rear_z_mm) / 2.0;
        let half = half.min(room.max(0.02 * bore));
        places.push((rear - clear - half, half));
    }
    places
}

/// From a bank's frame (across it, along its bores, along the shaft) to the engine's.
fn bank_frame(bank_deg: f64) -> DAffine3 {
    DAffine3::from_quat(DQuat::from_rotation_z(-bank_deg.to_radians()))
}

/// The heads: the line on which each stands on its block, valve guides and springs' seats, and the
/// posts that carry rockers or camshafts.
pub fn heads(layout: &Layout) -> Solids {
    let mut solids = Solids::new(Finish::Alloy);
    for bank_deg in banks(layout) {
        let cylinders: Vec<&CylinderPlace> = layout
            .cylinders
            .iter()
            .filter(|cylinder| cylinder.bank_deg == bank_deg)
            .collect();
        head_line(&mut solids, layout, bank_deg, &cylinders);
        for cylinder in &cylinders {
            for valve in Valve::BOTH {
                guide(&mut solids, layout, cylinder, place_of(cylinder, valve));
            }
        }
        match layout.train {
            ValveTrain::PushRod { .. } => rocker_shafts(&mut solids, layout, bank_deg, &cylinders),
            ValveTrain::Overhead => cam_carriers(&mut solids, layout, bank_deg, &cylinders),
        }
    }
    solids
}

/// The ends of a bank's row of bores along the shaft.
fn row_ends(layout: &Layout, cylinders: &[&CylinderPlace]) -> (f64, f64) {
    let barrel = layout.measures.barrel_mm();
    cylinders
        .iter()
        .fold((f64::MAX, f64::MIN), |(least, most), cylinder| {
            (
                least.min(cylinder.z_mm - barrel),
                most.max(cylinder.z_mm + barrel),
            )
        })
}

/// Thin rails round the row of bores, where head and block meet.
fn head_line(solids: &mut Solids, layout: &Layout, bank_deg: f64, cylinders: &[&CylinderPlace]) {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let (rear, front) = row_ends(layout, cylinders);
    let (near, far) = (measures.barrel_mm(), measures.barrel_mm() + 0.02 * bore);
    let (low, high) = (
        measures.deck_mm - 0.015 * bore,
        measures.deck_mm + 0.05 * bore,
    );
    solids.finish(Finish::Alloy).at(bank_frame(bank_deg));
    for side in [-1.0, 1.0] {
        let (one, other) = (side * near, side * far);
        solids.prism(
            &oblong(
                DVec2::new(one.min(other), low),
                DVec2::new(one.max(other), high),
            ),
            &[],
            (rear, front),
        );
    }
    for z in [(rear - 0.02 * bore, rear), (front, front + 0.02 * bore)] {
        solids.prism(
            &oblong(DVec2::new(-far, low), DVec2::new(far, high)),
            &[],
            z,
        );
    }
}

/// What turns a bank's frame so that what is turned about z stands along its bores.
fn upright(bank_deg: f64, across_mm: f64, up_mm: f64, z_mm: f64) -> DAffine3 {
    bank_frame(bank_deg)
        * DAffine3::from_rotation_translation(
            DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2),
            DVec3::new(across_mm, up_mm, z_mm),
        )
}

/// A valve's guide, and the seat of its spring.
fn guide(solids: &mut Solids, layout: &Layout, cylinder: &CylinderPlace, valve: &ValvePlace) {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let seat = SPRING_SEAT * bore;
    solids.at(upright(
        cylinder.bank_deg,
        valve.beside_mm,
        measures.deck_mm,
        valve.z_mm,
    ));
    solids.finish(Finish::Brass).turned(&[
        (0.055 * bore, 0.2 * bore),
        (0.055 * bore, seat + 0.06 * bore),
        (STEM * bore, seat + 0.06 * bore),
    ]);
    solids.finish(Finish::Alloy).turned(&[
        (0.055 * bore, seat - 0.05 * bore),
        (SPRING * bore * 1.1, seat - 0.02 * bore),
        (SPRING * bore * 1.1, seat),
        (0.055 * bore, seat),
    ]);
}

/// The shaft that a bank's rockers turn on, and the posts that it lies on.
fn rocker_shafts(
    solids: &mut Solids,
    layout: &Layout,
    bank_deg: f64,
    cylinders: &[&CylinderPlace],
) {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let half = 0.09 * bore;
    let across_deg = bank_deg + 90.0;
    let mut rockers: Vec<(f64, f64, f64, f64)> = Vec::new();
    let mut arms: Vec<f64> = Vec::new();
    for cylinder in cylinders {
        for valve in Valve::BOTH {
            let place = place_of(cylinder, valve);
            let pose = ValvePose::at(layout, cylinder, place, 0.0, 0.0);
            let Some(rocker) = pose.rocker else { continue };
            arms.extend([place.z_mm, place.lobe_z_mm]);
            rockers.push((
                rocker.pivot.dot(towards(across_deg)),
                rocker.pivot.dot(towards(bank_deg)),
                place.z_mm.min(place.lobe_z_mm) - half,
                place.z_mm.max(place.lobe_z_mm) + half,
            ));
        }
    }
    let end = 0.05 * bore;
    let post = |solids: &mut Solids, across: f64, up: f64, z: f64| {
        let long = up - measures.deck_mm;
        solids
            .finish(Finish::Alloy)
            .at(upright(bank_deg, across, measures.deck_mm, z))
            .bar(POST * bore, (0.05 * bore, long));
    };
    // Every shaft by its height, with what turns on it.
    let mut heights: Vec<(f64, f64)> = Vec::new();
    for &(across, up, ..) in &rockers {
        if !heights.contains(&(across, up)) {
            heights.push((across, up));
        }
    }
    let lowest = heights
        .iter()
        .map(|height| height.1)
        .fold(f64::MAX, f64::min);
    for (across, up) in heights {
        let mut own: Vec<(f64, f64)> = rockers
            .iter()
            .filter(|rocker| (rocker.0, rocker.1) == (across, up))
            .map(|rocker| (rocker.2, rocker.3))
            .collect();
        own.sort_by(|one, other| one.0.total_cmp(&other.0));
        // A shaft over the others is as long as its one rocker; the low one runs through.
        let whole = own
            .iter()
            .fold((f64::MAX, f64::MIN), |(least, most), span| {
                (least.min(span.0), most.max(span.1))
            });
        let runs = if up > lowest {
            own.clone()
        } else {
            vec![whole]
        };
        for (from, to) in runs {
            solids
                .finish(Finish::Steel)
                .at(bank_frame(bank_deg) * DAffine3::from_translation(DVec3::new(across, up, 0.0)))
                .bar(ROCKER_SHAFT * bore, (from - end * 2.2, to + end * 2.2));
            // Posts at its ends, and wherever there is room between two rockers.
            let mut between = vec![from - end, to + end];
            if up <= lowest {
                between.extend(own.windows(2).filter_map(|pair| {
                    let (before, after) = (pair.first()?.1, pair.last()?.0);
                    (after - before > 2.4 * POST * bore).then_some((before + after) / 2.0)
                }));
            }
            between.retain(|z| arms.iter().all(|arm| (arm - z).abs() > 0.1 * bore));
            for z in between {
                post(solids, across, up, z);
            }
        }
    }
}

/// The places along the shaft between the cylinders of a row, and before and behind them, where
/// something may stand on the head.
fn between_bores(layout: &Layout, cylinders: &[&CylinderPlace]) -> Vec<f64> {
    let bore = layout.measures.bore_mm;
    let mut row: Vec<f64> = cylinders.iter().map(|cylinder| cylinder.z_mm).collect();
    row.sort_by(f64::total_cmp);
    let mut places: Vec<f64> = row
        .windows(2)
        .filter_map(|pair| Some((pair.first()? + pair.last()?) / 2.0))
        .collect();
    places.extend(row.first().map(|z| z - 0.53 * bore));
    places.extend(row.last().map(|z| z + 0.53 * bore));
    places
}

/// What carries the camshafts over a bank, and the shaft that fingers turn on.
fn cam_carriers(solids: &mut Solids, layout: &Layout, bank_deg: f64, cylinders: &[&CylinderPlace]) {
    let measures = &layout.measures;
    let bore = measures.bore_mm;
    let places = between_bores(layout, cylinders);
    let half = 0.05 * bore;
    let (up, across) = (towards(bank_deg), towards(bank_deg + 90.0));
    let post = |solids: &mut Solids, foot: DVec2, to: f64, z: f64| {
        solids
            .finish(Finish::Alloy)
            .at(upright(bank_deg, foot.dot(across), measures.deck_mm, z))
            .bar(POST * bore, (0.05 * bore, to - measures.deck_mm));
    };
    let works = |index: usize| {
        cylinders.iter().any(|cylinder| {
            Valve::BOTH
                .into_iter()
                .any(|valve| place_of(cylinder, valve).cam == index)
        })
    };
    for (index, cam) in layout
        .cams
        .iter()
        .enumerate()
        .filter(|(index, _)| works(*index))
    {
        for &z in &places {
            let outer = cam.radius_mm * 1.4;
            solids.finish(Finish::Alloy).to(DVec3::ZERO).broken_prism(
                &circle(cam.centre, outer),
                &[circle(cam.centre, cam.radius_mm * 1.03)],
                (z - half, z + half),
                0.006 * bore,
            );
            post(
                solids,
                cam.centre,
                cam.centre.dot(up) - cam.radius_mm * 1.2,
                z,
            );
        }
        let Some((pivot, radius)) = finger_pivot(layout, index, cam, cylinders) else {
            continue;
        };
        let (from, to) = row_ends(layout, cylinders);
        solids
            .finish(Finish::Steel)
            .to(pivot.extend(0.0))
            .bar(radius, (from, to));
        for &z in &places {
            post(solids, pivot, pivot.dot(up), z);
        }
    }
}

/// Where the fingers under a camshaft turn, and the radius of the shaft they turn on; None without
/// fingers.
fn finger_pivot(
    layout: &Layout,
    index: usize,
    cam: &CamPlace,
    cylinders: &[&CylinderPlace],
) -> Option<(DVec2, f64)> {
    let FollowerShape::Finger { arm_mm, .. } = layout.follower else {
        return None;
    };
    let own = |cylinder: &&&CylinderPlace| {
        [cylinder.intake, cylinder.exhaust]
            .into_iter()
            .find(|valve| valve.cam == index)
    };
    let cylinder = cylinders.iter().find(|cylinder| own(cylinder).is_some())?;
    let valve = own(&cylinder)?;
    let base_mm = layout.intake_lobe.base_radius_mm() * layout.lobe_scale;
    let up_deg = match layout.train {
        ValveTrain::Overhead => cylinder.bank_deg + 180.0,
        ValveTrain::PushRod { .. } => cylinder.bank_deg,
    };
    let at = FollowerPose::at(layout, &valve, up_deg, base_mm, 0.0).at;
    let radius = f64::min(0.04 * layout.measures.bore_mm, arm_mm * 0.24);
    (at != cam.centre).then_some((at, radius))
}

/// The plates in which the tappets of low camshafts slide: one for each bank that a camshaft works.
/// Nothing where fingers ride on the lobes.
pub fn tappet_guides(layout: &Layout) -> Solids {
    let mut solids = Solids::new(Finish::Iron);
    let slides = !matches!(layout.follower, FollowerShape::Finger { .. });
    let ValveTrain::PushRod { ratio, .. } = layout.train else {
        return solids;
    };
    if !slides || matches!(layout.follower, FollowerShape::Roller { .. }) {
        return solids;
    }
    let bore = layout.measures.bore_mm;
    let (wide, thick) = (BARREL * bore * 1.3, 0.05 * bore);
    let lift = [&layout.intake_lobe, &layout.exhaust_lobe]
        .map(|lobe| lobe.nose_radius_mm() - lobe.base_radius_mm())
        .into_iter()
        .fold(0.0, f64::max)
        / ratio;
    for (index, cam) in layout.cams.iter().enumerate() {
        for bank_deg in banks(layout) {
            let valves: Vec<(f64, f64)> = layout
                .cylinders
                .iter()
                .filter(|cylinder| cylinder.bank_deg == bank_deg)
                .flat_map(|cylinder| {
                    Valve::BOTH.map(|valve| {
                        let lobe = match valve {
                            Valve::Intake => &layout.intake_lobe,
                            Valve::Exhaust => &layout.exhaust_lobe,
                        };
                        let place = place_of(cylinder, valve);
                        let base = lobe.base_radius_mm() * layout.lobe_scale;
                        (place.cam, place.lobe_z_mm, base)
                    })
                })
                .filter(|(cam, ..)| *cam == index)
                .map(|(_, z, base)| (z, base))
                .collect();
            let (from, to, base) = valves
                .iter()
                .fold((f64::MAX, f64::MIN, 0.0), |(from, to, most), &(z, base)| {
                    (from.min(z), to.max(z), f64::max(most, base))
                });
            if valves.is_empty() {
                continue;
            }
            // Over the tappets' feet at full lift.
            let up = base + lift + 0.08 * bore;
            let frame = DAffine3::from_translation(cam.centre.extend(0.0))
                * upright(bank_deg, 0.0, up, 0.0);
            let holes = valves
                .iter()
                .map(|(z, _)| round(DVec2::new(0.0, -z), BARREL * bore * 1.02))
                .collect::<Vec<_>>();
            // In this frame the shaft runs down.
            let plate = oblong(
                DVec2::new(-wide, -to - wide),
                DVec2::new(wide, -from + wide),
            );
            solids.at(frame).prism(&plate, &holes, (0.0, thick));
        }
    }
    solids
}

/// A small circle of a few corners.
fn round(centre: DVec2, radius: f64) -> Vec<DVec2> {
    let count = circle_sides(radius).min(20);
    (0..count)
        .map(|step| centre + towards(360.0 * f64::from(step) / f64::from(count)) * radius)
        .collect()
}

/// The boss that the distributor's body stands in, with its clamp; beside a row of cylinders with an
/// arm to the block, between two of them.
pub fn distributor_boss(layout: &Layout, place: &DistributorPlace) -> Solids {
    let radius = place.radius_mm;
    let mut solids = Solids::new(Finish::Alloy);
    let frame = super::distributor::cap_frame(place);
    solids.at(frame).tube(
        radius * 0.43,
        radius * 0.56,
        (-radius * 1.36, -radius * 1.12),
    );
    solids.finish(Finish::Steel).tube(
        radius * 0.43,
        radius * 0.62,
        (-radius * 1.11, -radius * 1.06),
    );
    let bore = layout.measures.bore_mm;
    let beside = layout
        .cylinders
        .iter()
        .any(|cylinder| cylinder.z_mm > place.cap.z)
        && layout
            .cylinders
            .iter()
            .any(|cylinder| cylinder.z_mm < place.cap.z);
    if beside {
        let side = place.cap.x.signum();
        let (near, far) = (side * 0.35 * bore, place.cap.x - side * radius * 0.5);
        let up = place.cap.y - radius * 1.24;
        let high = radius * 0.09;
        solids.finish(Finish::Alloy).to(DVec3::ZERO).broken_prism(
            &oblong(
                DVec2::new(near.min(far), up - high),
                DVec2::new(near.max(far), up + high),
            ),
            &[],
            (place.cap.z - 0.035 * bore, place.cap.z + 0.035 * bore),
            0.006 * bore,
        );
    }
    solids
}
