//! The engine cut open: from the front, and along the crank.
//!
//! Lengths within a section keep their proportions: bore, stroke, rod and lift are the
//! description's own. What the description does not say (the piston's height, the valves' size, the
//! webs) is drawn in proportion to the bore.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the cylinders of one order"
)]

use glam::DVec2;

use super::strokes;
use super::{Anchor, Drawing, Pen, Role, View, on_clock, swept};
use crate::angle::CrankTurn;
use crate::geometry::pins::Pins;
use crate::phasing::{CylinderPhasing, CylinderReading, Phasing, Reading};
use crate::words::joined;

/// The engine from the front: every bank, every throw; the nearer cylinders over the farther.
#[derive(Clone, Debug)]
pub struct FromTheFront {
    still: Drawing,
    phasing: Phasing,
    crank: DVec2,
    scale: f64,
    /// Rear to front.
    order: Vec<u8>,
}

const FRONT_MM: f64 = 100.0;

/// What the description leaves open, in bores.
mod proportion {
    /// From the gudgeon pin up to the crown.
    pub(super) const CROWN: f64 = 0.36;
    /// From the gudgeon pin down to the skirt.
    pub(super) const SKIRT: f64 = 0.30;
    /// Room over the crown for the head.
    pub(super) const HEAD: f64 = 0.30;
    pub(super) const VALVE: f64 = 0.36;
}

/// What one cylinder looks like, drawn upright with its crank at `crank` and turned about it by
/// `lean` clock degrees.
pub(crate) struct Barrel<'a> {
    pub(crate) phasing: &'a Phasing,
    pub(crate) crank: DVec2,
    pub(crate) scale: f64,
    pub(crate) lean_deg: f64,
}

