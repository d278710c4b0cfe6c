//! Undo and redo of a value, by keeping what it was before each change.

/// Changes with the same key that come closer together than this are undone as one: a drag, a
/// number being typed.
const ONE_CHANGE_S: f64 = 1.0;
/// As many changes as are kept: more than anyone undoes.
const MOST: usize = 500;

/// What a value was before each change, and before each change that was undone. It does not hold
/// the value itself.
///
/// ```
/// use dotwise::history::History;
/// let mut history = History::default();
/// history.push(1);
/// history.push(2);
/// assert_eq!(history.undo(3), Some(2));
/// assert_eq!(history.undo(2), Some(1));
/// assert_eq!(history.undo(1), None);
/// assert_eq!(history.redo(1), Some(2));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct History<T> {
    undo: Vec<T>,
    redo: Vec<T>,
    /// The key of the last change and when it was made, while another may still join it.
    last: Option<(String, f64)>,
}

impl<T> Default for History<T> {
    fn default() -> Self {
        Self {
            undo: Vec::new(),
            redo: Vec::new(),
            last: None,
        }
    }
}

impl<T: PartialEq> History<T> {
    /// The value is about to be changed from `before`.
    pub fn push(&mut self, before: T) {
        self.last = None;
        self.redo.clear();
        if self.undo.last() == Some(&before) {
            return;
        }
        if self.undo.len() == MOST {
            self.undo.remove(0);
        }
        self.undo.push(before);
    }

    /// The value is about to be changed from `before`, at `now_s` seconds. A change that follows
    /// another with the same key within a second is undone together with it.
    pub fn push_joined(&mut self, before: T, key: &str, now_s: f64) {
        let joins = self
            .last
            .take()
            .is_some_and(|(last, at_s)| last == key && now_s - at_s < ONE_CHANGE_S);
        if joins {
            self.redo.clear();
        } else {
            self.push(before);
        }
        self.last = Some((key.to_owned(), now_s));
    }

    /// The next change is undone by itself, whatever its key.
    pub fn separate(&mut self) {
        self.last = None;
    }

    /// Whether there is a change to undo.
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Whether there is an undone change to make again.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// What the value, which is `now`, was before the last change that made it another; None where
    /// there was no such change.
    pub fn undo(&mut self, now: T) -> Option<T> {
        self.last = None;
        while let Some(before) = self.undo.pop() {
            if before != now {
                self.redo.push(now);
                return Some(before);
            }
        }
        None
    }

    /// What the value, which is `now`, was before the last undo; None where nothing was undone.
    pub fn redo(&mut self, now: T) -> Option<T> {
        self.last = None;
        let after = self.redo.pop()?;
        self.undo.push(now);
        Some(after)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_undone_and_made_again() {
        let mut history = History::default();
        history.push(0);
        history.push(10);
        assert_eq!(history.undo(20), Some(10));
        assert_eq!(history.undo(10), Some(0));
        assert_eq!(history.undo(0), None);
        assert_eq!(history.redo(0), Some(10));
        assert_eq!(history.redo(10), Some(20));
        assert_eq!(history.redo(20), None);
    }

    #[test]
    fn a_change_that_changed_nothing_is_passed_over() {
        let mut history = History::default();
        history.push(0);
        history.push(10);
        history.push(10);
        assert_eq!(history.undo(10), Some(0));
    }

    #[test]
    fn changes_with_one_key_are_one_until_a_second_has_passed_or_another_key_comes() {
        let mut history = History::default();
        history.push_joined(0, "bore", 0.0);
        history.push_joined(1, "bore", 0.9);
        history.push_joined(2, "bore", 2.0);
        history.push_joined(3, "stroke", 2.1);
        history.separate();
        history.push_joined(4, "stroke", 2.2);
        let mut now = 5;
        let mut undone = Vec::new();
        while let Some(before) = history.undo(now) {
            undone.push(before);
            now = before;
        }
        assert_eq!(undone, [4, 3, 2, 0]);
    }

    #[test]
    fn a_change_after_an_undo_leaves_nothing_to_make_again() {
        let mut history = History::default();
        history.push(0);
        assert_eq!(history.undo(1), Some(0));
        history.push(0);
        assert!(!history.can_redo());
    }

    #[test]
    fn no_more_are_kept_than_anyone_undoes() {
        let mut history = History::default();
        (0..MOST + 10).for_each(|value| history.push(value));
        assert_eq!(history.undo.len(), MOST);
        assert_eq!(history.undo[0], 10);
    }
}
