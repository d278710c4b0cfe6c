//! The small words of every answer: numbers, units, lists, counts, and lines folded to a terminal.

use std::fmt::Display;
use std::time::Duration;

use serde::{Deserialize, Serialize, Serializer};

use crate::angle::{Direction, rounded};

/// What the lengths of a description are given in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Units {
    /// Millimetres.
    #[default]
    Millimetres,
    /// Inches of 25.4 mm.
    Inches,
}

impl Units {
    /// Millimetres in one of these.
    pub fn millimetres(self) -> f64 {
        match self {
            Self::Millimetres => 1.0,
            Self::Inches => 25.4,
        }
    }

    /// The abbreviation a reader knows.
    pub fn short(self) -> &'static str {
        match self {
            Self::Millimetres => "mm",
            Self::Inches => "in",
        }
    }
}

/// For `serialize_with`: a figure [`rounded`].
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands fields over by reference"
)]
pub(crate) fn serialize_rounded<S: Serializer>(figure: &f64, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_f64(rounded(*figure))
}

/// For `serialize_with`: a figure [`rounded`], or null.
pub(crate) fn serialize_rounded_option<S: Serializer>(
    figure: &Option<f64>,
    to: S,
) -> Result<S::Ok, S::Error> {
    figure.map(rounded).serialize(to)
}

pub(crate) fn serialize_rounded_list<S: Serializer>(
    figures: &[f64],
    to: S,
) -> Result<S::Ok, S::Error> {
    to.collect_seq(figures.iter().copied().map(rounded))
}

/// The width of a terminal that everything fits.
pub const COLUMNS: usize = 80;

/// Degrees with no more places than they need, two at most.
///
/// ```
/// use dotwise::words::degrees;
/// assert_eq!(degrees(57.0), "57°");
/// assert_eq!(degrees(-13.85), "−13.85°");
/// ```
pub fn degrees(value: f64) -> String {
    format!("{}°", number(value, 2))
}

/// A number to so many places, without needless zeros, with a true minus.
///
/// ```
/// use dotwise::words::number;
/// assert_eq!(number(2.50, 2), "2.5");
/// assert_eq!(number(-0.001, 2), "0");
/// ```
pub fn number(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".into()
    } else {
        text.replace('-', "−")
    }
}

/// A length in the description's own units, with a true minus.
///
/// ```
/// use dotwise::words::{Units, length};
/// assert_eq!(length(25.4, Units::Millimetres), "25.40 mm");
/// assert_eq!(length(-25.4, Units::Inches), "−1.0000 in");
/// ```
pub fn length(mm: f64, units: Units) -> String {
    let places = if units == Units::Inches { 4 } else { 2 };
    let value = format!("{:.places$}", mm / units.millimetres()).replace('-', "−");
    format!("{value} {}", units.short())
}

/// Cylinder numbers as a builder says them.
///
/// ```
/// use dotwise::words::cylinders;
/// assert_eq!(cylinders(&[1, 4]), "No. 1 and No. 4");
/// assert_eq!(cylinders(&[]), "none");
/// ```
pub fn cylinders(numbers: &[u8]) -> String {
    let named: Vec<String> = numbers
        .iter()
        .map(|number| format!("No. {number}"))
        .collect();
    match named.split_last() {
        None => "none".into(),
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    }
}

/// A text folded at so many columns, `first` before its first line and `rest` before the others. A
/// word longer than a line keeps a line of its own.
pub fn folded(text: &str, first: &str, rest: &str, columns: usize) -> String {
    let mut folded = first.to_owned();
    let mut column = first.chars().count();
    let mut begun = false;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if begun && column + 1 + length > columns {
            folded.push('\n');
            folded.push_str(rest);
            column = rest.chars().count();
        } else if begun {
            folded.push(' ');
            column += 1;
        }
        folded.push_str(word);
        column += length;
        begun = true;
    }
    folded
}

