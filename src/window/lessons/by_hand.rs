//! What is put in by hand at a step: the camshaft's wheel laid in on a tooth, the geared shaft and
//! the drive let down, each lead plugged.

use egui::{Button, Label, RichText, Ui};

use crate::description::{DriveKind, job_steps};
use crate::procedures::job::{Condition, Step};
use crate::window::app::theme::strong;
use crate::window::panes::removed_drive::DriveResponse;
use crate::window::panes::{removed_drive, widgets};
use crate::window::session::bench::Bench;
use crate::words::{capitalised, degrees};

/// What the user does with a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum HandResponse {
    /// Turn a camshaft that is out on by teeth of its wheel; negative, back.
    TurnCam(usize, i32),
    /// Lay it in on the tooth nearest to how it is held.
    LayCamIn(usize),
    /// Put the camshafts that are out of their bearings into them, out of mesh.
    SlideCamsIn,
    /// Take it out again.
    TakeCamOut(usize),
    /// Turn the distributor's shaft by so many degrees, clockwise looking down.
    TurnShaft(f64),
    /// Let it into mesh.
    MeshShaft,
    /// Draw it again.
    DrawShaft,
    /// Lift, turn or seat the distributor's drive.
    Drive(DriveResponse),
    /// Take a cylinder's lead in hand.
    Take(u8),
    /// Plug the lead in hand into a tower or on a terminal, by its place among the leads.
    Plug(u8, usize),
    /// Pull a cylinder's lead off.
    Unplug(u8),
    /// Take back what was put in, taken out or plugged last.
    Undo,
    /// Do it again.
    Redo,
}

/// What of the hand is to be shown beside the bench.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Hand {
    /// The cylinder whose lead is in hand.
    pub(super) lead: Option<u8>,
    pub(super) can_undo: bool,
    pub(super) can_redo: bool,
}

/// What can be put in at this step; nothing where nothing can.
pub(super) fn panel(ui: &mut Ui, step: &Step, bench: &Bench, hand: Hand) -> Option<HandResponse> {
    let mut response = None;
    if shows_camshafts(step, bench) {
        response = if slides_in(step, bench) {
            slide_in(ui, bench).or(response)
        } else {
            camshafts(ui, bench).or(response)
        };
    }
    if shows_shaft(step, bench) {
        response = shaft(ui, bench).or(response);
    }
    if shows_drive(step, bench) {
        response = drive(ui, step, bench).or(response);
    }
    if matches!(
        step.right,
        Condition::Lead { .. } | Condition::CoilPlugged { .. }
    ) {
        response = leads(ui, bench, hand.lead).or(response);
    }
    if hand.can_undo || hand.can_redo {
        response = undo(ui, hand).or(response);
    }
    response
}

/// Whether the camshafts are to be seen to at this step.
fn shows_camshafts(step: &Step, bench: &Bench) -> bool {
    let is_out = bench.apart().has_cam_out();
    matches!(step.right, Condition::MarksMeet(_))
        || is_out && (step.key == job_steps::CAM_IN.key || !step.is_by_hand())
}

/// Whether camshafts go into their bearings before their wheels are laid in. With gears it is one
/// movement.
fn slides_in(step: &Step, bench: &Bench) -> bool {
    let gears = bench.engine().metric().cam_drive.kind == DriveKind::Gears;
    step.key == job_steps::CAM_IN.key && bench.not_in().bearings && !gears
}

fn slide_in(ui: &mut Ui, bench: &Bench) -> Option<HandResponse> {
    let (cam, them) = if bench.engine().has_several_camshafts() {
        ("the camshafts", "they stand")
    } else {
        ("the camshaft", "it stands")
    };
    widgets::wrapped(
        ui,
        &format!(
            "On the model {them} clear of the bearings. The wheel is laid in at a step of its own."
        ),
    );
    let slide = Button::new(RichText::new(format!("Slide {cam} in")).strong());
    let pressed = ui.add(slide).on_hover_text("Ctrl+I").clicked();
    (pressed || in_by_key(ui)).then_some(HandResponse::SlideCamsIn)
}

