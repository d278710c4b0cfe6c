//! Pages, written from the top down: what stands over each and at its foot, headings, lines of text,
//! cautions.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the pages begun here"
)]

use std::sync::Arc;

use glam::DVec2;

use super::size::{FOOT_MM, Paper, SIDE_MM};
use crate::diagnosis::verdict::TURNING_CAUTION;
use crate::drawing::{Anchor, Content, ContentPart, Drawing, Pen, Role};
use crate::engine::{Engine, Subject};
use crate::output::as_built;
use crate::output::fonts::{fit, lines, shortened, width};
use crate::phasing::Phasing;

/// Where what stands under the heading begins.
const HEAD_MM: f64 = 29.0;
/// The size of plain text.
pub(crate) const PLAIN_MM: f64 = 3.5;
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
/// What stands over a page whose drawing needs its room: the caution for whoever turns the crank, in
/// a line.
const TURNING_IN_SHORT: &str =
    "Caution: ignition off, battery disconnected, fingers clear. Never force a crank that stops.";

/// What stands over each page of a part, beside how the engine was put together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Over {
    /// Whether valves meet pistons, without figures, and the caution in a line: what is to be cut
    /// out at its true size needs the page.
    Short,
    /// Whether valves meet pistons, and where, and the caution for whoever turns the crank.
    #[default]
    Turning,
}

/// Writes pages from the top down, and starts the next where one is full.
#[derive(Clone, Debug)]
pub(crate) struct PageWriter {
    paper: Paper,
    pub(super) engine: Arc<Engine>,
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
    pub(super) card: Option<(usize, usize)>,
    /// From line to line, in sizes.
    pub(super) leading: f64,
    /// How wide drawings are that need no size of their own, of what is asked for.
    pub(super) drawn: f64,
    /// Where what stands over the page ends.
    top: f64,
    pub(super) y: f64,
}

