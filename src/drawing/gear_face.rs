//! The drive from crank to camshaft, from the front: wheels with their teeth, and the marks that
//! must come together.

use glam::DVec2;

use super::free_place::{Block, FreePlaces, Spot, shortened, width_mm};
use super::{Anchor, Drawing, Pen, Role, View, on_clock, swept};
use crate::angle::{CamTurn, Clock, CrankAngle, CrankTurn, wrap_signed};
use crate::description::MarkOn;
use crate::geometry::layout::{FlywheelPlace, Layout, Wheel as Placed, WheelRole};
use crate::geometry::teeth::Gear;
use crate::laws::chain_run;
use crate::phasing::{Phasing, Reading};

const SIZE_MM: f64 = 100.0;
const EDGE_MM: f64 = 5.0;
/// Left free at the foot for what is said of the whole drawing, on two lines where it is small.
const FOOT_MM: f64 = 5.0;
/// The size of a mark's name, and of the names of a chain's runs.
const NAME_MM: f64 = 2.4;
/// The size of a wheel's name beside it.
const WHEEL_NAME_MM: f64 = 3.0;
/// The size of what is said of the whole drawing.
const SAID_MM: f64 = 2.6;
/// A wheel's hub, over its pitch radius.
const HUB_OF_PITCH: f64 = 0.22;
/// A wheel that is smaller has its names beside it.
const SMALL_MM: f64 = 12.0;
/// How wide a mark's name may be on its wheel, over the wheel's pitch radius.
const NAME_OF_PITCH: f64 = 1.3;

/// The wheels of one engine.
#[derive(Clone, Debug)]
pub struct GearFace {
    still: Drawing,
    wheels: Vec<Wheel>,
    flywheel: Option<Flywheel>,
    marks: Vec<(MarkOn, String)>,
}

/// The flywheel behind the wheels, where it carries a mark.
#[derive(Clone, Debug)]
struct Flywheel {
    centre: DVec2,
    radius_mm: f64,
}

/// One wheel, on the drawing.
#[derive(Clone, Debug)]
struct Wheel {
    role: WheelRole,
    /// The camshaft it is on, counted from 0 as they are described.
    camshaft: Option<usize>,
    /// Whether its name and its marks' names stand beside it.
    is_named_beside: bool,
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
    /// One of its teeth, degrees.
    tooth_deg: f64,
    /// Its dots: clock degrees on the wheel itself.
    dots: Vec<f64>,
    /// Its camshaft is out: it stands clear of the other wheels, as it is held.
    is_out: bool,
}

impl GearFace {
    /// The wheels, as built.
    pub fn new(phasing: &Phasing) -> Self {
        Self::with_cams_out(phasing, &[])
    }

