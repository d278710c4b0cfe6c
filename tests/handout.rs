//! The handout in a real browser: what it shows is what `dotwise at --json` says, on a phone too,
//! with nothing asked of a network.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod browser;
mod common;

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use browser::{Browser, Setup};
use common::{at, done, dotwise, scene_engine};
use dotwise::description::Valve;
use dotwise::engine::Assembly;
use dotwise::phasing::Phasing;
use serde_json::{Value, json};

fn handout(folder: &Path, engine: &str, more: &[&str]) -> PathBuf {
    let path = folder.join("handout.html");
    let mut arguments = vec!["handout", engine, "-o", path.to_str().expect("a path")];
    arguments.extend(more);
    done(&arguments);
    path
}

fn address(path: &Path) -> String {
    format!("file://{}", path.display())
}

fn turn_to(browser: &Browser, degrees: u32) {
    let script = "const s = document.getElementById('crank'); s.value = arguments[0]; s.dispatchEvent(new Event('input'));";
    browser.run(script, &[json!(degrees)]);
}

fn shown(browser: &Browser, id: &str) -> String {
    let text = browser.run(
        "return document.getElementById(arguments[0]).textContent",
        &[json!(id)],
    );
    text.as_str()
        .unwrap_or_else(|| panic!("{id} is shown"))
        .replace('\u{2212}', "-")
}

/// What a screen reader is told, once it begins so, or after ten seconds: it is told a while after
/// the last turn.
fn told(browser: &Browser, start: &str) -> String {
    let since = Instant::now();
    loop {
        let said = shown(browser, "live");
        if said.starts_with(start) || since.elapsed() > Duration::from_secs(10) {
            return said;
        }
        sleep(Duration::from_millis(20));
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// Every number in a text.
fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|character: char| {
        !(character.is_ascii_digit() || character == '.' || character == '-')
    });
    parts
        .filter_map(|part| part.trim_end_matches('.').parse().ok())
        .collect()
}

fn valve(shown: &str, open: bool, lift: f64) {
    assert_eq!(shown.starts_with("open"), open, "{shown}");
    let said = numbers(shown).first().copied().unwrap_or(0.0);
    assert!((said - lift).abs() <= 0.005 + 1e-9, "{shown} is not {lift}");
}

/// The page against the command, at one crank degree.
fn agrees(browser: &Browser, engine: &[&str], degrees: u32) {
    turn_to(browser, degrees);
    let mut arguments = vec!["at"];
    arguments.extend(engine);
    let at = degrees.to_string();
    arguments.extend([at.as_str(), "--json"]);
    let readings: Value = serde_json::from_slice(&done(&arguments)).expect("JSON");
    let reading = &readings[0];
    assert_eq!(shown(browser, "degrees"), format!("{degrees}°"));
    for cylinder in reading["cylinders"].as_array().expect("cylinders") {
        let number_on_it = &cylinder["number"];
        let cell = |name: &str| shown(browser, &format!("{name}{number_on_it}"));
        assert_eq!(
            json!(cell("stroke")),
            cylinder["stroke"],
            "No. {number_on_it} at {degrees}°"
        );
        let drop = numbers(&cell("drop"))[0];
        assert!(
            (drop - number(&cylinder["piston_drop_mm"])).abs() <= 0.005 + 1e-9,
            "No. {number_on_it} at {degrees}°: {drop}"
        );
        valve(
            &cell("intake"),
            cylinder["intake_open"] == true,
            number(&cylinder["intake_lift_mm"]),
        );
        valve(
            &cell("exhaust"),
            cylinder["exhaust_open"] == true,
            number(&cylinder["exhaust_lift_mm"]),
        );
    }
    for (id, key) in [("firing", "next_firing_tdc"), ("spark", "next_spark")] {
        let said = numbers(&shown(browser, id).replace("No. ", ""));
        assert_eq!(
            json!(said[0] as u64),
            reading[key]["cylinder"],
            "{id} at {degrees}°"
        );
        assert!(
            (said[1] - number(&reading[key]["in_deg"])).abs() <= 0.005 + 1e-9,
            "{id} at {degrees}°"
        );
    }
    if !reading["rotor"].is_null() {
        let text = shown(browser, "rotor").replace("No. ", "");
        let said = numbers(&text);
        let past = if text.contains("short of") {
            -said[1]
        } else {
            said[1]
        };
        assert!(
            (said[0] - number(&reading["rotor"]["clock_deg"])).abs() <= 0.005 + 1e-9,
            "{text}"
        );
        assert!(
            (past - number(&reading["rotor"]["past_deg"])).abs() <= 0.005 + 1e-9,
            "{text}"
        );
        assert_eq!(json!(said[2] as u64), reading["rotor"]["tower"], "{text}");
    }
    for (index, mark) in reading["marks"]
        .as_array()
        .expect("marks")
        .iter()
        .enumerate()
    {
        let said = numbers(&shown(browser, &format!("mark{index}")))[0];
        assert!(
            (said - number(&mark["clock_deg"])).abs() <= 0.005 + 1e-9,
            "mark {index} at {degrees}°"
        );
    }
}

