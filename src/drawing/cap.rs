//! The distributor, looking down on its cap: towers with their leads, the rotor, the clamp's range.
//!
//! Straight up is the builder's reference, 0 of the clock. Towers and rotor stand as built; where
//! they stand elsewhere than drawn, they show there as ghosts.

#![expect(
    clippy::indexing_slicing,
    reason = "the index is taken within the towers"
)]

use glam::DVec2;

use super::{Anchor, Drawing, Pen, Role, View, on_clock, swept};
use crate::angle::{Clock, CrankTurn, Direction, wrap_signed};
use crate::phasing::{Phasing, Reading};
use crate::words::joined;

const SIZE_MM: f64 = 100.0;
const CENTRE: DVec2 = DVec2::new(50.0, 50.0);
const RIM_MM: f64 = 33.0;
/// The circle on which the towers stand.
const TOWERS_MM: f64 = 26.0;
/// Where the leads' names stand.
const LEADS_MM: f64 = 43.0;
const TIP_MM: f64 = 19.0;

/// A rotor nearer than this to where it is drawn is there.
const ELSEWHERE_DEG: f64 = 0.05;

/// The cap of one engine.
#[derive(Clone, Debug)]
pub struct Cap {
    still: Drawing,
    direction: f64,
    tip_width_deg: f64,
    as_drawn: Phasing,
}

/// What stands in one tower: usually one lead, more where cylinders fire together, none while it
/// is off.
struct Tower {
    at: Clock,
    /// Where it would stand as drawn, with the body turned.
    drawn: Option<Clock>,
    leads: Vec<u8>,
    /// Whether it is drawn for No. 1, as the cap itself has it.
    is_first: bool,
}

impl Tower {
    /// The tower with its lead, the lead's name in `size`; where the body is turned, also where it
    /// would stand as drawn.
    fn draw(&self, drawing: &mut Drawing, radius: f64, size: f64) {
        if let Some(drawn) = self.drawn {
            drawing.circle(
                on_clock(CENTRE, TOWERS_MM, drawn.degrees()),
                radius,
                Pen::line(Role::Ghost, 0.3).dashed(),
            );
        }
        let clock = self.at.degrees();
        let place = on_clock(CENTRE, TOWERS_MM, clock);
        // Empty, No. 1's tower is still known by the cap's own mark.
        let first = self.leads.contains(&1) || self.leads.is_empty() && self.is_first;
        if !self.leads.is_empty() {
            drawing.line(
                on_clock(CENTRE, TOWERS_MM + radius, clock),
                on_clock(CENTRE, LEADS_MM - 3.6, clock),
                Pen::line(Role::Main, 0.7),
            );
        }
        drawing.circle(place, radius, Pen::fill(Role::Paper));
        let width = if first { 0.9 } else { 0.4 };
        drawing.circle(place, radius, Pen::line(Role::Main, width));
        let name = joined(&self.leads, "+");
        let label = on_clock(CENTRE, LEADS_MM, clock);
        if first {
            drawing.bold(label, name, size, Anchor::Middle, Role::Main);
        } else {
            drawing.text(label, name, size, Anchor::Middle, Role::Main);
        }
    }
}

impl Cap {
    /// The cap; None for an engine without a distributor.
    pub fn new(phasing: &Phasing) -> Option<Self> {
        Self::with_leads_off(phasing, &[])
    }

    /// The cap with the leads of these cylinders on no tower; None for an engine without a
    /// distributor.
    pub fn with_leads_off(phasing: &Phasing, off: &[u8]) -> Option<Self> {
        let mut cap = Self::without_arrow(phasing, off)?;
        cap.turning_arrow(180.0);
        Some(cap)
    }

    /// Which way the rotor turns, the arrow's middle at a clock angle.
    fn turning_arrow(&mut self, middle_deg: f64) {
        const HALF_DEG: f64 = 30.0;
        let from = middle_deg - self.direction * HALF_DEG;
        let pen = Pen::line(Role::Main, 0.45);
        let sweep = self.direction * 2.0 * HALF_DEG;
        self.still.turning_arrow(CENTRE, 8.5, from, sweep, pen);
    }

