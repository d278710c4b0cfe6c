//! One cylinder's valve lifts against the crank angle, with its strokes above and a cursor where
//! the crank stands.

use glam::DVec2;

use super::cycle_axis::{CycleAxis, spans};
use super::strokes;
use super::{Anchor, Drawing, Pen, Role, View};
use crate::angle::{CrankAngle, CrankTurn};
use crate::laws::Lobe;
use crate::phasing::{Phasing, Reading, Stroke};

const WIDTH_MM: f64 = 160.0;
const HEIGHT_MM: f64 = 78.0;
const AXIS: CycleAxis = CycleAxis {
    left_mm: 11.0,
    right_mm: 157.0,
};
const TOP_MM: f64 = 14.0;
const BOTTOM_MM: f64 = 70.0;
const STROKES_MM: f64 = 7.0;

/// The curves of one cylinder.
#[derive(Clone, Debug)]
pub struct LiftCurves {
    still: Drawing,
    cylinder: u8,
    mm_per_lift: f64,
}

impl LiftCurves {
    /// The curves of a cylinder; None for a number that is not on this engine.
    pub fn new(phasing: &Phasing, cylinder: u8) -> Option<Self> {
        let which = phasing.cylinder(cylinder)?;
        let title = format!("Valve lift of {}, No. {cylinder}", phasing.engine().name());
        let mut still = Drawing::new(title, WIDTH_MM, HEIGHT_MM);
        let most = phasing
            .intake()
            .full_lift_mm()
            .max(phasing.exhaust().full_lift_mm());
        let mm_per_lift = (BOTTOM_MM - TOP_MM - 3.0) / most;

        stroke_row(&mut still, phasing, which.fires.degrees());
        axes(&mut still, most, mm_per_lift);
        let spark = AXIS.x_of(which.spark.degrees());
        still.line(
            DVec2::new(spark, TOP_MM - STROKES_MM - 1.5),
            DVec2::new(spark, BOTTOM_MM),
            Pen::line(Role::Spark, 0.4).dashed(),
        );
        still.text(
            DVec2::new(spark, TOP_MM - STROKES_MM - 3.4),
            "spark",
            3.2,
            anchor_at(spark),
            Role::Spark,
        );

        let ahead = phasing.cam_ahead().at_crank().degrees();
        let lobes = [
            (phasing.intake(), Role::Intake, "intake"),
            (phasing.exhaust(), Role::Exhaust, "exhaust"),
        ];
        for (lobe, role, name) in lobes {
            let fires = which.fires.degrees();
            if ahead != 0.0 {
                curve(
                    &mut still,
                    lobe,
                    fires,
                    mm_per_lift,
                    Pen::line(Role::Ghost, 0.4).dashed(),
                );
            }
            let pen = Pen::line(role, 0.8);
            curve(
                &mut still,
                lobe,
                fires - ahead,
                mm_per_lift,
                if role == Role::Exhaust {
                    pen.dashed()
                } else {
                    pen
                },
            );
            let peak = AXIS.x_of(CrankAngle::new(lobe.centre_deg() + fires - ahead).degrees());
            let under = DVec2::new(peak, BOTTOM_MM - lobe.full_lift_mm() * mm_per_lift / 2.0);
            still.text(
                under.clamp(
                    DVec2::new(AXIS.left_mm + 10.0, 0.0),
                    DVec2::new(AXIS.right_mm - 10.0, HEIGHT_MM),
                ),
                name,
                4.0,
                Anchor::Middle,
                role,
            );
        }
        Some(Self {
            still,
            cylinder,
            mm_per_lift,
        })
    }
}

/// The strokes of a cylinder that fires at this crank angle, in a row over the curves.
fn stroke_row(drawing: &mut Drawing, phasing: &Phasing, fires_deg: f64) {
    let down = phasing.slider().down_stroke_deg();
    let starts = [0.0, down, 360.0, 360.0 + down, 720.0];
    for (stroke, span) in Stroke::ALL.into_iter().zip(starts.windows(2)) {
        for (from, to) in spans(fires_deg + span[0], span[1] - span[0]) {
            let (left, right) = (
                DVec2::new(AXIS.x_of(from), TOP_MM - STROKES_MM),
                DVec2::new(AXIS.x_of(to), TOP_MM - 0.5),
            );
            drawing.rectangle(left, right, Pen::fill(strokes::role(stroke)));
            if to - from > 20.0 {
                let middle = (left + right) / 2.0;
                drawing.circle(middle, 2.6, Pen::fill(Role::Paper));
                drawing.bold(
                    middle,
                    strokes::letter(stroke),
                    4.0,
                    Anchor::Middle,
                    Role::Main,
                );
            }
        }
    }
}

