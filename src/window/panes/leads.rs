//! The leads in the cap, tower by tower, or on the coils, coil by coil: shown and replugged the same way wherever leads are.

use egui::{ComboBox, Grid, RichText, Ui, WidgetInfo, WidgetType};

use crate::engine::Engine;
use crate::window::app::theme::strong;

/// So many towers beside one another.
const IN_A_ROW: usize = 6;

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
    Grid::new("leads").spacing([6.0, 4.0]).show(ui, |ui| {
        for (tower, own) in order.iter().enumerate() {
            if let Some(lead) = choice(ui, what, tower, *own, leads) {
                replugged = Some(swapped(leads, tower, lead));
            }
            // On coils a row each.
            let row_ends = coils.iter().any(|coil| coil.last() == Some(own));
            if row_ends || (coils.is_empty() && tower % IN_A_ROW == IN_A_ROW - 1) {
                ui.end_row();
            }
        }
    });
    replugged
}

fn choice(ui: &mut Ui, what: &str, tower: usize, own: u8, leads: &[u8]) -> Option<u8> {
    let plugged = leads.get(tower).copied()?;
    let mut chosen = None;
    let shown = if plugged == own {
        RichText::new(plugged.to_string())
    } else {
        strong(ui.ctx(), format!("{plugged} !"))
    };
    let combo = ComboBox::from_id_salt(("lead", tower))
        .selected_text(shown)
        .width(36.0);
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
