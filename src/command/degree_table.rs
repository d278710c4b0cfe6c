//! `dotwise degree --table`: lobes read from seat to seat, against the description's.

use std::path::Path;

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::degreed;
use super::input::Source;
use super::output::OutputArg;
use crate::description::Valve;
use crate::engine::Engine;
use crate::laws::DIP_MM;
use crate::output::paper::Paper;
use crate::output::sheet;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::degreeing::{Degreed, Found};
use crate::procedures::lift_readings::Doubtful;
use crate::procedures::lift_table;
use crate::procedures::read_lobes::{Difference, LobeFigures, ReadLobes};
use crate::source;
use crate::words::{Units, capitalised, counted, degrees, from_nearest_tdc, length, number};

/// The answer for a program.
#[derive(Serialize)]
struct Record<'a> {
    #[serde(flatten)]
    degreed: &'a Degreed,
    intake: Option<LobeFigures>,
    exhaust: Option<LobeFigures>,
    doubtful: Vec<&'a Doubtful>,
    /// The lobes as a description has them in its `valves`.
    description: String,
}

/// The page to write, where one is asked for.
pub(super) struct Page {
    pub(super) output: OutputArg,
    pub(super) paper: Paper,
}

/// The answer about a table.
pub(super) fn answer(
    phasing: &Phasing,
    path: &str,
    json: bool,
    page: Option<Page>,
    terminal: Terminal,
) -> Result<Answer, Error> {
    // A file that cannot be written as pages is told before the table is read.
    // Refused before anything is read.
    let format = page.as_ref().map(|page| page.output.page_format());
    format.transpose()?;
    let engine = phasing.engine();
    if path != "-" && !Path::new(path).exists() {
        return Err(Error::line(
            format!("{path}: there is no such file"),
            "name the file of readings, as a spreadsheet saves it (CSV)",
        ));
    }
    let source = Source::open(path)?;
    let metric = engine.metric();
    let table = lift_table::read(&source.text, engine.written().units, metric.bore);
    let read = table.and_then(|table| ReadLobes::of(engine, &table));
    let read = read.map_err(|mut findings| {
        let more = source::keep_first(&mut findings);
        source.refused(&findings, more, terminal)
    })?;
    let [intake, exhaust] = Valve::BOTH.map(|valve| read.figures(engine, valve));
    let dips = [&intake, &exhaust]
        .into_iter()
        .flatten()
        .any(|figures| deep_dip(figures).is_some());
    let not_right = read.degreed.found != Found::Right
        || !degreed::doubts(&read.degreed).is_empty()
        || read.doubtful().next().is_some()
        || dips;
    if let Some(Page { output, paper }) = page {
        let mut comes_to = vec![capitalised(&degreed::comes_to(&read.degreed))];
        comes_to.extend(degreed::doubts(&read.degreed));
        let pages = sheet::lobes(phasing, &read, &comes_to.join(" "), paper);
        let title = format!("{}, lobes as read", engine.name());
        let what = format!("lobes as read, {}", counted(pages.len(), "page", "pages"));
        let answer = output.write_pages(phasing, sheet::LOBES, terminal, &title, &pages, &what)?;
        return Ok(answer.not_right(not_right));
    }
    let text = || text(engine, &read, [&intake, &exhaust], terminal.out);
    let record = || Record {
        degreed: &read.degreed,
        intake: intake.clone(),
        exhaust: exhaust.clone(),
        doubtful: read.doubtful().collect(),
        description: read.as_written(engine).join("\n"),
    };
    let answer = Answer::about(phasing, sheet::LOBES, terminal, json, record, text)?;
    Ok(answer.not_right(not_right))
}

/// The dip of a lobe, where it is more than the readings scatter by.
fn deep_dip(figures: &LobeFigures) -> Option<Difference> {
    figures
        .dip
        .filter(|dip| -dip.more_mm > DIP_MM.max(4.0 * figures.scatter_mm))
}

