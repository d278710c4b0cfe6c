//! Files are written whole or not at all: over links, pipes, devices and files of every kind, and
//! through signals at any instant.
#![cfg(unix)]
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod common;

use std::fs::{self, File, Permissions};
use std::io::Read as _;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::os::unix::process::ExitStatusExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use common::{dotwise, program, unfolded};
use rustix::process::{Pid, Signal, kill_process};
use tempfile::TempDir;

/// A handout of the built-in engine, to be written to `path`.
fn handout(path: &Path, more: &[&str]) -> Output {
    let mut arguments = vec!["handout", "single", "-o", path.to_str().expect("a name")];
    arguments.extend(more);
    dotwise(&arguments)
}

/// What such a handout holds.
fn a_handout() -> Vec<u8> {
    dotwise(&["handout", "single", "-o", "-"]).stdout
}

/// Refused with 2 and these words, the user's own path among them and never the temporary one's.
fn refused(output: &Output, path: &Path, words: &[&str]) {
    let err = String::from_utf8_lossy(&output.stderr);
    let err = unfolded(&err);
    assert_eq!(output.status.code(), Some(2), "{err}");
    assert!(output.stdout.is_empty());
    let path = path.to_string_lossy();
    for word in words.iter().chain([&&*path, &"fix: "]) {
        assert!(err.contains(word), "`{word}` is not said: {err}");
    }
    assert!(!err.contains(".dotwise-"), "{err}");
}

fn folder() -> TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder")
}

/// The temporary files in a folder.
fn left_in(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("listed");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths
        .filter(|path| path.to_string_lossy().contains(".dotwise-"))
        .collect()
}

fn rights(path: &Path) -> u32 {
    path.metadata().expect("there").permissions().mode() & 0o7777
}

fn set_rights(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).expect("set");
}

#[test]
fn a_new_file_gets_the_rights_of_a_new_file_and_is_not_written_over_unasked() {
    let folder = folder();
    let path = folder.path().join("h.html");
    assert!(handout(&path, &[]).status.success());
    assert_eq!(fs::read(&path).expect("read"), a_handout());
    let other = folder.path().join("other");
    File::create(&other).expect("made");
    assert_eq!(rights(&path), rights(&other));

    fs::write(&path, "mine").expect("written");
    refused(&handout(&path, &[]), &path, &["there already", "--force"]);
    assert_eq!(fs::read(&path).expect("read"), b"mine");
    assert_eq!(left_in(folder.path()), Vec::<PathBuf>::new());
}

#[test]
fn a_link_stays_a_link_and_what_it_leads_to_is_replaced_with_its_rights_kept() {
    let folder = folder();
    let there = folder.path().join("there");
    fs::create_dir(&there).expect("made");
    let (real, between, link) = (
        there.join("real.html"),
        there.join("between.html"),
        folder.path().join("link.html"),
    );
    fs::write(&real, "old").expect("written");
    set_rights(&real, 0o640);
    symlink("real.html", &between).expect("linked");
    symlink("there/between.html", &link).expect("linked");
    assert!(handout(&link, &["--force"]).status.success());
    assert!(link.is_symlink() && between.is_symlink());
    assert!(!real.is_symlink());
    assert_eq!(fs::read(&real).expect("read"), a_handout());
    assert_eq!(rights(&real), 0o640);
    refused(&handout(&link, &[]), &link, &["there already"]);
}

#[test]
fn links_that_lead_nowhere_and_folders_are_refused() {
    let folder = folder();
    let at = |name: &str| folder.path().join(name);
    symlink("absent.html", at("dangling.html")).expect("linked");
    symlink("b.html", at("a.html")).expect("linked");
    symlink("a.html", at("b.html")).expect("linked");
    fs::create_dir(at("folder.html")).expect("made");
    for (name, next) in [("dangling.html", "absent.html"), ("a.html", "b.html")] {
        refused(&handout(&at(name), &[]), &at(name), &["there already"]);
        refused(
            &handout(&at(name), &["--force"]),
            &at(name),
            &[next, "leads nowhere"],
        );
        assert!(at(name).is_symlink());
    }
    refused(
        &handout(&at("folder.html"), &["--force"]),
        &at("folder.html"),
        &["is a folder"],
    );
    let nowhere = at("no/such/h.html");
    refused(
        &handout(&nowhere, &[]),
        &nowhere,
        &["its folder", "No such file"],
    );
    let through = at("dangling.html").join("h.html");
    refused(&handout(&through, &["--force"]), &through, &[]);
    assert!(!at("absent.html").exists());
    assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 4);
}

#[test]
fn a_read_only_file_is_refused_though_its_folder_would_let_it_be_replaced() {
    let folder = folder();
    let path = folder.path().join("h.html");
    fs::write(&path, "mine").expect("written");
    set_rights(&path, 0o444);
    refused(
        &handout(&path, &["--force"]),
        &path,
        &["read-only", "chmod u+w", "another name"],
    );
    assert_eq!(fs::read(&path).expect("read"), b"mine");
    assert_eq!(rights(&path), 0o444);

    set_rights(&path, 0o644);
    set_rights(folder.path(), 0o555);
    refused(
        &handout(&path, &["--force"]),
        &path,
        &["folder", "read-only"],
    );
    let other = folder.path().join("new.html");
    refused(&handout(&other, &[]), &other, &["folder", "read-only"]);
    set_rights(folder.path(), 0o755);
    assert_eq!(fs::read(&path).expect("read"), b"mine");
    assert!(!other.exists());
}

