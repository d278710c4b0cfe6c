//! Numbers that are not finite, or outside their legal range; lists and texts that are too long.

use super::fault::DescriptionFault;
use crate::description::fields::{self, Field, Kind, MOST_IDLERS, Unit};
use crate::description::walk::{Item, Place, Walk};
use crate::description::{Description, MarkOn};
use crate::source::Finding;
use crate::words::{Units, number};

/// A number that is not finite, or outside its range in the table of [`fields`].
pub(super) fn out_of_range(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    d.walk(&mut Place::default(), &mut |place, item| {
        if let Item::Number(value) = item
            && let Some(field) = fields::field(&place.path)
        {
            findings.extend(number_out_of_range(&place.written, value, field, d.units));
        }
    });
    findings
}

fn number_out_of_range(place: &str, value: f64, field: &Field, units: Units) -> Option<Finding> {
    let range = field.range()?;
    let (least, most, unit) = (
        range.least_in(units),
        range.most_in(units),
        range.suffix(units),
    );
    if (least..=most).contains(&value) {
        return None;
    }
    let last = place.rfind('.').map_or(0, |dot| dot + 1);
    // A value without a name of its own is told by its row: `lifts[3].1`.
    let first = if place[last..].starts_with(|first: char| first.is_ascii_digit()) {
        place[..last.saturating_sub(1)]
            .rfind('.')
            .map_or(0, |dot| dot + 1)
    } else {
        last
    };
    let name = place.get(first..).unwrap_or(place);
    let what = field.what;
    let (fault, message, why) = if !value.is_finite() {
        (
            DescriptionFault::NotANumber,
            format!(
                "`{name}` is {}, which is no number to measure by",
                number(value, 3)
            ),
            format!("it is {what}, and everything after it would be no number either"),
        )
    } else {
        let allowed = if least == most {
            format!("only {}{unit} is known", number(least, 3))
        } else {
            format!(
                "{}{unit} to {}{unit} is allowed",
                number(least, 3),
                number(most, 3)
            )
        };
        (
            DescriptionFault::OutOfRange,
            format!("`{name}` is {}{unit}; {allowed}", number(value, 3)),
            format!("it is {what}: outside this no engine can be drawn from it"),
        )
    };
    let fix = if least == most {
        format!("write {}", number(least, 3))
    } else if range.unit == Unit::TorquesOwn {
        "take it from the manual, in the unit of `torque` beside it".to_owned()
    } else if unit.is_empty() {
        "measure again, and check the unit: a count".to_owned()
    } else {
        format!("measure again, and check the unit: {}", unit.trim())
    };
    Some(
        Finding::error(fault, place)
            .message(message)
            .why(why)
            .fix(fix),
    )
}

/// Lists longer than anything on an engine.
pub(super) fn too_many(d: &Description) -> Vec<Finding> {
    /// More findings than this say nothing new.
    const MOST_SHOWN: usize = 24;
    let mut findings = Vec::new();
    d.walk(&mut Place::default(), &mut |place, item| {
        if let Item::List(count) = item
            && let Some(Kind::List { most, called, .. }) =
                fields::field(&place.path).map(|f| f.kind)
            && count > most
            && findings.len() < MOST_SHOWN
        {
            findings.push(
                Finding::error(DescriptionFault::TooMany, place.written.as_str())
                    .message(format!("{count} {called}; at most {most} are allowed"))
                    .why("more than that cannot be shown or tried")
                    .fix(format!("leave {most}")),
            );
        }
    });
    findings
}

/// Texts longer than any sheet or panel has room for.
pub(super) fn too_long(d: &Description) -> Vec<Finding> {
    let mut findings = Vec::new();
    d.walk(&mut Place::default(), &mut |place, item| {
        if let Item::Text(length) = item
            && let Some(Kind::Text { most }) = fields::field(&place.path).map(|field| field.kind)
            && length > most
        {
            let name = place.path.rsplit('.').next().unwrap_or(&place.path);
            findings.push(
                Finding::error(DescriptionFault::TextTooLong, place.written.as_str())
                    .message(format!(
                        "`{name}` has {length} characters; at most {most} are allowed"
                    ))
                    .why("a longer text has no room on a sheet or in a panel")
                    .fix(format!("leave out {} of them", length - most)),
            );
        }
    });
    findings
}

/// A mark on an idler that is not in the drive.
pub(super) fn idler_that_is_not_there(d: &Description) -> Vec<Finding> {
    let idlers = d.cam_drive.idler_teeth.len();
    let mut findings = Vec::new();
    for (i, mark) in d.marks.iter().enumerate() {
        if let MarkOn::Idler(which) = mark.on
            && (1..=MOST_IDLERS as u32).contains(&which)
            && which as usize > idlers
        {
            findings.push(
                Finding::error(DescriptionFault::NoSuchIdler, format!("marks[{i}].on"))
                    .message(format!(
                        "the mark is on idler {which}, and the drive has {idlers}"
                    ))
                    .why("idlers are counted from the crank, in the order of `idler_teeth`")
                    .fix("name an idler the drive has, or add it to `idler_teeth`"),
            );
        }
    }
    findings
}
