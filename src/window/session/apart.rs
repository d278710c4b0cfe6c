//! What of the engine on the bench is not in yet, and how it is held.
//!
//! A camshaft that is out does not turn with the crank: it stands at the angle at which it is held.
//! Out of its bearings it moves no valve; where its wheel alone is off, its lobes hold the valves as
//! they stand. A lead that is on nothing has a tower kept for it, so that leads are always each
//! cylinder's once.

use glam::DVec3;

use crate::angle::{CamAngle, Clock, CrankAngle};
use crate::description::fields::MOST_CAMSHAFTS;
use crate::description::{Distributor, Valve};
use crate::engine::Engine;
use crate::geometry::layout::WheelRole;
use crate::geometry::{Layout, Pose};
use crate::laws::{ValveReading, gear_train, ignition};
use crate::phasing::{Phasing, Reading};
use crate::procedures::job::NotIn;
use crate::procedures::meshing::cam_to_go_in;

/// What is not in yet. The default is a whole engine.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Apart {
    /// Where each camshaft that is out is held.
    cams: [Option<CamAngle>; MOST_CAMSHAFTS],
    /// Those are out of their bearings too.
    bearings: bool,
    /// Where the rotor would point over a geared shaft that is drawn, as it is held.
    shaft: Option<Clock>,
    /// The cylinders whose leads are on nothing.
    leads: Vec<u8>,
}

impl Apart {
    /// So much is not in: each part held as it may lie, and nowhere near its place.
    pub(super) fn begins(engine: &Engine, drawn: &Phasing, not_in: &NotIn) -> Self {
        /// Teeth that a wheel is held off its place, at the crank angle at which the marks meet:
        /// too many to be laid in by chance, few enough to be seen beside the other mark.
        const TEETH_OFF: i32 = 4;
        let meet = CrankAngle::new(engine.metric().cam_drive.marks_meet_at());
        let mut cams = [None; MOST_CAMSHAFTS];
        for &camshaft in &not_in.camshafts {
            let off = if camshaft % 2 == 0 {
                -TEETH_OFF
            } else {
                TEETH_OFF
            };
            if let Some(held) = cams.get_mut(camshaft) {
                *held = Some(cam_to_go_in(engine, meet, off));
            }
        }
        let shaft = drawn
            .at(CrankAngle::new(0.0))
            .rotor
            .filter(|_| not_in.shaft);
        let shaft = shaft.zip(engine.metric().distributor.as_ref());
        Self {
            cams,
            bearings: not_in.bearings,
            shaft: shaft.map(|(rotor, distributor)| {
                let off = ignition::rotor_tooth(distributor).degrees() * f64::from(TEETH_OFF - 1);
                let ends = rotor.clock.turned(distributor.rotation(), off);
                Clock::new(ends.degrees() - ignition::shaft_turns_on_entry_deg(distributor))
            }),
            leads: not_in.leads.clone(),
        }
    }

    /// Whether this engine can be apart so.
    pub(super) fn suits(&self, engine: &Engine) -> bool {
        let cams = (0..).zip(&self.cams).filter(|(_, held)| held.is_some());
        let shaft = engine.metric().distributor.as_ref();
        cams.map(|(camshaft, _)| camshaft)
            .all(|camshaft: usize| camshaft < engine.camshaft_count())
            && (self.shaft.is_none() || shaft.is_some_and(Distributor::is_on_geared_shaft))
            && self
                .leads
                .iter()
                .all(|lead| engine.lead_order().contains(lead))
            && (self.leads.is_empty() || engine.has_leads())
    }

    /// What is not in, beside the distributor itself.
    pub(super) fn not_in(&self) -> NotIn {
        let out = (0..).zip(&self.cams).filter(|(_, held)| held.is_some());
        let camshafts: Vec<usize> = out.map(|(camshaft, _)| camshaft).collect();
        NotIn {
            bearings: self.bearings && !camshafts.is_empty(),
            camshafts,
            shaft: self.shaft.is_some(),
            distributor: false,
            leads: self.leads.clone(),
        }
    }

    /// Where a camshaft is held that is out.
    pub(crate) fn cam(&self, camshaft: usize) -> Option<CamAngle> {
        self.cams.get(camshaft).copied().flatten()
    }

    /// Whether any camshaft is out.
    pub(crate) fn has_cam_out(&self) -> bool {
        self.cams.iter().any(Option::is_some)
    }

    pub(super) fn hold_cam(&mut self, camshaft: usize, at: Option<CamAngle>) {
        if let Some(held) = self.cams.get_mut(camshaft) {
            *held = at;
        }
    }

    pub(super) fn out_of_bearings(&mut self, out: bool) {
        self.bearings = out;
    }

    /// Where the rotor would point over a geared shaft that is drawn, as it is held.
    pub(crate) fn shaft(&self) -> Option<Clock> {
        self.shaft
    }

