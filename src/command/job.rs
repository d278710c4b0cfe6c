//! `dotwise job`: the whole job step by step, what of it is done, and what was measured.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use clap::builder::PossibleValue;
use jiff::ZonedDateTime;
use jiff::civil::Date;

use super::answer::{Answer, Error, Terminal};
use super::build_file::BuildFile;
use super::input::{EngineArg, OpenedEngine, degrees, length};
use super::job_record::{JobRecord, StepRecord, TakeOverRecord};
use super::job_text::{next, told, whole};
use crate::angle::rounded;
use crate::description::fields::Unit;
use crate::description::job_steps;
use crate::diagnosis::stage::Stage;
use crate::engine::Engine;
use crate::output::as_built::instead_of_steps;
use crate::output::file;
use crate::output::sheet::SheetPart;
use crate::output::terminal::TextWriter;
use crate::phasing::Phasing;
use crate::procedures::job::{Job, Noted, Progress, Step, Way, reckon, take_over};
use crate::source;
use crate::words::{Units, joined};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// What is built: it settles which steps there are. Without it, what the build file says, or a
    /// new build.
    #[arg(long, value_name = "WAY", value_enum)]
    way: Option<Way>,
    /// The steps that can be done at this stage and no others; with --done, how far the build has
    /// got.
    #[arg(long, value_name = "STAGE", value_enum)]
    stage: Option<Stage>,
    /// The build file, `NAME.build.ron`: what is done, when, and what was measured.
    #[arg(long, value_name = "FILE")]
    build: Option<PathBuf>,
    /// Write in the build file that this step is done, with what was measured, as in
    /// `tdc-stop a=21 b=-15`; lengths as in 0.15mm, a plain number is in the file's units. The file
    /// is made where there is none.
    #[arg(long, num_args = 1.., value_names = ["KEY", "READING=VALUE"], requires = "build", conflicts_with_all = ["undo", "take_over"])]
    done: Option<Vec<String>>,
    /// Take a step back: it is kept in the build file as undone.
    #[arg(
        long,
        value_name = "KEY",
        requires = "build",
        conflicts_with = "take_over"
    )]
    undo: Option<String>,
    /// The day on which it was done, as in 2026-11-26; today where none is given.
    #[arg(long, value_name = "DAY", requires = "done", value_parser = day)]
    on: Option<Date>,
    /// Take what was measured over into the description: what changes, and the changed text on
    /// standard output or in the file of -o.
    #[arg(long, requires = "build")]
    take_over: bool,
    /// Where the changed description goes; the engine's own file only where it is named here.
    #[arg(short, long, value_name = "FILE", requires = "take_over")]
    output: Option<PathBuf>,
    /// Replace another file if it is there.
    #[arg(long, requires = "output")]
    force: bool,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

impl ValueEnum for Way {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.word()).help(self.what()))
    }
}

