//! Entries by name and alias, in order.

use super::handle::{Handle, Named};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Entries in order, found by any of their names.
#[derive(Clone, Debug)]
pub struct Entries<T> {
    items: Vec<Arc<T>>,
    by_name: HashMap<String, usize>,
    /// The names of the file now being read: they replace earlier ones, not each other.
    here: HashSet<String>,
    /// Names whose entry was refused: its fault is reported, not each use of the name.
    refused: HashSet<String>,
}

impl<T> Default for Entries<T> {
    fn default() -> Self {
        Self { items: Vec::new(), by_name: HashMap::new(), here: HashSet::new(), refused: HashSet::new() }
    }
}

/// How a name is compared: case, hyphens, underscores and typographic apostrophes
/// make no difference.
pub fn key(name: &str) -> String {
    let mut key = String::with_capacity(name.len());
    for word in name.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_' | '‑')).filter(|word| !word.is_empty())
    {
        if !key.is_empty() {
            key.push(' ');
        }
        key.extend(word.chars().flat_map(char::to_lowercase).map(|c| if c == '’' { '\'' } else { c }));
    }
    key
}

impl<T: Named> Entries<T> {
    /// Adds an entry; its names win over those of earlier files, and an earlier entry
    /// of the same name is replaced where it stands, so that indexes stay good.
    ///
    /// # Errors
    /// The name that another entry of the same file has already.
    pub fn put(&mut self, item: T) -> Result<(), String> {
        let replaced = self.place_of(item.name()).filter(|place| key(self.items[*place].name()) == key(item.name()));
        let index = replaced.unwrap_or(self.items.len());
        // All of them first: of an entry that is refused no name is kept.
        let keys: Vec<String> = names_of(&item).map(key).collect();
        if let Some(taken) = names_of(&item).zip(&keys).find(|(_, key)| self.here.contains(*key)) {
            return Err(taken.0.to_owned());
        }
        for key in keys {
            self.by_name.insert(key.clone(), index);
            self.here.insert(key);
        }
        match replaced {
            Some(index) => self.items[index] = Arc::new(item),
            None => self.items.push(Arc::new(item)),
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

    /// Whether an entry of this name was refused.
    pub fn is_refused(&self, name: &str) -> bool {
        self.refused.contains(&key(name))
    }

    fn place_of(&self, name: &str) -> Option<usize> {
        self.by_name.get(&key(name)).copied()
    }

    /// The entry that goes by a name.
    pub fn find(&self, name: &str) -> Option<Handle<T>> {
        self.place_of(name).map(|place| Handle::new(place, &self.items[place]))
    }

    /// The first entry with some property.
    pub fn first(&self, property: impl Fn(&T) -> bool) -> Option<Handle<T>> {
        let place = self.items.iter().position(|item| property(item))?;
        Some(Handle::new(place, &self.items[place]))
    }

    /// Every entry, in order.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        self.items.iter().map(AsRef::as_ref)
    }

    /// Every name and alias.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.iter().flat_map(names_of)
    }
}

/// Its name, then the other ones.
fn names_of<T: Named>(item: &T) -> impl Iterator<Item = &str> {
    std::iter::once(item.name()).chain(item.also().iter().map(String::as_str))
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn own_entries_win_and_twins_are_refused() {
        let mut entries = Entries::default();
        entries.put(Thing("72-cell", vec!["seventy-two".to_owned()])).unwrap();
        entries.seal();
        entries.put(Thing("72 Cell", vec![])).unwrap();
        let found = entries.find("72_cell").unwrap();
        assert_eq!((found.0, entries.find("Seventy Two")), ("72 Cell", Some(found.clone())));
        assert_eq!(entries.put(Thing("72-cell", vec![])), Err("72-cell".to_owned()));
        assert_eq!(entries.iter().count(), 1);
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

    #[test]
    fn apostrophes_and_case_do_not_matter() {
        assert_eq!(key("Lady’s  Fingers"), key("lady's fingers"));
    }
}
