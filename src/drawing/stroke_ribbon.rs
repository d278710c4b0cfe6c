//! The stroke ribbon: a row for each cylinder, in firing order, over the 720° of the cycle: its
//! strokes, its valves, its spark.

#![expect(clippy::indexing_slicing, reason = "`windows(2)` gives pairs")]

use glam::DVec2;

use super::cycle_axis::{CycleAxis, spans};
use super::strokes;
use super::{Anchor, Drawing, Pen, Role, View};
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::Valve;
use crate::phasing::{Phasing, Reading, Stroke};

const WIDTH_MM: f64 = 160.0;
const AXIS: CycleAxis = CycleAxis {
    left_mm: 12.0,
    right_mm: 157.0,
};
const TOP_MM: f64 = 3.0;
const FOOT_MM: f64 = 8.0;

/// The ribbon of one engine.
#[derive(Clone, Debug)]
pub struct StrokeRibbon {
    still: Drawing,
    row_mm: f64,
    /// Cylinder numbers, from the top row down.
    rows: Vec<u8>,
}

impl StrokeRibbon {
    /// The ribbon, as built.
    pub fn new(phasing: &Phasing) -> Self {
        let rows = phasing.engine().firing_order().to_vec();
        let row_mm = (96.0 / rows.len() as f64).clamp(5.0, 12.0);
        let height = TOP_MM + row_mm * rows.len() as f64 + FOOT_MM;
        let mut still = Drawing::new(
            format!("Strokes of {}, in firing order", phasing.engine().name()),
            WIDTH_MM,
            height,
        );
        let down = phasing.slider().down_stroke_deg();
        let letter_mm = (row_mm * 0.42).min(4.2);
        for (index, &number) in rows.iter().enumerate() {
            let Some(cylinder) = phasing.cylinder(number) else {
                continue;
            };
            let (top, bottom) = (
                TOP_MM + row_mm * index as f64,
                TOP_MM + row_mm * (index as f64 + 1.0) - 0.8,
            );
            let fires = cylinder.fires.degrees();
            let middle = (top + bottom) / 2.0;
            still.bold(
                DVec2::new(AXIS.left_mm - 2.0, middle),
                number.to_string(),
                letter_mm.max(3.0),
                Anchor::End,
                Role::Main,
            );
            let starts = [0.0, down, 360.0, 360.0 + down, 720.0];
            for (stroke, span) in Stroke::ALL.into_iter().zip(starts.windows(2)) {
                for (from, to) in spans(fires + span[0], span[1] - span[0]) {
                    let corners = (
                        DVec2::new(AXIS.x_of(from), top),
                        DVec2::new(AXIS.x_of(to), bottom),
                    );
                    still.rectangle(corners.0, corners.1, Pen::fill(strokes::role(stroke)));
                    still.rectangle(corners.0, corners.1, Pen::line(Role::Main, 0.15));
                    if to - from > 30.0 {
                        let at = DVec2::new(AXIS.x_of((from + to) / 2.0), middle);
                        still.circle(at, letter_mm * 0.66, Pen::fill(Role::Paper));
                        still.bold(
                            at,
                            strokes::letter(stroke),
                            letter_mm,
                            Anchor::Middle,
                            Role::Main,
                        );
                    }
                }
            }
            // Valve spans: the intake's along the top of the row, the exhaust's along its foot.
            let thick = row_mm * 0.12;
            for (valve, role, y) in [
                (Valve::Intake, Role::Intake, top + thick),
                (Valve::Exhaust, Role::Exhaust, bottom - thick),
            ] {
                let lobe = phasing.lobe(valve);
                let ahead = cylinder.ahead(valve).degrees();
                for (from, to) in spans(
                    fires - ahead + lobe.leaves_seat_deg(),
                    lobe.seat_duration_deg(),
                ) {
                    let pen = Pen::line(role, thick);
                    let pen = if role == Role::Exhaust {
                        pen.dashed()
                    } else {
                        pen
                    };
                    still.line(
                        DVec2::new(AXIS.x_of(from), y),
                        DVec2::new(AXIS.x_of(to), y),
                        pen,
                    );
                }
            }
            if let Some(wasted) = cylinder.wasted_spark {
                bolt(&mut still, AXIS.x_of(wasted.degrees()), top, bottom, true);
            }
            bolt(
                &mut still,
                AXIS.x_of(cylinder.spark.degrees()),
                top,
                bottom,
                false,
            );
        }
        let foot = height - FOOT_MM;
        AXIS.quarters(&mut still, foot + 4.0, |drawing, _, x| {
            drawing.line(
                DVec2::new(x, foot - 0.8),
                DVec2::new(x, foot + 1.2),
                Pen::line(Role::Main, 0.3),
            );
        });
        Self {
            still,
            row_mm,
            rows,
        }
    }

    /// Along the ribbon, for each crank degree.
    pub fn mm_per_degree(&self) -> f64 {
        (AXIS.right_mm - AXIS.left_mm) / 720.0
    }

    /// The cylinder whose row a point is in.
    pub fn cylinder_at(&self, point: DVec2) -> Option<u8> {
        let row = ((point.y - TOP_MM) / self.row_mm).floor();
        (row >= 0.0)
            .then(|| self.rows.get(row as usize).copied())
            .flatten()
    }
}

/// A spark: a bolt through the row, hollow where it is wasted.
fn bolt(drawing: &mut Drawing, x: f64, top: f64, bottom: f64, wasted: bool) {
    let height = bottom - top;
    let step = (height * 0.14).min(1.1);
    let points = [
        (-step, 0.0),
        (step * 0.6, 0.0),
        (0.0, 0.42),
        (step, 0.42),
        (-step * 0.4, 1.0),
        (-step * 0.1, 0.56),
        (-step, 0.56),
    ];
    let points = points.map(|(off, down)| DVec2::new(x + off, top + down * height));
    drawing.area(points.to_vec(), Pen::fill(Role::Paper));
    let pen = if wasted {
        Pen::line(Role::Spark, 0.35)
    } else {
        Pen::both(Role::Spark, 0.2)
    };
    drawing.area(points.to_vec(), pen);
}

impl View for StrokeRibbon {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        let x = AXIS.x_of(reading.crank.degrees());
        drawing.line(
            DVec2::new(x, TOP_MM - 1.5),
            DVec2::new(x, self.still.size.y - FOOT_MM + 1.2),
            Pen::line(Role::Now, 0.7),
        );
        let tip = [
            DVec2::new(x - 1.8, 0.0),
            DVec2::new(x + 1.8, 0.0),
            DVec2::new(x, TOP_MM),
        ];
        drawing.area(tip.to_vec(), Pen::fill(Role::Now));
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        self.crank_at(held).map(|_| AXIS.drag(from, to))
    }

    fn crank_at(&self, point: DVec2) -> Option<CrankAngle> {
        (0.0..=self.still.size.y)
            .contains(&point.y)
            .then(|| AXIS.crank_at(point.x))?
    }
}