/// `one`, `two`, … as a builder writes them; figures over twelve.
fn count_word(count: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(count as usize)
        .map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

/// `1 error`, `2 errors`: the count in figures, and the word for one or for more.
///
/// ```
/// use dotwise::words::counted;
/// assert_eq!(counted(1, "tooth", "teeth"), "1 tooth");
/// assert_eq!(counted(3, "tooth", "teeth"), "3 teeth");
/// ```
pub fn counted(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

/// How many teeth, either way, in words.
///
/// ```
/// use dotwise::words::teeth;
/// assert_eq!(teeth(-1), "one tooth");
/// assert_eq!(teeth(3), "three teeth");
/// ```
pub fn teeth(count: i32) -> String {
    in_words(count, "tooth", "teeth")
}

/// How many towers of the cap, either way, in words: `one tower`, `three towers`.
pub fn towers(count: i32) -> String {
    in_words(count, "tower", "towers")
}

fn in_words(count: i32, one: &str, more: &str) -> String {
    let count = count.unsigned_abs();
    format!(
        "{} {}",
        count_word(count),
        if count == 1 { one } else { more }
    )
}

/// `advanced` for what comes early, `retarded` for what comes late.
pub fn advanced(early: bool) -> &'static str {
    if early { "advanced" } else { "retarded" }
}

/// `ahead` or `behind`, for a drive in its direction of rotation.
pub fn ahead(ahead: bool) -> &'static str {
    if ahead { "ahead" } else { "behind" }
}

/// By how much something comes early (positive) or late.
///
/// ```
/// use dotwise::words::advance;
/// assert_eq!(advance(2.5), "2.5° advanced");
/// assert_eq!(advance(-4.0), "4° retarded");
/// ```
pub fn advance(deg: f64) -> String {
    format!("{} {}", degrees(deg.abs()), advanced(deg > 0.0))
}

/// How far past a place, to so many places; negative, short of it.
///
/// ```
/// use dotwise::words::past;
/// assert_eq!(past(13.64, 1), "13.6° past");
/// assert_eq!(past(-2.0, 2), "2° short of");
/// ```
pub fn past(deg: f64, places: usize) -> String {
    let side = if deg < 0.0 { "short of" } else { "past" };
    format!("{}° {side}", number(deg.abs(), places))
}

/// A valve event as on a timing card, with the abbreviation for its positive or negative side.
///
/// ```
/// use dotwise::words::event;
/// assert_eq!(event(12.0, "BTDC", "ATDC"), "12° BTDC");
/// assert_eq!(event(-3.0, "BTDC", "ATDC"), "3° ATDC");
/// ```
pub fn event(deg: f64, positive: &str, negative: &str) -> String {
    let side = if deg < 0.0 { negative } else { positive };
    format!("{} {side}", degrees(deg.abs()))
}

/// Where in its own cycle a cylinder stands, from the TDC it is nearer to; 0 is its firing TDC.
///
/// ```
/// use dotwise::words::from_nearest_tdc;
/// assert_eq!(from_nearest_tdc(57.0, 2), "57° after firing TDC");
/// assert_eq!(from_nearest_tdc(347.26, 1), "12.7° before overlap TDC");
/// assert_eq!(from_nearest_tdc(719.0, 2), "1° before firing TDC");
/// ```
pub fn from_nearest_tdc(phase_deg: f64, places: usize) -> String {
    let (off, place) = match phase_deg {
        phase if phase < 180.0 => (phase, "after firing"),
        phase if phase < 360.0 => (360.0 - phase, "before overlap"),
        phase if phase < 540.0 => (phase - 360.0, "after overlap"),
        phase => (720.0 - phase, "before firing"),
    };
    format!("{}° {place} TDC", number(off, places))
}

