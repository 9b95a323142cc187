//! Which plants form arbuscular mycorrhiza: by species, genus, family, never by order.

use super::shipped::{Cut, Table, as_cut};
use crate::diagnostic::Problems;
use crate::source::{Fields, Node, words};
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

    /// What of a plant is poisonous.
    Poison {
        /// All of it.
        All = "all",
        /// The seed above all.
        Seed = "seed",
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

static FAMILY_RULES: LazyLock<Table<Status>> = LazyLock::new(|| rules("families", as_cut!("families")));
static GENUS_RULES: LazyLock<Table<Status>> = LazyLock::new(|| rules("genera", as_cut!("genera")));
/// Genera of which species are poisonous, and what of them is.
static POISONS: LazyLock<Table<Poison>> = LazyLock::new(|| {
    Table::new("poisons", FAMILIES, as_cut!("poisons"), |_, node, problems| {
        Fields::read(node, "a poison", problems, |fields| fields.required("poisonous"))
    })
});
static SPECIES_RULES: LazyLock<Table<Status>> = LazyLock::new(|| rules("species", as_cut!("species")));

fn rules(section: &'static str, cut: Cut) -> Table<Status> {
    Table::new(section, FAMILIES, cut, |_, node, problems| read(node, problems))
}

/// Name and status of the rule for a name.
fn rule(rules: &Table<Status>, name: &str) -> Option<(&'static str, Status)> {
    let place = rules.place(name)?;
    rules.get(place).map(|status| (rules.name(place), *status))
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

/// What of a species is poisonous, by its genus; `None` where that is not known to be.
pub(super) fn poison_of(species: &str) -> Option<Poison> {
    POISONS.get(POISONS.place(species.split_whitespace().next()?)?).copied()
}

/// The plants of a family that differ from it.
pub fn exceptions(family: &str) -> Vec<&'static str> {
    let Some((family, status)) = rule(&FAMILY_RULES, family) else { return Vec::new() };
    let of_family = format!("family: {family}");
    let others = [&*GENUS_RULES, &*SPECIES_RULES].into_iter().flat_map(|rules| {
        let places = (0..rules.len()).filter(|place| rules.says(*place, &of_family));
        places.filter(|place| rules.get(*place).is_some_and(|other| *other != status)).map(|place| rules.name(place))
    });
    others.collect()
}

/// Whether there is a rule for a family.
pub fn knows_family(family: &str) -> bool {
    FAMILY_RULES.place(family).is_some()
}

/// The names of the families there are rules for.
pub fn family_names() -> impl Iterator<Item = &'static str> {
    FAMILY_RULES.names()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_rules_are_those_that_yaml_reads() {
        for rules in [&FAMILY_RULES, &GENUS_RULES, &SPECIES_RULES] {
            rules.assert_as_whole();
        }
        POISONS.assert_as_whole();
    }
}
