//! Flat drawings: the same numbers, drawn once, shown on paper, on a page and in the window.
//!
//! A [`Drawing`] is made from a [`Phasing`](crate::phasing::Phasing) and, where it shows a moment,
//! a [`Reading`]. It knows lines, circles, arcs and texts and the [`Role`] each plays, and nothing
//! of colours, screens or files: `output/` writes it as SVG and PDF, `window/` paints it.
//!
//! Millimetres on paper; x runs right, y runs down, from the top left corner. Clock degrees as
//! everywhere: clockwise from straight up.

pub mod cap;
mod close_up;
mod contents;
mod cycle_axis;
pub mod degree_wheel;
pub mod fasteners;
mod free_place;
pub mod gear_face;
pub mod lift_curves;
pub mod meeting;
pub mod section;
pub mod stroke_ribbon;
pub mod strokes;

pub use contents::{Content, ContentPart, Heads};

use glam::DVec2;

use crate::angle::{CamTurn, CrankAngle, CrankTurn};
use crate::phasing::Reading;

/// A flat view of an engine: made once for a [`Phasing`](crate::phasing::Phasing), then shown at
/// any crank angle.
///
/// What never moves is drawn once, when the view is made; what moves is drawn anew for each reading
/// and lies over it.
pub trait View {
    /// What stays as it is at every crank angle.
    fn still(&self) -> &Drawing;

    /// What stands otherwise at every crank angle: drawn over [`still`](Self::still), to the same
    /// measure.
    fn moving(&self, reading: &Reading) -> Drawing;

    /// Both, at one crank angle.
    fn at(&self, reading: &Reading) -> Drawing {
        let mut whole = self.still().clone();
        whole.items.extend(self.moving(reading).items);
        whole
    }

    /// How far the crank turns when what was taken hold of at `held`, and has been drawn to `from`,
    /// is drawn on to `to`: positive in the running direction. The pointer may have left the part
    /// by then. None where there was nothing to hold.
    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn>;

    /// The same where what was taken hold of is a camshaft that is out: which, counted from 0 as they
    /// are described, and how far it turns, positive in its running direction.
    fn drag_cam(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<(usize, CamTurn)> {
        let _ = (held, from, to);
        None
    }

    /// The crank angle that a point stands for, where the view has an axis of crank degrees.
    fn crank_at(&self, point: DVec2) -> Option<CrankAngle> {
        let _ = point;
        None
    }
}

/// One drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// What it shows, for a caption and for screen readers.
    pub title: String,
    /// Width and height, millimetres.
    pub size: DVec2,
    /// What is drawn, in the order it is drawn.
    pub items: Vec<Item>,
    /// What its items are, in the order they are read: of a page alone.
    pub contents: Vec<Content>,
}

impl Drawing {
    /// An empty one, width by height in millimetres.
    pub fn new(title: impl Into<String>, width: f64, height: f64) -> Self {
        Self {
            title: title.into(),
            size: DVec2::new(width, height),
            items: Vec::new(),
            contents: Vec::new(),
        }
    }

    /// An empty one as large as another, to be drawn over it.
    pub(crate) fn over(other: &Self) -> Self {
        Self {
            size: other.size,
            ..Self::default()
        }
    }

    /// Leaves out whatever plays this part.
    pub fn leave_out(&mut self, role: Role) {
        self.items.retain(|item| match item {
            Item::Path { pen, .. } | Item::Circle { pen, .. } | Item::Arc { pen, .. } => {
                pen.role != role
            }
            Item::Text { role: own, .. } => *own != role,
        });
    }

    /// A line from one point to another.
    pub fn line(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.open(vec![from, to], pen);
    }

    /// A line through points.
    pub fn open(&mut self, points: Vec<DVec2>, pen: Pen) {
        self.items.push(Item::Path {
            points,
            closed: false,
            pen,
        });
    }

    /// An area within points.
    pub fn area(&mut self, points: Vec<DVec2>, pen: Pen) {
        self.items.push(Item::Path {
            points,
            closed: true,
            pen,
        });
    }

    /// A rectangle, from its top left to its bottom right corner.
    pub fn rectangle(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.area(
            vec![from, DVec2::new(to.x, from.y), to, DVec2::new(from.x, to.y)],
            pen,
        );
    }

