//! The whole engine, laid out, and how far it reaches.

#![expect(
    clippy::indexing_slicing,
    reason = "an engine has a bank, and a firing angle for each cylinder of its order"
)]

use glam::{DVec2, DVec3};

use super::cam_drive::{Drive, LoopPlace, Wheel, loops_along};
use super::crank::{CLEAR, Measures, ThrowPlace, along_the_crank, bank_angles, measures};
use super::distributor_drive::{self, DistributorPlace, Surroundings};
use super::lobes::{AlongTheCamshaft, ROCKER_UP, passes_the_crank};
use super::low_camshaft::LEAST_SHAFT;
use super::valve_gear::{
    CamPlace, CylinderPlace, Drawn, LobeMeasures, VALVE_APART, ValvePlace, ValveTrain, beside_mm,
    flat_face_mm, follower, follower_length_mm, least_base_mm, push_rod_beside_mm, train,
    valve_gear,
};
use crate::description::{Description, DriveKind, DrivenBy, MarkOn, Valve, ValveGear};
use crate::engine::Engine;
use crate::geometry::clock::towards;
use crate::geometry::lobe_outline::LobeOutline;
use crate::laws::follower::FollowerShape;
use crate::laws::{Lobe, chain_run, gear_train};

/// Eight points on a circle across the shaft.
fn round(centre: DVec2, radius_mm: f64, z_mm: f64) -> [DVec3; 8] {
    std::array::from_fn(|step| (centre + towards(45.0 * step as f64) * radius_mm).extend(z_mm))
}

/// The pulley at the front, with its timing mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulleyPlace {
    /// Its radius.
    pub radius_mm: f64,
    /// The middle of its width.
    pub z_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Where its mark stands at No. 1's TDC, clock degrees.
    pub mark_deg: f64,
    /// Where its pointer stands: where the mark does at No. 1's TDC, unless it is described.
    pub pointer_deg: f64,
}

/// The flywheel at the rear, drawn where it carries a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct FlywheelPlace {
    /// Its rim's radius.
    pub radius_mm: f64,
    /// The middle of its width.
    pub z_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Where each of its marks stands at θ = 0, with the pointer at which it is read: clock
    /// degrees seen from the front.
    pub marks: Vec<(f64, f64)>,
}

impl FlywheelPlace {
    /// Behind everything that lies along the crankshaft; None without a mark on it.
    fn of(description: &Description, measures: &Measures, rear_mm: f64) -> Option<Self> {
        /// Over the throw's radius, clear of webs and pulley: to look right.
        const RADIUS: f64 = 2.5;
        let marks: Vec<_> = description
            .marks
            .iter()
            .filter(|mark| mark.on == MarkOn::Flywheel)
            .filter_map(|mark| Some((mark.at, mark.pointer_at()?)))
            .collect();
        let width_mm = 0.22 * measures.bore_mm;
        (!marks.is_empty()).then(|| Self {
            radius_mm: f64::max(RADIUS * measures.throw_mm, 1.1 * measures.bore_mm),
            z_mm: rear_mm - 0.08 * measures.bore_mm - width_mm / 2.0,
            width_mm,
            marks,
        })
    }

    /// The plane of its rear face.
    pub fn rear_z_mm(&self) -> f64 {
        self.z_mm - self.width_mm / 2.0
    }
}

