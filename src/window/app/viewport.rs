//! The middle of the window: what the panels leave free for the engine, and whose the pointer is.

use bevy::camera::Viewport;
use bevy::prelude::*;
use bevy::window::PrimaryWindow;

/// What the panels leave free, and whether the pointer is there.
#[derive(Resource, Default)]
pub struct EngineViewport {
    /// In egui's points; None before the panels are first shown, or while a flat view fills the
    /// middle.
    rect: Option<egui::Rect>,
    /// Pixels a point.
    pixels: f32,
    /// The pointer, where it is in the middle and on nothing of egui's.
    pointer: Option<Vec2>,
    /// A drag in the middle began on the pulley: the eye keeps still.
    held: bool,
    /// The keyboard is the hand's: no field has it, and nothing is asked over everything.
    keys: bool,
    /// A button has been gone to by the keyboard: the space bar presses that.
    on_button: bool,
    ctx: Option<egui::Context>,
}

impl EngineViewport {
    /// The panels have been shown.
    pub fn leave(&mut self, ctx: &egui::Context, rect: Option<egui::Rect>) {
        self.rect = rect.filter(|rect| rect.width() > 1.0 && rect.height() > 1.0);
        self.pixels = ctx.pixels_per_point();
        self.keys =
            !ctx.text_edit_focused() && ctx.memory(|memory| memory.top_modal_layer().is_none());
        self.on_button = ctx.memory(|memory| memory.focused().is_some());
        self.ctx = Some(ctx.clone());
    }

    /// Where the pointer is now, in window pixels: asked before anything is done with it, so that
    /// nothing lags a frame behind.
    fn follow(&mut self, cursor: Option<Vec2>) {
        let Some(ctx) = self.ctx.clone() else { return };
        let over_egui = |at| {
            ctx.layer_id_at(at)
                .is_some_and(|layer| layer.order != egui::Order::Background)
        };
        self.pointer = cursor.filter(|cursor| {
            let at = egui::pos2(cursor.x / self.pixels, cursor.y / self.pixels);
            self.rect.is_some_and(|rect| rect.contains(at))
                && !over_egui(at)
                && !ctx.egui_is_using_pointer()
        });
    }

    /// As if the whole window were the engine's, and the pointer on it.
    #[cfg(test)]
    pub fn all_free() -> Self {
        Self {
            pointer: Some(Vec2::ONE),
            keys: true,
            pixels: 1.0,
            ..Self::default()
        }
    }

    /// The hand has taken hold of the pulley, or let go of it.
    pub fn hold(&mut self, held: bool) {
        self.held = held;
    }

    /// Whether the hand holds the pulley.
    pub fn is_held(&self) -> bool {
        self.held
    }

    /// Whether the panels have been shown at least once.
    pub fn is_known(&self) -> bool {
        self.rect.is_some()
    }

    /// Whether keys turn the engine.
    pub fn has_keys(&self) -> bool {
        self.keys
    }

    /// Whether the space bar is the engine's.
    pub fn has_space(&self) -> bool {
        self.keys && !self.on_button
    }

    /// The pointer in window pixels, where it is in the middle and on nothing of egui's.
    pub fn pointer(&self) -> Option<Vec2> {
        self.pointer
    }

    /// Free room, in egui's points.
    pub fn rect(&self) -> Option<egui::Rect> {
        self.rect
    }

    /// Pixels a point.
    pub fn pixels(&self) -> f32 {
        self.pixels
    }

    /// Width over height.
    pub fn aspect(&self) -> f32 {
        self.rect.map_or(1.0, |rect| rect.aspect_ratio())
    }

    /// Whether dragging moves the eye.
    pub fn eye_may_move(&self) -> bool {
        !self.held && self.pointer.is_some()
    }

    /// The room the eye draws in.
    pub fn viewport(&self) -> Option<Viewport> {
        let rect = self.rect?;
        let (from, size) = (rect.min.to_vec2() * self.pixels, rect.size() * self.pixels);
        let (physical_position, physical_size) = (from.round().max(egui::Vec2::ZERO), size.round());
        let physical_position = UVec2::new(physical_position.x as u32, physical_position.y as u32);
        let physical_size = UVec2::new(physical_size.x as u32, physical_size.y as u32);
        (physical_size.x > 0 && physical_size.y > 0).then(|| Viewport {
            physical_position,
            physical_size,
            ..default()
        })
    }
}

/// Asks where the pointer is, first thing in a frame.
pub fn follow_pointer(
    windows: Query<&Window, With<PrimaryWindow>>,
    mut middle: ResMut<EngineViewport>,
) {
    if let Ok(window) = windows.single() {
        let cursor = window.physical_cursor_position();
        middle.bypass_change_detection().follow(cursor);
    }
}
