//! The distributor's place, and the drive it goes down on.
//!
//! A drive that turns its rotor as it goes down is a pair of helical gears on shafts that cross:
//! the driver on the camshaft or the crankshaft, along z, the driven on the distributor's upright
//! shaft beside it. Seen where the two touch, their teeth are one line that leans t towards the
//! front for each 1 upwards. With pitch radii R₁ and R₂ and teeth z₁ and z₂, what the driver moves
//! upwards must push the driven along z at the ratio of the teeth, so t = (z₁ / z₂) (R₂ / R₁), and
//! the line leans to the rear (−) where both turn clockwise as they are looked at, or neither does.
//! Which side the driven stands on then decides whether the gears are right-hand or left-hand; the
//! description, by the way the drive turns as it goes down, decides it for the drawing. Source:
//! crossed helical gears, *Machinery's Handbook*, gearing (from memory).
//!
//! Where the description says nothing of a turn on the way down (a tongue, or no figure) the drive
//! is drawn as a tongue on top of a closed housing. A tongue on a geared shaft stands over such a
//! pair of gears: the distributor lifts off, and the shaft with its slot stays in mesh.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a bank; `windows(2)` gives pairs"
)]

use glam::{DVec2, DVec3};

use super::crank::Measures;
use super::valve_gear::{CamPlace, CylinderPlace};
use crate::angle::Clock;
use crate::description::{Description, Distributor, DrivenBy, ValveGear};
use crate::geometry::clock::towards;
use crate::geometry::teeth::Gear;
use crate::laws::{gear_train, ignition};
use crate::procedures::seating::ENGAGES_AT;

/// How wide either gear is, over the bore.
const WIDTH: f64 = 0.2;
/// The pitch radius of a pair that stands free behind the engine, over the bore.
const FREE_RADIUS: f64 = 0.24;
/// How far a tongue reaches into its slot, over the bore.
const TONGUE: f64 = 0.08;
/// How far a drive is lifted at the least, over the bore: it must be seen to be out.
const LEAST_LIFT: f64 = 0.5;

/// The distributor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DistributorPlace {
    /// The middle of the cap's underside; the shaft goes straight down from it, and the cap is
    /// looked at from above. Clock 0 of the cap points to the rear of the engine (−z), 90 to the
    /// right (+x).
    pub cap: DVec3,
    /// The cap's radius.
    pub radius_mm: f64,
    /// Where the tower of No. 1's lead stands as drawn, clock degrees of the cap.
    pub number_one_deg: f64,
    /// How far down its shaft goes.
    pub shaft_mm: f64,
    /// What drives it, and where: the driving shaft's axis, and the place along it.
    pub driven_by: DrivenBy,
    /// Which of the camshafts drawn drives it, where one does.
    pub cam: usize,
    /// The driving shaft at the drive.
    pub driver: DVec3,
    /// That shaft's radius there.
    pub driver_radius_mm: f64,
    /// How far over that shaft's axis a tongue stands in its slot: clear of the shaft.
    pub joint_mm: f64,
    /// The gears; None where a tongue drives it on a shaft that is not drawn.
    pub gears: Option<HelicalPair>,
    /// Whether a tongue stands in a slot over those gears.
    pub tongue_over_gears: bool,
    /// How far up it is lifted to be clear.
    pub lift_mm: f64,
    /// How far up it still is where its teeth engage.
    pub engages_mm: f64,
}

/// One gear of a pair on shafts that cross.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HelicalGear {
    /// How many teeth.
    pub teeth: u32,
    /// Its pitch circle.
    pub pitch_radius_mm: f64,
    /// Where a tooth stands at θ = 0 as drawn, in the middle of its width: clock degrees, from the
    /// front for the driver, from above for the driven.
    pub tooth_deg: f64,
    /// How far its teeth turn clockwise for a millimetre towards the viewer.
    pub twist_deg_per_mm: f64,
    /// The cosine of the angle between its teeth and its shaft.
    pub lean_cos: f64,
}

