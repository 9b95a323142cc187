//! Which plants form arbuscular mycorrhiza: by species, genus, family, never by order.

use super::{layout, with_built_in};
use crate::diagnostic::Problems;
use crate::source::{Fields, Node, words};
use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

const FAMILIES: &str = include_str!("../../recipes/catalogue/families.yaml");

words! {
    /// Whether a plant forms the mycorrhiza that an inoculant offers.
    Status {
        /// It does.
        Host = "host",
        /// It does not.
        NonHost = "nonhost",
        /// Records disagree; little or nothing to be expected.
        Variable = "variable",
        /// It lives with other fungi, in acid soil.
        Ericoid = "ericoid",
        /// It lives with other fungi.
        Orchid = "orchid",
    }
}

/// By what a status was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StatusFrom {
    /// Stated for the crop itself.
    Crop,
    /// Its species is an exception in its genus.
    Species(String),
    /// Its genus.
    Genus(String),
    /// Its family.
    Family(String),
}

impl fmt::Display for StatusFrom {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Crop => f.write_str("the crop"),
            Self::Species(name) => write!(f, "the species {name}"),
            Self::Genus(name) => write!(f, "the genus {name}"),
            Self::Family(name) => write!(f, "the family {name}"),
        }
    }
}

/// The entries of a section by their name in lower case, each still a text.
fn split_section(name: &str) -> HashMap<String, (&'static str, &'static str)> {
    layout::entries(layout::section(FAMILIES, name)).into_iter().map(|entry| (entry.0.to_lowercase(), entry)).collect()
}

static FAMILY_RULES: LazyLock<HashMap<String, (&str, &str)>> = LazyLock::new(|| split_section("families"));
static GENUS_RULES: LazyLock<HashMap<String, (&str, &str)>> = LazyLock::new(|| split_section("genera"));
static SPECIES_RULES: LazyLock<HashMap<String, (&str, &str)>> = LazyLock::new(|| split_section("species"));

/// Name and status of the rule for a name.
fn rule(rules: &HashMap<String, (&'static str, &'static str)>, name: &str) -> Option<(&'static str, Status)> {
    let (name, text) = *rules.get(&name.trim().to_lowercase())?;
    with_built_in("families.yaml", text, |fields, problems| fields.get(name).and_then(|node| read(node, problems)))
        .ok()
        .map(|status| (name, status))
}

fn read(node: &Node<'_>, problems: &Problems) -> Option<Status> {
    let mut fields = Fields::new(node, "a rule", problems)?;
    let status = fields.required("mycorrhiza");
    // For the reader of the file.
    for key in ["family", "confidence", "exceptions", "from", "note"] {
        fields.get(key);
    }
    fields.finish();
    status
}

/// The status of a species by its name and family: species, then genus, then family.
///
/// ```
/// use trayful::catalogue::Status;
/// // Lupine is a non-host in a family of hosts.
/// let (status, _) = trayful::catalogue::status_of(Some("Lupinus polyphyllus"), Some("Fabaceae")).unwrap();
/// assert_eq!(status, Status::NonHost);
/// ```
pub fn status_of(species: Option<&str>, family: Option<&str>) -> Option<(Status, StatusFrom)> {
    if let Some(species) = species {
        // A crop may name two species; the first decides.
        let first = species.split([',', '/', '(']).next().unwrap_or(species).trim();
        let words: Vec<&str> = first.split_whitespace().filter(|word| *word != "x" && *word != "×").collect();
        if let [genus, epithet, ..] = words[..]
            && let Some((name, status)) = rule(&SPECIES_RULES, &format!("{genus} {epithet}"))
        {
            return Some((status, StatusFrom::Species(name.to_owned())));
        }
        if let Some((name, status)) = words.first().and_then(|genus| rule(&GENUS_RULES, genus)) {
            return Some((status, StatusFrom::Genus(name.to_owned())));
        }
    }
    let (name, status) = rule(&FAMILY_RULES, family?)?;
    Some((status, StatusFrom::Family(name.to_owned())))
}

/// The plants of a family that differ from it.
pub fn exceptions(family: &str) -> Vec<&'static str> {
    let Some((family, status)) = rule(&FAMILY_RULES, family) else { return Vec::new() };
    let of_family = format!("family: {family}");
    let rules = [&*GENUS_RULES, &*SPECIES_RULES];
    let others = rules.into_iter().flat_map(|rules| {
        let named = rules.values().filter(|(_, text)| text.contains(&of_family));
        named.filter(|(name, _)| rule(rules, name).is_some_and(|(_, other)| other != status)).map(|(name, _)| *name)
    });
    let mut others: Vec<&str> = others.collect();
    others.sort_unstable();
    others
}

/// Whether there is a rule for a family.
pub fn knows_family(family: &str) -> bool {
    FAMILY_RULES.contains_key(&family.trim().to_lowercase())
}

/// The names of the families there are rules for.
pub fn family_names() -> impl Iterator<Item = &'static str> {
    FAMILY_RULES.values().map(|(name, _)| *name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_split_rules_are_those_that_yaml_reads() {
        let sections = [("families", &*FAMILY_RULES), ("genera", &*GENUS_RULES), ("species", &*SPECIES_RULES)];
        with_built_in("families.yaml", FAMILIES, |fields, problems| {
            for (section, rules) in sections {
                let listed = crate::source::entries(fields.get(section).unwrap(), section, problems).unwrap();
                assert_eq!(listed.len(), rules.len(), "{section}");
                for (name, _, node) in listed {
                    assert_eq!(rule(rules, name).map(|(_, status)| status), read(node, problems), "{name}");
                }
            }
            Some(())
        })
        .unwrap();
    }
}
