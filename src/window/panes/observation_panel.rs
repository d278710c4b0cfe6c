//! The panel for what is seen on the engine: the builder turns the crank to a mark, looks, and
//! picks what is there. Below it stand the assemblies that would look so, how to put each right,
//! and what to look at next.

use std::collections::BTreeMap;
use std::time::Duration;

use egui::emath::Numeric;
use egui::{
    Button, Checkbox, CollapsingHeader, DragValue, Frame, Grid, Id, Response, RichText, Ui,
    WidgetInfo, WidgetType,
};

use super::number_field::number_field;
use super::widgets::{
    bring_into_view, lead_grid, one_of, rests_on, said_when_it_changes, section, turning_caution,
    wrapped,
};
use crate::angle::CrankAngle;
use crate::description::Valve;
use crate::description::typed::{self, Side};
use crate::diagnosis::SUBJECTS;
use crate::diagnosis::next_look::{Look, LookAt};
use crate::diagnosis::observations::fields::range_of;
use crate::diagnosis::observations::{
    CamTeethOff, Light, Observation, RotorObservation, SPARK_WITHIN_DEG, SlotObservation,
    SparkObservation, ValveObservation, ValveState,
};
use crate::diagnosis::proof::body_not_turned;
use crate::diagnosis::stage::{Sight, Stage};
use crate::diagnosis::{Diagnosis, Fit};
use crate::diagnosis::{Observations, Revolution};
use crate::drawing::Role;
use crate::engine::Assembly;
use crate::engine::Engine;
use crate::source::Finding;
use crate::window::app::theme::{Palette, strong};
use crate::words::{ago, counted, degrees};

/// Fits shown before the rest are only counted.
const MOST_FITS: usize = 6;
/// The same while there are many: then what to look at next says more.
const MOST_OF_MANY: usize = 3;
/// More fits than this are many.
const MANY: usize = 24;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum ObservationEdit {
    Observed(Observations),
    /// A sighting was begun there: turn the model to it.
    Begun(Observations, CrankAngle),
    /// Put the model together so, and turn it there.
    Pose(Assembly, CrankAngle),
    Open,
    Save,
}

/// What the sightings came to.
#[derive(Clone, Copy, Debug)]
pub(super) enum Outcome<'a> {
    /// Nothing has been seen yet.
    Nothing,
    Working,
    /// It cannot have been seen so.
    Wrong(&'a [Finding]),
    /// What explains it, and how far the build has got: it settles what is least work.
    Found(&'a Diagnosis, Stage),
}

/// The sightings and what they come to. `crank` is where the model stands: a new sighting begins
/// there. What is not among `can_see` is asked for only where it was seen already.
pub(super) fn panel(
    ui: &mut Ui,
    engine: &Engine,
    seen: &Observations,
    (crank, can_see): (CrankAngle, &[Sight]),
    outcome: Outcome<'_>,
) -> Option<ObservationEdit> {
    let mut now = seen.clone();
    let mut edit = None;
    wrapped(
        ui,
        "Bring your engine's crank to a mark, look, and pick what you see here. Leave out what you have not looked at.",
    );
    turning_caution(ui);
    ui.horizontal_wrapped(|ui| {
        if ui
            .button("Open…")
            .on_hover_text("Sightings kept in a *.seen.ron file")
            .clicked()
        {
            edit = Some(ObservationEdit::Open);
        }
        if ui
            .add_enabled(!seen.sightings.is_empty(), Button::new("Save…"))
            .clicked()
        {
            edit = Some(ObservationEdit::Save);
        }
        if ui
            .add_enabled(*seen != Observations::default(), Button::new("Start again"))
            .clicked()
        {
            now = Observations::default();
        }
    });
    let asks = brief(ui, outcome);
    sightings(ui, engine, &mut now, crank, can_see);
    if engine.has_leads() && (can_see.contains(&Sight::Leads) || now.leads.is_some()) {
        let title = if engine.metric().distributor.is_some() {
            "Leads and body, as they are now"
        } else {
            "Leads, as they are now"
        };
        let top = ui.cursor().top();
        section(ui, title, |ui| {
            traced(ui, engine, &mut now);
        });
        show_if_asked(ui, Entry::Leads, top);
    }
    let from = ui.cursor().top();
    let mut begun = None;
    edit = answer(ui, engine, &mut now, crank, &mut begun, outcome).or(edit);
    if asks {
        bring_down_from(ui, from);
    }
    match begun {
        Some(at) => Some(ObservationEdit::Begun(now, at)),
        None if now != *seen => Some(ObservationEdit::Observed(now)),
        None => edit,
    }
}

/// Where a look that needs no other crank angle is entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Entry {
    Leads,
    LastSighting,
}

fn entry_id() -> Id {
    Id::new("entry asked for")
}

/// Scrolls to where something is entered, from `top` down to here, where that was asked for.
fn show_if_asked(ui: &Ui, entry: Entry, top: f32) {
    let asked: Option<Entry> = ui.data(|data| data.get_temp(entry_id()));
    if asked == Some(entry) {
        ui.data_mut(|data| data.remove::<Entry>(entry_id()));
        bring_down_from(ui, top);
    }
}

/// Scrolls to what stands from `top` down to here: its beginning, and as much as there is room for.
fn bring_down_from(ui: &Ui, top: f32) {
    let mut own = ui.min_rect();
    own.min.y = top;
    own.max.y = own.max.y.min(top + ui.clip_rect().height() * 0.9);
    bring_into_view(ui, own);
}

