//! What is open in the window, and what is done with it: opening, saving, beginning anew and
//! closing, without losing work on the way.
//!
//! An [`Action`] is what the user asks for; the answer is what must be done about it outside
//! ([`Effect`]): a dialog to be shown, a file to be read or written. Where work would be lost the
//! action waits for the answer to a question ([`Workspace::question`]).

use std::path::{Path, PathBuf};
use std::time::Duration;

use super::{DiskState, Document, Resolution};
use crate::description::Description;
use crate::engine::scenes;
use crate::source::Finding;

/// What the user asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Begin a new engine.
    New,
    /// Open a file still to be chosen.
    Open,
    /// Open this file.
    OpenFile(PathBuf),
    /// Open this built-in engine.
    OpenScene(&'static str),
    /// Save where it came from.
    Save,
    /// Save somewhere else.
    SaveAs,
    /// Close the window.
    Close,
    /// Undo the last edit.
    Undo,
    /// Make the last undone edit again.
    Redo,
    /// Choose between what is here and what another editor wrote.
    Resolve(Resolution),
}

impl Action {
    /// Whether another document, or none, is open after it.
    fn leaves(&self) -> bool {
        matches!(
            self,
            Self::New | Self::Open | Self::OpenFile(_) | Self::OpenScene(_) | Self::Close
        )
    }
}

/// What must be done outside the workspace.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Ask for a file to open.
    ChooseFileToOpen,
    /// Ask where to save; this is a good name.
    ChooseFileToSave(PathBuf),
    /// Ask what the new engine is like.
    DescribeNew,
    /// Read this file, then [`Workspace::read`].
    Read(PathBuf),
    /// Write this text there, over what is there or not, then [`Workspace::written`].
    Write {
        /// The file to write.
        path: PathBuf,
        /// Its text.
        text: String,
        /// Whether a file that is there may be replaced.
        replace: bool,
    },
    /// Close the window.
    Close,
}

/// Something that must be answered before anything goes on.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// There is work that no file holds; this was to be done.
    Unsaved(Action),
    /// There is a file of that name; may it be replaced?
    Replace(PathBuf),
    /// Unsaved work on this document was kept when the program ended, so long ago. Is it to be gone
    /// on with?
    Kept(Box<Description>, Duration),
}

/// The answer to a [`Question`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reply {
    /// Save first; or, replace the file; or, go on with what was kept.
    Save,
    /// Go on without saving, or without what was kept.
    Discard,
    /// Do nothing.
    Cancel,
}

/// A message for the user, shown until it is dismissed or another takes its place.
#[derive(Clone, Debug, PartialEq)]
pub enum Notice {
    /// What was done, and went well.
    Done(String),
    /// What was not done, and why.
    Failed(String),
    /// A file that is no engine, and why.
    NotAnEngine(PathBuf, Vec<Finding>),
}

/// The open document, and what is under way with it.
#[derive(Clone, Debug)]
pub struct Workspace {
    /// The open document.
    pub document: Document,
    question: Option<Question>,
    /// What is to be done once the work is saved.
    after_saving: Option<Action>,
    notice: Option<Notice>,
    generation: u32,
}

impl Workspace {
    /// With this document open.
    pub fn new(document: Document) -> Self {
        Self {
            document,
            question: None,
            after_saving: None,
            notice: None,
            generation: 0,
        }
    }

    /// Rises whenever another document is opened or begun.
    pub fn generation(&self) -> u32 {
        self.generation
    }

    fn show(&mut self, document: Document) {
        *self = Self {
            generation: self.generation + 1,
            ..Self::new(document)
        };
    }

    /// What must be answered before anything goes on.
    pub fn question(&self) -> Option<&Question> {
        self.question.as_ref()
    }

    /// The message to be shown.
    pub fn notice(&self) -> Option<&Notice> {
        self.notice.as_ref()
    }

    /// The message has been read.
    pub fn dismiss_notice(&mut self) {
        self.notice = None;
    }

    /// Shows a message.
    pub fn notify(&mut self, notice: Notice) {
        self.notice = Some(notice);
    }

