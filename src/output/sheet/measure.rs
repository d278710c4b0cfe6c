//! What is measured before anything is built on it: TDC by the stop, and the camshaft as it is
//! specified beside as it is measured. Blanks for the pencil, filled as far as a build file says.

use std::collections::BTreeMap;

use glam::DVec2;

use crate::angle::wrap_signed;
use crate::description::{Valve, job_steps as keys};
use crate::drawing::{Anchor, Drawing, Pen, Role, on_clock};
use crate::laws::Lobe;
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{Over, PLAIN_MM, PageWriter, is_said_over_the_page};
use crate::phasing::Phasing;
use crate::procedures::job::{Job, Progress, Step, reckon};
use crate::words::{Units, degrees, length, number};

/// What was read at a step; nothing where there is no build file.
fn readings(progress: Option<&Progress>, step: &Step) -> BTreeMap<String, f64> {
    let entry = progress.and_then(|progress| progress.entry(step));
    entry
        .map(|entry| entry.readings.clone())
        .unwrap_or_default()
}

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing, progress: Option<&Progress>) {
    writer.start("Measuring", Over::Turning);
    if let Some(first) = instead_of_steps(phasing) {
        writer.paragraph(&first, PLAIN_MM, true);
        return;
    }
    let job = Job::of(phasing);
    if let Some(step) = job.step(keys::TDC_STOP.key) {
        by_the_stop(writer, phasing, step, &readings(progress, step));
    }
    if let Some(step) = job.step(keys::CAM_DEGREED.key) {
        camshaft(writer, phasing, step, &readings(progress, step));
    }
}

/// The caution of a step, before what to do.
fn how(writer: &mut PageWriter, step: &Step) {
    let caution = step
        .caution
        .filter(|caution| !is_said_over_the_page(caution));
    if let Some(caution) = caution {
        writer.caution(caution);
        writer.skip(0.8);
    }
    writer.paragraph(&step.action, PLAIN_MM, false);
    writer.skip(1.0);
}

fn by_the_stop(
    writer: &mut PageWriter,
    phasing: &Phasing,
    step: &Step,
    readings: &BTreeMap<String, f64>,
) {
    writer.heading("True TDC, by the stop", 60.0);
    how(writer, step);
    writer.draw(
        &stop_drawing(phasing),
        "The degree wheel with the two readings at the stop, a and b, one each side of the pointer, and true TDC midway between them.",
        92.0,
        142.0,
    );
    let filled = |name: &str| readings.get(name).map(|reading| number(*reading, 2));
    let is_filled = !readings.is_empty();
    for blank in &step.write_down {
        let what = format!("{}: {}", blank.name, blank.what);
        writer.blank(&what, "°", filled(blank.name).as_deref(), 0.0);
    }
    if let Some(reckoned) = reckon(step, phasing, readings) {
        for words in &reckoned.words {
            writer.paragraph(words, PLAIN_MM, true);
        }
    }
    if !is_filled {
        writer.blank(
            "(a + b) ÷ 2, readings before 0 taken as negative: the wheel at true TDC",
            "°",
            None,
            0.0,
        );
        writer.blanks(
            &[
                "wheel moved by that: a again",
                "b again, as far the other way",
            ]
            .map(str::to_owned),
        );
    }
    if phasing.engine().metric().pin_offset() != 0.0 {
        writer.paragraph(
            "The gudgeon pin is offset, so midway is not quite TDC: `dotwise tdc --stop A B ENGINE` takes that off.",
            PLAIN_MM,
            false,
        );
    }
}

/// The wheel at the stop, read each way.
fn stop_drawing(phasing: &Phasing) -> Drawing {
    const STOP_DEG: f64 = 42.0;
    let (centre, radius) = (DVec2::new(50.0, 46.0), 34.0);
    let mut drawing = Drawing::new("True TDC by the stop", 100.0, 50.0);
    let line = |role, width| Pen::line(role, width);
    drawing.arc(centre, radius, -78.0, 156.0, line(Role::Main, 0.4));
    for degree in (-75..=75_i32).step_by(5) {
        let long = if degree % 15 == 0 { 3.4 } else { 2.0 };
        let at = f64::from(degree);
        drawing.line(
            on_clock(centre, radius, at),
            on_clock(centre, radius - long, at),
            line(Role::Main, 0.2),
        );
    }
    for (name, at) in [("a", -STOP_DEG), ("b", STOP_DEG)] {
        drawing.line(
            on_clock(centre, radius - 9.0, at),
            on_clock(centre, radius + 3.0, at),
            line(Role::Main, 0.7),
        );
        let label = on_clock(centre, radius + 6.4, at);
        drawing.bold(label, name, 4.4, Anchor::Middle, Role::Main);
    }
    drawing.line(
        on_clock(centre, radius - 12.0, 0.0),
        on_clock(centre, radius + 3.0, 0.0),
        line(Role::Main, 0.7).dashed(),
    );
    let top = on_clock(centre, radius + 6.4, 0.0);
    drawing.bold(top, "true TDC, midway", 3.4, Anchor::Middle, Role::Main);
    for way in [-1.0, 1.0] {
        let sweep = way * (STOP_DEG - 5.0);
        drawing.turning_arrow(
            centre,
            radius - 15.0,
            way * 2.5,
            sweep,
            line(Role::Main, 0.3),
        );
        let middle = on_clock(centre, radius - 20.5, way * STOP_DEG / 2.0);
        drawing.text(middle, "half", 3.0, Anchor::Middle, Role::Main);
    }
    let turns = phasing.engine().metric().crankshaft.rotation().word();
    let words = format!("seen from the front; the crank runs {turns}");
    drawing.text(
        DVec2::new(50.0, 45.0),
        words,
        3.0,
        Anchor::Middle,
        Role::Main,
    );
    drawing
}