/// What it comes to in a line, always as high, over the sightings; true to go down to the answer.
fn brief(ui: &mut Ui, outcome: Outcome<'_>) -> bool {
    let (words, can) = match outcome {
        Outcome::Nothing => ("Nothing seen yet.".to_owned(), false),
        Outcome::Working => ("Trying every way…".to_owned(), false),
        Outcome::Wrong(_) => ("It cannot have been seen so.".to_owned(), true),
        Outcome::Found(diagnosis, _) if !diagnosis.explained => {
            ("Nothing explains everything seen.".to_owned(), true)
        }
        Outcome::Found(diagnosis, _) => {
            let ways = counted(diagnosis.fits.len(), "way is left", "ways are left");
            (format!("{ways}, of {}.", diagnosis.tried), true)
        }
    };
    said_when_it_changes(&one_of(ui, strong(ui.ctx(), words), &[]));
    let button = ui.add_enabled(can, Button::new("Down to the answer").small());
    button.clicked()
}

/// Sightings left unsaved so long ago: whether they are taken up, once that is decided.
pub(super) fn kept(ui: &mut Ui, age: Duration) -> Option<bool> {
    wrapped(
        ui,
        &format!(
            "Sightings were left here that were not saved, {}. They were kept.",
            ago(age)
        ),
    );
    let mut decided = None;
    ui.horizontal(|ui| {
        if ui.button("Go on with them").clicked() {
            decided = Some(true);
        }
        if ui.button("Throw them away").clicked() {
            decided = Some(false);
        }
    });
    decided
}

fn sightings(
    ui: &mut Ui,
    engine: &Engine,
    now: &mut Observations,
    crank: CrankAngle,
    can_see: &[Sight],
) {
    let is_new = one_was_begun(ui, now.sightings.len());
    let last = now.sightings.len().saturating_sub(1);
    let mut gone = None;
    for (index, sighting) in now.sightings.iter_mut().enumerate() {
        let title = format!(
            "Sighting {}, crank at {}",
            index + 1,
            degrees(sighting.crank)
        );
        ui.push_id(index, |ui| {
            let from = ui.cursor().top();
            let header = CollapsingHeader::new(strong(ui.ctx(), title))
                .id_salt("sighting")
                .default_open(index == last)
                // The one that is at hand has the room.
                .open(is_new.then_some(index == last));
            header.show_unindented(ui, |ui| {
                if one(ui, engine, index, sighting, can_see) {
                    gone = Some(index);
                }
            });
            if index == last {
                if is_new {
                    ui.data_mut(|data| data.insert_temp(entry_id(), Entry::LastSighting));
                }
                show_if_asked(ui, Entry::LastSighting, from);
            }
        });
    }
    gone.map(|index| now.sightings.remove(index));
    let mark = crank.by_the_mark().round();
    if ui
        .button(format!("New sighting, crank at {}", degrees(mark)))
        .on_hover_text("Where the model's crank stands by its mark")
        .clicked()
    {
        now.sightings.push(Observation::at(mark));
    }
}

/// Whether there is one sighting more than when the panel was last shown, or several.
fn one_was_begun(ui: &Ui, count: usize) -> bool {
    let id = Id::new("sightings shown");
    let before: Option<usize> = ui.data(|data| data.get_temp(id));
    if before != Some(count) {
        ui.data_mut(|data| data.insert_temp(id, count));
    }
    before.is_some_and(|before| count > before)
}

/// A number that the user may drag or type, by its path. A value outside its range stays as it is
/// until the user changes it: to be shown must not change what was seen.
fn number<Value: Numeric>(
    ui: &mut Ui,
    engine: &Engine,
    path: &str,
    suffix: &str,
    value: &mut Value,
) -> Response {
    number_if(ui, true, engine, (path, suffix), value)
}

/// The same, greyed where it is not `given`.
fn number_if<Value: Numeric>(
    ui: &mut Ui,
    given: bool,
    engine: &Engine,
    (path, suffix): (&str, &str),
    value: &mut Value,
) -> Response {
    let range = range_of(path, engine);
    let is_teeth = suffix.contains("teeth");
    let side = path.ends_with("btdc").then_some(Side::BTDC);
    let field = DragValue::new(value)
        .clamp_existing_to_range(false)
        .range(range.clone())
        .speed(if is_teeth { 0.05 } else { 0.5 })
        .suffix(suffix)
        .max_decimals(usize::from(!is_teeth && !path.ends_with("clock")));
    let read = |text: &str| match is_teeth {
        true => typed::figure(text).map(|(value, _)| value),
        false => typed::degrees(text, side),
    };
    let unit = if is_teeth { " teeth" } else { "°" };
    let beyond = |value| typed::out_of(range.clone(), unit, value);
    number_field(ui, given, field, &read, &beyond)
}

/// One sighting; true to take it out.
fn one(
    ui: &mut Ui,
    engine: &Engine,
    index: usize,
    sighting: &mut Observation,
    can_see: &[Sight],
) -> bool {
    let mut gone = false;
    ui.horizontal_wrapped(|ui| {
        let label = ui
            .label("Past No. 1's TDC mark")
            .on_hover_text("By the crank's own marks: they cannot tell the turn");
        number(ui, engine, "sightings[].crank", "°", &mut sighting.crank).labelled_by(label.id);
        let label = ui.label("give or take");
        number(ui, engine, "sightings[].within", "°", &mut sighting.within).labelled_by(label.id);
    });
    if index > 0 {
        ui.add(Checkbox::new(
            &mut sighting.turned_on,
            "turned forwards to here from the one before",
        ))
        .on_hover_text("By less than a whole turn: then it is known which turn this one is on");
    }
    let sees = |sight| can_see.contains(&sight);
    let has_lobes = sees(Sight::Valves) || sees(Sight::Lobes);
    if has_lobes || !sighting.valves.is_empty() {
        valves(ui, engine, sighting);
    }
    let has_rotor = sees(Sight::Rotor) || sighting.rotor.is_some() || sighting.slot.is_some();
    if engine.metric().distributor.is_some() && has_rotor {
        rotor(ui, engine, sighting);
        slot(ui, engine, sighting);
    }
    if sees(Sight::Thumb) || !sighting.compression_felt.is_empty() {
        felt(ui, engine, sighting);
    }
    if sees(Sight::Dots) || sighting.cam_teeth_off.is_some() {
        teeth(ui, engine, sighting);
    }
    if sees(Sight::Lamp) || sees(Sight::Strobe) || sighting.spark.is_some() {
        spark(ui, engine, sighting);
    }
    hidden_at_this_stage(ui, can_see);
    if ui.small_button("Take this sighting out").clicked() {
        gone = true;
    }
    ui.add_space(4.0);
    gone
}

