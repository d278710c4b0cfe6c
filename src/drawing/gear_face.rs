//! The drive from crank to camshaft, from the front: wheels with their teeth, and the marks that
//! must come together.

use glam::DVec2;

use super::{Anchor, Drawing, Pen, Role, View, on_clock, swept};
use crate::angle::CrankTurn;
use crate::description::MarkOn;
use crate::geometry::layout::{Layout, Wheel as Placed, WheelRole};
use crate::geometry::teeth::Gear;
use crate::phasing::{Phasing, Reading};

const SIZE_MM: f64 = 100.0;
const EDGE_MM: f64 = 4.0;

/// The wheels of one engine.
#[derive(Clone, Debug)]
pub struct GearFace {
    still: Drawing,
    wheels: Vec<Wheel>,
    marks: Vec<(MarkOn, String)>,
}

/// One wheel, on the drawing.
#[derive(Clone, Debug)]
struct Wheel {
    role: WheelRole,
    name: String,
    centre: DVec2,
    pitch_mm: f64,
    outline: Vec<DVec2>,
    /// Clock degrees it turns for each crank degree.
    per_crank: f64,
    /// Clock degrees at which it stands at crank angle 0.
    at_zero: f64,
    /// How far of that, clockwise, it was put in from where it is drawn.
    out: f64,
    /// Its dots: clock degrees on the wheel itself.
    dots: Vec<f64>,
}

impl GearFace {
    /// The wheels, as built.
    pub fn new(phasing: &Phasing) -> Self {
        let mut still = Drawing::new(
            format!(
                "Timing marks of {}, from the front",
                phasing.engine().name()
            ),
            SIZE_MM,
            SIZE_MM,
        );
        let (wheels, loops) = wheels(phasing, &Layout::of(phasing.engine()));
        for wheel in &wheels {
            still.circle(
                wheel.centre,
                wheel.pitch_mm,
                Pen::line(Role::Faint, 0.15).dashed(),
            );
        }
        for path in loops {
            still.area(path, Pen::line(Role::Metal, 1.2));
        }
        let marks = phasing
            .engine()
            .metric()
            .marks
            .iter()
            .map(|mark| (mark.on, mark.name.clone()))
            .collect();
        Self {
            still,
            wheels,
            marks,
        }
    }
}

impl Wheel {
    fn draw(&self, drawing: &mut Drawing, turned_deg: f64) {
        let (sin, cos) = turned_deg.to_radians().sin_cos();
        let axes = DVec2::new(cos, sin);
        drawing.area(
            self.outline
                .iter()
                .map(|point| self.centre + axes.rotate(*point))
                .collect(),
            Pen::both(Role::Metal, 0.25),
        );
        drawing.circle(self.centre, self.pitch_mm * 0.22, Pen::fill(Role::Paper));
        drawing.circle(
            self.centre,
            self.pitch_mm * 0.22,
            Pen::line(Role::Main, 0.3),
        );
        for dot in &self.dots {
            let size = (self.pitch_mm * 0.045).clamp(0.5, 1.3);
            let at = |clock_deg: f64| on_clock(self.centre, self.pitch_mm - size * 2.6, clock_deg);
            drawing.circle(at(turned_deg + dot), size, Pen::fill(Role::Mark));
            if self.out != 0.0 {
                // Where it would stand as drawn.
                drawing.circle(
                    at(turned_deg - self.out + dot),
                    size * 1.15,
                    Pen::line(Role::Ghost, 0.35).dashed(),
                );
            }
        }
    }

    fn label(&self, drawing: &mut Drawing) {
        // Within the wheel where it can be read there, else beside it: the name is about five of
        // its sizes wide.
        let size = f64::min(3.4, self.pitch_mm * 0.3);
        if size < 2.2 {
            let beside = self.centre + DVec2::new(self.pitch_mm * 1.2 + 1.5, 0.0);
            drawing.text(beside, &self.name, 3.0, Anchor::Start, Role::Main);
        } else {
            drawing.text(
                self.centre + DVec2::new(0.0, self.pitch_mm * 0.42),
                &self.name,
                size,
                Anchor::Middle,
                Role::Main,
            );
        }
    }

    fn mark(&self, drawing: &mut Drawing, clock_deg: f64) {
        let from = on_clock(self.centre, self.pitch_mm * 0.62, clock_deg);
        drawing.line(
            from,
            on_clock(self.centre, self.pitch_mm * 0.8, clock_deg),
            Pen::line(Role::Mark, 0.6),
        );
    }
}

/// A wheel as one body: what is on it at crank angle 0, what it turns about, and how far for each
/// crank degree.
pub(crate) struct Body {
    pub items: Vec<super::Item>,
    pub centre: DVec2,
    pub per_crank: f64,
}