/// A pair of helical gears on shafts that cross.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HelicalPair {
    /// On the driving shaft.
    pub driver: HelicalGear,
    /// On the distributor's.
    pub driven: HelicalGear,
    /// The width of either.
    pub width_mm: f64,
}

/// Where on a low camshaft a distributor beside the block is driven, and half of what its drive
/// takes up along it; None where it is driven elsewhere.
pub(super) fn taken_on_a_low_camshaft(
    description: &Description,
    measures: &Measures,
    banks: &[f64],
    cylinders: &[CylinderPlace],
) -> Option<(f64, f64)> {
    let distributor = description.distributor.as_ref()?;
    if distributor.driven_by != DrivenBy::Camshaft || banks.len() != 1 {
        return None;
    }
    Some((between_bores(cylinders)?, 0.14 * measures.bore_mm))
}

/// What the distributor is placed among.
pub(super) struct Surroundings<'a> {
    pub measures: &'a Measures,
    pub cylinders: &'a [CylinderPlace],
    pub banks: &'a [f64],
    pub cams: &'a [CamPlace],
    pub gear: ValveGear,
    /// Where the last bore or web ends, along z.
    pub rear_z_mm: f64,
    /// Which of the camshafts drives it, where one does.
    pub driving: usize,
}

impl DistributorPlace {
    /// How far up the distributor stands with its drive so far down, 0 lifted clear to 1 seated.
    pub fn height_mm(&self, down: f64) -> f64 {
        if down < ENGAGES_AT {
            self.lift_mm + (self.engages_mm - self.lift_mm) * down / ENGAGES_AT
        } else {
            self.engages_mm * (1.0 - down) / (1.0 - ENGAGES_AT)
        }
    }

    /// Points at the ends of the cap, seen from above, with its leads' numbers.
    pub fn cap_ends(&self) -> Vec<DVec3> {
        let (wide, high) = (self.radius_mm * 1.45, self.radius_mm * 0.85);
        [DVec3::X, DVec3::NEG_X, DVec3::Z, DVec3::NEG_Z]
            .map(|way| self.cap + way * wide + DVec3::Y * high)
            .to_vec()
    }

    /// Points at the ends of the seated distributor, from the leads' numbers down to its drive.
    pub fn ends(&self) -> Vec<DVec3> {
        let (wide, high) = (self.radius_mm * 1.4, self.radius_mm * 1.15);
        let cap = [DVec3::X, DVec3::NEG_X, DVec3::Z, DVec3::NEG_Z]
            .map(|way| self.cap + way * wide + DVec3::Y * high);
        let gear = self.gears.map_or(self.radius_mm * 0.6, |gears| {
            gears.driver.pitch_radius_mm * 1.2
        });
        let drive = [DVec3::X, DVec3::NEG_X, DVec3::NEG_Y].map(|way| self.driver + way * gear);
        cap.into_iter()
            .chain(drive)
            .chain([self.cap - DVec3::Y * (self.shaft_mm + gear)])
            .collect()
    }

