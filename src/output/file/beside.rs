//! A temporary file beside the one that is wanted, which no end of the program leaves behind.
//!
//! - It holds a lock for as long as its writer lives. Whoever writes in the same folder next takes
//!   away those that no living writer holds: what a killed program or a pulled plug left.
//! - SIGINT, SIGTERM, SIGHUP and SIGQUIT take away what is being written before they end the
//!   program as they would have; a signal that the program was started to ignore stays ignored.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tempfile::NamedTempFile;

/// What each temporary file's name begins with.
const PREFIX: &str = ".dotwise-";

/// So many letters and digits by chance follow.
const BY_CHANCE: usize = 12;

/// The temporary files being written. One is made only with this held, so a signal finds it here.
static BEING_WRITTEN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn being_written() -> MutexGuard<'static, Vec<PathBuf>> {
    BEING_WRITTEN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A temporary file, taken away when it is dropped.
#[derive(Debug)]
pub(super) struct Beside {
    file: NamedTempFile,
    _listed: Listed,
}

/// A path's place among those being written.
#[derive(Debug)]
struct Listed(PathBuf);

impl Drop for Listed {
    fn drop(&mut self) {
        being_written().retain(|path| *path != self.0);
    }
}

impl Beside {
    /// An empty one in `folder`, with the rights that a new file gets.
    ///
    /// # Errors
    /// Where the system will not make or hold it; the temporary file's name is not in the error.
    pub(super) fn new(folder: &Path) -> io::Result<Self> {
        #[cfg(unix)]
        signals::watch();
        sweep(folder);
        // Another writer's sweep may take a file away between its making and its locking.
        loop {
            let beside = Self::make(folder)?;
            match beside.file().lock() {
                Err(error) if error.kind() != io::ErrorKind::Unsupported => return Err(error),
                _ if is_there(beside.file())? => return Ok(beside),
                _ => {}
            }
        }
    }

    fn make(folder: &Path) -> io::Result<Self> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX).rand_bytes(BY_CHANCE);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let mut paths = being_written();
        // The library's error names the temporary file, which nobody asked for.
        let made = builder.tempfile_in(folder);
        let file = made.map_err(|error| io::Error::from(error.kind()))?;
        paths.push(file.path().to_path_buf());
        Ok(Self {
            _listed: Listed(file.path().to_path_buf()),
            file,
        })
    }

    /// The open file.
    pub(super) fn file(&self) -> &File {
        self.file.as_file()
    }

    /// Moves it to `target`, in place of what is there where `replace`.
    ///
    /// # Errors
    /// Where the system will not; `AlreadyExists` where something is there and `replace` is false.
    pub(super) fn persist(self, target: &Path, replace: bool) -> io::Result<()> {
        let moved = if replace {
            self.file.persist(target)
        } else {
            self.file.persist_noclobber(target)
        };
        moved.map(drop).map_err(|error| error.error)
    }
}

/// Whether an open file has a name still.
#[cfg(unix)]
fn is_there(file: &File) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt as _;
    Ok(file.metadata()?.nlink() > 0)
}

/// Elsewhere an open file cannot be taken away.
#[cfg(not(unix))]
fn is_there(_file: &File) -> io::Result<bool> {
    Ok(true)
}

/// Takes away what writers that are gone left in `folder`. What cannot be looked at is left.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
        if !is_file || !entry.file_name().to_str().is_some_and(is_temporary) {
            continue;
        }
        let left = File::open(entry.path()).is_ok_and(|file| {
            // The lock is held until the name is gone, so a writer that just made it waits and sees.
            file.try_lock().is_ok() && fs::remove_file(entry.path()).is_ok()
        });
        let _ = left;
    }
}

fn is_temporary(name: &str) -> bool {
    name.strip_prefix(PREFIX).is_some_and(|rest| {
        rest.len() == BY_CHANCE && rest.bytes().all(|byte| byte.is_ascii_alphanumeric())
    })
}

#[cfg(unix)]
mod signals {
    use std::sync::{Arc, Once, mpsc};
    use std::thread;

    use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGXFSZ};
    use signal_hook::flag;
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    use crate::output::file::beside::being_written;

    /// From the first file on, a thread waits for the signals that end the program.
    pub(super) fn watch() {
        static ONCE: Once = Once::new();
        ONCE.call_once(|| {
            let (ready, waiting) = mpsc::channel();
            let thread = thread::Builder::new().name("signals".to_owned());
            let started = thread.spawn(move || {
                let ignored = ignored();
                let ending = [SIGINT, SIGTERM, SIGHUP, SIGQUIT];
                let heeded = ending
                    .into_iter()
                    .filter(|&signal| ignored & (1 << (signal - 1)) == 0);
                let signals = Signals::new(heeded);
                // A file larger than it may be is then an error to be told, not an end.
                let _ = flag::register(SIGXFSZ, Arc::default());
                let _ = ready.send(());
                let Ok(mut signals) = signals else { return };
                for signal in signals.forever() {
                    let paths = being_written();
                    for path in paths.iter() {
                        let _ = std::fs::remove_file(path);
                    }
                    // With the list still held, so that nothing new is begun.
                    let _ = emulate_default_handler(signal);
                }
            });
            // Without a thread nothing is heeded, and the signals do what they always do.
            if started.is_ok() {
                let _ = waiting.recv();
            }
        });
    }

    /// The signals that the program was started to ignore, as `nohup` does, a bit each.
    fn ignored() -> u64 {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
        mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok())
            .unwrap_or(0)
    }
}
