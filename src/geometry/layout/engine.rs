//! The whole engine, laid out, and how far it reaches.

use glam::{DVec2, DVec3};

use super::cam_drive::{Drive, LoopPlace, Wheel, loops_along};
use super::crank::{Measures, ThrowPlace, along_the_crank, bank_angles, measures};
use super::distributor_drive::{DistributorPlace, Surroundings};
use super::valve_gear::{
    CamPlace, CylinderPlace, LEAST_BASE, VALVE_APART, ValvePlace, ValveTrain, lobe_apart, train,
    valve_gear,
};
use crate::description::{DriveKind, DrivenBy, MarkOn, ValveGear};
use crate::engine::Engine;
use crate::geometry::clock::towards;
use crate::geometry::lobe_outline::LobeOutline;
use crate::laws::{Lobe, gear_train};

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
    /// Where its mark stands at No. 1's TDC, clock degrees: there the pointer stands.
    pub mark_deg: f64,
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
    /// A lobe's or follower's width along the shaft.
    pub lobe_width_mm: f64,
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
        let drive_z_mm = front_bore + 0.12 * measures.bore_mm + wheel_width_mm / 2.0;
        let pulley_width = 0.22 * measures.bore_mm;
        let pulley_z =
            drive_z_mm + wheel_width_mm / 2.0 + 0.16 * measures.bore_mm + pulley_width / 2.0;

        let gear = valve_gear(description, &measures);
        let drive = Drive::new(description, &measures, gear);
        let banks = bank_angles(description);
        let mut cams: Vec<_> = drive
            .cam_centres
            .iter()
            .map(|&centre| CamPlace {
                centre,
                front_z_mm: drive_z_mm,
                rear_z_mm: rear_bore + 0.1 * measures.bore_mm,
            })
            .collect();

        let (intake, exhaust) = (
            Lobe::intake(&description.valves),
            Lobe::exhaust(&description.valves),
        );
        let train = train(gear, &measures, &cams, banks[0]);
        let scale = 1.0 / train.ratio();
        let least_base = LEAST_BASE * measures.bore_mm / scale;
        let lobe_width_mm = 0.13 * measures.bore_mm;

        let cylinders = cylinders(engine, &measures, gear, &cylinder_z, [&intake, &exhaust]);

        let pulley = PulleyPlace {
            radius_mm: description
                .pulley_diameter
                .map_or(measures.throw_mm * 2.0, |diameter| diameter / 2.0),
            z_mm: pulley_z,
            width_mm: pulley_width,
            mark_deg: description
                .marks
                .iter()
                .find(|mark| mark.on == MarkOn::Crankshaft)
                .map_or(engine.bank_deg(1), |mark| mark.at),
        };
        let front_z_mm = pulley_z + pulley_width / 2.0 + 0.1 * measures.bore_mm;
        let mut rear_z_mm = rear_bore - 0.25 * measures.bore_mm;
        let surroundings = Surroundings {
            measures: &measures,
            cylinders: &cylinders,
            banks: &banks,
            cams: &cams,
            gear,
            rear_z_mm: rear_bore,
        };
        let distributor = DistributorPlace::of(description, &surroundings);
        if let Some(place) = &distributor {
            // The shaft that drives it reaches through its drive.
            let behind = place.driver.z - 0.15 * measures.bore_mm;
            match place.driven_by {
                DrivenBy::Camshaft => cams
                    .iter_mut()
                    .take(1)
                    .for_each(|cam| cam.rear_z_mm = cam.rear_z_mm.min(behind)),
                DrivenBy::Crankshaft => rear_z_mm = rear_z_mm.min(behind),
            }
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
            intake_lobe: LobeOutline::new(&intake, least_base),
            exhaust_lobe: LobeOutline::new(&exhaust, least_base),
            lobe_width_mm,
            loops: loops_along(&drive.loops, wheel_width_mm, drive_z_mm),
            module_mm: drive.module_mm,
            backlash_mm: description.cam_drive.backlash.unwrap_or(0.0),
            wheels: drive.wheels,
            drive: description.cam_drive.kind,
            drive_z_mm,
            wheel_width_mm,
            pulley,
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
        wheels
            .chain(cylinders)
            .fold(-self.pulley.radius_mm, f64::min)
    }

    /// Points at the ends of everything: who sees them all sees the whole engine, with the numbers
    /// over it.
    pub fn ends(&self) -> Vec<DVec3> {
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
        }
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
        if let Some(distributor) = &self.distributor {
            points.extend(distributor.ends());
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

/// The cylinders by number, each with its valves and where their lobes stand.
fn cylinders(
    engine: &Engine,
    measures: &Measures,
    gear: ValveGear,
    cylinder_z: &[f64],
    [intake, exhaust]: [&Lobe; 2],
) -> Vec<CylinderPlace> {
    let description = engine.metric();
    let banks = bank_angles(description);
    let cam_sign =
        gear_train::cam_direction(&description.cam_drive, description.crankshaft.rotation).sign();
    let cylinder = |(number, &z_mm): (u8, &f64)| {
        let bank_deg = engine.bank_deg(number);
        let (cam, follower) = match gear {
            ValveGear::PushRod => (0, bank_deg),
            ValveGear::Overhead => (
                banks.iter().position(|&bank| bank == bank_deg).unwrap_or(0),
                bank_deg + 180.0,
            ),
        };
        let fires = engine
            .firing_order()
            .iter()
            .position(|&other| other == number)
            .map_or(0.0, |i| engine.firing_angles()[i]);
        let valve = |lobe: &Lobe, side: f64| ValvePlace {
            z_mm: z_mm + side * VALVE_APART * measures.bore_mm,
            lobe_z_mm: z_mm + side * lobe_apart(gear, measures),
            cam,
            nose_deg: follower - cam_sign * (fires + lobe.centre_deg()) / 2.0,
        };
        CylinderPlace {
            number,
            z_mm,
            bank_deg,
            intake: valve(intake, 1.0),
            exhaust: valve(exhaust, -1.0),
        }
    };
    (1..=engine.cylinder_count() as u8)
        .zip(cylinder_z)
        .map(cylinder)
        .collect()
}