fn quiet(browser: &Browser, page: &str) {
    let (console, asked) = browser.heard(page);
    assert!(console.is_empty(), "the console says {console:#?}");
    assert!(asked.iter().any(|address| address == page), "{asked:?}");
    assert!(
        asked
            .iter()
            .all(|address| address == page || address.starts_with("data:")),
        "the page asked for {asked:?}"
    );
}

#[test]
fn the_page_says_what_the_command_says_at_every_place_it_is_turned_to() {
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup::default());
    let engines: [&[&str]; 4] = [
        &["bench_four"],
        &["vee_twin_45", "--cam-teeth", "-1", "--drive-teeth", "1"],
        &["anticlockwise"],
        &["single"],
    ];
    for engine in engines {
        let path = handout(
            folder.path(),
            engine[0],
            &[&engine[1..], &["--force"]].concat(),
        );
        let page = address(&path);
        browser.open(&page);
        for degrees in [0, 1, 123, 180, 359, 360, 475, 719] {
            agrees(&browser, engine, degrees);
        }
        quiet(&browser, &page);
    }
}

#[test]
fn keys_buttons_and_dragging_turn_the_engine() {
    const RIGHT: &str = "\u{e014}";
    const LEFT: &str = "\u{e012}";
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup::default());
    let page = address(&handout(folder.path(), "bench_four", &[]));
    browser.open(&page);
    browser.press(&[RIGHT, RIGHT, RIGHT]);
    assert_eq!(browser.text("#degrees"), "3°");
    browser.press(&[LEFT, LEFT, LEFT, LEFT]);
    assert_eq!(browser.text("#degrees"), "719°", "it goes round");
    browser.click("[data-by='10']");
    assert_eq!(browser.text("#degrees"), "9°");
    browser.click("#next");
    assert_eq!(browser.text("#degrees"), "180°");
    let wide = browser
        .run(
            "return document.querySelector('#cap .drawing').getBoundingClientRect().width",
            &[],
        )
        .as_f64()
        .expect("a width");
    browser.drag("#cap .drawing", 60);
    let expected = 180.0 + 60.0 / wide * 360.0;
    let stands = numbers(&browser.text("#degrees"))[0];
    assert!((stands - expected).abs() <= 1.0, "{stands}, {expected}");
    // The rotor was turned with it: half as far.
    let rotor = browser.run(
        "return document.querySelector('#cap g[id]').getAttribute('transform')",
        &[],
    );
    let turned = numbers(rotor.as_str().expect("a transform"))[0];
    assert!((turned - stands / 2.0).abs() < 0.01, "{turned} at {stands}");
    quiet(&browser, &page);
}

#[test]
fn a_phone_of_360_pixels_shows_it_without_scrolling_sideways() {
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup {
        phone: Some(360),
        ..Setup::default()
    });
    for engine in ["vee_eight", "single"] {
        let path = handout(folder.path(), engine, &["--force"]);
        assert!(path.metadata().expect("there").len() < 400_000, "{engine}");
        let page = address(&path);
        browser.open(&page);
        agrees(&browser, &[engine], 200);
        let wide = browser.run(
            "return [innerWidth, document.documentElement.scrollWidth]",
            &[],
        );
        assert_eq!(wide, json!([360, 360]), "{engine}");
        // Every control is large enough for a thumb, and on the screen.
        let controls = "return [...document.querySelectorAll('.turn button, .turn input')].map(e => e.getBoundingClientRect()).every(r => r.height >= 32 && r.left >= 0 && r.right <= innerWidth)";
        assert_eq!(browser.run(controls, &[]), json!(true), "{engine}");
        quiet(&browser, &page);
    }
}

#[test]
fn a_quiz_hides_its_answers_until_they_are_asked_for_and_again_after_the_next_turn() {
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup {
        dark: true,
        ..Setup::default()
    });
    browser.open(&address(&handout(folder.path(), "inline_six", &["--quiz"])));
    let hidden =
        || ["#says", "#ribbon", "#stroke1", "#l1"].map(|answer| !browser.displayed(answer));
    assert_eq!(hidden(), [true; 4]);
    browser.click("#ask");
    assert_eq!(hidden(), [false; 4]);
    agrees(&browser, &["inline_six"], 77);
    assert_eq!(hidden(), [true; 4]);
    // What a screen reader is told does not give them away either.
    assert_eq!(told(&browser, "Crank 77"), "Crank 77°.");
}

