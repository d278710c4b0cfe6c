//! The flat views beside the 3D one, drawn with the same numbers. Each can be folded away or
//! enlarged, and dragging in any of them turns the engine.
//!
//! The core draws them and says how far a drag turns the engine ([`View`]); here they are placed,
//! painted and dragged. What never moves is turned into shapes once for a placement and a theme;
//! only what moves is made anew in each frame.

use std::sync::Arc;

use egui::collapsing_header::CollapsingState;
use egui::{Align, Layout, RichText, Shape, Ui, Vec2, WidgetInfo, WidgetType};
use glam::DVec2;

use super::flat_view;
use super::flat_view::Placement;
use crate::angle::{CamTurn, CrankAngle, CrankTurn};
use crate::drawing::cap::Cap;
use crate::drawing::degree_wheel::DegreeWheel;
use crate::drawing::gear_face::GearFace;
use crate::drawing::lift_curves::LiftCurves;
use crate::drawing::stroke_ribbon::StrokeRibbon;
use crate::drawing::{Drawing, Role, View, section};
use crate::engine::Assembly;
use crate::engine::Engine;
use crate::phasing::{Phasing, Reading};
use crate::window::app::theme::{Palette, Theme, strong};

/// What is out of the engine, as far as a view shows it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Out {
    /// The cylinders whose leads are on nothing.
    pub(super) leads: Vec<u8>,
    /// The camshafts that are out of mesh, counted from 0 as they are described.
    pub(super) camshafts: Vec<usize>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum ViewKind {
    /// The gears or the chain from the front, with their dots.
    Gears,
    /// The cap from above.
    Cap,
    /// The degree wheel of the cylinder that is followed.
    Wheel,
    /// Its valve lifts.
    Lifts,
    /// Every cylinder's strokes.
    Strokes,
    /// The engine cut open, from the front.
    Front,
    /// The engine cut open, along the crank.
    Along,
}

impl ViewKind {
    /// In the order they stand.
    pub(super) const ALL: [Self; 7] = [
        Self::Gears,
        Self::Cap,
        Self::Strokes,
        Self::Wheel,
        Self::Lifts,
        Self::Front,
        Self::Along,
    ];

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Gears => "Timing marks",
            Self::Cap => "Cap from above",
            Self::Wheel => "Degree wheel",
            Self::Lifts => "Valve lift",
            Self::Strokes => "Strokes",
            Self::Front => "Cut open, front",
            Self::Along => "Cut open, side",
        }
    }

    /// Whether it stands open before anyone has chosen.
    fn stands_open(self) -> bool {
        matches!(self, Self::Gears | Self::Cap | Self::Strokes)
    }

    fn made(
        self,
        phasing: &Phasing,
        followed: u8,
        out: &Out,
    ) -> Option<Box<dyn View + Send + Sync>> {
        match self {
            Self::Gears => Some(Box::new(GearFace::with_cams_out(phasing, &out.camshafts))),
            Self::Cap => Some(Box::new(Cap::with_leads_off(phasing, &out.leads)?)),
            Self::Wheel => Some(Box::new(DegreeWheel::new(phasing, followed)?)),
            Self::Lifts => Some(Box::new(LiftCurves::new(phasing, followed)?)),
            Self::Strokes => Some(Box::new(StrokeRibbon::new(phasing))),
            Self::Front => Some(Box::new(section::FromTheFront::new(phasing))),
            Self::Along => Some(Box::new(section::AlongTheCrank::new(phasing))),
        }
    }
}

/// No view in the column is made lower than this for want of room, points.
const LOWEST_VIEW: f32 = 80.0;

/// What the user did to the engine in a flat view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum ViewResponse {
    /// Turn the crank by so much.
    TurnBy(CrankTurn),
    /// Turn the crank there.
    TurnTo(CrankAngle),
    /// Turn a camshaft that is out by so much.
    Cam(usize, CamTurn),
}

/// One view, with what was computed for it last.
#[derive(Default)]
struct CachedView {
    view: Option<Box<dyn View + Send + Sync>>,
    made_for: Option<(Arc<Engine>, Assembly, u8, Out)>,
    still: Vec<Shape>,
    still_for: Option<(Placement, Theme, bool)>,
    /// Where on the drawing the drag began, and where the pointer was last.
    dragged: Option<(DVec2, DVec2)>,
}

impl CachedView {
    /// Makes the view anew where the engine, how it was put together, or the cylinder that is
    /// followed has changed.
    fn refresh(&mut self, which: ViewKind, phasing: &Phasing, followed: u8, out: &Out) {
        let same = self
            .made_for
            .as_ref()
            .is_some_and(|(engine, assembly, cylinder, was_out)| {
                Arc::ptr_eq(engine, phasing.engine())
                    && assembly == phasing.assembly()
                    && *cylinder == followed
                    && was_out == out
            });
        if !same {
            self.view = which.made(phasing, followed, out);
            self.made_for = Some((
                Arc::clone(phasing.engine()),
                phasing.assembly().clone(),
                followed,
                out.clone(),
            ));
            self.still_for = None;
        }
    }

