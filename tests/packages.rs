//! What the program is built of: every package comes from the public registry, under a licence that
//! lets the program be given away as it is; none can reach the network; and each that nobody keeps
//! any more is named in DEVELOPERS.md with what it waits for.
//!
//! Asked of cargo itself, for everything that any feature and any test takes in on Linux.
#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::collections::BTreeSet;
use std::fs;
use std::process::Command;

use serde_json::Value;
use spdx::{Expression, Licensee, ParseMode};

/// Licences under which a package may be linked in and given away with nothing but its notice.
const ACCEPTED: [&str; 13] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Licences that ask for more, accepted of one package alone.
const ACCEPTED_OF: [(&str, &str); 3] = [
    // Its own files stay under it; they are taken unchanged.
    ("option-ext", "MPL-2.0"),
    // The letters of the window.
    ("epaint_default_fonts", "OFL-1.1"),
    ("epaint_default_fonts", "Ubuntu-font-1.0"),
];

/// Packages that fetch or send: DEVELOPERS.md says that nothing is.
const REACHES_OUT: [&str; 10] = [
    "curl",
    "h2",
    "hyper",
    "native-tls",
    "openssl",
    "quinn",
    "reqwest",
    "rustls",
    "ureq",
    "webpki-roots",
];

/// Packages that RustSec's advisories call unmaintained, of those that a program like this one meets.
const NOBODY_KEEPS: [&str; 17] = [
    "adler",
    "atty",
    "backoff",
    "bincode",
    "derivative",
    "fxhash",
    "instant",
    "mach",
    "number_prefix",
    "paste",
    "proc-macro-error",
    "rustls-pemfile",
    "rusttype",
    "rustybuzz",
    "serde_yaml",
    "ttf-parser",
    "yaml-rust",
];

fn cargo(arguments: &[&str]) -> Value {
    let answer = Command::new(env!("CARGO"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    let why = String::from_utf8_lossy(&answer.stderr);
    assert!(answer.status.success(), "{why}");
    serde_json::from_slice(&answer.stdout).expect("JSON")
}

/// Every package, in JSON as cargo tells it.
fn packages() -> Vec<Value> {
    let answer = cargo(&[
        "metadata",
        "--locked",
        "--all-features",
        "--format-version=1",
        "--filter-platform=x86_64-unknown-linux-gnu",
    ]);
    let packages = answer["packages"].as_array().expect("a list").clone();
    assert!(packages.len() > 100, "{} packages", packages.len());
    packages
}

fn names(packages: &[Value]) -> BTreeSet<&str> {
    packages
        .iter()
        .filter_map(|package| package["name"].as_str())
        .collect()
}

/// Whether a package may be had under what it says of its licence.
fn is_accepted(name: &str, licence: &str) -> bool {
    let expression = Expression::parse_mode(licence, ParseMode::LAX)
        .unwrap_or_else(|error| panic!("{name}: {error}"));
    let of_it = ACCEPTED_OF.iter().filter(|(one, _)| *one == name);
    let licences = ACCEPTED.iter().chain(of_it.map(|(_, licence)| licence));
    let accepted: Vec<Licensee> = licences
        .map(|licence| Licensee::parse(licence).expect("a licence"))
        .collect();
    expression.evaluate(|asked| accepted.iter().any(|licence| licence.satisfies(asked)))
}

#[test]
fn every_package_may_be_given_away_with_the_program() {
    let refused: Vec<String> = packages()
        .iter()
        .map(|package| {
            let text = |key: &str| package[key].as_str().unwrap_or("").to_owned();
            (text("name"), text("license"))
        })
        .filter(|(name, licence)| !is_accepted(name, licence))
        .map(|(name, licence)| format!("{name}: {licence}"))
        .collect();
    assert_eq!(refused, Vec::<String>::new());
}

#[test]
fn a_licence_that_asks_for_more_is_refused() {
    assert!(is_accepted("any", "GPL-2.0-only OR MIT"));
    assert!(is_accepted("any", "MIT/Apache-2.0"));
    for licence in [
        "GPL-3.0-only",
        "MIT AND LGPL-2.1-or-later",
        "MPL-2.0",
        "OFL-1.1",
    ] {
        assert!(!is_accepted("any", licence), "{licence}");
    }
}

#[test]
fn every_package_but_our_own_comes_from_the_public_registry() {
    for package in packages() {
        let name = package["name"].as_str().expect("a name");
        let ours = ["dotwise", "benches"].contains(&name);
        let registry = "registry+https://github.com/rust-lang/crates.io-index";
        let source = package["source"].as_str();
        assert_eq!(source, (!ours).then_some(registry), "{name}");
    }
}

#[test]
fn no_package_reaches_out_over_the_network() {
    let packages = packages();
    let names = names(&packages);
    let found: Vec<_> = REACHES_OUT
        .iter()
        .filter(|name| names.contains(**name))
        .collect();
    assert_eq!(found, Vec::<&&str>::new());
}

#[test]
fn packages_that_nobody_keeps_are_named_with_what_they_wait_for_and_no_others() {
    let packages = packages();
    let names = names(&packages);
    let house = fs::read_to_string("DEVELOPERS.md").expect("DEVELOPERS.md");
    let (_, after) = house
        .split_once("## Packages that nobody keeps")
        .expect("a chapter");
    let chapter = after.split("\n## ").next().expect("a chapter");
    for name in NOBODY_KEEPS {
        let told = chapter.contains(&format!("**{name}**"));
        assert_eq!(told, names.contains(name), "{name}: told of, and there");
    }
    let manifest = fs::read_to_string("Cargo.toml").expect("Cargo.toml");
    for name in NOBODY_KEEPS {
        let ours = manifest
            .lines()
            .any(|line| line.starts_with(&format!("{name} =")));
        assert!(!ours, "{name} is asked for by name");
    }
}
