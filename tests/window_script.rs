//! A real window, driven from the keyboard as a user would: an engine opened from a file, the
//! guided job walked to firing TDC, a tooth changed, work saved, the window closed and opened
//! again. What it did is read from the files it wrote.

#![cfg(all(feature = "window", target_os = "linux"))]
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

use std::fs;
use std::path::Path;

use dotwise::engine::scenes;

mod desktop;

use desktop::{JOB, Screen, Window, crank_teeth, until};

fn job_says(path: &Path, step: &str) -> bool {
    fs::read_to_string(path.with_extension("job.ron")).is_ok_and(|text| text.contains(step))
}

#[test]
fn a_user_walks_the_job_to_firing_tdc_changes_a_tooth_saves_and_finds_it_all_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    let text = scenes::find("flat_four")
        .expect("a scene")
        .text
        .replace("bore:", "/* measured */ bore:");
    fs::write(&path, text).expect("written");
    let screen = Screen::of(1280, 720);
    let mut window = Window::on(&screen, &path);

    // The marks meet where it opens; then overlap; then on to firing TDC. A step is kept only where
    // it is right.
    window.press_until(
        &screen,
        &[JOB, "ctrl+Return"],
        "the marks are seen to meet",
        || job_says(&path, "marks-meet"),
    );
    for step in ["overlap-tdc", "firing-tdc"] {
        window.press_until(&screen, &["Page_Up", "ctrl+Return"], step, || {
            job_says(&path, step)
        });
    }

    // One tooth more on the crank brings two on the cam. Comments stay.
    assert_eq!(crank_teeth(&path), Some(30));
    window.type_into(&screen, "crank's wheel", "31");
    window.press_until(&screen, &["ctrl+s"], "the tooth is saved", || {
        crank_teeth(&path) == Some(31)
    });
    let saved = fs::read_to_string(&path).expect("read");
    assert!(
        saved.contains("cam_teeth: 62") && saved.contains("/* measured */"),
        "{saved}"
    );

    // Work that is not saved keeps the window open until it is settled: the first answer is to save.
    window.type_into(&screen, "crank's wheel", "32");
    assert_eq!(crank_teeth(&path), Some(31));
    window.close_by(&screen, &["Escape", "ctrl+q", "Return"]);
    assert_eq!(crank_teeth(&path), Some(32), "closed over unsaved work");

    // Opened again, it goes on where it was left.
    let window = Window::on(&screen, &path);
    assert!(job_says(&path, "firing-tdc"), "the progress was lost");
    assert_eq!(crank_teeth(&path), Some(32));
    window.close_by(&screen, &["ctrl+q"]);
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
    let screen = Screen::of(1280, 720);
    let mut window = Window::on(&screen, &first);
    window.drop_file(&screen, &second);

    // Another editor puts a file with another bore in its place while the window is open; then a
    // tooth is changed in the window. Both are in the file.
    let text = fs::read_to_string(&second).expect("read");
    assert!(text.contains("bore: 86.0"), "{text}");
    fs::remove_file(&second).expect("removed");
    until("the file is seen to be gone", || window.is_unsaved(&screen));
    let beside = folder.path().join("beside");
    fs::write(&beside, text.replace("bore: 86.0", "bore: 87.5")).expect("written");
    fs::rename(&beside, &second).expect("put in place");
    until("the new file is read", || !window.is_unsaved(&screen));
    window.type_into(&screen, "crank's wheel", "31");
    window.press_until(&screen, &["ctrl+s"], "the tooth is saved", || {
        crank_teeth(&second) == Some(31)
    });
    assert!(
        fs::read_to_string(&second)
            .expect("read")
            .contains("bore: 87.5"),
        "the other editor's change was lost"
    );

    // With work unsaved the button asks; with it saved it closes.
    window.type_into(&screen, "crank's wheel", "32");
    window.press_close(&screen);
    window.press_until(
        &screen,
        &["Escape", "ctrl+s"],
        "the second tooth is saved",
        || crank_teeth(&second) == Some(32),
    );
    window.press_close(&screen);
    until("the button closes the window", || !window.is_open());
}
