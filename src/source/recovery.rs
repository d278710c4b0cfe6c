//! Reading on past what is wrong, so that everything that is wrong is found in one run.
//!
//! RON's reader stops at the first thing it cannot recover. Here such a thing is noted, repaired in a
//! draft of the text as well as can be guessed, and the draft read again: an unknown field is
//! renamed to what was meant or taken out, an unknown word replaced, a missing field put in. Every
//! place found in the draft is carried back to the text as it was written. What stands on a guess
//! is never shown as the builder's own: [`Recovered::guessed`] says so.

#![expect(clippy::indexing_slicing, reason = "places were found in this text")]

use std::ops::Range;

use ron::error::{Error as RonError, Position, SpannedError};
use serde::de::DeserializeOwned;

use super::dialect::options;
use super::spans::{FieldSpan, Spans};
use super::{Finding, TextFault};
use crate::words::{closest, counted};

/// A text with more slips than this is not a description with slips of the pen.
const MOST_SLIPS: usize = 60;
/// The text is read anew after each slip: a long one only so often that it is answered at once.
const MOST_BYTES_READ: usize = 2 << 20;
/// What is tried, in turn, where a value must be put in: a number, a text, a list, a part, a word.
const CANDIDATES: [&str; 5] = ["1", "\"?\"", "[]", "()", "Unknown"];

/// What following a text came to.
#[derive(Debug)]
pub struct Recovered<T> {
    /// What the draft says, where it could be followed to its end.
    pub value: Option<T>,
    /// Whether some of it is a guess that changes what the text means.
    pub guessed: bool,
    /// What was found on the way, each with its bytes in the text as written.
    pub findings: Vec<Finding>,
    /// The text as it was read at last.
    pub draft: Draft,
}

/// A text under repair, which knows what was done to it.
#[derive(Clone, Debug)]
pub struct Draft {
    text: String,
    edits: Vec<Replacement>,
}

/// `removed` bytes at `at` gave way to `put` bytes.
#[derive(Clone, Copy, Debug)]
struct Replacement {
    at: usize,
    removed: usize,
    put: usize,
}

impl Draft {
    fn new(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            edits: Vec::new(),
        }
    }

    /// The text as it stands now.
    pub fn text(&self) -> &str {
        &self.text
    }

    fn replace(&mut self, range: Range<usize>, with: &str) {
        self.edits.push(Replacement {
            at: range.start,
            removed: range.len(),
            put: with.len(),
        });
        self.text.replace_range(range, with);
    }

    /// Where a byte of the draft stood in the text as written; what was put in stood where it was
    /// put.
    fn written(&self, byte: usize) -> usize {
        self.edits
            .iter()
            .rev()
            .fold(byte, |byte, edit| match byte.checked_sub(edit.at) {
                None => byte,
                Some(into) if into >= edit.put => edit.at + edit.removed + into - edit.put,
                Some(into) => edit.at + into.min(edit.removed),
            })
    }

    /// A range of the draft in the text as written.
    pub fn written_range(&self, range: &Range<usize>) -> Range<usize> {
        let start = self.written(range.start);
        start..self.written(range.end).max(start)
    }

    /// Whether a byte of the draft was put in where nothing, or something else, was written.
    pub fn is_put_in(&self, byte: usize) -> bool {
        let mut byte = byte;
        for edit in self.edits.iter().rev() {
            match byte.checked_sub(edit.at) {
                Some(into) if into < edit.put => return true,
                Some(into) => byte = edit.at + edit.removed + into - edit.put,
                None => {}
            }
        }
        false
    }
}

/// A value that was put in, and which of the [`CANDIDATES`] it is.
struct Trial {
    range: Range<usize>,
    candidate: usize,
}

/// Follows a text to its end, or to where it cannot be followed.
pub fn recover<T: DeserializeOwned>(text: &str) -> Recovered<T> {
    let mut recovery = Recovery {
        draft: Draft::new(text),
        findings: Vec::new(),
        guessed: false,
        trial: None,
    };
    // Each slip is tried with every candidate at most, and a part put in asks for its fields in
    // turn.
    let rounds = (MOST_BYTES_READ / text.len().max(1)).clamp(2, MOST_SLIPS * CANDIDATES.len() * 4);
    for _ in 0..rounds {
        let error = match options().from_str::<T>(&recovery.draft.text) {
            Ok(value) => return recovery.done(Some(value)),
            Err(error) => error,
        };
        if !recovery.repair(&error) {
            break;
        }
    }
    recovery.done(None)
}

