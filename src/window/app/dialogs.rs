//! The desktop's own file dialogs, on a thread of their own: the window goes on behind them.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

use bevy::winit::{EventLoopProxyWrapper, WinitUserEvent};

/// A dialog that comes back empty sooner than this never came up: no one answers so fast.
const NO_DIALOG: Duration = Duration::from_millis(400);

/// Wakes the window from another thread.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// What came of a dialog.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DialogResult {
    /// This path. The dialog itself has asked whether a file that is there may be replaced.
    Path(PathBuf),
    /// None, by the user's choice.
    CalledOff,
    /// This desktop has no dialogs to show.
    NoDialog,
}

/// A dialog that is up.
pub struct Dialog {
    chosen: Arc<OnceLock<Option<PathBuf>>>,
    since: Instant,
    saving: bool,
}

impl Dialog {
    /// Asks which file to open, of a kind (its name and its endings).
    pub fn to_open(title: &str, kind: (&str, &[&str]), beside: Option<&Path>, wake: &Wake) -> Self {
        Self::up(of_kind(title, kind, beside), false, wake)
    }

    /// Asks where to save, suggesting a path.
    pub fn to_save(title: &str, kind: (&str, &[&str]), suggested: &Path, wake: &Wake) -> Self {
        let name = suggested
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default();
        Self::up(
            of_kind(title, kind, Some(suggested)).set_file_name(name),
            true,
            wake,
        )
    }

    fn up(dialog: rfd::FileDialog, saving: bool, wake: &Wake) -> Self {
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
    pub fn is_for_saving(&self) -> bool {
        self.saving
    }

    /// What came of it; None while it is up.
    pub fn answer(&self) -> Option<DialogResult> {
        // A dialog whose thread is gone without an answer has none to show either.
        let gone = Arc::strong_count(&self.chosen) == 1;
        match self.chosen.get() {
            Some(Some(path)) => Some(DialogResult::Path(path.clone())),
            None if !gone => None,
            _ if self.since.elapsed() < NO_DIALOG => Some(DialogResult::NoDialog),
            _ => Some(DialogResult::CalledOff),
        }
    }
}

/// How another thread wakes the window; does nothing where there is no window.
pub fn wake(proxy: Option<&EventLoopProxyWrapper>) -> Wake {
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
