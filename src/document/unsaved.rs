//! Unsaved work, kept so that it outlives any end of the program: a kill, a crash, a lost display,
//! a power cut.
//!
//! What stands unsaved in the window is written to a file of its own in the user's state folder,
//! whole or not at all, within [`KEPT_WITHIN`] of the first change that is not in it yet; once the
//! work is saved, or given up, the file goes. Writing is done on a thread of its own: a slow disk
//! does not hold up a frame.

use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::output::{Error, file};
use crate::source::LARGEST_BYTES;

/// A change is on the disk no later than this after it was made.
pub const KEPT_WITHIN: Duration = Duration::from_secs(2);
/// How long further changes are waited for, so that a drag is not written at every step.
const GATHERED_FOR: Duration = Duration::from_millis(700);
/// Work that no further change comes to is on the disk within this.
pub const WRITTEN_WITHIN: Duration = Duration::from_millis(1000);
/// File systems take names of 255 bytes at the most.
const LONGEST_NAME: usize = 200;

/// The folder in which unsaved work is kept, a file for each file that is worked on.
#[derive(Clone, Debug)]
pub struct UnsavedWork {
    folder: PathBuf,
}

/// Unsaved work that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// What would have been saved.
    pub text: String,
    /// How long ago it was written.
    pub age: Duration,
}

impl UnsavedWork {
    /// In the user's state folder; None where the system names none.
    pub fn of_user() -> Option<Self> {
        Self::in_state("unsaved")
    }

    /// Where the window's own looks are kept in the same manner, though no work is: in another
    /// folder of the user's state.
    pub fn of_window() -> Option<Self> {
        Self::in_state("window")
    }

    fn in_state(folder: &str) -> Option<Self> {
        let state = dirs::state_dir().or_else(dirs::data_local_dir)?;
        Some(Self::within(state.join("dotwise").join(folder)))
    }

    /// In this folder.
    pub fn within(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// The file that holds the unsaved work on `path`: the whole path in one name, so that files of
    /// one name in two folders have one each.
    fn file_of(&self, path: &Path) -> PathBuf {
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
        let name: String = whole
            .to_string_lossy()
            .chars()
            .map(|letter| match letter {
                '/' | '\\' | ':' => '%',
                letter if letter.is_control() => '_',
                letter => letter,
            })
            .collect();
        let name = if name.len() <= LONGEST_NAME {
            name
        } else {
            let start = name.ceil_char_boundary(name.len() - (LONGEST_NAME - 17));
            format!("{:016x}%{}", hash(&name), &name[start..])
        };
        self.folder.join(name)
    }

    /// Keeps the unsaved work on `path`.
    ///
    /// # Errors
    /// Where the system will not; what was kept before is then kept still.
    pub fn keep(&self, path: &Path, text: &str) -> Result<(), Error> {
        if let Err(error) = fs::create_dir_all(&self.folder) {
            return Err(Error::NotWritten(self.folder.clone(), error));
        }
        file::whole(&self.file_of(path), text.as_bytes(), true)
    }

    /// The work on `path` is saved, or given up.
    ///
    /// # Errors
    /// Where the system will not take the file away.
    pub fn forget(&self, path: &Path) -> io::Result<()> {
        match fs::remove_file(self.file_of(path)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }

    /// The unsaved work on `path`, where some was left.
    pub fn find(&self, path: &Path) -> Option<Kept> {
        let file = self.file_of(path);
        let about = fs::metadata(&file).ok()?;
        if about.len() > LARGEST_BYTES as u64 {
            return None;
        }
        Some(Kept {
            text: fs::read_to_string(&file).ok()?,
            age: about.modified().ok()?.elapsed().unwrap_or_default(),
        })
    }
}

/// FNV-1a, 64 bits: the same on every machine and in every version.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// One value that is worked on, kept outside the program while it is unsaved: a description, what
/// was observed, how far the job has come.
pub struct Unsaved<T> {
    work: UnsavedWork,
    keeper: Keeper,
    /// What was given to be kept last, and for which file.
    kept: Option<(PathBuf, T)>,
}

impl<T: Clone + PartialEq> Unsaved<T> {
    /// Keeps it there.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn new(work: UnsavedWork) -> io::Result<Self> {
        let keeper = Keeper::new(work.clone())?;
        Ok(Self {
            work,
            keeper,
            kept: None,
        })
    }

    /// What was left unsaved on `path` and `read` makes sense of, and how long ago. It stays kept
    /// until [`Self::set`] says otherwise.
    pub fn find(
        &mut self,
        path: &Path,
        read: impl FnOnce(&str) -> Option<T>,
    ) -> Option<(T, Duration)> {
        let found = self.work.find(path)?;
        let value = read(&found.text)?;
        self.kept = Some((path.to_path_buf(), value.clone()));
        Some((value, found.age))
    }

    /// What stands unsaved on `path` now, None where nothing does; `write` gives its text. What was
    /// kept before, on this file or another, gives way to it.
    pub fn set<E>(
        &mut self,
        path: &Path,
        now: Option<&T>,
        write: impl FnOnce(&T) -> Result<String, E>,
    ) {
        let same = match (&self.kept, now) {
            (Some((under, kept)), Some(now)) => under == path && kept == now,
            (kept, now) => kept.is_none() && now.is_none(),
        };
        if same {
            return;
        }
        if let Some((under, _)) = self.kept.take()
            && (now.is_none() || under != path)
        {
            self.keeper.set(&under, None);
        }
        if let Some(now) = now
            && let Ok(text) = write(now)
        {
            self.keeper.set(path, Some(text));
            self.kept = Some((path.to_path_buf(), now.clone()));
        }
    }

    /// Leaves what is kept where it is: it is found again the next time.
    pub fn leave(&mut self) {
        self.kept = None;
    }
}

/// What a [`Keeper`] is told.
enum Change {
    /// The unsaved work on this file now reads so.
    Keep(PathBuf, String),
    /// There is none any more.
    Forget(PathBuf),
}

/// Keeps unsaved work on a thread of its own. What is still to be written when it is dropped is
/// written then.
pub struct Keeper {
    changes: Option<Sender<Change>>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// Keeps work there.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn new(work: UnsavedWork) -> io::Result<Self> {
        let (changes, coming) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("unsaved work".into())
            .spawn(move || write_changes(&work, &coming))?;
        Ok(Self {
            changes: Some(changes),
            thread: Some(thread),
        })
    }

