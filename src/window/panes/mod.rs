//! Where the panels are placed: views on the left, the chosen pane on the right, the hand along the
//! bottom, the engine between.
//!
//! A pane is a title and a function that shows it; `app.add_pane(Pane { … })` hangs it up. The
//! function is handed the whole world: it reads what it shows from [`Bench`](super::session::bench::Bench)
//! and its own resources, calls its panel (a function of what it shows that returns the edit the
//! user made), and makes the edit.

pub mod appearance;
pub mod as_built;
pub(super) mod crank_strip;
pub mod document;
pub mod editor;
pub mod file_menu;
pub mod flat_view;
pub mod flat_views;
pub mod form;
mod leads;
pub mod new_engine;
pub mod observation_pane;
pub mod observation_panel;
pub(super) mod parts_shown;
pub mod placement;
pub mod readout;
pub mod removed_drive;
pub mod widgets;

use bevy::prelude::*;
use bevy::window::RequestRedraw;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Button, LayerId, RichText, Ui, UiBuilder};

use super::app::schedule::{FrameSet, PanelSet};
use super::app::theme::Theme;
use super::app::viewport::{EngineViewport, update_pointer};

/// A window narrower than this, in points, has no room for views, engine and pane side by side.
const ROOM_FOR_THREE: f32 = 1000.0;

/// Where a pane is placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// On the right, one of them at a time, chosen by its title.
    Right,
    /// On the left, folded away as one.
    Left,
    /// Along the bottom, always there.
    Bottom,
    /// Along the top, always there.
    Top,
    /// Over the engine, filling the middle; shown only while its `fills` says so.
    Middle,
}

/// A panel in its place.
#[derive(Clone, Copy, Debug)]
pub struct Pane {
    /// What it is called.
    pub title: &'static str,
    /// Where it is.
    pub slot: Slot,
    /// Whether it is there now; a pane of the middle takes it over while it is.
    pub there: fn(&World) -> bool,
    /// Shows it.
    pub show: fn(&mut Ui, &mut World),
}

/// Always there.
pub fn always(_: &World) -> bool {
    true
}

/// The panes, in the order they were hung up, and which of the right ones is chosen.
#[derive(Resource, Debug, Default)]
pub struct Panes {
    all: Vec<Pane>,
    chosen: Option<&'static str>,
    /// Whether the left is folded away, once the user has said so.
    left_folded: Option<bool>,
}

impl Panes {
    /// Chooses a pane of the right by its title.
    pub fn choose(&mut self, title: &'static str) {
        self.chosen = Some(title);
    }

    /// The title of the chosen pane of the right.
    pub fn chosen(&self) -> Option<&'static str> {
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

/// Hanging panes up.
pub trait AddPane {
    /// Hangs a pane up.
    fn add_pane(&mut self, pane: Pane) -> &mut Self;
}

impl AddPane for App {
    fn add_pane(&mut self, pane: Pane) -> &mut Self {
        self.init_resource::<Panes>();
        self.world_mut().resource_mut::<Panes>().all.push(pane);
        self
    }
}

/// Shows the panes.
pub struct PanesPlugin;

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
    let room = UiBuilder::new()
        .layer_id(LayerId::background())
        .max_rect(ctx.viewport_rect());
    let mut ui = Ui::new(ctx.clone(), "panes".into(), room);
    let left_over =
        world.resource_scope(|world, mut panes: Mut<Panes>| place(&mut ui, world, &mut panes));
    world
        .resource_mut::<EngineViewport>()
        .set_free(&ctx, left_over);
    // What a press or a key changed may stand in a panel that was drawn before it: one more frame
    // shows it, and then all is at rest.
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
            bottom.iter().for_each(|pane| (pane.show)(ui, world))
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
    // Before anyone has said, it is there where the engine keeps room beside it.
    if panes
        .left_folded
        .unwrap_or(ui.ctx().viewport_rect().width() < ROOM_FOR_THREE)
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