fn axes(drawing: &mut Drawing, most_mm: f64, mm_per_lift: f64) {
    AXIS.quarters(drawing, BOTTOM_MM + 3.4, |drawing, quarter, x| {
        drawing.line(
            DVec2::new(x, TOP_MM),
            DVec2::new(x, BOTTOM_MM),
            Pen::line(Role::Faint, if quarter % 4 == 0 { 0.35 } else { 0.15 }),
        );
    });
    let step = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0]
        .into_iter()
        .find(|step| most_mm / step <= 6.0)
        .unwrap_or(100.0);
    for row in 0..=(most_mm / step).floor() as u32 {
        let lift = f64::from(row) * step;
        let y = BOTTOM_MM - lift * mm_per_lift;
        drawing.line(
            DVec2::new(AXIS.left_mm, y),
            DVec2::new(AXIS.right_mm, y),
            Pen::line(Role::Faint, if row == 0 { 0.4 } else { 0.15 }),
        );
        drawing.text(
            DVec2::new(AXIS.left_mm - 1.4, y),
            format!("{lift}"),
            3.4,
            Anchor::End,
            Role::Main,
        );
    }
    drawing.text(
        DVec2::new(1.0, TOP_MM - 3.6),
        "mm",
        3.2,
        Anchor::Start,
        Role::Faint,
    );
}

/// A lobe's lift over both turns, its phase counted from crank angle `fires`.
fn curve(drawing: &mut Drawing, lobe: &Lobe, fires: f64, mm_per_lift: f64, pen: Pen) {
    let point = |crank: f64| {
        DVec2::new(
            AXIS.x_of(crank),
            BOTTOM_MM - lobe.lift_mm(crank - fires) * mm_per_lift,
        )
    };
    // A line along the seat would only hide the axis.
    let mut points: Vec<DVec2> = Vec::new();
    for step in 0..=360_u32 {
        let crank = f64::from(step) * 2.0;
        let lifted = lobe.lift_mm(crank - fires) > 0.0;
        if lifted {
            points.push(point(crank));
        }
        if (!lifted || step == 360) && points.len() > 1 {
            drawing.open(std::mem::take(&mut points), pen);
        }
    }
}

fn anchor_at(x: f64) -> Anchor {
    match x {
        x if x < AXIS.left_mm + 8.0 => Anchor::Start,
        x if x > AXIS.right_mm - 8.0 => Anchor::End,
        _ => Anchor::Middle,
    }
}

impl View for LiftCurves {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        let Some(cylinder) = reading.cylinder(self.cylinder) else {
            return drawing;
        };
        let x = AXIS.x_of(reading.crank.degrees());
        drawing.line(
            DVec2::new(x, TOP_MM - STROKES_MM),
            DVec2::new(x, BOTTOM_MM),
            Pen::line(Role::Now, 0.6),
        );
        for (valve, role) in [
            (cylinder.intake, Role::Intake),
            (cylinder.exhaust, Role::Exhaust),
        ] {
            let y = BOTTOM_MM - valve.lift_mm * self.mm_per_lift;
            drawing.circle(DVec2::new(x, y), 1.3, Pen::line(role, 1.0));
            if valve.lift_mm > 0.0 {
                let (anchor, off) = if x > AXIS.right_mm - 20.0 {
                    (Anchor::End, -2.2)
                } else {
                    (Anchor::Start, 2.2)
                };
                let above = if role == Role::Intake { -2.4 } else { 2.4 };
                drawing.bold(
                    DVec2::new(x + off, (y + above).min(BOTTOM_MM - 2.0)),
                    format!("{:.2}", valve.lift_mm),
                    3.4,
                    anchor,
                    role,
                );
            }
        }
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        self.crank_at(held).map(|_| AXIS.drag(from, to))
    }

    fn crank_at(&self, point: DVec2) -> Option<CrankAngle> {
        (0.0..=HEIGHT_MM)
            .contains(&point.y)
            .then(|| AXIS.crank_at(point.x))?
    }
}
