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
pub struct Handle<T>(Arc<Placed<T>>);

struct Placed<T> {
    place: usize,
    entry: T,
}

impl<T> Handle<T> {
    pub(super) fn new(place: usize, entry: T) -> Self {
        Self(Arc::new(Placed { place, entry }))
    }

    /// The same entry, told in another way.
    pub(super) fn retold(&self, entry: T) -> Self {
        Self::new(self.0.place, entry)
    }
}

impl<T> Clone for Handle<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<T> Deref for Handle<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0.entry
    }
}

impl<T> PartialEq for Handle<T> {
    fn eq(&self, other: &Self) -> bool {
        self.0.place == other.0.place
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
        self.0.place.cmp(&other.0.place)
    }
}

impl<T> Hash for Handle<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.place.hash(state);
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
