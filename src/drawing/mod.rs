//! Flat drawings: the same numbers, drawn once, shown on paper, on a page and in the window.
//!
//! A [`Drawing`] is made from a [`Phasing`](crate::phasing::Phasing) and, where it shows a moment, a
//! [`Reading`](crate::phasing::Reading). It knows lines, circles, arcs and texts and the [`Role`] each plays, and nothing of
//! ink, screens or files: `sheet/` writes it as SVG and PDF, `window/` paints it.
//!
//! Millimetres on paper; x runs right, y runs down, from the top left corner. Clock degrees as everywhere: clockwise from
//! straight up.

use glam::DVec2;

/// One drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// What it shows, for a caption and for screen readers.
    pub title: String,
    /// Width and height, millimetres.
    pub size: DVec2,
    /// What is drawn, in the order it is drawn.
    pub items: Vec<Item>,
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
        Self { role, width, filled: false, dashed: false }
    }

    /// A filled area without a line.
    pub const fn fill(role: Role) -> Self {
        Self { role, width: 0.0, filled: true, dashed: false }
    }

    /// The same, dashed.
    #[must_use]
    pub const fn dashed(self) -> Self {
        Self { dashed: true, ..self }
    }
}

/// What part something plays. Paper and window each have one ink for each role.
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

/// The point `radius` from `centre` at a clock angle.
pub fn on_clock(centre: DVec2, radius: f64, clock_deg: f64) -> DVec2 {
    let (sin, cos) = clock_deg.to_radians().sin_cos();
    centre + DVec2::new(sin, -cos) * radius
}