    /// The same while these camshafts, counted from 0 as they are described, are out of mesh: their
    /// wheels stand clear of the others, and no chain or belt lies on them.
    pub fn with_cams_out(phasing: &Phasing, out: &[usize]) -> Self {
        let mut still = Drawing::new(
            format!(
                "Timing marks of {}, from the front",
                phasing.engine().name()
            ),
            SIZE_MM,
            SIZE_MM,
        );
        let layout = Layout::of(phasing.engine());
        let (mut wheels, mut loops) = laid_out(phasing, &layout, out, 0.0);
        let mut examples = without_invented_dots(phasing, &mut wheels);
        if !examples.is_empty() {
            // What is said of them has its place under the wheels.
            (wheels, loops) = laid_out(phasing, &layout, out, FOOT_MM);
            examples = without_invented_dots(phasing, &mut wheels);
        }
        if !out.is_empty() {
            loops.clear();
        }
        let flywheel = wheels.first().zip(layout.flywheel.as_ref());
        let flywheel = flywheel.zip(layout.wheels.first());
        let flywheel = flywheel.map(|((crank, place), placed)| Flywheel {
            centre: crank.centre,
            radius_mm: place.radius_mm * crank.pitch_mm / placed.pitch_radius_mm,
        });
        let mut places = FreePlaces::of(&still);
        if let (Some(flywheel), Some(place)) = (&flywheel, &layout.flywheel) {
            flywheel.draw_still(&mut still, &mut places, place, &wheels);
        }
        for wheel in &wheels {
            places.take_disc(wheel.centre, wheel.reach_mm());
        }
        if let Some(flywheel) = &flywheel {
            places.take_outline(&flywheel.rim());
        }
        for path in &loops {
            places.take_outline(&path.line);
            places.take_outline(&path.tensioner);
        }
        if !examples.is_empty() {
            let said = format!("dots on {}: an example, not yours", examples.join(" and "));
            let said = shortened(&said, SAID_MM, SIZE_MM - 2.0);
            places.put_over(
                &mut still,
                &Block::of(&[&said], SAID_MM, Role::Ghost),
                at_the_foot(),
            );
        }
        for wheel in &wheels {
            still.circle(
                wheel.centre,
                wheel.pitch_mm,
                Pen::line(Role::Faint, 0.15).dashed(),
            );
        }
        for path in &loops {
            still.area(path.line.clone(), Pen::line(Role::Metal, 1.2));
            still.area(path.tensioner.clone(), Pen::both(Role::Metal, 0.25));
        }
        let marks = phasing.engine().metric().marks.iter();
        let marks = marks.map(|mark| (mark.on, mark.name.clone())).collect();
        let mut face = Self {
            still,
            wheels,
            flywheel,
            marks,
        };
        face.name_beside(&mut places);
        let mut are_named = true;
        for run in loops.iter().flat_map(|path| &path.runs) {
            are_named &= run.name(&mut face.still, &mut places);
        }
        if !out.is_empty() {
            let said = Block::of(&["out of mesh, as it is held"], SAID_MM, Role::Ghost);
            for wheel in face.wheels.iter().filter(|wheel| wheel.is_out) {
                let spots = wheel.beside(&said, &[]);
                places.put(&mut face.still, std::slice::from_ref(&said), |_| {
                    spots.clone()
                });
            }
        } else if !are_named && let Some(path) = layout.loops.first() {
            let side = if path.tight_side > 0.0 {
                "left"
            } else {
                "right"
            };
            let lines = [
                "seen from the crank,",
                &format!("each run on the {side}"),
                "is slack",
            ];
            let blocks = [
                Block::of(&[&lines.join(" ")], SAID_MM, Role::Faint),
                Block::of(&lines, SAID_MM, Role::Faint),
            ];
            places.put(&mut face.still, &blocks, |_| about_the_edge());
        }
        face
    }

    /// Names beside them the wheels that are too small for it, with their marks, and those whose
    /// marks' names are too long to stand on them.
    fn name_beside(&mut self, places: &mut FreePlaces) {
        let cams: Vec<DVec2> = self
            .wheels
            .iter()
            .filter(|wheel| wheel.camshaft.is_some())
            .map(|wheel| wheel.centre)
            .collect();
        let named = |wheel: &Wheel| {
            let marks = self.marks.iter();
            let marks = marks.filter(|(on, _)| self.is_on(*on, wheel));
            let names: Vec<&str> = marks.map(|(_, name)| name.as_str()).collect();
            let room_mm = wheel.pitch_mm * NAME_OF_PITCH;
            let is_too_long = |name: &&str| width_mm(name, NAME_MM) > room_mm;
            let is_small = wheel.pitch_mm < SMALL_MM;
            if !is_small && !names.iter().any(is_too_long) {
                return None;
            }
            let Block(mut lines) = Block::of(&[&wheel.name], WHEEL_NAME_MM, Role::Main);
            lines.extend(Block::of(&names, NAME_MM, Role::Mark).0);
            let block = Block(lines);
            let spots = wheel.beside(&block, &cams);
            Some((block, spots, is_small))
        };
        let named: Vec<_> = self.wheels.iter().map(named).collect();
        for (wheel, named) in self.wheels.iter_mut().zip(named) {
            let Some((block, spots, is_small)) = named else {
                continue;
            };
            let blocks = std::slice::from_ref(&block);
            let is_put = places.put(&mut self.still, blocks, |_| spots.clone());
            if !is_put && is_small {
                places.put_shortened(&mut self.still, &block, &spots);
            }
            wheel.is_named_beside = is_put || is_small;
        }
    }
}

