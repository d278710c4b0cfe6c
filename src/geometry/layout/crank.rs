//! The crank and its cylinders: what the bore's proportions give, and how close the throws and
//! bores stand along the shaft.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the throws and banks of this description"
)]

use crate::angle::wrap_signed;
use crate::description::Description;
use crate::geometry::pins::Pins;
use crate::laws::SliderCrank;

/// Cylinder wall, over the bore.
const WALL: f64 = 0.06;
/// From one bore to the next in the same bank, over the bore.
const BORE_PITCH: f64 = 1.2;
/// The piston's crown over its pin, over the bore.
const CROWN: f64 = 0.38;
/// The piston's skirt under its pin, over the bore.
const SKIRT: f64 = 0.30;
/// What stays between crown and head at top dead centre, over the bore.
const CHAMBER: f64 = 0.10;
/// The rod's width along the crankpin, over the bore.
const ROD_WIDTH: f64 = 0.22;
/// A web's width along the shaft, over the bore.
const WEB_WIDTH: f64 = 0.13;
/// A crankpin's radius, over the bore.
const PIN: f64 = 0.205;
/// Between the webs of one throw and the next at the least, over the bore: a main bearing, or two
/// lobes of a camshaft close by, stand there.
const BETWEEN_THROWS: f64 = 0.38;
/// What stays between bodies that must not meet, over the bore.
pub(super) const CLEAR: f64 = 0.02;
/// A rod's big end over its crankpin, and how far its bolts reach from the pin.
const BIG_END: f64 = 1.34;
const BOLTS_REACH: f64 = 1.5;
/// A main journal's radius, over the bore.
const JOURNAL: f64 = 0.25;

/// One throw of the crank.
#[derive(Clone, Debug, PartialEq)]
pub struct ThrowPlace {
    /// Clockwise from No. 1's throw, seen from the front.
    pub angle_deg: f64,
    /// The middle of its pin.
    pub z_mm: f64,
    /// How long its pin is, between the webs.
    pub pin_length_mm: f64,
}

/// The measures all cylinders share, along the bore from the crankshaft's axis and across it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Bore.
    pub bore_mm: f64,
    /// Thickness of the cylinder's wall.
    pub wall_mm: f64,
    /// The throw's radius.
    pub throw_mm: f64,
    /// The rod, centre to centre.
    pub rod_mm: f64,
    /// The crown over the gudgeon pin.
    pub crown_mm: f64,
    /// The skirt's end under the gudgeon pin.
    pub skirt_mm: f64,
    /// The gudgeon pin's radius.
    pub gudgeon_mm: f64,
    /// The crankpin's radius.
    pub pin_mm: f64,
    /// The main journals' radius.
    pub journal_mm: f64,
    /// The rod's width along the pin.
    pub rod_width_mm: f64,
    /// A web's width along the shaft.
    pub web_mm: f64,
    /// Where the cylinder ends towards the crank.
    pub foot_mm: f64,
    /// The face of the head, on which the valves sit.
    pub deck_mm: f64,
    /// Where the valves' stems end with the valves shut.
    pub stem_mm: f64,
    /// An intake valve's head, its radius.
    pub intake_head_mm: f64,
    /// An exhaust valve's head, its radius.
    pub exhaust_head_mm: f64,
}

impl Measures {
    /// The cylinder's outer radius.
    pub fn barrel_mm(&self) -> f64 {
        self.bore_mm / 2.0 + self.wall_mm
    }

    /// How far a counterweight may reach from the shaft's axis: clear of a piston's skirt at bottom
    /// dead centre.
    pub fn foot_of_counterweight_mm(&self) -> f64 {
        f64::max(
            self.rod_mm - self.throw_mm - self.skirt_mm - 0.04 * self.bore_mm,
            self.journal_mm * 1.3,
        )
    }

    /// The radius of a counterweight.
    pub fn counterweight_mm(&self) -> f64 {
        f64::min(
            self.throw_mm * 1.05 + self.pin_mm * 0.4,
            self.foot_of_counterweight_mm(),
        )
    }

    /// The radius of a rod's big end.
    pub fn big_end_mm(&self) -> f64 {
        self.pin_mm * BIG_END
    }

    /// The radius of a rod's small end.
    pub fn small_end_mm(&self) -> f64 {
        self.gudgeon_mm * 1.55
    }

    /// Half the width of a rod's shank where it leaves the big end, and where it comes to the small
    /// one.
    pub fn shank_mm(&self) -> (f64, f64) {
        (self.big_end_mm() * 0.6, self.small_end_mm() * 0.72)
    }

