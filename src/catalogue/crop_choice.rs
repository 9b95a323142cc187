//! A choice of crops, by name or by trait, as in `for:` of a change and `serves:`.

use super::entries::Entries;
use super::family::{family_names, knows_family};
use super::{Catalogue, Crop, Feeder, Handle, Light, Pace, SeedSize, Status, Temperature, Tray};
use crate::diagnostic::{Code, Problem, Problems, did_you_mean};
use crate::source::{Fields, FromText, Node, Value, list, no_more_than, text_of};
use crate::units::volume::millilitre;
use crate::units::{Fault, Parsed, Volume, plain, volume};
use std::cell::LazyCell;
use std::collections::HashSet;

/// A choice of crops: any clause may match.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CropChoice(pub Vec<Clause>);

/// The most entries of a choice.
const MOST_CLAUSES: usize = 1000;

/// One crop, or all that share traits.
#[derive(Clone, Debug, PartialEq)]
pub enum Clause {
    /// A crop by name.
    Crop(Handle<Crop>),
    /// Every trait named must match.
    Traits(Box<Traits>),
}

/// A trait that a choice may ask for.
struct Trait {
    key: &'static str,
    /// Reads the words asked for; families are read apart, since a crop may bring its own.
    read: fn(&mut Fields<'_>, &'static str) -> Vec<String>,
    /// What a crop has.
    of: fn(&Crop) -> Option<&str>,
}

const MYCORRHIZA: &str = "mycorrhiza";

const TRAITS: [Trait; 7] = [
    Trait { key: "family", read: |_, _| Vec::new(), of: |crop| crop.family.as_deref() },
    Trait { key: MYCORRHIZA, read: words::<Status>, of: |crop| Some(crop.mycorrhiza.word()) },
    Trait { key: "seed", read: words::<SeedSize>, of: |crop| crop.seed.map(SeedSize::word) },
    Trait { key: "feeder", read: words::<Feeder>, of: |crop| crop.feeder.map(Feeder::word) },
    Trait { key: "pace", read: words::<Pace>, of: |crop| crop.pace.map(Pace::word) },
    Trait { key: "light", read: words::<Light>, of: |crop| crop.light.map(Light::word) },
    Trait { key: "temperature", read: words::<Temperature>, of: |crop| crop.temperature.map(Temperature::word) },
];

fn words<T: FromText + ToString>(fields: &mut Fields<'_>, key: &'static str) -> Vec<String> {
    let words: Vec<T> = fields.optional(key).unwrap_or_default();
    let mut named: Vec<String> = Vec::new();
    for word in words.iter().map(ToString::to_string) {
        // A word said twice asks for no more, and the list stays as short as there are words.
        if !named.contains(&word) {
            named.push(word);
        }
    }
    named
}

/// Traits, each with the words that match; without words all crops match.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Traits {
    /// The words for each of [`TRAITS`].
    words: [Vec<String>; TRAITS.len()],
    cell: Option<CellBound>,
}

/// A bound on the volume of a tray's cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellBound {
    /// What a cell is compared with.
    pub cell: Volume,
    /// Larger than this; else smaller.
    pub is_least: bool,
}

impl CropChoice {
    /// How much is looked at to tell whether it includes a crop: each crop named, each word of a trait.
    pub(crate) fn looks(&self) -> usize {
        let looks = self.0.iter().map(|clause| match clause {
            Clause::Crop(_) => 1,
            Clause::Traits(traits) => TRAITS.len() + traits.words.iter().map(Vec::len).sum::<usize>(),
        });
        looks.sum()
    }

    /// In the words of the file: `seed dust or fine`, `lavender`.
    pub fn in_words(&self) -> String {
        let clauses = self.0.iter().map(|clause| match clause {
            Clause::Crop(id) => id.name.clone(),
            Clause::Traits(traits) => traits.in_words(),
        });
        clauses.collect::<Vec<_>>().join(", ")
    }

    /// Whether a mycorrhizal status is among those served, whatever else is asked.
    pub fn serves_status(&self, status: Status) -> bool {
        self.0.iter().any(|clause| match clause {
            Clause::Crop(_) => true,
            Clause::Traits(traits) => {
                traits.mycorrhiza().is_empty() || traits.mycorrhiza().iter().any(|word| word == status.word())
            }
        })
    }

    /// Whether it asks for a mycorrhizal status: then it is for an inoculant.
    pub fn is_by_mycorrhiza(&self) -> bool {
        self.0.iter().any(|clause| matches!(clause, Clause::Traits(traits) if !traits.mycorrhiza().is_empty()))
    }

    /// Whether a crop in a tray is meant. `unnamed` is the way of life to take where no crop is
    /// named; without it only the cell can match.
    pub fn includes(&self, crop: Option<&Handle<Crop>>, unnamed: Option<Status>, tray: Option<&Tray>) -> bool {
        self.0.iter().any(|clause| match clause {
            Clause::Crop(id) => crop.is_some_and(|crop| crop.is_same(id)),
            Clause::Traits(traits) => traits.include(crop.map(|crop| &**crop), unnamed, tray),
        })
    }