impl Barrel<'_> {
    /// A point `across` and `up` from the crank, in engine millimetres.
    pub(crate) fn at(&self, across: f64, up: f64) -> DVec2 {
        let (sin, cos) = self.lean_deg.to_radians().sin_cos();
        self.crank + DVec2::new(across * cos + up * sin, across * sin - up * cos) * self.scale
    }

    fn top_mm(&self) -> f64 {
        self.top_pin_mm() + proportion::CROWN * self.bore_mm()
    }

    pub(crate) fn bore_mm(&self) -> f64 {
        self.phasing.engine().metric().bore
    }

    fn walls(&self, drawing: &mut Drawing) {
        let (half, top) = (self.bore_mm() / 2.0, self.top_mm() + 0.02 * self.bore_mm());
        let foot = (self.phasing.slider().pin_height_mm(180.0)
            - proportion::SKIRT * self.bore_mm())
        .max(0.0);
        let pen = Pen::line(Role::Main, 0.5);
        for side in [-half, half] {
            drawing.line(self.at(side, foot), self.at(side, top), pen);
        }
        drawing.open(vec![self.at(-half, top), self.at(half, top)], pen);
    }

    /// Piston and rod. The throw stands `throw_deg` clockwise past the bore.
    fn moving(&self, drawing: &mut Drawing, throw_deg: f64) {
        let pins = self.pins(throw_deg);
        self.piston(drawing, pins.gudgeon.y);
        self.rod(
            drawing,
            self.at(pins.gudgeon.x, pins.gudgeon.y),
            self.at(pins.crankpin.x, pins.crankpin.y),
        );
    }

    /// The pins in engine millimetres, the throw `throw_deg` clockwise past the bore.
    pub(crate) fn pins(&self, throw_deg: f64) -> Pins {
        let phasing = self.phasing;
        Pins::at(phasing.slider(), phasing.crank_direction(), throw_deg)
    }

    /// How far over the crank the gudgeon pin stands at TDC, engine millimetres.
    pub(crate) fn top_pin_mm(&self) -> f64 {
        let slider = self.phasing.slider();
        slider.pin_height_mm(slider.tdc_deg())
    }

    /// The rod between its two pins.
    pub(crate) fn rod(&self, drawing: &mut Drawing, gudgeon: DVec2, crankpin: DVec2) {
        let bore = self.bore_mm() * self.scale;
        let width = (bore * 0.11).max(0.6);
        drawing.line(gudgeon, crankpin, Pen::line(Role::Main, width));
        drawing.line(gudgeon, crankpin, Pen::line(Role::Paper, width - 0.5));
        for (place, radius) in [(gudgeon, 0.10), (crankpin, 0.16)] {
            drawing.circle(place, radius * bore, Pen::fill(Role::Paper));
            drawing.circle(place, radius * bore, Pen::line(Role::Main, 0.35));
        }
    }

    /// The piston, its pin `pin_up` engine millimetres over the crank.
    pub(crate) fn piston(&self, drawing: &mut Drawing, pin_up: f64) {
        let bore = self.bore_mm();
        let half = bore * 0.485;
        let (crown, skirt) = (
            pin_up + proportion::CROWN * bore,
            pin_up - proportion::SKIRT * bore,
        );
        let piston = [(-half, crown), (half, crown), (half, skirt), (-half, skirt)];
        drawing.area(
            piston.map(|(across, up)| self.at(across, up)).to_vec(),
            Pen::both(Role::Metal, 0.35),
        );
        for ring in [0.08, 0.15, 0.22] {
            let up = crown - ring * bore;
            drawing.line(
                self.at(-half, up),
                self.at(half, up),
                Pen::line(Role::Main, 0.2),
            );
        }
    }

    /// Both valves, each off its seat by its lift.
    fn valves(&self, drawing: &mut Drawing, reading: &CylinderReading) {
        self.valve(drawing, Role::Intake, reading.intake.lift_mm);
        self.valve(drawing, Role::Exhaust, reading.exhaust.lift_mm);
    }

    /// One valve, off its seat by its lift.
    pub(crate) fn valve(&self, drawing: &mut Drawing, role: Role, lift_mm: f64) {
        let bore = self.bore_mm();
        let side = if role == Role::Intake { -0.24 } else { 0.24 };
        let (middle, face) = (side * bore, self.top_mm() + 0.02 * bore - lift_mm);
        let (wide, stem, tip) = (
            proportion::VALVE * bore / 2.0,
            0.03 * bore,
            face + proportion::HEAD * bore,
        );
        let neck = face + 0.09 * bore;
        let shape = [
            (-wide, face),
            (wide, face),
            (stem, neck),
            (stem, tip),
            (-stem, tip),
            (-stem, neck),
        ];
        drawing.area(
            shape
                .map(|(across, up)| self.at(middle + across, up))
                .to_vec(),
            Pen::both(role, 0.35),
        );
    }

    fn label(&self, drawing: &mut Drawing, text: String, size: f64) {
        // Beyond the valves, and as much farther as the text is wide where the barrel leans over.
        let clear = size * 0.8 + name_reach(&text, size, self.lean_deg);
        let place = self.at(
            0.0,
            self.top_mm() + (proportion::HEAD + 0.05) * self.bore_mm() + clear / self.scale,
        );
        drawing.bold(place, text, size, Anchor::Middle, Role::Main);
    }
}

/// The numbers of a bank's cylinders, and the size they are written in.
fn bank_name(phasing: &Phasing, lean_deg: f64) -> (String, f64) {
    let numbers = phasing
        .cylinders()
        .iter()
        .filter(|other| (other.bank.degrees() - lean_deg).abs() <= 0.01);
    let numbers: Vec<u8> = numbers.map(|other| other.number).collect();
    (
        joined(&numbers, " "),
        if numbers.len() > 6 { 2.6 } else { 3.4 },
    )
}

/// How far half a name reaches along a barrel that leans: figures and blanks are about two thirds
/// of their size wide.
fn name_reach(name: &str, size: f64, lean_deg: f64) -> f64 {
    lean_deg.to_radians().sin().abs() * size * 0.33 * name.chars().count() as f64
}

