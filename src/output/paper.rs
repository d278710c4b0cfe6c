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
use super::fonts::{fitted, lines, width};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::drawing::{Anchor, Drawing, Pen, Role};
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

/// What stands over each page of a part, beside how the engine was put together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Over {
    /// Whether valves meet pistons, without figures: what is to be cut out at its true size needs
    /// the page.
    Short,
    /// Whether valves meet pistons, and where.
    #[default]
    Whole,
    /// The same, and the caution for whoever turns the crank.
    Turning,
}

/// Writes pages from the top down, and starts the next where one is full.
#[derive(Debug)]
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
            self.next_page(&self.heading.clone());
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// The first page of a part under its heading, and what stands over each of its pages.
    pub(super) fn start(&mut self, heading: &str, over: Over) {
        self.over = over;
        self.next_page(heading);
    }

    /// A new page under a heading.
    fn next_page(&mut self, heading: &str) {
        self.heading = heading.to_owned();
        let size = self.paper.size_mm();
        let engine = self.engine.name().to_owned();
        let mut page = Drawing::new(format!("{heading}: {engine}"), size.x, size.y);
        let wide = self.wide();
        let name = fitted(&engine, 4.2, wide, true);
        page.bold(
            DVec2::new(SIDE_MM, 13.0),
            &engine,
            name,
            Anchor::Start,
            Role::Main,
        );
        page.bold(
            DVec2::new(SIDE_MM, 20.5),
            heading,
            fitted(heading, 6.0, wide, true),
            Anchor::Start,
            Role::Main,
        );
        page.line(
            DVec2::new(SIDE_MM, 25.0),
            DVec2::new(SIDE_MM + wide, 25.0),
            Pen::line(Role::Main, 0.5),
        );
        self.pages.push(page);
        (self.top, self.y) = (HEAD_MM, HEAD_MM);
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
            Over::Whole | Over::Turning => self.clearance.clone(),
        };
        match clearance {
            Some(clearance) if self.keep_clear => {
                self.paragraph(&clearance, SMALL_MM, false);
                self.skip(1.0);
            }
            Some(clearance) => self.framed("", &clearance, true, SMALL_MM),
            None => {}
        }
        if self.over == Over::Turning {
            self.framed("Caution", TURNING_CAUTION, false, SMALL_MM);
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
        (self.top, self.y) = (10.0, 10.0);
    }

    /// The name of such a page and whether valves meet pistons, in a line over what is drawn.
    pub(super) fn name_bare(&mut self) {
        let (heading, wide) = (self.heading.clone(), self.wide());
        let clearance = self.clearance_in_short.clone();
        let page = self.page();
        let (left, right) = (DVec2::new(SIDE_MM, 9.0), DVec2::new(SIDE_MM + wide, 9.0));
        let name_mm = 3.8;
        page.bold(left, &heading, name_mm, Anchor::Start, Role::Main);
        if let Some(clearance) = clearance {
            let room = wide - width(&heading, true) * name_mm - 6.0;
            let size = fitted(&clearance, SMALL_MM, room, true);
            page.bold(right, clearance, size, Anchor::End, Role::Main);
        }
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
            self.next_page(&goes_on);
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
        let (size, wide) = (4.2, self.wide());
        self.page().bold(
            at,
            text,
            fitted(text, size, wide, true),
            Anchor::Start,
            Role::Main,
        );
        self.skip(6.4);
    }

    /// How high a text stands from `indent` to the right margin.
    pub(super) fn height(&self, text: &str, size: f64, indent: f64) -> f64 {
        lines(text, size, self.wide() - indent, false).len() as f64 * size * LEADING
    }

    /// Text over the whole width.
    pub(super) fn paragraph(&mut self, text: &str, size: f64, bold: bool) {
        self.indented(text, size, bold, 0.0);
    }

    /// Text from `indent` to the right margin. Gives where its first line stands.
    pub(super) fn indented(&mut self, text: &str, size: f64, bold: bool, indent: f64) -> f64 {
        let mut first = None;
        for line in lines(text, size, self.wide() - indent, bold) {
            self.keep(size * LEADING);
            let at = DVec2::new(SIDE_MM + indent, self.y + size * LEADING / 2.0);
            first.get_or_insert(at.y);
            if bold {
                self.page().bold(at, line, size, Anchor::Start, Role::Main);
            } else {
                self.page().text(at, line, size, Anchor::Start, Role::Main);
            }
            self.skip(size * LEADING);
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
        self.cells(
            &[(SIDE_MM, names, false), (SIDE_MM + NAME_MM, values, true)],
            1.0,
        );
    }

    /// Cells side by side, each at its x, in lines, bold or not, with a rule under them and a gap
    /// above and below.
    fn cells(&mut self, cells: &[(f64, Vec<String>, bool)], gap: f64) {
        let size = PLAIN_MM;
        let most = cells.iter().map(|(_, lines, _)| lines.len()).max();
        let high = most.unwrap_or(1) as f64 * size * LEADING + 2.0 * gap;
        self.keep(high);
        let (top, right, foot) = (self.y + gap, SIDE_MM + self.wide(), self.y + high);
        let page = self.page();
        for (x, lines, bold) in cells {
            for (index, line) in lines.iter().enumerate() {
                let at = DVec2::new(*x, top + size * LEADING * (index as f64 + 0.5));
                if *bold {
                    page.bold(at, line, size, Anchor::Start, Role::Main);
                } else {
                    page.text(at, line, size, Anchor::Start, Role::Main);
                }
            }
        }
        page.line(
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
        let widest = |column: usize| {
            let texts = rows
                .iter()
                .filter_map(|row| row.get(column))
                .map(|text| width(text, false));
            (texts.fold(width(heads[column], true), f64::max) * size + gap).min(self.wide() / 2.0)
        };
        let wide: Vec<f64> = (0..heads.len()).map(widest).collect();
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
        self.keep(2.0 * size * LEADING + 4.0);
        let y = self.y + size * LEADING / 2.0;
        for (column, head) in heads.iter().enumerate() {
            self.page().bold(
                DVec2::new(starts[column], y),
                *head,
                size,
                Anchor::Start,
                Role::Main,
            );
        }
        self.skip(size * LEADING + 0.6);
        let y = self.y;
        self.page().line(
            DVec2::new(SIDE_MM, y),
            DVec2::new(end, y),
            Pen::line(Role::Main, 0.3),
        );
        for row in rows {
            let cells: Vec<_> = row
                .iter()
                .enumerate()
                .map(|(column, text)| {
                    let lines = lines(text, size, cell(column), false);
                    (starts[column], lines, false)
                })
                .collect();
            self.cells(&cells, 0.8);
        }
        self.skip(2.0);
    }

    /// A step with a box to tick.
    pub(super) fn tick(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
        self.boxed(text, size, bold, indent);
    }

    /// A step whose box is ticked.
    pub(super) fn ticked(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
        let from = self.boxed(text, size, bold, indent);
        let ends = [(0.8, 2.0), (1.6, 3.0), (3.1, 0.8)];
        let points = ends.map(|(x, y)| from + DVec2::new(x, y)).to_vec();
        self.page().open(points, Pen::line(Role::Main, 0.5));
    }

    /// A text with a box before its first line; gives the box's corner.
    fn boxed(&mut self, text: &str, size: f64, bold: bool, indent: f64) -> DVec2 {
        let high =
            lines(text, size, self.wide() - indent - 7.0, bold).len() as f64 * size * LEADING;
        // A step of a line or two is not torn apart.
        self.keep(high.min(30.0));
        let y = self.indented(text, size, bold, indent + 7.0);
        let (from, side) = (DVec2::new(SIDE_MM + indent, y - 1.9), 3.8);
        self.page()
            .rectangle(from, from + DVec2::splat(side), Pen::line(Role::Main, 0.35));
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
        let high = text.len() as f64 * size * LEADING + 1.6;
        self.keep(high);
        let y = self.y;
        let middle = |line: usize| y + 0.8 + size * LEADING * (line as f64 + 0.5);
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
                let size = fitted(name, size, wide - gap - 12.0, false);
                let end = x + width(name, false) * size + 1.5;
                self.page()
                    .text(DVec2::new(x, y), name, size, Anchor::Start, Role::Main);
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
        let high = text.len() as f64 * size * LEADING + 3.0;
        self.keep(high + 2.0);
        let (top, right) = (self.y, SIDE_MM + self.wide());
        let page = self.page();
        page.rectangle(
            DVec2::new(SIDE_MM, top),
            DVec2::new(right, top + high),
            Pen::line(Role::Caution, 0.5),
        );
        for (index, line) in text.into_iter().enumerate() {
            let y = top + 1.5 + size * LEADING * (index as f64 + 0.5);
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
        self.skip(high + 2.0);
    }

    /// A drawing in the middle, as wide as `wide` at most, and smaller where what follows needs
    /// `follows` on the same page; never so small that it is hard to read.
    pub(super) fn draw(&mut self, drawing: &Drawing, wide: f64, follows: f64) {
        /// Of its own width.
        const LEAST: f64 = 0.6;
        let wide = wide.min(self.wide());
        let room = (self.foot() - self.y - follows - 2.0) * drawing.size.x / drawing.size.y;
        let scale = room.clamp(LEAST * wide, wide) / drawing.size.x;
        self.keep(drawing.size.y * scale);
        let at = DVec2::new(
            SIDE_MM + (self.wide() - drawing.size.x * scale) / 2.0,
            self.y,
        );
        self.page().place(drawing, at, scale);
        self.skip(drawing.size.y * scale + 2.0);
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
    }

    /// The pages, with their feet.
    pub(super) fn finish(mut self) -> Vec<Drawing> {
        let (size, count) = (self.paper.size_mm(), self.pages.len());
        for (index, page) in self.pages.iter_mut().enumerate() {
            let y = size.y - 8.0;
            let foot = "The engine maker's manual and a qualified mechanic come before this sheet.";
            page.text(
                DVec2::new(SIDE_MM, y),
                foot,
                2.8,
                Anchor::Start,
                Role::Faint,
            );
            let number = format!("Dotwise, page {} of {count}", index + 1);
            page.text(
                DVec2::new(size.x - SIDE_MM, y),
                number,
                2.8,
                Anchor::End,
                Role::Faint,
            );
        }
        self.pages
    }
}
