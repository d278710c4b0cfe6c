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
pub(super) mod export;
pub(super) mod file_menu;
mod flat_view;
mod flat_views;
mod form;
pub(super) mod kept_layout;
pub(super) mod key_map;
mod keyboard;
mod leads;
pub(super) mod new_engine;
pub(super) mod number_field;
pub(super) mod observation_pane;
mod observation_panel;
pub(super) mod observation_session;
pub(super) mod parts_shown;
pub(super) mod placement;
mod proof_panel;
mod readout;
pub(super) mod removed_drive;
mod side;
mod stage_menu;
mod steady;
pub(crate) mod widgets;

use bevy::prelude::*;
use bevy::window::RequestRedraw;
use bevy_egui::{EguiContext, EguiPrimaryContextPass, PrimaryEguiContext};
use egui::{Button, Key, LayerId, Modifiers, RichText, Ui, UiBuilder};
use serde::{Deserialize, Serialize};

use super::app::schedule::{FrameSet, PanelSet};
use super::app::theme::Theme;
use super::app::viewport::{EngineViewport, update_pointer};
use super::session::bench::Bench;

/// A window narrower than this, in points, is too narrow for views, engine and pane side by side.
const WIDE_ENOUGH_FOR_THREE: f32 = 1000.0;

/// The key that folds the panes at the sides away, and brings them back.
pub(crate) const FOLD: Key = Key::F9;

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
    /// Whether it is shown now. The title of one on the right stays in its place either way.
    pub(crate) there: fn(&World) -> bool,
    pub(crate) show: fn(&mut Ui, &mut World),
}

pub(crate) fn always(_: &World) -> bool {
    true
}

/// How the user has laid the panes out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct PaneLayout {
    /// The title of the pane on the right that was chosen.
    chosen: Option<String>,
    /// How wide the panes were drawn by hand, points; as is usual where they were not.
    right_wide: Option<f32>,
    left_wide: Option<f32>,
    /// Whether the left is folded away, once the user has said so.
    left_folded: Option<bool>,
}

/// The panes, in the order they were added, and how they are laid out.
#[derive(Resource, Debug, Default)]
pub(crate) struct Panes {
    all: Vec<Pane>,
    layout: PaneLayout,
    /// Whether those at the sides are folded away, so that the engine has the room.
    folded: bool,
    /// Frames until everything between them has its place again.
    unsettled: u8,
}

impl Panes {
    /// The title of the pane on the right that the user chose.
    pub(crate) fn chosen(&self) -> Option<&str> {
        self.layout.chosen.as_deref()
    }

    /// Whether those at the sides are folded away.
    pub(crate) fn are_folded(&self) -> bool {
        self.folded
    }

    /// Folds those at the sides away, or brings them back.
    pub(crate) fn fold(&mut self, folded: bool) {
        self.folded = folded;
    }

    /// The titles of those on the right, in their order.
    pub(crate) fn titles(&self) -> impl Iterator<Item = &'static str> {
        let right = self.all.iter().filter(|pane| pane.slot == Slot::Right);
        right.map(|pane| pane.title)
    }

    fn choose(&mut self, title: &str) {
        self.layout.chosen = Some(title.to_owned());
        self.folded = false;
    }

    fn of(&self, slot: Slot) -> Vec<Pane> {
        let own = self.all.iter().filter(|pane| pane.slot == slot);
        own.copied().collect()
    }

    fn there(&self, slot: Slot, world: &World) -> Vec<Pane> {
        let mut own = self.of(slot);
        own.retain(|pane| (pane.there)(world));
        own
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
        app.add_systems(
            EguiPrimaryContextPass,
            (
                show.in_set(PanelSet::Panes),
                ring_focus.after(PanelSet::OverEngine),
            ),
        );
    }
}