    pub(super) fn hold_shaft(&mut self, at: Option<Clock>) {
        self.shaft = at;
    }

    /// The cylinders whose leads are on nothing.
    pub(crate) fn leads_off(&self) -> &[u8] {
        &self.leads
    }

    /// A lead is on its tower, or on nothing.
    pub(super) fn lead_is(&mut self, lead: u8, on: bool) {
        self.leads.retain(|other| *other != lead);
        if !on {
            self.leads.push(lead);
            self.leads.sort_unstable();
        }
    }

    /// Puts what is held where it is held into a reading and a pose of the whole engine.
    pub(super) fn stands(&self, phasing: &Phasing, reading: &mut Reading, pose: &mut Pose) {
        for (camshaft, held) in (0..).zip(&self.cams) {
            if let Some(held) = *held {
                self.cam_stands(phasing, (camshaft, held), reading, pose);
            }
        }
        let dead = |number: u8| self.has_cam_out() || self.leads.contains(&number);
        pose.sparking = pose.sparking.filter(|number| !dead(*number));
        pose.wasting = pose.wasting.filter(|number| !dead(*number));
    }

    fn cam_stands(
        &self,
        phasing: &Phasing,
        (camshaft, held): (usize, CamAngle),
        reading: &mut Reading,
        pose: &mut Pose,
    ) {
        let engine = phasing.engine();
        // What hangs on it alone stands as it does where the crank would have brought it here.
        let ahead = phasing.cam_ahead(camshaft).degrees();
        let there = phasing.at(CrankAngle::new(2.0 * (held.degrees() - ahead)));
        let marks = engine.written().marks.iter().zip(&mut reading.marks);
        for ((mark, stands), own) in marks.zip(&there.marks) {
            if mark.on.camshaft() == Some(camshaft) {
                *stands = *own;
            }
        }
        if let Some(cam) = reading.cams.get_mut(camshaft) {
            *cam = held;
        }
        if camshaft == 0 {
            reading.cam = held;
        }
        if let Some(turned) = pose.cams_clockwise_deg.get_mut(camshaft) {
            *turned = phasing.cam_direction().sign() * held.degrees();
        }
        let shut = ValveReading {
            lift_mm: 0.0,
            open: false,
        };
        let cylinders = reading.cylinders.iter_mut().zip(&mut pose.cylinders);
        for ((cylinder, posed), own) in cylinders.zip(&there.cylinders) {
            let works = |valve| engine.camshaft_of(own.number, valve) == camshaft;
            let stands = |own: ValveReading| if self.bearings { shut } else { own };
            if works(Valve::Intake) {
                cylinder.intake = stands(own.intake);
                posed.intake_mm = cylinder.intake.lift_mm;
            }
            if works(Valve::Exhaust) {
                cylinder.exhaust = stands(own.exhaust);
                posed.exhaust_mm = cylinder.exhaust.lift_mm;
            }
        }
        if engine.metric().driving_camshaft() == Some(camshaft) {
            reading.rotor = there.rotor;
            pose.rotor_deg = there.rotor.map(|rotor| rotor.clock.degrees());
        }
    }

    /// How far from its place one of the layout's camshafts is drawn: away from the crank, far
    /// enough that its wheel is out of mesh and its lobes are clear of the followers.
    pub(super) fn cam_off_mm(&self, layout: &Layout, cam: usize) -> DVec3 {
        let Some(place) = layout.cams.get(cam) else {
            return DVec3::ZERO;
        };
        if self.cam(place.camshaft).is_none() || !self.bearings {
            return DVec3::ZERO;
        }
        let away = place.centre.normalize_or(glam::DVec2::Y);
        (away * 0.55 * layout.measures.bore_mm).extend(0.0)
    }

    /// How far from its place one of the cam drive's wheels is drawn: with its camshaft or, where
    /// that stayed in its bearings, forwards.
    pub(super) fn wheel_off_mm(&self, layout: &Layout, wheel: usize) -> DVec3 {
        let Some(WheelRole::Cam(cam)) = layout.wheels.get(wheel).map(|wheel| wheel.role) else {
            return DVec3::ZERO;
        };
        let camshaft = layout.cams.get(cam).map(|place| place.camshaft);
        match camshaft.and_then(|camshaft| self.cam(camshaft)) {
            Some(_) if !self.bearings => DVec3::Z * 1.6 * layout.wheel_width_mm,
            _ => self.cam_off_mm(layout, cam),
        }
    }
}

/// The angle at which a camshaft is held that is turned on by so many teeth of its wheel; negative,
/// back.
pub(super) fn teeth_on(engine: &Engine, held: CamAngle, teeth: i32) -> CamAngle {
    held + gear_train::cam_tooth(&engine.metric().cam_drive) * f64::from(teeth)
}
