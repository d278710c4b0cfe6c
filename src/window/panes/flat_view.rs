//! A flat drawing on the screen: size, place, interact, paint.
//!
//! [`place`] gives a [`Drawing`] its part of the screen, and returns what the pointer did and a
//! [`Placement`], which converts points of the screen to millimetres on the drawing. The core says
//! what lies there and how far a drag of it turns the engine.

use std::f32::consts::FRAC_1_SQRT_2;

use egui::epaint::{Mesh, TextShape, Vertex, WHITE_UV};
use egui::{
    Align2, Color32, FontFamily, FontId, Painter, Pos2, Rect, Response, Sense, Shape,
    Stroke as Line, Ui, Vec2, WidgetInfo, WidgetType, pos2,
};
use glam::DVec2;
use lyon_tessellation::path::Path;
use lyon_tessellation::{
    BuffersBuilder, FillOptions, FillTessellator, FillVertex, VertexBuffers, math,
};

use crate::drawing::{Anchor, Drawing, Item, Pen, Role, on_clock};
use crate::window::app::theme;
use crate::window::app::theme::Palette;

/// Type is never painted smaller than this, however small the drawing: it is for reading.
const SMALLEST_TYPE: f32 = 9.0;
/// Between two lines of a hatch.
const HATCH_APART: f32 = 6.0;
/// A corner of an arc at least every so many points of its length.
const ARC_STEP: f64 = 3.0;

/// Where a drawing lies on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placement {
    /// The part of the screen it fills.
    pub(super) rect: Rect,
    points_per_mm: f32,
}

impl Placement {
    /// A drawing of `size` millimetres, as large as `area` allows and centred in it.
    pub(super) fn within(area: Rect, size: DVec2) -> Self {
        let size = Vec2::new(size.x.max(1.0) as f32, size.y.max(1.0) as f32);
        let points_per_mm = (area.width() / size.x)
            .min(area.height() / size.y)
            .max(0.01);
        Self {
            rect: Rect::from_center_size(area.center(), size * points_per_mm),
            points_per_mm,
        }
    }

    /// A place on the drawing, on the screen.
    pub(super) fn on_screen(&self, at: DVec2) -> Pos2 {
        self.rect.min + Vec2::new(at.x as f32, at.y as f32) * self.points_per_mm
    }

    /// A place on the screen, on the drawing, in millimetres; beyond its edges too.
    pub(super) fn on_drawing(&self, at: Pos2) -> DVec2 {
        let off = (at - self.rect.min) / self.points_per_mm;
        DVec2::new(f64::from(off.x), f64::from(off.y))
    }

    fn length(&self, mm: f64) -> f32 {
        mm as f32 * self.points_per_mm
    }
}

/// Allocates `area` for a drawing that can be dragged and clicked, labelled with its title; gives
/// where the drawing lies in it.
///
/// It does not take the keyboard focus: the keys that turn the crank do whatever a drag does.
pub(super) fn place(ui: &mut Ui, title: &str, size: DVec2, area: Vec2) -> (Response, Placement) {
    let (rect, response) = ui.allocate_exact_size(area, Sense::CLICK | Sense::DRAG);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, title));
    (response, Placement::within(rect, size))
}

/// Paints a drawing where it is placed.
pub(super) fn paint(painter: &Painter, placed: &Placement, drawing: &Drawing, palette: &Palette) {
    painter.extend(shapes(placed, drawing, palette));
    write(painter, placed, drawing, palette);
}

/// A drawing's lines and areas as shapes, to be painted as often as they stay the same.
pub(super) fn shapes(placed: &Placement, drawing: &Drawing, palette: &Palette) -> Vec<Shape> {
    let mut shapes = Vec::with_capacity(drawing.items.len());
    for item in &drawing.items {
        match item {
            Item::Path {
                points,
                closed,
                pen,
            } => {
                let corners: Vec<Pos2> = points
                    .iter()
                    .map(|point| placed.on_screen(*point))
                    .collect();
                area_and_line(&mut shapes, placed, corners, *closed, pen, palette);
            }
            Item::Circle {
                centre,
                radius,
                pen,
            } => circle(&mut shapes, placed, *centre, *radius, pen, palette),
            Item::Arc {
                centre,
                radius,
                from_deg,
                sweep_deg,
                pen,
            } => {
                let corners = arc(placed, *centre, *radius, *from_deg, *sweep_deg);
                area_and_line(&mut shapes, placed, corners, false, pen, palette);
            }
            Item::Text { .. } => {}
        }
    }
    shapes
}

