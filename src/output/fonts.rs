//! The type that sheets are set in, and how wide a text stands in it.
//!
//! Dotwise Sans is a cut of DejaVu Sans (Latin, Greek, Cyrillic, Hebrew, Arabic and the signs a
//! workshop needs), renamed as its licence asks; the licence lies beside it in `assets/fonts/`.

#![expect(
    clippy::indexing_slicing,
    reason = "two faces, asked for by a yes or no"
)]

use std::sync::{Arc, OnceLock};

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider as _};

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

/// What is asked of a face, in its own units.
struct Face {
    glyphs: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    units_per_em: f64,
}

impl Face {
    fn new(file: &'static [u8]) -> Option<Self> {
        let font = FontRef::new(file).ok()?;
        let (size, upright) = (Size::unscaled(), LocationRef::default());
        Some(Self {
            glyphs: font.charmap(),
            metrics: font.glyph_metrics(size, upright),
            units_per_em: f64::from(font.metrics(size, upright).units_per_em),
        })
    }

    /// How wide a character stands, in the font's size; none where the type has no sign for it.
    fn width(&self, character: char) -> Option<f64> {
        let advance = self.metrics.advance_width(self.glyphs.map(character)?)?;
        Some(f64::from(advance) / self.units_per_em)
    }
}

fn face(bold: bool) -> Option<&'static Face> {
    static FACES: OnceLock<[Option<Face>; 2]> = OnceLock::new();
    FACES.get_or_init(|| [PLAIN, BOLD].map(Face::new))[usize::from(bold)].as_ref()
}

/// Whether the type has a sign for a character.
pub fn has(character: char, bold: bool) -> bool {
    face(bold).is_some_and(|face| face.glyphs.map(character).is_some())
}

/// How wide a text stands, in its font size. A sign that is not in the type is counted as wide as a
/// capital.
pub fn width(text: &str, bold: bool) -> f64 {
    const UNKNOWN: f64 = 0.7;
    let face = face(bold);
    text.chars()
        .map(|character| {
            face.and_then(|face| face.width(character))
                .unwrap_or(UNKNOWN)
        })
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
