//! Where the entries of a shipped table stand, and by which names. `build.rs` cuts the tables with this very file.

use super::name::fold;
use crate::hash;
use std::iter::once;

/// Where each entry of a section begins and the last one ends, and the hash of every name, in order, with the place of
/// its entry. The section ends where the next one begins.
#[allow(dead_code, reason = "for the build, and for the tests")]
pub(super) fn cut(text: &str, section: &str) -> (Vec<usize>, Vec<(u64, usize)>) {
    let head = format!("\n{section}:\n");
    let Some(first) = text.find(&head).map(|at| at + head.len()) else { return Default::default() };
    let mut starts = vec![first];
    for line in text[first..].match_indices('\n').map(|(at, _)| first + at + 1) {
        if text[line..].starts_with("   ") {
            continue;
        }
        starts.push(line);
        if !text[line..].starts_with(' ') {
            break;
        }
    }
    let entries = starts.windows(2).map(|entry| &text[entry[0]..entry[1]]).enumerate();
    let mut index: Vec<_> =
        entries.flat_map(|(place, entry)| names(entry).map(move |name| (hash(name), place))).collect();
    index.sort_unstable();
    (starts, index)
}

/// The name of an entry, then the other ones.
pub(super) fn names(entry: &str) -> impl Iterator<Item = &str> {
    let (name, after) = entry.trim_ascii_start().split_once(':').unwrap_or_default();
    let also = after.strip_prefix(" {also: [").and_then(|rest| rest.split_once(']'));
    once(name).chain(also.into_iter().flat_map(|(also, _)| also.split(',')).map(|name| name.trim().trim_matches('"')))
}

/// A hash of a name as it is compared (FNV-1a, by character).
pub(super) fn hash(name: &str) -> u64 {
    let mut hash = hash::START;
    fold(name, |c| hash = hash::fnv(hash, u64::from(c)));
    hash
}
