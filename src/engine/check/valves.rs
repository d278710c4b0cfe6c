//! The valve events: events that are not in one form, or in two pairs that no lobe has; valves that
//! never open or never close, events far from common practice, little clearance over the piston.

use std::ops::RangeInclusive;

use super::fault::DescriptionFault;
use crate::description::{
    Adjusters, Description, Events, EventsForm, FollowerKind, NoEvents, Valve,
};
use crate::laws::follower::{FollowerShape, least_base_mm};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ramps::NoRamps;
use crate::laws::{self, Lobe, Lobes, SliderCrank, clearance, fitted_ramps};
use crate::source::Finding;
use crate::words::{Units, event, length, list};

/// The valves whose events are stated whole, each with the place that is pointed at.
fn stated(d: &Description) -> impl Iterator<Item = (&'static str, Valve, Events)> {
    Valve::BOTH.into_iter().filter_map(|valve| {
        let events = laws::events(&d.valves, valve)?;
        Some((place_of(d, valve), valve, events))
    })
}

/// Where a valve's events stand in the file.
fn place_of(d: &Description, valve: Valve) -> &'static str {
    match (d.valves.form(valve), valve) {
        (Ok(EventsForm::Card), _) => "valves.card",
        (_, Valve::Intake) => "valves.intake",
        (_, Valve::Exhaust) => "valves.exhaust",
    }
}

/// What to look at again where a valve is open for a time that no valve is.
fn check_again(d: &Description, valve: Valve) -> &'static str {
    match d.valves.form(valve) {
        Ok(EventsForm::Measured) => {
            "check the first and the last of its `lifts`: degrees of crank, not of the camshaft"
        }
        Ok(EventsForm::Duration | EventsForm::Card) => {
            "check the duration: crank degrees, twice those of the camshaft"
        }
        _ => {
            "check both events: before one dead centre and after the other, negative where it is the other way"
        }
    }
}

/// Events that are not stated, stated twice, or begun and not ended.
pub(super) fn not_in_one_form(d: &Description) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    for valve in Valve::BOTH {
        // A card beside a lobe as measured may be left out, and is whole where it is not.
        let beside = d.valves.lifts(valve).is_some();
        let fault = match d.valves.events_on_card(valve) {
            Ok(_) | Err(NoEvents::Measured) => continue,
            Err(NoEvents::NotStated) if beside => continue,
            Err(fault) => fault,
        };
        let (word, one) = (
            valve.word(),
            "each valve's events stand in the file once, in one form",
        );
        let quoted = |names: &[&str]| {
            let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
            list(&names)
        };
        let forms = || {
            let forms = EventsForm::ALL.map(|form| format!("`{}`", form.example(valve)));
            format!(
                "{}; or, for both valves, {}",
                forms[..2].join(", or "),
                forms[2]
            )
        };
        let finding = match fault {
            NoEvents::NotStated | NoEvents::Measured => Finding::error(
                DescriptionFault::EventsNotStated,
                "valves",
            )
            .message(format!("the {word} valve's events are missing"))
            .why("nobody knows when it opens and closes, and nothing else in the file says it")
            .fix(format!("write {}", forms())),
            NoEvents::Several(begun) => {
                let words: Vec<String> = begun
                    .iter()
                    .map(|form| format!("as {}", form.word()))
                    .collect();
                let message = if let [EventsForm::Card] = begun.as_slice() {
                    format!("`{word}` has fields of its own beside the cam card")
                } else {
                    format!(
                        "the {word} valve's events are given in more than one form: {}",
                        words.join(", ")
                    )
                };
                Finding::error(DescriptionFault::EventsStatedTwice, place_of(d, valve))
                    .message(message)
                    .why(format!("{one}: where two differ, nobody knows which holds"))
                    .fix(format!("keep one of them: {}", forms()))
            }
            NoEvents::Half(form, missing) => {
                let are = if missing.len() == 1 { "is" } else { "are" };
                Finding::error(DescriptionFault::EventsHalfStated, place_of(d, valve))
                    .message(match form {
                        EventsForm::Card => {
                            format!(
                                "the cam card is not whole: {} {are} missing",
                                quoted(&missing)
                            )
                        }
                        _ => format!(
                            "the {word} valve's events are not whole: {} {are} missing",
                            quoted(&missing)
                        ),
                    })
                    .why(format!("{one}, and that form has all of its figures"))
                    .fix(format!(
                        "add {}; the forms are {}",
                        quoted(&missing),
                        forms()
                    ))
            }
        };
        // What is wrong with the card is said once, not of each valve.
        if findings
            .iter()
            .all(|other| other.message != finding.message)
        {
            findings.push(finding);
        }
    }
    findings
}

