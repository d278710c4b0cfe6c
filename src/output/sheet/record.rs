//! The closing record: what was looked at before the case was closed, what was measured and how
//! tight things are, who did it and who looked too. Empty, to be filled with a pencil, or filled
//! from what was seen.

use crate::diagnosis::next_look::LookAt;
use crate::diagnosis::observations::{Light, Observation, Observations};
use crate::diagnosis::proof::{Proof, ProofLook, clamp_taken};
use crate::diagnosis::stage::Stage;
use crate::diagnosis::{Diagnosis, fault};
use crate::drawing::Drawing;
use crate::engine::{Engine, Subject};
use crate::output::as_built::instead_of_steps;
use crate::output::paper::{Over, PLAIN_MM, PageWriter, Paper};
use crate::phasing::Phasing;
use crate::procedures::job::{Job, Progress, Way, reckon};
use crate::words::{before_tdc, by_the_tdc_mark, cylinders, degrees, number, tooth_off};

/// What the record speaks of.
pub const SUBJECTS: &[Subject] = &[
    Subject::Valves,
    Subject::Clearance,
    Subject::Rotor,
    Subject::Sparks,
    Subject::Play,
];

/// Ways that are not told apart, told one by one.
const MOST_HIDDEN: usize = 8;

/// The pages of the record: the looks of a proof with what was seen before it, and what that comes
/// to, None where nothing was seen; and what was measured, by the build file.
pub fn record(
    drawn: &Phasing,
    proof: &Proof,
    seen: &Observations,
    found: Option<&Diagnosis>,
    build: Option<&Progress>,
    paper: Paper,
) -> Vec<Drawing> {
    let mut writer = PageWriter::new(drawn, paper);
    writer.fill(|writer| write(writer, drawn, proof, seen, found, build));
    writer.finish()
}

/// Writes it, with what it rests on.
pub(super) fn write(
    writer: &mut PageWriter,
    drawn: &Phasing,
    proof: &Proof,
    seen: &Observations,
    found: Option<&Diagnosis>,
    build: Option<&Progress>,
) {
    let engine = drawn.engine();
    writer.start("Closing record", Over::Turning);
    if let Some(first) = instead_of_steps(drawn) {
        writer.paragraph(&first, PLAIN_MM, true);
        return;
    }
    writer.blanks(&["date", "engine number"].map(str::to_owned));
    writer.paragraph(
        &format!(
            "The looks are those that can be had {}.",
            proof.stage.phrase()
        ),
        PLAIN_MM,
        false,
    );
    if !seen.sightings.is_empty() {
        writer.heading("Seen", 20.0);
        let rows: Vec<Vec<String>> = seen
            .sightings
            .iter()
            .map(|sighting| vec![place(sighting), words(engine, sighting)])
            .collect();
        writer.table(&["crank, by its mark", "what was seen"], &rows);
        if let Some(leads) = &seen.leads {
            let leads: Vec<String> = leads.iter().map(u32::to_string).collect();
            writer.row("leads as traced", &leads.join("-"));
        }
        if seen.body_turn != 0.0 {
            writer.row("body turned", &degrees(seen.body_turn));
        }
    }
    looks(writer, engine, proof);
    hidden(writer, engine, proof);
    writer.heading("Verdict", 16.0);
    // Where as drawn is still among the ways, nothing is known to be out.
    let is_out = !proof.can_be_right;
    match found {
        Some(found) if found.is_right() && proof.ways > 1 => {
            let words = format!(
                "All that could be told {} is told, and nothing seen speaks against it. {} ways of putting it together are left that would look so.",
                proof.stage.phrase(),
                proof.ways
            );
            writer.paragraph(&words, PLAIN_MM, true);
        }
        Some(found) => {
            writer.paragraph(&found.headline(), PLAIN_MM, true);
            if is_out {
                for fit in found.fits.iter().take(1) {
                    writer.paragraph(&fit.describe(engine), PLAIN_MM, false);
                }
                writer.caution(
                    "Something is out: do not close it, and do not turn it by the starter, until it is put right and looked at anew.",
                );
            }
        }
        None if proof.cannot_tell_here.is_empty() => {
            writer.blanks(&["nothing but as drawn is left".to_owned()]);
        }
        None => writer.blanks(&["all that can be told now is told".to_owned()]),
    }
    torques(writer, engine);
    measured(writer, drawn, build);
    let signed = if proof.stage.is_closed() {
        "Signed"
    } else {
        "Signed, before it is closed"
    };
    writer.heading(signed, 14.0);
    writer.blanks(&["built by", "second pair of eyes"].map(str::to_owned));
    writer.paragraph(
        "The engine maker's manual and a qualified mechanic come before this record.",
        PLAIN_MM,
        false,
    );
    let also = clamp_taken(engine, seen, &proof.looks);
    writer.rests_on_also(SUBJECTS, also);
}

