//! `dotwise clearance`: least room between valves and pistons, and for each tooth of the cam out.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::description::Valve;
use crate::diagnosis::verdict::{clearance_sentence, valve_to_valve};
use crate::engine::Subject;
use crate::laws::OpenTogether;
use crate::laws::clearance::{LeastGaps, least_allowed_mm};
use crate::laws::gear_train::CamTeeth;
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::{ByTeeth, Phasing, ValveClearance};
use crate::words::{Units, ahead, from_nearest_tdc, length, serialize_rounded_option};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct ClearanceRecord<'a> {
    #[serde(flatten)]
    least: &'a LeastGaps,
    by_teeth: &'a [ByTeeth],
    #[serde(skip_serializing_if = "Option::is_none")]
    valve_to_valve: Option<ValveToValve>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    by_camshaft: Vec<CamshaftRecord<'a>>,
}

/// The two valves of a cylinder against each other, where the lift at which they touch was measured.
#[derive(Serialize)]
struct ValveToValve {
    keep_clear: bool,
    #[serde(serialize_with = "serialize_rounded_option")]
    touch_at_mm: Option<f64>,
    #[serde(flatten)]
    together: Option<OpenTogether>,
}

impl ValveToValve {
    fn of(phasing: &Phasing) -> Option<Self> {
        let measured = phasing.engine().metric().clearance.as_ref();
        Some(Self {
            keep_clear: phasing.valves_keep_clear_of_one_another()?,
            touch_at_mm: measured.and_then(|measured| measured.valves_touch_at),
            together: phasing.open_together(),
        })
    }
}

/// What one camshaft of several leaves for each tooth it is out, the others as drawn.
#[derive(Serialize)]
struct CamshaftRecord<'a> {
    name: &'a str,
    by_teeth: Vec<ByTeeth>,
}

/// Each camshaft moved alone, where there are several.
fn by_camshaft(phasing: &Phasing) -> Vec<CamshaftRecord<'_>> {
    let engine = phasing.engine();
    if !engine.has_several_camshafts() {
        return Vec::new();
    }
    let names = engine.camshaft_names().enumerate();
    names
        .filter_map(|(camshaft, name)| {
            let by_teeth = phasing.least_gaps_by_teeth_of(camshaft)?;
            Some(CamshaftRecord { name, by_teeth })
        })
        .collect()
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let (Some(least), Some(rows)) = (phasing.least_gaps(), phasing.least_gaps_by_teeth())
        else {
            return Err(Error::line(
                format!("no clearance was measured on {}", phasing.engine().name()),
                "at TDC push each valve from its seat by hand until it touches the piston, and write how far it went: \
                 clearance: (intake_drop: …, exhaust_drop: …)",
            ));
        };
        let record = || ClearanceRecord {
            least: &least,
            by_teeth: &rows,
            valve_to_valve: ValveToValve::of(&phasing),
            by_camshaft: by_camshaft(&phasing),
        };
        let text = || text(&phasing, &least, &rows, terminal.out);
        let subjects = &[Subject::Clearance];
        let answer = Answer::about(&phasing, subjects, terminal, self.json, record, text)?;
        let meet = phasing.valves_keep_clear_of_one_another() == Some(false);
        Ok(answer.not_right(meet || !phasing.valve_clearance().is_enough()))
    }
}

fn text(phasing: &Phasing, least: &LeastGaps, rows: &[ByTeeth], style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = TextWriter::new(style);
    out.headline(format!(
        "{}: least room between valve and piston",
        phasing.engine().name()
    ));
    // Which lift its events are quoted at decides it, and is not known.
    let at_the_seat = matches!(
        phasing.valve_clearance(),
        ValveClearance::LiftNotStated { .. }
    );
    if at_the_seat && phasing.assembly().is_as_drawn() {
        out.headline(clearance_sentence(phasing).unwrap_or_default());
    }
    if at_the_seat {
        out.line("");
        out.faint("With the events taken at the seat:");
    }
    for valve in Valve::BOTH {
        let (name, gap) = (valve.word(), least.of(valve));
        let least_mm = least_allowed_mm(valve, units);
        let judged = if at_the_seat {
            "not known"
        } else if gap.gap_mm <= 0.0 {
            "they MEET"
        } else if gap.gap_mm < least_mm {
            "too little"
        } else {
            "enough"
        };
        out.line(format!(
            "  {name:<7}  {}, {}: {judged} ({} at least)",
            length(gap.gap_mm, units),
            from_nearest_tdc(gap.crank.degrees(), 1),
            length(least_mm, units)
        ));
    }
    if let Some(sentence) = valve_to_valve(phasing) {
        out.hanging(sentence, "  ", "  ");
    }
    out.line("");
    let built = phasing.assembly().cams();
    let engine = phasing.engine();
    let count = engine.camshaft_count();
    if !engine.has_several_camshafts() {
        out.faint("  cam teeth     intake       exhaust");
        table(&mut out, units, rows, |teeth| built.of(0) == teeth);
    } else {
        out.faint("  all alike     intake       exhaust");
        let alike = |teeth| built == CamTeeth::alike(count, teeth);
        table(&mut out, units, rows, alike);
        for (camshaft, own) in by_camshaft(phasing).iter().enumerate() {
            out.line("");
            out.faint(format!("  The {} alone, the others as drawn:", own.name));
            let alone = |teeth| built == CamTeeth::default().with(camshaft, teeth);
            table(&mut out, units, &own.by_teeth, alone);
        }
    }
    out.line("");
    out.paragraph(
        "The least asked for is common practice. Worked out from the drops measured at TDC: measure again on the engine itself (modelling clay on the piston, the head torqued \
         down, two turns by hand) before it is run.",
    );
    out.turning_caution();
    out.finish()
}

/// A line for each tooth out; what stands as built has a sign before it.
fn table(out: &mut TextWriter, units: Units, rows: &[ByTeeth], is_built: impl Fn(i32) -> bool) {
    for row in rows {
        let (intake, exhaust) = (row.least.intake.gap_mm, row.least.exhaust.gap_mm);
        let note = if intake <= 0.0 || exhaust <= 0.0 {
            "  valve meets piston"
        } else if !row.least.is_enough(units) {
            "  too little"
        } else {
            ""
        };
        let teeth = match row.cam_teeth {
            0 => "as drawn".to_owned(),
            teeth => format!("{} {}", teeth.abs(), ahead(teeth > 0)),
        };
        let here = if is_built(row.cam_teeth) { ">" } else { " " };
        out.line(format!(
            "{here} {teeth:<12}  {:<11}  {:<11}{note}",
            length(intake, units),
            length(exhaust, units)
        ));
    }
}
