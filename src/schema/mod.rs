//! JSON Schema (2020-12) of the files, for editors. What is kept of each was made by the tests, of what the readers ask
//! of a file that has everything in it, and is held to that by them: what the schema knows and what the readers know is
//! one. The names that are known are put into it here.

use crate::catalogue::Catalogue;
use crate::coir::soak::{SaltEntry, salts};
use crate::recipe::BUILT_IN;
use serde_json::{Value as Json, json};
use std::collections::HashSet;

/// The kinds of file, each with its schema, where the name of a table stands for the names in it.
const KEPT: [(&str, &str); 6] = [
    ("week", include_str!("week.json")),
    ("recipe", include_str!("recipe.json")),
    ("soak", include_str!("soak.json")),
    ("stock", include_str!("stock.json")),
    ("place", include_str!("place.json")),
    ("season", include_str!("season.json")),
];

/// The kinds of file that have a schema.
pub const KINDS: [&str; KEPT.len()] = [KEPT[0].0, KEPT[1].0, KEPT[2].0, KEPT[3].0, KEPT[4].0, KEPT[5].0];

/// The schema of a kind of file.
///
/// ```
/// let week = trayful::schema::of("week");
/// assert_eq!(week["$defs"]["sowing"]["required"], serde_json::json!(["crop", "tray"]));
/// ```
pub fn of(kind: &str) -> Json {
    let kept = KEPT.iter().find(|(known, _)| *known == kind).map_or("", |(_, schema)| schema);
    let mut schema = serde_json::from_str(kept).unwrap_or_default();
    fill_in(&mut schema, &Catalogue::built_in());
    schema
}

/// Puts the names of a table where it is named as what a value may be: `{"enum": "crops"}`.
fn fill_in(schema: &mut Json, catalogue: &Catalogue) {
    match schema {
        Json::Object(map) => {
            for (key, value) in map {
                match value.as_str().filter(|_| key == "enum") {
                    Some(table) => *value = json!(names(table, catalogue)),
                    None => fill_in(value, catalogue),
                }
            }
        }
        Json::Array(list) => list.iter_mut().for_each(|value| fill_in(value, catalogue)),
        _ => {}
    }
}

/// The names in a table, each once.
fn names<'c>(table: &str, catalogue: &'c Catalogue) -> Vec<&'c str> {
    let mut names: Vec<&str> = match table {
        "crops" => catalogue.crops.names().collect(),
        "trays" => catalogue.trays.names().collect(),
        "ingredients" => catalogue.ingredients.names().collect(),
        "salts" => salts().flat_map(SaltEntry::names).collect(),
        _ => BUILT_IN.iter().map(|(name, _)| *name).collect(),
    };
    let mut seen = HashSet::new();
    names.retain(|name| seen.insert(*name));
    names
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_texts;