    /// The unsaved work on `path` now reads so; None where there is none any more.
    pub fn set(&self, path: &Path, text: Option<String>) {
        let change = match text {
            Some(text) => Change::Keep(path.to_path_buf(), text),
            None => Change::Forget(path.to_path_buf()),
        };
        if let Some(changes) = &self.changes {
            // A thread that is gone has nothing to write to: the disk refused it.
            let _ = changes.send(change);
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        drop(self.changes.take());
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Writes each change once no further one has come for a moment, and at once when all is over.
fn write_changes(work: &UnsavedWork, coming: &Receiver<Change>) {
    let mut waiting: HashMap<PathBuf, (Instant, String)> = HashMap::new();
    loop {
        let next = waiting.values().map(|(due, _)| *due).min();
        let change = match next {
            None => coming.recv().map_err(|_| RecvTimeoutError::Disconnected),
            Some(due) => coming.recv_timeout(due.saturating_duration_since(Instant::now())),
        };
        let over = matches!(change, Err(RecvTimeoutError::Disconnected));
        match change {
            Ok(Change::Keep(path, text)) => {
                // The first change that is not written yet sets the time: a long drag is written on
                // the way.
                let due = waiting
                    .get(&path)
                    .map_or_else(|| Instant::now() + GATHERED_FOR, |(due, _)| *due);
                waiting.insert(path, (due, text));
            }
            Ok(Change::Forget(path)) => {
                waiting.remove(&path);
                // A file that cannot be taken away is offered again, and does no harm.
                let _ = work.forget(&path);
            }
            Err(_) => {}
        }
        let now = Instant::now();
        waiting.retain(|path, (due, text)| {
            let write = over || *due <= now;
            if write {
                // A disk that is full, or a folder that may not be written, keeps nothing: the
                // window goes on all the same.
                let _ = work.keep(path, text);
            }
            !write
        });
        if over {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_kept_is_found_until_it_is_forgotten() {
        let folder = tempfile::tempdir().expect("a folder");
        let work = UnsavedWork::within(folder.path().join("state"));
        let path = folder.path().join("mine.ron");
        assert_eq!(work.find(&path), None);
        work.keep(&path, "(bore: 80.0)").expect("kept");
        work.keep(&path, "(bore: 81.0)").expect("kept");
        let kept = work.find(&path).expect("kept");
        assert_eq!(kept.text, "(bore: 81.0)");
        work.forget(&path).expect("forgotten");
        work.forget(&path).expect("forgotten twice");
        assert_eq!(work.find(&path), None);
    }

    #[test]
    fn files_of_one_name_in_two_folders_and_of_long_paths_have_one_each() {
        let folder = tempfile::tempdir().expect("a folder");
        let work = UnsavedWork::within(folder.path().to_path_buf());
        let deep = "ä".repeat(300);
        for path in [
            "/a/mine.ron",
            "/b/mine.ron",
            &format!("/{deep}/1.ron"),
            &format!("/{deep}/2/1.ron"),
        ] {
            work.keep(Path::new(path), path).expect("kept");
        }
        for path in [
            "/a/mine.ron",
            "/b/mine.ron",
            &format!("/{deep}/1.ron"),
            &format!("/{deep}/2/1.ron"),
        ] {
            assert_eq!(work.find(Path::new(path)).expect("kept").text, path);
        }
    }

    #[test]
    fn a_change_is_on_the_disk_in_time_though_others_follow_without_end() {
        let folder = tempfile::tempdir().expect("a folder");
        let work = UnsavedWork::within(folder.path().to_path_buf());
        let keeper = Keeper::new(work.clone()).expect("a thread");
        let path = Path::new("/a/mine.ron");
        let start = Instant::now();
        while start.elapsed() < KEPT_WITHIN {
            keeper.set(path, Some("changed".into()));
            std::thread::sleep(Duration::from_millis(20));
            if work.find(path).is_some() {
                break;
            }
        }
        assert!(start.elapsed() < KEPT_WITHIN);
        keeper.set(path, Some("last".into()));
        drop(keeper);
        assert_eq!(work.find(path).expect("kept").text, "last");
        let keeper = Keeper::new(work.clone()).expect("a thread");
        keeper.set(path, None);
        drop(keeper);
        assert_eq!(work.find(path), None);
    }
}
