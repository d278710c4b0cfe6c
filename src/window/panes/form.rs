//! One field of the description after another: its label, its value with unit and range, and under
//! it what was found wrong there.
//!
//! Each field is known by its place in the file; from the place come its label, range and unit (the
//! table of [`fields`]) and the findings. The last place that was changed is the form's answer.

use egui::{ComboBox, DragValue, Id, Response, RichText, TextEdit, Ui, WidgetText, vec2};

use super::number_field::{number_field as answered, tell};
use super::widgets::now_and_then;
use crate::angle::Direction;
use crate::description::fields::{self, Range, Unit};
use crate::description::typed;
use crate::drawing::Role;
use crate::source::{Finding, Severity};
use crate::window::app::theme::Palette;
use crate::words::Units;

/// Goes down the fields of a description.
pub(crate) struct Form<'a> {
    units: Units,
    findings: &'a [Finding],
    /// Only fields whose words hold this are shown; all where it is empty.
    sought: String,
    changed: Option<String>,
}

/// How wide the words before a field stand.
const WORDS_WIDE: f32 = 152.0;

impl<'a> Form<'a> {
    /// A form for lengths in these units, with these findings to be shown where they belong.
    pub(crate) fn new(units: Units, findings: &'a [Finding]) -> Self {
        Self {
            units,
            findings,
            sought: String::new(),
            changed: None,
        }
    }

    /// Shows only fields whose words hold `sought`.
    #[must_use]
    pub(crate) fn seeking(self, sought: &str) -> Self {
        Self {
            sought: sought.trim().to_lowercase(),
            ..self
        }
    }

    /// Whether all fields are shown, and none sought.
    pub(crate) fn shows_all(&self) -> bool {
        self.sought.is_empty()
    }

    fn shows(&self, words: &str) -> bool {
        self.sought.is_empty() || words.to_lowercase().contains(&self.sought)
    }

    /// Words between fields, left out where one field is sought.
    pub(crate) fn words(&self, ui: &mut Ui, words: &str) {
        if self.shows_all() {
            ui.add(egui::Label::new(words).wrap());
        }
    }

    /// A part of the description that can be folded away.
    pub(crate) fn part(&mut self, ui: &mut Ui, title: &str, add: impl FnOnce(&mut Ui, &mut Self)) {
        if self.shows_all() {
            super::widgets::section(ui, title, |ui| add(ui, self));
        } else {
            add(ui, self);
        }
    }

