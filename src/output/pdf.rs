//! Pages as PDF, each from its own SVG: one drawing serves both, and the text in it stays text.
//!
//! What a page's items are (`Drawing::contents`) becomes the PDF's structure, by which it is read out:
//! headings with bookmarks, paragraphs, tables, drawings with a sentence of what they show. It is
//! held to PDF/UA-1 by krilla's own checks; where a text has a character that no font here has,
//! they cannot pass, and the same file goes without the claim.

use std::num::NonZeroU16;
use std::ops::Range;

use krilla::configure::{Accessibility, Configuration, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Point, Size};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, SpanTag, TableHeaderScope, Tag, TagGroup,
    TagTree,
};
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use super::error::Error;
use super::fonts;
use super::svg::{self, Colours};
use crate::drawing::{ContentPart, Drawing, Heads};

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
    options.fontdb = fonts::database_for(pages);
    let plain = || written(title, pages, &options, Configuration::default());
    let accessible = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish();
    match accessible {
        Ok(accessible) if pages.iter().all(|page| !page.contents.is_empty()) => {
            written(title, pages, &options, accessible).or_else(|_| plain())
        }
        _ => plain(),
    }
}

fn written(
    title: &str,
    pages: &[Drawing],
    options: &usvg::Options<'_>,
    configuration: Configuration,
) -> Result<Vec<u8>, Error> {
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator("Dotwise".to_owned())
            .language("en".to_owned()),
    );
    let mut structure = Structure::default();
    for (index, drawing) in pages.iter().enumerate() {
        let wrong = |why: &str| Error::Page(index, why.to_owned());
        let (width, height) = (
            (drawing.size.x * POINTS) as f32,
            (drawing.size.y * POINTS) as f32,
        );
        let size = Size::from_wh(width, height).ok_or_else(|| wrong("it has no size"))?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        for (items, part) in runs(drawing) {
            let tag = match part {
                Some(_) => ContentTag::Span(SpanTag::empty()),
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            };
            let identifier = surface.start_tagged(tag);
            let drawn = draw(&mut surface, drawing, items.clone(), size, options);
            surface.end_tagged();
            drawn.map_err(|why| wrong(&why))?;
            if let Some((part, number)) = part {
                let y = top_of(drawing, &items);
                structure.add(part, number, identifier, index, y);
            }
        }
        surface.finish();
        page.finish();
    }
    let (tree, outline) = structure.finish();
    document.set_tag_tree(tree);
    document.set_outline(outline);
    document
        .finish()
        .map_err(|error| Error::Pdf(format!("{error:?}")))
}

/// A part of a page's content and its number.
type Part<'a> = (&'a ContentPart, usize);

/// A page's items in the order they are drawn, each run with its part; what has none is furniture.
fn runs(drawing: &Drawing) -> Vec<(Range<usize>, Option<Part<'_>>)> {
    let mut contents: Vec<_> = drawing.contents.iter().collect();
    contents.sort_by_key(|content| content.items.start);
    let (mut runs, mut at) = (Vec::new(), 0);
    for content in contents {
        if content.items.start > at {
            runs.push((at..content.items.start, None));
        }
        let items = content.items.start.max(at)..content.items.end;
        if !items.is_empty() {
            at = items.end;
            runs.push((items, Some((&content.part, content.number))));
        }
    }
    if at < drawing.items.len() {
        runs.push((at..drawing.items.len(), None));
    }
    runs
}

/// Draws a run of a page's items at their place.
fn draw(
    surface: &mut Surface<'_>,
    drawing: &Drawing,
    items: Range<usize>,
    size: Size,
    options: &usvg::Options<'_>,
) -> Result<(), String> {
    let mut part = Drawing::new("", drawing.size.x, drawing.size.y);
    part.items
        .extend(drawing.items.get(items).unwrap_or_default().iter().cloned());
    let tree = usvg::Tree::from_str(&svg::document(&part, Colours::Paper), options)
        .map_err(|error| error.to_string())?;
    surface
        .draw_svg(&tree, size, SvgSettings::default())
        .ok_or_else(|| "it cannot be drawn".to_owned())
}

/// How far down the page the first text of a run stands, in points.
fn top_of(drawing: &Drawing, items: &Range<usize>) -> f32 {
    let first = drawing.items.get(items.clone()).unwrap_or_default();
    let y = first.iter().find_map(|item| match item {
        crate::drawing::Item::Text { at, size, .. } => Some(at.y - 2.0 * size),
        _ => None,
    });
    (y.unwrap_or_default().max(0.0) * POINTS) as f32
}