    /// A circle.
    pub fn circle(&mut self, centre: DVec2, radius: f64, pen: Pen) {
        self.items.push(Item::Circle {
            centre,
            radius,
            pen,
        });
    }

    /// A part of a circle's rim, from a clock angle, positive clockwise.
    pub fn arc(&mut self, centre: DVec2, radius: f64, from_deg: f64, sweep_deg: f64, pen: Pen) {
        self.items.push(Item::Arc {
            centre,
            radius,
            from_deg,
            sweep_deg,
            pen,
        });
    }

    /// A text of one line, upright.
    pub fn text(
        &mut self,
        at: DVec2,
        text: impl Into<String>,
        size: f64,
        anchor: Anchor,
        role: Role,
    ) {
        self.items.push(Item::Text {
            at,
            text: text.into(),
            size,
            anchor,
            turned_deg: 0.0,
            role,
            bold: false,
        });
    }

    /// A bold text of one line, upright.
    pub fn bold(
        &mut self,
        at: DVec2,
        text: impl Into<String>,
        size: f64,
        anchor: Anchor,
        role: Role,
    ) {
        self.items.push(Item::Text {
            at,
            text: text.into(),
            size,
            anchor,
            turned_deg: 0.0,
            role,
            bold: true,
        });
    }

    /// A text of one line, turned clockwise about its place.
    pub fn turned_text(
        &mut self,
        at: DVec2,
        text: impl Into<String>,
        size: f64,
        anchor: Anchor,
        role: Role,
        turned_deg: f64,
    ) {
        self.items.push(Item::Text {
            at,
            text: text.into(),
            size,
            anchor,
            turned_deg,
            role,
            bold: false,
        });
    }

    /// An arrow along a circle's rim, its head at the end of the sweep.
    pub fn turning_arrow(
        &mut self,
        centre: DVec2,
        radius: f64,
        from_deg: f64,
        sweep_deg: f64,
        pen: Pen,
    ) {
        self.arc(centre, radius, from_deg, sweep_deg, pen);
        let head = (pen.width * 5.0).max(radius * 0.06);
        let back = sweep_deg.signum() * (head / radius).to_degrees();
        let (end, tail) = (from_deg + sweep_deg, from_deg + sweep_deg - back);
        let tip = on_clock(centre, radius, end + back * 0.2);
        let wings = [radius + head * 0.45, radius - head * 0.45]
            .map(|radius| on_clock(centre, radius, tail));
        self.area(vec![tip, wings[0], wings[1]], Pen::fill(pen.role));
    }

    /// Another drawing over this one: its top left corner `at`, `scale` times its size.
    pub fn place(&mut self, other: &Self, at: DVec2, scale: f64) {
        let before = self.items.len();
        self.items
            .extend(other.items.iter().map(|item| item.placed(at, scale)));
        let moved = other.contents.iter().map(|content| Content {
            items: content.items.start + before..content.items.end + before,
            ..content.clone()
        });
        self.contents.extend(moved);
    }
}

