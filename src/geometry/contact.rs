//! Where a round bar of a body comes out of another of its solids, a journal out of its web or a
//! camshaft out of a lobe: the corner between them gets less light, and the model shades it.

use glam::{DAffine3, DVec2, DVec3};

use super::solids::{Finish, Shape, Solid, Solids};

/// In how many directions about the bar the face's edge is looked for.
pub const DIRECTIONS: usize = 24;

/// A round bar that comes out of a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// From the contact's frame to the body's: z along the bar, from the face outwards, the origin
    /// on the bar's axis in the face.
    pub at: DAffine3,
    /// The bar's radius, millimetres.
    pub radius_mm: f64,
    /// How far out of the face its corner is shaded along the bar, millimetres.
    pub along_mm: f64,
    /// How far from the bar the face is shaded, in as many directions, the first along x and on
    /// towards y: not over its edge.
    pub across_mm: [f64; DIRECTIONS],
    /// The bar's finish.
    pub bar: Finish,
    /// The face's finish.
    pub face: Finish,
}

/// A cylinder's outer wall in the frame of its solid.
#[derive(Clone, Copy, Debug)]
struct Bar {
    radius_mm: f64,
    from: f64,
    to: f64,
}

/// A flat end across z: where, and whether it looks towards the front.
#[derive(Clone, Copy, Debug)]
struct Face {
    z: f64,
    to_front: bool,
}

/// Every place where a bar of a body comes out of a face of another of its solids. Bars and faces
/// of glass and of paint are left out.
pub fn contacts(body: &Solids) -> Vec<Contact> {
    let solids: Vec<&Solid> = body.iter().filter(|solid| is_solid(solid.finish)).collect();
    let mut found = Vec::new();
    for (index, one) in solids.iter().enumerate() {
        for bar in bars(&one.shape) {
            for (other_index, other) in solids.iter().enumerate() {
                if index != other_index {
                    between(one, bar, other, &mut found);
                }
            }
        }
    }
    found
}

fn is_solid(finish: Finish) -> bool {
    !matches!(
        finish,
        Finish::Glass
            | Finish::CapGlass
            | Finish::Mark
            | Finish::MarkGround
            | Finish::Pointer
            | Finish::Spark
    )
}

fn between(one: &Solid, bar: Bar, other: &Solid, found: &mut Vec<Contact>) {
    /// Axes that lean against one another less than this are one direction.
    const PARALLEL: f64 = 0.9999;
    let to_other = other.at.inverse() * one.at;
    let axis = to_other.transform_vector3(DVec3::Z);
    if axis.z.abs() < PARALLEL {
        return;
    }
    let from_other = to_other.inverse();
    for face in faces(&other.shape) {
        let middle = to_other.transform_point3(DVec3::ZERO);
        let z = from_other
            .transform_point3(DVec3::new(middle.x, middle.y, face.z))
            .z;
        // Which way the bar comes out, in its own frame.
        let out = if (axis.z > 0.0) == face.to_front {
            1.0
        } else {
            -1.0
        };
        let end = if out > 0.0 { bar.to } else { bar.from };
        let wanted = (0.45 * bar.radius_mm).clamp(0.8, 6.0);
        let along_mm = ((end - z) * out).min(wanted);
        let begins_within = z > bar.from - 0.05 && z < bar.to + 0.05;
        if along_mm < 0.3 * wanted || !begins_within {
            continue;
        }
        let at = one.at * DAffine3::from_translation(DVec3::new(0.0, 0.0, z)) * turned_over(out);
        let to_face = other.at.inverse() * at;
        let across_mm = std::array::from_fn(|direction| {
            let angle = std::f64::consts::TAU * direction as f64 / DIRECTIONS as f64;
            let towards = DVec2::from_angle(angle);
            reach(other, &to_face, towards, bar.radius_mm, wanted)
        });
        let covered = across_mm.iter().filter(|across| **across > 0.0).count();
        if covered * 2 >= DIRECTIONS {
            found.push(Contact {
                at,
                radius_mm: bar.radius_mm,
                along_mm,
                across_mm,
                bar: one.finish,
                face: other.finish,
            });
        }
    }
}

/// So that z runs outwards: about x, which keeps the corners of a round bar where they are.
fn turned_over(out: f64) -> DAffine3 {
    if out > 0.0 {
        DAffine3::IDENTITY
    } else {
        DAffine3::from_rotation_x(std::f64::consts::PI)
    }
}

/// How far the face goes on from the bar in a direction, as far as is wanted.
fn reach(other: &Solid, to_face: &DAffine3, towards: DVec2, radius_mm: f64, wanted: f64) -> f64 {
    const STEPS: u32 = 6;
    let within = |off: f64| {
        let at = to_face.transform_point3((towards * (radius_mm + off)).extend(0.0));
        covers(&other.shape, at)
    };
    if !within(0.02) {
        return 0.0;
    }
    let steps = (1..=STEPS).map(|step| wanted * f64::from(step) / f64::from(STEPS));
    steps.take_while(|off| within(*off)).last().unwrap_or(0.02)
}

/// The outer walls of a turned shape that goes all the way round.
fn bars(shape: &Shape) -> Vec<Bar> {
    let Shape::Turned {
        profile, sweep_deg, ..
    } = shape
    else {
        return Vec::new();
    };
    if *sweep_deg < 360.0 {
        return Vec::new();
    }
    let walls = profile.windows(2).filter_map(|pair| match pair {
        [(r0, z0), (r1, z1)] if (r0 - r1).abs() < 1e-6 && z1 > z0 && *r0 > 0.0 => Some(Bar {
            radius_mm: *r0,
            from: *z0,
            to: *z1,
        }),
        _ => None,
    });
    walls.collect()
}