/// In the middle of the foot of the drawing.
fn at_the_foot() -> Spot {
    Spot::free(DVec2::new(SIZE_MM / 2.0, SIZE_MM - 1.8), Anchor::Middle)
}

/// At the foot of the drawing and along its sides.
fn about_the_edge() -> Vec<Spot> {
    let mut spots = vec![Spot::free(
        DVec2::new(SIZE_MM / 2.0, SIZE_MM - 3.0),
        Anchor::Middle,
    )];
    for down in (1..=18).rev() {
        let y = f64::from(down) * SIZE_MM / 19.0;
        spots.push(Spot::free(DVec2::new(1.5, y), Anchor::Start));
        spots.push(Spot::free(DVec2::new(SIZE_MM - 1.5, y), Anchor::End));
    }
    spots
}

/// Takes the dots off every wheel whose own timing mark is described, and gives the names of the
/// wheels that keep dots nobody described. A mark on the crank is its wheel's own where it lies
/// along the line of both shafts when the marks meet; else it is a pulley's or a flywheel's.
fn without_invented_dots(phasing: &Phasing, wheels: &mut [Wheel]) -> Vec<String> {
    let engine = phasing.engine();
    let drive = &engine.metric().cam_drive;
    let (meet, counted) = (
        drive.marks_meet_at(),
        chain_run::count_words(drive).is_some(),
    );
    let meeting = Phasing::as_drawn(engine).at(CrankAngle::new(meet));
    let line = match wheels {
        [crank, next, ..] => Some(clock_of(next.centre - crank.centre)),
        _ => None,
    };
    let marks: Vec<_> = engine.metric().marks.iter().zip(&meeting.marks).collect();
    for wheel in wheels.iter_mut() {
        let tooth = wheel.tooth_deg;
        let described = marks
            .iter()
            .any(|(mark, clock)| match (mark.on, wheel.role) {
                (MarkOn::Camshaft | MarkOn::CamshaftNumber(_), WheelRole::Cam(_)) => {
                    mark.on.camshaft() == wheel.camshaft
                }
                (MarkOn::Idler(on), WheelRole::Idler(which)) => on == which,
                (MarkOn::Crankshaft, WheelRole::Crank) => {
                    line.is_some_and(|line| {
                        wrap_signed(clock.degrees() - line, 360.0).abs() <= tooth
                    }) || counted
                        && wheel.dots.iter().any(|dot| {
                            let there = wheel.at_zero + wheel.per_crank * meet + dot;
                            wrap_signed(clock.degrees() - there, 360.0).abs() <= tooth
                        })
                }
                _ => false,
            });
        if described {
            wheel.dots.clear();
        }
    }
    let kept = wheels.iter().filter(|wheel| !wheel.dots.is_empty());
    kept.map(|wheel| format!("the {}'s wheel", wheel.name))
        .collect()
}

impl Flywheel {
    /// Its rim with its name, clear of the wheels before it, and the pointers outside it.
    fn draw_still(
        &self,
        drawing: &mut Drawing,
        places: &mut FreePlaces,
        place: &FlywheelPlace,
        wheels: &[Wheel],
    ) {
        drawing.circle(self.centre, self.radius_mm, Pen::line(Role::Faint, 0.3));
        let around = [180.0, 0.0, 270.0, 90.0]
            .map(|clock_deg| on_clock(self.centre, self.radius_mm * 0.68, clock_deg));
        let clear = |point: &DVec2| {
            let mut wheels = wheels.iter();
            wheels.all(|wheel| wheel.centre.distance(*point) > wheel.pitch_mm * 1.1 + 3.0)
        };
        if let Some(name) = around.into_iter().find(clear) {
            let block = Block::of(&["flywheel, behind"], NAME_MM, Role::Faint);
            places.put_over(drawing, &block, Spot::free(name, Anchor::Middle));
        }
        for &(_, pointer_deg) in &place.marks {
            let tip = on_clock(self.centre, self.radius_mm * 1.02, pointer_deg);
            let tail = [-3.0, 3.0]
                .map(|off| on_clock(self.centre, self.radius_mm * 1.12, pointer_deg + off));
            drawing.area(vec![tip, tail[0], tail[1]], Pen::fill(Role::Now));
        }
    }

