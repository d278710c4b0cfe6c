//! Does what the desk asks for: dialogs off the main thread, reading, writing whole, and an ear to
//! the disk.
//!
//! [`Files`] holds the [`Workspace`] and everything that reaches outside. It is asked for news each
//! frame that is drawn anyway; what happens on another thread (a dialog, the watcher) wakes the
//! window through `wake`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::description::Description;
use crate::document::read_text;
use crate::document::workspace::{Action, Effect, Notice, Reply, Workspace};
use crate::output::{Error, file};

use super::watcher::Watcher;
use crate::window::app::dialogs::{Dialog, DialogResult, Wake};
use crate::window::panes::file_menu::Typing;
use crate::window::panes::new_engine::Choosing;

/// The kind of file that descriptions are kept in.
const KIND: (&str, &[&str]) = ("Engine descriptions", &["ron"]);

/// The desk, and everything it needs from outside.
pub struct Files {
    workspace: Workspace,
    watcher: Option<Watcher>,
    /// A dialog that is up, and the name suggested where it is for saving.
    dialog: Option<(Dialog, Option<PathBuf>)>,
    /// A path being typed, where no dialog could be had.
    pub typing: Option<Typing>,
    /// A new engine being chosen.
    pub choosing: Option<Choosing>,
    wake: Wake,
    closing: bool,
}

impl Files {
    /// A desk, and how to wake the window.
    pub fn new(workspace: Workspace, wake: Wake) -> Self {
        let mut files = Self {
            workspace,
            watcher: None,
            dialog: None,
            typing: None,
            choosing: None,
            wake,
            closing: false,
        };
        files.watch();
        files
    }

    /// The desk.
    pub fn workspace(&self) -> &Workspace {
        &self.workspace
    }

    /// The window may close.
    pub fn is_closing(&self) -> bool {
        self.closing
    }

    /// Whether something is asked that holds the keyboard.
    pub fn is_asking(&self) -> bool {
        self.workspace.question().is_some() || self.typing.is_some() || self.choosing.is_some()
    }

    /// Takes an edit of the description.
    pub fn edit(&mut self, description: Description, place: &str, now_s: f64) {
        self.workspace.document.edit(description, place, now_s);
    }

    /// Takes a wish.
    pub fn act(&mut self, action: Action) {
        // What is on the disk now counts, not what was there when the watcher last spoke.
        if action == Action::Save {
            self.look_at_the_disk();
        }
        let doing = self.workspace.act(action);
        self.go_on(doing);
    }

    /// Answers the desk's question.
    pub fn reply(&mut self, reply: Reply) {
        let doing = self.workspace.reply(reply);
        self.go_on(doing);
    }

    /// A path was typed, or was not.
    pub fn typed(&mut self, path: Option<PathBuf>) {
        let Some(typing) = self.typing.take() else {
            return;
        };
        self.chosen(path, typing.saving, false);
    }

    /// A new engine was chosen, or was not.
    pub fn begin(&mut self, description: Option<Description>) {
        self.choosing = None;
        if let Some(description) = description {
            self.workspace.begin(description);
            self.watch();
        }
    }

    /// The notice has been read.
    pub fn dismiss_notice(&mut self) {
        self.workspace.dismiss_notice();
    }

    /// Tells something.
    pub fn notify(&mut self, notice: Notice) {
        self.workspace.notify(notice);
    }

    /// Takes in what dialogs and the disk have to say. Gives whether there was anything.
    pub fn take_news(&mut self) -> bool {
        let from_dialog = self.dialog_has_answered();
        let from_disk =
            self.watcher.as_ref().is_some_and(Watcher::has_changed) && self.look_at_the_disk();
        from_dialog || from_disk
    }

    fn chosen(&mut self, path: Option<PathBuf>, saving: bool, may_replace: bool) {
        let doing = match path {
            path if saving => self.workspace.save_to(path, may_replace),
            path => path.map(Effect::Read),
        };
        self.go_on(doing);
    }

