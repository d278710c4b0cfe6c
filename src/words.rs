//! The small words of every answer: numbers, units, lists, counts, and lines folded to a terminal.

#![expect(clippy::indexing_slicing, reason = "places were found in this text")]

use std::borrow::Cow;
use std::fmt::Display;
use std::time::Duration;

use serde::{Deserialize, Serialize, Serializer};

use crate::angle::{Direction, rounded, wrap_signed};

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

    /// Decimal places of a length as the trade writes it: 0.01 mm, 0.001 in.
    fn places(self) -> usize {
        match self {
            Self::Millimetres => 2,
            Self::Inches => 3,
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

/// Whether a character would not be shown but obeyed, or not be seen: a control character, a mark
/// that turns the direction of writing, one without width, an end of line that is not `\n`.
pub fn is_unseen(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{ad}'
                | '\u{61c}'
                | '\u{180e}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{feff}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{fffe}'
                | '\u{ffff}'
                | '\u{e0000}'..='\u{e007f}'
        )
}

/// A text from outside on one line: whatever is unseen in it stands there by its number. The number
/// is plain ASCII, which every terminal, typeface and printer has, can be searched for, and says
/// which of many invisible marks it is.
///
/// ```
/// use dotwise::words::visible;
/// assert_eq!(visible("M\u{fc}ller's\u{202e} four\n"), "M\u{fc}ller's<U+202E> four<U+000A>");
/// ```
pub fn visible(text: &str) -> Cow<'_, str> {
    seen(text, false, false)
}

/// The same for a whole answer, which has ends of lines of its own, and colours where `colour`.
pub fn visible_lines(text: &str, colour: bool) -> Cow<'_, str> {
    seen(text, true, colour)
}

fn seen(text: &str, lines: bool, colour: bool) -> Cow<'_, str> {
    let kept = |character: char| lines && character == '\n';
    if !text.chars().any(|one| is_unseen(one) && !kept(one)) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some(character) = rest.chars().next() {
        let length = match colour_at(rest).filter(|_| colour) {
            Some(length) => {
                out.push_str(&rest[..length]);
                length
            }
            None if is_unseen(character) && !kept(character) => {
                out.push_str(&format!("<U+{:04X}>", u32::from(character)));
                character.len_utf8()
            }
            None => {
                out.push(character);
                character.len_utf8()
            }
        };
        rest = &rest[length..];
    }
    Cow::Owned(out)
}