/// What is not asked for, because it cannot be seen at this stage.
fn hidden_at_this_stage(ui: &mut Ui, can_see: &[Sight]) {
    let sees = |sight| can_see.contains(&sight);
    let valves = sees(Sight::Valves) || sees(Sight::Lobes);
    let light = sees(Sight::Lamp) || sees(Sight::Strobe);
    let rows = [
        (valves, "valves"),
        (sees(Sight::Rotor), "rotor"),
        (sees(Sight::Thumb), "thumb"),
        (sees(Sight::Dots), "dots"),
        (light, "sparks"),
    ];
    let hidden: Vec<&str> = rows
        .into_iter()
        .filter(|(seen, _)| !seen)
        .map(|(_, what)| what)
        .collect();
    if !hidden.is_empty() {
        let words = format!(
            "Not seen at this stage: {}. Stage, over all panes, says how far the build has got.",
            hidden.join(", ")
        );
        ui.add(egui::Label::new(RichText::new(words).weak()).wrap());
    }
}

/// A choice between a few that can also be left open: picking what is picked clears it.
fn pick<T: Copy + PartialEq>(
    ui: &mut Ui,
    picked: Option<T>,
    choices: &[(T, String, String)],
) -> Option<T> {
    let mut now = picked;
    for (value, shown, name) in choices {
        let on = picked == Some(*value);
        let response = ui.add(Button::selectable(on, shown).frame_when_inactive(true));
        response.widget_info(|| WidgetInfo::selected(WidgetType::SelectableLabel, true, on, name));
        if response.on_hover_text(name).clicked() {
            now = (!on).then_some(*value);
        }
    }
    now
}

fn valves(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    Grid::new("valves")
        .num_columns(5)
        .spacing([4.0, 2.0])
        .show(ui, |ui| {
            ["Valves", "intake", "", "exhaust", ""]
                .into_iter()
                .for_each(|title| drop(ui.label(RichText::new(title).small().weak())));
            ui.end_row();
            for cylinder in 1..=engine.cylinder_count() as u32 {
                ui.label(format!("No. {cylinder}"));
                for valve in Valve::BOTH {
                    one_valve(ui, sighting, cylinder, valve);
                }
                ui.end_row();
            }
        });
}

fn one_valve(ui: &mut Ui, sighting: &mut Observation, cylinder: u32, valve: Valve) {
    let is_this = |seen: &ValveObservation| seen.cylinder == cylinder && seen.valve == valve;
    let picked = sighting
        .valves
        .iter()
        .find(|seen| is_this(seen))
        .map(|seen| seen.is);
    let choices =
        [(ValveState::Open, "open"), (ValveState::Closed, "shut")].map(|(state, word)| {
            (
                state,
                word.to_owned(),
                format!("{} valve of No. {cylinder} {word}", capital(valve.word())),
            )
        });
    let now = pick(ui, picked, &choices);
    if now != picked {
        sighting.valves.retain(|seen| !is_this(seen));
        sighting.valves.extend(now.map(|is| ValveObservation {
            cylinder,
            valve,
            is,
        }));
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map(|first| format!("{}{}", first.to_uppercase(), letters.as_str()))
        .unwrap_or_default()
}

fn rotor(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    let seen = sighting.rotor.unwrap_or_default();
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label("Rotor at tower")
            .on_hover_text("The tower drawn for this number, cap off or by the mark on its rim");
        let towers: Vec<(u32, String, String)> = engine
            .firing_order()
            .iter()
            .map(|&number| {
                (
                    u32::from(number),
                    format!(" {number} "),
                    format!("Rotor at the tower of No. {number}"),
                )
            })
            .collect();
        let tower = pick(ui, seen.tower, &towers);
        let mut by_clock = seen.clock.is_some();
        let toggled = ui
            .checkbox(&mut by_clock, "or at")
            .on_hover_text("Clock degrees, looking down on the cap")
            .changed();
        let mut clock = seen.clock.unwrap_or(
            engine
                .metric()
                .distributor
                .as_ref()
                .map_or(0.0, |d| d.number_one_at),
        );
        let field = ("sightings[].rotor.clock", "°");
        let turned = number_if(ui, by_clock, engine, field, &mut clock).changed();
        if tower != seen.tower {
            sighting.rotor = tower.map(|tower| RotorObservation {
                tower: Some(tower),
                ..RotorObservation::default()
            });
        } else if toggled || turned {
            sighting.rotor = by_clock.then(|| RotorObservation {
                clock: Some(clock),
                ..RotorObservation::default()
            });
        }
    });
}