/// One thing of the document: its part, its number, what of it stands on the pages.
struct Thing {
    number: usize,
    part: ContentPart,
    pieces: Vec<Identifier>,
}

/// A table's cells in the order they are read.
struct Cell {
    row: usize,
    column: usize,
    heads: Option<Heads>,
    pieces: Vec<Identifier>,
}

/// A heading, its page and how far down it stands there, in points.
type Bookmark = (String, usize, f32);

/// What the document is read by.
#[derive(Default)]
struct Structure {
    things: Vec<(Thing, Vec<Cell>)>,
    /// Each part's, with those of the headings within it.
    bookmarks: Vec<(Bookmark, Vec<Bookmark>)>,
}

impl Structure {
    fn add(&mut self, part: &ContentPart, number: usize, piece: Identifier, page: usize, y: f32) {
        match part {
            ContentPart::Part(text) => {
                self.bookmarks.push(((text.clone(), page, y), Vec::new()));
            }
            ContentPart::Heading(text) => {
                if let Some((_, under)) = self.bookmarks.last_mut() {
                    under.push((text.clone(), page, y));
                }
            }
            ContentPart::Text | ContentPart::Cell { .. } | ContentPart::Figure(_) => {}
        }
        let index = self
            .things
            .iter()
            .rposition(|(thing, _)| thing.number == number);
        let index = index.unwrap_or_else(|| {
            let thing = Thing {
                number,
                part: part.clone(),
                pieces: Vec::new(),
            };
            self.things.push((thing, Vec::new()));
            self.things.len() - 1
        });
        let Some((thing, cells)) = self.things.get_mut(index) else {
            return;
        };
        let &ContentPart::Cell { row, column, heads } = part else {
            thing.pieces.push(piece);
            return;
        };
        // The heads that a table has again overleaf are the same heads.
        let same = |cell: &&mut Cell| (cell.row, cell.column) == (row, column);
        match cells.iter_mut().find(same) {
            Some(cell) => cell.pieces.push(piece),
            None => cells.push(Cell {
                row,
                column,
                heads,
                pieces: vec![piece],
            }),
        }
    }

    fn finish(self) -> (TagTree, Outline) {
        let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
        let one = NonZeroU16::MIN;
        let two = one.saturating_add(1);
        for (thing, cells) in self.things {
            let mut group = match thing.part {
                ContentPart::Part(text) => TagGroup::new(Tag::Hn(one, Some(text))),
                ContentPart::Heading(text) => TagGroup::new(Tag::Hn(two, Some(text))),
                ContentPart::Text => TagGroup::new(Tag::P),
                ContentPart::Figure(says) => TagGroup::new(Tag::Figure(Some(says))),
                ContentPart::Cell { .. } => {
                    tree.push(table(cells));
                    continue;
                }
            };
            thing.pieces.into_iter().for_each(|piece| group.push(piece));
            tree.push(group);
        }
        let mut outline = Outline::new();
        for ((text, page, y), under) in self.bookmarks {
            let to = |page, y| XyzDestination::new(page, Point::from_xy(0.0, y));
            let mut node = OutlineNode::new(text, to(page, y));
            for (text, page, y) in under {
                node.push_child(OutlineNode::new(text, to(page, y)));
            }
            outline.push_child(node);
        }
        (tree, outline)
    }
}

fn table(mut cells: Vec<Cell>) -> TagGroup {
    let mut table = TagGroup::new(Tag::Table);
    cells.sort_by_key(|cell| (cell.row, cell.column));
    let mut cells = cells.into_iter().peekable();
    while let Some(first) = cells.next() {
        let row_number = first.row;
        let mut row = TagGroup::new(Tag::TR);
        row.push(cell(first));
        while let Some(next) = cells.next_if(|cell| cell.row == row_number) {
            row.push(cell(next));
        }
        table.push(row);
    }
    table
}

fn cell(cell: Cell) -> TagGroup {
    let mut group = match cell.heads {
        Some(Heads::Column) => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
        Some(Heads::Row) => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
        None => TagGroup::new(Tag::TD),
    };
    cell.pieces.into_iter().for_each(|piece| group.push(piece));
    group
}
