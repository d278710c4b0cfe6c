//! The whole screen, on F11.

use bevy::input::ButtonState;
use bevy::input::keyboard::KeyboardInput;
use bevy::prelude::*;
use bevy::window::{MonitorSelection, PrimaryWindow, WindowMode};

use crate::window::app::schedule::FrameSet;

/// The window over the whole screen, and back.
pub(crate) struct FullScreenPlugin;

impl Plugin for FullScreenPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Update, on_its_key.in_set(FrameSet::Input));
    }
}

fn on_its_key(
    mut events: MessageReader<KeyboardInput>,
    mut windows: Query<&mut Window, With<PrimaryWindow>>,
) {
    let pressed = |event: &&KeyboardInput| {
        event.key_code == KeyCode::F11 && event.state == ButtonState::Pressed && !event.repeat
    };
    if events.read().filter(pressed).count() % 2 == 1
        && let Ok(mut window) = windows.single_mut()
    {
        toggle(&mut window);
    }
}

/// Makes the window as large as the screen, without a frame, or a window again.
pub(crate) fn toggle(window: &mut Window) {
    window.mode = match window.mode {
        WindowMode::Windowed => WindowMode::BorderlessFullscreen(MonitorSelection::Current),
        _ => WindowMode::Windowed,
    };
}