/// A crank angle from No. 1's firing TDC, negative before it.
///
/// ```
/// use dotwise::words::from_firing_tdc;
/// assert_eq!(from_firing_tdc(0.0), "at No. 1's firing TDC");
/// assert_eq!(from_firing_tdc(-8.0), "8° before No. 1's firing TDC");
/// ```
pub fn from_firing_tdc(deg: f64) -> String {
    match deg {
        0.0 => "at No. 1's firing TDC".to_owned(),
        after if after > 0.0 => format!("{} after No. 1's firing TDC", degrees(after)),
        before => format!("{} before No. 1's firing TDC", degrees(-before)),
    }
}

/// Which way a clock angle turns: clockwise where it is positive.
pub fn clockwise(deg: f64) -> &'static str {
    if deg > 0.0 {
        Direction::Clockwise.word()
    } else {
        Direction::CounterClockwise.word()
    }
}

/// Which way the distributor's body is turned, `turn_deg` against the rotor's rotation, looking
/// down on it.
pub fn body_way(rotation: Direction, turn_deg: f64) -> String {
    if turn_deg >= 0.0 {
        format!(
            "{}, against the rotor's rotation",
            rotation.reversed().word()
        )
    } else {
        format!("{}, with the rotor's rotation", rotation.word())
    }
}

/// With a capital first letter.
pub fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters
        .next()
        .map(|first| first.to_uppercase().chain(characters).collect())
        .unwrap_or_default()
}

/// When a spark comes, in crank degrees before its cylinder's firing TDC, said from the TDC it is
/// nearer to.
///
/// ```
/// use dotwise::words::before_tdc;
/// assert_eq!(before_tdc(8.0), "8° before TDC");
/// assert_eq!(before_tdc(-47.4), "47.4° after TDC");
/// assert_eq!(before_tdc(348.0), "12° after overlap TDC");
/// ```
pub fn before_tdc(btdc: f64) -> String {
    let (off, before, which) = if btdc.abs() <= 180.0 {
        (btdc.abs(), btdc >= 0.0, "TDC")
    } else {
        (360.0 - btdc.abs(), btdc < 0.0, "overlap TDC")
    };
    format!(
        "{}° {} {which}",
        number(off, 1),
        if before { "before" } else { "after" }
    )
}

/// Numbers with commas between: `1, 3, 4, 2`.
pub fn list<N: Display>(numbers: &[N]) -> String {
    joined(numbers, ", ")
}

/// Numbers with something between.
///
/// ```
/// use dotwise::words::joined;
/// assert_eq!(joined(&[1, 3, 4, 2], "-"), "1-3-4-2");
/// ```
pub fn joined<N: Display>(numbers: &[N], between: &str) -> String {
    let numbers: Vec<String> = numbers.iter().map(N::to_string).collect();
    numbers.join(between)
}

/// The word that was probably meant, where one is near enough.
pub fn closest<'a>(found: &str, words: &[&'a str]) -> Option<&'a str> {
    /// Under this two words are not alike: one slip in a short word scores about 0.7.
    const ALIKE: f64 = 0.6;
    let found = found.to_lowercase();
    words
        .iter()
        .map(|word| {
            (
                strsim::normalized_damerau_levenshtein(&found, &word.to_lowercase()),
                *word,
            )
        })
        .filter(|(score, _)| *score >= ALIKE)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, word)| word)
}

/// How long ago something was, in a builder's words.
///
/// ```
/// use dotwise::words::ago;
/// use std::time::Duration;
/// assert_eq!(ago(Duration::from_secs(20)), "a moment ago");
/// assert_eq!(ago(Duration::from_secs(60 * 60)), "60 minutes ago");
/// assert_eq!(ago(Duration::from_secs(3 * 24 * 60 * 60)), "3 days ago");
/// ```
pub fn ago(age: Duration) -> String {
    let minutes = age.as_secs() / 60;
    match minutes {
        0 => "a moment ago".to_owned(),
        1 => "a minute ago".to_owned(),
        2..=99 => format!("{minutes} minutes ago"),
        100..=2879 => format!("{} hours ago", minutes / 60),
        _ => format!("{} days ago", minutes / (24 * 60)),
    }
}
