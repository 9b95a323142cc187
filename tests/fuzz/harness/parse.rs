//! YAML: a tree within its depth and budget whose places lie in the text, or faults that do.

use super::{accepted, grown, text};
use std::borrow::Cow;
use std::sync::Arc;
use trayful::diagnostic::Problems;
use trayful::source::{Node, Value, parse};

/// The entries within entries that a file may have, and the file itself.
const DEEPEST: usize = 41;
/// Far more entries than the reader takes from a file.
const MOST: usize = 1_000_000;

pub fn run(bytes: &[u8]) {
    let Some(source) = text("file.yaml", &grown(bytes)) else { return };
    let problems = Problems::new(Arc::clone(&source));
    let node = parse(&source.text, &problems);
    if let Some(node) = &node {
        let entries = check(node, &source.text, 0);
        assert!(entries <= MOST, "{entries} entries from {} bytes", source.text.len());
        assert!(problems.is_empty(), "read, and refused too");
    }
    accepted(problems.settle(node.map(drop)));
}

/// Checks a tree; how many entries it has.
fn check(node: &Node<'_>, text: &str, depth: usize) -> usize {
    assert!(depth <= DEEPEST, "{depth} deep");
    let place = text.get(node.at.start..node.at.end);
    assert!(place.is_some(), "{:?} is no place in the text", node.at);
    match &node.value {
        Value::Null => 1,
        Value::Text(value) => {
            if let Cow::Borrowed(value) = value {
                assert_eq!(place, Some(*value), "{:?} is not where it stands", node.at);
            }
            1
        }
        Value::List(list) => 1 + list.iter().map(|entry| check(entry, text, depth + 1)).sum::<usize>(),
        Value::Map(map) => {
            let entries = map.iter().flat_map(|(key, value)| [key, value]);
            1 + entries.map(|entry| check(entry, text, depth + 1)).sum::<usize>()
        }
    }
}