/// Last, for it lies over everything.
fn ring_focus(mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>) {
    if let Ok(mut context) = contexts.single_mut() {
        keyboard::ring_focus(context.get_mut());
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
    let name = world.resource::<Bench>().engine().name();
    ctx.accesskit_node_builder(egui::accesskit_root_id(), |node| {
        node.set_label(format!("{name}, Dotwise"));
    });
    keyboard::walk_menus(&ctx);
    let (left_over, is_engines) =
        world.resource_scope(|world, mut panes: Mut<Panes>| place(&mut ui, world, &mut panes));
    if let Some(NextPane(title)) = world.remove_resource() {
        world.resource_mut::<Panes>().choose(title);
        ctx.request_repaint();
    }
    let mut viewport = world.resource_mut::<EngineViewport>();
    let before = viewport.middle();
    viewport.set_free(&ctx, left_over, is_engines);
    let is_moved = before != viewport.middle();
    settle(world, is_moved);
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

/// Where the panes leave the engine another room, it has its place only frames later: they are drawn.
fn settle(world: &mut World, is_moved: bool) {
    const FRAMES: u8 = 3;
    let mut panes = world.resource_mut::<Panes>();
    let left = if is_moved {
        FRAMES
    } else {
        panes.unsettled.saturating_sub(1)
    };
    panes.bypass_change_detection().unsettled = left;
    if left > 0 {
        world.write_message(RequestRedraw);
    }
}

/// Shows every pane in its place; gives what is left over in the middle, and whether that is the
/// engine's.
fn place(ui: &mut Ui, world: &mut World, panes: &mut Panes) -> (egui::Rect, bool) {
    if ui.input_mut(|input| input.consume_key(Modifiers::NONE, FOLD)) {
        panes.folded = !panes.folded;
    }
    let top = panes.there(Slot::Top, world);
    if !top.is_empty() {
        egui::Panel::top("top panes").show(ui, |ui| {
            widgets::region(ui, "File and engine");
            top.iter().for_each(|pane| (pane.show)(ui, world));
        });
    }
    let bottom = panes.there(Slot::Bottom, world);
    if !bottom.is_empty() {
        egui::Panel::bottom("bottom panes").show(ui, |ui| {
            widgets::region(ui, "Crank");
            bottom.iter().for_each(|pane| (pane.show)(ui, world));
        });
    }
    right(ui, world, panes);
    if !panes.folded {
        left(ui, world, panes);
    }
    let room = ui.available_rect_before_wrap();
    let middle = panes.there(Slot::Middle, world);
    let Some(pane) = middle.first() else {
        return (room, true);
    };
    egui::CentralPanel::default().show(ui, |ui| {
        widgets::region(ui, pane.title);
        (pane.show)(ui, world);
    });
    (room, false)
}

fn right(ui: &mut Ui, world: &mut World, panes: &mut Panes) {
    let all: Vec<(Pane, bool)> = panes
        .of(Slot::Right)
        .into_iter()
        .map(|pane| (pane, (pane.there)(world)))
        .collect();
    let by_key = by_key(ui).and_then(|index| all.get(index));
    if let Some((pane, true)) = by_key {
        panes.choose(pane.title);
    }
    let there = || all.iter().filter(|(_, there)| *there).map(|(pane, _)| pane);
    let chosen = there().find(|pane| panes.chosen() == Some(pane.title));
    let Some(chosen) = chosen.or_else(|| there().next()).copied() else {
        return;
    };
    if panes.folded {
        return;
    }
    let (width, times) = (ui.available_width(), Theme::of(ui.ctx()).type_size.times());
    let least = f32::min(396.0 * times, width * 0.38);
    let wide = side::Wide {
        usual: (width * 0.2).clamp(least, f32::max(430.0, least)),
        least: f32::min(260.0, least),
        most: width * 0.6,
    };
    let mut drawn = panes.layout.right_wide;
    let mut title = None;
    side::pane(ui, side::Side::Right, wide, &mut drawn, |ui| {
        title = titles(ui, &all, chosen.title);
        ui.separator();
        side::scrolled(ui, chosen.title, |ui| {
            widgets::region(ui, chosen.title);
            (chosen.show)(ui, world);
        });
    });
    panes.layout.right_wide = drawn;
    if let Some(title) = title {
        panes.choose(title);
    }
}

/// The titles of the panes on the right, each always in its place; gives the one that was chosen.
fn titles(ui: &mut Ui, all: &[(Pane, bool)], chosen: &str) -> Option<&'static str> {
    let mut clicked = None;
    ui.horizontal_wrapped(|ui| {
        for (index, (pane, there)) in all.iter().enumerate() {
            // Framed, chosen or not: so that none moves when another is chosen.
            let title = Button::new(pane.title)
                .selected(pane.title == chosen)
                .frame_when_inactive(true);
            let title = ui
                .add_enabled(*there, title)
                .on_hover_text(format!("Alt+{}", index + 1))
                .on_disabled_hover_text("Not while a question is open: it would answer it");
            if title.clicked() {
                clicked = Some(pane.title);
            }
        }
    });
    clicked
}

/// Alt and a number choose the pane of the right that stands so far along.
fn by_key(ui: &Ui) -> Option<usize> {
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
    let all = panes.there(Slot::Left, world);
    if all.is_empty() {
        return;
    }
    // Until the user has chosen, it is open where the window is wide enough.
    if panes
        .layout
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
                    panes.layout.left_folded = Some(false);
                }
            });
        return;
    }
    let (width, times) = (ui.available_width(), Theme::of(ui.ctx()).type_size.times());
    let least = f32::min(215.0 * times, width * 0.5);
    let wide = side::Wide {
        usual: f32::min(360.0, width * 0.28).max(least),
        least,
        most: f32::max(width * 0.6, least),
    };
    let mut drawn = panes.layout.left_wide;
    side::pane(ui, side::Side::Left, wide, &mut drawn, |ui| {
        ui.horizontal(|ui| {
            if ui
                .small_button("◀")
                .on_hover_text("Fold the flat views away")
                .clicked()
            {
                panes.layout.left_folded = Some(true);
            }
            ui.label(RichText::new("Flat views").strong());
        });
        side::scrolled(ui, "left", |ui| {
            widgets::region(ui, "Flat views");
            all.iter().for_each(|pane| (pane.show)(ui, world));
        });
    });
    panes.layout.left_wide = drawn;
}
