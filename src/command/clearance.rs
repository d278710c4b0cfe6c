//! `dotwise clearance`: least room between valves and pistons, and for each tooth of the cam out.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::angle::CrankTurn;
use crate::laws::clearance::{LEAST_EXHAUST_MM, LEAST_INTAKE_MM, LeastGaps};
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::{ByTeeth, Phasing};
use crate::words::{ahead, from_nearest_tdc, length};

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
}

/// Whether both valves have what common practice asks for.
fn enough(least: &LeastGaps) -> bool {
    least.intake.gap_mm >= LEAST_INTAKE_MM && least.exhaust.gap_mm >= LEAST_EXHAUST_MM
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let (Some(least), Some(rows)) = (
            phasing.least_gaps(CrankTurn::new(0.0)),
            phasing.least_gaps_by_teeth(),
        ) else {
            return Err(Error::line(
                format!("no clearance was measured on {}", phasing.engine().name()),
                "at TDC push each valve from its seat by hand until it touches the piston, and write how far it went: \
                 clearance: (intake_drop: …, exhaust_drop: …)",
            ));
        };
        let answer = if self.json {
            Answer::json(&ClearanceRecord {
                least: &least,
                by_teeth: &rows,
            })?
        } else {
            Answer::text(text(&phasing, &least, &rows, terminal.out))
        };
        Ok(answer.not_right(!enough(&least)))
    }
}

fn text(phasing: &Phasing, least: &LeastGaps, rows: &[ByTeeth], style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = TextWriter::new(style);
    out.headline(format!(
        "{}: least room between valve and piston",
        phasing.engine().name()
    ));
    for (name, gap, least_mm) in [
        ("intake ", least.intake, LEAST_INTAKE_MM),
        ("exhaust", least.exhaust, LEAST_EXHAUST_MM),
    ] {
        let judged = if gap.gap_mm <= 0.0 {
            "they MEET"
        } else if gap.gap_mm < least_mm {
            "too little"
        } else {
            "enough"
        };
        out.line(format!(
            "  {name}  {} at {}: {judged} ({} at least)",
            length(gap.gap_mm, units),
            from_nearest_tdc(gap.crank.degrees(), 1),
            length(least_mm, units)
        ));
    }
    out.line("");
    out.faint("  cam teeth     intake       exhaust");
    for row in rows {
        let (intake, exhaust) = (row.least.intake.gap_mm, row.least.exhaust.gap_mm);
        let note = if intake <= 0.0 || exhaust <= 0.0 {
            "  valve meets piston"
        } else if !enough(&row.least) {
            "  too little"
        } else {
            ""
        };
        let teeth = match row.cam_teeth {
            0 => "as drawn".to_owned(),
            teeth => format!("{} {}", teeth.abs(), ahead(teeth > 0)),
        };
        let here = if row.cam_teeth == phasing.assembly().cam_teeth {
            ">"
        } else {
            " "
        };
        out.line(format!(
            "{here} {teeth:<12}  {:<11}  {:<11}{note}",
            length(intake, units),
            length(exhaust, units)
        ));
    }
    out.line("");
    out.paragraph(
        "The least asked for is common practice. Worked out from the drops measured at TDC: measure again on the engine itself (modelling clay on the piston, the head torqued \
         down, two turns by hand) before it is run.",
    );
    out.turning_caution();
    out.finish()
}