fn shows_shaft(step: &Step, bench: &Bench) -> bool {
    let later = matches!(
        step.right,
        Condition::RotorHeld(_) | Condition::RotorSeated(_)
    );
    step.right == Condition::ShaftMeshed || later && bench.apart().shaft().is_some()
}

fn shows_drive(step: &Step, bench: &Bench) -> bool {
    let is_out = bench.distributor_is_aside() && !step.is_by_hand();
    let needs_it = matches!(
        step.right,
        Condition::OneTurn | Condition::TwoTurns | Condition::Lead { .. }
    );
    let is_its = matches!(
        step.right,
        Condition::RotorHeld(_) | Condition::RotorSeated(_)
    );
    let may = bench.apart().shaft().is_none() && !bench.apart().has_cam_out();
    (is_its && may) || bench.drive_out().is_some() || (is_out && needs_it && may)
}

/// Each camshaft: turned by teeth and laid in while it is out, taken out while it is in.
fn camshafts(ui: &mut Ui, bench: &Bench) -> Option<HandResponse> {
    let mut response = None;
    let engine = bench.engine();
    // In or out, so that the buttons under it hold still.
    widgets::wrapped(
        ui,
        "Out of mesh, turn its wheel by teeth, here or by dragging it on the model, and lay it in, here or by a click on it. It goes in on \
         the nearest tooth, right or wrong.",
    );
    for (camshaft, name) in engine.camshaft_names().enumerate() {
        let name = if engine.has_several_camshafts() {
            capitalised(name)
        } else {
            "Camshaft".to_owned()
        };
        let marks = engine.written().marks.iter().zip(&bench.reading().marks);
        let mut marks = marks.filter(|(mark, _)| mark.on.camshaft() == Some(camshaft));
        let mark = marks.next().map_or(String::new(), |(mark, clock)| {
            format!(
                ", the {} at {}",
                mark.name,
                degrees(clock.degrees().round())
            )
        });
        let is_out = bench.apart().cam(camshaft).is_some();
        let stands = match (is_out, bench.not_in().bearings) {
            (false, _) => "in mesh",
            (true, true) => "out",
            (true, false) => "in its bearings, out of mesh",
        };
        ui.add(Label::new(strong(ui.ctx(), format!("{name}: {stands}{mark}"))).wrap());
        ui.horizontal(|ui| {
            if !is_out {
                let take = ui.button("Take it out");
                if take
                    .on_hover_text("Ctrl+I: out of mesh, to be laid in anew")
                    .clicked()
                {
                    response = Some(HandResponse::TakeCamOut(camshaft));
                }
                return;
            }
            for (words, teeth, key) in [("A tooth back", -1, "Ctrl+,"), ("A tooth on", 1, "Ctrl+.")]
            {
                if ui.button(words).on_hover_text(key).clicked() {
                    response = Some(HandResponse::TurnCam(camshaft, teeth));
                }
            }
            let lay = Button::new(RichText::new("Lay it in").strong());
            if ui.add(lay).on_hover_text("Ctrl+I").clicked() {
                response = Some(HandResponse::LayCamIn(camshaft));
            }
        });
    }
    response.or_else(|| {
        let mut cams = 0..engine.camshaft_count();
        let first = cams.find(|camshaft| bench.apart().cam(*camshaft).is_some());
        let Some(camshaft) = first else {
            // All are in: the last comes out again.
            let last = engine.camshaft_count().saturating_sub(1);
            return in_by_key(ui).then_some(HandResponse::TakeCamOut(last));
        };
        let turn = |teeth| HandResponse::TurnCam(camshaft, teeth);
        by_key(ui, [turn(-1), turn(1), HandResponse::LayCamIn(camshaft)])
    })
}

/// Ctrl+I puts in what is in hand, or takes it out again.
fn in_by_key(ui: &Ui) -> bool {
    ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::I))
}

/// Ctrl with a comma turns what is in hand back, with a full stop on, and with I puts it in.
fn by_key(ui: &Ui, does: [HandResponse; 3]) -> Option<HandResponse> {
    use egui::{Key, Modifiers};
    let keys = [Key::Comma, Key::Period, Key::I];
    let pressed = ui.input_mut(|input| {
        keys.iter()
            .position(|key| input.consume_key(Modifiers::COMMAND, *key))
    })?;
    does.get(pressed).copied()
}