    /// How far from the shaft's axis anything of the turning crank and its rods' big ends comes.
    pub fn crank_reach_mm(&self) -> f64 {
        f64::max(
            self.throw_mm + self.pin_mm * BOLTS_REACH,
            self.counterweight_mm(),
        )
    }

    /// Where the cylinders must end towards the crank for a swinging rod to clear them.
    fn foot_over_the_rods_mm(&self, slider: &SliderCrank) -> f64 {
        /// Looks round the crank and along the rod.
        const ROUND: u32 = 72;
        const ALONG: u32 = 24;
        let half_bore = self.bore_mm * (0.5 - CLEAR);
        let (wide, narrow) = self.shank_mm();
        let mut foot = f64::MIN;
        for step in 0..ROUND {
            let throw_deg = 360.0 * f64::from(step) / f64::from(ROUND);
            let pins = Pins::at(slider, crate::angle::Direction::Clockwise, throw_deg);
            let (from, to) = (pins.crankpin, pins.gudgeon);
            let lean = (to - from).normalize_or_zero();
            for part in 0..ALONG {
                let part = f64::from(part) / f64::from(ALONG);
                let middle = from + (to - from) * part;
                let half = wide + (narrow - wide) * part;
                if middle.x.abs() + half * lean.y.abs() > half_bore {
                    foot = foot.max(middle.y + half * lean.x.abs());
                }
            }
            let beside = half_bore - from.x.abs();
            if beside < self.big_end_mm() {
                let up = self.big_end_mm().powi(2) - beside.max(0.0).powi(2);
                foot = foot.max(from.y + up.sqrt());
            }
        }
        foot + CLEAR * self.bore_mm
    }
}

/// How far apart along the shaft two cylinders must stand whose bores lean `lean_deg` from one
/// another, so that neither their barrels meet at the feet nor their pistons under them.
fn apart_mm(measures: &Measures, bottom_mm: f64, lean_deg: f64) -> f64 {
    let spread = 2.0 * (lean_deg.to_radians() / 2.0).sin().abs();
    let clear = 3.0 * CLEAR * measures.bore_mm;
    let needed = |across: f64, up: f64| {
        let beside = spread * up;
        (across * across - beside * beside).max(0.0).sqrt()
    };
    f64::max(
        needed(2.0 * measures.barrel_mm() + clear, measures.foot_mm),
        needed(
            measures.bore_mm * 0.985 + clear,
            bottom_mm - measures.skirt_mm,
        ),
    )
}

/// The least angle by which two banks lean from one another; None for one bank.
fn least_lean_deg(description: &Description) -> Option<f64> {
    let banks = bank_angles(description);
    let leans = banks.iter().enumerate().flat_map(|(index, one)| {
        banks[..index]
            .iter()
            .map(move |other| wrap_signed(one - other, 360.0).abs())
    });
    leans.filter(|lean| *lean > 0.0).reduce(f64::min)
}

pub(super) fn measures(description: &Description) -> Measures {
    let bore = description.bore;
    let slider = SliderCrank::new(
        description.crankshaft.stroke,
        description.rod_length,
        description.pin_offset(),
    );
    let top = slider.pin_height_mm(slider.tdc_deg());
    let bottom = top - slider.travel_mm();
    // A stroke much over the bore wants slimmer bearings, a short rod a shorter skirt.
    let room = f64::min(bore, 0.9 * description.rod_length);
    let pin_mm = f64::min(PIN * room, 0.45 * description.crankshaft.stroke);
    let crown_mm = CROWN * room;
    let deck_mm = top + crown_mm + CHAMBER * bore;
    let mut measures = Measures {
        bore_mm: bore,
        wall_mm: WALL * bore,
        throw_mm: slider.radius_mm(),
        rod_mm: description.rod_length,
        crown_mm,
        skirt_mm: SKIRT * room,
        gudgeon_mm: 0.11 * room,
        pin_mm,
        journal_mm: f64::min(JOURNAL * room, 0.55 * description.crankshaft.stroke),
        rod_width_mm: ROD_WIDTH * bore,
        web_mm: WEB_WIDTH * bore,
        foot_mm: f64::max(bottom - SKIRT * room + 0.12 * bore, 0.1 * bore),
        deck_mm,
        stem_mm: deck_mm + 0.75 * bore,
        intake_head_mm: 0.2 * bore,
        exhaust_head_mm: 0.18 * bore,
    };
    if let Some(lean_deg) = least_lean_deg(description) {
        // Narrow banks: shorter skirts, and barrels that begin where they are clear of one another,
        // so that two rods can share a pin.
        let spread = 2.0 * (lean_deg.to_radians() / 2.0).sin();
        let step = measures.rod_width_mm * BESIDE_A_ROD;
        let up = |across: f64| {
            let across = across + 3.0 * CLEAR * bore;
            (across * across - step * step).max(0.0).sqrt() / spread
        };
        measures.skirt_mm = (bottom - up(bore * 0.985)).clamp(0.13 * room, measures.skirt_mm);
        let foot_mm = up(2.0 * measures.barrel_mm());
        measures.foot_mm = measures.foot_mm.max(foot_mm.min(bottom));
    }
    let over_rods_mm = measures.foot_over_the_rods_mm(&slider);
    measures.foot_mm = f64::max(measures.foot_mm, over_rods_mm.min(deck_mm - 0.3 * bore));
    measures
}

