//! Rows of a card, and tables.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the columns begun here"
)]

use glam::DVec2;

use super::boxes::{BOX, BOX_MM, TICKED, tick_box};
use super::size::SIDE_MM;
use super::writer::{LEADING, PLAIN_MM, PageWriter};
use crate::drawing::{Anchor, ContentPart, Heads, Pen, Role};
use crate::output::fonts::{lines, width};

impl PageWriter {
    /// How high so many rows of one line each stand, of a card or a table.
    pub(crate) fn rows_height(rows: usize) -> f64 {
        rows as f64 * (PLAIN_MM * LEADING + 2.0)
    }

    /// A row of a card: what it is on the left, what it comes to on the right.
    pub(crate) fn row(&mut self, name: &str, value: &str) {
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
    pub(crate) fn table(&mut self, heads: &[&str], rows: &[Vec<String>]) {
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
