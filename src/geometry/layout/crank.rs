//! The crank and its cylinders: what the bore's proportions give, and how close the throws and
//! bores stand along the shaft.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the throws and banks of this description"
)]

use crate::description::Description;
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
const PIN: f64 = 0.22;
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
    /// How far a counterweight may reach from the shaft's axis: clear of a piston's skirt at bottom
    /// dead centre.
    pub fn foot_of_counterweight_mm(&self) -> f64 {
        f64::max(
            self.rod_mm - self.throw_mm - self.skirt_mm - 0.04 * self.bore_mm,
            self.journal_mm * 1.3,
        )
    }
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
    Measures {
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
        intake_head_mm: 0.21 * bore,
        exhaust_head_mm: 0.18 * bore,
    }
}

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
    // Banks that stand at one angle are in each other's way.
    let angle_of =
        |number: u32| crate::angle::wrap(description.banks[bank_of(number)].angle, 360.0);
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
        let step = if shared {
            pitch
        } else {
            measures.rod_width_mm * 1.04
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
                // Bores that lean less than a bore's width apart from one another meet at their
                // feet.
                if angle == angle_of(number) {
                    z = f64::min(z, last - pitch - across(index));
                }
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
        free_z = z - whole / 2.0 - 0.3 * measures.bore_mm;
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
