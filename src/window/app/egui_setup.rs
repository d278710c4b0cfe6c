//! egui in the window: its camera, its theme, the order of its panels, and when it must be drawn
//! once more.

use bevy::asset::AssetEventSystems;
use bevy::camera::CameraOutputMode;
use bevy::camera::visibility::RenderLayers;
use bevy::input::keyboard::{Key, KeyboardFocusLost, KeyboardInput};
use bevy::prelude::*;
use bevy::render::render_resource::BlendState;
use bevy::window::{RequestRedraw, WindowResized};
use bevy_egui::helpers::{bevy_to_egui_key, bevy_to_egui_physical_key};
use bevy_egui::{
    EguiContext, EguiGlobalSettings, EguiInput, EguiPlugin, EguiPostUpdateSet, EguiPreUpdateSet,
    EguiPrimaryContextPass, EguiRenderOutput, PrimaryEguiContext,
};

use super::off_screen::Canvas;
use super::schedule::PanelSet;
use super::theme::Theme;

pub(crate) fn egui_plugins(app: &mut App) {
    app.add_plugins(EguiPlugin::default());
    app.world_mut()
        .resource_mut::<EguiGlobalSettings>()
        .auto_create_primary_context = false;
    app.init_resource::<WindowTheme>()
        .init_resource::<ClearColor>();
    app.add_systems(Startup, egui_camera);
    app.add_systems(
        PreUpdate,
        (give_keys_their_modifiers, drop_unchanged_modifiers)
            .chain()
            .after(EguiPreUpdateSet::ProcessInput)
            .before(EguiPreUpdateSet::BeginPass),
    );
    app.configure_sets(
        EguiPrimaryContextPass,
        (PanelSet::Theme, PanelSet::Panes, PanelSet::OverEngine).chain(),
    );
    app.add_systems(EguiPrimaryContextPass, apply_theme.in_set(PanelSet::Theme));
    // Letters that are new on the screen are written into egui's texture. Unless that comes before bevy
    // tells the renderer which images have changed, it hears of them only in the next frame, and
    // until that is drawn they are missing, or all letters are where the texture has grown.
    app.configure_sets(
        PostUpdate,
        EguiPostUpdateSet::PostProcessOutput.before(AssetEventSystems),
    );
    let letters = draw_new_letters
        .after(EguiPostUpdateSet::ProcessOutput)
        .before(EguiPostUpdateSet::PostProcessOutput);
    app.add_systems(PostUpdate, (letters, draw_after_resize));
}

/// The panels have a camera of their own, over the whole window; the engine's draws only what they
/// leave free.
fn egui_camera(mut commands: Commands, canvas: Option<Res<Canvas>>) {
    let mut camera = commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        RenderLayers::none(),
        Msaa::Off,
        Camera {
            order: 1,
            output_mode: CameraOutputMode::Write {
                blend_state: Some(BlendState::ALPHA_BLENDING),
                clear_color: ClearColorConfig::None,
            },
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..default()
        },
    ));
    if let Some(canvas) = canvas {
        camera.insert(canvas.target());
    }
}

/// In every frame egui is sent the modifier keys, and for any event it asks for another frame: so
/// it would draw for ever. Only changes are left to it.
fn drop_unchanged_modifiers(
    mut inputs: Query<&mut EguiInput>,
    mut last: Local<Option<egui::Modifiers>>,
) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            egui::Event::ModifiersChanged(modifiers) => {
                last.replace(*modifiers) != Some(*modifiers)
            }
            _ => true,
        });
    }
}

