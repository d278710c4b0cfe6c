//! Any bytes as sightings; the first chooses the engine they were made on.
#![no_main]

#[path = "../every_answer/mod.rs"]
mod every_answer;

use std::cell::RefCell;

use dotwise::engine::scenes::SCENES;
use every_answer::Asked;
use libfuzzer_sys::fuzz_target;

thread_local! {
    static ASKED: RefCell<Asked> = RefCell::new(Asked::new());
}

fuzz_target!(|bytes: &[u8]| {
    if let Some((first, bytes)) = bytes.split_first() {
        let scene = &SCENES[usize::from(*first) % SCENES.len()];
        ASKED.with_borrow_mut(|asked| asked.sightings(scene.name, bytes));
    }
});
