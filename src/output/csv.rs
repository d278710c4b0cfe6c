//! The table for a spreadsheet: one row an angle, one column a number, a unit in each name.

use crate::angle::rounded;
use crate::phasing::{Phasing, Reading};
use crate::words::{is_unseen, joined, visible};

/// A text on one line that no spreadsheet takes for a formula: one that begins as a formula does, or
/// with a blank or an unseen mark that might be passed over before one, gets an apostrophe before it.
fn as_text(text: &str) -> String {
    let shown = visible(text);
    let begins_a_formula = |first: char| {
        matches!(
            first,
            '=' | '+' | '-' | '@' | '|' | '%' | '\u{ff1d}' | '\u{ff0b}' | '\u{ff0d}' | '\u{ff20}'
        ) || first.is_whitespace()
            || is_unseen(first)
    };
    if text.starts_with(begins_a_formula) {
        format!("'{shown}")
    } else {
        shown.into_owned()
    }
}

/// The whole table. Lengths are millimetres.
///
/// # Errors
/// Where the writer refuses a record; one in memory does not.
pub fn table(
    phasing: &Phasing,
    readings: impl Iterator<Item = Reading>,
) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header(phasing))?;
    for reading in readings {
        writer.write_record(row(phasing, &reading))?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn header(phasing: &Phasing) -> Vec<String> {
    let mut names: Vec<String> = [
        "engine",
        "crank_deg",
        "cam_deg",
        "on_compression",
        "next_firing_tdc_cylinder",
        "next_firing_tdc_in_deg",
        "next_spark_cylinder",
        "next_spark_in_deg",
        "rotor_clock_deg",
        "rotor_tower",
        "rotor_past_deg",
    ]
    .map(str::to_owned)
    .into();
    if phasing.engine().sparks_every_turn() {
        names.push("next_spark_wasted".to_owned());
    }
    for cylinder in phasing.cylinders() {
        let number = cylinder.number;
        names.extend(
            [
                "stroke",
                "phase_deg",
                "dead_centre",
                "piston_drop_mm",
                "intake_lift_mm",
                "exhaust_lift_mm",
                "intake_open",
                "exhaust_open",
                "sealed",
            ]
            .map(|name| format!("no_{number}_{name}")),
        );
    }
    names.extend(
        phasing
            .engine()
            .written()
            .marks
            .iter()
            .map(|mark| as_text(&format!("{} clock_deg", mark.name))),
    );
    let marks = phasing.engine().written().marks.iter();
    names.extend(
        marks
            .filter(|mark| mark.pointer_at().is_some())
            .map(|mark| as_text(&format!("{} past_pointer_deg", mark.name))),
    );
    if phasing.engine().has_several_camshafts() {
        let camshafts = phasing.engine().camshaft_names();
        names.extend(camshafts.map(|name| as_text(&format!("{name} camshaft_deg"))));
    }
    names
}

fn row(phasing: &Phasing, reading: &Reading) -> Vec<String> {
    let number = |value: f64| rounded(value).to_string();
    let compressing: Vec<u8> = reading.on_compression().collect();
    let mut row = vec![
        as_text(phasing.engine().name()),
        number(reading.crank.degrees()),
        number(reading.cam.degrees()),
        joined(&compressing, " "),
        reading.next_firing_tdc.cylinder.to_string(),
        number(reading.next_firing_tdc.after.degrees()),
        reading.next_spark.cylinder.to_string(),
        number(reading.next_spark.after.degrees()),
    ];
    match &reading.rotor {
        Some(rotor) => row.extend([
            number(rotor.clock.degrees()),
            rotor.tower.to_string(),
            number(rotor.past_deg),
        ]),
        None => row.extend([String::new(), String::new(), String::new()]),
    }
    if phasing.engine().sparks_every_turn() {
        row.push(reading.next_spark.wasted.to_string());
    }
    for cylinder in &reading.cylinders {
        row.extend([
            cylinder.stroke.word().to_owned(),
            number(cylinder.phase.degrees()),
            cylinder
                .dead_centre
                .map_or(String::new(), |dead_centre| dead_centre.key().to_owned()),
            number(cylinder.piston_drop_mm),
            number(cylinder.intake.lift_mm),
            number(cylinder.exhaust.lift_mm),
            cylinder.intake.open.to_string(),
            cylinder.exhaust.open.to_string(),
            cylinder.sealed().to_string(),
        ]);
    }
    row.extend(reading.marks.iter().map(|clock| number(clock.degrees())));
    let past_pointers =
        (0..reading.marks.len()).filter_map(|mark| phasing.past_pointer_deg(mark, reading));
    row.extend(past_pointers.map(number));
    if phasing.engine().has_several_camshafts() {
        row.extend(reading.cams.iter().map(|cam| number(cam.degrees())));
    }
    row
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_begins_like_a_formula_stays_text() {
        for name in [
            "=1+1",
            "+a",
            "-b",
            "@c",
            "|d",
            "%e",
            "\u{ff1d}f",
            "\u{ff0b}g",
            "\u{ff0d}h",
            "\u{ff20}i",
            " =j",
        ] {
            assert_eq!(as_text(name), format!("'{name}"));
        }
        assert_eq!(as_text("\n=a"), "'<U+000A>=a");
        assert_eq!(as_text("\t=a"), "'<U+0009>=a");
        assert_eq!(as_text("\r=a"), "'<U+000D>=a");
        assert_eq!(as_text("\u{feff}=a"), "'<U+FEFF>=a");
        assert_eq!(as_text("Bench four"), "Bench four");
    }
}