/// A second pair that is half stated, or stated as angles and as a duration.
pub(super) fn second_pair_not_whole(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for valve in Valve::BOTH {
        let (opens, closes) = match valve {
            Valve::Intake => ("opens_btdc", "closes_abdc"),
            Valve::Exhaust => ("opens_bbdc", "closes_atdc"),
        };
        let message = match d.valves.written_also_at(valve) {
            None | Some((_, [Some(_), Some(_), None] | [None, None, Some(_)])) => continue,
            Some((_, [None, None, None])) => {
                "says a lift, and not for how long the valve is over it".to_owned()
            }
            Some((_, [_, _, Some(_)])) => {
                "has angles and a duration: one of the two is allowed".to_owned()
            }
            Some((_, [Some(_), None, None])) => format!("says `{opens}` and not `{closes}`"),
            Some((_, [None, Some(_), None])) => format!("says `{closes}` and not `{opens}`"),
        };
        findings.push(
            Finding::error(
                DescriptionFault::SecondPairNotWhole,
                format!("valves.{}.also_at", valve.word()),
            )
            .message(format!("the {} valve's second pair {message}", valve.word()))
            .why("both events at another lift, or the time between them, fix the ramps")
            .fix(format!("write `also_at: (lift: …, {opens}: …, {closes}: …)`, or `also_at: (lift: …, duration: …)`"))
        );
    }
    findings
}

/// A lobe's centre, from TDC.
fn middle(valve: Valve, deg: f64) -> String {
    match valve {
        Valve::Intake => event(deg, "ATDC", "BTDC"),
        Valve::Exhaust => event(deg, "BTDC", "ATDC"),
    }
}

/// Two pairs of events that no lobe has both.
pub(super) fn no_such_ramps(d: &Description) -> Vec<Finding> {
    let unit = d.units.short();
    let mut findings = Vec::new();
    for (_, valve, events) in stated(d) {
        let (Some(also), Some(Err(reason))) = (events.also_at, fitted_ramps(&events)) else {
            continue;
        };
        let (word, lift, quoted) = (valve.word(), also.lift, events.quoted_at);
        let (lasts, also_lasts) = (events.duration, also.duration);
        let (message, fix) = match reason {
            // Said by `quoted_over_the_lift`, or of the ranges.
            NoRamps::NotReached => continue,
            NoRamps::SameLift => (
                format!("both pairs of the {word} valve's events are at {lift} {unit}"),
                "give the second pair at another lift, or leave `also_at` out".to_owned(),
            ),
            NoRamps::LargerIsNoShorter => (
                format!("the {word} valve would be over {quoted} {unit} for {lasts}° and over {lift} {unit} for {also_lasts}°; it is over the larger lift for the shorter time"),
                "check which lift goes with which pair, and on which side of its dead centre each event is".to_owned(),
            ),
            NoRamps::NoExponent(least, most) => (
                format!(
                    "the {word} valve is over {quoted} {unit} for {lasts}°, so over {lift} {unit} for {least:.1}° to {most:.1}°; {also_lasts}° is given"
                ),
                "check both lifts, where they were measured, and both pairs; or leave `also_at` out, and an assumed law stands for the ramps".to_owned(),
            ),
        };
        findings.push(
            Finding::error(
                DescriptionFault::NoSuchRamps,
                format!("valves.{word}.also_at"),
            )
            .message(message)
            .why("no lobe's ramps give both pairs, so one of them is misread")
            .fix(fix),
        );
    }
    findings
}

