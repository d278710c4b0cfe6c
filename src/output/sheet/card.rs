//! The timing card: the engine in one table.

use crate::angle::CrankTurn;
use crate::laws::clearance::{LEAST_EXHAUST_MM, LEAST_INTAKE_MM};
use crate::laws::gear_train;
use crate::output::paper::{PLAIN_MM, PageWriter};
use crate::output::text;
use crate::phasing::Phasing;
use crate::words::{advanced, degrees, length};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    writer.start("Timing card");
    let engine = phasing.engine();
    let (d, units) = (engine.metric(), engine.written().units);
    let rotation = d.crankshaft.rotation;
    writer.row(
        "crank",
        &format!(
            "turns {} seen from the front (the end away from the flywheel)",
            rotation.word()
        ),
    );
    writer.row(
        "bore and stroke",
        &format!(
            "{} × {}, rod {}",
            length(d.bore, units),
            length(d.crankshaft.stroke, units),
            length(d.rod_length, units)
        ),
    );
    for (name, value) in text::card_rows(phasing) {
        writer.row(name, &value);
    }
    if let Some(diameter) = d.pulley_diameter {
        let per_degree = std::f64::consts::PI * diameter / 360.0;
        writer.row(
            "on the pulley",
            &format!(
                "{} across: 10° is {} round its rim",
                length(diameter, units),
                length(10.0 * per_degree, units)
            ),
        );
    }
    clearances(writer, phasing);
    if !engine.written().notes.is_empty() {
        writer.heading("Notes", 6.0);
        writer.paragraph(&engine.written().notes, PLAIN_MM, false);
    }
}

fn clearances(writer: &mut PageWriter, phasing: &Phasing) {
    let units = phasing.engine().written().units;
    let Some(least) = phasing.least_gaps(CrankTurn::new(0.0)) else {
        return;
    };
    writer.heading("Valve to piston", 20.0);
    let tooth = gear_train::crank_per_cam_tooth(&phasing.engine().metric().cam_drive);
    let rows: Vec<Vec<String>> = (-2_i32..=2)
        .filter_map(|teeth| {
            phasing
                .least_gaps(tooth * f64::from(teeth))
                .map(|gaps| (teeth, gaps))
        })
        .map(|(teeth, gaps)| {
            let cam = match teeth {
                0 => "as it stands".to_owned(),
                _ => format!("{} {}", teeth.abs(), advanced(teeth > 0)),
            };
            let gap = |gap: f64, least: f64| match gap {
                gap if gap <= 0.0 => "they meet".to_owned(),
                gap if gap < least => format!("{}, too little", length(gap, units)),
                gap => length(gap, units),
            };
            vec![
                cam,
                gap(gaps.intake.gap_mm, LEAST_INTAKE_MM),
                gap(gaps.exhaust.gap_mm, LEAST_EXHAUST_MM),
            ]
        })
        .collect();
    writer.table(
        &[
            "cam teeth out",
            "least at the intake",
            "least at the exhaust",
        ],
        &rows,
    );
    writer.paragraph(
        &format!(
            "As it stands the intake valve comes nearest at {} of No. 1's crank, the exhaust at {}. Common practice: at least {} and {}.",
            degrees(least.intake.crank.degrees()),
            degrees(least.exhaust.crank.degrees()),
            length(LEAST_INTAKE_MM, units),
            length(LEAST_EXHAUST_MM, units)
        ),
        PLAIN_MM,
        false,
    );
}