    fn without_arrow(phasing: &Phasing, off: &[u8]) -> Option<Self> {
        let distributor = phasing.engine().metric().distributor.as_ref()?;
        let direction = distributor.rotation().sign();
        let mut still = Drawing::new(
            format!(
                "The distributor of {}, looking down on its cap",
                phasing.engine().name()
            ),
            SIZE_MM,
            SIZE_MM,
        );
        let towers = towers(phasing, off);
        let apart = towers.iter().enumerate().map(|(index, tower)| {
            let next = &towers[(index + 1) % towers.len()];
            if towers.len() < 2 {
                180.0
            } else {
                tower.at.past(next.at, distributor.rotation()).abs()
            }
        });
        let apart = apart.fold(180.0, f64::min);
        let radius = (TOWERS_MM * (apart.to_radians() / 2.0).sin() * 0.82).clamp(1.4, 4.6);

        still.circle(CENTRE, RIM_MM, Pen::both(Role::Metal, 0.5));
        // The builder's reference.
        still.line(
            on_clock(CENTRE, RIM_MM + 0.6, 0.0),
            on_clock(CENTRE, RIM_MM + 3.0, 0.0),
            Pen::line(Role::Faint, 0.5),
        );
        if let Some(range) = distributor.body_range.filter(|range| *range > 0.0) {
            let one = Clock::new(distributor.number_one_at).degrees();
            let pen = Pen::line(Role::Faint, 0.35);
            still.arc(CENTRE, RIM_MM + 2.0, one - range, 2.0 * range, pen);
            for end in [one - range, one + range] {
                still.line(
                    on_clock(CENTRE, RIM_MM + 0.8, end),
                    on_clock(CENTRE, RIM_MM + 3.2, end),
                    pen,
                );
            }
        }
        let size = if towers.len() > 12 { 3.6 } else { 4.6 };
        for tower in &towers {
            tower.draw(&mut still, radius, size);
        }
        let tip_width_deg = distributor.tip_width.unwrap_or(9.0).clamp(3.0, 60.0);
        Some(Self {
            still,
            direction,
            tip_width_deg,
            as_drawn: Phasing::as_drawn(phasing.engine()),
        })
    }

    /// The rotor as an outline, pointing at a clock angle.
    fn rotor(&self, clock_deg: f64) -> Vec<DVec2> {
        let half = self.tip_width_deg / 2.0;
        let body = [(3.6, -150.0), (3.6, -90.0), (3.0, -40.0)];
        let tip = [
            (TIP_MM - 0.4, -half),
            (TIP_MM, -half / 2.0),
            (TIP_MM, 0.0),
            (TIP_MM, half / 2.0),
            (TIP_MM - 0.4, half),
        ];
        let back = [(3.0, 40.0), (3.6, 90.0), (3.6, 150.0), (4.4, 180.0)];
        body.into_iter()
            .chain(tip)
            .chain(back)
            .map(|(radius, deg)| on_clock(CENTRE, radius, clock_deg + deg))
            .collect()
    }
}

impl View for Cap {
    fn still(&self) -> &Drawing {
        &self.still
    }

    fn moving(&self, reading: &Reading) -> Drawing {
        let mut drawing = Drawing::over(&self.still);
        if let Some(rotor) = &reading.rotor {
            // Where it would stand as drawn, where that is elsewhere.
            let drawn = self
                .as_drawn
                .at(reading.crank)
                .rotor
                .map_or(rotor.clock, |rotor| rotor.clock);
            if drawn.past(rotor.clock, Direction::Clockwise).abs() > ELSEWHERE_DEG {
                drawing.area(
                    self.rotor(drawn.degrees()),
                    Pen::line(Role::Ghost, 0.4).dashed(),
                );
            }
            drawing.area(
                self.rotor(rotor.clock.degrees()),
                Pen::both(Role::Rotor, 0.3),
            );
            drawing.circle(CENTRE, 2.0, Pen::fill(Role::Paper));
            drawing.circle(CENTRE, 2.0, Pen::line(Role::Main, 0.3));
            let tip = on_clock(CENTRE, TIP_MM + 0.8, rotor.clock.degrees());
            drawing.line(
                tip,
                on_clock(CENTRE, RIM_MM, rotor.clock.degrees()),
                Pen::line(Role::Rotor, 0.3).dashed(),
            );
        }
        drawing
    }

    fn drag(&self, held: DVec2, from: DVec2, to: DVec2) -> Option<CrankTurn> {
        // The rotor turns at half the crank's speed.
        ((held - CENTRE).length() < RIM_MM + 4.0)
            .then(|| CrankTurn::new(2.0 * self.direction * swept(CENTRE, from, to)))
    }
}