    /// The fields of a part that has those of another: what is found and changed there is known by
    /// the part's own place.
    pub(crate) fn within(
        &mut self,
        ui: &mut Ui,
        part: &str,
        add: impl FnOnce(&mut Ui, &mut Form<'_>),
    ) {
        let inside = |finding: &Finding| {
            let place = finding.place.strip_prefix(part)?.strip_prefix('.')?;
            Some(Finding {
                place: place.to_owned(),
                ..finding.clone()
            })
        };
        let findings: Vec<Finding> = self.findings.iter().filter_map(inside).collect();
        let mut form = Form::new(self.units, &findings).seeking(&self.sought);
        ui.push_id(part, |ui| add(ui, &mut form));
        if let Some(place) = form.changed() {
            self.note(&format!("{part}.{place}"));
        }
    }

    /// Whether something is there at all. True where that was changed.
    pub(crate) fn whether(&mut self, ui: &mut Ui, place: &str, is: &mut bool) -> bool {
        let label = label_of(place);
        let changed = self.shows(label) && ui.checkbox(is, label).changed();
        self.note_if(changed, place);
        changed
    }

    /// The place that was changed last, if any.
    pub(crate) fn changed(self) -> Option<String> {
        self.changed
    }

    /// Notes a change that no field made.
    pub(crate) fn note(&mut self, place: &str) {
        self.changed = Some(place.to_owned());
    }

    fn note_if(&mut self, changed: bool, place: &str) {
        if changed {
            self.note(place);
        }
    }

    /// A row: a label, then the field it names, then what was found there.
    fn row(&mut self, ui: &mut Ui, place: &str, field: impl FnOnce(&mut Ui) -> (Response, bool)) {
        self.row_labelled(ui, label_of(place), place, field);
    }

    fn row_labelled(
        &mut self,
        ui: &mut Ui,
        words: &str,
        place: &str,
        field: impl FnOnce(&mut Ui) -> (Response, bool),
    ) {
        if !self.shows(words) {
            return;
        }
        let wide = WORDS_WIDE * ui.text_style_height(&egui::TextStyle::Body) / 17.0;
        let worst = self
            .findings
            .iter()
            .filter(|finding| belongs(finding, place))
            .map(|finding| finding.severity)
            .max();
        ui.horizontal(|ui| {
            let label = ui
                .allocate_ui_with_layout(
                    vec2(wide, ui.spacing().interact_size.y),
                    egui::Layout::left_to_right(egui::Align::Center),
                    |ui| {
                        ui.set_min_width(wide);
                        let words = match worst {
                            Some(severity) => {
                                RichText::new(words).strong().color(ink(ui, severity))
                            }
                            None => RichText::new(words),
                        };
                        ui.add(egui::Label::new(words).wrap())
                    },
                )
                .inner;
            let (response, changed) = field(ui);
            response.labelled_by(label.id);
            self.note_if(changed, place);
        });
        self.found(ui, place);
    }

    /// What was found at a place, or inside it where no field of its own shows it.
    pub(crate) fn found(&self, ui: &mut Ui, place: &str) {
        self.found_where(ui, |finding| belongs(finding, place));
    }

    fn found_where(&self, ui: &mut Ui, is_here: impl Fn(&Finding) -> bool) {
        let here: Vec<&Finding> = self
            .findings
            .iter()
            .filter(|found| is_here(found))
            .collect();
        now_and_then(ui, !here.is_empty(), |ui| {
            here.into_iter()
                .for_each(|finding| finding_shown(ui, finding));
        });
    }

    pub(crate) fn number(&mut self, ui: &mut Ui, place: &str, value: &mut f64) {
        self.number_labelled(ui, label_of(place), place, value);
    }

    /// A number of a list, with a label of its own.
    pub(crate) fn number_labelled(
        &mut self,
        ui: &mut Ui,
        label: &str,
        place: &str,
        value: &mut f64,
    ) {
        let units = self.units;
        self.row_labelled(ui, label, place, |ui| {
            with_change(number_field(ui, place, units, value))
        });
    }

    /// A whole number of teeth.
    pub(crate) fn teeth(&mut self, ui: &mut Ui, place: &str, value: &mut u32) {
        self.row(ui, place, |ui| with_change(teeth_field(ui, place, value)));
    }

    /// A number that need not be given; `usual` is what it starts at.
    pub(crate) fn optional(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut Option<f64>,
        usual: f64,
    ) {
        let units = self.units;
        self.optional_of(ui, place, value, usual, |ui, value| {
            number_field(ui, place, units, value)
        });
    }

    /// A whole number that need not be given; `usual` is what it starts at.
    pub(crate) fn optional_count(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut Option<u32>,
        usual: u32,
    ) {
        self.optional_of(ui, place, value, usual, |ui, value| {
            teeth_field(ui, place, value)
        });
    }

    fn optional_of<T>(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut Option<T>,
        usual: T,
        field: impl FnOnce(&mut Ui, &mut T) -> Response,
    ) {
        self.row(ui, place, |ui| {
            let mut given = value.is_some();
            let mut response = ui
                .checkbox(&mut given, "")
                .on_hover_text("Whether it is given at all");
            response.widget_info(|| {
                egui::WidgetInfo::selected(
                    egui::WidgetType::Checkbox,
                    true,
                    given,
                    format!("{}: given", label_of(place)),
                )
            });
            if response.changed() {
                *value = given.then_some(usual);
            }
            match value {
                Some(value) => response |= field(ui, value),
                None => {
                    ui.weak("not given");
                }
            }
            with_change(response)
        });
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy + PartialEq>(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut T,
        choices: &[(T, &str)],
    ) {
        self.row(ui, place, |ui| {
            let mut changed = false;
            let now = choices
                .iter()
                .find(|(choice, _)| choice == value)
                .map_or("", |(_, words)| words);
            let shown = ComboBox::from_id_salt(place)
                .selected_text(now)
                .show_ui(ui, |ui| {
                    for (choice, words) in choices {
                        changed |= ui.selectable_value(value, *choice, *words).changed();
                    }
                });
            (shown.response, changed)
        });
    }

    pub(crate) fn direction(&mut self, ui: &mut Ui, place: &str, value: &mut Option<Direction>) {
        let ways = [
            (None, "not stated: clockwise"),
            (Some(Direction::Clockwise), "clockwise"),
            (Some(Direction::CounterClockwise), "anticlockwise"),
        ];
        self.choice(ui, place, value, &ways);
    }

    pub(crate) fn text(&mut self, ui: &mut Ui, place: &str, value: &mut String) {
        self.row(ui, place, |ui| {
            with_change(ui.add(TextEdit::singleline(value).desired_width(f32::INFINITY)))
        });
    }

    pub(crate) fn lines(&mut self, ui: &mut Ui, place: &str, value: &mut String) {
        self.row(ui, place, |ui| {
            with_change(
                ui.add(
                    TextEdit::multiline(value)
                        .desired_width(f32::INFINITY)
                        .desired_rows(2),
                ),
            )
        });
    }

    /// Whole numbers in a row, such as a firing order: `1-3-4-2`, `1 3 4 2` or `1, 3, 4, 2`.
    pub(crate) fn numbers(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut Vec<u32>,
        between: &str,
    ) {
        self.row(ui, place, |ui| list_field(ui, place, value, between));
    }

    /// A bare number field for a row made by hand, named for those who cannot see it.
    pub(crate) fn cell(&mut self, ui: &mut Ui, place: &str, value: &mut f64) {
        let response = number_field(ui, place, self.units, value);
        named(&response, egui::WidgetType::DragValue, place);
        self.note_if(response.changed(), place);
    }

    /// A bare line of text for a row made by hand.
    pub(crate) fn text_cell(&mut self, ui: &mut Ui, place: &str, value: &mut String, wide: f32) {
        let response = ui.add(
            TextEdit::singleline(value)
                .desired_width(wide)
                .hint_text(label_of(place)),
        );
        self.note_if(response.changed(), place);
    }

    /// A bare list of numbers for a row made by hand.
    pub(crate) fn numbers_cell(
        &mut self,
        ui: &mut Ui,
        place: &str,
        value: &mut Vec<u32>,
        wide: f32,
    ) {
        ui.scope(|ui| {
            ui.set_max_width(wide);
            let (response, changed) = list_field(ui, place, value, ", ");
            named(&response, egui::WidgetType::TextEdit, place);
            self.note_if(changed, place);
        });
    }

    /// A button beside what stands at a place; whether it was pressed.
    pub(crate) fn button(&mut self, ui: &mut Ui, place: &str, words: &str) -> bool {
        let pressed = self.shows(label_of(place)) && ui.button(words).clicked();
        self.note_if(pressed, place);
        pressed
    }

    /// The rows of a list: `show` draws one; each can be taken out, and one can be added at the
    /// end, copied by `fresh` from the last.
    pub(crate) fn rows<T>(
        &mut self,
        ui: &mut Ui,
        place: &str,
        rows: &mut Vec<T>,
        mut show: impl FnMut(&mut Self, &mut Ui, &str, &mut T),
        fresh: impl FnOnce(Option<&T>) -> T,
    ) {
        let what = label_of(place);
        if !self.shows(what) {
            return;
        }
        let mut out = None;
        for (index, row) in rows.iter_mut().enumerate() {
            let here = format!("{place}[{index}]");
            ui.horizontal(|ui| {
                show(self, ui, &here, row);
                let take = ui
                    .small_button("×")
                    .on_hover_text(format!("Take this {what} out"));
                take.widget_info(|| {
                    egui::WidgetInfo::labeled(
                        egui::WidgetType::Button,
                        true,
                        format!("Take {what} {} out", index + 1),
                    )
                });
                if take.clicked() {
                    out = Some(index);
                }
            });
            self.found_where(ui, |finding| inside(&finding.place, &here));
        }
        if let Some(index) = out {
            rows.remove(index);
            self.note(place);
        }
        if ui.button(format!("Add {what}")).clicked() {
            let row = fresh(rows.last());
            rows.push(row);
            self.note(place);
        }
        self.found_only(ui, place);
    }

    /// What was found at exactly this place.
    pub(crate) fn found_only(&self, ui: &mut Ui, place: &str) {
        if !self.shows_all() {
            return;
        }
        self.found_where(ui, |finding| finding.place == place);
    }
}

fn with_change(response: Response) -> (Response, bool) {
    let changed = response.changed();
    (response, changed)
}

/// Whether a finding is shown under the field at `place`: it is there, or at an item of a list that
/// the field shows whole.
fn belongs(finding: &Finding, place: &str) -> bool {
    finding.place == place
        || finding
            .place
            .strip_prefix(place)
            .is_some_and(|rest| rest.starts_with('['))
}

/// Whether `place` is `around` or something within it.
fn inside(place: &str, around: &str) -> bool {
    place
        .strip_prefix(around)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

fn ink(ui: &Ui, severity: Severity) -> egui::Color32 {
    let palette = Palette::of(ui.ctx());
    match severity {
        Severity::Error => palette.ink(Role::Now),
        Severity::Warning => palette.ink(Role::Caution),
    }
}

/// A finding, with why it matters and what would put it right.
pub(crate) fn finding_shown(ui: &mut Ui, finding: &Finding) {
    let word = match finding.severity {
        Severity::Error => "Wrong",
        Severity::Warning => "Look again",
    };
    let ink = ink(ui, finding.severity);
    let text = format!("{word}: {}.", finding.message);
    ui.add(egui::Label::new(RichText::new(text).color(ink)).wrap())
        .on_hover_text(format!("Why: {}.", finding.why));
    ui.add(egui::Label::new(RichText::new(format!("Fix: {}.", finding.fix)).small()).wrap());
}

/// What the table of fields calls the field at a place.
fn label_of(place: &str) -> &'static str {
    fields::field_at(place).map_or("", |field| field.label)
}

/// Names a field that has no label beside it, for those who cannot see it.
fn named(response: &Response, kind: egui::WidgetType, place: &str) {
    response.widget_info(|| egui::WidgetInfo::labeled(kind, true, label_of(place)));
}

/// The legal range of the number at a place, and what the number is.
fn range_at(place: &str) -> Option<(&'static Range, &'static str)> {
    let field = fields::field_at(place)?;
    field.range().map(|range| (range, field.what))
}

/// How far a drag of one point moves a number.
fn speed(unit: Unit, units: Units) -> f64 {
    match unit {
        Unit::Length if units == Units::Inches => 0.002,
        Unit::Length => 0.05,
        Unit::Rpm => 10.0,
        Unit::Kilopascals | Unit::InchesOfMercury | Unit::Torque | Unit::TorquesOwn => 0.2,
        Unit::Teeth | Unit::TeethPerInch | Unit::Count => 0.1,
        Unit::Degrees => 0.25,
    }
}

fn hover(range: &Range, what: &str, units: Units) -> WidgetText {
    let places = if units == Units::Inches && range.unit == Unit::Length {
        3
    } else {
        1
    };
    let short = |value: f64| {
        format!("{value:.places$}")
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned()
    };
    format!(
        "{what}: {} to {}{}. Drag, or click and type.",
        short(range.least_in(units)),
        short(range.most_in(units)),
        range.suffix(units)
    )
    .into()
}

fn number_field(ui: &mut Ui, place: &str, units: Units, value: &mut f64) -> Response {
    let places = if units == Units::Inches { 4 } else { 3 };
    drag_field(ui, place, units, DragValue::new(value).max_decimals(places))
}

fn teeth_field(ui: &mut Ui, place: &str, value: &mut u32) -> Response {
    drag_field(ui, place, Units::Millimetres, DragValue::new(value))
}

/// A number's field with its range, unit and explanation. A value out of its range is shown as it
/// is, with the finding under it.
fn drag_field(ui: &mut Ui, place: &str, units: Units, mut field: DragValue<'_>) -> Response {
    let range = range_at(place);
    if let Some((range, _)) = range {
        field = field
            .speed(speed(range.unit, units))
            .range(range.least_in(units)..=range.most_in(units))
            .suffix(range.suffix(units));
    }
    let field = field.clamp_existing_to_range(false);
    let read = |text: &str| typed::into_field(place, units, text);
    let beyond = |value| typed::beyond(range?.0, units, value);
    let response = ui
        .push_id(place, |ui| answered(ui, true, field, &read, &beyond))
        .inner;
    match range {
        Some((range, what)) => response.on_hover_text(hover(range, what, units)),
        None => response,
    }
}

/// A text that stands for a list, and whether it changed the list. While it is being typed it stays
/// as typed.
fn list_field(ui: &mut Ui, place: &str, value: &mut Vec<u32>, between: &str) -> (Response, bool) {
    let id = Id::new(("list being typed", place));
    let plain = || {
        let words: Vec<String> = value.iter().map(u32::to_string).collect();
        words.join(between)
    };
    let mut text = ui
        .data(|data| data.get_temp::<String>(id))
        .unwrap_or_else(plain);
    let response = ui.add(
        TextEdit::singleline(&mut text)
            .id_salt(place)
            .desired_width(f32::INFINITY),
    );
    let listed = listed(&text);
    // Nothing is said while it is still being typed.
    let typed = response.lost_focus() || response.changed();
    let wanted = (response.lost_focus() && listed.is_none())
        .then(|| format!("Whole numbers are wanted, such as {}", plain()));
    tell(&response, typed.then_some(wanted));
    let read = listed.filter(|read| response.changed() && read != value);
    let took = read.is_some();
    if let Some(read) = read {
        *value = read;
    }
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, text));
    } else {
        ui.data_mut(|data| data.remove::<String>(id));
    }
    (response, took)
}

/// Whole numbers, whatever stands between them; None where something else stands there.
fn listed(text: &str) -> Option<Vec<u32>> {
    let words = text
        .split(|character: char| !character.is_alphanumeric())
        .filter(|word| !word.is_empty());
    words.map(|word| word.parse().ok()).collect()
}
