//! A build file read, and what it cannot hold: each a finding with its place, all at once.

use std::sync::Arc;

use jiff::civil::Date;

use super::progress::Progress;
use super::steps::Job;
use crate::diagnosis::observations::check;
use crate::engine::Engine;
use crate::phasing::Phasing;
use crate::source::{self, Fault, Finding, faults};
use crate::words::{closest, joined, number};

faults! {
    /// What a build file cannot hold.
    enum BuildFault {
        OutOfRange, NotANumber, NotADay, NoSuchStep, NoSuchReading, AnotherEngine, TooMany, TextTooLong,
    }
}

/// Steps done at most, those undone among them: more than anyone builds.
const MOST_DONE: usize = 2000;
/// Characters of the notes at most.
const LONGEST_NOTES: usize = 4000;

/// What reading a build file came to.
#[derive(Clone, Debug)]
pub struct ReadProgress {
    /// What it holds, where it can be used.
    pub progress: Option<Progress>,
    /// What was found, in the order of the text: [`source::MOST_FINDINGS`] of it at most.
    pub findings: Vec<Finding>,
    /// How many more findings there were.
    pub more: usize,
}

impl Progress {
    /// Reads it, whatever engine it is of.
    ///
    /// # Errors
    /// With what is wrong with the text.
    pub fn read(text: &str) -> Result<Self, Vec<Finding>> {
        let read = Self::checked(text, findings);
        read.progress.ok_or(read.findings)
    }

    /// Reads the build file of this engine: each step and each reading must be one of its job.
    ///
    /// ```
    /// use dotwise::engine::scenes::BENCH;
    /// use dotwise::procedures::job::Progress;
    /// let text = r#"(format: 1, engine: "Bench four", done: [(step: "marks-meet", at: 0.0, on: "2026-11-31")])"#;
    /// let read = Progress::read_of(text, &BENCH.engine());
    /// assert!(read.progress.is_none());
    /// assert_eq!(read.findings[0].message, "`on` is `2026-11-31`, which is no day");
    /// ```
    pub fn read_of(text: &str, engine: &Arc<Engine>) -> ReadProgress {
        let phasing = Phasing::as_drawn(engine);
        Self::checked(text, |progress| {
            let mut found = findings(progress);
            let job = Job::by(&phasing, progress.way);
            found.extend(of_the_job(progress, &job, engine));
            found
        })
    }

    fn checked(text: &str, check: impl FnOnce(&Self) -> Vec<Finding>) -> ReadProgress {
        let (written, mut findings) = source::ron::<Self>(text);
        findings.extend(written.as_ref().map(check).unwrap_or_default());
        source::place(text, &mut findings);
        let more = source::keep_first(&mut findings);
        let usable = findings.iter().all(|finding| !finding.is_error());
        ReadProgress {
            progress: written.filter(|_| usable),
            findings,
            more,
        }
    }
}

/// What is wrong with it whatever engine it is of.
fn findings(progress: &Progress) -> Vec<Finding> {
    let mut findings = Vec::new();
    if progress.format != 1 {
        findings.push(
            Finding::error(BuildFault::OutOfRange, "format")
                .message(format!("`format` is {}; 1 is allowed", progress.format))
                .why("another version of this program wrote it")
                .fix("begin the job again, or open it with the program that wrote it"),
        );
    }
    let length = progress.notes.chars().count();
    if length > LONGEST_NOTES {
        findings.push(
            Finding::error(BuildFault::TextTooLong, "notes")
                .message(format!(
                    "`notes` has {length} characters; at most {LONGEST_NOTES} are allowed"
                ))
                .why("a longer text has no room on a sheet or in a panel")
                .fix(format!("leave out {} of them", length - LONGEST_NOTES)),
        );
    }
    if progress.done.len() > MOST_DONE {
        findings.push(
            Finding::error(BuildFault::TooMany, "done")
                .message(format!(
                    "{} steps done; at most {MOST_DONE} are allowed",
                    progress.done.len()
                ))
                .why("no build has nearly as many")
                .fix("take out those that are `undone: true`"),
        );
        return findings;
    }
    for (index, done) in progress.done.iter().enumerate() {
        if !done.at.is_finite() {
            findings.push(
                Finding::error(BuildFault::NotANumber, format!("done[{index}].at"))
                    .message(format!("`at` is {}, which is no place", number(done.at, 3)))
                    .why("it is where the crank or the rotor stood, in degrees")
                    .fix("write the degrees, or take the step out and do it again"),
            );
        }
        let Some(on) = &done.on else { continue };
        if !is_a_day(on) {
            findings.push(
                Finding::error(BuildFault::NotADay, format!("done[{index}].on"))
                    .message(format!("`on` is `{on}`, which is no day"))
                    .why("it is the day on which the step was done")
                    .fix("write the year, the month and the day, as in 2026-11-26"),
            );
        }
    }
    findings
}