    /// Shows it in `area`; gives how the user turned the crank in it.
    fn show(
        &mut self,
        ui: &mut Ui,
        reading: &Reading,
        area: Vec2,
        without_ghosts: bool,
    ) -> Option<ViewResponse> {
        let view = self.view.as_deref()?;
        let seen = |mut drawing: Drawing| {
            if without_ghosts {
                drawing.leave_out(Role::Ghost);
            }
            drawing
        };
        let still = view.still();
        let (response, placed) = flat_view::place(ui, &still.title, still.size, area);
        if ui.is_rect_visible(response.rect) {
            let painter = ui.painter_at(response.rect);
            let (palette, theme) = (Palette::of(ui.ctx()), Theme::of(ui.ctx()));
            let wanted = Some((placed, theme, without_ghosts));
            if self.still_for != wanted {
                self.still = flat_view::shapes(&placed, &seen(still.clone()), &palette);
                self.still_for = wanted;
            }
            painter.rect_filled(response.rect, 3.0, palette.field);
            painter.extend(self.still.iter().cloned());
            flat_view::write(&painter, &placed, still, &palette);
            flat_view::paint(&painter, &placed, &seen(view.moving(reading)), &palette);
        }
        let pointer = response
            .interact_pointer_pos()
            .map(|at| placed.on_drawing(at));
        if response.clicked() {
            return pointer
                .and_then(|at| view.crank_at(at))
                .map(ViewResponse::TurnTo);
        }
        if response.drag_started() {
            self.dragged = ui
                .input(|input| input.pointer.press_origin())
                .map(|at| (placed.on_drawing(at), placed.on_drawing(at)));
        }
        if !response.dragged() {
            self.dragged = None;
            return None;
        }
        let ((start, from), to) = (self.dragged?, pointer?);
        if let Some((camshaft, turn)) = view.drag_cam(start, from, to) {
            self.dragged = Some((start, to));
            return (turn.degrees() != 0.0).then_some(ViewResponse::Cam(camshaft, turn));
        }
        let turn = view
            .drag(start, from, to)
            .filter(|turn| turn.degrees() != 0.0)?;
        self.dragged = Some((start, to));
        Some(ViewResponse::TurnBy(turn))
    }

    /// The height a view wants in a column of this width.
    fn height(&self, width: f32) -> f32 {
        let size = self
            .view
            .as_ref()
            .map_or(DVec2::ONE, |view| view.still().size);
        width * (size.y / size.x.max(1.0)) as f32
    }
}

/// All flat views, and which of them is enlarged.
#[derive(Default)]
pub(super) struct FlatViews {
    cached: [CachedView; ViewKind::ALL.len()],
    enlarged: Option<ViewKind>,
    without_ghosts: bool,
    /// While a camshaft is out, what is timed by it is not drawn.
    out: Out,
}

impl FlatViews {
    /// Whether a part that is put together wrong is drawn where it belongs too, as a ghost.
    pub(super) fn show_ghosts(&mut self, shown: bool) {
        self.without_ghosts = !shown;
    }

    /// This is out of the engine.
    pub(super) fn is_out(&mut self, out: Out) {
        self.out = out;
    }

    /// The view that fills the middle of the window, where one does.
    pub(super) fn enlarged(&self) -> Option<ViewKind> {
        self.enlarged
    }

    /// Puts a view in the middle of the window, or gives the middle back to the 3D engine.
    #[cfg(test)]
    fn enlarge(&mut self, which: Option<ViewKind>) {
        self.enlarged = which;
    }