    fn dialog_has_answered(&mut self) -> bool {
        let Some(answer) = self.dialog.as_ref().and_then(|(dialog, _)| dialog.answer()) else {
            return false;
        };
        let saving = self.dialog.take().and_then(|(_, saving)| saving);
        match answer {
            // The dialog itself asked whether a file that is there may be replaced.
            DialogResult::Path(path) => self.chosen(Some(path), saving.is_some(), true),
            DialogResult::CalledOff => self.chosen(None, saving.is_some(), true),
            DialogResult::NoDialog => {
                let start = saving
                    .as_ref()
                    .map_or(String::new(), |path| path.display().to_string());
                self.typing = Some(Typing {
                    path: start,
                    saving: saving.is_some(),
                });
            }
        }
        true
    }

    fn look_at_the_disk(&mut self) -> bool {
        let Some(path) = self.workspace.document.path() else {
            return false;
        };
        match read_text(path) {
            Ok(text) => self.workspace.document.disk_changed(Some(&text)),
            Err(_) if !path.exists() => self.workspace.document.disk_changed(None),
            // Held by another program for a moment: it will be heard of again.
            Err(_) => false,
        }
    }

    /// Does what the desk asks for, and what that leads to.
    fn go_on(&mut self, mut doing: Option<Effect>) {
        while let Some(next) = doing {
            doing = self.one(next);
        }
        self.watch();
    }

    fn one(&mut self, doing: Effect) -> Option<Effect> {
        match doing {
            Effect::ChooseFileToOpen => self.show_dialog(None),
            Effect::ChooseFileToSave(name) => self.show_dialog(Some(name)),
            Effect::DescribeNew => self.choosing = Some(Choosing::default()),
            Effect::Close => self.closing = true,
            Effect::Read(path) => {
                let text = read_text(&path);
                self.workspace.read(path, text);
            }
            Effect::Write {
                path,
                text,
                replace,
            } => {
                let outcome = file::whole(&path, text.as_bytes(), replace);
                let exists = matches!(outcome, Err(Error::Exists(_)));
                let outcome = outcome.map_err(|error| error.to_string());
                // From here on the file has one name, wherever the program was started.
                let path = path.canonicalize().unwrap_or(path);
                return self.workspace.written(path, text, outcome, exists);
            }
        }
        None
    }

    fn show_dialog(&mut self, saving: Option<PathBuf>) {
        if self.dialog.is_some() {
            return;
        }
        let dialog = match &saving {
            Some(path) => {
                // A bare name is suggested in the folder of the file at hand.
                let beside = self
                    .workspace
                    .document
                    .path()
                    .and_then(Path::parent)
                    .map(|folder| folder.join(path));
                let suggested = if path.parent().is_some_and(Path::is_dir) {
                    path
                } else {
                    beside.as_ref().unwrap_or(path)
                };
                Dialog::to_save("Save the engine as", KIND, suggested, &self.wake)
            }
            None => Dialog::to_open(
                "Open an engine",
                KIND,
                self.workspace.document.path(),
                &self.wake,
            ),
        };
        self.dialog = Some((dialog, saving));
    }

