//! Setting the valves with the fewest turns of the crank.

use glam::DVec2;

use crate::description::Adjusters;
use crate::drawing::{Anchor, Drawing, Pen, Role};
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{Over, PLAIN_MM, PageWriter, SIDE_MM};
use crate::output::text::at_dead_centre;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, LashStop, NeverFree, lash};
use crate::procedures::valve_setting::ValveSetting;
use crate::words::{self, Units, degrees};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing) {
    writer.start("Setting the valves", Over::Turning);
    if let Some(first) = instead_of_steps(phasing) {
        writer.paragraph(&first, PLAIN_MM, true);
        return;
    }
    let engine = phasing.engine();
    let setting = ValveSetting::of(engine);
    writer.paragraph(
        &format!(
            "Each valve is set while it is off its lobe by {} of crank at least on both sides. Turn in the running direction from stop to \
             stop; {} {}",
            degrees(DEFAULT_MARGIN_DEG),
            if setting.adjusters == Adjusters::Shim {
                "write down each gap as it is found."
            } else {
                "tick each valve as it is set."
            },
            setting.asked(engine)
        ),
        PLAIN_MM,
        false,
    );
    writer.paragraph(&setting.how(engine), PLAIN_MM, false);
    writer.skip(2.0);
    writer.caution(setting.caution());
    let lash = lash(phasing, DEFAULT_MARGIN_DEG);
    let by_shims = setting.adjusters == Adjusters::Shim;
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
        let mut place = words::capitalised(&words::by_the_tdc_mark(stop.crank.by_the_mark()));
        if !firing.is_empty() {
            place += &format!("; {} at firing TDC", words::cylinders(&firing));
        }
        if !overlap.is_empty() {
            place += &format!("; {} on overlap", words::cylinders(&overlap));
        }
        writer.paragraph(&format!("{place}."), PLAIN_MM, false);
        if by_shims {
            shims(writer, &setting, stop, engine.written().units);
            continue;
        }
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

/// A line for each valve, with room for what was found and for the shims.
fn shims(writer: &mut PageWriter, setting: &ValveSetting, stop: &LashStop, units: Units) {
    let asked = |gap: Option<f64>| gap.map_or(String::new(), |mm| words::length(mm, units));
    let valves = [
        ("intake", &stop.intake, setting.intake_gap_mm),
        ("exhaust", &stop.exhaust, setting.exhaust_gap_mm),
    ];
    let rows: Vec<Vec<String>> = valves
        .into_iter()
        .flat_map(|(name, numbers, gap)| {
            numbers.iter().map(move |number| {
                let blank = String::new;
                vec![
                    format!("No. {number} {name}"),
                    blank(),
                    asked(gap),
                    blank(),
                    blank(),
                ]
            })
        })
        .collect();
    writer.table(
        &["valve", "gap found", "gap asked", "shim in", "new shim"],
        &rows,
    );
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
