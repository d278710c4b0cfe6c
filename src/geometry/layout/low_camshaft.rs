//! Where a camshaft low in the block lies: clear of the crank, of the bores and of their push rods'
//! ways.
//!
//! As the description says; else where its mark needs it, if there is room; else beside a single
//! bank, in the valley of a vee, under a flat engine. Gears of a stated size put it where they put
//! it, unless it would stand in the crank or in a bore: then they are drawn larger.

use glam::DVec2;

use super::crank::{CLEAR, Measures};
use super::valve_gear::{LobeMeasures, push_rod_beside_mm};
use crate::angle::wrap_signed;
use crate::description::{Description, DriveKind};
use crate::geometry::clock::towards;
use crate::laws::gear_train;

/// The radius of a camshaft at the least, over the bore.
pub(super) const LEAST_SHAFT: f64 = 0.05;
/// A push rod's radius, over the bore.
pub(super) const PUSH_ROD: f64 = 0.035;

/// What a low camshaft is placed among.
pub(super) struct LowCamshaft<'a> {
    pub(super) description: &'a Description,
    pub(super) measures: &'a Measures,
    pub(super) banks: &'a [f64],
    pub(super) lobes: LobeMeasures,
}

/// How much room a place must have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Room {
    /// The lobes pass the throws.
    LobesPassTheCrank,
    /// The shaft passes the throws, the lobes stand between them; or, of a single throw, before it.
    ShaftPassesTheCrank,
}

