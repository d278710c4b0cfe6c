//! A number as a hand types it: a decimal comma or point, its unit or none, and for degrees the side
//! of the dead centre they are counted on. What cannot be taken is answered in a few words.
//!
//! ```
//! use dotwise::description::typed;
//! use dotwise::words::Units;
//! let field = |place, text| typed::into_field(place, Units::Millimetres, text);
//! assert_eq!(field("ignition.static_advance", "8 btdc"), Ok(8.0));
//! assert_eq!(field("ignition.static_advance", "2° after TDC"), Ok(-2.0));
//! assert_eq!(field("bore", "172,5"), Ok(172.5));
//! assert_eq!(field("bore", "1 in"), Ok(25.4));
//! assert!(field("bore", "about 80").is_err());
//! ```

use super::fields::{self, Range, Unit};
use crate::words::{Units, number};

/// The dead centre that degrees are counted from, and on which side of it they are positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Side {
    /// Whether it is the top one.
    pub top: bool,
    /// Whether they count before it; else after it.
    pub before: bool,
}

impl Side {
    /// Before a cylinder's TDC.
    pub const BTDC: Self = Self {
        top: true,
        before: true,
    };

    /// After a cylinder's TDC.
    pub const ATDC: Self = Self {
        top: true,
        before: false,
    };

    const ALL: [Self; 4] = [
        Self::BTDC,
        Self::ATDC,
        Self {
            top: false,
            before: true,
        },
        Self {
            top: false,
            before: false,
        },
    ];

    /// As it is spelt in the paths of fields.
    fn short(self) -> &'static str {
        match (self.top, self.before) {
            (true, true) => "btdc",
            (true, false) => "atdc",
            (false, true) => "bbdc",
            (false, false) => "abdc",
        }
    }

    /// As it is said.
    fn word(self) -> &'static str {
        match (self.top, self.before) {
            (true, true) => "before TDC",
            (true, false) => "after TDC",
            (false, true) => "before BDC",
            (false, false) => "after BDC",
        }
    }

    /// The side that the degrees of a field are counted on; None where they are counted from
    /// something else.
    fn of(place: &str) -> Option<Self> {
        if place.ends_with("static_advance") {
            return Some(Self::BTDC);
        }
        Self::ALL
            .into_iter()
            .find(|side| place.ends_with(side.short()))
    }

    fn named(words: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|side| words == side.short() || words == side.word().to_lowercase())
    }
}

/// A number, and the words after it in small letters.
///
/// # Errors
/// Where no number stands first, or where a comma may mean a thousand as well as a tenth.
pub fn figure(text: &str) -> Result<(f64, String), String> {
    let text = text.trim().replace('−', "-").to_lowercase();
    let end = text
        .find(|letter: char| !letter.is_ascii_digit() && !"+-.,".contains(letter))
        .unwrap_or(text.len());
    let (figures, words) = text.split_at(end);
    if let Some((whole, part)) = figures.split_once(',') {
        let is_thousands = part.len() == 3 && !whole.trim_start_matches(['+', '-', '0']).is_empty();
        if is_thousands && !part.contains(['.', ',']) {
            return Err(format!(
                "{figures} can be read two ways: write {whole}{part} or {whole}.{part}"
            ));
        }
    }
    let value = figures
        .replacen(',', ".", 1)
        .parse::<f64>()
        .ok()
        .filter(|value| value.is_finite());
    value.map_or_else(
        || Err("A number is wanted, such as 8 or 8.5".to_owned()),
        |value| Ok((value, words.trim().to_owned())),
    )
}

/// Degrees, counted on this `side` of a dead centre where they are counted from one: on the other
/// side they are negative.
///
/// # Errors
/// Where it is no number, or counted from something else.
pub fn degrees(text: &str, side: Option<Side>) -> Result<f64, String> {
    let (value, words) = figure(text)?;
    let words = ["°", "degrees", "degree", "deg"]
        .into_iter()
        .find_map(|unit| words.strip_prefix(unit))
        .unwrap_or(&words)
        .trim();
    if words.is_empty() {
        return Ok(value);
    }
    match (Side::named(words), side) {
        (Some(said), Some(own)) if said.top == own.top => {
            Ok(if said == own { value } else { -value })
        }
        (Some(_), Some(own)) => Err(format!("Degrees {} are wanted here", own.word())),
        (Some(_), None) => Err("Plain degrees are wanted here".to_owned()),
        (None, _) => Err(not_understood(words, "degrees")),
    }
}

fn not_understood(words: &str, wanted: &str) -> String {
    format!("\"{words}\" is not understood: {wanted} are wanted, such as 8 or 8.5")
}

/// What was typed into the field at a place, in the field's own unit.
///
/// # Errors
/// Where it cannot be taken, with what is wanted instead.
pub fn into_field(place: &str, units: Units, text: &str) -> Result<f64, String> {
    match fields::field_at(place).and_then(fields::Field::range) {
        Some(range) => in_unit(range, Side::of(place), units, text),
        None => figure(text).map(|(value, _)| value),
    }
}