/// The corners that hold every bank's barrel and every throw, engine millimetres from the crank, and
/// what the names at the barrels' ends need beyond them, millimetres on paper.
fn reach(phasing: &Phasing) -> (DVec2, DVec2, DVec2) {
    let bore = phasing.engine().metric().bore;
    let web = phasing.slider().radius_mm() + 0.25 * bore;
    let (mut least, mut most) = (DVec2::splat(-web), DVec2::splat(web));
    let mut names = DVec2::ZERO;
    for cylinder in phasing.cylinders() {
        let lean_deg = cylinder.bank.degrees();
        let barrel = Barrel {
            phasing,
            crank: DVec2::ZERO,
            scale: 1.0,
            lean_deg,
        };
        let up = barrel.top_mm() + (proportion::HEAD + 0.05) * bore;
        for corner in [barrel.at(-bore * 0.55, up), barrel.at(bore * 0.55, up)] {
            least = least.min(corner);
            most = most.max(corner);
        }
        let (name, size) = bank_name(phasing, lean_deg);
        names = names.max(
            DVec2::new(name_reach(&name, size, lean_deg) * 2.0 + size, size * 1.7)
                * DVec2::new(lean_deg.to_radians().sin().abs(), 1.0),
        );
    }
    (least, most, names)
}

impl FromTheFront {
    /// The section, as built.
    pub fn new(phasing: &Phasing) -> Self {
        let mut still = Drawing::new(
            format!("{}, cut open, from the front", phasing.engine().name()),
            FRONT_MM,
            FRONT_MM,
        );
        let (least, most, names) = reach(phasing);
        let room = DVec2::splat(FRONT_MM - 2.0) - 2.0 * names;
        let scale = (room / (most - least)).min_element();
        // A flat engine needs no square.
        still.size.y = f64::min((most - least).y * scale + 2.0 * names.y + 2.0, FRONT_MM);
        let crank = still.size / 2.0 - (least + most) / 2.0 * scale;
        // One of each bank is drawn with its walls: they are the same for the others behind it.
        let mut walled: Vec<f64> = Vec::new();
        for cylinder in phasing.cylinders() {
            let lean_deg = cylinder.bank.degrees();
            if walled.iter().all(|other| (other - lean_deg).abs() > 0.01) {
                let barrel = Barrel {
                    phasing,
                    crank,
                    scale,
                    lean_deg,
                };
                barrel.walls(&mut still);
                let (name, size) = bank_name(phasing, lean_deg);
                barrel.label(&mut still, name, size);
                walled.push(lean_deg);
            }
        }
        let from = if phasing.crank_direction().sign() > 0.0 {
            130.0
        } else {
            230.0
        };
        let arrow = phasing.slider().radius_mm() * scale * 0.55;
        still.turning_arrow(
            crank,
            arrow.max(4.0),
            from,
            phasing.crank_direction().sign() * 80.0,
            Pen::line(Role::Main, 0.4),
        );
        let throws = &phasing.engine().metric().crankshaft.throws;
        let order = throws
            .iter()
            .rev()
            .flat_map(|throw| throw.cylinders.iter().rev().map(|&number| number as u8))
            .collect();
        Self {
            still,
            phasing: phasing.clone(),
            crank,
            scale,
            order,
        }
    }

    /// The cylinders to be drawn, rear to front, with their barrels, and whether each is the
    /// foremost of its bank.
    pub(crate) fn barrels(&self) -> impl Iterator<Item = (&CylinderPhasing, Barrel<'_>, bool)> {
        self.order
            .iter()
            .enumerate()
            .filter(|(index, _)| !self.hidden(*index))
            .filter_map(|(index, &number)| {
                let cylinder = self.phasing.cylinder(number)?;
                let lean_deg = cylinder.bank.degrees();
                let same_bank =
                    |other: &CylinderPhasing| (other.bank.degrees() - lean_deg).abs() < 0.01;
                let behind = self.order[index + 1..]
                    .iter()
                    .filter_map(|&other| self.phasing.cylinder(other))
                    .any(same_bank);
                Some((
                    cylinder,
                    Barrel {
                        phasing: &self.phasing,
                        crank: self.crank,
                        scale: self.scale,
                        lean_deg,
                    },
                    !behind,
                ))
            })
    }

    pub(crate) fn crank(&self) -> DVec2 {
        self.crank
    }

    /// The pen of a web.
    pub(crate) fn web(&self) -> Pen {
        Pen::line(
            Role::Metal,
            (self.phasing.slider().radius_mm() * self.scale * 0.5).max(1.0),
        )
    }

    /// The crank's own shaft, end on.
    pub(crate) fn shaft(&self, drawing: &mut Drawing) {
        let radius = (self.phasing.slider().radius_mm() * self.scale * 0.28).max(1.0);
        drawing.circle(self.crank, radius, Pen::fill(Role::Paper));
        drawing.circle(self.crank, radius, Pen::line(Role::Main, 0.4));
    }

