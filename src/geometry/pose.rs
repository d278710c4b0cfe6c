//! Where every moving part stands at a crank angle.
//!
//! A pose is worked out from the phasing and the crank's position alone, never added up, so that
//! however long the engine is turned nothing wanders. The position is the crank's whole turn in
//! degrees, in the running direction, from No. 1's firing TDC: all but the idlers come back every
//! 720°, and an idler's tooth only after more turns.
//!
//! Millimetres and clock degrees, as in [`layout`](super::layout).

use arrayvec::ArrayVec;
use glam::DVec2;

use super::clock::{clock_of, towards};
use super::layout::{CylinderPlace, Layout, ValvePlace, ValveTrain, WheelRole, push_rod_beside_mm};
use super::pins::Pins;
use crate::angle::{CrankAngle, CrankTurn};
use crate::description::Valve;
use crate::description::fields::{MOST_CAMSHAFTS, MOST_CYLINDERS};
use crate::phasing::{CylinderPhasing, Phasing};
use crate::procedures::RemovedDrive;

/// Where a piston, its rod and its valves stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CylinderPose {
    /// The cylinder's number.
    pub number: u8,
    /// The gudgeon pin, seen from the front.
    pub gudgeon: DVec2,
    /// The crankpin, seen from the front.
    pub crankpin: DVec2,
    /// The clock direction from crankpin to gudgeon pin.
    pub rod_deg: f64,
    /// How far the intake valve is off its seat.
    pub intake_mm: f64,
    /// How far the exhaust valve is off its seat.
    pub exhaust_mm: f64,
}

/// A valve and what moves it, at a lift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValvePose {
    /// The follower's face, or the tappet's, on the lobe, seen from the front.
    pub face: DVec2,
    /// The clock direction from the lobe to the follower.
    pub follower_deg: f64,
    /// The push rod's and the rocker's; None where the lobe lies over the valve.
    pub rocker: Option<RockerPose>,
    /// The end of the valve's stem.
    pub stem: DVec2,
}

/// A push rod and a rocker at a lift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RockerPose {
    /// The rocker's pivot.
    pub pivot: DVec2,
    /// Where the push rod meets the rocker.
    pub rod_top: DVec2,
}

/// Where everything stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// The clock position of No. 1's throw.
    pub throw_one_deg: f64,
    /// How far the crankshaft has turned clockwise since θ = 0: its pulley and its wheel with it.
    pub crank_clockwise_deg: f64,
    /// How far each of the description's camshafts has turned clockwise since it stood, as drawn,
    /// at θ = 0.
    pub cams_clockwise_deg: ArrayVec<f64, MOST_CAMSHAFTS>,
    /// Where the rotor points, looking down on the cap.
    pub rotor_deg: Option<f64>,
    /// The cylinder whose plug has just had its spark.
    pub sparking: Option<u8>,
    /// The cylinder whose plug has just had a spark that is wasted, on its overlap.
    pub wasting: Option<u8>,
    /// The cylinders, by number.
    pub cylinders: ArrayVec<CylinderPose, MOST_CYLINDERS>,
}

/// How long a spark is shown, crank degrees: long enough to be seen at a slow turn.
const SPARK_SHOWN_DEG: f64 = 5.0;

/// A crank turned to a spark stands there to within this.
const ROUNDING: CrankTurn = CrankTurn::new(1e-6);

/// The first cylinder whose plug has just had this spark.
fn sparks_now(
    phasing: &Phasing,
    crank: CrankAngle,
    spark: impl Fn(&CylinderPhasing) -> Option<CrankAngle>,
) -> Option<u8> {
    let mut cylinders = phasing.cylinders().iter();
    cylinders
        .find(|cylinder| {
            spark(cylinder)
                .is_some_and(|at| (at - ROUNDING).on_to(crank).degrees() < SPARK_SHOWN_DEG)
        })
        .map(|cylinder| cylinder.number)
}

