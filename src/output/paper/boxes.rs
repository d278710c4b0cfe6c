//! Boxes to tick, and blanks to write in.

use glam::DVec2;

use super::size::SIDE_MM;
use super::writer::{PLAIN_MM, PageWriter};
use crate::drawing::{Anchor, ContentPart, Drawing, Pen, Role};
use crate::output::fonts::{fit, lines, width};

/// A cell that holds this has a box to tick.
pub(crate) const BOX: &str = "\u{2610}";
/// A cell that holds this has a box that is ticked.
pub(crate) const TICKED: &str = "\u{2611}";
/// The side of a box to tick.
pub(super) const BOX_MM: f64 = 3.8;

/// The line that a measurement is written on, and what its unit takes after it.
const LINE_MM: f64 = 26.0;
const UNIT_MM: f64 = 8.0;

impl PageWriter {
    /// A step with a box to tick.
    pub(crate) fn tick(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
        self.boxed(text, size, bold, indent);
    }

    /// A step whose box is ticked.
    pub(crate) fn ticked(&mut self, text: &str, size: f64, bold: bool, indent: f64) {
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

    /// The lines of what is measured, beside the line to write it on.
    fn blank_lines(&self, what: &str, indent: f64) -> Vec<String> {
        let room = self.wide() - indent - LINE_MM - UNIT_MM - 4.0;
        lines(what, PLAIN_MM, room, false)
    }

    /// How high a blank stands.
    pub(crate) fn blank_height(&self, what: &str, indent: f64) -> f64 {
        self.blank_lines(what, indent).len() as f64 * PLAIN_MM * self.leading + 1.6
    }

    /// What is measured, from `indent`, with a line at the right to write it on, its unit after it; or
    /// what was written on it.
    pub(crate) fn blank(&mut self, what: &str, unit: &str, filled: Option<&str>, indent: f64) {
        let size = PLAIN_MM;
        let right = SIDE_MM + self.wide();
        let text = self.blank_lines(what, indent);
        let high = self.blank_height(what, indent);
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
    pub(crate) fn blanks(&mut self, names: &[String]) {
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
}

/// A box to tick, from its top left corner, or one that is ticked.
pub(super) fn tick_box(page: &mut Drawing, from: DVec2, is_ticked: bool) {
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