struct Recovery {
    draft: Draft,
    findings: Vec<Finding>,
    guessed: bool,
    trial: Option<Trial>,
}

impl Recovery {
    fn done<T>(self, value: Option<T>) -> Recovered<T> {
        Recovered {
            value,
            guessed: self.guessed,
            findings: self.findings,
            draft: self.draft,
        }
    }

    fn note(&mut self, finding: Finding, range: &Range<usize>) {
        let range = self.draft.written_range(range);
        self.findings.push(finding.at(range));
    }

    /// Notes what the reader could not read and repairs the draft. False where it cannot be read on.
    fn repair(&mut self, error: &SpannedError) -> bool {
        let start = byte_of(&self.draft.text, error.span.start);
        let end = byte_of(&self.draft.text, error.span.end).max(start);
        let ours =
            self.draft.is_put_in(start) || self.draft.is_put_in(end.saturating_sub(1).max(start));
        let places = Spans::of(&self.draft.text);
        let room = self.findings.len() < MOST_SLIPS && places.is_whole();

        let repaired = match &error.code {
            RonError::NoSuchStructField {
                expected, found, ..
            } if room => {
                let spot = places.named_at(end.saturating_sub(1).max(start)).cloned();
                spot.map(|spot| self.unknown_field(&places, error, &spot, closest(found, expected)))
            }
            RonError::DuplicateStructField { .. } if room => {
                let spot = places.named_at(end.saturating_sub(1).max(start)).cloned();
                spot.map(|spot| {
                    self.note(grammar(error), &spot.name);
                    self.take_out(&spot);
                })
            }
            RonError::NoSuchEnumVariant {
                expected, found, ..
            } if room => {
                let word = self.draft.text[start..end]
                    .find(found.as_str())
                    .map(|at| start + at..start + at + found.len());
                word.zip(closest(found, expected).or(expected.first().copied()))
                    .map(|(word, instead)| {
                        if !ours {
                            self.note(grammar(error), &word);
                            self.guessed |= closest(found, expected).is_none();
                        }
                        self.draft.replace(word, instead);
                    })
            }
            RonError::MissingStructField { field, .. } if room => {
                closing_bracket(&self.draft.text, start).map(|bracket| {
                    if !ours {
                        self.note(grammar(error), &(bracket..bracket + 1));
                    }
                    self.put_in(bracket, field);
                })
            }
            code if room && is_wrong_kind(code) => self.wrong_kind(&places, code, start, end),
            _ => None,
        };
        // What was put in is no fault of the builder's.
        if repaired.is_none() && !ours {
            let line_end = self.draft.text[start..]
                .find('\n')
                .map_or(end, |line| end.min(start + line));
            let finding = if places.is_too_deep() {
                too_deep()
            } else {
                decimal_comma(&self.draft.text, start).unwrap_or_else(|| grammar(error))
            };
            self.note(finding, &(start..line_end));
        }
        repaired.is_some()
    }

    fn unknown_field(
        &mut self,
        places: &Spans,
        error: &SpannedError,
        spot: &FieldSpan,
        meant: Option<&str>,
    ) {
        self.note(grammar(error), &spot.name);
        match meant.filter(|meant| !places.has_beside(spot, meant)) {
            Some(meant) => self.draft.replace(spot.name.clone(), meant),
            None => self.take_out(spot),
        }
    }

    /// A field and the comma after it become blanks.
    fn take_out(&mut self, spot: &FieldSpan) {
        let (start, end) = (spot.name.start, spot.value.end);
        let text = &self.draft.text;
        let after = text[end..]
            .find(|character: char| !character.is_whitespace())
            .map(|gap| end + gap);
        let end = after
            .filter(|&after| text.as_bytes()[after] == b',')
            .map_or(end, |comma| comma + 1);
        let blank: String = text[start..end]
            .bytes()
            .map(|byte| if byte == b'\n' { '\n' } else { ' ' })
            .collect();
        self.draft.replace(start..end, &blank);
    }