    /// A cylinder hides another that stands just so before it.
    fn hidden(&self, index: usize) -> bool {
        let same = |one: &CylinderPhasing, other: &CylinderPhasing| {
            (one.bank.degrees() - other.bank.degrees()).abs() < 0.01
                && one.fires.nearest_to(other.fires).degrees().abs() < 0.01
        };
        let Some(own) = self.phasing.cylinder(self.order[index]) else {
            return true;
        };
        self.order[index + 1..]
            .iter()
            .filter_map(|&number| self.phasing.cylinder(number))
            .any(|other| same(own, other))
    }
}

impl View for FromTheFront {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        let radius = self.phasing.slider().radius_mm() * self.scale;
        for (cylinder, barrel, foremost) in self.barrels() {
            let Some(state) = reading.cylinder(cylinder.number) else {
                continue;
            };
            let throw = self.phasing.throw_clock(cylinder, reading.crank).degrees();
            // The web, from the crank's middle to the pin.
            drawing.line(self.crank, on_clock(self.crank, radius, throw), self.web());
            barrel.moving(&mut drawing, throw - barrel.lean_deg);
            // The valves of those behind would only confuse.
            if foremost {
                barrel.valves(&mut drawing, state);
            }
        }
        self.shaft(&mut drawing);
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        let reach = self.phasing.slider().radius_mm() * self.scale * 1.6;
        let turned = swept(self.crank, from, to) * self.phasing.crank_direction().sign();
        ((held - self.crank).length() <= reach.max(8.0)).then(|| CrankTurn::new(turned))
    }
}

/// The engine along the crank: its cylinders in a row, front on the left, each barrel drawn
/// upright.
#[derive(Clone, Debug)]
pub struct AlongTheCrank {
    still: Drawing,
    phasing: Phasing,
    scale: f64,
    crank_y: f64,
    /// Front to back, with where each stands.
    row: Vec<(u8, f64)>,
}

const ALONG_MM: f64 = 160.0;
/// A barrel and what is between it and the next, in bores.
const PITCH: f64 = 1.25;

impl AlongTheCrank {
    /// The section, as built.
    pub fn new(phasing: &Phasing) -> Self {
        let throws = &phasing.engine().metric().crankshaft.throws;
        let numbers: Vec<u8> = throws
            .iter()
            .flat_map(|throw| throw.cylinders.iter().map(|&number| number as u8))
            .collect();
        let bore = phasing.engine().metric().bore;
        let plain = Barrel {
            phasing,
            crank: DVec2::ZERO,
            scale: 1.0,
            lean_deg: 0.0,
        };
        let high = plain.top_mm() + (proportion::HEAD + 0.05) * bore;
        let low = phasing.slider().radius_mm() + 0.25 * bore;
        let wide = PITCH * bore * numbers.len() as f64;
        let scale = ((ALONG_MM - 4.0) / wide).min(78.0 / (high + low));
        let height = (high + low) * scale + 14.0;
        let mut still = Drawing::new(
            format!(
                "{}, cut open along the crank, front on the left",
                phasing.engine().name()
            ),
            ALONG_MM,
            height,
        );
        let crank_y = 12.0 + high * scale;
        let first = (ALONG_MM - wide * scale) / 2.0 + PITCH * bore * scale / 2.0;
        let row: Vec<(u8, f64)> = numbers
            .iter()
            .enumerate()
            .map(|(index, &number)| (number, first + PITCH * bore * scale * index as f64))
            .collect();
        for &(_, x) in &row {
            Barrel {
                phasing,
                crank: DVec2::new(x, crank_y),
                scale,
                lean_deg: 0.0,
            }
            .walls(&mut still);
        }
        let size = Self::type_mm(bore * scale);
        for &(number, x) in &row {
            still.bold(
                DVec2::new(x, 3.4),
                number.to_string(),
                size,
                Anchor::Middle,
                Role::Main,
            );
        }
        Self {
            still,
            phasing: phasing.clone(),
            scale,
            crank_y,
            row,
        }
    }

    fn type_mm(bore: f64) -> f64 {
        (bore * 0.26).clamp(2.4, 4.4)
    }

