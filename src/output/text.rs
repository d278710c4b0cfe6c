//! Readings, tables and cards for a person at a terminal of 80 columns.

use std::fmt::Write as _;

use super::terminal::TerminalStyle;
use crate::laws::ValveReading;
use crate::phasing::{Card, CylinderReading, DeadCentre, Phasing, Reading};
use crate::words::COLUMNS;
use crate::words::Units;
use crate::words::cylinders;
use crate::words::degrees;
use crate::words::folded;
use crate::words::length;

/// Where the engine stands, in words: `No. 1 at TDC, end of compression (firing). No. 3 next, in
/// 180°.`
pub fn stands(reading: &Reading) -> String {
    let at = |dead_centre| -> Vec<u8> {
        reading
            .cylinders
            .iter()
            .filter(|cylinder| cylinder.dead_centre == Some(dead_centre))
            .map(|cylinder| cylinder.number)
            .collect()
    };
    let (firing, overlap) = (at(DeadCentre::FiringTdc), at(DeadCentre::OverlapTdc));
    let next = reading.next_firing_tdc;
    let next = format!(
        "No. {} next, in {}.",
        next.cylinder,
        degrees(next.after.degrees())
    );
    let compressing: Vec<u8> = reading
        .on_compression()
        .filter(|number| !firing.contains(number))
        .collect();
    if !firing.is_empty() {
        // Within half a degree before its TDC, the next to fire is the one that stands there.
        let rest = reading.next_firing_tdc.after.degrees() < crate::phasing::DEAD_CENTRE_WITHIN_DEG;
        let next = if rest {
            "It is not quite there yet.".to_owned()
        } else {
            next
        };
        format!(
            "{} at TDC, end of compression (firing). {next}",
            cylinders(&firing)
        )
    } else if !overlap.is_empty() {
        format!(
            "{} at TDC on overlap, not firing. {next}",
            cylinders(&overlap)
        )
    } else if compressing.is_empty() {
        format!("No cylinder on compression. {next}")
    } else {
        let coming = reading.next_firing_tdc;
        match compressing.as_slice() {
            [one] if *one == coming.cylinder => {
                format!(
                    "No. {one} on compression, at TDC (firing) in {}.",
                    degrees(coming.after.degrees())
                )
            }
            _ => format!(
                "{} on compression. At TDC (firing): {next}",
                cylinders(&compressing)
            ),
        }
    }
}

/// A valve in a word and a number.
pub fn valve(valve: ValveReading, units: Units) -> String {
    if valve.open {
        format!("open {}", length(valve.lift_mm, units))
    } else if valve.lift_mm > 0.0 {
        format!("shut ({})", length(valve.lift_mm, units))
    } else {
        "shut".into()
    }
}

/// Where a cylinder's piston stands in its stroke: `TDC firing`, `57° before TDC`.
pub fn piston(cylinder: &CylinderReading) -> String {
    let phase = cylinder.phase.degrees();
    match cylinder.dead_centre {
        Some(dead_centre) => dead_centre.word().into(),
        None if phase < 180.0 => format!("{} after firing TDC", degrees(phase)),
        None if phase < 360.0 => format!("{} before overlap TDC", degrees(360.0 - phase)),
        None if phase < 540.0 => format!("{} after overlap TDC", degrees(phase - 360.0)),
        None => format!("{} before firing TDC", degrees(720.0 - phase)),
    }
}

/// The rotor in words; None without a distributor.
pub fn rotor(reading: &Reading) -> Option<String> {
    let rotor = reading.rotor?;
    let past = rotor.past_deg;
    let place = if past.abs() < 0.005 {
        format!("on the tower of No. {}", rotor.tower)
    } else {
        let side = if past > 0.0 { "past" } else { "short of" };
        format!(
            "{} {side} the tower of No. {}",
            degrees(past.abs()),
            rotor.tower
        )
    };
    Some(format!(
        "rotor at {} on the cap, {place}",
        degrees(rotor.clock.degrees())
    ))
}