#[test]
fn a_listener_is_told_where_the_engine_stands_once_it_stands() {
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup::default());
    browser.open(&address(&handout(folder.path(), "bench_four", &[])));
    turn_to(&browser, 123);
    assert_eq!(
        told(&browser, "Crank 123"),
        "Crank 123°. No. 3 on compression, at TDC (firing) in 57°."
    );
    let labels = browser.run(
        "return [document.querySelector('label[for=crank]') !== null, [...document.querySelectorAll('figure svg')].every(s => s.getAttribute('aria-label')), document.documentElement.lang]",
        &[],
    );
    assert_eq!(labels, json!([true, true, "en"]));
}

#[test]
fn where_a_valve_is_in_its_piston_the_page_says_that_the_crank_cannot_come_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("handout.html");
    let out = path.to_str().expect("a path");
    let written = dotwise(&["handout", "bench_four", "--cam-teeth", "4", "-o", out]);
    assert_eq!(written.status.code(), Some(1), "{written:?}");
    let assembly = Assembly {
        cam_teeth: 4,
        ..Assembly::default()
    };
    let phasing = Phasing::as_built(&scene_engine("bench_four"), &assembly);
    let browser = Browser::start(Setup {
        phone: Some(360),
        ..Setup::default()
    });
    browser.open(&address(&path));
    let head = browser.text("#clearance");
    assert!(
        head.starts_with("VALVES MEET PISTONS as built: intake meets by 1.60 mm"),
        "{head}"
    );
    let (mut stopped, mut free) = (0, 0);
    for degrees in (0..720).step_by(15) {
        turn_to(&browser, degrees);
        let reading = at(&phasing, f64::from(degrees));
        let meets: Vec<String> = reading
            .cylinders
            .iter()
            .flat_map(|cylinder| Valve::BOTH.map(|valve| (cylinder, valve)))
            .filter(|(cylinder, valve)| phasing.gap_mm(cylinder, *valve).expect("measured") <= 0.0)
            .map(|(cylinder, valve)| format!("No. {}'s {}", cylinder.number, valve.word()))
            .collect();
        assert_eq!(
            browser.displayed("#blocked"),
            !meets.is_empty(),
            "{degrees}"
        );
        if meets.is_empty() {
            free += 1;
        } else {
            let says = format!(
                "VALVE IN THE PISTON: {}. The crank cannot come here.",
                meets.join(", ")
            );
            assert_eq!(browser.text("#blocked"), says, "{degrees}");
            assert!(told(&browser, &format!("Crank {degrees}°. VALVE")).contains(&says));
            stopped += 1;
        }
    }
    assert!(stopped > 2 && free > 2, "{stopped}, {free}");
    let wide = browser.run(
        "return [innerWidth, document.documentElement.scrollWidth]",
        &[],
    );
    assert_eq!(wide, json!([360, 360]));
}

#[test]
fn without_scripts_the_table_over_two_turns_is_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let browser = Browser::start(Setup {
        no_scripts: true,
        ..Setup::default()
    });
    browser.open(&address(&handout(folder.path(), "bench_four", &[])));
    assert!(!browser.displayed("#crank"), "a slider that does nothing");
    assert!(browser.displayed("#table table"));
    let text = browser.text("#table tbody");
    assert_eq!(text.lines().count(), 24);
    // At 120° No. 1 is on power, No. 2 on exhaust, No. 3 on compression, No. 4 on intake; rotor
    // half as far on from 49°.
    let row = text
        .lines()
        .find(|line| line.starts_with("120°"))
        .expect("a row");
    assert!(row.starts_with("120° P Ee C Ii 109°"), "{row}");
}

#[test]
fn a_name_out_of_the_ordinary_stays_a_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let name = "</script><img src=x onerror=alert(1)> & \\\"Ⅴ\\\" מנוע";
    let text = String::from_utf8(done(&["scenes", "bench_four"]))
        .expect("text")
        .replacen("Bench four", name, 1)
        .replacen("pulley notch", "<b>=1+1", 1);
    let engine = folder.path().join("odd.ron");
    std::fs::write(&engine, text).expect("written");
    let browser = Browser::start(Setup::default());
    let page = address(&handout(
        folder.path(),
        engine.to_str().expect("a path"),
        &[],
    ));
    browser.open(&page);
    assert_eq!(
        browser.text("h1"),
        "</script><img src=x onerror=alert(1)> & \"Ⅴ\" מנוע"
    );
    assert_eq!(
        browser.run("return document.querySelectorAll('img, b').length", &[]),
        json!(0)
    );
    agrees(&browser, &[engine.to_str().expect("a path")], 33);
    quiet(&browser, &page);
    assert!(browser.picture().len() > 1000);
}
