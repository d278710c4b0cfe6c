//! The type that sheets are set in, and how wide a text stands in it.
//!
//! Dotwise Sans is a cut of DejaVu Sans (Latin, Greek, Cyrillic, Hebrew, Arabic and the signs a
//! workshop needs), renamed as its licence asks; the licence lies beside it in `assets/fonts/`.

use std::sync::{Arc, OnceLock};

/// The family's name.
pub const FAMILY: &str = "Dotwise Sans";

/// The plain cut, a TrueType file.
pub static PLAIN: &[u8] = include_bytes!("../../assets/fonts/DotwiseSans.ttf");
/// The bold cut.
pub static BOLD: &[u8] = include_bytes!("../../assets/fonts/DotwiseSans-Bold.ttf");

/// Both faces, for the PDF writer to find by name.
pub(super) fn database() -> &'static Arc<usvg::fontdb::Database> {
    static DATABASE: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    DATABASE.get_or_init(|| {
        let mut database = usvg::fontdb::Database::new();
        for face in [PLAIN, BOLD] {
            database.load_font_source(usvg::fontdb::Source::Binary(Arc::new(face)));
        }
        database.set_sans_serif_family(FAMILY);
        Arc::new(database)
    })
}

fn face(bold: bool) -> Option<&'static ttf_parser::Face<'static>> {
    static FACES: OnceLock<[Option<ttf_parser::Face<'static>>; 2]> = OnceLock::new();
    FACES.get_or_init(|| [PLAIN, BOLD].map(|face| ttf_parser::Face::parse(face, 0).ok()))
        [usize::from(bold)]
    .as_ref()
}

/// Whether the type has a sign for a character.
pub fn has(character: char, bold: bool) -> bool {
    face(bold).is_some_and(|face| face.glyph_index(character).is_some())
}

/// How wide a text stands, in its font size. A sign that is not in the type is counted as wide as a
/// capital.
pub fn width(text: &str, bold: bool) -> f64 {
    const UNKNOWN: f64 = 0.7;
    let Some(face) = face(bold) else {
        return UNKNOWN * text.chars().count() as f64;
    };
    let em = f64::from(face.units_per_em());
    let of = |character| {
        face.glyph_index(character)
            .and_then(|glyph| face.glyph_hor_advance(glyph))
            .map(f64::from)
    };
    text.chars()
        .map(|character| of(character).map_or(UNKNOWN, |advance| advance / em))
        .sum()
}

/// A text in lines no wider than `width_mm` at a font size; a word that is wider alone is broken.
pub fn lines(text: &str, size_mm: f64, width_mm: f64, bold: bool) -> Vec<String> {
    let most = width_mm / size_mm;
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut word = word.to_owned();
        let joined = if line.is_empty() {
            word.clone()
        } else {
            format!("{line} {word}")
        };
        if width(&joined, bold) <= most {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        while width(&word, bold) > most && word.chars().count() > 1 {
            let mut fits = 0.0;
            let cut = word.char_indices().skip(1).find(|(index, character)| {
                fits = width(&word[..index + character.len_utf8()], bold);
                fits > most
            });
            let rest = word.split_off(cut.map_or(word.len(), |(index, _)| index));
            lines.push(std::mem::replace(&mut word, rest));
        }
        line = word;
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The largest size up to `size_mm` at which a text of one line is no wider than `width_mm`.
pub(super) fn fitted(text: &str, size_mm: f64, width_mm: f64, bold: bool) -> f64 {
    let wide = width(text, bold) * size_mm;
    if wide > width_mm {
        size_mm * width_mm / wide
    } else {
        size_mm
    }
}
