//! The small words of every answer: numbers, units, lists, counts, and lines folded to a terminal.

use serde::{Deserialize, Serialize};

use crate::angle::Direction;

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

/// The width of a terminal that everything fits.
pub const COLUMNS: usize = 80;

/// Degrees with no more places than they need: `57°`, `13.85°`.
pub fn degrees(value: f64) -> String {
    format!("{}°", number(value, 2))
}

/// A number to so many places, without needless zeros, with a true minus.
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

/// A length in the description's own units.
pub fn length(mm: f64, units: Units) -> String {
    let places = if units == Units::Inches { 4 } else { 2 };
    format!("{:.places$} {}", mm / units.millimetres(), units.short())
}

/// Cylinder numbers as a builder says them: `No. 1 and No. 4`.
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

/// `one`, `two`, … as a builder writes them.
pub fn count_word(count: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(count as usize)
        .map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

/// `one tooth`, `three teeth`.
pub fn teeth(count: i32) -> String {
    let count = count.unsigned_abs();
    format!(
        "{} {}",
        count_word(count),
        if count == 1 { "tooth" } else { "teeth" }
    )
}

/// `one tower`, `three towers`.
pub fn towers(count: i32) -> String {
    let count = count.unsigned_abs();
    format!(
        "{} {}",
        count_word(count),
        if count == 1 { "tower" } else { "towers" }
    )
}

/// Which way a body is turned, `turn_deg` against the rotor's rotation, looking down on it.
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

/// `8° before TDC`, `47.4° after TDC`; nearer to the other TDC, `12° after overlap TDC`.
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
pub fn list<N: std::fmt::Display>(numbers: &[N]) -> String {
    numbers
        .iter()
        .map(N::to_string)
        .collect::<Vec<_>>()
        .join(", ")
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
