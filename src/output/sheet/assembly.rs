//! The assembly sheet: the job step by step, with boxes to tick, blanks for what was measured, and
//! a line to sign; filled in as far as a build file says.
//!
//! The steps put the engine together as drawn, whatever was built: what was built wrong is not what
//! must be seen. Where it is other than as drawn the figures as built stand beside, each named.
//! Where valves meet pistons there are no steps.

use crate::angle::CrankAngle;
use crate::drawing::fasteners::fasteners;
use crate::laws::ignition;
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{BOX, Over, PLAIN_MM, PageWriter, TICKED, is_said_over_the_page};
use crate::phasing::Phasing;
use crate::procedures::job::{Condition, Done, Job, Progress, Step, Tightening, reckon};
use crate::words::{Units, before_tdc, capitalised, degrees, number};

pub(super) fn write(writer: &mut PageWriter, phasing: &Phasing, progress: Option<&Progress>) {
    if let Some(first) = instead_of_steps(phasing) {
        writer.start("Assembly sheet", Over::Turning);
        writer.paragraph(&first, PLAIN_MM, true);
        return;
    }
    if phasing.assembly().is_as_drawn() {
        writer.start("Assembly sheet", Over::Turning);
    } else {
        writer.start("Assembly sheet: steps and figures as drawn", Over::Turning);
        beside(writer, phasing);
    }
    let way = progress.map(Progress::way).unwrap_or_default();
    let job = Job::by(phasing, way);
    let done = job
        .steps
        .iter()
        .filter(|step| progress.is_some_and(|progress| progress.has(step)));
    let so_far = match progress {
        None => String::new(),
        Some(_) => format!(" {} of {} steps are done.", done.count(), job.steps.len()),
    };
    writer.paragraph(
        &format!(
            "The job of {}.{so_far} What is marked by hand the program cannot see; every other step is right only at its own place.",
            way.what()
        ),
        PLAIN_MM,
        false,
    );
    let mut heading = None;
    let mut index = 0;
    while let Some(step) = job.steps.get(index) {
        if heading.replace(step.stage) != Some(step.stage) {
            // No heading stands alone at a page's foot.
            let follows = step_height(writer, step).max(40.0);
            writer.heading(&capitalised(step.stage.phrase()), follows);
        }
        let leads = leads_from(job.steps.get(index..).unwrap_or_default());
        if leads.len() > 1 {
            write_leads(writer, index, leads, progress);
            index += leads.len();
            continue;
        }
        match progress.and_then(|progress| progress.entry(step)) {
            Some(entry) => write_done(writer, phasing, index, step, entry),
            None => write_step(writer, index, step, phasing.engine().written().units),
        }
        index += 1;
    }
    writer.heading("Signed", 20.0);
    writer.blanks(&[
        "built by".to_owned(),
        "checked by".to_owned(),
        "date".to_owned(),
    ]);
}

/// The step's number and title, and whether it is ticked by hand.
fn title_of(index: usize, step: &Step) -> String {
    let by_hand = if step.is_by_hand() { " (by hand)" } else { "" };
    format!("{}. {}{by_hand}", index + 1, step.title)
}

/// The steps at the head of these that plug one lead after another.
fn leads_from(steps: &[Step]) -> &[Step] {
    let is_lead = |step: &Step| matches!(step.right, Condition::Lead { .. });
    let others = steps.iter().position(|step| !is_lead(step));
    steps
        .get(..others.unwrap_or(steps.len()))
        .unwrap_or_default()
}