/// A second pair whose middle is not that of the first: the lobe is not alike on both sides.
pub(super) fn lobe_not_symmetric(d: &Description) -> Vec<Finding> {
    /// Two readings of a wheel, each good to a degree, lie as far apart as this.
    const ALIKE_DEG: f64 = 2.0;
    let mut findings = Vec::new();
    for (_, valve, events) in stated(d) {
        let Some(centre) = events.also_at.and_then(|also| also.centre) else {
            continue;
        };
        if (centre - events.centre).abs() <= ALIKE_DEG {
            continue;
        }
        findings.push(
            Finding::warning(
                DescriptionFault::LobeNotSymmetric,
                format!("valves.{}.also_at", valve.word()),
            )
            .message(format!(
                "the middle of the {} valve's second pair is {}, that of its events {}",
                valve.word(),
                middle(valve, centre),
                middle(valve, events.centre)
            ))
            .why("the lift between events is told by a law that is alike on both sides, about the middle of the events: it then leaves and reaches its seat some degrees from where your lobe does")
            .fix("read all four angles again; where the lobe is made so, take the lift near the seats with care"),
        );
    }
    findings
}

/// Crank degrees for which a valve can be open at all. With less, the flank of a lobe is so short
/// that its base circle outgrows any engine; with more, the valve would still be open at the next
/// firing. Common practice lies well inside: no source.
const POSSIBLE_DURATION_DEG: RangeInclusive<f64> = 60.0..=400.0;

/// A valve open for 0° or less, or for 720° or more, from seat to seat.
pub(super) fn never_or_always_open(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (place, valve, events) in stated(d) {
        let (word, duration) = (valve.word(), events.duration);
        // A lift that is never reached is another fault; its law has no seats.
        let seat = match fitted_ramps(&events) {
            _ if events.quoted_at >= events.lift => 0.0,
            Some(Ok(ramps)) => ramps.seat_deg,
            _ => Lobe::between(0.0, duration, events.lift, events.quoted_at).seat_duration_deg(),
        };
        if duration <= 0.0 {
            findings.push(
                Finding::error(DescriptionFault::ValveNeverOpens, place)
                    .message(format!(
                        "the {word} valve would be open for {duration}°; more than 0° is needed"
                    ))
                    .why("it closes before it opens")
                    .fix(check_again(d, valve)),
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
                    .fix(check_again(d, valve)),
            );
        }
    }
    findings
}

/// Events quoted at a lift that the valve never reaches, the second pair's among them.
pub(super) fn quoted_over_the_lift(d: &Description) -> Vec<Finding> {
    let unit = d.units.short();
    let mut findings = Vec::new();
    for (_, valve, events) in stated(d) {
        let word = valve.word();
        let own = match valve {
            Valve::Intake => d.valves.intake.quoted_at,
            Valve::Exhaust => d.valves.exhaust.quoted_at,
        };
        let quoted = match own {
            Some(_) => format!("valves.{word}.quoted_at"),
            None => "valves.quoted_at".to_owned(),
        };
        let also = events
            .also_at
            .map(|also| (format!("valves.{word}.also_at.lift"), also.lift));
        for (place, at) in [Some((quoted, events.quoted_at)), also]
            .into_iter()
            .flatten()
        {
            if at < events.lift {
                continue;
            }
            findings.push(
                Finding::error(DescriptionFault::QuotedOverTheLift, place)
                    .message(format!(
                        "events are quoted at {at} {unit}, and the {word} valve lifts {} {unit}",
                        events.lift
                    ))
                    .why("the valve never comes to that lift, so it has no events there")
                    .fix("quote them at a smaller lift, or correct the full lift"),
            );
        }
    }
    findings
}

