//! The drive from crank to camshaft, from the front: wheels with their teeth, and the marks that must come together.

use glam::DVec2;

use super::{Anchor, Drawing, Pen, Role, View, on_clock, swept};
use crate::angle::CrankTurn;
use crate::engine::description::{DriveKind, MarkOn};
use crate::phasing::{Phasing, Reading};

const SIZE_MM: f64 = 100.0;
/// Room round the wheels.
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
    name: String,
    centre: DVec2,
    pitch_mm: f64,
    outline: Vec<DVec2>,
    /// Clock degrees it turns for each crank degree.
    per_crank: f64,
    /// Clock degrees at which it stands at crank angle 0.
    at_zero: f64,
    /// Its dots: clock degrees on the wheel itself.
    dots: Vec<f64>,
}

impl GearFace {
    /// The wheels, as built.
    pub fn new(phasing: &Phasing) -> Self {
        let drive = &phasing.engine().metric().cam_drive;
        let mut still = Drawing::new(format!("Timing marks of {}, from the front", phasing.engine().name()), SIZE_MM, SIZE_MM);
        let wheels = wheels(phasing);
        for wheel in &wheels {
            still.circle(wheel.centre, wheel.pitch_mm, Pen::line(Role::Faint, 0.15).dashed());
        }
        if let (DriveKind::Chain | DriveKind::Belt, [crank, .., cam]) = (drive.kind, wheels.as_slice()) {
            for (from, to) in tangents(crank, cam) {
                still.line(from, to, Pen::line(Role::Metal, 1.2));
            }
        }
        let marks = phasing.engine().metric().marks.iter().map(|mark| (mark.on, mark.name.clone())).collect();
        Self { still, wheels, marks }
    }
}

impl Wheel {
    fn draw(&self, drawing: &mut Drawing, turned_deg: f64) {
        let (sin, cos) = turned_deg.to_radians().sin_cos();
        let axes = DVec2::new(cos, sin);
        drawing.area(self.outline.iter().map(|point| self.centre + axes.rotate(*point)).collect(), Pen::both(Role::Metal, 0.25));
        drawing.circle(self.centre, self.pitch_mm * 0.22, Pen::fill(Role::Paper));
        drawing.circle(self.centre, self.pitch_mm * 0.22, Pen::line(Role::Main, 0.3));
        for dot in &self.dots {
            let size = (self.pitch_mm * 0.045).clamp(0.5, 1.3);
            drawing.circle(on_clock(self.centre, self.pitch_mm - size * 2.6, turned_deg + dot), size, Pen::fill(Role::Mark));
        }
    }

    fn label(&self, drawing: &mut Drawing) {
        drawing.text(self.centre + DVec2::new(0.0, self.pitch_mm * 0.4), &self.name, 3.4, Anchor::Middle, Role::Main);
    }

    fn mark(&self, drawing: &mut Drawing, clock_deg: f64) {
        let from = on_clock(self.centre, self.pitch_mm * 0.62, clock_deg);
        drawing.line(from, on_clock(self.centre, self.pitch_mm * 0.8, clock_deg), Pen::line(Role::Mark, 0.6));
    }
}

/// A wheel as one body: what is on it at crank angle 0, what it turns about, and how far for each crank degree.
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
                if self.wheel_of(*on).is_some_and(|own| std::ptr::eq(own, wheel)) {
                    wheel.mark(&mut drawing, clock.degrees());
                }
            }
            Body { items: drawing.items, centre: wheel.centre, per_crank: wheel.per_crank }
        };
        self.wheels.iter().map(body).collect()
    }

    /// The wheels' names.
    pub(crate) fn labels(&self) -> Drawing {
        let mut drawing = Drawing::default();
        self.wheels.iter().for_each(|wheel| wheel.label(&mut drawing));
        drawing
    }
}

