//! Where the figures come from.

use super::with_built_in;
use crate::diagnostic::Problems;
use crate::source::{Fields, FromNode, Node, entries};
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

const SOURCES: &str = include_str!("../../recipes/catalogue/sources.yaml");

/// A source, and how well it stands behind a figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Citation {
    /// What to look for in a library.
    pub cite: String,
    /// Read, derived, common practice, or from memory.
    pub standing: String,
}

static CITATIONS: LazyLock<BTreeMap<String, Citation>> = LazyLock::new(|| {
    with_built_in("sources.yaml", SOURCES, |fields, problems| {
        let mut found = BTreeMap::new();
        let listed = fields.get("sources").and_then(|node| entries(node, "the sources", problems));
        for (key, _, node) in listed.unwrap_or_default() {
            let Some(mut fields) = Fields::new(node, "a source", problems) else { continue };
            let cite = fields.text("cite").unwrap_or_default().to_owned();
            let standing = fields.text("standing").unwrap_or_default().to_owned();
            fields.finish();
            found.insert(key.to_owned(), Citation { cite, standing });
        }
        found
    })
    .unwrap_or_default()
});

/// The source behind a short key; `None` for keys that speak for themselves
/// (`memory`, `common practice`).
#[must_use]
pub fn citation(key: &str) -> Option<&'static Citation> {
    CITATIONS.get(key)
}

/// Every source by its key.
#[must_use]
pub fn citations() -> &'static BTreeMap<String, Citation> {
    &CITATIONS
}

/// Which source stands behind each value of an entry: the entry's own tags over
/// those of its file.
#[derive(Clone, Debug, Default)]
pub(super) struct SourceTags {
    own: Vec<(String, String)>,
    file: Arc<Vec<(String, String)>>,
}

impl SourceTags {
    /// The tags that hold for a whole file.
    pub(super) fn of_file(node: Option<&Node<'_>>, problems: &Problems) -> Self {
        Self { own: Vec::new(), file: Arc::new(read_tags(node, problems)) }
    }

    /// The same with an entry's own tags.
    pub(super) fn with(&self, node: Option<&Node<'_>>, problems: &Problems) -> Self {
        Self { own: read_tags(node, problems), file: Arc::clone(&self.file) }
    }

    /// The same over those of the entry it changes, for the values that stay as they were.
    pub(super) fn over(mut self, base: Option<&Self>, fields: &Fields<'_>) -> Self {
        for (key, source) in base.into_iter().flat_map(|base| base.own.iter().chain(base.file.iter())) {
            if !fields.states(key) && self.of(key).is_none() {
                self.own.push((key.clone(), source.clone()));
            }
        }
        self
    }

    /// The key of the source behind a value.
    pub(super) fn of(&self, value: &str) -> Option<&str> {
        self.own.iter().chain(self.file.iter()).find(|(key, _)| key == value).map(|(_, source)| source.as_str())
    }
}

fn read_tags(node: Option<&Node<'_>>, problems: &Problems) -> Vec<(String, String)> {
    let Some(node) = node else { return Vec::new() };
    let mut tags = Vec::new();
    for (key, _, value) in entries(node, "the sources of the values", problems).unwrap_or_default() {
        tags.extend(String::from_node(value, problems).map(|source| (key.to_owned(), source)));
    }
    tags
}