/// The whole engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// What all cylinders share.
    pub measures: Measures,
    /// The throws, front to back.
    pub throws: Vec<ThrowPlace>,
    /// The cylinders, by number.
    pub cylinders: Vec<CylinderPlace>,
    /// The camshafts: one, or one a bank where they lie over the valves.
    pub cams: Vec<CamPlace>,
    /// How lobe and valve are joined.
    pub train: ValveTrain,
    /// The intake lobes, drawn with the lift at the valve.
    pub intake_lobe: LobeOutline,
    /// The exhaust lobes, drawn with the lift at the valve.
    pub exhaust_lobe: LobeOutline,
    /// The size of the lobes themselves over the outlines': the rocker makes up the rest.
    pub lobe_scale: f64,
    /// What rides on the lobes, as large as it stands in the engine.
    pub follower: FollowerShape,
    /// A lobe's or follower's width along the shaft.
    pub lobe_width_mm: f64,
    /// From a follower's face to where the push rod stands in it; under a high camshaft, to the
    /// valve's stem.
    pub follower_length_mm: f64,
    /// Half the width of a flat follower's face, by intake and exhaust.
    pub flat_face_mm: [f64; 2],
    /// The wheels of the cam drive, the crank's first.
    pub wheels: Vec<Wheel>,
    /// Gears: pitch diameter over teeth, as given or as drawn.
    pub module_mm: f64,
    /// Gears: the play at the pitch circle.
    pub backlash_mm: f64,
    /// Chain or belt; empty for gears.
    pub loops: Vec<LoopPlace>,
    /// What drives the camshaft.
    pub drive: DriveKind,
    /// The middle of the cam drive's wheels along the shaft.
    pub drive_z_mm: f64,
    /// The wheels' width.
    pub wheel_width_mm: f64,
    /// The pulley.
    pub pulley: PulleyPlace,
    /// The flywheel, where it carries a mark.
    pub flywheel: Option<FlywheelPlace>,
    /// The distributor.
    pub distributor: Option<DistributorPlace>,
    /// The shaft's front end, at the pulley.
    pub front_z_mm: f64,
    /// The shaft's radius in front of the cam drive: slim, so that the dots on the crank's wheel
    /// are seen past it.
    pub nose_mm: f64,
    /// The shaft's rear end.
    pub rear_z_mm: f64,
    /// The centre of a sphere round everything.
    pub sphere_centre: DVec3,
    /// The radius of a sphere round everything.
    pub sphere_radius_mm: f64,
}

impl Layout {
    /// Lays an engine out.
    pub fn of(engine: &Engine) -> Self {
        let description = engine.metric();
        let measures = measures(description);
        let (throws, cylinder_z) = along_the_crank(description, &measures);
        let (front_bore, rear_bore) = block_ends(&throws, &cylinder_z, &measures);
        let wheel_width_mm = 0.2 * measures.bore_mm;
        let pulley_width = 0.22 * measures.bore_mm;

        let gear = valve_gear(description, &measures);
        let drive = Drive::new(description, &measures, gear);
        let banks = bank_angles(description);
        let lobes = LobeMeasures::of(description, &measures, gear);
        let mut cams: Vec<_> = drive
            .cam_centres
            .iter()
            .zip(&drive.drawn)
            .map(|(&centre, drawn)| CamPlace {
                camshaft: drawn.camshaft,
                centre,
                radius_mm: shaft_radius_mm(&measures, gear, &lobes, centre),
                front_z_mm: 0.0,
                rear_z_mm: rear_bore + 0.1 * measures.bore_mm,
            })
            .collect();

        let (intake, exhaust) = (
            Lobe::of(&description.valves, Valve::Intake),
            Lobe::of(&description.valves, Valve::Exhaust),
        );
        let train = train(gear, &measures, &cams, banks[0]);
        let scale = 1.0 / train.ratio();
        let follower = follower(description, &measures, gear);
        let least_base = least_base_mm(follower, &measures) / scale;
        let cam_turns =
            gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation());
        let outline = |lobe: &Lobe| {
            LobeOutline::under(lobe, least_base, follower.scaled(1.0 / scale)).turning(cam_turns)
        };
        let lobe_width_mm = 0.13 * measures.bore_mm;

        let mut cylinders = cylinders(
            engine,
            &measures,
            gear,
            &cylinder_z,
            [&intake, &exhaust],
            &drive.drawn,
        );
        if gear == ValveGear::PushRod {
            let along = AlongTheCamshaft {
                measures: &measures,
                throws: &throws,
                cams: &cams,
                lobes,
                lobe_width_mm,
                taken: distributor_drive::taken_on_a_low_camshaft(
                    description,
                    &measures,
                    &banks,
                    &cylinders,
                ),
            };
            along.place(&mut cylinders);
            for (index, cam) in cams.iter_mut().enumerate() {
                let rearmost = lobes_z(&cylinders, index).fold(f64::MAX, f64::min);
                // Before a single throw it ends with its last lobe.
                let beyond = if passes_the_crank(&measures, cam.centre) {
                    0.08
                } else {
                    0.6 * CLEAR
                };
                cam.rear_z_mm = rearmost - lobe_width_mm / 2.0 - beyond * measures.bore_mm;
            }
        }
        let front_lobe =
            all_lobes_z(&cylinders, cams.len()).fold(f64::MIN, f64::max) + lobe_width_mm / 2.0;
        let front_mm = f64::max(
            front_bore + 0.12 * measures.bore_mm,
            front_lobe + 0.15 * measures.bore_mm,
        );
        let drive_z_mm = front_mm + wheel_width_mm / 2.0;
        let pulley_z =
            drive_z_mm + wheel_width_mm / 2.0 + 0.16 * measures.bore_mm + pulley_width / 2.0;
        cams.iter_mut().for_each(|cam| cam.front_z_mm = drive_z_mm);