/// The wheels side by side, until they are laid out as on the engine.
fn wheels(phasing: &Phasing) -> Vec<Wheel> {
    let drive = &phasing.engine().metric().cam_drive;
    let geared = drive.kind == DriveKind::Gears;
    let mut teeth = vec![drive.crank_teeth];
    if geared {
        teeth.extend(&drive.idler_teeth);
    }
    teeth.push(drive.cam_teeth);
    let apart = if geared { 0.0 } else { f64::from(drive.crank_teeth) * 1.2 };
    let long: f64 = teeth.iter().map(|&teeth| f64::from(teeth)).sum::<f64>() + apart;
    let wide = f64::from(drive.cam_teeth);
    let scale = (SIZE_MM - 2.0 * EDGE_MM) / (long.max(wide) + 2.0);
    let toward = drive.cam_at.unwrap_or(0.0);
    let mut sign = phasing.crank_direction().sign();
    let meet = drive.marks_meet_at;
    let last = teeth.len() - 1;
    let mut along = (f64::from(teeth[0]) - long) / 2.0;
    let mut wheels: Vec<Wheel> = Vec::new();
    for (index, &count) in teeth.iter().enumerate() {
        let radius = f64::from(count) / 2.0;
        if index > 0 {
            along += f64::from(teeth[index - 1]) / 2.0 + radius + apart;
            if geared {
                sign = -sign;
            }
        }
        let per_crank = sign * f64::from(teeth[0]) / f64::from(count);
        let pitch = 360.0 / f64::from(count);
        let ahead = if index == last { sign * phasing.cam_ahead().degrees() } else { 0.0 };
        let dots = match index {
            0 => vec![-pitch / 2.0, pitch / 2.0],
            _ => vec![0.0],
        };
        let facing = if index == 0 { toward } else { toward + 180.0 };
        wheels.push(Wheel {
            name: match index {
                0 => "crank".into(),
                index if index == last => "camshaft".into(),
                index => format!("idler {index}"),
            },
            centre: on_clock(DVec2::splat(SIZE_MM / 2.0), along * scale, toward),
            pitch_mm: radius * scale,
            outline: outline(count, scale, if index == 0 { 0.5 } else { 0.0 }),
            per_crank,
            at_zero: facing - per_crank * meet + ahead,
            dots,
        });
    }
    wheels
}

fn outline(teeth: u32, module: f64, first: f64) -> Vec<DVec2> {
    let pitch = 360.0 / f64::from(teeth);
    let radius = f64::from(teeth) * module / 2.0;
    let corner = |tooth: u32, off: f64, out: f64| on_clock(DVec2::ZERO, radius + out * module, (f64::from(tooth) + first + off) * pitch);
    (0..teeth)
        .flat_map(|tooth| {
            [(-0.36, -1.2), (-0.25, -0.3), (-0.13, 0.9), (0.13, 0.9), (0.25, -0.3), (0.36, -1.2)].map(|(off, out)| corner(tooth, off, out))
        })
        .collect()
}

/// The two outer lines that touch both wheels.
fn tangents(one: &Wheel, other: &Wheel) -> [(DVec2, DVec2); 2] {
    let across = other.centre - one.centre;
    let lean = ((one.pitch_mm - other.pitch_mm) / across.length()).clamp(-1.0, 1.0).acos().to_degrees();
    let along = super::clock_of(one.centre, other.centre);
    [lean, -lean].map(|lean| (on_clock(one.centre, one.pitch_mm, along + lean), on_clock(other.centre, other.pitch_mm, along + lean)))
}

impl GearFace {
    fn wheel_of(&self, on: MarkOn) -> Option<&Wheel> {
        match on {
            MarkOn::Crankshaft => self.wheels.first(),
            MarkOn::Camshaft => self.wheels.last(),
            MarkOn::Idler(which) => self.wheels.get(which as usize).filter(|_| (which as usize) < self.wheels.len() - 1),
        }
    }
}

impl View for GearFace {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing { size: self.still.size, ..Drawing::default() };
        for wheel in &self.wheels {
            wheel.draw(&mut drawing, wheel.at_zero + wheel.per_crank * reading.crank.degrees());
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
        let wheel = self.wheels.iter().find(|wheel| (held - wheel.centre).length() <= wheel.pitch_mm * 1.1)?;
        Some(CrankTurn::new(swept(wheel.centre, from, to) / wheel.per_crank))
    }
}
