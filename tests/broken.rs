//! Broken descriptions: one for each fault, made from `tests/broken/valid.ron` by one slip or two,
//! and beside each the words in which it is told. Where the wording changes on purpose, the new
//! words are in the build folder's `tmp`, to be read and kept.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use dotwise::engine::read;
use dotwise::source::{Report, Severity};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken")
}

/// Every broken description: the fault it is named for, and its text.
fn broken() -> Vec<(String, String)> {
    let mut all: Vec<_> = fs::read_dir(folder())
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "ron"))
        .map(|path| {
            (
                path.file_stem()
                    .expect("a name")
                    .to_string_lossy()
                    .into_owned(),
                fs::read_to_string(path).expect("text"),
            )
        })
        .filter(|(name, _)| name != "valid")
        .collect();
    all.sort();
    all
}

#[test]
fn the_valid_twin_has_nothing_found_in_it() {
    let read = read::engine(&fs::read_to_string(folder().join("valid.ron")).expect("text"));
    assert_eq!(read.findings, []);
    assert!(read.engine.is_some());
}

#[test]
fn each_is_the_twin_but_for_a_few_lines() {
    let twin = fs::read_to_string(folder().join("valid.ron")).expect("text");
    let twin: BTreeSet<&str> = twin.lines().collect();
    for (name, text) in broken() {
        let other = text.lines().filter(|line| !twin.contains(line)).count();
        let gone = twin
            .iter()
            .filter(|line| !text.lines().any(|other| other == **line))
            .count();
        assert!(
            (1..=5).contains(&(other + gone)) || other <= 4,
            "{name} differs in {other} lines, lacks {gone}"
        );
    }
}

#[test]
fn each_is_told_in_the_words_beside_it() {
    let mut otherwise = Vec::new();
    for (name, text) in broken() {
        let read = read::engine(&text);
        assert!(
            read.findings.iter().any(|finding| finding.name == name),
            "{name} is not found: {:#?}",
            read.findings
        );
        let wrong = read
            .findings
            .iter()
            .any(|finding| finding.severity == Severity::Error);
        assert_eq!(read.engine.is_none(), wrong, "{name}");
        let source = format!("{name}.ron");
        let shown = Report {
            source: &source,
            text: &text,
            findings: &read.findings,
        }
        .to_terminal(false);
        for finding in &read.findings {
            assert!(
                !finding.message.is_empty() && !finding.why.is_empty() && !finding.mend.is_empty(),
                "{name}"
            );
            assert!(finding.span.is_some(), "{name} points nowhere");
        }
        let pinned = folder().join(format!("{name}.txt"));
        if fs::read_to_string(&pinned).ok().as_deref() != Some(shown.as_str()) {
            fs::write(
                Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.txt")),
                &shown,
            )
            .expect("written");
            otherwise.push(format!("{name}:\n{shown}"));
        }
    }
    assert!(
        otherwise.is_empty(),
        "told otherwise than pinned:\n{}",
        otherwise.join("\n")
    );
}

fn is_name(word: &str) -> bool {
    word.starts_with(|first: char| first.is_ascii_uppercase())
        && word.chars().all(char::is_alphanumeric)
}

#[test]
fn every_fault_that_is_looked_for_has_its_broken_description() {
    // The names are taken from the source, so that a new check without one cannot be forgotten.
    let mut names = BTreeSet::new();
    let rooms = ["src/engine/check", "src/engine"]
        .map(|room| Path::new(env!("CARGO_MANIFEST_DIR")).join(room));
    for path in rooms
        .iter()
        .flat_map(|room| fs::read_dir(room).expect("a room"))
        .map(|entry| entry.expect("an entry").path())
    {
        if path.extension().is_none_or(|extension| extension != "rs") {
            continue;
        }
        let source = fs::read_to_string(&path).expect("source");
        for call in ["Finding::error(", "Finding::warning("] {
            for after in source.split(call).skip(1) {
                // The quoted words before the place that begin with a capital: a name, or the two
                // of a choice.
                let head: String = after.chars().take(90).collect();
                let head = head.split(".message").next().unwrap_or_default();
                names.extend(
                    head.split('"')
                        .skip(1)
                        .step_by(2)
                        .filter(|word| is_name(word))
                        .map(str::to_owned),
                );
            }
        }
    }
    assert!(names.len() > 30, "{names:?}");
    let have: BTreeSet<String> = broken().into_iter().map(|(name, _)| name).collect();
    // A file too large to keep here: tests/bad_input.rs makes one.
    names.remove("FileTooLarge");
    assert_eq!(
        names.difference(&have).collect::<Vec<_>>(),
        Vec::<&String>::new()
    );
}
