//! Lobes read from seat to seat, against those of the description: how long each holds its valve
//! over the lifts that cards quote, how high and how fast it lifts, and how far it is from its card.

use serde::Serialize;

use super::degreeing::{Degreed, card_centre_deg, degree_lobes, most_out_deg, trim_deg};
use super::lift_readings::{Doubtful, ReadLobe};
use super::lift_table::{LiftTable, TableFault};
use crate::angle::wrap_signed;
use crate::description::Valve;
use crate::description::fields::MOST_LIFTS;
use crate::engine::Engine;
use crate::laws::{Lobe, Lobes, MeasuredLift};
use crate::source::Finding;
use crate::words::{Units, degrees, number, serialize_rounded};

/// The lifts that durations are told at: 1 mm, and 0.05 in.
const TOLD_AT_MM: [f64; 2] = [1.0, 1.27];

/// Points on a line of a description: what a terminal has room for.
const POINTS_A_LINE: usize = 5;

/// How far a lobe as read is from its card where it is farthest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// Lift as read less lift by the card, where lifts are measured.
    #[serde(serialize_with = "serialize_rounded")]
    pub more_mm: f64,
    /// The phase at which it was read: 0 at firing TDC, 360 at overlap TDC.
    #[serde(serialize_with = "serialize_rounded")]
    pub phase_deg: f64,
}

/// How long a lobe holds its valve over a lift.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DurationOver {
    /// The lift, where lifts are measured.
    pub lift_mm: f64,
    /// Crank degrees; null where it never comes over it.
    #[serde(serialize_with = "crate::words::serialize_rounded_option")]
    pub duration_deg: Option<f64>,
}

/// The figures of one lobe as read; lifts where the description measures them, phases from the
/// cylinder's firing TDC.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LobeFigures {
    /// The middle of equal lifts at half its height: after TDC for the intake, before it for the
    /// exhaust.
    #[serde(serialize_with = "serialize_rounded")]
    pub centre_deg: f64,
    /// Where the valve leaves its seat.
    #[serde(serialize_with = "serialize_rounded")]
    pub leaves_seat_phase_deg: f64,
    /// From there to where it is back on it.
    #[serde(serialize_with = "serialize_rounded")]
    pub seat_duration_deg: f64,
    /// Over the lifts that cards quote.
    pub durations: Vec<DurationOver>,
    /// The most that was read.
    #[serde(serialize_with = "serialize_rounded")]
    pub full_lift_mm: f64,
    /// Where.
    #[serde(serialize_with = "serialize_rounded")]
    pub full_lift_phase_deg: f64,
    /// The fastest it opens or, negative, closes.
    #[serde(serialize_with = "serialize_rounded")]
    pub greatest_rate_mm_per_deg: f64,
    /// Where.
    #[serde(serialize_with = "serialize_rounded")]
    pub greatest_rate_phase_deg: f64,
    /// From the description's lobe, as it stands.
    pub from_card: Difference,
    /// The same with its centre laid on the card's.
    pub from_card_centred: Difference,
    /// Half of the readings are off a smooth curve by this or less.
    #[serde(serialize_with = "serialize_rounded")]
    pub scatter_mm: f64,
    /// Where it dips before it comes down for good, and by how much; null where it has one top.
    pub dip: Option<Difference>,
}

/// Both lobes of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadLobes {
    /// The intake's, where it was read.
    pub intake: Option<ReadLobe>,
    /// The exhaust's, where it was read.
    pub exhaust: Option<ReadLobe>,
    /// Where the camshaft stands by them.
    pub degreed: Degreed,
}

impl ReadLobes {
    /// The lobes of a table, on an engine.
    ///
    /// # Errors
    /// Everything for which they are no lobes of this engine.
    pub fn of(engine: &Engine, table: &LiftTable) -> Result<Self, Vec<Finding>> {
        let mut findings = Vec::new();
        let mut lobe = |valve: Valve| {
            let readings = match valve {
                Valve::Intake => table.intake.as_ref(),
                Valve::Exhaust => table.exhaust.as_ref(),
            }?;
            match ReadLobe::of(valve, readings, engine.written().units) {
                Ok(lobe) => {
                    findings.extend(elsewhere(engine, valve, &lobe.curve));
                    Some(lobe)
                }
                Err(found) => {
                    findings.extend(found);
                    None
                }
            }
        };
        let [intake, exhaust] = Valve::BOTH.map(&mut lobe);
        let curves = [&intake, &exhaust].map(|lobe| lobe.as_ref().map(|lobe| &lobe.curve));
        match degree_lobes(engine, curves) {
            Some(degreed) if findings.is_empty() => Ok(Self {
                intake,
                exhaust,
                degreed,
            }),
            _ => Err(findings),
        }
    }

    /// The lobe of a valve, where it was read.
    pub fn lobe(&self, valve: Valve) -> Option<&ReadLobe> {
        match valve {
            Valve::Intake => self.intake.as_ref(),
            Valve::Exhaust => self.exhaust.as_ref(),
        }
    }

    /// Every reading that does not fit its neighbours.
    pub fn doubtful(&self) -> impl Iterator<Item = &Doubtful> {
        let lobes = [&self.intake, &self.exhaust].into_iter().flatten();
        lobes.flat_map(|lobe| &lobe.doubtful)
    }