fn text(
    engine: &Engine,
    read: &ReadLobes,
    figures: [&Option<LobeFigures>; 2],
    style: TerminalStyle,
) -> String {
    let mut out = TextWriter::new(style);
    degreed::headline(engine, &read.degreed, &mut out);
    let units = engine.written().units;
    doubtful(read, units, &mut out);
    out.line(if engine.metric().valves.is_at_tappet() {
        "  centres midway between equal lifts at half of full lift; lifts at the tappet"
    } else {
        "  centres midway between equal lifts at half of full lift; lifts at the valve"
    });
    degreed::centres(&read.degreed, &mut out);
    for (valve, figures) in Valve::BOTH.into_iter().zip(figures) {
        if let Some(figures) = figures {
            out.line("");
            lobe(valve, figures, units, &mut out);
        }
    }
    out.line("");
    degreed::verdict(engine, &read.degreed, &mut out);
    out.line("");
    out.paragraph(if read.degreed.found == Found::Right {
        "To turn, draw and check the engine by these lobes, put this in `valves` in place of each valve's own part, or add the `lifts` alone to it and keep its card for comparison:"
    } else {
        "These lobes are read where the camshaft stands now. Put it right and read them again before this goes into `valves`, in place of each valve's own part, or as `lifts` beside its card:"
    });
    for line in read.as_written(engine) {
        out.line(format!("    {line}"));
    }
    out.turning_caution();
    out.finish()
}

/// The readings that do not fit, each by its row.
fn doubtful(read: &ReadLobes, units: Units, out: &mut TextWriter) {
    for doubtful in read.doubtful() {
        let word = doubtful.valve.word();
        out.warn(
            format!(
                "Line {}: {word} lift {} {}; its neighbours make it {}. Read it again: it looks mistyped, and is left out here.",
                doubtful.line,
                length(doubtful.lift_mm, units),
                from_nearest_tdc(doubtful.phase_deg, 1),
                length(doubtful.neighbours_mm, units)
            ),
            "  ",
        );
    }
}

/// The figures of one lobe.
fn lobe(valve: Valve, figures: &LobeFigures, units: Units, out: &mut TextWriter) {
    // A place finer than a length is told, where little things are compared.
    let fine = |mm: f64| match units {
        Units::Millimetres => number(mm, 3),
        Units::Inches => number(mm / units.millimetres(), 4),
    };
    let mut row = |name: &str, text: String| {
        out.hanging(text, &format!("  {name:<16} "), &" ".repeat(19));
    };
    row(
        &format!("{} lobe", valve.word()),
        format!(
            "leaves its seat {}, off it for {}",
            from_nearest_tdc(figures.leaves_seat_phase_deg, 1),
            degrees(figures.seat_duration_deg)
        ),
    );
    let over: Vec<String> = figures
        .durations
        .iter()
        .map(|over| {
            let lift = length(over.lift_mm, units);
            over.duration_deg.map_or_else(
                || format!("never over {lift}"),
                |duration| {
                    format!(
                        "over {lift} for {}",
                        degrees((duration * 10.0).round() / 10.0)
                    )
                },
            )
        })
        .collect();
    row("", over.join(", "));
    row(
        "",
        format!(
            "full lift {}, {}",
            length(figures.full_lift_mm, units),
            from_nearest_tdc(figures.full_lift_phase_deg, 1)
        ),
    );
    let rate = figures.greatest_rate_mm_per_deg;
    row(
        "",
        format!(
            "{} fastest, {} {}/°, {}",
            if rate > 0.0 { "opens" } else { "closes" },
            fine(rate.abs()),
            units.short(),
            from_nearest_tdc(figures.greatest_rate_phase_deg, 1)
        ),
    );
    let more = |difference: Difference| {
        let way = if difference.more_mm < 0.0 {
            "less"
        } else {
            "more"
        };
        format!(
            "{} {way} {}",
            length(difference.more_mm.abs(), units),
            from_nearest_tdc(difference.phase_deg, 1)
        )
    };
    row(
        "",
        format!("against its card {} at most", more(figures.from_card)),
    );
    row(
        "",
        format!(
            "centre laid on the card's, {}",
            more(figures.from_card_centred)
        ),
    );
    row(
        "",
        format!(
            "half of the readings within {} {} of a smooth curve",
            fine(figures.scatter_mm),
            units.short()
        ),
    );
    if let Some(dip) = deep_dip(figures) {
        out.warn(
            format!(
                "The {} lobe dips by {} {} before it comes down for good. A lobe has one top: read again there.",
                valve.word(),
                length(-dip.more_mm, units),
                from_nearest_tdc(dip.phase_deg, 1)
            ),
            "  ",
        );
    }
}
