//! The pages of a sheet: paper, margins, headings, lines of text, tables, boxes to tick.
//!
//! A page is a [`Drawing`] as large as its paper. Text that does not fit goes on to the next page
//! under the same heading.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the pages and columns begun here"
)]

use std::sync::Arc;

use glam::DVec2;

use super::as_built;
use super::fonts::{LEAST_MM, fit, lines, shortened, width};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::drawing::{Anchor, Content, ContentPart, Drawing, Heads, Item, Pen, Role};
use crate::engine::{Engine, Subject};
use crate::phasing::Phasing;
use crate::words::{Units, size};

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    #[value(name = "A4")]
    A4,
    /// 8½ × 11 inches.
    #[value(name = "Letter", alias = "letter")]
    Letter,
}

impl Paper {
    pub(super) fn size_mm(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(210.0, 297.0),
            Self::Letter => DVec2::new(215.9, 279.4),
        }
    }
}

pub(super) const SIDE_MM: f64 = 14.0;
/// Where what stands under the heading begins.
const HEAD_MM: f64 = 29.0;
/// What the foot of the page takes.
pub(super) const FOOT_MM: f64 = 16.0;
/// The size of plain text.
pub(super) const PLAIN_MM: f64 = 3.5;
/// The size of what stands over every page.
const SMALL_MM: f64 = 3.2;
/// The size of what a part rests on, at its foot.
const RESTS_ON_MM: f64 = 2.8;
/// Where a caution's text begins.
const CAUTION_MM: f64 = 22.0;
/// From line to line, in sizes.
const LEADING: f64 = 1.45;
/// The lines of an engine's name over a page, at most.
const NAME_LINES: usize = 3;
/// A cell that holds this has a box to tick.
pub(super) const BOX: &str = "\u{2610}";
/// A cell that holds this has a box that is ticked.
pub(super) const TICKED: &str = "\u{2611}";
/// The side of a box to tick.
const BOX_MM: f64 = 3.8;
/// What stands over a page whose drawing needs its room: the caution for whoever turns the crank, in
/// a line.
const TURNING_IN_SHORT: &str =
    "Caution: ignition off, battery disconnected, fingers clear. Never force a crank that stops.";

/// What stands over each page of a part, beside how the engine was put together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Over {
    /// Whether valves meet pistons, without figures, and the caution in a line: what is to be cut
    /// out at its true size needs the page.
    Short,
    /// Whether valves meet pistons, and where, and the caution for whoever turns the crank.
    #[default]
    Turning,
}

/// A drawing beside others.
#[derive(Clone, Debug)]
pub(super) struct Beside {
    pub(super) drawing: Drawing,
    /// A sentence of what it shows, for whoever has it read out.
    pub(super) says: String,
    /// Whether the sentence stands under it too.
    pub(super) is_captioned: bool,
    /// How wide it is on the page.
    pub(super) wide_mm: f64,
}

impl Beside {
    fn high_mm(&self) -> f64 {
        self.drawing.size.y * self.wide_mm / self.drawing.size.x
    }
}

/// Writes pages from the top down, and starts the next where one is full.
#[derive(Clone, Debug)]
pub(super) struct PageWriter {
    paper: Paper,
    engine: Arc<Engine>,
    /// How it was put together, and whether valves meet pistons: whole, and without figures.
    as_built: Option<String>,
    clearance: Option<String>,
    clearance_in_short: Option<String>,
    keep_clear: bool,
    heading: String,
    over: Over,
    pages: Vec<Drawing>,
    /// The parts begun, each with the index of its first page.
    parts: Vec<(String, usize)>,
    /// How many things were written: headings, paragraphs, tables, drawings.
    written: usize,
    /// The table that rows of a card are being written to: its number, and how many it has.
    card: Option<(usize, usize)>,
    /// From line to line, in sizes.
    leading: f64,
    /// How wide drawings are that need no size of their own, of what is asked for.
    drawn: f64,
    /// Where what stands over the page ends.
    top: f64,
    y: f64,
}

impl PageWriter {
    pub(super) fn new(phasing: &Phasing, paper: Paper) -> Self {
        Self {
            paper,
            engine: Arc::clone(phasing.engine()),
            as_built: as_built::built(phasing),
            clearance: as_built::clearance(phasing),
            clearance_in_short: as_built::clearance_in_short(phasing),
            keep_clear: phasing.valve_clearance().is_enough(),
            heading: String::new(),
            over: Over::default(),
            pages: Vec::new(),
            parts: Vec::new(),
            written: 0,
            card: None,
            leading: LEADING,
            drawn: 1.0,
            top: HEAD_MM,
            y: 0.0,
        }
    }