/// The slot of a geared shaft whose place is described.
fn slot(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    let distributor = engine.metric().distributor.as_ref();
    let Some(drawn) = distributor.and_then(|distributor| distributor.slot_at) else {
        return;
    };
    let mut seen = sighting.slot.is_some();
    let mut clock = sighting.slot.map_or(drawn, |slot| slot.clock);
    ui.horizontal_wrapped(|ui| {
        ui.checkbox(&mut seen, "Slot of the shaft at").on_hover_text(
            "With the distributor lifted off, clock degrees looking down: the narrow side, or either end of a central slot",
        );
        let field = ("sightings[].slot.clock", "°");
        number_if(ui, seen, engine, field, &mut clock);
    });
    let within = sighting.slot.and_then(|slot| slot.within);
    sighting.slot = seen.then_some(SlotObservation { clock, within });
}

fn felt(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label("Thumb pushed off")
            .on_hover_text("A thumb over the plug hole, turning forwards to here");
        for cylinder in 1..=engine.cylinder_count() as u32 {
            let at = sighting
                .compression_felt
                .iter()
                .position(|&felt| felt == cylinder);
            let name = format!("Compression felt in No. {cylinder}");
            let response = ui.add(
                Button::selectable(at.is_some(), format!(" {cylinder} ")).frame_when_inactive(true),
            );
            response.widget_info(|| {
                WidgetInfo::selected(WidgetType::SelectableLabel, true, at.is_some(), &name)
            });
            if response.on_hover_text(name).clicked() {
                match at {
                    Some(at) => drop(sighting.compression_felt.remove(at)),
                    None => sighting.compression_felt.push(cylinder),
                }
            }
        }
    });
}

fn teeth(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    if engine.has_several_camshafts() {
        return teeth_of_each(ui, engine, sighting);
    }
    let seen = sighting.cam_teeth_off.as_ref();
    let mut counted = seen.is_some();
    let all = seen.map_or_else(Vec::new, |seen| seen.counted(engine));
    let mut off = all.first().map_or(0, |(_, off)| *off);
    ui.horizontal_wrapped(|ui| {
        let hover = "Counted at the timing marks: teeth by which the cam's dot stands ahead of where it is drawn; negative, behind";
        ui.checkbox(&mut counted, "Cam's dot counted").on_hover_text(hover);
        let field = ("sightings[].cam_teeth_off", " teeth ahead");
        number_if(ui, counted, engine, field, &mut off);
    });
    sighting.cam_teeth_off = counted.then_some(CamTeethOff::Every(off));
}

/// Teeth counted at each camshaft's dot.
fn teeth_of_each(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    let seen = sighting.cam_teeth_off.as_ref();
    let before = seen.map_or_else(Vec::new, |seen| seen.counted(engine));
    let mut after = Vec::new();
    for (camshaft, name) in engine.camshaft_names().enumerate() {
        let own = before.iter().find(|(of, _)| *of == camshaft);
        let mut counted = own.is_some();
        let mut off = own.map_or(0, |(_, off)| *off);
        ui.horizontal_wrapped(|ui| {
            let hover = "Counted at the timing marks: teeth by which this camshaft's dot stands ahead of where it is drawn; negative, behind";
            ui.checkbox(&mut counted, format!("Dot of the {name} counted")).on_hover_text(hover);
            let field = ("sightings[].cam_teeth_off", " teeth ahead");
            number_if(ui, counted, engine, field, &mut off);
        });
        after.extend(counted.then_some((camshaft, off)));
    }
    if after != before {
        let named = after
            .into_iter()
            .map(|(camshaft, off)| (engine.camshaft_name(camshaft).to_owned(), off));
        let named: BTreeMap<String, i32> = named.collect();
        sighting.cam_teeth_off = (!named.is_empty()).then_some(CamTeethOff::Named(named));
    }
}

fn spark(ui: &mut Ui, engine: &Engine, sighting: &mut Observation) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label("Spark seen at").on_hover_text(
            "By a timing light, or by a lamp on the lead with the crank turned by hand",
        );
        let numbers: Vec<(u32, String, String)> = (1..=engine.cylinder_count() as u32)
            .map(|number| {
                (
                    number,
                    format!(" {number} "),
                    format!("Spark of No. {number} seen"),
                )
            })
            .collect();
        let before = sighting.spark.map(|spark| spark.cylinder);
        let now = pick(ui, before, &numbers);
        if now != before {
            let drawn = engine.metric().ignition.static_advance;
            sighting.spark = now.map(|cylinder| SparkObservation {
                cylinder,
                btdc: drawn,
                within: SPARK_WITHIN_DEG,
                by: Light::default(),
            });
        }
        if let Some(spark) = &mut sighting.spark {
            let path = "sightings[].spark.btdc";
            number(ui, engine, path, "° before its TDC", &mut spark.btdc);
            let mut by_lamp = spark.by == Light::Lamp;
            ui.checkbox(&mut by_lamp, "by a lamp")
                .on_hover_text(if engine.sparks_every_turn() {
                    "Its plug sparks on overlap too: neither lamp nor light can tell the turn"
                } else {
                    "Turned by hand with that cylinder's valves in view: the turn is known"
                });
            spark.by = if by_lamp { Light::Lamp } else { Light::Strobe };
        }
    });
}

/// Leads that were traced and a body that was turned: said once for all sightings.
fn traced(ui: &mut Ui, engine: &Engine, now: &mut Observations) {
    let order: Vec<u32> = engine
        .lead_order()
        .iter()
        .map(|&number| u32::from(number))
        .collect();
    let mut known = now.leads.is_some();
    if ui
        .checkbox(
            &mut known,
            if engine.coils().is_empty() {
                "Leads traced from tower to plug"
            } else {
                "Leads traced from the coils to the plugs"
            },
        )
        .changed()
    {
        now.leads = known.then(|| order.clone());
    }
    if let Some(leads) = &mut now.leads {
        let plugged: Vec<u8> = leads.iter().map(|&lead| lead as u8).collect();
        if let Some(replugged) = lead_grid(ui, engine, &plugged) {
            *leads = replugged.into_iter().map(u32::from).collect();
        }
    }
    if engine.metric().distributor.is_none() {
        return;
    }
    ui.horizontal(|ui| {
        let label = ui
            .label("Body turned")
            .on_hover_text("From where it is drawn, against the rotor's rotation");
        number(ui, engine, "body_turn", "°", &mut now.body_turn).labelled_by(label.id);
    });
}

