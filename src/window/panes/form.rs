//! One field of the description after another: its words, its value with unit and range, and under
//! it what was found wrong there.
//!
//! A [`Form`] goes down a panel with the findings in hand. Each field is known by its place in the
//! file; from the place come the range and the unit ([`bounds`]) and the findings. The last place
//! that was changed is the form's answer.

use std::ops::RangeInclusive;

use egui::{ComboBox, DragValue, Id, Response, RichText, TextEdit, Ui, WidgetText, vec2};

use crate::description::fields;
use crate::description::fields::{Bound, Unit};
use crate::drawing::Role;
use crate::source::{Finding, Severity};
use crate::window::app::theme::Palette;
use crate::words::Units;

/// Goes down the fields of a description.
pub struct Form<'a> {
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
    pub fn new(units: Units, findings: &'a [Finding]) -> Self {
        Self {
            units,
            findings,
            sought: String::new(),
            changed: None,
        }
    }

    /// Shows only fields whose words hold `sought`.
    #[must_use]
    pub fn seeking(self, sought: &str) -> Self {
        Self {
            sought: sought.trim().to_lowercase(),
            ..self
        }
    }

    /// Whether all fields are shown, and none sought.
    pub fn shows_all(&self) -> bool {
        self.sought.is_empty()
    }

    fn shows(&self, words: &str) -> bool {
        self.sought.is_empty() || words.to_lowercase().contains(&self.sought)
    }

    /// Words between fields, left out where one field is sought.
    pub fn words(&self, ui: &mut Ui, words: &str) {
        if self.shows_all() {
            ui.add(egui::Label::new(words).wrap());
        }
    }

    /// A part of the description that can be folded away.
    pub fn part(&mut self, ui: &mut Ui, title: &str, add: impl FnOnce(&mut Ui, &mut Self)) {
        if self.shows_all() {
            super::widgets::section(ui, title, |ui| add(ui, self));
        } else {
            add(ui, self);
        }
    }

    /// Whether something is there at all. True where that was changed.
    pub fn whether(&mut self, ui: &mut Ui, words: &str, place: &str, is: &mut bool) -> bool {
        let changed = self.shows(words) && ui.checkbox(is, words).changed();
        self.note_if(changed, place);
        changed
    }

    /// The place that was changed last, if any.
    pub fn changed(self) -> Option<String> {
        self.changed
    }

    /// Notes a change that no field made.
    pub fn note(&mut self, place: &str) {
        self.changed = Some(place.to_owned());
    }

    fn note_if(&mut self, changed: bool, place: &str) {
        if changed {
            self.note(place);
        }
    }

    /// A row: words, then a field that is labelled by them, then what was found there.
    fn row(
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
    pub fn found(&self, ui: &mut Ui, place: &str) {
        for finding in self
            .findings
            .iter()
            .filter(|finding| belongs(finding, place))
        {
            finding_shown(ui, finding);
        }
    }

    /// A number.
    pub fn number(&mut self, ui: &mut Ui, words: &str, place: &str, value: &mut f64) {
        let units = self.units;
        self.row(ui, words, place, |ui| {
            with_change(number_field(ui, place, units, value))
        });
    }

    /// A whole number of teeth.
    pub fn teeth(&mut self, ui: &mut Ui, words: &str, place: &str, value: &mut u32) {
        self.row(ui, words, place, |ui| {
            with_change(teeth_field(ui, place, value))
        });
    }

    /// A number that need not be given; `usual` is what it starts at.
    pub fn optional(
        &mut self,
        ui: &mut Ui,
        words: &str,
        place: &str,
        value: &mut Option<f64>,
        usual: f64,
    ) {
        let units = self.units;
        self.row(ui, words, place, |ui| {
            let mut given = value.is_some();
            let mut response = ui
                .checkbox(&mut given, "")
                .on_hover_text("Whether it is given at all");
            response.widget_info(|| {
                egui::WidgetInfo::selected(
                    egui::WidgetType::Checkbox,
                    true,
                    given,
                    format!("{words}: given"),
                )
            });
            if response.changed() {
                *value = given.then_some(usual);
            }
            match value {
                Some(value) => response |= number_field(ui, place, units, value),
                None => {
                    ui.weak("not given");
                }
            }
            with_change(response)
        });
    }

    /// One of a few words.
    pub fn choice<T: Copy + PartialEq>(
        &mut self,
        ui: &mut Ui,
        words: &str,
        place: &str,
        value: &mut T,
        choices: &[(T, &str)],
    ) {
        self.row(ui, words, place, |ui| {
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

    /// A line of text.
    pub fn text(&mut self, ui: &mut Ui, words: &str, place: &str, value: &mut String) {
        self.row(ui, words, place, |ui| {
            with_change(ui.add(TextEdit::singleline(value).desired_width(f32::INFINITY)))
        });
    }

    /// Text over several lines.
    pub fn lines(&mut self, ui: &mut Ui, words: &str, place: &str, value: &mut String) {
        self.row(ui, words, place, |ui| {
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
    pub fn numbers(
        &mut self,
        ui: &mut Ui,
        words: &str,
        place: &str,
        value: &mut Vec<u32>,
        between: &str,
    ) {
        self.row(ui, words, place, |ui| {
            let plain = value
                .iter()
                .map(u32::to_string)
                .collect::<Vec<_>>()
                .join(between);
            list_field(ui, place, plain, |text| {
                let read = listed(text)?;
                (read != *value).then(|| *value = read)
            })
        });
    }

    /// A bare number field for a row made by hand, named for those who cannot see it.
    pub fn cell(&mut self, ui: &mut Ui, name: &str, place: &str, value: &mut f64) {
        let response = number_field(ui, place, self.units, value);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::DragValue, true, name));
        self.note_if(response.changed(), place);
    }

    /// A bare teeth field for a row made by hand.
    pub fn teeth_cell(&mut self, ui: &mut Ui, name: &str, place: &str, value: &mut u32) {
        let response = teeth_field(ui, place, value);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::DragValue, true, name));
        self.note_if(response.changed(), place);
    }

    /// A bare line of text for a row made by hand.
    pub fn text_cell(
        &mut self,
        ui: &mut Ui,
        name: &str,
        place: &str,
        value: &mut String,
        wide: f32,
    ) {
        let response = ui.add(
            TextEdit::singleline(value)
                .desired_width(wide)
                .hint_text(name),
        );
        self.note_if(response.changed(), place);
    }

    /// A bare list of numbers for a row made by hand.
    pub fn numbers_cell(
        &mut self,
        ui: &mut Ui,
        name: &str,
        place: &str,
        value: &mut Vec<u32>,
        wide: f32,
    ) {
        let plain = value
            .iter()
            .map(u32::to_string)
            .collect::<Vec<_>>()
            .join(", ");
        ui.scope(|ui| {
            ui.set_max_width(wide);
            let (response, changed) = list_field(ui, place, plain, |text| {
                let read = listed(text)?;
                (read != *value).then(|| *value = read)
            });
            response
                .widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::TextEdit, true, name));
            self.note_if(changed, place);
        });
    }

    /// The rows of a list: `show` draws one; each can be taken out, and one can be added at the
    /// end, copied by `fresh` from the last.
    pub fn rows<T>(
        &mut self,
        ui: &mut Ui,
        place: &str,
        what: &str,
        rows: &mut Vec<T>,
        mut show: impl FnMut(&mut Self, &mut Ui, &str, &mut T),
        fresh: impl FnOnce(Option<&T>) -> T,
    ) {
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
            for finding in self
                .findings
                .iter()
                .filter(|finding| inside(&finding.place, &here))
            {
                finding_shown(ui, finding);
            }
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
    pub fn found_only(&self, ui: &mut Ui, place: &str) {
        if !self.shows_all() {
            return;
        }
        for finding in self
            .findings
            .iter()
            .filter(|finding| finding.place == place)
        {
            finding_shown(ui, finding);
        }
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

/// A finding, with why it matters and what would mend it.
pub fn finding_shown(ui: &mut Ui, finding: &Finding) {
    let word = match finding.severity {
        Severity::Error => "Wrong",
        Severity::Warning => "Look again",
    };
    let ink = ink(ui, finding.severity);
    let text = format!("{word}: {}.", finding.message);
    ui.add(egui::Label::new(RichText::new(text).color(ink)).wrap())
        .on_hover_text(format!("Why: {}.", finding.why));
    ui.add(egui::Label::new(RichText::new(format!("Mend: {}.", finding.mend)).small()).wrap());
}

/// How far a drag of one point moves a number.
fn speed(bound: Option<&Bound>, units: Units) -> f64 {
    match bound.map(|bound| bound.unit) {
        Some(Unit::Length) if units == Units::Inches => 0.002,
        Some(Unit::Length) => 0.05,
        Some(Unit::Rpm) => 10.0,
        Some(Unit::Kilopascals | Unit::Torque) => 0.2,
        Some(Unit::Teeth | Unit::Count) => 0.1,
        Some(Unit::Degrees) | None => 0.25,
    }
}

fn range(bound: Option<&Bound>, units: Units) -> RangeInclusive<f64> {
    bound.map_or(f64::MIN..=f64::MAX, |bound| {
        bound.least_in(units)..=bound.most_in(units)
    })
}

fn hover(bound: Option<&Bound>, units: Units) -> WidgetText {
    bound.map_or_else(WidgetText::default, |bound| {
        let (least, most, unit) = (
            bound.least_in(units),
            bound.most_in(units),
            bound.suffix(units),
        );
        let places = if units == Units::Inches && bound.unit == Unit::Length {
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
            "{}: {} to {}{unit}. Drag, or click and type.",
            bound.what,
            short(least),
            short(most)
        )
        .into()
    })
}

fn number_field(ui: &mut Ui, place: &str, units: Units, value: &mut f64) -> Response {
    let bound = fields::bound_of(place);
    let suffix = bound.map_or("", |bound| bound.suffix(units));
    let places = if units == Units::Inches { 4 } else { 3 };
    let field = DragValue::new(value)
        .speed(speed(bound, units))
        .range(range(bound, units))
        .clamp_existing_to_range(false);
    ui.push_id(place, |ui| {
        ui.add(field.suffix(suffix).max_decimals(places))
    })
    .inner
    .on_hover_text(hover(bound, units))
}

fn teeth_field(ui: &mut Ui, place: &str, value: &mut u32) -> Response {
    let bound = fields::bound_of(place);
    let range = bound.map_or(0..=u32::MAX, |bound| bound.least as u32..=bound.most as u32);
    let suffix = bound.map_or("", |bound| bound.suffix(Units::Millimetres));
    let field = DragValue::new(value)
        .speed(0.1)
        .range(range)
        .clamp_existing_to_range(false)
        .suffix(suffix);
    ui.push_id(place, |ui| ui.add(field))
        .inner
        .on_hover_text(hover(bound, Units::Millimetres))
}

/// A text that stands for a list. While it is being typed it stays as typed; `take` reads it and
/// answers whether that changed anything.
fn list_field(
    ui: &mut Ui,
    place: &str,
    plain: String,
    take: impl FnOnce(&str) -> Option<()>,
) -> (Response, bool) {
    let id = Id::new(("list being typed", place));
    let mut text = ui
        .data(|data| data.get_temp::<String>(id))
        .unwrap_or_else(|| plain.clone());
    let response = ui.add(
        TextEdit::singleline(&mut text)
            .id_salt(place)
            .desired_width(f32::INFINITY),
    );
    let took = response.changed() && take(&text).is_some();
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, text));
    } else {
        ui.data_mut(|data| data.remove::<String>(id));
    }
    (response, took)
}

/// Whole numbers, whatever stands between them; None where something else stands there.
pub fn listed(text: &str) -> Option<Vec<u32>> {
    let words = text
        .split(|character: char| !character.is_alphanumeric())
        .filter(|word| !word.is_empty());
    words.map(|word| word.parse().ok()).collect()
}
