//! A degree wheel at true size, to cut out and bolt on the crank.
//!
//! It turns with the crank past a pointer that stands still, so its degrees run against the crank:
//! degree θ lies at −s θ of the wheel's own clock, and the pointer reads how far the crank has
//! come. Three rings within the degrees: dead centres, which both turns share; the turn that starts
//! at No. 1's firing TDC; the turn that starts at its overlap TDC.

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the neighbours and tiles of one wheel"
)]

use glam::DVec2;

use super::options::SheetPart;
use crate::angle::wrap;
use crate::description::Valve;
use crate::drawing::{Anchor, Drawing, Pen, Role, on_clock};
use crate::output::fonts;
use crate::output::paper::{FOOT_MM, Over, PLAIN_MM, PageWriter, SIDE_MM};
use crate::phasing::Phasing;
use crate::words::{Units, joined, size};

/// As large as goes on either paper, in a round figure of the file's units.
pub(super) fn usual_mm(units: Units) -> f64 {
    match units {
        Units::Millimetres => 180.0,
        Units::Inches => 7.0 * units.millimetres(),
    }
}

/// The least diameter that can be read, and the most that anyone would glue together.
pub const RANGE_MM: std::ops::RangeInclusive<f64> = 100.0..=600.0;

/// The pen of a tick that marks an event: no other line on the wheel is as wide.
pub const EVENT_MM: f64 = 0.45;
const EDGE_MM: f64 = 1.0;
/// The wheel's measures are given for this radius.
const MODEL_RADIUS_MM: f64 = 90.0;

/// What it shows, in a sentence.
const SAYS: &str = "The degree wheel, its degrees running against the crank, with the dead centres and what happens to No. 1 over both turns in three rings.";

/// On one page where it goes, else over several, to be cut and joined.
pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing, diameter_mm: f64) {
    writer.start("Degree wheel", Over::Short);
    let wheel = wheel(phasing, diameter_mm);
    let under = 30.0;
    let room = writer.foot() - writer.y();
    let fits = wheel.size.x <= writer.wide() && wheel.size.y <= room - under;
    if fits {
        writer.draw_true(&wheel, SAYS);
        legend(writer, phasing, diameter_mm);
        writer.rests_on(SheetPart::Wheel.subjects());
        return;
    }
    legend(writer, phasing, diameter_mm);
    writer.rests_on(SheetPart::Wheel.subjects());
    tiles(writer, &wheel);
}

fn legend(writer: &mut PageWriter, phasing: &Phasing, diameter_mm: f64) {
    let valves = if phasing.assembly().cams().are_right() {
        ""
    } else {
        " The valves' events stand as built."
    };
    let diameter = size(diameter_mm, phasing.engine().written().units);
    let short = if Rings::of(phasing, diameter_mm).short {
        " T is TDC and B is BDC; IO, IC, EO and EC: intake and exhaust open and close; S is the spark, W the wasted one; F fires."
    } else {
        ""
    };
    writer.paragraph(
        &format!(
            "{diameter} across. Print at 100 %, without fitting to the page. A pointer that stands still reads how far the crank has \
             come past No. 1's TDC. Rings from the rim inwards: dead centres; the turn from No. 1's firing TDC; the turn from its \
             overlap TDC.{valves}{short}"
        ),
        3.0,
        false,
    );
    writer.skip(6.0);
    let y = writer.y();
    writer.scale_line(SIDE_MM, y);
    writer.skip(4.0);
}

/// Something that comes at a crank angle.
struct Event {
    crank_deg: f64,
    name: String,
    /// The same where there is little room.
    short: String,
}