    /// A mark on its rim.
    fn mark(&self, drawing: &mut Drawing, clock_deg: f64) {
        let at = |part: f64| on_clock(self.centre, self.radius_mm * part, clock_deg);
        drawing.line(at(0.9), at(1.0), Pen::line(Role::Mark, 0.8));
    }

    /// A mark's name, inside the rim.
    fn mark_name(&self, drawing: &mut Drawing, name: &str, clock_deg: f64) {
        let at = on_clock(self.centre, self.radius_mm * 0.82, clock_deg);
        let from_edge = at.x.min(SIZE_MM - at.x) - 1.0;
        let shown = shortened(name, NAME_MM, 2.0 * from_edge);
        drawing.text(at, shown, NAME_MM, Anchor::Middle, Role::Mark);
    }

    /// Points round its rim.
    fn rim(&self) -> Vec<DVec2> {
        let around = (0..90).map(|step| f64::from(step) * 4.0);
        around
            .map(|clock_deg| on_clock(self.centre, self.radius_mm, clock_deg))
            .collect()
    }
}

/// The clock angle of a direction on the drawing, whose y runs down.
fn clock_of(direction: DVec2) -> f64 {
    direction.x.atan2(-direction.y).to_degrees()
}

impl Wheel {
    /// Where it stands: a camshaft's with that camshaft, in mesh or not.
    fn stands_deg(&self, reading: &Reading) -> f64 {
        let cam = self
            .camshaft
            .and_then(|camshaft| reading.cams.get(camshaft));
        match cam {
            Some(cam) => self.at_zero - self.out + self.per_crank.signum() * cam.degrees(),
            None => self.at_zero + self.per_crank * reading.crank.degrees(),
        }
    }

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
        drawing.circle(
            self.centre,
            self.pitch_mm * HUB_OF_PITCH,
            Pen::fill(Role::Paper),
        );
        drawing.circle(
            self.centre,
            self.pitch_mm * HUB_OF_PITCH,
            Pen::line(Role::Main, 0.3),
        );
        for dot in &self.dots {
            let size = self.dot_mm();
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

    /// The wheel's name under its hub, or over it where a mark's name is `below`.
    fn label(&self, drawing: &mut Drawing, below: bool) {
        if self.is_named_beside {
            return;
        }
        let size = f64::min(3.4, self.pitch_mm * 0.3);
        drawing.text(
            self.centre + DVec2::new(0.0, self.pitch_mm * if below { -0.38 } else { 0.42 }),
            shortened(&self.name, size, self.pitch_mm * 1.7),
            size,
            Anchor::Middle,
            Role::Main,
        );
    }

    fn mark(&self, drawing: &mut Drawing, clock_deg: f64) {
        let from = on_clock(self.centre, self.pitch_mm * 0.62, clock_deg);
        let size = self.dot_mm();
        let end = on_clock(self.centre, self.pitch_mm - size * 2.6, clock_deg);
        drawing.line(from, end, Pen::line(Role::Mark, 0.6));
        drawing.circle(end, size, Pen::fill(Role::Mark));
        if self.out != 0.0 {
            // Where it would stand as drawn.
            let drawn = on_clock(
                self.centre,
                self.pitch_mm - size * 2.6,
                clock_deg - self.out,
            );
            drawing.circle(drawn, size * 1.15, Pen::line(Role::Ghost, 0.35).dashed());
        }
    }

    /// The radius of a dot on it.
    fn dot_mm(&self) -> f64 {
        (self.pitch_mm * 0.045).clamp(0.5, 1.3)
    }

    /// How far its teeth reach.
    fn reach_mm(&self) -> f64 {
        let points = self.outline.iter().map(|point| point.length());
        points.fold(self.pitch_mm, f64::max)
    }

    /// The places beside it, those first that face away from the nearest cam wheel beside it.
    fn beside(&self, block: &Block, cams: &[DVec2]) -> Vec<Spot> {
        let nearest = cams
            .iter()
            .filter(|_| self.camshaft.is_some())
            .filter(|other| **other != self.centre)
            .min_by(|one, other| {
                let apart = |centre: &DVec2| centre.distance(self.centre);
                apart(one).total_cmp(&apart(other))
            });
        let first = match nearest {
            Some(other) if other.x > self.centre.x => -1.0,
            _ => 1.0,
        };
        let (reach, high) = (self.reach_mm() + 2.0, block.height_mm());
        let spot = |off: DVec2, anchor| Spot::free(self.centre + off, anchor);
        let side = |side: f64, up: f64| {
            let anchor = if side < 0.0 {
                Anchor::End
            } else {
                Anchor::Start
            };
            let off = DVec2::new(side * reach * (1.0 - 0.3 * up.abs()), up * reach);
            spot(off, anchor)
        };
        let mut spots = Vec::new();
        for up in [0.0, -0.5, 0.5, -0.9, 0.9] {
            spots.extend([side(first, up), side(0.0 - first, up)]);
        }
        let under = DVec2::new(0.0, reach + high / 2.0);
        spots.extend([under, -under].map(|off| spot(off, Anchor::Middle)));
        spots
    }

    /// A described mark's name: on its line inwards of it, and beside the hub where it is too long
    /// to stand between them; `below`, where the wheel's own name is over the hub.
    fn mark_name(&self, drawing: &mut Drawing, name: &str, clock_deg: f64, below: bool) {
        if self.is_named_beside {
            return;
        }
        let shown = shortened(name, NAME_MM, self.pitch_mm * NAME_OF_PITCH);
        let half = DVec2::new(width_mm(&shown, NAME_MM), NAME_MM * 1.2) / 2.0;
        let outwards = on_clock(DVec2::ZERO, 1.0, clock_deg);
        // How far its box reaches along the line, to both sides of its middle.
        let reach = half.dot(outwards.abs());
        let middle = self.pitch_mm * 0.55 - reach;
        let hub = self.pitch_mm * HUB_OF_PITCH + 0.5;
        let inner = middle - reach;
        // Where it would lie over the hub it is moved beside it, away from the wheel's name, and so
        // much of the way before it comes there that it does not jump as the wheel turns.
        let away = if below { 1.0 } else { -1.0 };
        let on_line = outwards * middle;
        let nearest = (on_line.x.abs() - half.x).clamp(0.0, hub);
        let beside = half.y + (hub * hub - nearest * nearest).sqrt();
        let beside = away * beside.max(away * on_line.y);
        let moved = (1.0 - (inner - hub) / 2.0).clamp(0.0, 1.0);
        let y = on_line.y + (beside - on_line.y) * moved;
        let at = self.centre + DVec2::new(on_line.x, y);
        drawing.text(at, shown, NAME_MM, Anchor::Middle, Role::Mark);
    }
}

/// A wheel as one body: what is on it at crank angle 0, what it turns about, and how far for each
/// crank degree.
pub(crate) struct Body {
    pub items: Vec<super::Item>,
    pub centre: DVec2,
    /// The radius of its pitch circle on the drawing.
    pub pitch_mm: f64,
    pub per_crank: f64,
    /// The camshaft it is on, counted from 0 as they are described.
    pub camshaft: Option<usize>,
}

impl GearFace {
    /// The wheels with what is on them, as they stand in `at_zero`, the reading at crank angle 0.
    pub(crate) fn bodies(&self, at_zero: &Reading) -> Vec<Body> {
        let body = |wheel: &Wheel| {
            let mut drawing = Drawing::default();
            wheel.draw(&mut drawing, wheel.at_zero);
            for ((on, _), clock) in self.marks.iter().zip(&at_zero.marks) {
                if self.is_on(*on, wheel) {
                    wheel.mark(&mut drawing, clock.degrees());
                }
            }
            Body {
                items: drawing.items,
                centre: wheel.centre,
                pitch_mm: wheel.pitch_mm,
                per_crank: wheel.per_crank,
                camshaft: wheel.camshaft,
            }
        };
        let flywheel = self.flywheel.iter().zip(self.wheels.first());
        let flywheel = flywheel.map(|(flywheel, crank)| {
            let mut drawing = Drawing::default();
            for ((on, _), clock) in self.marks.iter().zip(&at_zero.marks) {
                if *on == MarkOn::Flywheel {
                    flywheel.mark(&mut drawing, clock.degrees());
                }
            }
            Body {
                items: drawing.items,
                centre: flywheel.centre,
                pitch_mm: flywheel.radius_mm,
                per_crank: crank.per_crank,
                camshaft: None,
            }
        });
        flywheel.chain(self.wheels.iter().map(body)).collect()
    }

