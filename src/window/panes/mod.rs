//! Where the panels are placed: views on the left, the chosen pane on the right, the crank's
//! controls along the bottom, the engine between.
//!
//! A pane is a title and a function that shows it; `app.add_pane(Pane { … })` adds it. The function
//! is given the whole world: it reads what it shows from [`Bench`](super::session::bench::Bench)
//! and its own resources, calls its panel (a function of what it shows that returns the edit the
//! user made), and makes the edit.

mod appearance;
mod as_built;
pub(super) mod crank_strip;
pub(super) mod document;
mod editor;
pub(super) mod file_menu;
mod flat_view;
mod flat_views;
mod form;
mod leads;
pub(super) mod new_engine;
pub(super) mod observation_pane;
mod observation_panel;
pub(super) mod observation_session;
pub(super) mod parts_shown;
pub(super) mod placement;
mod proof_panel;
mod readout;
pub(super) mod removed_drive;
mod stage_menu;
pub(crate) mod widgets;

use bevy::prelude::*;
use bevy::window::RequestRedraw;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Button, LayerId, RichText, Ui, UiBuilder};

use super::app::schedule::{FrameSet, PanelSet};
use super::app::theme::Theme;
use super::app::viewport::{EngineViewport, update_pointer};

/// A window narrower than this, in points, is too narrow for views, engine and pane side by side.
const WIDE_ENOUGH_FOR_THREE: f32 = 1000.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slot {
    /// On the right, one of them at a time, chosen by its title.
    Right,
    /// On the left, folded away as one.
    Left,
    /// Along the bottom, always there.
    Bottom,
    /// Along the top, always there.
    Top,
    /// Over the engine, filling the middle.
    Middle,
}

/// A panel in its place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pane {
    pub(crate) title: &'static str,
    pub(crate) slot: Slot,
    /// Whether it is shown now.
    pub(crate) there: fn(&World) -> bool,
    pub(crate) show: fn(&mut Ui, &mut World),
}

pub(crate) fn always(_: &World) -> bool {
    true
}

/// The panes, in the order they were added, and which of those on the right is chosen.
#[derive(Resource, Debug, Default)]
pub(crate) struct Panes {
    all: Vec<Pane>,
    chosen: Option<&'static str>,
    /// Whether the left is folded away, once the user has said so.
    left_folded: Option<bool>,
}

impl Panes {
    /// The title of the pane on the right that the user chose.
    pub(crate) fn chosen(&self) -> Option<&'static str> {
        self.chosen
    }

    fn of(&self, slot: Slot, world: &World) -> Vec<Pane> {
        self.all
            .iter()
            .filter(|pane| pane.slot == slot && (pane.there)(world))
            .copied()
            .collect()
    }
}

/// The title of the pane on the right that a pane asks for: it is shown from the next frame on.
#[derive(Resource, Debug)]
pub(crate) struct NextPane(pub(crate) &'static str);

pub(crate) trait AddPane {
    /// Adds a pane after those of the same slot.
    fn add_pane(&mut self, pane: Pane) -> &mut Self;
}

impl AddPane for App {
    fn add_pane(&mut self, pane: Pane) -> &mut Self {
        self.init_resource::<Panes>();
        self.world_mut().resource_mut::<Panes>().all.push(pane);
        self
    }
}

pub(crate) struct PanesPlugin;

impl Plugin for PanesPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Panes>()
            .init_resource::<EngineViewport>();
        app.add_systems(Update, update_pointer.before(FrameSet::External));
        app.add_systems(EguiPrimaryContextPass, show.in_set(PanelSet::Panes));
    }
}

fn show(world: &mut World) {
    let mut contexts = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let Ok(mut context) = contexts.single_mut(world) else {
        return;
    };
    let ctx = context.get_mut().clone();
    let whole = UiBuilder::new()
        .layer_id(LayerId::background())
        .max_rect(ctx.viewport_rect());
    let mut ui = Ui::new(ctx.clone(), "panes".into(), whole);
    let left_over =
        world.resource_scope(|world, mut panes: Mut<Panes>| place(&mut ui, world, &mut panes));
    if let Some(NextPane(title)) = world.remove_resource() {
        world.resource_mut::<Panes>().chosen = Some(title);
        ctx.request_repaint();
    }
    world
        .resource_mut::<EngineViewport>()
        .set_free(&ctx, left_over);
    // What a press or a key changed may be shown by a panel that was drawn before: one more frame
    // shows it.
    let acted = |input: &egui::InputState| {
        input.pointer.any_down()
            || input
                .events
                .iter()
                .any(|event| !matches!(event, egui::Event::PointerMoved(_)))
    };
    if ctx.input(acted) {
        world.write_message(RequestRedraw);
    }
}