impl Pose {
    /// The pose with the crank turned `turned_deg` in its running direction from No. 1's firing
    /// TDC.
    pub fn at(phasing: &Phasing, turned_deg: f64) -> Self {
        let crank = CrankAngle::new(turned_deg);
        let sign = phasing.crank_direction().sign();
        let cylinders = phasing
            .cylinders()
            .iter()
            .map(|cylinder| {
                let throw_deg = phasing.throw_clock(cylinder, crank).degrees();
                let (bore, beside) = (
                    towards(cylinder.bank.degrees()),
                    towards(cylinder.bank.degrees() + 90.0),
                );
                let pins = Pins::at(
                    phasing.slider(),
                    phasing.crank_direction(),
                    throw_deg - cylinder.bank.degrees(),
                );
                let [crankpin, gudgeon] =
                    [pins.crankpin, pins.gudgeon].map(|pin| bore * pin.y + beside * pin.x);
                let phase = phasing.phase_of(cylinder, crank);
                let lift_mm = |valve: Valve| {
                    let at = phasing.valve_phase_deg(cylinder, valve, phase);
                    phasing.lobe(valve).lift_mm(at)
                };
                CylinderPose {
                    number: cylinder.number,
                    gudgeon,
                    crankpin,
                    rod_deg: clock_of(gudgeon - crankpin),
                    intake_mm: lift_mm(Valve::Intake),
                    exhaust_mm: lift_mm(Valve::Exhaust),
                }
            })
            .collect();
        let first = phasing.cylinders().first();
        Self {
            throw_one_deg: first.map_or(0.0, |first| phasing.throw_clock(first, crank).degrees()),
            crank_clockwise_deg: sign * turned_deg,
            cams_clockwise_deg: (0..phasing.engine().camshaft_count().min(MOST_CAMSHAFTS))
                .map(|camshaft| {
                    let ahead = phasing.cam_ahead(camshaft).degrees();
                    phasing.cam_direction().sign() * (turned_deg / 2.0 + ahead)
                })
                .collect(),
            sparking: sparks_now(phasing, crank, |cylinder| Some(cylinder.spark)),
            wasting: sparks_now(phasing, crank, |cylinder| cylinder.wasted_spark),
            rotor_deg: phasing.at(crank).rotor.map(|rotor| rotor.clock.degrees()),
            cylinders,
        }
    }

    /// The same with the distributor's drive out: its rotor stands as it is held, and nothing
    /// sparks.
    pub fn with_drive_out(self, out: &RemovedDrive) -> Self {
        Self {
            rotor_deg: self.rotor_deg.map(|_| out.rotor.degrees()),
            sparking: None,
            wasting: None,
            ..self
        }
    }

    /// The clock position of tooth 0 of a wheel of the cam drive.
    pub fn wheel_deg(
        &self,
        layout: &Layout,
        index: usize,
        turned_deg: f64,
        phasing: &Phasing,
    ) -> f64 {
        let Some(wheel) = layout.wheels.get(index) else {
            return 0.0;
        };
        let ahead = match wheel.role {
            WheelRole::Cam(cam) => {
                let camshaft = layout.cams.get(cam).map_or(0, |cam| cam.camshaft);
                phasing.cam_direction().sign() * phasing.cam_ahead(camshaft).degrees()
            }
            _ => 0.0,
        };
        wheel.tooth_deg + wheel.clockwise_per_crank * turned_deg + ahead
    }
}

