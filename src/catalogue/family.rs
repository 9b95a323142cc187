//! Which plants form arbuscular mycorrhiza: by species, genus, family, never by order.

use super::with_built_in;
use crate::diagnostic::Problems;
use crate::source::{Fields, Node, entries, word};
use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

const FAMILIES: &str = include_str!("../../recipes/catalogue/families.yaml");

/// Whether a plant forms the mycorrhiza that an inoculant offers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Status {
    /// It does.
    Host,
    /// It does not.
    NonHost,
    /// Records disagree; little or nothing to be expected.
    Variable,
    /// It lives with other fungi, in acid soil.
    Ericoid,
    /// It lives with other fungi.
    Orchid,
}

impl Status {
    /// The words for it in files.
    pub const WORDS: [(&'static str, Self); 5] = [
        ("host", Self::Host),
        ("nonhost", Self::NonHost),
        ("variable", Self::Variable),
        ("ericoid", Self::Ericoid),
        ("orchid", Self::Orchid),
    ];
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(Self::WORDS.iter().find(|(_, status)| status == self).map_or("", |(word, _)| word))
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

#[derive(Default)]
struct Rules {
    families: HashMap<String, (String, Status)>,
    genera: HashMap<String, (Status, Option<String>)>,
    species: HashMap<String, Status>,
}

// Read only when a crop of the user's own has to be looked up.
static RULES: LazyLock<Rules> = LazyLock::new(|| {
    with_built_in("families.yaml", FAMILIES, |fields, problems| {
        let mut rules = Rules::default();
        let mut table =
            |key: &'static str, problems: &mut Problems, each: &mut dyn FnMut(&str, Status, Option<String>)| {
                let listed = fields.get(key).and_then(|node| entries(node, key, problems));
                for (name, _, node) in listed.unwrap_or_default() {
                    if let Some((status, family)) = read(node, problems) {
                        each(name, status, family);
                    }
                }
            };
        table("families", problems, &mut |name, status, _| {
            rules.families.insert(name.to_lowercase(), (name.to_owned(), status));
        });
        table("genera", problems, &mut |name, status, family| {
            rules.genera.insert(name.to_lowercase(), (status, family));
        });
        table("species", problems, &mut |name, status, _| {
            rules.species.insert(name.to_lowercase(), status);
        });
        rules
    })
    .unwrap_or_default()
});

fn read(node: &Node<'_>, problems: &mut Problems) -> Option<(Status, Option<String>)> {
    let mut fields = Fields::new(node, "a rule", problems)?;
    let status = fields.require("mycorrhiza", problems).and_then(|node| word(node, &Status::WORDS, problems));
    let family = fields.text("family", problems).map(str::to_owned);
    // For the reader of the file.
    for key in ["confidence", "exceptions", "from", "note"] {
        fields.get(key);
    }
    fields.finish(problems);
    status.map(|status| (status, family))
}

/// The status of a species by its name and family: species, then genus, then family.
///
/// ```
/// use trayful::catalogue::Status;
/// // Lupine is a non-host in a family of hosts.
/// let (status, _) = trayful::catalogue::status_of(Some("Lupinus polyphyllus"), Some("Fabaceae")).unwrap();
/// assert_eq!(status, Status::NonHost);
/// ```
#[must_use]
pub fn status_of(species: Option<&str>, family: Option<&str>) -> Option<(Status, StatusFrom)> {
    if let Some(species) = species {
        // A crop may name two species; the first decides.
        let first = species.split([',', '/', '(']).next().unwrap_or(species).trim();
        let words: Vec<&str> = first.split_whitespace().filter(|word| *word != "x" && *word != "×").collect();
        if let [genus, epithet, ..] = words[..]
            && let Some(status) = RULES.species.get(&format!("{genus} {epithet}").to_lowercase())
        {
            return Some((*status, StatusFrom::Species(format!("{genus} {epithet}"))));
        }
        if let Some(genus) = words.first()
            && let Some((status, _)) = RULES.genera.get(&genus.to_lowercase())
        {
            return Some((*status, StatusFrom::Genus((*genus).to_owned())));
        }
    }
    let (name, status) = RULES.families.get(&family?.trim().to_lowercase())?;
    Some((*status, StatusFrom::Family(name.clone())))
}

/// Whether there is a rule for a family.
#[must_use]
pub fn knows_family(family: &str) -> bool {
    RULES.families.contains_key(&family.trim().to_lowercase())
}

/// The names of the families there are rules for.
pub fn family_names() -> impl Iterator<Item = &'static str> {
    RULES.families.values().map(|(name, _)| name.as_str())
}