fn filled_lift(read_mm: Option<f64>, units: Units) -> String {
    read_mm.map_or(String::new(), |mm| length(mm, units))
}

/// Where in its cylinder's cycle a lobe comes to a lift and where it is back at it; None where it never
/// lifts so far.
fn at_lift(lobe: &Lobe, lift_mm: f64) -> Option<(f64, f64)> {
    let middle = lobe.middle_deg();
    if lobe.lift_mm(middle) <= lift_mm {
        return None;
    }
    let to = |far: f64| {
        let (mut under, mut over) = (far, middle);
        for _ in 0..50 {
            let between = f64::midpoint(under, over);
            if lobe.lift_mm(between) < lift_mm {
                under = between;
            } else {
                over = between;
            }
        }
        over
    };
    let half = lobe.seat_duration_deg() / 2.0 + 1.0;
    Some((to(middle - half), to(middle + half)))
}

fn camshaft(
    writer: &mut PageWriter,
    phasing: &Phasing,
    step: &Step,
    readings: &BTreeMap<String, f64>,
) {
    let units = phasing.engine().written().units;
    let drawn = Phasing::as_drawn(phasing.engine());
    writer.heading("The camshaft, as specified beside as measured", 60.0);
    how(writer, step);
    let filled = |name: &str| match readings.get(name) {
        Some(reading) => degrees(*reading),
        None => String::new(),
    };
    let ratio = drawn.engine().metric().valves.ratio();
    let read_mm = readings.get("lift").map(|lift| lift * units.millimetres());
    const WHAT: [&str; 6] = [
        "read at a lift of",
        "comes to it",
        "is back at it",
        "is over it for",
        "lobe centre",
        "full lift",
    ];
    let mut rows: Vec<Vec<String>> = WHAT.iter().map(|what| vec![(*what).to_owned()]).collect();
    let mut centres = [0.0; 2];
    for (valve, centre) in Valve::BOTH.into_iter().zip(&mut centres) {
        let lobe = drawn.lobe(valve);
        let name = valve.word();
        // Near the seat a valve moves too slowly to be read.
        let quoted_mm = Some(lobe.quoted_at_mm() / ratio).filter(|mm| *mm > 0.0);
        let lift_mm = read_mm.or(quoted_mm).unwrap_or(match units {
            Units::Millimetres => 1.0,
            Units::Inches => 1.27,
        });
        let ahead = drawn.number_one_ahead(valve).degrees();
        let events = at_lift(lobe, lift_mm * ratio).map(|(opens, closes)| {
            [opens, closes].map(|phase| wrap_signed(phase - ahead - 360.0, 720.0))
        });
        let told = |of: &dyn Fn([f64; 2]) -> f64| {
            events.map_or("never so far".to_owned(), |events| degrees(of(events)))
        };
        *centre = events.map_or(0.0, |[opens, closes]| f64::midpoint(opens, closes));
        let cells = [
            (length(lift_mm, units), filled_lift(read_mm, units)),
            (told(&|[opens, _]| opens), filled(&format!("{name}-opens"))),
            (
                told(&|[_, closes]| closes),
                filled(&format!("{name}-closes")),
            ),
            (told(&|[opens, closes]| closes - opens), String::new()),
            (
                told(&|[opens, closes]| f64::midpoint(opens, closes)),
                String::new(),
            ),
            (length(lobe.full_lift_mm() / ratio, units), String::new()),
        ];
        for (row, (specified, measured)) in rows.iter_mut().zip(cells) {
            row.extend([specified, measured]);
        }
    }
    let [intake, exhaust] = centres;
    let separation = degrees((intake - exhaust) / 2.0);
    let blank = String::new;
    rows.push(vec![
        "separation, of cam".to_owned(),
        separation,
        blank(),
        blank(),
        blank(),
    ]);
    let place = if drawn.engine().metric().valves.is_at_tappet() {
        "tappet"
    } else {
        "valve"
    };
    writer.paragraph(
        &format!(
            "Lifts are at the {place}. Degrees are the crank's, from No. 1's overlap TDC, negative before it. The centre is midway between \
             where it comes to the lift and where it is back at it."
        ),
        PLAIN_MM,
        false,
    );
    let heads = [
        "No. 1",
        "intake as specified",
        "as measured",
        "exhaust as specified",
        "as measured",
    ];
    writer.table(&heads, &rows);
    if let Some(reckoned) = reckon(step, phasing, readings) {
        for words in &reckoned.words {
            writer.paragraph(words, PLAIN_MM, true);
        }
    } else {
        let blanks = ["teeth out, and which way", "degreed by", "date"];
        writer.blanks(&blanks.map(str::to_owned));
    }
}
