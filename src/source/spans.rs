//! Where in a RON text each value stands.
//!
//! RON's reader says where a text breaks its grammar, but hands over values without their places.
//! This walks the text once more and notes, for each path (`valves.intake.lift`, `banks[0].angle`),
//! the bytes of its name and value. It judges nothing: on a text it cannot follow it stops, and
//! what was noted so far stands.

#![expect(
    clippy::indexing_slicing,
    reason = "places and ranges were cut from this text"
)]

use std::collections::HashMap;
use std::ops::Range;

/// The bytes of a field's name and of its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldSpan {
    /// The field's name, or the value where it has none (an item of a list).
    pub name: Range<usize>,
    /// The value.
    pub value: Range<usize>,
}

/// The places of a text, by path. The whole value has the empty path.
#[derive(Clone, Debug, Default)]
pub struct Spans {
    spots: HashMap<String, FieldSpan>,
    too_deep: bool,
}

/// Deeper than this a text is not followed; RON's own reader refuses at 128.
const DEEPEST: usize = 130;

impl Spans {
    /// Walks `text`.
    pub fn of(text: &str) -> Self {
        let mut walk = Scanner {
            text: text.as_bytes(),
            at: 0,
            places: HashMap::new(),
            too_deep: false,
        };
        let whole = walk.skip_to_start();
        if walk.value("", 0).is_some() && {
            walk.blanks();
            walk.peek().is_none()
        } {
            let spot = whole..walk.at;
            walk.places.insert(
                String::new(),
                FieldSpan {
                    name: spot.clone(),
                    value: spot,
                },
            );
        }
        Self {
            spots: walk.places,
            too_deep: walk.too_deep,
        }
    }

    /// The place of `path`, or of the nearest thing around it that the text has.
    pub fn find(&self, path: &str) -> Option<&FieldSpan> {
        let mut path = path;
        loop {
            if let Some(spot) = self.spots.get(path) {
                return Some(spot);
            }
            if path.is_empty() {
                return None;
            }
            path = &path[..path.rfind(['.', '[']).unwrap_or(0)];
        }
    }

    /// The place of exactly this path.
    pub fn exactly(&self, path: &str) -> Option<&FieldSpan> {
        self.spots.get(path)
    }

    /// The paths of what stands directly inside `path`, in the order of the text.
    pub fn inside(&self, path: &str) -> Vec<&str> {
        let directly = |other: &&String| {
            let Some(rest) = other.strip_prefix(path).filter(|rest| !rest.is_empty()) else {
                return false;
            };
            let own = rest.trim_start_matches(['.', '[']);
            (path.is_empty() || own.len() < rest.len()) && !own.contains(['.', '['])
        };
        let mut inside: Vec<(&String, &FieldSpan)> = self
            .spots
            .iter()
            .filter(|(other, _)| directly(other))
            .collect();
        inside.sort_by_key(|(_, spot)| spot.name.start);
        inside.into_iter().map(|(path, _)| path.as_str()).collect()
    }

    /// The place whose name covers this byte, such as an unknown field that the reader stumbled
    /// over.
    pub fn named_at(&self, byte: usize) -> Option<&FieldSpan> {
        self.spots
            .values()
            .filter(|spot| spot.name != spot.value)
            .find(|spot| spot.name.start <= byte && byte <= spot.name.end)
    }
}

impl Spans {
    /// Whether the text was walked to its end.
    pub fn is_whole(&self) -> bool {
        self.spots.contains_key("")
    }

    /// Whether brackets are nested deeper than anything is followed.
    pub fn is_too_deep(&self) -> bool {
        self.too_deep
    }

    /// The path that this place has.
    pub fn path_of(&self, spot: &FieldSpan) -> Option<&str> {
        self.spots
            .iter()
            .find_map(|(path, other)| (other == spot).then_some(path.as_str()))
    }

