//! What was measured, taken over into the description.

use std::collections::BTreeMap;

use super::progress::Progress;
use super::reckon::degreed;
use super::steps::Job;
use crate::description::{Clearance, Description, Valve, job_steps as keys};
use crate::engine::Engine;
use crate::phasing::Phasing;
use crate::procedures::degreeing::{Found, trim_deg};

/// A field that a reading changes, in the file's units.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The field's place: `clearance.intake_drop`.
    pub path: &'static str,
    /// What the description has, where it has it.
    pub before: Option<f64>,
    /// What was measured.
    pub after: f64,
}

/// A description with what was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct TakeOver {
    /// What is changed in it.
    pub changes: Vec<Change>,
    /// Readings that are not taken over, and why: a sentence each.
    pub not_taken: Vec<String>,
    /// The changed description.
    pub description: Description,
}

/// Takes every reading that has a field over into the description, of the steps that are done.
pub fn take_over(phasing: &Phasing, progress: &Progress) -> TakeOver {
    let engine = phasing.engine();
    let mut over = TakeOver {
        changes: Vec::new(),
        not_taken: Vec::new(),
        description: engine.written().clone(),
    };
    let job = Job::by(phasing, progress.way());
    let readings = |key: &str| -> BTreeMap<String, f64> {
        let step = job.step(key);
        let done = step.and_then(|step| progress.entry(step));
        done.map_or_else(BTreeMap::new, |done| done.readings.clone())
    };
    backlash(&mut over, &readings(keys::CAM_END_PLAY.key));
    drops(&mut over, &readings(keys::CLEARANCE_DROP.key));
    events(&mut over, phasing, &readings(keys::CAM_DEGREED.key));
    over.changes
        .retain(|change| change.before != Some(change.after));
    // What no engine can be is not taken over.
    if let Err(findings) = Engine::new(over.description.clone()) {
        let why = findings.iter().find(|finding| finding.is_error());
        over.not_taken.push(format!(
            "Nothing was taken over, for the description would be no engine then: {}.",
            why.map_or_else(String::new, |finding| finding.message.clone())
        ));
        over.changes.clear();
        over.description = engine.written().clone();
    }
    over
}

impl TakeOver {
    fn change(&mut self, path: &'static str, before: Option<f64>, after: f64) {
        self.changes.push(Change {
            path,
            before,
            after,
        });
    }
}

fn backlash(over: &mut TakeOver, readings: &BTreeMap<String, f64>) {
    if let Some(&backlash) = readings.get("backlash") {
        let before = over.description.cam_drive.backlash.replace(backlash);
        over.change("cam_drive.backlash", before, backlash);
    }
}

fn drops(over: &mut TakeOver, readings: &BTreeMap<String, f64>) {
    let (intake, exhaust) = (readings.get("intake-drop"), readings.get("exhaust-drop"));
    let before = over.description.clearance.clone();
    let (Some(intake_drop), Some(exhaust_drop)) = (
        intake
            .copied()
            .or(before.as_ref().map(|before| before.intake_drop)),
        exhaust
            .copied()
            .or(before.as_ref().map(|before| before.exhaust_drop)),
    ) else {
        if intake.or(exhaust).is_some() {
            over.not_taken.push(
                "One valve's drop alone was read: the description needs both, `intake_drop` and `exhaust_drop`.".to_owned(),
            );
        }
        return;
    };
    if intake.or(exhaust).is_none() {
        return;
    }
    over.description.clearance = Some(Clearance {
        intake_drop,
        exhaust_drop,
        valve_angle: before.as_ref().and_then(|before| before.valve_angle),
        valves_touch_at: before.as_ref().and_then(|before| before.valves_touch_at),
    });
    let of = |pick: fn(&Clearance) -> f64| before.as_ref().map(pick);
    over.change(
        "clearance.intake_drop",
        of(|before| before.intake_drop),
        intake_drop,
    );
    over.change(
        "clearance.exhaust_drop",
        of(|before| before.exhaust_drop),
        exhaust_drop,
    );
}

/// The events of No. 1's valves, where the camshaft stands right and they were read at the lift at
/// which the description quotes its own.
fn events(over: &mut TakeOver, phasing: &Phasing, readings: &BTreeMap<String, f64>) {
    /// Lifts this alike are one, in the file's units.
    const SAME: f64 = 1e-3;
    let drawn = Phasing::as_drawn(phasing.engine());
    match degreed(&drawn, readings) {
        None => return,
        Some(Ok(found)) if found.found == Found::Right => {}
        Some(_) => {
            over.not_taken.push(
                "The camshaft's events were not taken over: by these readings it does not stand right, and a wrong place is no property of the engine. \
                 Put it right first, and read again."
                    .to_owned(),
            );
            return;
        }
    }
    let Some(&lift) = readings.get("lift") else {
        return;
    };
    for valve in Valve::BOTH {
        let read = |end: &str| readings.get(&format!("{}-{end}", valve.word())).copied();
        let (Some(opens), Some(closes)) = (read("opens"), read("closes")) else {
            continue;
        };
        let quoted = over.description.valves.events(valve).ok();
        let at = quoted.as_ref().map(|events| events.quoted_at);
        if at.is_none_or(|at| (at - lift).abs() > SAME) {
            over.not_taken.push(format!(
                "The {}'s events were not taken over: they were read at another lift than the description quotes them at.",
                valve.word()
            ));
            continue;
        }
        // Readings count from overlap TDC; a card's angles from its own dead centres.
        let (early, late) = match valve {
            Valve::Intake => (-opens, closes - 180.0),
            Valve::Exhaust => (-180.0 - opens, closes),
        };
        // A trim stands beside the events in a description, and is in what was read.
        let trim_deg = trim_deg(phasing.engine(), valve);
        let (early, late) = (early - trim_deg, late + trim_deg);
        let valves = &mut over.description.valves;
        let (first, second, paths) = match valve {
            Valve::Intake => (
                &mut valves.intake.opens_btdc,
                &mut valves.intake.closes_abdc,
                ["valves.intake.opens_btdc", "valves.intake.closes_abdc"],
            ),
            Valve::Exhaust => (
                &mut valves.exhaust.opens_bbdc,
                &mut valves.exhaust.closes_atdc,
                ["valves.exhaust.opens_bbdc", "valves.exhaust.closes_atdc"],
            ),
        };
        if first.is_none() || second.is_none() {
            over.not_taken.push(format!(
                "The {}'s events were not taken over: the description does not give them as the two angles.",
                valve.word()
            ));
            continue;
        }
        let (was_first, was_second) = (first.replace(early), second.replace(late));
        over.change(paths[0], was_first, early);
        over.change(paths[1], was_second, late);
    }
}