        let front_mark = description
            .marks
            .iter()
            .find(|mark| mark.on == MarkOn::Crankshaft);
        let pulley = PulleyPlace {
            radius_mm: description
                .pulley_diameter
                .map_or(measures.throw_mm * 2.0, |diameter| diameter / 2.0),
            z_mm: pulley_z,
            width_mm: pulley_width,
            mark_deg: front_mark.map_or(engine.bank_deg(1), |mark| mark.at),
            pointer_deg: front_mark.map_or(engine.bank_deg(1), |mark| {
                mark.pointer_at().unwrap_or(mark.at)
            }),
        };
        let front_z_mm = pulley_z + pulley_width / 2.0 + 0.1 * measures.bore_mm;
        let mut rear_z_mm = rear_bore - 0.25 * measures.bore_mm;
        let driving = driving_cam(description, &cams);
        let surroundings = Surroundings {
            measures: &measures,
            cylinders: &cylinders,
            banks: &banks,
            cams: &cams,
            gear,
            rear_z_mm: all_lobes_z(&cylinders, cams.len())
                .map(|z_mm| z_mm - lobe_width_mm)
                .chain(cams.iter().map(|cam| cam.rear_z_mm))
                .fold(rear_bore, f64::min),
            driving,
        };
        let distributor = DistributorPlace::of(description, &surroundings);
        if let Some(place) = &distributor {
            // The shaft that drives it reaches through its drive.
            let behind = place.driver.z - 0.15 * measures.bore_mm;
            match place.driven_by {
                DrivenBy::Camshaft => cams
                    .get_mut(driving)
                    .into_iter()
                    .for_each(|cam| cam.rear_z_mm = cam.rear_z_mm.min(behind)),
                DrivenBy::Crankshaft => rear_z_mm = rear_z_mm.min(behind),
            }
        }

        let rear_ends = cams.iter().map(|cam| cam.rear_z_mm);
        let distributor_ends = distributor.iter().flat_map(DistributorPlace::ends);
        let rearmost_mm = rear_ends
            .chain(distributor_ends.map(|end| end.z))
            .fold(rear_z_mm, f64::min);
        let flywheel = FlywheelPlace::of(description, &measures, rearmost_mm);
        if let Some(flywheel) = &flywheel {
            // The crankshaft ends in it.
            rear_z_mm = flywheel.rear_z_mm();
        }