/// How long the order to colour, to embolden or to end both is that a text begins with. None of
/// these moves the cursor or hides a letter.
fn colour_at(text: &str) -> Option<usize> {
    let inner = text.strip_prefix("\u{1b}[")?;
    let end = inner.find('m')?;
    let harmless = |order: &str| {
        matches!(order, "" | "0" | "1" | "2" | "4" | "39" | "22" | "24")
            || order.len() == 2 && order.starts_with(['3', '9']) && order.as_bytes()[1] < b'8'
    };
    let orders = &inner[..end];
    let palette = orders
        .strip_prefix("38;5;")
        .is_some_and(|colour| colour.parse::<u8>().is_ok());
    (palette || orders.split(';').all(harmless)).then_some("\u{1b}[".len() + end + 1)
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
/// assert_eq!(number(-1.5e308, 2), "−1.5e308");
/// ```
pub fn number(value: f64, places: usize) -> String {
    let text = fixed(value, places);
    let text = if text.contains('.') && !text.contains('e') {
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

/// A number to so many places. One that is larger than anything measured is given by its power of
/// ten: three hundred figures say nothing.
fn fixed(value: f64, places: usize) -> String {
    const LARGEST: f64 = 1e12;
    match value {
        value if value.is_nan() => "NaN".into(),
        value if value.is_infinite() => if value > 0.0 { "∞" } else { "-∞" }.into(),
        value if value.abs() >= LARGEST => {
            let digits = format!("{value:.3e}");
            let (figures, power) = digits.split_once('e').unwrap_or((&digits, "0"));
            let figures = figures.trim_end_matches('0').trim_end_matches('.');
            format!("{figures}e{power}")
        }
        _ => format!("{value:.places$}"),
    }
}

/// A length in the description's own units, as fine as the trade measures, with a true minus.
///
/// ```
/// use dotwise::words::{Units, length};
/// assert_eq!(length(25.4, Units::Millimetres), "25.40 mm");
/// assert_eq!(length(-25.4, Units::Inches), "−1.000 in");
/// ```
pub fn length(mm: f64, units: Units) -> String {
    let places = units.places();
    let value = fixed(mm / units.millimetres(), places).replace('-', "−");
    format!("{value} {}", units.short())
}

/// The same without needless zeros, for a size that was chosen and not measured.
///
/// ```
/// use dotwise::words::{Units, size};
/// assert_eq!(size(180.0, Units::Millimetres), "180 mm");
/// assert_eq!(size(180.0, Units::Inches), "7.087 in");
/// ```
pub fn size(mm: f64, units: Units) -> String {
    let value = number(mm / units.millimetres(), units.places());
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

/// How many columns of a terminal a text takes; colours take none.
pub(crate) fn columns_of(text: &str) -> usize {
    textwrap::core::display_width(text)
}

/// A text folded at so many columns, `first` before its first line and `rest` before the others. A
/// word longer than a line is broken where the line ends.
///
/// ```
/// use dotwise::words::folded;
/// assert_eq!(folded("ignition off, battery off", "- ", "  ", 15), "- ignition off,\n  battery off");
/// assert_eq!(folded("Unbrokenly", "", "", 6), "Unbrok\nenly");
/// ```
pub fn folded(text: &str, first: &str, rest: &str, columns: usize) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    filled(&words.join(" "), first, rest, columns)
}

/// A line that is longer than a terminal is wide folded there, the rest under where it begins and a
/// little further in; blanks within it are kept.
pub(crate) fn folded_line(line: &str) -> String {
    if columns_of(line) <= COLUMNS {
        return line.to_owned();
    }
    let inner = line.trim_start();
    let first = &line[..line.len() - inner.len()];
    filled(inner, first, &format!("{first}  "), COLUMNS)
}

fn filled(text: &str, first: &str, rest: &str, columns: usize) -> String {
    let options = textwrap::Options::new(columns)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit);
    textwrap::fill(text, options)
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

/// How far a dot stands from where it is drawn, in teeth: `one tooth behind`, `on its tooth`.
pub fn tooth_off(count: i32) -> String {
    if count == 0 {
        "on its tooth".to_owned()
    } else {
        format!("{} {}", teeth(count), ahead(count > 0))
    }
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
/// assert_eq!(past(-0.04, 1), "on");
/// ```
pub fn past(deg: f64, places: usize) -> String {
    let off = number(deg.abs(), places);
    match (off.as_str(), deg < 0.0) {
        ("0", _) => "on".to_owned(),
        (off, true) => format!("{off}° short of"),
        (off, false) => format!("{off}° past"),
    }
}

/// How much earlier something comes than as drawn; negative, later.
///
/// ```
/// use dotwise::words::earlier;
/// assert_eq!(earlier(57.6), "57.6° earlier");
/// assert_eq!(earlier(-28.8), "28.8° later");
/// assert_eq!(earlier(0.001), "no earlier and no later");
/// ```
pub fn earlier(deg: f64) -> String {
    match (degrees(deg.abs()).as_str(), deg < 0.0) {
        ("0°", _) => "no earlier and no later".to_owned(),
        (off, true) => format!("{off} later"),
        (off, false) => format!("{off} earlier"),
    }
}

/// A valve event as on a timing card, with the abbreviation for its positive or negative side.
///
/// ```
/// use dotwise::words::event;
/// assert_eq!(event(12.0, "BTDC", "ATDC"), "12° BTDC");
/// assert_eq!(event(-3.0, "BTDC", "ATDC"), "3° ATDC");
/// assert_eq!(event(-0.001, "ABDC", "BBDC"), "at BDC");
/// ```
pub fn event(deg: f64, positive: &str, negative: &str) -> String {
    match (degrees(deg.abs()).as_str(), deg < 0.0) {
        ("0°", _) => format!("at {}", positive.get(1..).unwrap_or(positive)),
        (off, true) => format!("{off} {negative}"),
        (off, false) => format!("{off} {positive}"),
    }
}

/// Where in its own cycle a cylinder stands, from the TDC it is nearer to; 0 is its firing TDC.
///
/// ```
/// use dotwise::words::from_nearest_tdc;
/// assert_eq!(from_nearest_tdc(57.0, 2), "57° after firing TDC");
/// assert_eq!(from_nearest_tdc(347.26, 1), "12.7° before overlap TDC");
/// assert_eq!(from_nearest_tdc(719.0, 2), "1° before firing TDC");
/// assert_eq!(from_nearest_tdc(719.99, 1), "at firing TDC");
/// ```
pub fn from_nearest_tdc(phase_deg: f64, places: usize) -> String {
    let (off, side, which) = match phase_deg {
        phase if phase < 180.0 => (phase, "after", "firing"),
        phase if phase < 360.0 => (360.0 - phase, "before", "overlap"),
        phase if phase < 540.0 => (phase - 360.0, "after", "overlap"),
        phase => (720.0 - phase, "before", "firing"),
    };
    match number(off, places).as_str() {
        "0" => format!("at {which} TDC"),
        off => format!("{off}° {side} {which} TDC"),
    }
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

/// A crank angle by No. 1's TDC mark, which tells no firing from overlap: from the nearer side.
///
/// ```
/// use dotwise::words::by_the_tdc_mark;
/// assert_eq!(by_the_tdc_mark(0.0), "at No. 1's TDC mark");
/// assert_eq!(by_the_tdc_mark(475.0), "115° past No. 1's TDC mark");
/// assert_eq!(by_the_tdc_mark(338.0), "22° before No. 1's TDC mark");
/// ```
pub fn by_the_tdc_mark(deg: f64) -> String {
    let past_deg = wrap_signed(deg, 360.0);
    match (degrees(past_deg.abs()).as_str(), past_deg < 0.0) {
        ("0°", _) => "at No. 1's TDC mark".to_owned(),
        (off, true) => format!("{off} before No. 1's TDC mark"),
        (off, false) => format!("{off} past No. 1's TDC mark"),
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
/// assert_eq!(before_tdc(-0.01), "at TDC");
/// ```
pub fn before_tdc(btdc: f64) -> String {
    let (off, before, which) = if btdc.abs() <= 180.0 {
        (btdc.abs(), btdc >= 0.0, "TDC")
    } else {
        (360.0 - btdc.abs(), btdc < 0.0, "overlap TDC")
    };
    match (number(off, 1).as_str(), before) {
        ("0", _) => format!("at {which}"),
        (off, true) => format!("{off}° before {which}"),
        (off, false) => format!("{off}° after {which}"),
    }
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
    /// No word of a description is nearly as long.
    const LONGEST: usize = 60;
    if found.len() > LONGEST {
        return None;
    }
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
