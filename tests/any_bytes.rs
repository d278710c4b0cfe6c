//! Whatever bytes a description, a file of sightings or a table of lifts holds, every answer comes, soon and without
//! taking much memory: asked of whole files with something in them changed by chance.
//!
//! `EVERY_ANSWER_SECONDS` says how long each of the three goes on, 2 where it is not given;
//! `EVERY_ANSWER_SEED` where to begin, so that what failed can be asked again.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

mod every_answer;

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::panic::{self, AssertUnwindSafe};
use std::time::{Duration, Instant};
use std::{env, fs};

use dotwise::engine::scenes::SCENES;
use every_answer::Asked;
use fastrand::Rng;

/// The most memory that the answers to one text may hold at a time.
const MOST_BYTES: isize = 200 << 20;

thread_local! {
    static HELD: Cell<isize> = const { Cell::new(0) };
    static MOST_HELD: Cell<isize> = const { Cell::new(0) };
}

/// The system's allocator, counting what this thread holds.
struct Counting;

fn count(bytes: isize) {
    let held = HELD.get() + bytes;
    HELD.set(held);
    MOST_HELD.set(MOST_HELD.get().max(held));
}

#[expect(
    unsafe_code,
    reason = "an allocator is unsafe by its nature; this one hands everything on"
)]
// SAFETY: every call goes to the system's allocator unchanged; the counts are plain numbers of this
// thread's own.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(layout.size() as isize);
        // SAFETY: the caller's promise, handed on.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        count(-(layout.size() as isize));
        // SAFETY: the caller's promise, handed on.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// Numbers at which arithmetic turns over, and some that are none.
const EXTREMES: [&str; 27] = [
    "0",
    "-0.0",
    "1",
    "-1",
    "2",
    "1e308",
    "-1e308",
    "1e-308",
    "5e-324",
    "1e9",
    "1e-9",
    "NaN",
    "inf",
    "-inf",
    "255",
    "256",
    "4294967295",
    "4294967296",
    "-2147483648",
    "9223372036854775808",
    "0.5",
    "359.9999999",
    "360",
    "720",
    "-720",
    "24",
    "180",
];

/// A text in pieces: words with their numbers, and each other sign alone.
fn pieces(text: &str) -> Vec<String> {
    let is_word = |letter: char| letter.is_alphanumeric() || "_.-+".contains(letter);
    let mut pieces: Vec<String> = Vec::new();
    let mut in_word = false;
    for letter in text.chars() {
        match pieces.last_mut() {
            Some(last) if in_word && is_word(letter) => last.push(letter),
            _ => pieces.push(letter.to_string()),
        }
        in_word = is_word(letter);
    }
    pieces
}

fn is_number(piece: &str) -> bool {
    piece.parse::<f64>().is_ok()
}

/// The place of one of the pieces that suit.
fn one_of(pieces: &[String], chance: &mut Rng, suits: impl Fn(&str) -> bool) -> Option<usize> {
    let places: Vec<usize> = (0..pieces.len())
        .filter(|&place| suits(&pieces[place]))
        .collect();
    chance.choice(places)
}

/// A text with one thing in it changed by chance.
fn changed(text: &[u8], others: &[String], chance: &mut Rng) -> Vec<u8> {
    let Ok(whole) = str::from_utf8(text) else {
        return bytes_changed(text, chance);
    };
    let mut pieces = pieces(whole);
    let mut lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let in_lines = |lines: Vec<&str>| lines.concat().into_bytes();
    match chance.u8(0..8) {
        // Bytes.
        0 => return bytes_changed(text, chance),
        // Two pieces change places.
        1 => {
            let not_blank = |piece: &str| !piece.trim().is_empty();
            if let (Some(one), Some(other)) = (
                one_of(&pieces, chance, not_blank),
                one_of(&pieces, chance, not_blank),
            ) {
                pieces.swap(one, other);
            }
        }
        // A number at which arithmetic turns over.
        2 | 3 => {
            if let Some(place) = one_of(&pieces, chance, is_number) {
                pieces[place] = chance.choice(EXTREMES).expect("some").to_owned();
            }
        }
        // A number somewhat larger or smaller.
        4 | 5 => {
            if let Some(place) = one_of(&pieces, chance, is_number) {
                let number: f64 = pieces[place].parse().expect("a number");
                let by = 4.0_f64.powf(2.0 * chance.f64() - 1.0);
                let whole = !pieces[place].contains('.');
                let other = if whole {
                    (number * by).round()
                } else {
                    number * by
                };
                pieces[place] = if whole {
                    format!("{other}")
                } else {
                    format!("{other:?}")
                };
            }
        }
        // A line, so mostly a field, taken out or given twice.
        6 if lines.len() > 1 => {
            let place = chance.usize(0..lines.len());
            if chance.bool() {
                lines.remove(place);
            } else {
                lines.insert(chance.usize(0..=lines.len()), lines[place]);
            }
            return in_lines(lines);
        }
        // A piece of another text.
        _ => {
            let other = chance.choice(others).expect("some");
            let other: Vec<&str> = other.split_inclusive('\n').collect();
            let from = chance.usize(0..other.len());
            let to = chance.usize(from..=other.len().min(from + 6));
            let place = chance.usize(0..=lines.len());
            lines.splice(place..place, other[from..to].iter().copied());
            return in_lines(lines);
        }
    }
    pieces.concat().into_bytes()
}

