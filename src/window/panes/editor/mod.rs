//! The description, field by field, as it can be changed.
//!
//! A file or a function for each part of the description. Each shows its fields through a [`Form`], which knows
//! labels, units, ranges and findings by the fields' places; the panel answers with the description as it
//! has become and the place that was changed.

mod cam_drive;
mod distributor;
mod ignition;
mod marks;
mod second_ignition;
mod steps;
mod valves;

use egui::{RichText, Ui};

use super::form::{Form, finding_shown};
use super::widgets::{now_and_then, one_of};
use crate::description::{Bank, Case, Description, Throw};
use crate::drawing::Role;
use crate::source::Finding;
use crate::window::app::theme::Palette;
use crate::words::{Units, counted};

/// A change made in the editor.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Edit {
    /// The description as it has become.
    pub description: Description,
    /// The place that was changed.
    pub place: String,
}

/// Every field of the description, with what was found wrong under each.
pub(crate) fn panel(ui: &mut Ui, description: &Description, findings: &[Finding]) -> Option<Edit> {
    let mut d = description.clone();
    let sought = find(ui);
    let mut form = Form::new(d.units, findings).seeking(&sought);
    summary(ui, findings);
    form.part(ui, "Engine", |ui, form| engine(ui, form, &mut d));
    form.part(ui, "Crankshaft", |ui, form| crankshaft(ui, form, &mut d));
    form.part(ui, "Cylinders and firing", |ui, form| {
        cylinders(ui, form, &mut d);
    });
    form.part(ui, "Cam drive", |ui, form| {
        cam_drive::fields(ui, form, &mut d);
        cam_drive::camshafts(ui, form, &mut d);
    });
    form.part(ui, "Valves", |ui, form| valves::fields(ui, form, &mut d));
    form.part(ui, "Distributor", |ui, form| {
        distributor::fields(ui, form, &mut d);
    });
    form.part(ui, "Ignition", |ui, form| {
        ignition::fields(ui, form, &mut d);
    });
    form.part(ui, "Second ignition", |ui, form| {
        second_ignition::fields(ui, form, &mut d);
    });
    form.part(ui, "Valve to piston", |ui, form| {
        valves::clearance(ui, form, &mut d);
    });
    form.part(ui, "Marks", |ui, form| marks::fields(ui, form, &mut d));
    form.part(ui, "Your own lines for the sheet", |ui, form| {
        steps::fields(ui, form, &mut d);
    });
    let place = form.changed()?;
    (d != *description).then_some(Edit {
        description: d,
        place,
    })
}

/// A field is found by its words: Ctrl+F, then Tab goes to it.
fn find(ui: &mut Ui) -> String {
    let id = ui.id().with("a field is sought");
    let mut sought = ui
        .data(|data| data.get_temp::<String>(id))
        .unwrap_or_default();
    ui.horizontal(|ui| {
        let label = ui.label("Find a field");
        let field = ui
            .add(
                egui::TextEdit::singleline(&mut sought)
                    .desired_width(150.0)
                    .hint_text("Ctrl+F"),
            )
            .labelled_by(label.id);
        if ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::F)) {
            field.request_focus();
        }
        let escaped = ui.input(|input| input.key_pressed(egui::Key::Escape));
        if !sought.is_empty()
            && (ui
                .small_button("Show all")
                .on_hover_text("Escape")
                .clicked()
                || escaped)
        {
            sought.clear();
        }
    });
    ui.data_mut(|data| data.insert_temp(id, sought.clone()));
    sought
}

