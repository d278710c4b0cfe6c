//! The description, field by field, as it can be changed.
//!
//! One function for each part of the file. Each shows its fields through a [`Form`], which knows
//! labels, units, ranges and findings by the fields' places; the panel answers with the description as it
//! has become and the place that was changed.

use egui::{RichText, Ui};

use super::form::{Form, finding_shown};
use crate::angle::Direction;
use crate::description::{
    Bank, BuilderStep, CamDrive, CentrifugalPoint, Clearance, Coupling, Description, Distributor,
    DriveKind, DrivenBy, Hand, Helix, Mark, MarkOn, Throw, Torque, VacuumPoint, ValveGear, fields,
};
use crate::drawing::Role;
use crate::engine::arrangement::plain_distributor;
use crate::source::Finding;
use crate::window::app::theme::Palette;
use crate::words::Units;

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
        cam_drive(ui, form, &mut d.cam_drive);
    });
    form.part(ui, "Valves", |ui, form| valves(ui, form, &mut d));
    form.part(ui, "Distributor", |ui, form| distributor(ui, form, &mut d));
    form.part(ui, "Ignition", |ui, form| ignition(ui, form, &mut d));
    form.part(ui, "Valve to piston", |ui, form| {
        clearance(ui, form, &mut d);
    });
    form.part(ui, "Marks", |ui, form| marks(ui, form, &mut d));
    form.part(ui, "Your own lines for the sheet", |ui, form| {
        steps(ui, form, &mut d);
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

/// How many findings there are, and those that belong to no field.
fn summary(ui: &mut Ui, findings: &[Finding]) {
    let errors = findings.iter().filter(|finding| finding.is_error()).count();
    let palette = Palette::of(ui.ctx());
    let counted = |count: usize, one: &str, more: &str| {
        if count == 1 {
            format!("1 {one}")
        } else {
            format!("{count} {more}")
        }
    };
    if errors > 0 {
        let text = format!(
            "{}: the engine shown is the last good one.",
            counted(errors, "thing is wrong", "things are wrong")
        );
        ui.add(egui::Label::new(RichText::new(text).strong().color(palette.ink(Role::Now))).wrap());
    }
    let warnings = findings.len() - errors;
    if warnings > 0 {
        let text = counted(
            warnings,
            "thing to look at again",
            "things to look at again",
        );
        ui.label(RichText::new(text).color(palette.ink(Role::Caution)));
    }
    for finding in findings.iter().filter(|finding| finding.place.is_empty()) {
        finding_shown(ui, finding);
    }
}

const DIRECTIONS: [(Direction, &str); 2] = [
    (Direction::Clockwise, "clockwise"),
    (Direction::CounterClockwise, "anticlockwise"),
];

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
    form.number(ui, "bore", &mut d.bore);
    form.number(ui, "rod_length", &mut d.rod_length);
    form.number(ui, "pin_offset", &mut d.pin_offset);
    let usual = 150.0 / d.units.millimetres();
    form.optional(ui, "pulley_diameter", &mut d.pulley_diameter, usual);
    form.found_only(ui, "format");
}

fn crankshaft(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let crank = &mut d.crankshaft;
    form.choice(ui, "crankshaft.rotation", &mut crank.rotation, &DIRECTIONS);
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

fn cam_drive(ui: &mut Ui, form: &mut Form, drive: &mut CamDrive) {
    let kinds = [
        (DriveKind::Gears, "gears"),
        (DriveKind::Chain, "chain"),
        (DriveKind::Belt, "belt"),
    ];
    form.choice(ui, "cam_drive.kind", &mut drive.kind, &kinds);
    // The cam turns at half speed: a change to one wheel that was right takes the other with it.
    let (crank_before, cam_before) = (drive.crank_teeth, drive.cam_teeth);
    let paired = crank_before.checked_mul(2) == Some(cam_before);
    form.teeth(ui, "cam_drive.crank_teeth", &mut drive.crank_teeth);
    form.teeth(ui, "cam_drive.cam_teeth", &mut drive.cam_teeth);
    if paired && drive.crank_teeth != crank_before {
        drive.cam_teeth = drive.crank_teeth.saturating_mul(2);
    } else if paired && drive.cam_teeth != cam_before && drive.cam_teeth.is_multiple_of(2) {
        drive.crank_teeth = drive.cam_teeth / 2;
    }
    form.numbers(ui, "cam_drive.idler_teeth", &mut drive.idler_teeth, ", ");
    form.number(ui, "cam_drive.marks_meet_at", &mut drive.marks_meet_at);
    form.optional(ui, "cam_drive.module", &mut drive.module, 2.0);
    form.optional(ui, "cam_drive.backlash", &mut drive.backlash, 0.05);
    form.optional(ui, "cam_drive.cam_at", &mut drive.cam_at, 0.0);
    form.found_only(ui, "cam_drive");
}

fn valves(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let valves = &mut d.valves;
    form.number(
        ui,
        "valves.intake.opens_btdc",
        &mut valves.intake.opens_btdc,
    );
    form.number(
        ui,
        "valves.intake.closes_abdc",
        &mut valves.intake.closes_abdc,
    );
    form.number(ui, "valves.intake.lift", &mut valves.intake.lift);
    form.found_only(ui, "valves.intake");
    form.number(
        ui,
        "valves.exhaust.opens_bbdc",
        &mut valves.exhaust.opens_bbdc,
    );
    form.number(
        ui,
        "valves.exhaust.closes_atdc",
        &mut valves.exhaust.closes_atdc,
    );
    form.number(ui, "valves.exhaust.lift", &mut valves.exhaust.lift);
    form.found_only(ui, "valves.exhaust");
    form.number(ui, "valves.quoted_at", &mut valves.quoted_at);
    let gears = [
        (None, "not given"),
        (Some(ValveGear::PushRod), "push rods, cam low"),
        (Some(ValveGear::Overhead), "cam over the valves"),
    ];
    form.choice(ui, "valves.gear", &mut valves.gear, &gears);
    form.found_only(ui, "valves");
}

fn distributor(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mut has = d.distributor.is_some();
    if form.whether(ui, "distributor", &mut has) {
        d.distributor = has.then(plain_distributor);
    }
    let Some(distributor) = &mut d.distributor else {
        return;
    };
    distributor_drive(ui, form, distributor);
    form.choice(
        ui,
        "distributor.rotation",
        &mut distributor.rotation,
        &DIRECTIONS,
    );
    form.number(
        ui,
        "distributor.number_one_at",
        &mut distributor.number_one_at,
    );
    let half_advance = d.ignition.static_advance / 2.0;
    form.optional(
        ui,
        "distributor.offset",
        &mut distributor.offset,
        half_advance,
    );
    turn_on_entry(ui, form, distributor, d.units);
    form.optional(
        ui,
        "distributor.body_range",
        &mut distributor.body_range,
        15.0,
    );
    form.optional(ui, "distributor.tip_width", &mut distributor.tip_width, 9.0);
    form.optional(
        ui,
        "distributor.tower_width",
        &mut distributor.tower_width,
        6.0,
    );
    form.found_only(ui, "distributor");
}

fn distributor_drive(ui: &mut Ui, form: &mut Form, distributor: &mut Distributor) {
    let shafts = [
        (DrivenBy::Camshaft, "the camshaft"),
        (DrivenBy::Crankshaft, "the crankshaft"),
    ];
    form.choice(
        ui,
        "distributor.driven_by",
        &mut distributor.driven_by,
        &shafts,
    );
    let times = match distributor.driven_by {
        DrivenBy::Camshaft => 1,
        DrivenBy::Crankshaft => 2,
    };
    let (driver_before, driven_before) = (distributor.driver_teeth, distributor.driven_teeth);
    let paired = driver_before.checked_mul(times) == Some(driven_before);
    form.teeth(
        ui,
        "distributor.driver_teeth",
        &mut distributor.driver_teeth,
    );
    form.teeth(
        ui,
        "distributor.driven_teeth",
        &mut distributor.driven_teeth,
    );
    if paired && distributor.driver_teeth != driver_before {
        distributor.driven_teeth = distributor.driver_teeth.saturating_mul(times);
    } else if paired
        && distributor.driven_teeth != driven_before
        && distributor.driven_teeth.is_multiple_of(times)
    {
        distributor.driver_teeth = distributor.driven_teeth / times;
    }
    let couplings = [
        (Coupling::Gear, "a gear"),
        (Coupling::OffsetTongue, "a tongue off the centre"),
        (Coupling::CentralTongue, "a tongue on the centre"),
    ];
    form.choice(
        ui,
        "distributor.coupling",
        &mut distributor.coupling,
        &couplings,
    );
}

/// How the rotor turns as the drive seats: measured, or from the helix.
fn turn_on_entry(ui: &mut Ui, form: &mut Form, distributor: &mut Distributor, units: Units) {
    form.optional(
        ui,
        "distributor.turns_on_entry",
        &mut distributor.turns_on_entry,
        0.0,
    );
    let mut has = distributor.helix.is_some();
    if form.whether(ui, "distributor.helix", &mut has) {
        let mm = units.millimetres();
        distributor.helix = has.then_some(Helix {
            angle: 45.0,
            hand: Hand::Right,
            travel: 11.0 / mm,
            pitch_diameter: 26.0 / mm,
        });
        if has {
            distributor.turns_on_entry = None;
        }
    }
    if let Some(helix) = &mut distributor.helix {
        form.number(ui, "distributor.helix.angle", &mut helix.angle);
        form.choice(
            ui,
            "distributor.helix.hand",
            &mut helix.hand,
            &[(Hand::Right, "right"), (Hand::Left, "left")],
        );
        form.number(ui, "distributor.helix.travel", &mut helix.travel);
        form.number(
            ui,
            "distributor.helix.pitch_diameter",
            &mut helix.pitch_diameter,
        );
        form.found_only(ui, "distributor.helix");
    }
}

fn ignition(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let ignition = &mut d.ignition;
    form.number(ui, "ignition.static_advance", &mut ignition.static_advance);
    form.words(ui, "Centrifugal advance, by engine speed, in crank degrees");
    form.rows(
        ui,
        "ignition.centrifugal",
        &mut ignition.centrifugal,
        |form, ui, here, point| {
            form.cell(ui, &format!("{here}.rpm"), &mut point.rpm);
            form.cell(ui, &format!("{here}.advance"), &mut point.advance);
        },
        |last| {
            last.map_or(
                CentrifugalPoint {
                    rpm: 800.0,
                    advance: 0.0,
                },
                |last| CentrifugalPoint {
                    rpm: last.rpm + 500.0,
                    ..last.clone()
                },
            )
        },
    );
    form.words(ui, "Vacuum advance, by depression, in crank degrees");
    form.rows(
        ui,
        "ignition.vacuum",
        &mut ignition.vacuum,
        |form, ui, here, point| {
            form.cell(ui, &format!("{here}.kpa"), &mut point.kpa);
            form.cell(ui, &format!("{here}.advance"), &mut point.advance);
        },
        |last| {
            last.map_or(
                VacuumPoint {
                    kpa: 10.0,
                    advance: 0.0,
                },
                |last| VacuumPoint {
                    kpa: last.kpa + 10.0,
                    ..last.clone()
                },
            )
        },
    );
}

fn clearance(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mut measured = d.clearance.is_some();
    form.words(ui, "How far each valve could be pushed from its seat by hand at TDC before it touched the piston");
    if form.whether(ui, "clearance", &mut measured) {
        let mm = d.units.millimetres();
        d.clearance = measured.then_some(Clearance {
            intake_drop: 4.0 / mm,
            exhaust_drop: 4.5 / mm,
            valve_angle: 0.0,
        });
    }
    if let Some(clearance) = &mut d.clearance {
        form.number(ui, "clearance.intake_drop", &mut clearance.intake_drop);
        form.number(ui, "clearance.exhaust_drop", &mut clearance.exhaust_drop);
        form.number(ui, "clearance.valve_angle", &mut clearance.valve_angle);
    }
}

fn marks(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.words(ui, "Where each stands with No. 1 at firing TDC, clockwise from straight up seen from the front");
    let parts: Vec<(MarkOn, String)> = [
        (MarkOn::Crankshaft, "crankshaft".to_owned()),
        (MarkOn::Camshaft, "camshaft".to_owned()),
    ]
    .into_iter()
    .chain(
        (1..=d.cam_drive.idler_teeth.len() as u32)
            .map(|which| (MarkOn::Idler(which), format!("idler {which}"))),
    )
    .collect();
    form.rows(
        ui,
        "marks",
        &mut d.marks,
        |form, ui, here, mark| {
            form.text_cell(ui, &format!("{here}.name"), &mut mark.name, 110.0);
            let now = parts
                .iter()
                .find(|(on, _)| *on == mark.on)
                .map_or("no such idler", |(_, words)| words);
            egui::ComboBox::from_id_salt(here)
                .selected_text(now)
                .show_ui(ui, |ui| {
                    for (on, words) in &parts {
                        if ui.selectable_value(&mut mark.on, *on, words).changed() {
                            form.note(&format!("{here}.on"));
                        }
                    }
                });
            form.cell(ui, &format!("{here}.at"), &mut mark.at);
        },
        |_| Mark {
            on: MarkOn::Crankshaft,
            name: "notch".into(),
            at: 0.0,
        },
    );
}

fn steps(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    form.rows(
        ui,
        "steps",
        &mut d.steps,
        |form, ui, here, step| {
            form.text_cell(ui, &format!("{here}.do"), &mut step.action, 150.0);
            torque(ui, form, here, &mut step.torque);
        },
        |_| BuilderStep {
            action: "What to do".into(),
            torque: None,
        },
    );
}

fn torque(ui: &mut Ui, form: &mut Form, here: &str, torque: &mut Option<Torque>) {
    let unit = match torque {
        None => "no torque",
        Some(Torque::NewtonMetres(_)) => "N·m",
        Some(Torque::PoundFeet(_)) => "lbf·ft",
    };
    let place = format!("{here}.torque");
    let range = fields::field_at(&place)
        .and_then(fields::Field::range)
        .map_or(0.0..=f64::MAX, |range| range.least..=range.most);
    if let Some(Torque::NewtonMetres(value) | Torque::PoundFeet(value)) = torque {
        let field = ui
            .push_id(&place, |ui| {
                ui.add(
                    egui::DragValue::new(value)
                        .speed(0.2)
                        .range(range.clone())
                        .max_decimals(1),
                )
            })
            .inner;
        if field.changed() {
            form.note(&place);
        }
    }
    let now = torque.map_or(20.0, Torque::newton_metres);
    let pounds = Torque::PoundFeet((Torque::NewtonMetres(now).pound_feet() * 10.0).round() / 10.0);
    let choices = [
        (None, "no torque"),
        (
            Some(Torque::NewtonMetres((now * 10.0).round() / 10.0)),
            "N·m",
        ),
        (Some(pounds), "lbf·ft"),
    ];
    egui::ComboBox::from_id_salt((here, "unit"))
        .selected_text(unit)
        .show_ui(ui, |ui| {
            for (choice, words) in choices {
                if ui.selectable_label(words == unit, words).clicked() && words != unit {
                    *torque = choice;
                    form.note(&place);
                }
            }
        });
}

#[cfg(test)]
mod tests {
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable;

    use super::*;
    use crate::engine::Engine;
    use crate::engine::scenes;
    use crate::engine::scenes::SCENES;
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
        let broken: [fn(&mut Description); 12] = [
            |d| d.bore = -1.0,
            |d| d.rod_length = 30.0,
            |d| d.crankshaft.throws[1].cylinders = vec![7],
            |d| d.banks[0].cylinders = vec![1, 2, 3],
            |d| d.firing_order = vec![1, 4, 3, 2],
            |d| d.cam_drive.cam_teeth = 51,
            |d| d.cam_drive.idler_teeth = vec![3],
            |d| d.valves.intake.closes_abdc = -180.0,
            |d| d.valves.quoted_at = 40.0,
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
            // The format's version is not for changing; idlers are written as a list.
            assert_eq!(fields, numbers.len() - 1 - idlers, "{}", scene.name);
        }
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
