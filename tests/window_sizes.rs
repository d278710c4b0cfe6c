//! A real window, with work in it that is not saved, goes through other sizes of its own and of the
//! screen, a window manager's hands and another scale: it goes on drawing, and the work can still
//! be saved.

#![cfg(all(feature = "window", target_os = "linux"))]
#![allow(clippy::expect_used, clippy::panic, reason = "a test may stop")]

use std::fs;

use dotwise::engine::scenes;

mod desktop;

use desktop::{Screen, Window, crank_teeth, until};

/// Up and down, by little and by much: from a stamp to more than the screen.
const SIZES: [(u16, u16); 40] = [
    (800, 600),
    (1280, 720),
    (1100, 660),
    (1000, 500),
    (1280, 720),
    (1279, 719),
    (1280, 720),
    (120, 90),
    (1280, 720),
    (640, 480),
    (320, 240),
    (160, 120),
    (1, 1),
    (40, 700),
    (1200, 30),
    (1000, 700),
    (1700, 1100),
    (2400, 1500),
    (3000, 400),
    (300, 2000),
    (1600, 1000),
    (800, 600),
    (801, 601),
    (800, 600),
    (799, 599),
    (500, 900),
    (900, 500),
    (500, 901),
    (90, 120),
    (1920, 1080),
    (1366, 768),
    (1024, 768),
    (1024, 300),
    (260, 768),
    (1440, 900),
    (700, 700),
    (350, 350),
    (175, 175),
    (1100, 660),
    (1280, 720),
];

#[test]
fn unsaved_work_outlives_every_size_of_the_window_and_of_the_screen() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shed_four.ron");
    let text = scenes::find("flat_four").expect("a scene").text;
    fs::write(&path, text).expect("written");
    let mut screen = Screen::of(1600, 1000);
    let mut window = Window::on(&screen, &path);
    window.type_into(&screen, "crank's wheel", "31");

    for (width, height) in SIZES {
        window.resize(&screen, width, height);
        assert_eq!(window.size(&screen), (width, height));
        window.draws(&screen, &format!("a window of {width}×{height}"));
        assert!(window.is_unsaved(&screen), "{}", window.title(&screen));
    }

    screen.manage();
    until("the window is managed", || window.is_managed(&screen));
    for maximised in [true, false, true] {
        window.maximise(&screen, maximised);
        window.draws(&screen, "a window maximised, or restored");
    }
    for (width, height) in [(1024, 700), (800, 600), (1600, 1000)] {
        screen.resize(width, height);
        window.draws(
            &screen,
            &format!("a window on a screen of {width}×{height}"),
        );
    }
    window.minimise(&screen);
    window.show(&screen);
    window.draws(&screen, "a window that was minimised");
    window.maximise(&screen, false);
    window.draws(&screen, "a window restored");

    for dpi in [144, 192, 96] {
        let before = window.size(&screen);
        window.scale(&screen, dpi);
        until("the window is scaled", || window.size(&screen) != before);
        window.draws(&screen, &format!("a window at {dpi} dots an inch"));
    }

    assert!(window.is_unsaved(&screen), "{}", window.title(&screen));
    assert_eq!(fs::read_to_string(&path).expect("read"), text);
    window.show(&screen);
    window.press_until(&screen, &["ctrl+s"], "the work is saved", || {
        crank_teeth(&path) == Some(31)
    });
    let changed = text
        .replace("crank_teeth: 30", "crank_teeth: 31")
        .replace("cam_teeth: 60", "cam_teeth: 62");
    assert_eq!(fs::read_to_string(&path).expect("read"), changed);
    until("the title says that it is saved", || {
        !window.is_unsaved(&screen)
    });
    let said = window.said();
    for word in ["ERROR", "panicked", "Validation"] {
        assert!(!said.contains(word), "{said}");
    }
    window.close_by(&screen, &["ctrl+q"]);
}