/// The geared shaft under a tongue.
fn shaft(ui: &mut Ui, bench: &Bench) -> Option<HandResponse> {
    let Some(held) = bench.apart().shaft() else {
        let draw = ui.button("Draw the shaft again");
        return draw
            .on_hover_text("Out of mesh, the distributor off it")
            .clicked()
            .then_some(HandResponse::DrawShaft);
    };
    ui.add(
        Label::new(strong(
            ui.ctx(),
            format!(
                "The shaft is held over its hole: {}.",
                bench.slot_words(held)
            ),
        ))
        .wrap(),
    );
    let tooth = bench.rotor_tooth_deg();
    let mut response = None;
    ui.horizontal_wrapped(|ui| {
        let steps = [
            ("A tooth anticlockwise", -tooth, "Looking down; Ctrl+,"),
            ("A tooth clockwise", tooth, "Looking down; Ctrl+."),
        ];
        for (words, by, hover) in steps {
            if ui.button(words).on_hover_text(hover).clicked() {
                response = Some(HandResponse::TurnShaft(by));
            }
        }
        let mesh = Button::new(RichText::new("Let it into mesh").strong());
        if ui.add(mesh).on_hover_text("Ctrl+I").clicked() {
            response = Some(HandResponse::MeshShaft);
        }
    });
    let turn = HandResponse::TurnShaft;
    response.or_else(|| by_key(ui, [turn(-tooth), turn(tooth), HandResponse::MeshShaft]))
}

/// The distributor's drive.
fn drive(ui: &mut Ui, step: &Step, bench: &Bench) -> Option<HandResponse> {
    // Where the rotor must start is found before the drive is let down.
    let may_be_seated = !matches!(step.right, Condition::RotorHeld(_));
    let held = bench.rotor_held();
    let pressed = removed_drive::panel(ui, held, bench.is_seating(), may_be_seated);
    let pressed = pressed.map(HandResponse::Drive);
    if bench.is_seating() {
        return pressed;
    }
    pressed.or_else(|| {
        let Some(held) = held else {
            let lift = HandResponse::Drive(DriveResponse::Lift);
            return in_by_key(ui).then_some(lift);
        };
        let turned = |deg: f64| {
            let at = crate::angle::Clock::new(held.degrees() + deg);
            HandResponse::Drive(DriveResponse::Hold(at))
        };
        let key = by_key(
            ui,
            [
                turned(-5.0),
                turned(5.0),
                HandResponse::Drive(DriveResponse::Seat),
            ],
        )?;
        (may_be_seated || key != HandResponse::Drive(DriveResponse::Seat)).then_some(key)
    })
}

/// The leads that are off, one of them in hand, and the towers or terminals.
fn leads(ui: &mut Ui, bench: &Bench, in_hand: Option<u8>) -> Option<HandResponse> {
    let mut response = None;
    let off = bench.apart().leads_off();
    let in_hand = in_hand.filter(|lead| off.contains(lead));
    let on_towers = bench.engine().coils().is_empty();
    widgets::wrapped(
        ui,
        if on_towers {
            "Take a lead in hand, then click on a tower: here, or on the model's cap. A click on a lead pulls it off."
        } else {
            "Take a lead in hand, then click on a terminal. A click on a lead pulls it off."
        },
    );
    let mut all: Vec<u8> = bench.engine().lead_order().to_vec();
    all.sort_unstable();
    // Those that are on stay where they stood, so that none moves under the pointer.
    ui.horizontal_wrapped(|ui| {
        for lead in all {
            let button = Button::new(format!("No. {lead}'s lead"))
                .selected(in_hand == Some(lead))
                .frame_when_inactive(true);
            if ui.add_enabled(off.contains(&lead), button).clicked() {
                response = Some(HandResponse::Take(lead));
            }
        }
    });
    response = towers(ui, bench, in_hand).or(response);
    response.or_else(|| lead_by_key(ui, bench, in_hand))
}