    /// Where the letter of a cylinder's stroke stands, and its size.
    pub(crate) fn letter(&self, x: f64) -> (DVec2, f64) {
        let size = Self::type_mm(self.phasing.engine().metric().bore * self.scale);
        (DVec2::new(x, 3.4 + size * 1.15), size * 0.9)
    }

    /// The cylinders, front to back, with where each stands, and its barrel.
    pub(crate) fn row(&self) -> impl Iterator<Item = (u8, f64, Barrel<'_>)> {
        self.row.iter().map(|&(number, x)| {
            let crank = DVec2::new(x, self.crank_y);
            (
                number,
                x,
                Barrel {
                    phasing: &self.phasing,
                    crank,
                    scale: self.scale,
                    lean_deg: 0.0,
                },
            )
        })
    }

    /// The cylinder at a point.
    pub fn cylinder_at(&self, point: DVec2) -> Option<u8> {
        let half = PITCH * self.phasing.engine().metric().bore * self.scale / 2.0;
        self.row
            .iter()
            .find(|(_, x)| (point.x - x).abs() <= half)
            .map(|(number, _)| *number)
    }
}

impl View for AlongTheCrank {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        let bore = self.phasing.engine().metric().bore * self.scale;
        let reach = PITCH * bore / 2.0;
        for (number, x, barrel) in self.row() {
            let (Some(cylinder), Some(state)) =
                (self.phasing.cylinder(number), reading.cylinder(number))
            else {
                continue;
            };
            let past = self.phasing.throw_clock(cylinder, reading.crank).degrees()
                - cylinder.bank.degrees();
            // Seen from the side, a throw shows only how high it stands.
            let pins = barrel.pins(past);
            let pin_y = barrel.at(0.0, pins.crankpin.y).y;
            let (shaft, web) = ((bore * 0.10).max(0.6), bore * 0.16);
            for side in [-1.0, 1.0] {
                let (inner, outer) = (x + side * bore * 0.22, x + side * reach);
                let corners = |top: f64, foot: f64| {
                    (
                        DVec2::new(inner.min(outer), top),
                        DVec2::new(inner.max(outer), foot),
                    )
                };
                let (from, to) = corners(self.crank_y - shaft, self.crank_y + shaft);
                drawing.rectangle(from, to, Pen::both(Role::Metal, 0.3));
                let (top, foot) = (pin_y.min(self.crank_y) - web, pin_y.max(self.crank_y) + web);
                let thick = bore * 0.12;
                let from = DVec2::new(inner.min(inner + side * thick), top);
                drawing.rectangle(
                    from,
                    DVec2::new(from.x + thick, foot),
                    Pen::both(Role::Metal, 0.35),
                );
            }
            let pin = [
                DVec2::new(x - bore * 0.22, pin_y - shaft),
                DVec2::new(x + bore * 0.22, pin_y + shaft),
            ];
            drawing.rectangle(pin[0], pin[1], Pen::both(Role::Metal, 0.35));
            // The rod lies in the plane of the drawing: the crankpin is drawn where it stands in
            // height.
            barrel.upright(&mut drawing, state, &pins);
            let (at, size) = self.letter(x);
            drawing.text(
                at,
                strokes::letter(state.stroke),
                size,
                Anchor::Middle,
                strokes::role(state.stroke),
            );
        }
        drawing
    }

    /// Up or down, as a thumb on the rim of a flywheel that is seen from its edge.
    fn drag(&self, _held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        let rim = self.phasing.slider().radius_mm() * self.scale * 2.0;
        Some(CrankTurn::new(((to.y - from.y) / rim).to_degrees()))
    }
}

impl Barrel<'_> {
    /// As seen from the side: the rod straight down to the crankpin.
    fn upright(&self, drawing: &mut Drawing, reading: &CylinderReading, pins: &Pins) {
        let wide = self.bore_mm() * 0.07;
        let (from, to) = (
            self.at(-wide, pins.gudgeon.y),
            self.at(wide, pins.crankpin.y),
        );
        drawing.rectangle(from, to, Pen::fill(Role::Paper));
        drawing.rectangle(from, to, Pen::line(Role::Main, 0.35));
        self.piston(drawing, pins.gudgeon.y);
        self.valves(drawing, reading);
    }
}
