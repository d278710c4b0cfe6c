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
use crate::words::{joined, size};

/// As large as goes on either paper.
pub(super) const USUAL_MM: f64 = 180.0;
/// The least diameter that can be read, and the most that anyone would glue together.
pub const RANGE_MM: std::ops::RangeInclusive<f64> = 100.0..=600.0;

/// The pen of a tick that marks an event: no other line on the wheel is as wide.
pub const EVENT_MM: f64 = 0.45;
const EDGE_MM: f64 = 1.0;
/// The wheel's measures are given for this radius.
const MODEL_RADIUS_MM: f64 = 90.0;

/// On one page where it goes, else over several, to be cut and joined.
pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing, diameter_mm: f64) {
    writer.start("Degree wheel", Over::Short);
    let wheel = wheel(phasing, diameter_mm);
    let under = 30.0;
    let room = writer.foot() - writer.y();
    let fits = wheel.size.x <= writer.wide() && wheel.size.y <= room - under;
    if fits {
        writer.draw(&wheel, wheel.size.x, 0.0);
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
    writer.paragraph(
        &format!(
            "{diameter} across. Print at 100 %, without fitting to the page. A pointer that stands still reads how far the crank has \
             come past No. 1's TDC. Rings from the rim inwards: dead centres; the turn from No. 1's firing TDC; the turn from its \
             overlap TDC.{valves}"
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
}

/// What happens to No. 1 over both turns, and who fires when.
fn events(phasing: &Phasing) -> Vec<Event> {
    let ahead = |valve: Valve| phasing.number_one_ahead(valve).degrees();
    let (intake, exhaust) = (phasing.intake(), phasing.exhaust());
    let (intake_ahead, exhaust_ahead) = (ahead(Valve::Intake), ahead(Valve::Exhaust));
    let mut events: Vec<Event> = [
        ("intake opens", intake.opens_deg(), intake_ahead),
        ("intake closes", intake.closes_deg(), intake_ahead),
        ("exhaust opens", exhaust.opens_deg(), exhaust_ahead),
        ("exhaust closes", exhaust.closes_deg(), exhaust_ahead),
    ]
    .into_iter()
    .map(|(name, at, ahead)| Event {
        crank_deg: wrap(at - ahead, 720.0),
        name: name.to_owned(),
    })
    .collect();
    if let Some(one) = phasing.cylinder(1) {
        events.push(Event {
            crank_deg: one.spark.degrees(),
            name: "spark 1".to_owned(),
        });
        events.extend(one.wasted_spark.map(|wasted| Event {
            crank_deg: wasted.degrees(),
            name: "wasted spark 1".to_owned(),
        }));
    }
    let mut firing: Vec<(f64, Vec<u8>)> = Vec::new();
    for cylinder in phasing.cylinders() {
        gather(&mut firing, cylinder.fires.degrees(), cylinder.number);
    }
    events.extend(firing.into_iter().map(|(crank_deg, numbers)| Event {
        crank_deg,
        name: format!("{} fires", joined(&numbers, " ")),
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
}

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
    let size_mm = (2.7 * k).clamp(1.7, 4.2);
    let rings = [(12.5, 35.0), (36.0, 57.5), (58.5, 80.0)].map(|(outer, inner)| Ring {
        outer_mm: radius - outer * k,
        inner_mm: radius - inner * k,
        size_mm,
    });
    for ring in &rings {
        drawing.circle(centre, ring.outer_mm, Pen::line(Role::Faint, 0.15));
    }
    let [dead, firing, overlap] = rings;
    let (first, second): (Vec<Event>, Vec<Event>) = events(phasing)
        .into_iter()
        .partition(|event| event.crank_deg < 360.0);
    for (ring, events) in [
        (dead, dead_centres(phasing)),
        (firing, first),
        (overlap, second),
    ] {
        names(&mut drawing, centre, &ring, against, events);
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
                (3.2 * k).clamp(1.9, 5.0),
                Anchor::Middle,
                Role::Main,
                at,
            );
        }
    }
}

/// Names round a ring, kept clear of one another, each with a line to its place.
fn names(drawing: &mut Drawing, centre: DVec2, ring: &Ring, against: f64, events: Vec<Event>) {
    let room = ring.outer_mm - ring.inner_mm - 4.0;
    let mut placed: Vec<(f64, f64, Event, f64)> = events
        .into_iter()
        .map(|event| {
            let size = fonts::fitted(&event.name, ring.size_mm, room, false);
            let end = ring.outer_mm - 3.5 - fonts::width(&event.name, false) * size;
            (wrap(event.crank_deg, 360.0), end, event, size)
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
    for (at, (mark, _, event, size)) in at.into_iter().zip(placed) {
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
        // Along the radius, never upside down.
        let clock = wrap(at, 360.0);
        let (turned, anchor) = if clock < 180.0 {
            (clock - 90.0, Anchor::End)
        } else {
            (clock + 90.0, Anchor::Start)
        };
        drawing.turned_text(
            on_clock(centre, ring.outer_mm - 3.5, at),
            event.name,
            size,
            anchor,
            Role::Main,
            turned,
        );
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
    let (columns, rows) = (
        (drawing.size.x / room.x).ceil(),
        (drawing.size.y / room.y).ceil(),
    );
    // Whole sheets first: the joints then keep off the middle, where the hole and most of the names
    // are.
    let tile_at = |column: usize, row: usize| {
        let corner = DVec2::new(column as f64 * room.x, row as f64 * room.y);
        (corner, room.min(drawing.size - corner))
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
    for row in 0..rows as usize {
        for column in 0..columns as usize {
            let name = format!(
                "Degree wheel, sheet {}{}",
                char::from(b'A' + row as u8),
                column + 1
            );
            writer.start_bare(&name);
            let (corner, tile) = tile_at(column, row);
            let shown = (
                corner - DVec2::splat(UNDER_MM),
                corner + tile + DVec2::splat(UNDER_MM),
            );
            let at = DVec2::new(left, top);
            let page = writer.page();
            let inside = drawing
                .items
                .iter()
                .filter(|item| reaches(item, shown))
                .map(|item| item.placed(at - corner, 1.0));
            page.items.extend(inside);
            frame(page, at, tile, UNDER_MM);
            let neighbours = [
                column > 0,
                column + 1 < columns as usize,
                row > 0,
                row + 1 < rows as usize,
            ];
            cuts(page, at, tile, UNDER_MM, neighbours);
            writer.name_bare();
            writer.scale_line(SIDE_MM, paper.y - FOOT_MM - 1.0);
        }
    }
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
