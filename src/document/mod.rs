//! The engine description someone is working on: which file it came from, what has been changed
//! since, and what the disk says meanwhile.
//!
//! [`Document`] touches no disk: texts come in ([`Document::open`], [`Document::disk_changed`]) and
//! go out ([`Document::text`], then [`Document::saved_as`]), so that all of it can be tested. While
//! the description or the file is broken, [`Document::engine`] is the last good one and
//! [`Document::findings`] says what is wrong. [`workspace`] asks before any work is lost on the
//! way to another file.

mod saved;
pub mod unsaved;
pub mod workspace;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::description::Description;
use crate::engine::{Engine, read};
use crate::history::History;
use crate::source::Finding;

pub use saved::{Saved, read_text};

/// A description being worked on.
#[derive(Clone, Debug)]
pub struct Document {
    description: Description,
    engine: Arc<Engine>,
    findings: Vec<Finding>,
    saved: Saved<Description>,
    disk: DiskState,
    history: History<Description>,
}

/// What another editor has done to the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum DiskState {
    /// The file is as it was opened or saved.
    #[default]
    Unchanged,
    /// It was changed, and cannot be used as it is now.
    Broken(Vec<Finding>),
    /// It was changed while there are changes here too: one of the two must be chosen.
    Conflict(String),
    /// It is no longer there.
    Deleted,
}

