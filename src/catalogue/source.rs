//! Where the figures come from.

use super::Origin;
use super::shipped::{Table, as_cut};
use crate::diagnostic::Problems;
use crate::source::{Fields, FromNode, Node};
use std::collections::BTreeMap;
use std::sync::LazyLock;

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

static CITATIONS: LazyLock<Table<Citation>> = LazyLock::new(|| {
    Table::new("sources", SOURCES, as_cut!("sources"), |_, node, problems| Citation::from_node(node, problems))
});

/// The source of a short key; those that speak for themselves (`memory`, `common practice`)
/// may have none.
pub fn citation(key: &str) -> Option<&'static Citation> {
    CITATIONS.exact(key)
}

/// The sources that a shipped table states once for all its entries, at its head.
pub(super) type FileTags = fn() -> &'static BTreeMap<String, String>;

/// What an entry is read with, besides its name, its node and the entry it is laid over.
#[derive(Clone, Copy)]
pub(super) struct Reading<'r> {
    /// Where it comes from.
    pub(super) origin: Origin,
    /// The sources that its file states once for all.
    tags: Option<FileTags>,
    /// What is wrong goes there.
    pub(super) problems: &'r Problems,
}

impl<'r> Reading<'r> {
    /// Of a user's own entry.
    pub(super) fn own(problems: &'r Problems) -> Self {
        Self { origin: Origin::Own, tags: None, problems }
    }

    /// Of an entry of a shipped table.
    pub(super) fn shipped(tags: Option<FileTags>, problems: &'r Problems) -> Self {
        Self { origin: Origin::BuiltIn, tags, problems }
    }

    /// The tags of the entry: its `from:` over those of its file, and for the values that stay
    /// as they were over those of the entry it is laid over.
    pub(super) fn tags(&self, fields: &mut Fields<'_>, base: Option<&SourceTags>) -> SourceTags {
        let mut tags = SourceTags { own: fields.optional("from").unwrap_or_default(), file: self.tags };
        let of_file = base.and_then(|base| base.file).into_iter().flat_map(|file| file());
        for (key, source) in base.into_iter().flat_map(|base| &base.own).chain(of_file) {
            if !fields.states(key) && tags.of(key).is_none() {
                tags.own.insert(key.clone(), source.clone());
            }
        }
        tags
    }
}

/// Which source stands behind each value of an entry: the entry's own tags over
/// those of its file.
#[derive(Clone, Debug, Default)]
pub struct SourceTags {
    own: BTreeMap<String, String>,
    file: Option<FileTags>,
}

impl SourceTags {
    /// The key of the source behind a value.
    pub fn of(&self, value: &str) -> Option<&str> {
        self.own.get(value).or_else(|| self.file?().get(value)).map(String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::super::shipped::file_tags;
    use super::*;
    use crate::diagnostic::SourceText;
    use crate::source::parse_shipped;

    #[test]
    fn the_cut_sources_are_those_that_yaml_reads() {
        CITATIONS.assert_as_whole();
    }

    #[test]
    fn the_sources_at_the_head_of_a_file_are_those_that_yaml_reads() {
        for (section, text) in [
            ("crops", include_str!("../../recipes/catalogue/crops.yaml")),
            ("ingredients", include_str!("../../recipes/catalogue/ingredients.yaml")),
        ] {
            let problems = Problems::new(SourceText::argument(section, text));
            let whole = parse_shipped(text, &problems).unwrap();
            let tags = FromNode::from_node(whole.get("unless_said").unwrap(), &problems);
            assert_eq!(Some(file_tags(text, section)), tags);
        }
    }
}
