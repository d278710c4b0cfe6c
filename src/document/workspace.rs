//! The desk a document lies on: opening, saving, beginning anew and going home, without losing work
//! on the way.
//!
//! A [`Action`] is what the user asks for; the answer is what must be done about it outside
//! ([`Doing`]): a dialog to be shown, a file to be read or written. Where work would be lost the
//! wish waits ([`Workspace::question`]) until it is settled.

use std::path::{Path, PathBuf};

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
    Settle(Resolution),
}

impl Action {
    /// Whether it leaves the document behind.
    fn leaves(&self) -> bool {
        matches!(
            self,
            Self::New | Self::Open | Self::OpenFile(_) | Self::OpenScene(_) | Self::Close
        )
    }
}

/// What must be done outside.
#[derive(Clone, Debug, PartialEq)]
pub enum Doing {
    /// Ask for a file to open.
    AskWhichToOpen,
    /// Ask where to save; this is a good name.
    AskWhereToSave(PathBuf),
    /// Ask what the new engine is like.
    AskWhatIsNew,
    /// Read this file, then [`Workspace::read`].
    Read(PathBuf),
    /// Write this text there, over what is there or not, then [`Workspace::written`].
    Write {
        /// The file.
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
    /// There is work that no file holds; this was wished for.
    Unsaved(Action),
    /// There is a file of that name; may it be replaced?
    Replace(PathBuf),
}

/// The answer to a [`Question`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reply {
    /// Save first; or, replace the file.
    Save,
    /// Go on without saving.
    Discard,
    /// Do nothing.
    Cancel,
}

/// Something to be told, until the next thing.
#[derive(Clone, Debug, PartialEq)]
pub enum Notice {
    /// It went well.
    Done(String),
    /// It did not.
    Failed(String),
    /// A file that is no engine, and why.
    NotAnEngine(PathBuf, Vec<Finding>),
}

/// The desk.
#[derive(Clone, Debug)]
pub struct Workspace {
    /// What lies on it.
    pub document: Document,
    question: Option<Question>,
    /// What is to be done once the work is saved.
    after_saving: Option<Action>,
    notice: Option<Notice>,
    laid: u32,
}

impl Workspace {
    /// A desk with a document on it.
    pub fn with(document: Document) -> Self {
        Self {
            document,
            question: None,
            after_saving: None,
            notice: None,
            laid: 0,
        }
    }

    /// A number that is another one whenever another document lies on the desk.
    pub fn laid(&self) -> u32 {
        self.laid
    }

    fn lay(&mut self, document: Document) {
        *self = Self {
            laid: self.laid + 1,
            ..Self::with(document)
        };
    }

    /// What must be answered before anything goes on.
    pub fn question(&self) -> Option<&Question> {
        self.question.as_ref()
    }

    /// What there is to tell.
    pub fn notice(&self) -> Option<&Notice> {
        self.notice.as_ref()
    }

    /// It has been read.
    pub fn dismiss_notice(&mut self) {
        self.notice = None;
    }

    /// Tells something.
    pub fn tell(&mut self, notice: Notice) {
        self.notice = Some(notice);
    }

    /// Takes a wish, and gives what must be done about it, if anything.
    pub fn wish(&mut self, wish: Action) -> Option<Doing> {
        if self.question.is_some() {
            return None;
        }
        if wish.leaves() && self.document.is_dirty() {
            self.question = Some(Question::Unsaved(wish));
            return None;
        }
        match wish {
            Action::Save => self.save(),
            Action::SaveAs => Some(Doing::AskWhereToSave(self.good_name())),
            Action::Undo => self.on_document(Document::undo),
            Action::Redo => self.on_document(Document::redo),
            Action::Settle(keep) => self.on_document(|document| document.settle(keep)),
            wish => self.leave(wish),
        }
    }

    fn on_document(&mut self, change: impl FnOnce(&mut Document)) -> Option<Doing> {
        change(&mut self.document);
        None
    }