    /// Does what the user asks for, and gives what must be done outside, if anything. Nothing while
    /// a question is open.
    pub fn act(&mut self, action: Action) -> Option<Effect> {
        if self.question.is_some() {
            return None;
        }
        if action.leaves() && self.document.is_dirty() {
            self.question = Some(Question::Unsaved(action));
            return None;
        }
        match action {
            Action::Save => self.save(),
            Action::SaveAs => Some(Effect::ChooseFileToSave(self.suggested_name())),
            Action::Undo => self.on_document(Document::undo),
            Action::Redo => self.on_document(Document::redo),
            Action::Resolve(resolution) => {
                self.on_document(|document| document.resolve(resolution))
            }
            action => self.leave(action),
        }
    }

    fn on_document(&mut self, change: impl FnOnce(&mut Document)) -> Option<Effect> {
        change(&mut self.document);
        None
    }

    fn leave(&mut self, action: Action) -> Option<Effect> {
        match action {
            Action::New => Some(Effect::DescribeNew),
            Action::Open => Some(Effect::ChooseFileToOpen),
            Action::OpenFile(path) => Some(Effect::Read(path)),
            Action::Close => Some(Effect::Close),
            Action::OpenScene(name) => {
                if let Some(scene) = scenes::find(name)
                    && let Ok(document) = Document::open(None, scene.text)
                {
                    self.show(document);
                }
                None
            }
            Action::Save | Action::SaveAs | Action::Undo | Action::Redo | Action::Resolve(_) => {
                None
            }
        }
    }

    fn save(&mut self) -> Option<Effect> {
        let Some(path) = self.document.path().map(Path::to_path_buf) else {
            return Some(Effect::ChooseFileToSave(self.suggested_name()));
        };
        match self.document.disk() {
            DiskState::Conflict(_) => {
                self.after_saving = None;
                self.notice = Some(Notice::Failed(
                    "Not saved: the file was changed by another editor too. Choose which to keep."
                        .into(),
                ));
                None
            }
            DiskState::Broken(_) => {
                self.question = Some(Question::Replace(path));
                None
            }
            DiskState::Unchanged | DiskState::Deleted => self.write(path, true),
        }
    }

    fn write(&mut self, path: PathBuf, replace: bool) -> Option<Effect> {
        match self.document.text() {
            Ok(text) => Some(Effect::Write {
                path,
                text,
                replace,
            }),
            Err(error) => {
                self.after_saving = None;
                self.notice = Some(Notice::Failed(format!(
                    "Not saved: the description cannot be written: {error}."
                )));
                None
            }
        }
    }

    /// A name for a file that has none: the engine's, in letters every system takes.
    fn suggested_name(&self) -> PathBuf {
        if let Some(path) = self.document.path() {
            return path.to_path_buf();
        }
        let name = self.document.description().name.to_lowercase();
        let words = name
            .split(|character: char| !character.is_alphanumeric())
            .filter(|word| !word.is_empty());
        let name = words.collect::<Vec<_>>().join("_");
        PathBuf::from(if name.is_empty() {
            "engine.ron".to_owned()
        } else {
            format!("{name}.ron")
        })
    }

    /// Answers the open question, and gives what must be done outside then.
    pub fn reply(&mut self, reply: Reply) -> Option<Effect> {
        match (self.question.take()?, reply) {
            (_, Reply::Cancel) => {
                self.after_saving = None;
                None
            }
            (Question::Unsaved(action), Reply::Save) => {
                self.after_saving = Some(action);
                self.save()
            }
            (Question::Unsaved(action), Reply::Discard) => self.leave(action),
            (Question::Replace(path), Reply::Save) => self.write(path, true),
            (Question::Replace(_), Reply::Discard) | (Question::Kept(..), Reply::Discard) => None,
            (Question::Kept(description, _), Reply::Save) => {
                self.on_document(|document| document.edit(*description, "", 0.0))
            }
        }
    }

    /// Offers unsaved work on this document that was kept when the program ended, so long ago.
    pub fn offer(&mut self, kept: Description, age: Duration) {
        if kept != *self.document.description() {
            self.question = Some(Question::Kept(Box::new(kept), age));
        }
    }