    /// A field that is missing is put in before the closing bracket, with the first candidate for
    /// its value.
    fn put_in(&mut self, bracket: usize, field: &str) {
        self.guessed = true;
        // A field before it may lack the comma that is free at the end.
        let before = self.draft.text[..bracket].trim_end();
        let comma = if without_comment(before).ends_with(['(', ',']) {
            ""
        } else {
            ","
        };
        let name = format!("{comma} {field}: ");
        let value = bracket + name.len();
        self.draft
            .replace(bracket..bracket, &format!("{name}{}", CANDIDATES[0]));
        self.trial = Some(Trial {
            range: value..value + CANDIDATES[0].len(),
            candidate: 0,
        });
    }

    /// A value of another kind than belongs there gives way to a candidate; one that was put in, to
    /// the next.
    fn wrong_kind(
        &mut self,
        places: &Spans,
        code: &RonError,
        start: usize,
        end: usize,
    ) -> Option<()> {
        if let Some(trial) = &mut self.trial
            && start <= trial.range.end
            && end + 1 >= trial.range.start
        {
            trial.candidate += 1;
            let with = CANDIDATES.get(trial.candidate)?;
            let range = trial.range.clone();
            trial.range = range.start..range.start + with.len();
            self.draft.replace(range, with);
            return Some(());
        }
        let spot = places.value_at(start, end)?.clone();
        if self.draft.is_put_in(spot.value.start) {
            return None;
        }
        let written: String = self.draft.text[spot.value.clone()]
            .chars()
            .take_while(|character| *character != '\n')
            .take(40)
            .collect();
        let path = places.path_of(&spot).unwrap_or_default();
        let field = if path.is_empty() {
            "here".to_owned()
        } else {
            format!("in `{path}`")
        };
        let finding = Finding::error(TextFault::WrongKind, path)
            .message(format!("`{written}` is not what belongs {field}: {} is", kind_wanted(code)))
            .why("it cannot be taken for a value of its kind without guessing what was meant")
            .fix("write it as the built-in engines do; `dotwise scenes bench_four` prints a whole description");
        let shown = if self.draft.text[spot.value.clone()].contains('\n') {
            spot.name.clone()
        } else {
            spot.value.clone()
        };
        self.note(finding, &shown);
        self.guessed = true;
        let at = spot.value.start;
        self.draft.replace(spot.value, CANDIDATES[0]);
        self.trial = Some(Trial {
            range: at..at + CANDIDATES[0].len(),
            candidate: 0,
        });
        Some(())
    }
}

/// The bracket that ends a part, where the reader stands before or on it.
fn closing_bracket(text: &str, from: usize) -> Option<usize> {
    let here =
        text[from..].find(|character: char| !character.is_whitespace() && character != ',')? + from;
    text[here..].starts_with(')').then_some(here)
}

/// The text before a `//` comment that ends it.
fn without_comment(text: &str) -> &str {
    let line = text.rfind('\n').map_or(0, |line| line + 1);
    match text[line..].find("//") {
        Some(comment) => without_comment(text[..line + comment].trim_end()),
        None => text,
    }
}

/// Whether the reader wanted another kind of value, and not another bracket.
fn is_wrong_kind(code: &RonError) -> bool {
    use RonError as E;
    matches!(
        code,
        E::ExpectedFloat
            | E::ExpectedInteger
            | E::ExpectedString
            | E::ExpectedArray
            | E::ExpectedStructLike
            | E::ExpectedNamedStructLike(_)
            | E::ExpectedIdentifier
            | E::ExpectedComma
            | E::ExpectedStructLikeEnd
            | E::IntegerOutOfBounds
            | E::InvalidIntegerDigit { .. }
            | E::InvalidValueForType { .. }
            | E::FloatUnderscore
            | E::UnderscoreAtBeginning
            | E::ExpectedDifferentLength { .. }
            | E::ExpectedDifferentStructName { .. }
            | E::InvalidIdentifier(_)
            | E::SuggestRawIdentifier(_)
    )
}

fn kind_wanted(code: &RonError) -> &'static str {
    use RonError as E;
    match code {
        E::ExpectedFloat | E::FloatUnderscore => "a number",
        E::ExpectedString => "a text in quotation marks",
        E::ExpectedArray => "a list in [ ]",
        E::ExpectedStructLike
        | E::ExpectedNamedStructLike(_)
        | E::ExpectedDifferentStructName { .. } => "a part in ( )",
        E::ExpectedIdentifier | E::InvalidIdentifier(_) | E::SuggestRawIdentifier(_) => "a word",
        E::ExpectedInteger
        | E::IntegerOutOfBounds
        | E::InvalidIntegerDigit { .. }
        | E::ExpectedComma => "a whole number",
        _ => "a value of another kind",
    }
}

