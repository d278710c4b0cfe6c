//! The job for a program.

use serde::Serialize;

use crate::description::Torque;
use crate::phasing::Phasing;
use crate::procedures::job::{Blank, Done, Reckoned, Step, TakeOver, reckon};
use crate::words::Units;

#[derive(Serialize)]
pub(super) struct JobRecord<'a> {
    pub(super) way: &'static str,
    pub(super) stage: Option<&'static str>,
    pub(super) done: usize,
    pub(super) of: usize,
    pub(super) next: Option<&'a str>,
    pub(super) steps: Vec<StepRecord<'a>>,
}

#[derive(Serialize)]
pub(super) struct StepRecord<'a> {
    key: &'a str,
    title: &'a str,
    caution: Option<&'static str>,
    action: &'a str,
    must_be_seen: &'a [String],
    instead: Option<&'a str>,
    write_down: Vec<BlankRecord>,
    tightening: Option<TighteningRecord<'a>>,
    stage: &'static str,
    stages: Vec<&'static str>,
    crank_deg: f64,
    by_hand: bool,
    done: Option<&'a Done>,
    reckoned: Vec<String>,
    right: Option<bool>,
}

#[derive(Serialize)]
struct BlankRecord {
    name: &'static str,
    what: &'static str,
    unit: &'static str,
    least: f64,
    most: f64,
    field: Option<&'static str>,
}

#[derive(Serialize)]
struct TighteningRecord<'a> {
    words: String,
    newton_metres: Option<f64>,
    passes: &'a [f64],
    angle_deg: Option<f64>,
    sequence: &'a [u32],
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    rows: &'a [Vec<u32>],
}

impl<'a> StepRecord<'a> {
    pub(super) fn of(
        step: &'a Step,
        entry: Option<&'a Done>,
        phasing: &Phasing,
        units: Units,
    ) -> Self {
        let reckoned = entry.and_then(|entry| reckon(step, phasing, &entry.readings));
        let Reckoned { words, right } = reckoned.unwrap_or(Reckoned {
            words: Vec::new(),
            right: None,
        });
        let blank = |blank: &Blank| BlankRecord {
            name: blank.name,
            what: blank.what,
            unit: blank.range.suffix(units).trim(),
            least: blank.range.least_in(units),
            most: blank.range.most_in(units),
            field: blank.field,
        };
        Self {
            key: &step.key,
            title: &step.title,
            caution: step.caution,
            action: &step.action,
            must_be_seen: &step.must_be_seen,
            instead: step.instead.as_deref(),
            write_down: step.write_down.iter().map(blank).collect(),
            tightening: step.tightening.as_ref().map(|tightening| TighteningRecord {
                words: tightening.words(),
                newton_metres: tightening.torque.map(Torque::newton_metres),
                passes: &tightening.passes,
                angle_deg: tightening.angle_deg,
                sequence: &tightening.sequence,
                rows: &tightening.rows,
            }),
            stage: step.stage.word(),
            stages: step.stages.iter().map(|stage| stage.word()).collect(),
            crank_deg: step.crank.degrees(),
            by_hand: step.is_by_hand(),
            done: entry,
            reckoned: words,
            right,
        }
    }
}

#[derive(Serialize)]
pub(super) struct TakeOverRecord<'a> {
    changes: Vec<ChangeRecord>,
    not_taken: &'a [String],
    description: &'a str,
}

#[derive(Serialize)]
struct ChangeRecord {
    path: &'static str,
    before: Option<f64>,
    after: f64,
}

impl<'a> TakeOverRecord<'a> {
    pub(super) fn of(over: &'a TakeOver, description: &'a str) -> Self {
        let changes = over.changes.iter().map(|change| ChangeRecord {
            path: change.path,
            before: change.before,
            after: change.after,
        });
        Self {
            changes: changes.collect(),
            not_taken: &over.not_taken,
            description,
        }
    }
}