/// What happens to No. 1 over both turns, and who fires when.
fn events(phasing: &Phasing) -> Vec<Event> {
    let ahead = |valve: Valve| phasing.number_one_ahead(valve).degrees();
    let (intake, exhaust) = (phasing.intake(), phasing.exhaust());
    let (intake_ahead, exhaust_ahead) = (ahead(Valve::Intake), ahead(Valve::Exhaust));
    let mut events: Vec<Event> = [
        ("intake opens", "IO", intake.opens_deg(), intake_ahead),
        ("intake closes", "IC", intake.closes_deg(), intake_ahead),
        ("exhaust opens", "EO", exhaust.opens_deg(), exhaust_ahead),
        ("exhaust closes", "EC", exhaust.closes_deg(), exhaust_ahead),
    ]
    .into_iter()
    .map(|(name, short, at, ahead)| Event {
        crank_deg: wrap(at - ahead, 720.0),
        name: name.to_owned(),
        short: short.to_owned(),
    })
    .collect();
    if let Some(one) = phasing.cylinder(1) {
        events.push(Event {
            crank_deg: one.spark.degrees(),
            name: "spark 1".to_owned(),
            short: "S 1".to_owned(),
        });
        events.extend(one.wasted_spark.map(|wasted| Event {
            crank_deg: wasted.degrees(),
            name: "wasted spark 1".to_owned(),
            short: "W 1".to_owned(),
        }));
    }
    let mut firing: Vec<(f64, Vec<u8>)> = Vec::new();
    for cylinder in phasing.cylinders() {
        gather(&mut firing, cylinder.fires.degrees(), cylinder.number);
    }
    events.extend(firing.into_iter().map(|(crank_deg, numbers)| Event {
        crank_deg,
        name: format!("{} fires", joined(&numbers, " ")),
        short: format!("F {}", joined(&numbers, " ")),
    }));
    events
}

/// The dead centres, which come at the same place on the wheel in both turns.
fn dead_centres(phasing: &Phasing) -> Vec<Event> {
    let (mut tops, mut bottoms) = (Vec::new(), Vec::new());
    for cylinder in phasing.cylinders() {
        let top = cylinder.fires.degrees();
        gather(&mut tops, wrap(top, 360.0), cylinder.number);
        gather(
            &mut bottoms,
            wrap(top + phasing.slider().down_stroke_deg(), 360.0),
            cylinder.number,
        );
    }
    let named = |name: &str, (crank_deg, numbers): (f64, Vec<u8>)| Event {
        crank_deg,
        name: format!("{name} {}", joined(&numbers, " ")),
        short: format!(
            "{} {}",
            name.get(..1).unwrap_or(name),
            joined(&numbers, " ")
        ),
    };
    tops.into_iter()
        .map(|top| named("TDC", top))
        .chain(bottoms.into_iter().map(|bottom| named("BDC", bottom)))
        .collect()
}

fn gather(places: &mut Vec<(f64, Vec<u8>)>, at_deg: f64, number: u8) {
    match places.iter_mut().find(|(at, _)| (at - at_deg).abs() < 1e-6) {
        Some((_, numbers)) => numbers.push(number),
        None => places.push((at_deg, vec![number])),
    }
}

/// A ring of names, each at its place on the wheel, or as near as its neighbours let it.
struct Ring {
    outer_mm: f64,
    inner_mm: f64,
    size_mm: f64,
    /// What stands in it, in the order of the crank.
    events: Vec<Event>,
}

impl Ring {
    /// How long a name may be.
    fn room_mm(&self) -> f64 {
        self.outer_mm - self.inner_mm - FROM_RIM_MM - 0.4
    }
}

/// From a ring's outer edge to its names.
const FROM_RIM_MM: f64 = 3.5;

/// The three rings of a wheel, from the rim inwards.
struct Rings {
    rings: [Ring; 3],
    /// Whether their names are short: the wheel is too small for them.
    short: bool,
}