/// Whether a text is a day as `2026-11-26`.
fn is_a_day(text: &str) -> bool {
    // The shortest way to write a day is the only one here.
    text.parse::<Date>()
        .is_ok_and(|day| day.to_string() == text)
}

/// What is in it that the job of its engine has not, or that cannot have been measured.
fn of_the_job(progress: &Progress, job: &Job, engine: &Engine) -> Vec<Finding> {
    let units = engine.written().units;
    let mut findings = Vec::new();
    if progress.engine != engine.name() {
        findings.push(
            Finding::warning(BuildFault::AnotherEngine, "engine")
                .message(format!(
                    "it is the build of `{}`, and the engine is `{}`",
                    progress.engine,
                    engine.name()
                ))
                .why("what was ticked and measured on one engine says nothing of another")
                .fix("name the build file of this engine; where only its name was changed, change it here too"),
        );
    }
    for (index, done) in progress.done.iter().enumerate() {
        let Some(step) = job.step(&done.step) else {
            findings.push(no_such_step(job, index, &done.step));
            continue;
        };
        for (name, &reading) in &done.readings {
            let place = format!("done[{index}].readings");
            let Some(blank) = step.blank(name) else {
                let names: Vec<&str> = step.write_down.iter().map(|blank| blank.name).collect();
                findings.push(
                    Finding::error(BuildFault::NoSuchReading, place)
                        .message(format!("step `{}` has no reading `{name}`", step.key))
                        .why("what is written down at a step has the name of its blank")
                        .fix(if names.is_empty() {
                            "take it out: nothing is measured at this step".to_owned()
                        } else {
                            format!("name one of {}", joined(&names, ", "))
                        }),
                );
                continue;
            };
            if !blank.holds(reading, units) {
                findings.push(
                    Finding::error(BuildFault::OutOfRange, place)
                        .message(format!(
                            "`{name}` is {}; {} is plausible",
                            blank.told(reading, units),
                            blank.allowed(units)
                        ))
                        .why(format!("it is {}", blank.what))
                        .fix("measure again, and check the unit"),
                );
            }
        }
    }
    let seen = progress.seen.as_ref();
    findings.extend(seen.map_or_else(Vec::new, |seen| {
        let mut found = check::findings(seen, engine);
        for finding in &mut found {
            finding.place = format!("seen.{}", finding.place);
        }
        found
    }));
    findings
}

/// A step that the job has not: it may have had it before the description was changed.
fn no_such_step(job: &Job, index: usize, key: &str) -> Finding {
    let keys: Vec<&str> = job.steps.iter().map(|step| step.key.as_str()).collect();
    let fix = closest(key, &keys).map_or_else(
        || "leave it, or take it out: it ticks nothing".to_owned(),
        |meant| format!("`{meant}` was probably meant; else leave it, for it ticks nothing"),
    );
    Finding::warning(BuildFault::NoSuchStep, format!("done[{index}].step"))
        .message(format!("the job of this engine has no step `{key}`"))
        .why("the description, or the way, was another when it was done")
        .fix(fix)
}
