//! From a tree to values: keys asked for one by one, everything unasked a fault.

use super::yaml::{Node, Value};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::units::Fault;
use std::collections::{HashMap, HashSet};

/// The keys of a map, each to be asked for; [`Fields::finish`] reports the rest.
pub struct Fields<'n> {
    what: &'static str,
    at: Span,
    entries: HashMap<&'n str, (&'n Node<'n>, &'n Node<'n>)>,
    asked: Vec<&'static str>,
    problems: &'n Problems,
}

impl<'n> Fields<'n> {
    /// The keys of a map; a fault if it is none, or holds a key twice.
    ///
    /// `what` says what the map is, as in "a sowing".
    pub fn new(node: &'n Node<'n>, what: &'static str, problems: &'n Problems) -> Option<Self> {
        let entries =
            entries(node, what, problems)?.into_iter().map(|(name, key, value)| (name, (key, value))).collect();
        Some(Self { what, at: node.at, entries, asked: Vec::new(), problems })
    }

    /// Where the map stands.
    #[must_use]
    pub fn at(&self) -> Span {
        self.at
    }

    /// The value of a key, if it is there and not empty.
    pub fn get(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        self.asked.push(key);
        self.entries.get(key).map(|(_, value)| *value).filter(|value| value.value != Value::Null)
    }

    /// The value of a key that must be there.
    pub fn require(&mut self, key: &'static str) -> Option<&'n Node<'n>> {
        let found = self.get(key);
        if found.is_none() {
            let there = self.entries.get(key).map(|(key, _)| key.at);
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

    /// The value of a key, `yes` or `no`.
    pub fn yes_no(&mut self, key: &'static str) -> Option<bool> {
        self.choice(key, &[("yes", true), ("no", false), ("true", true), ("false", false)])
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
        for (name, (key, _)) in &self.entries {
            if !self.asked.contains(name) {
                let help = slip(name)
                    .or_else(|| did_you_mean(name, self.asked.iter().copied()))
                    .or_else(|| Some(format!("{} may have: {}", self.what, self.known().join(", "))));
                let what = format!("`{name}` is not a key of {}", self.what);
                self.problems.push(Problem::new(Code::UnknownKey, key.at, what, "a known key").with_help(help));
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

/// One of a few words.
pub fn word<T: Copy>(node: &Node<'_>, choices: &[(&'static str, T)], problems: &Problems) -> Option<T> {
    let names = || choices.iter().map(|(name, _)| *name);
    let expected = format!("one of {}", names().collect::<Vec<_>>().join(", "));
    let text = text_of(node, &expected, problems)?;
    let found = choices.iter().find(|(name, _)| name.eq_ignore_ascii_case(text.trim()));
    if found.is_none() {
        let what = format!("`{text}` is not a choice here");
        problems.push(Problem::new(Code::Choice, node.at, what, expected).with_help(did_you_mean(text, names())));
    }
    found.map(|(_, value)| *value)
}