/// A whole reading.
pub fn reading(phasing: &Phasing, reading: &Reading, style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = String::new();
    let _ = writeln!(out, "{}", style.strong(&stands(reading)));
    let crank = format!(
        "{}: crank {}, cam {}",
        phasing.engine().name(),
        degrees(reading.crank.degrees()),
        degrees(reading.cam.degrees())
    );
    let _ = writeln!(out, "{}", style.faint(&crank));
    let _ = writeln!(
        out,
        "{}",
        style.faint(
            "No.  stroke       piston                       down       intake       exhaust"
        )
    );
    for cylinder in &reading.cylinders {
        let down = length(cylinder.piston_drop_mm, units);
        let (intake, exhaust) = (
            valve(cylinder.intake, units),
            valve(cylinder.exhaust, units),
        );
        let word = style.stroke(cylinder.stroke, &format!("{:<12}", cylinder.stroke.word()));
        let line = format!(
            "{:>3}  {word} {:<25} {down:>11}  {intake:<14} {exhaust}",
            cylinder.number,
            piston(cylinder)
        );
        let _ = writeln!(out, "{}", line.trim_end());
    }
    let compressing: Vec<u8> = reading.on_compression().collect();
    let sealed: Vec<u8> = reading
        .cylinders
        .iter()
        .filter(|cylinder| cylinder.pushes_the_thumb())
        .map(|cylinder| cylinder.number)
        .collect();
    let felt = if sealed.is_empty() {
        String::from("; no thumb is pushed yet")
    } else {
        format!("; a thumb feels {}", cylinders(&sealed))
    };
    let _ = writeln!(out, "On compression: {}{felt}.", cylinders(&compressing));
    let spark = reading.next_spark;
    let _ = write!(
        out,
        "Next spark: No. {}, in {}",
        spark.cylinder,
        degrees(spark.after.degrees())
    );
    let _ = writeln!(
        out,
        "{}.",
        rotor(reading).map_or(String::new(), |rotor| format!("; {rotor}"))
    );
    let names = phasing
        .engine()
        .written()
        .marks
        .iter()
        .map(|mark| &mark.name);
    let marks: Vec<String> = names
        .zip(&reading.marks)
        .map(|(name, clock)| format!("{name} at {}", degrees(clock.degrees())))
        .collect();
    if !marks.is_empty() {
        let _ = writeln!(
            out,
            "{}",
            folded(
                &format!("Marks, clockwise from straight up: {}.", marks.join(", ")),
                "",
                "  ",
                COLUMNS
            )
        );
    }
    out
}

/// The table over two turns: a line an angle.
pub fn table(
    phasing: &Phasing,
    readings: impl Iterator<Item = Reading>,
    style: TerminalStyle,
) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", style.strong(phasing.engine().name()));
    let _ = writeln!(
        out,
        "{}",
        style.faint("P power, E exhaust, I intake, C compression; i, e: that valve open")
    );
    let columns: String = phasing
        .cylinders()
        .iter()
        .map(|cylinder| format!("{:<4}", cylinder.number))
        .collect();
    let _ = writeln!(
        out,
        "{}",
        style.faint(&format!(
            "   crank     cam  {columns} rotor        next spark"
        ))
    );
    for reading in readings {
        let mut row = format!(
            "{:>7.2}° {:>6.2}°  ",
            reading.crank.degrees(),
            reading.cam.degrees()
        );
        for cylinder in &reading.cylinders {
            let letter = cylinder
                .stroke
                .word()
                .chars()
                .next()
                .unwrap_or(' ')
                .to_ascii_uppercase();
            let (intake, exhaust) = (
                if cylinder.intake.open { "i" } else { "" },
                if cylinder.exhaust.open { "e" } else { "" },
            );
            row += &style.stroke(
                cylinder.stroke,
                &format!("{:<4}", format!("{letter}{intake}{exhaust}")),
            );
        }
        let rotor = reading.rotor.map_or_else(
            || "none".to_owned(),
            |rotor| format!("{}{:+.1}°", rotor.tower, rotor.past_deg).replace('-', "−"),
        );
        let spark = reading.next_spark;
        let _ = writeln!(
            out,
            "{row} {rotor:<12} No. {} in {}",
            spark.cylinder,
            degrees(spark.after.degrees())
        );
    }
    out
}

/// The card: what holds at every crank angle.
pub fn card(phasing: &Phasing, style: TerminalStyle) -> String {
    let indent = " ".repeat(19);
    let row = |(name, text): (&str, String)| {
        let text = folded(&text, &indent, &indent, COLUMNS);
        format!(
            "  {} {}\n",
            style.faint(&format!("{name:<16}")),
            text.trim_start()
        )
    };
    card_rows(phasing).into_iter().map(row).collect()
}