impl PageWriter {
    pub(crate) fn new(phasing: &Phasing, paper: Paper) -> Self {
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
    pub(crate) fn wide(&self) -> f64 {
        self.paper.size_mm().x - 2.0 * SIDE_MM
    }

    /// Where the text ends at the foot.
    pub(crate) fn foot(&self) -> f64 {
        self.paper.size_mm().y - FOOT_MM
    }

    pub(crate) fn paper(&self) -> Paper {
        self.paper
    }

    /// How far down the page is written.
    pub(crate) fn y(&self) -> f64 {
        self.y
    }

    /// The page that is being written.
    pub(crate) fn page(&mut self) -> &mut Drawing {
        if self.pages.is_empty() {
            self.next_page(&self.heading.clone(), false);
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// The first page of a part under its heading, and what stands over each of its pages.
    pub(crate) fn start(&mut self, heading: &str, over: Over) {
        self.over = over;
        self.parts.push((heading.to_owned(), self.pages.len()));
        self.next_page(heading, true);
    }

    /// The parts begun, each with the index of its first page.
    pub(crate) fn parts(&self) -> &[(String, usize)] {
        &self.parts
    }

    /// Writes a part. Where its last page is used to less than half, it is written again with its
    /// lines closer and its drawings smaller, if that saves the page; else, where it is all but empty,
    /// with its lines wider too, till it is not.
    pub(crate) fn fill<T>(&mut self, write: impl Fn(&mut Self) -> T) -> T {
        /// Lines and drawings, each of what is usual: closer, then wider.
        const CLOSER: [(f64, f64); 9] = [
            (1.4, 1.0),
            (1.35, 1.0),
            (1.3, 1.0),
            (1.3, 0.9),
            (1.26, 1.0),
            (1.26, 0.9),
            (1.26, 0.8),
            (1.26, 0.7),
            (1.26, 0.6),
        ];
        const WIDER: [(f64, f64); 5] = [
            (1.5, 1.0),
            (1.55, 1.0),
            (1.65, 1.0),
            (1.75, 1.0),
            (1.9, 1.0),
        ];
        let begun = self.clone();
        let again = |like: (f64, f64), writer: &mut Self| {
            *writer = begun.clone();
            (writer.leading, writer.drawn) = like;
            let written = write(writer);
            (writer.leading, writer.drawn) = (LEADING, 1.0);
            written
        };
        let pages = self.pages.len();
        let usual = again((LEADING, 1.0), self);
        let bare = |writer: &Self, part: f64| {
            writer.pages.len() > pages + 1 && writer.last_is_used_to() < part
        };
        if !bare(self, 0.5) {
            return usual;
        }
        let (usual_pages, is_bare) = (self.pages.len(), bare(self, 1.0 / 3.0));
        for like in CLOSER {
            let written = again(like, self);
            if self.pages.len() < usual_pages && !bare(self, 1.0 / 3.0) {
                return written;
            }
        }
        for like in CLOSER.into_iter().chain(WIDER).filter(|_| is_bare) {
            let written = again(like, self);
            if !bare(self, 1.0 / 3.0) {
                return written;
            }
        }
        again((LEADING, 1.0), self)
    }

    /// A gap between things, closer where the lines are.
    pub(super) fn gap(&self, mm: f64) -> f64 {
        /// From line to line where nothing is left between things.
        const NONE: f64 = 1.12;
        mm * (self.leading - NONE) / (LEADING - NONE)
    }

    /// The part of the last page that is used, under what stands over it.
    fn last_is_used_to(&self) -> f64 {
        (self.y - self.top) / (self.foot() - self.top)
    }

    /// Sets the pages written since there were `pages` before all others.
    pub(crate) fn put_first(&mut self, pages: usize) {
        let first = self.pages.len() - pages;
        self.pages.rotate_right(first);
    }

    /// How many pages there are.
    pub(crate) fn page_count(&self) -> usize {
        self.pages.len()
    }

    /// The number of the next thing that is written.
    pub(super) fn next_number(&mut self) -> usize {
        self.card = None;
        self.written += 1;
        self.written
    }

    /// How many things the page holds.
    pub(super) fn drawn(&mut self) -> usize {
        self.page().items.len()
    }

    /// What was drawn on the page since it held `from` things is this.
    pub(super) fn is(&mut self, from: usize, part: ContentPart, number: usize) {
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
    pub(crate) fn figure<T>(
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
    pub(crate) fn rests_on(&mut self, subjects: &[Subject]) {
        self.rests_on_also(subjects, None);
    }

    /// The same, and what it rests on besides.
    pub(crate) fn rests_on_also(&mut self, subjects: &[Subject], also: Option<String>) {
        let Some(text) = self.rests_on_text(subjects, also) else {
            return;
        };
        self.skip(1.5);
        self.keep(self.height(&text, RESTS_ON_MM, 0.0));
        self.paragraph(&text, RESTS_ON_MM, false);
    }

    /// A new page with nothing but its foot.
    pub(crate) fn start_bare(&mut self, heading: &str) {
        self.heading = heading.to_owned();
        let size = self.paper.size_mm();
        let title = format!("{heading}: {}", self.engine.name());
        self.pages.push(Drawing::new(title, size.x, size.y));
        self.card = None;
        (self.top, self.y) = (10.0, 10.0);
    }

    /// The name of such a page and whether valves meet pistons, in a line over what is drawn.
    pub(crate) fn name_bare(&mut self) {
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
    pub(crate) fn keep(&mut self, height: f64) {
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

    pub(crate) fn skip(&mut self, height: f64) {
        self.y += height;
    }

    /// A heading within the page; `follows` is the height that must stand under it on the same
    /// page.
    pub(crate) fn heading(&mut self, text: &str, follows: f64) {
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
    pub(crate) fn height(&self, text: &str, size: f64, indent: f64) -> f64 {
        lines(text, size, self.wide() - indent, false).len() as f64 * size * self.leading
    }

    /// Text over the whole width.
    pub(crate) fn paragraph(&mut self, text: &str, size: f64, bold: bool) {
        self.indented(text, size, bold, 0.0);
    }

    /// Text from `indent` to the right margin. Gives where its first line stands.
    pub(crate) fn indented(&mut self, text: &str, size: f64, bold: bool, indent: f64) -> f64 {
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

    /// How high what a part rests on stands.
    pub(crate) fn rests_on_height(&self, subjects: &[Subject]) -> f64 {
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

    /// A caution: framed, and called one.
    pub(crate) fn caution(&mut self, text: &str) {
        self.framed("Caution", text, false, PLAIN_MM);
    }

    /// How high a caution stands.
    pub(crate) fn caution_height(&self, text: &str) -> f64 {
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

    /// The pages, with their feet: whose they are, by what and when they were made, and which they
    /// are.
    pub(crate) fn finish(mut self) -> Vec<Drawing> {
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

/// Whether every sentence of a caution stands over each page already, in the same words.
pub(crate) fn is_said_over_the_page(caution: &str) -> bool {
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
