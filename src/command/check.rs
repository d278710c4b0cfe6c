//! `dotwise check`: what is wrong with a description, and what follows from it.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::output::{json, text};
use crate::phasing::Card;
use crate::source::Report;
use crate::words;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct CheckRecord<'a> {
    engine: Option<&'a str>,
    findings: Vec<json::FindingRecord<'a>>,
    summary: Option<Card>,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let opened = self.engine.open()?;
        let findings = &opened.read.findings;
        if !opened.read.is_ron {
            return Err(Error(opened.source.report(findings, terminal.err.colour)));
        }
        let phasing = opened
            .read
            .engine
            .is_some()
            .then(|| opened.phasing(terminal))
            .transpose()?;
        let wrong = phasing.is_none();
        if self.json {
            let report = Report {
                source: &opened.source.name,
                text: &opened.source.text,
                findings,
            };
            let engine = opened
                .read
                .description
                .as_ref()
                .map(|description| description.name.as_str());
            let record = CheckRecord {
                engine,
                findings: json::findings(&report),
                summary: phasing.as_ref().map(Card::of),
            };
            return Ok(Answer::json(&record)?.not_right(wrong));
        }
        let mut out = opened.source.report(findings, terminal.out.colour);
        let errors = findings.iter().filter(|found| found.is_error()).count();
        let counted = format!(
            "{}, {}",
            counted(errors, "error"),
            counted(findings.len() - errors, "warning")
        );
        let headline = match &phasing {
            Some(phasing) => format!("{}: {counted}.", phasing.engine().name()),
            None => format!(
                "{}: {counted}. It cannot be used until the errors are corrected.",
                opened.source.name
            ),
        };
        out += &terminal.out.strong(&headline);
        out.push('\n');
        if let Some(phasing) = &phasing {
            out += &text::card(phasing, terminal.out);
        }
        Ok(Answer::text(out).not_right(wrong))
    }
}

fn counted(count: usize, what: &str) -> String {
    match count {
        0 => format!("no {what}s"),
        _ => words::counted(count, what, &format!("{what}s")),
    }
}
