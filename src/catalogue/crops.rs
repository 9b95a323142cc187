//! The table of crops, each entry read when it is first asked for.
//!
//! Reading the whole table costs more than planning a week, so the shipped text is only
//! split into entries, whose names and aliases stand first. The tests hold it to that.

use super::entries::{Entries, key};
use super::layout;
use super::source::{Reading, SourceTags};
use super::{Crop, Handle, Origin};
use crate::diagnostic::{Problems, SourceText};
use crate::source::parse_shipped;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock, OnceLock};

const TEXT: &str = include_str!("../../recipes/catalogue/crops.yaml");

/// Crops by name: the user's own over the shipped ones.
#[derive(Clone, Debug, Default)]
pub struct Crops {
    /// The user's own.
    pub(super) added: Entries<Crop>,
}

impl Crops {
    /// The crop that goes by a name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Handle<Crop>> {
        let own = |name: &str| self.added.find(name).map(|own| own.after(SHIPPED.entries.len()));
        own(name).or_else(|| {
            let place = *SHIPPED.by_name.get(&key(name))?;
            let entry = &SHIPPED.entries[place];
            // An own entry of the crop's name stands for all its other names too. One that
            // cannot be read would be a fault of the shipped table.
            own(&entry.names[0]).or_else(|| entry.crop().map(|crop| Handle::new(place, crop)))
        })
    }

    /// The shipped crop of a name.
    pub(super) fn shipped(name: &str) -> Option<&'static Crop> {
        SHIPPED.entries[*SHIPPED.by_name.get(&key(name))?].crop().map(AsRef::as_ref)
    }

    /// Every crop: the shipped ones in order, then the user's own.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        SHIPPED.entries.iter().filter_map(ShippedCrop::crop).map(AsRef::as_ref).chain(self.added.iter())
    }

    /// Every name and alias.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        SHIPPED.entries.iter().flat_map(|entry| entry.names.iter().map(String::as_str)).chain(self.added.names())
    }
}

/// One entry of the shipped table.
struct ShippedCrop {
    /// Its name, then its aliases.
    names: Vec<String>,
    text: &'static str,
    read: OnceLock<Option<Arc<Crop>>>,
}

struct Shipped {
    entries: Vec<ShippedCrop>,
    by_name: HashMap<String, usize>,
    tags: SourceTags,
}

static SHIPPED: LazyLock<Shipped> = LazyLock::new(|| {
    let entries: Vec<ShippedCrop> = layout::entries(layout::section(TEXT, "crops"))
        .into_iter()
        .map(|(name, text)| ShippedCrop::new(name, text))
        .collect();
    let mut by_name = HashMap::with_capacity(4 * entries.len());
    for (index, entry) in entries.iter().enumerate() {
        by_name.extend(entry.names.iter().map(|name| (key(name), index)));
    }
    let head = TEXT.split_once("\ncrops:\n").map_or(TEXT, |(head, _)| head);
    Shipped { entries, by_name, tags: tags(head) }
});

/// The tags that hold for the whole table, from its head.
fn tags(head: &'static str) -> SourceTags {
    let problems = nowhere(head);
    let node = parse_shipped(head, &problems);
    SourceTags::of_file(node.as_ref().and_then(|node| node.get("unless_said")), &problems)
}

fn nowhere(text: &str) -> Problems {
    Problems::new(Arc::new(SourceText { name: "built-in crops.yaml".to_owned(), text: text.to_owned() }))
}

impl ShippedCrop {
    /// Name and aliases by the layout of the shipped table.
    fn new(name: &str, text: &'static str) -> Self {
        let mut names = vec![name.to_owned()];
        if let Some((_, also)) = text.split_once(": {also: [")
            && let Some((also, _)) = also.split_once(']')
        {
            let alias = |alias: &str| alias.split_whitespace().collect::<Vec<_>>().join(" ");
            names.extend(also.split(',').map(|name| alias(name.trim().trim_matches('"'))));
        }
        Self { names, text, read: OnceLock::new() }
    }

    fn crop(&self) -> Option<&Arc<Crop>> {
        self.read.get_or_init(|| self.parse().map(Arc::new)).as_ref()
    }

    fn parse(&self) -> Option<Crop> {
        let problems = nowhere(self.text);
        let reading = Reading { origin: Origin::BuiltIn, tags: &SHIPPED.tags, problems: &problems };
        let node = parse_shipped(self.text, &problems)?;
        Crop::read(node.first_key()?, node.get(node.first_key()?)?, None, &reading).filter(|_| problems.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Value, entries};

    #[test]
    fn the_split_entries_are_those_that_yaml_reads() {
        let problems = nowhere(TEXT);
        let whole = parse_shipped(TEXT, &problems).unwrap();
        let Value::Map(map) = &whole.value else { panic!() };
        let (_, crops) = map.iter().find(|(key, _)| key.value == Value::Text("crops".into())).unwrap();
        let crops = entries(crops, "crops", &problems).unwrap();
        assert_eq!(crops.len(), SHIPPED.entries.len());
        let tags = SourceTags::of_file(map.first().map(|(_, value)| value), &problems);
        let reading = Reading { origin: Origin::BuiltIn, tags: &tags, problems: &problems };
        for ((name, _, node), entry) in crops.into_iter().zip(&SHIPPED.entries) {
            let crop = Crop::read(name, node, None, &reading).unwrap();
            assert_eq!(entry.names[0], crop.name);
            assert_eq!(entry.names[1..], crop.also);
            assert_eq!(format!("{:?}", entry.crop().unwrap()), format!("{crop:?}"));
        }
        assert!(problems.is_empty());
    }

    #[test]
    fn no_two_crops_share_a_name() {
        let names: usize = SHIPPED.entries.iter().map(|entry| entry.names.len()).sum();
        assert_eq!(SHIPPED.by_name.len(), names);
    }
}
