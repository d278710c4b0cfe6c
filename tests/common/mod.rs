//! What the tests share: the program run, built-in engines, and descriptions made from one that is
//! whole.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]
#![allow(dead_code, reason = "each test file takes what it needs")]

use std::process::{Command, Output, Stdio};
use std::sync::Arc;

use dotwise::angle::CrankAngle;
use dotwise::description::Description;
use dotwise::description::{Bank, Throw};
use dotwise::engine::{Engine, scenes};
use dotwise::phasing::{Phasing, Reading};

/// The program, to be run with these arguments, without colours and with nothing to read.
pub(crate) fn program(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dotwise"));
    command
        .args(arguments)
        .env_remove("RUST_BACKTRACE")
        .env("NO_COLOR", "1")
        .stdin(Stdio::null());
    command
}

/// What the program answers to these arguments.
pub(crate) fn dotwise(arguments: &[&str]) -> Output {
    program(arguments).output().expect("the program runs")
}

/// What the program writes to standard output, where it leaves with 0.
pub(crate) fn done(arguments: &[&str]) -> Vec<u8> {
    let answer = dotwise(arguments);
    assert!(
        answer.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&answer.stderr)
    );
    answer.stdout
}

/// A built-in engine.
pub(crate) fn scene_engine(name: &str) -> Arc<Engine> {
    scenes::find(name).expect("a built-in engine").engine()
}

/// A built-in engine worked out, as drawn.
pub(crate) fn scene_drawn(name: &str) -> Phasing {
    Phasing::as_drawn(&scene_engine(name))
}

/// How far two directions are apart, degrees.
pub(crate) fn apart(one: f64, other: f64) -> f64 {
    ((one - other + 180.0).rem_euclid(360.0) - 180.0).abs()
}

/// The bench engine's description, to be changed.
pub(crate) fn bench() -> Description {
    scenes::BENCH.engine().written().clone()
}

/// A description's throws, each with its cylinders.
pub(crate) fn throws(rows: &[(f64, &[u32])]) -> Vec<Throw> {
    rows.iter()
        .map(|&(angle, cylinders)| Throw {
            angle,
            cylinders: cylinders.to_vec(),
        })
        .collect()
}

/// A description's banks, each with its cylinders.
pub(crate) fn banks(rows: &[(f64, &[u32])]) -> Vec<Bank> {
    rows.iter()
        .map(|&(angle, cylinders)| Bank {
            angle,
            cylinders: cylinders.to_vec(),
        })
        .collect()
}

/// The bench engine with another crank, other banks, another order.
pub(crate) fn laid_out(
    throw_rows: &[(f64, &[u32])],
    bank_rows: &[(f64, &[u32])],
    order: &[u32],
) -> Description {
    let mut description = bench();
    description.crankshaft.throws = throws(throw_rows);
    description.banks = banks(bank_rows);
    description.firing_order = order.to_vec();
    description
}

/// The engine of a description that is one.
pub(crate) fn engine(description: Description) -> Arc<Engine> {
    Engine::new(description).expect("an engine").0
}

/// A description worked out, as drawn.
pub(crate) fn drawn(description: Description) -> Phasing {
    Phasing::as_drawn(&engine(description))
}

/// Where everything stands at a crank angle.
pub(crate) fn at(phasing: &Phasing, degrees: f64) -> Reading {
    phasing.at(CrankAngle::new(degrees))
}
