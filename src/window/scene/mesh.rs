//! Building meshes of a body's solids: prisms and turned shapes, with a colour at every corner, many
//! of them in one mesh.
//!
//! Millimetres go in, the window's units come out ([`UNIT_MM`]). A part is one mesh however many
//! shapes it is made of, and all opaque parts share one material: few meshes and one material draw
//! fast where the processor draws.

use std::hash::{Hash as _, Hasher as _};

use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use glam::{DAffine3, DVec2, DVec3};
use lyon_tessellation::geom::point;
use lyon_tessellation::path::Path;
use lyon_tessellation::{BuffersBuilder, FillOptions, FillTessellator, FillVertex, VertexBuffers};

use super::materials::{self, Colour};
use super::units::UNIT_MM;
use crate::geometry::coarse;
use crate::geometry::contact::{self, Contact};
use crate::geometry::solids::{Finish, Shape, Solids, circle_sides};

/// A finish as the model shows it.
fn colour_of(finish: Finish) -> Colour {
    match finish {
        Finish::Steel => materials::STEEL,
        Finish::Forged => materials::FORGED,
        Finish::Bright => materials::BRIGHT,
        Finish::Alloy => materials::ALLOY,
        Finish::Rod => materials::ROD,
        Finish::Iron => materials::IRON,
        Finish::Body => materials::BODY,
        Finish::Dark => materials::DARK,
        Finish::Camshaft => materials::CAM,
        Finish::IntakeLobe => tinted(materials::INTAKE),
        Finish::ExhaustLobe => tinted(materials::EXHAUST),
        Finish::CrankWheel => materials::CRANK_WHEEL,
        Finish::CamWheel => materials::CAM_WHEEL,
        Finish::Idler => materials::IDLER,
        Finish::Intake => materials::INTAKE,
        Finish::Exhaust => materials::EXHAUST,
        Finish::ValveGear => materials::GEAR,
        Finish::Mark => materials::MARK,
        Finish::MarkGround => materials::MARK_GROUND,
        Finish::Pointer => materials::POINTER,
        Finish::Pulley => materials::PULLEY,
        Finish::Rotor => materials::ROTOR,
        Finish::Brass => materials::BRASS,
        Finish::Tower => materials::TOWER,
        Finish::Spark => materials::SPARK,
        Finish::Glass => Colour([1.0; 4]),
        Finish::CapGlass => Colour([1.0, 0.93, 0.85, 1.0]),
    }
}

/// The camshaft's colour, tinted with that of a valve.
fn tinted(valve: Colour) -> Colour {
    let mut colour = materials::CAM;
    for (own, tint) in colour.0.iter_mut().zip(valve.0) {
        *own = *own * 0.45 + tint * 0.55;
    }
    colour
}

/// Walls that meet at an angle whose cosine is over this are shaded as one round wall.
const ROUND_COS: f64 = 0.75;

/// How closely a mesh follows its body.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Fineness {
    /// So that it looks round from near.
    #[default]
    Fine,
    /// So that it looks round from where the whole engine is seen, and its edges are sharp: where the
    /// processor draws, the time goes into triangles, however small.
    Coarse,
}

/// How far a coarse mesh may lie from its body: less than a pixel where the whole of a usual engine is
/// seen in 1280 × 720.
const COARSE_MM: f64 = 0.5;

/// An outline for a coarse mesh. What is small stays as round as it must be to look so.
fn coarser(outline: &[DVec2]) -> Vec<DVec2> {
    /// Ten corners of a circle lie within this of it, over its radius.
    const ROUND: f64 = 0.045;
    let (least, most) = outline
        .iter()
        .fold((DVec2::MAX, DVec2::MIN), |(least, most), corner| {
            (least.min(*corner), most.max(*corner))
        });
    let radius = (most - least).max_element() / 2.0;
    coarse::outline(outline, f64::min(COARSE_MM, ROUND * radius))
}

