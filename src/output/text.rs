//! Readings, tables and cards for a person at a terminal of 80 columns.

#![expect(clippy::indexing_slicing, reason = "intervals are counted here")]

use super::as_built;
use super::terminal::{TerminalStyle, TextWriter};
use crate::angle::wrap_signed;
use crate::description::{Distributor, Valve};
use crate::drawing::strokes::letter;
use crate::laws::{ValveReading, clearance};
use crate::phasing::{
    Card, CylinderReading, DEAD_CENTRE_WITHIN_DEG, DeadCentre, Phasing, PointerMark, Reading,
};
use crate::procedures::valve_setting::{ValveSetting, past_zero_lash};
use crate::words::{
    COLUMNS, Units, advance, ahead, before_tdc, by_the_tdc_mark, cylinders, degrees, earlier,
    event, folded, from_firing_tdc, from_nearest_tdc, length, past, teeth,
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
        match length(valve.lift_mm, units) {
            // Less than is told.
            lift if lift == length(0.0, units) => "just open".into(),
            lift => format!("open {lift}"),
        }
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
    Some(format!(
        "rotor at {} on the cap, {} the tower of No. {}",
        degrees(rotor.clock.degrees()),
        past(rotor.past_deg, 2),
        rotor.tower
    ))
}

/// How the engine was put together, and whether its valves keep clear of the pistons; blank where
/// it is as drawn and nothing of that is known to be wrong.
pub fn as_built(phasing: &Phasing, style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    if let Some(built) = as_built::built(phasing) {
        out.paragraph(built);
    }
    match as_built::danger(phasing) {
        Some(danger) => out.warn(danger, ""),
        None if phasing.assembly().is_as_drawn() => {}
        None => out.paragraph(as_built::clearance(phasing).unwrap_or_default()),
    }
    let text = out.finish();
    if text.is_empty() { text } else { text + "\n" }
}

/// What an answer takes for granted, a line each; blank where it takes nothing.
pub fn rests_on(sentences: &[String], style: TerminalStyle) -> String {
    let mut out = TextWriter::new(style);
    if !sentences.is_empty() {
        out.line("");
        out.faint("This rests on:");
    }
    for sentence in sentences {
        out.hanging(sentence, "  - ", "    ");
    }
    out.finish()
}

/// The next spark in words, without `Next spark:`; with a useful one, whose plug sparks beside it.
pub fn next_spark(phasing: &Phasing, reading: &Reading) -> String {
    let spark = reading.next_spark;
    let next = format!(
        "No. {}, in {}",
        spark.cylinder,
        degrees(spark.after.degrees())
    );
    next + &after_next_spark(phasing, reading)
}

/// What is said after the next spark: of one that is wasted, or of one with a wasted one beside it.
pub(crate) fn after_next_spark(phasing: &Phasing, reading: &Reading) -> String {
    if reading.next_spark.wasted {
        return ", the wasted one".to_owned();
    }
    let beside = phasing.wasted_beside(reading);
    beside.map_or(String::new(), |beside| {
        format!(", and No. {beside}'s with it, the wasted one")
    })
}

/// Where the camshaft stands, or each of several.
pub(crate) fn cams(phasing: &Phasing, reading: &Reading) -> String {
    let engine = phasing.engine();
    if !engine.has_several_camshafts() {
        return format!("cam {}", degrees(reading.cam.degrees()));
    }
    let stand = engine.camshaft_names().zip(&reading.cams);
    let stand: Vec<String> = stand
        .map(|(name, cam)| format!("{name} {}", degrees(cam.degrees())))
        .collect();
    stand.join(", ")
}