    /// Where to save was chosen; None where the choice was called off. `may_replace` where the user
    /// was asked already.
    pub fn save_to(&mut self, path: Option<PathBuf>, may_replace: bool) -> Option<Effect> {
        let Some(mut path) = path else {
            self.after_saving = None;
            return None;
        };
        if path.extension().is_none() {
            path.set_extension("ron");
        }
        let own = self.document.path() == Some(path.as_path());
        self.write(path, may_replace || own)
    }

    /// A file was written, or was not. `exists` where it was left alone because it was there.
    pub fn written(
        &mut self,
        path: PathBuf,
        text: String,
        outcome: Result<(), String>,
        exists: bool,
    ) -> Option<Effect> {
        match outcome {
            Ok(()) => {
                self.document.saved_as(path, text);
                let wrong = self
                    .document
                    .findings()
                    .iter()
                    .filter(|finding| finding.is_error())
                    .count();
                let but = match wrong {
                    0 => String::new(),
                    1 => ", with one thing still wrong in it".to_owned(),
                    count => format!(", with {count} things still wrong in it"),
                };
                self.notice = Some(Notice::Done(format!(
                    "Saved {}{but}.",
                    self.document.title()
                )));
                let action = self.after_saving.take()?;
                self.leave(action)
            }
            Err(_) if exists => {
                self.question = Some(Question::Replace(path));
                None
            }
            Err(why) => {
                self.after_saving = None;
                self.notice = Some(Notice::Failed(format!("Not saved: {why}.")));
                None
            }
        }
    }

    /// A file was read, or could not be.
    pub fn read(&mut self, path: PathBuf, text: Result<String, String>) {
        match text.map(|text| Document::open(Some(path.clone()), &text)) {
            Ok(Ok(document)) => self.show(document),
            Ok(Err(findings)) => self.notice = Some(Notice::NotAnEngine(path, findings)),
            Err(why) => {
                self.notice = Some(Notice::Failed(format!(
                    "{} could not be read: {why}.",
                    path.display()
                )));
            }
        }
    }

