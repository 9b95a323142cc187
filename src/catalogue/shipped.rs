//! Tables that ship with the program, each entry read when it is first asked for.
//!
//! Reading them as YAML costs several times what planning a week does, so their texts are
//! cut into entries by their layout, when the program is built, and an entry is read by the
//! little of YAML that it is written in. A section starts on a line of its own with `name:`; an entry on a line
//! indented by two spaces, with its name, then, if it has other names, `{also: [...]` on
//! that line. The tests hold the shipped files to that, and compare with what YAML reads.

use super::cut::{hash, names};
use super::handle::{Handle, Named};
use super::name::key;
use crate::diagnostic::{Problems, Rejected, SourceText};
use crate::source::{Fields, FromNode, Node, Stated, Value};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::iter;
use std::sync::{Arc, LazyLock, OnceLock};

/// What reads an entry by its place and name, and its node.
type Read<T> = fn((usize, &str), &Node<'_>, &Problems) -> Option<T>;

/// A section of a shipped file: its entries by their names, each still a text.
pub struct Table<T> {
    section: &'static str,
    text: &'static str,
    cut: Cut,
    /// What was read of each entry; nothing where it has a fault, which the tests would find.
    entries: Vec<OnceLock<Option<Box<T>>>>,
    read: Read<T>,
}

/// Where each entry begins and the last one ends, and the hash of every name, in order, with the place of its entry.
pub(crate) type Cut = (&'static [usize], &'static [(u64, usize)]);

/// How a section was cut when the program was built.
macro_rules! as_cut {
    ($section:literal) => {
        include!(concat!(env!("OUT_DIR"), "/", $section, ".rs"))
    };
}
pub(crate) use as_cut;

/// What some entries of a shipped table are, over which a user's own are laid.
pub trait Shipped: Named + Sized + 'static {
    /// Whether an own entry takes the place of the shipped one of its name; else it comes
    /// after all that are shipped.
    const IN_PLACE: bool;

    /// The shipped table.
    fn table() -> &'static LazyLock<Table<Handle<Self>>>;
}

impl<T> Table<T> {
    /// The entries of a section of a text, which is cut so.
    pub(crate) fn new(section: &'static str, text: &'static str, cut: Cut, read: Read<T>) -> Self {
        let entries = iter::repeat_with(OnceLock::new).take(cut.0.len().saturating_sub(1)).collect();
        Self { section, text, cut, entries, read }
    }

    /// The text of the entry at a place.
    fn entry(&self, place: usize) -> &'static str {
        &self.text[self.cut.0[place]..self.cut.0[place + 1]]
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
        let (wanted, index) = (hash(name), self.cut.1);
        let first = index.partition_point(|(hash, _)| *hash < wanted);
        let mut alike = index[first..].iter().take_while(|(hash, _)| *hash == wanted).map(|(_, place)| *place);
        alike.find(|place| names(self.entry(*place)).any(|own| key(own) == key(name)))
    }

    /// The name of the entry at a place.
    pub(crate) fn name(&self, place: usize) -> &'static str {
        names(self.entry(place)).next().unwrap_or_default()
    }

    /// The entry at a place.
    pub(crate) fn get(&self, place: usize) -> Option<&T> {
        let read = |node: &Node<'_>, problems: &Problems| (self.read)((place, self.name(place)), node, problems);
        self.entries.get(place)?.get_or_init(|| self.of_node(place, read).map(Box::new)).as_deref()
    }

    /// Something of the node of the entry at a place.
    fn of_node<U>(&self, place: usize, read: impl FnOnce(&Node<'_>, &Problems) -> Option<U>) -> Option<U> {
        of_shipped(self.section, self.entry(place).split_once(':')?.1, read).ok()
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
        self.entry(place).contains(words)
    }

    /// Every name, each entry's own before its other ones.
    pub(crate) fn names(&self) -> impl Iterator<Item = &'static str> {
        (0..self.len()).flat_map(|place| names(self.entry(place)))
    }

    /// What the entry of a name states; nothing if there is none.
    pub(crate) fn stated(&self, name: &str) -> Stated {
        let stated = |node: &Node<'_>, problems: &Problems| Some(Fields::new(node, "an entry", problems)?.stated());
        self.place(name).and_then(|place| self.of_node(place, stated)).unwrap_or_default()
    }
}