/// How many sides a circle has in a mesh.
fn sides(radius: f64, fineness: Fineness) -> u32 {
    match fineness {
        Fineness::Fine => circle_sides(radius),
        Fineness::Coarse => {
            let half = f64::acos(1.0 - f64::min(COARSE_MM / radius.max(1e-6), 0.05));
            (std::f64::consts::PI / half).ceil() as u32
        }
    }
}

/// A mesh being built of shapes.
#[derive(Clone, Debug, Default)]
pub(crate) struct PartMesh {
    positions: Vec<[f32; 3]>,
    normals: Vec<[f32; 3]>,
    colours: Vec<[f32; 4]>,
    indices: Vec<u32>,
    fineness: Fineness,
    colour: Colour,
    at: DAffine3,
}

impl PartMesh {
    /// Without shapes yet; what is added has this colour.
    pub(crate) fn new(colour: Colour) -> Self {
        Self {
            colour,
            at: DAffine3::IDENTITY,
            ..Self::default()
        }
    }

    /// The mesh of a body.
    pub(crate) fn of(solids: &Solids, fineness: Fineness) -> Self {
        let mut mesh = Self {
            fineness,
            ..Self::default()
        };
        for solid in solids.iter() {
            mesh.colour(colour_of(solid.finish)).at(solid.at);
            match &solid.shape {
                Shape::Prism {
                    outline,
                    holes,
                    z,
                    chamfer_mm,
                } => match fineness {
                    Fineness::Fine => mesh.broken_prism(outline, holes, *z, *chamfer_mm),
                    Fineness::Coarse => {
                        let holes: Vec<_> = holes.iter().map(|hole| coarser(hole)).collect();
                        mesh.prism(&coarser(outline), &holes, *z)
                    }
                },
                Shape::Twisted {
                    outline,
                    half,
                    clockwise_deg_per_mm,
                } => mesh.twisted(
                    &match fineness {
                        Fineness::Fine => outline.clone(),
                        Fineness::Coarse => coarser(outline),
                    },
                    *half,
                    *clockwise_deg_per_mm,
                ),
                Shape::Shell { line, z } => mesh.shell(
                    &match fineness {
                        Fineness::Fine => line.clone(),
                        Fineness::Coarse => coarse::line(line, COARSE_MM),
                    },
                    *z,
                ),
                Shape::Turned {
                    profile,
                    from_deg,
                    sweep_deg,
                } => mesh.turned_part(profile, *from_deg, *sweep_deg),
            };
        }
        if fineness == Fineness::Fine {
            for contact in contact::contacts(solids) {
                mesh.contact(&contact);
            }
        }
        mesh
    }

    /// Shades the corner between a bar and the face that it comes out of: over both, darkest where
    /// they meet.
    fn contact(&mut self, contact: &Contact) {
        /// Over what is shaded, so little that it is not seen.
        const OVER_MM: f64 = 0.03;
        /// How far out, over all of it, and how much of the light comes there.
        const RINGS: [(f64, f32); 4] = [(0.0, 0.34), (0.25, 0.62), (0.6, 0.88), (1.0, 1.0)];
        let shaded = |finish: Finish, light: f32| {
            let Colour([red, green, blue, gloss]) = colour_of(finish);
            Colour([red * light, green * light, blue * light, gloss])
        };
        self.at(contact.at);
        // With the bar's own corners, or it would stand out of them here and lie in them there.
        let round = sides(contact.radius_mm, self.fineness);
        let radius = contact.radius_mm + OVER_MM;
        let direction = |step: u32, round: u32| {
            DVec2::from_angle(std::f64::consts::TAU * f64::from(step) / f64::from(round))
        };
        for ring in RINGS.windows(2) {
            let first = self.positions.len() as u32;
            for step in 0..=round {
                let out = direction(step, round);
                for (part, light) in ring {
                    self.colour(shaded(contact.bar, *light));
                    let z = part * contact.along_mm;
                    self.corner((out * radius).extend(z), out.extend(0.0));
                }
            }
            for step in 0..round {
                let at = first + step * 2;
                self.indices
                    .extend([at, at + 2, at + 1, at + 1, at + 2, at + 3]);
            }
            let first = self.positions.len() as u32;
            let across = contact.across_mm.len() as u32;
            for step in 0..=across {
                let out = direction(step, across);
                let index = (step % across) as usize;
                let reach = contact.across_mm.get(index).copied().unwrap_or(0.0);
                let usual = contact.across_mm.iter().copied().fold(0.0, f64::max);
                for (part, light) in ring {
                    // Over an edge that is near it is cut off, and not paler.
                    self.colour(shaded(contact.face, *light));
                    let off = f64::min(part * usual, reach);
                    let at = out * (contact.radius_mm * 0.97 + off);
                    self.corner(at.extend(OVER_MM), DVec3::Z);
                }
            }
            for step in 0..across {
                let at = first + step * 2;
                self.indices
                    .extend([at, at + 1, at + 2, at + 1, at + 3, at + 2]);
            }
        }
    }