#[test]
fn hard_links_are_not_parted() {
    let folder = folder();
    let (path, other) = (
        folder.path().join("h.html"),
        folder.path().join("other.html"),
    );
    fs::write(&path, "mine").expect("written");
    fs::hard_link(&path, &other).expect("linked");
    refused(
        &handout(&path, &["--force"]),
        &path,
        &["2 names", "hard links"],
    );
    assert_eq!(fs::read(&path).expect("read"), b"mine");
    assert_eq!(path.metadata().expect("there").nlink(), 2);
    fs::remove_file(&other).expect("removed");
    assert!(handout(&path, &["--force"]).status.success());
}

#[test]
fn another_owner_is_kept_or_the_file_is_left_as_it_is() {
    let folder = folder();
    let path = folder.path().join("h.html");
    fs::write(&path, "mine").expect("written");
    let own = path.metadata().expect("there");
    // Only a superuser can give a file away; anyone else can at least be seen to keep it.
    let given = std::os::unix::fs::chown(&path, Some(own.uid() + 4321), Some(own.gid() + 4321));
    set_rights(&path, 0o660);
    let before = path.metadata().expect("there");
    assert_eq!(given.is_ok(), before.uid() != own.uid());
    assert!(handout(&path, &["--force"]).status.success());
    let after = path.metadata().expect("there");
    assert_eq!((after.uid(), after.gid()), (before.uid(), before.gid()));
    assert_eq!(rights(&path), 0o660);
    assert_eq!(fs::read(&path).expect("read"), a_handout());
}

#[test]
fn pipes_and_devices_are_written_to_as_they_are() {
    let folder = folder();
    let pipe = folder.path().join("pipe");
    let name = pipe.to_str().expect("a name");
    assert!(
        Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .expect("runs")
            .success()
    );
    refused(&handout(&pipe, &[]), &pipe, &["there already"]);
    let mut child = program(&["handout", "single", "-o", name, "--force"])
        .stdout(Stdio::null())
        .spawn()
        .expect("runs");
    let mut read = Vec::new();
    File::open(&pipe)
        .and_then(|mut pipe| pipe.read_to_end(&mut read))
        .expect("read");
    assert!(child.wait().expect("ends").success());
    assert_eq!(read, a_handout());
    assert!(fs::symlink_metadata(&pipe).is_ok_and(|there| !there.is_file()));

    let null = dotwise(&["sheet", "single", "-o", "/dev/null", "--force"]);
    assert!(null.status.success(), "{null:?}");
    assert!(!Path::new("/dev/null").metadata().expect("there").is_file());
    let full = Path::new("/dev/full");
    refused(
        &handout(full, &["--force"]),
        full,
        &["No space left", "make room"],
    );
    assert!(!full.metadata().expect("there").is_file());
    for name in ["/dev/stdout", "/proc/self/fd/1"] {
        let out = dotwise(&["handout", "single", "-o", name, "--force"]);
        assert_eq!(out.stdout, a_handout(), "{name}");
        // The same where standard output is a file, which grows and is not replaced.
        let path = folder.path().join("out");
        let mut file = File::create(&path).expect("made");
        std::io::Write::write_all(&mut file, b"before").expect("written");
        let status = program(&["handout", "single", "-o", name, "--force"])
            .stdout(file)
            .status();
        assert!(status.expect("runs").success());
        assert_eq!(
            fs::read(&path).expect("read"),
            [b"before".as_slice(), &a_handout()].concat()
        );
    }
}

#[test]
fn a_file_larger_than_may_be_is_told_and_leaves_what_was_there() {
    let folder = folder();
    let path = folder.path().join("h.html");
    fs::write(&path, "mine").expect("written");
    let line = format!(
        "ulimit -f 8; exec {} handout single --force -o {}",
        env!("CARGO_BIN_EXE_dotwise"),
        path.display()
    );
    let output = Command::new("sh")
        .args(["-c", &line])
        .output()
        .expect("runs");
    refused(&output, &path, &["File too large"]);
    assert_eq!(fs::read(&path).expect("read"), b"mine");
    assert_eq!(left_in(folder.path()), Vec::<PathBuf>::new());
}

/// A process that writes a handout to `path` in place of the one there.
fn writing(path: &Path) -> Child {
    let name = path.to_str().expect("a name");
    // Whoever runs the tests may ignore a hang-up, and what it starts then does too.
    Command::new("env")
        .args(["--default-signal=HUP", env!("CARGO_BIN_EXE_dotwise")])
        .args(["handout", "vee_eight", "-o", name, "--force"])
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("runs")
}

