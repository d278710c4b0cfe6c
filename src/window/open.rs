//! Opening the window: whether there is a screen, and the app with its plugins.

use bevy::prelude::*;
use bevy::window::{Monitor, PresentMode, PrimaryWindow, WindowResolution};
use bevy::winit::{UpdateMode, WinitSettings};

use super::app::egui_setup::egui_plugins;
use super::app::error::Error;
use super::app::panic::begin_anew_after_panic;
use super::app::renderer::{
    Adapter, SingleThreadedPlugin, adapter, bevy_plugins, configure, without_panic,
};
use super::app::schedule::FrameSet;
use super::app::screen_reader::ScreenReaderPlugin;
use super::input::{crank, full_screen};
use super::panes::kept_layout::KeptLayoutPlugin;
use super::panes::{
    crank_strip, export, key_map, observation_pane, parts_shown as parts_shown_pane, placement,
};
use super::scene::{self, camera, parts_shown};
use super::session::bench::{Bench, Opened};
use super::session::storage::StateFolder;
use super::{lessons, panes};
use crate::document::unsaved::UnsavedWork;
use crate::engine::Assembly;

/// Opens the window and stays in it until it is closed.
///
/// # Errors
/// Where no display or no graphics adapter can be had.
pub fn open(opened: &Opened) -> Result<(), Error> {
    display()?;
    let adapter = adapter()?;
    let mut app = without_panic(|| {
        let mut app = App::new();
        window_plugins(&mut app, adapter, opened);
        app
    })
    .ok_or_else(|| Error::NoWindow("the window could not be opened on this display".to_owned()))?;
    begin_anew_after_panic();
    app.run();
    Ok(())
}

/// Whether there is a display to open a window on.
#[cfg(all(unix, not(target_os = "macos")))]
fn display() -> Result<(), Error> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    if set("DISPLAY") || (cfg!(feature = "wayland") && set("WAYLAND_DISPLAY")) {
        Ok(())
    } else {
        Err(Error::NoWindow(
            "no display (DISPLAY is not set)".to_owned(),
        ))
    }
}

/// Whether there is a display to open a window on: elsewhere there is, or the window says
/// otherwise.
#[cfg(not(all(unix, not(target_os = "macos"))))]
fn display() -> Result<(), Error> {
    Ok(())
}

fn window_plugins(app: &mut App, adapter: Adapter, opened: &Opened) {
    let window = Window {
        title: format!("{} — Dotwise", opened.engine.name()),
        // What a desktop knows the program by: the name of its desktop entry.
        name: Some("dotwise".to_owned()),
        resolution: WindowResolution::new(1280, 720),
        present_mode: PresentMode::AutoVsync,
        ..default()
    };
    let in_software = adapter.in_software;
    app.add_plugins(bevy_plugins(
        adapter,
        WindowPlugin {
            primary_window: Some(window),
            close_when_requested: false,
            ..default()
        },
    ));
    configure(app, in_software);
    // Nothing is drawn at rest: only input, or a system that asks for it, draws.
    let still = UpdateMode::Reactive {
        wait: std::time::Duration::from_secs(3600),
        react_to_device_events: false,
        react_to_user_events: true,
        react_to_window_events: true,
    };
    app.insert_resource(WinitSettings {
        focused_mode: still,
        unfocused_mode: still,
    });
    app.add_systems(Update, shrink_to_screen.before(FrameSet::External));
    if let Some(work) = UnsavedWork::of_user() {
        app.insert_resource(StateFolder(work));
    }
    engine_and_panes(app, opened);
    app.add_plugins((full_screen::FullScreenPlugin, ScreenReaderPlugin));
    if let Some(folder) = UnsavedWork::of_window() {
        app.add_plugins(KeptLayoutPlugin { folder });
    }
    if opened.named.is_none() && opened.assembly == Assembly::default() {
        app.add_plugins(lessons::start::StartPlugin);
    }
    app.add_plugins(SingleThreadedPlugin);
}

/// The engine with every pane round it.
pub(crate) fn engine_and_panes(app: &mut App, opened: &Opened) {
    app.insert_resource(Bench::new(&opened.engine, &opened.assembly));
    app.add_plugins((
        egui_plugins,
        scene::plugin,
        camera::CameraPlugin,
        panel_plugins,
    ));
    app.add_plugins((
        panes::document::DocumentPlugin {
            opened: opened.clone(),
        },
        export::ExportPlugin,
        lessons::LessonsPlugin,
    ));
}

