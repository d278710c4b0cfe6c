//! Where there is room for words in a drawing: places that nothing else takes.

use glam::DVec2;

use super::{Anchor, Drawing, Role};

/// How wide a letter is, over its size: somewhat more than they are in the mean.
const LETTER: f64 = 0.6;
/// From line to line, over the size.
const LEADING: f64 = 1.35;
/// What is kept free round words, and to the drawing's edge, millimetres.
const CLEAR_MM: f64 = 1.0;

/// How wide a text is about, millimetres.
pub(super) fn width_mm(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER
}

/// As much of a text as there is room for.
pub(super) fn shortened(text: &str, size: f64, room_mm: f64) -> String {
    let room = (room_mm / (size * LETTER)).floor().max(1.0) as usize;
    if text.chars().count() <= room {
        return text.to_owned();
    }
    text.chars().take(room - 1).chain(['…']).collect()
}

/// A text in lines, as much in each as there is room for; a word that is longer is cut.
pub(super) fn wrapped(text: &str, size: f64, room_mm: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = shortened(word, size, room_mm);
        match lines.last_mut() {
            Some(line) if width_mm(&format!("{line} {word}"), size) <= room_mm => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// A line of words.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) size: f64,
    pub(super) role: Role,
}

/// Lines under one another, which stand or fall together.
#[derive(Clone, Debug)]
pub(super) struct Block(pub(super) Vec<Line>);

/// Where a block stands: the middle of its left or right side, or its own middle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub(super) at: DVec2,
    pub(super) anchor: Anchor,
    /// What it names: no outline may lie between the two. Itself, where that is all one.
    pub(super) of: DVec2,
}

impl Spot {
    /// One that may stand beyond anything.
    pub(super) fn free(at: DVec2, anchor: Anchor) -> Self {
        Self { at, anchor, of: at }
    }
}

impl Block {
    /// Lines of one size and part.
    pub(super) fn of(lines: &[&str], size: f64, role: Role) -> Self {
        let line = |text: &&str| Line {
            text: (*text).to_owned(),
            size,
            role,
        };
        Self(lines.iter().map(line).collect())
    }

    fn width_mm(&self) -> f64 {
        let lines = self.0.iter();
        let wide = lines.map(|line| width_mm(&line.text, line.size));
        wide.fold(0.0, f64::max)
    }

    /// How high its lines stand together.
    pub(super) fn height_mm(&self) -> f64 {
        self.0.iter().map(|line| line.size * LEADING).sum()
    }

    fn corners(&self, spot: Spot) -> [DVec2; 2] {
        let wide = self.width_mm();
        let left = match spot.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => wide / 2.0,
            Anchor::End => wide,
        };
        let from = spot.at - DVec2::new(left, self.height_mm() / 2.0);
        [from, from + DVec2::new(wide, self.height_mm())]
    }

    /// The same, its lines cut where they would leave the drawing.
    fn cut_to(&self, spot: Spot, size: DVec2) -> Self {
        let (left, right) = (spot.at.x - CLEAR_MM, size.x - CLEAR_MM - spot.at.x);
        let room = match spot.anchor {
            Anchor::Start => right,
            Anchor::Middle => 2.0 * left.min(right),
            Anchor::End => left,
        };
        let cut = |line: &Line| Line {
            text: shortened(&line.text, line.size, room),
            ..line.clone()
        };
        Self(self.0.iter().map(cut).collect())
    }

    fn draw(&self, drawing: &mut Drawing, spot: Spot) {
        let mut y = spot.at.y - self.height_mm() / 2.0;
        for line in &self.0 {
            let high = line.size * LEADING;
            let at = DVec2::new(spot.at.x, y + high / 2.0);
            drawing.text(at, line.text.as_str(), line.size, spot.anchor, line.role);
            y += high;
        }
    }
}

#[derive(Clone, Debug)]
enum Taken {
    Disc(DVec2, f64),
    Line(DVec2, DVec2),
    Words([DVec2; 2]),
}

/// A drawing's room, and what is taken of it.
#[derive(Clone, Debug)]
pub(super) struct FreePlaces {
    size: DVec2,
    taken: Vec<Taken>,
}

