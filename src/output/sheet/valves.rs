//! Setting the valves with the fewest turns of the crank.

use super::Absent;
use crate::drawing::{Anchor, Drawing, Pen, Role};
use crate::output::paper::{PLAIN_MM, SIDE_MM, Setting};
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, NeverFree, lash};
use crate::words;
use crate::words::degrees;
use glam::DVec2;

/// Sets the order.
pub(super) fn set(setting: &mut Setting, phasing: &Phasing) -> Result<(), Absent> {
    setting.start("Setting the valves");
    setting.paragraph(
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
        setting.heading(
            &format!(
                "Stop {}: crank at {}",
                index + 1,
                degrees(stop.crank.degrees())
            ),
            30.0,
        );
        let at = |dead_centre| -> Vec<u8> {
            reading
                .cylinders
                .iter()
                .filter(|cylinder| cylinder.dead_centre == Some(dead_centre))
                .map(|cylinder| cylinder.number)
                .collect()
        };
        let (firing, overlap) = (at(DeadCentre::FiringTdc), at(DeadCentre::OverlapTdc));
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
        setting.paragraph(&format!("{place}."), PLAIN_MM, false);
        for (name, numbers) in [("intake", &stop.intake), ("exhaust", &stop.exhaust)] {
            if !numbers.is_empty() {
                ticks(setting, name, numbers);
            }
        }
    }
    if !lash.never.is_empty() {
        let name = |never: &NeverFree| format!("No. {}'s {}", never.cylinder, never.valve.word());
        let names: Vec<String> = lash.never.iter().map(name).collect();
        setting.skip(2.0);
        setting.caution(&format!(
            "Never off its lobe by so much: {}. Ask the engine maker's manual how to set it.",
            names.join(", ")
        ));
    }
    Ok(())
}

/// A box for each valve, in a row or more.
fn ticks(setting: &mut Setting, name: &str, numbers: &[u8]) {
    let (left, apart, side) = (24.0, 18.0, 3.8);
    let many = ((setting.wide() - left) / apart).floor().max(1.0) as usize;
    for (line, numbers) in numbers.chunks(many).enumerate() {
        setting.keep(7.0);
        let y = setting.y() + 3.4;
        let page: &mut Drawing = setting.page();
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
        setting.skip(7.0);
    }
}