/// What was measured, step by step as the build file has it, and what it comes to; blanks where there
/// is none.
fn measured(writer: &mut PageWriter, drawn: &Phasing, build: Option<&Progress>) {
    let units = drawn.engine().written().units;
    writer.heading("Measured", 40.0);
    let job = Job::by(drawn, build.map_or(Way::default(), Progress::way));
    let mut any = false;
    for step in &job.steps {
        let Some(done) = build.and_then(|build| build.entry(step)) else {
            continue;
        };
        let readings = step.write_down.iter().filter_map(|blank| {
            let reading = done.readings.get(blank.name)?;
            Some(format!("{} {}", blank.name, blank.told(*reading, units)))
        });
        let mut told: Vec<String> = readings.collect();
        if told.is_empty() {
            continue;
        }
        any = true;
        told.extend(done.on.clone());
        writer.row(&step.title, &told.join(", "));
        let reckoned = reckon(step, drawn, &done.readings);
        for words in reckoned.map(|reckoned| reckoned.words).unwrap_or_default() {
            writer.indented(&words, PLAIN_MM, false, 4.0);
        }
    }
    if !any {
        writer.blanks(
            &[
                "true TDC, by the stop",
                "intake lobe centre",
                "exhaust lobe centre",
                "intake to piston, least",
                "exhaust to piston, least",
                "static timing",
            ]
            .map(str::to_owned),
        );
    }
}

/// The looks still to be taken, each with room for what is seen.
fn looks(writer: &mut PageWriter, engine: &Engine, proof: &Proof) {
    if proof.looks.is_empty() {
        return;
    }
    writer.heading("Looks to take, in this order", 24.0);
    writer.paragraph(
        "Begin at the first. If it is not right, turn the crank one whole turn, forwards, and look again: its own mark cannot tell which \
         turn it is on. Then on, forwards. If one is not right then, stop.",
        PLAIN_MM,
        false,
    );
    let rows: Vec<Vec<String>> = proof
        .looks
        .iter()
        .enumerate()
        .map(|(index, look)| {
            vec![
                (index + 1).to_string(),
                look.place_words(),
                look.look.clone(),
                look.right.clone(),
                String::new(),
            ]
        })
        .collect();
    let heads = ["", "crank, by its mark", "look at", "right is", "seen"];
    writer.table(&heads, &rows);
    let at_the_dots = |look: &ProofLook| matches!(look.at, LookAt::Dots(_));
    if engine.written().cam_drive_lies_in_the_case()
        && proof.stage != Stage::CaseOpen
        && proof.looks.iter().any(at_the_dots)
    {
        writer.paragraph(
            "The cam drive lies in the split case: take the look at its dots before that is closed, and write here what was seen then.",
            PLAIN_MM,
            true,
        );
    }
}

/// What no look can tell from as drawn at this stage.
fn hidden(writer: &mut PageWriter, engine: &Engine, proof: &Proof) {
    if proof.cannot_tell_here.is_empty() {
        return;
    }
    writer.heading("Not told apart at this stage", 12.0);
    for (assembly, stage) in proof.cannot_tell_here.iter().take(MOST_HIDDEN) {
        let when = stage.map_or("No look tells it apart.".to_owned(), |stage| {
            format!("It shows {}.", stage.phrase())
        });
        let line = format!("{} {when}", fault::describe(engine, assembly));
        writer.tick(&line, PLAIN_MM, false, 0.0);
        writer.skip(0.8);
    }
    let more = proof.cannot_tell_here.len().saturating_sub(MOST_HIDDEN);
    if more > 0 {
        writer.paragraph(&format!("And {more} more."), PLAIN_MM, false);
    }
}

/// How tight the builder's own steps say, with room for what was reached.
fn torques(writer: &mut PageWriter, engine: &Engine) {
    let steps = engine.written().steps.iter();
    let rows: Vec<Vec<String>> = steps
        .filter_map(|step| {
            let torque = step.torque?;
            let [written, other, _] = torque
                .in_every_unit()
                .map(|torque| format!("{} {}", number(torque.value(), 1), torque.unit()));
            let tight = format!("{written} ({other})");
            Some(vec![step.action.clone(), tight, String::new()])
        })
        .collect();
    if !rows.is_empty() {
        writer.heading("Torques", 16.0);
        writer.table(&["what", "how tight", "reached"], &rows);
    }
}

fn place(sighting: &Observation) -> String {
    let on = if sighting.turned_on {
        "turned on to "
    } else {
        ""
    };
    format!("{on}{}", by_the_tdc_mark(sighting.crank))
}

/// What a sighting holds, in a sentence.
fn words(engine: &Engine, sighting: &Observation) -> String {
    let mut all: Vec<String> = sighting
        .valves
        .iter()
        .map(|seen| {
            format!(
                "{} valve of No. {} {}",
                seen.valve.word(),
                seen.cylinder,
                seen.is.word()
            )
        })
        .collect();
    if !sighting.compression_felt.is_empty() {
        let felt: Vec<u8> = sighting
            .compression_felt
            .iter()
            .map(|&cylinder| cylinder as u8)
            .collect();
        all.push(format!("compression felt in {}", cylinders(&felt)));
    }
    if let Some(rotor) = sighting.rotor {
        all.extend(
            rotor
                .clock
                .map(|clock| format!("rotor at {}", degrees(clock))),
        );
        all.extend(
            rotor
                .tower
                .map(|tower| format!("rotor at the tower of No. {tower}")),
        );
    }
    if let Some(slot) = sighting.slot {
        all.push(format!("slot of the shaft at {}", degrees(slot.clock)));
    }
    if let Some(off) = &sighting.cam_teeth_off {
        for (camshaft, teeth) in off.counted(engine) {
            let name = engine.camshaft_name(camshaft);
            all.push(format!("dot of the {name} {}", tooth_off(teeth)));
        }
    }
    if let Some(spark) = sighting.spark {
        let by = match spark.by {
            Light::Lamp => "a lamp",
            Light::Strobe => "a timing light",
        };
        let when = before_tdc(spark.btdc);
        all.push(format!("spark of No. {} {when}, by {by}", spark.cylinder));
    }
    all.join("; ")
}
