//! A degree wheel to look at: one cylinder's valve events as arcs, its dead centres and its spark,
//! and a hand on the crank.
//!
//! The wheel stands on the case and the hand turns with the crank, seen from the front: straight up
//! is the cylinder's TDC, and degrees run the way the crank runs. The wheel to print and bolt on
//! the crank is [`sheet`](crate::output)'s.

use glam::DVec2;

use super::strokes;
use super::{Anchor, Drawing, Pen, Role, View, clock_of, on_clock, swept};
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::Valve;
use crate::laws::Lobe;
use crate::phasing::{Phasing, Reading};

const SIZE_MM: f64 = 100.0;
const CENTRE: DVec2 = DVec2::new(50.0, 50.0);
const RIM_MM: f64 = 45.5;
const INTAKE_MM: f64 = 30.0;
const EXHAUST_MM: f64 = 25.0;

/// The wheel of one cylinder.
#[derive(Clone, Debug)]
pub struct DegreeWheel {
    still: Drawing,
    cylinder: u8,
    sign: f64,
}

impl DegreeWheel {
    /// The wheel of a cylinder; None for a number that is not on this engine.
    pub fn new(phasing: &Phasing, cylinder: u8) -> Option<Self> {
        let which = phasing.cylinder(cylinder)?;
        let sign = phasing.crank_direction().sign();
        let title = format!(
            "Degree wheel of {}, No. {cylinder}",
            phasing.engine().name()
        );
        let mut still = Drawing::new(title, SIZE_MM, SIZE_MM);
        still.circle(CENTRE, RIM_MM, Pen::both(Role::Metal, 0.4));
        still.circle(CENTRE, RIM_MM - 11.0, Pen::fill(Role::Paper));
        graduations(&mut still, sign);

        let bdc = phasing.slider().down_stroke_deg();
        for (name, at) in [("TDC", 0.0), ("BDC", bdc)] {
            let at = sign * at;
            still.line(
                on_clock(CENTRE, RIM_MM - 11.0, at),
                on_clock(CENTRE, EXHAUST_MM - 10.0, at),
                Pen::line(Role::Faint, 0.3).dashed(),
            );
            still.bold(
                on_clock(CENTRE, RIM_MM - 13.2, at),
                name,
                3.6,
                Anchor::Middle,
                Role::Main,
            );
        }
        // What the camshaft is ahead by, its events come earlier by.
        let valves = [
            (Valve::Intake, Role::Intake, INTAKE_MM, "I"),
            (Valve::Exhaust, Role::Exhaust, EXHAUST_MM, "E"),
        ];
        for (valve, role, radius, letter) in valves {
            let lobe = phasing.lobe(valve);
            let ahead = which.ahead(valve).degrees();
            let drawn = phasing.trimmed(which, valve).degrees();
            let (opens, closes) = (lobe.opens_deg() - ahead, lobe.closes_deg() - ahead);
            if ahead != drawn {
                still.arc(
                    CENTRE,
                    radius,
                    sign * (lobe.opens_deg() - drawn),
                    sign * lobe.duration_deg(),
                    Pen::line(Role::Ghost, 0.5).dashed(),
                );
            }
            arc(&mut still, lobe, role, radius, sign, ahead);
            // Names stand at the arc's ends, inside it for the exhaust and outside for the intake.
            for (name, at, beyond) in [
                (format!("{letter}O"), opens, -1.0),
                (format!("{letter}C"), closes, 1.0),
            ] {
                let at = sign * (at + beyond * 7.5);
                still.text(
                    on_clock(CENTRE, radius, at),
                    name,
                    3.4,
                    Anchor::Middle,
                    role,
                );
            }
        }
        let spark = sign * -phasing.spark_btdc_deg(which);
        still.line(
            on_clock(CENTRE, RIM_MM - 11.0, spark),
            on_clock(CENTRE, RIM_MM, spark),
            Pen::line(Role::Spark, 0.9),
        );
        let star = (0..10).map(|point| {
            let radius = if point % 2 == 0 { 2.1 } else { 0.85 };
            on_clock(
                on_clock(CENTRE, RIM_MM + 2.2, spark),
                radius,
                f64::from(point) * 36.0,
            )
        });
        still.area(star.collect(), Pen::fill(Role::Spark));
        let from = if sign > 0.0 { 30.0 } else { -30.0 };
        still.turning_arrow(CENTRE, 12.0, from, sign * 50.0, Pen::line(Role::Main, 0.45));
        Some(Self {
            still,
            cylinder,
            sign,
        })
    }
}

