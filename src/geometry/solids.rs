//! A body as the model draws it: prisms and turned shapes, each of a finish.
//!
//! Millimetres, x right, y up and z towards the front, about whatever the body turns about. What is
//! drawn and what is held apart (`tests/bodies.rs`) are made from the same solids.

use glam::{DAffine3, DQuat, DVec2, DVec3};

use super::clock::{clock_of, towards};

/// What a solid is made of, or painted with: it decides how it looks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Finish {
    /// Turned or milled steel.
    #[default]
    Steel,
    /// Forged steel.
    Forged,
    /// Ground or polished steel.
    Bright,
    /// A connecting rod, forged and peened.
    Rod,
    /// Cast light alloy.
    Alloy,
    /// Cast iron.
    Iron,
    /// Blackened.
    Dark,
    /// A camshaft.
    Camshaft,
    /// A lobe that works an intake valve.
    IntakeLobe,
    /// A lobe that works an exhaust valve.
    ExhaustLobe,
    /// The crankshaft's timing wheel.
    CrankWheel,
    /// A camshaft's timing wheel.
    CamWheel,
    /// A gear between them.
    Idler,
    /// An intake valve.
    Intake,
    /// An exhaust valve.
    Exhaust,
    /// Followers.
    ValveGear,
    /// A painted mark.
    Mark,
    /// What a mark is set on.
    MarkGround,
    /// A pointer, painted.
    Pointer,
    /// The pulley.
    Pulley,
    /// The rotor.
    Rotor,
    /// Brass or bronze.
    Brass,
    /// A cast body.
    Body,
    /// A tower of the cap.
    Tower,
    /// A spark.
    Spark,
    /// Clear glass, whatever is seen through it.
    Glass,
    /// The glass of a distributor's cap.
    CapGlass,
}

/// The shape of a solid in its own frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// An outline in x and y, with holes, along z.
    Prism {
        /// Its outline.
        outline: Vec<DVec2>,
        /// Holes right through it.
        holes: Vec<Vec<DVec2>>,
        /// From its rear face to its front face.
        z: (f64, f64),
        /// How far both edges of the outline are broken; 0 where they are sharp.
        chamfer_mm: f64,
    },
    /// An outline along z to `half` either side, twisted on the way; at z = 0 it is as given.
    Twisted {
        /// Its outline in the middle.
        outline: Vec<DVec2>,
        /// From the middle to either face.
        half: f64,
        /// Degrees clockwise for each millimetre towards the front.
        clockwise_deg_per_mm: f64,
    },
    /// A wall along z over a line in x and y, without thickness: seen from the right of one who goes
    /// along the line, seen through from its left.
    Shell {
        /// The line, from end to end.
        line: Vec<DVec2>,
        /// From its rear edge to its front edge.
        z: (f64, f64),
    },
    /// A profile of (radius, z) revolved about z; the outside is to the right as one goes from
    /// point to point, seen with the radius upwards and z to the right.
    Turned {
        /// The profile.
        profile: Vec<(f64, f64)>,
        /// Where it begins, degrees from x towards y.
        from_deg: f64,
        /// How far round it goes.
        sweep_deg: f64,
    },
}

/// One solid: its shape, where it is placed, its finish.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    /// Its finish.
    pub finish: Finish,
    /// From its own frame to the body's.
    pub at: DAffine3,
    /// Its shape.
    pub shape: Shape,
}

/// A body of one solid or many, being put together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Solids {
    solids: Vec<Solid>,
    finish: Finish,
    at: DAffine3,
}

impl Solids {
    /// Without solids yet; what is added has this finish.
    pub fn new(finish: Finish) -> Self {
        Self {
            solids: Vec::new(),
            finish,
            at: DAffine3::IDENTITY,
        }
    }

    /// The solids, in the order they were added.
    pub fn iter(&self) -> impl Iterator<Item = &Solid> {
        self.solids.iter()
    }

    /// Whether there is nothing of it.
    pub fn is_empty(&self) -> bool {
        self.solids.is_empty()
    }

    /// What is added from now on has this finish.
    pub fn finish(&mut self, finish: Finish) -> &mut Self {
        self.finish = finish;
        self
    }

    /// What is added from now on is placed by this.
    pub fn at(&mut self, at: DAffine3) -> &mut Self {
        self.at = at;
        self
    }

    /// What is added from now on is moved to here, and not turned.
    pub fn to(&mut self, place: DVec3) -> &mut Self {
        self.at(DAffine3::from_translation(place))
    }

    /// All of another body, moved to here and not turned.
    pub fn join(&mut self, other: &Self, place: DVec3) -> &mut Self {
        let moved = DAffine3::from_translation(place);
        self.solids.extend(other.solids.iter().map(|solid| Solid {
            at: moved * solid.at,
            ..solid.clone()
        }));
        self
    }

    /// A prism with sharp edges.
    pub fn prism(&mut self, outline: &[DVec2], holes: &[Vec<DVec2>], z: (f64, f64)) -> &mut Self {
        self.broken_prism(outline, holes, z, 0.0)
    }

    /// A prism whose outline has its edges broken by so much.
    pub fn broken_prism(
        &mut self,
        outline: &[DVec2],
        holes: &[Vec<DVec2>],
        z: (f64, f64),
        chamfer_mm: f64,
    ) -> &mut Self {
        self.add(Shape::Prism {
            outline: outline.to_vec(),
            holes: holes.to_vec(),
            z: (f64::min(z.0, z.1), f64::max(z.0, z.1)),
            chamfer_mm,
        })
    }

    /// A wall without thickness along z, seen from the right of one who goes along the line.
    pub fn shell(&mut self, line: &[DVec2], z: (f64, f64)) -> &mut Self {
        self.add(Shape::Shell {
            line: line.to_vec(),
            z: (f64::min(z.0, z.1), f64::max(z.0, z.1)),
        })
    }

