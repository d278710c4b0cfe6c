//! The house as DEVELOPERS.md describes it is the house as it stands.

#![expect(
    clippy::unwrap_used,
    reason = "a folder that cannot be read fails the test"
)]

use std::fs;
use std::path::{Path, PathBuf};

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Each room of DEVELOPERS.md with the files it lists.
fn listed(text: &str) -> Vec<PathBuf> {
    let mut room = PathBuf::new();
    let mut files = Vec::new();
    for line in text.lines() {
        if let Some(name) = line
            .strip_prefix("### `")
            .and_then(|rest| rest.split_once('`'))
        {
            room = PathBuf::from(name.0);
        } else if let Some(name) = line
            .strip_prefix("| `")
            .and_then(|rest| rest.split_once('`'))
            && name.0.ends_with(".rs")
            && !room.as_os_str().is_empty()
        {
            files.push(room.join(name.0));
        }
    }
    files
}

#[test]
fn every_file_has_its_line_in_the_plan_and_every_line_its_file() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut standing = Vec::new();
    for folder in ["src", "tests", "benches"] {
        rust_files(&root.join(folder), &mut standing);
    }
    let mut standing: Vec<PathBuf> = standing
        .iter()
        .map(|path| path.strip_prefix(root).unwrap().to_owned())
        .collect();
    let mut planned = listed(&fs::read_to_string(root.join("DEVELOPERS.md")).unwrap());
    standing.sort();
    planned.sort();
    let missing: Vec<_> = standing
        .iter()
        .filter(|path| !planned.contains(path))
        .collect();
    let gone: Vec<_> = planned
        .iter()
        .filter(|path| !standing.contains(path))
        .collect();
    assert!(
        missing.is_empty() && gone.is_empty(),
        "not in DEVELOPERS.md: {missing:?}; no longer there: {gone:?}"
    );
}
