//! What is said where the words on the command line are no command, or help is asked for.

use std::ffi::OsString;

use serde::Serialize;

use super::answer::Terminal;
use crate::output::json;
use crate::words::{folded_line, visible_lines};

/// Whether `--json` is among the words that the program was given.
pub fn asks_for_json(words: &[OsString]) -> bool {
    let options = words.iter().take_while(|word| *word != "--");
    options.into_iter().any(|word| word == "--json")
}

/// What is said of it, for a terminal. It quotes the words that were given.
pub fn usage(error: &clap::Error, terminal: Terminal) -> String {
    let style = if error.use_stderr() {
        terminal.err
    } else {
        terminal.out
    };
    let text = if style.colour {
        error.render().ansi().to_string()
    } else {
        error.render().to_string()
    };
    visible_lines(&text, style.colour)
        .lines()
        .map(|line| folded_line(line) + "\n")
        .collect()
}

#[derive(Serialize)]
struct UsageRecord<'a> {
    error: &'a str,
    fix: String,
    findings: [(); 0],
}

/// The same for a program, as one JSON document.
pub fn usage_document(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let (what, how) = text.split_once("\n\n").unwrap_or((&text, ""));
    let words: Vec<&str> = how.split_whitespace().collect();
    let record = UsageRecord {
        error: what.trim_start_matches("error: ").trim(),
        fix: words.join(" "),
        findings: [],
    };
    // Texts have their JSON.
    json::document(&record).unwrap_or_default()
}