fn arc(drawing: &mut Drawing, lobe: &Lobe, role: Role, radius: f64, sign: f64, ahead: f64) {
    let opens = lobe.opens_deg() - ahead;
    let sweep = lobe.duration_deg();
    // A valve open for more than a turn would bite its own tail: the arc then runs a little
    // inwards.
    let pen = Pen::line(role, 1.6);
    drawing.arc(
        CENTRE,
        radius,
        sign * opens,
        sign * sweep.min(360.0),
        if role == Role::Exhaust {
            pen.dashed()
        } else {
            pen
        },
    );
    for end in [opens, opens + sweep] {
        drawing.line(
            on_clock(CENTRE, radius - 1.8, sign * end),
            on_clock(CENTRE, radius + 1.8, sign * end),
            Pen::line(role, 0.5),
        );
    }
}

fn graduations(drawing: &mut Drawing, sign: f64) {
    for degree in 0..360_u32 {
        let (length, width) = match degree {
            d if d % 10 == 0 => (5.0, 0.3),
            d if d % 5 == 0 => (3.6, 0.22),
            _ => (2.2, 0.12),
        };
        let at = sign * f64::from(degree);
        drawing.line(
            on_clock(CENTRE, RIM_MM, at),
            on_clock(CENTRE, RIM_MM - length, at),
            Pen::line(Role::Main, width),
        );
        if degree % 30 == 0 {
            drawing.text(
                on_clock(CENTRE, RIM_MM - 8.0, at),
                degree.to_string(),
                3.4,
                Anchor::Middle,
                Role::Main,
            );
        }
    }
}

impl View for DegreeWheel {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        let Some(cylinder) = reading.cylinder(self.cylinder) else {
            return drawing;
        };
        let at = self.sign * cylinder.phase.degrees();
        drawing.line(
            CENTRE,
            on_clock(CENTRE, RIM_MM - 1.0, at),
            Pen::line(Role::Now, 0.8),
        );
        let tip = [(RIM_MM, 0.0), (RIM_MM - 4.0, -1.6), (RIM_MM - 4.0, 1.6)];
        drawing.area(
            tip.map(|(radius, off)| on_clock(CENTRE, radius, at + off))
                .to_vec(),
            Pen::fill(Role::Now),
        );
        drawing.circle(CENTRE, 9.5, Pen::fill(Role::Paper));
        drawing.circle(CENTRE, 9.5, Pen::line(Role::Now, 0.5));
        let phase = cylinder.phase.degrees();
        drawing.bold(
            CENTRE - DVec2::new(0.0, 3.4),
            format!("{phase:.1}°"),
            4.0,
            Anchor::Middle,
            Role::Main,
        );
        drawing.text(
            CENTRE + DVec2::new(0.0, 0.9),
            cylinder.stroke.word(),
            2.5,
            Anchor::Middle,
            Role::Main,
        );
        drawing.bold(
            CENTRE + DVec2::new(0.0, 5.0),
            strokes::letter(cylinder.stroke),
            3.4,
            Anchor::Middle,
            strokes::role(cylinder.stroke),
        );
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        ((held - CENTRE).length() <= RIM_MM + 2.0)
            .then(|| CrankTurn::new(self.sign * swept(CENTRE, from, to)))
    }
}

impl DegreeWheel {
    /// The crank angle at which the hand would point at `point`, in the turn that `reading` stands
    /// in.
    pub fn crank_pointed_at(&self, reading: &Reading, point: DVec2) -> Option<CrankAngle> {
        let cylinder = reading.cylinder(self.cylinder)?;
        let turn = crate::angle::wrap_signed(
            self.sign * clock_of(CENTRE, point) - cylinder.phase.degrees(),
            360.0,
        );
        ((point - CENTRE).length() <= RIM_MM).then(|| reading.crank + CrankTurn::new(turn))
    }
}
