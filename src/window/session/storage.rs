//! Opening and saving: file dialogs on a thread of their own, reading, writing files whole or not
//! at all, and a watcher on the file that is open.
//!
//! [`Files`] holds the [`Workspace`] and everything that it needs from outside the program. It
//! takes in news in each frame that is drawn; what happens on another thread (a dialog, the
//! watcher) wakes the window through `wake`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use bevy::prelude::Resource;

use crate::description::Description;
use crate::document::read_text;
use crate::document::unsaved::{Unsaved, UnsavedWork};
use crate::document::workspace::{Action, Effect, Notice, Question, Reply, Workspace};
use crate::output::{Error, file};
use crate::source;

use super::engine_choice::NewEngine;
use super::watcher::Watcher;
use crate::window::app::dialogs::{Dialog, DialogResult, TypedPath, Wake};

/// The kind of file that descriptions are kept in.
const KIND: (&str, &[&str]) = ("Engine descriptions", &["ron"]);

/// The workspace, and everything it needs from outside the program.
pub(crate) struct Files {
    workspace: Workspace,
    watcher: Option<Watcher>,
    /// A dialog that is open, and the path suggested where it is for saving.
    dialog: Option<(Dialog, Option<PathBuf>)>,
    /// A path being typed, where no dialog could be had.
    pub(crate) typing: Option<TypedPath>,
    /// A new engine being chosen.
    pub(crate) choosing: Option<NewEngine>,
    wake: Wake,
    closing: bool,
    /// Keeps the description while it is unsaved.
    unsaved: Option<Unsaved<Description>>,
}

/// Where unsaved work of every kind is kept; without it nothing is.
#[derive(Resource)]
pub(crate) struct StateFolder(pub(crate) UnsavedWork);

/// What unsaved work that has no file yet is kept under, by the engine's name, wherever the program
/// was started.
const NO_FILE: &str = "/work without a file";

impl Files {
    /// `wake` draws the window anew from another thread.
    pub(crate) fn new(workspace: Workspace, wake: Wake) -> Self {
        let mut files = Self {
            workspace,
            watcher: None,
            dialog: None,
            typing: None,
            choosing: None,
            wake,
            closing: false,
            unsaved: None,
        };
        files.watch();
        files
    }

    /// Keeps unsaved work there, and offers what was left on this file. A system that gives no
    /// thread for it goes without.
    pub(crate) fn keeping(mut self, work: UnsavedWork) -> Self {
        self.unsaved = Unsaved::new(work).ok();
        self.offer_kept();
        self
    }

    /// What unsaved work on the open document is kept under.
    pub(crate) fn kept_under(&self) -> PathBuf {
        let document = &self.workspace.document;
        match document.path() {
            Some(path) => path.to_path_buf(),
            // Work on one engine is not offered on another.
            None => Path::new(NO_FILE).join(&document.description().name),
        }
    }

    /// Offers unsaved work on the open document, where some was left.
    fn offer_kept(&mut self) {
        let place = self.kept_under();
        let found = self
            .unsaved
            .as_mut()
            .and_then(|unsaved| unsaved.find(&place, |text| source::ron::<Description>(text).0));
        if let Some((description, age)) = found {
            self.workspace.offer(description, age);
        }
    }

    /// Gives what is unsaved now to be kept, and what is saved or given up to be forgotten.
    pub(crate) fn keep_unsaved(&mut self) {
        // What was found stays until the user has decided.
        if matches!(self.workspace.question(), Some(Question::Kept(..))) {
            return;
        }
        let place = self.kept_under();
        if let Some(unsaved) = &mut self.unsaved {
            let document = &self.workspace.document;
            let now = (document.is_dirty() && !self.closing).then(|| document.description());
            unsaved.set(&place, now, |_| document.text());
        }
        if self.closing {
            // Waits until what is to be forgotten is gone.
            self.unsaved = None;
        }
    }

    /// The document and what is asked about it.
    pub(crate) fn workspace(&self) -> &Workspace {
        &self.workspace
    }

    /// Whether the window is to be closed: nothing is left to save or to ask.
    pub(crate) fn is_closing(&self) -> bool {
        self.closing
    }

