//! `dotwise dropin`: how to drop the distributor in, and how to know firing TDC from overlap.

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use super::stage::StageArgs;
use crate::angle::Direction;
use crate::description::{Coupling, Distributor};
use crate::diagnosis::stage::Stage;
use crate::diagnosis::{Revolution, fault};
use crate::engine::Subject;
use crate::laws::{chain_run, gear_train};
use crate::output::as_built;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::crank_marks::{CrankMark, two_ends};
use crate::procedures::dropin::{DropIn, OtherWay, ShaftIn, dropin_at, marks_meet_on_overlap};
use crate::procedures::static_timing::{
    StaticTiming, leads_on_coils, set_by_lamp, static_timing_at,
};
use crate::procedures::witnesses::{FEWEST, Witness, Witnesses, by_number_one};
use crate::words::{ahead, body_way, capitalised, clockwise, degrees, teeth};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    #[command(flatten)]
    in_sight: StageArgs,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// What the answer speaks of.
const DROP_IN: &[Subject] = &[
    Subject::Valves,
    Subject::Marks,
    Subject::Rotor,
    Subject::Drive,
];

/// What it speaks of without a distributor.
const STATIC_TIMING: &[Subject] = &[Subject::Valves, Subject::Marks, Subject::Sparks];

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let (stage, without) = (
            self.in_sight.stage(phasing.engine())?,
            &self.in_sight.without,
        );
        let Some(found) = dropin_at(&phasing, stage, without) else {
            return self.without_distributor(&phasing, terminal);
        };
        let text = || {
            if let Some(first) = as_built::first(&phasing) {
                let mut out = TextWriter::new(terminal.out);
                out.paragraph(format!("{first} The distributor goes in once the crank can be turned to No. 1's firing TDC."));
                return out.finish();
            }
            text(&phasing, &found, stage, terminal.out)
        };
        let answer = Answer::about(&phasing, DROP_IN, terminal, self.json, || &found, text)?;
        Ok(answer.not_right(!found.agreed))
    }

    /// The answer for an engine without a distributor.
    fn without_distributor(&self, phasing: &Phasing, terminal: Terminal) -> Result<Answer, Error> {
        let (stage, without) = (
            self.in_sight.stage(phasing.engine())?,
            &self.in_sight.without,
        );
        let Some(found) = static_timing_at(phasing, stage, without) else {
            // One without a distributor has a static timing.
            return Ok(Answer::default());
        };
        let text = || {
            if let Some(first) = as_built::first(phasing) {
                let mut out = TextWriter::new(terminal.out);
                out.paragraph(format!("{first} The ignition is set once the crank can be turned to No. 1's firing TDC."));
                return out.finish();
            }
            timing_text(phasing, &found, stage, terminal.out)
        };
        let answer = Answer::about(phasing, STATIC_TIMING, terminal, self.json, || &found, text)?;
        Ok(answer.not_right(!found.agreed))
    }
}

/// The last step.
fn last_step(stage: Stage) -> String {
    let before = if stage.is_closed() {
        "Then"
    } else {
        "Before anything is closed,"
    };
    format!(
        "{before} turn the crank two full turns by hand, forwards, back to the mark, and look at all of it once more."
    )
}

/// The numbered steps of a text.
struct Steps {
    out: TextWriter,
    count: usize,
}

impl Steps {
    fn step(&mut self, text: impl AsRef<str>) {
        self.count += 1;
        self.out.line("");
        self.out.hanging(text, &format!("{}. ", self.count), "   ");
    }
}

