//! The engine on a card: the figures that hold at every crank angle.
//!
//! From the events as quoted: durations opens + 180 + closes; lobe centres intake duration / 2 −
//! opens_btdc after TDC and exhaust duration / 2 − closes_atdc before it; separation half their
//! sum, in cam degrees; overlap opens_btdc + closes_atdc; advance as ground = separation − intake
//! centre.

use serde::Serialize;

use super::Phasing;
use crate::angle::CrankTurn;
use crate::laws::{firing, gear_train, ignition};

/// The timing card. Degrees of crank unless the name says otherwise; as drawn, but for what says as
/// built.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Card {
    /// Cylinders in the order they fire.
    pub firing_order: Vec<u8>,
    /// When each of them fires.
    pub firing_angles_deg: Vec<f64>,
    /// The turn from each firing to the next; together 720.
    pub intervals_deg: Vec<f64>,
    /// The cylinder on overlap while this one fires, for each of the firing order.
    pub running_mates: Vec<Option<u8>>,
    /// Before TDC.
    pub intake_opens_btdc_deg: f64,
    /// After BDC.
    pub intake_closes_abdc_deg: f64,
    /// Before BDC.
    pub exhaust_opens_bbdc_deg: f64,
    /// After TDC.
    pub exhaust_closes_atdc_deg: f64,
    /// Intake open, at the quoted lift.
    pub intake_duration_deg: f64,
    /// Exhaust open, at the quoted lift.
    pub exhaust_duration_deg: f64,
    /// Intake full lift, after overlap TDC.
    pub intake_centre_deg: f64,
    /// Exhaust full lift, before overlap TDC.
    pub exhaust_centre_deg: f64,
    /// Between the lobes, cam degrees.
    pub separation_cam_deg: f64,
    /// Both open.
    pub overlap_deg: f64,
    /// How far the camshaft is ground ahead of straight up.
    pub ground_advance_deg: f64,
    /// One tooth of the cam wheel, cam degrees.
    pub cam_tooth_cam_deg: f64,
    /// One tooth of the cam wheel, crank degrees.
    pub cam_tooth_crank_deg: f64,
    /// The crank angle at which the marks meet.
    pub marks_meet_at_deg: f64,
    /// Turns of the crank until they meet again.
    pub marks_meet_again_turns: u64,
    /// What backlash lets the camshaft stand out, crank degrees; null where it is not given.
    pub backlash_crank_deg: Option<f64>,
    /// One tooth of the distributor's drive, rotor degrees; null without a distributor.
    pub rotor_tooth_deg: Option<f64>,
    /// Rotor past its tower at the spark, at rest; null without a distributor.
    pub register_deg: Option<f64>,
    /// The same at the ends of the vacuum range.
    pub register_range_deg: Option<(f64, f64)>,
    /// Within this of the tower the tip faces it; null where the widths are not given.
    pub contact_within_deg: Option<f64>,
    /// Static advance, before TDC.
    pub static_advance_deg: f64,
    /// Sparks as built, before each cylinder's own firing TDC, by number.
    pub spark_btdc_deg: Vec<f64>,
    /// Static advance laid out on the pulley's rim: π × diameter × degrees / 360; null without a
    /// diameter.
    pub static_advance_on_pulley_mm: Option<f64>,
}

impl Card {
    /// Works the card out.
    pub fn of(phasing: &Phasing) -> Self {
        let engine = phasing.engine();
        let d = engine.metric();
        let (intake, exhaust) = (&d.valves.intake, &d.valves.exhaust);
        let intake_duration = intake.opens_btdc + 180.0 + intake.closes_abdc;
        let exhaust_duration = exhaust.opens_bbdc + 180.0 + exhaust.closes_atdc;
        let intake_centre = intake_duration / 2.0 - intake.opens_btdc;
        let exhaust_centre = exhaust_duration / 2.0 - exhaust.closes_atdc;
        let separation = f64::midpoint(intake_centre, exhaust_centre);
        let (least, most) = ignition::vacuum_extremes(&d.ignition);
        let register = |vacuum| {
            d.distributor
                .as_ref()
                .map(|distributor| ignition::register_deg(distributor, &d.ignition, vacuum))
        };
        Self {
            firing_order: engine.firing_order().to_vec(),
            firing_angles_deg: engine.firing_angles().to_vec(),
            intervals_deg: firing::intervals(engine.firing_angles()),
            running_mates: engine
                .firing_order()
                .iter()
                .map(|&number| engine.running_mate(number))
                .collect(),
            intake_opens_btdc_deg: intake.opens_btdc,
            intake_closes_abdc_deg: intake.closes_abdc,
            exhaust_opens_bbdc_deg: exhaust.opens_bbdc,
            exhaust_closes_atdc_deg: exhaust.closes_atdc,
            intake_duration_deg: intake_duration,
            exhaust_duration_deg: exhaust_duration,
            intake_centre_deg: intake_centre,
            exhaust_centre_deg: exhaust_centre,
            separation_cam_deg: separation,
            overlap_deg: intake.opens_btdc + exhaust.closes_atdc,
            ground_advance_deg: separation - intake_centre,
            cam_tooth_cam_deg: gear_train::cam_tooth(&d.cam_drive).degrees(),
            cam_tooth_crank_deg: gear_train::crank_per_cam_tooth(&d.cam_drive).degrees(),
            marks_meet_at_deg: d.cam_drive.marks_meet_at,
            marks_meet_again_turns: gear_train::turns_between_meetings(&d.cam_drive),
            backlash_crank_deg: gear_train::crank_play(&d.cam_drive).map(CrankTurn::degrees),
            rotor_tooth_deg: d
                .distributor
                .as_ref()
                .map(|distributor| ignition::rotor_tooth(distributor).degrees()),
            register_deg: register(0.0),
            register_range_deg: register(most).zip(register(least)),
            contact_within_deg: d
                .distributor
                .as_ref()
                .and_then(ignition::contact_half_width_deg),
            static_advance_deg: d.ignition.static_advance,
            spark_btdc_deg: phasing
                .cylinders()
                .iter()
                .map(|cylinder| phasing.spark_btdc_deg(cylinder))
                .collect(),
            static_advance_on_pulley_mm: d.pulley_diameter.map(|diameter| {
                std::f64::consts::PI * diameter * d.ignition.static_advance / 360.0
            }),
        }
    }
}
