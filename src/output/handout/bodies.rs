//! The handout's drawings as bodies that move: each drawn once, at crank angle 0 or at its own
//! origin, with the moves that bring it to where it stands. How far each goes at every crank degree
//! stands in tables, worked out here; the page looks up and places.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the bodies of one figure"
)]

use glam::DVec2;
use serde::Serialize;

use crate::angle::CrankAngle;
use crate::description::{Distributor, MarkOn, Valve};
use crate::drawing::cap::Cap;
use crate::drawing::gear_face::GearFace;
use crate::drawing::section::{AlongTheCrank, Barrel, FromTheFront};
use crate::drawing::stroke_ribbon::StrokeRibbon;
use crate::drawing::{Anchor, Drawing, Item, Pen, Role, View, clock_of, on_clock};
use crate::output::svg::{self, Colours};
use crate::phasing::{Phasing, Reading};
use crate::words::{degrees, from_firing_tdc};

/// Crank degrees, and so rows of every table.
pub(super) const ROWS: u32 = 720;

/// Whole numbers of `10^-places`, one for each crank degree.
#[derive(Debug, Serialize)]
pub(super) struct Table {
    pub(super) p: u32,
    pub(super) v: Vec<i64>,
}

impl Table {
    /// A table of something read at every degree.
    pub(super) fn of(readings: &[Reading], places: u32, value: impl Fn(&Reading) -> f64) -> Self {
        let scale = 10_f64.powi(places as i32);
        Self {
            p: places,
            v: readings
                .iter()
                .map(|reading| (value(reading) * scale).round() as i64)
                .collect(),
        }
    }
}

/// One step of a body's way, as the page reads it: the first letter says which.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(untagged)]
pub(super) enum Move {
    /// `r`: turned by the table's degrees, clockwise, about a point.
    Turn(char, usize, f64, f64),
    /// `t`: moved along a way by the table's number.
    Slide(char, usize, f64, f64),
    /// `s`: moved by so much, always.
    Shift(char, f64, f64),
    /// `y`: stretched up and down by the table's number, about a height.
    Stretch(char, usize, f64),
}

/// A moving body of a drawing.
#[derive(Debug, Serialize)]
pub(super) struct Body {
    /// Its element.
    id: String,
    /// Its moves, the last applied first.
    moves: Vec<Move>,
    /// The camshaft it goes with, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    cam: Option<usize>,
    /// Whether it goes with the rotor.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    rotor: bool,
    /// The valve it is: its cylinder's index, and the digit that says of it that it is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    valve: Option<(usize, u8)>,
}

/// A drawing with its bodies.
#[derive(Debug)]
pub(super) struct Figure {
    pub(super) id: &'static str,
    pub(super) caption: String,
    /// What else is said under it while answers may be seen.
    pub(super) caption_of_answers: &'static str,
    /// Whether it gives the answers away.
    pub(super) answer: bool,
    /// How many crank degrees a drag over its whole width turns.
    pub(super) drag_deg: f64,
    pub(super) svg: String,
}

#[derive(Debug, Default)]
pub(super) struct Bodies {
    pub(super) tables: Vec<Table>,
    pub(super) bodies: Vec<Body>,
    /// The cylinders whose stroke's letter is written, by the element that shows it.
    pub(super) letters: Vec<(String, u8)>,
    /// Whether it is left out where a part would stand as drawn.
    pub(super) without_ghosts: bool,
}

/// The crankshaft either side of a barrel that stands at `x`.
fn shaft(barrel: &Barrel<'_>, x: f64) -> Vec<Item> {
    let bore = barrel.bore_mm() * barrel.scale;
    let half = (bore * 0.10).max(0.6);
    let mut shaft = Drawing::default();
    for side in [-1.0, 1.0] {
        let (inner, outer) = (x + side * bore * 0.22, x + side * bore * 0.62);
        shaft.rectangle(
            DVec2::new(inner.min(outer), barrel.crank.y - half),
            DVec2::new(inner.max(outer), barrel.crank.y + half),
            Pen::both(Role::Metal, 0.3),
        );
    }
    shaft.items
}

/// Where the marks meet, in a sentence; empty with several camshafts, whose marks meet one another's
/// nowhere.
fn marks_meet(phasing: &Phasing) -> String {
    if phasing.engine().has_several_camshafts() {
        return String::new();
    }
    let at = phasing.engine().metric().cam_drive.marks_meet_at();
    format!(" As drawn they meet {}.", from_firing_tdc(at))
}

