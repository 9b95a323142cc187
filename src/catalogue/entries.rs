//! A user's own entries over the shipped ones, by name and alias, in order.

use super::handle::{Handle, Named};
use super::name::key;
use super::shipped::Shipped;
use derive_where::derive_where;
use std::collections::{HashMap, HashSet};

/// Entries in order, found by any of their names; a user's own win.
#[derive(Clone, Debug)]
#[derive_where(Default)]
pub struct Entries<T: Named> {
    /// The user's own, each with the place of the shipped one of its name.
    own: Vec<(Option<usize>, Handle<T>)>,
    by_name: HashMap<String, usize>,
    /// Own entries by the place of the shipped one that they stand for, with all its names.
    instead: HashMap<usize, usize>,
    /// The names of the file now being read: they replace earlier ones, not each other.
    here: HashSet<String>,
    /// Names whose entry was refused: its fault is reported, not each use of the name.
    refused: HashSet<String>,
    /// Some entries could not be read: any name may be one of theirs.
    pub(super) lacks_some: bool,
}

impl<T: Shipped> Entries<T> {
    /// Adds an entry; its names win over those of earlier files, and an earlier entry
    /// of the same name is replaced where it stands, so that indexes stay good.
    ///
    /// # Errors
    /// The name that another entry of the same file has already.
    pub fn put(&mut self, item: T) -> Result<(), String> {
        // All of them first: of an entry that is refused no name is kept.
        let keys: Vec<String> = names_of(&item).map(key).collect();
        if let Some(taken) = names_of(&item).zip(&keys).find(|(_, key)| self.here.contains(*key)) {
            return Err(taken.0.to_owned());
        }
        let known = self.by_name.get(&keys[0]).copied();
        let index = known.filter(|index| key(self.own[*index].1.name()) == keys[0]).unwrap_or(self.own.len());
        let replaced = match self.own.get(index) {
            Some((replaced, _)) => *replaced,
            None => {
                T::table().place(&keys[0]).filter(|place| known.is_none() && key(T::table().name(*place)) == keys[0])
            }
        };
        self.instead.extend(replaced.map(|place| (place, index)));
        let place = replaced.filter(|_| T::IN_PLACE).unwrap_or(T::table().len() + index);
        let entry = (replaced, Handle::new(place, item));
        match self.own.get_mut(index) {
            Some(known) => *known = entry,
            None => self.own.push(entry),
        }
        for key in keys {
            self.by_name.insert(key.clone(), index);
            self.here.insert(key);
        }
        Ok(())
    }

    /// Ends a file: later entries may take these names over.
    pub fn seal(&mut self) {
        self.here.clear();
    }

    /// Keeps the name of an entry that was refused.
    pub fn refuse(&mut self, name: &str) {
        self.refused.insert(key(name));
    }

    /// Whether an entry of this name was refused, or may have been.
    pub fn is_refused(&self, name: &str) -> bool {
        self.lacks_some || self.refused.contains(&key(name))
    }

    /// The entry that goes by a name.
    pub fn find(&self, name: &str) -> Option<Handle<T>> {
        let own = if self.own.is_empty() { None } else { self.by_name.get(&key(name)) };
        match own {
            Some(index) => Some(self.own[*index].1.clone()),
            None => self.at(T::table().place(name)?).cloned(),
        }
    }

    /// The shipped entry at a place, or the own one that stands for it.
    fn at(&self, place: usize) -> Option<&Handle<T>> {
        match self.instead.get(&place) {
            Some(index) => Some(&self.own[*index].1),
            None => T::table().get(place),
        }
    }

    /// The first entry with some property, which a shipped entry says in these words.
    pub fn first(&self, words: &str, property: impl Fn(&T) -> bool) -> Option<Handle<T>> {
        let may = |place: &usize| self.instead.contains_key(place) || T::table().says(*place, words);
        let shipped = (0..T::table().len()).filter(may).filter_map(|place| self.at(place));
        shipped.chain(self.own.iter().map(|(_, own)| own)).find(|item| property(item)).cloned()
    }

    /// Every entry: the shipped ones, or what stands for them, then the user's own.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        let shipped = (0..T::table().len()).filter_map(|place| self.at(place));
        let others = self.own.iter().filter(|(replaced, _)| replaced.is_none());
        shipped.chain(others.map(|(_, own)| own)).map(|item| &**item)
    }

    /// The user's own entries.
    pub fn own(&self) -> impl Iterator<Item = &T> {
        self.own.iter().map(|(_, item)| &**item)
    }

    /// Every name and alias.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        T::table().names().map(|name| -> &str { name }).chain(self.own().flat_map(names_of))
    }
}

