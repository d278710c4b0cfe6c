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
    fs::read_to_string(path.with_extension("build.ron")).is_ok_and(|text| text.contains(step))
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

    // It begins apart. What only the builder can see is ticked by hand, up to the camshaft.
    window.press_until(
        &screen,
        &[JOB, "ctrl+Return"],
        "everything before the camshaft is ticked",
        || job_says(&path, "cam-dot"),
    );
    window.focus(&screen);
    screen.press(&["ctrl+Return", "ctrl+Return"]);
    window.settled(&screen);
    assert!(!job_says(&path, "cam-in"), "it lies beside the engine");
    // Laid in as it lies it is in, and at No. 1's mark it is seen to be four teeth ahead.
    screen.press(&["ctrl+i"]);
    window.press_until(&screen, &["ctrl+Return"], "the camshaft is in", || {
        job_says(&path, "cam-in")
    });
    screen.press(&["Page_Up", "ctrl+Return", "ctrl+Return"]);
    window.settled(&screen);
    assert!(!job_says(&path, "marks-meet"), "in four teeth ahead");
    // Taken out, turned four teeth back and laid in again, it is right.
    screen.press(&["ctrl+i"]);
    screen.press(&["ctrl+comma"; 4]);
    screen.press(&["ctrl+i"]);
    window.press_until(
        &screen,
        &["ctrl+Return"],
        "the marks are seen to meet",
        || job_says(&path, "marks-meet"),
    );
    // Then overlap, and on to firing TDC, which three looks must prove.
    window.press_until(
        &screen,
        &["Page_Up", "ctrl+Return"],
        "the wrong dead centre",
        || job_says(&path, "overlap-tdc"),
    );
    window.press_until(
        &screen,
        &["Page_Up", "ctrl+l", "ctrl+l", "ctrl+l", "ctrl+Return"],
        "the right dead centre, proved",
        || job_says(&path, "firing-tdc"),
    );

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

/// Whether the unsaved work that is kept on this file contains these words. What is being written
/// stands beside it under another name, and is not kept yet.
fn keeps(path: &Path, words: &str) -> bool {
    let own = path.file_name().expect("a name").to_string_lossy();
    let kept = fs::read_dir(path.with_file_name("state/dotwise/unsaved"));
    kept.is_ok_and(|files| {
        let mut own = files
            .flatten()
            .filter(|file| file.file_name().to_string_lossy().ends_with(&*own));
        own.any(|file| fs::read_to_string(file.path()).is_ok_and(|text| text.contains(words)))
    })
}

#[test]
fn work_that_is_not_saved_outlives_a_kill_and_is_offered_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    let text = scenes::find("flat_four").expect("a scene").text;
    fs::write(&path, text).expect("written");
    let screen = Screen::of(1280, 720);
    let mut window = Window::on(&screen, &path);
    window.type_into(&screen, "crank's wheel", "31");
    until("the work is kept", || keeps(&path, "cam_teeth: 62"));
    // Dropped, the program is killed.
    drop(window);
    assert_eq!(fs::read_to_string(&path).expect("read"), text);
    // The first answer to the question is to go on with it.
    let mut window = Window::on(&screen, &path);
    let enter = || screen.press(&["Return"]);
    window.repeat_until(&screen, "the work is taken up", enter, |window| {
        window.is_unsaved(&screen)
    });
    window.press_until(&screen, &["ctrl+s"], "the work is saved", || {
        crank_teeth(&path) == Some(31)
    });
    until("saved work is no longer kept", || !keeps(&path, ""));
    window.close_by(&screen, &["ctrl+q"]);
}

#[test]
fn work_that_is_not_saved_outlives_a_lost_display() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    fs::write(&path, scenes::find("flat_four").expect("a scene").text).expect("written");
    let screen = Screen::of(1280, 720);
    let mut window = Window::on(&screen, &path);
    window.type_into(&screen, "crank's wheel", "31");
    until("the work is kept", || keeps(&path, "cam_teeth: 62"));
    drop(screen);
    until("the program ends", || !window.is_open());
    assert!(keeps(&path, "cam_teeth: 62"), "{}", window.said());
}

#[test]
fn seven_hundred_and_twenty_presses_turn_the_crank_once_round_the_cycle_and_no_further() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    fs::write(&path, scenes::find("flat_four").expect("a scene").text).expect("written");
    let screen = Screen::of(1920, 1080);
    let mut window = Window::on(&screen, &path);
    window.resize(&screen, 1920, 1080);
    window.draws(&screen, "the whole screen");
    window.focus(&screen);
    // As fast as keys can come: many fall into one frame.
    let turned = |presses: u32| {
        let presses = presses.to_string();
        screen.xdotool(&["key", "--repeat", &presses, "--delay", "15", "Right"]);
        window.settled(&screen)
    };
    // Once round first, so that nothing but the crank tells the pictures apart.
    let before = turned(720);
    assert!(turned(719) != before, "719 presses turned it 720 degrees");
    screen.xdotool(&["key", "Right"]);
    until("720 presses turn it once round", || {
        window.picture(&screen) == before
    });
    assert!(window.settled(&screen) == before, "and no further");
    window.close_by(&screen, &["ctrl+q"]);
}

#[test]
fn the_arrow_keys_are_an_open_menus_and_the_crank_has_them_again_once_it_is_closed() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    fs::write(&path, scenes::find("flat_four").expect("a scene").text).expect("written");
    let screen = Screen::of(1280, 720);
    let window = Window::on(&screen, &path);
    window.focus(&screen);
    let before = window.settled(&screen);
    screen.press(&["Tab", "Return", "Down", "Down"]);
    assert!(window.settled(&screen) != before, "a menu is open");
    // The first closes the menu, the second gives the keys back.
    screen.press(&["Escape", "Escape"]);
    assert!(window.settled(&screen) == before, "the crank was turned");
    screen.press(&["Down"]);
    assert!(window.settled(&screen) != before, "the crank has no keys");
    window.close_by(&screen, &["ctrl+q"]);
}

#[test]
fn the_pane_that_was_chosen_is_shown_again_at_the_next_start() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    fs::write(&path, scenes::find("flat_four").expect("a scene").text).expect("written");
    let layout = folder.path().join("state/dotwise/window/%layout.ron");
    let is_kept = || fs::read_to_string(&layout).is_ok_and(|text| text.contains("As built"));
    let screen = Screen::of(1280, 720);
    let mut window = Window::on(&screen, &path);
    let usual = window.settled(&screen);
    assert!(!is_kept());
    window.press_until(&screen, &["alt+2"], "the pane is chosen", is_kept);
    let chosen = window.settled(&screen);
    assert!(chosen != usual);
    window.close_by(&screen, &["ctrl+q"]);
    // There already: to choose it changes nothing.
    let window = Window::on(&screen, &path);
    let shown = window.settled(&screen);
    screen.press(&["alt+2"]);
    assert!(window.settled(&screen) == shown, "another pane was shown");
    window.close_by(&screen, &["ctrl+q"]);
}