impl Rings {
    fn of(phasing: &Phasing, diameter_mm: f64) -> Self {
        let radius = diameter_mm / 2.0;
        let k = radius / MODEL_RADIUS_MM;
        let (outer, inner) = (radius - 12.5 * k, (10.0 * k).max(HUB_MM));
        let third = (outer - inner) / 3.0;
        let size_mm = (2.7 * k).clamp(fonts::LEAST_MM, 4.2);
        let (first, second): (Vec<Event>, Vec<Event>) = events(phasing)
            .into_iter()
            .partition(|event| event.crank_deg < 360.0);
        let mut gone = 0.0;
        let rings = [dead_centres(phasing), first, second].map(|events| {
            let from = outer - gone * third;
            gone += 1.0;
            Ring {
                outer_mm: if gone > 1.0 { from - k } else { from },
                inner_mm: from - third,
                size_mm,
                events,
            }
        });
        let is_long = |ring: &Ring| {
            let longest = ring
                .events
                .iter()
                .map(|event| fonts::width(&event.name, false));
            longest.fold(0.0, f64::max) * fonts::LEAST_MM > ring.room_mm()
        };
        let short = rings.iter().any(is_long);
        Self { rings, short }
    }
}

/// What the hole, its cross and the arrow about it take, from the middle.
const HUB_MM: f64 = 9.6;

/// The wheel itself.
pub fn wheel(phasing: &Phasing, diameter_mm: f64) -> Drawing {
    let radius = diameter_mm / 2.0;
    let k = radius / MODEL_RADIUS_MM;
    let side = diameter_mm + 2.0 * EDGE_MM;
    let centre = DVec2::splat(side / 2.0);
    let against = -phasing.crank_direction().sign();
    let mut drawing = Drawing::new(
        format!(
            "Degree wheel for {}, {} across",
            phasing.engine().name(),
            size(diameter_mm, phasing.engine().written().units)
        ),
        side,
        side,
    );
    drawing.circle(centre, radius, Pen::line(Role::Main, 0.3));
    graduations(&mut drawing, centre, radius, against);
    let Rings { rings, short } = Rings::of(phasing, diameter_mm);
    let last = rings.len() - 1;
    for (index, mut ring) in rings.into_iter().enumerate() {
        drawing.circle(centre, ring.outer_mm, Pen::line(Role::Faint, 0.15));
        let events = std::mem::take(&mut ring.events);
        let taken: Vec<f64> = events
            .iter()
            .map(|event| wrap(event.crank_deg, 360.0))
            .collect();
        names(&mut drawing, centre, &ring, against, events, short);
        if index == last {
            engine_name(
                &mut drawing,
                centre,
                &ring,
                against,
                taken,
                phasing.engine().name(),
            );
        }
    }
    // The hole, and the cross to find its middle by.
    drawing.circle(centre, 5.0, Pen::line(Role::Main, 0.25));
    for arm in [DVec2::new(7.0, 0.0), DVec2::new(0.0, 7.0)] {
        drawing.line(centre - arm, centre + arm, Pen::line(Role::Main, 0.15));
    }
    // The crank, and the wheel with it, turns this way.
    let from = if against < 0.0 { -40.0 } else { 40.0 };
    drawing.turning_arrow(
        centre,
        8.4 * k.max(0.95),
        from,
        -against * 80.0,
        Pen::line(Role::Main, 0.5),
    );
    drawing
}

/// A tick for each degree, every tenth with its number, running `against` the crank.
fn graduations(drawing: &mut Drawing, centre: DVec2, radius: f64, against: f64) {
    let k = radius / MODEL_RADIUS_MM;
    for degree in 0..360_u32 {
        let (length, width) = match degree {
            d if d % 10 == 0 => (6.5, 0.3),
            d if d % 5 == 0 => (5.0, 0.22),
            _ => (3.2, 0.13),
        };
        let at = against * f64::from(degree);
        drawing.line(
            on_clock(centre, radius, at),
            on_clock(centre, radius - length * k, at),
            Pen::line(Role::Main, width),
        );
        if degree % 10 == 0 {
            let place = on_clock(centre, radius - 9.0 * k, at);
            drawing.turned_text(
                place,
                degree.to_string(),
                (3.2 * k).clamp(fonts::LEAST_MM, 5.0),
                Anchor::Middle,
                Role::Main,
                at,
            );
        }
    }
}

