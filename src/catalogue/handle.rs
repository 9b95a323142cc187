//! A handle on an entry of the catalogue: cheap to copy about, and it knows the entry.

use serde::{Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::ops::Deref;
use std::sync::Arc;

/// An entry that goes by one name and perhaps some others.
pub trait Named {
    /// Its name in the catalogue.
    fn name(&self) -> &str;
    /// What it is called on sheets: its name, unless the user has another for it.
    fn shown(&self) -> &str {
        self.name()
    }
    /// Its other names.
    fn also(&self) -> &[String];
}

/// Entries whose names are the fields `name` and `also`.
macro_rules! named {
    ($($entry:ty),+) => {
        $(impl Named for $entry {
            fn name(&self) -> &str {
                &self.name
            }

            fn also(&self) -> &[String] {
                &self.also
            }
        })+
    };
}
pub(super) use named;

/// An entry of the catalogue, shared by all that name it. Handles compare by the place of
/// their entry in the catalogue, and are serialised as its name.
#[derive(Clone)]
pub struct Handle<T> {
    place: usize,
    entry: Arc<T>,
}

impl<T> Handle<T> {
    pub(super) fn new(place: usize, entry: &Arc<T>) -> Self {
        Self { place, entry: Arc::clone(entry) }
    }

    /// The same entry, told in another way.
    pub(super) fn retold(&self, entry: T) -> Self {
        Self { place: self.place, entry: Arc::new(entry) }
    }

    /// The handle of a table that comes after one of so many entries.
    pub(super) fn after(self, entries: usize) -> Self {
        Self { place: self.place + entries, ..self }
    }
}

impl<T> Deref for Handle<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.entry
    }
}

impl<T> PartialEq for Handle<T> {
    fn eq(&self, other: &Self) -> bool {
        self.place == other.place
    }
}

impl<T> Eq for Handle<T> {}

impl<T> PartialOrd for Handle<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Handle<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.place.cmp(&other.place)
    }
}

impl<T> Hash for Handle<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.place.hash(state);
    }
}

impl<T: Named> fmt::Debug for Handle<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl<T: Named> Serialize for Handle<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

/// What it is called, so that lists of handles read as lists of names.
impl<T: Named> AsRef<str> for Handle<T> {
    fn as_ref(&self) -> &str {
        self.shown()
    }
}