    /// What is added from now on has this colour.
    pub(crate) fn colour(&mut self, colour: Colour) -> &mut Self {
        self.colour = colour;
        self
    }

    /// What is added from now on is placed by this.
    pub(crate) fn at(&mut self, at: DAffine3) -> &mut Self {
        self.at = at;
        self
    }

    /// What is added from now on is moved to here, and not turned.
    pub(crate) fn to(&mut self, place: DVec3) -> &mut Self {
        self.at(DAffine3::from_translation(place))
    }

    /// An outline in x and y, with holes, extruded along z.
    pub(crate) fn prism(
        &mut self,
        outline: &[DVec2],
        holes: &[Vec<DVec2>],
        z: (f64, f64),
    ) -> &mut Self {
        self.broken_prism(outline, holes, z, 0.0)
    }

    /// An outline in x and y, with holes, extruded along z, its outer edges broken by so much.
    fn broken_prism(
        &mut self,
        outline: &[DVec2],
        holes: &[Vec<DVec2>],
        z: (f64, f64),
        chamfer_mm: f64,
    ) -> &mut Self {
        let (back, front) = (f64::min(z.0, z.1), f64::max(z.0, z.1));
        let off = chamfer_mm.min((front - back) / 3.0);
        let outer = clockwise_corners(outline, true);
        self.walls(&outer, back + off, front - off);
        for hole in holes {
            self.walls(&clockwise_corners(hole, false), back, front);
        }
        if off > 0.0 {
            let inner = inwards(&outer, off);
            self.bevel(&outer, &inner, (front - off, front));
            self.bevel(&outer, &inner, (back + off, back));
            self.face(&inner, holes, front, DVec3::Z);
            self.face(&inner, holes, back, DVec3::NEG_Z);
        } else {
            self.face(&outer, holes, front, DVec3::Z);
            self.face(&outer, holes, back, DVec3::NEG_Z);
        }
        self
    }

    /// From a clockwise outline at one height to one of as many corners at another.
    fn bevel(&mut self, outer: &[DVec2], inner: &[DVec2], (from, to): (f64, f64)) {
        let up = (to - from).signum();
        for index in 0..outer.len() {
            let next = (index + 1) % outer.len();
            let (one, other) = corner_normals(outer, index);
            let tilted = |normal: DVec2| normal.extend(up).normalize_or_zero();
            let first = self.positions.len() as u32;
            self.corner(inner[index].extend(to), tilted(one));
            self.corner(outer[index].extend(from), tilted(one));
            self.corner(inner[next].extend(to), tilted(other));
            self.corner(outer[next].extend(from), tilted(other));
            let [a, b, c, d] = [first, first + 1, first + 2, first + 3];
            self.indices.extend(if up > 0.0 {
                [a, c, b, b, c, d]
            } else {
                [a, b, c, b, d, c]
            });
        }
    }