/// Names round a ring, kept clear of one another, each with a line to its place.
fn names(
    drawing: &mut Drawing,
    centre: DVec2,
    ring: &Ring,
    against: f64,
    events: Vec<Event>,
    short: bool,
) {
    let mut placed: Vec<(f64, f64, String, f64)> = events
        .into_iter()
        .map(|event| {
            let name = if short { event.short } else { event.name };
            let (name, size) = fonts::fit(&name, ring.size_mm, ring.room_mm(), false);
            let end = ring.outer_mm - FROM_RIM_MM - fonts::width(&name, false) * size;
            (wrap(event.crank_deg, 360.0), end, name, size)
        })
        .collect();
    placed.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut at: Vec<f64> = placed.iter().map(|(at, ..)| *at).collect();
    let count = at.len();
    // Two names keep clear of one another where both still run: at the inner end of the shorter.
    for _ in 0..200 {
        for index in 0..count {
            let next = (index + 1) % count;
            if next == index {
                continue;
            }
            let clear =
                (ring.size_mm * 1.15 / placed[index].1.max(placed[next].1).max(4.0)).to_degrees();
            // On from one to the next: they never change places.
            let gap = wrap(at[next] - at[index], 360.0);
            if gap < clear {
                let push = (clear - gap) / 2.0;
                at[index] -= push;
                at[next] += push;
            }
        }
    }
    for (at, (mark, _, name, size)) in at.into_iter().zip(placed) {
        let (mark, at) = (against * mark, against * at);
        drawing.line(
            on_clock(centre, ring.outer_mm, mark),
            on_clock(centre, ring.outer_mm - 2.0, mark),
            Pen::line(Role::Main, EVENT_MM),
        );
        if (mark - at).abs() > 0.2 {
            drawing.line(
                on_clock(centre, ring.outer_mm - 2.0, mark),
                on_clock(centre, ring.outer_mm - 3.2, at),
                Pen::line(Role::Main, 0.15),
            );
        }
        along_radius(
            drawing,
            centre,
            ring.outer_mm - FROM_RIM_MM,
            at,
            (name, size),
        );
    }
}

/// A text along the radius from its outer end inwards, never upside down.
fn along_radius(
    drawing: &mut Drawing,
    centre: DVec2,
    outer_mm: f64,
    at: f64,
    (text, size): (String, f64),
) {
    let clock = wrap(at, 360.0);
    let (turned, anchor) = if clock < 180.0 {
        (clock - 90.0, Anchor::End)
    } else {
        (clock + 90.0, Anchor::Start)
    };
    drawing.turned_text(
        on_clock(centre, outer_mm, at),
        text,
        size,
        anchor,
        Role::Main,
        turned,
    );
}

/// The engine's name on the wheel itself, in the widest gap of its inmost ring: what is cut out is not
/// mixed up.
fn engine_name(
    drawing: &mut Drawing,
    centre: DVec2,
    ring: &Ring,
    against: f64,
    mut taken: Vec<f64>,
    name: &str,
) {
    const LINES: usize = 3;
    taken.sort_by(f64::total_cmp);
    let first = taken.first().map_or(360.0, |first| first + 360.0);
    let nexts = taken.iter().copied().skip(1).chain([first]);
    let gaps = taken.iter().copied().zip(nexts);
    let widest = gaps.max_by(|one, other| (one.1 - one.0).total_cmp(&(other.1 - other.0)));
    let middle = widest.map_or(90.0, |(from, to)| f64::midpoint(from, to));
    let size = ring.size_mm;
    let mut lines = fonts::lines(name, size, ring.room_mm(), false);
    if lines.len() > LINES {
        let rest = lines.split_off(LINES - 1).join(" ");
        lines.push(fonts::shortened(&rest, size, ring.room_mm(), false));
    }
    let apart = (size * 1.25 / ring.inner_mm.max(HUB_MM)).to_degrees();
    let count = lines.len() as f64;
    // Lines follow one another downwards, on whichever side of the wheel they are.
    let clock = wrap(against * middle, 360.0);
    let way = if clock < 180.0 { 1.0 } else { -1.0 };
    for (line, words) in lines.into_iter().enumerate() {
        let off = way * apart * (line as f64 - (count - 1.0) / 2.0);
        let outer = ring.outer_mm - FROM_RIM_MM;
        along_radius(drawing, centre, outer, clock + off, (words, size));
    }
}