/// What was typed for a value of this range, in the range's own unit; degrees on this `side` of a
/// dead centre where they are counted from one. Whether it lies in the range is asked by [`beyond`].
///
/// # Errors
/// Where it cannot be taken, with what is wanted instead.
pub fn in_unit(range: &Range, side: Option<Side>, units: Units, text: &str) -> Result<f64, String> {
    if range.unit == Unit::Degrees {
        return degrees(text, side);
    }
    let (value, words) = figure(text)?;
    if range.unit == Unit::Length {
        return length(value, &words, units);
    }
    let own = range.suffix(units).trim().to_lowercase();
    let whole = matches!(range.unit, Unit::Teeth | Unit::Count);
    if whole && value.fract() != 0.0 {
        return Err(format!("Whole {own} are wanted").replace("  ", " numbers "));
    }
    let known = words.is_empty()
        || words == own
        || (range.unit == Unit::Teeth && words == "tooth")
        || range.unit == Unit::TorquesOwn;
    if known {
        Ok(value)
    } else {
        let wanted = if own.is_empty() {
            "plain numbers"
        } else {
            &own
        };
        Err(not_understood(&words, wanted))
    }
}

fn length(value: f64, words: &str, units: Units) -> Result<f64, String> {
    let said = match words {
        "" => units,
        "mm" | "millimetres" | "millimetre" => Units::Millimetres,
        "in" | "inches" | "inch" | "\"" | "in." => Units::Inches,
        _ => return Err(not_understood(words, units.short())),
    };
    Ok(if said == units {
        value
    } else {
        value * said.millimetres() / units.millimetres()
    })
}

/// What is said where a number is more than is allowed, or less: `400 teeth at the most`.
pub fn beyond(range: &Range, units: Units, value: f64) -> Option<String> {
    let (least, most) = (range.least_in(units), range.most_in(units));
    out_of(least..=most, range.suffix(units), value)
}

/// The same of a number with a suffix of its own.
pub fn out_of(range: std::ops::RangeInclusive<f64>, suffix: &str, value: f64) -> Option<String> {
    let told = |value: f64| format!("{}{suffix}", number(value, 3));
    if value > *range.end() {
        Some(format!("{} at the most", told(*range.end())))
    } else if value < *range.start() {
        Some(format!("{} at the least", told(*range.start())))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(place: &str, text: &str) -> Result<f64, String> {
        into_field(place, Units::Millimetres, text)
    }

    #[test]
    fn degrees_on_the_other_side_of_their_dead_centre_are_negative_and_of_the_other_are_refused() {
        for (text, value) in [
            ("8", 8.0),
            ("8btdc", 8.0),
            ("8 BTDC", 8.0),
            ("8° before tdc", 8.0),
            ("−8", -8.0),
            ("8 deg atdc", -8.0),
            ("172,5", 172.5),
        ] {
            assert_eq!(mm("ignition.static_advance", text), Ok(value), "{text}");
        }
        let other = mm("ignition.static_advance", "8 bbdc");
        assert_eq!(other, Err("Degrees before TDC are wanted here".to_owned()));
        assert_eq!(mm("valves.exhaust.opens_bbdc", "8 bbdc"), Ok(8.0));
        assert_eq!(mm("valves.exhaust.closes_atdc", "8 btdc"), Ok(-8.0));
        let plain = mm("marks[0].at", "8 btdc");
        assert_eq!(plain, Err("Plain degrees are wanted here".to_owned()));
    }

    #[test]
    fn a_length_is_taken_in_either_unit() {
        assert_eq!(mm("bore", "82 mm"), Ok(82.0));
        assert_eq!(into_field("bore", Units::Inches, "25.4mm"), Ok(1.0));
        assert_eq!(into_field("bore", Units::Inches, "3,25\""), Ok(3.25));
        assert!(mm("bore", "82 teeth").is_err());
    }

    #[test]
    fn teeth_are_whole_and_no_other_thing() {
        assert_eq!(mm("cam_drive.crank_teeth", "46 teeth"), Ok(46.0));
        let half = mm("cam_drive.crank_teeth", "4.5");
        assert_eq!(half, Err("Whole teeth are wanted".to_owned()));
        assert!(mm("cam_drive.crank_teeth", "46 mm").is_err());
    }

    #[test]
    fn a_comma_that_may_mean_a_thousand_is_asked_about() {
        let asked = figure("1,250");
        assert_eq!(
            asked,
            Err("1,250 can be read two ways: write 1250 or 1.250".to_owned())
        );
        assert_eq!(figure("0,050 in"), Ok((0.05, "in".to_owned())));
        assert!(figure("").is_err() && figure("-").is_err() && figure("1,2,3").is_err());
    }

    #[test]
    fn a_number_out_of_its_range_is_told_the_end_of_it() {
        let range = fields::field("cam_drive.crank_teeth")
            .and_then(fields::Field::range)
            .expect("a range");
        let most = beyond(range, Units::Millimetres, 4600.0).expect("an answer");
        assert!(most.ends_with(" teeth at the most"), "{most}");
        assert_eq!(beyond(range, Units::Millimetres, 25.0), None);
        assert!(beyond(range, Units::Millimetres, 1.0).is_some());
    }
}