/// Where the marks of the cam wheels stand as drawn at No. 1's firing TDC, in a sentence.
fn dots_stand(phasing: &Phasing) -> String {
    let drawn = Phasing::as_drawn(phasing.engine());
    let reading = drawn.at(CrankAngle::new(0.0));
    let marks = phasing.engine().written().marks.iter().zip(&reading.marks);
    let on_cams =
        marks.filter(|(mark, _)| matches!(mark.on, MarkOn::Camshaft | MarkOn::CamshaftNumber(_)));
    let stand =
        on_cams.map(|(mark, clock)| format!("{} at {}", mark.name, degrees(clock.degrees())));
    let stand: Vec<String> = stand.collect();
    if stand.is_empty() {
        return String::new();
    }
    format!(
        " As drawn, at No. 1's firing TDC, 0° being straight up: {}.",
        stand.join(", ")
    )
}

fn cap_caption(distributor: &Distributor) -> String {
    let bracket = if distributor.body_range.is_some_and(|range| range > 0.0) {
        " The bracket is how far the clamp lets it be turned."
    } else {
        ""
    };
    format!(
        "The distributor's cap, looking down on it: the rotor, and a tower for each lead.{bracket}"
    )
}

fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

impl Bodies {
    /// Keeps a table; gives its number.
    pub(super) fn table(&mut self, table: Table) -> usize {
        // What moves alike moves by one table.
        let known = self
            .tables
            .iter()
            .position(|other| other.p == table.p && other.v == table.v);
        known.unwrap_or_else(|| {
            self.tables.push(table);
            self.tables.len() - 1
        })
    }

    /// Adds a body; gives it as an element where it stands at crank angle 0.
    fn body(&mut self, items: &[Item], moves: Vec<Move>) -> String {
        let id = format!("b{}", self.bodies.len());
        let mut inner = String::new();
        let mut drawing = Drawing {
            items: items.to_vec(),
            ..Drawing::default()
        };
        if self.without_ghosts {
            drawing.leave_out(Role::Ghost);
        }
        svg::items(&mut inner, &drawing.items, Colours::Page);
        let at_zero: Vec<String> = moves.iter().map(|step| self.at_zero(step)).collect();
        let svg = format!(
            "<g id=\"{id}\" transform=\"{}\">{inner}</g>",
            at_zero.join(" ")
        );
        self.bodies.push(Body {
            id,
            moves,
            cam: None,
            rotor: false,
            valve: None,
        });
        svg
    }

    /// The body added last goes with a camshaft.
    fn with_camshaft(&mut self, camshaft: Option<usize>) {
        if let Some(body) = self.bodies.last_mut() {
            body.cam = camshaft;
        }
    }

    fn at_zero(&self, step: &Move) -> String {
        let value = |table: usize| {
            let table = &self.tables[table];
            table.v.first().copied().unwrap_or(0) as f64 / 10_f64.powi(table.p as i32)
        };
        match *step {
            Move::Turn(_, table, x, y) => format!("rotate({} {x} {y})", rounded(value(table))),
            Move::Slide(_, table, x, y) => {
                format!(
                    "translate({} {})",
                    rounded(value(table) * x),
                    rounded(value(table) * y)
                )
            }
            Move::Shift(_, x, y) => format!("translate({x} {y})"),
            Move::Stretch(_, table, y) => {
                format!(
                    "translate(0 {y}) scale(1 {}) translate(0 {})",
                    rounded(value(table)),
                    -y
                )
            }
        }
    }

    fn turn(
        &mut self,
        readings: &[Reading],
        about: DVec2,
        degrees: impl Fn(&Reading) -> f64,
    ) -> Move {
        let table = self.table(Table::of(readings, 2, degrees));
        Move::Turn('r', table, rounded(about.x), rounded(about.y))
    }

    fn slide(&mut self, table: Table, along: DVec2) -> Move {
        let table = self.table(table);
        Move::Slide('t', table, rounded(along.x), rounded(along.y))
    }