/// A drawing's text. It is laid out anew each time: egui moves its glyphs in the texture when it
/// needs space or another size.
pub(super) fn write(painter: &Painter, placed: &Placement, drawing: &Drawing, palette: &Palette) {
    let bold = theme::bold(painter.ctx());
    for item in &drawing.items {
        let Item::Text {
            at,
            text,
            size,
            anchor,
            turned_deg,
            role,
            bold: is_bold,
        } = item
        else {
            continue;
        };
        let align = match anchor {
            Anchor::Start => Align2::LEFT_CENTER,
            Anchor::Middle => Align2::CENTER_CENTER,
            Anchor::End => Align2::RIGHT_CENTER,
        };
        let family = if *is_bold {
            bold.clone()
        } else {
            FontFamily::Proportional
        };
        let font = FontId::new(placed.length(*size).max(SMALLEST_TYPE), family);
        // A line that is longer than its drawing is wide goes on below.
        let wide = if *turned_deg == 0.0 {
            placed.rect.width()
        } else {
            f32::INFINITY
        };
        let galley = painter.layout(text.clone(), font, palette.ink(*role), wide);
        let mut at = align.anchor_size(placed.on_screen(*at), galley.size());
        if *turned_deg == 0.0 {
            at = kept_within(at, placed.rect);
        }
        let at = at.min;
        let shape = TextShape::new(at, galley, palette.ink(*role));
        painter.add(shape.with_angle_and_anchor((*turned_deg as f32).to_radians(), align));
    }
}

/// A text's place, moved so far that it does not leave its drawing: letters have a smallest size, and
/// on a small drawing they reach further than they do on paper.
fn kept_within(text: Rect, drawing: Rect) -> Rect {
    let back = (text.max - drawing.max).max(Vec2::ZERO);
    let text = text.translate(-back);
    text.translate((drawing.min - text.min).max(Vec2::ZERO))
}

fn circle(
    shapes: &mut Vec<Shape>,
    placed: &Placement,
    centre: DVec2,
    radius: f64,
    pen: &Pen,
    palette: &Palette,
) {
    if pen.dashed {
        let corners = arc(placed, centre, radius, 0.0, 360.0);
        area_and_line(shapes, placed, corners, true, pen, palette);
        return;
    }
    let (centre, radius) = (placed.on_screen(centre), placed.length(radius));
    if pen.filled {
        shapes.push(Shape::circle_filled(centre, radius, palette.area(pen.role)));
    }
    if pen.width > 0.0 {
        shapes.push(Shape::circle_stroke(
            centre,
            radius,
            line_of(placed, pen, palette),
        ));
    }
}

/// The corners of an arc, near enough together that none is seen.
fn arc(placed: &Placement, centre: DVec2, radius: f64, from_deg: f64, sweep_deg: f64) -> Vec<Pos2> {
    let length = f64::from(placed.length(radius)) * sweep_deg.to_radians().abs();
    let pieces = (length / ARC_STEP).ceil().clamp(2.0, 720.0);
    let corner = |index: u32| {
        placed.on_screen(on_clock(
            centre,
            radius,
            from_deg + sweep_deg * f64::from(index) / pieces,
        ))
    };
    (0..=pieces as u32).map(corner).collect()
}

fn line_of(placed: &Placement, pen: &Pen, palette: &Palette) -> Line {
    Line::new(placed.length(pen.width).max(1.0), palette.ink(pen.role))
}

fn area_and_line(
    shapes: &mut Vec<Shape>,
    placed: &Placement,
    corners: Vec<Pos2>,
    closed: bool,
    pen: &Pen,
    palette: &Palette,
) {
    if pen.filled && corners.len() > 2 {
        shapes.push(filled(&corners, palette.area(pen.role)));
        hatch(shapes, &corners, pen.role, palette.ink(pen.role));
    }
    if pen.width <= 0.0 {
        return;
    }
    let line = line_of(placed, pen, palette);
    if pen.dashed {
        let mut way = corners;
        if closed {
            way.extend(way.first().copied());
        }
        shapes.extend(Shape::dashed_line(&way, line, 5.0, 3.5));
    } else if closed {
        shapes.push(Shape::closed_line(corners, line));
    } else {
        shapes.push(Shape::line(corners, line));
    }
}