/// A whole reading.
pub fn reading(phasing: &Phasing, reading: &Reading, style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = TextWriter::new(style);
    out.headline(stands(reading));
    out.faint(format!(
        "{}: crank {}, {}",
        phasing.engine().name(),
        degrees(reading.crank.degrees()),
        cams(phasing, reading)
    ));
    out.faint("No stroke      piston                          down  intake        exhaust");
    for cylinder in &reading.cylinders {
        let down = length(cylinder.piston_drop_mm, units);
        let (intake, exhaust) = (
            valve(cylinder.intake, units),
            valve(cylinder.exhaust, units),
        );
        let word = style.stroke(cylinder.stroke, &format!("{:<11}", cylinder.stroke.word()));
        out.line(format!(
            "{:>2} {word} {:<26} {down:>9}  {intake:<13} {exhaust}",
            cylinder.number,
            piston(cylinder)
        ));
        for line in near_piston(phasing, cylinder) {
            out.warn(line, "   ");
        }
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
    let felt = format!("On compression: {}{felt}.", cylinders(&compressing));
    out.hanging(felt, "", "  ");
    let spark = format!(
        "Next spark: {}{}.",
        next_spark(phasing, reading),
        rotor(reading).map_or(String::new(), |rotor| format!("; {rotor}"))
    );
    out.hanging(spark, "", "  ");
    if let Some(second) = phasing.by_second_ignition() {
        let reading = second.at(reading.crank);
        let spark = format!(
            "Second ignition's next spark: {}{}.",
            next_spark(second, &reading),
            rotor(&reading).map_or(String::new(), |rotor| format!("; {rotor}"))
        );
        out.hanging(spark, "", "  ");
    }
    let written = phasing.engine().written().marks.iter().enumerate();
    let marks: Vec<String> = written
        .zip(&reading.marks)
        .map(|((index, mark), clock)| {
            let pointer = by_the_pointer(phasing, index, reading);
            let pointer = pointer.map_or(String::new(), |by| format!(" ({by})"));
            format!("{} at {}{pointer}", mark.name, degrees(clock.degrees()))
        })
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

/// Where one of the description's marks stands by the pointer at which it is read; None where it
/// has none: `on its pointer`, `23° past its pointer`.
pub fn by_the_pointer(phasing: &Phasing, mark: usize, reading: &Reading) -> Option<String> {
    let past_deg = phasing.past_pointer_deg(mark, reading)?;
    Some(format!("{} its pointer", past(past_deg, 2)))
}

/// What to say of each valve that is nearer to its piston than common practice asks for.
fn near_piston(phasing: &Phasing, cylinder: &CylinderReading) -> Vec<String> {
    let units = phasing.engine().written().units;
    let near = |valve: Valve| {
        let gap_mm = phasing.gap_mm(cylinder, valve)?;
        let least_mm = clearance::least_allowed_mm(valve, units);
        let word = valve.word();
        if gap_mm <= 0.0 {
            let by = length(-gap_mm, units);
            Some(format!(
                "VALVE IN THE PISTON: the {word} valve would be {by} deep in it; the crank cannot come here"
            ))
        } else if gap_mm < least_mm {
            let (gap, least) = (length(gap_mm, units), length(least_mm, units));
            Some(format!(
                "little room: the {word} valve is {gap} from the piston; {least} at least is common practice"
            ))
        } else {
            None
        }
    };
    Valve::BOTH.into_iter().filter_map(near).collect()
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
    let mut rows = phasing.cylinders().chunks(CYLINDERS_A_LINE).map(|row| {
        let columns = row.iter().map(|cylinder| format!("{:<4}", cylinder.number));
        columns.collect::<String>()
    });
    let has_rotor = phasing.engine().metric().distributor.is_some();
    out.faint(format!(
        "   crank     cam  {}{}next spark",
        rows.next().unwrap_or_default(),
        if has_rotor { "rotor      " } else { "" }
    ));
    rows.for_each(|row| out.faint(format!("{NEXT_CYLINDERS}{row}")));
    for reading in readings {
        let mut rows = reading.cylinders.chunks(CYLINDERS_A_LINE).map(|row| {
            let cell = |cylinder: &CylinderReading| {
                style.stroke(cylinder.stroke, &format!("{:<4}", in_letters(cylinder)))
            };
            row.iter().map(cell).collect::<String>()
        });
        let rotor = reading.rotor.map_or(String::new(), |rotor| {
            let past = format!("{}{:+.1}°", rotor.tower, rotor.past_deg).replace('-', "−");
            format!("{past:<10} ")
        });
        let spark = reading.next_spark;
        out.line(format!(
            "{:>7.2}° {:>6.2}°  {}{rotor}No. {} in {}{}",
            reading.crank.degrees(),
            reading.cam.degrees(),
            rows.next().unwrap_or_default(),
            spark.cylinder,
            degrees(spark.after.degrees()),
            if spark.wasted { ", wasted" } else { "" }
        ));
        rows.for_each(|row| out.line(format!("{NEXT_CYLINDERS}{row}")));
    }
    out.finish()
}

/// Cylinders of a table on one line: with more, each reading takes as many lines as it needs.
const CYLINDERS_A_LINE: usize = 8;
/// What stands before the cylinders of a second line.
const NEXT_CYLINDERS: &str = "                  ";

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
        let first = format!("  {} ", style.faint(&format!("{name:<16}")));
        folded(&text, &first, &indent, COLUMNS) + "\n"
    };
    card_rows(phasing).into_iter().map(row).collect()
}

