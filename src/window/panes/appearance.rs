//! The menu of the window's appearance: light, dark or high contrast, and how large its type is.

use egui::{Id, Popup, Ui};

use crate::window::app::theme::{ColourScheme, Theme, TypeSize};

/// A button with a menu of colour schemes and sizes of type. Gives the theme that was chosen.
pub(super) fn menu(ui: &mut Ui, theme: Theme) -> Option<Theme> {
    let mut chosen = theme;
    let button = ui
        .button("Look")
        .on_hover_text("Light or dark, and how large the type is");
    Popup::menu(&button).id(Id::new("look menu")).show(|ui| {
        for look in ColourScheme::ALL {
            if ui.radio(theme.colours == look, look.word()).clicked() {
                chosen.colours = look;
            }
        }
        ui.separator();
        for size in TypeSize::ALL {
            if ui.radio(theme.type_size == size, size.word()).clicked() {
                chosen.type_size = size;
            }
        }
    });
    (chosen != theme).then_some(chosen)
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    #[test]
    fn a_look_and_a_size_of_type_are_chosen_from_the_menu() {
        let show = |ui: &mut Ui, theme: &mut Theme| {
            if let Some(chosen) = menu(ui, *theme) {
                *theme = chosen;
            }
        };
        let mut harness = Harness::new_ui_state(show, Theme::default());
        for label in ["High contrast", "Type for a room"] {
            harness.get_by_label("Look").click();
            harness.run();
            harness.get_by_label(label).click();
            harness.run();
        }
        assert_eq!(
            *harness.state(),
            Theme {
                colours: ColourScheme::HighContrast,
                type_size: TypeSize::Room
            }
        );
    }
}
