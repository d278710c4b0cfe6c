//! Readings, tables and cards for a person at a terminal of 80 columns.

use super::terminal::{TerminalStyle, TextWriter};
use crate::drawing::strokes::letter;
use crate::engine::Engine;
use crate::laws::ValveReading;
use crate::phasing::{Card, CylinderReading, DEAD_CENTRE_WITHIN_DEG, DeadCentre, Phasing, Reading};
use crate::words::{
    COLUMNS, Units, advance, cylinders, degrees, event, folded, from_firing_tdc, from_nearest_tdc,
    length, past,
};

/// The cylinders that stand at this dead centre, by number.
pub(crate) fn at_dead_centre(reading: &Reading, dead_centre: DeadCentre) -> Vec<u8> {
    reading
        .cylinders
        .iter()
        .filter(|cylinder| cylinder.dead_centre == Some(dead_centre))
        .map(|cylinder| cylinder.number)
        .collect()
}

/// Where the engine stands, in words: `No. 1 at TDC, end of compression (firing). No. 3 next, in
/// 180°.`
pub fn stands(reading: &Reading) -> String {
    let [firing, overlap] = [DeadCentre::FiringTdc, DeadCentre::OverlapTdc]
        .map(|dead_centre| at_dead_centre(reading, dead_centre));
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
        let rest = reading.next_firing_tdc.after.degrees() < DEAD_CENTRE_WITHIN_DEG;
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

/// Where a cylinder's piston stands in its stroke: `TDC firing`, `57° before overlap TDC`.
pub fn piston(cylinder: &CylinderReading) -> String {
    cylinder.dead_centre.map_or_else(
        || from_nearest_tdc(cylinder.phase.degrees(), 2),
        |dead_centre| dead_centre.word().into(),
    )
}

/// The rotor in words; None without a distributor.
pub fn rotor(reading: &Reading) -> Option<String> {
    let rotor = reading.rotor?;
    let place = if rotor.past_deg.abs() < 0.005 {
        "on".to_owned()
    } else {
        past(rotor.past_deg, 2)
    };
    Some(format!(
        "rotor at {} on the cap, {place} the tower of No. {}",
        degrees(rotor.clock.degrees()),
        rotor.tower
    ))
}

/// A whole reading.
pub fn reading(phasing: &Phasing, reading: &Reading, style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = TextWriter::new(style);
    out.headline(stands(reading));
    out.faint(format!(
        "{}: crank {}, cam {}",
        phasing.engine().name(),
        degrees(reading.crank.degrees()),
        degrees(reading.cam.degrees())
    ));
    out.faint("No.  stroke       piston                       down       intake       exhaust");
    for cylinder in &reading.cylinders {
        let down = length(cylinder.piston_drop_mm, units);
        let (intake, exhaust) = (
            valve(cylinder.intake, units),
            valve(cylinder.exhaust, units),
        );
        let word = style.stroke(cylinder.stroke, &format!("{:<12}", cylinder.stroke.word()));
        out.line(format!(
            "{:>3}  {word} {:<25} {down:>11}  {intake:<14} {exhaust}",
            cylinder.number,
            piston(cylinder)
        ));
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
    out.line(format!(
        "On compression: {}{felt}.",
        cylinders(&compressing)
    ));
    let spark = reading.next_spark;
    out.line(format!(
        "Next spark: No. {}, in {}{}.",
        spark.cylinder,
        degrees(spark.after.degrees()),
        rotor(reading).map_or(String::new(), |rotor| format!("; {rotor}"))
    ));
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
        out.hanging(
            format!("Marks, clockwise from straight up: {}.", marks.join(", ")),
            "",
            "  ",
        );
    }
    out.finish()
}

/// The table over two turns: a line an angle.
pub fn table(
    phasing: &Phasing,
    readings: impl Iterator<Item = Reading>,
    style: TerminalStyle,
) -> String {
    let mut out = TextWriter::new(style);
    out.headline(phasing.engine().name());
    out.faint("P power, E exhaust, I intake, C compression; i, e: that valve open");
    let columns: String = phasing
        .cylinders()
        .iter()
        .map(|cylinder| format!("{:<4}", cylinder.number))
        .collect();
    out.faint(format!(
        "   crank     cam  {columns} rotor        next spark"
    ));
    for reading in readings {
        let cylinders: String = reading
            .cylinders
            .iter()
            .map(|cylinder| style.stroke(cylinder.stroke, &format!("{:<4}", in_letters(cylinder))))
            .collect();
        let rotor = reading.rotor.map_or_else(
            || "none".to_owned(),
            |rotor| format!("{}{:+.1}°", rotor.tower, rotor.past_deg).replace('-', "−"),
        );
        let spark = reading.next_spark;
        out.line(format!(
            "{:>7.2}° {:>6.2}°  {cylinders} {rotor:<12} No. {} in {}",
            reading.crank.degrees(),
            reading.cam.degrees(),
            spark.cylinder,
            degrees(spark.after.degrees())
        ));
    }
    out.finish()
}

/// A cylinder's stroke as a letter, and which of its valves are open: `Ii`, `Eie`.
pub(super) fn in_letters(cylinder: &CylinderReading) -> String {
    let open = |is: bool, letter: &'static str| if is { letter } else { "" };
    format!(
        "{}{}{}",
        letter(cylinder.stroke),
        open(cylinder.intake.open, "i"),
        open(cylinder.exhaust.open, "e")
    )
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
pub(super) fn card_rows(phasing: &Phasing) -> Vec<(&'static str, String)> {
    let card = Card::of(phasing);
    let mut rows = firing_rows(&card);
    rows.extend(valve_rows(&card, phasing.engine()));
    rows.extend(drive_rows(&card));
    let side = if card.static_advance_deg < 0.0 {
        "after"
    } else {
        "before"
    };
    let arc = card
        .static_advance_on_pulley_mm
        .map_or(String::new(), |mm| {
            let arc = length(mm.abs(), phasing.engine().written().units);
            format!(": {arc} round the pulley")
        });
    rows.push((
        "static timing",
        format!("{} {side} TDC{arc}", degrees(card.static_advance_deg.abs())),
    ));
    rows.extend(rotor_rows(&card));
    if !phasing.assembly().is_as_drawn() {
        let sparks: Vec<String> = phasing
            .cylinders()
            .iter()
            .zip(&card.spark_btdc_deg)
            .map(|(cylinder, btdc)| format!("No. {} {}", cylinder.number, degrees(*btdc)))
            .collect();
        rows.push((
            "as built, sparks",
            format!("{} before TDC", sparks.join(", ")),
        ));
        let ahead = degrees(phasing.cam_ahead().at_crank().degrees());
        rows.push(("", format!("valves {ahead} of crank earlier")));
    }
    rows
}

/// Who fires when, and who rises together.
fn firing_rows(card: &Card) -> Vec<(&'static str, String)> {
    let order: Vec<String> = card
        .firing_order
        .iter()
        .zip(&card.firing_angles_deg)
        .map(|(number, fires)| format!("{number} at {}", degrees(*fires)))
        .collect();
    let intervals: Vec<String> = card.intervals_deg.iter().copied().map(degrees).collect();
    let pairs: Vec<String> = card
        .firing_order
        .iter()
        .zip(&card.running_mates)
        .filter_map(|(&number, mate)| {
            mate.filter(|&mate| mate > number)
                .map(|mate| format!("{number} and {mate}"))
        })
        .collect();
    let mates = if pairs.is_empty() {
        "none".to_owned()
    } else {
        pairs.join(", ")
    };
    vec![
        ("fires", order.join(", ")),
        ("intervals", intervals.join(", ")),
        ("running mates", mates),
    ]
}

/// Valve events and lobe centres.
fn valve_rows(card: &Card, engine: &Engine) -> Vec<(&'static str, String)> {
    let quoted_at = engine.metric().valves.quoted_at;
    let quoted = if quoted_at > 0.0 {
        format!(", at {} lift", length(quoted_at, engine.written().units))
    } else {
        String::new()
    };
    let ground = match card.ground_advance_deg {
        deg if deg.abs() < 0.005 => "ground straight up".to_owned(),
        deg => format!("ground {}", advance(deg)),
    };
    vec![
        (
            "intake",
            format!(
                "opens {}, closes {}: {}{quoted}",
                event(card.intake_opens_btdc_deg, "BTDC", "ATDC"),
                event(card.intake_closes_abdc_deg, "ABDC", "BBDC"),
                degrees(card.intake_duration_deg)
            ),
        ),
        (
            "exhaust",
            format!(
                "opens {}, closes {}: {}{quoted}",
                event(card.exhaust_opens_bbdc_deg, "BBDC", "ABDC"),
                event(card.exhaust_closes_atdc_deg, "ATDC", "BTDC"),
                degrees(card.exhaust_duration_deg)
            ),
        ),
        (
            "lobe centres",
            format!(
                "intake {} ATDC, exhaust {} BTDC",
                degrees(card.intake_centre_deg),
                degrees(card.exhaust_centre_deg)
            ),
        ),
        (
            "",
            format!(
                "separation {} of cam, overlap {}, {ground}",
                degrees(card.separation_cam_deg),
                degrees(card.overlap_deg)
            ),
        ),
    ]
}

/// The cam drive's teeth, play and marks.
fn drive_rows(card: &Card) -> Vec<(&'static str, String)> {
    let mut rows = vec![(
        "one cam tooth",
        format!(
            "{} of cam, {} of crank",
            degrees(card.cam_tooth_cam_deg),
            degrees(card.cam_tooth_crank_deg)
        ),
    )];
    if let Some(play) = card.backlash_crank_deg {
        let play = degrees(play);
        rows.push((
            "backlash",
            format!("lets the camshaft stand out by up to {play} of crank"),
        ));
    }
    rows.push((
        "marks meet",
        format!(
            "{}, then every {} turns of the crank",
            from_firing_tdc(card.marks_meet_at_deg),
            card.marks_meet_again_turns
        ),
    ));
    rows
}

/// The rotor and its drive; none without a distributor.
fn rotor_rows(card: &Card) -> Vec<(&'static str, String)> {
    let (Some(tooth), Some(register)) = (card.rotor_tooth_deg, card.register_deg) else {
        return Vec::new();
    };
    let range = match card.register_range_deg {
        Some((from, to)) if from != to => {
            let (from, to) = (degrees(from), degrees(to));
            format!(" ({from} to {to} over the vacuum range)")
        }
        _ => String::new(),
    };
    let contact = card.contact_within_deg.map_or(String::new(), |contact| {
        format!("; faces it within {}", degrees(contact))
    });
    vec![
        (
            "one drive tooth",
            format!(
                "{} of rotor, {} of crank",
                degrees(tooth),
                degrees(2.0 * tooth)
            ),
        ),
        (
            "rotor at spark",
            format!("{} its tower{range}{contact}", past(register, 2)),
        ),
    ]
}