/// A window that is larger than the screen it opens on is made as large as that. Once: what the
/// user makes of it then stays.
fn shrink_to_screen(
    monitors: Query<&Monitor>,
    mut windows: Query<&mut Window, With<PrimaryWindow>>,
    mut done: Local<bool>,
) {
    let (false, Ok(mut window)) = (*done, windows.single_mut()) else {
        return;
    };
    let largest = monitors
        .iter()
        .map(Monitor::physical_size)
        .reduce(UVec2::max);
    let Some(screen) = largest else { return };
    *done = true;
    let (wide, high) = (
        window.physical_width().min(screen.x),
        window.physical_height().min(screen.y),
    );
    if (wide, high) != (window.physical_width(), window.physical_height()) {
        window.resolution.set_physical_resolution(wide, high);
    }
}

/// Every pane, and turning the crank.
pub(crate) fn panel_plugins(app: &mut App) {
    app.add_plugins((
        panes::PanesPlugin,
        crank::CrankInputPlugin,
        crank_strip::CrankStripPlugin,
        placement::PlacementPlugin,
        observation_pane::ObservationPlugin,
        parts_shown::PartsShownPlugin,
        parts_shown_pane::PartsShownPanePlugin,
        key_map::KeyMapPlugin,
    ));
}

#[cfg(test)]
mod tests {
    use std::collections::{HashMap, HashSet};

    use super::super::app::egui_setup::WindowTheme;
    use super::super::app::off_screen;
    use super::super::app::theme::{ColourScheme, Theme, TypeSize};
    use super::super::panes::NextPane;
    use super::*;
    use crate::engine::scenes::BENCH;

    /// A window without the engine, so that a frame is soon drawn.
    fn panels() -> App {
        let adapter = adapter().expect("something to draw with (Debian: mesa-vulkan-drivers)");
        let mut app = off_screen::app(adapter, UVec2::new(620, 460));
        app.insert_resource(Bench::new(&BENCH.engine(), &Assembly::default()));
        app.add_plugins((
            egui_plugins,
            scene::base,
            parts_shown::ShownPlugin,
            camera::CameraPlugin,
            panel_plugins,
        ));
        off_screen::ready(&mut app);
        (0..10).for_each(|_| off_screen::step(&mut app));
        app
    }

    #[test]
    fn whatever_pane_look_and_type_are_chosen_the_picture_that_stays_has_every_letter() {
        const CHANGES: usize = 150;
        const PANES: [&str; 3] = ["Reading", "What do you see?", "Show"];
        const SIZES: [TypeSize; 2] = [TypeSize::Usual, TypeSize::Large];
        let mut app = panels();
        let mut chance = fastrand::Rng::with_seed(14);
        let mut whole: HashMap<(&str, usize, usize), Vec<u8>> = HashMap::new();
        for change in 0..CHANGES {
            let pane = PANES[chance.usize(..PANES.len())];
            let (look, size) = (
                chance.usize(..ColourScheme::ALL.len()),
                chance.usize(..SIZES.len()),
            );
            app.world_mut().insert_resource(NextPane(pane));
            app.world_mut().resource_mut::<WindowTheme>().0 = Theme {
                colours: ColourScheme::ALL[look],
                type_size: SIZES[size],
            };
            let stays = off_screen::at_rest(&mut app).expect("a picture");
            // What it looks like once it was drawn again and again.
            let after = whole.entry((pane, look, size)).or_insert_with(|| {
                (0..12).for_each(|_| off_screen::step(&mut app));
                off_screen::picture(&mut app).expect("a picture")
            });
            let off = stays.iter().zip(after.iter());
            let off = off.filter(|(one, other)| one.abs_diff(**other) > 8).count();
            assert_eq!(off, 0, "change {change}: {pane}, look {look}, type {size}");
        }
        assert_eq!(whole.len(), 3 * 3 * 2, "each way to choose them came");
        let pictures: HashSet<_> = whole.values().collect();
        assert_eq!(pictures.len(), whole.len(), "each is another picture");
    }
}