    /// The width of the text.
    pub(super) fn wide(&self) -> f64 {
        self.paper.size_mm().x - 2.0 * SIDE_MM
    }

    /// Where the text ends at the foot.
    pub(super) fn foot(&self) -> f64 {
        self.paper.size_mm().y - FOOT_MM
    }

    pub(super) fn paper(&self) -> Paper {
        self.paper
    }

    /// How far down the page is written.
    pub(super) fn y(&self) -> f64 {
        self.y
    }

    /// The page that is being written.
    pub(super) fn page(&mut self) -> &mut Drawing {
        if self.pages.is_empty() {
            self.next_page(&self.heading.clone(), false);
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// The first page of a part under its heading, and what stands over each of its pages.
    pub(super) fn start(&mut self, heading: &str, over: Over) {
        self.over = over;
        self.parts.push((heading.to_owned(), self.pages.len()));
        self.next_page(heading, true);
    }

    /// The parts begun, each with the index of its first page.
    pub(super) fn parts(&self) -> &[(String, usize)] {
        &self.parts
    }

    /// Writes a part, and where its last page would be all but empty writes it again with its lines
    /// closer or wider, or its drawings smaller, till it is not or nothing helps.
    pub(super) fn fill<T>(&mut self, write: impl Fn(&mut Self) -> T) -> T {
        /// Lines and drawings, each of what is usual.
        const OTHERWISE: [(f64, f64); 14] = [
            (1.4, 1.0),
            (1.35, 1.0),
            (1.3, 1.0),
            (1.26, 1.0),
            (1.5, 1.0),
            (1.55, 1.0),
            (1.35, 0.88),
            (1.3, 0.78),
            (1.26, 0.68),
            (1.26, 0.58),
            (1.65, 1.0),
            (1.75, 1.0),
            (1.9, 1.0),
            (LEADING, 1.0),
        ];
        let (pages, parts, number) = (self.pages.len(), self.parts.len(), self.written);
        let mut written = write(self);
        let heading = self.heading.clone();
        for (leading, drawn) in OTHERWISE {
            if !self.ends_bare(pages) {
                break;
            }
            self.pages.truncate(pages);
            self.parts.truncate(parts);
            (self.written, self.card) = (number, None);
            (self.leading, self.drawn) = (leading, drawn);
            self.heading.clone_from(&heading);
            written = write(self);
        }
        (self.leading, self.drawn) = (LEADING, 1.0);
        written
    }

    /// A gap between things, closer where the lines are.
    fn gap(&self, mm: f64) -> f64 {
        /// From line to line where nothing is left between things.
        const NONE: f64 = 1.12;
        mm * (self.leading - NONE) / (LEADING - NONE)
    }

    /// Whether the last of several pages written since there were `pages` is used to less than a
    /// third.
    fn ends_bare(&self, pages: usize) -> bool {
        self.pages.len() > pages + 1 && self.y < self.top + (self.foot() - self.top) / 3.0
    }

    /// Sets the pages written since there were `pages` before all others.
    pub(super) fn put_first(&mut self, pages: usize) {
        let first = self.pages.len() - pages;
        self.pages.rotate_right(first);
    }

    /// How many pages there are.
    pub(super) fn page_count(&self) -> usize {
        self.pages.len()
    }

    /// The number of the next thing that is written.
    fn next_number(&mut self) -> usize {
        self.card = None;
        self.written += 1;
        self.written
    }

    /// How many things the page holds.
    fn drawn(&mut self) -> usize {
        self.page().items.len()
    }

    /// What was drawn on the page since it held `from` things is this.
    fn is(&mut self, from: usize, part: ContentPart, number: usize) {
        let page = self.page();
        let items = from..page.items.len();
        if items.is_empty() {
            return;
        }
        page.contents.push(Content {
            items,
            part,
            number,
        });
    }

    /// A drawing made on the page, with a sentence of what it shows.
    pub(super) fn figure<T>(
        &mut self,
        says: impl Into<String>,
        draw: impl FnOnce(&mut Self) -> T,
    ) -> T {
        let (number, from) = (self.next_number(), self.drawn());
        let drawn = draw(self);
        self.is(from, ContentPart::Figure(says.into()), number);
        drawn
    }

    /// A new page under a heading; the first of its part, or another.
    fn next_page(&mut self, heading: &str, is_first: bool) {
        self.heading = heading.to_owned();
        let size = self.paper.size_mm();
        let engine = self.engine.name().to_owned();
        let mut page = Drawing::new(format!("{heading}: {engine}"), size.x, size.y);
        let wide = self.wide();
        const NAME_MM: f64 = 4.2;
        let mut names = lines(&engine, NAME_MM, wide, true);
        if names.len() > NAME_LINES {
            let rest = names.split_off(NAME_LINES - 1).join(" ");
            names.push(shortened(&rest, NAME_MM, wide, true));
        }
        let more = (names.len() - 1) as f64 * NAME_MM * 1.3;
        for (line, name) in names.into_iter().enumerate() {
            let at = DVec2::new(SIDE_MM, 13.0 + line as f64 * NAME_MM * 1.3);
            page.bold(at, name, NAME_MM, Anchor::Start, Role::Main);
        }
        let from = page.items.len();
        let (words, size) = fit(heading, 6.0, wide, true);
        let at = DVec2::new(SIDE_MM, 20.5 + more);
        page.bold(at, words, size, Anchor::Start, Role::Main);
        if is_first {
            let part = ContentPart::Part(heading.to_owned());
            page.contents.push(Content {
                items: from..page.items.len(),
                part,
                number: self.next_number(),
            });
        }
        page.line(
            DVec2::new(SIDE_MM, 25.0 + more),
            DVec2::new(SIDE_MM + wide, 25.0 + more),
            Pen::line(Role::Main, 0.5),
        );
        self.pages.push(page);
        (self.top, self.y) = (HEAD_MM + more, HEAD_MM + more);
        self.over_the_page();
        self.top = self.y;
    }

    /// What stands over each page: each can be printed alone.
    fn over_the_page(&mut self) {
        if let Some(as_built) = self.as_built.clone() {
            self.paragraph(&as_built, SMALL_MM, true);
            self.skip(1.0);
        }
        let clearance = match self.over {
            Over::Short => self.clearance_in_short.clone(),
            Over::Turning => self.clearance.clone(),
        };
        match clearance {
            Some(clearance) if self.keep_clear => {
                self.paragraph(&clearance, SMALL_MM, false);
                self.skip(1.0);
            }
            Some(clearance) => self.framed("", &clearance, true, SMALL_MM),
            None => {}
        }
        match self.over {
            Over::Short => self.paragraph(TURNING_IN_SHORT, SMALL_MM, true),
            Over::Turning => self.framed("Caution", TURNING_CAUTION, false, SMALL_MM),
        }
    }

    /// What a part rests on, at its foot.
    pub(super) fn rests_on(&mut self, subjects: &[Subject]) {
        self.rests_on_also(subjects, None);
    }

    /// The same, and what it rests on besides.
    pub(super) fn rests_on_also(&mut self, subjects: &[Subject], also: Option<String>) {
        let Some(text) = self.rests_on_text(subjects, also) else {
            return;
        };
        self.skip(1.5);
        self.keep(self.height(&text, RESTS_ON_MM, 0.0));
        self.paragraph(&text, RESTS_ON_MM, false);
    }

    /// A new page with nothing but its foot.
    pub(super) fn start_bare(&mut self, heading: &str) {
        self.heading = heading.to_owned();
        let size = self.paper.size_mm();
        let title = format!("{heading}: {}", self.engine.name());
        self.pages.push(Drawing::new(title, size.x, size.y));
        self.card = None;
        (self.top, self.y) = (10.0, 10.0);
    }

    /// The name of such a page and whether valves meet pistons, in a line over what is drawn.
    pub(super) fn name_bare(&mut self) {
        let (heading, wide) = (self.heading.clone(), self.wide());
        let clearance = self.clearance_in_short.clone();
        let (number, from) = (self.next_number(), self.drawn());
        let page = self.page();
        let (left, right) = (DVec2::new(SIDE_MM, 7.6), DVec2::new(SIDE_MM + wide, 7.6));
        let name_mm = 3.8;
        page.bold(left, &heading, name_mm, Anchor::Start, Role::Main);
        if let Some(clearance) = clearance {
            let room = wide - width(&heading, true) * name_mm - 6.0;
            let (words, size) = fit(&clearance, SMALL_MM, room, true);
            page.bold(right, words, size, Anchor::End, Role::Main);
        }
        self.is(from, ContentPart::Heading(heading), number);
        let (number, from) = (self.next_number(), self.drawn());
        let (words, size) = fit(TURNING_IN_SHORT, 2.8, wide, true);
        let under = DVec2::new(SIDE_MM, 12.0);
        let page = self.page();
        page.bold(under, words, size, Anchor::Start, Role::Main);
        self.is(from, ContentPart::Text, number);
        // What is drawn fills it.
        self.y = self.foot();
    }

    /// Goes on to the next page where less than `height` is left on this one.
    pub(super) fn keep(&mut self, height: f64) {
        if self.pages.is_empty() || (self.y + height > self.foot() && self.y > self.top + 0.1) {
            let heading = self.heading.clone();
            let goes_on = if self.pages.is_empty() || heading.ends_with(", continued") {
                heading
            } else {
                format!("{heading}, continued")
            };
            self.next_page(&goes_on, false);
        }
    }

    pub(super) fn skip(&mut self, height: f64) {
        self.y += height;
    }

    /// A heading within the page; `follows` is the height that must stand under it on the same
    /// page.
    pub(super) fn heading(&mut self, text: &str, follows: f64) {
        self.keep(9.0 + follows);
        self.skip(2.5);
        let at = DVec2::new(SIDE_MM, self.y + 2.2);
        let (number, from) = (self.next_number(), self.drawn());
        let (words, size) = fit(text, 4.2, self.wide(), true);
        self.page().bold(at, words, size, Anchor::Start, Role::Main);
        self.is(from, ContentPart::Heading(text.to_owned()), number);
        self.skip(6.4);
    }

    /// How high a text stands from `indent` to the right margin.
    pub(super) fn height(&self, text: &str, size: f64, indent: f64) -> f64 {
        lines(text, size, self.wide() - indent, false).len() as f64 * size * self.leading
    }

    /// Text over the whole width.
    pub(super) fn paragraph(&mut self, text: &str, size: f64, bold: bool) {
        self.indented(text, size, bold, 0.0);
    }

    /// Text from `indent` to the right margin. Gives where its first line stands.
    pub(super) fn indented(&mut self, text: &str, size: f64, bold: bool, indent: f64) -> f64 {
        let mut first = None;
        let number = self.next_number();
        for line in lines(text, size, self.wide() - indent, bold) {
            self.keep(size * self.leading);
            let at = DVec2::new(SIDE_MM + indent, self.y + size * self.leading / 2.0);
            first.get_or_insert(at.y);
            let from = self.drawn();
            if bold {
                self.page().bold(at, line, size, Anchor::Start, Role::Main);
            } else {
                self.page().text(at, line, size, Anchor::Start, Role::Main);
            }
            self.is(from, ContentPart::Text, number);
            self.skip(size * self.leading);
        }
        first.unwrap_or(self.y)
    }

    /// How high so many rows of one line each stand, of a card or a table.
    pub(super) fn rows_height(rows: usize) -> f64 {
        rows as f64 * (PLAIN_MM * LEADING + 2.0)
    }

    /// How high what a part rests on stands.
    pub(super) fn rests_on_height(&self, subjects: &[Subject]) -> f64 {
        match self.rests_on_text(subjects, None) {
            Some(text) => self.height(&text, RESTS_ON_MM, 0.0) + 1.5,
            None => 0.0,
        }
    }

    fn rests_on_text(&self, subjects: &[Subject], also: Option<String>) -> Option<String> {
        let mut sentences = self.engine.rests_on(subjects);
        sentences.extend(also);
        (!sentences.is_empty()).then(|| format!("This rests on: {}", sentences.join(" ")))
    }

    /// A row of a card: what it is on the left, what it comes to on the right.
    pub(super) fn row(&mut self, name: &str, value: &str) {
        const NAME_MM: f64 = 40.0;
        let size = PLAIN_MM;
        let (names, values) = (
            lines(name, size, NAME_MM - 3.0, false),
            lines(value, size, self.wide() - NAME_MM, true),
        );
        let (number, row) = self.card.unwrap_or_else(|| (self.next_number(), 0));
        self.cells(
            &[(SIDE_MM, names, false), (SIDE_MM + NAME_MM, values, true)],
            1.0,
            (number, row),
        );
        self.card = Some((number, row + 1));
    }

    /// Cells side by side, each at its x, in lines, bold or not, with a rule under them and a gap
    /// above and below: a row of a table, by its number. The first cell of a card's row heads it.
    fn cells(
        &mut self,
        cells: &[(f64, Vec<String>, bool)],
        gap: f64,
        (number, row): (usize, usize),
    ) {
        let size = PLAIN_MM;
        let (leading, gap) = (self.leading, self.gap(gap));
        let most = cells.iter().map(|(_, lines, _)| lines.len()).max();
        let high = most.unwrap_or(1) as f64 * size * leading + 2.0 * gap;
        self.keep(high);
        let (top, right, foot) = (self.y + gap, SIDE_MM + self.wide(), self.y + high);
        for (column, (x, lines, bold)) in cells.iter().enumerate() {
            let from = self.drawn();
            let page = self.page();
            for (index, line) in lines.iter().enumerate() {
                let at = DVec2::new(*x, top + size * leading * (index as f64 + 0.5));
                if line == BOX || line == TICKED {
                    tick_box(page, at - DVec2::new(0.0, BOX_MM / 2.0), line == TICKED);
                } else if *bold {
                    page.bold(at, line, size, Anchor::Start, Role::Main);
                } else {
                    page.text(at, line, size, Anchor::Start, Role::Main);
                }
            }
            let heads = (column == 0).then_some(Heads::Row);
            let part = ContentPart::Cell { row, column, heads };
            self.is(from, part, number);
        }
        self.page().line(
            DVec2::new(SIDE_MM, foot),
            DVec2::new(right, foot),
            Pen::line(Role::Faint, 0.15),
        );
        self.skip(high);
    }

    /// A table: its columns' heads and its rows, each column as wide as its widest text at most,
    /// the last taking what is left.
    pub(super) fn table(&mut self, heads: &[&str], rows: &[Vec<String>]) {
        let size = PLAIN_MM;
        let gap = 5.0;
        let is_box = |text: &&String| *text == BOX || *text == TICKED;
        let widest = |column: usize| {
            let texts = rows
                .iter()
                .filter_map(|row| row.get(column))
                .filter(|text| !is_box(text))
                .map(|text| width(text, false));
            let widest = texts.fold(width(heads[column], true), f64::max) * size;
            widest.max(BOX_MM) + gap
        };
        let mut wide: Vec<f64> = (0..heads.len()).map(widest).collect();
        share_out(&mut wide, self.wide());
        // Columns to write in share what is left.
        let is_blank = |column: &usize| {
            rows.iter()
                .all(|row| row.get(*column).is_none_or(String::is_empty))
        };
        let blank: Vec<usize> = (0..heads.len()).filter(is_blank).collect();
        let left = (self.wide() - wide.iter().sum::<f64>()).max(0.0);
        for column in &blank {
            wide[*column] += left / blank.len() as f64;
        }
        let starts: Vec<f64> = wide
            .iter()
            .scan(SIDE_MM, |at, wide| {
                let start = *at;
                *at += wide;
                Some(start)
            })
            .collect();
        let end = SIDE_MM + self.wide();
        let last = heads.len() - 1;
        let cell = |column: usize| {
            if column == last {
                end - starts[column]
            } else {
                wide[column] - 2.0
            }
        };
        let number = self.next_number();
        self.keep(2.0 * size * self.leading + 4.0);
        self.table_head(heads, &starts, number);
        for (index, row) in rows.iter().enumerate() {
            let cells: Vec<_> = row
                .iter()
                .enumerate()
                .map(|(column, text)| {
                    let lines = lines(text, size, cell(column), false);
                    (starts[column], lines, false)
                })
                .collect();
            let most = cells.iter().map(|(_, lines, _)| lines.len()).max();
            let high = most.unwrap_or(1) as f64 * size * self.leading + self.gap(1.6);
            // A table that goes on overleaf has its heads there too.
            if self.y + high > self.foot() {
                self.keep(high + size * self.leading + 0.6);
                self.table_head(heads, &starts, number);
            }
            self.cells(&cells, 0.8, (number, index + 1));
        }
        self.skip(2.0);
    }

    /// The heads of a table's columns, with the rule under them.
    fn table_head(&mut self, heads: &[&str], starts: &[f64], number: usize) {
        let (size, y) = (PLAIN_MM, self.y + PLAIN_MM * self.leading / 2.0);
        for (column, (head, start)) in heads.iter().zip(starts).enumerate() {
            let from = self.drawn();
            let at = DVec2::new(*start, y);
            self.page().bold(at, *head, size, Anchor::Start, Role::Main);
            let heads = Some(Heads::Column);
            self.is(
                from,
                ContentPart::Cell {
                    row: 0,
                    column,
                    heads,
                },
                number,
            );
        }
        self.skip(size * self.leading + 0.6);
        let (y, end) = (self.y, SIDE_MM + self.wide());
        self.page().line(
            DVec2::new(SIDE_MM, y),
            DVec2::new(end, y),
            Pen::line(Role::Main, 0.3),
        );
    }

    /// A step with a box to tick.
    pub(super) fn tick(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
        self.boxed(text, size, bold, indent);
    }

    /// A step whose box is ticked.
    pub(super) fn ticked(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
        let from = self.boxed(text, size, bold, indent);
        tick(self.page(), from);
    }

    /// A text with a box before its first line; gives the box's corner.
    fn boxed(&mut self, text: &str, size: f64, bold: bool, indent: f64) -> DVec2 {
        let high =
            lines(text, size, self.wide() - indent - 7.0, bold).len() as f64 * size * self.leading;
        // A step of a line or two is not torn apart.
        self.keep(high.min(30.0));
        let y = self.indented(text, size, bold, indent + 7.0);
        let from = DVec2::new(SIDE_MM + indent, y - BOX_MM / 2.0);
        tick_box(self.page(), from, false);
        from
    }

    /// What is measured, from `indent`, with a line at the right to write it on, its unit after it; or
    /// what was written on it.
    pub(super) fn blank(&mut self, what: &str, unit: &str, filled: Option<&str>, indent: f64) {
        const LINE_MM: f64 = 26.0;
        const UNIT_MM: f64 = 8.0;
        let size = PLAIN_MM;
        let right = SIDE_MM + self.wide();
        let text = lines(
            what,
            size,
            self.wide() - indent - LINE_MM - UNIT_MM - 4.0,
            false,
        );
        let high = text.len() as f64 * size * self.leading + 1.6;
        self.keep(high);
        let (number, from_item) = (self.next_number(), self.drawn());
        let (y, leading) = (self.y, self.leading);
        let middle = |line: usize| y + 0.8 + size * leading * (line as f64 + 0.5);
        let foot = middle(text.len().saturating_sub(1));
        let page = self.page();
        for (line, words) in text.iter().enumerate() {
            let at = DVec2::new(SIDE_MM + indent, middle(line));
            page.text(at, words, size, Anchor::Start, Role::Main);
        }
        let (from, to) = (right - UNIT_MM - LINE_MM, right - UNIT_MM);
        page.line(
            DVec2::new(from, foot + 1.8),
            DVec2::new(to, foot + 1.8),
            Pen::line(Role::Main, 0.25),
        );
        page.text(
            DVec2::new(to + 1.0, foot),
            unit,
            size,
            Anchor::Start,
            Role::Main,
        );
        if let Some(filled) = filled {
            let at = DVec2::new(f64::midpoint(from, to), foot);
            page.bold(at, filled, size, Anchor::Middle, Role::Main);
        }
        self.is(from_item, ContentPart::Text, number);
        self.skip(high);
    }

    /// Blanks to write in, as many to a line as go.
    pub(super) fn blanks(&mut self, names: &[String]) {
        let (size, gap, line) = (PLAIN_MM, 6.0, 26.0);
        let widest = names
            .iter()
            .map(|name| width(name, false) * size)
            .fold(0.0, f64::max)
            + line
            + gap;
        let columns = ((self.wide() + gap) / widest).floor().clamp(1.0, 3.0);
        let wide = (self.wide() + gap) / columns;
        for names in names.chunks(columns as usize) {
            self.keep(8.0);
            let y = self.y + 4.6;
            for (index, name) in names.iter().enumerate() {
                let x = SIDE_MM + wide * index as f64;
                let (name, size) = fit(name, size, wide - gap - 12.0, false);
                let end = x + width(&name, false) * size + 1.5;
                let (number, from) = (self.next_number(), self.drawn());
                self.page()
                    .text(DVec2::new(x, y), name, size, Anchor::Start, Role::Main);
                self.is(from, ContentPart::Text, number);
                self.page().line(
                    DVec2::new(end, y + 1.6),
                    DVec2::new(x + wide - gap, y + 1.6),
                    Pen::line(Role::Main, 0.25),
                );
            }
            self.skip(8.0);
        }
    }

    /// A caution: framed, and called one.
    pub(super) fn caution(&mut self, text: &str) {
        self.framed("Caution", text, false, PLAIN_MM);
    }

    /// How high a caution stands.
    pub(super) fn caution_height(&self, text: &str) -> f64 {
        self.height(text, PLAIN_MM, CAUTION_MM + 3.0) + 5.0
    }

    /// What must not be missed, in a frame, after a word that says what it is.
    fn framed(&mut self, called: &str, text: &str, bold: bool, size: f64) {
        let indent = if called.is_empty() { 3.0 } else { CAUTION_MM };
        let text = lines(text, size, self.wide() - indent - 3.0, bold);
        let high = text.len() as f64 * size * self.leading + 3.0;
        self.keep(high + 2.0);
        let (top, right, leading) = (self.y, SIDE_MM + self.wide(), self.leading);
        let (number, from) = (self.next_number(), self.drawn());
        let page = self.page();
        page.rectangle(
            DVec2::new(SIDE_MM, top),
            DVec2::new(right, top + high),
            Pen::line(Role::Caution, 0.5),
        );
        for (index, line) in text.into_iter().enumerate() {
            let y = top + 1.5 + size * leading * (index as f64 + 0.5);
            if index == 0 && !called.is_empty() {
                let at = DVec2::new(SIDE_MM + 2.0, y);
                page.bold(at, called, size, Anchor::Start, Role::Caution);
            }
            let at = DVec2::new(SIDE_MM + indent, y);
            if bold {
                page.bold(at, line, size, Anchor::Start, Role::Main);
            } else {
                page.text(at, line, size, Anchor::Start, Role::Main);
            }
        }
        self.is(from, ContentPart::Text, number);
        self.skip(high + 2.0);
    }

    /// A drawing in the middle, as wide as `wide` at most, and smaller where what follows needs
    /// `follows` on the same page; never so small that it is hard to read. What it shows is said in a
    /// sentence.
    pub(super) fn draw(&mut self, drawing: &Drawing, says: &str, wide: f64, follows: f64) {
        let wide = wide.min(self.wide());
        let room = (self.foot() - self.y - follows - 2.0) * drawing.size.x / drawing.size.y;
        let least = least_wide_mm(drawing).min(wide);
        let scale = room.clamp(least, f64::max(wide * self.drawn, least)) / drawing.size.x;
        self.draw_at(drawing, says, scale);
    }

    /// A drawing in the middle, at its true size.
    pub(super) fn draw_true(&mut self, drawing: &Drawing, says: &str) {
        self.draw_at(drawing, says, 1.0);
    }

    fn draw_at(&mut self, drawing: &Drawing, says: &str, scale: f64) {
        self.keep(drawing.size.y * scale);
        let at = DVec2::new(
            SIDE_MM + (self.wide() - drawing.size.x * scale) / 2.0,
            self.y,
        );
        self.figure(says, |writer| writer.page().place(drawing, at, scale));
        self.skip(drawing.size.y * scale + 2.0);
    }

    /// Drawings side by side.
    pub(super) fn draw_beside(&mut self, drawings: &[Beside]) {
        const GAP_MM: f64 = 4.0;
        const SIZE_MM: f64 = 3.0;
        let smaller = |beside: &Beside| {
            let wide_mm = f64::max(beside.wide_mm * self.drawn, least_wide_mm(&beside.drawing));
            Beside {
                wide_mm: wide_mm.min(beside.wide_mm),
                ..beside.clone()
            }
        };
        let drawings: Vec<Beside> = drawings.iter().map(smaller).collect();
        let captions: Vec<Vec<String>> = drawings
            .iter()
            .map(|beside| match beside.is_captioned {
                true => lines(&beside.says, SIZE_MM, beside.wide_mm, false),
                false => Vec::new(),
            })
            .collect();
        let heights = drawings.iter().map(Beside::high_mm);
        let high = heights.fold(0.0, f64::max);
        let under = captions.iter().map(Vec::len).max().unwrap_or(0) as f64;
        let line = SIZE_MM * self.leading;
        self.keep(high + under * line + 3.0);
        let wide: f64 = drawings.iter().map(|beside| beside.wide_mm + GAP_MM).sum();
        let mut x = SIDE_MM + (self.wide() - wide + GAP_MM) / 2.0;
        let y = self.y;
        for (beside, caption) in drawings.iter().zip(captions) {
            let at = DVec2::new(x, y);
            self.figure(beside.says.as_str(), |writer| {
                let (page, drawing) = (writer.page(), &beside.drawing);
                page.place(drawing, at, beside.wide_mm / drawing.size.x);
                for (index, words) in caption.into_iter().enumerate() {
                    let at = at + DVec2::new(0.0, high + line * (index as f64 + 0.7));
                    page.text(at, words, SIZE_MM, Anchor::Start, Role::Main);
                }
            });
            x += beside.wide_mm + GAP_MM;
        }
        self.skip(high + under * line + 3.0);
    }

    /// A line of 100 mm, or of 4 in, to check the printer by, from `x` on.
    pub(super) fn scale_line(&mut self, x: f64, y: f64) {
        // How many ticks there are, which of them are long, and how far it is between them.
        let (ticks, long, apart) = match self.engine.written().units {
            Units::Millimetres => (10_u32, 10_u32, 10.0),
            Units::Inches => (8, 2, 12.7),
        };
        let end = f64::from(ticks) * apart;
        let text = format!(
            "{}: measure it before you cut",
            size(end, self.engine.written().units)
        );
        let (number, from) = (self.next_number(), self.drawn());
        let says = format!("A line to measure: {text}.");
        let page = self.page();
        let pen = Pen::line(Role::Main, 0.35);
        page.line(DVec2::new(x, y), DVec2::new(x + end, y), pen);
        for tick in 0..=ticks {
            let at = x + f64::from(tick) * apart;
            page.line(
                DVec2::new(at, y - if tick % long == 0 { 2.5 } else { 1.2 }),
                DVec2::new(at, y),
                pen,
            );
        }
        let beside = DVec2::new(x + end + 3.0, y - 0.6);
        page.text(beside, text, 3.0, Anchor::Start, Role::Main);
        self.is(from, ContentPart::Figure(says), number);
    }

    /// The pages, with their feet: whose they are, by what and when they were made, and which they
    /// are.
    pub(super) fn finish(mut self) -> Vec<Drawing> {
        const SIZE_MM: f64 = 2.8;
        let (size, count, wide) = (self.paper.size_mm(), self.pages.len(), self.wide());
        let today = jiff::ZonedDateTime::now().date();
        let version = env!("CARGO_PKG_VERSION");
        for (index, page) in self.pages.iter_mut().enumerate() {
            let foot = "The engine maker's manual and a qualified mechanic come before this sheet.";
            let (above, below) = (size.y - 11.6, size.y - 7.4);
            page.text(
                DVec2::new(SIDE_MM, above),
                foot,
                SIZE_MM,
                Anchor::Start,
                Role::Faint,
            );
            let number = format!("page {} of {count}", index + 1);
            let made = format!("Dotwise {version}, printed {today}, {number}");
            let room = wide - width(&made, false) * SIZE_MM - 6.0;
            let name = shortened(self.engine.name(), SIZE_MM, room, false);
            page.text(
                DVec2::new(SIDE_MM, below),
                name,
                SIZE_MM,
                Anchor::Start,
                Role::Faint,
            );
            page.text(
                DVec2::new(size.x - SIDE_MM, below),
                made,
                SIZE_MM,
                Anchor::End,
                Role::Faint,
            );
        }
        self.pages
    }
}

/// How wide a drawing is at the least, for its smallest type to be read.
fn least_wide_mm(drawing: &Drawing) -> f64 {
    let type_mm = drawing.items.iter().filter_map(|item| match item {
        Item::Text { size, .. } => Some(*size),
        _ => None,
    });
    LEAST_MM / type_mm.fold(2.0 * LEAST_MM, f64::min) * drawing.size.x
}

/// Whether every sentence of a caution stands over each page already, in the same words.
pub(super) fn is_said_over_the_page(caution: &str) -> bool {
    let words = |text: &str| {
        let letters = text
            .chars()
            .filter(|one| one.is_alphabetic() || *one == ' ');
        letters.collect::<String>().to_lowercase()
    };
    let over_the_page = words(TURNING_CAUTION);
    let is_said = |sentence: &str| over_the_page.contains(words(sentence).trim());
    caution.split(". ").all(is_said)
}

/// Columns that are together wider than there is room, made narrower: each that is no wider than an even
/// share of what is left keeps its width, and the others share the rest evenly.
fn share_out(wide: &mut [f64], room: f64) {
    if wide.iter().sum::<f64>() <= room {
        return;
    }
    let mut narrow_first: Vec<usize> = (0..wide.len()).collect();
    narrow_first.sort_by(|one, other| wide[*one].total_cmp(&wide[*other]));
    let (mut left, mut columns) = (room, wide.len() as f64);
    for column in narrow_first {
        wide[column] = wide[column].min(left / columns);
        left -= wide[column];
        columns -= 1.0;
    }
}

/// A box to tick, from its top left corner, or one that is ticked.
fn tick_box(page: &mut Drawing, from: DVec2, is_ticked: bool) {
    let pen = Pen::line(Role::Main, 0.35);
    page.rectangle(from, from + DVec2::splat(BOX_MM), pen);
    if is_ticked {
        tick(page, from);
    }
}

/// The tick in a box.
fn tick(page: &mut Drawing, from: DVec2) {
    let ends = [(0.8, 2.0), (1.6, 3.0), (3.1, 0.8)];
    let points = ends.map(|(x, y)| from + DVec2::new(x, y)).to_vec();
    page.open(points, Pen::line(Role::Main, 0.5));
}