    /// Takes an edit of the description.
    pub(crate) fn edit(&mut self, description: Description, place: &str, now_s: f64) {
        self.workspace.document.edit(description, place, now_s);
    }

    /// Does what the user asks for.
    pub(crate) fn act(&mut self, action: Action) {
        // What is on the disk now counts, not what was there when the watcher last reported.
        if action == Action::Save {
            self.check_disk();
        }
        let effect = self.workspace.act(action);
        self.perform_all(effect);
    }

    pub(crate) fn reply(&mut self, reply: Reply) {
        if let (Some(Question::Kept(..)), Reply::Cancel, Some(unsaved)) =
            (self.workspace.question(), reply, &mut self.unsaved)
        {
            // It is offered again the next time, unless other changes take its place.
            unsaved.leave();
        }
        let effect = self.workspace.reply(reply);
        self.perform_all(effect);
    }

    /// A path was typed, or was not.
    pub(crate) fn typed(&mut self, path: Option<PathBuf>) {
        let Some(typing) = self.typing.take() else {
            return;
        };
        self.chosen(path, typing.saving, false);
    }

    /// A new engine was chosen, or was not.
    pub(crate) fn begin(&mut self, description: Option<Description>) {
        self.choosing = None;
        if let Some(description) = description {
            self.workspace.begin(description);
            self.watch();
        }
    }

    /// The notice has been read.
    pub(crate) fn dismiss_notice(&mut self) {
        self.workspace.dismiss_notice();
    }

    pub(crate) fn notify(&mut self, notice: Notice) {
        self.workspace.notify(notice);
    }

    /// Takes in what dialogs answered and what changed on the disk. Gives whether there was
    /// anything.
    pub(crate) fn take_news(&mut self) -> bool {
        let from_dialog = self.take_answer();
        let from_disk =
            self.watcher.as_ref().is_some_and(Watcher::has_changed) && self.check_disk();
        from_dialog || from_disk
    }

    fn chosen(&mut self, path: Option<PathBuf>, saving: bool, may_replace: bool) {
        let effect = match path {
            path if saving => self.workspace.save_to(path, may_replace),
            path => path.map(Effect::Read),
        };
        self.perform_all(effect);
    }

    fn take_answer(&mut self) -> bool {
        let Some(answer) = self.dialog.as_ref().and_then(|(dialog, _)| dialog.answer()) else {
            return false;
        };
        let saving = self.dialog.take().and_then(|(_, saving)| saving);
        match answer {
            // The dialog itself asked whether a file that is there may be replaced.
            DialogResult::Path(path) => self.chosen(Some(path), saving.is_some(), true),
            DialogResult::Cancelled => self.chosen(None, saving.is_some(), true),
            DialogResult::NoDialog => {
                let start = saving
                    .as_ref()
                    .map_or(String::new(), |path| path.display().to_string());
                self.typing = Some(TypedPath {
                    path: start,
                    saving: saving.is_some(),
                });
            }
        }
        true
    }

    fn check_disk(&mut self) -> bool {
        let Some(path) = self.workspace.document.path() else {
            return false;
        };
        match read_text(path) {
            Ok(text) => self.workspace.document.disk_changed(Some(&text)),
            Err(_) if !path.exists() => self.workspace.document.disk_changed(None),
            // Held by another program for a moment: the watcher will report again.
            Err(_) => false,
        }
    }

    /// Does what the workspace asks for, and what that leads to.
    fn perform_all(&mut self, mut effect: Option<Effect>) {
        while let Some(next) = effect {
            effect = self.perform(next);
        }
        self.watch();
    }

