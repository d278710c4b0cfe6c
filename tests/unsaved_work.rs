//! Unsaved work outlives a kill at any instant: a second process keeps changes, is killed, and what
//! it left is whole and no older than the promise.

#![expect(clippy::expect_used, reason = "a test may stop")]

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::atomic::{AtomicBool, AtomicU64};
use std::time::{Duration, Instant};

use dotwise::document::unsaved::{KEPT_WITHIN, Keeper, UnsavedWork};

const KILLS: usize = 200;
const FOLDER: &str = "DOTWISE_TEST_STATE_FOLDER";
const FILE: &str = "/work/bench.ron";

/// A text that says its number, and is long enough to be torn.
fn text(number: usize) -> String {
    format!("{number}\n{}\n{number}", "bore ".repeat(2000))
}

fn number_of(text: &str) -> Option<usize> {
    let number: usize = text.lines().next()?.parse().ok()?;
    (text == self::text(number)).then_some(number)
}

/// Not a test by itself: what the process that is killed does, when it is told a folder.
#[test]
#[ignore = "run as a second process by the test below"]
fn changes_are_kept_until_killed() {
    let Some(folder) = std::env::var_os(FOLDER) else {
        return;
    };
    let keeper = Keeper::new(UnsavedWork::within(PathBuf::from(folder))).expect("a thread");
    for number in 1.. {
        keeper.set(Path::new(FILE), Some(text(number)));
        let mut out = std::io::stdout().lock();
        writeln!(out, "set {number}").expect("said");
        out.flush().expect("said");
        std::thread::sleep(Duration::from_millis(3));
    }
}

#[test]
fn a_kill_at_any_instant_leaves_whole_work_that_is_no_older_than_two_seconds() {
    let mut found = 0;
    std::thread::scope(|scope| {
        scope.spawn(watch_the_machine);
        // Ten at a time: each lives up to three seconds.
        let rounds: Vec<_> = (0..10)
            .map(|lane| scope.spawn(move || (0..KILLS / 10).filter(|_| killed_once(lane)).count()))
            .collect();
        found = rounds
            .into_iter()
            .map(|round| {
                round.join().unwrap_or_else(|panic| {
                    DONE.store(true, Relaxed);
                    std::panic::resume_unwind(panic)
                })
            })
            .sum();
        DONE.store(true, Relaxed);
    });
    // Most were killed after something was due.
    assert!(found > KILLS / 3, "{found} of {KILLS} had kept something");
}

static DONE: AtomicBool = AtomicBool::new(false);
/// The longest that this machine let a thread wait beyond what it asked for, microseconds.
static LATE_US: AtomicU64 = AtomicU64::new(0);

/// Measures how late a thread is woken here while the test goes on: a machine that does not run what
/// is due cannot keep it in time either.
fn watch_the_machine() {
    const NAP: Duration = Duration::from_millis(5);
    while !DONE.load(Relaxed) {
        let asleep = Instant::now();
        std::thread::sleep(NAP);
        let late = asleep.elapsed().saturating_sub(NAP);
        LATE_US.fetch_max(late.as_micros() as u64, Relaxed);
    }
}

/// The promise, and a few wakings as late as the latest that was met: to be woken, to write, to
/// rename.
fn promise() -> Duration {
    KEPT_WITHIN + 4 * Duration::from_micros(LATE_US.load(Relaxed))
}

/// Runs the second process, kills it at some instant; whether it had kept something.
fn killed_once(lane: u64) -> bool {
    let folder = tempfile::tempdir().expect("a folder");
    let mut process = Command::new(std::env::current_exe().expect("this test"))
        .args([
            "--exact",
            "changes_are_kept_until_killed",
            "--ignored",
            "--nocapture",
        ])
        .env(FOLDER, folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("a second process");
    let mut lines = BufReader::new(process.stdout.take().expect("piped")).lines();
    let mut random = fastrand::Rng::with_seed(lane ^ u64::from(process.id()) << 16);
    let life = Duration::from_micros(random.u64(0..3_000_000));
    // When each change was made, until the kill.
    let mut set: Vec<Instant> = Vec::new();
    while set.first().is_none_or(|first| first.elapsed() < life) {
        let line = lines.next().expect("it goes on").expect("a line");
        if line.starts_with("set ") {
            set.push(Instant::now());
        }
    }
    process.kill().expect("killed");
    let killed = Instant::now();
    process.wait().expect("gone");
    let work = UnsavedWork::within(folder.path().to_path_buf());
    let Some(kept) = work.find(Path::new(FILE)) else {
        assert!(
            killed - set[0] < promise(),
            "nothing was kept for {:?}",
            killed - set[0]
        );
        return false;
    };
    let number = number_of(&kept.text).expect("whole");
    // The next change after the one that was kept is no older than the promise.
    if let Some(lost) = set.get(number) {
        assert!(killed - *lost < promise(), "lost {:?}", killed - *lost);
    }
    true
}
