//! Lobes as they were read, over those of the card.

use crate::description::Valve;
use crate::drawing::Drawing;
use crate::drawing::lift_curves::read_lobes;
use crate::engine::Subject;
use crate::output::paper::{Over, PLAIN_MM, PageWriter, Paper};
use crate::phasing::Phasing;
use crate::procedures::read_lobes::ReadLobes;
use crate::words::{capitalised, degrees, from_nearest_tdc, length};

/// What the page speaks of.
pub const SUBJECTS: &[Subject] = &[Subject::Valves, Subject::Play];

/// How wide the curves are on paper.
const CURVES_MM: f64 = 175.0;

/// The page: what the readings come to, the curves, and how far each lobe is from its card.
pub fn lobes(phasing: &Phasing, read: &ReadLobes, comes_to: &str, paper: Paper) -> Vec<Drawing> {
    let engine = phasing.engine();
    let units = engine.written().units;
    let mut writer = PageWriter::new(phasing, paper);
    writer.start("Lobes as read", Over::Turning);
    writer.paragraph(comes_to, PLAIN_MM, true);
    let place = if engine.metric().valves.is_at_tappet() {
        "at the tappet"
    } else {
        "at the valve"
    };
    writer.paragraph(
        &format!(
            "Lifts are those of No. 1 {place}, in mm, without lash; the card's lobes stand as drawn. A line with a ring at both ends \
             marks where a lobe is farthest from its card."
        ),
        PLAIN_MM,
        false,
    );
    writer.skip(2.0);
    let says = "Lift over crank degrees of No. 1's intake and exhaust as they were read, over those of the card.";
    writer.draw(&read_lobes(phasing, read), says, CURVES_MM, 60.0);
    for valve in Valve::BOTH {
        let Some(figures) = read.figures(engine, valve) else {
            continue;
        };
        let from = figures.from_card;
        let way = if from.more_mm < 0.0 { "less" } else { "more" };
        let side = match valve {
            Valve::Intake => "after",
            Valve::Exhaust => "before",
        };
        writer.row(
            valve.word(),
            &format!(
                "{} {way} than its card at most, {}",
                length(from.more_mm.abs(), units),
                from_nearest_tdc(from.phase_deg, 1)
            ),
        );
        writer.row(
            &format!("{} centre", valve.word()),
            &format!("{} {side} overlap TDC", degrees(figures.centre_deg)),
        );
        writer.row(
            &format!("{} full lift", valve.word()),
            &format!(
                "{}, off its seat for {}",
                length(figures.full_lift_mm, units),
                degrees(figures.seat_duration_deg)
            ),
        );
    }
    for doubtful in read.doubtful() {
        let word = capitalised(doubtful.valve.word());
        let line = format!(
            "{word} lift on line {}, {}, is left out: it looks mistyped. Read it again.",
            doubtful.line,
            from_nearest_tdc(doubtful.phase_deg, 1)
        );
        writer.paragraph(&line, PLAIN_MM, false);
    }
    writer.rests_on(SUBJECTS);
    writer.finish()
}