        let nose_mm = drive.wheels.first().map_or(measures.journal_mm, |wheel| {
            measures.journal_mm.min(0.42 * wheel.pitch_radius_mm)
        });
        let mut layout = Self {
            measures,
            throws,
            cylinders,
            cams,
            train,
            lobe_scale: scale,
            intake_lobe: outline(&intake),
            exhaust_lobe: outline(&exhaust),
            follower,
            lobe_width_mm,
            follower_length_mm: follower_length_mm(follower, &measures),
            flat_face_mm: [&intake, &exhaust]
                .map(|lobe| flat_face_mm(&outline(lobe), &measures, 1.0 / scale)),
            loops: loops_along(
                &drive.loops,
                wheel_width_mm,
                drive_z_mm,
                chain_run::tight_side(description.crankshaft.rotation()),
            ),
            module_mm: drive.module_mm,
            backlash_mm: description.cam_drive.backlash.unwrap_or(0.0),
            wheels: drive.wheels,
            drive: description.cam_drive.kind,
            drive_z_mm,
            wheel_width_mm,
            pulley,
            flywheel,
            distributor,
            front_z_mm,
            nose_mm,
            rear_z_mm,
            sphere_centre: DVec3::ZERO,
            sphere_radius_mm: 0.0,
        };
        (layout.sphere_centre, layout.sphere_radius_mm) = layout.bounding_sphere();
        layout
    }

    /// One cylinder; None for a number that is not on this engine.
    pub fn cylinder(&self, number: u8) -> Option<&CylinderPlace> {
        self.cylinders.get(usize::from(number).checked_sub(1)?)
    }

    /// The lowest of everything that turns or stands.
    pub fn lowest_mm(&self) -> f64 {
        let wheels = self
            .wheels
            .iter()
            .map(|wheel| wheel.centre.y - wheel.pitch_radius_mm - self.module_mm);
        let cylinders = self.cylinders.iter().map(|cylinder| {
            towards(cylinder.bank_deg).y * self.measures.stem_mm - self.measures.bore_mm / 2.0
        });
        let flywheel = self.flywheel.iter().map(|flywheel| -flywheel.radius_mm);
        let rockers = self
            .cylinders
            .iter()
            .flat_map(|cylinder| self.rocker_ends(cylinder))
            .map(|end| end.y);
        wheels
            .chain(cylinders)
            .chain(flywheel)
            .chain(rockers)
            .fold(-self.pulley.radius_mm, f64::min)
    }

    /// Points at the ends of everything: who sees them all sees the whole engine, with the numbers
    /// over it.
    pub fn ends(&self) -> Vec<DVec3> {
        let mut points = self.cylinder_ends();
        for wheel in &self.wheels {
            points.extend(round(
                wheel.centre,
                wheel.pitch_radius_mm + self.module_mm,
                self.drive_z_mm,
            ));
        }
        points.extend(round(
            DVec2::ZERO,
            self.pulley.radius_mm * 1.24,
            self.front_z_mm,
        ));
        points.extend(round(
            DVec2::ZERO,
            self.measures.throw_mm * 1.4,
            self.rear_z_mm,
        ));
        if let Some(flywheel) = &self.flywheel {
            points.extend(round(
                DVec2::ZERO,
                flywheel.radius_mm * 1.2,
                flywheel.rear_z_mm(),
            ));
        }
        if let Some(distributor) = &self.distributor {
            points.extend(distributor.ends());
        }
        points
    }

    /// The outermost of a cylinder's rockers, over their push rods; nothing under a high camshaft.
    fn rocker_ends(&self, cylinder: &CylinderPlace) -> Vec<DVec3> {
        if self.train == ValveTrain::Overhead {
            return Vec::new();
        }
        let bore = self.measures.bore_mm;
        let up = towards(cylinder.bank_deg) * (self.measures.stem_mm + 0.2 * bore);
        let end = |valve: ValvePlace| {
            let cam = self.cams.get(valve.cam)?.centre;
            let beside = push_rod_beside_mm(&self.measures, cam, cylinder.bank_deg);
            let out = beside + beside.signum() * 0.08 * bore;
            Some((up + towards(cylinder.bank_deg + 90.0) * out).extend(valve.lobe_z_mm))
        };
        let valves = [cylinder.intake, cylinder.exhaust];
        valves.into_iter().filter_map(end).collect()
    }

    /// Points at the outer ends of the cylinders: who sees them sees the numbers over them too.
    pub fn cylinder_ends(&self) -> Vec<DVec3> {
        let bore = self.measures.bore_mm;
        let mut points = Vec::new();
        for cylinder in &self.cylinders {
            let over_cam = self
                .cams
                .get(cylinder.intake.cam)
                .map_or(0.0, |cam| cam.centre.dot(towards(cylinder.bank_deg)));
            let end = towards(cylinder.bank_deg)
                * (f64::max(self.measures.stem_mm, over_cam) + 0.75 * bore);
            let across = towards(cylinder.bank_deg + 90.0) * 0.6 * bore;
            points.extend([end - across, end + across].map(|point| point.extend(cylinder.z_mm)));
            points.extend(self.rocker_ends(cylinder));
        }
        points
    }

    /// Points at the ends of what is looked at from the front: wheels, pulley, pointer.
    pub fn front_ends(&self) -> Vec<DVec3> {
        let wheels = self.wheels.iter().map(|wheel| {
            (
                wheel.centre,
                wheel.pitch_radius_mm + self.module_mm,
                self.drive_z_mm,
            )
        });
        let pulley = (DVec2::ZERO, self.pulley.radius_mm * 1.28, self.pulley.z_mm);
        wheels
            .chain([pulley])
            .flat_map(|(centre, radius, z)| round(centre, radius, z))
            .collect()
    }

    /// The centre and radius of a sphere that holds everything.
    fn bounding_sphere(&self) -> (DVec3, f64) {
        let points = self.ends();
        let (least, most) = points
            .iter()
            .fold((DVec3::MAX, DVec3::MIN), |(least, most), point| {
                (least.min(*point), most.max(*point))
            });
        let centre = (least + most) / 2.0;
        let distances = points.iter().map(|point| point.distance(centre));
        (centre, distances.fold(0.0, f64::max))
    }
}