/// The card's rows: what it is, and what it comes to. A row without a name goes on from the one
/// before it.
pub(super) fn card_rows(phasing: &Phasing) -> Vec<(&'static str, String)> {
    let card = Card::of(phasing);
    let mut rows = firing_rows(&card);
    rows.extend(valve_rows(&card, phasing));
    rows.extend(lash_row(phasing));
    rows.extend(camshaft_rows(phasing));
    rows.extend(drive_rows(&card, phasing));
    rows.extend(pointer_rows(&card));
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
    let as_drawn = phasing.assembly().is_as_drawn();
    rows.push((
        if as_drawn {
            "static timing"
        } else {
            "timing as drawn"
        },
        format!("{} {side} TDC{arc}", degrees(card.static_advance_deg.abs())),
    ));
    if !as_drawn {
        rows.push(("sparks as built", sparks(phasing, &card)));
    }
    rows.extend(every_turn_rows(phasing));
    rows.extend(rotor_rows(&card, phasing));
    rows
}

/// When each cylinder's spark comes, as built.
fn sparks(phasing: &Phasing, card: &Card) -> String {
    let alike = |btdc: &f64| before_tdc(*btdc) == before_tdc(card.spark_btdc_deg[0]);
    if card.spark_btdc_deg.iter().all(alike) {
        return format!("each {}", before_tdc(card.spark_btdc_deg[0]));
    }
    let sparks: Vec<String> = phasing
        .cylinders()
        .iter()
        .zip(&card.spark_btdc_deg)
        .map(|(cylinder, btdc)| format!("No. {} {}", cylinder.number, before_tdc(*btdc)))
        .collect();
    sparks.join(", ")
}

/// That each plug sparks once a turn, and which coils do; none where plugs spark every other turn and
/// no coils are described.
fn every_turn_rows(phasing: &Phasing) -> Vec<(&'static str, String)> {
    let engine = phasing.engine();
    let mut rows = Vec::new();
    if engine.sparks_every_turn() {
        let every_turn =
            "each plug once a turn: again on its overlap, 360° on, where the spark is wasted";
        rows.push(("sparks", every_turn.to_owned()));
    }
    if !engine.coils().is_empty() {
        let coils: Vec<String> = engine.coils().iter().map(|coil| cylinders(coil)).collect();
        rows.push(("coils", coils.join("; ")));
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
    let intervals = intervals(&card.intervals_deg);
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
        ("intervals", intervals),
        ("running mates", mates),
    ]
}

/// The intervals between firings; where they come round again within the two turns, once.
fn intervals(intervals_deg: &[f64]) -> String {
    const ALIKE_DEG: f64 = 0.005;
    let count = intervals_deg.len();
    let again = |period: &usize| {
        let later = intervals_deg.iter().skip(*period);
        let mut pairs = intervals_deg.iter().zip(later);
        count.is_multiple_of(*period) && pairs.all(|(one, other)| (one - other).abs() < ALIKE_DEG)
    };
    let period = (1..count).find(again);
    let once = &intervals_deg[..period.unwrap_or(count)];
    let list: Vec<String> = once.iter().copied().map(degrees).collect();
    match period {
        None => list.join(", "),
        Some(1) => format!("{} each", list.join(", ")),
        Some(_) => format!("{}, and so on in turn", list.join(", ")),
    }
}