    /// A wall without thickness over a line, seen from the right of one who goes along it.
    fn shell(&mut self, line: &[DVec2], (back, front): (f64, f64)) -> &mut Self {
        let normal = |index: usize| {
            let (from, to) = (line[index], line[index + 1]);
            -(to - from).perp().normalize_or_zero()
        };
        let walls = line.len().saturating_sub(1);
        for index in 0..walls {
            let own = normal(index);
            let round = |other: DVec2| {
                if own.dot(other) > ROUND_COS {
                    (own + other).normalize_or(own)
                } else {
                    own
                }
            };
            let before = index.checked_sub(1).map_or(own, normal);
            let after = if index + 1 < walls {
                normal(index + 1)
            } else {
                own
            };
            let first = self.positions.len() as u32;
            self.corner(line[index].extend(front), round(before).extend(0.0));
            self.corner(line[index].extend(back), round(before).extend(0.0));
            self.corner(line[index + 1].extend(front), round(after).extend(0.0));
            self.corner(line[index + 1].extend(back), round(after).extend(0.0));
            self.indices
                .extend([first, first + 1, first + 2, first + 1, first + 3, first + 2]);
        }
        self
    }

    /// An outline extruded along z to `half` either side and twisted on the way, so many degrees
    /// clockwise for each millimetre towards the front; at z = 0 it is as given.
    fn twisted(&mut self, outline: &[DVec2], half: f64, clockwise_deg_per_mm: f64) -> &mut Self {
        /// A slice twists by no more than this: its corners are too small to see.
        const SLICE_DEG: f64 = 5.0;
        let slices =
            ((2.0 * half * clockwise_deg_per_mm / SLICE_DEG).abs().ceil() as u32).clamp(1, 24);
        let outline = clockwise_corners(outline, true);
        let level = |step: u32| -half + 2.0 * half * f64::from(step) / f64::from(slices);
        let turned = |z: f64| {
            let turn = DVec2::from_angle(-(clockwise_deg_per_mm * z).to_radians());
            outline
                .iter()
                .map(|corner| turn.rotate(*corner))
                .collect::<Vec<_>>()
        };
        for step in 0..slices {
            let (back, front) = (level(step), level(step + 1));
            self.walls_between(&turned(back), &turned(front), back, front);
        }
        self.face(&turned(half), &[], half, DVec3::Z);
        self.face(&turned(-half), &[], -half, DVec3::NEG_Z);
        self
    }

    /// A flat oval about the origin, to be seen from the front, with the half axes `along` y and
    /// `across` it, that fades from one colour in its middle to another at its edge.
    pub(crate) fn fading_oval(
        &mut self,
        along: f64,
        across: f64,
        middle: Colour,
        edge: Colour,
    ) -> &mut Self {
        /// Rings in which it fades, slowly at both ends.
        const RINGS: u32 = 8;
        let round = circle_sides(along.max(across));
        let first = self.positions.len() as u32;
        for ring in 0..=RINGS {
            let out = f64::from(ring) / f64::from(RINGS);
            let left = ((1.0 + (std::f64::consts::PI * out).cos()) / 2.0) as f32;
            let mixed =
                std::array::from_fn(|index| middle.0[index] * left + edge.0[index] * (1.0 - left));
            self.colour(Colour(mixed));
            for step in 0..round {
                let direction =
                    DVec2::from_angle(std::f64::consts::TAU * f64::from(step) / f64::from(round));
                self.corner(
                    DVec3::new(direction.x * across * out, direction.y * along * out, 0.0),
                    DVec3::Z,
                );
            }
        }
        for ring in 0..RINGS {
            for step in 0..round {
                let corner = |ring: u32, step: u32| first + ring * round + step % round;
                let (a, b) = (corner(ring, step), corner(ring + 1, step));
                let (c, d) = (corner(ring, step + 1), corner(ring + 1, step + 1));
                self.indices.extend([a, b, d, a, d, c]);
            }
        }
        self
    }