fn text(phasing: &Phasing, found: &DropIn, stage: Stage, style: TerminalStyle) -> String {
    let engine = phasing.engine();
    let distributor = engine.metric().distributor.as_ref();
    let rotation = distributor.map_or(Direction::Clockwise, Distributor::rotation);
    let mut out = TextWriter::new(style);
    out.headline(format!("{}: dropping the distributor in", engine.name()));
    out.faint("Clock degrees on the cap run clockwise, looking down on it.");
    out.turning_caution();
    let mut steps = firing_tdc(
        out,
        phasing,
        &found.witnesses,
        &agreement(
            phasing,
            &found.witnesses,
            found.agreed,
            ", the rotor when it is in",
        ),
    );
    write_crank_marks(&mut steps, &found.crank_marks);
    if let Some(shaft) = &found.shaft {
        steps.step(put_the_shaft_in(shaft, found.coupling));
    }
    steps.step(point_the_rotor(found, rotation));
    steps.step(match found.coupling {
        coupling if found.shaft.is_some() => format!(
            "{} One tooth of the shaft is {} of rotor, {} of crank. What it would take to live with each:",
            match coupling {
                Coupling::CentralTongue => {
                    "The tongue is central: it goes home two ways, half a turn apart, and only one has the rotor by No. 1's lead. With \
                     the rotor half a turn out, lift the distributor off and turn it about; a tooth out, draw the shaft again."
                }
                _ => {
                    "The tongue is off its centre: it goes home one way only. If it does not drop, turn the rotor till it does; if the \
                     rotor then stands a tooth out, draw the shaft again."
                }
            },
            degrees(found.degrees_per_tooth),
            degrees(2.0 * found.degrees_per_tooth)
        ),
        Coupling::Gear => format!(
            "One tooth of the drive is {} of rotor, {} of crank. If it ends a tooth away, lift it and try again. What it would take to \
             live with it:",
            degrees(found.degrees_per_tooth),
            degrees(2.0 * found.degrees_per_tooth)
        ),
        Coupling::OffsetTongue => {
            "The tongue is off its centre: it goes home one way only. If it does not drop, do not force it: turn the \
             rotor till it does."
                .to_owned()
        }
        Coupling::CentralTongue => {
            "The tongue is central: it goes home two ways, half a turn apart, and only one has the rotor by No. 1's \
             lead. The other:"
                .to_owned()
        }
    });
    let clamp = distributor.and_then(|distributor| distributor.body_range);
    for way in &found.teeth {
        let way = other_way(way, rotation, found, clamp);
        steps.out.hanging(way, "   - ", "     ");
    }
    let leads: Vec<String> = found
        .leads
        .iter()
        .map(|lead| {
            let tower = degrees(lead.tower.degrees());
            format!("No. {} at {tower}", lead.cylinder)
        })
        .collect();
    steps.step(format!(
        "Leads, {} round the cap: {}.",
        rotation.word(),
        leads.join(", ")
    ));
    steps.step(last_step(stage));
    steps.out.finish()
}

/// The first step: No. 1's firing TDC, with its witnesses and whether they agree.
fn firing_tdc(
    mut out: TextWriter,
    phasing: &Phasing,
    witnesses: &Witnesses,
    agreement: &str,
) -> Steps {
    if let Some(on_overlap) = marks_meet_on_overlap(phasing.engine()) {
        out.caution(on_overlap);
    }
    let drive = &phasing.engine().metric().cam_drive;
    if let Some(count) = chain_run::count_words(drive) {
        let tooth = degrees(gear_train::crank_per_cam_tooth(drive).degrees());
        let out_by = chain_run::miscounted_words(drive);
        out.paragraph(format!(
            "First the cam drive: {count} must lie between the marks of its wheels; {out_by}, {tooth} of crank."
        ));
    }
    let mut steps = Steps { out, count: 0 };
    steps.step(
        "Turn the crank forwards to No. 1's firing TDC. If you pass the mark, back off well past it and come up to it again, so that \
         slack lies where it runs. The crank's own mark cannot tell firing from overlap; these can:",
    );
    for Witness {
        name,
        firing,
        overlap,
        ..
    } in &witnesses.here
    {
        let rest = " ".repeat(16);
        let out = &mut steps.out;
        out.hanging(capitalised(name), "   - ", "     ");
        out.hanging(firing, "       firing:  ", &rest);
        out.hanging(overlap, "       overlap: ", &rest);
    }
    steps.out.line("");
    steps.out.hanging(agreement, "   ", "   ");
    if let Some(too_few) = witnesses.too_few() {
        steps.out.caution(too_few);
    }
    steps
}

/// What the crankshaft's own marks show, and where two of them must agree.
fn write_crank_marks(steps: &mut Steps, marks: &[CrankMark]) {
    for mark in marks {
        steps.out.hanging(mark.shows(), "   ", "   ");
    }
    if let Some(two_ends) = two_ends(marks) {
        steps.out.hanging(two_ends, "   ", "   ");
    }
}

/// How the ignition is set without a distributor.
fn timing_text(
    phasing: &Phasing,
    found: &StaticTiming,
    stage: Stage,
    style: TerminalStyle,
) -> String {
    let engine = phasing.engine();
    let mut out = TextWriter::new(style);
    out.headline(format!(
        "{}: setting the ignition, without a distributor",
        engine.name()
    ));
    out.turning_caution();
    let agreement = agreement(phasing, &found.witnesses, found.agreed, "");
    let mut steps = firing_tdc(out, phasing, &found.witnesses, &agreement);
    write_crank_marks(&mut steps, &found.crank_marks);
    for step in set_by_lamp(found, engine.written().units) {
        steps.step(step);
    }
    if !found.coils.is_empty() {
        steps.step(leads_on_coils(&found.coils));
    }
    steps.step(last_step(stage));
    steps.out.finish()
}

