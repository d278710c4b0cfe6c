//! The type that sheets are set in, and how wide a text stands in it.
//!
//! Dotwise Sans is a cut of DejaVu Sans (Latin, Greek, Cyrillic, Hebrew, Arabic and the signs a
//! workshop needs), renamed as its licence asks; the licence lies beside it in `assets/fonts/`.

#![expect(
    clippy::indexing_slicing,
    reason = "two faces, asked for by a yes or no"
)]

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider as _};

use crate::drawing::{Drawing, Item};
use crate::words::is_unseen;

/// The family's name.
pub const FAMILY: &str = "Dotwise Sans";

/// The plain cut, a TrueType file.
pub static PLAIN: &[u8] = include_bytes!("../../assets/fonts/DotwiseSans.ttf");
/// The bold cut.
pub static BOLD: &[u8] = include_bytes!("../../assets/fonts/DotwiseSans-Bold.ttf");

/// Both faces, for the PDF writer to find by name; and where a page has a character that they lack, the
/// fonts of this system that have it.
pub(super) fn database_for(pages: &[Drawing]) -> Arc<usvg::fontdb::Database> {
    let wider = wider(&missing(pages));
    if wider.is_empty() {
        return Arc::clone(database());
    }
    let mut database = usvg::fontdb::Database::clone(database());
    for font in wider {
        database.load_font_source(usvg::fontdb::Source::Binary(Arc::new(font.file)));
    }
    Arc::new(database)
}

/// The characters of these pages that the type has no sign for, each once, in the order they stand
/// there.
pub fn missing(pages: &[Drawing]) -> Vec<char> {
    let mut missing = Vec::new();
    for item in pages.iter().flat_map(|page| &page.items) {
        let Item::Text { text, bold, .. } = item else {
            continue;
        };
        for character in text.chars() {
            let is_shown = !is_unseen(character) && !character.is_whitespace();
            if is_shown && !has(character, *bold) && !missing.contains(&character) {
                missing.push(character);
            }
        }
    }
    missing
}

/// A font of this system.
struct Wider {
    file: Vec<u8>,
    /// Its file's name.
    name: String,
    /// What it was taken for.
    has: Vec<char>,
}

/// Which font of this system has a sign for each of these, by the name of its file; None where none has.
pub fn found_for(missing: &[char]) -> Vec<(char, Option<String>)> {
    let wider = wider(missing);
    let font = |character: &char| {
        let font = wider.iter().find(|font| font.has.contains(character));
        (*character, font.map(|font| font.name.clone()))
    };
    missing.iter().map(font).collect()
}

/// The fonts of this system that have these characters, as few as are met first: upright and plain
/// ones before others.
fn wider(missing: &[char]) -> Vec<Wider> {
    /// A font larger than this is a whole library of signs, and would be read for one of them.
    const MOST_BYTES: u64 = 40_000_000;
    let mut left: Vec<char> = missing.to_vec();
    let mut fonts = Vec::new();
    if left.is_empty() {
        return fonts;
    }
    for path in font_files() {
        if left.is_empty() {
            break;
        }
        let is_small = path.metadata().is_ok_and(|about| about.len() <= MOST_BYTES);
        let Some(file) = is_small.then(|| std::fs::read(&path).ok()).flatten() else {
            continue;
        };
        let Ok(font) = FontRef::from_index(&file, 0) else {
            continue;
        };
        let glyphs = font.charmap();
        let (has, rest): (Vec<char>, Vec<char>) = left
            .iter()
            .partition(|character| glyphs.map(**character).is_some());
        left = rest;
        if !has.is_empty() {
            let name = path.file_name().unwrap_or_default();
            fonts.push(Wider {
                name: name.to_string_lossy().into_owned(),
                file,
                has,
            });
        }
    }
    fonts
}

/// The font files of this system: upright and plain ones first, then by name.
fn font_files() -> Vec<PathBuf> {
    const MOST: usize = 4000;
    let homes = [
        dirs::font_dir(),
        dirs::home_dir().map(|home| home.join(".fonts")),
    ];
    let mut folders: Vec<PathBuf> = homes.into_iter().flatten().collect();
    for folder in [
        "/usr/share/fonts",
        "/usr/local/share/fonts",
        "/System/Library/Fonts",
        "/Library/Fonts",
        "C:\\Windows\\Fonts",
    ] {
        folders.push(folder.into());
    }
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries.flatten() {
            let path = entry.path();
            let ending = path.extension().and_then(|ending| ending.to_str());
            match ending.map(str::to_ascii_lowercase).as_deref() {
                Some("ttf" | "otf" | "ttc" | "otc") if files.len() < MOST => files.push(path),
                // A link may lead back.
                _ if entry.file_type().is_ok_and(|kind| kind.is_dir()) => folders.push(path),
                _ => {}
            }
        }
    }
    let order = |path: &PathBuf| {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .to_lowercase();
        let is_plain = name.contains("sans")
            && !["mono", "bold", "italic", "oblique", "condensed", "light"]
                .iter()
                .any(|cut| name.contains(cut));
        (!is_plain, name)
    };
    files.sort_by_cached_key(order);
    files
}

fn database() -> &'static Arc<usvg::fontdb::Database> {
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
/// capital, or as a square in the scripts that fill one.
pub fn width(text: &str, bold: bool) -> f64 {
    // From the Hangul on a sign fills a square.
    let unknown = |character: char| if character >= '\u{1100}' { 1.0 } else { 0.7 };
    let face = face(bold);
    text.chars()
        .map(|character| {
            face.and_then(|face| face.width(character))
                .unwrap_or_else(|| unknown(character))
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

/// No type is smaller on paper.
pub const LEAST_MM: f64 = 2.0;

/// A text of one line no wider than `width_mm`: as large as goes up to `size_mm`, and where it would be
/// smaller than any type may be, cut with an ellipsis. Gives it with its size.
pub(super) fn fit(text: &str, size_mm: f64, width_mm: f64, bold: bool) -> (String, f64) {
    let wide = width(text, bold) * size_mm;
    if wide <= width_mm {
        return (text.to_owned(), size_mm);
    }
    let size = (size_mm * width_mm / wide).max(LEAST_MM.min(size_mm));
    (shortened(text, size, width_mm, bold), size)
}

/// A text of one line no wider than `width_mm` at this size: cut with an ellipsis where it would be.
pub(super) fn shortened(text: &str, size_mm: f64, width_mm: f64, bold: bool) -> String {
    const HAIR: f64 = 1e-9;
    let most = width_mm / size_mm + HAIR;
    if width(text, bold) <= most {
        return text.to_owned();
    }
    let mut wide = width("\u{2026}", bold);
    let fits = |character: &char| {
        wide += width(character.encode_utf8(&mut [0; 4]), bold);
        wide <= most
    };
    let kept: String = text.chars().take_while(fits).collect();
    format!("{}\u{2026}", kept.trim_end())
}