/// An area of any outline. Where it cannot be cut into triangles (corners that are no numbers)
/// nothing is drawn.
fn filled(corners: &[Pos2], ink: Color32) -> Shape {
    let mut outline = Path::builder();
    let mut corners = corners
        .iter()
        .filter(|corner| corner.is_finite())
        .map(|corner| math::point(corner.x, corner.y));
    let Some(first) = corners.next() else {
        return Shape::Noop;
    };
    outline.begin(first);
    corners.for_each(|corner| {
        outline.line_to(corner);
    });
    outline.close();
    let mut buffers: VertexBuffers<Vertex, u32> = VertexBuffers::new();
    let mut build = BuffersBuilder::new(&mut buffers, |vertex: FillVertex<'_>| Vertex {
        pos: pos2(vertex.position().x, vertex.position().y),
        uv: WHITE_UV,
        color: ink,
    });
    match FillTessellator::new().tessellate_path(
        &outline.build(),
        &FillOptions::default(),
        &mut build,
    ) {
        Ok(()) => Shape::mesh(Mesh {
            indices: buffers.indices,
            vertices: buffers.vertices,
            ..Mesh::default()
        }),
        Err(_) => Shape::Noop,
    }
}

/// Hatches the area of a stroke or a valve, so that it is known without its colour: the same
/// hatches as on paper.
fn hatch(shapes: &mut Vec<Shape>, corners: &[Pos2], role: Role, ink: Color32) {
    const FALLING: Vec2 = Vec2::new(FRAC_1_SQRT_2, FRAC_1_SQRT_2);
    const RISING: Vec2 = Vec2::new(FRAC_1_SQRT_2, -FRAC_1_SQRT_2);
    let directions: &[Vec2] = match role {
        Role::Power => &[FALLING, RISING],
        Role::Exhaust => &[FALLING],
        Role::Intake => &[RISING],
        Role::Compression => &[Vec2::X],
        _ => return,
    };
    let line = Line::new(1.0, ink.gamma_multiply(0.6));
    for direction in directions {
        shapes.extend(
            hatch_lines(corners, *direction)
                .into_iter()
                .map(|ends| Shape::line_segment(ends, line)),
        );
    }
}

