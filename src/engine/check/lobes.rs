//! Lobes as measured: points that do not go on in degrees, or hold no whole lobe; a lobe that lies
//! on another stroke, lifts farther than any, or has two tops.

use super::fault::DescriptionFault;
use crate::angle::wrap_signed;
use crate::description::{Description, LiftPoint, Valve};
use crate::laws::{self, APART_DEG, DIP_MM, LEAST_POINTS, LONGEST_GAP_DEG, MeasuredLift};
use crate::source::Finding;
use crate::words::{Units, counted, degrees, from_nearest_tdc, length, number};

/// A first or last lift over this is no slip of a dial on the base circle: common practice, no
/// source.
const NEARLY_SHUT_MM: f64 = 0.1;
/// Crank degrees from overlap TDC within which a lobe's centre lies, after it for the intake and
/// before it for the exhaust: as wide as a centre may be written.
const CENTRE_DEG: std::ops::RangeInclusive<f64> = 0.0..=210.0;

/// The valves whose lobes were measured, each with the place of its points.
fn measured(d: &Description) -> impl Iterator<Item = (Valve, String, &[LiftPoint])> {
    Valve::BOTH.into_iter().filter_map(|valve| {
        let lifts = d.valves.lifts(valve)?;
        Some((valve, format!("valves.{}.lifts", valve.word()), lifts))
    })
}

/// Points that are no lobe.
pub(super) fn no_whole_lobe(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (valve, place, lifts) in measured(d) {
        let before = findings.len();
        if lifts.len() < LEAST_POINTS {
            findings.push(
                Finding::error(DescriptionFault::LiftsTooFew, place.as_str())
                    .message(format!(
                        "{} of the {} lobe; {LEAST_POINTS} at least are wanted",
                        counted(lifts.len(), "lift", "lifts"),
                        valve.word()
                    ))
                    .why("between points far apart anything could be")
                    .fix("read the valve every 5° or 10° of crank, from where it is shut to where it is shut again"),
            );
        }
        findings.extend(do_not_rise(&place, lifts));
        if findings.len() == before {
            findings.extend(too_far_apart(&place, lifts));
            findings.extend(not_from_the_seat(
                &place,
                lifts,
                (d.units.millimetres(), d.units),
                true,
            ));
        }
        if findings.len() == before {
            findings.extend(no_lobe(d, valve, &place, lifts));
        }
    }
    findings
}

fn do_not_rise(place: &str, lifts: &[LiftPoint]) -> Vec<Finding> {
    let pairs = lifts.iter().zip(lifts.iter().skip(1)).zip(1..);
    let mut findings: Vec<Finding> = pairs
        .filter(|((one, other), _)| other.0 - one.0 < APART_DEG)
        .map(|((one, other), index)| {
            Finding::error(
                DescriptionFault::LiftsDoNotRise,
                format!("{place}[{index}].0"),
            )
            .message(format!(
                "{} comes after {}; points go on in rising degrees",
                degrees(other.0),
                degrees(one.0)
            ))
            .why("one of the two is mistyped, or a point stands in another's place")
            .fix("read both again, and put the points in order")
        })
        .collect();
    if let (Some(first), Some(last)) = (lifts.first(), lifts.last())
        && last.0 - first.0 >= 720.0
        && findings.is_empty()
    {
        findings.push(
            Finding::error(DescriptionFault::LiftsDoNotRise, place)
                .message(format!(
                    "the points go on for {}; less than 720° is allowed",
                    degrees(last.0 - first.0)
                ))
                .why("after two turns of the crank the lobe comes round again")
                .fix("leave one lobe, from where the valve is shut to where it is shut again"),
        );
    }
    findings
}

fn too_far_apart(place: &str, lifts: &[LiftPoint]) -> Vec<Finding> {
    let pairs = lifts.iter().zip(lifts.iter().skip(1)).zip(1..);
    pairs
        // On the seat nothing is to be read.
        .filter(|((one, other), _)| one.1 > 0.0 || other.1 > 0.0)
        .filter(|((one, other), _)| other.0 - one.0 > LONGEST_GAP_DEG)
        .map(|((one, other), index)| {
            Finding::error(
                DescriptionFault::LiftsTooFarApart,
                format!("{place}[{index}]"),
            )
            .message(format!(
                "nothing was read from {} to {}; {} at most is allowed",
                degrees(one.0),
                degrees(other.0),
                degrees(LONGEST_GAP_DEG)
            ))
            .why("between points far apart anything could be")
            .fix("read the lift between, every 5° or 10° of crank")
        })
        .collect()
}

