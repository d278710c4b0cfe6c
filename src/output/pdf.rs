//! Pages as PDF, each from its own SVG: one drawing serves both, and the text in it stays text.

use std::sync::Arc;

use krilla::Document;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt as _, SvgSettings};

use super::error::Error;
use super::fonts;
use super::svg::{self, Colours};
use crate::drawing::Drawing;

/// Points in a millimetre: 72 to the inch.
const POINTS: f64 = 72.0 / 25.4;

/// The pages, in order, each as large as its drawing.
///
/// # Errors
/// [`Error::Page`] or [`Error::Pdf`], where the libraries will not have what was drawn.
pub fn document(title: &str, pages: &[Drawing]) -> Result<Vec<u8>, Error> {
    let mut options = usvg::Options {
        font_family: fonts::FAMILY.to_owned(),
        ..usvg::Options::default()
    };
    options.fontdb = Arc::clone(fonts::database());
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator("Dotwise".to_owned())
            .language("en".to_owned()),
    );
    for (index, drawing) in pages.iter().enumerate() {
        let wrong = |why: &str| Error::Page(index, why.to_owned());
        let tree = usvg::Tree::from_str(&svg::document(drawing, Colours::Paper), &options)
            .map_err(|error| wrong(&error.to_string()))?;
        let (width, height) = (
            (drawing.size.x * POINTS) as f32,
            (drawing.size.y * POINTS) as f32,
        );
        let size = Size::from_wh(width, height).ok_or_else(|| wrong("it has no size"))?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| wrong("it cannot be drawn"))?;
        surface.finish();
        page.finish();
    }
    document
        .finish()
        .map_err(|error| Error::Pdf(format!("{error:?}")))
}