/// Valve events and lobe centres.
fn valve_rows(card: &Card, phasing: &Phasing) -> Vec<(&'static str, String)> {
    let engine = phasing.engine();
    let valves = &engine.metric().valves;
    let at_the_tappet = if valves.is_at_tappet() {
        " at the tappet"
    } else {
        ""
    };
    let quoted = |valve| match valves.quoted_at(valve) {
        _ if valves.lifts(valve).is_some() => {
            let full = length(phasing.lobe(valve).full_lift_mm(), engine.written().units);
            format!(", from seat to seat as measured, {full} at the valve")
        }
        Some(lift_mm) if lift_mm > 0.0 => {
            let lift = length(lift_mm, engine.written().units);
            format!(", at {lift} lift{at_the_tappet}")
        }
        Some(_) => ", from seat to seat".to_owned(),
        None => ", at a lift that is not stated".to_owned(),
    };
    let ground = match card.ground_advance_deg {
        deg if deg.abs() < 0.005 => "ground straight up".to_owned(),
        deg => format!("ground {}", advance(deg)),
    };
    let event = |deg: f64, moved: f64, positive: &str, negative: &str| match deg + moved {
        deg if deg.abs() <= 360.0 => event(deg, positive, negative),
        deg => event(wrap_signed(deg, 720.0), positive, negative),
    };
    let intake = |ahead: f64| {
        format!(
            "opens {}, closes {}",
            event(card.intake_opens_btdc_deg, ahead, "BTDC", "ATDC"),
            event(card.intake_closes_abdc_deg, -ahead, "ABDC", "BBDC")
        )
    };
    let exhaust = |ahead: f64| {
        format!(
            "opens {}, closes {}",
            event(card.exhaust_opens_bbdc_deg, ahead, "BBDC", "ABDC"),
            event(card.exhaust_closes_atdc_deg, -ahead, "ATDC", "BTDC")
        )
    };
    let centres = |intake_early: f64, exhaust_early: f64| {
        format!(
            "intake {}, exhaust {}",
            event(card.intake_centre_deg, -intake_early, "ATDC", "BTDC"),
            event(card.exhaust_centre_deg, exhaust_early, "BTDC", "ATDC")
        )
    };
    let lasts = |deg: f64, valve| {
        let events = valves.events(valve).unwrap_or_default();
        let also = events.also_at.map_or(String::new(), |also| {
            let lift = length(also.lift, engine.written().units);
            format!("; {} at {lift}{at_the_tappet}", degrees(also.duration))
        });
        format!(": {}{}{also}", degrees(deg), quoted(valve))
    };
    let (intake_lasts, exhaust_lasts) = (
        lasts(card.intake_duration_deg, Valve::Intake),
        lasts(card.exhaust_duration_deg, Valve::Exhaust),
    );
    let [intake_early, exhaust_early] =
        Valve::BOTH.map(|valve| phasing.number_one_early(valve).degrees());
    let mut rows = if intake_early == 0.0 && exhaust_early == 0.0 {
        vec![
            ("intake", intake(0.0) + &intake_lasts),
            ("exhaust", exhaust(0.0) + &exhaust_lasts),
            ("lobe centres", centres(0.0, 0.0)),
        ]
    } else {
        let moved = |early: f64| match early {
            0.0 => "as drawn".to_owned(),
            early => format!("{} than as drawn, at the crank", earlier(early)),
        };
        let valves = if intake_early == exhaust_early {
            moved(intake_early)
        } else {
            format!(
                "intake {}; exhaust {}",
                moved(intake_early),
                moved(exhaust_early)
            )
        };
        vec![
            ("intake as built", intake(intake_early) + &intake_lasts),
            ("intake as drawn", intake(0.0)),
            ("exhaust as built", exhaust(exhaust_early) + &exhaust_lasts),
            ("exhaust as drawn", exhaust(0.0)),
            ("valves as built", valves),
            ("lobes as built", centres(intake_early, exhaust_early)),
            ("lobes as drawn", centres(0.0, 0.0)),
        ]
    };
    rows.push((
        "",
        format!(
            "separation {} of cam, overlap {}, {ground}",
            degrees(card.separation_cam_deg),
            degrees(card.overlap_deg)
        ),
    ));
    rows
}

/// The gap that is set, and what it makes of lifts and durations; None where nothing is stated.
fn lash_row(phasing: &Phasing) -> Option<(&'static str, String)> {
    let engine = phasing.engine();
    let setting = ValveSetting::of(engine);
    if let Some(turns) = setting.preload_turns {
        let set = past_zero_lash(turns);
        return Some(("valves set", format!("{set}: the lifters are hydraulic")));
    }
    let told = |mm: f64| length(mm, engine.written().units);
    let (intake, exhaust) = (phasing.intake(), phasing.exhaust());
    Some((
        "valves set",
        format!(
            "to {} intake, {} exhaust, {}; so set, they lift {} and {}, off their seats for {} and {}",
            told(setting.intake_gap_mm?),
            told(setting.exhaust_gap_mm?),
            setting.at?.word(),
            told(intake.full_lift_with_lash_mm()),
            told(exhaust.full_lift_with_lash_mm()),
            degrees(intake.open_with_lash_deg()),
            degrees(exhaust.open_with_lash_deg())
        ),
    ))
}

