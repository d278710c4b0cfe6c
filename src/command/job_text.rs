//! The job in text: its steps, how each was done, what comes next, what is taken over.

use crate::diagnosis::stage::Stage;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::job::{BY_HAND, Done, Job, Progress, Step, TakeOver, reckon};
use crate::words::{Units, capitalised, counted};

/// The whole list.
pub(super) fn whole(
    out: &mut TextWriter,
    job: &Job,
    phasing: &Phasing,
    progress: &Progress,
    has_build: bool,
    stage: Option<Stage>,
) {
    let (name, way) = (phasing.engine().name(), progress.way().what());
    let steps = counted(job.steps.len(), "step", "steps");
    let done = job.steps.iter().filter(|step| progress.has(step)).count();
    out.headline(if has_build {
        format!("{name}: the job of {way}, {done} of {steps} done.")
    } else {
        format!("{name}: the job of {way}, {steps}.")
    });
    out.turning_caution();
    out.line("");
    out.paragraph(format!("\"By hand\" beside a step: {BY_HAND}. Every other is right only at its own place of crank and rotor."));
    let mut heading = None;
    for (index, step) in job.steps.iter().enumerate() {
        if stage.is_some_and(|stage| !step.stages.contains(&stage)) {
            continue;
        }
        if heading.replace(step.stage) != Some(step.stage) {
            out.line("");
            out.headline(format!("{}:", capitalised(step.stage.phrase())));
        }
        out.line("");
        let entry = progress.entry(step);
        let by_hand = if step.is_by_hand() { ", by hand" } else { "" };
        let sign = if entry.is_some() { "[x]" } else { "[ ]" };
        let title = format!("{}. {} ({}{by_hand})", index + 1, step.title, step.key);
        out.strong_hanging(title, &format!("{sign} "), "    ");
        match entry {
            Some(entry) => done_lines(out, step, entry, phasing),
            None => step_lines(out, step, phasing.engine().written().units),
        }
    }
    if has_build {
        next(out, job, phasing, progress);
    }
}

/// What there is to do, what could hurt first.
fn step_lines(out: &mut TextWriter, step: &Step, units: Units) {
    if let Some(caution) = step.caution {
        out.warn(format!("Caution: {caution}"), "    ");
    }
    out.hanging(&step.action, "    ", "    ");
    if let Some(tightening) = &step.tightening {
        out.hanging(format!("Tighten: {}.", tightening.words()), "    ", "    ");
    }
    for seen in &step.must_be_seen {
        out.hanging(seen, "    - ", "      ");
    }
    if let Some(instead) = &step.instead {
        out.hanging(instead, "    ", "    ");
    }
    for blank in &step.write_down {
        out.hanging(
            format!(
                "write down {}: {} ({})",
                blank.name,
                blank.what,
                blank.allowed(units)
            ),
            "    = ",
            "      ",
        );
    }
}

/// How a step was done.
fn done_lines(out: &mut TextWriter, step: &Step, entry: &Done, phasing: &Phasing) {
    let units = phasing.engine().written().units;
    let readings = readings(step, entry, units);
    let readings = if readings.is_empty() {
        String::new()
    } else {
        format!(": {}", readings.join(", "))
    };
    out.hanging(entry.words() + &readings, "    ", "      ");
    let reckoned = reckon(step, phasing, &entry.readings);
    for words in reckoned.iter().flat_map(|reckoned| &reckoned.words) {
        out.hanging(words, "    - ", "      ");
    }
}

/// What was measured: `a 21°`.
fn readings(step: &Step, entry: &Done, units: Units) -> Vec<String> {
    let told = entry.readings.iter().map(|(name, reading)| {
        let told = step.blank(name).map(|blank| blank.told(*reading, units));
        format!("{name} {}", told.unwrap_or_else(|| reading.to_string()))
    });
    told.collect()
}

/// The step that comes next.
pub(super) fn next(out: &mut TextWriter, job: &Job, phasing: &Phasing, progress: &Progress) {
    out.line("");
    let Some((index, step)) = progress
        .next_open(job)
        .and_then(|at| Some((at, job.steps.get(at)?)))
    else {
        out.headline("The job is done.");
        return;
    };
    out.headline(format!(
        "Next, {}. {} ({})",
        index + 1,
        step.title,
        step.key
    ));
    step_lines(out, step, phasing.engine().written().units);
}

/// What is taken over, and what is not.
pub(super) fn told(over: &TakeOver, units: Units) -> String {
    let mut out = TextWriter::new(TerminalStyle::default());
    if over.changes.is_empty() {
        out.line("Nothing that was measured changes the description.");
    }
    for change in &over.changes {
        let before = change
            .before
            .map_or_else(|| "not stated".to_owned(), |before| before.to_string());
        out.line(format!(
            "{}: {before} before, {} measured ({})",
            change.path,
            change.after,
            units.short()
        ));
    }
    for why in &over.not_taken {
        out.paragraph(why);
    }
    out.finish()
}