fn answer(
    ui: &mut Ui,
    engine: &Engine,
    now: &mut Observations,
    crank: CrankAngle,
    begun: &mut Option<CrankAngle>,
    outcome: Outcome<'_>,
) -> Option<ObservationEdit> {
    ui.separator();
    match outcome {
        Outcome::Nothing => wrapped(
            ui,
            "Nothing seen yet. One valve at one mark is a beginning; the rotor says most.",
        ),
        Outcome::Working => wrapped(ui, "Trying every way it could have gone together…"),
        Outcome::Wrong(findings) => findings.iter().for_each(|finding| wrong(ui, finding)),
        Outcome::Found(diagnosis, stage) => {
            ui.add(egui::Label::new(strong(ui.ctx(), diagnosis.standing())).wrap());
            *begun = next_looks(ui, diagnosis, now, crank);
            return found(ui, engine, now, diagnosis, stage);
        }
    }
    None
}

fn wrong(ui: &mut Ui, finding: &Finding) {
    let ink = Palette::of(ui.ctx()).ink(Role::Caution);
    ui.add(
        egui::Label::new(
            RichText::new(format!("{}: {}.", finding.place, finding.message)).color(ink),
        )
        .wrap(),
    );
    wrapped(ui, &format!("Fix: {}.", finding.fix));
}

/// The ways that are left, those with the fewest faults first; those with more are folded.
fn found(
    ui: &mut Ui,
    engine: &Engine,
    now: &Observations,
    diagnosis: &Diagnosis,
    stage: Stage,
) -> Option<ObservationEdit> {
    let fits = &diagnosis.fits;
    let most = if fits.len() > MANY {
        MOST_OF_MANY
    } else {
        MOST_FITS
    };
    // Where the simplest has two faults, it is shown all the same.
    let least = fits.first().map_or(1, |fit| fit.faults.max(1));
    let simple = fits.iter().take_while(|fit| fit.faults <= least).count();
    let mut edit = None;
    let mut some = |ui: &mut Ui, from: usize, to: usize| {
        let of_these = fits.iter().enumerate().take(to).skip(from);
        for (index, fit) in of_these.take(most) {
            ui.push_id(("fit", index), |ui| {
                if one_fit(ui, engine, index, (fit, stage), now) {
                    edit = Some(ObservationEdit::Pose(
                        fit.assembly.clone(),
                        pose_of(fit, now),
                    ));
                }
            });
        }
        if to - from > most {
            let more = to - from - most;
            wrapped(
                ui,
                &format!("And {more} more: look again, as above, to rule some out."),
            );
        }
    };
    some(ui, 0, simple);
    if simple < fits.len() {
        let title = format!(
            "{} with more out than that",
            counted(fits.len() - simple, "way", "ways")
        );
        CollapsingHeader::new(strong(ui.ctx(), title))
            .id_salt("compound faults")
            .show_unindented(ui, |ui| some(ui, simple, fits.len()));
    }
    rests_on(ui, engine, SUBJECTS, body_not_turned(engine, now));
    edit
}

/// What to look at next, and further looks folded under it; the crank angle to turn the model to
/// where one was begun.
fn next_looks(
    ui: &mut Ui,
    diagnosis: &Diagnosis,
    now: &mut Observations,
    crank: CrankAngle,
) -> Option<CrankAngle> {
    let (first, others) = diagnosis.tell_apart.split_first()?;
    let palette = Palette::of(ui.ctx());
    let frame = Frame::new()
        .fill(palette.field)
        .stroke(egui::Stroke::new(2.0, palette.focus()))
        .inner_margin(6)
        .corner_radius(4);
    let mut begun = None;
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label("Look at this next");
        begun = next_look(ui, first, now, crank);
    });
    if !others.is_empty() {
        let title = strong(ui.ctx(), "Other looks that tell");
        CollapsingHeader::new(title).show_unindented(ui, |ui| {
            for look in others {
                begun = next_look(ui, look, now, crank).or(begun);
            }
        });
    }
    begun
}

/// One way it could be; true to pose the model so.
fn one_fit(
    ui: &mut Ui,
    engine: &Engine,
    index: usize,
    (fit, stage): (&Fit, Stage),
    seen: &Observations,
) -> bool {
    let palette = Palette::of(ui.ctx());
    let frame = Frame::new()
        .fill(palette.field)
        .stroke(egui::Stroke::new(1.0, palette.line))
        .inner_margin(6)
        .corner_radius(4);
    let inner = frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.add(
            egui::Label::new(strong(
                ui.ctx(),
                format!("{}. {}", index + 1, fit.describe(engine)),
            ))
            .wrap(),
        );
        for misfit in &fit.misfits {
            let words =
                RichText::new(format!("But: {}", misfit.text)).color(palette.ink(Role::Caution));
            ui.add(egui::Label::new(words).wrap());
        }
        for (number, remedy) in fit.remedies(engine, stage).iter().enumerate() {
            // Every line but the first says itself whether it is another way or what comes after.
            wrapped(
                ui,
                &if number == 0 {
                    format!("Remedy: {remedy}")
                } else {
                    capital(remedy)
                },
            );
        }
        let name = format!("Show way {} on the model", index + 1);
        let response = ui.small_button("Show it on the model");
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &name));
        response
            .on_hover_text(format!(
                "Crank at {}",
                degrees(pose_of(fit, seen).degrees())
            ))
            .clicked()
    });
    inner.inner
}

