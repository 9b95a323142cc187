//! A handle on an entry of the catalogue: cheap to copy about, and it knows the entry.

use derive_where::derive_where;
use serde::{Serialize, Serializer};
use std::cmp::Ordering;
use std::collections::BTreeSet;
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
/// their entry in the catalogue, then by what else it is called, and are serialised as its name.
#[derive_where(Clone, Eq)]
pub struct Handle<T>(Arc<Placed<T>>);

impl<T> PartialEq for Handle<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl<T> Hash for Handle<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.hash(state);
    }
}

impl<T> PartialOrd for Handle<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Handle<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        // Of most sowings it is one and the same: a large week is planned in half the time.
        if Arc::ptr_eq(&self.0, &other.0) { Ordering::Equal } else { self.0.cmp(&other.0) }
    }
}

#[derive_where(PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Placed<T> {
    place: usize,
    called: String,
    #[derive_where(skip)]
    entry: T,
}

impl<T> Handle<T> {
    pub(super) fn new(place: usize, entry: T) -> Self {
        Self(Arc::new(Placed { place, called: String::new(), entry }))
    }

    /// The same entry, told in another way, and by another name if that is not empty.
    pub(super) fn retold(&self, called: &str, entry: T) -> Self {
        Self(Arc::new(Placed { place: self.0.place, called: called.to_owned(), entry }))
    }

    /// Whether it is the same entry, whatever it is called.
    pub fn is_same(&self, other: &Self) -> bool {
        self.0.place == other.0.place
    }
}

impl<T> Deref for Handle<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0.entry
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

/// The names of some entries, each once, whatever they are called.
pub fn names<T: Named>(of: &BTreeSet<Handle<T>>) -> Vec<&str> {
    let mut names: Vec<&str> = of.iter().map(|entry| entry.name()).collect();
    names.dedup();
    names
}

/// What it is called, so that lists of handles read as lists of names.
impl<T: Named> AsRef<str> for Handle<T> {
    fn as_ref(&self) -> &str {
        self.shown()
    }
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;
    use std::collections::HashSet;
    use std::hash::{BuildHasher, RandomState};

    /// Many names of one crop in a map are not compared with each other.
    #[test]
    fn each_name_of_a_crop_has_a_hash_of_its_own() {
        let (catalogue, hasher) = (Catalogue::built_in(), RandomState::new());
        let kale = catalogue.crops.find("kale").unwrap();
        let hashes = (0..1000).map(|number| hasher.hash_one(kale.called(&format!("sort {number} kale"))));
        assert_eq!(hashes.collect::<HashSet<_>>().len(), 1000);
    }
}
