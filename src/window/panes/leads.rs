//! The leads in the cap, tower by tower, or on the coils, coil by coil: shown and replugged the same way wherever leads are.

use egui::{ComboBox, Grid, RichText, Ui, WidgetInfo, WidgetType};

use crate::engine::Engine;
use crate::window::app::theme::strong;

/// So many towers beside one another, where there is room for them.
const IN_A_ROW: usize = 6;
/// The longest that a choice shows.
const LONGEST: &str = "12 !";

/// The leads from No. 1's tower round in the rotor's direction. To plug one elsewhere swaps it with
/// the one there; gives how they are plugged then.
pub(super) fn lead_grid(ui: &mut Ui, engine: &Engine, leads: &[u8]) -> Option<Vec<u8>> {
    let (order, coils) = (engine.lead_order(), engine.coils());
    let what = if coils.is_empty() {
        "Tower"
    } else {
        "Terminal"
    };
    let mut replugged = None;
    const APART: f32 = 6.0;
    // As wide whether or not it is wrong.
    let shown = strong(ui.ctx(), LONGEST);
    let laid = egui::WidgetText::from(shown).into_galley(
        ui,
        Some(egui::TextWrapMode::Extend),
        f32::INFINITY,
        egui::TextStyle::Button,
    );
    let spacing = ui.spacing();
    let icon = spacing.icon_width + spacing.icon_spacing;
    let wide = laid.size().x + icon + 2.0 * spacing.button_padding.x;
    let room = (ui.available_width() + APART) / (wide + APART);
    let in_a_row = IN_A_ROW.min(room as usize).max(1);
    Grid::new("leads").spacing([APART, 4.0]).show(ui, |ui| {
        for (tower, own) in order.iter().enumerate() {
            if let Some(lead) = choice(ui, (what, wide), tower, *own, leads) {
                replugged = Some(swapped(leads, tower, lead));
            }
            // On coils a row each.
            let row_ends = coils.iter().any(|coil| coil.last() == Some(own));
            if row_ends || (coils.is_empty() && tower % in_a_row == in_a_row - 1) {
                ui.end_row();
            }
        }
    });
    replugged
}

fn choice(
    ui: &mut Ui,
    (what, wide): (&str, f32),
    tower: usize,
    own: u8,
    leads: &[u8],
) -> Option<u8> {
    let plugged = leads.get(tower).copied()?;
    let mut chosen = None;
    let shown = if plugged == own {
        RichText::new(plugged.to_string())
    } else {
        strong(ui.ctx(), format!("{plugged} !"))
    };
    let combo = ComboBox::from_id_salt(("lead", tower))
        .selected_text(shown)
        .width(wide);
    let response = combo.show_ui(ui, |ui| {
        for &lead in leads {
            if ui
                .selectable_label(lead == plugged, format!("No. {lead}'s lead"))
                .clicked()
            {
                chosen = Some(lead);
            }
        }
    });
    let name = format!("{what} drawn for No. {own}: lead of No. {plugged}");
    response
        .response
        .widget_info(|| WidgetInfo::labeled(WidgetType::ComboBox, true, &name));
    response.response.on_hover_text(name);
    chosen.filter(|lead| *lead != plugged)
}

fn swapped(leads: &[u8], tower: usize, lead: u8) -> Vec<u8> {
    let mut leads = leads.to_vec();
    if let Some(other) = leads.iter().position(|&plugged| plugged == lead) {
        leads.swap(tower, other);
    }
    leads
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::scenes;
    use crate::window::app::theme::Theme;

    #[test]
    fn eight_wrong_leads_stand_where_eight_right_ones_do_and_within_the_pane() {
        let engine = scenes::find("vee_eight").expect("a scene").engine();
        let show = |ui: &mut Ui, leads: &mut Vec<u8>| {
            Theme::default().apply(ui.ctx());
            lead_grid(ui, &engine, leads);
        };
        let right = engine.lead_order().to_vec();
        let mut harness = Harness::builder()
            .with_size([340.0, 300.0])
            .build_ui_state(show, right.clone());
        harness.run();
        let places = |harness: &Harness<'_, Vec<u8>>| {
            let role = egui::accesskit::Role::ComboBox;
            let all = harness.get_all_by_role(role).map(|node| node.rect());
            all.collect::<Vec<_>>()
        };
        let before = places(&harness);
        assert_eq!(before.len(), 8);
        harness.state_mut().rotate_left(1);
        harness.run();
        assert_eq!(places(&harness), before);
        assert!(
            before.iter().all(|place| place.right() <= 340.0),
            "{before:?}"
        );
    }
}
