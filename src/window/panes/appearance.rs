//! The menu of how the window looks: light, dark or high contrast, how large its type is, the whole
//! screen, panes folded away, and the map of keys.

use egui::{Button, Id, Popup, Ui};

use crate::window::app::theme::{ColourScheme, Theme, TypeSize};

/// What was chosen in the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LookChoice {
    Theme(Theme),
    /// The whole screen, or a window again.
    FullScreen,
    /// The panes at the sides folded away, or back.
    Fold,
    /// The map of keys.
    Keys,
}

/// A button with a menu of colour schemes, sizes of type, and what has a key of its own.
pub(super) fn menu(ui: &mut Ui, theme: Theme) -> Option<LookChoice> {
    let mut chosen = theme;
    let mut choice = None;
    let button = ui
        .button("Look")
        .on_hover_text("Light or dark, how large the type is, the whole screen");
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
        ui.separator();
        for (words, key, each) in [
            ("Full screen", "F11", LookChoice::FullScreen),
            ("Fold the panes away", "F9", LookChoice::Fold),
            ("Map of keys", "F1", LookChoice::Keys),
        ] {
            if ui.add(Button::new(words).shortcut_text(key)).clicked() {
                choice = Some(each);
            }
        }
    });
    choice.or((chosen != theme).then_some(LookChoice::Theme(chosen)))
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    fn chosen(labels: &[&str]) -> (Theme, Vec<LookChoice>) {
        let show =
            |ui: &mut Ui, (theme, others): &mut (Theme, Vec<LookChoice>)| match menu(ui, *theme) {
                Some(LookChoice::Theme(chosen)) => *theme = chosen,
                other => others.extend(other),
            };
        let mut harness = Harness::new_ui_state(show, (Theme::default(), Vec::new()));
        for label in labels {
            harness.get_by_label("Look").click();
            harness.run();
            harness.get_by_label_contains(label).click();
            harness.run();
        }
        harness.into_state()
    }

    #[test]
    fn a_look_and_a_size_of_type_are_chosen_from_the_menu() {
        let (theme, others) = chosen(&["High contrast", "Type for a hall"]);
        assert_eq!(
            theme,
            Theme {
                colours: ColourScheme::HighContrast,
                type_size: TypeSize::Hall
            }
        );
        assert!(others.is_empty());
    }

    #[test]
    fn what_has_a_key_can_be_had_by_the_pointer_too() {
        let (theme, others) = chosen(&["Full screen", "Fold the panes", "Map of keys"]);
        assert_eq!(theme, Theme::default());
        assert_eq!(
            others,
            [LookChoice::FullScreen, LookChoice::Fold, LookChoice::Keys]
        );
    }
}
