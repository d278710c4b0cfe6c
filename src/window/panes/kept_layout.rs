//! How the window was left: its look, its type, its panes. It is kept in the user's state folder and
//! found again at the next start; nothing in it changes an answer.

use std::path::Path;

use bevy::prelude::*;
use serde::{Deserialize, Serialize};

use super::{PaneLayout, Panes};
use crate::document::unsaved::{Unsaved, UnsavedWork};
use crate::source;
use crate::window::app::egui_setup::WindowTheme;
use crate::window::app::theme::Theme;

/// The name it is kept under, in a folder of its own.
const NAME: &str = "/layout.ron";

/// Finds how the window was left, and keeps how it is.
pub(crate) struct KeptLayoutPlugin {
    pub(crate) folder: UnsavedWork,
}

impl Plugin for KeptLayoutPlugin {
    fn build(&self, app: &mut App) {
        // A system that gives no thread goes without.
        let Ok(mut kept) = Unsaved::new(self.folder.clone()) else {
            return;
        };
        let found = kept.find(Path::new(NAME), |text| source::ron::<Layout>(text).0);
        if let Some((layout, _)) = found {
            app.insert_resource(WindowTheme(layout.theme));
            app.init_resource::<Panes>();
            app.world_mut().resource_mut::<Panes>().layout = layout.panes;
        }
        app.insert_resource(KeptLayout(Some(kept)));
        app.add_systems(Last, keep);
    }
}

/// What is kept.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
struct Layout {
    theme: Theme,
    panes: PaneLayout,
}

#[derive(Resource)]
struct KeptLayout(Option<Unsaved<Layout>>);

fn keep(
    theme: Res<WindowTheme>,
    panes: Res<Panes>,
    mut exits: MessageReader<AppExit>,
    mut kept: ResMut<KeptLayout>,
) {
    let layout = Layout {
        theme: theme.0,
        panes: panes.layout.clone(),
    };
    let kept = kept.bypass_change_detection();
    if let Some(unsaved) = &mut kept.0 {
        unsaved.set(Path::new(NAME), Some(&layout), source::write);
    }
    if exits.read().count() > 0 {
        // Waits until it is written.
        kept.0 = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::app::theme::{ColourScheme, TypeSize};

    fn app(folder: &Path) -> App {
        let mut app = App::new();
        app.add_plugins(MinimalPlugins)
            .init_resource::<WindowTheme>()
            .init_resource::<Panes>()
            .add_plugins(KeptLayoutPlugin {
                folder: UnsavedWork::within(folder.to_path_buf()),
            });
        app
    }

    #[test]
    fn look_type_pane_and_widths_are_found_again_at_the_next_start() {
        let folder = tempfile::tempdir().expect("a folder");
        let theme = Theme {
            colours: ColourScheme::Dark,
            type_size: TypeSize::Large,
        };
        let layout = PaneLayout {
            chosen: Some("As built".into()),
            right_wide: Some(480.0),
            left_wide: None,
            left_folded: Some(true),
        };
        let mut first = app(folder.path());
        first.insert_resource(WindowTheme(theme));
        first.world_mut().resource_mut::<Panes>().layout = layout.clone();
        first.update();
        first.world_mut().write_message(AppExit::Success);
        first.update();
        let second = app(folder.path());
        assert_eq!(second.world().resource::<WindowTheme>().0, theme);
        assert_eq!(second.world().resource::<Panes>().layout, layout);
    }

    #[test]
    fn what_is_no_layout_is_as_though_nothing_were_kept() {
        let folder = tempfile::tempdir().expect("a folder");
        let work = UnsavedWork::within(folder.path().to_path_buf());
        work.keep(Path::new(NAME), "(theme: (colours: Plaid")
            .expect("kept");
        let app = app(folder.path());
        assert_eq!(app.world().resource::<WindowTheme>().0, Theme::default());
    }
}
