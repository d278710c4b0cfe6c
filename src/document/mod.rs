//! The engine description someone is working on: which file it came from, what has been changed
//! since, and what the disk says meanwhile.
//!
//! It holds no handle and touches no disk: texts come in ([`Document::open`],
//! [`Document::disk_says`]) and go out ([`Document::text`], then [`Document::saved_as`]), so that
//! every turn of it can be tested. The last good engine always stays: while the description or the
//! file is broken, [`Document::engine`] is the one from before and [`Document::findings`] lie over
//! it. The [`desk`] it lies on sees to it that no work is lost on the way to another file.

pub mod unsaved;
pub mod workspace;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::description::Description;
use crate::engine::{Engine, read};
use crate::source;
use crate::source::Finding;

/// Edits to one field that come closer together than this are one edit to undo: a drag, a number
/// being typed.
const ONE_EDIT_S: f64 = 1.0;
/// Edits that can be undone.
const MOST_UNDO: usize = 500;

/// A description being worked on.
#[derive(Clone, Debug)]
pub struct Document {
    path: Option<PathBuf>,
    description: Description,
    engine: Arc<Engine>,
    findings: Vec<Finding>,
    /// The text it was opened from or saved as, and what that text says; None for work that no file
    /// holds yet.
    kept: Option<(String, Description)>,
    disk: DiskState,
    undo: Vec<Description>,
    redo: Vec<Description>,
    last_edit: Option<(String, f64)>,
    version: u64,
}

/// What another editor has done to the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum DiskState {
    /// The file is as it was opened or saved.
    #[default]
    AsKept,
    /// It was changed, and cannot be used as it is now.
    Broken(Vec<Finding>),
    /// It was changed while there are changes here too: one of the two must be chosen.
    ChangedToo(String),
    /// It is no longer there.
    Gone,
}

/// Which of two diverging versions is to stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Resolution {
    /// What is in the window.
    Mine,
    /// What is in the file.
    TheFiles,
}

impl Document {
    /// Opens a text; `path` is the file it came from, None for a built-in engine.
    ///
    /// # Errors
    /// With every finding, where the text describes no engine.
    pub fn open(path: Option<PathBuf>, text: &str) -> Result<Self, Vec<Finding>> {
        let read = read::engine(text);
        let (Some(engine), Some(description)) = (read.engine, read.description) else {
            return Err(read.findings);
        };
        let kept = Some((text.to_owned(), description.clone()));
        Ok(Self {
            kept,
            path,
            ..Self::over(engine, description, read.findings)
        })
    }

    /// Work that no file holds yet.
    ///
    /// # Errors
    /// With every finding, where the description is no engine.
    pub fn new(description: Description) -> Result<Self, Vec<Finding>> {
        let (engine, findings) = Engine::new(description.clone())?;
        Ok(Self::over(engine, description, findings))
    }

    fn over(engine: Arc<Engine>, description: Description, findings: Vec<Finding>) -> Self {
        Self {
            path: None,
            description,
            engine,
            findings,
            kept: None,
            disk: DiskState::AsKept,
            undo: Vec::new(),
            redo: Vec::new(),
            last_edit: None,
            version: 0,
        }
    }

    /// The file it came from or was saved to.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What to call it: the file's name, or the engine's.
    pub fn title(&self) -> String {
        let file = self
            .path
            .as_ref()
            .and_then(|path| path.file_name())
            .map(|name| name.to_string_lossy().into_owned());
        file.unwrap_or_else(|| self.description.name.clone())
    }

    /// The description as it stands now, whether or not it makes an engine.
    pub fn description(&self) -> &Description {
        &self.description
    }