    /// The views under one another, each under its name.
    pub(super) fn show_column(
        &mut self,
        ui: &mut Ui,
        phasing: &Phasing,
        reading: &Reading,
        followed: u8,
    ) -> Option<(ViewKind, ViewResponse)> {
        let mut ask = None;
        // Under its name each is seen whole, in a low window too.
        let name_high = ui.spacing().interact_size.y + 2.0 * ui.spacing().item_spacing.y;
        let highest = (ui.clip_rect().height() - name_high).max(LOWEST_VIEW);
        for (which, cached) in ViewKind::ALL.into_iter().zip(&mut self.cached) {
            cached.refresh(which, phasing, followed, &self.out);
            let by_the_cam = !self.out.camshafts.is_empty() && which != ViewKind::Gears;
            if cached.view.is_none() || by_the_cam || self.enlarged == Some(which) {
                continue;
            }
            let id = ui.make_persistent_id(which);
            let folded = CollapsingState::load_with_default_open(ui.ctx(), id, which.stands_open());
            let mut enlarge = false;
            let header = folded.show_header(ui, |ui| {
                // The button has its place first: a name too long for the rest is cut short, and
                // whole when pointed at.
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    enlarge = enlarge_button(ui, which);
                    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                        ui.add(egui::Label::new(strong(ui.ctx(), which.word())).truncate());
                    });
                });
            });
            let (fold, _, body) = header.body_unindented(|ui| {
                let width = ui.available_width();
                let area = Vec2::new(width, cached.height(width).min(highest));
                cached.show(ui, reading, area, self.without_ghosts)
            });
            ui.ctx().accesskit_node_builder(fold.id, |node| {
                node.set_role(egui::accesskit::Role::Button);
                node.set_label(format!("Show or fold away: {}", which.word()));
            });
            ask = body
                .and_then(|body| body.inner)
                .map(|response| (which, response))
                .or(ask);
            if enlarge {
                self.enlarged = Some(which);
            }
        }
        ask
    }

    /// The enlarged view, as large as it can be, with a button that closes it. Nothing where none
    /// is enlarged, or where this engine lacks what it shows.
    pub(super) fn show_enlarged(
        &mut self,
        ui: &mut Ui,
        phasing: &Phasing,
        reading: &Reading,
        followed: u8,
    ) -> Option<(ViewKind, ViewResponse)> {
        let which = self.enlarged?;
        let cached = self
            .cached
            .iter_mut()
            .zip(ViewKind::ALL)
            .find(|(_, each)| *each == which)
            .map(|(cached, _)| cached)?;
        cached.refresh(which, phasing, followed, &self.out);
        let mut back =
            cached.view.is_none() || ui.input(|input| input.key_pressed(egui::Key::Escape));
        ui.horizontal(|ui| {
            back |= ui
                .button("Back to the engine")
                .on_hover_text("Escape does the same")
                .clicked();
            ui.label(RichText::new(which.word()).heading());
        });
        if back {
            self.enlarged = None;
        }
        cached
            .show(ui, reading, ui.available_size(), self.without_ghosts)
            .map(|ask| (which, ask))
    }
}