    /// A new engine was described.
    pub fn begin(&mut self, description: Description) {
        match Document::new(description) {
            Ok(document) => self.show(document),
            Err(findings) => {
                self.notice = Some(Notice::NotAnEngine(
                    PathBuf::from("the new engine"),
                    findings,
                ));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::BENCH;

    fn workspace() -> Workspace {
        Workspace::new(
            Document::open(Some("/bench/four.ron".into()), BENCH.text).expect("an engine"),
        )
    }

    fn edited() -> Workspace {
        let mut workspace = workspace();
        let description = Description {
            bore: 84.0,
            ..workspace.document.description().clone()
        };
        workspace.document.edit(description, "bore", 0.0);
        workspace
    }

    fn leaving() -> [Action; 5] {
        [
            Action::New,
            Action::Open,
            Action::OpenFile("/bench/six.ron".into()),
            Action::OpenScene("flat_four"),
            Action::Close,
        ]
    }

    #[test]
    fn nothing_that_leaves_unsaved_work_behind_goes_on_without_asking() {
        for action in leaving() {
            let mut workspace = edited();
            assert_eq!(workspace.act(action.clone()), None);
            assert_eq!(workspace.question(), Some(&Question::Unsaved(action)));
            assert_eq!(workspace.document.description().bore, 84.0);
            assert_eq!(workspace.reply(Reply::Cancel), None);
            assert_eq!(workspace.document.description().bore, 84.0);
        }
    }

    #[test]
    fn saved_work_is_left_at_once() {
        assert_eq!(workspace().act(Action::Close), Some(Effect::Close));
        assert_eq!(workspace().act(Action::New), Some(Effect::DescribeNew));
        let mut workspace = workspace();
        assert_eq!(workspace.act(Action::OpenScene("flat_four")), None);
        assert_eq!(
            (
                workspace.document.description().name.as_str(),
                workspace.generation()
            ),
            ("Flat four", 1)
        );
    }

    #[test]
    fn save_and_close_closes_only_once_it_is_written() {
        let mut workspace = edited();
        workspace.act(Action::Close);
        let Some(Effect::Write {
            path,
            text,
            replace: true,
        }) = workspace.reply(Reply::Save)
        else {
            panic!("a write")
        };
        let mut full = workspace.clone();
        assert_eq!(
            workspace.written(path.clone(), text.clone(), Ok(()), false),
            Some(Effect::Close)
        );
        assert!(!workspace.document.is_dirty());
        assert_eq!(
            full.written(path, text, Err("the disk is full".into()), false),
            None
        );
        assert!(full.document.is_dirty());
        assert!(matches!(full.notice(), Some(Notice::Failed(why)) if why.contains("disk is full")));
    }

    #[test]
    fn discarding_goes_on_without_saving() {
        let mut workspace = edited();
        workspace.act(Action::Open);
        assert_eq!(
            workspace.reply(Reply::Discard),
            Some(Effect::ChooseFileToOpen)
        );
    }

    #[test]
    fn work_without_a_file_is_asked_where_it_goes_and_gets_a_name_and_an_ending() {
        let mut workspace =
            Workspace::new(Document::new(BENCH.engine().written().clone()).expect("an engine"));
        workspace.act(Action::Close);
        assert_eq!(
            workspace.reply(Reply::Save),
            Some(Effect::ChooseFileToSave("bench_four.ron".into()))
        );
        let Some(Effect::Write { path, replace, .. }) =
            workspace.save_to(Some("/bench/mine".into()), false)
        else {
            panic!("a write")
        };
        assert_eq!(
            (path.as_path(), replace),
            (Path::new("/bench/mine.ron"), false)
        );
        // Called off, the window stays.
        workspace.save_to(None, false);
        assert_eq!(
            workspace.written("/bench/x.ron".into(), String::new(), Ok(()), false),
            None
        );
    }

    #[test]
    fn a_file_that_is_there_is_replaced_only_when_that_is_answered() {
        let mut workspace = edited();
        let Some(Effect::Write {
            path,
            text,
            replace: false,
        }) = workspace.save_to(Some("/bench/other.ron".into()), false)
        else {
            panic!("a write")
        };
        assert_eq!(
            workspace.written(path.clone(), text, Err("it is there".into()), true),
            None
        );
        assert_eq!(workspace.question(), Some(&Question::Replace(path)));
        assert!(matches!(
            workspace.reply(Reply::Save),
            Some(Effect::Write { replace: true, .. })
        ));
    }

    #[test]
    fn a_file_another_editor_changed_too_is_not_saved_over() {
        let mut workspace = edited();
        workspace
            .document
            .disk_changed(Some(&BENCH.text.replace("bore: 82.0", "bore: 90.0")));
        assert_eq!(workspace.act(Action::Save), None);
        assert!(matches!(workspace.notice(), Some(Notice::Failed(_))));
        workspace.act(Action::Resolve(Resolution::Mine));
        assert!(matches!(
            workspace.act(Action::Save),
            Some(Effect::Write { .. })
        ));
    }

    #[test]
    fn a_file_that_is_no_engine_leaves_what_is_open() {
        let mut workspace = workspace();
        workspace.read("/bench/notes.ron".into(), Ok("(format: 1".into()));
        assert!(matches!(workspace.notice(), Some(Notice::NotAnEngine(..))));
        workspace.read("/bench/none.ron".into(), Err("no such file".into()));
        assert!(matches!(workspace.notice(), Some(Notice::Failed(_))));
        assert_eq!(workspace.document.title(), "four.ron");
    }

    #[test]
    fn a_broken_engine_can_be_saved_and_is_said_to_be_broken() {
        let mut workspace = workspace();
        let description = Description {
            bore: -1.0,
            ..workspace.document.description().clone()
        };
        workspace.document.edit(description, "bore", 0.0);
        let Some(Effect::Write { path, text, .. }) = workspace.act(Action::Save) else {
            panic!("a write")
        };
        workspace.written(path, text, Ok(()), false);
        assert_eq!(
            workspace.notice(),
            Some(&Notice::Done(
                "Saved four.ron, with one thing still wrong in it.".into()
            ))
        );
    }
}