    /// The last good engine.
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engine
    }

    /// Whether the engine is the one described now, and not one from before.
    pub fn is_good(&self) -> bool {
        self.engine.written() == &self.description
    }

    /// Everything found in the description as it stands now.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// What another editor has done to the file.
    pub fn disk(&self) -> &DiskState {
        &self.disk
    }

    /// Rises with every change of the description.
    pub fn version(&self) -> u64 {
        self.version
    }

    /// Whether there is work that no file holds.
    pub fn is_dirty(&self) -> bool {
        self.kept
            .as_ref()
            .is_none_or(|(_, kept)| *kept != self.description)
            || (self.disk == DiskState::Gone && self.path.is_some())
    }

    /// Takes an edit to the field at `place`, made `now_s` seconds into the session. Edits to one
    /// field that follow quickly are undone as one.
    pub fn edit(&mut self, description: Description, place: &str, now_s: f64) {
        if description == self.description {
            return;
        }
        let goes_on = self
            .last_edit
            .as_ref()
            .is_some_and(|(last, at)| last == place && now_s - at < ONE_EDIT_S);
        if !goes_on {
            self.undo.push(self.description.clone());
            if self.undo.len() > MOST_UNDO {
                self.undo.remove(0);
            }
        }
        self.redo.clear();
        self.last_edit = Some((place.to_owned(), now_s));
        self.take(description);
    }

    fn take(&mut self, description: Description) {
        match Engine::new(description.clone()) {
            Ok((engine, warnings)) => {
                self.engine = engine;
                self.findings = warnings;
            }
            Err(errors) => self.findings = errors,
        }
        self.description = description;
        self.version += 1;
    }

    /// Whether there is an edit to undo.
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Whether there is an edit to make again.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// Undoes the last edit.
    pub fn undo(&mut self) {
        if let Some(before) = self.undo.pop() {
            self.redo.push(self.description.clone());
            self.last_edit = None;
            self.take(before);
        }
    }

    /// Makes the last undone edit again.
    pub fn redo(&mut self) {
        if let Some(after) = self.redo.pop() {
            self.undo.push(self.description.clone());
            self.last_edit = None;
            self.take(after);
        }
    }

    /// The text to save: the file's own text with what was changed.
    ///
    /// # Errors
    /// Where the description cannot be written as RON.
    pub fn text(&self) -> Result<String, ron::Error> {
        match &self.kept {
            Some((text, _)) => source::rewrite(text, &self.description),
            None => source::write(&self.description),
        }
    }

    /// The description has been written to `path` as `text`.
    pub fn saved_as(&mut self, path: PathBuf, text: String) {
        self.path = Some(path);
        self.kept = Some((text, self.description.clone()));
        self.disk = DiskState::AsKept;
        self.last_edit = None;
    }

    /// The file now reads so; None where it is gone. Gives whether anything is to be shown anew.
    pub fn disk_says(&mut self, text: Option<&str>) -> bool {
        let Some(text) = text else {
            return self.disk_is(DiskState::Gone);
        };
        if self.kept.as_ref().is_some_and(|(kept, _)| kept == text) {
            return self.disk_is(DiskState::AsKept);
        }
        let read = read::engine(text);
        let Some(description) = read.engine.is_some().then_some(read.description).flatten() else {
            return self.disk_is(DiskState::Broken(read.findings));
        };
        // Whatever the disk was before, what counts is whether there are changes here that it does
        // not know.
        let changed_here = self
            .kept
            .as_ref()
            .is_none_or(|(_, kept)| *kept != self.description);
        if changed_here && description != self.description {
            return self.disk_is(DiskState::ChangedToo(text.to_owned()));
        }
        self.take_the_files(text.to_owned(), description);
        true
    }

    fn disk_is(&mut self, disk: DiskState) -> bool {
        let changed = self.disk != disk;
        self.disk = disk;
        changed
    }

    fn take_the_files(&mut self, text: String, description: Description) {
        if description != self.description {
            self.undo.push(self.description.clone());
            self.redo.clear();
            self.last_edit = None;
            self.take(description.clone());
        }
        self.kept = Some((text, description));
        self.disk = DiskState::AsKept;
    }

    /// Chooses between what is here and what another editor wrote. What is not chosen can still be
    /// reached: the window's version by undo, the file's until it is saved over.
    pub fn settle(&mut self, keep: Resolution) {
        let DiskState::ChangedToo(text) = std::mem::take(&mut self.disk) else {
            return;
        };
        let Some(description) = read::engine(&text).description else {
            return;
        };
        match keep {
            Resolution::TheFiles => self.take_the_files(text, description),
            Resolution::Mine => self.kept = Some((text, description)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::scenes::BENCH;

    fn opened() -> Document {
        Document::open(Some("/bench/four.ron".into()), BENCH.text).expect("an engine")
    }

    fn with_bore(document: &Document, bore: f64) -> Description {
        Description {
            bore,
            ..document.description().clone()
        }
    }

    #[test]
    fn a_file_just_opened_has_nothing_to_save_and_an_edited_one_has_until_it_is_undone() {
        let mut document = opened();
        assert!(!document.is_dirty() && !document.can_undo());
        document.edit(with_bore(&document, 84.0), "bore", 0.0);
        assert!(document.is_dirty());
        assert_eq!(document.engine().metric().bore, 84.0);
        document.undo();
        assert!(!document.is_dirty());
        document.redo();
        assert_eq!(document.description().bore, 84.0);
    }

    #[test]
    fn a_drag_is_one_edit_to_undo_and_another_field_another() {
        let mut document = opened();
        for (index, bore) in [82.1, 82.2, 82.3].into_iter().enumerate() {
            document.edit(with_bore(&document, bore), "bore", index as f64 * 0.1);
        }
        let rod = Description {
            rod_length: 140.0,
            ..document.description().clone()
        };
        document.edit(rod, "rod_length", 0.4);
        document.undo();
        assert_eq!(document.description().bore, 82.3);
        document.undo();
        assert_eq!(document.description().bore, 82.0);
        assert!(!document.can_undo());
    }

    #[test]
    fn the_last_good_engine_stays_while_the_description_is_broken() {
        let mut document = opened();
        document.edit(with_bore(&document, -1.0), "bore", 0.0);
        assert!(!document.is_good());
        assert_eq!(document.engine().metric().bore, 82.0);
        assert_eq!(document.findings()[0].place, "bore");
        document.edit(with_bore(&document, 83.0), "bore", 5.0);
        assert!(document.is_good());
        assert_eq!(document.engine().metric().bore, 83.0);
    }

    #[test]
    fn saving_keeps_the_builders_own_text() {
        let mut document = opened();
        document.edit(with_bore(&document, 83.0), "bore", 0.0);
        let text = document.text().expect("written");
        assert_eq!(text, BENCH.text.replace("bore: 82.0", "bore: 83.0"));
        document.saved_as("/bench/other.ron".into(), text.clone());
        assert!(!document.is_dirty());
        assert_eq!(document.title(), "other.ron");
        // What the watcher then reads is what was written.
        assert!(!document.disk_says(Some(&text)));
    }

    #[test]
    fn a_file_changed_by_another_editor_is_taken_and_can_be_undone() {
        let mut document = opened();
        assert!(document.disk_says(Some(&BENCH.text.replace("bore: 82.0", "bore: 90.0"))));
        assert_eq!(document.engine().metric().bore, 90.0);
        assert!(!document.is_dirty());
        document.undo();
        assert_eq!(document.description().bore, 82.0);
        assert!(document.is_dirty());
    }

    #[test]
    fn while_the_file_is_broken_the_engine_stays_and_the_findings_are_known() {
        let mut document = opened();
        assert!(document.disk_says(Some(&BENCH.text.replace("bore: 82.0", "bore: "))));
        let DiskState::Broken(findings) = document.disk() else {
            panic!("{:?}", document.disk())
        };
        assert!(!findings.is_empty());
        assert_eq!(document.engine().metric().bore, 82.0);
        assert!(document.disk_says(Some(BENCH.text)));
        assert_eq!(*document.disk(), DiskState::AsKept);
    }

    #[test]
    fn changes_on_both_sides_are_asked_about_and_neither_is_lost() {
        for keep in [Resolution::Mine, Resolution::TheFiles] {
            let mut document = opened();
            document.edit(with_bore(&document, 84.0), "bore", 0.0);
            let theirs = BENCH.text.replace("bore: 82.0", "bore: 90.0");
            assert!(document.disk_says(Some(&theirs)));
            assert_eq!(*document.disk(), DiskState::ChangedToo(theirs.clone()));
            assert_eq!(
                document.description().bore,
                84.0,
                "nothing is taken before it is chosen"
            );
            document.settle(keep);
            match keep {
                Resolution::Mine => {
                    assert!(document.is_dirty() && document.description().bore == 84.0)
                }
                Resolution::TheFiles => {
                    assert!(!document.is_dirty() && document.description().bore == 90.0);
                    document.undo();
                    assert_eq!(document.description().bore, 84.0);
                }
            }
        }
    }

    #[test]
    fn a_file_that_is_gone_leaves_work_that_no_file_holds() {
        let mut document = opened();
        assert!(document.disk_says(None));
        assert!(document.is_dirty());
        assert!(document.disk_says(Some(BENCH.text)));
        assert!(!document.is_dirty());
    }

    #[test]
    fn a_new_engine_is_work_to_be_saved() {
        let document = Document::new(BENCH.engine().written().clone()).expect("an engine");
        assert!(document.is_dirty());
        assert_eq!(document.title(), "Bench four");
    }

    #[test]
    fn a_text_that_is_no_engine_is_not_opened() {
        let findings = Document::open(None, "(format: 1)").expect_err("refused");
        assert!(findings.iter().any(Finding::is_error));
    }
}
