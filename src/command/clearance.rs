//! `dotwise clearance`: least room between valves and pistons, and for each tooth of the cam out.

use std::fmt::Write as _;

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::angle::{CrankAngle, CrankTurn};
use crate::diagnosis::verdict;
use crate::laws::clearance::{Gap, LEAST_EXHAUST_MM, LEAST_INTAKE_MM, LeastGaps};
use crate::output::json::rounded;
use crate::output::terminal::TerminalStyle;
use crate::phasing::ByTeeth;
use crate::phasing::Phasing;
use crate::words::{COLUMNS, degrees, folded, length};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct ClearanceRecord {
    intake: GapRecord,
    exhaust: GapRecord,
    by_teeth: Vec<TeethRecord>,
}

#[derive(Serialize)]
struct GapRecord {
    gap_mm: f64,
    crank_deg: f64,
}

#[derive(Serialize)]
struct TeethRecord {
    cam_teeth: i32,
    intake_mm: f64,
    exhaust_mm: f64,
}

impl GapRecord {
    fn of(gap: Gap) -> Self {
        Self {
            gap_mm: rounded(gap.gap_mm),
            crank_deg: rounded(gap.crank.degrees()),
        }
    }
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
            let by_teeth = rows.iter().map(|row| TeethRecord {
                cam_teeth: row.cam_teeth,
                intake_mm: rounded(row.least.intake.gap_mm),
                exhaust_mm: rounded(row.least.exhaust.gap_mm),
            });
            Answer::json(&ClearanceRecord {
                intake: GapRecord::of(least.intake),
                exhaust: GapRecord::of(least.exhaust),
                by_teeth: by_teeth.collect(),
            })?
        } else {
            Answer::text(text(&phasing, &least, &rows, terminal.out))
        };
        Ok(answer.not_right(!enough(&least)))
    }
}

fn text(phasing: &Phasing, least: &LeastGaps, rows: &[ByTeeth], style: TerminalStyle) -> String {
    let units = phasing.engine().written().units;
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{}",
        style.strong(&format!(
            "{}: least room between valve and piston",
            phasing.engine().name()
        ))
    );
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
        let line = format!(
            "  {name}  {} at {}:",
            length(gap.gap_mm, units).replace('-', "−"),
            place(gap.crank)
        );
        let _ = writeln!(
            out,
            "{line} {judged} ({} at least)",
            length(least_mm, units)
        );
    }
    let _ = writeln!(
        out,
        "\n{}",
        style.faint("  cam teeth     intake       exhaust")
    );
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
            teeth if teeth > 0 => format!("{teeth} ahead"),
            teeth => format!("{} behind", -teeth),
        };
        let here = if row.cam_teeth == phasing.assembly().cam_teeth {
            ">"
        } else {
            " "
        };
        let line = format!(
            "{here} {teeth:<12}  {:<11}  {:<11}{note}",
            length(intake, units).replace('-', "−"),
            length(exhaust, units).replace('-', "−")
        );
        let _ = writeln!(out, "{}", line.trim_end());
    }
    let measured = "The least asked for is common practice. Worked out from the drops measured at TDC: measure again on the engine itself (modelling clay on the piston, the head torqued \
                    down, two turns by hand) before it is run.";
    let _ = writeln!(out, "\n{}", folded(measured, "", "", COLUMNS));
    let _ = writeln!(
        out,
        "\n{}",
        style.caution(&folded(verdict::TURNING_CAUTION, "", "", COLUMNS))
    );
    out
}

/// A place in a cylinder's own cycle, from the TDC it is nearer to.
fn place(crank: CrankAngle) -> String {
    let rounded = |off: f64| degrees((off * 10.0).round() / 10.0);
    match crank.degrees() {
        crank if crank < 180.0 => format!("{} after firing TDC", rounded(crank)),
        crank if crank < 360.0 => format!("{} before overlap TDC", rounded(360.0 - crank)),
        crank if crank < 540.0 => format!("{} after overlap TDC", rounded(crank - 360.0)),
        crank => format!("{} before firing TDC", rounded(720.0 - crank)),
    }
}
