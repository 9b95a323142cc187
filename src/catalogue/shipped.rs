//! Tables that ship with the program, each entry read when it is first asked for.
//!
//! Reading them as YAML costs several times what planning a week does, so their texts are
//! cut into entries by their layout, and an entry is read by the little of YAML that it is
//! written in. A section starts on a line of its own with `name:`; an entry on a line
//! indented by two spaces, with its name, then, if it has other names, `{also: [...]` on
//! that line. The tests hold the shipped files to that, and compare with what YAML reads.

use super::handle::{Handle, Named};
use super::name::{fold, key};
use crate::diagnostic::{Problems, SourceText, Span};
use crate::hash;
use crate::source::{Fields, Node, Stated, Value};
use std::borrow::Cow;
use std::iter::once;
use std::sync::{Arc, LazyLock, OnceLock};

/// What reads an entry by its place and name, and its node.
type Read<T> = fn((usize, &str), &Node<'_>, &Problems) -> Option<T>;

/// A section of a shipped file: its entries by their names, each still a text.
pub struct Table<T> {
    section: &'static str,
    entries: Vec<Entry<T>>,
    /// The hash of every name, in order, with the place of its entry.
    index: Vec<(u64, usize)>,
    read: Read<T>,
    #[cfg(test)]
    text: &'static str,
}

struct Entry<T> {
    name: &'static str,
    text: &'static str,
    /// What was read; nothing where it has a fault, which the tests would find.
    read: OnceLock<Option<T>>,
}

/// What some entries of a shipped table are, over which a user's own are laid.
pub trait Shipped: Named + Sized + 'static {
    /// Whether an own entry takes the place of the shipped one of its name; else it comes
    /// after all that are shipped.
    const IN_PLACE: bool;

    /// The shipped table.
    fn table() -> &'static LazyLock<Table<Handle<Self>>>;
}

impl<T> Table<T> {
    /// The entries of a section of a text.
    pub(crate) fn new(section: &'static str, text: &'static str, read: Read<T>) -> Self {
        let entries: Vec<Entry<T>> = cut(text, section);
        let hashes = |(place, entry): (usize, &Entry<T>)| entry.names().map(move |name| (hash(name), place));
        let mut index: Vec<(u64, usize)> = entries.iter().enumerate().flat_map(hashes).collect();
        index.sort_unstable();
        Self {
            section,
            entries,
            index,
            read,
            #[cfg(test)]
            text,
        }
    }

    /// What its entries are called: `trays`.
    pub(super) fn section(&self) -> &'static str {
        self.section
    }

    /// How many entries there are.
    pub(crate) fn len(&self) -> usize {
        self.entries.len()
    }

    /// The place of the entry that goes by a name.
    pub(crate) fn place(&self, name: &str) -> Option<usize> {
        let wanted = hash(name);
        let first = self.index.partition_point(|(hash, _)| *hash < wanted);
        let mut alike = self.index[first..].iter().take_while(|(hash, _)| *hash == wanted).map(|(_, place)| *place);
        alike.find(|place| self.entries[*place].names().any(|own| key(own) == key(name)))
    }

    /// The name of the entry at a place.
    pub(crate) fn name(&self, place: usize) -> &'static str {
        self.entries[place].name
    }

    /// The entry at a place.
    pub(crate) fn get(&self, place: usize) -> Option<&T> {
        let entry = self.entries.get(place)?;
        entry
            .read
            .get_or_init(|| self.of_node(entry, |node, problems| (self.read)((place, entry.name), node, problems)))
            .as_ref()
    }

    /// Something of the node of an entry.
    fn of_node<U>(&self, entry: &Entry<T>, read: impl FnOnce(&Node<'_>, &Problems) -> Option<U>) -> Option<U> {
        let problems = Problems::new(Arc::new(SourceText { name: self.section.to_owned(), text: String::new() }));
        let node = Flow { rest: entry.text.split_once(':')?.1 }.node();
        let read = node.and_then(|node| read(&node, &problems));
        problems.settle(read).ok().map(|(read, _)| read)
    }

    /// The entry that goes by a name.
    pub(crate) fn find(&self, name: &str) -> Option<&T> {
        self.get(self.place(name)?)
    }

    /// The entry that goes by a name written exactly so.
    pub(crate) fn exact(&self, name: &str) -> Option<&T> {
        self.get(self.place(name).filter(|place| self.name(*place) == name)?)
    }

    /// Every entry, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &T> {
        (0..self.len()).filter_map(|place| self.get(place))
    }

    /// Whether the text of the entry at a place says some words: what is not said need not
    /// be read.
    pub(crate) fn says(&self, place: usize, words: &str) -> bool {
        self.entries.get(place).is_some_and(|entry| entry.text.contains(words))
    }

    /// Every name, each entry's own before its other ones.
    pub(crate) fn names(&self) -> impl Iterator<Item = &'static str> {
        self.entries.iter().flat_map(Entry::names)
    }

    /// What the entry of a name states; nothing if there is none.
    pub(crate) fn stated(&self, name: &str) -> Stated {
        let stated = |node: &Node<'_>, problems: &Problems| Some(Fields::new(node, "an entry", problems)?.stated());
        let entry = self.place(name).map(|place| &self.entries[place]);
        entry.and_then(|entry| self.of_node(entry, stated)).unwrap_or_default()
    }
}

