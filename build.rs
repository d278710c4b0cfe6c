//! Links the program at a fixed address on Linux, so that no pointer of its data has to be put right
//! as it starts: an eighth or more of what a short answer takes, and more with the window in it.
//! What is given up, a random place in memory, guards against overwritten memory, and this is safe
//! Rust.

use std::env;

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let target = |what: &str| env::var(format!("CARGO_CFG_TARGET_{what}")).unwrap_or_default();
    if target("OS") == "linux" && target("ENV") == "gnu" {
        println!("cargo::rustc-link-arg-bins=-no-pie");
    }
}
