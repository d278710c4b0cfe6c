//! A real window, driven from the keyboard as a user would: an engine opened from a file, the
//! guided job walked to firing TDC, a tooth changed, work saved, the window closed and opened
//! again. What it did is read from the files it wrote.
//!
//! It needs Xvfb, xdotool and something to draw with (Debian: xvfb, xdotool, mesa-vulkan-drivers).
//! Keys are pressed again until the file says what it must, so that a slow machine only takes
//! longer.

#![cfg(all(feature = "window", target_os = "linux"))]
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use dotwise::engine::{read, scenes};

mod desktop;

use desktop::Desktop;

/// A machine that draws in software, and is busy with other things too, is waited for this long.
const PATIENCE: Duration = Duration::from_secs(240);

/// The panes on the right, by their keys.
const FIELDS: &str = "alt+5";
const JOB: &str = "alt+6";

/// A screen without a screen. It goes when it is dropped.
struct Screen {
    server: Child,
    display: String,
}

impl Screen {
    fn up() -> Self {
        let mut server = Command::new("Xvfb")
            .args([
                "-displayfd",
                "1",
                "-screen",
                "0",
                "1280x720x24",
                "-nolisten",
                "tcp",
            ])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb (Debian: xvfb) is needed");
        let mut number = String::new();
        let out = server.stdout.take().expect("piped");
        BufReader::new(out)
            .read_line(&mut number)
            .expect("the display's number");
        Self {
            server,
            display: format!(":{}", number.trim()),
        }
    }

    fn xdotool(&self, arguments: &[&str]) -> String {
        let answer = Command::new("xdotool")
            .env("DISPLAY", &self.display)
            .args(arguments)
            .output();
        let answer = answer.expect("xdotool (Debian: xdotool) is needed");
        String::from_utf8_lossy(&answer.stdout).trim().to_owned()
    }

    /// Presses keys one after the other, such as `Page_Up` or `ctrl+s`. Each is held as a hand
    /// holds it: what comes and goes within one frame is not seen.
    fn press(&self, keys: &[&str]) {
        const HELD: Duration = Duration::from_millis(400);
        for keys in keys {
            let (with, key) = keys
                .rsplit_once('+')
                .map_or((None, *keys), |(with, key)| (Some(with), key));
            if let Some(with) = with {
                self.xdotool(&["keydown", with]);
                sleep(HELD);
            }
            self.xdotool(&["key", key]);
            sleep(HELD);
            if let Some(with) = with {
                self.xdotool(&["keyup", with]);
                sleep(HELD);
            }
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// The program with its window open. It goes when it is dropped.
struct Window<'a> {
    program: Child,
    screen: &'a Screen,
    id: u32,
}

impl<'a> Window<'a> {
    fn on(screen: &'a Screen, file: &Path) -> Self {
        let program = Command::new(env!("CARGO_BIN_EXE_dotwise"))
            .arg(file)
            .env("DISPLAY", &screen.display)
            .spawn()
            .expect("runs");
        let mut window = Self {
            program,
            screen,
            id: 0,
        };
        window.id = window.named(file);
        screen.xdotool(&["windowfocus", "--sync", &window.id.to_string()]);
        window
    }

    /// Waits until the window is called by this file, and gives its number.
    fn named(&self, file: &Path) -> u32 {
        let name = file
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let start = Instant::now();
        loop {
            let id = self
                .screen
                .xdotool(&["search", "--onlyvisible", "--name", &name]);
            if let Some(id) = id.lines().next() {
                return id.parse().expect("a number");
            }
            assert!(start.elapsed() < PATIENCE, "no window named {name} came up");
            sleep(Duration::from_millis(200));
        }
    }

    fn is_open(&mut self) -> bool {
        self.program.try_wait().expect("asked").is_none()
    }

    /// Presses keys again and again until `done`.
    fn press_until(&mut self, keys: &[&str], what: &str, done: impl Fn() -> bool) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            self.screen.press(keys);
            for _ in 0..5 {
                if done() {
                    return;
                }
                sleep(Duration::from_millis(200));
            }
            assert!(self.is_open(), "the window closed before {what}");
        }
        panic!("not in {PATIENCE:?}: {what}");
    }

    /// Types a number into the field with these words, and leaves the field.
    fn type_into(&self, words: &str, number: &str) {
        self.screen.press(&[FIELDS, "ctrl+f", "ctrl+a"]);
        self.screen.xdotool(&["type", "--delay", "30", words]);
        self.screen.press(&["Tab", "Tab", "ctrl+a"]);
        self.screen.xdotool(&["type", "--delay", "30", number]);
        self.screen.press(&["Return"]);
    }