/// Lifts that are the tappet's, and no ratio to make the valve's of them.
pub(super) fn rocker_ratio_missing(d: &Description) -> Vec<Finding> {
    if d.valves.is_at_tappet() && d.valves.rocker_ratio.is_none() {
        vec![
            Finding::error(DescriptionFault::RockerRatioMissing, "valves.measured_at")
                .message("lifts are measured at the tappet, and `rocker_ratio` is not stated")
                .why("the valve moves the rocker's ratio as far as its tappet: without it nobody knows how near it comes to the piston")
                .fix("add `rocker_ratio: 1.5` with your rocker's own ratio, 1.0 where the tappet lifts the valve itself; or measure at the valve"),
        ]
    } else {
        Vec::new()
    }
}

/// A gap asked for at lifters that have none.
pub(super) fn lash_with_hydraulic_lifters(d: &Description) -> Option<Finding> {
    let hydraulic = matches!(d.valves.adjusters(), Adjusters::Hydraulic { .. });
    (hydraulic && d.valves.lash.is_some()).then(|| {
        Finding::error(DescriptionFault::LashWithHydraulicLifters, "valves.lash")
            .message("a gap is given for the valves, and the lifters are hydraulic")
            .why("oil takes up the play of a hydraulic lifter: it is set by turns past zero lash, and has no gap")
            .fix("leave `lash` out; where the lifters are solid, make `adjusters` `Screw` or `Shim`")
    })
}

/// A gap so large that its valve would not be lifted.
pub(super) fn lash_over_the_lift(d: &Description) -> Vec<Finding> {
    let unit = d.units.short();
    let mut findings = Vec::new();
    for (_, valve, events) in stated(d) {
        let lift = events.lift * d.valves.ratio();
        let Some(gap) = d.valves.gap(valve).filter(|gap| *gap >= lift) else {
            continue;
        };
        let word = valve.word();
        findings.push(
            Finding::error(
                DescriptionFault::LashOverTheLift,
                format!("valves.lash.{word}"),
            )
            .message(format!(
                "the gap at the {word} valve is {gap} {unit}, and its lobe lifts it {lift} {unit}"
            ))
            .why("the lobe takes up the gap before it lifts the valve: this valve would stay shut")
            .fix(format!("check the gap and its unit: {unit}")),
        );
    }
    findings
}

/// Events of which nobody knows at which lift they are quoted.
pub(super) fn quoted_lift_not_stated(d: &Description, units: Units) -> Vec<Finding> {
    let open = Valve::BOTH.into_iter();
    let open: Vec<Valve> = open
        .filter(|valve| d.valves.lifts(*valve).is_none() && d.valves.quoted_at(*valve).is_none())
        .collect();
    let whose = match open.as_slice() {
        [] => return Vec::new(),
        [one] => format!("{} valve's", one.word()),
        _ => "valve".to_owned(),
    };
    let (usual, nearer) = match units {
        Units::Millimetres => (
            "at 1 mm or at 1.27 mm (fifty thousandths of an inch)",
            "millimetres",
        ),
        Units::Inches => (
            "at 0.050 in or, metric ones, at 0.039 in",
            "most of a tenth of an inch",
        ),
    };
    vec![
        Finding::warning(DescriptionFault::QuotedLiftNotStated, "valves")
            .message(format!("the file does not say at which lift its {whose} events are quoted; they are taken at the seat"))
            .why(format!("cam cards quote them at the seat (advertised), {usual}, and the same figures then stand for lobes that come nearer to the piston by {nearer}"))
            .fix("add `quoted_at: 0.0` where the card says at the seat, or the lift that stands on it"),
    ]
}

