//! Unsaved work outlives a kill at any instant: a second process keeps changes, is killed, and what
//! it left is whole and no older than the promise.

#![expect(clippy::expect_used, reason = "a test may stop")]

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
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
        // Twenty at a time: each lives up to three seconds.
        let rounds: Vec<_> = (0..20)
            .map(|lane| scope.spawn(move || (0..KILLS / 20).filter(|_| killed_once(lane)).count()))
            .collect();
        found = rounds
            .into_iter()
            .map(|round| round.join().expect("a round"))
            .sum();
    });
    // Most were killed after something was due.
    assert!(found > KILLS / 3, "{found} of {KILLS} had kept something");
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
            killed - set[0] < KEPT_WITHIN,
            "nothing was kept for {:?}",
            killed - set[0]
        );
        return false;
    };
    let number = number_of(&kept.text).expect("whole");
    // The next change after the one that was kept is no older than the promise.
    if let Some(lost) = set.get(number) {
        assert!(killed - *lost < KEPT_WITHIN, "lost {:?}", killed - *lost);
    }
    true
}