/// The rotor of a drop-in, clock degrees at No. 1's firing TDC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DroppedIn {
    /// Held over its hole, before the drive is let down: with an arrow for how far it will turn, clockwise
    /// positive.
    Held {
        /// Where it points.
        at_deg: f64,
        /// What the drive turns it by on its way home.
        turns_deg: f64,
    },
    /// Home, where it is right.
    Home {
        /// Where it points.
        at_deg: f64,
    },
    /// Home where it is not right, beside where it would be.
    Out {
        /// Where it would point.
        right_deg: f64,
        /// Where it points instead, each way that it can be out.
        at_deg: [f64; 2],
    },
}

impl DroppedIn {
    /// Where it points, or would, on its way too.
    fn points_at(self) -> [f64; 3] {
        match self {
            Self::Held { at_deg, turns_deg } => {
                [0.0, 0.5, 1.0].map(|part| at_deg + part * turns_deg)
            }
            Self::Home { at_deg } => [at_deg; 3],
            Self::Out {
                right_deg,
                at_deg: [one, other],
            } => [right_deg, one, other],
        }
    }
}

/// The side of the cap that is farthest from all of these; below, where that is far enough.
fn farthest_from(rotors_deg: &[f64]) -> f64 {
    const FAR_DEG: f64 = 60.0;
    let room = |side_deg: f64| {
        let apart = rotors_deg
            .iter()
            .map(|at| wrap_signed(side_deg - at, 360.0).abs());
        apart.fold(180.0, f64::min).min(FAR_DEG)
    };
    let sides = [180.0, 0.0, 270.0, 90.0].into_iter();
    // Of sides as far, the first.
    sides.fold(
        180.0,
        |best, side| if room(side) > room(best) { side } else { best },
    )
}

/// The cap with the rotor of a drop-in. None for an engine without a distributor.
pub fn dropped_in(phasing: &Phasing, rotor: DroppedIn) -> Option<Drawing> {
    let mut cap = Cap::without_arrow(phasing, &[])?;
    cap.turning_arrow(farthest_from(&rotor.points_at()));
    let mut drawing = cap.still.clone();
    let line = Pen::line(Role::Main, 0.6);
    match rotor {
        DroppedIn::Held { at_deg, turns_deg } => {
            drawing.area(cap.rotor(at_deg), Pen::fill(Role::Paper));
            drawing.area(cap.rotor(at_deg), line.dashed());
            drawing.circle(CENTRE, 2.0, Pen::line(Role::Main, 0.3));
            if turns_deg != 0.0 {
                drawing.turning_arrow(CENTRE, 14.0, at_deg, turns_deg, line);
            }
        }
        DroppedIn::Home { at_deg } => {
            drawing.area(cap.rotor(at_deg), Pen::both(Role::Rotor, 0.3));
            drawing.circle(CENTRE, 2.0, Pen::fill(Role::Paper));
            drawing.circle(CENTRE, 2.0, Pen::line(Role::Main, 0.3));
        }
        DroppedIn::Out { right_deg, at_deg } => {
            drawing.area(cap.rotor(right_deg), Pen::line(Role::Ghost, 0.4));
            for (index, out_deg) in at_deg.into_iter().enumerate() {
                // The two ways are told apart by their lines; where they are one, one is drawn.
                let pen = if index == 0 { line } else { line.dashed() };
                if index == 0 || out_deg != at_deg[0] {
                    drawing.area(cap.rotor(out_deg), pen);
                }
            }
            drawing.circle(CENTRE, 2.0, Pen::line(Role::Main, 0.3));
        }
    }
    Some(drawing)
}

/// The towers, those of cylinders that fire together as one; without the leads that are off.
fn towers(phasing: &Phasing, off: &[u8]) -> Vec<Tower> {
    /// Nearer than this, two towers are one.
    const ONE_DEG: f64 = 0.01;
    let Some(distributor) = &phasing.engine().metric().distributor else {
        return Vec::new();
    };
    let body_turn = phasing.assembly().body_turn_deg;
    let mut towers: Vec<Tower> = Vec::new();
    for (at, &lead) in phasing.towers().into_iter().zip(phasing.leads()) {
        let lead = Some(lead).filter(|lead| !off.contains(lead));
        match towers
            .iter_mut()
            .find(|tower| tower.at.past(at, distributor.rotation()).abs() < ONE_DEG)
        {
            Some(tower) => tower.leads.extend(lead),
            None => towers.push(Tower {
                at,
                drawn: (body_turn != 0.0).then(|| at.turned(distributor.rotation(), body_turn)),
                leads: lead.into_iter().collect(),
                is_first: towers.is_empty(),
            }),
        }
    }
    towers
}
