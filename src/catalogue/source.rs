//! Where the figures come from.

use super::{Origin, with_built_in};
use crate::diagnostic::Problems;
use crate::source::{Fields, FromNode, Node};
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

impl FromNode for Citation {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a source", problems, |fields| {
            let (cite, standing) = (fields.required("cite"), fields.required("standing"));
            Some(Self { cite: cite?, standing: standing? })
        })
    }
}

static CITATIONS: LazyLock<BTreeMap<String, Citation>> = LazyLock::new(|| {
    let read = with_built_in("sources.yaml", SOURCES, |fields, _| fields.optional("sources"));
    read.unwrap_or_default()
});

/// Every source by its short key; keys that speak for themselves (`memory`, `common practice`)
/// are not among them.
pub fn citations() -> &'static BTreeMap<String, Citation> {
    &CITATIONS
}

/// What an entry is read with, besides its name, its node and the entry it is laid over.
#[derive(Clone, Copy)]
pub(super) struct Reading<'r> {
    /// Where it comes from.
    pub(super) origin: Origin,
    /// The sources that its file states once for all.
    pub(super) tags: &'r SourceTags,
    /// What is wrong goes there.
    pub(super) problems: &'r Problems,
}

/// Which source stands behind each value of an entry: the entry's own tags over
/// those of its file.
#[derive(Clone, Debug, Default)]
pub struct SourceTags {
    own: BTreeMap<String, String>,
    file: Arc<BTreeMap<String, String>>,
}

impl SourceTags {
    /// The tags that hold for a whole file.
    pub(super) fn of_file(node: Option<&Node<'_>>, problems: &Problems) -> Self {
        let file = node.and_then(|node| BTreeMap::from_node(node, problems)).unwrap_or_default();
        Self { own: BTreeMap::new(), file: Arc::new(file) }
    }

    /// The same with the `from:` of an entry, over the tags of the entry it is laid over for
    /// the values that stay as they were.
    pub(super) fn of_entry(&self, fields: &mut Fields<'_>, base: Option<&Self>) -> Self {
        let mut tags = Self { own: fields.optional("from").unwrap_or_default(), file: Arc::clone(&self.file) };
        for (key, source) in base.into_iter().flat_map(|base| base.own.iter().chain(base.file.iter())) {
            if !fields.states(key) && tags.of(key).is_none() {
                tags.own.insert(key.clone(), source.clone());
            }
        }
        tags
    }

    /// The key of the source behind a value.
    pub fn of(&self, value: &str) -> Option<&str> {
        self.own.get(value).or_else(|| self.file.get(value)).map(String::as_str)
    }
}