impl FreePlaces {
    pub(super) fn of(drawing: &Drawing) -> Self {
        Self {
            size: drawing.size,
            taken: Vec::new(),
        }
    }

    /// A disc that no words lie over.
    pub(super) fn take_disc(&mut self, centre: DVec2, radius: f64) {
        self.taken.push(Taken::Disc(centre, radius));
    }

    /// An outline that no words cross.
    pub(super) fn take_outline(&mut self, points: &[DVec2]) {
        let ends = points.iter().zip(points.iter().cycle().skip(1));
        self.taken
            .extend(ends.map(|(one, other)| Taken::Line(*one, *other)));
    }

    fn is_free(&self, [from, to]: [DVec2; 2]) -> bool {
        let edge = DVec2::splat(CLEAR_MM);
        if from.cmplt(edge).any() || to.cmpgt(self.size - edge).any() {
            return false;
        }
        let (least, most) = (from - edge, to + edge);
        self.taken.iter().all(|taken| match taken {
            Taken::Disc(centre, radius) => {
                centre.clamp(from, to).distance(*centre) > radius + CLEAR_MM
            }
            Taken::Line(one, other) => !crosses(*one, *other, least, most),
            Taken::Words([first, last]) => least.cmpge(*last).any() || most.cmple(*first).any(),
        })
    }

    /// Whether no outline lies between two points.
    fn is_in_sight(&self, one: DVec2, other: DVec2) -> bool {
        self.taken.iter().all(|taken| match taken {
            Taken::Line(from, to) => !meet([one, other], [*from, *to]),
            Taken::Disc(..) | Taken::Words(_) => true,
        })
    }

    /// Puts the first of the blocks that has room at the first of the spots that has room for it.
    /// Gives whether one had.
    pub(super) fn put(
        &mut self,
        drawing: &mut Drawing,
        blocks: &[Block],
        spots: impl Fn(&Block) -> Vec<Spot>,
    ) -> bool {
        for block in blocks {
            for spot in spots(block) {
                let corners = block.corners(spot);
                if self.is_free(corners) && self.is_in_sight(spot.of, spot.at) {
                    block.draw(drawing, spot);
                    self.taken.push(Taken::Words(corners));
                    return true;
                }
            }
        }
        false
    }

    /// Puts a block at a spot, whatever lies there.
    pub(super) fn put_over(&mut self, drawing: &mut Drawing, block: &Block, spot: Spot) {
        block.draw(drawing, spot);
        self.taken.push(Taken::Words(block.corners(spot)));
    }

    /// Puts a block, its lines cut at the drawing's edge, at the first of the spots that has room; where
    /// none has, at the first.
    pub(super) fn put_shortened(&mut self, drawing: &mut Drawing, block: &Block, spots: &[Spot]) {
        for spot in spots {
            let cut = block.cut_to(*spot, self.size);
            if self.put(drawing, &[cut], |_| vec![*spot]) {
                return;
            }
        }
        if let Some(spot) = spots.first() {
            self.put_over(drawing, &block.cut_to(*spot, self.size), *spot);
        }
    }
}

/// Whether two lines cross: the ends of each lie on both sides of the other.
fn meet([a, b]: [DVec2; 2], [c, d]: [DVec2; 2]) -> bool {
    let parts = |from: DVec2, to: DVec2, one: DVec2, other: DVec2| {
        let along = to - from;
        along.perp_dot(one - from) * along.perp_dot(other - from) < 0.0
    };
    parts(a, b, c, d) && parts(c, d, a, b)
}