/// Each key is given the modifiers that were down when it came: egui is told those that are down at
/// the end of the frame, and a shortcut that came and went within one would not be heard.
fn give_keys_their_modifiers(
    mut inputs: Query<&mut EguiInput>,
    mut keys: MessageReader<KeyboardInput>,
    mut focus_lost: MessageReader<KeyboardFocusLost>,
    mut down: Local<egui::Modifiers>,
) {
    // What is released while another window has the keyboard is not heard of.
    if focus_lost.read().count() > 0 {
        *down = egui::Modifiers::NONE;
    }
    let mut with = Vec::new();
    for key in keys.read() {
        let pressed = key.state.is_pressed();
        match key.logical_key {
            Key::Shift => down.shift = pressed,
            Key::Control => (down.ctrl, down.command) = (pressed, pressed),
            Key::Alt => down.alt = pressed,
            _ => {}
        }
        // A key that egui has no name for is not told to it.
        let is_told = bevy_to_egui_key(&key.logical_key)
            .or(bevy_to_egui_physical_key(&key.key_code))
            .is_some();
        if is_told {
            with.push(*down);
        }
    }
    if cfg!(target_os = "macos") {
        // There the command key is another, and bevy_egui's account of it is kept.
        return;
    }
    for mut input in &mut inputs {
        let is_key = |event: &&egui::Event| matches!(event, egui::Event::Key { .. });
        if input.events.iter().filter(is_key).count() == with.len() {
            let events = std::mem::take(&mut input.events);
            input.events = with_modifiers(events, &with);
        }
    }
}

/// The same events, each key with its own modifiers; what a shortcut's key would write is left out.
fn with_modifiers(events: Vec<egui::Event>, with: &[egui::Modifiers]) -> Vec<egui::Event> {
    let mut with = with.iter();
    let mut changed: Vec<egui::Event> = Vec::with_capacity(events.len());
    for mut event in events {
        if let egui::Event::Key { modifiers, .. } = &mut event
            && let Some(own) = with.next()
        {
            *modifiers = *own;
            // With both it is the third letter of a key. A key's text comes just before it.
            let is_shortcut = own.command && !own.alt;
            if is_shortcut && matches!(changed.last(), Some(egui::Event::Text(_))) {
                changed.pop();
            }
        }
        changed.push(event);
    }
    changed
}

/// A frame with letters that are new on the screen is drawn once more: should its texture come late
/// after all, they would be missing until something else moved.
fn draw_new_letters(output: Query<&EguiRenderOutput>, mut redraw: MessageWriter<RequestRedraw>) {
    if output
        .iter()
        .any(|output| !output.textures_delta.set.is_empty())
    {
        redraw.write(RequestRedraw);
    }
}

/// A window of another size is drawn until everything in it has its place: the panels a frame
/// later, the engine between them a frame after that.
fn draw_after_resize(
    mut resized: MessageReader<WindowResized>,
    mut left: Local<u8>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    const FRAMES: u8 = 3;
    if resized.read().count() > 0 {
        *left = FRAMES;
    }
    if *left > 0 {
        *left -= 1;
        redraw.write(RequestRedraw);
    }
}

/// The theme that the user has chosen.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct WindowTheme(pub(crate) Theme);

/// Hands egui the theme, and the background behind the engine its colour.
fn apply_theme(
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
    theme: Res<WindowTheme>,
    mut applied: Local<Option<WindowTheme>>,
    mut background: ResMut<ClearColor>,
) {
    let Ok(mut context) = contexts.single_mut() else {
        return;
    };
    if applied.replace(*theme) != Some(*theme) {
        theme.0.apply(context.get_mut());
        let backdrop = theme.0.palette().backdrop;
        background.0 = Color::srgb_u8(backdrop.r(), backdrop.g(), backdrop.b());
    }
}

#[cfg(test)]
mod tests {
    use egui::{Event, Key, Modifiers};

    use super::with_modifiers;

    fn key(key: Key, modifiers: Modifiers) -> Event {
        Event::Key {
            key,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers,
        }
    }

    #[test]
    fn a_shortcut_whose_ctrl_came_and_went_within_the_frame_is_one_and_a_letter_stays_a_letter() {
        let none = Modifiers::NONE;
        let told = vec![
            Event::Text("s".into()),
            key(Key::S, none),
            Event::Text("t".into()),
            key(Key::T, none),
        ];
        assert_eq!(
            with_modifiers(told, &[Modifiers::COMMAND, none]),
            [
                key(Key::S, Modifiers::COMMAND),
                Event::Text("t".into()),
                key(Key::T, none)
            ]
        );
    }
}
