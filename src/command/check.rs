//! `dotwise check`: what is wrong with a description, and what follows from it.

use serde::Serialize;

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::engine::Subject;
use crate::output::terminal::TextWriter;
use crate::output::{json, text};
use crate::phasing::Card;
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
    more_findings: usize,
    summary: Option<Card>,
}

/// What the card speaks of.
const CARD: &[Subject] = &[
    Subject::Valves,
    Subject::Clearance,
    Subject::Marks,
    Subject::Rotor,
    Subject::Sparks,
    Subject::Play,
];

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let opened = self.engine.open()?;
        let findings = &opened.read.findings;
        if !opened.read.is_ron {
            return Err(opened.source.refused(findings, opened.read.more, terminal));
        }
        let phasing = opened
            .read
            .engine
            .is_some()
            .then(|| opened.phasing(terminal))
            .transpose()?;
        let wrong = phasing.is_none();
        if self.json {
            let report = opened.source.with(findings);
            let engine = opened
                .read
                .description
                .as_ref()
                .map(|description| description.name.as_str());
            let record = CheckRecord {
                engine,
                findings: json::findings(&report),
                more_findings: opened.read.more,
                summary: phasing.as_ref().map(Card::of),
            };
            let Some(phasing) = &phasing else {
                return Ok(Answer::json(&record)?.not_right(wrong));
            };
            return Answer::about(phasing, CARD, terminal, true, || record, String::new);
        }
        let mut out = opened
            .source
            .report(findings, opened.read.more, terminal.out.colour);
        let errors = findings.iter().filter(|found| found.is_error()).count();
        let mut counted = format!(
            "{}, {}",
            counted(errors, "error"),
            counted(findings.len() - errors, "warning")
        );
        if opened.read.more > 0 {
            counted += &format!(", and {} more", opened.read.more);
        }
        let headline = match &phasing {
            Some(phasing) => format!("{}: {counted}.", phasing.engine().name()),
            None => format!(
                "{}: {counted}. It cannot be used until the errors are corrected.",
                opened.source.name
            ),
        };
        let mut counts = TextWriter::new(terminal.out);
        counts.headline(headline);
        out += &counts.finish();
        let Some(phasing) = &phasing else {
            return Ok(Answer::text(out).not_right(wrong));
        };
        out += &text::card(phasing, terminal.out);
        Ok(Answer::text_about(phasing, CARD, terminal, out))
    }
}

fn counted(count: usize, what: &str) -> String {
    match count {
        0 => format!("no {what}s"),
        _ => words::counted(count, what, &format!("{what}s")),
    }
}