/// A number written with a decimal comma, where the reader stands on what follows the comma.
fn decimal_comma(text: &str, at: usize) -> Option<Finding> {
    let part = |character: char| character.is_ascii_digit() || character == '.';
    let before = text[..at]
        .strip_suffix(',')
        .filter(|before| before.ends_with(|last: char| last.is_ascii_digit()))?;
    let whole = &before[before.trim_end_matches(part).len()..];
    let decimals = &text[at..at
        + text[at..]
            .find(|character| !part(character))
            .unwrap_or(text.len() - at)];
    (!decimals.is_empty()).then(|| {
        Finding::error(TextFault::DecimalComma, "")
            .message(format!(
                "`{whole},{decimals}` is two numbers here: decimals are written with a point"
            ))
            .why("a comma ends a value, so half of the figure would be lost")
            .fix(format!("write {whole}.{decimals}"))
    })
}

/// The byte at which RON says a line and column stand; both count from 1, columns in characters.
fn byte_of(text: &str, position: Position) -> usize {
    let line_start = match position.line {
        0 | 1 => 0,
        line => text
            .match_indices('\n')
            .nth(line - 2)
            .map_or(text.len(), |(at, _)| at + 1),
    };
    text[line_start..]
        .char_indices()
        .nth(position.col.saturating_sub(1))
        .map_or(text.len(), |(at, _)| line_start + at)
}

/// What RON's reader stumbled over, in a builder's words.
fn grammar(error: &SpannedError) -> Finding {
    match &error.code {
        RonError::NoSuchStructField {
            expected, found, ..
        } => Finding::error(TextFault::UnknownField, "")
            .message(format!("`{}` is not a field of this part", cut(found)))
            .why("a field that is not read is a setting that does not hold")
            .fix(match closest(found, expected) {
                Some(meant) => format!("`{meant}` was probably meant"),
                None => format!("it may have {}", quoted(expected)),
            }),
        RonError::NoSuchEnumVariant {
            expected, found, ..
        } => Finding::error(TextFault::UnknownWord, "")
            .message(format!(
                "`{}` is not one of the words allowed here",
                cut(found)
            ))
            .why("each choice has its own word")
            .fix(match closest(found, expected) {
                Some(meant) => {
                    format!(
                        "`{meant}` was probably meant; the words are {}",
                        quoted(expected)
                    )
                }
                None => format!("the words are {}", quoted(expected)),
            }),
        RonError::MissingStructField { field, .. } => Finding::error(TextFault::MissingField, "")
            .message(format!("`{field}` is missing from the part that ends here"))
            .why("the engine cannot be worked out without it")
            .fix(format!(
                "add `{field}: …,`; `dotwise scenes bench_four` prints a whole description"
            )),
        RonError::ExpectedDifferentLength { found, .. } => {
            Finding::error(TextFault::MissingField, "")
                .message(format!(
                    "{} in these brackets, and more are wanted",
                    counted(*found, "value", "values")
                ))
                .why("which value is which is known by its place alone")
                .fix("write every one of them, parted by commas, as in (340, 0.04)")
        }
        RonError::DuplicateStructField { field, .. } => Finding::error(TextFault::FieldTwice, "")
            .message(format!("`{field}` is given twice"))
            .why("only one of them could hold")
            .fix("take one of them out"),
        code => Finding::error(TextFault::NotRon, "")
            .message(format!(
                "the text cannot be read here: {}",
                uncapitalised(cut(&code.to_string()))
            ))
            .why(
                "a description is written in RON: `(name: value, …)`, lists in [ ], texts in \" \"",
            )
            .fix("look here, and just before, for a missing comma, bracket or quotation mark"),
    }
}

/// Brackets nested deeper than anything is followed.
fn too_deep() -> Finding {
    Finding::error(TextFault::NestedTooDeep, "")
        .message("brackets are nested too deep to be followed")
        .why("no description needs more than five levels")
        .fix("look for a bracket that is never closed")
}

/// As much of a text as a message can hold.
fn cut(text: &str) -> &str {
    &text[..text.floor_char_boundary(100)]
}

fn uncapitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters
        .next()
        .map(|first| first.to_lowercase().chain(characters).collect())
        .unwrap_or_default()
}

fn quoted(words: &[&str]) -> String {
    words
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(", ")
}
