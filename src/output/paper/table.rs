//! Rows of a card, and tables.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the columns begun here"
)]

use glam::DVec2;

use super::boxes::{BOX, BOX_MM, TICKED, tick_box};
use super::size::SIDE_MM;
use super::writer::{PLAIN_MM, PageWriter};
use crate::drawing::{Anchor, ContentPart, Heads, Pen, Role};
use crate::output::fonts::{lines, width};

impl PageWriter {
    /// Where the text begins and ends across the page.
    fn sides(&self) -> (f64, f64) {
        (SIDE_MM, SIDE_MM + self.wide())
    }

    /// How high so many rows of one line each stand, of a card or a table.
    pub(crate) fn rows_height(&self, rows: usize) -> f64 {
        rows as f64 * (PLAIN_MM * self.leading + 2.0 * self.gap(1.0))
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
            self.sides(),
        );
        self.card = Some((number, row + 1));
    }

    /// Rows of a card that are short, two beside each other, and then those that need the width.
    pub(crate) fn facts(&mut self, rows: &[(String, String)]) {
        const GAP_MM: f64 = 6.0;
        let half = (self.wide() - GAP_MM) / 2.0;
        let name_mm = |(name, _): &(String, String)| width(name, false) * PLAIN_MM + 3.0;
        let value_mm = |(_, value): &(String, String)| width(value, true) * PLAIN_MM;
        let widest = |column: &[&(String, String)]| {
            let names = column.iter().map(|row| name_mm(row));
            names.fold(0.0, f64::max)
        };
        let mut short: Vec<&(String, String)> = rows.iter().collect();
        let mut long = Vec::new();
        // Whatever has no room beside the names of its column needs the width.
        let no_room = |short: &[&(String, String)]| {
            let down = short.len().div_ceil(2).max(1);
            let mut columns = short.chunks(down).enumerate();
            columns.find_map(|(column, rows)| {
                let values = rows.iter().map(|row| value_mm(row));
                let fits = widest(rows) + values.fold(0.0, f64::max) <= half;
                let wide = |row: &(String, String)| name_mm(row) + value_mm(row);
                let rows = rows.iter().enumerate();
                let (at, _) =
                    rows.max_by(|(_, one), (_, other)| wide(one).total_cmp(&wide(other)))?;
                (!fits).then_some(column * down + at)
            })
        };
        while let Some(at) = no_room(&short) {
            long.push(short.remove(at));
        }
        long.sort_by_key(|row| rows.iter().position(|other| std::ptr::eq(other, *row)));
        let down = short.len().div_ceil(2);
        self.keep(self.rows_height(down));
        let (top, mut end) = (self.y, self.y);
        for (column, rows) in short.chunks(down.max(1)).enumerate() {
            let left = SIDE_MM + column as f64 * (half + GAP_MM);
            let (names, number) = (widest(rows), self.next_number());
            self.y = top;
            for (row, (name, value)) in rows.iter().enumerate() {
                let cells = [
                    (left, vec![name.clone()], false),
                    (left + names, vec![value.clone()], true),
                ];
                self.cells(&cells, 1.0, (number, row), (left, left + half));
            }
            end = end.max(self.y);
        }
        self.y = end;
        for (name, value) in long {
            self.row(name, value);
        }
    }

    /// Cells side by side, each at its x, in lines, bold or not, with a rule under them from
    /// side to side and a gap above and below: a row of a table, by its number. The first cell of a card's row heads it.
    fn cells(
        &mut self,
        cells: &[(f64, Vec<String>, bool)],
        gap: f64,
        (number, row): (usize, usize),
        (left, right): (f64, f64),
    ) {
        let size = PLAIN_MM;
        let (leading, gap) = (self.leading, self.gap(gap));
        let most = cells.iter().map(|(_, lines, _)| lines.len()).max();
        let high = most.unwrap_or(1) as f64 * size * leading + 2.0 * gap;
        self.keep(high);
        let (top, foot) = (self.y + gap, self.y + high);
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
            DVec2::new(left, foot),
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
        if share_out(&mut wide, self.wide()) {
            let longest_word = |column: usize| {
                let texts = rows.iter().filter_map(|row| row.get(column));
                let words = texts.flat_map(|text| text.split(' '));
                let words = words.map(|word| width(word, false));
                words.fold(width(heads[column], true), f64::max) * size + gap
            };
            let least: Vec<f64> = (0..heads.len()).map(longest_word).collect();
            take_fewest_lines(&mut wide, &least, rows);
        }
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
            self.cells(&cells, 0.8, (number, index + 1), self.sides());
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
/// share of what is left keeps its width, and the others share the rest evenly. Gives whether they were.
fn share_out(wide: &mut [f64], room: f64) -> bool {
    if wide.iter().sum::<f64>() <= room {
        return false;
    }
    let mut narrow_first: Vec<usize> = (0..wide.len()).collect();
    narrow_first.sort_by(|one, other| wide[*one].total_cmp(&wide[*other]));
    let (mut left, mut columns) = (room, wide.len() as f64);
    for column in narrow_first {
        wide[column] = wide[column].min(left / columns);
        left -= wide[column];
        columns -= 1.0;
    }
    true
}

/// Moves width from column to column as long as that makes the rows fewer lines; none becomes narrower
/// than its least.
fn take_fewest_lines(wide: &mut [f64], least: &[f64], rows: &[Vec<String>]) {
    const STEP_MM: f64 = 4.0;
    const MOST: usize = 8;
    let count = |wide: &[f64]| -> usize {
        let lines_of = |row: &Vec<String>| {
            let cells = row.iter().zip(wide);
            let cells = cells.map(|(text, wide)| lines(text, PLAIN_MM, wide - 2.0, false).len());
            cells.max().unwrap_or(1)
        };
        rows.iter().map(lines_of).sum()
    };
    for _ in 0..MOST {
        let now = count(wide);
        let pairs = (0..wide.len()).flat_map(|from| (0..wide.len()).map(move |to| (from, to)));
        let moved = pairs.filter_map(|(from, to)| {
            let step = (1..=4_u8).map(|steps| f64::from(steps) * STEP_MM);
            let mut tried = step.filter_map(|step| {
                let mut other = wide.to_vec();
                other[from] -= step;
                other[to] += step;
                (from != to && other[from] >= least[from]).then(|| (count(&other), other))
            });
            tried.find(|(lines, _)| *lines < now)
        });
        let Some((_, best)) = moved.min_by_key(|(lines, _)| *lines) else {
            break;
        };
        wide.copy_from_slice(&best);
    }
}
