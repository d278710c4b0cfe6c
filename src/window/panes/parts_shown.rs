//! Which parts of the engine are shown, and over the engine: the set views and the name of the part
//! under the pointer.

use bevy::prelude::*;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Align2, Id, RichText, Sense, Ui, WidgetInfo, WidgetType};

use super::widgets::said_when_it_changes;
use super::{AddPane, FOLD, Pane, Panes, Slot, always};
use crate::output::text;
use crate::window::app::schedule::PanelSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::scene::camera::SetView;
use crate::window::scene::light::Shadows;
use crate::window::scene::part::PartKind;
use crate::window::scene::parts_shown::{PartDisplay, Shown, UnderPointer};
use crate::window::session::bench::Bench;
use crate::window::session::export::Export;
use crate::window::session::open_question::OpenQuestion;
use crate::words::degrees;

/// The pane that shows and hides parts, and what is shown over the engine.
pub(crate) struct PartsShownPanePlugin;

impl Plugin for PartsShownPanePlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            EguiPrimaryContextPass,
            over_engine.in_set(PanelSet::OverEngine),
        );
        app.add_pane(Pane {
            title: "Show",
            slot: Slot::Right,
            there: always,
            show: pane,
        });
    }
}

/// The set views in the corner over the engine, and the name of the part under the pointer beside
/// it.
fn over_engine(
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
    viewport: Res<EngineViewport>,
    bench: Res<Bench>,
    question: Option<Res<OpenQuestion>>,
    under: Res<UnderPointer>,
    export: Option<Res<Export>>,
    mut panes: ResMut<Panes>,
    mut views: MessageWriter<SetView>,
) {
    let (Ok(mut context), Some(room)) = (contexts.single_mut(), viewport.rect()) else {
        return;
    };
    if export.is_some_and(|export| export.is_taking()) {
        return;
    }
    let ctx = context.get_mut();
    egui::Area::new("set views".into())
        .fixed_pos(room.left_top() + egui::vec2(8.0, 8.0))
        .order(egui::Order::Middle)
        .show(ctx, |ui| {
            ui.set_max_width(room.width() - 16.0);
            let question = question.as_deref().copied().unwrap_or_default();
            name_engine(ui, room, &said(&bench, question));
            ui.horizontal_wrapped(|ui| {
                for (view, key) in SetView::ALL.into_iter().zip(SetView::KEYS) {
                    if view.is_there(bench.layout())
                        && ui
                            .button(view.word())
                            .on_hover_text(format!("{key:?}"))
                            .clicked()
                    {
                        views.write(view);
                    }
                }
                let folded = panes.are_folded();
                if folded && ui.button("Panes").on_hover_text(FOLD.name()).clicked() {
                    panes.fold(false);
                }
            });
        });
    if let (Some(name), Some(at)) = (under.name(), ctx.input(|input| input.pointer.hover_pos())) {
        let (place, pivot) = (at + egui::vec2(14.0, 14.0), Align2::LEFT_TOP);
        egui::Area::new("part's name".into())
            .fixed_pos(place)
            .pivot(pivot)
            .constrain_to(room)
            .interactable(false)
            .order(egui::Order::Tooltip)
            .show(ctx, |ui| {
                let label = egui::Label::new(name).wrap_mode(egui::TextWrapMode::Extend);
                egui::Frame::popup(ui.style()).show(ui, |ui| ui.add(label));
            });
    }
}

/// The engine and how it stands, in words; by its mark alone while a question is open, for the turn
/// would answer it.
fn said(bench: &Bench, question: OpenQuestion) -> String {
    let name = bench.engine().name();
    if question.0.is_none() {
        return format!("{name}: {}", text::stands(bench.reading()));
    }
    let mark = degrees(bench.crank().by_the_mark());
    format!("{name}: crank at {mark} past No. 1's mark")
}

/// Names the engine in `room` for those who cannot see it.
fn name_engine(ui: &Ui, room: egui::Rect, words: &str) {
    let engine = ui.interact(room, Id::new("the engine"), Sense::hover());
    engine.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, words));
    said_when_it_changes(&engine);
}