    /// A profile of (radius, z) revolved about the z axis; the outside is to the right as one goes
    /// from point to point, seen with the radius upwards and z to the right. From `from_deg`,
    /// counted from x towards y, on through `sweep_deg`.
    fn turned_part(&mut self, profile: &[(f64, f64)], from_deg: f64, sweep_deg: f64) -> &mut Self {
        let widest = profile
            .iter()
            .fold(0.0, |most, point| f64::max(most, point.0));
        let round = (f64::from(sides(widest, self.fineness)) * sweep_deg / 360.0).ceil() as u32;
        for pair in profile.windows(2) {
            let ((r0, z0), (r1, z1)) = (pair[0], pair[1]);
            let (dr, dz) = (r1 - r0, z1 - z0);
            let long = dr.hypot(dz);
            if long < 1e-9 {
                continue;
            }
            let (out, up) = (dz / long, -dr / long);
            let first = self.positions.len() as u32;
            for step in 0..=round {
                let direction = DVec2::from_angle(
                    (from_deg + sweep_deg * f64::from(step) / f64::from(round)).to_radians(),
                );
                let normal = (direction * out).extend(up);
                self.corner((direction * r0).extend(z0), normal);
                self.corner((direction * r1).extend(z1), normal);
            }
            for step in 0..round {
                let at = first + step * 2;
                // On the axis there is one corner and not two.
                if r0 > 0.0 {
                    self.indices.extend([at, at + 2, at + 1]);
                }
                if r1 > 0.0 {
                    self.indices.extend([at + 1, at + 2, at + 3]);
                }
            }
        }
        self
    }

