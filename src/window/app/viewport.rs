//! The viewport of the engine: what the panels leave free of the window, and whether pointer and
//! keys are the engine's or a panel's.

use bevy::camera::Viewport;
use bevy::prelude::*;
use bevy::window::PrimaryWindow;

/// What the panels leave free, and whether the pointer is there.
#[derive(Resource, Default)]
pub(crate) struct EngineViewport {
    /// In egui's points; None before the panels are first shown, or while a flat view fills it.
    rect: Option<egui::Rect>,
    /// The middle of the window, whether the engine has it or a flat view.
    middle: Option<egui::Rect>,
    /// Pixels in a point.
    pixels: f32,
    /// The pointer in pixels of the window, where it is in the viewport and on nothing of egui's.
    pointer: Option<Vec2>,
    /// The pointer drags the pulley or the rotor: the camera keeps still.
    dragging: bool,
    /// Keys turn the engine: no field has the keyboard, and no dialog, menu or list is open.
    keys: bool,
    /// A button has the keyboard: the space bar presses that, and arrow keys lead on from it.
    on_button: bool,
    ctx: Option<egui::Context>,
}

impl EngineViewport {
    /// The panels have been shown and leave `middle` free: for the engine, or for a flat view.
    pub(crate) fn set_free(&mut self, ctx: &egui::Context, middle: egui::Rect, is_engines: bool) {
        self.middle = Some(middle).filter(|rect| rect.width() > 1.0 && rect.height() > 1.0);
        self.rect = self.middle.filter(|_| is_engines);
        self.pixels = ctx.pixels_per_point();
        self.keys = !ctx.text_edit_focused()
            && !egui::Popup::is_any_open(ctx)
            && ctx.memory(|memory| memory.top_modal_layer().is_none());
        self.on_button = ctx.memory(|memory| memory.focused().is_some());
        self.ctx = Some(ctx.clone());
    }

    /// Takes in where the pointer is now, in pixels of the window.
    fn update_pointer(&mut self, cursor: Option<Vec2>) {
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
    pub(crate) fn all_free() -> Self {
        Self {
            pointer: Some(Vec2::ONE),
            keys: true,
            pixels: 1.0,
            ..Self::default()
        }
    }

    /// Whether the pointer drags the pulley or the rotor: the camera then keeps still.
    pub(crate) fn set_dragging(&mut self, dragging: bool) {
        self.dragging = dragging;
    }

    /// Whether the panels have been shown at least once.
    pub(crate) fn is_known(&self) -> bool {
        self.rect.is_some()
    }

    /// Whether keys turn the engine.
    pub(crate) fn has_keys(&self) -> bool {
        self.keys
    }

    /// Whether the arrow keys are the engine's.
    pub(crate) fn has_arrows(&self) -> bool {
        self.keys && !self.on_button
    }

    /// Whether the space bar is the engine's.
    pub(crate) fn has_space(&self) -> bool {
        self.keys && !self.on_button
    }

    /// The pointer in pixels of the window, where it is in the viewport and on nothing of egui's.
    pub(crate) fn pointer(&self) -> Option<Vec2> {
        self.pointer
    }

    /// In egui's points; None while nothing of the window is the engine's.
    pub(crate) fn rect(&self) -> Option<egui::Rect> {
        self.rect
    }

    /// The middle of the window, in egui's points, whether the engine has it or a flat view.
    pub(crate) fn middle(&self) -> Option<egui::Rect> {
        self.middle
    }

    pub(crate) fn pixels(&self) -> f32 {
        self.pixels
    }

    pub(crate) fn aspect(&self) -> f32 {
        self.rect.map_or(1.0, |rect| rect.aspect_ratio())
    }

    /// Whether dragging moves the camera.
    pub(crate) fn camera_may_move(&self) -> bool {
        !self.dragging && self.pointer.is_some()
    }

    /// As bevy's camera takes it, in pixels.
    pub(crate) fn of_camera(&self) -> Option<Viewport> {
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

/// Finds the pointer, before anything else in a frame asks where it is.
pub(crate) fn update_pointer(
    windows: Query<&Window, With<PrimaryWindow>>,
    mut viewport: ResMut<EngineViewport>,
) {
    if let Ok(window) = windows.single() {
        let cursor = window.physical_cursor_position();
        viewport.bypass_change_detection().update_pointer(cursor);
    }
}