    /// Watches the file at hand, and no other.
    fn watch(&mut self) {
        let path = self.workspace.document.path().map(Path::to_path_buf);
        if self.watcher.as_ref().map(Watcher::path) == path.as_deref() {
            return;
        }
        self.watcher = None;
        let Some(path) = path else { return };
        let wake = Arc::clone(&self.wake);
        match Watcher::on(&path, move || wake()) {
            Ok(watcher) => self.watcher = Some(watcher),
            Err(error) => self.workspace.notify(Notice::Failed(format!(
                "Changes by another editor will not be seen: {error}."
            ))),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::time::{Duration, Instant};

    use super::*;
    use crate::document::{DiskState, Document, Resolution};
    use crate::engine::scenes::BENCH;

    fn files(path: &Path) -> Files {
        files_waking(path, Arc::new(|| ()))
    }

    fn files_waking(path: &Path, wake: Wake) -> Files {
        fs::write(path, BENCH.text).expect("written");
        let document = Document::open(Some(path.to_path_buf()), BENCH.text).expect("an engine");
        Files::new(Workspace::new(document), wake)
    }

    fn with_bore(files: &Files, bore: f64) -> Description {
        Description {
            bore,
            ..files.workspace().document.description().clone()
        }
    }

    /// Whether `done` comes to be, within ten seconds.
    fn comes(mut done: impl FnMut() -> bool) -> bool {
        let start = Instant::now();
        while !done() {
            if start.elapsed() > Duration::from_secs(10) {
                return false;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        true
    }

    fn news(files: &mut Files) -> bool {
        comes(|| files.take_news())
    }

    #[test]
    fn a_file_saved_by_another_editor_is_shown_and_a_broken_one_leaves_the_engine() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let mut files = files(&path);
        fs::write(&path, BENCH.text.replace("bore: 82.0", "bore: 90.0")).expect("written");
        assert!(news(&mut files));
        // A write may be seen half done; what counts is where it ends.
        while files.workspace().document.engine().metric().bore != 90.0 {
            assert!(news(&mut files), "{:?}", files.workspace().document.disk());
        }
        fs::write(&path, "(format: 1,").expect("written");
        while !matches!(files.workspace().document.disk(), DiskState::Broken(findings) if !findings.is_empty())
        {
            assert!(news(&mut files));
        }
        assert_eq!(files.workspace().document.engine().metric().bore, 90.0);
        fs::write(&path, BENCH.text).expect("written");
        while *files.workspace().document.disk() != DiskState::Unchanged {
            assert!(news(&mut files));
        }
        assert_eq!(files.workspace().document.engine().metric().bore, 82.0);
    }

    #[test]
    fn what_is_saved_is_on_the_disk_whole_and_is_no_news() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let (told, heard) = std::sync::mpsc::channel();
        let wake: Wake = Arc::new(move || drop(told.send(())));
        let mut files = files_waking(&path, wake);
        files.edit(with_bore(&files, 83.0), "bore", 0.0);
        files.act(Action::Save);
        assert_eq!(
            fs::read_to_string(&path).expect("read"),
            BENCH.text.replace("bore: 82.0", "bore: 83.0")
        );
        assert!(!files.workspace().document.is_dirty());
        heard
            .recv_timeout(Duration::from_secs(10))
            .expect("the save is heard of");
        assert!(!files.take_news());
        assert_eq!(
            fs::read_dir(folder.path()).expect("listed").count(),
            1,
            "nothing is left beside it"
        );
    }

    #[test]
    fn a_change_on_the_disk_that_was_not_heard_of_yet_is_not_saved_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let mut files = files(&path);
        files.edit(with_bore(&files, 83.0), "bore", 0.0);
        let theirs = BENCH.text.replace("bore: 82.0", "bore: 90.0");
        fs::write(&path, &theirs).expect("written");
        files.act(Action::Save);
        assert_eq!(fs::read_to_string(&path).expect("read"), theirs);
        assert!(matches!(
            files.workspace().document.disk(),
            DiskState::Conflict(_)
        ));
        files.act(Action::Resolve(Resolution::Mine));
        files.act(Action::Save);
        assert!(
            fs::read_to_string(&path)
                .expect("read")
                .contains("bore: 83.0")
        );
    }

    #[test]
    fn a_typed_path_is_saved_to_and_watched_from_then_on() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let mut files = files(&path);
        files.typing = Some(Typing {
            path: String::new(),
            saving: true,
        });
        files.typed(Some(folder.path().join("other")));
        let other = folder
            .path()
            .canonicalize()
            .expect("a folder")
            .join("other.ron");
        assert_eq!(files.workspace().document.path(), Some(other.as_path()));
        fs::write(&other, BENCH.text.replace("bore: 82.0", "bore: 91.0")).expect("written");
        while files.workspace().document.engine().metric().bore != 91.0 {
            assert!(news(&mut files));
        }
    }

    #[test]
    fn a_file_too_large_or_not_text_is_told_of_and_not_opened() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut files = files(&folder.path().join("four.ron"));
        let other = folder.path().join("picture.ron");
        fs::write(&other, [0xFF, 0xFE, 0x00]).expect("written");
        files.act(Action::OpenFile(other));
        assert!(
            matches!(files.workspace().notice(), Some(Notice::Failed(why)) if why.contains("not text"))
        );
        assert_eq!(files.workspace().document.title(), "four.ron");
    }
}