    pub(crate) fn labels(&self) -> Drawing {
        let mut drawing = Drawing::default();
        self.wheels
            .iter()
            .for_each(|wheel| wheel.label(&mut drawing, false));
        drawing
    }
}

/// The camshaft that a wheel is on, counted from 0 as they are described.
fn camshaft_of(layout: &Layout, wheel: &Placed) -> Option<usize> {
    match wheel.role {
        WheelRole::Cam(cam) => Some(layout.cams.get(cam).map_or(0, |cam| cam.camshaft)),
        WheelRole::Crank | WheelRole::Idler(_) => None,
    }
}

/// The wheels where the engine has them, brought to the drawing's measure; those of the camshafts
/// that are out, away from the crank's, clear of the teeth they were in. `foot_mm` is left free under
/// them.
fn laid_out(
    phasing: &Phasing,
    layout: &Layout,
    out: &[usize],
    foot_mm: f64,
) -> (Vec<Wheel>, Vec<DrawnLoop>) {
    /// How far from its place a wheel stands that is out, over its teeth's height: clear of them,
    /// and seen to be.
    const CLEAR: f64 = 2.5;
    let reach = |wheel: &Placed| wheel.pitch_radius_mm + layout.module_mm * 1.6;
    let is_out =
        |wheel: &Placed| camshaft_of(layout, wheel).is_some_and(|camshaft| out.contains(&camshaft));
    let stands = |wheel: &Placed| {
        if !is_out(wheel) {
            return wheel.centre;
        }
        let crank = layout
            .wheels
            .first()
            .map_or(DVec2::ZERO, |crank| crank.centre);
        let away = (wheel.centre - crank).normalize_or(DVec2::Y);
        wheel.centre + away * CLEAR * 2.25 * layout.module_mm
    };
    let corners = |wheel: &Placed| {
        [
            stands(wheel) - DVec2::splat(reach(wheel)),
            stands(wheel) + DVec2::splat(reach(wheel)),
        ]
    };
    let flywheel = layout.flywheel.iter().flat_map(|flywheel| {
        let reach = DVec2::splat(flywheel.radius_mm * 1.12);
        [-reach, reach]
    });
    let all: Vec<DVec2> = layout
        .wheels
        .iter()
        .flat_map(corners)
        .chain(flywheel)
        .collect();
    let least = all.iter().copied().reduce(DVec2::min).unwrap_or_default();
    let most = all.iter().copied().reduce(DVec2::max).unwrap_or(DVec2::ONE);
    let extent = most - least;
    let room = DVec2::new(SIZE_MM, SIZE_MM - foot_mm) - 2.0 * EDGE_MM;
    let scale = (room / extent).min_element();
    let middle = DVec2::midpoint(least, most);
    // The engine's y runs up, the drawing's down.
    let turned_over = |point: DVec2| DVec2::new(point.x, -point.y) * scale;
    let centre = DVec2::new(SIZE_MM, SIZE_MM - foot_mm) / 2.0;
    let place = |point: DVec2| centre + turned_over(point - middle);
    let wheels = layout.wheels.iter().map(|wheel| {
        let pitch = 360.0 / f64::from(wheel.teeth);
        let camshaft = camshaft_of(layout, wheel);
        // What a camshaft is ahead by, it is ahead in its own direction.
        let ahead = camshaft.map_or(0.0, |camshaft| {
            wheel.clockwise_per_crank.signum() * phasing.cam_ahead(camshaft).degrees()
        });
        Wheel {
            role: wheel.role,
            camshaft,
            is_named_beside: false,
            name: match wheel.role {
                WheelRole::Crank => "crank".into(),
                WheelRole::Idler(which) => format!("idler {which}"),
                WheelRole::Cam(_) => phasing.engine().camshaft_name(camshaft.unwrap_or(0)).into(),
            },
            centre: place(stands(wheel)),
            is_out: is_out(wheel),
            pitch_mm: wheel.pitch_radius_mm * scale,
            outline: layout_outline(layout, wheel)
                .into_iter()
                .map(turned_over)
                .collect(),
            per_crank: wheel.clockwise_per_crank,
            at_zero: wheel.tooth_deg + ahead,
            out: ahead,
            tooth_deg: pitch,
            dots: wheel
                .dots
                .iter()
                .map(|&tooth| f64::from(tooth) * pitch)
                .collect(),
        }
    });
    let loops = layout.loops.iter().map(|path| DrawnLoop {
        line: path.path.path(2).into_iter().map(place).collect(),
        tensioner: path.tensioner().blade.into_iter().map(place).collect(),
        runs: [true, false].map(|tight| {
            let (_, out) = path.beside(tight);
            Run {
                ends: path.run(tight).map(place),
                outwards: DVec2::new(out.x, -out.y),
                bow_mm: if tight {
                    0.0
                } else {
                    path.tensioner().thick_mm * 4.6 * scale
                },
                is_tight: tight,
            }
        }),
    });
    (wheels.collect(), loops.collect())
}

/// A chain or belt on the drawing, with its tensioner and its straight runs.
struct DrawnLoop {
    line: Vec<DVec2>,
    tensioner: Vec<DVec2>,
    runs: [Run; 2],
}

/// A straight run of a chain or belt.
struct Run {
    /// At the crank's wheel and at the camshaft's.
    ends: [DVec2; 2],
    outwards: DVec2,
    /// How far its tensioner stands out.
    bow_mm: f64,
    is_tight: bool,
}

impl Run {
    /// Its name beside it, outside the loop or within, where there is room; in fewer words where
    /// there is little. Whether there was room.
    fn name(&self, drawing: &mut Drawing, places: &mut FreePlaces) -> bool {
        let block = |lines: &[&str]| Block::of(lines, NAME_MM, Role::Faint);
        let blocks = if self.is_tight {
            vec![block(&["tight"])]
        } else {
            vec![
                block(&["slack, tensioner"]),
                block(&["slack,", "tensioner"]),
                block(&["slack"]),
            ]
        };
        places.put(drawing, &blocks, |block| self.beside(block))
    }