/// From one rod to the next on a shared pin, over a rod's width.
const BESIDE_A_ROD: f64 = 1.04;

/// The throws and where each cylinder's bore lies: as close as the bores of one bank and the webs
/// of the crank allow.
pub(super) fn along_the_crank(
    description: &Description,
    measures: &Measures,
) -> (Vec<ThrowPlace>, Vec<f64>) {
    let pitch = BORE_PITCH * measures.bore_mm;
    let bank_of = |number: u32| {
        description
            .banks
            .iter()
            .position(|bank| bank.cylinders.contains(&number))
            .unwrap_or(0)
    };
    let slider = SliderCrank::of(description);
    let bottom_mm = slider.pin_height_mm(slider.tdc_deg()) - slider.travel_mm();
    // Banks that stand at one angle are in each other's way.
    let angle_of =
        |number: u32| crate::angle::wrap(description.banks[bank_of(number)].angle, 360.0);
    let apart = |one: f64, other: f64| {
        if one == other {
            pitch
        } else {
            apart_mm(measures, bottom_mm, wrap_signed(one - other, 360.0))
        }
    };
    let mut rearmost: Vec<(f64, f64)> = Vec::new();
    let mut throws = Vec::new();
    let mut cylinder_z = vec![0.0; description.cylinder_count()];
    let mut free_z = f64::INFINITY;
    let number_one = description
        .crankshaft
        .throws
        .iter()
        .find(|throw| throw.cylinders.contains(&1))
        .map_or(0.0, |throw| throw.angle);
    for throw in &description.crankshaft.throws {
        let count = throw.cylinders.len().max(1) as f64;
        // Where two bores of one bank share a pin they need room beside one another on it.
        let shared = throw.cylinders.iter().enumerate().any(|(i, &a)| {
            throw.cylinders[..i]
                .iter()
                .any(|&b| angle_of(a) == angle_of(b))
        });
        let beside = measures.rod_width_mm * BESIDE_A_ROD;
        let step = if shared {
            pitch
        } else {
            throw
                .cylinders
                .windows(2)
                .map(|pair| apart(angle_of(pair[0]), angle_of(pair[1])))
                .fold(beside, f64::max)
        };
        let pin_length_mm = (count - 1.0) * step + measures.rod_width_mm * 1.08;
        let whole = pin_length_mm + 2.0 * measures.web_mm;
        let mut z = if free_z.is_finite() {
            free_z - whole / 2.0
        } else {
            0.0
        };
        let across = |index: usize| ((count - 1.0) / 2.0 - index as f64) * step;
        for (index, &number) in throw.cylinders.iter().enumerate() {
            for &(angle, last) in &rearmost {
                z = f64::min(z, last - apart(angle, angle_of(number)) - across(index));
            }
        }
        for (index, &number) in throw.cylinders.iter().enumerate() {
            let own = z + across(index);
            if let Some(place) = cylinder_z.get_mut((number as usize).wrapping_sub(1)) {
                *place = own;
            }
            rearmost.retain(|(angle, _)| *angle != angle_of(number));
            rearmost.push((angle_of(number), own));
        }
        free_z = z - whole / 2.0 - BETWEEN_THROWS * measures.bore_mm;
        throws.push(ThrowPlace {
            angle_deg: throw.angle - number_one,
            z_mm: z,
            pin_length_mm,
        });
    }
    // The middle of the engine at z = 0.
    let shift = throws.last().map_or(0.0, |last| last.z_mm / 2.0);
    throws.iter_mut().for_each(|throw| throw.z_mm -= shift);
    cylinder_z.iter_mut().for_each(|z| *z -= shift);
    (throws, cylinder_z)
}

/// The clock angles of the banks, as written, each once.
pub(super) fn bank_angles(description: &Description) -> Vec<f64> {
    let mut angles: Vec<f64> = Vec::new();
    for bank in &description.banks {
        if !angles.contains(&bank.angle) {
            angles.push(bank.angle);
        }
    }
    if angles.is_empty() {
        angles.push(0.0);
    }
    angles
}