/// Its name, then the other ones.
fn names_of<T: Named>(item: &T) -> impl Iterator<Item = &str> {
    std::iter::once(item.name()).chain(item.also().iter().map(String::as_str))
}

#[cfg(test)]
mod tests {
    use super::super::cut::cut;
    use super::super::shipped::Table;
    use super::*;
    use std::sync::LazyLock;

    #[derive(Debug, Clone)]
    struct Thing(&'static str, Vec<String>);

    impl Named for Thing {
        fn name(&self) -> &str {
            self.0
        }
        fn also(&self) -> &[String] {
            &self.1
        }
    }

    fn leaked(text: &str) -> (&'static [usize], &'static [(u64, usize)]) {
        let (starts, names) = cut(text, "things");
        (starts.leak(), names.leak())
    }

    impl Shipped for Thing {
        const IN_PLACE: bool = true;

        fn table() -> &'static LazyLock<Table<Handle<Self>>> {
            static TABLE: LazyLock<Table<Handle<Thing>>> = LazyLock::new(|| {
                let text = "\nthings:\n  50-cell: {}\n  72-cell: {also: [seventy-two, LXXII]}\n  32-cell: {}\n";
                Table::new("things", text, leaked(text), |(place, name), _, _| {
                    let also =
                        if name == "72-cell" { vec!["seventy-two".to_owned(), "LXXII".to_owned()] } else { vec![] };
                    let name = ["50-cell", "72-cell", "32-cell"].into_iter().find(|own| *own == name)?;
                    Some(Handle::new(place, Thing(name, also)))
                })
            });
            &TABLE
        }
    }

    #[test]
    fn own_entries_win_and_twins_are_refused() {
        let mut entries = Entries::default();
        assert_eq!(entries.find("LXXII").map(|found: Handle<Thing>| found.0), Some("72-cell"));
        entries.put(Thing("72 Cell", vec![])).unwrap();
        let found = entries.find("72_cell").unwrap();
        assert_eq!((found.0, entries.find("Seventy Two")), ("72 Cell", Some(found.clone())));
        assert_eq!(entries.put(Thing("72-cell", vec![])), Err("72-cell".to_owned()));
        assert_eq!(entries.iter().map(|item| item.0).collect::<Vec<_>>(), ["50-cell", "72 Cell", "32-cell"]);
        // It stands where the shipped one stood.
        assert!(entries.find("50-cell").unwrap() < found && found < entries.find("32-cell").unwrap());
        entries.seal();
        entries.put(Thing("72 CELL", vec![])).unwrap();
        assert_eq!((entries.find("lxxii").unwrap().0, entries.iter().count()), ("72 CELL", 3));
    }

    #[test]
    fn an_alias_takes_one_name_only() {
        let mut entries = Entries::default();
        entries.put(Thing("mine", vec!["72-cell".to_owned()])).unwrap();
        let names = ["72-cell", "LXXII"].map(|name| entries.find(name).map(|found| found.0));
        assert_eq!(names, [Some("mine"), Some("72-cell")]);
        entries.seal();
        entries.put(Thing("72-cell", vec![])).unwrap();
        let names = ["72-cell", "LXXII", "mine"].map(|name| entries.find(name).map(|found| found.0));
        assert_eq!(names, [Some("72-cell"), Some("72-cell"), Some("mine")]);
        assert_eq!(entries.iter().count(), 5);
    }

    #[test]
    fn the_first_of_a_property_is_sought_where_the_words_stand() {
        let mut entries = Entries::default();
        let first = |entries: &Entries<Thing>, words: &str| entries.first(words, |_| true).map(|found| found.0);
        assert_eq!((first(&entries, "LXXII"), first(&entries, "nowhere")), (Some("72-cell"), None));
        entries.put(Thing("32 cell", vec![])).unwrap();
        assert_eq!(first(&entries, "nowhere"), Some("32 cell"));
    }

    #[test]
    fn a_refused_entry_leaves_no_name() {
        let mut entries = Entries::default();
        let also = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        // A name said twice of one entry is that name.
        entries.put(Thing("x", also(&["y", "Y", "x"]))).unwrap();
        assert_eq!(entries.put(Thing("z", also(&["w", "y"]))), Err("y".to_owned()));
        assert_eq!(
            ["x", "y", "z", "w"].map(|name| entries.find(name).map(|found| found.0)),
            [Some("x"), Some("x"), None, None]
        );
    }
}
