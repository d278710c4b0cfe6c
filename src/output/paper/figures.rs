//! Drawings on a page, and the line that a printer is checked by.

use glam::DVec2;

use super::size::SIDE_MM;
use super::writer::PageWriter;
use crate::drawing::{Anchor, ContentPart, Drawing, Item, Pen, Role};
use crate::output::fonts::{LEAST_MM, lines};
use crate::words::{Units, size};

/// A drawing beside others.
#[derive(Clone, Debug)]
pub(crate) struct Beside {
    pub(crate) drawing: Drawing,
    /// A sentence of what it shows, for whoever has it read out.
    pub(crate) says: String,
    /// Whether the sentence stands under it too.
    pub(crate) is_captioned: bool,
    /// How wide it is on the page.
    pub(crate) wide_mm: f64,
}

impl Beside {
    fn high_mm(&self) -> f64 {
        self.drawing.size.y * self.wide_mm / self.drawing.size.x
    }
}

impl PageWriter {
    /// A drawing in the middle, as wide as `wide` at most, and smaller where what follows needs
    /// `follows` on the same page; never so small that it is hard to read. What it shows is said in a
    /// sentence.
    pub(crate) fn draw(&mut self, drawing: &Drawing, says: &str, wide: f64, follows: f64) {
        let wide = wide.min(self.wide());
        let room = (self.foot() - self.y - follows - 2.0) * drawing.size.x / drawing.size.y;
        let least = least_wide_mm(drawing).min(wide);
        let scale = room.clamp(least, f64::max(wide * self.drawn, least)) / drawing.size.x;
        self.draw_at(drawing, says, scale);
    }

    /// A drawing in the middle, at its true size.
    pub(crate) fn draw_true(&mut self, drawing: &Drawing, says: &str) {
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
    pub(crate) fn draw_beside(&mut self, drawings: &[Beside]) {
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
    pub(crate) fn scale_line(&mut self, x: f64, y: f64) {
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
}

/// How wide a drawing is at the least, for its smallest type to be read.
fn least_wide_mm(drawing: &Drawing) -> f64 {
    let type_mm = drawing.items.iter().filter_map(|item| match item {
        Item::Text { size, .. } => Some(*size),
        _ => None,
    });
    LEAST_MM / type_mm.fold(2.0 * LEAST_MM, f64::min) * drawing.size.x
}