/// The camshafts, where there are several: what each works, and what it is trimmed by.
fn camshaft_rows(phasing: &Phasing) -> Vec<(&'static str, String)> {
    let engine = phasing.engine();
    if !engine.has_several_camshafts() {
        return Vec::new();
    }
    let described = engine.written().camshafts.iter().enumerate();
    let rows = described.map(|(index, camshaft)| {
        let worked = |valve: Valve| -> Vec<u8> {
            let cylinders = phasing.cylinders().iter().map(|cylinder| cylinder.number);
            cylinders
                .filter(|number| engine.camshaft_of(*number, valve) == index)
                .collect()
        };
        let [intake, exhaust] = Valve::BOTH.map(worked);
        let works = |word: &str, numbers: &[u8]| {
            if numbers.len() == engine.cylinder_count() {
                format!("every {word} valve")
            } else {
                format!("the {word} valves of {}", cylinders(numbers))
            }
        };
        let mut words: Vec<String> = [("intake", &intake), ("exhaust", &exhaust)]
            .into_iter()
            .filter(|(_, numbers)| !numbers.is_empty())
            .map(|(word, numbers)| works(word, numbers))
            .collect();
        if camshaft.trim() != 0.0 {
            let side = if camshaft.trim() > 0.0 {
                "ahead of"
            } else {
                "behind"
            };
            words.push(format!(
                "set {} of cam {side} its wheel",
                degrees(camshaft.trim().abs())
            ));
        }
        if engine.metric().driving_camshaft() == Some(index) {
            words.push("drives the distributor".to_owned());
        }
        let name = if index == 0 { "camshafts" } else { "" };
        (
            name,
            format!("{}: {}", camshaft.name.trim(), words.join(", ")),
        )
    });
    rows.collect()
}

/// The cam drive's teeth, play and marks.
fn drive_rows(card: &Card, phasing: &Phasing) -> Vec<(&'static str, String)> {
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
        rows.push(match card.slack_cam_deg {
            None => (
                "backlash",
                format!("lets the camshaft stand out by up to {play} of crank"),
            ),
            Some(cam) => (
                "slack",
                format!(
                    "lets the camshaft stand out by up to {} of cam, {play} of crank",
                    degrees(cam)
                ),
            ),
        });
    }
    let meet = format!(
        "{}, then every {} turns of the crank",
        from_firing_tdc(card.marks_meet_at_deg),
        card.marks_meet_again_turns
    );
    if let Some(links) = &card.links_between_marks {
        let out = degrees(card.cam_tooth_crank_deg);
        rows.push((
            "between marks",
            format!("{}; {}, {out} of crank", links.words, links.miscounted),
        ));
    }
    let cams = phasing.assembly().cams();
    if cams.are_right() {
        rows.push(("marks meet", meet));
    } else {
        let engine = phasing.engine();
        let stand = cams.out().map(|(camshaft, out)| {
            let name = engine.camshaft_name(camshaft);
            format!("the {name}'s stands {} {}", teeth(out), ahead(out > 0))
        });
        let stand: Vec<String> = stand.collect();
        rows.push(("marks as drawn", format!("meet {meet}")));
        rows.push(("marks as built", format!("{} there", stand.join(", "))));
    }
    rows
}

/// The marks that are read at a pointer, and where the crank stands when each comes to it.
fn pointer_rows(card: &Card) -> Vec<(&'static str, String)> {
    let row = |mark: &PointerMark| {
        let comes = match mark.comes_there_at_deg {
            Some(at) if mark.every_turn => format!(
                "comes to it {}, at every turn",
                by_the_tdc_mark(at.by_the_mark()).trim_end_matches(" mark")
            ),
            Some(at) => format!("comes to it {}", from_firing_tdc(at.degrees())),
            None => "does not come to it in two turns".to_owned(),
        };
        format!(
            "{}: its pointer stands at {} from the front; it {comes}",
            mark.name,
            degrees(mark.pointer_clock_deg.degrees())
        )
    };
    let names = std::iter::once("read at pointers").chain(std::iter::repeat(""));
    names.zip(card.pointer_marks.iter().map(row)).collect()
}

/// The rotor and its drive; none without a distributor.
fn rotor_rows(card: &Card, phasing: &Phasing) -> Vec<(&'static str, String)> {
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
    let distributor = phasing.engine().metric().distributor.as_ref();
    let geared = distributor.is_some_and(Distributor::is_on_geared_shaft);
    vec![
        (
            if geared {
                "one shaft tooth"
            } else {
                "one drive tooth"
            },
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