    /// Closes a window in which all work is saved.
    fn close(mut self) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            self.screen.press(&["ctrl+q"]);
            if let Some(status) = self.program.try_wait().expect("asked") {
                assert!(status.success(), "{status}");
                return;
            }
        }
        panic!("the window did not close");
    }
}

impl Drop for Window<'_> {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

fn crank_teeth(path: &Path) -> Option<u32> {
    let read = read::engine(&fs::read_to_string(path).ok()?);
    read.engine
        .map(|engine| engine.written().cam_drive.crank_teeth)
}

fn job_says(path: &Path, step: &str) -> bool {
    fs::read_to_string(path.with_extension("job.ron")).is_ok_and(|text| text.contains(step))
}

#[test]
fn a_user_walks_the_job_to_firing_tdc_changes_a_tooth_saves_and_finds_it_all_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path: PathBuf = folder.path().join("shed_four.ron");
    let text = scenes::find("flat_four")
        .expect("a scene")
        .text
        .replace("bore:", "/* measured */ bore:");
    fs::write(&path, text).expect("written");
    let screen = Screen::up();
    let mut window = Window::on(&screen, &path);

    // The marks meet where it opens; then overlap; then on to firing TDC. A step is kept only where
    // it is right.
    window.press_until(&[JOB, "ctrl+Return"], "the marks are seen to meet", || {
        job_says(&path, "marks-meet")
    });
    for step in ["overlap-tdc", "firing-tdc"] {
        window.press_until(&["Page_Up", "ctrl+Return"], step, || job_says(&path, step));
    }

    // One tooth more on the crank brings two on the cam. Comments stay.
    assert_eq!(crank_teeth(&path), Some(30));
    window.type_into("crank's wheel", "31");
    window.press_until(&["ctrl+s"], "the tooth is saved", || {
        crank_teeth(&path) == Some(31)
    });
    let saved = fs::read_to_string(&path).expect("read");
    assert!(
        saved.contains("cam_teeth: 62") && saved.contains("/* measured */"),
        "{saved}"
    );

    // Work that is not saved keeps the window open until it is settled.
    window.type_into("crank's wheel", "32");
    screen.press(&["ctrl+q"]);
    sleep(Duration::from_secs(3));
    assert!(window.is_open(), "closed over unsaved work");
    assert_eq!(crank_teeth(&path), Some(31));
    window.press_until(&["Escape", "ctrl+s"], "the second tooth is saved", || {
        crank_teeth(&path) == Some(32)
    });
    window.close();

    // Opened again, it goes on where it was left.
    let window = Window::on(&screen, &path);
    assert!(job_says(&path, "firing-tdc"), "the progress was lost");
    assert_eq!(crank_teeth(&path), Some(32));
    window.close();
}

#[test]
fn a_file_dropped_is_opened_one_changed_on_the_disk_is_read_again_and_the_closing_button_loses_no_work()
 {
    let folder = tempfile::tempdir().expect("a folder");
    let (first, second) = (
        folder.path().join("first.ron"),
        folder.path().join("dropped.ron"),
    );
    fs::write(&first, scenes::find("single").expect("a scene").text).expect("written");
    fs::write(&second, scenes::find("flat_four").expect("a scene").text).expect("written");
    let screen = Screen::up();
    let mut window = Window::on(&screen, &first);
    let desktop = Desktop::on(&screen.display);
    assert!(
        desktop.drop_file(window.id, &second, PATIENCE),
        "the window took nothing"
    );
    window.named(&second);

    // Another editor changes the bore while the window is open; then a tooth is changed in the
    // window. Both are in the file.
    let text = fs::read_to_string(&second).expect("read");
    assert!(text.contains("bore: 86.0"), "{text}");
    fs::write(&second, text.replace("bore: 86.0", "bore: 87.5")).expect("written");
    sleep(Duration::from_secs(8));
    window.type_into("crank's wheel", "31");
    window.press_until(&["ctrl+s"], "the tooth is saved", || {
        crank_teeth(&second) == Some(31)
    });
    assert!(
        fs::read_to_string(&second)
            .expect("read")
            .contains("bore: 87.5"),
        "the other editor's change was lost"
    );

    // With work unsaved the button asks; with it saved it closes.
    window.type_into("crank's wheel", "32");
    desktop.press_close(window.id);
    sleep(Duration::from_secs(3));
    assert!(window.is_open(), "closed over unsaved work");
    window.press_until(&["Escape", "ctrl+s"], "the second tooth is saved", || {
        crank_teeth(&second) == Some(32)
    });
    desktop.press_close(window.id);
    let start = Instant::now();
    while window.is_open() {
        assert!(
            start.elapsed() < PATIENCE,
            "the button did not close the window"
        );
        sleep(Duration::from_millis(200));
    }
}
