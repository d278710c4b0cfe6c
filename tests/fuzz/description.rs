//! Any bytes as a description.
#![no_main]

#[path = "../every_answer/mod.rs"]
mod every_answer;

use std::cell::RefCell;

use every_answer::Asked;
use libfuzzer_sys::fuzz_target;

thread_local! {
    static ASKED: RefCell<Asked> = RefCell::new(Asked::new());
}

fuzz_target!(|bytes: &[u8]| {
    ASKED.with_borrow_mut(|asked| asked.description(bytes));
});