fn pane(ui: &mut Ui, world: &mut World) {
    let mut shown = world.resource::<Shown>().clone();
    let mut shadows = *world.resource::<Shadows>();
    let layout = world.resource::<Bench>().layout();
    let kinds = PartKind::ALL
        .into_iter()
        .filter(|kind| kind.is_there(layout));
    list(ui, kinds, &mut shown, &mut shadows);
    world.resource_mut::<Shown>().set_if_neq(shown);
    world.resource_mut::<Shadows>().set_if_neq(shadows);
    ui.separator();
    ui.label("Turn the engine: drag the pulley, the wheel (with Shift faster), the arrow keys (1°, Shift 10°, Ctrl 0.1°), Page Up and Page Down from dead centre to dead centre, Space to run.");
    ui.label("Move the view: drag to go round, right button to shift, Ctrl and wheel to come nearer, F2 to F6 for the set views. F1 shows every key.");
}

/// The kinds of part, each with how it is shown.
fn list(
    ui: &mut Ui,
    kinds: impl Iterator<Item = PartKind>,
    shown: &mut Shown,
    shadows: &mut Shadows,
) {
    ui.label("What is shown of the engine:");
    egui::Grid::new("kinds of part")
        .num_columns(3)
        .spacing([6.0, 3.0])
        .striped(true)
        .show(ui, |ui| {
            ui.spacing_mut().button_padding.x = 3.0;
            ui.spacing_mut().item_spacing.x = 4.0;
            for kind in kinds {
                ui.label(kind.word());
                ui.horizontal(|ui| {
                    let mut how = shown.of(kind);
                    for (each, word) in [
                        (PartDisplay::Whole, "Shown"),
                        (PartDisplay::SeeThrough, "Clear"),
                        (PartDisplay::Hidden, "Hidden"),
                    ] {
                        let choice = ui.selectable_value(&mut how, each, word);
                        if each == PartDisplay::SeeThrough {
                            choice.on_hover_text("Seen through");
                        }
                    }
                    shown.set(kind, how);
                });
                if ui
                    .small_button("Alone")
                    .on_hover_text(format!("{} alone; again for all", kind.word()))
                    .clicked()
                {
                    shown.toggle_alone(kind);
                }
                ui.end_row();
            }
        });
    ui.checkbox(&mut shown.cut_away, "Cylinders cut open");
    ui.checkbox(&mut shadows.thrown, "Shadows").on_hover_text(
        "Parts throw shadows on one another. Without a graphics card it draws more slowly",
    );
    if ui.button("Show everything").clicked() {
        *shown = Shown::default();
    }
    ui.label(RichText::new("Valves lift as much as on the engine, drawn to the same scale as all else. Sizes not in the description are drawn in proportion: never measure from the picture.").weak());
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes::BENCH;
    use crate::quiz::QuestionKind;

    #[test]
    fn the_engine_says_where_it_stands_and_gives_no_answer_away() {
        let bench = Bench::new(&BENCH.engine(), &Assembly::default());
        let named = |question: Option<QuestionKind>| {
            let words = said(&bench, OpenQuestion(question));
            let harness = Harness::builder().with_size([300.0, 300.0]).build_ui(|ui| {
                name_engine(ui, ui.max_rect(), &words);
            });
            harness.get_by_label(&words);
            drop(harness);
            words
        };
        assert!(named(None).starts_with("Bench four: No. 1 at TDC"));
        let asked = named(Some(QuestionKind::WhatIsWrong));
        assert_eq!(asked, "Bench four: crank at 0° past No. 1's mark");
    }

    #[test]
    fn a_part_alone_hides_the_others_and_alone_again_shows_all() {
        let mut harness = Harness::new_ui_state(
            |ui, shown: &mut Shown| {
                let kinds = PartKind::ALL.into_iter();
                list(ui, kinds, shown, &mut Shadows { thrown: false });
            },
            Shown::default(),
        );
        harness
            .get_all_by_label("Alone")
            .next()
            .expect("a button for the crankshaft")
            .click();
        harness.run();
        assert_eq!(harness.state().of(PartKind::Crankshaft), PartDisplay::Whole);
        assert_eq!(harness.state().of(PartKind::Pistons), PartDisplay::Hidden);
        harness
            .get_all_by_label("Alone")
            .next()
            .expect("a button for the crankshaft")
            .click();
        harness.run();
        assert_eq!(harness.state(), &Shown::default());
    }
}