/// The flat ends of a shape.
fn faces(shape: &Shape) -> Vec<Face> {
    match shape {
        Shape::Prism { z, .. } => vec![
            Face {
                z: z.0,
                to_front: false,
            },
            Face {
                z: z.1,
                to_front: true,
            },
        ],
        Shape::Twisted { half, .. } => vec![
            Face {
                z: -half,
                to_front: false,
            },
            Face {
                z: *half,
                to_front: true,
            },
        ],
        Shape::Turned { profile, .. } => profile
            .windows(2)
            .filter_map(|pair| match pair {
                [(r0, z0), (r1, z1)] if (z0 - z1).abs() < 1e-6 && (r0 - r1).abs() > 1e-6 => {
                    Some(Face {
                        z: *z0,
                        to_front: r1 < r0,
                    })
                }
                _ => None,
            })
            .collect(),
        Shape::Shell { .. } => Vec::new(),
    }
}

/// Whether a flat end of a shape covers a point in its plane.
fn covers(shape: &Shape, at: DVec3) -> bool {
    let flat = at.truncate();
    match shape {
        Shape::Prism {
            outline,
            holes,
            chamfer_mm,
            ..
        } => {
            // The face ends where its edge is broken.
            let in_outline = [DVec2::X, DVec2::Y, -DVec2::X, -DVec2::Y]
                .iter()
                .all(|side| encloses(outline, flat + *side * *chamfer_mm));
            in_outline && !holes.iter().any(|hole| encloses(hole, flat))
        }
        Shape::Twisted {
            outline,
            clockwise_deg_per_mm,
            ..
        } => {
            let turn = DVec2::from_angle((clockwise_deg_per_mm * at.z).to_radians());
            encloses(outline, turn.rotate(flat))
        }
        Shape::Turned { profile, .. } => profile.windows(2).any(|pair| match pair {
            [(r0, z0), (r1, z1)] => {
                let out = flat.length();
                (z0 - z1).abs() < 1e-6
                    && (z0 - at.z).abs() < 0.01
                    && out > r0.min(*r1)
                    && out < r0.max(*r1)
            }
            _ => false,
        }),
        Shape::Shell { .. } => false,
    }
}

/// Whether a closed outline encloses a point.
fn encloses(outline: &[DVec2], at: DVec2) -> bool {
    let ends = outline.iter().zip(outline.iter().cycle().skip(1));
    let crossed = ends.filter(|(one, other)| {
        (one.y > at.y) != (other.y > at.y)
            && at.x < (other.x - one.x) * (at.y - one.y) / (other.y - one.y) + one.x
    });
    crossed.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::BENCH;
    use crate::geometry::Layout;
    use crate::geometry::bodies::crankshaft::crankshaft;
    use crate::geometry::solids::oblong;

    #[test]
    fn a_bar_through_a_plate_is_shaded_on_both_sides_as_far_as_the_plate_goes() {
        let mut body = Solids::new(Finish::Steel);
        body.bar(10.0, (-30.0, 30.0));
        body.finish(Finish::Forged).prism(
            &oblong(DVec2::new(-12.0, -40.0), DVec2::new(40.0, 40.0)),
            &[],
            (-4.0, 4.0),
        );
        let found = contacts(&body);
        assert_eq!(found.len(), 2);
        for contact in &found {
            assert_eq!((contact.bar, contact.face), (Finish::Steel, Finish::Forged));
            assert_eq!((contact.radius_mm, contact.along_mm), (10.0, 4.5));
            let out = contact.at.transform_vector3(DVec3::Z);
            let origin = contact.at.translation;
            assert!((origin - out * 4.0).length() < 1e-9, "{origin}");
            assert_eq!(contact.across_mm[0], 4.5, "far from the edge");
            let near_the_edge = contact.across_mm[DIRECTIONS / 2];
            assert!((1.0..2.0).contains(&near_the_edge), "{near_the_edge}");
        }
    }

    #[test]
    fn a_bar_that_ends_in_a_plate_or_lies_beside_it_or_across_it_comes_out_of_no_other_side() {
        let plate = oblong(DVec2::splat(-40.0), DVec2::splat(40.0));
        let of = |at: DAffine3, z: (f64, f64)| {
            let mut body = Solids::new(Finish::Steel);
            body.prism(&plate, &[], (-4.0, 4.0));
            body.at(at).bar(10.0, z);
            contacts(&body).len()
        };
        assert_eq!(of(DAffine3::IDENTITY, (0.0, 30.0)), 1);
        let aside = DAffine3::from_translation(DVec3::new(80.0, 0.0, 0.0));
        assert_eq!(of(aside, (-30.0, 30.0)), 0);
        assert_eq!(of(DAffine3::from_rotation_x(1.0), (-30.0, 30.0)), 0);
        assert_eq!(of(DAffine3::IDENTITY, (10.0, 30.0)), 0, "over it");
    }

    #[test]
    fn every_journal_and_pin_of_a_crankshaft_is_shaded_at_its_webs() {
        let layout = Layout::of(&BENCH.engine());
        let found = contacts(&crankshaft(&layout));
        // Two at each pin, and one at the other side of either web.
        let webs = layout.throws.len() * 4;
        assert!(found.len() >= webs, "{} of {webs}", found.len());
    }
}
