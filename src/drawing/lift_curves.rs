//! One cylinder's valve lifts against the crank angle, with its strokes above and a cursor where
//! the crank stands. Of a lobe as measured the points that were read are shown, and the curve of its
//! card beside it, where it has one.

#![expect(clippy::indexing_slicing, reason = "`windows(2)` gives pairs")]

use glam::DVec2;

use super::cycle_axis::{CycleAxis, spans};
use super::strokes;
use super::{Anchor, Drawing, Pen, Role, View};
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::Valve;
use crate::laws::{Lobe, Lobes, MeasuredLift};
use crate::phasing::{Phasing, Reading, Stroke};
use crate::procedures::read_lobes::ReadLobes;

const WIDTH_MM: f64 = 160.0;
const HEIGHT_MM: f64 = 78.0;
const AXIS: CycleAxis = CycleAxis {
    left_mm: 11.0,
    right_mm: 157.0,
};
const TOP_MM: f64 = 14.0;
const BOTTOM_MM: f64 = 70.0;
const STROKES_MM: f64 = 7.0;
/// What the line under the axis takes that says which curve is which.
const LEGEND_MM: f64 = 5.0;
/// The radius of the mark for a lift that was read.
const POINT_MM: f64 = 0.7;

/// The pen of a lobe by its card, beside the lobe as measured.
const CARD: Pen = Pen::line(Role::Main, 0.25).dashed();

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
        let valves = &phasing.engine().metric().valves;
        let measured = Valve::BOTH
            .into_iter()
            .filter(|valve| phasing.lobe(*valve).as_measured().is_some());
        // A lobe as measured, and its card's where it has one.
        let beside: Vec<(Valve, Option<Lobe>)> = measured
            .map(|valve| (valve, Lobe::on_card(valves, valve)))
            .collect();
        let legend_mm = if beside.is_empty() { 0.0 } else { LEGEND_MM };
        let mut still = Drawing::new(title, WIDTH_MM, HEIGHT_MM + legend_mm);
        let cards = beside.iter().filter_map(|(_, card)| card.as_ref());
        let most = [phasing.intake(), phasing.exhaust()]
            .into_iter()
            .chain(cards)
            .map(Lobe::full_lift_mm)
            .fold(0.0, f64::max);
        let mm_per_lift = (BOTTOM_MM - TOP_MM - 3.0) / most;

        stroke_row(&mut still, phasing, which.fires.degrees());
        axes(&mut still, most, mm_per_lift);
        let wasted = which.wasted_spark.map(|at| (at, "wasted spark"));
        for (at, name) in [(which.spark, "spark")].into_iter().chain(wasted) {
            let spark = AXIS.x_of(at.degrees());
            still.line(
                DVec2::new(spark, TOP_MM - STROKES_MM - 1.5),
                DVec2::new(spark, BOTTOM_MM),
                Pen::line(Role::Spark, 0.4).dashed(),
            );
            still.text(
                DVec2::new(spark, TOP_MM - STROKES_MM - 3.4),
                name,
                3.2,
                anchor_at(spark),
                Role::Spark,
            );
        }

        let lobes = [
            (Valve::Intake, Role::Intake, "intake"),
            (Valve::Exhaust, Role::Exhaust, "exhaust"),
        ];
        for (valve, role, name) in lobes {
            let lobe = phasing.lobe(valve);
            let ahead = which.ahead(valve).degrees();
            let drawn = phasing.trimmed(which, valve).degrees();
            let fires = which.fires.degrees();
            if ahead != drawn {
                let pen = Pen::line(Role::Ghost, 0.4).dashed();
                let lift = |phase_deg: f64| lobe.lift_mm(phase_deg);
                curve(&mut still, lift, fires - drawn, mm_per_lift, pen);
            }
            let pen = pen_of(valve);
            let lift = |phase_deg: f64| lobe.lift_mm(phase_deg);
            curve(&mut still, lift, fires - ahead, mm_per_lift, pen);
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
        for (valve, card) in &beside {
            let role = pen_of(*valve).role;
            let fires = which.fires.degrees() - which.ahead(*valve).degrees();
            if let Some(card) = card {
                let lift = |phase_deg: f64| card.lift_mm(phase_deg);
                curve(&mut still, lift, fires, mm_per_lift, CARD);
            }
            let points = phasing.lobe(*valve).as_measured();
            for (phase_deg, lift_mm) in points.into_iter().flat_map(MeasuredLift::points) {
                let x = AXIS.x_of(CrankAngle::new(phase_deg + fires).degrees());
                let at = DVec2::new(x, BOTTOM_MM - lift_mm * mm_per_lift);
                still.circle(at, POINT_MM, Pen::line(role, 0.3));
            }
        }
        if !beside.is_empty() {
            legend(&mut still, beside.iter().any(|(_, card)| card.is_some()));
        }
        Some(Self {
            still,
            cylinder,
            mm_per_lift,
        })
    }
}