    pub(super) fn of(description: &Description, surroundings: &Surroundings<'_>) -> Option<Self> {
        let distributor = description.distributor.as_ref()?;
        let driver_sign = match distributor.driven_by {
            DrivenBy::Camshaft => {
                gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation())
                    .sign()
            }
            DrivenBy::Crankshaft => description.crankshaft.rotation().sign(),
        };
        let shaft_turns_deg = ignition::shaft_turns_on_entry_deg(distributor);
        let turns_deg = ignition::turns_on_entry_deg(distributor) + shaft_turns_deg;
        // +1 for a right-hand drive: it turns clockwise going down.
        let hand = if turns_deg == 0.0 {
            0.0
        } else {
            turns_deg.signum()
        };
        let lean = -driver_sign * distributor.rotation().sign();
        let (mut place, side) = Self::position(distributor, surroundings, hand * lean);
        if turns_deg == 0.0 {
            place.engages_mm = TONGUE * surroundings.measures.bore_mm;
        } else {
            let past = ignition::offset(distributor, &description.ignition);
            let rotor = Clock::new(distributor.number_one_at)
                .turned(distributor.rotation(), past.degrees())
                .degrees();
            let radius = (place.cap.x - place.driver.x).abs() / 2.0;
            let gears = HelicalPair::of(
                distributor,
                radius,
                side,
                lean,
                rotor,
                WIDTH * surroundings.measures.bore_mm,
            );
            place.tongue_over_gears = shaft_turns_deg != 0.0;
            place.engages_mm = if place.tongue_over_gears {
                TONGUE * surroundings.measures.bore_mm
            } else {
                (turns_deg / gears.driven.twist_deg_per_mm).abs()
            };
            place.gears = Some(gears);
        }
        place.lift_mm = f64::max(
            LEAST_LIFT * surroundings.measures.bore_mm,
            place.engages_mm + 0.35 * surroundings.measures.bore_mm,
        );
        Some(place)
    }

    /// Where cap and drive stand, and on which side of the driving shaft (+1 right). `side` is
    /// where the drive must stand, 0 where it may stand on either.
    fn position(
        distributor: &Distributor,
        surroundings: &Surroundings<'_>,
        side: f64,
    ) -> (Self, f64) {
        let measures = surroundings.measures;
        let radius_mm = f64::max(0.42 * measures.bore_mm, 26.0);
        let (axis, driver_radius_mm) = match distributor.driven_by {
            DrivenBy::Camshaft => surroundings
                .cams
                .get(surroundings.driving)
                .map_or((DVec2::ZERO, measures.journal_mm), |cam| {
                    (cam.centre, cam.radius_mm)
                }),
            DrivenBy::Crankshaft => (DVec2::ZERO, measures.journal_mm),
        };
        let joint_mm = f64::max(0.6 * radius_mm, 1.15 * driver_radius_mm + 0.3 * radius_mm);
        // The body ends over the joint, however small the engine.
        let over_joint = axis.y + joint_mm + 1.45 * radius_mm;
        let at = |cap: DVec3, z: f64| Self {
            cap,
            radius_mm,
            number_one_deg: distributor.number_one_at,
            shaft_mm: cap.y - axis.y,
            driven_by: distributor.driven_by,
            cam: surroundings.driving,
            driver: axis.extend(z),
            driver_radius_mm,
            joint_mm,
            gears: None,
            tongue_over_gears: false,
            lift_mm: 0.0,
            engages_mm: 0.0,
        };
        let outside = if axis.x < 0.0 { -1.0 } else { 1.0 };
        let low_cam =
            distributor.driven_by == DrivenBy::Camshaft && surroundings.gear == ValveGear::PushRod;
        if let (1, true, true, Some(z)) = (
            surroundings.banks.len(),
            low_cam,
            side == 0.0 || side == outside,
            between_bores(surroundings.cylinders),
        ) {
            // Beside the block, outside the push rods, between two cylinders, the cap at the height
            // of the head.
            let clear =
                measures.bore_mm / 2.0 + measures.wall_mm + radius_mm + 0.2 * measures.bore_mm;
            let x = f64::max(clear, axis.x.abs() + 2.0 * FREE_RADIUS * measures.bore_mm);
            let up = towards(surroundings.banks[0]).y.abs();
            let y =
                f64::max(up * measures.deck_mm, axis.y + 1.1 * measures.bore_mm).max(over_joint);
            return (at(DVec3::new(outside * x, y, z), z), outside);
        }
        // Behind the last cylinder, upright beside the shaft that drives it; over it where a tongue
        // does.
        let apart = match (side != 0.0, distributor.driven_by) {
            // Past the crank, down to a camshaft under it.
            (false, DrivenBy::Camshaft) if axis.y < -measures.journal_mm => f64::max(
                2.0 * FREE_RADIUS * measures.bore_mm,
                1.9 * measures.journal_mm,
            ),
            (false, _) => 0.0,
            (true, DrivenBy::Camshaft) => 2.0 * FREE_RADIUS * measures.bore_mm,
            (true, DrivenBy::Crankshaft) => {
                2.0 * f64::max(FREE_RADIUS * measures.bore_mm, 1.35 * measures.journal_mm)
            }
        };
        let y = f64::max(
            axis.y.max(0.0) + 0.9 * measures.bore_mm,
            1.25 * measures.bore_mm,
        )
        .max(over_joint);
        let z = surroundings.rear_z_mm - radius_mm * 1.1;
        let to = if side == 0.0 { outside } else { side };
        (at(DVec3::new(axis.x + to * apart, y, z), z), side)
    }
}