    /// Places beside it, the nearest to its middle first, outside the loop before those within.
    fn beside(&self, block: &Block) -> Vec<Spot> {
        let [from, to] = self.ends;
        let mut spots = Vec::new();
        for (outwards, bow_mm) in [(self.outwards, self.bow_mm), (-self.outwards, 0.0)] {
            let anchor = match outwards.x {
                x if x > 0.5 => Anchor::Start,
                x if x < -0.5 => Anchor::End,
                _ => Anchor::Middle,
            };
            let high = match anchor {
                Anchor::Middle => block.height_mm() / 2.0,
                Anchor::Start | Anchor::End => 0.0,
            };
            for part in [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.9] {
                for off_mm in [2.0, 2.5, 3.5, 5.0] {
                    let on = from.lerp(to, part);
                    let at = on + outwards * (off_mm + bow_mm + high);
                    let of = on + outwards * (off_mm.min(1.2) + bow_mm);
                    spots.push(Spot { at, anchor, of });
                }
            }
        }
        spots
    }
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
    fn wheel_at(&self, point: DVec2) -> Option<&Wheel> {
        let mut wheels = self.wheels.iter();
        wheels.find(|wheel| (point - wheel.centre).length() <= wheel.pitch_mm * 1.1)
    }

    fn is_on(&self, on: MarkOn, wheel: &Wheel) -> bool {
        self.wheel_of(on)
            .is_some_and(|own| std::ptr::eq(own, wheel))
    }