    /// The innermost value that stands over these bytes, or ends just before them. A value without
    /// a name in a part that has names is none: there it is the name that is missing.
    pub fn value_at(&self, start: usize, end: usize) -> Option<&FieldSpan> {
        let over = |spot: &FieldSpan| {
            spot.value.start <= end && start <= spot.value.end && !spot.value.is_empty()
        };
        let named = |path: &str| !path.ends_with(|last: char| last.is_ascii_digit());
        let inner = self
            .spots
            .iter()
            .filter(|(_, spot)| over(spot))
            .min_by_key(|(_, spot)| spot.value.len())?;
        named(inner.0).then_some(inner.1)
    }

    /// Whether the part that holds this field has one of that name too.
    pub fn has_beside(&self, spot: &FieldSpan, name: &str) -> bool {
        let path = self
            .spots
            .iter()
            .find(|(_, other)| *other == spot)
            .map_or("", |(path, _)| path.as_str());
        let beside = match path.rfind('.') {
            Some(dot) => format!("{}.{name}", &path[..dot]),
            None => name.to_owned(),
        };
        self.spots.contains_key(&beside)
    }
}

struct Scanner<'a> {
    text: &'a [u8],
    at: usize,
    places: HashMap<String, FieldSpan>,
    too_deep: bool,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn starts_with(&self, what: &[u8]) -> bool {
        self.text[self.at..].starts_with(what)
    }

    /// Past blanks, comments and `#![enable(…)]` lines.
    fn skip_to_start(&mut self) -> usize {
        loop {
            self.blanks();
            if !self.starts_with(b"#!") {
                return self.at;
            }
            while self.peek().is_some_and(|byte| byte != b'\n') {
                self.at += 1;
            }
        }
    }

    fn blanks(&mut self) {
        loop {
            if self.peek().is_some_and(|byte| byte.is_ascii_whitespace()) {
                self.at += 1;
            } else if self.starts_with(b"//") {
                while self.peek().is_some_and(|byte| byte != b'\n') {
                    self.at += 1;
                }
            } else if self.starts_with(b"/*") {
                let mut open = 0;
                while self.at < self.text.len() {
                    if self.starts_with(b"/*") {
                        open += 1;
                        self.at += 2;
                    } else if self.starts_with(b"*/") {
                        open -= 1;
                        self.at += 2;
                        if open == 0 {
                            break;
                        }
                    } else {
                        self.at += 1;
                    }
                }
            } else {
                return;
            }
        }
    }

    fn word(&mut self) -> Range<usize> {
        let start = self.at;
        while self.peek().is_some_and(|byte| {
            byte.is_ascii_alphanumeric()
                || matches!(byte, b'_' | b'+' | b'-' | b'.' | b'#')
                || byte >= 0x80
        }) {
            self.at += 1;
        }
        start..self.at
    }

    fn string(&mut self) -> Option<()> {
        if self.peek() == Some(b'r') {
            self.at += 1;
            let start = self.at;
            while self.peek() == Some(b'#') {
                self.at += 1;
            }
            let mut close = vec![b'"'];
            close.resize(1 + self.at - start, b'#');
            if self.peek()? != b'"' {
                return None;
            }
            self.at += 1;
            while !self.starts_with(&close) {
                self.peek()?;
                self.at += 1;
            }
            self.at += close.len();
            return Some(());
        }
        self.at += 1;
        loop {
            match self.peek()? {
                b'\\' => self.at += 2,
                b'"' => break,
                _ => self.at += 1,
            }
        }
        self.at += 1;
        Some(())
    }

    /// Walks one value, noting what is inside it under `path`.
    fn value(&mut self, path: &str, depth: usize) -> Option<()> {
        if depth > DEEPEST {
            self.too_deep = true;
            return None;
        }
        match self.peek()? {
            b'"' => self.string(),
            b'r' if self.starts_with(b"r\"") || self.starts_with(b"r#") => self.string(),
            b'[' => self.list(path, depth),
            b'(' => self.fields(path, depth),
            // No file of ours is names in braces as a whole.
            b'{' if !path.is_empty() => self.map(path, depth),
            _ => {
                if self.word().is_empty() {
                    return None;
                }
                let end = self.at;
                self.blanks();
                if self.peek() == Some(b'(') {
                    self.fields(path, depth)
                } else {
                    self.at = end;
                    Some(())
                }
            }
        }
    }

    fn list(&mut self, path: &str, depth: usize) -> Option<()> {
        self.at += 1;
        let mut index = 0;
        loop {
            self.blanks();
            if self.peek()? == b']' {
                self.at += 1;
                return Some(());
            }
            let path = format!("{path}[{index}]");
            let start = self.at;
            self.value(&path, depth + 1)?;
            self.places.insert(
                path,
                FieldSpan {
                    name: start..self.at,
                    value: start..self.at,
                },
            );
            index += 1;
            self.comma(b']')?;
        }
    }

    /// Walks names and their values in braces; it is one value to whoever asks for a place.
    fn map(&mut self, path: &str, depth: usize) -> Option<()> {
        self.at += 1;
        let inner = format!("{path}{{}}");
        loop {
            self.blanks();
            if self.peek()? == b'}' {
                self.at += 1;
                return Some(());
            }
            self.value(&inner, depth + 1)?;
            self.blanks();
            if self.peek()? != b':' {
                return None;
            }
            self.at += 1;
            self.blanks();
            self.value(&inner, depth + 1)?;
            self.comma(b'}')?;
        }
    }

    fn fields(&mut self, path: &str, depth: usize) -> Option<()> {
        self.at += 1;
        let mut index = 0;
        loop {
            self.blanks();
            if self.peek()? == b')' {
                self.at += 1;
                return Some(());
            }
            let start = self.at;
            let name = self.word();
            self.blanks();
            let (name, field) = if !name.is_empty() && self.peek()? == b':' {
                self.at += 1;
                self.blanks();
                let word = String::from_utf8_lossy(&self.text[name.clone()]).into_owned();
                (Some(name), word)
            } else {
                self.at = start;
                (None, index.to_string())
            };
            let path = if path.is_empty() {
                field
            } else {
                format!("{path}.{field}")
            };
            let start = self.at;
            self.value(&path, depth + 1)?;
            let value = start..self.at;
            self.places.insert(
                path,
                FieldSpan {
                    name: name.unwrap_or(value.clone()),
                    value,
                },
            );
            index += 1;
            self.comma(b')')?;
        }
    }

    fn comma(&mut self, close: u8) -> Option<()> {
        self.blanks();
        match self.peek()? {
            b',' => self.at += 1,
            byte if byte == close => {}
            _ => return None,
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text_at<'a>(text: &'a str, path: &str) -> &'a str {
        let places = Spans::of(text);
        &text[places.find(path).expect("a place").value.clone()]
    }

    #[test]
    fn each_value_is_found_by_its_path_through_comments_strings_and_variants() {
        let text = r#"#![enable(implicit_some)]
            ( a: 1.5, // b: 9
              name: "x ) \" (", /* c: ( */
              list: [(on: Idler(2), at: -3), (at: 4.0)], torque: NewtonMetres(11.0), )"#;
        assert_eq!(text_at(text, "a"), "1.5");
        assert_eq!(text_at(text, "list[0].on"), "Idler(2)");
        assert_eq!(text_at(text, "list[1].at"), "4.0");
        assert_eq!(text_at(text, "torque"), "NewtonMetres(11.0)");
    }

    #[test]
    fn what_is_not_there_is_found_at_the_nearest_thing_around_it() {
        assert_eq!(
            text_at("(valves: (lift: 1))", "valves.intake.opens"),
            "(lift: 1)"
        );
    }

    #[test]
    fn a_text_without_end_is_walked_without_harm() {
        for text in [
            "",
            "(",
            "(a: [",
            "r#\"",
            "r#",
            "(a: r##",
            "(a: r#b)",
            "\"\\",
            "((((",
            &"[".repeat(100_000),
        ] {
            let _ = Spans::of(text);
        }
    }
}