fn day(text: &str) -> Result<Date, String> {
    text.parse()
        .map_err(|_| "it is no day; write the year, the month and the day, as in 2026-11-26".into())
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let opened = self.engine.open()?;
        let phasing = opened.phasing(terminal)?;
        let mut kept = match &self.build {
            None => BuildFile::none(phasing.engine()),
            Some(path) => BuildFile::read(path, phasing.engine(), self.done.is_some(), terminal)?,
        };
        if let Some(way) = self.way {
            kept.progress.set_way(way);
        }
        let answer = if self.take_over {
            self.take_over(&opened, &phasing, &kept.progress)?
        } else {
            let stage = self.stage.or_else(|| kept.progress.stage());
            let job = Job::at(&phasing, kept.progress.way(), stage.unwrap_or_default());
            let written = self.write(&job, &phasing, &mut kept)?;
            self.list(&job, &phasing, &kept, written, terminal)?
        };
        Ok(Answer {
            err: kept.warnings + &answer.err,
            ..answer
        })
    }

    /// Writes what was done or taken back; gives a line about it, and what the readings come to.
    fn write(
        &self,
        job: &Job,
        phasing: &Phasing,
        kept: &mut BuildFile,
    ) -> Result<Vec<String>, Error> {
        let Some(path) = &self.build else {
            return Ok(Vec::new());
        };
        let units = phasing.engine().written().units;
        let mut lines = Vec::new();
        if let Some([key, readings @ ..]) = self.done.as_deref() {
            let step = named(job, key, phasing.engine(), "--done")?;
            let readings = readings
                .iter()
                .map(|reading| read(step, reading, units))
                .collect::<Result<BTreeMap<_, _>, _>>()?;
            let day = self.on.unwrap_or_else(|| ZonedDateTime::now().date());
            let reckoned = reckon(step, phasing, &readings);
            if let Some(wrong) = reckoned.as_ref().filter(|it| it.right == Some(false)) {
                return Err(Error::line(
                    format!("--done {}: not done. {}", step.key, wrong.words.join(" ")),
                    "put it right, measure again, and tick it then; nothing was written",
                ));
            }
            lines.extend(open_before(job, &kept.progress, step));
            kept.progress.tick(
                step,
                Noted {
                    on: Some(day.to_string()),
                    readings,
                    by_hand: true,
                },
            );
            lines.push(format!("{}: `{}` is done.", path.display(), step.key));
            lines.extend(reckoned.map(|reckoned| reckoned.words).unwrap_or_default());
        } else if let Some(key) = &self.undo {
            let step = named(job, key, phasing.engine(), "--undo")?;
            if !kept.progress.undo(step) {
                return Err(Error::line(
                    format!("--undo {}: the step is not done", step.key),
                    "`dotwise job ENGINE --build FILE` shows which are",
                ));
            }
            lines.push(format!("{}: `{}` is undone.", path.display(), step.key));
            lines.extend(done_after(job, &kept.progress, step));
        } else {
            return Ok(lines);
        }
        if let Some(stage) = self.stage {
            kept.progress.set_stage(stage);
        }
        let text = kept.progress.write().map_err(|error| {
            Error::line(
                format!("the build file cannot be written: {error}"),
                "tell the makers of Dotwise",
            )
        })?;
        file::whole(path, text.as_bytes(), true)?;
        Ok(lines)
    }

    /// The steps; after something was written, a line of that and the next step.
    fn list(
        &self,
        job: &Job,
        phasing: &Phasing,
        kept: &BuildFile,
        written: Vec<String>,
        terminal: Terminal,
    ) -> Result<Answer, Error> {
        let progress = &kept.progress;
        let shown = |step: &&Step| {
            !written.is_empty() || self.stage.is_none_or(|stage| step.stages.contains(&stage))
        };
        let units = phasing.engine().written().units;
        let record = || JobRecord {
            way: progress.way().word(),
            stage: progress.stage().map(Stage::word),
            done: job.steps.iter().filter(|step| progress.has(step)).count(),
            of: job.steps.len(),
            next: progress
                .next_open(job)
                .and_then(|at| job.steps.get(at))
                .map(|step| &*step.key),
            steps: job
                .steps
                .iter()
                .filter(|_| instead_of_steps(phasing).is_none())
                .filter(shown)
                .map(|step| StepRecord::of(step, progress.entry(step), phasing, units))
                .collect(),
        };
        let text = || {
            let mut out = TextWriter::new(terminal.out);
            if let Some(first) = instead_of_steps(phasing) {
                out.headline(&first);
                return out.finish();
            }
            if written.is_empty() {
                let has_build = self.build.is_some();
                whole(&mut out, job, phasing, progress, has_build, self.stage);
            } else {
                for line in &written {
                    out.paragraph(line);
                }
                next(&mut out, job, phasing, progress);
            }
            out.finish()
        };
        let subjects = SheetPart::Assembly.subjects();
        if !written.is_empty() && !self.json {
            return Ok(Answer::text(text()));
        }
        Answer::about(phasing, subjects, terminal, self.json, record, text)
    }

    fn take_over(
        &self,
        opened: &OpenedEngine,
        phasing: &Phasing,
        progress: &Progress,
    ) -> Result<Answer, Error> {
        let over = take_over(phasing, progress);
        let text = source::rewrite(&opened.source.text, &over.description).map_err(|error| {
            Error::line(
                format!("the description cannot be written: {error}"),
                "tell the makers of Dotwise",
            )
        })?;
        if let Some(path) = &self.output {
            let same = is_same(path, Path::new(&self.engine.engine));
            file::whole(path, text.as_bytes(), self.force || same)?;
        }
        let units = phasing.engine().written().units;
        if self.json {
            return Answer::json(&TakeOverRecord::of(&over, &text));
        }
        let told = told(&over, units);
        Ok(match &self.output {
            Some(path) => Answer::text(format!("{told}{}: written.\n", path.display())),
            None => Answer {
                err: told,
                ..Answer::file(text.into_bytes())
            },
        })
    }
}

