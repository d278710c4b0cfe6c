//! The valve events: valves that never open or never close, events far from common practice, little
//! clearance over the piston.

use std::ops::RangeInclusive;

use super::fault::DescriptionFault;
use crate::angle::CrankTurn;
use crate::description::Description;
use crate::laws::{Lobe, Lobes, SliderCrank, clearance};
use crate::source::Finding;

/// The two valves of a description: the place of the field that is pointed at, the word, the two
/// events, the full lift.
fn both(d: &Description) -> [(&'static str, &'static str, f64, f64, f64); 2] {
    let (intake, exhaust) = (&d.valves.intake, &d.valves.exhaust);
    [
        (
            "valves.intake",
            "intake",
            intake.opens_btdc,
            intake.closes_abdc,
            intake.lift,
        ),
        (
            "valves.exhaust",
            "exhaust",
            exhaust.opens_bbdc,
            exhaust.closes_atdc,
            exhaust.lift,
        ),
    ]
}

/// Crank degrees for which a valve can be open at all. With less, the flank of a lobe is so short
/// that its base circle outgrows any engine; with more, the valve would still be open at the next
/// firing. Common practice lies well inside: no source.
const POSSIBLE_DURATION_DEG: RangeInclusive<f64> = 60.0..=400.0;

/// A valve open for 0° or less, or for 720° or more, from seat to seat.
pub(super) fn never_or_always_open(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (place, word, opens, closes, lift) in both(d) {
        let duration = opens + 180.0 + closes;
        // A lift that is never reached is another fault; its law has no seats.
        let seat = if d.valves.quoted_at < lift {
            Lobe::between(0.0, duration, lift, d.valves.quoted_at).seat_duration_deg()
        } else {
            0.0
        };
        if duration <= 0.0 {
            findings.push(
                Finding::error(DescriptionFault::ValveNeverOpens, place)
                    .message(format!("the {word} valve would be open for {duration}°; more than 0° is needed"))
                    .why("it closes before it opens")
                    .fix("check both events: before one dead centre and after the other, negative where it is the other way"),
            );
        } else if duration >= 720.0 || seat >= 720.0 {
            findings.push(
                Finding::error(DescriptionFault::ValveNeverCloses, place)
                    .message(format!("the {word} valve would be off its seat for {:.0}°; less than 720° is allowed", duration.max(seat)))
                    .why("a valve that never closes holds no compression")
                    .fix("check both events, and the lift at which they are quoted"),
            );
        } else if !POSSIBLE_DURATION_DEG.contains(&duration) {
            let (least, most) = (POSSIBLE_DURATION_DEG.start(), POSSIBLE_DURATION_DEG.end());
            findings.push(
                Finding::error(DescriptionFault::DurationImpossible, place)
                    .message(format!("the {word} valve is open for {duration}°; {least}° to {most}° is possible"))
                    .why("no follower can be lifted and let down again in less, and no valve closes in time for its compression with more")
                    .fix("check both events: before one dead centre and after the other, negative where it is the other way"),
            );
        }
    }
    findings
}

/// Events quoted at a lift that the valve never reaches.
pub(super) fn quoted_over_the_lift(d: &Description) -> Vec<Finding> {
    let unit = d.units.short();
    both(d)
        .into_iter()
        .filter(|(_, _, _, _, lift)| d.valves.quoted_at >= *lift)
        .map(|(_, word, _, _, lift)| {
            Finding::error(DescriptionFault::QuotedOverTheLift, "valves.quoted_at")
                .message(format!(
                    "events are quoted at {} {unit}, and the {word} valve lifts {lift} {unit}",
                    d.valves.quoted_at
                ))
                .why("the valve never comes to that lift, so it has no events there")
                .fix("quote them at a smaller lift, or correct the full lift")
        })
        .collect()
}

/// Durations or overlap that hardly any engine has. The limits are common practice, no source: from
/// mild side-valve engines to full race.
pub(super) fn far_from_common_practice(d: &Description) -> Vec<Finding> {
    const DURATION_DEG: (f64, f64) = (180.0, 350.0);
    const OVERLAP_DEG: (f64, f64) = (-40.0, 130.0);
    let mut findings = Vec::new();
    for (place, word, opens, closes, _) in both(d) {
        let duration = opens + 180.0 + closes;
        if !(DURATION_DEG.0..=DURATION_DEG.1).contains(&duration) {
            findings.push(
                Finding::warning(DescriptionFault::UnusualDuration, place)
                    .message(format!(
                        "the {word} valve is open for {duration}°; {}° to {}° is common",
                        DURATION_DEG.0, DURATION_DEG.1
                    ))
                    .why("an event read on the wrong side of its dead centre gives such a figure")
                    .fix("compare with the cam card once more"),
            );
        }
    }
    let overlap = d.valves.intake.opens_btdc + d.valves.exhaust.closes_atdc;
    if !(OVERLAP_DEG.0..=OVERLAP_DEG.1).contains(&overlap) {
        findings.push(
            Finding::warning(DescriptionFault::UnusualOverlap, "valves")
                .message(
                    format!(
                        "both valves are open together for {overlap}°; {}° to {}° is common",
                        OVERLAP_DEG.0, OVERLAP_DEG.1
                    )
                    .replace('-', "−"),
                )
                .why("an event read on the wrong side of its dead centre gives such a figure")
                .fix("compare with the cam card once more"),
        );
    }
    findings
}

/// Less clearance between valve and piston than common practice asks for.
pub(super) fn little_clearance(metric: &Description) -> Vec<Finding> {
    let Some(measured) = &metric.clearance else {
        return Vec::new();
    };
    let least = clearance::least(
        measured,
        &SliderCrank::of(metric),
        &Lobes::of(&metric.valves),
        CrankTurn::new(0.0),
    );
    let rows = [
        (
            "clearance.intake_drop",
            "intake",
            least.intake,
            clearance::LEAST_INTAKE_MM,
        ),
        (
            "clearance.exhaust_drop",
            "exhaust",
            least.exhaust,
            clearance::LEAST_EXHAUST_MM,
        ),
    ];
    rows.into_iter()
        .filter(|(_, _, gap, least_mm)| gap.gap_mm < *least_mm)
        .map(|(place, word, gap, least_mm)| {
            Finding::warning(DescriptionFault::LittleClearance, place)
                .message(format!(
                    "the {word} valve comes within {:.2} mm of the piston, at {:.0}°; {least_mm:.1} mm at least is common practice",
                    gap.gap_mm,
                    gap.crank.degrees()
                ))
                .why("a stretched chain, a tooth out or high revs takes up the rest, and the valve bends")
                .fix("measure again, and ask the engine maker's manual or a qualified mechanic before it is turned")
        })
        .collect()
}