impl ValvePose {
    /// A valve of a cylinder, `lift_mm` off its seat; `base_mm` is its lobe's base circle as it
    /// stands in the engine.
    pub fn at(
        layout: &Layout,
        cylinder: &CylinderPlace,
        valve: &ValvePlace,
        base_mm: f64,
        lift_mm: f64,
    ) -> Self {
        let measures = &layout.measures;
        let cam = layout
            .cams
            .get(valve.cam)
            .map_or(DVec2::ZERO, |cam| cam.centre);
        let (bore, across) = (
            towards(cylinder.bank_deg),
            towards(cylinder.bank_deg + 90.0),
        );
        let stem = bore * (measures.stem_mm - lift_mm) + across * valve.beside_mm;
        match layout.train {
            ValveTrain::Overhead => Self {
                face: cam - bore * (base_mm + lift_mm),
                follower_deg: cylinder.bank_deg + 180.0,
                rocker: None,
                stem,
            },
            ValveTrain::PushRod {
                ratio,
                valve_arm_mm,
            } => {
                let beside = push_rod_beside_mm(measures, cam, cylinder.bank_deg);
                let side = if beside < 0.0 { -1.0 } else { 1.0 };
                // Arms as long as fit between this bank's valves and push rods.
                let valve_arm = f64::min(valve_arm_mm, beside.abs() * ratio / (1.0 + ratio));
                let pivot =
                    bore * (measures.stem_mm + valve.rocker_up_mm) + across * (side * valve_arm);
                let face = cam + bore * (base_mm + lift_mm / ratio);
                let rod_top = bore * (measures.stem_mm + lift_mm / ratio) + across * beside;
                Self {
                    face,
                    follower_deg: cylinder.bank_deg,
                    rocker: Some(RockerPose { pivot, rod_top }),
                    stem,
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::SCENES;
    use crate::geometry::teeth::meshed_turn_deg;
    use approx::assert_abs_diff_eq;

    fn scenes() -> impl Iterator<Item = (&'static str, Phasing, Layout)> {
        SCENES.iter().map(|scene| {
            let engine = scene.engine();
            (scene.name, Phasing::as_drawn(&engine), Layout::of(&engine))
        })
    }

    #[test]
    fn every_rod_keeps_its_length_and_every_piston_stays_on_its_bore() {
        for (name, phasing, layout) in scenes() {
            for turned in (-72..=144).map(|step| f64::from(step) * 10.0 + 0.37) {
                for cylinder in &Pose::at(&phasing, turned).cylinders {
                    let rod = cylinder.gudgeon.distance(cylinder.crankpin);
                    assert_abs_diff_eq!(rod, layout.measures.rod_mm, epsilon = 1e-9);
                    let bank = layout.cylinder(cylinder.number).expect(name).bank_deg;
                    let off = cylinder.gudgeon.dot(towards(bank + 90.0)).abs();
                    assert_abs_diff_eq!(off, phasing.slider().pin_y_mm().abs(), epsilon = 1e-9);
                }
            }
        }
    }

    #[test]
    fn the_piston_stands_as_low_as_the_reading_says() {
        for (_, phasing, layout) in scenes() {
            let top = phasing.slider().pin_height_mm(phasing.slider().tdc_deg());
            for turned in [0.0, 33.0, 180.0, 359.0, 400.0, 719.0, 1111.0, -45.0] {
                let reading = phasing.at(CrankAngle::new(turned));
                for cylinder in &Pose::at(&phasing, turned).cylinders {
                    let bank = layout
                        .cylinder(cylinder.number)
                        .map_or(0.0, |place| place.bank_deg);
                    let drop = top - cylinder.gudgeon.dot(towards(bank));
                    let said = reading
                        .cylinder(cylinder.number)
                        .map_or(f64::NAN, |cylinder| cylinder.piston_drop_mm);
                    assert_abs_diff_eq!(drop, said, epsilon = 1e-9);
                }
            }
        }
    }

    #[test]
    fn every_gear_stands_in_mesh_with_the_one_before_it_at_every_angle() {
        let geared: Vec<_> = scenes()
            .filter(|(_, _, layout)| layout.loops.is_empty())
            .collect();
        assert!(geared.len() > 2);
        for (name, phasing, layout) in geared {
            assert!(layout.wheels.len() >= 2, "{name}");
            for turned in (0..200).map(|step| f64::from(step) * 7.3) {
                let pose = Pose::at(&phasing, turned);
                let turns: Vec<_> = (0..layout.wheels.len())
                    .map(|index| pose.wheel_deg(&layout, index, turned, &phasing))
                    .collect();
                for (pair, turn) in layout.wheels.windows(2).zip(turns.windows(2)) {
                    let along = clock_of(pair[1].centre - pair[0].centre);
                    let wanted = meshed_turn_deg(pair[0].teeth, pair[1].teeth, along, turn[0]);
                    let teeth_off = (turn[1] - wanted) * f64::from(pair[1].teeth) / 360.0;
                    assert_abs_diff_eq!(teeth_off, teeth_off.round(), epsilon = 1e-6);
                    let apart = pair[0].pitch_radius_mm + pair[1].pitch_radius_mm;
                    assert_abs_diff_eq!(
                        pair[1].centre.distance(pair[0].centre),
                        apart,
                        epsilon = 1e-9
                    );
                }
                assert!(
                    matches!(
                        layout.wheels.last().map(|wheel| wheel.role),
                        Some(WheelRole::Cam(0))
                    ),
                    "{name}"
                );
            }
        }
    }

    #[test]
    fn a_chains_or_belts_teeth_stay_in_step_at_every_angle() {
        let mut loops = 0;
        for (_, phasing, layout) in scenes() {
            for place in &layout.loops {
                loops += 1;
                for turned in (0..100).map(|step| f64::from(step) * 14.9) {
                    let pose = Pose::at(&phasing, turned);
                    let crank = pose.wheel_deg(&layout, 0, turned, &phasing);
                    let cam = pose.wheel_deg(&layout, place.cam + 1, turned, &phasing);
                    let teeth_off = (cam - place.path.meshed_turn_deg(crank))
                        * f64::from(place.path.driven.teeth)
                        / 360.0;
                    assert_abs_diff_eq!(teeth_off, teeth_off.round(), epsilon = 1e-6);
                }
                // The loop closes on a whole number of pitches.
                let ends = place.path.path(1);
                let gap = ends[0].distance(ends[ends.len() - 1]);
                assert!(gap < place.path.driver.pitch_mm * 1.01, "{gap}");
            }
        }
        assert!(loops > 2);
    }

    #[test]
    fn the_dots_meet_on_the_line_of_centres_where_the_description_says() {
        for (name, phasing, layout) in scenes() {
            let meet = phasing.engine().metric().cam_drive.marks_meet_at();
            let (last, before) = match layout.loops.is_empty() {
                true => (layout.wheels.len() - 1, layout.wheels.len() - 2),
                false => (1, 0),
            };
            for turns in [0.0, 720.0] {
                let pose = Pose::at(&phasing, meet + turns);
                let wheel = &layout.wheels[last];
                let back = clock_of(layout.wheels[before].centre - wheel.centre);
                let pitch = 360.0 / f64::from(wheel.teeth);
                let own = pose.wheel_deg(&layout, last, meet + turns, &phasing);
                // The middle of its dots, one or two.
                let dots = wheel.dots.iter().map(|&tooth| {
                    crate::angle::wrap_signed(own + f64::from(tooth) * pitch - back, 360.0)
                });
                let middle = dots.sum::<f64>() / wheel.dots.len() as f64;
                assert_abs_diff_eq!(middle, 0.0, epsilon = 1e-6);
                assert!(!wheel.dots.is_empty(), "{name}");
            }
        }
    }

    #[test]
    fn the_dot_on_the_cam_wheel_stands_where_the_description_says_its_mark_does() {
        let mut marked = 0;
        for (name, phasing, layout) in scenes() {
            let marks = &phasing.engine().metric().marks;
            let Some(index) = marks
                .iter()
                .position(|mark| mark.on == crate::description::MarkOn::Camshaft)
            else {
                continue;
            };
            marked += 1;
            let last = if layout.loops.is_empty() {
                layout.wheels.len() - 1
            } else {
                1
            };
            let wheel = &layout.wheels[last];
            for turned in [0.0, 100.0, 700.0] {
                let pose = Pose::at(&phasing, turned);
                let own = pose.wheel_deg(&layout, last, turned, &phasing);
                let pitch = 360.0 / f64::from(wheel.teeth);
                let dots = wheel
                    .dots
                    .iter()
                    .map(|&tooth| crate::angle::wrap_signed(f64::from(tooth) * pitch, 360.0));
                let middle = own + dots.sum::<f64>() / wheel.dots.len() as f64;
                let mark = phasing.at(CrankAngle::new(turned)).marks[index].degrees();
                let off = crate::angle::wrap_signed(middle - mark, 360.0);
                assert!(
                    off.abs() < 0.5,
                    "{name}: the mark at {mark}, the dot {off} past it"
                );
            }
        }
        assert!(marked > 2, "{marked} scenes with a mark on the camshaft");
    }

    #[test]
    fn a_lobes_nose_points_at_its_follower_at_full_lift() {
        for (_, phasing, layout) in scenes() {
            for cylinder in phasing.cylinders() {
                let place = layout.cylinder(cylinder.number).expect("placed");
                for (valve, lobe) in [
                    (&place.intake, phasing.intake()),
                    (&place.exhaust, phasing.exhaust()),
                ] {
                    let kind = if std::ptr::eq(lobe, phasing.intake()) {
                        Valve::Intake
                    } else {
                        Valve::Exhaust
                    };
                    // A trim of so many cam degrees brings full lift twice as many crank degrees
                    // sooner.
                    let camshaft = phasing.engine().camshaft_of(cylinder.number, kind);
                    let described = phasing.engine().written().camshafts.get(camshaft);
                    let early = 2.0 * described.map_or(0.0, crate::description::Camshaft::trim);
                    let turned = cylinder.fires.degrees() + lobe.centre_deg() - early;
                    let nose = valve.nose_deg
                        + Pose::at(&phasing, turned).cams_clockwise_deg
                            [layout.cams[valve.cam].camshaft];
                    let follower = match layout.train {
                        ValveTrain::PushRod { .. } => place.bank_deg,
                        ValveTrain::Overhead => place.bank_deg + 180.0,
                    };
                    assert_abs_diff_eq!(
                        crate::angle::wrap_signed(nose - follower, 360.0),
                        0.0,
                        epsilon = 1e-6
                    );
                }
            }
        }
    }

    #[test]
    fn a_spark_shows_where_it_comes_and_for_a_little_after() {
        let engine = crate::engine::scenes::BENCH.engine();
        let phasing = Phasing::as_drawn(&engine);
        // No. 3 sparks 8° before 180°.
        for (turned, shown) in [
            (171.9, None),
            (172.0, Some(3)),
            (176.9, Some(3)),
            (177.1, None),
            (172.0 - 720.0, Some(3)),
        ] {
            assert_eq!(Pose::at(&phasing, turned).sparking, shown, "{turned}");
        }
    }

    #[test]
    fn bores_of_one_bank_keep_clear_of_one_another() {
        for (name, _, layout) in scenes() {
            for (index, one) in layout.cylinders.iter().enumerate() {
                for other in layout
                    .cylinders
                    .iter()
                    .skip(index + 1)
                    .filter(|other| other.bank_deg == one.bank_deg)
                {
                    let apart = (one.z_mm - other.z_mm).abs();
                    assert!(
                        apart > layout.measures.bore_mm + 2.0 * layout.measures.wall_mm,
                        "{name}: {} and {}",
                        one.number,
                        other.number
                    );
                }
            }
        }
    }
}