/// Something of a node that is written in a shipped text.
///
/// # Errors
/// What is wrong with it, without a place.
pub(crate) fn of_shipped<U>(
    name: &str,
    text: &'static str,
    read: impl FnOnce(&Node<'_>, &Problems) -> Option<U>,
) -> Result<U, Rejected> {
    let problems = Problems::new(Arc::new(SourceText { name: name.to_owned(), text: String::new() }));
    let node = Flow { rest: text }.node();
    let read = node.and_then(|node| read(&node, &problems));
    problems.settle(read).map(|(read, _)| read)
}

/// Reads what stands above a section of a shipped table.
pub(super) fn file_tags(text: &'static str, section: &str) -> BTreeMap<String, String> {
    let head = text.split_once(&format!("\n{section}:\n")).map_or(text, |(head, _)| head);
    let tags = head.split_once("\nunless_said:").map(|(_, tags)| tags);
    tags.and_then(|tags| of_shipped(section, tags, FromNode::from_node).ok()).unwrap_or_default()
}

/// What shipped entries are written in: maps and lists in brackets, words that may go on in
/// the next line, and quotes without escapes.
struct Flow {
    rest: &'static str,
}

impl Flow {
    fn node(&mut self) -> Option<Node<'static>> {
        let value = if self.passes(b'{') {
            let mut map = Vec::new();
            while !self.passes(b'}') {
                let key = self.word(|byte| matches!(byte, b',' | b'}' | b':'))?;
                self.passes(b':').then_some(())?;
                map.push((key, self.node()?));
                self.passes(b',');
            }
            Value::Map(map)
        } else if self.passes(b'[') {
            let mut list = Vec::new();
            while !self.passes(b']') {
                list.push(self.node()?);
                self.passes(b',');
            }
            Value::List(list)
        } else {
            return self.word(|byte| matches!(byte, b',' | b']' | b'}'));
        };
        Some(Node::of(value))
    }

    /// Whether a mark comes next, which is then passed.
    fn passes(&mut self, mark: u8) -> bool {
        self.rest = self.rest.trim_ascii_start();
        let found = self.rest.as_bytes().first() == Some(&mark);
        self.rest = &self.rest[usize::from(found)..];
        found
    }

    fn word(&mut self, ends: impl Fn(u8) -> bool) -> Option<Node<'static>> {
        let text = if self.passes(b'"') {
            let (quoted, rest) = self.rest.split_once('"')?;
            self.rest = rest;
            quoted
        } else {
            let (word, rest) = self.rest.split_at(self.rest.bytes().position(ends)?);
            self.rest = rest;
            word.trim_ascii_end()
        };
        let text = match text.bytes().any(|byte| byte == b'\n') {
            true => Cow::Owned(text.split_whitespace().collect::<Vec<_>>().join(" ")),
            false => Cow::Borrowed(text),
        };
        Some(Node::of(Value::Text(text)))
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
            assert!(names(self.entry(place)).skip(1).eq(also), "{name}");
            let read = (self.read)((place, name), node, &problems);
            assert_eq!(format!("{:?}", self.get(place)), format!("{read:?}"));
            if matches!(node.value, Value::Map(_)) {
                let stated = Fields::new(node, "an entry", &problems).unwrap().stated();
                assert_eq!(format!("{:?}", self.stated(name)), format!("{stated:?}"));
            }
        }
        assert!(problems.is_empty());
        let keys: std::collections::HashSet<String> = self.names().map(key).collect();
        assert_eq!(keys.len(), self.cut.1.len(), "no two entries share a name");
    }
}
