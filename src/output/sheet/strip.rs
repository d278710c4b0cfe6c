//! A degree strip to wrap round a pulley of a given diameter.
//!
//! Seen from the front, the rim's near side at a pointer moves with the crank; for the pointer's
//! reading to grow, higher degrees come from where the rim comes from. Read with its foot to the
//! front of the engine, the strip's degrees so grow to the left for a crank that turns clockwise,
//! to the right for one that turns the other way. The arc of n degrees is π × diameter × n / 360.

use glam::DVec2;

use crate::angle::wrap;
use crate::drawing::{Anchor, Drawing, Pen, Role};
use crate::output::error::Error;
use crate::output::fonts;
use crate::output::paper::{Over, PageWriter, SIDE_MM};
use crate::phasing::Phasing;
use crate::words::{self, degrees};

const HIGH_MM: f64 = 17.0;
/// What is glued under the next piece.
const LAP_MM: f64 = 8.0;
/// From one row of it to the next.
const ROW_MM: f64 = 27.0;

pub(super) fn write(
    writer: &mut PageWriter,
    phasing: &Phasing,
    given_mm: Option<f64>,
) -> Result<(), Error> {
    let diameter = given_mm
        .or(phasing.engine().metric().pulley_diameter)
        .ok_or(Error::NoPulley)?;
    let units = phasing.engine().written().units;
    let long = std::f64::consts::PI * diameter;
    writer.start("Degree strip for the pulley", Over::Turning);
    writer.paragraph(
        &format!(
            "For a pulley {} across: {} round. Print at 100 %, without fitting to the page. Cut the pieces out, glue each over \
             the lap of the one before it, and wrap the strip round the rim with its foot to the front of the engine. A pointer reads \
             how far the crank has come past No. 1's TDC.",
            words::size(diameter, units),
            words::size(long, units)
        ),
        3.2,
        false,
    );
    writer.skip(8.0);
    let y = writer.y();
    writer.scale_line(SIDE_MM, y);
    writer.skip(6.0);
    let strip = Strip {
        name: phasing.engine().name().to_owned(),
        marks: marks(phasing),
        long_mm: long,
        grows_right: phasing.crank_direction().sign() < 0.0,
    };
    let pieces = (long / (writer.wide() - LAP_MM)).ceil().max(1.0) as usize;
    let piece = long / pieces as f64;
    for index in 0..pieces {
        writer.keep(ROW_MM);
        let from = index as f64 * piece;
        let piece = Piece {
            at: DVec2::new(SIDE_MM, writer.y() + 4.0),
            from,
            to: (from + piece).min(long),
            index,
            count: pieces,
        };
        let says = format!(
            "Piece {} of {pieces} of the degree strip, from {} to {}, for {}.",
            index + 1,
            degrees(strip.degree_at(piece.from)),
            degrees(strip.degree_at(piece.to)),
            strip.name
        );
        writer.figure(says, |writer| strip.draw(writer.page(), &piece));
        writer.skip(ROW_MM);
    }
    Ok(())
}

/// A mark on the rim.
struct Mark {
    at_deg: f64,
    name: String,
    /// Dead centres in the upper row of names, sparks in the lower.
    spark: bool,
}

/// Every cylinder's TDC, and its spark at rest where it does not fall on it.
fn marks(phasing: &Phasing) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut put = |at_deg: f64, number: u8, spark: bool| {
        let at_deg = wrap(at_deg, 360.0);
        match marks
            .iter_mut()
            .find(|mark| mark.spark == spark && (mark.at_deg - at_deg).abs() < 1e-6)
        {
            Some(mark) => mark.name += &format!(" {number}"),
            None => marks.push(Mark {
                at_deg,
                name: format!("{} {number}", if spark { "spark" } else { "TDC" }),
                spark,
            }),
        }
    };
    for cylinder in phasing.cylinders() {
        put(cylinder.fires.degrees(), cylinder.number, false);
        if phasing.spark_btdc_deg(cylinder).abs() > 1e-6 {
            put(cylinder.spark.degrees(), cylinder.number, true);
        }
    }
    marks
}

struct Strip {
    /// Whose it is.
    name: String,
    marks: Vec<Mark>,
    long_mm: f64,
    grows_right: bool,
}

impl Strip {
    /// Millimetres from the strip's left end.
    fn along(&self, at_deg: f64) -> f64 {
        let part = at_deg / 360.0;
        self.long_mm * if self.grows_right { part } else { 1.0 - part }
    }