    /// The parts of a barrel that only go up and down: piston and valves.
    fn up_and_down(
        &mut self,
        readings: &[Reading],
        barrel: &Barrel<'_>,
        number: u8,
        valves: bool,
    ) -> (String, String) {
        let engine = barrel.phasing.engine();
        let down = barrel.at(0.0, -1.0) - barrel.at(0.0, 0.0);
        let of = |value: fn(&crate::phasing::CylinderReading) -> f64| {
            Table::of(readings, 2, |reading| {
                reading.cylinder(number).map_or(0.0, value)
            })
        };
        let mut drawing = Drawing::default();
        barrel.piston(&mut drawing, barrel.top_pin_mm());
        let slide = self.slide(of(|cylinder| cylinder.piston_drop_mm), down);
        let piston = self.body(&drawing.items, vec![slide]);
        let mut both = String::new();
        if valves {
            for valve in Valve::BOTH {
                let mut drawing = Drawing::default();
                let (role, lift) = match valve {
                    Valve::Intake => (Role::Intake, of(|cylinder| cylinder.intake.lift_mm)),
                    Valve::Exhaust => (Role::Exhaust, of(|cylinder| cylinder.exhaust.lift_mm)),
                };
                barrel.valve(&mut drawing, role, 0.0);
                let slide = self.slide(lift, down);
                let digit = match valve {
                    Valve::Intake => 1,
                    Valve::Exhaust => 2,
                };
                let mut body = self.body(&drawing.items, vec![slide]);
                let start = readings.first().and_then(|start| start.cylinder(number));
                let is_open = start.is_some_and(|cylinder| match valve {
                    Valve::Intake => cylinder.intake.open,
                    Valve::Exhaust => cylinder.exhaust.open,
                });
                if is_open {
                    body = body.replacen("<g ", "<g class=\"open\" ", 1);
                }
                both += &body;
                self.with_camshaft(Some(engine.camshaft_of(number, valve)));
                if let Some(body) = self.bodies.last_mut() {
                    body.valve = Some((usize::from(number) - 1, digit));
                }
            }
        }
        (piston, both)
    }

    /// The engine in section, from the front.
    pub(super) fn front(&mut self, phasing: &Phasing, readings: &[Reading]) -> Figure {
        let section = FromTheFront::new(phasing);
        let sign = phasing.crank_direction().sign();
        let crank = section.crank();
        let (mut more, mut reach) = (String::new(), 0.0_f64);
        for (cylinder, barrel, foremost) in section.barrels() {
            let throw = |crank| phasing.throw_clock(cylinder, crank).degrees();
            let past = |crank| throw(crank) - barrel.lean_deg;
            let start = CrankAngle::new(0.0);
            let place = |pin: DVec2| barrel.at(pin.x, pin.y);
            let pin = place(barrel.pins(past(start)).crankpin);
            reach = reach.max((pin - crank).length() + 0.22 * barrel.bore_mm() * barrel.scale);
            let with_crank = self.turn(readings, crank, |reading| sign * reading.crank.degrees());
            let mut web = Drawing::default();
            web.line(
                crank,
                on_clock(crank, (pin - crank).length(), throw(start)),
                section.web(),
            );
            more += &self.body(&web.items, vec![with_crank]);
            let (piston, valves) = self.up_and_down(readings, &barrel, cylinder.number, foremost);
            more += &piston;
            // The rod stands upright on its crankpin at the origin; the crank carries it round, and
            // it leans to where the gudgeon pin stands.
            let mut rod = Drawing::default();
            barrel.rod(
                &mut rod,
                DVec2::new(0.0, -phasing.slider().rod_mm() * barrel.scale),
                DVec2::ZERO,
            );
            let leans = self.turn(readings, DVec2::ZERO, |reading| {
                let pins = barrel.pins(past(reading.crank));
                let lean = clock_of(place(pins.crankpin), place(pins.gudgeon));
                crate::angle::wrap_signed(lean - sign * reading.crank.degrees(), 360.0)
            });
            let with_crank = self.turn(readings, crank, |reading| sign * reading.crank.degrees());
            more += &self.body(
                &rod.items,
                vec![
                    with_crank,
                    Move::Shift('s', rounded(pin.x), rounded(pin.y)),
                    leans,
                ],
            );
            more += &valves;
        }
        let mut shaft = Drawing::default();
        section.shaft(&mut shaft);
        // Over what turns, and clear of it.
        let pen = Pen::line(Role::Now, 0.6);
        shaft.turning_arrow(crank, reach, 180.0 - sign * 35.0, sign * 70.0, pen);
        svg::items(&mut more, &shaft.items, Colours::Page);
        let svg = svg::element_with(section.still(), Colours::Page, &more);
        Figure {
            id: "front",
            caption: "Cut open, from the front. The arrow shows which way the crank turns.".into(),
            caption_of_answers: "",
            answer: false,
            drag_deg: 360.0,
            svg,
        }
    }

