//! From a tree to values: keys asked for one by one, everything unasked a fault.

use super::value::{FromNode, word};
use super::yaml::{Node, Value};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::units::Fault;
use std::collections::{BTreeMap, HashMap, HashSet};

/// The keys of a map, each to be asked for; [`Fields::finish`] reports the rest.
pub struct Fields<'n> {
    what: &'static str,
    at: Span,
    /// Where each key stands, if in this map, and its value.
    entries: HashMap<&'n str, (Option<Span>, &'n Node<'n>)>,
    asked: Vec<&'static str>,
    problems: &'n Problems,
}

/// What an entry states, kept for a later entry of its name that is laid over it.
#[derive(Clone, Debug, Default)]
pub struct Stated(BTreeMap<String, Node<'static>>);

impl<'n> Fields<'n> {
    /// The keys of a map; a fault if it is none, or holds a key twice.
    ///
    /// `what` says what the map is, as in "a sowing".
    pub fn new(node: &'n Node<'n>, what: &'static str, problems: &'n Problems) -> Option<Self> {
        let entries = entries(node, what, problems)?;
        let entries = entries.into_iter().map(|(name, key, value)| (name, (Some(key.at), value))).collect();
        Some(Self { what, at: node.at, entries, asked: Vec::new(), problems })
    }

    /// Lays the map over an earlier one: a key without a value here has the earlier one's,
    /// except for some keys.
    pub fn lay_over(&mut self, base: &'n Stated, except: &[&str]) {
        for (name, value) in base.0.iter().filter(|(name, _)| !except.contains(&name.as_str())) {
            if !self.states(name) {
                self.entries.insert(name, (None, value));
            }
        }
    }

    /// Whether the map itself has a value for a key, whatever it is laid over.
    #[must_use]
    pub fn states(&self, key: &str) -> bool {
        self.entries.get(key).is_some_and(|(own, value)| own.is_some() && value.value != Value::Null)
    }

    /// All that holds, for a later map that is laid over this one.
    #[must_use]
    pub fn stated(&self) -> Stated {
        Stated(self.entries.iter().map(|(name, (_, value))| ((*name).to_owned(), value.to_static())).collect())
    }

    /// Where the map stands.
    #[must_use]
    pub fn at(&self) -> Span {
        self.at
    }

    /// Where the value of a key stands; where the map does if it is not there.
    #[must_use]
    pub fn place(&self, key: &str) -> Span {
        self.entries.get(key).filter(|_| self.states(key)).map_or(self.at, |(_, value)| value.at)
    }

    /// The value of a key, read as its type asks, if it is there and not empty.
    pub fn optional<T: FromNode>(&mut self, key: &'static str) -> Option<T> {
        self.get(key).and_then(|node| T::from_node(node, self.problems))
    }

    /// The same of a key that must be there.
    pub fn required<T: FromNode>(&mut self, key: &'static str) -> Option<T> {
        self.require(key).and_then(|node| T::from_node(node, self.problems))
    }

    /// The node of a key, if it is there and not empty.
    pub fn get(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        self.asked.push(key);
        self.entries.get(key).map(|(_, value)| *value).filter(|value| value.value != Value::Null)
    }

    /// The node of a key that must be there.
    pub fn require(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        let found = self.get(key);
        if found.is_none() {
            let there = self.entries.get(key).and_then(|(at, _)| *at);
            let at = there.unwrap_or(self.at);
            let what = match there {
                Some(_) => format!("`{key}:` is empty"),
                None => format!("{} needs `{key}:`", self.what),
            };
            self.problems.push(Problem::new(Code::MissingKey, at, what, format!("`{key}:` with a value")));
        }
        found
    }

    /// The value of a key as text.
    pub fn text(&mut self, key: &'static str) -> Option<&'n str> {
        self.get(key).and_then(|node| text_of(node, key, self.problems))
    }

    /// The value of a key, read as a quantity; `expected` says what of.
    pub fn quantity<T>(
        &mut self,
        key: &'static str,
        expected: &str,
        parse: impl FnOnce(&str) -> Result<T, Fault>,
    ) -> Option<T> {
        let node = self.get(key)?;
        let text = text_of(node, expected, self.problems)?;
        self.problems.quantity(node.at, parse(text), expected)
    }

    /// The value of a key, one of a few words.
    pub fn choice<T: Copy>(&mut self, key: &'static str, choices: &[(&'static str, T)]) -> Option<T> {
        let node = self.get(key)?;
        word(node, choices, self.problems)
    }

    /// The keys that may be there, each once.
    fn known(&self) -> Vec<&'static str> {
        let mut known: Vec<&'static str> = Vec::new();
        for key in &self.asked {
            if !known.contains(key) {
                known.push(key);
            }
        }
        known
    }

    /// Every key that nobody asked for is a fault.
    pub fn finish(self) {
        for (name, (own, _)) in &self.entries {
            if let Some(at) = own.filter(|_| !self.asked.contains(name)) {
                let help = slip(name)
                    .or_else(|| did_you_mean(name, self.asked.iter().copied()))
                    .or_else(|| Some(format!("{} may have: {}", self.what, self.known().join(", "))));
                let what = format!("`{name}` is not a key of {}", self.what);
                self.problems.push(Problem::new(Code::UnknownKey, at, what, "a known key").with_help(help));
            }
        }
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

/// The entries of a map in order: name, key, value. A name that stands twice is a fault.
pub fn entries<'n>(
    node: &'n Node<'n>,
    what: &str,
    problems: &Problems,
) -> Option<Vec<(&'n str, &'n Node<'n>, &'n Node<'n>)>> {
    let Value::Map(map) = &node.value else {
        let expected = format!("{what}, as keys with values");
        problems.push(Problem::new(Code::WrongKind, node.at, format!("this is {}", kind_of(node)), expected));
        return None;
    };
    let mut seen = HashSet::with_capacity(map.len());
    let mut entries = Vec::with_capacity(map.len());
    for (key, value) in map {
        let Value::Text(name) = &key.value else {
            problems.push(Problem::new(Code::WrongKind, key.at, "this key is no word", "a key"));
            continue;
        };
        if seen.insert(name.as_ref()) {
            entries.push((name.as_ref(), key, value));
        } else {
            let what = format!("`{name}` stands twice");
            problems.push(Problem::new(Code::TwiceKey, key.at, what, "each key once"));
        }
    }
    Some(entries)
}

/// What a value is, for messages.
#[must_use]
pub fn kind_of(node: &Node<'_>) -> &'static str {
    match node.value {
        Value::Null => "empty",
        Value::Text(_) => "a single value",
        Value::List(_) => "a list",
        Value::Map(_) => "a set of keys",
    }
}

/// The text of a scalar; a fault if it is a list or a map.
pub fn text_of<'n>(node: &'n Node<'_>, expected: &str, problems: &Problems) -> Option<&'n str> {
    match &node.value {
        Value::Text(text) => Some(text),
        _ => {
            let what = format!("this is {}", kind_of(node));
            problems.push(Problem::new(Code::WrongKind, node.at, what, format!("{expected}, as a single value")));
            None
        }
    }
}

/// The entries of a list; a single value counts as a list of one.
#[must_use]
pub fn list<'n>(node: &'n Node<'n>) -> &'n [Node<'n>] {
    match &node.value {
        Value::List(list) => list,
        Value::Null => &[],
        _ => std::slice::from_ref(node),
    }
}