/// The card's rows: what it is, and what it comes to. A row without a name goes on from the one
/// before it.
pub fn card_rows(phasing: &Phasing) -> Vec<(&'static str, String)> {
    let card = Card::of(phasing);
    let engine = phasing.engine();
    let mut rows = Vec::new();
    let mut line = |name: &'static str, text: String| rows.push((name, text));
    let order: Vec<String> = card
        .firing_order
        .iter()
        .zip(&card.firing_angles_deg)
        .map(|(number, fires)| format!("{number} at {}", degrees(*fires)))
        .collect();
    line("fires", order.join(", "));
    line(
        "intervals",
        card.intervals_deg
            .iter()
            .map(|interval| degrees(*interval))
            .collect::<Vec<_>>()
            .join(", "),
    );
    let pairs: Vec<String> = card
        .firing_order
        .iter()
        .zip(&card.running_mates)
        .filter_map(|(&number, mate)| {
            mate.filter(|&mate| mate > number)
                .map(|mate| format!("{number} and {mate}"))
        })
        .collect();
    line(
        "running mates",
        if pairs.is_empty() {
            "none".into()
        } else {
            pairs.join(", ")
        },
    );
    let quoted = if engine.metric().valves.quoted_at > 0.0 {
        format!(
            ", at {} lift",
            length(engine.metric().valves.quoted_at, engine.written().units)
        )
    } else {
        String::new()
    };
    let event = |value: f64, one: &str, other: &str| {
        format!(
            "{} {}",
            degrees(value.abs()),
            if value < 0.0 { other } else { one }
        )
    };
    line(
        "intake",
        format!(
            "opens {}, closes {}: {}{quoted}",
            event(card.intake_opens_btdc_deg, "BTDC", "ATDC"),
            event(card.intake_closes_abdc_deg, "ABDC", "BBDC"),
            degrees(card.intake_duration_deg)
        ),
    );
    line(
        "exhaust",
        format!(
            "opens {}, closes {}: {}{quoted}",
            event(card.exhaust_opens_bbdc_deg, "BBDC", "ABDC"),
            event(card.exhaust_closes_atdc_deg, "ATDC", "BTDC"),
            degrees(card.exhaust_duration_deg)
        ),
    );
    line(
        "lobe centres",
        format!(
            "intake {} ATDC, exhaust {} BTDC",
            degrees(card.intake_centre_deg),
            degrees(card.exhaust_centre_deg)
        ),
    );
    let ground = match card.ground_advance_deg {
        advance if advance.abs() < 0.005 => "ground straight up".to_owned(),
        advance if advance > 0.0 => format!("ground {} advanced", degrees(advance)),
        advance => format!("ground {} retarded", degrees(-advance)),
    };
    line(
        "",
        format!(
            "separation {} of cam, overlap {}, {ground}",
            degrees(card.separation_cam_deg),
            degrees(card.overlap_deg)
        ),
    );
    line(
        "one cam tooth",
        format!(
            "{} of cam, {} of crank",
            degrees(card.cam_tooth_cam_deg),
            degrees(card.cam_tooth_crank_deg)
        ),
    );
    if let Some(play) = card.backlash_crank_deg {
        line(
            "backlash",
            format!(
                "lets the camshaft stand out by up to {} of crank",
                degrees(play)
            ),
        );
    }
    let at = card.marks_meet_at_deg;
    let side = if at > 0.0 {
        format!("{} after", degrees(at))
    } else {
        format!("{} before", degrees(-at))
    };
    let place = if at == 0.0 {
        "at No. 1's firing TDC".to_owned()
    } else {
        format!("{side} No. 1's firing TDC")
    };
    line(
        "marks meet",
        format!(
            "{place}, then every {} turns of the crank",
            card.marks_meet_again_turns
        ),
    );
    let advance = card.static_advance_deg;
    let side = if advance < 0.0 { "after" } else { "before" };
    let arc = card
        .static_advance_on_pulley_mm
        .map_or(String::new(), |mm| {
            format!(
                ": {} round the pulley",
                length(mm.abs(), engine.written().units)
            )
        });
    line(
        "static timing",
        format!("{} {side} TDC{arc}", degrees(advance.abs())),
    );
    if let (Some(tooth), Some(register)) = (card.rotor_tooth_deg, card.register_deg) {
        line(
            "one drive tooth",
            format!(
                "{} of rotor, {} of crank",
                degrees(tooth),
                degrees(2.0 * tooth)
            ),
        );
        let side = if register < 0.0 { "short of" } else { "past" };
        let range = card.register_range_deg.map_or(String::new(), |(from, to)| {
            if from == to {
                String::new()
            } else {
                format!(
                    " ({} to {} over the vacuum range)",
                    degrees(from),
                    degrees(to)
                )
            }
        });
        let contact = card.contact_within_deg.map_or(String::new(), |contact| {
            format!("; faces it within {}", degrees(contact))
        });
        line(
            "rotor at spark",
            format!(
                "{} {side} its tower{range}{contact}",
                degrees(register.abs())
            ),
        );
    }
    if !phasing.assembly().is_as_drawn() {
        let sparks: Vec<String> = phasing
            .cylinders()
            .iter()
            .zip(&card.spark_btdc_deg)
            .map(|(cylinder, btdc)| format!("No. {} {}", cylinder.number, degrees(*btdc)))
            .collect();
        line(
            "as built, sparks",
            format!("{} before TDC", sparks.join(", ")),
        );
        line(
            "",
            format!(
                "valves {} of crank earlier",
                degrees(phasing.cam_ahead().at_crank().degrees())
            ),
        );
    }
    rows
}