/// How many findings there are, with as much room where there are none; and those that belong to no
/// field.
fn summary(ui: &mut Ui, findings: &[Finding]) {
    const NOTHING: &str = "Nothing is wrong, and nothing to look at again.";
    let errors = findings.iter().filter(|finding| finding.is_error()).count();
    let palette = Palette::of(ui.ctx());
    let wrong = |count| {
        let things = counted(count, "thing is wrong", "things are wrong");
        format!("{things}: the engine shown is the last good one.")
    };
    let again = |count| counted(count, "thing to look at again", "things to look at again");
    let (words, ink) = match (errors, findings.len() - errors) {
        (0, 0) => (NOTHING.to_owned(), palette.faint),
        (0, warnings) => (again(warnings), palette.ink(Role::Caution)),
        (errors, 0) => (wrong(errors), palette.ink(Role::Now)),
        (errors, warnings) => (
            format!("{} And {}.", wrong(errors), again(warnings)),
            palette.ink(Role::Now),
        ),
    };
    let longest = format!("{} And {}.", wrong(20), again(20));
    one_of(ui, RichText::new(words).strong().color(ink), &[&longest]);
    let placeless = || findings.iter().filter(|finding| finding.place.is_empty());
    now_and_then(ui, placeless().next().is_some(), |ui| {
        placeless().for_each(|finding| finding_shown(ui, finding));
    });
}

fn engine(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.text(ui, "name", &mut d.name);
    form.lines(ui, "notes", &mut d.notes);
    let mut units = d.units;
    form.choice(
        ui,
        "units",
        &mut units,
        &[
            (Units::Millimetres, "millimetres"),
            (Units::Inches, "inches"),
        ],
    );
    if units != d.units {
        *d = d.in_units(units);
    }
    let cases = [
        (None, "not stated"),
        (Some(Case::Split), "two halves"),
        (Some(Case::OneBlock), "one block"),
    ];
    form.choice(ui, "case", &mut d.case, &cases);
    form.number(ui, "bore", &mut d.bore);
    form.number(ui, "rod_length", &mut d.rod_length);
    form.optional(ui, "pin_offset", &mut d.pin_offset, 0.0);
    let usual = 150.0 / d.units.millimetres();
    form.optional(ui, "pulley_diameter", &mut d.pulley_diameter, usual);
    form.found_only(ui, "format");
}

fn crankshaft(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let crank = &mut d.crankshaft;
    form.direction(ui, "crankshaft.rotation", &mut crank.rotation);
    form.number(ui, "crankshaft.stroke", &mut crank.stroke);
    form.words(ui, "Throws, front to back: clockwise from No. 1's, seen from the front, and whose rods they carry");
    form.rows(
        ui,
        "crankshaft.throws",
        &mut crank.throws,
        |form, ui, here, throw| {
            form.cell(ui, &format!("{here}.angle"), &mut throw.angle);
            ui.label("No.");
            form.numbers_cell(ui, &format!("{here}.cylinders"), &mut throw.cylinders, 90.0);
        },
        |last| Throw {
            angle: last.map_or(0.0, |last| last.angle),
            cylinders: Vec::new(),
        },
    );
}