/// Lobes of No. 1 as they were read, lifts where the description measures them, over those of its
/// card as drawn, with a line where each is farthest from it.
pub fn read_lobes(phasing: &Phasing, read: &ReadLobes) -> Drawing {
    let engine = phasing.engine();
    let valves = &engine.metric().valves;
    let title = format!("Lobes of {} as read, No. 1", engine.name());
    let mut drawing = Drawing::new(title, WIDTH_MM, HEIGHT_MM + LEGEND_MM);
    let card = Lobes::on_card(valves);
    let ratio = valves.ratio();
    let lobes = || {
        Valve::BOTH
            .into_iter()
            .filter_map(|valve| Some((valve, read.lobe(valve)?)))
    };
    let most_mm = lobes()
        .flat_map(|(valve, lobe)| {
            [
                lobe.curve.full_lift_mm(),
                card.lobe(valve).full_lift_mm() / ratio,
            ]
        })
        .fold(f64::MIN_POSITIVE, f64::max);
    let mm_per_lift = (BOTTOM_MM - TOP_MM - 3.0) / most_mm;
    // No. 1 fires at 0: the crank angle is its phase.
    stroke_row(&mut drawing, phasing, 0.0);
    axes(&mut drawing, most_mm, mm_per_lift);
    for (valve, lobe) in lobes() {
        let trim = phasing.number_one_trimmed(valve).degrees();
        let by_card = |phase_deg: f64| card.lobe(valve).lift_mm(phase_deg + trim) / ratio;
        curve(&mut drawing, by_card, 0.0, mm_per_lift, CARD);
        let pen = pen_of(valve);
        curve(
            &mut drawing,
            |phase_deg| lobe.curve.lift_mm(phase_deg),
            0.0,
            mm_per_lift,
            pen,
        );
        let place = |phase_deg: f64, lift_mm: f64| {
            let x = AXIS.x_of(CrankAngle::new(phase_deg).degrees());
            DVec2::new(x, BOTTOM_MM - lift_mm * mm_per_lift)
        };
        for (phase_deg, lift_mm) in lobe.curve.points() {
            drawing.circle(
                place(phase_deg, lift_mm),
                POINT_MM,
                Pen::line(pen.role, 0.3),
            );
        }
        let middle = place(lobe.curve.centre_deg(), lobe.curve.full_lift_mm() / 4.0);
        drawing.text(middle, valve.word(), 4.0, Anchor::Middle, pen.role);
        let Some(figures) = read.figures(engine, valve) else {
            continue;
        };
        let at = figures.from_card.phase_deg;
        let (one, other) = (place(at, lobe.curve.lift_mm(at)), place(at, by_card(at)));
        drawing.line(one, other, Pen::line(Role::Caution, 0.8));
        for end in [one, other] {
            drawing.circle(end, POINT_MM * 1.3, Pen::line(Role::Caution, 0.4));
        }
    }
    legend(&mut drawing, true);
    drawing
}

/// Which marks and lines are which, in a line under the axis.
fn legend(drawing: &mut Drawing, with_card: bool) {
    let y = HEIGHT_MM + LEGEND_MM - 3.0;
    let text = |drawing: &mut Drawing, x: f64, words: &str| {
        drawing.text(DVec2::new(x, y), words, 3.4, Anchor::Start, Role::Main);
    };
    drawing.circle(
        DVec2::new(AXIS.left_mm + 3.0, y),
        POINT_MM,
        Pen::line(Role::Main, 0.3),
    );
    text(drawing, AXIS.left_mm + 5.5, "lift as measured");
    if with_card {
        let from = AXIS.left_mm + 42.0;
        drawing.line(DVec2::new(from, y), DVec2::new(from + 8.0, y), CARD);
        text(drawing, from + 10.0, "by the card");
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

/// The pen of a valve's own lobe.
fn pen_of(valve: Valve) -> Pen {
    match valve {
        Valve::Intake => Pen::line(Role::Intake, 0.8),
        Valve::Exhaust => Pen::line(Role::Exhaust, 0.8).dashed(),
    }
}

/// A lift over both turns, its phase counted from crank angle `fires`.
fn curve(
    drawing: &mut Drawing,
    lift_mm: impl Fn(f64) -> f64,
    fires: f64,
    mm_per_lift: f64,
    pen: Pen,
) {
    let point = |crank: f64| {
        DVec2::new(
            AXIS.x_of(crank),
            BOTTOM_MM - lift_mm(crank - fires) * mm_per_lift,
        )
    };
    // A line along the seat would only hide the axis.
    let mut points: Vec<DVec2> = Vec::new();
    for step in 0..=360_u32 {
        let crank = f64::from(step) * 2.0;
        let lifted = lift_mm(crank - fires) > 0.0;
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