    /// The degree so many millimetres from the strip's left end.
    fn degree_at(&self, along: f64) -> f64 {
        let part = along / self.long_mm;
        360.0 * if self.grows_right { part } else { 1.0 - part }
    }

    fn draw(&self, page: &mut Drawing, piece: &Piece) {
        let outline = Pen::line(Role::Main, 0.3);
        page.rectangle(
            piece.place(piece.from, 0.0),
            piece.place(piece.to, HIGH_MM),
            outline,
        );
        let mut words = Words::default();
        self.degrees(page, piece, &mut words);
        // The strip's two ends are one place: what stands there stands on both.
        let ends = self.marks.iter().flat_map(|mark| {
            let ends = if mark.at_deg < 1e-9 {
                [Some(0.0), Some(360.0)]
            } else {
                [Some(mark.at_deg), None]
            };
            let places = ends.into_iter().flatten().map(|at_deg| self.along(at_deg));
            places.map(move |along| (mark, along))
        });
        let here: Vec<(&Mark, f64)> = ends.filter(|(_, along)| piece.holds(*along)).collect();
        for (mark, along) in &here {
            mark.name(page, piece, *along, &mut words);
        }
        for (mark, along) in &here {
            mark.draw(page, piece, *along, &words);
        }
        self.name_piece(page, piece, &words);
        if piece.is_last() {
            page.text(
                piece.place(piece.to + 1.5, HIGH_MM / 2.0),
                degrees(if self.grows_right { 360.0 } else { 0.0 }),
                2.6,
                Anchor::Start,
                Role::Faint,
            );
        } else {
            piece.lap(page);
        }
        let name = format!(
            "piece {} of {}, this edge to the front",
            piece.index + 1,
            piece.count
        );
        page.text(
            piece.place(piece.from, HIGH_MM + 2.4),
            name,
            2.4,
            Anchor::Start,
            Role::Faint,
        );
    }

    /// The scale: a tick for each degree and a number for each tenth, or fewer where a small pulley
    /// has no room for so many.
    fn degrees(&self, page: &mut Drawing, piece: &Piece, words: &mut Words) {
        /// Ticks nearer to one another run together on paper; numbers nearer cannot be read.
        const APART_MM: (f64, f64) = (0.35, 4.5);
        let first = |steps: [u32; 4], apart_mm: f64| {
            let fits = |step: &u32| self.long_mm * f64::from(*step) / 360.0 >= apart_mm;
            steps.into_iter().find(fits).unwrap_or(steps[3])
        };
        let tick = first([1, 5, 10, 30], APART_MM.0);
        let named = first([10, 30, 90, 180], APART_MM.1);
        for degree in (0..=360_u32).step_by(tick as usize) {
            let along = self.along(f64::from(degree));
            if !piece.holds(along) {
                continue;
            }
            let (length, width) = match degree {
                d if d % 10 == 0 => (5.0, 0.3),
                d if d % 5 == 0 => (3.8, 0.22),
                _ => (2.4, 0.13),
            };
            page.line(
                piece.place(along, 0.0),
                piece.place(along, length),
                Pen::line(Role::Main, width),
            );
            if degree % named == 0 && degree < 360 {
                let apart = self.long_mm * f64::from(named) / 360.0;
                let name = degree.to_string();
                let (name, size) = fonts::fit(&name, 2.6, apart * 0.8, false);
                let wide = fonts::width(&name, false) * size;
                let middle = piece.inside(along, wide);
                words.take(middle, wide, 6.8, size);
                page.text(
                    piece.place(middle, 6.8),
                    name,
                    size,
                    Anchor::Middle,
                    Role::Main,
                );
            }
        }
    }
}

/// Where words stand on a piece: along it from and to, and down it from and to.
#[derive(Default)]
struct Words(Vec<[f64; 4]>);

impl Words {
    fn take(&mut self, middle: f64, wide: f64, down: f64, size: f64) {
        let half = 0.5 * size;
        self.0.push([
            middle - wide / 2.0 - 0.4,
            middle + wide / 2.0 + 0.4,
            down - half,
            down + half,
        ]);
    }

    /// What is left of a line across the piece where it would strike words out.
    fn clear(&self, along: f64, from: f64, to: f64) -> Vec<(f64, f64)> {
        let mut struck: Vec<(f64, f64)> = self
            .0
            .iter()
            .filter(|[left, right, ..]| (*left..=*right).contains(&along))
            .map(|[.., top, foot]| (*top, *foot))
            .collect();
        struck.sort_by(|one, other| one.0.total_cmp(&other.0));
        let (mut clear, mut at) = (Vec::new(), from);
        for (top, foot) in struck {
            if top > at {
                clear.push((at, top.min(to)));
            }
            at = at.max(foot);
        }
        if at < to {
            clear.push((at, to));
        }
        clear
    }

