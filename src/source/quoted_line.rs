//! The line of a text that a finding points at, cut to what a terminal of 80 columns shows.

use std::borrow::Cow;
use std::ops::Range;

use codespan_reporting::files::{Error, Files};

use crate::words::{COLUMNS, columns_of, visible};

/// One line of a text, or as much of it as has room about what is pointed at, with whatever is
/// unseen in it shown.
pub(super) struct QuotedLine<'a> {
    name: Cow<'a, str>,
    /// Counted from 1, the column in characters of the text as it is.
    line: usize,
    column: usize,
    shown: String,
    /// What is pointed at, bytes of `shown`.
    pub(super) marked: Range<usize>,
}

/// What stands where a line goes on.
const CUT: &str = "…";

impl<'a> QuotedLine<'a> {
    /// The line of `text` in which `span` begins.
    pub(super) fn of(name: &'a str, text: &str, span: &Range<usize>) -> Self {
        let start = text.floor_char_boundary(span.start);
        let (above, below) = text.split_at(start);
        let first = above.rfind('\n').map_or(0, |end| end + 1);
        let last = below.find('\n').map_or(text.len(), |end| start + end);
        let end = text.floor_char_boundary(span.end).clamp(start, last);
        let line = above.matches('\n').count() + 1;
        let seen = |range: Range<usize>| {
            let piece = text[range].trim_end_matches('\r').replace('\t', "    ");
            visible(&piece).into_owned()
        };
        let (mut before, mut marked, mut after) =
            (seen(first..start), seen(start..end), seen(end..last));
        // A number, a blank, a bar and a blank stand before the line.
        let room = COLUMNS - line.to_string().len() - " │ ".chars().count();
        let long = |pieces: [&str; 3]| pieces.into_iter().map(columns_of).sum::<usize>();
        if long([&before, &marked, &after]) > room {
            let room = room - 2 * columns_of(CUT);
            if columns_of(&marked) > room {
                marked = first_columns(&marked, room).to_owned();
            }
            let spare = room - columns_of(&marked);
            let most = (spare * 2 / 3).max(spare.saturating_sub(columns_of(&after)));
            if columns_of(&before) > most {
                before = format!("{CUT}{}", last_columns(&before, most));
            }
            let rest = room + columns_of(CUT) - long([&before, &marked, ""]);
            if columns_of(&after) > rest {
                after = format!("{}{CUT}", first_columns(&after, rest));
            }
        }
        let marked_range = before.len()..before.len() + marked.len();
        Self {
            name: visible(name),
            line,
            column: text[first..start].chars().count() + 1,
            shown: format!("{before}{marked}{after}"),
            marked: marked_range,
        }
    }
}

fn first_columns(text: &str, most: usize) -> &str {
    let mut taken = 0;
    let end = text.char_indices().find(|(at, letter)| {
        taken += columns_of(&text[*at..at + letter.len_utf8()]);
        taken > most
    });
    &text[..end.map_or(text.len(), |(at, _)| at)]
}

fn last_columns(text: &str, most: usize) -> &str {
    let mut taken = 0;
    let end = text.char_indices().rev().find(|(at, letter)| {
        taken += columns_of(&text[*at..at + letter.len_utf8()]);
        taken > most
    });
    &text[end.map_or(0, |(at, letter)| at + letter.len_utf8())..]
}

impl<'a> Files<'a> for QuotedLine<'_> {
    type FileId = ();
    type Name = &'a str;
    type Source = &'a str;

    fn name(&'a self, (): ()) -> Result<&'a str, Error> {
        Ok(&self.name)
    }

    fn source(&'a self, (): ()) -> Result<&'a str, Error> {
        Ok(&self.shown)
    }

    fn line_index(&'a self, (): (), _: usize) -> Result<usize, Error> {
        Ok(0)
    }

    fn line_number(&'a self, (): (), _: usize) -> Result<usize, Error> {
        Ok(self.line)
    }

    fn column_number(&'a self, (): (), _: usize, _: usize) -> Result<usize, Error> {
        Ok(self.column)
    }

    fn line_range(&'a self, (): (), line: usize) -> Result<Range<usize>, Error> {
        match line {
            0 => Ok(0..self.shown.len()),
            _ => Err(Error::LineTooLarge {
                given: line,
                max: 0,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_shown_whole_or_cut_about_what_is_pointed_at() {
        let text = format!(
            "(\n    a: 1, {}, bore: 82.0, {}\n)",
            "b: 2, ".repeat(30),
            "c: 3, ".repeat(30)
        );
        let at = text.find("82.0").expect("there");
        let quoted = QuotedLine::of("x.ron", &text, &(at..at + 4));
        assert_eq!(&quoted.shown[quoted.marked.clone()], "82.0");
        assert_eq!((quoted.line, quoted.column), (2, at - 1));
        assert_eq!(columns_of(&quoted.shown), 76, "{}", quoted.shown);
        assert!(quoted.shown.starts_with('…') && quoted.shown.ends_with('…'));
        let short = QuotedLine::of("x.ron", "(a: \u{1b}1)", &(5..6));
        assert_eq!(short.shown, "(a: <U+001B>1)");
        assert_eq!(&short.shown[short.marked.clone()], "1");
        let ends = QuotedLine::of("x.ron", "(a: 1", &(5..5));
        assert_eq!((ends.line, ends.column), (1, 6));
    }

    #[test]
    fn what_is_pointed_at_is_cut_where_it_is_longer_than_a_line() {
        let text = format!("(name: \"{}\")", "é".repeat(300));
        let quoted = QuotedLine::of("x.ron", &text, &(7..text.len() - 1));
        assert!(columns_of(&quoted.shown) <= 76, "{}", quoted.shown);
        assert!(!quoted.marked.is_empty());
    }
}