    /// The engine in section, along the crank.
    pub(super) fn along(&mut self, phasing: &Phasing, readings: &[Reading]) -> Figure {
        let section = AlongTheCrank::new(phasing);
        let mut more = String::new();
        for (number, x, barrel) in section.row() {
            let Some(cylinder) = phasing.cylinder(number) else {
                continue;
            };
            // How high the crankpin stands over the crank's middle; everything on it goes up and
            // down with it.
            let height = |reading: &Reading| {
                let past = phasing.throw_clock(cylinder, reading.crank).degrees()
                    - cylinder.bank.degrees();
                barrel.pins(past).crankpin.y * barrel.scale
            };
            let up = self.slide(Table::of(readings, 2, height), DVec2::new(0.0, -1.0));
            let bore = barrel.bore_mm() * barrel.scale;
            svg::items(&mut more, &shaft(&barrel, x), Colours::Page);
            let at = |across: f64, up: f64| DVec2::new(x + across, barrel.crank.y - up);
            let (wide, half, radius) = (
                bore * 0.22,
                (bore * 0.10).max(0.6),
                phasing.slider().radius_mm(),
            );
            // The cheeks reach from the shaft to the pin: drawn with the pin straight up, they
            // shrink and turn over with it.
            let mut cheeks = Drawing::default();
            for side in [-1.0, 1.0] {
                let (inner, outer) = (side * wide, side * (wide + bore * 0.12));
                let (top, foot) = (radius * barrel.scale + bore * 0.16, -bore * 0.05);
                cheeks.rectangle(
                    at(inner.min(outer), top),
                    at(inner.max(outer), foot),
                    Pen::fill(Role::Metal),
                );
            }
            let part = self.table(Table::of(readings, 4, |reading| {
                height(reading) / (radius * barrel.scale)
            }));
            more += &self.body(
                &cheeks.items,
                vec![Move::Stretch('y', part, rounded(barrel.crank.y))],
            );
            let mut pin = Drawing::default();
            pin.rectangle(
                at(-wide, half),
                at(wide, -half),
                Pen::both(Role::Metal, 0.35),
            );
            let mut rod = Drawing::default();
            let long = phasing.slider().rod_mm() * barrel.scale;
            let (from, to) = (at(-bore * 0.07, long), at(bore * 0.07, 0.0));
            rod.rectangle(from, to, Pen::fill(Role::Paper));
            rod.rectangle(from, to, Pen::line(Role::Main, 0.35));
            more += &self.body(&rod.items, vec![up]);
            more += &self.body(&pin.items, vec![up]);
            let (piston, valves) = self.up_and_down(readings, &barrel, number, true);
            more += &piston;
            more += &valves;
            let (mut place, size) = section.letter(x);
            // On a phone type is larger than it is drawn: beside its cylinder's number, and not
            // under it, while there is room between the barrels.
            if phasing.cylinders().len() <= 8 {
                place += DVec2::new(size.max(4.0) * 1.25, -size * 1.28);
            }
            let id = format!("l{number}");
            more += &format!(
                "<text id=\"{id}\" class=\"main t answer\" x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"middle\">{}</text>",
                rounded(place.x),
                rounded(place.y + svg::HALF_CAPITAL * size),
                rounded(size),
                readings
                    .first()
                    .and_then(|reading| reading.cylinder(number))
                    .map_or("", |c| crate::drawing::strokes::letter(c.stroke))
            );
            self.letters.push((id, number));
        }
        let svg = svg::element_with(section.still(), Colours::Page, &more);
        Figure {
            id: "along",
            caption: "Cut open along the crank, front on the left. Of each cylinder's valves the left one, blue, is the intake; an open one is filled.".into(),
            caption_of_answers: " I intake, C compression, P power, E exhaust.",
            answer: false,
            drag_deg: 360.0,
            svg,
        }
    }

    pub(super) fn gears(&mut self, phasing: &Phasing, readings: &[Reading]) -> Figure {
        let face = GearFace::new(phasing);
        let mut more = String::new();
        for wheel in readings
            .first()
            .map(|reading| face.bodies(reading))
            .unwrap_or_default()
        {
            let turn = self.turn(readings, wheel.centre, |reading| {
                wheel.per_crank * reading.crank.degrees()
            });
            more += &self.body(&wheel.items, vec![turn]);
            self.with_camshaft(wheel.camshaft);
        }
        svg::items(&mut more, &face.labels().items, Colours::Page);
        let svg = svg::element_with(face.still(), Colours::Page, &more);
        Figure {
            id: "gears",
            caption: format!("Timing marks, from the front.{}", marks_meet(phasing)),
            caption_of_answers: "",
            answer: false,
            drag_deg: 360.0,
            svg,
        }
    }