    fn leave(&mut self, wish: Action) -> Option<Doing> {
        match wish {
            Action::New => Some(Doing::AskWhatIsNew),
            Action::Open => Some(Doing::AskWhichToOpen),
            Action::OpenFile(path) => Some(Doing::Read(path)),
            Action::Close => Some(Doing::Close),
            Action::OpenScene(name) => {
                if let Some(scene) = scenes::find(name)
                    && let Ok(document) = Document::open(None, scene.text)
                {
                    self.lay(document);
                }
                None
            }
            Action::Save | Action::SaveAs | Action::Undo | Action::Redo | Action::Settle(_) => None,
        }
    }

    fn save(&mut self) -> Option<Doing> {
        let Some(path) = self.document.path().map(Path::to_path_buf) else {
            return Some(Doing::AskWhereToSave(self.good_name()));
        };
        match self.document.disk() {
            DiskState::ChangedToo(_) => {
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
            DiskState::AsKept | DiskState::Gone => self.write(path, true),
        }
    }

    fn write(&mut self, path: PathBuf, replace: bool) -> Option<Doing> {
        match self.document.text() {
            Ok(text) => Some(Doing::Write {
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
    fn good_name(&self) -> PathBuf {
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

    /// Answers the question at hand.
    pub fn reply(&mut self, reply: Reply) -> Option<Doing> {
        match (self.question.take()?, reply) {
            (_, Reply::Cancel) => {
                self.after_saving = None;
                None
            }
            (Question::Unsaved(wish), Reply::Save) => {
                self.after_saving = Some(wish);
                self.save()
            }
            (Question::Unsaved(wish), Reply::Discard) => self.leave(wish),
            (Question::Replace(path), Reply::Save) => self.write(path, true),
            (Question::Replace(_), Reply::Discard) => None,
        }
    }

    /// Where to save was chosen; None where the choice was called off. `may_replace` where the user
    /// was asked already.
    pub fn save_to(&mut self, path: Option<PathBuf>, may_replace: bool) -> Option<Doing> {
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
    ) -> Option<Doing> {
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
                let wish = self.after_saving.take()?;
                self.leave(wish)
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
            Ok(Ok(document)) => self.lay(document),
            Ok(Err(findings)) => self.notice = Some(Notice::NotAnEngine(path, findings)),
            Err(why) => {
                self.notice = Some(Notice::Failed(format!(
                    "{} could not be read: {why}.",
                    path.display()
                )))
            }
        }
    }

    /// A new engine was described.
    pub fn begin(&mut self, description: Description) {
        match Document::new(description) {
            Ok(document) => self.lay(document),
            Err(findings) => {
                self.notice = Some(Notice::NotAnEngine(
                    PathBuf::from("the new engine"),
                    findings,
                ))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::BENCH;

    fn desk() -> Workspace {
        Workspace::with(
            Document::open(Some("/bench/four.ron".into()), BENCH.text).expect("an engine"),
        )
    }

    fn edited() -> Workspace {
        let mut desk = desk();
        let description = Description {
            bore: 84.0,
            ..desk.document.description().clone()
        };
        desk.document.edit(description, "bore", 0.0);
        desk
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
        for wish in leaving() {
            let mut desk = edited();
            assert_eq!(desk.wish(wish.clone()), None);
            assert_eq!(desk.question(), Some(&Question::Unsaved(wish)));
            assert_eq!(desk.document.description().bore, 84.0);
            assert_eq!(desk.reply(Reply::Cancel), None);
            assert_eq!(desk.document.description().bore, 84.0);
        }
    }

    #[test]
    fn saved_work_is_left_at_once() {
        assert_eq!(desk().wish(Action::Close), Some(Doing::Close));
        assert_eq!(desk().wish(Action::New), Some(Doing::AskWhatIsNew));
        let mut desk = desk();
        assert_eq!(desk.wish(Action::OpenScene("flat_four")), None);
        assert_eq!(
            (desk.document.description().name.as_str(), desk.laid()),
            ("Flat four", 1)
        );
    }

    #[test]
    fn save_and_close_closes_only_once_it_is_written() {
        let mut desk = edited();
        desk.wish(Action::Close);
        let Some(Doing::Write {
            path,
            text,
            replace: true,
        }) = desk.reply(Reply::Save)
        else {
            panic!("a write")
        };
        let mut full = desk.clone();
        assert_eq!(
            desk.written(path.clone(), text.clone(), Ok(()), false),
            Some(Doing::Close)
        );
        assert!(!desk.document.is_dirty());
        assert_eq!(
            full.written(path, text, Err("the disk is full".into()), false),
            None
        );
        assert!(full.document.is_dirty());
        assert!(matches!(full.notice(), Some(Notice::Failed(why)) if why.contains("disk is full")));
    }

    #[test]
    fn discarding_goes_on_without_saving() {
        let mut desk = edited();
        desk.wish(Action::Open);
        assert_eq!(desk.reply(Reply::Discard), Some(Doing::AskWhichToOpen));
    }

    #[test]
    fn work_without_a_file_is_asked_where_it_goes_and_gets_a_name_and_an_ending() {
        let mut desk =
            Workspace::with(Document::new(BENCH.engine().written().clone()).expect("an engine"));
        desk.wish(Action::Close);
        assert_eq!(
            desk.reply(Reply::Save),
            Some(Doing::AskWhereToSave("bench_four.ron".into()))
        );
        let Some(Doing::Write { path, replace, .. }) =
            desk.save_to(Some("/bench/mine".into()), false)
        else {
            panic!("a write")
        };
        assert_eq!(
            (path.as_path(), replace),
            (Path::new("/bench/mine.ron"), false)
        );
        // Called off, the window stays.
        desk.save_to(None, false);
        assert_eq!(
            desk.written("/bench/x.ron".into(), String::new(), Ok(()), false),
            None
        );
    }

    #[test]
    fn a_file_that_is_there_is_replaced_only_when_that_is_wished() {
        let mut desk = edited();
        let Some(Doing::Write {
            path,
            text,
            replace: false,
        }) = desk.save_to(Some("/bench/other.ron".into()), false)
        else {
            panic!("a write")
        };
        assert_eq!(
            desk.written(path.clone(), text, Err("it is there".into()), true),
            None
        );
        assert_eq!(desk.question(), Some(&Question::Replace(path)));
        assert!(matches!(
            desk.reply(Reply::Save),
            Some(Doing::Write { replace: true, .. })
        ));
    }

    #[test]
    fn a_file_another_editor_changed_too_is_not_saved_over() {
        let mut desk = edited();
        desk.document
            .disk_says(Some(&BENCH.text.replace("bore: 82.0", "bore: 90.0")));
        assert_eq!(desk.wish(Action::Save), None);
        assert!(matches!(desk.notice(), Some(Notice::Failed(_))));
        desk.wish(Action::Settle(Resolution::Mine));
        assert!(matches!(desk.wish(Action::Save), Some(Doing::Write { .. })));
    }

    #[test]
    fn a_file_that_is_no_engine_leaves_what_is_on_the_desk() {
        let mut desk = desk();
        desk.read("/bench/notes.ron".into(), Ok("(format: 1".into()));
        assert!(matches!(desk.notice(), Some(Notice::NotAnEngine(..))));
        desk.read("/bench/none.ron".into(), Err("no such file".into()));
        assert!(matches!(desk.notice(), Some(Notice::Failed(_))));
        assert_eq!(desk.document.title(), "four.ron");
    }

    #[test]
    fn a_broken_engine_can_be_saved_and_is_told_to_be_broken() {
        let mut desk = desk();
        let description = Description {
            bore: -1.0,
            ..desk.document.description().clone()
        };
        desk.document.edit(description, "bore", 0.0);
        let Some(Doing::Write { path, text, .. }) = desk.wish(Action::Save) else {
            panic!("a write")
        };
        desk.written(path, text, Ok(()), false);
        assert_eq!(
            desk.notice(),
            Some(&Notice::Done(
                "Saved four.ron, with one thing still wrong in it.".into()
            ))
        );
    }
}