/// A roller or pad so large that no lobe of usual size lifts as the events say without being
/// undercut by it.
pub(super) fn follower_too_large(d: &Description, units: Units) -> Option<Finding> {
    /// Of the bore, the largest base circle's radius: common practice has a quarter or less, no
    /// source.
    const LARGEST: f64 = 0.3;
    /// And the smallest that is tried.
    const SMALLEST: f64 = 0.1;
    let follower = d.valves.follower.as_ref()?;
    let radius_mm = follower
        .radius
        .filter(|_| follower.kind != FollowerKind::Flat)?;
    let rocker = d.valves.rocker_ratio.unwrap_or(1.0);
    let base_mm = |radius_mm: f64| {
        let of = |valve| {
            let lobe = Lobe::of(&d.valves, valve);
            let lift = |clock_deg: f64| lobe.lift_mm(lobe.centre_deg() - 2.0 * clock_deg) / rocker;
            let shape = FollowerShape::Roller { radius_mm };
            least_base_mm(shape, SMALLEST * d.bore, &lift)
        };
        f64::max(of(Valve::Intake), of(Valve::Exhaust))
    };
    let (needed_mm, largest_mm) = (base_mm(radius_mm), LARGEST * d.bore);
    if needed_mm <= largest_mm {
        return None;
    }
    // The largest that fits, to a hundredth of what is stated.
    let fits = (1..100)
        .rev()
        .map(|part| radius_mm * f64::from(part) / 100.0);
    let fits_mm = fits
        .into_iter()
        .find(|radius| base_mm(*radius) <= largest_mm);
    let smaller = fits_mm.map_or(String::new(), |fits_mm| {
        format!(
            ": {} at most with these events and lifts",
            length(fits_mm, units)
        )
    });
    Some(
        Finding::warning(DescriptionFault::FollowerTooLarge, "valves.follower.radius")
            .message(format!(
                "a radius of {} needs a lobe on a base circle of {} radius or more; up to {} is allowed for this bore",
                length(radius_mm, units),
                length(needed_mm, units),
                length(largest_mm, units)
            ))
            .why("on a smaller base circle so large a roller or pad undercuts the lobe: it would cut off what it has to ride on, and lift otherwise")
            .fix(format!(
                "measure the roller again, and write its radius, not its diameter{smaller}"
            )),
    )
}

/// Durations or overlap that hardly any engine has. The limits are common practice, no source: from
/// mild side-valve engines to full race.
pub(super) fn far_from_common_practice(d: &Description) -> Vec<Finding> {
    const DURATION_DEG: (f64, f64) = (180.0, 350.0);
    const OVERLAP_DEG: (f64, f64) = (-40.0, 130.0);
    let mut findings = Vec::new();
    for (place, valve, events) in stated(d) {
        let (word, duration) = (valve.word(), events.duration);
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
    let [intake, exhaust] =
        Valve::BOTH.map(|valve| laws::events(&d.valves, valve).unwrap_or_default());
    let overlap = intake.opens_before + exhaust.closes_after;
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
/// `units`: those of the file.
pub(super) fn little_clearance(metric: &Description, units: Units) -> Vec<Finding> {
    let Some(measured) = &metric.clearance else {
        return Vec::new();
    };
    let least = clearance::least(
        measured,
        &SliderCrank::of(metric),
        &Lobes::of(&metric.valves),
        &clearance::ahead(metric, CamTeeth::default()),
    );
    let rows = [
        ("clearance.intake_drop", Valve::Intake),
        ("clearance.exhaust_drop", Valve::Exhaust),
    ];
    rows.into_iter()
        .map(|(place, valve)| {
            let least_mm = clearance::least_allowed_mm(valve, units);
            (place, valve, least.of(valve), least_mm)
        })
        .filter(|(_, _, gap, least_mm)| gap.gap_mm < *least_mm)
        .map(|(place, valve, gap, least_mm)| {
            Finding::warning(DescriptionFault::LittleClearance, place)
                .message(format!(
                    "the {} valve comes within {} of the piston, at {:.0}°; {} at least is common practice",
                    valve.word(),
                    length(gap.gap_mm, units),
                    gap.crank.degrees(),
                    length(least_mm, units)
                ))
                .why("play in the cam drive, a tooth out or high revs takes up the rest, and the valve bends")
                .fix("measure again, and ask the engine maker's manual or a qualified mechanic before it is turned")
        })
        .collect()
}