/// Sends a signal to a process, unless it has ended.
fn send(child: &mut Child, signal: Signal) {
    if child.try_wait().expect("asked").is_none() {
        // Until it is waited for again its number is its own.
        kill_process(Pid::from_child(child), signal).expect("sent");
    }
}

/// Waits until the process is at its temporary file, or has ended.
fn is_writing(child: &mut Child, folder: &Path) -> bool {
    while left_in(folder).is_empty() {
        if child.try_wait().expect("asked").is_some() {
            return false;
        }
    }
    true
}

/// Kills writers with `signal`, half of them at any instant of their life and half while they
/// write; after each the file is whole. A write is short, and a busy machine may let it go by
/// unseen: as many more are killed as it takes to meet some. Gives how many ended by the signal
/// while they wrote, and calls `then` after each.
fn killed_at_any_instant(signal: Signal, then: impl Fn(&Path)) -> usize {
    let folder = folder();
    let path = folder.path().join("h.html");
    fs::write(&path, "old").expect("written");
    let started = Instant::now();
    assert!(writing(&path).wait().expect("ends").success());
    let life = started.elapsed();
    let new = fs::read(&path).expect("read");
    let mut chance = fastrand::Rng::with_seed(7);
    let mut while_writing = 0;
    for round in 0..5_000 {
        if round >= 60 && while_writing >= 3 {
            break;
        }
        fs::write(&path, "old").expect("written");
        let started = Instant::now();
        let mut child = writing(&path);
        let mut is_at_it = false;
        if round % 2 == 0 {
            is_at_it = is_writing(&mut child, folder.path());
        } else {
            let until = life.mul_f64(chance.f64() * 1.1);
            while started.elapsed() < until {
                std::hint::spin_loop();
            }
        }
        let pause = Duration::from_micros(chance.u64(0..1000));
        let seen = Instant::now();
        while round % 4 == 0 && seen.elapsed() < pause {
            std::hint::spin_loop();
        }
        send(&mut child, signal);
        let status = child.wait().expect("ends");
        let killed = status.signal() == Some(signal.as_raw());
        assert!(killed || status.success(), "{status}");
        while_writing += usize::from(killed && is_at_it);
        let there = fs::read(&path).expect("read");
        assert!(there == b"old" || there == new, "{} bytes", there.len());
        then(folder.path());
    }
    while_writing
}

#[test]
fn a_signal_at_any_instant_leaves_the_file_whole_and_nothing_beside_it() {
    for signal in [Signal::TERM, Signal::INT, Signal::HUP] {
        let while_writing = killed_at_any_instant(signal, |folder| {
            assert_eq!(left_in(folder), Vec::<PathBuf>::new(), "{signal:?}");
        });
        assert!(while_writing > 0, "no writer was met while it wrote");
    }
}

#[test]
fn what_a_killed_writer_leaves_is_taken_away_by_the_next_write_in_that_folder() {
    let left = std::cell::Cell::new(0);
    killed_at_any_instant(Signal::KILL, |folder| {
        left.set(left.get() + left_in(folder).len());
        assert!(
            handout(&folder.join("next.html"), &["--force"])
                .status
                .success()
        );
        assert_eq!(left_in(folder), Vec::<PathBuf>::new());
    });
    assert!(left.get() > 0, "no writer was killed while it wrote");
}

#[test]
fn what_a_living_writer_holds_and_what_only_looks_like_it_is_left() {
    let folder = folder();
    let held = folder.path().join(".dotwise-abcDEF012345");
    let own = folder.path().join(".dotwise-notes");
    fs::write(&own, "mine").expect("written");
    let file = File::create(&held).expect("made");
    file.lock().expect("held");
    assert!(handout(&folder.path().join("a.html"), &[]).status.success());
    assert!(held.exists());
    drop(file);
    // Another test's second process may hold what it inherited until it has begun: the next write
    // takes it away then.
    let since = Instant::now();
    while held.exists() {
        assert!(
            since.elapsed() < Duration::from_secs(60),
            "it was never taken away"
        );
        let next = handout(&folder.path().join("b.html"), &["--force"]);
        assert!(next.status.success());
    }
    assert!(own.exists());
}

#[test]
fn a_signal_that_the_program_was_started_to_ignore_does_not_end_it() {
    let folder = folder();
    let path = folder.path().join("h.html");
    let line = format!(
        "trap '' HUP; exec {} handout vee_eight -o {}",
        env!("CARGO_BIN_EXE_dotwise"),
        path.display()
    );
    // A write is short, and a busy machine may let it go by unseen.
    let met = (0..100).find_map(|_| {
        let _ = fs::remove_file(&path);
        let mut shell = Command::new("sh");
        let mut child = shell
            .args(["-c", &line])
            .stdout(Stdio::null())
            .spawn()
            .expect("runs");
        if is_writing(&mut child, folder.path()) {
            return Some(child);
        }
        child.wait().expect("ends");
        None
    });
    let mut child = met.expect("met while it wrote");
    send(&mut child, Signal::HUP);
    assert!(child.wait().expect("ends").success());
    assert!(path.exists());
}