    fn perform(&mut self, effect: Effect) -> Option<Effect> {
        match effect {
            Effect::ChooseFileToOpen => self.show_dialog(None),
            Effect::ChooseFileToSave(name) => self.show_dialog(Some(name)),
            Effect::DescribeNew => self.choosing = Some(NewEngine::default()),
            Effect::Close => self.closing = true,
            Effect::Read(path) => {
                let text = read_text(&path);
                self.workspace.read(path, text);
                self.offer_kept();
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
                // A bare name is suggested in the folder of the file that is open.
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

    /// Watches the file that is open, and no other.
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
    use std::sync::mpsc::{Receiver, channel};
    use std::time::{Duration, Instant};

    use super::*;
    use crate::document::{DiskState, Document, Resolution};
    use crate::engine::scenes::BENCH;

    /// The file opened, and what is received whenever the window would be woken.
    fn files(path: &Path) -> (Files, Receiver<()>) {
        fs::write(path, BENCH.text).expect("written");
        let document = Document::open(Some(path.to_path_buf()), BENCH.text).expect("an engine");
        let (sender, woken) = channel();
        let wake = move || {
            let _ = sender.send(());
        };
        (Files::new(Workspace::new(document), Arc::new(wake)), woken)
    }

    fn with_bore(files: &Files, bore: f64) -> Description {
        Description {
            bore,
            ..files.workspace().document.description().clone()
        }
    }

    /// Takes news until there is some, for ten seconds at most.
    fn news(files: &mut Files, woken: &Receiver<()>) -> bool {
        let end = Instant::now() + Duration::from_secs(10);
        while !files.take_news() {
            let left = end.saturating_duration_since(Instant::now());
            if woken.recv_timeout(left).is_err() {
                return false;
            }
        }
        true
    }

    #[test]
    fn a_file_saved_by_another_editor_is_shown_and_a_broken_one_leaves_the_engine() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let (mut files, woken) = files(&path);
        fs::write(&path, BENCH.text.replace("bore: 82.0", "bore: 90.0")).expect("written");
        assert!(news(&mut files, &woken));
        // A write may be seen half done; what counts is where it ends.
        while files.workspace().document.engine().metric().bore != 90.0 {
            assert!(
                news(&mut files, &woken),
                "{:?}",
                files.workspace().document.disk()
            );
        }
        fs::write(&path, "(format: 1,").expect("written");
        while !matches!(files.workspace().document.disk(), DiskState::Broken(findings) if !findings.is_empty())
        {
            assert!(news(&mut files, &woken));
        }
        assert_eq!(files.workspace().document.engine().metric().bore, 90.0);
        fs::write(&path, BENCH.text).expect("written");
        while *files.workspace().document.disk() != DiskState::Unchanged {
            assert!(news(&mut files, &woken));
        }
        assert_eq!(files.workspace().document.engine().metric().bore, 82.0);
    }

    #[test]
    fn what_is_saved_is_on_the_disk_whole_and_is_no_news() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let (mut files, woken) = files(&path);
        files.edit(with_bore(&files, 83.0), "bore", 0.0);
        files.act(Action::Save);
        assert_eq!(
            fs::read_to_string(&path).expect("read"),
            BENCH.text.replace("bore: 82.0", "bore: 83.0")
        );
        assert!(!files.workspace().document.is_dirty());
        woken
            .recv_timeout(Duration::from_secs(10))
            .expect("the watcher reports the saved file");
        assert!(!files.take_news());
        assert_eq!(
            fs::read_dir(folder.path()).expect("listed").count(),
            1,
            "nothing is left beside it"
        );
    }

    #[test]
    fn a_change_on_the_disk_that_was_not_noticed_yet_is_not_saved_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("four.ron");
        let (mut files, _) = files(&path);
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
        let (mut files, woken) = files(&path);
        files.typing = Some(TypedPath {
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
            assert!(news(&mut files, &woken));
        }
    }

    #[test]
    fn a_file_too_large_or_not_text_gives_a_notice_and_is_not_opened() {
        let folder = tempfile::tempdir().expect("a folder");
        let (mut files, _) = files(&folder.path().join("four.ron"));
        let other = folder.path().join("picture.ron");
        fs::write(&other, [0xFF, 0xFE, 0x00]).expect("written");
        files.act(Action::OpenFile(other));
        assert!(
            matches!(files.workspace().notice(), Some(Notice::Failed(why)) if why.contains("UTF-16"))
        );
        assert_eq!(files.workspace().document.title(), "four.ron");
    }
}
