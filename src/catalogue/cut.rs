//! Shipped tables cut into entries by their layout, to read only those asked for.
//!
//! A section starts on a line of its own with `name:`; an entry on a line indented by
//! two spaces, with its name first. The tests hold the shipped files to that.

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