impl Item {
    /// The same, `scale` times its size about the corner and then moved by `by`. Lines keep their
    /// width down to a hair.
    #[must_use]
    pub fn placed(&self, by: DVec2, scale: f64) -> Self {
        let to = |point: DVec2| point * scale + by;
        let thick = |pen: Pen| Pen {
            width: pen.width * scale.clamp(0.7, 1.4),
            ..pen
        };
        match self.clone() {
            Self::Path {
                points,
                closed,
                pen,
            } => Self::Path {
                points: points.into_iter().map(to).collect(),
                closed,
                pen: thick(pen),
            },
            Self::Circle {
                centre,
                radius,
                pen,
            } => Self::Circle {
                centre: to(centre),
                radius: radius * scale,
                pen: thick(pen),
            },
            Self::Arc {
                centre,
                radius,
                from_deg,
                sweep_deg,
                pen,
            } => Self::Arc {
                centre: to(centre),
                radius: radius * scale,
                from_deg,
                sweep_deg,
                pen: thick(pen),
            },
            Self::Text {
                at,
                text,
                size,
                anchor,
                turned_deg,
                role,
                bold,
            } => Self::Text {
                at: to(at),
                text,
                size: size * scale,
                anchor,
                turned_deg,
                role,
                bold,
            },
        }
    }
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line through points; closed, an area.
    Path {
        /// Its corners.
        points: Vec<DVec2>,
        /// Whether the last joins the first.
        closed: bool,
        /// How it is drawn.
        pen: Pen,
    },
    /// A circle.
    Circle {
        /// Its centre.
        centre: DVec2,
        /// Its radius.
        radius: f64,
        /// How it is drawn.
        pen: Pen,
    },
    /// A part of a circle's rim.
    Arc {
        /// The circle's centre.
        centre: DVec2,
        /// The circle's radius.
        radius: f64,
        /// Where it starts, clock degrees.
        from_deg: f64,
        /// How far it goes, positive clockwise.
        sweep_deg: f64,
        /// How it is drawn.
        pen: Pen,
    },
    /// A text of one line.
    Text {
        /// Its anchor: on the left, middle or right of its line, half way up the capitals.
        at: DVec2,
        /// The text.
        text: String,
        /// The height of its letters, as a font size in millimetres.
        size: f64,
        /// Which part of it stands at `at`.
        anchor: Anchor,
        /// Turned about `at`, degrees clockwise.
        turned_deg: f64,
        /// What part it plays.
        role: Role,
        /// Whether it is bold.
        bold: bool,
    },
}

/// How a line or area is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// What part it plays.
    pub role: Role,
    /// The line's width in millimetres; 0 draws no line.
    pub width: f64,
    /// Whether the inside is filled.
    pub filled: bool,
    /// Whether the line is dashed.
    pub dashed: bool,
}

impl Pen {
    /// A line of `width` millimetres.
    pub const fn line(role: Role, width: f64) -> Self {
        Self {
            role,
            width,
            filled: false,
            dashed: false,
        }
    }

    /// A filled area without a line.
    pub const fn fill(role: Role) -> Self {
        Self {
            role,
            width: 0.0,
            filled: true,
            dashed: false,
        }
    }

    /// A filled area with a line of `width` millimetres round it.
    pub const fn both(role: Role, width: f64) -> Self {
        Self {
            role,
            width,
            filled: true,
            dashed: false,
        }
    }

    /// The same, dashed.
    #[must_use]
    pub const fn dashed(self) -> Self {
        Self {
            dashed: true,
            ..self
        }
    }
}

/// What part something plays. Paper and window each have one colour for each role.
///
/// A filled area of [`Metal`](Self::Metal), a stroke or a valve is filled with a tint of its
/// colour, pale enough that a [`Main`](Self::Main) text reads on it, and strokes and valves with a
/// hatch of their own; a line round it has the full colour. Other roles fill with their full
/// colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Outlines and texts that must be read.
    Main,
    /// Helping lines, scales, captions.
    Faint,
    /// The background of a part.
    Paper,
    /// The metal of gears, caps, cranks.
    Metal,
    /// A part as drawn, beside the part as built.
    Ghost,
    /// A timing mark.
    Mark,
    /// The intake valve.
    Intake,
    /// The exhaust valve.
    Exhaust,
    /// A spark.
    Spark,
    /// The rotor.
    Rotor,
    /// The pointer, the cursor, where the crank stands.
    Now,
    /// The power stroke.
    Power,
    /// The compression stroke.
    Compression,
    /// Something that is wrong or needs care.
    Caution,
}

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// Its start.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// The clock angle of a point seen from `centre`.
pub fn clock_of(centre: DVec2, point: DVec2) -> f64 {
    let off = point - centre;
    off.x.atan2(-off.y).to_degrees()
}

/// How far clockwise `to` lies past `from`, both seen from `centre`: −180 ≤ d < 180.
pub(super) fn swept(centre: DVec2, from: DVec2, to: DVec2) -> f64 {
    crate::angle::wrap_signed(clock_of(centre, to) - clock_of(centre, from), 360.0)
}

/// The point `radius` from `centre` at a clock angle.
pub fn on_clock(centre: DVec2, radius: f64, clock_deg: f64) -> DVec2 {
    let (sin, cos) = clock_deg.to_radians().sin_cos();
    centre + DVec2::new(sin, -cos) * radius
}