    fn wheel_of(&self, on: MarkOn) -> Option<&Wheel> {
        self.wheels.iter().find(|wheel| match on {
            MarkOn::Crankshaft => wheel.role == WheelRole::Crank,
            MarkOn::Flywheel => false,
            MarkOn::Camshaft | MarkOn::CamshaftNumber(_) => wheel.camshaft == on.camshaft(),
            MarkOn::Idler(which) => wheel.role == WheelRole::Idler(which),
        })
    }
}

/// A mark or dot on a wheel, on the drawing.
pub(super) struct MarkPlace {
    pub(super) at: DVec2,
    /// The wheel that it is on, counted from 0 along the drive.
    pub(super) wheel: usize,
    /// Its name, and the wheel's.
    pub(super) name: String,
}

impl GearFace {
    /// The marks and dots of the wheels where they stand.
    pub(super) fn placed(&self, reading: &Reading) -> Vec<MarkPlace> {
        let mut placed = Vec::new();
        for (index, wheel) in self.wheels.iter().enumerate() {
            let size = wheel.dot_mm();
            let at =
                |clock_deg: f64| on_clock(wheel.centre, wheel.pitch_mm - size * 2.6, clock_deg);
            let marks = self.marks.iter().zip(&reading.marks);
            for ((_, name), clock) in marks.filter(|((on, _), _)| self.is_on(*on, wheel)) {
                placed.push(MarkPlace {
                    at: at(clock.degrees()),
                    wheel: index,
                    name: format!("{name}, on the {}", wheel.name),
                });
            }
            let turned = wheel.at_zero + wheel.per_crank * reading.crank.degrees();
            for dot in &wheel.dots {
                placed.push(MarkPlace {
                    at: at(turned + dot),
                    wheel: index,
                    name: format!("{}'s dots: an example, not yours", wheel.name),
                });
            }
        }
        placed
    }
}

impl View for GearFace {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        for wheel in &self.wheels {
            wheel.draw(&mut drawing, wheel.stands_deg(reading));
            let marks = self.marks.iter().zip(&reading.marks);
            let own: Vec<(&str, Clock)> = marks
                .filter(|((on, _), _)| self.is_on(*on, wheel))
                .map(|((_, name), clock)| (name.as_str(), *clock))
                .collect();
            let below = own
                .iter()
                .any(|(_, clock)| wrap_signed(clock.degrees() - 180.0, 360.0).abs() < 75.0);
            wheel.label(&mut drawing, below);
            for (name, clock) in own {
                wheel.mark(&mut drawing, clock.degrees());
                wheel.mark_name(&mut drawing, name, clock.degrees(), below);
            }
        }
        for ((on, name), clock) in self.marks.iter().zip(&reading.marks) {
            if let (MarkOn::Flywheel, Some(flywheel)) = (on, &self.flywheel) {
                flywheel.mark(&mut drawing, clock.degrees());
                flywheel.mark_name(&mut drawing, name, clock.degrees());
            }
        }
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        let wheel = self.wheel_at(held).filter(|wheel| !wheel.is_out)?;
        Some(CrankTurn::new(
            swept(wheel.centre, from, to) / wheel.per_crank,
        ))
    }

    fn drag_cam(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<(usize, CamTurn)> {
        let wheel = self.wheel_at(held).filter(|wheel| wheel.is_out)?;
        let turned = swept(wheel.centre, from, to) * wheel.per_crank.signum();
        Some((wheel.camshaft?, CamTurn::new(turned)))
    }
}
