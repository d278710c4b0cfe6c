//! The engine on a card: the figures that hold at every crank angle.
//!
//! From the events as quoted, in whatever form: durations opens + 180 + closes; lobe centres intake
//! duration / 2 − opens before TDC, after it, and exhaust duration / 2 − closes after TDC, before
//! it; separation half their sum, in cam degrees; overlap intake opens before + exhaust closes
//! after TDC; advance as ground = separation − intake centre. A camshaft's trim is in them, as in
//! everything drawn: where camshafts are trimmed apart over several banks they are those of No. 1's
//! valves. Of a lobe as measured the events are where it leaves its seat and is back on it, the
//! centre the middle of equal lifts at half its height.

use serde::Serialize;

use super::Phasing;
use crate::angle::{CamTurn, Clock, CrankAngle, CrankTurn};
use crate::description::{CamDrive, CountedOn, DriveKind, Mark, Valve};
use crate::laws::{self, chain_run, firing, gear_train, ignition};

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
    /// Links of the chain, or teeth of the belt, between the marks where these are set; absent where
    /// they are not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub links_between_marks: Option<LinksBetweenMarks>,
    /// The marks that are read at a pointer; absent where there is none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pointer_marks: Vec<PointerMark>,
    /// What backlash lets the camshaft stand out, crank degrees; null where it is not given.
    pub backlash_crank_deg: Option<f64>,
    /// The same of a chain's or belt's slack, cam degrees; absent for gears.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slack_cam_deg: Option<f64>,
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

/// How the marks of a chain or belt are set by counting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LinksBetweenMarks {
    /// From the crank wheel's mark to the camshaft wheel's.
    pub links: u32,
    /// Whether on the side that the crank pulls.
    pub on_tight_side: bool,
    /// In words.
    #[serde(skip)]
    pub words: String,
    /// What one more or fewer comes to, in words.
    #[serde(skip)]
    pub miscounted: &'static str,
}

fn links_between_marks(drive: &CamDrive) -> Option<LinksBetweenMarks> {
    let words = chain_run::count_words(drive)?;
    Some(LinksBetweenMarks {
        links: drive.links_between_marks?,
        on_tight_side: drive.counted_on() == CountedOn::TightSide,
        words,
        miscounted: chain_run::miscounted_words(drive),
    })
}

/// A mark that is read at a pointer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PointerMark {
    /// What it looks like.
    pub name: String,
    /// Where the pointer stands, seen from the front.
    pub pointer_clock_deg: Clock,
    /// The crank angle at which the mark first comes there, as built; null where it does not in two
    /// turns.
    pub comes_there_at_deg: Option<CrankAngle>,
    /// Whether it comes there once a turn, as the crank's own do, and tells no turn from another.
    pub every_turn: bool,
}

fn pointer_marks(phasing: &Phasing) -> Vec<PointerMark> {
    let marks = phasing.engine().written().marks.iter().enumerate();
    let pointer_mark = |(index, mark): (usize, &Mark)| {
        Some(PointerMark {
            name: mark.name.clone(),
            pointer_clock_deg: Clock::new(mark.pointer_at()?),
            comes_there_at_deg: phasing.at_pointer(index),
            every_turn: mark.turns_with_the_crank(),
        })
    };
    marks.filter_map(pointer_mark).collect()
}

impl Card {
    /// Works the card out.
    pub fn of(phasing: &Phasing) -> Self {
        let engine = phasing.engine();
        let d = engine.metric();
        // An engine has events: the checks asked for them.
        let [intake, exhaust] =
            Valve::BOTH.map(|valve| laws::events(&d.valves, valve).unwrap_or_default());
        let [intake_early, exhaust_early] =
            Valve::BOTH.map(|valve| phasing.number_one_trimmed(valve).degrees());
        let intake_opens = intake.opens_before + intake_early;
        let exhaust_closes = exhaust.closes_after - exhaust_early;
        let intake_centre = intake.centre - intake_early;
        let exhaust_centre = exhaust.centre + exhaust_early;
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
            intake_opens_btdc_deg: intake_opens,
            intake_closes_abdc_deg: intake.closes_after - intake_early,
            exhaust_opens_bbdc_deg: exhaust.opens_before + exhaust_early,
            exhaust_closes_atdc_deg: exhaust_closes,
            intake_duration_deg: intake.duration,
            exhaust_duration_deg: exhaust.duration,
            intake_centre_deg: intake_centre,
            exhaust_centre_deg: exhaust_centre,
            separation_cam_deg: separation,
            overlap_deg: intake_opens + exhaust_closes,
            ground_advance_deg: separation - intake_centre,
            cam_tooth_cam_deg: gear_train::cam_tooth(&d.cam_drive).degrees(),
            cam_tooth_crank_deg: gear_train::crank_per_cam_tooth(&d.cam_drive).degrees(),
            marks_meet_at_deg: d.cam_drive.marks_meet_at(),
            marks_meet_again_turns: gear_train::turns_between_meetings(&d.cam_drive),
            links_between_marks: links_between_marks(&d.cam_drive),
            pointer_marks: pointer_marks(phasing),
            backlash_crank_deg: gear_train::crank_play(&d.cam_drive).map(CrankTurn::degrees),
            slack_cam_deg: gear_train::cam_play(&d.cam_drive)
                .filter(|_| d.cam_drive.kind != DriveKind::Gears)
                .map(CamTurn::degrees),
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
            static_advance_on_pulley_mm: d
                .pulley_diameter
                .map(|diameter| ignition::on_pulley_mm(diameter, d.ignition.static_advance)),
        }
    }
}
