//! The engine on the bench and the file it comes from.

pub mod bench;
pub mod storage;
pub mod watcher;