/// Which steps that come before this one are not done yet, in a sentence.
fn open_before(job: &Job, progress: &Progress, step: &Step) -> Option<String> {
    let before = job.steps.iter().take_while(|other| other.key != step.key);
    let open: Vec<&str> = before
        .filter(|other| !progress.has(other))
        .map(|other| other.key.as_str())
        .collect();
    (!open.is_empty()).then(|| {
        format!(
            "Not done, and they come before it: {}. What is closed over them must be opened again.",
            joined(&open, ", ")
        )
    })
}

/// Which steps that come after this one stay ticked, in a sentence.
fn done_after(job: &Job, progress: &Progress, step: &Step) -> Option<String> {
    let after = job.steps.iter().skip_while(|other| other.key != step.key);
    let done: Vec<&str> = after
        .skip(1)
        .filter(|other| progress.has(other))
        .map(|other| other.key.as_str())
        .collect();
    (!done.is_empty()).then(|| {
        format!(
            "These come after it and are still ticked: {}. What was closed over it must be opened, and they must be looked at again.",
            joined(&done, ", ")
        )
    })
}

/// Whether two paths name one file.
fn is_same(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| path.canonicalize().ok();
    real(one).is_some_and(|one| Some(one) == real(other))
}

/// The step of that key or title.
fn named<'a>(job: &'a Job, key: &str, engine: &Engine, option: &str) -> Result<&'a Step, Error> {
    let by_its_title = || job.step(&job_steps::named(key, engine.written())?);
    job.step(key).or_else(by_its_title).ok_or_else(|| {
        let keys: Vec<&str> = job.steps.iter().map(|step| step.key.as_str()).collect();
        Error::line(
            format!("{option} {key}: the job of this engine has no such step"),
            format!("name one of {}", joined(&keys, ", ")),
        )
    })
}

/// A reading of a step as it is typed, in the file's units.
fn read(step: &Step, given: &str, units: Units) -> Result<(String, f64), Error> {
    let (name, value) = given.split_once('=').unwrap_or((given, ""));
    let names: Vec<&str> = step.write_down.iter().map(|blank| blank.name).collect();
    let Some(blank) = step.blank(name.trim()) else {
        return Err(Error::line(
            format!("--done {} {given}: the step has no such reading", step.key),
            if names.is_empty() {
                "leave it out: nothing is measured at this step".to_owned()
            } else {
                format!(
                    "name one of {}, as in `READING=VALUE`",
                    joined(&names, ", ")
                )
            },
        ));
    };
    let parsed = if blank.range.unit == Unit::Length {
        // Through another unit a length comes with figures that nobody measured.
        length(value).map(|length| rounded(length.millimetres(units) / units.millimetres()))
    } else {
        degrees(value)
    };
    let reading = parsed.map_err(|why| {
        Error::line(
            format!("--done {} {given}: {why}", step.key),
            format!("it is {}: {}", blank.what, blank.allowed(units)),
        )
    })?;
    if !blank.holds(reading, units) {
        return Err(Error::line(
            format!(
                "--done {} {name}: {} is {}; {} is plausible",
                step.key,
                name,
                blank.told(reading, units),
                blank.allowed(units)
            ),
            format!("measure again, and check the unit: it is {}", blank.what),
        ));
    }
    Ok((blank.name.to_owned(), reading))
}