/// The leads in a table: what must be seen at each, and once what must be seen at all.
fn write_leads(writer: &mut PageWriter, index: usize, steps: &[Step], progress: Option<&Progress>) {
    let is_at_all = |seen: &&String| steps.iter().all(|step| step.must_be_seen.contains(seen));
    let at_all: Vec<&str> = steps
        .iter()
        .take(1)
        .flat_map(|step| step.must_be_seen.iter().filter(is_at_all))
        .map(String::as_str)
        .collect();
    writer.keep(40.0);
    let title = format!("{} to {}. Plug the leads", index + 1, index + steps.len());
    writer.paragraph(&title, 4.0, true);
    writer.paragraph(&at_all.join(" "), PLAIN_MM, false);
    writer.skip(0.8);
    let rows: Vec<Vec<String>> = steps
        .iter()
        .enumerate()
        .map(|(lead, step)| {
            let seen = step.must_be_seen.iter().filter(|seen| !is_at_all(seen));
            let mut seen: Vec<String> = seen.cloned().collect();
            let entry = progress.and_then(|progress| progress.entry(step));
            seen.extend(entry.map(|entry| format!("{}.", capitalised(&entry.words()))));
            vec![
                if entry.is_some() { TICKED } else { BOX }.to_owned(),
                title_of(index + lead, step),
                step.action.clone(),
                seen.join(" "),
            ]
        })
        .collect();
    writer.table(&["", "step", "what to do", "must be seen"], &rows);
    writer.skip(2.0);
}

/// The caution of a step, where it does not stand over every page already.
fn own_caution(step: &Step) -> Option<&'static str> {
    step.caution
        .filter(|caution| !is_said_over_the_page(caution))
}

/// How high a step stands that is not done yet.
fn step_height(writer: &PageWriter, step: &Step) -> f64 {
    let inner = |text: &str| writer.height(text, PLAIN_MM, 14.0) + 0.6;
    let seen = step.must_be_seen.iter().chain(&step.instead);
    let seen: f64 = seen.map(|text| inner(text)).sum();
    let before = own_caution(step).map_or(0.0, |text| writer.caution_height(text));
    let blanks = step.write_down.iter();
    let blanks = blanks.map(|blank| writer.blank_height(&capitalised(blank.what), 7.0));
    let tightening = step.tightening.as_ref();
    let tightening = tightening.map_or(0.0, |tightening| tightening_height(writer, tightening));
    before + seen + blanks.sum::<f64>() + tightening + inner(&step.action) + 9.0
}

/// A step: first what could hurt, then what to do, then what must be seen and written down.
fn write_step(writer: &mut PageWriter, index: usize, step: &Step, units: Units) {
    let caution = own_caution(step);
    writer.keep(step_height(writer, step));
    if let Some(caution) = caution {
        writer.caution(caution);
        writer.skip(0.8);
    }
    writer.tick(&title_of(index, step), 4.0, true, 0.0);
    writer.indented(&step.action, PLAIN_MM, false, 7.0);
    writer.skip(0.8);
    if let Some(tightening) = &step.tightening {
        write_tightening(writer, tightening);
    }
    for seen in &step.must_be_seen {
        writer.tick(seen, PLAIN_MM, false, 7.0);
        writer.skip(0.6);
    }
    if let Some(instead) = &step.instead {
        writer.indented(instead, PLAIN_MM, false, 7.0);
        writer.skip(0.6);
    }
    for blank in &step.write_down {
        writer.blank(
            &capitalised(blank.what),
            blank.range.suffix(units).trim(),
            None,
            7.0,
        );
    }
    writer.skip(3.0);
}

/// A step that is done: when, what was measured, and what that comes to.
fn write_done(writer: &mut PageWriter, phasing: &Phasing, index: usize, step: &Step, entry: &Done) {
    let units = phasing.engine().written().units;
    writer.keep(18.0);
    writer.ticked(&title_of(index, step), 4.0, true, 0.0);
    writer.indented(
        &format!("{}.", capitalised(&entry.words())),
        PLAIN_MM,
        false,
        7.0,
    );
    for (name, &reading) in &entry.readings {
        let Some(blank) = step.blank(name) else {
            continue;
        };
        let filled = number(reading, 4);
        let unit = blank.range.suffix(units).trim();
        writer.blank(&capitalised(blank.what), unit, Some(&filled), 7.0);
    }
    let reckoned = reckon(step, phasing, &entry.readings);
    for words in reckoned.iter().flat_map(|reckoned| &reckoned.words) {
        writer.indented(words, PLAIN_MM, false, 7.0);
    }
    writer.skip(3.0);
}

