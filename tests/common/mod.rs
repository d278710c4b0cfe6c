//! What the tests share: the program run, built-in engines, and descriptions made from one that is
//! whole.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]
#![allow(dead_code, reason = "each test file takes what it needs")]

use std::io::Read as _;
use std::process::{Command, Output, Stdio};
use std::sync::Arc;
use std::time::Duration;

use dotwise::angle::CrankAngle;
use dotwise::description::Description;
use dotwise::description::{Bank, Throw, Valve};
use dotwise::diagnosis::observations::{ValveObservation, ValveState};
use dotwise::drawing::{Anchor, Drawing, Item};
use dotwise::engine::{Engine, scenes};
use dotwise::output::fonts;
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

/// A text as it was before it was folded.
pub(crate) fn unfolded(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A path in a folder, as an argument.
pub(crate) fn path_in(folder: &tempfile::TempDir, name: &str) -> String {
    let path = folder.path().join(name);
    path.to_str().expect("a path").to_owned()
}

/// What the program answers to these arguments.
pub(crate) fn dotwise(arguments: &[&str]) -> Output {
    program(arguments).output().expect("the program runs")
}

/// What the program answers, and the processor time it took for itself: a busy machine makes it wait,
/// and not work.
pub(crate) fn worked(arguments: &[&str]) -> (Output, Duration) {
    let mut child = program(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let (mut out, mut err) = (
        child.stdout.take().expect("a pipe"),
        child.stderr.take().expect("a pipe"),
    );
    let beside = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        err.read_to_end(&mut bytes).expect("read");
        bytes
    });
    let mut stdout = Vec::new();
    out.read_to_end(&mut stdout).expect("read");
    let stderr = beside.join().expect("read");
    // It has ended, or is about to; until it is waited for the system keeps its account.
    let work = loop {
        let account = std::fs::read_to_string(format!("/proc/{}/stat", child.id()));
        let account = account.expect("an account of the process");
        // The name in brackets may hold anything; then the state, and the twelfth and thirteenth
        // are its own ticks and the system's for it, a hundred a second.
        let (_, fields) = account.rsplit_once(") ").expect("fields");
        let fields: Vec<&str> = fields.split(' ').collect();
        if fields[0] == "Z" {
            let ticks = |index: usize| fields[index].parse::<u64>().expect("ticks");
            break Duration::from_millis(10 * (ticks(11) + ticks(12)));
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let output = Output {
        status: child.wait().expect("ended"),
        stdout,
        stderr,
    };
    (output, work)
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

/// Every valve of a reading, as a builder sees it: off its seat or on it.
pub(crate) fn every_valve(reading: &Reading) -> Vec<ValveObservation> {
    let valves = reading.cylinders.iter().flat_map(|cylinder| {
        let both = [
            (Valve::Intake, cylinder.intake.open),
            (Valve::Exhaust, cylinder.exhaust.open),
        ];
        both.map(|(valve, open)| ValveObservation {
            cylinder: u32::from(cylinder.number),
            valve,
            is: if open {
                ValveState::Open
            } else {
                ValveState::Closed
            },
        })
    });
    valves.collect()
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

/// Every text of a page, in the order it was written.
pub(crate) fn text_of(page: &Drawing) -> String {
    let texts = page.items.iter().filter_map(|item| match item {
        Item::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect::<Vec<_>>().join(" ")
}

/// The box of an upright text: from its left top to its right foot, capitals and what hangs under
/// the line.
pub(crate) fn text_box(item: &Item) -> Option<([f64; 4], &str)> {
    let Item::Text {
        at,
        text,
        size,
        anchor,
        turned_deg,
        bold,
        ..
    } = item
    else {
        return None;
    };
    if *turned_deg != 0.0 || text.is_empty() {
        return None;
    }
    let wide = fonts::width(text, *bold) * size;
    let left = match anchor {
        Anchor::Start => at.x,
        Anchor::Middle => at.x - wide / 2.0,
        Anchor::End => at.x - wide,
    };
    Some((
        [left, at.y - 0.38 * size, left + wide, at.y + 0.38 * size],
        text,
    ))
}

/// Fails where a text of a page lies over another or leaves it.
pub(crate) fn nothing_overlaps_or_leaves(page: &Drawing) {
    let boxes: Vec<_> = page.items.iter().filter_map(text_box).collect();
    for (index, (one, text)) in boxes.iter().enumerate() {
        assert!(
            one[0] >= 5.0 && one[2] <= page.size.x - 5.0,
            "{}: {text:?} leaves the page: {one:?}",
            page.title
        );
        assert!(
            one[1] >= 5.0 && one[3] <= page.size.y - 5.0,
            "{}: {text:?} leaves the page: {one:?}",
            page.title
        );
        for (other, other_text) in &boxes[..index] {
            let over = one[0] < other[2] - 0.05
                && other[0] < one[2] - 0.05
                && one[1] < other[3] - 0.05
                && other[1] < one[3] - 0.05;
            assert!(!over, "{}: {text:?} lies over {other_text:?}", page.title);
        }
    }
}