/// The towers or terminals, two in a row: one that is empty takes the lead in hand, and a lead is
/// pulled off.
fn towers(ui: &mut Ui, bench: &Bench, in_hand: Option<u8>) -> Option<HandResponse> {
    let mut response = None;
    let towers = bench.phasing().towers();
    let width = (ui.available_width() - ui.spacing().item_spacing.x) / 2.0;
    egui::Grid::new("towers").num_columns(2).show(ui, |ui| {
        for (place, plugged) in bench.plugged().enumerate() {
            let name = match towers.get(place) {
                Some(clock) => format!("At {}", degrees(clock.degrees())),
                None => format!("Terminal {}", place + 1),
            };
            let (holds, does, hover) = match (plugged, in_hand) {
                (Some(lead), _) => (
                    format!("No. {lead}'s lead"),
                    Some(HandResponse::Unplug(lead)),
                    "Pull it off",
                ),
                (None, Some(lead)) => (
                    "empty".to_owned(),
                    Some(HandResponse::Plug(lead, place)),
                    "Plug the lead in hand in here",
                ),
                (None, None) => ("empty".to_owned(), None, "Take a lead in hand first"),
            };
            let button = Button::new(format!("{name}: {holds}")).min_size(egui::vec2(width, 0.0));
            let pressed = ui.add_enabled(does.is_some(), button);
            if pressed
                .on_hover_text(hover)
                .on_disabled_hover_text(hover)
                .clicked()
            {
                response = does;
            }
            if place % 2 == 1 {
                ui.end_row();
            }
        }
    });
    response
}

/// The keys go through the leads that are off, and plug the one in hand into the tower at the rotor;
/// on coils, on the first terminal that is empty.
fn lead_by_key(ui: &Ui, bench: &Bench, in_hand: Option<u8>) -> Option<HandResponse> {
    let off = bench.apart().leads_off();
    let (first, last) = off.first().zip(off.last())?;
    let at = off.iter().position(|lead| Some(*lead) == in_hand);
    let before = at
        .and_then(|at| off.get(at.checked_sub(1)?))
        .unwrap_or(last);
    let after = at.and_then(|at| off.get(at + 1)).unwrap_or(first);
    let at_the_rotor = bench.reading().rotor.map(|rotor| rotor.tower_index);
    let place = at_the_rotor.or_else(|| bench.plugged().position(|lead| lead.is_none()));
    let plugs = in_hand.zip(place);
    let plugs = plugs.map_or(HandResponse::Take(*first), |(lead, place)| {
        HandResponse::Plug(lead, place)
    });
    by_key(
        ui,
        [
            HandResponse::Take(*before),
            HandResponse::Take(*after),
            plugs,
        ],
    )
}

