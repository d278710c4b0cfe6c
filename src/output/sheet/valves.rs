//! Setting the valves with the fewest turns of the crank.

use glam::DVec2;

use crate::drawing::{Anchor, Drawing, Pen, Role};
use crate::output::paper::{PLAIN_MM, PageWriter, SIDE_MM};
use crate::output::text::at_dead_centre;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, NeverFree, lash};
use crate::words::{self, degrees};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    writer.start("Setting the valves");
    writer.paragraph(
        &format!(
            "Each valve is set while it is off its lobe by {} of crank at least on both sides. Turn in the running direction from stop to \
             stop; tick each valve as it is set. Take the gap itself, and whether it is set hot or cold, from the engine maker's manual.",
            degrees(DEFAULT_MARGIN_DEG)
        ),
        PLAIN_MM,
        false,
    );
    let lash = lash(phasing, DEFAULT_MARGIN_DEG);
    for (index, stop) in lash.stops.iter().enumerate() {
        let reading = phasing.at(stop.crank);
        writer.heading(
            &format!(
                "Stop {}: crank at {}",
                index + 1,
                degrees(stop.crank.degrees())
            ),
            30.0,
        );
        let [firing, overlap] = [DeadCentre::FiringTdc, DeadCentre::OverlapTdc]
            .map(|dead_centre| at_dead_centre(&reading, dead_centre));
        let mut place = format!(
            "{} past No. 1's TDC mark",
            degrees(stop.crank.by_the_mark())
        );
        if !firing.is_empty() {
            place += &format!("; {} at firing TDC", words::cylinders(&firing));
        }
        if !overlap.is_empty() {
            place += &format!("; {} on overlap", words::cylinders(&overlap));
        }
        writer.paragraph(&format!("{place}."), PLAIN_MM, false);
        for (name, numbers) in [("intake", &stop.intake), ("exhaust", &stop.exhaust)] {
            if !numbers.is_empty() {
                ticks(writer, name, numbers);
            }
        }
    }
    if !lash.never.is_empty() {
        let name = |never: &NeverFree| format!("No. {}'s {}", never.cylinder, never.valve.word());
        let names: Vec<String> = lash.never.iter().map(name).collect();
        writer.skip(2.0);
        writer.caution(&format!(
            "Never off its lobe by so much: {}. Ask the engine maker's manual how to set it.",
            names.join(", ")
        ));
    }
}

/// A box for each valve, in a row or more.
fn ticks(writer: &mut PageWriter, name: &str, numbers: &[u8]) {
    let (left, apart, side) = (24.0, 18.0, 3.8);
    let many = ((writer.wide() - left) / apart).floor().max(1.0) as usize;
    for (line, numbers) in numbers.chunks(many).enumerate() {
        writer.keep(7.0);
        let y = writer.y() + 3.4;
        let page: &mut Drawing = writer.page();
        if line == 0 {
            page.bold(
                DVec2::new(SIDE_MM, y),
                name,
                PLAIN_MM,
                Anchor::Start,
                Role::Main,
            );
        }
        for (index, number) in numbers.iter().enumerate() {
            let x = SIDE_MM + left + apart * index as f64;
            let from = DVec2::new(x, y - side / 2.0);
            page.rectangle(from, from + DVec2::splat(side), Pen::line(Role::Main, 0.35));
            page.text(
                DVec2::new(x + side + 1.6, y),
                format!("No. {number}"),
                PLAIN_MM,
                Anchor::Start,
                Role::Main,
            );
        }
        writer.skip(7.0);
    }
}