impl HelicalPair {
    /// Two gears of one pitch radius, the driven on the right (`side` +1) or left (−1) of its
    /// driver, their teeth leaning to the front (`lean` +1) or rear (−1) where they touch, the
    /// rotor at clock `rotor_deg` at θ = 0 as drawn.
    fn of(
        distributor: &Distributor,
        radius_mm: f64,
        side: f64,
        lean: f64,
        rotor_deg: f64,
        width_mm: f64,
    ) -> Self {
        let (driver, driven) = (distributor.driver_teeth, distributor.driven_teeth);
        let slope = f64::from(driver) / f64::from(driven);
        let twist = |slope: f64| -(lean * slope / (side * radius_mm)).to_degrees();
        let lean_cos = 1.0 / slope.hypot(1.0);
        Self {
            driver: HelicalGear {
                teeth: driver,
                pitch_radius_mm: radius_mm,
                tooth_deg: 90.0 * side,
                twist_deg_per_mm: twist(1.0 / slope),
                lean_cos: slope * lean_cos,
            },
            driven: HelicalGear {
                teeth: driven,
                pitch_radius_mm: radius_mm,
                // A gap of it faces the driver's tooth.
                tooth_deg: -90.0 * side + 180.0 / f64::from(driven) - rotor_deg,
                twist_deg_per_mm: twist(slope),
                lean_cos,
            },
            width_mm,
        }
    }
}

impl HelicalGear {
    /// Its outline in the middle of its width, the tooth of [`tooth_deg`](Self::tooth_deg) straight
    /// up. Cut to the height of teeth that lean, and with the play of a drive that is meant to be
    /// lifted out.
    pub fn outline(&self) -> Vec<DVec2> {
        /// The play at the pitch circle, over the module.
        const PLAY: f64 = 0.12;
        let module_mm = 2.0 * self.pitch_radius_mm / f64::from(self.teeth);
        let upright = Gear {
            teeth: self.teeth,
            module_mm,
            backlash_mm: PLAY * module_mm,
        };
        let shorter = |corner: DVec2| {
            let radius = corner.length();
            corner / radius
                * (self.pitch_radius_mm + (radius - self.pitch_radius_mm) * self.lean_cos)
        };
        upright.outline(3).into_iter().map(shorter).collect()
    }
}

