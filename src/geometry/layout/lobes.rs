//! Where along a low camshaft each lobe lies, with its follower and its push rod: as near to its
//! valve as the throws, the cylinders and the other lobes let it. A rocker bridges what is left.

use glam::DVec2;

use super::crank::{CLEAR, Measures, ThrowPlace};
use super::low_camshaft::PUSH_ROD;
use super::valve_gear::{CamPlace, CylinderPlace, LobeMeasures, ValvePlace, push_rod_beside_mm};
use crate::geometry::clock::towards;

/// From the middle of one lobe to that of the next at the least, over a lobe's width.
const LOBE_STEP: f64 = 1.17;
/// Half of what a rocker takes up along its shaft beyond its arms' middles, over the bore.
pub(super) const HALF_ROCKER: f64 = 0.075;
/// How far a rocker's pivot lies over the stem's end, over the bore.
pub(super) const ROCKER_UP: f64 = 0.055;
/// How much higher a rocker's pivot lies that reaches past another, over the bore.
const ROCKER_OVER: f64 = 0.24;

/// What the lobes are placed among.
pub(super) struct AlongTheCamshaft<'a> {
    pub(super) measures: &'a Measures,
    pub(super) throws: &'a [ThrowPlace],
    pub(super) cams: &'a [CamPlace],
    pub(super) lobes: LobeMeasures,
    pub(super) lobe_width_mm: f64,
    /// Where a distributor is driven, and half of what its drive takes up along the shaft.
    pub(super) taken: Option<(f64, f64)>,
}

/// A cylinder's bore: the clock position it points to, and the middle of it along the shaft.
#[derive(Clone, Copy)]
struct Bore {
    bank_deg: f64,
    z_mm: f64,
}

/// A lobe that has its place.
#[derive(Clone, Copy)]
struct Placed {
    cam: usize,
    bank_deg: f64,
    valve_z_mm: f64,
    z_mm: f64,
}

impl Placed {
    /// From end to end of its rocker.
    fn rocker(&self, bore_mm: f64) -> (f64, f64) {
        let half = HALF_ROCKER * bore_mm;
        (
            self.valve_z_mm.min(self.z_mm) - half,
            self.valve_z_mm.max(self.z_mm) + half,
        )
    }

    fn meets(&self, other: &Self, bore_mm: f64) -> bool {
        let ((from, to), (other_from, other_to)) = (self.rocker(bore_mm), other.rocker(bore_mm));
        self.bank_deg == other.bank_deg && from < other_to && other_from < to
    }
}

