//! The assembly sheet: the job step by step, with boxes to tick, blanks for what was measured, and
//! a line to sign; filled in as far as a build file says.
//!
//! The steps put the engine together as drawn, whatever was built: what was built wrong is not what
//! must be seen. Where it is other than as drawn the figures as built stand beside, each named.
//! Where valves meet pistons there are no steps.

use glam::DVec2;

use crate::angle::CrankAngle;
use crate::drawing::{Anchor, Pen, Role};
use crate::laws::ignition;
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{
    BOX, Over, PLAIN_MM, PageWriter, SIDE_MM, TICKED, is_said_over_the_page,
};
use crate::phasing::Phasing;
use crate::procedures::job::{Condition, Done, Job, Progress, Step, reckon};
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
            writer.heading(&capitalised(step.stage.phrase()), 40.0);
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
    writer.heading("Reckoned", 24.0);
    writer.blanks(
        &[
            "true TDC, midway",
            "intake lobe centre",
            "exhaust lobe centre",
            "lobe separation",
            "intake to piston, least",
            "exhaust to piston, least",
        ]
        .map(str::to_owned),
    );
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

/// A step: first what could hurt, then what to do, then what must be seen and written down.
fn write_step(writer: &mut PageWriter, index: usize, step: &Step, units: Units) {
    // Over every page stands already how to turn.
    let caution = step
        .caution
        .filter(|caution| !is_said_over_the_page(caution));
    let inner = |text: &str| writer.height(text, PLAIN_MM, 14.0) + 0.6;
    let seen: f64 = step.must_be_seen.iter().map(|seen| inner(seen)).sum();
    let before = caution.map_or(0.0, |text| writer.caution_height(text));
    writer.keep(before + seen + inner(&step.action) + 9.0);
    if let Some(caution) = caution {
        writer.caution(caution);
        writer.skip(0.8);
    }
    writer.tick(&title_of(index, step), 4.0, true, 0.0);
    writer.indented(&step.action, PLAIN_MM, false, 7.0);
    writer.skip(0.8);
    if let Some(tightening) = &step.tightening {
        writer.indented(
            &format!("Tighten: {}.", tightening.words()),
            PLAIN_MM,
            true,
            7.0,
        );
        writer.skip(0.8);
        sequence(writer, &tightening.sequence);
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

/// The fasteners in the order of their numbers, each with its turn under it.
fn sequence(writer: &mut PageWriter, order: &[u32]) {
    const APART_MM: f64 = 12.0;
    const RADIUS_MM: f64 = 3.4;
    const ROW_MM: f64 = 13.0;
    if order.is_empty() {
        return;
    }
    let left = SIDE_MM + 7.0 + APART_MM / 2.0;
    let in_a_row = ((writer.wide() - 7.0) / APART_MM).floor().max(1.0) as usize;
    let mut by_number: Vec<(u32, usize)> = order.iter().copied().zip(1..).collect();
    by_number.sort_unstable();
    for row in by_number.chunks(in_a_row) {
        writer.keep(ROW_MM);
        let y = writer.y() + RADIUS_MM + 0.6;
        let told: Vec<String> = row
            .iter()
            .map(|(fastener, turn)| format!("{fastener} as number {turn}"))
            .collect();
        let says = format!("The order of tightening: {}.", told.join(", "));
        writer.figure(says, |writer| {
            let page = writer.page();
            for (column, (fastener, turn)) in row.iter().enumerate() {
                let centre = DVec2::new(left + column as f64 * APART_MM, y);
                page.circle(centre, RADIUS_MM, Pen::line(Role::Main, 0.35));
                page.bold(
                    centre,
                    fastener.to_string(),
                    PLAIN_MM,
                    Anchor::Middle,
                    Role::Main,
                );
                let under = centre + DVec2::new(0.0, RADIUS_MM + 2.6);
                page.text(under, format!("{turn}."), 3.0, Anchor::Middle, Role::Main);
            }
        });
        writer.skip(ROW_MM);
    }
    writer.indented(
        "In the rings the fasteners as you numbered them, in a row of numbers and not as they lie; under each, when its turn comes.",
        3.0,
        false,
        7.0,
    );
    writer.skip(0.8);
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