/// Where the crank stands in the last sighting, on the turn that this way puts it on.
fn pose_of(fit: &Fit, seen: &Observations) -> CrankAngle {
    let mark = seen.sightings.last().map_or(0.0, |sighting| sighting.crank);
    let first = CrankAngle::new(mark);
    let on = |crank: CrankAngle| {
        fit.turns
            .last()
            .is_none_or(|turn| Revolution::of(crank) == *turn)
    };
    if on(first) {
        first
    } else {
        CrankAngle::new(mark + 360.0)
    }
}

/// A look to take, with a button that begins a sighting for it, or goes to where it is entered; where
/// the model is to be turned to, once a sighting was begun.
fn next_look(
    ui: &mut Ui,
    look: &Look,
    now: &mut Observations,
    crank: CrankAngle,
) -> Option<CrankAngle> {
    let turns_crank = !matches!(
        look.at,
        LookAt::Leads | LookAt::CoilLeads | LookAt::Spark(_)
    );
    let place = match (turns_crank, look.turn_on) {
        (true, true) => format!("turned on to {}, ", degrees(look.crank_deg)),
        (true, false) => format!("at {}, ", degrees(look.crank_deg)),
        (false, _) => String::new(),
    };
    let words = capital(&format!("{place}{}.", look.look));
    ui.add(egui::Label::new(strong(ui.ctx(), words)).wrap());
    let answers: Vec<String> = look
        .answers
        .iter()
        .map(|(answer, left)| format!("{answer} leaves {left}"))
        .collect();
    ui.add(egui::Label::new(RichText::new(answers.join(", ")).weak()).wrap());
    let is_begun = now
        .sightings
        .last()
        .is_some_and(|last| last.crank == look.crank_deg && !look.turn_on);
    let (words, hover) = if turns_crank && !is_begun {
        (
            format!("Enter at {}", degrees(look.crank_deg)),
            "Turns the model there, and begins a sighting",
        )
    } else {
        ("Enter it".to_owned(), "Goes to where it is entered")
    };
    if !ui.button(words).on_hover_text(hover).clicked() {
        return None;
    }
    if !turns_crank || is_begun {
        let leads = matches!(look.at, LookAt::Leads | LookAt::CoilLeads);
        let entry = if leads {
            Entry::Leads
        } else {
            Entry::LastSighting
        };
        ui.data_mut(|data| data.insert_temp(entry_id(), entry));
        ui.ctx().request_repaint();
        return None;
    }
    now.sightings.push(Observation {
        turned_on: look.turn_on,
        ..Observation::at(look.crank_deg)
    });
    Some(on_by_the_mark(crank, look.crank_deg))
}

