//! Setting the valves with the fewest turns of the crank.

use crate::description::Adjusters;
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{BOX, Over, PLAIN_MM, PageWriter};
use crate::output::text::at_dead_centre;
use crate::phasing::{DeadCentre, Phasing};
use crate::procedures::lash::{DEFAULT_MARGIN_DEG, LashStop, NeverFree, lash};
use crate::procedures::valve_setting::{ValveSetting, past_zero_lash};
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
        gaps(writer, &setting, stop, engine.written().units);
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

/// A line for each valve: what is asked, what was found, what it was set to, and a box; with shims, the
/// shim that is in and the one that goes in.
fn gaps(writer: &mut PageWriter, setting: &ValveSetting, stop: &LashStop, units: Units) {
    let asked = |gap: Option<f64>| gap.map_or(String::new(), |mm| words::length(mm, units));
    let valves = [
        ("intake", &stop.intake, setting.intake_gap_mm),
        ("exhaust", &stop.exhaust, setting.exhaust_gap_mm),
    ];
    let row = |number: &u8, name: &str, gap: Option<f64>| {
        let mut row = vec![BOX.to_owned(), format!("No. {number} {name}")];
        match setting.adjusters {
            Adjusters::Hydraulic { preload_turns } => {
                row.extend([past_zero_lash(preload_turns), String::new()]);
            }
            Adjusters::Screw => row.extend([asked(gap), String::new(), String::new()]),
            Adjusters::Shim => {
                row.extend([asked(gap), String::new(), String::new(), String::new()]);
                row.push(String::new());
            }
        }
        row
    };
    let rows: Vec<Vec<String>> = valves
        .into_iter()
        .flat_map(|(name, numbers, gap)| numbers.iter().map(move |number| row(number, name, gap)))
        .collect();
    let heads: &[&str] = match setting.adjusters {
        Adjusters::Hydraulic { .. } => &["", "valve", "set", "done by"],
        Adjusters::Screw => &["", "valve", "gap asked", "gap found", "gap set"],
        Adjusters::Shim => &[
            "",
            "valve",
            "gap asked",
            "gap found",
            "shim in",
            "new shim",
            "gap then",
        ],
    };
    writer.table(heads, &rows);
}