impl AlongTheCamshaft<'_> {
    /// Gives every lobe its place, and every rocker its height.
    pub(super) fn place(&self, cylinders: &mut [CylinderPlace]) {
        let bores: Vec<Bore> = cylinders
            .iter()
            .map(|cylinder| Bore {
                bank_deg: cylinder.bank_deg,
                z_mm: cylinder.z_mm,
            })
            .collect();
        let mut valves: Vec<(f64, &mut ValvePlace)> = cylinders
            .iter_mut()
            .flat_map(|cylinder| {
                let bank_deg = cylinder.bank_deg;
                [&mut cylinder.intake, &mut cylinder.exhaust].map(|valve| (bank_deg, valve))
            })
            .collect();
        valves.sort_by(|(_, one), (_, other)| other.z_mm.total_cmp(&one.z_mm));
        let mut placed: Vec<Placed> = Vec::new();
        for (bank_deg, valve) in &mut valves {
            valve.lobe_z_mm = self.nearest(*bank_deg, valve, &bores, &placed);
            placed.push(Placed {
                cam: valve.cam,
                bank_deg: *bank_deg,
                valve_z_mm: valve.z_mm,
                z_mm: valve.lobe_z_mm,
            });
        }
        let bore_mm = self.measures.bore_mm;
        for (index, (_, valve)) in valves.iter_mut().enumerate() {
            let Some(own) = placed.get(index).copied() else {
                continue;
            };
            let long = |one: &Placed| (one.valve_z_mm - one.z_mm).abs();
            let over = placed.iter().enumerate().any(|(other_index, other)| {
                other_index != index
                    && own.meets(other, bore_mm)
                    && (long(&own), index) > (long(other), other_index)
            });
            let up = if over {
                ROCKER_UP + ROCKER_OVER
            } else {
                ROCKER_UP
            };
            valve.rocker_up_mm = up * bore_mm;
        }
    }

    /// The nearest place to a valve that is free.
    fn nearest(&self, bank_deg: f64, valve: &ValvePlace, bores: &[Bore], placed: &[Placed]) -> f64 {
        /// Steps to either side, in hundredths of the bore.
        const STEPS: i32 = 300;
        let bore_mm = self.measures.bore_mm;
        let at = |step: i32| valve.z_mm + f64::from(step) * 0.01 * bore_mm;
        let cost = |z_mm: f64| {
            let own = Placed {
                cam: valve.cam,
                bank_deg,
                valve_z_mm: valve.z_mm,
                z_mm,
            };
            // Past another's rocker only where there is no other way.
            let passes = placed
                .iter()
                .filter(|other| own.meets(other, bore_mm))
                .count();
            (z_mm - valve.z_mm).abs() + passes as f64 * 0.6 * bore_mm
        };
        (-STEPS..=STEPS)
            .map(at)
            .filter(|z_mm| self.is_free(*z_mm, bank_deg, valve, bores, placed))
            .min_by(|one, other| cost(*one).total_cmp(&cost(*other)))
            .unwrap_or(valve.z_mm)
    }

    fn is_free(
        &self,
        z_mm: f64,
        bank_deg: f64,
        valve: &ValvePlace,
        bores: &[Bore],
        placed: &[Placed],
    ) -> bool {
        let Some(cam) = self.cams.get(valve.cam) else {
            return true;
        };
        let half = self.lobe_width_mm / 2.0 + CLEAR * self.measures.bore_mm;
        let step = self.lobe_width_mm * LOBE_STEP;
        let mut others = placed.iter().filter(|other| other.cam == valve.cam);
        let apart = others.all(|other| (other.z_mm - z_mm).abs() >= step);
        let driver = self
            .taken
            .is_none_or(|(at, takes)| (at - z_mm).abs() >= takes + half);
        apart
            && driver
            && self.is_clear_of_the_throws(z_mm, half, cam.centre)
            && bores
                .iter()
                .all(|bore| self.is_clear_of(*bore, z_mm, half, bank_deg, cam.centre))
    }

    /// Whether the throws pass a lobe there.
    fn is_clear_of_the_throws(&self, z_mm: f64, half_mm: f64, cam: DVec2) -> bool {
        let measures = self.measures;
        let clear = CLEAR * measures.bore_mm;
        if cam.length() - self.lobes.nose_mm >= measures.crank_reach_mm() + clear * 0.9 {
            return true;
        }
        let (beside, before) = self
            .throws
            .iter()
            .fold((true, true), |(beside, before), throw| {
                let reach = throw.pin_length_mm / 2.0 + measures.web_mm + half_mm;
                (
                    beside && (throw.z_mm - z_mm).abs() >= reach,
                    before && z_mm - throw.z_mm >= reach,
                )
            });
        if passes_the_crank(measures, cam) {
            beside
        } else {
            before
        }
    }

    /// Whether a cylinder is clear of a lobe there, of its follower and of its push rod.
    fn is_clear_of(&self, other: Bore, z_mm: f64, half_mm: f64, bank_deg: f64, cam: DVec2) -> bool {
        /// Looks along the rod.
        const ALONG: u32 = 40;
        let measures = self.measures;
        let off = ((other.z_mm - z_mm).abs() - half_mm).max(0.0);
        let barrel = measures.barrel_mm();
        if off >= barrel {
            return true;
        }
        let wide = (barrel * barrel - off * off).sqrt() + CLEAR * measures.bore_mm;
        let (up, across) = (towards(other.bank_deg), towards(other.bank_deg + 90.0));
        let stands = |point: DVec2, radius: f64| {
            let along = point.dot(up);
            along + radius < measures.foot_mm
                || along > measures.stem_mm
                || point.dot(across).abs() >= wide + radius
        };
        if !stands(cam, self.lobes.nose_mm) {
            return false;
        }
        let way = towards(bank_deg);
        let top = way * measures.stem_mm
            + towards(bank_deg + 90.0) * push_rod_beside_mm(measures, cam, bank_deg);
        (0..=ALONG).all(|step| {
            let point = cam.lerp(top, f64::from(step) / f64::from(ALONG));
            let low = (point - cam).dot(way) < self.lobes.nose_mm + self.lobes.follower_mm;
            let radius = if low {
                self.lobes.half_follower_mm
            } else {
                PUSH_ROD * measures.bore_mm
            };
            stands(point, radius)
        })
    }
}

/// Whether a camshaft that lies there passes the throws: else it ends before them.
pub(super) fn passes_the_crank(measures: &Measures, cam: DVec2) -> bool {
    let least = super::low_camshaft::LEAST_SHAFT * measures.bore_mm;
    cam.length() - least >= measures.crank_reach_mm() + CLEAR * measures.bore_mm * 0.9
}
