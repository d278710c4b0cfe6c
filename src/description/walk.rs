//! Every number, text and list of a part, each by its place in the file.
//!
//! [`part!`] declares a part of a file as a struct that serde reads and that can be walked, so that
//! each field is named once. What stands at a place is said by the table of
//! [`fields`](super::fields).

use std::fmt::Write as _;

use crate::angle::Direction;
use crate::words::Units;

#[derive(Clone, Copy, Debug)]
pub(crate) enum Item {
    /// A number, in the file's units; a torque in newton metres.
    Number(f64),
    /// A list of so many items.
    List(usize),
    /// A text of so many characters.
    Text(usize),
}

#[derive(Debug, Default)]
pub(crate) struct Place {
    /// As in a finding: `crankshaft.throws[2].angle`.
    pub(crate) written: String,
    /// As in the table of fields: `crankshaft.throws[].angle`.
    pub(crate) path: String,
}

impl Place {
    /// Runs `inner` one field further in.
    pub(crate) fn field(&mut self, name: &str, inner: impl FnOnce(&mut Self)) {
        let outer = (self.written.len(), self.path.len());
        for text in [&mut self.written, &mut self.path] {
            if !text.is_empty() {
                text.push('.');
            }
            text.push_str(name);
        }
        inner(self);
        self.back_to(outer);
    }

    fn item(&mut self, index: usize, inner: impl FnOnce(&mut Self)) {
        let outer = (self.written.len(), self.path.len());
        // Writing to a string cannot fail.
        let _ = write!(self.written, "[{index}]");
        self.path.push_str("[]");
        inner(self);
        self.back_to(outer);
    }

    fn back_to(&mut self, (written, path): (usize, usize)) {
        self.written.truncate(written);
        self.path.truncate(path);
    }
}

/// A value in which numbers, texts and lists are found by their places. What has none keeps the
/// defaults.
pub(crate) trait Walk {
    /// Visits every number, text and list, in the order of the fields.
    fn walk(&self, _at: &mut Place, _visit: &mut dyn FnMut(&Place, Item)) {}

    /// Visits every number that is not a whole one, to be changed.
    fn walk_mut(&mut self, _at: &mut Place, _visit: &mut dyn FnMut(&Place, &mut f64)) {}
}

impl Walk for f64 {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Number(*self));
    }

    fn walk_mut(&mut self, at: &mut Place, visit: &mut dyn FnMut(&Place, &mut f64)) {
        visit(at, self);
    }
}

impl Walk for u32 {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Number(f64::from(*self)));
    }
}

impl Walk for i32 {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Number(f64::from(*self)));
    }
}

impl<T: Walk> Walk for Option<T> {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        self.iter().for_each(|value| value.walk(at, visit));
    }

    fn walk_mut(&mut self, at: &mut Place, visit: &mut dyn FnMut(&Place, &mut f64)) {
        self.iter_mut().for_each(|value| value.walk_mut(at, visit));
    }
}

impl<T: Walk> Walk for Vec<T> {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::List(self.len()));
        for (index, value) in self.iter().enumerate() {
            at.item(index, |at| value.walk(at, visit));
        }
    }

    fn walk_mut(&mut self, at: &mut Place, visit: &mut dyn FnMut(&Place, &mut f64)) {
        for (index, value) in self.iter_mut().enumerate() {
            at.item(index, |at| value.walk_mut(at, visit));
        }
    }
}

impl Walk for String {
    fn walk(&self, at: &mut Place, visit: &mut dyn FnMut(&Place, Item)) {
        visit(at, Item::Text(self.chars().count()));
    }
}

impl Walk for bool {}
impl Walk for Direction {}
impl Walk for Units {}

/// Declares a part of a file: a struct of fields that serde reads, none of them unknown, and its
/// [`Walk`].
macro_rules! part {
    (
        $(#[$about:meta])*
        pub struct $part:ident {
            $($(#[$field_about:meta])* pub $field:ident: $kind:ty,)*
        }
    ) => {
        $(#[$about])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $part {
            $($(#[$field_about])* pub $field: $kind,)*
        }

        impl $crate::description::walk::Walk for $part {
            fn walk(
                &self,
                at: &mut $crate::description::walk::Place,
                visit: &mut dyn FnMut(
                    &$crate::description::walk::Place,
                    $crate::description::walk::Item,
                ),
            ) {
                $(at.field(stringify!($field), |at| self.$field.walk(at, visit));)*
            }

            fn walk_mut(
                &mut self,
                at: &mut $crate::description::walk::Place,
                visit: &mut dyn FnMut(&$crate::description::walk::Place, &mut f64),
            ) {
                $(at.field(stringify!($field), |at| self.$field.walk_mut(at, visit));)*
            }
        }
    };
}
pub(crate) use part;