/// A drawing over several pages: each shows a part of it between lines to cut along, and marks that
/// come whole when the parts are joined.
fn tiles(writer: &mut PageWriter, drawing: &Drawing) {
    /// What is drawn beyond the cut, to be glued under the neighbour.
    const UNDER_MM: f64 = 6.0;
    let paper = writer.paper().size_mm();
    let (left, top) = (SIDE_MM + UNDER_MM, 14.0 + UNDER_MM);
    let room = DVec2::new(
        paper.x - 2.0 * left,
        paper.y - FOOT_MM - 12.0 - UNDER_MM - top,
    );
    let (across, down) = (
        joints(drawing.size.x, room.x),
        joints(drawing.size.y, room.y),
    );
    let (columns, rows) = (across.len() - 1, down.len() - 1);
    let tile_at = |column: usize, row: usize| {
        let corner = DVec2::new(across[column], down[row]);
        let end = DVec2::new(across[column + 1], down[row + 1]);
        (corner, end - corner)
    };
    writer.skip(6.0);
    writer.paragraph(
        &format!(
            "The wheel is on {} sheets, {columns} across and {rows} down. Cut each along its dashed lines where another joins it, lay it \
             over what its neighbour shows beyond the line so that the diamonds lie on one another, and glue. Measure the scale line on every sheet.",
            columns * rows
        ),
        PLAIN_MM,
        false,
    );
    writer.skip(3.0);
    let overview = overview(drawing.size, &across, &down);
    let says = "How the sheets of the wheel lie, each with its name.";
    writer.draw(&overview, says, 110.0, 0.0);
    for row in 0..rows {
        for column in 0..columns {
            let name = format!("Degree wheel, sheet {}", tile_name(column, row));
            writer.start_bare(&name);
            let (corner, tile) = tile_at(column, row);
            let shown = (
                corner - DVec2::splat(UNDER_MM),
                corner + tile + DVec2::splat(UNDER_MM),
            );
            let at = DVec2::new(left, top);
            writer.figure(format!("{name}: a part of the wheel."), |writer| {
                let page = writer.page();
                let inside = drawing
                    .items
                    .iter()
                    .filter(|item| reaches(item, shown))
                    .map(|item| item.placed(at - corner, 1.0));
                page.items.extend(inside);
                frame(page, at, tile, UNDER_MM);
            });
            let neighbours = [column > 0, column + 1 < columns, row > 0, row + 1 < rows];
            cuts(writer.page(), at, tile, UNDER_MM, neighbours);
            writer.name_bare();
            writer.scale_line(SIDE_MM, paper.y - FOOT_MM - 1.0);
        }
    }
}

/// A tile's name: its row as a letter, its column as a number.
fn tile_name(column: usize, row: usize) -> String {
    format!("{}{}", char::from(b'A' + row as u8), column + 1)
}

/// The tiles over the wheel's rim, small.
fn overview(size: DVec2, across: &[f64], down: &[f64]) -> Drawing {
    const WIDE_MM: f64 = 100.0;
    let scale = WIDE_MM / size.x;
    let mut drawing = Drawing::new("The sheets of the wheel", WIDE_MM, size.y * scale);
    let middle = size * scale / 2.0;
    drawing.circle(
        middle,
        (size.x / 2.0 - EDGE_MM) * scale,
        Pen::line(Role::Main, 0.4),
    );
    drawing.circle(middle, 1.5, Pen::line(Role::Main, 0.3));
    for (row, rows) in down.windows(2).enumerate() {
        for (column, columns) in across.windows(2).enumerate() {
            let from = DVec2::new(columns[0], rows[0]) * scale;
            let to = DVec2::new(columns[1], rows[1]) * scale;
            drawing.rectangle(from, to, Pen::line(Role::Main, 0.25).dashed());
            let name = tile_name(column, row);
            drawing.bold(from.lerp(to, 0.3), name, 5.0, Anchor::Middle, Role::Main);
        }
    }
    drawing
}

