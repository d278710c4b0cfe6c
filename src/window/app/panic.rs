//! A panic in the window ends the window, and nothing that was worked on.
//!
//! The program itself panics on no input; what it draws with does: where a graphics device is lost
//! (a driver's reset, a laptop put to sleep), bevy 0.19 reads a buffer of the lost device and
//! panics before its own recovery is asked (`bevy_pbr/src/cluster/gpu.rs`). So unsaved work is
//! given the time to be written, and the program begins anew with the same command line; it then
//! offers that work.

use std::process::Command;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::document::unsaved::WRITTEN_WITHIN;

/// A window that has stood for less begins anew no more: what ended it would end it again.
const STOOD_FOR: Duration = Duration::from_secs(10);

/// When the window was opened.
static OPENED: OnceLock<Instant> = OnceLock::new();

/// From here on a panic on any thread begins the program anew.
pub(crate) fn begin_anew_after_panic() {
    OPENED.get_or_init(Instant::now);
    let (before, first) = (std::panic::take_hook(), AtomicBool::new(true));
    std::panic::set_hook(Box::new(move |panic| {
        // Others follow, on the way down.
        if first.swap(false, Ordering::SeqCst) {
            before(panic);
            begin_anew();
        }
    }));
}

/// Waits until unsaved work is written, and begins the program anew where its window has stood for
/// long enough. Where there is no window the program ends.
pub(crate) fn begin_anew() -> ! {
    let Some(opened) = OPENED.get() else {
        eprintln!("dotwise: the graphics device was lost.");
        std::process::exit(1);
    };
    let stood = opened.elapsed();
    // The thread that writes it goes on meanwhile.
    std::thread::sleep(WRITTEN_WITHIN);
    eprintln!(
        "dotwise: the window was lost. Work that was not saved was kept, and is offered when it is opened again."
    );
    let program = std::env::current_exe();
    if let (true, Ok(program)) = (stood >= STOOD_FOR, program) {
        let mut anew = Command::new(program);
        anew.args(std::env::args_os().skip(1));
        replace_by(anew);
    }
    std::process::exit(1);
}

/// Puts another process in the place of this one.
#[cfg(unix)]
fn replace_by(mut process: Command) {
    use std::os::unix::process::CommandExt as _;
    let error = process.exec();
    eprintln!("dotwise: it could not be begun anew: {error}");
}

/// Puts another process in the place of this one.
#[cfg(not(unix))]
fn replace_by(mut process: Command) {
    if let Err(error) = process.spawn() {
        eprintln!("dotwise: it could not be begun anew: {error}");
    }
}
