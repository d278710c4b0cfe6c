//! What a package brings beside the program: pages of the manual, completion in a shell, and files
//! that are opened by a click on them.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::collections::BTreeSet;
use std::fs;

use clap::CommandFactory as _;
use common::program;
use dotwise::command::CommandLine;
use dotwise::engine::scenes::BENCH;

/// The commands that a user is told of.
fn commands() -> Vec<String> {
    let line = CommandLine::command();
    let shown = line
        .get_subcommands()
        .filter(|command| !command.is_hide_set());
    shown.map(|command| command.get_name().to_owned()).collect()
}

fn answer(arguments: &[&str]) -> String {
    let output = program(arguments).output().expect("runs");
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn every_command_has_a_page_of_the_manual_and_no_page_is_of_another() {
    let folder = tempfile::tempdir().expect("a folder");
    answer(&["man", folder.path().to_str().expect("a path")]);
    let pages: BTreeSet<String> = fs::read_dir(folder.path())
        .expect("pages")
        .map(|page| {
            page.expect("a page")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    let commands = commands();
    assert!(commands.len() > 15, "{commands:?}");
    let of_commands = commands.iter().map(|name| format!("dotwise-{name}.1"));
    let wanted: BTreeSet<String> = of_commands.chain(["dotwise.1".to_owned()]).collect();
    assert_eq!(pages, wanted);
    let page = fs::read_to_string(folder.path().join("dotwise-at.1")).expect("a page");
    assert!(page.contains("crank angle"), "{page}");
}

#[test]
fn pages_that_cannot_be_written_are_refused_with_what_to_do() {
    let output = program(&["man", "/no such folder"]).output().expect("runs");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("/no such folder") && said.contains("may be written"),
        "{said}"
    );
}

#[test]
fn each_shell_is_told_every_command() {
    for shell in ["bash", "zsh", "fish"] {
        let script = answer(&["completions", shell]);
        for command in commands() {
            assert!(script.contains(&command), "{shell} completes no {command}");
        }
    }
    let output = program(&["completions", "no-shell"])
        .output()
        .expect("runs");
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn a_build_file_opens_the_engine_that_it_stands_beside() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = folder.path().join("mine.build.ron");
    fs::write(&build, "(format: 1)").expect("written");
    let open = || {
        let mut program = program(&[build.to_str().expect("a path")]);
        // Without a display the answer is the reading of what would have been shown.
        program.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
        program.output().expect("runs")
    };
    let alone = open();
    assert_eq!(alone.status.code(), Some(2));
    let said = String::from_utf8_lossy(&alone.stderr).into_owned();
    assert!(said.contains("mine.ron"), "{said}");

    fs::write(folder.path().join("mine.ron"), BENCH.text).expect("written");
    let beside = open();
    assert!(beside.status.success(), "{beside:?}");
    assert!(String::from_utf8_lossy(&beside.stdout).contains("Bench four"));
}