/// The middle between two neighbours of a row of cylinders, about a third of the way back; None for
/// a single.
fn between_bores(cylinders: &[CylinderPlace]) -> Option<f64> {
    let mut along: Vec<f64> = cylinders.iter().map(|cylinder| cylinder.z_mm).collect();
    along.sort_by(|one, other| other.total_cmp(one));
    let pairs: Vec<f64> = along
        .windows(2)
        .map(|pair| (pair[0] + pair[1]) / 2.0)
        .collect();
    pairs.get(pairs.len() / 3).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::wrap;
    use crate::engine::Assembly;
    use crate::engine::scenes::SCENES;
    use crate::geometry::{Layout, Pose};
    use crate::phasing::Phasing;

    /// Where, in pitches of the driven along z, a tooth of the driver and one of the driven cross
    /// the height of the driving shaft on the plane where the gears touch.
    ///
    /// Clockwise from the front moves a driver's tooth on its right side down; clockwise from above
    /// moves a driven's tooth on its left side to the rear. From the geometry of both, not from the
    /// formulas above.
    fn crossings(pair: &HelicalPair, side: f64, driver_deg: f64, driven_deg: f64) -> (f64, f64) {
        let (one, other) = (&pair.driver, &pair.driven);
        let up = -side * (driver_deg - 90.0 * side).to_radians() * one.pitch_radius_mm;
        let to_front = -side * (driven_deg + 90.0 * side).to_radians() * other.pitch_radius_mm;
        // The driver's tooth runs along z: it comes to height 0 where its twist has carried it
        // there.
        let per_mm = -side * one.twist_deg_per_mm.to_radians() * one.pitch_radius_mm;
        let pitch = std::f64::consts::TAU * other.pitch_radius_mm / f64::from(other.teeth);
        (-up / per_mm / pitch, to_front / pitch)
    }

    #[test]
    fn the_distributors_drive_meshes_at_every_angle_and_on_every_tooth() {
        let mut met = 0;
        for scene in &SCENES {
            let engine = scene.engine();
            let layout = Layout::of(&engine);
            let Some((place, pair)) = layout
                .distributor
                .and_then(|place| Some((place, place.gears?)))
            else {
                continue;
            };
            met += 1;
            let side = (place.cap.x - place.driver.x).signum();
            assert_eq!(
                pair.driver.pitch_radius_mm + pair.driven.pitch_radius_mm,
                (place.cap.x - place.driver.x).abs(),
                "{}",
                scene.name
            );
            for built in [
                Assembly::default(),
                Assembly {
                    drive_teeth: 2,
                    ..Assembly::default()
                },
                Assembly {
                    drive_teeth: -3,
                    ..Assembly::default()
                },
                Assembly {
                    cam_teeth: 1,
                    ..Assembly::default()
                },
                Assembly {
                    tongue_half_turn: place.tongue_over_gears,
                    ..Assembly::default()
                },
            ] {
                let phasing = Phasing::as_built(&engine, &built);
                for step in 0..97 {
                    let pose = Pose::at(&phasing, f64::from(step) * 7.7);
                    let driving = match place.driven_by {
                        DrivenBy::Camshaft => pose.cams_clockwise_deg[0],
                        DrivenBy::Crankshaft => pose.crank_clockwise_deg,
                    };
                    let turned = if built.tongue_half_turn { 180.0 } else { 0.0 };
                    let rotor = pose.rotor_deg.expect("a rotor") + turned;
                    let (driver, driven) = crossings(
                        &pair,
                        side,
                        pair.driver.tooth_deg + driving,
                        pair.driven.tooth_deg + rotor,
                    );
                    let off = wrap(driver - driven, 1.0);
                    assert!(
                        (off - 0.5).abs() < 1e-6,
                        "{}: {off} of a pitch, {built:?}",
                        scene.name
                    );
                }
            }
        }
        assert!(met >= 8, "{met} scenes have such a drive");
    }

    #[test]
    fn a_drive_slid_home_turns_as_the_description_says() {
        let mut turning = 0;
        for scene in &SCENES {
            let engine = scene.engine();
            let Some(place) = Layout::of(&engine).distributor else {
                continue;
            };
            let turns = ignition::turns_on_entry_deg(
                engine.metric().distributor.as_ref().expect("a distributor"),
            );
            // A tooth that lies in a still gap turns back by its twist for every millimetre that
            // the gear goes down.
            // A tongue goes down without a turn, whatever its shaft did.
            let gears = place.gears.filter(|_| !place.tongue_over_gears);
            let turned = gears.map_or(0.0, |gears| {
                -gears.driven.twist_deg_per_mm * place.engages_mm
            });
            turning += i32::from(turns != 0.0);
            assert!(
                (turned - turns).abs() < 1e-9,
                "{}: {turned} for {turns}",
                scene.name
            );
            assert_eq!(
                (place.height_mm(1.0), place.height_mm(0.0)),
                (0.0, place.lift_mm)
            );
            assert!(
                (place.height_mm(ENGAGES_AT) - place.engages_mm).abs() < 1e-9
                    && place.lift_mm > place.engages_mm
            );
        }
        assert!(turning > 0, "no drive turns as it goes down");
    }
}
