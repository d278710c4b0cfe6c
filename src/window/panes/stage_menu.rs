//! The menu of how far the build has got: it settles which looks, witnesses and remedies are named.

use egui::{Id, Popup, PopupCloseBehavior, Ui};

use crate::description::Case;
use crate::diagnosis::stage::{Sight, Stage};
use crate::window::session::build_stage::BuildStage;
use crate::words::capitalised;

/// A button with the stage on it and a menu of stages, and of what is not in yet; a case in one
/// block is never open. Gives what was chosen.
pub(super) fn menu(ui: &mut Ui, now: &BuildStage, case: Option<Case>) -> Option<BuildStage> {
    let mut chosen = now.clone();
    let button = ui
        .button(format!("Stage: {}", words(now.stage)))
        .on_hover_text("How far your engine is built: what can be seen and reached now");
    Popup::menu(&button)
        .id(Id::new("stage menu"))
        .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
        .show(|ui| {
            let never = |stage: &Stage| {
                *stage == Stage::CaseOpen && case == Some(Case::OneBlock) && now.stage != *stage
            };
            for stage in Stage::ALL.into_iter().filter(|stage| !never(stage)) {
                let radio = ui
                    .radio(now.stage == stage, words(stage))
                    .on_hover_text(capitalised(stage.what()));
                if radio.clicked() {
                    chosen.stage = stage;
                }
            }
            ui.separator();
            ui.label("Not in yet, or out of reach");
            for &sight in now.stage.sights() {
                let mut without = now.without.contains(&sight);
                if ui
                    .checkbox(&mut without, capitalised(sight.word()))
                    .changed()
                {
                    chosen.without.retain(|other| *other != sight);
                    chosen.without.extend(without.then_some(sight));
                }
            }
        });
    let sights = chosen.stage.sights();
    chosen
        .without
        .retain(|sight: &Sight| sights.contains(sight));
    (chosen != *now).then_some(chosen)
}

fn words(stage: Stage) -> &'static str {
    match stage {
        Stage::CaseOpen => "case open",
        Stage::CoverOff => "cover off",
        Stage::CoverOn => "cover on",
        Stage::Fired => "fit to be lit",
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;

    #[test]
    fn a_stage_and_what_is_not_in_yet_are_chosen_from_the_menu() {
        let show = |ui: &mut Ui, stage: &mut BuildStage| {
            if let Some(chosen) = menu(ui, stage, Some(Case::Split)) {
                *stage = chosen;
            }
        };
        let mut harness = Harness::new_ui_state(show, BuildStage::default());
        harness.get_by_label("Stage: cover off").click();
        harness.run();
        harness.get_by_label("Thumb").click();
        harness.run();
        assert_eq!(harness.state().without, [Sight::Thumb]);
        harness.get_by_label("case open").click();
        harness.run();
        // With the case open there is no thumb to be without.
        assert_eq!(
            *harness.state(),
            BuildStage {
                stage: Stage::CaseOpen,
                without: Vec::new(),
            }
        );
    }
}
