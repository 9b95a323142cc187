//! The table of crops, each entry read when it is first asked for.
//!
//! Reading the whole table costs more than planning a week, so the shipped text is only
//! split into entries, whose names and aliases stand first. The tests hold it to that.

use super::entries::{Entries, key};
use super::layout;
use super::source::{Reading, SourceTags};
use super::{Crop, Handle, Origin, with_built_in};
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
    pub fn find(&self, name: &str) -> Option<Handle<Crop>> {
        let own = |name: &str| self.added.find(name).map(|own| own.after(SHIPPED.entries.len()));
        own(name).or_else(|| {
            let place = *SHIPPED.by_name.get(&key(name))?;
            let entry = &SHIPPED.entries[place];
            // An own entry of the crop's name stands for all its other names too. One that
            // cannot be read would be a fault of the shipped table.
            own(entry.name).or_else(|| entry.crop().map(|crop| Handle::new(place, crop)))
        })
    }

    /// The shipped crop of a name.
    pub(super) fn shipped(name: &str) -> Option<&'static Crop> {
        SHIPPED.entries[*SHIPPED.by_name.get(&key(name))?].crop().map(AsRef::as_ref)
    }

    /// Every shipped crop, in order.
    pub(super) fn all_shipped() -> impl Iterator<Item = &'static Crop> + use<> {
        SHIPPED.entries.iter().filter_map(ShippedCrop::crop).map(AsRef::as_ref)
    }

    /// Every crop: the shipped ones in order, then the user's own.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        let shipped = Self::all_shipped().map(|crop| -> &Crop { crop });
        shipped.chain(self.added.iter())
    }

    /// Every name and alias.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        SHIPPED.entries.iter().flat_map(|entry| entry.names.iter().map(String::as_str)).chain(self.added.names())
    }
}

/// One entry of the shipped table.
struct ShippedCrop {
    name: &'static str,
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
    let tags = with_built_in("crops.yaml", head, |fields, problems| {
        Some(SourceTags::of_file(fields.get("unless_said"), problems))
    });
    Shipped { entries, by_name, tags: tags.unwrap_or_default() }
});

impl ShippedCrop {
    /// Name and aliases by the layout of the shipped table.
    fn new(name: &'static str, text: &'static str) -> Self {
        let mut names = vec![name.to_owned()];
        if let Some((_, also)) = text.split_once(": {also: [")
            && let Some((also, _)) = also.split_once(']')
        {
            let alias = |alias: &str| alias.split_whitespace().collect::<Vec<_>>().join(" ");
            names.extend(also.split(',').map(|name| alias(name.trim().trim_matches('"'))));
        }
        Self { name, names, text, read: OnceLock::new() }
    }

    fn crop(&self) -> Option<&Arc<Crop>> {
        let read = || {
            with_built_in("crops.yaml", self.text, |fields, problems| {
                let reading = Reading { origin: Origin::BuiltIn, tags: &SHIPPED.tags, problems };
                Crop::read(self.name, fields.get(self.name)?, |_| None, &reading).map(Arc::new)
            })
        };
        self.read.get_or_init(|| read().ok()).as_ref()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Problems, SourceText};
    use crate::source::{Value, entries, parse_shipped};

    #[test]
    fn the_split_entries_are_those_that_yaml_reads() {
        let source = SourceText { name: String::new(), text: TEXT.to_owned() };
        let problems = Problems::new(Arc::new(source));
        let whole = parse_shipped(TEXT, &problems).unwrap();
        let Value::Map(map) = &whole.value else { panic!() };
        let (_, crops) = map.iter().find(|(key, _)| key.value == Value::Text("crops".into())).unwrap();
        let crops = entries(crops, "crops", &problems).unwrap();
        assert_eq!(crops.len(), SHIPPED.entries.len());
        let tags = SourceTags::of_file(map.first().map(|(_, value)| value), &problems);
        let reading = Reading { origin: Origin::BuiltIn, tags: &tags, problems: &problems };
        for ((name, _, node), entry) in crops.into_iter().zip(&SHIPPED.entries) {
            let crop = Crop::read(name, node, |_| None, &reading).unwrap();
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