/// Where a length is parted so that each part has room, from 0 to its end: evenly, so that no sheet is all
/// but empty, and with no joint through the middle, where the hole is, as far as there is room.
fn joints(long: f64, room: f64) -> Vec<f64> {
    /// How far a joint keeps from the middle.
    const OFF_MM: f64 = 36.0;
    let parts = (long / room).ceil().max(1.0) as usize;
    let part = long / parts as f64;
    let mut joints: Vec<f64> = (0..=parts).map(|joint| joint as f64 * part).collect();
    if parts.is_multiple_of(2) {
        joints[parts / 2] += OFF_MM.min(room - part);
    }
    joints
}

/// Whether something drawn reaches into a part of the drawing: by its box, a text's taken wide.
fn reaches(item: &crate::drawing::Item, (from, to): (DVec2, DVec2)) -> bool {
    use crate::drawing::Item;
    let overlaps = |least: DVec2, most: DVec2| {
        least.x <= to.x && most.x >= from.x && least.y <= to.y && most.y >= from.y
    };
    match item {
        Item::Path { points, .. } => {
            let least = points
                .iter()
                .copied()
                .reduce(DVec2::min)
                .unwrap_or_default();
            overlaps(
                least,
                points
                    .iter()
                    .copied()
                    .reduce(DVec2::max)
                    .unwrap_or_default(),
            )
        }
        Item::Circle { centre, radius, .. } | Item::Arc { centre, radius, .. } => overlaps(
            *centre - DVec2::splat(*radius),
            *centre + DVec2::splat(*radius),
        ),
        Item::Text {
            at,
            text,
            size,
            bold,
            ..
        } => {
            let reach = DVec2::splat(fonts::width(text, *bold) * size + size);
            overlaps(*at - reach, *at + reach)
        }
    }
}

/// White over what reaches beyond the tile and its edge to glue.
fn frame(page: &mut Drawing, at: DVec2, tile: DVec2, under: f64) {
    let (from, to, end) = (
        at - DVec2::splat(under),
        at + tile + DVec2::splat(under),
        page.size,
    );
    let white = Pen::fill(Role::Paper);
    page.rectangle(DVec2::ZERO, DVec2::new(end.x, from.y), white);
    page.rectangle(DVec2::new(0.0, to.y), end, white);
    page.rectangle(DVec2::ZERO, DVec2::new(from.x, end.y), white);
    page.rectangle(DVec2::new(to.x, 0.0), end, white);
}

/// Dashed lines to cut along and half diamonds to join by, on the sides that have a neighbour:
/// left, right, above, below.
fn cuts(page: &mut Drawing, at: DVec2, tile: DVec2, under: f64, neighbours: [bool; 4]) {
    let (from, to) = (at, at + tile);
    let sides = [
        (from, DVec2::new(from.x, to.y)),
        (DVec2::new(to.x, from.y), to),
        (from, DVec2::new(to.x, from.y)),
        (DVec2::new(from.x, to.y), to),
    ];
    for ((start, end), joined) in sides.into_iter().zip(neighbours) {
        if !joined {
            continue;
        }
        let along = (end - start).normalize_or_zero();
        page.line(
            start - along * under,
            end + along * under,
            Pen::line(Role::Main, 0.2).dashed(),
        );
        for part in [0.25, 0.75] {
            let middle = start + (end - start) * part;
            let across = DVec2::new(-along.y, along.x);
            let diamond =
                [along * 2.5, across * 2.5, along * -2.5, across * -2.5].map(|off| middle + off);
            page.area(diamond.to_vec(), Pen::line(Role::Main, 0.3));
            page.line(
                middle - across * 2.5,
                middle + across * 2.5,
                Pen::line(Role::Main, 0.2),
            );
        }
    }
}