fn undo(ui: &mut Ui, hand: Hand) -> Option<HandResponse> {
    let mut response = None;
    ui.horizontal(|ui| {
        let rows = [
            (
                hand.can_undo,
                "Undo last",
                "Takes back what was put in, taken out or plugged last",
                HandResponse::Undo,
            ),
            (hand.can_redo, "Redo", "Does it again", HandResponse::Redo),
        ];
        for (can, words, hover, does) in rows {
            let pressed = ui.add_enabled(can, Button::new(words));
            if pressed.on_hover_text(hover).clicked() {
                response = Some(does);
            }
        }
    });
    response
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::angle::CrankAngle;
    use crate::engine::{Assembly, scenes};
    use crate::phasing::Phasing;
    use crate::procedures::job::{Job, Progress, Walkthrough};

    /// An engine that the job has just been begun on.
    fn begun(scene: &str) -> (Bench, Job) {
        let engine = scenes::find(scene).expect("a scene").engine();
        let mut bench = Bench::new(&engine, &Assembly::default());
        let progress = Progress::none(engine.name());
        let walk = Walkthrough::begin(bench.phasing(), progress, CrankAngle::new(0.0));
        let not_in = walk.not_in_by_progress(bench.phasing());
        bench.take_apart(&Assembly::default(), &not_in);
        (bench, Job::of(&Phasing::as_drawn(&engine)))
    }

    fn clicked(
        bench: &Bench,
        job: &Job,
        key: &str,
        hand: Hand,
        label: &str,
    ) -> Option<HandResponse> {
        let step = job.step(key).expect("the step");
        let mut harness = Harness::builder().with_size([360.0, 700.0]).build_ui_state(
            |ui, received: &mut Option<HandResponse>| {
                *received = panel(ui, step, bench, hand).or(*received);
            },
            None,
        );
        harness.get_by_label(label).click();
        harness.run();
        *harness.state()
    }

    #[test]
    fn a_camshaft_is_turned_by_teeth_laid_in_and_taken_out() {
        let (mut bench, job) = begun("flat_four");
        let press =
            |bench: &Bench, label| clicked(bench, &job, "marks-meet", Hand::default(), label);
        assert_eq!(
            press(&bench, "A tooth on"),
            Some(HandResponse::TurnCam(0, 1))
        );
        assert_eq!(
            press(&bench, "A tooth back"),
            Some(HandResponse::TurnCam(0, -1))
        );
        assert_eq!(press(&bench, "Lay it in"), Some(HandResponse::LayCamIn(0)));
        bench.lay_cam_in(0);
        assert_eq!(
            press(&bench, "Take it out"),
            Some(HandResponse::TakeCamOut(0))
        );
    }

    #[test]
    fn where_a_chain_drives_it_a_camshaft_is_slid_in_first_and_its_wheel_laid_in_afterwards() {
        let (mut bench, job) = begun("vee_eight");
        let press = |bench: &Bench, key, label| clicked(bench, &job, key, Hand::default(), label);
        assert_eq!(
            press(&bench, "cam-in", "Slide the camshaft in"),
            Some(HandResponse::SlideCamsIn)
        );
        bench.slide_cams_in();
        assert!(bench.apart().has_cam_out() && !bench.not_in().bearings);
        assert_eq!(
            press(&bench, "cam-in", "A tooth on"),
            Some(HandResponse::TurnCam(0, 1))
        );
        // A gear goes into mesh as its camshaft is laid in.
        let (bench, job) = begun("flat_four");
        assert_eq!(
            clicked(&bench, &job, "cam-in", Hand::default(), "Lay it in"),
            Some(HandResponse::LayCamIn(0))
        );
    }

    #[test]
    fn the_distributor_is_held_over_its_hole_only_once_the_camshaft_is_in() {
        let (mut bench, job) = begun("flat_four");
        let step = job.step("rotor-home").expect("the step");
        let shown = |bench: &Bench| {
            let harness = Harness::new_ui(|ui| {
                panel(ui, step, bench, Hand::default());
            });
            let lift = harness.query_by_label("Hold the distributor over its hole");
            lift.is_some()
        };
        assert!(!shown(&bench));
        bench.lay_cam_in(0);
        assert!(shown(&bench));
    }

    #[test]
    fn a_lead_is_taken_in_hand_plugged_into_a_tower_and_pulled_off() {
        let (mut bench, job) = begun("flat_four");
        let press = |bench: &Bench, lead, label| {
            let hand = Hand {
                lead,
                ..Hand::default()
            };
            clicked(bench, &job, "lead-1", hand, label)
        };
        let tower = format!("At {}", degrees(bench.phasing().towers()[0].degrees()));
        let empty = format!("{tower}: empty");
        assert_eq!(
            press(&bench, None, "No. 4's lead"),
            Some(HandResponse::Take(4))
        );
        assert_eq!(press(&bench, None, &empty), None, "no lead in hand");
        assert_eq!(
            press(&bench, Some(4), &empty),
            Some(HandResponse::Plug(4, 0))
        );
        bench.plug(4, 0);
        let holds = format!("{tower}: No. 4's lead");
        assert_eq!(press(&bench, None, &holds), Some(HandResponse::Unplug(4)));
    }

    #[test]
    fn keys_turn_the_wheel_and_lay_it_in() {
        let (bench, job) = begun("bench_four");
        let step = job.step("marks-meet").expect("the step");
        let mut harness = Harness::new_ui_state(
            |ui, received: &mut Vec<HandResponse>| {
                received.extend(panel(ui, step, &bench, Hand::default()));
            },
            Vec::new(),
        );
        for key in [egui::Key::Period, egui::Key::Comma, egui::Key::I] {
            harness.key_press_modifiers(egui::Modifiers::COMMAND, key);
            harness.run();
        }
        assert_eq!(
            *harness.state(),
            [
                HandResponse::TurnCam(0, 1),
                HandResponse::TurnCam(0, -1),
                HandResponse::LayCamIn(0)
            ]
        );
    }
}