fn bytes_changed(text: &[u8], chance: &mut Rng) -> Vec<u8> {
    let mut bytes = text.to_vec();
    let place = chance.usize(0..=bytes.len());
    let end = bytes.len().min(place + chance.usize(0..40));
    match chance.u8(0..4) {
        0 if place < bytes.len() => bytes[place] = chance.u8(..),
        1 => bytes.insert(place, chance.u8(..)),
        2 => drop(bytes.drain(place..end)),
        _ => {
            let again = bytes[place..end].repeat(chance.usize(1..20));
            bytes.splice(place..place, again);
        }
    }
    bytes
}

fn from_environment(name: &str, otherwise: u64) -> u64 {
    env::var(name).map_or(otherwise, |value| value.parse().expect("a number"))
}

/// Asks for texts with one to four things changed, until the time is over.
fn ask(texts: &[String], mut every_answer: impl FnMut(&mut Asked, &[u8], &mut Rng) -> bool) {
    let time = Duration::from_secs(from_environment("EVERY_ANSWER_SECONDS", 2));
    let first = from_environment("EVERY_ANSWER_SEED", 1);
    let mut asked = Asked::new();
    let start = Instant::now();
    let (mut count, mut whole) = (0, 0);
    for seed in first.. {
        if start.elapsed() >= time {
            break;
        }
        let mut chance = Rng::with_seed(seed);
        let mut text = chance.choice(texts).expect("some").clone().into_bytes();
        // Half of them with one thing changed: so some still make an engine.
        for _ in 0..chance
            .usize(1..=4)
            .saturating_sub(chance.usize(0..=3))
            .max(1)
        {
            text = changed(&text, texts, &mut chance);
        }
        MOST_HELD.set(HELD.get());
        let before = HELD.get();
        let good = panic::catch_unwind(AssertUnwindSafe(|| {
            every_answer(&mut asked, &text, &mut chance)
        }));
        let held = MOST_HELD.get() - before;
        let shown = String::from_utf8_lossy(&text);
        assert!(good.is_ok(), "EVERY_ANSWER_SEED={seed} asks this:\n{shown}");
        assert!(
            held < MOST_BYTES,
            "EVERY_ANSWER_SEED={seed} takes {held} bytes:\n{shown}"
        );
        count += 1;
        whole += u32::from(good.is_ok_and(|good| good));
    }
    println!(
        "{count} texts, {whole} of them whole; the slowest answer {:?}",
        asked.slowest()
    );
    // A machine so slow that it asks nothing has shown nothing.
    assert!(count > 10, "{count} texts");
}

#[test]
fn a_description_with_anything_changed_in_it_gets_every_answer() {
    let broken = fs::read_dir("tests/broken").expect("a folder");
    let broken = broken
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "ron"))
        .map(|path| fs::read_to_string(path).expect("a text"));
    let scenes = SCENES.iter().map(|scene| scene.text.to_owned());
    // As many that are whole as that are broken, in an order that no folder decides.
    let mut texts: Vec<String> = scenes
        .cycle()
        .take(3 * SCENES.len())
        .chain(broken)
        .collect();
    texts.sort();
    ask(&texts, |asked, text, _| asked.description(text));
}

#[test]
fn sightings_with_anything_changed_in_them_get_every_answer() {
    let texts = [
        "(
    format: 1,
    sightings: [
        (
            crank: 0.0,
            within: 3.0,
            valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)],
            rotor: (clock: 72.0, within: 8.0),
            compression_felt: [1],
            cam_teeth_off: -1,
            spark: (cylinder: 1, btdc: 35.0, within: 2.0, by: Strobe),
        ),
        (
            crank: 341.0, turned_on: true,
            valves: [(cylinder: 1, valve: Exhaust, is: Open), (cylinder: 1, valve: Intake, is: Closed)],
            rotor: (tower: 3),
        ),
        (crank: 47.0, spark: (cylinder: 1, btdc: -47.0)),
    ],
    leads: [1, 3, 4, 2],
    body_turn: 4.5,
)
"
        .to_owned(),
        "(format: 1, sightings: [(crank: 90.0, rotor: (clock: 22.0))])\n".to_owned(),
        "(\n    format: 1,\n    sightings: [],\n    leads: [1],\n)\n".to_owned(),
    ];
    ask(&texts, |asked, text, chance| {
        let scene = chance.choice(&SCENES).expect("some");
        asked.sightings(scene.name, text)
    });
}

#[test]
fn tables_of_lifts_with_anything_changed_in_them_get_every_answer() {
    let folder = fs::read_dir("tests/tables").expect("a folder");
    let mut texts: Vec<String> = folder
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .map(|path| fs::read_to_string(path).expect("a text"))
        .collect();
    texts.sort();
    let whole = fs::read_to_string("tests/tables/valid.csv").expect("a text");
    texts.push(whole.replace(',', ";").replace('.', ","));
    // As many that are whole as that are broken.
    texts.extend(vec![whole; texts.len()]);
    ask(&texts, |asked, text, chance| {
        let scene = chance.choice(&SCENES).expect("some");
        asked.table(scene.name, text)
    });
}