    /// Reads `for:`: a crop, a map of traits, or a list of these.
    pub fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let entries = list(node);
        if entries.is_empty() {
            let what = "this is for no crop at all";
            return problems.deny(Code::MissingKey, node.at, what, "a crop, or a trait such as `{seed: fine}`");
        }
        let clauses = no_more_than(entries, MOST_CLAUSES, "crops or traits", node.at, problems);
        let clauses = clauses.iter().map(|entry| match entry.value {
            Value::Map(_) => {
                Traits::read(entry, &catalogue.crops, problems).map(|traits| Clause::Traits(Box::new(traits)))
            }
            _ => catalogue.crop(entry, problems).map(Clause::Crop),
        });
        // All are read, so that each fault is found.
        let clauses: Vec<_> = clauses.collect();
        clauses.into_iter().collect::<Option<_>>().map(Self)
    }

    /// Reads a map of traits only, as in `serves:`.
    pub(super) fn read_traits(node: &Node<'_>, crops: &Entries<Crop>, problems: &Problems) -> Option<Self> {
        Traits::read(node, crops, problems).map(|traits| Self(vec![Clause::Traits(Box::new(traits))]))
    }
}

impl Traits {
    fn read(node: &Node<'_>, crops: &Entries<Crop>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a choice of crops", problems)?;
        let (named, at) = (fields.list(TRAITS[0].key), fields.place(TRAITS[0].key));
        let families = families(no_more_than(named, MOST_CLAUSES, "families", at, problems), crops, problems);
        let mut words = TRAITS.map(|one| (one.read)(&mut fields, one.key));
        words[0] = families;
        let traits = Self { words, cell: fields.optional("cell") };
        fields.finish()?;
        if traits == Self::default() {
            return problems.deny(Code::MissingKey, node.at, "no trait is named", "a trait such as `seed: fine`");
        }
        Some(traits)
    }

    /// The traits asked for, each with its words.
    fn asked(&self) -> impl Iterator<Item = (&Trait, &Vec<String>)> {
        TRAITS.iter().zip(&self.words).filter(|(_, words)| !words.is_empty())
    }

    /// The ways of life asked for; empty for any.
    fn mycorrhiza(&self) -> &[String] {
        self.asked().find(|(one, _)| one.key == MYCORRHIZA).map_or(&[], |(_, words)| words)
    }

    fn in_words(&self) -> String {
        let cell = self.cell.map(|bound| {
            let word = if bound.is_least { "over" } else { "under" };
            format!("cell {word} {} mL", plain(bound.cell.get::<millilitre>(), 2))
        });
        let asked = self.asked().map(|(one, words)| format!("{} {}", one.key, words.join(" or ")));
        asked.chain(cell).collect::<Vec<_>>().join(" and ")
    }

    /// `unnamed` is the way of life to take for a crop that is not named.
    fn include(&self, crop: Option<&Crop>, unnamed: Option<Status>, tray: Option<&Tray>) -> bool {
        let cell = match (self.cell, tray) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(bound), Some(tray)) if bound.is_least => tray.cell > bound.cell,
            (Some(bound), Some(tray)) => tray.cell < bound.cell,
        };
        let unnamed = unnamed.map(Status::word);
        cell && self.asked().all(|(one, words)| {
            let usual = unnamed.filter(|_| one.key == MYCORRHIZA);
            let has = crop.map_or(usual, one.of);
            has.is_some_and(|has| words.iter().any(|wanted| wanted.eq_ignore_ascii_case(has)))
        })
    }
}

/// Families that there are rules for, or that a crop of the user's own has.
fn families(entries: &[Node<'_>], crops: &Entries<Crop>, problems: &Problems) -> Vec<String> {
    let mut known = Vec::new();
    // Gathered once, and only if some family has no rule.
    let own = LazyCell::new(|| -> HashSet<String> {
        crops.own().filter_map(|crop| crop.family.as_deref().map(str::to_ascii_lowercase)).collect()
    });
    for entry in entries {
        let Some(family) = text_of(entry, "a botanical family", problems).map(str::trim) else { continue };
        if knows_family(family) || own.contains(&family.to_ascii_lowercase()) {
            known.push(family.to_owned());
            continue;
        }
        problems.push_with(|| {
            let what = format!("no family is called `{family}`");
            let help = did_you_mean(family, family_names());
            Problem::new(Code::UnknownCrop, entry.at, what, "a family such as `Brassicaceae`").with_help(help)
        });
    }
    known
}

impl FromText for CellBound {
    const EXPECTED: &'static str = "`under` or `over` a volume, such as `under 15 mL`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        match text.trim().split_once(' ') {
            Some((word @ ("under" | "over"), rest)) => {
                Ok(volume(rest)?.map(|cell| Self { cell, is_least: word == "over" }))
            }
            _ => Err(Fault::Shape(text.trim().to_owned())),
        }
    }
}
