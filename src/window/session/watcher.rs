//! Notices when another program changes the file that is open.
//!
//! The folder is watched, and not the file: most editors write a new file and move it into the old
//! one's place.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};

#[derive(Debug)]
pub(crate) struct Watcher {
    path: PathBuf,
    changed: Arc<AtomicBool>,
    /// Reports for as long as it lives.
    _notify: RecommendedWatcher,
}

impl Watcher {
    /// Watches `path`; `wake` is called, on another thread, whenever it may have changed.
    ///
    /// # Errors
    /// Where the system cannot watch its folder.
    pub(crate) fn on(path: &Path, wake: impl Fn() + Send + 'static) -> notify::Result<Self> {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder.canonicalize()?,
            _ => std::env::current_dir()?,
        };
        let name: OsString = path.file_name().unwrap_or_default().to_owned();
        let changed = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&changed);
        let mut notify =
            notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
                // A lost event may have been about this file.
                let may_be_ours = event.as_ref().map_or(true, |event| {
                    !matches!(event.kind, EventKind::Access(_))
                        && event
                            .paths
                            .iter()
                            .any(|path| path.file_name() == Some(&name))
                });
                if may_be_ours {
                    flag.store(true, Ordering::Release);
                    wake();
                }
            })?;
        notify.watch(&folder, RecursiveMode::NonRecursive)?;
        Ok(Self {
            path: path.to_path_buf(),
            changed,
            _notify: notify,
        })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the file may have changed since this was last asked.
    pub(crate) fn has_changed(&self) -> bool {
        self.changed.swap(false, Ordering::AcqRel)
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::sync::atomic::AtomicUsize;
    use std::time::{Duration, Instant};

    use super::*;

    /// Whether a change is seen, for ten seconds at most.
    fn sees(watcher: &Watcher) -> bool {
        let start = Instant::now();
        while !watcher.has_changed() {
            if start.elapsed() > Duration::from_secs(10) {
                return false;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        true
    }

    #[test]
    fn a_file_written_replaced_or_taken_away_is_seen() {
        type Way = (&'static str, fn(&Path));
        let ways: [Way; 3] = [
            ("written over", |path| {
                fs::write(path, "two").expect("written");
            }),
            ("moved into place", |path| {
                let beside = path.with_file_name("beside");
                fs::write(&beside, "three").expect("written");
                fs::rename(beside, path).expect("moved into place");
            }),
            ("taken away", |path| fs::remove_file(path).expect("removed")),
        ];
        for (what, change) in ways {
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join("four.ron");
            fs::write(&path, "one").expect("written");
            let watcher = Watcher::on(&path, || ()).expect("watched");
            assert!(!watcher.has_changed(), "{what}");
            change(&path);
            assert!(sees(&watcher), "{what}");
        }
    }

    #[test]
    fn other_files_and_reading_are_no_change() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        fs::write(&path, "one").expect("written");
        let woken = Arc::new(AtomicUsize::new(0));
        let counter = Arc::clone(&woken);
        let count = move || {
            counter.fetch_add(1, Ordering::AcqRel);
        };
        let watcher = Watcher::on(&path, count).expect("watched");
        fs::write(folder.path().join("other.ron"), "two").expect("written");
        let _ = fs::read(&path).expect("read");
        // Events come in their order: the first that wakes is that the file was taken away.
        fs::remove_file(&path).expect("removed");
        assert!(sees(&watcher));
        assert_eq!(woken.load(Ordering::Acquire), 1);
    }

    #[test]
    fn a_folder_that_is_not_there_cannot_be_watched() {
        assert!(Watcher::on(Path::new("/not there/four.ron"), || ()).is_err());
    }
}