    fn is_free(&self, from: f64, to: f64, down: f64, size: f64) -> bool {
        let half = 0.5 * size;
        self.0.iter().all(|[left, right, top, foot]| {
            to < *left || from > *right || down + half < *top || down - half > *foot
        })
    }
}

impl Strip {
    /// The engine's name on the piece itself, where it has room: what is cut out is not mixed up.
    fn name_piece(&self, page: &mut Drawing, piece: &Piece, words: &Words) {
        const ROWS: [f64; 2] = [14.2, 10.6];
        let which = format!(" {}/{}", piece.index + 1, piece.count);
        let (size, long) = (2.2, piece.to - piece.from);
        for most in [70.0, 40.0, 20.0] {
            let room = f64::min(most, long - 3.0) - fonts::width(&which, false) * size;
            let name = fonts::shortened(&self.name, size, room, false) + &which;
            let wide = fonts::width(&name, false) * size;
            for down in ROWS {
                let mut from = piece.from + 2.0;
                while from + wide < piece.to - 1.0 {
                    // The marks' own lines run down to the first row and past it to the second.
                    let is_clear = |mark: &Mark| {
                        let along = self.along(mark.at_deg);
                        !(from - 0.6..=from + wide + 0.6).contains(&along)
                    };
                    if words.is_free(from, from + wide, down, size)
                        && self.marks.iter().all(is_clear)
                    {
                        let at = piece.place(from, down);
                        page.text(at, name, size, Anchor::Start, Role::Main);
                        return;
                    }
                    from += 1.0;
                }
            }
        }
    }
}

impl Mark {
    /// How far down its line runs, and the size of its name under it.
    fn row(&self) -> (f64, f64) {
        if self.spark { (12.4, 2.3) } else { (8.8, 2.4) }
    }

    fn name(&self, page: &mut Drawing, piece: &Piece, along: f64, words: &mut Words) {
        let (top, size) = self.row();
        let wide = fonts::width(&self.name, true) * size;
        let middle = piece.inside(along, wide);
        page.bold(
            piece.place(middle, top + 1.8),
            &self.name,
            size,
            Anchor::Middle,
            Role::Main,
        );
        words.take(middle, wide, top + 1.8, size);
    }

    /// Its line, broken where it would strike out a figure or another's name.
    fn draw(&self, page: &mut Drawing, piece: &Piece, along: f64, words: &Words) {
        let (top, _) = self.row();
        let mut parts = words.clear(along, 0.0, top);
        parts.push((HIGH_MM - 0.9, HIGH_MM));
        for (from, to) in parts {
            page.line(
                piece.place(along, from),
                piece.place(along, to),
                Pen::line(Role::Mark, 0.45),
            );
        }
    }
}

/// A piece of the strip on its page.
struct Piece {
    /// Its top left corner on the page.
    at: DVec2,
    /// Where on the strip it starts and ends, millimetres from the strip's left end.
    from: f64,
    to: f64,
    /// Which it is, counted from 0, and of how many.
    index: usize,
    count: usize,
}

impl Piece {
    /// The point of the page `along` the strip and `down` from its top edge.
    fn place(&self, along: f64, down: f64) -> DVec2 {
        DVec2::new(self.at.x + along - self.from, self.at.y + down)
    }

    fn holds(&self, along: f64) -> bool {
        (self.from - 1e-9..=self.to + 1e-9).contains(&along)
    }

    /// Where the middle of a text of this width stands: as near to `along` as it goes on the piece.
    fn inside(&self, along: f64, wide: f64) -> f64 {
        let least = self.from + wide / 2.0 + 0.8;
        along.clamp(least, f64::max(self.to - wide / 2.0 - 0.8, least))
    }

    fn is_last(&self) -> bool {
        self.index + 1 == self.count
    }

    /// What is glued under the next piece.
    fn lap(&self, page: &mut Drawing) {
        let lap = [
            self.place(self.to, 0.0),
            self.place(self.to + LAP_MM, 1.5),
            self.place(self.to + LAP_MM, HIGH_MM - 1.5),
            self.place(self.to, HIGH_MM),
        ];
        page.area(lap.to_vec(), Pen::line(Role::Faint, 0.2).dashed());
        page.turned_text(
            self.place(self.to + LAP_MM / 2.0, HIGH_MM / 2.0),
            "lap",
            2.6,
            Anchor::Middle,
            Role::Faint,
            -90.0,
        );
    }
}