/// The geared shaft put in before the distributor.
fn put_the_shaft_in(shaft: &ShaftIn, coupling: Coupling) -> String {
    let side = match coupling {
        Coupling::CentralTongue => "either end of its slot",
        _ => "the narrow side of its slot",
    };
    let turns = if shaft.turns_on_entry_deg == 0.0 {
        "It does not turn on its way into mesh".to_owned()
    } else {
        format!(
            "On its way into mesh it turns {} {}",
            degrees(shaft.turns_on_entry_deg.abs()),
            clockwise(shaft.turns_on_entry_deg)
        )
    };
    let how = match (shaft.start, shaft.end) {
        (Some(start), Some(end)) if shaft.turns_on_entry_deg != 0.0 => format!(
            "hold it with {side} at {} and let it down into mesh. {turns}, and {side} must end at {}",
            degrees(start.degrees()),
            degrees(end.degrees())
        ),
        (_, Some(end)) => format!(
            "let it down into mesh with {side} at {}. {turns}",
            degrees(end.degrees())
        ),
        _ => format!(
            "let it down into mesh so that {side} stands as it stood when the shaft was drawn. The file does not say where (`slot_at`): go by \
             your own mark or picture, or see below where the rotor ends. {turns}"
        ),
    };
    format!("The shaft first, the distributor not yet on it: {how}.")
}

/// Where the rotor must point before the drive is installed, and where it ends.
fn point_the_rotor(found: &DropIn, rotation: Direction) -> String {
    let tower = found
        .leads
        .first()
        .map_or(found.rotor_end, |lead| lead.tower);
    let end = by_number_one(found.rotor_end, tower, rotation);
    if found.shaft.is_some() {
        return format!(
            "Then the distributor: point its rotor at {end}, and let it down until its tongue finds the slot; it does not turn on the way."
        );
    }
    if found.turns_on_entry_deg == 0.0 {
        return format!(
            "Point the rotor at {end}, and let the drive down: it does not turn on the way."
        );
    }
    format!(
        "Before letting the drive down, point the rotor at {}. On the way home it turns {} {}, and must end at {end}.",
        degrees(found.rotor_start.degrees()),
        degrees(found.turns_on_entry_deg.abs()),
        clockwise(found.turns_on_entry_deg)
    )
}

/// Whether the witnesses agree, as built; `beside`, what is looked at beside them.
fn agreement(phasing: &Phasing, witnesses: &Witnesses, agreed: bool, beside: &str) -> String {
    let telling = witnesses.telling();
    if agreed && telling < FEWEST {
        return "Of these, all that tell must say firing.".to_owned();
    }
    if agreed {
        return format!(
            "On this engine {telling} of these tell the two apart. Take at least three{beside}; all that tell must say firing."
        );
    }
    let against: Vec<String> = witnesses
        .here
        .iter()
        .filter(|witness| witness.tells && witness.revolution != Some(Revolution::Firing))
        .map(|witness| format!("{} shows {}", witness.name, witness.now))
        .collect();
    format!(
        "As built they do not agree, the crank at No. 1's firing TDC: {}. {} Put that right first.",
        against.join("; "),
        fault::describe(phasing.engine(), phasing.assembly())
    )
}

fn other_way(way: &OtherWay, rotation: Direction, found: &DropIn, clamp: Option<f64>) -> String {
    let where_to = match found.coupling {
        _ if way.tongue_half_turn => "the tongue half a turn out".to_owned(),
        Coupling::CentralTongue if found.shaft.is_none() => "half a turn out".to_owned(),
        _ if found.shaft.is_some() => format!(
            "the shaft {} {}",
            teeth(way.drive_teeth),
            ahead(way.drive_teeth > 0)
        ),
        _ => format!("{} {}", teeth(way.drive_teeth), ahead(way.drive_teeth > 0)),
    };
    let clamp = match (way.within_clamp, clamp) {
        (Some(true), Some(range)) => format!("; the clamp's {} allow it", degrees(range)),
        (_, Some(range)) => {
            format!(
                "; the clamp's {} do not allow it, so {} it again",
                degrees(range),
                if found.shaft.is_some() && !way.tongue_half_turn {
                    "draw"
                } else {
                    "lift"
                }
            )
        }
        _ => ", if the clamp lets it".into(),
    };
    format!(
        "{where_to}: it would take the body {} {}{clamp}",
        degrees(way.body_turn_deg.abs()),
        body_way(rotation, way.body_turn_deg)
    )
}