/// Which of two diverging versions is to stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Resolution {
    /// What is in the window.
    Mine,
    /// What is in the file.
    OnDisk,
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
        Ok(Self {
            saved: Saved::new(path, text.to_owned(), description.clone()),
            ..Self::unsaved(engine, description, read.findings)
        })
    }

    /// Work that no file holds yet.
    ///
    /// # Errors
    /// With every finding, where the description is no engine.
    pub fn new(description: Description) -> Result<Self, Vec<Finding>> {
        let (engine, findings) = Engine::new(description.clone())?;
        Ok(Self::unsaved(engine, description, findings))
    }

    fn unsaved(engine: Arc<Engine>, description: Description, findings: Vec<Finding>) -> Self {
        Self {
            description,
            engine,
            findings,
            saved: Saved::default(),
            disk: DiskState::Unchanged,
            history: History::default(),
        }
    }

    /// The file it came from or was saved to.
    pub fn path(&self) -> Option<&Path> {
        self.saved.path()
    }

    /// What to call it: the file's name, or the engine's.
    pub fn title(&self) -> String {
        let file = self
            .path()
            .and_then(Path::file_name)
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

    /// Whether there is work that no file holds.
    pub fn is_dirty(&self) -> bool {
        self.saved.is_changed(&self.description)
            || (self.disk == DiskState::Deleted && self.path().is_some())
    }

    /// Takes an edit to the field at `place`, made `now_s` seconds into the session. Edits to one
    /// field that follow one another within a second are undone as one.
    pub fn edit(&mut self, description: Description, place: &str, now_s: f64) {
        if description != self.description {
            self.history
                .push_joined(self.description.clone(), place, now_s);
            self.set(description);
        }
    }

    fn set(&mut self, description: Description) {
        match Engine::new(description.clone()) {
            Ok((engine, warnings)) => {
                self.engine = engine;
                self.findings = warnings;
            }
            Err(errors) => self.findings = errors,
        }
        self.description = description;
    }

    /// Whether there is an edit to undo.
    pub fn can_undo(&self) -> bool {
        self.history.can_undo()
    }

    /// Whether there is an edit to make again.
    pub fn can_redo(&self) -> bool {
        self.history.can_redo()
    }

    /// Undoes the last edit.
    pub fn undo(&mut self) {
        if let Some(before) = self.history.undo(self.description.clone()) {
            self.set(before);
        }
    }

    /// Makes the last undone edit again.
    pub fn redo(&mut self) {
        if let Some(after) = self.history.redo(self.description.clone()) {
            self.set(after);
        }
    }

    /// The text to save: the file's own text with what was changed.
    ///
    /// # Errors
    /// Where the description cannot be written as RON.
    pub fn text(&self) -> Result<String, ron::Error> {
        self.saved.rewrite(&self.description)
    }

    /// The description has been written to `path` as `text`.
    pub fn saved_as(&mut self, path: PathBuf, text: String) {
        self.saved = Saved::new(Some(path), text, self.description.clone());
        self.disk = DiskState::Unchanged;
        self.history.separate();
    }

    /// The file now reads so; None where it is gone. Gives whether anything is to be shown anew.
    pub fn disk_changed(&mut self, text: Option<&str>) -> bool {
        let Some(text) = text else {
            return self.set_disk(DiskState::Deleted);
        };
        if self.saved.is_text(text) {
            return self.set_disk(DiskState::Unchanged);
        }
        let read = read::engine(text);
        let Some(description) = read.engine.is_some().then_some(read.description).flatten() else {
            return self.set_disk(DiskState::Broken(read.findings));
        };
        // Whatever the disk was before, what counts is whether there are changes here that it does
        // not know.
        if self.saved.is_changed(&self.description) && description != self.description {
            return self.set_disk(DiskState::Conflict(text.to_owned()));
        }
        self.take_from_disk(text.to_owned(), description);
        true
    }

    fn set_disk(&mut self, disk: DiskState) -> bool {
        let changed = self.disk != disk;
        self.disk = disk;
        changed
    }

    fn take_from_disk(&mut self, text: String, description: Description) {
        if description != self.description {
            self.history.push(self.description.clone());
            self.set(description.clone());
        }
        self.saved.set_text(text, description);
        self.disk = DiskState::Unchanged;
    }

    /// Chooses between what is here and what another editor wrote. What is not chosen can still be
    /// reached: the window's version by undo, the file's until it is saved over.
    pub fn resolve(&mut self, resolution: Resolution) {
        let DiskState::Conflict(text) = std::mem::take(&mut self.disk) else {
            return;
        };
        let Some(description) = read::engine(&text).description else {
            return;
        };
        match resolution {
            Resolution::OnDisk => self.take_from_disk(text, description),
            Resolution::Mine => self.saved.set_text(text, description),
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
        assert!(!document.disk_changed(Some(&text)));
    }

    #[test]
    fn a_file_changed_by_another_editor_is_taken_and_can_be_undone() {
        let mut document = opened();
        assert!(document.disk_changed(Some(&BENCH.text.replace("bore: 82.0", "bore: 90.0"))));
        assert_eq!(document.engine().metric().bore, 90.0);
        assert!(!document.is_dirty());
        document.undo();
        assert_eq!(document.description().bore, 82.0);
        assert!(document.is_dirty());
    }

    #[test]
    fn while_the_file_is_broken_the_engine_stays_and_the_findings_are_known() {
        let mut document = opened();
        assert!(document.disk_changed(Some(&BENCH.text.replace("bore: 82.0", "bore: "))));
        let DiskState::Broken(findings) = document.disk() else {
            panic!("{:?}", document.disk())
        };
        assert!(!findings.is_empty());
        assert_eq!(document.engine().metric().bore, 82.0);
        assert!(document.disk_changed(Some(BENCH.text)));
        assert_eq!(*document.disk(), DiskState::Unchanged);
    }

    #[test]
    fn changes_on_both_sides_are_asked_about_and_neither_is_lost() {
        for resolution in [Resolution::Mine, Resolution::OnDisk] {
            let mut document = opened();
            document.edit(with_bore(&document, 84.0), "bore", 0.0);
            let theirs = BENCH.text.replace("bore: 82.0", "bore: 90.0");
            assert!(document.disk_changed(Some(&theirs)));
            assert_eq!(*document.disk(), DiskState::Conflict(theirs.clone()));
            assert_eq!(
                document.description().bore,
                84.0,
                "nothing is taken before it is chosen"
            );
            document.resolve(resolution);
            match resolution {
                Resolution::Mine => {
                    assert!(document.is_dirty() && document.description().bore == 84.0);
                }
                Resolution::OnDisk => {
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
        assert!(document.disk_changed(None));
        assert!(document.is_dirty());
        assert!(document.disk_changed(Some(BENCH.text)));
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