    /// An outline along z to `half` either side and twisted on the way, so many degrees clockwise
    /// for each millimetre towards the front.
    pub fn twisted(
        &mut self,
        outline: &[DVec2],
        half: f64,
        clockwise_deg_per_mm: f64,
    ) -> &mut Self {
        self.add(Shape::Twisted {
            outline: outline.to_vec(),
            half,
            clockwise_deg_per_mm,
        })
    }

    /// A round bar along z.
    pub fn bar(&mut self, radius: f64, z: (f64, f64)) -> &mut Self {
        let (back, front) = (f64::min(z.0, z.1), f64::max(z.0, z.1));
        self.turned(&[(0.0, back), (radius, back), (radius, front), (0.0, front)])
    }

    /// A round bar along z with the edges of its ends broken.
    pub fn broken_bar(&mut self, radius: f64, z: (f64, f64), chamfer_mm: f64) -> &mut Self {
        let (back, front) = (f64::min(z.0, z.1), f64::max(z.0, z.1));
        let off = chamfer_mm.min(radius / 2.0).min((front - back) / 3.0);
        self.turned(&[
            (0.0, back),
            (radius - off, back),
            (radius, back + off),
            (radius, front - off),
            (radius - off, front),
            (0.0, front),
        ])
    }

    /// A tube along z.
    pub fn tube(&mut self, inner: f64, outer: f64, z: (f64, f64)) -> &mut Self {
        let (back, front) = (f64::min(z.0, z.1), f64::max(z.0, z.1));
        self.turned(&[
            (inner, front),
            (inner, back),
            (outer, back),
            (outer, front),
            (inner, front),
        ])
    }

    /// A profile of (radius, z) revolved about the z axis.
    pub fn turned(&mut self, profile: &[(f64, f64)]) -> &mut Self {
        self.turned_part(profile, 0.0, 360.0)
    }

    /// The same, but only part of the way round: from `from_deg`, counted from x towards y, on
    /// through `sweep_deg`.
    pub fn turned_part(
        &mut self,
        profile: &[(f64, f64)],
        from_deg: f64,
        sweep_deg: f64,
    ) -> &mut Self {
        self.add(Shape::Turned {
            profile: profile.to_vec(),
            from_deg,
            sweep_deg,
        })
    }

    /// A box about the origin.
    pub fn block(&mut self, size: DVec3) -> &mut Self {
        let half = size / 2.0;
        let corners = [
            (-half.x, -half.y),
            (-half.x, half.y),
            (half.x, half.y),
            (half.x, -half.y),
        ]
        .map(DVec2::from);
        self.prism(&corners, &[], (-half.z, half.z))
    }

    /// A ball about the origin.
    pub fn ball(&mut self, radius: f64) -> &mut Self {
        let profile: Vec<_> = (0..=8)
            .map(|step| {
                let (sin, cos) = (std::f64::consts::PI * f64::from(step) / 8.0).sin_cos();
                (radius * sin, -radius * cos)
            })
            .collect();
        self.turned(&profile)
    }

    fn add(&mut self, shape: Shape) -> &mut Self {
        self.solids.push(Solid {
            finish: self.finish,
            at: self.at,
            shape,
        });
        self
    }
}

/// How many sides a circle of this radius needs to look round from as near as the camera comes: the
/// middle of a side lies within a fifth of a millimetre of the circle, of a large rim within a
/// tenth.
pub fn circle_sides(radius: f64) -> u32 {
    let radius = radius.max(0.0);
    let rim = 0.7 * (radius - 45.0).max(0.0);
    ((radius.sqrt() * 5.0 + rim) as u32).clamp(9, 128)
}

/// A circle, clockwise.
pub fn circle(centre: DVec2, radius: f64) -> Vec<DVec2> {
    let count = circle_sides(radius);
    (0..count)
        .map(|step| centre + towards(360.0 * f64::from(step) / f64::from(count)) * radius)
        .collect()
}

/// Two circles and the lines that touch both: a rod, a rocker, a web. Clockwise.
pub fn strap(one: DVec2, one_radius: f64, other: DVec2, other_radius: f64) -> Vec<DVec2> {
    let apart = other - one;
    let distance = apart.length();
    if distance <= (one_radius - other_radius).abs() {
        return if one_radius > other_radius {
            circle(one, one_radius)
        } else {
            circle(other, other_radius)
        };
    }
    let along = clock_of(apart);
    let lean = ((one_radius - other_radius) / distance).acos().to_degrees();
    let arc = |centre: DVec2, radius: f64, from: f64, sweep: f64| {
        let steps = (f64::from(circle_sides(radius)) * sweep / 360.0)
            .ceil()
            .max(2.0) as u32;
        (0..=steps).map(move |step| {
            centre + towards(from + sweep * f64::from(step) / f64::from(steps)) * radius
        })
    };
    arc(other, other_radius, along - lean, 2.0 * lean)
        .chain(arc(one, one_radius, along + lean, 360.0 - 2.0 * lean))
        .collect()
}

/// An oblong with its sides along x and y, clockwise.
pub fn oblong(least: DVec2, most: DVec2) -> Vec<DVec2> {
    vec![
        least,
        DVec2::new(least.x, most.y),
        most,
        DVec2::new(most.x, least.y),
    ]
}

/// Moves what is drawn along z, about the origin, to `place` and turns its z along `direction`.
pub fn along(place: DVec3, direction: DVec3) -> DAffine3 {
    DAffine3::from_rotation_translation(
        DQuat::from_rotation_arc(DVec3::Z, direction.normalize_or(DVec3::Z)),
        place,
    )
}