impl<T> Entry<T> {
    /// Its name, then the other ones.
    fn names(&self) -> impl Iterator<Item = &'static str> + use<T> {
        let after = self.text.trim_start().get(self.name.len()..).unwrap_or_default();
        let also = after.strip_prefix(": {also: [").and_then(|rest| rest.split_once(']'));
        once(self.name)
            .chain(also.into_iter().flat_map(|(also, _)| also.split(',')).map(|name| name.trim().trim_matches('"')))
    }
}

/// A hash of a name as it is compared (FNV-1a, by character).
fn hash(name: &str) -> u64 {
    let mut hash = hash::START;
    fold(name, |c| hash = hash::fnv(hash, u64::from(c)));
    hash
}

/// The entries of a section, which ends where the next one begins.
fn cut<T>(text: &'static str, section: &str) -> Vec<Entry<T>> {
    let Some((_, text)) = text.split_once(&format!("\n{section}:\n")) else { return Vec::new() };
    let mut entries = Vec::new();
    let mut start = 0;
    for at in text.match_indices('\n').map(|(at, _)| at + 1) {
        let next = &text[at..];
        if next.starts_with("   ") {
            continue;
        }
        let entry = &text[std::mem::replace(&mut start, at)..at];
        let name = entry.trim_start().split_once(':').map(|(name, _)| name);
        entries.extend(name.map(|name| Entry { name, text: entry, read: OnceLock::new() }));
        if !next.starts_with(' ') {
            break;
        }
    }
    entries
}

/// What shipped entries are written in: maps and lists in brackets, words that may go on in
/// the next line, and quotes without escapes.
struct Flow {
    rest: &'static str,
}

impl Flow {
    fn node(&mut self) -> Option<Node<'static>> {
        let value = if self.passes('{') {
            let mut map = Vec::new();
            while !self.passes('}') {
                let key = self.word(&[',', '}', ':'])?;
                self.passes(':').then_some(())?;
                map.push((key, self.node()?));
                self.passes(',');
            }
            Value::Map(map)
        } else if self.passes('[') {
            let mut list = Vec::new();
            while !self.passes(']') {
                list.push(self.node()?);
                self.passes(',');
            }
            Value::List(list)
        } else {
            return self.word(&[',', ']', '}']);
        };
        Some(Node { at: Span::default(), value })
    }

    /// Whether a mark comes next, which is then passed.
    fn passes(&mut self, mark: char) -> bool {
        self.rest = self.rest.trim_start();
        let found = self.rest.strip_prefix(mark);
        self.rest = found.unwrap_or(self.rest);
        found.is_some()
    }

    fn word(&mut self, ends: &[char]) -> Option<Node<'static>> {
        let text = if self.passes('"') {
            let (quoted, rest) = self.rest.split_once('"')?;
            self.rest = rest;
            quoted
        } else {
            let (word, rest) = self.rest.split_at(self.rest.find(ends)?);
            self.rest = rest;
            word.trim_end()
        };
        let text = match text.contains('\n') {
            true => Cow::Owned(text.split_whitespace().collect::<Vec<_>>().join(" ")),
            false => Cow::Borrowed(text),
        };
        Some(Node { at: Span::default(), value: Value::Text(text) })
    }
}

#[cfg(test)]
impl<T: std::fmt::Debug> Table<T> {
    /// Fails unless what is read entry by entry is what YAML reads of the whole file.
    pub(crate) fn assert_as_whole(&self) {
        use crate::source::{entries, list, parse_shipped};
        let source = SourceText { name: String::new(), text: self.text.to_owned() };
        let problems = Problems::new(Arc::new(source));
        let whole = parse_shipped(self.text, &problems).unwrap();
        let listed = entries(whole.get(self.section).unwrap(), self.section, &problems).unwrap();
        assert_eq!(listed.len(), self.len());
        for (place, (name, _, node)) in listed.into_iter().enumerate() {
            assert_eq!((self.name(place), self.place(name)), (name, Some(place)));
            let also = node.get("also").map(list).unwrap_or_default().iter().map(|other| other.text().unwrap());
            assert!(self.entries[place].names().skip(1).eq(also), "{name}");
            let read = (self.read)((place, name), node, &problems);
            assert_eq!(format!("{:?}", self.get(place)), format!("{read:?}"));
            if matches!(node.value, Value::Map(_)) {
                let stated = Fields::new(node, "an entry", &problems).unwrap().stated();
                assert_eq!(format!("{:?}", self.stated(name)), format!("{stated:?}"));
            }
        }
        assert!(problems.is_empty());
        let keys: std::collections::HashSet<String> = self.names().map(key).collect();
        assert_eq!(keys.len(), self.index.len(), "no two entries share a name");
    }
}