fn enlarge_button(ui: &mut Ui, which: ViewKind) -> bool {
    let name = format!("Enlarge: {}", which.word());
    let response = ui.small_button("Enlarge");
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &name));
    response.on_hover_text(name).clicked()
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use egui::{Event, PointerButton, Pos2, Rect, pos2};
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;

    struct Bench {
        views: FlatViews,
        phasing: Phasing,
        crank: CrankAngle,
    }

    fn bench(which: ViewKind) -> Bench {
        let mut views = FlatViews::default();
        views.enlarge(Some(which));
        Bench {
            views,
            phasing: Phasing::as_drawn(&BENCH.engine()),
            crank: CrankAngle::new(0.0),
        }
    }

    fn show(ui: &mut Ui, bench: &mut Bench) {
        let reading = bench.phasing.at(bench.crank);
        match bench.views.show_enlarged(ui, &bench.phasing, &reading, 1) {
            Some((_, ViewResponse::TurnBy(turn))) => bench.crank += turn,
            Some((_, ViewResponse::TurnTo(there))) => bench.crank = there,
            Some((_, ViewResponse::Cam(..))) | None => {}
        }
    }

    fn harness(which: ViewKind) -> Harness<'static, Bench> {
        Harness::builder()
            .with_size([700.0, 700.0])
            .build_ui_state(show, bench(which))
    }

    fn button(harness: &mut Harness<'_, Bench>, pos: Pos2, pressed: bool) {
        harness.event(Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: egui::Modifiers::NONE,
        });
        harness.run();
    }

    fn drag(harness: &mut Harness<'_, Bench>, way: &[Pos2]) {
        harness.event(Event::PointerMoved(way[0]));
        harness.run();
        button(harness, way[0], true);
        for at in &way[1..] {
            harness.event(Event::PointerMoved(*at));
            harness.run();
        }
        button(harness, way[way.len() - 1], false);
    }

    #[test]
    fn a_quarter_turn_drawn_round_the_degree_wheel_turns_the_crank_a_quarter() {
        let mut harness = harness(ViewKind::Wheel);
        let rect = harness
            .get_by_label("Degree wheel of Bench four, No. 1")
            .rect();
        let (middle, reach) = (rect.center(), rect.width().min(rect.height()) * 0.3);
        let way: Vec<Pos2> = (0..=18)
            .map(|step| {
                let (sin, cos) = (step as f32 * 5.0).to_radians().sin_cos();
                middle + Vec2::new(sin, -cos) * reach
            })
            .collect();
        drag(&mut harness, &way);
        let crank = harness.state().crank.degrees();
        assert!((crank - 90.0).abs() < 2.0, "{crank}");
    }

    #[test]
    fn a_wheel_once_held_turns_on_though_the_pointer_leaves_it() {
        let mut harness = harness(ViewKind::Wheel);
        let rect = harness
            .get_by_label("Degree wheel of Bench four, No. 1")
            .rect();
        let (middle, reach) = (rect.center(), rect.width().min(rect.height()) * 0.3);
        let off = |x: f32, y: f32| middle + Vec2::new(x, y) * reach;
        // From the top, well out of the rim to the right, back in at the foot: half a turn.
        drag(
            &mut harness,
            &[
                off(0.0, -1.0),
                off(0.5, -1.0),
                off(2.2, 0.0),
                off(0.5, 1.0),
                off(0.0, 1.0),
            ],
        );
        let crank = harness.state().crank.degrees();
        assert!((crank - 180.0).abs() < 0.1, "{crank}");
    }

    #[test]
    fn in_a_low_window_a_view_of_the_column_is_seen_whole() {
        let mut views = FlatViews::default();
        let phasing = Phasing::as_drawn(&BENCH.engine());
        let reading = phasing.at(CrankAngle::new(0.0));
        let harness = Harness::builder().with_size([400.0, 280.0]).build_ui(|ui| {
            egui::ScrollArea::vertical().show(ui, |ui| {
                views.show_column(ui, &phasing, &reading, 1);
            });
        });
        let cap = harness
            .get_by_label_contains("looking down on its cap")
            .rect();
        assert!(cap.height() < 280.0 - 24.0, "{cap:?}");
        assert!(cap.height() > 200.0, "{cap:?}");
    }

    #[test]
    fn the_cursor_over_the_lift_curves_goes_where_it_is_drawn() {
        let mut harness = harness(ViewKind::Lifts);
        let rect = harness
            .get_by_label("Valve lift of Bench four, No. 1")
            .rect();
        let from = pos2(rect.left() + rect.width() * 0.25, rect.center().y);
        let to = from + Vec2::new(rect.width() * 0.5, 0.0);
        drag(&mut harness, &[from, from + Vec2::new(40.0, 0.0), to]);
        let crank = harness.state().crank.degrees();
        // Half of the drawing is a little more than half of the axis.
        assert!((360.0..420.0).contains(&crank), "{crank}");
    }

    #[test]
    fn a_click_in_the_ribbon_turns_the_crank_there() {
        let mut harness = harness(ViewKind::Strokes);
        let rect = harness
            .get_by_label("Strokes of Bench four, in firing order")
            .rect();
        let at = rect.center();
        drag(&mut harness, &[at]);
        let crank = harness.state().crank.degrees();
        assert!((300.0..400.0).contains(&crank), "{crank}");
    }

    #[test]
    fn escape_gives_the_middle_back_to_the_engine() {
        let mut harness = harness(ViewKind::Cap);
        harness.key_press(egui::Key::Escape);
        harness.run();
        assert_eq!(harness.state().views.enlarged(), None);
    }

    #[test]
    fn every_view_stands_in_the_column_and_can_be_enlarged() {
        let mut bench = bench(ViewKind::Cap);
        bench.views.enlarge(None);
        let mut harness = Harness::builder()
            .with_size([280.0, 1200.0])
            .build_ui_state(
                |ui, bench: &mut Bench| {
                    let reading = bench.phasing.at(bench.crank);
                    bench.views.show_column(ui, &bench.phasing, &reading, 1);
                },
                bench,
            );
        for which in ViewKind::ALL {
            harness.get_by_label(which.word());
        }
        harness.get_by_label("Enlarge: Degree wheel").click();
        harness.run();
        assert_eq!(harness.state().views.enlarged(), Some(ViewKind::Wheel));
    }

    #[test]
    fn every_scene_shows_every_view_it_has() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            let phasing = Phasing::as_drawn(&engine);
            let views = RefCell::new(FlatViews::default());
            for which in ViewKind::ALL {
                views.borrow_mut().enlarge(Some(which));
                let harness = Harness::builder().with_size([700.0, 700.0]).build_ui(|ui| {
                    views.borrow_mut().show_enlarged(
                        ui,
                        &phasing,
                        &phasing.at(CrankAngle::new(123.0)),
                        1,
                    );
                });
                let has = which != ViewKind::Cap || engine.metric().distributor.is_some();
                assert_eq!(
                    harness.query_by_label("Back to the engine").is_some()
                        && views.borrow().enlarged().is_some(),
                    has,
                    "{} {which:?}",
                    scene.name
                );
            }
        }
    }

    #[test]
    fn a_view_lies_within_its_room() {
        let placed = Placement::within(
            Rect::from_min_size(Pos2::ZERO, Vec2::new(640.0, 200.0)),
            DVec2::new(160.0, 78.0),
        );
        assert!(placed.rect.width() <= 640.0 && placed.rect.height() <= 200.0);
    }
}