/// The pieces of parallel lines that lie inside an outline: where each line crosses it, by the
/// even-odd rule. The lines lie at whole steps across the screen, so that the hatch runs through
/// from one area to the next.
fn hatch_lines(corners: &[Pos2], along: Vec2) -> Vec<[Pos2; 2]> {
    /// More rows than any screen has.
    const MOST_ROWS: f32 = 4096.0;
    let across = along.rot90();
    let turned: Vec<Pos2> = corners
        .iter()
        .map(|corner| pos2(corner.to_vec2().dot(along), corner.to_vec2().dot(across)))
        .collect();
    let least = turned
        .iter()
        .fold(f32::INFINITY, |least, corner| least.min(corner.y));
    let most = turned
        .iter()
        .fold(f32::NEG_INFINITY, |most, corner| most.max(corner.y));
    let mut pieces = Vec::new();
    let mut crossings = Vec::new();
    let (mut row, last) = ((least / HATCH_APART).ceil(), (most / HATCH_APART).floor());
    if !(last - row).is_finite() || last - row > MOST_ROWS {
        return pieces;
    }
    while row <= last {
        let y = row * HATCH_APART;
        crossings.clear();
        for (one, other) in turned.iter().zip(turned.iter().cycle().skip(1)) {
            if (one.y <= y) != (other.y <= y) {
                crossings.push(one.x + (other.x - one.x) * (y - one.y) / (other.y - one.y));
            }
        }
        crossings.sort_by(f32::total_cmp);
        for ends in crossings.chunks_exact(2) {
            pieces.push([
                (along * ends[0] + across * y).to_pos2(),
                (along * ends[1] + across * y).to_pos2(),
            ]);
        }
        row += 1.0;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::drawing::strokes;
    use crate::phasing::Stroke;

    #[test]
    fn a_point_carried_to_the_screen_and_back_is_the_same_point() {
        let placed = Placement::within(
            Rect::from_min_size(pos2(40.0, 10.0), Vec2::new(300.0, 200.0)),
            DVec2::new(90.0, 90.0),
        );
        assert_eq!(placed.rect.size(), Vec2::splat(200.0));
        assert_eq!(placed.rect.center(), pos2(190.0, 110.0));
        let there = DVec2::new(12.5, 77.0);
        assert!((placed.on_drawing(placed.on_screen(there)) - there).length() < 1e-4);
    }

    #[test]
    fn a_text_that_would_leave_its_drawing_is_moved_back_and_no_other_is() {
        let drawing = Rect::from_min_size(pos2(40.0, 10.0), Vec2::new(300.0, 200.0));
        let text = |x: f32, y: f32| Rect::from_min_size(pos2(x, y), Vec2::new(80.0, 20.0));
        assert_eq!(kept_within(text(50.0, 60.0), drawing), text(50.0, 60.0));
        assert_eq!(kept_within(text(12.0, 60.0), drawing), text(40.0, 60.0));
        assert_eq!(kept_within(text(300.0, 205.0), drawing), text(260.0, 190.0));
    }

    #[test]
    fn a_hatch_stays_inside_a_square_and_leaves_a_notch_free() {
        let notched = [
            (0.0, 1.0),
            (40.0, 1.0),
            (40.0, 41.0),
            (30.0, 41.0),
            (30.0, 11.0),
            (10.0, 11.0),
            (10.0, 41.0),
            (0.0, 41.0),
        ];
        let pieces = hatch_lines(&notched.map(|(x, y)| pos2(x, y)), Vec2::X);
        // The row at 6 whole; those at 12, 18, 24, 30, 36 in two.
        assert_eq!(pieces.len(), 1 + 5 * 2);
        for [from, to] in pieces {
            let middle = from + (to - from) / 2.0;
            let in_notch = middle.y > 11.0 && middle.x > 10.0 && middle.x < 30.0;
            assert!(
                !in_notch && (0.0..=40.0).contains(&middle.x),
                "{from:?} {to:?}"
            );
        }
    }

    #[test]
    fn each_stroke_has_a_hatch_of_its_own_and_nothing_else_has_one() {
        let square = [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)].map(|(x, y)| pos2(x, y));
        let hatched = |role| {
            let mut shapes = Vec::new();
            hatch(&mut shapes, &square, role, Color32::BLACK);
            shapes
        };
        let strokes = Stroke::ALL.map(|stroke| hatched(strokes::role(stroke)));
        for (i, shapes) in strokes.iter().enumerate() {
            assert!(
                !shapes.is_empty() && !strokes[..i].contains(shapes),
                "{:?}",
                Stroke::ALL[i]
            );
        }
        assert!(hatched(Role::Metal).is_empty());
    }

    #[test]
    fn a_filled_gear_shape_covers_its_own_area_and_no_more() {
        // An arrowhead: not convex. A triangle of 200 × 100 / 2 less a notch of 200 × 60 / 2.
        let head = [
            pos2(0.0, 0.0),
            pos2(100.0, 100.0),
            pos2(0.0, 40.0),
            pos2(-100.0, 100.0),
        ];
        let Shape::Mesh(mesh) = filled(&head, Color32::BLACK) else {
            panic!("a mesh")
        };
        let corner = |index: u32| mesh.vertices[index as usize].pos;
        let area: f32 = mesh
            .indices
            .chunks_exact(3)
            .map(|t| {
                let (a, b, c) = (corner(t[0]), corner(t[1]), corner(t[2]));
                ((b - a).x * (c - a).y - (b - a).y * (c - a).x).abs() / 2.0
            })
            .sum();
        assert!((area - 4000.0).abs() < 1.0, "{area}");
    }

    #[test]
    fn an_outline_that_is_no_number_is_left_out() {
        assert!(matches!(
            filled(&[Pos2::new(f32::NAN, 0.0)], Color32::BLACK),
            Shape::Noop
        ));
        assert!(
            hatch_lines(
                &[
                    pos2(f32::INFINITY, 0.0),
                    pos2(0.0, f32::NAN),
                    pos2(9.0, 9.0)
                ],
                Vec2::X
            )
            .is_empty()
        );
    }

    #[test]
    fn a_drawing_is_found_by_its_title() {
        let drawing = Drawing {
            title: "The cap from above".into(),
            size: DVec2::new(80.0, 60.0),
            items: vec![
                Item::Circle {
                    centre: DVec2::new(40.0, 30.0),
                    radius: 20.0,
                    pen: Pen::fill(Role::Metal),
                },
                Item::Arc {
                    centre: DVec2::new(40.0, 30.0),
                    radius: 24.0,
                    from_deg: 0.0,
                    sweep_deg: 90.0,
                    pen: Pen::line(Role::Intake, 1.0).dashed(),
                },
            ],
            ..Drawing::default()
        };
        let harness = Harness::new_ui(move |ui| {
            let (_, placed) = place(ui, &drawing.title, drawing.size, Vec2::new(320.0, 240.0));
            paint(ui.painter(), &placed, &drawing, &Palette::of(ui.ctx()));
        });
        assert_eq!(
            harness.get_by_label("The cap from above").rect().size(),
            Vec2::new(320.0, 240.0)
        );
    }
}