    /// The lobes as a description has them in its `valves`: lines of RON, lifts in the file's units.
    pub fn as_written(&self, engine: &Engine) -> Vec<String> {
        let units = engine.written().units;
        let places = match units {
            Units::Millimetres => 3,
            Units::Inches => 4,
        };
        let mut lines = Vec::new();
        for valve in Valve::BOTH {
            let Some(lobe) = self.lobe(valve) else {
                continue;
            };
            // What was read holds the camshaft's trim; a lobe as written does not.
            let trim = trim_deg(engine, valve);
            let points = lobe.curve.points().map(|(deg, lift)| (deg + trim, lift));
            let points: Vec<(f64, f64)> = points.collect();
            // More than a description takes is thinned out evenly.
            let each = points.len().div_ceil(MOST_LIFTS - 1);
            let last = points.len().saturating_sub(1);
            let kept: Vec<String> = points
                .iter()
                .enumerate()
                .filter(|(index, _)| index.is_multiple_of(each) || *index == last)
                .map(|(_, (deg, lift))| {
                    let lift = number(lift / units.millimetres(), places);
                    format!("({}, {lift})", number(*deg, 2))
                })
                .collect();
            lines.push(format!("{}: (lifts: [", valve.word()));
            let row = |points: &[String]| format!("    {},", points.join(", "));
            lines.extend(kept.chunks(POINTS_A_LINE).map(row));
            lines.push("]),".to_owned());
        }
        lines
    }

    /// The figures of a valve's lobe, where it was read.
    pub fn figures(&self, engine: &Engine, valve: Valve) -> Option<LobeFigures> {
        let read = self.lobe(valve)?;
        let curve = &read.curve;
        let valves = &engine.metric().valves;
        let lobes = Lobes::on_card(valves);
        let card = lobes.lobe(valve);
        let rate = curve.greatest_rate();
        let from_overlap = curve.centre_deg() - 360.0;
        let difference =
            |later_deg: f64| greatest_difference(curve, card, valves.ratio(), later_deg);
        let trim = trim_deg(engine, valve);
        Some(LobeFigures {
            centre_deg: match valve {
                Valve::Intake => from_overlap,
                Valve::Exhaust => 0.0 - from_overlap,
            },
            leaves_seat_phase_deg: curve.leaves_seat_deg(),
            seat_duration_deg: curve.seat_duration_deg(),
            durations: TOLD_AT_MM
                .map(|lift_mm| DurationOver {
                    lift_mm,
                    duration_deg: curve.duration_over_deg(lift_mm),
                })
                .into(),
            full_lift_mm: curve.full_lift_mm(),
            full_lift_phase_deg: curve.full_lift_deg(),
            greatest_rate_mm_per_deg: rate.mm_per_deg,
            greatest_rate_phase_deg: rate.at_deg,
            from_card: difference(trim),
            from_card_centred: difference(card.centre_deg() - curve.centre_deg()),
            scatter_mm: read.scatter_mm,
            dip: curve.deepest_dip().map(|dip| Difference {
                more_mm: 0.0 - dip.deep_mm,
                phase_deg: dip.at_deg,
            }),
        })
    }
}

/// Where lift as read and lift by the card are farthest apart, the readings taken so many degrees
/// later.
fn greatest_difference(
    curve: &MeasuredLift,
    card: &Lobe,
    ratio: f64,
    later_deg: f64,
) -> Difference {
    let differences = (0..1440).map(|half| {
        let phase_deg = f64::from(half) / 2.0;
        let by_card = card.lift_mm(phase_deg + later_deg) / ratio;
        Difference {
            more_mm: curve.lift_mm(phase_deg) - by_card,
            phase_deg,
        }
    });
    let none = Difference {
        more_mm: 0.0,
        phase_deg: curve.centre_deg(),
    };
    differences.fold(none, |most, one| {
        if one.more_mm.abs() > most.more_mm.abs() {
            one
        } else {
            most
        }
    })
}

/// A lobe that lies where this engine has none.
fn elsewhere(engine: &Engine, valve: Valve, curve: &MeasuredLift) -> Option<Finding> {
    let lobes = Lobes::on_card(&engine.metric().valves);
    let most_deg = most_out_deg(engine);
    let off = |lobe: &Lobe, turned_deg: f64| {
        wrap_signed(
            curve.centre_deg() + turned_deg + trim_deg(engine, valve) - lobe.centre_deg(),
            720.0,
        )
    };
    let lies_by = |lobe: &Lobe, turned_deg: f64| off(lobe, turned_deg).abs() <= most_deg;
    let own = lobes.lobe(valve);
    if lies_by(own, 0.0) {
        return None;
    }
    let other = match valve {
        Valve::Intake => Valve::Exhaust,
        Valve::Exhaust => Valve::Intake,
    };
    let (word, side) = match valve {
        Valve::Intake => ("intake", "after"),
        Valve::Exhaust => ("exhaust", "before"),
    };
    let (why, fix) = if lies_by(lobes.lobe(other), 0.0) {
        (
            format!("that is where the {} lobe lies", other.word()),
            "look whether the two columns' names stand in each other's place".to_owned(),
        )
    } else if lies_by(own, 360.0) {
        (
            "it fits a wheel that was zeroed at No. 1's other TDC".to_owned(),
            "where degrees count from firing TDC, write `crank (deg after firing TDC)` over them; else take 360° off or add them"
                .to_owned(),
        )
    } else {
        (
            format!("more than {} is no slip of a few teeth", degrees(most_deg.round())),
            "set the wheel to 0 at No. 1's overlap TDC by a stop (`dotwise tdc --stop A B`), and read No. 1's valve again"
                .to_owned(),
        )
    };
    Some(
        Finding::error(TableFault::LobeElsewhere, format!("{word} lift"))
            .message(format!(
                "the {word} lobe's centre would stand {} from its card's {} {side} TDC",
                degrees(off(own, 0.0).abs().round()),
                degrees(card_centre_deg(engine, valve))
            ))
            .why(why)
            .fix(fix),
    )
}
