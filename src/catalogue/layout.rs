//! Shipped tables split into entries by their layout, to read only those that are needed.
//!
//! A section starts on a line of its own with `name:`; an entry on a line indented by
//! two spaces, with its name first. The tests hold the shipped files to that.

use super::with_built_in;
use crate::source::{Fields, Stated};

/// What an entry of a shipped table states; nothing if there is none of the name.
pub(super) fn stated(text: &'static str, section_name: &'static str, name: &str) -> Stated {
    let found = entries(section(text, section_name)).into_iter().find(|(known, _)| *known == name);
    let read = |(name, text)| {
        with_built_in(section_name, text, |fields, problems| {
            Some(Fields::new(fields.get(name)?, "an entry", problems)?.stated())
        })
    };
    found.and_then(|entry| read(entry).ok()).unwrap_or_default()
}

/// The text of a section, up to the next one; empty if there is none.
pub(super) fn section(text: &'static str, name: &str) -> &'static str {
    let start = format!("\n{name}:\n");
    let Some((_, rest)) = text.split_once(&start) else { return "" };
    let end = rest.match_indices('\n').find(|(at, _)| rest[at + 1..].starts_with(|c: char| c.is_ascii_alphabetic()));
    end.map_or(rest, |(at, _)| &rest[..=at])
}

/// Name and text of every entry of a section.
pub(super) fn entries(section: &'static str) -> Vec<(&'static str, &'static str)> {
    let mut entries = Vec::new();
    let mut start = 0;
    for at in section.match_indices('\n').map(|(at, _)| at + 1).chain([section.len()]) {
        let next = &section[at..];
        if at > start && (next.is_empty() || (next.starts_with("  ") && !next.starts_with("   "))) {
            let text = &section[start..at];
            entries.extend(text.trim_start().split_once(": {").map(|(name, _)| (name, text)));
            start = at;
        }
    }
    entries
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_split_entries_state_what_yaml_reads() {
        for (section, text) in [
            ("trays", include_str!("../../recipes/catalogue/trays.yaml")),
            ("ingredients", include_str!("../../recipes/catalogue/ingredients.yaml")),
            ("crops", include_str!("../../recipes/catalogue/crops.yaml")),
        ] {
            with_built_in(section, text, |fields, problems| {
                fields.get("unless_said");
                for (name, _, node) in crate::source::entries(fields.get(section).unwrap(), section, problems).unwrap()
                {
                    let whole = Fields::new(node, "an entry", problems).unwrap().stated();
                    assert_eq!(format!("{:?}", stated(text, section, name)), format!("{whole:?}"), "{name}");
                    assert_ne!(format!("{whole:?}"), format!("{:?}", Stated::default()), "{name}");
                }
                Some(())
            })
            .unwrap();
        }
    }
}