    /// The camshafts' wheels beside one another, drawn large; None where they are seen well enough
    /// among the others.
    pub(super) fn wheels(&mut self, phasing: &Phasing, readings: &[Reading]) -> Option<Figure> {
        const WIDE_MM: f64 = 100.0;
        const NAME_MM: f64 = 4.0;
        /// A dot's way for one tooth is seen on a wheel from this radius on.
        const SEEN_MM: f64 = 14.0;
        let mut wheels = GearFace::new(phasing).bodies(readings.first()?);
        wheels.retain(|wheel| wheel.camshaft.is_some());
        if wheels.iter().all(|wheel| wheel.pitch_mm >= SEEN_MM) {
            return None;
        }
        let each_mm = WIDE_MM / wheels.len() as f64;
        let radius_mm = (each_mm * 0.42).min(24.0);
        let high_mm = 2.0 * radius_mm + 3.0 * NAME_MM;
        let title = format!("The cam wheels of {}, drawn large", phasing.engine().name());
        let mut still = Drawing::new(title, WIDE_MM, high_mm);
        let mut more = String::new();
        for (index, wheel) in wheels.into_iter().enumerate() {
            let centre = DVec2::new(each_mm * (index as f64 + 0.5), radius_mm + NAME_MM * 0.4);
            let scale = radius_mm / (wheel.pitch_mm * 1.06);
            let by = centre - wheel.centre * scale;
            let larger = wheel.items.iter().map(|item| item.placed(by, scale));
            let turn = self.turn(readings, centre, |reading| {
                wheel.per_crank * reading.crank.degrees()
            });
            more += &self.body(&larger.collect::<Vec<_>>(), vec![turn]);
            self.with_camshaft(wheel.camshaft);
            let name = phasing.engine().camshaft_name(wheel.camshaft?);
            let below = DVec2::new(centre.x, high_mm - NAME_MM);
            still.text(below, name, NAME_MM, Anchor::Middle, Role::Main);
        }
        Some(Figure {
            id: "wheels",
            caption: format!("The cam wheels drawn large.{}", dots_stand(phasing)),
            caption_of_answers: "",
            answer: false,
            drag_deg: 360.0,
            svg: svg::element_with(&still, Colours::Page, &more),
        })
    }

    /// The cap; None without a distributor.
    pub(super) fn cap(&mut self, phasing: &Phasing, readings: &[Reading]) -> Option<Figure> {
        let cap = Cap::new(phasing)?;
        let start = readings.first()?.rotor?.clock;
        let distributor = phasing.engine().metric().distributor.as_ref()?;
        let turn = self.turn(readings, cap.still().size / 2.0, |reading| {
            let turned = reading
                .rotor
                .map_or(0.0, |rotor| rotor.clock.past(start, distributor.rotation()));
            distributor.rotation().sign() * crate::angle::wrap(turned, 360.0)
        });
        let more = self.body(&cap.moving(readings.first()?).items, vec![turn]);
        if let Some(body) = self.bodies.last_mut() {
            body.rotor = true;
        }
        let svg = svg::element_with(cap.still(), Colours::Page, &more);
        Some(Figure {
            id: "cap",
            caption: cap_caption(distributor),
            caption_of_answers: "",
            answer: false,
            drag_deg: 360.0,
            svg,
        })
    }

    pub(super) fn ribbon(&mut self, phasing: &Phasing, readings: &[Reading]) -> Option<Figure> {
        let ribbon = StrokeRibbon::new(phasing);
        let along = ribbon.mm_per_degree();
        let slide = self.slide(
            Table::of(readings, 2, |reading| reading.crank.degrees() * along),
            DVec2::X,
        );
        let more = self.body(&ribbon.moving(readings.first()?).items, vec![slide]);
        let svg = svg::element_with(ribbon.still(), Colours::Page, &more);
        let drag_deg = ribbon.still().size.x / along;
        Some(Figure {
            id: "ribbon",
            caption: if phasing.engine().sparks_every_turn() {
                "Strokes in firing order: bars show open valves, bolts show sparks, hollow ones those wasted on overlap."
            } else {
                "Strokes in firing order: bars show open valves, bolts show sparks."
            }
            .into(),
            caption_of_answers: "",
            answer: true,
            drag_deg,
            svg,
        })
    }
}
