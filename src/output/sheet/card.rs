//! The timing card: the engine in one table.

use crate::description::Valve;
use crate::drawing::View as _;
use crate::drawing::lift_curves::LiftCurves;
use crate::laws::clearance::least_allowed_mm;
use crate::laws::gear_train::CamTeeth;
use crate::output::paper::{Over, PLAIN_MM, PageWriter};
use crate::output::text;
use crate::phasing::{ByTeeth, Phasing, ValveClearance};
use crate::words::{Units, advanced, from_nearest_tdc, length};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    writer.start("Timing card", Over::Turning);
    let engine = phasing.engine();
    let (d, units) = (engine.metric(), engine.written().units);
    let rotation = d.crankshaft.rotation();
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
    measured_lobes(writer, phasing);
    if !engine.written().notes.is_empty() {
        writer.heading("Notes", 6.0);
        writer.paragraph(&engine.written().notes, PLAIN_MM, false);
    }
}

/// The lobes as measured, where any was, with the points that were read and the card's own curve.
fn measured_lobes(writer: &mut PageWriter, phasing: &Phasing) {
    let is_measured = |valve| phasing.lobe(valve).as_measured().is_some();
    let Some(curves) =
        LiftCurves::new(phasing, 1).filter(|_| Valve::BOTH.into_iter().any(is_measured))
    else {
        return;
    };
    let drawing = curves.still();
    writer.heading(
        "Lift as measured, No. 1",
        drawing.size.y * CURVES_WIDE_MM / drawing.size.x + 4.0,
    );
    let says = "Lift over crank degrees of No. 1's intake and exhaust, as measured, with the points that were read and the card's own curve.";
    writer.draw(drawing, says, CURVES_WIDE_MM, 0.0);
}

/// How wide the lift curves are on paper.
const CURVES_WIDE_MM: f64 = 150.0;

/// Cam teeth out that have a row, either way.
const TEETH: i32 = 2;

fn clearances(writer: &mut PageWriter, phasing: &Phasing) {
    let units = phasing.engine().written().units;
    let (Some(least), Some(rows)) = (phasing.least_gaps(), phasing.least_gaps_by_teeth()) else {
        return;
    };
    // At the seat, where the file does not say at which lift its events are quoted: what is over
    // the page says that it is not known.
    let at_the_seat = matches!(
        phasing.valve_clearance(),
        ValveClearance::LiftNotStated { .. }
    );
    let taken = if at_the_seat {
        "Valve to piston, the events taken at the seat: not known"
    } else {
        "Valve to piston"
    };
    let cams = phasing.assembly().cams();
    let engine = phasing.engine();
    let count = engine.camshaft_count();
    // Camshafts that are not out alike have no row in a table of all moved together, and those that
    // are out beside another none in a table of one alone.
    let built = |cam_teeth: i32, has_row: bool| has_row.then_some(ByTeeth { cam_teeth, least });
    let alike = built(cams.of(0), cams == CamTeeth::alike(count, cams.of(0)));
    // The rows and what is said of them stand together.
    writer.heading(taken, writer.rows_height(2 * TEETH as usize + 4));
    let head = if engine.has_several_camshafts() {
        "every cam, teeth out"
    } else {
        "cam teeth out"
    };
    by_teeth(writer, units, head, rows, alike);
    let alone = engine.camshaft_names().enumerate();
    for (camshaft, name) in alone.filter(|_| engine.has_several_camshafts()) {
        let own = cams.of(camshaft);
        let is_alone = cams == CamTeeth::default().with(camshaft, own);
        let rows = phasing.least_gaps_by_teeth_of(camshaft).unwrap_or_default();
        writer.keep(writer.rows_height(2 * TEETH as usize + 4));
        let what = format!("The {name} alone, the others as drawn:");
        writer.paragraph(&what, PLAIN_MM, false);
        by_teeth(writer, units, "cam teeth out", rows, built(own, is_alone));
    }
    writer.paragraph(
        &format!(
            "{} the intake valve comes nearest {}, the exhaust {}, each in its own cylinder's cycle. Common practice: at least {} and {}.",
            if cams.are_right() { "As drawn" } else { "As built" },
            from_nearest_tdc(least.intake.crank.degrees(), 1),
            from_nearest_tdc(least.exhaust.crank.degrees(), 1),
            length(least_allowed_mm(Valve::Intake, units), units),
            length(least_allowed_mm(Valve::Exhaust, units), units)
        ),
        PLAIN_MM,
        false,
    );
}

/// A table of the least room for each few teeth out, and as built, where that has a row in it.
fn by_teeth(
    writer: &mut PageWriter,
    units: Units,
    head: &str,
    rows: Vec<ByTeeth>,
    built: Option<ByTeeth>,
) {
    let gap = |gap: f64, least: f64| match gap {
        gap if gap <= 0.0 => format!("they meet by {}", length(-gap, units)),
        gap if gap < least => format!("{}, too little", length(gap, units)),
        gap => length(gap, units),
    };
    let here = built.map(|built| built.cam_teeth);
    let beyond = built.filter(|built| rows.iter().all(|row| row.cam_teeth != built.cam_teeth));
    let mut rows: Vec<ByTeeth> = rows
        .into_iter()
        .filter(|row| row.cam_teeth.abs() <= TEETH || Some(row.cam_teeth) == here)
        .chain(beyond)
        .collect();
    rows.sort_by_key(|row| row.cam_teeth);
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|row| {
            let cam = match row.cam_teeth {
                0 => "as drawn".to_owned(),
                teeth if Some(teeth) == here => {
                    format!("{} {}, as built", teeth.abs(), advanced(teeth > 0))
                }
                teeth => format!("{} {}", teeth.abs(), advanced(teeth > 0)),
            };
            let least = |valve| least_allowed_mm(valve, units);
            vec![
                cam,
                gap(row.least.intake.gap_mm, least(Valve::Intake)),
                gap(row.least.exhaust.gap_mm, least(Valve::Exhaust)),
            ]
        })
        .collect();
    writer.table(
        &[head, "least at the intake", "least at the exhaust"],
        &rows,
    );
}