/// Whether a line from `one` to `other` comes into a rectangle: clipped to it side by side (Liang
/// and Barsky), something is left.
fn crosses(one: DVec2, other: DVec2, least: DVec2, most: DVec2) -> bool {
    let along = other - one;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (step, start, least, most) in [
        (along.x, one.x, least.x, most.x),
        (along.y, one.y, least.y, most.y),
    ] {
        if step == 0.0 {
            if start < least || start > most {
                return false;
            }
            continue;
        }
        let (enters, leaves) = ((least - start) / step, (most - start) / step);
        from = from.max(enters.min(leaves));
        to = to.min(enters.max(leaves));
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(text: &str) -> Block {
        Block::of(&[text], 2.0, Role::Main)
    }

    fn spot(x: f64, y: f64) -> Spot {
        Spot::free(DVec2::new(x, y), Anchor::Start)
    }

    fn put(places: &mut FreePlaces, text: &str, at: (f64, f64)) -> bool {
        let mut drawing = Drawing::new("", 50.0, 50.0);
        places.put(&mut drawing, &[block(text)], |_| vec![spot(at.0, at.1)])
    }

    #[test]
    fn words_lie_over_nothing_and_within_the_edge() {
        let drawing = Drawing::new("", 50.0, 50.0);
        let mut places = FreePlaces::of(&drawing);
        places.take_disc(DVec2::new(10.0, 10.0), 5.0);
        places.take_outline(&[DVec2::new(0.0, 30.0), DVec2::new(50.0, 30.0)]);
        // Ten letters of size 2 are 12 mm wide.
        assert!(!put(&mut places, "0123456789", (2.0, 10.0)), "on the disc");
        assert!(!put(&mut places, "0123456789", (20.0, 30.5)), "on the line");
        assert!(
            !put(&mut places, "0123456789", (40.0, 10.0)),
            "off the edge"
        );
        assert!(put(&mut places, "0123456789", (20.0, 10.0)));
        assert!(
            !put(&mut places, "0123456789", (25.0, 11.0)),
            "on the first"
        );
        assert!(put(&mut places, "0123456789", (20.0, 20.0)));
    }

    #[test]
    fn words_do_not_stand_beyond_an_outline_from_what_they_name() {
        let mut drawing = Drawing::new("", 50.0, 50.0);
        let mut places = FreePlaces::of(&drawing);
        places.take_outline(&[DVec2::new(20.0, 0.0), DVec2::new(20.0, 50.0)]);
        let mut put = |x: f64, of: f64| {
            let spot = Spot {
                of: DVec2::new(of, 25.0),
                ..spot(x, 25.0)
            };
            places.put(&mut drawing, &[block("01")], |_| vec![spot])
        };
        assert!(!put(30.0, 10.0));
        assert!(put(30.0, 25.0));
    }

    #[test]
    fn a_text_is_cut_at_what_room_it_has_and_not_before() {
        assert_eq!(shortened("pulley notch", 2.0, 14.5), "pulley notch");
        assert_eq!(shortened("pulley notch", 2.0, 12.1), "pulley no…");
        assert_eq!(shortened("pulley notch", 2.0, 0.0), "…");
    }

    #[test]
    fn a_text_goes_on_in_the_next_line_with_every_word_whole() {
        let text = "exhaust sprocket dot, on the exhaust cam";
        let lines = wrapped(text, 3.0, 71.0);
        assert_eq!(lines, ["exhaust sprocket dot, on the exhaust", "cam"]);
        assert!(lines.iter().all(|line| width_mm(line, 3.0) <= 71.0));
        assert_eq!(wrapped(text, 3.0, 73.0), [text]);
        assert_eq!(wrapped("sprocketsprocket", 2.0, 6.1), ["spro…"]);
    }

    #[test]
    fn a_line_that_passes_a_rectangle_does_not_cross_it() {
        let (least, most) = (DVec2::new(1.0, 1.0), DVec2::new(3.0, 2.0));
        let crosses =
            |one: (f64, f64), other: (f64, f64)| crosses(one.into(), other.into(), least, most);
        assert!(crosses((0.0, 0.0), (4.0, 3.0)));
        assert!(crosses((2.0, 1.5), (2.1, 1.6)), "within");
        assert!(crosses((2.0, 0.0), (2.0, 9.0)), "straight down");
        assert!(!crosses((0.0, 0.0), (0.5, 9.0)));
        assert!(!crosses((0.0, 2.0), (1.0, 4.0)), "past a corner");
        assert!(!crosses((4.0, 1.5), (9.0, 1.5)), "beyond it");
    }
}