impl LowCamshaft<'_> {
    /// Its clock direction from the crank, and how far off its axis is wanted.
    pub(super) fn place(&self, wanted_mm: f64) -> (f64, f64) {
        let drive = &self.description.cam_drive;
        let stated_mm = drive
            .module_mm()
            .filter(|_| drive.kind == DriveKind::Gears)
            .map(|module| module * gear_train::teeth_between(drive) / 2.0);
        let directions = self.directions();
        let first = directions.first().copied().unwrap_or(0.0);
        if let Some(stated_mm) = stated_mm {
            // Between two throws there is room for the lobes of one cylinder at either side.
            let mut throws = self.description.crankshaft.throws.iter();
            let shared = throws.any(|throw| throw.cylinders.len() > 1);
            let room = if shared && !self.has_one_throw() {
                Room::LobesPassTheCrank
            } else {
                Room::ShaftPassesTheCrank
            };
            let fits = |at: &&f64| self.has_room(**at, stated_mm, room);
            if let Some(&at) = directions.iter().find(fits) {
                return (at, stated_mm);
            }
        }
        for room in [Room::LobesPassTheCrank, Room::ShaftPassesTheCrank] {
            for &at in &directions {
                let growth =
                    (0..60).map(|step| wanted_mm + 0.05 * f64::from(step) * self.measures.bore_mm);
                let mut fitting = growth.filter(|away| self.has_room(at, *away, room));
                if let Some(away_mm) = fitting.next() {
                    return (at, away_mm);
                }
            }
        }
        (first, stated_mm.unwrap_or(wanted_mm))
    }

    /// The directions that come into question, the likeliest first; one where it is described.
    fn directions(&self) -> Vec<f64> {
        let description = self.description;
        if let Some(given) = description.cam_drive.cam_at {
            return vec![given];
        }
        let apart = |clock: f64| {
            let banks = self.banks.iter();
            banks
                .map(|bank| wrap_signed(clock - bank, 360.0).abs())
                .fold(360.0, f64::min)
        };
        let mut directions = Vec::new();
        let mark = description
            .marks
            .iter()
            .find(|mark| mark.on.camshaft() == Some(0));
        if let Some(mark) = mark {
            let direction = gear_train::cam_direction(
                &description.cam_drive,
                description.crankshaft.rotation(),
            );
            let dot = mark.at + direction.sign() * description.cam_drive.marks_meet_at() / 2.0;
            if apart(dot + 180.0) > 35.0 {
                directions.push(dot + 180.0);
            }
        }
        let first = self.banks.first().copied().unwrap_or(0.0);
        let (least, most) = self
            .banks
            .iter()
            .map(|bank| wrap_signed(bank - first, 360.0))
            .fold((0.0, 0.0), |(least, most), off| {
                (f64::min(least, off), f64::max(most, off))
            });
        let middle = first + (least + most) / 2.0;
        if most - least >= 150.0 {
            // Of the two middles of a flat engine, the lower first.
            let lower = if towards(middle).y > 0.0 {
                middle + 180.0
            } else {
                middle
            };
            directions.extend([lower, lower + 180.0]);
        } else if most > least {
            directions.push(middle);
        }
        for beside in [60.0, 75.0, 90.0, 105.0] {
            directions.extend([first + most + beside, first + least - beside]);
        }
        directions
    }

    /// Whether nothing is in its way there, nor in the way of its push rods.
    fn has_room(&self, at_deg: f64, away_mm: f64, room: Room) -> bool {
        // A chain's or belt's centres come out as its links allow.
        let spans: &[f64] = match self.description.cam_drive.kind {
            DriveKind::Gears => &[1.0],
            DriveKind::Chain | DriveKind::Belt => &[0.91, 1.0, 1.09],
        };
        spans.iter().all(|span| {
            let cam = towards(at_deg) * away_mm * *span;
            self.is_clear_of_the_crank(cam, room)
                && self.banks.iter().all(|bank| self.is_clear_of(cam, *bank))
        })
    }

    /// Whether the engine has one throw: lobes may then stand before it.
    fn has_one_throw(&self) -> bool {
        self.description.crankshaft.throws.len() == 1
    }

    fn is_clear_of_the_crank(&self, cam: DVec2, room: Room) -> bool {
        let (bore, reach) = (self.measures.bore_mm, self.measures.crank_reach_mm());
        let away = cam.length() - CLEAR * bore;
        match room {
            Room::LobesPassTheCrank => away - self.lobes.nose_mm >= reach,
            Room::ShaftPassesTheCrank if self.has_one_throw() => {
                away - self.lobes.nose_mm >= self.measures.journal_mm * 1.4
            }
            Room::ShaftPassesTheCrank => away - LEAST_SHAFT * bore >= reach,
        }
    }

    /// Whether the cylinders of a bank, and its push rods' way up, are clear of it.
    fn is_clear_of(&self, cam: DVec2, bank_deg: f64) -> bool {
        let measures = self.measures;
        let (bore, clear) = (measures.bore_mm, CLEAR * measures.bore_mm);
        let (up, across) = (towards(bank_deg), towards(bank_deg + 90.0));
        let (along, beside) = (cam.dot(up), cam.dot(across).abs());
        // Before a single throw the lobes stand before the widest of the barrel too.
        let barrel = if self.has_one_throw() {
            0.9 * measures.barrel_mm()
        } else {
            measures.barrel_mm()
        };
        let low = along + self.lobes.nose_mm + self.lobes.follower_mm;
        if low + 0.1 * bore > measures.stem_mm {
            return false;
        }
        // The lobes themselves lie under the barrels' feet, or clear of them.
        let takes = if along + self.lobes.nose_mm + clear < measures.foot_mm {
            self.lobes.half_follower_mm
        } else {
            f64::max(self.lobes.half_follower_mm, self.lobes.nose_mm)
        };
        if beside < barrel + takes + clear {
            return false;
        }
        if along < 0.0 && beside < measures.crank_reach_mm() + PUSH_ROD * bore + clear {
            return self.has_one_throw();
        }
        self.has_one_throw() || self.misses_other_banks(cam, bank_deg)
    }

    /// Whether a bank's push rods pass every other bank's barrels.
    fn misses_other_banks(&self, cam: DVec2, bank_deg: f64) -> bool {
        /// Looks along the rod.
        const ALONG: u32 = 40;
        let measures = self.measures;
        let clear = (PUSH_ROD + CLEAR) * measures.bore_mm + measures.barrel_mm();
        let (up, across) = (towards(bank_deg), towards(bank_deg + 90.0));
        let top = up * measures.stem_mm + across * push_rod_beside_mm(measures, cam, bank_deg);
        self.banks
            .iter()
            .filter(|other| wrap_signed(**other - bank_deg, 360.0) != 0.0)
            .all(|other| {
                let (up, across) = (towards(*other), towards(*other + 90.0));
                (0..=ALONG).all(|step| {
                    let point = cam.lerp(top, f64::from(step) / f64::from(ALONG));
                    let along = point.dot(up);
                    !(measures.foot_mm..=measures.stem_mm).contains(&along)
                        || point.dot(across).abs() > clear
                })
            })
    }
}