/// How high that stands.
fn tightening_height(writer: &PageWriter, tightening: &Tightening) -> f64 {
    let line = 1.5 * PLAIN_MM + 0.8;
    let lines = match tightening.in_passes().len() {
        0 => writer.height(&tightening.words(), PLAIN_MM, 7.0) + line,
        passes => passes as f64 * line,
    };
    let drawn = fasteners(&tightening.sequence, &tightening.rows);
    lines + drawn.map_or(0.0, |(drawing, _)| drawing.size.y + 2.0 * line + 3.6)
}

/// How tight, pass by pass, and in which order, drawn.
fn write_tightening(writer: &mut PageWriter, tightening: &Tightening) {
    let passes = tightening.in_passes();
    let drawn = fasteners(&tightening.sequence, &tightening.rows);
    if passes.is_empty() {
        let words = format!("Tighten: {}.", tightening.words());
        writer.indented(&words, PLAIN_MM, true, 7.0);
        writer.skip(0.8);
    }
    if let Some((drawing, says)) = &drawn {
        let place = if tightening.rows.is_empty() {
            "one after another and not as they lie"
        } else {
            "in their places as you look on them"
        };
        let numbered_so = tightening
            .sequence
            .iter()
            .copied()
            .zip(1..)
            .all(|(own, turn)| own == turn);
        let own = if numbered_so {
            ""
        } else {
            "; under a ring your own number"
        };
        writer.indented(
            &format!("When each has its turn, {place}{own}:"),
            PLAIN_MM,
            false,
            7.0,
        );
        writer.skip(1.6);
        writer.draw_true(drawing, says);
    }
    let count = passes.len();
    for (index, words) in passes.into_iter().enumerate() {
        let order = if drawn.is_some() {
            ", in that order"
        } else {
            ""
        };
        let pass = format!("Pass {} of {count}: {words}{order}.", index + 1);
        writer.tick(&pass, PLAIN_MM, true, 7.0);
        writer.skip(0.6);
    }
}

/// The figures of the steps that were built otherwise, as built beside as drawn.
fn beside(writer: &mut PageWriter, phasing: &Phasing) {
    let drawn = Phasing::as_drawn(phasing.engine());
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row = |what: String, of: &dyn Fn(&Phasing) -> Option<String>| {
        let (as_drawn, as_built) = (of(&drawn), of(phasing));
        if let (Some(as_drawn), Some(as_built)) = (as_drawn, as_built)
            && as_drawn != as_built
        {
            rows.push(vec![what, as_drawn, as_built]);
        }
    };
    let at_firing_tdc = CrankAngle::new(0.0);
    row("rotor before it is let down".to_owned(), &|phasing| {
        let distributor = phasing.engine().metric().distributor.as_ref()?;
        let end = phasing.at(at_firing_tdc).rotor?.clock;
        let start = ignition::entry_start(distributor, end);
        Some(degrees(start.degrees()))
    });
    row("rotor at No. 1's firing TDC".to_owned(), &|phasing| {
        let rotor = phasing.at(at_firing_tdc).rotor?;
        Some(degrees(rotor.clock.degrees()))
    });
    row("No. 1's tower".to_owned(), &|phasing| {
        let tower = phasing.towers().first().copied()?;
        Some(degrees(tower.degrees()))
    });
    let marks = phasing.engine().written().marks.iter().enumerate();
    for (index, mark) in marks.filter(|(_, mark)| !mark.turns_with_the_crank()) {
        row(format!("{} at firing TDC", mark.name), &|phasing| {
            let clock = phasing.at(at_firing_tdc).marks.get(index)?.degrees();
            Some(degrees(clock))
        });
    }
    let spark = |phasing: &Phasing, number: u8| {
        let cylinder = phasing.cylinder(number)?;
        Some(before_tdc(phasing.spark_btdc_deg(cylinder)))
    };
    let numbers = || phasing.cylinders().iter().map(|cylinder| cylinder.number);
    if numbers().all(|number| spark(phasing, number) == spark(phasing, 1)) {
        row("every spark".to_owned(), &|phasing| spark(phasing, 1));
    } else {
        numbers().for_each(|number| {
            row(format!("spark of No. {number}"), &|phasing| {
                spark(phasing, number)
            });
        });
    }
    if !rows.is_empty() {
        writer.table(&["", "as drawn", "as built"], &rows);
    }
}