/// Where the block ends along the shaft, at the front and at the rear: at a bore or at a web.
fn block_ends(throws: &[ThrowPlace], cylinder_z: &[f64], measures: &Measures) -> (f64, f64) {
    let first_web = throws.first().map_or(0.0, |throw| {
        throw.z_mm + throw.pin_length_mm / 2.0 + measures.web_mm
    });
    let last_web = throws.last().map_or(0.0, |throw| {
        throw.z_mm - throw.pin_length_mm / 2.0 - measures.web_mm
    });
    let half_bore = measures.bore_mm / 2.0 + measures.wall_mm;
    let bores = cylinder_z.iter();
    (
        bores
            .clone()
            .fold(f64::MIN, |most, z| most.max(z + half_bore))
            .max(first_web),
        bores
            .fold(f64::MAX, |least, z| least.min(z - half_bore))
            .min(last_web),
    )
}

/// Where along the shaft a camshaft's lobes lie.
fn lobes_z(cylinders: &[CylinderPlace], cam: usize) -> impl Iterator<Item = f64> {
    let valves = cylinders
        .iter()
        .flat_map(|cylinder| [cylinder.intake, cylinder.exhaust]);
    valves
        .filter(move |valve| valve.cam == cam)
        .map(|valve| valve.lobe_z_mm)
}

/// Where along the shaft the lobes of so many camshafts lie.
fn all_lobes_z(cylinders: &[CylinderPlace], cams: usize) -> impl Iterator<Item = f64> {
    (0..cams).flat_map(move |cam| lobes_z(cylinders, cam))
}

/// A camshaft's radius between its lobes: a low one is no stouter than lets the throws pass.
fn shaft_radius_mm(
    measures: &Measures,
    gear: ValveGear,
    lobes: &LobeMeasures,
    centre: DVec2,
) -> f64 {
    let stout = f64::min(lobes.base_mm * 0.62, 0.13 * measures.bore_mm);
    if gear == ValveGear::Overhead || !passes_the_crank(measures, centre) {
        return stout;
    }
    let room = centre.length() - measures.crank_reach_mm() - CLEAR * measures.bore_mm;
    stout.min(room).max(LEAST_SHAFT * measures.bore_mm)
}

/// The camshaft as drawn that drives the distributor.
fn driving_cam(description: &Description, cams: &[CamPlace]) -> usize {
    let driving = description.driving_camshaft().unwrap_or(0);
    let mut cams = cams.iter();
    cams.position(|cam| cam.camshaft == driving).unwrap_or(0)
}

/// The cylinders by number, each with its valves and where their lobes stand.
fn cylinders(
    engine: &Engine,
    measures: &Measures,
    gear: ValveGear,
    cylinder_z: &[f64],
    [intake, exhaust]: [&Lobe; 2],
    drawn: &[Drawn],
) -> Vec<CylinderPlace> {
    let description = engine.metric();
    let banks = bank_angles(description);
    let cam_sign =
        gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation()).sign();
    let cylinder = |(number, &z_mm): (u8, &f64)| {
        let bank_deg = engine.bank_deg(number);
        let (bank, follower) = match gear {
            ValveGear::PushRod => (None, bank_deg),
            ValveGear::Overhead => (
                banks.iter().position(|&bank| bank == bank_deg),
                bank_deg + 180.0,
            ),
        };
        let two_over_it = drawn.iter().filter(|own| own.bank == bank).count() > 1;
        let fires = engine
            .firing_order()
            .iter()
            .position(|&other| other == number)
            .map_or(0.0, |i| engine.firing_angles()[i]);
        let valve = |kind: Valve, lobe: &Lobe, side: f64| {
            let camshaft = engine.camshaft_of(number, kind);
            let own = |own: &Drawn| own.camshaft == camshaft && own.bank == bank;
            let cam = drawn.iter().position(own).unwrap_or(0);
            let trim = description.trim_of(camshaft).at_crank();
            let centre_deg = lobe.centre_deg() - trim.degrees();
            // Under two camshafts the valves stand side by side across the head.
            let valve_side = match gear {
                ValveGear::Overhead if two_over_it => 0.0,
                _ => side * VALVE_APART * measures.bore_mm,
            };
            ValvePlace {
                z_mm: z_mm + valve_side,
                lobe_z_mm: z_mm + valve_side,
                rocker_up_mm: ROCKER_UP * measures.bore_mm,
                beside_mm: beside_mm(drawn, cam, measures.bore_mm),
                cam,
                nose_deg: follower - cam_sign * (fires + centre_deg) / 2.0,
            }
        };
        CylinderPlace {
            number,
            z_mm,
            bank_deg,
            intake: valve(Valve::Intake, intake, 1.0),
            exhaust: valve(Valve::Exhaust, exhaust, -1.0),
        }
    };
    (1..=engine.cylinder_count() as u8)
        .zip(cylinder_z)
        .map(cylinder)
        .collect()
}
