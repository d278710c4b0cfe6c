//! Broken descriptions: one for each fault, made from `tests/broken/valid.ron` by one slip or two,
//! and beside each the words in which it is told. Where the wording changes on purpose, the new
//! words are in the build folder's `tmp`, to be read and kept.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use dotwise::engine::{DescriptionFault, read};
use dotwise::source::{Fault, Report, Severity, TextFault};

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

/// A description without its comments and blanks: what the program reads of it.
fn bare(text: &str) -> String {
    text.lines()
        .map(|line| line.split("//").next().unwrap_or_default())
        .flat_map(str::split_whitespace)
        .collect()
}

fn names<F: Fault>() -> impl Iterator<Item = &'static str> {
    F::ALL.iter().map(|fault| fault.name())
}

#[test]
fn the_valid_twin_has_nothing_found_in_it() {
    let read = read::engine(&fs::read_to_string(folder().join("valid.ron")).expect("text"));
    assert_eq!(read.findings, []);
    assert!(read.engine.is_some());
}

/// How many lines of `one` the `other` lacks.
fn lacking(one: &str, other: &str) -> usize {
    let there: BTreeSet<&str> = other.lines().map(str::trim).collect();
    one.lines()
        .filter(|line| !there.contains(line.trim()))
        .count()
}

#[test]
fn each_is_the_valid_one_but_for_a_few_lines_and_no_two_are_the_same() {
    let valid = fs::read_to_string(folder().join("valid.ron")).expect("text");
    let mut seen = BTreeMap::from([(bare(&valid), "valid".to_owned())]);
    for (name, text) in broken() {
        let (other, gone) = (lacking(&text, &valid), lacking(&valid, &text));
        assert!(
            other <= 4 && gone <= 4,
            "{name} has {other} lines of its own and lacks {gone}"
        );
        if let Some(twin) = seen.insert(bare(&text), name.clone()) {
            panic!("{name} is the same as {twin}");
        }
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
                !finding.message.is_empty() && !finding.why.is_empty() && !finding.fix.is_empty(),
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

#[test]
fn every_fault_that_is_looked_for_has_its_broken_description() {
    let looked_for: BTreeSet<String> = names::<TextFault>()
        .chain(names::<DescriptionFault>())
        // A file too large to keep here: tests/bad_input.rs makes one.
        .filter(|name| *name != TextFault::FileTooLarge.name())
        .map(str::to_owned)
        .collect();
    let have: BTreeSet<String> = broken().into_iter().map(|(name, _)| name).collect();
    assert_eq!(have, looked_for);
}