fn cylinders(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.words(ui, "Banks: where the bores point, clockwise from straight up seen from the front, and their cylinders");
    form.rows(
        ui,
        "banks",
        &mut d.banks,
        |form, ui, here, bank| {
            form.cell(ui, &format!("{here}.angle"), &mut bank.angle);
            ui.label("No.");
            form.numbers_cell(ui, &format!("{here}.cylinders"), &mut bank.cylinders, 130.0);
        },
        |last| Bank {
            angle: last.map_or(0.0, |last| last.angle),
            cylinders: Vec::new(),
        },
    );
    form.numbers(ui, "firing_order", &mut d.firing_order, "-");
    let mut given = d.firing_angles.is_some();
    if form.whether(ui, "firing_angles", &mut given) {
        let even = 720.0 / d.firing_order.len().max(1) as f64;
        d.firing_angles = given.then(|| {
            (0..d.firing_order.len())
                .map(|index| index as f64 * even)
                .collect()
        });
    }
    for (index, angle) in d.firing_angles.iter_mut().flatten().enumerate() {
        let number = d
            .firing_order
            .get(index)
            .map_or(String::new(), |number| format!("No. {number} fires at"));
        form.number_labelled(ui, &number, &format!("firing_angles[{index}]"), angle);
    }
    form.found_only(ui, "firing_angles");
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::description::{
        Adjusters, EventsForm, ExhaustAlsoAt, IntakeAlsoAt, LashAt, Valve, ValveLash, fields,
    };
    use crate::engine::Engine;
    use crate::engine::scenes;
    use crate::engine::scenes::SCENES;
    use crate::laws::Lobe;
    use crate::source::Severity;
    use crate::window::app::theme::Theme;

    /// What is edited, and the places edited so far.
    struct Bench {
        description: Description,
        findings: Vec<Finding>,
        places: Vec<String>,
    }

    impl Bench {
        fn with(description: Description) -> Self {
            let findings = found(&description);
            Self {
                description,
                findings,
                places: Vec::new(),
            }
        }
    }

    fn found(description: &Description) -> Vec<Finding> {
        match Engine::new(description.clone()) {
            Ok((_, warnings)) => warnings,
            Err(findings) => findings,
        }
    }

    fn harness(bench: Bench) -> Harness<'static, Bench> {
        Harness::builder()
            .with_size([380.0, 3200.0])
            .build_ui_state(
                |ui, bench: &mut Bench| {
                    Theme::default().apply(ui.ctx());
                    if let Some(edit) = panel(ui, &bench.description, &bench.findings) {
                        bench.findings = found(&edit.description);
                        bench.description = edit.description;
                        bench.places.push(edit.place);
                    }
                },
                bench,
            )
    }

    fn of(scene: &str) -> Harness<'static, Bench> {
        harness(Bench::with(
            scenes::find(scene)
                .expect("a scene")
                .engine()
                .written()
                .clone(),
        ))
    }

    /// Types into a field over what it holds.
    fn type_into(harness: &mut Harness<'_, Bench>, label: &str, text: &str) {
        harness.get_by_label(label).click();
        harness.run();
        harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
        harness.run();
        harness.get_by_label(label).type_text(text);
        harness.run();
        harness.key_press(egui::Key::Enter);
        harness.run();
    }

    #[test]
    fn a_number_is_typed_and_answered_with_its_place() {
        let mut harness = of("bench_four");
        type_into(&mut harness, "Bore", "84.5");
        assert_eq!(harness.state().description.bore, 84.5);
        assert!(
            harness.state().places.iter().all(|place| place == "bore"),
            "{:?}",
            harness.state().places
        );
    }

    #[test]
    fn a_tooth_more_on_the_crank_brings_two_on_the_cam() {
        let mut harness = of("bench_four");
        type_into(&mut harness, "Crank's wheel", "26");
        let drive = &harness.state().description.cam_drive;
        assert_eq!((drive.crank_teeth, drive.cam_teeth), (26, 52));
    }

    #[test]
    fn a_firing_order_that_the_crank_cannot_give_is_said_under_its_field() {
        let mut harness = of("bench_four");
        type_into(&mut harness, "Firing order", "1-4-3-2");
        assert_eq!(harness.state().description.firing_order, [1, 4, 3, 2]);
        harness.get_by_label_contains("Wrong: No. ");
        harness.get_by_label("1 thing is wrong: the engine shown is the last good one.");
        type_into(&mut harness, "Firing order", "1 2 4 3");
        assert!(harness.query_by_label_contains("Wrong: ").is_none());
    }

    #[test]
    fn a_list_half_typed_changes_nothing() {
        let mut harness = of("bench_four");
        type_into(&mut harness, "Firing order", "1-x");
        assert_eq!(harness.state().description.firing_order, [1, 3, 4, 2]);
    }

    #[test]
    fn every_finding_of_a_description_broken_anywhere_is_shown_once_at_least() {
        let broken: [fn(&mut Description); 17] = [
            |d| d.valves.intake.closes_abdc = None,
            |d| d.valves.exhaust = crate::description::Exhaust::default(),
            |d| d.valves.card = Some(crate::description::CamCard::default()),
            |d| {
                d.valves.intake.also_at = Some(IntakeAlsoAt {
                    lift: 1.27,
                    opens_btdc: Some(50.0),
                    closes_abdc: Some(50.0),
                    duration: None,
                });
                d.valves.exhaust.also_at = Some(ExhaustAlsoAt {
                    lift: 1.27,
                    opens_bbdc: None,
                    closes_atdc: None,
                    duration: None,
                });
            },
            |d| {
                d.valves.lash = Some(ValveLash {
                    intake: 2.9,
                    exhaust: 2.9,
                    at: LashAt::Hot,
                });
                d.valves.exhaust.lift = Some(1.5);
            },
            |d| d.bore = -1.0,
            |d| d.rod_length = 30.0,
            |d| d.crankshaft.throws[1].cylinders = vec![7],
            |d| d.banks[0].cylinders = vec![1, 2, 3],
            |d| d.firing_order = vec![1, 4, 3, 2],
            |d| d.cam_drive.cam_teeth = 51,
            |d| d.cam_drive.idler_teeth = vec![3],
            |d| d.valves.intake.closes_abdc = Some(-180.0),
            |d| d.valves.quoted_at = Some(40.0),
            |d| {
                if let Some(distributor) = &mut d.distributor {
                    distributor.driven_teeth = 20;
                    distributor.offset = Some(60.0);
                }
            },
            |d| d.ignition.centrifugal.reverse(),
            |d| d.marks[0].at = f64::NAN,
        ];
        for (index, change) in broken.iter().enumerate() {
            let mut description = scenes::BENCH.engine().written().clone();
            change(&mut description);
            let findings = found(&description);
            assert!(!findings.is_empty(), "change {index}");
            let harness = harness(Bench::with(description));
            for finding in &findings {
                let word = if finding.severity == Severity::Error {
                    "Wrong"
                } else {
                    "Look again"
                };
                let shown = harness
                    .query_all_by_label(&format!("{word}: {}.", finding.message))
                    .count();
                assert!(shown >= 1, "change {index}: {finding:?}");
            }
        }
    }

    #[test]
    fn every_number_of_every_scene_has_a_field() {
        for scene in &SCENES {
            let engine = scene.engine();
            let harness = harness(Bench::with(engine.written().clone()));
            let fields = harness
                .query_all_by_role(egui::accesskit::Role::SpinButton)
                .count();
            let numbers = fields::numbers(engine.written());
            let idlers = numbers
                .iter()
                .filter(|(place, _)| {
                    place.starts_with("cam_drive.idler_teeth") || place.ends_with("].on")
                })
                .count();
            // How fasteners lie and are tightened is written in the file itself.
            let of_fasteners = numbers.iter().filter(|(place, _)| {
                ["].rows[", "].passes[", "].angle", "].sequence["]
                    .iter()
                    .any(|part| place.starts_with("steps[") && place.contains(part))
            });
            let of_fasteners = of_fasteners.count();
            let camshafts = engine.written().camshafts.iter();
            let untrimmed = camshafts.filter(|camshaft| camshaft.trim.is_none()).count();
            // The format's version is not for changing; idlers are written as a list; a camshaft
            // that is not trimmed shows that it is by nothing.
            assert_eq!(
                fields,
                numbers.len() - 1 - idlers - of_fasteners + untrimmed,
                "{}",
                scene.name
            );
        }
    }

    #[test]
    fn a_point_of_a_lobe_as_measured_is_edited_and_the_table_is_kept() {
        let mut harness = of("measured_four");
        let points = |bench: &Bench| {
            let lifts = bench.description.valves.intake.lifts.clone();
            lifts.expect("kept")
        };
        let before = points(harness.state());
        harness
            .get_by_label("Take intake lift as measured 2 out")
            .click();
        harness.run();
        let after = points(harness.state());
        assert_eq!(after.len() + 1, before.len());
        assert_eq!((after[0], after[1]), (before[0], before[2]));
        let whole = "Take the whole lobe as measured out";
        harness
            .get_all_by_label(whole)
            .next()
            .expect("the intake's")
            .click();
        harness.run();
        let valves = &harness.state().description.valves;
        assert!(valves.intake.lifts.is_none() && valves.exhaust.lifts.is_some());
        assert!(valves.card.is_some());
    }

    #[test]
    fn lengths_go_to_inches_and_the_engine_stays() {
        let description = scenes::BENCH.engine().written().clone();
        let inches = description.in_units(Units::Inches);
        let (before, _) = Engine::new(description).expect("an engine");
        let (after, _) = Engine::new(inches).expect("an engine");
        assert!((before.metric().bore - after.metric().bore).abs() < 2e-3);
        assert_eq!(before.firing_angles(), after.firing_angles());
    }

    #[test]
    fn a_field_is_found_by_its_words_and_reached_from_the_keyboard() {
        let mut harness = of("flat_four");
        harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::F);
        harness.run();
        harness
            .get_by_label("Find a field")
            .type_text("crank's wheel");
        harness.run();
        assert!(harness.query_by_label("Bore").is_none());
        for _ in 0..2 {
            harness.key_press(egui::Key::Tab);
            harness.run();
        }
        harness.get_by_label("Crank's wheel").type_text("31");
        harness.run();
        harness.key_press(egui::Key::Enter);
        harness.run();
        assert_eq!(harness.state().description.cam_drive.crank_teeth, 31);
    }

    #[test]
    fn a_part_is_taken_out_and_put_in() {
        let mut harness = of("bench_four");
        harness.get_by_label("The engine has a distributor").click();
        harness.run();
        assert!(harness.state().description.distributor.is_none());
        harness.get_by_label("Take mark 1 out").click();
        harness.run();
        assert_eq!(harness.state().description.marks.len(), 1);
        harness.get_by_label("Add mark").click();
        harness.run();
        assert_eq!(harness.state().description.marks.len(), 2);
    }

    #[test]
    fn events_are_changed_from_form_to_form_and_say_the_same() {
        let mut harness = of("bench_four");
        let events = |harness: &Harness<'_, Bench>| {
            let valves = &harness.state().description.valves;
            Valve::BOTH.map(|valve| valves.events(valve).expect("events"))
        };
        let (before, text) = (events(&harness), harness.state().description.valves.clone());
        for (words, form, shown) in [
            (
                "duration and centre each",
                EventsForm::Duration,
                "Intake centre, after TDC",
            ),
            ("one cam card for both", EventsForm::Card, "Lobe separation"),
            (
                "two angles each",
                EventsForm::Angles,
                "Exhaust opens, before BDC",
            ),
        ] {
            harness.get_by_label("Events given as").click();
            harness.run();
            harness.get_by_label(words).click();
            harness.run();
            let valves = &harness.state().description.valves;
            assert_eq!(valves.form(Valve::Intake), Ok(form));
            assert_eq!(events(&harness), before, "{words}");
            harness.get_by_label(shown);
        }
        assert_eq!(harness.state().description.valves, text);
    }

    #[test]
    fn a_second_pair_starts_from_the_lobe_as_it_is_and_leaves_no_room_for_a_card() {
        let mut harness = of("bench_four");
        harness
            .get_by_label("Intake known at a second lift")
            .click();
        harness.run();
        let description = harness.state().description.clone();
        assert_eq!(found(&description), []);
        let exponent = Lobe::of(&description.valves, Valve::Intake).fitted_exponent();
        // The polynomial's is 3; the duration is kept to a tenth of a degree.
        assert!(
            (2.9..3.1).contains(&exponent.expect("fitted")),
            "{exponent:?}"
        );
        harness.get_by_label_contains("One card stands for both valves where");
    }

    #[test]
    fn lifters_and_gap_are_chosen_and_a_gap_at_a_hydraulic_lifter_is_found_fault_with() {
        let mut harness = of("bench_four");
        harness.get_by_label("Valves are set by").click();
        harness.run();
        harness.get_by_label("hydraulic lifters").click();
        harness.run();
        let adjusters = harness.state().description.valves.adjusters();
        assert_eq!(adjusters, Adjusters::Hydraulic { preload_turns: 0.5 });
        harness.get_by_label("Turns past zero lash");
        harness
            .get_by_label("The gap at the valves is known")
            .click();
        harness.run();
        assert!(harness.state().description.valves.lash.is_some());
        harness.get_by_label_contains("Wrong: a gap is given for the valves");
    }

    #[test]
    fn nothing_is_wider_than_its_pane() {
        for scene in &SCENES {
            let description = scene.engine().written().clone();
            let findings = found(&description);
            let wide = std::cell::Cell::new(0.0);
            let _ = Harness::builder()
                .with_size([380.0, 3200.0])
                .build_ui(|ui| {
                    Theme::default().apply(ui.ctx());
                    panel(ui, &description, &findings);
                    wide.set(ui.min_rect().width());
                });
            assert!(
                (100.0..=380.0).contains(&wide.get()),
                "{}: {}",
                scene.name,
                wide.get()
            );
        }
    }
}
