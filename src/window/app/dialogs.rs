//! The desktop's own file dialogs. Each runs on a thread of its own, so that the window goes on.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

use bevy::winit::{EventLoopProxyWrapper, WinitUserEvent};

/// A dialog that is cancelled sooner than this was never shown: nobody answers so fast.
const NEVER_SHOWN_WITHIN: Duration = Duration::from_millis(400);

/// Wakes the window from another thread.
pub(crate) type Wake = Arc<dyn Fn() + Send + Sync>;

/// What came of a dialog.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum DialogResult {
    /// This path was chosen; where a file is there, the dialog has asked whether to replace it.
    Path(PathBuf),
    /// The user cancelled it.
    Cancelled,
    /// This desktop has no dialogs.
    NoDialog,
}

/// A path being typed by hand, where this desktop has no dialogs.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TypedPath {
    pub(crate) path: String,
    /// Whether it is to be saved to, and not opened.
    pub(crate) saving: bool,
}

/// A dialog that is open.
pub(crate) struct Dialog {
    chosen: Arc<OnceLock<Option<PathBuf>>>,
    since: Instant,
    saving: bool,
}

impl Dialog {
    /// Asks which file to open; `kind` is the name and the endings of the files that are offered.
    pub(crate) fn to_open(
        title: &str,
        kind: (&str, &[&str]),
        beside: Option<&Path>,
        wake: &Wake,
    ) -> Self {
        Self::show(of_kind(title, kind, beside), false, wake)
    }

    /// Asks where to save, suggesting a path.
    pub(crate) fn to_save(
        title: &str,
        kind: (&str, &[&str]),
        suggested: &Path,
        wake: &Wake,
    ) -> Self {
        let name = suggested
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default();
        Self::show(
            of_kind(title, kind, Some(suggested)).set_file_name(name),
            true,
            wake,
        )
    }

    fn show(dialog: rfd::FileDialog, saving: bool, wake: &Wake) -> Self {
        let chosen = Arc::new(OnceLock::new());
        let (answer, wake) = (Arc::clone(&chosen), Arc::clone(wake));
        std::thread::spawn(move || {
            answer.get_or_init(|| {
                if saving {
                    dialog.save_file()
                } else {
                    dialog.pick_file()
                }
            });
            wake();
        });
        Self {
            chosen,
            since: Instant::now(),
            saving,
        }
    }

    /// Whether it asks where to save.
    pub(crate) fn is_for_saving(&self) -> bool {
        self.saving
    }

    /// What came of it; None while it is open.
    pub(crate) fn answer(&self) -> Option<DialogResult> {
        // A thread that ended without an answer had no dialog to show either.
        let gone = Arc::strong_count(&self.chosen) == 1;
        match self.chosen.get() {
            Some(Some(path)) => Some(DialogResult::Path(path.clone())),
            None if !gone => None,
            _ if self.since.elapsed() < NEVER_SHOWN_WITHIN => Some(DialogResult::NoDialog),
            _ => Some(DialogResult::Cancelled),
        }
    }
}

/// How another thread wakes the window; does nothing where there is no window.
pub(crate) fn wake(proxy: Option<&EventLoopProxyWrapper>) -> Wake {
    match proxy {
        Some(proxy) => {
            let proxy = (**proxy).clone();
            Arc::new(move || {
                // A window that is gone needs no waking.
                let _ = proxy.send_event(WinitUserEvent::WakeUp);
            })
        }
        None => Arc::new(|| ()),
    }
}

/// A dialog for files of one kind, in the folder of `beside` where that is a folder.
fn of_kind(
    title: &str,
    (name, endings): (&str, &[&str]),
    beside: Option<&Path>,
) -> rfd::FileDialog {
    let dialog = rfd::FileDialog::new()
        .set_title(title)
        .add_filter(name, endings)
        .add_filter("All files", &["*"]);
    match beside
        .and_then(Path::parent)
        .filter(|folder| folder.is_dir())
    {
        Some(folder) => dialog.set_directory(folder),
        None => dialog,
    }
}