/// Where the crank next shows so much past its mark, turned on in its running direction.
fn on_by_the_mark(from: CrankAngle, mark_deg: f64) -> CrankAngle {
    let either = [mark_deg, mark_deg + 360.0].map(CrankAngle::new);
    let on = |to: &CrankAngle| from.on_to(*to).degrees();
    if on(&either[0]) <= on(&either[1]) {
        either[0]
    } else {
        either[1]
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    use super::*;
    use crate::diagnosis::{diagnose, observations};
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;
    use crate::window::app::theme::Theme;

    /// Shows the panel over what was seen, clicks, and gives the edit that came of it.
    fn edited(seen: &Observations, crank_deg: f64, click: &str) -> Option<ObservationEdit> {
        let engine = BENCH.engine();
        let diagnosis = (!seen.sightings.is_empty()).then(|| diagnose(&engine, seen));
        let edit = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([380.0, 2400.0])
            .build_ui(|ui| {
                let outcome = diagnosis.as_ref().map_or(Outcome::Nothing, |diagnosis| {
                    Outcome::Found(diagnosis, Stage::CoverOff)
                });
                if let Some(made) = panel(ui, &engine, seen, at_crank(crank_deg), outcome) {
                    edit.replace(Some(made));
                }
            });
        harness.get_by_label(click).click();
        harness.run();
        drop(harness);
        edit.into_inner()
    }

    /// The crank so, and everything that can be looked at in sight.
    fn at_crank(deg: f64) -> (CrankAngle, &'static [Sight]) {
        (CrankAngle::new(deg), &Sight::ALL)
    }

    fn at(crank: f64) -> Observations {
        Observations {
            sightings: vec![Observation::at(crank)],
            ..Observations::default()
        }
    }

    fn seen(edit: Option<ObservationEdit>) -> Observation {
        match edit {
            Some(ObservationEdit::Observed(seen)) => seen.sightings[0].clone(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_new_sighting_begins_where_the_model_stands_by_its_mark() {
        let edit = edited(
            &Observations::default(),
            483.0,
            "New sighting, crank at 123°",
        );
        assert_eq!(edit, Some(ObservationEdit::Observed(at(123.0))));
    }

    #[test]
    fn a_valve_is_picked_open_and_picked_again_is_not_seen() {
        let open = edited(&at(0.0), 0.0, "Exhaust valve of No. 4 open");
        let valve = ValveObservation {
            cylinder: 4,
            valve: Valve::Exhaust,
            is: ValveState::Open,
        };
        assert_eq!(seen(open.clone()).valves, [valve]);
        let Some(ObservationEdit::Observed(with)) = open else {
            panic!()
        };
        assert!(
            seen(edited(&with, 0.0, "Exhaust valve of No. 4 open"))
                .valves
                .is_empty()
        );
        let shut = seen(edited(&with, 0.0, "Exhaust valve of No. 4 shut"));
        assert_eq!(
            shut.valves,
            [ValveObservation {
                is: ValveState::Closed,
                ..valve
            }]
        );
    }

    #[test]
    fn the_rotor_is_picked_by_its_tower() {
        let rotor = seen(edited(&at(0.0), 0.0, "Rotor at the tower of No. 3")).rotor;
        assert_eq!(
            rotor,
            Some(RotorObservation {
                tower: Some(3),
                ..RotorObservation::default()
            })
        );
    }

    #[test]
    fn compression_is_felt_in_as_many_as_are_picked() {
        let mut two = at(0.0);
        two.sightings[0].compression_felt = vec![1];
        assert_eq!(
            seen(edited(&two, 0.0, "Compression felt in No. 3")).compression_felt,
            [1, 3]
        );
        assert!(
            seen(edited(&two, 0.0, "Compression felt in No. 1"))
                .compression_felt
                .is_empty()
        );
    }

    #[test]
    fn a_spark_begins_at_the_drawn_advance() {
        let spark = seen(edited(&at(0.0), 0.0, "Spark of No. 1 seen")).spark;
        assert_eq!(
            spark.map(|spark| (spark.cylinder, spark.btdc)),
            Some((1, 8.0))
        );
    }

    #[test]
    fn picking_a_fit_poses_the_model_on_the_turn_it_was_seen_on() {
        // At the TDC mark No. 1's exhaust valve stands open a little and so does its intake: it is
        // on overlap.
        let mut overlap = at(0.0);
        overlap.sightings[0].valves = [Valve::Intake, Valve::Exhaust]
            .map(|valve| ValveObservation {
                cylinder: 1,
                valve,
                is: ValveState::Open,
            })
            .to_vec();
        assert_eq!(
            edited(&overlap, 0.0, "Show way 1 on the model"),
            Some(ObservationEdit::Pose(
                Assembly::default(),
                CrankAngle::new(360.0)
            ))
        );
    }

    #[test]
    fn a_look_that_would_tell_more_can_be_entered_at_once() {
        let mut one = at(0.0);
        one.sightings[0].rotor = Some(RotorObservation {
            tower: Some(4),
            ..RotorObservation::default()
        });
        let engine = BENCH.engine();
        let diagnosis = diagnose(&engine, &one);
        let look = diagnosis
            .tell_apart
            .iter()
            .find(|look| look.turn_on)
            .expect("a look with the crank turned on");
        let label = format!("Enter at {}", degrees(look.crank_deg));
        let edit = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([380.0, 2400.0])
            .build_ui(|ui| {
                if let Some(made) = panel(
                    ui,
                    &engine,
                    &one,
                    at_crank(0.0),
                    Outcome::Found(&diagnosis, Stage::CoverOff),
                ) {
                    edit.replace(Some(made));
                }
            });
        if diagnosis.tell_apart.first() != Some(look) {
            harness.get_by_label("Other looks that tell").click();
            harness.run();
        }
        harness
            .get_all_by_label(&label)
            .next()
            .expect("its button")
            .click();
        harness.run();
        drop(harness);
        let Some(ObservationEdit::Begun(now, turned_to)) = edit.into_inner() else {
            panic!("an edit")
        };
        assert_eq!(
            (now.sightings[1].crank, now.sightings[1].turned_on),
            (look.crank_deg, true)
        );
        // The model is turned to where that look is taken.
        assert_eq!(turned_to.by_the_mark(), look.crank_deg);
    }

    /// Shows the panel in a low pane over sightings that follow what is done in it.
    fn low_pane(seen: Observations) -> Harness<'static, Observations> {
        let engine = BENCH.engine();
        let show = move |ui: &mut Ui, seen: &mut Observations| {
            egui::ScrollArea::vertical().show(ui, |ui| {
                let crank = at_crank(90.0);
                match panel(ui, &engine, seen, crank, Outcome::Nothing) {
                    Some(ObservationEdit::Observed(now)) => *seen = now,
                    Some(other) => panic!("{other:?}"),
                    None => {}
                }
            });
        };
        let mut harness = Harness::builder()
            .with_size([380.0, 420.0])
            .build_ui_state(show, seen);
        harness.run();
        harness
    }

    #[test]
    fn a_sighting_that_is_begun_is_scrolled_to_and_those_before_it_are_folded() {
        let mut harness = low_pane(at(0.0));
        harness.get_by_label("Past No. 1's TDC mark");
        harness
            .get_by_label("New sighting, crank at 90°")
            .scroll_to_me();
        harness.run();
        harness.get_by_label("New sighting, crank at 90°").click();
        harness.run();
        assert_eq!(harness.state().sightings.len(), 2);
        let begun = harness.get_by_label("Sighting 2, crank at 90°").rect();
        assert!((0.0..200.0).contains(&begun.top()), "{begun:?}");
        // Its own fields alone are unfolded.
        harness.get_by_label("turned forwards to here from the one before");
        harness.get_by_label("Past No. 1's TDC mark");
    }

    #[test]
    fn ways_with_more_out_than_the_simplest_are_folded_and_the_next_look_stands_over_all() {
        let engine = BENCH.engine();
        let mut one = at(0.0);
        one.sightings[0].rotor = Some(RotorObservation {
            tower: Some(4),
            ..RotorObservation::default()
        });
        let diagnosis = diagnose(&engine, &one);
        let most = diagnosis.fits.last().expect("a way");
        assert!(most.faults > diagnosis.fits[0].faults.max(1));
        let mut harness = Harness::builder()
            .with_size([380.0, 3000.0])
            .build_ui(|ui| {
                let outcome = Outcome::Found(&diagnosis, Stage::CoverOff);
                panel(ui, &engine, &one, at_crank(0.0), outcome);
            });
        let first = harness.get_by_label_contains("1. ").rect();
        let next = harness.get_by_label("Look at this next").rect();
        assert!(next.bottom() < first.top());
        let shown = |harness: &Harness<'_>| {
            let ways = harness.query_all_by_label_contains("Show way");
            ways.count()
        };
        let before = shown(&harness);
        harness
            .get_by_label_contains("with more out than that")
            .click();
        harness.run();
        assert!(shown(&harness) > before);
    }

    #[test]
    fn what_cannot_be_seen_at_a_stage_is_not_asked_for_and_that_is_said() {
        let engine = BENCH.engine();
        let show = |can_see: &'static [Sight]| {
            let engine = engine.clone();
            Harness::builder()
                .with_size([380.0, 1400.0])
                .build_ui(move |ui| {
                    let crank = (CrankAngle::new(0.0), can_see);
                    panel(ui, &engine, &at(0.0), crank, Outcome::Nothing);
                })
        };
        let open = show(Stage::CaseOpen.sights());
        assert!(open.query_by_label("Thumb pushed off").is_none());
        open.get_by_label_contains("Not seen at this stage: thumb, sparks.");
        let closed = show(Stage::Fired.sights());
        closed.get_by_label("Thumb pushed off");
        assert!(closed.query_by_label("Cam's dot counted").is_none());
    }

    #[test]
    fn whoever_says_that_everything_is_closed_is_told_first_what_leaves_it_closed() {
        let engine = BENCH.engine();
        let mut out = at(0.0);
        out.sightings[0].cam_teeth_off = Some(CamTeethOff::Every(1));
        let diagnosis = diagnose(&engine, &out);
        let fit = diagnosis.fits.first().expect("a way");
        let [building, closed] =
            [Stage::CoverOff, Stage::CoverOn].map(|stage| fit.remedies(&engine, stage));
        assert_ne!(building, closed, "{}", fit.describe(&engine));
        for (stage, remedies) in [(Stage::CoverOff, building), (Stage::CoverOn, closed)] {
            let harness = Harness::builder()
                .with_size([380.0, 2400.0])
                .build_ui(|ui| {
                    panel(
                        ui,
                        &engine,
                        &out,
                        at_crank(0.0),
                        Outcome::Found(&diagnosis, stage),
                    );
                });
            let first = format!("Remedy: {}", remedies.first().expect("a remedy"));
            harness.get_all_by_label(&first).next().expect("it is told");
        }
    }

    #[test]
    fn what_cannot_have_been_seen_is_said_with_its_mend() {
        let engine = BENCH.engine();
        let mut both = at(0.0);
        both.sightings[0].valves = [ValveState::Open, ValveState::Closed]
            .map(|is| ValveObservation {
                cylinder: 1,
                valve: Valve::Intake,
                is,
            })
            .to_vec();
        let findings = observations::check::findings(&both, &engine);
        let harness = Harness::builder()
            .with_size([380.0, 2400.0])
            .build_ui(|ui| {
                panel(ui, &engine, &both, at_crank(0.0), Outcome::Wrong(&findings));
            });
        harness.get_by_label_contains("sightings[0].valves[1]");
    }

    #[test]
    fn what_is_only_shown_stays_as_it_was_seen() {
        let engine = BENCH.engine();
        let text = "(format: 1, sightings: [
            (crank: 400.25, within: 60.0, rotor: (clock: -11.0), cam_teeth_off: 33,
             spark: (cylinder: 1, btdc: 400.0, within: 90.0)),
            (crank: -3.14159, rotor: (clock: 359.87)),
        ], body_turn: -200.0)";
        let seen = observations::read(text, &engine).written.expect("read");
        assert_eq!(
            seen.sightings[0].rotor.and_then(|rotor| rotor.clock),
            Some(-11.0)
        );
        let edit = RefCell::new(None);
        let mut harness = Harness::builder()
            .with_size([380.0, 2400.0])
            .build_ui(|ui| {
                let made = panel(ui, &engine, &seen, at_crank(0.0), Outcome::Nothing);
                edit.replace_with(|edit| edit.take().or(made));
            });
        for _ in 0..3 {
            harness.run();
        }
        drop(harness);
        assert_eq!(edit.into_inner(), None);
    }

    #[test]
    fn there_is_nothing_to_save_before_anything_is_seen() {
        let engine = BENCH.engine();
        let harness = Harness::builder().with_size([380.0, 900.0]).build_ui(|ui| {
            panel(
                ui,
                &engine,
                &Observations::default(),
                at_crank(0.0),
                Outcome::Nothing,
            );
        });
        assert!(harness.get_by_label("Save…").accesskit_node().is_disabled());
        assert!(!harness.get_by_label("Open…").accesskit_node().is_disabled());
    }

    #[test]
    fn nothing_is_wider_than_its_pane() {
        for scene in &scenes::SCENES {
            let engine = scene.engine();
            let mut seen = at(0.0);
            seen.sightings[0].valves = vec![ValveObservation {
                cylinder: 1,
                valve: Valve::Intake,
                is: ValveState::Closed,
            }];
            seen.sightings[0].spark = Some(SparkObservation {
                cylinder: 1,
                btdc: 8.0,
                within: 2.0,
                by: Light::Lamp,
            });
            let diagnosis = diagnose(&engine, &seen);
            let wide = RefCell::new(0.0);
            let _ = Harness::builder()
                .with_size([340.0, 1400.0])
                .build_ui(|ui| {
                    Theme::default().apply(ui.ctx());
                    panel(
                        ui,
                        &engine,
                        &seen,
                        at_crank(0.0),
                        Outcome::Found(&diagnosis, Stage::CoverOff),
                    );
                    wide.replace(ui.min_rect().width());
                });
            let wide = wide.take();
            assert!((100.0..=340.0).contains(&wide), "{}: {wide}", scene.name);
        }
    }
}