    pub(crate) fn mesh(self) -> Mesh {
        Mesh::new(
            PrimitiveTopology::TriangleList,
            RenderAssetUsages::default(),
        )
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, self.positions)
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, self.normals)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, self.colours)
        .with_inserted_indices(Indices::U32(self.indices))
    }

    /// A hash that two meshes share only where they have the same shape, to a thousandth of a
    /// millimetre, and the same colours.
    pub(crate) fn shape(&self) -> u64 {
        let mut hasher = std::hash::DefaultHasher::new();
        for (place, colour) in self.positions.iter().zip(&self.colours) {
            place
                .map(|along| (f64::from(along) * UNIT_MM * 1e3).round() as i64)
                .hash(&mut hasher);
            colour.map(f32::to_bits).hash(&mut hasher);
        }
        self.indices.hash(&mut hasher);
        hasher.finish()
    }

    fn corner(&mut self, place: DVec3, normal: DVec3) {
        self.positions.push(
            (self.at.transform_point3(place) / UNIT_MM)
                .as_vec3()
                .to_array(),
        );
        self.normals.push(
            self.at
                .transform_vector3(normal)
                .normalize_or_zero()
                .as_vec3()
                .to_array(),
        );
        self.colours.push(self.colour.0);
    }

    /// Walls along a clockwise outline, which has the outside on its left.
    fn walls(&mut self, outline: &[DVec2], back: f64, front: f64) {
        self.walls_between(outline, outline, back, front);
    }

    /// Walls from one outline at the back to one of as many corners at the front.
    fn walls_between(&mut self, at_back: &[DVec2], at_front: &[DVec2], back: f64, front: f64) {
        let count = at_back.len();
        if count < 2 {
            return;
        }
        for index in 0..count {
            let next = (index + 1) % count;
            let first = self.positions.len() as u32;
            let (front_from, front_to) = corner_normals(at_front, index);
            let (back_from, back_to) = corner_normals(at_back, index);
            self.corner(at_front[index].extend(front), front_from.extend(0.0));
            self.corner(at_back[index].extend(back), back_from.extend(0.0));
            self.corner(at_front[next].extend(front), front_to.extend(0.0));
            self.corner(at_back[next].extend(back), back_to.extend(0.0));
            self.indices
                .extend([first, first + 2, first + 1, first + 1, first + 2, first + 3]);
        }
    }

    fn face(&mut self, outline: &[DVec2], holes: &[Vec<DVec2>], z: f64, normal: DVec3) {
        let mut path = Path::builder();
        for ring in std::iter::once(outline).chain(holes.iter().map(Vec::as_slice)) {
            let mut points = ring
                .iter()
                .map(|corner| point(corner.x as f32, corner.y as f32));
            if let Some(first) = points.next() {
                path.begin(first);
                points.for_each(|corner| {
                    path.line_to(corner);
                });
                path.close();
            }
        }
        let mut flat: VertexBuffers<DVec2, u32> = VertexBuffers::new();
        let corners = &mut BuffersBuilder::new(&mut flat, |vertex: FillVertex<'_>| {
            DVec2::new(
                f64::from(vertex.position().x),
                f64::from(vertex.position().y),
            )
        });
        let options = FillOptions::tolerance(0.05);
        if FillTessellator::new()
            .tessellate_path(&path.build(), &options, corners)
            .is_err()
        {
            return;
        }
        self.flat(&flat.vertices, &flat.indices, z, normal);
    }

    /// Triangles in the plane of x and y, seen from the front.
    pub(crate) fn triangles(&mut self, corners: &[DVec2], triangles: &[u32]) {
        self.flat(corners, triangles, 0.0, DVec3::Z);
    }

    fn flat(&mut self, corners: &[DVec2], triangles: &[u32], z: f64, normal: DVec3) {
        let first = self.positions.len() as u32;
        for corner in corners {
            self.corner(corner.extend(z), normal);
        }
        for triangle in triangles.chunks_exact(3) {
            let [a, b, c] = [
                corners[triangle[0] as usize],
                corners[triangle[1] as usize],
                corners[triangle[2] as usize],
            ];
            let seen_from_front = (b - a).perp_dot(c - a) > 0.0;
            let (second, third) = if seen_from_front == (normal.z > 0.0) {
                (1, 2)
            } else {
                (2, 1)
            };
            self.indices.extend([
                first + triangle[0],
                first + triangle[second],
                first + triangle[third],
            ]);
        }
    }
}

/// The normals at both ends of an outline's wall: its own, or where the next wall is nearly in
/// line, half way to that wall's.
fn corner_normals(outline: &[DVec2], index: usize) -> (DVec2, DVec2) {
    let count = outline.len();
    let normal = |index: usize| {
        (outline[(index + 1) % count] - outline[index % count])
            .perp()
            .normalize_or_zero()
    };
    let own = normal(index);
    let round = |other: DVec2| {
        if own.dot(other) > ROUND_COS {
            (own + other).normalize_or(own)
        } else {
            own
        }
    };
    (round(normal(index + count - 1)), round(normal(index + 1)))
}

/// A clockwise outline moved inwards.
fn inwards(outline: &[DVec2], off: f64) -> Vec<DVec2> {
    let count = outline.len();
    let out = |index: usize| {
        (outline[(index + 1) % count] - outline[index % count])
            .perp()
            .normalize_or_zero()
    };
    (0..count)
        .map(|index| {
            let (before, after) = (out(index + count - 1), out(index));
            let mitre = (before + after) / (1.0 + before.dot(after)).max(0.5);
            outline[index] - mitre * off
        })
        .collect()
}

/// An outline's corners in the order that is asked for.
fn clockwise_corners(outline: &[DVec2], clockwise: bool) -> Vec<DVec2> {
    let area: f64 = outline
        .iter()
        .zip(outline.iter().cycle().skip(1))
        .map(|(a, b)| a.perp_dot(*b))
        .sum();
    let mut corners = outline.to_vec();
    if (area < 0.0) != clockwise {
        corners.reverse();
    }
    corners
}