/// A first or last lift that is not 0: too much of it, or so little that it is taken as 0. Lifts of
/// so many millimetres each, to be told in `units`.
fn not_from_the_seat(
    place: &str,
    lifts: &[LiftPoint],
    (mm, units): (f64, Units),
    too_much: bool,
) -> Vec<Finding> {
    let ends = [
        (0, lifts.first()),
        (lifts.len().saturating_sub(1), lifts.last()),
    ];
    ends.into_iter()
        .filter_map(|(index, point)| Some((index, point?.1)))
        .filter(|(_, lift)| *lift > 0.0 && (lift * mm > NEARLY_SHUT_MM) == too_much)
        .map(|(index, lift)| {
            let (at, fault) = (
                format!("{place}[{index}].1"),
                DescriptionFault::LiftsNotFromTheSeat,
            );
            let end = if index == 0 { "first" } else { "last" };
            let told = format!("the {end} lift is {}", length(lift * mm, units));
            if too_much {
                Finding::error(fault, at)
                    .message(format!("{told}; 0 is wanted at both ends"))
                    .why("where the valve leaves its seat and comes back to it is not known")
                    .fix("add the point at which the dial stands at 0")
            } else {
                Finding::warning(fault, at)
                    .message(format!("{told}; it is taken as 0"))
                    .why("a lobe begins and ends with its valve shut")
                    .fix("write 0 there, or add the point at which the dial stands at 0")
            }
        })
        .collect()
}

fn no_lobe(d: &Description, valve: Valve, place: &str, lifts: &[LiftPoint]) -> Vec<Finding> {
    let word = valve.word();
    let points: Vec<(f64, f64)> = lifts.iter().map(|point| (point.0, point.1)).collect();
    let (Some(curve), Some(events)) = (
        MeasuredLift::through(&points),
        laws::events(&d.valves, valve),
    ) else {
        return vec![
            Finding::error(DescriptionFault::LiftsNoLobe, place)
                .message(format!(
                    "the points of the {word} lobe never go up and come down again"
                ))
                .why("a lobe goes up from 0 and comes down to it again")
                .fix("write a lift for each angle, as read on the dial"),
        ];
    };
    let mut findings = Vec::new();
    let side = match valve {
        Valve::Intake => "after",
        Valve::Exhaust => "before",
    };
    if !CENTRE_DEG.contains(&events.centre) {
        findings.push(
            Finding::error(DescriptionFault::LobeOffItsStroke, place)
                .message(format!(
                    "the {word} lobe's centre would stand {}; {} to {} {side} overlap TDC is possible",
                    from_nearest_tdc(curve.centre_deg(), 0),
                    degrees(*CENTRE_DEG.start()),
                    degrees(*CENTRE_DEG.end())
                ))
                .why("degrees count from the cylinder's own firing TDC: its overlap TDC is 360")
                .fix("add 360 to each where they count from overlap TDC, negative before it; and look whether intake and exhaust stand in each other's place"),
        );
    }
    let full = curve.full_lift_mm() * d.valves.ratio();
    if full > d.bore {
        let unit = d.units.short();
        findings.push(
            Finding::error(DescriptionFault::LiftOverTheBore, place)
                .message(format!(
                    "the {word} valve would lift {} {unit}, and its cylinder is {} {unit} wide",
                    number(full, 3),
                    number(d.bore, 3)
                ))
                .why("no valve lifts farther than its cylinder is wide")
                .fix("look for a point left out, and for the unit of the lifts"),
        );
    }
    findings
}

/// What is usable, and should be looked at again; lengths in millimetres, to be told in `units`.
pub(super) fn doubtful(metric: &Description, units: Units) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (valve, place, lifts) in measured(metric) {
        findings.extend(not_from_the_seat(&place, lifts, (1.0, units), false));
        let points: Vec<(f64, f64)> = lifts.iter().map(|point| (point.0, point.1)).collect();
        let dip = MeasuredLift::through(&points).and_then(|curve| curve.deepest_dip());
        let Some(dip) = dip.filter(|dip| dip.deep_mm > DIP_MM) else {
            continue;
        };
        let index = lifts
            .iter()
            .position(|point| wrap_signed(point.0 - dip.at_deg, 720.0).abs() < 1e-6);
        findings.push(
            Finding::warning(
                DescriptionFault::LobeHasTwoTops,
                index.map_or(place.clone(), |index| format!("{place}[{index}].1")),
            )
            .message(format!(
                "the {} lobe dips by {} at {} before it comes down for good; one top is usual",
                valve.word(),
                length(dip.deep_mm, units),
                degrees(dip.at_deg)
            ))
            .why("a reading mistyped looks so, and no lobe is ground so")
            .fix("read the lift there once more"),
        );
    }
    findings
}