impl GearFace {
    /// The wheels with what is on them, as they stand in `at_zero`, the reading at crank angle 0.
    pub(crate) fn bodies(&self, at_zero: &Reading) -> Vec<Body> {
        let body = |wheel: &Wheel| {
            let mut drawing = Drawing::default();
            wheel.draw(&mut drawing, wheel.at_zero);
            for ((on, _), clock) in self.marks.iter().zip(&at_zero.marks) {
                if self
                    .wheel_of(*on)
                    .is_some_and(|own| std::ptr::eq(own, wheel))
                {
                    wheel.mark(&mut drawing, clock.degrees());
                }
            }
            Body {
                items: drawing.items,
                centre: wheel.centre,
                per_crank: wheel.per_crank,
            }
        };
        self.wheels.iter().map(body).collect()
    }

    pub(crate) fn labels(&self) -> Drawing {
        let mut drawing = Drawing::default();
        self.wheels
            .iter()
            .for_each(|wheel| wheel.label(&mut drawing));
        drawing
    }
}

/// The wheels where the engine has them, brought to the drawing's measure.
fn wheels(phasing: &Phasing, layout: &Layout) -> (Vec<Wheel>, Vec<Vec<DVec2>>) {
    let reach = |wheel: &Placed| wheel.pitch_radius_mm + layout.module_mm * 1.6;
    let corners = |wheel: &Placed| {
        [
            wheel.centre - DVec2::splat(reach(wheel)),
            wheel.centre + DVec2::splat(reach(wheel)),
        ]
    };
    let all: Vec<DVec2> = layout.wheels.iter().flat_map(corners).collect();
    let least = all.iter().copied().reduce(DVec2::min).unwrap_or_default();
    let most = all.iter().copied().reduce(DVec2::max).unwrap_or(DVec2::ONE);
    let scale = (SIZE_MM - 2.0 * EDGE_MM) / (most - least).max_element();
    let middle = DVec2::midpoint(least, most);
    // The engine's y runs up, the drawing's down.
    let turned_over = |point: DVec2| DVec2::new(point.x, -point.y) * scale;
    let place = |point: DVec2| DVec2::splat(SIZE_MM / 2.0) + turned_over(point - middle);
    let wheels = layout.wheels.iter().map(|wheel| {
        let pitch = 360.0 / f64::from(wheel.teeth);
        // What the camshaft is ahead by, it is ahead in its own direction.
        let ahead = match wheel.role {
            WheelRole::Cam(_) => wheel.clockwise_per_crank.signum() * phasing.cam_ahead().degrees(),
            WheelRole::Crank | WheelRole::Idler(_) => 0.0,
        };
        Wheel {
            role: wheel.role,
            name: match wheel.role {
                WheelRole::Crank => "crank".into(),
                WheelRole::Idler(which) => format!("idler {which}"),
                WheelRole::Cam(_) => "camshaft".into(),
            },
            centre: place(wheel.centre),
            pitch_mm: wheel.pitch_radius_mm * scale,
            outline: layout_outline(layout, wheel)
                .into_iter()
                .map(turned_over)
                .collect(),
            per_crank: wheel.clockwise_per_crank,
            at_zero: wheel.tooth_deg + ahead,
            out: ahead,
            dots: wheel
                .dots
                .iter()
                .map(|&tooth| f64::from(tooth) * pitch)
                .collect(),
        }
    });
    let loops = layout
        .loops
        .iter()
        .map(|path| path.path.path(2).into_iter().map(place).collect());
    (wheels.collect(), loops.collect())
}

/// A wheel's outline with tooth 0 straight up, engine millimetres, y up.
fn layout_outline(layout: &Layout, wheel: &Placed) -> Vec<DVec2> {
    /// A flank in so few points is round enough at this size.
    const POINTS_A_FLANK: usize = 4;
    match layout.loops.first() {
        None => Gear {
            teeth: wheel.teeth,
            module_mm: layout.module_mm,
            backlash_mm: layout.backlash_mm,
        }
        .outline(POINTS_A_FLANK),
        Some(path) => match wheel.role {
            WheelRole::Crank => path.path.driver.outline(),
            WheelRole::Idler(_) | WheelRole::Cam(_) => path.path.driven.outline(),
        },
    }
}

impl GearFace {
    fn wheel_of(&self, on: MarkOn) -> Option<&Wheel> {
        let wanted = match on {
            MarkOn::Crankshaft => WheelRole::Crank,
            MarkOn::Camshaft => WheelRole::Cam(0),
            MarkOn::Idler(which) => WheelRole::Idler(which),
        };
        self.wheels.iter().find(|wheel| wheel.role == wanted)
    }
}

impl View for GearFace {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        for wheel in &self.wheels {
            wheel.draw(
                &mut drawing,
                wheel.at_zero + wheel.per_crank * reading.crank.degrees(),
            );
            wheel.label(&mut drawing);
        }
        for ((on, _), clock) in self.marks.iter().zip(&reading.marks) {
            if let Some(wheel) = self.wheel_of(*on) {
                wheel.mark(&mut drawing, clock.degrees());
            }
        }
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        let wheel = self
            .wheels
            .iter()
            .find(|wheel| (held - wheel.centre).length() <= wheel.pitch_mm * 1.1)?;
        Some(CrankTurn::new(
            swept(wheel.centre, from, to) / wheel.per_crank,
        ))
    }
}