/// Shows every pane in its place; gives what is left over for the engine.
fn place(ui: &mut Ui, world: &mut World, panes: &mut Panes) -> Option<egui::Rect> {
    let top = panes.of(Slot::Top, world);
    if !top.is_empty() {
        egui::Panel::top("top panes")
            .show(ui, |ui| top.iter().for_each(|pane| (pane.show)(ui, world)));
    }
    let bottom = panes.of(Slot::Bottom, world);
    if !bottom.is_empty() {
        egui::Panel::bottom("bottom panes").show(ui, |ui| {
            bottom.iter().for_each(|pane| (pane.show)(ui, world));
        });
    }
    right(ui, world, panes);
    left(ui, world, panes);
    let middle = panes.of(Slot::Middle, world);
    let Some(pane) = middle.first() else {
        return Some(ui.available_rect_before_wrap());
    };
    egui::CentralPanel::default().show(ui, |ui| (pane.show)(ui, world));
    None
}

fn right(ui: &mut Ui, world: &mut World, panes: &mut Panes) {
    let all = panes.of(Slot::Right, world);
    let Some(first) = all.first().copied() else {
        return;
    };
    if let Some(pane) = by_key(ui).and_then(|index| all.get(index)) {
        panes.chosen = Some(pane.title);
    }
    let chosen = all
        .iter()
        .find(|pane| panes.chosen == Some(pane.title))
        .copied()
        .unwrap_or(first);
    let width = ui.available_width();
    egui::Panel::right("right panes")
        .resizable(true)
        .default_size((width * 0.2).clamp(f32::min(350.0, width * 0.38), 420.0))
        .max_size(width * 0.5)
        .show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                for (index, pane) in all.iter().enumerate() {
                    // Framed, chosen or not: so that none moves when another is chosen.
                    let title = ui.add(
                        Button::new(pane.title)
                            .selected(pane.title == chosen.title)
                            .frame_when_inactive(true),
                    );
                    if title.on_hover_text(format!("Alt+{}", index + 1)).clicked() {
                        panes.chosen = Some(pane.title);
                    }
                }
            });
            ui.separator();
            egui::ScrollArea::vertical()
                .id_salt(chosen.title)
                .auto_shrink(false)
                .show(ui, |ui| (chosen.show)(ui, world));
        });
}

/// Alt and a number choose the pane of the right that stands so far along.
fn by_key(ui: &Ui) -> Option<usize> {
    use egui::{Key, Modifiers};
    const DIGITS: [Key; 9] = [
        Key::Num1,
        Key::Num2,
        Key::Num3,
        Key::Num4,
        Key::Num5,
        Key::Num6,
        Key::Num7,
        Key::Num8,
        Key::Num9,
    ];
    ui.input_mut(|input| {
        DIGITS
            .iter()
            .position(|key| input.consume_key(Modifiers::ALT, *key))
    })
}

fn left(ui: &mut Ui, world: &mut World, panes: &mut Panes) {
    let all = panes.of(Slot::Left, world);
    if all.is_empty() {
        return;
    }
    // Until the user has chosen, it is open where the window is wide enough.
    if panes
        .left_folded
        .unwrap_or(ui.ctx().viewport_rect().width() < WIDE_ENOUGH_FOR_THREE)
    {
        egui::Panel::left("left panes folded")
            .resizable(false)
            .exact_size(42.0)
            .show(ui, |ui| {
                if ui
                    .button(RichText::new("▶"))
                    .on_hover_text("Show the flat views")
                    .clicked()
                {
                    panes.left_folded = Some(false);
                }
            });
        return;
    }
    let width = ui.available_width();
    egui::Panel::left("left panes")
        .resizable(true)
        .default_size(f32::min(360.0, width * 0.28))
        .min_size(215.0 * Theme::of(ui.ctx()).type_size.times())
        .max_size(width * 0.5)
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                if ui
                    .small_button("◀")
                    .on_hover_text("Fold the flat views away")
                    .clicked()
                {
                    panes.left_folded = Some(true);
                }
                ui.label(RichText::new("Flat views").strong());
            });
            egui::ScrollArea::vertical()
                .id_salt("left")
                .auto_shrink(false)
                .show(ui, |ui| all.iter().for_each(|pane| (pane.show)(ui, world)));
        });
}
