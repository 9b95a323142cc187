//! The keys of a map, asked for one by one; a key that is never asked for is a fault.

use super::value::{FromNode, Prose, entries, list};
use super::yaml::{Node, Value};
use crate::diagnostic::{Asked, Code, Looks, Problem, Problems, Span, did_you_mean};
use std::collections::{BTreeMap, HashSet};

/// The keys of a map, to be asked for one by one; [`Fields::finish`] reports the rest.
pub struct Fields<'n> {
    what: &'static str,
    at: Span,
    /// Each key, where it stands if in this map, and its value.
    entries: Vec<(&'n str, Option<Span>, &'n Node<'n>)>,
    /// The keys that were asked for, some of them twice.
    known: Vec<&'static str>,
    problems: &'n Problems,
    /// Faults that were found before the map was opened.
    before: usize,
}

/// What an entry states, kept for a later entry of its name that is laid over it.
#[derive(Clone, Debug, Default)]
pub struct Stated(BTreeMap<String, Node<'static>>);

impl<'n> Fields<'n> {
    /// The keys of a map; a fault if it is none, or holds a key twice.
    ///
    /// `what` says what the map is, as in "a sowing".
    pub fn new(node: &'n Node<'n>, what: &'static str, problems: &'n Problems) -> Option<Self> {
        let before = problems.len();
        problems.ask(|| Asked::Map { at: node.at, what });
        let entries = entries(node, what, problems)?;
        let entries = entries.into_iter().map(|(name, key, value)| (name, Some(key.at), value)).collect();
        Some(Self { what, at: node.at, entries, known: Vec::with_capacity(16), problems, before })
    }

    /// Reads a map with all its keys: one that `read` does not ask for is a fault. `None` if
    /// anything was wrong.
    pub fn read<T>(
        node: &'n Node<'n>,
        what: &'static str,
        problems: &'n Problems,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<T> {
        let mut fields = Self::new(node, what, problems)?;
        let value = read(&mut fields);
        fields.finish()?;
        value
    }

    /// Lays the map over an earlier one: a key without a value here has the earlier one's,
    /// except for some keys.
    pub fn lay_over(&mut self, base: &'n Stated, except: &[&str]) {
        for (name, value) in base.0.iter().filter(|(name, _)| !except.contains(&name.as_str())) {
            if !self.states(name) {
                self.entries.retain(|(known, ..)| known != name);
                self.entries.push((name, None, value));
            }
        }
    }

    /// Whether the map itself has a value for a key, whatever it is laid over.
    pub fn states(&self, key: &str) -> bool {
        self.entry(key).is_some_and(|(own, value)| own.is_some() && !matches!(value.value, Value::Null))
    }

    /// All that holds, for a later map that is laid over this one.
    pub fn stated(&self) -> Stated {
        Stated(self.entries.iter().map(|(name, _, value)| ((*name).to_owned(), value.to_static())).collect())
    }

    fn entry(&self, key: &str) -> Option<(Option<Span>, &'n Node<'n>)> {
        self.entries.iter().find(|(name, ..)| *name == key).map(|(_, at, value)| (*at, *value))
    }

    /// The keys that have a value.
    pub fn keys(&self) -> impl Iterator<Item = &'n str> + '_ {
        let stated = self.entries.iter().filter(|(.., value)| !matches!(value.value, Value::Null));
        stated.map(|(name, ..)| *name)
    }

    /// Where the map stands.
    pub fn at(&self) -> Span {
        self.at
    }

    /// Where the value of a key stands; where the map does if it is not there.
    pub fn place(&self, key: &str) -> Span {
        self.entry(key).filter(|_| self.states(key)).map_or(self.at, |(_, value)| value.at)
    }

    /// The value of a key, read as its type asks, if it is there and not empty.
    pub fn optional<T: FromNode>(&mut self, key: &'static str) -> Option<T> {
        self.ask(key, false, T::looks);
        self.get(key).and_then(|node| T::from_node(node, self.problems))
    }

    /// The same of a key that must be there.
    pub fn required<T: FromNode>(&mut self, key: &'static str) -> Option<T> {
        self.ask(key, true, T::looks);
        self.require(key).and_then(|node| T::from_node(node, self.problems))
    }

    fn ask(&self, key: &'static str, required: bool, looks: fn() -> Looks) {
        self.problems.ask(|| Asked::Key { at: self.at, what: self.what, key, required, looks: looks() });
    }

    /// Those of some keys that are there; one of them stands alone.
    pub fn one_of(&mut self, keys: &[&'static str]) -> Vec<&'static str> {
        self.problems.ask(|| Asked::OneOf { what: self.what, keys: keys.to_vec() });
        keys.iter().copied().filter(|key| self.get(key).is_some()).collect()
    }

    /// The text of a key that is for people only, of any length.
    pub fn prose(&mut self, key: &'static str) -> Option<String> {
        self.optional(key).map(|Prose(text)| text)
    }

    /// The node of a key, if it is there and not empty.
    pub fn get(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        self.known.push(key);
        self.ask(key, false, || Looks::Unknown);
        self.entry(key).map(|(_, value)| value).filter(|value| !matches!(value.value, Value::Null))
    }

    /// The node of a key that must be there.
    pub fn require(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        self.ask(key, true, || Looks::Unknown);
        let found = self.get(key);
        if found.is_none() {
            let there = self.entry(key).and_then(|(at, _)| at);
            let at = there.unwrap_or(self.at);
            let what = match there {
                Some(_) => format!("`{key}:` is empty"),
                None => format!("{} needs `{key}:`", self.what),
            };
            self.problems.fault(Code::MissingKey, at, what, format!("`{key}:` with a value"));
        }
        found
    }

    /// The entries of the list under a key; a single value counts as a list of one.
    pub fn list(&mut self, key: &'static str) -> &'n [Node<'n>] {
        self.get(key).map(list).unwrap_or_default()
    }

    /// Name, key and value of each entry of the map under a key; `what` says what the map is.
    pub fn entries(&mut self, key: &'static str, what: &str) -> Vec<(&'n str, &'n Node<'n>, &'n Node<'n>)> {
        self.get(key).and_then(|node| entries(node, what, self.problems)).unwrap_or_default()
    }

    /// Whether nothing was found to be wrong since the map was opened.
    pub fn is_sound(&self) -> bool {
        self.problems.len() == self.before
    }

    /// Reports every key that is not known; `None` if anything was wrong since the map was opened.
    pub fn finish(self) -> Option<()> {
        for (name, own, _) in &self.entries {
            if let Some(at) = own.filter(|_| !self.known.contains(name)) {
                self.problems.push_with(|| {
                    let mut seen = HashSet::new();
                    let known: Vec<_> = self.known.iter().copied().filter(|key| seen.insert(*key)).collect();
                    let help = slip(name)
                        .or_else(|| did_you_mean(name, known.iter().copied()))
                        .or_else(|| Some(format!("{} may have: {}", self.what, known.join(", "))));
                    let what = format!("`{name}` is not a key of {}", self.what);
                    Problem::new(Code::UnknownKey, at, what, "a known key").with_help(help)
                });
            }
        }
        self.is_sound().then_some(())
    }
}

/// What a key that nothing reads most likely is, where its form tells.
fn slip(name: &str) -> Option<String> {
    if name.bytes().all(|byte| byte.is_ascii_digit()) {
        return Some("inside braces a comma ends the value: write `1200` for 1,200 and `26.00` for 26,00".to_owned());
    }
    let (key, value) = name.split_once(':')?;
    let (key, value) = (key.trim(), value.trim());
    (!key.is_empty() && !value.is_empty()).then(|| format!("put a space after the colon: `{key}: {value}`"))
}
