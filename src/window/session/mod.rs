//! What is worked on: the engine on the bench, the file, and the question that is open.

mod apart;
pub(crate) mod bench;
pub(crate) mod build_stage;
pub(crate) mod engine_choice;
pub(crate) mod export;
pub(crate) mod open_question;
pub(crate) mod storage;
mod watcher;
